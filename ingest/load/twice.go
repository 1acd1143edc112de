package load

import (
	"math"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/logbook"
	"leadline/ingest/plane"
)

// A recording that was exported again has another hash, and perhaps other digits, but the same positions at the same
// times.
const (
	// sameShare is the share of the records of the one with fewer that the other must have. Two receivers in one boat, each
	// 3 m off, are within sameM of each other for one second in twenty.
	sameShare = 0.9
	sameM     = 1
	sameDepth = 0.02 // m: half of a tenth of a foot, rounded up
	// fewEvents in common may be one catch in two files, which the joining tells; then the files must be equally long.
	fewEvents = 3
)

// settleTwice finds the days of fresh sources that sources of the logbook have already, and settles them as asked.
func (p *plan) settleTwice(g *group, zone *time.Location) error {
	for i := range g.sources {
		k := g.fresh[i]
		if k < 0 {
			continue
		}
		for _, day := range g.sources[i].Days(zone) {
			for o := range g.sources {
				if day == "" || g.fresh[o] >= 0 {
					break
				}
				share, err := shared(g.sources[i], g.sources[o], day, zone)
				if err != nil {
					return err
				}
				if share < sameShare {
					continue
				}
				g.twice = append(g.twice, Twice{Day: day, File: g.sources[i].About.Name, Have: g.sources[o].About.Name, Share: share})
				others := func(d string) bool { return d != day }
				if p.again == TakeNew {
					g.replace = append(g.replace, logbook.SourceDay{Source: g.sources[o].ID, Day: day})
					g.sources[o] = g.sources[o].Only(zone, others)
				}
				if p.again == KeepOld {
					g.sources[i] = g.sources[i].Only(zone, others)
					if g.leftOut == nil {
						g.leftOut = map[int][]string{}
					}
					g.leftOut[k] = append(g.leftOut[k], day)
					break
				}
			}
		}
	}
	return nil
}

// shared returns the share of the records of one day, of the source with fewer, that the other has too: of fixes,
// soundings, events, levels or winds, whichever is most. Clocks are as the files kept them.
func shared(a, b logbook.Source, day string, zone *time.Location) (float64, error) {
	only := func(d string) bool { return d == day }
	a, b = a.Only(zone, only), b.Only(zone, only)
	a.FoundS, b.FoundS = ingest.Maybe{}, ingest.Maybe{}
	x, err := a.Records()
	if err != nil {
		return 0, err
	}
	y, err := b.Records()
	if err != nil {
		return 0, err
	}
	share := max(
		inBoth(fixesOf(x), fixesOf(y), func(p, q mark) bool { return near(p.at, q.at) }),
		inBoth(soundingsOf(x), soundingsOf(y), func(p, q mark) bool {
			return math.Abs(p.v-q.v) <= sameDepth && (p.at == (orb.Point{}) || q.at == (orb.Point{}) || near(p.at, q.at))
		}),
		inBoth(windsOf(x), windsOf(y), func(p, q mark) bool { return p.v == q.v }),
		inBoth(levelsOf(x), levelsOf(y), func(p, q mark) bool { return true }),
	)
	e, f := eventsOf(x), eventsOf(y)
	if s := inBoth(e, f, func(p, q mark) bool { return p.v == q.v }); len(e) == len(f) || s*float64(min(len(e), len(f))) >= fewEvents {
		share = max(share, s)
	}
	return share, nil
}

func near(p, q orb.Point) bool {
	if math.Abs(p[1]-q[1]) > 1e-4 { // 11 m: the plane costs more
		return false
	}
	return plane.New(p).DistanceM(p, q) <= sameM
}

// A mark is a record to be looked for in another file.
type mark struct {
	second int64
	at     orb.Point // zero where it has none
	v      float64
}

// inBoth returns the share of the shorter list that the longer has at the same second and alike.
func inBoth(a, b []mark, alike func(p, q mark) bool) float64 {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(a) == 0 {
		return 0
	}
	at := make(map[int64][]mark, len(b))
	for _, m := range b {
		at[m.second] = append(at[m.second], m)
	}
	n := 0
	for _, m := range a {
		for _, o := range at[m.second] {
			if alike(m, o) {
				n++
				break
			}
		}
	}
	return float64(n) / float64(len(a))
}

func fixesOf(r ingest.Records) (list []mark) {
	for _, t := range r.Tracks {
		for _, f := range t.Fixes {
			if !f.Time.IsZero() && !t.FromLog {
				list = append(list, mark{f.Time.Unix(), f.Pos, 0})
			}
		}
	}
	return list
}

func soundingsOf(r ingest.Records) (list []mark) {
	for _, s := range r.Soundings {
		if !s.Time.IsZero() {
			list = append(list, mark{s.Time.Unix(), s.Pos, s.DepthM})
		}
	}
	return list
}

func eventsOf(r ingest.Records) (list []mark) {
	for _, e := range r.Events {
		if !e.Time.IsZero() {
			list = append(list, mark{e.Time.Unix(), e.Pos, float64(e.Kind)})
		}
	}
	return list
}

func levelsOf(r ingest.Records) (list []mark) {
	for _, l := range r.Levels {
		second := int64(0) // one a day
		if !l.Time.IsZero() {
			second = l.Time.Unix()
		}
		list = append(list, mark{second: second})
	}
	return list
}

func windsOf(r ingest.Records) (list []mark) {
	for _, w := range r.Winds {
		list = append(list, mark{second: w.Time.Unix(), v: w.SpeedMPS})
	}
	return list
}
