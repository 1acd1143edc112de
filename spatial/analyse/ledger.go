package analyse

import (
	"context"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/bottom"
	"leadline/spatial/motion"
	"leadline/spatial/sun"
)

// A season as pages, one for each day, of which none knows of another: what the boat did, where
// it fished, what bit and over which bottom, each from that day's own records. An analysis
// of some of the days is made of copies of their pages and nothing else (past), so that what is
// found in it can't rest on a day that was left out.
//
// So a page has less than a whole analysis has of a day:
//
//   - the bottom is what the day's own sounder told there at that time; a grid would be
//     made of all days;
//   - depths are put at one level where the level of every sounded day is known, else
//     they stand as sounded: laying days on each other would take the others;
//   - fishing is gathered into moments of up to thinS seconds within thinPart of a cast; zones
//     are told by circles of two casts, and two hundred days are looked at four
//     hundred times;
//   - events without a time are on no page.
//
// The plane is the one thing that all days share: where the lake lies, to a hundredth of a degree.

const (
	thinS    = 60
	thinPart = 8 // of a cast
	// soundedS is how near in time a sounding must be to tell the bottom under the boat: the slowest depth logs have one in ten
	// seconds, in which a drifting boat makes a metre or two.
	soundedS = 10
)

type ledger struct {
	set   spatial.Settings
	zone  *time.Location
	frame plane.Frame
	pages []page

	lake    map[square]bool // water within a cast of where the boat went
	undated int             // events on no page
}

type page struct {
	date    string
	outing  outing // its nodes thinned, to tell known water; without legs
	events  []occasion
	bottoms []ingest.Maybe // of events
	fishing [2][]moment    // crawling taken for moving, and for fishing
	crawl   crawlUse
	rise    ingest.Maybe // sunrise, second of the outing
}

// A square is a place on the raster that areas are told by, half a cast wide.
type square struct{ x, y int }

func (l *ledger) sideM() float64 { return l.set.CastM / 2 }

func (l *ledger) squareAt(v r2.Vec) square {
	return square{int(math.Floor(v.X / l.sideM())), int(math.Floor(v.Y / l.sideM()))}
}

func (l *ledger) middle(s square) r2.Vec {
	return r2.Vec{X: (float64(s.x) + 0.5) * l.sideM(), Y: (float64(s.y) + 0.5) * l.sideM()}
}

// newLedger reads a season day by day. Its records are not kept.
func newLedger(ctx context.Context, season ingest.Season, set spatial.Settings) (*ledger, error) {
	a := &analysis{season: season, set: set, ground: &bottom.Model{}}
	l := &ledger{set: set, zone: season.Zone, undated: len(season.Undated.Events), lake: map[square]bool{}}
	if l.zone == nil {
		l.zone = time.UTC
	}
	a.season.Undated = ingest.Undated{}
	a.chart.Zone = l.zone
	a.level()
	for _, step := range []func(context.Context) error{a.layPlane, a.readOutings, a.markEvents} {
		if err := step(ctx); err != nil {
			return nil, err
		}
	}
	l.frame = a.frame
	l.pages = make([]page, len(season.Days))
	for i := range l.pages {
		p := &l.pages[i]
		p.date, p.outing = season.Days[i].Date, a.outings[i]
		if t, ok := sun.Rise(p.date, a.frame.Degrees(r2.Vec{})); ok {
			p.rise = ingest.Known(p.outing.at(t))
		}
		s := a.chart.Days[i]
		p.crawl.crawlH, p.crawl.restH = s.CrawlingH, s.DriftingH+s.HoldingH+s.StoppedH
	}
	for _, e := range a.events {
		p := &l.pages[e.day]
		p.crawl.add(e, a.outings)
		e.leg = -1
		p.events = append(p.events, e)
	}
	for crawling := range 2 {
		a.effort = a.effort[:0]
		for i := range l.pages {
			a.chart.Days[i].FishingH = 0
			from := len(a.effort)
			a.fishedOn(i, crawling == 1)
			l.pages[i].fishing[crawling] = a.effort[from:]
		}
		for i := range l.pages {
			p := &l.pages[i]
			p.fishing[crawling] = thinned(p.fishing[crawling], set.CastM/thinPart)
		}
	}
	shift := oneLevel(season.Days)
	each(len(l.pages), func(i int) {
		p := &l.pages[i]
		under := sounder{soundings: season.Days[i].Soundings, start: p.outing.start, shiftM: shift[i]}
		for k := range p.fishing {
			for j := range p.fishing[k] {
				m := &p.fishing[k][j]
				m.bottomM = under.at(m.s)
			}
		}
		for _, e := range p.events {
			p.bottoms = append(p.bottoms, under.at(p.outing.at(e.Time)))
		}
		p.outing.track = motion.Track{Nodes: apart(p.outing.track.Nodes, set.CastM/thinPart)}
	})
	for i := range l.pages {
		l.addLake(l.pages[i].outing.track.Nodes)
	}
	return l, nil
}

