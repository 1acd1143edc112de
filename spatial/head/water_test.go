package head

import "testing"

func TestWaterAgainstHandbooks(t *testing.T) {
	for _, r := range reference(t, "water.csv") {
		c := r.num("c")
		w := WaterAt(c)
		t.Run(r.str("c")+" C", func(t *testing.T) {
			within(t, "density", w.DensityKgM3, r.num("tanaka_kgm3"), 6e-6)
			if r.str("kell_kgm3") != "" {
				// Two independent measurements of water.
				within(t, "density, Kell 1975", w.DensityKgM3, r.num("kell_kgm3"), 5e-3)
			}
			near(t, "viscosity", w.ViscosityM2PS, r.num("viscosity_m2ps"), 5e-4)
		})
	}
	// The two figures a textbook table gives to five digits.
	near(t, "15 C", WaterAt(15).ViscosityM2PS, 1.1386e-6, 5e-5)
	near(t, "20 C", WaterAt(20).ViscosityM2PS, 1.0034e-6, 5e-5)
}
