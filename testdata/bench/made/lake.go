package main

import (
	"math"
	"math/rand/v2"
)

// The reservoir is 10 by 5 km of open ocean, so that nobody takes it for a real one.
// Its bottom is one formula: a trough with an old river bed that winds along it, mounds
// here and there, and swells. Everything in it is wider than a cell of the grid: what is
// narrower no method could find.

// A box is a rectangle of the plane, metres.
type box struct{ x0, y0, x1, y1 float64 }

var whole = box{0, 0, 10000, 5000}

func (b box) shrunk(m float64) box { return box{b.x0 + m, b.y0 + m, b.x1 - m, b.y1 - m} }

func (b box) within(rng *rand.Rand) (x, y float64) {
	return b.x0 + rng.Float64()*(b.x1-b.x0), b.y0 + rng.Float64()*(b.y1-b.y0)
}

func (b box) has(x, y float64) bool { return x >= b.x0 && x <= b.x1 && y >= b.y0 && y <= b.y1 }

// noiseM is the sounder's own error, a standard deviation.
const noiseM = 0.05

type mound struct{ x, y, heightM, sdM float64 }

var mounds = func() []mound {
	rng := random(0)
	out := make([]mound, 60)
	for i := range out {
		x, y := whole.within(rng)
		out[i] = mound{x, y, 1 + 3*rng.Float64(), 40 + 90*rng.Float64()}
	}
	return out
}()

// bottomM is the depth at a place, metres, positive down, at least 0.5.
func bottomM(x, y float64) float64 {
	off := (y - 2500) / 2500
	d := 4.5 + 4.5*(1-off*off)
	bed := 2500 + 1100*math.Sin(x/1700+0.6) + 260*math.Sin(x/520)
	lean := 1100./1700*math.Cos(x/1700+0.6) + 260./520*math.Cos(x/520)
	across := (y - bed) / (130 * math.Sqrt(1+lean*lean))
	d += 5 * math.Exp(-across*across)
	d += 0.7*math.Sin(x/140+1)*math.Cos(y/175) + 0.25*math.Cos(x/58)*math.Sin(y/66)
	for i := range mounds {
		m := &mounds[i]
		dx, dy := x-m.x, y-m.y
		if q := (dx*dx + dy*dy) / (2 * m.sdM * m.sdM); q < 30 {
			d -= m.heightM * math.Exp(-q)
		}
	}
	return math.Max(d, 0.5)
}

// Where the lake lies, and about how long a degree is there.
const (
	south, west = 36.5, -40.0
	latM, lonM  = 110_960.0, 89_600.0
)

func degrees(x, y float64) (lat, lon float64) { return south + y/latM, west + x/lonM }
