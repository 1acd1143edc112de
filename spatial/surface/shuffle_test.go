package surface

import (
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// The order of the points changes the rounding and nothing else, also where several stand
// in one place and the place asked for is one of theirs.
func TestOrderDoesNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	for range 40 {
		points := scatter(rng, 14, 25, func(v r2.Vec) float64 { return 8 + 0.05*v.Y + rng.NormFloat64() })
		for i := range points {
			points[i].Var = 0.02 * (1 + rng.Float64())
		}
		points[2].At, points[9].At = points[5].At, points[5].At
		other := slices.Clone(points)
		rng.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		for _, at := range []r2.Vec{{X: 2, Y: -3}, points[5].At} {
			for _, m := range methods {
				a, b := estimate(t, m, at, points), estimate(t, m, at, other)
				near(t, m.Name(), b.Value, a.Value, 1e-9)
				near(t, m.Name()+", variance", b.Var, a.Var, 1e-9*(1+a.Var))
			}
		}
	}
}
