package head

import (
	"math"
	"testing"

	"leadline/ingest/si"
)

// In all of these a thousandth of the inertia stands for none: the lure is at its
// balance speed at every depth, and the time is short of quasi-steady by 1e-4 s.

func mustSink(t *testing.T, f Fall) float64 {
	t.Helper()
	s, ok := f.Seconds()
	if !ok {
		t.Fatalf("does not sink: %+v", f)
	}
	return s
}

func TestSinkConstantDrag(t *testing.T) {
	const lineM = 0.02 * math.Pi * 0.25e-3
	for _, r := range reference(t, "sink_constant_drag.csv") {
		t.Run(r.str("id"), func(t *testing.T) {
			f := Fall{
				WeightN:   r.num("weight_n"),
				InertiaKg: r.num("mass_kg") + r.num("added_kg"),
				Drag:      DragArea{BodyM2: r.num("cda_m2")},
				Water:     Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6},
				DepthM:    r.num("depth_m"),
			}
			near(t, "speed", f.terminal(0), r.num("terminal_mps"), 2e-7)
			near(t, "from rest", mustSink(t, f), r.num("inertia_s"), 1e-6)
			light := f
			light.InertiaKg /= 1000
			near(t, "quasi-steady", mustSink(t, light), r.num("quasi_s"), 1e-4)
			light.LineM = lineM
			near(t, "with line", mustSink(t, light), r.num("line_s"), 1e-4)
			f.LineM = lineM
			if both := mustSink(t, f); both <= mustSink(t, light) {
				t.Errorf("inertia and line together: %v s", both)
			}
		})
	}
}

func TestSinkSphere(t *testing.T) {
	for _, r := range reference(t, "sink_sphere.csv") {
		t.Run(r.str("oz")+" oz", func(t *testing.T) {
			m, d := r.num("oz")*si.OunceKg, r.num("diameter_mm")/1000
			w := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
			near(t, "weight", leadWeightN(m, w), r.num("weight_n"), 1e-6)
			f := Fall{
				WeightN:   r.num("weight_n"),
				InertiaKg: m + addedMassOfSphere*w.DensityKgM3*math.Pi/6*d*d*d,
				Drag:      DragArea{SphereM: d},
				Water:     w,
				DepthM:    r.num("depth_m"),
			}
			near(t, "speed", f.terminal(0), r.num("terminal_mps"), 1e-6)
			near(t, "from rest", mustSink(t, f), r.num("inertia_s"), 1e-6)
			f.InertiaKg /= 1000
			near(t, "quasi-steady", mustSink(t, f), r.num("quasi_s"), 1e-4)
			f.LineM = 0.02 * math.Pi * 0.25e-3
			near(t, "with line", mustSink(t, f), r.num("line_s"), 1e-4)
		})
	}
}

// Terminal speed from two depths of one fall, after it has settled.
func TestSphereTerminalSpeed(t *testing.T) {
	w := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1375e-3 / 999.1026}
	for _, r := range reference(t, "sphere_terminal.csv") {
		t.Run(r.str("name"), func(t *testing.T) {
			d, density := r.num("diameter_mm")/1000, r.num("kgm3")
			volume := math.Pi / 6 * d * d * d
			f := Fall{
				WeightN:   volume * (density - w.DensityKgM3) * GravityMPS2,
				InertiaKg: volume * (density + addedMassOfSphere*w.DensityKgM3),
				Drag:      DragArea{SphereM: d},
				Water:     w,
				DepthM:    10,
			}
			ten := mustSink(t, f)
			f.DepthM = 30
			near(t, "speed", 20/(mustSink(t, f)-ten), r.num("terminal_mps"), 1e-6)
		})
	}
}

