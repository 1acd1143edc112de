// Package sun tells when the sun rises. The astronomy is that of github.com/sj14/astral
// v0.2.0 (NOAA's formulas), good to a minute or two; fish hours need no better.
//
// Two habits of that library are kept away from here: its Julian day is that of the date in
// UTC and not of the place, so it is always given midnight UTC of the local date; and where the
// sun doesn't rise it returns an error, which is ok = false here.
package sun

import (
	"time"

	"github.com/paulmach/orb"
	"github.com/sj14/astral/pkg/astral"
)

// Rise returns the sunrise of a local date (2006-01-02) at a place, in UTC; ok is false
// where the sun stays up or down that day, and for what is no date. It is within 90 s of
// an ephemeris (TestRise).
func Rise(date string, at orb.Point) (rise time.Time, ok bool) {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return time.Time{}, false
	}
	rise, err = astral.Sunrise(astral.Observer{Latitude: at.Lat(), Longitude: at.Lon()}, day)
	return rise.UTC(), err == nil
}
