package pack

import "math"

// Floats packs v bit by bit, which is kept: -0, infinities and every NaN come back as
// they went in. Of the codings of the package comment it takes the shortest that holds;
// the raw one is tried only when the others need more than rawAbove bytes a value. Empty
// v gives a blob of two bytes. The same values give the same bytes, with the reservation
// told at [Ints]. It panics when v has more than [MaxCount] values. Cost: linear, and
// n log n in the number of distinct values when these are few.
func Floats(v []float64) []byte {
	if len(v) == 0 {
		return appendHeader(nil, codeScaled, 0)
	}
	best := scaled(v)
	if best == nil {
		best = shorter(best, near(v))
	}
	best = shorter(best, dictionary(v))
	if best == nil || len(best) > rawAbove*len(v) {
		best = shorter(best, raw(v))
	}
	return best
}

// rawAbove, in bytes a value: deflating 8 bytes a value is the slowest part of packing.
// Of the made columns, each that needs less than this another way needs more raw. A lower
// figure costs time, a higher one may cost size.
const rawAbove = 3

// shorter is the shorter of two blobs, the first of equal ones; nil is none.
func shorter(a, b []byte) []byte {
	if a == nil || b != nil && len(b) < len(a) {
		return b
	}
	return a
}

// DecodeFloats gives the values that [Floats] packed, nil for an empty blob. b is kept.
// Bytes that are no such blob, end early or go on after it are an error of kind
// [ErrDamaged]. Memory is bounded by about 20,000 times the length of b and by three
// times [MaxCount] values.
func DecodeFloats(b []byte) ([]float64, error) { return DecodeFloatsIn(nil, b) }

// DecodeFloatsIn is [DecodeFloats], with the values in room where that is large enough for them.
func DecodeFloatsIn(room []float64, b []byte) ([]float64, error) {
	code, n, rest, err := header(b, codeScaled)
	if err != nil {
		return nil, err
	}
	var decode func(room []float64, code byte, n int, b []byte) ([]float64, error)
	switch code {
	case codeScaled:
		decode = decodeScaled
	case codeNear:
		decode = decodeNear
	case codeDictionary:
		decode = decodeDictionary
	case codeRaw, codeRaw | deflated:
		decode = decodeRaw
	default:
		return nil, damaged("coding 0x%02x is not defined", code)
	}
	if n == 0 {
		return nil, nil
	}
	return decode(room, code, n, rest)
}

// nestedInts decodes the whole-number blob b, which must have n values, in room if that is large enough.
func nestedInts(room []int64, b []byte, n int, what string) ([]int64, error) {
	// The count stands before everything that costs memory.
	_, m, _, err := header(b, codeInts)
	if err == nil && m != n {
		err = damaged("%d values, want %d", m, n)
	}
	var v []int64
	if err == nil {
		v, err = DecodeIntsIn(room, b)
	}
	if err != nil {
		return nil, inside(what, err)
	}
	return v, nil
}

// rank numbers the floats in their order: -0 is -1, +0 is 0, the next above it 1.
// Neighbours differ by 1. value undoes it.
func rank(f float64) int64 {
	b := int64(math.Float64bits(f))
	return b ^ int64(uint64(b>>63)>>1)
}

func value(r int64) float64 {
	return math.Float64frombits(uint64(r ^ int64(uint64(r>>63)>>1)))
}
