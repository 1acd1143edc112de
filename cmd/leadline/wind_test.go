package main

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// A windTally sums up how what is learned of the boat in wind compares with how it was made.
type windTally struct {
	seasons, learned         int
	perWind, angle           int // within what is said
	currents, current        int
	offPerWind, offAngle     []float64 // parts of one, degrees
	offCurrent, widthPerWind []float64 // m/s, parts of one
}

func (y *windTally) add(t *testing.T, seed uint64, chart spatial.Chart, truth madelake.Truth) {
	t.Helper()
	l, w := chart.Leeway, truth.Leeway
	y.seasons++
	if !l.OK {
		t.Logf("seed %d: %s", seed, l.Why)
		return
	}
	y.learned++
	if w.PerWind >= l.PerWindLow && w.PerWind <= l.PerWindHigh {
		y.perWind++
	}
	if w.AngleDeg >= l.AngleLowDeg && w.AngleDeg <= l.AngleHighDeg {
		y.angle++
	}
	y.offPerWind = append(y.offPerWind, math.Abs(l.PerWind/w.PerWind-1))
	y.offAngle = append(y.offAngle, math.Abs(l.AngleDeg-w.AngleDeg))
	y.widthPerWind = append(y.widthPerWind, (l.PerWindHigh-l.PerWindLow)/2/w.PerWind)
	if !l.CurrentMPS.OK {
		return
	}
	for _, z := range chart.Zones {
		if l.CurrentTowardDeg.OK && z.DriftPasses > 0 && (!z.WaterMPS.OK || !z.Head.CurrentMPS.OK || math.Abs(z.WaterMPS.V-z.DriftMPS.V) > l.CurrentMPS.V+0.02) {
			t.Errorf("seed %d, %s: %v m/s over ground is %v through the water, in a current of %v", seed, z.ID, z.DriftMPS, z.WaterMPS, l.CurrentMPS)
		}
	}
	y.currents++
	off := math.Abs(l.CurrentMPS.V - w.CurrentMPS)
	if l.CurrentTowardDeg.OK {
		off = r2.Norm(r2.Sub(r2.Scale(l.CurrentMPS.V, plane.Toward(l.CurrentTowardDeg.V)), r2.Scale(w.CurrentMPS, plane.Toward(w.CurrentTowardDeg))))
	}
	y.offCurrent = append(y.offCurrent, off)
	if off <= l.CurrentU95MPS.V {
		y.current++
	}
}

// hold holds the tally to what is asked: the made values lie within what is said in nine seasons of ten, and
// nearly all seasons teach something.
func (y *windTally) hold(t *testing.T) {
	t.Helper()
	t.Logf("%d of %d seasons teach how the boat drifts; speed per wind within its interval in %d, off by %.1f %% in the mean (interval ± %.1f %%); angle in %d, off by %.1f°; a current told in %d, within its interval in %d, off by %.3f m/s",
		y.learned, y.seasons, y.perWind, 100*mean(y.offPerWind), 100*mean(y.widthPerWind), y.angle, mean(y.offAngle), y.currents, y.current, mean(y.offCurrent))
	if 10*y.learned < 9*y.seasons {
		t.Error("too few seasons teach how the boat drifts")
	}
	few := func(within, of int) bool { return of-within > max(1, of/10) } // one may always miss
	if few(y.perWind, y.learned) || few(y.angle, y.learned) || few(y.current, y.currents) {
		t.Error("intervals are too narrow")
	}
}

// TestWindAgainstTheTruth holds two seasons to what is asked of forty, which the checks with reference
// tools do.
func TestWindAgainstTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("seasons at full rate take minutes under the race detector")
	}
	var all windTally
	for seed := uint64(1); seed <= 2; seed++ {
		dir, truth := madeSeason(t, madelake.Windy(seed), noSonar)
		chart, _, _ := chartOf(t, dir, hasty)
		all.add(t, seed, chart, truth)
		t.Logf("seed %d: %+v, truly %+v", seed, chart.Leeway, *truth.Leeway)
	}
	all.hold(t)
}
