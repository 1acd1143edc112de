package runsheet

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/adrianmo/go-nmea"
	"github.com/paulmach/orb"
)

// The figures are worked by hand from 1° = 60′ (SI Brochure, 9th edition, table 8).
func TestPosition(t *testing.T) {
	for _, c := range []struct {
		name     string
		lat, lon float64
		want     string
	}{
		{"as in the comment", 36.50205, -40 - 1.234/60, "36 30.123 N 040 01.234 W"},
		{"origin", 0, 0, "00 00.000 N 000 00.000 E"},
		{"south and east", -33.75, 151.125, "33 45.000 S 151 07.500 E"},
		{"south and west", -0.5, -9.05, "00 30.000 S 009 03.000 W"},
		{"down to a thousandth", 36 + 59.9994/60, 9 + 59.9994/60, "36 59.999 N 009 59.999 E"},
		{"up to the next degree", 36 + 59.9996/60, 9 + 59.9996/60, "37 00.000 N 010 00.000 E"},
		{"up to the next degree, south and west", -36 - 59.9996/60, -99 - 59.9996/60, "37 00.000 S 100 00.000 W"},
		{"up to the next minute", 36 + 29.9997/60, 40 + 0.9999/60, "36 30.000 N 040 01.000 E"},
		{"just south of the equator", -0.000001, -0.000001, "00 00.000 N 000 00.000 E"},
		{"half a thousandth south", -0.0006 / 60, -0.0006 / 60, "00 00.001 S 000 00.001 W"},
		{"just west of 180", 10, 179 + 59.9991/60, "10 00.000 N 179 59.999 E"},
		{"just east of 180", 10, -179 - 59.9991/60, "10 00.000 N 179 59.999 W"},
		{"up to 180 from the west", 10, 179 + 59.9996/60, "10 00.000 N 180 00.000 E"},
		{"up to 180 from the east", 10, -179 - 59.9996/60, "10 00.000 N 180 00.000 E"},
		{"180", 10, 180, "10 00.000 N 180 00.000 E"},
		{"minus 180", 10, -180, "10 00.000 N 180 00.000 E"},
		{"beyond 180", 10, 180.5, "10 00.000 N 179 30.000 W"},
		{"beyond minus 180", 10, -181, "10 00.000 N 179 00.000 E"},
		{"round once more", 10, 360.25, "10 00.000 N 000 15.000 E"},
		{"poles", 90, 0, "90 00.000 N 000 00.000 E"},
		{"and the other", -90, 12, "90 00.000 S 012 00.000 E"},
		{"beyond the pole", 90.001, 0, "not known"},
		{"no number", math.NaN(), 10, "not known"},
		{"no number either", 10, math.NaN(), "not known"},
		{"endless", 10, math.Inf(-1), "not known"},
	} {
		if got := position(orb.Point{c.lon, c.lat}); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestPositionReadBack reads the degrees and minutes with go-nmea's reader of the form
// ddmm.mmm that NMEA 0183 has: no more than half a thousandth of a minute is lost.
func TestPositionReadBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	for range 5000 {
		p := orb.Point{360*rng.Float64() - 180, 180*rng.Float64() - 90}
		f := strings.Fields(position(p))
		if len(f) != 6 {
			t.Fatalf("%v prints %q", p, f)
		}
		for i, want := range []float64{p[1], p[0]} {
			got, err := nmea.ParseGPS(f[3*i] + f[3*i+1] + " " + f[3*i+2])
			if err != nil {
				t.Fatal(err)
			}
			if off := math.Abs(math.Remainder(got-want, 360)); off > 0.0005/60+1e-9 {
				t.Errorf("%v prints %q: %.9f° off", p, f, off)
			}
		}
	}
}
