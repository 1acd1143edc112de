// Package raster holds one value per cell of a square grid on the plane. It knows
// no water: depths, slopes and uncertainties are all the same to it.
package raster

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// A Raster is a value at the centre of each square cell, row by row from the
// south-west corner. The zero Raster has no cells and knows nothing.
type Raster struct {
	Origin r2.Vec    // centre of cell (0, 0), metres
	CellM  float64   // side of a cell
	W, H   int       // cells east, cells north
	Values []float32 // W·H values; 0 where not known
	Known  []bool    // W·H
}

// New returns a raster of which nothing is known yet.
func New(origin r2.Vec, cellM float64, w, h int) Raster {
	return Raster{Origin: origin, CellM: cellM, W: w, H: h, Values: make([]float32, w*h), Known: make([]bool, w*h)}
}

// Like returns a raster of the same cells of which nothing is known yet.
func (r Raster) Like() Raster { return New(r.Origin, r.CellM, r.W, r.H) }

// Set makes the value of cell i known.
func (r Raster) Set(i int, v float64) { r.Values[i], r.Known[i] = float32(v), true }

// Cell returns the column and row of the cell that v lies in, which may be outside
// the raster. The raster must have cells.
func (r Raster) Cell(v r2.Vec) (x, y int) {
	return int(math.Floor((v.X-r.Origin.X)/r.CellM + 0.5)), int(math.Floor((v.Y-r.Origin.Y)/r.CellM + 0.5))
}

// Centre returns the centre of cell i, counted row by row.
func (r Raster) Centre(i int) r2.Vec {
	return r2.Vec{X: r.Origin.X + float64(i%r.W)*r.CellM, Y: r.Origin.Y + float64(i/r.W)*r.CellM}
}

// At returns the value of the cell in column x and row y; ok is false outside the
// raster and where it isn't known.
func (r Raster) At(x, y int) (v float64, ok bool) {
	if x < 0 || y < 0 || x >= r.W || y >= r.H || !r.Known[y*r.W+x] {
		return 0, false
	}
	return float64(r.Values[y*r.W+x]), true
}

// Value returns the value at v: bilinear between four known cell centres (two are
// enough on the line between them), else that of the cell v lies in; ok is false where that isn't known.
//
// By hand: corners 0 (south-west), 1, 1, 2 (north-east) give 1 in the middle.
func (r Raster) Value(v r2.Vec) (value float64, ok bool) {
	if r.W == 0 {
		return 0, false
	}
	fx, fy := (v.X-r.Origin.X)/r.CellM, (v.Y-r.Origin.Y)/r.CellM
	x, y := int(math.Floor(fx)), int(math.Floor(fy))
	tx, ty := fx-float64(x), fy-float64(y)
	right, above := 1, 1
	if tx == 0 {
		right = 0 // what lies to the right has no say
	}
	if ty == 0 {
		above = 0
	}
	sw, ok1 := r.At(x, y)
	se, ok2 := r.At(x+right, y)
	nw, ok3 := r.At(x, y+above)
	ne, ok4 := r.At(x+right, y+above)
	if ok1 && ok2 && ok3 && ok4 {
		return (sw*(1-tx)+se*tx)*(1-ty) + (nw*(1-tx)+ne*tx)*ty, true
	}
	return r.At(r.Cell(v))
}

// Range returns the least and greatest known value; ok is false when there is none.
func (r Raster) Range() (least, most float64, ok bool) {
	for i, k := range r.Known {
		if v := float64(r.Values[i]); k && !ok {
			least, most, ok = v, v, true
		} else if k {
			least, most = math.Min(least, v), math.Max(most, v)
		}
	}
	return least, most, ok
}
