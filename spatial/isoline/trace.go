package isoline

import (
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// A point is where a level crosses an edge of the lattice, or a node on the border
// of the known squares. Each level crosses an edge once, and each edge has one
// square on either side: so a crossing has one piece of line that comes and one
// that goes, and lines are chains of numbers, without a search.
type point struct {
	at r2.Vec
	// Of a crossing, the ones after and before it on its level's line, -1 where
	// that ends. For areas (border.go) read: the point after it around the band
	// above the level, and around the band below. Of a border node: next alone.
	next, prev int32
	level      int32 // of a crossing; of a border node its band
	twin       int32 // of a border node where two squares meet at a corner: the other's; or
}

const (
	noTwin   int32 = -1 // another border node
	crossing int32 = -2
)

// points are numbered from 0 and kept in chunks, so that none is ever copied.
type points struct {
	chunks [][]point
	count  int32
}

const chunkBits = 13

func (p *points) add(q point) {
	if p.count&(1<<chunkBits-1) == 0 {
		p.chunks = append(p.chunks, make([]point, 1<<chunkBits))
	}
	p.count++
	*p.at(p.count - 1) = q
}

func (p *points) at(id int32) *point {
	return &p.chunks[id>>chunkBits][id&(1<<chunkBits-1)]
}

// nodes is a row of the lattice while it is drawn on.
type nodes struct {
	value []float64
	class []int32 // how many levels are at or below the value; -1 where it isn't known
	// edge numbers the crossings from this node to the next one east: that of level
	// k is edge + k where values rise eastward, edge - k where they fall.
	edge         []int32
	below, above []int32 // border nodes' points, to the squares south and north of them
}

// strip is the squares between two rows of nodes.
type strip struct {
	known []bool  // square east of each node
	edge  []int32 // crossings from each node north, as in nodes
}

type tracer struct {
	*surface
	levels  []float64
	borders bool
	points  points
	rows    [][2]int32 // for areas: the first point on each row of nodes, and the first one after them
}

// draw traces all levels over the raster, along the borders too where areas are
// wanted.
//
// Points are numbered row by row from the south: those on a row of nodes from west
// to east, then those on the edges north of it from west to east.
func draw(r raster.Raster, levels []float64, refined, borders bool) *tracer {
	for i, l := range levels {
		if l != l || i > 0 && levels[i-1] >= l {
			panic("isoline: levels must ascend")
		}
	}
	t := &tracer{levels: levels, borders: borders}
	if r.W < 2 || r.H < 2 {
		return t
	}
	t.surface = newSurface(r, refined)
	row := func() *nodes {
		n := &nodes{value: make([]float64, t.w), class: make([]int32, t.w), edge: make([]int32, t.w)}
		if borders {
			n.below, n.above = make([]int32, t.w), make([]int32, t.w)
		}
		return n
	}
	squares := func() *strip { return &strip{known: make([]bool, t.w), edge: make([]int32, t.w)} }

	south, north, next := row(), row(), row()
	under, here, over := squares(), squares(), squares()
	t.read(0, south)
	t.read(1, north)
	here.fill(south, north)
	t.number(0, south, under, here)
	for j := range t.h - 1 {
		if j+2 < t.h {
			t.read(j+2, next)
			over.fill(north, next)
		} else {
			clear(over.known)
		}
		t.numberUpright(j, south, north, here)
		t.number(j+1, north, here, over)
		if borders {
			t.bordersUpright(south, north, here)
		}
		t.march(south, north, here)
		south, north, next = north, next, south
		under, here, over = here, over, under
	}
	return t
}

// read fills the values and classes of row j.
func (t *tracer) read(j int, n *nodes) {
	t.row(j, n.value)
	c, count := 0, len(t.levels)
	for i, v := range n.value {
		if v != v {
			n.class[i] = -1
			continue
		}
		for c < count && v >= t.levels[c] {
			c++
		}
		for c > 0 && v < t.levels[c-1] {
			c--
		}
		n.class[i] = int32(c)
	}
}

// fill tells which squares between two rows are known.
func (s *strip) fill(south, north *nodes) {
	a, b := south.class, north.class[:len(south.class)]
	for i := range len(a) - 1 {
		s.known[i] = a[i]|a[i+1]|b[i]|b[i+1] >= 0
	}
}

// number gives the crossings and border nodes on row j their numbers.
func (t *tracer) number(j int, n *nodes, under, over *strip) {
	from := t.points.count
	for i, c := range n.class {
		if t.borders {
			t.borderNode(i, j, n, under, over)
		}
		if i+1 < len(n.class) && n.class[i+1] != c && (under.known[i] || over.known[i]) {
			n.edge[i] = t.cross(i, j, false, n.value[i], n.value[i+1], c, n.class[i+1])
		}
	}
	if t.borders {
		t.rows = append(t.rows, [2]int32{from, t.points.count})
		t.bordersLevel(n, under, over)
	}
}

// numberUpright gives the crossings on the edges north of row j their numbers.
func (t *tracer) numberUpright(j int, south, north *nodes, s *strip) {
	west := false
	for i, c := range south.class {
		if d := north.class[i]; c != d && (west || s.known[i]) {
			s.edge[i] = t.cross(i, j, true, south.value[i], north.value[i], c, d)
		}
		west = s.known[i]
	}
}

// cross adds the crossings of one edge that runs east or north from node i of row
// j, in the order in which they lie on it, and returns what nodes.edge says.
//
// A crossing keeps a thousandth of the edge away from both nodes: within two
// thousandths it goes half as far as it should, so that crossings of several
// levels stay apart and in order. That shifts a line by half a millimetre at most
// per metre of cell.
func (t *tracer) cross(i, j int, north bool, a, b float64, classA, classB int32) int32 {
	const near = 0.001
	first, k, end, step := t.points.count, classA, classB, int32(1)
	if classA > classB {
		k, end, step = classA-1, classB-1, -1
	}
	edge := first - step*k
	for ; k != end; k += step {
		share := (t.levels[k] - a) / (b - a)
		if share < 2*near {
			share = near + share/2
		} else if share > 1-2*near {
			share = 1 - near - (1-share)/2
		}
		x, y := float64(i), float64(j)
		if north {
			y += share
		} else {
			x += share
		}
		t.points.add(point{t.place(x, y), -1, -1, k, crossing})
	}
	return edge
}

// place returns where the lattice's column x and row y are.
func (t *tracer) place(x, y float64) r2.Vec {
	return r2.Vec{X: t.r.Origin.X + x*t.stepM, Y: t.r.Origin.Y + y*t.stepM}
}
