package head

import (
	"math"

	"leadline/ingest"
)

// Drag of the things in the water: a sphere (the head), a soft body (the
// trailer), a thin cylinder (the line).
//
// Steps: Reynolds number from speed and diameter; coefficient from it; force =
// 1/2 rho Cd A u|u|. By hand: a 1/4 oz lead head is a sphere of 10.6 mm; at
// 0.22 m/s in water of nu 1.14e-6 m²/s Re is 2050, Cd 0.405, area 8.8e-5 m², so
// Cd A is 3.6e-5 m² and the force 0.87 mN.
//
// Cost: one or two powers each. What it does badly: a head is not a sphere and
// a swimming trailer is not a stiff body; above Re 2e5 (12 m/s) the sphere's
// drag drops and this does not.

const (
	// TangentialCt is the drag coefficient of water along the line, on its wetted
	// surface pi d: skin friction of a smooth flexible line (Hoerner, Fluid-Dynamic
	// Drag, 1965, gives 0.01 to 0.03; from memory). It matters little while the
	// line hangs (1 % of its tension) and more while it is drawn down.
	TangentialCt = 0.02

	// sinkAreaPerLength2 is the drag area of a lure that sinks, over the square of
	// its trailer's length: a soft swimbait falls across the flow, so length counts,
	// not the head. Assumed, from memory of sink rates: about 0.36 m/s for 1/8 oz
	// with 2.8 in and 0.52 m/s for 1/2 oz with 3.8 in; common practice, no source,
	// says one to two feet a second. Sink time goes with its root.
	sinkAreaPerLength2 = 0.1

	// streamAreaPerLength2 is the same for a lure that is towed: the trailer then
	// lies along the flow. Assumed, not measured: a round body as thick as a sixth
	// of its length with Cd 0.7 on its frontal area (blunt bodies along the flow
	// have 0.6 to 0.9, Hoerner 1965, from memory), 0.7 (pi/4)/36. Most of the drag
	// is the line's: doubling this moves none of the picks of TestTradePicks.
	streamAreaPerLength2 = 0.015

	// addedMassOfSphere is the mass of water a sphere takes along when it speeds
	// up, over the mass it displaces. Exact in ideal flow (Lamb, Hydrodynamics,
	// 1932, §92).
	addedMassOfSphere = 0.5
)

// SphereCd returns the drag coefficient of a smooth sphere on its frontal area
// at a Reynolds number above 0 and below 2e5: Brown & Lawler 2003 (J. Environ.
// Eng. 129, 222). It is within 6 % of other common fits.
func SphereCd(re float64) float64 {
	return 24/re*(1+0.150*math.Pow(re, 0.681)) + 0.407/(1+8710/re)
}

// DragArea is how much a lure drags: a fixed part and a sphere. Either may be 0.
type DragArea struct {
	BodyM2  float64 // drag coefficient times area, at every speed
	SphereM float64 // diameter of a sphere whose drag is added
}

// ForceN returns the drag in newtons in water that passes at speedMPS; its sign
// is that of the speed.
func (a DragArea) ForceN(speedMPS float64, w Water) float64 {
	if speedMPS == 0 {
		return 0
	}
	return 0.5 * w.DensityKgM3 * a.areaM2(speedMPS, w) * speedMPS * math.Abs(speedMPS)
}

// areaM2 is drag coefficient times area at a speed other than 0.
func (a DragArea) areaM2(speedMPS float64, w Water) float64 {
	area := a.BodyM2
	if a.SphereM > 0 {
		re := math.Abs(speedMPS) * a.SphereM / w.ViscosityM2PS
		area += SphereCd(re) * math.Pi / 4 * a.SphereM * a.SphereM
	}
	return area
}

// LineInWater is a line as the water sees it: a smooth cylinder.
//
// Across the flow its drag coefficient, on its diameter, follows White, Viscous
// Fluid Flow: 1 + 10 Re^(-2/3), for Reynolds numbers from 1 to 2e5 (below 1 it only
// stays finite, and so small is the drag there that it doesn't matter). At the 30
// to 400 of a line in a slow drift that is well above the 1.2 of textbooks, and
// within 2 % of Sucker & Brauer 1975 from 100 to 300.
type LineInWater struct {
	DiameterM   float64
	WeightNPerM float64      // less what its water weighs; negative when the line floats
	Cn          ingest.Maybe // drag coefficient across the line; unknown: by Reynolds number
	Ct          float64      // along the line, on its surface
}

// LineIn puts a line into water, with the drag the tool uses: by Reynolds number
// across it and TangentialCt along it.
func LineIn(l ingest.Line, w Water) LineInWater {
	return LineInWater{
		DiameterM:   l.DiameterM,
		WeightNPerM: (l.DensityKgM3 - w.DensityKgM3) * GravityMPS2 * math.Pi / 4 * l.DiameterM * l.DiameterM,
		Ct:          TangentialCt,
	}
}

// LeaderIn is [LineIn] for the line's leader, and the leader's length in metres, 0
// when it has none.
func LeaderIn(l ingest.Line, w Water) (leader LineInWater, lengthM float64) {
	if l.Leader == nil {
		return LineInWater{}, 0
	}
	return LineIn(ingest.Line{DiameterM: l.Leader.DiameterM, DensityKgM3: l.Leader.DensityKgM3}, w), l.Leader.LengthM
}

// white is 10 Re^(-2/3) at 1 m/s across the line: times u^(-2/3) it is White's second
// term, which stays finite times u² when u goes to 0.
func (l LineInWater) white(w Water) float64 {
	if !(l.DiameterM > 0) {
		return 0
	}
	c := math.Cbrt(w.ViscosityM2PS / l.DiameterM)
	return 10 * c * c
}

// alongM is the drag area of a metre of line that is drawn along itself.
func (l LineInWater) alongM() float64 { return l.Ct * math.Pi * l.DiameterM }
