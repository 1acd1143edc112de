package join

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

func zoneOf(t *testing.T, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// hourly makes the track of a boat that goes 0.01° east an hour, a fix on each full
// hour of 2031-10-04, from 40° west.
func hourly(zone *time.Location, from, to int) ingest.Track {
	t := ingest.Track{Source: 1, Name: "morning", FromLog: true}
	for h := from; h <= to; h++ {
		t.Fixes = append(t.Fixes, ingest.Fix{Time: time.Date(2031, 10, 4, h, 0, 0, 0, zone).UTC(), Pos: orb.Point{-40 + float64(h)/100, 36.5}, Line: h})
	}
	return t
}

// lines lists the fixes of tracks by their lines, a space between tracks.
func lines(tracks []ingest.Track) string {
	var pieces []string
	for _, t := range tracks {
		var piece []string
		for _, f := range t.Fixes {
			piece = append(piece, fmt.Sprint(f.Line))
		}
		pieces = append(pieces, strings.Join(piece, ","))
	}
	return strings.Join(pieces, " ")
}

func hours(from, to float64) ingest.Filter {
	return ingest.Filter{HourFrom: ingest.Known(from), HourTo: ingest.Known(to)}
}

// box is a filter for longitudes, in hundredths of a degree east of 40° west.
func box(from, to float64) ingest.Filter {
	return ingest.Filter{Box: &orb.Bound{Min: orb.Point{-40 + from/100, 36}, Max: orb.Point{-40 + to/100, 37}}}
}

func TestPickCutsTracks(t *testing.T) {
	flagged := func(flag ingest.FixFlag, at ...int) []ingest.Track {
		x := hourly(time.UTC, 1, 8)
		for _, i := range at {
			f := &x.Fixes[i-1]
			f.Flags = flag
			switch flag {
			case ingest.FixNoTime:
				f.Time = time.Time{}
			case ingest.FixZeroIsland, ingest.FixJump:
				f.Pos = orb.Point{}
			case ingest.FixBackwards:
				f.Time = f.Time.Add(-12 * time.Hour)
			}
		}
		return []ingest.Track{x}
	}
	whole := []ingest.Track{hourly(time.UTC, 1, 8)}
	both := box(2.5, 6.5)
	both.HourFrom, both.HourTo = ingest.Known(4), ingest.Known(12)
	for _, c := range []struct {
		name   string
		tracks []ingest.Track
		f      ingest.Filter
		want   string
	}{
		{"all inside", whole, hours(1, 9), "1,2,3,4,5,6,7,8"},
		{"from is in, to is out", whole, hours(3, 5), "3,4"},
		{"over midnight: two pieces", whole, hours(6, 3), "1,2 6,7,8"},
		{"none", whole, hours(12, 18), ""},
		{"box", whole, box(2.5, 4.5), "3,4"},
		{"in and out of a box again", []ingest.Track{{Fixes: append(slices.Clone(whole[0].Fixes), ingest.Fix{Time: whole[0].Fixes[7].Time.Add(time.Hour), Pos: orb.Point{-39.97, 36.5}, Line: 9})}}, box(2.5, 4.5), "3,4 9"},
		{"hours and box", whole, both, "4,5,6"},
		{"two tracks", []ingest.Track{hourly(time.UTC, 1, 4), hourly(time.UTC, 5, 8)}, hours(3, 7), "3,4 5,6"},
		{"pieces by their first time", []ingest.Track{hourly(time.UTC, 1, 8), hourly(time.UTC, 2, 3)}, hours(6, 3), "1,2 2 6,7,8"},
		{"no time, after one inside", flagged(ingest.FixNoTime, 4), hours(3, 4), "3,4"},
		{"no time, after one outside", flagged(ingest.FixNoTime, 3), hours(3, 6), "4,5"},
		{"no time, at the beginning", flagged(ingest.FixNoTime, 1, 2), hours(3, 5), "1,2,3,4"},
		{"no time, at the beginning of what is out", flagged(ingest.FixNoTime, 1, 2), hours(5, 7), "5,6"},
		{"no time at all", flagged(ingest.FixNoTime, 1, 2, 3, 4, 5, 6, 7, 8), hours(0, 24), ""},
		{"no time, in a box", flagged(ingest.FixNoTime, 4), box(2.5, 3.5), "3,4"},
		{"a position of 0, 0 cuts no track", flagged(ingest.FixZeroIsland, 4), box(2.5, 6.5), "3,4,5,6"},
		{"nor does a jump", flagged(ingest.FixJump, 4, 5), box(2.5, 6.5), "3,4,5,6"},
		{"nor a time that runs backwards", flagged(ingest.FixBackwards, 4), hours(3, 6), "3,4,5"},
		{"a covered fix is where it says", flagged(ingest.FixCovered, 4), hours(3, 4), "3"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := ingest.Season{Zone: time.UTC, Days: []ingest.Day{{Date: "2031-10-04", Tracks: c.tracks}}}
			got, left := Pick(s, c.f)
			var tracks []ingest.Track
			for _, d := range got.Days {
				tracks = append(tracks, d.Tracks...)
			}
			if lines(tracks) != c.want {
				t.Errorf("%q, want %q", lines(tracks), c.want)
			}
			fixes := 0
			for _, x := range c.tracks {
				fixes += len(x.Fixes)
			}
			for _, x := range tracks {
				fixes -= len(x.Fixes)
				if x.Name != c.tracks[0].Name || x.Source != c.tracks[0].Source || x.FromLog != c.tracks[0].FromLog {
					t.Errorf("a piece is of %q of %d, from a log: %v", x.Name, x.Source, x.FromLog)
				}
			}
			if left.Fixes != fixes {
				t.Errorf("%d fixes are said to be left out, %d are", left.Fixes, fixes)
			}
			if len(tracks) == 0 && (len(got.Days) != 0 || left.Days != 1) {
				t.Errorf("%d days, %d left out; want the day left out", len(got.Days), left.Days)
			}
		})
	}
}

