package foretell

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"leadline/spatial"
)

// near tells whether two numbers agree to that much.
func near(got, want, by float64) bool { return math.Abs(got-want) <= by }

// value is the figure of a few days, straight from its sums.
func value(m measure, days ...Day) (float64, bool) {
	rows := make([]sums, len(days))
	for i, d := range days {
		rows[i] = d.row()
	}
	e := resample(rows, 1, []measure{m})[0]
	return e.Value, e.OK
}

// The days worked by hand at the head of score.go.
var byHand = []Day{
	{Events: 10, EventsIn: 9, Hours: 10, HoursIn: 9, AreaM2: 1e6, AreaInM2: 1e4},
	{Events: 2, EventsIn: 1, Hours: 10, HoursIn: 2, AreaM2: 1e6, AreaInM2: 3e4},
}

func TestScoreByHand(t *testing.T) {
	r := Score(byHand, 1)
	for _, c := range []struct {
		name      string
		got       spatial.Estimate
		top, over float64
	}{
		{"hit rate", r.HitRate, 10, 12},
		{"share of hours", r.HoursShare, 11, 20},
		{"share of area", r.AreaShare, 4, 200},
		{"accuracy", r.Accuracy, 10 * 50, 12},
		{"pooled", r.LiftPooled, 10. / 11, 12. / 20},
		{"lift", r.Lift, 10, 9.4},
		{"outside", r.LiftOutside, 1.7, 1.1},
	} {
		if !c.got.OK || !near(c.got.Value, c.top/c.over, 1e-12) || c.got.Bounded || c.got.Why == "" {
			t.Errorf("%s: %+v, want %v without interval", c.name, c.got, c.top/c.over)
		}
	}
	if r.Verdict != spatial.TooFew || r.Days != 2 || r.Events != 12 || r.Hours != 20 || r.LeftOut != 0 {
		t.Errorf("%+v", r)
	}
}

// The person-time tables of a textbook's two strata as an epidemiology program prints them
// (OpenEpi, sample output): the rate ratio of each stratum is 6.927 (17 events in 100,025 against
// 3 in 122,268) and 7.939 (8 in 78,531 against 1 in 77,932), the crude one 7.008 (25 in
// 178,556 against 4 in 200,200). A day is a stratum, an hour a person-year.
func TestLiftOutsideAgainstTables(t *testing.T) {
	first := Day{Events: 20, EventsIn: 17, Hours: 222293, HoursIn: 100025}
	second := Day{Events: 9, EventsIn: 8, Hours: 156463, HoursIn: 78531}
	crude := Day{Events: 29, EventsIn: 25, Hours: 378756, HoursIn: 178556}
	for _, c := range []struct {
		day  Day
		want float64
	}{{first, 6.927}, {second, 7.939}, {crude, 7.008}} {
		if got, ok := value(liftOutside, c.day); !ok || !near(got, c.want, 5e-4) {
			t.Errorf("%v, want %v", got, c.want)
		}
	}
	// Both strata: by the formula, with a pocket calculator.
	in := 17*122268./222293 + 8*77932./156463
	out := 3*100025./222293 + 1*78531./156463
	if got, _ := value(liftOutside, first, second); !near(got, in/out, 1e-9) || got < 6.927 || got > 7.939 {
		t.Errorf("both: %v, want %v", got, in/out)
	}
}

// A day on which all bites and nearly all hours are inside must not pass for good places.
func TestLiftTakesTheDayOff(t *testing.T) {
	days := []Day{
		{Events: 10, EventsIn: 9, Hours: 10, HoursIn: 9},
		{Events: 1, EventsIn: 0.1, Hours: 10, HoursIn: 1},
	}
	if v, _ := value(lift, days...); !near(v, 1, 1e-12) {
		t.Errorf("lift %v, want 1", v)
	}
	if v, _ := value(liftOutside, days...); !near(v, 1, 1e-12) {
		t.Errorf("outside %v, want 1", v)
	}
	if v, _ := value(over(ratedNI, ratedN, ratedHI, ratedH), days...); !near(v, (9.1/10)/(11./20), 1e-12) {
		t.Errorf("pooled %v, want 1.65", v)
	}
}

