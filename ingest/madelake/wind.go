package madelake

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
	"leadline/ingest/si"
)

// How the wind moves the boat in a season made with Plan.Wind.
//
// Each day has a mean wind. Both its direction and its speed wander about that mean
// as first-order Gauss-Markov processes that forget themselves over half an hour.
// A boat that is let go moves over ground with
//
//	v = k (1 + gust) R(a) w + c
//
// where w is the wind as a vector, the way it blows toward, R(a) turns clockwise by
// the angle a, k is the leeway and c a current that is the same all over the lake
// and all season. Each pass has a k and an a of its own, a little off the boat's;
// gusts come and go within a minute. The way is summed up second by second.
//
// By hand: k 0.05, a 10°, 5 m/s from the west, so toward 90°: 0.25 m/s toward 100°,
// which is 0.246 m/s east and 0.043 m/s south. A current of 0.05 m/s to the north
// makes it 0.246 east and 0.007 north: 0.246 m/s toward 88.5°.
//
// Cost: the length of the day in seconds. What it does badly: one wind and one
// current hold for the whole lake, no shore gives shelter, and the hull neither
// needs time to come up to speed nor swings.
//
// Leeway as a part of the wind's speed, turned by an angle, is the usual form
// (Allen and Plourde 1999, Review of Leeway; cited from memory). All figures are
// invented: common practice, no source.

const (
	windAroundS   = 1800 // the wind is told from so long before the day to so long after
	windForgetS   = 1800
	windTurnDeg   = 10.0 // standard deviation about the day's mean
	windSpeedPart = 0.12 // the same, as a part of the mean
	windEveryS    = 600  // between rows of the table

	leastDriftMPS = 0.12 // a slower drift isn't worth it
	longestPassS  = 720
	leastHalfM    = 30.0 // half the length of the shortest drift that is begun
)

// A breeze is the wind at one second.
type breeze struct {
	mps       float64
	towardDeg float64
}

// velocity is the boat's over ground, m/s east and north, where its leeway is
// times as large as usual and its angle turned further by so much.
func (l Leeway) velocity(b breeze, times, turnDeg float64) r2.Vec {
	return r2.Add(
		r2.Scale(l.PerWind*times*b.mps, plane.Toward(b.towardDeg+l.AngleDeg+turnDeg)),
		r2.Scale(l.CurrentMPS, plane.Toward(l.CurrentTowardDeg)))
}

// makeWind draws the season's leeway and the wind of each day. The days share the
// compass, or the arc that was asked for, evenly: each has a part of it to itself
// and lies somewhere in that part. Which day has which part is drawn.
func (w *world) makeWind(prevailing float64) {
	r := stream(w.plan.Seed, stageWind)
	w.leeway = &Leeway{
		PerWind: round(between(r, 0.035, 0.07), 5), AngleDeg: round(between(r, -15, 15), 2),
		CurrentMPS: round(between(r, 0, 0.12), 4), CurrentTowardDeg: round(between(r, 0, 359.99), 2),
	}
	part := w.plan.WindSpreadDeg / float64(len(w.days))
	if w.plan.WindSpreadDeg == 0 {
		part = 360 / float64(len(w.days))
	}
	parts := r.Perm(len(w.days))
	for i := range w.days {
		d := &w.days[i]
		r := stream(w.plan.Seed, stageWind, i)
		fromMiddle := float64(parts[i]) - float64(len(w.days)-1)/2
		d.windTowards = math.Mod(prevailing+fromMiddle*part+bell(r, part/4)+360, 360)
		d.windMPS = between(r, 2, 6.5)
		d.driftable = true
		turn, gain := newDrifting(r, windTurnDeg, windForgetS), newDrifting(r, windSpeedPart, windForgetS)
		// An hour more than planned, since the boat may be late.
		d.wind = make([]breeze, windAroundS+d.lengthS+3600+windAroundS)
		for k := range d.wind {
			d.wind[k] = breeze{
				mps:       d.windMPS * math.Max(0, 1+gain.next(r)),
				towardDeg: d.windTowards + turn.next(r),
			}
		}
	}
}

// windAt is the wind at a second of the day, which may lie before or after its path.
func (d *day) windAt(second int) breeze {
	return d.wind[min(max(second+windAroundS, 0), len(d.wind)-1)]
}

