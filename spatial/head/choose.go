package head

import (
	"fmt"
	"math"

	"leadline/ingest"
	"leadline/spatial"
)

// Which head.
//
// Steps: for each head of the box, with the line and trailer that its rules give
// it, the time to sink (sink.go) and the way it hangs at the drift's speed
// (hang.go); the lightest within both limits is the pick. Then the pick once more
// with 2 % more and less depth and speed, to say whether it stands on an edge;
// and when nothing meets the limits, three bisections on the heaviest head for
// what would.
//
// By hand: 1/4 oz lead weighs 0.0634 N in water. At 0.5 mph (0.224 m/s) 0.23 mm
// line has Re 45, Cn 1.79 and drags 0.0103 N/m; at 20 ft (6.1 m) that is 0.063 N, G
// is 1.0, and with the lure's own drag the line stands at 51 degrees: too light for
// a limit of 45. On 0.36 mm braid 3/8 oz stands at 50 and 1/2 oz at 39: 1/2 oz is
// the pick.
//
// Cost: about 40 solutions for a box of eight heads. What it does badly: what the
// models do badly; and it takes the fish's word for the depth.
//
// The heavier the head, the straighter and deader the bait runs (common practice,
// no source): that is why the lightest is wanted.

const (
	// closeBy is how much depth and speed are changed to see whether the pick
	// stands on an edge. Depth from a sounder and speed over a minute's drift are
	// hardly known better.
	closeBy = 0.02

	// thinnestLineM is the thinnest line offered as a way out: 6 lb braid, about
	// 0.10 mm (common practice, no source). Thinner exists, but nobody drifts a
	// heavy head on it.
	thinnestLineM = 0.10e-3
)

// Choose returns the lightest head of the box that is back down to depthM (the
// lower edge of the fish, metres below the surface) and holds it at speedMPS (the
// boat's speed through the water, m/s; still water is assumed when all that is
// known is its speed over ground) within the limits of the box.
//
// When depth or speed is unknown nothing is computed and Missing says what is
// missing. At speed 0 every line hangs straight down; at depth 0 every head is there at
// once. Decided is the limit the next lighter head breaks (when it breaks both,
// the one it exceeds by the larger factor), or the heaviest when there is no
// pick: the ways out are for that head, with its own line and trailer. They
// are rounded to the safe side, to 1e-6.
//
// It panics on a programmer's mistake: a depth or speed that is negative or not
// finite, a box without heads, lines or trailers, and a head that is not denser
// than water. The box must list its heads lightest first.
//
// Sources of the models and their limits are in the files of this package; the
// lure weighs what its head weighs, hook and trailer are taken as weightless in water.
func Choose(depthM, speedMPS ingest.Maybe, tackle ingest.Tackle) spatial.HeadChoice {
	return ChooseAt(Place{BottomM: depthM, SpeedMPS: speedMPS}, tackle)
}

// A Place is where a head must fish.
type Place struct {
	TopM, BottomM ingest.Maybe // edges of the fish, metres below the surface; TopM unknown: at BottomM
	SpeedMPS      ingest.Maybe // of the boat through the water at the surface
	DeepMPS       ingest.Maybe // the same at BottomM, evenly changing between, negative the other way; unknown: as at the surface
}

// ChooseAt is Choose where more is known of the place. A retrieve stays in the band while it is at TopM or below:
// the head is let down to BottomM before it. It panics, too, on a TopM that is negative or below BottomM.
func ChooseAt(p Place, tackle ingest.Tackle) spatial.HeadChoice {
	depthM, speedMPS, deepMPS := p.BottomM, p.SpeedMPS, p.DeepMPS
	c := spatial.HeadChoice{DepthM: depthM, SpeedMPS: speedMPS, DeepMPS: deepMPS}
	if p.TopM.OK && depthM.OK {
		mustBe("upper edge", p.TopM.V)
		mustBe("height of the band", depthM.V-p.TopM.V)
		c.TopM = p.TopM
	}
	if !depthM.OK {
		c.Missing = append(c.Missing, "fish depth")
	}
	if !speedMPS.OK {
		c.Missing = append(c.Missing, "drift speed")
	}
	if len(c.Missing) > 0 {
		return c
	}
	b := newBox(tackle)
	z, u := depthM.V, speedMPS.V
	top := c.KeepBelowM().V
	mustBe("depth", z)
	mustBe("speed", u)
	b.shear(deepMPS, u)
	c.Sink = b.sink

	c.Pick = -1
	for i, r := range b.rigs {
		t := b.try(r, z, u)
		b.reel(&t, r, top)
		c.Trials = append(c.Trials, t)
		if c.Pick < 0 && t.Meets() {
			c.Pick = i
		}
	}
	switch {
	case c.Pick < 0:
		c.Decided = b.broken(c.Trials[len(c.Trials)-1])
	case c.Pick > 0:
		c.Decided = b.broken(c.Trials[c.Pick-1])
	}
	for _, by := range []float64{1 - closeBy, 1 + closeBy} {
		if b.pick(z*by, u) != c.Pick || b.pick(z, u*by) != c.Pick {
			c.Close = true
		}
	}
	if c.Pick >= 0 {
		c.Picked = true
		return c
	}
	c.Pick = 0
	last := b.rigs[len(b.rigs)-1]
	c.WayOutSpeedMPS = largest(0, u, func(x float64) bool { return b.try(last, z, x).Meets() })
	c.WayOutDepthM = largest(0, z, func(x float64) bool { return b.try(last, x, u).Meets() })
	c.WayOutLineM = largest(thinnestLineM, last.line.DiameterM, func(x float64) bool {
		thin := last
		thin.line.DiameterM = x
		return b.try(thin, z, u).Meets()
	})
	return c
}

