package nmeafile

import (
	"bufio"
	"errors"
	"io"
	"strconv"
	"strings"

	"github.com/adrianmo/go-nmea"
)

// mostSentence is how long a sentence may be. The standard allows 82 letters;
// a piece that goes on for longer is none, and its rest is passed over.
const mostSentence = 1024

// A piece is what stands between two places where a sentence could begin.
type piece struct {
	line     int
	sentence bool   // begins with $
	text     string // without the line's end
	ended    bool   // the line, or the file's last line, ends behind it
	last     bool   // the file ends behind it, with no end of line
}

// pieces cuts a log into pieces: at each $, and at each end of a line, which is a
// line feed, any number of carriage returns, or these with a line feed behind.
// Memory is one piece.
type pieces struct {
	in     *bufio.Reader
	line   int
	buf    []byte
	dollar bool // the piece being read begins with $
	cr     bool // the last byte was a carriage return
}

func newPieces(r io.Reader) *pieces { return &pieces{in: bufio.NewReader(r), line: 1} }

// next returns the next piece that is not blank; io.EOF when there is none.
func (p *pieces) next() (piece, error) {
	for {
		c, err := p.in.ReadByte()
		if errors.Is(err, io.EOF) {
			if out, ok := p.cut(true, true); ok {
				return out, nil
			}
			return piece{}, io.EOF
		}
		if err != nil {
			return piece{}, err
		}
		if p.cr && c != '\r' {
			p.cr = false
			if p.line++; c == '\n' {
				continue // it belongs to the carriage returns before it
			}
		}
		switch c {
		case '\n':
			out, ok := p.cut(true, false)
			p.line++
			if ok {
				return out, nil
			}
		case '\r':
			p.cr = true
			if out, ok := p.cut(true, false); ok {
				return out, nil
			}
		case '$':
			out, ok := p.cut(false, false)
			p.dollar = true
			p.buf = append(p.buf, c)
			if ok {
				return out, nil
			}
		default:
			if len(p.buf) < mostSentence {
				p.buf = append(p.buf, c)
			}
		}
	}
}

func (p *pieces) cut(ended, last bool) (out piece, ok bool) {
	out = piece{line: p.line, sentence: p.dollar, text: strings.Trim(string(p.buf), " \t\x00\ufeff"), ended: ended, last: last}
	p.buf, p.dollar = p.buf[:0], false
	return out, out.text != ""
}

// known are the types of sentence that are read, in the order of the columns shown.
var known = [...]string{"RMC", "GGA", "GLL", "ZDA", "DPT", "DBT", "DBS", "MTW", "VTG", "VHW", "MWV", "MWD"}

// isAddress reports whether s begins with a talker of two letters or digits, a
// type of three capitals or digits, and a comma.
func isAddress(s string) bool {
	if len(s) < 6 || s[5] != ',' {
		return false
	}
	for i := range 5 {
		if c := s[i]; !(c >= 'A' && c <= 'Z' || c >= '0' && c <= '9') {
			return false
		}
	}
	return true
}

// isKnown reports whether s, what follows a $, begins with the address of a
// sentence that is read, whatever its talker.
func isKnown(s string) bool {
	if !isAddress(s) {
		return false
	}
	for _, k := range known {
		if s[2:5] == k {
			return true
		}
	}
	return false
}

// A frame is a sentence taken apart: $body*sum and what is left behind it.
type frame struct {
	body  string
	sum   string // as found, up to two letters; empty when there is no *
	star  bool
	after string // text behind the sentence
}

// frameOf takes the text behind a $ apart.
func frameOf(s string) frame {
	body, rest, star := strings.Cut(s, "*")
	if !star {
		return frame{body: strings.TrimRight(body, " \t")}
	}
	n := 0
	for n < len(rest) && n < 2 && rest[n] != ' ' && rest[n] != '\t' && rest[n] != '\\' {
		n++
	}
	return frame{body: body, sum: rest[:n], star: true, after: strings.TrimSpace(rest[n:])}
}

// stated returns the checksum that a frame states; ok is false unless it is of
// two hexadecimal digits, in either case.
func (f frame) stated() (sum byte, ok bool) {
	if len(f.sum) != 2 {
		return 0, false
	}
	v, err := strconv.ParseUint(f.sum, 16, 8)
	return byte(v), err == nil
}

// right returns the checksum that a frame should state: all bytes between $ and *
// combined by exclusive or, as NMEA 0183 has it.
func (f frame) right() byte {
	v, _ := strconv.ParseUint(nmea.Checksum(f.body), 16, 8)
	return byte(v)
}
