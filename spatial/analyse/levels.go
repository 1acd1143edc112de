package analyse

import (
	"math"
	"strings"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/bottom"
)

// One level for all depths. In this order:
//
//  1. A day with a water level is shifted by the difference between the chart's
//     level and its own. The chart's is the one asked for, else the latest day's.
//  2. A day without one is laid on the others by the cells they share (package
//     bottom, align.go), when that is sure to mostShiftErrorM.
//  3. Else its depths stand as sounded, and that is said.
//
// Days with levels are laid on each other as a check only: where one stands off
// the rest by more than the check's own error, its level or its sounder is in doubt.

// mostShiftErrorM is the standard error up to which a shift is used: beyond it a
// day is as well off unmoved, since a pool seldom moves more than a foot in a few days.
const mostShiftErrorM = 0.1

// oddShiftM is how far a day with a level may stand off the others: half of the
// interval between contours, below which a map doesn't show it.
const oddShiftM = 0.25

// level settles the level that depths are shown at, and the shift of each day
// whose own is known.
func (a *analysis) level() {
	a.chart.Days = make([]spatial.DaySummary, len(a.season.Days))
	a.chart.LevelM = a.set.PoolM
	sounded, known := 0, 0
	for i, d := range a.season.Days {
		day := &a.chart.Days[i]
		day.Date, day.LevelM, day.Shift.From = d.Date, d.LevelM, spatial.AsSounded
		if len(d.Soundings) > 0 {
			sounded++
		}
		if d.LevelM.OK {
			known++
			if !a.set.PoolM.OK {
				a.chart.LevelM = d.LevelM // days come by date, so the latest stays
			}
		}
	}
	if known == 0 && a.set.PoolM.OK && len(a.season.Days) == 1 {
		// Of a single day the level that is said can only be its own.
		a.chart.Days[0].LevelM = a.set.PoolM
		known = 1
	}
	if known == 0 && a.set.PoolM.OK {
		a.chart.LevelM = ingest.Maybe{}
		a.remark("level", "A level was asked for, but no day's own level is known, so nothing can be brought to it.")
	}
	for i := range a.chart.Days {
		if day := &a.chart.Days[i]; day.LevelM.OK {
			day.Shift = spatial.DayShift{From: spatial.ByLevel, M: ingest.AtLevel(0, day.LevelM.V, a.chart.LevelM.V)}
		}
	}
}

// alignDays lays days without a level on those with one, or on the latest, and
// checks the levels that are known.
func (a *analysis) alignDays(thin *bottom.Thinned) {
	n := len(a.chart.Days)
	if n < 2 {
		return
	}
	fixed := make([]bool, n)
	levels, latest := 0, -1
	for i, d := range a.chart.Days {
		if fixed[i] = d.LevelM.OK; fixed[i] {
			levels++
		}
		if len(a.season.Days[i].Soundings) > 0 {
			latest = i
		}
	}
	if levels == 0 && latest >= 0 {
		fixed[latest] = true // depths are then as on the latest day
	}
	for i, o := range thin.Align(fixed) {
		s := &a.chart.Days[i].Shift
		s.Cells = o.Cells
		if o.Cells > 0 {
			s.SpreadM = ingest.Known(o.SpreadM)
		}
		if fixed[i] || !o.OK || !fixed[o.Onto] || o.ErrorM > mostShiftErrorM {
			continue
		}
		s.From, s.M, s.ErrorM = spatial.ByOverlap, o.M, ingest.Known(o.ErrorM)
		thin.Shift(i, o.M)
	}
	if levels > 1 {
		a.checkLevels(thin)
	}
}

// checkLevels says which days with a level stand off the other ones.
func (a *analysis) checkLevels(thin *bottom.Thinned) {
	var off []float64
	var days []int
	offsets := thin.Align(make([]bool, len(a.chart.Days)))
	for i, o := range offsets {
		if a.chart.Days[i].LevelM.OK && o.OK {
			off, days = append(off, o.M), append(days, i)
		}
	}
	if len(off) < 3 {
		return // of two that disagree nobody can say which is wrong
	}
	middle := quantile(0.5, append([]float64(nil), off...))
	for k, i := range days {
		if m := off[k] - middle; math.Abs(m) > math.Max(oddShiftM, 3*offsets[i].ErrorM) {
			word := "deeper"
			if m > 0 {
				word = "shallower"
			}
			a.remark("level", "%s sounded %.2f m %s than the other days in the same water, at the levels given: its level, its sounder or its transducer depth may be wrong.",
				a.chart.Days[i].Date, math.Abs(m), word)
		}
	}
}

// sayShifts says how days came to one level.
func (a *analysis) sayShifts() {
	var loose, laid []string
	levels, sounded := 0, 0
	for i, d := range a.chart.Days {
		if len(a.season.Days[i].Soundings) == 0 {
			continue
		}
		sounded++
		switch d.Shift.From {
		case spatial.ByLevel:
			levels++
		case spatial.ByOverlap:
			laid = append(laid, d.Date)
		default:
			loose = append(loose, d.Date)
		}
	}
	if len(laid) > 0 {
		onto := "those with one"
		if levels == 0 {
			onto = "the latest day"
			loose = loose[:len(loose)-1] // the one they are laid on
		}
		a.remark("level", "No water level is known of %s: depths were laid on %s by the bottom they share.", dates(laid), onto)
	}
	if len(loose) > 0 && sounded > 1 {
		a.remark("level", "No water level is known of %s, and too little water was sounded again on other days to lay them on each other: depths are as sounded.", dates(loose))
	}
}

// dates names up to three days and counts the rest.
func dates(d []string) string {
	const most = 3
	if len(d) <= most {
		return strings.Join(d, ", ")
	}
	rest := len(d) - most
	return strings.Join(d[:most], ", ") + ", and " + plural(rest, "other")
}