func mustBe(what string, v float64) {
	if !(v >= 0) || math.IsInf(v, 1) {
		panic(fmt.Sprintf("head: %s %v", what, v))
	}
}

// largest returns the largest x of low..high that meets the limits, when low does,
// high does not, and there is one change between them; unknown when low doesn't or
// is not below high. The answer is off by 1e-6 of itself at most, and meets them.
func largest(low, high float64, meets func(x float64) bool) ingest.Maybe {
	if !(low < high) || !meets(low) {
		return ingest.Maybe{}
	}
	for range 200 { // 20 halvings for six figures; more only next to 0
		if high-low <= 1e-6*high {
			break
		}
		if mid := low + (high-low)/2; meets(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return ingest.Known(low)
}

// A rig is a head as it is fished.
type rig struct {
	head     ingest.Head
	line     ingest.Line
	trailerM float64
}

// A box is the tackle in its water.
type box struct {
	rigs   []rig
	water  Water
	sinkS  float64
	angleD float64
	sink   spatial.SinkDrag
	deep   float64 // speed at the lure over that at the surface; 1 in still water

	castM, reelMPS, reelUpMPS, unhookS float64

	// Factors on what is uncertain, 1 as it is taken to be.
	sinkBy, streamBy, lineBy float64
}

// shear sets how the speed changes with depth. With none at the surface the one at depth has no measure
// in it, and is taken as none, too.
func (b *box) shear(deepMPS ingest.Maybe, speedMPS float64) {
	if deepMPS.OK && speedMPS > 0 {
		b.deep = deepMPS.V / speedMPS
	}
}

func newBox(t ingest.Tackle) box {
	if len(t.Heads) == 0 {
		panic("head: box without heads")
	}
	b := box{
		water: WaterAt(t.WaterC), sinkS: t.MaxSinkS, angleD: t.MaxAngleDeg, deep: 1,
		castM: t.CastM, reelMPS: t.ReelMPS, reelUpMPS: t.ReelUpMPS, unhookS: t.UnhookS,
		sinkBy: 1, streamBy: 1, lineBy: 1,
	}
	b.sink = Calibrate(t.Countdowns, b.water, t.LineFor)
	for _, h := range t.Heads {
		if !(h.DensityKgM3 > b.water.DensityKgM3) || !(h.MassKg > 0) {
			panic(fmt.Sprintf("head: a head of %v kg and %v kg/m³ does not sink", h.MassKg, h.DensityKgM3))
		}
		b.rigs = append(b.rigs, rig{h, t.LineFor(h.MassKg), t.TrailerFor(h.MassKg)})
	}
	return b
}

// pick returns the index of the lightest head within both limits, or -1.
func (b box) pick(depthM, speedMPS float64) int {
	for i, r := range b.rigs {
		if b.try(r, depthM, speedMPS).Meets() {
			return i
		}
	}
	return -1
}

// broken names the limit that a head which doesn't meet both breaks most.
func (b box) broken(t spatial.HeadTrial) spatial.Limit {
	switch {
	case t.MeetsSink:
		return spatial.AngleLimit
	case t.MeetsAngle:
		return spatial.SinkLimit
	case t.Holds && t.SinkS/b.sinkS > t.AngleDeg.V/b.angleD:
		return spatial.SinkLimit
	}
	return spatial.AngleLimit
}

// try computes what one rig does.
func (b box) try(r rig, depthM, speedMPS float64) spatial.HeadTrial {
	t := spatial.HeadTrial{Head: r.head, Line: r.line, TrailerM: r.trailerM}
	thick := b.thick(r.line)
	line := LineIn(thick, b.water)
	leader, leaderM := LeaderIn(thick, b.water)
	weight := weightN(r.head, b.water)

	var sinks bool
	t.SinkS, sinks = fallOf(r.head, r.sinkArea(weight, b.water, b.sink.PerLength2*b.sinkBy), thick, b.water, depthM).Seconds()
	if !sinks {
		panic(fmt.Sprintf("head: no sink time for %+v in %v m", r, depthM))
	}
	t.MeetsSink = t.SinkS <= b.sinkS
	t.CycleS = t.SinkS + b.unhookS
	if b.reelUpMPS > 0 {
		t.CycleS += depthM / b.reelUpMPS
	}

	flow, atLure := Uniform(speedMPS), speedMPS
	if b.deep != 1 && depthM > 0 {
		atLure = speedMPS * b.deep
		flow = LinearShear(speedMPS, atLure, depthM)
	}
	stream := r.streamArea(b.streamBy)
	shape, holds := Hanging{
		WeightN: weight,
		DragN:   stream.ForceN(atLure, b.water),
		Line:    line,
		Leader:  leader,
		LeaderM: leaderM,
		Water:   b.water,
		Flow:    flow,
		DepthM:  depthM,
	}.Solve()
	if holds {
		t.Holds = true
		t.LineOutM = ingest.Known(shape.LineOutM)
		t.TrailM = ingest.Known(shape.TrailM)
		t.AngleDeg = ingest.Known(shape.TipAngleDeg)
		t.MeetsAngle = math.Abs(shape.TipAngleDeg) <= b.angleD
	}
	return t
}

// reel adds to a trial what the head does when it is reeled in from a cast's length of line, and must stay below topM.
func (b box) reel(t *spatial.HeadTrial, r rig, topM float64) {
	if !(b.castM > 0) {
		return
	}
	leader, leaderM := LeaderIn(r.line, b.water)
	x := Retrieve{
		WeightN: weightN(r.head, b.water), Drag: r.streamArea(1), Line: LineIn(r.line, b.water), Leader: leader, LeaderM: leaderM, Water: b.water, LineM: b.castM,
	}
	if mps, ok := x.FastestMPS(topM); ok {
		t.ReelMPS = ingest.Known(mps)
	}
	if b.reelMPS > 0 {
		t.ReelDepthM = ingest.Known(x.DepthM(b.reelMPS))
	}
}

// thick returns a line as it drags: its diameter, and that of its leader, by the box's factor.
func (b box) thick(l ingest.Line) ingest.Line {
	l.DiameterM *= b.lineBy
	if l.Leader != nil {
		d := *l.Leader
		d.DiameterM *= b.lineBy
		l.Leader = &d
	}
	return l
}

// weightN is a head's weight in water.
func weightN(h ingest.Head, w Water) float64 {
	return h.MassKg * GravityMPS2 * (1 - w.DensityKgM3/h.DensityKgM3)
}

// sphereM is the diameter of a ball of the head's metal.
func (r rig) sphereM() float64 { return math.Cbrt(6 * r.head.MassKg / (math.Pi * r.head.DensityKgM3)) }

// streamArea is the rig's drag area while the boat drifts: the head is a sphere,
// the trailer streams behind it.
// by is a factor on it.
func (r rig) streamArea(by float64) DragArea {
	return DragArea{BodyM2: by * streamAreaPerLength2 * r.trailerM * r.trailerM, SphereM: r.sphereM()}
}

// sinkArea is the rig's drag area while it sinks: its trailer's, or the bare head's
// when that is larger at the speed the trailer alone would allow (no trailer, or a
// very short one under a big head). perLength2 is that of the trailer over the square of its length.
func (r rig) sinkArea(weightN float64, w Water, perLength2 float64) DragArea {
	trailer := DragArea{BodyM2: perLength2 * r.trailerM * r.trailerM}
	bare := DragArea{SphereM: r.sphereM()}
	if trailer.BodyM2 == 0 {
		return bare
	}
	v := math.Sqrt(2 * weightN / (w.DensityKgM3 * trailer.BodyM2))
	if bare.ForceN(v, w) > weightN {
		return bare
	}
	return trailer
}
