package csvfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// when reads the time of the row at hand. has is false when the row gives none;
// a problem, its outcome left open, when it gives one that can't be used. held is
// for clock.hold. The error is for the file.
func (t *table) when() (m moment, has bool, held *twofold, p *ingest.Problem, err error) {
	field := colTime
	date, clockCell := t.cell(colTime), t.cell(colClock)
	if missing(date) {
		date = ""
	}
	if missing(clockCell) {
		clockCell = ""
	}
	if day := t.cell(colDate); t.at[colDate] >= 0 {
		field = colDate
		if clockCell == "" {
			clockCell = date
		}
		if date = day; missing(day) {
			date = clockCell
			clockCell = ""
			if t.at[colTime] >= 0 {
				field = colTime
			}
		}
	} else if date == "" {
		date, clockCell, field = clockCell, "", colClock
	}
	if date == "" {
		return moment{}, false, nil, nil, nil
	}
	m, held, bad := t.clock.read(date, clockCell, t.line)
	found := strings.TrimSpace(date + " " + clockCell)
	switch {
	case bad == nil:
	case errors.Is(bad, errTwoOrders):
		return moment{}, false, nil, nil, t.clock.twoOrders(t.name)
	case t.clock.noZone:
		return moment{}, false, nil, nil, fmt.Errorf("%s:%d: %s: %q has no zone; wanted Z or an offset such as +02:00 behind it, or --tz to say which zone the clock shows",
			t.name, t.line, t.nameOf(field), clip(found))
	default:
		return moment{}, false, nil, &ingest.Problem{Field: t.nameOf(field), Found: found, Wanted: bad.Error(), Kind: ingest.ErrTime}, nil
	}
	if held == nil {
		t.clock.note(m, t.line, found)
	}
	return m, true, held, nil, nil
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
	pos, hasPos, badPos := t.position()
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
	s := ingest.Sounding{Time: k.time, Pos: k.pos, HasPos: k.hasPos, DepthM: depth, Line: t.line}
	if s.TempC, err = t.optional(colTemp, leastTempC, mostTempC); err != nil {
		return err
	}
	if s.SpeedMPS, err = t.optional(colSpeed, 0, mostSpeedMPS); err != nil {
		return err
	}
	if k.held != nil {
		t.clock.hold(len(t.out.Soundings), k.held)
	}
	t.out.Soundings = append(t.out.Soundings, s)
	return nil
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
	if cell := t.cell(colCount); strings.EqualFold(cell, "none") || !missing(cell) {
		n, isNumber := t.number(cell)
		switch {
		case strings.EqualFold(cell, "none") || strings.EqualFold(cell, "no"):
			t.problem(t.nameOf(colCount), cell, "1 fish or more", ingest.ErrRange, ingest.SetAside)
			return nil
		case !isNumber || n != math.Trunc(n):
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

// text returns a cell of words; empty when it says that there is none.
func (t *table) text(r role) string {
	if s := t.cell(r); !missing(s) {
		return s
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
