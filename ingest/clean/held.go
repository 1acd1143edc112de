package clean

import (
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// A sounder that has lost the bottom may go on showing the last depth it had, or a
// constant far one. A flat bottom does the same while the boat stands still, and
// for a while when it moves: a tenth of a foot is coarse. These limits are
// reasoned: no bottom is flat to a tenth of a foot over a hundred metres for half
// a minute on end.
const (
	heldReadings = 20
	heldS        = 30
	heldM        = 100
)

// Held flags runs of one and the same value while the boat moved, in place. The log
// must be in time order; at tells where the boat was at a time, ok false when that
// isn't known. Cost: linear in readings.
//
// What it does badly: a value held while the boat lies still is not seen, and is
// no harm there.
func Held(s []ingest.Sounding, at func(time.Time) (p orb.Point, ok bool)) {
	for from := 0; from < len(s); {
		to := from + 1
		for to < len(s) && s[to].DepthM == s[from].DepthM {
			to++
		}
		if s[from].Flags == 0 && to-from >= heldReadings && movedM(s[from], s[to-1], at) >= heldM {
			for i := from; i < to; i++ {
				s[i].Flags |= ingest.SoundingHeld
			}
		}
		from = to
	}
}

// movedM returns how far apart two readings were taken, 0 when that isn't known or
// they are too close in time.
func movedM(a, b ingest.Sounding, at func(time.Time) (orb.Point, bool)) float64 {
	if a.Time.IsZero() || b.Time.Sub(a.Time).Seconds() < heldS {
		return 0
	}
	place := func(s ingest.Sounding) (orb.Point, bool) {
		if s.HasPos {
			return s.Pos, true
		}
		return at(s.Time)
	}
	p, okP := place(a)
	q, okQ := place(b)
	if !okP || !okQ {
		return 0
	}
	return plane.New(p).DistanceM(p, q)
}
