package milkrun

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// # Method
//
// An orienteering problem with time windows and chosen stays. A local search (local.go) finds a good plan. A label
// search in which stops may come back (label.go) says how much any plan could give; what it forgot is then remembered
// where it mattered, and it is run again, from the start and from the end in turn, each bounded by the last run of
// the other, until no way is left that gives more than the plan. That proves the plan.
//
// By hand: start and end at 0 on a line, stops at 2 and 3 with gains 5 and 6, one unit of time for one of way, back by
// 6. Forgetting visits, 0 3 2 3 2 .. is as far as 6 allows: 3, 2, 3 at times 3, 4, 5 can't be back by 6, but 2, 3, 2 at
// 2, 3, 4 can, for 16. Remember 2 at 3, so that the way back to 2 is seen: the best left is 2, 3 at 2 and 3, back at 6,
// for 11, and no stop comes twice. So 11 is the most.
//
// # Numbers
//
// All is done in whole numbers, so sums are the same in any order and no bound can be off by rounding. Times count in
// GridS, or in microseconds when that is 0; travel is rounded up, Open up, Close and End down, with a hundred-thousandth
// of a unit of grace for decimals that binary can't hold. Gains count in a power of two that is at most 2^-48 of the sum of
// all there is, each rounded up, so Bound is above the true sum and a gain that is a whole number stays exact.
//
// # What it does badly
//
// Many stops close together with hardly a stay: what it has to remember is nearly everything, and from some dozen on
// the proof takes seconds or is not found. More than one boat, breaks, a gain that falls because of other stops: not
// known. A clock that began half a century ago leaves a quarter of a microsecond in a float64.
//
// # Sources
//
// Righini & Salani, Decremental state space relaxation strategies and initialization heuristics for solving the
// orienteering problem with time windows with dynamic programming, Computers & Operations Research 36, 2009.
// Baldacci, Mingozzi & Roberti, New route relaxation and pricing strategies for the vehicle routing problem,
// Operations Research 59, 2011, for what is remembered where. Vansteenwegen, Souffriau, Vanden Berghe & Van Oudheusden,
// Iterated local search for the team orienteering problem with time windows, Computers & Operations Research 36, 2009.

// ErrNone means that no plan keeps to the rules: not even the shortest way to the end that passes all of Force.
var ErrNone = errors.New("no way to the end in time")

// ErrNotFound means that the work allowed ended before a plan was found or shown not to be.
var ErrNotFound = errors.New("no plan found within the work allowed")

// A Stop is a place that may be visited once.
type Stop struct {
	OpenS  float64   // the stay may start from here, seconds on the clock of Begin; arriving before means waiting
	CloseS float64   // up to here, inclusive; +Inf: any time
	StaysS []float64 // that may be stayed, seconds, ascending, at least 0; multiples of GridS when that is above 0
	// Gain of a stay of stayS seconds that starts at startS: finite, at least 0. It is asked for each stay and each
	// start on the grid once, in no order to count on; with GridS 0 for one start only, since it may not matter.
	Gain func(startS, stayS float64) float64
}

// A Problem is what Solve is asked. It is not changed.
type Problem struct {
	Stops []Stop
	// TravelS is the seconds from row to column: stops 0 to n-1 in the order of Stops, then the start n and the end
	// n+1. At least 0; +Inf means no way. It need not be symmetric, nor the direct way the shortest.
	TravelS [][]float64
	BeginS  float64 // the start may be left from here, seconds on any clock
	EndS    float64 // one must be at the end by then
	// GridS above 0: gains depend on the time of day. All times are then on multiples of it after BeginS, travel rounded
	// up. 0: gains don't depend on when, times are real, and nobody waits but for a window's opening.
	GridS float64
	// MaxWaitS is the longest that one waits at a stop though it is open, for a better hour; seconds, 0 not at all,
	// +Inf as long as one likes. The start may be left at any time all the same. No use when GridS is 0.
	MaxWaitS float64
	Force    []int // stops that must be visited
}

