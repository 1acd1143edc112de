package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// # Method
//
// How far apart two paths run is the shortest lead that lets two walkers, one on each, get
// from the first to the last point without going back, each stopping on the points only: the
// discrete Fréchet distance (Eiter & Mannila, Computing discrete Fréchet distance, Technical Report
// CD-TR 94/64, TU Vienna, 1994). The lead needed up to points i and j is
//
//	c(i,j) = max(|a(i) - b(j)|, min(c(i-1,j), c(i,j-1), c(i-1,j-1)))
//
// Before that two passes are cut to the stretch they share: each from the place nearest to where the
// other begins to the place nearest to where it ends, which is its own beginning or end where the other one goes
// on. Both pieces get as many points, evenly spaced, or the walkers would have to wait for each other.
//
// By hand: a from (0, 0) to (100, 0), b from (40, 10) to (160, 10). They share (40, 0) to (100, 0) and (40, 10)
// to (100, 10), 60 m of 100 and 120, and are 10 m apart.
//
// # Cost
//
// Points of one times points of the other, and memory for two rows of that. Cutting is linear.
//
// # What it does badly
//
// It is a greatest distance: one bad fix counts in full. By points only it is too great by up to their spacing where paths
// run at different paces, by decimetres for passes side by side at stepM (TestPaces). The place nearest to an end jumps
// where a path comes back upon itself.

// Frechet returns the discrete Fréchet distance of two paths, in their unit, counted from point to point: more points
// come nearer to the distance of the lines between. It tells directions apart, as Hausdorff's distance does not.
// Neither path is changed; a and b may change places. It panics when one has no points.
//
// Cost and source are above.
func Frechet(a, b []r2.Vec) float64 {
	if len(a) == 0 || len(b) == 0 {
		panic("drift: no distance of a path without points")
	}
	m, _ := new(scratch).frechet(a, b, math.Inf(1))
	return m
}

// scratch is room kept from pair to pair, by one goroutine. The zero value is ready.
type scratch struct {
	onA, onB   []r2.Vec
	above, row []float64
}

// frechet is Frechet where the distance is no more than mostM; ok is false when it is more, which
// is seldom hard to see: both walkers are farther apart wherever on some point the one stands.
func (x *scratch) frechet(a, b []r2.Vec, mostM float64) (m float64, ok bool) {
	// Squares, which keep the order, one place to the right: before each row nothing can be reached, and before
	// the first of all the walkers stand together.
	x.above, x.row = slices.Grow(x.above[:0], len(b)+1)[:len(b)+1], slices.Grow(x.row[:0], len(b)+1)[:len(b)+1]
	above, row := x.above, x.row
	for j := range above {
		above[j] = math.Inf(1)
	}
	above[0] = 0
	tooFar := mostM * mostM * (1 + 1e-9) // with room for rounding
	for _, p := range a {
		row[0] = math.Inf(1)
		west, southWest, least := row[0], above[0], math.Inf(1)
		for j, q := range b {
			dx, dy := p.X-q.X, p.Y-q.Y
			south := above[j+1]
			west = max(min(south, west, southWest), dx*dx+dy*dy)
			row[j+1] = west
			southWest = south
			least = min(least, west)
		}
		if least > tooFar {
			return 0, false
		}
		above, row = row, above
	}
	m = math.Sqrt(above[len(b)])
	return m, m <= mostM
}

// Shared returns the stretch of each of two paths that runs along the other, as many points of both, at even steps of
// at most stepM metres. It is not ok when they share none: they go opposite ways, cross, or one begins where the
// other has ended. Neither path is changed; both must have two points, and stepM be above 0.
func Shared(a, b []r2.Vec, stepM float64) (onA, onB []r2.Vec, ok bool) {
	s, ok := sharedBy(a, b)
	if !ok {
		return nil, nil, false
	}
	n := s.places(stepM)
	return stretch(make([]r2.Vec, 0, n), a, s.aFrom, s.aTo, n), stretch(make([]r2.Vec, 0, n), b, s.bFrom, s.bTo, n), true
}

// A common is the stretch two paths share, in metres along each.
type common struct{ aFrom, aTo, bFrom, bTo float64 }

func sharedBy(a, b []r2.Vec) (s common, ok bool) {
	s.aFrom, _ = Along(a, b[0])
	s.aTo, _ = Along(a, b[len(b)-1])
	if s.aFrom >= s.aTo {
		return s, false
	}
	s.bFrom, _ = Along(b, a[0])
	s.bTo, _ = Along(b, a[len(a)-1])
	return s, s.bFrom < s.bTo
}

func (s common) lengthM() float64 { return min(s.aTo-s.aFrom, s.bTo-s.bFrom) }

// places returns how many places at most stepM apart both pieces are made of.
func (s common) places(stepM float64) int {
	return int(math.Ceil(max(s.aTo-s.aFrom, s.bTo-s.bFrom)/stepM)) + 1
}

const (
	// turnDeg: wind seldom holds its direction better through a day; common practice, no source.
	turnDeg = 30
	// leastShare of the shorter must be shared: less is two passes one after the other. More would part
	// passes begun at different places, which is how most differ.
	leastShare = 0.5
)

// apart returns how far apart two paths run where they run together, at most mostM; ok is false when that is
// farther, they go different ways, or share too little.
func (x *scratch) apart(a, b []r2.Vec, aLengthM, bLengthM, mostM float64) (m float64, ok bool) {
	if r2.Dot(r2.Sub(a[len(a)-1], a[0]), r2.Sub(b[len(b)-1], b[0])) <= 0 {
		return 0, false // no need to look closer
	}
	s, ok := sharedBy(a, b)
	if !ok || s.lengthM() < leastShare*min(aLengthM, bLengthM) {
		return 0, false
	}
	// Most pairs are told by the ends of the pieces alone.
	x.onA, x.onB = stretch(x.onA[:0], a, s.aFrom, s.aTo, 2), stretch(x.onB[:0], b, s.bFrom, s.bTo, 2)
	if r2.Norm(r2.Sub(x.onA[0], x.onB[0])) > mostM || r2.Norm(r2.Sub(x.onA[1], x.onB[1])) > mostM {
		return 0, false // as their ends are, at the least
	}
	wayA, wayB := r2.Sub(x.onA[1], x.onA[0]), r2.Sub(x.onB[1], x.onB[0])
	if math.Abs(plane.TurnDeg(plane.BearingDeg(wayA), plane.BearingDeg(wayB))) >= turnDeg {
		return 0, false
	}
	n := s.places(stepM)
	x.onA, x.onB = stretch(x.onA[:0], a, s.aFrom, s.aTo, n), stretch(x.onB[:0], b, s.bFrom, s.bTo, n)
	return x.frechet(x.onA, x.onB, mostM)
}
