package structure

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial/raster"
)

// The made lake, its bottom as it is: what its places are called is what they are. Places of fish lie
// beside humps and points rather than on them: there a cell of that class must lie within
// 50 m, half the broad ring, more than the place is from the line where the rise
// (ingest/madelake/lake.go) has 1/e of its height: 27, 19 and 100 m.
func TestMadeLake(t *testing.T) {
	frame := plane.New(madelake.Origin)
	depth := raster.New(r2.Vec{X: -1450, Y: -700}, 5, 621, 281)
	for i := range depth.Values {
		if m := (madelake.Truth{}).BottomM(frame.Degrees(depth.Centre(i))); m > 0 {
			depth.Set(i, m)
		}
	}
	m := Read(depth, Defaults(5))
	for _, c := range []struct {
		name    string
		at      r2.Vec // ingest/madelake/world.go
		want    Class
		withinM float64
	}{
		{"Channel Bend", r2.Vec{X: -300, Y: -207}, Channel, 5},
		{"Bend Shelf", r2.Vec{X: -359, Y: -97}, Flat, 5},
		{"Mill Flat", r2.Vec{X: -1250, Y: 230}, Flat, 5},
		{"East Flat", r2.Vec{X: 1430, Y: 290}, Flat, 5},
		{"the rise beside Stone Hump", r2.Vec{X: 900, Y: 200}, Hump, 5},
		{"Stone Hump", r2.Vec{X: 880, Y: 300}, Hump, 77},
		{"Long Point", r2.Vec{X: 350, Y: -300}, Point, 69},
		{"North Point", r2.Vec{X: -540, Y: 115}, Point, 150},
		{"River Ledge", r2.Vec{X: -1200, Y: -190}, Channel, 5}, // at the foot of the old river's bank
	} {
		found := false
		for i, class := range m.Class {
			found = found || class == c.want && r2.Norm(r2.Sub(depth.Centre(i), c.at)) <= c.withinM
		}
		if !found {
			t.Errorf("%s: no %s within %g m", c.name, c.want, c.withinM)
		}
	}
}
