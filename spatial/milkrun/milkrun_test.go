package milkrun

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

// bruteForce is the most gain of all plans, -1 for none: every order, every stay, every start on the grid. What is left to
// have after a set of stops, at one of them and at a time, is worked out once; nothing is compared or bounded.
func bruteForce(p Problem) float64 {
	const eps = 1e-7
	n := len(p.Stops)
	type state struct {
		seen, at int
		time     string
	}
	known := map[state]float64{}
	grid := func(t float64) float64 {
		if p.GridS == 0 {
			return t
		}
		return p.BeginS + math.Ceil((t-p.BeginS)/p.GridS-eps)*p.GridS
	}
	var rest func(seen, at int, t float64) float64
	rest = func(seen, at int, t float64) float64 {
		id := state{seen, at, fmt.Sprintf("%.4f", t)}
		if v, ok := known[id]; ok {
			return v
		}
		best := -1.0
		if grid(t+p.TravelS[at][n+1]) <= p.EndS+eps {
			best = 0
			for _, f := range p.Force {
				if seen>>f&1 == 0 {
					best = -1
				}
			}
		}
		for j, s := range p.Stops {
			if seen>>j&1 == 1 || math.IsInf(p.TravelS[at][j], 1) {
				continue
			}
			first := grid(math.Max(grid(t+p.TravelS[at][j]), s.OpenS))
			last := first
			if p.GridS > 0 {
				last += p.MaxWaitS
				if at == n {
					last = p.EndS
				}
			}
			for start := first; start <= math.Min(last, math.Min(s.CloseS, p.EndS))+eps; start += math.Max(p.GridS, 1e9*(1-math.Min(1, p.GridS))) {
				for _, d := range s.StaysS {
					if start+d > p.EndS+eps {
						continue
					}
					if r := rest(seen|1<<j, j, start+d); r >= 0 {
						best = math.Max(best, r+s.Gain(start, d))
					}
				}
			}
		}
		known[id] = best
		return best
	}
	return rest(0, n, p.BeginS)
}

// made is a small problem of some kind.
type kind struct {
	name           string
	grid, hours    bool // times on a grid; gains by the time of day
	wait           float64
	windows, force bool
	holes          bool // no-way entries
	odd            bool // travel off the grid, in tenths
}

var kinds = []kind{
	{name: "real times"},
	{name: "real times, windows", windows: true, odd: true},
	{name: "real times, all", windows: true, odd: true, holes: true, force: true},
	{name: "grid, gains of the day, any wait", grid: true, hours: true, wait: math.Inf(1)},
	{name: "grid, any wait, all", grid: true, hours: true, wait: math.Inf(1), windows: true, odd: true, holes: true, force: true},
	{name: "grid, no wait", grid: true, hours: true},
	{name: "grid, no wait, windows", grid: true, hours: true, windows: true},
	{name: "grid, a short wait, all", grid: true, hours: true, wait: 60, windows: true, odd: true, holes: true, force: true},
	{name: "grid, a short wait, gains of no time", grid: true, wait: 60, windows: true, holes: true},
}

func (k kind) made(rng *rand.Rand, n int) Problem {
	p := Problem{BeginS: 3600, MaxWaitS: k.wait, EndS: 3600 + 30*float64(8+rng.IntN(20))}
	if k.grid {
		p.GridS = 30
	}
	length := p.EndS - p.BeginS
	for range n {
		s := Stop{CloseS: math.Inf(1)}
		if k.windows && rng.IntN(3) > 0 {
			s.OpenS = p.BeginS + rng.Float64()*length*0.8
			s.CloseS = s.OpenS + rng.Float64()*length*0.5
		}
		for d := 30 * rng.IntN(2); len(s.StaysS) < 1+rng.IntN(4); d += 30 * (1 + rng.IntN(3)) {
			s.StaysS = append(s.StaysS, float64(d))
		}
		rate := 1 + 9*rng.Float64()
		by := make([]float64, 8)
		for h := range by {
			by[h] = 1
			if k.hours {
				by[h] = rng.Float64()
			}
		}
		base := float64(rng.IntN(3))
		s.Gain = func(startS, stayS float64) float64 {
			return base + by[int(startS/120)%8]*rate*(1-math.Exp(-stayS/100))
		}
		p.Stops = append(p.Stops, s)
	}
	p.TravelS = make([][]float64, n+2)
	for i := range p.TravelS {
		p.TravelS[i] = make([]float64, n+2)
		for j := range p.TravelS[i] {
			t := 30 * float64(rng.IntN(5))
			if k.odd {
				t = math.Round(1200*rng.Float64()) / 10
			}
			if k.holes && rng.IntN(5) == 0 {
				t = math.Inf(1)
			}
			p.TravelS[i][j] = t
		}
	}
	if k.force {
		for j := range n {
			if rng.IntN(4) == 0 {
				p.Force = append(p.Force, j)
			}
		}
	}
	return p
}

