package dayfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"leadline/ingest"
)

// The headers, from the names that package ingest/csvfile knows. Every unit is the
// SI unit, or °C, in which its value is kept.
var (
	catchHeader = []string{"time", "lat", "lon", "kind", "species", "count", "length_m", "weight_kg", "fish_depth_m", "head_kg", "trailer_m", "note"}
	levelHeader = []string{"time", "level_m"}
	windHeader  = []string{"time", "wind_mps", "wind_from_deg"}

	depthNames = [...]string{
		ingest.BelowTransducer: "depth_below_transducer_m",
		ingest.BelowSurface:    "depth_below_surface_m",
		ingest.BelowKeel:       "depth_below_keel_m",
	}
)

// WriteSoundings writes a depth log as CSV: time, lat, lon, the depth in metres,
// positive down, under a header that says from where, the water's temperature in
// °C and the boat's speed in m/s. No sounding gives the header alone, as of a depth
// below the transducer. A sounding without a position has empty cells for it.
//
// Rows are in the order given, or by time where that order runs back: the reader
// would take such a row for one whose minute follows late. s is not changed.
//
// Errors: ErrTwoRefs and ErrAllNegative, and one that names the row whose value is
// not finite, all told before anything is written; those of w. Cost is linear, n log
// n for rows out of order, which take a copy of s.
func WriteSoundings(w io.Writer, s []ingest.Sounding) error {
	ref := ingest.BelowTransducer
	lowest, deepest := 0.0, 0.0
	for i := range s {
		if i == 0 {
			ref = s[0].Ref
		}
		if s[i].Ref != ref {
			return fmt.Errorf("sounding %d is %v and sounding 1 %v: %w", i+1, s[i].Ref, ref, ErrTwoRefs)
		}
		lowest, deepest = min(lowest, s[i].DepthM), max(deepest, s[i].DepthM)
	}
	byTime := func(a, b ingest.Sounding) int { return a.Time.Compare(b.Time) }
	if !slices.IsSortedFunc(s, byTime) {
		s = slices.Clone(s)
		slices.SortStableFunc(s, byTime)
	}
	t := table{what: "sounding", n: len(s), row: func(r *row, i int) {
		x := &s[i]
		r.instant(x.Time)
		r.position(x.HasPos, x.Pos[1], x.Pos[0])
		r.number("depth", x.DepthM)
		r.maybe("temperature", x.TempC)
		r.maybe("speed", x.SpeedMPS)
	}}
	t.zone = dayZone(len(s), func(i int) time.Time { return s[i].Time })
	if err := t.check(); err != nil {
		return err
	}
	if deepest <= 0 && lowest < 0 {
		return fmt.Errorf("%d soundings: %w", len(s), ErrAllNegative)
	}
	return t.write(w, []string{"time", "lat", "lon", depthNames[ref], "temp_c", "speed_mps"})
}

// WriteEvents writes a catch log as CSV, in the order given: time, lat, lon, kind,
// species, count, length (m), weight (kg), the fish's depth below the surface (m),
// weight of the head (kg), length of the trailer (m), note. No event gives the header
// alone.
//
// Errors: one that names the row whose value is not finite, told before anything is
// written; those of w.
func WriteEvents(w io.Writer, e []ingest.Event) error {
	t := table{what: "event", n: len(e), row: func(r *row, i int) {
		x := &e[i]
		species := cellText(x.Species, false)
		if x.Kind == ingest.Catch && noFish[strings.ToLower(species)] {
			species = ""
		}
		r.instant(x.Time)
		r.position(x.HasPos, x.Pos[1], x.Pos[0])
		r.add(x.Kind.String())
		r.add(species)
		r.add(strconv.Itoa(x.Count))
		r.maybe("length", x.LengthM)
		r.maybe("weight", x.WeightKg)
		r.maybe("fish depth", x.FishM)
		r.maybe("head", x.HeadKg)
		r.maybe("trailer", x.TrailerM)
		r.add(cellText(x.Note, true))
	}}
	t.zone = dayZone(len(e), func(i int) time.Time { return e[i].Time })
	if err := t.check(); err != nil {
		return err
	}
	return t.write(w, catchHeader)
}

// WriteLevels writes water levels as CSV, in the order given: the time, or the day
// where only that is known, and the level in metres. The day of a level with a time
// is not written: the reader tells it by the zone that it is given. No level gives
// the header alone.
//
// Errors: one that names the row whose level is not finite, told before anything is
// written; those of w.
func WriteLevels(w io.Writer, l []ingest.Level) error {
	t := table{what: "level", n: len(l), zone: time.UTC, row: func(r *row, i int) {
		if x := &l[i]; x.Time.IsZero() {
			r.add(x.Date)
		} else {
			r.instant(x.Time)
		}
		r.number("level", l[i].LevelM)
	}}
	if err := t.check(); err != nil {
		return err
	}
	return t.write(w, levelHeader)
}

