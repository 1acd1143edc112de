package rate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// near tells whether two numbers agree to a share of the second.
func near(got, want, share float64) bool {
	return math.Abs(got-want) <= share*math.Abs(want)
}

// Figures of EBest of R package spdep 1.2-7, in R 4.2.2. They are printed to ten digits: half
// of the last is at most 5e-10 of the number, and 1e-9 leaves room for the sums.
func TestMarshallSmall(t *testing.T) {
	counts, hours := []float64{3, 0, 12, 5, 1}, []float64{100, 20, 500, 150, 300}
	p, ok := Marshall(counts, hours)
	if !ok || !near(p.Var, 3.525198707e-05, 1e-9) || !near(p.MeanPerH, 0.01962616822, 1e-9) ||
		p.TotalN != 21 || p.TotalH != 1070 {
		t.Errorf("%+v, %v", p, ok)
	}
	for i, want := range []float64{0.02120576473, 0.01894557765, 0.02169566237, 0.02253540878, 0.01392099022} {
		if got := p.Shrink(counts[i], hours[i]); !near(got, want, 1e-9) {
			t.Errorf("place %d: %v, want %v", i+1, got, want)
		}
	}
}

// places reads two columns.
func places(t *testing.T, rows []map[string]string, n, x string) (counts, hours []float64) {
	t.Helper()
	for _, row := range rows {
		counts, hours = append(counts, number(t, row[n])), append(hours, number(t, row[x]))
	}
	return counts, hours
}

func TestMarshallAuckland(t *testing.T) {
	rows := reference(t, "auckland.csv")
	counts, hours := places(t, rows, "n", "x")
	p, ok := Marshall(counts, hours)
	if !ok || len(rows) != 167 || !near(p.Var, 7.284172901e-07, 1e-9) || !near(p.MeanPerH, 0.002633436193, 1e-9) {
		t.Errorf("%d places, %+v, %v", len(rows), p, ok)
	}
	checked := 0
	for i, row := range rows {
		if row["estimate"] == "" {
			continue
		}
		checked++
		// Fifteen digits: 1e-12 is for sums of 167 in another order.
		if got, want := p.Shrink(counts[i], hours[i]), number(t, row["estimate"]); !near(got, want, 1e-12) {
			t.Errorf("place %d: %v, want %v", i+1, got, want)
		}
	}
	if checked < 100 {
		t.Errorf("only %d estimates", checked)
	}
}

func TestMarshallSIDS(t *testing.T) {
	counts, hours := places(t, reference(t, "sids74.csv"), "cases", "pop")
	p, _ := Marshall(counts, hours)
	if !near(p.Var, 7.692930647e-07, 1e-9) || !near(p.MeanPerH, 0.002021444894, 1e-9) {
		t.Errorf("%+v", p)
	}
	for _, c := range []struct{ n, x, want float64 }{
		{15, 1570, 0.004838804052},
		{44, 21588, 0.002036354566},
		{18, 3608, 0.003738443138},
	} {
		if got := p.Shrink(c.n, c.x); !near(got, c.want, 1e-9) {
			t.Errorf("%v of %v: %v, want %v", c.n, c.x, got, c.want)
		}
	}
}

