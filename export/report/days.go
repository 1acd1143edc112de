package report

import (
	"fmt"
	"math"
	"strconv"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// stateBar is the length of the longest day's bar, in its units.
const stateBar = 300.0

// A daysSection is what the boat did on each day, and what was read of it.
type daysSection struct {
	Empty     string
	Trackless string      // why there are no hours; empty when there are
	States    []stateName // legend, and heads of columns
	Max       string      // hours of the longest day
	Rows      []dayRow
	Total     dayRow
	Shares    []string // of all hours, by state
	Level     bool     // some day has a level
	Crawls    string   // whether crawling counts as fishing
	Fished    string
}

// A stateName is a state in the legend, and at the head of its column.
type stateName struct{ Class, Name, Short string }

type dayRow struct {
	Date, Fishing, All, Fixes, Soundings, Events, Level, Laid string
	States                                                    []string // hours of each
	Bar                                                       []barPart
}

// A barPart is one state's part of a day's bar, in the bar's units.
type barPart struct{ Class, X, Width string }

func (p *content) days(c spatial.Chart, set *spatial.Settings, u si.System) {
	s := &p.Days
	if len(c.Days) == 0 {
		s.Empty = "No day was read."
		return
	}
	for _, h := range export.DayStates(spatial.DaySummary{}) {
		head := h.Name
		if h.State == "crawling" {
			head = h.State // the legend has it in full
		}
		s.States = append(s.States, stateName{h.State, h.Name, capital(head)})
	}
	longestH := 0.0
	for _, d := range c.Days {
		longestH = math.Max(longestH, wholeH(d))
	}
	s.Max = strconv.FormatFloat(longestH, 'f', 1, 64)
	var sum spatial.DaySummary
	for _, d := range c.Days {
		r := day(d)
		r.Bar = barParts(d, longestH)
		r.Level, r.Laid = "–", "–"
		if d.Soundings > 0 {
			r.Laid = export.ShiftWords(d.Shift, u)
		}
		if d.LevelM.OK {
			r.Level, s.Level = level(d.LevelM.V, u), true
		}
		s.Rows = append(s.Rows, r)
		sum.FishingH += d.FishingH
		sum.DriftingH += d.DriftingH
		sum.HoldingH += d.HoldingH
		sum.CrawlingH += d.CrawlingH
		sum.RunningH += d.RunningH
		sum.StoppedH += d.StoppedH
		sum.UnknownH += d.UnknownH
		sum.Fixes += d.Fixes
		sum.Soundings += d.Soundings
		sum.Events += d.Events
	}
	s.Total = day(sum)
	if all := wholeH(sum); all > 0 {
		for _, h := range export.DayStates(sum) {
			s.Shares = append(s.Shares, fmt.Sprintf("%.0f %%", 100*h.Hours/all))
		}
	} else {
		s.Trackless = "No track says what the boat did."
	}
	s.Crawls = "Fishing is drifting and holding, and being stopped away from the ramp; the remarks say whether crawling under the motor counts too."
	if set != nil {
		switch set.Crawling {
		case spatial.CrawlFished:
			s.Crawls = "Fishing is drifting and holding, being stopped away from the ramp and, as was asked, crawling under the motor."
		case spatial.CrawlMoved:
			s.Crawls = "Fishing is drifting and holding, and being stopped away from the ramp; not, as was asked, crawling under the motor."
		}
	}
	s.Fished = export.FishedWords(c.Fished, u)
}

// wholeH returns a day's hours, whatever the boat did.
func wholeH(d spatial.DaySummary) float64 {
	sum := 0.0
	for _, h := range export.DayStates(d) {
		sum += h.Hours
	}
	return sum
}

// barParts lays a day's states end to end, the longest day over the whole bar. States
// of no time have no part.
func barParts(d spatial.DaySummary, longestH float64) []barPart {
	var out []barPart
	x := 0.0
	for _, h := range export.DayStates(d) {
		if h.Hours <= 0 {
			continue
		}
		wide := h.Hours / longestH * stateBar
		out = append(out, barPart{h.State, num(x), num(wide)})
		x += wide
	}
	return out
}

func day(d spatial.DaySummary) dayRow {
	r := dayRow{
		Date: d.Date, Fishing: hours(d.FishingH), All: hours(wholeH(d)),
		Fixes: export.Count(d.Fixes), Soundings: export.Count(d.Soundings), Events: export.Count(d.Events),
	}
	for _, h := range export.DayStates(d) {
		r.States = append(r.States, hours(h.Hours))
	}
	return r
}
