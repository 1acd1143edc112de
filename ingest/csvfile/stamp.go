package csvfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
)

// Times are read in these forms, blanks around them ignored:
//
//   - date and clock in one cell, a T, a blank or a comma between them, or in two
//   - dates 2006-01-02, 2006/01/02, 2006.01.02, 20060102; 2 Jan 2006, Jan 2, 2006,
//     02-Jan-06; 02.01.2006, 01/02/2006, 02.01.06, if the column settles which
//   - clocks 15:04, 15:04:05, 15:04:05.999 or with a comma, or with am or pm; behind
//     them Z, UTC, GMT or an offset such as +02:00, +0200, +02; beside a date also
//     150405 and a spreadsheet's part of a day, 0.628
//   - numbers: seconds since 1970 from 1e8 to 1e11, thousandths from there to 1e14,
//     and a spreadsheet's days since 1899-12-30 from 20000 to 80000
//
// 1899-12-30 and its like, which spreadsheets and databases put before a clock
// time that has no date, are no dates.

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// order is the order of the numbers of a date, or a set of them.
type order uint8

const (
	yearFirst order = 1 << iota
	dayFirst
	monthFirst
	anyOrder = yearFirst | dayFirst | monthFirst
)

var orderFlags = map[string]order{"ymd": yearFirst, "dmy": dayFirst, "mdy": monthFirst}

// all lists the single orders of a set.
func (o order) all() (list []order) {
	for _, one := range [...]order{yearFirst, dayFirst, monthFirst} {
		if o&one != 0 {
			list = append(list, one)
		}
	}
	return list
}

// single reports whether a set has one order.
func (o order) single() bool { return o != 0 && o&(o-1) == 0 }

// String names the orders of a set.
func (o order) String() string {
	var words []string
	for _, one := range o.all() {
		words = append(words, map[order]string{yearFirst: "year first", dayFirst: "day first", monthFirst: "month first"}[one])
	}
	return strings.Join(words, " or ")
}

// stamp is a time as written.
type stamp struct {
	hasDate, hasClock bool
	n                 [3]int // numbers of the date as they stand
	orders            order  // that the form of the date leaves open
	short             bool   // the year has two digits
	hour, min, sec    int
	nsec              int
	half              bool // am or pm is said
	serial            bool // a spreadsheet's day
	hasZone           bool
	offsetS           int   // east of UTC
	hasEpoch          bool  // the cell is a number since 1970; the rest is empty then
	epochS            int64 // and nsec
}

// place is which column a cell of a time is in.
type place uint8

const (
	anyCell   place = iota // of a time, date and all
	dateCell               // of a date that has a clock beside it, or none
	clockCell              // of the clock time beside a date
)

var (
	errShape    = errors.New("a time such as 2006-01-02 15:04:05Z")
	errNoClock  = errors.New("a clock time beside the date")
	errNoDate   = errors.New("a date beside the clock time")
	errCalendar = errors.New("a day of the calendar")
	errRange    = fmt.Errorf("a date from %d to %d", firstYear, lastYear)
)

// fastStamp reads 2006-01-02T15:04:05, with a blank for the T, and with up to nine digits of a second's
// part and Z behind it or not; ok is false for any other text. It gives what parseStamp gives.
func fastStamp(s string) (st stamp, ok bool) {
	if len(s) < 19 || s[4] != '-' || s[7] != '-' || s[10] != 'T' && s[10] != ' ' || s[13] != ':' || s[16] != ':' {
		return st, false
	}
	rest := s[19:]
	nsec := 0
	if len(rest) > 1 && rest[0] == '.' {
		k, unit := 1, 100_000_000
		for ; k < len(rest) && rest[k]-'0' <= 9; k++ {
			nsec += int(rest[k]-'0') * unit
			unit /= 10
		}
		if k == 1 || k > 10 {
			return st, false
		}
		rest = rest[k:]
	}
	if rest != "" && rest != "Z" {
		return st, false
	}
	var n [6]int
	at := 0
	for i, width := range [...]int{4, 2, 2, 2, 2, 2} {
		v := 0
		for range width {
			c := s[at] - '0'
			if c > 9 {
				return st, false
			}
			v = v*10 + int(c)
			at++
		}
		at++
		n[i] = v
	}
	if n[0] < firstYear || n[0] > lastYear || n[1] < 1 || n[1] > 12 || n[2] < 1 || n[2] > 28 && n[2] > daysIn(n[0], n[1]) || n[3] > 23 || n[4] > 59 || n[5] > 59 {
		return st, false
	}
	return stamp{hasDate: true, hasClock: true, n: [3]int{n[0], n[1], n[2]}, orders: yearFirst,
		hour: n[3], min: n[4], sec: n[5], nsec: nsec, hasZone: rest == "Z"}, true
}

