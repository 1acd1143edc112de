// Package zone finds where events lie closer together than even fishing would
// put them.
//
// # Method
//
//  1. Events are clustered by density (package density).
//  2. A cluster's ground is all water within a cast of one of its events; its
//     expected count is what that ground would have given had every day's events
//     come evenly over that day's fishing.
//  3. Its surprise is the Poisson log likelihood ratio of Kulldorff (1997).
//  4. Whole seasons of even fishing are simulated: the events of one frenzy (of one
//     stop, a day's fishing between two runs, each within FrenzyH of the one before) are
//     moved together to a random moment of their own day's fishing, as far apart in
//     time as they were, and the same clustering and the same surprise are computed. So
//     an hour in which fish bit wherever the boat was is one such hour in every
//     simulated season too, and not thirty proofs of a place. The p-value is the rank of the cluster's surprise
//     among the greatest surprise of each simulated season, so it already pays for
//     having looked everywhere, and for the shape having been fitted to the events.
//  5. The zone's outline is the convex hull of its events, grown by a cast.
//
// By hand: 6 of 10 events on ground where 1 was to be expected: surprise
// 6 ln 6 + 4 ln(4/9) = 7.51. If 3 of 999 simulated seasons have a cluster as
// surprising, p = (1+3)/1000.
//
// # Cost
//
// Simulations times the cost of one clustering and of the ground's cells.
//
// # What it does badly
//
// Frenzies count as independent, which those of one day are not quite. A convex
// outline covers water between two arms of a bend.
package zone

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"github.com/peterstace/simplefeatures/geom"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial/density"
	"leadline/spatial/rate"
)

// An Event is one event in metres of a plane. Day is the index of its day, or -1
// when that isn't known; it then counts as fished for on all days.
type Event struct {
	At     r2.Vec
	Day    int
	Stop   int     // stop of its day, from 0; -1: not known, and it goes alone
	ClockH float64 // hours fished that day before it
}

// Effort is a moment of fishing.
type Effort struct {
	At    r2.Vec
	Hours float64
	Day   int
}

// Settings is what the finding is told; see spatial.Settings.
type Settings struct {
	LinkM       float64
	CastM       float64
	MinEvents   int
	FrenzyH     float64 // hours of fishing
	Simulations int
	Seed        uint64
}

// A Found is one cluster of events.
type Found struct {
	Members  []int        // indices into the events given, rising
	Outline  []r2.Vec     // closed, counter-clockwise
	Expected ingest.Maybe // events that even fishing would have put here
	PValue   ingest.Maybe // chance that even fishing has such a cluster anywhere
}

// Find returns the clusters of events in order of their first core event. Without
// effort, Expected and PValue are unknown. The same input and seed give the same
// result. The error is that of ctx when it ends first.
func Find(ctx context.Context, events []Event, effort []Effort, set Settings) ([]Found, error) {
	clusters := members(positions(events), set)
	if len(clusters) == 0 {
		return nil, ctx.Err()
	}
	found := make([]Found, len(clusters))
	for i, m := range clusters {
		found[i] = Found{Members: m, Outline: outline(events, m, set.CastM)}
	}
	model := newEven(events, effort, set.CastM, set.FrenzyH)
	if model == nil || set.Simulations == 0 {
		return found, ctx.Err()
	}
	at := positions(events)
	surprise := make([]float64, len(found))
	for i := range found {
		e := model.expected(at, found[i].Members)
		found[i].Expected = ingest.Known(e)
		surprise[i] = rate.LogLikelihoodRatio(len(found[i].Members), e, len(events))
	}
	greatest := make([]float64, set.Simulations)
	rng := rand.New(rand.NewPCG(set.Seed, 0x1eadbea7))
	for s := range greatest {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		model.draw(rng, events, at)
		for _, m := range members(at, set) {
			greatest[s] = math.Max(greatest[s], rate.LogLikelihoodRatio(len(m), model.expected(at, m), len(events)))
		}
	}
	for i := range found {
		found[i].PValue = ingest.Known(rate.PValue(surprise[i], greatest))
	}
	return found, nil
}

func positions(events []Event) []r2.Vec {
	at := make([]r2.Vec, len(events))
	for i, e := range events {
		at[i] = e.At
	}
	return at
}

// members returns the events of each cluster.
func members(at []r2.Vec, set Settings) [][]int {
	var out [][]int
	for i, label := range density.Cluster(at, set.LinkM, set.MinEvents) {
		if label == density.Noise {
			continue
		}
		for len(out) <= label {
			out = append(out, nil)
		}
		out[label] = append(out[label], i)
	}
	// A border event may have left a cluster with too few.
	return slices.DeleteFunc(out, func(m []int) bool { return len(m) < set.MinEvents })
}

// outline returns the convex hull of discs of radius castM around the members.
func outline(events []Event, m []int, castM float64) []r2.Vec {
	const corners = 32 // cuts at most 0.5 % off a disc's radius
	var points []geom.Point
	for _, i := range m {
		for k := range corners {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / corners)
			points = append(points, geom.XY{X: events[i].At.X + castM*cos, Y: events[i].At.Y + castM*sin}.AsPoint())
		}
	}
	hull := geom.NewMultiPoint(points).ConvexHull().MustAsPolygon().ForceCCW()
	seq := hull.ExteriorRing().Coordinates()
	ring := make([]r2.Vec, seq.Length())
	for i := range ring {
		xy := seq.GetXY(i)
		ring[i] = r2.Vec{X: xy.X, Y: xy.Y}
	}
	return ring
}

