package clock

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestPeaks(t *testing.T) {
	s := scan{fromS: -600, stepS: 60, misfit: []float64{9, 5, 9, 9, 4, 3, 9, math.NaN(), 2, 2, 9, 9, 9, 1}}
	// 5 at -540; 3 at -300; the first 2 at -120, three steps from 3; 1 at +180.
	want := []peak{{180, 1}, {-120, 2}, {-300, 3}, {-540, 5}}
	if got := s.peaks(); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// The example of the package, worked on paper: gaps 2·0.0800 + 3·0.0741 +
// 4·0.0282 + 5·0.0408 = 0.699, ln(0.60/0.05) = 2.485, and (1 + 2.485/0.699)^-4.
func TestChanceByHand(t *testing.T) {
	p := []peak{{misfit: 0.05}, {misfit: 0.60}, {misfit: 0.65}, {misfit: 0.70}, {misfit: 0.72}, {misfit: 0.75}}
	if got := chance(p, 6); math.Abs(got-0.00233) > 0.00002 {
		t.Errorf("got %v, want 0.0023", got)
	}
}

func TestChanceEdges(t *testing.T) {
	p := func(m ...float64) (out []peak) {
		for _, m := range m {
			out = append(out, peak{misfit: m})
		}
		return out
	}
	for _, c := range []struct {
		name   string
		p      []peak
		places int
		want   float64
	}{
		{"too few, and no room for more", p(0.1, 0.8, 0.9), 3, 1},
		{"one perfect fit", p(0, 0.5, 0.6, 0.7, 0.8, 0.9), 6, 0},
		{"two perfect fits", p(0, 0, 0.6, 0.7, 0.8, 0.9), 6, 1},
		{"all alike", p(0.5, 0.5, 0.5, 0.5, 0.5, 0.5), 6, 1},
		{"no lead", p(0.4, 0.4, 0.6, 0.7, 0.8, 0.9), 6, 1},
		{"the rest fits not at all", p(0.5), 100, math.Pow(1+math.Log(2)*mostPower/4, -4)},
	} {
		if got := chance(c.p, c.places); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A chance of a hundredth must come up once in a hundred times when nothing
// matches: misfits drawn with P(misfit < x) = x^k by the law itself, for any k.
func TestChanceIsOne(t *testing.T) {
	for _, k := range []float64{1, 3, 8} {
		r := rand.New(rand.NewPCG(3, uint64(k)))
		const runs = 8000
		below := map[float64]int{0.1: 0, 0.01: 0, 0.001: 0}
		for range runs {
			var p []peak
			for range 100 {
				p = append(p, peak{misfit: math.Pow(r.Float64(), 1/k)})
			}
			slices.SortFunc(p, func(a, b peak) int {
				if a.misfit < b.misfit {
					return -1
				}
				return 1
			})
			c := chance(p[:mostPeaks+1], 100)
			for limit := range below {
				if c < limit {
					below[limit]++
				}
			}
		}
		for limit, n := range below {
			// Four standard deviations of the count.
			if got := float64(n) / runs; math.Abs(got-limit) > 4*math.Sqrt(limit/runs) {
				t.Errorf("k %v: chance below %v in %v of runs", k, limit, got)
			}
		}
	}
}

func TestAgreement(t *testing.T) {
	// A part with so many peaks, the best at an offset.
	part := func(peaks int, bestS float64) scan {
		s := scan{fromS: 0, stepS: 60}
		for range peaks {
			s.misfit = append(s.misfit, 1, 1, 0.9, 1, 1)
		}
		s.misfit[int(bestS/60)] = 0.1
		return s
	}
	for _, c := range []struct {
		name  string
		parts []scan
		want  float64
	}{
		{"no parts", nil, 1},
		{"one agrees", []scan{part(10, 120), part(10, 420), part(10, 720), part(10, 1020)}, 1},
		// Of the other three at least one: 1 - 0.9³ = 0.271.
		{"two agree", []scan{part(10, 120), part(10, 120), part(10, 720), part(10, 1020)}, 0.271},
		// At least two of three: 3·0.01·0.9 + 0.001 = 0.028.
		{"three agree", []scan{part(10, 120), part(10, 120), part(10, 120), part(10, 1020)}, 0.028},
		{"all agree", []scan{part(10, 120), part(10, 120), part(10, 120), part(10, 120)}, 0.001},
		// The one with most peaks is taken for granted: 1/5 · 1/4.
		{"parts of unlike size", []scan{part(20, 120), part(5, 120), part(4, 120)}, 0.05},
		{"a part without any", []scan{part(10, 120), part(10, 120), {}}, 0.1},
	} {
		if got := agreement(c.parts, 120); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
