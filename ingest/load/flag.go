package load

import (
	"math"
	"slices"
	"sync"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/clean"
	"leadline/ingest/clock"
	"leadline/ingest/join"
)

// flag cleans all records, puts the clocks of depth logs right where that is sure,
// and counts the flags of each file. The clock of the settled stays as it is; nil: none is.
func flag(records []ingest.Records, transducerM float64, settled func(i int) bool) {
	logs := make([][]ingest.Sounding, len(records))
	var tracks, receivers []ingest.Track // share their fixes with records
	for i := range records {
		for k := range records[i].Tracks {
			t := &records[i].Tracks[k]
			t.Source = i
			tracks = append(tracks, *t)
			if !t.FromLog {
				receivers = append(receivers, *t)
			}
		}
		logs[i] = records[i].Soundings
	}
	each(len(records), func(i int) {
		byTime := func(a, b ingest.Sounding) int { return a.Time.Compare(b.Time) }
		if !slices.IsSortedFunc(logs[i], byTime) {
			slices.SortStableFunc(logs[i], byTime)
		}
		clean.Soundings(logs[i], transducerM)
		clean.Tracks(records[i].Tracks)
		unplace(&records[i])
	})
	clean.Overlaps(receivers)
	spans := make([]span, len(receivers))
	each(len(receivers), func(i int) {
		fixes := receivers[i].Fixes
		spans[i] = spanOf(len(fixes), func(k int) time.Time { return fixes[k].Time })
	})
	each(len(records), func(i int) {
		if settled == nil || !settled(i) {
			align(&records[i], inReach(logs[i], receivers, spans))
		}
	})
	clean.Overlaps(tracks)
	clean.Repeats(logs)
	path := sync.OnceValue(func() join.Path { return join.NewPath(tracks) }) // few logs hold a value long enough to ask
	each(len(logs), func(i int) {
		clean.Held(logs[i], func(t time.Time) (orb.Point, bool) {
			at, why := path().At(t, heldGap)
			return at, why == ""
		})
	})
	n := 0
	for _, log := range logs {
		n += len(log)
	}
	sounded := make([]int64, 0, n)
	for _, log := range logs {
		for i := range log {
			if s := &log[i]; s.Flags == 0 && !s.Time.IsZero() {
				sounded = append(sounded, s.Time.UnixNano())
			}
		}
	}
	slices.Sort(sounded)
	clean.Road(tracks, sounded)
	each(len(records), func(i int) {
		source := &records[i].Source
		for k := range logs[i] {
			if f := logs[i][k].Flags; f != 0 {
				count(source, f.Names())
			}
		}
		for _, t := range records[i].Tracks {
			for k := range t.Fixes {
				if f := t.Fixes[k].Flags; f != 0 && !(t.FromLog && f == ingest.FixCovered) {
					count(source, f.Names()) // what is covered is as it should be: the row's depth is used, its place comes from the receiver
				}
			}
		}
	})
}

// unplace takes its position from each sounding whose position no boat could have
// been at, in a log or in a track with depths: its depth is sound, and is placed by
// its time like those of logs
// without positions.
func unplace(r *ingest.Records) {
	astray := map[int]bool{} // lines
	for _, t := range r.Tracks {
		for k := range t.Fixes {
			if f := &t.Fixes[k]; f.Flags&(ingest.FixJump|ingest.FixZeroIsland) != 0 {
				astray[f.Line] = true
			}
		}
	}
	if len(astray) == 0 {
		return
	}
	for i := range r.Soundings {
		if s := &r.Soundings[i]; astray[s.Line] {
			s.HasPos, s.Pos = false, orb.Point{}
		}
	}
}

// A span is the seconds since the epoch that a track or log covers; from is after to when it has no times.
type span struct{ from, to int64 }

func (s *span) take(t time.Time) {
	if !t.IsZero() {
		s.from, s.to = min(s.from, t.Unix()), max(s.to, t.Unix())
	}
}

func spanOf(n int, at func(i int) time.Time) span {
	s := span{math.MaxInt64, math.MinInt64}
	for i := range n {
		s.take(at(i))
	}
	return s
}

// inReach returns the tracks that a log's clock may be told by; where none is, the first, so that this can be said.
func inReach(log []ingest.Sounding, tracks []ingest.Track, spans []span) []ingest.Track {
	of := spanOf(len(log), func(i int) time.Time { return log[i].Time })
	var list []ingest.Track
	for i, s := range spans {
		const reachS = clock.WindowS + 1
		if s.from <= s.to && of.from <= of.to && s.from-of.to <= reachS && of.from-s.to <= reachS {
			list = append(list, tracks[i])
		}
	}
	if list == nil {
		return tracks[:min(1, len(tracks))]
	}
	return list
}

// align says how a depth log's clock stands to the receivers', and moves the log
// where that is sure. A file with a receiver's track of its own has one clock, and a
// clock moved as asked stays.
func align(r *ingest.Records, receivers []ingest.Track) {
	if len(r.Soundings) == 0 || len(receivers) == 0 || r.Source.ClockOffsetS.OK ||
		slices.ContainsFunc(r.Tracks, func(t ingest.Track) bool { return !t.FromLog }) {
		return
	}
	e, matched := clock.Align(*r, receivers)
	r.Source.Clock = e.Words
	r.Source.ClockInDoubt = !e.Sure && (e.OfferS.OK || matched && e.Covered < leastCovered)
	if !e.Sure {
		return
	}
	r.Source.ClockOffsetS = ingest.Known(e.OffsetS)
	by := time.Duration(e.OffsetS * float64(time.Second))
	for i := range r.Soundings {
		if s := &r.Soundings[i]; !s.Time.IsZero() {
			s.Time = s.Time.Add(by)
		}
	}
	for _, t := range r.Tracks {
		for i := range t.Fixes {
			t.Fixes[i].Time = t.Fixes[i].Time.Add(by)
		}
	}
}

// leastCovered is the share of a log that should lie within the track before a
// clock that can't be matched is nothing to warn of.
const leastCovered = 0.5

// heldGap is how wide a gap in the track may be where it only matters whether the
// boat moved at all.
const heldGap = time.Minute

func count(s *ingest.Source, names []string) {
	for _, n := range names {
		if s.Flagged == nil {
			s.Flagged = map[string]int{}
		}
		s.Flagged[n]++
	}
}
