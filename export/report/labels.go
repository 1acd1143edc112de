package report

import (
	"fmt"
	"math"
)

// Placing type on a map: each label takes the first of its candidate places that
// touches no label placed before it, most important first. It is greedy, so a
// later label may find no place and then is left out (a depth) or takes its first
// (a zone's name, which must be there).

type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(c box) bool { return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1 }

func around(p xy, halfWidth, halfHeight float64) box {
	return box{p.x - halfWidth, p.y - halfHeight, p.x + halfWidth, p.y + halfHeight}
}

// boxOf returns the box around all points; an empty one turned inside out when
// there are none.
func boxOf(lines ...[]xy) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, l := range lines {
		for _, p := range l {
			b = box{math.Min(b.x0, p.x), math.Min(b.y0, p.y), math.Max(b.x1, p.x), math.Max(b.y1, p.y)}
		}
	}
	return b
}

type boxes []box

func (bs *boxes) add(b box) { *bs = append(*bs, b) }

func (bs boxes) free(b box) bool {
	for _, other := range bs {
		if b.meets(other) {
			return false
		}
	}
	return true
}

// placeLabel finds a place beside a zone for its name: around its box, starting
// up and to the right, first near and then farther out. It returns where the
// leader starts when there should be one.
func placeLabel(zone box, v view, taken *boxes) (label xy, leader *xy) {
	const halfWidth, halfHeight = 19, 14
	centre := xy{(zone.x0 + zone.x1) / 2, (zone.y0 + zone.y1) / 2}
	rx, ry := (zone.x1-zone.x0)/2, (zone.y1-zone.y0)/2
	first := xy{centre.x, centre.y - ry - halfHeight - 6}
	const near = 8
	for _, gap := range []float64{near, 22, 40, 64} {
		for _, deg := range []float64{-45, -135, 45, 135, -90, 90, 0, 180} {
			sin, cos := math.Sincos(deg * math.Pi / 180)
			p := xy{centre.x + (rx+halfWidth+gap)*cos, centre.y + (ry+halfHeight+gap)*sin}
			b := around(p, halfWidth, halfHeight)
			if !v.inside(p, halfWidth) || !taken.free(b) {
				continue
			}
			taken.add(b)
			taken.add(zone)
			if gap > near {
				leader = &xy{centre.x + rx*cos, centre.y + ry*sin}
			}
			return p, leader
		}
	}
	taken.add(around(first, halfWidth, halfHeight))
	return first, nil
}

// numbersOn finds up to two places for a depth on its contour, along the line and
// never upside down.
func numbersOn(pieces [][]xy, text string, v view, taken *boxes) []number {
	const (
		most    = 2
		spacing = 24.0 // units between the places tried
		apart   = 260.0
	)
	half := 4.2*float64(len(text)) + 4
	var out []number
	var placed []xy
	for _, piece := range pieces {
		places := every(piece, spacing)
		n := len(places)
		if float64(n)*spacing < 5*half {
			continue
		}
		for i := range n {
			if len(out) == most {
				return out
			}
			// From the middle outward by turns, so that numbers of neighbouring
			// contours come to stand in a row.
			k := (n/2 + (i+1)/2*(1-2*(i%2)) + n) % n
			p := places[k]
			if !v.inside(p.at, half+6) || !taken.free(around(p.at, half, half)) || !farFrom(placed, p.at, apart) {
				continue
			}
			// Where the line bends within the number's width it would not sit on it.
			before, after := places[max(k-1, 0)], places[min(k+1, n-1)]
			if math.Abs(math.Remainder(after.angleDeg-before.angleDeg, 360)) > 40 {
				continue
			}
			taken.add(around(p.at, half, half))
			placed = append(placed, p.at)
			upright := math.Remainder(p.angleDeg, 180)
			out = append(out, number{At: fmt.Sprintf("%s rotate(%s)", translate(p.at), num(upright)), Text: text})
		}
	}
	return out
}

type place struct {
	at       xy
	angleDeg float64
}

// every returns places along a line, step units apart, the first half a step from
// its start. Its cost is linear in points and places.
func every(line []xy, step float64) []place {
	var out []place
	next, done := step/2, 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d := math.Hypot(b.x-a.x, b.y-a.y)
		for ; d > 0 && next <= done+d; next += step {
			f := (next - done) / d
			out = append(out, place{xy{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)}, math.Atan2(b.y-a.y, b.x-a.x) * 180 / math.Pi})
		}
		done += d
	}
	return out
}

func farFrom(placed []xy, p xy, apart float64) bool {
	for _, q := range placed {
		if math.Hypot(p.x-q.x, p.y-q.y) < apart {
			return false
		}
	}
	return true
}