// oneLevel returns what to add to each day's depths for those at the level of the first day sounded: nothing where not every level is
// known.
func oneLevel(days []ingest.Day) []float64 {
	shift := make([]float64, len(days))
	first := ingest.Maybe{}
	for _, d := range days {
		if len(d.Soundings) == 0 {
			continue
		}
		if !d.LevelM.OK {
			return shift
		}
		if !first.OK {
			first = d.LevelM
		}
	}
	for i, d := range days {
		if d.LevelM.OK && first.OK {
			shift[i] = first.V - d.LevelM.V
		}
	}
	return shift
}

// A sounder tells the bottom under the boat from one day's soundings, by time.
type sounder struct {
	soundings []ingest.PlacedSounding
	start     time.Time
	shiftM    float64
}

// at returns the depth at a second of the day's track: that of the nearest sound sounding within soundedS. What would lie dry at
// the one level is unknown.
func (u sounder) at(s float64) ingest.Maybe {
	t := u.start.Add(time.Duration(s * float64(time.Second)))
	k, _ := slices.BinarySearchFunc(u.soundings, t, func(s ingest.PlacedSounding, t time.Time) int { return s.Time.Compare(t) })
	best, nearest := ingest.Maybe{}, soundedS*time.Second+1
	look := func(from, step int) {
		for i := from; i >= 0 && i < len(u.soundings); i += step {
			off := u.soundings[i].Time.Sub(t).Abs()
			if off >= nearest {
				return
			}
			if d := u.soundings[i].SurfaceM + u.shiftM; u.soundings[i].Flags == 0 {
				if best, nearest = (ingest.Maybe{}), off; d > 0 {
					best = ingest.Known(d)
				}
				return
			}
		}
	}
	look(k, 1)
	look(k-1, -1)
	return best
}

// thinned gathers fishing that went on within stepM into moments of up to thinS.
func thinned(moments []moment, stepM float64) []moment {
	const breakS = 0.5 // a rounding, not a break
	var out []moment
	var first r2.Vec
	for _, m := range moments {
		if n := len(out); n > 0 {
			o := &out[n-1]
			if m.stop == o.stop && m.begins()-o.ends() < breakS && m.ends()-o.begins() <= thinS && r2.Norm(r2.Sub(m.at, first)) <= stepM {
				h := o.hours + m.hours
				o.at = r2.Add(r2.Scale(o.hours/h, o.at), r2.Scale(m.hours/h, m.at))
				o.s, o.hours = (o.begins()+m.ends())/2, h
				continue
			}
		}
		out, first = append(out, m), m.at
	}
	return out
}

// apart returns nodes of which no two lie in one cell of that side.
func apart(nodes []motion.Node, sideM float64) (out []motion.Node) {
	seen := map[square]bool{}
	for _, n := range nodes {
		s := square{int(math.Floor(n.At.X / sideM)), int(math.Floor(n.At.Y / sideM))}
		if !seen[s] {
			seen[s] = true
			out = append(out, n)
		}
	}
	return out
}

