package rate

import (
	"math"
	"testing"
)

// The Gamma quantiles are halves of chi-square ones. Critical values of
// chi-square as handbooks print them (three decimals; from memory, such as
// NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4), for an odd
// number 2n + 1 of degrees of freedom.
func TestPerHour(t *testing.T) {
	for _, c := range []struct {
		events            int
		chi2Low, chi2High float64 // 5 % and 95 %
	}{
		{0, 0, 3.841},
		{1, 0.352, 7.815},
		{2, 1.145, 11.070},
		{5, 4.575, 19.675},
		{14, 17.708, 42.557},
	} {
		for _, hours := range []float64{1, 4, 0.25} {
			r := PerHour(c.events, hours)
			if !r.OK || r.PerH != float64(c.events)/hours ||
				math.Abs(r.LowPerH*hours*2-c.chi2Low) > 6e-4 || math.Abs(r.HighPerH*hours*2-c.chi2High) > 6e-4 {
				t.Errorf("%d events in %v h: %+v, want %v to %v over %v h", c.events, hours, r, c.chi2Low/2, c.chi2High/2, hours)
			}
		}
	}
}

func TestPerHourWithoutHours(t *testing.T) {
	if r := PerHour(3, 0); r.OK || r.PerH != 0 {
		t.Errorf("%+v, want unknown", r)
	}
}

// Figures of the Poisson log likelihood ratio computed with R 4.2.2 from
// Kulldorff's formula; the last line is the New York leukaemia cluster that the
// tests of R package smerc give with a log likelihood ratio of 11.577255 (26 tracts
// of Waller & Gotway 2004, whole cases).
func TestLogLikelihoodRatio(t *testing.T) {
	for _, c := range []struct {
		inside, expected, total float64
		want                    float64
	}{
		{10, 4, 100, 3.354440416},
		{5, 5, 50, 0},
		{3, 0.5, 3, 5.375278408},
		{0, 2, 10, 0},
		{2, 4, 10, 0},
		{317, 246.54754790, 667, 15.48758414}, // North Carolina SIDS 1974, 39 counties
		{85, 49.71049464, 552, 11.57725514},
	} {
		if got := LogLikelihoodRatio(c.inside, c.expected, c.total); math.Abs(got-c.want) > 1e-8 {
			t.Errorf("%v of %v, %v expected: %.9f, want %.9f", c.inside, c.total, c.expected, got, c.want)
		}
	}
}

func TestPValue(t *testing.T) {
	sims := make([]float64, 999)
	for i := range sims {
		sims[i] = float64(i) // 0 to 998
	}
	for _, c := range []struct{ observed, want float64 }{
		{1000, 0.001}, {998, 0.002}, {0, 1}, {499, 0.501},
	} {
		if got := PValue(c.observed, sims); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("observed %v: p = %v, want %v", c.observed, got, c.want)
		}
	}
}

// Equal weights scale the rate of the plain count; one heavy event is less evidence than
// many light ones of the same sum.
func TestWeighed(t *testing.T) {
	for _, n := range []int{0, 1, 5, 14} {
		ones, halves := make([]float64, n), make([]float64, n)
		for i := range ones {
			ones[i], halves[i] = 1, 0.5
		}
		plain, one, half := PerHour(n, 2), Weighed(ones, 2), Weighed(halves, 2)
		if one != plain {
			t.Errorf("%d events: %+v, want %+v", n, one, plain)
		}
		if n > 0 && (math.Abs(half.PerH-plain.PerH/2) > 1e-12 || math.Abs(half.LowPerH-plain.LowPerH/2) > 1e-12 || math.Abs(half.HighPerH-plain.HighPerH/2) > 1e-12) {
			t.Errorf("%d halves: %+v, want half of %+v", n, half, plain)
		}
	}
	mixed, even := Weighed([]float64{4, 0.5, 0.5}, 2), Weighed([]float64{1, 1, 1, 1, 1}, 2)
	if mixed.PerH != even.PerH || mixed.HighPerH <= even.HighPerH || mixed.LowPerH >= even.LowPerH {
		t.Errorf("%+v is no less sure than %+v", mixed, even)
	}
	if Weighed([]float64{1}, 0).OK {
		t.Error("a rate without hours")
	}
}
