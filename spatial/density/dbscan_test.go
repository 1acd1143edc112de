package density

import (
	"fmt"
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
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Cluster(c.points, c.reach, c.least); !slices.Equal(got, c.want) {
				t.Errorf("labels %v, want %v", got, c.want)
			}
		})
	}
}

// A border point within reach of two cores, as near to one as to the other,
// must keep company with the lower-numbered one however the rest is ordered.
func TestClusterBorderGoesToTheNearestCore(t *testing.T) {
	left := []r2.Vec{{X: -1}, {X: -2}, {X: -2, Y: 1}, {X: -2, Y: -1}}
	right := []r2.Vec{{X: 0.9}, {X: 2}, {X: 2, Y: 1}, {X: 2, Y: -1}}
	for name, points := range map[string][]r2.Vec{
		"left first":  slices.Concat([]r2.Vec{{}}, left, right),
		"right first": slices.Concat([]r2.Vec{{}}, right, left),
	} {
		labels := Cluster(points, 1.5, 4)
		nearest := slices.Index(points, r2.Vec{X: 0.9})
		if labels[0] != labels[nearest] {
			t.Errorf("%s: border point has label %d, its nearest core %d", name, labels[0], labels[nearest])
		}
	}
}

// Company must not depend on the order of the points, nor on where the origin lies.
func TestClusterLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 50 {
		var points []r2.Vec
		for range 5 {
			c := r2.Vec{X: rng.Float64() * 500, Y: rng.Float64() * 500}
			for range 20 {
				points = append(points, r2.Add(c, r2.Vec{X: rng.NormFloat64() * 15, Y: rng.NormFloat64() * 15}))
			}
		}
		want := Cluster(points, 20, 4)
		perm := rng.Perm(len(points))
		shuffled := make([]r2.Vec, len(points))
		for i, j := range perm {
			shuffled[i] = r2.Add(points[j], r2.Vec{X: 1234.5, Y: -777})
		}
		got := Cluster(shuffled, 20, 4)
		rename := map[int]int{}
		for i, j := range perm {
			if (got[i] == Noise) != (want[j] == Noise) {
				t.Fatalf("point %d: label %d shuffled, %d before", j, got[i], want[j])
			}
			if old, seen := rename[got[i]]; seen && old != want[j] {
				t.Fatalf("cluster %d of the shuffled points holds points of clusters %d and %d", got[i], old, want[j])
			}
			rename[got[i]] = want[j]
		}
	}
}

// The definition, point by point: cores by counting, clusters as connected cores.
func TestClusterAgainstTheDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 100 {
		points := make([]r2.Vec, 60)
		for i := range points {
			points[i] = r2.Vec{X: rng.Float64() * 100, Y: rng.Float64() * 100}
		}
		const reach, least = 12, 4
		near := func(i, j int) bool { return r2.Norm(r2.Sub(points[i], points[j])) <= reach }
		labels := Cluster(points, reach, least)
		core := make([]bool, len(points))
		for i := range points {
			n := 0
			for j := range points {
				if near(i, j) {
					n++
				}
			}
			core[i] = n >= least
		}
		for i := range points {
			reached := false
			for j := range points {
				if near(i, j) && core[j] {
					reached = true
					if core[i] && labels[i] != labels[j] {
						t.Fatalf("cores %d and %d within reach have labels %d and %d", i, j, labels[i], labels[j])
					}
				}
			}
			if reached != (labels[i] != Noise) {
				t.Fatalf("point %d: label %d, within reach of a core: %v", i, labels[i], reached)
			}
		}
	}
}

func BenchmarkCluster(b *testing.B) {
	rng := rand.New(rand.NewPCG(9, 10))
	for _, n := range []int{1000, 100000} {
		points := make([]r2.Vec, n)
		for i := range points {
			c := r2.Vec{X: float64(rng.IntN(n/100)) * 300, Y: float64(rng.IntN(50)) * 300}
			points[i] = r2.Add(c, r2.Vec{X: rng.NormFloat64() * 15, Y: rng.NormFloat64() * 15})
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				Cluster(points, 20, 4)
			}
		})
	}
}
