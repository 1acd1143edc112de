package head

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"

	"leadline/ingest"
)

// A lure that sinks from rest and draws slack line down behind it: how long it
// takes to a depth.
//
//	m dv/dt = W - 1/2 rho (CdA + k z) v|v|,   dz/dt = v
//
// m is the lure's mass with the water it takes along, W its weight in water, CdA
// its drag area falling, k = Ct pi d the drag area each metre of line adds. With a
// leader of another thickness k changes at the depth of its length: the leader is
// drawn down first.
//
// Steps. From rest, scaled by the depth and by the time a fall without drag would
// take, the two equations are integrated (runge.go). Soon the lure has its speed
// and only loses it slowly as line is drawn down. From there the remaining time is
// the integral of dz/v, with the speed that balances weight and drag at each depth,
// corrected for slowing down: with x = CdA + k z and q = m k/(rho x²), small by
// then,
//
//	v² = 2W/(rho x) (1 + q + 3q² + ...)
//
// which is the equation for v² over z solved term by term. Where k changes, v² is
// still on the old series and comes to the new one as e^(-z/h), h = m/(rho x), which
// shortens the time by (q1 - q2)/2 h/v. A depth reached before that ends the
// integration: the step that passes it is cut to end at it, by Newton's method, and
// so at the end of a leader.
//
// By hand, with CdA constant and no line, v = vt tanh(t/tau) with vt = sqrt(2W/(rho
// CdA)) and tau = m vt/W: 1/4 oz with W 0.0634 N and CdA 1.215e-4 m² has vt 1.022
// m/s and tau 0.119 s, and passes 12 m after 12/1.022 + 0.119 ln 2 = 11.83 s.
//
// Cost: some forty steps and a sum of sixteen terms; a step for each 1.5 tau all
// the way for a bare small head on thick line, where q stays large. What it does
// badly: a lure that glides or spirals, a line held tight, a current that carries
// the line away, and a bait's own mass (it is taken to weigh what its water weighs,
// and to have no inertia; that is worth a tenth of a second).
//
// Source: Newton's second law with drag and added mass; the closed forms and the
// series are derived.

// sinkTol is the error of one step over depth and speed; it keeps the time to 1e-6.
const sinkTol = 1e-8

const (
	settledTaus = 12   // a start's memory fades as e^(-2t/tau): 4e-11 is left
	settledQ    = 2e-3 // the series' first neglected term is 15q³, 1.2e-7
	slowNodes   = 16   // of Gauss and Legendre; the integrand is a root of the depth, nearly
)

// A Fall is a lure that sinks from rest at the surface.
type Fall struct {
	WeightN   float64  // in water
	InertiaKg float64  // mass and added mass
	Drag      DragArea // falling
	LineM     float64  // drag area added by each metre of line drawn down, m²/m; 0 for none
	Water     Water
	DepthM    float64

	LeaderM2 float64 // what LineM is for the line next to the lure, when that is another, m²/m
	LeaderM  float64 // its length; 0 for none
}

// fallOf is a head that sinks to depthM with its line drawn down behind it.
func fallOf(h ingest.Head, drag DragArea, line ingest.Line, w Water, depthM float64) Fall {
	f := Fall{
		WeightN:   h.MassKg * GravityMPS2 * (1 - w.DensityKgM3/h.DensityKgM3),
		InertiaKg: h.MassKg * (1 + addedMassOfSphere*w.DensityKgM3/h.DensityKgM3),
		Drag:      drag,
		LineM:     LineIn(line, w).alongM(),
		Water:     w,
		DepthM:    depthM,
	}
	leader, length := LeaderIn(line, w)
	f.LeaderM2, f.LeaderM = leader.alongM(), length
	return f
}

