package clock

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"
)

// Nautical zones: 15° wide, the one of Greenwich from 7.5° W to 7.5° E (Bowditch,
// American Practical Navigator, chapter on time; from memory). Names carry POSIX
// signs (IANA tz database, file etcetera).
func TestZone(t *testing.T) {
	for _, c := range []struct {
		name   string
		lonDeg float64
		want   string
		hours  int // ahead of UTC
	}{
		{"Greenwich", 0, "Etc/GMT", 0},
		{"west edge of it", -7.4, "Etc/GMT", 0},
		{"first to the west", -7.6, "Etc/GMT+1", -1},
		{"first to the east", 7.6, "Etc/GMT-1", 1},
		{"40 west", -40, "Etc/GMT+3", -3},
		{"83.5 west", -83.5, "Etc/GMT+6", -6},
		{"139.7 east", 139.7, "Etc/GMT-9", 9},
		{"west of the date line", 179.9, "Etc/GMT-12", 12},
		{"east of the date line", -179.9, "Etc/GMT+12", -12},
		{"told from 0 to 360", 320, "Etc/GMT+3", -3},
		{"no longitude", math.NaN(), "Etc/GMT", 0},
		{"beyond all", math.Inf(1), "Etc/GMT", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Zone(c.lonDeg)
			if got != c.want {
				t.Fatalf("got %s, want %s", got, c.want)
			}
			// The name means what it should, by the tz database.
			zone, err := time.LoadLocation(got)
			if err != nil {
				t.Fatal(err)
			}
			if _, s := time.Date(2031, 10, 4, 0, 0, 0, 0, zone).Zone(); s != c.hours*3600 {
				t.Errorf("%s is %d s ahead of UTC, want %d h", got, s, c.hours)
			}
		})
	}
}
