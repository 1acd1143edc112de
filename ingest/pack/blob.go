package pack

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// MaxCount is the largest number of values in a blob: two a second for a whole year.
// It bounds what a damaged count can make a decoder allocate, to 8 bytes a value, 512 MB.
// A larger limit would only let a small made-up blob ask for more.
const MaxCount = 1 << 26

// ErrDamaged is the kind, for errors.Is, of every error of the decoders: the bytes are
// not a blob of the wanted sort, or not a whole one. The message says where it broke.
var ErrDamaged = errors.New("damaged")

// The first byte of a blob. Its high half tells the sort of column, bit 3 whether the
// payload is deflated; the package comment has the table.
const (
	codeInts       = 0x10 // 0x10, 0x11, 0x12: order of the differences
	codeScaled     = 0x20
	codeNear       = 0x21
	codeDictionary = 0x22
	codeRaw        = 0x23
	codeBools      = 0x30

	deflated = 0x08
)

func damaged(format string, a ...any) error {
	return fmt.Errorf("packed column %w: %s", ErrDamaged, fmt.Sprintf(format, a...))
}

// appendHeader begins a blob. Too many values are a mistake of the program.
func appendHeader(b []byte, code byte, n int) []byte {
	if n > MaxCount {
		panic(fmt.Sprintf("pack: %d values in a column, at most %d fit", n, MaxCount))
	}
	return binary.AppendUvarint(append(b, code), uint64(n))
}

// header takes the coding byte and the count off b. The coding must be of the family
// that begins with want, the high half of the byte.
func header(b []byte, want byte) (code byte, n int, rest []byte, err error) {
	if len(b) == 0 {
		return 0, 0, nil, damaged("no bytes, want a coding byte")
	}
	code = b[0]
	if code&0xF0 != want {
		return 0, 0, nil, damaged("coding 0x%02x, want one of 0x%02x to 0x%02x", code, want, want|0x0F)
	}
	u, rest, err := takeUvarint(b[1:], "count")
	if err != nil {
		return 0, 0, nil, err
	}
	if u > MaxCount {
		return 0, 0, nil, damaged("count %d, at most %d allowed", u, MaxCount)
	}
	if u == 0 && len(rest) != 0 {
		return 0, 0, nil, damaged("%d bytes follow a count of 0", len(rest))
	}
	return code, int(u), rest, nil
}

// payload gives the bytes behind the header, inflated to at most limit bytes if the
// coding says so.
func payload(code byte, rest []byte, limit int) ([]byte, error) {
	if code&deflated == 0 {
		return rest, nil
	}
	return inflate(rest, limit)
}

// takeNested cuts a blob off b that is preceded by its length.
func takeNested(b []byte, what string) (blob, rest []byte, err error) {
	n, b, err := takeUvarint(b, "length of the "+what)
	if err != nil {
		return nil, nil, err
	}
	if n > uint64(len(b)) {
		return nil, nil, damaged("%d bytes left, want %d of the %s", len(b), n, what)
	}
	return b[:n], b[n:], nil
}

// inside says in which part of a blob err arose; the kind stays.
func inside(what string, err error) error { return fmt.Errorf("%s of a %w", what, err) }
