package head

import (
	"math"

	"leadline/ingest"
)

// A weight on a line below a boat, in water that passes: where it hangs, how
// much line is out, and how the line stands at the rod.
//
// In the boat's frame, steady, in one vertical plane. Theta is the line's angle
// from vertical, s the arc from the lure up, z the height above the lure, u(z)
// the speed of the water past the boat. The force of the water on a piece of
// line is split into a part across it and a part along it:
//
//	dT/ds     = w cos(theta) + 1/2 rho pi d Ct u|u| sin(theta)|sin(theta)|
//	T dtheta/ds = 1/2 rho d Cn u|u| cos(theta)|cos(theta)| - w sin(theta)
//
// starting from T sin(theta) = the lure's drag, T cos(theta) = its weight.
//
// Steps. With chi = asinh(tan(theta)), so that 1/cos = cosh(chi) and tan =
// sinh(chi), and z as the variable, all four unknowns are smooth up to a line
// almost level, where theta over s runs away:
//
//	dchi/dz = (1/2 rho d Cn u|u| - w sinh(chi) cosh(chi)) / T
//	dT/dz   = w + 1/2 rho pi d Ct u|u| sinh(chi)|sinh(chi)|/cosh(chi)
//	dL/dz   = cosh(chi)       line out
//	dX/dz   = sinh(chi)       trail
//
// scaled by the depth and the tension at the lure, integrated from the lure to the
// surface (runge.go), stopping at every depth where the flow jumps. Where a leader
// ends, at a length and not at a depth, the step that passes it is cut to end there, by
// Newton's method on L(z), and the next begins with the other line. Cn is that of
// the speed across the line, u cos(theta). Water that runs the other way at depth
// is nothing special: u, and with it chi, changes sign.
//
// By hand, without w and Ct and with u constant, T is constant and the line is a
// catenary on its side: for a weight of 1 N without drag, R = 1/2 rho d Cn u² = 1
// N/m and 1 m of depth chi at the surface is 1, so the line stands at atan(sinh 1)
// = 49.6 degrees, sinh 1 = 1.1752 m are out, and the lure trails cosh 1 - 1 =
// 0.5431 m.
//
// Cost: about ten steps of six evaluations. What it does badly: it knows no
// waves, no gusts, no fish, no height of the rod tip above the water, and no
// line that vibrates (which drags more).
//
// Source: the equations are those of Pode 1951 (David Taylor Model Basin, Report
// 687) with drag across and along the cable; the closed form is derived.

// MaxLineRatio is the line out over the depth past which the answer is "cannot
// hold" rather than a length: sinh(3)/3, 3.34. Line out over depth is sinh(G)/G
// with G = R Z/T, the line's drag over the pull, so an error in the drag comes
// out G/tanh(G) - 1 times as large: at G = 3 a current known to 5 % leaves
// the line out known to 20 %, and beyond that the figure says nothing.
const MaxLineRatio = 3.3392916424699673

// hangTol is the error of one step, over depth or tension. It keeps the closed
// forms to 1e-7 (TestHangClosedForms); 1e-10 would cost 2.5 times the steps.
const hangTol = 1e-8

// A Hanging is a weight on a line in moving water.
type Hanging struct {
	WeightN  float64 // of the lure in water
	DragN    float64 // of the water on the lure, positive the way that sweeps it behind the boat
	Line     LineInWater
	Water    Water
	Flow     Profile
	DepthM   float64 // of the lure below the surface, where the rod tip is
	MaxRatio float64 // line out over depth that is "cannot hold"; 0 for MaxLineRatio

	Leader  LineInWater // the line next to the lure, when it is another
	LeaderM float64     // its length; 0 for none. With less line out than that all of it is leader
}

// A Shape is how a line hangs. Angles are from vertical in degrees, positive
// when the line leads down and behind the boat.
type Shape struct {
	LineOutM     float64
	TrailM       float64 // how far behind the rod tip the lure is; negative when ahead
	LureAngleDeg float64
	TipAngleDeg  float64
	LureTensionN float64
	TipTensionN  float64
}

// Solve returns how the line hangs, to about 1e-7 of its length. ok is false when
// no sensible length of line holds the lure at that depth: more than MaxRatio
// times the depth, a line that comes level below the surface, or a lure
// that floats. Depth 0 is a lure at the rod tip.
func (h Hanging) Solve() (shape Shape, ok bool) {
	if !(h.WeightN > 0) {
		return Shape{}, false
	}
	lureT := math.Hypot(h.WeightN, h.DragN)
	chi := math.Asinh(h.DragN / h.WeightN)
	z := h.DepthM
	limit := h.MaxRatio
	if limit == 0 {
		limit = MaxLineRatio
	}

	// The line that the steps go through.
	var across, along, w, white float64
	var cn ingest.Maybe
	use := func(l LineInWater) {
		half := 0.5 * h.Water.DensityKgM3 * l.DiameterM * z / lureT
		across, along = half, half*math.Pi*l.Ct
		w = l.WeightNPerM * z / lureT
		cn, white = l.Cn, l.white(h.Water)
	}
	use(h.Line)
	leader := 0.0 // its end, as line out over depth; 0 past it
	if h.LeaderM > 0 && z > 0 {
		leader = h.LeaderM / z
		use(h.Leader)
	}

	// State: chi, tension over that at the lure, line out and trail over depth.
	// upper and lower keep a stage at a jump of the flow on its own side.
	var upper, lower float64
	s := stepper[[4]float64]{tol: hangTol, h: 0.1, y: [4]float64{chi, 1, 0, 0}}
	s.f = func(height float64, y [4]float64) [4]float64 {
		u := h.Flow.SpeedMPS(min(max(z*(1-height), upper), lower))
		e := math.Exp(y[0])
		sinh, cosh := (e-1/e)/2, (e+1/e)/2
		a := math.Abs(u)
		load := u * a
		if cn.OK {
			load *= cn.V
		} else {
			load += white * u * math.Cbrt(a*cosh*cosh)
		}
		return [4]float64{
			(across*load - w*sinh*cosh) / y[1],
			w + along*u*a*sinh*math.Abs(sinh)/cosh,
			cosh,
			sinh,
		}
	}

	bottom := z
	for i := len(h.Flow.breaksM); bottom > 0; i-- {
		top := 0.0
		if i > 0 {
			top = h.Flow.breaksM[i-1]
			if top >= bottom {
				continue
			}
			top = max(top, 0)
		}
		upper, lower = top+1e-12*z, bottom-1e-12*z
		end := 1 - top/z
		s.start()
		for s.x < end {
			// A floating line may lift the lure (no tension left), or come level
			// below the surface: chi then runs away and no step is short enough.
			before := s
			if !s.advance(end) {
				return Shape{}, false
			}
			if leader > 0 && s.y[2] >= leader {
				s = before.cut(s, 2, leader)
				use(h.Line)
				s.start()
				leader = 0
			}
			if s.y[2] > limit || s.y[1] <= 0 {
				return Shape{}, false
			}
		}
		bottom = top
	}
	return Shape{
		LineOutM:     s.y[2] * z,
		TrailM:       s.y[3] * z,
		LureAngleDeg: degFromVertical(chi),
		TipAngleDeg:  degFromVertical(s.y[0]),
		LureTensionN: lureT,
		TipTensionN:  s.y[1] * lureT,
	}, true
}

func degFromVertical(chi float64) float64 { return math.Atan(math.Sinh(chi)) * 180 / math.Pi }
