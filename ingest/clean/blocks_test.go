package clean

import (
	"math/rand/v2"
	"testing"
)

// What blocks tell must hold for the readings themselves, at the ends and wherever a window begins.
func TestBlocksEnclose(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for range 200 {
		depths := make([]float64, 1+rng.IntN(100))
		for i := range depths {
			depths[i] = rng.Float64()
		}
		b := newBlocks(depths)
		for k := range depths {
			for _, half := range []int{spikeHalf, doubleHalf} {
				least, most := extremes(depths, k, half)
				if low, high := b.extremes(k, half); low > least || high < most {
					t.Fatalf("around reading %d of %d: %v to %v by blocks, %v to %v by readings", k, len(depths), low, high, least, most)
				}
			}
		}
	}
}
