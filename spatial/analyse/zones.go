package analyse

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/stat"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/band"
	"leadline/spatial/head"
	"leadline/spatial/rate"
	"leadline/spatial/zone"
)

// findZones clusters the events and gives each zone its figures and its head.
func (a *analysis) findZones(ctx context.Context) error {
	grounds, err := a.schools(ctx)
	if err != nil {
		return err
	}
	zones := make([]spatial.Zone, len(grounds))
	for i, g := range grounds {
		zones[i] = a.zone(g)
	}
	order := make([]int, len(zones))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		p, q := zones[x], zones[y]
		if p.Proven != q.Proven {
			if p.Proven {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(q.ShrunkPerH.V, p.ShrunkPerH.V), cmp.Compare(q.Events, p.Events))
	})
	for n, i := range order {
		z := zones[i]
		z.ID = fmt.Sprintf("Z%d", n+1)
		for _, e := range grounds[i].events {
			a.chart.Events[e].Zone = z.ID
		}
		a.chart.Zones = append(a.chart.Zones, z)
		a.grounds = append(a.grounds, grounds[i])
	}
	if a.set.Simulations == 0 && len(grounds) > 0 && len(a.effort) > 0 {
		a.remark("zones", "No season of even fishing was simulated, as asked: nobody can tell which zones are more than luck.")
	}
	switch {
	case len(a.events) == 0:
		a.remark("zones", "No catch, bite or mark could be placed: there is nothing to find zones in.")
	case len(grounds) == 0:
		a.remark("zones", "Too few to tell: nowhere do %d catches or marks lie close enough together, and in so little time, to be a zone.", a.set.MinEvents)
	}
	return nil
}

// schools clusters the events, draws what each cluster lies on, and learns how much places differ.
func (a *analysis) schools(ctx context.Context) ([]ground, error) {
	var events []zone.Event
	var which []int // of a.events
	for i, e := range a.events {
		if e.weight == 0 {
			continue
		}
		z := zone.Event{At: e.v, Weight: e.weight, Day: e.day, Stop: -1}
		if e.day >= 0 {
			if stop, clockH, ok := a.stopAt(e.day, e.Time); ok {
				z.Stop, z.S, z.ClockH = stop, a.outings[e.day].at(e.Time), clockH
			}
		}
		events, which = append(events, z), append(which, i)
	}
	effort := make([]zone.Effort, len(a.effort))
	for i, m := range a.effort {
		effort[i] = zone.Effort{At: m.at, Hours: m.hours, Day: m.day}
	}
	found, err := zone.Find(ctx, events, effort, zone.Settings{
		CastM: a.set.CastM, MinEvents: a.set.MinEvents, FrenzyS: a.set.FrenzyS, Simulations: a.set.Simulations, Seed: a.set.Seed,
	})
	if err != nil {
		return nil, err
	}
	if len(events) > 0 && len(effort) > 0 && a.set.Simulations > 0 {
		least := 1.0
		for _, f := range found {
			least = min(least, f.PValue.V)
		}
		a.chart.EvenP = ingest.Known(least)
	}
	var grounds []ground
	for _, f := range found {
		for k, i := range f.Members {
			f.Members[k] = which[i]
		}
		grounds = append(grounds, a.newGround(f.PValue, f.Members))
	}
	a.assign(grounds)
	grounds = a.part(grounds)
	a.learnPlaces()
	return grounds, nil
}

// ground is a zone's outline and the events counted for it.
type ground struct {
	members []int        // events that were clustered, of analysis.events
	pValue  ingest.Maybe // see zone.Found
	shape   orb.Polygon  // in metres
	bound   orb.Bound
	moments []int // fishing on it, of analysis.effort
	events  []int
	layer   string // "upper" or "deeper" of two schools at one place; else empty
}

func (a *analysis) newGround(pValue ingest.Maybe, members []int) ground {
	at := make([]r2.Vec, len(members))
	for k, i := range members {
		at[k] = a.events[i].v
	}
	shape := zone.Outline(at, a.set.CastM, a.waterNear(at))
	g := ground{members: members, pValue: pValue, shape: shape, bound: shape.Bound()}
	for i := range a.effort {
		if g.contains(a.effort[i].at) {
			g.moments = append(g.moments, i)
		}
	}
	return g
}

