package bottom

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/surface"
)

// A step leads from a cell to one within reach.
type step struct {
	dx, dy int
	m      float64 // between the centres
	octant uint8
}

// steps returns the way to every cell whose soundings may lie within reachM, the
// nearest first.
func (t *Thinned) steps(reachM float64) []step {
	cellM := t.frame.CellM
	// A cell's soundings may lie half a diagonal nearer than its centre, as may the
	// place asked for.
	mostM := reachM + math.Sqrt2*cellM
	n := int(mostM / cellM)
	var out []step
	for dy := -n; dy <= n; dy++ {
		for dx := -n; dx <= n; dx++ {
			if m := math.Hypot(float64(dx), float64(dy)) * cellM; m <= mostM {
				out = append(out, step{dx, dy, m, octant(r2.Vec{X: float64(dx), Y: float64(dy)})})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b step) int { return cmp.Compare(a.m, b.m) })
	return out
}

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

// A gatherer collects the points around a place.
type gatherer struct {
	t      *Thinned
	reachM float64
	steps  []step
	point  func(cell int) (surface.Point, bool)
	near   []surface.Point
	sector []uint8
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
	g.near, g.sector = g.near[:0], g.sector[:0]
	nearestM = math.Inf(1)
	seen, sectors := [8]bool{}, 0
	ringM := math.Inf(1)
	for _, s := range g.steps {
		if s.m > ringM {
			break
		}
		cx, cy := x+s.dx, y+s.dy
		if cx < 0 || cy < 0 || cx >= g.t.frame.W || cy >= g.t.frame.H {
			continue
		}
		p, known := g.point(cy*g.t.frame.W + cx)
		if !known {
			continue
		}
		m := r2.Norm(r2.Sub(p.At, v))
		if m > g.reachM {
			continue
		}
		nearestM = math.Min(nearestM, m)
		g.near, g.sector = append(g.near, p), append(g.sector, s.octant)
		if !seen[s.octant] {
			seen[s.octant] = true
			sectors++
		}
		if sectors >= enoughSectors && len(g.near) >= enoughPoints {
			ringM = s.m
		}
	}
	return g.near, nearestM, len(g.near) > 0
}

// nearest returns the distance to the nearest point within reach; ok is false when
// there is none.
func (g *gatherer) nearest(v r2.Vec) (m float64, ok bool) {
	x, y := g.t.frame.Cell(v)
	m = math.Inf(1)
	for _, s := range g.steps {
		if s.m-math.Sqrt2*g.t.frame.CellM > m {
			break // a cell this far has nothing nearer
		}
		cx, cy := x+s.dx, y+s.dy
		if cx < 0 || cy < 0 || cx >= g.t.frame.W || cy >= g.t.frame.H {
			continue
		}
		if p, known := g.point(cy*g.t.frame.W + cx); known {
			m = math.Min(m, r2.Norm(r2.Sub(p.At, v)))
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
		if o := g.sector[i]; count[o] < perSector {
			count[o]++
			g.near[kept] = p
			kept++
		}
	}
	return g.near[:kept]
}
