// Package bottom turns soundings into a grid of depths, and the grid into
// contours and depth areas.
package bottom

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Point is one depth at one place of the plane.
type Point struct {
	At     r2.Vec
	DepthM float64
}

// A Grid holds the depth at the centres of square cells, row by row from the
// south-west corner. Where no sounding lies within reach a cell is not known.
// The zero Grid knows nothing.
type Grid struct {
	origin  r2.Vec // centre of cell (0, 0)
	cellM   float64
	w, h    int
	depth   []float32 // 0 where not known
	known   []bool
	sounded int // cells with a sounding of their own
}

// mostCells bounds a grid's memory at 80 MB.
const mostCells = 16 << 20

// Build grids soundings at cells of cellM metres; reachM is how far from a
// sounding a depth is still shown. Both must be positive. The cell is doubled until the grid has at most
// 16 million cells; CellM tells the size used. No points give an empty grid.
//
// # Method
//
// Each cell with soundings takes their median, which is deaf to stray echoes and
// to how often the boat passed. Every cell within reach of such a cell, itself
// too, then takes the mean of those within reach, weighted by 1/(d² + cell²/4):
// inverse distance (Shepard 1968), held flat within half a cell so that a sounded
// cell is smoothed by its neighbours rather than copied.
//
// By hand: between a cell of 4 m and one of 6 m, two cells apart, the cell in the
// middle has 5 m.
//
// # Cost
//
// n log n in soundings for the medians, then cells times the square of reach/cell.
//
// # What it does badly
//
// Far from soundings it flattens: a hump between two passes is not guessed at.
func Build(points []Point, cellM, reachM float64) *Grid {
	if len(points) == 0 {
		return &Grid{}
	}
	low, high := points[0].At, points[0].At
	for _, p := range points {
		low = r2.Vec{X: math.Min(low.X, p.At.X), Y: math.Min(low.Y, p.At.Y)}
		high = r2.Vec{X: math.Max(high.X, p.At.X), Y: math.Max(high.Y, p.At.Y)}
	}
	g := &Grid{cellM: cellM}
	for {
		margin := int(math.Ceil(reachM/g.cellM)) + 1
		// Cells stand at whole multiples of their side, so that another day's
		// soundings fall into the same cells.
		x0, y0 := math.Floor(low.X/g.cellM)-float64(margin), math.Floor(low.Y/g.cellM)-float64(margin)
		g.origin = r2.Vec{X: (x0 + 0.5) * g.cellM, Y: (y0 + 0.5) * g.cellM}
		g.w = int(math.Floor(high.X/g.cellM)-x0) + margin + 1
		g.h = int(math.Floor(high.Y/g.cellM)-y0) + margin + 1
		if g.w*g.h <= mostCells {
			break
		}
		g.cellM *= 2
	}
	g.depth, g.known = make([]float32, g.w*g.h), make([]bool, g.w*g.h)
	g.spread(g.medians(points), reachM)
	return g
}

// A bin is a cell with soundings of its own.
type bin struct {
	x, y   int
	depthM float64
}

// medians returns the sounded cells in row order, each with its median depth.
func (g *Grid) medians(points []Point) []bin {
	type item struct {
		cell   int
		depthM float64
	}
	items := make([]item, len(points))
	for i, p := range points {
		x, y := g.cell(p.At)
		items[i] = item{y*g.w + x, p.DepthM}
	}
	slices.SortFunc(items, func(a, b item) int { return cmp.Or(cmp.Compare(a.cell, b.cell), cmp.Compare(a.depthM, b.depthM)) })
	var bins []bin
	for from := 0; from < len(items); {
		to := from
		for to < len(items) && items[to].cell == items[from].cell {
			to++
		}
		mid := from + (to-from)/2
		m := items[mid].depthM
		if (to-from)%2 == 0 {
			m = (m + items[mid-1].depthM) / 2
		}
		bins = append(bins, bin{items[from].cell % g.w, items[from].cell / g.w, m})
		from = to
	}
	g.sounded = len(bins)
	return bins
}

// spread gives every cell within reach the weighted mean of the bins.
func (g *Grid) spread(bins []bin, reachM float64) {
	type step struct {
		dx, dy int
		weight float64
	}
	var steps []step
	n := int(reachM / g.cellM)
	for dy := -n; dy <= n; dy++ {
		for dx := -n; dx <= n; dx++ {
			d2 := float64(dx*dx+dy*dy) * g.cellM * g.cellM
			if d2 <= reachM*reachM {
				steps = append(steps, step{dx, dy, 1 / (d2 + g.cellM*g.cellM/4)})
			}
		}
	}
	sum, weight := make([]float64, g.w*g.h), make([]float64, g.w*g.h)
	for _, b := range bins {
		for _, s := range steps {
			i := (b.y+s.dy)*g.w + b.x + s.dx
			sum[i] += s.weight * b.depthM
			weight[i] += s.weight
		}
	}
	for i, w := range weight {
		if w > 0 {
			g.depth[i], g.known[i] = float32(sum[i]/w), true
		}
	}
}

func (g *Grid) cell(v r2.Vec) (x, y int) {
	return int(math.Floor((v.X-g.origin.X)/g.cellM + 0.5)), int(math.Floor((v.Y-g.origin.Y)/g.cellM + 0.5))
}

func (g *Grid) at(x, y int) (depthM float64, ok bool) {
	if x < 0 || y < 0 || x >= g.w || y >= g.h || !g.known[y*g.w+x] {
		return 0, false
	}
	return float64(g.depth[y*g.w+x]), true
}

// CellM returns the side of a cell in metres; 0 for an empty grid.
func (g *Grid) CellM() float64 { return g.cellM }

// Sounded returns how many cells hold a sounding of their own.
func (g *Grid) Sounded() int { return g.sounded }

// Range returns the least and greatest depth of the grid; ok is false when it is empty.
func (g *Grid) Range() (leastM, mostM float64, ok bool) {
	for i, k := range g.known {
		if d := float64(g.depth[i]); k && !ok {
			leastM, mostM, ok = d, d, true
		} else if k {
			leastM, mostM = math.Min(leastM, d), math.Max(mostM, d)
		}
	}
	return leastM, mostM, ok
}

// DepthM returns the depth at v: bilinear between four known cells, else that of
// the cell v lies in; ok is false where that isn't known.
func (g *Grid) DepthM(v r2.Vec) (depthM float64, ok bool) {
	if g.cellM == 0 {
		return 0, false
	}
	fx, fy := (v.X-g.origin.X)/g.cellM, (v.Y-g.origin.Y)/g.cellM
	x, y := int(math.Floor(fx)), int(math.Floor(fy))
	tx, ty := fx-float64(x), fy-float64(y)
	sw, ok1 := g.at(x, y)
	se, ok2 := g.at(x+1, y)
	nw, ok3 := g.at(x, y+1)
	ne, ok4 := g.at(x+1, y+1)
	if ok1 && ok2 && ok3 && ok4 {
		return (sw*(1-tx)+se*tx)*(1-ty) + (nw*(1-tx)+ne*tx)*ty, true
	}
	return g.at(g.cell(v))
}
