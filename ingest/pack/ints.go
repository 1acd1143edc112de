package pack

import (
	"encoding/binary"
	"math/bits"
	"slices"
)

// Whole numbers.
//
// # Method
//
//  1. The step is the greatest common divisor of the differences between neighbours.
//     Dividing by it turns instants in nanoseconds into seconds or milliseconds.
//  2. Order 0 writes each value's distance from the lowest, in steps. Order 1 writes the
//     differences between neighbours, order 2 the differences of those, zigzagged. All
//     arithmetic is modulo 2^64, so nothing can overflow.
//  3. The order is chosen by an estimate: the entropy of its varints' bytes plus a byte
//     for each byte value used, or the plain length where that is less. That is near
//     what DEFLATE will make of it, and cheaper than trying all three.
//  4. The varints are deflated if that is shorter.
//
// Worked example, by hand: 1000, 2000, 3000, 5000. The differences are 1000, 1000 and
// 2000, so the step is 1000. Order 0 would write 0, 1, 2, 4. Order 1 writes 1, 1, 2,
// zigzagged 2, 2, 4. Three bytes are less than four: order 1, and the bytes are
//
//	11        coding: whole numbers, order 1
//	04        count
//	d0 0f     first value, zigzagged 2000 = 0x50 + 0x0f<<7
//	e8 07     step 1000 = 0x68 + 0x07<<7
//	02 02 04
//
// Cost: linear. Does badly on values that repeat in a pattern longer than a few values:
// the estimate doesn't see what DEFLATE's matches would save.
//
// Sources: Deutsch, RFC 1951 (DEFLATE); Shannon, "A mathematical theory of
// communication" (1948), section 6, for the entropy.

// Ints packs v, which is kept as it is. Empty v gives a blob of two bytes. The same
// values give the same bytes, as long as the Go release is the same: another release's
// compress/flate may pack tighter, and each reads the other's. It panics when v has more
// than [MaxCount] values.
func Ints(v []int64) []byte {
	if len(v) == 0 {
		return appendHeader(nil, codeInts, 0)
	}
	low, step := slices.Min(v), commonStep(v)
	// Steps above the lowest value; differences of these are the values' own.
	room := unsigned.get(len(v))
	defer unsigned.put(room)
	q := *room
	for i, x := range v {
		q[i] = uint64(x) - uint64(low)
	}
	if step > 1 {
		for i := range q {
			q[i] /= step
		}
	}
	order := bestOrder(q)
	base := v[0]
	if order == 0 {
		base = low
	}
	body := bodies.get(0)
	defer bodies.put(body)
	*body = binary.AppendUvarint((*body)[:0], zigzag(base))
	*body = binary.AppendUvarint(*body, step)
	*body = appendDifferences(*body, q, order)
	return smaller(codeInts+byte(order), len(v), *body)
}

// DecodeInts gives the values that [Ints] packed, nil for an empty blob. b is kept. Bytes
// that are no such blob, end early or go on after it are an error of kind [ErrDamaged].
// Memory is bounded by about 10,000 times the length of b and by [MaxCount] values.
func DecodeInts(b []byte) ([]int64, error) { return DecodeIntsIn(nil, b) }

// DecodeIntsIn is [DecodeInts], with the values in room where that is large enough for them.
func DecodeIntsIn(room []int64, b []byte) ([]int64, error) {
	code, n, rest, err := header(b, codeInts)
	if err != nil {
		return nil, err
	}
	order := int(code &^ deflated & 0x0F)
	if order > 2 {
		return nil, damaged("coding 0x%02x is not defined", code)
	}
	if n == 0 {
		return nil, nil
	}
	body := rest
	if code&deflated != 0 {
		lent := bodies.get(0)
		defer bodies.put(lent)
		if body, err = inflateIn(*lent, rest, (n+2)*binary.MaxVarintLen64); err != nil {
			return nil, err
		}
		*lent = body
	}
	base, body, err := takeUvarint(body, "first value")
	if err != nil {
		return nil, err
	}
	step, body, err := takeUvarint(body, "step")
	if err != nil {
		return nil, err
	}
	first := min(order, 1) // orders 1 and 2 have the first value in the header
	if n-first > len(body) {
		return nil, damaged("%d bytes of differences, want at least %d", len(body), n-first)
	}
	v := resized(room, n)
	used, err := uvarints(v[first:], body)
	if err != nil {
		return nil, damaged("differences: %s", err)
	}
	if used != len(body) {
		return nil, damaged("%d bytes follow the last difference", len(body)-used)
	}
	restore(v, unzigzag(base), int64(step), order)
	return v, nil
}

