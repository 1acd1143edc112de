package band

import (
	"slices"

	"leadline/ingest"
)

const (
	// onBottomM and onBottomShare: a fish within a metre of the bottom under the boat, or within a tenth of
	// the depth where that is more, is on the bottom. A mark is read to half a foot and the bottom is known a cast
	// off; common practice, no source. More calls suspended fish bottom fish, less the other way round.
	onBottomM     = 1.0
	onBottomShare = 0.1
	// roundingM is far above the rounding of a difference of depths, far below what anyone reads.
	roundingM = 1e-9
)

// A Stand is how high fish stood above the bottom.
type Stand struct {
	Suspended int
	OnBottom  int
	Unknown   int          // fish or bottom depth not known
	MedianM   ingest.Maybe // height above the bottom of the others; unknown when there are none
}

// Above returns how high fish stood above the bottom under the boat. fishM and bottomM are depths in metres
// below the surface, one pair for each fish; neither is changed, and the order of the pairs does not matter. A fish
// noted deeper than the bottom counts as on it, at height 0: over a slope it can be. No fish give zeroes.
//
// By hand: fish at 3, 7.5, 9 m over 8, 8, 8.5 m stand 5, 0.5 and 0 m above it: one suspended, two on the
// bottom, the median 0.5 m.
//
// It panics when the lengths differ.
func Above(fishM, bottomM []ingest.Maybe) Stand {
	if len(fishM) != len(bottomM) {
		panic("band: fish and bottoms differ in number")
	}
	var s Stand
	var heights []float64
	for i, fish := range fishM {
		bottom := bottomM[i]
		if !fish.OK || !bottom.OK {
			s.Unknown++
			continue
		}
		h := max(0, bottom.V-fish.V)
		heights = append(heights, h)
		if h <= max(onBottomM, onBottomShare*bottom.V)+roundingM {
			s.OnBottom++
		} else {
			s.Suspended++
		}
	}
	if n := len(heights); n > 0 {
		slices.Sort(heights)
		s.MedianM = ingest.Known((heights[(n-1)/2] + heights[n/2]) / 2)
	}
	return s
}
