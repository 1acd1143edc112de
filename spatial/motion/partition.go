package motion

import "math"

// partition returns the borders 0 = c₀ < c₁ < … = n of the legs of steady velocity
// that fit nodes best, by the recursion
//
//	F(j) = min over i of F(i) + misfit(i, j) + penalty
//
// in which misfit is the squared distance of nodes i…j-1 from their own straight,
// evenly timed line. Once F(i) + misfit(i, j) > F(j) for some start i, a leg from i
// is never better than one that is cut at j, since misfit only grows as a leg
// gets longer; i is dropped as soon as the cut at j leaves room for a leg.
func partition(nodes []Node) []int {
	n := len(nodes)
	if n < 2*minNode {
		return []int{0, n}
	}
	sums := newSums(nodes)
	best, from := make([]float64, n+1), make([]int, n+1)
	best[0] = -penaltyM2
	type start struct{ node, dropAt int }
	var starts []start
	var costs []float64
	for j := minNode; j <= n; j++ {
		if i := j - minNode; i == 0 || i >= minNode {
			starts = append(starts, start{i, n + 1})
		}
		best[j] = math.Inf(1)
		costs = costs[:0]
		for _, i := range starts {
			c := best[i.node] + sums.misfit(i.node, j)
			costs = append(costs, c)
			if c+penaltyM2 < best[j] {
				best[j], from[j] = c+penaltyM2, i.node
			}
		}
		kept := starts[:0]
		for k, i := range starts {
			if costs[k] > best[j] {
				i.dropAt = min(i.dropAt, j+minNode)
			}
			if j < i.dropAt {
				kept = append(kept, i)
			}
		}
		starts = kept
	}
	var back []int
	for j := n; j > 0; j = from[j] {
		back = append(back, j)
	}
	cuts := []int{0}
	for k := len(back) - 1; k >= 0; k-- {
		cuts = append(cuts, back[k])
	}
	return cuts
}

// sums holds running sums from which any stretch's regression follows.
type sums []struct{ n, s, ss, x, sx, xx, y, sy, yy float64 }

func newSums(nodes []Node) sums {
	out := make(sums, len(nodes)+1)
	for i, node := range nodes {
		// From the first node: small numbers keep the differences of sums exact.
		s, x, y := node.S-nodes[0].S, node.At.X-nodes[0].At.X, node.At.Y-nodes[0].At.Y
		o := out[i]
		o.n, o.s, o.ss = o.n+1, o.s+s, o.ss+s*s
		o.x, o.sx, o.xx = o.x+x, o.sx+s*x, o.xx+x*x
		o.y, o.sy, o.yy = o.y+y, o.sy+s*y, o.yy+y*y
		out[i+1] = o
	}
	return out
}

// misfit returns the sum of squared distances, m², of nodes [i, j) from the line
// that fits them best.
func (q sums) misfit(i, j int) float64 {
	a, b := q[i], q[j]
	n, s := b.n-a.n, b.s-a.s
	ss := b.ss - a.ss - s*s/n
	residual := func(x, sx, xx float64) float64 {
		r := xx - x*x/n
		if ss > 0 {
			c := sx - s*x/n
			r -= c * c / ss
		}
		return math.Max(0, r)
	}
	return residual(b.x-a.x, b.sx-a.sx, b.xx-a.xx) + residual(b.y-a.y, b.sy-a.sy, b.yy-a.yy)
}
