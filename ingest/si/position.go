package si

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParsePosition reads LAT,LON in decimal degrees, south and west negative: "36.512,-40.118".
// The error names the text and what is wanted.
func ParsePosition(s string) (latDeg, lonDeg float64, err error) {
	lat, lon, found := strings.Cut(s, ",")
	y, err := strconv.ParseFloat(strings.TrimSpace(lat), 64)
	x, err2 := strconv.ParseFloat(strings.TrimSpace(lon), 64)
	if !found || err != nil || err2 != nil || !(math.Abs(y) <= 90) || !(math.Abs(x) <= 180) {
		return 0, 0, fmt.Errorf("%q is not a place, wanted LAT,LON in degrees, such as 36.512,-40.118", s)
	}
	return y, x, nil
}
