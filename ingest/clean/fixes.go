package clean

import (
	"cmp"
	"math"
	"slices"
	"time"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// What a boat can do. Both are reasoned, not measured: lower values would start
// to flag hard driving, higher ones let the smaller jumps through.
const (
	// A fix this fast from the last sound one is impossible: 45 m/s is 100 mph.
	mostSpeedMPS = 45
	// A detour to a single fix that takes more than this is impossible: a fast
	// hull in a tight turn or a panic stop stays under about half of g.
	mostAccelMPS2 = 6
	// Detours shorter than this are left alone, whatever they would take: at five
	// fixes a second ordinary wobble looks like enormous acceleration.
	leastJumpM = 15
)

// Tracks flags the fixes of each track by itself, in place: those without a time
// or at 0°, 0°; what repeats a time or runs backwards; then single fixes that no
// boat could have visited (see jumps). Cost: linear in fixes.
func Tracks(tracks []ingest.Track) {
	for i := range tracks {
		order(tracks[i].Fixes)
		jumps(tracks[i].Fixes)
	}
}

// order flags fixes without a usable time or place.
func order(fixes []ingest.Fix) {
	last := -1
	for i := range fixes {
		f := &fixes[i]
		if f.Pos[0] == 0 && f.Pos[1] == 0 {
			f.Flags |= ingest.FixZeroIsland
		}
		if f.Time.IsZero() {
			f.Flags |= ingest.FixNoTime
			continue
		}
		if f.Flags != 0 {
			continue
		}
		if last >= 0 {
			switch c := f.Time.Compare(fixes[last].Time); {
			case c == 0:
				f.Flags |= ingest.FixRepeated
				continue
			case c < 0:
				f.Flags |= ingest.FixBackwards
				continue
			}
		}
		last = i
	}
}

// jumps flags fixes that no boat could have visited, in two steps.
//
// First the track is cut wherever the speed from fix to fix is impossible; a
// piece of at most mostAstray fixes beside a longer piece is flagged.
//
// Then single detours: a fix between two others lies a distance e from where the
// straight line between them would have had it at that time. To go there and
// come back takes an acceleration of at least 2e/(t₁t₂), with t₁ and t₂ the times
// to the neighbours (a parabola through the three). A fix that needs more than
// mostAccelMPS2 and lies more than leastJumpM off is flagged, the worst first,
// since one spike also bends the test of its neighbours by half its own size.
// By hand: 80 m off with 5 s to either side takes 2·80/25 = 6.4 m/s².
//
// What it does badly: a jump that lasts longer than mostAstray fixes is left as
// a second place, and so is a small one between slow fixes.
func jumps(fixes []ingest.Fix) {
	var sound []visit
	g := ground{}
	for i := range fixes {
		f := &fixes[i]
		if f.Flags != 0 {
			continue
		}
		if len(sound) == 0 {
			sound = make([]visit, 0, len(fixes)-i)
			g.frame, g.origin = plane.New(f.Pos), f
		}
		sound = append(sound, visit{fix: f, after: f.Time.Sub(g.origin.Time), excess: unknown})
	}
	sound = g.astray(sound)
	for again := len(sound) > 2; again; {
		n := len(sound)
		for k := 1; k < n-1; k++ {
			if v := &sound[k]; v.excess == unknown {
				v.excess = g.excess(&sound[k-1], v, &sound[k+1])
			}
		}
		sound[0].excess, sound[n-1].excess = 0, 0
		kept := sound[:0]
		before, gone := 0.0, false // of the visit before: its excess, and whether it is flagged now
		for k, v := range sound {
			x := v.excess
			if x > 1 && x >= before && x > sound[k+1].excess {
				v.fix.Flags |= ingest.FixJump
				kept[len(kept)-1].excess, gone = unknown, true
			} else {
				if gone {
					v.excess, gone = unknown, false
				}
				kept = append(kept, v)
			}
			before = x
		}
		again = len(kept) < n && len(kept) > 2
		sound = kept
	}
}

// A visit is a fix on trial.
type visit struct {
	fix    *ingest.Fix
	after  time.Duration // since the first
	excess float64       // of what a boat can do; over 1: impossible
}

// unknown is the excess of a visit that has other neighbours than when it was found.
const unknown = -1

func secondsBetween(a, b *visit) float64 { return (b.after - a.after).Seconds() }

// astray flags the short pieces of a track cut where no boat gets from one fix to the next, and returns what is left.
func (g *ground) astray(sound []visit) []visit {
	const mostAstray = 5
	var pieces [][]visit
	start := 0
	for k := 1; k <= len(sound); k++ {
		if k == len(sound) || g.leaps(&sound[k-1], &sound[k]) {
			pieces = append(pieces, sound[start:k])
			start = k
		}
	}
	if len(pieces) < 2 {
		return sound
	}
	kept := sound[:0]
	longer := func(p, than int) bool { return p >= 0 && p < len(pieces) && len(pieces[p]) > len(pieces[than]) }
	for p, piece := range pieces {
		if len(piece) > mostAstray || !longer(p-1, p) && !longer(p+1, p) {
			kept = append(kept, piece...)
			continue
		}
		for _, v := range piece {
			v.fix.Flags |= ingest.FixJump
		}
	}
	return kept
}

// Overlaps flags, in place, the fixes of a season's cleaned tracks whose time
// another track already covers: one outing exported twice, say. A receiver's own track
// goes before the positions in a depth log, then the track that begins first, then
// the longer one. Cost: linear in fixes, but for overlapping tracks.
func Overlaps(tracks []ingest.Track) {
	type span struct {
		track    int
		from, to int64 // nanoseconds since the epoch
	}
	var spans []span
	for t := range tracks {
		s := span{track: t, from: math.MaxInt64, to: math.MinInt64}
		for i := range tracks[t].Fixes {
			if f := &tracks[t].Fixes[i]; f.Flags == 0 {
				ns := f.Time.UnixNano()
				s.from, s.to = min(s.from, ns), max(s.to, ns)
			}
		}
		if s.from <= s.to {
			spans = append(spans, s)
		}
	}
	slices.SortStableFunc(spans, func(a, b span) int {
		later := func(s span) int {
			if tracks[s.track].FromLog {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(later(a), later(b)), cmp.Compare(a.from, b.from), cmp.Compare(b.to, a.to))
	})
	for k, s := range spans {
		for _, before := range spans[:k] {
			if before.to < s.from || before.from > s.to {
				continue
			}
			for i := range tracks[s.track].Fixes {
				if f := &tracks[s.track].Fixes[i]; f.Flags == 0 {
					if ns := f.Time.UnixNano(); ns >= before.from && ns <= before.to {
						f.Flags |= ingest.FixCovered
					}
				}
			}
		}
	}
}