// Other laws of drag, in published problems: within 2 %, as far as the laws differ.
func TestSphereTerminalSpeedByOtherLaws(t *testing.T) {
	for _, r := range reference(t, "sphere_other_laws.csv") {
		t.Run(r.str("name"), func(t *testing.T) {
			d, rho := r.num("diameter_mm")/1000, r.num("water_kgm3")
			f := Fall{
				WeightN: math.Pi / 6 * d * d * d * (r.num("kgm3") - rho) * r.num("gravity_mps2"),
				Drag:    DragArea{SphereM: d},
				Water:   Water{DensityKgM3: rho, ViscosityM2PS: r.num("viscosity_pas") / rho},
			}
			near(t, "speed", f.terminal(0), r.num("terminal_mps"), 0.02)
		})
	}
}

// The series after settling against integration all the way, where the two differ most:
// a bare small head on thick line.
func TestSinkSeriesAgainstIntegration(t *testing.T) {
	w := WaterAt(15)
	for name, f := range map[string]Fall{
		"soft bait":  {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{BodyM2: 5e-4}, LineM: 1.5e-5},
		"small bait": {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{BodyM2: 5e-5}, LineM: 3e-5},
		"bare head":  {WeightN: 0.0158, InertiaKg: 1.85e-3, Drag: DragArea{SphereM: 6.7e-3}, LineM: 3e-5},
		"no line":    {WeightN: 0.25, InertiaKg: 30e-3, Drag: DragArea{BodyM2: 1e-3}},
	} {
		t.Run(name, func(t *testing.T) {
			f.Water = w
			for _, z := range []float64{0.01, 0.5, 3, 12, 40} {
				f.DepthM = z
				near(t, "time", mustSink(t, f), classic(f, 1e-3), 5e-6)
			}
		})
	}
}

// classic integrates a fall by the classic fourth-order method of Runge and Kutta
// with a fixed step, to a depth found by a cubic through the last step.
func classic(f Fall, dt float64) float64 {
	line := func(z float64) float64 {
		if z < f.LeaderM {
			return f.LeaderM2 * z
		}
		return f.LeaderM2*f.LeaderM + f.LineM*(z-f.LeaderM)
	}
	slope := func(y [2]float64) [2]float64 {
		return [2]float64{y[1], (f.WeightN - f.Drag.ForceN(y[1], f.Water) - 0.5*f.Water.DensityKgM3*line(y[0])*y[1]*math.Abs(y[1])) / f.InertiaKg}
	}
	add := func(y, k [2]float64, h float64) [2]float64 { return [2]float64{y[0] + h*k[0], y[1] + h*k[1]} }
	step := func(y [2]float64, h float64) [2]float64 {
		a := slope(y)
		b := slope(add(y, a, h/2))
		c := slope(add(y, b, h/2))
		d := slope(add(y, c, h))
		return [2]float64{y[0] + h/6*(a[0]+2*b[0]+2*c[0]+d[0]), y[1] + h/6*(a[1]+2*b[1]+2*c[1]+d[1])}
	}
	var y [2]float64
	for n := 0; ; n++ {
		next := step(y, dt)
		if next[0] >= f.DepthM {
			low, high := 0.0, dt
			for range 60 {
				mid := (low + high) / 2
				if step(y, mid)[0] < f.DepthM {
					low = mid
				} else {
					high = mid
				}
			}
			return float64(n)*dt + high
		}
		y = next
	}
}

func TestSinkEdges(t *testing.T) {
	f := Fall{WeightN: 0.06, InertiaKg: 7e-3, Drag: DragArea{BodyM2: 5e-4}, Water: WaterAt(15)}
	within(t, "no depth", mustSink(t, f), 0, 0)
	f.DepthM = 2
	bare := f
	bare.Drag = DragArea{}
	// Without drag: the textbook's free fall at W/m.
	near(t, "no drag", mustSink(t, bare), math.Sqrt(2*2*7e-3/0.06), 1e-6)
	for name, g := range map[string]Fall{
		"floats":   {WeightN: -0.06, InertiaKg: 7e-3, Drag: f.Drag, Water: f.Water, DepthM: 2},
		"no mass":  {WeightN: 0.06, Drag: f.Drag, Water: f.Water, DepthM: 2},
		"no water": {WeightN: math.NaN(), InertiaKg: 7e-3, DepthM: 2},
	} {
		if s, ok := g.Seconds(); ok {
			t.Errorf("%s: %v s", name, s)
		}
	}
}
