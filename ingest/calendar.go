package ingest

import "time"

// DayStart returns the first instant of a local day. Where the clock is put forward at midnight, time.Date gives an
// instant of the day before: then it is the instant at which the clock was put forward.
func DayStart(y int, m time.Month, d int, zone *time.Location) time.Time {
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	if t.Hour() > 12 {
		_, end := t.ZoneBounds()
		t = end.In(zone)
	}
	return t
}
