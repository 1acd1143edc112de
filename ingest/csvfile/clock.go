package csvfile

import (
	"errors"
	"fmt"
	"math"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
)

// A value that only some orders of the date can have settles the order of a column.
// Until one order is left, each time is kept with its numbers, 64 bytes a row; when
// more than one is left in the end and it matters, opt.DateOrder decides, and
// without that the file is refused.

// moment is a time as a table is given it.
type moment struct {
	time time.Time // UTC, with the clock offset; midnight UTC of the day when only the day is known
	day  bool      // only the day is known
}

// clock reads the times of one file, and settles the order of its dates.
type clock struct {
	opt      ingest.ReadOptions
	utc      bool           // the header says that times are UTC
	orders   order          // that no date so far rules out
	outBy    [5]ruledOut    // by order: the first date that rules it out
	pending  []twofold      // records whose time reads in more than one way
	first    evidence       // the first of them
	zone     zoneCache      // of opt.Zone
	changes  [2]clockChange // clocks shown never, and twice
	noZone   bool           // a time has no zone and none is given: the file is refused
	zoned    int            // times with a zone
	bare     int            // times without
	bareAt   evidence       // the first of these
	clocks   int            // clock times as a clock shows them
	midnight int            // of them, those of midnight
	late     bool           // hours beyond those of a 12-hour clock
	half     bool           // am or pm is said
	serials  bool           // spreadsheet's days with parts of a day
}

type evidence struct {
	line int
	text string
}

type ruledOut struct {
	evidence
	orders order // that the date can have
}

type clockChange struct {
	evidence
	rows int
}

// twofold is a record whose time reads in more than one way.
type twofold struct {
	record int
	line   int32
	orders order
	short  bool
	clock  bool
	zoned  bool
	offset int32
	n      [3]int16
	dayNs  int64
}

var errTwoOrders = errors.New("dates of two orders")

// read returns the time that is written in one cell, or in a date and a clock cell.
// When it reads in more than one way, held is set, and the caller calls hold once
// the record is kept. err tells what is wanted.
func (c *clock) read(date string, at place, clockText string, line int) (m moment, held *twofold, err error) {
	st, err := parseStamp(date, at)
	if err != nil {
		return moment{}, nil, err
	}
	if clockText != "" {
		second, err := parseStamp(clockText, clockCell)
		switch {
		case err != nil:
			return moment{}, nil, err
		case second.hasDate || second.hasEpoch:
			st = second // the clock column holds all
		case second.hasClock:
			st.hour, st.min, st.sec, st.nsec, st.half = second.hour, second.min, second.sec, second.nsec, second.half
			st.hasClock, st.hasZone, st.offsetS = true, second.hasZone, second.offsetS
		}
	}
	if st.hasEpoch {
		c.zoned++
		return moment{time: time.Unix(st.epochS, int64(st.nsec)).UTC().Add(c.opt.ClockOffset)}, nil, nil
	}
	if !st.hasDate {
		return moment{}, nil, errNoDate
	}
	if st.serial {
		if !st.hasClock && c.serials {
			st.hasClock = true // midnight among other times
		}
		c.serials = c.serials || st.hasClock
	}
	valid := yearFirst
	if st.orders != yearFirst || st.short || st.n[0] < firstYear || st.n[0] > lastYear || st.n[1] < 1 || st.n[1] > 12 || st.n[2] < 1 || st.n[2] > 28 {
		if valid, err = st.valid(); err != nil {
			return moment{}, nil, err
		}
	}
	if !st.orders.single() {
		if valid, err = c.settle(&st, valid, evidence{line, date}); err != nil {
			return moment{}, nil, err
		}
	}
	if st.hasClock {
		if err := c.note(&st, line, date); err != nil {
			return moment{}, nil, err
		}
	}
	if !valid.single() {
		if _, _, _, same := st.same(valid); !same {
			if len(c.pending) == 0 {
				c.first = evidence{line, date}
			}
			held = &twofold{line: int32(min(line, math.MaxInt32)), orders: valid, short: st.short, clock: st.hasClock, zoned: st.hasZone, offset: int32(st.offsetS), dayNs: st.dayNs()}
			for i, n := range st.n {
				held.n[i] = int16(n)
			}
		}
		valid = valid.all()[0]
	}
	y, mo, d := st.date(valid)
	if held != nil {
		return c.resolve(y, mo, d, st.dayNs(), st.hasClock, st.hasZone, st.offsetS, evidence{}), held, nil
	}
	return c.resolve(y, mo, d, st.dayNs(), st.hasClock, st.hasZone, st.offsetS, evidence{line, date}), nil, nil
}

// dayNs returns the clock time in nanoseconds after midnight.
func (st *stamp) dayNs() int64 {
	return int64(st.hour*3600+st.min*60+st.sec)*1e9 + int64(st.nsec)
}

// note counts what clock times a file has. The error is that one has no zone.
func (c *clock) note(st *stamp, line int, text string) error {
	switch {
	case st.hasZone:
		c.zoned++
	case c.utc:
	case c.opt.Zone == nil:
		c.noZone = true
		return errors.New("a zone")
	default:
		if c.bare == 0 {
			c.bareAt = evidence{line, text}
		}
		c.bare++
	}
	c.clocks++
	if st.hour == 0 && st.min == 0 && st.sec == 0 && st.nsec == 0 {
		c.midnight++
	}
	c.late = c.late || st.hour == 0 || st.hour > 12
	c.half = c.half || st.half
	return nil
}

