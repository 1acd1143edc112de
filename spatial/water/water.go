// Package water knows where a boat can go: over water that was travelled or sounded, deep enough at the level to come, as
// fast as the same water was run before. It takes metres on a plane, and knows no fish.
package water

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Known water.
//
// A cell of a square grid is known when a boat passed within BesideM of its centre, or a depth is known there. It is open when
// the depth known there is at least NeedM; where no depth is known, but a boat went, when the level to come is no lower
// than when it went there last at the lowest level: it floated then, and will again.
//
// How fast. Passes under power, between drifts, teach a cell its speed: the median of those that ran, at half of RunMPS and
// more; where none of the nearest ran but two or more crept, the median of these, since that is how a no-wake stretch looks; else RunMPS.
//
// By hand: RunMPS 12, a cell crossed at 11, 13 and 2 m/s is run at 12; one crossed at 2.0 and 2.4 m/s is crept at
// 2.2; one where the boat only drifted is run at 12.
//
// Cost: samples times the cells within BesideM. What it does badly: a stump between two passes is not known; a buoy moved
// since is not either; water that was only drifted over is taken as free to run.
//
// Source: own rules. The speeds are what the person did, not what the law says.

// A Sample is where a boat was, in the order of time.
type Sample struct {
	At      r2.Vec
	MPS     float64
	Powered bool // under way by motor, running or creeping
}

// A Track is an unbroken run of samples on one day.
type Track struct {
	Samples []Sample
	RiseM   float64 // the level to come less that of the day, metres
	Level   bool    // both are known; else RiseM is 0 and water without a depth is not trusted
}

// Input is what is known of the water.
type Input struct {
	Tracks  []Track
	Depth   func(v r2.Vec) (depthM float64, ok bool) // at the level to come; nil: none is known
	CellM   float64                                  // side of a cell
	BesideM float64                                  // known on either side of a track
	NeedM   float64                                  // draught and margin
	RunMPS  float64                                  // the boat's usual speed when it runs
	CreepM  float64                                  // speed below which a pass under power is no run, m/s; 0: half of RunMPS
}

// A Grid is the water of an Input. It is safe for concurrent use.
type Grid struct {
	origin r2.Vec // of the south-west corner
	cellM  float64
	w, h   int
	cells  []cell
	needM  float64
}

type cell struct {
	state  state
	depthM float32 // known when sounded
	deep   bool    // depthM is known
	mps    float32
}

type state uint8

const (
	unknown state = iota
	shallow
	open
)

// mostCells keeps the grid of a track that leapt away from filling the memory.
const mostCells = 4 << 20

// New lays the grid. An Input without samples gives a grid without open water. It panics when CellM, BesideM or RunMPS is not
// positive.
func New(in Input) *Grid {
	if !(in.CellM > 0) || !(in.BesideM > 0) || !(in.RunMPS > 0) {
		panic("water: cell, width and speed must be positive")
	}
	if in.CreepM == 0 {
		in.CreepM = in.RunMPS / 2
	}
	g := &Grid{cellM: in.CellM, needM: in.NeedM}
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, t := range in.Tracks {
		for _, s := range t.Samples {
			low = r2.Vec{X: min(low.X, s.At.X), Y: min(low.Y, s.At.Y)}
			high = r2.Vec{X: max(high.X, s.At.X), Y: max(high.Y, s.At.Y)}
		}
	}
	if math.IsInf(low.X, 1) {
		return g
	}
	pad := in.BesideM + 2*in.CellM
	for {
		g.origin = r2.Vec{X: math.Floor((low.X-pad)/g.cellM) * g.cellM, Y: math.Floor((low.Y-pad)/g.cellM) * g.cellM}
		w, h := math.Ceil((high.X+pad-g.origin.X)/g.cellM), math.Ceil((high.Y+pad-g.origin.Y)/g.cellM)
		if w*h <= mostCells {
			g.w, g.h = int(w), int(h)
			break
		}
		g.cellM *= 2
	}
	g.cells = make([]cell, g.w*g.h)
	l := newLearner(g, in)
	for _, t := range in.Tracks {
		l.track(t)
	}
	l.settle()
	return g
}

// learner gathers what the tracks say of each cell.
type learner struct {
	g       *Grid
	in      Input
	riseM   []float32 // the greatest rise of those who went there with a known level; NaN: nobody
	runs    map[int][]float32
	creeps  map[int][]float32
	passing map[int]pass // of the track in hand, by cell
}

// A pass is one stay of a track in a cell.
type pass struct {
	sum  float64
	n    int
	last int // index of the last sample
}

func newLearner(g *Grid, in Input) *learner {
	l := &learner{g: g, in: in, riseM: make([]float32, len(g.cells)), runs: map[int][]float32{}, creeps: map[int][]float32{}}
	for i := range l.riseM {
		l.riseM[i] = float32(math.NaN())
	}
	return l
}

