// Package points reads lists of points as waypoints: GeoJSON after RFC 7946 and
// KML after OGC KML 2.2. Each is a catch, a bite, a mark or bait.
//
// GeoJSON is read by encoding/json and KML by encoding/xml, token by token. There
// are libraries for both in the module file: orb/geojson brings a database driver
// with it and keeps whole collections, and go-kml only writes.
package points

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"leadline/ingest"
)

// Recognise reports whether head, the first bytes of a file, begins a GeoJSON
// object or a KML document. 16 KiB of head are enough.
func Recognise(head []byte) bool { return isJSON(head) && recogniseJSON(head) || recogniseKML(head) }

// Read reads one file; name is used in messages and in Source. A row is a feature
// of GeoJSON, or a geometry without one, or a Placemark of KML wherever it lies.
//
// The position is a Point's, longitude first; its altitude is not read. Other
// geometries are set aside. A feature without geometry is kept when it has a
// time. What else is said of a point stands in GeoJSON's properties, or in KML's
// name, description, TimeStamp and ExtendedData, under these names in any case
// and with blanks, dashes or underscores between words:
//
//   - event, kind, type: catch, bite, mark or bait, the first that is one; else the
//     first word of name; else it is taken for a catch, which is said once
//   - time, timestamp, datetime, when, the first there is: as RFC 3339; without a zone
//     in opt.Zone; as a number, seconds or thousandths since 1970. date stands in for
//     it, or goes before it when it is a clock time alone
//   - species, count
//   - note, notes, description, desc, comment, cmt: the note; and name, when it
//     says more than the kind
//   - length_in|_cm|_m, weight_lb|_oz|_kg|_g, head_oz|_g|_kg, trailer_in|_cm|_m
//   - depth_ft|_m, fish_m|_ft, fish_depth_ft|_m: where the fish was, below the
//     surface; depth alone in opt.DepthUnit
//
// A time or value that can't be read costs itself; a row left without position
// and time is set aside, as is one whose position is no place on Earth, both with
// a Problem. At most 10,000 problems of rows are kept; the last says how many more
// there were. When the file breaks off, the rows before are kept and one more is
// set aside. opt.ClockOffset is added to every time.
//
// The error is not nil when r fails, when the file is neither format, when it
// holds no row, when it breaks off before its first, and when it says that its
// coordinates are not longitude and latitude on WGS 84. Memory is one feature, of
// at most 16 MiB in GeoJSON, and the records.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	in := bufio.NewReaderSize(r, headBytes)
	head, err := in.Peek(headBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	l := &list{name: name, opt: opt, hasColumn: map[string]bool{}}
	if isJSON(head) {
		err = l.readJSON(in)
	} else {
		err = l.readKML(in)
	}
	if err != nil {
		return ingest.Records{}, err
	}
	return l.finish()
}

const headBytes = 16 << 10