// parseStamp reads a cell that holds a date, a clock, or both.
func parseStamp(s string, at place) (stamp, error) {
	s = strings.TrimSpace(s)
	if at == anyCell {
		if st, ok := fastStamp(s); ok {
			return st, nil
		}
	}
	if st, ok := parseNumber(s, at); ok {
		return st, nil
	}
	var st stamp
	if strings.IndexByte(s[:min(len(s), 3)], ':') > 0 {
		return st, st.readClock(s)
	}
	rest, err := st.readDate(s)
	if err != nil {
		return st, err
	}
	if clock := strings.TrimLeft(rest, "Tt, "); clock != "" {
		if err := st.readClock(clock); err != nil {
			return st, err
		}
	} else if strings.Trim(rest, " ,") != "" {
		return st, errShape
	}
	if st.orders != 0 && st.noDate() {
		if !st.hasClock {
			return st, errRange
		}
		st.hasDate, st.orders, st.n = false, 0, [3]int{}
	}
	return st, nil
}

// noDate reports whether a date is one of those that stand for none.
func (st *stamp) noDate() bool {
	for _, o := range st.orders.all() {
		y, m, d := st.date(o)
		if y == 1899 && m == 12 && d >= 30 || y == 1900 && m == 1 && d <= 1 {
			return !st.short
		}
	}
	return false
}

// date returns the numbers of a date read in one order.
func (st *stamp) date(o order) (y, m, d int) {
	switch o {
	case yearFirst:
		y, m, d = st.n[0], st.n[1], st.n[2]
	case dayFirst:
		d, m, y = st.n[0], st.n[1], st.n[2]
	default:
		m, d, y = st.n[0], st.n[1], st.n[2]
	}
	if st.short {
		if y += 1900; y < firstYear {
			y += 100
		}
	}
	return y, m, d
}

// valid returns the orders in which a date is one of the calendar.
func (st *stamp) valid() (set order, err error) {
	err = errCalendar
	for _, o := range [...]order{yearFirst, dayFirst, monthFirst} {
		if st.orders&o == 0 {
			continue
		}
		switch y, m, d := st.date(o); {
		case y < firstYear || y > lastYear:
			err = errRange
		case m >= 1 && m <= 12 && d >= 1 && d <= daysIn(y, m):
			set |= o
		}
	}
	if set != 0 {
		err = nil
	}
	return set, err
}

// same reports whether a date is one and the same in all orders of a set, and
// which it is in the first of them.
func (st *stamp) same(set order) (y, m, d int, same bool) {
	for i, o := range set.all() {
		a, b, c := st.date(o)
		if i == 0 {
			y, m, d, same = a, b, c, true
		}
		same = same && a == y && b == m && c == d
	}
	return y, m, d, same
}

