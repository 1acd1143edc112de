package bottom

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"
)

// Cleaning along the track sees a reading that leaps; it can't see a whole pass
// that followed a second echo or the top of a bait school. Other passes can.
//
// Steps, for each cell and pass, unless another pass in the same cell has all of its
// soundings within half a metre, which is confirmation enough:
//  1. What do the other passes say there and in the cells around, two to each side? At
//     least six of their nodes from at least two of them are needed, at most four
//     of one cell are taken.
//  2. A plane is laid through them that strays among them can't pull far: least
//     squares, reweighted six times so that a residual beyond the scale s counts
//     by its size and not its square (Huber 1964); s is 1.4826 times the median
//     residual. Its slopes have a prior of 0 ± 0.3, so that where the other passes
//     lie in one row, the slope across it stays unknown and says so in the
//     plane's own error e.
//  3. A sounding that lies farther from the plane, p deep there, than
//     0.5 m + 5 % of p + 4·sqrt(s² + e²) is a stray.
//
// Half a metre is a brush pile's worth and twenty times a sounder's step; five in a
// hundred are what the speed of sound and a cone's width make of depth; four
// deviations is a limit that one reading in ten thousand passes by chance; a bank
// of 0.3 is as steep as lake bottoms commonly are (common practice, no source).
//
// By hand: with flat water of 6.1 m all around and s at its floor of 0.05 m, what
// lies beyond 6.1 ± 1.0 m is a stray: a second echo of 12 m is, a stump of half a metre isn't.
//
// Cost: linear in nodes, a hundred others looked at for each at the most.
//
// What it does badly: two passes that disagree without a third are both kept, and
// something real that one pass alone met, more than a metre high, goes.

const (
	strayNodes   = 6 // of other passes
	strayPasses  = 2
	strayCells   = 2 // to each side
	strayOfCell  = 4 // nodes
	strayFloorM  = 0.5
	strayShare   = 0.05
	strayTimes   = 4.0
	straySlopeSD = 0.3
	strayScaleM  = 0.05 // s is no finer than a sounder's step
)

// FindStrays marks the soundings that other passes speak against, takes them out
// of the nodes and returns their indices in rising order. It judges all by the same
// nodes before any is taken out, so the order doesn't matter.
func (t *Thinned) FindStrays() []int {
	t.strays = make([]bool, len(t.soundings))
	var out []int
	hit := make([]bool, len(t.nodes))
	var one sync.Mutex
	inParts(len(t.nodes), func(from, to int) {
		found := t.straysOf(from, to, hit)
		one.Lock()
		out = append(out, found...)
		one.Unlock()
	})
	slices.Sort(out)
	for _, i := range out {
		t.strays[i] = true
	}
	var scratch []float64
	for k := range t.nodes {
		if hit[k] {
			scratch = t.summarise(&t.nodes[k], scratch)
		}
	}
	return out
}

// straysOf returns the strays of the nodes from one up to another, and says of which nodes they are.
func (t *Thinned) straysOf(from, to int, hit []bool) (out []int) {
	var others []node
	var scratch []float64
	for k := from; k < to; k++ {
		n := &t.nodes[k]
		if t.confirmed(n) {
			continue
		}
		var enough bool
		if others, enough = t.others(others, n); !enough {
			continue
		}
		var p level
		if p, scratch = lay(n.at, others, scratch); !p.ok {
			continue
		}
		limit := strayFloorM + strayShare*math.Abs(p.depthM) + strayTimes*math.Hypot(p.scaleM, p.errorM)
		for _, i := range t.order[n.from:n.to] {
			// Judged where it was taken, on the plane's slope.
			off := r2.Sub(t.soundings[i].At, n.at)
			if math.Abs(t.depth(i)-p.depthM-r2.Dot(p.slope, off)) > limit {
				out = append(out, int(i))
				hit[k] = true
			}
		}
	}
	return out
}

// confirmed reports whether another pass in n's cell agrees with all its soundings.
func (t *Thinned) confirmed(n *node) bool {
	in := t.in(int(n.cell))
	if len(in) < 2 {
		return false
	}
	least, most := math.Inf(1), math.Inf(-1)
	for _, i := range t.order[n.from:n.to] {
		d := t.depth(i)
		least, most = math.Min(least, d), math.Max(most, d)
	}
	for i := range in {
		o := &in[i]
		if !o.empty() && !t.sameStroke(o.pass, n.pass) && o.depthM-least <= strayFloorM && most-o.depthM <= strayFloorM {
			return true
		}
	}
	return false
}

