package structure

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.6g, want %.6g within %g", what, got, want, tol)
	}
}

// sampled is a raster of a function of place, its middle cell at the origin.
func sampled(cellM float64, w, h int, f func(r2.Vec) float64) raster.Raster {
	r := raster.New(r2.Vec{X: -float64(w/2) * cellM, Y: -float64(h/2) * cellM}, cellM, w, h)
	for i := range r.Values {
		r.Set(i, f(r.Centre(i)))
	}
	return r
}

func middle(r raster.Raster) int { return r.H/2*r.W + r.W/2 }

// Depths 1 2 3 / 2 3 5 / 3 5 8 from the north at cells of 5 m, worked by hand in shape.go.
func TestSlopeByHand(t *testing.T) {
	r := raster.New(r2.Vec{}, 5, 3, 3)
	for i, d := range []float64{3, 5, 8, 2, 3, 5, 1, 2, 3} {
		r.Set(i, d)
	}
	slope, _, _ := shape(r)
	near(t, "slope", float64(slope.Values[4]), math.Hypot(13.0/40, 13.0/40), 1e-6)
	for i, known := range slope.Known {
		if known != (i == 4) {
			t.Errorf("cell %d at the border: known %v", i, known)
		}
	}
	r.Known[0] = false
	if slope, _, _ := shape(r); slope.Known[4] {
		t.Error("a slope from eight depths")
	}
}

// Closed forms: a plane, a paraboloid, a ball of 200 m, a cone.
func TestShapeClosedForms(t *testing.T) {
	plane := sampled(5, 9, 9, func(v r2.Vec) float64 { return 9 + 0.03*v.X - 0.04*v.Y })
	slope, profile, plan := shape(plane)
	i := middle(plane)
	near(t, "slope of a plane", float64(slope.Values[i]), 0.05, 1e-6)
	near(t, "profile of a plane", float64(profile.Values[i]), 0, 1e-6)
	near(t, "plan of a plane", float64(plan.Values[i]), 0, 1e-6)

	// A hump of curvature 0.01 along x and 0.004 along y, at its top: the mean of both.
	hump := sampled(5, 9, 9, func(v r2.Vec) float64 { return 5 + 0.005*v.X*v.X + 0.002*v.Y*v.Y })
	slope, profile, plan = shape(hump)
	near(t, "slope at a top", float64(slope.Values[i]), 0, 1e-6)
	near(t, "curvature at a top", float64(profile.Values[i]), 0.007, 1e-6)
	near(t, "curvature at a top", float64(plan.Values[i]), 0.007, 1e-6)

	// A ball has the curvature 1/R both along and across the fall, everywhere; 25 m
	// from the top of one of 200 m finite differences over 2 m err by their fourth order.
	const radius = 200.0
	ball := sampled(1, 61, 61, func(v r2.Vec) float64 { return 205 - math.Sqrt(radius*radius-v.X*v.X-v.Y*v.Y) })
	slope, profile, plan = shape(ball)
	i = middle(ball) + 25
	near(t, "slope of a ball", float64(slope.Values[i]), 25/math.Sqrt(radius*radius-25*25), 1e-4)
	near(t, "profile of a ball", float64(profile.Values[i]), 1/radius, 1e-4)
	near(t, "plan of a ball", float64(plan.Values[i]), 1/radius, 1e-4)

	cone := sampled(5, 61, 61, func(v r2.Vec) float64 { return 3 + 0.2*r2.Norm(v) })
	slope, profile, plan = shape(cone)
	i = middle(cone) + 20 // 100 m from the tip
	near(t, "slope of a cone", float64(slope.Values[i]), 0.2, 2e-4)
	near(t, "profile of a cone", float64(profile.Values[i]), 0, 1e-5)
	// Across the fall a cone bends by slope/(r·sqrt(1 + slope²)).
	near(t, "plan of a cone", float64(plan.Values[i]), 0.2/(100*math.Sqrt(1.04)), 1e-5)
}

// The index by running sums against the definition, summed cell by cell, on a rough
// raster of which a third is not known.
func TestPositionAgainstTheDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	r := sampled(5, 40, 33, func(v r2.Vec) float64 { return 8 + 3*math.Sin(v.X/30) + rng.NormFloat64() })
	for i := range r.Known {
		if rng.Float64() < 0.33 {
			r.Known[i], r.Values[i] = false, 0
		}
	}
	s := newSums(r, -1)
	for _, c := range []struct{ innerM, outerM float64 }{{10, 30}, {30, 100}} {
		g := newRing(c.innerM/5, c.outerM/5, s.stride)
		got := position(r, s, g)
		for i := range r.Values {
			var sum float64
			known, all := 0, 0
			x, y := i%r.W, i/r.W
			for dy := -21; dy <= 21; dy++ {
				for dx := -21; dx <= 21; dx++ {
					if m := 5 * math.Hypot(float64(dx), float64(dy)); m < c.innerM-1e-6 || m > c.outerM+1e-6 {
						continue
					}
					all++
					if v, ok := r.At(x+dx, y+dy); ok {
						sum -= v
						known++
					}
				}
			}
			want := r.Known[i] && 2*known >= all
			if got.Known[i] != want {
				t.Fatalf("cell %d: %d of %d known, index known %v", i, known, all, got.Known[i])
			}
			if want {
				near(t, "index", float64(got.Values[i]), -float64(r.Values[i])-sum/float64(known), 2e-5)
			}
		}
	}
}

func TestPositionOfAPlaneIsZero(t *testing.T) {
	m := Read(sampled(5, 61, 61, func(v r2.Vec) float64 { return 9 + 0.08*v.X }), Defaults(5))
	i := middle(m.Depth)
	near(t, "fine", float64(m.Fine.Values[i]), 0, 1e-5)
	near(t, "broad", float64(m.Broad.Values[i]), 0, 1e-5)
}
