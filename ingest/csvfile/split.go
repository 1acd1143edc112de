package csvfile

import (
	"strings"
	"unicode"
)

// delimiter is what stands between the cells of a row: one of the bytes , ; tab
// and |, or blanks.
type delimiter byte

const (
	blanks   delimiter = ' '  // one or more blanks or tabs
	twoBlank delimiter = '\v' // two or more blanks, so that a name or a time may hold one; or a tab
)

// wide reports whether blanks are between cells.
func (d delimiter) wide() bool { return d == blanks || d == twoBlank }

// split appends the cells of a row to cells. Quotes are read as encoding/csv reads
// them with LazyQuotes and TrimLeadingSpace (but between tabs, where that would
// trim the empty cells away), and a test holds it to that package: splitting by it
// takes three times as long as all the rest of a row.
func (d delimiter) split(cells []string, row string) []string {
	if d.wide() {
		return d.splitBlanks(cells, row)
	}
	if strings.IndexByte(row, '"') < 0 {
		for {
			i := strings.IndexByte(row, byte(d))
			if i < 0 {
				return append(cells, d.trimLeft(row))
			}
			cells = append(cells, d.trimLeft(row[:i]))
			row = row[i+1:]
		}
	}
	for {
		row = d.trimLeft(row)
		if !strings.HasPrefix(row, `"`) {
			i := strings.IndexByte(row, byte(d))
			if i < 0 {
				return append(cells, row)
			}
			cells = append(cells, row[:i])
			row = row[i+1:]
			continue
		}
		cell, rest, more := d.quoted(row[1:])
		cells = append(cells, cell)
		if !more {
			return cells
		}
		row = rest
	}
}

// quoted reads a cell behind its opening quote, and returns what is behind the
// delimiter that follows; more is false when none does.
func (d delimiter) quoted(row string) (cell, rest string, more bool) {
	var b strings.Builder
	for {
		i := strings.IndexByte(row, '"')
		if i < 0 {
			return b.String() + row, "", false
		}
		b.WriteString(row[:i])
		row = row[i+1:]
		switch {
		case row == "":
			return b.String(), "", false
		case row[0] == byte(d):
			return b.String(), row[1:], true
		case row[0] == '"':
			b.WriteByte('"')
			row = row[1:]
		default:
			b.WriteByte('"') // not a closing one
		}
	}
}

func (d delimiter) trimLeft(s string) string {
	if d == '\t' || s == "" || s[0] > ' ' && s[0] < 0x80 {
		return s
	}
	return strings.TrimLeftFunc(s, unicode.IsSpace)
}

func (d delimiter) splitBlanks(cells []string, row string) []string {
	row = strings.Trim(row, " \t")
	least := 1
	if d == twoBlank {
		least = 2
	}
	begin := 0
	for i := 0; i < len(row); {
		if row[i] != ' ' && row[i] != '\t' {
			i++
			continue
		}
		end, tab := i, false
		for end < len(row) && (row[end] == ' ' || row[end] == '\t') {
			tab = tab || row[end] == '\t'
			end++
		}
		if end-i >= least || tab {
			cells = append(cells, strings.Trim(row[begin:i], `"`))
			begin = end
		}
		i = end
	}
	return append(cells, strings.Trim(row[begin:], `"`))
}

// openQuote reports whether a row ends inside a quoted cell.
func (d delimiter) openQuote(row string) bool {
	for {
		row = d.trimLeft(row)
		if strings.HasPrefix(row, `"`) {
			closed := false
			for row = row[1:]; !closed; {
				i := strings.IndexByte(row, '"')
				if i < 0 {
					return true
				}
				row = row[i+1:]
				switch {
				case row == "":
					return false
				case row[0] == byte(d):
					closed = true
				case row[0] == '"':
					row = row[1:]
				}
			}
			row = row[1:]
			continue
		}
		i := strings.IndexByte(row, byte(d))
		if i < 0 {
			return false
		}
		row = row[i+1:]
	}
}

// text returns what a message puts between cells.
func (d delimiter) text() string {
	if d == twoBlank {
		return "  "
	}
	return string(rune(d))
}
