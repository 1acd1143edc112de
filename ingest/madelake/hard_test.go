package madelake

import (
	"math"
	"testing"

	"leadline/ingest/plane"
)

// A hard season is what its comment says, whatever the seed.
func TestHard(t *testing.T) {
	sizes := []Size{Full, Small, Small, Small, Small, Small, Small, Small}
	if testing.Short() { // the race detector makes each ten times as long
		sizes = sizes[1:3]
	}
	for i, size := range sizes {
		seed := uint64(i + 1)
		_, truth := Make(Hard(seed, size))
		if len(truth.Days) != 10 || len(truth.Schools) != 8 || len(truth.Barren) != 8 {
			t.Fatalf("seed %d: %d days, %d schools, %d barren places", seed, len(truth.Days), len(truth.Schools), len(truth.Barren))
		}
		f := plane.New(Origin)
		neighbours := 0
		var fished, barren float64
		for i, s := range truth.Schools {
			if 2*s.LongHalfM < 19.9 || 2*s.LongHalfM > 60 || s.EventsPerH < 5 || s.EventsPerH > 11 {
				t.Errorf("seed %d, %s: %.0f m long, %.1f events an hour", seed, s.Name, 2*s.LongHalfM, s.EventsPerH)
			}
			fished += s.FishedH / 8
			for j, o := range truth.Schools {
				if m := f.DistanceM(s.Point(), o.Point()); i != j && m < 150 {
					neighbours++
					if m < 90 {
						t.Errorf("seed %d: %s and %s are %.0f m apart", seed, s.Name, o.Name, m)
					}
					apart := math.Max(s.FishTopM-o.FishBottomM, o.FishTopM-s.FishBottomM)
					if hours := math.Max(s.HourFrom-o.HourTo, o.HourFrom-s.HourTo); apart < 0.5 && hours < 1 {
						t.Errorf("seed %d: %s and %s differ by %.1f m and %.1f h", seed, s.Name, o.Name, apart, hours)
					}
				}
			}
		}
		for _, b := range truth.Barren {
			barren += b.FishedH / 8
		}
		if neighbours != 4 {
			t.Errorf("seed %d: %d schools have a neighbour, want 4", seed, neighbours)
		}
		if size == Full && barren < 2*fished {
			t.Errorf("seed %d: %.2f h at a barren place, %.2f h at a school, want twice as long", seed, barren, fished)
		}
		t.Logf("seed %d: %.2f h at a school, %.2f h at a barren place, %d events", seed, fished, barren, len(truth.Events))
	}
}
