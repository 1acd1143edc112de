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

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/head"
	"leadline/spatial/rate"
	"leadline/spatial/zone"
)

// provenBelow is the chance below which a zone counts as proven.
const provenBelow = 0.05

// findZones clusters the events and gives each zone its figures and its head.
func (a *analysis) findZones(ctx context.Context) error {
	events := make([]zone.Event, len(a.events))
	for i, e := range a.events {
		events[i] = zone.Event{At: e.v, Day: e.day, Stop: -1}
		if e.day >= 0 {
			if stop, clockH, ok := a.stopAt(e.day, e.Time); ok {
				events[i].Stop, events[i].ClockH = stop, clockH
			}
		}
	}
	effort := make([]zone.Effort, len(a.effort))
	for i, m := range a.effort {
		effort[i] = zone.Effort{At: m.at, Hours: m.hours, Day: m.day}
	}
	found, err := zone.Find(ctx, events, effort, zone.Settings{
		LinkM: a.set.LinkM, CastM: a.set.CastM, MinEvents: a.set.MinEvents, FrenzyH: a.set.FrenzyS / 3600, Simulations: a.set.Simulations, Seed: a.set.Seed,
	})
	if err != nil {
		return err
	}
	grounds := make([]ground, len(found))
	for i, f := range found {
		grounds[i] = newGround(f)
	}
	a.assign(grounds)
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
		return cmp.Or(cmp.Compare(q.Rate.PerH, p.Rate.PerH), cmp.Compare(q.Events, p.Events))
	})
	for n, i := range order {
		z := zones[i]
		z.ID = fmt.Sprintf("Z%d", n+1)
		for _, e := range grounds[i].events {
			a.chart.Events[e].Zone = z.ID
		}
		a.chart.Zones = append(a.chart.Zones, z)
	}
	switch {
	case len(a.events) == 0:
		a.remark("zones", "No catch, bite or mark could be placed: there is nothing to find zones in.")
	case len(found) == 0:
		a.remark("zones", "Too few to tell: no %d catches or marks lie close enough together to be a zone.", a.set.MinEvents)
	}
	return nil
}

// ground is a zone's outline and the events counted for it.
type ground struct {
	zone.Found
	ring   orb.Ring // in metres
	bound  orb.Bound
	events []int
}

func newGround(f zone.Found) ground {
	g := ground{Found: f, ring: make(orb.Ring, len(f.Outline))}
	for i, v := range f.Outline {
		g.ring[i] = orb.Point{v.X, v.Y}
	}
	g.bound = g.ring.Bound()
	return g
}

func (g ground) contains(v r2.Vec) bool {
	p := orb.Point{v.X, v.Y}
	return g.bound.Contains(p) && planar.RingContains(g.ring, p)
}

// assign gives each event to one zone at most: to the one it was clustered into,
// else to the one whose outline it lies in, the nearest middle first.
func (a *analysis) assign(grounds []ground) {
	taken := make([]bool, len(a.events))
	for i := range grounds {
		for _, e := range grounds[i].Members {
			taken[e] = true
			grounds[i].events = append(grounds[i].events, e)
		}
	}
	for e := range a.events {
		if taken[e] {
			continue
		}
		best, bestM := -1, math.Inf(1)
		for i, g := range grounds {
			if g.contains(a.events[e].v) {
				if d := r2.Norm(r2.Sub(a.middle(g.Members), a.events[e].v)); d < bestM {
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
		Shape:  orb.Polygon{orb.Ring(a.degrees(g.Outline))},
		Centre: a.frame.Degrees(a.middle(g.Members)),
		AreaM2: planar.Area(g.ring),
		Events: len(g.events),
		PValue: g.PValue,
		Proven: g.PValue.OK && g.PValue.V < provenBelow,
	}
	days := map[int]bool{}
	var hours, fish, temps []float64
	for _, i := range g.events {
		e := a.events[i]
		if e.Kind == ingest.Catch {
			z.Catches += e.Count
		}
		if e.day >= 0 {
			days[e.day] = true
			t := e.Time.In(a.chart.Zone)
			hours = append(hours, float64(t.Hour())+float64(t.Minute())/60+float64(t.Second())/3600)
		}
		if e.FishM.OK {
			fish = append(fish, e.FishM.V)
		}
		if e.tempC.OK {
			temps = append(temps, e.tempC.V)
		}
	}
	z.Days = len(days)
	z.FishNoted = len(fish)
	if len(fish) > 0 {
		z.FishTopM, z.FishBottomM = together(fish)
	}
	if len(hours) >= 3 { // fewer are moments, not hours
		z.HourFrom, z.HourTo = span(hours)
	}
	if len(temps) > 0 {
		z.TempC = ingest.Known(quantile(0.5, temps))
	}
	a.bottomIn(&z, g)
	a.movesOf(&z, g)
	if len(a.effort) > 0 {
		sum := 0.0
		for _, m := range a.effort {
			if g.contains(m.at) {
				sum += m.hours
			}
		}
		z.EffortH = ingest.Known(sum)
		z.Rate = rate.PerHour(z.Events, sum)
	}
	a.driftIn(&z, g)
	z.Head = head.Choose(z.FishBottomM, z.DriftMPS, a.set.Tackle)
	return z
}

// span returns the range that holds the middle 80 % of v, or all of it when there
// are fewer than five to cut from.
func span(v []float64) (from, to ingest.Maybe) {
	if len(v) < 5 {
		return ingest.Known(slices.Min(v)), ingest.Known(slices.Max(v))
	}
	return ingest.Known(quantile(0.1, v)), ingest.Known(quantile(0.9, v))
}

// together returns the range of v without strays: what lies more than 2.5 scaled
// median absolute deviations from the median (the limit that Leys et al., Detecting
// outliers, J. Exp. Soc. Psychol. 49, 2013, advise; from memory). Fish spread evenly over a band
// of half-height h lie within h of its middle and have a scaled deviation of
// 0.74 h, so nothing is cut off a band; a bass from the shallows beside a deep
// school goes, one from just above it stays. Within strayM of the median nothing
// is a stray. With fewer than five notes there is no telling strays from band, and all count.
func together(v []float64) (from, to ingest.Maybe) {
	const strayM = 1 // notes are rough: a foot or two
	slices.Sort(v)
	if len(v) >= 5 {
		middle := quantile(0.5, v)
		off := make([]float64, len(v))
		for i, x := range v {
			off[i] = math.Abs(x - middle)
		}
		limit := math.Max(strayM, 2.5*1.4826*quantile(0.5, off))
		v = slices.DeleteFunc(v, func(x float64) bool { return math.Abs(x-middle) > limit })
	}
	return ingest.Known(v[0]), ingest.Known(v[len(v)-1])
}

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
		var speeds []float64
		var way r2.Vec
		for _, p := range passes {
			speeds = append(speeds, a.passes[p].speedMPS)
			way = r2.Add(way, plane.Toward(a.passes[p].towardDeg))
		}
		z.DriftPasses = len(passes)
		z.DriftMPS = ingest.Known(quantile(0.5, speeds))
		// Passes that went every way have no common direction.
		if r2.Norm(way) > 0.5*float64(len(passes)) {
			z.DriftTowardDeg = ingest.Known(plane.BearingDeg(way))
		}
	case held:
		z.DriftMPS = ingest.Known(0)
	}
}
