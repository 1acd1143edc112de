package bottom

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/surface"
)

// A field is what the passes of each cell say together, laid out for looking around: its rows
// have empty cells between them, and empty rows are below and above, so that no way leads out of it.
type field struct {
	points []surface.Point
	at     []int32 // by place: index of a point, or -1
	rowLen int     // places from one row of cells to the next
	first  int     // place of cell 0
	w, h   int     // cells
	cellM  float64
	reachM float64
	steps  []step
	inner  int // so many steps lead to nothing beyond reach, wherever in a cell one stands
}

// A step leads from a cell to one within reach.
type step struct {
	m      float64 // between the centres
	to     int32   // places on
	cells  int32   // cells on
	octant uint8
	ends   bool // the next leads farther
}

// field lays out the cells' points for looking as far as reachM.
func (t *Thinned) field(reachM float64) *field {
	w, h := t.frame.W, t.frame.H
	// A cell's soundings may lie half a diagonal nearer than its centre, as may the
	// place asked for.
	diagonalM := math.Sqrt2 * t.frame.CellM
	mostM := reachM + diagonalM
	margin := int(mostM / t.frame.CellM)
	f := &field{w: w, h: h, cellM: t.frame.CellM, rowLen: w + margin, reachM: reachM}
	f.first = margin*f.rowLen + margin
	f.steps = steps(f.cellM, mostM, margin, w, f.rowLen)
	for f.inner < len(f.steps) && f.steps[f.inner].m+diagonalM < (1-1e-9)*reachM { // less rounding
		f.inner++
	}
	f.at = make([]int32, (h+2*margin)*f.rowLen+margin)
	for i := range f.at {
		f.at[i] = -1
	}
	first := make([]int, h+1) // point of each row
	inParts(h, func(from, to int) {
		for y := from; y < to; y++ {
			for c := y * w; c < (y+1)*w; c++ {
				if slices.ContainsFunc(t.in(c), func(n node) bool { return !n.empty() }) {
					first[y+1]++
				}
			}
		}
	})
	for y := range h {
		first[y+1] += first[y]
	}
	f.points = make([]surface.Point, first[h])
	inParts(h, func(from, to int) {
		for y := from; y < to; y++ {
			k, row := first[y], f.row(y)
			for x := range row {
				if p, ok := t.pointWithout(y*w+x, -1); ok {
					row[x], f.points[k] = int32(k), p
					k++
				}
			}
		}
	})
	return f
}