// sounding makes one of the given temperature.
func sounding(h int, tempC float64) ingest.PlacedSounding {
	return ingest.PlacedSounding{
		Sounding: ingest.Sounding{Time: time.Date(2031, 10, 4, h, 0, 0, 0, time.UTC), DepthM: 3, TempC: ingest.Known(tempC), Line: h},
		At:       orb.Point{-40 + float64(h)/100, 36.5},
	}
}

func event(h int) ingest.PlacedEvent {
	return ingest.PlacedEvent{Event: ingest.Event{Time: time.Date(2031, 10, 4, h, 0, 0, 0, time.UTC), Count: 1, Line: h}, At: orb.Point{-40 + float64(h)/100, 36.5}}
}

func TestPickDays(t *testing.T) {
	spike := sounding(3, 30)
	spike.Flags = ingest.SoundingSpike
	untold := sounding(3, 0)
	untold.TempC = ingest.Maybe{}
	day := func(date string, levelM ingest.Maybe, soundings ...ingest.PlacedSounding) ingest.Day {
		return ingest.Day{Date: date, LevelM: levelM, Soundings: soundings, Events: []ingest.PlacedEvent{event(6)}}
	}
	s := ingest.Season{Days: []ingest.Day{
		day("2030-12-31", ingest.Known(100), sounding(1, 8)),
		day("2031-01-01", ingest.Known(101), sounding(1, 4), sounding(2, 9), sounding(3, 6)),                   // 6 °C
		day("2031-02-28", ingest.Maybe{}, sounding(1, 10), sounding(2, 40), sounding(3, 12), spike),            // 12 °C
		day("2031-03-01", ingest.Known(-1), sounding(1, 10), sounding(2, 13), sounding(4, 1), sounding(5, 30)), // 11.5 °C
		day("2031-10-04", ingest.Known(0), untold, spike),                                                      // unknown
	}}
	level := func(low, high ingest.Maybe) ingest.Filter {
		return ingest.Filter{LevelM: ingest.Range{Low: low, High: high}}
	}
	temp := func(low, high ingest.Maybe) ingest.Filter {
		return ingest.Filter{TempC: ingest.Range{Low: low, High: high}}
	}
	both := level(ingest.Known(100), ingest.Maybe{})
	both.FirstMonth, both.LastMonth = 12, 12
	nearby := box(0, 1.5) // the first sounding of a day only
	nearby.TempC = ingest.Range{Low: ingest.Known(6), High: ingest.Known(6)}
	for _, c := range []struct {
		name string
		f    ingest.Filter
		want []int
	}{
		{"range of days", ingest.Filter{FirstDay: "2031-01-01", LastDay: "2031-02-28"}, []int{1, 2}},
		{"winter", ingest.Filter{FirstMonth: 12, LastMonth: 2}, []int{0, 1, 2}},
		{"levels", level(ingest.Known(0), ingest.Known(100)), []int{0, 4}},
		{"level below zero", level(ingest.Maybe{}, ingest.Known(-0.5)), []int{3}},
		{"any level that is known", level(ingest.Known(-1e9), ingest.Maybe{}), []int{0, 1, 3, 4}},
		{"median of three", temp(ingest.Known(6), ingest.Known(6)), []int{1}},
		{"median of sound ones", temp(ingest.Known(12), ingest.Known(12)), []int{2}},
		{"median of four", temp(ingest.Known(11.5), ingest.Known(11.5)), []int{3}},
		{"any temperature that is known", temp(ingest.Known(-1e9), ingest.Maybe{}), []int{0, 1, 2, 3}},
		{"level and month", both, []int{0}},
		{"none", ingest.Filter{FirstDay: "2031-10-05"}, nil},
		{"temperature of the day, not of the box", nearby, []int{1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, left := Pick(s, c.f)
			var dates, want []string
			for _, d := range got.Days {
				dates = append(dates, d.Date)
			}
			for _, i := range c.want {
				want = append(want, s.Days[i].Date)
			}
			if !slices.Equal(dates, want) {
				t.Errorf("%v, want %v", dates, want)
			}
			if left.Days != len(s.Days)-len(want) {
				t.Errorf("%d days are said to be left out", left.Days)
			}
		})
	}
}

