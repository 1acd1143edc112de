package analyse

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial"
	"leadline/spatial/cool"
)

// What a stay gives.
//
// A zone's rate, drawn towards the lake's, is the mean over the hours it was fished. Two things lie between that and what it gives
// on arrival. The boat doesn't fish all the while it is there: the way back to the head of a drift, a lure retied; so the rate
// counts in the share of a visit that was fished. And the place cooled off while it was fished: over visits of length D the
// mean of a rate that begins at r and falls by exp(-t/tau) is r times sum of tau (1 - exp(-D/tau)) over sum of D, which gives r.
//
// Hours differ where a window stands out: of the zone itself, else of the lake, by the sun before by the clock. What an
// hour gives is then the window's share or the rest's, drawn towards no difference by windowEvents that know of
// none.
//
// Time is worth something anywhere: what the lake gives outside its zones. What a stay gives is counted beyond that, so that
// nobody waits out the day over a school that has cooled off. The time that is left over is at the person's own choice.
//
// By hand: 3 an hour fished, three quarters of the time there fished: 2.25 an hour there. Visits of an hour, tau half an hour: the mean is
// 0.5 (1 - e^-2) = 0.432 of the beginning, so 5.2 an hour on arrival, and 0.5 x 5.2 x (1 - e^-1) = 1.64 in the first half hour.

const (
	// goneS is how long a boat may be out of a zone and still be on the same visit: back up for another drift.
	goneS = 600
	// windowEvents is how many events without a difference between hours weigh against those of a window, which was chosen
	// for standing out; reasoned.
	windowEvents = 4
)

// A call is one visit to a zone.
type call struct {
	cool.Visit
	fishedH float64
}

// calls returns the visits to a ground.
func (a *analysis) calls(g ground) (out []call) {
	for day := range a.outings {
		o := a.outings[day]
		var fromS, toS, fishedH float64
		open := false
		end := func() {
			if !open {
				return
			}
			c := call{cool.Visit{LengthH: (toS - fromS) / 3600}, fishedH}
			for _, i := range g.events {
				if e := a.events[i]; e.day == day && e.weight > 0 {
					if s := o.at(e.Time); s >= fromS && s < toS {
						c.AtH = append(c.AtH, (s-fromS)/3600)
					}
				}
			}
			out = append(out, c)
		}
		for _, m := range a.effort[o.firstMoment:o.pastMoments] {
			if !g.contains(m.at) {
				continue
			}
			half := m.hours * 3600 / 2
			if !open || m.s-half-toS > goneS {
				end()
				open, fromS, fishedH = true, m.s-half, 0
			}
			toS = m.s + half
			fishedH += m.hours
		}
		end()
	}
	return out
}

// learnCooling learns from the visits to all zones how they cool off, and what each gives on arrival.
func (p *planner) learnCooling() {
	var visits []cool.Visit
	calls := make([][]call, len(p.a.grounds))
	for i, g := range p.a.grounds {
		calls[i] = p.a.calls(g)
		for _, c := range calls[i] {
			visits = append(visits, c.Visit)
		}
	}
	p.cooling = cool.Learn(visits)
	visits = visits[:0]
	for i, z := range p.a.chart.Zones {
		perH := p.arrivalPerH(z, calls[i])
		p.arrival = append(p.arrival, perH)
		for _, c := range calls[i] {
			c.MeanH = perH
			visits = append(visits, c.Visit)
		}
	}
	p.elsewherePerH = p.a.outsidePerH()
	shape, learned := cool.Shape(visits, p.cooling)
	p.shape = shape
	p.run.Cooling = spatial.RunCooling{
		TauMin: 60 * p.cooling.TauH, Learned: p.cooling.Learned, Events: p.cooling.Events, Visits: p.cooling.Visits,
		Shape: shape, ShapeLearned: learned,
	}
}

// arrivalPerH returns a zone's events an hour on arrival, 0 where its rate is not known.
func (p *planner) arrivalPerH(z spatial.Zone, calls []call) float64 {
	if !z.ShrunkPerH.OK {
		return 0
	}
	var there, fished, worth float64 // hours
	for _, c := range calls {
		there += c.LengthH
		fished += c.fishedH
		worth += cool.Expected(1, p.cooling.TauH, c.LengthH)
	}
	if worth <= 0 || there <= 0 {
		return z.ShrunkPerH.V
	}
	return z.ShrunkPerH.V * math.Min(1, fished/there) * there / worth
}

