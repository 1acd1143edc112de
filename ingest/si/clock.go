package si

import "time"

// Instant returns the UTC instant at which clocks in zone show the date and time
// of wall, whose own zone is ignored, and at how many instants they do: once as a
// rule, twice in the hour that clocks are put back (the earlier is returned), and
// never in the hour that they are put forward (then the offset from before the
// change is applied). It never panics on a non-nil zone.
func Instant(wall time.Time, zone *time.Location) (utc time.Time, shown int) {
	y, mo, d := wall.Date()
	h, mi, s := wall.Clock()
	read := time.Date(y, mo, d, h, mi, s, wall.Nanosecond(), time.UTC)
	// A zone changes its offset at most once in the two days around, so the offset
	// that applies is the one before or the one after.
	_, before := read.Add(-24 * time.Hour).In(zone).Zone()
	_, after := read.Add(24 * time.Hour).In(zone).Zone()
	first := read.Add(-time.Duration(max(before, after)) * time.Second)
	second := read.Add(-time.Duration(min(before, after)) * time.Second)
	if before == after {
		return first, 1
	}
	shows := func(t time.Time) bool {
		_, off := t.In(zone).Zone()
		return t.Add(time.Duration(off) * time.Second).Equal(read)
	}
	switch a, b := shows(first), shows(second); {
	case a && b:
		return first, 2
	case a:
		return first, 1
	case b:
		return second, 1
	}
	return read.Add(-time.Duration(before) * time.Second), 0
}
