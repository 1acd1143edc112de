package madelake

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestBottomHasItsStructure(t *testing.T) {
	at := func(x, y float64) float64 { return bottomM(r2.Vec{X: x, Y: y}) }
	channel := at(-300, -207)
	for _, c := range []struct {
		name string
		ok   bool
	}{
		{"the channel lies deeper than both its banks", channel > at(-240, -320)+3 && channel > at(-359, -97)+3},
		{"the hump rises from the basin", at(900, 200) < at(900, 420)-1.5 && at(900, 200) > 2},
		{"the long point is shallower than the water beside it", at(320, -380) < at(460, -380)-2},
		{"the creek arm is water between two banks", at(500, 800) > 2 && at(250, 800) < 0 && at(760, 800) < 0},
		{"the west is a flat", math.Abs(at(-1300, 100)-at(-1100, 0)) < 1},
		{"the corners are land", at(-2000, 1300) < 0 && at(2000, -1300) < 0 && at(-2000, -1300) < 0 && at(2000, 1300) < 0},
	} {
		if !c.ok {
			t.Error("not so:", c.name)
		}
	}
}

func TestBottomIsSmoothAndClosed(t *testing.T) {
	water := 0
	for x := -2500.0; x <= 2500; x += 25 {
		for y := -1800.0; y <= 1800; y += 20 {
			d := bottomM(r2.Vec{X: x, Y: y})
			if math.IsNaN(d) || d > 17 || d < -6 {
				t.Fatalf("%.2f m at %v, %v", d, x, y)
			}
			if d <= 0 {
				continue
			}
			water++
			if math.Abs(x) > halfEastM || math.Abs(y) > halfNorthM {
				t.Fatalf("water at %v, %v, outside the box", x, y)
			}
			// A step of a centimetre changes the depth by no more than a steep bank.
			if s := math.Abs(bottomM(r2.Vec{X: x + 0.01, Y: y})-d) / 0.01; s > 0.4 {
				t.Errorf("slope %.2f at %v, %v", s, x, y)
			}
		}
	}
	if km2 := float64(water) * 500 / 1e6; km2 < 3 || km2 > 6 {
		t.Errorf("%.1f km² of water", km2)
	}
}

func TestTurnedAndPlaceAreInverse(t *testing.T) {
	for deg := -30.0; deg < 400; deg += 17 {
		v := place(r2.Vec{X: 3, Y: -8}, deg, 12, -5)
		along, across := turned(r2.Sub(v, r2.Vec{X: 3, Y: -8}), deg)
		if math.Abs(along-12) > 1e-9 || math.Abs(across+5) > 1e-9 {
			t.Errorf("%v°: %v along, %v across", deg, along, across)
		}
	}
	// Bearing 90: along is east, across to the right is south.
	if v := place(r2.Vec{}, 90, 2, 1); math.Abs(v.X-2) > 1e-12 || math.Abs(v.Y+1) > 1e-12 {
		t.Errorf("bearing 90, 2 along and 1 right is %v", v)
	}
}
