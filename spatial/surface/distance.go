package surface

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// InverseDistance is the mean of the points, weighted by
//
//	1 / (d² + SoftM²)^(Power/2)
//
// with d their distance (D. Shepard, A two-dimensional interpolation function for
// irregularly-spaced data, Proc. 23rd ACM Nat. Conf., 1968). With SoftM 0 it is
// Shepard's own, and a point at the place itself gives its value.
//
// By hand: 4 at 10 m and 6 at 20 m, power 2, give (4/100 + 6/400)/(1/100 + 1/400) = 4.4.
//
// Cost: linear in points.
//
// What it does badly: it never leaves the range of the points, so a slope flattens
// beside them, and many points on one side drown one on the other.
type InverseDistance struct{ Power, SoftM float64 }

// Name returns "inverse distance".
func (InverseDistance) Name() string { return "inverse distance" }

// Estimate returns the weighted mean. Its variance is the points' own, through the
// weights, and their weighted scatter about the mean.
func (m InverseDistance) Estimate(at r2.Vec, near []Point, _ *Scratch) (Estimate, bool) {
	if len(near) == 0 {
		return Estimate{}, false
	}
	var weight, sum, square, noise float64
	base := near[0].Value // so that squares don't lose digits
	for _, p := range near {
		d2 := r2.Norm2(r2.Sub(p.At, at)) + m.SoftM*m.SoftM
		if d2 == 0 {
			return Estimate{p.Value, p.Var}, true
		}
		w := 1 / d2
		if m.Power != 2 {
			w = math.Pow(d2, -m.Power/2)
		}
		v := p.Value - base
		weight += w
		sum += w * v
		square += w * v * v
		noise += w * w * p.Var
	}
	mean := sum / weight
	return Estimate{base + mean, math.Max(0, square/weight-mean*mean) + noise/(weight*weight)}, true
}
