package drift

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// straight is a pass from a to b with a point every 2 m.
func straight(a, b r2.Vec) Pass {
	n := int(r2.Norm(r2.Sub(b, a)) / 2)
	p := Pass{Day: "2031-10-04", Seconds: 100}
	for i := 0; i <= n; i++ {
		p.Path = append(p.Path, r2.Add(a, r2.Scale(float64(i)/float64(n), r2.Sub(b, a))))
	}
	return p
}

func TestLines(t *testing.T) {
	v := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }
	for _, c := range []struct {
		name   string
		passes []Pass
		want   [][]int
	}{
		{"two side by side", []Pass{straight(v(0, 0), v(100, 0)), straight(v(0, 6), v(100, 6))}, [][]int{{0, 1}}},
		{"opposite ways are two passes, no line", []Pass{straight(v(0, 0), v(100, 0)), straight(v(100, 3), v(0, 3))}, nil},
		{"both ways twice are two lines", []Pass{
			straight(v(0, 0), v(100, 0)), straight(v(100, 3), v(0, 3)), straight(v(0, 2), v(110, 2)), straight(v(100, 1), v(0, 1))},
			[][]int{{0, 2}, {1, 3}}},
		{"too far apart", []Pass{straight(v(0, 0), v(100, 0)), straight(v(0, 30), v(100, 30))}, nil},
		{"short within long", []Pass{straight(v(0, 0), v(200, 0)), straight(v(80, 5), v(120, 5))}, [][]int{{0, 1}}},
		{"one after the other", []Pass{straight(v(0, 0), v(100, 0)), straight(v(110, 0), v(210, 0))}, nil},
		{"overlap of less than half", []Pass{straight(v(0, 0), v(100, 0)), straight(v(60, 0), v(160, 0))}, nil},
		{"crossing", []Pass{straight(v(0, 0), v(100, 0)), straight(v(50, -50), v(50, 50))}, nil},
		{"most passes first", []Pass{
			straight(v(0, 0), v(300, 0)), straight(v(0, 500), v(100, 500)), straight(v(0, 3), v(300, 3)), straight(v(0, 503), v(100, 503)), straight(v(0, 506), v(100, 506))},
			[][]int{{1, 3, 4}, {0, 2}}},
		{"none", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got [][]int
			for _, l := range Lines(c.passes, 20) {
				got = append(got, l.Passes)
			}
			if !slices.EqualFunc(got, c.want, slices.Equal[[]int]) {
				t.Errorf("lines of passes %v, want %v", got, c.want)
			}
		})
	}
}

func TestLineIsTheMiddle(t *testing.T) {
	lines := Lines([]Pass{straight(r2.Vec{}, r2.Vec{X: 100}), straight(r2.Vec{Y: 6}, r2.Vec{X: 100, Y: 6})}, 20)
	if len(lines) != 1 {
		t.Fatalf("%d lines", len(lines))
	}
	l := lines[0]
	for _, p := range l.Middle {
		if math.Abs(p.Y-3) > 1e-9 {
			t.Errorf("the line passes %v, want y = 3", p)
		}
	}
	if l.Middle[0].X > l.Middle[len(l.Middle)-1].X || math.Abs(l.LengthM()-100) > stepM || math.Abs(l.WidthM-6) > 1e-9 {
		t.Errorf("from %v to %v, %.1f m long, %.1f m wide; want eastward, 100 and 6",
			l.Middle[0], l.Middle[len(l.Middle)-1], l.LengthM(), l.WidthM)
	}
}

// Turning the lake turns the lines, and shuffling the passes changes nothing.
func TestLinesLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	for range 30 {
		var passes []Pass
		for range 4 {
			a := r2.Vec{X: rng.Float64() * 2000, Y: rng.Float64() * 2000}
			way := r2.Scale(100+rng.Float64()*150, plane.Toward(rng.Float64()*360))
			for range 3 {
				from := r2.Add(a, r2.Vec{X: rng.NormFloat64() * 3, Y: rng.NormFloat64() * 3})
				passes = append(passes, straight(from, r2.Add(from, way)))
			}
		}
		want := Lines(passes, 25)
		angle := rng.Float64() * 2 * math.Pi
		turned := make([]Pass, len(passes))
		perm := rng.Perm(len(passes))
		for i, j := range perm {
			turned[i] = passes[j]
			turned[i].Path = nil
			for _, p := range passes[j].Path {
				turned[i].Path = append(turned[i].Path, r2.Rotate(p, angle, r2.Vec{}))
			}
		}
		got := Lines(turned, 25)
		if len(got) != len(want) {
			t.Fatalf("%d lines, turned and shuffled %d", len(want), len(got))
		}
		for _, w := range want {
			start := r2.Rotate(w.Middle[0], angle, r2.Vec{})
			if !slices.ContainsFunc(got, func(g Line) bool {
				return len(g.Passes) == len(w.Passes) && r2.Norm(r2.Sub(g.Middle[0], start)) < stepM
			}) {
				t.Fatalf("line from %v with %d passes is gone once turned", w.Middle[0], len(w.Passes))
			}
		}
	}
}

func TestAlong(t *testing.T) {
	line := []r2.Vec{{}, {X: 10}, {X: 10, Y: 10}}
	for _, c := range []struct {
		v          r2.Vec
		along, off float64
	}{
		{r2.Vec{X: 4, Y: 3}, 4, 3}, {r2.Vec{X: -3, Y: 4}, 0, 5}, {r2.Vec{X: 13, Y: 6}, 16, 3}, {r2.Vec{X: 10, Y: 20}, 20, 10},
	} {
		if along, off := Along(line, c.v); math.Abs(along-c.along) > 1e-12 || math.Abs(off-c.off) > 1e-12 {
			t.Errorf("%v lies at %v, %v off; want %v, %v", c.v, along, off, c.along, c.off)
		}
	}
}
