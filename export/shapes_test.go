package export_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/paulmach/orb"

	"leadline/export"
)

func TestCut(t *testing.T) {
	line := func(ps ...orb.Point) orb.LineString { return ps }
	for _, c := range []struct {
		name     string
		in, want orb.Geometry
	}{
		// The two worked examples of RFC 7946 section 3.1.9.
		{"the standard's line", line(orb.Point{170, 45}, orb.Point{-170, 45}),
			orb.MultiLineString{line(orb.Point{170, 45}, orb.Point{180, 45}), line(orb.Point{-180, 45}, orb.Point{-170, 45})}},
		{"the standard's polygon", orb.Polygon{{{180, 40}, {180, 50}, {170, 50}, {170, 40}, {180, 40}}},
			orb.Polygon{{{180, 40}, {180, 50}, {170, 50}, {170, 40}, {180, 40}}}},
		{"the same before it is cut", orb.Polygon{{{170, 40}, {-170, 40}, {-170, 50}, {170, 50}, {170, 40}}},
			orb.MultiPolygon{{{{170, 40}, {180, 40}, {180, 50}, {170, 50}, {170, 40}}}, {{{-180, 40}, {-170, 40}, {-170, 50}, {-180, 50}, {-180, 40}}}}},
		{"the other way", line(orb.Point{-179, 12}, orb.Point{179, 10}),
			orb.MultiLineString{line(orb.Point{180, 11}, orb.Point{179, 10}), line(orb.Point{-179, 12}, orb.Point{-180, 11})}},
		{"there and back", line(orb.Point{179, 0}, orb.Point{-179, 0}, orb.Point{-179, 2}, orb.Point{179, 2}),
			orb.MultiLineString{line(orb.Point{179, 0}, orb.Point{180, 0}), line(orb.Point{180, 2}, orb.Point{179, 2}), line(orb.Point{-180, 0}, orb.Point{-179, 0}, orb.Point{-179, 2}, orb.Point{-180, 2})}},
		{"a point on the meridian", line(orb.Point{179, 0}, orb.Point{180, 1}, orb.Point{-179, 2}),
			orb.MultiLineString{line(orb.Point{179, 0}, orb.Point{180, 1}), line(orb.Point{-180, 1}, orb.Point{-179, 2})}},
		{"touching it", line(orb.Point{179, 0}, orb.Point{180, 1}, orb.Point{179, 2}), line(orb.Point{179, 0}, orb.Point{180, 1}, orb.Point{179, 2})},
		{"touching it from the east, with its other name", line(orb.Point{-179, 0}, orb.Point{180, 1}, orb.Point{-179, 2}), line(orb.Point{-179, 0}, orb.Point{-180, 1}, orb.Point{-179, 2})},
		{"beyond 180", line(orb.Point{181, 0}, orb.Point{182, 1}), line(orb.Point{-179, 0}, orb.Point{-178, 1})},
		{"one of two lines", orb.MultiLineString{line(orb.Point{1, 1}, orb.Point{2, 2}), line(orb.Point{179, 0}, orb.Point{-179, 0})},
			orb.MultiLineString{line(orb.Point{1, 1}, orb.Point{2, 2}), line(orb.Point{179, 0}, orb.Point{180, 0}), line(orb.Point{-180, 0}, orb.Point{-179, 0})}},
		{"a point beyond", orb.Point{180.5, 3}, orb.Point{-179.5, 3}},
		{"a point on it", orb.Point{-180, 3}, orb.Point{-180, 3}},
		{"nothing", nil, nil},
		{"an empty line", orb.LineString(nil), orb.LineString(nil)},
		{"an empty polygon", orb.Polygon(nil), orb.Polygon(nil)},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := export.Cut(c.in); !reflect.DeepEqual(got, c.want) {
				t.Errorf("gives\n%v\nwant\n%v", got, c.want)
			}
		})
	}
}

