package cool

import (
	"math"
	"math/rand/v2"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// The example at the head of the file.
func TestLeaveByHand(t *testing.T) {
	near(t, "after 10 min", RateAfter(6, 1, 0.5, 10.0/60, 0), 1/(1.0/6+0.5*(1-math.Exp(-1.0/3)))*math.Exp(-1.0/3), 1e-12)
	near(t, "after 10 min, figure", RateAfter(6, 1, 0.5, 10.0/60, 0), 2.323, 0.0005)
	near(t, "after 12 min, figure", RateAfter(6, 1, 0.5, 12.0/60, 0), 2.022, 0.0005)
	near(t, "leave", LeaveAfterH(6, 1, 0.5, 2, 0)*60, 12.2, 0.2)
	near(t, "at the leaving", RateAfter(6, 1, 0.5, LeaveAfterH(6, 1, 0.5, 2, 0), 0), 2, 0.01)
}

// Charnov's theorem for a gain of r tau (1 - exp(-t/tau)) and a travel time between like places: the best stay makes the
// marginal gain equal the gain over stay and travel (closed in no form; found here by trying every tenth of a second).
func TestMarginalValue(t *testing.T) {
	const r, tau, travel = 8.0, 0.4, 0.25
	best, at := 0.0, 0.0
	for s := 0.0; s < 3; s += 0.1 / 3600 {
		if g := Expected(r, tau, s) / (s + travel); g > best {
			best, at = g, s
		}
	}
	near(t, "best stay", BestStayH(r, tau, best), at, 1e-3)
	near(t, "a place no better", BestStayH(2, tau, 2), 0, 0)
}

// Events drawn from the model give its figures back: tau within three standard errors in 99 of 100 seasons or so, and the standard
// error is that of the draws.
func TestLearnWhatWasMade(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for _, tau := range []float64{0.25, 0.5, 1} {
		var z []float64
		for range 100 {
			c := Learn(made(r, 60, 8, 1.5, tau))
			if c.PerHSE > 0 {
				z = append(z, (c.PerH-1/tau)/c.PerHSE)
			}
		}
		mean, sq, out := 0.0, 0.0, 0
		for _, x := range z {
			mean += x / float64(len(z))
			sq += x * x / float64(len(z))
			if math.Abs(x) > 3 {
				out++
			}
		}
		// 100 draws: the mean is good to 0.1, the mean square to 0.14 (one standard deviation each).
		if math.Abs(mean) > 0.35 || math.Abs(sq-1) > 0.5 || out > 4 {
			t.Errorf("tau %v: mean error %.2f, mean square %.2f of standard errors, %d beyond three", tau, mean, sq, out)
		}
	}
	// No cooling is not learned as such, but in one season of forty (two standard errors, one side).
	learned := 0
	for range 200 {
		if Learn(made(r, 60, 5, 1.5, 1e6)).Learned {
			learned++
		}
	}
	if learned > 12 { // 5 expected, 12 has a chance of 1 in 250
		t.Errorf("%d of 200 seasons without cooling learned one", learned)
	}
	// Nor where there is little.
	if c := Learn(made(r, 3, 5, 1.5, 0.5)); c.Learned && c.Events < fewest || c.TauH <= 0 {
		t.Errorf("%+v", c)
	}
	if c := Learn(nil); c.TauH != DefaultTauH || c.Learned {
		t.Errorf("%+v", c)
	}
}

func TestShapeWhatWasMade(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, shape := range []float64{0.5, 1, 4} {
		var logs, n float64
		for range 40 {
			s, ok := Shape(made(r, 150, 8, shape, 0.5), Cooling{TauH: 0.5})
			if !ok {
				t.Fatal("not enough visits")
			}
			logs += math.Log(s)
			n++
		}
		if got := math.Exp(logs / n); got < shape/1.4 || got > shape*1.4 {
			t.Errorf("shape %v: got %v", shape, got)
		}
	}
	if s, ok := Shape(made(r, 5, 8, 1, 0.5), Cooling{TauH: 0.5}); ok || s != DefaultShape {
		t.Errorf("from five visits: %v, %v", s, ok)
	}
}

// made draws visits: mean events an hour at arrival, Gamma between visits, cooling with tau.
func made(r *rand.Rand, n int, mean, shape, tau float64) []Visit {
	var out []Visit
	for range n {
		v := Visit{LengthH: 0.3 + r.Float64(), MeanH: mean}
		rate := gamma(r, shape) * mean / shape
		for t := r.ExpFloat64() / rate; t < v.LengthH && rate > 0; t += r.ExpFloat64() / rate {
			if r.Float64() < math.Exp(-t/tau) {
				v.AtH = append(v.AtH, t)
			}
		}
		out = append(out, v)
	}
	return out
}

// gamma draws from a Gamma distribution of scale 1 (Marsaglia & Tsang 2000).
func gamma(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gamma(r, shape+1) * math.Pow(r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	for {
		x := r.NormFloat64()
		v := 1 + x/math.Sqrt(9*d)
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// The closed forms of the cut exponential, against sums over fine slices.
func TestCutExponential(t *testing.T) {
	for _, q := range []float64{-3, -1e-5, 0, 1e-5, 0.7, 5} {
		const d, n = 0.8, 200000
		w, m, s := 0.0, 0.0, 0.0
		for i := range n {
			x := (float64(i) + 0.5) * d / n
			p := math.Exp(-q * x)
			w += p
			m += p * x
			s += p * x * x
		}
		m /= w
		near(t, "mean", cutMean(q, d), m, 1e-8)
		near(t, "variance", cutVariance(q, d), s/w-m*m, 1e-7)
	}
}

// A negative binomial of mean 2 and shape 1 is geometric: P(N <= n) = 1 - (2/3)^(n+1).
func TestChance(t *testing.T) {
	for n := range 6 {
		near(t, "geometric", Chance(2/Expected(1, 0.5, 1), 1, 0.5, 1, n), 1-math.Pow(2.0/3, float64(n+1)), 1e-12)
	}
	near(t, "nothing to expect", Chance(0, 1, 0.5, 1, 0), 1, 0)
}

// More events keep one longer, a better place elsewhere shorter.
func TestLeaveLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for range 300 {
		mean, shape, tau, e := 0.5+10*r.Float64(), 0.3+3*r.Float64(), 0.1+r.Float64(), 0.2+3*r.Float64()
		for n := range 5 {
			a := LeaveAfterH(mean, shape, tau, e, n)
			if b := LeaveAfterH(mean, shape, tau, e, n+1); b < a {
				t.Fatalf("%d events: %v h, one more: %v h", n, a, b)
			}
			if b := LeaveAfterH(mean, shape, tau, e*1.2, n); b > a {
				t.Fatalf("better elsewhere: %v h, then %v h", a, b)
			}
		}
	}
}
