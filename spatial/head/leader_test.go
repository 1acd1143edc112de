package head

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"leadline/ingest"
)

func TestLeaderIn(t *testing.T) {
	w := WaterAt(15)
	if leader, m := LeaderIn(ingest.Line{DiameterM: 0.3e-3, DensityKgM3: 970}, w); m != 0 || leader != (LineInWater{}) {
		t.Errorf("no leader: %+v, %v m", leader, m)
	}
	line := ingest.Line{DiameterM: 0.3e-3, DensityKgM3: 970, Leader: &ingest.Leader{DiameterM: 0.2e-3, DensityKgM3: 1780, LengthM: 1.5}}
	if leader, m := LeaderIn(line, w); m != 1.5 || leader != LineIn(ingest.Line{DiameterM: 0.2e-3, DensityKgM3: 1780}, w) {
		t.Errorf("%+v, %v m", leader, m)
	}
}

// Without weight and with drag across it only, a piece of line adds R s/T to the tangent
// of its angle, rises T/R (asinh tan - asinh tan0) and trails T/R (1/cos - 1/cos0)
// (closed form, derived): here two of them, one above the other.
func TestHangLeaderClosedForm(t *testing.T) {
	for _, c := range []struct {
		name                  string
		weight, drag          float64
		leader, line          float64 // load, N/m
		leaderM, lineM, speed float64
	}{
		{"thin leader", 0.1, 0.01, 0.004, 0.012, 1.5, 5, 1},
		{"thick leader", 0.1, 0.01, 0.012, 0.004, 1.5, 5, 1},
		{"much thicker", 1, 0, 3, 0.01, 0.2, 4, 1},
		{"water runs forward", 0.1, -0.01, 0.004, 0.012, 1.5, 5, -1},
		{"nearly all leader", 0.1, 0.01, 0.004, 0.012, 6, 0.001, 1},
		{"hardly a leader", 0.1, 0.01, 0.004, 0.012, 0.001, 6, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			T := math.Hypot(c.weight, c.drag)
			tan0 := c.drag / c.weight
			tan1 := tan0 + c.speed*c.leader*c.leaderM/T
			tan2 := tan1 + c.speed*c.line*c.lineM/T
			rise := func(load, from, to float64) float64 { return T / load * math.Abs(math.Asinh(to)-math.Asinh(from)) }
			trail := func(load, from, to float64) float64 {
				return c.speed * T / load * (math.Hypot(1, to) - math.Hypot(1, from))
			}
			h := scaled(c.weight, c.drag, c.line, 0, 0, rise(c.leader, tan0, tan1)+rise(c.line, tan1, tan2), Uniform(c.speed))
			h.Leader, h.LeaderM = h.Line, c.leaderM
			h.Leader.Cn = ingest.Known(c.leader)
			s := mustHang(t, h)
			near(t, "tangent at the tip", math.Tan(s.TipAngleDeg*math.Pi/180), tan2, 1e-6)
			near(t, "line out", s.LineOutM, c.leaderM+c.lineM, 1e-6)
			near(t, "trail", s.TrailM, trail(c.leader, tan0, tan1)+trail(c.line, tan1, tan2), 1e-6)
		})
	}
}

// A leader that reaches from slow water into fast: three pieces of the closed form.
func TestHangLeaderThroughALayer(t *testing.T) {
	const weight, slow, fast, leader, line = 0.1, 0.5, 1.2, 0.02, 0.005 // N, m/s, N/m at 1 m/s
	var depth, below, trail, tan, out float64
	for i, piece := range []struct{ load, lengthM float64 }{
		{leader * slow * slow, 2}, {leader * fast * fast, 1}, {line * fast * fast, 4},
	} {
		next := tan + piece.load*piece.lengthM/weight
		depth += weight / piece.load * (math.Asinh(next) - math.Asinh(tan))
		trail += weight / piece.load * (math.Hypot(1, next) - math.Hypot(1, tan))
		out += piece.lengthM
		tan = next
		if i == 0 {
			below = depth
		}
	}
	h := scaled(weight, 0, line, 0, 0, depth, Layered(Layer{depth - below, fast}, Layer{below, slow}))
	h.Leader, h.LeaderM = h.Line, 3
	h.Leader.Cn = ingest.Known(leader)
	s := mustHang(t, h)
	near(t, "tangent at the tip", math.Tan(s.TipAngleDeg*math.Pi/180), tan, 1e-6)
	near(t, "line out", s.LineOutM, out, 1e-6)
	near(t, "trail", s.TrailM, trail, 1e-6)
}

