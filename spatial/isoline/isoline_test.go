package isoline

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// sampled returns a raster of f at cell centres, all known.
func sampled(origin r2.Vec, cellM float64, w, h int, f func(v r2.Vec) float64) raster.Raster {
	r := raster.New(origin, cellM, w, h)
	for i := range r.Values {
		r.Set(i, f(r.Centre(i)))
	}
	return r
}

// rows returns a raster of cells 1 m wide from rows of text, north first; '.' is
// not known.
func rows(text ...string) raster.Raster {
	r := raster.New(r2.Vec{}, 1, len(text[0]), len(text))
	for y, line := range text {
		for x, c := range line {
			if c != '.' {
				r.Set((len(text)-1-y)*r.W+x, float64(c-'0'))
			}
		}
	}
	return r
}

// rough returns a smooth field with noise, of which some cells aren't known.
func rough(rng *rand.Rand, w, h int, noise, unknown float64) raster.Raster {
	a, b, c := 3+9*rng.Float64(), 3+9*rng.Float64(), 6.3*rng.Float64()
	r := sampled(r2.Vec{X: -1234.5, Y: 777.25}, 2.5, w, h, func(v r2.Vec) float64 {
		return 6 + 3*math.Sin(v.X/a+c) + 2*math.Cos(v.Y/b) + noise*rng.NormFloat64()
	})
	for i := range r.Known {
		if rng.Float64() < unknown {
			r.Known[i], r.Values[i] = false, 0
		}
	}
	return r
}

func length(lines [][]r2.Vec) float64 {
	sum := 0.0
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			sum += r2.Norm(r2.Sub(l[i], l[i-1]))
		}
	}
	return sum
}

func closed(l []r2.Vec) bool { return l[0] == l[len(l)-1] }

// enclosed returns the area on the left of a closed line, below 0 if that is outside.
func enclosed(l []r2.Vec) float64 {
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += r2.Cross(r2.Sub(l[i-1], l[0]), r2.Sub(l[i], l[0]))
	}
	return sum / 2
}

// z = x² + y² at level 1 on [-1.5, 1.5]² with linear edges: lengths derived from
// the crossings in closed form; they tend to 2π. The raster holds float32 and
// crossings keep off the nodes, hence the tolerances. The cubic is exact for x², so
// refining does what halving the cells would.
func TestCircle(t *testing.T) {
	const len03, len015, len005 = 6.209637772, 6.263931747, 6.281341504
	for _, c := range []struct {
		cell         float64
		linear, tol  float64
		above, below float64 // of the refined length
	}{
		{0.3, len03, 1e-6, len015 - 1e-6, len015 + 1e-6},
		{0.15, len015, 1e-6, len015, 2 * math.Pi},
		{0.05, len005, 1e-3, len005, 2 * math.Pi},
	} {
		n := int(math.Round(3/c.cell)) + 1
		r := sampled(r2.Vec{X: -1.5, Y: -1.5}, c.cell, n, n, func(v r2.Vec) float64 { return v.X*v.X + v.Y*v.Y })
		linear, refined := draw(r, []float64{1}, false, false).lines()[0], Lines(r, []float64{1})[0]
		if len(linear) != 1 || !closed(linear[0]) || len(refined) != 1 || !closed(refined[0]) {
			t.Fatalf("cell %v: want one closed line", c.cell)
		}
		if got := length(linear); math.Abs(got-c.linear) > c.tol {
			t.Errorf("cell %v: length %.9f, want %.9f", c.cell, got, c.linear)
		}
		if got := length(refined); got < c.above || got > c.below {
			t.Errorf("cell %v: refined length %.9f, want from %.9f to %.9f", c.cell, got, c.above, c.below)
		}
	}
}

// The circles of a cone, with their radius r known: chords of half a cell lose a
// share of c²/6r² of the area at most, 0.07 % at the smallest here, and the cubic's
// miss at the bend towards the top is of the same order.
func TestCone(t *testing.T) {
	r := sampled(r2.Vec{X: 300, Y: -200}, 1, 101, 91, func(v r2.Vec) float64 { return math.Hypot(v.X-350.3, v.Y+154.6) })
	levels := []float64{8, 13.3, 20, 29, 40}
	for i, lines := range Lines(r, levels) {
		if len(lines) != 1 || !closed(lines[0]) {
			t.Fatalf("level %v: %d lines, want one closed one", levels[i], len(lines))
		}
		want := math.Pi * levels[i] * levels[i]
		if got := -enclosed(lines[0]); math.Abs(got-want) > 0.002*want { // the deep side, outside, is on the left
			t.Errorf("level %v: area %.3f, want %.3f", levels[i], got, want)
		}
	}
}

