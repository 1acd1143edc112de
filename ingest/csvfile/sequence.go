package csvfile

import (
	"fmt"
	"time"

	"leadline/ingest"
)

// What the order of a depth log's rows tells of its clock, when each row alone does
// not. All of it is said, and no row is lost or moved in the list.
//
//  1. All clock times are midnight: the clock was not kept, the date alone was. The
//     rows keep their positions; without positions the file is refused.
//  2. A 12-hour clock without am or pm: hours from 1 to 12 only, and the clock goes
//     from the hour of 12 to that of 1 on the same date. Each time is then the first
//     of its two readings that is not before the row above; the first row is
//     taken for before 1 in the afternoon. By hand: 12:59:59, 01:00:00 are a second apart.
//  3. A minute that follows a row late: 08:02:59, 08:02:00, 08:03:01. The row is a
//     minute on, when the row above and the row below both say so.
//
// It costs one pass over the rows. It does badly where a 12-hour log has a gap
// across noon or midnight of 12 hours and more: no clock tells that.

// mostStep is how far apart two rows around one o'clock may be for the second rule:
// more than slow loggers' 600 s.
const mostStep = 15 * time.Minute

// sequence applies the rules. The error is that of the first.
func (t *table) sequence() error {
	if err := t.midnights(); err != nil {
		return err
	}
	if t.kind != depthLog || len(t.out.Soundings) == 0 {
		return nil
	}
	t.halfDays()
	t.lateMinutes()
	return nil
}

func (t *table) midnights() error {
	c := &t.clock
	if c.clocks < 2 || c.midnight < c.clocks || t.kind != depthLog && t.kind != catchLog {
		return nil
	}
	const why = "is midnight in every row, so no clock time was recorded"
	placed, rows := 0, 0
	each := func(at *time.Time, hasPos bool) {
		rows++
		if hasPos {
			placed++
			*at = time.Time{}
		}
	}
	for i := range t.out.Soundings {
		each(&t.out.Soundings[i].Time, t.out.Soundings[i].HasPos)
	}
	for i := range t.out.Events {
		each(&t.out.Events[i].Time, t.out.Events[i].HasPos)
	}
	if placed == 0 {
		return fmt.Errorf("%s: the time %s, and no row has a position; wanted one or the other", t.name, why)
	}
	t.fileSaid("time", fmt.Sprintf("%s; %s read without a time", why, rowsWord(placed)), ingest.ErrTime)
	return nil
}

func (t *table) halfDays() {
	c := &t.clock
	if c.late || c.half || c.clocks < 2 || c.zoned > 0 {
		return
	}
	zone := t.opt.Zone
	if c.utc {
		zone = time.UTC
	}
	s := t.out.Soundings
	wall := func(i int) time.Time { // as the clock showed it, in UTC
		local := s[i].Time.Add(-t.opt.ClockOffset).In(zone)
		_, offset := local.Zone()
		return s[i].Time.Add(time.Duration(offset)*time.Second - t.opt.ClockOffset)
	}
	turn := -1
	before := time.Time{}
	for i := range s {
		if s[i].Time.IsZero() {
			continue
		}
		w := wall(i)
		if step := w.Add(12 * time.Hour).Sub(before); before.Hour() == 12 && w.Hour() == 1 && w.Day() == before.Day() && step >= 0 && step <= mostStep {
			turn = i
			break
		}
		before = w
	}
	if turn < 0 {
		return
	}
	moved, last := 0, time.Time{}
	for i := range s {
		if s[i].Time.IsZero() {
			continue
		}
		w := wall(i)
		shown := w
		if w.Hour() == 12 {
			w = w.Add(-12 * time.Hour)
		}
		if last.IsZero() && shown.Hour() == 12 || !last.IsZero() && last.Sub(w) > mostStep {
			w = w.Add(12 * time.Hour)
		}
		if !w.Equal(shown) {
			utc, _ := c.zone.instant(w.Unix(), zone)
			s[i].Time = time.Unix(utc, int64(w.Nanosecond())).UTC().Add(t.opt.ClockOffset)
			moved++
		}
		last = w
	}
	t.said(s[turn].Line, t.nameOf(colTime), fmt.Sprintf("a 12-hour clock that says neither am nor pm goes from 12 to 1; read as running on, which moves %s by 12 hours", rowsWord(moved)), ingest.ErrTime)
}

func (t *table) lateMinutes() {
	s := t.out.Soundings
	var late counted
	for i := 1; i+1 < len(s); i++ {
		above, at, below := s[i-1].Time, s[i].Time, s[i+1].Time
		if !at.Before(above) || at.IsZero() {
			continue
		}
		if on := at.Add(time.Minute); on.After(above) && !below.Before(on) && below.Before(above.Add(time.Minute)) {
			late.add(s[i].Line, at.Format(time.TimeOnly))
			s[i].Time = on
		}
	}
	if late.rows > 0 {
		t.said(late.line, t.nameOf(colTime), fmt.Sprintf("the minute of %s UTC follows a row late, as the rows above and below tell; read a minute on in %s", late.text, rowsWord(late.rows)), ingest.ErrTime)
	}
}
