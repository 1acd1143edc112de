package pack

import "encoding/binary"

// zigzag maps 0, -1, 1, -2, ... to 0, 1, 2, 3, ...
func zigzag(v int64) uint64 { return uint64(v)<<1 ^ uint64(v>>63) }

func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

// takeUvarint takes one number off b.
func takeUvarint(b []byte, what string) (uint64, []byte, error) {
	var v [1]int64
	n, err := uvarints(v[:], b)
	if err != nil {
		return 0, nil, damaged("%s: %s", what, err)
	}
	return uint64(v[0]), b[n:], nil
}

// A varintError says what is wrong with a number; callers add where.
type varintError string

func (e varintError) Error() string { return string(e) }

const (
	errShort = varintError("bytes end inside a number")
	errLarge = varintError("number of more than 64 bits")
	errLong  = varintError("number with needless bytes")
)

// uvarints fills dst with the numbers at the start of b and gives the bytes they take.
// A number with a needless last byte 0 is an error, so that each column has one
// spelling under a coding.
func uvarints(dst []int64, b []byte) (int, error) {
	at := 0
	for i := range dst {
		if at >= len(b) {
			return 0, errShort
		}
		c := b[at]
		if c < 0x80 { // most numbers in most columns
			dst[i] = int64(c)
			at++
			continue
		}
		if at+1 < len(b) && b[at+1]-1 < 0x7F { // 1 to 0x7F: two bytes
			dst[i] = int64(c&0x7F) | int64(b[at+1])<<7
			at += 2
			continue
		}
		u, n := binary.Uvarint(b[at:])
		switch {
		case n == 0:
			return 0, errShort
		case n < 0:
			return 0, errLarge
		case b[at+n-1] == 0:
			return 0, errLong
		}
		dst[i] = int64(u)
		at += n
	}
	return at, nil
}
