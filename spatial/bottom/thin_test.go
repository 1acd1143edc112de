package bottom

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.6g, want %.6g within %g", what, got, want, tol)
	}
}

// line returns soundings along a straight way, one a metre and second.
func line(day int32, startS float64, from, to r2.Vec, depth func(r2.Vec) float64) []Sounding {
	way := r2.Sub(to, from)
	m := r2.Norm(way)
	var out []Sounding
	for d := 0.0; d <= m; d++ {
		at := r2.Add(from, r2.Scale(d/m, way))
		out = append(out, Sounding{At: at, DepthM: depth(at), S: startS + d, Day: day})
	}
	return out
}

func flat(depthM float64) func(r2.Vec) float64 { return func(r2.Vec) float64 { return depthM } }

func TestCut(t *testing.T) {
	s := line(0, 0, r2.Vec{}, r2.Vec{X: 650}, flat(5))                         // three strokes on one way
	s = append(s, line(0, 1000, r2.Vec{X: 650}, r2.Vec{X: 700}, flat(5))...)   // after five minutes' silence
	s = append(s, line(0, 1051, r2.Vec{X: 800}, r2.Vec{X: 820}, flat(5))...)   // after a jump
	s = append(s, line(1, 1072, r2.Vec{X: 820.5}, r2.Vec{X: 900}, flat(5))...) // another day
	var lengths []float64
	var joined []bool
	next := int32(0)
	for _, p := range cut(s) {
		if p.from != next {
			t.Errorf("a pass begins at %d, want %d", p.from, next)
		}
		next = p.to
		lengths, joined = append(lengths, p.lengthM), append(joined, p.joined)
	}
	if int(next) != len(s) {
		t.Errorf("the last pass ends at %d of %d", next, len(s))
	}
	wantLengths := []float64{300, 300, 48, 50, 20, 79}
	wantJoined := []bool{false, true, true, false, false, false}
	if len(lengths) != len(wantLengths) {
		t.Fatalf("passes of %v m, want %v", lengths, wantLengths)
	}
	for i := range lengths {
		near(t, "length of a pass", lengths[i], wantLengths[i], 1e-6)
		if joined[i] != wantJoined[i] {
			t.Errorf("pass %d joined: %v", i, joined[i])
		}
	}
	// There and back over 100 m: the way is 1.5 times the straight line and 30 m more
	// when 2.5 times the way is 330 m.
	back := append(line(0, 0, r2.Vec{}, r2.Vec{X: 100}, flat(5)), line(0, 101, r2.Vec{X: 99}, r2.Vec{}, flat(5))...)
	if p := cut(back); len(p) != 2 || p[0].lengthM != 132 || !p[1].joined {
		t.Errorf("there and back: %+v", p)
	}
	corner := append(line(0, 0, r2.Vec{}, r2.Vec{X: 100}, flat(5)), line(0, 101, r2.Vec{X: 100, Y: 1}, r2.Vec{X: 100, Y: 100}, flat(5))...)
	if p := cut(corner); len(p) != 1 {
		t.Errorf("round a corner: %+v", p)
	}
	if cut(nil) != nil {
		t.Error("passes of nothing")
	}
}

func TestCellM(t *testing.T) {
	every := func(m float64) []Sounding {
		var s []Sounding
		for i := range 50 {
			s = append(s, Sounding{At: r2.Vec{X: float64(i) * m}, S: float64(i)})
		}
		return s
	}
	for _, c := range []struct {
		name string
		s    []Sounding
		want float64
	}{
		{"none", nil, 5},
		{"one", every(1)[:1], 5},
		{"every foot", every(0.3), 5},
		{"every 5 m", every(5), 5},
		{"every 8 m", every(8), 10},
		{"every 45 m", every(45), 20},
		{"farther apart than a bottom is followed", every(90), 5},
	} {
		if got := CellM(c.s); got != c.want {
			t.Errorf("%s: cells of %v m, want %v", c.name, got, c.want)
		}
	}
}

// By hand: one pass gives 4, 4.2 and 9 m in a cell, another 5 m beside the first.
func TestThin(t *testing.T) {
	s := []Sounding{
		{At: r2.Vec{X: 1, Y: 1}, DepthM: 4}, {At: r2.Vec{X: 2, Y: 1}, DepthM: 9}, {At: r2.Vec{X: 3, Y: 1}, DepthM: 4.2},
		{At: r2.Vec{X: 7, Y: 1}, DepthM: 6},
		{At: r2.Vec{X: 4, Y: 4}, DepthM: 5, S: 600},
	}
	thin := Thin(s, 5, 30)
	if len(thin.nodes) != 3 {
		t.Fatalf("%d nodes, want 3", len(thin.nodes))
	}
	n := thin.nodes[0]
	near(t, "median of the first pass", n.depthM, 4.2, 1e-12)
	near(t, "its place", n.at.X, 2, 1e-12)
	near(t, "the other pass", thin.nodes[1].depthM, 5, 1e-12)
	p, ok := thin.pointWithout(int(n.cell), -1)
	if !ok {
		t.Fatal("no point")
	}
	near(t, "both together", p.Value, 4.6, 1e-12)
	near(t, "their place", p.At.X, 3, 1e-12)
	if p, _ := thin.pointWithout(int(n.cell), n.pass); p.Value != 5 {
		t.Errorf("without the first pass %v, want 5", p.Value)
	}
	if far := Thin([]Sounding{{}, {At: r2.Vec{X: 400e3, Y: 400e3}}}, 5, 30); far.CellM() <= 5 || far.frame.W*far.frame.H > mostCells {
		t.Errorf("cells of %v m, %d of them", far.CellM(), far.frame.W*far.frame.H)
	}
	if Thin(nil, 5, 30).CellM() != 0 {
		t.Error("cells without soundings")
	}
}

