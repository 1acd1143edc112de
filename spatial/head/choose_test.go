package head

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func choose(depthM, speedMPS float64, t ingest.Tackle) spatial.HeadChoice {
	return Choose(ingest.Known(depthM), ingest.Known(speedMPS), t)
}

// pickedOz is the picked head in ounces, and infinite when none was picked.
func pickedOz(c spatial.HeadChoice) float64 {
	t, ok := c.Chosen()
	if !ok {
		return math.Inf(1)
	}
	return t.Head.MassKg / si.OunceKg
}

// What the trade throws at half a mile an hour in still water: common practice, no
// source. The model has nothing fitted to it.
func TestTradePicks(t *testing.T) {
	for _, c := range []struct{ ft, fromOz, toOz float64 }{
		{10, 1.0 / 8, 3.0 / 16},
		{20, 1.0 / 4, 1.0 / 2},
		{25, 1.0 / 2, 3.0 / 4},
		{30, 1.0 / 2, 3.0 / 4},
		{40, 3.0 / 4, 1},
	} {
		t.Run(fmt.Sprintf("%v ft", c.ft), func(t *testing.T) {
			got := choose(c.ft*si.FootM, 0.5*si.MPHMPS, usualBox())
			if oz := pickedOz(got); oz < c.fromOz || oz > c.toOz {
				t.Errorf("picked %v oz, the trade takes %v to %v", oz, c.fromOz, c.toOz)
			}
		})
	}
}

func TestSinkSpeedsOfSoftBaits(t *testing.T) {
	// From memory, two heads and their trailers.
	speed := func(oz, inches float64) float64 {
		b := usualBox()
		b.Heads = []ingest.Head{{MassKg: oz * si.OunceKg, DensityKgM3: leadKgM3}}
		b.Lines = []ingest.LineRule{{UpToKg: 1, Line: ingest.Line{DiameterM: 1e-9, DensityKgM3: 1000}}}
		b.Trailers = []ingest.TrailerRule{{UpToKg: 1, LengthM: inches * si.InchM}}
		return 4 / (choose(6, 0, b).Trials[0].SinkS - choose(2, 0, b).Trials[0].SinkS)
	}
	near(t, "1/8 oz, 2.8 in", speed(1./8, 2.8), 0.36, 0.02)
	near(t, "1/2 oz, 3.8 in", speed(1./2, 3.8), 0.52, 0.02)
	// A soft bait sinks slower than its bare head, and a short one no faster.
	if bare, short, long := speed(1, 0), speed(1, 0.5), speed(1, 4); bare != short || long >= bare {
		t.Errorf("1 oz sinks at %v bare, %v with 0.5 in, %v with 4 in", bare, short, long)
	}
}

func TestChooseMissing(t *testing.T) {
	z, u := ingest.Known(5), ingest.Known(0.2)
	for _, c := range []struct {
		name  string
		z, u  ingest.Maybe
		wants []string
	}{
		{"depth", ingest.Maybe{}, u, []string{"fish depth"}},
		{"speed", z, ingest.Maybe{}, []string{"drift speed"}},
		{"both", ingest.Maybe{}, ingest.Maybe{}, []string{"fish depth", "drift speed"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Choose(c.z, c.u, usualBox())
			if want := (spatial.HeadChoice{DepthM: c.z, SpeedMPS: c.u, Missing: c.wants}); !reflect.DeepEqual(got, want) {
				t.Errorf("got %+v, want %+v", got, want)
			}
		})
	}
}

