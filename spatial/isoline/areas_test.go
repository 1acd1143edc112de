package isoline

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/peterstace/simplefeatures/geom"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// valid holds polygons against the validity rules of OGC Simple Features as
// implemented by github.com/peterstace/simplefeatures, and their rings against the
// contract.
func valid(t *testing.T, mp orb.MultiPolygon) {
	t.Helper()
	var polygons []geom.Polygon
	for i, p := range mp {
		var rings []geom.LineString
		for k, r := range p {
			if want := map[bool]orb.Orientation{true: orb.CCW, false: orb.CW}[k == 0]; r.Orientation() != want {
				t.Fatalf("ring %d of a polygon runs the wrong way", k)
			}
			var xy []float64
			for n, q := range r {
				xy = append(xy, q[0], q[1])
				if n > 0 && q == r[n-1] {
					t.Fatal("a point twice in a row")
				}
				if next := r[1:]; n+1 < len(next) && straight(q, next[n], next[n+1]) {
					t.Fatal("a point on a straight run left in")
				}
			}
			if straight(r[len(r)-2], r[0], r[1]) {
				t.Fatal("a ring begins on a straight run")
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		if i > 0 && area(mp[i-1:i]) < area(mp[i:i+1])-1e-6 {
			t.Fatal("a larger polygon after a smaller one")
		}
		polygons = append(polygons, geom.NewPolygon(rings))
	}
	if err := geom.NewMultiPolygon(polygons).Validate(); err != nil {
		t.Fatalf("%d polygons: %v", len(mp), err)
	}
}

// area is reckoned from each ring's first point, so that an origin far away costs
// no digits.
func area(mp orb.MultiPolygon) float64 {
	sum := 0.0
	for _, p := range mp {
		for _, r := range p {
			sum += twiceArea(r) / 2
		}
	}
	return sum
}

// knownArea is that of the fully known squares.
func knownArea(r raster.Raster) float64 {
	n := 0
	for y := range r.H {
		for x := range r.W {
			if squareKnown(r, x, y) {
				n++
			}
		}
	}
	return float64(n) * r.CellM * r.CellM
}

var inf = math.Inf(1)

// uncut is Areas with the corners of the border left on, which fill the known squares.
func uncut(r raster.Raster, levels ...float64) []orb.MultiPolygon {
	return draw(r, levels, true, true).areas(false)
}

// With the corners cut the whole is that of the known squares, less an eighth of a
// square for each corner that stands out, more as much for each that stands in. Bands hold
// no place twice, and every place that lies half a cell from the border once.
func TestCorners(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	for round := range 300 {
		r := rough(rng, 4+rng.IntN(22), 4+rng.IntN(18), []float64{0, 0.3, 2}[round%3], []float64{0, 0.02, 0.1, 0.3, 0.45}[round%5])
		want, meetings := knownArea(r), 0.0
		for y := range r.H {
			for x := range r.W {
				n := 0
				for _, c := range [][2]int{{x - 1, y - 1}, {x, y - 1}, {x - 1, y}, {x, y}} {
					if c[0] >= 0 && c[1] >= 0 && squareKnown(r, c[0], c[1]) {
						n++
					}
				}
				switch opposite := x > 0 && y > 0 && squareKnown(r, x-1, y-1) == squareKnown(r, x, y); {
				case n == 1:
					want -= r.CellM * r.CellM / 8
				case n == 3:
					want += r.CellM * r.CellM / 8
				case n == 2 && opposite: // two squares meet at their corners: parted or joined
					meetings++
				}
			}
		}
		whole := Areas(r, []float64{-inf, inf})[0]
		valid(t, whole)
		if sum := area(whole); math.Abs(sum-want) > 1e-9*want+meetings*r.CellM*r.CellM/4 {
			t.Fatalf("round %d: the whole is %v, want %v but for %v meetings", round, sum, want, meetings)
		}
		bands := Areas(r, []float64{-inf, 2, 3, 4, 4.01, 6, 8, 11, inf})
		for _, mp := range bands {
			valid(t, mp)
		}
		for range 60 {
			x, y := float64(r.W-1)*rng.Float64(), float64(r.H-1)*rng.Float64()
			inner := true
			for _, c := range [][2]float64{{-0.5, -0.5}, {0.5, -0.5}, {-0.5, 0.5}, {0.5, 0.5}} {
				i, j := math.Floor(x+c[0]), math.Floor(y+c[1])
				inner = inner && i >= 0 && j >= 0 && squareKnown(r, int(i), int(j))
			}
			in := 0
			for _, mp := range bands {
				if planar.MultiPolygonContains(mp, orb.Point{r.Origin.X + x*r.CellM, r.Origin.Y + y*r.CellM}) {
					in++
				}
			}
			if in > 1 || inner && in != 1 {
				t.Fatalf("round %d: cell %.2f, %.2f is in %d bands; half a cell from the border: %v", round, x, y, in, inner)
			}
		}
	}
}

// Bands of all sorts of fields on all sorts of known squares are valid, add up to
// the known squares, and hold each place once, under a value of its band.
func TestAreasAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for round := range 300 {
		r := rough(rng, 4+rng.IntN(22), 4+rng.IntN(18), []float64{0, 0.3, 2}[round%3], []float64{0, 0.02, 0.1, 0.3, 0.45}[round%5])
		if round%4 == 0 {
			for i, v := range r.Values {
				r.Values[i] = float32(math.Round(float64(v)))
			}
		}
		levels := []float64{-inf, 2, 3, 4, 4.01, 6, 8, 11, inf}
		bands := uncut(r, levels...)
		sum := 0.0
		for _, mp := range bands {
			valid(t, mp)
			sum += area(mp)
		}
		want := knownArea(r)
		if math.Abs(sum-want) > 1e-9*want {
			t.Fatalf("round %d: bands add up to %v, known squares to %v", round, sum, want)
		}
		whole := uncut(r, -inf, inf)[0]
		valid(t, whole)
		if got := area(whole); math.Abs(got-want) > 1e-9*want {
			t.Fatalf("round %d: the whole is %v, known squares %v", round, got, want)
		}
		for range 30 {
			x, y := float64(r.W-1)*rng.Float64(), float64(r.H-1)*rng.Float64()
			at := orb.Point{r.Origin.X + x*r.CellM, r.Origin.Y + y*r.CellM}
			least, most := inf, -inf
			known := squareKnown(r, int(x), int(y))
			for _, c := range [][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
				v, _ := r.At(int(x)+c[0], int(y)+c[1])
				least, most = math.Min(least, v), math.Max(most, v)
			}
			in := 0
			for i, mp := range bands {
				if planar.MultiPolygonContains(mp, at) {
					in++
					if known && (levels[i] > most || levels[i+1] <= least) {
						t.Fatalf("round %d: band %d at %v, where values are from %v to %v", round, i, at, least, most)
					}
				}
			}
			if want := map[bool]int{true: 1}[known]; in != want {
				t.Fatalf("round %d: %v is in %d bands, want %d", round, at, in, want)
			}
		}
	}
}

func TestAreasByHand(t *testing.T) {
	type polygons [][]float64 // areas of each ring, the exterior first
	for _, c := range []struct {
		name        string
		r           raster.Raster
		least, most float64
		want        polygons
	}{
		{"one square, the upper part", rows("11", "00"), 0.25, inf, polygons{{0.75}}},
		{"one square, whole", rows("11", "00"), -inf, inf, polygons{{1}}},
		{"a wall through the whole band", rows("0099", "0099"), 1.8, 2.7, polygons{{0.1}}},
		{"known squares meet at a corner", rows("011", "000", "11."), -inf, inf, polygons{{3}}},
		{"known squares meet at a corner only", rows(".11", "000", "11."), -inf, inf, polygons{{1}, {1}}},
		{"two holes meet at a corner", rows("1111111", "1111111", "1111.11", "1111111", "11.1111", "1111111", "1111111"), -inf, inf, polygons{{36, -4, -4}}},
		{"a hole meets the edge at a corner", rows("11111", ".1111", "11111", "11.11", "11111", "11111"), -inf, inf, polygons{{18, -4}}},
		{"a hole", rows("11111", "11111", "11.11", "11111", "11111"), -inf, inf, polygons{{16, -4}}},
		{"two holes", rows("11111111", "11111111", "11.11.11", "11111111", "11111111"), -inf, inf, polygons{{28, -4, -4}}},
		{"a hole at the edge", rows("111", "111", "1.1"), -inf, inf, polygons{{2}}},
		{"flat at the least", rows("333", "333"), 3, 4, polygons{{2}}},
		{"flat at the most", rows("333", "333"), 2, 3, nil},
		{"outside the levels", rows("111", "999"), 20, 30, nil},
		{"nothing known", rows("..", ".."), -inf, inf, nil},
		{"nothing", raster.Raster{}, -inf, inf, nil},
		{"one row", rows("0123"), -inf, inf, nil},
	} {
		mp := uncut(c.r, c.least, c.most)[0]
		valid(t, mp)
		var got polygons
		for _, p := range mp {
			var rings []float64
			for _, r := range p {
				rings = append(rings, math.Round(twiceArea(r)*5e5)/1e6)
			}
			got = append(got, rings)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: rings of %v m², want %v", c.name, got, c.want)
		}
	}
	if Areas(rows("01", "01"), []float64{3}) != nil || Areas(rows("01", "01"), nil) != nil {
		t.Error("bands without two levels")
	}
}

// Under 2 + x + 2y the unit square has, in closed form, 1/4 from 2 to 3, 1/2 from 3
// to 4, 1/4 above; and a volume of 3.5, which Simpson's rule over the areas above 2,
// 2.5, … 5 gives exactly. Levels fall on nodes, and lines keep a thousandth of an edge
// of a twentieth away from them: 2e-4.
func TestPlane(t *testing.T) {
	r := sampled(r2.Vec{}, 0.1, 11, 11, func(v r2.Vec) float64 { return 2 + v.X + 2*v.Y })
	bands := uncut(r, 2, 2.5, 3, 3.5, 4, 4.5, inf)
	above := make([]float64, 7)
	for i := 5; i >= 0; i-- {
		valid(t, bands[i])
		above[i] = above[i+1] + area(bands[i])
	}
	for _, c := range []struct{ got, want float64 }{
		{above[0], 1}, {above[0] - above[2], 0.25}, {above[2] - above[4], 0.5}, {above[4], 0.25},
		{2 + (above[0]+4*above[1]+2*above[2]+4*above[3]+2*above[4]+4*above[5]+above[6])/6, 3.5},
	} {
		if math.Abs(c.got-c.want) > 2e-4 {
			t.Errorf("%v, want %v", c.got, c.want)
		}
	}
}

// Rings in rings: a cone of folded height, every band an annulus within the next.
func TestNestedIslands(t *testing.T) {
	r := sampled(r2.Vec{X: 1000, Y: 2000}, 1, 121, 121, func(v r2.Vec) float64 {
		return math.Abs(math.Mod(math.Hypot(v.X-1060, v.Y-2060), 20) - 10)
	})
	mp := Areas(r, []float64{-inf, 5})[0]
	valid(t, mp)
	if len(mp) < 3 {
		t.Fatalf("%d polygons, want annuli", len(mp))
	}
	for _, p := range mp[:3] {
		if len(p) != 2 {
			t.Fatalf("%d rings, want an annulus", len(p))
		}
	}
	// From 45 to 55 m, 25 to 35 m and 5 to 15 m from the middle.
	for i, want := range []float64{math.Pi * 1000, math.Pi * 600, math.Pi * 200} {
		if got := area(mp[i : i+1]); math.Abs(got-want) > 0.005*want {
			t.Errorf("annulus %d: %.1f m², want %.1f m²", i, got, want)
		}
	}
}

// Areas are bounded by what Lines draws.
func TestAreasMeetLines(t *testing.T) {
	r := rough(rand.New(rand.NewPCG(21, 22)), 40, 30, 0.5, 0.02)
	on := map[orb.Point]bool{}
	for _, mp := range Areas(r, []float64{4, 7}) {
		for _, p := range mp {
			for _, ring := range p {
				for _, q := range ring {
					on[q] = true
				}
			}
		}
	}
	for _, lines := range Lines(r, []float64{4, 7}) {
		for _, l := range lines {
			for i := 1; i+1 < len(l); i++ {
				a, b, c := orb.Point{l[i-1].X, l[i-1].Y}, orb.Point{l[i].X, l[i].Y}, orb.Point{l[i+1].X, l[i+1].Y}
				if !on[b] && !straight(a, b, c) {
					t.Fatalf("%v is on a line but on no ring", b)
				}
			}
		}
	}
}