// Options says how much work Solve may do.
type Options struct {
	Seed uint64
	// MaxLabels is how many partial plans the search for a proof may look at in all; 0: a million. Up to ExactStops stops only
	// a number below 0 is heeded: no proof is looked for.
	MaxLabels int
	// Rounds of local search; 0: 5, or 200 when there are no stays to choose, and so little to do; below 0: none, but
	// that Order is improved on.
	Rounds int
	// Order is stops to begin the local search with, each once, such as the plan of a like problem; nil: none. What of it
	// can't be done is left out.
	Order []int
}

// ExactStops is the number of stops up to which a plan is always proven.
const ExactStops = 12

const defaultLabels = 1_000_000

// A Visit is one stay.
type Visit struct {
	Stop    int     // its index
	ArriveS float64 // setting out at once; a wait from then to StartS may as well be spent before setting out
	StartS  float64
	LeaveS  float64 // StartS and the stay
	Gain    float64
}

// A Plan is the best way found.
type Plan struct {
	Visits []Visit // in order; none when none gives anything
	Gain   float64 // the sum over Visits, each rounded up as told above
	BackS  float64 // at the end
	Bound  float64 // no plan gives more; at least Gain
	Proven bool    // Bound is Gain
}

// Solve returns the plan with the greatest gain that it finds, and how much any plan could give at most.
//
// Up to [ExactStops] stops it is always the greatest. Among plans of equal gain it is not always the shortest. The same
// input gives the same plan; how the stops are numbered changes at most which of equal plans it is when Proven.
//
// It is [ErrNone] when there is no plan, [ErrNotFound] when MaxLabels ran out first; any other error tells what of the
// problem makes no sense. No stops is a plan without visits.
//
// A table of gains costs stops x stays x steps of the grid. The search is exponential in the stops at worst: 12 with 8
// stays on ten hours of 5 minutes take half a second, 40 about two (BenchmarkTwelve, BenchmarkForty); 12 of which many
// lie in one place, with stays of nothing, took six.
func Solve(p Problem, o Options) (Plan, error) {
	in, err := build(p)
	if err != nil {
		return Plan{}, err
	}
	for i, j := range o.Order {
		if j < 0 || j >= in.n || slices.Contains(o.Order[:i], j) {
			return Plan{}, fmt.Errorf("order %v of %d stops", o.Order, in.n)
		}
	}
	rounds, labels := o.Rounds, o.MaxLabels
	if rounds == 0 {
		rounds = 5
		if in.one {
			rounds = 200
		}
	}
	if labels == 0 {
		labels = defaultLabels
	}
	switch {
	case labels < 0:
		labels = 1
	case in.n <= ExactStops:
		labels = math.MaxInt
	}
	b := localSearch(in, o.Seed, rounds, o.Order)
	most := prove(in, &b, labels)
	if b.gain < in.owed {
		if most < in.owed {
			return Plan{}, ErrNone
		}
		return Plan{}, ErrNotFound
	}
	return in.plan(b.order, most), nil
}

// An inst is the problem in whole numbers.
type inst struct {
	n      int
	h      int64       // the time there is
	travel [][]int64   // never: no way
	opts   [][]opt     // by stop
	least  []int64     // the earliest opening and ...
	latest []int64     // ... the latest start of any option; below least when it can't be visited
	toEnd  []int64     // the shortest way to the end, by stop and for the start, with the shortest stays on it
	bonus  int64       // that each forced stop has on top of its gain, more than all gains
	owed   int64       // bonus of all forced stops: what less can't be a plan
	forced []bool      // by stop
	wait   int64       // the longest wait of choice
	rise   int64       // from here on no gain rises, or waiting is free: the earlier is never worse
	quant  float64     // a unit of gain
	unitS  float64     // a unit of time
	begin  float64     // seconds
	stays  [][]float64 // seconds, as given
	one    bool        // every stop has one option and no gain depends on when
}

const never = math.MaxInt64 / 4

