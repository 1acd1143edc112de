package rate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"leadline/spatial"
)

// # Method
//
// Empirical Bayes (Marshall, Mapping disease and mortality rates using empirical Bayes
// estimators, Applied Statistics 40, 1991): how much do places differ, once the luck of
// few events is taken off, and what does that say of one with few? With n events in x
// hours at each of N places, and r = n/x:
//
//	b = Σn / Σx                          the lake's rate
//	s² = Σ x (r-b)² / Σx                 the spread seen
//	a = s² - b / (Σx/N), at least 0      less that of the counts: the spread between places
//	estimate = b + a (r-b) / (a + b/x)   far from b only with hours to show for it
//
// The same estimate is the mean of a Gamma of shape b²/a + n and rate b/a + x: the rates of
// places as a Gamma of mean b and variance a, and the counts as Poisson. Its
// quantiles are the interval.
//
// By hand: 3 events in 1 h and 1 in 3 h. b = 4/4 = 1; s² = (1·4 + 3·4/9)/4 = 4/3;
// a = 4/3 - 1/2 = 5/6. The first place: 1 + 5/6·2/(5/6 + 1) = 1.909, not 3.
//
// # Cost
//
// One pass over the places.
//
// # What it does badly
//
// b and a are taken for known, which they are not, and with few places or few events a is
// often 0 though the places differ. The estimate is still nearer the truth than n/x, but
// the interval is too narrow. In made lakes of 4 events an hour and an hour a place on average,
// where rates differ by half of that, the interval called 90 % held the true rate in 69 % of
// places when there were 10, 76 % of 20, 83 % of 40, where PerHour of the place alone did in
// 91 %; the estimate's error was 1.6 an hour, alone 2.6 (TestShrinkMadeLakes).
// A place that is truly unlike the others is drawn towards them. Neighbours are not asked.

// Prior is what all places together say of one of which nothing is known.
type Prior struct {
	MeanPerH float64 // b, the lake's rate
	Var      float64 // a, between places, in (1/h)²; 0 when chance explains all differences
	TotalN   float64 // all events
	TotalH   float64 // all hours
}

// sameVar is the share of b² below which a is rounding, and counts as 0: places then
// differ by less than a millionth of the lake's rate.
const sameVar = 1e-12

// Marshall returns the moment estimate from places' events and hours, whole or weighted,
// in any order; neither is changed. A place without hours is left out, with its events:
// they tell no rate. OK is false when no place has hours.
//
// It panics when counts and hours differ in length or one is negative or not finite.
func Marshall(counts, hours []float64) (Prior, bool) {
	if len(counts) != len(hours) {
		panic("rate: counts and hours differ in length")
	}
	var p Prior
	places := 0
	for i, n := range counts {
		checkCount(n, hours[i])
		if hours[i] > 0 {
			p.TotalN += n
			p.TotalH += hours[i]
			places++
		}
	}
	if places == 0 {
		return Prior{}, false
	}
	p.MeanPerH = p.TotalN / p.TotalH
	for i, n := range counts {
		if x := hours[i]; x > 0 {
			d := n/x - p.MeanPerH
			p.Var += x * d * d / p.TotalH
		}
	}
	p.Var -= p.MeanPerH * float64(places) / p.TotalH
	if p.Var < sameVar*p.MeanPerH*p.MeanPerH {
		p.Var = 0
	}
	return p, true
}

// Shrink returns the estimated rate per hour of a place with that many events in that
// many hours: between the lake's and its own, the lake's without hours, when events
// tell nothing. It panics on a negative or infinite argument.
func (p Prior) Shrink(count, hours float64) float64 {
	checkCount(count, hours)
	if hours == 0 || p.Var == 0 {
		return p.MeanPerH
	}
	return p.MeanPerH + p.Var*(count/hours-p.MeanPerH)/(p.Var+p.MeanPerH/hours)
}

// PerHour returns the rate per hour of a place, PerH as from Shrink, with the 5 % and
// 95 % quantiles of the Gamma above. Without hours that is the spread of all places. The
// interval is narrower than a true 90 % one: see above for how much.
//
// When Var is 0 all places have the lake's rate, and the interval is that of the lake's,
// from all events and hours with Jeffreys' prior, as in PerHour of this package.
//
// OK is false only for the zero Prior. It panics on a negative or infinite argument.
func (p Prior) PerHour(count, hours float64) spatial.Rate {
	checkCount(count, hours)
	if p.TotalH == 0 {
		return spatial.Rate{}
	}
	if hours == 0 {
		count = 0
	}
	r := spatial.Rate{PerH: p.Shrink(count, hours), OK: true}
	if p.Var == 0 {
		lake := distuv.Gamma{Alpha: p.TotalN + 0.5, Beta: p.TotalH}
		r.HighPerH = lake.Quantile(0.95)
		if p.TotalN > 0 {
			r.LowPerH = lake.Quantile(0.05)
		}
		return r
	}
	perVar := p.MeanPerH / p.Var
	place := distuv.Gamma{Alpha: p.Shape(count), Beta: perVar + hours}
	r.LowPerH, r.HighPerH = place.Quantile(0.05), place.Quantile(0.95)
	return r
}

// Shape returns the shape of the Gamma distribution of the rate of a place with that many events, whose mean is that
// of Shrink: the larger, the surer. When Var is 0 it is that of the lake's rate.
func (p Prior) Shape(count float64) float64 {
	if p.Var == 0 {
		return p.TotalN + 0.5
	}
	return p.MeanPerH*p.MeanPerH/p.Var + count
}

func checkCount(count, hours float64) {
	if !(count >= 0 && hours >= 0) || math.IsInf(count, 0) || math.IsInf(hours, 0) {
		panic("rate: negative or infinite count or hours")
	}
}
