package clock

import (
	"math"
	"math/rand/v2"
	"testing"
)

// B is A delayed by 2. Coefficients worked out elsewhere in closed form, over the
// rows that overlap: r(2) = 1, r(0) = 0.965234, r(4) = 0.962140, r(1) = 0.731118.
// On a trend like this the peak is narrow: wrong lags fit almost as well.
func TestCorrelateByHand(t *testing.T) {
	a := []float64{1, 3, 2, 5, 4, 6, 5, 8, 7, 9}
	b := []float64{0, 0, 1, 3, 2, 5, 4, 6, 5, 8}
	r := correlate(a, b, 0, 9, 2, 0)
	for _, c := range []struct {
		lag  int
		want float64
	}{{2, 1}, {0, 0.965234}, {4, 0.962140}, {1, 0.731118}} {
		if got := r[c.lag+9]; math.Abs(got-c.want) > 5e-7 {
			t.Errorf("r(%d) = %.6f, want %.6f", c.lag, got, c.want)
		}
	}
	s := scan{fromS: -9, stepS: 1, misfit: make([]float64, len(r))}
	for i, r := range correlate(a, b, 0, 9, 5, 0) {
		s.misfit[i] = 1 - r
	}
	best := math.Inf(1)
	at := 0
	for i, m := range s.misfit {
		if m < best {
			best, at = m, i-9
		}
	}
	if at != 2 {
		t.Errorf("best lag %d, want 2", at)
	}
	// Rows of the package's example: the log is 2 s ahead.
	r = correlate([]float64{0, 0, 1, 3, 2, 5, 4}, []float64{1, 3, 2, 5, 4, 6, 5}, 0, 3, 4, 0)
	if got := r[-2+3]; math.Abs(got-1) > 1e-9 {
		t.Errorf("r(-2) = %v, want 1", got)
	}
}

// All lags at once give what each lag by itself does, whatever is missing.
func TestCorrelateAgainstSums(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		series := func(n int) []float64 {
			v := make([]float64, n)
			for i := range v {
				v[i] = 100 + r.NormFloat64()
				if r.IntN(4) == 0 {
					v[i] = math.NaN()
				}
			}
			return v
		}
		a, b := series(1+r.IntN(40)), series(1+r.IntN(40))
		shift, lags, need := r.IntN(21)-10, 60, float64(r.IntN(6))
		for k, got := range correlate(a, b, shift, lags, need, 1e-3) {
			var c correlation
			for i := range a {
				if j := i + shift + k - lags; j >= 0 && j < len(b) && a[i] == a[i] && b[j] == b[j] {
					c.add(a[i], b[j])
				}
			}
			want := c.r(1e-3)
			if c.n < need {
				want = math.NaN()
			}
			if (got == got) != (want == want) || math.Abs(got-want) > 1e-6 {
				t.Fatalf("lag %d of %d pairs: %v, want %v", k-lags, int(c.n), got, want)
			}
		}
	}
}

func TestCorrelateNothing(t *testing.T) {
	for _, r := range correlate(nil, []float64{1}, 0, 2, 0, 0) {
		if r == r {
			t.Errorf("got %v of nothing", r)
		}
	}
	for _, r := range correlate([]float64{2, 2, 2}, []float64{1, 2, 3}, 0, 0, 0, 0.1) {
		if r == r {
			t.Errorf("got %v of a series that doesn't vary", r)
		}
	}
}

func TestBinned(t *testing.T) {
	b := binned([]sample{{-6, 1}, {-5, 2}, {-1, 4}, {9, 7}}, 5)
	if b.from != -2 || len(b.v) != 4 || b.v[0] != 1 || b.v[1] != 3 || b.v[2] == b.v[2] || b.v[3] != 7 {
		t.Errorf("got %+v", b)
	}
}