func TestUndefined(t *testing.T) {
	ten := func(d Day) []Day { return slices.Repeat([]Day{d}, 10) }
	for _, c := range []struct {
		name                  string
		days                  []Day
		lift, outside, pooled bool // known
		bounded               bool // the lift
		leftOut               int
	}{
		{"no days", nil, false, false, false, false, 0},
		{"days of nothing", ten(Day{}), false, false, false, false, 0},
		{"no events", ten(Day{Hours: 5, HoursIn: 1}), false, false, false, false, 0},
		{"never inside", ten(Day{Hours: 5, Events: 3}), false, false, false, false, 0},
		{"always inside", ten(Day{Hours: 5, HoursIn: 5, Events: 3, EventsIn: 3}), false, false, true, false, 0},
		{"nothing outside", ten(Day{Hours: 5, HoursIn: 1, Events: 3, EventsIn: 3}), true, false, true, true, 0},
		{"nothing inside", ten(Day{Hours: 5, HoursIn: 1, Events: 3}), true, true, true, true, 0},
		{"inside without hours", ten(Day{Hours: 5, Events: 3, EventsIn: 1}), false, false, false, false, 10},
		{"outside without hours", ten(Day{Hours: 5, HoursIn: 5, Events: 3, EventsIn: 1}), false, false, false, false, 10},
		{"no hours", ten(Day{Events: 3}), false, false, false, false, 10},
		{"four days", ten(Day{Hours: 5, HoursIn: 1, Events: 3, EventsIn: 1})[:4], true, true, true, false, 0},
		{"five days", ten(Day{Hours: 5, HoursIn: 1, Events: 3, EventsIn: 1})[:5], true, true, true, true, 0},
		{"four of ten tell", append(ten(Day{Hours: 5, HoursIn: 1, Events: 3, EventsIn: 1})[:4], ten(Day{Hours: 5, Events: 3})[:6]...), true, true, true, false, 0},
	} {
		r := Score(c.days, 1)
		if r.Lift.OK != c.lift || r.LiftOutside.OK != c.outside || r.LiftPooled.OK != c.pooled ||
			r.Lift.Bounded != c.bounded || r.LeftOut != c.leftOut || (r.Verdict == spatial.TooFew) == c.bounded {
			t.Errorf("%s: %+v", c.name, r)
		}
		for _, e := range estimates(r) {
			checkEstimate(t, c.name, e)
		}
	}
}

func estimates(r spatial.Foretold) []spatial.Estimate {
	out := []spatial.Estimate{r.HitRate, r.HoursShare, r.AreaShare, r.Accuracy, r.Lift, r.LiftOutside, r.LiftPooled,
		r.OverFlat, r.OverLast, r.Coverage, r.Catch}
	for _, b := range r.ByKnown {
		out = append(out, b.Lift)
	}
	return out
}

// checkEstimate holds what is true of every estimate.
func checkEstimate(t *testing.T, name string, e spatial.Estimate) {
	t.Helper()
	for _, v := range []float64{e.Value, e.Low, e.High} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("%s: %+v is not finite", name, e)
		}
	}
	if e.Bounded && (!e.OK || e.Low > e.Value || e.High < e.Value || e.Days < LeastDays || e.Why != "") ||
		!e.Bounded && (e.Low != 0 || e.High != 0 || e.Why == "") || !e.OK && e.Value != 0 {
		t.Errorf("%s: %+v", name, e)
	}
}

// made returns a season: outside the places a rate per hour, inside lift times that;
// with spread, days differ, and inside and outside on each day too.
func made(rng *rand.Rand, days int, perH, ratio float64, spread bool) []Day {
	out := make([]Day, days)
	for i := range out {
		in, all := perH*ratio, perH
		if spread {
			day := gamma(rng, 2)
			in *= day * gamma(rng, 4)
			all *= day * gamma(rng, 4)
		}
		d := Day{Hours: 6, HoursIn: madeShares[rng.IntN(2)] * 6, AreaM2: 1e6, AreaInM2: 5e4, Known: i}
		d.EventsIn = count(rng, in*d.HoursIn)
		d.Events = d.EventsIn + count(rng, all*(d.Hours-d.HoursIn))
		d.FlatScore = LogLikelihood([]float64{perH}, []float64{d.Events}, []float64{perH}, []float64{d.Hours})
		d.LogScore, d.LastScore = d.FlatScore+0.1*d.EventsIn, d.FlatScore-0.2
		d.Asked, d.Covered, d.Expected, d.Given = 3, rng.IntN(4), perH*d.Hours, d.Events
		d.PIT = []PIT{Count{Mean: perH * d.Hours, Shape: 4}.PIT(int(d.Events))}
		out[i] = d
	}
	return out
}