// others gathers the nodes of other passes around n; enough is false for too few.
func (t *Thinned) others(into []node, n *node) (others []node, enough bool) {
	others = into[:0]
	first, passes := int32(-1), 0
	x0, y0 := int(n.cell)%t.frame.W, int(n.cell)/t.frame.W
	for y := max(0, y0-strayCells); y <= min(t.frame.H-1, y0+strayCells); y++ {
		for x := max(0, x0-strayCells); x <= min(t.frame.W-1, x0+strayCells); x++ {
			in := t.in(y*t.frame.W + x)
			// Of many, some spread over all days stand for the rest.
			stride := max(1, len(in)/strayOfCell)
			for i := 0; i < len(in); i += stride {
				o := &in[i]
				if o.empty() || t.sameStroke(o.pass, n.pass) {
					continue
				}
				if passes == 0 || passes == 1 && !t.sameStroke(o.pass, first) {
					first = o.pass
					passes++
				}
				others = append(others, *o)
			}
		}
	}
	return others, len(others) >= strayNodes && passes >= strayPasses
}

// A level is a plane laid through nodes, as it stands at one place.
type level struct {
	depthM float64
	slope  r2.Vec // metres of depth per metre
	scaleM float64
	errorM float64
	ok     bool
}

// lay lays a plane through nodes, as the steps above say. off is scratch, and is
// returned.
func lay(at r2.Vec, nodes []node, off []float64) (level, []float64) {
	off = off[:0]
	for _, n := range nodes {
		off = append(off, n.depthM)
	}
	base := median(off)
	for i, n := range nodes {
		off[i] = math.Abs(n.depthM - base)
	}
	p := level{depthM: base, scaleM: math.Max(strayScaleM, 1.4826*median(off))}
	const rounds = 6
	for range rounds {
		// Normal equations of depth = c + gx·x + gy·y about at, with the prior.
		var a00, a01, a02, a11, a12, a22, b0, b1, b2 float64
		a11 = 1 / (straySlopeSD * straySlopeSD)
		a22 = a11
		for _, n := range nodes {
			d := r2.Sub(n.at, at)
			r := math.Abs(n.depthM - p.depthM - r2.Dot(p.slope, d))
			w := 1 / (p.scaleM * p.scaleM * math.Max(1, r/p.scaleM))
			z := n.depthM - base
			a00 += w
			a01 += w * d.X
			a02 += w * d.Y
			a11 += w * d.X * d.X
			a12 += w * d.X * d.Y
			a22 += w * d.Y * d.Y
			b0 += w * z
			b1 += w * z * d.X
			b2 += w * z * d.Y
		}
		// Cofactors; the matrix is symmetric.
		c00, c01, c02 := a11*a22-a12*a12, a02*a12-a01*a22, a01*a12-a02*a11
		det := a00*c00 + a01*c01 + a02*c02
		if det <= 0 {
			return level{}, off
		}
		c11, c12, c22 := a00*a22-a02*a02, a01*a02-a00*a12, a00*a11-a01*a01
		p.depthM = base + (c00*b0+c01*b1+c02*b2)/det
		p.slope = r2.Vec{X: (c01*b0 + c11*b1 + c12*b2) / det, Y: (c02*b0 + c12*b1 + c22*b2) / det}
		p.errorM = math.Sqrt(math.Max(0, c00/det))
		off = off[:0]
		for _, n := range nodes {
			off = append(off, math.Abs(n.depthM-p.depthM-r2.Dot(p.slope, r2.Sub(n.at, at))))
		}
		p.scaleM = math.Max(strayScaleM, 1.4826*median(off))
	}
	p.ok = true
	return p, off
}

// sameStroke reports whether two passes are one, or one goes on from the other:
// those err together.
func (t *Thinned) sameStroke(a, b int32) bool {
	if a > b {
		a, b = b, a
	}
	return a == b || b == a+1 && t.passes[b].joined
}
