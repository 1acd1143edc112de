package analyse

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

var (
	frame = plane.New(orb.Point{-40, 36.5})
	noon  = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	boat  = ingest.Boat{CastM: 25, Tackle: ingest.Tackle{
		Heads:    []ingest.Head{{MassKg: 0.003544, DensityKgM3: 11340}, {MassKg: 0.007087, DensityKgM3: 11340}, {MassKg: 0.014175, DensityKgM3: 11340}},
		Lines:    []ingest.LineRule{{UpToKg: 1, Line: ingest.Line{Name: "fine", DiameterM: 0.0002, DensityKgM3: 1140}}},
		Trailers: []ingest.TrailerRule{{UpToKg: 1, LengthM: 0.07}},
		MaxSinkS: 20, MaxAngleDeg: 45, WaterC: 15,
	}}
)

// day builds one day second by second.
type day struct {
	ingest.Day
	now time.Time
	at  r2.Vec
	rng *rand.Rand
}

func newDay(date string) *day {
	at, err := time.Parse(time.DateOnly, date)
	if err != nil {
		panic(err)
	}
	d := &day{now: at.Add(12 * time.Hour), rng: rand.New(rand.NewPCG(31, 32))}
	d.Date = date
	d.Tracks = []ingest.Track{{}}
	return d
}

// fish moves at a speed toward a direction, over a bottom of a depth, and catches
// a fish at each of the given seconds.
func (d *day) fish(seconds int, mps, toward, depthM float64, catches ...int) {
	for s := range seconds {
		wobble := r2.Vec{X: 0.3 * d.rng.NormFloat64(), Y: 0.3 * d.rng.NormFloat64()}
		p := frame.Degrees(r2.Add(d.at, wobble))
		d.Tracks[0].Fixes = append(d.Tracks[0].Fixes, ingest.Fix{Time: d.now, Pos: p})
		x := ingest.PlacedSounding{At: p, SurfaceM: depthM}
		x.Time, x.TempC = d.now, ingest.Known(15+float64(s)/1000)
		d.Soundings = append(d.Soundings, x)
		if slices.Contains(catches, s) {
			e := ingest.PlacedEvent{At: p}
			e.Time, e.Count, e.FishM = d.now, 1, ingest.Known(depthM-2)
			d.Events = append(d.Events, e)
		}
		d.at = r2.Add(d.at, r2.Scale(mps, plane.Toward(toward)))
		d.now = d.now.Add(time.Second)
	}
}

func chartOf(t *testing.T, set spatial.Settings, days ...*day) spatial.Chart {
	t.Helper()
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true}
	for _, d := range days {
		s.Days = append(s.Days, d.Day)
	}
	c, err := Season(context.Background(), s, set, nil)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func quick() spatial.Settings {
	s := Defaults(boat)
	s.Simulations = 99
	return s
}

// twoPlaces is a day with a drift of 0.3 m/s east that catches fish, and a place
// where the boat holds and catches fish, and another where it holds for nothing.
func twoPlaces(date string) *day {
	d := newDay(date)
	for range 3 {
		d.fish(400, 0.3, 90, 8, 190, 200, 210)
		d.fish(100, 1.2, 270, 8)
	}
	d.fish(120, 8, 0, 10)
	d.fish(900, 0, 0, 10, 100, 300, 500, 700, 800)
	d.fish(120, 8, 90, 10)
	d.fish(3600, 0, 0, 10)
	return d
}

func zoneNear(t *testing.T, c spatial.Chart, v r2.Vec) spatial.Zone {
	t.Helper()
	for _, z := range c.Zones {
		if frame.DistanceM(z.Centre, frame.Degrees(v)) < 30 {
			return z
		}
	}
	t.Fatalf("no zone at %v among %d", v, len(c.Zones))
	return spatial.Zone{}
}

