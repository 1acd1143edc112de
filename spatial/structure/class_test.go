package structure

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// step goes smoothly from 0 to 1 as x goes from -half to half.
func step(x, half float64) float64 {
	u := math.Max(0, math.Min(1, (x+half)/(2*half)))
	return u * u * (3 - 2*u)
}

func bump(v r2.Vec, radius float64) float64 { return math.Exp(-r2.Norm2(v) / (radius * radius)) }

// Bottoms as an angler draws them, each with what its middle is called.
var bottoms = []struct {
	name  string
	want  Class
	depth func(v r2.Vec) float64
}{
	{"a round hump on a flat", Hump, func(v r2.Vec) float64 { return 8 - 3*bump(v, 45) }},
	{"a long hump on a flat", Hump, func(v r2.Vec) float64 { return 8 - 3*math.Exp(-v.Y*v.Y/900-v.X*v.X/40000) }},
	{"a round hole in a flat", Hole, func(v r2.Vec) float64 { return 5 + 3*bump(v, 45) }},
	{"a channel through a flat", Channel, func(v r2.Vec) float64 { return 5 + 3*math.Exp(-sq(v.Y-8*math.Sin(v.X/60))/900) }},
	{"a ledge between two flats", Ledge, func(v r2.Vec) float64 { return 4 + 5*step(v.X, 15) }},
	// The shore lies to the west; the point runs out east, its crest going down 1 in 25.
	{"a point from a bank", Point, func(v r2.Vec) float64 { return 6 + 0.04*v.X + 3*(1-math.Exp(-v.Y*v.Y/1600)) }},
	{"a plain bank of 8 in 100", Slope, func(v r2.Vec) float64 { return 20 + 0.08*v.X }},
	{"a flat of 1 in 100", Flat, func(v r2.Vec) float64 { return 6 + 0.01*v.X }},
	{"still water over one depth", Flat, func(v r2.Vec) float64 { return 6 }},
}

func sq(x float64) float64 { return x * x }

func turn(v r2.Vec, deg float64) r2.Vec {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return r2.Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y}
}

// The middle of each bottom, 10 m around, has its name whichever way it lies, in
// cells of 2.5, 5 and 10 m.
func TestBottomsHaveTheirNames(t *testing.T) {
	turnDeg := 30.0
	if testing.Short() { // the race detector makes each ten times as long
		turnDeg = 120
	}
	for _, b := range bottoms {
		for _, cellM := range []float64{2.5, 5, 10} {
			for deg := 0.0; deg < 360; deg += turnDeg {
				n := int(400/cellM) + 1
				m := Read(sampled(cellM, n, n, func(v r2.Vec) float64 { return b.depth(turn(v, deg)) }), Defaults(cellM))
				if got := m.Class[middle(m.Depth)]; got != b.want {
					t.Errorf("%s, turned by %v°, cells of %v m: %q, want %q", b.name, deg, cellM, got, b.want)
				}
			}
		}
	}
}

// A lake turned by 90° has the same classes to the cell.
func TestTurnedByARightAngle(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	r := sampled(5, 61, 61, func(v r2.Vec) float64 { return 8 + 3*math.Sin(v.X/40)*math.Cos(v.Y/25) + 0.05*rng.NormFloat64() })
	for i := range r.Known {
		if rng.Float64() < 0.1 {
			r.Known[i], r.Values[i] = false, 0
		}
	}
	turned := r.Like()
	for y := range 61 {
		for x := range 61 {
			if v, ok := r.At(x, y); ok {
				turned.Set(x*61+60-y, v)
			}
		}
	}
	a, b := Read(r, Defaults(5)), Read(turned, Defaults(5))
	seen := map[Class]bool{}
	for y := range 61 {
		for x := range 61 {
			p, q := a.Class[y*61+x], b.Class[x*61+60-y]
			seen[p] = true
			if p != q {
				t.Fatalf("column %d, row %d: %q, turned %q", x, y, p, q)
			}
		}
	}
	if len(seen) < 4 {
		t.Errorf("only %d classes", len(seen))
	}
}

// Noise of a sounder, 0.08 m, evened over nine cells as a map does, makes no
// structure of a flat.
func TestNoiseIsNoStructure(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	rough := sampled(5, 103, 103, func(v r2.Vec) float64 { return 6 + 0.08*rng.NormFloat64() })
	r := raster.New(r2.Vec{}, 5, 101, 101)
	for y := range 101 {
		for x := range 101 {
			sum := 0.0
			for k := range 9 {
				v, _ := rough.At(x+k%3, y+k/3)
				sum += v
			}
			r.Set(y*101+x, sum/9)
		}
	}
	m := Read(r, Defaults(5))
	shares, known, _ := m.Shares(r2.Vec{}, r2.Vec{X: 500, Y: 500}, func(r2.Vec) bool { return true })
	if known < 9000 || shares[0].Class != Flat || shares[0].Share < 0.9 {
		t.Errorf("of %d cells %v", known, shares)
	}
}

