// Package band compares what each depth gave with how long it was fished.
//
// # Method
//
// Bottom depths are cut into steps of equal height. For each: events, hours, the
// rate with its credible interval, and the selection ratio of Manly et al.
// (Resource Selection by Animals, 2nd ed. 2002): the share of events
// over the share of hours. By hand: 6 of 10 events in 2 of 8 hours: 0.6/0.25 = 2.4.
//
// # What it does badly
//
// The steps are where they are: a school's own depth may be cut in two.
package band

import (
	"math"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/rate"
)

// Effort is hours fished over bottom of one depth.
type Effort struct {
	BottomM float64
	Hours   float64
}

// Bands returns the bands from the shallowest to the deepest that was fished or
// gave an event, all of them, also those with nothing in between. eventsM is the
// bottom depth at each event. ID, Name and Shape are left empty. stepM must be
// positive. Nothing fished and no events give no bands.
func Bands(eventsM []float64, effort []Effort, stepM float64) []spatial.Band {
	first, last := math.MaxInt, math.MinInt
	of := func(m float64) int {
		k := int(math.Floor(m / stepM))
		first, last = min(first, k), max(last, k)
		return k
	}
	events, hours := map[int]int{}, map[int]float64{}
	total := 0.0
	for _, m := range eventsM {
		events[of(m)]++
	}
	for _, e := range effort {
		hours[of(e.BottomM)] += e.Hours
		total += e.Hours
	}
	var bands []spatial.Band
	for k := first; k <= last; k++ {
		b := spatial.Band{
			TopM: float64(k) * stepM, BottomM: float64(k+1) * stepM,
			Events: events[k], EffortH: hours[k], Rate: rate.PerHour(events[k], hours[k]),
		}
		if hours[k] > 0 && len(eventsM) > 0 {
			b.Selection = ingest.Known(float64(events[k]) / float64(len(eventsM)) * total / hours[k])
		}
		// With less than one event to expect, neither none nor one says anything.
		b.Thin = total == 0 || hours[k]/total*float64(len(eventsM)) < 1
		bands = append(bands, b)
	}
	return bands
}
