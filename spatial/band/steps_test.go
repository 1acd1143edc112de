package band

import (
	"math"
	"reflect"
	"testing"

	"leadline/spatial/rate"
)

func TestJoined(t *testing.T) {
	for name, c := range map[string]struct {
		hours []float64
		want  []int
	}{
		"by hand":               {[]float64{1, 0, 0, 0.01, 1}, []int{0, 2}},
		"all long":              {[]float64{1, 1, 1}, []int{0, 1, 2}},
		"short last":            {[]float64{1, 1, 0.01}, []int{0, 1}},
		"short first":           {[]float64{0.01, 1, 1}, []int{0, 2}},
		"two short make one":    {[]float64{0.01, 0.01, 1}, []int{0, 2}},
		"all short":             {[]float64{0.001, 0.001}, []int{0}},
		"nothing at either end": {[]float64{0, 1, 1, 0}, []int{0, 2}},
		"odd gap to the middle": {[]float64{1, 0, 1}, []int{0, 2}},
	} {
		r := newRow(0, float64(len(c.hours)), 1)
		copy(r.hours, c.hours)
		if got := r.joined(); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

func TestFold(t *testing.T) {
	for name, c := range map[string]struct {
		at    float64
		reach int
		want  int // cell; -1 for none
	}{
		"own":           {0.5, 9, 0},
		"nearest":       {3.5, 9, 4},
		"lower of two":  {2.5, 9, 0},
		"beyond reach":  {2.5, 1, -1},
		"within reach":  {1.5, 1, 0},
		"past the last": {7.5, 9, 4},
	} {
		r := newRow(0, 8, 1)
		r.hours[0], r.hours[4] = 1, 1
		r.count([]mark{{c.at, 1}})
		r.fold(c.reach)
		for i, tally := range r.tally {
			if want := map[bool]int{true: 1}[i == c.want]; tally.n != want {
				t.Errorf("%s: %d in cell %d, want %d", name, tally.n, i, want)
			}
		}
	}
}

// Weights that are all alike only rescale what rate.PerHour gives; unlike ones are worth less.
func TestTallyPerHour(t *testing.T) {
	of := func(weights ...float64) (t tally) {
		for _, w := range weights {
			t.add(tally{1, w, w * w})
		}
		return t
	}
	want := rate.PerHour(3, 2)
	if got := of(1, 1, 1).perHour(2); got != want {
		t.Errorf("weights of 1: %v, want %v", got, want)
	}
	got := of(2, 2, 2).perHour(2)
	if got.PerH != 3 || math.Abs(got.LowPerH-2*want.LowPerH) > 1e-12 || math.Abs(got.HighPerH-2*want.HighPerH) > 1e-12 {
		t.Errorf("weights of 2: %v, want twice %v", got, want)
	}
	// 4, 1, 1 are worth 36/18 = 2 events of weight 3.
	got, want = of(4, 1, 1).perHour(2), rate.PerHour(2, 2)
	if got.PerH != 3 || math.Abs(got.LowPerH-3*want.LowPerH) > 1e-12 || math.Abs(got.HighPerH-3*want.HighPerH) > 1e-12 {
		t.Errorf("4 1 1: %v, want three times %v", got, want)
	}
	if got := of().perHour(2); got != rate.PerHour(0, 2) {
		t.Errorf("none: %v", got)
	}
	if of(1).perHour(0).OK {
		t.Error("a rate without hours")
	}
}
