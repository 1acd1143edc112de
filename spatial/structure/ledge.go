package structure

import (
	"gonum.org/v1/gonum/spatial/r2"
)

// leastLedge is the number of cells that hang together, corners too, in a ledge: one or
// two may be a stray echo's doing.
const leastLedge = 3

// A Break is the nearest place of a ledge.
type Break struct {
	AtM     r2.Vec  // centre of the ledge's nearest cell
	Toward  r2.Vec  // from the place asked about to AtM, metres
	DistM   float64 // length of Toward
	TopM    float64 // depth where the ledge begins, its lip
	BottomM float64 // depth at its foot
	// Whether lip and foot were come to. If not, known water ends on the ledge and the
	// depth is the last one known.
	TopKnown, BottomKnown bool
}

// Break returns the ledge nearest to v, of at least three cells that hang together; of equally near
// cells the southernmost, then the westernmost. ok is false when none is within mostM metres.
//
// Lip and foot are where the steepest way up and down from that cell, from neighbour to neighbour, first
// comes to a slope below LedgeSlope. As slopes are over two cells, that is up to a cell outside the
// ledge's edge. By hand, in cells of 5 m: depths of 3 3 3 4 5 6 6 6 across a ledge give slopes of
// 0 0 .1 .2 .2 .1 0 0, and at 0.15 a lip of 3 m and a foot of 6 m.
//
// Cost: cells within mostM.
func (m *Map) Break(v r2.Vec, mostM float64) (b Break, ok bool) {
	if len(m.ledge) == 0 {
		return Break{}, false
	}
	reach := r2.Vec{X: mostM, Y: mostM}
	x0, y0, x1, y1 := m.box(r2.Sub(v, reach), r2.Add(v, reach))
	at := -1
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			i := y*m.Depth.W + x
			if !m.ledge[i] {
				continue
			}
			to := r2.Sub(m.Depth.Centre(i), v)
			if d := r2.Norm(to); d <= mostM && (at < 0 || d < b.DistM) {
				at, b = i, Break{AtM: m.Depth.Centre(i), Toward: to, DistM: d}
			}
		}
	}
	if at < 0 {
		return Break{}, false
	}
	b.TopM, b.TopKnown = m.end(at, -1)
	b.BottomM, b.BottomKnown = m.end(at, 1)
	return b, true
}

// end goes from cell i the steepest way down (sign 1) or up (sign -1) until it is
// gentle, and returns the depth there; ok is false when known water ends before.
func (m *Map) end(i int, sign float64) (depthM float64, ok bool) {
	for {
		depthM = float64(m.Depth.Values[i])
		if !m.Slope.Known[i] {
			return depthM, false
		}
		if float64(m.Slope.Values[i]) < m.Settings.LedgeSlope {
			return depthM, true
		}
		next, best := -1, 0.0
		m.neighbours(i, func(k int, distM float64) {
			if fall := sign * (float64(m.Depth.Values[k]) - depthM) / distM; m.Depth.Known[k] && fall > best {
				next, best = k, fall
			}
		})
		if next < 0 {
			return depthM, true // a top or bottom of its own
		}
		i = next
	}
}

// together returns the ledge cells of a raster w cells wide that belong to at least that many,
// each beside another or at its corner.
func together(class []Class, w, least int) []bool {
	out := make([]bool, len(class))
	seen := make([]bool, len(class))
	var group []int
	for start, c := range class {
		if c != Ledge || seen[start] {
			continue
		}
		seen[start] = true
		group = append(group[:0], start)
		for k := 0; k < len(group); k++ {
			x, y := group[k]%w, group[k]/w
			for v := max(0, y-1); v <= y+1 && v*w < len(class); v++ {
				for u := max(0, x-1); u <= min(w-1, x+1); u++ {
					if i := v*w + u; class[i] == Ledge && !seen[i] {
						seen[i] = true
						group = append(group, i)
					}
				}
			}
		}
		if len(group) >= least {
			for _, i := range group {
				out[i] = true
			}
		}
	}
	return out
}