// By the other method, whose pieces end where the leader does.
func TestHangLeaderAgainstPieces(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	held, partly := 0, 0
	for i := range 30 {
		w := WaterAt(30 * rng.Float64())
		random := func() LineInWater {
			return LineIn(ingest.Line{DiameterM: 1e-4 + 4e-4*rng.Float64(), DensityKgM3: 900 + 900*rng.Float64()}, w)
		}
		h := Hanging{
			WeightN: math.Exp(-4 + 3*rng.Float64()),
			Line:    random(), Leader: random(), LeaderM: 6 * rng.Float64(),
			Water:  w,
			Flow:   LinearShear(0.5*rng.Float64(), 0.8*rng.Float64()-0.4, 10),
			DepthM: 1 + 9*rng.Float64(),
		}
		h.DragN = DragArea{BodyM2: 2e-4 * rng.Float64()}.ForceN(h.Flow.SpeedMPS(h.DepthM), w)
		s, ok := h.Solve()
		if !ok {
			continue
		}
		held++
		if s.LineOutM > h.LeaderM {
			partly++
		}
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			out, trail, deg := pieces(h, s.LineOutM/20000)
			near(t, "line out", s.LineOutM, out, 1e-5)
			within(t, "trail", s.TrailM, trail, 1e-5*h.DepthM)
			within(t, "angle", s.TipAngleDeg, deg, 1e-3)
		})
	}
	if held < 15 || partly < 8 || partly == held {
		t.Errorf("%d hangings, %d longer than the leader", held, partly)
	}
}

func TestHangLeaderEdges(t *testing.T) {
	w := WaterAt(15)
	thick := LineIn(ingest.Line{DiameterM: 0.36e-3, DensityKgM3: 970}, w)
	thin := LineIn(ingest.Line{DiameterM: 0.2e-3, DensityKgM3: 1780}, w)
	h := Hanging{WeightN: 0.12, DragN: 0.005, Line: thick, Water: w, Flow: LinearShear(0.25, 0.1, 4), DepthM: 6}
	with := func(line, leader LineInWater, leaderM float64) Shape {
		h := h
		h.Line, h.Leader, h.LeaderM = line, leader, leaderM
		return mustHang(t, h)
	}
	allThick, allThin := with(thick, LineInWater{}, 0), with(thin, LineInWater{}, 0)
	if allThin.LineOutM >= allThick.LineOutM {
		t.Fatal("nothing to tell apart")
	}
	if got := with(thick, thin, 0); got != allThick {
		t.Errorf("a leader of no length: %+v, want %+v", got, allThick)
	}
	if got := with(thick, thin, -1); got != allThick {
		t.Errorf("a leader of less than no length: %+v, want %+v", got, allThick)
	}
	if got := with(thick, thin, 50); got != allThin {
		t.Errorf("all of it leader: %+v, want %+v", got, allThin)
	}
	last := allThick.LineOutM
	for _, m := range []float64{0.001, 0.5, 2, 2.5, 4, 5, 6} {
		got := with(thick, thin, m)
		if got.LineOutM >= last || got.LineOutM <= allThin.LineOutM {
			t.Errorf("%v m of thinner leader: %v m out, after %v", m, got.LineOutM, last)
		}
		last = got.LineOutM
		// Other steps, same line: within the error of one (hangTol).
		same := with(thick, thick, m)
		near(t, "same line, line out", same.LineOutM, allThick.LineOutM, hangTol)
		near(t, "same line, trail", same.TrailM, allThick.TrailM, hangTol)
		near(t, "same line, angle", same.TipAngleDeg, allThick.TipAngleDeg, hangTol)
		near(t, "same line, tension", same.TipTensionN, allThick.TipTensionN, hangTol)
	}
	h.DepthM, h.Leader, h.LeaderM = 0, thin, 1
	if got := mustHang(t, h); got.LineOutM != 0 {
		t.Errorf("at the tip: %+v", got)
	}
}

