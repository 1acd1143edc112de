package clock

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

const (
	// Fixes farther apart than this, and than gapIntervals of the track's own
	// intervals, say nothing about the time between them.
	leastGapS    = 30
	gapIntervals = 3

	// Records farther than this from the log's middle one take no part: a week to
	// either side is plenty to match by, and one date of another decade must not
	// make a series of a thousand million seconds.
	reachS = 7 * 24 * 3600

	// A single fix this much of a detour is no place the boat was at.
	detourM = 60
)

// A sample is one row of the log: seconds on its own clock and a value.
type sample struct{ s, v float64 }

// epoch is the second from which both clocks are counted: the log's middle time.
func epoch(soundings []ingest.Sounding) (base time.Time, ok bool) {
	n, rising := 0, true
	var last time.Time
	for i := range soundings {
		if t := soundings[i].Time; !t.IsZero() {
			rising = rising && !t.Before(last)
			last = t
			n++
		}
	}
	if n == 0 {
		return time.Time{}, false
	}
	if !rising {
		at := make([]time.Time, 0, n)
		for i := range soundings {
			if t := soundings[i].Time; !t.IsZero() {
				at = append(at, t)
			}
		}
		slices.SortFunc(at, time.Time.Compare)
		return at[n/2].Truncate(time.Second), true
	}
	before := n / 2
	for i := range soundings {
		if last = soundings[i].Time; !last.IsZero() {
			if before == 0 {
				break
			}
			before--
		}
	}
	return last.Truncate(time.Second), true
}

// seconds returns the time since base; ok is false when it takes no part.
func seconds(t, base time.Time) (s float64, ok bool) {
	if t.IsZero() {
		return 0, false
	}
	s = t.Sub(base).Seconds()
	return s, math.Abs(s) <= reachS
}

// A row is one of the log's that has a time: seconds on its clock, and its place in the log.
type row struct {
	s     float64
	index int
}

// rowsOf returns the log's rows with a time, in its order, equals as they were.
func rowsOf(soundings []ingest.Sounding, base time.Time) []row {
	out := make([]row, 0, len(soundings))
	for i := range soundings {
		if s, ok := seconds(soundings[i].Time, base); ok {
			out = append(out, row{s, i})
		}
	}
	if byTime := func(a, b row) int { return cmp.Compare(a.s, b.s) }; !slices.IsSortedFunc(out, byTime) {
		slices.SortStableFunc(out, byTime)
	}
	return out
}

// samples gathers what value tells of the log's rows, by time, one for each time.
func (m *match) samples(value func(*ingest.Sounding) (float64, bool)) []sample {
	out := make([]sample, 0, len(m.rows))
	for _, r := range m.rows {
		if v, ok := value(&m.soundings[r.index]); ok && (len(out) == 0 || out[len(out)-1].s != r.s) {
			out = append(out, sample{r.s, v})
		}
	}
	return out
}

// sorted puts s in order of time, in place, equals as they were.
func sorted(s []sample) []sample {
	if byTime := func(a, b sample) int { return cmp.Compare(a.s, b.s) }; !slices.IsSortedFunc(s, byTime) {
		slices.SortStableFunc(s, byTime)
	}
	return s
}

// everyS is the median interval between rows, at least 1 s; 1 s for fewer than two.
func everyS(s []sample) float64 {
	if len(s) < 2 {
		return 1
	}
	// Most logs have one interval, and are asked again and again: no sorting where it is that of more than half.
	first, like := s[1].s-s[0].s, 0
	for i := range s[1:] {
		if s[i+1].s-s[i].s == first {
			like++
		}
	}
	if 2*like > len(s) {
		return math.Max(1, first)
	}
	d := make([]float64, len(s)-1)
	for i := range d {
		d[i] = s[i+1].s - s[i].s
	}
	return math.Max(1, median(d))
}

// median sorts v and returns its middle.
func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// thinned takes at most n of s, evenly.
func thinned[T any](s []T, n int) []T {
	if len(s) <= n {
		return s
	}
	out := make([]T, n)
	for i := range out {
		out[i] = s[i*len(s)/n]
	}
	return out
}