func (l *learner) track(t Track) {
	g := l.g
	l.passing = map[int]pass{}
	for i, s := range t.Samples {
		l.touch(s.At, t)
		if i > 0 { // the water between two samples was crossed, too
			a, b := t.Samples[i-1].At, s.At
			if d := r2.Norm(r2.Sub(b, a)); d > g.cellM/2 {
				for k, n := 1.0, math.Ceil(d/(g.cellM/2)); k < n; k++ {
					l.touch(r2.Add(a, r2.Scale(k/n, r2.Sub(b, a))), t)
				}
			}
		}
		at := g.index(s.At)
		p, seen := l.passing[at]
		if seen && p.last != i-1 { // it came back: the earlier pass is over
			l.passed(at, p)
			p = pass{}
		}
		if s.Powered {
			p.sum += s.MPS
			p.n++
		}
		p.last = i
		l.passing[at] = p
	}
	cells := make([]int, 0, len(l.passing))
	for at := range l.passing {
		cells = append(cells, at)
	}
	slices.Sort(cells)
	for _, at := range cells {
		l.passed(at, l.passing[at])
	}
}

// passed notes the mean speed of a pass under power.
func (l *learner) passed(at int, p pass) {
	if p.n == 0 {
		return
	}
	if mps := p.sum / float64(p.n); mps >= l.in.CreepM {
		l.runs[at] = append(l.runs[at], float32(mps))
	} else {
		l.creeps[at] = append(l.creeps[at], float32(mps))
	}
}

// touch makes the cells around a place known.
func (l *learner) touch(v r2.Vec, t Track) {
	g := l.g
	x0, y0 := g.column(v.X-l.in.BesideM), g.row(v.Y-l.in.BesideM)
	x1, y1 := g.column(v.X+l.in.BesideM), g.row(v.Y+l.in.BesideM)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			i := y*g.w + x
			if r2.Norm(r2.Sub(g.centre(i), v)) > l.in.BesideM {
				continue
			}
			if g.cells[i].state == unknown {
				g.cells[i].state = shallow // until settled
			}
			if r := float32(t.RiseM); t.Level && (l.riseM[i] != l.riseM[i] || r > l.riseM[i]) {
				l.riseM[i] = r
			}
		}
	}
}

// settle decides which cells are open, and how fast.
func (l *learner) settle() {
	g := l.g
	for i := range g.cells {
		c := &g.cells[i]
		if l.in.Depth != nil {
			if m, ok := l.in.Depth(g.centre(i)); ok {
				c.depthM, c.deep = float32(m), true
				c.state = shallow
				if m >= l.in.NeedM {
					c.state = open
				}
			}
		}
		if c.state == shallow && !c.deep && l.riseM[i] >= 0 {
			c.state = open
		}
		c.mps = max(l.speed(i), slowestMPS)
	}
}

// slowestMPS is as slow as a boat is taken to go under power: a walk with an electric motor, common practice, no
// source. It keeps a cell where somebody anchored with the motor on from costing an hour.
const slowestMPS = 0.5

// speed returns how fast a cell is run: as the nearest passes say, as far off as the water beside a track is known.
func (l *learner) speed(i int) float32 {
	var runs, creeps []float32
	for ring := 0; ring <= int(math.Ceil(l.in.BesideM/l.g.cellM)); ring++ {
		runs, creeps = l.ring(l.runs, i, ring, runs), l.ring(l.creeps, i, ring, creeps)
		if len(runs) > 0 {
			return median(runs)
		}
		if len(creeps) >= 2 && ring >= 1 { // a pass beside it that ran is looked for first
			return median(creeps)
		}
	}
	return float32(l.in.RunMPS)
}

// ring adds what was noted of the cells that lie so many cells from i.
func (l *learner) ring(of map[int][]float32, i, ring int, out []float32) []float32 {
	x, y := i%l.g.w, i/l.g.w
	for dy := -ring; dy <= ring; dy++ {
		for dx := -ring; dx <= ring; dx++ {
			if max(abs(dx), abs(dy)) != ring {
				continue
			}
			if nx, ny := x+dx, y+dy; nx >= 0 && ny >= 0 && nx < l.g.w && ny < l.g.h {
				out = append(out, of[ny*l.g.w+nx]...)
			}
		}
	}
	return out
}

func median(v []float32) float32 {
	v = slices.Clone(v)
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

func (g *Grid) column(x float64) int {
	return min(max(int(math.Floor((x-g.origin.X)/g.cellM)), 0), g.w-1)
}

func (g *Grid) row(y float64) int {
	return min(max(int(math.Floor((y-g.origin.Y)/g.cellM)), 0), g.h-1)
}

func (g *Grid) index(v r2.Vec) int { return g.row(v.Y)*g.w + g.column(v.X) }

// inside reports whether v lies on the grid.
func (g *Grid) inside(v r2.Vec) bool {
	d := r2.Sub(v, g.origin)
	return d.X >= 0 && d.Y >= 0 && d.X < float64(g.w)*g.cellM && d.Y < float64(g.h)*g.cellM
}

func (g *Grid) centre(i int) r2.Vec {
	return r2.Add(g.origin, r2.Vec{X: (float64(i%g.w) + 0.5) * g.cellM, Y: (float64(i/g.w) + 0.5) * g.cellM})
}

// Open reports whether a boat can be at v.
func (g *Grid) Open(v r2.Vec) bool {
	return len(g.cells) > 0 && g.inside(v) && g.cells[g.index(v)].state == open
}

// CellM is the side of a cell in metres: that of the Input, or a multiple for water too large for it.
func (g *Grid) CellM() float64 { return g.cellM }
