package pack

import "math"

// Values with nothing to hold on to.
//
// The bits of each are XORed with those of the value before (0 before the first), which
// clears sign, exponent and high digits where neighbours are alike. Then all first bytes
// (the most significant) are written, then all second ones, and so on, so that DEFLATE
// meets the clear ones together.
//
// Worked example, by hand: 1, 2 have the bits 3ff0000000000000 and 4000000000000000,
// XORed 3ff0000000000000 and 7ff0000000000000: 3f 7f f0 f0 and twelve 00.
//
// Cost: linear. Does badly on decimals, whose low bits are as good as random; they have
// codings of their own.

// raw is the blob of v that always holds.
func raw(v []float64) []byte {
	n := len(v)
	body := make([]byte, 8*n)
	last := uint64(0)
	for i, x := range v {
		bits := math.Float64bits(x)
		d := bits ^ last
		last = bits
		for p := range 8 {
			body[p*n+i] = byte(d >> (56 - 8*p))
		}
	}
	return smaller(codeRaw, n, body)
}

func decodeRaw(room []float64, code byte, n int, b []byte) ([]float64, error) {
	body, err := payload(code, b, 8*n)
	if err != nil {
		return nil, err
	}
	if len(body) != 8*n {
		return nil, damaged("%d bytes of values, want %d", len(body), 8*n)
	}
	v := resized(room, n)
	last := uint64(0)
	for i := range v {
		d := uint64(0)
		for p := range 8 {
			d = d<<8 | uint64(body[p*n+i])
		}
		last ^= d
		v[i] = math.Float64frombits(last)
	}
	return v, nil
}