// addLake adds the squares whose middle is within a cast of nodes.
func (l *ledger) addLake(nodes []motion.Node) {
	reach := int(math.Ceil(l.set.CastM/l.sideM())) + 1
	for _, n := range nodes {
		at := l.squareAt(n.At)
		for y := at.y - reach; y <= at.y+reach; y++ {
			for x := at.x - reach; x <= at.x+reach; x++ {
				if s := (square{x, y}); !l.lake[s] && r2.Norm(r2.Sub(l.middle(s), n.At)) <= l.set.CastM {
					l.lake[s] = true
				}
			}
		}
	}
}

// lakeM2 is the water that areas are held against.
func (l *ledger) lakeM2() float64 { return float64(len(l.lake)) * l.sideM() * l.sideM() }

// areaIn returns how much of that water lies inside grounds.
func (l *ledger) areaIn(grounds []ground) float64 {
	in := map[square]bool{}
	for _, g := range grounds {
		low := l.squareAt(r2.Vec{X: g.bound.Min[0], Y: g.bound.Min[1]})
		high := l.squareAt(r2.Vec{X: g.bound.Max[0], Y: g.bound.Max[1]})
		for y := low.y; y <= high.y; y++ {
			for x := low.x; x <= high.x; x++ {
				if s := (square{x, y}); l.lake[s] && g.contains(l.middle(s)) {
					in[s] = true
				}
			}
		}
	}
	return float64(len(in)) * l.sideM() * l.sideM()
}

// hourOf returns the hours after sunrise of a second of a page's outing; those of the clock where the sun doesn't rise.
func (l *ledger) hourOf(p *page, s float64) float64 {
	if !p.rise.OK {
		a := analysis{}
		a.chart.Zone = l.zone
		return a.clockHour(p.outing.time(s))
	}
	return (s - p.rise.V) / 3600
}

// past returns an analysis that knows of the pages that are kept and of nothing else, ready to look for schools.
func (l *ledger) past(set spatial.Settings, keep func(page int) bool) *analysis {
	a := &analysis{set: set, frame: l.frame, ground: &bottom.Model{}}
	a.set.Simulations = 0 // they tell which zones are proven, and no more
	a.chart.Zone = l.zone
	var u crawlUse
	events, moments := 0, 0
	for i := range l.pages {
		if keep(i) {
			events, moments = events+len(l.pages[i].events), moments+len(l.pages[i].fishing[1])
		}
	}
	a.events, a.chart.Events, a.effort = make([]occasion, 0, events), make([]spatial.EventMark, 0, events), make([]moment, 0, moments)
	for i := range l.pages {
		p := &l.pages[i]
		if !keep(i) {
			continue
		}
		day := len(a.season.Days)
		a.season.Days = append(a.season.Days, ingest.Day{Date: p.date})
		a.outings = append(a.outings, p.outing)
		for k, e := range p.events {
			e.day = day
			a.events = append(a.events, e)
			a.chart.Events = append(a.chart.Events, spatial.EventMark{BottomM: p.bottoms[k]})
		}
		u.crawl, u.rest = append(u.crawl, p.crawl.crawl...), append(u.rest, p.crawl.rest...)
		u.crawlH, u.restH = u.crawlH+p.crawl.crawlH, u.restH+p.crawl.restH
	}
	a.crawling = a.crawlIsFishing(u)
	day := 0
	for i := range l.pages {
		if !keep(i) {
			continue
		}
		o := &a.outings[day]
		o.firstMoment = len(a.effort)
		for _, m := range l.pages[i].fished(a.crawling) {
			m.day = day
			a.effort = append(a.effort, m)
		}
		o.pastMoments = len(a.effort)
		day++
	}
	a.rateLake()
	return a
}

// fished returns a page's fishing.
func (p *page) fished(crawling bool) []moment {
	if crawling {
		return p.fishing[1]
	}
	return p.fishing[0]
}
