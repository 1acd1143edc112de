package isoline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// Each line has the larger values on its left, keeps within known squares and ends
// at their border only; and the order is that of the contract.
func TestLinesRunWithHighOnTheLeft(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 30 {
		r := rough(rng, 24, 19, 0.5, 0.03)
		levels := []float64{2, 4, 5.5, 6, 9}
		all := Lines(r, levels)
		for k, lines := range all {
			sawClosed := false
			for i, l := range lines {
				if closed(l) {
					sawClosed = true
				} else if sawClosed {
					t.Fatal("an open line after a closed one")
				} else {
					for _, end := range []r2.Vec{l[0], l[len(l)-1]} {
						if !atBorder(r, end) {
							t.Fatalf("line ends at %v, inside what is known", end)
						}
					}
				}
				if i > 0 && closed(lines[i-1]) == closed(l) && lines[i-1][0].Y > l[0].Y+r.CellM/2 {
					t.Fatal("lines not from south to north")
				}
				for i := 1; i < len(l); i++ {
					if d := r2.Norm(r2.Sub(l[i], l[i-1])); d == 0 || d > 0.7072*r.CellM {
						t.Fatalf("a piece %v long", d)
					}
				}
			}
			checkSides(t, r, lines, levels[k])
		}
	}
}

// checkSides holds the lattice's nodes against the winding of closed lines.
func checkSides(t *testing.T, r raster.Raster, lines [][]r2.Vec, level float64) {
	s := newSurface(r, true)
	row := make([]float64, s.w)
	value := map[[2]int]float64{}
	for j := range s.h {
		s.row(j, row)
		for i, v := range row {
			value[[2]int{i, j}] = v
		}
	}
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			// The edge the piece starts on: its left end must be high.
			x, y := (l[i-1].X-r.Origin.X)/s.stepM, (l[i-1].Y-r.Origin.Y)/s.stepM
			a, b := [2]int{int(math.Floor(x + 1e-7)), int(math.Floor(y + 1e-7))}, [2]int{int(math.Ceil(x - 1e-7)), int(math.Ceil(y - 1e-7))}
			at := func(n [2]int) r2.Vec {
				return r2.Vec{X: r.Origin.X + float64(n[0])*s.stepM, Y: r.Origin.Y + float64(n[1])*s.stepM}
			}
			if r2.Cross(r2.Sub(l[i], l[i-1]), r2.Sub(at(a), l[i-1])) < 0 {
				a, b = b, a
			}
			if !(value[a] >= level && value[b] < level) {
				t.Fatalf("level %v at %v: left %v, right %v", level, l[i-1], value[a], value[b])
			}
		}
	}
}

// atBorder tells whether a square beside the edge that v lies on isn't known.
func atBorder(r raster.Raster, v r2.Vec) bool {
	x, y := (v.X-r.Origin.X)/r.CellM, (v.Y-r.Origin.Y)/r.CellM
	for _, d := range []r2.Vec{{X: 0.01}, {X: -0.01}, {Y: 0.01}, {Y: -0.01}} {
		if !squareKnown(r, int(math.Floor(x+d.X)), int(math.Floor(y+d.Y))) {
			return true
		}
	}
	return false
}

func squareKnown(r raster.Raster, x, y int) bool {
	for _, c := range [][2]int{{x, y}, {x + 1, y}, {x, y + 1}, {x + 1, y + 1}} {
		if _, ok := r.At(c[0], c[1]); !ok {
			return false
		}
	}
	return true
}

