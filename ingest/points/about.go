package points

import (
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// A property is one thing said of a point.
type property struct {
	name string
	text string // as written; a number as its digits
	line int
}

// what is a meaning of a property.
type what uint8

const (
	unknown what = iota
	aKind
	aName
	aTime
	aDate
	aSpecies
	aCount
	aNote
	aLength
	aWeight
	aHead
	aTrailer
	aFishDepth
)

// words lists the names by what they mean, in lower case with underscores.
var words = map[string]what{
	"event": aKind, "kind": aKind, "type": aKind,
	"name": aName, "title": aName,
	"time": aTime, "timestamp": aTime, "datetime": aTime, "date_time": aTime, "when": aTime, "date": aDate,
	"species": aSpecies, "count": aCount,
	"note": aNote, "notes": aNote, "description": aNote, "desc": aNote, "comment": aNote, "cmt": aNote,
	"length": aLength, "weight": aWeight, "head": aHead, "trailer": aTrailer,
	"depth": aFishDepth, "fish": aFishDepth, "fish_depth": aFishDepth,
}

// measures lists what is a quantity, and the range that can be: wider than any
// fish or lake, to keep fillers out.
var measures = map[what]struct {
	readAs      string
	quantity    *si.Quantity
	least, most float64
	into        func(*ingest.Event) *ingest.Maybe
}{
	aLength:    {"length", si.Length, tiny, 6, func(e *ingest.Event) *ingest.Maybe { return &e.LengthM }},
	aWeight:    {"weight", si.Mass, tiny, 1000, func(e *ingest.Event) *ingest.Maybe { return &e.WeightKg }},
	aHead:      {"head weight", si.Mass, tiny, 1, func(e *ingest.Event) *ingest.Maybe { return &e.HeadKg }},
	aTrailer:   {"trailer length", si.Length, tiny, 1, func(e *ingest.Event) *ingest.Maybe { return &e.TrailerM }},
	aFishDepth: {"fish depth", si.Length, 0, 2000, func(e *ingest.Event) *ingest.Maybe { return &e.FishM }},
}

const tiny = 1e-6 // least of what must be above zero

var readAs = map[what]string{aKind: "kind", aName: "kind and note", aTime: "time", aDate: "time", aSpecies: "species", aCount: "count", aNote: "note"}

// meaning returns what a name means, and the unit in it.
func meaning(name string) (w what, unit string) {
	key := strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '.':
			return '_'
		case '(', ')':
			return -1
		}
		return r
	}, strings.ToLower(strings.TrimSpace(name)))
	if w = words[key]; w != unknown && key != "fish" { // a fish alone is no depth
		return w, ""
	}
	i := strings.LastIndexByte(key, '_')
	if i < 0 {
		return unknown, ""
	}
	w = words[key[:i]]
	m, isMeasure := measures[w]
	if !isMeasure {
		return unknown, ""
	}
	unit, ok := m.quantity.Unit(key[i+1:])
	if !ok {
		return unknown, ""
	}
	return w, unit
}

// A point is one row while it is read.
type point struct {
	line     int
	pos      orb.Point
	hasPos   bool
	about    []property
	problems []ingest.Problem
	text     string // the row word for word
}

func (p *point) note(line int, field, found, wanted string, o ingest.Outcome, kind error) {
	p.problems = append(p.problems, ingest.Problem{Line: line, Field: field, Found: found, Wanted: wanted, Outcome: o, Kind: kind})
}

// place takes a position from longitude and latitude in degrees.
func (p *point) place(line int, lon, lat float64) {
	show := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	switch {
	case math.Abs(lat) > 90:
		p.note(line, "latitude", show(lat), "degrees from -90 to 90; the longitude comes first", ingest.SetAside, ingest.ErrRange)
	case math.Abs(lon) > 180:
		p.note(line, "longitude", show(lon), "degrees from -180 to 180; the longitude comes first", ingest.SetAside, ingest.ErrRange)
	case lon == 0 && lat == 0:
		p.note(line, "position", "0, 0", "where the boat was: receivers say 0, 0 before they know", ingest.Repaired, ingest.ErrPosition)
	default:
		p.pos, p.hasPos = orb.Point{lon, lat}, true
	}
}

// point makes an event of a row.
func (l *list) point(p *point) {
	e := ingest.Event{Pos: p.pos, HasPos: p.hasPos, Kind: ingest.Catch, Count: 1, Line: p.line}
	var kind ingest.EventKind
	hasKind := false
	var name, when, date property
	var notes []string
	for _, a := range p.about {
		a.text = strings.TrimSpace(a.text)
		w, unit := meaning(a.name)
		m, isMeasure := measures[w]
		switch {
		case isMeasure && unit == "" && w == aFishDepth:
			unit = l.opt.DepthUnit
			if unit == "" && a.text != "" {
				l.column(a.name, "", "")
				l.unitless.add(a.line, a.name, a.text)
				continue
			}
			fallthrough
		case isMeasure && unit != "":
			l.column(a.name, m.readAs, unit)
			l.measure(p, a, m.quantity, unit, m.least, m.most, m.into(&e))
			continue
		case isMeasure:
			l.column(a.name, "", "")
			continue
		}
		l.column(a.name, readAs[w], "")
		if a.text == "" {
			continue
		}
		switch w {
		case aKind:
			if k, ok := ingest.ParseEventKind(strings.ToLower(a.text)); ok && !hasKind {
				kind, hasKind = k, true
			}
		case aName:
			name = a
		case aTime:
			if when.text == "" {
				when = a
			}
		case aDate:
			date = a
		case aSpecies:
			e.Species = a.text
		case aCount:
			l.fish(p, a, &e)
		case aNote:
			notes = append(notes, a.text)
		}
	}
	if when.text == "" {
		when = date
	} else if _, _, ok := instant(when.text); !ok && date.text != "" {
		when.text = date.text + "T" + when.text
	}
	if when.text != "" {
		e.Time = l.time(p, when)
	}
	word, more := firstWord(name.text)
	if !hasKind {
		if kind, hasKind = ingest.ParseEventKind(word); hasKind && !more {
			name.text = ""
		}
	} else if !more && word == kind.String() {
		name.text = ""
	}
	if name.text != "" {
		notes = append([]string{name.text}, notes...)
	}
	e.Kind, e.Note = kind, strings.Join(notes, "; ")
	if !e.HasPos && e.Time.IsZero() {
		if len(p.problems) == 0 {
			p.note(p.line, "", "", "a Point or a time", ingest.SetAside, ingest.ErrMissing)
		}
		for i := range p.problems {
			p.problems[i].Outcome = ingest.SetAside
		}
	}
	aside := false
	for _, x := range p.problems {
		aside = aside || x.Outcome == ingest.SetAside
	}
	if !hasKind && !aside {
		l.kindless.add(p.line, "kind", "")
	}
	l.add(e, p.problems, p.text)
}

