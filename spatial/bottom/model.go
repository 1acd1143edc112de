// Package bottom makes a depth map of soundings: it lays days on each other,
// finds readings that other passes speak against, tells from the track's own crossings
// how good a sounding is, and grids with the method that did best on passes left out.
//
//	soundings -> nodes, one a cell and pass    thin.go
//	days without a level -> shifts             align.go
//	nodes -> strays                            stray.go
//	track on track -> crossings                crossing.go
//	passes left out -> trials                  trial.go
//	nodes -> depths and how sure they are      model.go
//	what lies around a place                   near.go
//	medians                                    middle.go
//	work for several processors                share.go
package bottom

import (
	"context"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
	"leadline/spatial/surface"
)

// A Model is the bottom as the soundings show it. The zero Model knows nothing.
type Model struct {
	Depth   raster.Raster // metres below the surface; known within reach of a sounding
	U95     raster.Raster // half-width, metres, within which another pass would sound 95 times in 100; known where Depth is
	Sounded int           // cells with a sounding of their own
	Passes  int
	PassSDM float64 // standard deviation of one pass in one cell about the others
	Trials  []Trial // in the order tried; none chosen where too little could be tried
	Tested  float64 // share of the map where U95 is calibrated on passes left out as far away
}

// A method with how many points of each sector it takes; 0: all.
type method struct {
	surface.Method
	perSector int
}

// pointWithout returns what a cell's passes say together, but for one pass and
// those that it goes on from or into: the mean of their nodes. ok is false when none is
// left.
func (t *Thinned) pointWithout(cell int, skip int32) (p surface.Point, ok bool) {
	n := 0
	for _, k := range t.in(cell) {
		if k.empty() || skip >= 0 && t.sameStroke(k.pass, skip) {
			continue
		}
		p.At = r2.Add(p.At, k.at)
		p.Value += k.depthM
		n++
	}
	if n == 0 {
		return surface.Point{}, false
	}
	f := 1 / float64(n)
	p.At = r2.Scale(f, p.At)
	p.Value *= f
	p.Var = t.passVarM2 * f
	return p, true
}

// passVariance returns the variance of one pass in one cell about the others, from
// the differences of passes that share a cell; it holds the sounder's noise, the
// receiver's error on the slope, and what is left of the level. Where too few passes share
// cells, the noise along the passes stands for it.
func (t *Thinned) passVariance() float64 {
	var diffs []float64
	for c := 0; c+1 < len(t.first); c++ {
		nodes := t.in(c)
		for i := 1; i < len(nodes); i++ {
			if a, b := nodes[i-1], nodes[i]; !a.empty() && !b.empty() && !t.sameStroke(a.pass, b.pass) {
				diffs = append(diffs, a.depthM-b.depthM)
			}
		}
	}
	share := math.Sqrt2 // the deviation of a difference of two
	if len(diffs) < leastShared {
		diffs, share = t.bends(), math.Sqrt(1.5)
	}
	if len(diffs) == 0 {
		return errorFloorM * errorFloorM
	}
	sd := scaledMAD(diffs, 0, make([]float64, 0, len(diffs))) / share
	return math.Max(errorFloorM*errorFloorM, sd*sd)
}

// bends returns by how much nodes lie off the mean of the two beside them, where a
// pass runs straight east or north: on a smooth bottom that is noise, of one and a half times a
// node's variance.
func (t *Thinned) bends() []float64 {
	var out []float64
	of := func(cell int, pass int32) (node, bool) {
		for _, n := range t.in(cell) {
			if n.pass == pass && !n.empty() {
				return n, true
			}
		}
		return node{}, false
	}
	for _, n := range t.nodes {
		if n.empty() {
			continue
		}
		for _, step := range [...]int{1, t.frame.W} {
			a, ok := of(int(n.cell)-step, n.pass)
			b, ok2 := of(int(n.cell)+step, n.pass)
			if ok && ok2 {
				out = append(out, n.depthM-(a.depthM+b.depthM)/2)
			}
		}
	}
	return out
}

// slopeSD returns the standard deviation of the bottom's slope along a line, from
// neighbouring points: the mean square of their differences less what their own
// errors put in, over the distance squared. The flattest it returns is 1 in 100.
func (f *field) slopeSD() float64 {
	const flattest = 0.01
	var sum, n float64
	for y := range f.h {
		for i, k := range f.row(y) {
			if k < 0 {
				continue
			}
			place := f.first + y*f.rowLen + i
			for _, j := range [...]int{place + 2, place + 2*f.rowLen} { // two cells on: the errors weigh less
				if j >= len(f.at) || f.at[j] < 0 {
					continue
				}
				a, b := f.points[k], f.points[f.at[j]]
				d := r2.Sub(b.At, a.At)
				dz := b.Value - a.Value
				sum += (dz*dz - a.Var - b.Var) / r2.Norm2(d)
				n++
			}
		}
	}
	if n == 0 || sum/n < flattest*flattest {
		return flattest
	}
	return math.Sqrt(sum / n)
}

