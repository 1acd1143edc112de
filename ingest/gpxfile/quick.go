package gpxfile

import (
	"bytes"
	"math"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A quick reads track points straight from the text, as long as they are written
// plainly:
//
//	<trkpt lat="36.5" lon="-40"><time>2031-10-04T12:00:00Z</time>
//	 <extensions><x:depth>5</x:depth></extensions></trkpt>
//
// Plainly means: no attributes but lat, lon and namespaces that can't matter;
// ASCII text without references, comments or CDATA; nothing but blanks behind
// elements; every value good. Any other point, and all that lies between points, is
// left to the decoder, so that there is one place that finds problems. It changes
// nothing until it has read the point to its end.
//
// A file writes its points alike, so each element is first held against the one
// that stood at its place in the point before.
//
// Cost is linear. It reads a point of a sonar's track in the time that the decoder
// needs for its start tag.
type quick struct {
	known  [mostLeaves]expected
	open   [mostOpen]span // elements open in the point
	leaves int

	day      [len("2031-10-04")]byte // the last date read
	midnight int64                   // its first second
	hasDay   bool
	n        int // points read
}

type expected struct {
	name  []byte // local name
	own   bool
	role  role
	noted bool // in the list of columns
}

// A span is a piece of the window.
type span struct{ from, to int }

const (
	quickBytes = 8 << 10 // a longer point is left to the decoder
	mostLeaves = 32
	mostOpen   = 8
)

// The classes of a byte.
const (
	inName  = 1 << iota // letters, digits, and _ . -
	inText              // what may stand in text
	isBlank             // white space of XML
)

var classes = func() (c [256]uint8) {
	for b := range 128 {
		switch {
		case b >= 'a' && b <= 'z', b >= 'A' && b <= 'Z', b >= '0' && b <= '9', b == '_', b == '.', b == '-':
			c[b] = inName | inText
		case b == ' ', b == '\t', b == '\r', b == '\n':
			c[b] = isBlank | inText
		case b >= ' ' && b != '<' && b != '>' && b != '&' && b != 0x7f:
			c[b] = inText
		}
	}
	return c
}()

// point reads one track point and reports whether it could. The source must stand
// between two tokens, inside a segment.
func (q *quick) point(f *filter) bool {
	if f.src.within != plain { // in what only the source takes for a comment, as behind <!D ">" '<!--'>
		return false
	}
	w := f.src.window(quickBytes)
	w = w[:min(len(w), quickBytes)]
	start := blanks(w, 0)
	r := reading{line: f.src.line}
	var m measured
	pos, end, ok := q.scan(f, w, start, &r, &m)
	if !ok {
		return false
	}
	r.line += bytes.Count(w[:start], []byte{'\n'})
	f.column("lat", "latitude", "deg")
	f.column("lon", "longitude", "deg")
	for i := range q.known[:q.leaves] {
		if k := &q.known[i]; !k.noted {
			f.columnOf(string(k.name), k.role)
			k.noted = true
		}
	}
	r.settle(&m)
	f.temperatures(&r, &m)
	f.skipped += f.src.advance(end)
	f.source.RowsRead++
	f.source.Used++
	f.seen["trkpt"]++
	f.inSegment++
	q.n++
	if len(f.batch.points) == 0 {
		f.store.add(&r, pos)
	} else {
		f.batch.points = append(f.batch.points, pending{reading: r, pos: pos})
	}
	return true
}

// blanks returns the index of the first byte of w at or behind i that is not blank.
func blanks(w []byte, i int) int {
	for i < len(w) && classes[w[i]]&isBlank != 0 {
		i++
	}
	return i
}

// scan reads the point that begins at w[i] and returns its position and where it ends.
func (q *quick) scan(f *filter, w []byte, i int, r *reading, m *measured) (pos orb.Point, end int, ok bool) {
	if i, ok = startTag(w, i, &pos); !ok {
		return pos, 0, false
	}
	q.leaves = 0
	var depthText, tempText span
	hasTime := false
	open, extensions := 0, 0 // elements open in the point, and those of them called extensions
	if w[i-2] == '/' {
		return pos, i, true
	}
	for {
		i = blanks(w, i)
		if i+1 >= len(w) || w[i] != '<' {
			return pos, 0, false
		}
		i++
		if w[i] == '/' {
			i++
			name := []byte("trkpt")
			if open > 0 {
				name = w[q.open[open-1].from:q.open[open-1].to]
			}
			n := i + len(name)
			if n >= len(w) || w[n] != '>' || !bytes.Equal(w[i:n], name) {
				return pos, 0, false
			}
			i = n + 1
			if open == 0 {
				break
			}
			open--
			if string(localOf(name)) == "extensions" {
				extensions--
			}
			continue
		}
		raw := span{from: i}
		colon := -1
		for i < len(w) {
			if w[i] == ':' && colon < 0 {
				colon = i
			} else if classes[w[i]]&inName == 0 {
				break
			}
			i++
		}
		raw.to = i
		if i+1 >= len(w) || raw.to == raw.from || !isLetter(w[raw.from]) {
			return pos, 0, false
		}
		local := w[raw.from:raw.to]
		if colon >= 0 {
			local = w[colon+1 : raw.to]
			if len(local) == 0 || !isLetter(local[0]) {
				return pos, 0, false
			}
		}
		if classes[w[i]]&isBlank != 0 {
			if i = namespaces(w, i, open > 0); i+1 >= len(w) {
				return pos, 0, false
			}
		}
		var text span
		switch {
		case w[i] == '/' && w[i+1] == '>':
			i += 2
		case w[i] == '>':
			i++
			text.from = i
			for i < len(w) && classes[w[i]]&inText != 0 {
				i++
			}
			text.to = i
			name := w[raw.from:raw.to]
			n := i + 2 + len(name)
			if n >= len(w) || w[i] != '<' {
				return pos, 0, false
			}
			if w[i+1] != '/' { // an element with elements in it
				if open == mostOpen || isPoint(string(local)) {
					return pos, 0, false
				}
				q.open[open] = raw
				open++
				if string(local) == "extensions" {
					extensions++
				}
				continue
			}
			if w[n] != '>' || !bytes.Equal(w[i+2:n], name) {
				return pos, 0, false
			}
			i = n + 1
		default:
			return pos, 0, false
		}
		if isPoint(string(local)) {
			return pos, 0, false
		}
		if open > 0 && extensions == 0 {
			continue
		}
		is, ok := q.leaf(local, open == 0, colon >= 0)
		if !ok {
			return pos, 0, false
		}
		value := trimmed(w[text.from:text.to])
		if len(value) == 0 {
			continue
		}
		switch is {
		case unused:
		case temp:
			if tempText.to > 0 {
				return pos, 0, false
			}
			tempText = text
		case clockTime:
			if hasTime {
				return pos, 0, false
			}
			hasTime = true
			if r.time, ok = q.instant(f, value); !ok {
				return pos, 0, false
			}
		case numeric:
			if _, ok := decimal(value); !ok {
				return pos, 0, false
			}
		default:
			if !m.take(is, value) {
				return pos, 0, false
			}
			if is == depth {
				depthText = text
			}
		}
	}
	if tempText.to > 0 && depthText.to > 0 && !m.take(temp, trimmed(w[tempText.from:tempText.to])) {
		return pos, 0, false
	}
	return pos, i, true
}

// startTag reads <trkpt with its two attributes, and returns where it ends.
func startTag(w []byte, i int, pos *orb.Point) (int, bool) {
	if !bytes.HasPrefix(w[i:], []byte("<trkpt")) {
		return 0, false
	}
	i += len("<trkpt")
	hasLat, hasLon := false, false
	for {
		from := i
		i = blanks(w, i)
		if i+6 >= len(w) {
			return 0, false
		}
		switch {
		case w[i] == '>':
			i++
		case w[i] == '/' && w[i+1] == '>':
			i += 2
		case i == from || w[i] != 'l' || w[i+3] != '=' || w[i+4] != '"' && w[i+4] != '\'':
			return 0, false
		default:
			isLat := w[i+1] == 'a' && w[i+2] == 't' && !hasLat
			isLon := w[i+1] == 'o' && w[i+2] == 'n' && !hasLon
			n := bytes.IndexByte(w[i+5:], w[i+4])
			if !isLat && !isLon || n < 0 {
				return 0, false
			}
			v, ok := decimal(w[i+5 : i+5+n])
			if isLat {
				hasLat, pos[1] = true, v
				ok = ok && math.Abs(v) <= 90
			} else {
				hasLon, pos[0] = true, v
				ok = ok && math.Abs(v) <= 180
			}
			if !ok {
				return 0, false
			}
			i += 5 + n + 1
			continue
		}
		return i, hasLat && hasLon && *pos != orb.Point{}
	}
}

// namespaces passes over xmlns attributes and returns the index of the first byte
// behind them. One that may change whether an element is the point's own ends it.
func namespaces(w []byte, i int, inside bool) int {
	for {
		n := blanks(w, i)
		if !bytes.HasPrefix(w[n:], []byte("xmlns")) || n == i {
			return n
		}
		i = n + len("xmlns")
		switch {
		case i+1 < len(w) && w[i] == ':' && isLetter(w[i+1]):
			for i++; i < len(w) && classes[w[i]]&inName != 0; i++ {
			}
		case !inside:
			return n
		}
		if i+2 >= len(w) || w[i] != '=' || w[i+1] != '"' && w[i+1] != '\'' {
			return n
		}
		quote := w[i+1]
		for i += 2; i < len(w) && classes[w[i]]&inText != 0 && w[i] != quote; i++ {
		}
		if i == len(w) || w[i] != quote {
			return n
		}
		i++
	}
}

// leaf returns the role of the point's next element that holds text only. Whether
// a child with a prefix is the point's own is for the decoder to say; it must not
// be one for which that matters.
func (q *quick) leaf(local []byte, child, prefixed bool) (role, bool) {
	if q.leaves == mostLeaves {
		return unused, false
	}
	k := &q.known[q.leaves]
	q.leaves++
	if own := child && !prefixed; k.own != own || !bytes.Equal(k.name, local) {
		*k = expected{name: append(k.name[:0], local...), own: own, role: roleOf("trkpt", string(local), own)}
	}
	if child && prefixed && k.role == unused {
		if _, matters := ownRoles[strings.ToLower(string(local))]; matters {
			return unused, false
		}
	}
	return k.role, true
}

// take keeps a value and reports whether it is good and the point's only one.
func (m *measured) take(is role, value []byte) bool {
	v, ok := decimal(value)
	if !ok || v < measures[is].min || v > measures[is].max || m[is].OK && m[is].V != v {
		return false
	}
	m[is] = ingest.Known(v)
	return true
}

// instant reads a time as filter.instant does.
func (q *quick) instant(f *filter, b []byte) (time.Time, bool) {
	if t, ok := q.zulu(b); ok {
		return t.Add(f.opt.ClockOffset), true
	}
	t, shown, wanted := f.instant(string(b))
	return t, shown == 1 && wanted == ""
}

// zulu reads 2031-10-04T12:00:00Z, with or without a fraction; false is for all
// that it does not know.
func (q *quick) zulu(b []byte) (time.Time, bool) {
	const n = len("2031-10-04T12:00:00Z")
	if len(b) < n || len(b) > n+10 || b[10] != 'T' || b[13] != ':' || b[16] != ':' || b[len(b)-1] != 'Z' {
		return time.Time{}, false
	}
	if !q.hasDay || !bytes.Equal(q.day[:], b[:10]) {
		t, err := time.Parse(time.DateOnly, string(b[:10]))
		if err != nil || t.Year() < firstYear || t.Year() > lastYear {
			return time.Time{}, false
		}
		copy(q.day[:], b)
		q.midnight, q.hasDay = t.Unix(), true
	}
	h, okH := twoDigits(b[11:], 24)
	m, okM := twoDigits(b[14:], 60)
	s, okS := twoDigits(b[17:], 60)
	if !okH || !okM || !okS {
		return time.Time{}, false
	}
	ns := int64(0)
	if len(b) > n {
		digits := b[20 : len(b)-1]
		if b[19] != '.' || len(digits) == 0 {
			return time.Time{}, false
		}
		for i := range 9 {
			ns *= 10
			if i < len(digits) {
				d := digits[i] - '0'
				if d > 9 {
					return time.Time{}, false
				}
				ns += int64(d)
			}
		}
	}
	return time.Unix(q.midnight+int64(h*3600+m*60+s), ns).UTC(), true
}

func twoDigits(b []byte, below int) (int, bool) {
	tens, ones := b[0]-'0', b[1]-'0'
	v := int(tens)*10 + int(ones)
	return v, tens <= 9 && ones <= 9 && v < below
}

// decimal is number, quicker for the numbers that files hold. A whole number below
// 2^53 and a power of ten up to 22 are exact in a float64, so that their quotient
// is the nearest one to the decimal (W. D. Clinger, How to read floating point
// numbers accurately, PLDI 1990).
func decimal(b []byte) (float64, bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative = b[0] == '-'
		i = 1
	}
	m, digits, point := uint64(0), 0, -1
	for ; i < len(b); i++ {
		switch d := b[i] - '0'; {
		case d <= 9:
			m = m*10 + uint64(d)
			digits++
		case b[i] == '.' && point < 0:
			point = digits
		default:
			return number(string(b))
		}
	}
	if digits == 0 || digits > 18 || m >= 1<<53 {
		return number(string(b))
	}
	v := float64(m)
	if point >= 0 {
		v /= powersOfTen[digits-point]
	}
	if negative {
		v = -v
	}
	return v, true
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c == '_' }

// localOf returns an element's name without its prefix.
func localOf(name []byte) []byte { return name[bytes.IndexByte(name, ':')+1:] }

func trimmed(b []byte) []byte {
	for len(b) > 0 && classes[b[0]]&isBlank != 0 {
		b = b[1:]
	}
	for len(b) > 0 && classes[b[len(b)-1]]&isBlank != 0 {
		b = b[:len(b)-1]
	}
	return b
}
