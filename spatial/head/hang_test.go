package head

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
)

// scaled is a hanging whose line drags load newtons a metre across it and along
// newtons a metre along it at 1 m/s: the closed forms are in these terms.
func scaled(weightN, dragN, load, along, lineN, depthM float64, flow Profile) Hanging {
	return Hanging{
		WeightN:  weightN,
		DragN:    dragN,
		Line:     LineInWater{DiameterM: 1, WeightNPerM: lineN, Cn: ingest.Known(load), Ct: along / math.Pi},
		Water:    Water{DensityKgM3: 2, ViscosityM2PS: 1e-6},
		Flow:     flow,
		DepthM:   depthM,
		MaxRatio: math.Inf(1),
	}
}

func mustHang(t *testing.T, h Hanging) Shape {
	t.Helper()
	s, ok := h.Solve()
	if !ok {
		t.Fatalf("cannot hold: %+v", h)
	}
	return s
}

func TestHangClosedForms(t *testing.T) {
	for _, r := range reference(t, "line_closed_form.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			s := mustHang(t, scaled(r.num("weight_n"), r.num("drag_n"), r.num("load_n_per_m"), 0, 0, r.num("depth_m"), Uniform(1)))
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-7)
			// Half a unit of the last digit given, for the table of six decimals.
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-7)
			within(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-6)
			near(t, "tension", s.TipTensionN, s.LureTensionN, 1e-12)
		})
	}
}

func TestHangShear(t *testing.T) {
	for _, r := range reference(t, "line_shear.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			s := mustHang(t, Hanging{
				WeightN:  r.num("weight_n"),
				DragN:    r.num("drag_n"),
				Line:     LineInWater{DiameterM: r.num("line_mm") / 1000, Cn: ingest.Known(r.num("cn"))},
				Water:    Water{DensityKgM3: 1000, ViscosityM2PS: 1.1386e-6},
				Flow:     LinearShear(r.num("surface_mps"), r.num("lure_mps"), r.num("depth_m")),
				DepthM:   r.num("depth_m"),
				MaxRatio: math.Inf(1),
			})
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-6)
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-6)
			near(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-6)
		})
	}
}

func TestHangLayers(t *testing.T) {
	for _, r := range reference(t, "line_layered.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			low := Layer{r.num("lower_m"), math.Sqrt(r.num("lower_n_per_m"))}
			up := Layer{r.num("upper_m"), math.Sqrt(r.num("upper_n_per_m"))}
			hang := func(top, bottom Layer) Shape {
				return mustHang(t, scaled(r.num("weight_n"), r.num("drag_n"), 1, 0, 0, top.ThicknessM+bottom.ThicknessM, Layered(top, bottom)))
			}
			s := hang(up, low)
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-7)
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-7)
			near(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-7)
			near(t, "tension", s.TipTensionN, r.num("tip_n"), 1e-8)

			// The other way up the same water bends the line as far, but elsewhere.
			o := hang(low, up)
			near(t, "angle, reversed", o.TipAngleDeg, s.TipAngleDeg, 1e-7)
			if o.LineOutM <= s.LineOutM || o.TrailM <= s.TrailM {
				t.Errorf("fast water at the lure should trail more: %+v, then %+v", s, o)
			}
		})
	}
}

func TestHangTangentialDrag(t *testing.T) {
	for _, r := range reference(t, "line_tangential.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			s := mustHang(t, scaled(r.num("weight_n"), r.num("drag_n"), r.num("across_n_per_m"), r.num("along_n_per_m"), 0, r.num("depth_m"), Uniform(1)))
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-7)
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-7)
			near(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-7)
			near(t, "tension", s.TipTensionN, r.num("tip_n"), 1e-7)
		})
	}
}

func TestHangHeavyLine(t *testing.T) {
	for _, r := range reference(t, "line_heavy.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			z, w := r.num("depth_m"), r.num("line_n_per_m")
			h := scaled(r.num("weight_n"), r.num("drag_n"), r.num("load_n_per_m"), 0, w, z, Uniform(1))
			s := mustHang(t, h)
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-6)
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-6)
			near(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-6)
			near(t, "tension", s.TipTensionN, r.num("tip_n"), 1e-8)
			// Without drag along the line that tension doesn't depend on the flow.
			h.Flow = PowerLaw(1.2, z+1, 6)
			near(t, "tension in another flow", mustHang(t, h).TipTensionN, s.LureTensionN+w*z, 1e-7)
			h.Line.Ct = 0.001
			if got := mustHang(t, h).TipTensionN; got <= s.LureTensionN+w*z {
				t.Errorf("drag along the line adds to the tension, got %v", got)
			}
		})
	}
}

