package madelake

import (
	"container/heap"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
)

// A way between two spots: the shortest chain of grid cells over deep water
// (A*, Hart, Nilsson and Raphael 1968), pulled straight wherever the straight
// line stays deep, with its corners rounded.

const (
	cellM     = 20.0
	cellsEast = int(2 * halfEastM / cellM)
	cellsAll  = cellsEast * int(2*halfNorthM/cellM)
	cellDeepM = 2.0  // a cell this deep may be crossed
	wayDeepM  = 1.35 // no straight piece leads over less
)

// deepCells says which cells may be crossed.
var deepCells = sync.OnceValue(func() []bool {
	deep := make([]bool, cellsAll)
	for c := range deep {
		deep[c] = bottomM(cellAt(c)) >= cellDeepM
	}
	return deep
})

func cellAt(c int) r2.Vec {
	return r2.Vec{
		X: (float64(c%cellsEast)+0.5)*cellM - halfEastM,
		Y: (float64(c/cellsEast)+0.5)*cellM - halfNorthM,
	}
}

func cellOf(v r2.Vec) int {
	return int((v.Y+halfNorthM)/cellM)*cellsEast + int((v.X+halfEastM)/cellM)
}

// clearWay reports whether the straight line from a to b stays over deep water.
func clearWay(a, b r2.Vec) bool {
	n := math.Ceil(r2.Norm(r2.Sub(b, a)) / 5)
	for k := 0.0; k <= n; k++ {
		if bottomM(lerp(a, b, k/math.Max(n, 1))) < wayDeepM {
			return false
		}
	}
	return true
}

func lerp(a, b r2.Vec, f float64) r2.Vec { return r2.Add(a, r2.Scale(f, r2.Sub(b, a))) }

// way returns the corners of a way from a to b, both included. It panics when
// no deep water joins them: every place on the lake is reachable.
func way(a, b r2.Vec) []r2.Vec {
	if clearWay(a, b) {
		return []r2.Vec{a, b}
	}
	chain := cellChain(nearestDeep(a), nearestDeep(b))
	points := []r2.Vec{a}
	for _, c := range chain {
		points = append(points, cellAt(c))
	}
	points = append(points, b)
	// Pull straight: from each corner to the farthest point in plain sight.
	corners := []r2.Vec{a}
	for i := 0; i < len(points)-1; {
		j := i + 1
		for k := len(points) - 1; k > j; k-- {
			if clearWay(points[i], points[k]) {
				j = k
				break
			}
		}
		corners = append(corners, points[j])
		i = j
	}
	return corners
}

func nearestDeep(v r2.Vec) int {
	deep := deepCells()
	if c := cellOf(v); deep[c] {
		return c
	}
	best, bestM := -1, 10*cellM
	for c, ok := range deep {
		if m := r2.Norm(r2.Sub(cellAt(c), v)); ok && m < bestM && clearWay(cellAt(c), v) {
			best, bestM = c, m
		}
	}
	if best < 0 {
		panic("madelake: no deep water near a place the boat goes to")
	}
	return best
}

func cellChain(from, to int) []int {
	deep := deepCells()
	costM := make([]float64, cellsAll)
	for i := range costM {
		costM[i] = math.Inf(1)
	}
	came := make([]int, cellsAll)
	costM[from] = 0
	open := &queue{{from, 0}}
	for open.Len() > 0 {
		at := heap.Pop(open).(queued).cell
		if at == to {
			chain := []int{to}
			for at != from {
				at = came[at]
				chain = append(chain, at)
			}
			slices.Reverse(chain)
			return chain
		}
		for _, step := range [...]int{1, -1, cellsEast, -cellsEast, cellsEast + 1, cellsEast - 1, 1 - cellsEast, -1 - cellsEast} {
			next := at + step
			if next < 0 || next >= cellsAll || !deep[next] {
				continue
			}
			m := costM[at] + r2.Norm(r2.Sub(cellAt(next), cellAt(at)))
			if m < costM[next] {
				costM[next], came[next] = m, at
				heap.Push(open, queued{next, m + r2.Norm(r2.Sub(cellAt(to), cellAt(next)))})
			}
		}
	}
	panic("madelake: two waters of the lake are not joined")
}

type queued struct {
	cell int
	m    float64
}

type queue []queued

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return q[i].m < q[j].m || q[i].m == q[j].m && q[i].cell < q[j].cell
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(queued)) }
func (q *queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}

// rounded turns the corners of a way into a curve of points about a metre
// apart: each corner becomes a quadratic Bézier arc, smaller where a wide one
// would cut over shallow water.
func rounded(corners []r2.Vec) []r2.Vec {
	curve := []r2.Vec{corners[0]}
	lineTo := func(b r2.Vec) {
		a := curve[len(curve)-1]
		n := math.Ceil(r2.Norm(r2.Sub(b, a)))
		for k := 1.0; k <= n; k++ {
			curve = append(curve, lerp(a, b, k/n))
		}
	}
	for i := 1; i < len(corners)-1; i++ {
		before, at, after := corners[i-1], corners[i], corners[i+1]
		reach := min(60, r2.Norm(r2.Sub(at, before))/2, r2.Norm(r2.Sub(after, at))/2)
		for ; reach > 1; reach /= 2 {
			in := lerp(at, before, reach/r2.Norm(r2.Sub(at, before)))
			out := lerp(at, after, reach/r2.Norm(r2.Sub(after, at)))
			var arc []r2.Vec
			clear := true
			for k := 0.0; k <= 12; k++ {
				f := k / 12
				p := lerp(lerp(in, at, f), lerp(at, out, f), f)
				arc = append(arc, p)
				clear = clear && bottomM(p) >= wayDeepM
			}
			if clear {
				for _, p := range arc {
					lineTo(p)
				}
				break
			}
		}
		if reach <= 1 {
			lineTo(at)
		}
	}
	lineTo(corners[len(corners)-1])
	return curve
}
