package zone

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/paulmach/orb/simplify"
	"github.com/peterstace/simplefeatures/geom"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/isoline"
	"leadline/spatial/raster"
)

// # Method
//
// A zone is the water within a cast of its network: the shortest set of straight lines
// that joins the places of its events. So the zone follows the events around a
// bend, and is one piece.
//
//  1. The network is the minimum spanning tree of the places (Prim, Shortest
//     connection networks and some generalizations, 1957).
//  2. A raster holds a cast less the distance to the network, outside the zone too,
//     where that is below 0. Its cells are an eighth of a cast.
//  3. Cells on land aren't known, but for those within a quarter of a cast of an event:
//     the boat was there.
//  4. Package isoline draws the area from level 0 up. The piece with the most events is
//     the zone. If an event lies in another, cells within a quarter of a cast of the
//     network become known, and it is drawn anew: narrow bridges over land.
//  5. Corners that stand out by less than a two-hundredth of a cast are left out.
//
// By hand: two events 40 m apart and casts of 20 m. The network is the line between them,
// the cells are 2.5 m. The zone is a square of 40 m with half a disc at either end:
// 1600 + 400π = 2857 m².
//
// # Cost
//
// Half the square of the number of places, to join them, and the cells within a cast of
// the network. 10 places take about 2 ms, 1,000 strewn over about a square kilometre 0.2 s
// (BenchmarkOutline). water is asked about each cell within a cast of the network: 200 for one event.
//
// # What it does badly
//
// The bank is that of whole cells, and up to one cell out in the water; land narrower than a
// cell is overlooked. A bridge is drawn over all land the network crosses, even where
// one bridge less would do. Places on a regular grid can be joined in many ways
// equally short, and one of them is taken. Events in a ring whose gaps are wider than two casts
// leave it open at the widest. A very wide zone is drawn on larger cells (see maxCells), and where
// these are larger than half a cast, wider than it is.

const (
	// castCells is how many cells a cast has. A disc of one cast is then within 1 % of
	// πr² (TestOutlineAreas).
	castCells = 8
	// maxCells bounds the raster: 4 million cells are 52 MB, and at casts of 20 m a
	// square of 5 km.
	maxCells = 4e6
	// minCells is how many cells a cast, and what is kept on land, have at least in a zone so
	// wide that its cells are larger: less, and the four cell centres around an event (up
	// to 1.42 cells away) might not be known.
	minCells = 2
	// simplifyShare of a cast is how far corners may stand out and be left out: it takes away
	// at most 0.7 % of a disc, and leaves a disc of 36 to 44 corners.
	simplifyShare = 1. / 200
)

// Outline returns the outline of the zone of the events at these places, in
// metres of the same plane: the water within castM of the lines that join them.
// The exterior runs counter-clockwise and holes clockwise; each ring is closed. All
// places lie inside. It is one valid polygon, the same whatever the order of the places, which
// aren't changed; a place may be there twice.
//
// water tells whether there is water at a place, and is asked about once per cell in no
// particular order; nil is water everywhere. No places give nil. It panics when
// castM is not above 0, or a place is not finite.
func Outline(at []r2.Vec, castM float64, water func(r2.Vec) bool) orb.Polygon {
	if len(at) == 0 {
		return nil
	}
	if !(castM > 0) || math.IsInf(castM, 1) {
		panic("zone: a cast must be above 0 and finite")
	}
	c := newCanvas(at, castM)
	for _, s := range c.network {
		c.stamp(s)
	}
	c.trim(water)
	best, inside := mostEvents(c.draw(), at)
	if inside < len(at) {
		c.bridge()
		best, _ = mostEvents(c.draw(), at)
	}
	return simplified(best, castM*simplifyShare)
}

// A segment is a line of the network from a to b, which may be the same place.
type segment struct{ a, b r2.Vec }

// network returns the minimum spanning tree of the places: from the first one on,
// always the shortest line to one not yet joined. Of equal ones it takes the first.
// A single place gives a segment of no length.
func network(places []r2.Vec) []segment {
	if len(places) == 1 {
		return []segment{{places[0], places[0]}}
	}
	var tree []segment
	left := slices.Clone(places[1:])
	from := make([]r2.Vec, len(left)) // the nearest place joined
	dist2 := make([]float64, len(left))
	for i := range left {
		dist2[i] = math.Inf(1)
	}
	for last := places[0]; len(left) > 0; {
		next := 0
		for i, v := range left {
			if d := r2.Norm2(r2.Sub(v, last)); d < dist2[i] {
				dist2[i], from[i] = d, last
			}
			if dist2[i] < dist2[next] {
				next = i
			}
		}
		last = left[next]
		tree = append(tree, segment{from[next], last})
		left, from, dist2 = slices.Delete(left, next, next+1), slices.Delete(from, next, next+1), slices.Delete(dist2, next, next+1)
	}
	return tree
}

// A canvas is the raster an outline is drawn on.
type canvas struct {
	raster.Raster
	places  []r2.Vec // each once
	network []segment
	castM   float64
	keepM   float64   // how far from an event or a bridge a cell on land is known
	reachM  float64   // how far from the network distances are needed
	dist2   []float64 // of each cell centre from the network, squared; +Inf beyond reachM
}

