// Shapes as the formats want them: rounded, wound, and cut where they cross 180°.
//
// # Cutting
//
// RFC 7946 section 3.1.9 wants a shape that crosses the antimeridian as two that don't.
// A ring or line is first unrolled: every step goes the short way round, so that
// longitudes run on beyond 180. Sheets 360° wide, the middle one from -180 to 180, then
// cut it, and each part is moved back by whole turns. A line is cut by walking along it,
// a polygon by the overlay of simplefeatures, which knows of holes and of corners that
// lie on the edge of a sheet.
//
// By hand: the line 179,10 to -179,12 unrolls to 179,10 to 181,12, meets 180 half-way at
// 11, and comes out as 179,10 to 180,11 and -180,11 to -179,12.
//
// Cost: linear for lines and for whatever crosses nothing; n log n for a polygon cut.
//
// What it does badly: nothing that reaches round a pole, or halfway round the Earth, is
// unrolled right. The cut is straight in degrees, as RFC 7946 section 3.1.1 takes edges.

package export

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
)

const turnDeg = 360

// eastOf returns how far longitude a lies east of b in degrees, the short way round.
func eastOf(a, b float64) float64 {
	d := a - b
	if d < -180 || d > 180 {
		d = math.Remainder(d, turnDeg)
	}
	return d
}

