package analyse

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/band"
	"leadline/spatial/drift"
	"leadline/spatial/motion"
	"leadline/spatial/rate"
)

// A pass is a drift pass with its day and the steady velocity it was made at.
type pass struct {
	drift.Pass
	day       int
	from, to  time.Time
	speedMPS  float64
	towardDeg float64
	forS      []float64 // seconds for each point of the path
}

// gatherLines makes drift passes of the drift legs, and lines of the passes.
func (a *analysis) gatherLines(context.Context) error {
	for day := range a.outings {
		o := &a.outings[day]
		o.pass = make([]int, len(o.track.Legs))
		for k, l := range o.track.Legs {
			o.pass[k] = -1
			if l.State != motion.Drifting {
				continue
			}
			p := pass{day: day, speedMPS: l.SpeedMPS, towardDeg: l.TowardDeg}
			p.Day = a.season.Days[day].Date
			p.from, p.to = o.time(o.track.Nodes[l.From].S), o.time(o.track.Nodes[l.To-1].S)
			for _, n := range o.track.Nodes[l.From:l.To] {
				p.Path = append(p.Path, n.At)
				p.Seconds += n.ForS
				p.forS = append(p.forS, n.ForS)
			}
			if k > 0 && o.pass[k-1] >= 0 && goesOn(o.track, o.track.Legs[k-1], l) {
				o.pass[k] = o.pass[k-1]
				a.passes[o.pass[k]].extend(p)
				continue
			}
			o.pass[k] = len(a.passes)
			a.passes = append(a.passes, p)
		}
	}
	plain := make([]drift.Pass, len(a.passes))
	for i, p := range a.passes {
		plain[i] = p.Pass
	}
	lines := drift.Lines(plain, a.set.LineWidthM)
	inLine := 0
	for _, l := range lines {
		inLine += len(l.Passes)
		a.chart.Drifts = append(a.chart.Drifts, a.line(l))
	}
	// Best first: by the rate that a line surely has, then as package drift orders them.
	slices.SortStableFunc(a.chart.Drifts, func(x, y spatial.DriftLine) int { return cmp.Compare(y.Rate.LowPerH, x.Rate.LowPerH) })
	for i := range a.chart.Drifts {
		a.chart.Drifts[i].ID = fmt.Sprintf("D%d", i+1)
	}
	if alone := len(a.passes) - inLine; alone > 0 {
		a.remark("drift lines", "%d of %d drift passes ran where no other did: they count as fishing time and make no line.", alone, len(a.passes))
	}
	return nil
}

// line gives a drift line its figures.
func (a *analysis) line(l drift.Line) spatial.DriftLine {
	out := spatial.DriftLine{
		Line: orb.LineString(a.degrees(l.Middle)), LengthM: l.LengthM(), WidthM: l.WidthM, Passes: len(l.Passes),
		TowardDeg: l.TowardDeg,
	}
	days := map[int]bool{}
	var speeds []float64
	var effort []band.AlongEffort
	for _, i := range l.Passes {
		p := a.passes[i]
		days[p.day] = true
		speeds = append(speeds, p.speedMPS)
		out.Hours += p.Seconds / 3600
		for k, v := range p.Path {
			if m, ok := l.Beside(v, a.set.LineWidthM); ok {
				effort = append(effort, band.AlongEffort{M: m, Hours: p.forS[k] / 3600})
			}
		}
	}
	out.Days = len(days)
	out.SpeedMPS, out.SpeedLowMPS, out.SpeedHighMPS = quantile(0.5, speeds), slices.Min(speeds), slices.Max(speeds)
	if len(speeds) > 3 {
		out.SpeedLowMPS, out.SpeedHighMPS = quantile(0.25, speeds), quantile(0.75, speeds)
	}
	var weights []float64
	var events []band.AlongEvent
	for _, e := range a.events {
		if p := a.passOf(e); p >= 0 && slices.Contains(l.Passes, p) {
			out.Events++
			weights = append(weights, e.weight)
			if m, ok := l.Beside(e.v, a.set.LineWidthM+a.set.CastM); ok && e.weight > 0 {
				events = append(events, band.AlongEvent{M: m, Weight: e.weight})
			}
		}
	}
	out.Rate, out.PerPass = rate.Weighed(weights, out.Hours), rate.Weighed(weights, float64(out.Passes))
	out.Profile = a.profile(l.Middle)
	if s, ok := band.BestStretch(events, effort, stretchStepM); ok {
		out.ProductiveFromM, out.ProductiveToM = ingest.Known(max(0, s.FromM)), ingest.Known(min(out.LengthM, s.ToM))
		out.Stretch = &spatial.Stretch{Events: s.Events, Hours: s.EffortH, Rate: s.Rate, Rest: s.Rest}
		var depths []float64
		for _, p := range out.Profile {
			if p.DepthM.OK && p.AlongM >= s.FromM && p.AlongM <= s.ToM {
				depths = append(depths, p.DepthM.V)
			}
		}
		if len(depths) > 0 {
			out.Stretch.TopM, out.Stretch.MiddleM, out.Stretch.BottomM = ingest.Known(slices.Min(depths)), ingest.Known(quantile(0.5, depths)), ingest.Known(slices.Max(depths))
		}
	}
	return out
}

const (
	// stretchStepM is how finely a line is cut to look for its productive stretch: a receiver
	// errs by about as much.
	stretchStepM = 5
	profileStepM = 5
)

// profile returns the bottom along a line, at even steps from its start and at its end.
func (a *analysis) profile(line []r2.Vec) []spatial.ProfilePoint {
	var out []spatial.ProfilePoint
	done, next := 0.0, 0.0
	for i := 1; i < len(line); i++ {
		n := r2.Norm(r2.Sub(line[i], line[i-1]))
		for ; next <= done+n; next += profileStepM {
			at := line[i-1]
			if n > 0 {
				at = r2.Add(at, r2.Scale((next-done)/n, r2.Sub(line[i], at)))
			}
			out = append(out, spatial.ProfilePoint{AlongM: next, DepthM: a.depthAt(at)})
		}
		done += n
	}
	if last := line[len(line)-1]; out[len(out)-1].AlongM < done {
		out = append(out, spatial.ProfilePoint{AlongM: done, DepthM: a.depthAt(last)})
	}
	return out
}

// goesOn reports whether two drift legs with a gap in the track between them are
// one pass: same way, and the second begins about where the first would have
// drifted meanwhile.
func goesOn(t motion.Track, before, after motion.Leg) bool {
	const (
		mostS   = 300 // longer than this anything may have happened
		turnDeg = 30  // as within a leg
		offM    = 20  // twice a receiver's error and a gust
	)
	a, b := t.Nodes[before.To-1], t.Nodes[after.From]
	if b.S-a.S > mostS || math.Abs(plane.TurnDeg(before.TowardDeg, after.TowardDeg)) > turnDeg {
		return false
	}
	mps := (before.SpeedMPS + after.SpeedMPS) / 2
	there := r2.Add(a.At, r2.Scale(mps*(b.S-a.S), plane.Toward(before.TowardDeg)))
	return r2.Norm(r2.Sub(there, b.At)) <= offM
}

// extend adds what came after a gap; speed and course become the means by time.
func (p *pass) extend(q pass) {
	w := q.Seconds / (p.Seconds + q.Seconds)
	p.towardDeg += w * plane.TurnDeg(p.towardDeg, q.towardDeg)
	p.speedMPS += w * (q.speedMPS - p.speedMPS)
	p.Path, p.forS = append(p.Path, q.Path...), append(p.forS, q.forS...)
	p.Seconds += q.Seconds
	p.to = q.to
}