// newCanvas returns cells around the middle of the places, so that turning the
// places by a right angle turns the cells with them.
func newCanvas(at []r2.Vec, castM float64) *canvas {
	c := &canvas{places: slices.Clone(at)}
	slices.SortFunc(c.places, func(a, b r2.Vec) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y))
	})
	c.places = slices.Compact(c.places)
	c.network = network(c.places)

	low, high := at[0], at[0]
	for _, v := range at {
		if d := v.X - v.X + v.Y - v.Y; d != 0 { // infinite less infinite is NaN
			panic("zone: a place must be finite")
		}
		low = r2.Vec{X: min(low.X, v.X), Y: min(low.Y, v.Y)}
		high = r2.Vec{X: max(high.X, v.X), Y: max(high.Y, v.Y)}
	}
	for cellM := castM / castCells; ; cellM *= 1.1 {
		c.castM = max(castM, minCells*cellM)
		// Of a disc of cells, only the squares between four of them are drawn.
		c.keepM = max(castM/4+cellM/math.Sqrt2, minCells*cellM)
		// The cubic rule of package isoline looks two cells beyond the level line, in both
		// directions: 2.83.
		c.reachM = c.castM + 3*cellM
		w := 2*math.Ceil(((high.X-low.X)/2+c.reachM)/cellM) + 1
		h := 2*math.Ceil(((high.Y-low.Y)/2+c.reachM)/cellM) + 1
		if w*h > maxCells {
			continue
		}
		origin := r2.Vec{X: low.X + (high.X-low.X)/2 - cellM*(w-1)/2, Y: low.Y + (high.Y-low.Y)/2 - cellM*(h-1)/2}
		c.Raster = raster.New(origin, cellM, int(w), int(h))
		break
	}
	c.dist2 = make([]float64, len(c.Values))
	for i := range c.dist2 {
		c.dist2[i] = math.Inf(1)
	}
	return c
}

// stamp lowers the distances of the cells within reach of a segment.
func (c *canvas) stamp(s segment) {
	along := r2.Sub(s.b, s.a)
	length2 := r2.Norm2(along)
	c.around(s, c.reachM, func(i int) {
		v := r2.Sub(c.Centre(i), s.a)
		if length2 > 0 {
			v = r2.Sub(v, r2.Scale(min(max(r2.Dot(v, along)/length2, 0), 1), along))
		}
		c.dist2[i] = min(c.dist2[i], r2.Norm2(v))
	})
}

// around visits all cells whose centres are within radiusM of a segment, and some
// others near it.
func (c *canvas) around(s segment, radiusM float64, visit func(i int)) {
	south, north := s.a, s.b
	if south.Y > north.Y {
		south, north = north, south
	}
	first, last := c.cells(south.Y-radiusM, north.Y+radiusM, c.Origin.Y, c.H)
	for y := first; y <= last; y++ {
		// The part of the segment within radiusM of the row, north and south.
		rowY := c.Origin.Y + float64(y)*c.CellM
		from, to := south.X, north.X
		if rise := north.Y - south.Y; rise > 0 {
			lean := (north.X - south.X) / rise
			from += lean * min(max(rowY-radiusM-south.Y, 0), rise)
			to -= lean * min(max(north.Y-rowY-radiusM, 0), rise)
		}
		left, right := c.cells(min(from, to)-radiusM, max(from, to)+radiusM, c.Origin.X, c.W)
		for x := left; x <= right; x++ {
			visit(y*c.W + x)
		}
	}
}

// cells returns the first and last of count rows or columns that reach from low to high.
func (c *canvas) cells(low, high, origin float64, count int) (first, last int) {
	return max(int(math.Floor((low-origin)/c.CellM)), 0), min(int(math.Ceil((high-origin)/c.CellM)), count-1)
}

// trim sets the cells' values, and makes known what is water or near an event. Cells
// that no square of the zone touches aren't asked about and are known.
func (c *canvas) trim(water func(r2.Vec) bool) {
	zoneM := c.castM + 1.5*c.CellM // a square is 1.42 cells across
	for i, d2 := range c.dist2 {
		c.Values[i] = float32(c.castM - min(math.Sqrt(d2), c.reachM))
		c.Known[i] = water == nil || d2 > zoneM*zoneM || water(c.Centre(i))
	}
	for _, p := range c.places {
		c.around(segment{p, p}, c.keepM, func(i int) {
			if r2.Norm2(r2.Sub(c.Centre(i), p)) <= c.keepM*c.keepM {
				c.Known[i] = true
			}
		})
	}
}

// bridge makes known what is near the network.
func (c *canvas) bridge() {
	for i, d2 := range c.dist2 {
		if d2 <= c.keepM*c.keepM {
			c.Known[i] = true
		}
	}
}

// draw returns the pieces of the zone, the largest first.
func (c *canvas) draw() orb.MultiPolygon {
	return isoline.Areas(c.Raster, []float64{0, math.Inf(1)})[0]
}

// mostEvents returns the piece that holds the most of the places and how many these are; of
// equal ones the first. Every place lies in some piece, for the cells around it are known.
func mostEvents(pieces orb.MultiPolygon, at []r2.Vec) (best orb.Polygon, inside int) {
	if len(pieces) == 1 {
		return pieces[0], len(at)
	}
	for _, p := range pieces {
		n := 0
		for _, v := range at {
			if planar.PolygonContains(p, orb.Point{v.X, v.Y}) {
				n++
			}
		}
		if n > inside {
			best, inside = p, n
		}
	}
	return best, inside
}

// simplified returns p without corners that stand out by less than offM (Douglas &
// Peucker, 1973, here by orb), or p as it is where that would make it invalid. Places
// lie more than half a cell, castM/16, from the border: they stay inside.
func simplified(p orb.Polygon, offM float64) orb.Polygon {
	simple := simplify.DouglasPeucker(offM).Polygon(p.Clone()) // it writes into what it is given
	if len(simple) != len(p) || flat(simple).Validate() != nil {
		return p
	}
	return simple
}

// flat returns p as simplefeatures has it, not validated.
func flat(p orb.Polygon) geom.Polygon {
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
