package pack

// Yes and no: eight to a byte, the first in the lowest bit, bits after the last value 0;
// deflated where that is shorter.
//
// Worked example: true, false, true, true is 1 + 4 + 8 = 0x0d, and the blob 30 04 0d.

// Bools packs v, which is kept. Empty v gives a blob of two bytes. The same values give
// the same bytes, with the reservation told at [Ints]. It panics when v has more than
// [MaxCount] values.
func Bools(v []bool) []byte {
	if len(v) == 0 {
		return appendHeader(nil, codeBools, 0)
	}
	body := make([]byte, (len(v)+7)/8)
	for i, yes := range v {
		if yes {
			body[i/8] |= 1 << (i % 8)
		}
	}
	return smaller(codeBools, len(v), body)
}

// DecodeBools gives the values that [Bools] packed, nil for an empty blob. b is kept.
// Bytes that are no such blob, end early or go on after it are an error of kind
// [ErrDamaged]. Memory is bounded by about 12,000 times the length of b and by
// [MaxCount] values.
func DecodeBools(b []byte) ([]bool, error) {
	code, n, rest, err := header(b, codeBools)
	if err != nil {
		return nil, err
	}
	if code&^deflated != codeBools {
		return nil, damaged("coding 0x%02x is not defined", code)
	}
	if n == 0 {
		return nil, nil
	}
	want := (n + 7) / 8
	body, err := payload(code, rest, want)
	if err != nil {
		return nil, err
	}
	if len(body) != want {
		return nil, damaged("%d bytes of bits, want %d", len(body), want)
	}
	if n%8 != 0 && body[want-1]>>(n%8) != 0 {
		return nil, damaged("bits set after the last value")
	}
	v := make([]bool, n)
	for i := range v {
		v[i] = body[i/8]>>(i%8)&1 != 0
	}
	return v, nil
}
