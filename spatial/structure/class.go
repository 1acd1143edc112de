package structure

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Class is the word an angler has for a place. The zero Class is Unknown.
type Class uint8

const (
	Unknown Class = iota
	Hump          // stands above the bottom on all sides
	Point         // a nose that runs out from shallower water
	Ledge         // a break, where the bottom falls steeply
	Channel       // an old bed, with higher ground to either side
	Flat
	Hole  // lies below the bottom on all sides
	Slope // a plain bank, and none of the others
	classes
)

var words = [classes]string{"", "hump", "point", "ledge", "channel", "flat", "hole", "slope"}

// String returns the word; empty for Unknown.
func (c Class) String() string {
	if c >= classes {
		return ""
	}
	return words[c]
}

// steeper is how much steeper than the bottom around a ledge is. In a bank that falls evenly
// nothing is; in the middle of a steep band between flats all is whose band fills less
// than two thirds of the ring. A higher figure would lose ledges in banks.
const steeper = 1.5

// classify sets the class of each cell. What has a form is called by it, however steep:
// the side of a hump is the hump. Then, in this order:
//
//	ledge    at least LedgeSlope, and 1.5 times the mean slope of the broad ring, or of
//	         the fine one where too little of the broad one is known
//	flat     at most FlatSlope, also where it ends at a drop and so stands out
//	slope    all else
//
// Unknown are cells without a slope, without a fine index, gentle ones that stand out as
// nobody can say what, and steep ones of whose neighbourhood too little is known.
func (m *Map) classify(forms []form, fine, broad ring) {
	m.Class = make([]Class, len(forms))
	slopes := newSums(m.Slope, 1)
	named := [...]Class{hump: Hump, point: Point, channel: Channel, hole: Hole, doubt: Unknown}
	rows(m.Depth.H, func(y int) {
		for x := range m.Depth.W {
			i := y*m.Depth.W + x
			if !m.Slope.Known[i] || !m.Fine.Known[i] {
				continue
			}
			slope := float64(m.Slope.Values[i])
			switch c := named[forms[i]]; {
			case c != Unknown:
				m.Class[i] = c
			case slope >= m.Settings.LedgeSlope:
				// Less the cell's own slope, as all means of sums are.
				less, ok := slopes.mean(broad.whole, i, slopes.inner(broad, x, y))
				if !ok {
					less, ok = slopes.mean(fine.whole, i, slopes.inner(fine, x, y))
				}
				switch {
				case ok && slope >= steeper*math.Max(0, slope+less):
					m.Class[i] = Ledge
				case ok:
					m.Class[i] = Slope
				}
			case slope > m.Settings.FlatSlope:
				m.Class[i] = Slope
			case forms[i] != doubt:
				m.Class[i] = Flat
			}
		}
	})
}

// A Share is how much of a place is of one class.
type Share struct {
	Class Class
	Cells int
	Share float64 // of the cells that have a class, 0 to 1
}

// Shares returns the share of each class among the cells that have one and for whose
// centre inside is true, the largest first and equal ones in the order of the classes; classes that
// don't occur are left out. Looked at are only cells whose centre lies in the box from
// low to high. known is the number of cells the shares are of, all counts those without a class
// too. No cells give no shares.
func (m *Map) Shares(low, high r2.Vec, inside func(centre r2.Vec) bool) (shares []Share, known, all int) {
	if len(m.Class) == 0 {
		return nil, 0, 0
	}
	var count [classes]int
	x0, y0, x1, y1 := m.box(low, high)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			i := y*m.Depth.W + x
			if v := m.Depth.Centre(i); v.X >= low.X && v.X <= high.X && v.Y >= low.Y && v.Y <= high.Y && inside(v) {
				count[m.Class[i]]++
				all++
			}
		}
	}
	known = all - count[Unknown]
	for c := Unknown + 1; c < classes; c++ {
		if count[c] > 0 {
			shares = append(shares, Share{c, count[c], float64(count[c]) / float64(known)})
		}
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Cells, a.Cells) })
	return shares, known, all
}

// box returns the columns and rows from low to high that the raster has.
func (m *Map) box(low, high r2.Vec) (x0, y0, x1, y1 int) {
	d := m.Depth
	at := func(v, origin float64, n int) int {
		return int(math.Max(-1, math.Min(float64(n), math.Floor((v-origin)/d.CellM+0.5))))
	}
	return max(0, at(low.X, d.Origin.X, d.W)), max(0, at(low.Y, d.Origin.Y, d.H)),
		min(d.W-1, at(high.X, d.Origin.X, d.W)), min(d.H-1, at(high.Y, d.Origin.Y, d.H))
}
