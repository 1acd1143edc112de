package head

import (
	"math"
	"math/rand/v2"

	"leadline/ingest"
	"leadline/spatial"
)

// How firmly a pick stands.
//
// Steps. The drift and the depth at which the pick would change, each with the other as it is: the
// largest at which the pick, and the next lighter head, still meet both limits, by bisection between half and twice
// of what it is. Then a hundred draws of depth, speed and the three drag areas, each about as uncertain
// as it is; in each the lightest head that meets both limits is the pick. The share of draws in which that is
// the same one tells how firmly it stands, and what the others pick most is its rival.
//
// By hand: at 20 ft and 0.5 mph 1/2 oz stands at 39 degrees, within 45; its G of R Z/T goes with the
// square of the speed, and 45 degrees come at asinh(1)/asinh(tan 39°) = 0.881/0.740 = 1.19 times the
// G, so at 1.09 times the speed, 0.55 mph: above that 3/4 oz is wanted.
//
// Cost: some fifty solutions for the borders and some three hundred for the draws. What it does badly: a hundred draws
// tell a share to 5 in 100; the uncertainties are taken as independent, and those of the drags are assumed.

const (
	draws = 100

	// Standard deviations of the logarithms of what is assumed. The usual sink area rests on 'one to two feet a second', a
	// factor of two in speed and four in area from end to end, common practice without a source; the stream area on
	// the form of a body that nobody measured; the line's drag on a curve that others are within some tenth of.
	sinkDoubt   = 0.35
	streamDoubt = 0.5
	lineDoubt   = 0.1

	borderTol = 1e-3 // of a border, relative
)

// Stand returns how firmly the pick of a choice stands, given how uncertain its depth and speed are. tackle is the one
// it was chosen from. Without a pick all is unknown. The same input gives the same result.
func Stand(c spatial.HeadChoice, doubt spatial.HeadDoubt, tackle ingest.Tackle) spatial.HeadStand {
	s := spatial.HeadStand{Rival: -1}
	if !c.Picked {
		return s
	}
	b := newBox(tackle)
	b.shear(c.DeepMPS, c.SpeedMPS.V)
	z, u := c.DepthM.V, c.SpeedMPS.V
	bySpeed := func(r rig) func(float64) bool {
		return func(x float64) bool { return b.try(r, z, x).Meets() }
	}
	byDepth := func(r rig) func(float64) bool {
		return func(x float64) bool { return b.try(r, x, u).Meets() }
	}
	pick := b.rigs[c.Pick]
	s.HeavierFromMPS = border(u, 2*u, bySpeed(pick))
	s.HeavierFromM = border(z, 2*z, byDepth(pick))
	if c.Pick > 0 {
		lighter := b.rigs[c.Pick-1]
		s.LighterToMPS = border(u/2, u, bySpeed(lighter))
		s.LighterToM = border(z/2, z, byDepth(lighter))
	}

	rng := rand.New(rand.NewPCG(71, 72))
	sinkSD := sinkDoubt
	if b.sink.PerLength2SD.OK {
		sinkSD = b.sink.PerLength2SD.V / b.sink.PerLength2
	}
	picked := make([]int, len(b.rigs)+1) // the last: none
	for range draws {
		d := b
		zd := math.Max(0, z+doubt.DepthM*rng.NormFloat64())
		ud := math.Max(0, u+doubt.SpeedMPS*rng.NormFloat64())
		d.sinkBy = math.Exp(sinkSD * rng.NormFloat64())
		d.streamBy = math.Exp(streamDoubt * rng.NormFloat64())
		d.lineBy = math.Exp(lineDoubt * rng.NormFloat64())
		i := d.pickNear(c.Pick, zd, ud)
		if i < 0 {
			i = len(b.rigs)
		}
		picked[i]++
	}
	s.Share = ingest.Known(float64(picked[c.Pick]) / draws)
	for i, n := range picked {
		if i != c.Pick && float64(n)/draws > s.RivalShare {
			s.Rival, s.RivalShare = i, float64(n)/draws
		}
	}
	if s.Rival == len(b.rigs) {
		s.Rival = -1
	}
	return s
}

// pickNear is pick, looked for from one head outwards: a heavier head of the same line and trailer never does
// worse, so few need to be tried. Where line or trailer change with the head it goes through all.
func (b box) pickNear(from int, depthM, speedMPS float64) int {
	meets := func(i int) bool { return b.try(b.rigs[i], depthM, speedMPS).Meets() }
	if meets(from) {
		for from > 0 && meets(from-1) {
			from--
		}
		// A lighter one on thinner line, beyond one that fails, may do as well.
		for i := range from {
			if !b.alike(i, from) && meets(i) {
				return i
			}
		}
		return from
	}
	for i := range b.rigs {
		if i < from && b.alike(i, from) {
			continue
		}
		if i != from && meets(i) {
			return i
		}
	}
	return -1
}

// alike reports whether two heads are fished on the same line and trailer.
func (b box) alike(i, j int) bool {
	x, y := b.rigs[i], b.rigs[j]
	return x.line == y.line && x.trailerM == y.trailerM
}

// border returns the largest x of low..high that meets the limits, to borderTol; unknown when low doesn't or high does.
func border(low, high float64, meets func(x float64) bool) ingest.Maybe {
	if !(low < high) || !meets(low) || meets(high) {
		return ingest.Maybe{}
	}
	for high-low > borderTol*high {
		if mid := low + (high-low)/2; meets(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return ingest.Known(low)
}