func TestAgainstBruteForce(t *testing.T) {
	for x, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			none, full := 0, 0
			for seed := range 100 {
				rng := rand.New(rand.NewPCG(uint64(seed), uint64(x)))
				p := k.made(rng, 4+seed%3)
				want := bruteForce(p)
				// With and without the local search: then all is left to the labels.
				for _, rounds := range []int{0, -1} {
					plan, err := Solve(p, Options{Rounds: rounds})
					if want < 0 {
						none++
						if !errors.Is(err, ErrNone) {
							t.Fatalf("problem %d: %v, want %v", seed, err, ErrNone)
						}
						continue
					}
					if err != nil {
						t.Fatalf("problem %d: %v, want gain %g", seed, err, want)
					}
					check(t, p, plan)
					if math.Abs(plan.Gain-want) > 1e-9 {
						t.Errorf("problem %d, rounds %d: gain %.12g, every way tried gives %.12g", seed, rounds, plan.Gain, want)
					}
					full = max(full, len(plan.Visits))
				}
			}
			if full < 4 || k.force && none == 0 {
				t.Errorf("too tame: %d visits at most, %d without a plan", full, none)
			}
		})
	}
}

// The searches without help of each other, of the local search or of the best stays for an order: with all remembered
// everywhere each is exact, with nothing remembered but what must be it is a bound, and a bound from the other end takes
// nothing away that is better than the best plan.
func TestSearchesAlone(t *testing.T) {
	for x, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			for seed := range 60 {
				p := k.made(rand.New(rand.NewPCG(uint64(seed), uint64(200+x))), 4+seed%3)
				in, err := build(p)
				if err != nil {
					t.Fatal(err)
				}
				rev := in.reversed()
				exact := newMemory(in, 0)
				for i := range in.n {
					for j := range in.n {
						exact.remember(j, i)
					}
				}
				loose := newMemory(in, 0)
				run := func(in *inst, mem *memory, r *rest, floor int64) *search {
					left := math.MaxInt
					s := &search{in: in, mem: mem, rest: r, top: &best{score: score{gain: floor}}, left: &left, found: func([]int) {}}
					if !s.run() {
						t.Fatal("not at its end")
					}
					return s
				}
				want := bruteForce(p)
				floor := int64(-1)
				off := func(g int64) float64 { return in.value(g) - want }
				forth, back := run(in, exact, nil, floor), run(rev, exact, nil, floor)
				if want <= 0 {
					continue // no plan, or none but staying away
				}
				if math.Abs(off(forth.most())) > 1e-9 {
					t.Errorf("problem %d: from the start off by %g", seed, off(forth.most()))
				}
				if d := off(back.most()); d < -1e-9 || in.wait >= in.h && d > 1e-9 {
					t.Errorf("problem %d: from the end off by %g", seed, d)
				}
				most := forth.most()
				for _, mem := range []*memory{exact, loose} {
					back := run(rev, mem, nil, most-1)
					forth := run(in, mem, nil, most-1)
					if back.most() < most || forth.most() < most {
						t.Errorf("problem %d: no bound: %g, %g", seed, off(back.most()), off(forth.most()))
					}
					if m := run(in, exact, restOf(in, back), most-1).most(); m != most {
						t.Errorf("problem %d: from the start, bounded from the end, off by %g", seed, off(m))
					}
					if m := run(rev, exact, restOf(rev, forth), most-1).most(); m < most || in.wait >= in.h && m != most {
						t.Errorf("problem %d: from the end, bounded from the start, off by %g", seed, off(m))
					}
				}
			}
		})
	}
}

