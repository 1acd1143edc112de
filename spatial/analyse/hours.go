package analyse

import (
	"context"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/band"
	"leadline/spatial/sun"
)

// windowStepH is how finely hours are cut to look for a window: half an hour, about a
// stop.
const windowStepH = 0.5

// A clock tells the hour of a moment of a day: of the day, or after sunrise.
type clock func(day int, s float64) ingest.Maybe

// byClock is the hour of the day where the chart is.
func (a *analysis) byClock(day int, s float64) ingest.Maybe {
	return ingest.Known(a.clockHour(a.outings[day].time(s)))
}

// clockHour returns the hour of the day of a time, 0 to 24, where the chart is.
func (a *analysis) clockHour(t time.Time) float64 {
	t = t.In(a.chart.Zone)
	return float64(t.Hour()) + float64(t.Minute())/60 + float64(t.Second())/3600
}

// bySun returns the clock that counts from each day's sunrise at the middle of the plane.
func (a *analysis) bySun() clock {
	rise := make([]ingest.Maybe, len(a.season.Days)) // second of the day's track
	for i, d := range a.season.Days {
		if t, ok := sun.Rise(d.Date, a.frame.Degrees(r2.Vec{})); ok {
			rise[i] = ingest.Known(a.outings[i].at(t))
		}
	}
	return func(day int, s float64) ingest.Maybe {
		if !rise[day].OK {
			return ingest.Maybe{}
		}
		return ingest.Known((s - rise[day].V) / 3600)
	}
}

// compareHours adds rates by the hour to the chart, and each zone's window.
func (a *analysis) compareHours(context.Context) error {
	everywhere := func(int) bool { return true }
	events, effort := a.hours(a.byClock, everywhere, a.effort)
	a.chart.Hours, a.chart.Window = hoursOf(band.ByHour(events, effort)), windowOf(band.BestWindow(events, effort, windowStepH))
	events, effort = a.hours(a.bySun(), everywhere, a.effort)
	a.chart.SunHours, a.chart.SunWindow = hoursOf(band.ByHour(events, effort)), windowOf(band.BestWindow(events, effort, windowStepH))
	return nil
}

// hours returns the events that are in and some fishing, by a clock. An event without a
// day, or of a day without a track, has no band.
func (a *analysis) hours(c clock, event func(int) bool, fished []moment) (events []band.HourEvent, effort []band.HourEffort) {
	for i, e := range a.events {
		if e.day < 0 || e.weight == 0 || len(a.outings[e.day].track.Nodes) == 0 || !event(i) {
			continue
		}
		if h := c(e.day, a.outings[e.day].at(e.Time)); h.OK {
			events = append(events, band.HourEvent{H: h.V, Weight: e.weight})
		}
	}
	for _, m := range fished {
		if h := c(m.day, m.s); h.OK {
			effort = append(effort, band.HourEffort{H: h.V, Hours: m.hours})
		}
	}
	return events, effort
}

func hoursOf(hours []band.Hour) []spatial.Hour {
	var out []spatial.Hour
	for _, h := range hours {
		out = append(out, spatial.Hour(h))
	}
	return out
}

func windowOf(w band.Window, ok bool) *spatial.Window {
	if !ok {
		return nil
	}
	out := spatial.Window(w)
	return &out
}