// Seconds returns the time to the depth, to 5e-6 of it
// (TestSinkSeriesAgainstIntegration); 0 for depth 0. ok is false for a lure that
// floats or has no mass.
func (f Fall) Seconds() (seconds float64, ok bool) {
	if !(f.WeightN > 0) || !(f.InertiaKg > 0) {
		return 0, false
	}
	if f.DepthM == 0 {
		return 0, true
	}
	free := math.Sqrt(2 * f.DepthM * f.InertiaKg / f.WeightN)
	speed := f.DepthM / free
	s := stepper[[2]float64]{tol: sinkTol, h: 1e-3}
	half := 0.5 * f.Water.DensityKgM3
	var k float64              // of the line next to be drawn down
	var line0, perLine float64 // its drag over v|v|: at depth 0, were there no other, and what DepthM of it adds
	use := func(lineM, fromM float64) {
		k = lineM
		line0, perLine = half*(f.lineAreaM2(fromM)-k*fromM), half*k*f.DepthM
	}
	end := f.DepthM
	if f.LeaderM > 0 {
		use(f.LeaderM2, 0)
		end = min(f.LeaderM, f.DepthM)
	} else {
		use(f.LineM, 0)
	}
	s.f = func(_ float64, y [2]float64) [2]float64 {
		v := y[1] * speed
		drag := f.Drag.ForceN(v, f.Water) + (line0+perLine*y[0])*v*math.Abs(v)
		return [2]float64{y[1], 2 * (1 - drag/f.WeightN)}
	}
	memory := func(z float64) float64 { return settledTaus * f.InertiaKg * f.terminal(z) / f.WeightN / free }
	settled := memory(0)
	s.start()
	for {
		if z := s.y[0] * f.DepthM; s.x > settled && f.q(z, k) < settledQ {
			if end == f.DepthM {
				return s.x*free + f.slowSeconds(z, end, k), true
			}
			if f.q(end, f.LineM) < settledQ {
				return s.x*free + f.slowSeconds(z, end, k) + f.slowSeconds(end, f.DepthM, f.LineM) - f.leadSeconds(), true
			}
		}
		before := s
		if !s.advance(math.Inf(1)) {
			return 0, false
		}
		if s.y[0]*f.DepthM < end {
			continue
		}
		s = before.cut(s, 0, end/f.DepthM)
		if end == f.DepthM {
			return s.x * free, true
		}
		use(f.LineM, end)
		s.start()
		settled = max(settled, s.x+memory(end))
		end = f.DepthM
	}
}

// slowSeconds is the time from one depth to another by the series, k the drag area
// that each metre adds.
func (f Fall) slowSeconds(fromM, toM, k float64) float64 {
	return quad.Fixed(func(z float64) float64 {
		q := f.q(z, k)
		return 1 / (f.terminal(z) * math.Sqrt(1+q+3*q*q))
	}, fromM, toM, slowNodes, nil, 0)
}

// leadSeconds is what a lure gains below the end of its leader, because it comes
// there faster than the series of the line above would have it.
func (f Fall) leadSeconds() float64 {
	v := f.terminal(f.LeaderM)
	x := 2 * f.WeightN / (f.Water.DensityKgM3 * v * v)
	h := f.InertiaKg / (f.Water.DensityKgM3 * x)
	lead := (f.q(f.LeaderM, f.LeaderM2) - f.q(f.LeaderM, f.LineM)) / 2
	return lead * h / v * (1 - math.Exp(-(f.DepthM-f.LeaderM)/h))
}

// lineAreaM2 is the drag area of the line drawn down to z.
func (f Fall) lineAreaM2(z float64) float64 {
	leader := min(z, max(f.LeaderM, 0))
	return f.LeaderM2*leader + f.LineM*(z-leader)
}

// terminal is the speed at which drag balances weight with the line drawn down to z.
func (f Fall) terminal(z float64) float64 {
	balance := func(area float64) float64 { return math.Sqrt(2 * f.WeightN / (f.Water.DensityKgM3 * area)) }
	line := f.lineAreaM2(z)
	if f.Drag.SphereM == 0 {
		return balance(f.Drag.BodyM2 + line)
	}
	// The sphere's area falls more slowly than its speed rises (as 1/v at worst,
	// Stokes), so putting the speed back in at least halves the error.
	v := balance(f.Drag.BodyM2 + line + math.Pi/8*f.Drag.SphereM*f.Drag.SphereM)
	for range 60 {
		next := balance(f.Drag.areaM2(v, f.Water) + line)
		if math.Abs(next-v) < 1e-9*v {
			return next
		}
		v = next
	}
	return v
}

// q is the small quantity of the series at z, where each metre of line adds k.
func (f Fall) q(z, k float64) float64 {
	v := f.terminal(z)
	x := 2 * f.WeightN / (f.Water.DensityKgM3 * v * v)
	return f.InertiaKg * k / (f.Water.DensityKgM3 * x * x)
}
