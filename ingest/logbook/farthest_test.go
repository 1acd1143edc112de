package logbook

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

// Held against orb's own, which is another's work: random walks that stand still at times, on a grid that makes equals.
func TestFarthestAgainstOrb(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 500 {
		line := make(orb.LineString, 2+rng.IntN(200))
		for i := range line {
			if i > 0 {
				line[i] = line[i-1]
			}
			if rng.IntN(3) > 0 {
				line[i][0] += float64(rng.IntN(5) - 2)
				line[i][1] += rng.NormFloat64()
			}
		}
		var got orb.LineString
		for i, stays := range farthest(line, 1.5) {
			if stays {
				got = append(got, line[i])
			}
		}
		if want := simplify.DouglasPeucker(1.5).LineString(line.Clone()); !slices.Equal(got, want) {
			t.Fatalf("of %v\n%v stay\norb keeps\n%v", line, got, want)
		}
	}
}

func TestFarthestByHand(t *testing.T) {
	got := farthest([]orb.Point{{0, 0}, {1, 2}, {2, 0}, {3, 0.5}, {4, 0}}, 1)
	if want := []bool{true, true, true, false, true}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