// Build grids what Thin gathered. reachM is how far from a sounding a depth is
// still shown, at most what Thin made room for. The only error is that of ctx when
// it ends first.
//
// Three ways are tried (see trial.go) and the best is kept: inverse distance, a
// local quadratic at the best of six settings (it looks one, two or three cells
// around, and takes the bottom to lose its slope within 10 or 40 m), and ordinary kriging.
//
// Cost: cells times points near each, in parallel; the result doesn't depend on how many processors there are.
func (t *Thinned) Build(ctx context.Context, reachM float64) (*Model, error) {
	m := &Model{Passes: len(t.passes)}
	t.passVarM2 = t.passVariance()
	m.PassSDM = math.Sqrt(t.passVarM2)
	if len(t.soundings) == 0 {
		return m, nil
	}
	f := t.field(reachM)
	m.Sounded = len(f.points)
	if len(f.points) == 0 {
		return m, nil
	}
	var methods []method
	var aside sync.WaitGroup
	aside.Go(func() { methods = t.methods(f) })
	mask := f.within()
	share := t.rungShares(f, mask)
	drawn, err := t.draw(ctx, f, len(share))
	aside.Wait()
	if err != nil {
		return nil, err
	}
	trials, chosen, rungs, err := t.trial(ctx, f, methods, drawn, share)
	if err != nil {
		return nil, err
	}
	m.Trials = trials
	if chosen < 0 {
		chosen = untested
	}
	var factor []float64
	factor, m.Tested = calibrate(rungs, share)
	if err := t.fill(ctx, m, methods[chosen], f, mask, factor); err != nil {
		return nil, err
	}
	return m, nil
}

// untested is the method where none could be tried: it follows a slope, which the
// plain mean doesn't, and goes flat where it knows no better.
const untested = 1 // the quadratic that is stiff and looks no farther than it must

func (t *Thinned) methods(f *field) []method {
	cellM := t.frame.CellM
	out := []method{{Method: surface.InverseDistance{Power: 2, SoftM: cellM / 2}}}
	slope := f.slopeSD()
	for _, softM := range [...]float64{cellM, 2 * cellM, 3 * cellM} {
		for _, bendM := range [...]float64{40, 10} {
			out = append(out, method{Method: surface.Quadratic{SoftM: softM, SlopeSD: slope, CurveSD: slope / bendM}})
		}
	}
	bins := surface.Empirical(f.points, 2*f.reachM, cellM)
	if v, ok := surface.Fit(surface.Spherical, bins, surface.Variogram{Model: surface.Spherical, Nugget: t.passVarM2, PSill: 1, RangeM: f.reachM}); ok {
		v.Nugget = math.Max(0, v.Nugget-t.passVarM2) // the points say their own error
		out = append(out, method{surface.Kriging{Model: v}, 2})
	}
	return out
}

// within returns which cells may lie within reach of a sounding, which may stand
// half a diagonal nearer than its cell's centre: the few too many are found out
// when their depth is asked for.
func (f *field) within() []bool {
	w, h := f.w, f.h
	radius := f.reachM/f.cellM + math.Sqrt2/2
	n := int(radius)
	half := make([]int, 2*n+1) // by row: cells to either side
	for i := range half {
		half[i] = int(math.Sqrt(radius*radius - float64((i-n)*(i-n))))
	}
	change := make([]int32, w*h+1)
	for y := range h {
		for x, k := range f.row(y) {
			if k < 0 {
				continue
			}
			for i, half := range half {
				if y+i-n < 0 || y+i-n >= h {
					continue
				}
				row := (y + i - n) * w
				change[row+max(0, x-half)]++
				change[row+min(w, x+half+1)]-- // of the next row when it is the last: that one begins anew
			}
		}
	}
	mask := make([]bool, w*h)
	level := int32(0)
	for c := range mask {
		level += change[c]
		mask[c] = level > 0
	}
	return mask
}

// rungShares returns the share of the grid's cells by the distance to the nearest
// point, in rungs of a cell, from a sample of cells.
func (t *Thinned) rungShares(f *field, mask []bool) []float64 {
	share := make([]float64, int(f.reachM/t.frame.CellM)+1)
	const sample = 20000
	stride := max(1, len(mask)/sample)
	if stride%t.frame.W == 0 && stride > 1 {
		stride-- // else one column would stand for all
	}
	g := t.gatherer(f)
	total := 0.0
	for c := 0; c < len(mask); c += stride {
		if !mask[c] {
			continue
		}
		if m, ok := g.nearest(t.frame.Centre(c)); ok {
			share[t.rung(m, len(share))]++
			total++
		}
	}
	for r := range share {
		if total > 0 {
			share[r] /= total
		} else {
			share[r] = 1
		}
	}
	return share
}

// fill estimates every cell, rows shared out among the processors.
func (t *Thinned) fill(ctx context.Context, m *Model, with method, f *field, mask []bool, factor []float64) error {
	m.Depth = raster.New(t.frame.Origin, t.frame.CellM, t.frame.W, t.frame.H)
	m.U95 = m.Depth.Like()
	return shareOut(ctx, t.frame.H, 1, func(next func() (from, to int)) {
		g := t.gatherer(f)
		var scratch surface.Scratch
		for y, to := next(); y < to; y, to = next() {
			for x, known := range mask[y*f.w : (y+1)*f.w] {
				if !known {
					continue
				}
				c := y*f.w + x
				v := t.frame.Centre(c)
				near, nearestM, ok := g.aroundCell(x, y, v)
				if !ok {
					continue
				}
				if with.perSector > 0 {
					near = g.spread(with.perSector)
				}
				if e, ok := with.Estimate(v, near, &scratch); ok {
					r := t.rung(nearestM, len(factor))
					m.Depth.Set(c, e.Value)
					m.U95.Set(c, factor[r]*math.Sqrt(e.Var+t.passVarM2))
				}
			}
		}
	})
}

// DepthM returns the depth at v; ok is false where it isn't known.
func (m *Model) DepthM(v r2.Vec) (depthM float64, ok bool) { return m.Depth.Value(v) }

// U95M returns how sure DepthM is at v: the half-width within which another pass
// would sound 95 times in 100.
func (m *Model) U95M(v r2.Vec) (m95 float64, ok bool) { return m.U95.Value(v) }
