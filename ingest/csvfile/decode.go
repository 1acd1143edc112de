package csvfile

import (
	"bufio"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// decoded returns r in UTF-8. A byte order mark decides, for UTF-16 too; without
// one, text whose every other byte is zero is UTF-16, and in all other each byte
// that is not part of UTF-8 is read as Windows-1252, which holds all of Latin-1's
// letters. Text that is one or the other comes out right without a look at the
// whole file.
func decoded(r io.Reader) io.Reader {
	in := bufio.NewReaderSize(r, 64<<10)
	var plain transform.Transformer = latin{}
	if endian, ok := wide(in); ok {
		plain = unicode.UTF16(endian, unicode.IgnoreBOM).NewDecoder()
	}
	return transform.NewReader(in, unicode.BOMOverride(plain))
}

// wide tells UTF-16 without a byte order mark by its zeros: a header is ASCII for
// the most part, and no table in one byte a letter has a zero in its first line.
func wide(in *bufio.Reader) (unicode.Endianness, bool) {
	head, _ := in.Peek(64) // an error comes again when the text is read
	var zeros [2]int
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	half := len(head) / 2
	switch {
	case half < 4:
	case zeros[1] >= half-half/8 && zeros[0] == 0:
		return unicode.LittleEndian, true
	case zeros[0] >= half-half/8 && zeros[1] == 0:
		return unicode.BigEndian, true
	}
	return unicode.LittleEndian, false
}

type latin struct{ transform.NopResetter }

// Transform implements transform.Transformer.
func (latin) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	for nSrc < len(src) {
		ascii := 0
		for most := min(len(src)-nSrc, len(dst)-nDst); ascii < most && src[nSrc+ascii] < utf8.RuneSelf; {
			ascii++
		}
		if ascii > 0 {
			copy(dst[nDst:], src[nSrc:nSrc+ascii])
			nDst, nSrc = nDst+ascii, nSrc+ascii
			continue
		}
		r, size := utf8.DecodeRune(src[nSrc:])
		if r == utf8.RuneError && size == 1 {
			if !atEOF && !utf8.FullRune(src[nSrc:]) {
				return nDst, nSrc, transform.ErrShortSrc
			}
			r = charmap.Windows1252.DecodeByte(src[nSrc])
		}
		if nDst+utf8.RuneLen(r) > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		nDst += utf8.EncodeRune(dst[nDst:], r)
		nSrc += size
	}
	return nDst, nSrc, nil
}
