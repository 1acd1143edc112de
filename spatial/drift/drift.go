// Package drift gathers drift passes over the same water in the same direction
// into drift lines.
//
// # Method
//
// Passes are taken longest first. Each either joins the line whose first pass it
// repeats, or begins a line. Two passes repeat each other when their directions
// differ by less than turnDeg and, over the stretch they share along the longer
// one's direction, which must be at least half of the shorter one, they run on
// average no more than the line width apart: the parallel and the perpendicular
// distance of TRACLUS (Lee, Han & Whang, SIGMOD 2007), but with the direction of
// travel, and on partial overlap so that long and short passes belong together.
// The line is their average: across the mean direction, at even steps along it,
// where at least half of the passes run (the sweep of the same paper, section 4.3).
//
// By hand: passes along y = 0 and y = 6, both from x = 0 to 100, give the line
// y = 3; one from x = 100 to 0 along y = 3 is a line of its own.
//
// # Cost
//
// Passes times lines; passes are few.
//
// # What it does badly
//
// A pass that bends by more than a right angle has no one direction to sweep along.
package drift

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// A Pass is one drift: where the boat was, in order of time, in metres of a plane.
type Pass struct {
	Day     string
	Path    []r2.Vec // at least two points
	Seconds float64
}

// way returns the straight way from the first to the last point.
func (p Pass) way() r2.Vec { return r2.Sub(p.Path[len(p.Path)-1], p.Path[0]) }

// A Line is the middle of the passes that repeat each other.
type Line struct {
	Passes []int    // indices into the passes given, rising
	Middle []r2.Vec // in the direction of drift
	WidthM float64  // nine tenths of the passes' points lie within half of this to either side
}

const (
	turnDeg = 30 // wind seldom holds its direction better through a day; common practice, no source
	stepM   = 5  // between the points of a line
)

// Lines gathers passes into lines of at least two, most passes first, then
// longest. widthM is how far apart passes of one line may run. Passes in no line
// are in none of the results.
func Lines(passes []Pass, widthM float64) []Line {
	order := make([]int, len(passes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(r2.Norm(passes[b].way()), r2.Norm(passes[a].way()))
	})
	var groups [][]int // the first of each is its longest pass
	for _, i := range order {
		best, bestApart := -1, widthM
		for g, members := range groups {
			if apart, ok := apartM(passes[members[0]], passes[i]); ok && apart <= bestApart {
				best, bestApart = g, apart
			}
		}
		if best >= 0 {
			groups[best] = append(groups[best], i)
		} else {
			groups = append(groups, []int{i})
		}
	}
	var lines []Line
	for _, members := range groups {
		if len(members) < 2 {
			continue
		}
		slices.Sort(members)
		if l, ok := middle(passes, members); ok {
			lines = append(lines, l)
		}
	}
	slices.SortStableFunc(lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(len(b.Passes), len(a.Passes)), cmp.Compare(lengthM(b.Middle), lengthM(a.Middle)))
	})
	return lines
}

// apartM returns how far apart two passes run on average where they overlap; ok
// is false when they go different ways or overlap too little.
func apartM(long, short Pass) (m float64, ok bool) {
	a, b := long.way(), short.way()
	if math.Abs(plane.TurnDeg(plane.BearingDeg(a), plane.BearingDeg(b))) >= turnDeg {
		return 0, false
	}
	along := r2.Unit(a)
	la, lb := sweep(long.Path, along, long.Path[0]), sweep(short.Path, along, long.Path[0])
	from, to := math.Max(la[0].along, lb[0].along), math.Min(la[len(la)-1].along, lb[len(lb)-1].along)
	if to-from < 0.5*(lb[len(lb)-1].along-lb[0].along) {
		return 0, false
	}
	sum, n := 0.0, 0
	for u := from; u <= to; u += stepM {
		sum += math.Abs(acrossAt(la, u) - acrossAt(lb, u))
		n++
	}
	return sum / float64(n), true
}

// A spot is a point by its distance along and to the left of a direction.
type spot struct{ along, across float64 }

// sweep turns a path into spots that go steadily forward: where the boat fell back,
// the points behind are left out.
func sweep(path []r2.Vec, dir, from r2.Vec) []spot {
	var out []spot
	for _, p := range path {
		d := r2.Sub(p, from)
		s := spot{r2.Dot(d, dir), r2.Cross(dir, d)}
		if n := len(out); n == 0 || s.along > out[n-1].along {
			out = append(out, s)
		}
	}
	return out
}

// acrossAt interpolates the distance across at a distance along within the sweep.
func acrossAt(s []spot, along float64) float64 {
	i, _ := slices.BinarySearchFunc(s, along, func(s spot, u float64) int { return cmp.Compare(s.along, u) })
	switch {
	case i == 0:
		return s[0].across
	case i == len(s):
		return s[len(s)-1].across
	}
	a, b := s[i-1], s[i]
	return a.across + (b.across-a.across)*(along-a.along)/(b.along-a.along)
}

// middle averages passes into a line; ok is false when they never run together.
func middle(passes []Pass, members []int) (l Line, ok bool) {
	var dir r2.Vec
	for _, i := range members {
		dir = r2.Add(dir, passes[i].way())
	}
	dir = r2.Unit(dir)
	origin := passes[members[0]].Path[0]
	sweeps := make([][]spot, len(members))
	low, high := math.Inf(1), math.Inf(-1)
	for k, i := range members {
		s := sweep(passes[i].Path, dir, origin)
		sweeps[k] = s
		low, high = math.Min(low, s[0].along), math.Max(high, s[len(s)-1].along)
	}
	left := r2.Vec{X: -dir.Y, Y: dir.X}
	var off []float64
	for u := low; u <= high; u += stepM {
		var across []float64
		for _, s := range sweeps {
			if u >= s[0].along && u <= s[len(s)-1].along {
				across = append(across, acrossAt(s, u))
			}
		}
		if 2*len(across) < len(members) || len(across) < 2 {
			continue
		}
		mean := 0.0
		for _, v := range across {
			mean += v / float64(len(across))
		}
		for _, v := range across {
			off = append(off, math.Abs(v-mean))
		}
		l.Middle = append(l.Middle, r2.Add(origin, r2.Add(r2.Scale(u, dir), r2.Scale(mean, left))))
	}
	if len(l.Middle) < 2 {
		return Line{}, false
	}
	slices.Sort(off)
	l.WidthM = 2 * off[int(0.9*float64(len(off)-1))]
	l.Passes = members
	return l, true
}

// Along returns how far along a line, in metres from its start, the point nearest
// to v lies, and how far v is from there. The line must have two points.
func Along(line []r2.Vec, v r2.Vec) (alongM, offM float64) {
	offM = math.Inf(1)
	done := 0.0
	for i := 1; i < len(line); i++ {
		d := r2.Sub(line[i], line[i-1])
		n := r2.Norm(d)
		t := 0.0
		if n > 0 {
			t = math.Max(0, math.Min(1, r2.Dot(r2.Sub(v, line[i-1]), d)/(n*n)))
		}
		if off := r2.Norm(r2.Sub(v, r2.Add(line[i-1], r2.Scale(t, d)))); off < offM {
			alongM, offM = done+t*n, off
		}
		done += n
	}
	return alongM, offM
}

// lengthM returns the length of a line in metres.
func lengthM(line []r2.Vec) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += r2.Norm(r2.Sub(line[i], line[i-1]))
	}
	return sum
}

// LengthM returns the length of the line in metres.
func (l Line) LengthM() float64 { return lengthM(l.Middle) }
