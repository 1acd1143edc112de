package milkrun

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

type row map[string]string

// reference reads a table of testdata/reference/milkrun: lines that begin with # name the source, then comes the head.
func reference(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "milkrun", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var head []string
	var rows []row
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		fields := strings.Split(s.Text(), ",")
		if head == nil {
			head = fields
			continue
		}
		r := row{}
		for i, h := range head {
			r[h] = fields[i]
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return rows
}

func (r row) num(t testing.TB, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

type spot struct{ x, y, stay, score, open, close float64 }

func spots(t testing.TB, name, set string) []spot {
	var out []spot
	for _, r := range reference(t, name) {
		if set != "" && r["set"] != set {
			continue
		}
		s := spot{x: r.num(t, "x"), y: r.num(t, "y"), score: r.num(t, "score"), close: math.Inf(1)}
		if _, ok := r["open"]; ok {
			s.stay, s.open, s.close = r.num(t, "stay"), r.num(t, "open"), r.num(t, "close")
		}
		out = append(out, s)
	}
	return out
}

func euclid(a, b spot) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }

// orienteering is the problem of visiting stops from start to end within tmax.
func orienteering(start, end spot, stops []spot, tmax float64, dist func(a, b spot) float64) Problem {
	p := Problem{EndS: tmax}
	for _, s := range stops {
		p.Stops = append(p.Stops, Stop{OpenS: s.open, CloseS: s.close, StaysS: []float64{s.stay},
			Gain: func(float64, float64) float64 { return s.score }})
	}
	all := append(append([]spot{}, stops...), start, end)
	for _, a := range all {
		var r []float64
		for _, b := range all {
			r = append(r, dist(a, b))
		}
		p.TravelS = append(p.TravelS, r)
	}
	return p
}

// Published scores; the ways are held against the problem by check.
func TestPublishedOrienteering(t *testing.T) {
	for _, c := range reference(t, "op_best.csv") {
		tmax := c.num(t, "tmax")
		t.Run(fmt.Sprintf("%s within %g", c["set"], tmax), func(t *testing.T) {
			pts := spots(t, "op_points.csv", c["set"])
			p := orienteering(pts[0], pts[1], pts[2:], tmax, euclid)
			plan := solved(t, p, Options{Seed: 1})
			t.Logf("gain %g bound %g proven %v back %g", plan.Gain, plan.Bound, plan.Proven, plan.BackS)
			if want := c.num(t, "score"); plan.Gain != want || plan.Bound < want || plan.Proven && plan.Bound != want {
				t.Errorf("gain %g, bound %g, proven %v; the best score is %g", plan.Gain, plan.Bound, plan.Proven, want)
			}
			// Up to here other exact searches prove with little work, and so must this one.
			if len(pts) <= 33 && !plan.Proven {
				t.Error("not proven")
			}
			// The shortest way with that score is given to four decimals.
			if c["shortest"] != "" && plan.BackS < c.num(t, "shortest")-6e-5 {
				t.Errorf("back at %g, before the shortest way of %s", plan.BackS, c["shortest"])
			}
		})
	}
}

func TestPublishedWindows(t *testing.T) {
	cut := func(a, b spot) float64 { return math.Floor(euclid(a, b)*10+1e-9) / 10 }
	for _, c := range reference(t, "optw_best.csv") {
		for name, dist := range map[string]func(a, b spot) float64{"as they are": euclid, "cut to a decimal": cut} {
			t.Run(fmt.Sprintf("%s of %s customers, distances %s", c["set"], c["customers"], name), func(t *testing.T) {
				pts := spots(t, "optw_points.csv", c["set"])
				n := int(c.num(t, "customers"))
				p := orienteering(pts[0], pts[0], pts[1:n+1], pts[0].close, dist)
				plan := solved(t, p, Options{Seed: 1})
				t.Logf("gain %g bound %g proven %v back %g", plan.Gain, plan.Bound, plan.Proven, plan.BackS)
				if want := c.num(t, "score"); plan.Gain != want || !plan.Proven || plan.Bound != want {
					t.Errorf("gain %g, bound %g, proven %v; the best score is %g", plan.Gain, plan.Bound, plan.Proven, want)
				}
				// The published way is one of the problem's as well.
				var forced []int
				for _, f := range strings.Fields(c["route"]) {
					j, err := strconv.Atoi(f)
					if err != nil {
						t.Fatal(err)
					}
					forced = append(forced, j-1)
				}
				p.Force = forced
				if q, err := Solve(p, Options{Seed: 1}); err != nil || q.Gain != plan.Gain {
					t.Errorf("with all stops of the published way forced: gain %g, %v", q.Gain, err)
				}
			})
		}
	}
}

func TestPublishedRoundedDistances(t *testing.T) {
	pts := spots(t, "eil51_gen2.csv", "")
	rounded := func(a, b spot) float64 { return math.Floor(euclid(a, b) + 0.5) }
	plan := solved(t, orienteering(pts[0], pts[0], pts[1:], 213, rounded), Options{Seed: 1, MaxLabels: 100_000})
	t.Logf("gain %g bound %g proven %v back %g", plan.Gain, plan.Bound, plan.Proven, plan.BackS)
	score := plan.Gain + pts[0].score
	// 1668 is what a heuristic found; 1674 the optimum by branch and cut (Fischetti, Salazar & Toth, Solving the
	// orienteering problem through branch-and-cut, INFORMS Journal on Computing 10, 1998), from memory.
	if score < 1668 || score > 1674 || plan.Bound+pts[0].score < 1674 {
		t.Errorf("score %g, bound %g; 1668 is published, 1674 the most", score, plan.Bound+pts[0].score)
	}
}
