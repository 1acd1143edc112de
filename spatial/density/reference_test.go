//go:build reference

package density

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// inR runs a script with Debian's r-cran-dbscan and returns the numbers it prints.
func inR(t *testing.T, script, input string) []float64 {
	t.Helper()
	cmd := exec.Command("Rscript", "--vanilla", "-e", "suppressMessages(library(dbscan)); "+strings.Join(strings.Fields(script), " "))
	cmd.Stdin = strings.NewReader(input)
	text, err := cmd.Output()
	if err != nil {
		t.Fatalf("Rscript with the package dbscan: %v", err)
	}
	var out []float64
	for _, f := range bytes.Fields(text) {
		v, err := strconv.ParseFloat(string(f), 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

// shipped returns a set of points that the package carries (GPL; nothing of it is kept here).
func shipped(t *testing.T, name string) []r2.Vec {
	t.Helper()
	v := inR(t, `data(`+name+`); cat(format(t(as.matrix(`+name+`[,1:2])), digits = 17))`, "")
	points := make([]r2.Vec, len(v)/2)
	for i := range points {
		points[i] = r2.Vec{X: v[2*i], Y: v[2*i+1]}
	}
	return points
}

func made(seed uint64, n int) []r2.Vec {
	rng := rand.New(rand.NewPCG(seed, 1))
	points := make([]r2.Vec, n)
	for i := range points {
		switch k := rng.IntN(6); k {
		case 0:
			points[i] = r2.Vec{X: rng.Float64() * 1000, Y: rng.Float64() * 600}
		default: // schools of different width
			points[i] = r2.Vec{X: 180*float64(k) + rng.NormFloat64()*6*float64(k), Y: 100*float64(k%3+1) + rng.NormFloat64()*4*float64(k)}
		}
	}
	return points
}

func text(points []r2.Vec) string {
	var b strings.Builder
	for _, p := range points {
		fmt.Fprintf(&b, "%.17g %.17g\n", p.X, p.Y)
	}
	return b.String()
}

func TestAgainstR(t *testing.T) {
	sets := []struct {
		name   string
		points []r2.Vec
		least  int
		reachM float64
	}{
		{"moons", shipped(t, "moons"), 5, 0.3},
		{"DS3", shipped(t, "DS3"), 20, 10},
	}
	for seed := uint64(1); seed <= 20; seed++ {
		sets = append(sets, struct {
			name   string
			points []r2.Vec
			least  int
			reachM float64
		}{fmt.Sprintf("made %d", seed), made(seed, 150+20*int(seed)), 3 + int(seed%4), 20})
	}
	for _, s := range sets {
		t.Run(s.name, func(t *testing.T) {
			n := len(s.points)
			v := inR(t, fmt.Sprintf(`x <- matrix(scan("stdin", quiet = TRUE), ncol = 2, byrow = TRUE);
				h <- hdbscan(x, %d); d <- dbscan(x, %.17g, %d);
				cat(h$cluster, d$cluster, h$hc$merge, format(c(h$hc$height, h$cluster_scores), digits = 17))`, s.least, s.reachM, s.least), text(s.points))
			labelled := func(v []float64) []int {
				out := make([]int, len(v))
				for i, x := range v {
					out[i] = int(x) - 1
				}
				return out
			}
			merges, heights, scores := v[2*n:4*n-2], v[4*n-2:5*n-3], v[5*n-3:]
			tree := NewTree(s.points, s.least)
			sameTree(t, tree, merges, heights)

			// R parts a tie in two, one edge at a time, in the order of its own merges; with
			// the same order the same clusters last as long.
			binary := Tree{least: s.least}
			binary.join(n, oneByOne(merges, heights))
			labels, stability := binary.flat(math.Inf(1), true)
			if err := sameCompany(labels, labelled(v[:n])); err != nil {
				t.Errorf("HDBSCAN*: %v", err)
			}
			if len(scores) != len(stability) {
				t.Fatalf("%d clusters, R finds %d", len(stability), len(scores))
			}
			// Where a cluster parts, R counts fallen points until then at most: up to 3 % less.
			same := 0
			for i, l := range labels {
				if l == Noise {
					same++
					continue
				}
				score := scores[int(v[i])-1]
				off := stability[l] - score
				if math.Abs(off) <= 1e-8*score+1e-12 {
					same++
				} else if off < 0 || off > 0.03*score {
					t.Fatalf("cluster of point %d lasts %v, in R %v", i, stability[l], scores[int(v[i])-1])
				}
			}
			if same < n/2 {
				t.Errorf("clusters of %d points of %d last as long as in R", same, n)
			}
			if got, want := Cluster(s.points, s.reachM, s.least), labelled(v[n:2*n]); !slices.Equal(got, want) {
				t.Errorf("DBSCAN: labels %v, in R %v", got, want)
			}
		})
	}
}

// Label by label. Whole metres have many pairs at just the reach, and all sums exact.
func TestClusterAgainstR(t *testing.T) {
	type set struct {
		name   string
		points []r2.Vec
		reachM float64
		least  int
	}
	var sets []set
	for _, l := range lakes[:3] { // R takes a minute for the fourth
		sets = append(sets, set{l.name, lake(rand.New(rand.NewPCG(3, 4)), l.n, l.clumps, r2.Vec{X: 10_000, Y: 5000}), 15, 10})
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, reach := range []float64{1, math.Sqrt2, 2, 5, 10, 13, 25} {
		for _, least := range []int{2, 5, 12} {
			s := set{fmt.Sprintf("whole metres, reach %.2f, least %d", reach, least), lake(rng, 5000, 20, r2.Vec{X: 40 * reach, Y: 30 * reach}), reach, least}
			for i, p := range s.points {
				s.points[i] = r2.Vec{X: math.Round(p.X), Y: math.Round(p.Y)}
			}
			sets = append(sets, s)
		}
	}
	for _, s := range sets {
		t.Run(s.name, func(t *testing.T) {
			want := inR(t, fmt.Sprintf(`x <- matrix(scan("stdin", quiet = TRUE), ncol = 2, byrow = TRUE);
				cat(dbscan(x, %.17g, %d)$cluster - 1)`, s.reachM, s.least), text(s.points))
			if len(want) != len(s.points) {
				t.Fatalf("%d labels from R for %d points", len(want), len(s.points))
			}
			for i, l := range Cluster(s.points, s.reachM, s.least) {
				if float64(l) != want[i] {
					t.Fatalf("point %d has label %d, in R %v", i, l, want[i])
				}
			}
			t.Logf("%v clusters", slices.Max(want)+1)
		})
	}
}

// pointsOf returns the points of each of R's merges: negative numbers are points from 1,
// others earlier merges.
func pointsOf(merges []float64) [][]int {
	m := len(merges) / 2
	out := make([][]int, m)
	for k := range out {
		for _, side := range []float64{merges[k], merges[m+k]} {
			if side < 0 {
				out[k] = append(out[k], int(-side)-1)
			} else {
				out[k] = append(out[k], out[int(side)-1]...)
			}
		}
	}
	return out
}

// oneByOne returns edges that join points as R's merges do, each a little longer than
// the one before so that none is tied: by at most a billionth.
func oneByOne(merges, heights []float64) []edge {
	points, m := pointsOf(merges), len(heights)
	first := func(side float64) int32 {
		if side < 0 {
			return int32(-side) - 1
		}
		return int32(points[int(side)-1][0])
	}
	edges := make([]edge, m)
	for k, h := range heights {
		edges[k] = edge{first(merges[k]), first(merges[m+k]), h * h * (1 + float64(k)*1e-13)}
	}
	return edges
}

// sameTree holds each of our nodes against R's merges: the last merge of a height that
// holds a node's points has just those points.
func sameTree(t *testing.T, tree Tree, merges, heights []float64) {
	t.Helper()
	points := pointsOf(merges)
	last := make([]int, len(heights)+1) // merge that each point is in so far, by point
	for k, p := range points {
		for _, i := range p {
			last[i] = k
		}
		// Compared when nothing of the same height is to come.
		if k+1 < len(heights) && heights[k+1] <= heights[k]*(1+1e-9) {
			continue
		}
		for _, n := range tree.Nodes {
			if math.Abs(n.DistM-heights[k]) > 1e-9*heights[k] {
				continue
			}
			in := last[tree.Order[n.From]]
			if len(points[in]) != n.Size() {
				t.Fatalf("node at %v m holds %d points, R's merge %d", n.DistM, n.Size(), len(points[in]))
			}
			for _, i := range tree.Order[n.From:n.To] {
				if last[i] != in {
					t.Fatalf("node at %v m: point %d is elsewhere in R", n.DistM, i)
				}
			}
		}
	}
}
