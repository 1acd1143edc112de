package band

import "leadline/spatial"

// # Method
//
// The hours that gave more than the rest, if the data carry that there are any:
//
//  1. Steps of equal length are cut into stretches of one steady rate (steps.go). One stretch: no window.
//  2. A stretch is cut again where nobody fished for an hour or more, and ends at what was fished: mornings and evenings
//     alike good are two stretches, and say nothing of noon.
//  3. Of those with at least three events the one with the highest rate is the best. Its neighbours are not
//     joined to it, even where their intervals overlap.
//  4. It is a window if the 5 % quantile of its rate lies above the rate of all other fishing.
//
// By hand: ten days from 6 to 12, so 5 h in each half hour; 5 events in each of the five from 7 to 9:30, 1 before
// and 4 after. With 12 steps the prior is 3.886. Cut at both, 25 ln(25/25) + ln(1/10) + 4 ln(4/25) = -9.63 less
// 11.66 is -21.29; cut at 9:30 only -22.83, not at all 30 ln(30/60) - 3.89 = -24.68. So 7 to 9:30: 1 an hour,
// at least 0.70, against 5/35 = 0.14.
//
// # Cost
//
// That of steps.go: half the square of the number of steps, 48 in a day of half hours.
//
// # What it does badly
//
// A second window, as good or nearly, is not told. The best of many stretches looks a little better than it is. Days
// are not told apart: one wild morning among ten can make the window. A rate that rises slowly is cut somewhere.

// leastEvents is what a window must rest on: two at a rate of 2 an hour may be 0.57 or 5.54 (rate.PerHour).
const leastEvents = 3

// gapH is how long a pause a window may span, in hours: less is a run to another spot or a meal, more is a time
// nobody tried.
const gapH = 1.0

// A Window is hours that gave more than the rest.
type Window struct {
	From    float64 // a whole number of steps
	To      float64
	Events  int
	EffortH float64      // over all days
	Rate    spatial.Rate // weight of the events per hour
	Rest    spatial.Rate // that of all other hours fished
}

// BestWindow returns the best window in steps of stepH hours. It is not ok when the rate does not change with the hour as
// far as the data tell, or no part of it has three events and a rate clearly above the rest: then there is no window.
//
// An event in a step never fished is counted in the one next to it, and left out when that wasn't fished either.
// Neither input is changed, their order does not matter. Nothing fished gives no window.
//
// It panics when stepH or a weight is not above 0, hours are negative, or anything is not finite.
func BestWindow(events []HourEvent, effort []HourEffort, stepH float64) (w Window, ok bool) {
	r, ok := rowOf(events, effort, stepH)
	if !ok {
		return Window{}, false
	}
	return r.best(gapH)
}

// best returns the window of a row that is not folded yet, gap being how long a pause it may span, in the unit of its step.
func (r row) best(gap float64) (w Window, ok bool) {
	r.fold(1)
	starts := r.steady()
	if len(starts) == 1 {
		return Window{}, false
	}
	from, to := 0, 0
	for _, s := range r.stretches(starts, gap) {
		t, h := r.sum(s[0], s[1])
		if t.n >= leastEvents && t.w/h > w.Rate.PerH {
			w = Window{From: r.edge(s[0]), To: r.edge(s[1]), Events: t.n, EffortH: h, Rate: t.perHour(h)}
			from, to = s[0], s[1]
		}
	}
	if w.Events == 0 {
		return Window{}, false
	}
	rest, h := r.sum(0, from)
	after, hAfter := r.sum(to, len(r.hours))
	rest.add(after)
	w.Rest = rest.perHour(h + hAfter)
	if w.Rate.LowPerH <= w.Rest.PerH {
		return Window{}, false
	}
	return w, true
}

// stretches returns the steps from the first fished to the one after the last fished of each steady stretch, cut where
// nobody fished for gap or more, in the unit of the step.
func (r row) stretches(starts []int, gap float64) (out [][2]int) {
	k := -1
	for i, h := range r.hours {
		begins := k+1 < len(starts) && i >= starts[k+1]
		if begins {
			k++
		}
		if h == 0 {
			continue
		}
		last := len(out) - 1
		if last < 0 || out[last][0] < starts[k] || float64(i-out[last][1])*r.step >= gap {
			out = append(out, [2]int{i, i})
			last++
		}
		out[last][1] = i + 1
	}
	return out
}