// When the work ends before the proof, plans keep to the rules all the same and no more is claimed than is true.
func TestBoundsHoldWhenWorkEnds(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 77))
		p := kinds[int(seed)%len(kinds)].made(rng, 13)
		p.Force = nil
		for i := range p.TravelS { // a way home there always is
			p.TravelS[i][len(p.Stops)+1] = 30
		}
		exact := solved(t, p, Options{MaxLabels: 10_000_000})
		if !exact.Proven {
			t.Fatalf("problem %d is not proven", seed)
		}
		for _, labels := range []int{1, 30, 300, 3000} {
			for _, rounds := range []int{-1, 3} {
				plan := solved(t, p, Options{MaxLabels: labels, Rounds: rounds})
				if plan.Gain > exact.Gain || plan.Bound < exact.Gain {
					t.Errorf("problem %d, %d labels: gain %g, bound %g; the most is %g", seed, labels, plan.Gain, plan.Bound, exact.Gain)
				}
			}
		}
	}
}

func TestLaws(t *testing.T) {
	for x, k := range kinds {
		if k.force {
			continue
		}
		t.Run(k.name, func(t *testing.T) {
			for seed := range 12 {
				rng := rand.New(rand.NewPCG(uint64(seed), uint64(100+x)))
				p := k.made(rng, 7)
				n := len(p.Stops)
				p.TravelS[n][n+1] = 0
				gain := solved(t, p, Options{}).Gain

				longer := p
				longer.EndS += 90
				if g := solved(t, longer, Options{}).Gain; g < gain-1e-9 {
					t.Errorf("problem %d: %g, with more time %g", seed, gain, g)
				}

				fewer := p
				fewer.Stops = p.Stops[:n-1]
				fewer.TravelS = nil
				for i, r := range p.TravelS {
					if i != n-1 {
						fewer.TravelS = append(fewer.TravelS, slices.Delete(slices.Clone(r), n-1, n))
					}
				}
				if g := solved(t, fewer, Options{}).Gain; g > gain+1e-9 {
					t.Errorf("problem %d: %g, with a stop less %g", seed, gain, g)
				}

				waiting := p
				waiting.MaxWaitS += 60
				if g := solved(t, waiting, Options{}).Gain; g < gain-1e-9 {
					t.Errorf("problem %d: %g, with longer waits %g", seed, gain, g)
				}

				// Ways, stays and hours are multiples of 30 s, so nothing is to be had in between.
				if k.grid && !k.odd && !k.windows && (k.wait > 0 || seed == 0) {
					finer := p
					finer.GridS = 0.25
					if g := solved(t, finer, Options{}).Gain; math.Abs(g-gain) > 1e-9 {
						t.Errorf("problem %d: %g, on a finer grid %g", seed, gain, g)
					}
				}

				perm := append(rng.Perm(n), n, n+1)
				other := p
				other.Stops, other.TravelS = nil, nil
				for _, a := range perm {
					if a < n {
						other.Stops = append(other.Stops, p.Stops[a])
					}
					var r []float64
					for _, b := range perm {
						r = append(r, p.TravelS[a][b])
					}
					other.TravelS = append(other.TravelS, r)
				}
				if g := solved(t, other, Options{Seed: 9}).Gain; g != gain {
					t.Errorf("problem %d: %g, with other numbers %g", seed, gain, g)
				}

				shifted := p
				shifted.BeginS += 960 // once round the hours of the gains
				shifted.EndS += 960
				shifted.Stops = slices.Clone(p.Stops)
				for i := range shifted.Stops {
					shifted.Stops[i].OpenS += 960
					shifted.Stops[i].CloseS += 960
				}
				if g := solved(t, shifted, Options{}).Gain; math.Abs(g-gain) > 1e-9 {
					t.Errorf("problem %d: %g, sixteen minutes later %g", seed, gain, g)
				}
			}
		})
	}
}

