package foretell

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"leadline/spatial"
)

func gamma(rng *rand.Rand, shape float64) float64 {
	return distuv.Gamma{Alpha: shape, Beta: shape, Src: rng}.Rand()
}

func count(rng *rand.Rand, mean float64) float64 {
	return distuv.Poisson{Lambda: mean, Src: rng}.Rand()
}

// Newcombe, Two-sided confidence intervals for the single proportion, Stat. Med. 17, 1998,
// table I, method 3 (from memory, to four decimals), and R 4.2.2, prop.test(correct = FALSE),
// to all its digits.
func TestWilson(t *testing.T) {
	for _, c := range []struct{ count, of, low, high float64 }{
		{81, 263, 0.255288519878, 0.366209576983}, // 0.2553, 0.3662
		{15, 148, 0.0623863995307, 0.1604872417233},
		{0, 20, 0, 0.161125158053}, // 0.0000, 0.1611
		{1, 29, 0.00611321429276, 0.17175521879320},
		{10, 10, 0.722467200137, 1},
	} {
		low, high, ok := Wilson(c.count, c.of)
		if !ok || !near(low, c.low, 1e-11) || !near(high, c.high, 1e-11) {
			t.Errorf("%v of %v: %v to %v, want %v to %v", c.count, c.of, low, high, c.low, c.high)
		}
	}
	if _, _, ok := Wilson(0, 0); ok {
		t.Error("none of none has an interval")
	}
}

// R 4.2.2: pnorm(-sqrt(n/(n-1)) * qt(0.975, n-1)).
func TestTail(t *testing.T) {
	for n, want := range map[int]float64{5: 0.000954100551882, 10: 0.00855063902441, 20: 0.0158808299203} {
		if got := tail(n); !near(got, want, 1e-9) {
			t.Errorf("%d days: %v, want %v", n, got, want)
		}
	}
}

// R 4.2.2: qgamma(c(.025, .975), 3.5), qgamma(.975, .5).
func TestPoissonInterval(t *testing.T) {
	if low, high := poisson(3); !near(low, 0.844934590339, 1e-9) || !near(high, 8.006382137315, 1e-9) {
		t.Errorf("3: %v to %v", low, high)
	}
	if low, high := poisson(0); low != 0 || !near(high, 2.51194309366, 1e-9) {
		t.Errorf("0: %v to %v", low, high)
	}
}

// With five days the 126 seasons can be counted. The interval's low end is the worst of 2,000: 1.4
// or less, since 21 of 3,125 draws are (1, 5 and 15 for 1, 1.2 and 1.4), so missing in one of a million seeds.
func TestFiveDays(t *testing.T) {
	var days []Day
	for _, in := range []float64{1, 2, 3, 4, 5} {
		days = append(days, Day{Events: 1000, EventsIn: in * 100, Hours: 10, HoursIn: 1})
	}
	e := Score(days, 1).Lift
	if e.Value != 3 || e.Low < 1 || e.Low > 1.4 || e.High > 5 || e.High < 4.6 {
		t.Errorf("%+v", e)
	}
}

// Nothing inside on any day: the seasons drawn are all alike, what came is not proof of nothing.
// 0 of 20 leave up to 0.1611 open (Newcombe, as above), and a fifth of the hours was inside.
func TestCountsAloneWiden(t *testing.T) {
	days := make([]Day, 10)
	for i := range days {
		days[i] = Day{Events: 2, Hours: 5, HoursIn: 1, Expected: 1}
	}
	r := Score(days, 1)
	if e := r.Lift; e.Value != 0 || e.Low != 0 || !near(e.High, 5*0.161125158053, 1e-9) || r.Verdict != spatial.Worse {
		t.Errorf("%+v", e)
	}
	if e := r.Catch; !near(e.High, 0.251194309366, 1e-9) {
		t.Errorf("%+v", e)
	}
	for i := range days {
		days[i].Events = 0.5 // 0 of 5: up to 0.4345
	}
	if r := Score(days, 1); r.Verdict != spatial.NoBetter {
		t.Errorf("five events: %+v", r.Lift)
	}
}

