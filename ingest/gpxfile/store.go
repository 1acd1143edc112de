package gpxfile

import (
	"encoding/binary"
	"math"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A store keeps the points of tracks packed while a file is read, so that the
// records can be made once, at their exact size: slices that grow hold up to
// twice what is in them, and their outgrown parts besides.
//
// A point is written as the difference to the point before it, in varints:
//
//	flags, line, [seconds, nanoseconds], lon, lat, [depth], [temperature], [speed], [course]
//
// A number is written as a whole number of 10^-k, k from 0 to mostDecimals, where
// that gives back the very same float64: numbers in files are decimal, and few
// have more digits. Else its 8 bytes are written. By hand: 36.5 and then 36.5001
// are "scale 1, 365" and "scale 4, 365001"; from there on 36.5002 is +1.
//
// Cost is linear; a point of a sonar's track takes about 14 bytes.
type store struct {
	chunks    [][]byte
	buf       []byte
	n         int // points
	soundings int // points that make a sounding
	was       previous
}

type previous struct {
	line    int64
	seconds int64
	numbers [channels]packed
}

// packed is the last number of one channel, as m * 10^-scale.
type packed struct {
	m     int64
	scale int
}

const (
	lonOf = iota
	latOf
	depthOf
	tempOf
	speedOf
	courseOf
	channels
)

const (
	hasTime = 1 << iota
	hasDepth
	hasTemp
	hasSpeed
	hasCourse
)

const (
	chunkBytes   = 64 << 10
	pointBytes   = 1 + 3*binary.MaxVarintLen64 + channels*(2*binary.MaxVarintLen64) // most that one takes
	mostDecimals = 15
	rawNumber    = mostDecimals + 1 // in place of a scale: 8 bytes follow
)

var powersOfTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// sounds reports whether a point makes a sounding: it has a depth, and a place or a time.
func sounds(r *reading, pos orb.Point) bool {
	return r.depthM.OK && (pos != orb.Point{} || !r.time.IsZero())
}

// add keeps a point.
func (s *store) add(r *reading, pos orb.Point) {
	if cap(s.buf)-len(s.buf) < pointBytes {
		if len(s.buf) > 0 {
			s.chunks = append(s.chunks, s.buf)
		}
		s.buf = make([]byte, 0, chunkBytes)
	}
	s.n++
	if sounds(r, pos) {
		s.soundings++
	}
	flags := byte(0)
	if !r.time.IsZero() {
		flags |= hasTime
	}
	for i, m := range r.values() {
		if m.OK {
			flags |= hasDepth << i
		}
	}
	b := append(s.buf, flags)
	b = binary.AppendVarint(b, int64(r.line)-s.was.line)
	s.was.line = int64(r.line)
	if flags&hasTime != 0 {
		b = binary.AppendVarint(b, r.time.Unix()-s.was.seconds)
		b = binary.AppendUvarint(b, uint64(r.time.Nanosecond()))
		s.was.seconds = r.time.Unix()
	}
	b = s.was.numbers[lonOf].append(b, pos[0])
	b = s.was.numbers[latOf].append(b, pos[1])
	for i, m := range r.values() {
		if m.OK {
			b = s.was.numbers[depthOf+i].append(b, m.V)
		}
	}
	s.buf = b
}

// values returns what a point may have, in the order of the channels.
func (r *reading) values() [channels - depthOf]ingest.Maybe {
	return [...]ingest.Maybe{r.depthM, r.tempC, r.speedMPS, r.courseDeg}
}

// exact returns v as a whole number of 10^-scale, when that gives back v itself.
func exact(v float64, scale int) (int64, bool) {
	f := math.Round(v * powersOfTen[scale])
	if !(math.Abs(f) < 1<<53) {
		return 0, false
	}
	return int64(f), math.Float64bits(f/powersOfTen[scale]) == math.Float64bits(v) && (f != 0 || !math.Signbit(v))
}

// append writes v. An even first varint is a difference at the scale before, an
// odd one a scale, or rawNumber.
func (p *packed) append(b []byte, v float64) []byte {
	if m, ok := exact(v, p.scale); ok {
		d := m - p.m
		p.m = m
		return binary.AppendUvarint(b, uint64(d<<1^d>>63)<<1)
	}
	for scale := range mostDecimals + 1 {
		if m, ok := exact(v, scale); ok {
			p.m, p.scale = m, scale
			b = binary.AppendUvarint(b, uint64(scale)<<1|1)
			return binary.AppendVarint(b, m)
		}
	}
	b = append(b, rawNumber<<1|1)
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
}

func (p *packed) take(b []byte) (float64, []byte) {
	u, n := binary.Uvarint(b)
	b = b[n:]
	switch {
	case u&1 == 0:
		u >>= 1
		p.m += int64(u>>1) ^ -int64(u&1)
	case u>>1 == rawNumber:
		return math.Float64frombits(binary.LittleEndian.Uint64(b)), b[8:]
	default:
		p.scale = int(u >> 1)
		p.m, n = binary.Varint(b)
		b = b[n:]
	}
	return float64(p.m) / powersOfTen[p.scale], b
}

// each calls f for every point, in order. The store is empty afterwards: chunks
// are let go as soon as they are read.
func (s *store) each(f func(r *reading, pos orb.Point)) {
	chunks := append(s.chunks, s.buf)
	var was previous
	var r reading // one for all: f may keep the values, not the pointer
	for i, b := range chunks {
		chunks[i] = nil
		for len(b) > 0 {
			r = reading{}
			var pos orb.Point
			flags := b[0]
			d, n := binary.Varint(b[1:])
			b = b[1+n:]
			was.line += d
			r.line = int(was.line)
			if flags&hasTime != 0 {
				d, n = binary.Varint(b)
				ns, more := binary.Uvarint(b[n:])
				b = b[n+more:]
				was.seconds += d
				r.time = time.Unix(was.seconds, int64(ns)).UTC()
			}
			pos[0], b = was.numbers[lonOf].take(b)
			pos[1], b = was.numbers[latOf].take(b)
			for i, m := range [...]*ingest.Maybe{&r.depthM, &r.tempC, &r.speedMPS, &r.courseDeg} {
				if flags&(hasDepth<<i) != 0 {
					m.OK = true
					m.V, b = was.numbers[depthOf+i].take(b)
				}
			}
			f(&r, pos)
		}
	}
	*s = store{}
}
