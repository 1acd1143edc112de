package bottom

import (
	"cmp"
	"math"
	"slices"
	"sync"

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
	squares := 0
	for i := range legs {
		squares += int(legs[i].x1-legs[i].x0+1) * int(legs[i].y1-legs[i].y0+1)
	}
	entries := make([]entry, 0, squares)
	for i := range legs {
		l := &legs[i]
		for y := l.y0; y <= l.y1; y++ {
			for x := l.x0; x <= l.x1; x++ {
				entries = append(entries, entry{squareKey(x, y), int32(i)})
			}
		}
	}
	slices.SortFunc(entries, func(a, b entry) int {
		if a.square != b.square {
			return cmp.Compare(a.square, b.square)
		}
		return cmp.Compare(a.leg, b.leg)
	})
	var starts []int // of each square among the entries
	for i := range entries {
		if i == 0 || entries[i].square != entries[i-1].square {
			starts = append(starts, i)
		}
	}
	var signed, depths []float64
	var one sync.Mutex
	inParts(len(starts), func(from, to int) {
		var in crossed
		for k := from; k < to; k++ {
			end := len(entries)
			if k+1 < len(starts) {
				end = starts[k+1]
			}
			t.cross(&in, legs, entries[starts[k]:end])
		}
		one.Lock() // medians don't mind the order
		signed, depths = append(signed, in.signed...), append(depths, in.depths...)
		one.Unlock()
	})
	if len(signed) == 0 {
		return Crossings{}
	}
	diffs := make([]float64, len(signed))
	for i, d := range signed {
		diffs[i] = math.Abs(d)
	}
	return Crossings{N: len(diffs), MedianM: median(diffs), P95M: nth(diffs, quantileAt(0.95, len(diffs))), BiasM: median(signed), DepthM: median(depths)}
}

// An entry says that a leg touches a square.
type entry struct {
	square uint64
	leg    int32
}

func squareKey(x, y int32) uint64 { return uint64(uint32(y))<<32 | uint64(uint32(x)) }

// What is found at crossings: the later depth less the earlier, and the mean of both.
type crossed struct {
	signed, depths []float64
	ends           []ends // scratch
}

// The ends of a leg, in order.
type ends struct{ a, b r2.Vec }

// cross adds the crossings of the legs that touch one square.
func (t *Thinned) cross(to *crossed, legs []leg, in []entry) {
	to.ends = to.ends[:0]
	for _, e := range in {
		l := &legs[e.leg]
		to.ends = append(to.ends, ends{t.soundings[l.a].At, t.soundings[l.b].At})
	}
	for i := range in {
		late := &legs[in[i].leg]
		for j := range i {
			u, v, ok := meet(&to.ends[j], &to.ends[i])
			if !ok {
				continue
			}
			early := &legs[in[j].leg]
			if early.stroke == late.stroke && late.alongM-early.alongM < apartAlongM {
				continue
			}
			at := to.ends[j].between(u)
			// Legs that share two squares meet in one of them.
			if squareKey(squareOf(at)) != in[i].square {
				continue
			}
			d, e := t.depthOn(early, u), t.depthOn(late, v)
			to.signed, to.depths = append(to.signed, e-d), append(to.depths, (d+e)/2)
		}
	}
}

func squareOf(v r2.Vec) (x, y int32) {
	return int32(math.Floor(v.X / crossCellM)), int32(math.Floor(v.Y / crossCellM))
}

func (t *Thinned) legs() []leg {
	wayM := 0.0
	for _, x := range t.passes {
		if wayM += x.lengthM; x.joined {
			wayM += passJumpM // at most, from the pass before
		}
	}
	out := make([]leg, 0, min(len(t.soundings), int(wayM/legM)))
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
			a, b := &t.soundings[last], &t.soundings[i]
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
func meet(p, q *ends) (u, v float64, ok bool) {
	r, s, w := r2.Sub(p.b, p.a), r2.Sub(q.b, q.a), r2.Sub(q.a, p.a)
	det := r2.Cross(r, s)
	if det == 0 {
		return 0, 0, false
	}
	u, v = r2.Cross(w, s)/det, r2.Cross(w, r)/det
	return u, v, u >= 0 && u < 1 && v >= 0 && v < 1
}

func (e *ends) between(share float64) r2.Vec {
	return r2.Add(e.a, r2.Scale(share, r2.Sub(e.b, e.a)))
}

func (t *Thinned) depthOn(l *leg, share float64) float64 {
	a, b := t.depth(l.a), t.depth(l.b)
	return a + share*(b-a)
}
