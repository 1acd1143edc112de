package ingest

import (
	"math"
	"testing"
)

// Speeds of sound computed from Marczak's polynomial elsewhere, rounded to 0.1
// mm/s; Bilaniuk & Wong 1993 agree to 0.03 m/s.
func TestSoundMPS(t *testing.T) {
	for _, c := range []struct{ tempC, want float64 }{
		{0, 1402.3850}, {4, 1421.6331}, {10, 1447.2890}, {15, 1465.9599}, {20, 1482.3795}, {25, 1496.7277}, {30, 1509.1672},
	} {
		if got := SoundMPS(c.tempC); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%v °C: %.4f m/s, want %.4f", c.tempC, got, c.want)
		}
	}
}

func TestSurfaceM(t *testing.T) {
	at := func(m float64, ref DepthRef, temp Maybe) Sounding { return Sounding{DepthM: m, Ref: ref, TempC: temp} }
	for _, c := range []struct {
		name string
		c    Corrections
		s    Sounding
		want float64
	}{
		{"nothing known", Corrections{}, at(10, BelowTransducer, Known(10)), 10},
		{"transducer", Corrections{TransducerM: 0.3}, at(10, BelowTransducer, Maybe{}), 10.3},
		{"from the surface already", Corrections{TransducerM: 0.3}, at(10, BelowSurface, Maybe{}), 10},
		{"sound at 4 °C", Corrections{SounderMPS: Known(1500)}, at(10, BelowSurface, Known(4)), 9.4776},
		{"sound at 10 °C", Corrections{SounderMPS: Known(1500)}, at(10, BelowSurface, Known(10)), 9.6486},
		{"sound at 20 °C", Corrections{SounderMPS: Known(1500)}, at(10, BelowSurface, Known(20)), 9.8825},
		{"temperature not known", Corrections{SounderMPS: Known(1500)}, at(10, BelowSurface, Maybe{}), 10},
		{"temperature no water has", Corrections{SounderMPS: Known(1500)}, at(10, BelowSurface, Known(-40)), 10},
		{"both", Corrections{TransducerM: 0.3, SounderMPS: Known(1500)}, at(10, BelowTransducer, Known(10)), 9.9486},
	} {
		if got := c.c.SurfaceM(c.s); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("%s: %.4f m, want %.4f", c.name, got, c.want)
		}
	}
}

func TestAtLevel(t *testing.T) {
	if got := AtLevel(8, 101, 100); got != 7 {
		t.Errorf("8 m at level 101 is %v m at level 100, want 7", got)
	}
}
