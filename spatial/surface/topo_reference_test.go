//go:build reference

package surface

import (
	"archive/zip"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"regexp"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// topobathy is a grid of heights and depths of a sea coast that Debian's
// python-matplotlib-data carries as sample data; nothing of it is kept here.
const topobathy = "/usr/share/matplotlib/mpl-data/sample_data/topobathy.npz"

// readTopo reads the array topo, row by row: NumPy's format, little-endian float32.
func readTopo(t *testing.T) (h [][]float64) {
	t.Helper()
	z, err := zip.OpenReader(topobathy)
	if err != nil {
		t.Fatalf("%v (Debian package python-matplotlib-data)", err)
	}
	defer z.Close()
	f, err := z.Open("topo.npy")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	head := 10 + int(binary.LittleEndian.Uint16(b[8:]))
	m := regexp.MustCompile(`'descr': '<f4', 'fortran_order': False, 'shape': \((\d+), (\d+)\)`).FindSubmatch(b[:head])
	if m == nil {
		t.Fatalf("header %q", b[:head])
	}
	var rows, columns int
	fmt.Sscan(string(m[1])+" "+string(m[2]), &rows, &columns)
	for y := range rows {
		var row []float64
		for x := range columns {
			row = append(row, float64(math.Float32frombits(binary.LittleEndian.Uint32(b[head+4*(y*columns+x):]))))
		}
		h = append(h, row)
	}
	return h
}

// Every fifth node of a real sea floor and coast is kept, the rest drawn from
// them. Facts of the grid, and the error of bilinear interpolation, 209.644426 m in
// all and 115.333330 m where the true height is below 0, were computed apart from this program
// with SciPy 1.10.1. So rough a coast, with the nodes in a lattice, leaves little to
// win over straight lines: kriging with the variogram of the nodes themselves is to
// be no worse in all; under water, and a quadratic that rounds off by a node, by a
// twentieth at most.
func TestTopobathy(t *testing.T) {
	h := readTopo(t)
	if len(h) != 91 || len(h[0]) != 120 || h[0][0] != -1405 || h[45][60] != 299 {
		t.Fatalf("%d by %d, %v, %v", len(h), len(h[0]), h[0][0], h[45][60])
	}
	const every = 5
	kept := raster.New(r2.Vec{}, every, 24, 19)
	var points []Point
	for y := range kept.H {
		for x := range kept.W {
			v := h[y*every][x*every]
			kept.Set(y*kept.W+x, v)
			points = append(points, Point{At: r2.Vec{X: float64(x * every), Y: float64(y * every)}, Value: v})
		}
	}
	var near12 []Point
	rms := func(estimate func(at r2.Vec) float64) (all, wet float64) {
		var n, m float64
		for y := range 91 {
			for x := range 116 {
				d := estimate(r2.Vec{X: float64(x), Y: float64(y)}) - h[y][x]
				all, n = all+d*d, n+1
				if h[y][x] < 0 {
					wet, m = wet+d*d, m+1
				}
			}
		}
		return math.Sqrt(all / n), math.Sqrt(wet / m)
	}
	all, wet := rms(func(at r2.Vec) float64 { v, _ := kept.Value(at); return v })
	near(t, "bilinear", all, 209.644426, 1e-4)
	near(t, "bilinear under water", wet, 115.333330, 1e-4)
	var scratch Scratch
	v, ok := Fit(Exponential, Empirical(points, 40, every), Variogram{Nugget: 1, PSill: 1e5, RangeM: 40})
	if !ok {
		t.Fatal("no variogram")
	}
	for _, c := range []struct {
		Method
		most float64
	}{
		{Quadratic{SoftM: every, SlopeSD: 100, CurveSD: 20, NoiseSD: 1}, 1.05},
		{Kriging{v}, 1},
	} {
		m := c.Method
		a, w := rms(func(at r2.Vec) float64 {
			near12 = near12[:0]
			for _, p := range points {
				if r2.Norm(r2.Sub(p.At, at)) <= 2.5*every {
					near12 = append(near12, p)
				}
			}
			e, _ := m.Estimate(at, near12, &scratch)
			return e.Value
		})
		t.Logf("%s: %.1f m, under water %.1f m; bilinear %.1f m and %.1f m", m.Name(), a, w, all, wet)
		if a > c.most*all || w > 1.05*wet {
			t.Errorf("%s: %.1f m, under water %.1f m, where straight lines have %.1f m and %.1f m", m.Name(), a, w, all, wet)
		}
	}
}
