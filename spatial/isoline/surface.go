package isoline

import (
	"math"

	"leadline/spatial/raster"
)

// The refined surface: a node at each cell centre, one half-way between two
// neighbours, one in the middle of four.
//
//	half-way   (9(a + b) - (p + q))/16 from the neighbours a, b and the next ones
//	           p, q in the same row or column: the four-point scheme of Dubuc
//	           (Interpolation through an iterative scheme, 1986) and Dyn, Levin &
//	           Gregory (1987), exact for cubics. A missing p is 2a - b. Held
//	           between a and b.
//	middle     the same rule across the half-way nodes, the mean of both
//	           directions, held within the four corners. Not within the half-way
//	           nodes: on the crest of a ridge that runs diagonally it stands above
//	           all four, and the ridge would fall into beads.
//
// So nothing overshoots, and an edge depends on its own row or column only: the
// squares on both sides agree. Every sum is one that turning or mirroring the raster
// leaves as it is.
//
// By hand: 0, 1, 4, 9 in a row (x² from 0) give 2.25 between 1 and 4, as x² does
// at 1.5; between 0 and 1, where p is missing, p is -1 and the node 0.375.

// A surface gives the lattice of nodes row by row. A node that isn't known is NaN
// in here; the middle of a square is known where its corners are.
type surface struct {
	r       raster.Raster
	refined bool // else the nodes are the cell centres
	w, h    int  // nodes
	stepM   float64
	// Rows y-1 to y+2 of the raster, at y mod 4: cell centres, and the nodes half-way
	// east.
	centres, between [4][]float64
	loaded           int       // rows before this one are loaded
	upright          []float64 // nodes half-way north
}

func newSurface(r raster.Raster, refined bool) *surface {
	s := &surface{r: r, refined: refined, w: r.W, h: r.H, stepM: r.CellM}
	if !refined {
		return s
	}
	s.w, s.h, s.stepM = 2*r.W-1, 2*r.H-1, r.CellM/2
	for i := range s.centres {
		s.centres[i], s.between[i] = make([]float64, r.W), make([]float64, r.W)
	}
	s.upright = make([]float64, r.W)
	for s.loaded = -1; s.loaded < 2; s.loaded++ {
		s.load(s.loaded)
	}
	return s
}

// row fills to with the nodes of row j of the lattice. Rows must be asked for in
// order.
func (s *surface) row(j int, to []float64) {
	if !s.refined {
		s.read(j, to)
		return
	}
	y := j / 2
	for ; s.loaded <= y+2; s.loaded++ {
		s.load(s.loaded)
	}
	c0, c1, c2, c3 := s.centres[(y+3)&3], s.centres[y&3], s.centres[(y+1)&3], s.centres[(y+2)&3]
	b0, b1, b2, b3 := s.between[(y+3)&3], s.between[y&3], s.between[(y+1)&3], s.between[(y+2)&3]
	if j%2 == 0 {
		for x := range s.r.W - 1 {
			to[2*x], to[2*x+1] = c1[x], b1[x]
		}
		to[2*s.r.W-2] = c1[s.r.W-1]
		return
	}
	up := s.upright
	for x := range up {
		up[x] = hold(cubic(c0[x], c1[x], c2[x], c3[x]), c1[x], c2[x])
	}
	for x := range s.r.W - 1 {
		a, b := up[x], up[x+1]
		to[2*x] = a
		p, q := beside(up, x-1), beside(up, x+2)
		m := (cubic(p, a, b, q) + cubic(b0[x], b1[x], b2[x], b3[x])) / 2
		low, high := order(c1[x], c1[x+1])
		low2, high2 := order(c2[x], c2[x+1])
		if low2 < low {
			low = low2
		}
		if high2 > high {
			high = high2
		}
		to[2*x+1] = hold(m, low, high)
	}
	to[2*s.r.W-2] = up[s.r.W-1]
}

// load takes row y of the raster in.
func (s *surface) load(y int) {
	c, b := s.centres[y&3], s.between[y&3]
	s.read(y, c)
	for x := range s.r.W - 1 {
		b[x] = hold(cubic(beside(c, x-1), c[x], c[x+1], beside(c, x+2)), c[x], c[x+1])
	}
}

// read fills to with row y of the raster, NaN where it isn't known. An infinite
// value is not a known one.
func (s *surface) read(y int, to []float64) {
	if y < 0 || y >= s.r.H {
		for x := range to {
			to[x] = math.NaN()
		}
		return
	}
	values, known := s.r.Values[y*s.r.W:][:s.r.W], s.r.Known[y*s.r.W:][:s.r.W]
	for x, v := range values {
		if to[x] = float64(v); !known[x] || math.IsInf(float64(v), 0) {
			to[x] = math.NaN()
		}
	}
}

// beside returns row[x], NaN outside.
func beside(row []float64, x int) float64 {
	if x < 0 || x >= len(row) {
		return math.NaN()
	}
	return row[x]
}

// cubic returns the value half-way from a to b with p before and q after them, NaN
// where a or b is.
func cubic(p, a, b, q float64) float64 {
	if p != p {
		p = 2*a - b
	}
	if q != q {
		q = 2*b - a
	}
	return (9*(a+b) - (p + q)) / 16
}

// hold returns v held between a and b, in either order.
func hold(v, a, b float64) float64 {
	a, b = order(a, b)
	if v < a {
		return a
	}
	if v > b {
		return b
	}
	return v
}

func order(a, b float64) (low, high float64) {
	if a > b {
		return b, a
	}
	return a, b
}
