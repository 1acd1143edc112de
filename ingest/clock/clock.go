package clock

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"leadline/ingest"
)

const (
	// WindowS is how far apart clocks are looked for, in seconds: tracks that lie farther from a log take no part.
	// Clocks differ by their zones at most 14 hours from UTC (UTC+14 is the
	// farthest there is); a wider search only finds more by chance.
	WindowS = 14 * 3600

	// A log with less than this says too little: a quarter of an hour holds a
	// drift and the way back at best.
	leastRows     = 60
	leastOverlapS = 900
	// At least this share of the shorter of log and track must overlap.
	leastShare = 0.5

	// What counts as low in itself. A position 20 m off is beyond what two
	// receivers differ by; r below 0.7 explains less than half of what the speeds
	// vary by; places whose depth differs by half of what strange places do
	// aren't the same places. Reasoned; they come into play with poor logs only.
	mostPositionMisfit = 0.4
	mostSpeedMisfit    = 0.3
	mostDepthMisfit    = 0.5

	// One wrong answer in a thousand logs that match nowhere.
	leastConfidence = 0.999

	// How near the truth an offset is, at best and as a share of the interval
	// between rows: hundreds of rows together tell it finer than one. Depth tells it
	// only where the bottom slopes; a depth match with a standard error beyond this
	// isn't sure.
	withinS, withinIntervals           = 1, 1.0 / 8
	depthWithinS, depthWithinIntervals = 2, 3.0 / 8

	// As near as this to a whole half hour a clock is likely right but for its
	// zone: what a clock that is set by hand is off by.
	zoneNearS = 60
	halfHourS = 1800
)

// An Estimate is what matching a log's clock with the track's gave.
type Estimate struct {
	OffsetS        float64 // whole seconds to add to the log's times; 0 when the clocks agree
	WithinS        float64 // how near the truth OffsetS is when it is the right peak
	By             string  // "position", "speed" or "depth": what was matched; empty when nothing could be
	Sure           bool    // strong enough to be applied
	Confidence     float64 // 1 less the chance that a log which fits nowhere would look so, see the package
	Misfit         float64 // at OffsetS: 0 is perfect, 1 no relation
	RunnerUpS      float64 // the next best offset at least two minutes away; equal to OffsetS when there is none
	RunnerUpMisfit float64 // at RunnerUpS; 1 when there is none
	Covered        float64 // share of the log's rows that lie within the track as they stand, 0 to 1

	// OfferS is for a log of which no row lies within the track and whose match
	// isn't sure: the seconds, in whole half hours, that put most of its rows
	// within it, the fewest of equals. It is unknown otherwise.
	OfferS ingest.Maybe

	// Words says it to a person in one line, beginning after "the clock ", such as
	// "is 37 s ahead of the track's (matched by speed, sure): moved by -37 s".
	Words string
}

// Align estimates the offset of a depth log's clock. The log's soundings may come
// in any order; those without a time take no part, and depths that are flagged or
// not above zero don't. Tracks made of a log's own positions and flagged fixes
// take no part either. Leave the log's own track out when both come from one file:
// they share a clock.
//
// ok is false when nothing could be matched: no track near in time, or too little
// in the log (less than 60 rows or a quarter of an hour of any one quantity).
// Then Words says why, and OfferS may be known.
//
// WithinS is 1 s by position and speed and 2 s by depth, more for rows that are more
// than 8 or 5 s apart; an offset of up to 1 s, or an eighth of such an interval, is
// taken for none. TestMadeDays measures it.
func Align(log ingest.Records, tracks []ingest.Track) (e Estimate, ok bool) {
	m, why := newMatch(log, tracks)
	if why != "" {
		return Estimate{Words: "can't be compared with the track's: " + why}, false
	}
	e.Covered = m.covered(0)
	var whys []string
	for _, by := range [...]func() (method, string){m.byPosition, m.bySpeed, m.byDepth} {
		k, why := by()
		if why == "" {
			var found Estimate
			if found, why = k.find(m.intervalS()); why == "" {
				found.Covered = e.Covered
				if !ok || found.Sure || found.Confidence > e.Confidence {
					e, ok = found, true
				}
				if e.Sure {
					break
				}
				continue
			}
		}
		whys = append(whys, why)
	}
	if !e.Sure && e.Covered == 0 {
		e.OfferS = m.offer()
	}
	e.Words = e.words(whys)
	return e, ok
}

// What can be matched, as Estimate.By tells it.
const (
	byPosition = "position"
	bySpeed    = "speed"
	byDepth    = "depth"
)

// A match is a log and the track it is laid over.
type match struct {
	soundings []ingest.Sounding
	rows      []row
	times     []sample // one for each time
	way       way
}

// newMatch prepares both records; why says in words what is missing.
func newMatch(log ingest.Records, tracks []ingest.Track) (m *match, why string) {
	base, ok := epoch(log.Soundings)
	if !ok {
		return nil, "the log has no times"
	}
	m = &match{soundings: log.Soundings, rows: rowsOf(log.Soundings, base)}
	m.times = m.samples(func(*ingest.Sounding) (float64, bool) { return 0, true })
	m.way, ok = newWay(tracks, base, m.times[0].s-WindowS, m.times[len(m.times)-1].s+WindowS)
	if !ok {
		return nil, "no track lies within 14 hours of the log"
	}
	return m, ""
}

// covered is the share of the log's rows that lie within the track at an offset.
func (m *match) covered(offsetS float64) float64 {
	n := 0
	rows := thinned(m.times, fineRows)
	for _, q := range rows {
		if v := m.way.x.at(q.s + offsetS); v == v {
			n++
		}
	}
	return float64(n) / float64(len(rows))
}

