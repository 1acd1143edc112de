package analyse

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/cool"
	"leadline/spatial/head"
	"leadline/spatial/milkrun"
)

const (
	leadM       = 10  // a drift begins this far before the zone: bow round, line down
	sameWayDeg  = 45  // a drift line is no other way than this
	mostPatient = 180 // minutes; who is to wait longer needs no rule
	patientTo   = 2   // bites up to which the rule is told
)

// windAt returns the forecast for an instant; nil without one. Before the first one's time the first holds.
func (p *planner) windAt(t time.Time) *spatial.Wind {
	return windOf(p.run.Winds, t)
}

func windOf(winds []spatial.HourWind, t time.Time) *spatial.Wind {
	if len(winds) == 0 {
		return nil
	}
	w := winds[0].Wind
	for _, x := range winds {
		if !x.From.After(t) {
			w = x.Wind
		}
	}
	return &w
}

// A passage is one drift over a zone.
type passage struct {
	mps, towardDeg ingest.Maybe // over ground
	sdMPS          float64      // of one pass
	from           string       // RunStop.DriftFrom
	start, end     r2.Vec
}

// pass returns the drift over a zone in a wind.
func (p *planner) pass(zone int, wind *spatial.Wind) passage {
	a := p.a
	z, g := a.chart.Zones[zone], a.grounds[zone]
	var out passage
	switch {
	case wind != nil && a.chart.Leeway.OK:
		d := a.boat.Predict(r2.Scale(-wind.SpeedMPS, plane.Toward(wind.FromDeg)), 0, 0)
		out.from, out.mps, out.sdMPS = "forecast", ingest.Known(d.SpeedMPS), (d.HighMPS-d.LowMPS)/4
		if d.TowardU95Deg.OK {
			out.towardDeg = ingest.Known(d.TowardDeg)
		}
	case z.DriftMPS.OK:
		out.from, out.mps, out.towardDeg, out.sdMPS = "season", z.DriftMPS, z.DriftTowardDeg, z.DriftSD.V
	}
	middle := a.middle(g.members)
	out.start, out.end = middle, middle
	if !out.towardDeg.OK || out.mps.V <= 0 {
		return out
	}
	way := plane.Toward(out.towardDeg.V)
	var back, ahead float64
	for _, q := range g.shape[0] {
		along := r2.Dot(r2.Sub(r2.Vec{X: q[0], Y: q[1]}, middle), way)
		back, ahead = math.Min(back, along), math.Max(ahead, along)
	}
	out.start = p.nearestOpen(middle, r2.Add(middle, r2.Scale(back-leadM, way)))
	out.end = p.nearestOpen(middle, r2.Add(middle, r2.Scale(ahead, way)))
	return out
}

// nearestOpen returns the place nearest to the far end of a straight line that is known water all the way back to the near end,
// or where the water known ends.
func (p *planner) nearestOpen(near, far r2.Vec) r2.Vec {
	const stepM = 5
	n := int(math.Ceil(r2.Norm(r2.Sub(far, near)) / stepM))
	last := near
	for k := 1; k <= n; k++ {
		v := r2.Add(near, r2.Scale(float64(k)/float64(n), r2.Sub(far, near)))
		if !p.grid.Open(v) {
			break
		}
		last = v
	}
	return last
}

// place makes the stops and legs of a plan. It is ErrNoRun where a leg has no known way, which no plan should have.
func (p *planner) place(plan milkrun.Plan) error {
	r := &p.run
	from := p.launch
	for i, v := range plan.Visits {
		s := p.stop(v.Stop, p.at(v.StartS), p.at(v.LeaveS), r.Winds)
		s.Order = i + 1
		s.Expected.Mean = p.expected(&p.sites[v.Stop], v.StartS, v.LeaveS-v.StartS)
		r.Expected.Mean += s.Expected.Mean
		at := p.a.frame.Metres(s.At)
		l, ok := p.leg(i, i+1, from, at)
		if !ok { // the drift in that hour's wind begins where no way is known: from the place the plan was made with
			at = p.sites[v.Stop].at
			s.At = p.point(at)
			if l, ok = p.leg(i, i+1, from, at); !ok {
				return fmt.Errorf("%w: no known way to %s", ErrNoRun, s.Zone)
			}
		}
		if i == 0 {
			r.Leave = p.at(math.Max(0, v.StartS-p.travelS[len(p.sites)][v.Stop]))
		} else {
			s.FreeS = math.Max(0, v.StartS-plan.Visits[i-1].LeaveS-l.Seconds)
		}
		r.Stops, r.Legs = append(r.Stops, s), append(r.Legs, l)
		from = at
	}
	if len(r.Stops) == 0 {
		return nil
	}
	last := plan.Visits[len(plan.Visits)-1]
	r.Home = p.at(last.LeaveS + gridS*math.Ceil(p.travelS[last.Stop][len(p.sites)+1]/gridS-1e-9))
	home, ok := p.leg(len(r.Stops), len(r.Stops)+1, from, p.takeOut)
	if !ok {
		return fmt.Errorf("%w: no known way home from %s", ErrNoRun, r.Stops[len(r.Stops)-1].Zone)
	}
	r.Legs = append(r.Legs, home)
	return nil
}

