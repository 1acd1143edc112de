package csvfile

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Times are read in these forms, blanks around them ignored:
//
//   - date and clock in one cell, a T, a blank or a comma between them, or in two
//   - dates 2006-01-02, 2006/01/02, 2006.01.02, 20060102; with the year last, in
//     four digits, and day or month first, if the column settles which
//   - clocks 15:04, 15:04:05, 15:04:05.999 or with a comma, or with am or pm; behind
//     them Z, UTC, GMT or an offset such as +02:00, +0200, +02
//   - numbers: seconds since 1970 from 1e8 to 1e11, thousandths from there to 1e14
//
// A value above 12 settles whether a column writes the day or the month first.
// Until one comes, each time is kept under both readings, 32 bytes a row; when
// none comes and it matters, the file is refused.

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// stamp is a time as written.
type stamp struct {
	hasDate, hasClock bool
	year, a, b        int // month and day in the order of the file; in this order when yearFirst
	yearFirst         bool
	hour, min, sec    int
	nsec              int
	zone              *time.Location // nil when none is written
	epoch             time.Time      // when the cell is a number; the rest is empty then
}

var (
	errShape    = errors.New("a time such as 2006-01-02 15:04:05Z")
	errYear     = errors.New("a year of four digits")
	errNoClock  = errors.New("a clock time beside the date")
	errNoDate   = errors.New("a date beside the clock time")
	errCalendar = errors.New("a day of the calendar")
	errRange    = fmt.Errorf("a date from %d to %d", firstYear, lastYear)
)

// parseStamp reads a cell that holds a date, a clock, or both.
func parseStamp(s string) (stamp, error) {
	s = strings.TrimSpace(s)
	if t, ok := epoch(s); ok {
		return stamp{epoch: t}, nil
	}
	var st stamp
	if strings.IndexByte(s[:min(len(s), 3)], ':') > 0 {
		return st, st.readClock(s)
	}
	end := strings.IndexFunc(s, func(r rune) bool { return r < '-' || r > '9' }) // digits, - . /
	date, rest := s, ""
	if end >= 0 {
		date, rest = s[:end], strings.TrimSpace(strings.TrimLeft(s[end:], "Tt, "))
	}
	if err := st.readDate(date); err != nil {
		return st, err
	}
	if rest == "" {
		if end >= 0 && strings.Trim(s[end:], " ,") != "" {
			return st, errShape
		}
		return st, nil
	}
	return st, st.readClock(rest)
}

func (st *stamp) readDate(s string) error {
	if len(s) == 8 && strings.Trim(s, "0123456789") == "" {
		s = s[:4] + "-" + s[4:6] + "-" + s[6:]
	}
	i := strings.IndexAny(s, "-/.")
	if i < 0 {
		return errShape
	}
	sep := s[i : i+1]
	parts := strings.Split(s, sep)
	if len(parts) != 3 {
		return errShape
	}
	var n [3]int
	for i, p := range parts {
		v, ok := digits(p)
		if !ok || len(p) > 4 {
			return errShape
		}
		n[i] = v
	}
	st.hasDate = true
	switch {
	case len(parts[0]) == 4:
		st.yearFirst, st.year, st.a, st.b = true, n[0], n[1], n[2]
	case len(parts[2]) == 4:
		st.year, st.a, st.b = n[2], n[0], n[1]
	default:
		return errYear
	}
	if st.year < firstYear || st.year > lastYear {
		return errRange
	}
	if st.yearFirst {
		return calendar(st.year, st.a, st.b)
	}
	if st.a > 12 && st.b > 12 {
		return errCalendar
	}
	return nil
}

func calendar(y, m, d int) error {
	if m < 1 || m > 12 || d < 1 || d > time.Date(y, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC).Day() {
		return errCalendar
	}
	return nil
}

