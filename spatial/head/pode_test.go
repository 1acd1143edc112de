package head

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// The cable functions of Pode (1951, DTMB Report 687): tension, arc, trail and depth of a heavy line towed level as functions
// of its angle alone, in units of the tension at its foot and the drag across a metre of it. With theta from vertical,
// x = sin(theta), w the line's weight over its drag across, both a metre, and no drag along it:
//
//	d ln(tau)/dtheta = w cos(theta) / D       D = cos²(theta) - w sin(theta), 0 at the critical angle
//	d sigma/dtheta   = tau / D                arc
//	d xi/dtheta      = tau sin(theta) / D     trail
//	d eta/dtheta     = tau cos(theta) / D     depth
//
// The first is a rational function of x, so with xc and xd the roots of 1 - x² - w x, tau is the power -w/(xc-xd) of
// (xc-x)/(x-xd) over its value at the foot, and eta is (tau-1)/w. The others are taken here by Gauss-Legendre quadrature in theta
// (gonum), which shares nothing with the integration over depth that is tested. Definitions from memory, the rest derived; the
// report's printed tables were not to be had, so no figure of them is quoted.
func TestHangPodeFunctions(t *testing.T) {
	const pull, load = 0.13, 0.02 // N at the foot, N/m across the line
	for _, w := range []float64{0.01, 0.1, 0.5, 2, 10} {
		root := math.Sqrt(w*w + 4)
		xc, xd := (root-w)/2, -(root+w)/2
		critical := math.Asin(xc)
		for _, foot := range []float64{0, 0.3, 0.7} { // of the way to the critical angle
			for _, top := range []float64{0.2, 0.5, 0.8, 0.95} {
				if top <= foot {
					continue
				}
				t.Run(fmt.Sprintf("w %g from %g to %g", w, foot, top), func(t *testing.T) {
					from, to := foot*critical, top*critical
					part := func(theta float64) float64 { x := math.Sin(theta); return (xc - x) / (x - xd) }
					tau := func(theta float64) float64 { return math.Pow(part(theta)/part(from), -w/(xc-xd)) }
					along := func(f func(theta float64) float64) float64 {
						return quad.Fixed(func(theta float64) float64 {
							sin, cos := math.Sincos(theta)
							return tau(theta) * f(theta) / (cos*cos - w*sin)
						}, from, to, 200, quad.Legendre{}, 0)
					}
					metre := pull / load
					depthM := metre * (tau(to) - 1) / w
					near(t, "depth by quadrature", metre*along(math.Cos), depthM, 1e-9)

					sin, cos := math.Sincos(from)
					s := mustHang(t, scaled(pull*cos, pull*sin, load, 0, w*load, depthM, Uniform(1)))
					near(t, "tau", s.TipTensionN/pull, tau(to), 1e-7)
					near(t, "sigma", s.LineOutM, metre*along(func(float64) float64 { return 1 }), 1e-6)
					near(t, "xi", s.TrailM, metre*along(math.Sin), 1e-6)
					near(t, "angle", s.TipAngleDeg, to*180/math.Pi, 1e-6)
				})
			}
		}
	}
}