// What is in a day that the hours or the box cut, and what is undated.
func TestPickInsideADay(t *testing.T) {
	undated := ingest.Undated{Soundings: []ingest.PlacedSounding{sounding(2, 9), sounding(7, 9)}, Events: []ingest.PlacedEvent{event(2), event(7), event(8)}}
	for i := range undated.Soundings {
		undated.Soundings[i].Time = time.Time{}
	}
	for i := range undated.Events {
		undated.Events[i].Time = time.Time{}
	}
	s := ingest.Season{
		Zone: time.UTC,
		Days: []ingest.Day{{
			Date: "2031-10-04", LevelM: ingest.Known(100),
			Tracks:    []ingest.Track{hourly(time.UTC, 1, 8)},
			Soundings: []ingest.PlacedSounding{sounding(1, 9), sounding(2, 9), sounding(3, 9), sounding(7, 9)},
			Events:    []ingest.PlacedEvent{event(2), event(3), event(7)},
			Winds:     []ingest.Wind{{Time: time.Date(2031, 10, 4, 20, 0, 0, 0, time.UTC), SpeedMPS: 3}},
		}},
		Undated:  undated,
		Sources:  []ingest.Source{{Name: "creek.csv"}, {Name: "morning.gpx"}},
		Problems: []ingest.Problem{{File: "creek.csv", Line: 4}},
		Unplaced: []ingest.Unplaced{{What: "catch", Count: 1}},
	}
	allDays := ingest.Filter{FirstDay: "2031-01-01"}
	for _, c := range []struct {
		name                            string
		f                               ingest.Filter
		fixes, soundings, events        int
		undatedSoundings, undatedEvents int
		left                            Left
	}{
		{"empty", ingest.Filter{}, 8, 4, 3, 2, 3, Left{}},
		{"hours: the bottom has none", hours(2, 4), 2, 4, 2, 0, 0, Left{Fixes: 6, Events: 1 + 3, Soundings: 2}},
		{"soundings alone are a day", hours(12, 13), 0, 4, 0, 0, 0, Left{Fixes: 8, Events: 3 + 3, Soundings: 2}},
		{"box", box(1.5, 3.5), 2, 2, 2, 1, 1, Left{Fixes: 6, Events: 1 + 2, Soundings: 2 + 1}},
		{"nothing in the box", box(50, 60), 0, 0, 0, 0, 0, Left{Days: 1, Fixes: 8, Events: 3 + 3, Soundings: 4 + 2}},
		{"a day is asked for: undated goes", allDays, 8, 4, 3, 0, 0, Left{Events: 3, Soundings: 2}},
		{"no such day", ingest.Filter{LastDay: "2031-01-01"}, 0, 0, 0, 0, 0, Left{Days: 1, Fixes: 8, Events: 3 + 3, Soundings: 4 + 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, left := Pick(s, c.f)
			if left != c.left {
				t.Errorf("left out %+v, want %+v", left, c.left)
			}
			if len(got.Undated.Soundings) != c.undatedSoundings || len(got.Undated.Events) != c.undatedEvents {
				t.Errorf("undated %+v", got.Undated)
			}
			if len(got.Sources) != 2 || len(got.Problems) != 1 || len(got.Unplaced) != 1 || got.Zone != s.Zone {
				t.Errorf("sources, problems, unplaced or zone changed: %+v", got)
			}
			if c.fixes+c.soundings+c.events == 0 {
				if len(got.Days) != 0 {
					t.Errorf("%d days", len(got.Days))
				}
				return
			}
			if len(got.Days) != 1 {
				t.Fatalf("%d days", len(got.Days))
			}
			d := got.Days[0]
			fixes := 0
			for _, x := range d.Tracks {
				fixes += len(x.Fixes)
			}
			if fixes != c.fixes || len(d.Soundings) != c.soundings || len(d.Events) != c.events {
				t.Errorf("%d fixes, %d soundings, %d events", fixes, len(d.Soundings), len(d.Events))
			}
			if len(d.Winds) != 1 || d.LevelM != ingest.Known(100) {
				t.Errorf("winds %+v, level %+v", d.Winds, d.LevelM)
			}
		})
	}
}

