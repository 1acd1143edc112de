package milkrun

import (
	"cmp"
	"slices"
)

// # Method
//
// The best stays, and starts when they count, for stops in a given order: stop by stop, the front of (time of leaving,
// gain so far) that nothing else beats in both. When the wait of choice is limited a later time is not worse, and the
// front keeps the best gain of every time.
//
// By hand: one stop 10 s away with stays of 5 s for 3 and 20 s for 4: the front at it is (15, 3), (30, 4); a second
// stop 10 s on with the same stays, back at once and by 60: (30, 6), (45, 7) by either way, of which the first found
// stays, and (60, 8).
//
// # Cost
//
// Stops x length of the front x stays x starts that give more than all before; or stops x starts x stays when the day has
// few of them. The front is at most the steps of the
// grid; with real times the local
// search cuts it at frontMost, far more than stays of a common step ever make.

type entry struct {
	time, gain int64
	from       int32 // in the front before
	opt        int32
	start      int64
}

const frontMost = 4096

// tableMost is the steps of the grid up to which all starts are gone over, else those that follow from the labels.
const tableMost = 1 << 10

type eval struct {
	in    *inst
	table []int32 // by time: 1 + index in cand, 0 none
	cand  []entry
	base  [][]entry // fronts of the order last set: base[p] after p stops
	temp  [][]entry
	order []int
	flip  []int
	queue []int32
	back  *eval // the same from the end; nil: not kept
	cut   bool  // fronts are cut at frontMost
}

func newEval(in *inst) *eval {
	e := &eval{in: in, base: [][]entry{{{}}}}
	if in.h < tableMost {
		e.table = make([]int32, in.h+1)
	}
	return e
}

// extend puts into out the front at stop j, coming from front at stop or start i.
func (e *eval) extend(front []entry, i, j int, out []entry) []entry {
	in := e.in
	out = out[:0]
	if in.travel[i][j] == never || len(front) == 0 {
		return out
	}
	e.cand = e.cand[:0]
	wait := in.wait
	if i == in.n {
		wait = in.h
	}
	if e.table != nil {
		e.sweep(front, in.travel[i][j], j, wait)
	} else {
		e.each(front, in.travel[i][j], j, wait)
	}
	if e.table != nil {
		for t, x := range e.table {
			if x == 0 {
				continue
			}
			e.table[t] = 0
			out = e.keep(out, e.cand[x-1])
		}
		return out
	}
	if len(e.cand) > 1 {
		slices.SortStableFunc(e.cand, func(a, b entry) int {
			return cmp.Or(cmp.Compare(a.time, b.time), cmp.Compare(b.gain, a.gain))
		})
	}
	for _, c := range e.cand {
		out = e.keep(out, c)
	}
	for e.cut && len(out) > frontMost { // every second, but the last: its gain is the greatest
		w := 0
		for x := len(out)%2 ^ 1; x < len(out); x += 2 {
			out[w] = out[x]
			w++
		}
		out = out[:w]
	}
	return out
}

// each makes a candidate of each label, stay and start that may be of use.
func (e *eval) each(front []entry, tr int64, j int, wait int64) {
	in := e.in
	for f := range front {
		a := front[f].time + tr
		if a > in.latest[j] {
			break
		}
		for k := range in.opts[j] {
			o := &in.opts[j][k]
			s := max(a, o.open)
			end := min(o.close, in.h-o.stay-in.toEnd[j], s+wait)
			for s <= end {
				e.cand = append(e.cand, entry{s + o.stay, front[f].gain + o.at(s), int32(f), int32(k), s})
				if in.wait < in.h {
					s++
				} else if next, ok := o.next(s); ok {
					s = next
				} else {
					break
				}
			}
		}
	}
}

// sweep goes over the starts, when they are few, with the best label that can wait for each; the table keeps the best
// candidate of each time.
func (e *eval) sweep(front []entry, tr int64, j int, wait int64) {
	in := e.in
	queue := e.queue[:0] // of labels in reach, each with less gain than the one before
	first, f := 0, 0
	for s := max(front[0].time+tr, in.least[j]); s <= in.latest[j]; s++ {
		for ; f < len(front) && front[f].time+tr <= s; f++ {
			for len(queue) > first && front[queue[len(queue)-1]].gain < front[f].gain {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, int32(f))
		}
		for first < len(queue) && max(front[queue[first]].time+tr, in.least[j])+wait < s {
			first++
		}
		if first == len(queue) {
			continue
		}
		from := queue[first]
		for k := range in.opts[j] {
			o := &in.opts[j][k]
			if s < o.open || s > o.close || s+o.stay+in.toEnd[j] > in.h {
				continue
			}
			c := entry{s + o.stay, front[from].gain + o.at(s), from, int32(k), s}
			if x := e.table[c.time]; x == 0 {
				e.cand = append(e.cand, c)
				e.table[c.time] = int32(len(e.cand))
			} else if e.cand[x-1].gain < c.gain {
				e.cand[x-1] = c
			}
		}
	}
	e.queue = queue
}