// hourTrust tells how much more or less than on the mean of the day a time gives.
type hourTrust func(t time.Time) float64

// trust returns that of a zone.
func (p *planner) trust(z spatial.Zone) hourTrust {
	c := p.a.chart
	clock := func(t time.Time) float64 { return p.a.clockHour(t) }
	sunny := func(t time.Time) float64 { return t.Sub(p.run.Sunrise).Hours() }
	switch {
	case z.Window != nil && z.EffortH.OK:
		return windowTrust(*z.Window, z.EffortH.V, clock)
	case c.SunWindow != nil && !p.run.Sunrise.IsZero():
		return windowTrust(*c.SunWindow, p.a.fishingH(), sunny)
	case c.Window != nil:
		return windowTrust(*c.Window, p.a.fishingH(), clock)
	}
	return func(time.Time) float64 { return 1 }
}

// windowTrust is that of one window among so many hours fished: its rate, and the rest's, over the mean of both.
func windowTrust(w spatial.Window, allH float64, hour func(time.Time) float64) hourTrust {
	inH, restH := w.EffortH, math.Max(0, allH-w.EffortH)
	inN, restN := w.Rate.PerH*inH, w.Rest.PerH*restH
	mean := (inN + restN) / (inH + restH)
	if !(mean > 0) {
		return func(time.Time) float64 { return 1 }
	}
	in := (inN + windowEvents) / (inH*mean + windowEvents)
	rest := (restN + windowEvents) / (restH*mean + windowEvents)
	return func(t time.Time) float64 {
		if h := hour(t); h >= w.From && h < w.To {
			return in
		}
		return rest
	}
}

// newSite makes a site of a zone.
func (p *planner) newSite(zone int) site {
	z := p.a.chart.Zones[zone]
	s := site{zone: zone, hour: p.trust(z)}
	s.arrival = p.arrival[zone]
	s.shape = p.a.places.Shape(z.Rate.PerH * z.EffortH.V)
	middle := p.run.Start.Add(p.run.Back.Sub(p.run.Start) / 2)
	s.at = p.pass(zone, p.windAt(middle)).start
	steps := int(p.endS()/gridS) + 1
	for k := range steps {
		var row []float64
		for _, stay := range staysS {
			row = append(row, math.Max(0, p.expected(&s, float64(k)*gridS, stay)-p.elsewherePerH*stay/3600))
		}
		s.gain = append(s.gain, row)
	}
	return s
}

// outsidePerH returns the events an hour fished outside all zones; 0 where nobody fished.
func (a *analysis) outsidePerH() float64 {
	in := func(v r2.Vec) bool {
		return slices.ContainsFunc(a.grounds, func(g ground) bool { return g.contains(v) })
	}
	hours, events := 0.0, 0.0
	for _, m := range a.effort {
		if !in(m.at) {
			hours += m.hours
		}
	}
	for _, e := range a.events {
		if e.day >= 0 && !in(e.v) && len(a.outings[e.day].track.Nodes) > 0 {
			events += e.weight
		}
	}
	if hours == 0 {
		return 0
	}
	return events / hours
}

// expected returns the events of a stay that begins startS after the start of the day.
func (p *planner) expected(s *site, startS, stayS float64) float64 {
	sum := 0.0
	for t := 0.0; t < stayS; t += gridS {
		d := math.Min(gridS, stayS-t)
		piece := cool.Expected(1, p.cooling.TauH, (t+d)/3600) - cool.Expected(1, p.cooling.TauH, t/3600)
		sum += s.arrival * s.hour(p.at(startS+t+d/2)) * piece
	}
	return sum
}

// gainOf looks up what a stay gives beyond what the time is worth elsewhere, for milkrun.
func (s *site) gainOf(startS, stayS float64) float64 {
	k := slices.Index(staysS, stayS)
	i := min(int(math.Round(startS/gridS)), len(s.gain)-1)
	return s.gain[i][k]
}
