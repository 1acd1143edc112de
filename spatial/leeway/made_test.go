package leeway

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// A plan says how a season is made. The sizes of the errors are the ones this package must
// bear; they are set here, not taken from it.
type plan struct {
	days, more   int     // days, and up to so many more
	arcDeg       float64 // winds of the days lie within this to either side of one direction
	flowMPS      float64 // the current is up to this
	offDays      float64 // part of the days whose wind table is turned as a whole
	offDeg       float64 // standard deviation of that
	gross        float64 // part of the passes that are not drifts at all
	wrongMorning bool    // one day's table is the wrong way round until noon
}

// A truth is what a made season was made with.
type truth struct {
	perWind, angleDeg float64
	flow              r2.Vec
	windMPS           []r2.Vec // of the days, as they were
}

// pass makes the velocity of a pass in a true wind: it strays by 5 % and 3°, gusts add
// 2.5 %, and the receiver 2 m over its length.
func (tr truth) pass(rng *rand.Rand, wind r2.Vec, seconds float64) r2.Vec {
	speed := tr.perWind * r2.Norm(wind) * (1 + 0.05*rng.NormFloat64()) * (1 + 0.025*rng.NormFloat64())
	v := r2.Scale(speed, plane.Toward(plane.BearingDeg(wind)+tr.angleDeg+3*rng.NormFloat64()))
	v = r2.Add(v, tr.flow)
	return r2.Add(v, r2.Vec{X: 2 / seconds * rng.NormFloat64(), Y: 2 / seconds * rng.NormFloat64()})
}

// season makes 3 to 12 passes of three to seven minutes on each day. The wind wanders
// through the day by some 12 % and 8°; the table has a reading every ten minutes,
// each wrong by 5 % and 5°, and a pass is given the wind between the two about its middle.
func (pl plan) season(rng *rand.Rand) (passes []Pass, tr truth) {
	tr.perWind = 0.03 + 0.05*rng.Float64()
	tr.angleDeg = -25 + 50*rng.Float64()
	tr.flow = r2.Scale(pl.flowMPS*rng.Float64(), plane.Toward(360*rng.Float64()))
	mid := 360 * rng.Float64()
	days := pl.days + rng.IntN(pl.more+1)
	for day := range days {
		deg, mps := mid+pl.arcDeg*(2*rng.Float64()-1), 2+6*rng.Float64()
		tr.windMPS = append(tr.windMPS, r2.Scale(mps, plane.Toward(deg)))
		off := 0.0
		if rng.Float64() < pl.offDays {
			off = pl.offDeg * rng.NormFloat64()
		}
		var real, read []r2.Vec
		a, b := rng.NormFloat64(), rng.NormFloat64()
		for range 20 {
			w := mps * math.Max(0.3, 1+0.12*a)
			toward := deg + 8*b
			real = append(real, r2.Scale(w, plane.Toward(toward)))
			read = append(read, r2.Scale(w*(1+0.05*rng.NormFloat64()), plane.Toward(toward+off+5*rng.NormFloat64())))
			a, b = 0.9*a+0.436*rng.NormFloat64(), 0.9*b+0.436*rng.NormFloat64()
		}
		n := 3 + rng.IntN(10)
		for k, at := 0, 0.0; k < n; k++ {
			seconds := 180 + 240*rng.Float64()
			i, part := math.Modf((at + seconds/2) / 600)
			between := func(v []r2.Vec) r2.Vec {
				return r2.Add(r2.Scale(1-part, v[int(i)]), r2.Scale(part, v[int(i)+1]))
			}
			p := Pass{Day: day, MPS: tr.pass(rng, between(real), seconds), WindMPS: between(read), Seconds: seconds}
			if rng.Float64() < pl.gross { // the motor ran
				p.MPS = r2.Scale(0.3+0.5*rng.Float64(), plane.Toward(360*rng.Float64()))
			}
			if pl.wrongMorning && day == 0 && k < n/2 {
				p.WindMPS = r2.Scale(-1, p.WindMPS)
			}
			passes = append(passes, p)
			at += seconds + 180
		}
	}
	return passes, tr
}
