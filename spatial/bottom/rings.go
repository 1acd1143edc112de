package bottom

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"gonum.org/v1/gonum/spatial/r2"
)

// Marching squares (Lorensen & Cline 1987 in the plane): between four cell
// centres a level line runs straight from edge to edge, crossing each edge where
// linear interpolation along it has the level. Where two opposite corners are
// high and two low, the lines are laid by the bilinear value at its saddle
// (Nielson & Hamann, The asymptotic decider, 1991). A value exactly at the level
// counts as high, so no line ends at a corner.
//
// By hand: corners 0, 0, 1, 1 from south to north and level 0.25 give one line
// from west to east, a quarter of the way up.
//
// Cost: linear in cells, n log n in the pieces that are joined up.

// A crossing is one edge between two neighbouring cell centres: its lower-left
// cell and whether it runs east (false) or north (true).
type crossing struct {
	cell  int
	north bool
}

func compareCrossings(a, b crossing) int {
	n := 0
	if a.north != b.north {
		n = -1
		if a.north {
			n = 1
		}
	}
	return cmp.Or(cmp.Compare(a.cell, b.cell), n)
}

// A piece of a level line, with the high side on its left.
type piece struct{ from, to crossing }

// field is what lines are drawn on.
type field struct {
	g *Grid
	// value is positive or 0 on the high side and negative on the low; a square
	// with a cell that isn't known is left out.
	value func(cell int) (v float64, known bool)
	// cut is where the line crosses from cell a to cell b, as a share of the way.
	cut func(a, b int) float64
}

// lines returns the level lines as chains of points of the plane with the high
// side on the left; closed ones repeat their first point.
func (f field) lines() [][]r2.Vec {
	var pieces []piece
	for y := 0; y+1 < f.g.h; y++ {
		for x := 0; x+1 < f.g.w; x++ {
			pieces = f.square(pieces, y*f.g.w+x)
		}
	}
	slices.SortFunc(pieces, func(a, b piece) int { return compareCrossings(a.from, b.from) })
	starts := func(c crossing) (int, bool) {
		return slices.BinarySearchFunc(pieces, c, func(p piece, c crossing) int { return compareCrossings(p.from, c) })
	}
	hasBefore := make([]bool, len(pieces))
	for _, p := range pieces {
		if i, ok := starts(p.to); ok {
			hasBefore[i] = true
		}
	}
	used := make([]bool, len(pieces))
	var out [][]r2.Vec
	follow := func(i int) {
		line := []r2.Vec{f.point(pieces[i].from)}
		for {
			used[i] = true
			line = append(line, f.point(pieces[i].to))
			next, ok := starts(pieces[i].to)
			if !ok || used[next] {
				break
			}
			i = next
		}
		out = append(out, line)
	}
	for i := range pieces { // open lines first, from their beginning
		if !hasBefore[i] {
			follow(i)
		}
	}
	for i := range pieces {
		if !used[i] {
			follow(i)
		}
	}
	return out
}

// square appends the pieces within the square whose south-west corner is cell.
func (f field) square(pieces []piece, cell int) []piece {
	w := f.g.w
	sw, ok1 := f.value(cell)
	se, ok2 := f.value(cell + 1)
	nw, ok3 := f.value(cell + w)
	ne, ok4 := f.value(cell + w + 1)
	if !(ok1 && ok2 && ok3 && ok4) {
		return pieces
	}
	south, west := crossing{cell, false}, crossing{cell, true}
	north, east := crossing{cell + w, false}, crossing{cell + 1, true}
	code := 0
	for i, v := range [...]float64{sw, se, ne, nw} {
		if v >= 0 {
			code |= 1 << i
		}
	}
	add := func(from, to crossing) { pieces = append(pieces, piece{from, to}) }
	switch code {
	case 1:
		add(south, west)
	case 2:
		add(east, south)
	case 3:
		add(east, west)
	case 4:
		add(north, east)
	case 6:
		add(north, south)
	case 7:
		add(north, west)
	case 8:
		add(west, north)
	case 9:
		add(south, north)
	case 11:
		add(east, north)
	case 12:
		add(west, east)
	case 13:
		add(south, east)
	case 14:
		add(west, south)
	case 5, 10:
		joined := (sw*ne-se*nw)/(sw+ne-se-nw) >= 0 // the two high corners touch
		switch {
		case code == 5 && joined:
			add(south, east)
			add(north, west)
		case code == 5:
			add(south, west)
			add(north, east)
		case joined:
			add(west, south)
			add(east, north)
		default:
			add(east, south)
			add(west, north)
		}
	}
	return pieces
}

