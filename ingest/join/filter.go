package join

import (
	"slices"
	"time"

	"leadline/ingest"
)

// Left counts what a filter leaves out of a season.
type Left struct {
	Days      int // left out whole
	Events    int // also those of the days left out, and those without a clock
	Fixes     int // likewise, flagged ones too
	Soundings int // likewise
}

// Pick returns what f leaves of a season, and counts what it leaves out. s is not
// changed; the two share what they have in common. An empty filter gives s back.
//
// First whole days go, by date, month, water level and water temperature; the
// temperature is the median of the day's sound soundings, wherever they lie. Then, in
// the days that stay, what lies outside the hours or the box goes:
//
//   - Tracks are cut where the boat leaves or enters: one track becomes several, of
//     the same source and name. A fix whose time or place is known to be wrong can't
//     be asked where it belongs. It goes with the last one that can, those before
//     the first with the first, and a track of nothing else goes.
//   - Events go.
//   - Soundings outside the box go. Those outside the hours stay: the bottom has none.
//   - Winds, the level, sources, problems and what is unplaced stay.
//
// The hours of a night over midnight count to the day they are of: of the last day
// that stays, the small hours after it don't. A day in which no track, sounding or event is
// left goes too, with its winds. What is undated has no day and no hour: it goes when
// f asks for any, and by the box otherwise.
//
// Cost: linear, n log n in the soundings of a day for its temperature.
func Pick(s ingest.Season, f ingest.Filter) (ingest.Season, Left) {
	if f.Empty() {
		return s, Left{}
	}
	zone := s.Zone
	if zone == nil {
		zone = time.UTC
	}
	picked := s
	picked.Days = nil
	for _, d := range s.Days {
		if !wanted(d, f) {
			continue
		}
		if f.HourFrom.OK || f.HourTo.OK || f.Box != nil {
			d = within(d, f, zone)
		}
		if len(d.Tracks)+len(d.Soundings)+len(d.Events) > 0 {
			picked.Days = append(picked.Days, d)
		}
	}
	place := f
	place.Box = nil
	if picked.Undated = (ingest.Undated{}); place.Empty() { // the box alone is asked for
		picked.Undated.Soundings = soundingsIn(s.Undated.Soundings, f)
		for _, e := range s.Undated.Events {
			if f.Place(e.At) {
				picked.Undated.Events = append(picked.Undated.Events, e)
			}
		}
	}
	all, kept := count(s), count(picked)
	return picked, Left{all.Days - kept.Days, all.Events - kept.Events, all.Fixes - kept.Fixes, all.Soundings - kept.Soundings}
}

// wanted reports whether a day as a whole is asked for.
func wanted(d ingest.Day, f ingest.Filter) bool {
	if !f.Day(d.Date) {
		return false
	}
	if !f.LevelM.Open() && !(d.LevelM.OK && f.LevelM.Holds(d.LevelM.V)) {
		return false
	}
	if f.TempC.Open() {
		return true
	}
	tempC := medianTempC(d.Soundings)
	return tempC.OK && f.TempC.Holds(tempC.V)
}

// within returns a day without what lies outside the hours and the box.
func within(d ingest.Day, f ingest.Filter, zone *time.Location) ingest.Day {
	var tracks []ingest.Track
	for _, t := range d.Tracks {
		tracks = append(tracks, cutTrack(t, func(x ingest.Fix) bool { return f.Place(x.Pos) && f.Hour(x.Time.In(zone)) })...)
	}
	// A later piece of one track may begin after another track does.
	slices.SortStableFunc(tracks, func(a, b ingest.Track) int { return firstTime(a).Compare(firstTime(b)) })
	var events []ingest.PlacedEvent
	for _, e := range d.Events {
		if f.Place(e.At) && f.Hour(e.Time.In(zone)) {
			events = append(events, e)
		}
	}
	d.Tracks, d.Events, d.Soundings = tracks, events, soundingsIn(d.Soundings, f)
	return d
}

// lost are the fixes whose time or place is wrong. The others with a flag were where
// they say when they say.
const lost = ingest.FixNoTime | ingest.FixZeroIsland | ingest.FixBackwards | ingest.FixJump

// cutTrack returns the pieces of a track that are inside, in its order.
func cutTrack(t ingest.Track, inside func(ingest.Fix) bool) []ingest.Track {
	tells := func(x ingest.Fix) bool { return !x.Time.IsZero() && x.Flags&lost == 0 }
	first := slices.IndexFunc(t.Fixes, tells)
	if first < 0 {
		return nil
	}
	var pieces []ingest.Track
	start, in := 0, inside(t.Fixes[first])
	piece := func(end int) {
		p := t
		p.Fixes = t.Fixes[start:end:end]
		pieces = append(pieces, p)
	}
	for i, x := range t.Fixes {
		if !tells(x) || inside(x) == in {
			continue
		}
		if in {
			piece(i)
		}
		start, in = i, !in
	}
	if in {
		piece(len(t.Fixes))
	}
	return pieces
}

// soundingsIn returns the soundings in the filter's box: s itself without one.
func soundingsIn(s []ingest.PlacedSounding, f ingest.Filter) []ingest.PlacedSounding {
	if f.Box == nil {
		return s
	}
	var in []ingest.PlacedSounding
	for i := range s {
		if f.Place(s[i].At) {
			in = append(in, s[i])
		}
	}
	return in
}

// medianTempC returns the median water temperature of sound soundings, in °C, the
// mean of the middle two for an even number; unknown when none has any.
func medianTempC(s []ingest.PlacedSounding) ingest.Maybe {
	var temps []float64
	for i := range s {
		if s[i].Flags == 0 && s[i].TempC.OK {
			temps = append(temps, s[i].TempC.V)
		}
	}
	n := len(temps)
	if n == 0 {
		return ingest.Maybe{}
	}
	slices.Sort(temps)
	return ingest.Known((temps[(n-1)/2] + temps[n/2]) / 2)
}

// count counts what a season holds.
func count(s ingest.Season) Left {
	n := Left{Days: len(s.Days), Events: len(s.Undated.Events), Soundings: len(s.Undated.Soundings)}
	for _, d := range s.Days {
		n.Events += len(d.Events)
		n.Soundings += len(d.Soundings)
		for _, t := range d.Tracks {
			n.Fixes += len(t.Fixes)
		}
	}
	return n
}
