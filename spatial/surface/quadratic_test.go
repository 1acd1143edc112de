package surface

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// A row of exact points at any angle, under priors from stiff to none to speak of: the
// slope along it is followed, none is made up across it, and the variance says that
// it is open. With weights that hide the prior the result was rounding: hundreds of metres.
func TestQuadraticBesideARowOfExactPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	for _, slope := range []float64{0.1, 1, 10, 1000} {
		for _, curve := range []float64{0, 0.01, 1, 100} {
			for range 50 {
				sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
				place := func(along, across float64) r2.Vec {
					return r2.Vec{X: 100 + along*cos - across*sin, Y: 300 + along*sin + across*cos}
				}
				var row []Point
				for x := -30.0; x <= 30; x += 3 {
					row = append(row, Point{At: place(x, 0), Value: 6 + 0.05*x})
				}
				e := estimate(t, Quadratic{SoftM: 5, SlopeSD: slope, CurveSD: curve}, place(7, 20), row)
				near(t, "beside the row", e.Value, 6.35, 1e-3)
				if e.Var < 0.99*slope*slope*20*20 {
					t.Errorf("slope %v, curve %v: variance %v", slope, curve, e.Var)
				}
			}
		}
	}
}

// The plane y = 6 + 0.2x - 0.1y all around comes back when slopes are free.
func TestQuadraticIsAPlaneAmidAPlane(t *testing.T) {
	plane := func(v r2.Vec) float64 { return 6 + 0.2*v.X - 0.1*v.Y }
	rng := rand.New(rand.NewPCG(43, 44))
	for range 100 {
		points := scatter(rng, 30, 20, plane)
		at := r2.Vec{X: 5 * rng.NormFloat64(), Y: 5 * rng.NormFloat64()}
		for _, curve := range []float64{0, 0.01, 1} {
			near(t, "plane", estimate(t, Quadratic{SoftM: 5, SlopeSD: 10, CurveSD: curve, NoiseSD: 0.02}, at, points).Value, plane(at), 1e-3)
		}
	}
}