func isJSON(head []byte) bool {
	return bytes.HasPrefix(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\ufeff")), " \t\r\n"), []byte("{"))
}

// list is one file while it is read.
type list struct {
	name      string
	opt       ingest.ReadOptions
	out       ingest.Records
	takenFor  string
	hasColumn map[string]bool

	problems []ingest.Problem
	over     ingest.Problem // the first not kept
	overN    int

	kindless once // rows without a kind
	unitless once // depths without a unit
	doubtful once // times that clocks showed twice or never
}

// once is what is said once for the file: the first case and how many.
type once struct {
	n     int
	line  int
	field string
	found string
}

func (o *once) add(line int, field, found string) {
	if o.n == 0 {
		o.line, o.field, o.found = line, field, found
	}
	o.n++
}

// mostProblems is how many problems of rows are kept.
const mostProblems = 10000

func (l *list) problem(p ingest.Problem) {
	p.File = l.name
	if len(l.problems) < mostProblems {
		l.problems = append(l.problems, p)
		return
	}
	if l.overN++; l.overN == 1 {
		l.over = p
	}
}

// columnsShown bounds the list of names shown to a person.
const columnsShown = 64

// column notes a name and what it is read as, at its first sight.
func (l *list) column(name, readAs, unit string) {
	if l.hasColumn[name] || len(l.out.Source.Columns) >= columnsShown {
		return
	}
	l.hasColumn[name] = true
	l.out.Source.Columns = append(l.out.Source.Columns, ingest.Column{Name: clip(name), ReadAs: readAs, Unit: unit})
}

// add counts a row by its problems and keeps its event unless one sets it aside.
func (l *list) add(e ingest.Event, problems []ingest.Problem, text string) {
	s := &l.out.Source
	s.RowsRead++
	o := ingest.InDoubt
	for _, p := range problems {
		o = min(o, p.Outcome)
	}
	for _, p := range problems {
		if o == ingest.SetAside {
			p.Outcome, p.Row = o, text
		}
		l.problem(p)
	}
	switch o {
	case ingest.SetAside:
		s.SetAside++
		return
	case ingest.Repaired:
		s.Repaired++
	default:
		s.Used++
	}
	l.out.Events = append(l.out.Events, e)
}

// broke notes that the file can't be read from a line on. It returns the error for
// the file when nothing was read before.
func (l *list) broke(line int, why error) error {
	var said *readError
	if errors.As(why, &said) {
		return fmt.Errorf("%s: %w", l.name, said.err)
	}
	if l.out.Source.RowsRead == 0 {
		return fmt.Errorf("%s:%d: breaks off before its first point: %w", l.name, line, why)
	}
	l.add(ingest.Event{}, []ingest.Problem{{Line: line, Wanted: "the rest of the file: " + why.Error(), Outcome: ingest.SetAside, Kind: ingest.ErrTruncated}}, "")
	return nil
}

// finish fills in what concerns the file as a whole.
func (l *list) finish() (ingest.Records, error) {
	s := &l.out.Source
	if s.RowsRead == 0 {
		return ingest.Records{}, fmt.Errorf("%s: holds no point, wanted a feature or a Placemark", l.name)
	}
	s.Name, s.TakenFor = l.name, l.takenFor
	if l.opt.ClockOffset != 0 {
		s.ClockOffsetS = ingest.Known(l.opt.ClockOffset.Seconds())
	}
	say := func(o once, wanted string, kind error) {
		if o.n > 0 {
			if o.n > 1 {
				wanted += ", the first"
			}
			if o.line > 0 {
				wanted += " at line " + strconv.Itoa(o.line)
			}
			l.problems = append(l.problems, ingest.Problem{File: l.name, Field: o.field, Found: o.found, Wanted: wanted, Outcome: ingest.InDoubt, Kind: kind})
		}
	}
	say(l.kindless, "catch, bite, mark or bait as kind or first word of name; "+plural(l.kindless.n, "point")+" without one taken for catches", ingest.ErrMissing)
	say(l.unitless, "a unit, as depth_ft or depth_m, or --depth-unit; "+plural(l.unitless.n, "depth")+" without one not used", ingest.ErrMissing)
	say(l.doubtful, "a zone behind it: when clocks change it is shown twice or never; "+plural(l.doubtful.n, "such time")+" read as before the change", ingest.ErrTime)
	if l.overN > 0 {
		l.over.Wanted += "; " + plural(l.overN-1, "more problem") + " from here on are counted and not listed"
		l.problems = append(l.problems, l.over)
	}
	l.out.Problems = l.problems
	return l.out, nil
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// clip keeps a name or row from growing without bounds.
func clip(s string) string {
	const most = 400
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}

// A readError is a failure of the reader beneath a decoder, not of the text.
type readError struct{ err error }

func (e *readError) Error() string { return e.err.Error() }

// source marks the failures of r, so that a decoder's complaint about the text and
// a disk's can be told apart.
type source struct{ r io.Reader }

func (s source) Read(p []byte) (int, error) {
	n, err := s.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		err = &readError{err}
	}
	return n, err
}
