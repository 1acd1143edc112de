// Package cool tells how a place cools off while it is fished, and when to leave it. It takes plain times and rates, and knows
// no lake.
package cool

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A school stays fired up for minutes.
//
// While a place is fished its rate falls as r exp(-t/tau), t since the arrival. How high r stands differs from visit to visit:
// r is drawn from a Gamma distribution with the place's mean and a shape that all visits of the season share; small shapes mean
// now all, now nothing.
//
// tau. Given how many events a visit of length D gave, their times are independent, each with the density of an
// exponential cut off at D, whatever r was. So the likelihood of q = 1/tau alone is
//
//	sum of log q - q t - log(1 - exp(-q D))
//
// and its maximum is where the mean of the times equals that of the cut exponentials. The standard error is that of the
// observed information. Cooling counts as learned when q is at least twice its standard error.
//
// Shape. Of visits with expected counts m and counts n, sum (n-m)² = sum m + sum m²/shape, solved for the shape.
//
// When to leave. After t with n events the rate to be expected is
//
//	(shape + n) / (shape/mean + tau (1 - exp(-t/tau))) exp(-t/tau)
//
// the Gamma's posterior mean, cooled. The marginal value theorem (Charnov 1976) says to leave when it falls to what the
// time is worth elsewhere, travel counted.
//
// By hand: mean 6 an hour, shape 1, tau 30 min, 2 an hour elsewhere. After 10 min without an event the expected
// rate is 1/(1/6 + 0.5 (1 - e^(-1/3))) e^(-1/3) = 2.32 an hour; after 12 it is 2.02, after 13 min it is below 2: leave after 12 and a
// bit.
//
// What it does badly: whoever leaves because the bites stopped makes visits that end in silence, and a place that only
// looks as if it cooled; tau is then too short. Events of one frenzy are not independent: the standard error is too small. A
// place that warms up again is not known.
//
// Sources: E. L. Charnov, Optimal foraging, the marginal value theorem, Theoretical Population Biology 9, 1976 (from memory);
// the likelihood of a cut exponential and the Gamma-Poisson posterior are textbook; the moment estimate is derived.

// A Visit is one stay at a place.
type Visit struct {
	LengthH float64
	AtH     []float64 // events, hours since the arrival
	MeanH   float64   // events an hour to be expected of the place at the arrival; 0: not known, and it says nothing of the shape
}

// A Cooling is how places cool off, as learned or as is usual.
type Cooling struct {
	TauH    float64
	Learned bool    // from Events in Visits; else TauH is the default
	PerH    float64 // q = 1/tau as estimated, per hour; may be 0 and below
	PerHSE  float64 // its standard error; 0 where there was nothing to learn from
	Events  int
	Visits  int // with an event
}

// Bounds on what is believed. DefaultTauH: autumn schools stay up for some half an hour under a boat; common practice, no
// source. Longer than mostTauH is no cooling that a day would show, shorter than leastTauH is a single frenzy.
const (
	DefaultTauH = 0.5
	leastTauH   = 5.0 / 60
	mostTauH    = 4.0
	fewest      = 20 // events to learn from
)

// Learn estimates the cooling from a season's visits. Events at or after the end of their visit, or before it, are left out.
// Cost: linear in events for each of some 60 halvings.
func Learn(visits []Visit) Cooling {
	c := Cooling{TauH: DefaultTauH}
	type piece struct{ d, sum, n float64 }
	var all []piece
	for _, v := range visits {
		p := piece{d: v.LengthH}
		for _, t := range v.AtH {
			if t >= 0 && t < v.LengthH {
				p.sum += t
				p.n++
			}
		}
		if p.n > 0 {
			all = append(all, p)
			c.Events += int(p.n)
			c.Visits++
		}
	}
	if c.Events < fewest {
		return c
	}
	// Score: observed less expected mean time, positive while q is too large.
	score := func(q float64) float64 {
		s := 0.0
		for _, p := range all {
			s += p.sum - p.n*cutMean(q, p.d)
		}
		return s
	}
	low, high := -1/leastTauH, 1/leastTauH
	for range 100 {
		if mid := (low + high) / 2; score(mid) > 0 {
			high = mid
		} else {
			low = mid
		}
	}
	c.PerH = (low + high) / 2
	info := 0.0
	for _, p := range all {
		info += p.n * cutVariance(c.PerH, p.d)
	}
	c.PerHSE = 1 / math.Sqrt(info)
	if c.PerH >= 2*c.PerHSE {
		c.Learned = true
		c.TauH = min(max(1/c.PerH, leastTauH), mostTauH)
	}
	return c
}

