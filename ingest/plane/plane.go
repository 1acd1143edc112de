// Package plane turns degrees into local metres and back. It is the one place
// that knows the size and shape of the Earth.
//
// # Method
//
// A transverse Mercator projection of the WGS 84 ellipsoid whose central
// meridian and latitude of origin pass through a point of our choosing, with
// scale 1 on that meridian. It is computed by Krüger's series in the third
// flattening n to order n⁴ (L. Krüger, Konforme Abbildung des Erdellipsoids in
// der Ebene, 1912; the form used is that of C. F. F. Karney, Transverse Mercator
// with an accuracy of a few nanometers, J. Geodesy 85, 2011). Series and papers are
// cited from memory; the tests hold the figures against EPSG, GeographicLib and Karney's geodesics.
//
// By hand: from 36.5° N, 40° W a step of 0.001° north is 110.97 m and of 0.001°
// east is 89.59 m.
//
// # What it does badly
//
// Lengths x metres east or west of the origin are too long by the factor
// 1 + x²/2R²: 1.2 parts in 10⁶ at 10 km, 1 part in 10⁵ at 28 km. The directions
// of the axes turn away from true north by the convergence, about sin(latitude)
// times the difference in longitude. One lake fits; a country does not.
package plane

import (
	"math"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"
)

// An ellipsoid is given by its semi-major axis in metres and its flattening.
type ellipsoid struct{ aM, f float64 }

// WGS 84: defining parameters, NIMA TR8350.2 (3rd edition, 2000), table 3.1.
var wgs84 = ellipsoid{6378137, 1 / 298.257223563}

// A Frame is a local plane: x metres east and y metres north of its origin.
// The zero Frame is not usable; get one from New. It is safe for concurrent use.
type Frame struct {
	origin      orb.Point
	e           float64 // first eccentricity
	scaleM      float64 // rectifying radius times the scale on the central meridian
	alpha, beta [4]float64

	// Of the origin:
	lat0           float64 // radians
	sinLat, cosLat float64
	xi             float64 // conformal latitude, radians
	sinXi, cosXi   float64
	north          float64 // from the equator along the meridian, over scaleM
}

// New returns the plane that touches WGS 84 at origin, in degrees.
func New(origin orb.Point) Frame { return newFrame(wgs84, origin, 1) }

func newFrame(ell ellipsoid, origin orb.Point, k0 float64) Frame {
	n := ell.f / (2 - ell.f)
	n2, n3, n4 := n*n, n*n*n, n*n*n*n
	f := Frame{
		origin: origin,
		e:      math.Sqrt(ell.f * (2 - ell.f)),
		scaleM: k0 * ell.aM / (1 + n) * (1 + n2/4 + n4/64),
		alpha: [4]float64{
			n/2 - n2*2/3 + n3*5/16 + n4*41/180,
			n2*13/48 - n3*3/5 + n4*557/1440,
			n3*61/240 - n4*103/140,
			n4 * 49561 / 161280,
		},
		beta: [4]float64{
			n/2 - n2*2/3 + n3*37/96 - n4/360,
			n2/48 + n3/15 - n4*437/1440,
			n3*17/480 - n4*37/840,
			n4 * 4397 / 161280,
		},
	}
	f.lat0 = radians(origin.Lat())
	f.sinLat, f.cosLat = math.Sincos(f.lat0)
	sec := 1 / f.cosLat
	tau := f.conformal(f.sinLat*sec, sec, f.sinLat)
	f.xi = math.Atan(tau)
	f.cosXi = 1 / math.Sqrt(1+tau*tau)
	f.sinXi = tau * f.cosXi
	f.north = f.xi + real(sines(f.alpha, 2*f.sinXi*f.cosXi, f.cosXi*f.cosXi-f.sinXi*f.sinXi, 0, 1))
	return f
}

// Origin returns the point at (0, 0), in degrees.
func (f Frame) Origin() orb.Point { return f.origin }

// Metres returns where p lies, in metres east and north of the origin.
// Longitudes are taken the short way round, so a lake across 180° is whole.
// Points more than about 80° of longitude away give meaningless figures.
func (f Frame) Metres(p orb.Point) r2.Vec {
	east := p.Lon() - f.origin.Lon()
	if east < -180 || east > 180 {
		east = math.Remainder(east, 360)
	}
	sinLon, cosLon := sincos(radians(east))
	// Sines near the origin's by the sine of the small difference.
	sin, cos := sincos(radians(p.Lat()) - f.lat0)
	sinLat, cosLat := f.sinLat*cos+f.cosLat*sin, f.cosLat*cos-f.sinLat*sin
	sec := 1 / cosLat
	tau := f.conformal(sinLat*sec, sec, sinLat)
	// Everything the series asks of xi and eta follows from one root.
	h := 1 / math.Sqrt(tau*tau+cosLon*cosLon)
	sinXi, cosXi, sinhEta := tau*h, cosLon*h, sinLon*h
	coshEta := math.Sqrt(1 + sinhEta*sinhEta)
	series := sines(f.alpha, 2*sinXi*cosXi, cosXi*cosXi-sinXi*sinXi, 2*sinhEta*coshEta, 1+2*sinhEta*sinhEta)
	xi := f.xi // and the small difference from it, by its sine
	if d := sinXi*f.cosXi - cosXi*f.sinXi; math.Abs(d) < small && cosXi*f.cosXi+sinXi*f.sinXi > 0 {
		s := d * d
		xi += d * (1 + s*(1.0/6+s*(3.0/40+s*(15.0/336+s*(105.0/3456)))))
	} else {
		xi = math.Atan2(sinXi, cosXi)
	}
	return r2.Vec{X: f.scaleM * (asinh(sinhEta) + imag(series)), Y: f.scaleM * (xi + real(series) - f.north)}
}