// What isn't known gets no word, nor does a lone swath too narrow to tell.
func TestUnknownStaysUnknown(t *testing.T) {
	r := sampled(5, 81, 81, func(v r2.Vec) float64 { return 8 - 3*bump(v, 45) })
	for i := range r.Known {
		if y := r.Centre(i).Y; math.Abs(y) > 2.5 { // one row
			r.Known[i], r.Values[i] = false, 0
		}
	}
	m := Read(r, Defaults(5))
	for i, c := range m.Class {
		if c != Unknown {
			t.Fatalf("cell %d is a %s", i, c)
		}
	}
	if _, ok := m.Break(r2.Vec{}, 500); ok {
		t.Error("a break where nothing is known")
	}
	none := Read(raster.Raster{}, Defaults(5))
	if s, known, all := none.Shares(r2.Vec{}, r2.Vec{X: 9, Y: 9}, func(r2.Vec) bool { return true }); s != nil || known != 0 || all != 0 {
		t.Errorf("shares of nothing: %v of %d", s, known)
	}
	if _, ok := none.Break(r2.Vec{}, 500); ok {
		t.Error("a break of nothing")
	}
}

// Two flats of 4 and 9 m with a ledge 30 m wide between them at x = 0.
func TestBreak(t *testing.T) {
	m := Read(sampled(5, 121, 121, func(v r2.Vec) float64 { return 4 + 5*step(v.X, 15) }), Defaults(5))
	b, ok := m.Break(r2.Vec{X: -60, Y: 3}, 100)
	if !ok {
		t.Fatal("no break")
	}
	// The slope first exceeds 0.1 where 1.5·5/15·u(1-u)… = 0.1: about 13 m from the middle.
	near(t, "distance", b.DistM, 49, 6)
	near(t, "toward the east", b.Toward.Y/b.Toward.X, 0, 0.1)
	near(t, "lip", b.TopM, 4, 0.2)
	near(t, "foot", b.BottomM, 9, 0.2)
	if !b.TopKnown || !b.BottomKnown {
		t.Errorf("%+v", b)
	}
	if b, ok := m.Break(r2.Vec{X: 2}, 100); !ok || b.DistM > 2.6 {
		t.Errorf("on the ledge: %+v %v", b, ok)
	}
	if _, ok := m.Break(r2.Vec{X: -60}, 20); ok {
		t.Error("a break beyond the distance asked")
	}
	shares, known, all := m.Shares(r2.Vec{X: -10, Y: -50}, r2.Vec{X: 10, Y: 50}, func(r2.Vec) bool { return true })
	if known != all || len(shares) == 0 || shares[0].Class != Ledge || shares[0].Share < 0.9 {
		t.Errorf("on the ledge %v of %d", shares, all)
	}
	// Where known water ends on the slope, its foot isn't known.
	cut := sampled(5, 121, 121, func(v r2.Vec) float64 { return 4 + 5*step(v.X, 15) })
	for i := range cut.Known {
		if cut.Centre(i).X > 5 {
			cut.Known[i], cut.Values[i] = false, 0
		}
	}
	if b, ok := Read(cut, Defaults(5)).Break(r2.Vec{X: -60}, 100); !ok || !b.TopKnown || b.BottomKnown {
		t.Errorf("cut off on the slope: %+v %v", b, ok)
	}
}

// A stray cell or two make no ledge.
func TestTogether(t *testing.T) {
	const w = 7
	class := make([]Class, w*4)
	for _, i := range []int{0, 1, 3 * w, 4 + 2*w, 5 + 3*w, 6 + 2*w} { // two, one, and three by their corners
		class[i] = Ledge
	}
	for i, got := range together(class, w, 3) {
		if want := i == 4+2*w || i == 5+3*w || i == 6+2*w; got != want {
			t.Errorf("cell %d: %v", i, got)
		}
	}
}

func TestDefaultsGrowWithCells(t *testing.T) {
	for _, cellM := range []float64{1, 5, 20, 50} {
		s := Defaults(cellM)
		if s.FineOuterM < 3*cellM || s.BroadOuterM < 2*s.FineOuterM || s.FineInnerM >= s.FineOuterM || s.BroadInnerM != s.FineOuterM {
			t.Errorf("cells of %v m: %+v", cellM, s)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	r := sampled(5, 2000, 1000, func(v r2.Vec) float64 { return 8 + 3*math.Sin(v.X/70) + 2*math.Cos(v.Y/50) })
	b.ReportAllocs()
	for b.Loop() {
		Read(r, Defaults(5))
	}
}
