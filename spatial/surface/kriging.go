package surface

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Kriging is ordinary kriging: the weights that sum to 1 and make the expected
// square error least, were the values a random field with that variogram and an
// unknown mean (G. Matheron 1963; N. Cressie, Statistics for spatial data, 1993).
//
// With C the covariances of the points (each one's own variance added on the
// diagonal), c those with the place and 1 the vector of ones, the weights are
//
//	C⁻¹(c + 1·μ),  μ = (1 - 1ᵀC⁻¹c) / (1ᵀC⁻¹1)
//
// By hand: two points of 4 and 6 as far from the place as each other weigh a half
// each, whatever the variogram, and give 5.
//
// Cost: the cube of the points over three.
//
// What it does badly: with few points near and a variogram that doesn't fit, its
// variance means little; and a choice of points that changes from place to place leaves
// small steps in a map.
type Kriging struct{ Model Variogram }

// Name returns "ordinary kriging".
func (Kriging) Name() string { return "ordinary kriging" }

// Estimate returns the kriged value and the kriging variance. As in gstat the
// variance is that of a new value there, nugget and all; the variogram is 0 at
// distance 0, so what the nugget stands for is shared by all that is at one place. A
// point at the place itself, without an error of its own, gives its own value and 0.
// ok is false also when points without an error of their own stand in one place, or
// so near each other that the variogram can't tell them apart.
func (k Kriging) Estimate(at r2.Vec, near []Point, scratch *Scratch) (Estimate, bool) {
	n := len(near)
	if n == 0 {
		return Estimate{}, false
	}
	m, right := scratch.room(n + 1)
	c, ones := m[:n*n], m[n*n:n*n+n]
	sill := k.Model.Nugget + k.Model.PSill
	base := near[0].Value
	here := -1 // the exact point at the place
	for i := range n {
		for j := range i {
			c[i*n+j] = k.between(near[i].At, near[j].At)
		}
		c[i*n+i] = sill + near[i].Var
		right[i] = k.between(near[i].At, at)
		ones[i] = 1
		if near[i].Var == 0 && near[i].At == at {
			if here >= 0 {
				return Estimate{}, false
			}
			here = i
		}
	}
	if here >= 0 {
		return Estimate{near[here].Value, 0}, true
	}
	if !factor(c, n) {
		return Estimate{}, false
	}
	// Half-way solutions L⁻¹c and L⁻¹1 give every product that is needed.
	var cc, c1, oneone float64
	for i := range n {
		s, o := right[i], 1.0
		for j := range i {
			l := c[i*n+j]
			s -= l * right[j]
			o -= l * ones[j]
		}
		right[i], ones[i] = s/c[i*n+i], o/c[i*n+i]
	}
	for i := range n {
		cc += right[i] * right[i]
		c1 += right[i] * ones[i]
		oneone += ones[i] * ones[i]
	}
	mu := (1 - c1) / oneone
	// Weights: back through the factor.
	var value float64
	for i := n - 1; i >= 0; i-- {
		s := right[i] + mu*ones[i]
		for j := i + 1; j < n; j++ {
			s -= c[j*n+i] * right[j] // right holds weights from here on
		}
		right[i] = s / c[i*n+i]
		value += right[i] * (near[i].Value - base)
	}
	return Estimate{base + value, math.Max(0, sill-cc+mu*mu*oneone)}, true
}

// between returns the covariance of the values at two places, their errors aside.
func (k Kriging) between(a, b r2.Vec) float64 {
	if a == b {
		return k.Model.Nugget + k.Model.PSill
	}
	return k.Model.covariance(r2.Norm(r2.Sub(a, b)))
}

// leastPivot is how much of a row's own variance the rows before it must leave
// open: rounding alone leaves some 1e-16 for each row.
const leastPivot = 1e-12

// factor replaces the lower triangle of a matrix of n rows by its Cholesky factor;
// ok is false when it isn't positive definite beyond doubt.
func factor(a []float64, n int) (ok bool) {
	for i := range n {
		for j := 0; j <= i; j++ {
			s := a[i*n+j]
			for k := range j {
				s -= a[i*n+k] * a[j*n+k]
			}
			if i > j {
				a[i*n+j] = s / a[j*n+j]
				continue
			}
			if !(s > leastPivot*a[i*n+i]) {
				return false
			}
			a[i*n+i] = math.Sqrt(s)
		}
	}
	return true
}