// A heavy line in still water is a catenary (closed form, derived): pulled by H
// sideways and W down at its foot, of weight w and length l, it spans x = H/w
// (asinh((W+wl)/H) - asinh(W/H)), z = H/w (hypot(1,(W+wl)/H) - hypot(1,W/H)).
func TestHangCatenary(t *testing.T) {
	for _, c := range []struct{ h, w, line, length, x, z, top float64 }{
		{2, 0.5, 0.1, 30, 21.5686261071, 19.6957606134, 4.0311288741},
		{1, 1, 1, 1, math.Asinh(2) - math.Asinh(1), math.Sqrt(5) - math.Sqrt2, math.Sqrt(5)},
	} {
		s := mustHang(t, scaled(c.w, c.h, 1, 0, c.line, c.z, Profile{}))
		near(t, "length", s.LineOutM, c.length, 1e-8)
		near(t, "span", s.TrailM, c.x, 1e-8)
		near(t, "tension", s.TipTensionN, c.top, 1e-8)
	}
}

// A textbook's pipe across a river (Çengel & Cimbala, Fluid Mechanics, example 11-4): 2.2 cm
// thick, 30 m long, 4 m/s, Cd 1.0 from its chart (from memory): about 5275 N (from memory). Here it
// hangs straight down under a weight that nothing bends.
func TestHangTextbookPipe(t *testing.T) {
	s := mustHang(t, Hanging{
		WeightN: 1e9,
		Line:    LineInWater{DiameterM: 0.022, Cn: ingest.Known(1)},
		Water:   Water{DensityKgM3: 999.1, ViscosityM2PS: 1.138e-3 / 999.1},
		Flow:    Uniform(4),
		DepthM:  30,
	})
	near(t, "force", s.TipTensionN*math.Sin(s.TipAngleDeg*math.Pi/180), 5275, 1e-4)
}

// A line that leaves the lure at the critical angle stays straight; one that
// leaves it steeper comes to that angle in the end.
func TestHangCriticalAngle(t *testing.T) {
	water := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "critical_angle.csv") {
		t.Run(r.str("line_mm")+" mm at "+r.str("mps"), func(t *testing.T) {
			want := 90 - r.num("from_horizontal_deg")
			line := LineIn(ingest.Line{DiameterM: r.num("line_mm") / 1000, DensityKgM3: r.num("line_kgm3")}, water)
			line.Cn, line.Ct = ingest.Known(r.num("cn")), 0
			h := Hanging{WeightN: 0.01, DragN: 0.01 * math.Tan(want*math.Pi/180), Line: line, Water: water, Flow: Uniform(r.num("mps")), DepthM: 20, MaxRatio: math.Inf(1)}
			s := mustHang(t, h)
			within(t, "straight", s.TipAngleDeg, want, 1e-4) // the angle is given to 1e-6 and unstable downward
			near(t, "straight line out", s.LineOutM, 20/math.Cos(want*math.Pi/180), 1e-6)
			h.DragN, h.DepthM = 0, 2000
			within(t, "in the end", mustHang(t, h).TipAngleDeg, want, 0.05)
		})
	}
}

// profileOf reads "uniform", "linear 0.4" and "power 7".
func profileOf(t *testing.T, s string, surface, bed float64) Profile {
	t.Helper()
	kind, arg, _ := strings.Cut(s, " ")
	var v float64
	if arg != "" {
		var err error
		if v, err = strconv.ParseFloat(arg, 64); err != nil {
			t.Fatal(err)
		}
	}
	switch kind {
	case "uniform":
		return Uniform(surface)
	case "linear":
		return LinearShear(surface, v*surface, bed)
	case "power":
		return PowerLaw(surface, bed, v)
	}
	t.Fatalf("profile %q", s)
	return Profile{}
}

