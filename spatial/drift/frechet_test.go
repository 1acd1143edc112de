package drift

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// vecs makes points of x, y, x, y …
func vecs(xy ...float64) (out []r2.Vec) {
	for i := 0; i < len(xy); i += 2 {
		out = append(out, r2.Vec{X: xy[i], Y: xy[i+1]})
	}
	return out
}

func backwards(path []r2.Vec) []r2.Vec {
	out := slices.Clone(path)
	slices.Reverse(out)
	return out
}

func TestFrechet(t *testing.T) {
	zigzag := vecs(0, 0, 10, 1, 20, 0, 30, 2)
	for name, c := range map[string]struct {
		a, b      []r2.Vec
		want      float64
		hausdorff float64 // what it would be, where that is not the same; else 0
	}{
		// Discrete Fréchet by a dynamic programme of its own, Hausdorff by GEOS 3.11.
		"parallel":              {vecs(0, 0, 1, 0, 2, 0, 3, 0), vecs(0, 1, 1, 1, 2, 1, 3, 1), 1, 0},
		"a detour, few points":  {vecs(0, 0, 100, 0), vecs(0, 0, 50, 50, 100, 0), 70.710678119, 50}, // also PostGIS manual, ST_FrechetDistance
		"there and back":        {zigzag, backwards(zigzag), 30.066592757, 0},
		"unlike steps aside":    {vecs(0, 0, 2, 0, 4, 0, 6, 0), vecs(0, 1, 2, 3, 4, 1, 6, 2), 3, 0},
		"twice as many points":  {vecs(0, 0, 10, 0, 20, 0), vecs(0, 3, 5, 4, 10, 3, 15, 4, 20, 3), 6.403124237, 0},
		"one comes from before": {vecs(1, 1, 2, 2), vecs(1, 4, 2, 3), 3, 0}, // this and the next two: GEOS, DiscreteFrechetDistanceTest.cpp
		"a roof":                {vecs(0, 0, 2, 0), vecs(0, 1, 1, 2, 2, 1), 2.23606797749979, 0},
		"opening":               {vecs(0, 0, 2, 1), vecs(0, 0, 2, 0), 1, 0},
		"two points":            {vecs(0, 0), vecs(3, 4), 5, 0},
		"a point and a path":    {vecs(0, 0), vecs(0, 1, 3, 4, 1, 0), 5, 0},
		"the same":              {zigzag, zigzag, 0, 0},
	} {
		for _, got := range []float64{Frechet(c.a, c.b), Frechet(c.b, c.a), Frechet(backwards(c.a), backwards(c.b))} {
			if math.Abs(got-c.want) > 1e-9 {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
		if c.hausdorff != 0 {
			if h := hausdorff(c.a, c.b); math.Abs(h-c.hausdorff) > 1e-9 {
				t.Errorf("%s: Hausdorff's distance %v, want %v", name, h, c.hausdorff)
			}
		}
	}
	if h := hausdorff(zigzag, backwards(zigzag)); h != 0 {
		t.Errorf("there and back are %v apart for Hausdorff, who knows no direction", h)
	}
	defer func() {
		if recover() == nil {
			t.Error("no panic without points")
		}
	}()
	Frechet(zigzag, nil)
}

// hausdorff is the greatest distance of a point of one from the line of the other.
func hausdorff(a, b []r2.Vec) (m float64) {
	for _, pair := range [][2][]r2.Vec{{a, b}, {b, a}} {
		for _, v := range pair[0] {
			_, offM := Along(pair[1], v)
			m = max(m, offM)
		}
	}
	return m
}

// wandering is a path of n points about a metre apart.
func wandering(rng *rand.Rand, n int) (path []r2.Vec) {
	at := r2.Vec{X: 5 * rng.NormFloat64(), Y: 5 * rng.NormFloat64()}
	for range n {
		path = append(path, at)
		at = r2.Add(at, r2.Vec{X: 0.5 + rng.NormFloat64(), Y: rng.NormFloat64()})
	}
	return path
}

// The distance by its definition: the shortest lead on which both walkers get through, found by trying every
// distance between two points and walking.
func leadNeeded(a, b []r2.Vec) float64 {
	var leads []float64
	for _, p := range a {
		for _, q := range b {
			leads = append(leads, r2.Norm(r2.Sub(p, q)))
		}
	}
	slices.Sort(leads)
	for _, lead := range leads {
		reached := map[[2]int]bool{}
		var walk func(i, j int)
		walk = func(i, j int) {
			if i == len(a) || j == len(b) || reached[[2]int{i, j}] || r2.Norm(r2.Sub(a[i], b[j])) > lead {
				return
			}
			reached[[2]int{i, j}] = true
			walk(i+1, j)
			walk(i, j+1)
			walk(i+1, j+1)
		}
		walk(0, 0)
		if reached[[2]int{len(a) - 1, len(b) - 1}] {
			return lead
		}
	}
	panic("no way through")
}

func TestFrechetByDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 1))
	for range 100 {
		a, b, c := wandering(rng, 2+rng.IntN(8)), wandering(rng, 2+rng.IntN(8)), wandering(rng, 2+rng.IntN(8))
		ab, bc, ac := Frechet(a, b), Frechet(b, c), Frechet(a, c)
		if want := leadNeeded(a, b); math.Abs(ab-want) > 1e-9 {
			t.Errorf("%v and %v: %v, want %v", a, b, ab, want)
		}
		if ab < hausdorff(a, b)-1e-9 || ac > ab+bc+1e-9 {
			t.Errorf("less than Hausdorff's distance, or a detour shorter than the way: %v %v %v", ab, bc, ac)
		}
	}
}