func TestMarshallCases(t *testing.T) {
	for _, c := range []struct {
		name          string
		counts, hours []float64
		want          Prior
		ok            bool
	}{
		{"no places", nil, nil, Prior{}, false},
		{"no hours", []float64{0, 2}, []float64{0, 0}, Prior{}, false},
		{"no events", []float64{0, 0}, []float64{1, 3}, Prior{0, 0, 0, 4}, true},
		{"one place", []float64{6}, []float64{3}, Prior{2, 0, 6, 3}, true},
		{"all the same", []float64{2, 4, 6}, []float64{1, 2, 3}, Prior{2, 0, 12, 6}, true},
		{"the example", []float64{3, 1}, []float64{1, 3}, Prior{1, 5.0 / 6, 4, 4}, true},
		{"a place without hours", []float64{3, 7, 1}, []float64{1, 0, 3}, Prior{1, 5.0 / 6, 4, 4}, true},
	} {
		got, ok := Marshall(c.counts, c.hours)
		if ok != c.ok || got.MeanPerH != c.want.MeanPerH || !near(got.Var, c.want.Var, 1e-14) ||
			got.TotalN != c.want.TotalN || got.TotalH != c.want.TotalH {
			t.Errorf("%s: %+v, %v, want %+v, %v", c.name, got, ok, c.want, c.ok)
		}
	}
	p := Prior{1, 5.0 / 6, 4, 4}
	if got := p.Shrink(3, 1); math.Abs(got-21.0/11) > 1e-12 {
		t.Errorf("the example: %v, want 1 + 10/11", got)
	}
}

// An estimate lies between the place's own rate and the lake's, the nearer its own the
// more hours; PerHour has the mean of its Gamma, and holds it.
func TestShrinkLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1991, 40))
	varied := 0
	for range 200 {
		var counts, hours []float64
		for range 2 + rng.IntN(20) {
			h := 0.05 + rng.ExpFloat64()
			counts = append(counts, distuv.Poisson{Lambda: h * 5 * rng.ExpFloat64(), Src: rng}.Rand())
			hours = append(hours, h)
		}
		p, ok := Marshall(counts, hours)
		if !ok {
			t.Fatal("not ok")
		}
		for i, n := range counts {
			x := hours[i]
			own, got := n/x, p.Shrink(n, x)
			slack := 1e-12 * (own + p.MeanPerH)
			if got < min(own, p.MeanPerH)-slack || got > max(own, p.MeanPerH)+slack {
				t.Fatalf("%v of %v h with %+v: %v is not between", n, x, p, got)
			}
			r := p.PerHour(n, x)
			if !r.OK || r.PerH != got || !(r.LowPerH <= r.PerH && r.PerH <= r.HighPerH) || r.LowPerH < 0 {
				t.Fatalf("%v of %v h with %+v: %+v", n, x, p, r)
			}
			if p.Var == 0 {
				if got != p.MeanPerH {
					t.Fatalf("places alike, but %v, not %v", got, p.MeanPerH)
				}
				continue
			}
			varied++
			mean := distuv.Gamma{Alpha: p.MeanPerH*p.MeanPerH/p.Var + n, Beta: p.MeanPerH/p.Var + x}.Mean()
			if !near(got, mean, 1e-12) {
				t.Fatalf("%v, the mean of its Gamma is %v", got, mean)
			}
			more := p.Shrink(n*10, x*10)
			if math.Abs(more-own) > math.Abs(got-own)+slack {
				t.Fatalf("with ten times the hours %v is farther from %v than %v", more, own, got)
			}
			// Far more hours than b/a: the share left to the lake is b/(a x).
			long := 1e6 * p.MeanPerH / p.Var
			if most := p.Shrink(own*long, long); math.Abs(most-own) > 2e-6*math.Abs(own-p.MeanPerH)+slack {
				t.Fatalf("after %v h %v, want %v", long, most, own)
			}
		}
	}
	if varied < 500 {
		t.Errorf("only %d places of lakes that vary", varied)
	}
}

