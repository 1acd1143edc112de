//go:build reference

package structure

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// gdaldem runs GDAL's gdaldem (package gdal-bin; 3.6.2 when this was written) on the heights
// of a raster and returns its values, in our order of rows.
func gdaldem(t *testing.T, depth raster.Raster, mode string, args ...string) raster.Raster {
	t.Helper()
	var grid strings.Builder
	fmt.Fprintf(&grid, "ncols %d\nnrows %d\nxllcorner 0\nyllcorner 0\ncellsize %g\nNODATA_value -9999\n", depth.W, depth.H, depth.CellM)
	for y := depth.H - 1; y >= 0; y-- {
		for x := range depth.W {
			v, ok := depth.At(x, y)
			if !ok {
				v = 9999
			}
			fmt.Fprintf(&grid, "%.9f ", -v)
		}
		grid.WriteString("\n")
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "heights.asc"), filepath.Join(dir, "out.xyz")
	if err := os.WriteFile(in, []byte(grid.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command("gdaldem", append([]string{mode, in, out, "-q", "-of", "XYZ"}, args...)...).CombinedOutput(); err != nil {
		t.Fatalf("gdaldem: %v\n%s", err, text)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	r := depth.Like()
	for k, line := range bytes.Split(bytes.TrimSpace(text), []byte("\n")) {
		var x, y, v float64
		if _, err := fmt.Sscan(string(line), &x, &y, &v); err != nil {
			t.Fatal(err)
		}
		if v != -9999 {
			r.Set((depth.H-1-k/depth.W)*depth.W+k%depth.W, v)
		}
	}
	return r
}

// Slope by Horn and the index over the eight cells around, on a rough bottom with a
// tenth of its cells unknown. GDAL works in float32: 1e-4 is some ten times its rounding.
func TestAgainstGDAL(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	depth := sampled(5, 120, 90, func(v r2.Vec) float64 { return 9 + 4*math.Sin(v.X/40)*math.Cos(v.Y/30) + 0.2*rng.NormFloat64() })
	for i := range depth.Known {
		if rng.Float64() < 0.1 {
			depth.Known[i], depth.Values[i] = false, 0
		}
	}
	slope, _, _ := shape(depth)
	s := newSums(depth, -1)
	index := position(depth, s, newRing(1, 1.5, s.stride))
	theirSlope, theirIndex := gdaldem(t, depth, "slope", "-p", "-alg", "Horn"), gdaldem(t, depth, "TPI")
	compared, worst := 0, 0.0
	for i := range depth.Values {
		if slope.Known[i] != theirSlope.Known[i] {
			t.Fatalf("cell %d: slope known %v, GDAL's %v", i, slope.Known[i], theirSlope.Known[i])
		}
		if !slope.Known[i] {
			continue
		}
		compared++
		worst = math.Max(worst, math.Abs(float64(slope.Values[i])-float64(theirSlope.Values[i])/100))
		near(t, "slope", float64(slope.Values[i]), float64(theirSlope.Values[i])/100, 1e-4)
		near(t, "index", float64(index.Values[i]), float64(theirIndex.Values[i]), 1e-4)
	}
	if compared < 3000 {
		t.Errorf("only %d cells compared", compared)
	}
	t.Logf("%d cells, slopes at most %.1e apart", compared, worst)
}
