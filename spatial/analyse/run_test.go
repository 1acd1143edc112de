package analyse

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/cool"
	"leadline/spatial/rate"
)

// A spot is a place of the made lake, and how many fish a visit of a quarter of an hour gives.
type spot struct {
	at     r2.Vec
	fish   int
	depthM float64
}

// to runs straight to a place at 8 m/s over water of a depth.
func (d *day) to(v r2.Vec, depthM float64) {
	if m := r2.Norm(r2.Sub(v, d.at)); m > 0 {
		d.fish(int(m/8), 8, plane.BearingDeg(r2.Sub(v, d.at)), depthM)
	}
}

// tour is a day from the ramp at 0, 0 over spots and back by the same way: at each two drifts eastward of 225 m.
func tour(date string, levelM float64, spots ...spot) *day {
	d := newDay(date)
	d.LevelM = ingest.Known(levelM)
	d.fish(60, 0, 0, 3)
	for _, s := range spots {
		d.to(s.at, 6)
		for range 2 {
			start := d.at
			var at []int
			for k := range s.fish / 2 {
				at = append(at, 200+40*k)
			}
			d.fish(450, 0.5, 90, s.depthM, at...)
			d.to(start, s.depthM)
		}
	}
	for k := range spots { // home by the spots, since only that water is known
		d.to(spots[len(spots)-1-k].at, 6)
	}
	d.to(r2.Vec{}, 6)
	d.fish(60, 0, 0, 3)
	return d
}

var (
	good = spot{r2.Vec{X: 800, Y: 200}, 8, 7}
	fair = spot{r2.Vec{X: 1500, Y: -300}, 6, 9}
	poor = spot{r2.Vec{X: -700, Y: 500}, 0, 5}
)

func threeTours() ingest.Season {
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true}
	for k, date := range []string{"2031-10-04", "2031-10-08", "2031-10-12", "2031-10-16"} {
		s.Days = append(s.Days, tour(date, 100-0.1*float64(k), good, fair, poor).Day)
	}
	return s
}

func planned(t *testing.T, s ingest.Season, ask spatial.RunAsk, change ...func(*spatial.Settings)) (spatial.Chart, spatial.Run) {
	t.Helper()
	c, r, err := tryPlan(s, ask, change...)
	if err != nil {
		t.Fatal(err)
	}
	return c, r
}

func tryPlan(s ingest.Season, ask spatial.RunAsk, change ...func(*spatial.Settings)) (spatial.Chart, spatial.Run, error) {
	set := Defaults(boat)
	set.Simulations = 99
	for _, c := range change {
		c(&set)
	}
	if ask.Date == "" {
		ask.Date = "2031-10-17"
	}
	if ask.DraughtM == 0 {
		ask.DraughtM, ask.MarginM = 0.6, 0.6
	}
	return Run(context.Background(), s, set, ask, nil)
}

// order returns the zones of a run.
func order(r spatial.Run) (ids []string) {
	for _, s := range r.Stops {
		ids = append(ids, s.Zone)
	}
	return ids
}

func TestRun(t *testing.T) {
	c, r := planned(t, threeTours(), spatial.RunAsk{})
	if len(c.Zones) != 2 || len(r.Stops) != 2 || len(r.Legs) != 3 || len(r.Dropped) != 0 {
		t.Fatalf("%d zones, %d stops, %d legs, dropped %v", len(c.Zones), len(r.Stops), len(r.Legs), r.Dropped)
	}
	if !r.Guessed || plane.New(r.Launch).DistanceM(r.Launch, frame.Origin()) > 5 || r.TakeOut != r.Launch {
		t.Errorf("launch %v", r.Launch)
	}
	if !r.Proven || math.Abs(r.Bound-r.Expected.Mean) > 1e-9 {
		t.Errorf("proven %v, bound %v", r.Proven, r.Bound)
	}
	if math.Abs(r.RunMPS-8) > 0.5 {
		t.Errorf("runs at %.2f, want 8", r.RunMPS)
	}
	holds(t, c, r)
}