// keep appends c, not before all of out in time, unless out makes it useless.
func (e *eval) keep(out []entry, c entry) []entry {
	if m := len(out); m > 0 {
		l := out[m-1]
		if l.gain >= c.gain && (l.time == c.time || l.time >= e.in.rise) {
			return out
		}
	}
	return append(out, c)
}

// A score ranks orders: the more gain, then the earlier back, is better. Gain -1: it can't be done.
type score struct{ gain, back int64 }

func (s score) better(t score) bool { return s.gain > t.gain || s.gain == t.gain && s.back < t.back }

var hopeless = score{-1, never}

func (e *eval) finish(front []entry, last int) score {
	best := hopeless
	tr := e.in.travel[last][e.in.n+1]
	for _, x := range front {
		if s := (score{x.gain, x.time + tr}); s.back <= e.in.h && s.better(best) {
			best = s
		}
	}
	return best
}

func (e *eval) last(order []int) int {
	if len(order) == 0 {
		return e.in.n
	}
	return order[len(order)-1]
}

// set makes order the one that try compares with.
func (e *eval) set(order []int) score {
	e.order = append(e.order[:0], order...)
	for len(e.base) <= len(order) {
		e.base = append(e.base, nil)
	}
	at := e.in.n
	for p, j := range order {
		e.base[p+1] = e.extend(e.base[p], at, j, e.base[p+1])
		at = j
	}
	if e.back != nil {
		e.flip = append(e.flip[:0], order...)
		slices.Reverse(e.flip)
		e.back.set(e.flip)
	}
	return e.finish(e.base[len(order)], at)
}

// try scores an order, quicker the longer it begins and ends like the one set; hopeless when it gives less than floor.
func (e *eval) try(order []int, floor int64) score {
	p := 0
	for p < len(order) && p < len(e.order) && order[p] == e.order[p] {
		p++
	}
	front := e.base[p]
	at := e.last(order[:p])
	if e.in.one && len(front) == 1 {
		return e.sum(front[0], at, order[p:])
	}
	for len(e.temp) <= len(order) {
		e.temp = append(e.temp, nil)
	}
	same := 0 // stops at the end
	if e.back != nil {
		for same < len(order)-p && same < len(e.order)-p && order[len(order)-1-same] == e.order[len(e.order)-1-same] {
			same++
		}
	}
	for ; p < len(order); p++ {
		if same > 0 && p == len(order)-same && e.join(front, at, order[p], e.back.base[same]) < floor {
			return hopeless
		}
		if len(front) == 0 {
			return hopeless
		}
		e.temp[p+1] = e.extend(front, at, order[p], e.temp[p+1])
		front, at = e.temp[p+1], order[p]
	}
	return e.finish(front, at)
}

// join returns the most gain of front, at stop at, followed by the stops of rest, a front from the end, at stop j: at least
// what it is, since from the end waiting is free. -1 for none.
func (e *eval) join(front []entry, at, j int, rest []entry) int64 {
	tr := e.in.travel[at][j]
	best := int64(-1)
	x := len(rest) - 1
	for _, f := range front {
		for x >= 0 && rest[x].time > e.in.h-f.time-tr {
			x--
		}
		if x < 0 {
			break
		}
		best = max(best, f.gain+rest[x].gain)
	}
	return best
}

// sum is try when every stop has one stay, and all that counts is to be in time.
func (e *eval) sum(x entry, at int, order []int) score {
	in := e.in
	for _, j := range order {
		x.time += in.travel[at][j]
		if x.time > in.latest[j] {
			return hopeless
		}
		o := &in.opts[j][0]
		x.time = max(x.time, o.open) + o.stay
		x.gain += o.flat
		at = j
	}
	if x.time += in.travel[at][in.n+1]; x.time > in.h {
		return hopeless
	}
	return score{x.gain, x.time}
}

type leg struct {
	stop, opt int
	start     int64
}

// trace returns the stays of the best plan along an order that can be done, and its gain.
func (e *eval) trace(order []int) ([]leg, int64) {
	s := e.set(order)
	legs := make([]leg, len(order))
	tr := e.in.travel[e.last(order)][e.in.n+1]
	x := slices.IndexFunc(e.base[len(order)], func(c entry) bool { return c.gain == s.gain && c.time+tr == s.back })
	for p := len(order); p > 0; p-- {
		c := e.base[p][x]
		legs[p-1] = leg{order[p-1], int(c.opt), c.start}
		x = int(c.from)
	}
	return legs, s.gain
}
