package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// WKB codes of the seven plain shapes; 1000 is added for z and 2000 for m.
const (
	codePoint = iota + 1
	codeLine
	codePolygon
	codeMultiPoint
	codeMultiLine
	codeMultiPolygon
	codeCollection
)

// maxDepth is how deep collections may stand in each other. It keeps made-up
// bytes from using up the stack; real files have one level.
const maxDepth = 16

// Decode gives the shape in b and the srs_id it is in. Heights and measures are
// left out; [DecodeLine] keeps them. Both byte orders are read. An empty point
// has no counterpart in orb: it gives a nil geometry and no error, and is left out
// of a multipoint or a collection. nil bytes, that is NULL, give nil, 0 and no
// error.
//
// It is an error when b is no GeoPackage geometry, ends early, claims more than it
// has, goes on after its end, is of a curved or extended type, or has a coordinate
// that is not a finite number. It doesn't panic and doesn't allocate more than a
// few times the length of b: FuzzDecode.
func Decode(b []byte) (g orb.Geometry, srs int, err error) {
	if b == nil {
		return nil, 0, nil
	}
	h, err := readHeader(b)
	if err != nil {
		return nil, 0, err
	}
	r := wkbReader{b: h.wkb, ext: noExtent, build: true}
	g, err = r.whole()
	if err != nil {
		return nil, 0, err
	}
	return g, h.srs, nil
}

// A wkbReader walks through WKB. With build it makes the shape, without it only
// checks it and measures its extent.
type wkbReader struct {
	b     []byte // what is left
	build bool
	keep  bool // keep z and m in zs and ms

	kind   uint32 // of the outermost shape
	z, m   bool   // of the outermost shape
	ext    extent
	zs, ms []float64
}

// whole reads one shape and sees that nothing follows.
func (r *wkbReader) whole() (orb.Geometry, error) {
	g, err := r.shape(0, 0)
	if err != nil {
		return nil, err
	}
	if len(r.b) != 0 {
		return nil, fmt.Errorf("geometry goes on for %d bytes after its end", len(r.b))
	}
	return g, nil
}

// shape reads one shape, which must be of kind want unless want is 0.
func (r *wkbReader) shape(depth int, want uint32) (orb.Geometry, error) {
	if depth > maxDepth {
		return nil, fmt.Errorf("geometry nested more than %d deep", maxDepth)
	}
	if len(r.b) < 5 {
		return nil, errors.New("geometry ends before its type")
	}
	var order binary.ByteOrder
	switch r.b[0] {
	case 0:
		order = binary.BigEndian
	case 1:
		order = binary.LittleEndian
	default:
		return nil, fmt.Errorf("geometry with byte order %d, known are 0 and 1", r.b[0])
	}
	t := order.Uint32(r.b[1:])
	r.b = r.b[5:]
	kind, dims := t%1000, t/1000
	if kind < codePoint || kind > codeCollection || dims > 3 {
		return nil, fmt.Errorf("geometry type %d is not known", t)
	}
	if want != 0 && kind != want {
		return nil, fmt.Errorf("geometry type %d where only %d may stand", kind, want)
	}
	z, m := dims == 1 || dims == 3, dims >= 2
	if depth == 0 {
		r.kind, r.z, r.m = kind, z, m
	} else if z != r.z || m != r.m {
		return nil, errors.New("geometry whose parts differ in having heights or measures")
	}
	size := 16
	if z {
		size += 8
	}
	if m {
		size += 8
	}
	return r.body(depth, kind, order, size)
}

