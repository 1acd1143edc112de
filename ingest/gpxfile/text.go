package gpxfile

import (
	"bufio"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"

	"golang.org/x/net/html/charset"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// headBytes is how much of a file is looked at to recognise it and its encoding.
const headBytes = 4096

var declaredEncoding = regexp.MustCompile(`^[^>]{0,200}\sencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)

// decoded returns r as text that an XML decoder takes. A byte order mark decides;
// without one, bytes that are not UTF-8 become U+FFFD, unless the file declares
// another encoding: a single accented letter must not cost the rest of a file.
func decoded(r *bufio.Reader) io.Reader {
	head, _ := r.Peek(256)
	fallback := unicode.UTF8.NewDecoder()
	if m := declaredEncoding.FindSubmatch(head); m != nil && !strings.EqualFold(string(m[1]), "utf-8") {
		fallback = encoding.Nop.NewDecoder()
	}
	return transform.NewReader(r, unicode.BOMOverride(fallback))
}

// charsetReader serves xml.Decoder.CharsetReader.
func charsetReader(label string, in io.Reader) (io.Reader, error) {
	if strings.HasPrefix(strings.ToLower(label), "utf-16") {
		return in, nil // decoded already, by its byte order mark
	}
	return charset.NewReaderLabel(label, in)
}

var errTokenSize = errors.New("one element or text is longer than 1 MiB")

// meter ends reading when a single token grows past tokenBytes: an XML decoder
// holds a whole token in memory before it gives it out.
type meter struct {
	r    io.Reader
	left int
}

const tokenBytes = 1 << 20

func (m *meter) reset() { m.left = tokenBytes }

func (m *meter) Read(p []byte) (int, error) {
	if m.left <= 0 {
		return 0, errTokenSize
	}
	n, err := m.r.Read(p)
	m.left -= n
	return n, err
}

// ampersands passes XML text on with every & that starts no known reference
// written as &amp;: names are often typed into files by programs that forget it,
// and a strict decoder gives up the rest of the file there. Comments, CDATA
// sections, instructions and declarations pass unchanged. Lines keep their
// numbers. Cost is linear.
type ampersands struct {
	in    *bufio.Reader
	out   []byte
	until string // end of the section being passed unchanged; empty in plain text
	tail  string // last bytes of that section
	line  int
	first int // line of the first repair
	n     int // repairs
}

func (a *ampersands) Read(p []byte) (int, error) {
	for len(a.out) < len(p) && len(a.out) < 4096 {
		c, err := a.in.ReadByte()
		if err != nil {
			if len(a.out) > 0 {
				break
			}
			return 0, err
		}
		a.out = append(a.out, c)
		switch {
		case c == '\n':
			a.line++
			a.tail = ""
		case a.until != "":
			a.tail += string(rune(c))
			if len(a.tail) > len(a.until) {
				a.tail = a.tail[len(a.tail)-len(a.until):]
			}
			if a.tail == a.until {
				a.until = ""
			}
		case c == '<':
			a.open()
		case c == '&' && !a.reference():
			a.out = append(a.out, "amp;"...)
			if a.n == 0 {
				a.first = a.line
			}
			a.n++
		}
	}
	n := copy(p, a.out)
	a.out = a.out[:copy(a.out, a.out[n:])]
	return n, nil
}

func (a *ampersands) open() {
	next, _ := a.in.Peek(8)
	for _, s := range [...]struct{ start, end string }{
		{"!--", "-->"}, {"![CDATA[", "]]>"}, {"?", "?>"}, {"!", ">"},
	} {
		if strings.HasPrefix(string(next), s.start) {
			a.until, a.tail = s.end, ""
			return
		}
	}
}

// reference reports whether the & just read starts one of the five named
// references of XML 1.0 section 4.6, or a number that is a Char of section 2.2.
func (a *ampersands) reference() bool {
	next, _ := a.in.Peek(12)
	name, _, closed := strings.Cut(string(next), ";")
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
