package csvfile

import (
	"sync"

	"leadline/ingest"
)

// chunkRows is how many records a chunk holds at most.
const chunkRows = 1 << 14

// fullChunks are chunks of chunkRows that are free.
var fullChunks = sync.Pool{New: func() any { return new([chunkRows]ingest.Sounding) }}

// chunks gathers soundings without moving them while it grows: a slice that grows by
// itself holds, and leaves behind, several times what it has in the end.
type chunks struct {
	full [][]ingest.Sounding
	last []ingest.Sounding
	n    int
}

func (c *chunks) add(s *ingest.Sounding) {
	if len(c.last) == cap(c.last) {
		if c.last != nil {
			c.full = append(c.full, c.last)
		}
		if n := max(2*c.n, 64); n < chunkRows {
			c.last = make([]ingest.Sounding, 0, n)
		} else {
			c.last = fullChunks.Get().(*[chunkRows]ingest.Sounding)[:0]
		}
	}
	c.last = append(c.last, *s)
	c.n++
}

// all returns the records in one slice of their number, and forgets them.
func (c *chunks) all() []ingest.Sounding {
	full, last := c.full, c.last
	*c = chunks{}
	if len(full) == 0 {
		return last
	}
	n := len(last)
	for _, f := range full {
		n += len(f)
	}
	out := ingest.NewSoundings(n)
	for _, f := range append(full, last) {
		out = append(out, f...)
		if cap(f) == chunkRows {
			fullChunks.Put((*[chunkRows]ingest.Sounding)(f[:chunkRows]))
		}
	}
	return out
}
