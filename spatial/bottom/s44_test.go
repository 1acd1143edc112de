package bottom

import "testing"

// sqrt(a² + (b·d)²) at 10 m, computed apart from this program from the limits of
// S-44 edition 6 (both from memory).
func TestLimits(t *testing.T) {
	for i, want := range []float64{0.1677, 0.2610, 0.5166, 1.0261} {
		near(t, Limits[i].Order, Limits[i].M(10), want, 5e-5)
	}
	if (Crossings{}).OneM() != 0 {
		t.Error("an accuracy without crossings")
	}
	near(t, "one of two", Crossings{P95M: 0.5}.OneM(), 0.35355, 1e-5)
}
