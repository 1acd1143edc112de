package structure

import (
	"math"

	"leadline/spatial/raster"
)

// Position index
//
// How far a place stands above the mean of a ring around it: the topographic
// position index of Weiss (poster, ESRI User Conference 2001), as a bathymetric one with fine and
// broad scale by Lundblad, Wright, Miller et al. (A benthic terrain classification scheme for
// American Samoa, Marine Geodesy 29, 2006), cited from memory. Positive stands out, negative lies in.
//
// By hand: a cell of 3 m with four neighbours of 3, 4, 5 and 4 m stands 4 - 3 = 1 m above them.
//
// What it does badly: at the border of what is known the ring is lopsided and a plain bank seems to stand out;
// form.go looks at pairs of opposite sectors before it believes it.

// position returns the index of a ring where at least half of it is known.
func position(depth raster.Raster, heights sums, g ring) raster.Raster {
	index := depth.Like()
	rows(depth.H, func(y int) {
		for x := range depth.W {
			i := y*depth.W + x
			if !depth.Known[i] {
				continue
			}
			if above, ok := heights.mean(g.whole, i, heights.inner(g, x, y)); ok {
				index.Set(i, 0-above)
			}
		}
	})
	return index
}

// spread returns mean and standard deviation (of all, not of a sample) of the known
// values; ok is false when there are none.
func spread(r raster.Raster) (mean, sd float64, ok bool) {
	n, sum := 0, 0.0
	for i, known := range r.Known {
		if known {
			n++
			sum += float64(r.Values[i])
		}
	}
	if n == 0 {
		return 0, 0, false
	}
	mean, sum = sum/float64(n), 0
	for i, known := range r.Known {
		if d := float64(r.Values[i]) - mean; known {
			sum += d * d
		}
	}
	return mean, math.Sqrt(sum / float64(n)), true
}