// Each trial against the two models solved by other methods: the line in straight
// pieces, the fall by the classic Runge-Kutta method.
func TestChooseTrials(t *testing.T) {
	box := usualBox()
	w := WaterAt(box.WaterC)
	z, u := 5.5, 0.25
	c := choose(z, u, box)
	if len(c.Trials) != len(box.Heads) || !c.DepthM.OK || c.DepthM.V != z || !c.SpeedMPS.OK || c.SpeedMPS.V != u || c.Missing != nil {
		t.Fatalf("%+v", c)
	}
	held := 0
	for i, r := range c.Trials {
		h := box.Heads[i]
		if r.Head != h || r.Line != box.LineFor(h.MassKg) || r.TrailerM != box.TrailerFor(h.MassKg) {
			t.Errorf("trial %d is of %+v", i, r)
		}
		weight := leadWeightN(h.MassKg, w)

		sink := classic(Fall{
			WeightN:   weight,
			InertiaKg: h.MassKg * (1 + 0.5*w.DensityKgM3/leadKgM3),
			Drag:      DragArea{BodyM2: 0.1 * r.TrailerM * r.TrailerM},
			LineM:     0.02 * math.Pi * r.Line.DiameterM,
			Water:     w, DepthM: z,
		}, 2e-3)
		near(t, "sink", r.SinkS, sink, 5e-6)
		if r.MeetsSink != (r.SinkS <= box.MaxSinkS) {
			t.Errorf("sinks in %v s, meets %v", r.SinkS, r.MeetsSink)
		}

		if r.LineOutM.OK != r.Holds || r.TrailM.OK != r.Holds || r.AngleDeg.OK != r.Holds || r.MeetsAngle && !r.Holds {
			t.Errorf("holds %v but %+v", r.Holds, r)
		}
		if !r.Holds {
			continue
		}
		held++
		re := u * math.Sqrt(4/math.Pi*leadDiskM2(h.MassKg)) / w.ViscosityM2PS
		out, trail, deg := pieces(Hanging{
			WeightN: weight,
			DragN:   0.5 * w.DensityKgM3 * u * u * (0.015*r.TrailerM*r.TrailerM + SphereCd(re)*leadDiskM2(h.MassKg)),
			Line:    LineIn(r.Line, w), Water: w, Flow: Uniform(u), DepthM: z,
		}, 1e-3)
		near(t, "line out", r.LineOutM.V, out, 1e-5)
		near(t, "trail", r.TrailM.V, trail, 1e-5)
		within(t, "angle", r.AngleDeg.V, deg, 1e-3)
		if r.MeetsAngle != (r.AngleDeg.V <= box.MaxAngleDeg) {
			t.Errorf("angle %v, meets %v", r.AngleDeg.V, r.MeetsAngle)
		}
	}
	if held < 5 {
		t.Errorf("%d heads held", held)
	}
}

// A head that is just within a limit meets it.
func TestChooseMeetsToTheDigit(t *testing.T) {
	for i, r := range choose(5.5, 0.2, usualBox()).Trials {
		for by, meets := range map[float64]bool{1: true, 1 - 1e-9: false} {
			b := usualBox()
			b.MaxSinkS, b.MaxAngleDeg = r.SinkS*by, r.AngleDeg.V*by
			if got := choose(5.5, 0.2, b).Trials[i]; got.MeetsSink != meets || got.MeetsAngle != (meets && r.Holds) {
				t.Errorf("limits at %v of head %d: %+v", by, i, got)
			}
		}
	}
}

