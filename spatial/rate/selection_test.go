package rate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// agree tells whether two numbers do, to within.
func agree(got, want, within float64) bool { return math.Abs(got-want) <= within }

// Moose in burnt forest (Neu, Byers & Peek 1974), the table that Manly et al. work through:
// counts and areas as R package adehabitatHS 0.3.18 has them (man page wi), figures by its
// formulas in R 4.2.2, to ten digits; half of the last is 5e-11.
func TestSelectMoose(t *testing.T) {
	used, area := []float64{25, 22, 30, 40}, []float64{0.340, 0.101, 0.104, 0.455}
	want := []struct{ o, w, se, b, chi2, low, high, book float64 }{
		{0.2136752137, 0.6284565108, 0.1114567072, 0.1101193329, 11.11237513, 0.1190240, 0.3083265, 0.629},
		{0.1880341880, 1.8617246340, 0.3576621449, 0.3262148950, 5.80485082, 0.0978074, 0.2782610, 1.866},
		{0.2564102564, 2.4654832347, 0.3881576249, 0.4320066136, 14.25428590, 0.1555819, 0.3572386, 2.473},
		{0.3418803419, 0.7513853668, 0.0963796110, 0.1316591584, 6.65400368, 0.2323492, 0.4514115, 0.750},
	}
	got := Select(used, area)
	for i, w := range want {
		g := got[i]
		chi2 := (g.Ratio - 1) / g.SE * (g.Ratio - 1) / g.SE
		if !g.OK || g.Thin || !agree(g.UsedShare, w.o, 6e-11) || !agree(g.Ratio, w.w, 6e-11) || !agree(g.SE, w.se, 6e-11) ||
			!agree(g.Index, w.b, 6e-11) || !agree(chi2, w.chi2, 6e-9) ||
			!agree(g.LowShare, w.low, 6e-8) || !agree(g.HighShare, w.high, 6e-8) ||
			!near(g.Low, g.LowShare/area[i], 1e-12) || !near(g.High, g.HighShare/area[i], 1e-12) {
			t.Errorf("class %d: %+v (chi-square %v), want %+v", i+1, g, chi2, w)
		}
		// As the book prints it, from areas less rounded (from memory).
		if !agree(g.Ratio, w.book, 0.01) {
			t.Errorf("class %d: %v, the book has %v", i+1, g.Ratio, w.book)
		}
	}
	pearson, g := overall(got)
	if !agree(pearson, 43.68926643, 6e-9) || !agree(g, 35.39806187, 6e-9) {
		t.Errorf("Pearson %v, G %v", pearson, g)
	}
	if p := (distuv.ChiSquared{K: 3}).Survival(pearson); !near(p, 1.757e-9, 5e-4) {
		t.Errorf("p of Pearson %v", p)
	}
	if p := (distuv.ChiSquared{K: 3}).Survival(g); !near(p, 1.004e-7, 5e-4) {
		t.Errorf("p of G %v", p)
	}
}

// overall returns Pearson's and the log-likelihood statistic of the whole table.
func overall(table []Selection) (pearson, g float64) {
	n := 0.0
	for _, s := range table {
		n += s.Used
	}
	for _, s := range table {
		e := n * s.HoursShare
		pearson += (s.Used - e) * (s.Used - e) / e
		if s.Used > 0 {
			g += 2 * s.Used * math.Log(s.Used/e)
		}
	}
	return pearson, g
}

// Five invented bands, worked by the formulas elsewhere, to four decimals.
func TestSelectBands(t *testing.T) {
	got := Select([]float64{4, 18, 31, 6, 1}, []float64{20, 25, 15, 25, 15})
	for i, w := range []float64{0.3333, 1.2, 3.4444, 0.4, 0.1111} {
		if !agree(got[i].Ratio, w, 6e-5) || got[i].Thin {
			t.Errorf("band %d: %+v, want %v", i+1, got[i], w)
		}
	}
	if s := got[2]; !agree(s.LowShare, 0.3505, 6e-5) || !agree(s.HighShare, 0.6828, 6e-5) {
		t.Errorf("band 3: %v to %v", s.LowShare, s.HighShare)
	}
	// z for five classes as printed.
	if s := got[2]; !agree((s.HighShare-s.UsedShare)/(s.SE*s.HoursShare), 2.5758, 6e-5) {
		t.Errorf("z = %v", (s.HighShare-s.UsedShare)/(s.SE*s.HoursShare))
	}
	for _, i := range []int{0, 4} { // they reach below 0
		if s := got[i]; s.LowShare != 0 || s.Low != 0 || s.High <= s.Ratio {
			t.Errorf("band %d: %+v, want it cut at 0", i+1, s)
		}
	}
	if pearson, g := overall(got); !agree(pearson, 72.2222, 6e-5) || !agree(g, 59.0640, 6e-5) {
		t.Errorf("Pearson %v, G %v", pearson, g)
	}
}

