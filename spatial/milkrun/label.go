package milkrun

import (
	"cmp"
	"slices"
)

// # Method
//
// A label is a way from the start to the end of a stay: the stop, the time of leaving, the gain so far and the stops that
// are remembered. From it go labels to all stops that are not remembered. A stop remembers itself and its neighbours; of
// what the way remembered before it only those are kept. So a way may come back to a stop when it has been somewhere
// that does not remember it: more ways than there are plans, and the best is a bound. A label goes when another at
// its stop is not later, has no less gain and remembers nothing that it does not: what follows the one can follow the
// other.
//
// Time: with GridS 0, or waiting at will, the earlier of two labels can do what the later can. From a label only those
// starts are tried at which the next stop gives more than at all earlier ones: the others are an earlier start and a
// wait after the stay. When the wait of choice is limited neither holds; then every start is tried and labels compare
// at equal times only, but after the last time at which any gain rises.
//
// Bounds: the labels of a search from the end say for each stop and time what the rest of the day can give at most. A
// label with less hope than the best plan has gone. So does one for which all stops that it does not remember could not
// give enough.
//
// When the best ways that are left visit a stop twice, it is remembered all along the ways between (prove). Nothing is
// ever forgotten again, so at worst it ends with all remembered everywhere, which is the exact search.
//
// # Cost
//
// Labels x stops x starts, each compared with the fronts of all sets remembered at its stop.

// bits is a set of remembered stops, by their bit.
type bits [2]uint64

const mostBits = 128

func (b bits) has(c bits) bool { return b[0]&c[0]|b[1]&c[1] != 0 }
func (b bits) or(c bits) bits  { return bits{b[0] | c[0], b[1] | c[1]} }
func (b bits) and(c bits) bits { return bits{b[0] & c[0], b[1] & c[1]} }

// within says whether all of b is in c.
func (b bits) within(c bits) bool { return b[0]&^c[0]|b[1]&^c[1] == 0 }

// A memory says what is remembered where. Stops beyond the first 128 that need it can't be.
type memory struct {
	bit  []bits // by stop; none: never remembered
	near []bits // by stop: what is kept there
	used int
}

// neighbours is how many near stops a stop remembers to begin with: what would come back most often.
const neighbours = 5

// closeBy is the part of the day by which stops are so close, there and back, that they always remember each other; without it a bound would count
// hundreds of turns between two stops side by side, or with stays of nothing never end.
const closeBy = 1. / 500

// newMemory has each stop remember so many of its neighbours, and what must be remembered.
func newMemory(in *inst, neighbours int) *memory {
	m := &memory{bit: make([]bits, in.n), near: make([]bits, in.n)}
	for j, f := range in.forced {
		if f {
			for i := range in.n {
				m.remember(j, i)
			}
		}
	}
	short := int64(closeBy * float64(in.h))
	hop := func(i, j int) int64 {
		d := int64(never)
		for k := range in.opts[i] {
			d = min(d, in.travel[i][j]+in.opts[i][k].stay)
		}
		return d
	}
	// Who can be reached by short hops alone.
	reach := make([][]bool, in.n)
	for i := range reach {
		reach[i] = make([]bool, in.n)
		for j := range reach[i] {
			reach[i][j] = hop(i, j) <= short
		}
	}
	for k := range in.n {
		for i := range in.n {
			for j := range in.n {
				reach[i][j] = reach[i][j] || reach[i][k] && reach[k][j]
			}
		}
	}
	for i := range in.n {
		for j := range in.n {
			if i != j && reach[i][j] && reach[j][i] {
				m.remember(j, i)
			}
		}
		var others []int
		for j := range in.n {
			if j != i && len(in.opts[j]) > 0 && min(hop(i, j), hop(j, i)) < never {
				others = append(others, j)
			}
		}
		slices.SortStableFunc(others, func(a, b int) int {
			return cmp.Compare(hop(i, a)+hop(a, i), hop(i, b)+hop(b, i))
		})
		for _, j := range others[:min(neighbours, len(others))] {
			m.remember(j, i)
		}
	}
	return m
}

