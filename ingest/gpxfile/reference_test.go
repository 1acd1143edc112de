//go:build reference

package gpxfile

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"leadline/ingest"
)

// GDAL 3.6.2 (Debian package gdal-bin) counts the same track points, tracks and
// waypoints in the same files. Files that GDAL itself refuses are left out.
func TestCountsAsGDALDoes(t *testing.T) {
	if _, err := exec.LookPath("ogrinfo"); err != nil {
		t.Fatal("ogrinfo is not installed, and behind this tag it must be (Debian package gdal-bin)")
	}
	files := libraryFiles(t)
	corpus, err := filepath.Glob(filepath.Join("..", "..", "testdata", "corpus", "gpx_*", "*.gpx"))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(&made{n: 5000})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "made.gpx")
	if err := os.WriteFile(file, text, 0o666); err != nil {
		t.Fatal(err)
	}
	files = append(append(files, corpus...), file)
	compared := 0
	for _, file := range files {
		t.Run(filepath.Base(filepath.Dir(file))+"/"+filepath.Base(file), func(t *testing.T) {
			want, clean := gdalCounts(t, file)
			if !clean {
				t.Skip("GDAL has complaints of its own")
			}
			in, err := os.Open(file)
			if err != nil {
				t.Fatal(err)
			}
			defer in.Close()
			// A zone and no complaint: points set aside for want of a time zone would
			// make a difference that is meant.
			r, err := Read(in, file, ingest.ReadOptions{Zone: time.UTC})
			if err != nil {
				t.Skip("refused here: ", err)
			}
			for _, p := range r.Problems {
				if p.Outcome == ingest.SetAside && p.Field != "rte" {
					t.Skip("set aside here: ", p)
				}
			}
			got := counts{events: len(r.Events)}
			for _, tr := range r.Tracks {
				got.fixes += len(tr.Fixes)
			}
			if got != want {
				t.Errorf("%+v, GDAL has %+v", got, want)
			}
			compared++
		})
	}
	if compared < 40 {
		t.Errorf("only %d files were compared", compared)
	}
}

type counts struct{ fixes, events int }

// gdalCounts returns how many features GDAL finds; clean is false when
// it finds an error.
func gdalCounts(t *testing.T, file string) (n counts, clean bool) {
	t.Helper()
	var out, errOut bytes.Buffer
	c := exec.Command("ogrinfo", "-ro", "-so", "-al", file)
	c.Stdout, c.Stderr = &out, &errOut
	if err := c.Run(); err != nil || strings.Contains(errOut.String(), "ERROR") {
		return n, false
	}
	layer := ""
	s := bufio.NewScanner(&out)
	for s.Scan() {
		if name, ok := strings.CutPrefix(s.Text(), "Layer name: "); ok {
			layer = name
		}
		if text, ok := strings.CutPrefix(s.Text(), "Feature Count: "); ok {
			v, err := strconv.Atoi(text)
			if err != nil {
				t.Fatal(err)
			}
			switch layer {
			case "track_points":
				n.fixes = v
			case "waypoints":
				n.events = v
			}
		}
	}
	return n, true
}