// An opt is one stay at one stop.
type opt struct {
	stay        int64
	open, close int64   // of the start; such that it ends in time
	flat        int64   // the gain when it doesn't depend on the start
	gain        []int64 // by start from open on; nil when flat
	up          []int32 // by start from open on: the next start, from open on, that gives more; -1 none
	index       int     // in StaysS
}

func (o *opt) at(s int64) int64 {
	if o.gain == nil {
		return o.flat
	}
	return o.gain[s-o.open]
}

// next is the first start after s that gives more than s.
func (o *opt) next(s int64) (int64, bool) {
	if o.gain == nil {
		return 0, false
	}
	u := o.up[s-o.open]
	return o.open + int64(u), u >= 0
}

// climb fills up: going back from the end, what does not give more than the start at hand is no answer to any before.
func (o *opt) climb() {
	o.up = make([]int32, len(o.gain))
	for i := len(o.gain) - 1; i >= 0; i-- {
		j := int32(i + 1)
		for j >= 0 && int(j) < len(o.gain) && o.gain[j] <= o.gain[i] {
			j = o.up[j]
		}
		if int(j) == len(o.gain) {
			j = -1
		}
		o.up[i] = j
	}
}

// grace is the part of a unit of time that rounding lets pass: more than a quotient of binary numbers is off, and far
// less than anyone's clock.
const grace = 1e-5

func up(x float64) int64   { return whole(math.Ceil(x - grace)) }
func down(x float64) int64 { return whole(math.Floor(x + grace)) }

func whole(x float64) int64 {
	return int64(math.Max(-never, math.Min(never, x)))
}

// mostSteps bounds the table of gains of one stay.
const mostSteps = 1 << 20

func build(p Problem) (*inst, error) {
	n := len(p.Stops)
	in := &inst{n: n, begin: p.BeginS, unitS: 1e-6, forced: make([]bool, n), one: true}
	finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
	switch {
	case !finite(p.BeginS) || !finite(p.EndS):
		return nil, fmt.Errorf("begin %g, end %g: not finite", p.BeginS, p.EndS)
	case !finite(p.GridS) || p.GridS < 0:
		return nil, fmt.Errorf("grid of %g s", p.GridS)
	case math.IsNaN(p.MaxWaitS) || p.MaxWaitS < 0:
		return nil, fmt.Errorf("wait of %g s", p.MaxWaitS)
	case len(p.TravelS) != n+2:
		return nil, fmt.Errorf("%d rows of travel times for %d stops, start and end", len(p.TravelS), n)
	}
	if p.GridS > 0 {
		in.unitS = p.GridS
	}
	// Divided by the grid, but multiplied by a million: a millionth is no binary number, so a division would be off.
	unit := func(s float64) float64 {
		if p.GridS > 0 {
			return s / p.GridS
		}
		return s * 1e6
	}
	length := unit(p.EndS - p.BeginS)
	if length > 1<<52 || p.GridS > 0 && length > mostSteps {
		return nil, fmt.Errorf("%g s from begin to end are more than can be searched", p.EndS-p.BeginS)
	}
	in.h = down(length)
	if in.h < 0 {
		return nil, ErrNone
	}
	in.travel = make([][]int64, n+2)
	for i, row := range p.TravelS {
		if len(row) != n+2 {
			return nil, fmt.Errorf("row %d: %d travel times for %d stops, start and end", i, len(row), n)
		}
		in.travel[i] = make([]int64, n+2)
		for j, s := range row {
			if math.IsNaN(s) || s < 0 {
				return nil, fmt.Errorf("travel of %g s from %d to %d", s, i, j)
			}
			in.travel[i][j] = never
			if t := max(0, up(unit(s))); t <= in.h {
				in.travel[i][j] = t
			}
		}
	}
	for _, f := range p.Force {
		if f < 0 || f >= n {
			return nil, fmt.Errorf("forced stop %d of %d", f, n)
		}
		in.forced[f] = true
	}
	if err := in.gains(p, unit); err != nil {
		return nil, err
	}
	in.wait = down(math.Min(unit(p.MaxWaitS), float64(in.h)))
	if p.GridS == 0 || in.wait >= in.h {
		in.wait, in.rise = in.h, 0
	} else if in.rise == 0 {
		in.wait = in.h // nothing rises, so there is nothing to wait for
	}
	for i, os := range in.opts {
		if in.wait >= in.h { // else it may be a way to wait
			for k := 1; k < len(os); {
				if a, b := &os[k-1], &os[k]; a.gain == nil && b.gain == nil && a.flat >= b.flat {
					os = slices.Delete(os, k, k+1) // a longer stay for no more
				} else {
					k++
				}
			}
			in.opts[i] = os
		}
		in.one = in.one && len(os) <= 1
	}
	in.reach()
	return in, nil
}