// body reads what follows the type. size is the length of one position in bytes.
func (r *wkbReader) body(depth int, kind uint32, order binary.ByteOrder, size int) (orb.Geometry, error) {
	switch kind {
	case codePoint:
		if len(r.b) < size {
			return nil, errors.New("geometry ends inside a point")
		}
		if allNaN(r.b[:16], order) {
			r.b = r.b[size:]
			return nil, nil
		}
		p, err := r.position(order, size)
		if err != nil {
			return nil, err
		}
		return p, nil
	case codeLine:
		ps, err := r.positions(order, size)
		return orb.LineString(ps), err
	case codePolygon:
		n, err := r.count(order, 4)
		if err != nil {
			return nil, err
		}
		out := make(orb.Polygon, 0, r.room(n))
		for range n {
			ps, err := r.positions(order, size)
			if err != nil {
				return nil, err
			}
			if r.build {
				out = append(out, ps)
			}
		}
		return out, nil
	}
	return r.parts(depth, kind, order)
}

// parts reads the members of a multi-shape or a collection.
func (r *wkbReader) parts(depth int, kind uint32, order binary.ByteOrder) (orb.Geometry, error) {
	n, err := r.count(order, 9) // byte order, type and a count is the least a member has
	if err != nil {
		return nil, err
	}
	var want uint32
	if kind != codeCollection {
		want = kind - 3 // the members of 4, 5, 6 are 1, 2, 3
	}
	members := make(orb.Collection, 0, r.room(n))
	for range n {
		g, err := r.shape(depth+1, want)
		if err != nil {
			return nil, err
		}
		if r.build && g != nil {
			members = append(members, g)
		}
	}
	switch kind {
	case codeMultiPoint:
		return orb.MultiPoint(sliceOf[orb.Point](members)), nil
	case codeMultiLine:
		return orb.MultiLineString(sliceOf[orb.LineString](members)), nil
	case codeMultiPolygon:
		return orb.MultiPolygon(sliceOf[orb.Polygon](members)), nil
	}
	return members, nil
}

func sliceOf[T orb.Geometry](c orb.Collection) []T {
	out := make([]T, len(c))
	for i, g := range c {
		out[i] = g.(T)
	}
	return out
}

// room is how much to allocate for n members, which count has found possible.
func (r *wkbReader) room(n int) int {
	if r.build {
		return n
	}
	return 0
}

// count reads a number of members of at least size bytes each, and refuses one
// that can't be in the bytes left.
func (r *wkbReader) count(order binary.ByteOrder, size int) (int, error) {
	if len(r.b) < 4 {
		return 0, errors.New("geometry ends before a count")
	}
	n := uint64(order.Uint32(r.b))
	r.b = r.b[4:]
	if left := uint64(len(r.b)); n*uint64(size) > left {
		return 0, fmt.Errorf("geometry claims %d members in %d bytes", n, left)
	}
	return int(n), nil
}

func (r *wkbReader) positions(order binary.ByteOrder, size int) ([]orb.Point, error) {
	n, err := r.count(order, size)
	if err != nil {
		return nil, err
	}
	out := make([]orb.Point, 0, r.room(n))
	for range n {
		p, err := r.position(order, size)
		if err != nil {
			return nil, err
		}
		if r.build {
			out = append(out, p)
		}
	}
	return out, nil
}

// position reads one position; the caller has seen that its bytes are there.
func (r *wkbReader) position(order binary.ByteOrder, size int) (orb.Point, error) {
	at := func(i int) float64 { return math.Float64frombits(order.Uint64(r.b[i:])) }
	p := orb.Point{at(0), at(8)}
	if !finite(p[0]) || !finite(p[1]) {
		return p, errors.New("geometry with a coordinate that is not a finite number")
	}
	r.ext = r.ext.add(p[0], p[1])
	if r.keep {
		if r.z {
			r.zs = append(r.zs, at(16))
		}
		if r.m {
			r.ms = append(r.ms, at(size-8))
		}
	}
	r.b = r.b[size:]
	return p, nil
}

func finite(v float64) bool { return v-v == 0 }

func allNaN(b []byte, order binary.ByteOrder) bool {
	for i := 0; i < len(b); i += 8 {
		if !math.IsNaN(math.Float64frombits(order.Uint64(b[i:]))) {
			return false
		}
	}
	return true
}
