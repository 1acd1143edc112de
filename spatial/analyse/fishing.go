package analyse

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial"
	"leadline/spatial/motion"
	"leadline/spatial/rate"
)

// # Method
//
// Drifting and holding are fishing, running is not. Two states can be either:
//
//   - Crawling under the motor is trolling for one person and the way back up the line for another. Unless
//     the person says which, the catches do: crawling is no fishing where its rate is surely
//     less than half of that while drifting and holding or stopped (the 95 % quantile of the one against
//     half of the other).
//   - A boat that is stopped lies at the ramp where its day ends within rampM of where it
//     began: before the first run and after the last. Anywhere else it may lie at anchor with
//     lines out, and is taken to fish.
//
// A catch made while the boat did what is no fishing still counts, with no time of its own.

// rampM is how far apart launch and take-out of one ramp may be: a dock's length and the wait for it.
const rampM = 100

// countFishing adds the time fished to the effort, and its hours and the lake's rate to the chart.
func (a *analysis) countFishing(context.Context) error {
	var u crawlUse
	for _, d := range a.chart.Days {
		u.crawlH += d.CrawlingH
		u.restH += d.DriftingH + d.HoldingH + d.StoppedH
	}
	for _, e := range a.events {
		u.add(e, a.outings)
	}
	a.crawling = a.crawlIsFishing(u)
	for day := range a.outings {
		a.fishedOn(day, a.crawling)
	}
	a.rateLake()
	if len(a.events) > 0 && !a.chart.LakeRate.OK {
		a.remark("effort", "Without a track nobody can tell how long any place was fished: no rate is given and no zone is proven.")
	}
	return nil
}

// A crawlUse is what came of crawling under the motor, and of the rest of what may be fishing.
type crawlUse struct {
	crawl, rest   []float64 // weights of events
	crawlH, restH float64
}

func (u *crawlUse) add(e occasion, outings []outing) {
	if e.leg < 0 {
		return
	}
	switch outings[e.day].track.Legs[e.leg].State {
	case motion.Crawling:
		u.crawl = append(u.crawl, e.weight)
	case motion.Drifting, motion.Holding, motion.Stopped:
		u.rest = append(u.rest, e.weight)
	}
}

// crawlIsFishing says whether it is, by the rule that is set.
func (a *analysis) crawlIsFishing(u crawlUse) bool {
	switch a.set.Crawling {
	case spatial.CrawlMoved:
		return false
	case spatial.CrawlByCatch:
		c, r := rate.Weighed(u.crawl, u.crawlH), rate.Weighed(u.rest, u.restH)
		if c.OK && r.OK && len(u.rest) > 0 && c.HighPerH < r.PerH/2 {
			a.remark("effort", "Crawling under the motor gave %.2f an hour in %.1f h, drifting and holding %.2f: it is taken as moving, not fishing.", c.PerH, u.crawlH, r.PerH)
			return false
		}
		if u.crawlH > 0 {
			a.remark("effort", "Crawling under the motor, %.1f h, is taken as fishing: the catches don't say otherwise.", u.crawlH)
		}
	}
	return true
}

// rateLake adds the rate of all fishing to the chart.
func (a *analysis) rateLake() {
	all := make([]float64, len(a.events))
	for i, e := range a.events {
		all[i] = e.weight
	}
	a.chart.LakeRate = rate.Weighed(all, a.fishingH())
}

// fishedOn adds the time fished on a day to the effort.
func (a *analysis) fishedOn(day int, crawling bool) {
	o, s := &a.outings[day], &a.chart.Days[day]
	nodes := o.track.Nodes
	fromRamp, toRamp := ramp(nodes)
	o.firstMoment = len(a.effort)
	stop, ran := 0, false
	for i, n := range nodes {
		atRamp := n.State == motion.Stopped && (i < fromRamp || i >= toRamp)
		switch {
		case n.State == motion.Running:
			ran = true
			continue
		case atRamp, n.State == motion.Crawling && !crawling:
			continue
		case ran:
			stop, ran = stop+1, false
		}
		h := n.ForS / 3600
		a.effort = append(a.effort, moment{at: n.At, day: day, hours: h, bottomM: a.depthAt(n.At), s: n.S, stop: stop, clockH: s.FishingH})
		s.FishingH += h
	}
	o.pastMoments = len(a.effort)
}

// ramp returns before which node a day was at its ramp, and from which one on: none when it
// ended elsewhere than it began, or never ran farther than that.
func ramp(nodes []motion.Node) (before, after int) {
	last := len(nodes)
	run := func(n motion.Node) bool {
		return n.State == motion.Running && r2.Norm(r2.Sub(n.At, nodes[0].At)) > rampM
	}
	first := slices.IndexFunc(nodes, run)
	if first < 0 || r2.Norm(r2.Sub(nodes[0].At, nodes[last-1].At)) > rampM {
		return 0, last
	}
	for !run(nodes[last-1]) {
		last--
	}
	return first, last
}

// stopAt returns the stop of a day that a time falls on, and how long had been
// fished by then; ok is false when no fishing is within nearS of it.
func (a *analysis) stopAt(day int, t time.Time) (stop int, clockH float64, ok bool) {
	const nearS = 60
	o := a.outings[day]
	moments := a.effort[o.firstMoment:o.pastMoments]
	s := o.at(t)
	k, _ := slices.BinarySearchFunc(moments, s, func(m moment, s float64) int { return cmp.Compare(m.s, s) })
	best := -1
	for _, i := range []int{k - 1, k} {
		if i >= 0 && i < len(moments) && (best < 0 || math.Abs(moments[i].s-s) < math.Abs(moments[best].s-s)) {
			best = i
		}
	}
	if best < 0 || math.Abs(moments[best].s-s) > nearS {
		return 0, 0, false
	}
	return moments[best].stop, moments[best].clockH, true
}

// fishingH returns all hours fished.
func (a *analysis) fishingH() float64 {
	sum := 0.0
	for _, m := range a.effort {
		sum += m.hours
	}
	return sum
}
