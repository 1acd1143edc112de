package analyse

import (
	"math"
	"testing"
)

// A boat that holds for an hour has a disc of one cast's radius fished for an hour: π 25²
// m², to the width of a cell around it.
func TestFishedAroundAHold(t *testing.T) {
	d := newDay("2031-10-04")
	d.fish(3700, 0, 0, 10)
	c := chartOf(t, quick(), d)
	area, from := 0.0, math.Inf(1)
	for _, f := range c.Fished {
		area += f.AreaM2
		if f.FromH < 1 {
			continue
		}
		from = math.Min(from, f.FromH)
	}
	if want := math.Pi * 25 * 25; math.Abs(area-want) > 2*math.Pi*25*25/4 || from != 1 {
		t.Errorf("%.0f m² fished, from %v h, want about %.0f and 1: %+v", area, from, want, c.Fished)
	}
}

// Two passes side by side, 30 m apart, put the water between in reach of both.
func TestFishedAddsUp(t *testing.T) {
	hours := func(apartM float64) float64 {
		d := newDay("2031-10-04")
		d.fish(1000, 0, 0, 10)
		d.at.X += apartM
		d.fish(1000, 0, 0, 10)
		c := chartOf(t, quick(), d)
		most := 0.0
		for _, f := range c.Fished {
			most = math.Max(most, f.FromH)
		}
		return most
	}
	if near, far := hours(30), hours(80); near != 0.5 || far != 0.25 {
		t.Errorf("0.28 h each: %v h and more where both reach, %v h where none does; want 0.5 and 0.25", near, far)
	}
}