// The hours are those of the season's clock. The offsets are those of the IANA time
// zone database: India 5:30 all year; Lord Howe Island 10:30, and 11:00 in summer,
// which is half an hour of daylight saving, from 02:00 on the first Sunday of October;
// Berlin 1 h and 2 h, put back at 01:00 UTC on the last Sunday of October.
func TestPickByTheSeasonsClock(t *testing.T) {
	for _, c := range []struct {
		name, zone  string
		from        time.Time // of a fix every ten minutes, for 26 hours
		date        string
		f           ingest.Filter
		first, last string // UTC
		fixes       int
	}{
		{"half an hour off", "Asia/Kolkata", time.Date(2031, 10, 3, 18, 30, 0, 0, time.UTC), "2031-10-04", hours(6, 10), "2031-10-04T00:30:00Z", "2031-10-04T04:20:00Z", 24},
		{"half an hour off, half hours", "Asia/Kolkata", time.Date(2031, 10, 3, 18, 30, 0, 0, time.UTC), "2031-10-04", hours(6.5, 9.75), "2031-10-04T01:00:00Z", "2031-10-04T04:10:00Z", 20},
		{"the hour that comes twice", "Europe/Berlin", time.Date(2031, 10, 25, 22, 0, 0, 0, time.UTC), "2031-10-26", hours(2, 3), "2031-10-26T00:00:00Z", "2031-10-26T01:50:00Z", 12},
		{"after it", "Europe/Berlin", time.Date(2031, 10, 25, 22, 0, 0, 0, time.UTC), "2031-10-26", hours(6, 10), "2031-10-26T05:00:00Z", "2031-10-26T08:50:00Z", 24},
		{"the hour that never comes", "Europe/Berlin", time.Date(2031, 3, 29, 23, 0, 0, 0, time.UTC), "2031-03-30", hours(2, 3), "", "", 0},
		{"half an hour is missing", "Australia/Lord_Howe", time.Date(2031, 10, 4, 13, 30, 0, 0, time.UTC), "2031-10-05", hours(1, 4), "2031-10-04T14:30:00Z", "2031-10-04T16:50:00Z", 15},
		{"a day behind UTC", "Etc/GMT+11", time.Date(2031, 10, 4, 11, 0, 0, 0, time.UTC), "2031-10-04", hours(20, 24), "2031-10-05T07:00:00Z", "2031-10-05T10:50:00Z", 24},
	} {
		t.Run(c.name, func(t *testing.T) {
			var fixes []ingest.Fix
			for i := range 26 * 6 {
				fixes = append(fixes, ingest.Fix{Time: c.from.Add(time.Duration(i) * 10 * time.Minute), Pos: orb.Point{-40, 36.5}})
			}
			c.f.FirstDay, c.f.LastDay = c.date, c.date
			s := Season([]ingest.Records{{Tracks: []ingest.Track{{Fixes: fixes}}}}, Options{Zone: zoneOf(t, c.zone)})
			got, left := Pick(s, c.f)
			if left.Fixes != len(fixes)-c.fixes {
				t.Errorf("%d of %d fixes left out, want %d kept", left.Fixes, len(fixes), c.fixes)
			}
			if c.fixes == 0 || len(got.Days) == 0 {
				if len(got.Days) > 0 || c.fixes > 0 {
					t.Errorf("%d days", len(got.Days))
				}
				return
			}
			if n := len(got.Days[0].Tracks); n != 1 {
				t.Fatalf("%d pieces", n)
			}
			kept := got.Days[0].Tracks[0].Fixes
			first, last := kept[0].Time.Format(time.RFC3339), kept[len(kept)-1].Time.Format(time.RFC3339)
			if len(kept) != c.fixes || first != c.first || last != c.last {
				t.Errorf("%d fixes from %s to %s, want %d from %s to %s", len(kept), first, last, c.fixes, c.first, c.last)
			}
		})
	}
}

