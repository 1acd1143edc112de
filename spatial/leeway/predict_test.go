package leeway

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// Without errors of its own the interval is that of the wind alone, which is known in closed
// form: S times the quantiles of the wind's speed, and the normal's 95 % of its direction.
// An end is a quantile of 2000 draws, whose standard error is 3 % of the half-width: four
// of them are allowed.
func TestPredictWindAlone(t *testing.T) {
	m := learn(t, exact(0.05, 20, r2.Vec{}, 3, 0, 75, 150, 210, 300))
	wind := r2.Scale(4, plane.Toward(100))
	for _, c := range []struct {
		name                string
		speedSD, dirSD      float64
		low, high, turn, by float64
	}{
		{"known", 0, 0, 0.2, 0.2, 0, 1e-6},
		{"speed", 0.5, 0, 0.2 - 1.96*0.025, 0.2 + 1.96*0.025, 0, 0.12 * 1.96 * 0.025},
		{"direction", 0, 12, 0.2, 0.2, 1.96 * 12, 1e-6},
	} {
		d := m.Predict(wind, c.speedSD, c.dirSD)
		if math.Abs(d.SpeedMPS-0.2) > 1e-9 || math.Abs(d.TowardDeg-120) > 1e-6 || d.Beyond || d.Why != "" {
			t.Errorf("%s: %+v", c.name, d)
		}
		if math.Abs(d.LowMPS-c.low) > c.by || math.Abs(d.HighMPS-c.high) > c.by {
			t.Errorf("%s: %.4f to %.4f, want %.4f to %.4f", c.name, d.LowMPS, d.HighMPS, c.low, c.high)
		}
		if !d.TowardU95Deg.OK || math.Abs(d.TowardU95Deg.V-c.turn) > 0.12*c.turn+1e-4 {
			t.Errorf("%s: within %+v, want %.1f°", c.name, d.TowardU95Deg, c.turn)
		}
	}
	if d := m.Predict(wind, 0, 80); d.TowardU95Deg.OK {
		t.Errorf("a wind from anywhere: within %+v", d.TowardU95Deg)
	}
}

func TestPredictBeyond(t *testing.T) {
	flow := r2.Vec{X: 0.03}
	known := learn(t, exact(0.05, 10, flow, 3, 0, 75, 150, 210, 300)) // winds of 2 to 4.7 m/s
	unknown := learn(t, exact(0.05, 10, r2.Vec{}, 3, 80, 85, 90, 95, 100))
	toward := func(mps, deg float64) r2.Vec { return r2.Scale(mps, plane.Toward(deg)) }
	for _, c := range []struct {
		name string
		m    Model
		wind r2.Vec
		want Reason
	}{
		{"within", known, toward(4, 90), ""},
		{"a little stronger", known, toward(6, 90), ""},
		{"far stronger", known, toward(6.5, 90), FarStronger},
		{"a little weaker", known, toward(1.6, 90), ""},
		{"far weaker", known, toward(1.4, 90), FarWeaker},
		{"calm", known, r2.Vec{}, FarWeaker},
		{"between two winds", known, toward(4, 255), ""},
		{"the one wind", unknown, toward(3, 90), ""},
		{"beside the one wind", unknown, toward(3, 52), ""},
		{"from another side", unknown, toward(3, 45), OtherSide},
		{"the other way", unknown, toward(3, 270), OtherSide},
		{"nothing learned", Model{}, toward(3, 90), NoModel},
	} {
		d := c.m.Predict(c.wind, 0.3, 5)
		if d.Why != c.want || d.Beyond != (c.want != "") {
			t.Errorf("%s: %v %q, want %q", c.name, d.Beyond, d.Why, c.want)
		}
		if d.LowMPS > d.SpeedMPS || d.HighMPS < d.SpeedMPS || d.LowMPS < 0 {
			t.Errorf("%s: %+v", c.name, d)
		}
	}
	if d := known.Predict(r2.Vec{}, 0, 0); math.Abs(d.SpeedMPS-0.03) > 1e-9 || math.Abs(d.TowardDeg-90) > 1e-6 {
		t.Errorf("in a calm the boat goes with the water, not %+v", d)
	}
}

// The example above the code, and what it makes of intervals: the farther the wind from
// those of the passes, the wider.
func TestPredictHiddenCurrent(t *testing.T) {
	var passes []Pass
	for day := range 5 {
		for range 3 {
			passes = append(passes, Pass{Day: day, MPS: r2.Vec{Y: 0.2}, WindMPS: r2.Vec{Y: 4}, Seconds: 300})
		}
	}
	m := learn(t, passes)
	for _, c := range []struct {
		wind r2.Vec
		want float64
	}{{r2.Vec{Y: 4}, 0}, {r2.Vec{Y: 2}, 0.025}, {r2.Vec{Y: -4}, 0.1}} {
		if got := 0.05 * cmplx.Abs(1-m.pull*toComplex(c.wind)); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("wind %v: %v, want %v", c.wind, got, c.want)
		}
	}
	last := 0.0
	for _, deg := range []float64{0, 45, 90, 135, 180} {
		d := m.Predict(r2.Scale(4, plane.Toward(deg)), 0, 0)
		if width := d.HighMPS - d.LowMPS; width < last || deg > 0 && width < last+0.01 {
			t.Errorf("toward %v°: %.3f m/s wide, %.3f before", deg, width, last)
		} else {
			last = width
		}
	}
}

// Whatever is less sure is wider.
func TestPredictWider(t *testing.T) {
	rough := exact(0.05, 20, r2.Vec{X: 0.02}, 3, 0, 75, 150, 210, 300)
	for i := range rough {
		rough[i].MPS = r2.Scale(1+0.08*math.Sin(float64(7*i)), rough[i].MPS)
	}
	m := learn(t, rough)
	wind := r2.Scale(4, plane.Toward(40))
	base := m.Predict(wind, 0, 0)
	if base.HighMPS-base.LowMPS < 0.02 || base.TowardU95Deg.V <= 0 {
		t.Errorf("passes stray by some 6 %%, %+v", base)
	}
	speed, way := m.Predict(wind, 1, 0), m.Predict(wind, 0, 20)
	if speed.HighMPS-speed.LowMPS < 1.5*(base.HighMPS-base.LowMPS) {
		t.Errorf("%+v is not wider than %+v", speed, base)
	}
	if !way.TowardU95Deg.OK || way.TowardU95Deg.V < 1.5*base.TowardU95Deg.V {
		t.Errorf("%+v is not wider than %+v", way, base)
	}
	if again := m.Predict(wind, 0, 20); again != way {
		t.Errorf("%+v the first time, %+v the second", way, again)
	}
}

func TestPredictPanics(t *testing.T) {
	m := learn(t, exact(0.05, 20, r2.Vec{}, 3, 0, 75, 150, 210, 300))
	for _, c := range [][2]float64{{-1, 0}, {0, -1}, {math.NaN(), 0}, {0, math.NaN()}, {math.Inf(1), 0}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v: no panic", c)
				}
			}()
			m.Predict(r2.Vec{X: 3}, c[0], c[1])
		}()
	}
}
