package band

import (
	"math"
	"testing"
)

// Selection of moose for four kinds of ground around a fire: Neu, Byers & Peek, A
// technique for analysis of utilization-availability data, J. Wildl. Manage. 38,
// 1974: counts and shares as in the manual of R package adehabitatHS, ratios computed
// from them with R 4.2.2. The ground stands in for depth here.
func TestBandsSelectionRatios(t *testing.T) {
	used, available := []int{25, 22, 30, 40}, []float64{0.340, 0.101, 0.104, 0.455}
	want := []float64{0.6284565108, 1.8617246340, 2.4654832347, 0.7513853668}
	var events []float64
	var effort []Effort
	for k := range used {
		for range used[k] {
			events = append(events, float64(k)+0.5)
		}
		effort = append(effort, Effort{float64(k) + 0.2, available[k] * 7})
	}
	bands := Bands(events, effort, 1)
	if len(bands) != 4 {
		t.Fatalf("%d bands", len(bands))
	}
	for k, b := range bands {
		if !b.Selection.OK || math.Abs(b.Selection.V-want[k]) > 1e-9 {
			t.Errorf("band %d: selection %v, want %.10f", k, b.Selection, want[k])
		}
		if b.Thin || b.Events != used[k] || b.TopM != float64(k) || b.BottomM != float64(k+1) {
			t.Errorf("band %d: %+v", k, b)
		}
	}
}

func TestBandsEdges(t *testing.T) {
	if b := Bands(nil, nil, 1.5); b != nil {
		t.Errorf("nothing gave %v", b)
	}
	b := Bands([]float64{7}, []Effort{{1, 2}}, 1.5) // fished at 1 m only, an event over 7 m
	if len(b) != 5 {
		t.Fatalf("%d bands, want 0 to 7.5 m in steps of 1.5", len(b))
	}
	if b[4].Rate.OK || b[4].Selection.OK || !b[4].Thin || b[4].Events != 1 {
		t.Errorf("a band never fished: %+v", b[4])
	}
	if b[0].Selection.V != 0 || !b[0].Selection.OK || b[0].Thin {
		t.Errorf("a band with all the fishing and no events: %+v", b[0])
	}
	none := Bands(nil, []Effort{{1, 2}}, 1.5)
	if len(none) != 1 || none[0].Selection.OK || none[0].Rate.HighPerH <= 0 {
		t.Errorf("no events at all: %+v", none)
	}
}
