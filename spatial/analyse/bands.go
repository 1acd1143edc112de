package analyse

import (
	"context"
	"fmt"
	"math"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/band"
	"leadline/spatial/isoline"
)

// compareDepths adds the depth bands of the whole lake to the chart, and those of
// each zone.
func (a *analysis) compareDepths(context.Context) error {
	everywhere := func(int) bool { return true }
	a.chart.Bands = a.bandsByBottom(everywhere, a.effort)
	for i := range a.chart.Bands {
		b := &a.chart.Bands[i]
		b.ID = fmt.Sprintf("B%d", i+1)
		b.Shape = a.polygons(isoline.Areas(a.ground.Depth, []float64{b.TopM, b.BottomM})[0])
	}
	a.chart.Fish = a.bandsByFish()
	a.chart.Stand = a.stand(everywhere)
	unknownH, totalH := 0.0, 0.0
	for _, m := range a.effort {
		totalH += m.hours
		if !m.bottomM.OK {
			unknownH += m.hours
		}
	}
	unplaced, unnoted := 0, 0
	for i, e := range a.events {
		if !a.chart.Events[i].BottomM.OK {
			unplaced++
		}
		if !e.FishM.OK {
			unnoted++
		}
	}
	if len(a.chart.Bands) > 0 && unknownH > 0.05*totalH {
		a.remark("depth bands", "For %.0f %% of the fishing the bottom was not sounded: bands leave it out.", 100*unknownH/totalH)
	}
	if unplaced > 0 && unplaced < len(a.events) {
		a.remark("depth bands", "%d catches or marks lie where the bottom was not sounded: bands leave them out.", unplaced)
	}
	if unnoted > 0 && unnoted < len(a.events) {
		a.remark("fish depths", "%d of %d catches or marks note no depth of the fish: bands of fish depth leave them out.", unnoted, len(a.events))
	}
	return nil
}

// bandsByBottom compares bottom depths over the events that are in and some fishing.
func (a *analysis) bandsByBottom(event func(int) bool, fished []moment) []spatial.Band {
	var events []band.Event
	for i, e := range a.events {
		if b := a.chart.Events[i].BottomM; b.OK && e.weight > 0 && event(i) {
			events = append(events, band.Event{M: b.V, Weight: e.weight})
		}
	}
	var effort []band.Effort
	for _, m := range fished {
		if m.bottomM.OK {
			effort = append(effort, band.Effort{BottomM: m.bottomM.V, Hours: m.hours})
		}
	}
	return bandsOf(band.ByBottom(events, effort, a.set.BandM))
}

// bandsByFish compares the depths of fish, all below the surface of their day.
func (a *analysis) bandsByFish() []spatial.Band {
	var events []band.Event
	for _, e := range a.events {
		if e.FishM.OK && e.weight > 0 {
			events = append(events, band.Event{M: e.FishM.V, Weight: e.weight})
		}
	}
	if len(events) == 0 {
		return nil
	}
	var effort []band.Effort
	for _, m := range a.effort {
		if m.bottomM.OK {
			effort = append(effort, band.Effort{BottomM: a.onDay(m.bottomM, m.day).V, Hours: m.hours})
		}
	}
	return bandsOf(band.ByFish(events, effort, a.set.BandM))
}

func bandsOf(bands []band.Band) []spatial.Band {
	var out []spatial.Band
	for _, b := range bands {
		out = append(out, spatial.Band{
			TopM: b.TopM, BottomM: b.BottomM, Events: b.Events, EffortH: b.EffortH, Rate: b.Rate,
			Selection: b.Selection, SelectionLow: b.SelectionLow, SelectionHigh: b.SelectionHigh, Thin: b.Thin,
		})
	}
	return out
}

// stand tells how the fish of the events that are in stood above the bottom.
func (a *analysis) stand(in func(int) bool) spatial.Stand {
	var fish, bottoms []ingest.Maybe
	for i, e := range a.events {
		if in(i) {
			fish = append(fish, e.FishM)
			bottoms = append(bottoms, a.onDay(a.chart.Events[i].BottomM, e.day))
		}
	}
	s := band.Above(fish, bottoms)
	return spatial.Stand{Suspended: s.Suspended, OnBottom: s.OnBottom, Unknown: s.Unknown, MedianM: s.MedianM}
}

// fishIn gives a zone the band that its fish keep to. Where the bottom under one is not
// known it is taken as that of the zone.
func (a *analysis) fishIn(z *spatial.Zone, g ground) {
	var fish, water []float64
	for _, i := range g.events {
		e := a.events[i]
		if !e.FishM.OK {
			continue
		}
		bottom := a.chart.Events[i].BottomM
		if !bottom.OK {
			bottom = z.BottomM
		}
		fish = append(fish, e.FishM.V)
		water = append(water, math.Max(0, a.onDay(bottom, e.day).V))
	}
	z.FishNoted = len(fish)
	if len(fish) > 0 {
		h := band.HeldBand(fish, water)
		z.FishTopM, z.FishBottomM, z.FishU95M = ingest.Known(h.TopM), ingest.Known(h.BottomM), h.U95M
	}
}

// onDay returns a depth of the chart as it was on a day; that of the chart where the day
// isn't known.
func (a *analysis) onDay(bottomM ingest.Maybe, day int) ingest.Maybe {
	if bottomM.OK && day >= 0 {
		bottomM.V -= a.chart.Days[day].Shift.M
	}
	return bottomM
}
