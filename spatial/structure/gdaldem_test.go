package structure

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// Figures of GDAL 3.6.2, whose command stands in the file. The slopes there are per cent with
// seven figures, so that 1e-6 is rounding and no more.
func TestAgainstGDALsFigures(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "structure", "gdaldem.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.Comment = '#'
	lines, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	const w, h = 9, 7
	depth := raster.New(r2.Vec{}, 5, w, h)
	slope, index := depth.Like(), depth.Like()
	for _, l := range lines[1:] {
		at := (h-1-int(figure(t, l[0])))*w + int(figure(t, l[1]))
		for k, r := range []raster.Raster{depth, slope, index} {
			if text := l[2+k]; text != "" {
				r.Set(at, figure(t, text))
			}
		}
	}
	ours, _, _ := shape(depth)
	s := newSums(depth, -1)
	ringOfEight := position(depth, s, newRing(1, 1.5, s.stride))
	compared := 0
	for i := range depth.Values {
		if ours.Known[i] != slope.Known[i] {
			t.Errorf("cell %d: slope known %v, GDAL's %v", i, ours.Known[i], slope.Known[i])
		}
		if !slope.Known[i] {
			continue
		}
		compared++
		near(t, "slope", float64(ours.Values[i]), float64(slope.Values[i])/100, 1e-6)
		near(t, "index", float64(ringOfEight.Values[i]), float64(index.Values[i]), 2e-6)
	}
	if compared < 20 {
		t.Errorf("only %d cells compared", compared)
	}
}

func figure(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