// holds checks what is so of every run.
func holds(t *testing.T, c spatial.Chart, r spatial.Run) {
	t.Helper()
	if len(r.Stops) == 0 {
		if len(r.Legs) != 0 || !r.Leave.IsZero() {
			t.Errorf("no stop, and %d legs", len(r.Legs))
		}
		return
	}
	if len(r.Legs) != len(r.Stops)+1 {
		t.Fatalf("%d legs for %d stops", len(r.Legs), len(r.Stops))
	}
	now, sum := r.Leave, 0.0
	if now.Before(r.Start) || r.Home.After(r.Back) {
		t.Errorf("out from %v to %v, asked for %v to %v", r.Leave, r.Home, r.Start, r.Back)
	}
	seen := map[string]bool{}
	for i, s := range r.Stops {
		if seen[s.Zone] || c.Zones[s.Index].ID != s.Zone || s.Order != i+1 {
			t.Errorf("stop %d: zone %s again, or %s", i, s.Zone, c.Zones[s.Index].ID)
		}
		seen[s.Zone] = true
		if got := now.Add(time.Duration(r.Legs[i].Seconds * 1e9)); s.Arrive.Before(got.Add(-30 * time.Second)) {
			t.Errorf("%s: there at %v, the way takes until %v", s.Zone, s.Arrive, got)
		}
		if !s.Leave.After(s.Arrive) || s.Expected.Low > s.Expected.Mean || s.Expected.High < s.Expected.Mean {
			t.Errorf("%s: %v to %v, expects %+v", s.Zone, s.Arrive, s.Leave, s.Expected)
		}
		if gap := s.Arrive.Sub(now).Seconds() - r.Legs[i].Seconds; i > 0 && (s.FreeS < 0 || math.Abs(s.FreeS-math.Max(0, gap)) > 30) {
			t.Errorf("%s: %.0f s free, want %.0f", s.Zone, s.FreeS, gap)
		}
		for k, p := range s.LeaveIf {
			if p.Bites == 0 && p.Minutes > s.Leave.Sub(s.Arrive).Minutes() {
				t.Errorf("%s: wait %.0f min for a bite in a stay of %v", s.Zone, p.Minutes, s.Leave.Sub(s.Arrive))
			}
			if p.Minutes <= 0 || k > 0 && (p.Bites != s.LeaveIf[k-1].Bites+1 || p.Minutes < s.LeaveIf[k-1].Minutes) {
				t.Errorf("%s: leave if %v", s.Zone, s.LeaveIf)
			}
		}
		if s.DriftTowardDeg.OK && s.DriftMPS.V > 0 { // begins up the drift
			f := plane.New(s.At)
			way := f.Metres(s.DriftEnd)
			if off := math.Abs(plane.TurnDeg(plane.BearingDeg(way), s.DriftTowardDeg.V)); r2.Norm(way) > 0 && off > 1 {
				t.Errorf("%s: the drift from start to end goes %.0f degrees off %.0f", s.Zone, off, s.DriftTowardDeg.V)
			}
		}
		sum += s.Expected.Mean
		now = s.Leave
	}
	if math.Abs(sum-r.Expected.Mean) > 1e-9 || r.Expected.Low > r.Expected.Mean || r.Expected.High < r.Expected.Mean {
		t.Errorf("expects %+v, stops %v", r.Expected, sum)
	}
	for i, l := range r.Legs {
		if l.From != i || l.To != i+1 || len(l.Line) < 2 || l.LengthM <= 0 || l.Seconds <= 0 {
			t.Errorf("leg %d: %+v", i, l)
		}
		if l.LeastM.OK && l.LeastM.V < r.DraughtM+r.MarginM {
			t.Errorf("leg %d: %.2f m deep", i, l.LeastM.V)
		}
	}
	for _, d := range r.Dropped {
		if seen[d.Zone] || d.Why == "" {
			t.Errorf("dropped %+v", d)
		}
	}
	if n := r.Nearest; n != nil {
		if n.Gain.Low > n.Gain.Mean || n.Gain.High < n.Gain.Mean || n.Share < 0 || n.Share > 1 || len(n.Order) > len(r.Stops) {
			t.Errorf("rival %+v", n)
		}
		if n.Gain.Mean < -0.5 { // it knows nothing that the run doesn't, but the time to the second
			t.Errorf("the rival gives %.2f more", -n.Gain.Mean)
		}
	}
}

