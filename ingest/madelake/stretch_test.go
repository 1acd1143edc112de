package madelake

import (
	"math"
	"testing"
	"time"
)

// What the boat did must cover each day from end to end, in the hours that are
// told of the day, with every pass inside a drift.
func TestStretchesCoverEachDay(t *testing.T) {
	var told []Truth
	for seed := uint64(1); seed <= seeds; seed++ {
		_, truth := smallSeason(seed)
		told = append(told, truth)
	}
	for _, truth := range append(told, windySeason().truth) {
		rest := truth.Stretches
		for _, d := range truth.Days {
			inH := map[string]float64{}
			at, before := d.Start, ""
			for len(rest) > 0 && rest[0].Date == d.Date {
				s := rest[0]
				if !s.From.Equal(at) || !s.To.After(s.From) || s.State == before {
					t.Fatalf("seed %d: %s %v to %v follows %s to %v", truth.Seed, s.State, s.From, s.To, before, at)
				}
				inH[s.State] += s.To.Sub(s.From).Hours()
				at, before, rest = s.To, s.State, rest[1:]
			}
			if !at.Equal(d.End.Add(time.Second)) {
				t.Errorf("seed %d %s: stretches end at %v, the day at %v", truth.Seed, d.Date, at, d.End)
			}
			// Hours are told to four decimals.
			if math.Abs(inH["drifting"]+inH["holding"]-d.FishingH) > 0.00005 || math.Abs(inH["running"]-d.RunningH) > 0.00005 {
				t.Errorf("seed %d %s: %v, told %v h of fishing and %v h of running", truth.Seed, d.Date, inH, d.FishingH, d.RunningH)
			}
			sum := inH["stopped"] + inH["running"] + inH["drifting"] + inH["holding"] + inH["crawling"]
			if math.Abs(sum-at.Sub(d.Start).Hours()) > 1e-9 || inH["stopped"] == 0 || inH["crawling"] == 0 {
				t.Errorf("seed %d %s: states are %v", truth.Seed, d.Date, inH)
			}
		}
		if len(rest) > 0 {
			t.Errorf("seed %d: %d stretches belong to no day", truth.Seed, len(rest))
		}
		for _, l := range truth.DriftLines {
			for _, p := range l.Made {
				for _, s := range truth.Stretches {
					if s.To.After(p.Start) && s.From.Before(p.End) && s.State != "drifting" {
						t.Errorf("seed %d: %s on a pass of %s at %v", truth.Seed, s.State, l.Name, p.Start)
					}
				}
			}
		}
	}
}
