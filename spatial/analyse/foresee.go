package analyse

import (
	"context"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/band"
	"leadline/spatial/foretell"
)

// What the past foretells of a day, and how the day turned out.
//
// The rate surface. In a zone it is the zone's rate at the hour after sunrise, as a run is planned by (rungain.go); outside all
// zones that of the fishing there at that hour, n events in e hours within aroundH drawn towards the mean m outside:
//
//	(n + k) / (e + k/m), k = hourEvents
//
// Either is multiplied by what the depth band adds: over the past, n events in the band where place and hour alone made E
// due,
//
//	(n + k) / (E + k)
//
// which is 1 where depth says no more than place and hour did. Bands are those of the lake (package band).
//
// By hand: 6 events over 4 to 6 m where place and hour made 2 due: (6 + 4)/(2 + 4) = 1.67 times the rate there.
//
// What it is held against. One rate everywhere, (n + 1/2)/h of the past; and the last trip's catches: within a cast of one
// the rate that this water gave on that trip, drawn towards the flat one by one event, (n + 1)/(h + 1/flat), and the flat one elsewhere.
//
// What a plan would have promised. For each visit that was paid to a zone, for as long and at the hour it was, the
// events that a run expects of such a stay, with the interval it gives them.
//
// What it does badly: a visit's length is known here only afterwards, and depends on what bit.

type forecast struct {
	a       *analysis
	p       planner
	outside *byHour
	bands   []spatial.Band
	more    []float64 // by band

	flatPerH    float64
	lastCatches []r2.Vec
	lastPerH    float64 // near them
}

// foresee makes the forecast of a past; last is the day of it that was the last trip before what is foretold, or -1.
// ok is false when nothing was fished.
func foresee(ctx context.Context, a *analysis, last int) (f forecast, ok bool, err error) {
	hours := a.fishingH()
	if hours == 0 {
		return forecast{}, false, ctx.Err()
	}
	f = forecast{a: a, p: planner{a: a}}
	if a.grounds, err = a.schools(ctx); err != nil {
		return forecast{}, false, err
	}
	f.p.learnGains()
	events := 0.0
	for _, e := range a.events {
		if len(a.outings[e.day].track.Nodes) > 0 {
			events += e.weight
		}
	}
	f.flatPerH = (events + 0.5) / hours
	f.rateOutside()
	f.rateBands()
	if last >= 0 {
		f.rateLast(last)
	}
	return f, true, nil
}

// zoneOfMoments returns the zone of each moment of the past, -1 outside all; the first of those that share it.
func (f *forecast) zoneOfMoments() []int {
	zone := make([]int, len(f.a.effort))
	for i := range zone {
		zone[i] = -1
	}
	for z := len(f.a.grounds) - 1; z >= 0; z-- {
		for _, i := range f.a.grounds[z].moments {
			zone[i] = z
		}
	}
	return zone
}

// zoneAt returns the zone at a place, -1 outside all.
func (f *forecast) zoneAt(v r2.Vec) int {
	return slices.IndexFunc(f.a.grounds, func(g ground) bool { return g.contains(v) })
}

// rateOutside counts events and fishing outside all zones by hour.
func (f *forecast) rateOutside() {
	zone := f.zoneOfMoments()
	var fished []moment
	for i, m := range f.a.effort {
		if zone[i] < 0 {
			fished = append(fished, m)
		}
	}
	f.outside = f.a.byHourOf(f.a.bySun(), func(e int) bool { return f.zoneAt(f.a.events[e].v) < 0 }, fished)
}

// placeAndHour is the surface without depth.
func (f *forecast) placeAndHour(zone int, hour float64) float64 {
	if zone >= 0 {
		perH, _ := f.p.rateAt(f.p.books[zone].hours, hour, nil)
		return perH
	}
	mean := f.p.elsewherePerH
	if mean == 0 {
		return 0
	}
	i := hourBin(hour)
	return (f.outside.events[i] + hourEvents) / (f.outside.hours[i] + hourEvents/mean)
}

// rateBands learns what depth adds.
func (f *forecast) rateBands() {
	a := f.a
	var events []band.Event
	for i, e := range a.events {
		if b := a.chart.Events[i].BottomM; b.OK && e.weight > 0 {
			events = append(events, band.Event{M: b.V, Weight: e.weight})
		}
	}
	// By centimetres, which no band is told by: there are a thousand, and a quarter of a million moments in 200 days.
	byCM := map[int]float64{}
	for _, m := range a.effort {
		if m.bottomM.OK {
			byCM[int(m.bottomM.V*100)] += m.hours
		}
	}
	var effort []band.Effort
	for _, cm := range slices.Sorted(maps.Keys(byCM)) {
		effort = append(effort, band.Effort{BottomM: (float64(cm) + 0.5) / 100, Hours: byCM[cm]})
	}
	f.bands = bandsOf(band.ByBottom(events, effort, a.set.BandM))
	due, came := make([]float64, len(f.bands)), make([]float64, len(f.bands))
	zone, clock := f.zoneOfMoments(), a.bySun()
	for i, m := range a.effort {
		if b := f.bandAt(m.bottomM); b >= 0 {
			if h := clock(m.day, m.s); h.OK {
				due[b] += m.hours * f.placeAndHour(zone[i], h.V)
			}
		}
	}
	for i, e := range a.events {
		if b := f.bandAt(a.chart.Events[i].BottomM); b >= 0 && clock(e.day, 0).OK {
			came[b] += e.weight
		}
	}
	for b := range f.bands {
		f.more = append(f.more, (came[b]+hourEvents)/(due[b]+hourEvents))
	}
}