// effortOn returns the fishing on a ground, by time.
func (a *analysis) effortOn(g ground) []moment {
	out := make([]moment, len(g.moments))
	for k, i := range g.moments {
		out[k] = a.effort[i]
	}
	return out
}

func (g ground) contains(v r2.Vec) bool {
	if !g.bound.Contains(orb.Point{v.X, v.Y}) {
		return false
	}
	in := false
	for _, r := range g.shape {
		in = in != inRing(r, v)
	}
	return in
}

// inRing reports whether a closed ring is crossed an odd number of times on the way east from v. orb (v0.14.0) tells the same,
// but first goes round the ring for its bound each time: half of the time that a season's grounds take.
func inRing(r orb.Ring, v r2.Vec) bool {
	in := false
	for i := 1; i < len(r); i++ {
		a, b := r[i-1], r[i]
		if (a[1] > v.Y) != (b[1] > v.Y) && v.X < a[0]+(b[0]-a[0])*(v.Y-a[1])/(b[1]-a[1]) {
			in = !in
		}
	}
	return in
}

// waterNear returns what tells known water around places: sounded, or within a cast of
// where the boat went. It is nil when nothing was sounded and no track is known.
func (a *analysis) waterNear(places []r2.Vec) func(r2.Vec) bool {
	bound := orb.MultiPoint{}
	for _, v := range places {
		bound = append(bound, orb.Point{v.X, v.Y})
	}
	near := bound.Bound().Pad(2 * a.set.CastM)
	type square struct{ x, y int }
	of := func(v r2.Vec) square {
		return square{int(math.Floor(v.X / a.set.CastM)), int(math.Floor(v.Y / a.set.CastM))}
	}
	went := map[square][]r2.Vec{}
	tracked := false
	for _, o := range a.outings {
		for _, n := range o.track.Nodes {
			tracked = true
			if near.Contains(orb.Point{n.At.X, n.At.Y}) {
				went[of(n.At)] = append(went[of(n.At)], n.At)
			}
		}
	}
	if !tracked && a.chart.Bottom.Cells == 0 {
		return nil
	}
	return func(v r2.Vec) bool {
		if a.depthAt(v).OK {
			return true
		}
		s := of(v)
		for y := s.y - 1; y <= s.y+1; y++ {
			for x := s.x - 1; x <= s.x+1; x++ {
				for _, n := range went[square{x, y}] {
					if r2.Norm2(r2.Sub(n, v)) <= a.set.CastM*a.set.CastM {
						return true
					}
				}
			}
		}
		return false
	}
}

// part makes two grounds of one where two schools at different depths share it. A group
// that gave less on its own ground than fishing anywhere does is no school: it is strays.
func (a *analysis) part(grounds []ground) []ground {
	var out []ground
	for _, g := range grounds {
		var at []r2.Vec
		var depth, hour []ingest.Maybe
		for _, i := range g.events {
			at = append(at, a.events[i].v)
			depth = append(depth, a.events[i].FishM)
			hour = append(hour, a.hourOf(a.events[i]))
		}
		deeper, ok := zone.Part(at, depth, hour, a.set.MinEvents)
		if !ok {
			out = append(out, g)
			continue
		}
		var parts []ground
		for _, layer := range []string{"upper", "deeper"} {
			var members []int
			weight := 0.0
			for k, i := range g.events {
				if deeper[k] == (layer == "deeper") {
					members = append(members, i)
					weight += a.events[i].weight
				}
			}
			one := a.newGround(g.pValue, members)
			one.events, one.layer = members, layer
			if weight > a.chart.LakeRate.PerH*a.hoursOn(one) {
				parts = append(parts, one)
			}
		}
		if len(parts) < 2 {
			parts = []ground{g}
		}
		out = append(out, parts...)
	}
	return out
}

// hourOf returns the hour of day of an event, by the chart's clock.
func (a *analysis) hourOf(o occasion) ingest.Maybe {
	if o.day < 0 {
		return ingest.Maybe{}
	}
	return ingest.Known(a.clockHour(o.Time))
}

// hoursOn returns the hours fished on a ground.
func (a *analysis) hoursOn(g ground) float64 {
	sum := 0.0
	for _, i := range g.moments {
		sum += a.effort[i].hours
	}
	return sum
}