var madeShares = [2]float64{0.2, 0.4}

// trueLift is the ratio of what is to be expected of the sums, with E[s] = 0.3 and
// E[s²] = 0.1: R E[s] / ((R-1) E[s²] + E[s]).
func trueLift(ratio float64) float64 { return ratio * 0.3 / ((ratio-1)*0.1 + 0.3) }

func TestScoreWhateverTheOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	days := made(rng, 23, 1.3, 2, true)
	want := Score(days, 7)
	for range 5 {
		mixed := slices.Clone(days)
		rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		kept := slices.Clone(mixed)
		if got := Score(mixed, 7); !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v\nwant %+v", got, want)
		}
		if !reflect.DeepEqual(mixed, kept) {
			t.Fatal("the days were changed")
		}
	}
	if got := Score(days, 8); reflect.DeepEqual(got.Lift, want.Lift) {
		t.Error("another seed, the same draws")
	}
}

// Laws: hours and areas in another unit leave every figure as it is, no lift is above its
// ceiling, and both lifts lead to one verdict.
func TestScoreLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for seed := range uint64(20) {
		days := made(rng, 5+rng.IntN(15), 0.2+rng.Float64(), 1+2*rng.Float64(), true)
		r := Score(days, seed)
		for _, e := range estimates(r) {
			checkEstimate(t, "made", e)
		}
		if most := 1 / madeShares[0]; r.Lift.Value > most+1e-9 || r.Lift.High > most+1e-9 {
			t.Errorf("lift %+v above its ceiling %v", r.Lift, most)
		}
		scaled := slices.Clone(days)
		for i := range scaled {
			d := &scaled[i]
			d.Hours, d.HoursIn, d.AreaM2, d.AreaInM2 = d.Hours*4, d.HoursIn*4, d.AreaM2*4, d.AreaInM2*4
		}
		s := Score(scaled, seed)
		for i, e := range estimates(r) {
			if got := estimates(s)[i]; !near(got.Value, e.Value, 1e-12*(1+math.Abs(e.Value))) || !near(got.High, e.High, 1e-9*(1+math.Abs(e.High))) {
				t.Errorf("figure %d: %+v, in other units %+v", i, e, got)
			}
		}
		// The choice of headline changes no verdict.
		if a, b := r.Lift.Against(1), r.LiftOutside.Against(1); a != b && b != spatial.TooFew {
			t.Errorf("lift %+v, outside %+v", r.Lift, r.LiftOutside)
		}
	}
}

