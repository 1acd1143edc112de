//go:build reference

package milkrun

import (
	"math"
	"testing"
)

// The optimum of eil51-gen2-50 by branch and cut is 1674 (see TestPublishedRoundedDistances). Some ten seconds.
func TestProofOfRoundedDistances(t *testing.T) {
	pts := spots(t, "eil51_gen2.csv", "")
	rounded := func(a, b spot) float64 { return math.Floor(euclid(a, b) + 0.5) }
	plan := solved(t, orienteering(pts[0], pts[0], pts[1:], 213, rounded), Options{Seed: 1})
	if score := plan.Gain + pts[0].score; score != 1674 || !plan.Proven {
		t.Errorf("score %g, bound %g, want 1674 proven", score, plan.Bound+pts[0].score)
	}
}