func TestRunIsTheSameEachTime(t *testing.T) {
	ask := spatial.RunAsk{Seed: 3}
	_, first := planned(t, threeTours(), ask)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	_, again := planned(t, threeTours(), ask)
	if !reflect.DeepEqual(first, again) {
		t.Error("one core gives another run")
	}
}

func TestRunForcesAndSkips(t *testing.T) {
	s := threeTours()
	c, r := planned(t, s, spatial.RunAsk{Skip: []string{"Z1"}})
	if !slices.Equal(order(r), []string{"Z2"}) || len(r.Dropped) != 1 || r.Dropped[0].Zone != "Z1" || r.Dropped[0].Costs.OK {
		t.Errorf("without Z1: %v, dropped %+v", order(r), r.Dropped)
	}
	holds(t, c, r)
	// Twenty-five minutes: there is time for one only.
	begin := time.Date(2031, 10, 17, 8, 0, 0, 0, time.UTC)
	short := spatial.RunAsk{Start: begin, Back: begin.Add(25 * time.Minute)}
	_, r = planned(t, s, short)
	if len(r.Stops) != 1 || len(r.Dropped) != 1 {
		t.Fatalf("%v, dropped %+v", order(r), r.Dropped)
	}
	best, other := r.Stops[0].Zone, r.Dropped[0].Zone
	cost := r.Dropped[0].Costs
	had := r.Expected.Mean
	short.Force = []string{other}
	c, r = planned(t, s, short)
	if !slices.Equal(order(r), []string{other}) {
		t.Errorf("%v with %s forced, %s is better", order(r), other, best)
	}
	if !cost.OK || math.Abs(cost.V-(had-r.Expected.Mean)) > 0.1 { // but for what the time is worth elsewhere
		t.Errorf("%s was said to cost %v, and costs %.2f", other, cost, had-r.Expected.Mean)
	}
	holds(t, c, r)
}