// steps returns the way to every cell whose soundings may lie within reach, the
// nearest first.
func steps(cellM, mostM float64, n, w, rowLen int) []step {
	var out []step
	for dy := -n; dy <= n; dy++ {
		for dx := -n; dx <= n; dx++ {
			if m := math.Hypot(float64(dx), float64(dy)) * cellM; m <= mostM {
				out = append(out, step{m: m, to: int32(dy*rowLen + dx), cells: int32(dy*w + dx), octant: octant(r2.Vec{X: float64(dx), Y: float64(dy)})})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b step) int { return cmp.Compare(a.m, b.m) })
	for i := range out {
		out[i].ends = i+1 == len(out) || out[i].m < out[i+1].m
	}
	return out
}

// row returns where a row of cells has its places.
func (f *field) row(y int) []int32 { return f.at[f.first+y*f.rowLen:][:f.w] }

// octant returns which of eight sectors v points into.
func octant(v r2.Vec) uint8 {
	o := uint8(0)
	if v.X < 0 {
		o |= 1
	}
	if v.Y < 0 {
		o |= 2
	}
	if math.Abs(v.Y) > math.Abs(v.X) {
		o |= 4
	}
	return o
}

// A gatherer collects the points around a place. It belongs to one goroutine.
type gatherer struct {
	*field
	t       *Thinned
	without int32 // the pass left out, with those that it goes on from or into; -1: none
	near    []surface.Point
	found   []int32 // steps that led to a point
}

func (t *Thinned) gatherer(f *field) gatherer {
	return gatherer{field: f, t: t, without: -1, near: make([]surface.Point, 0, len(f.steps)), found: make([]int32, len(f.steps))}
}

// point returns what a step's cell says; ok is false when it says nothing.
func (g *gatherer) point(place, cell int) (p surface.Point, ok bool) {
	k := g.at[place]
	if k < 0 {
		return surface.Point{}, false
	}
	if g.without >= 0 {
		for _, n := range g.t.in(cell) {
			if g.t.sameStroke(n.pass, g.without) {
				return g.t.pointWithout(cell, g.without)
			}
		}
	}
	return g.points[k], true
}

// enough is how many points, in how many sectors, are enough: those farther out add
// nothing to water that is sounded on all sides.
const (
	enoughPoints  = 24
	enoughSectors = 7
)

// around returns the points within reach of v and the distance to the nearest of
// them; none beyond the ring in which enough are found. The slice is good until
// the next call. ok is false when no point is within reach.
func (g *gatherer) around(v r2.Vec) (near []surface.Point, nearestM float64, ok bool) {
	x, y := g.t.frame.Cell(v)
	here, cell := g.first+y*g.rowLen+x, y*g.t.frame.W+x
	g.near = g.near[:0]
	seen := uint8(0)
	nearest2, reach2 := math.Inf(1), g.reachM*g.reachM
	n := 0
	for i := range g.steps {
		s := &g.steps[i]
		p, known := g.point(here+int(s.to), cell+int(s.cells))
		if known {
			dx, dy := p.At.X-v.X, p.At.Y-v.Y
			if m2 := dx*dx + dy*dy; m2 <= reach2 {
				nearest2 = min(nearest2, m2)
				g.near = append(g.near, p)
				g.found[n] = int32(i)
				n++
				seen |= 1 << s.octant
			}
		}
		if s.ends && n >= enoughPoints && bits.OnesCount8(seen) >= enoughSectors {
			break
		}
	}
	return g.near, math.Sqrt(nearest2), n > 0
}

// aroundCell is around for the centre v of a cell, with no pass left out.
func (g *gatherer) aroundCell(x, y int, v r2.Vec) (near []surface.Point, nearestM float64, ok bool) {
	here := g.first + y*g.rowLen + x
	found := g.found
	n, seen := 0, uint8(0)
	enough := false
	// Whether a cell says something is as good as a coin's toss: no branch hangs on it.
	for i := range g.steps[:g.inner] {
		s := &g.steps[i]
		found[n] = int32(i)
		known := ^uint32(g.at[here+int(s.to)]) >> 31
		n += int(known)
		seen |= uint8(known << s.octant)
		if s.ends && n >= enoughPoints && bits.OnesCount8(seen) >= enoughSectors {
			enough = true
			break
		}
	}
	near = g.near[:n]
	nearest2, reach2 := math.Inf(1), g.reachM*g.reachM
	for i := range near {
		p := &g.points[g.at[here+int(g.steps[found[i]].to)]]
		near[i] = *p
		dx, dy := p.At.X-v.X, p.At.Y-v.Y
		nearest2 = min(nearest2, dx*dx+dy*dy)
	}
	for i := g.inner; i < len(g.steps) && !enough; i++ {
		s := &g.steps[i]
		if k := g.at[here+int(s.to)]; k >= 0 {
			p := &g.points[k]
			dx, dy := p.At.X-v.X, p.At.Y-v.Y
			if m2 := dx*dx + dy*dy; m2 <= reach2 {
				nearest2 = min(nearest2, m2)
				near = append(near, *p)
				found[n] = int32(i)
				n++
				seen |= 1 << s.octant
			}
		}
		enough = s.ends && n >= enoughPoints && bits.OnesCount8(seen) >= enoughSectors
	}
	g.near = near
	return near, math.Sqrt(nearest2), n > 0
}

// nearest returns the distance to the nearest point within reach; ok is false when
// there is none.
func (g *gatherer) nearest(v r2.Vec) (m float64, ok bool) {
	x, y := g.t.frame.Cell(v)
	here, cell := g.first+y*g.rowLen+x, y*g.t.frame.W+x
	m = math.Inf(1)
	for i := range g.steps {
		s := &g.steps[i]
		if s.m-math.Sqrt2*g.cellM > m {
			break // a cell this far has nothing nearer
		}
		if p, known := g.point(here+int(s.to), cell+int(s.cells)); known {
			dx, dy := p.At.X-v.X, p.At.Y-v.Y
			m = min(m, math.Sqrt(dx*dx+dy*dy))
		}
	}
	return m, m <= g.reachM
}

// spread returns at most perSector of the points last gathered in each sector,
// nearest first, so that a row of soundings along a track doesn't crowd out
// those beside it. It reorders what around returned.
func (g *gatherer) spread(perSector int) []surface.Point {
	var count [8]int
	kept := 0
	for i, p := range g.near {
		if o := g.steps[g.found[i]].octant; count[o] < perSector {
			count[o]++
			g.near[kept] = p
			kept++
		}
	}
	return g.near[:kept]
}
