package foretell

import (
	"cmp"
	"math"
	"slices"

	"leadline/spatial"
)

// # Method
//
// All figures are sums over days over sums over days; a mean of the days' own ratios would
// make a day with one event weigh as much as one with thirty, and needs events each day.
//
//	hit rate       Σ events inside / Σ events
//	accuracy       hit rate / (Σ area inside / Σ area)     predictive accuracy index
//	pooled lift    (Σ events inside / Σ hours inside) / (Σ events / Σ hours)
//	lift           Σ a / Σ N h/H
//	lift outside   Σ a (H-h)/H / Σ b h/H
//
// where a day has N events, a inside and b outside, and H hours, h inside. In the last two only
// days with hours both inside and outside count: the others compare nothing.
//
// The lift is the headline. Its denominator is what would have come inside had each day's
// events fallen evenly on that day's hours, so it compares with fishing anywhere on the same
// day (indirect standardisation, as in a standardised mortality ratio). Pooled lift
// takes a good day with many hours inside for good places; the lift doesn't. It has a value
// also when nothing was caught outside, and is never above the inverse of the least share
// of hours inside: who already fishes inside for half of each day can't see more than 2.
// Lift outside, against the rest of the same day, has no such ceiling but no value when
// nothing was caught outside (Mantel and Haenszel's rate ratio for person-time: Rothman &
// Greenland, Modern Epidemiology, 2nd ed. 1998, p. 270). Both are above, at or below 1
// together, for Σ a - Σ N h/H = Σ a (H-h)/H - Σ b h/H, so the choice changes no verdict.
//
// By hand, two days of 10 hours: on the first 10 events, 9 hours and 9 events inside; on
// the second 2 events, 2 hours and 1 event inside. Hit rate 10/12 = 0.833. Pooled lift
// (10/11)/(12/20) = 1.515. Lift 10/(10·0.9 + 2·0.2) = 10/9.4 = 1.064. Lift outside
// (9·0.1 + 1·0.8)/(1·0.9 + 1·0.2) = 1.7/1.1 = 1.545. Had 1 % of the lake been inside
// on the first and 3 % on the second, accuracy would be 0.833/0.02 = 41.7.
//
// Sources: accuracy index, Chainey, Tompson & Uhlig, The utility of hotspot mapping for
// predicting spatial patterns of crime, Security Journal 21, 2008 (from memory).
//
// # Cost
//
// Days times 2,000 for each of eleven figures, and once more for all bins together.
//
// # What it does badly
//
// Accuracy against area says as much of where the person fishes as of where fish are; only
// the lifts take effort off. Within a day an hour is an hour: who fishes inside at dusk
// and outside at noon gets the dusk counted for the place. Days are taken for
// independent, but days in a row share weather, and all were foretold from largely the
// same record: intervals are then too narrow. Weeks in place of days help, there are fewer.

// A Day is what was foretold for a day left out, and what came. It may be a week.
type Day struct {
	EventsIn float64 // events inside the foretold places, by weight
	Events   float64 // all
	HoursIn  float64 // effort inside
	Hours    float64
	AreaInM2 float64
	AreaM2   float64
	Known    int // days of record that the forecast rested on

	// Poisson process log likelihoods of the day's events and effort ([LogLikelihood]).
	LogScore  float64 // under the rate surface
	FlatScore float64 // under one rate everywhere
	LastScore float64 // under the catches of the trip before

	Covered int // intervals that held what came
	Asked   int // of so many

	Expected float64 // events that the plan promised
	Given    float64 // and that came
	PIT      []PIT   // one for each count foretold
}

// pitBins is how many bars the histogram has: ten, as in the source (count.go).
const pitBins = 10

// mostBins is how many points lift by days of record has at most. Six are enough to see a
// rise that levels off; more would only widen each interval.
const mostBins = 6

// columns of a row of sums.
const (
	events = iota
	eventsIn
	hours
	hoursIn
	area
	areaIn
	told    // events on days that tell of lift: with effort inside and outside
	toldIn  // of these inside
	ratedN  // events on days in the pooled lift
	ratedNI // of these inside
	ratedH
	ratedHI
	even   // N h/H
	mantel // a (H-h)/H
	haensz // b h/H
	overFlat
	overLast
	covered
	asked
	promised
	given
	width
)

type sums [width]float64