// restore turns the numbers of a blob into values, in place.
func restore(v []int64, base, step int64, order int) {
	switch order {
	case 0:
		for i, u := range v {
			v[i] = base + step*u
		}
	case 1:
		v[0] = base
		for i, u := range v[1:] {
			base += step * unzigzag(uint64(u))
			v[i+1] = base
		}
	case 2:
		v[0] = base
		d := int64(0)
		for i, u := range v[1:] {
			d += step * unzigzag(uint64(u))
			base += d
			v[i+1] = base
		}
	}
}

// commonStep is the greatest number that divides every difference between neighbours,
// 1 when all are 0.
func commonStep(v []int64) uint64 {
	g := uint64(0)
	for i := 1; i < len(v) && g != 1; i++ {
		d := uint64(v[i]) - uint64(v[i-1])
		if v[i] < v[i-1] {
			d = -d
		}
		if d != g {
			for d != 0 {
				g, d = d, g%d
			}
		}
	}
	return max(g, 1)
}

// appendDifferences appends the numbers that order writes for q.
func appendDifferences(b []byte, q []uint64, order int) []byte {
	b = slices.Grow(b, 2*len(q))
	switch order {
	case 0:
		for _, x := range q {
			b = appendUvarint(b, x)
		}
	case 1:
		for i, x := range q[1:] {
			b = appendUvarint(b, zigzag(int64(x-q[i])))
		}
	case 2:
		last := uint64(0)
		for i, x := range q[1:] {
			d := x - q[i]
			b = appendUvarint(b, zigzag(int64(d-last)))
			last = d
		}
	}
	return b
}

// appendUvarint is binary.AppendUvarint, short enough to be put in where it is called.
func appendUvarint(b []byte, u uint64) []byte {
	for u >= 0x80 {
		b = append(b, byte(u)|0x80)
		u >>= 7
	}
	return append(b, byte(u))
}

// A tally is how often each byte occurs.
type tally [256]uint64

// add counts the bytes of u as appendUvarint writes it.
func (t *tally) add(u uint64) {
	for u >= 0x80 {
		t[byte(u)|0x80]++
		u >>= 7
	}
	t[byte(u)]++
}

// bestOrder is the order with the least estimate, the lower of two equal ones.
func bestOrder(q []uint64) int {
	var seen [3]tally
	seen[0].add(q[0])
	last := uint64(0)
	for i, x := range q[1:] {
		d := x - q[i]
		seen[0].add(x)
		seen[1].add(zigzag(int64(d)))
		seen[2].add(zigzag(int64(d - last)))
		last = d
	}
	best, least := 0, estimate(&seen[0])
	for order := 1; order < len(seen); order++ {
		if e := estimate(&seen[order]); e < least {
			best, least = order, e
		}
	}
	return best
}

// estimate is about the size of bytes that occur seen times each, packed, in 1/256 bit.
// It is in whole numbers, so that every processor chooses alike.
func estimate(seen *tally) uint64 {
	n, used, packed := uint64(0), uint64(0), uint64(0)
	for _, c := range seen {
		n += c
	}
	for _, c := range seen {
		if c > 0 {
			used++
			packed += c * (log2(n) - log2(c))
		}
	}
	return min(8*256*n, packed+8*256*used)
}

// log2 is 256 times the logarithm to base 2 of n > 0, rounded down, by squaring:
// a mantissa in [1, 2) whose square reaches 2 has a further 1 in its logarithm.
func log2(n uint64) uint64 {
	l := uint64(bits.Len64(n) - 1)
	m := n << (63 - l) >> 32 // mantissa, 1 is 2^31
	for range 8 {
		m = m * m >> 31
		l <<= 1
		if m >= 1<<32 {
			l++
			m >>= 1
		}
	}
	return l
}
