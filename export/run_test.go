package export_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func TestRunClock(t *testing.T) {
	east := time.FixedZone("east", 5*3600+1800)
	at := func(h, m, s int) time.Time { return time.Date(2024, 6, 1, h, m, s, 0, time.UTC) }
	for _, c := range []struct {
		name string
		at   time.Time
		zone *time.Location
		want string
	}{
		{"in UTC", at(6, 12, 0), nil, "06:12"},
		{"down to the minute", at(6, 12, 29), nil, "06:12"},
		{"up to the minute", at(6, 12, 30), nil, "06:13"},
		{"over midnight", at(23, 59, 45), nil, "00:00"},
		{"half an hour's zone", at(6, 12, 0), east, "11:42"},
		{"unknown", time.Time{}, east, "not known"},
	} {
		if got := export.RunClock(c.at, c.zone); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestLeaveIfWords(t *testing.T) {
	for _, c := range []struct {
		name    string
		leaveIf []spatial.RunPatience
		want    string
	}{
		{"none", nil, ""},
		{"no bite only", []spatial.RunPatience{{Bites: 0, Minutes: 12.4}}, "no bite by 12 min"},
		{"three", []spatial.RunPatience{{Bites: 0, Minutes: 12}, {Bites: 1, Minutes: 21}, {Bites: 2, Minutes: 28.6}}, "no bite by 12 min, one by 21 min, two by 29 min"},
		{"many", []spatial.RunPatience{{Bites: 9, Minutes: 60}, {Bites: 10, Minutes: 65}}, "nine by 60 min, 10 by 65 min"},
	} {
		if got := export.LeaveIfWords(spatial.RunStop{LeaveIf: c.leaveIf}); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestRunFishWords(t *testing.T) {
	for _, c := range []struct {
		name, by string
		top      ingest.Maybe
		units    si.System
		want     string
	}{
		{"unknown", "", ingest.Maybe{}, si.US, "not known"},
		{"by surface", "surface", ingest.Known(18 * si.FootM), si.US, "18 to 22 ft under the surface on the day; fish keep their depth below the surface here, whatever the water level"},
		{"by bottom, metric", "bottom", ingest.Known(6), si.Metric, "6.0 to 6.7 m under the surface on the day; fish keep to the bottom here, moved with the water level"},
		{"as noted", "", ingest.Known(22 * si.FootM), si.US, "22 ft under the surface on the day; as noted, since no water level is known to move it by"},
	} {
		s := spatial.RunStop{FishTopM: c.top, FishBottomM: ingest.Known(22 * si.FootM), FishBy: c.by}
		if got := export.RunFishWords(s, c.units); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestRunDriftWords(t *testing.T) {
	known := ingest.Known
	half := known(0.5 * si.MPHMPS)
	for _, c := range []struct {
		name string
		stop spatial.RunStop
		want string
	}{
		{"nothing", spatial.RunStop{}, "not known"},
		{"any way", spatial.RunStop{DriftMPS: half, DriftFrom: "forecast"}, "0.5 mph, which way is not known, for the wind forecast"},
		{"no speed", spatial.RunStop{DriftTowardDeg: known(90), DriftFrom: "season"}, "toward E (90°), how fast is not known, as on the season's passes"},
		{"all", spatial.RunStop{DriftMPS: half, DriftTowardDeg: known(359.7), DriftFrom: "forecast", PassS: known(500), DriftLine: "D1"},
			"0.5 mph toward N (0°), across the zone in 8 min, for the wind forecast; much as drift line D1"},
	} {
		if got := export.RunDriftWords(c.stop, si.US); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestRunLegWords(t *testing.T) {
	for _, c := range []struct {
		name  string
		leg   spatial.RunLeg
		units si.System
		want  string
	}{
		{"plain", spatial.RunLeg{LengthM: 1.2 * si.MileM, Seconds: 240, LeastM: ingest.Known(6 * si.FootM)}, si.US, "1.2 mi, 4 min, least depth 6 ft"},
		{"rounded down", spatial.RunLeg{LengthM: 1.2 * si.MileM, Seconds: 240, LeastM: ingest.Known(6.97 * si.FootM)}, si.US, "1.2 mi, 4 min, least depth 6 ft"},
		{"rounded down, metric", spatial.RunLeg{LengthM: 1930, Seconds: 239, LeastM: ingest.Known(1.19)}, si.Metric, "1.9 km, 4 min, least depth 1.1 m"},
		{"next to nothing", spatial.RunLeg{LengthM: 100, Seconds: 20, LeastM: ingest.Known(0.2)}, si.US, "109 yd, 20 s, least depth under 1 ft"},
		{"dry", spatial.RunLeg{LengthM: 100, Seconds: 20, LeastM: ingest.Known(-1)}, si.Metric, "100 m, 20 s, least depth under 0.1 m"},
		{"in part", spatial.RunLeg{LengthM: 2000, Seconds: 3900, LeastM: ingest.Known(2), UnsoundedM: 110}, si.Metric, "2.0 km, 1 h 5 min, least depth 2.0 m; 110 m of it was never sounded"},
		{"never sounded", spatial.RunLeg{LengthM: 2000, Seconds: 3600, UnsoundedM: 2000}, si.Metric, "2.0 km, 1 h, depth not known: never sounded"},
		{"there already", spatial.RunLeg{}, si.US, "no way to go"},
	} {
		if got := export.RunLegWords(c.leg, c.units); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// A least depth never reads deeper than it is, in whatever units.
func TestLeastDepthIsNeverRoundedUp(t *testing.T) {
	for mm := 400; mm < 9000; mm += 7 {
		m := float64(mm) / 1000
		words := export.RunLegWords(spatial.RunLeg{LengthM: 50, LeastM: ingest.Known(m)}, si.US)
		_, text, ok := strings.Cut(words, "least depth ")
		got, err := si.Length.Parse(strings.ReplaceAll(text, " ", ""))
		if !ok || err != nil || got > m+1e-9 || got < m-si.FootM-1e-9 {
			t.Fatalf("%g m reads %q (%v)", m, words, err)
		}
	}
}

func TestDurationWords(t *testing.T) {
	for s, want := range map[float64]string{0: "0 s", 59: "59 s", 59.6: "1 min", 89: "1 min", 91: "2 min", 3569: "59 min", 3590: "1 h", 3660: "1 h 1 min", 9000: "2 h 30 min"} {
		if got := export.DurationWords(s); got != want {
			t.Errorf("%g s: %q, want %q", s, got, want)
		}
	}
}

func TestPositionWords(t *testing.T) {
	for want, p := range map[string]orb.Point{
		"36.49980° N, 39.99770° W": {-39.9977, 36.4998}, "33.50000° S, 151.25000° E": {151.25, -33.5}, "0.00000° N, 0.00000° E": {-1e-9, -1e-9},
	} {
		if got := export.PositionWords(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
}

func TestSpreadWords(t *testing.T) {
	for _, c := range []struct {
		spread spatial.Spread
		want   string
	}{
		{spatial.Spread{Mean: 2.34, Low: 0, High: 5}, "2.3 events (0 to 5)"},
		{spatial.Spread{Mean: 1, Low: 0, High: 3}, "1 event (0 to 3)"},
		{spatial.Spread{Mean: 103.4, Low: 88, High: 120.6}, "103 events (88 to 121)"},
		{spatial.Spread{Mean: math.NaN()}, "not known"},
		{spatial.Spread{Mean: 2, Low: math.NaN(), High: 1}, "2 events"},
	} {
		if got := export.SpreadWords(c.spread); got != c.want {
			t.Errorf("%v: %q, want %q", c.spread, got, c.want)
		}
	}
}

func facts(fs []export.Fact) string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Label+": "+f.Value)
	}
	return strings.Join(out, "\n")
}

func TestRunStopFacts(t *testing.T) {
	c, r := exporttest.Run()
	for i, want := range []string{
		"Fish: 9 to 12 ft under the surface on the day; fish keep to the bottom here, moved with the water level; the deeper of two schools at this place\n" +
			"Bottom: 13 ft on the day, point\nDrift start: not known\nDrift: 0.1 mph, which way is not known, for the wind forecast\nWind: 1 mph from WNW\n" +
			"Head: 1/8 oz on 8 lb fluorocarbon\nCountdown: 14 s\nLine out: 22 ft, 61° from vertical at the rod\nExpected: 2.6 events (0 to 6), 2.9 an hour on arrival\n" +
			"Leave if: no bite by 36 min, one by 58 min, two by 76 min",
		"", // as the first
		"Fish: 30 to 34 ft under the surface on the day; as noted, since no water level is known to move it by\n" +
			"Bottom: 32 ft on the day\nDrift start: 36.49911° N, 39.99958° W\nDrift: 0.5 mph toward SE (131°), across the zone in 4 min, for the wind forecast\nWind: 10 mph from NW\n" +
			"Head: none in the box will do\nCountdown: not known\nLine out: not known\nExpected: 1.8 events (0 to 5), 1.9 an hour on arrival\n" +
			"Leave if: nothing after it is worth leaving for",
	} {
		if got := facts(export.RunStopFacts(r.Stops[i], export.RunZone(c, r.Stops[i]), si.US)); want != "" && got != want {
			t.Errorf("stop %d has\n%s\nwant\n%s", i+1, got, want)
		}
	}
	want := "Fish: not known\nBottom: not known\nDrift start: not known\nDrift: not known\nWind: no forecast\nHead: no fish depth, no drift speed\n" +
		"Countdown: not known\nLine out: not known\nExpected: 0 events (0 to 0), 0 an hour on arrival\nLeave if: nothing after it is worth leaving for"
	nothing := spatial.RunStop{Head: spatial.HeadChoice{Missing: []string{"fish depth", "drift speed"}}}
	if got := facts(export.RunStopFacts(nothing, spatial.Zone{}, si.US)); got != want {
		t.Errorf("nothing known has\n%s\nwant\n%s", got, want)
	}
}

func TestRunSummary(t *testing.T) {
	_, whole := exporttest.Run()
	for _, c := range []struct {
		name string
		edit func(*spatial.Run)
		want string // one of the sentences
	}{
		{"as it is", func(*spatial.Run) {}, "Leave at 05:00, home at 09:53: 3 stops, 1.0 mi of running in 3 min."},
		{"expected", func(*spatial.Run) {}, "Expect 8.4 events (3 to 15); ranges hold 9 times in 10. A bite is any event: a catch or a bite."},
		{"rival", func(*spatial.Run) {}, "As many zones, taken nearest next (Z2, Z3, Z1), should give 7.5 events (3 to 13): the run gives 0.9 events more (4 events fewer to 6 events more), " +
			"1.11 times as many, and no less on 63 % of 2,000 simulated days."},
		{"rival better", func(r *spatial.Run) { r.Nearest.Gain.Mean, r.Nearest.Ratio = -0.3, 0.96 }, "As many zones, taken nearest next (Z2, Z3, Z1), should give 7.5 events (3 to 13): " +
			"the run gives 0.3 events fewer (4 events fewer to 6 events more), 0.96 times as many, and no less on 63 % of 2,000 simulated days."},
		{"rival the same", func(r *spatial.Run) {
			*r.Nearest = spatial.RunRival{Order: []string{"Z2", "Z1"}, Expected: spatial.Spread{Mean: 1, High: 3}, Ratio: 1, Share: 1, Days: 1}
		},
			"As many zones, taken nearest next (Z2, Z1), should give 1 event (0 to 3): the run gives no more (no more to no more), 1.00 times as many, and no less on 100 % of 1 simulated day."},
		{"nearly all days", func(r *spatial.Run) { r.Nearest.Share = 0.9996 }, "As many zones, taken nearest next (Z2, Z3, Z1), should give 7.5 events (3 to 13): " +
			"the run gives 0.9 events more (4 events fewer to 6 events more), 1.11 times as many, and no less on more than 99 % of 2,000 simulated days."},
		// 8.92 - 8.37 = 0.55, and 0.55 / 8.37 = 6.57 %.
		{"bound, rounded up", func(*spatial.Run) {}, "That no other run gives more is not proven; none gives more than 0.6 events above it (7 %), each hour counted for what it is worth elsewhere."},
		{"proven", func(r *spatial.Run) { r.Proven = true }, "No other order or stay gives more, each hour counted for what it is worth elsewhere: as far as the figures go, that is proven."},
		{"no bound", func(r *spatial.Run) { r.Bound = math.Inf(1) }, "That no other run gives more is not proven; how much more one might give is not known."},
		{"an hour", func(*spatial.Run) {}, "Another hour of the day would add about 0.9 events."},
		{"an hour for nothing", func(r *spatial.Run) { r.WorthPerH = 0.02 }, "Another hour of the day would add next to nothing."},
		{"cooling learned", func(*spatial.Run) {}, "A place cools off while it is fished: its rate falls to 37 % in 42 min, learned from 35 events on 27 visits."},
		{"cooling usual", func(r *spatial.Run) { r.Cooling = spatial.RunCooling{TauMin: 60, Events: 3, Visits: 1} },
			"A place cools off while it is fished: its rate falls to 37 % in 60 min, the usual figure, since 3 events on 1 visit can't tell it."},
		{"no cooling", func(r *spatial.Run) { r.Cooling.TauMin = 0 }, "Places were taken not to cool off while they are fished."},
		// The standard deviation of a Gamma distribution of shape 4 is half its mean.
		{"visits differ", func(r *spatial.Run) { r.Cooling.Shape, r.Cooling.ShapeLearned = 4, true }, "The rate met differs from visit to visit by 50 % (standard deviation), learned from 35 events on 27 visits."},
		{"guessed", func(*spatial.Run) {}, "No launch was given: it is taken to be where most of the season's days began."},
		{"level", func(*spatial.Run) {}, "Depths are at a water level of 350.9 ft."},
		{"no level", func(r *spatial.Run) { r.LevelM = ingest.Maybe{} }, "No water level is known for the day: depths stand as they are on the chart."},
		{"speed", func(*spatial.Run) {}, "Running at 21.9 mph, over water travelled before."},
		{"draught", func(*spatial.Run) {}, "Where a depth is known, legs keep 1.0 ft of water under a draught of 1.3 ft."},
		{"no wind", func(r *spatial.Run) { r.Winds = nil }, "No wind was given: drifts are as they were on the season's passes."},
		{"no stop", func(r *spatial.Run) { r.Stops, r.Legs, r.Why = nil, nil, "no zone was found" }, "No stop between 05:00 and 10:00: no zone was found."},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := whole
			rival := *whole.Nearest
			r.Nearest = &rival
			c.edit(&r)
			got := export.RunSummary(r, si.US)
			if !slices.Contains(got, c.want) {
				t.Errorf("no %q in\n%s", c.want, strings.Join(got, "\n"))
			}
			for _, s := range got {
				if !strings.HasSuffix(s, ".") || strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
					t.Errorf("%q", s)
				}
			}
		})
	}
	want := []string{
		"No stop.", "No water level is known for the day: depths stand as they are on the chart.", "Running over water travelled before.",
		"No wind was given: drifts are as they were on the season's passes.",
	}
	if got := export.RunSummary(spatial.Run{}, si.Metric); !slices.Equal(got, want) {
		t.Errorf("an empty run says %q", got)
	}
}

func TestRunOtherWords(t *testing.T) {
	_, r := exporttest.Run()
	for i, want := range []string{
		"Two hours shorter: Z2 05:01 to 06:10 with 1/8 oz; Z1 06:11 to 07:57, no head (no drift speed); expect 5.6 events, home at 07:58",
		"Wind 10 mph stronger: no plan: that wind is beyond what was learned from",
	} {
		if got := export.RunOtherWords(r, r.Others[i], si.US); got != want {
			t.Errorf("%q\nwant %q", got, want)
		}
	}
	if got, want := export.RunOtherWords(r, spatial.RunOther{Name: "überall Wind"}, si.US), "Überall Wind: no plan: no stop fits"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestRunDroppedWords(t *testing.T) {
	for _, c := range []struct {
		dropped spatial.RunDropped
		want    string
	}{
		{spatial.RunDropped{Zone: "Z4", Why: "left out as asked", Costs: ingest.Known(0.42)}, "Z4: left out as asked; going there costs 0.4 events at most"},
		{spatial.RunDropped{Zone: "Z4", Why: "not proven.", Costs: ingest.Known(0.04)}, "Z4: not proven; going there costs next to nothing"},
		{spatial.RunDropped{Zone: "Z4"}, "Z4: left out"},
	} {
		if got := export.RunDroppedWords(c.dropped); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestRunCautions(t *testing.T) {
	got := export.RunCautions(si.US)
	if base := export.Cautions(si.US); !slices.Equal(got[:len(base)], base) {
		t.Error("the cautions of every output are not first")
	}
	text := strings.Join(got, " ")
	for _, want := range []string{"no-wake zones", "law", "Other boats", "weather", "daylight", "travelled once", "Not for navigation"} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing said of %q", want)
		}
	}
}

// The fixed properties of the outputs come first and in this order.
var fixedRun = map[string]string{
	"stop": "kind id name order zone arrive leave expected leave_if head_oz fish_top_m fish_bottom_m drift_start drift_toward_deg",
	"leg":  "kind id name length_m minutes least_depth_m",
}

func TestRunFeatures(t *testing.T) {
	c, r := exporttest.Run()
	var ids []string
	for _, f := range export.RunFeatures(c, r, si.US) {
		ids = append(ids, f.ID)
		var names []string
		for _, p := range f.Properties {
			names = append(names, p.Name)
		}
		if got := strings.Join(names, " "); !strings.HasPrefix(got+" ", fixedRun[f.Kind]+" ") {
			t.Errorf("%s has %s\nwant first %s", f.ID, got, fixedRun[f.Kind])
		}
		slices.Sort(names)
		if len(slices.Compact(names)) != len(f.Properties) {
			t.Errorf("%s has a property twice", f.ID)
		}
	}
	if got := strings.Join(ids, " "); got != "L1 S1 L2 S2 L3 S3 L4" {
		t.Errorf("in order %s", got)
	}
	if got := export.RunFeatures(c, spatial.Run{}, si.US); got != nil {
		t.Errorf("an empty run has %d features", len(got))
	}
}

// Of a run that doesn't fit its chart the stop is all that is known.
func TestRunZone(t *testing.T) {
	c, r := exporttest.Run()
	for i, want := range []int{1, 0, 2} {
		if z := export.RunZone(c, r.Stops[i]); z.ID != c.Zones[want].ID || z.Events != c.Zones[want].Events {
			t.Errorf("stop %d is at %s", i+1, z.ID)
		}
	}
	for _, s := range []spatial.RunStop{{Zone: "Z9", Index: 99}, {Zone: "Z9", Index: -1}, {Zone: "Z9"}} {
		if z := export.RunZone(c, s); z.ID != "Z9" || z.Events != 0 {
			t.Errorf("index %d gives %+v", s.Index, z)
		}
	}
}

// By hand: there at 10:40 after a way of 5 min, so free until 10:35; ten minutes and less are no free time.
func TestRunFreeWords(t *testing.T) {
	r := spatial.Run{
		Zone:  time.UTC,
		Stops: []spatial.RunStop{{Arrive: time.Date(2031, 10, 4, 10, 40, 0, 0, time.UTC), FreeS: 3600}},
		Legs:  []spatial.RunLeg{{Seconds: 300}},
	}
	if got := export.RunFreeWords(r, 0); got != "free until 10:35" {
		t.Errorf("%q", got)
	}
	for _, free := range []float64{0, 599, 600} {
		if r.Stops[0].FreeS = free; export.RunFreeWords(r, 0) != "" {
			t.Errorf("%g s: %q", free, export.RunFreeWords(r, 0))
		}
	}
	if r.Stops[0].FreeS, r.Legs = 3600, nil; export.RunFreeWords(r, 0) != "" {
		t.Error("free until no way begins")
	}
}