// learnPlaces learns how much rates differ between places, from squares four casts
// wide: a zone's water and some around it.
func (a *analysis) learnPlaces() {
	type square struct{ x, y int }
	side := 4 * a.set.CastM
	of := func(v r2.Vec) square { return square{int(math.Floor(v.X / side)), int(math.Floor(v.Y / side))} }
	index := map[square]int{}
	var counts, hours []float64
	at := func(v r2.Vec) int {
		i, seen := index[of(v)]
		if !seen {
			i = len(counts)
			index[of(v)] = i
			counts, hours = append(counts, 0), append(hours, 0)
		}
		return i
	}
	for _, m := range a.effort {
		hours[at(m.at)] += m.hours
	}
	for _, e := range a.events {
		counts[at(e.v)] += e.weight
	}
	a.places, a.placesOK = rate.Marshall(counts, hours)
}

// assign gives each event to one zone at most: to the one it was clustered into,
// else to the one whose outline it lies in, the nearest middle first.
func (a *analysis) assign(grounds []ground) {
	taken := make([]bool, len(a.events))
	for i := range grounds {
		for _, e := range grounds[i].members {
			taken[e] = true
			grounds[i].events = append(grounds[i].events, e)
		}
	}
	for e := range a.events {
		if taken[e] || a.events[e].weight == 0 {
			continue
		}
		best, bestM := -1, math.Inf(1)
		for i, g := range grounds {
			if g.contains(a.events[e].v) {
				if d := r2.Norm(r2.Sub(a.middle(g.members), a.events[e].v)); d < bestM {
					best, bestM = i, d
				}
			}
		}
		if best >= 0 {
			grounds[best].events = append(grounds[best].events, e)
		}
	}
	for i := range grounds {
		slices.Sort(grounds[i].events)
	}
}

func (a *analysis) middle(events []int) r2.Vec {
	var sum r2.Vec
	for _, e := range events {
		sum = r2.Add(sum, a.events[e].v)
	}
	return r2.Scale(1/float64(len(events)), sum)
}

// zone gives a ground its figures.
func (a *analysis) zone(g ground) spatial.Zone {
	z := spatial.Zone{
		Shape:  a.polygons(orb.MultiPolygon{g.shape.Clone()})[0],
		Centre: a.frame.Degrees(a.middle(g.members)),
		AreaM2: planar.Area(g.shape),
		Events: len(g.events),
		PValue: g.pValue,
		Proven: g.pValue.OK && g.pValue.V < zone.ProvenBelow,
		Layer:  g.layer,
	}
	days := map[int]bool{}
	var hours, temps []float64
	for _, i := range g.events {
		e := a.events[i]
		if e.Kind == ingest.Catch {
			z.Catches += e.Count
		}
		if e.day >= 0 {
			days[e.day] = true
			hours = append(hours, a.hourOf(e).V)
		}
		if e.tempC.OK {
			temps = append(temps, e.tempC.V)
		}
	}
	z.Days = len(days)
	if len(hours) >= 3 { // fewer are moments, not hours
		z.HourFrom, z.HourTo = span(hours)
	}
	if len(temps) > 0 {
		z.TempC = ingest.Known(quantile(0.5, temps))
	}
	a.bottomIn(&z, g)
	a.fishIn(&z, g)
	a.movesOf(&z, g)
	if len(a.effort) > 0 {
		sum := a.hoursOn(g)
		z.EffortH = ingest.Known(sum)
		z.Rate = rate.Weighed(a.weights(g.events), sum)
		if a.placesOK {
			z.ShrunkPerH = ingest.Known(a.places.Shrink(z.Rate.PerH*sum, sum))
		}
	}
	inZone := func(i int) bool { return slices.Contains(g.events, i) }
	here := a.effortOn(g)
	z.Bands = a.bandsByBottom(inZone, here)
	z.Stand = a.stand(inZone)
	hours24, fished24 := a.hours(a.byClock, inZone, here)
	z.Window = windowOf(band.BestWindow(hours24, fished24, windowStepH))
	a.driftIn(&z, g)
	a.headsFor(&z)
	return z
}

// weights returns what events count.
func (a *analysis) weights(events []int) []float64 {
	out := make([]float64, len(events))
	for k, i := range events {
		out[k] = a.events[i].weight
	}
	return out
}

