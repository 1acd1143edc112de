package head

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
)

// randomRetrieve has a leader every other time.
func randomRetrieve(rng *rand.Rand) Retrieve {
	w := WaterAt(30 * rng.Float64())
	random := func() LineInWater {
		return LineIn(ingest.Line{DiameterM: 1e-4 + 4e-4*rng.Float64(), DensityKgM3: 950 + 850*rng.Float64()}, w)
	}
	r := Retrieve{
		WeightN: math.Exp(-3.5 + 3*rng.Float64()),
		Drag:    DragArea{BodyM2: 3e-4 * rng.Float64(), SphereM: 0.012 * rng.Float64()},
		Line:    random(),
		Water:   w,
		LineM:   2 + 30*rng.Float64(),
	}
	if rng.IntN(2) == 0 {
		r.Leader, r.LeaderM = random(), 5*rng.Float64()
	}
	return r
}

// Without a line's drag and weight tan(phi) = W/F; the same line towed is as long.
func TestRetrieveOnAThread(t *testing.T) {
	w := WaterAt(15)
	for _, v := range []float64{0.1, 0.5, 1, 3} {
		r := Retrieve{WeightN: 0.1268, Drag: DragArea{BodyM2: 1e-4, SphereM: 0.01}, Water: w, LineM: 20}
		drag := r.Drag.ForceN(v, w)
		want := 20 * r.WeightN / math.Hypot(r.WeightN, drag)
		near(t, "depth", r.DepthM(v), want, 1e-8)
		s := mustHang(t, Hanging{WeightN: r.WeightN, DragN: drag, Water: w, Flow: Uniform(v), DepthM: want, MaxRatio: math.Inf(1)})
		near(t, "towed", s.LineOutM, 20, 1e-7)
	}
	// The example worked by hand.
	r := Retrieve{WeightN: 0.1268, Drag: DragArea{BodyM2: 1e-4}, Water: w, LineM: 10}
	near(t, "by hand", r.DepthM(1), 9.3, 2e-3)
}

// A weight without drag on a line of constant Cn: W cos(phi) = k sin²(phi), k = 1/8 rho d Cn v²
// L, so cos(phi) = (sqrt(W² + 4k²) - W)/(2k) (closed form, derived).
func TestRetrieveWeightOnALine(t *testing.T) {
	w := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
	for _, v := range []float64{0.2, 1, 4} {
		r := Retrieve{WeightN: 0.1, Line: LineInWater{DiameterM: 0.3e-3, Cn: ingest.Known(1.2)}, Water: w, LineM: 15}
		k := w.DensityKgM3 * 0.3e-3 * 1.2 * v * v * 15 / 8
		cos := (math.Sqrt(0.1*0.1+4*k*k) - 0.1) / (2 * k)
		near(t, fmt.Sprint(v, " m/s"), r.DepthM(v), 15*math.Sqrt(1-cos*cos), 1e-8)
		r.LineM, r.Leader, r.LeaderM = 15, r.Line, 4
		near(t, "in two pieces", r.DepthM(v), 15*math.Sqrt(1-cos*cos), 1e-8)
	}
}

// The moments about the rod tip added up over ten thousand bits of line.
func TestRetrieveBalances(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	for i := range 40 {
		r := randomRetrieve(rng)
		if i%4 == 0 {
			r.Line.Cn = ingest.Known(1 + rng.Float64())
		}
		v := 2 * rng.Float64()
		phi := math.Asin(r.DepthM(v) / r.LineM)
		down := r.WeightN * r.LineM * math.Cos(phi)
		up := r.Drag.ForceN(v, r.Water) * r.LineM * math.Sin(phi)
		const n = 10000
		for j := range n {
			s := (float64(j) + 0.5) / n * r.LineM
			l := r.Line
			if s > r.LineM-r.LeaderM {
				l = r.Leader
			}
			u := v * math.Sin(phi) * s / r.LineM
			cn := l.Cn.V
			if !l.Cn.OK {
				cn = 1 + 10*math.Pow(u*l.DiameterM/r.Water.ViscosityM2PS, -2.0/3)
			}
			up += 0.5 * r.Water.DensityKgM3 * l.DiameterM * cn * u * u * s * r.LineM / n
			down += l.WeightNPerM * math.Cos(phi) * s * r.LineM / n
		}
		// One bit of the ten thousand may be on the wrong line.
		near(t, fmt.Sprint(i), up, down, 2e-4)
	}
}

func TestRetrieveLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	for i := range 60 {
		r := randomRetrieve(rng)
		v := 0.05 + 2*rng.Float64()
		d := r.DepthM(v)
		if !(d > 0 && d < r.LineM) {
			t.Fatalf("%d: %v m", i, d)
		}
		heavier, thicker, longer := r, r, r
		heavier.WeightN *= 1.1
		thicker.Line.DiameterM *= 1.1 // its weight as it was
		longer.LineM *= 1.1
		if !(r.DepthM(1.1*v) < d) || !(heavier.DepthM(v) > d) || !(thicker.DepthM(v) < d) || !(longer.DepthM(v) > d) {
			t.Errorf("%d: %v m at %v; faster %v, heavier %v, thicker %v, longer %v", i, d, v, r.DepthM(1.1*v), heavier.DepthM(v), thicker.DepthM(v), longer.DepthM(v))
		}
		back, ok := r.FastestMPS(d)
		if !ok {
			t.Fatalf("%d: no speed for %v m", i, d)
		}
		near(t, "back to the speed", back, v, 1e-6)
		if fast, ok := r.FastestMPS(d * 0.9); !ok || !(fast > v) {
			t.Errorf("%d: %v m/s for less depth, %v for more", i, fast, v)
		}

		// Towed, all of the line goes as fast as the lure: more is needed for the depth.
		flow := Uniform(v)
		s, ok := Hanging{WeightN: r.WeightN, DragN: r.Drag.ForceN(v, r.Water), Line: r.Line, Leader: r.Leader, LeaderM: r.LeaderM, Water: r.Water, Flow: flow, DepthM: d, MaxRatio: 100}.Solve()
		if ok && !(s.LineOutM > r.LineM) {
			t.Errorf("%d: towed at %v m on %v m, reeled in on %v", i, d, s.LineOutM, r.LineM)
		}
	}
}

func TestRetrieveEdges(t *testing.T) {
	w := WaterAt(15)
	braid := LineIn(ingest.Line{DiameterM: 0.36e-3, DensityKgM3: 970}, w)
	r := Retrieve{WeightN: 0.1, Drag: DragArea{BodyM2: 1e-4}, Line: braid, Water: w, LineM: 20}
	near(t, "still", r.DepthM(0), 20, 1e-9)
	near(t, "creeping", r.DepthM(1e-4), 20, 1e-6)
	near(t, "the other way", r.DepthM(-0.5), r.DepthM(0.5), 1e-12)
	if d := r.DepthM(1e3); !(d > 0 && d < 0.1) {
		t.Errorf("at 1 km/s: %v m", d)
	}
	all := r
	all.Line, all.Leader, all.LeaderM = LineInWater{}, braid, 25
	near(t, "all of it leader", all.DepthM(0.7), r.DepthM(0.7), 1e-12)

	for name, c := range map[string]struct {
		r     Retrieve
		depth float64
	}{
		"as deep as there is line": {r, 20},
		"deeper":                   {r, 21},
		"at the surface":           {r, 0},
		"above it":                 {r, -1},
		"not a number":             {r, math.NaN()},
		"floats":                   {Retrieve{WeightN: -0.1, Drag: r.Drag, Water: w, LineM: 20}, 5},
		"line floats it":           {Retrieve{WeightN: 1e-4, Drag: r.Drag, Line: braid, Water: w, LineM: 20}, 5},
		"nothing drags":            {Retrieve{WeightN: 0.1, Water: w, LineM: 20}, 5},
		"no line":                  {Retrieve{WeightN: 0.1, Drag: r.Drag, Water: w}, 5},
	} {
		if v, ok := c.r.FastestMPS(c.depth); ok {
			t.Errorf("%s: %v m/s", name, v)
		}
	}
	for name, r := range map[string]Retrieve{
		"floats":         {WeightN: -0.1, Drag: r.Drag, Water: w, LineM: 20},
		"line floats it": {WeightN: 1e-4, Drag: r.Drag, Line: braid, Water: w, LineM: 20},
		"no line":        {WeightN: 0.1, Drag: r.Drag, Water: w},
	} {
		if d := r.DepthM(0.5); d != 0 {
			t.Errorf("%s: %v m", name, d)
		}
	}
}

