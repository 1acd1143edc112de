// Package structure reads the lie of the bottom from a raster of depths: slope,
// curvature, how far a place stands above or below the water around it, and the
// word an angler has for it. It knows no fish.
//
// # Steps
//
// Slope and curvature come from the 3x3 around a cell (shape.go), the position
// index from a fine and a broad ring around it (ring.go, position.go). A cell that
// stands out is named from eight sectors of a ring (form.go), and its sides go with
// it (settle.go); what is left is told by slope alone (class.go). Ledges that hang
// together are kept for Break (ledge.go).
//
// # Cost
//
// Linear in cells times the radius of the rings in cells, in parallel over rows;
// BenchmarkRead measures it. About 100 bytes a cell at the peak.
//
// # What it does badly
//
// A form much larger than the broad ring is only seen at its edges; one smaller
// than the fine ring's hole is not told from noise. How far a place must stand out
// is measured by the standard deviation of the whole raster, so a form may lose its
// name when a rougher part of the lake is added.
package structure

import (
	"math"
	"runtime"
	"sync"

	"leadline/spatial/raster"
)

// Settings says how far to look and how much counts. Defaults has the usual values
// and the reasons for them.
type Settings struct {
	FineInnerM, FineOuterM   float64 // ring of the fine position index
	BroadInnerM, BroadOuterM float64 // ring of the broad one
	LedgeSlope               float64 // a ledge is at least this steep, metres per metre
	FlatSlope                float64 // a flat is at most this steep, metres per metre
	ReliefM                  float64 // what stands out less than this stands out in nothing but noise
}

// Defaults returns settings for cells of cellM metres.
//
// The fine ring, 10 to 30 m, is what one boat can fish without moving: about a cast
// to either side. The broad one, 30 to 100 m, is the size of a point or hump that is
// fished as one place. Both grow with cells over 10 m, so that the fine ring
// reaches three cells and the broad one is twice as wide; the broad ring begins where
// the fine one ends. Common practice, no source.
//
// A ledge falls at least 0.1, 1 in 10, or 5 ft within two or three boat lengths, and
// half as much again as the bottom around it (class.go), which a plain bank of that
// steepness doesn't. Horn's slope is taken over two cells: a drop narrower than that
// must be 0.2 cells high. A flat falls at most 0.03, 1 in 33, or 1 ft in 33 ft. Relief
// is 0.3 m, 1 ft: the least that is drawn and spoken of, and some four times the
// scatter of a good sounding (0.08 m). Common practice, no source. Less of any of them
// names more of the bottom.
//
// It panics if cellM is not positive.
func Defaults(cellM float64) Settings {
	if !(cellM > 0) {
		panic("structure: cells must have a size")
	}
	fine := math.Max(30, 3*cellM)
	return Settings{
		FineInnerM: math.Max(10, cellM), FineOuterM: fine,
		BroadInnerM: fine, BroadOuterM: math.Max(100, 2*fine),
		LedgeSlope: 0.1, FlatSlope: 0.03, ReliefM: 0.3,
	}
}

// A Map is what the depths tell. All rasters have the cells of the depths read;
// a value is known only where the depth is.
type Map struct {
	Depth        raster.Raster // as read, shared with the caller
	Slope        raster.Raster // metres per metre, 0 or more (Horn)
	ProfileCurve raster.Raster // 1/m along the fall, positive where the bottom bulges
	PlanCurve    raster.Raster // 1/m across the fall, positive where the bottom bulges
	Fine, Broad  raster.Raster // position index, metres above the mean of the ring
	Class        []Class       // one a cell
	Settings     Settings      // as given

	ledge []bool // ledge cells that hang together
}

// Read reads the structure of the bottom from depths in metres, positive down. The
// depths are kept, not changed. A raster without cells gives a Map without cells. It panics if the rings
// are not 0 < inner < outer, or a limit is negative.
func Read(depth raster.Raster, set Settings) *Map {
	m := &Map{Depth: depth, Settings: set}
	if depth.W == 0 || depth.H == 0 {
		return m
	}
	if !(set.FineInnerM > 0 && set.FineOuterM > set.FineInnerM && set.BroadInnerM > 0 && set.BroadOuterM > set.BroadInnerM) {
		panic("structure: a ring must have an inner radius above 0 and a greater outer one")
	}
	if !(set.LedgeSlope >= 0 && set.FlatSlope >= 0 && set.ReliefM >= 0) {
		panic("structure: slopes and relief must not be negative")
	}
	m.Slope, m.ProfileCurve, m.PlanCurve = shape(depth)
	heights := newSums(depth, -1)
	fine := newRing(set.FineInnerM/depth.CellM, set.FineOuterM/depth.CellM, heights.stride)
	broad := newRing(set.BroadInnerM/depth.CellM, set.BroadOuterM/depth.CellM, heights.stride)
	m.Fine, m.Broad = position(depth, heights, fine), position(depth, heights, broad)
	forms := m.forms(heights, fine, broad)
	m.settle(forms)
	m.classify(forms, fine, broad)
	m.ledge = together(m.Class, depth.W, leastLedge)
	return m
}

// rows calls f for every row, in parallel. Rows must not write to each other's
// cells, so that the result is the same on any number of cores.
func rows(h int, f func(y int)) {
	n := min(runtime.GOMAXPROCS(0), h)
	var wg sync.WaitGroup
	for k := range n {
		wg.Go(func() {
			for y := k; y < h; y += n { // in turn: a lake's known cells lie anywhere
				f(y)
			}
		})
	}
	wg.Wait()
}