// remember makes stop i remember stop j, and says whether that is new.
func (m *memory) remember(j, i int) bool {
	if m.bit[j] == (bits{}) {
		if m.used == mostBits {
			return false
		}
		m.bit[j][m.used/64] = 1 << (m.used % 64)
		m.used++
		m.near[j] = m.near[j].or(m.bit[j])
	}
	if m.near[i].has(m.bit[j]) {
		return false
	}
	m.near[i] = m.near[i].or(m.bit[j])
	return true
}

// A stair is what can be had at most from a time on: at times up to t[x], g[x]; falling in both; nothing after the last.
type stair struct{ t, g []int64 }

func (s *stair) at(t int64) int64 {
	lo, hi := 0, len(s.t)
	for lo < hi {
		if m := (lo + hi) / 2; s.t[m] < t {
			lo = m + 1
		} else {
			hi = m
		}
	}
	if lo == len(s.t) {
		return -1
	}
	return s.g[lo]
}

type point struct{ t, g int64 }

// stairOf sorts points.
func stairOf(points []point) stair {
	slices.SortFunc(points, func(a, b point) int { return cmp.Or(cmp.Compare(b.t, a.t), cmp.Compare(b.g, a.g)) })
	var s stair
	for _, p := range points {
		if m := len(s.g); m == 0 || p.g > s.g[m-1] {
			s.t, s.g = append(s.t, p.t), append(s.g, p.g)
		}
	}
	slices.Reverse(s.t)
	slices.Reverse(s.g)
	return s
}

// A rest is what can be had at most: with a stop, arriving at it at a time; after it, leaving it at a time.
type rest struct{ with, after []stair }

// restOf turns a search from the other end into bounds for one in in.
func restOf(in *inst, back *search) *rest {
	r := &rest{make([]stair, in.n), make([]stair, in.n)}
	var points []point
	for i := range in.n {
		points = points[:0]
		for g := range back.groups[i] {
			for _, e := range back.groups[i][g].front {
				points = append(points, point{in.h - e.time, e.gain})
			}
		}
		r.with[i] = stairOf(points)
	}
	for i := range in.n {
		points = points[:0]
		if tr := in.travel[i][in.n+1]; tr < never {
			points = append(points, point{in.h - tr, 0})
		}
		for j := range in.n {
			if tr := in.travel[i][j]; tr < never && j != i {
				for x, t := range r.with[j].t {
					points = append(points, point{t - tr, r.with[j].g[x]})
				}
			}
		}
		r.after[i] = stairOf(points)
	}
	return r
}

type label struct {
	time, gain int64
	seen       bits
	parent     int32 // -1: from the start
	stop       int32
	gone       bool
}

// A group is the front of labels at one stop that remember the same.
type group struct {
	seen  bits
	front []mark // ascending in time; from rise on in gain too
	top   int64  // the most gain, and ...
	first int64  // ... the earliest time: most groups are passed over by these alone
}

type mark struct {
	time, gain int64
	label      int32
}

const buckets = 1024

type key struct {
	stop int32
	seen bits
}

type search struct {
	in     *inst
	mem    *memory
	rest   *rest // nil: not known
	top    *best // the best plan, made better on the way
	found  func(order []int)
	left   *int // labels that may be made
	labels []label
	queue  [buckets][]int32 // by time
	width  int64
	groups [][]group
	index  map[key]int32
	ends   []int32 // by stop: the label with the most gain that can go to the end; -1 none
	mark   []int32 // by stop: for elementary
	turn   int32
	yet    [buckets][]int64 // by time, by stop: the most gain of a start from then on
}

// run says whether it came to its end.
func (s *search) run() bool {
	in := s.in
	s.width = in.h/buckets + 1
	s.groups = make([][]group, in.n)
	s.index = map[key]int32{}
	s.ends = slices.Repeat([]int32{-1}, in.n)
	s.mark = make([]int32, in.n)
	s.fill()
	s.from(label{stop: int32(in.n), parent: -1}, -1)
	for b := range s.queue {
		// A bucket grows while it is read, by hops shorter than its width.
		for x := 0; x < len(s.queue[b]); x++ {
			if *s.left < 0 {
				return false
			}
			k := s.queue[b][x]
			l := s.labels[k]
			if !l.gone && !s.beaten(&l, true) {
				s.from(l, k)
			}
		}
		s.queue[b] = nil
	}
	return true
}