// firstWord returns the first word of a name in lower case, and whether more follows.
func firstWord(name string) (word string, more bool) {
	word = strings.ToLower(strings.TrimSpace(name))
	if end := strings.IndexFunc(word, func(r rune) bool { return r < 'a' || r > 'z' }); end >= 0 {
		return word[:end], true
	}
	return word, false
}

func (l *list) measure(p *point, a property, q *si.Quantity, unit string, least, most float64, into *ingest.Maybe) {
	if a.text == "" {
		return
	}
	v, ok := number(a.text)
	if ok {
		v, ok = q.Convert(v, unit)
	}
	switch {
	case !ok:
		p.note(a.line, a.name, a.text, "a number in "+unit, ingest.Repaired, ingest.ErrNumber)
	case v < least || v > most:
		p.note(a.line, a.name, a.text, "one that can be, in "+unit, ingest.Repaired, ingest.ErrRange)
	default:
		*into = ingest.Known(v)
	}
}

// fish reads a count.
func (l *list) fish(p *point, a property, e *ingest.Event) {
	v, ok := number(a.text)
	switch {
	case !ok || v != math.Trunc(v):
		p.note(a.line, a.name, a.text, "a whole number; taken as one fish", ingest.Repaired, ingest.ErrNumber)
	case v < 1 || v > 10000:
		p.note(a.line, a.name, a.text, "1 fish or more", ingest.SetAside, ingest.ErrRange)
	default:
		e.Count = int(v)
	}
}

// number reads a decimal number. Words, hexadecimal and whatever is not finite
// are not numbers.
func number(s string) (float64, bool) {
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// layouts of RFC 3339 and the looser forms of ISO 8601 that files hold. Go reads
// fractions of a second, with point or comma, where the layout has none.
var layouts = [...]struct {
	layout string
	zoned  bool
}{
	{"2006-01-02T15:04:05Z07:00", true},
	{"2006-01-02T15:04:05Z0700", true},
	{"2006-01-02T15:04:05Z07", true},
	{"2006-01-02T15:04Z07:00", true},
	{"2006-01-02T15:04:05", false},
	{"2006-01-02T15:04", false},
}

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// time reads a time and adds the file's clock offset; zero, and noted, when it
// can't be read.
func (l *list) time(p *point, a property) time.Time {
	t, zoned, ok := instant(a.text)
	wanted := ""
	switch {
	case !ok:
		wanted = "a time such as 2006-01-02T15:04:05Z; one day alone is none"
	case t.Year() < firstYear || t.Year() > lastYear:
		wanted = "a date from " + strconv.Itoa(firstYear) + " to " + strconv.Itoa(lastYear)
	case !zoned && l.opt.Zone == nil:
		wanted = "a zone behind it, such as Z or +02:00, or --tz to say which zone its clock shows"
	}
	if wanted != "" {
		p.note(a.line, a.name, a.text, wanted, ingest.Repaired, ingest.ErrTime)
		return time.Time{}
	}
	if !zoned {
		l.out.Source.Zone = l.opt.Zone.String()
		var shown int
		if t, shown = si.Instant(t, l.opt.Zone); shown != 1 {
			l.doubtful.add(a.line, a.name, a.text)
		}
	}
	return t.UTC().Add(l.opt.ClockOffset)
}

// instant reads a text as a time; zoned is false when it carries no zone.
func instant(s string) (t time.Time, zoned, ok bool) {
	if v, isNumber := number(s); isNumber && !strings.ContainsAny(strings.TrimPrefix(s, "-"), "-+") {
		// Both ranges are far from any other: 1e8 s is 1973, 1e11 s is 5138, 1e11 ms is 1973.
		switch {
		case v >= 1e8 && v < 1e11:
			return time.UnixMilli(int64(math.Round(v * 1e3))).UTC(), true, true
		case v >= 1e11 && v < 1e14:
			return time.UnixMilli(int64(v)).UTC(), true, true
		}
		return t, false, false
	}
	text := []byte(s)
	if len(text) > 10 && (text[10] == ' ' || text[10] == 't') {
		text[10] = 'T'
	}
	if n := len(text) - 1; n >= 0 && text[n] == 'z' {
		text[n] = 'Z'
	}
	for _, x := range layouts {
		if t, err := time.Parse(x.layout, string(text)); err == nil {
			return t, x.zoned, true
		}
	}
	return t, false, false
}
