package foretell

import (
	"math"

	"leadline/spatial"
)

// Days that foretell each other.
//
// When each day is foretold from all others, two days that have events at one place by chance are counted twice: the one's zone
// holds the other's events, and the other's the one's. Call c(d,e) what day e's record adds to the events inside on day d, the same
// as c(e,d). The sum over days is then twice that over pairs of days, and with n days, each c of variance v and
// independent, its variance is
//
//	4 · n(n-1)/2 · v = 2 n(n-1) v
//
// where days drawn one by one, as if they were independent, show n (n-1) v: half of it. So intervals are √2 too narrow at
// worst, when one other day is enough for a zone; when it takes many, less. They are made wider by that much.
//
// By hand: a lift of 1.2 with 0.9 to 1.6 becomes 1.2 - 0.3 √2 = 0.78 to 1.2 + 0.4 √2 = 1.77.
//
// In 200 made seasons without schools the interval of the lift from all other days held 1 in 180 as it was, and in 194
// so (TestBacktestWithoutSchools of package analyse, -long); that from earlier days, which needs none of this, in 174 of 176.

// Mutual returns a result with wider intervals for figures that tell of events, as days that were foretold from each other need
// them. Shares of hours and of area stay as they are, and so do values; shares of events stay within 0 and 1, and no ratio falls
// below 0. Verdicts are told anew.
func Mutual(r spatial.Foretold) spatial.Foretold {
	for _, e := range []*spatial.Estimate{&r.HitRate, &r.Coverage} {
		widen(e, 0, 1)
	}
	for _, e := range []*spatial.Estimate{&r.Accuracy, &r.Lift, &r.LiftOutside, &r.LiftPooled, &r.Catch} {
		widen(e, 0, math.Inf(1))
	}
	for _, e := range []*spatial.Estimate{&r.OverFlat, &r.OverLast} {
		widen(e, math.Inf(-1), math.Inf(1))
	}
	r.Verdict = r.Lift.Against(1)
	known := make([]spatial.LiftBin, len(r.ByKnown))
	for i, b := range r.ByKnown {
		widen(&b.Lift, 0, math.Inf(1))
		b.Verdict = b.Lift.Against(1)
		known[i] = b
	}
	if r.ByKnown != nil {
		r.ByKnown = known
	}
	return r
}

func widen(e *spatial.Estimate, least, most float64) {
	if e.Bounded {
		e.Low = max(least, e.Value-math.Sqrt2*(e.Value-e.Low))
		e.High = min(most, e.Value+math.Sqrt2*(e.High-e.Value))
	}
}
