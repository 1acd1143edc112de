package main

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/boatfile"
	"leadline/ingest/load"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// runOf plans the day after a season that is kept in a folder.
func runOf(t *testing.T, dir string, ask spatial.RunAsk) (spatial.Chart, spatial.Run) {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "boat.toml"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	boat, err := boatfile.Read(f, "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	season, err := load.Season(context.Background(), []string{dir}, load.Options{
		Read: ingest.ReadOptions{Zone: boat.Zone}, MaxGap: 10 * time.Second, Depth: ingest.Corrections{TransducerM: boat.TransducerM}, Levels: boat.Levels,
	})
	if err != nil {
		t.Fatal(err)
	}
	ask.Date, ask.DraughtM, ask.MarginM = "2031-11-17", boat.DraftM, boat.MarginM
	set := analyse.Defaults(boat)
	set.Simulations = 99
	chart, run, err := analyse.Run(context.Background(), season, set, ask, nil)
	if err != nil {
		t.Fatal(err)
	}
	return chart, run
}

// TestRunAgainstTheTruth plans the day after made seasons, on a lake with islands, bays and a pool that falls, and holds the runs
// against what is so.
//
// Every leg is followed step by step over the true bottom: it never crosses land. What a run expects is held against what the
// lake would give on the day: for each stop the events of the school there, as often as it is present and for as long as it is in its hours,
// and those of any water. The interval is said to hold nine days in ten. The made schools don't cool off, which a run
// takes for granted, and the boat is taken to be in reach all the while.
func TestRunAgainstTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("makes seasons")
	}
	stops, held, n := 0, 0, 0
	expected, given, leastM := 0.0, 0.0, math.Inf(1)
	for seed := uint64(1); seed <= seasons(12); seed++ {
		dir, truth := madeSeason(t, madelake.Default(seed, madelake.Small))
		chart, run := runOf(t, dir, spatial.RunAsk{Seed: seed})
		stops += len(run.Stops)
		for _, l := range run.Legs {
			m, at := shallowest(l, truth)
			if leastM = math.Min(leastM, m); m <= 0.3 {
				t.Errorf("season %d, leg %d to %d: %.2f m of water at %v", seed, l.From, l.To, m, at)
			}
		}
		is := wouldGive(chart, run, truth)
		n++
		if is >= run.Expected.Low && is <= run.Expected.High {
			held++
		}
		t.Logf("season %d: expects %.1f (%.0f to %.0f), would give %.1f", seed, run.Expected.Mean, run.Expected.Low, run.Expected.High, is)
		expected, given = expected+run.Expected.Mean, given+is
	}
	t.Logf("%d stops, shallowest water %.2f m; expects %.0f, would give %.0f; held %d of %d", stops, leastM, expected, given, held, n)
	if stops == 0 {
		t.Error("no stop at all")
	}
	if n >= 12 && held < 8 { // fewer than that of twelve: 0.4 % by chance where nine in ten hold
		t.Errorf("%d of %d intervals hold the truth", held, n)
	}
	if expected > 1.5*given || given > 1.5*expected {
		t.Errorf("expects %.0f events, the lake would give %.0f", expected, given)
	}
}

// shallowest follows a leg in steps of 5 m over the true bottom, at the level of the season's last day.
func shallowest(l spatial.RunLeg, truth madelake.Truth) (leastM float64, at orb.Point) {
	leastM = math.Inf(1)
	riseM := truth.Days[len(truth.Days)-1].LevelM - truth.ReferenceLevelM
	frame := plane.New(l.Line[0])
	for i := 1; i < len(l.Line); i++ {
		a, b := frame.Metres(l.Line[i-1]), frame.Metres(l.Line[i])
		n := math.Ceil(r2.Norm(r2.Sub(b, a)) / 5)
		for k := 0.0; k <= n; k++ {
			p := frame.Degrees(r2.Add(a, r2.Scale(k/math.Max(n, 1), r2.Sub(b, a))))
			if m := truth.BottomM(p) + riseM; m < leastM {
				leastM, at = m, p
			}
		}
	}
	return leastM, at
}

// wouldGive returns the events that the made lake would give on a run.
func wouldGive(chart spatial.Chart, run spatial.Run, truth madelake.Truth) (events float64) {
	hour := func(at time.Time) float64 {
		at = at.In(run.Zone)
		return float64(at.Hour()) + float64(at.Minute())/60
	}
	for _, s := range run.Stops {
		from, to := hour(s.Arrive), hour(s.Leave)
		events += truth.BackgroundPerH * (to - from)
		centre := chart.Zones[s.Index].Centre
		frame := plane.New(centre)
		for _, school := range truth.Schools {
			if frame.DistanceM(centre, school.Point()) < 70 {
				present := float64(len(school.DaysPresent)) / float64(len(truth.Days))
				events += school.EventsPerH * present * math.Max(0, math.Min(to, school.HourTo)-math.Max(from, school.HourFrom))
			}
		}
	}
	return events
}

func TestClockFlag(t *testing.T) {
	for text, want := range map[string]float64{"6": 6, "06:30": 6.5, "18:45": 18.75, "24": 24, "0": 0} {
		var c clockFlag
		if err := c.Set(text); err != nil || !c.set || c.hours != want || c.String() != text {
			t.Errorf("%q: %+v, %v", text, c, err)
		}
	}
	for _, text := range []string{"", "6:3", "25", "24:01", "-1", "6am", "6:60", "6.5"} {
		var c clockFlag
		if err := c.Set(text); err == nil || c.set {
			t.Errorf("%q taken as %v", text, c.hours)
		}
	}
}

func TestWindsFlag(t *testing.T) {
	var w windsFlag
	for _, text := range []string{"4m/s@NW", "12:30=5m/s@90", "6=0m/s@N"} {
		if err := w.Set(text); err != nil {
			t.Fatal(text, err)
		}
	}
	want := []hourWind{
		{wind: spatial.Wind{SpeedMPS: 4, FromDeg: 315}},
		{from: clockFlag{12.5, true, "12:30"}, wind: spatial.Wind{SpeedMPS: 5, FromDeg: 90}},
		{from: clockFlag{6, true, "6"}},
	}
	if len(w.list) != 3 || w.list[0] != want[0] || w.list[1] != want[1] || w.list[2] != want[2] {
		t.Errorf("%+v", w.list)
	}
	for _, text := range []string{"", "4m/s", "4@NW", "noon=4m/s@NW", "12:30=6m/s@N", "5m/s@N", "=5m/s@N", "13=99m/s@N"} {
		if err := w.Set(text); err == nil {
			t.Errorf("%q taken", text)
		}
	}
	if len(w.list) != 3 {
		t.Errorf("a wind that was refused was kept: %+v", w.list)
	}
}
