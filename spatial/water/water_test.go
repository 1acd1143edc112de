package water

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// lake makes a grid from rows of text, north first: '#' unknown, '~' open at 5 m/s, '-' open at 1 m/s, cells of 10 m.
func lake(rows ...string) *Grid {
	g := &Grid{cellM: 10, w: len(rows[0]), h: len(rows)}
	g.cells = make([]cell, g.w*g.h)
	for y, row := range rows {
		for x, c := range row {
			k := &g.cells[(g.h-1-y)*g.w+x]
			switch c {
			case '~':
				*k = cell{state: open, mps: 5, deep: true, depthM: 4}
			case '-':
				*k = cell{state: open, mps: 1}
			}
		}
	}
	return g
}

func at(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

func one(t *testing.T, g *Grid, a, b r2.Vec) Way {
	t.Helper()
	ways, ok := g.From(a, []r2.Vec{b})
	if !ok[0] {
		t.Fatalf("no way from %v to %v", a, b)
	}
	return ways[0]
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func TestWayByHand(t *testing.T) {
	w := one(t, lake("~~~~", "~~~~"), at(5, 5), at(35, 15))
	near(t, "length", w.LengthM, math.Hypot(30, 10), 1e-9)
	near(t, "time", w.Seconds, math.Hypot(30, 10)/5, 1e-6)
	if len(w.Line) != 2 || !w.Sounded || w.LeastM != 4 || w.UnsoundedM != 0 {
		t.Errorf("%+v", w)
	}
}

func TestWayGoesAroundSlowWaterAndLand(t *testing.T) {
	for name, c := range map[string]struct {
		rows    []string
		seconds float64
		corners int
	}{
		// Straight through is 20 m at 5 and 30 m at 1, 34 s; around is 4.14 cells' length more.
		"around a slow stretch": {[]string{"~~~~~", "~---~"}, (20 + 2*math.Hypot(10, 10)) / 5, 4},
		"through a narrow one":  {[]string{"#####", "~---~"}, 10.0/5 + 30, 2},
		"around land":           {[]string{"~~~~~", "~###~"}, 0, 4},
	} {
		g := lake(c.rows...)
		w := one(t, g, at(5, 5), at(45, 5))
		if c.seconds > 0 && w.Seconds > c.seconds+1e-6 {
			t.Errorf("%s: %v s, want %v at most", name, w.Seconds, c.seconds)
		}
		if len(w.Line) > c.corners {
			t.Errorf("%s: %v", name, w.Line)
		}
		checkWay(t, g, w)
	}
}

func TestNoWay(t *testing.T) {
	g := lake("~~#~~", "~~#~~")
	if _, ok := g.From(at(5, 5), []r2.Vec{at(15, 5), at(45, 5), at(-500, 5)}); !ok[0] || ok[1] || ok[2] {
		t.Errorf("got %v: an unknown gap is no way, nor is a place off the water", ok)
	}
	if _, ok := g.From(at(-500, 0), []r2.Vec{at(5, 5)}); ok[0] {
		t.Error("a start far from water has a way")
	}
	// Diagonal neighbours with land beside them don't touch.
	if _, ok := lake("#~", "~#").From(at(5, 5), []r2.Vec{at(15, 15)}); ok[0] {
		// within 30 m both snap to the start's side: the goal is reached from the nearest joined cell
		w := one(t, lake("#~", "~#"), at(5, 5), at(15, 15))
		if w.LengthM > 10 {
			t.Errorf("cut a corner: %+v", w)
		}
	}
	if _, ok := New(Input{CellM: 10, BesideM: 10, RunMPS: 10}).From(at(0, 0), []r2.Vec{at(1, 1)}); ok[0] {
		t.Error("a way where nobody ever went")
	}
}

// checkWay holds that no step of a way leaves open water, looked at every 10 cm.
func checkWay(t *testing.T, g *Grid, w Way) {
	t.Helper()
	length := 0.0
	for i := 1; i < len(w.Line); i++ {
		a, b := w.Line[i-1], w.Line[i]
		d := r2.Norm(r2.Sub(b, a))
		length += d
		for k, n := 0.0, math.Ceil(d/0.1); k <= n && n > 0; k++ {
			if p := r2.Add(a, r2.Scale(k/n, r2.Sub(b, a))); !g.Open(p) && !onEdge(g, p) {
				t.Fatalf("%v of %v is not open water", p, w.Line)
			}
		}
	}
	near(t, "length along the line", length, w.LengthM, 1e-6*(1+length))
}

// onEdge reports whether p lies on the side of an open cell to a rounding.
func onEdge(g *Grid, p r2.Vec) bool {
	for _, d := range []r2.Vec{{X: 1e-6}, {X: -1e-6}, {Y: 1e-6}, {Y: -1e-6}} {
		if g.Open(r2.Add(p, d)) {
			return true
		}
	}
	return false
}

// made returns a lake with islands and slow water.
func made(r *rand.Rand, n int, land float64) *Grid {
	g := &Grid{cellM: 10, w: n, h: n}
	g.cells = make([]cell, n*n)
	for i := range g.cells {
		switch x := r.Float64(); {
		case x < land:
		case x < land+0.2:
			g.cells[i] = cell{state: open, mps: 1}
		default:
			g.cells[i] = cell{state: open, mps: 5, deep: true, depthM: float32(1 + r.Float64())}
		}
	}
	return g
}

// On made lakes with islands: no leg leaves known water; where Bellman and Ford's relaxation over the same steps, written anew here, finds a
// way there is one, and the straightened way takes no longer.
func TestWaysOnMadeLakes(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	ways := 0
	for range 150 {
		g := made(r, 12, 0.3*r.Float64())
		start, goal := at(120*r.Float64(), 120*r.Float64()), at(120*r.Float64(), 120*r.Float64())
		if !g.Open(start) || !g.Open(goal) {
			continue
		}
		want := relax(g, g.index(start))[g.index(goal)]
		list, ok := g.From(start, []r2.Vec{goal})
		if math.IsInf(want, 1) {
			continue // it may be reached within 30 m all the same
		}
		if !ok[0] {
			t.Fatal("no way found where there is one")
		}
		ways++
		checkWay(t, g, list[0])
		for name, goal := range map[string]int{"everywhere": everywhere, "one goal": g.index(goal)} {
			s := g.search(g.index(start), goal)
			near(t, name, float64(s.seconds[g.index(list[0].Line[len(list[0].Line)-1])]), want, 1e-4*(1+want))
		}
		alone, found := g.To(start, goal)
		if !found {
			t.Fatal("found with others, and not alone")
		}
		checkWay(t, g, alone)
		if slack := 2 * 10 * math.Sqrt2 / 1; alone.Seconds > want+slack {
			t.Errorf("alone %v s, steps take %v", alone.Seconds, want)
		}
		// From centre to centre, what the ends lie off the centres takes longer at most.
		if slack := 2 * 10 * math.Sqrt2 / 1; list[0].Seconds > want+slack {
			t.Errorf("%v s, steps take %v", list[0].Seconds, want)
		}
	}
	if ways < 40 {
		t.Errorf("only %d ways", ways)
	}
}

// relax relaxes every edge until nothing changes.
func relax(g *Grid, start int) []float64 {
	s := make([]float64, len(g.cells))
	for i := range s {
		s[i] = math.Inf(1)
	}
	s[start] = 0
	for more := true; more; {
		more = false
		for i := range g.cells {
			x, y := i%g.w, i/g.w
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					nx, ny := x+dx, y+dy
					if nx < 0 || ny < 0 || nx >= g.w || ny >= g.h || dx == 0 && dy == 0 {
						continue
					}
					k := ny*g.w + nx
					if g.cells[k].state != open || g.cells[y*g.w+nx].state != open || g.cells[ny*g.w+x].state != open {
						continue
					}
					if t := s[i] + 10*math.Hypot(float64(dx), float64(dy))*(0.5/float64(g.cells[i].mps)+0.5/float64(g.cells[k].mps)); t < s[k]-1e-9 {
						s[k], more = t, true
					}
				}
			}
		}
	}
	return s
}

