package raster

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestValue(t *testing.T) {
	r := New(r2.Vec{X: 10, Y: 20}, 5, 3, 2)
	for i, v := range []float64{0, 1, 4, 1, 2} {
		r.Set(i, v) // the north-east cell stays unknown
	}
	for _, c := range []struct {
		name string
		at   r2.Vec
		want float64
		ok   bool
	}{
		{"a centre", r2.Vec{X: 15, Y: 20}, 1, true},
		{"the middle of four, by hand", r2.Vec{X: 12.5, Y: 22.5}, 1, true},
		{"a quarter east", r2.Vec{X: 11.25, Y: 20}, 0.25, true},
		{"on the eastern rim of what is known", r2.Vec{X: 15, Y: 22.5}, 1.5, true},
		{"beside an unknown cell", r2.Vec{X: 19, Y: 21}, 4, true},
		{"in an unknown cell", r2.Vec{X: 20, Y: 25}, 0, false},
		{"the outer half of a cell", r2.Vec{X: 8, Y: 18}, 0, true},
		{"outside", r2.Vec{X: 7, Y: 18}, 0, false},
	} {
		if got, ok := r.Value(c.at); ok != c.ok || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %v %v, want %v %v", c.name, got, ok, c.want, c.ok)
		}
	}
	if least, most, ok := r.Range(); least != 0 || most != 4 || !ok {
		t.Errorf("range %v to %v %v", least, most, ok)
	}
	if v := r.Centre(4); v != (r2.Vec{X: 15, Y: 25}) {
		t.Errorf("centre of cell 4 at %v", v)
	}
}

func TestNothingIsKnownOfNothing(t *testing.T) {
	var r Raster
	if _, ok := r.Value(r2.Vec{}); ok {
		t.Error("a value without cells")
	}
	if _, _, ok := r.Range(); ok {
		t.Error("a range without cells")
	}
}