// from makes the labels that follow l, which is number x.
func (s *search) from(l label, x int32) {
	in := s.in
	travel := in.travel[l.stop]
	for j := range in.n {
		tr := travel[j]
		if tr == never || j == int(l.stop) || l.seen.has(s.mem.bit[j]) {
			continue
		}
		a := l.time + tr
		if a > in.latest[j] {
			continue
		}
		if s.rest != nil {
			if r := s.rest.with[j].at(a); r < 0 || l.gain+r <= s.top.gain {
				continue
			}
		}
		next := label{parent: x, stop: int32(j), seen: l.seen.and(s.mem.near[j]).or(s.mem.bit[j])}
		for k := range in.opts[j] {
			o := &in.opts[j][k]
			t := max(a, o.open)
			end := min(o.close, in.h-o.stay-in.toEnd[j])
			if in.wait < in.h && int(l.stop) != in.n {
				end = min(end, t+in.wait)
			}
			for t <= end {
				next.time, next.gain = t+o.stay, l.gain+o.at(t)
				s.add(next)
				if in.wait < in.h {
					t++
				} else if u, ok := o.next(t); ok {
					t = u
				} else {
					break
				}
			}
		}
	}
}

func (s *search) fill() {
	in := s.in
	for b := range s.yet {
		s.yet[b] = make([]int64, in.n)
	}
	for j, os := range in.opts {
		for k := range os {
			o := &os[k]
			most, t := int64(0), o.close
			for b := o.close / s.width; b >= 0; b-- {
				if o.gain == nil {
					most = o.flat
				}
				for ; o.gain != nil && t >= max(o.open, b*s.width); t-- {
					most = max(most, o.at(t))
				}
				s.yet[b][j] = max(s.yet[b][j], most)
			}
		}
	}
}

// unseen is l's gain and all that the stops it does not remember could give from now on. No plan that follows l, or a
// label that l has beaten, visits those that it remembers.
func (s *search) unseen(l *label) int64 {
	g := l.gain
	for j, y := range s.yet[l.time/s.width] {
		if !l.seen.has(s.mem.bit[j]) {
			g += y
		}
	}
	return g
}

func (s *search) add(l label) {
	if s.rest != nil {
		if r := s.rest.after[l.stop].at(l.time); r < 0 || l.gain+r <= s.top.gain {
			return
		}
	}
	if s.unseen(&l) <= s.top.gain || s.beaten(&l, false) {
		return
	}
	*s.left--
	x := int32(len(s.labels))
	s.labels = append(s.labels, l)
	s.queue[l.time/s.width] = append(s.queue[l.time/s.width], x)
	s.keep(&l, x)
	if tr := s.in.travel[l.stop][s.in.n+1]; tr < never && l.time+tr <= s.in.h {
		if e := s.ends[l.stop]; e < 0 || s.labels[e].gain < l.gain {
			s.ends[l.stop] = x
		}
		if l.gain > s.top.gain && s.elementary(x) {
			s.found(s.way(x))
		}
	}
}

// beaten says whether another label at l's stop makes l useless; of its own group only when l is not yet in it.
func (s *search) beaten(l *label, in bool) bool {
	groups := s.groups[l.stop]
	for g := range groups {
		h := &groups[g]
		if h.top < l.gain || h.first > l.time || !h.seen.within(l.seen) || in && h.seen == l.seen {
			continue
		}
		lo, hi := 0, len(h.front)
		for lo < hi {
			if m := (lo + hi) / 2; h.front[m].time <= l.time {
				lo = m + 1
			} else {
				hi = m
			}
		}
		if lo > 0 {
			if e := &h.front[lo-1]; e.gain >= l.gain && (e.time == l.time || e.time >= s.in.rise) {
				return true
			}
		}
	}
	return false
}

