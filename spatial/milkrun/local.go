package milkrun

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// # Method
//
// From no stop at all, or the order of Options, the best insertion is made, then the best exchange of a visited stop for another, then the first
// turning of a stretch or moving of up to three stops elsewhere that gives more or is back earlier, until none helps.
// Each order is scored with its best stays (order.go). Then, a number of times: a stretch of the order is cut out, half
// of it barred from the first repair, and the same again; the result is kept when it is not worse. After some
// rounds without a better plan it goes on from the best.
//
// # Cost
//
// Per round some dozens of times stops x places x length of the order; with one stay per stop all places are tried, else
// the few with the least detour.
//
// # What it does badly
//
// Far apart groups of stops of which only one can be had: it moves stretches, not the whole plan.

// A best is the best order so far; gain below what is owed means none.
type best struct {
	score
	order []int
}

const (
	// Places tried for each stop when an order costs more than a sum to score.
	placesTried = 4
	// How far along a long order stretches are turned and stops are moved, when an order costs more than a sum to score.
	nearby = 6
	// Rounds without a better plan before going on from the best.
	patience = 25
)

type local struct {
	in    *inst
	e     *eval
	cur   best
	on    []bool // visited
	bar   []bool // not to be inserted
	trial []int
	moved []int
	place []int
}

func localSearch(in *inst, seed uint64, rounds int, order []int) best {
	l := &local{in: in, e: newEval(in), on: make([]bool, in.n), bar: make([]bool, in.n)}
	l.e.cut = true
	if !in.one {
		l.e.back = newEval(in.reversed())
		l.e.back.cut = true
	}
	l.cur.score = l.e.set(nil)
	if l.cur.gain < 0 {
		l.anyWay()
	}
	for _, j := range order { // as far as it can be done
		l.trial = append(append(l.trial[:0], l.cur.order...), j)
		if s := l.e.try(l.trial, 0); s.gain >= 0 {
			l.take(s)
		}
	}
	if rounds < 0 && len(order) == 0 || l.cur.gain < 0 {
		return l.result()
	}
	l.improve()
	top := best{l.cur.score, slices.Clone(l.cur.order)}
	rng := rand.New(rand.NewPCG(seed, 0x6d696c6b))
	idle := 0
	for range rounds {
		m := len(l.cur.order)
		if m == 0 {
			break
		}
		back := best{l.cur.score, slices.Clone(l.cur.order)}
		size := 1 + rng.IntN(max(1, (m+1)/2))
		from := rng.IntN(m - size + 1)
		for _, j := range l.cur.order[from : from+size] {
			l.bar[j] = rng.IntN(2) == 0
		}
		l.trial = append(append(l.trial[:0], l.cur.order[:from]...), l.cur.order[from+size:]...)
		if s := l.e.try(l.trial, 0); s.gain >= 0 {
			l.take(s)
			l.improve()
		}
		clear(l.bar)
		l.improve()
		switch {
		case l.cur.better(top.score):
			top, idle = best{l.cur.score, slices.Clone(l.cur.order)}, 0
			continue
		case l.cur.gain < back.gain:
			l.restore(back)
		}
		if idle++; idle%patience == 0 {
			l.restore(top)
		}
	}
	l.restore(top)
	return l.result()
}

func (l *local) result() best {
	if l.cur.gain < l.in.owed {
		return best{score: score{gain: l.in.owed - 1, back: never}}
	}
	return l.cur
}

// anyWay finds a first order when there is no direct way from start to end: one stop, or two.
func (l *local) anyWay() {
	top := best{score: hopeless}
	for i := range l.in.n {
		if s := l.e.try([]int{i}, 0); s.better(top.score) {
			top = best{s, []int{i}}
		}
	}
	for i := range l.in.n {
		for j := range l.in.n {
			if top.gain >= 0 {
				break
			}
			if s := l.e.try([]int{i, j}, 0); i != j && s.gain >= 0 {
				top = best{s, []int{i, j}}
			}
		}
	}
	l.restore(top)
}