// line returns a track along a straight line.
func line(a, b r2.Vec, mps float64, powered bool) Track {
	n := int(r2.Norm(r2.Sub(b, a))/mps) + 1
	t := Track{Level: true}
	for i := range n + 1 {
		t.Samples = append(t.Samples, Sample{At: r2.Add(a, r2.Scale(float64(i)/float64(n), r2.Sub(b, a))), MPS: mps, Powered: powered})
	}
	return t
}

func TestSpeedsAreLearned(t *testing.T) {
	in := Input{CellM: 10, BesideM: 20, NeedM: 1, RunMPS: 12, Tracks: []Track{
		line(at(0, 0), at(1000, 0), 11, true), line(at(1000, 3), at(0, 3), 13, true), line(at(0, 1), at(1000, 1), 2, true), // run, and once crept
		line(at(0, 200), at(1000, 200), 2, true), line(at(1000, 203), at(0, 203), 2.4, true), // crept twice
		line(at(0, 400), at(1000, 400), 0.3, false), line(at(0, 402), at(1000, 402), 0.3, false), // drifted
	}}
	g := New(in)
	for name, c := range map[string]struct {
		y, mps, tol float64
	}{"run": {0, 12, 0.1}, "crept": {200, 2.2, 0.1}, "drifted": {400, 12, 0}} {
		got := g.cells[g.index(at(500, c.y))].mps
		near(t, name, float64(got), c.mps, c.tol+1e-6)
	}
	w := one(t, g, at(0, 200), at(1000, 200))
	near(t, "time over the no-wake stretch", w.Seconds, 1000/2.2, 15)
}

