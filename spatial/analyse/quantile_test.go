package analyse

import (
	"math"
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