func TestRunRefuses(t *testing.T) {
	s := threeTours()
	begin := time.Date(2031, 10, 17, 8, 0, 0, 0, time.UTC)
	far, off := frame.Degrees(r2.Vec{X: 90000}), frame.Degrees(r2.Vec{X: 300, Y: 900})
	for name, c := range map[string]struct {
		ask  spatial.RunAsk
		want error
		says string
	}{
		"no such zone":       {spatial.RunAsk{Force: []string{"Z9"}}, ErrNoZone, `"Z9": there are Z1, Z2`},
		"both":               {spatial.RunAsk{Force: []string{"Z1"}, Skip: []string{"Z1"}}, ErrNoRun, "both"},
		"no time":            {spatial.RunAsk{Start: begin, Back: begin}, ErrNoRun, "08:00 to 08:00"},
		"ends before":        {spatial.RunAsk{Start: begin, Back: begin.Add(-time.Hour)}, ErrNoRun, "no day"},
		"too short to force": {spatial.RunAsk{Start: begin, Back: begin.Add(10 * time.Minute), Force: []string{"Z1"}}, ErrNoRun, "Z1"},
		"another lake":       {spatial.RunAsk{Launch: &far}, ErrNoLaunch, "20 km"},
		"on land":            {spatial.RunAsk{Launch: &off}, ErrNoLaunch, "the launch"},
		"take-out on land":   {spatial.RunAsk{TakeOut: &off}, ErrNoLaunch, "the take-out"},
		"draws too much":     {spatial.RunAsk{DraughtM: 40, MarginM: 1}, ErrNoLaunch, "41.0 m deep"},
	} {
		t.Run(name, func(t *testing.T) {
			_, r, err := tryPlan(s, c.ask)
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v, want %v with %q; %v", err, c.want, c.says, order(r))
			}
		})
	}
	if _, _, err := tryPlan(ingest.Season{Zone: time.UTC}, spatial.RunAsk{}); !errors.Is(err, ErrNoTrack) {
		t.Errorf("an empty season: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := Run(ctx, s, Defaults(boat), spatial.RunAsk{Date: "2031-10-17"}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A season without zones gives a run without stops.
func TestRunWithoutZones(t *testing.T) {
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true, Days: []ingest.Day{tour("2031-10-04", 100, poor).Day}}
	c, r := planned(t, s, spatial.RunAsk{})
	if len(c.Zones)+len(r.Stops)+len(r.Legs) != 0 || !r.Proven || r.Expected != (spatial.Spread{}) {
		t.Errorf("%d zones, %d stops, expects %+v", len(c.Zones), len(r.Stops), r.Expected)
	}
	holds(t, c, r)
}

// Only the way by which the boat went is known: without poor, the way to fair leads over good.
func TestRunKeepsToKnownWater(t *testing.T) {
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true}
	for _, date := range []string{"2031-10-04", "2031-10-08", "2031-10-12", "2031-10-16"} {
		s.Days = append(s.Days, tour(date, 100, good, fair).Day)
	}
	c, _ := planned(t, s, spatial.RunAsk{})
	skip := ""
	for _, z := range c.Zones {
		if r2.Norm(r2.Sub(frame.Metres(z.Centre), good.at)) < 250 {
			skip = z.ID
		}
	}
	c, r := planned(t, s, spatial.RunAsk{Skip: []string{skip}})
	holds(t, c, r)
	if len(r.Legs) != 2 {
		t.Fatalf("%d legs", len(r.Legs))
	}
	for _, l := range r.Legs {
		nearest := math.Inf(1)
		for k, p := range l.Line {
			v := frame.Metres(p)
			if k > 0 {
				for f := 0.0; f < 1; f += 0.02 {
					nearest = math.Min(nearest, r2.Norm(r2.Sub(good.at, r2.Add(v, r2.Scale(f, r2.Sub(frame.Metres(l.Line[k-1]), v))))))
				}
			}
		}
		if nearest > 40 {
			t.Errorf("leg %d to %d passes %.0f m from the corner of the known way", l.From, l.To, nearest)
		}
	}
}

// At a level 5 m lower the water on the way, 6 m at the first day's, is too shallow for a boat that needs 1.2.
func TestRunAtALowerLevel(t *testing.T) {
	_, _, err := tryPlan(threeTours(), spatial.RunAsk{}, func(s *spatial.Settings) { s.PoolM = ingest.Known(94.5) })
	if !errors.Is(err, ErrNoLaunch) {
		t.Errorf("%v, want no water at the launch: it was 3 m deep at level 100", err)
	}
	// 4.2 m lower than the first day's: the ramp is dry, a boat launched at good may go on.
	launch := frame.Degrees(good.at)
	c, r := planned(t, threeTours(), spatial.RunAsk{Launch: &launch}, func(s *spatial.Settings) { s.PoolM = ingest.Known(95.8) })
	holds(t, c, r)
	if r.LevelM.V != 95.8 || len(r.Stops) == 0 {
		t.Errorf("level %v, %d stops", r.LevelM, len(r.Stops))
	}
	for _, s := range r.Stops {
		if z := c.Zones[s.Index]; s.BottomM != z.BottomM || s.BottomM.V > 5 {
			t.Errorf("%s: bottom %v", s.Zone, s.BottomM)
		}
		if s.FishBottomM.OK && s.FishBottomM.V > s.BottomM.V {
			t.Errorf("%s: fish to %v over a bottom at %v", s.Zone, s.FishBottomM, s.BottomM)
		}
	}
}

