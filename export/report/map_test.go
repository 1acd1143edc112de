package report

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// TestNorthUp: a point to the north is higher in the picture, one to the east
// further right, and both directions have one scale. From 36.5° N a step of
// 0.001° is 110.97 m north and 89.59 m east (WGS 84, closed form of the meridian
// and prime-vertical radii).
func TestNorthUp(t *testing.T) {
	c, ok := newCanvas(spatial.Chart{Events: []spatial.EventMark{
		{At: orb.Point{-40, 36.5}}, {At: orb.Point{-39.99, 36.502}},
	}})
	if !ok {
		t.Fatal("no canvas")
	}
	o, n, e := c.at(orb.Point{-40, 36.5}), c.at(orb.Point{-40, 36.501}), c.at(orb.Point{-39.999, 36.5})
	if !(n.y < o.y) || !(e.x > o.x) {
		t.Errorf("origin %v, north %v, east %v", o, n, e)
	}
	if got, want := (o.y-n.y)/(e.x-o.x), 110.97/89.59; math.Abs(got-want) > 1e-3 {
		t.Errorf("north to east %v, want %v", got, want)
	}
}

// TestEverythingInside: nothing the chart has a position for lies outside the
// picture, whatever the lake's shape.
func TestEverythingInside(t *testing.T) {
	for name, pts := range map[string][]orb.Point{
		"one point": {{-40, 36.5}},
		"tall":      {{-40, 36.4}, {-40.001, 36.6}},
		"wide":      {{-40.2, 36.5}, {-39.8, 36.501}},
		"far north": {{-40, 64.9}, {-39.9, 65.0}},
		"over 180":  {{179.99, -17}, {-179.99, -17.01}},
	} {
		t.Run(name, func(t *testing.T) {
			var ch spatial.Chart
			for _, p := range pts {
				ch.Events = append(ch.Events, spatial.EventMark{At: p})
			}
			c, _ := newCanvas(ch)
			if name == "over 180" && c.scale < 0.1 {
				t.Errorf("%v units a metre: the lake is torn apart", c.scale)
			}
			if c.width != mapWidth || c.height < mapMinHeight || c.height > mapMaxHeight+1 {
				t.Errorf("picture %v by %v", c.width, c.height)
			}
			for _, p := range pts {
				if at := c.at(p); at.x < 0 || at.y < 0 || at.x > c.width || at.y > c.height {
					t.Errorf("%v is at %v", p, at)
				}
			}
		})
	}
}

func TestNothingPlaced(t *testing.T) {
	if _, ok := newDrawing(spatial.Chart{}, si.US); ok {
		t.Error("drew a chart without positions")
	}
}

// TestScaleBar: the bar is as long as it says.
func TestScaleBar(t *testing.T) {
	d, _ := newDrawing(exporttest.Season().Chart, si.Metric)
	for _, zoom := range []float64{1, 4, 20} {
		v := view{zoom: zoom, width: 1000, height: 600}
		s := d.scaleBar(v)
		m, err := si.Length.Parse(s.Text)
		if err != nil {
			t.Fatal(err)
		}
		_, rest, _ := strings.Cut(s.D, "h")
		long, _, _ := strings.Cut(rest, "v")
		if want := num(m * d.scale * zoom); long != want {
			t.Errorf("%s is %s units long, want %s", s.Text, long, want)
		}
		if m*d.scale*zoom > 0.2*v.width {
			t.Errorf("%s is longer than a fifth of the view", s.Text)
		}
	}
}

// TestLabelsApart: no zone's name hides another, nor a depth.
func TestLabelsApart(t *testing.T) {
	ch := exporttest.Season().Chart
	for i := range 6 {
		z := ch.Zones[0]
		z.ID = string(rune('A' + i))
		ch.Zones = append(ch.Zones, z)
	}
	d, _ := newDrawing(ch, si.US)
	p := d.whole()
	seen := map[string]bool{}
	for _, z := range p.Zones {
		if z.Label == "" || seen[z.Label] {
			t.Errorf("%s stands at %q", z.ID, z.Label)
		}
		seen[z.Label] = true
	}
}

func TestAlong(t *testing.T) {
	bend := []xy{{0, 0}, {10, 0}, {10, 30}}
	for _, c := range []struct{ share, x, y, deg float64 }{
		{0, 0, 0, 0}, {0.125, 5, 0, 0}, {0.5, 10, 10, 90}, {1, 10, 30, 90},
	} {
		at, deg := along(bend, c.share)
		if math.Hypot(at.x-c.x, at.y-c.y) > 1e-9 || deg != c.deg {
			t.Errorf("at %v: %v, %v°", c.share, at, deg)
		}
	}
	if got := stretch(bend, 0.125, 0.5); len(got) != 3 || got[1] != bend[1] || got[2] != (xy{10, 10}) {
		t.Errorf("stretch %v", got)
	}
	if got := every(bend, 20); len(got) != 2 || got[0].at != (xy{10, 0}) || got[1].at != (xy{10, 20}) {
		t.Errorf("every %v", got)
	}
}

func TestFlaggedOrder(t *testing.T) {
	if got, want := flagged(map[string]int{"b": 2, "a": 2, "c": 1100}), "1,100 c, 2 a, 2 b"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestUnknownDepthIsADash(t *testing.T) {
	if got := depth(ingest.Maybe{}, si.US); got != "–" {
		t.Errorf("%q", got)
	}
}
