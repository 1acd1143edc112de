package density

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestTreeByHand(t *testing.T) {
	tree := NewTree(onLine(0, 10, 1, 11, 2, 12), 2)
	want := []struct {
		distM  float64
		points []int
	}{{1, []int{0, 2, 4}}, {1, []int{1, 3, 5}}, {8, []int{0, 1, 2, 3, 4, 5}}}
	if len(tree.Nodes) != len(want) {
		t.Fatalf("%d nodes, want %d: %+v", len(tree.Nodes), len(want), tree)
	}
	for k, w := range want {
		n := tree.Nodes[k]
		points := slices.Clone(tree.Order[n.From:n.To])
		slices.Sort(points)
		if n.DistM != w.distM || !slices.Equal(points, w.points) {
			t.Errorf("node %d: %v at %v m, want %v at %v m", k, points, n.DistM, w.points, w.distM)
		}
	}
	if got := []int{tree.Nodes[0].Parent, tree.Nodes[1].Parent, tree.Nodes[2].Parent}; !slices.Equal(got, []int{2, 2, -1}) {
		t.Errorf("parents %v", got)
	}
	labels, stability := tree.Flat(math.Inf(1))
	if !slices.Equal(labels, []int{0, 1, 0, 1, 0, 1}) || !slices.Equal(stability, []float64{2.625, 2.625}) {
		t.Errorf("labels %v, stability %v", labels, stability)
	}
}

// Below a limit all points together may be one cluster, which then begins at the limit:
// with the triples above and 20 m, all six last 6 × (1/8 - 1/20) = 0.45, less than the
// triples' 5.25; 10, 11 and 12 alone last 3 × (1 - 1/20).
func TestFlatBelowALimit(t *testing.T) {
	labels, stability := NewTree(onLine(0, 10, 1, 11, 2, 12), 2).Flat(20)
	if !slices.Equal(labels, []int{0, 1, 0, 1, 0, 1}) || !slices.Equal(stability, []float64{2.625, 2.625}) {
		t.Errorf("two triples: %v, %v", labels, stability)
	}
	labels, stability = NewTree(onLine(10, 11, 12), 2).Flat(20)
	if !slices.Equal(labels, []int{0, 0, 0}) || math.Abs(stability[0]-3*(1-1.0/20)) > 1e-12 {
		t.Errorf("one triple: %v, %v", labels, stability)
	}
	labels, stability = NewTree(onLine(0, 5, 10, 100), 2).Flat(4)
	if len(stability) != 0 || slices.ContainsFunc(labels, func(l int) bool { return l != Noise }) {
		t.Errorf("nothing within 4 m: %v, %v", labels, stability)
	}
	labels, _ = NewTree(onLine(0, 5, 10, 100, 105, 110), 2).Flat(6)
	if !slices.Equal(labels, []int{0, 0, 0, 1, 1, 1}) {
		t.Errorf("two of one reach: %v", labels)
	}
}

