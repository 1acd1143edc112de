package gpxfile

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"regexp"
	"strings"
	"sync"

	"golang.org/x/net/html/charset"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// headBytes is how much of a file is looked at to recognise it and its encoding.
const headBytes = 4096

// declaredEncoding is made when a file is first read: it takes 6 ms, and most commands read none.
var declaredEncoding = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^[^>]{0,500}<\?xml[^>]{0,200}\sencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)
})

// decoded returns r as UTF-8. A byte order mark decides; without one the zero
// bytes of UTF-16 do, then the encoding that the XML declaration names. Bytes that
// are not UTF-8 where that is meant become U+FFFD: a single accented letter must
// not cost the rest of a file. The error tells an encoding that is not known.
func decoded(r io.Reader) (io.Reader, error) {
	in := bufio.NewReaderSize(r, windowBytes)
	head, _ := in.Peek(1024)
	utf16 := func(e unicode.Endianness) encoding.Encoding { return unicode.UTF16(e, unicode.IgnoreBOM) }
	var is encoding.Encoding = unicode.UTF8
	if len(head) > 3 && head[0] == '<' && head[1] == 0 && head[3] == 0 {
		is = utf16(unicode.LittleEndian)
	} else if len(head) > 3 && head[0] == 0 && head[1] == '<' && head[2] == 0 {
		is = utf16(unicode.BigEndian)
	} else if m := declaredEncoding().FindSubmatch(head); m != nil {
		// A declaration that can be read byte by byte is not one in UTF-16.
		if label := string(m[1]); !strings.HasPrefix(strings.ToLower(label), "utf-16") {
			named, name := charset.Lookup(label)
			if named == nil {
				return nil, fmt.Errorf("unsupported charset: %q", label)
			}
			if name != "utf-8" {
				is = named
			}
		}
	}
	var to transform.Transformer = is.NewDecoder()
	if is == unicode.UTF8 {
		to = asciiFirst{to}
	}
	return transform.NewReader(in, unicode.BOMOverride(to)), nil
}

// asciiFirst copies ASCII and leaves the rest to a decoder of UTF-8, which alone
// would take as long over a file as all that comes behind it.
type asciiFirst struct{ transform.Transformer }

func (a asciiFirst) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	n := copy(dst, src[:ascii(src[:min(len(dst), len(src))])])
	if n == len(src) {
		return n, n, nil
	}
	nDst, nSrc, err = a.Transformer.Transform(dst[n:], src[n:], atEOF)
	return n + nDst, n + nSrc, err
}

// ascii returns how many bytes at the start of b are ASCII.
func ascii(b []byte) int {
	n := 0
	for n+8 <= len(b) && binary.LittleEndian.Uint64(b[n:])&0x8080808080808080 == 0 {
		n += 8
	}
	for n < len(b) && b[n] < 0x80 {
		n++
	}
	return n
}

// asItIs serves xml.Decoder.CharsetReader: the text is decoded already.
func asItIs(_ string, in io.Reader) (io.Reader, error) { return in, nil }

// leading returns how many bytes lie in front of the XML in a file's head: blanks,
// zeros and byte order marks, or text in front of an XML declaration. junk is that
// text.
func leading(head []byte) (n int, junk string) {
	const nothing = "\x00\ufeff \t\r\n"
	n = len(head) - len(bytes.TrimLeft(head, nothing))
	if i := bytes.Index(head, []byte("<?xml")); i > n && !bytes.ContainsRune(head[:i], '<') {
		return i, string(bytes.Trim(head[:i], nothing))
	}
	return n, ""
}
