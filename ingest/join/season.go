package join

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// Options is what the joining needs to be told.
type Options struct {
	Zone   *time.Location // clock of the local day; nil: UTC, and Season.ZoneSaid is false
	MaxGap time.Duration  // positions are interpolated across gaps of at most this
	Depth  ingest.Corrections
	Levels []ingest.Level // water levels that stand in no file; one of a file wins
	Path   *Path          // of the records' tracks, where the caller has it already
}

// Season joins cleaned records into local days, and uses them up. The sources keep the order of
// records; every Source field is set to that order's index. Nothing is dropped: what can't be
// placed is listed in Unplaced, and what has a place but no time in Undated.
// Cost: n log n in records.
func Season(records []ingest.Records, opt Options) ingest.Season {
	s := ingest.Season{Zone: opt.Zone, ZoneSaid: opt.Zone != nil}
	if s.Zone == nil {
		s.Zone = time.UTC
	}
	j := joiner{opt: opt, season: &s, days: map[string]*ingest.Day{}}
	var tracks []ingest.Track
	for i := range records {
		r := &records[i]
		s.Sources = append(s.Sources, r.Source)
		s.Problems = append(s.Problems, r.Problems...)
		for k := range r.Tracks {
			r.Tracks[k].Source = i
		}
		tracks = append(tracks, r.Tracks...)
	}
	if opt.Path == nil {
		path := NewPath(tracks)
		opt.Path = &path
	}
	j.path = opt.Path.Walk()
	for _, t := range tracks {
		j.track(t)
	}
	for i, r := range records {
		room := false
		for k := range r.Soundings {
			x := &r.Soundings[k]
			if !x.Time.IsZero() && (!room || !j.last.contains(x.Time)) {
				j.makeRoom(r.Soundings[k:])
				room = true
			}
			x.Source = i
			j.sounding(x)
		}
		ingest.GiveBackSoundings(r.Soundings) // copied: a season of them needn't be held twice
		records[i].Soundings = nil
		for _, e := range r.Events {
			e.Source = i
			j.event(e)
		}
	}
	for _, l := range opt.Levels {
		j.level(l)
	}
	for i, r := range records {
		for _, l := range r.Levels {
			l.Source = i
			j.level(l)
		}
		for _, w := range r.Winds {
			w.Source = i
			j.wind(w)
		}
	}
	for _, date := range slices.Sorted(maps.Keys(j.days)) {
		d := j.days[date]
		if len(d.Tracks)+len(d.Soundings)+len(d.Events) == 0 {
			continue // its soundings turned out to have no place
		}
		slices.SortStableFunc(d.Tracks, func(a, b ingest.Track) int { return firstTime(a).Compare(firstTime(b)) })
		if byTime := func(a, b ingest.PlacedSounding) int { return a.Time.Compare(b.Time) }; !slices.IsSortedFunc(d.Soundings, byTime) {
			slices.SortStableFunc(d.Soundings, byTime)
		}
		slices.SortStableFunc(d.Events, func(a, b ingest.PlacedEvent) int { return a.Time.Compare(b.Time) })
		slices.SortStableFunc(d.Winds, func(a, b ingest.Wind) int { return a.Time.Compare(b.Time) })
		j.once(d)
		s.Days = append(s.Days, *d)
	}
	return s
}

type joiner struct {
	opt    Options
	season *ingest.Season
	path   *Walk
	days   map[string]*ingest.Day
	last   span // the day asked for last: the next record is mostly of it
}

// A span is a local day with its first moment and that of the next.
type span struct {
	from, to time.Time
	day      *ingest.Day
}

func (s span) contains(t time.Time) bool { return s.day != nil && !t.Before(s.from) && t.Before(s.to) }

func (j *joiner) day(t time.Time) *ingest.Day {
	if j.last.contains(t) {
		return j.last.day
	}
	y, m, n := t.In(j.season.Zone).Date()
	from := ingest.DayStart(y, m, n, j.season.Zone)
	date := t.In(j.season.Zone).Format(time.DateOnly)
	d := j.days[date]
	if d == nil {
		d = &ingest.Day{Date: date}
		j.days[date] = d
	}
	j.last = span{from, ingest.DayStart(y, m, n+1, j.season.Zone), d}
	return d
}

// track cuts a track at local midnight. A fix without a time goes with the one
// before it, so that it is still listed with its reason.
func (j *joiner) track(t ingest.Track) {
	start, date := 0, ""
	cut := func(end int) {
		if end == start || date == "" {
			return
		}
		piece := t
		piece.Fixes = t.Fixes[start:end]
		d := j.days[date]
		d.Tracks = append(d.Tracks, piece)
		start = end
	}
	for i := range t.Fixes {
		at := t.Fixes[i].Time
		if at.IsZero() {
			continue
		}
		if d := j.day(at).Date; d != date {
			cut(i)
			date = d
		}
	}
	cut(len(t.Fixes))
}

