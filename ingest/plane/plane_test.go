package plane

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
	"gonum.org/v1/gonum/spatial/r2"
)

// EPSG Guidance Note 7-2, Transverse Mercator worked example (British National
// Grid): Airy 1830, origin 49° N 2° W, scale 0.9996013, false origin 400000 E,
// -100000 N. Tolerance: the note prints centimetres.
func TestMetresEPSGWorkedExample(t *testing.T) {
	f := newFrame(ellipsoid{6377563.396, 1 / 299.32496}, orb.Point{-2, 49}, 0.9996013)
	got := f.Metres(orb.Point{0.5, 50.5})
	if math.Abs(got.X+400000-577274.99) > 0.01 || math.Abs(got.Y-100000-69740.50) > 0.01 {
		t.Errorf("E %.4f N %.4f, want 577274.99 69740.50", got.X+400000, got.Y-100000)
	}
}

// UTM coordinates computed with GeographicLib 2.1.2 (GeoConvert), which is good
// to nanometres; printed to 0.1 mm. UTM is this projection with scale 0.9996
// and its origin on the equator.
func TestMetresUTM(t *testing.T) {
	for _, c := range []struct {
		name           string
		p              orb.Point
		lon0, falseN   float64
		eastM, northM_ float64
	}{
		{"on the central meridian", orb.Point{-93, 45}, -93, 0, 500000.0000, 4982950.4002},
		{"off it", orb.Point{-93.65, 46.25}, -93, 0, 449896.1992, 5122030.1204},
		{"south", orb.Point{175.9, -38.8}, 177, 10000000, 404480.2277, 5704842.6630},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFrame(wgs84, orb.Point{c.lon0, 0}, 0.9996)
			got := f.Metres(c.p)
			if math.Abs(got.X+500000-c.eastM) > 1e-3 || math.Abs(got.Y+c.falseN-c.northM_) > 1e-3 {
				t.Errorf("E %.4f N %.4f, want %.4f %.4f", got.X+500000, got.Y+c.falseN, c.eastM, c.northM_)
			}
		})
	}
}

// Distances in the plane against Karney's geodesics (github.com/tidwall/geodesic
// v0.3.5, a port of GeographicLib): 1 part in 10⁵ for points within 20 km of
// each other and of the origin, at any latitude a lake lies at. Short legs are
// allowed 1 micrometre besides, since the geodesic itself is rounded there.
func TestDistanceAgainstGeodesics(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for range 20000 {
		origin := orb.Point{rng.Float64()*360 - 180, rng.Float64()*140 - 70}
		f := New(origin)
		a := f.Degrees(r2.Scale(10000*math.Sqrt(rng.Float64()), Toward(rng.Float64()*360)))
		b := f.Degrees(r2.Scale(10000*math.Sqrt(rng.Float64()), Toward(rng.Float64()*360)))
		var want float64
		geodesic.WGS84.Inverse(a.Lat(), a.Lon(), b.Lat(), b.Lon(), &want, nil, nil)
		if off := math.Abs(f.DistanceM(a, b) - want); off > 1e-5*want+1e-6 {
			t.Fatalf("%v to %v from origin %v: %.6f m, want %.6f m", a, b, origin, f.DistanceM(a, b), want)
		} else if want > 1 {
			worst = math.Max(worst, off/want)
		}
	}
	if worst > 1.5e-6 { // x²/2R² at 10 km is 1.2e-6
		t.Errorf("worst relative error %.2g, the series promises 1.2e-6", worst)
	}
}

// The same at the edge of the promise: 20 km from the origin.
func TestDistanceAtTwentyKilometres(t *testing.T) {
	for lat := -70.0; lat <= 70; lat += 10 {
		f := New(orb.Point{-40, lat})
		for deg := 0.0; deg < 360; deg += 15 {
			p := f.Degrees(r2.Scale(20000, Toward(deg)))
			var want float64
			geodesic.WGS84.Inverse(lat, -40, p.Lat(), p.Lon(), &want, nil, nil)
			if math.Abs(20000-want) > 1e-5*want {
				t.Errorf("lat %v toward %v: 20000 m in the plane, %.3f m on the ellipsoid", lat, deg, want)
			}
		}
	}
}

func TestDegreesInvertsMetres(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 5000 {
		f := New(orb.Point{rng.Float64()*360 - 180, rng.Float64()*160 - 80})
		v := r2.Vec{X: rng.Float64()*2e5 - 1e5, Y: rng.Float64()*2e5 - 1e5}
		if back := f.Metres(f.Degrees(v)); r2.Norm(r2.Sub(back, v)) > 1e-6 {
			t.Fatalf("origin %v: %v came back as %v", f.Origin(), v, back)
		}
	}
}

func TestOriginIsZero(t *testing.T) {
	for _, p := range []orb.Point{{0, 0}, {-40, 36.5}, {179.999, -45}, {12, 89}} {
		if v := New(p).Metres(p); r2.Norm(v) > 1e-8 {
			t.Errorf("%v lies at %v of its own frame", p, v)
		}
	}
}

func TestAcrossTheDateLine(t *testing.T) {
	f := New(orb.Point{179.9999, 0})
	// Geodesic of 22.263898 m between 179.9999° E and 179.9999° W on the
	// equator: GeographicLib 2.1.2 (GeodSolve).
	if d := f.DistanceM(orb.Point{179.9999, 0}, orb.Point{-179.9999, 0}); math.Abs(d-22.263898) > 1e-6 {
		t.Errorf("%.6f m, want 22.263898 m", d)
	}
	if p := f.Degrees(r2.Vec{X: 22.263898}); math.Abs(p.Lon()+179.9999) > 1e-9 {
		t.Errorf("longitude %v, want -179.9999", p.Lon())
	}
}

func TestDirections(t *testing.T) {
	for _, c := range []struct {
		v    r2.Vec
		want float64
	}{
		{r2.Vec{Y: 1}, 0}, {r2.Vec{X: 1}, 90}, {r2.Vec{Y: -1}, 180}, {r2.Vec{X: -1}, 270}, {r2.Vec{}, 0},
		{r2.Vec{X: -1e-300, Y: 1}, 0},
	} {
		if got := BearingDeg(c.v); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("BearingDeg(%v) = %v, want %v", c.v, got, c.want)
		}
	}
	for _, c := range []struct{ a, b, want float64 }{
		{10, 350, -20}, {350, 10, 20}, {0, 180, 180}, {180, 0, 180}, {90, 90, 0}, {-10, 710, 0},
	} {
		if got := TurnDeg(c.a, c.b); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("TurnDeg(%v, %v) = %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

func ExampleFrame_Metres() {
	f := New(orb.Point{-40, 36.5})
	v := f.Metres(orb.Point{-39.999, 36.501})
	fmt.Printf("%.2f m east, %.2f m north\n", v.X, v.Y)
	// Output: 89.59 m east, 110.97 m north
}

func BenchmarkMetres(b *testing.B) {
	f := New(orb.Point{-40, 36.5})
	for b.Loop() {
		f.Metres(orb.Point{-40.01, 36.51})
	}
}

func BenchmarkDegrees(b *testing.B) {
	f := New(orb.Point{-40, 36.5})
	for b.Loop() {
		f.Degrees(r2.Vec{X: 800, Y: 900})
	}
}
