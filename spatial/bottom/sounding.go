package bottom

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Sounding is one depth at one place of the plane.
type Sounding struct {
	At     r2.Vec
	DepthM float64 // below the surface, at the chart's level where the day's is known
	S      float64 // seconds since any instant, rising within a day; 0 throughout when not known
	Day    int32   // which day's water it was taken on, from 0; -1: not known
}

// A pass is an unbroken stretch of soundings, short enough to be a stroke over a
// spot rather than a morning: it ends where the log breaks off, the boat jumps or
// turns back, or after passM of way. Passes are what errors come by: within one, the receiver, the sounder
// and the water level err the same way, so it is passes that are left out when a
// method is tried, and passes that are averaged where several cross a cell.
type pass struct {
	lengthM  float64
	from, to int32 // indices of soundings, to exclusive
	joined   bool  // goes on from the pass before without a break
}

const (
	passM     = 300.0 // two drifts long: enough of them for the trial, few enough to be strokes
	passGapS  = 60.0  // a log that was silent this long may begin another stroke
	passJumpM = 60.0  // farther apart than this the bottom between two soundings is not followed

	// A pass has turned back when its way is this many times as long as the straight
	// line from its start, and this much longer: some 30 m after a turn about, never
	// on a bend of a right angle.
	passTurn  = 1.5
	passTurnM = 30.0
)

// cut divides soundings, by day and time, into passes.
func cut(s []Sounding) []pass {
	// Passes are kept in blocks, since one slice that grows is copied over and over.
	const block = 4096
	var blocks [][]pass
	var last pass
	var out []pass
	for i := range s {
		v, joined := s[i].At, false
		if i > 0 {
			before := &s[i-1]
			stepM := r2.Norm(r2.Sub(v, before.At))
			joined = before.Day == s[i].Day && math.Abs(s[i].S-before.S) <= passGapS && stepM <= passJumpM
			if wayM := last.lengthM + stepM; joined && wayM <= passM &&
				wayM <= passTurn*r2.Norm(r2.Sub(v, s[last.from].At))+passTurnM {
				last.lengthM = wayM
				continue
			}
			last.to = int32(i)
			if len(out) == cap(out) {
				blocks, out = append(blocks, out), make([]pass, 0, block)
			}
			out = append(out, last)
		}
		last = pass{from: int32(i), joined: joined}
	}
	if len(s) == 0 {
		return nil
	}
	last.to = int32(len(s))
	return slices.Concat(append(blocks, out, []pass{last})...)
}

// Cells that a grid is made of unless a person says otherwise. Below 5 m a cell
// would be finer than a receiver's error; a log with a reading every 8 m leaves
// every other cell of 5 m empty along its own track, and wants wider ones.
var cellLadder = []float64{5, 10, 20}

// CellM chooses a cell for soundings, by day and time: the first of 5, 10 and 20 m
// that is no smaller than the median distance between neighbouring soundings of
// one pass. No soundings give 5 m. Cost: linear.
func CellM(s []Sounding) float64 {
	stepsM := make([]float64, 0, len(s))
	for i := 1; i < len(s); i++ {
		if s[i].Day != s[i-1].Day || math.Abs(s[i].S-s[i-1].S) > passGapS {
			continue
		}
		if m := r2.Norm(r2.Sub(s[i].At, s[i-1].At)); m <= passJumpM {
			stepsM = append(stepsM, m)
		}
	}
	if len(stepsM) == 0 {
		return cellLadder[0]
	}
	spacingM := median(stepsM)
	for _, c := range cellLadder {
		if spacingM <= c {
			return c
		}
	}
	return cellLadder[len(cellLadder)-1]
}
