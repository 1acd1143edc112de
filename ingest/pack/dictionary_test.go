package pack

import (
	"math/rand/v2"
	"testing"
)

// A sample gives up on noise, and not on values that come again, as long as a dictionary could be of use.
func TestAllDiffer(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	column := func(n, distinct int) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(rng.IntN(distinct)) / 7
		}
		return v
	}
	for _, c := range []struct {
		n, distinct int
		want        bool
	}{
		{36_000, 100, false}, {36_000, 4_000, false}, {36_000, 1 << 40, true},
		{5_000_000, 100, false}, {5_000_000, 400_000, false}, {5_000_000, 1 << 50, true},
		{100, 1 << 40, false}, {0, 1, false}, // short ones are looked at as they are
	} {
		if got := allDiffer(column(c.n, c.distinct)); got != c.want {
			t.Errorf("%d rows of %d values: %v, want %v", c.n, c.distinct, got, c.want)
		}
	}
	if v := column(36_000, 1<<40); dictionary(v) != nil {
		t.Error("noise got a dictionary")
	}
	if v := column(36_000, 4_000); dictionary(v) == nil {
		t.Error("4,000 values in 36,000 rows got none")
	}
}
