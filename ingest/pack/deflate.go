package pack

import (
	"bytes"
	"compress/flate"
	"errors"
	"io"
	"slices"
	"sync"
)

// level is flate.BestSpeed. Measured on the made days of BenchmarkPack against level 6: the
// same size within 2 % for positions and times, where differences are as good as random
// and matches find little; about a fifth larger for a dictionary's places, some hundredths
// of a byte a row; 1.2 to 7 times as fast, which brings packing near ten million values a
// second. flate.HuffmanOnly loses the runs of times and temperatures: 0.13 bytes a row
// where this level needs 0.003 and 0.03. Reading takes the same time.
const level = flate.BestSpeed

// Writers and readers of compress/flate are large (about 800 kB and 40 kB) and wipe
// clean on Reset; a column of a day is small beside them.
var (
	writers = sync.Pool{New: func() any {
		w, err := flate.NewWriter(nil, level)
		if err != nil {
			panic(err) // level is a constant
		}
		return w
	}}
	readers = sync.Pool{New: func() any { return flate.NewReader(bytes.NewReader(nil)) }}
)

// deflate gives b as a raw DEFLATE stream.
func deflate(b []byte) []byte {
	var out bytes.Buffer
	w := writers.Get().(*flate.Writer)
	defer writers.Put(w)
	w.Reset(&out)
	// A bytes.Buffer takes every byte, so neither call can err.
	w.Write(b)
	w.Close()
	return out.Bytes()
}

// inflate undoes deflate. The stream must give no more than limit bytes and end where b
// does. DEFLATE gives at most 1032 bytes for one, and the result grows with what is
// read, so memory stays within about 2,100 times len(b) and twice limit.
func inflate(b []byte, limit int) ([]byte, error) { return inflateIn(nil, b, limit) }

// inflateIn is inflate, in room as far as that is large enough.
func inflateIn(room, b []byte, limit int) ([]byte, error) {
	src := bytes.NewReader(b)
	r := readers.Get().(io.ReadCloser)
	defer readers.Put(r)
	if err := r.(flate.Resetter).Reset(src, nil); err != nil {
		return nil, damaged("deflated bytes: %s", err)
	}
	out := slices.Grow(room[:0], min(limit, 3*len(b))+512)
	for {
		n, err := r.Read(out[len(out):cap(out)])
		out = out[:len(out)+n]
		switch {
		case len(out) > limit:
			return nil, damaged("deflated bytes give more than %d bytes", limit)
		case errors.Is(err, io.EOF):
			if src.Len() != 0 {
				return nil, damaged("%d bytes follow the deflated ones", src.Len())
			}
			return out, nil
		case err != nil:
			return nil, damaged("deflated bytes: %s", err)
		}
		if len(out) == cap(out) {
			out = append(out, 0)[:len(out)]
		}
	}
}

// smaller puts code, n and the payload together, deflated if that is shorter by any
// amount: inflating costs about as much as the differences do, and a column of 5 million
// rows, 150 days of ten hours at 1 Hz, is still read in about a tenth of a second.
func smaller(code byte, n int, body []byte) []byte {
	if d := deflate(body); len(d) < len(body) {
		return append(appendHeader(make([]byte, 0, len(d)+6), code|deflated, n), d...)
	}
	return append(appendHeader(make([]byte, 0, len(body)+6), code, n), body...)
}
