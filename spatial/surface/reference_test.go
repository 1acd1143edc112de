//go:build reference

package surface

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"math"
	"os/exec"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// meuse reads a data set of Debian's r-cran-sp (GPL; nothing of it is kept here).
func meuse(t *testing.T, name, value string) []Point {
	t.Helper()
	cmd := exec.Command("Rscript", "--vanilla", "-e", `data(`+name+`, package = "sp"); write.csv(`+name+`, row.names = FALSE)`)
	text, err := cmd.Output()
	if err != nil {
		t.Fatalf("Rscript with the package sp: %v", err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	x, y, v := slices.Index(rows[0], "x"), slices.Index(rows[0], "y"), slices.Index(rows[0], value)
	var out []Point
	for _, r := range rows[1:] {
		out = append(out, Point{At: r2.Vec{X: number(t, r[x]), Y: number(t, r[y])}, Value: number(t, r[v])})
	}
	return out
}

func logged(points []Point) []Point {
	out := slices.Clone(points)
	for i := range out {
		out[i].Value = math.Log(out[i].Value)
	}
	return out
}

func nearestOf(points []Point, at r2.Vec, n int) []Point {
	out := slices.Clone(points)
	slices.SortStableFunc(out, func(a, b Point) int {
		return cmp.Compare(r2.Norm(r2.Sub(a.At, at)), r2.Norm(r2.Sub(b.At, at)))
	})
	return out[:n]
}

// leaveOneOut returns the root mean square error of each point from all others.
func leaveOneOut(t *testing.T, m Method, points []Point) float64 {
	sum := 0.0
	for i, p := range points {
		d := estimate(t, m, p.At, slices.Delete(slices.Clone(points), i, i+1)).Value - p.Value
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(points)))
}

var (
	byGstat = Kriging{Variogram{Spherical, 0.05, 0.59, 897}}
	shepard = InverseDistance{Power: 2}
)

// Figures of R gstat 2.1-0, given to ten digits or as many as are printed.
func TestMeuse(t *testing.T) {
	zinc := meuse(t, "meuse", "zinc")
	if len(zinc) != 155 {
		t.Fatalf("%d points", len(zinc))
	}
	log := logged(zinc)
	for _, row := range table(t, "meuse.csv") {
		at := r2.Vec{X: number(t, row["x"]), Y: number(t, row["y"])}
		near(t, "inverse distance", estimate(t, shepard, at, zinc).Value, number(t, row["idw"]), 1e-6)
		near(t, "inverse distance, nearest 12", estimate(t, shepard, at, nearestOf(zinc, at, 12)).Value, number(t, row["idw12"]), 1e-6)
		e := estimate(t, byGstat, at, log)
		near(t, "kriging", e.Value, number(t, row["kriged"]), 1e-8)
		near(t, "kriging variance", e.Var, number(t, row["variance"]), 1e-9)
	}
	near(t, "leave one out, kriging", leaveOneOut(t, byGstat, log), 0.3917494741, 1e-9)
	near(t, "leave one out, inverse distance", leaveOneOut(t, shepard, zinc), 278.2733789, 1e-6)
}

func TestMeuseGrid(t *testing.T) {
	zinc, cells := meuse(t, "meuse", "zinc"), meuse(t, "meuse.grid", "dist")
	if len(cells) != 3103 {
		t.Fatalf("%d cells", len(cells))
	}
	log := logged(zinc)
	var scratch Scratch
	want := map[int][3]float64{ // kriged, its variance, inverse distance
		1: {6.499876613, 0.3186776128, 6.257013513}, 500: {6.459842802, 0.1344550145, 6.346714755},
		1551: {6.437765126, 0.1683988569, 6.095288235}, 3103: {6.424672163, 0.2356468395, 6.099177104},
	}
	var sum, variance, idw float64
	least, most := math.Inf(1), 0.0
	for i, c := range cells {
		e, _ := byGstat.Estimate(c.At, log, &scratch)
		z, _ := shepard.Estimate(c.At, zinc, &scratch)
		sum, variance, idw = sum+e.Value, variance+e.Var, idw+z.Value
		least, most = math.Min(least, z.Value), math.Max(most, z.Value)
		if w, given := want[i+1]; given {
			near(t, "kriging a cell", e.Value, w[0], 1e-8)
			near(t, "its variance", e.Var, w[1], 1e-9)
			near(t, "inverse distance of the logarithm", estimate(t, shepard, c.At, log).Value, w[2], 1e-8)
		}
	}
	n := float64(len(cells))
	near(t, "mean of the kriged grid", sum/n, 5.707122, 1e-6)
	near(t, "mean of its variance", variance/n, 0.18433325, 1e-8)
	near(t, "mean of inverse distance", idw/n, 423.164668, 1e-5)
	near(t, "least of it", least, 128.4345, 1e-4)
	near(t, "most of it", most, 1805.7757, 1e-4)
}

// The bins of gstat's variogram() as it comes (cutoff a third of the diagonal, fifteen
// bins), and fit.variogram() of a spherical one to them. Its fit stops by its own
// rule, so the last digits of the parts are its own.
func TestMeuseVariogram(t *testing.T) {
	log := logged(meuse(t, "meuse", "zinc"))
	low, high := log[0].At, log[0].At
	for _, p := range log {
		low = r2.Vec{X: math.Min(low.X, p.At.X), Y: math.Min(low.Y, p.At.Y)}
		high = r2.Vec{X: math.Max(high.X, p.At.X), Y: math.Max(high.Y, p.At.Y)}
	}
	cutoff := r2.Norm(r2.Sub(high, low)) / 3
	bins := Empirical(log, cutoff, cutoff/15)
	for i, want := range []Bin{{57, 79.29243746, 0.1234479349}, {299, 163.97366556, 0.2162184853}, {419, 267.36482767, 0.3027858756}} {
		if bins[i].Pairs != want.Pairs {
			t.Errorf("bin %d: %d pairs, want %d", i, bins[i].Pairs, want.Pairs)
		}
		near(t, "distance", bins[i].DistM, want.DistM, 1e-6)
		near(t, "gamma", bins[i].Gamma, want.Gamma, 1e-9)
	}
	v, ok := Fit(Spherical, bins, Variogram{Nugget: 0.1, PSill: 1, RangeM: 500})
	if !ok {
		t.Fatal("no fit")
	}
	near(t, "nugget", v.Nugget, 0.05066242682, 1e-5)
	near(t, "partial sill", v.PSill, 0.59060780221, 1e-5)
	near(t, "range", v.RangeM, 897.0209098, 0.05)
}
