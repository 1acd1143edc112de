package drift

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// straight is a pass from a to b with a point every 2 m.
func straight(a, b r2.Vec) Pass {
	n := int(r2.Norm(r2.Sub(b, a)) / 2)
	p := Pass{Day: "2031-10-04", Seconds: 100}
	for i := 0; i <= n; i++ {
		p.Path = append(p.Path, r2.Add(a, r2.Scale(float64(i)/float64(n), r2.Sub(b, a))))
	}
	return p
}

func TestLines(t *testing.T) {
	v := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }
	for _, c := range []struct {
		name   string
		passes []Pass
		want   [][]int
	}{
		{"two side by side", []Pass{straight(v(0, 0), v(100, 0)), straight(v(0, 6), v(100, 6))}, [][]int{{0, 1}}},
		{"opposite ways are two passes, no line", []Pass{straight(v(0, 0), v(100, 0)), straight(v(100, 3), v(0, 3))}, nil},
		{"both ways twice are two lines", []Pass{
			straight(v(0, 0), v(100, 0)), straight(v(100, 3), v(0, 3)), straight(v(0, 2), v(110, 2)), straight(v(100, 1), v(0, 1))},
			[][]int{{0, 2}, {1, 3}}},
		{"too far apart", []Pass{straight(v(0, 0), v(100, 0)), straight(v(0, 30), v(100, 30))}, nil},
		{"short within long", []Pass{straight(v(0, 0), v(200, 0)), straight(v(80, 5), v(120, 5))}, [][]int{{0, 1}}},
		{"one after the other", []Pass{straight(v(0, 0), v(100, 0)), straight(v(110, 0), v(210, 0))}, nil},
		{"overlap of less than half", []Pass{straight(v(0, 0), v(100, 0)), straight(v(60, 0), v(160, 0))}, nil},
		{"crossing", []Pass{straight(v(0, 0), v(100, 0)), straight(v(50, -50), v(50, 50))}, nil},
		{"crossing at 40°", []Pass{straight(v(0, 0), v(40, 0)), straight(v(0, -15), v(40, 17))}, nil},
		{"too far apart at one end only", []Pass{straight(v(0, 0), v(100, 0)), straight(v(0, 0), v(100, 24))}, nil},
		{"most passes first", []Pass{
			straight(v(0, 0), v(300, 0)), straight(v(0, 500), v(100, 500)), straight(v(0, 3), v(300, 3)), straight(v(0, 503), v(100, 503)), straight(v(0, 506), v(100, 506))},
			[][]int{{1, 3, 4}, {0, 2}}},
		{"as many passes, the longer first", []Pass{
			straight(v(0, 0), v(100, 0)), straight(v(0, 500), v(200, 500)), straight(v(0, 3), v(100, 3)), straight(v(0, 503), v(200, 503))},
			[][]int{{1, 3}, {0, 2}}},
		{"a middle reaches farther than the longest pass", []Pass{
			straight(v(0, 0), v(103, 0)), straight(v(0, 9), v(102, 9)), straight(v(0, 18), v(101, 18)), straight(v(0, 27), v(100, 27))},
			[][]int{{0, 1, 2, 3}}},
		{"a line found twice", []Pass{
			straight(v(0, 0), v(110, 0)), straight(v(0, 1), v(104, 1)), straight(v(0, 21), v(108, 21)), straight(v(0, 18), v(102, 18))},
			[][]int{{0, 1, 2, 3}}},
		{"two lines more than the width apart", []Pass{
			straight(v(0, 0), v(110, 0)), straight(v(0, 1), v(104, 1)), straight(v(0, 26), v(108, 26)), straight(v(0, 25), v(102, 25))},
			[][]int{{0, 1}, {2, 3}}},
		// The short one is 14 m from the longest of the line and 11 m from the stray that runs off at 20°. Half of that from the middle
		// of the two, it is 9 m from the middle of the line.
		{"a stray does not hold on to a piece of a line", []Pass{
			straight(v(0, -6), v(122, -6)), straight(v(0, 0), v(121, 0)), straight(v(0, 2), v(120, 2)), straight(v(50, 8), v(90, 8)),
			straight(v(30, -3), r2.Add(v(30, -3), r2.Scale(130, plane.Toward(70))))},
			[][]int{{0, 1, 2, 3}}},
		{"too far apart in the middle only", []Pass{straight(v(0, 0), v(100, 0)), {Path: vecs(0, 0, 50, 28, 100, 0)}}, nil},
		// Middles at 2.3 and 17.7 are less than the width apart, but from that of all, 10, the outermost two of twelve are 24.
		{"two lines too wide to be one", []Pass{
			straight(v(0, -4), v(131, -4)), straight(v(0, -14), v(129, -14)), straight(v(0, 8), v(128, 8)), straight(v(0, 8), v(127, 8)), straight(v(0, 8), v(126, 8)), straight(v(0, 8), v(125, 8)),
			straight(v(0, 24), v(130, 24)), straight(v(0, 34), v(124, 34)), straight(v(0, 12), v(123, 12)), straight(v(0, 12), v(122, 12)), straight(v(0, 12), v(121, 12)), straight(v(0, 12), v(120, 12))},
			[][]int{{0, 1, 2, 3, 4, 5}, {6, 7, 8, 9, 10, 11}}},
		// That at 19 joins the longest, is then 29 from the mean of the others, -9.75, and begins anew with the one beyond.
		{"what leaves a line makes another", []Pass{
			straight(v(0, 0), v(110, 0)), straight(v(0, -12), v(109, -12)), straight(v(0, -13), v(108, -13)), straight(v(0, -14), v(107, -14)),
			straight(v(0, 19), v(106, 19)), straight(v(0, 38), v(105, 38))},
			[][]int{{0, 1, 2, 3}, {4, 5}}},
		{"a boat that lay still", []Pass{straight(v(0, 0), v(100, 0)), {Path: vecs(5, 5, 5, 5, 5, 5)}, {Path: vecs(5, 5)}, {}}, nil},
		{"none", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got [][]int
			for _, l := range Lines(c.passes, 20) {
				got = append(got, l.Passes)
			}
			if !slices.EqualFunc(got, c.want, slices.Equal[[]int]) {
				t.Errorf("lines of passes %v, want %v", got, c.want)
			}
		})
	}
}