// WriteWinds writes winds as CSV, in the order given: time, speed in m/s, and the
// direction the wind blows from in degrees clockwise from true north. No wind gives
// the header alone.
//
// Errors: one that names the row whose speed or direction is not finite, told before
// anything is written; those of w.
func WriteWinds(w io.Writer, l []ingest.Wind) error {
	t := table{what: "wind", n: len(l), zone: time.UTC, row: func(r *row, i int) {
		r.instant(l[i].Time)
		r.number("speed", l[i].SpeedMPS)
		r.number("direction", l[i].FromDeg)
	}}
	if err := t.check(); err != nil {
		return err
	}
	return t.write(w, windHeader)
}

// table is n rows and how each is made.
type table struct {
	what string // one row, in words
	n    int
	zone *time.Location // in which times are shown
	row  func(r *row, i int)
}

// row is one line while it is put together.
type row struct {
	cells []string
	zone  *time.Location
	buf   []byte
	check bool  // only look for err
	err   error // of the first value that is none
}

// check looks at all rows, so that a bad one costs no half a file.
func (t *table) check() error {
	r := row{check: true}
	for i := range t.n {
		if t.row(&r, i); r.err != nil {
			return fmt.Errorf("%s %d: %w", t.what, i+1, r.err)
		}
	}
	return nil
}

func (t *table) write(w io.Writer, header []string) error {
	c := csv.NewWriter(w)
	if err := c.Write(header); err != nil {
		return err
	}
	r := row{zone: t.zone}
	for i := range t.n {
		r.cells = r.cells[:0]
		t.row(&r, i)
		if err := c.Write(r.cells); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func (r *row) add(cell string) {
	if !r.check {
		r.cells = append(r.cells, cell)
	}
}

func (r *row) number(what string, v float64) {
	if r.check {
		if r.err == nil {
			r.err = finite(what, v)
		}
		return
	}
	r.buf = appendNumber(r.buf[:0], v)
	r.add(string(r.buf))
}

func (r *row) maybe(what string, m ingest.Maybe) {
	if !m.OK {
		r.add("")
		return
	}
	r.number(what, m.V)
}

func (r *row) position(has bool, lat, lon float64) {
	r.maybe("lat", ingest.Maybe{V: lat, OK: has})
	r.maybe("lon", ingest.Maybe{V: lon, OK: has})
}

func (r *row) instant(t time.Time) {
	if r.check {
		return
	}
	if t.IsZero() {
		r.add("")
		return
	}
	r.buf = t.In(r.zone).AppendFormat(r.buf[:0], time.RFC3339Nano)
	r.add(string(r.buf))
}

// dayZone returns the zone to show times in: UTC, but an hour east of it when all
// of two and more times are midnight in UTC. The reader takes a log of midnights
// for one in which no clock was kept, and drops the times.
func dayZone(n int, at func(i int) time.Time) *time.Location {
	timed := 0
	for i := range n {
		t := at(i)
		if t.IsZero() {
			continue
		}
		timed++
		if t = t.UTC(); !t.Equal(t.Truncate(24 * time.Hour)) {
			return time.UTC
		}
	}
	if timed < 2 {
		return time.UTC
	}
	return time.FixedZone("", 3600)
}

// noFish are the words that the reader takes for a catch of none when they stand
// for the species: it sets such a row aside.
var noFish = map[string]bool{"none": true, "nil": true, "nothing": true, "no fish": true, "no catch": true, "kein": true, "keine": true, "keiner": true, "0": true}

var lineFeeds = strings.NewReplacer("\r\n", "\n", "\r", "\n")

// cellText returns a text as its cell holds it, see the package's comment.
func cellText(s string, breaks bool) string {
	s = strings.ToValidUTF8(s, string(utf8.RuneError))
	s = strings.TrimSpace(lineFeeds.Replace(s))
	if strings.Contains(s, "\n") && !(breaks && joins(s)) {
		s = strings.ReplaceAll(s, "\n", " ")
	}
	if s != "" && strings.IndexByte("=+-@", s[0]) >= 0 {
		s = " " + s
	}
	return s
}

// What the reader puts together to one row: lines behind the first, and on none of
// them as many commas as the header has, which look like the next row to it.
const mostBreaks = 50

// joins reports whether the reader puts the lines of a note, the last cell of its
// row, together again.
func joins(note string) bool {
	lines := strings.Split(note, "\n")
	return len(lines)-1 <= mostBreaks && !slices.ContainsFunc(lines[1:], func(l string) bool { return strings.Count(l, ",") >= len(catchHeader)-1 })
}