// Within a limit there are just those nodes of the plainly made tree that hang together by no more, also when a grower
// has made others before.
func TestTreeWithin(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	type node struct {
		distM  float64
		points string
	}
	nodes := func(tree Tree, mostM float64) (list []node) {
		for _, n := range tree.Nodes {
			if n.DistM > mostM {
				continue
			}
			points := slices.Clone(tree.Order[n.From:n.To])
			slices.Sort(points)
			list = append(list, node{n.DistM, fmt.Sprint(points)})
			if n.Parent >= 0 {
				if up := tree.Nodes[n.Parent]; up.From > n.From || up.To < n.To || up.DistM <= n.DistM {
					t.Errorf("%+v is no part of %+v", n, up)
				}
			}
		}
		slices.SortFunc(list, func(a, b node) int { return cmp.Or(cmp.Compare(a.distM, b.distM), cmp.Compare(a.points, b.points)) })
		return list
	}
	var grower Grower
	for try := range 600 {
		points := make([]r2.Vec, 5+rng.IntN(40+try))
		for i := range points {
			if points[i] = (r2.Vec{X: 300 * rng.Float64(), Y: 300 * rng.Float64()}); try%2 == 0 {
				points[i] = r2.Vec{X: float64(rng.IntN(30)) * 10, Y: float64(rng.IntN(30)) * 10} // many as far apart as the limit
			}
		}
		least, mostM := 1+rng.IntN(5), float64(10*(1+rng.IntN(6)))
		if try%5 == 0 {
			mostM = math.Inf(1)
		}
		within := grower.TreeWithin(points, least, mostM)
		columns := [][]float64{nil, nil}
		for _, p := range points {
			columns[0], columns[1] = append(columns[0], p.X), append(columns[1], p.Y)
		}
		if got, want := nodes(within, math.Inf(1)), nodes(newTree(columns, least), mostM); !slices.Equal(got, want) {
			t.Fatalf("%d points, least %d, within %g m:\n%v, want\n%v", len(points), least, mostM, got, want)
		}
		all := slices.Clone(within.Order)
		if few := grower.TreeWithin(points[:least-1], least, mostM); len(few.Nodes) > 0 || len(few.Order) != least-1 {
			t.Fatalf("of %d points, least %d: %+v", least-1, least, few)
		}
		slices.Sort(all)
		for i := range points {
			if all[i] != i {
				t.Fatalf("order %v", within.Order)
			}
		}
	}
}

func TestTreeOfFew(t *testing.T) {
	for n := range 4 {
		tree := NewTree(onLine(0, 1, 2, 3)[:n], 4)
		labels, stability := tree.Flat(math.Inf(1))
		if len(tree.Order) != n || len(stability) != 0 || slices.ContainsFunc(labels, func(l int) bool { return l != Noise }) {
			t.Errorf("%d points: %+v, labels %v", n, tree, labels)
		}
	}
	// All at one place, and twice three at two: nothing lasts for ever.
	if labels, _ := NewTree(make([]r2.Vec, 9), 3).Flat(math.Inf(1)); !slices.Equal(labels, []int{-1, -1, -1, -1, -1, -1, -1, -1, -1}) {
		t.Errorf("one place: %v", labels)
	}
	labels, stability := NewTree(onLine(0, 0, 0, 50, 50, 50), 3).Flat(math.Inf(1))
	if want := 3 * (1/sameM - 1.0/50); !slices.Equal(labels, []int{0, 0, 0, 1, 1, 1}) || math.Abs(stability[0]-want) > 1e-9 {
		t.Errorf("two places: %v, %v", labels, stability)
	}
}

// The tree's nodes are the clusters of DBSCAN* (without border points) at every reach,
// by definition.
func TestTreeAgainstCluster(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range 60 {
		points := make([]r2.Vec, 50)
		for i := range points {
			points[i] = r2.Vec{X: rng.Float64() * 100, Y: rng.Float64() * 100}
			if round%2 == 0 { // with ties
				points[i] = r2.Vec{X: math.Round(points[i].X / 8), Y: math.Round(points[i].Y / 8)}
			}
		}
		const least = 4
		tree := NewTree(points, least)
		for k, n := range tree.Nodes {
			if n.Parent >= 0 && (tree.Nodes[n.Parent].DistM < n.DistM || n.Parent <= k || tree.Nodes[n.Parent].DistM == n.DistM) {
				t.Fatalf("node %d at %v m is part of node %d at %v m", k, n.DistM, n.Parent, tree.Nodes[n.Parent].DistM)
			}
			if n.DistM == 0 {
				continue
			}
			labels := coresOnly(points, n.DistM*(1+1e-12), least)
			one := labels[tree.Order[n.From]]
			for i, l := range labels {
				if inside := slices.Contains(tree.Order[n.From:n.To], i); inside != (l == one && l != Noise) {
					t.Fatalf("node %d at %v m: point %d inside %v, DBSCAN* label %d, the node's %d", k, n.DistM, i, inside, l, one)
				}
			}
		}
	}
}

