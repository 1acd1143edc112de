package ingest

import (
	"testing"
	"time"
	_ "time/tzdata"
)

// Clocks were put forward at midnight in Havana on 2023-03-12 and in Asuncion on 2023-10-01 (IANA time zone database, as Go
// carries it): these days begin at one o'clock.
func TestDayStart(t *testing.T) {
	for _, c := range []struct {
		zone, want string
		y          int
		m          time.Month
		d          int
	}{
		{"America/Havana", "2023-03-12T01:00:00-04:00", 2023, time.March, 12},
		{"America/Asuncion", "2023-10-01T01:00:00-03:00", 2023, time.October, 1},
		{"America/Havana", "2023-03-13T00:00:00-04:00", 2023, time.March, 13},
		{"Asia/Kolkata", "2031-10-04T00:00:00+05:30", 2031, time.October, 4},
		{"UTC", "2032-03-01T00:00:00Z", 2032, time.February, 30},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := DayStart(c.y, c.m, c.d, zone).Format(time.RFC3339); got != c.want {
			t.Errorf("%s %d-%d-%d: got %s, want %s", c.zone, c.y, c.m, c.d, got, c.want)
		}
	}
}