func TestSeasonZoneFigures(t *testing.T) {
	c := chartOf(t, quick(), twoPlaces("2031-10-04"))
	drifted := zoneNear(t, c, r2.Vec{X: 60})
	if drifted.DriftPasses != 3 || math.Abs(drifted.DriftMPS.V-0.3) > 0.01 || math.Abs(drifted.DriftTowardDeg.V-90) > 3 {
		t.Errorf("drift %v toward %v from %d passes, want 0.3 toward 90 from 3", drifted.DriftMPS, drifted.DriftTowardDeg, drifted.DriftPasses)
	}
	if drifted.Events != 9 || drifted.Catches != 9 || drifted.Days != 1 || drifted.FishNoted != 9 {
		t.Errorf("%+v", drifted)
	}
	if math.Abs(drifted.BottomM.V-8) > 0.1 || math.Abs(drifted.FishBottomM.V-6) > 0.1 {
		t.Errorf("bottom %v, fish down to %v, want 8 and 6", drifted.BottomM, drifted.FishBottomM)
	}
	if math.Abs(drifted.TempC.V-15.2) > 0.02 {
		t.Errorf("water at %v, want that of the catches' own time, 15.2", drifted.TempC)
	}
	if x, ok := drifted.Head.Chosen(); !ok || !x.Meets() {
		t.Errorf("no head for a drift of 0.3 m/s at 6 m: %+v", drifted.Head)
	}
	held := zoneNear(t, c, r2.Vec{Y: 960})
	if held.DriftMPS != ingest.Known(0) || held.DriftTowardDeg.OK || held.DriftPasses != 0 {
		t.Errorf("a place held: drift %v toward %v from %d passes, want 0, unknown and none", held.DriftMPS, held.DriftTowardDeg, held.DriftPasses)
	}
	// Three casts of 400 s and the way back, 100 s each, pass within reach for part of the time.
	if !held.EffortH.OK || math.Abs(held.EffortH.V-0.25) > 0.03 {
		t.Errorf("%v h fished where the boat held for 0.25 h", held.EffortH)
	}
}

// Two schools share a place, one at 3 m in the morning, one at 8 m in the afternoon: two zones
// with a band, hours and a head of their own. Three strays above a school are strays.
func TestSeasonTwoSchoolsAtOnePlace(t *testing.T) {
	visit := func(d *day, fishM float64, catches ...int) {
		first := len(d.Events)
		d.fish(900, 0, 0, 10, catches...)
		for i := range d.Events[first:] {
			d.Events[first+i].FishM = ingest.Known(fishM + 0.2*float64(i%3))
		}
	}
	season := func(morning ...int) (days []*day) {
		for _, date := range []string{"2031-10-04", "2031-10-11", "2031-10-18"} {
			d := newDay(date)
			visit(d, 3, morning...)
			d.fish(120, 8, 90, 10)
			d.fish(7200, 0, 0, 10)
			d.fish(120, 8, 270, 10)
			visit(d, 8, 100, 300, 500, 700)
			days = append(days, d)
		}
		return days
	}
	c := chartOf(t, quick(), season(100, 300, 500, 700)...)
	if len(c.Zones) != 2 {
		t.Fatalf("%d zones, want 2", len(c.Zones))
	}
	for _, z := range c.Zones {
		want, hour := 3.2, 12.0
		if z.Layer == "deeper" {
			want, hour = 8.2, 14.25
		}
		if z.Events != 12 || math.Abs((z.FishTopM.V+z.FishBottomM.V)/2-want) > 0.05 || math.Abs(z.HourFrom.V-hour) > 0.3 || !z.Proven {
			t.Errorf("%s, %q: %d events at %v to %v m, from %v h", z.ID, z.Layer, z.Events, z.FishTopM, z.FishBottomM, z.HourFrom)
		}
	}
	if c.Zones[0].Layer == c.Zones[1].Layer {
		t.Errorf("both are the %s", c.Zones[0].Layer)
	}
	if c := chartOf(t, quick(), season(450)...); len(c.Zones) != 1 || c.Zones[0].Layer != "" {
		t.Errorf("%d zones with a few strays above a school, want 1", len(c.Zones))
	}
}

// Marks that count nothing make no zone and no rate, but stay on the chart.
func TestSeasonWeights(t *testing.T) {
	d := twoPlaces("2031-10-04")
	for i := range d.Events {
		d.Events[i].Kind = ingest.Mark
	}
	set := quick()
	set.Weights.Mark = 0
	if c := chartOf(t, set, d); len(c.Zones) != 0 || c.LakeRate.PerH != 0 || len(c.Events) != 14 {
		t.Errorf("%d zones, %v an hour, %d events", len(c.Zones), c.LakeRate.PerH, len(c.Events))
	}
	set.Weights.Mark = 0.5
	half, whole := chartOf(t, set, d), chartOf(t, quick(), d)
	if math.Abs(half.LakeRate.PerH-whole.LakeRate.PerH/2) > 1e-12 || len(half.Zones) != len(whole.Zones) {
		t.Errorf("marks of a half: %v an hour and %d zones, whole %v and %d", half.LakeRate.PerH, len(half.Zones), whole.LakeRate.PerH, len(whole.Zones))
	}
}