// The same chi-square values as TestPerHour has: a prior of mean 1 and variance 2 is
// Gamma(1/2, 1/2), so that 2 events in half an hour make Gamma(5/2, 1). Where all are
// alike it is the lake's interval, whatever the place's own.
func TestPriorPerHour(t *testing.T) {
	for _, c := range []struct {
		name                 string
		prior                Prior
		count, hours         float64
		mean, low, high, tol float64
	}{
		{"posterior", Prior{1, 2, 9, 9}, 2, 0.5, 2.5, 1.145 / 2, 11.070 / 2, 3e-4},
		{"never fished", Prior{1, 2.0 / 3, 9, 9}, 0, 0, 1, 0.352 / 3, 7.815 / 3, 3e-4},
		{"events without hours", Prior{1, 2.0 / 3, 9, 9}, 4, 0, 1, 0.352 / 3, 7.815 / 3, 3e-4},
		{"all alike", Prior{0.5, 0, 2, 4}, 9, 1, 0.5, 1.145 / 8, 11.070 / 8, 3e-4},
		{"no events at all", Prior{0, 0, 0, 4}, 0, 1, 0, 0, 3.841 / 8, 3e-4},
		// A shape of some 1e11 is as good as normal: 10 ± 1.645 · 3e-5.
		{"hardly any spread", Prior{10, 9e-10, 9, 9}, 0, 0, 10, 10 - 1.644854*3e-5, 10 + 1.644854*3e-5, 1e-9},
	} {
		r := c.prior.PerHour(c.count, c.hours)
		if !r.OK || math.Abs(r.PerH-c.mean) > 1e-12 ||
			math.Abs(r.LowPerH-c.low) > c.tol || math.Abs(r.HighPerH-c.high) > c.tol {
			t.Errorf("%s: %+v, want %v, %v to %v", c.name, r, c.mean, c.low, c.high)
		}
	}
	if r := (Prior{}).PerHour(1, 1); r.OK {
		t.Errorf("without a lake: %+v", r)
	}
}

// What shrink.go says of the interval and of the error, found with 3,000 made lakes of each
// kind. Of 200, lakes being right or wrong as a whole, the share held varies by 1 to 2 %.
func TestShrinkMadeLakes(t *testing.T) {
	for _, c := range []struct {
		places int
		holds  float64
	}{{10, 0.69}, {20, 0.76}, {40, 0.83}} {
		rng := rand.New(rand.NewPCG(1, uint64(c.places)))
		within, alone, all, shrunk, own := 0, 0, 0, 0.0, 0.0
		for range 200 {
			var counts, hours, truth []float64
			for range c.places {
				h := 0.2 + 0.8*rng.ExpFloat64()
				perH := distuv.Gamma{Alpha: 4, Beta: 1, Src: rng}.Rand() // mean 4, standard deviation 2
				counts = append(counts, distuv.Poisson{Lambda: perH * h, Src: rng}.Rand())
				hours, truth = append(hours, h), append(truth, perH)
			}
			p, _ := Marshall(counts, hours)
			for i, v := range truth {
				all++
				r := p.PerHour(counts[i], hours[i])
				if r.LowPerH <= v && v <= r.HighPerH {
					within++
				}
				if j := PerHour(int(counts[i]), hours[i]); j.LowPerH <= v && v <= j.HighPerH {
					alone++
				}
				shrunk += (r.PerH - v) * (r.PerH - v)
				own += (counts[i]/hours[i] - v) * (counts[i]/hours[i] - v)
			}
		}
		holds := float64(within) / float64(all)
		t.Logf("%d places: %.3f held, alone %.3f; error %.2f, alone %.2f", c.places, holds, float64(alone)/float64(all),
			math.Sqrt(shrunk/float64(all)), math.Sqrt(own/float64(all)))
		if math.Abs(holds-c.holds) > 0.04 || shrunk > own*0.6 {
			t.Errorf("%d places: %.3f held, want about %v; squared error %.2f, alone %.2f", c.places, holds, c.holds, shrunk, own)
		}
	}
}

func TestShrinkPanics(t *testing.T) {
	for name, call := range map[string]func(){
		"lengths":        func() { Marshall([]float64{1}, nil) },
		"negative count": func() { Marshall([]float64{-1}, []float64{1}) },
		"not a number":   func() { Marshall([]float64{1}, []float64{math.NaN()}) },
		"negative hours": func() { Prior{1, 1, 1, 1}.Shrink(1, -1) },
		"infinite count": func() { Prior{1, 1, 1, 1}.PerHour(math.Inf(1), 1) },
	} {
		mustPanic(t, name, call)
	}
}
