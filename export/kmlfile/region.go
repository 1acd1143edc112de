package kmlfile

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"leadline/export"
	"leadline/ingest/plane"
	"leadline/spatial"
)

const (
	// Contours nearer together than this many pixels of the screen run into one grey
	// (common practice, no source).
	apartPx = 8
	// A map smaller than this across is looked at for where the lake is, not for its
	// depths: contours that are apart at that size need no region.
	smallMapPx = 256
	// Every fifth contour is an index contour, as on topographic maps (common practice, no
	// source).
	indexEvery = 5
)

// nearBy gives all contours but the index contours a region in which they show, when
// contours lie so dense that from afar they would cover the map.
//
// A region is shown when the square root of its area on the screen exceeds minLodPixels
// (OGC KML 2.2, elements Region and Lod; read from memory). In a box of A square metres with L metres of contour, lines
// are A/L apart on average; they are apartPx apart on the screen when the box is
// apartPx·L/√A across. By hand: 20 km of contours in a box of 1 km by 1 km lie 50 m apart,
// and 8 pixels when the box is 160 across.
func nearBy(placemarks []placemark, contours []spatial.Contour) {
	shapes := make([]orb.Geometry, len(placemarks))
	for i, p := range placemarks {
		shapes[i] = p.outline()
	}
	west, south, east, north, ok := export.Bounds(shapes...)
	// Readers differ over a box whose west is greater than its east: there all is shown.
	if !ok || west >= east || south >= north {
		return
	}
	index := indexContours(contours)
	if index == nil {
		return
	}
	f := plane.New(orb.Point{(west + east) / 2, (south + north) / 2})
	corner, opposite := f.Metres(orb.Point{west, south}), f.Metres(orb.Point{east, north})
	acrossM := math.Sqrt((opposite.X - corner.X) * (opposite.Y - corner.Y))
	lengthM := 0.0
	for _, g := range shapes {
		lengthM += lineM(f, g)
	}
	pixels := math.Ceil(apartPx * lengthM / acrossM)
	if !(pixels > smallMapPx) || math.IsInf(pixels, 0) {
		return
	}
	for i := range placemarks {
		if !index[i] {
			placemarks[i].region = kml.Region(
				kml.LatLonAltBox(kml.North(north), kml.South(south), kml.East(east), kml.West(west)),
				kml.LOD(kml.MinLODPixels(pixels)),
			)
		}
	}
}

// indexContours tells which contours are drawn from afar: those at every fifth step of
// depth, counted from the surface. It is nil when none is.
func indexContours(contours []spatial.Contour) []bool {
	step := math.Inf(1)
	for i := 1; i < len(contours); i++ {
		if d := contours[i].DepthM - contours[i-1].DepthM; d > 0 {
			step = math.Min(step, d)
		}
	}
	if math.IsInf(step, 1) {
		return nil
	}
	out := make([]bool, len(contours))
	any := false
	for i, c := range contours {
		out[i] = int(math.Round(c.DepthM/step))%indexEvery == 0
		any = any || out[i]
	}
	if !any {
		return nil
	}
	return out
}

func lineM(f plane.Frame, g orb.Geometry) float64 {
	sum := 0.0
	switch g := g.(type) {
	case orb.LineString:
		for i := 1; i < len(g); i++ {
			sum += f.DistanceM(g[i-1], g[i])
		}
	case orb.MultiLineString:
		for _, l := range g {
			sum += lineM(f, l)
		}
	}
	return sum
}
