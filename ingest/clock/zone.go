package clock

import (
	"fmt"
	"math"
)

// Zone returns the nautical time zone of a longitude in degrees as an IANA name,
// such as "Etc/GMT+3" for 40° W: zones of 15° centred on the multiples of 15°,
// as ships at sea keep them. The names carry POSIX signs, so that Etc/GMT+3 is
// three hours behind UTC. Longitudes beyond ±180° are taken round the Earth; NaN
// and infinities give "Etc/GMT".
//
// It is a hint to show with a question, not an answer: it knows neither borders
// nor daylight saving, and clocks ashore are often an hour or more away from it.
// A table from places to zones was judged too large for a hint.
func Zone(lonDeg float64) string {
	lon := math.Remainder(lonDeg, 360)
	if lon != lon {
		lon = 0
	}
	hours := int(math.Round(lon / 15))
	if hours == 0 {
		return "Etc/GMT"
	}
	return fmt.Sprintf("Etc/GMT%+d", -hours)
}
