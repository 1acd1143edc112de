package madelake

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// A mode is what the boat does at one second.
type mode uint8

const (
	atRamp mode = iota
	running
	onPass // drifting along a line
	holding
	returning // under motor to the head of a line
)

func (m mode) fishing() bool { return m == onPass || m == holding }

// A step is the boat at one second of the day.
type step struct {
	at   r2.Vec
	mode mode
}

// A choice is a spot the boat can go to next.
type choice struct {
	school int // index, or -1
	spot   *spot
	at     r2.Vec
	line   int     // index, or -1
	wantS  float64 // seconds to fish there over the season
	doneS  float64 // of them, so far
}

// makeChoices lists every spot with its share of the season.
func (w *world) makeChoices() {
	seasonS := 0.0
	for _, d := range w.days {
		seasonS += float64(d.lengthS)
	}
	for i, s := range w.schools {
		days := 0.0
		for _, on := range s.on {
			if on {
				days++
			}
		}
		share := 0.05 * (0.3 + 0.7*days/float64(len(s.on)))
		w.choices = append(w.choices, choice{i, nil, s.shape.at, s.line, share * seasonS, 0})
	}
	for i := range w.barren {
		b := &w.barren[i]
		w.choices = append(w.choices, choice{-1, b, b.at, b.line, 0.1 * seasonS, 0})
	}
	for i := range w.lingers {
		l := &w.lingers[i]
		w.choices = append(w.choices, choice{-1, l, l.at, -1, 0.015 * seasonS, 0})
	}
}

// lack is the part still to be fished of what is wanted at a spot. A barren
// place wants well over twice what a school got, so that hours alone tell
// nothing about fish.
func (w *world) lack(c *choice) float64 {
	want := c.wantS
	if c.school < 0 && c.line >= 0 && len(w.schools) > 0 {
		var done []float64
		for _, o := range w.choices[:len(w.schools)] {
			done = append(done, o.doneS)
		}
		slices.Sort(done)
		times := 4.0
		if w.plan.Hard { // eight of them share what two have in a plain season
			times = 12
		}
		want = math.Max(want/3, times*done[len(done)/2])
	}
	return 1 - c.doneS/want
}

// sail fills the day's path. The skipper goes where most is still wanted and
// little travel is needed: schools in their hours first, barren places in
// between, a school out of its hours now and then.
func (w *world) sail(d *day) {
	h := &helm{w: w, d: d, r: stream(w.plan.Seed, stageSail, d.index), at: w.ramp}
	h.stay(between(h.r, 120, 240))
	left := make([]int, len(w.choices)) // second at which each spot was last left; 0: not yet
	for d.lengthS-len(d.path) > 1500 {
		best, bestScore := -1, math.Inf(-1)
		for i, c := range w.choices {
			score := w.lack(&c)
			if c.school >= 0 {
				switch {
				case !w.schools[c.school].goodFor(d, len(d.path), 1800):
					score = math.Min(score, 0.05)
				case d.driftable && len(w.lines[c.line].passes) < 4:
					score = math.Max(score, 0.5) + 0.7
				default:
					score += 0.3
				}
			}
			score += between(h.r, 0, 0.3) - 0.3*r2.Norm(r2.Sub(c.at, h.at))/4000
			if left[i] > 0 && len(d.path)-left[i] < 4500 {
				score -= 0.6
			}
			if score > bestScore {
				best, bestScore = i, score
			}
		}
		c := &w.choices[best]
		if c.school >= 0 && w.plan.StrayM > 0 {
			s := &w.schools[c.school]
			if c.at = s.shape.at; h.r.IntN(2) == 0 {
				c.at = s.shapeOn(d.index).at
			}
		}
		from := len(d.path)
		h.visit(c)
		left[best] = len(d.path)
		for i := from; i < len(d.path); i++ {
			if d.path[i].mode.fishing() && w.counts(c, d, i) {
				c.doneS++
			}
		}
	}
	h.run(w.ramp)
	h.stay(between(h.r, 60, 120))
}

// counts reports whether that second was spent at the spot.
func (w *world) counts(c *choice, d *day, second int) bool {
	at := d.path[second].at
	if c.school >= 0 {
		return w.schools[c.school].shapeOn(d.index).inReach(at)
	}
	return r2.Norm(r2.Sub(at, c.at)) <= c.spot.radiusM
}