// gains fills the options and all about gains, and rise as if waiting were not free.
func (in *inst) gains(p Problem, unit func(float64) float64) error {
	type raw struct {
		opt
		gain []float64
	}
	table := make([][]raw, in.n)
	total := 0.0
	for i, s := range p.Stops {
		if math.IsNaN(s.OpenS) || math.IsNaN(s.CloseS) {
			return fmt.Errorf("stop %d: window %g to %g s", i, s.OpenS, s.CloseS)
		}
		if s.Gain == nil {
			return fmt.Errorf("stop %d: no gain", i)
		}
		open := max(0, up(unit(s.OpenS-p.BeginS)))
		shut := min(in.h, down(unit(s.CloseS-p.BeginS)))
		most := 0.0
		for k, d := range s.StaysS {
			stay := unit(d)
			whole := math.Round(stay)
			switch {
			case math.IsNaN(d) || d < 0 || k > 0 && d <= s.StaysS[k-1]:
				return fmt.Errorf("stop %d: stay %d of %g s, want ascending from 0", i, k, d)
			case p.GridS > 0 && math.Abs(stay-whole) > grace:
				return fmt.Errorf("stop %d: stay %d of %g s is off the grid of %g s", i, k, d, p.GridS)
			case stay > float64(in.h)+1:
				continue
			}
			r := raw{opt: opt{stay: up(stay), open: open, index: k}}
			r.close = min(shut, in.h-r.stay)
			if r.open > r.close {
				continue
			}
			last := r.open
			if p.GridS > 0 {
				last = r.close
			}
			for t := r.open; t <= last; t++ {
				g := s.Gain(in.seconds(t), d)
				if math.IsNaN(g) || math.IsInf(g, 0) || g < 0 {
					return fmt.Errorf("stop %d: gain %g of %g s from %g s on", i, g, d, in.seconds(t))
				}
				most = max(most, g)
				r.gain = append(r.gain, g)
			}
			table[i] = append(table[i], r)
		}
		total += most
	}
	if math.IsInf(total, 0) {
		return errors.New("gains too great to add up")
	}
	in.quant = 1
	if total > 0 {
		_, e := math.Frexp(total)
		in.quant = math.Ldexp(1, max(e-49, -1022))
	}
	in.opts, in.stays = make([][]opt, in.n), make([][]float64, in.n)
	var all int64
	for i := range table {
		in.stays[i] = slices.Clone(p.Stops[i].StaysS)
		var most int64
		for _, r := range table[i] {
			o := r.opt
			o.gain = make([]int64, len(r.gain))
			for t, g := range r.gain {
				o.gain[t] = int64(math.Ceil(g / in.quant))
				most = max(most, o.gain[t])
				if t > 0 && o.gain[t] > o.gain[t-1] {
					in.rise = max(in.rise, o.open+int64(t))
				}
			}
			if slices.Min(o.gain) == slices.Max(o.gain) {
				o.flat, o.gain = o.gain[0], nil
			} else {
				in.one = false
			}
			in.opts[i] = append(in.opts[i], o)
		}
		all += most
	}
	in.bonus = all + 1
	for i, f := range in.forced {
		if !f {
			continue
		}
		in.owed += in.bonus
		for k := range in.opts[i] {
			o := &in.opts[i][k]
			o.flat += in.bonus
			for t := range o.gain {
				o.gain[t] += in.bonus
			}
		}
	}
	// 2^49 of gains and as much again for each forced stop.
	if in.owed > math.MaxInt64/8 {
		return fmt.Errorf("%d forced stops are too many", in.owed/in.bonus)
	}
	return nil
}

