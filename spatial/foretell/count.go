package foretell

import (
	"cmp"
	"math"
	"slices"
)

// # Method
//
// Czado, Gneiting & Held (Predictive model assessment for count data, Biometrics 65, 2009)
// judge a forecast of a count, with P(k) the chance foretold of k or fewer, by two things.
//
// Is it as sure as it should be? When x came, the transform of it lies evenly between
// P(x-1) and P(x). The mean over all counts, cut into bars, is flat if the forecasts
// are right. Nothing is drawn by lot.
//
// By hand, a forecast of halves (1/2 for 0, 1/4 for 1, 1/8 for 2 …): 0 lies in 0 to 1/2, 1 in
// 1/2 to 3/4. After one 0 and one 1 four bars are 1/4, 1/4, 1/2 and 0.
//
// How far off was it? The ranked probability score, in events, 0 for one that was sure and
// right, and x off for one that was sure and off by x:
//
//	Σ over k from 0 of (P(k) - [x <= k])²
//
// By hand, the same forecast when 0 came: (1/2)² + (1/4)² + … = 1/3. When 2 came: (1/2)² +
// (3/4)² + (1/8)² + (1/16)² + … = 1/4 + 9/16 + 1/48 = 5/6.
//
// # Cost
//
// The count, or the mean and some tens of spreads above it, in terms.
//
// # What it does badly
//
// Some dozens of counts are needed before ten bars say anything. The bars of counts of one
// day lean together, and they have no interval here.

// A Count is the forecast of a whole count of events: a Poisson count whose mean is not
// known but has a Gamma distribution, so negative binomial, as the rates of package
// rate over a time have it. Its variance is Mean + Mean²/Shape. Shape, above 0, may be
// infinite: then it is a Poisson count of a known mean.
type Count struct {
	Mean  float64 // events
	Shape float64
}

func (c Count) check(x int) {
	if !(c.Mean >= 0) || math.IsInf(c.Mean, 1) || !(c.Shape > 0) || x < 0 {
		panic("foretell: no such count")
	}
}

// first is the logarithm of the chance of no event.
func (c Count) first() float64 {
	if math.IsInf(c.Shape, 1) {
		return -c.Mean
	}
	return -c.Shape * math.Log1p(c.Mean/c.Shape)
}

// step is the chance of k+1 over that of k, and where that goes as k grows: it falls to it
// or rises to it, never past.
func (c Count) step(k int) (ratio, limit float64) {
	if math.IsInf(c.Shape, 1) {
		return c.Mean / float64(k+1), 0
	}
	return (float64(k) + c.Shape) / (c.Shape + c.Mean) * (c.Mean / float64(k+1)), c.Mean / (c.Shape + c.Mean)
}

// A PIT is where a count that came lies in its forecast: the chances foretold of fewer,
// and of as many or fewer.
type PIT struct{ Low, High float64 }

// PIT returns where x lies. It panics when x or the mean is negative, or Shape not above 0.
// Right to 1e-11 (TestCountAgainstR).
func (c Count) PIT(x int) PIT {
	c.check(x)
	log, p := c.first(), PIT{}
	for k := 0; ; k++ {
		p.Low, p.High = p.High, min(1, p.High+math.Exp(log))
		if k == x {
			return p
		}
		ratio, _ := c.step(k)
		log += math.Log(ratio)
	}
}

// RPS returns the ranked probability score of the forecast, in events, when x came: at
// least 0, less is better. It panics as PIT does. What is left out of the sum is below 1e-14 of
// the score, plus one.
func (c Count) RPS(x int) float64 {
	c.check(x)
	log, below, score := c.first(), 0.0, 0.0
	for k := 0; ; k++ {
		p := math.Exp(log)
		below = min(1, below+p)
		off := below
		if k >= x {
			off = 1 - below
		}
		score += off * off
		ratio, limit := c.step(k)
		if q := max(ratio, limit); k >= x && q < 1 {
			// The chances left are below those of a series that falls by q each time.
			left := p * q / (1 - q)
			if left*left/(1-q*q) <= 1e-14*(1+score) {
				return score
			}
		}
		log += math.Log(ratio)
	}
}

// PITHistogram returns the share of the transforms, in any order, in each of so many bars
// of equal width from 0 to 1. They add up to 1. Nothing is changed. None give nil. It panics
// when there are no bars or one is not within 0 to 1, Low not above High.
func PITHistogram(pits []PIT, bars int) []float64 {
	if bars < 1 {
		panic("foretell: no bars")
	}
	if len(pits) == 0 {
		return nil
	}
	// In order, so that sums do not depend on how they came.
	pits = slices.Clone(pits)
	slices.SortFunc(pits, func(a, b PIT) int { return cmp.Or(cmp.Compare(a.Low, b.Low), cmp.Compare(a.High, b.High)) })
	out := make([]float64, bars)
	for _, p := range pits {
		if !(p.Low >= 0 && p.Low <= p.High && p.High <= 1) {
			panic("foretell: no such transform")
		}
		last := 0.0
		for j := range out {
			upTo := p.upTo(float64(j+1) / float64(bars))
			out[j] += (upTo - last) / float64(len(pits))
			last = upTo
		}
	}
	return out
}

// upTo is the part of the transform at or below u.
func (p PIT) upTo(u float64) float64 {
	switch {
	case u >= p.High:
		return 1
	case u <= p.Low:
		return 0
	}
	return (u - p.Low) / (p.High - p.Low)
}
