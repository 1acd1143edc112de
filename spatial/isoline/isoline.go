// Package isoline draws lines and areas of equal value on a raster. It knows no
// water: values in, shapes in metres out.
//
// # Method
//
// Four neighbouring known cell centres make a square; only squares are drawn on.
// Each is refined to 2 × 2 (surface.go), and every one of the four is marched
// through: a level line runs straight from edge to edge, crossing an edge where
// linear interpolation along it has the level (marching squares, Lorensen &
// Cline, Marching cubes, 1987, in the plane). Where two opposite corners are high
// and two low, the bilinear value at the saddle tells which pair touches (Nielson
// & Hamann, The asymptotic decider, 1991). A value exactly at the level is high,
// and crossings keep off the nodes (trace.go), so a line never ends or forks at
// one. All levels are drawn in one pass over the squares.
//
// An area is walked along the pieces of its lower level, those of its upper level
// backwards, and the border of the known squares (border.go, areas.go).
//
// By hand: values 0, 0, 1, 1 at the corners of one square of side 1, from south
// to north, and level 0.25 give one line from west to east a quarter of the way
// up, and above it an area of 3/4.
//
// # Cost
//
// Linear in cells and in points drawn. Memory: 32 bytes a point while drawing,
// and some rows of the raster.
//
// # What it does badly
//
// A feature between cell centres can't be seen: the surface stays within the
// values around it, so a top between four of them is drawn flat. Levels nearer
// together than some 10⁻¹² of the step from one value to the next may touch.
package isoline

import (
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// Lines returns the lines of each level, in metres like r's origin, the larger
// values on their left. Lines end only at the border of the known squares, closed
// ones repeat their first point; first the open ones, then the closed ones, each
// from south to north by where they begin. No two lines cross or touch. Levels
// must be in ascending order, none twice: it panics otherwise. One that nothing
// crosses, an infinite one too, has no lines.
func Lines(r raster.Raster, levels []float64) [][][]r2.Vec {
	return draw(r, levels, true, false).lines()
}

// lines follows the pieces from point to point.
func (t *tracer) lines() [][][]r2.Vec {
	out := make([][][]r2.Vec, len(t.levels))
	n := t.points.count
	used := make([]bool, n)
	// A closed line has at least four points and one of them twice.
	slab := make([]r2.Vec, 0, int(n)+int(n)/4)
	follow := func(first int32) {
		from := len(slab)
		id := first
		for id >= 0 && !used[id] {
			used[id] = true
			p := t.points.at(id)
			slab = append(slab, p.at)
			id = p.next
		}
		if id >= 0 {
			slab = append(slab, slab[from])
		}
		level := t.points.at(first).level
		out[level] = append(out[level], slab[from:len(slab):len(slab)])
	}
	for id := range n {
		if t.points.at(id).prev < 0 {
			follow(id)
		}
	}
	for id := range n {
		if !used[id] {
			follow(id)
		}
	}
	return out
}
