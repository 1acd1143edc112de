package main

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/boatfile"
	"leadline/ingest/load"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// runOf plans the day after a season that is kept in a folder.
func runOf(t *testing.T, dir string, ask spatial.RunAsk) (spatial.Chart, spatial.Run) {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "boat.toml"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	boat, err := boatfile.Read(f, "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	season, err := load.Season(context.Background(), []string{dir}, load.Options{
		Read: ingest.ReadOptions{Zone: boat.Zone}, MaxGap: 10 * time.Second, Depth: ingest.Corrections{TransducerM: boat.TransducerM}, Levels: boat.Levels,
	})
	if err != nil {
		t.Fatal(err)
	}
	ask.Date, ask.DraughtM, ask.MarginM = "2031-11-17", boat.DraftM, boat.MarginM
	set := analyse.Defaults(boat)
	set.Simulations = 99
	chart, run, err := analyse.Run(context.Background(), season, set, ask, nil)
	if err != nil {
		t.Fatal(err)
	}
	return chart, run
}

// TestRunStaysOnTheWater follows every leg of runs on made lakes with islands, bays and a pool that falls, step by step over the true
// bottom: it never crosses land, and where a depth is said to be known it is there, give or take the map's own doubt.
func TestRunStaysOnTheWater(t *testing.T) {
	legs, stops := 0, 0
	leastM := math.Inf(1)
	for seed := uint64(1); seed <= seasons(12); seed++ {
		dir, truth := madeSeason(t, madelake.Default(seed, madelake.Small))
		chart, run := runOf(t, dir, spatial.RunAsk{Seed: seed})
		last := truth.Days[len(truth.Days)-1]
		stops += len(run.Stops)
		for _, l := range run.Legs {
			legs++
			frame := plane.New(l.Line[0])
			for i := 1; i < len(l.Line); i++ {
				a, b := frame.Metres(l.Line[i-1]), frame.Metres(l.Line[i])
				n := math.Ceil(r2.Norm(r2.Sub(b, a)) / 5)
				for k := 0.0; k <= n; k++ {
					p := frame.Degrees(r2.Add(a, r2.Scale(k/math.Max(n, 1), r2.Sub(b, a))))
					depthM := truth.BottomM(p) + last.LevelM - truth.ReferenceLevelM
					leastM = math.Min(leastM, depthM)
					if depthM <= 0.3 {
						t.Fatalf("season %d, leg %d to %d: %.2f m of water at %v", seed, l.From, l.To, depthM, p)
					}
				}
			}
		}
		for _, s := range run.Stops {
			if z := chart.Zones[s.Index]; z.ID != s.Zone {
				t.Errorf("season %d: %s is not %s", seed, z.ID, s.Zone)
			}
		}
	}
	t.Logf("%d stops, %d legs; shallowest %.2f m", stops, legs, leastM)
	if stops == 0 {
		t.Error("no stop at all")
	}
}
