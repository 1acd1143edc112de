package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// orb has no heights and no measures, so lines with them have their own encoder:
// ISO WKB, OGC 06-103r4, codes 1002 (z), 2002 (m), 3002 (both); points 1001.
//
// By hand, the line 0 0 with m 5, 1 0 with m 6:
//
//	01                                      little endian
//	D2070000                                2002 = 0x7D2
//	02000000                                two positions
//	0000000000000000 0000000000000000 0000000000001440
//	000000000000F03F 0000000000000000 0000000000001840

// A Line is a line with what it carries at each position. Z and M are nil or as
// long as Points; their units are the layer's own.
type Line struct {
	Points []orb.Point // x then y; longitude then latitude for WGS84
	Z, M   []float64
}

// EncodeLineM gives a line in WGS84 with a measure at each position, as
// EncodeLine does.
func EncodeLineM(points []orb.Point, m []float64) ([]byte, error) {
	if m == nil {
		m = []float64{}
	}
	return EncodeLine(Line{Points: points, M: m}, WGS84)
}

// EncodeLine gives a line as a GeoPackage geometry. A line without positions is
// empty and flagged so.
//
// It is an error when Z or M is neither nil nor as long as Points, or when a
// height or a measure is not a finite number.
func EncodeLine(l Line, srs int) ([]byte, error) {
	for _, d := range []struct {
		name string
		v    []float64
	}{{"heights", l.Z}, {"measures", l.M}} {
		if d.v == nil {
			continue
		}
		if len(d.v) != len(l.Points) {
			return nil, fmt.Errorf("line of %d positions with %d %s", len(l.Points), len(d.v), d.name)
		}
		for i, v := range d.v {
			if !finite(v) {
				return nil, fmt.Errorf("line whose %s have %v at position %d", d.name, v, i)
			}
		}
	}
	t, size := uint32(codeLine), 16
	if l.Z != nil {
		t, size = t+1000, size+8
	}
	if l.M != nil {
		t, size = t+2000, size+8
	}
	ext := noExtent
	for _, p := range l.Points {
		ext = ext.add(p[0], p[1])
	}
	b := make([]byte, 0, 8+32+9+size*len(l.Points))
	b = appendHeader(b, srs, ext, true)
	b = append(b, 1)
	b = binary.LittleEndian.AppendUint32(b, t)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(l.Points)))
	for i, p := range l.Points {
		b = appendFloats(b, p[0], p[1])
		if l.Z != nil {
			b = appendFloats(b, l.Z[i])
		}
		if l.M != nil {
			b = appendFloats(b, l.M[i])
		}
	}
	return b, nil
}

// EncodePointZ gives a point with a height. A height that is not a finite number
// is an error.
func EncodePointZ(p orb.Point, z float64, srs int) ([]byte, error) {
	if !finite(z) {
		return nil, fmt.Errorf("point with height %v", z)
	}
	b := appendHeader(make([]byte, 0, 8+29), srs, noExtent.add(p[0], p[1]), false)
	b = append(b, 1)
	b = binary.LittleEndian.AppendUint32(b, codePoint+1000)
	return appendFloats(b, p[0], p[1], z), nil
}

// DecodeLine gives a line with its heights and measures, and its srs_id. Errors
// are those of Decode, a shape that is no line, and a height or measure that is
// not a finite number.
func DecodeLine(b []byte) (Line, int, error) {
	h, err := readHeader(b)
	if err != nil {
		return Line{}, 0, err
	}
	r := wkbReader{b: h.wkb, ext: noExtent, build: true, keep: true}
	g, err := r.whole()
	if err != nil {
		return Line{}, 0, err
	}
	ls, ok := g.(orb.LineString)
	if !ok {
		return Line{}, 0, fmt.Errorf("geometry type %d where a line is needed", r.kind)
	}
	for _, v := range append(append([]float64{}, r.zs...), r.ms...) {
		if !finite(v) {
			return Line{}, 0, errors.New("line with a height or measure that is not a finite number")
		}
	}
	l := Line{Points: ls, Z: r.zs, M: r.ms}
	if r.z && l.Z == nil {
		l.Z = []float64{}
	}
	if r.m && l.M == nil {
		l.M = []float64{}
	}
	return l, h.srs, nil
}

func appendFloats(b []byte, vs ...float64) []byte {
	for _, v := range vs {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b
}