// Corners south-west, south-east, north-east, north-west 2, 0, 1.2, 0.4: the
// bilinear value at the saddle is (2·1.2 - 0·0.4)/(2 + 1.2 - 0 - 0.4) = 0.857…,
// their mean 0.9. At 0.88 the asymptotic decider (Nielson & Hamann 1991) keeps the
// high corners apart, while a rule by the mean would join them; at 0.85 they touch.
func TestSaddle(t *testing.T) {
	r := sampled(r2.Vec{}, 1, 2, 2, func(v r2.Vec) float64 {
		return map[r2.Vec]float64{{}: 2, {X: 1}: 0, {X: 1, Y: 1}: 1.2, {Y: 1}: 0.4}[v]
	})
	for k, lines := range draw(r, []float64{0.85, 0.88}, false, false).lines() {
		if len(lines) != 2 {
			t.Fatalf("%d lines, want 2", len(lines))
		}
		for _, l := range lines {
			highSide := func(v r2.Vec) bool { return v.X+v.Y < 1 } // nearer to the south-west corner
			if same := highSide(l[0]) == highSide(l[1]); same != (k == 1) {
				t.Errorf("level %d: line %v, want high corners apart: %v", k, l, k == 1)
			}
		}
	}
}

// By hand, the example at the top of the package.
func TestOneSquare(t *testing.T) {
	r := rows("11", "00")
	for _, refined := range []bool{false, true} {
		l := draw(r, []float64{0.25}, refined, false).lines()[0]
		if len(l) != 1 || l[0][0] != (r2.Vec{X: 0, Y: 0.25}) || l[0][len(l[0])-1] != (r2.Vec{X: 1, Y: 0.25}) {
			t.Errorf("refined %v: %v, want a line from west to east a quarter up", refined, l)
		}
	}
}

func TestLinesOfOddRasters(t *testing.T) {
	for _, c := range []struct {
		name   string
		r      raster.Raster
		levels []float64
		want   []int // lines of each level
	}{
		{"nothing", raster.Raster{}, []float64{1}, []int{0}},
		{"no levels", rows("01", "12"), nil, []int{}},
		{"one cell", rows("1"), []float64{0.5}, []int{0}},
		{"one row", rows("0123"), []float64{1.5}, []int{0}},
		{"one column", rows("0", "1", "2"), []float64{1.5}, []int{0}},
		{"nothing known", rows("..", ".."), []float64{0}, []int{0}},
		{"no full square", rows("1.0", "010", ".1."), []float64{0.5}, []int{0}},
		{"flat at the level", rows("333", "333", "333"), []float64{3}, []int{0}},
		{"all below, all above", rows("012", "012"), []float64{-1, 0, 2.5}, []int{0, 0, 0}},
		{"infinite levels", rows("01", "01"), []float64{math.Inf(-1), 0.5, math.Inf(1)}, []int{0, 1, 0}},
		{"a flat at the level in a pit", rows("00000", "03330", "03330", "00000"), []float64{3}, []int{1}},
		{"a spike at the level", rows("000", "010", "000"), []float64{1}, []int{1}},
		{"two spikes at a corner", rows("0000", "0100", "0010", "0000"), []float64{1}, []int{2}},
		{"an unknown cell in the way", rows("00000", "00000", "22.22", "22222", "22222"), []float64{1}, []int{2}},
	} {
		got := []int{}
		for _, lines := range Lines(c.r, c.levels) {
			got = append(got, len(lines))
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v lines, want %v", c.name, got, c.want)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		broken := rows("00000", "00000", "00000", "00000", "00000")
		broken.Values[12] = float32(v)
		if all := Lines(broken, []float64{-0.5, 0.5}); all[0] != nil || all[1] != nil {
			t.Errorf("lines %v beside a value of %v", all, v)
		}
	}
}

func TestLevelsMustAscend(t *testing.T) {
	for _, levels := range [][]float64{{1, 1}, {2, 1}, {math.NaN()}, {1, math.NaN(), 2}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("levels %v taken", levels)
				}
			}()
			Lines(rows("01", "01"), levels)
		}()
	}
}
