// Package density finds where points of the plane lie close together. It knows
// no fish: points in metres in, labels out.
//
// # Method
//
// DBSCAN (Ester, Kriegel, Sander & Xu, KDD 1996). A point with at least `least`
// points within reach, itself counted, is a core. Cores within reach of each
// other share a cluster. A point that is no core but within reach of one is a
// border point; the 1996 paper lets it join whichever core's cluster is visited
// first. Here it joins the nearest core's, and the lowest-numbered of equally
// near ones, so that the order of the points changes numbers but never company.
//
// By hand: at 0, 1, 2, 3, 4, 10, 11, 12 on a line and one point far away, with
// reach 1 and least 3, the cores are 1, 2, 3 and 11; the labels are 0 0 0 0 0 1 1
// 1 and noise.
//
// # Cost
//
// Points are sorted into square cells of side reach, so that neighbours are found
// in nine cells: n log n for points that spread out, n² if all lie in one cell.
//
// # What it does badly
//
// One reach serves all clusters: dense ones side by side merge, sparse ones vanish.
package density

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Noise is the label of a point in no cluster.
const Noise = -1

// Cluster labels each point with its cluster, 0, 1, … in order of the clusters'
// first core, or Noise. reachM is inclusive; least counts the point itself.
// Points must be finite and within some 10⁹ reaches of the origin. No points
// give no labels. It panics if reachM is not positive or least is below 1.
func Cluster(points []r2.Vec, reachM float64, least int) []int {
	if !(reachM > 0) || least < 1 {
		panic("density: reach and least must be positive")
	}
	n := len(points)
	labels := make([]int, n)
	index := newCells(points, reachM)
	core := make([]bool, n)
	for i := range points {
		count := 0
		index.near(i, func(int, float64) { count++ })
		core[i] = count >= least
		labels[i] = Noise
	}
	next := 0
	var queue []int
	for i := range points {
		if !core[i] || labels[i] != Noise {
			continue
		}
		labels[i] = next
		queue = append(queue[:0], i)
		for len(queue) > 0 {
			from := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			index.near(from, func(j int, _ float64) {
				if core[j] && labels[j] == Noise {
					labels[j] = next
					queue = append(queue, j)
				}
			})
		}
		next++
	}
	for i := range points {
		if core[i] {
			continue
		}
		best, bestD2 := Noise, math.Inf(1)
		index.near(i, func(j int, d2 float64) {
			if core[j] && (d2 < bestD2 || d2 == bestD2 && j < best) {
				best, bestD2 = j, d2
			}
		})
		if best != Noise {
			labels[i] = labels[best]
		}
	}
	return labels
}

// cells is points sorted into square cells of side reach.
type cells struct {
	points []r2.Vec
	reach  float64
	keys   []key // sorted
	order  []int // point of each key
}

type key struct{ x, y int64 }

func compareKeys(a, b key) int { return cmp.Or(cmp.Compare(a.y, b.y), cmp.Compare(a.x, b.x)) }

func newCells(points []r2.Vec, reach float64) cells {
	c := cells{points: points, reach: reach, keys: make([]key, len(points)), order: make([]int, len(points))}
	of := make([]key, len(points))
	for i, p := range points {
		of[i] = c.cell(p)
		c.order[i] = i
	}
	slices.SortStableFunc(c.order, func(a, b int) int { return compareKeys(of[a], of[b]) })
	for k, i := range c.order {
		c.keys[k] = of[i]
	}
	return c
}

func (c cells) cell(p r2.Vec) key {
	return key{int64(math.Floor(p.X / c.reach)), int64(math.Floor(p.Y / c.reach))}
}

// near calls f with every point within reach of point i, itself too, and the
// squared distance.
func (c cells) near(i int, f func(j int, d2 float64)) {
	p := c.points[i]
	at := c.cell(p)
	limit := c.reach * c.reach
	for y := at.y - 1; y <= at.y+1; y++ {
		k, _ := slices.BinarySearchFunc(c.keys, key{at.x - 1, y}, compareKeys)
		for ; k < len(c.keys) && c.keys[k].y == y && c.keys[k].x <= at.x+1; k++ {
			j := c.order[k]
			if d2 := r2.Norm2(r2.Sub(c.points[j], p)); d2 <= limit {
				f(j, d2)
			}
		}
	}
}
