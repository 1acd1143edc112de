package csvfile

import (
	"bytes"
	"errors"
	"io"
	"strings"
)

// lineBytes bounds one line, joinLines the lines of one quoted cell.
const (
	lineBytes = 1 << 20
	joinLines = 50
)

// mostReturns bounds how many carriage returns before a line feed count as one
// line break with it: fewer than that do.
const mostReturns = 16

// rawLine is one line of text.
type rawLine struct {
	no   int    // 1-based
	text string // without its line break; of a line too long its beginning
	long bool   // longer than lineBytes
	open bool   // the file ends without a line break behind it
}

// lineReader splits text into lines. A line ends with a line feed, which may have
// carriage returns before it, or with a carriage return alone.
type lineReader struct {
	in         io.Reader
	buf        []byte
	start, end int // what is read and not yet given out
	feed       int // first line feed from start on when hasFeed, else there is none before it
	hasFeed    bool
	no         int // of the last line given out
	err        error
}

func newLineReader(in io.Reader) *lineReader {
	return &lineReader{in: in, buf: make([]byte, 64<<10)}
}

// next returns the next line; ok is false at the end of the text, and when in
// fails: failed then says so.
func (l *lineReader) next() (r rawLine, ok bool) {
	for {
		if n, behind, found := l.find(); found {
			r = rawLine{text: string(l.buf[l.start : l.start+n])}
			l.start += behind
			break
		}
		if l.err != nil {
			if l.start == l.end {
				return r, false
			}
			r = rawLine{text: strings.TrimRight(string(l.buf[l.start:l.end]), "\r"), open: true}
			l.start = l.end
			break
		}
		if l.end-l.start > lineBytes {
			r = l.skip()
			break
		}
		l.more()
	}
	l.no++
	r.no = l.no
	if len(r.text) > lineBytes {
		r.text, r.long = strings.Clone(r.text[:rowBytes]), true
	}
	return r, true
}

// find looks for the end of the line at start: n bytes long, the next line begins
// behind bytes on.
func (l *lineReader) find() (n, behind int, found bool) {
	if !l.hasFeed || l.feed < l.start {
		from := max(l.start, l.feed)
		i := bytes.IndexByte(l.buf[from:l.end], '\n')
		if l.hasFeed = i >= 0; l.hasFeed {
			l.feed = from + i
		} else {
			l.feed = l.end
		}
	}
	text := l.buf[l.start:l.feed]
	cr := bytes.IndexByte(text, '\r')
	switch {
	case cr < 0 && !l.hasFeed:
		return 0, 0, false
	case cr < 0:
		return len(text), len(text) + 1, true
	}
	after := cr + 1
	for after < len(text) && text[after] == '\r' && after-cr < mostReturns {
		after++
	}
	switch {
	case after-cr >= mostReturns: // whether a line feed is in sight yet or not
		return cr, cr + 1, true
	case after == len(text) && l.hasFeed:
		return cr, after + 1, true
	case after < len(text) || l.err != nil:
		return cr, cr + 1, true
	}
	return 0, 0, false // a line feed may follow
}

// more reads into the buffer, growing it up to one line.
func (l *lineReader) more() {
	if l.start > 0 {
		copy(l.buf, l.buf[l.start:l.end])
		l.feed = max(l.feed-l.start, 0)
		l.start, l.end = 0, l.end-l.start
	}
	if l.end == len(l.buf) {
		l.buf = append(l.buf, make([]byte, len(l.buf))...)
	}
	n, err := l.in.Read(l.buf[l.end:])
	l.end += n
	l.err = err
}

// skip passes over the rest of a line that is too long and keeps its beginning.
func (l *lineReader) skip() rawLine {
	r := rawLine{text: string(l.buf[l.start : l.start+rowBytes]), long: true}
	for {
		if _, behind, found := l.find(); found {
			l.start += behind
			return r
		}
		if l.err != nil {
			l.start, r.open = l.end, true
			return r
		}
		returns := 0 // stay: a line feed may follow them
		for returns < mostReturns && l.end-returns > l.start && l.buf[l.end-returns-1] == '\r' {
			returns++
		}
		l.start = l.end - returns
		l.more()
	}
}

// failed returns what in failed with; nil at the end of the text.
func (l *lineReader) failed() error {
	if errors.Is(l.err, io.EOF) {
		return nil
	}
	return l.err
}

// rowReader puts lines together to rows, so that damage stays within a row: an
// opening quote that is never closed would otherwise swallow the rest of the file
// in one cell. Lines that begin as a comment are passed over.
type rowReader struct {
	lines     *lineReader
	delimiter delimiter
	delimits  int // delimiters in the header
	ahead     []rawLine
}

// rawRow is the text of one row.
type rawRow struct {
	rawLine
	wanted string // what is wrong with its shape; empty when nothing is
}

func (r *rowReader) next() (rawRow, bool) {
	for {
		first, ok := r.peek(0)
		if !ok {
			return rawRow{}, false
		}
		switch {
		case first.long:
			r.ahead = r.ahead[1:]
			return rawRow{first, "a line of at most 1 MiB"}, true
		case r.comment(first.text):
			r.ahead = r.ahead[1:]
		case r.delimiter.wide() || strings.IndexByte(first.text, '"') < 0 || !r.delimiter.openQuote(first.text):
			r.ahead = r.ahead[1:]
			return rawRow{rawLine: first}, true
		default:
			return r.join(first), true
		}
	}
}

// comment reports whether a line is one: it begins with one of these signs and has
// not the header's number of delimiters, as a row that was commented out has.
func (r *rowReader) comment(text string) bool {
	if text == "" || !(text[0] == '#' || text[0] == '%' || text[0] == '!' || strings.HasPrefix(text, "//")) {
		return false
	}
	return r.delimiter.wide() || strings.Count(text, string(r.delimiter)) != r.delimits
}

// join returns the row that begins with an open quote. One whose quote is not
// closed before a line that is a whole row itself is that line alone, and bad.
func (r *rowReader) join(first rawLine) rawRow {
	row := []byte(first.text)
	for i := 1; i <= joinLines; i++ {
		next, ok := r.peek(i)
		if !ok || next.long || len(row)+len(next.text) > lineBytes ||
			r.delimits > 0 && strings.Count(next.text, string(r.delimiter)) >= r.delimits {
			break
		}
		row = append(append(row, '\n'), next.text...)
		if !r.delimiter.openQuote(string(row)) {
			r.ahead = r.ahead[i+1:]
			return rawRow{rawLine: rawLine{no: first.no, text: string(row), open: next.open}}
		}
	}
	r.ahead = r.ahead[1:]
	return rawRow{first, "a closing quote"}
}

// peek returns the i-th line not yet given out; ok is false at the end of the text.
func (r *rowReader) peek(i int) (rawLine, bool) {
	for len(r.ahead) <= i {
		l, ok := r.lines.next()
		if !ok {
			return rawLine{}, false
		}
		if cap(r.ahead) == len(r.ahead) {
			r.ahead = append(make([]rawLine, 0, joinLines+8), r.ahead...)
		}
		r.ahead = append(r.ahead, l)
	}
	return r.ahead[i], true
}