func TestChooseDecides(t *testing.T) {
	for _, c := range []struct {
		name    string
		ft, mph float64
		change  func(t *ingest.Tackle)
		oz      float64 // infinite: none
		decided spatial.Limit
	}{
		{"lightest will do", 6, 0.1, nil, 1. / 16, spatial.NoLimit},
		{"angle", 20, 0.5, nil, 1. / 2, spatial.AngleLimit},
		{"sink", 20, 0.1, nil, 1. / 8, spatial.SinkLimit},
		{"none for the angle", 20, 2, nil, math.Inf(1), spatial.AngleLimit},
		{"none in time", 60, 0.1, nil, math.Inf(1), spatial.SinkLimit},
		{"none, sink the worse", 50, 0.5, nil, math.Inf(1), spatial.SinkLimit},
		{"none, angle the worse", 50, 0.7, nil, math.Inf(1), spatial.AngleLimit},
		{"no hurry", 20, 0.1, func(t *ingest.Tackle) { t.MaxSinkS = 60 }, 1. / 16, spatial.NoLimit},
		{"one head", 20, 0.5, func(t *ingest.Tackle) { t.Heads = t.Heads[7:] }, 1, spatial.NoLimit},
	} {
		t.Run(c.name, func(t *testing.T) {
			box := usualBox()
			if c.change != nil {
				c.change(&box)
			}
			got := choose(c.ft*si.FootM, c.mph*si.MPHMPS, box)
			if oz := pickedOz(got); math.Abs(oz-c.oz) > 1e-9 || got.Decided != c.decided {
				t.Errorf("picked %v oz, decided %v; want %v, %v", oz, got.Decided, c.oz, c.decided)
			}
			if got.Picked {
				if got.WayOutDepthM.OK || got.WayOutLineM.OK || got.WayOutSpeedMPS.OK {
					t.Errorf("a way out though there is a pick: %+v", got)
				}
				for i, r := range got.Trials[:got.Pick] {
					if r.Meets() {
						t.Errorf("trial %d is lighter and meets both", i)
					}
				}
			}
		})
	}
}

func TestChooseWaysOut(t *testing.T) {
	type ways struct{ speed, depth, line bool }
	for _, c := range []struct {
		name    string
		ft, mph float64
		want    ways
	}{
		{"line drags too much", 35, 0.8, ways{true, true, true}},
		{"far too fast", 35, 2, ways{true, true, false}},
		{"only for a thread", 35, 1.3, ways{true, true, false}},
		{"far too deep", 80, 0.3, ways{false, true, false}},
		{"too late by the line alone", 45, 0.3, ways{false, true, true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			box := usualBox()
			z, u := c.ft*si.FootM, c.mph*si.MPHMPS
			got := choose(z, u, box)
			if got.Picked {
				t.Fatalf("picked %v oz", pickedOz(got))
			}
			if has := (ways{got.WayOutSpeedMPS.OK, got.WayOutDepthM.OK, got.WayOutLineM.OK}); has != c.want {
				t.Fatalf("ways out %+v, want %+v", has, c.want)
			}
			heaviest := func(z, u, line float64) bool {
				b := usualBox()
				b.Heads = b.Heads[len(b.Heads)-1:]
				b.Lines[1].Line.DiameterM = line
				return choose(z, u, b).Picked
			}
			d := box.Lines[1].Line.DiameterM
			for name, w := range map[string]struct {
				v     ingest.Maybe
				holds func(x float64) bool
				limit float64
			}{
				"speed": {got.WayOutSpeedMPS, func(x float64) bool { return heaviest(z, x, d) }, u},
				"depth": {got.WayOutDepthM, func(x float64) bool { return heaviest(x, u, d) }, z},
				"line":  {got.WayOutLineM, func(x float64) bool { return heaviest(z, u, x) }, d},
			} {
				if w.v.OK && (!w.holds(w.v.V) || w.holds(w.v.V*1.00001) || w.v.V >= w.limit) {
					t.Errorf("%s %v is not the edge", name, w.v.V)
				}
			}
			if got.WayOutLineM.OK && got.WayOutLineM.V < 0.1e-3 {
				t.Errorf("line of %v m", got.WayOutLineM.V)
			}
		})
	}
}

func TestChooseClose(t *testing.T) {
	box := usualBox()
	saw := map[bool]int{}
	for ft := 5.0; ft <= 60; ft += 2 {
		for _, mph := range []float64{0, 0.3, 0.5, 0.9} {
			z, u := ft*si.FootM, mph*si.MPHMPS
			c := choose(z, u, box)
			want := false
			for _, n := range []spatial.HeadChoice{choose(0.98*z, u, box), choose(1.02*z, u, box), choose(z, 0.98*u, box), choose(z, 1.02*u, box)} {
				want = want || pickedOz(n) != pickedOz(c)
			}
			if c.Close != want {
				t.Errorf("%v ft, %v mph: close %v, want %v", ft, mph, c.Close, want)
			}
			saw[c.Close]++
		}
	}
	if saw[true] < 10 || saw[false] < 10 {
		t.Errorf("close %d, not close %d: nothing was tested", saw[true], saw[false])
	}
}

