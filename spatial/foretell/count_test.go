package foretell

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

var poissonShape = math.Inf(1)

// A shape of 1 and a mean of 1 is the forecast of halves worked by hand in count.go.
func TestCountByHand(t *testing.T) {
	halves := Count{Mean: 1, Shape: 1}
	for x, want := range []struct {
		pit PIT
		rps float64
	}{{PIT{0, 0.5}, 1. / 3}, {PIT{0.5, 0.75}, 1. / 3}, {PIT{0.75, 0.875}, 5. / 6}} {
		p := halves.PIT(x)
		if !near(p.Low, want.pit.Low, 1e-15) || !near(p.High, want.pit.High, 1e-15) {
			t.Errorf("%d: %v, want %v", x, p, want.pit)
		}
		if got := halves.RPS(x); !near(got, want.rps, 1e-12) {
			t.Errorf("%d: %v, want %v", x, got, want.rps)
		}
	}
	// Sure of none: off by as many as came.
	for _, shape := range []float64{1, poissonShape} {
		for x := range 4 {
			if got := (Count{Shape: shape}).RPS(x); got != float64(x) {
				t.Errorf("sure of none, %d came: %v", x, got)
			}
		}
	}
}

// R 4.2.2. Poisson: the closed form with Bessel functions (Wei & Held, Calibration tests for count
// data, Test 23, 2014; from memory), (x-m)(2 ppois(x)-1) + 2m dpois(x) - m (I0+I1)(2m) e^-2m, for whole m.
// Negative binomial: pnbinom, and the sum of its squares over 200,001 terms.
func TestCountAgainstR(t *testing.T) {
	for _, c := range []struct {
		x           int
		mean, shape float64
		want        float64
	}{
		{0, 1, poissonShape, 0.476222388197},
		{3, 1, poissonShape, 1.52289624108},
		{2, 2.5, poissonShape, 0.36998228873},
		{10, 4, poissonShape, 4.89796551937},
		{30, 40, poissonShape, 6.68069494099},
		{400, 400, poissonShape, 4.67233887907},
		{800, 900, poissonShape, 83.0806188272},
		{0, 2, 0.5, 0.603750574355},
		{5, 2, 0.5, 2.53735015899},
		{3, 4, 2.5, 0.701066933194},
		{0, 100, 0.1, 11.6513698462},
		{12, 7.5, 30, 3.07360826652},
		{3, 1, 1e9, 1.52289624108}, // as good as Poisson: differs by some 1/shape
	} {
		by := 1e-11 * (1 + c.want) // twelve digits
		if c.shape == 1e9 {
			by = 1e-8
		}
		if got := (Count{c.mean, c.shape}).RPS(c.x); !near(got, c.want, by) {
			t.Errorf("%d of %v, %v: %.13g, want %v", c.x, c.mean, c.shape, got, c.want)
		}
	}
	for _, c := range []struct {
		x           int
		mean, shape float64
		want        PIT
	}{
		{0, 2, 0.5, PIT{0, 0.4472135955}},
		{5, 2, 0.5, PIT{0.855072394596, 0.891135698937}},
		{3, 4, 2.5, PIT{0.384880723818, 0.525186596882}},
		{12, 7.5, 30, PIT{0.897841981663, 0.937892920264}},
	} {
		if got := (Count{c.mean, c.shape}).PIT(c.x); !near(got.Low, c.want.Low, 1e-11) || !near(got.High, c.want.High, 1e-11) {
			t.Errorf("%d of %v, %v: %v, want %v", c.x, c.mean, c.shape, got, c.want)
		}
	}
}

// Proper: under the true forecast the mean score is least.
func TestRPSIsProper(t *testing.T) {
	truth := Count{Mean: 3, Shape: 2}
	mean := func(c Count) float64 {
		sum := 0.0
		for x := range 120 {
			p := truth.PIT(x)
			sum += (p.High - p.Low) * c.RPS(x)
		}
		return sum
	}
	best := mean(truth)
	for _, c := range []Count{{3, 1}, {3, 5}, {3, poissonShape}, {2.5, 2}, {3.5, 2}, {0, 1}} {
		if got := mean(c); got <= best {
			t.Errorf("%v scores %v, the truth %v", c, got, best)
		}
	}
}

func TestPITHistogram(t *testing.T) {
	for _, c := range []struct {
		name string
		pits []PIT
		want []float64
	}{
		{"by hand", []PIT{{0, 0.5}, {0.5, 0.75}}, []float64{0.25, 0.25, 0.5, 0}},
		{"none", nil, nil},
		// Each as often as foretold, of eight: flat whatever the bars.
		{"as foretold", []PIT{{0, 0.5}, {0, 0.5}, {0, 0.5}, {0, 0.5}, {0.5, 0.75}, {0.5, 0.75}, {0.75, 0.875}, {0.875, 1}}, []float64{0.25, 0.25, 0.25, 0.25}},
		{"held for impossible", []PIT{{1, 1}}, []float64{0, 0, 0, 1}},
		{"across bars", []PIT{{0.125, 0.625}}, []float64{0.25, 0.5, 0.25, 0}},
	} {
		got := PITHistogram(c.pits, 4)
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return near(a, b, 1e-12) }) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Counts that come as foretold give flat bars; forecasts of a sure mean when it is not sure give
// bars high at both ends.
func TestPITTellsTooSure(t *testing.T) {
	rng := rand.New(rand.NewPCG(321, 1))
	var right, sure []PIT
	for range 2000 {
		x := int(count(rng, 5*gamma(rng, 2)))
		right = append(right, Count{5, 2}.PIT(x))
		sure = append(sure, Count{5, poissonShape}.PIT(x))
	}
	// A bar of 2000/10 has at most the spread of a count, √(0.1 · 0.9/2000) = 0.0067: four of it.
	for _, b := range PITHistogram(right, 10) {
		if !near(b, 0.1, 0.027) {
			t.Errorf("right: %v", PITHistogram(right, 10))
		}
	}
	if h := PITHistogram(sure, 10); h[0] < 0.15 || h[9] < 0.15 || h[5] > 0.1 {
		t.Errorf("too sure: %v", h)
	}
}