// A night's hours on both sides of midnight, of two days.
func TestPickOverMidnight(t *testing.T) {
	s := Season([]ingest.Records{{Tracks: []ingest.Track{hourly(time.UTC, 0, 47)}}}, Options{Zone: time.UTC})
	got, _ := Pick(s, hours(20, 4))
	if len(got.Days) != 2 || lines(got.Days[0].Tracks) != "0,1,2,3 20,21,22,23" || lines(got.Days[1].Tracks) != "24,25,26,27 44,45,46,47" {
		t.Errorf("%+v", got.Days)
	}
}

// random makes a season of a boat that wanders about, with some of everything.
func random(r *rand.Rand, zone *time.Location) ingest.Season {
	var records ingest.Records
	at := func() orb.Point { return orb.Point{-40 + r.Float64()/10, 36.5 + r.Float64()/10} }
	when := time.Date(2031, 10, 3, 0, 0, 0, r.IntN(1e9), time.UTC)
	for range 6 {
		when = when.Add(time.Duration(r.IntN(10)) * time.Hour)
		x := ingest.Track{Name: fmt.Sprint(r.IntN(100))}
		for range r.IntN(60) {
			when = when.Add(time.Duration(1+r.IntN(1200)) * time.Second)
			f := ingest.Fix{Time: when, Pos: at(), Line: len(x.Fixes)}
			switch r.IntN(12) {
			case 0:
				f.Time, f.Flags = time.Time{}, ingest.FixNoTime
			case 1:
				f.Flags = ingest.FixJump
			case 2:
				f.Flags = ingest.FixCovered
			}
			x.Fixes = append(x.Fixes, f)
			records.Soundings = append(records.Soundings, ingest.Sounding{Time: f.Time, Pos: f.Pos, HasPos: true, DepthM: 3, TempC: ingest.Maybe{V: 8 + 8*r.Float64(), OK: r.IntN(3) > 0}})
			if r.IntN(5) == 0 {
				records.Events = append(records.Events, ingest.Event{Time: f.Time, Pos: at(), HasPos: true, Count: 1})
			}
		}
		records.Tracks = append(records.Tracks, x)
	}
	records.Levels = []ingest.Level{{Date: "2031-10-04", LevelM: 100}}
	return Season([]ingest.Records{records}, Options{Zone: zone})
}

