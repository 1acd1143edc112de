package analyse

import (
	"math"
	"slices"
	"time"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/cool"
)

// What a stay gives.
//
// The rate of a zone at an hour, counted after sunrise, is that of the fishing done there within aroundH of it, the nearer
// the more (a triangle), drawn towards what the lake gave at that hour as far as few hours demand: with the lake's rate L and
// the spread between places that package rate knows (mean b, variance a), n events in e hours give
//
//	(n + L b/a) / (e + b/a)
//
// the mean of a Gamma distribution of shape n + L b/a. So a zone that was never fished at an hour is taken for any water then: that
// fish were there at noon doesn't tell whether they are at dawn.
//
// That is a mean over hours fished. Two things lie between it and what a place gives on arrival. The boat doesn't fish all the while it is
// there: the way back to the head of a drift, a lure retied; so the rate counts in the share of the visits that was fished.
// And the place cooled off while it was fished: over visits of length D the mean of a rate that begins at r and falls by
// exp(-t/tau) is r times sum of tau (1 - exp(-D/tau)) over sum of D, which gives r.
//
// Visits differ. How much is learned from each visit's events beside what the place's other visits make expected.
//
// Time is worth something anywhere: what the lake gives outside its zones. What a stay gives is counted beyond that, so that
// nobody waits out the day over a school that has cooled off. The time that is left over is at the person's own choice.
//
// By hand: 3 an hour fished, three quarters of the time there fished: 2.25 an hour there. Visits of an hour, tau half an hour: the mean is
// 0.5 (1 - e^-2) = 0.432 of the beginning, so 5.2 an hour on arrival, and 0.5 x 5.2 x (1 - e^-1) = 1.64 in the first half hour.
//
// What it does badly: hours are those of the sun alone; a school that comes with the wind or a falling pool is not known. Fishing and hour go
// together: who fishes a place at its best hour only never learns of another.

const (
	// goneS is how long a boat may be out of a zone and still be on the same visit: back up for another drift.
	goneS = 600
	// aroundH is how near fishing must be to an hour to tell of it: a window of feeding lasts about so long (common practice, no
	// source).
	aroundH = 1.0
	// hourEvents is how many events at the lake's mean weigh against those of one hour of it; reasoned.
	hourEvents = 4
)

// Hours after sunrise, in bins.
const (
	binsAnHour = 12
	firstHour  = -24
	hourBins   = 2 * 24 * binsAnHour
)

// A byHour is events and hours fished around each hour after sunrise.
type byHour struct{ events, hours [hourBins]float64 }

func hourBin(h float64) int {
	return min(max(int(math.Floor((h-firstHour)*binsAnHour)), 0), hourBins-1)
}

// near is the weight of what happened in one bin for another.
func near(bins int) float64 { return math.Max(0, 1-math.Abs(float64(bins))/(aroundH*binsAnHour)) }

// smooth spreads each bin over those around it.
func (b *byHour) smooth() *byHour {
	var out byHour
	const reach = aroundH * binsAnHour
	for i := range hourBins {
		if b.events[i] == 0 && b.hours[i] == 0 {
			continue
		}
		for d := -reach; d <= reach; d++ {
			if k := i + int(d); k >= 0 && k < hourBins {
				out.events[k] += near(int(d)) * b.events[i]
				out.hours[k] += near(int(d)) * b.hours[i]
			}
		}
	}
	return &out
}

// byHourOf gathers the events that are in and some fishing.
func (a *analysis) byHourOf(c clock, event func(int) bool, fished []moment) *byHour {
	var b byHour
	events, effort := a.hours(c, event, fished)
	for _, e := range events {
		b.events[hourBin(e.H)] += e.Weight
	}
	for _, e := range effort {
		b.hours[hourBin(e.H)] += e.Hours
	}
	return b.smooth()
}

// A call is one visit to a zone.
type call struct {
	cool.Visit
	fishedH float64
	hour    ingest.Maybe // after sunrise, of its middle
	own     byHour       // its events and hours, smooth; empty without hour
}

