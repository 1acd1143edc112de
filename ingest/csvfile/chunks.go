package csvfile

// chunkRows is how many records a chunk holds at most.
const chunkRows = 1 << 14

// chunks gathers records without moving them while it grows: a slice that grows by
// itself holds, and leaves behind, several times what it has in the end.
type chunks[T any] struct {
	full [][]T
	last []T
	n    int
}

func (c *chunks[T]) add(v T) {
	if len(c.last) == cap(c.last) {
		if c.last != nil {
			c.full = append(c.full, c.last)
		}
		c.last = make([]T, 0, min(max(2*c.n, 64), chunkRows))
	}
	c.last = append(c.last, v)
	c.n++
}

// all returns the records in one slice of their number, and forgets them.
func (c *chunks[T]) all() []T {
	full, last := c.full, c.last
	*c = chunks[T]{}
	if len(full) == 0 {
		return last
	}
	n := len(last)
	for _, f := range full {
		n += len(f)
	}
	out := make([]T, 0, n)
	for i, f := range full {
		out = append(out, f...)
		full[i] = nil
	}
	return append(out, last...)
}
