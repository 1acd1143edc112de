package surface

import (
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Points at the place itself count alone and alike, in any order: here 1 and 3, so 2,
// with their scatter of 1 and half of their mean error of 0.2.
func TestInverseDistanceOnTheSpot(t *testing.T) {
	points := []Point{{At: r2.Vec{X: 4}, Value: 9}, {Value: 1, Var: 0.1}, {Value: 3, Var: 0.3}}
	for _, power := range []float64{1, 2, 3.5} {
		for range 2 {
			e := estimate(t, InverseDistance{Power: power}, r2.Vec{}, points)
			near(t, "value", e.Value, 2, 1e-15)
			near(t, "variance", e.Var, 1.1, 1e-15)
			slices.Reverse(points)
		}
	}
}

// Distances whose squares, or their inverses, are no numbers any more.
func TestInverseDistanceAtTheEnds(t *testing.T) {
	for _, m := range []float64{1e-320, 1e-160, 1e-80} {
		e := estimate(t, InverseDistance{Power: 2}, r2.Vec{}, []Point{{At: r2.Vec{X: m}, Value: 2}, {At: r2.Vec{X: 1}, Value: 5}})
		near(t, "next to a point", e.Value, 2, 1e-12)
		near(t, "its variance", e.Var, 0, 1e-12)
	}
	if e, ok := (InverseDistance{Power: 4}).Estimate(r2.Vec{}, []Point{{At: r2.Vec{X: 1e100}, Value: 2}}, nil); ok {
		t.Errorf("from beyond all distance: %+v", e)
	}
}
