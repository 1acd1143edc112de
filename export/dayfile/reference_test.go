//go:build reference

package dayfile

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// These checks read the files with programs of other people: GDAL's ogrinfo (tried
// with 3.6.2). They fail when it is missing.

func ogrinfo(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	c := exec.Command("ogrinfo", append([]string{"-ro", "-al"}, args...)...)
	c.Stdout, c.Stderr = &stdout, &stderr
	if err := c.Run(); err != nil {
		t.Fatalf("%v\n%s%s", err, stdout.String(), stderr.String())
	}
	if text := stderr.String(); strings.Contains(text, "Warning") || strings.Contains(text, "ERROR") {
		t.Errorf("ogrinfo %v said: %s", args, text)
	}
	return stdout.String()
}

var layer = regexp.MustCompile(`(?m)^Layer name: (.*)\n(?:.*\n)*?Feature Count: (\d+)$`)

func counts(text string) string {
	var got []string
	for _, m := range layer.FindAllStringSubmatch(text, -1) {
		got = append(got, m[1]+" "+m[2])
	}
	return strings.Join(got, ";")
}

func TestGDALCounts(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "track.gpx", trackText(t, tracks()))
	put(t, dir, "depths.csv", soundingText(t, soundings()))
	put(t, dir, "catches.csv", eventText(t, events()))
	put(t, dir, "levels.csv", levelText(t, levels()))
	put(t, dir, "winds.csv", windText(t, winds()))
	long := dayOf(36_000)
	put(t, dir, "long.gpx", trackText(t, append(tracks(), long)))
	for name, want := range map[string]string{
		"track.gpx":   "waypoints 0;routes 0;tracks 2;route_points 0;track_points 8",
		"long.gpx":    "waypoints 0;routes 0;tracks 3;route_points 0;track_points 36008",
		"depths.csv":  "depths 6",
		"catches.csv": "catches 4",
		"levels.csv":  "levels 2",
		"winds.csv":   "winds 2",
	} {
		t.Run(name, func(t *testing.T) {
			if got := counts(ogrinfo(t, "-so", filepath.Join(dir, name))); got != want {
				t.Errorf("has %s\nwant %s", got, want)
			}
		})
	}
	// What the points hold, as GDAL prints it.
	text := ogrinfo(t, "-where", "track_fid = 0 AND track_seg_id = 0", filepath.Join(dir, "track.gpx"), "track_points")
	for _, want := range []string{"d_speed (Real) = 0.44704", "d_course (Real) = 271.5", "time (DateTime) = 2031/10/04 12:00:01.5", "Feature Count: 6", "POINT (180 -90)"} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing like %q in\n%s", want, text)
		}
	}
	text = ogrinfo(t, filepath.Join(dir, "catches.csv"))
	for _, want := range []string{`species (String) = smallmouth, "bronze"`, "note (String) = over rock\nturned, at once", fmt.Sprintf("weight_kg (String) = %v", events()[0].WeightKg.V)} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing like %q in\n%s", want, text)
		}
	}
}
