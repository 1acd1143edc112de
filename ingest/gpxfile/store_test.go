package gpxfile

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

type stored struct {
	r   reading
	pos orb.Point
}

func roundTrip(t *testing.T, points []stored) int {
	t.Helper()
	var s store
	soundings := 0
	for i := range points {
		s.add(&points[i].r, points[i].pos)
		if sounds(&points[i].r, points[i].pos) {
			soundings++
		}
	}
	if s.n != len(points) || s.soundings != soundings {
		t.Fatalf("%d points and %d soundings, want %d and %d", s.n, s.soundings, len(points), soundings)
	}
	size := len(s.buf)
	for _, c := range s.chunks {
		size += len(c)
	}
	i := 0
	s.each(func(r *reading, pos orb.Point) {
		if got := (stored{*r, pos}); got != points[i] {
			t.Fatalf("point %d: %+v, want %+v", i, got, points[i])
		}
		for c := range 2 {
			if math.Signbit(pos[c]) != math.Signbit(points[i].pos[c]) {
				t.Fatalf("point %d: sign of %v", i, pos)
			}
		}
		i++
	})
	if i != len(points) {
		t.Fatalf("%d of %d points", i, len(points))
	}
	return size
}

// What goes into a store comes out bit for bit, whatever it is.
func TestStoreKeepsAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 0.1, 36.5, -40.123456789012345, 1 << 53, 1<<53 + 2, -(1 << 60), 1e300, 5e-324, math.MaxFloat64, 1.0 / 3, 123456789.123456789}
	number := func() float64 {
		switch rng.IntN(4) {
		case 0:
			return odd[rng.IntN(len(odd))]
		case 1:
			return rng.NormFloat64()
		case 2:
			return math.Round(rng.Float64()*1e7) / 1e7
		}
		return float64(rng.IntN(1000)) / 10
	}
	maybe := func() ingest.Maybe {
		if rng.IntN(3) == 0 {
			return ingest.Maybe{}
		}
		return ingest.Known(number())
	}
	var points []stored
	for i := range 5_000 {
		p := stored{pos: orb.Point{number(), number()}}
		p.r = reading{line: i * 3, depthM: maybe(), tempC: maybe(), speedMPS: maybe(), courseDeg: maybe()}
		if rng.IntN(3) > 0 {
			p.r.time = time.Unix(rng.Int64N(4e9)-1e8, rng.Int64N(1e9)).UTC()
		}
		points = append(points, p)
	}
	roundTrip(t, points)
	roundTrip(t, nil)
	var far []stored // to and fro over differences that fill a varint
	for i := range 30 {
		v := math.Ldexp([]float64{1, -1}[i%2], 50+i/2)
		far = append(far, stored{pos: orb.Point{v, -v}})
	}
	roundTrip(t, far)
	roundTrip(t, []stored{{r: reading{line: 1, time: time.Date(2300, 1, 1, 0, 0, 0, 0, time.UTC)}, pos: orb.Point{1, 2}}})
}

// The size that the memory of a long track hangs on.
func TestStoreIsSmall(t *testing.T) {
	var points []stored
	for i := range 10_000 {
		x := float64(i)
		points = append(points, stored{
			reading{line: 2 * i, time: time.Unix(1_900_000_000+int64(i), 0).UTC(), depthM: ingest.Known(math.Round(500+300*math.Sin(x/50)) / 100),
				tempC: ingest.Known(17.5), speedMPS: ingest.Known(math.Round(50+20*math.Cos(x)) / 100), courseDeg: ingest.Known(float64(i * 7 % 360))},
			orb.Point{math.Round((-40+x*2.1e-6)*1e7) / 1e7, math.Round((36.5+x*1.3e-6)*1e7) / 1e7},
		})
	}
	if size := roundTrip(t, points); size > 16*len(points) {
		t.Errorf("%d bytes for %d points", size, len(points))
	}
}

func FuzzStore(f *testing.F) {
	f.Add(36.5, -40.0, 3.25, int64(1_900_000_000), int64(5), 7)
	f.Fuzz(func(t *testing.T, a, b, c float64, seconds, ns int64, line int) {
		if a != a || b != b || c != c || line < 0 || seconds > 1<<40 || seconds < -1<<40 {
			return
		}
		at := time.Unix(seconds, ns).UTC()
		roundTrip(t, []stored{
			{reading{line: line, time: at, depthM: ingest.Known(a)}, orb.Point{a, b}},
			{reading{line: line / 2, tempC: ingest.Known(c), courseDeg: ingest.Known(b)}, orb.Point{b, c}},
			{reading{line: line, time: at.Add(time.Duration(ns)), depthM: ingest.Known(c), speedMPS: ingest.Known(a)}, orb.Point{c, a}},
		})
	})
}
