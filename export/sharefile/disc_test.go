package sharefile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/tidwall/geodesic"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

var testKey = []byte("a key for tests, thirty-two bytes")

// star returns a ring around a place, its corners between a third of size and size away.
func star(rng *rand.Rand, at orb.Point, size float64) orb.Polygon {
	f := plane.New(at)
	n := 3 + rng.IntN(40)
	var r orb.Ring
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(n))
		d := size * (1 + 2*rng.Float64()) / 3
		r = append(r, f.Degrees(r2.Vec{X: d * cos, Y: d * sin}))
	}
	return orb.Polygon{append(r, r[0])}
}

func anywhere(rng *rand.Rand) orb.Point {
	return orb.Point{-179 + 358*rng.Float64(), -70 + 140*rng.Float64()}
}

// TestDiscHoldsZone: the polygon as it is written holds every corner of the zone, by the
// point-in-polygon test of orb v0.14.0; being convex it holds the whole zone then. Every
// corner lies on the circle, by Karney's geodesics (tidwall/geodesic v0.3.5).
func TestDiscHoldsZone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 800 {
		zone := export.Polygon(star(rng, anywhere(rng), math.Pow(10, 0.5+2.5*rng.Float64()))) // 3 m to 1 km
		c := around(zone)
		radiusM := c.leastM()
		if i%3 > 0 {
			radiusM = min(radiusM*math.Pow(10, rng.Float64()), MostCoarseM)
		}
		centre := c.shifted(testKey, radiusM)
		disc := export.Polygon(polygon(centre, radiusM))
		for _, p := range zone[0] {
			if !planar.PolygonContains(disc, p) {
				t.Fatalf("%d: a disc of %.1f m leaves out a corner of a zone that reaches %.1f m", i, radiusM, c.reachM)
			}
		}
		for _, p := range disc[0] {
			var d float64
			geodesic.WGS84.Inverse(centre[1], centre[0], p[1], p[0], &d, nil, nil)
			if math.Abs(d-radiusM) > 0.02+1e-5*radiusM { // a centimetre of rounding each way
				t.Fatalf("%d: a corner is %.3f m from the centre, want %.3f", i, d, radiusM)
			}
		}
		if off := plane.New(c.centre).DistanceM(c.centre, centre); off < nearShare*radiusM-0.01 || off > radiusM-c.reachM {
			t.Fatalf("%d: the shift is %.1f m at a radius of %.1f and a reach of %.1f", i, off, radiusM, c.reachM)
		}
	}
}

// TestByHand is the example at the top of disc.go.
func TestByHand(t *testing.T) {
	c := circle{centre: exporttest.Origin, reachM: 30}
	if got := c.leastM(); math.Abs(got-67.1) > 0.05 {
		t.Errorf("least radius %.2f", got)
	}
	farM := 0.0
	for i := range 2000 { // places in other cells each
		c.centre = orb.Point{-40 + 0.005*float64(i%50), 36 + 0.005*float64(i/50)}
		farM = max(farM, plane.New(c.centre).DistanceM(c.centre, c.shifted(testKey, 200)))
	}
	if farM > 169.67 || farM < 169 { // the farthest of 2000 is within 0.1 m of the limit as a rule
		t.Errorf("farthest shift %.2f m", farM)
	}
}

// TestCircle: the centroid of a triangle is the mean of its corners, that of a square its
// middle (textbook), wherever more points stand on the sides.
func TestCircle(t *testing.T) {
	f := plane.New(exporttest.Origin)
	ring := func(xy ...float64) orb.Polygon {
		var r orb.Ring
		for i := 0; i < len(xy); i += 2 {
			r = append(r, f.Degrees(r2.Vec{X: xy[i], Y: xy[i+1]}))
		}
		return orb.Polygon{append(r, r[0])}
	}
	for _, c := range []struct {
		name         string
		shape        orb.Polygon
		x, y, reachM float64
	}{
		{"triangle", ring(0, 0, 90, 0, 0, 60), 30, 20, math.Hypot(60, 20)},
		{"square with more points on a side", ring(0, 0, 10, 0, 20, 0, 30, 0, 40, 0, 40, 40, 0, 40), 20, 20, math.Hypot(20, 20)},
	} {
		for range 2 {
			got := around(c.shape)
			if v := f.Metres(got.centre); math.Hypot(v.X-c.x, v.Y-c.y) > 1e-3 || math.Abs(got.reachM-c.reachM) > 2e-3 {
				t.Errorf("%s: %v, reach %.3f; want %v, %v, %.3f", c.name, v, got.reachM, c.x, c.y, c.reachM)
			}
			slices.Reverse(c.shape[0])
		}
	}
}

