package bottom

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Where the boat's own track crosses itself the bottom was sounded twice, and the
// difference tells how good a sounding is, place, clock, level and all: the
// crossover check of survey practice (IHO S-44 asks for check lines; from memory).
//
// Steps: the soundings of each pass are joined into a line with a vertex at least
// every legM metres, which keeps a boat that holds its place from crossing
// itself a thousand times. Legs that meet, and are not neighbours along one line, are crossings;
// both depths there are interpolated along the legs.
//
// By hand: one leg from 4 to 6 m and one from 5 to 5.4 m that cross half-way give
// 5 and 5.2 m: a difference of 0.2 m.
//
// Cost: n log n in legs, and the legs that share a square of 20 m squared.
//
// What it does badly: it is blind to what errs the same way on every pass.

// Crossings sums up the differences at crossings. The differences are without sign
// unless said.
type Crossings struct {
	N       int
	MedianM float64 // 0 when N is 0, as are the rest
	P95M    float64 // 95 % of the differences are no greater
	BiasM   float64 // median with sign, the later sounding less the earlier
	DepthM  float64 // median depth of the crossings
}

const (
	legM        = 5.0
	crossCellM  = 20.0
	apartAlongM = 100.0 // nearer than this along one line, a crossing is a wobble or a turn
)

// A leg is a straight piece between two soundings of one pass.
type leg struct {
	a, b           int32 // soundings, in order
	alongM         float64
	stroke         int32 // unbroken line it belongs to
	x0, y0, x1, y1 int32 // squares it touches
}

// Crossings finds them among the soundings that are no strays.
func (t *Thinned) Crossings() Crossings {
	legs := t.legs()
	type entry struct {
		square uint64
		leg    int32
	}
	key := func(x, y int32) uint64 { return uint64(uint32(y))<<32 | uint64(uint32(x)) }
	var entries []entry
	for i, l := range legs {
		for y := l.y0; y <= l.y1; y++ {
			for x := l.x0; x <= l.x1; x++ {
				entries = append(entries, entry{key(x, y), int32(i)})
			}
		}
	}
	slices.SortStableFunc(entries, func(a, b entry) int {
		switch {
		case a.square < b.square:
			return -1
		case a.square > b.square:
			return 1
		}
		return 0
	})
	var diffs, signed, depths []float64
	for from := 0; from < len(entries); {
		to := from
		for to < len(entries) && entries[to].square == entries[from].square {
			to++
		}
		for i := from; i < to; i++ {
			for j := from; j < i; j++ {
				early, late := &legs[entries[j].leg], &legs[entries[i].leg]
				if early.stroke == late.stroke && late.alongM-early.alongM < apartAlongM {
					continue
				}
				u, v, ok := t.meet(early, late)
				if !ok {
					continue
				}
				at := t.between(early, u)
				// Legs that share two squares meet in one of them.
				if key(squareOf(at)) != entries[from].square {
					continue
				}
				d, e := t.depthOn(early, u), t.depthOn(late, v)
				signed, diffs, depths = append(signed, e-d), append(diffs, math.Abs(e-d)), append(depths, (d+e)/2)
			}
		}
		from = to
	}
	if len(diffs) == 0 {
		return Crossings{}
	}
	slices.Sort(diffs)
	return Crossings{N: len(diffs), MedianM: median(diffs), P95M: quantile(0.95, diffs), BiasM: median(signed), DepthM: median(depths)}
}

func squareOf(v r2.Vec) (x, y int32) {
	return int32(math.Floor(v.X / crossCellM)), int32(math.Floor(v.Y / crossCellM))
}

func (t *Thinned) legs() []leg {
	var out []leg
	stroke, alongM, last := int32(-1), 0.0, int32(-1)
	for _, x := range t.passes {
		if !x.joined {
			stroke++
			last = -1
		}
		for i := x.from; i < x.to; i++ {
			if t.strays != nil && t.strays[i] {
				continue
			}
			if last < 0 {
				last = i
				continue
			}
			a, b := t.soundings[last], t.soundings[i]
			m := r2.Norm(r2.Sub(b.At, a.At))
			if m < legM {
				continue
			}
			if m > passJumpM || math.Abs(b.S-a.S) > passGapS && m > legM*2 {
				last = i // nothing was sounded between
				stroke++
				continue
			}
			alongM += m
			l := leg{a: last, b: i, alongM: alongM, stroke: stroke}
			l.x0, l.y0 = squareOf(r2.Vec{X: math.Min(a.At.X, b.At.X), Y: math.Min(a.At.Y, b.At.Y)})
			l.x1, l.y1 = squareOf(r2.Vec{X: math.Max(a.At.X, b.At.X), Y: math.Max(a.At.Y, b.At.Y)})
			out = append(out, l)
			last = i
		}
	}
	return out
}

// meet returns how far along each leg two of them cross.
func (t *Thinned) meet(p, q *leg) (u, v float64, ok bool) {
	a, b := t.soundings[p.a].At, t.soundings[p.b].At
	c, d := t.soundings[q.a].At, t.soundings[q.b].At
	r, s, w := r2.Sub(b, a), r2.Sub(d, c), r2.Sub(c, a)
	det := r2.Cross(r, s)
	if det == 0 {
		return 0, 0, false
	}
	u, v = r2.Cross(w, s)/det, r2.Cross(w, r)/det
	return u, v, u >= 0 && u < 1 && v >= 0 && v < 1
}

func (t *Thinned) between(l *leg, share float64) r2.Vec {
	a, b := t.soundings[l.a].At, t.soundings[l.b].At
	return r2.Add(a, r2.Scale(share, r2.Sub(b, a)))
}

func (t *Thinned) depthOn(l *leg, share float64) float64 {
	a, b := t.depth(l.a), t.depth(l.b)
	return a + share*(b-a)
}
