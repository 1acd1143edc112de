package clean

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// A ground measures how visits lie to each other.
type ground struct {
	frame  plane.Frame
	origin *ingest.Fix
}

func (g *ground) at(v *visit) r2.Vec { return g.frame.Metres(v.fix.Pos) }

// Where visits plainly lie close, a few multiplications in degrees tell so, and nobody asks how close.
const (
	// A degree of latitude is at most 111.7 km long, and so is one of longitude (WGS 84). The plane makes lengths longer by
	// less than 1 % within nearDeg of its origin.
	mostDegreeM = 111_700 * 1.01
	nearDeg     = 8
	// What is straight in degrees is bent in metres: between places bentDeg apart by some tenths of a metre, the Earth's
	// radius times the square of that angle being 0.2 m.
	bentDeg, bentM   = 0.01, 1.0
	farthestNorthDeg = 75
)

// close reports whether such a measure holds between a and b.
func (g *ground) close(a, b *visit) bool {
	p, q, o := &a.fix.Pos, &b.fix.Pos, &g.origin.Pos
	return math.Abs(p[0]-q[0]) < bentDeg && math.Abs(p[1]-q[1]) < bentDeg &&
		math.Abs(p[0]-o[0]) < nearDeg && math.Abs(p[1]-o[1]) < nearDeg && math.Abs(p[1]) < farthestNorthDeg
}

// detourM returns how far v lies from where the boat would have been straight between a and b, a share of the way on.
func (g *ground) detourM(a, v, b *visit, share float64) float64 {
	from := g.at(a)
	mid := r2.Add(from, r2.Scale(share, r2.Sub(g.at(b), from)))
	return norm(r2.Sub(g.at(v), mid))
}

// mostDetourM is no less than detourM, and cheaper; infinite where that isn't plain.
func (g *ground) mostDetourM(a, v, b *visit, share float64) float64 {
	if !g.close(a, v) || !g.close(v, b) {
		return math.Inf(1)
	}
	p, q, r := &a.fix.Pos, &v.fix.Pos, &b.fix.Pos
	return mostDegreeM*norm(r2.Vec{X: q[0] - p[0] - share*(r[0]-p[0]), Y: q[1] - p[1] - share*(r[1]-p[1])}) + bentM
}

// apartM returns how far apart two visits are.
func (g *ground) apartM(a, b *visit) float64 { return norm(r2.Sub(g.at(b), g.at(a))) }

// mostApartM is no less than apartM, and cheaper; infinite where that isn't plain.
func (g *ground) mostApartM(a, b *visit) float64 {
	if !g.close(a, b) {
		return math.Inf(1)
	}
	p, q := &a.fix.Pos, &b.fix.Pos
	return mostDegreeM*norm(r2.Vec{X: q[0] - p[0], Y: q[1] - p[1]}) + bentM
}

// excess is that of the detour over v from a to b; where it is plainly below 1, 0.
func (g *ground) excess(a, v, b *visit) float64 {
	t1, t2 := secondsBetween(a, v), secondsBetween(v, b)
	share := t1 / (t1 + t2)
	if g.mostDetourM(a, v, b, share) < leastJumpM {
		return 0
	}
	e := g.detourM(a, v, b, share)
	return math.Min(2*e/(t1*t2)/mostAccelMPS2, e/leastJumpM)
}

// leaps reports whether no boat gets from a to b.
func (g *ground) leaps(a, b *visit) bool {
	mostM := mostSpeedMPS*secondsBetween(a, b) + leastJumpM
	return g.mostApartM(a, b) >= mostM && g.apartM(a, b) > mostM
}

// norm is r2.Norm without its care for figures near the ends of the number range, which takes longer than the root.
func norm(v r2.Vec) float64 { return math.Sqrt(v.X*v.X + v.Y*v.Y) }
