package density

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func onLine(x ...float64) []r2.Vec {
	var p []r2.Vec
	for _, v := range x {
		p = append(p, r2.Vec{X: v})
	}
	return p
}

func TestCluster(t *testing.T) {
	for _, c := range []struct {
		name   string
		points []r2.Vec
		reach  float64
		least  int
		want   []int
	}{
		// Labels from scikit-learn 1.2.1, sklearn.cluster.DBSCAN.
		{"two runs and a stray", append(onLine(0, 1, 2, 3, 4, 10, 11, 12), r2.Vec{X: 50, Y: 50}), 1, 3,
			[]int{0, 0, 0, 0, 0, 1, 1, 1, Noise}},
		{"none", nil, 1, 3, []int{}},
		{"one", onLine(0), 1, 1, []int{0}},
		{"one, two wanted", onLine(0), 1, 2, []int{Noise}},
		{"the same place four times", onLine(7, 7, 7, 7), 1, 4, []int{0, 0, 0, 0}},
		{"reach is inclusive", onLine(0, 2, 4), 2, 3, []int{0, 0, 0}},
		{"negative coordinates", onLine(-3, -2, -1, 0), 1, 2, []int{0, 0, 0, 0}},
		// Labels from R 4.2.2, dbscan 1.1.11.
		{"between two", onLine(0, 0, 0.5, 1.5, 2.5, 3, 3), 1, 4, []int{0, 0, 0, 0, 1, 1, 1}},
		{"between two, from the other end", onLine(3, 3, 2.5, 1.5, 0.5, 0, 0), 1, 4, []int{0, 0, 0, 0, 1, 1, 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Cluster(c.points, c.reach, c.least); !slices.Equal(got, c.want) {
				t.Errorf("labels %v, want %v", got, c.want)
			}
		})
	}
}

// A border point within reach of two cores joins the earlier one's cluster, however near the other is.
func TestClusterBorderGoesToTheEarliest(t *testing.T) {
	left := []r2.Vec{{X: -1}, {X: -2}, {X: -2, Y: 1}, {X: -2, Y: -1}}
	right := []r2.Vec{{X: 0.9}, {X: 2}, {X: 2, Y: 1}, {X: 2, Y: -1}}
	for name, points := range map[string][]r2.Vec{
		"left first":  slices.Concat([]r2.Vec{{}}, left, right),
		"right first": slices.Concat([]r2.Vec{{}}, right, left),
	} {
		// Labels from R 4.2.2 with dbscan 1.1.11.
		if got, want := Cluster(points, 1.5, 4), []int{0, 0, 0, 0, 0, 1, 1, 1, 1}; !slices.Equal(got, want) {
			t.Errorf("%s: labels %v, want %v", name, got, want)
		}
	}
}

// Which points are cores, which of them keep company and which points are noise must not depend on the order of the
// points, nor on where the origin lies.
func TestClusterLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 50 {
		points := lake(rng, 120, 5, r2.Vec{X: 500, Y: 500})
		want, noise := coresOnly(points, 20, 4), Cluster(points, 20, 4)
		perm := rng.Perm(len(points))
		mixed := make([]r2.Vec, len(points))
		for i, j := range perm {
			mixed[i] = r2.Add(points[j], r2.Vec{X: 1234.5, Y: -777})
		}
		got, gotNoise := coresOnly(mixed, 20, 4), Cluster(mixed, 20, 4)
		back := make([]int, len(points))
		for i, j := range perm {
			back[j] = got[i]
			if (gotNoise[i] == Noise) != (noise[j] == Noise) {
				t.Fatalf("point %d: label %d, %d among points in another order", j, noise[j], gotNoise[i])
			}
		}
		if err := sameCompany(back, want); err != nil {
			t.Fatal(err)
		}
	}
}

// byVisiting is DBSCAN as the paper of 1996 tells it, asking every point about every other.
func byVisiting(points []r2.Vec, reach float64, least int) []int {
	near := func(i int) (found []int) {
		for j, q := range points {
			dx, dy := points[i].X-q.X, points[i].Y-q.Y
			if dx*dx+dy*dy <= reach*reach {
				found = append(found, j)
			}
		}
		return found
	}
	labels, next := slices.Repeat([]int{Noise}, len(points)), 0
	visited := make([]bool, len(points))
	for i := range points {
		if visited[i] {
			continue
		}
		seeds := near(i)
		if len(seeds) < least {
			continue
		}
		for visited[i] = true; len(seeds) > 0; seeds = seeds[1:] {
			j := seeds[0]
			if labels[j] == Noise {
				labels[j] = next
			}
			if visited[j] {
				continue
			}
			visited[j] = true
			if more := near(j); len(more) >= least {
				seeds = append(seeds, more...)
			}
		}
		next++
	}
	return labels
}

