package ingest

import "sync"

// The fixes or soundings of a day take megabytes, and an import of a season needs such slices some hundred times, one
// after the other. Whoever is through with records may give them back; who needs room asks for it.
var (
	roomOfFixes     sync.Pool
	roomOfSoundings sync.Pool
	roomOfPlaced    sync.Pool
)

// leastRoom is how many records are worth it.
const leastRoom = 1 << 10

// NewFixes returns an empty slice with room for n fixes and no more. It may lie in memory given back to GiveBack: what is
// behind its length holds old fixes.
func NewFixes(n int) []Fix { return take[Fix](&roomOfFixes, n) }

// NewSoundings is NewFixes for soundings.
func NewSoundings(n int) []Sounding { return take[Sounding](&roomOfSoundings, n) }

// NewPlaced is NewFixes for placed soundings.
func NewPlaced(n int) []PlacedSounding { return take[PlacedSounding](&roomOfPlaced, n) }

// GiveBack lets the memory of a file's fixes and soundings be used again and forgets them. Nothing else may hold them, or
// parts of them, from then on.
func (r *Records) GiveBack() {
	for _, t := range r.Tracks {
		giveBack(&roomOfFixes, t.Fixes[:len(t.Fixes):len(t.Fixes)]) // what lies behind it may be another track's
	}
	GiveBackSoundings(r.Soundings)
	r.Tracks, r.Soundings = nil, nil
}

// GiveBackSoundings does the same for soundings alone.
func GiveBackSoundings(s []Sounding) { giveBack(&roomOfSoundings, s[:len(s):len(s)]) }

// GiveBack does the same for the soundings of a day that was joined, all of its room. The day's fixes are those of the
// records it was joined of.
func (d *Day) GiveBack() {
	giveBack(&roomOfPlaced, d.Soundings)
	d.Soundings = nil
}

func take[T any](pool *sync.Pool, n int) []T {
	if n >= leastRoom {
		if room, _ := pool.Get().(*[]T); room != nil && cap(*room) >= n {
			return (*room)[:0:n]
		}
	}
	return make([]T, 0, n)
}

func giveBack[T any](pool *sync.Pool, s []T) {
	if cap(s) >= leastRoom {
		s = s[:0]
		pool.Put(&s)
	}
}
