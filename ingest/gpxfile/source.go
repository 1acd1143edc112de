package gpxfile

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
)

// A source is the text of a file as UTF-8, in a window that moves along it. The
// XML decoder takes it byte by byte, so that it never holds more than it has
// given out tokens for; between two tokens the window can be read directly
// instead (type quick), and the decoder goes on behind.
//
// On the way to the decoder every & that starts no known reference is written as
// &amp;: names are often typed into files by programs that forget it, and a
// strict decoder gives up the rest of the file there. Comments, CDATA sections,
// instructions and declarations pass unchanged. Lines keep their numbers.
//
// A token of more than tokenBytes ends the reading: the decoder holds a whole
// token in memory before it gives it out.
//
// Cost is linear.
type source struct {
	in   io.Reader
	buf  []byte // the window is buf[r:w], with a zero byte behind it
	r, w int
	err  error // of in; told when the window is used up
	line int   // of the next byte
	left int   // bytes that the present token may still take

	row []byte // raw text since mark, at most rowBytes and one more

	insert string  // to be given before the window goes on
	within section // what is being passed unchanged
	skip   int     // bytes of its opening mark still to come
	b0, b1 byte    // the last two bytes in it
	first  int     // line of the first & repaired
	n      int     // & repaired
}

// section is a stretch of XML in which an & is not a reference.
type section uint8

const (
	plain section = iota
	comment
	cdata
	instruction
	declaration
)

const (
	tokenBytes  = 1 << 20
	windowBytes = 64 << 10
	rowBytes    = 4 << 10 // a longer row is not quoted
)

var errTokenSize = errors.New("one element or text is longer than 1 MiB")

func newSource(in io.Reader) *source {
	return &source{in: in, buf: make([]byte, windowBytes+1), line: 1, left: tokenBytes}
}

// fill makes the window at least n bytes long, unless the file ends before, and
// reports whether it did; n is less than windowBytes.
func (s *source) fill(n int) bool {
	if s.w-s.r >= n {
		return true
	}
	if s.err == nil && len(s.buf)-1-s.r < n {
		kept := min(s.r, 1) // for unread
		s.w = copy(s.buf, s.buf[s.r-kept:s.w])
		s.r = kept
	}
	for s.w-s.r < n && s.err == nil {
		var got int
		got, s.err = s.in.Read(s.buf[s.w : len(s.buf)-1])
		s.w += got
	}
	s.buf[s.w] = 0
	return s.w-s.r >= n
}

// window returns the text ahead, at least n bytes of it unless the file ends
// before. It is good until the next call, and a zero byte lies behind it.
func (s *source) window(n int) []byte {
	s.fill(n)
	return s.buf[s.r:s.w]
}

// advance passes over n bytes of the window and returns how many lines ended in them.
func (s *source) advance(n int) (lines int) {
	lines = bytes.Count(s.buf[s.r:s.r+n], []byte{'\n'})
	s.line += lines
	s.r += n
	return lines
}

// failed returns the error of the reader beneath; nil at a plain end of file.
func (s *source) failed() error {
	if s.r < s.w || errors.Is(s.err, io.EOF) {
		return nil
	}
	return s.err
}

// mark starts a token: its bytes are counted, and kept as a row unless the row
// goes on. A < that the decoder looked ahead at belongs to the new token.
func (s *source) mark(rowGoesOn bool) {
	s.left = tokenBytes
	if rowGoesOn {
		return
	}
	if n := len(s.row); n > 0 && s.row[n-1] == '<' {
		s.row = append(s.row[:0], '<')
		return
	}
	s.row = s.row[:0]
}

// text returns the row since mark; empty when it is too long to quote.
func (s *source) text() string {
	if len(s.row) > rowBytes {
		return ""
	}
	return strings.TrimSpace(string(s.row))
}

// Read is there for the decoder's interface, which calls ReadByte alone.
func (s *source) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := s.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}

