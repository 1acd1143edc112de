package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"leadline/ingest"
	"leadline/ingest/si"
)

// filterFlags say which part of a season is meant. As a rule a range is LOW..HIGH,
// both included, and without one of the two it is open at that end.
type filterFlags struct {
	days   daysFlag
	months monthsFlag
	levels rangeFlag
	water  rangeFlag
	hours  hoursFlag
	within boxFlag
}

func (f *filterFlags) add(flags *pflag.FlagSet) {
	f.levels = rangeFlag{of: si.Length, example: "811ft..813ft"}
	f.water = rangeFlag{of: si.Temperature, example: "55F..62F"}
	flags.Var(&f.days, "days", "only these days, such as 2031-10-01..2031-10-14, 2031-10-04 or 2031-10-01..")
	flags.Var(&f.months, "months", "only these months of any year, such as oct..nov or 11..2")
	flags.Var(&f.levels, "levels", "only days on which the water stood at such a level, such as 811ft..813ft or ..813ft")
	flags.Var(&f.water, "water", "only days on which the water was so warm, such as 55F..62F")
	flags.Var(&f.hours, "hours", "only these hours of the day, such as 6..10, 6:30..9:45 or 20..4; the bottom is drawn from all")
	flags.Var(&f.within, "within", "only what lies between two corners of a box, such as 36.5,-40.2..36.6,-40.1")
}

// filter returns what was typed; the zero Filter when nothing was.
func (f *filterFlags) filter() ingest.Filter {
	return ingest.Filter{
		FirstDay: f.days.first, LastDay: f.days.last,
		FirstMonth: f.months.first, LastMonth: f.months.last,
		LevelM: f.levels.value, TempC: f.water.value,
		HourFrom: f.hours.from, HourTo: f.hours.to,
		Box: f.within.box,
	}
}

// set reports whether any was typed.
func (f *filterFlags) set() bool { return !f.filter().Empty() }

// ends splits LOW..HIGH. Without the dots both are s. What is wrong with three dots:
// 5m...5m could be up to 5 m or up to 0.5 m.
func ends(s string) (low, high string, err error) {
	if strings.Contains(s, "...") || strings.Count(s, "..") > 1 {
		return "", "", fmt.Errorf("%q is not a range, wanted two dots between its ends, once", s)
	}
	low, high, isRange := strings.Cut(s, "..")
	if !isRange {
		high = low
	}
	low, high = strings.TrimSpace(low), strings.TrimSpace(high)
	if low == "" && high == "" {
		return "", "", fmt.Errorf("%q has neither end", s)
	}
	return low, high, nil
}

// daysFlag is DAY..DAY or DAY.
type daysFlag struct{ first, last, shown string }

func (d *daysFlag) String() string { return d.shown }
func (d *daysFlag) Type() string   { return "DAY..DAY" }

func (d *daysFlag) Set(s string) error {
	first, last, err := ends(s)
	if err != nil {
		return fmt.Errorf("%w; days look like 2031-10-01..2031-10-14", err)
	}
	for _, day := range []string{first, last} {
		if _, err := time.Parse(time.DateOnly, day); err != nil && day != "" {
			return fmt.Errorf("%q is not a day, wanted year, month and day of the calendar, such as 2031-10-04", day)
		}
	}
	if last != "" && first > last {
		return fmt.Errorf("%q runs backwards, wanted the earlier day first", s)
	}
	*d = daysFlag{first, last, s}
	return nil
}

// monthsFlag is MONTH..MONTH or MONTH, over the turn of the year when the first is
// the later. It has no open end: whether "oct.." ends with the year is anyone's guess.
type monthsFlag struct {
	first, last int
	shown       string
}

func (m *monthsFlag) String() string { return m.shown }
func (m *monthsFlag) Type() string   { return "MONTH..MONTH" }

func (m *monthsFlag) Set(s string) error {
	first, last, err := ends(s)
	if err != nil {
		return fmt.Errorf("%w; months look like 10..11 or oct..nov", err)
	}
	var of [2]int
	for i, word := range []string{first, last} {
		if word == "" {
			return fmt.Errorf("%q has one end, wanted both months, such as oct..dec", s)
		}
		if of[i] = month(word); of[i] == 0 {
			return fmt.Errorf("%q is not a month, wanted 1 to 12 or its English name, such as oct or October", word)
		}
	}
	*m = monthsFlag{of[0], of[1], s}
	return nil
}

// month returns 1 to 12 for a month's number or name, of which three letters or
// more are enough; 0 for anything else.
func month(word string) int {
	if n, err := strconv.Atoi(word); err == nil && n >= 1 && n <= 12 {
		return n
	}
	for m := time.January; m <= time.December; m++ {
		if n := len(word); n >= 3 && n <= len(m.String()) && strings.EqualFold(m.String()[:n], word) {
			return int(m)
		}
	}
	return 0
}

// rangeFlag is a range of a quantity; its ends are in SI.
type rangeFlag struct {
	of      *si.Quantity
	example string
	value   ingest.Range
	shown   string
}

