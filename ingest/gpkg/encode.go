package gpkg

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// WGS84 is the srs_id of longitude and latitude in degrees.
const WGS84 = 4326

// Encode gives a shape as a GeoPackage geometry: header, envelope unless it is a
// point or empty, WKB in little endian. Coordinates are x then y, longitude then
// latitude for WGS84. A nil geometry, or a nil slice of one, gives nil, which
// Insert stores as NULL. A ring or a bound is written as a polygon.
//
// Coordinates that are no finite numbers are encoded as they are; Insert refuses
// them. It panics on a type that orb doesn't have.
func Encode(g orb.Geometry, srs int) []byte {
	if isNil(g) {
		return nil
	}
	ext := boundsOf(noExtent, g)
	_, isPoint := g.(orb.Point)
	body, err := wkb.Marshal(withoutNil(g))
	if err != nil {
		panic(fmt.Sprintf("gpkg: geometry of type %T: %v", g, err))
	}
	b := make([]byte, 0, 8+32+len(body))
	b = appendHeader(b, srs, ext, !isPoint)
	return append(b, body...)
}

// isNil tells whether g is nothing at all, not merely empty.
func isNil(g orb.Geometry) bool {
	switch g := g.(type) {
	case nil:
		return true
	case orb.MultiPoint:
		return g == nil
	case orb.LineString:
		return g == nil
	case orb.Ring:
		return g == nil
	case orb.MultiLineString:
		return g == nil
	case orb.Polygon:
		return g == nil
	case orb.MultiPolygon:
		return g == nil
	case orb.Collection:
		return g == nil
	}
	return false
}

// withoutNil drops the nil members of collections. orb v0.14.0 counts such a
// member in the collection's length and writes nothing for it, so that the bytes
// can't be read back.
func withoutNil(g orb.Geometry) orb.Geometry {
	c, ok := g.(orb.Collection)
	if !ok {
		return g
	}
	out := make(orb.Collection, 0, len(c))
	for _, m := range c {
		if !isNil(m) {
			out = append(out, withoutNil(m))
		}
	}
	return out
}

// boundsOf widens e by every coordinate of g. orb's own Bound can't be used: it
// drops a NaN, and gives an empty shape the bound of the point 0 0.
func boundsOf(e extent, g orb.Geometry) extent {
	points := func(ps []orb.Point) {
		for _, p := range ps {
			e = e.add(p[0], p[1])
		}
	}
	switch g := g.(type) {
	case orb.Point:
		e = e.add(g[0], g[1])
	case orb.MultiPoint:
		points(g)
	case orb.LineString:
		points(g)
	case orb.Ring:
		points(g)
	case orb.MultiLineString:
		for _, l := range g {
			points(l)
		}
	case orb.Polygon:
		for _, r := range g {
			points(r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			e = boundsOf(e, p)
		}
	case orb.Collection:
		for _, m := range g {
			e = boundsOf(e, m)
		}
	case orb.Bound:
		e = e.add(g.Min[0], g.Min[1]).add(g.Max[0], g.Max[1])
	}
	return e
}
