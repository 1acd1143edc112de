// Package sun tells when the sun rises and sets, and when civil twilight begins and ends.
//
// # Method
//
// Where the sun stands is a sum of a few sines of the time: its apparent longitude along
// the ecliptic and from it the declination (Meeus, Astronomical Algorithms, 2nd ed., 1998,
// ch. 25, low accuracy), and how far a sundial is ahead of the clock, the equation of time
// (Smart's, ch. 28.3). These are the forms of NOAA's solar calculation details, which takes
// both at one moment of the day; here they are taken at the event itself:
//
//  1. Mean noon of the place is 12:00 UTC of the date, 240 s earlier for each degree east.
//  2. At declination d the centre is at altitude h when its hour angle is H, with
//     cos H = (sin h - sin lat sin d) / (cos lat cos d).
//  3. The event is at mean noon, less the equation of time, less (rise) or plus (set)
//     240 s for each degree of H.
//  4. Take declination and equation of time at that moment, and repeat from 2 until the
//     moment stays within 0.1 s. The first is taken at mean noon.
//
// Days are counted from a moment in UTC, so no time zone has a say in any of it.
//
// By hand: sunrise on 2003-10-17 at 39.742476, -105.1786. Mean noon is 19:00:42.9 UTC; then
// d = -9.30824°, equation 878.5 s, cos H = 0.117114, H = 83.27442°, so the sun rises at 13:12:58.5.
// Then d = -9.21993°, equation 875.6 s, H = 83.35004°: 13:12:43.3. Once more: 13:12:43.3.
//
// # Accuracy
//
// Within 10 s of an ephemeris for Rise and Set from 62° S to 62° N in the years 2000 to 2060,
// and for Twilight from 55° S to 55° N (TestAgainstAstropy). Of 24,000 random sunrises and
// sunsets half were within 1.3 s and the worst 6.4 s off. Everywhere the altitude at the
// moment given is right to the 0.042° that the sun climbs in 10 s at the equator. Where it
// slants along the horizon that takes longer: 71 s were met, at the end of twilight in a
// summer night at 62° that hardly gets dark.
//
// # What it does badly
//
// Real air and real shores. The 34' of refraction are those of mild air at the sea; cold or
// layered air changes them by several minutes of arc, so times are to about a minute, and
// to several near the polar circles. The horizon is taken as level and at the
// eye: hills hide the sun longer, and from 100 m above the horizon it rises more than a
// minute sooner. Nutation but for its largest part, the pull of the planets, the place on
// the Earth instead of its centre (up to 0.0024°), and the minute between UTC and the
// ephemeris' own time are left out; each costs a second or two.
package sun

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

const (
	// riseDeg is the altitude of the sun's centre when its upper edge touches a level
	// horizon: 34' of refraction and 16' of its own radius, as almanacs have it. With 0.1°
	// more the sun rises some 25 s sooner at the equator, 1¾ min at 62° in midsummer.
	riseDeg = -50.0 / 60
	// civilDeg is where civil twilight begins and ends, by its definition.
	civilDeg = -6.0

	dayS    = 86400.0
	degreeS = dayS / 360 // in which the mean sun goes on by one degree

	// settledS ends the iteration: a fraction of the second that results are rounded to.
	settledS = 0.1
	// mostSteps ends an iteration that does not settle. Up to 62° five are enough, near the
	// poles eight were.
	mostSteps = 20

	beforeNoon = -1.0
	afterNoon  = 1.0
)

// Rise returns the sunrise of a local date (2006-01-02) at a place, in UTC to the second:
// the moment between local midnight and noon at which the centre of the sun is at -0.8333°.
//
// The local date is that by mean solar time, UTC plus four minutes for each degree east,
// and so the date of a person there wherever clocks keep to the sun within some hours. Where
// clocks stand on the other side of the date line than the longitude does (175.2° W at
// UTC+13), give the longitude from the clock's side, 184.8. As noon is by the sun, near
// the polar circles a sunrise can fall in the last minutes of the date before.
//
// ok is false where the sun stays up or down all morning, for what is no date, and
// for a place beyond 90° of latitude, 360° of longitude or not of numbers. It is within 10 s
// of an ephemeris between 62° S and 62° N in 2000 to 2060 (TestAgainstAstropy); the eye
// sees it within about a minute of that.
func Rise(date string, at orb.Point) (rise time.Time, ok bool) {
	return crossing(date, at, riseDeg, beforeNoon)
}

// Set returns the sunset of a local date (2006-01-02) at a place, in UTC to the second: the
// first after local noon of that date, often on the next date in UTC. The date, the
// place, ok and the accuracy are those of [Rise]; the sun may stay up in the afternoon of
// a day on which it rose. Near the polar circles a sunset can fall in the first minutes of
// the date after.
func Set(date string, at orb.Point) (set time.Time, ok bool) {
	return crossing(date, at, riseDeg, afterNoon)
}

