package load

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"leadline/ingest"
)

const track = `<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="36.5" lon="-40.0"><time>2031-10-04T12:00:00Z</time></trkpt>
<trkpt lat="36.5" lon="-39.9999"><time>2031-10-04T12:00:10Z</time></trkpt>
</trkseg></trk></gpx>`

const depths = "time,depth_m\n2031-10-04T12:00:02Z,6.0\n2031-10-04T12:00:05Z,6.2\n"

var options = Options{MaxGap: 10 * time.Second}

// put writes files into a new folder and returns it.
func put(t *testing.T, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func zipped(t testing.TB, files ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i+1 < len(files); i += 2 {
		w, err := z.Create(files[i])
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(w, files[i+1])
	}
	z.Close()
	return b.Bytes()
}

func gzipped(text string) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	io.WriteString(w, text)
	w.Close()
	return b.Bytes()
}

func TestSeasonFromArchives(t *testing.T) {
	dir := put(t, map[string][]byte{
		"plain.gpx": []byte(track), "plain.csv": []byte(depths),
		"day.zip":      zipped(t, "in/track.gpx", track, "in/depths.csv", depths, "in/readme.txt", "hello"),
		"track.gpx.gz": gzipped(track), "depths.csv.gz": gzipped(depths),
		"packed.zip": zipped(t, "track.gpx.gz", string(gzipped(track)), "depths.csv", depths),
	})
	read := func(names ...string) ingest.Season {
		var paths []string
		for _, n := range names {
			paths = append(paths, filepath.Join(dir, n))
		}
		s, err := Season(context.Background(), paths, options)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	want := read("plain.gpx", "plain.csv").Days
	if len(want) != 1 || len(want[0].Soundings) != 2 {
		t.Fatalf("days %+v", want)
	}
	for _, names := range [][]string{{"day.zip"}, {"track.gpx.gz", "depths.csv.gz"}, {"packed.zip"}} {
		got := read(names...).Days
		for i := range got {
			for k := range got[i].Soundings { // the order of the files differs
				got[i].Soundings[k].Source = want[i].Soundings[k].Source
			}
			for k := range got[i].Tracks {
				got[i].Tracks[k].Source = want[i].Tracks[k].Source
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%v:\n%+v\nwant\n%+v", names, got, want)
		}
	}
	s := read("day.zip")
	if len(s.Sources) != 3 || s.Sources[1].TakenFor != "no recording, left alone" || !strings.HasSuffix(s.Sources[2].Name, "day.zip/in/track.gpx") {
		t.Errorf("sources %+v", s.Sources)
	}
}

func TestSeasonRefuses(t *testing.T) {
	bomb := gzipped("time,depth_m\n" + strings.Repeat("2031-10-04T12:00:02Z,6.0\n", 2<<20))
	encrypted := zipped(t, "track.gpx", track)
	// The general purpose flag stands at byte 6 of a local header and at byte 8 of a central one.
	encrypted[6] |= 1
	encrypted[bytes.Index(encrypted, []byte("PK\x01\x02"))+8] |= 1
	dir := put(t, map[string][]byte{
		"up.zip":     zipped(t, "../track.gpx", track),
		"root.zip":   zipped(t, "/etc/track.gpx", track),
		"back.zip":   zipped(t, `..\track.gpx`, track),
		"bomb.gz":    bomb,
		"bomb.zip":   zipped(t, "depths.csv", "time,depth_m\n"+strings.Repeat("2031-10-04T12:00:02Z,6.0\n", 2<<20)),
		"broken.zip": zipped(t, "track.gpx", track)[:60],
		"broken.gz":  gzipped(track)[:40],
		"locked.zip": encrypted,
		"empty.zip":  zipped(t),
		"text.txt":   []byte("hello"),
	})
	for name, want := range map[string]string{
		"up.zip": "points outside it", "root.zip": "points outside it", "back.zip": "points outside it",
		"bomb.gz": "unpacks to more than", "bomb.zip": "unpacks to more than",
		"broken.zip": "broken.zip: ", "broken.gz": "broken.gz: ", "locked.zip": "encrypted", "empty.zip": "no files to read",
		"text.txt": "not recognised by its content", "nowhere": "no such file",
	} {
		if _, err := Season(context.Background(), []string{filepath.Join(dir, name)}, options); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
	off := options
	off.Offsets = map[string]time.Duration{"other.csv": time.Second}
	if _, err := Season(context.Background(), []string{filepath.Join(dir, "up.zip")}, off); err == nil {
		t.Error("no error for the offset of a file that isn't there")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Season(ctx, []string{dir}, options); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled reading: %v", err)
	}
}

func TestSeasonMovesAClockAsAsked(t *testing.T) {
	dir := put(t, map[string][]byte{"track.gpx": []byte(track), "depths.csv": []byte(strings.ReplaceAll(depths, "T12:", "T13:"))})
	opt := options
	opt.Offsets = map[string]time.Duration{"depths.csv": -time.Hour}
	s, err := Season(context.Background(), []string{dir}, opt)
	if err != nil || len(s.Unplaced) != 0 || len(s.Days[0].Soundings) != 2 {
		t.Fatalf("%v, %+v", err, s.Unplaced)
	}
	if o := s.Sources[0].ClockOffsetS; o != ingest.Known(-3600) {
		t.Errorf("offset %v is told, want -3600", o)
	}
}

// A log with positions of its own is a track where there is no other.
func TestSeasonFromALogAlone(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,lat,lon,depth_m\n")
	for i := range 60 {
		fmt.Fprintf(&b, "2031-10-04T12:00:%02dZ,36.5,%.6f,6.0\n", i, -40+float64(i)*1e-5)
	}
	dir := put(t, map[string][]byte{"log.csv": []byte(b.String())})
	s, err := Season(context.Background(), []string{dir}, options)
	if err != nil || len(s.Days) != 1 || len(s.Days[0].Tracks) != 1 || len(s.Days[0].Tracks[0].Fixes) != 60 {
		t.Fatalf("%v: %+v", err, s.Days)
	}
}

// A reading whose position no boat could have been at keeps its depth and is placed
// by its time: left where the receiver leapt to, it would be a pit on dry land.
func TestSeasonPlacesAnew(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,lat,lon,depth_m\n")
	for i := range 60 {
		lat := 36.5
		if i == 30 {
			lat = 36.51 // a kilometre north
		}
		fmt.Fprintf(&b, "2031-10-04T12:00:%02dZ,%.2f,%.6f,%.1f\n", i, lat, -40+float64(i)*1e-5, 6+float64(i%3)/10)
	}
	dir := put(t, map[string][]byte{"log.csv": []byte(b.String())})
	s, err := Season(context.Background(), []string{dir}, options)
	if err != nil || len(s.Days) != 1 || len(s.Days[0].Soundings) != 60 {
		t.Fatalf("%v: %+v", err, s.Days)
	}
	if x := s.Days[0].Soundings[30]; x.At[1] != 36.5 || math.Abs(x.At[0]-(-40+30e-5)) > 1e-9 || x.Flags != 0 {
		t.Errorf("placed at %v with flags %v", x.At, x.Flags.Names())
	}
	if n := s.Sources[0].Flagged["impossible jump"]; n != 1 {
		t.Errorf("%d jumps are told, want 1", n)
	}
}

// A file that loses its end while it is read must not pass for a short one.
func TestWholeNoticesAFileThatShrinks(t *testing.T) {
	w := &whole{in: strings.NewReader("half"), name: "log.csv", sizeB: 8}
	if _, err := io.ReadAll(w); err == nil || !strings.Contains(err.Error(), "shrank while it was read, 4 of 8 bytes") {
		t.Errorf("error %v", err)
	}
	w = &whole{in: strings.NewReader("whole"), name: "log.csv", sizeB: 5}
	if text, err := io.ReadAll(w); err != nil || string(text) != "whole" {
		t.Errorf("%q, %v", text, err)
	}
}

// The result must not depend on how many files are read at a time.
func TestSeasonDoesNotDependOnOrder(t *testing.T) {
	files := map[string][]byte{}
	for i := range 20 {
		files[fmt.Sprintf("%02d.gpx", i)] = []byte(strings.ReplaceAll(track, "2031-10-04", fmt.Sprintf("2031-10-%02d", i+1)))
	}
	dir := put(t, files)
	want, err := Season(context.Background(), []string{dir}, options)
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		if got, _ := Season(context.Background(), []string{dir}, options); !reflect.DeepEqual(got, want) {
			t.Fatal("the same folder gave two seasons")
		}
	}
}

// No archive, however broken, may bring the program down.
func FuzzSeasonArchive(f *testing.F) {
	f.Add(zipped(f, "track.gpx", track))
	f.Add(gzipped(track))
	f.Add([]byte("PK\x03\x04"))
	f.Add([]byte("\x1f\x8b"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, data []byte) {
		name := filepath.Join(dir, "file")
		if err := os.WriteFile(name, data, 0o666); err != nil {
			t.Fatal(err)
		}
		s, err := Season(context.Background(), []string{name}, options)
		if err != nil {
			return
		}
		for _, x := range s.Sources {
			if x.RowsRead != x.Used+x.Repaired+x.SetAside {
				t.Errorf("%d rows read, %d used, %d repaired, %d set aside", x.RowsRead, x.Used, x.Repaired, x.SetAside)
			}
		}
	})
}