// copied copies all that Pick might change.
func copied(s ingest.Season) ingest.Season {
	s.Days = slices.Clone(s.Days)
	for i := range s.Days {
		d := &s.Days[i]
		d.Tracks, d.Soundings, d.Events = slices.Clone(d.Tracks), slices.Clone(d.Soundings), slices.Clone(d.Events)
		for k := range d.Tracks {
			d.Tracks[k].Fixes = slices.Clone(d.Tracks[k].Fixes)
		}
	}
	s.Undated.Soundings, s.Undated.Events = slices.Clone(s.Undated.Soundings), slices.Clone(s.Undated.Events)
	return s
}

// Laws that hold for any season.
func TestPickLaws(t *testing.T) {
	zones := []*time.Location{time.UTC, zoneOf(t, "Asia/Kolkata"), zoneOf(t, "Australia/Lord_Howe"), zoneOf(t, "Etc/GMT+11")}
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 1))
		s := random(r, zones[seed%4])
		before := copied(s)
		pick := func(f ingest.Filter) (ingest.Season, Left) {
			got, left := Pick(s, f)
			if !reflect.DeepEqual(s, before) {
				t.Fatalf("seed %d: the season was changed", seed)
			}
			if again, none := Pick(got, f); none != (Left{}) || !reflect.DeepEqual(again, got) {
				t.Fatalf("seed %d: %+v leaves out %+v the second time", seed, f, none)
			}
			for _, d := range got.Days {
				for _, x := range d.Tracks {
					for _, fix := range x.Fixes {
						if fix.Flags&lost == 0 && !(f.Place(fix.Pos) && f.Hour(fix.Time.In(s.Zone))) {
							t.Fatalf("seed %d: a fix outside %+v", seed, f)
						}
					}
				}
				for _, e := range d.Events {
					if !f.Place(e.At) || !f.Hour(e.Time.In(s.Zone)) {
						t.Fatalf("seed %d: an event outside %+v", seed, f)
					}
				}
			}
			return got, left
		}
		all := count(s)
		if got, left := pick(ingest.Filter{}); left != (Left{}) || !reflect.DeepEqual(got, s) {
			t.Errorf("seed %d: the empty filter leaves out %+v", seed, left)
		}

		// What is in the hours and what is in the others is all there is, once; but for
		// tracks that never tell where or when they are, which are in neither.
		neither := 0
		for _, d := range s.Days {
			for _, x := range d.Tracks {
				if !slices.ContainsFunc(x.Fixes, func(f ingest.Fix) bool { return f.Flags&lost == 0 }) {
					neither += len(x.Fixes)
				}
			}
		}
		from := r.Float64() * 24
		to := r.Float64() * 24
		_, left := pick(hours(from, to))
		_, other := pick(hours(to, from))
		dated := all.Events - len(s.Undated.Events)
		if left.Fixes+other.Fixes != all.Fixes+neither || left.Events+other.Events != dated+2*len(s.Undated.Events) {
			t.Errorf("seed %d: %+v and %+v are left out of %+v", seed, left, other, all)
		}

		// One filter after the other is both at once; but for the temperature, which is
		// that of what the first left, and for what is undated.
		b := box(r.Float64()*5, 5+r.Float64()*5)
		both := hours(from, to)
		both.Box = b.Box
		got, _ := pick(both)
		step, _ := Pick(s, hours(from, to))
		if step, _ = Pick(step, b); !reflect.DeepEqual(step, got) {
			t.Errorf("seed %d: hours and then box are not both", seed)
		}
		step, _ = Pick(s, b)
		if step, _ = Pick(step, hours(from, to)); !reflect.DeepEqual(step, got) {
			t.Errorf("seed %d: box and then hours are not both", seed)
		}

		pick(ingest.Filter{FirstDay: "2031-10-04"})
		pick(ingest.Filter{TempC: ingest.Range{Low: ingest.Known(12)}})
		pick(ingest.Filter{LevelM: ingest.Range{Low: ingest.Known(100)}})
		pick(b)
	}
}
