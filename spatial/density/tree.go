package density

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// # Method
//
// HDBSCAN* (Campello, Moulavi & Sander, PAKDD 2013; Campello, Moulavi, Zimek &
// Sander, ACM TKDD 10, 2015) needs no reach: it keeps the clusters of every reach.
//
//  1. A point's core distance is that to the (least-1)-th nearest other point: the
//     smallest reach at which it is a core, itself counted.
//  2. Two points hang together at their mutual reachability distance: the greatest of
//     both core distances and the distance between them.
//  3. A minimum spanning tree of these distances (Prim's, from point 0) holds the
//     clusters of every reach: cut what is longer. Joined from the shortest edge up it
//     gives a tree of clusters.
//
// Edges of the same length are joined at once, so a cluster may have more than two
// parts, and the tree doesn't depend on the order of the points.
//
// By hand: at 0, 1, 2 and 10, 11, 12 on a line with least 2 the core distances are 1;
// {0 1 2} and {10 11 12} hang together at 1, both at 8.
//
// Whoever needs no clusters that hang together by more than mostM gets the rest of the tree for less: points that no
// chain of steps of mostM joins are never in one of these, and each company of points that are joined has a tree of its own.
//
// # Cost
//
// n²/2 distances, some 2 ns each, and n places of memory: 25 ms for 5,000 points; within mostM that of each
// company's. 5,000 events at sixty places take 1 ms so.
//
// # What it does badly
//
// A single chain of points joins two clusters, as in DBSCAN.

// A Tree holds the clusters of points at every reach, or, of NewTreeWithin, at every reach up to some.
type Tree struct {
	Order []int  // indices of the points, so that each node's are side by side
	Nodes []Node // parts before what they are parts of; the last of NewTree's holds all points
	least int
}

// A Node is a cluster: its points hang together at DistM and at no less.
type Node struct {
	DistM    float64 // the longest step needed within it, metres
	From, To int     // its points are Order[From:To]
	Parent   int     // index of the node it is a part of; -1 when of none
}

// Size returns the number of points.
func (n Node) Size() int { return n.To - n.From }

// NewTree returns the tree of points, in metres of a plane. least is the number of
// points, itself counted, that a core has within reach. Fewer than two points have no
// node. Points must be finite. It panics if least is below 1.
func NewTree(points []r2.Vec, least int) Tree {
	x, y := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		x[i], y[i] = p.X, p.Y
	}
	return newTree([][]float64{x, y}, least)
}

// newTree does so for points of two dimensions or more, a column each.
func newTree(columns [][]float64, least int) Tree {
	if least < 1 {
		panic("density: least must be positive")
	}
	t := Tree{least: least}
	if len(columns[0]) > 0 {
		t.grow(columns)
	}
	return t
}

// NewTreeWithin returns what NewTree does, without the nodes that hang together by more than mostM, which must be
// above 0; fewer points than least have no node. Companies of points that no chain of steps of mostM joins come in the order of their first points.
func NewTreeWithin(points []r2.Vec, least int, mostM float64) Tree {
	if least < 1 || !(mostM > 0) {
		panic("density: least and reach must be positive")
	}
	t := Tree{least: least, Order: make([]int, 0, len(points))}
	var x, y []float64
	for _, company := range companies(points, mostM) {
		if len(company) < least { // none of them has a core
			t.Order = append(t.Order, company...)
			continue
		}
		x, y = x[:0], y[:0]
		for _, i := range company {
			x, y = append(x, points[i].X), append(y, points[i].Y)
		}
		one := Tree{least: least}
		one.grow([][]float64{x, y})
		shift, kept := len(t.Order), len(t.Nodes)
		for _, i := range one.Order {
			t.Order = append(t.Order, company[i])
		}
		// Parts come before what they are parts of, and hang together by less: what is too long is not within what isn't.
		now := make([]int, len(one.Nodes)) // index in t of each node kept
		for k, v := range one.Nodes {
			if now[k] = -1; v.DistM <= mostM {
				now[k] = len(t.Nodes)
				t.Nodes = append(t.Nodes, Node{v.DistM, v.From + shift, v.To + shift, v.Parent})
			}
		}
		for k := kept; k < len(t.Nodes); k++ {
			if p := t.Nodes[k].Parent; p >= 0 {
				t.Nodes[k].Parent = now[p]
			}
		}
	}
	return t
}

