package csvfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// when reads the time of the row at hand. has is false when the row gives none;
// a problem, its outcome left open, when it gives one that can't be used. held is
// for clock.hold. The error is for the file.
func (t *table) when() (m moment, has bool, held *twofold, p *ingest.Problem, err error) {
	first, second, at, field := t.cell(colTime), "", anyCell, colTime
	if t.at[colDate] >= 0 || t.at[colClock] >= 0 {
		clockText := t.cell(colClock)
		if missing(clockText) {
			clockText = ""
		}
		if missing(first) {
			first = ""
		}
		switch day := t.cell(colDate); {
		case !missing(day):
			if second = clockText; second == "" {
				second = first
			}
			first, at, field = day, dateCell, colDate
		case first != "":
			second = clockText
		default:
			first, field = clockText, colClock
		}
	}
	if missing(first) {
		return moment{}, false, nil, nil, nil
	}
	m, held, bad := t.clock.read(first, at, second, t.line)
	if bad == nil {
		return m, true, held, nil, nil
	}
	found := strings.TrimSpace(first + " " + second)
	switch {
	case errors.Is(bad, errTwoOrders):
		return moment{}, false, nil, nil, t.clock.twoOrders(t.name)
	case t.clock.noZone:
		return moment{}, false, nil, nil, fmt.Errorf("%s:%d: %s: %q is %w, wanted Z or an offset such as +02:00 behind it, or --tz to say which zone the clock shows",
			t.name, t.line, t.nameOf(field), clip(found), ingest.ErrZone)
	}
	return moment{}, false, nil, &ingest.Problem{Field: t.nameOf(field), Found: found, Wanted: bad.Error(), Kind: ingest.ErrTime}, nil
}

// mark is where and when a row says something was.
type mark struct {
	time   time.Time
	pos    orb.Point
	hasPos bool
	held   *twofold
}

// mark reads time and position of the row at hand. ok is false, and the problem
// noted, when it has neither.
func (t *table) mark() (k mark, ok bool, err error) {
	m, hasTime, held, badTime, err := t.when()
	if err != nil {
		return k, false, err
	}
	if hasTime && m.day {
		hasTime, held = false, nil
		badTime = &ingest.Problem{Field: t.nameOf(colTime), Found: m.time.Format("2006-01-02"), Wanted: errNoClock.Error(), Kind: ingest.ErrTime}
	}
	pos, hasPos, zero, badPos := t.position()
	if zero && !hasTime {
		badPos = &ingest.Problem{Field: t.nameOf(colLat), Found: t.cell(colLat) + ", " + t.cell(colLon), Wanted: "where the boat was: receivers say 0, 0 before they know", Kind: ingest.ErrPosition}
	} else if zero {
		t.zeros.add(t.line, t.cell(colLat)+", "+t.cell(colLon))
	}
	o := ingest.Repaired
	if !hasTime && !hasPos {
		o = ingest.SetAside
	}
	for _, p := range [...]*ingest.Problem{badTime, badPos} {
		if p != nil {
			t.problem(p.Field, p.Found, p.Wanted, p.Kind, o)
		}
	}
	if o == ingest.SetAside {
		if badTime == nil && badPos == nil {
			t.problem("", "", "a time or a position", ingest.ErrMissing, o)
		}
		return k, false, nil
	}
	k = mark{pos: pos, hasPos: hasPos, held: held}
	if hasTime {
		k.time = m.time
	}
	return k, true, nil
}

// optional reads a value that a row can do without: outside the range, or not a
// number, it is noted and unknown.
func (t *table) optional(r role, least, most float64) (ingest.Maybe, error) {
	v, wanted, err := t.value(r)
	switch {
	case err != nil:
		return ingest.Maybe{}, err
	case wanted != "":
		t.problem(t.nameOf(r), t.cell(r), wanted, ingest.ErrNumber, ingest.Repaired)
	case v.OK && (v.V < least || v.V > most):
		t.problem(t.nameOf(r), t.cell(r), "a "+meanings[r].readAs+" that can be", ingest.ErrRange, ingest.Repaired)
		return ingest.Maybe{}, nil
	}
	return v, nil
}

