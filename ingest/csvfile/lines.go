package csvfile

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// decoded returns r in UTF-8. A byte order mark decides, for UTF-16 too; without
// one, each byte that is not part of UTF-8 is read as Windows-1252, which holds
// all of Latin-1's letters. Text that is one or the other comes out right without
// a look at the whole file.
func decoded(r io.Reader) io.Reader {
	return transform.NewReader(r, unicode.BOMOverride(latin{}))
}

type latin struct{ transform.NopResetter }

// Transform implements transform.Transformer.
func (latin) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	for nSrc < len(src) {
		r, size := rune(src[nSrc]), 1
		if r >= utf8.RuneSelf {
			if r, size = utf8.DecodeRune(src[nSrc:]); r == utf8.RuneError && size == 1 {
				if !atEOF && !utf8.FullRune(src[nSrc:]) {
					return nDst, nSrc, transform.ErrShortSrc
				}
				r = charmap.Windows1252.DecodeByte(src[nSrc])
			}
		}
		if nDst+utf8.RuneLen(r) > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		nDst += utf8.EncodeRune(dst[nDst:], r)
		nSrc += size
	}
	return nDst, nSrc, nil
}

// lineBytes bounds one line, joinLines the lines of one quoted cell.
const (
	lineBytes = 1 << 20
	joinLines = 50
)

// lines feeds a CSV reader one row at a time, so that damage stays within a row:
// an opening quote that is never closed would otherwise swallow the rest of the
// file in one cell. A row whose quote is not closed before a line that is a whole
// row itself, and a line too long, go to bad instead, and an empty line to the
// reader, which keeps the count of lines. Lines that begin with # and have not
// the header's number of delimiters are comments and passed over.
type lines struct {
	in        *bufio.Reader
	delimiter byte
	delimits  int // delimiters in the header

	line  int // last one taken from in
	ahead []rawLine
	out   []byte
	bad   []badLine
	err   error
	// openEnd is the last line of the file when no line break ends it, else 0.
	openEnd int
}

type rawLine struct {
	no   int
	text []byte // without its line break
	long bool
}

type badLine struct {
	no           int
	text, wanted string
}

// Read implements io.Reader; it gives out whole rows only.
func (l *lines) Read(p []byte) (int, error) {
	if len(l.out) == 0 {
		l.fill()
	}
	if len(l.out) == 0 {
		return 0, l.err
	}
	n := copy(p, l.out)
	l.out = l.out[n:]
	return n, nil
}

func (l *lines) fill() {
	first, ok := l.peek(0)
	if !ok {
		return
	}
	l.out = nil
	switch {
	case first.long:
		l.reject(first, "a line of at most 1 MiB")
	case bytes.HasPrefix(first.text, []byte("#")) && bytes.Count(first.text, []byte{l.delimiter}) != l.delimits:
		l.out = []byte{'\n'}
	case bytes.IndexByte(first.text, '"') < 0 || !l.openQuote(first.text):
		l.out = append(first.text, '\n')
	default:
		l.join(first)
		return
	}
	l.ahead = l.ahead[1:]
}

// join gives out the row that begins with an open quote, or rejects its first line.
func (l *lines) join(first rawLine) {
	row := append(bytes.Clone(first.text), '\n')
	for i := 1; i <= joinLines; i++ {
		next, ok := l.peek(i)
		if !ok || next.long || len(row)+len(next.text) > lineBytes ||
			l.delimits > 0 && bytes.Count(next.text, []byte{l.delimiter}) >= l.delimits {
			break
		}
		row = append(append(row, next.text...), '\n')
		if !l.openQuote(row[:len(row)-1]) {
			l.out = row
			l.ahead = l.ahead[i+1:]
			return
		}
	}
	l.reject(first, "a closing quote")
	l.ahead = l.ahead[1:]
}

func (l *lines) reject(r rawLine, wanted string) {
	l.bad = append(l.bad, badLine{r.no, string(r.text[:min(len(r.text), 200)]), wanted})
	l.out = []byte{'\n'}
}

// openQuote reports whether a row ends inside a quoted cell, by the rules of
// encoding/csv with LazyQuotes: a quote opens a cell at its start only, and
// closes it only before a delimiter or the end of a line.
func (l *lines) openQuote(row []byte) bool {
	quoted, start := false, true
	for i := 0; i < len(row); i++ {
		switch c := row[i]; {
		case quoted:
			if c != '"' {
				continue
			}
			if i+1 < len(row) && row[i+1] == '"' {
				i++
			} else if i+1 == len(row) || row[i+1] == l.delimiter || row[i+1] == '\n' {
				quoted = false
			}
		case c == l.delimiter || c == '\n':
			start = true
		case c == '"' && start:
			quoted, start = true, false
		case c != ' ' || l.delimiter == '\t':
			start = false
		}
	}
	return quoted
}

// peek returns the i-th line not yet given out; ok is false at the end of the file.
func (l *lines) peek(i int) (r rawLine, ok bool) {
	for len(l.ahead) <= i {
		if l.err != nil {
			return rawLine{}, false
		}
		l.readLine()
	}
	return l.ahead[i], true
}

func (l *lines) readLine() {
	r := rawLine{no: l.line + 1}
	ended := false
	for !ended {
		part, err := l.in.ReadSlice('\n')
		if len(r.text)+len(part) > lineBytes {
			r.long = true
		} else {
			r.text = append(r.text, part...)
		}
		if err != nil && !errors.Is(err, bufio.ErrBufferFull) {
			l.err = err
			break
		}
		ended = err == nil
	}
	if len(r.text) == 0 && !r.long {
		return // nothing behind the last line break
	}
	l.line++
	if !ended {
		l.openEnd = r.no
	}
	r.text = bytes.TrimRight(r.text, "\r\n")
	l.ahead = append(l.ahead, r)
}
