package gpxfile

import (
	"bytes"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"

	"leadline/ingest"
)

// libraryFiles returns the GPX files that the library's own tests use: recordings
// and examples of others, read in its place, not copied.
func libraryFiles(t *testing.T) []string {
	t.Helper()
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/tkrajina/gpxgo").Output()
	if err != nil {
		t.Fatal("the folder of the module is not known: ", err)
	}
	files, err := filepath.Glob(filepath.Join(strings.TrimSpace(string(dir)), "test_files", "*.gpx"))
	if err != nil || len(files) < 10 {
		t.Fatal("the library came without its files: ", files, err)
	}
	return files
}

// On well-formed files with plain times the bare library reads the same points,
// names and whole seconds as this reader.
func TestSameAsBareLibrary(t *testing.T) {
	texts := map[string]string{}
	for _, file := range libraryFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		texts[filepath.Base(file)] = string(text)
	}
	text, err := io.ReadAll(&made{n: 3000})
	if err != nil {
		t.Fatal(err)
	}
	texts["made"] = string(text)
	texts["made, segments and tracks"] = strings.ReplaceAll(string(text), "<ele>210.5</ele><time>2031-10-04T06:1", `<ele>210.5</ele></trkpt></trkseg></trk><trk><name>next</name><trkseg><trkpt lat="36.5" lon="-40"><time>2031-10-04T06:1`)
	points := 0
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			doc, err := gpx.ParseString(text)
			if err != nil {
				t.Fatal("the bare library: ", err)
			}
			r := read(t, text, ingest.ReadOptions{Zone: time.UTC}) // as the library takes times without one
			planned := 0
			for _, x := range doc.Routes {
				planned += len(x.Points)
			}
			if r.Source.SetAside != planned {
				t.Errorf("%d set aside, want %d points of routes:\n%s", r.Source.SetAside, planned, problems(r))
			}
			next := 0
			for _, track := range doc.Tracks {
				for _, s := range track.Segments {
					if len(s.Points) == 0 {
						continue
					}
					if next == len(r.Tracks) {
						t.Fatalf("%d tracks, want more", next)
					}
					got := r.Tracks[next]
					next++
					if got.Name != strings.TrimSpace(track.Name) || len(got.Fixes) != len(s.Points) {
						t.Fatalf("%q of %d points, want %q of %d", got.Name, len(got.Fixes), track.Name, len(s.Points))
					}
					for i, want := range s.Points {
						points++
						f := got.Fixes[i]
						if f.Pos != (orb.Point{want.Longitude, want.Latitude}) {
							t.Fatalf("point %d: %v, want %v", i, f.Pos, want)
						}
						if want.Timestamp.Year() >= firstYear && f.Time.Unix() != want.Timestamp.Unix() {
							t.Fatalf("point %d: %v, want %v", i, f.Time, want.Timestamp)
						}
					}
				}
			}
			if next != len(r.Tracks) || len(r.Events) != len(doc.Waypoints) {
				t.Fatalf("%d tracks and %d events, want %d and %d", len(r.Tracks), len(r.Events), next, len(doc.Waypoints))
			}
			for i, want := range doc.Waypoints {
				if e := r.Events[i]; e.Pos != (orb.Point{want.Longitude, want.Latitude}) {
					t.Errorf("waypoint %d: %v, want %v", i, e.Pos, want)
				}
			}
		})
	}
	if points < 3000 {
		t.Errorf("only %d points were held against the library", points)
	}
}

// korita-zbevnica.gpx has 871 track points and 2 waypoints, cerknicko-without-times.gpx
// 296 and 7, by a count of their start tags. The first is 14,914.283 m long by
// geodesics on WGS 84 within its segments; one joined with the next would be longer.
func TestCountsOfARecording(t *testing.T) {
	for _, file := range libraryFiles(t) {
		want, is := map[string]struct {
			fixes, events int
			lengthM       float64
		}{"korita-zbevnica.gpx": {871, 2, 14914.283}, "cerknicko-without-times.gpx": {296, 7, 0}}[filepath.Base(file)]
		if !is {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Read(bytes.NewReader(text), file, ingest.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		fixes, lengthM := 0, 0.0
		for _, tr := range r.Tracks {
			fixes += len(tr.Fixes)
			for i := 1; i < len(tr.Fixes); i++ {
				lengthM += stepM(tr.Fixes[i-1].Pos, tr.Fixes[i].Pos)
			}
		}
		if fixes != want.fixes || len(r.Events) != want.events {
			t.Errorf("%s: %d track points and %d waypoints, want %d and %d", file, fixes, len(r.Events), want.fixes, want.events)
		}
		// Steps of some 20 m by the radii at mid-latitude are right to 1e-9 of them.
		if want.lengthM > 0 && math.Abs(lengthM-want.lengthM) > 0.005 {
			t.Errorf("%s: %.4f m long, want %.3f", file, lengthM, want.lengthM)
		}
	}
}

// stepM is the length of a short step on WGS 84, by the radii of curvature in the
// meridian and the prime vertical.
func stepM(a, b orb.Point) float64 {
	const (
		semiMajorM = 6378137
		e2         = 0.00669437999014
		rad        = math.Pi / 180
	)
	sin, cos := math.Sincos((a.Lat() + b.Lat()) / 2 * rad)
	w := 1 - e2*sin*sin
	north := semiMajorM * (1 - e2) / (w * math.Sqrt(w)) * (b.Lat() - a.Lat()) * rad
	east := semiMajorM / math.Sqrt(w) * cos * (b.Lon() - a.Lon()) * rad
	return math.Hypot(north, east)
}

// A library that gives back other points than it was given is an error, not a
// track with points in each other's place.
func TestBatchCounts(t *testing.T) {
	var b batch
	b.trackPoint(reading{line: 1}, 36.5, -40)
	b.points = append(b.points, pending{reading: reading{line: 2}, pos: orb.Point{1, 2}})
	b.trackPoint(reading{line: 3}, 36.6, -40)
	if _, err := b.parse("1.1"); err != nil {
		t.Fatal(err)
	}
	for i, want := range []orb.Point{{-40, 36.5}, {1, 2}, {-40, 36.6}} {
		if b.points[i].pos != want {
			t.Errorf("point %d: %v, want %v", i, b.points[i].pos, want)
		}
	}
	b.points = b.points[:2]
	if _, err := b.parse("1.1"); err == nil || err.Error() != "the GPX library gave 2 track points and 0 waypoints for 1 and 0" {
		t.Error(err)
	}
}
