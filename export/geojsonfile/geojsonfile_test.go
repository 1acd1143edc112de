package geojsonfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
)

func written(t *testing.T, in export.Findings, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "season.geojson", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "metric.geojson", written(t, exporttest.Season(), export.Options{Units: si.Metric}))
	exporttest.Golden(t, "empty.geojson", written(t, exporttest.Empty(), export.Options{}))
}

// The property names, in their order, as the tables of outputs promise them.
var promised = map[string]string{
	"zone": "kind id name events catches days effort_h rate_per_h rate_low_per_h rate_high_per_h rate_shrunk_per_h p_value proven " +
		"fish_top_m fish_bottom_m bottom_m temp_c structure hour_from hour_to drift_mps drift_toward_deg " +
		"head_oz head_g sink_s line_out_m line_angle_deg head_why " +
		// and what the contract leaves free
		"bottom_u95_m fish_u95_m break_m break_toward_deg break_top_m break_bottom_m",
	"band": "kind id name top_m bottom_m events effort_h rate_per_h rate_low_per_h rate_high_per_h selection selection_low selection_high",
	"drift": "kind id name passes length_m hours events rate_per_h speed_mps toward_deg productive_from_m productive_to_m " +
		"speed_low_mps speed_high_mps events_per_pass stretch_depth_m",
	"contour": "kind id name depth_m depth_ft",
	"event":   "kind id name event time bottom_m fish_m species zone",
}

// A document is what a reader that knows only the standard takes in.
type document struct {
	Type     string    `json:"type"`
	BBox     []float64 `json:"bbox"`
	Features []struct {
		Type     string `json:"type"`
		ID       string `json:"id"`
		Geometry *struct {
			Type        string          `json:"type"`
			Coordinates json.RawMessage `json:"coordinates"`
		} `json:"geometry"`
		Properties json.RawMessage `json:"properties"`
	} `json:"features"`
}

func read(t *testing.T, b []byte) document {
	t.Helper()
	var doc document
	if err := json.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Type != "FeatureCollection" {
		t.Fatalf("type %q", doc.Type)
	}
	for _, f := range doc.Features {
		if f.Type != "Feature" {
			t.Fatalf("%s: type %q", f.ID, f.Type)
		}
	}
	return doc
}

func TestPropertyNames(t *testing.T) {
	doc := read(t, written(t, exporttest.Season(), export.Options{}))
	seen := map[string]int{}
	for _, f := range doc.Features {
		var fields map[string]any
		if err := json.Unmarshal(f.Properties, &fields); err != nil {
			t.Fatal(err)
		}
		kind, _ := fields["kind"].(string)
		seen[kind]++
		if fields["id"] != f.ID {
			t.Errorf("feature id %q, property id %v", f.ID, fields["id"])
		}
		if got := strings.Join(keys(t, f.Properties), " "); got != promised[kind] {
			t.Errorf("%s %s has\n%s\nwant\n%s", kind, f.ID, got, promised[kind])
		}
	}
	for kind := range promised {
		if seen[kind] == 0 {
			t.Errorf("no %s", kind)
		}
	}
}

// keys returns an object's names in the order they are written.
func keys(t *testing.T, object json.RawMessage) []string {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(object))
	if _, err := d.Token(); err != nil {
		t.Fatal(err)
	}
	var out []string
	for d.More() {
		name, err := d.Token()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, name.(string))
		var skip json.RawMessage
		if err := d.Decode(&skip); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// TestRFC7946 holds the output against the rules of the standard that a reader
