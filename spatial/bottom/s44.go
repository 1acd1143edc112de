package bottom

import "math"

// A Limit is one order of IHO S-44, Standards for Hydrographic Surveys, edition 6
// (2020): the total vertical uncertainty that 95 % of a survey's soundings must
// keep within is sqrt(A² + (B·d)²) at depth d. The figures are from memory, held by the test
// against values computed elsewhere.
type Limit struct {
	Order string
	AM    float64
	B     float64
}

// Limits are the orders, strictest first.
var Limits = []Limit{
	{"Exclusive Order", 0.15, 0.0075},
	{"Special Order", 0.25, 0.0075},
	{"Order 1", 0.5, 0.013}, // 1a and 1b alike
	{"Order 2", 1.0, 0.023},
}

// M returns the limit at a depth, both in metres.
func (l Limit) M(depthM float64) float64 { return math.Hypot(l.AM, l.B*depthM) }

// OneM returns what 95 % of single soundings lie within, as the crossings have it: a
// difference holds the errors of two, so it is wider by the root of two. 0 without crossings.
func (x Crossings) OneM() float64 { return x.P95M / math.Sqrt2 }