// 1 to 2 mph is a slow roll: common practice, no source. No depth to hold against
// is known; go test -v shows them.
func TestRetrieveSlowRoll(t *testing.T) {
	w := WaterAt(15)
	box := newBox(usualBox())
	half := box.rigs[5]
	head := Retrieve{
		WeightN: leadWeightN(si.OunceKg/2, w),
		Drag:    DragArea{BodyM2: streamAreaPerLength2 * half.trailerM * half.trailerM, SphereM: half.sphereM()},
		Line:    LineIn(half.line, w),
		Water:   w,
		LineM:   20,
	}
	for _, mph := range []float64{1, 1.5, 2} {
		t.Logf("1/2 oz on 20 m of %s at %v mph: %.1f m", half.line.Name, mph, head.DepthM(mph*si.MPHMPS))
	}
}

func TestRoot(t *testing.T) {
	calls := 0
	for name, c := range map[string]struct {
		low, high, want float64
		f               func(float64) float64
	}{
		"by hand":       {1, 2, math.Sqrt2, func(x float64) float64 { return x*x - 2 }},
		"at the bottom": {1, 2, 1, func(x float64) float64 { return x - 1 }},
		"at the top":    {1, 2, 2, func(x float64) float64 { return x - 2 }},
		"below":         {1, 2, 1, func(x float64) float64 { return x }},
		"above":         {1, 2, 2, func(x float64) float64 { return x - 3 }},
		"flat then up":  {0, 1, 0.9, func(x float64) float64 { return math.Pow(x, 40) - math.Pow(0.9, 40) }},
		"a step":        {0, 1, 0.3, func(x float64) float64 { return math.Copysign(1, x-0.3) }},
		"runs away":     {0, 1, 0.5, func(x float64) float64 { return 1/(1-x) - 2 }},
	} {
		calls = 0
		got := root(c.low, c.high, 1e-10, func(x float64) float64 { calls++; return c.f(x) })
		within(t, name, got, c.want, 1e-10)
		// Halving alone takes 36, and chords whose far end keeps its value 34 for the second.
		if (name == "by hand" || name == "flat then up") && calls > 25 {
			t.Errorf("%s: %d evaluations", name, calls)
		}
		if calls > 110 { // three times halving's 34, and the two ends
			t.Errorf("%s: %d evaluations", name, calls)
		}
	}
}

// A retrieve stays in the band while it is below the fish's upper edge; where only the lower one is known, that is what
// it keeps to. What it costs the head to be down there, and so the pick, is the lower edge's alone.
func TestChooseReelsInTheBand(t *testing.T) {
	box := usualBox()
	box.CastM, box.ReelMPS = 25, 0.67
	top, bottom, speed := ingest.Known(5), ingest.Known(7), ingest.Known(0.2)
	edge := ChooseAt(Place{BottomM: bottom, SpeedMPS: speed}, box)
	band := ChooseAt(Place{TopM: top, BottomM: bottom, SpeedMPS: speed}, box)
	same := ChooseAt(Place{TopM: bottom, BottomM: bottom, SpeedMPS: speed}, box)
	if band.Pick != edge.Pick || band.KeepBelowM() != top || edge.KeepBelowM() != bottom {
		t.Fatalf("picks %d and %d, keeps below %v and %v", band.Pick, edge.Pick, band.KeepBelowM(), edge.KeepBelowM())
	}
	for i, r := range band.Trials {
		if !r.ReelMPS.OK || !(r.ReelMPS.V > edge.Trials[i].ReelMPS.V) || same.Trials[i].ReelMPS != edge.Trials[i].ReelMPS {
			t.Fatalf("%v: %v in the band, %v at its lower edge, %v where that is all the band", r.Head, r.ReelMPS, edge.Trials[i].ReelMPS, same.Trials[i].ReelMPS)
		}
		// Reeled at that speed as the usual one, it runs along the upper edge.
		again := box
		again.ReelMPS = r.ReelMPS.V
		near(t, "depth at the fastest retrieve", ChooseAt(Place{TopM: top, BottomM: bottom, SpeedMPS: speed}, again).Trials[i].ReelDepthM.V, top.V, 1e-6)
	}
	if up := ChooseAt(Place{TopM: ingest.Known(0), BottomM: bottom, SpeedMPS: speed}, box); up.Trials[0].ReelMPS.OK {
		t.Errorf("fish up to the surface: reeled up to %v", up.Trials[0].ReelMPS)
	}
	for name, p := range map[string]Place{
		"top below bottom": {TopM: ingest.Known(8), BottomM: bottom, SpeedMPS: speed},
		"top above water":  {TopM: ingest.Known(-1), BottomM: bottom, SpeedMPS: speed},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			ChooseAt(p, box)
		}()
	}
}