// may rely on: section 3.1.6 for rings, 5 for the bounding box, 3.2 for null
// geometry. The signed area is worked out here, apart from the code under test.
func TestRFC7946(t *testing.T) {
	in := exporttest.Season()
	for _, z := range in.Chart.Zones { // both ways round must come out right
		slices.Reverse(z.Shape[0])
	}
	slices.Reverse(in.Chart.Bands[2].Shape[0][1])
	in.Chart.Bands[3].Shape[0][0] = in.Chart.Bands[3].Shape[0][0][:72] // not closed
	doc := read(t, written(t, in, export.Options{}))
	type point = [2]float64
	holes, nulls := 0, 0
	west, south, east, north := 180.0, 90.0, -180.0, -90.0
	line := func(ps ...point) {
		for _, p := range ps {
			west, east = min(west, p[0]), max(east, p[0])
			south, north = min(south, p[1]), max(north, p[1])
		}
	}
	polygon := func(id string, rings [][]point) {
		for i, r := range rings {
			line(r...)
			if len(r) < 4 || r[0] != r[len(r)-1] {
				t.Errorf("%v ring %d has %d points, closed %v", id, i, len(r), r[0] == r[len(r)-1])
			}
			sum := 0.0
			for j := 1; j < len(r); j++ {
				sum += (r[j][0] - r[j-1][0]) * (r[j][1] + r[j-1][1] - 2*r[0][1])
			}
			if ccw := sum < 0; ccw != (i == 0) {
				t.Errorf("%v ring %d counter-clockwise %v", id, i, ccw)
			}
		}
		holes += len(rings) - 1
	}
	for _, f := range doc.Features {
		if f.Geometry == nil {
			nulls++
			continue
		}
		var err error
		into := func(v any) { err = json.Unmarshal(f.Geometry.Coordinates, v) }
		switch f.Geometry.Type {
		case "Point":
			var p point
			into(&p)
			line(p)
		case "LineString":
			var l []point
			into(&l)
			line(l...)
		case "MultiLineString":
			var m [][]point
			into(&m)
			for _, l := range m {
				line(l...)
			}
		case "Polygon":
			var rings [][]point
			into(&rings)
			polygon(f.ID, rings)
		case "MultiPolygon":
			var m [][][]point
			into(&m)
			for _, rings := range m {
				polygon(f.ID, rings)
			}
		default:
			t.Errorf("%s is a %s", f.ID, f.Geometry.Type)
		}
		if err != nil {
			t.Errorf("%s: %v", f.ID, err)
		}
	}
	if holes != 8 {
		t.Errorf("%d holes, want the 7 of the rings between depths and the 1 on the hump", holes)
	}
	if nulls != 1 {
		t.Errorf("%d features without geometry, want the one band that was never sounded", nulls)
	}
	if want := []float64{west, south, east, north}; !slices.Equal(doc.BBox, want) {
		t.Errorf("bbox %v, want %v", doc.BBox, want)
	}
}

func TestUnknownIsNull(t *testing.T) {
	doc := read(t, written(t, exporttest.Season(), export.Options{}))
	for _, c := range []struct {
		id   string
		want string
	}{
		{"Z2", "temp_c drift_mps drift_toward_deg head_oz head_g sink_s line_out_m line_angle_deg"},
		{"Z3", "structure hour_from hour_to head_oz head_g sink_s line_out_m line_angle_deg"},
		{"B8", "rate_per_h rate_low_per_h rate_high_per_h selection selection_low selection_high"},
		{"D2", "productive_from_m productive_to_m stretch_depth_m"},
		{"D3", "rate_per_h events_per_pass productive_from_m productive_to_m stretch_depth_m"},
	} {
		var properties map[string]any
		for _, f := range doc.Features {
			if f.ID != c.id {
				continue
			}
			if err := json.Unmarshal(f.Properties, &properties); err != nil {
				t.Fatal(err)
			}
		}
		for _, name := range strings.Fields(c.want) {
			v, there := properties[name]
			if !there || v != nil {
				t.Errorf("%s %s is %v, there %v; want null", c.id, name, v, there)
			}
		}
	}
}

func TestSameBytes(t *testing.T) {
	a, b := written(t, exporttest.Season(), export.Options{}), written(t, exporttest.Season(), export.Options{})
	if !bytes.Equal(a, b) {
		t.Error("two writes differ")
	}
}

type broken struct{ room int }

var errFull = errors.New("no space left")

func (b *broken) Write(p []byte) (int, error) {
	if b.room -= len(p); b.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestWriterError(t *testing.T) {
	for _, room := range []int{0, 5000} {
		if err := Write(&broken{room}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
			t.Errorf("room %d: %v", room, err)
		}
	}
}
