// Package rate counts events against time: credible intervals of a rate, and how
// surprising a cluster is. It knows no fish.
package rate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"leadline/spatial"
)

// PerHour returns events over hours with a 90 % credible interval.
//
// Events at a steady rate are a Poisson count; with Jeffreys' prior the rate
// given n events in h hours is Gamma with shape n + 1/2 and rate h (Brown, Cai &
// DasGupta, Interval estimation in exponential families, Statistica Sinica 13,
// 2003), and the interval is its 5 % and 95 % quantiles, the lower one 0 when n
// is 0. By hand: 2 events in 1 h give 2 per hour, 0.57 to 5.54, half the
// quantiles of chi-square with 5 degrees of freedom.
//
// Without hours there is no rate: OK is false. It panics on a negative argument.
func PerHour(events int, hours float64) spatial.Rate {
	if events < 0 || hours < 0 || math.IsNaN(hours) {
		panic("rate: negative events or hours")
	}
	if hours == 0 {
		return spatial.Rate{}
	}
	posterior := distuv.Gamma{Alpha: float64(events) + 0.5, Beta: hours}
	r := spatial.Rate{PerH: float64(events) / hours, HighPerH: posterior.Quantile(0.95), OK: true}
	if events > 0 {
		r.LowPerH = posterior.Quantile(0.05)
	}
	return r
}

// Weighed returns the rate of events that count more or less than one: the sum of their
// weights over hours, with the interval of as many equal events as are worth as much
// evidence, (Σw)²/Σw², each of weight Σw²/Σw (the scaled Poisson of Fay & Feuer, Confidence
// intervals for directly standardized rates, Stat. Med. 16, 1997; from memory). Weights of
// one give PerHour. Events of weight 0 count nothing.
//
// By hand: weights 1, 1 and 0.5 are worth 6.25/2.25 = 2.78 events of 0.9.
//
// Without hours there is no rate: OK is false. It panics on a negative argument.
func Weighed(weights []float64, hours float64) spatial.Rate {
	sum, squares := 0.0, 0.0
	for _, w := range weights {
		if w < 0 {
			panic("rate: negative weight")
		}
		sum += w
		squares += w * w
	}
	return Summed(sum, squares, hours)
}

// Summed is Weighed for events of which the sum of the weights and that of their squares
// are known.
func Summed(sum, squares, hours float64) spatial.Rate {
	if sum == 0 || hours == 0 {
		return PerHour(0, hours)
	}
	if !(sum > 0 && squares > 0 && hours > 0) {
		panic("rate: negative weights or hours")
	}
	each := squares / sum
	posterior := distuv.Gamma{Alpha: sum/each + 0.5, Beta: hours}
	return spatial.Rate{PerH: sum / hours, LowPerH: each * posterior.Quantile(0.05), HighPerH: each * posterior.Quantile(0.95), OK: true}
}

// LogLikelihoodRatio returns how much better "inside is richer than outside"
// explains inside of total events, expected of which were to be inside by
// chance, than "all the same": the Poisson scan statistic of Kulldorff (A
// spatial scan statistic, Commun. Stat. Theory Methods 26, 1997). It is
// 0 when there are no more than expected.
func LogLikelihoodRatio(inside, expected, total float64) float64 {
	if inside <= expected {
		return 0
	}
	llr := inside * math.Log(inside/expected)
	if inside < total {
		llr += (total - inside) * math.Log((total-inside)/(total-expected))
	}
	return llr
}

// PValue returns the share of outcomes, the observed one among them, that are at
// least as extreme: (1 + number of simulated ≥ observed) / (simulations + 1)
// (Dwass, Modified randomization tests for nonparametric hypotheses, Ann. Math.
// Stat. 28, 1957). It panics without simulations: there is no such p-value.
func PValue(observed float64, simulated []float64) float64 {
	if len(simulated) == 0 {
		panic("rate: a p-value needs simulations")
	}
	extreme := 1
	for _, s := range simulated {
		if s >= observed {
			extreme++
		}
	}
	return float64(extreme) / float64(len(simulated)+1)
}