// Line drawn down by a lure that is always at its balance speed (closed form,
// derived): each piece takes sqrt(rho/2W) 2/(3k) (x1^1.5 - x0^1.5), x the drag area
// at its ends.
func TestSinkLeaderClosedForm(t *testing.T) {
	const rho, weight, area = 999.1, 0.0634, 2e-4
	for _, c := range []struct{ leader, line, leaderM, depthM float64 }{
		{1e-5, 3e-5, 2, 9},
		{3e-5, 1e-5, 2, 9},
		{3e-5, 1e-5, 0.01, 9},
		{1e-5, 3e-5, 8.99, 9},
	} {
		knot := area + c.leader*c.leaderM
		foot := knot + c.line*(c.depthM-c.leaderM)
		piece := func(k, from, to float64) float64 {
			return math.Sqrt(rho/(2*weight)) * 2 / (3 * k) * (math.Pow(to, 1.5) - math.Pow(from, 1.5))
		}
		got := mustSink(t, Fall{
			WeightN: weight, InertiaKg: 7e-6, Drag: DragArea{BodyM2: area},
			LineM: c.line, LeaderM2: c.leader, LeaderM: c.leaderM,
			Water: Water{DensityKgM3: rho}, DepthM: c.depthM,
		})
		near(t, fmt.Sprint(c), got, piece(c.leader, area, knot)+piece(c.line, knot, foot), 1e-4)
	}
}

func TestSinkLeaderAgainstIntegration(t *testing.T) {
	w := WaterAt(15)
	for name, f := range map[string]Fall{
		"thin leader":           {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{BodyM2: 5e-4}, LineM: 2.3e-5, LeaderM2: 1.3e-5},
		"thick leader":          {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{BodyM2: 5e-4}, LineM: 1.3e-5, LeaderM2: 2.3e-5},
		"backing like a rope":   {WeightN: 0.25, InertiaKg: 30e-3, Drag: DragArea{BodyM2: 1e-3}, LineM: 1e-3, LeaderM2: 1e-5},
		"backing like a thread": {WeightN: 0.25, InertiaKg: 30e-3, Drag: DragArea{BodyM2: 1e-3}, LineM: 1e-6, LeaderM2: 5e-5},
		"leader like a rope":    {WeightN: 0.25, InertiaKg: 30e-3, Drag: DragArea{BodyM2: 1e-3}, LineM: 1e-5, LeaderM2: 1e-3},
		"bare head":             {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{SphereM: 6.7e-3}, LineM: 3e-5, LeaderM2: 1e-5},
	} {
		t.Run(name, func(t *testing.T) {
			f.Water = w
			for _, m := range []float64{0.02, 0.4, 2, 5} {
				for _, z := range []float64{0.3, m * 1.05, 3, 12} {
					f.LeaderM, f.DepthM = m, z
					near(t, fmt.Sprintf("%v m of leader to %v m", m, z), mustSink(t, f), classic(f, 1e-3), 5e-6)
				}
			}
		})
	}
}

func TestSinkLeaderEdges(t *testing.T) {
	f := Fall{WeightN: 0.06, InertiaKg: 7e-3, Drag: DragArea{BodyM2: 5e-4}, LineM: 2e-5, Water: WaterAt(15), DepthM: 7}
	plain := mustSink(t, f)
	f.LeaderM2 = 1e-5
	if got := mustSink(t, f); got != plain {
		t.Errorf("a leader of no length: %v s, want %v", got, plain)
	}
	f.LeaderM = 9
	all := f
	all.LineM, all.LeaderM2, all.LeaderM = 1e-5, 0, 0
	if got, want := mustSink(t, f), mustSink(t, all); got != want {
		t.Errorf("all of it leader: %v s, want %v", got, want)
	}
	f.LeaderM = 2
	if got := mustSink(t, f); got >= plain || got <= mustSink(t, all) {
		t.Errorf("thinner leader: %v s", got)
	}
	f.LeaderM2 = f.LineM
	for _, m := range []float64{0.1, 2, 6.9} { // each is good to 5e-6, and near the start far better
		f.LeaderM = m
		near(t, "same line", mustSink(t, f), plain, 1e-7)
	}
}
