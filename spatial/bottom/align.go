package bottom

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Where water levels are missing, days are laid on each other by the cells that
// several of them sounded.
//
// Steps:
//  1. In each cell, each day's depth is the median of its passes. Each day is
//     compared with the next three that came there: the differences of a pair of days
//     are gathered over all cells.
//  2. A pair with at least twenty cells gives an edge: the median difference, which
//     is deaf to a slope under a receiver's error here and there, and its
//     standard error, 1.25 times the spread over the root of the cells, where four neighbouring cells
//     count as one since one pass gives them all.
//  3. The shifts that fit all edges best, by weighted least squares, with the
//     fixed days held (the observation equations of a levelling network).
//
// By hand: one day sounds 4.0 m in cells where a later one sounds 4.3 m; with the
// later day fixed the earlier one is shifted by 0.3 m.
//
// Cost: linear in nodes, cubic in days that have no level.
//
// What it does badly: it takes the bottom for unchanged, and a sounder that reads
// a tenth deep for a level.

// An Offset is what a day's depths need to lie on those of others.
type Offset struct {
	M       float64 // to be added
	ErrorM  float64 // its standard error; 0 for a day that others are laid on
	SpreadM float64 // of the differences, cell by cell, as a standard deviation (scaled MAD)
	Cells   int     // compared with other days
	Onto    int     // the fixed day, or latest of a group without one, that it hangs on
	OK      bool    // false where too little is shared with any other day: M is then 0
}

const (
	leastShared = 20   // cells a pair of days must share
	nextDays    = 3    // days each is compared with in a cell
	cellsAlike  = 4.0  // neighbouring cells that tell one thing
	errorFloorM = 0.02 // no pair is surer than this, whatever its spread
)

type edge struct {
	a, b           int
	diffM, spreadM float64 // of b's depth less a's
	cells          int
	weight         float64
}

// Align returns for each day the shift that lays it on the days that are fixed,
// or, in a group of days that shares no cell with a fixed one, on the latest of the group. It
// changes nothing; Shift does.
func (t *Thinned) Align(fixed []bool) []Offset {
	days := len(fixed)
	out := make([]Offset, days)
	edges := t.edges(days)
	group := make([]int, days) // the anchor each day hangs on
	for d := range group {
		group[d] = d
	}
	root := func(d int) int {
		for group[d] != d {
			d = group[d]
		}
		return d
	}
	// The anchor of a group is a fixed day before any other, then the latest.
	for _, e := range edges {
		a, b := root(e.a), root(e.b)
		if a == b {
			continue
		}
		if fixed[a] && !fixed[b] || fixed[a] == fixed[b] && a > b {
			a, b = b, a
		}
		group[a] = b
	}
	held := make([]bool, days)
	place := make([]int, days) // of a free day among the unknowns
	free := 0
	for d := range days {
		place[d] = -1
		held[d] = fixed[d] || root(d) == d
		if !held[d] {
			place[d] = free
			free++
		}
		out[d].Onto = root(d)
	}
	for _, e := range edges {
		for _, d := range []int{e.a, e.b} {
			out[d].OK = true
			out[d].SpreadM += e.spreadM * float64(e.cells)
			out[d].Cells += e.cells
		}
	}
	for d := range out {
		if out[d].Cells > 0 {
			out[d].SpreadM /= float64(out[d].Cells)
		}
	}
	if free == 0 {
		return out
	}
	normal, right := mat.NewSymDense(free, nil), mat.NewVecDense(free, nil)
	for _, e := range edges {
		a, b := place[e.a], place[e.b]
		if a >= 0 {
			normal.SetSym(a, a, normal.At(a, a)+e.weight)
			right.SetVec(a, right.AtVec(a)+e.weight*e.diffM)
		}
		if b >= 0 {
			normal.SetSym(b, b, normal.At(b, b)+e.weight)
			right.SetVec(b, right.AtVec(b)-e.weight*e.diffM)
		}
		if a >= 0 && b >= 0 {
			normal.SetSym(a, b, normal.At(a, b)-e.weight)
		}
	}
	var chol mat.Cholesky
	var shift mat.VecDense
	var cov mat.SymDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&shift, right) != nil || chol.InverseTo(&cov) != nil {
		// Every free day hangs on a held one by construction, so this can't be; if
		// it is, no day is moved.
		for d := range out {
			out[d].OK = false
		}
		return out
	}
	for d, k := range place {
		if k >= 0 {
			out[d].M, out[d].ErrorM = shift.AtVec(k), math.Sqrt(cov.At(k, k))
		}
	}
	return out
}

// edges returns the pairs of days that share enough cells, by day.
func (t *Thinned) edges(days int) []edge {
	diffs := make([][]float64, days*days)
	type visit struct {
		day    int
		depthM float64
	}
	var visits []visit
	var depths []float64
	for c := 0; c+1 < len(t.first); c++ {
		nodes := t.in(c)
		visits = visits[:0]
		for i := 0; i < len(nodes); {
			depths = depths[:0]
			day := nodes[i].day
			for ; i < len(nodes) && nodes[i].day == day; i++ {
				if !nodes[i].empty() {
					depths = append(depths, nodes[i].depthM)
				}
			}
			if day >= 0 && int(day) < days && len(depths) > 0 {
				visits = append(visits, visit{int(day), median(depths)})
			}
		}
		for i, a := range visits {
			for _, b := range visits[i+1 : min(len(visits), i+1+nextDays)] {
				k := a.day*days + b.day
				diffs[k] = append(diffs[k], b.depthM-a.depthM)
			}
		}
	}
	var out []edge
	for k, v := range diffs {
		if len(v) < leastShared {
			continue
		}
		m := median(v)
		e := edge{a: k / days, b: k % days, diffM: m, cells: len(v), spreadM: scaledMAD(v, m, make([]float64, 0, len(v)))}
		standard := math.Max(errorFloorM, 1.2533*e.spreadM*math.Sqrt(cellsAlike/float64(len(v))))
		e.weight = 1 / (standard * standard)
		out = append(out, e)
	}
	return out
}
