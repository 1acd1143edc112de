package analyse

import (
	"context"
	"math"

	"github.com/paulmach/orb/planar"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial"
	"leadline/spatial/isoline"
	"leadline/spatial/raster"
)

// fishedStepsH are the hours between which water is told apart: each twice the one
// before, from a quarter of an hour, less than which is passing by.
var fishedStepsH = []float64{0.25, 0.5, 1, 2, 4, 8, 16, 32, math.Inf(1)}

// spreadEffort adds to the chart how long each water was in reach of a cast: a moment's
// hours count for all water within a cast of the boat.
func (a *analysis) spreadEffort(context.Context) error {
	if len(a.effort) == 0 {
		return nil
	}
	hours := a.hoursInReach()
	for i, shape := range isoline.Areas(hours, fishedStepsH) {
		area := 0.0
		for _, p := range shape {
			area += planar.Area(p)
		}
		if area > 0 {
			a.chart.Fished = append(a.chart.Fished, spatial.FishedArea{FromH: fishedStepsH[i], ToH: fishedStepsH[i+1], AreaM2: area, Shape: a.polygons(shape)})
		}
	}
	return nil
}

// hoursInReach returns for each cell how many hours the boat fished within a cast of
// its middle. Cells are a quarter of a cast wide, wider on a lake of more than four million.
func (a *analysis) hoursInReach() raster.Raster {
	low, high := a.effort[0].at, a.effort[0].at
	for _, m := range a.effort {
		low = r2.Vec{X: math.Min(low.X, m.at.X), Y: math.Min(low.Y, m.at.Y)}
		high = r2.Vec{X: math.Max(high.X, m.at.X), Y: math.Max(high.Y, m.at.Y)}
	}
	const mostCells = 4 << 20
	cellM := a.set.CastM / 4
	pad := a.set.CastM + 2*cellM
	size := func(span float64) int { return int(math.Ceil((span+2*pad)/cellM)) + 1 }
	for size(high.X-low.X)*size(high.Y-low.Y) > mostCells {
		cellM *= 2
	}
	r := raster.New(r2.Sub(low, r2.Vec{X: pad, Y: pad}), cellM, size(high.X-low.X), size(high.Y-low.Y))
	at := make([]float64, r.W*r.H) // hours with the boat in the cell
	for _, m := range a.effort {
		x, y := r.Cell(m.at)
		at[y*r.W+x] += m.hours
	}
	reach := int(a.set.CastM / cellM)
	sum := make([]float64, len(at))
	for i, h := range at {
		if h == 0 {
			continue
		}
		cx, cy := i%r.W, i/r.W
		for y := max(0, cy-reach); y <= min(r.H-1, cy+reach); y++ {
			for x := max(0, cx-reach); x <= min(r.W-1, cx+reach); x++ {
				if math.Hypot(float64(x-cx), float64(y-cy))*cellM <= a.set.CastM {
					sum[y*r.W+x] += h
				}
			}
		}
	}
	for i, h := range sum {
		r.Set(i, h)
	}
	return r
}
