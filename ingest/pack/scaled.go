package pack

import (
	"encoding/binary"
	"math"
)

// Numbers that were written with few digits.
//
// # Method
//
// A value read from a text with d decimals is the float64 nearest to k/10^d for a whole
// k. One division of two exact float64 is correctly rounded (IEEE 754), so float64(k)/10^d
// gives exactly these bits, and k is all that has to be kept. The smallest d from 0 to 9
// that does so for every value is taken.
//
// Other values are near such a fraction but a unit in the last place or two off: degrees
// from whole degrees plus minutes/60, feet times 0.3048. And a column of decimals may have
// a -0 or a NaN in it. Then k is kept and beside it by how many float64 the value lies
// above k/s, where the scale s is a power of ten, or 60 times one, that fits most of a
// sample. The second column is mostly -1, 0 and 1 and packs into a bit or two a value.
// A value that lies near no k gets the k before it, and whatever difference that takes.
//
// Worked example, by hand: 1.5, 1.25, 1.5 has d = 2 and k = 150, 125, 150. These have the
// step 25; order 0 would write 1, 0, 1, order 1 writes -1, 1, zigzagged 1, 2:
//
//	20        coding: scaled
//	03        count
//	64        scale 100
//	11 03     whole numbers, order 1, count
//	ac 02     150, zigzagged 300 = 0x2c + 0x02<<7
//	19        step 25
//	01 02
//
// Cost: linear. Does badly on values with more than 9 decimals, and on products of
// decimals with an arbitrary factor.
//
// Source: IEEE 754-2019, section 5.4.1 (division is correctly rounded); the method is
// ours.

// maxWhole bounds k: all whole numbers up to it are float64.
const maxWhole = 1 << 53

// nearSample is how many values, spread over the column, choose the scale of the near
// coding; the whole column then shows its size, so a poor choice costs size alone.
const nearSample = 128

// nearEnough, in units in the last place, makes a value fit a scale. Two or three
// roundings of half a unit each, one of them before a division or an addition that may
// double it, stay below.
const nearEnough = 4

// scales are the divisors that are tried, in this order: all are exact.
var scales = func() (s []float64) {
	for _, unit := range []float64{1, 60} {
		for range 10 {
			s = append(s, unit)
			unit *= 10
		}
	}
	return s
}()

const decimalScales = 10 // the first ones, 10^0 to 10^9

// whole is the k for which k/scale is nearest v, false when there is none within bounds.
func whole(v, scale float64) (int64, bool) {
	k := math.RoundToEven(v * scale)
	if !(math.Abs(k) <= maxWhole) {
		return 0, false
	}
	return int64(k), true
}

func exact(v, scale float64) (int64, bool) {
	k, ok := whole(v, scale)
	return k, ok && math.Float64bits(float64(k)/scale) == math.Float64bits(v)
}

// scaled is the blob of v as decimals, nil if it is none.
func scaled(v []float64) []byte {
	// The d that one value needs is most often the column's, so find the largest of
	// these first, and then see whether it is right for all: a large value may have
	// too many digits for it.
	d := 0
	for _, x := range v {
		for {
			if _, ok := exact(x, scales[d]); ok {
				break
			}
			if d++; d == decimalScales {
				return nil
			}
		}
	}
	ks := signed.get(len(v))
	defer signed.put(ks)
	for i, x := range v {
		k, ok := exact(x, scales[d])
		if !ok {
			return nil
		}
		(*ks)[i] = k
	}
	return append(scaleHeader(codeScaled, len(v), d), Ints(*ks)...)
}

// near is the blob of v as fractions and what they are off; nil if most of a sample is
// near none.
func near(v []float64) []byte {
	d := nearScale(v)
	if d < 0 {
		return nil
	}
	scale := scales[d]
	ks, offs := signed.get(len(v)), signed.get(len(v))
	defer signed.put(ks)
	defer signed.put(offs)
	last, at := int64(0), rank(0) // rank of last/scale
	for i, x := range v {
		if k, ok := whole(x, scale); ok && k != last {
			if r := rank(float64(k) / scale); isNear(rank(x) - r) {
				last, at = k, r
			}
		}
		(*ks)[i], (*offs)[i] = last, rank(x)-at
	}
	k := Ints(*ks)
	b := binary.AppendUvarint(scaleHeader(codeNear, len(v), d), uint64(len(k)))
	return append(append(b, k...), Ints(*offs)...)
}

func isNear(off int64) bool { return -nearEnough <= off && off <= nearEnough }

// nearScale is the index of the first scale that the most of a sample fit, -1 when that
// is not even half.
func nearScale(v []float64) int {
	n := min(len(v), nearSample)
	best, most := -1, n/2
	for d, scale := range scales {
		fit := 0
		for i := range n {
			x := v[i*len(v)/n]
			if k, ok := whole(x, scale); ok {
				if isNear(rank(x) - rank(float64(k)/scale)) {
					fit++
				}
			}
		}
		if fit > most {
			best, most = d, fit
		}
	}
	return best
}

func scaleHeader(code byte, n, d int) []byte {
	return binary.AppendUvarint(appendHeader(nil, code, n), uint64(scales[d]))
}

// takeScale takes the divisor off b.
func takeScale(b []byte) (float64, []byte, error) {
	s, b, err := takeUvarint(b, "scale")
	if err != nil {
		return 0, nil, err
	}
	if s == 0 || s > maxWhole {
		return 0, nil, damaged("scale %d, want 1 to 2^53", s)
	}
	return float64(s), b, nil
}

func decodeScaled(room []float64, _ byte, n int, b []byte) ([]float64, error) {
	scale, b, err := takeScale(b)
	if err != nil {
		return nil, err
	}
	return fractions(room, b, n, scale)
}

func decodeNear(room []float64, _ byte, n int, b []byte) ([]float64, error) {
	scale, b, err := takeScale(b)
	if err != nil {
		return nil, err
	}
	k, b, err := takeNested(b, "whole numbers")
	if err != nil {
		return nil, err
	}
	v, err := fractions(room, k, n, scale)
	if err != nil {
		return nil, err
	}
	lent := signed.get(0)
	defer signed.put(lent)
	offs, err := nestedInts(*lent, b, n, "last places")
	if err != nil {
		return nil, err
	}
	*lent = offs
	for i, off := range offs {
		v[i] = value(rank(v[i]) + off)
	}
	return v, nil
}

// fractions decodes n whole numbers and divides them by scale, in room if that is large enough.
func fractions(room []float64, b []byte, n int, scale float64) ([]float64, error) {
	lent := signed.get(0)
	defer signed.put(lent)
	ks, err := nestedInts(*lent, b, n, "whole numbers")
	if err != nil {
		return nil, err
	}
	*lent = ks
	v := resized(room, n)
	for i, k := range ks {
		if k < -maxWhole || k > maxWhole {
			return nil, damaged("whole number %d, want at most 2^53", k)
		}
		v[i] = float64(k) / scale
	}
	return v, nil
}