func TestByKnown(t *testing.T) {
	var days []Day
	for _, known := range []int{12, 1, 2, 9, 2, 3, 4} { // the example of ByKnown
		days = append(days, Day{Known: known, Events: 2, EventsIn: 1, Hours: 4, HoursIn: 1})
	}
	for _, c := range []struct {
		least int
		want  [][3]int
	}{
		{3, [][3]int{{1, 2, 3}, {3, 12, 4}}},
		{2, [][3]int{{1, 2, 3}, {3, 4, 2}, {9, 12, 2}}},
		{7, [][3]int{{1, 12, 7}}},
		{8, nil},
	} {
		var got [][3]int
		for _, b := range ByKnown(days, c.least, 1) {
			got = append(got, [3]int{b.From, b.To, b.Days})
			if b.Lift.Value != 2 || b.Lift.Bounded != (b.Days >= LeastDays) || (b.Verdict == spatial.TooFew) == b.Lift.Bounded {
				t.Errorf("%+v", b)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("bins of %d: %v, want %v", c.least, got, c.want)
		}
	}
	// Days that tell nothing fill no bin: without an event, all inside, all outside.
	mixed := slices.Clone(days)
	for known, d := range map[int]Day{5: {Hours: 4, HoursIn: 1}, 6: {Events: 2, EventsIn: 2, Hours: 4, HoursIn: 4}, 7: {Events: 2, Hours: 4}} {
		d.Known = known
		mixed = append(mixed, d)
	}
	if b := ByKnown(mixed, 3, 1); len(b) != 2 || b[1].From != 3 || b[1].To != 12 || b[1].Days != 7 || b[1].Lift.Days != 4 {
		t.Errorf("%+v", b)
	}
	// Left out one by one all rest on as much: one bin.
	same := slices.Repeat([]Day{{Known: 6, Events: 2, EventsIn: 1, Hours: 4, HoursIn: 1}}, 30)
	if b := ByKnown(same, 5, 1); len(b) != 1 || b[0].Days != 30 {
		t.Errorf("%+v", b)
	}
}

// Log scores and catches of days: sums over sums.
func TestSkillAndCatchByHand(t *testing.T) {
	days := []Day{
		{Events: 3, Hours: 3, LogScore: 2*math.Log(2) + math.Log(0.5) - 3, FlatScore: -3, LastScore: -4, Expected: 4, Given: 3, Asked: 4, Covered: 3},
		{Hours: 1, LogScore: -0.5, FlatScore: -1, LastScore: -1, Expected: 1, Asked: 4, Covered: 4},
	}
	r := Score(days, 1)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"over flat", r.OverFlat.Value, (math.Ln2 + 0.5) / 3},
		{"over last", r.OverLast.Value, (math.Ln2 + 1 + 0.5) / 3},
		{"catch", r.Catch.Value, 0.6},
		{"coverage", r.Coverage.Value, 0.875},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		e    spatial.Estimate
		want spatial.Verdict
	}{
		{spatial.Estimate{Value: 2, OK: true}, spatial.TooFew},
		{spatial.Estimate{Value: 2, OK: true, Low: 0.9, High: 4, Bounded: true}, spatial.NoBetter},
		{spatial.Estimate{Value: 2, OK: true, Low: 1, High: 4, Bounded: true}, spatial.NoBetter},
		{spatial.Estimate{Value: 2, OK: true, Low: 1.1, High: 4, Bounded: true}, spatial.Better},
		{spatial.Estimate{Value: 0.5, OK: true, Low: 0.2, High: 0.9, Bounded: true}, spatial.Worse},
	} {
		if got := c.e.Against(1); got != c.want {
			t.Errorf("%+v: %v, want %v", c.e, got, c.want)
		}
	}
}

func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"more inside":     func() { Score([]Day{{Events: 1, EventsIn: 2}}, 1) },
		"negative":        func() { Score([]Day{{Hours: -1}}, 1) },
		"not a number":    func() { Score([]Day{{AreaM2: math.NaN()}}, 1) },
		"infinite score":  func() { Score([]Day{{LogScore: math.Inf(-1)}}, 1) },
		"held unasked":    func() { Score([]Day{{Covered: 1}}, 1) },
		"bins of nothing": func() { ByKnown(nil, 0, 1) },
		"lengths":         func() { LogLikelihood([]float64{1}, nil, nil, nil) },
		"rate":            func() { Mix(-1, 1) },
		"count":           func() { Count{Mean: 1, Shape: 0}.RPS(1) },
		"below no event":  func() { Count{Mean: 1, Shape: 1}.PIT(-1) },
		"transform":       func() { PITHistogram([]PIT{{0.5, 0.2}}, 4) },
		"bars":            func() { PITHistogram(nil, 0) },
		"share":           func() { Wilson(3, 2) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

// Days that compare nothing change neither lift nor its interval.
func TestSilentDays(t *testing.T) {
	days := made(rand.New(rand.NewPCG(9, 1)), 8, 1, 3, true)
	want := Score(days, 1)
	got := Score(append(slices.Clone(days), Day{Hours: 4, Events: 7}, Day{Hours: 4, HoursIn: 4, Events: 9, EventsIn: 9}, Day{Hours: 3, HoursIn: 2}), 1)
	if got.Lift != want.Lift || got.LiftOutside != want.LiftOutside || !got.Lift.Bounded {
		t.Errorf("%+v, want %+v", got.Lift, want.Lift)
	}
}

// Events on one day of ten: a third of seasons have none, and the gain per event could be anything.
func TestSeasonsWithoutValue(t *testing.T) {
	days := make([]Day, 10)
	for i := range days {
		days[i] = Day{Hours: 3, FlatScore: -1, AreaM2: 100, AreaInM2: 10}
	}
	days[3].Events, days[3].EventsIn = 5, 2
	r := Score(days, 1)
	for _, e := range []spatial.Estimate{r.OverFlat, r.Accuracy} { // the one by nothing, the other nothing by nothing
		if !e.OK || e.Bounded || e.Days != 10 || e.Why == "" {
			t.Errorf("%+v", e)
		}
	}
}
