package clock

import (
	"fmt"
	"math"
	"strings"
)

// stands tells where a log's clock is that needs offsetS added: "37 s ahead of".
func stands(offsetS float64) string {
	if offsetS < 0 {
		return span(offsetS) + " ahead of"
	}
	return span(offsetS) + " behind"
}

func orAgrees(offsetS float64) string {
	switch {
	case offsetS < 0:
		return span(offsetS) + " ahead"
	case offsetS > 0:
		return span(offsetS) + " behind"
	}
	return "no difference"
}

// span writes seconds without their sign, such as "5 h 30 min" or "1 h 37 s".
func span(s float64) string {
	n := int(math.Round(math.Abs(s)))
	var parts []string
	for _, u := range [...]struct {
		s    int
		name string
	}{{3600, "h"}, {60, "min"}, {1, "s"}} {
		if n/u.s > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n/u.s, u.name))
		}
		n %= u.s
	}
	if parts == nil {
		return "0 s"
	}
	return strings.Join(parts, " ")
}

// signed writes seconds as they are added: "-37 s", "+19800 s".
func signed(s float64) string { return fmt.Sprintf("%+.0f s", s) }

// zoneError names an offset of whole or half hours as what it likely is.
func zoneError(offsetS float64) string {
	halves, offS := halfHours(offsetS)
	if halves == 0 || offS > zoneNearS {
		return ""
	}
	what := "a whole number of hours"
	if halves%2 != 0 {
		what = "a whole number of half hours"
	}
	if offS > 2 {
		what = "within " + span(offS) + " of " + what
	}
	return ", " + what + ", likely a zone error"
}

// halfHours returns the nearest whole number of half hours and how far off it is.
func halfHours(s float64) (halves int, offS float64) {
	n := math.Round(s / halfHourS)
	return int(n), math.Abs(s - n*halfHourS)
}
