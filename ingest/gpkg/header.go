package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// The header of a geometry, GeoPackage 1.3 clause 2.1.3:
//
//	47 50     "GP"
//	00        version 1 of the format
//	flags     bit 0 byte order (1 little), bits 1-3 kind of envelope,
//	          bit 4 empty, bit 5 extended type, bits 6-7 reserved
//	srs_id    four bytes
//	envelope  min x, max x, min y, max y (then z, then m), 0, 32, 48, 48 or 64 bytes
//
// By hand, the point 1 2 in WGS 84: 47500001 E6100000, then WKB
// 01 01000000 000000000000F03F 0000000000000040. E6100000 is 4326 = 0x10E6.

const (
	flagLittle   = 1 << 0
	flagEmpty    = 1 << 4
	flagExtended = 1 << 5
	envelopeXY   = 1 << 1
)

// envelopeBytes is the length of an envelope by its kind.
var envelopeBytes = [5]int{0, 32, 48, 48, 64}

// A header is what stands in front of the WKB.
type header struct {
	srs    int
	empty  bool
	hasExt bool
	ext    extent // meaningful with hasExt
	wkb    []byte // the rest, not copied
}

// appendHeader writes a header in little endian. The envelope is left out when
// the shape is empty, as the standard asks, and for points, which are shorter
// without.
func appendHeader(b []byte, srs int, ext extent, envelope bool) []byte {
	flags := byte(flagLittle)
	switch {
	case ext.empty():
		flags |= flagEmpty
	case envelope:
		flags |= envelopeXY
	}
	b = append(b, 'G', 'P', 0, flags)
	b = binary.LittleEndian.AppendUint32(b, uint32(int32(srs)))
	if flags&envelopeXY != 0 {
		for _, v := range [4]float64{ext.minX, ext.maxX, ext.minY, ext.maxY} {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
	}
	return b
}

// readHeader takes a geometry apart. It checks that what the header claims is there.
func readHeader(b []byte) (header, error) {
	if len(b) < 8 || b[0] != 'G' || b[1] != 'P' {
		return header{}, errors.New("geometry does not begin with a GeoPackage header")
	}
	if b[2] != 0 {
		return header{}, fmt.Errorf("geometry of format version %d, only 0 is known", b[2])
	}
	flags := b[3]
	if flags&flagExtended != 0 {
		return header{}, errors.New("geometry of an extended type is not known")
	}
	var order binary.ByteOrder = binary.BigEndian
	if flags&flagLittle != 0 {
		order = binary.LittleEndian
	}
	kind := int(flags>>1) & 7
	if kind >= len(envelopeBytes) {
		return header{}, fmt.Errorf("geometry with envelope kind %d, known are 0 to 4", kind)
	}
	n := envelopeBytes[kind]
	if len(b) < 8+n {
		return header{}, fmt.Errorf("geometry ends inside its envelope: %d bytes, needs %d", len(b), 8+n)
	}
	h := header{
		srs:   int(int32(order.Uint32(b[4:]))),
		empty: flags&flagEmpty != 0,
		wkb:   b[8+n:],
		ext:   noExtent,
	}
	if n > 0 && !h.empty {
		at := func(i int) float64 { return math.Float64frombits(order.Uint64(b[8+8*i:])) }
		h.ext = extent{minX: at(0), maxX: at(1), minY: at(2), maxY: at(3)}
		// Empty shapes were written by some with an envelope of NaN.
		h.hasExt = h.ext.finite() && h.ext.minX <= h.ext.maxX && h.ext.minY <= h.ext.maxY
	}
	return h, nil
}

// A geometryInfo is what an index and a layer need to know of a shape.
type geometryInfo struct {
	kind    uint32 // WKB code without z and m, 1 to 7
	z, m    bool
	srs     int
	flagged bool   // the header says it is empty
	ext     extent // empty for an empty shape
}

// fullInfo reads the whole shape and checks every coordinate.
func fullInfo(b []byte) (geometryInfo, error) {
	h, err := readHeader(b)
	if err != nil {
		return geometryInfo{}, err
	}
	r := wkbReader{b: h.wkb, ext: noExtent}
	if _, err := r.whole(); err != nil {
		return geometryInfo{}, err
	}
	return geometryInfo{kind: r.kind, z: r.z, m: r.m, srs: h.srs, flagged: h.empty, ext: r.ext}, nil
}

// quickInfo believes the envelope in the header when there is one.
func quickInfo(b []byte) (geometryInfo, error) {
	h, err := readHeader(b)
	if err != nil {
		return geometryInfo{}, err
	}
	if h.hasExt {
		return geometryInfo{srs: h.srs, ext: h.ext}, nil
	}
	return fullInfo(b)
}
