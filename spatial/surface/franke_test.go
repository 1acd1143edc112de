package surface

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// franke is the test surface of R. Franke (Scattered data interpolation: tests of
// some methods, Math. Comp. 38, 1982).
func franke(x, y float64) float64 {
	e := func(a float64) float64 { return math.Exp(-a) }
	sq := func(a float64) float64 { return a * a }
	return 0.75*e((sq(9*x-2)+sq(9*y-2))/4) + 0.75*e(sq(9*x+1)/49+(9*y+1)/10) +
		0.5*e((sq(9*x-7)+sq(9*y-3))/4) - 0.2*e(sq(9*x-4)+sq(9*y-7))
}

// halton returns element i, from 1, of the sequence to a base.
func halton(i, base int) float64 {
	f, out := 1.0, 0.0
	for ; i > 0; i /= base {
		f /= float64(base)
		out += f * float64(i%base)
	}
	return out
}

// Values of the function, and root mean square errors on a grid of 21 by 21 from
// the first hundred points of the Halton sequence to bases 2 and 3, computed apart
// from this program in Python with SciPy 1.10.1: nearest point 0.05419247, inverse
// distance of power 1 0.17895405 and of power 2 0.07446329, linear on triangles
// 0.01841810 (on the 354 nodes inside the hull), thin-plate spline 0.00527576.
func TestFranke(t *testing.T) {
	near(t, "f(0, 0)", franke(0, 0), 0.7664205913, 1e-9)
	near(t, "f(0.2, 0.2)", franke(0.2, 0.2), 1.2185807042, 1e-9)
	near(t, "f(0.5, 0.5)", franke(0.5, 0.5), 0.3257620893, 1e-9)
	near(t, "f(0.8, 0.3)", franke(0.8, 0.3), 0.6161255205, 1e-9)
	var points []Point
	for i := 1; i <= 100; i++ {
		v := r2.Vec{X: halton(i, 2), Y: halton(i, 3)}
		points = append(points, Point{At: v, Value: franke(v.X, v.Y)})
	}
	rms := func(m Method) float64 {
		sum := 0.0
		for i := range 441 {
			v := r2.Vec{X: float64(i%21) / 20, Y: float64(i/21) / 20}
			d := estimate(t, m, v, points).Value - franke(v.X, v.Y)
			sum += d * d
		}
		return math.Sqrt(sum / 441)
	}
	near(t, "inverse distance, power 1", rms(InverseDistance{Power: 1}), 0.17895405, 1e-7)
	near(t, "inverse distance, power 2", rms(InverseDistance{Power: 2}), 0.07446329, 1e-7)
	// Points a tenth apart, a surface that turns within a fifth: the quadratic is to
	// do better than the nearest point and than inverse distance by far, and near
	// what triangles do inside the hull, though it has the rim as well.
	q, k := rms(Quadratic{SoftM: 0.05, SlopeSD: 5, CurveSD: 50}), rms(Kriging{Variogram{Gaussian, 1e-6, 1, 0.3}})
	t.Logf("local quadratic %.5f, kriging %.5f", q, k)
	if q > 0.03 {
		t.Errorf("local quadratic: %.5f", q)
	}
	if k > 0.0184181 {
		t.Errorf("kriging with a Gaussian variogram: %.5f, want better than triangles", k)
	}
}