// What forced stops cost is never a gain, and forcing what is visited anyway costs nothing.
func TestForce(t *testing.T) {
	for seed := range uint64(20) {
		p := kinds[3].made(rand.New(rand.NewPCG(seed, 5)), 7)
		free := solved(t, p, Options{})
		for j := range p.Stops {
			p.Force = []int{j}
			plan, err := Solve(p, Options{})
			if errors.Is(err, ErrNone) {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			check(t, p, plan)
			visited := slices.ContainsFunc(free.Visits, func(v Visit) bool { return v.Stop == j })
			if plan.Gain > free.Gain || visited && plan.Gain != free.Gain {
				t.Errorf("problem %d: %g, with stop %d forced %g", seed, free.Gain, j, plan.Gain)
			}
		}
	}
}

func TestDeterministic(t *testing.T) {
	p := lake(18, 8, 300, 6)
	a := solved(t, p, Options{Seed: 4, MaxLabels: 20000, Rounds: 5})
	b := solved(t, p, Options{Seed: 4, MaxLabels: 20000, Rounds: 5})
	if !reflect.DeepEqual(a, b) {
		t.Errorf("%+v, then %+v", a, b)
	}
}

// The example of milkrun.go.
func TestByHand(t *testing.T) {
	d := func(x ...float64) (t [][]float64) {
		for _, a := range x {
			var r []float64
			for _, b := range x {
				r = append(r, math.Abs(a-b))
			}
			t = append(t, r)
		}
		return t
	}
	gain := func(g float64) func(float64, float64) float64 { return func(float64, float64) float64 { return g } }
	p := Problem{EndS: 6, TravelS: d(2, 3, 0, 0), Stops: []Stop{
		{CloseS: 9, StaysS: []float64{0}, Gain: gain(5)}, {CloseS: 9, StaysS: []float64{0}, Gain: gain(6)}}}
	if plan := solved(t, p, Options{}); plan.Gain != 11 || plan.BackS != 6 {
		t.Errorf("%+v", plan)
	}
	p.EndS = 5
	if plan := solved(t, p, Options{}); plan.Gain != 5 || plan.BackS != 4 {
		t.Errorf("%+v", plan)
	}

	// The example of order.go.
	stay := func(_, s float64) float64 { return map[float64]float64{5: 3, 20: 4}[s] }
	two := []Stop{{CloseS: 99, StaysS: []float64{5, 20}, Gain: stay}, {CloseS: 99, StaysS: []float64{5, 20}, Gain: stay}}
	for _, c := range []struct{ end, gain float64 }{{30, 6}, {45, 7}, {59, 7}, {60, 8}} {
		p := Problem{EndS: c.end, Stops: two, TravelS: [][]float64{{0, 10, 0, 99}, {99, 0, 0, 0}, {10, 99, 0, 0}, {0, 0, 0, 0}}}
		if plan := solved(t, p, Options{}); plan.Gain != c.gain {
			t.Errorf("within %g: %+v", c.end, plan)
		}
	}
}

// A gain that comes at 60 s, of a stop 10 s away: 50 s of waiting, or 20 s when it is open from 40 s on.
func TestWaits(t *testing.T) {
	late := Stop{CloseS: 90, StaysS: []float64{10}, Gain: func(s, _ float64) float64 {
		if s < 60 {
			return 1
		}
		return 4
	}}
	pause := Stop{CloseS: 5, StaysS: []float64{0}, Gain: func(float64, float64) float64 { return 1 }}
	dawdle := pause
	dawdle.StaysS = []float64{0, 50}
	for _, c := range []struct {
		name       string
		open, wait float64
		stops      []Stop
		gain       float64
	}{
		{"setting out later is free", 0, 0, []Stop{late}, 4},
		{"not after a visit", 0, 0, []Stop{late, pause}, 4},
		{"for both it waits 50 s", 0, 50, []Stop{late, pause}, 5},
		{"49 s are too few", 0, 49, []Stop{late, pause}, 4},
		{"the wait for the opening does not count", 40, 20, []Stop{late, pause}, 5},
		{"a longer stay is a wait", 0, 0, []Stop{late, dawdle}, 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := Problem{EndS: 100, GridS: 10, MaxWaitS: c.wait, Stops: slices.Clone(c.stops)}
			p.Stops[0].OpenS = c.open
			for range len(p.Stops) + 2 {
				p.TravelS = append(p.TravelS, slices.Repeat([]float64{10}, len(p.Stops)+2))
			}
			if len(p.Stops) == 2 {
				p.TravelS[2][1] = 0
			}
			if plan := solved(t, p, Options{}); plan.Gain != c.gain {
				t.Errorf("gain %g, want %g: %+v", plan.Gain, c.gain, plan.Visits)
			}
		})
	}
}

