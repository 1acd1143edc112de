package drift

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r2"
)

// # Method
//
//  1. Leaders (the leader algorithm of Hartigan, Clustering Algorithms, 1975, ch. 3; from memory): passes, longest
//     first, each join the nearest leader within the width, or become a leader.
//  2. Every two or more that came together get a middle (middle.go).
//  3. Two middles that run together as two passes would are one line, unless more than a tenth of the passes
//     of both would then be too far from the middle of all.
//  4. Every pass is given to the nearest middle within the width, that of the line with more passes if two are as
//     near. From that of its own line it counts as n/(n-1) times as far, n being the passes there: so far it is from
//     the mean of the others, and else two by chance together beside a line would hold each other. Those near no
//     middle begin anew at 1 among themselves.
//  5. Again from 2 until no pass moves, as in k-means (Lloyd, IEEE Trans. Inf. Theory 28, 1982), but mostRounds
//     times at most: with a greatest distance for a mean nothing says that it ends.
//
// By hand, width 20: passes of 100 m along y = 0, 9, 18, 27, the lower the longer by a metre. The first leads those at 9
// and 18, that at 27 is alone. Their middle is y = 9, and 27 is 18 from it: it joins. The middle of all is y = 13.5, the
// outer ones are 13.5 · 4/3 = 18 from the others', and nothing moves any more.
//
// # Cost
//
// Each round holds a pass against the lines in the same cells of a grid, and makes each middle once.
//
// # What it does badly
//
// Passes that each overlap the next by half, far along a shore, become one long line. Where passes run everywhere and
// every way there are no lines to settle into: what it stops at is one answer among many.

// mostRounds is more than made seasons take (TestSettled). Where there are no lines forty are not enough either.
const mostRounds = 5

// A track is a pass as it is compared.
type track struct {
	path    []r2.Vec // at even steps
	lengthM float64  // above 0
	index   int      // of the pass
}

// A gatherer puts tracks, longest first, into lines.
type gatherer struct {
	tracks []track
	widthM float64
}

// gather returns the members of each line, rising; the lines are in order of their members, most first.
func (g gatherer) gather() [][]int {
	all := make([]int, len(g.tracks))
	for i := range all {
		all[i] = i
	}
	groups := g.lead(all)
	for range mostRounds {
		next := g.again(groups)
		if slices.EqualFunc(next, groups, slices.Equal[[]int]) {
			break
		}
		groups = next
	}
	return groups
}

// lead gathers tracks around the longest of them, and returns those groups that have two.
func (g gatherer) lead(ids []int) [][]int {
	var groups [][]int // the first of each leads
	var x scratch
	leaders := newGrid(g.widthM + stepM)
	for _, i := range ids {
		t := g.tracks[i]
		best, bestM := -1, g.widthM
		for _, k := range leaders.near(t.path) {
			l := g.tracks[groups[k][0]]
			if m, ok := x.apart(l.path, t.path, l.lengthM, t.lengthM, bestM); ok && (best < 0 || m < bestM) {
				best, bestM = k, m
			}
		}
		if best >= 0 {
			groups[best] = append(groups[best], i)
			continue
		}
		leaders.add(t.path, len(groups))
		groups = append(groups, []int{i})
	}
	return inGroupOrder(groups)
}

// again makes the middles of groups, joins those that are one line and gives every track to the nearest.
func (g gatherer) again(groups [][]int) [][]int {
	beds := make([]bed, len(groups))
	each(len(groups), func(k int, _ *scratch) { beds[k] = lay(g.tracks, groups[k]) })
	beds = g.join(beds)
	middles := newGrid(g.widthM + stepM)
	for k, b := range beds {
		middles.add(b.reach, k)
	}
	in := make([]int, len(g.tracks)) // the bed of each
	for i := range in {
		in[i] = -1 // none
	}
	for k, b := range beds {
		for _, i := range b.members {
			in[i] = k
		}
	}
	nearest := make([]int, len(g.tracks))
	each(len(g.tracks), func(i int, x *scratch) {
		t := &g.tracks[i]
		best, bestM := -1, g.widthM
		for _, k := range middles.near(t.path) {
			drawn := 1.0 // how much nearer the middle is for having i in it
			if n := float64(len(beds[k].members)); in[i] == k {
				drawn = n / (n - 1)
			}
			m, ok := x.apart(beds[k].reach, t.path, beds[k].lengthM, t.lengthM, bestM/drawn)
			if ok && (best < 0 || m*drawn < bestM) {
				best, bestM = k, m*drawn
			}
		}
		nearest[i] = best
	})
	next := make([][]int, len(beds))
	var left []int
	for i, k := range nearest {
		if k >= 0 {
			next[k] = append(next[k], i)
		} else {
			left = append(left, i)
		}
	}
	return inGroupOrder(slices.Concat(next, g.lead(left)))
}

