package head

import "math"

// Ordinary differential equations by Dormand & Prince's method of order 5 with an
// error estimate of order 4.
//
// Steps, for dy/dx = f(x, y): seven slopes, each at a point reached with the
// ones before; the weighted sum of six gives the new y; the same slopes with
// other weights give y to one order less, and the difference is the error of the
// step. A step whose error is above the tolerance is taken again, shorter; the
// next one is stretched or shrunk by (tolerance/error)^(1/5). The seventh slope is
// the first of the next step, so a step costs six evaluations.
//
// By hand: dy/dx = y from y = 1 with a step of 1/10 gives 1.1051709183 and misses e^0.1
// by 2.6e-10; with 1/20, twice, by 8.8e-12.
//
// What it does badly: stiff equations. A lure's fall is one, mildly: once it
// has its speed, steps stay near three times the time it takes to reach it.
//
// Source: Dormand & Prince 1980, J. Comp. Appl. Math. 6, 19; coefficients in
// Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I, 1993,
// table II.5.2; step control there, equation II.4.13.

// A vector is the state of one of the two models.
type vector interface{ [2]float64 | [4]float64 }

// A stepper walks along a solution. Set everything but k, then call start.
type stepper[V vector] struct {
	f   func(x float64, y V) V
	tol float64 // error of a step, absolute for small values and relative for large ones
	x   float64
	h   float64 // next step to try
	y   V
	k   V // slope at x, y
}

// start takes the slope at the present point; again after f has jumped.
func (s *stepper[V]) start() { s.k = s.f(s.x, s.y) }

// advance takes one step that ends at limit at the latest. It returns false,
// and stays where it was, when no step is short enough: the solution runs away.
func (s *stepper[V]) advance(limit float64) bool {
	for {
		h, last := s.h, false
		if s.x+h >= limit {
			h, last = limit-s.x, true
		}
		y, k, e := s.try(h)
		// The comparison is false for NaN, which must count as too large.
		if e <= 1 {
			s.y, s.k = y, k
			s.x += h
			if last {
				s.x = limit
			}
			if grow := stretch(e); !last || grow < 1 {
				s.h = h * grow
			}
			return true
		}
		s.h = h * stretch(e)
		if s.x+s.h <= s.x || s.h < 1e-13 {
			return false
		}
	}
}

// cut returns the end of a step from s that was too long: where component i of the
// state, which must rise, is at. past is where the step ended. The step to try
// next stays what it was.
func (s stepper[V]) cut(past stepper[V], i int, at float64) stepper[V] {
	h, y, k := past.x-s.x, past.y, past.k
	for range 8 {
		miss := (y[i] - at) / k[i]
		h -= miss
		if math.Abs(miss) < 1e-12*(s.x+h) {
			break
		}
		y, k, _ = s.try(h)
	}
	s.x, s.y, s.k, s.h = s.x+h, y, k, past.h
	return s
}

// stretch is the factor to the next step, with the customary caution: 0.9 of
// what the estimate allows, never more than 5 or less than a fifth.
func stretch(e float64) float64 {
	if !(e < math.Inf(1)) {
		return 0.2
	}
	if e == 0 {
		return 5
	}
	return min(5, max(0.2, 0.9*math.Pow(e, -0.2)))
}

// try takes a step of h from the present point without moving there. It returns
// the new state, the slope there, and the largest error over what is allowed.
func (s *stepper[V]) try(h float64) (y, k7 V, e float64) {
	x, y0, k1 := s.x, s.y, s.k
	n := len(y)
	var p V
	for i := 0; i < n; i++ {
		p[i] = y0[i] + h*(1.0/5)*k1[i]
	}
	k2 := s.f(x+h/5, p)
	for i := 0; i < n; i++ {
		p[i] = y0[i] + h*(3.0/40*k1[i]+9.0/40*k2[i])
	}
	k3 := s.f(x+h*3/10, p)
	for i := 0; i < n; i++ {
		p[i] = y0[i] + h*(44.0/45*k1[i]-56.0/15*k2[i]+32.0/9*k3[i])
	}
	k4 := s.f(x+h*4/5, p)
	for i := 0; i < n; i++ {
		p[i] = y0[i] + h*(19372.0/6561*k1[i]-25360.0/2187*k2[i]+64448.0/6561*k3[i]-212.0/729*k4[i])
	}
	k5 := s.f(x+h*8/9, p)
	for i := 0; i < n; i++ {
		p[i] = y0[i] + h*(9017.0/3168*k1[i]-355.0/33*k2[i]+46732.0/5247*k3[i]+49.0/176*k4[i]-5103.0/18656*k5[i])
	}
	k6 := s.f(x+h, p)
	for i := 0; i < n; i++ {
		y[i] = y0[i] + h*(35.0/384*k1[i]+500.0/1113*k3[i]+125.0/192*k4[i]-2187.0/6784*k5[i]+11.0/84*k6[i])
	}
	k7 = s.f(x+h, y)
	for i := 0; i < n; i++ {
		d := h * (71.0/57600*k1[i] - 71.0/16695*k3[i] + 71.0/1920*k4[i] -
			17253.0/339200*k5[i] + 22.0/525*k6[i] - 1.0/40*k7[i])
		r := math.Abs(d) / (s.tol * (1 + max(math.Abs(y0[i]), math.Abs(y[i]))))
		e = max(e, r) // NaN stays
	}
	return y, k7, e
}