// cutMean is the mean of an exponential of rate q cut off at d: 1/q - d/(exp(qd)-1), and d/2 at q = 0. It falls as q rises.
func cutMean(q, d float64) float64 {
	x := q * d
	if math.Abs(x) < 1e-4 {
		return d * (0.5 - x/12)
	}
	return 1/q - d/math.Expm1(x)
}

// cutVariance is its variance: 1/q² - d² e^(qd)/(e^(qd)-1)², and d²/12 at q = 0.
func cutVariance(q, d float64) float64 {
	x := q * d
	if math.Abs(x) < 1e-3 {
		return d * d / 12
	}
	s := 2 * math.Sinh(x/2)
	return 1/(q*q) - d*d/(s*s)
}

// Bounds on the shape: below a quarter three visits in four give next to nothing; above mostShape visits are alike.
const (
	leastShape   = 0.25
	mostShape    = 20
	DefaultShape = 1 // an exponential: the usual visit gives less than the mean, a few give much; reasoned
	fewestVisits = 10
)

// Shape estimates how alike visits are, from those whose place's rate is known; ok is false with fewer than ten of these, and the shape then
// DefaultShape.
func Shape(visits []Visit, c Cooling) (shape float64, ok bool) {
	n, over, squares := 0, 0.0, 0.0
	for _, v := range visits {
		if v.MeanH <= 0 {
			continue
		}
		n++
		m := Expected(v.MeanH, c.TauH, v.LengthH)
		d := float64(len(v.AtH)) - m
		over += d*d - m
		squares += m * m
	}
	if n < fewestVisits {
		return DefaultShape, false
	}
	if over <= 0 {
		return mostShape, true
	}
	return min(max(squares/over, leastShape), mostShape), true
}

// Expected returns how many events a stay gives that begins at so many an hour: rate tau (1 - exp(-stay/tau)).
func Expected(perH, tauH, stayH float64) float64 {
	return -perH * tauH * math.Expm1(-stayH/tauH)
}

// RateAfter returns the events an hour to be expected at the end of so long a stay that gave n, at a place of that mean.
func RateAfter(meanPerH, shape, tauH, stayH float64, n int) float64 {
	return (shape + float64(n)) / (shape/meanPerH + Expected(1, tauH, stayH)) * math.Exp(-stayH/tauH)
}

// LeaveAfterH returns how long to stay, in hours, when the stay gave n events: until the rate to be expected has fallen
// to what the time is worth elsewhere; 0 when it begins there. It is off by a second at most.
func LeaveAfterH(meanPerH, shape, tauH, elsewherePerH float64, n int) float64 {
	if !(meanPerH > 0) || RateAfter(meanPerH, shape, tauH, 0, n) <= elsewherePerH {
		return 0
	}
	low, high := 0.0, 24.0
	if RateAfter(meanPerH, shape, tauH, high, n) > elsewherePerH {
		return high
	}
	for high-low > 1.0/3600 {
		if mid := (low + high) / 2; RateAfter(meanPerH, shape, tauH, mid, n) > elsewherePerH {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// BestStayH returns the stay that the marginal value theorem has for a place known for certain: until its rate is down to
// elsewherePerH, tau ln(mean/elsewhere).
func BestStayH(meanPerH, tauH, elsewherePerH float64) float64 {
	if meanPerH <= elsewherePerH {
		return 0
	}
	return tauH * math.Log(meanPerH/elsewherePerH)
}

// Chance returns the chance that a stay gives n events or fewer: a negative binomial.
func Chance(meanPerH, shape, tauH, stayH float64, n int) float64 {
	m := Expected(meanPerH, tauH, stayH)
	if m <= 0 {
		return 1
	}
	// P(N <= n) is the regularised incomplete beta function at shape/(shape+m).
	return distuv.Beta{Alpha: shape, Beta: float64(n) + 1}.CDF(shape / (shape + m))
}