// join makes one of beds that are one line. The first of two stays and takes in the other.
func (g gatherer) join(beds []bed) []bed {
	middles := newGrid(g.widthM + stepM)
	for k, b := range beds {
		middles.add(b.reach, k)
	}
	gone := make([]bool, len(beds))
	var x scratch
	for k := range beds {
		for !gone[k] && g.joinNearest(&x, beds, gone, k, middles.near(beds[k].reach)) {
		}
	}
	var out []bed
	for k, b := range beds {
		if !gone[k] {
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b bed) int { return byMembers(a.members, b.members) })
	return out
}

// joinNearest makes one of bed k and the nearest of others that it is one line with, if there is any.
func (g gatherer) joinNearest(x *scratch, beds []bed, gone []bool, k int, others []int) bool {
	type other struct {
		k int
		m float64
	}
	var candidates []other
	for _, o := range others {
		if o == k || gone[o] {
			continue
		}
		if m, ok := x.apart(beds[k].reach, beds[o].reach, beds[k].lengthM, beds[o].lengthM, g.widthM); ok {
			candidates = append(candidates, other{o, m})
		}
	}
	slices.SortStableFunc(candidates, func(a, b other) int { return cmp.Compare(a.m, b.m) })
	for _, c := range candidates {
		members := slices.Concat(beds[k].members, beds[c.k].members)
		slices.Sort(members)
		both := lay(g.tracks, members)
		far := 0
		for _, i := range members {
			if _, ok := x.apart(both.reach, g.tracks[i].path, both.lengthM, g.tracks[i].lengthM, g.widthM); !ok {
				far++
			}
		}
		if 10*far <= len(members) {
			beds[k], gone[c.k] = both, true
			return true
		}
	}
	return false
}

// each calls f for every number below n, on all processors, each with a scratch of its own. What f does must not
// hang on what it did before.
func each(n int, f func(i int, x *scratch)) {
	const some = 8 // taken at once
	var taken atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+some-1)/some) {
		wg.Go(func() {
			var x scratch
			for {
				to := int(taken.Add(some))
				for i := to - some; i < min(n, to); i++ {
					f(i, &x)
				}
				if to >= n {
					return
				}
			}
		})
	}
	wg.Wait()
}

// inGroupOrder leaves out groups of less than two and orders the rest.
func inGroupOrder(groups [][]int) [][]int {
	groups = slices.DeleteFunc(groups, func(members []int) bool { return len(members) < 2 })
	slices.SortFunc(groups, byMembers)
	return groups
}

// byMembers puts more members first, then longer ones.
func byMembers(a, b []int) int {
	return cmp.Or(cmp.Compare(len(b), len(a)), slices.Compare(a, b))
}

// A grid finds what runs near a path: paths with points up to stepM apart, of which some are no more than its cells
// less stepM from each other, lie in the same or neighbouring cells.
type grid struct {
	cellM float64
	ids   map[[2]int][]int
}

func newGrid(cellM float64) grid { return grid{cellM, map[[2]int][]int{}} }

// cells returns the cells of a path's points, without repeats one after the other.
func (g grid) cells(path []r2.Vec) (out [][2]int) {
	for _, v := range path {
		c := [2]int{int(math.Floor(v.X / g.cellM)), int(math.Floor(v.Y / g.cellM))}
		if len(out) == 0 || out[len(out)-1] != c {
			out = append(out, c)
		}
	}
	return out
}

// add puts a path into its cells and all around them. Ids must rise.
func (g grid) add(path []r2.Vec, id int) {
	for _, c := range g.cells(path) {
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				at := [2]int{c[0] + dx, c[1] + dy}
				if in := g.ids[at]; len(in) == 0 || in[len(in)-1] != id {
					g.ids[at] = append(in, id)
				}
			}
		}
	}
}

// near returns the ids of paths that may be near, rising.
func (g grid) near(path []r2.Vec) (ids []int) {
	for _, c := range g.cells(path) {
		ids = append(ids, g.ids[c]...)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}
