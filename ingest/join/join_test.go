package join

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

var noon = time.Date(2031, 10, 4, 15, 0, 0, 0, time.UTC) // in Etc/GMT+3

func fixesAt(seconds ...float64) []ingest.Fix {
	var f []ingest.Fix
	for _, s := range seconds {
		f = append(f, ingest.Fix{Time: after(s), Pos: orb.Point{-40 + s*1e-5, 36.5}})
	}
	return f
}

func after(s float64) time.Time { return noon.Add(time.Duration(s * 1e9)) }

func TestPathAt(t *testing.T) {
	path := NewPath([]ingest.Track{{Fixes: fixesAt(0, 5, 10, 60, 65)}})
	for _, c := range []struct {
		name string
		s    float64
		want float64 // longitude offset in 1e-5 degrees
		why  string
	}{
		{"on a fix", 5, 5, ""},
		{"between two", 7.5, 7.5, ""},
		{"before", -0.1, 0, ingest.TooSoon},
		{"after", 65.1, 0, ingest.TooLate},
		{"in a gap of 50 s", 30, 0, ingest.InGap},
		{"on the gap's edge", 10, 10, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			at, why := path.At(after(c.s), 10*time.Second)
			if why != c.why {
				t.Fatalf("why %q, want %q", why, c.why)
			}
			if why == "" && math.Abs(at.Lon()-(-40+c.want*1e-5)) > 1e-12 {
				t.Errorf("longitude %.7f, want %.7f", at.Lon(), -40+c.want*1e-5)
			}
		})
	}
}

func TestPathLimitIsInclusive(t *testing.T) {
	path := NewPath([]ingest.Track{{Fixes: fixesAt(0, 10)}, {Fixes: fixesAt(20.001)}})
	if _, why := path.At(after(5), 10*time.Second); why != "" {
		t.Errorf("a gap of exactly 10 s: %s", why)
	}
	if _, why := path.At(after(15), 10*time.Second); why != ingest.InGap {
		t.Errorf("a gap of 10.001 s: %q, want %q", why, ingest.InGap)
	}
}

func TestPathAcrossTheDateLine(t *testing.T) {
	path := NewPath([]ingest.Track{{Fixes: []ingest.Fix{
		{Time: after(0), Pos: orb.Point{179.9999, 0}}, {Time: after(2), Pos: orb.Point{-179.9999, 0}},
	}}})
	if at, _ := path.At(after(1.5), time.Minute); math.Abs(at.Lon()+179.99995) > 1e-9 {
		t.Errorf("longitude %v, want -179.99995", at.Lon())
	}
}

func TestSeason(t *testing.T) {
	zone := time.FixedZone("", -3*3600)
	flagged := fixesAt(0, 5, 10, 15)
	flagged[2].Flags = ingest.FixJump
	records := []ingest.Records{
		{
			Source: ingest.Source{Name: "track"},
			Tracks: []ingest.Track{{Fixes: flagged}},
		},
		{
			Source: ingest.Source{Name: "log"},
			Soundings: []ingest.Sounding{
				{Time: after(7.5), DepthM: 6, Line: 2},
				{Time: after(700), DepthM: 6, Line: 3},
				{Time: after(701), DepthM: 6, Line: 4},
				{Pos: orb.Point{-40, 36.5}, HasPos: true, DepthM: 3, Line: 5},
				{DepthM: 3, Line: 6},
			},
			Events: []ingest.Event{
				{Time: after(2.5), Line: 2},
				{Time: after(-3600 * 12), Line: 3},
				{Time: after(-3600 * 13), Pos: orb.Point{-40.01, 36.5}, HasPos: true, Line: 4}, // the local day before
				{Pos: orb.Point{-40.02, 36.5}, HasPos: true, Line: 5},
			},
			Levels: []ingest.Level{{Date: "2031-10-04", LevelM: 100}, {Date: "2031-12-24", LevelM: 90}},
		},
	}
	s := Season(records, Options{Zone: zone, MaxGap: 10 * time.Second, Depth: ingest.Corrections{TransducerM: 0.5}})
	if len(s.Days) != 2 || s.Days[0].Date != "2031-10-03" || s.Days[1].Date != "2031-10-04" {
		t.Fatalf("days %+v", s.Days)
	}
	d := s.Days[1]
	if len(d.Tracks) != 1 || len(d.Tracks[0].Fixes) != 4 || len(d.Soundings) != 1 || len(d.Events) != 1 {
		t.Fatalf("day %+v", d)
	}
	if x := d.Soundings[0]; x.SurfaceM != 6.5 || math.Abs(x.At.Lon()-(-40+7.5e-5)) > 1e-12 || x.Source != 1 {
		t.Errorf("sounding %+v, want 6.5 m at 7.5 s of source 1", x)
	}
	if e := d.Events[0]; e.By != ingest.ByTrack || math.Abs(e.At.Lon()-(-40+2.5e-5)) > 1e-12 {
		t.Errorf("event %+v", e)
	}
	if e := s.Days[0].Events[0]; e.By != ingest.ByNote || e.At != (orb.Point{-40.01, 36.5}) {
		t.Errorf("event of the day before %+v", e)
	}
	if d.LevelM != ingest.Known(100) || s.Days[0].LevelM.OK {
		t.Errorf("levels %v and %v, want 100 and unknown", d.LevelM, s.Days[0].LevelM)
	}
	if len(s.Undated.Soundings) != 1 || len(s.Undated.Events) != 1 {
		t.Errorf("undated %+v", s.Undated)
	}
	want := []ingest.Unplaced{
		{What: "sounding", Source: 1, Line: 3, LastLine: 4, Count: 2, Time: after(700), Reason: ingest.TooLate},
		{What: "sounding", Source: 1, Line: 6, LastLine: 6, Count: 1, Reason: ingest.NoTimeNorPlace},
		{What: "catch", Source: 1, Line: 3, LastLine: 3, Count: 1, Time: after(-3600 * 12), Reason: ingest.TooSoon},
	}
	if len(s.Unplaced) != len(want) {
		t.Fatalf("unplaced %+v", s.Unplaced)
	}
	for i := range want {
		if s.Unplaced[i] != want[i] {
			t.Errorf("unplaced %d: %+v, want %+v", i, s.Unplaced[i], want[i])
		}
	}
}

