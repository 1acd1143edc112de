package head

import (
	"cmp"
	"math"
	"slices"

	"leadline/ingest"
	"leadline/spatial"
)

// The drag of a sinking lure from sinks that a person timed.
//
// The drag area is k times the square of the trailer's length. Wanted is the k with
// the least squares of r = ln(seconds timed/seconds of [Fall]): a hand's error is a
// share of the time, more or less.
//
// Steps. Each countdown has a k of its own, at which Fall takes as long (root.go, over
// ln k; the time always rises with it); their median is the start. With four or
// more, those whose r there is further from the median r than 2.5 times 1.4826 times the
// median distance from it are left out. From there Gauss and Newton's steps, ln k
// += sum(s r)/sum(s²), s = d ln(seconds)/d ln k: one half where only the trailer drags,
// less where the line does. The standard error of ln k is the deviation of r over
// sqrt(sum(s²)); those left out count in it as if they were off by the limit and with
// the factor sqrt(given/kept), or it would come out a fifth too small with ten: honest
// ones are among them.
//
// By hand: with line so thin that it doesn't drag, a lure that sinks steadily falls at
// sqrt(2W/(rho k L²)), so k = 2W t²/(rho L² Z²). 1/4 oz of lead, 0.0634 N, with a trailer
// of 71 mm, 6 m in 12 s: 2 x 0.0634 x 144/(999.1 x 0.00504 x 36) = 0.101. Another
// time it took 13 s, which says 0.118; together they say sqrt(0.101 x 0.118) = 0.109, and
// ln k is off by ln(0.118/0.101)/2 = 0.08.
//
// Cost: some twenty falls each, 0.3 ms. What it does badly: trailers of other shapes
// go into one figure; a current that carries the line is taken for drag; and the
// standard error of two or three is hardly known itself.
//
// Sources: Gauss's least squares; the robust spread is that of Hampel 1974 (from memory; J. Am. Stat.
// Assoc. 69, 383): 1.4826 makes it the standard deviation of normal errors, of which 2.5
// leaves out 1.2 %; the standard error of a trimmed mean is that of Tukey & McLaughlin
// 1963 (Sankhya A 25, 331).

const (
	// fewestToJudge is how many countdowns it takes to tell which of them is wrong.
	fewestToJudge = 4

	// farMADs is how far off a countdown may be, in robust standard deviations.
	farMADs = 2.5

	// leastSpread is the least that the robust deviation of r is taken to be, or a
	// few that happen to agree would make a like one wild: a tenth of a second in
	// ten is as well as a hand counts.
	leastSpread = 0.01
)

// A timing is a countdown and what the model makes of it.
type timing struct {
	ingest.Countdown
	fall Fall
	lnK  float64 // its own
}

// Calibrate returns the drag area of a sinking lure, over the square of its trailer's
// length, that countdowns made in such water say. line gives the line that goes with
// a head of a mass. Countdowns stay as they are; their order doesn't matter.
//
// Of the result, Countdowns is how many counted and CountdownsOff how many of those
// given did not: the wild ones, those no drag of the trailer explains (faster than
// the bare head), and those that can't tell (no trailer, depth or time, or a head
// that doesn't sink). With none that counts it is the usual figure, whose error is
// unknown, as that of a single countdown is.
//
// Times made by the model itself give their k back to 1e-6 (TestCalibrateMadeTimes).
// Within the standard error of ten lies the truth six times in ten, not quite the 0.66
// it should be (TestCalibrateErrorCovers).
func Calibrate(countdowns []ingest.Countdown, water Water, line func(massKg float64) ingest.Line) spatial.SinkDrag {
	var ts []timing
	for _, c := range countdowns {
		if t, ok := newTiming(c, water, line); ok {
			ts = append(ts, t)
		}
	}
	slices.SortFunc(ts, func(a, b timing) int {
		return cmp.Or(cmp.Compare(a.lnK, b.lnK), cmp.Compare(a.Seconds, b.Seconds),
			cmp.Compare(a.DepthM, b.DepthM), cmp.Compare(a.Head.MassKg, b.Head.MassKg))
	})
	d := spatial.SinkDrag{PerLength2: sinkAreaPerLength2, CountdownsOff: len(countdowns)}
	if len(ts) == 0 {
		return d
	}
	n := len(ts)
	lnK := (ts[(n-1)/2].lnK + ts[n/2].lnK) / 2
	ts, limit := withoutWild(ts, lnK)
	d.Countdowns = len(ts)
	d.CountdownsOff -= len(ts)

	var squares, slopes float64
	for range 20 {
		var down float64
		squares, slopes = 0, 0
		for _, t := range ts {
			const h = 1e-3
			r := t.late(lnK)
			s := (r - t.late(lnK+h)) / h
			squares += r * r
			slopes += s * s
			down += s * r
		}
		step := down / slopes
		lnK += step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	d.PerLength2 = math.Exp(lnK)
	if n > 1 {
		squares += float64(n-len(ts)) * limit * limit
		variance := squares / float64(n-1) / slopes * float64(n) / float64(len(ts))
		d.PerLength2SD = ingest.Known(d.PerLength2 * math.Sqrt(variance))
	}
	return d
}

// newTiming finds a countdown's own k; ok is false when no k explains it.
func newTiming(c ingest.Countdown, water Water, line func(massKg float64) ingest.Line) (t timing, ok bool) {
	if !(c.TrailerM > 0) || !(c.DepthM > 0) || !(c.Seconds > 0) || !(c.Head.MassKg > 0) || !(c.Head.DensityKgM3 > water.DensityKgM3) {
		return timing{}, false
	}
	ball := rig{head: c.Head}.sphereM()
	t = timing{Countdown: c, fall: fallOf(c.Head, DragArea{SphereM: ball}, line(c.Head.MassKg), water, c.DepthM)}
	if bare, sinks := t.fall.Seconds(); !sinks || !(c.Seconds > bare) {
		return timing{}, false
	}
	// A tenth of the ball's area is below any coefficient that a ball has; each step
	// up is twice the time where the trailer drags most.
	low := math.Log(0.1 * math.Pi / 4 * ball * ball / (c.TrailerM * c.TrailerM))
	early := func(lnK float64) float64 { return -t.late(lnK) }
	for range 40 {
		high := low + math.Log(4)
		if early(high) >= 0 {
			t.lnK = root(low, high, 1e-9, early)
			return t, true
		}
		low = high
	}
	return timing{}, false
}

// late is ln of the seconds timed over those the model has with k.
func (t timing) late(lnK float64) float64 {
	t.fall.Drag = DragArea{BodyM2: math.Exp(lnK) * t.TrailerM * t.TrailerM}
	s, sinks := t.fall.Seconds()
	if !sinks {
		s = math.MaxFloat64 // so slow that no step is short enough
	}
	return math.Log(t.Seconds / s)
}

// withoutWild returns those that are not wild at k, and how far off the others are
// at least.
func withoutWild(ts []timing, lnK float64) (kept []timing, limit float64) {
	if len(ts) < fewestToJudge {
		return ts, 0
	}
	late := make([]float64, len(ts))
	for i, t := range ts {
		late[i] = t.late(lnK)
	}
	mid := median(late)
	off := make([]float64, len(ts))
	for i, v := range late {
		off[i] = math.Abs(v - mid)
	}
	limit = farMADs * max(1.4826*median(off), leastSpread)
	for i, t := range ts {
		if off[i] <= limit {
			kept = append(kept, t)
		}
	}
	return kept, limit
}

// median returns the middle one of some values, or what is between the two.
func median(values []float64) float64 {
	s := slices.Sorted(slices.Values(values))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}
