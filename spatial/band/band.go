// Package band compares what each depth, and each hour, gave with how long it was fished.
//
//	by depth of bottom or fish    band.go
//	band that a school keeps to   held.go
//	height above the bottom       stand.go
//	along a line                  along.go
//	by the hour, and windows      hour.go, window.go
//	steps of one steady rate      steps.go
//
// # Method
//
// Depths are cut into steps of equal height, and neighbours of one steady rate are joined into bands
// (steps.go). For each band: events, hours, the rate with its credible
// interval, and the selection ratio of Manly et al. (Resource Selection by Animals, 2nd ed. 2002):
// the share of events over the share of hours, with an interval that holds for all bands at once.
//
// By hand: 2 h over each metre to 15 m; six events in each of 6 to 7 and 7 to 8 m, and three elsewhere, one of them
// above. Cut at 6 and 8 the fitness is ln(1/12) + 12 ln(12/4) + 2 ln(2/14) = 6.81, the prior 3 · 3.99; not cut
// 15 ln(15/30) = -10.40 and 3.99. Three bands, and the middle one has 0.8/0.133 = 6 times its share.
//
// By the depth of the fish the hours of a depth are those over bottom at least that deep: a lure could have
// been there. Nobody knows how long one was at each depth, so a depth is held against the time it could be
// tried, as if every cast tried all depths alike.
//
// If nothing changes with depth there is one band from the shallowest to the deepest. That is the answer then.
//
// # Cost
//
// That of steps.go: half the square of the number of steps, a few dozen in most lakes.
//
// # What it does badly
//
// A school's edges are found to a step, and not at all with few events. The bands are chosen by the same
// events they are then measured with, so the best looks a little better, and intervals are a little narrower,
// than they should be. By the depth of the fish a lure kept near the bottom makes mid-water look shunned: it could
// have been there, but was not. Events off all that was fished are counted in the nearest step that was, and if
// many, make that look rich: better to leave them out, and say so.
package band

import (
	"math"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/rate"
)

// An Event is something caught or marked. Depths are below the surface, at one level of the lake.
type Event struct {
	M      float64 // depth of the bottom, or of the fish
	Weight float64 // what it counts; above 0, 1 for one proof
}

// Effort is hours fished over bottom of one depth.
type Effort struct {
	BottomM float64
	Hours   float64 // at least 0
}

// A Band is a range of depth of one steady rate.
type Band struct {
	TopM    float64 // edges are whole steps from the surface
	BottomM float64
	Events  int     // records
	Weight  float64 // of them
	EffortH float64 // hours fished; by the depth of the fish those that could have been, on average over the band
	Rate    spatial.Rate

	// Selection is the share of weight over the share of hours; 1 is no preference. Unknown without hours in
	// the band or any events. Low and High hold it, with those of all other bands, in 95 % of cases; they are unknown
	// as well when none or all of the events are here, for then the normal interval would have no width.
	// With less than five events to expect here (by the share of hours) they are rough: see rate.Selection.
	Selection     ingest.Maybe
	SelectionLow  ingest.Maybe
	SelectionHigh ingest.Maybe

	// Thin: less than one event to expect here by the share of hours. Neither none nor one then says anything.
	// It is not rate.Selection's Thin, with less than five: a school in a tenth of the hours would need fifty
	// events not to be thin, while ten in it are proof enough.
	Thin bool
}

// ByBottom returns the bands of bottom depth, shallow to deep without gaps, from the
// shallowest to the deepest that was fished or gave an event. Neither input is changed, their order does
// not matter. stepM is the height of a step in metres. Nothing fished and no events give nil, events
// without any hours one band without a rate.
//
// It panics when stepM or a weight is not above 0, hours are negative, or anything is not finite.
func ByBottom(events []Event, effort []Effort, stepM float64) []Band {
	at, fished, lo, hi, ok := marks(events, effort)
	if !ok {
		return nil
	}
	r := newRow(lo, hi, stepM)
	r.count(at)
	for _, e := range fished {
		r.hours[r.cell(e.at)] += e.amount
	}
	return bands(r, false)
}

// ByFish returns the bands of fish depth, from the surface to the deepest bottom or fish; the rest as in ByBottom.
//
// The hours of a step are those over bottom at least that deep, on average over its depths: 2 h over 5 m are 2 h for
// 2 to 4 m and 1 h for 4 to 6 m. EffortH is the same average over a band and Rate is by it. A high band has a
// higher rate by its height alone; Selection takes the height into account, so compare bands by that.
func ByFish(events []Event, effort []Effort, stepM float64) []Band {
	at, fished, lo, hi, ok := marks(events, effort)
	if !ok {
		return nil
	}
	r := newRow(min(0, lo), max(0, hi), stepM)
	r.count(at)
	whole := make([]float64, len(r.hours)) // hours over bottom in this step, which leave all steps above whole
	for _, e := range fished {
		if e.at > 0 {
			i := r.cell(e.at)
			whole[i] += e.amount
			r.hours[i] += e.amount * min(1, (e.at-r.edge(i))/stepM)
		}
	}
	deeper := 0.0
	for i := len(whole) - 1; i >= r.cell(0); i-- {
		r.hours[i] += deeper
		deeper += whole[i]
	}
	return bands(r, true)
}

// marks returns copies in order without effort of no hours, and the range of both; not ok when both are empty.
func marks(events []Event, effort []Effort) (at, fished []mark, lo, hi float64, ok bool) {
	for _, e := range events {
		if !(e.Weight > 0) {
			panic("band: a weight must be above 0")
		}
		at = append(at, mark{e.M, e.Weight})
	}
	for _, e := range effort {
		if e.Hours != 0 {
			fished = append(fished, mark{e.BottomM, e.Hours})
		}
	}
	at, fished = inOrder(at), inOrder(fished)
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, marks := range [][]mark{at, fished} {
		if len(marks) > 0 {
			lo, hi = min(lo, marks[0].at), max(hi, marks[len(marks)-1].at)
		}
	}
	return at, fished, lo, hi, lo <= hi
}

// bands cuts a row. Where the same hours stand in many steps (shared), those of a band are their average.
func bands(r row, shared bool) []Band {
	all, total := r.sum(0, len(r.hours))
	if total > 0 {
		r.fold(len(r.hours))
	}
	starts := r.steady()
	out := make([]Band, len(starts))
	used, hours := make([]float64, len(starts)), make([]float64, len(starts))
	for k, from := range starts {
		to := len(r.hours)
		if k+1 < len(starts) {
			to = starts[k+1]
		}
		t, h := r.sum(from, to)
		used[k], hours[k] = t.w*all.scale(), h
		if shared {
			h /= float64(to - from)
		}
		out[k] = Band{TopM: r.edge(from), BottomM: r.edge(to), Events: t.n, Weight: t.w, EffortH: h, Rate: t.perHour(h)}
		out[k].Thin = total == 0 || hours[k]/total*all.w*all.scale() < 1
	}
	for k, s := range rate.Select(used, hours) {
		if !s.OK {
			continue
		}
		out[k].Selection = ingest.Known(s.Ratio)
		if out[k].Events > 0 && out[k].Events < all.n {
			out[k].SelectionLow, out[k].SelectionHigh = ingest.Known(s.Low), ingest.Known(s.High)
		}
	}
	return out
}
