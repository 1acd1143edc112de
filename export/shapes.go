package export

import (
	"github.com/paulmach/orb"
)

// SignedArea returns twice the signed area of a ring in square degrees, by the
// shoelace formula: positive when the ring runs counter-clockwise. The closing
// point may be given or not.
func SignedArea(r orb.Ring) float64 {
	sum := 0.0
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		// Relative to the first point: a ring far from 0°, 0° would lose the
		// digits that tell a small area's sign.
		sum += (a[0]-r[0][0])*(b[1]-r[0][1]) - (b[0]-r[0][0])*(a[1]-r[0][1])
	}
	return sum
}

// RoundPoint rounds a position to seven decimals.
func RoundPoint(p orb.Point) orb.Point {
	return orb.Point{round(p[0], degreesDecimals), round(p[1], degreesDecimals)}
}

// roundLine rounds a line's points and leaves out those that then repeat the one
// before. It returns nil when fewer than two are left.
func roundLine(l []orb.Point) orb.LineString {
	var out orb.LineString
	for _, p := range l {
		p = RoundPoint(p)
		if len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// wound returns a closed, rounded copy of the ring that runs counter-clockwise,
// or clockwise when asked. It returns nil for a ring without area: RFC 7946
// section 3.1.6 wants four positions at least, the last equal to the first.
func wound(r orb.Ring, clockwise bool) orb.Ring {
	open := orb.Ring(roundLine(r))
	if len(open) > 1 && open[0] == open[len(open)-1] {
		open = open[:len(open)-1]
	}
	area := SignedArea(open)
	if len(open) < 3 || area == 0 {
		return nil
	}
	if (area < 0) != clockwise {
		for i, j := 1, len(open)-1; i < j; i, j = i+1, j-1 {
			open[i], open[j] = open[j], open[i]
		}
	}
	return append(open, open[0])
}

// Polygon returns a rounded copy with the exterior ring counter-clockwise and the
// holes clockwise, as RFC 7946 wants, every ring closed. Holes that round to
// nothing are left out; it returns nil when the exterior does.
func Polygon(p orb.Polygon) orb.Polygon {
	var out orb.Polygon
	for i, ring := range p {
		r := wound(ring, i > 0)
		if i == 0 && r == nil {
			return nil
		}
		if r != nil {
			out = append(out, r)
		}
	}
	return out
}

// MultiPolygon is Polygon for each part. It returns nil when nothing is left.
func MultiPolygon(m orb.MultiPolygon) orb.MultiPolygon {
	var out orb.MultiPolygon
	for _, p := range m {
		if q := Polygon(p); q != nil {
			out = append(out, q)
		}
	}
	return out
}