// In both tables the tolerance is that of their makers: 0.1 % and 0.05 degrees. We are
// far inside it.
func checkShape(t *testing.T, r row, s Shape) {
	t.Helper()
	near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-4)
	within(t, "trail", s.TrailM, r.num("trail_m"), 1e-4*math.Abs(r.num("trail_m"))+1e-5)
	within(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 0.001)
	near(t, "tension at the lure", s.LureTensionN, r.num("lure_n"), 1e-6)
	near(t, "tension at the tip", s.TipTensionN, r.num("tip_n"), 1e-5)
}

func TestHangFullModel(t *testing.T) {
	water := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "line_full_model.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			flow := LinearShear(r.num("surface_mps"), r.num("lure_mps"), r.num("depth_m"))
			h := Hanging{
				WeightN:  r.num("weight_n"),
				DragN:    DragArea{BodyM2: r.num("cda_m2")}.ForceN(r.num("lure_mps"), water),
				Line:     LineInWater{DiameterM: r.num("line_m"), WeightNPerM: r.num("line_n_per_m"), Ct: r.num("ct")},
				Water:    water,
				Flow:     flow,
				DepthM:   r.num("depth_m"),
				MaxRatio: 20,
			}
			if r.str("cn") != "white" {
				h.Line.Cn = ingest.Known(r.num("cn"))
			}
			s := mustHang(t, h)
			checkShape(t, r, s)
			h.MaxRatio = 0
			if _, ok := h.Solve(); ok != (s.LineOutM <= MaxLineRatio*h.DepthM) {
				t.Errorf("holds %v with %v m out for %v m", ok, s.LineOutM, h.DepthM)
			}
		})
	}
}

func TestHangProfiles(t *testing.T) {
	water := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "line_profiles.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			line := LineIn(ingest.Line{DiameterM: r.num("line_mm") / 1000, DensityKgM3: r.num("line_kgm3")}, water)
			near(t, "weight of line", line.WeightNPerM, r.num("line_n_per_m"), 1e-6)
			line.Cn = ingest.Known(1.1)
			flow := profileOf(t, r.str("profile"), r.num("surface_mps"), r.num("bed_m"))
			h := Hanging{
				WeightN: r.num("weight_n"),
				DragN:   DragArea{BodyM2: r.num("cda_m2")}.ForceN(flow.SpeedMPS(r.num("depth_m")), water),
				Line:    line,
				Water:   water,
				Flow:    flow,
				DepthM:  r.num("depth_m"),
			}
			h.MaxRatio = 20
			s := mustHang(t, h)
			checkShape(t, r, s)
			h.MaxRatio = 0
			if _, ok := h.Solve(); ok != (s.LineOutM <= MaxLineRatio*h.DepthM) {
				t.Errorf("holds %v with %v m out for %v m", ok, s.LineOutM, h.DepthM)
			}
		})
	}
}

func TestHangTable(t *testing.T) {
	water := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "line_table.csv") {
		t.Run(r.str("oz")+" oz", func(t *testing.T) {
			s := mustHang(t, Hanging{
				WeightN: leadWeightN(r.num("oz")*si.OunceKg, water),
				DragN:   DragArea{BodyM2: r.num("cda_m2")}.ForceN(r.num("lure_mps"), water),
				Line:    LineInWater{DiameterM: r.num("line_mm") / 1000, Cn: ingest.Known(1.2), Ct: 0.02},
				Water:   water,
				Flow:    LinearShear(r.num("surface_mps"), r.num("lure_mps"), r.num("depth_m")),
				DepthM:  r.num("depth_m"),
			})
			near(t, "line out", s.LineOutM, r.num("line_out_m"), 1e-4) // 0.5 % is asked for
			near(t, "trail", s.TrailM, r.num("trail_m"), 1e-4)
			near(t, "angle", s.TipAngleDeg, r.num("tip_deg"), 1e-4)
		})
	}
}

// The angle of a weight without drag inverts: G = asinh(tan(angle)) (closed form, derived).
func TestHangAngleLimits(t *testing.T) {
	for deg, load := range map[float64]float64{15: 0.264842248, 30: 0.549306144, 45: 0.881373587, 60: 1.316957897} {
		near(t, "angle", mustHang(t, scaled(1, 0, load, 0, 0, 1, Uniform(1))).TipAngleDeg, deg, 1e-7)
	}
}

