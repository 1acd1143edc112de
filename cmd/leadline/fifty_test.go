//go:build reference

package main

import (
	"math"
	"slices"
	"sync"
	"testing"

	"leadline/ingest/madelake"
)

// add adds another tally.
func (y *tally) add(x tally) {
	y.schools, y.found, y.proven = y.schools+x.schools, y.found+x.found, y.proven+x.proven
	y.reported, y.true_ = y.reported+x.reported, y.true_+x.true_
	y.listed, y.listedTrue, y.merged = y.listed+x.listed, y.listedTrue+x.listedTrue, y.merged+x.merged
	y.plain = plainTally{y.plain.found + x.plain.found, y.plain.clusters + x.plain.clusters, y.plain.true_ + x.plain.true_}
	y.depthSure += x.depthSure
	y.depthOff, y.overlap = append(y.depthOff, x.depthOff...), append(y.overlap, x.overlap...)
}

// Fifty hard seasons at full rate: zones, states and drift lines.
func TestFiftyHardSeasons(t *testing.T) {
	var all tally
	var states stateTally
	var lines lineTally
	var mu sync.Mutex
	inParallel(50, func(seed uint64) {
		var y tally
		chart, truth := y.hardSeason(t, madelake.Hard(seed, madelake.Full))
		mu.Lock()
		defer mu.Unlock()
		all.add(y)
		states.add(chart, truth)
		lines.add(chart, truth)
	})
	all.hold(t)
	states.hold(t)
	lines.hold(t)
}

// Fifty seasons of the same fishing without any school: at most one in twenty has a
// proven zone, and the chance given for the season's most surprising cluster is spread
// evenly from 0 to 1. The critical value of Kolmogorov and Smirnov for 50 at the 5 % level
// is 1.358/sqrt(50) = 0.192 (asymptotic; handbook tables, from memory).
func TestFiftySeasonsWithoutSchools(t *testing.T) {
	var mu sync.Mutex
	var chances []float64
	fooled, listed := 0, 0
	inParallel(50, func(seed uint64) {
		plan := madelake.Hard(seed, madelake.Full)
		plan.Schools = 0
		dir, _ := madeSeason(t, plan, noSonar) // zones ask for no depth
		chart, _, _ := chartOf(t, dir)
		mu.Lock()
		defer mu.Unlock()
		chances = append(chances, chart.EvenP.V)
		for _, z := range chart.Zones {
			listed++
			if z.Proven {
				fooled++
				break
			}
		}
	})
	slices.Sort(chances)
	far := 0.0
	for i, p := range chances {
		n := float64(len(chances))
		far = math.Max(far, math.Max(math.Abs(p-float64(i)/n), math.Abs(p-float64(i+1)/n)))
	}
	t.Logf("%d of 50 seasons have a proven zone, %d unproven ones are listed in all; Kolmogorov-Smirnov distance of the chances from even %.3f (0.192 is the 5 %% point); chances %.3f", fooled, listed-fooled, far, chances)
	if fooled > 2 {
		t.Errorf("%d of 50 seasons have a proven zone", fooled)
	}
	if far > 0.192 {
		t.Errorf("chances are not even: Kolmogorov-Smirnov distance %.3f", far)
	}
}
