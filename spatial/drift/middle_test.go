package drift

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

func TestLineIsTheMiddle(t *testing.T) {
	lines := Lines([]Pass{straight(r2.Vec{}, r2.Vec{X: 100}), straight(r2.Vec{Y: 6}, r2.Vec{X: 100, Y: 6})}, 20)
	if len(lines) != 1 {
		t.Fatalf("%d lines", len(lines))
	}
	l := lines[0]
	for _, p := range l.Middle {
		if math.Abs(p.Y-3) > 1e-9 {
			t.Errorf("the line passes %v, want y = 3", p)
		}
	}
	if l.Middle[0].X > l.Middle[len(l.Middle)-1].X || math.Abs(l.LengthM()-100) > 1e-9 || math.Abs(l.WidthM-6) > 1e-9 || math.Abs(l.TowardDeg-90) > 1e-9 {
		t.Errorf("from %v to %v, %v m long, %v m wide, toward %v; want 100, 6 and 90",
			l.Middle[0], l.Middle[len(l.Middle)-1], l.LengthM(), l.WidthM, l.TowardDeg)
	}
	if l.TowardU95Deg.OK {
		t.Errorf("two passes say the direction is %v° sure", l.TowardU95Deg.V)
	}
}

// The short pass of the hand-worked example lies aside and turns nothing; one askew turns it by hardly more than the eighth
// that the cube of half the length is.
func TestShortPassesTurnLittle(t *testing.T) {
	long := straight(r2.Vec{}, r2.Vec{X: 100})
	l := Lines([]Pass{long, straight(r2.Vec{X: 50, Y: 6}, r2.Vec{X: 100, Y: 6})}, 20)
	if len(l) != 1 || math.Abs(l[0].TowardDeg-90) > 1e-9 || math.Abs(l[0].LengthM()-50) > stepM ||
		math.Abs(l[0].Middle[0].Y-3) > 0.01 || math.Abs(l[0].WidthM-6) > 0.01 { // the fit stops at a millimetre
		t.Errorf("%+v, want 50 m along y = 3 toward 90, 6 m wide", l)
	}
	also := straight(r2.Vec{Y: 4}, r2.Vec{X: 100, Y: 4})
	askew := straight(r2.Vec{X: 25, Y: -3}, r2.Add(r2.Vec{X: 25, Y: -3}, r2.Scale(50, plane.Toward(80))))
	l = Lines([]Pass{long, also, askew}, 20)
	if len(l) != 1 || l[0].TowardDeg > 90 || l[0].TowardDeg < 90-10.0/16-0.1 {
		t.Errorf("%+v, want toward a little less than 90", l)
	}
}

// By hand: 88, 90 and 92° have a standard deviation of 2°, so their mean one of 1.155°, and Student's 97.5 % quantile for two degrees of
// freedom is 4.303 in printed tables (from memory): 4.97°.
func TestTowardU95(t *testing.T) {
	var paths [][]r2.Vec
	for _, deg := range []float64{88, 90, 92} {
		half := r2.Scale(50, plane.Toward(deg))
		paths = append(paths, straight(r2.Scale(-1, half), half).Path)
	}
	if deg, u := towardDeg(paths), towardU95Deg(paths); math.Abs(deg-90) > 1e-9 || !u.OK || math.Abs(u.V-4.97) > 0.01 {
		t.Errorf("%v ± %v, want 90 ± 4.97", deg, u)
	}
}

// A quarter of twelve is three: where only two run on the line ends, while of four two are enough.
func TestEndsWhereFewRun(t *testing.T) {
	for n, want := range map[int]float64{4: 150, 12: 100} {
		var passes []Pass
		for k := range n {
			to := 100.0
			if k < 2 {
				to = 150
			}
			y := float64(k) / 4
			passes = append(passes, straight(r2.Vec{Y: y}, r2.Vec{X: to, Y: y}))
		}
		if l := Lines(passes, 20); len(l) != 1 || math.Abs(l[0].LengthM()-want) > 2*stepM {
			t.Errorf("%d passes, two of them farther: %+v, want %v m", n, l, want)
		}
	}
}