// Sea birds by depth of water: fulmars of 1999 in R package gstat 2.1-0, 729 places by
// band and summed density, with the ratios by hand to six decimals. A density is not a
// count, so no interval is compared. The deepest band rests on one place of the 729, and
// of 814 in all one would be expected there: it is thin, and no other is.
func TestSelectFulmar(t *testing.T) {
	places := []float64{268, 275, 109, 76, 1}
	density := []float64{0, 97.512396, 356.005714, 357.853053, 2.539350}
	for i, s := range Select(density, places) {
		w := []float64{0, 0.317598, 2.925374, 4.217373, 2.274435}[i]
		p := []float64{0.367627, 0.377229, 0.149520, 0.104252, 0.001372}[i]
		if !s.OK || !agree(s.Ratio, w, 6e-7) || !agree(s.HoursShare, p, 6e-7) || s.Thin != (i == 4) {
			t.Errorf("band %d: %+v, want %v of %v", i+1, s, w, p)
		}
	}
}

func TestSelectCases(t *testing.T) {
	if got := Select(nil, nil); got != nil {
		t.Errorf("no classes: %+v", got)
	}
	for _, s := range Select([]float64{0, 0}, []float64{1, 3}) {
		if s.OK || s.Ratio != 0 || s.Index != 0 || s.UsedShare != 0 || !s.Thin || s.HoursShare == 0 {
			t.Errorf("no uses: %+v", s)
		}
	}
	for _, s := range Select([]float64{2, 6}, []float64{0, 0}) {
		if s.OK || s.Ratio != 0 || s.UsedShare == 0 {
			t.Errorf("no hours: %+v", s)
		}
	}
	t.Run("one class", func(t *testing.T) {
		s := Select([]float64{9}, []float64{2})[0]
		if !s.OK || s.Ratio != 1 || s.SE != 0 || s.Low != 1 || s.High != 1 || s.Index != 1 || s.Thin {
			t.Errorf("%+v", s)
		}
	})
	t.Run("a class without hours", func(t *testing.T) {
		got := Select([]float64{6, 10, 4}, []float64{2, 0, 6})
		if s := got[1]; s.OK || s.UsedShare != 0.5 || s.Ratio != 0 || s.High != 0 || s.Index != 0 || !s.Thin {
			t.Errorf("%+v", s)
		}
		// Its uses count among all; two classes share the 5 %, z = 2.2414 (normal quantile of 0.9875).
		if s := got[0]; !agree(s.Ratio, 1.2, 1e-12) || !agree(s.HighShare, 0.3+2.2414*math.Sqrt(0.3*0.7/20), 1e-5) {
			t.Errorf("%+v", s)
		}
	})
	t.Run("the example", func(t *testing.T) {
		got := Select([]float64{6, 4}, []float64{2, 6})
		a, b := got[0], got[1]
		if !agree(a.Ratio, 2.4, 1e-12) || !agree(a.SE, 0.620, 5e-4) || !agree(b.Ratio, 0.533, 5e-4) ||
			!agree(a.Index, 0.818, 5e-4) || !agree(b.Index, 0.182, 5e-4) ||
			!agree(a.LowShare, 0.253, 5e-4) || !agree(a.HighShare, 0.947, 5e-4) {
			t.Errorf("%+v", got)
		}
		// 2.5 and 7.5 are expected.
		if !a.Thin || b.Thin {
			t.Errorf("thin: %v, %v", a.Thin, b.Thin)
		}
	})
}

// Another unit of hours changes nothing, another order of classes only the order.
func TestSelectLaws(t *testing.T) {
	used, hours := []float64{4, 18, 31, 6, 1}, []float64{20, 25, 15, 25, 15}
	want := Select(used, hours)
	n := len(used)
	u, h := make([]float64, n), make([]float64, n)
	for i := range used {
		u[n-1-i], h[n-1-i] = used[i], hours[i]*3600
	}
	sum := 0.0
	for i, s := range Select(u, h) {
		w := want[n-1-i]
		if !near(s.Ratio, w.Ratio, 1e-12) || !near(s.High, w.High, 1e-12) ||
			!near(s.Low, w.Low, 1e-12) || !near(s.Index, w.Index, 1e-12) {
			t.Errorf("%+v, want %+v", s, w)
		}
		sum += s.Index
	}
	if !agree(sum, 1, 1e-12) {
		t.Errorf("the indexes add up to %v", sum)
	}
}

func TestSelectPanics(t *testing.T) {
	for name, call := range map[string]func(){
		"lengths":      func() { Select([]float64{1}, nil) },
		"negative":     func() { Select([]float64{-1}, []float64{1}) },
		"not a number": func() { Select([]float64{1}, []float64{math.NaN()}) },
	} {
		mustPanic(t, name, call)
	}
}