// goodFor reports whether the school is there at that second of the day, with
// at least so many seconds of its hours to come.
func (s *school) goodFor(d *day, second int, secondsLeft float64) bool {
	hour := d.hourAt(second)
	return s.on[d.index] && hour >= s.hourFrom && hour <= s.hourTo-secondsLeft/3600
}

// hourAt is the local clock at a second of the day's path, in hours.
func (d *day) hourAt(second int) float64 {
	t := d.start.In(zone)
	return float64(t.Hour()) + float64(t.Minute())/60 + float64(t.Second()+second)/3600
}

// A helm steers the boat through one day.
type helm struct {
	w  *world
	d  *day
	r  *rand.Rand
	at r2.Vec
}

func (h *helm) put(v r2.Vec, m mode) {
	h.at = v
	h.d.path = append(h.d.path, step{v, m})
}

// stay lies at the ramp, a metre to and fro.
func (h *helm) stay(seconds float64) {
	home := h.at
	for k := range int(seconds) {
		a := float64(k) / 17
		h.put(r2.Add(home, r2.Vec{X: 0.8 * math.Sin(a), Y: 0.5 * math.Sin(a/2)}), atRamp)
	}
	h.at = home
}

// visit goes to a spot and fishes it: passes on its line when the wind lies
// along it, or over its line's place with any wind; then a while in one place.
func (h *helm) visit(c *choice) {
	// What is left of the day after a way home.
	until := h.d.lengthS - 420
	hold := between(h.r, 500, 950)
	if h.r.IntN(2) == 0 {
		h.lookAround(c.at)
	}
	if c.line >= 0 && h.d.driftable && (c.school < 0 || h.w.plan.StrayM == 0) {
		l := &h.w.lines[c.line]
		passes, drifted := 2+h.r.IntN(2), false
		if len(l.passes) < 4 {
			passes = 4 // learning a new line
		}
		for range passes {
			if until-len(h.d.path) < 700 {
				break
			}
			if h.w.plan.Wind {
				drifted = h.letGo(c.line) || drifted
			} else {
				h.drift(c.line)
				drifted = true
			}
		}
		if h.w.plan.Wind && !drifted {
			hold = between(h.r, 1300, 2000)
		}
	} else {
		hold = between(h.r, 1300, 2000)
	}
	spots := 1
	if hold > 800 {
		spots = 2
	}
	for range spots {
		s := math.Min(hold/float64(spots), float64(until-len(h.d.path)))
		if s < 150 {
			return
		}
		h.hold(h.standOff(c), s)
	}
}

// lookAround idles once round a place to see it on the sonar, where the water
// all round is deep enough.
func (h *helm) lookAround(at r2.Vec) {
	out := r2.Sub(h.at, at)
	from, radius, turn := plane.BearingDeg(out), between(h.r, 50, 85), 30.0
	if h.r.IntN(2) == 0 {
		turn = -turn
	}
	var ring []r2.Vec
	for k := range 12 {
		p := place(at, from+turn*float64(k), radius, 0)
		if len(ring) > 0 && !clearWay(ring[len(ring)-1], p) {
			return
		}
		ring = append(ring, p)
	}
	h.run(ring[0])
	speed := between(h.r, 2.2, 2.8)
	h.follow(rounded(ring), running, func(float64) float64 { return speed }, func(float64) float64 { return 0 })
}

// standOff is where to hold: beside a school, so that it stays in reach of a
// cast, or anywhere in a round spot.
func (h *helm) standOff(c *choice) r2.Vec {
	deg := between(h.r, 0, 360)
	if c.school >= 0 {
		return place(c.at, deg, between(h.r, 6, 12), 0)
	}
	return place(c.at, deg, between(h.r, 0, c.spot.radiusM-27), 0)
}