// offer looks for the smallest move in half hours that puts most rows within the track.
func (m *match) offer() ingest.Maybe {
	best, bestS := 0.0, 0.0
	for k := 1.0; k <= WindowS/halfHourS; k++ {
		for _, s := range [...]float64{k * halfHourS, -k * halfHourS} {
			if c := m.covered(s); c > best {
				best, bestS = c, s
			}
		}
	}
	if best == 0 {
		return ingest.Maybe{}
	}
	return ingest.Known(bestS)
}

// intervalS is the median interval between rows of the log or of the track,
// whichever is longer.
func (m *match) intervalS() float64 { return math.Max(m.way.everyS, everyS(m.times)) }

// needed is the share of a log's rows, covering logS, that must lie within the track.
func (m *match) needed(logS float64) float64 {
	return leastShare * math.Max(leastOverlapS, math.Min(logS, float64(m.way.x.known()))) / logS
}

// tooFew says why rows that tell a quantity don't suffice; empty when they do.
func tooFew(s []sample, what string) string {
	if len(s) < leastRows || float64(len(s))*everyS(s) < leastOverlapS {
		return "too few rows with a " + what
	}
	return ""
}

// A method is one way of telling how badly the log fits at an offset.
type method struct {
	by       string
	most     float64                       // misfit that still counts as a fit
	scan     scan                          // of the whole window
	quarters []scan                        // of parts of the record by themselves; may be empty
	misfit   func(offsetS float64) float64 // at one offset in whole seconds, with all rows; NaN where too few overlap
	spreadS  func(offsetS float64) float64 // standard error of the best offset, s; nil where it is below the interval anyway
}

// find takes the best offset and judges it; why says in words that there is none.
func (k method) find(intervalS float64) (e Estimate, why string) {
	const closely = 3 // peaks that may turn out the best
	all := k.scan.peaks()
	p := slices.Clone(all[:min(len(all), mostPeaks+1)])
	for i := range p[:min(len(p), closely)] {
		p[i] = k.refined(p[i])
	}
	p = slices.DeleteFunc(p, func(q peak) bool { return q.misfit != q.misfit })
	if len(p) == 0 {
		return Estimate{}, "its " + k.by + " varies too little or overlaps too little with the track"
	}
	slices.SortStableFunc(p, func(a, b peak) int { return cmp.Compare(a.misfit, b.misfit) })
	e = Estimate{OffsetS: p[0].offsetS, By: k.by, Misfit: p[0].misfit, RunnerUpS: p[0].offsetS, RunnerUpMisfit: 1}
	if len(p) > 1 {
		e.RunnerUpS, e.RunnerUpMisfit = p[1].offsetS, p[1].misfit
	}
	e.Confidence = 1 - chance(p, k.scan.places())*agreement(k.quarters, e.OffsetS)*luck(e.OffsetS)
	e.Sure = e.Misfit <= k.most && e.Confidence >= leastConfidence
	e.WithinS = math.Max(withinS, withinIntervals*intervalS)
	if math.Abs(e.OffsetS) <= e.WithinS {
		e.OffsetS = 0
	}
	if k.spreadS != nil {
		e.WithinS = math.Max(depthWithinS, depthWithinIntervals*intervalS)
		e.Sure = e.Sure && k.spreadS(p[0].offsetS) <= e.WithinS
	}
	return e, ""
}

// luck returns how likely an offset that means nothing would lie as near a whole
// half hour, zero among them, as clocks that are right or set to another zone do.
func luck(offsetS float64) float64 {
	if _, offS := halfHours(offsetS); offS <= zoneNearS {
		return 2.0 * zoneNearS / halfHourS
	}
	return 1
}

// refined moves a peak to the second that fits best within a step of the scan.
func (k method) refined(p peak) peak {
	best := peak{p.offsetS, k.misfit(p.offsetS)}
	for d := -k.scan.stepS; d <= k.scan.stepS; d++ {
		if m := k.misfit(p.offsetS + d); m < best.misfit || best.misfit != best.misfit {
			best = peak{p.offsetS + d, m}
		}
	}
	return best
}

// words puts the estimate into one line; whys tells of each method that failed.
func (e Estimate) words(whys []string) string {
	var b strings.Builder
	by := "matched by " + e.By
	if e.WithinS > 1 {
		by += " to about " + span(math.Ceil(e.WithinS))
	}
	switch {
	case e.By == "":
		b.WriteString("can't be compared with the track's: " + strings.Join(whys, ", "))
	case e.Sure && e.OffsetS == 0:
		return "agrees with the track's (" + by + ", sure)"
	case e.Sure:
		return "is " + stands(e.OffsetS) + " the track's (" + by + ", sure)" + zoneError(e.OffsetS) + ": moved by " + signed(e.OffsetS)
	case e.OffsetS == 0:
		b.WriteString("seems to agree with the track's (" + by + ", unsure)")
	default:
		b.WriteString("seems " + stands(e.OffsetS) + " the track's (" + by + ", unsure")
		if e.RunnerUpS != e.OffsetS {
			b.WriteString("; " + orAgrees(e.RunnerUpS) + " fits next best")
		}
		b.WriteString(")" + zoneError(e.OffsetS))
	}
	if e.Covered == 0 {
		b.WriteString("; no row lies within the track")
		if e.OfferS.OK {
			b.WriteString(", moved by " + signed(e.OfferS.V) + " (" + span(e.OfferS.V) + ", as a zone error would be) most would")
		}
	}
	b.WriteString(": left as it is")
	return b.String()
}