// coresOnly labels cores as Cluster does, and all other points as noise.
func coresOnly(points []r2.Vec, reach float64, least int) []int {
	labels := Cluster(points, reach, least)
	for i, p := range points {
		n := 0
		for _, q := range points {
			if r2.Norm(r2.Sub(p, q)) <= reach {
				n++
			}
		}
		if n < least {
			labels[i] = Noise
		}
	}
	return labels
}

// Shuffled points keep their company, ties or not.
func TestFlatKeepsCompany(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for round := range 40 {
		points := make([]r2.Vec, 80)
		for i := range points {
			c := r2.Vec{X: float64(rng.IntN(3)) * 60, Y: float64(rng.IntN(2)) * 60}
			points[i] = r2.Add(c, r2.Vec{X: rng.NormFloat64() * 10, Y: rng.NormFloat64() * 10})
			if round%2 == 0 {
				points[i] = r2.Vec{X: math.Round(points[i].X / 5), Y: math.Round(points[i].Y / 5)}
			}
		}
		want, _ := NewTree(points, 5).Flat(math.Inf(1))
		perm := rng.Perm(len(points))
		mixed := make([]r2.Vec, len(points))
		for i, j := range perm {
			mixed[i] = points[j]
		}
		got, _ := NewTree(mixed, 5).Flat(math.Inf(1))
		back := make([]int, len(points))
		for i, j := range perm {
			back[j] = got[i]
		}
		if err := sameCompany(back, want); err != nil {
			t.Fatal(err)
		}
	}
}

// sameCompany tells whether two labellings differ in numbers only.
func sameCompany(got, want []int) error {
	there, back := map[int]int{}, map[int]int{}
	for i := range got {
		g, w := got[i], want[i]
		if (g == Noise) != (w == Noise) {
			return fmt.Errorf("point %d: label %d, want %d", i, g, w)
		}
		if x, seen := there[g]; seen && x != w {
			return fmt.Errorf("point %d: cluster %d holds points of clusters %d and %d", i, g, x, w)
		}
		if x, seen := back[w]; seen && x != g {
			return fmt.Errorf("point %d: cluster %d is spread over clusters %d and %d", i, w, x, g)
		}
		there[g], back[w] = w, g
	}
	return nil
}

// irises returns the columns of the data set.
func irises(t *testing.T) [][]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "density", "iris.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := make([][]float64, 4)
	for _, row := range rows[1:] {
		for k, text := range row {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[k] = append(columns[k], v)
		}
	}
	return columns
}

// Fisher's irises in four dimensions, least 5: R package dbscan 1.1-11 finds clusters
// of 100 and 50 without noise, with stabilities of 150.9864 and 135.3437.
func TestFlatOfIrises(t *testing.T) {
	labels, stability := newTree(irises(t), 5).Flat(math.Inf(1))
	count := make([]int, len(stability))
	for i, l := range labels {
		if l == Noise {
			t.Fatalf("flower %d is noise", i)
		}
		count[l]++
	}
	// The first fifty are the setosas, apart from the rest.
	if !slices.Equal(count, []int{50, 100}) || math.Abs(stability[0]-135.3437) > 6e-5 || math.Abs(stability[1]-150.9864) > 6e-5 {
		t.Errorf("clusters of %d, stability %.4f", count, stability)
	}
}

func BenchmarkTree(b *testing.B) {
	rng := rand.New(rand.NewPCG(9, 10))
	for _, n := range []int{300, 5000} {
		points := make([]r2.Vec, n)
		for i := range points {
			c := r2.Vec{X: float64(rng.IntN(40)) * 100, Y: float64(rng.IntN(20)) * 100}
			points[i] = r2.Add(c, r2.Vec{X: rng.NormFloat64() * 15, Y: rng.NormFloat64() * 15})
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				NewTree(points, 4)
			}
		})
	}
}
