package isoline

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Label is where a line's value may be written along it.
type Label struct {
	At       r2.Vec  // on the line, metres
	AngleDeg float64 // of the line there, counter-clockwise from east, above -90 up to 90: upright
}

// Places tried within each part of a line.
const labelTrials = 33

// Labels returns places for labels along the lines of one level, at least two
// points each, as from Lines: on each line at least leastM long one for about
// every everyM of it, at least one. Each line is cut into equal parts, and within
// the middle half of each the label lies where the line is straightest, nearest
// the middle of the part among equals: where a stretch half as long as leastM, or
// a quarter as long as everyM if that is less, has the longest chord. The stretch
// gives the angle too. Labels of one line are at least half a part apart along it.
// It panics if everyM or leastM isn't positive.
//
// By hand: a line of 12 m, from (0, 0) 8 m east and then 4 m north, with everyM 20
// and leastM 4, has one label. Places from 3 m to 9 m are tried; all stretches of
// 2 m up to the place 7 m are straight; so it lies in the middle, at (6, 0), angle 0.
func Labels(lines [][]r2.Vec, everyM, leastM float64) []Label {
	if !(everyM > 0 && leastM > 0) {
		panic("isoline: the lengths for labels must be positive")
	}
	// Parts are at least 3/4 of everyM long, or the whole line: no stretch from the
	// middle half of one reaches beyond the line.
	half := math.Min(leastM/4, everyM/8)
	var labels []Label
	for _, line := range lines {
		s := measure(line)
		total := s.along[len(line)-1]
		if total < leastM || total == 0 {
			continue
		}
		parts := math.Max(1, math.Round(total/everyM))
		part := total / parts
		for k := range int(parts) {
			middle := (float64(k) + 0.5) * part
			best, bestChord := Label{}, -1.0
			for i := range labelTrials {
				// 0, 1, -1, 2, -2, … steps from the middle.
				step := float64((i + 1) / 2)
				if i%2 == 0 {
					step = -step
				}
				at := middle + step*part/2/(labelTrials-1)
				from, to := s.at(at-half), s.at(at+half)
				chord := r2.Sub(to, from)
				if c := r2.Norm(chord); c > bestChord*(1+1e-9) {
					best, bestChord = Label{s.at(at), upright(chord)}, c
				}
			}
			labels = append(labels, best)
		}
	}
	return labels
}

// upright returns the angle of v in degrees, turned by half a circle where text
// along it would stand on its head.
func upright(v r2.Vec) float64 {
	switch deg := math.Atan2(v.Y, v.X) * 180 / math.Pi; {
	case deg > 90:
		return deg - 180
	case deg <= -90:
		return deg + 180
	default:
		return deg
	}
}

// A scale is a line and how far along it each point is.
type scale struct {
	line  []r2.Vec
	along []float64
}

func measure(line []r2.Vec) scale {
	along := make([]float64, len(line))
	for i := 1; i < len(line); i++ {
		along[i] = along[i-1] + r2.Norm(r2.Sub(line[i], line[i-1]))
	}
	return scale{line, along}
}

// at returns the point so far along the line, at most its end.
func (s scale) at(m float64) r2.Vec {
	n := len(s.line)
	i := sort.SearchFloat64s(s.along, m)
	if i == 0 {
		return s.line[0]
	}
	if i == n {
		return s.line[n-1]
	}
	t := (m - s.along[i-1]) / (s.along[i] - s.along[i-1])
	return r2.Add(s.line[i-1], r2.Scale(t, r2.Sub(s.line[i], s.line[i-1])))
}
