package density

import (
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
// How it is made faster than that stands with Grower.
//
// # Cost
//
// n²/2 distances at worst; of companies that stretch along a way n times the points about as far off as each hangs (Grower).
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
	return new(Grower).TreeWithin(points, least, math.Inf(1))
}

// newTree does so for points of any number of dimensions, a column each, and plainly: what is held against tables.
func newTree(columns [][]float64, least int) Tree {
	t := Tree{least: least}
	if n := len(columns[0]); n > 0 {
		edges := span(columns, cores(columns, least-1))
		sortEdges(edges)
		t.join(n, edges)
	}
	return t
}

// cores returns the squared distance of each point to its k-th nearest other point, or
// to the farthest where there are fewer.
func cores(columns [][]float64, k int) []float64 {
	n := len(columns[0])
	core := make([]float64, n)
	if k = min(k, n-1); k == 0 {
		return core
	}
	nearest := make([]float64, k)
	for i := range core {
		for j := range nearest {
			nearest[j] = math.Inf(1)
		}
		for j := range core {
			if j != i {
				d2 := 0.0
				for _, c := range columns {
					d2 += (c[j] - c[i]) * (c[j] - c[i])
				}
				insert(nearest, d2)
			}
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

// sortEdges puts edges in rising order.
func sortEdges(edges []edge) {
	slices.SortFunc(edges, func(a, b edge) int {
		switch {
		case a.d2 < b.d2:
			return -1
		case a.d2 > b.d2:
			return 1
		}
		return 0
	})
}

type edge struct {
	a, b int32
	d2   float64
}

// span returns a minimum spanning tree by mutual reachability.
func span(columns [][]float64, core []float64) []edge {
	n := len(core)
	edges := make([]edge, 0, n-1)
	// Points not yet in the tree, with the point of the tree that each hangs on.
	left := make([]int32, n-1)
	hang := make([]edge, n-1)
	for k := range left {
		left[k], hang[k] = int32(k+1), edge{d2: math.Inf(1)}
	}
	for in := int32(0); len(left) > 0; {
		best := 0
		for k, j := range left {
			d2 := 0.0
			for _, c := range columns {
				d2 += (c[j] - c[in]) * (c[j] - c[in])
			}
			d2 = max(d2, core[in], core[j])
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
		a, b := find(int(e.a)), find(int(e.b))
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