// By hand, as in rungain.go: 3 an hour fished, three quarters of the time there, visits of an hour, tau half an hour.
func TestArrivalByHand(t *testing.T) {
	p := planner{a: &analysis{}, cooling: cool.Cooling{TauH: 0.5}}
	visit := call{Visit: cool.Visit{LengthH: 1}, fishedH: 0.75}
	got := 3 * arrivalShare([]call{visit, visit}, 0.5)
	if want := 2.25 / (0.5 * (1 - math.Exp(-2))); math.Abs(got-want) > 1e-12 || math.Abs(got-5.2) > 0.01 {
		t.Errorf("%.4f on arrival, want %.4f", got, want)
	}
	s := site{perH: []float64{got, got, got, got, got, got}}
	if e := p.expected(&s, 0, 1800); math.Abs(e-1.64) > 0.01 {
		t.Errorf("%.4f in the first half hour, want 1.64", e)
	}
	if arrivalShare(nil, 0.5) != 1 {
		t.Error("without visits nothing is known of cooling and idling")
	}
}

// By hand: places with 2 an hour on the mean and a variance of 4 weigh 2/4 = 0.5 h of the lake. All fishing was at hour 3 after sunrise:
// 10 h with 20 events on the lake, of these 2 h with 12 in the zone. The lake gives (20+4)/(10+4/2) = 2 then, so the zone
// (12 + 1)/(2 + 0.5) = 5.2; half an hour off, half counts of all: (6 + 1)/(1 + 0.5) = 4.67; an hour off and more it is any water, 2.
func TestRateByHourByHand(t *testing.T) {
	at := hourBin(3)
	var zone, lake byHour
	zone.events[at], zone.hours[at] = 12, 2
	lake.events[at], lake.hours[at] = 20, 10
	p := planner{a: &analysis{places: rate.Prior{MeanPerH: 2, Var: 4, TotalN: 20, TotalH: 10}}, lake: lake.smooth()}
	z := zone.smooth()
	for h, want := range map[float64]float64{3: 5.2, 2.5: 7 / 1.5, 3.5: 7 / 1.5, 2: 2, 4.1: 2, -3: 2, 30: 2} {
		if got, _ := p.rateAt(z, h, nil); math.Abs(got-want) > 1e-9 {
			t.Errorf("at %g h: %.4f, want %.4f", h, got, want)
		}
	}
	if got, shape := p.rateAt(z, 3, z); math.Abs(got-2) > 1e-9 || math.Abs(shape-1) > 1e-9 {
		t.Errorf("without its own: %.4f, shape %.4f, want the lake's 2 and 1", got, shape)
	}
	p.a.places.Var = 0
	if got, _ := p.rateAt(z, 3, nil); math.Abs(got-2) > 1e-9 {
		t.Errorf("where places are alike: %.4f, want the lake's 2", got)
	}
}

func TestWindsOfTheDay(t *testing.T) {
	at := func(h int) time.Time { return time.Date(2031, 10, 4, h, 0, 0, 0, time.UTC) }
	winds := []spatial.HourWind{{From: at(7), Wind: spatial.Wind{SpeedMPS: 2}}, {From: at(12), Wind: spatial.Wind{SpeedMPS: 5}}}
	for h, want := range map[int]float64{5: 2, 7: 2, 11: 2, 12: 5, 20: 5} {
		if got := windOf(winds, at(h)); got == nil || got.SpeedMPS != want {
			t.Errorf("at %d: %v, want %g", h, got, want)
		}
	}
	if windOf(nil, at(5)) != nil {
		t.Error("a wind out of nothing")
	}
}
