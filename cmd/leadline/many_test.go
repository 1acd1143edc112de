//go:build reference

package main

import (
	"sync"
	"testing"

	"leadline/ingest/madelake"
)

// inParallel calls do for the seeds from 1 on, on two processors.
func inParallel(seeds uint64, do func(seed uint64)) {
	var wait sync.WaitGroup
	next := make(chan uint64)
	for range 2 {
		wait.Go(func() {
			for s := range next {
				do(s)
			}
		})
	}
	for s := uint64(1); s <= seeds; s++ {
		next <- s
	}
	close(next)
	wait.Wait()
}

// Five seasons of states and drift lines with five fixes a second; TestFiftyHardSeasons has those with one.
func TestFiveFixesASecond(t *testing.T) {
	var states stateTally
	var lines lineTally
	var mu sync.Mutex
	inParallel(5, func(seed uint64) {
		plan := madelake.Default(seed, madelake.Full)
		plan.FixesPerS = 5
		dir, truth := madeSeason(t, plan, noSonar)
		chart, _, _ := chartOf(t, dir, hasty)
		mu.Lock()
		defer mu.Unlock()
		states.add(chart, truth)
		lines.add(chart, truth)
	})
	states.hold(t)
	lines.hold(t)
}

// Thirty seasons in which the wind does the drifting.
func TestThirtySeasonsOfWind(t *testing.T) {
	var all windTally
	var mu sync.Mutex
	inParallel(30, func(seed uint64) {
		dir, truth := madeSeason(t, madelake.Windy(seed), noSonar)
		chart, _, _ := chartOf(t, dir, hasty)
		mu.Lock()
		defer mu.Unlock()
		all.add(t, seed, chart, truth)
	})
	all.hold(t)
}
