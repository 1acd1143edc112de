package analyse

import (
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/raster"
)

// mostBreakM is how far from a zone's centre a break is still of use to whoever
// fishes it: three or four casts.
const mostBreakM = 100

// bottomIn gives a zone the median of the bottom inside it, how sure that is, what
// it is made of, and the nearest break, from points a cell apart.
func (a *analysis) bottomIn(z *spatial.Zone, g ground) {
	cellM := a.chart.Bottom.CellM
	if cellM == 0 {
		return
	}
	var depths, sure []float64
	for y := g.bound.Min[1]; y <= g.bound.Max[1]; y += cellM {
		for x := g.bound.Min[0]; x <= g.bound.Max[0]; x += cellM {
			v := r2.Vec{X: x, Y: y}
			if d := a.depthAt(v); d.OK && g.contains(v) {
				depths = append(depths, d.V)
				if u, ok := a.ground.U95M(v); ok {
					sure = append(sure, u)
				}
			}
		}
	}
	if len(depths) > 0 {
		z.BottomM = ingest.Known(quantile(0.5, depths))
	}
	if len(sure) > 0 {
		z.BottomU95M = ingest.Known(quantile(0.5, sure))
	}
	low, high := r2.Vec{X: g.bound.Min[0], Y: g.bound.Min[1]}, r2.Vec{X: g.bound.Max[0], Y: g.bound.Max[1]}
	shares, known, all := a.shape.Shares(low, high, g.contains)
	for _, s := range shares {
		z.Structures = append(z.Structures, spatial.StructureShare{Kind: s.Class.String(), Share: s.Share})
	}
	if 2*known >= all { // else the rest could be anything
		z.Structure = structureWords(z.Structures)
	}
	z.Terrain = spatial.Terrain{
		Slope: inside(a.shape.Slope, g), ProfileCurve: inside(a.shape.ProfileCurve, g), PlanCurve: inside(a.shape.PlanCurve, g),
		FineM: inside(a.shape.Fine, g), BroadM: inside(a.shape.Broad, g),
	}
	middle := a.middle(g.members)
	if b, ok := a.shape.Break(middle, mostBreakM); ok {
		z.Break = &spatial.Break{
			DistM: b.DistM, At: a.frame.Degrees(b.AtM),
			TopM: ingest.Maybe{V: b.TopM, OK: b.TopKnown}, BottomM: ingest.Maybe{V: b.BottomM, OK: b.BottomKnown},
		}
		if b.DistM > 0 {
			z.Break.TowardDeg = plane.BearingDeg(b.Toward)
		}
	}
}

// structureWords names what most of a zone's bottom is: one kind that has half of
// it, else the two greatest.
func structureWords(s []spatial.StructureShare) string {
	switch {
	case len(s) == 0:
		return ""
	case s[0].Share >= 0.5 || len(s) == 1:
		return s[0].Kind
	}
	return s[0].Kind + " and " + s[1].Kind
}

// inside returns the median of a raster over the cells whose centre lies in a ground;
// unknown where none has a value.
func inside(r raster.Raster, g ground) ingest.Maybe {
	if r.W == 0 {
		return ingest.Maybe{}
	}
	x0, y0 := r.Cell(r2.Vec{X: g.bound.Min[0], Y: g.bound.Min[1]})
	x1, y1 := r.Cell(r2.Vec{X: g.bound.Max[0], Y: g.bound.Max[1]})
	var values []float64
	for y := max(0, y0); y <= min(r.H-1, y1); y++ {
		for x := max(0, x0); x <= min(r.W-1, x1); x++ {
			if v, ok := r.At(x, y); ok && g.contains(r.Centre(y*r.W+x)) {
				values = append(values, v)
			}
		}
	}
	if len(values) == 0 {
		return ingest.Maybe{}
	}
	return ingest.Known(quantile(0.5, values))
}
