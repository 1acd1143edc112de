package export

import (
	"fmt"
	"math"
	"strconv"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// DepthRange prints two depths as "18 to 24 ft", and as "18 ft" when they read
// the same.
func DepthRange(topM, bottomM float64, u si.System) string {
	if top := u.Depth(topM); top == u.Depth(bottomM) {
		return top
	}
	return u.DepthRange(topM, bottomM)
}

// PerHour prints a rate as "1.8". Small ones keep two figures, so that none but a
// true zero reads as zero.
func PerHour(v float64) string {
	decimals := 1
	switch a := math.Abs(v); {
	case a == 0:
		return "0"
	case a < 0.01:
		decimals = 3
	case a < 1:
		decimals = 2
	case a >= 10:
		decimals = 0
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// RateWords prints a rate with its 90 % interval: "1.8 an hour (1.1 to 2.8)".
// It returns "" when the rate is unknown.
func RateWords(r spatial.Rate) string { return rateWords(r, "an hour") }

func rateWords(r spatial.Rate, per string) string {
	if !r.OK {
		return ""
	}
	return fmt.Sprintf("%s %s (%s to %s)", PerHour(r.PerH), per, PerHour(r.LowPerH), PerHour(r.HighPerH))
}

// HourWords prints local clock hours as "06:10 to 09:40", or "" when unknown.
func HourWords(from, to ingest.Maybe) string {
	if !from.OK || !to.OK {
		return ""
	}
	return si.Clock(from.V) + " to " + si.Clock(to.V)
}

// DriftWords prints a drift as "0.5 mph toward ENE", as far as it is known.
func DriftWords(speedMPS, towardDeg ingest.Maybe, u si.System) string {
	switch {
	case speedMPS.OK && towardDeg.OK:
		return u.Speed(speedMPS.V) + " toward " + si.Compass(towardDeg.V)
	case speedMPS.OK:
		return u.Speed(speedMPS.V)
	case towardDeg.OK:
		return "toward " + si.Compass(towardDeg.V)
	}
	return ""
}

// Plural prints a count with its noun: "1 day", "3 days". The plural is the noun
// with an s unless another is given.
func Plural(n int, noun string, plural ...string) string {
	if n != 1 {
		if len(plural) > 0 {
			noun = plural[0]
		} else {
			noun += "s"
		}
	}
	return Count(n) + " " + noun
}

// Count prints a count with a comma between thousands.
func Count(n int) string {
	s := strconv.Itoa(n)
	start := 0
	if n < 0 {
		start = 1
	}
	for i := len(s) - 3; i > start; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
