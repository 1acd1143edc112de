package leeway

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
)

// reference reads a table of testdata/reference as one map per row, by column.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/leeway/" + name)
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
		for i, cell := range row {
			m[rows[0][i]] = cell
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

// linear is a plain regression with a constant, to be fitted as R's rlm does by default: from
// least squares, the scale the median size of a residual over 0.6745, until the
// residuals change by less than tol.
func linear(x [][]float64, y []float64, w psi, tol float64) task {
	t := task{x: mat.NewDense(len(y), len(x[0])+1, nil), y: y, block: 1, weigh: w, median: 0.6745, tol: tol, tiny: 1e-12}
	for i, row := range x {
		t.x.SetRow(i, append([]float64{1}, row...))
	}
	return t
}

// squares is the fit with all weights 1.
func (t *task) squares() []float64 {
	ones := make([]float64, len(t.y)/t.block)
	for i := range ones {
		ones[i] = 1
	}
	beta, _ := t.least(ones)
	return beta
}

// R's rlm (package MASS) on Brownlee's stack loss data. The figures are printed to eight
// decimals; 1e-7 is for the last of them and for sums in another order. R stops at a
// change of 1e-4, and so must this, or the fifth digit would differ.
func TestAgainstRLM(t *testing.T) {
	var x [][]float64
	var y []float64
	rows := reference(t, "rlm_stackloss.csv")
	for _, r := range rows {
		x = append(x, []float64{number(t, r["air"]), number(t, r["water"]), number(t, r["acid"])})
		y = append(y, number(t, r["loss"]))
	}
	if len(rows) != 21 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, want := range reference(t, "rlm_stackloss_coefficients.csv") {
		t.Run(want["psi"], func(t *testing.T) {
			w := huber(1.345)
			if want["psi"] == "bisquare" {
				w = tukey(4.685)
			}
			task := linear(x, y, w, 1e-4)
			f, ok := task.from(task.squares())
			if !ok {
				t.Fatal("not solved")
			}
			for i, name := range []string{"intercept", "air", "water", "acid"} {
				if math.Abs(f.beta[i]-number(t, want[name])) > 1e-7 {
					t.Errorf("%s %.9f, want %s", name, f.beta[i], want[name])
				}
			}
			if math.Abs(f.scale-number(t, want["scale"])) > 1e-7 {
				t.Errorf("scale %.9f, want %s", f.scale, want["scale"])
			}
			rest := task.rest(f.beta)
			for i, r := range rows {
				if math.Abs(rest[i]-number(t, r[want["psi"]+"_residual"])) > 1e-7 {
					t.Errorf("row %d: residual %.9f, want %s", i+1, rest[i], r[want["psi"]+"_residual"])
				}
				if math.Abs(f.weights[i]-number(t, r[want["psi"]+"_weight"])) > 1e-7 {
					t.Errorf("row %d: weight %.9f, want %s", i+1, f.weights[i], r[want["psi"]+"_weight"])
				}
			}
		})
	}
}

// The example above the code: 100 weighs nothing, and the rest lie evenly about 1.5.
func TestMeanByHand(t *testing.T) {
	task := linear([][]float64{{}, {}, {}, {}, {}}, []float64{0, 1, 2, 3, 100}, tukey(4.685), 1e-12)
	f, ok := task.from([]float64{2})
	if !ok || math.Abs(f.beta[0]-1.5) > 1e-9 || f.weights[4] != 0 || math.Abs(f.scale-1.5/0.6745) > 1e-9 {
		t.Errorf("%+v, %v", f, ok)
	}
}

// The asymptotic efficiency of an M-estimate of place for normal errors in p dimensions
// (Maronna, Ann. Stat. 4, 1976, from memory): d²/a with a = E ψ²/p and
// d = E[(1-1/p) ψ/r + ψ'/p]. For one number 4.685 is the textbooks' 95 %; the same must
// come out of 5.123 for two. Constants are given to three decimals, of which the last changes
// the efficiency by less than 1e-4.
func TestTukeyKeepsItsPrecision(t *testing.T) {
	for _, c := range []struct{ p, c float64 }{{1, 4.685}, {2, tukeyPlane}} {
		w := tukey(c.c)
		density := func(r float64) float64 { return r * math.Exp(-r*r/2) }
		if c.p == 1 {
			density = func(r float64) float64 { return math.Sqrt(2/math.Pi) * math.Exp(-r*r/2) }
		}
		slope := func(r float64) float64 { u := r / c.c; return (1 - u*u) * (1 - 5*u*u) }
		a := quad.Fixed(func(r float64) float64 { return r * r * w(r) * w(r) * density(r) / c.p }, 0, c.c, 200, nil, 0)
		d := quad.Fixed(func(r float64) float64 { return ((1-1/c.p)*w(r) + slope(r)/c.p) * density(r) }, 0, c.c, 200, nil, 0)
		if eff := d * d / a; math.Abs(eff-0.95) > 1e-4 {
			t.Errorf("%v dimensions: efficiency %.5f", c.p, eff)
		}
	}
}

func TestNotSolved(t *testing.T) {
	for _, c := range []struct {
		name string
		x    [][]float64
		y    []float64
	}{
		{"one place twice", [][]float64{{1, 1}, {1, 1}, {1, 1}}, []float64{1, 2, 3}},
		{"columns alike", [][]float64{{1, 2}, {2, 4}, {3, 6}, {4, 8}}, []float64{1, 2, 3, 5}},
	} {
		task := linear(c.x, c.y, huber(1.345), 1e-9)
		if f, ok := task.from([]float64{0, 0, 0}); ok {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}