func (st *stamp) readClock(s string) error {
	end := strings.IndexFunc(s, func(r rune) bool { return !(r >= '0' && r <= ':' || r == '.' || r == ',') })
	clock, rest := s, ""
	if end >= 0 {
		clock, rest = s[:end], strings.TrimSpace(s[end:])
	}
	parts := strings.Split(clock, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return errShape
	}
	ok := make([]bool, 0, 3)
	if len(parts) == 3 {
		whole, fraction, has := strings.Cut(strings.ReplaceAll(parts[2], ",", "."), ".")
		if has {
			if strings.Trim(fraction, "0123456789") != "" {
				return errShape
			}
			nano := (fraction + "000000000")[:9]
			st.nsec, _ = digits(nano)
		}
		v, good := digits(whole)
		st.sec, ok = v, append(ok, good && len(whole) <= 2 && v < 60)
	}
	h, good := digits(parts[0])
	st.hour, ok = h, append(ok, good && len(parts[0]) <= 2 && h < 24)
	m, good := digits(parts[1])
	st.min, ok = m, append(ok, good && len(parts[1]) <= 2 && m < 60)
	for _, good := range ok {
		if !good {
			return errShape
		}
	}
	lower := strings.ToLower(rest)
	for _, half := range [...]struct {
		word string
		add  int
	}{{"a.m.", 0}, {"p.m.", 12}, {"am", 0}, {"pm", 12}} {
		if after, found := strings.CutPrefix(lower, half.word); found {
			if st.hour < 1 || st.hour > 12 {
				return errShape
			}
			st.hour = st.hour%12 + half.add
			lower = strings.TrimSpace(after)
			break
		}
	}
	st.hasClock = true
	return st.readZone(lower)
}

func (st *stamp) readZone(s string) error {
	switch s {
	case "":
		return nil
	case "z", "utc", "gmt":
		st.zone = time.UTC
		return nil
	}
	sign := 1
	switch s[0] {
	case '-':
		sign = -1
	case '+':
	default:
		return errShape
	}
	hh, mm, colon := strings.Cut(s[1:], ":")
	if !colon && len(hh) == 4 {
		hh, mm = hh[:2], hh[2:]
	} else if !colon {
		mm = "00"
	}
	h, okH := digits(hh)
	m, okM := digits(mm)
	if !okH || !okM || len(hh) != 2 || len(mm) != 2 || h > 14 || m > 59 {
		return errShape
	}
	st.zone = time.FixedZone("", sign*(h*3600+m*60))
	return nil
}

// digits reads a short run of digits; ok is false for anything else.
func digits(s string) (v int, ok bool) {
	if s == "" || len(s) > 9 {
		return 0, false
	}
	for i := range len(s) {
		c := s[i] - '0'
		if c > 9 {
			return 0, false
		}
		v = v*10 + int(c)
	}
	return v, true
}

// epoch reads a number as seconds since 1970, or as thousandths when it is that
// large. Both ends of both ranges are far from any other: 1e8 s is 1973, 1e11 s
// is 5138, 1e11 ms is 1973.
func epoch(s string) (time.Time, bool) {
	whole, fraction, _ := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	if len(whole) < 9 || len(whole) > 14 || strings.Trim(whole, "0123456789") != "" || strings.Trim(fraction, "0123456789") != "" {
		return time.Time{}, false
	}
	var v int64
	for i := range len(whole) {
		v = v*10 + int64(whole[i]-'0')
	}
	nano, _ := digits((fraction + "000000000")[:9])
	t := time.Unix(v, int64(nano)).UTC()
	if v >= 1e11 {
		t = time.UnixMilli(v).Add(time.Duration(nano) / 1000).UTC()
	}
	return t, t.Year() >= firstYear && t.Year() <= lastYear
}

// moment is a time as a table is given it.
type moment struct {
	time  time.Time // UTC, with the clock offset; midnight UTC of the day when dayOnly
	day   bool      // only the day is known
	shown int       // see si.Instant
}

type dateOrder uint8

const (
	unsettled dateOrder = iota
	dayFirst
	monthFirst
)

func (o dateOrder) String() string {
	return [...]string{"unsettled", "day first", "month first"}[o]
}

// clock reads the times of one file, and settles the order of its dates.
type clock struct {
	opt     ingest.ReadOptions
	utc     bool // the header says that times are UTC
	order   dateOrder
	by      [3]evidence // the first date that only one order can read, by order
	pending []twofold
	// noZone is set when a time has no zone and none is given: the file is refused.
	noZone bool
	doubt  evidence // first time that clocks showed twice or never
	doubts int
}

type evidence struct {
	line int
	text string
}

// twofold is a record whose time reads in two ways.
type twofold struct {
	record int
	evidence
	monthFirst, dayFirst moment
}

var errTwoOrders = errors.New("dates of two orders")

