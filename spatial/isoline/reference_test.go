//go:build reference

package isoline

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// Held against GDAL's gdal_contour (package gdal-bin; 3.6.2 when this was written).
// It is given the refined lattice, so that both draw the same surface; what remains is
// how each treats saddles and keeps off nodes.

// share is how far areas and lengths may be apart: 0.01 %. The lattice is written to
// nine digits and read as float32, and no level is within a thousandth of an edge of
// many nodes.
const share = 1e-4

// lake is an invented bottom: a basin with a hump, a hole and a channel, shallow
// all along its edge.
func lake() raster.Raster {
	bump := func(v r2.Vec, x, y, high, wide float64) float64 {
		return high * math.Exp(-((v.X-x)*(v.X-x)+(v.Y-y)*(v.Y-y))/(2*wide*wide))
	}
	return sampled(r2.Vec{X: 500, Y: -300}, 3, 140, 100, func(v r2.Vec) float64 {
		v = r2.Sub(v, r2.Vec{X: 500, Y: -300})
		depth := 14*math.Sin(math.Pi*v.X/417)*math.Sin(math.Pi*v.Y/297) + // the basin
			bump(v, 300, 160, 9, 25) - bump(v, 150, 130, 10, 30) // the hole, the hump
		across := (v.Y - 120 - 40*math.Sin(v.X/60)) / 9
		return depth + 2.5*math.Exp(-across*across/2)*math.Sin(math.Pi*v.X/417)*math.Sin(math.Pi*v.Y/297) // the channel
	})
}

// A feature is what gdal_contour writes: a LineString or a MultiPolygon.
type feature struct {
	Properties map[string]float64
	Geometry   struct {
		Type        string
		Coordinates json.RawMessage
	}
}

// as reads a geometry of that type.
func (f feature) as(t *testing.T, geometry string, into any) {
	t.Helper()
	if f.Geometry.Type != geometry {
		t.Fatalf("a %s, want a %s", f.Geometry.Type, geometry)
	}
	if err := json.Unmarshal(f.Geometry.Coordinates, into); err != nil {
		t.Fatal(err)
	}
}

// contour runs gdal_contour on the lattice of r, with fixed levels.
func contour(t *testing.T, r raster.Raster, levels []float64, args ...string) []feature {
	t.Helper()
	program, err := exec.LookPath("gdal_contour")
	if err != nil {
		t.Fatalf("%v: install gdal-bin", err)
	}
	nodes := lattice(r)
	step := r.CellM / 2
	var asc strings.Builder
	fmt.Fprintf(&asc, "ncols %d\nnrows %d\nxllcorner %v\nyllcorner %v\ncellsize %v\nNODATA_value -9999\n",
		len(nodes[0]), len(nodes), r.Origin.X-step/2, r.Origin.Y-step/2, step)
	for j := len(nodes) - 1; j >= 0; j-- {
		for _, v := range nodes[j] {
			fmt.Fprintf(&asc, "%.9g ", v)
		}
		asc.WriteByte('\n')
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "lattice.asc"), filepath.Join(dir, "out.json")
	if err := os.WriteFile(in, []byte(asc.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	args = append(args, "-q", "-f", "GeoJSON")
	args = append(args, "-fl")
	for _, l := range levels {
		args = append(args, strconv.FormatFloat(l, 'g', -1, 64))
	}
	args = append(args, in, out)
	if text, err := exec.Command(program, args...).CombinedOutput(); err != nil {
		t.Fatalf("gdal_contour: %v\n%s", err, text)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Features []feature }
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	if len(all.Features) == 0 {
		t.Fatal("gdal_contour drew nothing")
	}
	return all.Features
}

var lakeLevels = []float64{0.37, 2.11, 3.3, 4.87, 6.13, 7.7, 9.19, 10.3, 12.77, 15.1, 18.3}

func TestLinesAgainstGDAL(t *testing.T) {
	r := lake()
	area, long, count := map[float64]float64{}, map[float64]float64{}, map[float64]int{}
	for _, f := range contour(t, r, lakeLevels, "-a", "level") {
		var line orb.LineString
		f.as(t, "LineString", &line)
		if line[0] != line[len(line)-1] {
			t.Fatal("an open line: the lake is to be shallow all around")
		}
		level := f.Properties["level"]
		var l []r2.Vec
		for _, p := range line {
			l = append(l, r2.Vec{X: p[0], Y: p[1]})
		}
		area[level] -= enclosed(l) // on a raster with north up gdal_contour has the high side on the right
		long[level] += length([][]r2.Vec{l})
		count[level]++
	}
	for k, lines := range Lines(r, lakeLevels) {
		level, sum := lakeLevels[k], 0.0
		for _, l := range lines {
			if !closed(l) {
				t.Fatal("an open line")
			}
			sum += enclosed(l)
		}
		if len(lines) != count[level] || count[level] == 0 {
			t.Errorf("level %v: %d lines, gdal_contour has %d", level, len(lines), count[level])
		}
		if want := area[level]; math.Abs(sum-want) > share*want || want <= 0 {
			t.Errorf("level %v: deeper over %.2f m², gdal_contour has %.2f m²", level, sum, want)
		}
		if got, want := length(lines), long[level]; math.Abs(got-want) > share*want {
			t.Errorf("level %v: %.2f m long, gdal_contour has %.2f m", level, got, want)
		}
		t.Logf("level %5.2f: %d lines, area %10.2f m², gdal_contour %10.2f m²; length %8.2f m, %8.2f m",
			level, len(lines), sum, area[level], length(lines), long[level])
	}
}

// The shallowest band is left out: gdal_contour draws on half a cell beyond the
// outermost values.
func TestAreasAgainstGDAL(t *testing.T) {
	r := lake()
	theirs := map[float64]float64{}
	for _, f := range contour(t, r, lakeLevels, "-p", "-amin", "least") {
		var mp orb.MultiPolygon
		f.as(t, "MultiPolygon", &mp)
		for _, p := range mp {
			for k, ring := range p {
				a := math.Abs(twiceArea(ring)) / 2
				if k > 0 {
					a = -a
				}
				theirs[f.Properties["least"]] += a
			}
		}
	}
	for i, mp := range Areas(r, append(lakeLevels[:len(lakeLevels):len(lakeLevels)], math.Inf(1))) {
		got, want := area(mp), theirs[lakeLevels[i]]
		if math.Abs(got-want) > share*want || want == 0 {
			t.Errorf("from %v: %.2f m², gdal_contour has %.2f m²", lakeLevels[i], got, want)
		}
		t.Logf("from %5.2f: %10.2f m², gdal_contour %10.2f m²", lakeLevels[i], got, want)
	}
}
