package pack

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"
)

// The fuzz targets take any bytes as a blob: no panic, every error of the one kind, and
// what was read packs and comes back. They take the same bytes as a column too.

// small keeps runs quick: a large count needs no large column to be tested.
func small(b []byte) bool {
	if len(b) < 2 {
		return true
	}
	n, _ := binary.Uvarint(b[1:])
	return n <= 1<<16 || n > MaxCount
}

func seed(f *testing.F) {
	for _, c := range columns(50) {
		f.Add(c.pack())
	}
	for _, n := range []int{0, 1, 9, 300} {
		f.Add(Bools(make([]bool, n)))
		f.Add(raw(make([]float64, n)))
	}
	f.Add(Ints([]int64{math.MinInt64, math.MaxInt64, 0}))
	f.Add(Floats([]float64{math.NaN(), math.Inf(1), math.Copysign(0, -1)}))
}

func words(b []byte) (v []int64) {
	for ; len(b) >= 8; b = b[8:] {
		v = append(v, int64(binary.LittleEndian.Uint64(b)))
	}
	return v
}

func FuzzDecodeInts(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		checkInts(t, words(b))
		var bytewise []int64
		for _, c := range b {
			bytewise = append(bytewise, int64(int8(c))*1e6)
		}
		checkInts(t, bytewise)
		if !small(b) {
			return
		}
		v, err := DecodeInts(b)
		if err != nil && !errors.Is(err, ErrDamaged) {
			t.Fatal(err)
		}
		checkInts(t, v)
	})
}

func FuzzDecodeFloats(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		var bits, decimals []float64
		for _, w := range words(b) {
			bits = append(bits, math.Float64frombits(uint64(w)))
		}
		for _, c := range b {
			decimals = append(decimals, float64(int8(c))/100)
		}
		checkFloats(t, bits)
		checkFloats(t, decimals)
		if !small(b) {
			return
		}
		v, err := DecodeFloats(b)
		if err != nil && !errors.Is(err, ErrDamaged) {
			t.Fatal(err)
		}
		checkFloats(t, v)
	})
}

func FuzzDecodeBools(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		var own []bool
		for i := range 8 * len(b) {
			own = append(own, b[i/8]>>(i%8)&1 != 0)
		}
		checkBools(t, own)
		v, err := DecodeBools(b)
		if err != nil && !errors.Is(err, ErrDamaged) {
			t.Fatal(err)
		}
		checkBools(t, v)
	})
}
