package head

import "math"

// A lure that is reeled in from a boat that lies still: how deep it runs.
//
// The line is taut and straight, at phi below the horizontal, L long from the rod
// tip at the surface. The lure goes level, at v. That is v cos(phi) along the line,
// at which the line slides in, and v sin(phi) across it, at which the line swings
// about the rod tip: s metres from the tip its water passes across it at v sin(phi)
// s/L. So its drag is least where a towed line's is as large as at the lure, and a
// lure that is reeled in runs deeper than one that is towed on as much line.
//
// The moments about the rod tip of the lure's weight W and drag F(v), the line's weight w
// a metre and its drag across itself, over L:
//
//	(W + w L/2) cos(phi) = F sin(phi) + integral of 1/2 rho d Cn (v sin(phi) s/L)² (s/L) ds
//
// Drag along the line has no moment. The left side falls as phi rises from 0 to 90
// degrees and the right side rises, so there is one phi, and the depth is L sin(phi).
//
// Steps. With a = s/L and White's Cn = 1 + 10 Re^(-2/3) the integral is a sum of
// powers, a⁴/4 and (3/10) a^(10/3), between the ends of each line; a leader is a
// second piece. phi, or v for a given phi, by false position (root.go).
//
// By hand: 1/2 oz of lead weighs 0.1268 N in water. With a drag area of 1e-4 m² and no
// line drag it has F = 0.05 N at 1 m/s, phi is atan(2.536) = 68.5 degrees, and on 10 m
// of line it runs at 9.3 m.
//
// Cost: some ten evaluations of two powers each. What it does badly: the line
// bends, most of all a thick one reeled fast, and the lure then runs somewhat less deep;
// and it is a moment's balance. Line comes in, and the depth goes down with what is
// out, nearly in proportion: at the same speed the lure rises all the way. What it says is the
// depth at which the lure neither sinks nor rises just then.
//
// Source: derived. Coefficients are those of drag.go.

// A Retrieve is a lure that is reeled in, the boat lying still in still water.
type Retrieve struct {
	WeightN float64  // in water
	Drag    DragArea // streaming
	Line    LineInWater
	Leader  LineInWater // the line next to the lure, when it is another
	LeaderM float64     // its length; 0 for none
	Water   Water
	LineM   float64 // out, from the rod tip at the surface to the lure
}

// DepthM returns how deep the lure runs, in metres, when it goes level at speedMPS:
// LineM at speed 0, and 0 when lure and line together float or no line is out. The root
// is found to 1e-9 of LineM.
func (r Retrieve) DepthM(speedMPS float64) float64 {
	if !(r.LineM > 0) || !(r.pullN() > 0) {
		return 0
	}
	phi := root(0, math.Pi/2, 1e-10, func(phi float64) float64 { return r.liftN(phi, speedMPS) })
	return r.LineM * math.Sin(phi)
}

// FastestMPS returns the fastest speed, in m/s, at which the lure runs at depthM or
// below. ok is false where there is none (a depth of LineM or more, lure and line that
// float), at a depth that is not positive, where any speed would do, and without any drag, for the
// same reason. The root is found to 1e-9.
func (r Retrieve) FastestMPS(depthM float64) (mps float64, ok bool) {
	if !(depthM > 0) || !(depthM < r.LineM) || !(r.pullN() > 0) {
		return 0, false
	}
	phi := math.Asin(depthM / r.LineM)
	high := 1.0
	for r.liftN(phi, high) <= 0 {
		if high *= 2; high > 1e6 {
			return 0, false
		}
	}
	return root(0, high, 1e-9*high, func(v float64) float64 { return r.liftN(phi, v) }), true
}

// liftN is the moment about the rod tip that lifts the lure, less the one that sinks
// it, over the length of line.
func (r Retrieve) liftN(phi, speedMPS float64) float64 {
	sin, cos := math.Sincos(phi)
	v := math.Abs(speedMPS) * sin
	knot := r.knot()
	drag := r.Line.swingN(v, 0, knot, r.Water) + r.Leader.swingN(v, knot, 1, r.Water)
	return math.Abs(r.Drag.ForceN(speedMPS, r.Water))*sin + r.LineM*drag - r.pullN()*cos
}

// pullN is the weight of the lure and of half the line: what of the line's weight
// has its moment at the lure.
func (r Retrieve) pullN() float64 {
	k := r.knot()
	return r.WeightN + r.LineM/2*(r.Line.WeightNPerM*k*k+r.Leader.WeightNPerM*(1-k*k))
}

// knot is where the leader begins, from the rod tip over the line out.
func (r Retrieve) knot() float64 {
	return 1 - min(max(r.LeaderM, 0)/r.LineM, 1)
}

// swingN is the integral of 1/2 rho d Cn (v a)² a over a from one place to another along
// the line, in N/m: drag that grows from the rod tip, times its lever.
func (l LineInWater) swingN(v, from, to float64, w Water) float64 {
	if !(to > from) || v == 0 {
		return 0
	}
	half := 0.5 * w.DensityKgM3 * l.DiameterM
	fourth := func(a float64) float64 { return a * a * a * a / 4 }
	square := v * v * (fourth(to) - fourth(from))
	if l.Cn.OK {
		return half * l.Cn.V * square
	}
	third := func(a float64) float64 { return 0.3 * a * a * a * math.Cbrt(a) }
	return half * (square + l.white(w)*v*math.Cbrt(v)*(third(to)-third(from)))
}