// calls returns the visits to a ground.
func (a *analysis) calls(g ground, c clock) (out []call) {
	for _, moments := range visits(a.effortOn(g)) {
		day := moments[0].day
		o := a.outings[day]
		fromS, toS := lasts(moments)
		v := call{Visit: cool.Visit{LengthH: (toS - fromS) / 3600}, hour: c(day, (fromS+toS)/2)}
		var own byHour
		for _, m := range moments {
			v.fishedH += m.hours
			if h := c(day, m.s); h.OK {
				own.hours[hourBin(h.V)] += m.hours
			}
		}
		for _, i := range g.events {
			e := a.events[i]
			if e.day != day || e.weight == 0 {
				continue
			}
			if s := o.at(e.Time); s >= fromS && s < toS {
				v.AtH = append(v.AtH, (s-fromS)/3600)
				if h := c(day, s); h.OK {
					own.events[hourBin(h.V)] += e.weight
				}
			}
		}
		if v.hour.OK {
			v.own = *own.smooth()
		}
		out = append(out, v)
	}
	return out
}

// visits cuts the fishing on a ground, by time, into visits.
func visits(moments []moment) (out [][]moment) {
	from := 0
	for i := range moments {
		if i > from && (moments[i].day != moments[from].day || moments[i].begins()-moments[i-1].ends() > goneS) {
			out = append(out, moments[from:i])
			from = i
		}
	}
	if from < len(moments) {
		out = append(out, moments[from:])
	}
	return out
}

// lasts returns from when to when a visit lasts, in seconds of the day's track.
func lasts(visit []moment) (fromS, toS float64) {
	return visit[0].begins(), visit[len(visit)-1].ends()
}

// A book is what is known of one zone for a stay.
type book struct {
	hours   *byHour
	arrival float64 // events an hour there on arrival for each an hour fished
}

// learnGains learns how places cool off, what each gives by the hour, and how visits differ.
func (p *planner) learnGains() {
	a := p.a
	c := a.bySun()
	p.lake = a.byHourOf(c, func(int) bool { return true }, a.effort)
	p.elsewherePerH = a.outsidePerH()
	var visits []cool.Visit
	calls := make([][]call, len(a.grounds))
	for i, g := range a.grounds {
		calls[i] = a.calls(g, c)
		for _, v := range calls[i] {
			visits = append(visits, v.Visit)
		}
	}
	p.cooling = cool.Learn(visits)
	visits = visits[:0]
	for i, g := range a.grounds {
		b := book{
			hours: a.byHourOf(c,
				func(e int) bool { _, in := slices.BinarySearch(g.events, e); return in },
				a.effortOn(g)),
			arrival: arrivalShare(calls[i], p.cooling.TauH),
		}
		p.books = append(p.books, b)
		for _, v := range calls[i] {
			if v.hour.OK {
				perH, _ := p.rateAt(b.hours, v.hour.V, &v.own)
				v.MeanH = perH * b.arrival
			}
			visits = append(visits, v.Visit)
		}
	}
	shape, learned := cool.Shape(visits, p.cooling)
	p.shape = shape
	p.run.Cooling = spatial.RunCooling{
		TauMin: 60 * p.cooling.TauH, Learned: p.cooling.Learned, Events: p.cooling.Events, Visits: p.cooling.Visits,
		Shape: shape, ShapeLearned: learned,
	}
}

// arrivalShare returns how many events an hour there, on arrival, go with one an hour fished.
func arrivalShare(calls []call, tauH float64) float64 {
	var there, fished, worth float64 // hours
	for _, c := range calls {
		there += c.LengthH
		fished += c.fishedH
		worth += cool.Expected(1, tauH, c.LengthH)
	}
	if worth <= 0 {
		return 1
	}
	return math.Min(1, fished/there) * there / worth
}

