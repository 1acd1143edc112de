// Package density finds where points of the plane lie close together. It knows
// no fish: points in metres in, labels out.
//
// # Method
//
// DBSCAN (Ester, Kriegel, Sander & Xu, KDD 1996). A point with at least `least`
// points within reach, itself counted, is a core. Cores within reach of each
// other share a cluster. A point that is no core but within reach of one is a
// border point; the 1996 paper lets it join whichever core's cluster is visited
// first. Here that is the lowest-numbered of those within reach, clusters being
// numbered in the order of their first cores, as they are when points are visited in order.
//
// It isn't done by visiting, but over square cells whose diagonal is just shorter
// than the reach (Gunawan, 2013; Gan & Tao, SIGMOD 2015; both from memory):
//
//  1. Points are sorted by cell. Those of one cell are all within reach of each
//     other, and all others within reach lie in the five by five cells around.
//  2. Where a cell holds `least` points, all are cores, and no distance is asked
//     for. Any other point counts those within reach until there are enough.
//  3. All cores of one cell share a cluster. Two cells share one as soon as one pair
//     of their cores is within reach: cells that touch are asked first, for then
//     most others need not be asked.
//  4. Clusters are numbered, then border points look for the lowest number around.
//
// By hand: at 0, 0, 0.5, 1.5, 2.5, 3, 3 on a line, with reach 1 and least 4, only
// 0.5 and 2.5 are cores; 1.5 is within reach of both, and the labels are 0 0 0 0 1 1 1.
//
// # Cost
//
// Sorting takes two or three passes over the points; then some twenty squared
// distances for each point in a sparse place and next to none in a dense one: 0.1 s
// for a million points, crowded or not. At worst it is 24·least·n of them, and, for
// two crowds of whose pairs most lie a hair more than the reach apart, all pairs.
// Some 50 bytes a point are used, the labels' included.
//
// # What it does badly
//
// One reach serves all clusters: dense ones side by side merge, sparse ones vanish.
package density

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Noise is the label of a point in no cluster.
const Noise = -1

// Cluster labels each point with its cluster, 0, 1, … in order of the clusters'
// first cores, or Noise. reachM is inclusive; least counts the point itself. Points
// are metres of a plane and aren't changed; they must be finite and within 10⁹
// reaches of the origin. No points give no labels. It panics if reachM is not
// positive, least is below 1, or points lie too far apart.
//
// A border point joins the earliest cluster with a core within its reach. So labels equal,
// point for point, those of R's dbscan 1.1 (one less, and Noise for its 0) and scikit-learn,
// which visit clusters in that order; reference_test.go holds them against R's.
// Points in another order give other numbers, and may move border points that two
// clusters reach; which points are cores, which cores keep company and which points are
// noise stays.
func Cluster(points []r2.Vec, reachM float64, least int) []int {
	if !(reachM > 0) || least < 1 {
		panic("density: reach and least must be positive")
	}
	labels := make([]int, len(points))
	if len(points) == 0 {
		return labels
	}
	for i := range labels {
		labels[i] = Noise
	}
	g := newGrid(points, reachM)
	g.findCores(least)
	g.join()
	g.label(labels)
	return labels
}

// findCores puts the cores of each cell before its other points.
func (g *grid) findCores(least int) {
	g.cores = make([]int32, g.cells())
	var s sweep
	for c := range g.cores {
		from, to := g.starts[c], g.starts[c+1]
		g.cores[c] = from
		if int(to-from) >= least {
			g.cores[c] = to
			continue
		}
		g.around(&s, c)
		around := 0
		for row := range s.from {
			around += int(g.starts[s.to[row]] - g.starts[s.from[row]])
		}
		if around < least {
			continue
		}
		for k := from; k < to; k++ {
			if g.isCore(g.points[k], &s, least) {
				end := g.cores[c]
				g.points[k], g.points[end] = g.points[end], g.points[k]
				g.order[k], g.order[end] = g.order[end], g.order[k]
				g.cores[c]++
			}
		}
	}
}