func TestShared(t *testing.T) {
	east := vecs(0, 0, 100, 0)
	for name, c := range map[string]struct {
		a, b       []r2.Vec
		aFrom, aTo r2.Vec
		bFrom, bTo r2.Vec
		points     int     // 0: nothing shared
		apart      float64 // not looked at when 0
	}{
		"by hand":      {east, vecs(40, 10, 160, 10), r2.Vec{X: 40}, r2.Vec{X: 100}, r2.Vec{X: 40, Y: 10}, r2.Vec{X: 100, Y: 10}, 13, 10},
		"all of both":  {east, vecs(0, 6, 100, 6), r2.Vec{}, r2.Vec{X: 100}, r2.Vec{Y: 6}, r2.Vec{X: 100, Y: 6}, 21, 6},
		"within":       {east, vecs(30, 4, 42, 4), r2.Vec{X: 30}, r2.Vec{X: 42}, r2.Vec{X: 30, Y: 4}, r2.Vec{X: 42, Y: 4}, 4, 4},
		"begun before": {east, vecs(-50, 3, 50, 3), r2.Vec{}, r2.Vec{X: 50}, r2.Vec{Y: 3}, r2.Vec{X: 50, Y: 3}, 11, 3},
		"round a corner": {vecs(0, 0, 100, 0, 100, 100), vecs(50, 10, 90, 10, 90, 60), r2.Vec{X: 50}, r2.Vec{X: 100, Y: 60},
			r2.Vec{X: 50, Y: 10}, r2.Vec{X: 90, Y: 60}, 23, 0}, // 110 and 90 m
		"opposite":  {east, vecs(100, 3, 0, 3), r2.Vec{}, r2.Vec{}, r2.Vec{}, r2.Vec{}, 0, 0},
		"after":     {east, vecs(110, 0, 210, 0), r2.Vec{}, r2.Vec{}, r2.Vec{}, r2.Vec{}, 0, 0},
		"crossing":  {east, vecs(50, -50, 50, 50), r2.Vec{}, r2.Vec{}, r2.Vec{}, r2.Vec{}, 0, 0},
		"no length": {east, vecs(50, 1, 50, 1), r2.Vec{}, r2.Vec{}, r2.Vec{}, r2.Vec{}, 0, 0},
	} {
		onA, onB, ok := Shared(c.a, c.b, 5)
		if ok != (c.points > 0) || len(onA) != c.points || len(onB) != c.points {
			t.Errorf("%s: %v, %d and %d points, want %d", name, ok, len(onA), len(onB), c.points)
			continue
		}
		if !ok {
			continue
		}
		for k, d := range []r2.Vec{r2.Sub(onA[0], c.aFrom), r2.Sub(onA[len(onA)-1], c.aTo), r2.Sub(onB[0], c.bFrom), r2.Sub(onB[len(onB)-1], c.bTo)} {
			if r2.Norm(d) > 1e-9 {
				t.Errorf("%s: end %d is off by %v", name, k, d)
			}
		}
		if m := Frechet(onA, onB); c.apart != 0 && math.Abs(m-c.apart) > 1e-9 {
			t.Errorf("%s: %v m apart, want %v", name, m, c.apart)
		}
		back, _, _ := Shared(c.b, c.a, 5)
		if !slices.Equal(back, onB) {
			t.Errorf("%s: the other way round b shares %v, not %v", name, back, onB)
		}
	}
}

// What is said above of paces: a pass side by side with one of the same pace all along, and of another, is found
// to be as far as it runs to within decimetres.
func TestPaces(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 1))
	for range 100 {
		side := 1 + 19*rng.Float64()
		var a, b []r2.Vec
		for x, y := 0.0, 0.0; x < 150; {
			a, x = append(a, r2.Vec{X: x}), x+0.5+2*rng.Float64()
			b, y = append(b, r2.Vec{X: y, Y: side}), y+0.5+2*rng.Float64()
		}
		m, ok := new(scratch).apart(evenly(a), evenly(b), lengthM(a), lengthM(b), 25)
		if !ok || m < side || m > side+0.5 {
			t.Errorf("%v m to the side: %v, %v", side, m, ok)
		}
	}
}

// Held to a greatest distance it must say the same, whatever the room was used for before.
func TestFrechetNoMoreThan(t *testing.T) {
	rng := rand.New(rand.NewPCG(25, 26))
	var x scratch
	near := 0
	for range 2000 {
		var a, b []r2.Vec
		for k := range 1 + rng.IntN(30) {
			a = append(a, r2.Vec{X: float64(k), Y: 4 * rng.Float64()})
		}
		for k := range 1 + rng.IntN(30) {
			b = append(b, r2.Vec{X: float64(k), Y: 4 * rng.Float64()})
		}
		want := Frechet(a, b)
		for _, mostM := range []float64{want, want - 1e-6, want + 1e-6, 3, 12} {
			m, ok := x.frechet(a, b, mostM)
			if ok != (want <= mostM) || ok && m != want {
				t.Fatalf("at most %v: %v %v, want %v", mostM, m, ok, want)
			}
			if ok {
				near++
			}
		}
	}
	if near == 0 {
		t.Error("none is near enough")
	}
}