// rateAt returns the events an hour fished to expect of a place at an hour after sunrise, and the shape of the Gamma
// distribution about it; without says what of its events and hours is not to count, nil for nothing.
func (p *planner) rateAt(b *byHour, hour float64, without *byHour) (perH, shape float64) {
	i := hourBin(hour)
	prior := p.a.places
	lake := prior.MeanPerH
	if lake > 0 {
		lake = (p.lake.events[i] + hourEvents) / (p.lake.hours[i] + hourEvents/lake)
	}
	if prior.Var == 0 { // all places are alike
		return lake, prior.Shape(0)
	}
	n, e := b.events[i], b.hours[i]
	if without != nil {
		n, e = math.Max(0, n-without.events[i]), math.Max(0, e-without.hours[i])
	}
	strength := prior.MeanPerH / prior.Var
	shape = n + lake*strength
	return shape / (e + strength), shape
}

// hourAt is the hour after sunrise of an instant of the day to plan.
func (p *planner) hourAt(t time.Time) float64 {
	if p.run.Sunrise.IsZero() {
		return p.a.clockHour(t)
	}
	return t.Sub(p.run.Sunrise).Hours()
}

// newSite makes a site of a zone.
func (p *planner) newSite(zone int) site {
	s := site{zone: zone}
	middle := p.run.Start.Add(p.run.Back.Sub(p.run.Start) / 2)
	s.at = p.pass(zone, p.windAt(middle)).start
	steps := int(p.endS()/gridS) + 1
	for k := range steps {
		perH, shape := p.arrivalAt(zone, p.at((float64(k)+0.5)*gridS))
		s.perH, s.shape = append(s.perH, perH), append(s.shape, shape)
	}
	for k := range steps {
		var row []float64
		for _, stay := range staysS {
			row = append(row, math.Max(0, p.expected(&s, float64(k)*gridS, stay)-p.elsewherePerH*stay/3600))
		}
		s.gain = append(s.gain, row)
	}
	return s
}

// arrivalAt returns the events an hour to expect of a zone that is come to at an instant, and the shape about it.
func (p *planner) arrivalAt(zone int, t time.Time) (perH, shape float64) {
	b := p.books[zone]
	perH, shape = p.rateAt(b.hours, p.hourAt(t), nil)
	return perH * b.arrival, shape
}

// step is the index of the grid that an instant falls on, by seconds after the start.
func (s *site) step(startS float64) int {
	return min(max(int(startS/gridS+1e-9), 0), len(s.perH)-1)
}

// expected returns the events of a stay that begins startS after the start of the day.
func (p *planner) expected(s *site, startS, stayS float64) float64 {
	return p.stayGives(stayS, func(afterS float64) float64 { return s.perH[s.step(startS+afterS)] })
}

// stayGives returns the events of a stay at a place of which is told how many an hour it gives whoever arrives
// at so many seconds into the stay.
func (p *planner) stayGives(stayS float64, arrivalPerH func(afterS float64) float64) float64 {
	sum := 0.0
	for t := 0.0; t < stayS; t += gridS {
		d := math.Min(gridS, stayS-t)
		piece := cool.Expected(1, p.cooling.TauH, (t+d)/3600) - cool.Expected(1, p.cooling.TauH, t/3600)
		sum += arrivalPerH(t) * piece
	}
	return sum
}

// gainOf looks up what a stay gives beyond what the time is worth elsewhere, for milkrun.
func (s *site) gainOf(startS, stayS float64) float64 {
	return s.gain[s.step(startS)][slices.Index(staysS, stayS)]
}

// outsidePerH returns the events an hour fished outside all zones; 0 where nobody fished.
func (a *analysis) outsidePerH() float64 {
	inside := make([]bool, len(a.effort))
	for _, g := range a.grounds {
		for _, i := range g.moments {
			inside[i] = true
		}
	}
	hours, events := 0.0, 0.0
	for i, m := range a.effort {
		if !inside[i] {
			hours += m.hours
		}
	}
	for _, e := range a.events {
		in := slices.ContainsFunc(a.grounds, func(g ground) bool { return g.contains(e.v) })
		if e.day >= 0 && !in && len(a.outings[e.day].track.Nodes) > 0 {
			events += e.weight
		}
	}
	if hours == 0 {
		return 0
	}
	return events / hours
}