func TestSeasonDriftLine(t *testing.T) {
	c := chartOf(t, quick(), twoPlaces("2031-10-04"), twoPlaces("2031-10-11"))
	if len(c.Drifts) != 1 {
		t.Fatalf("%d drift lines, want 1", len(c.Drifts))
	}
	d := c.Drifts[0]
	if d.Passes != 6 || d.Days != 2 || d.Events != 18 || math.Abs(d.Hours-6*400.0/3600) > 0.05 {
		t.Errorf("%d passes, %d days, %d events, %.2f h; want 6, 2, 18 and 0.67", d.Passes, d.Days, d.Events, d.Hours)
	}
	// Fish came from 57 to 63 m along 120 m.
	if math.Abs(d.ProductiveFromM.V-57) > 6 || math.Abs(d.ProductiveToM.V-63) > 6 {
		t.Errorf("productive from %v to %v m, want about 57 to 63", d.ProductiveFromM, d.ProductiveToM)
	}
}

func TestSeasonLevels(t *testing.T) {
	depth := func(c spatial.Chart) float64 { return zoneNear(t, c, r2.Vec{X: 60}).BottomM.V }
	high, low := twoPlaces("2031-10-04"), newDay("2031-11-04")
	high.LevelM, low.LevelM = ingest.Known(101), ingest.Known(100)
	low.fish(60, 0.5, 0, 3) // a word of the lower level, elsewhere
	if d := depth(chartOf(t, quick(), high, low)); math.Abs(d-7) > 0.1 {
		t.Errorf("8 m at level 101 is %.2f m at the latest day's 100", d)
	}
	pool := quick()
	pool.PoolM = ingest.Known(102.5)
	if d := depth(chartOf(t, pool, high, low)); math.Abs(d-9.5) > 0.1 {
		t.Errorf("8 m at level 101 is %.2f m at the 102.5 asked for", d)
	}
	low.LevelM = ingest.Maybe{}
	c := chartOf(t, quick(), high, low)
	if !remarked(c, "level", "No water level is known of 2031-11-04, and too little water") {
		t.Errorf("a day without a level goes unsaid: %v", c.Remarks)
	}
	high.LevelM = ingest.Maybe{}
	if c := chartOf(t, quick(), high, low); !remarked(c, "level", "No water level is known of 2031-10-04, 2031-11-04") || c.LevelM.OK {
		t.Errorf("days without levels go unsaid: %v", c.Remarks)
	}
	if c := chartOf(t, pool, high, low); !remarked(c, "level", "A level was asked for") || c.LevelM.OK {
		t.Errorf("a level that can't be reached goes unsaid: %v", c.Remarks)
	}
	// Of a single day the level that is said is its own.
	if c := chartOf(t, pool, high); c.LevelM != pool.PoolM || c.Days[0].LevelM != pool.PoolM || math.Abs(depth(c)-8) > 0.1 {
		t.Errorf("a single day at 102.5: level %v, 8 m is %.2f m", c.LevelM, depth(c))
	}
}

