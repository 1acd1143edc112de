package bottom

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/isoline"
)

func build(t testing.TB, s []Sounding, cellM, reachM float64) *Model {
	t.Helper()
	m, err := Thin(s, cellM, reachM).Build(context.Background(), reachM)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestBuildOfLittle(t *testing.T) {
	if m := build(t, nil, 5, 30); m.Sounded != 0 || m.Depth.W != 0 {
		t.Errorf("%+v of nothing", m)
	}
	if _, ok := new(Model).DepthM(r2.Vec{}); ok {
		t.Error("a depth of the zero Model")
	}
	one := build(t, []Sounding{{At: r2.Vec{X: 2.5, Y: 2.5}, DepthM: 4}}, 5, 30)
	for _, c := range []struct {
		x  float64
		ok bool
	}{{2.5, true}, {27, true}, {40, false}} {
		if d, ok := one.DepthM(r2.Vec{X: c.x, Y: 2.5}); ok != c.ok || ok && math.Abs(d-4) > 1e-6 {
			t.Errorf("%v m east of a lone sounding of 4 m: %v %v", c.x-2.5, d, ok)
		}
	}
	near, _ := one.U95M(r2.Vec{X: 2.5, Y: 2.5})
	far, _ := one.U95M(r2.Vec{X: 27.5, Y: 2.5})
	if !(near > 0 && far > 2*near) {
		t.Errorf("sure to %.2f m at the sounding and to %.2f m 25 m off", near, far)
	}
	if one.Tested != 0 {
		t.Error("tested with one sounding")
	}
	two := build(t, []Sounding{{At: r2.Vec{X: 2.5, Y: 2.5}, DepthM: 4}, {At: r2.Vec{X: 22.5, Y: 2.5}, DepthM: 6}}, 5, 30)
	if d, ok := two.DepthM(r2.Vec{X: 12.5, Y: 2.5}); !ok || math.Abs(d-5) > 1e-6 {
		t.Errorf("half-way between 4 and 6 m: %v %v, want 5", d, ok)
	}
}

// No depth stands farther than the reach from a sounding, and none is missing nearer.
func TestReach(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for _, reachM := range []float64{4, 12, 30} {
		var s []Sounding
		for range 40 {
			s = append(s, Sounding{At: r2.Vec{X: rng.Float64() * 400, Y: rng.Float64() * 300}, DepthM: 5, S: rng.Float64() * 1e6})
		}
		thin := Thin(s, 5, reachM)
		m := build(t, s, 5, reachM)
		for c, known := range m.Depth.Known {
			nearestM := math.Inf(1)
			for _, n := range thin.nodes {
				nearestM = math.Min(nearestM, r2.Norm(r2.Sub(n.at, m.Depth.Centre(c))))
			}
			if known != (nearestM <= reachM) {
				t.Fatalf("reach %v m: a cell %.3f m from the nearest sounding is known: %v", reachM, nearestM, known)
			}
			if known != m.U95.Known[c] {
				t.Fatal("a depth without its uncertainty, or the other way round")
			}
		}
	}
}

// hills is a smooth bottom with slopes up to one in four.
func hills(v r2.Vec) float64 {
	return 8 + 3*math.Sin(v.X/40) + 2*math.Cos(v.Y/30) + math.Sin((v.X+v.Y)/25)
}

// passes returns east-west passes over hills, gapM apart, with noise.
func passes(seed uint64, gapM, noiseM float64) []Sounding {
	rng := rand.New(rand.NewPCG(seed, 14))
	var s []Sounding
	for k := 0; float64(k)*gapM <= 400; k++ {
		y := float64(k) * gapM
		s = append(s, line(int32(k%3), float64(k)*1000, r2.Vec{Y: y}, r2.Vec{X: 600, Y: y}, func(v r2.Vec) float64 {
			return hills(v) + noiseM*rng.NormFloat64()
		})...)
	}
	byDay := make([]Sounding, 0, len(s))
	for d := range int32(3) {
		for _, x := range s {
			if x.Day == d {
				byDay = append(byDay, x)
			}
		}
	}
	return byDay
}

// The true bottom is a formula; soundings on passes 20 m apart with 0.1 m of noise
// must give it back without bias, with an error near the noise even between passes, and with an
// honest word on how sure it is.
func TestBuildAgainstAKnownBottom(t *testing.T) {
	for _, gapM := range []float64{10, 20, 40} {
		m := build(t, passes(13, gapM, 0.1), 5, 30)
		rng := rand.New(rand.NewPCG(15, 16))
		var sum, sum2 float64
		const n = 20000
		inside := 0
		for range n {
			v := r2.Vec{X: 20 + rng.Float64()*560, Y: 20 + rng.Float64()*360}
			d, ok := m.DepthM(v)
			u, ok2 := m.U95M(v)
			if !ok || !ok2 {
				t.Fatalf("no depth at %v", v)
			}
			e := d - hills(v)
			sum, sum2 = sum+e, sum2+e*e
			if math.Abs(e) <= u {
				inside++
			}
		}
		rmse := math.Sqrt(sum2 / n)
		t.Logf("passes %v m apart: bias %.3f m, RMSE %.3f m, %.1f %% within U95; %+v", gapM, sum/n, rmse, 100*float64(inside)/n, m.Trials)
		near(t, "bias", sum/n, 0, 0.02)
		if gapM <= 20 && rmse > 0.1 {
			t.Errorf("passes %v m apart: RMSE %.3f m, want no more than the soundings' own 0.1 m", gapM, rmse)
		}
		if share := float64(inside) / n; share < 0.93 {
			t.Errorf("passes %v m apart: %.1f %% within what is said to hold 95 %%", gapM, 100*share)
		}
		// With a pass left out, passes 40 m apart leave 40 m to the nearest: beyond reach.
		if (m.Tested > 0) != (gapM <= 20) {
			t.Errorf("passes %v m apart: tested: %v", gapM, m.Tested)
		}
	}
}

// The trial's score must foretell the error that the map really has.
func TestTrialForetellsTheError(t *testing.T) {
	m := build(t, passes(17, 15, 0.1), 5, 30)
	for _, x := range m.Trials {
		if !x.Chosen {
			continue
		}
		// The trial has 30 m between the passes left in, where the map has 15, and
		// errors of the soundings tried: it must not flatter.
		var sum2, n float64
		for c, known := range m.Depth.Known {
			if v := m.Depth.Centre(c); known && v.X > 0 && v.X < 600 && v.Y > 0 && v.Y < 400 {
				e := float64(m.Depth.Values[c]) - hills(v)
				sum2, n = sum2+e*e, n+1
			}
		}
		if rmse := math.Sqrt(sum2 / n); x.RMSEM < rmse || x.RMSEM > 8*rmse {
			t.Errorf("the trial says %.3f m, the map is off by %.3f m", x.RMSEM, rmse)
		}
		return
	}
	t.Error("no method was chosen")
}

// By hand: rungs with errors of 0.1 and 0.3 m, three quarters of the map in the first.
func TestScore(t *testing.T) {
	var near1, far []float64
	for i := range 40 {
		sign := float64(1 - i%2*2)
		near1, far = append(near1, 0.1*sign), append(far, 0.3)
	}
	x := score([]rung{{off: near1}, {off: far}}, []float64{0.75, 0.25})
	near(t, "mean size", x.MeanM, 0.15, 1e-9)
	near(t, "RMSE", x.RMSEM, 0.1732, 1e-4)
	near(t, "bias", x.BiasM, 0.075, 1e-9)
	near(t, "95 %", x.P95M, 0.3, 1e-9)
	if x.N != 80 || x.NearN != 40 {
		t.Errorf("%d errors, %d of them near", x.N, x.NearN)
	}
	near(t, "near", x.NearRMSEM, 0.1, 1e-9)
	near(t, "share of the map", x.Share, 1, 1e-9)
	// With 96 % of the map on the first rung, 95 % of the map errs by 0.1 m at most.
	near(t, "95 %, weighted", score([]rung{{off: near1}, {off: far}}, []float64{0.96, 0.04}).P95M, 0.1, 1e-9)
	if x := score([]rung{{off: near1[:5]}}, []float64{1}); x != (Trial{}) {
		t.Errorf("%+v of five errors", x)
	}
}

func TestCalibrate(t *testing.T) {
	var even []float64
	for i := range 100 {
		even = append(even, float64(i+1)/100)
	}
	got, tested := calibrate([]rung{{ratio: even}, {ratio: []float64{3}}}, []float64{0.5, 0.3, 0.2})
	near(t, "a rung of its own", got[0], 0.95, 1e-9)
	near(t, "a rung with one error takes all, at least 2", got[1], 2, 1e-9)
	near(t, "share of the map with a factor of its own", tested, 0.5, 1e-9)
	for i := range even {
		even[i] *= 4
	}
	got, _ = calibrate([]rung{{ratio: even}}, make([]float64, 2))
	near(t, "a rung without errors takes all", got[1], 3.8, 1e-9)
	lucky, _ := calibrate([]rung{{ratio: even}, {ratio: make([]float64, 100)}}, make([]float64, 2))
	near(t, "a lucky rung farther out", lucky[1], lucky[0], 0)
	if got, tested := calibrate(nil, []float64{1}); got[0] != 2 || tested != 0 {
		t.Errorf("without errors %v, want 2, on %v of the map", got, tested)
	}
}

// Neither the order in which days come nor the place of the plane changes the map.
func TestBuildFollowsThePlane(t *testing.T) {
	s := passes(19, 20, 0.1)
	for i := range s { // off the borders of cells, where a last digit would decide
		s[i].At = r2.Add(s[i].At, r2.Vec{X: 0.3, Y: 0.3})
	}
	m := build(t, s, 5, 30)
	moved := make([]Sounding, len(s))
	for i := range s {
		moved[i] = s[i]
		moved[i].At = r2.Add(s[i].At, r2.Vec{X: 500, Y: -1000})
	}
	n := build(t, moved, 5, 30)
	for c := range m.Depth.Values {
		if math.Abs(float64(m.Depth.Values[c]-n.Depth.Values[c])) > 1e-4 {
			t.Fatalf("moved by whole cells, cell %d has %v, else %v", c, n.Depth.Values[c], m.Depth.Values[c])
		}
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if again := build(t, s, 5, 30); !reflect.DeepEqual(again, m) {
		t.Error("the same soundings give another map on one processor")
	}
}

func TestBuildStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Thin(passes(21, 20, 0.1), 5, 30).Build(ctx, 30); err == nil {
		t.Error("no error after the end of its context")
	}
}

// million returns soundings of passes over a lake of 10 by 5 km, 50 m apart.
func million() []Sounding {
	rng := rand.New(rand.NewPCG(23, 24))
	s := make([]Sounding, 0, 1_000_000)
	for k := 0; len(s) < cap(s); k++ {
		y, phase := 25+50*float64(k%100)+20*rng.NormFloat64(), rng.Float64()*6
		for x := 0.0; x < 10000 && len(s) < cap(s); x += 1 {
			v := r2.Vec{X: x, Y: y + 15*math.Sin(x/300+phase)}
			s = append(s, Sounding{At: v, DepthM: hills(v) + 0.1*rng.NormFloat64(), S: x, Day: int32(k / 10)})
		}
	}
	return s
}

func BenchmarkThin(b *testing.B) {
	s := million()
	b.ReportAllocs()
	for b.Loop() {
		Thin(s, 5, 30)
	}
}

func BenchmarkFindStrays(b *testing.B) {
	s := million()
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		t := Thin(s, 5, 30)
		b.StartTimer()
		t.FindStrays()
	}
}

func BenchmarkCrossings(b *testing.B) {
	t := Thin(million(), 5, 30)
	b.ReportAllocs()
	for b.Loop() {
		t.Crossings()
	}
}

// A million soundings on 10 by 5 km in cells of 5 m, trial and all.
func BenchmarkBuild(b *testing.B) {
	t := Thin(million(), 5, 30)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := t.Build(context.Background(), 30); err != nil {
			b.Fatal(err)
		}
	}
}

// From a million soundings to contours every half metre: all that a map takes.
func BenchmarkMap(b *testing.B) {
	s := million()
	var levels []float64
	for d := 0.0; d < 20; d += 0.5 {
		levels = append(levels, d)
	}
	b.ReportAllocs()
	for b.Loop() {
		t := Thin(s, CellM(s), 30)
		t.FindStrays()
		t.Crossings()
		m, err := t.Build(context.Background(), 30)
		if err != nil {
			b.Fatal(err)
		}
		isoline.Lines(m.Depth, levels)
	}
}