// ReadByte returns the next byte for the decoder.
func (s *source) ReadByte() (byte, error) {
	if s.insert != "" {
		c := s.insert[0]
		s.insert = s.insert[1:]
		return c, nil
	}
	if s.left <= 0 {
		return 0, errTokenSize
	}
	if s.r == s.w && !s.fill(1) {
		return 0, s.err
	}
	c := s.buf[s.r]
	s.r++
	s.left--
	if len(s.row) <= rowBytes {
		s.row = append(s.row, c)
	} else {
		s.row[rowBytes] = c // so that mark sees the last byte
	}
	if c == '\n' {
		s.line++
	}
	switch {
	case s.within != plain:
		s.pass(c)
	case c == '<':
		s.open()
	case c == '&' && !s.reference():
		s.insert = "amp;"
		if s.n == 0 {
			s.first = s.line
		}
		s.n++
	}
	return c, nil
}

// open looks what the < just read begins.
func (s *source) open() {
	s.fill(8)
	next := s.buf[s.r:s.w]
	for _, o := range [...]struct {
		mark string
		is   section
	}{{"!--", comment}, {"![CDATA[", cdata}, {"?", instruction}, {"!", declaration}} {
		if bytes.HasPrefix(next, []byte(o.mark)) {
			s.within, s.skip, s.b0, s.b1 = o.is, len(o.mark), 0, 0
			return
		}
	}
}

// pass follows a section to its end.
func (s *source) pass(c byte) {
	if s.skip > 0 {
		s.skip--
		return
	}
	end := c == '>'
	switch s.within {
	case comment:
		end = end && s.b0 == '-' && s.b1 == '-'
	case cdata:
		end = end && s.b0 == ']' && s.b1 == ']'
	case instruction:
		end = end && s.b1 == '?'
	}
	if end {
		s.within = plain
	}
	s.b0, s.b1 = s.b1, c
}

// reference reports whether the & just read starts one of the five named
// references of XML 1.0 section 4.6, or a number that is a Char of section 2.2.
func (s *source) reference() bool {
	s.fill(12)
	name, _, closed := strings.Cut(string(s.buf[s.r:min(s.w, s.r+12)]), ";")
	if !closed {
		return false
	}
	switch name {
	case "amp", "lt", "gt", "quot", "apos":
		return true
	}
	digits, isNumber := strings.CutPrefix(name, "#")
	base := 10
	if hex, isHex := strings.CutPrefix(digits, "x"); isHex {
		digits, base = hex, 16
	}
	n, err := strconv.ParseUint(digits, base, 32)
	return isNumber && err == nil &&
		(n == 9 || n == 10 || n == 13 || n >= 0x20 && n < 0xD800 || n >= 0xE000 && n <= 0x10FFFF && n != 0xFFFE && n != 0xFFFF)
}

// begun returns the local name of the tag that the row since mark begins with.
func (s *source) begun() string {
	row, _ := bytes.CutPrefix(s.row[:min(len(s.row), tagBytes)], []byte("<"))
	return tagName(append(slices.Clip(row), ' '))
}

// unread gives back a < that the decoder looked ahead at.
func (s *source) unread() {
	if s.r > 0 && s.buf[s.r-1] == '<' {
		s.r--
	}
}

// rest reads to the end of the file and returns how many lines hold something
// and how many points begin in them, whatever they lie in.
func (s *source) rest() (lines, points int) {
	blank := true
	for s.fill(1) {
		// The last bytes may be the first half of a tag, unless the file ends there.
		w := s.window(windowBytes / 2)
		n := len(w)
		if s.err == nil {
			n = max(1, n-tagBytes)
		}
		for i, c := range w[:n] {
			switch {
			case c == '\n':
				blank = true
			case blank && c > ' ':
				blank = false
				lines++
			}
			if c == '<' && isPoint(tagName(w[i+1:])) {
				points++
			}
		}
		s.advance(n)
	}
	return lines, points
}

const tagBytes = 128

// tagName returns the local name that a start tag begins with, w being the text
// behind its <; empty when there is none within tagBytes.
func tagName(w []byte) string {
	w = w[:min(len(w), tagBytes)]
	n := bytes.IndexAny(w, " \t\r\n/>")
	if n < 0 {
		return ""
	}
	_, local, prefixed := strings.Cut(string(w[:n]), ":")
	if !prefixed {
		return string(w[:n])
	}
	return local
}
