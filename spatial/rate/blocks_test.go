package rate

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// reference reads a table of testdata/reference/rate as one map per row, by column.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/rate/" + name)
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
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for k, name := range rows[0] {
			m[name] = row[k]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func numbers(t *testing.T, s string) []float64 {
	t.Helper()
	var out []float64
	for _, f := range strings.Fields(s) {
		out = append(out, number(t, f))
	}
	return out
}

// cellsOf returns the cells that astropy makes of rising times: from midpoint to
// midpoint, the first and last cut at the outermost times.
func cellsOf(times []float64) (bounds, widths []float64) {
	bounds = append(bounds, times[0])
	for i := 1; i < len(times); i++ {
		bounds = append(bounds, (times[i-1]+times[i])/2)
	}
	bounds = append(bounds, times[len(times)-1])
	for i := range times {
		widths = append(widths, bounds[i+1]-bounds[i])
	}
	return bounds, widths
}

// edgesOf returns the bounds of the blocks that start at these cells.
func edgesOf(starts []int, bounds []float64) []float64 {
	var out []float64
	for _, s := range starts {
		out = append(out, bounds[s])
	}
	return append(out, bounds[len(bounds)-1])
}

// sameEdges allows the rounding of the table, six decimals of an hour; cells are at
// least a thousandth apart.
func sameEdges(got, want []float64) bool {
	return slices.EqualFunc(got, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-5 })
}

func TestBlocksAstropy(t *testing.T) {
	rows := reference(t, "blocks.csv")
	if len(rows) < 10 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows {
		t.Run(row["id"], func(t *testing.T) {
			bounds, widths := cellsOf(numbers(t, row["times"]))
			counts := numbers(t, row["counts"])
			if counts == nil {
				counts = slices.Repeat([]float64{1}, len(widths))
			}
			got := edgesOf(Blocks(counts, widths, number(t, row["p0"])), bounds)
			if want := numbers(t, row["edges"]); !sameEdges(got, want) {
				t.Errorf("edges %v, want %v", got, want)
			}
		})
	}
}

func TestBlocks(t *testing.T) {
	for _, c := range []struct {
		name             string
		counts, exposure []float64
		want             []int
	}{
		{"nothing", nil, nil, nil},
		{"no events", []float64{0, 0, 0}, []float64{1, 0, 2}, []int{0}},
		{"no hours", []float64{0, 0}, []float64{0, 0}, []int{0}},
		{"one cell", []float64{7}, []float64{0.5}, []int{0}},
		{"the example", []float64{2, 2, 20, 20}, []float64{1, 1, 1, 1}, []int{0, 2}},
		{"same counts, other hours", []float64{20, 20, 20, 20}, []float64{1, 1, 10, 10}, []int{0, 2}},
		{"same rate, other hours", []float64{2, 2, 20, 20}, []float64{1, 1, 10, 10}, []int{0}},
		{"nothing before and after", []float64{0, 0, 20, 20, 0, 0}, []float64{1, 1, 1, 1, 1, 1}, []int{0, 2, 4}},
		{"a silent cell at the change", []float64{2, 2, 0, 20, 20}, []float64{1, 1, 0, 1, 1}, []int{0, 2}},
		{"weights", []float64{1.5, 2.5, 19.5, 20.5}, []float64{1, 1, 1, 1}, []int{0, 2}},
	} {
		if got := Blocks(c.counts, c.exposure, 0.05); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// The figures of the example above the code, worked out by calculator.
func TestBlocksByHand(t *testing.T) {
	prior := blockPrior(4, 0.05)
	for _, c := range []struct{ got, want float64 }{
		{prior, 3.361},
		{blockFitness(44, 4) - prior, 102.147},
		{blockFitness(4, 2) + blockFitness(40, 2) - 2*prior, 115.881},
	} {
		if math.Abs(c.got-c.want) > 1e-3 {
			t.Errorf("%v, want %v", c.got, c.want)
		}
	}
}

// worthOf is the sum that a cut is judged by.
func worthOf(starts []int, counts, exposure []float64, p0 float64) float64 {
	cells := 0
	for _, h := range exposure {
		if h > 0 {
			cells++
		}
	}
	sum := 0.0
	for k, from := range starts {
		to := len(counts)
		if k+1 < len(starts) {
			to = starts[k+1]
		}
		n, h := 0.0, 0.0
		for i := from; i < to; i++ {
			n += counts[i]
			h += exposure[i]
		}
		sum += blockFitness(n, h) - blockPrior(cells, p0)
	}
	return sum
}

// Every way to cut up to ten cells is tried: none is better, and none as good has
// fewer blocks.
func TestBlocksBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(20130214, 1))
	changed := 0
	for range 400 {
		n := 1 + rng.IntN(10)
		counts, exposure := make([]float64, n), make([]float64, n)
		for i := range counts {
			switch k := rng.IntN(6); {
			case k == 0: // neither
			case k == 1:
				exposure[i] = 0.1 + rng.Float64()
			case k < 4: // equal cells, for ties
				counts[i], exposure[i] = float64(rng.IntN(8)), 1
			default:
				counts[i], exposure[i] = rng.Float64()*12, 0.1+rng.Float64()
			}
		}
		if slices.Max(counts) == 0 {
			continue
		}
		p0 := []float64{0.3, 0.05, 0.001}[rng.IntN(3)]
		got := Blocks(counts, exposure, p0)
		worth := worthOf(got, counts, exposure, p0)
		if len(got) > 1 {
			changed++
		}
		for cut := range 1 << (n - 1) {
			other := []int{0}
			for i := 1; i < n; i++ {
				if cut>>(i-1)&1 == 1 {
					other = append(other, i)
				}
			}
			w := worthOf(other, counts, exposure, p0)
			if w > worth+1e-7 || math.Abs(w-worth) < 1e-10 && len(other) < len(got) {
				t.Fatalf("counts %v, hours %v, p0 %v: %v is worth %v, %v is worth %v", counts, exposure, p0, got, worth, other, w)
			}
		}
	}
	if changed < 50 {
		t.Errorf("only %d of the trials have a change", changed)
	}
}