// Twilight returns when civil twilight begins and ends on a local date (2006-01-02) at a
// place, in UTC to the second: the centre of the sun is at -6° before noon, and after. The
// date and the place are those of [Rise].
//
// ok is false, and both times are zero, if either of them does not come: in summer nights
// from about 60° on, which stay light, and where it is dark at noon; and as in [Rise].
// It is within 10 s of an ephemeris between 55° S and 55° N in 2000 to 2060
// (TestAgainstAstropy); nearer the poles, in the shortest of nights that get dark, it
// was 71 s off.
func Twilight(date string, at orb.Point) (dawn, dusk time.Time, ok bool) {
	dawn, begins := crossing(date, at, civilDeg, beforeNoon)
	dusk, ends := crossing(date, at, civilDeg, afterNoon)
	if !begins || !ends {
		return time.Time{}, time.Time{}, false
	}
	return dawn, dusk, true
}

// crossing returns when the centre of the sun is at an altitude, on one side of the noon
// of a date.
func crossing(date string, at orb.Point, altitudeDeg, side float64) (time.Time, bool) {
	day, err := time.Parse(time.DateOnly, date)
	// Asked this way round, what is not a number is refused too.
	inBounds := math.Abs(at.Lat()) <= 90 && math.Abs(at.Lon()) <= 360
	if err != nil || !inBounds {
		return time.Time{}, false
	}
	sinLat, cosLat := math.Sincos(rad(at.Lat()))
	noonS := float64(day.Unix()) + dayS/2 - degreeS*at.Lon() // mean noon, in seconds of Unix time
	s := noonS
	for range mostSteps {
		p := position(s)
		sinDecl, cosDecl := math.Sincos(rad(p.declinationDeg))
		cosHour := (math.Sin(rad(altitudeDeg)) - sinLat*sinDecl) / (cosLat * cosDecl)
		// On the first and last days of the polar day there may be no event at noon's
		// declination and one at its own, so go on from the nearest there is: midnight
		// or noon.
		hourDeg := deg(math.Acos(min(1, max(-1, cosHour))))
		next := noonS - p.equationS + side*degreeS*hourDeg
		if math.Abs(next-s) < settledS {
			if math.Abs(cosHour) > 1 {
				break
			}
			return time.Unix(int64(math.Round(next)), 0).UTC(), true
		}
		s = next
	}
	return time.Time{}, false
}

// A place is where the sun stands, seen from the centre of the Earth.
type place struct {
	longitudeDeg   float64 // apparent, along the ecliptic, 0 to 360
	declinationDeg float64
	equationS      float64 // of time: apparent less mean solar time
}

// position returns where the sun stands at a moment in seconds of Unix time. Numbers in
// brackets are Meeus's.
func position(unixS float64) place {
	const unixJD, j2000JD = 2440587.5, 2451545
	t := (unixS/dayS + (unixJD - j2000JD)) / 36525 // centuries

	meanDeg := 280.46646 + t*(36000.76983+t*0.0003032)           // (25.2)
	anomaly := rad(357.52911 + t*(35999.05029-t*0.0001537))      // (25.3)
	eccentricity := 0.016708634 - t*(0.000042037+t*0.0000001267) // (25.4)
	centreDeg := (1.914602-t*(0.004817+t*0.000014))*math.Sin(anomaly) +
		(0.019993-t*0.000101)*math.Sin(2*anomaly) +
		0.000289*math.Sin(3*anomaly)

	// From true to apparent: aberration, and the nutation that goes with the moon's node.
	node := rad(125.04 - 1934.136*t)
	longitudeDeg := meanDeg + centreDeg - 0.00569 - 0.00478*math.Sin(node)
	obliquityS := 21.448 - t*(46.815+t*(0.00059-t*0.001813)) // over 23° 26'; (22.2)
	obliquity := rad(23 + 26.0/60 + obliquityS/3600 + 0.00256*math.Cos(node))

	y := math.Tan(obliquity / 2)
	y *= y
	mean, e := rad(meanDeg), eccentricity
	equation := y*math.Sin(2*mean) - 2*e*math.Sin(anomaly) +
		4*e*y*math.Sin(anomaly)*math.Cos(2*mean) -
		y*y/2*math.Sin(4*mean) - 5*e*e/4*math.Sin(2*anomaly) // (28.3)

	longitudeDeg -= 360 * math.Floor(longitudeDeg/360)
	return place{
		longitudeDeg:   longitudeDeg,
		declinationDeg: deg(math.Asin(math.Sin(obliquity) * math.Sin(rad(longitudeDeg)))), // (25.7)
		equationS:      degreeS * deg(equation),
	}
}

func rad(deg float64) float64 { return deg * math.Pi / 180 }
func deg(rad float64) float64 { return rad * 180 / math.Pi }