// point returns where the line crosses an edge: never nearer to a corner than a
// hundredth of the edge, so that lines that would touch there stay apart.
func (f field) point(c crossing) r2.Vec {
	other := c.cell + 1
	if c.north {
		other = c.cell + f.g.w
	}
	t := math.Max(0.01, math.Min(0.99, f.cut(c.cell, other))) * f.g.cellM
	v := f.g.centre(c.cell)
	if c.north {
		v.Y += t
	} else {
		v.X += t
	}
	return v
}

func (g *Grid) centre(cell int) r2.Vec {
	return r2.Vec{X: g.origin.X + float64(cell%g.w)*g.cellM, Y: g.origin.Y + float64(cell/g.w)*g.cellM}
}

// Contour returns the lines of one depth, deep side on the left, in metres of
// the plane. Lines end where the bottom is no longer known. They never cross each
// other, nor those of another depth.
func (g *Grid) Contour(depthM float64) [][]r2.Vec {
	return field{
		g:     g,
		value: func(cell int) (float64, bool) { return float64(g.depth[cell]) - depthM, g.known[cell] },
		cut:   func(a, b int) float64 { return g.share(a, b, depthM) },
	}.lines()
}

// Area returns the bottom from topM to bottomM deep as polygons in metres of the
// plane (X east, Y north), exterior rings counter-clockwise and holes clockwise,
// the largest first. At the edge of what is known it ends half-way to the first
// cell that isn't. A wall that falls through the whole band from one cell to the
// next shows no area.
func (g *Grid) Area(topM, bottomM float64) orb.MultiPolygon {
	f := field{
		g: g,
		value: func(cell int) (float64, bool) {
			if !g.known[cell] {
				return -1, true
			}
			d := float64(g.depth[cell])
			return math.Min(d-topM, bottomM-d), true
		},
		cut: func(a, b int) float64 {
			if !g.known[a] || !g.known[b] {
				return 0.5
			}
			if math.Min(float64(g.depth[a]), float64(g.depth[b])) < topM {
				return g.share(a, b, topM)
			}
			return g.share(a, b, bottomM)
		},
	}
	var rings []orb.Ring
	for _, line := range f.lines() {
		ring := make(orb.Ring, len(line))
		for i, v := range line {
			ring[i] = orb.Point{v.X, v.Y}
		}
		rings = append(rings, ring)
	}
	return assemble(rings)
}

// share returns how far along the way from cell a to cell b a depth lies.
func (g *Grid) share(a, b int, depthM float64) float64 {
	da, db := float64(g.depth[a]), float64(g.depth[b])
	return (depthM - da) / (db - da)
}

// assemble sorts rings into polygons: counter-clockwise ones are exteriors, and
// each clockwise one is a hole of the smallest exterior around it.
func assemble(rings []orb.Ring) orb.MultiPolygon {
	var polygons orb.MultiPolygon
	var holes []orb.Ring
	for _, r := range rings {
		if len(r) < 4 {
			continue
		}
		if r.Orientation() == orb.CCW {
			polygons = append(polygons, orb.Polygon{r})
		} else {
			holes = append(holes, r)
		}
	}
	slices.SortStableFunc(polygons, func(a, b orb.Polygon) int { return cmp.Compare(planar.Area(a[0]), planar.Area(b[0])) })
	for _, h := range holes {
		for i := range polygons {
			if polygons[i][0].Bound().Contains(h[0]) && planar.RingContains(polygons[i][0], h[0]) {
				polygons[i] = append(polygons[i], h)
				break
			}
		}
	}
	slices.Reverse(polygons) // largest first
	return polygons
}