// A line is a quantity each second from fromS on; NaN where it isn't known.
type line struct {
	fromS int
	v     []float64
}

// at returns the value at second s, NaN when it isn't known.
func (l line) at(s float64) float64 {
	f := math.Floor(s)
	i := int(f) - l.fromS
	if i < 0 || i >= len(l.v) {
		return math.NaN()
	}
	share := s - f
	if share == 0 {
		return l.v[i]
	}
	if i+1 >= len(l.v) {
		return math.NaN()
	}
	return l.v[i] + share*(l.v[i+1]-l.v[i])
}

// known counts the seconds with a value.
func (l line) known() int {
	n := 0
	for _, v := range l.v {
		if v == v {
			n++
		}
	}
	return n
}

// everySecond interpolates samples in order of time, across gaps of at most gapS.
func everySecond(s []sample, gapS float64) line {
	if len(s) == 0 {
		return line{}
	}
	l := line{fromS: int(math.Ceil(s[0].s))}
	l.v = make([]float64, max(0, int(math.Floor(s[len(s)-1].s))-l.fromS+1))
	k := 0
	for i := range l.v {
		t := float64(l.fromS + i)
		for k+1 < len(s) && s[k+1].s <= t {
			k++
		}
		switch {
		case s[k].s == t:
			l.v[i] = s[k].v
		case k+1 < len(s) && s[k+1].s-s[k].s <= gapS:
			l.v[i] = s[k].v + (t-s[k].s)/(s[k+1].s-s[k].s)*(s[k+1].v-s[k].v)
		default:
			l.v[i] = math.NaN()
		}
	}
	return l
}

// A way is where the boat was each second by the track, metres east and north.
type way struct {
	frame  plane.Frame
	x, y   line
	everyS float64 // between fixes
}

// newWay joins the sound fixes of the receivers' tracks within reach of the
// second fromS to toS. ok is false when there are fewer than two.
func newWay(tracks []ingest.Track, base time.Time, fromS, toS float64) (w way, ok bool) {
	type fix struct {
		s  float64
		at orb.Point
	}
	var all []fix
	for _, t := range tracks {
		if t.FromLog {
			continue
		}
		all = slices.Grow(all, len(t.Fixes))
		for i := range t.Fixes {
			f := &t.Fixes[i]
			if f.Flags != 0 || f.Time.IsZero() || f.Pos == (orb.Point{}) {
				continue
			}
			if s := f.Time.Sub(base).Seconds(); s >= fromS && s <= toS {
				all = append(all, fix{s, f.Pos})
			}
		}
	}
	if byTime := func(a, b fix) int { return cmp.Compare(a.s, b.s) }; !slices.IsSortedFunc(all, byTime) {
		slices.SortStableFunc(all, byTime)
	}
	all = slices.CompactFunc(all, func(a, b fix) bool { return a.s == b.s })
	if len(all) < 2 {
		return way{}, false
	}
	w.frame = plane.New(all[len(all)/2].at)
	at := make([]r2.Vec, len(all))
	for i, f := range all {
		at[i] = w.frame.Metres(f.at)
	}
	x, y := make([]sample, 0, len(all)), make([]sample, 0, len(all))
	apart := func(a, b r2.Vec) float64 { return math.Sqrt((b.X-a.X)*(b.X-a.X) + (b.Y-a.Y)*(b.Y-a.Y)) }
	here := 0.0 // from the fix before
	for i, f := range all {
		onward := 0.0
		if i+1 < len(all) {
			onward = apart(at[i+1], at[i])
		}
		detour := i > 0 && i+1 < len(all) && here+onward > detourM && here+onward > 2*apart(at[i+1], at[i-1])+detourM
		here = onward
		if detour {
			continue
		}
		x, y = append(x, sample{f.s, at[i].X}), append(y, sample{f.s, at[i].Y})
	}
	w.everyS = everyS(x)
	gapS := math.Max(leastGapS, gapIntervals*w.everyS)
	w.x, w.y = everySecond(x, gapS), everySecond(y, gapS)
	return w, true
}