// required reads a value that a row is nothing without.
func (t *table) required(r role) (v float64, ok bool, err error) {
	m, wanted, err := t.value(r)
	if err != nil || m.OK {
		return m.V, m.OK, err
	}
	if wanted == "" {
		wanted = "a number"
	}
	if cell := t.cell(r); cell == "" {
		t.problem(t.nameOf(r), "", wanted, ingest.ErrMissing, ingest.SetAside)
	} else {
		t.problem(t.nameOf(r), cell, wanted, ingest.ErrNumber, ingest.SetAside)
	}
	return 0, false, nil
}

// The ranges are wider than any boat, lake or fish: they keep fillers out, and
// what is merely unlikely is judged later, beside its neighbours.
const (
	leastTempC, mostTempC = -10, 60
	mostSpeedMPS          = 100
	mostLengthM           = 6
	mostWeightKg          = 1000
	mostHeadKg            = 1
	mostTrailerM          = 1
	mostFishDepthM        = 2000
	mostWindMPS           = 115  // the strongest gust measured, 113.2 m/s (World Meteorological Organization's archive of extremes), rounded up
	tiny                  = 1e-6 // least of what must be above zero
)

func (t *table) depthRow() error {
	depth, ok, err := t.required(colDepth)
	if err != nil || !ok {
		return err
	}
	k, ok, err := t.mark()
	if err != nil || !ok {
		return err
	}
	t.shallow, t.deepest = min(t.shallow, depth), max(t.deepest, depth)
	for i := range t.rivals {
		t.compare(&t.rivals[i], depth)
	}
	s := ingest.Sounding{Time: k.time, Pos: k.pos, HasPos: k.hasPos, DepthM: depth, Ref: t.columns[t.at[colDepth]].ref, Line: t.line}
	if s.TempC, err = t.optional(colTemp, leastTempC, mostTempC); err != nil {
		return err
	}
	if s.SpeedMPS, err = t.optional(colSpeed, 0, mostSpeedMPS); err != nil {
		return err
	}
	if k.held != nil {
		t.clock.hold(t.soundings.n, k.held)
	}
	t.soundings.add(&s)
	return nil
}

// compare counts the row at hand when another column has another depth. What both
// differ by in rounding is half of the last digit of each.
func (t *table) compare(r *rival, depthM float64) {
	v, _, err := t.valueAt(r.column)
	if err != nil || !v.OK {
		return
	}
	rounding := 0.0
	for _, i := range [...]int{t.at[colDepth], r.column} {
		c := &t.columns[i]
		if c.by != byHeader {
			return
		}
		one, _ := si.Length.Convert(1, c.unit)
		rounding += one / 2 / pow10[min(decimals(t.cellAt(i)), len(pow10)-1)]
	}
	if math.Abs(v.V-depthM) > rounding*(1+1e-9)+1e-9 {
		r.differ.add(t.line, fmt.Sprintf("%q beside %q", clip(t.cellAt(r.column)), clip(t.cell(colDepth))))
	}
}

func (t *table) catchRow() error {
	k, ok, err := t.mark()
	if err != nil || !ok {
		return err
	}
	e := ingest.Event{Time: k.time, Pos: k.pos, HasPos: k.hasPos, Count: 1, Line: t.line, Species: t.text(colSpecies), Note: t.text(colNote)}
	if word := strings.ToLower(t.cell(colKind)); word != "" {
		if e.Kind, ok = ingest.ParseEventKind(word); !ok {
			t.problem(t.nameOf(colKind), t.cell(colKind), "catch, bite, mark or bait", ingest.ErrWord, ingest.SetAside)
			return nil
		}
	}
	if species := strings.ToLower(t.cell(colSpecies)); e.Kind == ingest.Catch && noFish[species] {
		t.problem(t.nameOf(colSpecies), t.cell(colSpecies), "a fish", ingest.ErrRange, ingest.SetAside)
		return nil
	}
	if cell := t.cell(colCount); strings.EqualFold(cell, "none") || !missing(cell) {
		n, isNumber := t.number(cell)
		switch {
		case strings.EqualFold(cell, "none") || strings.EqualFold(cell, "no"):
			t.problem(t.nameOf(colCount), cell, "1 fish or more", ingest.ErrRange, ingest.SetAside)
			return nil
		case isNumber && n != math.Trunc(n):
			t.problem(t.nameOf(colCount), cell, "a whole number of fish", ingest.ErrNumber, ingest.SetAside)
			return nil
		case !isNumber:
			t.problem(t.nameOf(colCount), cell, "a whole number; taken as one fish", ingest.ErrNumber, ingest.Repaired)
		case n < 1 || n > 10000:
			t.problem(t.nameOf(colCount), cell, "1 fish or more", ingest.ErrRange, ingest.SetAside)
			return nil
		default:
			e.Count = int(n)
		}
	}
	for _, q := range [...]struct {
		into        *ingest.Maybe
		r           role
		least, most float64
	}{
		{&e.LengthM, colLength, tiny, mostLengthM},
		{&e.WeightKg, colWeight, tiny, mostWeightKg},
		{&e.FishM, colFishDepth, 0, mostFishDepthM},
		{&e.HeadKg, colHead, tiny, mostHeadKg},
		{&e.TrailerM, colTrailer, tiny, mostTrailerM},
	} {
		if *q.into, err = t.optional(q.r, q.least, q.most); err != nil {
			return err
		}
	}
	if k.held != nil {
		t.clock.hold(len(t.out.Events), k.held)
	}
	t.out.Events = append(t.out.Events, e)
	return nil
}