// TestAveraging: a receiver who gets a share after each of fifty days, on each of which the
// zone's middle lies a few metres elsewhere, and takes the mean of the discs' centres,
// doesn't come near the zone.
//
// Within a cell of the grid the shift is one and at least 0.4 R, so a mean nearer than R/3
// takes centres on both sides of a line: one within two standard deviations, 2 s, of the
// middle. That happens in 2 × 4 s / R of all places, and two shifts of random directions
// balance well enough in less than half of these.
func TestAveraging(t *testing.T) {
	const s, shares, places = 3.0, 50, 600
	rng := rand.New(rand.NewPCG(3, 4))
	for _, radiusM := range []float64{150, 300, 1000} {
		near, outside := 0, 0
		for range places {
			f := plane.New(anywhere(rng))
			reachM := 0.2 * radiusM * rng.Float64()
			var mean r2.Vec
			for range shares {
				at := r2.Vec{X: s * rng.NormFloat64(), Y: s * rng.NormFloat64()}
				c := circle{centre: f.Degrees(at), reachM: reachM + rng.NormFloat64()}
				to := f.Metres(c.shifted(testKey, radiusM))
				if r2.Norm(r2.Sub(to, at))+c.reachM > radiusM*inner {
					outside++
				}
				mean = r2.Add(mean, r2.Scale(1.0/shares, to))
			}
			if r2.Norm(mean) < radiusM/3 {
				near++
			}
		}
		most := 0.5 * 2 * 4 * s / radiusM
		t.Logf("R %.0f m: %.1f %% of means within R/3, bound %.1f %%", radiusM, 100*float64(near)/places, 100*most)
		if share := float64(near) / places; share > most {
			t.Errorf("R %.0f m: %.1f %% of the means are within R/3 of the zone, want %.1f %% at most", radiusM, 100*share, 100*most)
		}
		if outside > 0 {
			t.Errorf("R %.0f m: %d zones reach out of their disc", radiusM, outside)
		}
	}
}

// TestShiftsAreEven: over many places every direction and every part of the ring is as
// likely. A count of n with chance p has the standard deviation √(np(1-p)); five of them.
func TestShiftsAreEven(t *testing.T) {
	const n, parts = 8000, 8
	rng := rand.New(rand.NewPCG(5, 6))
	var direction, length [parts]int
	const radiusM, farM = 200.0, 170.0
	for range n {
		v := shift(testKey, anywhere(rng), radiusM, farM)
		turn := (math.Atan2(v.Y, v.X) + math.Pi) / (2 * math.Pi)
		direction[min(int(parts*turn), parts-1)]++
		near := nearShare * radiusM
		length[min(int(parts*(r2.Norm2(v)-near*near)/(farM*farM-near*near)), parts-1)]++
	}
	const p = 1.0 / parts
	for i := range parts {
		for what, got := range map[string]int{"direction": direction[i], "length": length[i]} {
			if math.Abs(float64(got)-n*p) > 5*math.Sqrt(n*p*(1-p)) {
				t.Errorf("%s part %d: %d of %d", what, i, got, n)
			}
		}
	}
}

// TestShiftChanges tells what changes a shift and what doesn't.
func TestShiftChanges(t *testing.T) {
	c := circle{centre: orb.Point{-40.0123, 36.5123}, reachM: 40}
	base := c.shifted(testKey, 200)
	if c.shifted(testKey, 200) != base {
		t.Error("the same place has two shifts")
	}
	f := plane.New(c.centre)
	for name, other := range map[string]orb.Point{"another key": c.shifted([]byte("other"), 200), "another radius": c.shifted(testKey, 200.02)} {
		if f.DistanceM(base, other) < 1 {
			t.Errorf("%s: the same shift", name)
		}
	}
	// Were two radii's shifts in proportion, the two centres and the zone's would lie on
	// one line.
	straight := 0
	for i := range 400 {
		c.centre = orb.Point{-40 + 0.01*float64(i), 36.5}
		f := plane.New(c.centre)
		a, b := f.Metres(c.shifted(testKey, 200)), f.Metres(c.shifted(testKey, 400))
		if math.Abs(a.X*b.Y-a.Y*b.X) < 0.1*r2.Norm(a)*r2.Norm(b) && a.X*b.X+a.Y*b.Y > 0 {
			straight++
		}
	}
	// By chance: 2 asin 0.1 of 2π, 3.2 %, 13 of 400 with a standard deviation of 3.5.
	if straight > 31 {
		t.Errorf("%d of 400 pairs lie on a line with the zone", straight)
	}
}

// TestKey: days added later, other zones and the order of the events leave the discs alone;
// the first day makes them.
func TestKey(t *testing.T) {
	c := exporttest.Season().Chart
	discs := func(c spatial.Chart) []orb.Point {
		t.Helper()
		items, err := share(c, Options{CoarseM: ingest.Known(250), Zones: []string{"Z1", "Z2"}})
		if err != nil {
			t.Fatal(err)
		}
		return []orb.Point{items[0].at, items[1].at}
	}
	base := discs(c)
	late, early := c, c
	day := c.Events[3].Time.AddDate(1, 0, 0)
	late.Events = append(slices.Clone(c.Events), spatial.EventMark{Time: day, At: exporttest.Origin}, spatial.EventMark{At: exporttest.Origin})
	late.Zones = append(slices.Clone(c.Zones[1:]), spatial.Zone{ID: "Z9", Proven: true, Shape: c.Zones[0].Shape}, c.Zones[0])
	slices.Reverse(late.Events)
	slices.Reverse(late.Zones)
	if got := discs(late); got[0] != base[0] || got[1] != base[1] {
		t.Errorf("a later day moved the discs: %v, %v", base, got)
	}
	early.Events = append(slices.Clone(c.Events), spatial.EventMark{Time: day.AddDate(-5, 0, 0), At: exporttest.Origin})
	if got := discs(early); got[0] == base[0] || got[1] == base[1] {
		t.Error("an earlier first day left a disc where it was")
	}
	untimed := c
	untimed.Events = slices.Clone(c.Events)
	for i := range untimed.Events {
		untimed.Events[i].Time = time.Time{}
	}
	if got := discs(untimed); got[0] == base[0] {
		t.Error("events without time gave the same key")
	}
}
