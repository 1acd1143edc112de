package gpkg

import "math"

// An extent is a box in the layer's own unit, degrees for WGS 84. It does not
// know the 180th meridian: a shape on both sides of it has a box around the world.
type extent struct{ minX, maxX, minY, maxY float64 }

// noExtent holds nothing; add makes it hold something.
var noExtent = extent{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}

func (e extent) empty() bool { return e.minX > e.maxX }

// finite is false when a NaN or an infinity went in: min and max keep a NaN.
func (e extent) finite() bool {
	const most = math.MaxFloat64
	return e.minX >= -most && e.maxX <= most && e.minY >= -most && e.maxY <= most
}

func (e extent) add(x, y float64) extent {
	return extent{min(e.minX, x), max(e.maxX, x), min(e.minY, y), max(e.maxY, y)}
}

func (e extent) join(o extent) extent {
	if o.empty() {
		return e
	}
	return e.add(o.minX, o.minY).add(o.maxX, o.maxY)
}
