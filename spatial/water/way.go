package water

import (
	"container/heap"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// The shortest way in time over known water.
//
// Steps. A* (Hart, Nilsson & Raphael 1968) from one place to another over the open cells and their eight neighbours; what is left is at least
// the steps of an open field at the fastest speed of the grid. Where the ways to many places are wanted at once there is nothing to aim
// at, and the search is Dijkstra's (1959), which is the same without a guess. A step takes its length over the mean of the two cells'
// slowness. A diagonal step needs both cells beside it open, so that no corner is cut. The way found is then
// straightened: from each corner the farthest later one is taken that is seen over open water alone and is reached no
// later than by the steps.
//
// By hand: 3 cells east and 1 north of 10 m at 5 m/s are two straight steps and a diagonal, 34.1 m in 6.8 s; seen, the straight
// line is 31.6 m in 6.3 s.
//
// Cost: n log n in open cells; straightening n² at worst in corners, n as a rule. What it does badly: the steps are up to
// 8 % longer than the shortest way in an open field (22.5 degrees off the grid), and straightening mends most of it, not
// all around several corners.

// A Way is a way by boat.
type Way struct {
	Line    []r2.Vec // from start to goal; two positions and more
	LengthM float64
	Seconds float64
	// LeastM is the least depth known on it, at the level to come; Sounded is false where no depth is known of any of it, and
	// Unsounded the length of it that no depth is known of.
	LeastM     float64
	Sounded    bool
	UnsoundedM float64
}

// snapM is how far a place may lie from open water to be reached from there: a ramp on the shore, a catch by the bank, a
// cast from the boat.
const snapM = 30

// From finds the ways from one place to others. The second value tells which there are: neither place may lie farther than 30 m
// from open water that is joined. Times to places are those of the straightened ways.
func (g *Grid) From(start r2.Vec, goals []r2.Vec) ([]Way, []bool) {
	ways, ok := make([]Way, len(goals)), make([]bool, len(goals))
	from, found := g.snap(start)
	if !found {
		return ways, ok
	}
	s := g.search(from, everywhere)
	for i, goal := range goals {
		to, found := g.snap(goal)
		if !found || !s.reached(to) {
			continue
		}
		ways[i], ok[i] = g.way(s.path(to), start, goal), true
	}
	return ways, ok
}

// To finds the way from one place to another, as From does, looking no farther than it must. Of ways that take the same time it
// may find another.
func (g *Grid) To(start, goal r2.Vec) (Way, bool) {
	from, ok := g.snap(start)
	to, found := g.snap(goal)
	if !ok || !found {
		return Way{}, false
	}
	s := g.search(from, to)
	if !s.reached(to) {
		return Way{}, false
	}
	return g.way(s.path(to), start, goal), true
}

// snap returns the open cell nearest to v within snapM.
func (g *Grid) snap(v r2.Vec) (int, bool) {
	best, bestM := -1, math.Inf(1)
	if len(g.cells) == 0 {
		return -1, false
	}
	reach := snapM + g.cellM
	for y := g.row(v.Y - reach); y <= g.row(v.Y+reach); y++ {
		for x := g.column(v.X - reach); x <= g.column(v.X+reach); x++ {
			i := y*g.w + x
			if g.cells[i].state != open {
				continue
			}
			// The cell that v lies in wins over one whose centre is as near.
			d := r2.Norm(r2.Sub(g.centre(i), v))
			if i == g.index(v) && g.inside(v) {
				d = 0
			}
			if d < bestM {
				best, bestM = i, d
			}
		}
	}
	return best, best >= 0 && bestM <= snapM+g.cellM*math.Sqrt2/2
}

// A search has the time to every cell, and where each is reached from.
type search struct {
	from    []int32 // -1: not reached; itself: the start
	seconds []float32
}

func (s *search) reached(i int) bool { return s.from[i] >= 0 }

// path returns the cells from the start to i.
func (s *search) path(i int) []int {
	var back []int
	for {
		back = append(back, i)
		if int(s.from[i]) == i {
			break
		}
		i = int(s.from[i])
	}
	for a, b := 0, len(back)-1; a < b; a, b = a+1, b-1 {
		back[a], back[b] = back[b], back[a]
	}
	return back
}

// steps are the eight neighbours, sides first.
var steps = [8]struct {
	dx, dy int
	length float64
}{
	{1, 0, 1}, {-1, 0, 1}, {0, 1, 1}, {0, -1, 1},
	{1, 1, math.Sqrt2}, {-1, 1, math.Sqrt2}, {1, -1, math.Sqrt2}, {-1, -1, math.Sqrt2},
}

// everywhere is the goal of a search that has none.
const everywhere = -1

// search looks for the quickest steps from a cell to a goal, or to all cells. Of two ways of the same time the one found first
// stays, which is the same each time.
func (g *Grid) search(start, goal int) *search {
	s := &search{make([]int32, len(g.cells)), make([]float32, len(g.cells))}
	for i := range s.from {
		s.from[i], s.seconds[i] = -1, float32(math.Inf(1))
	}
	done := make([]bool, len(g.cells))
	left := func(int) float32 { return 0 }
	if goal != everywhere {
		// A hair less than the least, so that rounding makes no guess too long.
		perCell := 0.9999 * g.cellM / g.fastest()
		left = func(i int) float32 {
			dx, dy := abs(i%g.w-goal%g.w), abs(i/g.w-goal/g.w)
			return float32(perCell * (float64(max(dx, dy)) + (math.Sqrt2-1)*float64(min(dx, dy))))
		}
	}
	q := &queue{{left(start), int32(start)}}
	s.from[start], s.seconds[start] = int32(start), 0
	for len(*q) > 0 {
		at := int(heap.Pop(q).(node).cell)
		if done[at] {
			continue
		}
		if done[at] = true; at == goal {
			break
		}
		x, y := at%g.w, at/g.w
		for _, d := range steps {
			nx, ny := x+d.dx, y+d.dy
			if nx < 0 || ny < 0 || nx >= g.w || ny >= g.h {
				continue
			}
			to := ny*g.w + nx
			if done[to] || g.cells[to].state != open {
				continue
			}
			if d.dx != 0 && d.dy != 0 && (g.cells[y*g.w+nx].state != open || g.cells[ny*g.w+x].state != open) {
				continue
			}
			t := s.seconds[at] + float32(d.length*g.cellM*(0.5/float64(g.cells[at].mps)+0.5/float64(g.cells[to].mps)))
			if t < s.seconds[to] {
				s.from[to], s.seconds[to] = int32(at), t
				heap.Push(q, node{t + left(to), int32(to)})
			}
		}
	}
	return s
}

// fastest is the greatest speed of an open cell.
func (g *Grid) fastest() float64 {
	most := float32(slowestMPS)
	for _, c := range g.cells {
		if c.state == open {
			most = max(most, c.mps)
		}
	}
	return float64(most)
}

type node struct {
	seconds float32 // to it, and what is left at least
	cell    int32
}

type queue []node

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return q[i].seconds < q[j].seconds || q[i].seconds == q[j].seconds && q[i].cell < q[j].cell
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(node)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// way straightens a path of cells and measures it. The ends are the places themselves where these lie in the path's
// cells, else the cells' centres: what lies between is not known water.
func (g *Grid) way(cells []int, start, goal r2.Vec) Way {
	points := make([]r2.Vec, len(cells))
	for i, c := range cells {
		points[i] = g.centre(c)
	}
	if g.inside(start) && g.index(start) == cells[0] {
		points[0] = start
	}
	if last := len(cells) - 1; g.inside(goal) && g.index(goal) == cells[last] {
		if last == 0 {
			points = append(points, goal)
		} else {
			points[last] = goal
		}
	}
	if len(points) == 1 {
		points = append(points, points[0])
	}
	// Time along the steps up to each point.
	upTo := make([]float64, len(points))
	for i := 1; i < len(points); i++ {
		_, s, _ := g.cross(points[i-1], points[i])
		upTo[i] = upTo[i-1] + s
	}
	line := []r2.Vec{points[0]}
	for at := 0; at < len(points)-1; {
		next := at + 1
		// Double the reach while it is seen, then halve back: a few looks a corner.
		for reach := 2; at+reach < len(points) && g.sees(points, upTo, at, at+reach); reach *= 2 {
			next = at + reach
		}
		for step := next - at; step > 0; step /= 2 {
			for next+step < len(points) && g.sees(points, upTo, at, next+step) {
				next += step
			}
		}
		line = append(line, points[next])
		at = next
	}
	w := Way{Line: line, LeastM: math.Inf(1)}
	for i := 1; i < len(line); i++ {
		m, s, _ := g.cross(line[i-1], line[i])
		w.LengthM += m
		w.Seconds += s
		g.walk(line[i-1], line[i], func(cell int, m float64) bool {
			if c := g.cells[cell]; c.deep {
				w.Sounded = true
				w.LeastM = min(w.LeastM, float64(c.depthM))
			} else {
				w.UnsoundedM += m
			}
			return true
		})
	}
	if !w.Sounded {
		w.LeastM = 0
	}
	return w
}

// sees reports whether the straight line between two points of a path keeps to open water and takes no longer.
func (g *Grid) sees(points []r2.Vec, upTo []float64, a, b int) bool {
	_, s, open := g.cross(points[a], points[b])
	return open && s <= (upTo[b]-upTo[a])*(1+1e-9)
}

// cross measures a straight line: its length, the time it takes, and whether all of it is open.
func (g *Grid) cross(a, b r2.Vec) (lengthM, seconds float64, isOpen bool) {
	isOpen = true
	g.walk(a, b, func(cell int, m float64) bool {
		if g.cells[cell].state != open {
			isOpen = false
			return false
		}
		lengthM += m
		seconds += m / float64(g.cells[cell].mps)
		return true
	})
	return lengthM, seconds, isOpen
}

// walk visits every cell that a straight line crosses, with the length in it, until visit returns false (Amanatides & Woo
// 1987). Where the line runs through a corner, the cells on both sides of it are visited too, with no length.
func (g *Grid) walk(a, b r2.Vec, visit func(cell int, m float64) bool) {
	length := r2.Norm(r2.Sub(b, a))
	x, y := g.column(a.X), g.row(a.Y)
	endX, endY := g.column(b.X), g.row(b.Y)
	if length == 0 {
		visit(y*g.w+x, 0)
		return
	}
	dir := r2.Sub(b, a)
	next := func(from, d, origin float64, cell int) (sign int, t, per float64) {
		switch {
		case d > 0:
			return 1, (origin + float64(cell+1)*g.cellM - from) / d, g.cellM / d
		case d < 0:
			return -1, (origin + float64(cell)*g.cellM - from) / d, -g.cellM / d
		}
		return 0, math.Inf(1), math.Inf(1)
	}
	sx, tx, perX := next(a.X, dir.X, g.origin.X, x)
	sy, ty, perY := next(a.Y, dir.Y, g.origin.Y, y)
	at := 0.0
	for left := abs(endX-x) + abs(endY-y); ; left-- {
		t := min(tx, ty, 1)
		if left <= 0 {
			t = 1
		}
		if !visit(y*g.w+x, max(t-at, 0)*length) || left <= 0 {
			return
		}
		at = t
		const corner = 1e-9
		switch {
		case math.Abs(tx-ty) <= corner && x != endX && y != endY:
			if !visit(y*g.w+x+sx, 0) || !visit((y+sy)*g.w+x, 0) {
				return
			}
			x, y, tx, ty = x+sx, y+sy, tx+perX, ty+perY
			left--
		case (tx < ty || y == endY) && x != endX:
			x, tx = x+sx, tx+perX
		default:
			y, ty = y+sy, ty+perY
		}
	}
}

func abs(i int) int {
	if i < 0 {
		return -i
	}
	return i
}
