package surface

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// By hand: values 0, 1 and 3 at 0, 1 and 2 m: pairs of 1 m have differences 1 and 2,
// half the mean square 1.25; the pair of 2 m has 3, so 4.5.
func TestEmpirical(t *testing.T) {
	points := []Point{{At: r2.Vec{}, Value: 0}, {At: r2.Vec{X: 1}, Value: 1}, {At: r2.Vec{X: 2}, Value: 3}, {At: r2.Vec{X: 50}, Value: 9}}
	got := Empirical(points, 10, 1)
	want := []Bin{{2, 1, 1.25}, {1, 2, 4.5}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("%v, want %v", got, want)
	}
	if got := Empirical(nil, 10, 1); len(got) != 0 {
		t.Errorf("%v of nothing", got)
	}
}

// Against all pairs, and against itself with so many points that some are left out.
func TestEmpiricalAgainstAllPairs(t *testing.T) {
	points := scatter(rand.New(rand.NewPCG(11, 12)), 700, 100, func(v r2.Vec) float64 { return math.Sin(v.X/20) + v.Y/50 })
	const widthM, cutoffM = 4, 30
	var want [8]Bin
	for i, p := range points {
		for _, q := range points[:i] {
			if m := r2.Norm(r2.Sub(p.At, q.At)); m <= cutoffM {
				b := &want[int(math.Ceil(m/widthM))-1]
				b.Pairs++
				b.DistM += m
				b.Gamma += (p.Value - q.Value) * (p.Value - q.Value) / 2
			}
		}
	}
	for i, b := range Empirical(points, cutoffM, widthM) {
		n := float64(want[i].Pairs)
		if b.Pairs != want[i].Pairs {
			t.Errorf("bin %d: %d pairs, want %d", i, b.Pairs, want[i].Pairs)
		}
		near(t, "distance", b.DistM, want[i].DistM/n, 1e-9)
		near(t, "gamma", b.Gamma, want[i].Gamma/n, 1e-9)
	}
	many := scatter(rand.New(rand.NewPCG(13, 14)), 60000, 100, func(v r2.Vec) float64 { return math.Sin(v.X/20) + v.Y/50 })
	pairs := 0
	for i, b := range Empirical(many, cutoffM, widthM) {
		pairs += b.Pairs
		near(t, "gamma of many", b.Gamma, want[i].Gamma/float64(want[i].Pairs), 0.25*b.Gamma)
	}
	if pairs > mostPairs {
		t.Errorf("%d pairs", pairs)
	}
}

// A fit to a variogram's own values finds it again.
func TestFitFindsItself(t *testing.T) {
	for _, want := range []Variogram{{Spherical, 0.05, 0.59, 897}, {Exponential, 0.2, 2, 40}, {Gaussian, 0.01, 5, 60}} {
		var bins []Bin
		for m := want.RangeM / 10; m < 2*want.RangeM; m += want.RangeM / 8 {
			bins = append(bins, Bin{100, m, want.Gamma(m)})
		}
		got, ok := Fit(want.Model, bins, Variogram{Nugget: 0.1, PSill: 1, RangeM: want.RangeM / 3})
		if !ok {
			t.Fatal("no fit")
		}
		near(t, "nugget", got.Nugget, want.Nugget, 1e-3)
		near(t, "sill", got.PSill, want.PSill, 1e-3*want.PSill)
		near(t, "range", got.RangeM, want.RangeM, 2e-3*want.RangeM)
	}
	if _, ok := Fit(Spherical, []Bin{{1, 1, 1}, {1, 2, 2}}, Variogram{PSill: 1, RangeM: 1}); ok {
		t.Error("a fit to two bins")
	}
}

func TestGamma(t *testing.T) {
	for _, c := range []struct {
		v       Variogram
		m, want float64
	}{
		{Variogram{Spherical, 0.1, 1, 30}, 0, 0},
		{Variogram{Spherical, 0.1, 1, 30}, 15, 0.1 + 0.6875}, // 1.5/2 - 0.5/8
		{Variogram{Spherical, 0.1, 1, 30}, 45, 1.1},
		{Variogram{Exponential, 0, 2, 10}, 10, 2 * (1 - 1/math.E)},
		{Variogram{Gaussian, 0, 2, 10}, 20, 2 * (1 - math.Exp(-4))},
	} {
		near(t, "gamma", c.v.Gamma(c.m), c.want, 1e-12)
	}
}
