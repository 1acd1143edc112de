package band

import (
	"cmp"
	"math"
	"slices"

	"leadline/spatial"
	"leadline/spatial/rate"
)

// # Method
//
// A row of cells of equal step holds events and hours, and is cut into stretches of one
// steady rate:
//
//  1. Events in a cell without hours are counted in the nearest cell with hours; of two
//     as near, the lower one.
//  2. A cell of less than a minute is joined with the fished one after it, until they have a
//     minute together; the last with the one before. An event in a short cell looks like a burst.
//  3. Bayesian blocks over what came of that (package rate). Cells without hours between two
//     fished ones are shared between them at the middle.
//
// Weighted events are worth (Σw)²/Σw² events of the same weight (Kish, Survey Sampling,
// 1965), so 2 2 2 are worth three and 4 1 1 two. All weights are scaled by Σw/Σw² to
// add up to that before they are compared with chance; weights of 1 stay 1.
//
// By hand, steps of 1: hours 1, 0, 0, 0.01, 1 with an event in the second. It is counted in
// the first. Joined cells are the first two and the last three: 1 and 1.01 h.
//
// # Cost
//
// One pass over events and hours, and that of rate.Blocks for the cells.
//
// # What it does badly
//
// Joining short cells blurs an edge there by the cells joined. Scaled weights are whole
// events only on average: a heavy one still counts for more than one in its own cell.

const (
	// leastH is the least time in a cell: a minute, a cast or two. Less lets one lucky
	// cast stand as a burst, more blurs the edges of what was fished briefly.
	leastH = 1.0 / 60
	// p0 is about the chance to see a change where there is none: the usual one in twenty.
	p0 = 0.05
)

// A mark is an amount, of events or of hours, at a place along the row.
type mark struct{ at, amount float64 }

// inOrder sorts marks, so that sums don't depend on the order they came in. It panics
// where one is not finite, or its amount negative.
func inOrder(marks []mark) []mark {
	for _, m := range marks {
		if math.IsNaN(m.at) || math.IsInf(m.at, 0) || !(m.amount >= 0) || math.IsInf(m.amount, 0) {
			panic("band: a place that is not finite, or a negative or infinite weight or time")
		}
	}
	slices.SortFunc(marks, func(a, b mark) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.amount, b.amount))
	})
	return marks
}

// A tally is weighted events.
type tally struct {
	n     int
	w, w2 float64 // sums of the weights and of their squares
}

func (t *tally) add(o tally) { t.n, t.w, t.w2 = t.n+o.n, t.w+o.w, t.w2+o.w2 }

// scale is what makes the weights add up to what they are worth.
func (t tally) scale() float64 {
	if t.w2 == 0 {
		return 1
	}
	return t.w / t.w2
}

// perHour returns weight per hour with its 90 % interval.
func (t tally) perHour(hours float64) spatial.Rate { return rate.Summed(t.w, t.w2, hours) }

// A row is cells of equal step.
type row struct {
	first int // cell i lies from (first+i) step to (first+i+1) step
	step  float64
	tally []tally
	hours []float64
}

// newRow returns empty cells that cover lo to hi, at least one.
func newRow(lo, hi, step float64) row {
	if !(step > 0) || math.IsInf(step, 0) {
		panic("band: a step must be above 0")
	}
	first := int(math.Floor(lo / step))
	n := max(1, int(math.Ceil(hi/step))-first)
	return row{first: first, step: step, tally: make([]tally, n), hours: make([]float64, n)}
}

// cell returns the index of the cell of a place. One at an edge belongs to the cell after
// it; one at the end of the row to the last.
func (r row) cell(at float64) int {
	return min(max(int(math.Floor(at/r.step))-r.first, 0), len(r.hours)-1)
}

// edge returns where cell i begins.
func (r row) edge(i int) float64 { return float64(r.first+i) * r.step }

// count adds events.
func (r row) count(events []mark) {
	for _, e := range events {
		r.tally[r.cell(e.at)].add(tally{1, e.amount, e.amount * e.amount})
	}
}

// fold moves events of cells without hours to the nearest cell with hours, and drops those
// with none within reach cells.
func (r row) fold(reach int) {
	for i, t := range r.tally {
		if t.n == 0 || r.hours[i] > 0 {
			continue
		}
		r.tally[i] = tally{}
		for d := 1; d <= reach; d++ {
			if i-d >= 0 && r.hours[i-d] > 0 {
				r.tally[i-d].add(t)
				break
			}
			if i+d < len(r.hours) && r.hours[i+d] > 0 {
				r.tally[i+d].add(t)
				break
			}
		}
	}
}

// joined returns the first cell of each stretch of cells with a minute of hours, the first
// 0; one stretch when all hours are less.
func (r row) joined() []int {
	starts, before, have := []int{0}, -1, 0.0
	for i, h := range r.hours {
		if h == 0 {
			continue
		}
		if have >= leastH {
			starts, have = append(starts, (before+i)/2+1), 0
		}
		have += h
		before = i
	}
	if have < leastH && len(starts) > 1 {
		starts = starts[:len(starts)-1]
	}
	return starts
}

// sum returns events and hours of the cells from up to, but not with, to.
func (r row) sum(from, to int) (t tally, hours float64) {
	for i := from; i < to; i++ {
		t.add(r.tally[i])
		hours += r.hours[i]
	}
	return t, hours
}

// steady returns the first cell of each stretch of one steady rate, the first 0. The row must be folded.
func (r row) steady() []int {
	all, hours := r.sum(0, len(r.hours))
	if hours == 0 {
		return []int{0}
	}
	joined := r.joined()
	counts, exposure := make([]float64, len(joined)), make([]float64, len(joined))
	for k, from := range joined {
		to := len(r.hours)
		if k+1 < len(joined) {
			to = joined[k+1]
		}
		t, h := r.sum(from, to)
		counts[k], exposure[k] = t.w*all.scale(), h
	}
	var starts []int
	for _, k := range rate.Blocks(counts, exposure, p0) {
		starts = append(starts, joined[k])
	}
	return starts
}
