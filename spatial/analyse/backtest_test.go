package analyse

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// A lake is what a made season is fished on: a kilometre square, a dozen schools in reach of a cast of each of which so
// many bite an hour, that move every day by moveM in a way of their own, and a few fish everywhere.
type lake struct {
	schools       int
	perH          float64
	elsewherePerH float64
	moveM         float64 // standard deviation each way, a day
}

// searched makes days of five hours on a lake with a fix and a sounding every five seconds: drifts of some minutes over places
// anywhere, every third time over one of the schools of the first day.
func searched(seed uint64, days int, w lake) ingest.Season {
	rng := rand.New(rand.NewPCG(seed, 97))
	anywhere := func() r2.Vec { return r2.Vec{X: 1000 * rng.Float64(), Y: 1000 * rng.Float64()} }
	var spots, now []r2.Vec
	for range 12 {
		spots = append(spots, anywhere())
	}
	now = slices.Clone(spots[:w.schools])
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true}
	const stepS = 5
	for k := range days {
		start := noon.AddDate(0, 0, k).Add(-4 * time.Hour)
		d := ingest.Day{Date: start.Format(time.DateOnly), Tracks: []ingest.Track{{}}}
		at := r2.Vec{X: 500, Y: -200}
		second := 0
		step := func(v r2.Vec) {
			t := start.Add(time.Duration(second) * time.Second)
			p := frame.Degrees(r2.Add(v, r2.Vec{X: 0.5 * rng.NormFloat64(), Y: 0.5 * rng.NormFloat64()}))
			d.Tracks[0].Fixes = append(d.Tracks[0].Fixes, ingest.Fix{Time: t, Pos: p})
			x := ingest.PlacedSounding{At: p, SurfaceM: 6 + 0.004*v.X}
			x.Time = t
			d.Soundings = append(d.Soundings, x)
			second += stepS
			at = v
		}
		for second < 5*3600 {
			to := anywhere()
			if rng.IntN(3) == 0 {
				to = spots[rng.IntN(len(spots))]
			}
			way := plane.Toward(360 * rng.Float64())
			from := r2.Sub(to, r2.Scale(60, way))
			for n, i, a := int(r2.Norm(r2.Sub(from, at))/(6*stepS))+1, 0, at; i < n; i++ {
				step(r2.Add(a, r2.Scale(float64(i)/float64(n), r2.Sub(from, a))))
			}
			for along := 0.0; along < 120; along += 0.25 * stepS {
				step(r2.Add(from, r2.Scale(along, way)))
				perH := w.elsewherePerH
				for _, v := range now {
					if r2.Norm(r2.Sub(v, at)) < 25 {
						perH += w.perH
					}
				}
				if rng.Float64() < perH*stepS/3600 {
					e := ingest.PlacedEvent{At: frame.Degrees(at)}
					e.Time, e.Count = start.Add(time.Duration(second-2)*time.Second), 1
					d.Events = append(d.Events, e)
				}
			}
		}
		for i := range now {
			now[i] = r2.Add(now[i], r2.Vec{X: w.moveM * rng.NormFloat64(), Y: w.moveM * rng.NormFloat64()})
		}
		s.Days = append(s.Days, d)
	}
	return s
}

