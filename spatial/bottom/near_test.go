package bottom

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync/atomic"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/surface"
)

// strewn returns soundings of days of a few each, so that every day is a pass, four of them in the corners.
func strewn(seed uint64, days int) []Sounding {
	r := rand.New(rand.NewPCG(seed, seed+1))
	var out []Sounding
	for d := range days {
		at := r2.Vec{X: 400 * r.Float64(), Y: 300 * r.Float64()}
		if d < 4 {
			at = r2.Vec{X: float64(d % 2 * 400), Y: float64(d / 2 * 300)}
		}
		for range 1 + r.IntN(12) {
			out = append(out, Sounding{At: at, DepthM: 5 + r.Float64(), Day: int32(d)})
			at = r2.Vec{X: max(0, min(400, at.X+10*r.Float64())), Y: max(0, min(300, at.Y+6*r.Float64()-3))}
		}
	}
	return out
}

// What is around a place, by the definition: rings of cells, the nearest first, until there is enough.
func aroundByRings(points map[[2]int]surface.Point, x, y int, v r2.Vec, reachM float64) (near []surface.Point, nearestM float64) {
	type cell struct {
		d2 int
		o  uint8
		p  surface.Point
	}
	var cells []cell
	for at, p := range points {
		dx, dy := at[0]-x, at[1]-y
		if r2.Norm(r2.Sub(p.At, v)) <= reachM {
			cells = append(cells, cell{dx*dx + dy*dy, octant(r2.Vec{X: float64(dx), Y: float64(dy)}), p})
		}
	}
	slices.SortFunc(cells, func(a, b cell) int { return a.d2 - b.d2 })
	nearestM = math.Inf(1)
	seen := map[uint8]bool{}
	for i, c := range cells {
		if i > 0 && c.d2 > cells[i-1].d2 && len(near) >= 24 && len(seen) >= 7 {
			break
		}
		near, seen[c.o] = append(near, c.p), true
		nearestM = math.Min(nearestM, r2.Norm(r2.Sub(c.p.At, v)))
	}
	return near, nearestM
}

// Cells must get what the definition says, in sparse water and in full, and places with a pass left out what they
// would get had it never been made.
func TestAround(t *testing.T) {
	for _, days := range []int{12, 300, 3000} {
		for _, reachM := range []float64{4, 18, 30} {
			s := strewn(uint64(days), days)
			thin := Thin(s, 5, reachM)
			f := thin.field(reachM)
			g := thin.gatherer(f)
			points := map[[2]int]surface.Point{}
			for c := range thin.frame.W * thin.frame.H {
				if p, ok := thin.pointWithout(c, -1); ok {
					points[[2]int{c % thin.frame.W, c / thin.frame.W}] = p
				}
			}
			byPlace := func(a, b surface.Point) int {
				if a.At.Y != b.At.Y {
					return int(math.Copysign(1, a.At.Y-b.At.Y))
				}
				return int(math.Copysign(1, a.At.X-b.At.X))
			}
			for c := 0; c < thin.frame.W*thin.frame.H; c += 1 + days/100 {
				x, y, v := c%thin.frame.W, c/thin.frame.W, thin.frame.Centre(c)
				want, wantM := aroundByRings(points, x, y, v, reachM)
				near, m, ok := g.aroundCell(x, y, v)
				if ok != (len(want) > 0) || ok && math.Abs(m-wantM) > 1e-9 {
					t.Fatalf("%d days, reach %v: cell %d %d: nearest %v %v, want %v", days, reachM, x, y, m, ok, wantM)
				}
				same := slices.Clone(near)
				placed, _, _ := g.around(v)
				if !slices.Equal(same, placed) {
					t.Fatalf("%d days, reach %v: cell %d %d: %d points, its centre %d", days, reachM, x, y, len(same), len(placed))
				}
				slices.SortFunc(same, byPlace)
				slices.SortFunc(want, byPlace)
				if !slices.Equal(same, want) {
					t.Fatalf("%d days, reach %v: cell %d %d: %d points, want %d", days, reachM, x, y, len(same), len(want))
				}
			}
			for skip := 5; skip < len(thin.passes); skip += 1 + len(thin.passes)/5 {
				p := thin.passes[skip]
				left := Thin(slices.Delete(slices.Clone(s), int(p.from), int(p.to)), 5, reachM)
				if left.frame.Origin != thin.frame.Origin || left.frame.W != thin.frame.W || left.frame.H != thin.frame.H {
					t.Fatal("the corners don't hold the frame")
				}
				left.passVarM2 = thin.passVarM2
				h := left.gatherer(left.field(reachM))
				g.without = int32(skip)
				for i := p.from; i < p.to; i++ {
					got, m, ok := g.around(s[i].At)
					want, wantM, wantOK := h.around(s[i].At)
					if ok != wantOK || m != wantM || !slices.Equal(got, want) {
						t.Fatalf("%d days, reach %v: without pass %d: %d points, want %d", days, reachM, skip, len(got), len(want))
					}
				}
				g.without = -1
			}
		}
	}
}

// One processor and three must find the same, to the last bit.
func TestProcessors(t *testing.T) {
	s := append(passes(29, 20, 0.1), strewn(30, 400)...)
	s[700].DepthM += 9
	of := func(n int) (*Model, []int, Crossings) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
		thin := Thin(s, 5, 30)
		strays := thin.FindStrays()
		m, err := thin.Build(context.Background(), 30)
		if err != nil {
			t.Fatal(err)
		}
		return m, strays, thin.Crossings()
	}
	a, strays, crossings := of(1)
	b, strays3, crossings3 := of(3)
	if len(strays) == 0 || crossings.N == 0 {
		t.Fatalf("%d strays and %d crossings: nothing is tested", len(strays), crossings.N)
	}
	if !slices.Equal(a.Depth.Values, b.Depth.Values) || !slices.Equal(a.U95.Values, b.U95.Values) || !slices.Equal(a.Trials, b.Trials) {
		t.Error("the map hangs on the number of processors")
	}
	if !slices.Equal(strays, strays3) || crossings != crossings3 {
		t.Errorf("strays %v and crossings %+v on one processor, %v and %+v on three", strays, crossings, strays3, crossings3)
	}
}

// Every piece is done once, and none after the end.
func TestShareOut(t *testing.T) {
	for _, n := range []int{0, 1, 7, 1000} {
		done := make([]atomic.Int32, n)
		inParts(n, func(from, to int) {
			for i := from; i < to; i++ {
				done[i].Add(1)
			}
		})
		for i := range done {
			if k := done[i].Load(); k != 1 {
				t.Fatalf("%d pieces: %d was done %d times", n, i, k)
			}
		}
	}
	ctx, end := context.WithCancel(context.Background())
	var did atomic.Int32
	err := shareOut(ctx, 1000, 1, func(next func() (from, to int)) {
		for from, to := next(); from < to; from, to = next() {
			if did.Add(1) == 10 {
				end()
			}
		}
	})
	if most := int32(10 + runtime.GOMAXPROCS(0)); err == nil || did.Load() > most {
		t.Errorf("ended after 10 pieces: %v, %d done", err, did.Load())
	}
}
