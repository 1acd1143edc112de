package pack

import "sync"

// A pool lends slices for the time of one call: those of a day's column are large beside what is kept of it.
type pool[T any] struct{ sync.Pool }

var (
	unsigned pool[uint64]
	signed   pool[int64]
	bodies   pool[byte]
)

// get returns a slice of n elements, whatever they hold.
func (p *pool[T]) get(n int) *[]T {
	s, _ := p.Pool.Get().(*[]T)
	if s == nil {
		s = new([]T)
	}
	*s = resized(*s, n)
	return s
}

func (p *pool[T]) put(s *[]T) { p.Pool.Put(s) }

// resized returns a slice of n elements, whatever they hold: room if that is large enough.
func resized[T any](room []T, n int) []T {
	if cap(room) < n {
		return make([]T, n)
	}
	return room[:n]
}
