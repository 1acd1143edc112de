package band

import "leadline/spatial"

// # Method
//
// The stretch of a drift line that gave more than the rest is found as the best window of the day is (window.go), with
// metres along the line for hours of the day: steps of equal length are cut where the rate changes, the best of what
// comes of that is taken, and it must lie clearly above the rest.
//
// By hand: ten passes of 160 m at 0.2 m/s are 500 s in each of 16 steps of 10 m. Four events in each of the six from 50 to
// 110 m, one at 15 m and one at 145 m. With 16 steps the prior is 4.02. In steps for hours, which changes no difference:
// cut at both, 24 ln(24/6) + 2 ln(1/5) = 30.05 less 12.07 is 17.98; cut at 50 only 10.87, not at all
// 26 ln(26/16) - 4.02 = 8.60. So 50 to 110 m: 24 in 3000 s, 28.8 an hour, at least 20.4, against 2 in 5000 s, 1.44. With
// half of the 24 it is -6.97 against -5.89, and no stretch.
//
// # Cost
//
// That of steps.go: half the square of the number of steps, some dozen in a line.
//
// # What it does badly
//
// What it does of the hours (window.go). A bite where the boat was is a cast off from where the fish was, and passes to
// one side of the line a few metres off: edges are no better than that, however short the steps. It takes some twenty
// events to see a third of a line that gives ten times the rest (TestStretchFound).

// gapM is how much of a line nobody fished a stretch may span, in metres: about a cast, so that what lies between was
// tried from one side or the other; common practice, no source.
const gapM = 20.0

// An AlongEvent is something caught or marked along a line.
type AlongEvent struct {
	M      float64 // along the line
	Weight float64 // what it counts; above 0, 1 for one proof
}

// AlongEffort is time fished around one place of a line: a piece short against the steps asked for, since all of it
// counts in the step that M lies in.
type AlongEffort struct {
	M     float64 // its middle, along the line
	Hours float64 // how long; at least 0
}

// A Stretch is part of a line that gave more than the rest.
type Stretch struct {
	FromM   float64 // along the line, a whole number of steps
	ToM     float64 // likewise: up to a step beyond the end of what was fished
	Events  int
	EffortH float64      // over all passes
	Rate    spatial.Rate // weight of the events per hour
	Rest    spatial.Rate // that of all else along the line
}

// BestStretch returns the stretch of a line that gave most for the time spent on it, in steps of stepM metres. It is not ok
// when the rate does not change along the line as far as the data tell, or no part of it has three events and a rate
// clearly above the rest: then nothing says that it is better anywhere.
//
// An event in a step never fished is counted in the one next to it, and left out when that wasn't fished either.
// Neither input is changed, their order does not matter. Nothing fished gives no stretch.
//
// It panics when stepM or a weight is not above 0, hours are negative, or anything is not finite.
func BestStretch(events []AlongEvent, effort []AlongEffort, stepM float64) (s Stretch, ok bool) {
	at, fished := make([]HourEvent, len(events)), make([]HourEffort, len(effort))
	for i, e := range events {
		at[i] = HourEvent{e.M, e.Weight}
	}
	for i, e := range effort {
		fished[i] = HourEffort{e.M, e.Hours}
	}
	r, ok := rowOf(at, fished, stepM)
	if !ok {
		return Stretch{}, false
	}
	w, ok := r.best(gapM)
	return Stretch{FromM: w.From, ToM: w.To, Events: w.Events, EffortH: w.EffortH, Rate: w.Rate, Rest: w.Rest}, ok
}