// A hole across the meridian opens the two parts towards each other; one on one side
// stays a hole of that side.
func TestCutHoles(t *testing.T) {
	box := func(west, south, east, north float64) orb.Ring {
		return orb.Ring{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}
	}
	p := orb.Polygon{box(178, 0, -178, 9), box(179, 1, -179, 2), box(-179.5, 4, -178.5, 5), box(178.5, 6, 179.5, 7)}
	got, ok := export.Cut(p).(orb.MultiPolygon)
	if !ok || len(got) != 2 || len(got[0]) != 2 || len(got[1]) != 2 {
		t.Fatalf("gives %v", got)
	}
	// 4 by 9, less 2 by 1, less 1 by 1 twice; half of it on each side.
	for i, part := range got {
		if a := areaDeg2(orb.MultiPolygon{part}); math.Abs(a-16) > 1e-9 {
			t.Errorf("part %d has %v square degrees, want 16", i, a)
		}
	}
}

// areaDeg2 is the shoelace formula, apart from the code under test: rings as they stand.
func areaDeg2(m orb.MultiPolygon) float64 {
	sum := 0.0
	for _, p := range m {
		for _, r := range p {
			for i := 1; i < len(r); i++ {
				sum += (r[i-1][0]-r[0][0])*(r[i][1]-r[0][1]) - (r[i][0]-r[0][0])*(r[i-1][1]-r[0][1])
			}
		}
	}
	return sum / 2
}

// Laws of cutting, on random stars with a hole and on walks about a meridian: what is
// drawn about 180 is what was drawn about 40, cut and moved.
func TestCutLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	wrap := func(lon float64) float64 {
		if lon > 180 {
			lon -= 360
		}
		return math.Round(lon*1e7) / 1e7
	}
	crossed := 0
	for n := range 400 {
		lat, shift := -60+120*rng.Float64(), 0.02*(rng.Float64()-0.5)
		star := func(least, most float64) orb.Ring {
			var r orb.Ring
			corners := 5 + rng.IntN(30)
			for i := range corners {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
				reach := least + (most-least)*rng.Float64()
				if on := -shift / cos; on > least && on < most && rng.IntN(2) == 0 {
					reach = on // a corner on the meridian itself
				}
				lon := 40 + shift + reach*cos
				r = append(r, orb.Point{math.Round(lon*1e7) / 1e7, math.Round((lat+reach*sin)*1e7) / 1e7})
			}
			return append(r, r[0])
		}
		here := orb.Polygon{star(0.006, 0.012), star(0.001, 0.003)}
		var there orb.Polygon
		for _, r := range here {
			var moved orb.Ring
			for _, p := range r {
				moved = append(moved, orb.Point{wrap(p[0] + 140), p[1]})
			}
			there = append(there, moved)
		}
		want := areaDeg2(orb.MultiPolygon{export.Polygon(here)})
		var parts orb.MultiPolygon
		switch g := export.Cut(export.Polygon(there)).(type) {
		case orb.Polygon:
			parts = orb.MultiPolygon{g}
		case orb.MultiPolygon:
			parts = g
			crossed++
		}
		// A new corner is rounded by half of 1e-7 degrees, along an edge of 0.024 at most.
		if got := areaDeg2(parts); math.Abs(got-want) > float64(2+len(here[0])+len(here[1]))*0.024*1e-7 {
			t.Fatalf("%d: area %v, want %v", n, got, want)
		}
		for _, p := range parts {
			for i, r := range p {
				checkPart(t, r)
				if ccw := areaDeg2(orb.MultiPolygon{{r}}) > 0; ccw != (i == 0) {
					t.Fatalf("%d: ring %d counter-clockwise %v", n, i, ccw)
				}
				if len(r) < 4 || r[0] != r[len(r)-1] {
					t.Fatalf("%d: ring %v", n, r)
				}
			}
		}

		var walk orb.LineString
		lon, length := 180.0, 0.0
		for i := range 40 {
			lon += 0.01 * (rng.Float64() - 0.5)
			if i == 20 {
				lon = 180
			}
			p := orb.Point{wrap(lon), 10 + 0.001*float64(i)}
			if len(walk) > 0 {
				last := walk[len(walk)-1]
				length += math.Hypot(math.Remainder(p[0]-last[0], 360), p[1]-last[1])
			}
			walk = append(walk, p)
		}
		var pieces orb.MultiLineString
		switch g := export.Cut(walk).(type) {
		case orb.LineString:
			pieces = orb.MultiLineString{g}
		case orb.MultiLineString:
			pieces = g
		}
		got := 0.0
		for _, l := range pieces {
			checkPart(t, l)
			for i := 1; i < len(l); i++ {
				got += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
			}
		}
		if math.Abs(got-length) > 80e-7 {
			t.Fatalf("%d: walk is %v long, want %v", n, got, length)
		}
	}
	if crossed < 200 {
		t.Errorf("only %d polygons were cut", crossed)
	}
}