// companies returns points in groups that no step of mostM or less leads out of; each rising, in order of their first.
//
// Points are sorted into square cells whose diagonal is no longer than the step, so that those of a cell are together
// without asking, and two cells are as soon as one pair of their points is. Steps a billionth too long count, so that no
// rounding parts what hangs together.
func companies(points []r2.Vec, mostM float64) [][]int {
	c := newCells(points, mostM/math.Sqrt2*(1-1e-9))
	root := make([]int, len(points))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	unite := func(a, b int) {
		a, b = find(a), find(b)
		root[max(a, b)] = min(a, b)
	}
	limit := mostM * mostM * (1 + 1e-9)
	for from := 0; from < len(c.keys); {
		to := from
		for to < len(c.keys) && c.keys[to] == c.keys[from] {
			unite(c.order[from], c.order[to])
			to++
		}
		// The cells after this one, within two: those before have seen it.
		at := c.keys[from]
		for dy := int64(0); dy <= 2; dy++ {
			k := to
			if dy > 0 {
				k, _ = slices.BinarySearchFunc(c.keys, key{at.x - 2, at.y + dy}, compareKeys)
			}
			for ; k < len(c.keys) && c.keys[k].y == at.y+dy && c.keys[k].x <= at.x+2; k++ {
				j := c.order[k]
				if find(j) == find(c.order[from]) {
					continue
				}
				for _, i := range c.order[from:to] {
					if r2.Norm2(r2.Sub(points[i], points[j])) <= limit {
						unite(i, j)
						break
					}
				}
			}
		}
		from = to
	}
	var out [][]int
	at := make([]int, len(points)) // of a root, its group
	for i := range points {
		r := find(i)
		if r == i {
			at[r] = len(out)
			out = append(out, nil)
		}
		out[at[r]] = append(out[at[r]], i)
	}
	return out
}

// grow makes the tree of all points of the columns, at least one.
func (t *Tree) grow(columns [][]float64) {
	edges := span(columns, cores(columns, t.least-1))
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Compare(a.d2, b.d2) })
	t.join(len(columns[0]), edges)
}

// cores returns the squared distance of each point to its k-th nearest other point, or
// to the farthest where there are fewer.
func cores(columns [][]float64, k int) []float64 {
	n := len(columns[0])
	core := make([]float64, n)
	if k = min(k, n-1); k == 0 {
		return core
	}
	// Neighbours are sought outward in order of the first column, until that alone is
	// farther than the k-th nearest so far.
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	x := columns[0]
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(x[a], x[b]), cmp.Compare(a, b)) })
	nearest := make([]float64, k)
	for at, i := range order {
		for j := range nearest {
			nearest[j] = math.Inf(1)
		}
		low, high := at-1, at+1
		for low >= 0 || high < n {
			below, above := math.Inf(1), math.Inf(1)
			if low >= 0 {
				below = x[i] - x[order[low]]
			}
			if high < n {
				above = x[order[high]] - x[i]
			}
			var j int
			if below <= above {
				j, low = order[low], low-1
			} else {
				j, high = order[high], high+1
			}
			if off := min(below, above); off*off > nearest[k-1] {
				break
			}
			insert(nearest, distance2(columns, i, j))
		}
		core[i] = nearest[k-1]
	}
	return core
}

// insert puts d2 in its place in a rising list and drops the last.
func insert(list []float64, d2 float64) {
	at := len(list) - 1
	if d2 >= list[at] {
		return
	}
	for ; at > 0 && list[at-1] > d2; at-- {
		list[at] = list[at-1]
	}
	list[at] = d2
}

