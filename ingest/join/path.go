// Package join places soundings and events on the boat's track by time, and
// gathers what belongs to one local day.
package join

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A Path is where the boat was over a whole season, from its sound fixes.
type Path struct {
	ns []int64 // nanoseconds since the epoch, strictly rising
	at []orb.Point
}

// NewPath gathers the sound fixes of cleaned tracks. Cost: n log n in fixes.
func NewPath(tracks []ingest.Track) Path {
	type fix struct {
		ns int64
		at orb.Point
	}
	var all []fix
	for _, t := range tracks {
		for _, f := range t.Fixes {
			if f.Flags == 0 {
				all = append(all, fix{f.Time.UnixNano(), f.Pos})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b fix) int { return cmp.Compare(a.ns, b.ns) })
	p := Path{make([]int64, 0, len(all)), make([]orb.Point, 0, len(all))}
	for i, f := range all {
		if i > 0 && f.ns == all[i-1].ns {
			continue
		}
		p.ns, p.at = append(p.ns, f.ns), append(p.at, f.at)
	}
	return p
}

// At returns the boat's position at t by straight interpolation between the two
// fixes around it, which must be at most maxGap apart. Otherwise the position is
// zero and why says in words what is missing; why is empty on success.
//
// The error of the straight line is the boat's acceleration times an eighth of
// the gap squared: at 10 s and 0.1 m/s² 1.3 m.
func (p Path) At(t time.Time, maxGap time.Duration) (at orb.Point, why string) {
	if len(p.ns) == 0 {
		return orb.Point{}, ingest.NoTrack
	}
	ns := t.UnixNano()
	i, found := slices.BinarySearch(p.ns, ns)
	switch {
	case found:
		return p.at[i], ""
	case i == 0:
		return orb.Point{}, ingest.TooSoon
	case i == len(p.ns):
		return orb.Point{}, ingest.TooLate
	}
	gap := p.ns[i] - p.ns[i-1]
	if gap > int64(maxGap) {
		return orb.Point{}, ingest.InGap
	}
	a, b := p.at[i-1], p.at[i]
	share := float64(ns-p.ns[i-1]) / float64(gap)
	east := math.Remainder(b[0]-a[0], 360) // the short way, also across 180°
	return orb.Point{math.Remainder(a[0]+share*east, 360), a[1] + share*(b[1]-a[1])}, ""
}
