package export

import (
	"math"

	"leadline/ingest"
)

// Decimals kept of each kind of number. They are finer than the measurement, so
// that nothing is lost, and short enough to read.
const (
	depthDecimals    = 2 // m; a sounder reads to a tenth of a foot
	distanceDecimals = 1 // m along the ground
	speedDecimals    = 3 // m/s
	angleDecimals    = 1 // degrees of a direction or of a line
	tempDecimals     = 1 // °C
	hoursDecimals    = 2 // 0.01 h is 36 s
	rateDecimals     = 3 // events per hour
	shareDecimals    = 3 // a ratio without unit
	chanceDecimals   = 5 // a p-value
	secondsDecimals  = 1 // s of sinking
	gramsDecimals    = 2
	ouncesDecimals   = 4 // 1/16 oz is 0.0625
	degreesDecimals  = 7 // of a position: about a centimetre
)

// Round returns v with at most that many decimals; unknown when v is not finite.
func Round(v float64, decimals int) ingest.Maybe {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ingest.Maybe{}
	}
	return ingest.Known(round(v, decimals))
}

// round never returns -0, which JSON would show.
func round(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	r := math.Round(v*scale) / scale
	if r == 0 || math.IsInf(r, 0) {
		return 0
	}
	return r
}

// RoundMaybe is Round for a quantity that may be unknown already.
func RoundMaybe(m ingest.Maybe, decimals int) ingest.Maybe {
	if !m.OK {
		return ingest.Maybe{}
	}
	return Round(m.V, decimals)
}