// settle narrows the orders by a date and returns those in which it can be read.
func (c *clock) settle(st *stamp, valid order, e evidence) (order, error) {
	if c.orders == 0 {
		c.orders = anyOrder
	}
	for _, o := range (st.orders &^ valid & c.orders).all() {
		c.outBy[o] = ruledOut{e, valid}
	}
	if valid&c.orders == 0 {
		c.outBy[0] = ruledOut{e, valid}
		return 0, errTwoOrders
	}
	c.orders &^= st.orders &^ valid
	return valid & c.orders, nil
}

// resolve returns the instant of a date and a clock time. A first of no line keeps
// it from being counted among those that clocks showed twice or never.
func (c *clock) resolve(y, month, d int, dayNs int64, hasClock, zoned bool, offsetS int, at evidence) moment {
	wall := days(y, month, d)*86400 + dayNs/1e9
	ns := dayNs % 1e9
	switch {
	case !hasClock:
		return moment{time: time.Unix(wall, 0).UTC(), day: true}
	case zoned || c.utc:
		return moment{time: time.Unix(wall-int64(offsetS), ns).UTC().Add(c.opt.ClockOffset)}
	}
	utc, shown := c.zone.instant(wall, c.opt.Zone)
	if shown != 1 && at.line > 0 {
		c.changed(shown, at)
	}
	return moment{time: time.Unix(utc, ns).UTC().Add(c.opt.ClockOffset)}
}

// changed remembers a time that clocks showed twice or never.
func (c *clock) changed(shown int, at evidence) {
	w := &c.changes[shown/2]
	if w.rows == 0 {
		w.evidence = at
	}
	w.rows++
}

// days counts the days from 1970-01-01 to a date of the calendar (E. G. Richards,
// Explanatory Supplement to the Astronomical Almanac, 3rd ed., section 15.11:
// Julian day number, here less that of 1970-01-01, 2440588).
func days(y, m, d int) int64 {
	a := (m - 14) / 12
	return int64((1461*(y+4800+a))/4 + (367*(m-2-12*a))/12 - (3*((y+4900+a)/100))/4 + d - 32075 - 2440588)
}

// zoneCache remembers an offset of a zone and the wall times, in seconds, to which
// it applies beyond doubt: two days away from any change of clocks, where
// si.Instant finds one offset on both sides.
type zoneCache struct {
	from, to, offset int64
}

// instant is si.Instant for seconds since 1970.
func (z *zoneCache) instant(wall int64, zone *time.Location) (utc int64, shown int) {
	if wall >= z.from && wall < z.to {
		return wall - z.offset, 1
	}
	t, shown := si.Instant(time.Unix(wall, 0).UTC(), zone)
	if shown == 1 {
		local := t.In(zone)
		_, offset := local.Zone()
		*z = zoneCache{math.MinInt64, math.MaxInt64, int64(offset)}
		start, end := local.ZoneBounds()
		if !start.IsZero() {
			z.from = start.Unix() + z.offset + 2*86400
		}
		if !end.IsZero() {
			z.to = end.Unix() + z.offset - 2*86400
		}
	}
	return t.Unix(), shown
}

// hold keeps a time that reads in more than one way for the record of that number.
func (c *clock) hold(record int, t *twofold) {
	t.record = record
	c.pending = append(c.pending, *t)
}

// finish gives set the times of the records held. The error names the readings of
// the first when more than one order is left.
func (c *clock) finish(name string, set func(record int, m moment)) error {
	if len(c.pending) == 0 {
		return nil
	}
	said := orderFlags[c.opt.DateOrder]
	stampOf := func(p *twofold) *stamp {
		return &stamp{short: p.short, n: [3]int{int(p.n[0]), int(p.n[1]), int(p.n[2])}}
	}
	for i := range c.pending {
		p := &c.pending[i]
		left := p.orders & c.orders
		if left&said != 0 {
			left = said
		}
		if y, m, d, same := stampOf(p).same(left); same {
			set(p.record, c.resolve(y, m, d, p.dayNs, p.clock, p.zoned, int(p.offset), evidence{int(p.line), time.Unix(days(y, m, d)*86400, p.dayNs).UTC().Format(time.DateTime)}))
			continue
		}
		var readings, flags string
		var iso string
		for j, o := range left.all() {
			if j > 0 {
				readings += " or "
				flags += " or "
			}
			y, m, d := stampOf(p).date(o)
			t := time.Unix(days(y, m, d)*86400, 0).UTC()
			readings += t.Format("2 January 2006")
			flags += "--date-order=" + map[order]string{yearFirst: "ymd", dayFirst: "dmy", monthFirst: "mdy"}[o]
			if j == 0 {
				iso = t.Format(time.DateOnly)
			}
		}
		e := evidence{int(p.line), ""}
		if i == 0 {
			e = c.first
		}
		return fmt.Errorf("%s:%d: date: %q may be %s, and no date in the file settles it; wanted the year first, as in %s, or %s to say which",
			name, e.line, e.text, readings, iso, flags)
	}
	return nil
}

// twoOrders is the error for a file that writes its dates in two orders.
func (c *clock) twoOrders(name string) error {
	now := c.outBy[0]
	var before ruledOut
	for _, o := range now.orders.all() {
		if before.line == 0 {
			before = c.outBy[o]
		}
	}
	return fmt.Errorf("%s: date: line %d has %q, which is %s, line %d has %q, which is %s; wanted one order, best the year first",
		name, before.line, before.text, before.orders, now.line, now.text, now.orders)
}
