package band

// Hours are of the day, 0 to 24, or after sunrise, negative before it: the caller says
// which. They are not wrapped: who fishes over midnight counts on, 25 for one o'clock, or the
// night falls in two.

import (
	"math"

	"leadline/spatial"
)

// An HourEvent is something caught or marked.
type HourEvent struct {
	H      float64 // hour of it
	Weight float64 // what it counts; above 0, 1 for one proof
}

// HourEffort is time fished around one hour: a piece short against the steps asked for, since all of it counts in
// the step that H lies in.
type HourEffort struct {
	H     float64 // its middle
	Hours float64 // how long; at least 0
}

// An Hour is one whole hour.
type Hour struct {
	From    float64
	To      float64
	Events  int
	EffortH float64      // over all days
	Rate    spatial.Rate // weight of the events per hour; not OK when it was never fished

	// Thin: less than one event to expect here by the share of time. Neither none nor one then says anything.
	Thin bool
}

// ByHour returns whole hours from the first to the last that was fished or gave an event, also those with nothing
// in between. Events in an hour never fished stay there, without a rate: moved, they would praise an hour that
// didn't give them. Neither input is changed, their order does not matter. Nothing fished and no events give nil.
//
// By hand: 2 events in 4 h at 6, none in 2 h at 8: 0.5 an hour, nothing known of 7, and 0 at 8, which is thin
// because 2 events · 2/6 are less than one to expect.
//
// It panics when a weight is not above 0, hours are negative, or anything is not finite.
func ByHour(events []HourEvent, effort []HourEffort) []Hour {
	r, ok := rowOf(events, effort, 1)
	if !ok {
		return nil
	}
	all, total := r.sum(0, len(r.hours))
	out := make([]Hour, len(r.hours))
	for i, t := range r.tally {
		out[i] = Hour{From: r.edge(i), To: r.edge(i + 1), Events: t.n, EffortH: r.hours[i], Rate: t.perHour(r.hours[i])}
		out[i].Thin = total == 0 || r.hours[i]/total*all.w*all.scale() < 1
	}
	return out
}

// rowOf returns steps from the first to the last event or effort, filled; not ok without both.
func rowOf(events []HourEvent, effort []HourEffort, stepH float64) (r row, ok bool) {
	var at, fished []mark
	for _, e := range events {
		if !(e.Weight > 0) {
			panic("band: a weight must be above 0")
		}
		at = append(at, mark{e.H, e.Weight})
	}
	for _, e := range effort {
		if e.Hours != 0 {
			fished = append(fished, mark{e.H, e.Hours})
		}
	}
	at, fished = inOrder(at), inOrder(fished)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, marks := range [][]mark{at, fished} {
		if len(marks) > 0 {
			lo, hi = min(lo, marks[0].at), max(hi, marks[len(marks)-1].at)
		}
	}
	if lo > hi {
		return row{}, false
	}
	r = newRow(lo, hi, stepH)
	r.count(at)
	for _, e := range fished {
		r.hours[r.cell(e.at)] += e.amount
	}
	return r, true
}
