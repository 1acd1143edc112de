//go:build reference

package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"leadline/ingest/madelake"
)

// The season that demo writes, at full rate; too long for every day.
func TestAgainstTheTruthOfTheDemo(t *testing.T) {
	scoreMade(t, madelake.Default(1, madelake.Full))
}

// The outputs of the main job as an independent reader counts them: ogrinfo of
// GDAL (Debian package gdal-bin).
func TestOutputsAsGDALReadsThem(t *testing.T) {
	out := t.TempDir()
	var stdout, stderr bytes.Buffer
	if code := run([]string{"zones", lanternHollow, "--boat", filepath.Join(lanternHollow, "boat.toml"), "-o", out}, &stdout, &stderr); code != exitDone {
		t.Fatalf("exit %d\n%s", code, stderr.String())
	}
	text, err := os.ReadFile(filepath.Join(out, "result.json"))
	if err != nil {
		t.Fatal(err)
	}
	var result struct {
		Zones    []struct{ Proven bool } `json:"zones"`
		Bands    []json.RawMessage       `json:"bands"`
		Drifts   []json.RawMessage       `json:"drifts"`
		Contours []json.RawMessage       `json:"contours"`
		Events   []json.RawMessage       `json:"events"`
	}
	if err := json.Unmarshal(text, &result); err != nil {
		t.Fatal(err)
	}
	zones, drifts := len(result.Zones), len(result.Drifts)
	all := zones + len(result.Bands) + drifts + len(result.Contours) + len(result.Events)
	if zones < 3 || drifts < 6 || all < 80 {
		t.Fatalf("only %d zones, %d drift lines, %d features in all", zones, drifts, all)
	}
	if got := gdalCount(t, filepath.Join(out, "overlay.geojson")); got != all {
		t.Errorf("overlay.geojson: %d features, want %d", got, all)
	}
	if got := gdalCount(t, filepath.Join(out, "overlay.kml")); got != all {
		t.Errorf("overlay.kml: %d features, want %d", got, all)
	}
	if got := gdalCount(t, filepath.Join(out, "waypoints.gpx"), "waypoints"); got != zones {
		t.Errorf("waypoints.gpx: %d waypoints, want %d", got, zones)
	}
	if got := gdalCount(t, filepath.Join(out, "waypoints.gpx"), "routes"); got != drifts {
		t.Errorf("waypoints.gpx: %d routes, want %d", got, drifts)
	}
	if got := gdalCount(t, filepath.Join(out, "waypoints.gpx"), "route_points"); got != 2*drifts {
		t.Errorf("waypoints.gpx: %d route points, want %d", got, 2*drifts)
	}
}

var featureCount = regexp.MustCompile(`Feature Count: (\d+)`)

// gdalCount returns how many features ogrinfo counts in all layers, or in those named.
func gdalCount(t *testing.T, path string, layers ...string) int {
	t.Helper()
	args := append([]string{"-ro", "-so", path}, layers...)
	if len(layers) == 0 {
		args = []string{"-ro", "-so", "-al", path}
	}
	text, err := exec.Command("ogrinfo", args...).CombinedOutput()
	if err != nil {
		t.Fatalf("ogrinfo: %v\n%s", err, text)
	}
	sum := 0
	for _, m := range featureCount.FindAllSubmatch(text, -1) {
		n, err := strconv.Atoi(string(m[1]))
		if err != nil {
			t.Fatal(err)
		}
		sum += n
	}
	return sum
}