// isCore tells whether a point of the sweep's cell is a core.
func (g *grid) isCore(p r2.Vec, s *sweep, least int) bool {
	y := (p.Y - g.low.Y) * g.perM
	y -= float64(int64(y))
	// The nearest rows first, and only the nearer of the outermost: the other is 1.5 cells away or more, the reach 1.42.
	for _, row := range [...]int{2, 1, 3, 4 * int(y+0.5)} {
		among := g.points[g.starts[s.from[row]]:g.starts[s.to[row]]]
		for len(among) > 0 {
			some := among[:min(32, len(among))]
			among = among[len(some):]
			if least -= near(p, some, g.limit); least <= 0 {
				return true
			}
		}
	}
	return false
}

func (g *grid) hasCores(c int) bool { return g.cores[c] > g.starts[c] }

// join finds which cells share a cluster.
func (g *grid) join() {
	g.root = make([]int32, g.cells())
	for c := range g.root {
		g.root[c] = int32(c)
	}
	// Cells with many cores ask those beside them first: mostly these then lead to the others, which are dear to ask.
	for _, late := range [...]bool{false, true} {
		var s sweep
		for c := range g.root {
			n := g.cores[c] - g.starts[c]
			if n == 0 || late && n <= few {
				continue
			}
			g.around(&s, c)
			for row := 2; row < 5; row++ { // those before have asked this one
				above := g.keys[c] + uint64(row-2)*g.width
				for o := max(s.from[row], c+1); o < s.to[row]; o++ {
					if !g.hasCores(o) {
						continue
					}
					beside := row < 4 && g.keys[o]+1-above <= 2
					if n > few && beside == late {
						continue
					}
					a, b := g.top(c), g.top(o)
					if a != b && touch(g.points[g.starts[c]:g.cores[c]], g.points[g.starts[o]:g.cores[o]], g.limit) {
						g.root[max(a, b)] = min(a, b)
					}
				}
			}
		}
	}
}

// top returns the cell that stands for a cell's cluster, as far as is known.
func (g *grid) top(c int) int32 {
	r := int32(c)
	for g.root[r] != r {
		g.root[r] = g.root[g.root[r]]
		r = g.root[r]
	}
	return r
}

// label fills in the labels, all of them noise so far.
func (g *grid) label(labels []int) {
	for c := range g.root {
		g.root[c] = g.top(c)
		for _, v := range g.order[g.starts[c]:g.cores[c]] {
			labels[uint32(v)] = int(g.root[c])
		}
	}
	number := make([]uint32, g.cells()) // by root, and from 1
	next := uint32(0)
	for i, r := range labels {
		if r == Noise {
			continue
		}
		if number[r] == 0 {
			next++
			number[r] = next
		}
		labels[i] = int(number[r]) - 1
	}
	// Cores look for border points rather than these for cores: where points are many, most cells have no core. A point
	// that is none has the lowest number so far in the upper half of its order, lest labels be leapt about in.
	const none = math.MaxUint32
	for c := range g.cores {
		for k := g.cores[c]; k < g.starts[c+1]; k++ {
			g.order[k] |= none << 32
		}
	}
	var s sweep
	for c, r := range g.root {
		if !g.hasCores(c) {
			continue
		}
		n := uint64(number[r])
		g.around(&s, c)
		for row := range s.from {
			for o := s.from[row]; o < s.to[row]; o++ {
				for k := g.cores[o]; k < g.starts[o+1]; k++ {
					if n < g.order[k]>>32 && anyNear(g.points[k], g.points[g.starts[c]:g.cores[c]], g.limit) {
						g.order[k] = n<<32 | g.order[k]&math.MaxUint32
					}
				}
			}
		}
	}
	for c := range g.cores {
		for _, v := range g.order[g.cores[c]:g.starts[c+1]] {
			if v>>32 != none {
				labels[uint32(v)] = int(v>>32) - 1
			}
		}
	}
}