func checkPart(t *testing.T, ps []orb.Point) {
	t.Helper()
	for i, p := range ps {
		if math.Abs(p[0]) > 180 || i > 0 && math.Abs(p[0]-ps[i-1][0]) > 180 {
			t.Fatalf("position %d of %v", i, ps)
		}
	}
}

// Cutting writes nothing into what it is given.
func TestCutKeepsItsInput(t *testing.T) {
	for _, g := range []orb.Geometry{
		orb.LineString{{179, 1}, {-179, 2}}, orb.Polygon{{{170, 40}, {170, 50}, {-170, 50}, {-170, 40}, {170, 40}}},
	} {
		before := orb.Clone(g)
		export.Cut(g)
		if !reflect.DeepEqual(g, before) {
			t.Errorf("now %v, was %v", g, before)
		}
	}
}

func TestBounds(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []orb.Geometry
		want [4]float64
		ok   bool
	}{
		// RFC 7946 section 5.2: features in the Fiji archipelago, from 177 E to 178 W, 16 to 20 S.
		{"the standard's islands", []orb.Geometry{orb.Point{177, -20}, orb.Point{-178, -16}, orb.Point{179, -18}}, [4]float64{177, -20, -178, -16}, true},
		{"the other order", []orb.Geometry{orb.Point{-178, -16}, orb.Point{179, -18}, orb.Point{177, -20}}, [4]float64{177, -20, -178, -16}, true},
		{"one point", []orb.Geometry{nil, orb.Point{5, 6}}, [4]float64{5, 6, 5, 6}, true},
		{"about Greenwich", []orb.Geometry{orb.LineString{{-1, 0}, {1, 2}}, orb.Point{-3, 1}}, [4]float64{-3, 0, 1, 2}, true},
		{"parts that meet at 180", []orb.Geometry{orb.MultiLineString{{{179, 1}, {180, 2}}, {{-180, 2}, {-179, 3}}}}, [4]float64{179, 1, -179, 3}, true},
		{"up to 180 only", []orb.Geometry{orb.LineString{{179, 1}, {180, 2}}}, [4]float64{179, 1, 180, 2}, true},
		{"a long one holds a short one", []orb.Geometry{orb.LineString{{-100, 0}, {70, 0}}, orb.Point{-90, 0}, orb.Point{75, 0}}, [4]float64{-100, 0, 75, 0}, true},
		{"nothing", []orb.Geometry{nil}, [4]float64{}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			west, south, east, north, ok := export.Bounds(c.in...)
			if got := [4]float64{west, south, east, north}; got != c.want || ok != c.ok {
				t.Errorf("gives %v, %v; want %v, %v", got, ok, c.want, c.ok)
			}
		})
	}
}

// SignedArea across 180 is what it is elsewhere.
func TestSignedAreaAcross180(t *testing.T) {
	if got := export.SignedArea(orb.Ring{{179, 0}, {-179, 0}, {-179, 3}, {179, 3}}); got != 12 {
		t.Errorf("twice 2 by 3 is %v", got)
	}
}