// steady returns cells of 1 to about 7 minutes with events at that mean number in all.
func steady(rng *rand.Rand, cells int, events float64) (counts, exposure []float64) {
	hours := 0.0
	for range cells {
		h := (1 + 2*rng.ExpFloat64()) / 60
		exposure = append(exposure, h)
		hours += h
	}
	for _, h := range exposure {
		counts = append(counts, distuv.Poisson{Lambda: events * h / hours, Src: rng}.Rand())
	}
	return counts, exposure
}

// Other hours for the hour, and cells that say nothing, change nothing.
func TestBlocksScaleAndSilence(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for range 50 {
		counts, exposure := steady(rng, 60, 30)
		for i := 20; i < 30; i++ {
			counts[i] += float64(rng.IntN(4))
		}
		want := Blocks(counts, exposure, 0.05)
		scaled := slices.Clone(exposure)
		for i := range scaled {
			scaled[i] *= 61.7
		}
		if got := Blocks(counts, scaled, 0.05); !slices.Equal(got, want) {
			t.Fatalf("scaled: %v, want %v", got, want)
		}
		// A silent cell before every cell doubles each start.
		var n, h []float64
		for i := range counts {
			n, h = append(n, 0, counts[i]), append(h, 0, exposure[i])
		}
		got := Blocks(n, h, 0.05)
		for k := range got {
			if got[k]%2 != 0 {
				t.Fatalf("a silent cell in the block before: %v", got)
			}
			got[k] /= 2
		}
		if !slices.Equal(got, want) {
			t.Fatalf("with silent cells: %v, want %v", got, want)
		}
	}
}

// A rate ten times as high in the second half is seen always, and where it is: for the
// cut to be ten cells late or more those cells must look slow, with 5 events or fewer
// for 13 on average (1.1 %); to be as early, fast, with 6 or more for 1.3 (0.2 %).
func TestBlocksStep(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 1))
	seen, near := 0, 0
	for range 100 {
		counts, exposure := make([]float64, 100), make([]float64, 100)
		for i := range counts {
			exposure[i] = 0.1
			lambda := 0.13
			if i >= 50 {
				lambda = 1.3
			}
			counts[i] = distuv.Poisson{Lambda: lambda, Src: rng}.Rand()
		}
		starts := Blocks(counts, exposure, 0.05)
		if len(starts) > 1 {
			seen++
		}
		if slices.ContainsFunc(starts, func(s int) bool { return s > 40 && s < 60 }) {
			near++
		}
	}
	if seen < 100 || near < 95 {
		t.Errorf("seen in %d of 100, near its place in %d", seen, near)
	}
	t.Logf("seen in %d of 100, near its place in %d", seen, near)
}

// Steady series: a change shows in about p0 of them, or fewer. 300 runs at 5 % have
// 15 on average and 26 or more in one set out of 200.
func TestBlocksFalseAlarms(t *testing.T) {
	for _, c := range []struct {
		cells  int
		events float64
	}{{50, 10}, {150, 10}, {150, 40}, {24, 200}} {
		rng := rand.New(rand.NewPCG(7, uint64(c.cells)))
		wrong := 0
		for range 300 {
			counts, exposure := steady(rng, c.cells, c.events)
			if len(Blocks(counts, exposure, 0.05)) > 1 {
				wrong++
			}
		}
		t.Logf("%d cells, %v events: a change in %d of 300", c.cells, c.events, wrong)
		if wrong > 25 {
			t.Errorf("%d cells, %v events: a change in %d of 300 steady series", c.cells, c.events, wrong)
		}
	}
}

func TestBlocksPanics(t *testing.T) {
	for name, call := range map[string]func(){
		"lengths":          func() { Blocks([]float64{1}, nil, 0.05) },
		"no hours":         func() { Blocks([]float64{1, 1}, []float64{1, 0}, 0.05) },
		"negative count":   func() { Blocks([]float64{-1}, []float64{1}, 0.05) },
		"negative hours":   func() { Blocks([]float64{1}, []float64{-1}, 0.05) },
		"not a number":     func() { Blocks([]float64{math.NaN()}, []float64{1}, 0.05) },
		"infinite hours":   func() { Blocks([]float64{1}, []float64{math.Inf(1)}, 0.05) },
		"p0 of 0":          func() { Blocks([]float64{1}, []float64{1}, 0) },
		"p0 of 1":          func() { Blocks([]float64{1}, []float64{1}, 1) },
		"p0 not a number":  func() { Blocks([]float64{1}, []float64{1}, math.NaN()) },
		"p0 without cells": func() { Blocks(nil, nil, 2) },
	} {
		mustPanic(t, name, call)
	}
}

func mustPanic(t *testing.T, name string, call func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Errorf("%s: no panic", name)
		}
	}()
	call()
}

func BenchmarkBlocks(b *testing.B) {
	counts, exposure := steady(rand.New(rand.NewPCG(1, 1)), 1000, 100)
	for b.Loop() {
		Blocks(counts, exposure, 0.05)
	}
}