// keep puts label x into its group and takes out what it beats there.
func (s *search) keep(l *label, x int32) {
	id := key{l.stop, l.seen}
	g, ok := s.index[id]
	if !ok {
		g = int32(len(s.groups[l.stop]))
		s.index[id] = g
		s.groups[l.stop] = append(s.groups[l.stop], group{seen: l.seen, first: l.time})
	}
	h := &s.groups[l.stop][g]
	h.top, h.first = max(h.top, l.gain), min(h.first, l.time)
	from, _ := slices.BinarySearchFunc(h.front, l.time, func(m mark, t int64) int { return cmp.Compare(m.time, t) })
	to := from
	for to < len(h.front) && h.front[to].gain <= l.gain && (h.front[to].time == l.time || l.time >= s.in.rise) {
		s.labels[h.front[to].label].gone = true
		to++
	}
	h.front = slices.Replace(h.front, from, to, mark{l.time, l.gain, x})
}

func (s *search) elementary(x int32) bool {
	s.turn++
	for ; x >= 0; x = s.labels[x].parent {
		j := s.labels[x].stop
		if s.mark[j] == s.turn {
			return false
		}
		s.mark[j] = s.turn
	}
	return true
}

func (s *search) way(x int32) []int {
	var w []int
	for ; x >= 0; x = s.labels[x].parent {
		w = append(w, int(s.labels[x].stop))
	}
	slices.Reverse(w)
	return w
}

// pathsMended is how many of the best ways of a search are looked at for stops to remember.
const pathsMended = 8

// mend makes what the best ways visit twice remembered between, and says whether any of it is new.
func (s *search) mend() bool {
	ends := slices.DeleteFunc(slices.Clone(s.ends), func(x int32) bool { return x < 0 || s.labels[x].gain <= s.top.gain })
	slices.SortStableFunc(ends, func(a, b int32) int { return cmp.Compare(s.labels[b].gain, s.labels[a].gain) })
	news := false
	for _, x := range ends[:min(pathsMended, len(ends))] {
		w := s.way(x)
		last := map[int]int{}
		for q, j := range w {
			if p, ok := last[j]; ok {
				for _, i := range w[p+1 : q] {
					news = s.mem.remember(j, i) || news
				}
			}
			last[j] = q
		}
	}
	return news
}

// most is what any way can give that was not given up for the best plan.
func (s *search) most() int64 {
	m := s.top.gain
	for _, x := range s.ends {
		if x >= 0 {
			m = max(m, s.labels[x].gain)
		}
	}
	return m
}

// prove returns what any plan gives at most, and makes b better on the way.
func prove(in *inst, b *best, left int) int64 {
	var most int64 // of all stops
	for _, os := range in.opts {
		var m int64
		for k := range os {
			m = max(m, os[k].flat)
			if os[k].gain != nil {
				m = max(m, slices.Max(os[k].gain))
			}
		}
		most += m
	}
	e := newEval(in)
	if s := e.set(nil); s.better(b.score) && s.gain >= in.owed {
		*b = best{score: s}
	}
	found := func(order []int) {
		if s := e.try(order, 0); s.gain > b.gain {
			*b = best{s, slices.Clone(order)}
		}
	}
	rev := in.reversed()
	mem := newMemory(in, neighbours)
	var forth, back *rest
	for b.gain < most {
		s := &search{in: rev, mem: mem, rest: forth, top: b, left: &left,
			found: func(order []int) {
				slices.Reverse(order)
				found(order)
			}}
		if !s.run() {
			break
		}
		most = min(most, s.most())
		back = restOf(in, s)
		if b.gain >= most {
			break
		}
		news := s.mend()
		s = &search{in: in, mem: mem, rest: back, top: b, left: &left, found: found}
		if !s.run() {
			break
		}
		most = min(most, s.most())
		forth = restOf(rev, s)
		if !s.mend() && !news && b.gain < most {
			break // more stops to remember than there are bits
		}
	}
	return max(most, b.gain)
}
