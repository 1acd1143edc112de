package si

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

var compass = [...]string{"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"}

// Compass names a direction given in degrees clockwise from north: Compass(100) is "E".
func Compass(deg float64) string {
	i := int(math.Round(deg/22.5)) % 16
	if i < 0 {
		i += 16
	}
	return compass[i]
}

// ParseCompass reads a direction, degrees clockwise from north, 0 up to 360: "NW", "nnw", "315",
// "315deg" or "315°". 360 is 0. Anything else is an error that says what is taken.
func ParseCompass(s string) (deg float64, err error) {
	word := strings.TrimSpace(s)
	if i := slices.Index(compass[:], strings.ToUpper(word)); i >= 0 {
		return 22.5 * float64(i), nil
	}
	word = strings.TrimSuffix(strings.TrimSuffix(word, "°"), "deg")
	v, err := strconv.ParseFloat(strings.TrimSpace(word), 64)
	if err != nil || !(v >= 0 && v <= 360) {
		return 0, fmt.Errorf("%q is not a direction, wanted N, NNE, NE and so on, or 0 to 360 degrees clockwise from north", s)
	}
	return math.Mod(v, 360), nil
}
