package clean

import (
	"math"
	"slices"
	"time"

	"leadline/ingest"
)

// One outing is often exported more than once, in different formats and precision.
// Its track is told by its times (see Tracks); its depths by the rules below.
const (
	sameS      = 2    // readings of one ping bear the same second, or the next
	sameM      = 0.15 // and the same depth, to rounding in feet and decimetres,
	sameShare  = 0.03 // or to this share of it
	sampleSize = 200
)

// Repeats flags, in place, readings of a log that another log of the same outing
// already has: logs of which nine in ten readings, of a sample, have one within
// sameS seconds in the other with a median difference in depth of no more than
// rounding makes. The log with more readings is kept whole. Each log must be in
// time order. Two sonars on one boat that disagree are two logs and both count.
// Cost: a few hundred searches for each pair of logs.
func Repeats(logs [][]ingest.Sounding) {
	order := make([]int, len(logs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return len(logs[b]) - len(logs[a]) })
	for k, i := range order {
		for _, j := range order[:k] {
			if sameOuting(logs[i], logs[j]) {
				for n := range logs[i] {
					if s := &logs[i][n]; s.Flags == 0 && nearest(logs[j], s.Time) >= 0 {
						s.Flags |= ingest.SoundingCovered
					}
				}
				break
			}
		}
	}
}

// sameOuting reports whether log has the readings of other.
func sameOuting(log, other []ingest.Sounding) bool {
	var off []float64
	asked := 0
	step := max(1, len(log)/sampleSize)
	for n := 0; n < len(log); n += step {
		s := log[n]
		if s.Time.IsZero() || s.Flags != 0 {
			continue
		}
		asked++
		if i := nearest(other, s.Time); i >= 0 && other[i].Flags == 0 {
			off = append(off, math.Abs(s.DepthM-other[i].DepthM)/math.Max(sameM, sameShare*s.DepthM))
		}
	}
	return asked >= 10 && 10*len(off) >= 9*asked && median(off) <= 1
}

// nearest returns the reading nearest in time, or -1 when none is within sameS.
func nearest(log []ingest.Sounding, t time.Time) int {
	if t.IsZero() {
		return -1
	}
	i, _ := slices.BinarySearchFunc(log, t, func(s ingest.Sounding, t time.Time) int { return s.Time.Compare(t) })
	best, off := -1, time.Duration(sameS*float64(time.Second))
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(log) {
			if d := log[k].Time.Sub(t).Abs(); d <= off {
				best, off = k, d
			}
		}
	}
	return best
}
