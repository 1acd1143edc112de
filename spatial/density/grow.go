package density

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Grower makes trees one after the other in the same memory: 999 simulated seasons need as many. A tree is good
// until the next is made. The zero Grower is ready for use, by one at a time.
//
// It makes what newTree does, of points in the plane, by three means:
//
//   - points that no chain of steps of mostM joins are never in one cluster that hangs together by no more: each
//     company of points that are joined has a tree of its own (companies.go);
//   - a company is put into blocks of points that lie close together, in the order of Morton (1966): bits of both coordinates
//     in turn. A point's nearest are sought in its own block and in those that lie near enough;
//   - Prim's tree is grown over the blocks. A block knows how far the farthest and the nearest of its points that are not
//     yet in the tree hang: one that lies farther from the point that came in last than its farthest hangs
//     has nothing to gain and is passed over.
type Grower struct {
	tree  Tree
	parts companies

	codes   []uint64 // of a company, Morton's and the point's place in the company
	spots   []spot   // of the company, block by block
	blocks  []block
	edges   []edge
	nearest []float64
	one     Tree
	index   []int32 // in the tree of all, of each node of one company's
}

// A spot is a point not yet in the tree.
type spot struct {
	x, y  float64
	core  float64 // squared core distance
	away  float64 // squared distance at which it hangs on a point of the tree
	on, i int32   // that point and this one, by their places in the company
}

// A block is some spots side by side, those not yet in the tree first.
type block struct {
	low, high         r2.Vec
	from, to          int32   // of spots not yet in the tree
	nearest, farthest float64 // squared distances at which these hang; +Inf and -1 for none
}

// blockSize: of a hundred to a thousand points fewer make more blocks to ask, more make more points to ask in each.
const blockSize = 12

// NewTreeWithin returns what NewTree does, without the nodes that hang together by more than mostM, which must be
// above 0; fewer points than least have no node. It panics when points lie 700,000 times mostM apart, or are 16 million. Companies of points that no chain of steps of mostM joins come in the
// order of their first points.
func NewTreeWithin(points []r2.Vec, least int, mostM float64) Tree {
	return new(Grower).TreeWithin(points, least, mostM)
}

// TreeWithin is NewTreeWithin in the grower's memory.
func (g *Grower) TreeWithin(points []r2.Vec, least int, mostM float64) Tree {
	if least < 1 || !(mostM > 0) {
		panic("density: least and reach must be positive")
	}
	t := &g.tree
	t.least, t.Order, t.Nodes = least, t.Order[:0], t.Nodes[:0]
	g.parts.find(points, mostM)
	for c := range g.parts.count() {
		company := g.parts.company(c)
		if len(company) < least { // none of them has a core
			for _, i := range company {
				t.Order = append(t.Order, int(i))
			}
			continue
		}
		g.grow(points, company, least)
		shift, kept := len(t.Order), len(t.Nodes)
		for _, k := range g.one.Order {
			t.Order = append(t.Order, int(company[k]))
		}
		// Parts come before what they are parts of, and hang together by less: what is too long is not within what isn't.
		g.index = resized(g.index, len(g.one.Nodes))
		for k, v := range g.one.Nodes {
			if g.index[k] = -1; v.DistM <= mostM {
				g.index[k] = int32(len(t.Nodes))
				t.Nodes = append(t.Nodes, Node{v.DistM, v.From + shift, v.To + shift, v.Parent})
			}
		}
		for k := kept; k < len(t.Nodes); k++ {
			if p := t.Nodes[k].Parent; p >= 0 {
				t.Nodes[k].Parent = int(g.index[p])
			}
		}
	}
	return *t
}

// resized returns a slice of that length in the memory of another; what is in it is not said.
func resized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	return s[:n]
}

// grow makes g.one the tree of a company, by places in it.
func (g *Grower) grow(points []r2.Vec, company []int32, least int) {
	g.lay(points, company)
	g.cores(least - 1)
	g.span()
	sortEdges(g.edges)
	g.one = Tree{Order: g.one.Order[:0], Nodes: g.one.Nodes[:0]}
	g.one.join(len(company), g.edges)
}

