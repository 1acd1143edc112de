package runsheet

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"leadline/export"
)

// Positions are printed in degrees and decimal minutes, the form that a plotter is
// typed in by hand: 36.50205° N is 36 whole degrees and 0.50205 × 60 = 30.123 minutes.
// A thousandth of a minute of latitude is 1.85 m. Degrees are turned into a whole number
// of thousandths first and split after that, so that 59.9996 minutes become the next
// degree and never 60.000.

const (
	milliPerDeg = 60 * 1000
	halfTurn    = 180 * milliPerDeg
)

// position prints a place as "36 30.123 N 040 01.234 W", to the nearest thousandth of a
// minute. The equator is N, the meridian of Greenwich and that of 180° are E; a longitude
// beyond 180° is turned back. A place that is not on Earth is not known.
func position(p orb.Point) string {
	lon, lat := p[0], p[1]
	if !finite(lon) || !finite(lat) || math.Abs(lat) > 90 {
		return export.Unknown
	}
	// Remainder is exact, so turning back costs no digits.
	ns, ew := milli(lat), milli(math.Remainder(lon, 360))
	if ew == -halfTurn {
		ew = halfTurn
	}
	return minutes(ns, 2, "N", "S") + " " + minutes(ew, 3, "E", "W")
}

func milli(deg float64) int { return int(math.Round(deg * milliPerDeg)) }

// minutes prints thousandths of a minute with that many digits of degrees.
func minutes(m, digits int, plus, minus string) string {
	hemisphere := plus
	if m < 0 {
		m, hemisphere = -m, minus
	}
	rest := m % milliPerDeg
	return fmt.Sprintf("%0*d %02d.%03d %s", digits, m/milliPerDeg, rest/1000, rest%1000, hemisphere)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
