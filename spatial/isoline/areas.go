package isoline

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"

	"leadline/spatial/raster"
)

// Areas returns the polygons of each band, band i from levels[i] up to but not
// including levels[i+1], in metres like r's origin: exteriors counter-clockwise,
// holes clockwise, rings that touch each other or themselves in single points
// apart, the polygon of the largest area first. The first level may be -Inf and
// the last one +Inf; bands from -Inf to +Inf together cover exactly the known
// squares, but for the corners of their border: each is cut from the middle of one
// side to the middle of the next, lest a shore look like a stair. Levels must be in ascending order, none twice: it panics otherwise.
// Fewer than two give no bands.
func Areas(r raster.Raster, levels []float64) []orb.MultiPolygon {
	if len(levels) < 2 {
		return nil
	}
	return draw(r, levels, true, true).areas(true)
}

// A ring is one closed walk around a band that meets no point twice.
type ring struct {
	band    int32
	shape   orb.Ring
	area2M2 float64 // twice its area, below 0 if clockwise
	outer   int32   // of a hole, the exterior around it; -1 not known yet
}

// areas walks all rings and tells which holes lie in which exteriors. The corners of
// the border stay unless cut.
func (t *tracer) areas(cut bool) []orb.MultiPolygon {
	n := t.points.count
	w := ringWalk{t: t, cut: cut, bands: int32(len(t.levels)) - 1, above: make([]int32, n), below: make([]int32, n), at: make([]int32, n)}
	// A point lies on two rings at most; a ring has three points at least and repeats one.
	w.slab = make([]orb.Point, 0, 2*int(n)+2*int(n)/3)
	for id := range n {
		w.above[id], w.below[id], w.at[id] = -1, -1, -1
	}
	for id := range n {
		p := t.points.at(id)
		if w.above[id] < 0 && p.level >= 0 && p.level < w.bands {
			w.walk(id, p.level)
		}
		if p.twin == crossing && w.below[id] < 0 && p.level > 0 {
			w.walk(id, p.level-1)
		}
	}
	w.findOuters()
	return w.polygons()
}

// ringWalk is the walk around all bands.
type ringWalk struct {
	t     *tracer
	cut   bool // the corners of the border
	bands int32
	rings []ring
	// The rings each point lies on: that of the band above it (or its own, of a
	// border node) and that of the band below; -1 not walked.
	above, below []int32
	at           []int32 // place of a twin on the way so far, else -1
	way          []int32
	slab         []orb.Point
}

// walk goes around a band from a point. Back at a node whose twin is on the way, it
// cuts the loop since then off as a ring of its own.
func (w *ringWalk) walk(first, band int32) {
	w.way = w.way[:0]
	for id := first; ; {
		p := w.t.points.at(id)
		if p.twin >= 0 {
			if from := w.at[p.twin]; from >= 0 {
				w.ring(w.way[from:], band)
				w.way = w.way[:from]
			}
			w.at[id] = int32(len(w.way))
		}
		w.way = append(w.way, id)
		if p.level > band { // the level above the band, its line backwards
			id = p.prev
		} else {
			id = p.next
		}
		if id == first {
			break
		}
	}
	w.ring(w.way, band)
}