// span returns the range that holds the middle 80 % of v, or all of it when there
// are fewer than five to cut from.
func span(v []float64) (from, to ingest.Maybe) {
	if len(v) < 5 {
		return ingest.Known(slices.Min(v)), ingest.Known(slices.Max(v))
	}
	return ingest.Known(quantile(0.1, v)), ingest.Known(quantile(0.9, v))
}

// headsFor chooses a zone's head, and that for the drift of the forecast. What counts is the speed through
// the water: a current that is known, and the way the drift went, are taken off.
func (a *analysis) headsFor(z *spatial.Zone) {
	doubt := spatial.HeadDoubt{SpeedMPS: z.DriftSD.V}
	if z.FishU95M.OK {
		doubt.DepthM = z.FishU95M.V / 2
	}
	speed := z.DriftMPS
	if z.WaterMPS.OK {
		speed = z.WaterMPS
	}
	at := head.Place{TopM: z.FishTopM, BottomM: z.FishBottomM, SpeedMPS: speed}
	z.Head = head.ChooseAt(at, a.set.Tackle)
	if z.WaterMPS.OK {
		z.Head.CurrentMPS = a.chart.Leeway.CurrentMPS
	}
	z.Head.Stand = head.Stand(z.Head, doubt, a.set.Tackle)
	if f := a.chart.Forecast; f != nil && f.SpeedMPS.OK {
		at.SpeedMPS = f.SpeedMPS
		water, known := a.throughWater(f.SpeedMPS.V, f.TowardDeg.V)
		if known && f.TowardDeg.OK {
			at.SpeedMPS = ingest.Known(water)
		}
		c := head.ChooseAt(at, a.set.Tackle)
		if known && f.TowardDeg.OK {
			c.CurrentMPS = a.chart.Leeway.CurrentMPS
		}
		doubt.SpeedMPS = (f.HighMPS.V - f.LowMPS.V) / 4
		c.Stand = head.Stand(c, doubt, a.set.Tackle)
		z.ForecastHead = &c
	}
}

// throughWater returns a drift over ground as a speed through the water; ok is false where no current is known.
func (a *analysis) throughWater(mps, towardDeg float64) (speedMPS float64, ok bool) {
	l := a.chart.Leeway
	if !l.CurrentMPS.OK || !l.CurrentTowardDeg.OK {
		return 0, false
	}
	return r2.Norm(r2.Sub(r2.Scale(mps, plane.Toward(towardDeg)), r2.Scale(l.CurrentMPS.V, plane.Toward(l.CurrentTowardDeg.V)))), true
}

// usualDriftSD is how much drifts differ, as part of their speed, where fewer than three passes tell: gusts and
// the day's wind; reasoned.
const usualDriftSD = 0.15

// driftIn gives a zone the speed and direction of the passes its events came on.
// Where all came while the boat held its place, the drift is none.
func (a *analysis) driftIn(z *spatial.Zone, g ground) {
	var passes []int
	held := false
	for _, i := range g.events {
		if p := a.passOf(a.events[i]); p >= 0 && !slices.Contains(passes, p) {
			passes = append(passes, p)
		}
		held = held || a.wasHolding(a.events[i])
	}
	switch {
	case len(passes) > 0:
		var speeds, waters []float64
		var way r2.Vec
		for _, p := range passes {
			speeds = append(speeds, a.passes[p].speedMPS)
			if w, ok := a.throughWater(a.passes[p].speedMPS, a.passes[p].towardDeg); ok {
				waters = append(waters, w)
			}
			way = r2.Add(way, plane.Toward(a.passes[p].towardDeg))
		}
		z.DriftPasses = len(passes)
		z.DriftMPS = ingest.Known(quantile(0.5, speeds))
		if len(waters) > 0 {
			z.WaterMPS = ingest.Known(quantile(0.5, waters))
		}
		z.DriftSD = ingest.Known(usualDriftSD * z.DriftMPS.V)
		if len(speeds) >= 3 {
			z.DriftSD.V = stat.StdDev(speeds, nil)
		}
		// Passes that went every way have no common direction.
		if r2.Norm(way) > 0.5*float64(len(passes)) {
			z.DriftTowardDeg = ingest.Known(plane.BearingDeg(way))
		}
	case held:
		z.DriftMPS = ingest.Known(0)
	}
}