// lay lays a company out in blocks.
func (g *Grower) lay(points []r2.Vec, company []int32) {
	low, high := points[company[0]], points[company[0]]
	for _, i := range company {
		p := points[i]
		low = r2.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = r2.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	scale := 0.0
	if side := max(high.X-low.X, high.Y-low.Y); side > 0 {
		scale = math.MaxUint16 / side
	}
	g.codes = g.codes[:0]
	for k, i := range company {
		p := r2.Sub(points[i], low)
		g.codes = append(g.codes, (spread(uint16(p.X*scale))|spread(uint16(p.Y*scale))<<1)<<32|uint64(k))
	}
	slices.Sort(g.codes)
	g.spots, g.blocks = g.spots[:0], g.blocks[:0]
	for n, code := range g.codes {
		k := int32(uint32(code))
		p := points[company[k]]
		g.spots = append(g.spots, spot{x: p.X, y: p.Y, away: math.Inf(1), i: k})
		if n%blockSize == 0 {
			g.blocks = append(g.blocks, block{low: p, high: p, from: int32(n), nearest: math.Inf(1), farthest: math.Inf(1)})
		}
		b := &g.blocks[len(g.blocks)-1]
		b.low = r2.Vec{X: min(b.low.X, p.X), Y: min(b.low.Y, p.Y)}
		b.high = r2.Vec{X: max(b.high.X, p.X), Y: max(b.high.Y, p.Y)}
		b.to = int32(n + 1)
	}
}

// spread puts a nought before each bit.
func spread(v uint16) uint64 {
	x := uint64(v)
	x = (x | x<<8) & 0x00ff00ff
	x = (x | x<<4) & 0x0f0f0f0f
	x = (x | x<<2) & 0x33333333
	return (x | x<<1) & 0x55555555
}

// gap2 is the squared distance from a place to a block, 0 inside.
func (b *block) gap2(x, y float64) float64 {
	dx, dy := 0.0, 0.0
	if x < b.low.X {
		dx = b.low.X - x
	} else if x > b.high.X {
		dx = x - b.high.X
	}
	if y < b.low.Y {
		dy = b.low.Y - y
	} else if y > b.high.Y {
		dy = y - b.high.Y
	}
	return dx*dx + dy*dy
}

// cores sets the squared distance of each point to its k-th nearest other one, or to the farthest where there are fewer.
func (g *Grower) cores(k int) {
	if k = min(k, len(g.spots)-1); k == 0 {
		return
	}
	g.nearest = resized(g.nearest, k)
	for own := range g.blocks {
		for i := g.blocks[own].from; i < g.blocks[own].to; i++ {
			s := &g.spots[i]
			for j := range g.nearest {
				g.nearest[j] = math.Inf(1)
			}
			g.near(own, i)
			for b := range g.blocks {
				if b != own && g.blocks[b].gap2(s.x, s.y) < g.nearest[k-1] {
					g.near(b, i)
				}
			}
			s.core = g.nearest[k-1]
		}
	}
}

// near puts the points of a block that lie nearer to a spot than the farthest of g.nearest among these.
func (g *Grower) near(b int, spot int32) {
	x, y, farthest := g.spots[spot].x, g.spots[spot].y, g.nearest[len(g.nearest)-1]
	from := g.blocks[b].from
	for j, o := range g.spots[from:g.blocks[b].to] {
		dx, dy := o.x-x, o.y-y
		if d2 := dx*dx + dy*dy; d2 < farthest && from+int32(j) != spot {
			insert(g.nearest, d2)
			farthest = g.nearest[len(g.nearest)-1]
		}
	}
}

// span makes g.edges a minimum spanning tree by mutual reachability.
func (g *Grower) span() {
	g.edges = g.edges[:0]
	in, at := int32(0), 0 // the spot that comes in, and its block
	for {
		s := g.take(in, at)
		nearest := math.Inf(1)
		for b := range g.blocks {
			k := &g.blocks[b]
			if s.core < k.farthest && k.gap2(s.x, s.y) < k.farthest {
				k.hang(g.spots[k.from:k.to], &s)
			}
			if k.nearest < nearest {
				nearest, at = k.nearest, b
			}
		}
		if math.IsInf(nearest, 1) {
			return
		}
		for in = g.blocks[at].from; g.spots[in].away != nearest; in++ {
		}
		g.edges = append(g.edges, edge{g.spots[in].on, g.spots[in].i, nearest})
	}
}

// take takes a spot out of its block.
func (g *Grower) take(in int32, at int) spot {
	b := &g.blocks[at]
	s := g.spots[in]
	b.to--
	g.spots[in] = g.spots[b.to]
	b.nearest, b.farthest = math.Inf(1), -1
	for _, o := range g.spots[b.from:b.to] {
		b.nearest, b.farthest = min(b.nearest, o.away), max(b.farthest, o.away)
	}
	return s
}

// hang hangs a block's spots on the point that came in where it is nearer than what they hang on.
func (b *block) hang(spots []spot, in *spot) {
	nearest, farthest := math.Inf(1), -1.0
	for k := range spots {
		s := &spots[k]
		dx, dy := s.x-in.x, s.y-in.y
		d2 := dx*dx + dy*dy
		if d2 < in.core {
			d2 = in.core
		}
		if d2 < s.core {
			d2 = s.core
		}
		if d2 < s.away {
			s.away, s.on = d2, in.i
		}
		if s.away < nearest {
			nearest = s.away
		}
		if s.away > farthest {
			farthest = s.away
		}
	}
	b.nearest, b.farthest = nearest, farthest
}