// Three days over the same water, of which the first reads 0.3 m too deep and the
// second 0.2 m too shallow, and a fourth elsewhere.
func TestAlign(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	truth := func(v r2.Vec) float64 { return 6 + v.X/50 + math.Sin(v.Y/30) }
	var s []Sounding
	for day, offM := range []float64{0.3, -0.2, 0, 0} {
		for k := range 8 {
			y := float64(k) * 12
			if day == 3 {
				y += 5000
			}
			s = append(s, line(int32(day), float64(k)*400, r2.Vec{Y: y}, r2.Vec{X: 200, Y: y}, func(v r2.Vec) float64 {
				return truth(v) + offM + 0.1*rng.NormFloat64()
			})...)
		}
	}
	thin := Thin(s, 5, 30)
	got := thin.Align([]bool{false, false, true, false})
	for day, want := range []float64{-0.3, 0.2, 0, 0} {
		near(t, "shift", got[day].M, want, 0.03)
		if math.Abs(got[day].M-want) > 4*got[day].ErrorM {
			t.Errorf("day %d: off by %.3f m, said to be sure to %.3f m", day, got[day].M-want, got[day].ErrorM)
		}
		if got[day].OK != (day < 3) || day < 3 && got[day].Onto != 2 {
			t.Errorf("day %d: %+v", day, got[day])
		}
	}
	// Medians of five noisy readings, two of them in a difference: 0.1·1.25·sqrt(2/5).
	near(t, "spread", got[0].SpreadM, 0.079, 0.02)
	for day, o := range got {
		thin.Shift(day, o.M)
	}
	for day, o := range thin.Align([]bool{false, false, true, false}) {
		near(t, "shift of a day that lies right", o.M, 0, 1e-9)
		_ = day
	}
	// The error of one rough pair, by its formula; four cells count as one.
	var rough []Sounding
	for day := range int32(2) {
		for k := range 4 {
			rough = append(rough, line(day, float64(k)*400, r2.Vec{Y: float64(k) * 12}, r2.Vec{X: 200, Y: float64(k) * 12}, func(r2.Vec) float64 {
				return 6 + rng.NormFloat64()
			})...)
		}
	}
	pair := Thin(rough, 5, 30).Align([]bool{false, true})[0]
	near(t, "error of a pair", pair.ErrorM, 1.2533*pair.SpreadM*2/math.Sqrt(float64(pair.Cells)), 1e-9)
	if math.Abs(pair.M) > 3*pair.ErrorM || pair.ErrorM < 0.05 {
		t.Errorf("a rough pair is shifted by %.3f m, sure to %.3f m", pair.M, pair.ErrorM)
	}
	// With no day fixed a group hangs on its latest.
	if o := thin.Align(make([]bool, 4)); o[0].Onto != 2 || o[3].Onto != 3 || o[3].OK {
		t.Errorf("%+v", o)
	}
}

// Two days that share fewer than twenty cells stay where they are.
func TestAlignNeedsSharedWater(t *testing.T) {
	s := append(line(0, 0, r2.Vec{}, r2.Vec{X: 80}, flat(5)), line(1, 0, r2.Vec{}, r2.Vec{X: 80}, flat(6))...)
	for _, o := range Thin(s, 5, 30).Align([]bool{false, true}) {
		if o.OK || o.M != 0 {
			t.Errorf("%+v", o)
		}
	}
}

