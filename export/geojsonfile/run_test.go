package geojsonfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func writtenRun(t *testing.T, c spatial.Chart, r spatial.Run, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteRun(&b, c, r, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestRunGolden(t *testing.T) {
	c, r := exporttest.Run()
	exporttest.Golden(t, "run.geojson", writtenRun(t, c, r, export.Options{}))
	exporttest.Golden(t, "run.metric.geojson", writtenRun(t, c, r, export.Options{Units: si.Metric}))
	exporttest.Golden(t, "run.empty.geojson", writtenRun(t, spatial.Chart{}, spatial.Run{}, export.Options{}))
}

var decimals = regexp.MustCompile(`-?\d+\.\d{8,}`)

// TestRunRFC7946: section 3.1.1 wants longitude before latitude, section 3.1.4 two positions
// or more of a LineString, section 5 west, south, east, north of all that is there. Seven
// decimals are a centimetre; section 11.2 speaks against more than a reader can use.
func TestRunRFC7946(t *testing.T) {
	c, r := exporttest.Run()
	b := writtenRun(t, c, r, export.Options{})
	doc := read(t, b)
	west, south, east, north := 180.0, 90.0, -180.0, -90.0
	position := func(id string, p []float64) {
		if len(p) != 2 || math.Abs(p[0]+40) > 0.1 || math.Abs(p[1]-36.5) > 0.1 {
			t.Errorf("%s is at %v, want about 40 W, 36.5 N", id, p)
			return
		}
		west, east, south, north = min(west, p[0]), max(east, p[0]), min(south, p[1]), max(north, p[1])
	}
	for _, f := range doc.Features {
		switch f.Geometry.Type {
		case "Point":
			var p []float64
			if err := json.Unmarshal(f.Geometry.Coordinates, &p); err != nil {
				t.Fatal(err)
			}
			position(f.ID, p)
		case "LineString":
			var l [][]float64
			if err := json.Unmarshal(f.Geometry.Coordinates, &l); err != nil {
				t.Fatal(err)
			}
			if len(l) < 2 {
				t.Errorf("%s has %d positions", f.ID, len(l))
			}
			for _, p := range l {
				position(f.ID, p)
			}
		default:
			t.Errorf("%s is a %s", f.ID, f.Geometry.Type)
		}
	}
	if want := []float64{west, south, east, north}; !slices.Equal(doc.BBox, want) {
		t.Errorf("bbox %v, want %v", doc.BBox, want)
	}
	if m := decimals.Find(b); m != nil {
		t.Errorf("has %s", m)
	}
}

func TestRunProperties(t *testing.T) {
	c, r := exporttest.Run()
	doc := read(t, writtenRun(t, c, r, export.Options{}))
	stops := 0
	for _, f := range doc.Features {
		var got map[string]any
		if err := json.Unmarshal(f.Properties, &got); err != nil {
			t.Fatal(err)
		}
		if got["kind"] == "leg" {
			continue
		}
		s := r.Stops[stops]
		stops++
		for name, want := range map[string]time.Time{"arrive": s.Arrive, "leave": s.Leave} {
			text, _ := got[name].(string)
			at, err := time.Parse(time.RFC3339, text)
			if err != nil || !at.Equal(want) || !strings.HasSuffix(text, "Z") {
				t.Errorf("%s %s is %q (%v), want %v in UTC", f.ID, name, text, err, want)
			}
		}
		if got["order"] != float64(stops) {
			t.Errorf("%s is stop %v", f.ID, got["order"])
		}
	}
	for _, want := range []struct {
		id    string
		nulls string // what can't be known
		known string
	}{
		{"S1", "drift_start drift_toward_deg drift_end drift_line pass_s", "drift_mps head_oz leave_if leave_after_min"},
		{"S3", "head_oz head_g sink_s line_out_m line_angle_deg leave_if leave_after_min fish_by", "drift_start drift_end pass_s head_why"},
		{"L3", "least_depth_m", "unsounded_m"},
	} {
		for _, f := range doc.Features {
			if f.ID != want.id {
				continue
			}
			var got map[string]any
			if err := json.Unmarshal(f.Properties, &got); err != nil {
				t.Fatal(err)
			}
			for _, name := range strings.Fields(want.nulls) {
				if v, there := got[name]; !there || v != nil {
					t.Errorf("%s %s is %v, there %v; want null", f.ID, name, v, there)
				}
			}
			for _, name := range strings.Fields(want.known) {
				if got[name] == nil {
					t.Errorf("%s %s is null", f.ID, name)
				}
			}
			// The drift begins where the stop is, longitude first.
			if start, ok := got["drift_start"].([]any); ok {
				var p []any
				if err := json.Unmarshal(f.Geometry.Coordinates, &p); err != nil || !slices.Equal(start, p) {
					t.Errorf("%s drift_start %v, point %v (%v)", f.ID, start, p, err)
				}
			}
		}
	}
}

// What somebody typed as a zone's name is text: encoding/json spells < as \u003c, so that
// not even a page that holds the file takes it for markup.
func TestRunHostileText(t *testing.T) {
	c, r := exporttest.Run()
	c.Zones[1].Name, c.Zones[0].ID, r.Stops[1].Zone = exporttest.Hostile, exporttest.Hostile, exporttest.Hostile
	b := writtenRun(t, c, r, export.Options{})
	if bytes.ContainsAny(b, "<>") {
		t.Error("has < or >")
	}
	found := false
	for _, f := range read(t, b).Features {
		var got map[string]any
		if err := json.Unmarshal(f.Properties, &got); err != nil {
			t.Fatal(err)
		}
		found = found || got["zone"] == exporttest.Hostile
	}
	if !found {
		t.Error("the hostile id is gone")
	}
}

func TestRunWriterError(t *testing.T) {
	c, r := exporttest.Run()
	for _, room := range []int{0, 5000} {
		if err := WriteRun(&broken{room}, c, r, export.Options{}); !errors.Is(err, errFull) {
			t.Errorf("room %d: %v", room, err)
		}
	}
	r.Stops[0].DriftEnd[0] = math.NaN()
	r.Stops[0].DriftTowardDeg.OK = true
	var b bytes.Buffer
	if err := WriteRun(&b, c, r, export.Options{}); err == nil || b.Len() > 0 {
		t.Errorf("a position that is no number: %v, %d bytes", err, b.Len())
	}
}
