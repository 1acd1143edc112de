package analyse

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/drift"
	"leadline/spatial/motion"
	"leadline/spatial/rate"
)

// A pass is a drift pass with its day and the steady velocity it was made at.
type pass struct {
	drift.Pass
	day       int
	speedMPS  float64
	towardDeg float64
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
			for _, n := range o.track.Nodes[l.From:l.To] {
				p.Path = append(p.Path, n.At)
				p.Seconds += n.ForS
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
	for i, l := range lines {
		inLine += len(l.Passes)
		a.chart.Drifts = append(a.chart.Drifts, a.line(fmt.Sprintf("D%d", i+1), l))
	}
	if alone := len(a.passes) - inLine; alone > 0 {
		a.remark("drift lines", "%d of %d drift passes ran where no other did: they count as fishing time and make no line.", alone, len(a.passes))
	}
	return nil
}

// line gives a drift line its figures.
func (a *analysis) line(id string, l drift.Line) spatial.DriftLine {
	out := spatial.DriftLine{
		ID: id, Line: orb.LineString(a.degrees(l.Middle)), LengthM: l.LengthM(), WidthM: l.WidthM, Passes: len(l.Passes),
		TowardDeg: plane.BearingDeg(r2.Sub(l.Middle[len(l.Middle)-1], l.Middle[0])),
	}
	days := map[int]bool{}
	var speeds []float64
	for _, i := range l.Passes {
		days[a.passes[i].day] = true
		speeds = append(speeds, a.passes[i].speedMPS)
		out.Hours += a.passes[i].Seconds / 3600
	}
	out.Days = len(days)
	out.SpeedMPS = quantile(0.5, speeds)
	var along []float64
	for _, e := range a.events {
		if p := a.passOf(e); p >= 0 && slices.Contains(l.Passes, p) {
			out.Events++
			m, _ := drift.Along(l.Middle, e.v)
			along = append(along, m)
		}
	}
	out.Rate = rate.PerHour(out.Events, out.Hours)
	// The stretch that holds the middle eight tenths of the events. Below five
	// events, that is just where they happened to be.
	if len(along) >= 5 {
		out.ProductiveFromM, out.ProductiveToM = ingest.Known(quantile(0.1, along)), ingest.Known(quantile(0.9, along))
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
	p.Path = append(p.Path, q.Path...)
	p.Seconds += q.Seconds
}
