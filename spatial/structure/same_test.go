package structure

import (
	"math"
	"reflect"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// rolling is a bottom with all classes on it, some of them many times.
func rolling(v r2.Vec) float64 {
	return 9 + 3*math.Sin(v.X/70)*math.Cos(v.Y/45) + 1.5*math.Sin((v.X+v.Y)/31) + 4*step(v.X+0.4*v.Y-60, 15)
}

// The number of cores changes nothing.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	depth := sampled(5, 150, 121, rolling)
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	one := Read(depth, Defaults(5))
	runtime.GOMAXPROCS(7)
	if seven := Read(depth, Defaults(5)); !reflect.DeepEqual(one, seven) {
		t.Error("another map on seven cores")
	}
	if s, _, _ := one.Shares(r2.Vec{X: -400, Y: -400}, r2.Vec{X: 400, Y: 400}, func(r2.Vec) bool { return true }); len(s) < 6 {
		t.Errorf("only %v", s)
	}
}

// Turned by 30° and sampled anew, a bottom keeps its classes within them. Their borders move
// by up to a cell by the sampling alone: on this busy bottom a shift of half a cell, without a turn, leaves 89 %
// of all cells as they were, and the turn 91 %. So looked at are cells two or more from a border. Of
// those the shift leaves all but one, and the turn may change one in twenty: the eight
// sectors have bearings, and forms halfway between two are called differently. Only what lies
// within 350 m of the middle counts, whose rings are whole both times; a large relief makes
// the limits equal.
func TestTurnedByThirtyDegrees(t *testing.T) {
	set := Defaults(5)
	set.ReliefM = 1
	const n = 241
	a := Read(sampled(5, n, n, rolling), set)
	for _, c := range []struct {
		name                 string
		deg, shiftM, atleast float64
	}{
		{"shifted by half a cell", 0, 2.5, 0.999},
		{"turned by 30°", 30, 0, 0.95},
	} {
		moved := func(v r2.Vec) r2.Vec { return r2.Add(turn(v, c.deg), r2.Vec{X: c.shiftM, Y: c.shiftM}) }
		b := Read(sampled(5, n, n, func(v r2.Vec) float64 { return rolling(moved(v)) }), set)
		same, all := 0, 0
		for i, class := range b.Class {
			v := b.Depth.Centre(i)
			if r2.Norm(v) > 350 {
				continue
			}
			x, y := a.Depth.Cell(moved(v))
			if was := a.Class[y*n+x]; within(a, x, y) {
				all++
				if was == class {
					same++
				}
			}
		}
		share := float64(same) / float64(all)
		t.Logf("%s: %.2f %% of %d cells", c.name, 100*share, all)
		if all < 4000 || share < c.atleast {
			t.Errorf("%s: %.2f %% of %d cells keep their class", c.name, 100*share, all)
		}
	}
}

// within reports whether all cells within two of column x and row y have one class.
func within(m *Map, x, y int) bool {
	for dy := -2; dy <= 2; dy++ {
		for dx := -2; dx <= 2; dx++ {
			if m.Class[(y+dy)*m.Depth.W+x+dx] != m.Class[y*m.Depth.W+x] {
				return false
			}
		}
	}
	return true
}