// leastWeight is the smallest weight whose line stands within a limit, by bisection.
func leastWeight(limitDeg float64, hang func(weightN float64) Hanging) float64 {
	low, high := 1e-9, 1e3
	for range 100 {
		mid := math.Sqrt(low * high)
		if s, ok := hang(mid).Solve(); ok && s.TipAngleDeg <= limitDeg {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

func TestRequiredWeight(t *testing.T) {
	water := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "required_weight.csv") {
		t.Run(r.str("mps")+" m/s "+r.str("depth_m")+" m", func(t *testing.T) {
			need := func(mps float64) float64 {
				return leastWeight(r.num("tip_deg"), func(weightN float64) Hanging {
					return Hanging{
						WeightN: weightN,
						DragN:   DragArea{BodyM2: 1.2e-4}.ForceN(mps, water),
						Line:    LineInWater{DiameterM: 0.25e-3, Cn: ingest.Known(1.2)},
						Water:   water,
						Flow:    Uniform(mps),
						DepthM:  r.num("depth_m"),
					}
				})
			}
			w := need(r.num("mps"))
			near(t, "weight", w, r.num("weight_n"), 1e-7)
			near(t, "lead", w/(GravityMPS2*(1-water.DensityKgM3/leadKgM3))*1000, r.num("lead_g"), 1e-6)
			// At a constant coefficient every force of the water goes with the square
			// of its speed, so twice the speed needs four times the weight.
			near(t, "twice the speed", need(2*r.num("mps")), 4*w, 1e-7)
		})
	}
}

var series = []float64{1. / 32, 1. / 16, 3. / 32, 1. / 8, 3. / 16, 1. / 4, 3. / 8, 1. / 2, 5. / 8, 3. / 4, 1, 1.5, 2}

// checkPick takes the lightest of the series whose line is within the limit and
// compares it and its neighbour with a reference row.
func checkPick(t *testing.T, r row, hang func(massKg float64) Hanging) {
	t.Helper()
	angle := func(oz float64) float64 {
		h := hang(oz * si.OunceKg)
		h.MaxRatio = 100
		return mustHang(t, h).TipAngleDeg
	}
	pick := -1
	for i, oz := range series {
		if s, ok := hang(oz * si.OunceKg).Solve(); ok && s.TipAngleDeg <= r.num("limit_deg") {
			pick = i
			break
		}
	}
	if r.str("pick_oz") == "" {
		if pick >= 0 {
			t.Errorf("picked %v oz, want none", series[pick])
		}
		within(t, "angle of the heaviest", angle(series[len(series)-1]), r.num("tip_deg"), 1e-3)
		return
	}
	if pick < 0 || series[pick] != r.num("pick_oz") {
		t.Fatalf("picked number %d, want %s oz", pick, r.str("pick_oz"))
	}
	within(t, "angle", angle(series[pick]), r.num("tip_deg"), 1e-3)
	within(t, "angle one lighter", angle(series[pick-1]), r.num("lighter_tip_deg"), 1e-3)
}

func TestPicksFromSeries(t *testing.T) {
	for _, r := range reference(t, "picks_uniform.csv") {
		t.Run(r.str("mps")+" m/s "+r.str("depth_m")+" m", func(t *testing.T) {
			water := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6}
			line := LineIn(ingest.Line{DiameterM: r.num("line_mm") / 1000, DensityKgM3: r.num("line_kgm3")}, water)
			line.Cn = ingest.Known(1.2)
			checkPick(t, r, func(massKg float64) Hanging {
				return Hanging{
					WeightN: leadWeightN(massKg, water),
					DragN:   DragArea{BodyM2: 0.8e-4 + 0.47*leadDiskM2(massKg)}.ForceN(r.num("mps"), water),
					Line:    line, Water: water, Flow: Uniform(r.num("mps")), DepthM: r.num("depth_m"),
				}
			})
		})
	}
	for _, r := range reference(t, "picks_profiles.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			water := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
			line := LineIn(ingest.Line{DiameterM: r.num("line_mm") / 1000, DensityKgM3: r.num("line_kgm3")}, water)
			line.Cn = ingest.Known(1.1)
			flow := profileOf(t, r.str("profile"), r.num("surface_mps"), r.num("bed_m"))
			hang := func(massKg float64) Hanging {
				return Hanging{
					WeightN: leadWeightN(massKg, water),
					DragN:   DragArea{BodyM2: 1e-4 + 0.45*leadDiskM2(massKg)}.ForceN(flow.SpeedMPS(r.num("depth_m")), water),
					Line:    line, Water: water, Flow: flow, DepthM: r.num("depth_m"),
				}
			}
			checkPick(t, r, hang)
			perKg := leadWeightN(1, water)
			exact := leastWeight(r.num("limit_deg"), func(n float64) Hanging { return hang(n / perKg) })
			near(t, "exact mass", exact/perKg*1000, r.num("exact_g"), 1e-5)
		})
	}
}

