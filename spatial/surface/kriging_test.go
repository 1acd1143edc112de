package surface

import (
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// Against gonum's dense solver on the other way to write it, in variograms and with
// a row and column for the sum of the weights. A point's own error stands there as a
// variogram below 0 with itself.
func TestKrigingAgainstDenseSolver(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for round := range 60 {
		v := Variogram{ModelKind(round % 3), 0.1 * rng.Float64(), 0.5 + rng.Float64(), 20 + 20*rng.Float64()}
		points := scatter(rng, 16, 25, func(v r2.Vec) float64 { return 5 + 0.1*v.X + rng.NormFloat64() })
		for i := range points {
			points[i].Var = 0.01 + 0.05*rng.Float64()
		}
		points[3].At = points[11].At // two looks at one place
		at := r2.Vec{X: 3, Y: -4}
		if round%4 == 0 {
			at = points[11].At
		}
		n := len(points)
		a, b := mat.NewDense(n+1, n+1, nil), mat.NewVecDense(n+1, nil)
		for i, p := range points {
			for j, q := range points {
				a.Set(i, j, v.Gamma(r2.Norm(r2.Sub(p.At, q.At))))
			}
			a.Set(i, i, -p.Var)
			a.Set(i, n, 1)
			a.Set(n, i, 1)
			b.SetVec(i, v.Gamma(r2.Norm(r2.Sub(p.At, at))))
		}
		b.SetVec(n, 1)
		var x mat.VecDense
		if err := x.SolveVec(a, b); err != nil {
			t.Fatal(err)
		}
		value, variance := 0.0, x.AtVec(n)
		for i, p := range points {
			value += x.AtVec(i) * p.Value
			variance += x.AtVec(i) * b.AtVec(i)
		}
		e := estimate(t, Kriging{v}, at, points)
		near(t, "value", e.Value, value, 1e-9)
		near(t, "variance", e.Var, variance, 1e-9)
	}
}

// Two exact values in one place leave nothing to solve. Rounding hid it in a quarter of such
// sets of points, and the first of the two won where the place was theirs.
func TestKrigingRefusesTwoExactValuesInOnePlace(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 34))
	for round := range 300 {
		points := scatter(rng, 6, 20, func(v r2.Vec) float64 { return v.X })
		points = append(points, Point{At: points[3].At, Value: 9})
		k := Kriging{Variogram{ModelKind(round % 3), 0, 0.59, 30}}
		for _, at := range []r2.Vec{{X: 1}, points[3].At} {
			if e, ok := k.Estimate(at, points, new(Scratch)); ok {
				t.Fatalf("round %d: %+v", round, e)
			}
		}
		twice := slices.Clone(points)
		twice[3].Var, twice[6].Var = 0.01, 0.01
		estimate(t, k, points[3].At, twice)
	}
}

// An exact point gives its own value to the last digit, nugget or not.
func TestKrigingAtAnExactPoint(t *testing.T) {
	points := scatter(rand.New(rand.NewPCG(35, 36)), 15, 20, func(v r2.Vec) float64 { return v.X / 3 })
	for _, nugget := range []float64{0, 0.2} {
		for _, p := range points {
			if e := estimate(t, Kriging{Variogram{Spherical, nugget, 1, 40}}, p.At, points); e != (Estimate{p.Value, 0}) {
				t.Errorf("nugget %v: %+v, want %v", nugget, e, p.Value)
			}
		}
	}
}