// What is open depends on the level to come.
func TestLevelToCome(t *testing.T) {
	pass := func(riseM float64, level bool) []Track {
		p := line(at(0, 0), at(300, 0), 5, true)
		p.RiseM, p.Level = riseM, level
		return []Track{p}
	}
	shoal := func(m float64) func(r2.Vec) (float64, bool) {
		return func(v r2.Vec) (float64, bool) { return m, v.X > 140 && v.X < 160 }
	}
	for name, c := range map[string]struct {
		tracks []Track
		depth  func(r2.Vec) (float64, bool)
		open   bool
	}{
		"travelled at that level":            {pass(0, true), nil, true},
		"travelled lower":                    {pass(0.3, true), nil, true},
		"travelled higher":                   {pass(-0.3, true), nil, false},
		"travelled higher and lower":         {append(pass(-0.3, true), pass(0.1, true)...), nil, true},
		"level not known":                    {pass(0, false), nil, false},
		"deep enough":                        {pass(0, true), shoal(1.2), true},
		"too shallow now, though travelled":  {pass(0, true), shoal(0.9), false},
		"deep enough, though travelled high": {pass(-0.3, true), func(r2.Vec) (float64, bool) { return 3, true }, true},
	} {
		g := New(Input{CellM: 10, BesideM: 15, NeedM: 1, RunMPS: 10, Tracks: c.tracks, Depth: c.depth})
		if _, ok := g.From(at(5, 0), []r2.Vec{at(295, 0)}); ok[0] != c.open {
			t.Errorf("%s: way %v, want %v", name, ok[0], c.open)
		}
	}
}

// A track with gaps of a few hundred metres still leaves no gap in the water.
func TestSamplesFarApart(t *testing.T) {
	g := New(Input{CellM: 10, BesideM: 15, RunMPS: 10, Tracks: []Track{{Level: true, Samples: []Sample{{At: at(0, 0)}, {At: at(400, 300)}}}}})
	near(t, "length", one(t, g, at(0, 0), at(400, 300)).LengthM, 500, 5)
}

func BenchmarkFrom(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	g := made(r, 350, 0.1)
	goals := make([]r2.Vec, 40)
	for i := range goals {
		goals[i] = at(3500*r.Float64(), 3500*r.Float64())
	}
	for b.Loop() {
		g.From(at(1750, 1750), goals)
	}
	b.ReportMetric(float64(len(g.cells)), "cells")
}

// A search with a goal looks at less than one without.
func TestSearchAims(t *testing.T) {
	g := made(rand.New(rand.NewPCG(4, 4)), 80, 0)
	for i := range g.cells {
		g.cells[i].mps = 5
	}
	reached := func(s *search) (n int) {
		for i := range g.cells {
			if s.reached(i) {
				n++
			}
		}
		return n
	}
	start, goal := g.index(at(105, 105)), g.index(at(305, 105))
	if all, few := reached(g.search(start, everywhere)), reached(g.search(start, goal)); all != 6400 || few > all/10 {
		t.Errorf("reached %d cells for one goal, %d for all", few, all)
	}
}