// To first order the line stands at (D + R Z)/W and trails (D Z + R Z²/2)/W
// (closed form, derived); the error goes with the square of the angle.
func TestHangSmallAngle(t *testing.T) {
	for _, small := range []float64{1e-2, 1e-3} {
		s := mustHang(t, scaled(1, small, small/4, 0, 0, 4, Uniform(1)))
		near(t, "angle", s.TipAngleDeg*math.Pi/180, 2*small, 4*small*small)
		near(t, "trail", s.TrailM, small*4+small/4*8, 4*small*small)
		near(t, "line out", s.LineOutM, 4, 4*small*small)
	}
}

func TestHangStillAndShallow(t *testing.T) {
	w := WaterAt(15)
	line := LineIn(ingest.Line{DiameterM: 0.3e-3, DensityKgM3: 1780}, w)
	s := mustHang(t, Hanging{WeightN: 0.1, Line: line, Water: w, DepthM: 7})
	if s.TipAngleDeg != 0 || s.TrailM != 0 {
		t.Errorf("still water: %+v", s)
	}
	near(t, "straight down", s.LineOutM, 7, 1e-12)
	near(t, "line's weight", s.TipTensionN, 0.1+7*line.WeightNPerM, 1e-12)

	s = mustHang(t, Hanging{WeightN: 0.1, DragN: 0.1, Line: line, Water: w, Flow: Uniform(0.3)})
	near(t, "at the tip", s.TipAngleDeg, 45, 1e-12)
	if s.LineOutM != 0 || s.TrailM != 0 || s.TipTensionN != s.LureTensionN {
		t.Errorf("at the tip: %+v", s)
	}
}

func TestHangCannotHold(t *testing.T) {
	w := WaterAt(15)
	base := Hanging{WeightN: 0.06337991, DragN: DragArea{BodyM2: 1.215371919e-4}.ForceN(0.5, w), Line: LineInWater{DiameterM: 0.3e-3, Cn: ingest.Known(1.2)}, Water: w, Flow: Uniform(0.5), DepthM: 8}
	with := func(change func(h *Hanging)) Hanging { h := base; change(&h); return h }
	for name, h := range map[string]Hanging{
		"G of 5.5":                   base, // 228.77 m by the closed form
		"floats":                     with(func(h *Hanging) { h.WeightN = -0.01 }),
		"weighs nothing":             with(func(h *Hanging) { h.WeightN = 0 }),
		"line floats it away":        with(func(h *Hanging) { h.Flow = Uniform(0); h.Line.WeightNPerM = -0.01 }),
		"line floats it straight up": with(func(h *Hanging) { h.DragN = 0; h.Flow = Uniform(0); h.Line.WeightNPerM = -0.01 }),
		"floating line comes level":  with(func(h *Hanging) { h.MaxRatio = math.Inf(1); h.Line.WeightNPerM = -0.002; h.Flow = Uniform(0.4) }),
		"flow that isn't a number":   with(func(h *Hanging) { h.Flow = Uniform(math.NaN()) }),
		"ratio just below what's it": with(func(h *Hanging) { h.MaxRatio = 28 }),
	} {
		if s, ok := h.Solve(); ok {
			t.Errorf("%s: %+v", name, s)
		}
	}
	s := mustHang(t, with(func(h *Hanging) { h.MaxRatio = 29 }))
	near(t, "when asked", s.LineOutM, 228.77, 3e-5)
}

