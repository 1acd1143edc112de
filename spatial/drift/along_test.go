package drift

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestAlong(t *testing.T) {
	line := vecs(0, 0, 10, 0, 10, 10)
	for _, c := range []struct {
		v          r2.Vec
		along, off float64
	}{
		{r2.Vec{X: 4, Y: 3}, 4, 3}, {r2.Vec{X: -3, Y: 4}, 0, 5}, {r2.Vec{X: 13, Y: 6}, 16, 3}, {r2.Vec{X: 10, Y: 20}, 20, 10},
		{r2.Vec{X: 5, Y: 5}, 5, 5}, // as near to 15: the first
	} {
		if along, off := Along(line, c.v); math.Abs(along-c.along) > 1e-12 || math.Abs(off-c.off) > 1e-12 {
			t.Errorf("%v lies at %v, %v off; want %v, %v", c.v, along, off, c.along, c.off)
		}
	}
	if along, off := Along(vecs(1, 1, 1, 1, 4, 1), r2.Vec{X: 2, Y: 3}); along != 1 || off != 2 {
		t.Errorf("a point given twice: %v, %v off, want 1 and 2", along, off)
	}
}

func TestBeside(t *testing.T) {
	l := Line{Middle: vecs(0, 0, 10, 0, 10, 10)}
	for name, c := range map[string]struct {
		v     r2.Vec
		along float64 // negative: not beside
	}{
		"to the left":       {r2.Vec{X: 4, Y: 3}, 4},
		"too far":           {r2.Vec{X: 4, Y: -9}, -1},
		"before":            {r2.Vec{X: -1, Y: 1}, -1},
		"beside the start":  {r2.Vec{X: 0, Y: 4}, 0},
		"beside the end":    {r2.Vec{X: 7, Y: 10}, 20},
		"after":             {r2.Vec{X: 10, Y: 10.1}, -1},
		"outside of a bend": {r2.Vec{X: 11, Y: -1}, 10},
	} {
		along, ok := l.Beside(c.v, 5)
		if ok != (c.along >= 0) || ok && math.Abs(along-c.along) > 1e-12 {
			t.Errorf("%s: %v, %v, want %v", name, along, ok, c.along)
		}
	}
}