// noFish are the words that a catch log has in place of a species when none was caught.
var noFish = map[string]bool{"none": true, "nil": true, "nothing": true, "no fish": true, "no catch": true, "kein": true, "keine": true, "keiner": true, "0": true}

// text returns a cell of words; empty when it says that there is none.
func (t *table) text(r role) string {
	if s := t.cell(r); !missing(s) {
		return strings.Clone(s) // not the whole row with it
	}
	return ""
}

func (t *table) levelRow() error {
	level, ok, err := t.required(colLevel)
	if err != nil || !ok {
		return err
	}
	m, has, held, bad, err := t.when()
	switch {
	case err != nil:
		return err
	case bad != nil:
		t.problem(bad.Field, bad.Found, bad.Wanted, bad.Kind, ingest.SetAside)
		return nil
	case !has:
		t.problem("", "", "a date or a time", ingest.ErrMissing, ingest.SetAside)
		return nil
	}
	l := ingest.Level{LevelM: level, Line: t.line}
	t.setLevelTime(&l, m)
	if held != nil {
		t.clock.hold(len(t.out.Levels), held)
	}
	t.out.Levels = append(t.out.Levels, l)
	return nil
}

// setLevelTime sets a level's time and its day, told by the clock of opt.Zone, or
// by UTC when no zone is given.
func (t *table) setLevelTime(l *ingest.Level, m moment) {
	local := m.time
	if !m.day {
		l.Time = m.time
		if t.opt.Zone != nil {
			local = m.time.In(t.opt.Zone)
		}
	}
	l.Date = local.Format("2006-01-02")
}

func (t *table) windRow() error {
	speed, ok, err := t.required(colWind)
	if err != nil || !ok {
		return err
	}
	if speed < 0 || speed > mostWindMPS {
		t.problem(t.nameOf(colWind), t.cell(colWind), "a wind speed that can be", ingest.ErrRange, ingest.SetAside)
		return nil
	}
	from, ok := t.bearing(t.cell(colWindFrom))
	if !ok {
		t.problem(t.nameOf(colWindFrom), t.cell(colWindFrom), "degrees from 0 to 360 or a point of the compass, such as NNE", ingest.ErrNumber, ingest.SetAside)
		return nil
	}
	m, has, held, bad, err := t.when()
	switch {
	case err != nil:
		return err
	case bad != nil:
		t.problem(bad.Field, bad.Found, bad.Wanted, bad.Kind, ingest.SetAside)
		return nil
	case !has:
		t.problem("", "", "a time", ingest.ErrMissing, ingest.SetAside)
		return nil
	case m.day:
		t.problem(t.nameOf(colTime), m.time.Format(time.DateOnly), errNoClock.Error(), ingest.ErrTime, ingest.SetAside)
		return nil
	}
	if held != nil {
		t.clock.hold(len(t.out.Winds), held)
	}
	t.out.Winds = append(t.out.Winds, ingest.Wind{Time: m.time, SpeedMPS: speed, FromDeg: from, Line: t.line})
	return nil
}

// bearing reads a direction in degrees, or as one of the compass's sixteen points.
func (t *table) bearing(cell string) (float64, bool) {
	for i, point := range compass {
		if strings.EqualFold(cell, point) {
			return float64(i) * 22.5, true
		}
	}
	v, ok := t.number(strings.TrimSpace(strings.TrimRight(cell, "°")))
	if !ok || v < 0 || v > 360 {
		return 0, false
	}
	return math.Mod(v, 360), true
}
