package head

import (
	"math"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
)

func TestSphereDrag(t *testing.T) {
	for _, r := range reference(t, "sphere_drag.csv") {
		t.Run("Re "+r.str("re"), func(t *testing.T) {
			got := SphereCd(r.num("re"))
			near(t, "Brown & Lawler", got, r.num("brown_lawler"), 2e-6)
			// Other fits of the same measurements differ by up to 5.7 %.
			near(t, "Haider & Levenspiel", got, r.num("haider_levenspiel"), 0.06)
			if r.str("schiller_naumann") != "" {
				near(t, "Schiller & Naumann", got, r.num("schiller_naumann"), 0.06)
			}
		})
	}
}

// The coefficient that the model of the line uses, from the slight bend of a line
// under a heavy weight: chi = 1/2 rho d Cn u² Z/W (closed form).
func TestLineDrag(t *testing.T) {
	w := Water{DensityKgM3: 999.1, ViscosityM2PS: 1.1386e-6}
	const d, z, weight = 0.3e-3, 1, 1e3
	coefficient := func(re float64) float64 {
		u := re * w.ViscosityM2PS / d
		s := mustHang(t, Hanging{WeightN: weight, Line: LineInWater{DiameterM: d}, Water: w, Flow: Uniform(u), DepthM: z})
		return weight * math.Tan(s.TipAngleDeg*math.Pi/180) / (0.5 * w.DensityKgM3 * d * u * u * z)
	}
	for _, r := range reference(t, "cylinder_drag.csv") {
		t.Run("Re "+r.str("re"), func(t *testing.T) {
			re := r.num("re")
			got := coefficient(re)
			near(t, "White", got, r.num("white"), 1e-5)
			if re >= 100 && re <= 300 {
				near(t, "Sucker & Brauer", got, r.num("sucker_brauer"), 0.02)
			}
		})
	}
	near(t, "0.2 mm at 0.2 m/s", coefficient(35), 1.93, 3e-3)
}

func TestDragArea(t *testing.T) {
	w := WaterAt(15)
	a := DragArea{BodyM2: 1e-4}
	within(t, "still", a.ForceN(0, w), 0, 0)
	near(t, "1 m/s", a.ForceN(1, w), 0.5*w.DensityKgM3*1e-4, 1e-12)
	near(t, "-1 m/s", a.ForceN(-1, w), -0.5*w.DensityKgM3*1e-4, 1e-12)
	ball := DragArea{SphereM: 1e-3}
	within(t, "still ball", ball.ForceN(0, w), 0, 0)
	// Stokes 1851: 3 pi mu d v, exact as Re goes to 0.
	v := 1e-7
	near(t, "creeping ball", ball.ForceN(v, w), 3*math.Pi*w.ViscosityM2PS*w.DensityKgM3*1e-3*v, 2e-3)

	// The example worked by hand above.
	quarter := rig{head: ingest.Head{MassKg: si.OunceKg / 4, DensityKgM3: leadKgM3}}
	near(t, "ball of 1/4 oz", quarter.sphereM(), 10.6e-3, 2e-3)
	near(t, "its drag", DragArea{SphereM: quarter.sphereM()}.ForceN(0.22, w), 0.87e-3, 0.005)
}

func TestLineIn(t *testing.T) {
	w := Water{DensityKgM3: 999.1026, ViscosityM2PS: 1.1386e-6}
	for _, r := range reference(t, "critical_angle.csv") {
		l := LineIn(ingest.Line{DiameterM: r.num("line_mm") / 1000, DensityKgM3: r.num("line_kgm3")}, w)
		near(t, "weight in water", l.WeightNPerM, r.num("line_n_per_m"), 1e-8)
	}
	if l := LineIn(ingest.Line{DiameterM: 0.36e-3, DensityKgM3: 970}, w); l.WeightNPerM >= 0 || l.Cn.OK || l.Ct != TangentialCt {
		t.Errorf("braid %+v; it floats, and drags by its Reynolds number", l)
	}
}