func TestSeasonCutsTracksAtLocalMidnight(t *testing.T) {
	midnight := 12*3600.0 - 0 // seconds after local noon
	s := Season([]ingest.Records{{Tracks: []ingest.Track{{Fixes: fixesAt(midnight-2, midnight-1, midnight, midnight+1)}}}},
		Options{Zone: time.FixedZone("", -3*3600), MaxGap: time.Minute})
	if len(s.Days) != 2 || len(s.Days[0].Tracks[0].Fixes) != 2 || len(s.Days[1].Tracks[0].Fixes) != 2 {
		t.Errorf("days %+v, want two fixes on either side of midnight", s.Days)
	}
}

// A day whose soundings have no place is no day.
func TestSeasonMakesNoEmptyDays(t *testing.T) {
	s := Season([]ingest.Records{{Soundings: []ingest.Sounding{{Time: after(0), DepthM: 3}, {Time: after(86400), DepthM: 3}}}}, Options{})
	if len(s.Days) != 0 || len(s.Unplaced) != 1 || s.Unplaced[0].Count != 2 {
		t.Errorf("days %+v, unplaced %+v", s.Days, s.Unplaced)
	}
}

// Days are cut by the local clock, also where it is changed: 25 hours on one day.
func TestSeasonCutsDaysByTheLocalClock(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	var soundings []ingest.Sounding
	from := time.Date(2031, 10, 25, 22, 30, 0, 0, time.UTC) // 00:30 on the 26th, when the clock goes back
	for h := range 26 {
		soundings = append(soundings, ingest.Sounding{Time: from.Add(time.Duration(h) * time.Hour), Pos: orb.Point{-40, 36.5}, HasPos: true, DepthM: 3})
	}
	s := Season([]ingest.Records{{Soundings: soundings}}, Options{Zone: zone})
	if len(s.Days) != 2 || s.Days[0].Date != "2031-10-26" || len(s.Days[0].Soundings) != 25 || len(s.Days[1].Soundings) != 1 {
		t.Errorf("%d days, %d soundings on the first; want 25 hours of the 26th and one of the 27th", len(s.Days), len(s.Days[0].Soundings))
	}
}

func TestSeasonWithoutZoneIsUTC(t *testing.T) {
	s := Season([]ingest.Records{{Tracks: []ingest.Track{{Fixes: fixesAt(0)}}}}, Options{})
	if s.ZoneSaid || s.Zone != time.UTC || len(s.Days) != 1 {
		t.Errorf("zone %v said %v, want UTC unsaid", s.Zone, s.ZoneSaid)
	}
}

// One catch, as a waypoint and in the log: it counts once, and nothing noted of it
// is lost.
func TestSeasonCountsAnEventOnce(t *testing.T) {
	waypoint := ingest.Event{Time: after(2.4), Pos: orb.Point{-40, 36.5}, HasPos: true, Count: 1, Line: 3}
	noted := ingest.Event{Time: after(2), Count: 2, FishM: ingest.Known(5), Species: "striped bass", Line: 7}
	later := noted
	later.Time = after(9)
	bite := noted
	bite.Kind = ingest.Bite
	s := Season([]ingest.Records{
		{Tracks: []ingest.Track{{Fixes: fixesAt(0, 5, 10)}}},
		{Events: []ingest.Event{noted, bite, later}},
		{Events: []ingest.Event{waypoint}},
	}, Options{MaxGap: time.Minute})
	events := s.Days[0].Events
	if len(events) != 3 {
		t.Fatalf("%d events, want the catch once, the bite and the later catch", len(events))
	}
	if e := events[0]; e.FishM != ingest.Known(5) || e.Species != "striped bass" || e.Count != 2 || e.By != ingest.ByNote || e.At != waypoint.Pos {
		t.Errorf("%+v, want the log's notes at the waypoint's place", e)
	}
	if len(s.Unplaced) != 1 || s.Unplaced[0].Reason != ingest.InTwoFiles || s.Unplaced[0].Source != 2 {
		t.Errorf("%+v, want the waypoint listed as in another file", s.Unplaced)
	}
}

// A level said beside the files serves a day that no file tells one of; a file's wins.
func TestLevelsFromOutside(t *testing.T) {
	fix := func(day int) ingest.Fix {
		return ingest.Fix{Time: time.Date(2031, 10, day, 12, 0, 0, 0, time.UTC), Pos: orb.Point{-40, 36.5}}
	}
	records := []ingest.Records{{
		Tracks: []ingest.Track{{Fixes: []ingest.Fix{fix(4), fix(5)}}},
		Levels: []ingest.Level{{Date: "2031-10-05", LevelM: 99}},
	}}
	s := Season(records, Options{Levels: []ingest.Level{{Date: "2031-10-04", LevelM: 100}, {Date: "2031-10-05", LevelM: 100}}})
	if s.Days[0].LevelM != ingest.Known(100) || s.Days[1].LevelM != ingest.Known(99) {
		t.Errorf("levels %v and %v, want 100 and 99", s.Days[0].LevelM, s.Days[1].LevelM)
	}
}
