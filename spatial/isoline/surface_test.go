package isoline

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// lattice returns all nodes, row by row.
func lattice(r raster.Raster) (nodes [][]float64) {
	s := newSurface(r, true)
	for j := range s.h {
		nodes = append(nodes, make([]float64, s.w))
		s.row(j, nodes[j])
	}
	return nodes
}

// By hand, the example at the top of surface.go, and a row with a gap.
func TestRefineByHand(t *testing.T) {
	got := lattice(rows("0149", "0149"))
	for i, want := range []float64{0, 0.375, 1, 2.25, 4, 6.375, 9} {
		for j := range got {
			if got[j][i] != want {
				t.Errorf("row %d node %d: %v, want %v", j, i, got[j][i], want)
			}
		}
	}
	got = lattice(rows("0.24", "0.24"))
	if !math.IsNaN(got[0][1]) || !math.IsNaN(got[1][1]) || got[0][5] != 3 || got[1][0] != 0 {
		t.Errorf("%v: want nothing beside the gap and 3 between 2 and 4", got)
	}
}

// The cubic is exact for cubics of x or y, so the lattice of x³/9 + y² that rises
// eastward and northward holds it where no neighbour is missing; 1e-5 is what
// float32 leaves.
func TestRefineIsExactForCubics(t *testing.T) {
	f := func(v r2.Vec) float64 { return v.X*v.X*v.X/9 + v.Y*v.Y }
	got := lattice(sampled(r2.Vec{}, 1, 9, 9, f))
	for j := 2; j < 15; j++ {
		for i := 2; i < 15; i++ {
			if want := f(r2.Vec{X: float64(i) / 2, Y: float64(j) / 2}); math.Abs(got[j][i]-want) > 1e-5 {
				t.Errorf("node %d, %d: %v, want %v", i, j, got[j][i], want)
			}
		}
	}
}

func TestRefineDoesNotOvershoot(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		r := rough(rng, 12, 10, 3, 0.1)
		got := lattice(r)
		for j, row := range got {
			for i, v := range row {
				least, most, all := math.Inf(1), math.Inf(-1), true
				for _, c := range [][2]int{{i / 2, j / 2}, {(i + 1) / 2, j / 2}, {i / 2, (j + 1) / 2}, {(i + 1) / 2, (j + 1) / 2}} {
					w, ok := r.At(c[0], c[1])
					least, most, all = math.Min(least, w), math.Max(most, w), all && ok
				}
				if all == math.IsNaN(v) || all && (v < least || v > most) {
					t.Fatalf("node %d, %d: %v, the cells around it from %v to %v, known: %v", i, j, v, least, most, all)
				}
			}
		}
	}
}

// Along y = x the surface -(x - y)² is 0, 0.25 below that half a cell to the side and
// 0 between two cells on the crest; at 0.2 below, lines run along both sides of it,
// but for the corner squares, where neighbours are missing.
func TestRefineKeepsADiagonalRidge(t *testing.T) {
	r := sampled(r2.Vec{}, 1, 12, 12, func(v r2.Vec) float64 { return -(v.X - v.Y) * (v.X - v.Y) })
	long := 0
	for _, l := range Lines(r, []float64{-0.2})[0] {
		if length([][]r2.Vec{l}) > 9*math.Sqrt2 {
			long++
		}
	}
	if long == 0 || long > 2 {
		t.Errorf("%d long lines, want the ridge in one piece", long)
	}
}
