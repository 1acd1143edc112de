// Package zone finds where events lie closer together than even fishing would
// put them.
//
//	what even fishing gives      even.go      expected counts, simulated seasons
//	clusters of events           choose.go    HDBSCAN*, chosen by surprise
//	which of them are proven     zone.go      rounds of 999 simulated seasons
//	the water they lie in        outline.go
//	two schools at one place     part.go
//	whether they move            moves.go
//
// # Method
//
//  1. Events are clustered at every reach at once (package density). A cluster's
//     ground is all water within a cast of one of its events; its expected count is what
//     that ground would have given had every day's events come evenly over that day's
//     fishing. The set of clusters that explains the season best is chosen (choose.go).
//  2. A chosen cluster's surprise is the Poisson log likelihood ratio of Kulldorff (1997),
//     held against the season without what the other chosen clusters gave and what was
//     expected of them: eight schools that give most of a season's fish make each of them
//     look common beside the rest. The same is done in every simulated season, so that
//     it costs nothing in honesty.
//  3. Whole seasons of even fishing are simulated: the events of one frenzy (of one
//     stop, a day's fishing between two runs, each within FrenzyS of the one before) are
//     moved together to a random moment of their own day's fishing, as far apart in
//     time as they were, and clusters are chosen among them just the same. So
//     an hour in which fish bit wherever the boat was is one such hour in every
//     simulated season too, and not thirty proofs of a place. The p-value is the rank of
//     the cluster's surprise among the greatest surprise of each simulated season, so it
//     already pays for having looked everywhere, and for the shape having been fitted to
//     the events.
//  4. A rich school makes all the lake look rich, and a lesser one beside it poor. So
//     what is proven (p below ProvenBelow) is taken out, events and fishing, and the rest
//     is looked at anew, until a round proves nothing; what then lies about a proven
//     cluster, its middle within a cast of it, is its fringe and joins it, and what then gave
//     surely less, or isn't proven and gave less, than the season as a whole would have put there is no cluster (Zhang, Assunção & Kulldorff,
//     Spatial scan statistics adjusted for multiple clusters, J. Probab. Stat. 2010; from
//     memory). A p-value is that of its round.
//
// By hand: 6 of 10 events on ground where 1 was to be expected: surprise
// 6 ln 6 + 4 ln(4/9) = 7.51. If 3 of 999 simulated seasons have a cluster as
// surprising, p = (1+3)/1000.
//
// # Cost
//
// Rounds (one more than prove something) times simulations times the cost of choosing
// (see choose.go); simulations are spread over the processors.
//
// # What it does badly
//
// Frenzies count as independent, which those of one day are not quite. When a round has
// proven something falsely, the next ones stand on that.
package zone

import (
	"context"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial/density"
	"leadline/spatial/rate"
)

// ProvenBelow is the chance below which a cluster counts as proven: the usual one in twenty.
const ProvenBelow = 0.05

// An Event is one event in metres of a plane. Day is the index of its day, or -1
// when that isn't known; it then counts as fished for on all days.
type Event struct {
	At     r2.Vec
	Weight float64 // what it counts; above 0
	Day    int
	Stop   int     // stop of its day, from 0; -1: not known, and it goes alone
	S      float64 // second of its day, from any moment
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
	CastM       float64
	MinEvents   int
	FrenzyS     float64
	Simulations int
	Seed        uint64
}

// A Found is one cluster of events.
type Found struct {
	Members  []int        // indices into the events given, rising
	Expected ingest.Maybe // weight of events that even fishing would have put on its ground
	Surprise float64      // log likelihood ratio; 0 without effort
	PValue   ingest.Maybe // chance that even fishing has such a cluster anywhere
}