// even is a season in which every day's events come evenly over its fishing.
type even struct {
	cellM, reachM float64
	x0, y0        float64
	w, h          int
	share         []float64 // expected events per cell
	stamp         []int     // last question a cell was counted for
	asked         int
	least         float64
	effort        []Effort
	days          map[int]drawer // by day; -1 draws from all fishing
	frenzies      [][]int        // events that are moved together, each by its clock
}

// drawer picks a moment of fishing at random, by its hours.
type drawer struct {
	index []int     // into effort
	until []float64 // running sum of hours
}

func (d drawer) hours() float64 { return d.until[len(d.until)-1] }

// newEven returns nil when there is no fishing to spread events over.
func newEven(events []Event, effort []Effort, castM, frenzyH float64) *even {
	m := &even{cellM: castM / 4, reachM: castM, effort: effort, days: map[int]drawer{}}
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for i, e := range effort {
		if e.Hours <= 0 {
			continue
		}
		low = r2.Vec{X: math.Min(low.X, e.At.X), Y: math.Min(low.Y, e.At.Y)}
		high = r2.Vec{X: math.Max(high.X, e.At.X), Y: math.Max(high.Y, e.At.Y)}
		for _, day := range [...]int{e.Day, -1} {
			d := m.days[day]
			sum := e.Hours
			if len(d.until) > 0 {
				sum += d.hours()
			}
			d.index, d.until = append(d.index, i), append(d.until, sum)
			m.days[day] = d
			if e.Day == -1 {
				break
			}
		}
	}
	if len(m.days) == 0 {
		return nil
	}
	const mostCells = 4 << 20
	for {
		m.w, m.h = int((high.X-low.X)/m.cellM)+1, int((high.Y-low.Y)/m.cellM)+1
		if m.w*m.h <= mostCells {
			break
		}
		m.cellM *= 2
	}
	m.x0, m.y0 = low.X, low.Y
	m.share, m.stamp = make([]float64, m.w*m.h), make([]int, m.w*m.h)
	m.frenzies = m.gather(events, frenzyH)
	perDay := map[int]int{}
	for _, e := range events {
		perDay[m.dayOf(e)]++
	}
	for i, e := range effort {
		if e.Hours <= 0 {
			continue
		}
		n := float64(perDay[-1]) / m.days[-1].hours()
		if e.Day != -1 {
			n += float64(perDay[e.Day]) / m.days[e.Day].hours()
		}
		x, y := m.cell(effort[i].At)
		m.share[y*m.w+x] += n * e.Hours
	}
	// Ground that was never fished still gets what one window of five seconds
	// would: an event there is a surprise, not an infinite one.
	m.least = float64(len(events)) * 5 / 3600 / m.days[-1].hours()
	return m
}

// dayOf returns the day an event is spread over: its own if there was fishing on
// it, else all.
func (m *even) dayOf(e Event) int {
	if _, ok := m.days[e.Day]; ok {
		return e.Day
	}
	return -1
}

func (m *even) cell(v r2.Vec) (x, y int) {
	return int(math.Floor((v.X - m.x0) / m.cellM)), int(math.Floor((v.Y - m.y0) / m.cellM))
}

// expected returns how many events even fishing puts within reach of the members.
func (m *even) expected(at []r2.Vec, members []int) float64 {
	m.asked++
	sum := 0.0
	n := int(math.Ceil(m.reachM / m.cellM))
	for _, i := range members {
		cx, cy := m.cell(at[i])
		for y := max(0, cy-n); y <= min(m.h-1, cy+n); y++ {
			for x := max(0, cx-n); x <= min(m.w-1, cx+n); x++ {
				dx, dy := float64(x-cx)*m.cellM, float64(y-cy)*m.cellM
				if c := y*m.w + x; dx*dx+dy*dy <= m.reachM*m.reachM && m.stamp[c] != m.asked {
					m.stamp[c] = m.asked
					sum += m.share[c]
				}
			}
		}
	}
	return math.Max(sum, m.least)
}

// gather returns the events of each frenzy, in the order of the events given, which
// must be by time within a day. An event whose stop isn't known goes alone.
func (m *even) gather(events []Event, frenzyH float64) [][]int {
	type stop struct{ day, stop int }
	last := map[stop]int{} // the frenzy a stop's last event belongs to
	var out [][]int
	for i, e := range events {
		day := m.dayOf(e)
		if e.Stop < 0 || day < 0 {
			out = append(out, []int{i})
			continue
		}
		if k, seen := last[stop{day, e.Stop}]; seen && e.ClockH-events[out[k][len(out[k])-1]].ClockH <= frenzyH {
			out[k] = append(out[k], i)
			continue
		}
		last[stop{day, e.Stop}] = len(out)
		out = append(out, []int{i})
	}
	return out
}

// draw moves every frenzy to a random moment of its day's fishing; what would come
// after the day's end comes at its beginning.
func (m *even) draw(rng *rand.Rand, events []Event, at []r2.Vec) {
	for _, together := range m.frenzies {
		first := events[together[0]]
		d := m.days[m.dayOf(first)]
		hours := d.hours()
		start := rng.Float64() * hours
		for _, i := range together {
			h := start
			if len(together) > 1 {
				h = math.Mod(start+events[i].ClockH-first.ClockH, hours)
				if h < 0 {
					h += hours
				}
			}
			k := sort.SearchFloat64s(d.until, h)
			at[i] = m.effort[d.index[min(k, len(d.index)-1)]].At
		}
	}
}