// Of 300 made seasons the interval called 95 % must hold the truth in 270; 285 would be right, and
// 277 to 293 chance.
func TestIntervalsHoldTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for _, c := range []struct {
		name   string
		days   int
		perH   float64
		ratio  float64
		spread bool
	}{
		{"10 even days, no places", 10, 1, 1, false},
		{"20 even days, no places", 20, 1, 1, false},
		{"10 days, no places", 10, 1, 1, true},
		{"20 days, no places", 20, 1, 1, true},
		{"10 even days, three times", 10, 1, 3, false},
		{"20 even days, three times", 20, 1, 3, false},
		{"10 days, three times", 10, 1, 3, true},
		{"20 days, three times", 20, 1, 3, true},
		{"10 days, an event each, no places", 10, 1. / 6, 1, true},
		{"10 days, an event each, three times", 10, 1. / 6, 3, true},
		{"5 days, no places", 5, 1, 1, true},
		{"5 days, three times", 5, 1, 3, true},
	} {
		const seeds = 300
		held, asked, far := [2]int{}, [2]int{}, [2]int{}
		truths := [2]float64{trueLift(c.ratio), c.ratio}
		for seed := range uint64(seeds) {
			days := made(rand.New(rand.NewPCG(seed, 95)), c.days, c.perH, c.ratio, c.spread)
			rows := make([]sums, len(days))
			for i, d := range days {
				rows[i] = d.row()
			}
			for k, e := range resample(rows, seed, []measure{lift, liftOutside}) {
				if e.Bounded {
					asked[k]++
					if e.Low <= truths[k] && truths[k] <= e.High {
						held[k]++
					}
					if e.Against(1) == spatial.Better {
						far[k]++
					}
				}
			}
		}
		t.Logf("%-38s lift %d of %d (better %d), outside %d of %d (%d)", c.name,
			held[0], asked[0], far[0], held[1], asked[1], far[1])
		for k, name := range []string{"lift", "outside"} {
			if held[k]*10 < asked[k]*9 {
				t.Errorf("%s: %s: held in %d of %d", c.name, name, held[k], asked[k])
			}
		}
		if c.perH == 1 && c.days >= 10 && asked[0] != seeds {
			t.Errorf("%s: an interval in %d of %d", c.name, asked[0], seeds)
		}
	}
}

// Where good days are those with more hours inside, pooled lift sees places that are not there, and the
// lift by day doesn't.
func TestGoodDaysAreNotGoodPlaces(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	const seeds = 200
	var lifts, pooled int
	for seed := range uint64(seeds) {
		rng := rand.New(rand.NewPCG(seed, 40))
		rows := make([]sums, 20)
		for i := range rows {
			d := Day{Hours: 6, HoursIn: 1}
			perH := 0.5
			if rng.IntN(2) == 0 {
				d.HoursIn, perH = 5, 2.5
			}
			d.EventsIn = count(rng, perH*d.HoursIn)
			d.Events = d.EventsIn + count(rng, perH*(d.Hours-d.HoursIn))
			rows[i] = d.row()
		}
		e := resample(rows, seed, []measure{lift, over(ratedNI, ratedN, ratedHI, ratedH)})
		if e[0].Against(1) == spatial.Better {
			lifts++
		}
		if e[1].Against(1) == spatial.Better {
			pooled++
		}
	}
	t.Logf("of %d seasons without places: %d better by lift, %d by pooled lift", seeds, lifts, pooled)
	if lifts > seeds/20 || pooled < seeds/2 {
		t.Errorf("%d better by lift, %d by pooled lift", lifts, pooled)
	}
}

func BenchmarkScore(b *testing.B) {
	days := made(rand.New(rand.NewPCG(1, 1)), 60, 1, 3, true)
	for b.Loop() {
		Score(days, 1)
	}
}
