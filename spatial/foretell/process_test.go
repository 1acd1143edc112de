package foretell

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestLogLikelihood(t *testing.T) {
	for _, c := range []struct {
		name                      string
		at, weights, cells, hours []float64
		want                      float64
	}{
		{"by hand", []float64{2, 2, 0.5}, []float64{1, 1, 1}, []float64{2, 0.5}, []float64{1, 2}, 2*math.Log(2) + math.Log(0.5) - 3},
		{"by hand, by weight", []float64{2, 0.5}, []float64{2, 1}, []float64{2, 0.5}, []float64{1, 2}, -2.306852819440055},
		{"flat", []float64{1, 1, 1}, []float64{1, 1, 1}, []float64{1}, []float64{3}, -3},
		{"nothing", nil, nil, nil, nil, 0},
		{"no events", nil, nil, []float64{2, 0}, []float64{1, 9}, -2},
		{"surprise", []float64{0}, []float64{1}, []float64{1}, []float64{1}, math.Inf(-1)},
		{"surprise of no weight", []float64{0}, []float64{0}, []float64{1}, []float64{1}, -1},
		{"surprise, mixed", []float64{Mix(0, 2)}, []float64{1}, []float64{Mix(5, 2)}, []float64{1}, math.Log(0.02) - 4.97},
	} {
		if got := LogLikelihood(c.at, c.weights, c.cells, c.hours); got != c.want && !near(got, c.want, 1e-12) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Two surfaces differ by as much as the chances of the counts of their cells do, for the rest is
// the same. The first figure is R 4.2.2's dpois for the example by hand.
func TestLogLikelihoodAgainstCounts(t *testing.T) {
	hand := LogLikelihood([]float64{2, 0.5}, []float64{2, 1}, []float64{2, 0.5}, []float64{1, 2}) -
		LogLikelihood([]float64{1, 1}, []float64{2, 1}, []float64{1, 1}, []float64{1, 2})
	if !near(hand, 0.69314718056, 1e-11) {
		t.Errorf("%v", hand)
	}
	rng := rand.New(rand.NewPCG(11, 1))
	for range 50 {
		var n, hours, a, b []float64
		want := 0.0
		for range 1 + rng.IntN(8) {
			x, h, ra, rb := float64(rng.IntN(6)), 0.1+rng.Float64(), 0.1+3*rng.Float64(), 0.1+3*rng.Float64()
			n, hours, a, b = append(n, x), append(hours, h), append(a, ra), append(b, rb)
			want += distuv.Poisson{Lambda: ra * h}.LogProb(x) - distuv.Poisson{Lambda: rb * h}.LogProb(x)
		}
		if got := LogLikelihood(a, n, a, hours) - LogLikelihood(b, n, b, hours); !near(got, want, 1e-10) {
			t.Errorf("%v, want %v", got, want)
		}
	}
}

// Proper: what is to be expected of the score is greatest for the true surface; mixed it is at most
// ln(1/0.99) an event below, for the events due are as many.
func TestLogLikelihoodIsProper(t *testing.T) {
	truth, hours := []float64{0.2, 1, 4}, []float64{3, 2, 1}
	due, all := make([]float64, 3), 0.0
	for i := range truth {
		due[i] = truth[i] * hours[i] // the mean count is the weight
		all += due[i]
	}
	score := func(r []float64) float64 { return LogLikelihood(r, due, r, hours) }
	best := score(truth)
	rng := rand.New(rand.NewPCG(12, 1))
	for range 200 {
		other := make([]float64, 3)
		for i := range other {
			other[i] = truth[i] * math.Exp(rng.NormFloat64())
		}
		if s := score(other); s > best {
			t.Errorf("%v scores %v, the truth %v", other, s, best)
		}
	}
	mixed := make([]float64, 3)
	for i, r := range truth {
		mixed[i] = Mix(r, all/6)
	}
	if s := score(mixed); s > best || s < best+math.Log(1-MixShare)*all {
		t.Errorf("mixed %v, the truth %v", s, best)
	}
}