// meanWind is the mean speed over the day's path, and the direction the mean of
// the vectors blows from, in [0, 360).
func (d *day) meanWind() (mps, fromDeg float64) {
	sum := r2.Vec{}
	for k := range d.path {
		b := d.windAt(k)
		mps += b.mps / float64(len(d.path))
		sum = r2.Add(sum, r2.Scale(b.mps, plane.Toward(b.towardDeg)))
	}
	return mps, plane.BearingDeg(r2.Scale(-1, sum))
}

// letGo goes up the wind from a line's place and lets the boat drift across it,
// wherever the wind and the current take it. It reports whether it did: not when the
// drift would be too slow or when the water on the way is too shallow.
func (h *helm) letGo(line int) bool {
	l := &h.w.lines[line]
	expect := h.w.leeway.velocity(h.d.windAt(len(h.d.path)), 1, 0)
	speed, deg := r2.Norm(expect), plane.BearingDeg(expect)
	if speed < leastDriftMPS {
		return false
	}
	middle := place(place(l.start, l.towardDeg, l.lengthM/2, 0), deg, 0, bell(h.r, 3.5))
	half := math.Min(l.lengthM/2+between(h.r, -6, 6), speed*longestPassS/2)
	for !roomToDrift(middle, deg, half) {
		half *= 0.85
		if half < leastHalfM {
			return false
		}
	}
	head := place(middle, deg, -half, 0)
	if awayM := r2.Norm(r2.Sub(head, h.at)); awayM < l.lengthM+90 && clearWay(h.at, head) {
		h.motor(head)
	} else {
		h.run(head)
	}
	times, turn := 1+0.05*h.r.NormFloat64(), 3*h.r.NormFloat64()
	gust := newDrifting(h.r, 0.07, 40)
	start, from := h.at, len(h.d.path)
	for len(h.d.path)-from < longestPassS && r2.Norm(r2.Sub(h.at, start)) < 2*half {
		v := h.w.leeway.velocity(h.d.windAt(len(h.d.path)), times*(1+gust.next(h.r)), turn)
		next := r2.Add(h.at, v)
		if bottomM(next) < cellDeepM {
			break // the wind has turned since, and blows ashore
		}
		h.put(next, onPass)
	}
	to := len(h.d.path)
	if to == from {
		return false
	}
	gone := r2.Sub(h.at, start)
	l.passes = append(l.passes, pass{h.d.index, from, to, r2.Norm(gone) / float64(to-from), plane.BearingDeg(gone)})
	return true
}

// roomToDrift reports whether the water is deep enough 15 m to both sides of a drift
// and beyond its ends.
func roomToDrift(middle r2.Vec, deg, half float64) bool {
	for along := -half - 15; along <= half+15; along += 5 {
		for across := -15.0; across <= 15; across += 5 {
			if bottomM(place(middle, deg, along, across)) <= cellDeepM {
				return false
			}
		}
	}
	return true
}

// windFile writes what a weather station by the lake noted: the wind every ten
// minutes by the clock, read 5 % and 5° wrong, to a tenth of a mile per hour and
// five degrees. It doesn't see gusts.
func (w *world) windFile() File {
	truth := FileTruth{Name: "wind.csv", IntervalS: windEveryS}
	r := stream(w.plan.Seed, stageWindTable)
	var b bytes.Buffer
	b.WriteString("time,wind_mph,wind_from_deg\n")
	for i := range w.days {
		d := &w.days[i]
		first := d.start.Add(-windAroundS * time.Second)
		last := d.timeAt(len(d.path) - 1 + windAroundS)
		for t := first.Truncate(windEveryS * time.Second); !t.After(last); t = t.Add(windEveryS * time.Second) {
			if t.Before(first) {
				continue
			}
			is := d.windAt(int(t.Sub(d.start).Seconds()))
			mph := is.mps / si.MPHMPS * math.Max(0, 1+0.05*r.NormFloat64())
			deg := math.Round((is.towardDeg+180+5*r.NormFloat64())/5) * 5
			deg = math.Mod(math.Mod(deg, 360)+360, 360)
			fmt.Fprintf(&b, "%s,%.1f,%.0f\n", t.Format(time.RFC3339), mph, deg)
			truth.Rows++
		}
	}
	w.files = append(w.files, truth)
	return File{truth.Name, b.Bytes()}
}
