package backsheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"leadline/export/exporttest"
	"leadline/spatial"
)

func bin(from, to int, value, low, high float64) spatial.LiftBin {
	return spatial.LiftBin{From: from, To: to, Days: 5, Lift: spatial.Estimate{Value: value, OK: true, Low: low, High: high, Bounded: true, Days: 5}}
}

func chartOf(bins ...spatial.LiftBin) *liftChart {
	return newLift(spatial.Backtest{Earlier: spatial.Foretold{ByKnown: bins}})
}

// TestLiftPlaces: by hand. The axis goes from 0.5 to 4, three doublings over the 240 units from 252
// up to 12, and from 0 to 20 days over the 344 from 66 on: 2 lies two doublings up at 92, the
// middle of 1 to 9 days at 66 + 344·5/20 = 152.
func TestLiftPlaces(t *testing.T) {
	c := chartOf(bin(1, 9, 2, 1, 4), bin(10, 20, 1, 0.5, 2))
	p := c.Points[0]
	if p.X != "152" || p.Y != "92" || p.Bar != "M152 172L152 12M147 172L157 172M147 12L157 12" || p.Reach != "M83.2 92L220.8 92" || p.Arrows != "" {
		t.Errorf("%+v", p)
	}
	if c.Even != "M66 172L452 172" || c.Points[1].Y != "172" {
		t.Errorf("%q, %q", c.Even, c.Points[1].Y)
	}
	var lifts, days []string
	for _, l := range c.Lines {
		lifts = append(lifts, l.Text)
	}
	for _, d := range c.Days {
		days = append(days, d.Text)
	}
	if got := strings.Join(lifts, " ") + "; " + strings.Join(days, " "); got != "0.5 1 2 4; 0 5 10 15 20" {
		t.Error(got)
	}
}

// TestLiftBeyond: what the scale can't hold ends in an arrow at its edge, and its figure is told.
func TestLiftBeyond(t *testing.T) {
	for _, c := range []struct {
		name   string
		bin    spatial.LiftBin
		arrows int
		hollow bool
		value  string
	}{
		{"inside", bin(1, 5, 1.2, 0.6, 3), 0, false, "1.2"},
		{"low is nothing", bin(1, 5, 1.2, 0, 3), 1, false, "1.2"},
		{"nothing at all", bin(1, 5, 0, 0, 0.9), 1, false, "0"},
		{"both", bin(1, 5, 3, 0.01, 200), 2, false, "3.0"},
		{"no interval", spatial.LiftBin{From: 3, To: 3, Days: 2, Lift: spatial.Estimate{Value: 1.7, OK: true, Why: "only 2 days"}}, 0, true, "1.7"},
		{"no interval, nothing", spatial.LiftBin{From: 3, To: 3, Days: 2, Lift: spatial.Estimate{OK: true, Why: "only 2 days"}}, 1, true, "0"},
	} {
		l := chartOf(c.bin)
		p := l.Points[0]
		if n := strings.Count(p.Arrows, "Z"); n != c.arrows || l.Arrows != (n > 0) || l.Hollow != c.hollow || (p.Bar == "") != c.hollow || p.Value != c.value {
			t.Errorf("%s: %+v", c.name, p)
		}
		for _, s := range []string{p.Y, p.ValueY} {
			if v, err := strconv.ParseFloat(s, 64); err != nil || v < 0 || v > liftFoot {
				t.Errorf("%s: %s is not in the plot", c.name, s)
			}
		}
	}
}

func TestLiftNothing(t *testing.T) {
	unknown := spatial.LiftBin{From: 1, To: 5, Days: 5, Lift: spatial.Estimate{Why: "no event"}}
	if chartOf() != nil || chartOf(unknown) != nil || chartOf(bin(1, 5, math.NaN(), 1, 2)) != nil {
		t.Error("drawn from nothing")
	}
	if c := chartOf(unknown, bin(6, 9, 2, 1, 3)); len(c.Points) != 1 || len(c.Rows) != 1 {
		t.Errorf("%+v", c.Points)
	}
}

// TestLiftKeepsInside: figures of any size and any number of days stay inside the drawing, numbers under the axis apart.
func TestLiftKeepsInside(t *testing.T) {
	for _, most := range []int{1, 2, 6, 7, 8, 20, 35, 36, 99, 364, 1999, 6000} {
		c := chartOf(bin(1, 1, 0.3, 0.1, 8), bin(max(1, most/2), most, 40, 9, 900))
		if n := len(c.Days); n < 2 || n > 9 {
			t.Errorf("%d days: %d numbers", most, n)
		}
		last, _ := strconv.ParseFloat(c.Days[len(c.Days)-1].At, 64)
		if last > liftLast+0.1 {
			t.Errorf("%d days: the axis ends at %g", most, last)
		}
		for _, p := range c.Points {
			x, _ := strconv.ParseFloat(p.X, 64)
			at, _ := strconv.ParseFloat(p.At, 64)
			wide := 9 * float64(len(p.Value))
			if x < liftLeft || x > liftLast || at+wide > liftWidth {
				t.Errorf("%d days: point at %g, value %q at %g", most, x, p.Value, at)
			}
		}
	}
}

// TestSureBars: by hand. Ten bars of a tenth each are all at the line; the axis has twice that.
func TestSureBars(t *testing.T) {
	b := exporttest.Backtest()
	flat := make([]float64, 10)
	for i := range flat {
		flat[i] = 0.1
	}
	b.Earlier.PIT = flat
	c := newSure(b)
	if len(c.Bars) != 10 || c.Even != "M66 132L310 132" {
		t.Errorf("%d bars, %q", len(c.Bars), c.Even)
	}
	for i, bar := range c.Bars {
		if bar.Y != "132" || bar.High != "120" || bar.X != num(66+24.4*float64(i)+1.5) {
			t.Errorf("%+v", bar)
		}
	}
	for _, most := range []float64{0.1, 0.26, 0.55, 1} {
		b.Earlier.PIT = []float64{most, 1 - most}
		c := newSure(b)
		if n := len(c.Lines); n < 3 || n > 21 {
			t.Errorf("%g: %d lines", most, n)
		}
		for _, bar := range c.Bars {
			if y, _ := strconv.ParseFloat(bar.Y, 64); y < sureTop {
				t.Errorf("%g: %s", most, fmt.Sprint(bar))
			}
		}
	}
	b.Earlier.PIT = nil
	if newSure(b) != nil {
		t.Error("drawn from nothing")
	}
}

// TestLiftFiguresApart: points of neighbouring days have their figures above and below.
func TestLiftFiguresApart(t *testing.T) {
	c := chartOf(bin(1, 2, 1.1, 0.5, 2), bin(3, 4, 1.1, 0.5, 2), bin(100, 100, 1.1, 0.5, 2))
	if a, b, far := c.Points[0].ValueY, c.Points[1].ValueY, c.Points[2].ValueY; a == b || a != far {
		t.Errorf("%s, %s, %s", a, b, far)
	}
}