// rated says whether the day's events lie where there was effort. Those that don't tell no
// rate; such a day was cut up wrongly, or its track has holes.
func (d Day) rated() bool {
	in, out := d.EventsIn > 0, d.Events-d.EventsIn > slack*d.Events
	return (!in || d.HoursIn > 0) && (!out || d.Hours-d.HoursIn > slack*d.Hours)
}

// slack is what sums of the same numbers in another order may differ by.
const slack = 1e-9

func (d Day) row() sums {
	var s sums
	s[events], s[eventsIn] = d.Events, d.EventsIn
	s[hours], s[hoursIn] = d.Hours, d.HoursIn
	s[area], s[areaIn] = d.AreaM2, d.AreaInM2
	s[overFlat], s[overLast] = d.LogScore-d.FlatScore, d.LogScore-d.LastScore
	s[covered], s[asked] = float64(d.Covered), float64(d.Asked)
	s[promised], s[given] = d.Expected, d.Given
	if d.Hours > 0 && d.rated() {
		s[ratedN], s[ratedNI], s[ratedH], s[ratedHI] = d.Events, d.EventsIn, d.Hours, d.HoursIn
		if share := d.HoursIn / d.Hours; share > 0 && share < 1-slack {
			s[told], s[toldIn] = d.Events, d.EventsIn
			s[even] = d.Events * share
			s[mantel] = d.EventsIn * (1 - share)
			s[haensz] = max(0, d.Events-d.EventsIn) * share
		}
	}
	return s
}

func (d Day) check() {
	for _, v := range []float64{d.EventsIn, d.Events, d.HoursIn, d.Hours, d.AreaInM2, d.AreaM2, d.Expected, d.Given} {
		if !(v >= 0) || math.IsInf(v, 1) {
			panic("foretell: a sum of a day is negative or not finite")
		}
	}
	if d.EventsIn > d.Events*(1+slack) || d.HoursIn > d.Hours*(1+slack) || d.AreaInM2 > d.AreaM2*(1+slack) {
		panic("foretell: more inside than in all")
	}
	for _, v := range []float64{d.LogScore, d.FlatScore, d.LastScore} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			panic("foretell: a log score is not finite")
		}
	}
	if d.Known < 0 || d.Covered < 0 || d.Covered > d.Asked {
		panic("foretell: a count is out of bounds")
	}
}

// A measure is one figure: a numerator and a denominator of sums, the columns of which a day
// must have one to tell anything of it, and what the counts alone leave open, nil when they
// say nothing.
type measure struct {
	of     func(s *sums) (top, bottom float64)
	tells  [2]int
	counts func(s *sums) (low, high float64, ok bool)
}

func quotient(top, bottom int) measure {
	return measure{of: func(s *sums) (float64, float64) { return s[top], s[bottom] }, tells: [2]int{top, bottom}}
}

// share is a quotient of counts, for which Wilson's interval holds.
func share(top, bottom int) measure {
	m := quotient(top, bottom)
	m.counts = func(s *sums) (float64, float64, bool) { return Wilson(s[top], s[bottom]) }
	return m
}

// over is (a/b) / (c/d), where a is a count out of b.
func over(a, b, c, d int) measure {
	return measure{
		of:    func(s *sums) (float64, float64) { return s[a] * s[d], s[b] * s[c] },
		tells: [2]int{b, d},
		counts: func(s *sums) (float64, float64, bool) {
			low, high, ok := Wilson(s[a], s[b])
			if !ok || !(s[c] > 0) {
				return 0, 0, false
			}
			return low * s[d] / s[c], high * s[d] / s[c], true
		},
	}
}

var (
	// Given the events, a is a count out of told of which even are due.
	lift = measure{
		of:    func(s *sums) (float64, float64) { return s[toldIn], s[even] },
		tells: [2]int{even, even},
		counts: func(s *sums) (float64, float64, bool) {
			low, high, ok := Wilson(s[toldIn], s[told])
			if !ok || !(s[even] > 0) {
				return 0, 0, false
			}
			return low * s[told] / s[even], high * s[told] / s[even], true
		},
	}
	// The same, as odds: exact when the share of hours inside is the same each day, and above
	// or below 1 with that of lift always.
	liftOutside = measure{
		of:    func(s *sums) (float64, float64) { return s[mantel], s[haensz] },
		tells: [2]int{even, even},
		counts: func(s *sums) (float64, float64, bool) {
			low, high, ok := Wilson(s[toldIn], s[told])
			due := 0.0
			if ok {
				due = s[even] / s[told]
			}
			if !(due > 0 && due < 1) {
				return 0, 0, false
			}
			odds := func(p float64) float64 { return p / (1 - p) * (1 - due) / due }
			return odds(low), odds(high), true
		},
	}
	catch = measure{
		of:    func(s *sums) (float64, float64) { return s[given], s[promised] },
		tells: [2]int{given, promised},
		counts: func(s *sums) (float64, float64, bool) {
			if !(s[promised] > 0) {
				return 0, 0, false
			}
			low, high := poisson(s[given])
			return low / s[promised], high / s[promised], true
		},
	}
)