// run goes to a place by deep water: up to a cruising speed, gently round the
// corners, down to a crawl at the end.
func (h *helm) run(to r2.Vec) {
	curve := rounded(way(h.at, to))
	lengthM := float64(len(curve) - 1)
	cruise := between(h.r, 8, 14)
	if lengthM < 150 {
		cruise = between(h.r, 1.6, 2.6) // not worth getting on plane
	}
	weave := newDrifting(h.r, 3, 25).softly(h.r)
	h.follow(curve, running, func(goneM float64) float64 {
		up := 0.8 + math.Sqrt(2*0.7*goneM)
		down := 0.7 + math.Sqrt(2*0.6*math.Max(0, lengthM-goneM))
		return min(cruise, up, down)
	}, func(goneM float64) float64 {
		// No weave at either end, so that the run begins and ends in place.
		return weave() * min(1, goneM/60, math.Max(0, lengthM-goneM)/60)
	})
}

// follow moves along a curve of points a metre apart, second by second, to its
// end; aside is metres to the right of it.
func (h *helm) follow(curve []r2.Vec, m mode, speedMPS, aside func(goneM float64) float64) {
	end := float64(len(curve) - 1)
	for gone := 0.0; gone < end; {
		gone = math.Min(end, gone+speedMPS(gone))
		i := min(int(gone), len(curve)-2)
		at := lerp(curve[i], curve[i+1], gone-float64(i))
		course := plane.BearingDeg(r2.Sub(curve[i+1], curve[i]))
		h.put(place(at, course, 0, aside(gone)), m)
	}
}

// drift goes to the head of a line and makes one pass of it. The skipper keeps
// the line to a few metres and the wind sets the speed.
func (h *helm) drift(line int) {
	l := &h.w.lines[line]
	aside := bell(h.r, 3.5)
	deg := l.towardDeg + bell(h.r, 1.2)
	middle := place(l.start, l.towardDeg, l.lengthM/2, aside)
	half := l.lengthM/2 + between(h.r, -6, 6)
	head := place(middle, deg, -half, 0)
	if awayM := r2.Norm(r2.Sub(head, h.at)); awayM < l.lengthM+90 && clearWay(h.at, head) {
		h.motor(head)
	} else {
		h.run(head)
	}
	speed := math.Min(0.45, math.Max(0.15, 0.056*h.d.windMPS*(1+bell(h.r, 0.05))))
	gust, yaw := newDrifting(h.r, 0.07, 40), newDrifting(h.r, 1.3, 90).softly(h.r)
	from := len(h.d.path)
	curve := rounded([]r2.Vec{head, place(middle, deg, half, 0)})
	h.follow(curve, onPass, func(float64) float64 {
		return speed * (1 + gust.next(h.r))
	}, func(float64) float64 { return yaw() })
	to := len(h.d.path)
	l.passes = append(l.passes, pass{h.d.index, from, to, 2 * half / float64(to-from), 0})
}

// motor goes back up a line at walking pace, bowed to one side so as not to
// drive over the fish.
func (h *helm) motor(to r2.Vec) {
	lengthM := r2.Norm(r2.Sub(to, h.at))
	if lengthM < 3 {
		return
	}
	speed, bow := between(h.r, 1.05, 1.5), between(h.r, -1, 1)*math.Min(12, lengthM/8)
	h.follow(rounded([]r2.Vec{h.at, to}), returning, func(goneM float64) float64 {
		return math.Min(speed, 0.4+math.Min(goneM, lengthM-goneM)/6)
	}, func(goneM float64) float64 { return bow * math.Sin(math.Pi*goneM/lengthM) })
}

// hold goes to a place and wanders about it for so many seconds, slower than
// 0.15 m/s and within 20 m, casting.
func (h *helm) hold(at r2.Vec, seconds float64) {
	if r2.Norm(r2.Sub(at, h.at)) < 60 && clearWay(h.at, at) {
		h.motor(at)
	} else {
		h.run(at)
	}
	roomM := between(h.r, 15, 20)
	course := between(h.r, 0, 360)
	pace := newDrifting(h.r, 0.035, 45)
	for range int(seconds) {
		out := r2.Sub(h.at, at)
		course += 6 * h.r.NormFloat64()
		if m := r2.Norm(out); m > 0.6*roomM {
			// Turned home, the harder the farther out.
			home := plane.BearingDeg(r2.Scale(-1, out))
			course += plane.TurnDeg(course, home) * math.Min(1, 0.1+(m/roomM-0.6))
		}
		speed := math.Min(0.15, math.Abs(0.06+pace.next(h.r)))
		h.put(r2.Add(h.at, r2.Scale(speed, plane.Toward(course))), holding)
	}
}
