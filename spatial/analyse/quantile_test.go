package analyse

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Figures as R gives them with quantile(x, p), whose default is definition 7;
// worked by hand from its formula.
func TestQuantile(t *testing.T) {
	for _, c := range []struct {
		p    float64
		v    []float64
		want float64
	}{
		{0.5, []float64{9, 1, 2}, 2},
		{0.5, []float64{4, 1, 2, 3}, 2.5},
		{0.1, []float64{1, 2, 3, 4, 5}, 1.4},
		{0.9, []float64{1, 2, 3, 4, 5}, 4.6},
		{0, []float64{3, 1}, 1},
		{1, []float64{3, 1}, 3},
		{0.3, []float64{7}, 7},
	} {
		if got := quantile(c.p, c.v); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("quantile(%v, %v) = %v, want %v", c.p, c.v, got, c.want)
		}
	}
}

// The upper median of angles by hundredths is that of the angles, rounded.
func TestHundredths(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	for n := range 300 {
		var h hundredths
		var all []float64
		for range n {
			v := -40 + 0.05*rng.NormFloat64()
			h.add(v)
			all = append(all, v)
		}
		slices.Sort(all)
		want := 0.0
		if n > 0 {
			want = math.Round(all[n/2]*100) / 100
		}
		if got := h.median(); got != want {
			t.Fatalf("%d angles: %v, want %v", n, got, want)
		}
	}
}