// Score returns what the days say together, in any order; they are not changed. No days
// give a Foretold in which nothing is known. Same days and seed, same result.
//
// An Estimate is without interval when fewer than five days tell of it, and Verdict is then
// TooFew; resample.go says how intervals are made and what they hold. Coverage and Catch
// are right when their interval holds what was claimed (the level asked for, and 1). PIT has
// ten shares that add up to 1, or is nil when no count was foretold: flat when right, high
// at both ends when the forecasts are too sure, in the middle when not sure enough.
//
// It panics when a figure of a day is negative or not finite, or more is inside than in
// all. Log scores must be finite: see [Mix].
func Score(days []Day, seed uint64) spatial.Foretold {
	r := spatial.Foretold{Days: len(days)}
	rows := make([]sums, len(days))
	var pits []PIT
	for i, d := range days {
		d.check()
		rows[i] = d.row()
		if !d.rated() || d.Hours == 0 && d.Events > 0 {
			r.LeftOut++
		}
		pits = append(pits, d.PIT...)
	}
	e := resample(rows, seed, []measure{
		share(eventsIn, events), quotient(hoursIn, hours), quotient(areaIn, area),
		over(eventsIn, events, areaIn, area),
		lift, liftOutside, over(ratedNI, ratedN, ratedHI, ratedH),
		quotient(overFlat, events), quotient(overLast, events),
		share(covered, asked), catch,
	})
	r.HitRate, r.HoursShare, r.AreaShare, r.Accuracy = e[0], e[1], e[2], e[3]
	r.Lift, r.LiftOutside, r.LiftPooled = e[4], e[5], e[6]
	r.OverFlat, r.OverLast, r.Coverage, r.Catch = e[7], e[8], e[9], e[10]
	r.Verdict = r.Lift.Against(1)
	total := total(rows)
	r.Events, r.Hours = total[events], total[hours]
	r.PIT = PITHistogram(pits, pitBins)
	r.ByKnown = ByKnown(days, max(LeastDays, (len(days)+mostBins-1)/mostBins), seed)
	return r
}

// ByKnown returns the lift by how many days of record the forecast rested on, rising: bins
// of at least so many days that tell of it (with events, and hours inside and outside), days with the same
// number in one bin. What is left at the end joins the last bin. Fewer such days than that give none. Bins of
// fewer than [LeastDays] of them have no interval. Days may be in any order and are not changed.
//
// By hand: 1, 2, 2, 3, 4, 9 and 12 days of record, bins of 3: 1 to 2 with three days, 3 to
// 12 with the other four, for the last would be alone.
//
// It panics when least is below 1, and as Score does.
func ByKnown(days []Day, least int, seed uint64) []spatial.LiftBin {
	if least < 1 {
		panic("foretell: bins of no days")
	}
	days = slices.Clone(days)
	slices.SortStableFunc(days, func(a, b Day) int { return cmp.Compare(a.Known, b.Known) })
	var ends []int
	tell := 0
	for i := range days {
		days[i].check()
		if days[i].row()[even] > 0 {
			tell++
		}
		if tell >= least && (i+1 == len(days) || days[i+1].Known != days[i].Known) {
			ends = append(ends, i+1)
			tell = 0
		}
	}
	if len(ends) == 0 {
		return nil
	}
	ends[len(ends)-1] = len(days)
	var bins []spatial.LiftBin
	from := 0
	for _, end := range ends {
		part := days[from:end]
		rows := make([]sums, len(part))
		for i, d := range part {
			rows[i] = d.row()
		}
		l := resample(rows, seed, []measure{lift})[0]
		bins = append(bins, spatial.LiftBin{From: part[0].Known, To: part[len(part)-1].Known, Days: len(part), Lift: l, Verdict: l.Against(1)})
		from = end
	}
	return bins
}