func tested(t testing.TB, s ingest.Season, ask spatial.BacktestAsk) spatial.Backtest {
	t.Helper()
	b, err := Backtest(context.Background(), s, Defaults(boat), ask, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Six schools that stay and give a dozen an hour, beside one in two hours elsewhere: zones of a few earlier days do find them.
func TestBacktestOfSchoolsThatStay(t *testing.T) {
	seeds := uint64(3)
	if testing.Short() {
		seeds = 1
	}
	for seed := range seeds {
		b := tested(t, searched(seed, 16, lake{6, 12, 0.5, 0}), spatial.BacktestAsk{Seed: 1})
		for name, f := range map[string]spatial.Foretold{"earlier": b.Earlier, "others": b.Others} {
			if f.Verdict != spatial.Better || f.Lift.Value < 3 || f.Lift.Low < 2 {
				t.Errorf("seed %d, %s: lift %+v", seed, name, f.Lift)
			}
			if f.OverFlat.Against(0) != spatial.Better || !(f.OverLast.Value > 0) {
				t.Errorf("seed %d, %s: over flat %+v, over the last trip %+v", seed, name, f.OverFlat, f.OverLast)
			}
			if f.Accuracy.Value < 10 {
				t.Errorf("seed %d, %s: accuracy %+v", seed, name, f.Accuracy)
			}
			// A right 90 % of some 80 visits is off by no more than 0.1 in 997 of 1,000.
			if f.Coverage.Value < 0.8 {
				t.Errorf("seed %d, %s: coverage %+v", seed, name, f.Coverage)
			}
		}
		if b.Earlier.HitRate.Value >= b.Others.HitRate.Value {
			t.Errorf("seed %d: earlier days hit %v, all others %v", seed, b.Earlier.HitRate.Value, b.Others.HitRate.Value)
		}
	}
}

// Where nothing schools what zones there are foretell nothing: the interval called 95 % must hold a lift of 1 in 95 of 100 seeds, and events
// inside are those due: with some 30 due in all, within 3 of their standard deviations.
func TestBacktestWithoutSchools(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty seasons")
	}
	seeds := 30
	if *longBench {
		seeds = 200
	}
	type count struct{ holds, asked int }
	var earlier, others count
	var in, due float64
	results := make([]spatial.Backtest, seeds)
	for i := range results {
		results[i] = tested(t, searched(uint64(1000+i), 12, lake{elsewherePerH: 3}), spatial.BacktestAsk{Seed: 1})
	}
	for _, b := range results {
		for c, e := range map[*count]spatial.Estimate{&earlier: b.Earlier.Lift, &others: b.Others.Lift} {
			if e.Bounded {
				c.asked++
				if e.Against(1) == spatial.NoBetter {
					c.holds++
				}
			}
		}
		for _, u := range b.Units {
			if u.Others != nil && u.Hours > 0 {
				in += u.Others.EventsIn
				due += u.Events * u.Others.HoursIn / u.Hours
			}
		}
	}
	t.Logf("earlier %+v, others %+v; inside %.0f, due %.1f", earlier, others, in, due)
	for name, c := range map[string]count{"earlier": earlier, "others": others} {
		// Of 30 right intervals of 95 % fewer than 26 hold in 2 of 100.
		if float64(c.holds) < 26.0/30*float64(c.asked) {
			t.Errorf("%s: %d of %d intervals hold 1", name, c.holds, c.asked)
		}
	}
	if math.Abs(in-due) > 3*math.Sqrt(due) {
		t.Errorf("inside %.0f, due %.1f", in, due)
	}
}

// The farther schools move from day to day the less their places foretell.
func TestBacktestOfSchoolsThatMove(t *testing.T) {
	if testing.Short() {
		t.Skip("twelve seasons")
	}
	lifts := map[float64]float64{}
	moves := []float64{0, 15, 60}
	for _, m := range moves {
		in, even := 0.0, 0.0
		for seed := range uint64(4) {
			b := tested(t, searched(20+seed, 14, lake{6, 12, 0.5, m}), spatial.BacktestAsk{Seed: 1})
			for _, u := range b.Units {
				if u.Earlier != nil && u.Hours > 0 {
					in += u.Earlier.EventsIn
					even += u.Events * u.Earlier.HoursIn / u.Hours
				}
			}
		}
		lifts[m] = in / even
	}
	t.Logf("lift by metres a day: %v", lifts)
	for i := 1; i < len(moves); i++ {
		if !(lifts[moves[i]] < 0.8*lifts[moves[i-1]]) {
			t.Errorf("lift by metres a day: %v", lifts)
		}
	}
}

// A forecaster knows a past, and the unit that is left out only by its number.
type forecaster func(past *analysis, u unit) (forecast, error)

func honest(past *analysis, u unit) (forecast, error) {
	f, _, err := foresee(context.Background(), past, u.from-1)
	return f, err
}

// leaks returns the units whose forecast changes when what came on them and later is replaced: the test that a
// forecaster sees nothing of what it foretells. What came is shown to neither but by the hand of whoever cheats.
func leaks(t *testing.T, season ingest.Season, from func(l *ledger) forecaster) (out []int) {
	t.Helper()
	told := func(s ingest.Season, i int) []float64 {
		l, err := newLedger(context.Background(), s, Defaults(boat))
		if err != nil {
			t.Fatal(err)
		}
		b := backtest{l: l, units: l.units(false)}
		u := b.units[i]
		f, err := from(l)(l.past(l.set, b.before(u)), u)
		if err != nil {
			t.Fatal(err)
		}
		var rates []float64
		for x := 0.0; x <= 1000; x += 20 {
			for y := 0.0; y <= 1000; y += 20 {
				v := r2.Vec{X: x, Y: y}
				rates = append(rates, f.perH(f.zoneAt(v), 4, ingest.Known(6+0.004*x)), f.lastAt(v))
			}
		}
		return append(rates, f.flatPerH, f.p.elsewherePerH, f.p.cooling.TauH, f.p.shape)
	}
	for i := 2; i < len(season.Days); i += 3 {
		other := season
		other.Days = slices.Clone(season.Days)
		for k := i; k < len(other.Days); k++ {
			strange := searched(uint64(900+k), 1, lake{12, 60, 5, 0}).Days[0]
			shift := noon.AddDate(0, 0, k).Sub(noon)
			for j := range strange.Tracks[0].Fixes {
				strange.Tracks[0].Fixes[j].Time = strange.Tracks[0].Fixes[j].Time.Add(shift)
			}
			for j := range strange.Soundings {
				strange.Soundings[j].Time = strange.Soundings[j].Time.Add(shift)
			}
			for j := range strange.Events {
				strange.Events[j].Time = strange.Events[j].Time.Add(shift)
			}
			strange.Date = other.Days[k].Date
			other.Days[k] = strange
		}
		if !reflect.DeepEqual(told(season, i), told(other, i)) {
			out = append(out, i)
		}
	}
	return out
}

func TestBacktestSeesNothingOfTheDayLeftOut(t *testing.T) {
	if testing.Short() {
		t.Skip("nothing of it runs at once")
	}
	season := searched(5, 9, lake{6, 12, 0.5, 0})
	if days := leaks(t, season, func(*ledger) forecaster { return honest }); len(days) > 0 {
		t.Errorf("the forecasts of days %v change with what came on them", days)
	}
	// Planted leaks, one at a time: an event of the day left out, an hour of its fishing, and the whole ledger.
	for name, leaky := range map[string]func(l *ledger) forecaster{
		"an event": func(l *ledger) forecaster {
			return func(past *analysis, u unit) (forecast, error) {
				if p := l.pages[u.from]; len(p.events) > 0 {
					e := p.events[0]
					e.day = 0
					past.events = append(past.events, e)
					past.chart.Events = append(past.chart.Events, spatial.EventMark{})
				}
				return honest(past, u)
			}
		},
		"a moment fished": func(l *ledger) forecaster {
			return func(past *analysis, u unit) (forecast, error) {
				m := l.pages[u.from].fishing[1][7]
				m.day = len(past.season.Days) - 1
				past.effort = append(past.effort, m)
				return honest(past, u)
			}
		},
		"all pages": func(l *ledger) forecaster {
			return func(_ *analysis, u unit) (forecast, error) {
				return honest(l.past(l.set, func(int) bool { return true }), u)
			}
		},
	} {
		if days := leaks(t, season, leaky); len(days) != 3 {
			t.Errorf("%s leaked: only the forecasts of days %v are told to change", name, days)
		}
	}
}

// Two days of the same drift over a school, and a third elsewhere; figures by hand.
func TestBacktestByHand(t *testing.T) {
	var s ingest.Season
	s.Zone = time.UTC
	for _, date := range []string{"2031-10-04", "2031-10-05", "2031-10-06"} {
		s.Days = append(s.Days, twoPlaces(date).Day)
	}
	b := tested(t, s, spatial.BacktestAsk{Seed: 1})
	if len(b.Units) != 3 || b.Earlier.Days != 2 || b.Others.Days != 3 || b.Units[0].Earlier != nil {
		t.Fatalf("%+v", b)
	}
	u := b.Units[1]
	// Nine catches on the three passes and five while holding; all lie where those of the day before did.
	if u.Earlier.Known != 1 || u.Events != 14 || u.Earlier.EventsIn != 14 {
		t.Errorf("second day: %+v %+v", u, *u.Earlier)
	}
	// Holding is 900 s of fishing inside; of each pass at 0.3 m/s the catches span 6 m, so the zone reaches over 56 m of it and of
	// the way back at 1.2 m/s, which counts as fishing as long as the catches don't say otherwise. Two holds of 900 and 3600 s,
	// three passes of 400 s, three ways back of 100 s. The edge of a zone is a raster's: a tenth.
	inside := (900 + 3*(56/0.3+56/1.2)) / 3600.0
	if math.Abs(u.Earlier.HoursIn-inside) > 0.1*inside {
		t.Errorf("hours inside %v, by hand %v", u.Earlier.HoursIn, inside)
	}
	if hours := (900 + 3600 + 3*(400+100)) / 3600.0; math.Abs(u.Hours-hours) > 0.03*hours {
		t.Errorf("hours %v, by hand %v", u.Hours, hours)
	}
	if u.Earlier.Given != 14 {
		t.Errorf("visits gave %v", u.Earlier.Given)
	}
	if b.Earlier.Verdict != spatial.TooFew || b.Earlier.Lift.Why == "" {
		t.Errorf("two days say nothing: %+v", b.Earlier.Lift)
	}
}

func TestBacktestUnits(t *testing.T) {
	l := &ledger{}
	for _, date := range []string{"2031-10-05", "2031-10-06", "2031-10-12", "2031-10-13", "2031-11-01"} { // Sunday, Monday, Sunday, Monday, Saturday
		l.pages = append(l.pages, page{date: date})
	}
	if got, want := l.units(true), []unit{{0, 1}, {1, 3}, {3, 4}, {4, 5}}; !slices.Equal(got, want) {
		t.Errorf("weeks %v, want %v", got, want)
	}
	if got := l.units(false); len(got) != 5 || got[4] != (unit{4, 5}) {
		t.Errorf("days %v", got)
	}
	s := searched(3, 16, lake{6, 12, 0.5, 0})
	b := tested(t, s, spatial.BacktestAsk{ByWeek: true, Seed: 1})
	if !b.ByWeek || len(b.Units) != 3 || b.Units[1].Earlier.Known != 2 || b.Units[1].From != "2031-10-06" || b.Units[1].To != "2031-10-12" || b.Units[2].Earlier.Known != 9 || b.Units[1].Others.Known != 9 {
		t.Errorf("%+v", b.Units)
	}
}

// The same on one processor and on many, and for records in another order.
func TestBacktestIsTheSameEachTime(t *testing.T) {
	s := searched(4, 8, lake{6, 12, 0.5, 0})
	ask := spatial.BacktestAsk{Seed: 1, Tune: true}
	first := tested(t, s, ask)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if one := tested(t, s, ask); !reflect.DeepEqual(first, one) {
		t.Error("one processor tells otherwise")
	}
}

// No day chooses its own settings: what was chosen for the days before it stays when its events change.
func TestBacktestTunesOnEarlierDaysOnly(t *testing.T) {
	if testing.Short() {
		t.Skip("two dozen backtests")
	}
	s := searched(6, 12, lake{6, 12, 0.5, 0})
	first := tested(t, s, spatial.BacktestAsk{Seed: 1, Tune: true}).Tuning
	last := len(s.Days) - 1
	s.Days = slices.Clone(s.Days)
	s.Days[last].Events = nil
	second := tested(t, s, spatial.BacktestAsk{Seed: 1, Tune: true}).Tuning
	chosen := func(t *spatial.Tuning) (n []int) {
		for _, x := range t.Tried {
			n = append(n, x.Chosen)
		}
		return n
	}
	if !slices.Equal(chosen(first), chosen(second)) {
		t.Errorf("chosen %v, without the last day's events %v", chosen(first), chosen(second))
	}
	usual, sum := 0, 0
	for _, x := range first.Tried {
		sum += x.Chosen
		if x.Usual {
			usual = x.Chosen
		}
	}
	if len(first.Tried) != len(tunedCasts)*len(tunedEvents) || sum != 11 || usual < leastTuned || first.Scored.Days != 11 {
		t.Errorf("%+v", first)
	}
}

func TestBacktestOfLittle(t *testing.T) {
	for name, s := range map[string]ingest.Season{
		"nothing":          {},
		"a day":            {Days: []ingest.Day{twoPlaces("2031-10-04").Day}},
		"days not tracked": {Days: []ingest.Day{{Date: "2031-10-04"}, {Date: "2031-10-05"}}},
	} {
		b := tested(t, s, spatial.BacktestAsk{Seed: 1})
		if b.Earlier.Days != 0 || b.Others.Days != 0 || b.Earlier.Verdict != spatial.TooFew || len(b.Units) != len(s.Days) {
			t.Errorf("%s: %+v", name, b)
		}
	}
	s := ingest.Season{Days: []ingest.Day{twoPlaces("2031-10-04").Day, {Date: "2031-10-05"}}}
	s.Days[1].Events = s.Days[0].Events // on a day without a track
	if b := tested(t, s, spatial.BacktestAsk{Seed: 1}); b.Earlier.LeftOut != 1 {
		t.Errorf("%+v", b.Earlier)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Backtest(ctx, s, Defaults(boat), spatial.BacktestAsk{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