// makeRoom readies the day of the first sounding for all that follow of it, so
// that a million of them are not copied again and again.
func (j *joiner) makeRoom(s []ingest.Sounding) {
	d := j.day(s[0].Time)
	n := 0
	for n < len(s) && j.last.contains(s[n].Time) {
		n++
	}
	if d.Soundings == nil {
		d.Soundings = ingest.NewPlaced(n)
	}
	d.Soundings = slices.Grow(d.Soundings, n)
}

func (j *joiner) sounding(x *ingest.Sounding) {
	at := x.Pos
	if !x.HasPos {
		var why string
		if at, why = j.place(x.Time); why != "" {
			j.unplaced("sounding", x.Source, x.Line, x.Time, why)
			return
		}
	}
	list := &j.season.Undated.Soundings
	if !x.Time.IsZero() {
		list = &j.day(x.Time).Soundings
	}
	*list = append(*list, ingest.PlacedSounding{})
	p := &(*list)[len(*list)-1]
	p.Sounding, p.At, p.SurfaceM = *x, at, j.opt.Depth.SurfaceM(*x)
}

func (j *joiner) event(e ingest.Event) {
	p := ingest.PlacedEvent{Event: e, At: e.Pos, By: ingest.ByNote}
	if e.HasPos && e.Time.IsZero() {
		j.season.Undated.Events = append(j.season.Undated.Events, p)
		return
	}
	if !e.HasPos {
		at, why := j.place(e.Time)
		if why != "" {
			j.unplaced(e.Kind.String(), e.Source, e.Line, e.Time, why)
			return
		}
		p.At, p.By = at, ingest.ByTrack
	}
	d := j.day(e.Time)
	d.Events = append(d.Events, p)
}

func (j *joiner) place(t time.Time) (at orb.Point, why string) {
	if t.IsZero() {
		return orb.Point{}, ingest.NoTimeNorPlace
	}
	return j.path.At(t, j.opt.MaxGap)
}

// level gives a day its water level; of several for one day the last read holds.
// A level of a day without any other record makes no day.
func (j *joiner) level(l ingest.Level) {
	date := l.Date
	if !l.Time.IsZero() {
		date = l.Time.In(j.season.Zone).Format(time.DateOnly)
	}
	d := j.days[date]
	if d == nil {
		return
	}
	d.LevelM = ingest.Known(l.LevelM)
}

// wind gives a day a reading of the wind. One of a day without any other record
// makes no day.
func (j *joiner) wind(w ingest.Wind) {
	if d := j.days[w.Time.In(j.season.Zone).Format(time.DateOnly)]; d != nil {
		d.Winds = append(d.Winds, w)
	}
}

// An event of one file is that of another when it is of the same kind, at the same
// time but for rounding, and about the same place: one catch exported twice.
const (
	sameEventS = 2
	sameEventM = 40 // a cast and the receiver's error
)

// once takes events that two files have out of a day but for the one of the first
// file, which learns from the others what it doesn't say itself.
func (j *joiner) once(d *ingest.Day) {
	var kept []ingest.PlacedEvent
	for _, e := range d.Events {
		i := slices.IndexFunc(kept, func(k ingest.PlacedEvent) bool {
			return k.Source != e.Source && k.Kind == e.Kind && e.Time.Sub(k.Time).Abs().Seconds() <= sameEventS &&
				plane.New(k.At).DistanceM(k.At, e.At) <= sameEventM
		})
		if i < 0 {
			kept = append(kept, e)
			continue
		}
		j.unplaced(e.Kind.String(), e.Source, e.Line, e.Time, ingest.InTwoFiles)
		k := &kept[i]
		for _, f := range []struct{ mine, theirs *ingest.Maybe }{
			{&k.LengthM, &e.LengthM}, {&k.WeightKg, &e.WeightKg}, {&k.FishM, &e.FishM}, {&k.HeadKg, &e.HeadKg}, {&k.TrailerM, &e.TrailerM},
		} {
			if !f.mine.OK {
				*f.mine = *f.theirs
			}
		}
		k.Species, k.Note = cmp.Or(k.Species, e.Species), cmp.Or(k.Note, e.Note)
		k.Count = max(k.Count, e.Count)
		if k.By == ingest.ByTrack && e.By == ingest.ByNote {
			k.At, k.Pos, k.HasPos, k.By = e.At, e.Pos, true, ingest.ByNote
		}
	}
	d.Events = kept
}

// unplaced lists a record, together with its neighbours of the same fate.
func (j *joiner) unplaced(what string, source, line int, t time.Time, why string) {
	list := j.season.Unplaced
	if n := len(list); n > 0 {
		if u := &list[n-1]; u.What == what && u.Source == source && u.Reason == why {
			u.Count++
			u.LastLine = line
			return
		}
	}
	j.season.Unplaced = append(list, ingest.Unplaced{What: what, Source: source, Line: line, LastLine: line, Count: 1, Time: t, Reason: why})
}

func firstTime(t ingest.Track) time.Time {
	for _, f := range t.Fixes {
		if !f.Time.IsZero() {
			return f.Time
		}
	}
	return time.Time{}
}
