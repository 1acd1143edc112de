package ingest

import (
	"cmp"
	"math"
	"time"

	"github.com/paulmach/orb"
)

// A Range is what lies from Low to High, both included. An unknown end is open.
type Range struct{ Low, High Maybe }

// Open reports whether the range leaves nothing out.
func (r Range) Open() bool { return !r.Low.OK && !r.High.OK }

// Holds reports whether v lies in the range.
func (r Range) Holds(v float64) bool {
	return !(r.Low.OK && v < r.Low.V) && !(r.High.OK && v > r.High.V)
}

// A Filter says which part of a season is meant. The zero Filter means all of it.
type Filter struct {
	FirstDay, LastDay     string // local days, 2006-01-02, both included; empty: open
	FirstMonth, LastMonth int    // 1 to 12, both included, over the turn of the year when First is after Last; 0: open
	LevelM                Range  // of the day's water level; a day without one is left out
	TempC                 Range  // of the median of the day's water temperatures; a day without one is left out
	HourFrom, HourTo      Maybe  // local clock hours, 0 to 24, from the first to before the second, over midnight when From is after To; both or none
	Box                   *orb.Bound
}

// Empty reports whether f means the whole season, as the zero Filter does.
func (f Filter) Empty() bool {
	return f.FirstDay == "" && f.LastDay == "" && f.FirstMonth == 0 && f.LastMonth == 0 &&
		f.LevelM.Open() && f.TempC.Open() && !f.HourFrom.OK && !f.HourTo.OK && f.Box == nil
}

// Day reports what can be told by the date alone: whether a local day, 2006-01-02,
// lies in the range of days and in that of months. Anything that is no date lies in
// no range of months.
func (f Filter) Day(date string) bool {
	if f.FirstDay != "" && date < f.FirstDay || f.LastDay != "" && date > f.LastDay {
		return false
	}
	if f.FirstMonth == 0 && f.LastMonth == 0 {
		return true
	}
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return false
	}
	month, first, last := int(day.Month()), cmp.Or(f.FirstMonth, 1), cmp.Or(f.LastMonth, 12)
	if first > last {
		return month >= first || month <= last
	}
	return month >= first && month <= last
}

// Hour reports whether the clock of t, read in t's own zone, stands within the
// hours. An hour that a clock put back shows twice is in or out both times. With one
// of HourFrom and HourTo missing the day's beginning or end takes its place; when
// they are the same no time is within.
func (f Filter) Hour(t time.Time) bool {
	if !f.HourFrom.OK && !f.HourTo.OK {
		return true
	}
	from, to := 0.0, 24.0
	if f.HourFrom.OK {
		from = f.HourFrom.V
	}
	if f.HourTo.OK {
		to = f.HourTo.V
	}
	// Whole nanoseconds: 6.1 h as a float64 is not quite the 6:06 that it stands for.
	ns := func(hours float64) int64 { return int64(math.Round(hours * float64(time.Hour))) }
	h, m, s := t.Clock()
	clock := int64((h*60+m)*60+s)*int64(time.Second) + int64(t.Nanosecond())
	if from > to {
		return clock >= ns(from) || clock < ns(to)
	}
	return clock >= ns(from) && clock < ns(to)
}

// Place reports whether a position lies in the box, its edges included.
func (f Filter) Place(p orb.Point) bool { return f.Box == nil || f.Box.Contains(p) }