func distance2(columns [][]float64, i, j int) float64 {
	sum := 0.0
	for _, c := range columns {
		sum += (c[i] - c[j]) * (c[i] - c[j])
	}
	return sum
}

type edge struct {
	a, b int
	d2   float64
}

// span returns a minimum spanning tree by mutual reachability.
func span(columns [][]float64, core []float64) []edge {
	n := len(core)
	edges := make([]edge, 0, n-1)
	// Points not yet in the tree, with the point of the tree that each hangs on.
	left := make([]int, n-1)
	hang := make([]edge, n-1)
	for k := range left {
		left[k], hang[k] = k+1, edge{d2: math.Inf(1)}
	}
	x, y, more := columns[0], columns[1], columns[2:]
	for in := 0; len(left) > 0; {
		best := 0
		xi, yi, ci := x[in], y[in], core[in]
		for k, j := range left {
			d2 := (x[j]-xi)*(x[j]-xi) + (y[j]-yi)*(y[j]-yi)
			for _, c := range more {
				d2 += (c[j] - c[in]) * (c[j] - c[in])
			}
			d2 = max(d2, ci, core[j])
			if d2 < hang[k].d2 {
				hang[k] = edge{in, j, d2}
			}
			if hang[k].d2 < hang[best].d2 {
				best = k
			}
		}
		edges = append(edges, hang[best])
		in = left[best]
		last := len(left) - 1
		left[best], hang[best] = left[last], hang[last]
		left, hang = left[:last], hang[:last]
	}
	return edges
}

// join builds the tree from edges in rising order.
func (t *Tree) join(n int, edges []edge) {
	// What a component is for now: a point i as -1-i, or a node under construction.
	type part struct {
		d2    float64
		parts []int
	}
	var nodes []part
	root := make([]int, n) // union-find
	is := make([]int, n)
	for i := range root {
		root[i], is[i] = i, -1-i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, e := range edges {
		a, b := find(e.a), find(e.b)
		p, q := is[a], is[b]
		if q >= 0 && nodes[q].d2 == e.d2 && (p < 0 || nodes[p].d2 != e.d2) {
			p, q = q, p
		}
		switch {
		case p >= 0 && nodes[p].d2 == e.d2 && q >= 0 && nodes[q].d2 == e.d2:
			nodes[p].parts = append(nodes[p].parts, nodes[q].parts...)
			nodes[q].parts = nil
		case p >= 0 && nodes[p].d2 == e.d2:
			nodes[p].parts = append(nodes[p].parts, q)
		default:
			nodes = append(nodes, part{e.d2, []int{p, q}})
			p = len(nodes) - 1
		}
		root[b] = a
		is[a] = p
	}
	t.Order = make([]int, 0, n)
	top := is[find(0)]
	if top < 0 {
		t.Order = append(t.Order, 0)
		return
	}
	// Laid out depth first, without recursion: a chain of catches is as deep as long.
	type visit struct {
		node, next, from int
		made             []int // nodes among its parts
	}
	stack := []visit{{node: top}}
	for len(stack) > 0 {
		v := &stack[len(stack)-1]
		if v.next < len(nodes[v.node].parts) {
			p := nodes[v.node].parts[v.next]
			v.next++
			if p < 0 {
				t.Order = append(t.Order, -1-p)
			} else {
				stack = append(stack, visit{node: p, from: len(t.Order)})
			}
			continue
		}
		id := len(t.Nodes)
		t.Nodes = append(t.Nodes, Node{DistM: math.Sqrt(nodes[v.node].d2), From: v.from, To: len(t.Order), Parent: -1})
		for _, m := range v.made {
			t.Nodes[m].Parent = id
		}
		stack = stack[:len(stack)-1]
		if len(stack) > 0 {
			up := &stack[len(stack)-1]
			up.made = append(up.made, id)
		}
	}
}