// SignedArea returns twice the signed area of a ring in square degrees, by the
// shoelace formula: positive when the ring runs counter-clockwise. The closing
// point may be given or not. A ring across 180° is taken the short way.
func SignedArea(r orb.Ring) float64 {
	sum := 0.0
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		// Relative to the first point: a ring far from 0°, 0° would lose the
		// digits that tell a small area's sign.
		sum += eastOf(a[0], r[0][0])*(b[1]-r[0][1]) - eastOf(b[0], r[0][0])*(a[1]-r[0][1])
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

// Cut returns the shape with every longitude within ±180° and no edge across that
// meridian. A line or polygon that crosses it becomes a MultiLineString or MultiPolygon,
// the parts in the east of it (just above -180°) last; rings are wound as Polygon winds
// them and points rounded as RoundPoint does. Any other shape comes back as it is, and g
// is never written to. A polygon that is not valid comes back uncut when it can't be cut.
func Cut(g orb.Geometry) orb.Geometry {
	switch g := g.(type) {
	case orb.Point:
		if g[0] < -180 || g[0] > 180 {
			return RoundPoint(orb.Point{math.Remainder(g[0], turnDeg), g[1]})
		}
	case orb.LineString:
		if parts, cut := cutLine(g); cut {
			return oneLine(parts)
		}
	case orb.MultiLineString:
		var out orb.MultiLineString
		any := false
		for _, l := range g {
			parts, cut := cutLine(l)
			out, any = append(out, parts...), any || cut
		}
		if any {
			return oneLine(out)
		}
	case orb.Polygon:
		if parts, cut := cutPolygon(g); cut {
			return onePolygon(parts)
		}
	case orb.MultiPolygon:
		var out orb.MultiPolygon
		any := false
		for _, p := range g {
			parts, cut := cutPolygon(p)
			out, any = append(out, parts...), any || cut
		}
		if any {
			return onePolygon(out)
		}
	}
	return g
}

func oneLine(m orb.MultiLineString) orb.Geometry {
	if len(m) == 1 {
		return m[0]
	}
	return m
}

func onePolygon(m orb.MultiPolygon) orb.Geometry {
	if len(m) == 1 {
		return m[0]
	}
	return m
}

// unrolled returns a copy of the points that starts the short way round from longitude
// near and goes so from each point to the next, with its least and greatest longitude.
func unrolled(ps []orb.Point, near float64) (out []orb.Point, west, east float64) {
	west, east = math.Inf(1), math.Inf(-1)
	out = make([]orb.Point, len(ps))
	turns := 0.0
	for i, p := range ps {
		turns -= math.Round((p[0] + turnDeg*turns - near) / turnDeg)
		lon := p[0] + turnDeg*turns
		out[i] = orb.Point{lon, p[1]}
		west, east = math.Min(west, lon), math.Max(east, lon)
		near = lon
	}
	return out, west, east
}

// within tells that nothing has to be done: unrolling changed nothing, and no sheet but
// the middle one is touched. Longitudes that are no numbers are left alone too.
func within(ps, unrolled []orb.Point, west, east float64) bool {
	if math.IsNaN(east-west) || math.IsInf(east-west, 0) {
		return true
	}
	return west >= -180 && east <= 180 && slices.Equal(ps, unrolled)
}

// sheet returns the number of the sheet that a longitude lies on; 0 is the middle one.
func sheet(lon float64) int { return int(math.Floor((lon + 180) / turnDeg)) }

func cutLine(l orb.LineString) (parts orb.MultiLineString, cut bool) {
	if len(l) == 0 {
		return orb.MultiLineString{l}, false
	}
	ps, west, east := unrolled(l, l[0][0])
	if within(l, ps, west, east) {
		return orb.MultiLineString{l}, false
	}
	at := map[int]orb.MultiLineString{}
	var part orb.LineString
	end := func(k int) {
		if r := roundLine(part); r != nil {
			at[k] = append(at[k], r)
		}
		part = nil
	}
	last := 0
	for i := 1; i < len(ps); i++ {
		a, b := ps[i-1], ps[i]
		stops := []orb.Point{a}
		if j, k := sheet(a[0]), sheet(b[0]); j != k {
			// Less than half a turn meets one edge at most.
			edge := float64(turnDeg*max(j, k) - 180)
			if a[0] != edge && b[0] != edge {
				stops = append(stops, orb.Point{edge, a[1] + (b[1]-a[1])*(edge-a[0])/(b[0]-a[0])})
			}
		}
		stops = append(stops, b)
		for n := 1; n < len(stops); n++ {
			k := sheet((stops[n-1][0] + stops[n][0]) / 2)
			if len(part) > 0 && k != last {
				end(last)
			}
			back := float64(turnDeg * k)
			if len(part) == 0 {
				part = append(part, orb.Point{stops[n-1][0] - back, stops[n-1][1]})
			}
			part = append(part, orb.Point{stops[n][0] - back, stops[n][1]})
			last = k
		}
	}
	end(last)
	for _, k := range sorted(at) {
		parts = append(parts, at[k]...)
	}
	return parts, true
}

func sorted[V any](m map[int]V) []int {
	var out []int
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func cutPolygon(p orb.Polygon) (parts orb.MultiPolygon, cut bool) {
	if len(p) == 0 || len(p[0]) == 0 {
		return orb.MultiPolygon{p}, false
	}
	rings := make(orb.Polygon, len(p))
	ps, west, east := unrolled(p[0], p[0][0][0])
	rings[0] = ps
	if within(p[0], ps, west, east) {
		return orb.MultiPolygon{p}, false
	}
	for i, hole := range p[1:] {
		// A hole lies on the same sheet as the water round it.
		rings[i+1], _, _ = unrolled(hole, (west+east)/2)
	}
	from, to := sheet(west), sheet(east)
	if float64(turnDeg*to-180) == east {
		to-- // it ends on the edge
	}
	whole := flatPolygon(rings).AsGeometry()
	south, north := bounds(rings[0])
	for k := from; k <= to; k++ {
		back := float64(turnDeg * k)
		box := orb.Polygon{{{back - 180, south - 1}, {back + 180, south - 1}, {back + 180, north + 1}, {back - 180, north + 1}, {back - 180, south - 1}}}
		if from == to { // it only has to be moved
			parts = append(parts, shifted(whole, back)...)
			continue
		}
		part, err := geom.Intersection(whole, flatPolygon(box).AsGeometry())
		if err != nil {
			return orb.MultiPolygon{p}, false
		}
		parts = append(parts, shifted(part, back)...)
	}
	if len(parts) == 0 {
		return orb.MultiPolygon{p}, false
	}
	return parts, true
}

func bounds(ps []orb.Point) (south, north float64) {
	south, north = ps[0][1], ps[0][1]
	for _, p := range ps {
		south, north = math.Min(south, p[1]), math.Max(north, p[1])
	}
	return south, north
}

// flatPolygon returns p as simplefeatures has it, not validated.
func flatPolygon(p orb.Polygon) geom.Polygon {
	rings := make([]geom.LineString, len(p))
	for i, ring := range p {
		xy := make([]float64, 0, 2*len(ring))
		for _, v := range ring {
			xy = append(xy, v[0], v[1])
		}
		rings[i] = geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
	}
	return geom.NewPolygon(rings)
}

// shifted returns the polygons of g moved west, wound and rounded. Where a ring starts,
// and which part comes first, is made to follow from the shape alone.
func shifted(g geom.Geometry, west float64) orb.MultiPolygon {
	var out orb.MultiPolygon
	for _, one := range g.Dump() {
		poly, ok := one.AsPolygon()
		if !ok {
			continue
		}
		var p orb.Polygon
		for _, seq := range poly.Coordinates() {
			var r orb.Ring
			for i := range seq.Length() {
				v := seq.GetXY(i)
				r = append(r, orb.Point{v.X - west, v.Y})
			}
			p = append(p, r)
		}
		if p = Polygon(p); p == nil {
			continue
		}
		for i, r := range p {
			p[i] = fromLeast(r)
		}
		slices.SortFunc(p[1:], func(a, b orb.Ring) int { return comparePoints(a[0], b[0]) })
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b orb.Polygon) int { return comparePoints(a[0][0], b[0][0]) })
	return out
}

// fromLeast returns a closed ring that starts at its westernmost, then southernmost point.
func fromLeast(r orb.Ring) orb.Ring {
	open := r[:len(r)-1]
	least := 0
	for i, p := range open {
		if comparePoints(p, open[least]) < 0 {
			least = i
		}
	}
	out := slices.Concat(open[least:], open[:least])
	return append(out, out[0])
}

func comparePoints(a, b orb.Point) int {
	return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
}

// Bounds returns what the shapes reach in degrees, as RFC 7946 section 5.2 has it: west
// is greater than east when the narrowest box that holds all lies across 180°. Shapes
// are taken as Cut leaves them; nil ones are passed over, and ok is false when no shape is
// left. It sorts: n log n in the number of parts.
func Bounds(shapes ...orb.Geometry) (west, south, east, north float64, ok bool) {
	var reach []orb.Bound
	var add func(g orb.Geometry)
	add = func(g orb.Geometry) {
		switch g := g.(type) {
		case nil:
		case orb.MultiLineString:
			for _, l := range g {
				add(l)
			}
		case orb.MultiPolygon:
			for _, p := range g {
				add(p)
			}
		default:
			reach = append(reach, g.Bound())
		}
	}
	for _, g := range shapes {
		if g != nil {
			add(g)
		}
	}
	if len(reach) == 0 {
		return 0, 0, 0, 0, false
	}
	all := reach[0]
	for _, b := range reach {
		all = all.Union(b)
	}
	west, south, east, north = all.Min[0], all.Min[1], all.Max[0], all.Max[1]
	// The box is what the widest gap between shapes leaves; the gap across 180° is taken
	// when no other is wider.
	slices.SortFunc(reach, func(a, b orb.Bound) int { return cmp.Compare(a.Min[0], b.Min[0]) })
	widest, so := all.Min[0]+turnDeg-all.Max[0], reach[0].Max[0]
	for _, b := range reach[1:] {
		if gap := b.Min[0] - so; gap > widest {
			widest, west, east = gap, b.Min[0], so
		}
		so = math.Max(so, b.Max[0])
	}
	return west, south, east, north, true
}