// Degrees is the inverse of Metres, to better than a micrometre within 100 km.
// Longitudes come out within ±180°.
func (f Frame) Degrees(v r2.Vec) orb.Point {
	eta, xi := v.X/f.scaleM, v.Y/f.scaleM+f.north
	sin, cos := math.Sincos(2 * xi)
	sinh := math.Sinh(2 * eta)
	series := sines(f.beta, sin, cos, sinh, math.Sqrt(1+sinh*sinh))
	sinY, cosY := math.Sincos(xi - real(series))
	sinhX := math.Sinh(eta - imag(series))
	tau := f.geographic(sinY / math.Sqrt(sinhX*sinhX+cosY*cosY))
	lon := f.origin.Lon() + degrees(math.Atan2(sinhX, cosY))
	if lon < -180 || lon > 180 {
		lon = math.Remainder(lon, 360)
	}
	return orb.Point{lon, degrees(math.Atan(tau))}
}

// sines returns the sum of c[j-1] sin(2jz) for the complex z = xi + i eta by Clenshaw's recurrence, from the sine and
// cosine of 2 xi and the hyperbolic ones of 2 eta.
func sines(c [4]float64, sin, cos, sinh, cosh float64) complex128 {
	twice := complex(2*cos*cosh, -2*sin*sinh) // 2 cos 2z
	b4 := complex(c[3], 0)
	b3 := complex(c[2], 0) + twice*b4
	b2 := complex(c[1], 0) + twice*b3 - b4
	b1 := complex(c[0], 0) + twice*b2 - b3
	return b1 * complex(sin*cosh, cos*sinh)
}

// small is what the short series below are exact for, to the last digit or two: 127 km of the Earth.
const small = 0.02

// sincos is math.Sincos.
func sincos(x float64) (sin, cos float64) {
	if math.Abs(x) > small {
		return math.Sincos(x)
	}
	s := x * x
	return x * (1 - s*(1.0/6-s*(1.0/120-s*(1.0/5040)))), 1 - s*(1.0/2-s*(1.0/24-s*(1.0/720)))
}

// asinh is math.Asinh.
func asinh(x float64) float64 {
	if math.Abs(x) > small {
		return math.Asinh(x)
	}
	s := x * x
	return x * (1 - s*(1.0/6-s*(3.0/40-s*(15.0/336-s*(105.0/3456)))))
}

// DistanceM returns the distance between two points of one lake, in metres.
// It is good to 1 part in 10⁵ while both are within 20 km of each other and of
// the frame's origin.
func (f Frame) DistanceM(a, b orb.Point) float64 {
	return r2.Norm(r2.Sub(f.Metres(a), f.Metres(b)))
}

// conformal returns the tangent of the conformal latitude for the tangent, secant and sine of the geographic one (Karney
// 2011). The flattening is small, so that the two inverse and hyperbolic functions in it are short series.
func (f Frame) conformal(tan, sec, sin float64) float64 {
	x := f.e * f.e * sin * sin // at most 0.0067: the next terms are below 1e-16
	xx := x * x
	q := f.e * f.e * sin * ((1 + x*(1.0/3)) + xx*((1.0/5+x*(1.0/7))+xx*(1.0/9+x*(1.0/11))))
	qq := q * q
	sigma := q * (1 + qq*(1.0/6+qq*(1.0/120)))
	ss := sigma * sigma
	return tan*(1+ss*(1.0/2-ss*(1.0/8-ss*(1.0/16)))) - sigma*sec
}

// geographic inverts conformal by Newton's method (Karney 2011),
// which reaches full precision in two or three steps from here.
func (f Frame) geographic(want float64) float64 {
	e2 := f.e * f.e
	tau := want / (1 - e2)
	for range 5 {
		sec := math.Sqrt(1 + tau*tau)
		got := f.conformal(tau, sec, tau/sec)
		step := (want - got) / math.Sqrt(1+got*got) * (1 + (1-e2)*tau*tau) / ((1 - e2) * sec)
		tau += step
		if math.Abs(step) <= 1e-15*math.Max(1, math.Abs(tau)) {
			break
		}
	}
	return tau
}

// BearingDeg returns the direction of a vector, degrees clockwise from the
// plane's north, in [0, 360). The zero vector gives 0.
func BearingDeg(v r2.Vec) float64 {
	deg := degrees(math.Atan2(v.X, v.Y))
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 { // -1e-17 + 360 rounds up to 360
		deg = 0
	}
	return deg
}

// Toward returns the unit vector in a direction given in degrees clockwise from north.
func Toward(deg float64) r2.Vec {
	sin, cos := math.Sincos(radians(deg))
	return r2.Vec{X: sin, Y: cos}
}

// TurnDeg returns how far direction b lies clockwise of direction a, in (-180, 180].
func TurnDeg(a, b float64) float64 {
	d := math.Mod(b-a, 360)
	switch {
	case d > 180:
		d -= 360
	case d <= -180:
		d += 360
	}
	return d
}

func radians(deg float64) float64 { return deg * (math.Pi / 180) }
func degrees(rad float64) float64 { return rad * (180 / math.Pi) }