// take makes trial the order.
func (l *local) take(s score) {
	l.restore(best{s, l.trial})
}

func (l *local) restore(b best) {
	l.cur.score = b.score
	l.cur.order = append(l.cur.order[:0], b.order...)
	l.e.set(l.cur.order)
	clear(l.on)
	for _, j := range b.order {
		l.on[j] = true
	}
}

func (l *local) improve() {
	for l.insert() || l.exchange() || l.reorder() {
	}
}

func (l *local) candidate(u int) bool {
	return !l.on[u] && !l.bar[u] && l.in.latest[u] >= 0
}

// places returns where into order it is worth putting u: all, or those with the least detour.
func (l *local) places(order []int, u int) []int {
	l.place = l.place[:0]
	for p := range len(order) + 1 {
		l.place = append(l.place, p)
	}
	if l.in.one || len(l.place) <= placesTried {
		return l.place
	}
	detour := func(p int) int64 {
		a, b := l.in.n, l.in.n+1
		if p > 0 {
			a = order[p-1]
		}
		if p < len(order) {
			b = order[p]
		}
		return l.in.travel[a][u] + l.in.travel[u][b] - l.in.travel[a][b]
	}
	slices.SortStableFunc(l.place, func(p, q int) int { return cmp.Compare(detour(p), detour(q)) })
	return l.place[:placesTried]
}

func (l *local) insert() bool {
	top, where, which := l.cur.score, -1, -1
	for u := range l.in.n {
		if !l.candidate(u) || l.in.one && l.cur.gain+l.in.opts[u][0].flat < top.gain {
			continue
		}
		for _, p := range l.places(l.cur.order, u) {
			l.trial = slices.Insert(append(l.trial[:0], l.cur.order...), p, u)
			if s := l.e.try(l.trial, top.gain); s.better(top) {
				top, where, which = s, p, u
			}
		}
	}
	if where < 0 {
		return false
	}
	l.trial = slices.Insert(append(l.trial[:0], l.cur.order...), where, which)
	l.take(top)
	return true
}

func (l *local) exchange() bool {
	top := l.cur.score
	var found []int
	for p := range l.cur.order {
		l.moved = slices.Delete(append(l.moved[:0], l.cur.order...), p, p+1)
		for u := range l.in.n {
			if !l.candidate(u) || l.in.one && l.cur.gain-l.in.opts[l.cur.order[p]][0].flat+l.in.opts[u][0].flat < top.gain {
				continue
			}
			for _, q := range l.places(l.moved, u) {
				if !l.in.one && q != p {
					continue
				}
				l.trial = slices.Insert(append(l.trial[:0], l.moved...), q, u)
				if s := l.e.try(l.trial, top.gain); s.better(top) {
					top, found = s, append(found[:0], l.trial...)
				}
			}
		}
	}
	if top == l.cur.score {
		return false
	}
	l.trial = append(l.trial[:0], found...)
	l.take(top)
	return true
}

func (l *local) reorder() bool {
	m := len(l.cur.order)
	far := m
	if !l.in.one && m > ExactStops {
		far = nearby
	}
	for i := range m {
		for j := i + 2; j <= min(m, i+far); j++ {
			l.trial = append(l.trial[:0], l.cur.order...)
			slices.Reverse(l.trial[i:j])
			if s := l.e.try(l.trial, l.cur.gain); s.better(l.cur.score) {
				l.take(s)
				return true
			}
		}
	}
	for size := 1; size <= 3; size++ {
		for i := 0; i+size <= m; i++ {
			l.moved = slices.Delete(append(l.moved[:0], l.cur.order...), i, i+size)
			for q := max(0, i-far); q <= min(len(l.moved), i+far); q++ {
				if q == i {
					continue
				}
				l.trial = slices.Insert(append(l.trial[:0], l.moved...), q, l.cur.order[i:i+size]...)
				if s := l.e.try(l.trial, l.cur.gain); s.better(l.cur.score) {
					l.take(s)
					return true
				}
			}
		}
	}
	return false
}