// ring keeps the ring along the way.
func (w *ringWalk) ring(way []int32, band int32) {
	number := int32(len(w.rings))
	from := len(w.slab)
	shape := w.slab[from:]
	for i, id := range way {
		p := w.t.points.at(id)
		if p.level > band {
			w.below[id] = number
		} else {
			w.above[id] = number
		}
		if p.twin >= 0 {
			w.at[id] = -1
		}
		q := orb.Point{p.at.X, p.at.Y}
		if w.cut && p.twin != crossing && !straight(w.place(way[(i+len(way)-1)%len(way)]), q, w.place(way[(i+1)%len(way)])) {
			continue
		}
		if n := len(shape); n > 1 && straight(shape[n-2], shape[n-1], q) {
			shape[n-1] = q
		} else {
			shape = append(shape, q)
		}
	}
	if n := len(shape); n > 2 && straight(shape[n-2], shape[n-1], shape[0]) {
		shape = shape[:n-1]
	}
	if n := len(shape); n > 2 && straight(shape[n-1], shape[0], shape[1]) {
		shape = shape[1:]
		from++
	}
	if len(shape) < 3 { // nothing but a corner that was cut
		w.rings = append(w.rings, ring{band: band, outer: -1})
		return
	}
	shape = append(shape, shape[0])
	w.slab = w.slab[:from+len(shape)]
	w.rings = append(w.rings, ring{band, orb.Ring(shape[:len(shape):len(shape)]), twiceArea(shape), -1})
}

func (w *ringWalk) place(id int32) orb.Point {
	p := w.t.points.at(id)
	return orb.Point{p.at.X, p.at.Y}
}

// straight tells whether b lies on the way from a to c along a row or column.
// Only what is exactly straight is left out, so that neighbours still meet.
func straight(a, b, c orb.Point) bool {
	return a[0] == b[0] && b[0] == c[0] || a[1] == b[1] && b[1] == c[1]
}

// twiceArea returns twice the area of a ring, below 0 if it runs clockwise.
func twiceArea(ring []orb.Point) float64 {
	sum, o := 0.0, ring[0]
	for i := 1; i < len(ring); i++ {
		a, b := ring[i-1], ring[i]
		sum += float64((a[0]-o[0])*(b[1]-o[1])) - float64((b[0]-o[0])*(a[1]-o[1]))
	}
	return sum
}

// findOuters finds the exterior around each hole without asking where any point
// lies. A hole goes around a node at least, so it has points on some row of nodes.
// West of the first of them, on the lowest such row, lies the band itself, and
// further west the ring that bounds it there: the exterior, or a hole met before,
// which lies in the same one. Two rings that touch there bound the same area.
func (w *ringWalk) findOuters() {
	last := make([]int32, w.bands)
	for i := range last {
		last[i] = -1
	}
	meet := func(number int32) {
		r := &w.rings[number]
		if r.area2M2 < 0 && r.outer < 0 {
			r.outer = last[r.band]
			if r.outer >= 0 && w.rings[r.outer].area2M2 < 0 {
				r.outer = w.rings[r.outer].outer
			}
		}
		last[r.band] = number
	}
	for _, row := range w.t.rows {
		for id := row[0]; id < row[1]; id++ {
			if r := w.below[id]; r >= 0 {
				meet(r)
			}
			if r := w.above[id]; r >= 0 {
				meet(r)
			}
		}
	}
}

// polygons puts holes and exteriors together.
func (w *ringWalk) polygons() []orb.MultiPolygon {
	type polygon struct {
		shape   orb.Polygon
		area2M2 float64
	}
	byBand := make([][]polygon, w.bands)
	place := make([]int, len(w.rings)) // of an exterior in its band
	for i, r := range w.rings {
		if r.shape != nil && r.area2M2 >= 0 {
			place[i] = len(byBand[r.band])
			byBand[r.band] = append(byBand[r.band], polygon{orb.Polygon{r.shape}, r.area2M2})
		}
	}
	for _, r := range w.rings {
		// A hole without an exterior is a sliver thinner than what rounding leaves.
		if r.area2M2 < 0 && r.outer >= 0 {
			p := &byBand[r.band][place[r.outer]]
			p.shape = append(p.shape, r.shape)
			p.area2M2 += r.area2M2
		}
	}
	out := make([]orb.MultiPolygon, w.bands)
	for i, polygons := range byBand {
		slices.SortStableFunc(polygons, func(a, b polygon) int { return cmp.Compare(b.area2M2, a.area2M2) })
		for _, p := range polygons {
			out[i] = append(out[i], p.shape)
		}
	}
	return out
}
