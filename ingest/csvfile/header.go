package csvfile

import (
	"strconv"
	"strings"
	"unicode"
)

// kind is what a table is, by its columns.
type kind uint8

const (
	noTable kind = iota
	depthLog
	catchLog
	levelTable
	windTable
)

var takenFor = [...]string{"", "CSV depth log", "CSV catch log", "CSV water levels", "CSV wind table"}

// kindOf settles what a table is. A note, a count or a column called type is found
// in depth logs too, so beside a depth they don't make a catch log alone.
func kindOf(has func(role) bool) kind {
	when := has(colTime) || has(colDate) || has(colClock)
	placed := when || has(colLat) && has(colLon)
	catches := has(colSpecies) || has(colLength) || has(colWeight) || has(colHead) || has(colTrailer) || has(colFishDepth)
	catches = catches || !has(colDepth) && (has(colKind) || has(colCount) || has(colNote))
	switch {
	case catches && placed:
		return catchLog
	case has(colDepth) && placed:
		return depthLog
	case has(colLevel) && when:
		return levelTable
	case has(colWind) && has(colWindFrom) && when:
		return windTable
	}
	return noTable
}

// header is where a table begins and how it is laid out.
type header struct {
	at        int // index of its line among those given; -1 when the table has none
	line      int // 1-based; 0 when the table has none
	delimiter delimiter
	columns   []column
	roles     int    // different roles among the columns
	table     bool   // the columns make a table
	first     string // first row below it
}

// headBytes is how far a header is looked for: preambles of over 70 lines occur.
const headBytes = 64 << 10

var delimiters = [...]delimiter{',', ';', '\t', '|', twoBlank, blanks}

// findHeader finds the first line whose cells are the columns of a table; failing
// that, the first of which at least two cells are known names or words of a grid,
// so that a message can say what it lacks; failing that, rows without a header,
// whose columns only a person can name. ok is false when there is none of these.
func findHeader(lines []rawLine, said sayings) (h header, ok bool) {
	for i, line := range lines {
		if line.long || strings.TrimSpace(line.text) == "" {
			continue
		}
		best := header{}
		for _, d := range delimiters {
			cells := d.split(nil, strings.TrimLeft(strings.TrimSpace(line.text), "#%"))
			if len(cells) < 2 {
				continue
			}
			columns, named := said.columns(cells)
			known := [roles]bool{}
			n := 0
			for _, c := range columns {
				if c.role != unknown && !known[c.role] {
					known[c.role] = true
					n++
				}
			}
			if n < 2 && !isGrid(columns) {
				continue
			}
			// Prose and settings hold two such words too: below a header stand its rows.
			if (d.wide() || named < 2) && (!wordy(cells) || fit(lines[i+1:], d, len(cells)) == 0) {
				continue
			}
			c := header{at: i, line: line.no, delimiter: d, columns: columns, roles: n, table: kindOf(func(r role) bool { return known[r] }) != noTable, first: firstRow(lines[i+1:])}
			if best.columns == nil || c.table && !best.table || c.table == best.table && c.roles > best.roles {
				best = c
			}
		}
		if best.table {
			return best, true
		}
		if h.columns == nil {
			h = best
		}
	}
	if h.columns != nil {
		return h, true
	}
	return headless(lines, said)
}

// headless lays out rows without a header, by the delimiter that makes the most
// numbers and times of the first lines.
func headless(lines []rawLine, said sayings) (header, bool) {
	var first []rawLine
	for _, l := range lines {
		if !l.long && !isComment(l.text) && strings.TrimSpace(l.text) != "" {
			first = append(first, l)
		}
		if len(first) == 20 {
			break
		}
	}
	best, most := header{}, 0
	for _, d := range delimiters {
		if len(first) < 2 {
			break
		}
		cells := d.split(nil, first[0].text)
		good := 0
		for _, l := range first {
			row := d.split(nil, l.text)
			values := 0
			for _, c := range row {
				if isValue(c) {
					values++
				}
			}
			if len(row) == len(cells) && values >= 2 && strings.IndexByte(" \t\"+-.0123456789", l.text[0]) >= 0 {
				good += values
			}
		}
		if good > most && good >= 2*len(first) && len(cells) >= 2 {
			names := make([]string, len(cells))
			for i := range names {
				names[i] = strconv.Itoa(i + 1)
			}
			columns, _ := said.columns(names)
			known := [roles]bool{}
			for _, c := range columns {
				known[c.role] = true
			}
			best, most = header{at: -1, delimiter: d, columns: columns, table: kindOf(func(r role) bool { return known[r] }) != noTable, first: first[0].text}, good
		}
	}
	return best, most > 0
}

// isValue reports whether a cell holds a time with its date, or a number with a
// fraction, as positions and depths have.
func isValue(cell string) bool {
	cell = strings.TrimSpace(cell)
	if _, ok := fastFloat(strings.Replace(cell, ",", ".", 1)); ok {
		return strings.ContainsAny(cell, ".,")
	}
	st, err := parseStamp(cell, anyCell)
	return err == nil && st.hasClock && st.hasDate
}

// isGrid reports whether columns have the names of a plane's axes, which don't say
// where on Earth.
func isGrid(columns []column) bool {
	x, y := gridAxes(columns)
	return x >= 0 && y >= 0
}

// gridAxes returns the columns of the axes, -1 when there is none.
func gridAxes(columns []column) (x, y int) {
	x, y = -1, -1
	for i, c := range columns {
		if c.role != unknown || c.said {
			continue
		}
		switch plain(c.name) {
		case "x", "easting", "east", "rechtswert":
			x = i
		case "y", "northing", "north", "hochwert":
			y = i
		}
	}
	return x, y
}

// wordy reports whether most cells are words.
func wordy(cells []string) bool {
	n := 0
	for _, c := range cells {
		if c = strings.TrimSpace(c); c != "" && strings.IndexFunc(c, unicode.IsLetter) >= 0 && (c[0] < '0' || c[0] > '9') {
			n++
		}
	}
	return 2*n > len(cells)
}

// fit counts those of the first five rows that have so many cells, half of them
// beginning like a number, or more where blanks separate them.
func fit(lines []rawLine, d delimiter, cells int) (n int) {
	seen := 0
	for _, l := range lines {
		if l.long || isComment(l.text) || strings.TrimSpace(l.text) == "" {
			continue
		}
		if seen++; seen > 5 {
			break
		}
		row := d.split(nil, l.text)
		values := 0
		for _, c := range row {
			if c = strings.TrimSpace(c); missing(c) || strings.ContainsRune("+-.0123456789", rune(c[0])) {
				values++
			}
		}
		if len(row) == cells && (2*values > len(row) || 2*values == len(row) && !d.wide()) {
			n++
		}
	}
	return n
}

func firstRow(lines []rawLine) string {
	for _, l := range lines {
		if !isComment(l.text) && strings.TrimSpace(l.text) != "" {
			return l.text
		}
	}
	return ""
}

func isComment(text string) bool {
	return text != "" && (text[0] == '#' || text[0] == '%' || text[0] == '!' || strings.HasPrefix(text, "//"))
}
