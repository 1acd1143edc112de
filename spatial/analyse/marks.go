package analyse

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/motion"
)

// An occasion is an event with what the boat was doing.
type occasion struct {
	ingest.PlacedEvent
	day   int // -1 when it has none
	v     r2.Vec
	leg   int // of the day's track; -1 when not known
	tempC ingest.Maybe

	weight float64
}

// markEvents places events on the plane and adds them to the chart.
func (a *analysis) markEvents(context.Context) error {
	far := 0
	add := func(e ingest.PlacedEvent, day int) {
		v, ok := a.near(e.At)
		if !ok {
			far++
			return
		}
		o := occasion{PlacedEvent: e, day: day, v: v, leg: -1, weight: a.set.Weights.Of(e.Kind)}
		if day >= 0 {
			if leg, ok := a.outings[day].track.LegAt(a.outings[day].at(e.Time)); ok {
				o.leg = leg
			}
			o.tempC = temperature(a.season.Days[day].Soundings, e.Time)
		}
		a.events = append(a.events, o)
		a.chart.Events = append(a.chart.Events, spatial.EventMark{
			ID: fmt.Sprintf("E%d", len(a.events)), Kind: e.Kind, At: e.At, Time: e.Time,
			BottomM: a.depthAt(v), FishM: e.FishM, Species: e.Species, Count: e.Count,
		})
	}
	for i, d := range a.season.Days {
		for _, e := range d.Events {
			add(e, i)
		}
	}
	for _, e := range a.season.Undated.Events {
		add(e, -1)
	}
	if far > 0 {
		a.remark("events", "%d catches or marks lie more than %d km from the middle of the rest and are left out.", far, farM/1000)
	}
	if len(a.season.Undated.Events) > 0 {
		a.remark("events", "%d catches or marks carry a place but no time: they count for zones, not for hours, days or drift lines.", len(a.season.Undated.Events))
	}
	return nil
}

// temperature returns the water's at a time: that of the nearest reading within
// two minutes.
func temperature(s []ingest.PlacedSounding, t time.Time) ingest.Maybe {
	const within = 2 * time.Minute
	from, _ := slices.BinarySearchFunc(s, t.Add(-within), func(s ingest.PlacedSounding, t time.Time) int { return s.Time.Compare(t) })
	best, nearest := ingest.Maybe{}, within
	for ; from < len(s) && s[from].Time.Sub(t) <= within; from++ {
		if off := s[from].Time.Sub(t).Abs(); s[from].TempC.OK && off <= nearest {
			if off < nearest || !best.OK {
				best, nearest = s[from].TempC, off
			}
		}
	}
	return best
}

// passOf returns the index of the drift pass an event came on, or -1.
func (a *analysis) passOf(o occasion) int {
	if o.leg < 0 {
		return -1
	}
	return a.outings[o.day].pass[o.leg]
}

// wasHolding reports whether the boat held its place when the event came.
func (a *analysis) wasHolding(o occasion) bool {
	if o.leg < 0 {
		return false
	}
	s := a.outings[o.day].track.Legs[o.leg].State
	return s == motion.Holding || s == motion.Stopped
}