// The same water on two days, sounded 0.4 m deeper on the first: without levels the
// first is laid on the second; with levels that don't agree with that, it is said.
func TestSeasonLaysDaysOnEachOther(t *testing.T) {
	sweep := func(date string, depthM float64, seed uint64) *day {
		d := newDay(date)
		d.rng = rand.New(rand.NewPCG(33, seed))
		for range 6 {
			d.fish(400, 0.3, 90, depthM)
			d.fish(100, 1.2, 270, depthM)
		}
		return d
	}
	first, second, third := sweep("2031-10-04", 8.4, 1), sweep("2031-10-11", 8, 2), sweep("2031-10-18", 8, 3)
	c := chartOf(t, quick(), first, second)
	s := c.Days[0].Shift
	if s.From != spatial.ByOverlap || math.Abs(s.M+0.4) > 0.02 || s.Cells < 20 || !s.ErrorM.OK || c.Days[1].Shift.From != spatial.AsSounded {
		t.Errorf("the first day: %+v, the second: %+v", s, c.Days[1].Shift)
	}
	if !remarked(c, "level", "2031-10-04: depths were laid on the latest day") {
		t.Errorf("%v", c.Remarks)
	}
	if b := c.Bottom; b.Cells == 0 || !b.U95M.OK || b.Crossings.N == 0 || math.Abs(b.Crossings.MedianM.V) > 0.05 {
		t.Errorf("the bottom %+v", b)
	}
	// Where the differences are all over the place nothing is moved.
	wild := sweep("2031-10-04", 8.4, 4)
	for i := range wild.Soundings {
		wild.Soundings[i].SurfaceM += 3 * math.Sin(float64(i)/40)
	}
	if c := chartOf(t, quick(), wild, second); c.Days[0].Shift.From != spatial.AsSounded || c.Days[0].Shift.M != 0 || c.Days[0].Shift.Cells < 20 {
		t.Errorf("a wild day: %+v", c.Days[0].Shift)
	}
	// One day with a level: the other is laid on it.
	second.LevelM = ingest.Known(100)
	if c := chartOf(t, quick(), first, second); c.Days[0].Shift.From != spatial.ByOverlap || !remarked(c, "level", "laid on those with one") {
		t.Errorf("%+v, %v", c.Days[0].Shift, c.Remarks)
	}
	first.LevelM, third.LevelM = ingest.Known(100), ingest.Known(100)
	c = chartOf(t, quick(), first, second, third)
	if !remarked(c, "level", "2031-10-04 sounded 0.40 m deeper than the other days") {
		t.Errorf("a level that can't be goes unsaid: %v", c.Remarks)
	}
	if first.LevelM = ingest.Known(100.4); remarked(chartOf(t, quick(), first, second, third), "level", "deeper than") {
		t.Error("a level that fits is doubted")
	}
}

// Three passes agree, a fourth follows a second echo the whole way: it is left out,
// and counted for its file.
func TestSeasonLeavesOutStrays(t *testing.T) {
	d := newDay("2031-10-04")
	for k := range 4 {
		depthM := 8.0
		if k == 3 {
			depthM = 16
		}
		d.fish(200, 0.5, 90, depthM)
		d.fish(50, 2, 270, 8)
	}
	for i := range d.Soundings {
		d.Soundings[i].Source = 1
	}
	c := chartOf(t, quick(), d)
	if b := c.Bottom; b.Strays < 150 || b.Strays > 200 || b.StraysOf[1] != b.Strays || b.StraysOf[0] != 0 {
		t.Errorf("%d strays, by file %v, want most of 200 in the second", c.Bottom.Strays, c.Bottom.StraysOf)
	}
	for _, a := range c.Areas {
		if a.TopM > 9 {
			t.Errorf("water from %v m", a.TopM)
		}
	}
}

func remarked(c spatial.Chart, about, text string) bool {
	return slices.ContainsFunc(c.Remarks, func(r spatial.Remark) bool { return r.About == about && strings.Contains(r.Text, text) })
}

func TestSeasonLeavesTheRoadHomeOut(t *testing.T) {
	d := twoPlaces("2031-10-04")
	d.at = r2.Vec{X: 50000}
	d.fish(50, 25, 90, 400, 10)
	c := chartOf(t, quick(), d)
	for _, about := range []string{"track", "soundings", "events"} {
		if !remarked(c, about, "more than 20 km") {
			t.Errorf("%s left out go unsaid: %v", about, c.Remarks)
		}
	}
	if len(c.Events) != 14 {
		t.Errorf("%d events, want the 14 on the lake", len(c.Events))
	}
}

func TestSeasonEmpty(t *testing.T) {
	c := chartOf(t, quick())
	if len(c.Zones)+len(c.Bands)+len(c.Drifts)+len(c.Contours)+len(c.Events) != 0 || c.LakeRate.OK {
		t.Errorf("something was found in nothing: %+v", c)
	}
}

func TestSeasonStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Season(ctx, ingest.Season{}, quick(), nil); err == nil {
		t.Error("no error though the context had ended")
	}
}

