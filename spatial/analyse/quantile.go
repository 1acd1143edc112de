package analyse

import (
	"math"
	"slices"
)

// quantile returns the p-quantile of v, which must not be empty, and sorts v. It
// lies at place p(n-1) between the sorted values, so that the median is the
// middle value or the mean of the two middle ones: definition 7 of Hyndman & Fan,
// Sample quantiles in statistical packages, Am. Stat. 50, 1996.
//
// gonum v0.17.0 has their definitions 1 and 4 only (stat.Empirical and
// stat.LinInterp): by the latter the median of 1, 2, 9 is 1.5.
func quantile(p float64, v []float64) float64 {
	slices.Sort(v)
	at := p * float64(len(v)-1)
	i := int(math.Floor(at))
	if i+1 >= len(v) {
		return v[len(v)-1]
	}
	return v[i] + (at-float64(i))*(v[i+1]-v[i])
}