// Times that binary can't hold add up as they do by hand.
func TestDecimals(t *testing.T) {
	stop := Stop{CloseS: 0.1, StaysS: []float64{0.2}, Gain: func(float64, float64) float64 { return 0.1 }}
	p := Problem{EndS: 0.6, Stops: []Stop{stop}, TravelS: [][]float64{{0, 0, 0.3}, {0.1, 0, 0}, {0, 0, 0}}}
	if plan := solved(t, p, Options{}); len(plan.Visits) != 1 || math.Abs(plan.BackS-0.6) > 1e-12 {
		t.Errorf("%+v", plan)
	}
	p.EndS = 0.599
	if plan := solved(t, p, Options{}); len(plan.Visits) != 0 || plan.Gain != 0 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
}

func TestNoStops(t *testing.T) {
	p := Problem{BeginS: 5, EndS: 10, TravelS: [][]float64{{0, 4}, {4, 0}}}
	if plan := solved(t, p, Options{}); plan.BackS != 9 || plan.Gain != 0 || plan.Bound != 0 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	p.EndS = 8
	if _, err := Solve(p, Options{}); !errors.Is(err, ErrNone) {
		t.Errorf("%v, want %v", err, ErrNone)
	}
}

// Only by way of all three stops in one order is the end in reach: too far for the first look.
func TestOnlyTheSearchFindsTheWay(t *testing.T) {
	p := lake(14, 2, 300, 8)
	for i := range p.TravelS {
		for j := range p.TravelS[i] {
			p.TravelS[i][j] = math.Inf(1)
		}
	}
	for _, way := range [][2]int{{14, 3}, {3, 9}, {9, 1}, {1, 15}} {
		p.TravelS[way[0]][way[1]] = 300
	}
	if plan := solved(t, p, Options{}); len(plan.Visits) != 3 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	if _, err := Solve(p, Options{MaxLabels: 1}); !errors.Is(err, ErrNotFound) {
		t.Errorf("%v, want %v", err, ErrNotFound)
	}
	p.Force = []int{4}
	if _, err := Solve(p, Options{}); !errors.Is(err, ErrNone) {
		t.Errorf("%v, want %v", err, ErrNone)
	}
}

// Stops without way, stay or gain between them: nothing in it moves, and it ends.
func TestAllInOnePlace(t *testing.T) {
	for _, n := range []int{6, 40} {
		p := Problem{EndS: 60}
		for range n {
			p.Stops = append(p.Stops, Stop{CloseS: 60, StaysS: []float64{0}, Gain: func(float64, float64) float64 { return 1 }})
		}
		for range n + 2 {
			p.TravelS = append(p.TravelS, make([]float64, n+2))
		}
		if plan := solved(t, p, Options{}); plan.Gain != float64(n) || !plan.Proven {
			t.Errorf("%d stops: gain %g, proven %v", n, plan.Gain, plan.Proven)
		}
	}
}