// reach fills what follows from travel and opts.
func (in *inst) reach() {
	n := in.n
	in.least, in.latest, in.toEnd = make([]int64, n), make([]int64, n), make([]int64, n+1)
	dwell := make([]int64, n)
	for i, os := range in.opts {
		in.least[i], in.latest[i], dwell[i] = never, -1, never
		for k := range os {
			o := &os[k]
			if o.gain != nil {
				o.climb()
			}
			in.least[i], in.latest[i] = min(in.least[i], o.open), max(in.latest[i], o.close)
			dwell[i] = min(dwell[i], o.stay)
		}
	}
	// Shortest ways to the end, Bellman and Ford.
	for i := range in.toEnd {
		in.toEnd[i] = in.travel[i][n+1]
	}
	for again := true; again; {
		again = false
		for i := range in.toEnd {
			for j := range n {
				if in.travel[i][j] == never || dwell[j] == never || in.toEnd[j] == never || i == j {
					continue
				}
				if d := in.travel[i][j] + dwell[j] + in.toEnd[j]; d < in.toEnd[i] {
					in.toEnd[i], again = d, true
				}
			}
		}
	}
}

// reversed is the same problem with the time running backwards from the end, waiting at will: every plan, its visits in
// the opposite order, is one of it.
func (in *inst) reversed() *inst {
	r := *in
	n := in.n
	r.wait, r.rise = in.h, 0
	flip := func(i int) int {
		switch i {
		case n:
			return n + 1
		case n + 1:
			return n
		}
		return i
	}
	r.travel = make([][]int64, n+2)
	for i := range r.travel {
		r.travel[i] = make([]int64, n+2)
		for j := range r.travel[i] {
			r.travel[i][j] = in.travel[flip(j)][flip(i)]
		}
	}
	r.opts = make([][]opt, n)
	for i := range r.opts {
		for _, o := range in.opts[i] {
			o.open, o.close = in.h-o.close-o.stay, in.h-o.open-o.stay
			if o.gain != nil {
				o.gain = slices.Clone(o.gain)
				slices.Reverse(o.gain)
			}
			r.opts[i] = append(r.opts[i], o)
		}
	}
	r.reach()
	return &r
}

func (in *inst) seconds(t int64) float64 {
	if in.unitS == 1e-6 {
		return in.begin + float64(t)/1e6
	}
	return in.begin + float64(t)*in.unitS
}

// value is a gain in the units of the problem, without what forced stops have on top.
func (in *inst) value(g int64) float64 { return float64(g-in.owed) * in.quant }

// plan is the best plan along an order, which must be one.
func (in *inst) plan(order []int, most int64) Plan {
	e := newEval(in)
	legs, gain := e.trace(order)
	p := Plan{Gain: in.value(gain), Bound: in.value(max(most, gain)), Proven: most <= gain}
	at, t := in.n, int64(0)
	for _, l := range legs {
		o := &in.opts[l.stop][l.opt]
		g := o.at(l.start)
		if in.forced[l.stop] {
			g -= in.bonus
		}
		p.Visits = append(p.Visits, Visit{Stop: l.stop, ArriveS: in.seconds(t + in.travel[at][l.stop]),
			StartS: in.seconds(l.start), LeaveS: in.seconds(l.start + o.stay), Gain: float64(g) * in.quant})
		at, t = l.stop, l.start+o.stay
	}
	p.BackS = in.seconds(t + in.travel[at][in.n+1])
	return p
}