// No two pieces of lines cross or touch but where one goes on as the next. Whole
// numbers put levels on nodes everywhere.
func TestLinesKeepApart(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for round := range 60 {
		r := rough(rng, 14, 12, 1.5, 0.03)
		if round%2 == 0 {
			for i, v := range r.Values {
				r.Values[i] = float32(math.Round(float64(v)))
			}
		}
		type piece struct {
			a, b        r2.Vec
			level, line int
		}
		var all []piece
		for k, lines := range Lines(r, []float64{2, 3, 3.0001, 4, 4.5, 5, 6, 7, 7.999, 8, 10}) {
			for n, l := range lines {
				for i := 1; i < len(l); i++ {
					all = append(all, piece{l[i-1], l[i], k, n})
				}
			}
		}
		side := func(a, b, c r2.Vec) float64 { return r2.Cross(r2.Sub(b, a), r2.Sub(c, a)) }
		for i, p := range all {
			for _, q := range all[i+1:] {
				if math.Max(p.a.X, p.b.X) < math.Min(q.a.X, q.b.X) || math.Max(q.a.X, q.b.X) < math.Min(p.a.X, p.b.X) ||
					math.Max(p.a.Y, p.b.Y) < math.Min(q.a.Y, q.b.Y) || math.Max(q.a.Y, q.b.Y) < math.Min(p.a.Y, p.b.Y) {
					continue
				}
				if p.level == q.level && p.line == q.line && (p.b == q.a || q.b == p.a) {
					continue
				}
				if side(p.a, p.b, q.a)*side(p.a, p.b, q.b) <= 0 && side(q.a, q.b, p.a)*side(q.a, q.b, p.b) <= 0 {
					t.Fatalf("round %d: pieces %v and %v meet", round, p, q)
				}
			}
		}
	}
}

// Turned by a quarter or mirrored, a raster has the same lines, turned or mirrored.
func TestLinesTurnWithTheRaster(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	levels := []float64{3, 5, 6.5, 8}
	for round := range 20 {
		r := rough(rng, 15, 15, 0.8, 0.03)
		if round%2 == 0 {
			for i, v := range r.Values {
				r.Values[i] = float32(math.Round(float64(v)))
			}
		}
		r.Origin = r2.Vec{X: -7 * r.CellM, Y: -7 * r.CellM}
		want := midpoints(Lines(r, levels), func(v r2.Vec) r2.Vec { return v })
		for name, turn := range map[string]func(v r2.Vec) r2.Vec{
			"a quarter":          func(v r2.Vec) r2.Vec { return r2.Vec{X: -v.Y, Y: v.X} },
			"mirrored":           func(v r2.Vec) r2.Vec { return r2.Vec{X: -v.X, Y: v.Y} },
			"upside down":        func(v r2.Vec) r2.Vec { return r2.Vec{X: v.X, Y: -v.Y} },
			"along the diagonal": func(v r2.Vec) r2.Vec { return r2.Vec{X: v.Y, Y: v.X} },
		} {
			turned := r.Like()
			for i, k := range r.Known {
				if x, y := r.Cell(turn(r.Centre(i))); k {
					turned.Set(y*r.W+x, float64(r.Values[i]))
				}
			}
			if got := midpoints(Lines(turned, levels), func(v r2.Vec) r2.Vec { return v }); len(got) != len(want) {
				t.Fatalf("round %d, %s: %d pieces, want %d", round, name, len(got), len(want))
			}
			got := midpoints(Lines(turned, levels), func(v r2.Vec) r2.Vec { return v })
			for key := range midpoints(Lines(r, levels), turn) {
				if !got[key] {
					t.Fatalf("round %d, %s: no piece at %s", round, name, key)
				}
			}
		}
	}
}

// midpoints returns the middles of all pieces, turned, to a micrometre.
func midpoints(all [][][]r2.Vec, turn func(v r2.Vec) r2.Vec) map[string]bool {
	out := map[string]bool{}
	for k, lines := range all {
		for _, l := range lines {
			for i := 1; i < len(l); i++ {
				m := turn(r2.Scale(0.5, r2.Add(l[i], l[i-1])))
				out[fmt.Sprintf("%d %.6f %.6f", k, m.X+1e-9, m.Y+1e-9)] = true
			}
		}
	}
	return out
}

// Levels drawn together are those drawn one by one.
func TestLevelsDoNotDisturbEachOther(t *testing.T) {
	r := rough(rand.New(rand.NewPCG(1, 2)), 40, 30, 0.7, 0.02)
	levels := []float64{2, 3.5, 5, 6, 7, 9}
	for k, lines := range Lines(r, levels) {
		if !reflect.DeepEqual(lines, Lines(r, levels[k:k+1])[0]) {
			t.Errorf("level %v differs alone", levels[k])
		}
	}
}
