package foretell

import "math"

// # Method
//
// Events as a Poisson process whose rate per hour of effort depends on the place: the log
// likelihood is the sum of the logarithms of the rate where events came, less the events
// due in all hours fished (Daley & Vere-Jones, An Introduction to the Theory of Point
// Processes I, 2nd ed. 2003, ch. 7; from memory). The difference of two surfaces over the
// number of events says how much more likely, per event, the one makes what came: 0.69
// nats are twice. It is a proper score: in the long run no surface does better than the
// true one.
//
// By hand: one hour in a cell of 2 per hour with two events, two hours in one of 0.5 with
// one: 2 ln 2 + ln 0.5 - (2 + 1) = -2.307. Flat, at 1 per hour: 0 - 3 = -3. The
// surface is better by 0.693, or 0.231 per event.
//
// # What it does badly
//
// A day on which nothing bites anywhere is bad for all surfaces, most for the one that
// promised most in the hours fished: level and pattern are scored together. Events in one
// school are not a Poisson process, so a nat is not a proof; the interval by day is what
// to lean on. A weight of 3 counts as three events.

// MixShare is how much of a flat rate [Mix] puts in: 1 %. It bounds what one surprise
// costs, ln 100 = 4.6 nats against the flat rate, and takes ln(1/0.99) = 0.01 nats an event at
// most from a surface that had no need of it and promised as many events. A larger share
// bounds surprises more and dulls good surfaces.
const MixShare = 0.01

// Mix returns a rate per hour that is nowhere 0: 0.99 of the rate and 0.01 of the flat one.
// A surface with a rate of 0 where an event came has the score minus infinity, whatever
// it did elsewhere; a person's record is never sure enough for that. Use it on the
// rates of events and of cells alike, for the score to stay proper, and on the surface and
// on the last trip's catches both. Where the flat rate may be 0 too take one that can't
// be, (n + 1/2)/h.
//
// By hand: 0 and a flat rate of 2 give 0.02; 5 and 2 give 4.97.
//
// It panics when a rate is negative or not finite.
func Mix(ratePerH, flatPerH float64) float64 {
	checkRate(ratePerH)
	checkRate(flatPerH)
	return (1-MixShare)*ratePerH + MixShare*flatPerH
}

// LogLikelihood returns the log likelihood, in nats, of events at places with these rates
// per hour and of these weights, in effort of so many hours in cells with these rates per
// hour. Nothing is changed. Rates must be per hour for all surfaces compared; another unit
// adds the same to each. It is minus infinity when the rate is 0 where an event of
// weight above 0 came (see [Mix]). No events and no cells give 0.
//
// It panics when lengths differ or a figure is negative or not finite.
func LogLikelihood(ratePerHAtEvents, weights, ratePerHOfCells, hoursOfCells []float64) float64 {
	if len(ratePerHAtEvents) != len(weights) || len(ratePerHOfCells) != len(hoursOfCells) {
		panic("foretell: rates differ in number from what they are of")
	}
	sum := 0.0
	for i, r := range ratePerHAtEvents {
		checkRate(r)
		checkRate(weights[i])
		if weights[i] > 0 {
			sum += weights[i] * math.Log(r)
		}
	}
	for i, r := range ratePerHOfCells {
		checkRate(r)
		checkRate(hoursOfCells[i])
		sum -= r * hoursOfCells[i]
	}
	return sum
}

func checkRate(v float64) {
	if !(v >= 0) || math.IsInf(v, 1) {
		panic("foretell: a rate, weight or time is negative or not finite")
	}
}
