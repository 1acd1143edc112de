package isoline

import (
	"math"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestLabelsByHand(t *testing.T) {
	bend := []r2.Vec{{}, {X: 8}, {X: 8, Y: 4}}
	for _, c := range []struct {
		name          string
		line          []r2.Vec
		every, leastM float64
		want          []Label
	}{
		{"the example", bend, 20, 4, []Label{{r2.Vec{X: 6}, 0}}},
		{"too short", bend, 20, 12.5, nil},
		{"two parts, off the bend", []r2.Vec{{}, {X: 9}, {X: 9, Y: 9}}, 9, 4, []Label{{r2.Vec{X: 4.5}, 0}, {r2.Vec{X: 9, Y: 4.5}, 90}}},
		{"southward", []r2.Vec{{Y: 10}, {}}, 20, 4, []Label{{r2.Vec{Y: 5}, 90}}},
		{"westward", []r2.Vec{{X: 10}, {}}, 20, 4, []Label{{r2.Vec{X: 5}, 0}}},
		{"to the south-west", []r2.Vec{{X: 10, Y: 10}, {}}, 20, 4, []Label{{r2.Vec{X: 5, Y: 5}, 45}}},
		{"just west of north", []r2.Vec{{}, {X: -0.5, Y: 10}}, 20, 4, []Label{{r2.Vec{X: -0.25, Y: 5}, math.Atan2(-10, 0.5) * 180 / math.Pi}}},
		{"to the north-west", []r2.Vec{{}, {X: -10, Y: 10}}, 20, 4, []Label{{r2.Vec{X: -5, Y: 5}, -45}}},
	} {
		got := Labels([][]r2.Vec{c.line}, c.every, c.leastM)
		ok := len(got) == len(c.want)
		for i := range got {
			ok = ok && r2.Norm(r2.Sub(got[i].At, c.want[i].At)) < 1e-9 && math.Abs(got[i].AngleDeg-c.want[i].AngleDeg) < 1e-9
		}
		if !ok {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if Labels(nil, 5, 5) != nil {
		t.Error("labels without lines")
	}
}

// The label leaves a bend in the middle of its part for a straight stretch beside it.
func TestLabelsSeekTheStraight(t *testing.T) {
	line := []r2.Vec{{}, {X: 20}, {X: 21, Y: 2}, {X: 22}, {X: 42}}
	got := Labels([][]r2.Vec{line}, 100, 8)
	if len(got) != 1 || got[0].AngleDeg != 0 || got[0].At.Y != 0 || math.Abs(got[0].At.X-21) < 2 || math.Abs(got[0].At.X-21) > 6 {
		t.Errorf("%v, want one on the straight just beside the bend at x = 21", got)
	}
}

// On a circle of 50 m radius, 314 m around, every 60 m: five, evenly spread, each
// along its tangent, on the line; the same again and for the line begun elsewhere a
// like number.
func TestLabelsOnACircle(t *testing.T) {
	r := sampled(r2.Vec{}, 2, 70, 70, func(v r2.Vec) float64 { return math.Hypot(v.X-70, v.Y-69) })
	lines := Lines(r, []float64{50})[0]
	got := Labels(lines, 60, 20)
	if len(got) != 5 {
		t.Fatalf("%d labels, want 5", len(got))
	}
	for i, l := range got {
		from := r2.Sub(l.At, r2.Vec{X: 70, Y: 69})
		if math.Abs(r2.Norm(from)-50) > 0.05 {
			t.Errorf("label %v is off the line", l)
		}
		along := r2.Vec{X: math.Cos(l.AngleDeg * math.Pi / 180), Y: math.Sin(l.AngleDeg * math.Pi / 180)}
		if off := math.Abs(r2.Dot(along, from)) / 50; off > 0.05 {
			t.Errorf("label %v is %.3f off the tangent", l, off)
		}
		if l.AngleDeg <= -90 || l.AngleDeg > 90 {
			t.Errorf("label %v isn't upright", l)
		}
		if d := r2.Norm(r2.Sub(l.At, got[(i+1)%5].At)); d < 30 {
			t.Errorf("labels %v apart", d)
		}
	}
	if !reflect.DeepEqual(got, Labels(lines, 60, 20)) {
		t.Error("other labels the second time")
	}
}

func TestLabelsNeedLengths(t *testing.T) {
	for _, c := range [][2]float64{{0, 1}, {1, 0}, {-1, 1}, {math.NaN(), 1}, {1, math.NaN()}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v taken", c)
				}
			}()
			Labels(nil, c[0], c[1])
		}()
	}
}