// read returns the time that is written in one cell, or in a date and a clock cell.
// When both orders give different times, held has both, and the caller calls hold
// once the record is kept. err tells what is wanted.
func (c *clock) read(date, clockCell string, line int) (m moment, held *twofold, err error) {
	st, err := parseStamp(date)
	if err != nil {
		return moment{}, nil, err
	}
	if clockCell != "" {
		second, err := parseStamp(clockCell)
		switch {
		case err != nil:
			return moment{}, nil, err
		case second.hasDate || !second.epoch.IsZero():
			st = second // the clock column holds all
		case second.hasClock:
			st.hour, st.min, st.sec, st.nsec, st.hasClock, st.zone = second.hour, second.min, second.sec, second.nsec, true, second.zone
		}
	}
	if !st.epoch.IsZero() {
		return moment{time: st.epoch.Add(c.opt.ClockOffset), shown: 1}, nil, nil
	}
	if !st.hasDate {
		return moment{}, nil, errNoDate
	}
	if st.yearFirst {
		m, err = c.resolve(st, st.a, st.b)
		return m, nil, err
	}
	text := strings.TrimSpace(date)
	switch {
	case st.a > 12:
		err = c.settle(dayFirst, line, text)
	case st.b > 12:
		err = c.settle(monthFirst, line, text)
	}
	if err != nil {
		return moment{}, nil, err
	}
	if c.order == dayFirst {
		m, err = c.resolve(st, st.b, st.a)
		return m, nil, err
	}
	m, err = c.resolve(st, st.a, st.b)
	if err != nil || c.order == monthFirst || st.a == st.b {
		return m, nil, err
	}
	other, err := c.resolve(st, st.b, st.a)
	if err != nil {
		return moment{}, nil, err
	}
	return m, &twofold{evidence: evidence{line, text}, monthFirst: m, dayFirst: other}, nil
}

// settle notes a date that only one order can read.
func (c *clock) settle(o dateOrder, line int, text string) error {
	if c.by[o].line == 0 {
		c.by[o] = evidence{line, text}
	}
	if c.order == unsettled {
		c.order = o
	}
	if c.order != o {
		return errTwoOrders
	}
	return nil
}

func (c *clock) resolve(st stamp, month, day int) (moment, error) {
	if err := calendar(st.year, month, day); err != nil {
		return moment{}, err
	}
	wall := time.Date(st.year, time.Month(month), day, st.hour, st.min, st.sec, st.nsec, time.UTC)
	if !st.hasClock {
		return moment{time: wall, day: true, shown: 1}, nil
	}
	zone := st.zone
	if zone == nil && c.utc {
		zone = time.UTC
	}
	if zone == nil {
		zone = c.opt.Zone
	}
	if zone == nil {
		c.noZone = true
		return moment{}, errors.New("a zone")
	}
	t, shown := si.Instant(wall, zone)
	return moment{time: t.Add(c.opt.ClockOffset), shown: shown}, nil
}

// hold keeps a time that reads in two ways for the record of that number.
func (c *clock) hold(record int, t *twofold) {
	t.record = record
	c.pending = append(c.pending, *t)
}

// note remembers a time that clocks showed twice or never.
func (c *clock) note(m moment, line int, text string) {
	if m.shown == 1 {
		return
	}
	if c.doubts == 0 {
		c.doubt = evidence{line, text}
	}
	c.doubts++
}

// finish gives set the times that the settled order changes. The error names
// both readings when no order was settled and it matters.
func (c *clock) finish(name string, set func(record int, m moment)) error {
	if len(c.pending) > 0 && c.order == unsettled {
		p := c.pending[0]
		return fmt.Errorf("%s:%d: date: %q may be %s or %s, and no date in the file settles it; wanted the year first, as in %s",
			name, p.line, p.text, p.dayFirst.written(), p.monthFirst.written(), p.dayFirst.time.Format("2006-01-02"))
	}
	for _, p := range c.pending {
		m := p.monthFirst
		if c.order == dayFirst {
			m = p.dayFirst
			set(p.record, m)
		}
		c.note(m, p.line, p.text)
	}
	return nil
}

func (m moment) written() string { return m.time.Format("2 January 2006") }

// twoOrders is the error for a file that writes some dates day first, others month first.
func (c *clock) twoOrders(name string) error {
	d, m := c.by[dayFirst], c.by[monthFirst]
	return fmt.Errorf("%s: date: line %d has %q, which is day first, line %d has %q, which is month first; wanted one order, best the year first",
		name, d.line, d.text, m.line, m.text)
}
