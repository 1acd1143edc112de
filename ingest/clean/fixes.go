package clean

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

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
	var sound []int
	for i := range fixes {
		if fixes[i].Flags == 0 {
			sound = append(sound, i)
		}
	}
	if len(sound) < 2 {
		return
	}
	frame := plane.New(fixes[sound[0]].Pos)
	at := make([]r2.Vec, len(fixes))
	for _, i := range sound {
		at[i] = frame.Metres(fixes[i].Pos)
	}
	seconds := func(i, j int) float64 { return fixes[j].Time.Sub(fixes[i].Time).Seconds() }

	sound = astray(fixes, sound, func(i, j int) bool {
		return r2.Norm(r2.Sub(at[j], at[i])) <= mostSpeedMPS*seconds(i, j)+leastJumpM
	})
	for {
		excess := make([]float64, len(sound)) // over 1: impossible
		for k := 1; k+1 < len(sound); k++ {
			a, i, b := sound[k-1], sound[k], sound[k+1]
			t1, t2 := seconds(a, i), seconds(i, b)
			mid := r2.Add(at[a], r2.Scale(t1/(t1+t2), r2.Sub(at[b], at[a])))
			e := r2.Norm(r2.Sub(at[i], mid))
			excess[k] = math.Min(2*e/(t1*t2)/mostAccelMPS2, e/leastJumpM)
		}
		kept := sound[:0:0]
		for k, i := range sound {
			if excess[k] > 1 && excess[k] >= excess[k-1] && excess[k] > excess[k+1] {
				fixes[i].Flags |= ingest.FixJump
				continue
			}
			kept = append(kept, i)
		}
		if len(kept) == len(sound) {
			return
		}
		sound = kept
	}
}

// astray flags the short pieces of a track cut where the way from one fix to the
// next is not possible, and returns the fixes left.
func astray(fixes []ingest.Fix, sound []int, possible func(i, j int) bool) []int {
	const mostAstray = 5
	var pieces [][]int
	start := 0
	for k := 1; k <= len(sound); k++ {
		if k == len(sound) || !possible(sound[k-1], sound[k]) {
			pieces = append(pieces, sound[start:k])
			start = k
		}
	}
	var kept []int
	for p, piece := range pieces {
		before, after := p > 0 && len(pieces[p-1]) > len(piece), p+1 < len(pieces) && len(pieces[p+1]) > len(piece)
		if len(piece) > mostAstray || !before && !after {
			kept = append(kept, piece...)
			continue
		}
		for _, i := range piece {
			fixes[i].Flags |= ingest.FixJump
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