// The limit is at G = 3, where a line is sinh(3)/3 of the depth (closed form).
func TestHangLimit(t *testing.T) {
	near(t, "limit", MaxLineRatio, math.Sinh(3)/3, 1e-15)
	for load, holds := range map[float64]bool{2.99: true, 3.01: false} {
		h := scaled(1, 0, load, 0, 0, 1, Uniform(1))
		h.MaxRatio = 0
		if _, ok := h.Solve(); ok != holds {
			t.Errorf("G of %v: holds %v", load, ok)
		}
	}
}

// Another method: the line as 20000 straight pieces, forces as vectors, marching
// along the arc by the midpoint rule. Random waters, weights and lines, Cn by
// Reynolds number.
func TestHangAgainstPieces(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 40 {
		w := WaterAt(30 * rng.Float64())
		h := Hanging{
			WeightN: math.Exp(-4 + 3*rng.Float64()),
			Line:    LineIn(ingest.Line{DiameterM: 1e-4 + 4e-4*rng.Float64(), DensityKgM3: 900 + 900*rng.Float64()}, w),
			Water:   w,
			Flow:    LinearShear(0.5*rng.Float64(), 0.8*rng.Float64()-0.4, 10),
			DepthM:  1 + 11*rng.Float64(),
		}
		if i%3 == 0 {
			h.Line.Cn = ingest.Known(1 + rng.Float64())
		}
		h.DragN = DragArea{BodyM2: 2e-4 * rng.Float64(), SphereM: 0.01}.ForceN(h.Flow.SpeedMPS(h.DepthM), w)
		s, ok := h.Solve()
		if !ok {
			continue
		}
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			out, trail, deg := pieces(h, s.LineOutM/20000)
			near(t, "line out", s.LineOutM, out, 1e-5)
			within(t, "trail", s.TrailM, trail, 1e-5*h.DepthM)
			within(t, "angle", s.TipAngleDeg, deg, 1e-3)
		})
	}
}

func pieces(h Hanging, ds float64) (out, trail, deg float64) {
	// Pull of the line on what is below: (sideways, up).
	pull := [2]float64{h.DragN, h.WeightN}
	var x, z float64
	line := h.Line
	load := func(pull [2]float64, z float64) [2]float64 {
		n := math.Hypot(pull[0], pull[1])
		tx, tz := pull[0]/n, pull[1]/n // along the line, upward; x against the stream
		u := h.Flow.SpeedMPS(h.DepthM - z)
		across, along := u*tz, u*tx
		cn := line.Cn.V
		if !line.Cn.OK {
			cn = 1 + 10*math.Pow(math.Abs(across)*line.DiameterM/h.Water.ViscosityM2PS, -2.0/3)
		}
		half := 0.5 * h.Water.DensityKgM3 * line.DiameterM
		fn := half * cn * across * math.Abs(across)
		ft := half * math.Pi * line.Ct * along * math.Abs(along)
		// Across the line and away from the bow, tilted down; along it, downstream.
		return [2]float64{fn*tz + ft*tx, line.WeightNPerM - fn*tx + ft*tz}
	}
	whole := ds
	for {
		line, ds = h.Line, whole
		if out < h.LeaderM {
			line, ds = h.Leader, min(whole, h.LeaderM-out)
		}
		a := load(pull, z)
		n := math.Hypot(pull[0], pull[1])
		mid := [2]float64{pull[0] + a[0]*ds/2, pull[1] + a[1]*ds/2}
		b := load(mid, z+pull[1]/n*ds/2)
		m := math.Hypot(mid[0], mid[1])
		dx, dz := mid[0]/m*ds, mid[1]/m*ds
		if z+dz >= h.DepthM {
			part := (h.DepthM - z) / dz
			return out + part*ds, x + part*dx, math.Atan2(pull[0]+part*b[0]*ds, pull[1]+part*b[1]*ds) * 180 / math.Pi
		}
		out, x, z = out+ds, x+dx, z+dz
		pull = [2]float64{pull[0] + b[0]*ds, pull[1] + b[1]*ds}
	}
}