// Turning the lake about its middle turns the result and changes no figure of it
// by more than the grid's cells do; doing the same twice changes nothing at all.
func TestSeasonLaws(t *testing.T) {
	build := func(angle float64) ingest.Season {
		d := twoPlaces("2031-10-04")
		turn := func(p orb.Point) orb.Point { return frame.Degrees(r2.Rotate(frame.Metres(p), angle, r2.Vec{})) }
		for i := range d.Tracks[0].Fixes {
			d.Tracks[0].Fixes[i].Pos = turn(d.Tracks[0].Fixes[i].Pos)
		}
		for i := range d.Soundings {
			d.Soundings[i].At = turn(d.Soundings[i].At)
		}
		for i := range d.Events {
			d.Events[i].At = turn(d.Events[i].At)
		}
		return ingest.Season{Zone: time.UTC, Days: []ingest.Day{d.Day}}
	}
	want, _ := Season(context.Background(), build(0), quick(), nil)
	again, _ := Season(context.Background(), build(0), quick(), nil)
	if !reflect.DeepEqual(want, again) {
		t.Error("the same season gave two charts")
	}
	for _, angle := range []float64{0.3, 1.7, 4} {
		got, _ := Season(context.Background(), build(angle), quick(), nil)
		if len(got.Zones) != len(want.Zones) || len(got.Drifts) != len(want.Drifts) {
			t.Fatalf("turned by %v: %d zones and %d lines, want %d and %d", angle, len(got.Zones), len(got.Drifts), len(want.Zones), len(want.Drifts))
		}
		for i, w := range want.Zones {
			g := got.Zones[i]
			off := r2.Norm(r2.Sub(frame.Metres(g.Centre), r2.Rotate(frame.Metres(w.Centre), angle, r2.Vec{})))
			if off > 0.01 || g.Events != w.Events || math.Abs(g.EffortH.V-w.EffortH.V) > 0.01 ||
				math.Abs(g.BottomM.V-w.BottomM.V) > 0.3 || math.Abs(g.DriftMPS.V-w.DriftMPS.V) > 1e-6 {
				t.Errorf("turned by %v: zone %s is %.3f m off, with %d events, %v h, bottom %v, drift %v; want %d, %v, %v, %v",
					angle, w.ID, off, g.Events, g.EffortH, g.BottomM, g.DriftMPS, w.Events, w.EffortH, w.BottomM, w.DriftMPS)
			}
		}
	}
}

func TestTemperatureIsTheNearestInTime(t *testing.T) {
	reading := func(seconds int, c ingest.Maybe) ingest.PlacedSounding {
		s := ingest.PlacedSounding{}
		s.Time, s.TempC = noon.Add(time.Duration(seconds)*time.Second), c
		return s
	}
	log := []ingest.PlacedSounding{reading(0, ingest.Known(10)), reading(60, ingest.Known(11)), reading(70, ingest.Maybe{}), reading(100, ingest.Known(12))}
	for _, c := range []struct {
		seconds int
		want    ingest.Maybe
	}{
		{-120, ingest.Known(10)}, {-121, ingest.Maybe{}}, {20, ingest.Known(10)}, {72, ingest.Known(11)}, {90, ingest.Known(12)}, {221, ingest.Maybe{}},
	} {
		if got := temperature(log, noon.Add(time.Duration(c.seconds)*time.Second)); got != c.want {
			t.Errorf("at %d s: %v, want %v", c.seconds, got, c.want)
		}
	}
}

// A receiver set to a fix every two minutes has no gaps of two minutes.
func TestSeasonFromASlowLogger(t *testing.T) {
	d := newDay("2031-10-04")
	d.fish(7200, 0.2, 90, 8)
	var slow []ingest.Fix
	for i := 0; i < len(d.Tracks[0].Fixes); i += 120 {
		slow = append(slow, d.Tracks[0].Fixes[i])
	}
	d.Tracks[0].Fixes = slow
	c := chartOf(t, quick(), d)
	if s := c.Days[0]; math.Abs(s.FishingH-2) > 0.1 || s.UnknownH != 0 {
		t.Errorf("%.2f h fished and %.2f h unknown, want 2 and 0", s.FishingH, s.UnknownH)
	}
}