func TestFindStrays(t *testing.T) {
	bank := func(v r2.Vec) float64 { return 4 + 0.3*math.Abs(v.Y) } // as steep as a ledge
	var s []Sounding
	for k := range 5 { // five passes side by side, 4 m apart
		y := float64(k)*4 + 0.5
		s = append(s, line(0, float64(k)*1000, r2.Vec{Y: y}, r2.Vec{X: 100, Y: y}, bank)...)
	}
	clean := len(s)
	// A sixth follows the second echo for 30 m, and meets a stump half a metre high.
	s = append(s, line(0, 9000, r2.Vec{Y: 9}, r2.Vec{X: 100, Y: 9}, func(v r2.Vec) float64 {
		switch {
		case v.X >= 40 && v.X < 70:
			return 2 * bank(v)
		case v.X >= 80 && v.X < 83:
			return bank(v) - 0.5
		}
		return bank(v)
	})...)
	thin := Thin(s, 5, 30)
	got := thin.FindStrays()
	if len(got) != 30 {
		t.Errorf("%d strays, want the 30 of the second echo", len(got))
	}
	for _, i := range got {
		if i < clean || s[i].At.X < 40 || s[i].At.X >= 70 {
			t.Errorf("sounding %d at %v, %v m deep, is a stray", i, s[i].At, s[i].DepthM)
		}
	}
	for _, n := range thin.nodes {
		if !n.empty() && math.Abs(n.depthM-bank(n.at)) > 0.8 {
			t.Errorf("a node of %v m stands at %v", n.depthM, n.at)
		}
	}
	// Alone with one other pass nobody can say which is wrong.
	two := append(line(0, 0, r2.Vec{}, r2.Vec{X: 60}, flat(5)), line(0, 900, r2.Vec{Y: 2}, r2.Vec{X: 60, Y: 2}, flat(10))...)
	if n := len(Thin(two, 5, 30).FindStrays()); n != 0 {
		t.Errorf("%d strays where two passes disagree", n)
	}
}

// By hand: 4 + x/10 m eastward and 5.2 m northward meet at x = 10.5, where the
// one has 5.05 and the other 5.2.
func TestCrossings(t *testing.T) {
	s := append(
		line(0, 0, r2.Vec{X: 0.5, Y: 0.25}, r2.Vec{X: 60.5, Y: 0.25}, func(v r2.Vec) float64 { return 4 + v.X/10 }),
		line(0, 900, r2.Vec{X: 10.5, Y: -29.5}, r2.Vec{X: 10.5, Y: 30.5}, flat(5.2))...)
	x := Thin(s, 5, 30).Crossings()
	if x.N != 1 {
		t.Fatalf("%d crossings, want 1", x.N)
	}
	near(t, "difference", x.MedianM, 0.15, 1e-9)
	near(t, "95 %", x.P95M, 0.15, 1e-9)
	near(t, "with sign, later less earlier", x.BiasM, 0.15, 1e-9)
	near(t, "depth", x.DepthM, 5.125, 1e-9)

	// A boat that holds its place wobbles over its own track, and that is no check.
	rng := rand.New(rand.NewPCG(3, 4))
	var hold []Sounding
	v := r2.Vec{}
	for i := range 2000 {
		v = r2.Add(r2.Scale(0.98, v), r2.Vec{X: 0.3 * rng.NormFloat64(), Y: 0.3 * rng.NormFloat64()})
		hold = append(hold, Sounding{At: v, DepthM: 5, S: float64(i)})
	}
	if x := Thin(hold, 5, 30).Crossings(); x.N > 20 {
		t.Errorf("%d crossings while holding", x.N)
	}
	// Nor is a tight turn: 75 m around, closed with 5 m to spare.
	var circle []Sounding
	for i := range 80 {
		sin, cos := math.Sincos(float64(i) / 12)
		circle = append(circle, Sounding{At: r2.Vec{X: 12 * sin, Y: (12 + float64(i)/20) * cos}, DepthM: 5, S: float64(i)})
	}
	if x := Thin(circle, 5, 30).Crossings(); x.N != 0 {
		t.Errorf("%d crossings in one turn", x.N)
	}
	if x := Thin(nil, 5, 30).Crossings(); x != (Crossings{}) {
		t.Errorf("%+v without soundings", x)
	}
}

// Noise of 0.1 m on each sounding: the difference of two at a crossing, each
// between two others, is normal with variance 2·0.01·(1-2/3+...): for a place spread evenly
// along a leg the mean of u²+(1-u)² is 2/3, so its deviation is 0.1·sqrt(4/3) and
// the median without sign 0.6745 of that, the 95 % quantile 1.96 of it.
func TestCrossingsOfNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	noisy := func(v r2.Vec) float64 { return 7 + 0.1*rng.NormFloat64() }
	var s []Sounding
	for k := range 40 {
		d := float64(k)*11 + 3.3
		s = append(s, line(0, float64(k)*5000, r2.Vec{X: 0.2, Y: d}, r2.Vec{X: 440, Y: d + 2}, noisy)...)
	}
	for k := range 40 {
		d := float64(k)*11 + 1.7
		s = append(s, line(1, float64(k)*5000, r2.Vec{X: d}, r2.Vec{X: d + 3, Y: 445}, noisy)...)
	}
	x := Thin(s, 5, 30).Crossings()
	if x.N < 1500 || x.N > 1600 {
		t.Fatalf("%d crossings of 40 lines with 40", x.N)
	}
	sd := 0.1 * math.Sqrt(4.0/3)
	near(t, "median", x.MedianM, 0.6745*sd, 0.1*sd)
	near(t, "95 %", x.P95M, 1.96*sd, 0.15*sd)
	near(t, "bias", x.BiasM, 0, 0.1*sd)
}
