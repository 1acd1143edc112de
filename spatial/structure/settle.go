package structure

// The sides of humps and holes
//
// From the side of a hump the ground rises one way, to its top, as from a point it does to
// the shore. So each cell that looks like a point goes up the steepest way, over cells that
// look like points, and is of the hump if it comes to one. It goes over the mean heights of
// the fine ring, which are free of the dents that noise makes. A knob on a point thus
// has its own sides, down to the saddle, and no more. Holes take their sides in the same way.
//
// By hand: heights 1 2 3 4 3 in a row, point point point hump point: all are the hump. With heights
// 1 2 3 2 4 the first three climb to the third cell and no farther: they stay points.
//
// Cost: linear, as each cell is left for good once it is settled.

// settle makes points that lead up to a hump of the hump, and dips that lead down to a
// hole of the hole; other dips become plain.
func (m *Map) settle(forms []form) {
	m.climb(forms, point, hump, point, 1)
	m.climb(forms, dip, hole, plain, -1)
}

// climb turns each cell of form from into to where the steepest way up (sign 1) or down
// (sign -1) over such cells leads to a cell of that form, and else into other.
func (m *Map) climb(forms []form, from, to, other form, sign float64) {
	height := func(i int) float64 { return -sign * (float64(m.Depth.Values[i]) + float64(m.Fine.Values[i])) }
	was := append([]form(nil), forms...)
	settled := make([]bool, len(forms))
	var way []int
	for i := range forms {
		way = way[:0]
		j := i
		for was[j] == from && !settled[j] {
			way = append(way, j)
			settled[j] = true
			next, best := -1, 0.0
			m.neighbours(j, func(k int, distM float64) {
				if !m.Fine.Known[k] || !m.Fine.Known[j] {
					return
				}
				if up := (height(k) - height(j)) / distM; up > best {
					next, best = k, up
				}
			})
			if next < 0 {
				break
			}
			j = next
		}
		// The way ends on another form, or on a cell settled before. One that ends
		// on itself is a top of its own.
		end := other
		if forms[j] == to {
			end = to
		}
		for _, k := range way {
			forms[k] = end
		}
	}
}

// neighbours calls f for each of the up to eight cells around cell i, with the distance of
// their centres.
func (m *Map) neighbours(i int, f func(k int, distM float64)) {
	x, y := i%m.Depth.W, i/m.Depth.W
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			if u, v := x+dx, y+dy; (dx != 0 || dy != 0) && u >= 0 && v >= 0 && u < m.Depth.W && v < m.Depth.H {
				d := m.Depth.CellM
				if dx != 0 && dy != 0 {
					d *= 1.4142135623730951
				}
				f(v*m.Depth.W+u, d)
			}
		}
	}
}
