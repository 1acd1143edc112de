package main

import (
	"math"
	"math/rand/v2"
)

// A spot is where a skipper drifts; on some of them fish school.
type spot struct {
	x, y float64
	fish bool
}

// spots returns n of them, every third with fish.
func spots(n int, in box, rng *rand.Rand) []spot {
	out := make([]spot, n)
	for i := range out {
		x, y := in.within(rng)
		out[i] = spot{x, y, i%3 == 0}
	}
	return out
}

// A moment is one second on the water, as the receiver and the sounder have it.
type moment struct {
	x, y     float64
	depthM   float64 // as logged: sometimes nothing, sometimes the second echo
	soundM   float64 // without these
	tempC    float64
	speedMPS float64
	drifting bool
	fish     bool // drifting over fish
}

// sail takes the boat from spot to spot for so many seconds, inside a box. On each it
// drifts a few times over the same water, going back to the head of the drift under
// power in between, and runs on.
func sail(seconds int, in box, places []spot, rng *rand.Rand) []moment {
	out := make([]moment, 0, seconds)
	x, y := places[0].x, places[0].y
	wind := 2 * math.Pi * rng.Float64()
	offX, offY := 0.0, 0.0 // the receiver's error wanders
	step := func(dx, dy float64, drifting, fish bool) {
		x = math.Min(math.Max(x+dx, in.x0), in.x1)
		y = math.Min(math.Max(y+dy, in.y0), in.y1)
		offX, offY = 0.995*offX+0.05*rng.NormFloat64(), 0.995*offY+0.05*rng.NormFloat64()
		m := moment{x: x + offX, y: y + offY, drifting: drifting, fish: fish}
		m.soundM = bottomM(x, y) + noiseM*rng.NormFloat64()
		m.depthM = m.soundM
		switch rng.IntN(200) {
		case 0:
			m.depthM = 0
		case 1:
			m.depthM *= 2
		}
		m.tempC = 18.5 + 1.5*math.Sin(float64(len(out))/11000) + 0.05*rng.NormFloat64()
		m.speedMPS = math.Max(0, math.Hypot(dx, dy)+0.05*rng.NormFloat64())
		out = append(out, m)
	}
	run := func(toX, toY, speedMPS float64) {
		for len(out) < seconds {
			left := math.Hypot(toX-x, toY-y)
			if left < speedMPS {
				return
			}
			step((toX-x)/left*speedMPS, (toY-y)/left*speedMPS, false, false)
		}
	}
	for len(out) < seconds {
		at := places[rng.IntN(len(places))]
		wind += 0.3 * rng.NormFloat64()
		wayX, wayY := math.Cos(wind), math.Sin(wind)
		for pass := range 2 + rng.IntN(4) {
			lasts := 300 + rng.IntN(400)
			pace := 0.35 + 0.15*rng.Float64()
			back := pace * float64(lasts) / 2
			headX, headY := at.x-back*wayX+4*rng.NormFloat64(), at.y-back*wayY+4*rng.NormFloat64()
			if !in.has(headX, headY) || !in.has(headX+2*back*wayX, headY+2*back*wayY) {
				break
			}
			if pass == 0 {
				run(headX, headY, 8)
			} else {
				run(headX, headY, 2)
			}
			for s := 0; s < lasts && len(out) < seconds; s++ {
				near := math.Hypot(x-at.x, y-at.y) < 40
				step(pace*wayX+0.04*rng.NormFloat64(), pace*wayY+0.04*rng.NormFloat64(), true, at.fish && near)
			}
		}
		if len(out) == 0 { // no drift fits here yet
			run(at.x+5, at.y, 2)
		}
	}
	return out
}
