// Package surface estimates values between scattered points of the plane, and how
// sure the estimate is. It knows no water: depths and temperatures are all the
// same to it.
//
//	inverse distance    distance.go     the mean of what is near
//	local quadratic     quadratic.go    a bent sheet laid through what is near
//	ordinary kriging    kriging.go      what the variogram makes of it
//	variogram           variogram.go    how alike values are at a distance
//
// A method works on the points it is given: choosing those that are near is the
// caller's.
package surface

import "gonum.org/v1/gonum/spatial/r2"

// A Point is a value at a place.
type Point struct {
	At    r2.Vec // metres
	Value float64
	Var   float64 // variance of the value's own error; 0: taken as exact
}

// An Estimate is a value at a place and the variance of its error, as far as the
// method knows it.
type Estimate struct{ Value, Var float64 }

// A Method estimates the value at a place from points, in any order; all are used.
// ok is false when there are none, or when the method can't tell from these. The
// points are kept as they are.
type Method interface {
	Name() string // in words: "inverse distance", …
	Estimate(at r2.Vec, near []Point, scratch *Scratch) (e Estimate, ok bool)
}

// Scratch is room that a method needs, kept from call to call by one goroutine. The
// zero value is ready.
type Scratch struct {
	matrix []float64
	right  []float64
	terms  [atOnce]term
}

// room returns slices of n·n and n numbers, all 0.
func (s *Scratch) room(n int) (matrix, right []float64) {
	if cap(s.matrix) < n*n {
		s.matrix = make([]float64, n*n)
	}
	if cap(s.right) < n {
		s.right = make([]float64, n)
	}
	matrix, right = s.matrix[:n*n], s.right[:n]
	clear(matrix)
	clear(right)
	return matrix, right
}