func TestChooseAtTheEdges(t *testing.T) {
	c := choose(6, 0, usualBox())
	for _, r := range c.Trials {
		if !r.Holds || r.AngleDeg.V != 0 || r.TrailM.V != 0 || math.Abs(r.LineOutM.V-6) > 1e-12 {
			t.Errorf("no drift: %+v", r)
		}
	}
	c = choose(0, 0.3, usualBox())
	for _, r := range c.Trials {
		if !r.Holds || r.SinkS != 0 || r.LineOutM.V != 0 || r.TrailM.V != 0 || !(r.AngleDeg.V > 0) {
			t.Errorf("no depth: %+v", r)
		}
	}
	if c = choose(0, 0, usualBox()); pickedOz(c) != 1./16 || c.Close {
		t.Errorf("neither: %+v", c)
	}
}

// Boxes and waters at the far ends of what a boat file takes: every number comes
// out finite, and nothing gives up.
func TestChooseExtremes(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	between := func(low, high float64) float64 { return low * math.Pow(high/low, rng.Float64()) }
	for i := range 60 {
		b := usualBox()
		b.WaterC = 40 * rng.Float64()
		b.MaxSinkS, b.MaxAngleDeg = between(1, 600), between(1, 89)
		b.Heads = []ingest.Head{{MassKg: 1e-4, DensityKgM3: 19250}, {MassKg: between(1e-4, 1), DensityKgM3: leadKgM3}, {MassKg: 1, DensityKgM3: 9780}}
		b.Lines = []ingest.LineRule{{UpToKg: 1, Line: ingest.Line{DiameterM: between(3e-5, 3e-3), DensityKgM3: between(970, 1780)}}}
		b.Trailers = []ingest.TrailerRule{{UpToKg: 1, LengthM: between(0.005, 0.6)}}
		z, u := between(0.01, 300), between(1e-3, 10)
		c := choose(z, u, b)
		for _, r := range c.Trials {
			for _, v := range []float64{r.SinkS, r.LineOutM.V, r.TrailM.V, r.AngleDeg.V} {
				if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Errorf("%d: %+v at %v m, %v m/s", i, r, z, u)
				}
			}
			if !(r.SinkS > 0) || r.Holds && !(r.LineOutM.V >= z*(1-1e-9)) {
				t.Errorf("%d: %+v at %v m, %v m/s", i, r, z, u)
			}
		}
	}
}

func TestChoosePanicsOnMistakes(t *testing.T) {
	for name, f := range map[string]func(b ingest.Tackle){
		"depth above the surface": func(b ingest.Tackle) { choose(-1, 0.2, b) },
		"depth not a number":      func(b ingest.Tackle) { choose(math.NaN(), 0.2, b) },
		"depth without end":       func(b ingest.Tackle) { choose(math.Inf(1), 0.2, b) },
		"speed below 0":           func(b ingest.Tackle) { choose(5, -0.1, b) },
		"speed not a number":      func(b ingest.Tackle) { choose(5, math.NaN(), b) },
		"no heads":                func(b ingest.Tackle) { b.Heads = nil; choose(5, 0.2, b) },
		"cork":                    func(b ingest.Tackle) { b.Heads[3].DensityKgM3 = 240; choose(5, 0.2, b) },
		"no mass":                 func(b ingest.Tackle) { b.Heads[0].MassKg = 0; choose(5, 0.2, b) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f(usualBox())
		}()
	}
}

