package kmlfile

// Outlines made small enough for a phone without moving them out of their GPS error.
//
// # Method
//
//  1. Each line or ring is laid on a plane in metres and thinned by the method of Douglas
//     and Peucker (1973), here by orb: a point goes when it stands off by no more than
//     errorM from the line that is kept.
//  2. A ring is taken counter-clockwise from its least point and parted at the point
//     farthest from that, so that the one border of two depth bands is thinned alike in
//     both, and no gap opens between them.
//  3. Positions are rounded to six decimals, 0.11 m.
//  4. The polygon is held against the rules of the OGC by simplefeatures. Where it breaks
//     one, since two parts of it now cross, it is thinned again by half as much, twice;
//     then it is kept as it was.
//
// By hand: of 0,0 10,1 20,0 in metres the middle stands off by 1 and goes; of 0,0 10,2 20,0
// it stays.
//
// Cost: n log n as a rule; n² where the farthest point is always the next one.
//
// What it does badly: lines are thinned each by itself, so that two contours less than 3 m
// apart may cross.

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"github.com/peterstace/simplefeatures/geom"

	"leadline/export"
	"leadline/ingest/plane"
)

// errorM is what a position is uncertain by, in metres: a receiver without corrections is
// good to 3 to 5 m as a rule (common practice, no source), and half of the better figure
// is lost in it. A greater one saves more and rounds small points off.
const errorM = 1.5

// zoneErrorM is that of a zone's outline, in metres. A zone may be 20 m across, and 1.5 m
// off its corners made it 2 % smaller on a made season: enough to make a reader doubt the
// area, where few points are to be saved.
const zoneErrorM = 0.3

// drawn returns a shape thinned within offM metres, cut at 180° and rounded to six decimals; a
// shape of a kind that isn't drawn gives nil. It doesn't write into g.
func drawn(g orb.Geometry, offM float64) orb.Geometry {
	switch g := export.Cut(g).(type) {
	case orb.Point:
		return sixDecimals(g)
	case orb.LineString:
		return thinLine(g, offM)
	case orb.MultiLineString:
		out := make(orb.MultiLineString, len(g))
		for i, l := range g {
			out[i] = thinLine(l, offM)
		}
		return out
	case orb.Polygon:
		return thinPolygons(orb.MultiPolygon{g}, offM)[0]
	case orb.MultiPolygon:
		return thinPolygons(g, offM)
	}
	return nil
}

func sixDecimals(p orb.Point) orb.Point {
	round := func(v float64) float64 {
		if r := math.Round(v*1e6) / 1e6; r != 0 {
			return r
		}
		return 0 // not -0
	}
	return orb.Point{round(p[0]), round(p[1])}
}

// thinLine thins a line; one that ends where it starts like a ring, so that a contour goes
// the way of the bands it parts. A line never comes out with fewer than two points.
func thinLine(l orb.LineString, offM float64) orb.LineString {
	if len(l) > 3 && l[0] == l[len(l)-1] {
		if r := thinRing(orb.Ring(l), offM); r != nil {
			return orb.LineString(r)
		}
	}
	if out := rounded(thin(plane.New(l[0]), l, offM)); len(out) > 1 {
		return out
	}
	if out := rounded(l); len(out) > 1 {
		return out
	}
	return l
}

// thinPolygons thins all parts alike, so that none comes to lie over another.
func thinPolygons(m orb.MultiPolygon, mostM float64) orb.MultiPolygon {
	for _, offM := range []float64{mostM, mostM / 2, mostM / 4, 0} {
		out := make(orb.MultiPolygon, len(m))
		for i, p := range m {
			out[i] = make(orb.Polygon, len(p))
			for j, r := range p {
				out[i][j] = r
				for _, m := range []float64{offM, 0} {
					if thinned := thinRing(r, m); thinned != nil && valid(orb.Polygon{thinned}) {
						out[i][j] = thinned
						break
					}
				}
			}
		}
		if valid(out...) {
			return out
		}
	}
	return m
}

// thinRing returns a ring thinned, rounded and closed, running the way it ran; nil when
// fewer than four positions are left of it.
func thinRing(r orb.Ring, offM float64) orb.Ring {
	clockwise := export.SignedArea(r) < 0
	open := slices.Clone(r[:len(r)-1])
	if clockwise {
		slices.Reverse(open)
	}
	first := 0
	for i, p := range open {
		if comparePoints(p, open[first]) < 0 {
			first = i
		}
	}
	open = slices.Concat(open[first:], open[:first])
	frame := plane.New(open[0])
	far, farM := 0, 0.0
	for i, p := range open {
		if m := frame.DistanceM(open[0], p); m > farM {
			far, farM = i, m
		}
	}
	if far == 0 {
		return nil
	}
	out := thin(frame, orb.LineString(open[:far+1]), offM)
	back := thin(frame, append(orb.LineString(open[far:]), open[0]), offM)
	ring := orb.Ring(rounded(append(out, back[1:]...)))
	if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
		return nil
	}
	if clockwise {
		slices.Reverse(ring)
	}
	return ring
}

// thin returns the points of a line that are kept. orb's simplifier takes its positions
// as they come, here in metres, and writes into what it is given.
func thin(f plane.Frame, l orb.LineString, offM float64) orb.LineString {
	metres := make(orb.LineString, len(l))
	at := make(map[orb.Point]orb.Point, len(l))
	for i, p := range l {
		v := f.Metres(p)
		metres[i] = orb.Point{v.X, v.Y}
		at[metres[i]] = p
	}
	kept := simplify.DouglasPeucker(offM).LineString(metres)
	out := make(orb.LineString, len(kept))
	for i, p := range kept {
		out[i] = at[p]
	}
	return out
}

// rounded rounds to six decimals and leaves out what then repeats the point before.
func rounded(l orb.LineString) orb.LineString {
	var out orb.LineString
	for _, p := range l {
		if p = sixDecimals(p); len(out) == 0 || out[len(out)-1] != p {
			out = append(out, p)
		}
	}
	return out
}

// valid tells whether polygons keep the rules of OGC Simple Feature Access (06-103r4
// section 6.1.11, from memory): rings closed and simple, holes inside, no part over another.
// They are held against them in whole units of the seventh decimal, where a corner that
// lies on another edge does so exactly; in degrees it could fall to either side.
func valid(m ...orb.Polygon) bool {
	if len(m) == 0 || len(m[0]) == 0 || len(m[0][0]) == 0 {
		return false
	}
	origin := m[0][0][0]
	polygons := make([]geom.Polygon, len(m))
	for i, p := range m {
		rings := make([]geom.LineString, len(p))
		for j, r := range p {
			xy := make([]float64, 0, 2*len(r))
			for _, v := range r {
				xy = append(xy, math.Round((v[0]-origin[0])*1e7), math.Round((v[1]-origin[1])*1e7))
			}
			rings[j] = geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
		}
		polygons[i] = geom.NewPolygon(rings)
	}
	return geom.NewMultiPolygon(polygons).Validate() == nil
}

func comparePoints(a, b orb.Point) int {
	return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
}
