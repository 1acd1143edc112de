package zone

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

// # Method
//
// Two schools at one place show in the depths of their fish. The noted depths, in order,
// are cut in two where that explains them best: two normal groups against one, by the
// Bayesian information criterion, the groups' shares, middles and spreads being
// parameters:
//
//	n ln s² - Σ nk ln sk² + 2 Σ nk ln(nk/n) - 3 ln n
//
// Above 10 it is very strong evidence (Kass & Raftery, Bayes factors, J. Am. Stat. Assoc.
// 90, 1995; from memory). An event without a note goes with the group whose hours it falls in,
// or is nearest to, where the hours of the groups lie apart; else with the noted event nearest
// to its place.
//
// By hand: six fish at 3 m and six at 8 m, each group spread by 0.3 m: s² is 6.25 + 0.09;
// 12 ln 6.34 - 12 ln 0.09 + 24 ln 0.5 - 3 ln 12 = 26.9.
//
// # What it does badly
//
// Hours alone part nothing: a school that feeds twice a day looks the same as two that
// feed once. More than two schools at one place stay two.

const (
	noteSpreadM = 0.3 // a depth read off a screen to the half foot is no better
	apartM      = 1   // groups nearer together than that are one band
	veryStrong  = 10
)

// Part tells the deeper group of a zone's events, by their noted depths, their hours of
// day and their places in metres, in any order; least is how many noted events each group must have. ok is
// false when there is one group.
func Part(at []r2.Vec, depthM, hour []ingest.Maybe, least int) (deeper []bool, ok bool) {
	var noted []int
	for i, d := range depthM {
		if d.OK {
			noted = append(noted, i)
		}
	}
	slices.SortStableFunc(noted, func(a, b int) int {
		switch {
		case depthM[a].V < depthM[b].V:
			return -1
		case depthM[a].V > depthM[b].V:
			return 1
		}
		return 0
	})
	v := make([]float64, len(noted))
	for k, i := range noted {
		v[k] = depthM[i].V
	}
	n := float64(len(v))
	cut, most := 0, veryStrong+0.0
	for k := max(least, 1); k <= len(v)-max(least, 1); k++ {
		if v[k]-v[k-1] < apartM {
			continue
		}
		a, b := float64(k), n-float64(k)
		gain := n*math.Log(spread2(v)) - a*math.Log(spread2(v[:k])) - b*math.Log(spread2(v[k:])) +
			2*a*math.Log(a/n) + 2*b*math.Log(b/n) - 3*math.Log(n)
		if gain > most {
			cut, most = k, gain
		}
	}
	if cut == 0 {
		return nil, false
	}
	deeper = make([]bool, len(depthM))
	for _, i := range noted[cut:] {
		deeper[i] = true
	}
	upperFrom, upperTo := hoursOf(hour, noted[:cut])
	lowerFrom, lowerTo := hoursOf(hour, noted[cut:])
	byHour := upperTo < lowerFrom || lowerTo < upperFrom
	for i, d := range depthM {
		switch {
		case d.OK:
		case byHour && hour[i].OK:
			deeper[i] = off(hour[i].V, lowerFrom, lowerTo) < off(hour[i].V, upperFrom, upperTo)
		default:
			deeper[i] = slices.Index(noted, nearest(at, i, noted)) >= cut
		}
	}
	return deeper, true
}

// nearest returns which of some places is nearest to place i; the first of equals.
func nearest(at []r2.Vec, i int, of []int) int {
	best := of[0]
	for _, j := range of {
		if r2.Norm2(r2.Sub(at[j], at[i])) < r2.Norm2(r2.Sub(at[best], at[i])) {
			best = j
		}
	}
	return best
}

// spread2 returns the variance of v, at least that of a note.
func spread2(v []float64) float64 {
	mean, sum := 0.0, 0.0
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	return math.Max(sum/float64(len(v)), noteSpreadM*noteSpreadM)
}

// hoursOf returns the range of the known hours; without one it spans all.
func hoursOf(hour []ingest.Maybe, of []int) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, i := range of {
		if hour[i].OK {
			from, to = math.Min(from, hour[i].V), math.Max(to, hour[i].V)
		}
	}
	if from > to {
		return math.Inf(-1), math.Inf(1)
	}
	return from, to
}

// off returns how far h is from a range.
func off(h, from, to float64) float64 { return math.Max(0, math.Max(from-h, h-to)) }