// Find returns the clusters of events in order of their first event. Events of a day
// must be in order of time. Without effort the clusters are those that last longest as
// reach shrinks from two casts (density.Tree.Flat), and Expected and PValue are unknown. The same
// input and seed give the same result on any number of processors. The error is that
// of ctx when it ends first.
func Find(ctx context.Context, events []Event, effort []Effort, set Settings) ([]Found, error) {
	var found, gone []Found
	left := make([]int, len(events)) // in no proven cluster
	for i := range left {
		left[i] = i
	}
	var whole *chooser
	if m := newEven(events, effort, set.CastM, set.FrenzyS); m != nil {
		weight := make([]float64, len(events))
		for i, e := range events {
			weight[i] = e.Weight
		}
		whole = newChooser(m, weight, set.MinEvents)
	}
	for round := uint64(0); ; round++ {
		some, err := look(ctx, events, left, effort, set, round)
		if err != nil {
			return nil, err
		}
		proven := slices.IndexFunc(some, func(f Found) bool { return !f.Proven() })
		if proven < 0 {
			proven = len(some)
		}
		before := len(found)
		for k, f := range some {
			if of := fringeOf(events, f, found[:before], set.CastM); of >= 0 {
				found[of].Members = append(found[of].Members, f.Members...)
			} else if (k < proven || proven == 0) && (round == 0 || whole.worth(events, f)) {
				found = append(found, f)
			}
		}
		if proven == 0 {
			break
		}
		gone = append(gone, some[:proven]...)
		left, effort = without(events, left, effort, gone, set.CastM)
	}
	for _, f := range found {
		slices.Sort(f.Members)
	}
	slices.SortFunc(found, func(a, b Found) int { return a.Members[0] - b.Members[0] })
	return found, nil
}

// Proven reports whether even fishing is unlikely to have such a cluster.
func (f Found) Proven() bool { return f.PValue.OK && f.PValue.V < ProvenBelow }

// look finds the clusters of the events left, in one round, proven ones first.
func look(ctx context.Context, events []Event, left []int, effort []Effort, set Settings, round uint64) ([]Found, error) {
	some := make([]Event, len(left))
	at, weight := make([]r2.Vec, len(left)), make([]float64, len(left))
	for k, i := range left {
		some[k], at[k], weight[k] = events[i], events[i].At, events[i].Weight
	}
	back := func(members []int) []int {
		out := make([]int, len(members))
		for k, m := range members {
			out[k] = left[m]
		}
		slices.Sort(out)
		return out
	}
	var found []Found
	model := newEven(some, effort, set.CastM, set.FrenzyS)
	if model == nil && round > 0 {
		return nil, ctx.Err() // all fishing was on proven ground
	}
	if model == nil {
		labels, clusters := density.NewTree(at, set.MinEvents).Flat(2 * set.CastM)
		for label := range clusters {
			var members []int
			for i, l := range labels {
				if l == label {
					members = append(members, i)
				}
			}
			found = append(found, Found{Members: back(members)})
		}
		return found, ctx.Err()
	}
	for _, c := range newChooser(model, weight, set.MinEvents).choose(at) {
		found = append(found, Found{Members: back(c.members), Expected: ingest.Known(c.expected), Surprise: c.surprise})
	}
	if len(found) == 0 || set.Simulations == 0 {
		return found, ctx.Err()
	}
	greatest, err := simulate(ctx, model, some, weight, set, round)
	if err != nil {
		return nil, err
	}
	for i := range found {
		found[i].PValue = ingest.Known(rate.PValue(found[i].Surprise, greatest))
	}
	slices.SortStableFunc(found, func(a, b Found) int {
		switch {
		case a.Proven() == b.Proven():
			return 0
		case a.Proven():
			return -1
		}
		return 1
	})
	return found, nil
}

// simulate returns the greatest surprise of each simulated season. Every season has
// its own seed, so it is the same whichever processor makes it.
func simulate(ctx context.Context, model *even, events []Event, weight []float64, set Settings, round uint64) ([]float64, error) {
	greatest := make([]float64, set.Simulations)
	var wait sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), set.Simulations)
	for w := range workers {
		wait.Go(func() {
			choose := newChooser(model, weight, set.MinEvents)
			at := make([]r2.Vec, len(events))
			for s := w; s < len(greatest) && ctx.Err() == nil; s += workers {
				model.draw(rand.New(rand.NewPCG(set.Seed, round<<32|uint64(s))), events, at)
				for _, c := range choose.choose(at) {
					greatest[s] = max(greatest[s], c.surprise)
				}
			}
		})
	}
	wait.Wait()
	return greatest, ctx.Err()
}