// Many small sets of all kinds that a grid may stumble over: label by label.
func TestClusterAgainstVisiting(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	unit := rng.Float64
	for _, kind := range []struct {
		name  string
		point func(reach float64) r2.Vec
	}{
		{"anywhere", func(float64) r2.Vec { return r2.Vec{X: unit() * 60, Y: unit() * 60} }},
		{"crowded", func(float64) r2.Vec { return r2.Vec{X: rng.NormFloat64() * 9, Y: rng.NormFloat64() * 9} }},
		// Whole metres: with reaches of 1 to 12 many pairs lie just a reach apart, as 5 = √(3²+4²) does.
		{"whole metres", func(float64) r2.Vec { return r2.Vec{X: float64(rng.IntN(40)), Y: float64(rng.IntN(40))} }},
		{"whole metres below 0", func(float64) r2.Vec { return r2.Vec{X: -float64(rng.IntN(30)), Y: float64(rng.IntN(30)) - 15} }},
		{"many in one place", func(float64) r2.Vec { return r2.Vec{X: float64(rng.IntN(5)) * 3, Y: float64(rng.IntN(5)) * 4} }},
		{"on a line", func(float64) r2.Vec { return r2.Vec{X: float64(rng.IntN(200)), Y: 7} }},
		{"on a slanting line", func(float64) r2.Vec { x := float64(rng.IntN(60)); return r2.Vec{X: 3 * x, Y: 4 * x} }},
		{"on two tracks", func(reach float64) r2.Vec {
			x := unit() * 60
			return r2.Vec{X: x - 0.6*reach*float64(rng.IntN(2)), Y: x / 3}
		}},
		{"corners and edges of cells", func(reach float64) r2.Vec {
			side := reach / math.Sqrt2
			return r2.Vec{X: float64(rng.IntN(8)) * side, Y: float64(rng.IntN(8)) * side}
		}},
		// Some in the same cell if cells were a little too wide.
		{"a little more than a reach apart", func(reach float64) r2.Vec {
			i := float64(rng.IntN(12))
			return r2.Vec{X: i * 0.715 * reach, Y: i * 0.715 * reach}
		}},
		{"a reach apart", func(reach float64) r2.Vec {
			return r2.Vec{X: float64(rng.IntN(9)) * reach, Y: float64(rng.IntN(9)) * reach}
		}},
		{"around a circle", func(reach float64) r2.Vec {
			s, c := math.Sincos(float64(rng.IntN(90)))
			return r2.Vec{X: reach * s, Y: reach * c}
		}},
		{"far away", func(reach float64) r2.Vec {
			return r2.Vec{X: 1e9*reach + float64(rng.IntN(40)), Y: -1e9*reach + float64(rng.IntN(40))}
		}},
		{"far apart", func(reach float64) r2.Vec {
			return r2.Vec{X: float64(rng.IntN(3)-1)*1e9*reach + float64(rng.IntN(20)), Y: float64(rng.IntN(3)-1)*1e9*reach + float64(rng.IntN(20))}
		}},
	} {
		t.Run(kind.name, func(t *testing.T) {
			for range 250 {
				reach, least := float64(1+rng.IntN(12)), 1+rng.IntN(9)
				if rng.IntN(3) == 0 {
					reach = 1 + 11*unit()
				}
				points := make([]r2.Vec, rng.IntN(120))
				for i := range points {
					points[i] = kind.point(reach)
				}
				got, want := Cluster(points, reach, least), byVisiting(points, reach, least)
				if !slices.Equal(got, want) {
					t.Fatalf("reach %v, least %d, points %v:\nlabels %v\n  want %v", reach, least, points, got, want)
				}
			}
		})
	}
}

