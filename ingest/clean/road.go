package clean

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// A receiver left on goes along on the trailer. Nothing in a fix says road or
// water, so the rules are cautious (reasoned, no source): a drive leads the boat
// steadily away, fast and far, without a single depth.
const (
	roadMPS     = 10    // 22 mph, as a mean over the whole of it
	roadM       = 8000  // away from where the outing's depths were taken
	roadBlindM  = 30000 // the same where the outing has no depths to tell by
	roadSlowMPS = 4     // walking about on the water, or in the yard at home
)

// Road flags, in place, the fixes of the drive before an outing and after it, with
// what lies beyond (the night in the yard): the part of a day's track that starts
// or ends at least roadM away, in a straight line, from every place with a sound
// depth, and was got to at a mean of roadMPS or more without a depth on the way.
// sounded are the times, rising, of sound depths in nanoseconds since the epoch.
// Tracks are cleaned and in any order; four hours without a fix part one outing from the
// next. Returns how many fixes were flagged. Cost: n log n in fixes.
func Road(tracks []ingest.Track, sounded []int64) int {
	type fix struct {
		f  *ingest.Fix
		ns int64
	}
	n := 0
	for _, t := range tracks {
		n += len(t.Fixes)
	}
	all := make([]fix, 0, n)
	for i := range tracks {
		for k := range tracks[i].Fixes {
			if f := &tracks[i].Fixes[k]; f.Flags == 0 {
				all = append(all, fix{f, f.Time.UnixNano()})
			}
		}
	}
	if byTime := func(a, b fix) int { return cmp.Compare(a.ns, b.ns) }; !slices.IsSortedFunc(all, byTime) {
		slices.SortStableFunc(all, byTime)
	}
	flagged := 0
	const nightNs = 4 * 3600 * 1e9
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && all[to].ns-all[to-1].ns < nightNs {
			to++
		}
		outing := all[from:to]
		frame := plane.New(outing[0].f.Pos)
		at := func(i int) r2.Vec { return frame.Metres(outing[i].f.Pos) } // of few, as a rule
		apart := func(i, j int) float64 { return norm(r2.Sub(at(i), at(j))) }
		var first, last int // fixes between which the boat was on the water for sure
		far := float64(roadBlindM)
		if lo, hi := soundedSpan(sounded, outing[0].ns, outing[len(outing)-1].ns); lo <= hi {
			first, _ = slices.BinarySearchFunc(outing, lo, func(f fix, ns int64) int { return cmp.Compare(f.ns, ns) })
			last, _ = slices.BinarySearchFunc(outing, hi, func(f fix, ns int64) int { return cmp.Compare(f.ns, ns) })
			first, last, far = min(first, len(outing)-1), min(last, len(outing)-1), roadM
		} else {
			first, last = slowest(len(outing), func(i int) (int64, r2.Vec) { return outing[i].ns, at(i) })
		}
		drive := func(edge, end, step int) {
			// From the water's edge of the outing to its end; the drive is that part
			// of it from which the boat never came back.
			if edge == end || apart(end, edge) < far {
				return
			}
			begin := edge
			for i := edge; i != end; i += step { // the last place still by the ramp
				if apart(i, edge) < far/8 {
					begin = i
				}
			}
			arrived := end
			for i := end; i != begin; i -= step { // the first place already at home
				if apart(i, end) < far/8 {
					arrived = i
				}
			}
			s := float64(outing[arrived].ns-outing[begin].ns) / 1e9 * float64(step)
			if s <= 0 || apart(arrived, begin) < roadMPS*s {
				return
			}
			for i := begin; ; i += step {
				outing[i].f.Flags |= ingest.FixRoad
				flagged++
				if i == end {
					break
				}
			}
		}
		drive(last, len(outing)-1, 1)
		drive(first, 0, -1)
		from = to
	}
	return flagged
}

// soundedSpan returns the first and last sound depth within an outing; lo > hi
// when it has none.
func soundedSpan(sounded []int64, from, to int64) (lo, hi int64) {
	i, _ := slices.BinarySearch(sounded, from)
	j, found := slices.BinarySearch(sounded, to)
	if !found {
		j--
	}
	if i > j || i >= len(sounded) {
		return 1, 0
	}
	return sounded[i], sounded[j]
}

// slowest returns the first and last fix around which the boat moved slower than
// roadSlowMPS over a minute, in the longest such stretch: where it fished.
func slowest(n int, fix func(int) (ns int64, at r2.Vec)) (first, last int) {
	bestNs := int64(-1)
	start := -1
	for i, j := 0, 0; i < n; i++ {
		ns, at := fix(i)
		for j < n-1 {
			if t, _ := fix(j); t-ns >= 60e9 {
				break
			}
			j++
		}
		t, there := fix(j)
		slow := t > ns && norm(r2.Sub(there, at)) < roadSlowMPS*float64(t-ns)/1e9
		if slow && start < 0 {
			start = i
		}
		if start >= 0 && (!slow || i == n-1) {
			if s, _ := fix(start); ns-s > bestNs {
				bestNs, first, last = ns-s, start, i
			}
			start = -1
		}
	}
	if bestNs < 0 {
		return 0, n - 1
	}
	return first, last
}
