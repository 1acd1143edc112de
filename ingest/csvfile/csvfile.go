// Package csvfile reads tables whose cells are separated by commas, semicolons,
// tabs, bars or blanks: depth logs, catch logs, water levels and winds, told apart
// by their headers.
package csvfile

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Recognise reports whether head, the first bytes of a file, holds a table: a line
// of which two cells are known column names or the axes x and y, or rows of numbers
// and times without a header. Read takes such a file, or refuses it with an error
// that says what the columns lack. 64 KiB of head are enough.
func Recognise(head []byte) bool { return RecogniseAs(head, nil) }

// RecogniseAs is Recognise for columns that a person said as in
// ingest.ReadOptions: it also finds a header of which only they are known.
func RecogniseAs(head []byte, columns map[string]string) bool {
	said, _ := newSayings(columns) // Read says what is wrong with them
	_, ok := findHeader(headLines(newLineReader(decoded(bytes.NewReader(head)))), said)
	return ok
}

// headLines reads lines up to headBytes.
func headLines(in *lineReader) (lines []rawLine) {
	for n := 0; n < headBytes; {
		l, ok := in.next()
		if !ok {
			break
		}
		lines = append(lines, l)
		n += len(l.text) + 1
	}
	return lines
}

// Read reads one table; name is used in messages and in Source.
//
// The header is the first line of which two cells are known column names, or said
// by opt.Columns; lines above it are passed over, and so are comments below it
// and the header where it comes again. A row of units may stand under it. A table
// with a depth and a time or a position is a depth log and gives Soundings; one with
// columns of a catch gives Events, its depth being the fish's below the surface; one
// with a level gives Levels; one with a wind's speed and direction gives Winds. Of
// two columns for one thing the one with the plainer name is read, and that is said.
//
// Units stand in the header; opt.DepthUnit serves depths without one. Depths, levels
// and winds whose unit nobody says make the file refused; other columns without a
// unit are not used, which is said once. Depths that are all zero or negative are
// taken as positive down.
//
// Times without a zone take opt.Zone, and without that the file is refused.
// Dates that may be year, day or month first are settled by the whole column, else
// by opt.DateOrder, or the file is refused. opt.ClockOffset is added to every time.
// A record may lack its time or its position, not both. What the order of the rows
// tells of a clock is used and said: see sequence.
//
// A row that can't be used is set aside with a Problem; a bad value beside good
// ones costs only itself. Problems are in the order of lines, at most mostProblems
// of them and one that counts the rest. Memory is that of the records: rows are
// not kept.
//
// The error is not nil when r fails, when no header is understood, when a unit, a
// zone or an order of dates is not known, as said above, when most positions can't
// be degrees, and when no row has the header's number of cells.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	said, err := newSayings(opt.Columns)
	if err != nil {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	if _, known := orderFlags[opt.DateOrder]; !known && opt.DateOrder != "" {
		return ingest.Records{}, fmt.Errorf("%s: order of dates %q is unknown, wanted ymd, dmy or mdy", name, opt.DateOrder)
	}
	in := newLineReader(decoded(r))
	lines := headLines(in)
	if err := in.failed(); err != nil {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	h, ok := findHeader(lines, said)
	if !ok {
		return ingest.Records{}, noHeader(name, lines)
	}
	if !h.table {
		return ingest.Records{}, h.refuse(name)
	}
	for i := len(h.columns); i < said.places; i++ { // more cells than names
		c := said.byPlace[i]
		c.name = strconv.Itoa(i + 1)
		h.columns = append(h.columns, c)
	}
	t, err := newTable(name, opt, h)
	if err != nil {
		return ingest.Records{}, err
	}
	t.settings(lines[:max(h.at, 0)])
	if err := t.read(&rowReader{lines: in, delimiter: h.delimiter, delimits: len(h.columns) - 1, ahead: lines[h.at+1:]}); err != nil {
		return ingest.Records{}, err
	}
	return t.out, nil
}

// table is one file while it is read.
type table struct {
	name      string
	opt       ingest.ReadOptions
	kind      kind
	delimiter delimiter
	columns   []column
	at        [roles]int // column of each role, -1 when there is none
	rivals    []rival    // other columns of depths
	clock     clock
	out       ingest.Records
	soundings chunks // of out, until all are read

	row      []string
	raw      rawRow
	line     int
	problems []ingest.Problem // of the row at hand
	unlisted unlisted

	zeros            counted // rows at 0, 0
	misshapen        counted // rows that have not the header's cells
	misshapenCells   int     // how many cells these have, -1 when they differ
	positions, far   int     // positions that are numbers; of them, those no degrees can be
	farFirst         evidence
	shallow, deepest float64 // extremes of the depths as written, in metres
	behindHeader     bool    // the row above was the header again
}

// rival is a column of depths beside the one that is read.
type rival struct {
	column int
	differ counted
}

// counted is how often something was met, and where first.
type counted struct {
	evidence
	rows int
}

func (c *counted) add(line int, text string) {
	if c.rows == 0 {
		c.evidence = evidence{line, strings.Clone(text)}
	}
	c.rows++
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
		if first := t.at[c.role]; first < 0 || c.plainer(&t.columns[first]) {
			t.at[c.role] = i
		}
	}
	has := func(r role) bool { return t.at[r] >= 0 }
	t.kind = kindOf(has)
	for i := range t.columns {
		c := &t.columns[i]
		if c.role == unknown || t.at[c.role] == i {
			continue
		}
		t.fileSaid(c.name, fmt.Sprintf("not read, as %q is the %s already", t.columns[t.at[c.role]].name, meanings[c.role].readAs), ingest.ErrShape)
		if c.role == colDepth && t.kind == depthLog {
			t.rivals = append(t.rivals, rival{column: i})
		} else {
			c.role = unknown
		}
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
	return t, t.checkUnit()
}

// plainer reports whether a column is to be read rather than another for the same
// thing: one that a person named, a time in UTC, one with a unit, one whose name is
// plainer.
func (c *column) plainer(than *column) bool {
	for _, by := range [...][2]bool{{c.said, than.said}, {c.utc, than.utc}, {c.rank < than.rank, c.rank > than.rank}, {c.unit != "", than.unit != ""}} {
		if by[0] != by[1] {
			return by[0]
		}
	}
	return false
}

// uses lists what each kind of table reads.
var uses = [...][]role{
	depthLog:   {colTime, colDate, colClock, colLat, colLon, colLatSide, colLonSide, colDepth, colTemp, colSpeed},
	catchLog:   {colTime, colDate, colClock, colLat, colLon, colLatSide, colLonSide, colFishDepth, colKind, colSpecies, colCount, colLength, colWeight, colHead, colTrailer, colNote},
	levelTable: {colTime, colDate, colClock, colLevel},
	windTable:  {colTime, colDate, colClock, colWind, colWindFrom},
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

// checkUnit puts the unit that a person said for depths into its short form.
func (t *table) checkUnit() error {
	if t.opt.DepthUnit == "" {
		return nil
	}
	short, ok := si.Length.Unit(t.opt.DepthUnit)
	if !ok {
		return fmt.Errorf("%s: depth unit %q is unknown, wanted m, ft or fathom", t.name, t.opt.DepthUnit)
	}
	t.opt.DepthUnit = short
	return nil
}

// settleUnits gives the columns of quantities their units, as far as they are said.
func (t *table) settleUnits() {
	for i := range t.columns {
		c := &t.columns[i]
		if meanings[c.role].quantity == nil || c.unit != "" {
			continue
		}
		c.by = byFirstCell
		if t.opt.DepthUnit != "" && (c.role == colDepth || c.role == colFishDepth) {
			c.unit, c.by = t.opt.DepthUnit, byHeader
		}
	}
}

// units takes the row at hand as units under the header, when it holds no value and
// a unit or a zone of its column. The error is that it contradicts the header.
func (t *table) units() (ok bool, err error) {
	if len(t.row) > len(t.columns) || strings.IndexFunc(t.raw.text, unicode.IsDigit) >= 0 {
		return false, nil
	}
	type finding struct {
		at int
		c  column
	}
	var found []finding
	for i, cell := range t.row {
		c := column{spelling: t.columns[i].spelling}
		words := strings.Fields(strings.Trim(strings.TrimSpace(cell), "()[]{}"))
		if c.role != unknown && len(words) > 0 && c.say(words, true) && (c.unit != "" || c.utc) {
			found = append(found, finding{i, c})
		}
	}
	for _, f := range found {
		c := &t.columns[f.at]
		if c.unit != "" && f.c.unit != "" && c.unit != f.c.unit {
			return true, fmt.Errorf("%s:%d: the row under the header says %s for %q; wanted one unit", t.name, t.line, f.c.unit, c.name)
		}
		if f.c.unit != "" {
			c.unit = f.c.unit
		}
		c.utc = c.utc || f.c.utc
		t.clock.utc = t.clock.utc || f.c.utc
	}
	return len(found) > 0, nil
}

// settings says which line above the header sets the depth off and is not applied.
func (t *table) settings(above []rawLine) {
	for _, l := range above {
		lower := strings.ToLower(l.text)
		for _, w := range [...]string{"depth", "offset", "transducer", "keel", "draft", "draught"} {
			if strings.Contains(lower, w) && strings.IndexFunc(l.text, unicode.IsDigit) >= 0 {
				t.said(l.no, "", fmt.Sprintf("setting above the header, not applied: %q", clip(strings.TrimSpace(l.text))), ingest.ErrShape)
				break
			}
		}
	}
}

// nameOf returns how the header spells the column of a role.
func (t *table) nameOf(r role) string {
	if i := t.at[r]; i >= 0 {
		return t.columns[i].name
	}
	return meanings[r].readAs
}

// read reads all rows.
func (t *table) read(rows *rowReader) error {
	record := [...]func() error{depthLog: t.depthRow, catchLog: t.catchRow, levelTable: t.levelRow, windTable: t.windRow}[t.kind]
	for first := true; ; {
		var ok bool
		if t.raw, ok = rows.next(); !ok {
			break
		}
		t.line = t.raw.no
		if t.raw.wanted != "" {
			t.problem("", t.raw.text, t.raw.wanted, ingest.ErrShape, ingest.SetAside)
			t.tally()
			continue
		}
		t.row = t.delimiter.split(t.row[:0], t.raw.text)
		if blank(t.row) {
			continue
		}
		if first || t.behindHeader {
			isUnits, err := t.units()
			if err != nil {
				return err
			}
			if first {
				t.settleUnits()
			}
			first, t.behindHeader = false, false
			if isUnits {
				continue
			}
		}
		if t.shape() {
			if err := record(); err != nil {
				return err
			}
		}
		if len(t.problems) > 0 {
			again, err := t.headerAgain()
			if err != nil {
				return err
			}
			if again {
				t.problems, t.behindHeader = t.problems[:0], true
				continue
			}
		}
		t.tally()
	}
	if err := rows.lines.failed(); err != nil {
		return fmt.Errorf("%s: %w", t.name, err)
	}
	return t.finish()
}

// headerAgain reports whether the row at hand, with which something is wrong, is the
// header again. The error is that it is another header.
func (t *table) headerAgain() (bool, error) {
	if first := strings.TrimSpace(t.row[0]); first != "" && first[0] >= '0' && first[0] <= '9' {
		return false, nil // as most rows begin; a name doesn't
	}
	columns, _ := sayings{}.columns(t.row)
	if sameColumns(columns, t.columns) {
		if t.misshapen.line == t.line {
			t.misshapen = counted{}
		}
		return true, nil
	}
	known := [roles]bool{}
	for _, c := range columns {
		known[c.role] = true
	}
	if wordy(t.row) && kindOf(func(r role) bool { return known[r] }) != noTable {
		return false, fmt.Errorf("%s:%d: here begins another table, with the header %q; wanted one table in a file", t.name, t.line, clip(t.raw.text))
	}
	return false, nil
}

// blank reports whether a row holds nothing at all: a line of delimiters that a
// spreadsheet left.
func blank(row []string) bool {
	for _, c := range row {
		if c != "" && (c[0] > ' ' || strings.TrimSpace(c) != "") {
			return false
		}
	}
	return true
}

// shape reports whether the row has the cells that its header promises. Logs are
// written by machines: a short row there has lost something, and what is left may
// stand in the wrong column. In a table typed by hand the last cells may be left out.
func (t *table) shape() bool {
	n := len(t.row)
	for n > len(t.columns) && strings.TrimSpace(t.row[n-1]) == "" {
		n--
	}
	if n == len(t.columns) || n < len(t.columns) && t.kind != depthLog {
		return true
	}
	wanted := fmt.Sprintf("%d cells as in the header", len(t.columns))
	if n < len(t.columns) && t.raw.open {
		t.problem("", "", wanted, ingest.ErrTruncated, ingest.SetAside)
		return false
	}
	t.problem("", clip(t.raw.text), wanted+", not "+strconv.Itoa(n), ingest.ErrShape, ingest.SetAside)
	if t.misshapen.rows == 0 {
		t.misshapenCells = n
	} else if t.misshapenCells != n {
		t.misshapenCells = -1
	}
	t.misshapen.add(t.line, clip(t.raw.text))
	return false
}
