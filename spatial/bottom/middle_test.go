package bottom

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Against sorting: random ones, ones with few values, rising and falling ones, and those that the middle
// one of three parts badly.
func TestNth(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	makes := map[string]func(i, n int) float64{
		"random":     func(i, n int) float64 { return r.NormFloat64() },
		"few values": func(i, n int) float64 { return float64(r.IntN(3)) },
		"alike":      func(i, n int) float64 { return 4 },
		"rising":     func(i, n int) float64 { return float64(i) },
		"falling":    func(i, n int) float64 { return float64(-i) },
		"pipes":      func(i, n int) float64 { return float64(min(i, n-1-i)) },
		"comb":       func(i, n int) float64 { return float64(i % 2 * i) },
	}
	for name, of := range makes {
		for _, n := range []int{1, 2, 3, 24, 25, 26, 100, 1001, 4096} {
			v := make([]float64, n)
			for i := range v {
				v[i] = of(i, n)
			}
			sorted := slices.Sorted(slices.Values(v))
			for _, k := range []int{0, n / 3, n / 2, n - 1} {
				in := slices.Clone(v)
				if got := nth(in, k); got != sorted[k] {
					t.Errorf("%s: place %d of %d: %v, want %v", name, k, n, got, sorted[k])
				}
				slices.Sort(in)
				if !slices.Equal(in, sorted) {
					t.Errorf("%s: %d values are not the same afterwards", name, n)
				}
			}
			want := sorted[n/2]
			if n%2 == 0 {
				want = (sorted[n/2-1] + sorted[n/2]) / 2
			}
			if got := median(v); got != want {
				t.Errorf("%s: median of %d: %v, want %v", name, n, got, want)
			}
		}
	}
}
