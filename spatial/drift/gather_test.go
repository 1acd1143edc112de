package drift

import (
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// All that run together are near by the grid, wherever its cells end.
func TestGridMissesNothing(t *testing.T) {
	_, passes := season(rand.New(rand.NewPCG(24, 1)), 20, 12, 60)
	for _, side := range []float64{-0.1, 0.1} { // along the edges of cells
		passes = append(passes, straight(r2.Vec{X: side, Y: -400}, r2.Vec{X: side, Y: -300}), straight(r2.Vec{X: -400, Y: side}, r2.Vec{X: -300, Y: side}))
	}
	tracks := tracksOf(passes)
	const widthM = 20
	g := newGrid(widthM + stepM)
	for i, a := range tracks {
		g.add(a.path, i)
	}
	together, pairs := 0, 0
	for i, a := range tracks {
		near := g.near(a.path)
		pairs += len(near)
		for j, b := range tracks {
			if _, ok := new(scratch).apart(a.path, b.path, a.lengthM, b.lengthM, widthM); ok {
				together++
				if !slices.Contains(near, j) {
					t.Errorf("passes %d and %d run together and are not near", i, j)
				}
			}
		}
	}
	if together < 3*len(tracks) || pairs > len(tracks)*len(tracks)/4 {
		t.Errorf("%d of %d pairs run together, %d are near: this shows little", together, len(tracks)*len(tracks), pairs)
	}
}

// Another round would change nothing.
func TestSettled(t *testing.T) {
	for seed := range uint64(20) {
		_, passes := season(rand.New(rand.NewPCG(71, seed)), 14, 12, 25)
		g := gatherer{tracksOf(passes), 20}
		groups := g.gather()
		if next := g.again(groups); !slices.EqualFunc(next, groups, slices.Equal[[]int]) {
			t.Errorf("season %d: %v becomes %v", seed, groups, next)
		}
	}
}