// bandAt returns the band of a depth, -1 where it isn't known or beyond all.
func (f *forecast) bandAt(bottomM ingest.Maybe) int {
	if !bottomM.OK {
		return -1
	}
	return slices.IndexFunc(f.bands, func(b spatial.Band) bool { return bottomM.V >= b.TopM && bottomM.V < b.BottomM })
}

// perH is the surface.
func (f *forecast) perH(zone int, hour float64, bottomM ingest.Maybe) float64 {
	r := f.placeAndHour(zone, hour)
	if b := f.bandAt(bottomM); b >= 0 {
		r *= f.more[b]
	}
	return r
}

// rateLast learns from one day alone.
func (f *forecast) rateLast(day int) {
	a := f.a
	n, hours := 0.0, 0.0
	for _, e := range a.events {
		if e.day == day && e.weight > 0 {
			f.lastCatches = append(f.lastCatches, e.v)
			n += e.weight
		}
	}
	o := a.outings[day]
	for _, m := range a.effort[o.firstMoment:o.pastMoments] {
		if f.byLast(m.at) {
			hours += m.hours
		}
	}
	f.lastPerH = (n + 1) / (hours + 1/f.flatPerH)
}

func (f *forecast) byLast(v r2.Vec) bool {
	return slices.ContainsFunc(f.lastCatches, func(c r2.Vec) bool { return r2.Norm(r2.Sub(c, v)) <= f.a.set.CastM })
}

func (f *forecast) lastAt(v r2.Vec) float64 {
	if f.byLast(v) {
		return f.lastPerH
	}
	return f.flatPerH
}

// surfaces collects the rates of three surfaces where something was, and how much.
type surfaces struct{ own, flat, last, much []float64 }

func (s *surfaces) add(f *forecast, v r2.Vec, zone int, hour float64, bottomM ingest.Maybe, much float64) {
	s.own = append(s.own, foretell.Mix(f.perH(zone, hour, bottomM), f.flatPerH))
	s.flat = append(s.flat, f.flatPerH)
	s.last = append(s.last, foretell.Mix(f.lastAt(v), f.flatPerH))
	s.much = append(s.much, much)
}

// score holds a forecast against what came on pages that it knows nothing of.
func (f *forecast) score(l *ledger, pages []page) foretell.Day {
	d := foretell.Day{Known: len(f.a.season.Days), AreaM2: l.lakeM2(), AreaInM2: l.areaIn(f.a.grounds)}
	var events, effort surfaces
	for i := range pages {
		p := &pages[i]
		moments := p.fished(f.a.crawling)
		in := make([][]moment, len(f.a.grounds))
		for _, m := range moments {
			z := f.zoneAt(m.at)
			d.Hours += m.hours
			if z >= 0 {
				d.HoursIn += m.hours
				in[z] = append(in[z], m)
			}
			effort.add(f, m.at, z, l.hourOf(p, m.s), m.bottomM, m.hours)
		}
		at := make([][]occasion, len(f.a.grounds))
		for k, e := range p.events {
			if e.weight == 0 {
				continue
			}
			z := f.zoneAt(e.v)
			d.Events += e.weight
			if z >= 0 {
				d.EventsIn += e.weight
				at[z] = append(at[z], e)
			}
			if len(moments) > 0 {
				events.add(f, e.v, z, l.hourOf(p, p.outing.at(e.Time)), p.bottoms[k], e.weight)
			}
		}
		for z := range f.a.grounds {
			f.scoreVisits(&d, l, p, z, visits(in[z]), at[z])
		}
	}
	d.LogScore = foretell.LogLikelihood(events.own, events.much, effort.own, effort.much)
	d.FlatScore = foretell.LogLikelihood(events.flat, events.much, effort.flat, effort.much)
	d.LastScore = foretell.LogLikelihood(events.last, events.much, effort.last, effort.much)
	return d
}

// scoreVisits holds what a plan would have promised of a page's visits to a zone against what they gave. What is not known of the
// zone is the same all day, and so is how good a day it is there.
func (f *forecast) scoreVisits(d *foretell.Day, l *ledger, p *page, zone int, paid [][]moment, events []occasion) {
	if len(paid) == 0 {
		return
	}
	b := f.p.books[zone]
	promised, given, known := 0.0, 0.0, 0.0
	for _, visit := range paid {
		fromS, toS := lasts(visit)
		_, shape := f.p.rateAt(b.hours, l.hourOf(p, fromS), nil)
		gives := f.p.stayGives(toS-fromS, func(afterS float64) float64 {
			perH, _ := f.p.rateAt(b.hours, l.hourOf(p, fromS+afterS), nil)
			return perH * b.arrival
		})
		promised += gives
		known += gives * shape
		for _, e := range events {
			if s := p.outing.at(e.Time); s >= fromS && s < toS {
				given += e.weight
			}
		}
	}
	d.Expected += promised
	d.Given += given
	if promised == 0 {
		return
	}
	// Of a product of two Gammas of mean 1 the variance is (1+1/a)(1+1/b) - 1.
	shape := 1 / ((1+promised/known)*(1+1/f.p.shape) - 1)
	at := foretell.Count{Mean: promised, Shape: shape}.PIT(int(math.Round(given)))
	d.PIT = append(d.PIT, at)
	d.Asked++
	if at.High > tailPart && at.Low < 1-tailPart {
		d.Covered++
	}
}

// tailPart lies beyond either end of the intervals of a run.
const tailPart = 0.05