func TestNonsenseIsRefused(t *testing.T) {
	good := func() Problem { return lake(3, 2, 300, 2) }
	for name, spoil := range map[string]func(p *Problem){
		"begin":         func(p *Problem) { p.BeginS = math.NaN() },
		"end":           func(p *Problem) { p.EndS = math.Inf(1) },
		"grid":          func(p *Problem) { p.GridS = -1 },
		"fine grid":     func(p *Problem) { p.GridS = 1e-6 },
		"wait":          func(p *Problem) { p.MaxWaitS = -1 },
		"rows":          func(p *Problem) { p.TravelS = p.TravelS[1:] },
		"columns":       func(p *Problem) { p.TravelS[1] = p.TravelS[1][1:] },
		"travel":        func(p *Problem) { p.TravelS[0][1] = -1 },
		"no number":     func(p *Problem) { p.TravelS[0][1] = math.NaN() },
		"window":        func(p *Problem) { p.Stops[0].OpenS = math.NaN() },
		"stay":          func(p *Problem) { p.Stops[0].StaysS = []float64{-300} },
		"falling stays": func(p *Problem) { p.Stops[0].StaysS = []float64{600, 300} },
		"stay off grid": func(p *Problem) { p.Stops[0].StaysS = []float64{310} },
		"gain":          func(p *Problem) { p.Stops[0].Gain = func(float64, float64) float64 { return -1 } },
		"no gain":       func(p *Problem) { p.Stops[0].Gain = nil },
		"forced":        func(p *Problem) { p.Force = []int{3} },
	} {
		t.Run(name, func(t *testing.T) {
			p := good()
			if _, err := Solve(p, Options{}); err != nil {
				t.Fatal(err)
			}
			spoil(&p)
			if _, err := Solve(p, Options{}); err == nil || errors.Is(err, ErrNone) || errors.Is(err, ErrNotFound) {
				t.Errorf("%v", err)
			}
		})
	}
}

// lake is a made day: stops strewn over a square, rates by the hour, stays that saturate; on a grid.
func lake(n, stays int, gridS float64, hours int) Problem {
	rng := rand.New(rand.NewPCG(uint64(n), 2))
	p := Problem{GridS: gridS, BeginS: 6 * 3600, EndS: float64(6+hours) * 3600, MaxWaitS: math.Inf(1)}
	x, y := make([]float64, n+2), make([]float64, n+2)
	for i := range n {
		x[i], y[i] = 6000*rng.Float64(), 6000*rng.Float64()
		rate := make([]float64, 24)
		for h := range rate {
			rate[h] = 0.3 + 2*rng.Float64()*rng.Float64()
		}
		tauS := 1200 + 3600*rng.Float64()
		s := Stop{OpenS: 0, CloseS: math.Inf(1)}
		for k := range stays {
			s.StaysS = append(s.StaysS, gridS*float64(2+2*k))
		}
		s.Gain = func(startS, stayS float64) float64 {
			return rate[int(startS/3600)%24] * tauS / 3600 * (1 - math.Exp(-stayS/tauS))
		}
		p.Stops = append(p.Stops, s)
	}
	for i := range n + 2 {
		var r []float64
		for j := range n + 2 {
			r = append(r, math.Hypot(x[i]-x[j], y[i]-y[j])/8)
		}
		p.TravelS = append(p.TravelS, r)
	}
	return p
}

func benchmark(b *testing.B, p Problem, o Options) {
	var plan Plan
	for b.Loop() {
		plan = solved(b, p, o)
	}
	b.ReportMetric(plan.Gain, "gain")
	b.ReportMetric(plan.Bound/plan.Gain-1, "gap")
}

func BenchmarkTwelve(b *testing.B) { benchmark(b, lake(12, 8, 300, 10), Options{}) }

func BenchmarkTwelveNoWait(b *testing.B) {
	p := lake(12, 8, 300, 10)
	p.MaxWaitS = 0
	benchmark(b, p, Options{})
}

func BenchmarkTwelveShortWait(b *testing.B) {
	p := lake(12, 8, 300, 10)
	p.MaxWaitS = 1800
	benchmark(b, p, Options{})
}

func BenchmarkForty(b *testing.B) { benchmark(b, lake(40, 8, 300, 10), Options{}) }