// stop makes a stop of a site, its order, leg and patience apart.
func (p *planner) stop(k int, arrive, leave time.Time, winds []spatial.HourWind) spatial.RunStop {
	a := p.a
	site := &p.sites[k]
	z := a.chart.Zones[site.zone]
	wind := windOf(winds, arrive)
	pass := p.pass(site.zone, wind)
	s := spatial.RunStop{
		Zone: z.ID, Index: site.zone, Arrive: arrive, Leave: leave, Wind: wind,
		At: p.point(pass.start), DriftEnd: p.point(pass.end), DriftMPS: pass.mps, DriftTowardDeg: pass.towardDeg, DriftFrom: pass.from,
		PerH: site.perH[site.step(arrive.Sub(p.run.Start).Seconds())], BottomM: z.BottomM,
	}
	if m := r2.Norm(r2.Sub(pass.end, pass.start)); m > 0 {
		s.PassS = ingest.Known(m / pass.mps.V)
		s.DriftLine = a.lineAlong(a.grounds[site.zone], pass.towardDeg.V)
	}
	p.fishOn(&s, z, a.grounds[site.zone])
	s.Head = p.headOn(s, z, pass)
	return s
}

// lineAlong returns the best of the drift lines that cross a ground about the same way.
func (a *analysis) lineAlong(g ground, towardDeg float64) string {
	for _, d := range a.chart.Drifts {
		if math.Abs(plane.TurnDeg(d.TowardDeg, towardDeg)) > sameWayDeg {
			continue
		}
		for _, q := range d.Line {
			if g.contains(a.frame.Metres(q)) {
				return d.ID
			}
		}
	}
	return ""
}

// fishOn brings a zone's fish to the day's level. Fish of which more stood on the bottom than off it go up and down with the water over
// it; others keep their depth below the surface, while that is above the bottom.
func (p *planner) fishOn(s *spatial.RunStop, z spatial.Zone, g ground) {
	s.FishTopM, s.FishBottomM = z.FishTopM, z.FishBottomM
	if !z.FishTopM.OK || !z.FishBottomM.OK {
		return
	}
	sum, n := 0.0, 0
	for _, i := range g.events {
		if e := p.a.events[i]; e.FishM.OK && e.day >= 0 && p.a.chart.Days[e.day].Shift.From != spatial.AsSounded {
			sum += p.a.chart.Days[e.day].Shift.M
			n++
		}
	}
	switch {
	case n == 0:
		return
	case z.Stand.OnBottom > z.Stand.Suspended:
		s.FishBy = "bottom"
		s.FishTopM.V = math.Max(0, s.FishTopM.V+sum/float64(n))
		s.FishBottomM.V = math.Max(0, s.FishBottomM.V+sum/float64(n))
	default:
		s.FishBy = "surface"
	}
	if up := s.FishBottomM.V - z.BottomM.V; z.BottomM.OK && up > 0 { // there is no water there any more
		s.FishBy = "bottom"
		s.FishTopM.V, s.FishBottomM.V = math.Max(0, s.FishTopM.V-up), z.BottomM.V
	}
}

// headOn chooses the head for a stop.
func (p *planner) headOn(s spatial.RunStop, z spatial.Zone, pass passage) spatial.HeadChoice {
	at := head.Place{TopM: s.FishTopM, BottomM: s.FishBottomM, SpeedMPS: pass.mps}
	current := false
	if pass.mps.OK && pass.towardDeg.OK {
		if water, known := p.a.throughWater(pass.mps.V, pass.towardDeg.V); known {
			at.SpeedMPS, current = ingest.Known(water), true
		}
	}
	c := head.ChooseAt(at, p.a.set.Tackle)
	if current {
		c.CurrentMPS = p.a.chart.Leeway.CurrentMPS
	}
	doubt := spatial.HeadDoubt{SpeedMPS: pass.sdMPS}
	if z.FishU95M.OK {
		doubt.DepthM = z.FishU95M.V / 2
	}
	c.Stand = head.Stand(c, doubt, p.a.set.Tackle)
	return c
}

// patience tells when to give each stop up, for what an hour is worth once it is left. A stop with bites may be worth more than the stay
// planned; one without is never worth more.
func (p *planner) patience(worth []float64) {
	r := &p.run
	for i := range r.Stops {
		s := &r.Stops[i]
		s.WorthPerH = worth[i]
		if worth[i] <= 0 || s.PerH <= 0 {
			continue
		}
		site := &p.sites[p.indexOf(s.Index)]
		// What is not known of the place, and what differs from one visit to the next, multiply.
		known := site.shape[site.step(s.Arrive.Sub(r.Start).Seconds())]
		shape := 1 / (1/known + 1/p.shape + 1/(known*p.shape))
		for bites := range patientTo + 1 {
			m := 60 * cool.LeaveAfterH(s.PerH, shape, p.cooling.TauH, worth[i], bites)
			if bites == 0 {
				m = math.Min(m, s.Leave.Sub(s.Arrive).Minutes())
			}
			if m > mostPatient {
				break
			}
			if m > 0 {
				s.LeaveIf = append(s.LeaveIf, spatial.RunPatience{Bites: bites, Minutes: m})
			}
		}
	}
}
