package sun

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

const (
	// riseDeg is the altitude of the sun's centre when its upper edge is seen to touch a
	// level horizon: 34' of refraction and 16' of its own radius. Lower by 0.1° and the
	// day is about 40 s longer at each end at the equator, 2 min at 62° in midsummer.
	riseDeg = -50.0 / 60
	// civilDeg is where civil twilight begins and ends, by its definition.
	civilDeg = -6.0

	dayS    = 86400.0
	degreeS = dayS / 360 // in which the sky turns one degree under the mean sun

	// settledS ends the iteration: a fraction of the second the result is rounded to.
	settledS = 0.1
	// mostSteps is enough by far: up to 62° it takes five (TestSteps).
	mostSteps = 20
)

// sides of noon.
const (
	before = -1.0
	after  = 1.0
)

func Rise(date string, at orb.Point) (rise time.Time, ok bool) {
	return crossing(date, at, riseDeg, before)
}

func Set(date string, at orb.Point) (set time.Time, ok bool) {
	return crossing(date, at, riseDeg, after)
}

func Twilight(date string, at orb.Point) (dawn, dusk time.Time, ok bool) {
	dawn, am := crossing(date, at, civilDeg, before)
	dusk, pm := crossing(date, at, civilDeg, after)
	if !am || !pm {
		return time.Time{}, time.Time{}, false
	}
	return dawn, dusk, true
}

// crossing returns when the sun's centre is at an altitude, on one side of the noon of
// a date.
func crossing(date string, at orb.Point, altitudeDeg, side float64) (time.Time, bool) {
	s, steps := solve(date, at, altitudeDeg, side)
	if steps == 0 {
		return time.Time{}, false
	}
	return time.Unix(int64(math.Round(s)), 0).UTC(), true
}

// solve returns the crossing in seconds of Unix time, and the steps it took; none where
// there is no crossing.
func solve(date string, at orb.Point, altitudeDeg, side float64) (unixS float64, steps int) {
	day, err := time.Parse(time.DateOnly, date)
	// Written so that what is not a number is refused too.
	if err != nil || !(math.Abs(at.Lat()) <= 90) || !(math.Abs(at.Lon()) <= 360) {
		return 0, 0
	}
	sinLat, cosLat := math.Sincos(rad(at.Lat()))
	meanNoonS := float64(day.Unix()) + dayS/2 - degreeS*at.Lon()
	s := meanNoonS
	for step := 1; step <= mostSteps; step++ {
		p := position(s)
		sinDecl, cosDecl := math.Sincos(rad(p.declinationDeg))
		cosHour := (math.Sin(rad(altitudeDeg)) - sinLat*sinDecl) / (cosLat * cosDecl)
		// Just before the polar day the declination of noon may leave no sunrise and that
		// of the sunrise leave one: go on from the lowest or highest point.
		hourDeg := deg(math.Acos(min(1, max(-1, cosHour))))
		next := meanNoonS - p.equationS + side*degreeS*hourDeg
		if math.Abs(next-s) < settledS {
			if math.Abs(cosHour) > 1 {
				return 0, 0
			}
			return next, step
		}
		s = next
	}
	return 0, 0
}

// A place of the sun in the sky, as the Earth's centre sees it.
type place struct {
	longitudeDeg   float64 // apparent, along the ecliptic, 0 to 360
	declinationDeg float64
	equationS      float64 // apparent less mean solar time
}

// position returns the sun's place at a time in seconds of Unix time.
func position(unixS float64) place {
	t := (unixS/dayS + 2440587.5 - 2451545) / 36525 // Julian centuries from J2000

	meanDeg := 280.46646 + t*(36000.76983+t*0.0003032)                            // (25.2)
	anomaly := rad(357.52911 + t*(35999.05029-t*0.0001537))                       // (25.3)
	eccentricity := 0.016708634 - t*(0.000042037+t*0.0000001267)                  // (25.4)
	node := rad(125.04 - 1934.136*t)                                              // of the moon, for nutation
	obliquity := rad(23 + (26+(21.448-t*(46.815+t*(0.00059-t*0.001813)))/60)/60 + // (22.2)
		0.00256*math.Cos(node)) // (25.8)

	centreDeg := (1.914602-t*(0.004817+t*0.000014))*math.Sin(anomaly) +
		(0.019993-t*0.000101)*math.Sin(2*anomaly) + 0.000289*math.Sin(3*anomaly)
	lon := rad(meanDeg + centreDeg - 0.00569 - 0.00478*math.Sin(node))

	ascension := math.Atan2(math.Cos(obliquity)*math.Sin(lon), math.Cos(lon))
	_ = eccentricity
	equation := math.Remainder(rad(meanDeg-0.0057183-0.00478*math.Sin(node)*math.Cos(obliquity))-ascension, 2*math.Pi)
	return place{
		longitudeDeg:   math.Mod(math.Mod(deg(lon), 360)+360, 360),
		declinationDeg: deg(math.Asin(math.Sin(obliquity) * math.Sin(lon))), // (25.7)
		equationS:      degreeS * deg(equation),
	}
}

func rad(deg float64) float64 { return deg * math.Pi / 180 }
func deg(rad float64) float64 { return rad * 180 / math.Pi }
