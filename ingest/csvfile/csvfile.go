// Package csvfile reads tables of comma-, semicolon-, tab- or bar-separated
// values: depth logs, catch logs and water levels, told apart by their headers.
package csvfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Recognise reports whether head, the first bytes of a file, holds the header of a
// table: a line of which two cells are known column names. Read takes such a file,
// or refuses it with an error that says what the columns lack. 64 KiB of head are
// enough.
func Recognise(head []byte) bool {
	text, _ := io.ReadAll(decoded(bytes.NewReader(head)))
	_, ok := findHeader(text)
	return ok
}

// Read reads one table; name is used in messages and in Source.
//
// The header is the first line of which two cells are known column names; lines
// above it are passed over. A table with a depth and a time or a position is a
// depth log and gives Soundings; one with columns of a catch gives Events, its
// depth being the fish's below the surface; one with a level gives Levels. Units
// stand in the header; opt.DepthUnit serves depths without one. Depths and levels
// whose unit nobody says make the file refused; other columns without a unit are
// not used, which is said once.
//
// Times without a zone take opt.Zone, and without that the file is refused.
// Dates that may be day or month first are settled by the whole column, or the
// file is refused. opt.ClockOffset is added to every time. A record may lack its
// time or its position, not both.
//
// A row that can't be used is set aside with a Problem; a bad value beside good
// ones costs only itself. Problems are in the order of lines. Memory is that of
// the records: rows are not kept.
//
// The error is not nil when r fails, when no header is understood, and when a
// unit, a zone or an order of dates is not known, as said above.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	in := bufio.NewReaderSize(decoded(r), headBytes)
	head, err := in.Peek(headBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	h, ok := findHeader(head)
	if !ok {
		return ingest.Records{}, noHeader(name, head)
	}
	t, err := newTable(name, opt, h)
	if err != nil {
		return ingest.Records{}, err
	}
	if _, err := in.Discard(h.bytes); err != nil {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	if err := t.read(in, h.line); err != nil {
		return ingest.Records{}, err
	}
	return t.out, nil
}

// table is one file while it is read.
type table struct {
	name      string
	opt       ingest.ReadOptions
	kind      kind
	delimiter byte
	columns   []column
	at        [roles]int // column of each role, -1 when there is none
	clock     clock
	out       ingest.Records

	row      []string
	line     int
	problems []ingest.Problem // of the row at hand
}

func newTable(name string, opt ingest.ReadOptions, h header) (*table, error) {
	t := &table{name: name, opt: opt, delimiter: h.delimiter, columns: h.columns, clock: clock{opt: opt}}
	for i := range t.at {
		t.at[i] = -1
	}
	for i := range t.columns {
		c := &t.columns[i]
		if c.role == unknown {
			continue
		}
		if first := t.at[c.role]; first >= 0 {
			t.fileProblem(c.name, "", "one column for the "+meanings[c.role].readAs+"; "+strconv.Quote(t.columns[first].name)+" is used, this one not", ingest.ErrShape)
			c.role = unknown
			continue
		}
		t.at[c.role] = i
	}
	has := func(r role) bool { return t.at[r] >= 0 }
	switch t.kind = kindOf(has); t.kind {
	case noTable:
		return nil, fmt.Errorf("%s:%d: header %q is of no table known here; %s", name, h.line, t.headerText(), accepted)
	case windTable:
		return nil, fmt.Errorf("%s:%d: header %q is that of a wind table; wind is not used yet, leave the file out", name, h.line, t.headerText())
	}
	if t.kind == catchLog && !has(colFishDepth) && has(colDepth) {
		t.at[colFishDepth], t.at[colDepth] = t.at[colDepth], -1
		t.columns[t.at[colFishDepth]].role = colFishDepth
	}
	t.drop()
	if has(colLat) != has(colLon) {
		t.lose(colLat, "lon beside it; column not used", ingest.ErrMissing)
		t.lose(colLon, "lat beside it; column not used", ingest.ErrMissing)
	}
	for _, r := range [...]role{colTime, colDate, colClock} {
		if has(r) && t.columns[t.at[r]].utc {
			t.clock.utc = true
		}
	}
	return t, t.settleUnits()
}

// uses lists what each kind of table reads.
var uses = [...][]role{
	depthLog:   {colTime, colDate, colClock, colLat, colLon, colDepth, colTemp, colSpeed},
	catchLog:   {colTime, colDate, colClock, colLat, colLon, colFishDepth, colKind, colSpecies, colCount, colLength, colWeight, colHead, colTrailer, colNote},
	levelTable: {colTime, colDate, colClock, colLevel},
}

// drop forgets the columns that this kind of table doesn't use.
func (t *table) drop() {
	used := [roles]bool{}
	for _, r := range uses[t.kind] {
		used[r] = true
	}
	for r := range t.at {
		if i := t.at[r]; i >= 0 && !used[r] {
			t.columns[i].role = unknown
			t.at[r] = -1
		}
	}
}

// lose gives up a column and says so.
func (t *table) lose(r role, wanted string, kind error) {
	if i := t.at[r]; i >= 0 {
		t.fileProblem(t.columns[i].name, "", wanted, kind)
		t.columns[i].role = unknown
		t.at[r] = -1
	}
}

// settleUnits gives the columns of quantities their units, as far as they are said.
func (t *table) settleUnits() error {
	said := t.opt.DepthUnit
	if said != "" {
		short, ok := si.Length.Unit(said)
		if !ok {
			return fmt.Errorf("%s: depth unit %q is unknown, wanted m, ft or fathom", t.name, said)
		}
		said = short
	}
	for i := range t.columns {
		c := &t.columns[i]
		if meanings[c.role].quantity == nil || c.unit != "" {
			continue
		}
		if c.unit, c.by = said, byHeader; said == "" || c.role != colDepth && c.role != colFishDepth {
			c.unit, c.by = "", byFirstCell
		}
	}
	return nil
}

func (t *table) headerText() string {
	var names []string
	for _, c := range t.columns {
		names = append(names, c.name)
	}
	return clip(strings.Join(names, string(t.delimiter)))
}

// nameOf returns how the header spells the column of a role.
func (t *table) nameOf(r role) string {
	if i := t.at[r]; i >= 0 {
		return t.columns[i].name
	}
	return meanings[r].readAs
}

// fileProblem notes what concerns a whole column.
func (t *table) fileProblem(field, found, wanted string, kind error) {
	t.out.Problems = append(t.out.Problems, ingest.Problem{File: t.name, Field: field, Found: found, Wanted: wanted, Outcome: ingest.InDoubt, Kind: kind})
}

// problem notes what is wrong with the row at hand.
func (t *table) problem(field, found, wanted string, kind error, o ingest.Outcome) {
	t.problems = append(t.problems, ingest.Problem{File: t.name, Line: t.line, Field: field, Found: found, Wanted: wanted, Outcome: o, Kind: kind})
}

// read reads all rows below the header, which is at line headerLine.
func (t *table) read(in *bufio.Reader, headerLine int) error {
	feed := &lines{in: in, delimiter: t.delimiter, delimits: len(t.columns) - 1, line: headerLine}
	rows := newCSV(feed, t.delimiter)
	record := [...]func() error{depthLog: t.depthRow, catchLog: t.catchRow, levelTable: t.levelRow}[t.kind]
	for {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		// Rows come whole and quotes are read loosely: what is left is r's own failure.
		if err != nil {
			return fmt.Errorf("%s: %w", t.name, err)
		}
		if blank(row) {
			continue
		}
		n, _ := rows.FieldPos(0)
		t.row, t.line = row, headerLine+n
		if t.shape(feed.openEnd) {
			if err := record(); err != nil {
				return err
			}
		}
		t.tally()
	}
	for _, b := range feed.bad {
		t.line = b.no
		t.problem("", b.text, b.wanted, ingest.ErrShape, ingest.SetAside)
		t.tally()
	}
	return t.finish()
}

// blank reports whether a row holds nothing at all: a line of delimiters that a
// spreadsheet left.
func blank(row []string) bool {
	for _, c := range row {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

// shape reports whether the row has the cells that its header promises. Logs are
// written by machines: a short row there has lost something, and what is left may
// stand in the wrong column. In a table typed by hand the last cells may be left out.
func (t *table) shape(openEnd int) bool {
	n := len(t.row)
	for n > len(t.columns) && strings.TrimSpace(t.row[n-1]) == "" {
		n--
	}
	if n == len(t.columns) || n < len(t.columns) && t.kind != depthLog {
		return true
	}
	wanted := fmt.Sprintf("%d cells as in the header", len(t.columns))
	if n < len(t.columns) && t.line == openEnd {
		t.problem("", "", wanted, ingest.ErrTruncated, ingest.SetAside)
	} else {
		t.problem("", clip(strings.Join(t.row, string(t.delimiter))), wanted+", not "+strconv.Itoa(n), ingest.ErrShape, ingest.SetAside)
	}
	return false
}

// tally counts the row at hand by its problems. Those of a row that is set aside
// all say so.
func (t *table) tally() {
	o := ingest.InDoubt
	for _, p := range t.problems {
		o = min(o, p.Outcome)
	}
	for i := range t.problems {
		if o == ingest.SetAside {
			t.problems[i].Outcome = o
		}
	}
	t.out.Problems = append(t.out.Problems, t.problems...)
	t.problems = t.problems[:0]
	s := &t.out.Source
	s.RowsRead++
	switch o {
	case ingest.SetAside:
		s.SetAside++
	case ingest.Repaired:
		s.Repaired++
	default:
		s.Used++
	}
}

// finish settles what only the whole file can settle.
func (t *table) finish() error {
	err := t.clock.finish(t.name, func(i int, m moment) {
		switch t.kind {
		case depthLog:
			t.out.Soundings[i].Time = m.time
		case catchLog:
			t.out.Events[i].Time = m.time
		case levelTable:
			t.setLevelTime(&t.out.Levels[i], m)
		}
	})
	if err != nil {
		return err
	}
	if c := t.clock; c.doubts > 0 {
		t.out.Problems = append(t.out.Problems, ingest.Problem{File: t.name, Line: c.doubt.line, Field: "time", Found: c.doubt.text, Outcome: ingest.InDoubt, Kind: ingest.ErrTime,
			Wanted: "a zone behind it: when clocks change it is shown twice or never; read as before the change in " + strconv.Itoa(c.doubts) + " rows"})
	}
	sort.SliceStable(t.out.Problems, func(i, j int) bool { return t.out.Problems[i].Line < t.out.Problems[j].Line })
	s := &t.out.Source
	s.Name, s.TakenFor = t.name, takenFor[t.kind]
	for _, c := range t.columns {
		out := ingest.Column{Name: c.name}
		if c.role != unknown && c.by != byNobody {
			out.ReadAs, out.Unit = meanings[c.role].readAs, c.unit
			switch {
			case c.role == colLat || c.role == colLon:
				out.Unit = "deg"
			case c.by == byCell:
				out.Unit = "in the cells"
			case c.utc:
				out.Unit = "UTC"
			}
		}
		s.Columns = append(s.Columns, out)
	}
	if t.opt.ClockOffset != 0 {
		s.ClockOffsetS = ingest.Known(t.opt.ClockOffset.Seconds())
	}
	return nil
}
