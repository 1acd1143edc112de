package geojsonfile

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/export/exporttest"
)

// across moves the season east so that 180° runs through its hump, its first zone and its
// first drift line; longitudes stay within ±180.
func across(in export.Findings) export.Findings {
	const by = 179.998 + 40
	move := func(ps []orb.Point) {
		for i := range ps {
			ps[i][0] = math.Remainder(ps[i][0]+by, 360)
		}
	}
	polygon := func(p orb.Polygon) orb.Polygon {
		out := p.Clone()
		for _, r := range out {
			move(r)
		}
		return out
	}
	multi := func(m orb.MultiPolygon) orb.MultiPolygon {
		var out orb.MultiPolygon
		for _, p := range m {
			out = append(out, polygon(p))
		}
		return out
	}
	c := &in.Chart
	for i := range c.Zones {
		c.Zones[i].Shape = polygon(c.Zones[i].Shape)
	}
	for i := range c.Bands {
		c.Bands[i].Shape = multi(c.Bands[i].Shape)
	}
	for i := range c.Drifts {
		move(c.Drifts[i].Line)
	}
	for i := range c.Contours {
		for _, l := range c.Contours[i].Lines {
			move(l)
		}
	}
	for i := range c.Events {
		at := []orb.Point{c.Events[i].At}
		move(at)
		c.Events[i].At = at[0]
	}
	return in
}

// RFC 7946 section 3.1.9: what crosses the antimeridian is cut there; section 5.2: the
// bounding box then has its west greater than its east.
func TestAcross180(t *testing.T) {
	b := written(t, across(exporttest.Season()), export.Options{})
	exporttest.Golden(t, "across180.geojson", b)
	plain, moved := read(t, written(t, exporttest.Season(), export.Options{})), read(t, b)
	if len(moved.BBox) != 4 || !(moved.BBox[0] > 179.9 && moved.BBox[2] < -179.9 && moved.BBox[1] < moved.BBox[3]) {
		t.Errorf("bbox %v", moved.BBox)
	}
	if len(moved.Features) != len(plain.Features) {
		t.Fatalf("%d features, want %d", len(moved.Features), len(plain.Features))
	}
	cut := map[string]int{}
	for i, f := range moved.Features {
		was := plain.Features[i]
		if f.ID != was.ID || (f.Geometry == nil) != (was.Geometry == nil) {
			t.Fatalf("feature %d is %s, was %s", i, f.ID, was.ID)
		}
		if f.Geometry == nil {
			continue
		}
		if f.Geometry.Type != was.Geometry.Type {
			cut[was.Geometry.Type+" to "+f.Geometry.Type]++
		}
		area := sizes(t, f.Geometry.Coordinates)
		if was.Geometry.Type == "LineString" || was.Geometry.Type == "MultiLineString" {
			continue // a closed contour is open when it is cut
		}
		if want := sizes(t, was.Geometry.Coordinates); math.Abs(area-want) > 1e-8 {
			t.Errorf("%s encloses %v square degrees, was %v", f.ID, area, want)
		}
	}
	if cut["Polygon to MultiPolygon"] == 0 || cut["LineString to MultiLineString"] == 0 {
		t.Errorf("cut: %v", cut)
	}
}

// sizes returns what the closed paths of a geometry enclose in square degrees, holes
// counting against it, and holds every position to ±180 and every step to less than 180. A
// path that is not closed counts nothing.
func sizes(t *testing.T, coordinates json.RawMessage) float64 {
	t.Helper()
	var deep []json.RawMessage
	if err := json.Unmarshal(coordinates, &deep); err != nil {
		return 0 // a number
	}
	var path [][2]float64
	if json.Unmarshal(coordinates, &path) != nil || len(path) == 0 {
		sum := 0.0
		for _, d := range deep {
			sum += sizes(t, d)
		}
		return sum
	}
	sum := 0.0
	for i, p := range path {
		if math.Abs(p[0]) > 180 {
			t.Errorf("longitude %v", p[0])
		}
		if i > 0 {
			q := path[i-1]
			if math.Abs(p[0]-q[0]) > 180 {
				t.Errorf("from %v to %v", q, p)
			}
			sum += (q[0]-path[0][0])*(p[1]-path[0][1]) - (p[0]-path[0][0])*(q[1]-path[0][1])
		}
	}
	if path[0] != path[len(path)-1] {
		return 0
	}
	return sum / 2
}