func (r *rangeFlag) String() string { return r.shown }

// Type is the word that stands for the value in the help.
func (r *rangeFlag) Type() string {
	word := newQuantity(r.of, 0).Type()
	return word + ".." + word
}

func (r *rangeFlag) Set(s string) error {
	if !strings.Contains(s, "..") {
		return fmt.Errorf("%q is not a range, wanted two values with two dots between them, such as %s", s, r.example)
	}
	low, high, err := ends(s)
	if err != nil {
		return fmt.Errorf("%w; ranges look like %s", err, r.example)
	}
	var value ingest.Range
	for _, end := range []struct {
		text string
		to   *ingest.Maybe
	}{{low, &value.Low}, {high, &value.High}} {
		if end.text == "" {
			continue
		}
		v, err := r.of.Parse(end.text)
		if err != nil {
			return err
		}
		*end.to = ingest.Known(v)
	}
	if value.Low.OK && value.High.OK && value.Low.V > value.High.V {
		return fmt.Errorf("%q runs backwards, wanted the lower end first", s)
	}
	r.value, r.shown = value, s
	return nil
}

// hoursFlag is CLOCK..CLOCK, from the first to before the second, over midnight when
// the first is the later.
type hoursFlag struct {
	from, to ingest.Maybe
	shown    string
}

func (h *hoursFlag) String() string { return h.shown }
func (h *hoursFlag) Type() string   { return "HOUR..HOUR" }

func (h *hoursFlag) Set(s string) error {
	first, last, err := ends(s)
	if err != nil {
		return fmt.Errorf("%w; hours look like 6..10 or 6:30..9:45", err)
	}
	if first == "" || last == "" || !strings.Contains(s, "..") {
		return fmt.Errorf("%q is one end, wanted from which hour to which, such as 6..10, 6..24 or 20..4", s)
	}
	var of [2]float64
	for i, word := range []string{first, last} {
		v, ok := hour(word)
		if !ok {
			return fmt.Errorf("%q is not an hour, wanted 0 to 24 or hours and minutes, such as 6 or 18:30", word)
		}
		of[i] = v
	}
	if math.Mod(of[0], 24) == math.Mod(of[1], 24) && of != [2]float64{0, 24} {
		return fmt.Errorf("%q ends when it begins, wanted two different hours; 0..24 is the whole day", s)
	}
	*h = hoursFlag{ingest.Known(of[0]), ingest.Known(of[1]), s}
	return nil
}

// hour reads "6", "06" or "6:30" as hours of the day, 0 to 24.
func hour(word string) (hours float64, ok bool) {
	h, m, minutes := strings.Cut(word, ":")
	if minutes && len(m) != 2 {
		return 0, false
	}
	if !minutes {
		m = "0"
	}
	hh, errH := strconv.ParseUint(h, 10, 8)
	mm, errM := strconv.ParseUint(m, 10, 8)
	if errH != nil || errM != nil || mm > 59 || hh*60+mm > 24*60 {
		return 0, false
	}
	return float64(hh) + float64(mm)/60, true
}

// boxFlag is LAT,LON..LAT,LON: any two opposite corners of a box.
type boxFlag struct {
	box   *orb.Bound
	shown string
}

func (b *boxFlag) String() string { return b.shown }
func (b *boxFlag) Type() string   { return "LAT,LON..LAT,LON" }

func (b *boxFlag) Set(s string) error {
	const like = "36.5,-40.2..36.6,-40.1"
	first, last, err := ends(s)
	if err != nil {
		return fmt.Errorf("%w; a box looks like %s", err, like)
	}
	if first == "" || last == "" || !strings.Contains(s, "..") {
		return fmt.Errorf("%q is one corner, wanted two opposite ones, such as %s", s, like)
	}
	var corners orb.MultiPoint
	for _, word := range []string{first, last} {
		lat, lon, found := strings.Cut(word, ",")
		latDeg, errLat := strconv.ParseFloat(strings.TrimSpace(lat), 64)
		lonDeg, errLon := strconv.ParseFloat(strings.TrimSpace(lon), 64)
		if !found || errLat != nil || errLon != nil || !(math.Abs(latDeg) <= 90) || !(math.Abs(lonDeg) <= 180) {
			return fmt.Errorf("%q is not a corner, wanted latitude (-90 to 90) and then longitude (-180 to 180) in degrees, such as 36.5,-40.2", word)
		}
		corners = append(corners, orb.Point{lonDeg, latDeg})
	}
	box := corners.Bound()
	switch wide := box.Max[0] - box.Min[0]; {
	case wide > 180:
		return fmt.Errorf("%q is wider than half the Earth: a box over the 180th meridian isn't taken", s)
	case wide == 0 || box.Max[1] == box.Min[1]:
		return fmt.Errorf("%q is a box without room, wanted two opposite corners, such as %s", s, like)
	}
	b.box, b.shown = &box, s
	return nil
}