// Shuffling the passes of a season changes nothing, not by a bit.
func TestLinesShuffled(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 19))
	_, passes := season(rng, 14, 12, 40)
	for y := 0.0; y < 9; y++ { // all as long, and no line follows from where they are
		passes = append(passes, straight(r2.Vec{X: -900, Y: 15 * y}, r2.Vec{X: -800, Y: 15 * y}))
	}
	passes = append(passes, passes[3], passes[8]) // two given twice
	want := Lines(passes, 20)
	for range 5 {
		perm := rng.Perm(len(passes))
		shuffled := make([]Pass, len(passes))
		for i, j := range perm {
			shuffled[i] = passes[j]
		}
		got := Lines(shuffled, 20)
		for k, l := range got {
			for i, p := range l.Passes {
				if p = perm[p]; p >= len(passes)-2 {
					p = []int{3, 8}[p-len(passes)+2] // which is which can't be told
				}
				got[k].Passes[i] = p
			}
			slices.Sort(got[k].Passes)
		}
		for k := range want {
			for i, p := range want[k].Passes {
				if p >= len(passes)-2 {
					want[k].Passes[i] = []int{3, 8}[p-len(passes)+2]
				}
			}
			slices.Sort(want[k].Passes)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("another order gave\n%+v, not\n%+v", got, want)
		}
	}
}

// Turning the lake turns the lines, and shuffling the passes changes nothing.
func TestLinesLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	for range 30 {
		var passes []Pass
		for range 4 {
			a := r2.Vec{X: rng.Float64() * 2000, Y: rng.Float64() * 2000}
			way := r2.Scale(100+rng.Float64()*150, plane.Toward(rng.Float64()*360))
			for range 3 {
				from := r2.Add(a, r2.Vec{X: rng.NormFloat64() * 3, Y: rng.NormFloat64() * 3})
				passes = append(passes, straight(from, r2.Add(from, way)))
			}
		}
		want := Lines(passes, 25)
		angle := rng.Float64() * 2 * math.Pi
		turned := make([]Pass, len(passes))
		perm := rng.Perm(len(passes))
		for i, j := range perm {
			turned[i] = passes[j]
			turned[i].Path = nil
			for _, p := range passes[j].Path {
				turned[i].Path = append(turned[i].Path, r2.Rotate(p, angle, r2.Vec{}))
			}
		}
		got := Lines(turned, 25)
		if len(got) != len(want) {
			t.Fatalf("%d lines, turned and shuffled %d", len(want), len(got))
		}
		for _, w := range want {
			start := r2.Rotate(w.Middle[0], angle, r2.Vec{})
			if !slices.ContainsFunc(got, func(g Line) bool {
				return len(g.Passes) == len(w.Passes) && r2.Norm(r2.Sub(g.Middle[0], start)) < 1e-6 &&
					math.Abs(plane.TurnDeg(g.TowardDeg, w.TowardDeg-angle*180/math.Pi)) < 1e-6 && math.Abs(g.WidthM-w.WidthM) < 1e-6
			}) {
				t.Fatalf("line from %v with %d passes is gone once turned", w.Middle[0], len(w.Passes))
			}
		}
	}
}

// Whatever the paths, lines are sound: two passes or more, each in one line at most, and every figure finite.
func TestLinesOfAnything(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 1))
	some := 0
	for range 200 {
		var passes []Pass
		for range rng.IntN(30) {
			path := wandering(rng, 2+rng.IntN(60))
			scale, from := math.Exp(4*rng.Float64()-1), r2.Vec{X: 30 * rng.NormFloat64(), Y: 30 * rng.NormFloat64()}
			for i := range path {
				path[i] = r2.Add(from, r2.Scale(scale, path[i]))
			}
			passes = append(passes, Pass{Path: path})
		}
		in := map[int]bool{}
		for _, l := range Lines(passes, 1+40*rng.Float64()) {
			some++
			if len(l.Passes) < 2 || len(l.Middle) < 2 || !slices.IsSorted(l.Passes) {
				t.Errorf("%+v", l)
			}
			for _, i := range l.Passes {
				if in[i] {
					t.Errorf("pass %d is in two lines", i)
				}
				in[i] = true
			}
			sum := l.WidthM + l.TowardDeg + l.TowardU95Deg.V
			for _, v := range l.Middle {
				sum += v.X + v.Y
			}
			if math.IsNaN(sum) || math.IsInf(sum, 0) || l.WidthM < 0 || l.TowardDeg < 0 || l.TowardDeg >= 360 {
				t.Errorf("%+v", l)
			}
		}
	}
	if some < 100 {
		t.Errorf("%d lines in all, which shows little", some)
	}
}

func TestLinesPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic without a width")
		}
	}()
	Lines(nil, 0)
}

// A long season on a large lake.
func BenchmarkLines(b *testing.B) {
	_, passes := season(rand.New(rand.NewPCG(5, 5)), 250, 25, 400)
	passes = passes[:4000]
	for b.Loop() {
		Lines(passes, 20)
	}
}