func daysIn(y, m int) int {
	switch m {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if y%4 == 0 && (y%100 != 0 || y%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// readDate reads the date at the beginning of s and returns what is behind it.
func (st *stamp) readDate(s string) (rest string, err error) {
	var parts, between [4]string
	count, at, begin, weekdayFirst := 0, 0, 0, false
	for count < 3 {
		begin = at
		for at < len(s) && strings.IndexByte(" -/.,", s[at]) >= 0 {
			at++
		}
		between[count] = strings.TrimSpace(s[begin:at])
		from := at
		for at < len(s) && s[at] >= '0' && s[at] <= '9' {
			at++
		}
		if at == from {
			for at < len(s) && (s[at] >= 0x80 || unicode.IsLetter(rune(s[at]))) {
				at++
			}
			word := s[from:at]
			if len(word) < 3 {
				at = begin
				break
			}
			if count == 0 && month(word) == 0 && weekday(word) && !weekdayFirst {
				weekdayFirst = true
				continue
			}
		} else if at < len(s) && s[at] == ':' {
			at = begin
			break
		}
		parts[count] = s[from:at]
		if count++; count == 1 && at-from == 8 {
			break // digits alone
		}
	}
	rest = strings.TrimSpace(s[at:])
	if count == 1 {
		return rest, st.compact(parts[0])
	}
	if count != 3 || between[0] != "" && !weekdayFirst {
		return rest, errShape
	}
	named := -1
	for i, p := range parts[:3] {
		n, ok := digits(p)
		if !ok {
			if n = month(p); n == 0 || named >= 0 || i == 2 {
				return rest, errShape
			}
			named = i
		} else if len(p) > 4 || len(p) == 3 {
			return rest, errShape
		}
		st.n[i] = n
	}
	if named < 0 && between[1] != between[2] {
		return rest, errShape
	}
	first, last := len(parts[0]), len(parts[2])
	switch {
	case first == 4 && named != 0 && last <= 2:
		st.orders = yearFirst
	case last == 4 && (first <= 2 || named == 0):
		st.orders = dayFirst | monthFirst
	case last == 2 && len(parts[1]) <= 2 && first <= 2 || named >= 0 && last == 2:
		st.short = true
		st.orders = dayFirst | monthFirst
		if first == 2 {
			st.orders |= yearFirst
		}
	case last == 1 && first == 2:
		st.short, st.orders = true, yearFirst
	default:
		return rest, errShape
	}
	switch named {
	case 0:
		st.orders &= monthFirst
	case 1:
		st.orders &^= monthFirst
	}
	st.hasDate = true
	if st.orders == 0 {
		return rest, errShape
	}
	return rest, nil
}

func weekday(word string) bool {
	for d := range 7 {
		if name := time.Weekday(d).String(); strings.EqualFold(word, name) || strings.EqualFold(word, name[:3]) {
			return true
		}
	}
	return false
}

// compact reads a date of digits alone, the year in four.
func (st *stamp) compact(s string) error {
	v, ok := digits(s)
	if !ok || len(s) != 8 {
		return errShape
	}
	st.hasDate = true
	if y := v / 10000; y >= 1899 && y <= lastYear {
		st.n, st.orders = [3]int{y, v / 100 % 100, v % 100}, yearFirst
	} else {
		st.n, st.orders = [3]int{v / 1000000, v / 10000 % 100, v % 10000}, dayFirst|monthFirst
	}
	return nil
}

func (st *stamp) readClock(s string) error {
	end := strings.IndexFunc(s, func(r rune) bool { return !(r >= '0' && r <= ':' || r == '.' || r == ',') })
	clock, rest := s, ""
	if end >= 0 {
		clock, rest = s[:end], strings.TrimSpace(s[end:])
	}
	if strings.IndexByte(clock, ':') < 0 {
		clock = colons(clock)
	}
	parts := strings.Split(clock, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return errShape
	}
	if len(parts) == 3 {
		whole, fraction, has := strings.Cut(strings.ReplaceAll(parts[2], ",", "."), ".")
		if has {
			if strings.Trim(fraction, "0123456789") != "" {
				return errShape
			}
			st.nsec, _ = digits((fraction + "000000000")[:9])
		}
		v, ok := digits(whole)
		if !ok || len(whole) > 2 || v > 59 {
			return errShape
		}
		st.sec = v
	}
	h, okH := digits(parts[0])
	m, okM := digits(parts[1])
	if !okH || !okM || len(parts[0]) > 2 || len(parts[1]) > 2 || h > 23 || m > 59 {
		return errShape
	}
	st.hour, st.min = h, m
	lower := strings.ToLower(rest)
	for _, half := range [...]struct {
		word string
		add  int
	}{{"a.m.", 0}, {"p.m.", 12}, {"am", 0}, {"pm", 12}} {
		if after, found := strings.CutPrefix(lower, half.word); found {
			if st.hour < 1 || st.hour > 12 {
				return errShape
			}
			st.hour, st.half = st.hour%12+half.add, true
			lower = strings.TrimSpace(after)
			break
		}
	}
	st.hasClock = true
	return st.readZone(lower)
}

// colons puts colons into a clock time of four to six digits; a number of five has
// lost its first zero. Any other text comes back as it is.
func colons(s string) string {
	whole, fraction, _ := strings.Cut(s, ".")
	if _, ok := digits(whole); !ok {
		return s
	}
	if fraction != "" {
		fraction = "." + fraction
	}
	switch len(whole) {
	case 4:
		return whole[:2] + ":" + whole[2:] + fraction
	case 5:
		whole = "0" + whole
		fallthrough
	case 6:
		return whole[:2] + ":" + whole[2:4] + ":" + whole[4:] + fraction
	}
	return s
}

func (st *stamp) readZone(s string) error {
	switch s {
	case "":
		return nil
	case "z", "utc", "gmt":
		st.hasZone = true
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
	st.hasZone, st.offsetS = true, sign*(h*3600+m*60)
	return nil
}

// spreadsheetDays is how many days before 1970 spreadsheets begin to count.
const spreadsheetDays = 25569

// parseNumber reads a cell of digits alone, with a fraction or not. What it is
// depends on its length and on the column.
func parseNumber(s string, at place) (st stamp, ok bool) {
	whole, fraction, _ := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	if whole == "" || strings.Trim(whole, "0123456789") != "" || strings.Trim(fraction, "0123456789") != "" {
		return st, false
	}
	switch n := len(whole); {
	case n == 14 && whole[0] <= '2':
		// Thousandths since 1970 of so many digits are no year of these.
		if st.compact(whole[:8]) == nil && st.orders == yearFirst && st.readClock(colons(whole[8:])) == nil {
			return st, true
		}
		st = stamp{}
		fallthrough
	case n >= 9 && n <= 14:
		return epoch(whole, fraction)
	case at == clockCell && n >= 4 && n <= 6:
		if st.readClock(colons(strings.Replace(s, ",", ".", 1))) == nil {
			return st, true
		}
		st = stamp{}
		fallthrough
	case n == 5:
		v, _ := parseFloat(whole + "." + fraction)
		if v < 20000 || v > 80000 {
			return st, false
		}
		st.setSerial(v, fraction != "")
		return st, true
	case at == clockCell && n == 1 && whole == "0" && fraction != "":
		v, _ := parseFloat(whole + "." + fraction)
		st.setClock(int64(math.Round(v*86400000)) % 86400000)
		return st, true
	case at == anyCell && n == 6:
		if st.readClock(colons(strings.Replace(s, ",", ".", 1))) == nil {
			return st, true
		}
	case at == dateCell && n == 6 && fraction == "":
		v, _ := digits(whole)
		return stamp{hasDate: true, short: true, n: [3]int{v / 10000, v / 100 % 100, v % 100}, orders: anyOrder}, true
	}
	return stamp{}, false
}

// setSerial sets the date, and the clock to a thousandth of a second, of a
// spreadsheet's day.
func (st *stamp) setSerial(v float64, hasClock bool) {
	ms := int64(math.Round(v * 86400000))
	t := time.Unix((ms/86400000-spreadsheetDays)*86400, 0).UTC()
	st.hasDate, st.serial, st.orders = true, true, yearFirst
	st.n = [3]int{t.Year(), int(t.Month()), t.Day()}
	if hasClock {
		st.setClock(ms % 86400000)
	}
}

// setClock sets the clock to so many thousandths of a second after midnight.
func (st *stamp) setClock(ms int64) {
	st.hasClock = true
	st.hour, st.min, st.sec, st.nsec = int(ms/3600000), int(ms/60000%60), int(ms/1000%60), int(ms%1000)*1000000
}

// epoch reads a number as seconds since 1970, or as thousandths when it is that
// large. Both ends of both ranges are far from any other: 1e8 s is 1973, 1e11 s
// is 5138, 1e11 ms is 1973.
func epoch(whole, fraction string) (st stamp, ok bool) {
	var v int64
	for i := range len(whole) {
		v = v*10 + int64(whole[i]-'0')
	}
	nano, _ := digits((fraction + "000000000")[:9])
	t := time.Unix(v, int64(nano)).UTC()
	if v >= 1e11 {
		t = time.UnixMilli(v).Add(time.Duration(nano) / 1000).UTC()
	}
	return stamp{hasEpoch: true, epochS: t.Unix(), nsec: t.Nanosecond()}, t.Year() >= firstYear && t.Year() <= lastYear
}