// The one pair in reach must be found among many that are not, and none where the reach is a hair too short.
func TestTouch(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	const far = 1e6
	beside := math.Nextafter(far, 0)
	for _, kind := range []struct {
		name string
		a, b func() r2.Vec
	}{
		{"squares",
			func() r2.Vec { return r2.Vec{X: rng.Float64(), Y: rng.Float64()} },
			func() r2.Vec { return r2.Vec{X: 1.5 + rng.Float64(), Y: rng.Float64() - 0.5} }},
		{"fronts that slant",
			func() r2.Vec { x := rng.Float64(); return r2.Vec{X: x, Y: x / 2} },
			func() r2.Vec { x := rng.Float64(); return r2.Vec{X: x - 0.5, Y: x/2 + 1} }},
		{"around a place",
			func() r2.Vec { return r2.Vec{} },
			func() r2.Vec { s, c := math.Sincos(rng.Float64()); return r2.Vec{X: s, Y: c} }},
		{"whole numbers",
			func() r2.Vec { return r2.Vec{X: float64(rng.IntN(5)), Y: float64(rng.IntN(5))} },
			func() r2.Vec { return r2.Vec{X: float64(7 + rng.IntN(5)), Y: float64(rng.IntN(9))} }},
		{"nothing between two numbers",
			func() r2.Vec { return r2.Vec{X: []float64{beside, far}[rng.IntN(20)/19]} },
			func() r2.Vec { return r2.Vec{X: far + 10, Y: []float64{1, 0}[rng.IntN(20)/19]} }},
	} {
		t.Run(kind.name, func(t *testing.T) {
			for round := range 100 {
				a, b := make([]r2.Vec, 1+rng.IntN(120)), make([]r2.Vec, 1+rng.IntN(120))
				turned := func(p r2.Vec) r2.Vec {
					if round%2 == 0 {
						return r2.Vec{X: p.Y, Y: p.X}
					}
					return p
				}
				for i := range a {
					a[i] = turned(kind.a())
				}
				nearest := math.Inf(1)
				for i := range b {
					b[i] = turned(kind.b())
					for _, p := range a {
						nearest = min(nearest, dist2(p, b[i]))
					}
				}
				for _, limit := range []float64{nearest * 0.9, math.Nextafter(nearest, 0), nearest, math.Nextafter(nearest, 99), nearest * 1.1} {
					if got, want := touch(slices.Clone(a), slices.Clone(b), limit), nearest <= limit; got != want {
						t.Fatalf("nearest pair %v, limit %v: %v\n%v\n%v", nearest, limit, got, a, b)
					}
				}
			}
		})
	}
}

func TestClusterPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"no reach":           func() { Cluster(nil, 0, 1) },
		"none wanted":        func() { Cluster(nil, 1, 0) },
		"too far apart":      func() { Cluster(onLine(-2e9, 2e9), 1, 1) },
		"infinitely far":     func() { Cluster(onLine(0, math.Inf(1)), 1, 1) },
		"not a number":       func() { Cluster(onLine(0, math.NaN()), 1, 1) },
		"reach not a number": func() { Cluster(onLine(0), math.NaN(), 1) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			f()
		})
	}
}

// lake returns points on a lake of a size in metres: three in ten anywhere, the others in clumps 10 to 40 m wide.
func lake(rng *rand.Rand, n, clumps int, size r2.Vec) []r2.Vec {
	anywhere := func() r2.Vec { return r2.Vec{X: rng.Float64() * size.X, Y: rng.Float64() * size.Y} }
	middles, widths := make([]r2.Vec, clumps), make([]float64, clumps)
	for k := range middles {
		middles[k], widths[k] = anywhere(), 10+30*rng.Float64()
	}
	points := make([]r2.Vec, n)
	for i := range points {
		if points[i] = anywhere(); rng.IntN(10) >= 3 {
			k := rng.IntN(clumps)
			points[i] = r2.Add(middles[k], r2.Scale(widths[k], r2.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64()}))
		}
	}
	return points
}

var lakes = []struct {
	name      string
	n, clumps int
}{
	{"small", 10_000, 50},
	{"clumps", 100_000, 50},
	{"sparse", 400_000, 5000},
	{"dense", 1_000_000, 50},
}

func BenchmarkCluster(b *testing.B) {
	for _, l := range lakes {
		points := lake(rand.New(rand.NewPCG(9, 10)), l.n, l.clumps, r2.Vec{X: 10_000, Y: 5000})
		b.Run(l.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Cluster(points, 15, 10)
			}
			b.ReportMetric(float64(l.n), "points")
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(l.n), "ns/point")
		})
	}
}
