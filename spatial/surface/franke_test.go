package surface

import (
	"math"
	"slices"
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
	// rms is over the whole grid, and over its nodes inside the hull of the points.
	rms := func(m Method) (all, inside float64) {
		n := 0.0
		for i := range 441 {
			v := r2.Vec{X: float64(i%21) / 20, Y: float64(i/21) / 20}
			d := estimate(t, m, v, points).Value - franke(v.X, v.Y)
			all += d * d
			if amid(v, points) {
				inside += d * d
				n++
			}
		}
		if n != 354 {
			t.Fatalf("%v nodes inside the hull, want 354", n)
		}
		return math.Sqrt(all / 441), math.Sqrt(inside / n)
	}
	idw1, _ := rms(InverseDistance{Power: 1})
	idw2, _ := rms(InverseDistance{Power: 2})
	near(t, "inverse distance, power 1", idw1, 0.17895405, 1e-7)
	near(t, "inverse distance, power 2", idw2, 0.07446329, 1e-7)
	// Points a tenth apart, so half of that for SoftM. The surface turns within a fifth:
	// the quadratic is to do better than the nearest point, and so than inverse distance.
	// Triangles it need not beat: they go through the points, and it rounds off.
	q, qIn := rms(Quadratic{SoftM: 0.05, SlopeSD: 5, CurveSD: 50})
	k, kIn := rms(Kriging{Variogram{Gaussian, 1e-6, 1, 0.3}})
	t.Logf("local quadratic %.5f, inside the hull %.5f; kriging %.5f, inside %.5f", q, qIn, k, kIn)
	if q > 0.05419247 {
		t.Errorf("local quadratic: %.5f, want better than the nearest point", q)
	}
	if k > 0.0184181 {
		t.Errorf("kriging with a Gaussian variogram: %.5f, want better than triangles", k)
	}
}

// amid reports whether a place lies inside the hull of points: no half-turn around it
// is without one.
func amid(v r2.Vec, points []Point) bool {
	var angles []float64
	for _, p := range points {
		d := r2.Sub(p.At, v)
		angles = append(angles, math.Atan2(d.Y, d.X))
	}
	slices.Sort(angles)
	gap := angles[0] + 2*math.Pi - angles[len(angles)-1]
	for i := 1; i < len(angles); i++ {
		gap = math.Max(gap, angles[i]-angles[i-1])
	}
	return gap <= math.Pi
}