// randomBox has one line and one trailer for every head.
func randomBox(rng *rand.Rand) ingest.Tackle {
	b := usualBox()
	b.WaterC = 30 * rng.Float64()
	b.MaxSinkS = 8 + 30*rng.Float64()
	b.MaxAngleDeg = 20 + 50*rng.Float64()
	density := []float64{leadKgM3, 9780, 19250}[rng.IntN(3)]
	for i := range b.Heads {
		b.Heads[i].DensityKgM3 = density
	}
	// Braid to nylon: floating to about neutral.
	b.Lines = []ingest.LineRule{{UpToKg: 1, Line: ingest.Line{DiameterM: 1e-4 + 4e-4*rng.Float64(), DensityKgM3: 960 + 180*rng.Float64()}}}
	b.Trailers = []ingest.TrailerRule{{UpToKg: 1, LengthM: 0.12 * rng.Float64()}}
	return b
}

func TestDeeperOrFasterIsNeverLighter(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	changed := 0
	for i := range 80 {
		b := randomBox(rng)
		if i%2 == 0 { // also where the line and trailer change with the head
			b.Lines, b.Trailers = usualBox().Lines, usualBox().Trailers
		}
		z, u := 1+14*rng.Float64(), 0.5*rng.Float64()
		oz := pickedOz(choose(z, u, b))
		deeper := pickedOz(choose(z*(1+rng.Float64()), u, b))
		faster := pickedOz(choose(z, u*(1+rng.Float64()), b))
		if deeper < oz || faster < oz {
			t.Errorf("%d: %v oz at %v m, %v m/s; deeper %v, faster %v", i, oz, z, u, deeper, faster)
		}
		if deeper > oz || faster > oz {
			changed++
		}
	}
	if changed < 15 {
		t.Errorf("only %d picks changed", changed)
	}
}

// True of lines that weigh about what water weighs. A line much denser than water
// helps to hold the lure, so in a very slow drift a thinner one may hold less well.
func TestThinnerLineIsNeverHeavier(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	changed := 0
	for i := range 80 {
		b := randomBox(rng)
		z, u := 1+14*rng.Float64(), 0.5*rng.Float64()
		oz := pickedOz(choose(z, u, b))
		b.Lines[0].Line.DiameterM *= 0.3 + 0.6*rng.Float64()
		thin := pickedOz(choose(z, u, b))
		if thin > oz {
			t.Errorf("%d: %v oz, with thinner line %v", i, oz, thin)
		}
		if thin < oz {
			changed++
		}
	}
	if changed < 15 {
		t.Errorf("only %d picks changed", changed)
	}
}

// Tungsten weighs more in water and is smaller, so it never needs the heavier head.
func TestDenserMetalIsNeverHeavier(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for i := range 50 {
		b := randomBox(rng)
		z, u := 1+14*rng.Float64(), 0.5*rng.Float64()
		var oz [2]float64
		for k, density := range []float64{leadKgM3, 19250} {
			for j := range b.Heads {
				b.Heads[j].DensityKgM3 = density
			}
			oz[k] = pickedOz(choose(z, u, b))
		}
		if oz[1] > oz[0] {
			t.Errorf("%d: lead %v oz, tungsten %v", i, oz[0], oz[1])
		}
	}
}

// BenchmarkSolve is one head at one depth and speed: the fall and the line.
func BenchmarkSolve(b *testing.B) {
	box := newBox(usualBox())
	n := 0
	for b.Loop() {
		r := box.rigs[n%len(box.rigs)]
		box.try(r, 2+float64(n%11), 0.05+0.05*float64(n%7))
		n++
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "solutions/s")
}

func BenchmarkChoose(b *testing.B) {
	box := usualBox()
	for b.Loop() {
		choose(6, 0.22, box)
	}
}

func ExampleChoose() {
	c := Choose(ingest.Known(20*si.FootM), ingest.Known(0.5*si.MPHMPS), usualBox())
	t, _ := c.Chosen()
	fmt.Printf("%s, down in %.0f s, %.1f m of line at %.0f degrees\n",
		si.US.Mass(t.Head.MassKg), t.SinkS, t.LineOutM.V, t.AngleDeg.V)
	// Output: 1/2 oz, down in 12 s, 6.7 m of line at 39 degrees
}
