package structure

import (
	"math"

	"leadline/spatial/raster"
)

// Slope and curvature of the 3x3 around a cell
//
// With heights (minus the depths)
//
//	a b c     north
//	d e f
//	g h i
//
// and cells of side s, the slope is Horn's (Hill shading and the reflectance map,
// Proc. IEEE 69, 1981; from memory):
//
//	east  = ((c + 2f + i) - (a + 2d + g)) / 8s
//	north = ((a + 2b + c) - (g + 2h + i)) / 8s
//	slope = sqrt(east² + north²)
//
// By hand, depths 1 2 3 / 2 3 5 / 3 5 8 at s = 5: the east side sums to 3+10+8 = 21, the
// west one to 1+4+3 = 8, so east = -13/40; the north side sums to 8, the south one to 21,
// so north = 13/40, and the slope is 0.4596.
//
// Curvature is of the surface through the nine heights of Zevenbergen & Thorne
// (Quantitative analysis of land surface topography, Earth Surf. Proc. Landf. 12, 1987; from
// memory), whose derivatives at the middle are
//
//	p = (f - d) / 2s             q = (b - h) / 2s
//	r = (d + f - 2e) / s²        t = (b + h - 2e) / s²        u = (c - a - i + g) / 4s²
//
// Given are the curvatures of the surface's two normal sections, down the fall and
// across it (Evans 1980, in the terms of Minár, Evans & Jenčo, Earth-Sci. Rev. 211, 2020),
// with w = p² + q²:
//
//	profile = -(r p² + 2u p q + t q²) / (w (1 + w)^3/2)
//	plan    = -(r q² - 2u p q + t p²) / (w (1 + w)^1/2)
//
// A ball of radius R has 1/R in both, everywhere. The 1987 paper leaves out the powers of 1 + w,
// which are 1.03 at a slope of 0.15. Where nothing falls, w = 0, there is no such
// direction, and both are the mean of all directions, -(r + t) / 2.
//
// Cost: linear. What it does badly: both are over two cells only, so that they are mostly noise where
// the soundings are; the class of a cell uses the slope alone.

// shape returns slope and curvatures where all nine depths are known.
func shape(depth raster.Raster) (slope, profile, plan raster.Raster) {
	slope, profile, plan = depth.Like(), depth.Like(), depth.Like()
	w, s := depth.W, depth.CellM
	rows(depth.H, func(y int) {
		if y == 0 || y == depth.H-1 {
			return
		}
		for x := 1; x < w-1; x++ {
			at := y*w + x
			z, ok := nine(depth, at)
			if !ok {
				continue
			}
			a, b, c, d, e, f, g, h, i := z[0], z[1], z[2], z[3], z[4], z[5], z[6], z[7], z[8]
			east, north := ((c+2*f+i)-(a+2*d+g))/(8*s), ((a+2*b+c)-(g+2*h+i))/(8*s)
			slope.Set(at, math.Hypot(east, north))
			p, q := (f-d)/(2*s), (b-h)/(2*s)
			r, t, u := (d+f-2*e)/(s*s), (b+h-2*e)/(s*s), ((c+g)-(a+i))/(4*s*s)
			along, across := curves(p, q, r, t, u)
			profile.Set(at, along)
			plan.Set(at, across)
		}
	})
	return slope, profile, plan
}

// nine returns the heights around cell at, row by row from the north-west, which
// must not lie on the raster's border.
func nine(depth raster.Raster, at int) (z [9]float64, ok bool) {
	k := 0
	for dy := 1; dy >= -1; dy-- {
		for j := at + dy*depth.W - 1; j <= at+dy*depth.W+1; j++ {
			if !depth.Known[j] {
				return z, false
			}
			z[k] = -float64(depth.Values[j])
			k++
		}
	}
	return z, true
}

func curves(p, q, r, t, u float64) (profile, plan float64) {
	w := p*p + q*q
	if w == 0 {
		return -(r + t) / 2, -(r + t) / 2
	}
	root := math.Sqrt(1 + w)
	return -(r*p*p + 2*u*p*q + t*q*q) / (w * root * root * root), -(r*q*q - 2*u*p*q + t*p*p) / (w * root)
}
