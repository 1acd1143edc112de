// Package drift gathers drift passes over the same water in the same direction
// into drift lines.
//
//	distance between two passes    frechet.go
//	which passes are one line      gather.go
//	the middle of a line           middle.go
//	places along a line            along.go
//
// # Method
//
// Two passes run together when they go the same way within turnDeg, share at least half of
// the shorter one, and over that stretch their discrete Fréchet distance is no more than the
// line width (frechet.go). Passes are gathered around the longest ones, and then given
// to the nearest middle again and again until nothing changes (gather.go). The middle is
// swept along the mean direction (middle.go).
//
// By hand: passes along y = 0 and y = 6, both from x = 0 to 100, are 6 m apart and give the
// line y = 3; one from x = 100 to 0 along y = 3 goes the other way and is alone. A
// third from (40, 30) to (90, 24) is 30 m from the first and at most 27 m from that
// middle: too far for a width of 20 m.
//
// # Cost
//
// Near linear in passes: each is held only against what runs through the same cells of
// a grid (BenchmarkLines has 4,000). Where everything runs through the same cells it is
// passes times the lines there.
//
// # What it does badly
//
// The width bounds how far a pass may be from its line's middle. Water drifted evenly all
// over in one direction, where there are no lines, is cut into some up to twice as wide. Two lines less than
// the width apart are one. A pass that bends by more than a right angle has no one direction to sweep along.
package drift

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

// A Pass is one drift: where the boat was, in order of time, in metres of a plane.
type Pass struct {
	Day     string
	Path    []r2.Vec // two points or more, or it is in no line
	Seconds float64
}

// A Line is the middle of the passes that repeat each other.
type Line struct {
	Passes    []int    // indices into the passes given, rising
	Middle    []r2.Vec // in the direction of drift, at least two points
	WidthM    float64  // nine tenths of the passes' points lie within half of this to either side
	TowardDeg float64  // main direction of the passes, clockwise from the plane's north

	// TowardU95Deg is the half-width around TowardDeg that holds the direction the passes vary about 95 times
	// in 100, as far as they are alike but for chance. Two passes may agree by luck: it is unknown with less than three.
	TowardU95Deg ingest.Maybe
}

// LengthM returns the length of the line in metres.
func (l Line) LengthM() float64 { return lengthM(l.Middle) }

// stepM is between the points at which passes are compared, and of a line. A boat is about as long; half of it makes
// the comparison four times as dear and changes distances by decimetres (TestPaces).
const stepM = 5

// Lines gathers passes into lines of at least two, most passes first, then longest. widthM is how far a pass may run
// from the middle of the others of its line; two alone may run so far apart. Passes in no line are in none of
// the results. Paths are not changed and must be finite; one without length is in no line. No passes give no lines.
//
// The order of the passes does not matter: they are put in order by length, then by their points, one after the other.
// Only passes alike in every point are told apart by their index, and change places then without changing
// any line.
//
// It panics on a width that is not above 0. In made seasons with the passes, gaps and strays of TestSeason nine tenths of the
// lines are found, and less than a tenth as many besides. Cost is above.
func Lines(passes []Pass, widthM float64) []Line {
	if !(widthM > 0) {
		panic("drift: the width must be above 0")
	}
	tracks := tracksOf(passes)
	g := gatherer{tracks, widthM}
	var lines []Line
	for _, members := range g.gather() {
		if l, ok := lay(tracks, members).line(tracks); ok {
			lines = append(lines, l)
		}
	}
	slices.SortStableFunc(lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(len(b.Passes), len(a.Passes)), cmp.Compare(b.LengthM(), a.LengthM()),
			slices.CompareFunc(a.Middle, b.Middle, inOrder))
	})
	return lines
}

// tracksOf returns the passes that have length, longest first.
func tracksOf(passes []Pass) []track {
	tracks := make([]track, 0, len(passes))
	for i, p := range passes {
		if len(p.Path) < 2 {
			continue
		}
		path := evenly(p.Path)
		if m := lengthM(path); m > 0 {
			tracks = append(tracks, track{path, m, i})
		}
	}
	slices.SortFunc(tracks, func(a, b track) int {
		return cmp.Or(
			cmp.Compare(b.lengthM, a.lengthM),
			slices.CompareFunc(passes[a.index].Path, passes[b.index].Path, inOrder),
			cmp.Compare(a.index, b.index))
	})
	return tracks
}

func inOrder(a, b r2.Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) }
