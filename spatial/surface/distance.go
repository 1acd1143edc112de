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

// overwhelming is a weight beside which no other counts: with power 2, that of a
// point 1e-50 m off. The square of a sum of a million of them is still a number.
const overwhelming = 1e100

// Estimate returns the weighted mean. Its variance is the points' own, through the
// weights, and their weighted scatter about the mean: it says how much the points
// disagree, and doesn't grow with their distance. Where several points stand at the
// place itself and SoftM is 0, they alone are averaged, alike. ok is false also when
// the points are so far away that no weight is left.
func (m InverseDistance) Estimate(at r2.Vec, near []Point, _ *Scratch) (Estimate, bool) {
	if len(near) == 0 {
		return Estimate{}, false
	}
	var weight, sum, square, noise float64
	base := near[0].Value // so that squares don't lose digits
	for _, p := range near {
		d2 := r2.Norm2(r2.Sub(p.At, at)) + m.SoftM*m.SoftM
		w := m.weight(d2)
		if w > overwhelming {
			return m.onTheSpot(at, near), true
		}
		v := p.Value - base
		weight += w
		sum += w * v
		square += w * v * v
		noise += w * w * p.Var
	}
	if weight == 0 {
		return Estimate{}, false
	}
	mean := sum / weight
	return Estimate{base + mean, math.Max(0, square/weight-mean*mean) + noise/(weight*weight)}, true
}

// weight is that of a point by the square of its distance, softened: infinite at 0.
func (m InverseDistance) weight(d2 float64) float64 {
	if m.Power == 2 {
		return 1 / d2
	}
	return math.Pow(d2, -m.Power/2)
}

// onTheSpot returns the plain mean of the points of overwhelming weight, of which
// there is one at least.
func (m InverseDistance) onTheSpot(at r2.Vec, near []Point) Estimate {
	var n, base, sum, square, noise float64
	for _, p := range near {
		d2 := r2.Norm2(r2.Sub(p.At, at)) + m.SoftM*m.SoftM
		if m.weight(d2) <= overwhelming {
			continue
		}
		if n == 0 {
			base = p.Value
		}
		v := p.Value - base
		n++
		sum += v
		square += v * v
		noise += p.Var
	}
	mean := sum / n
	return Estimate{base + mean, math.Max(0, square/n-mean*mean) + noise/(n*n)}
}
