package main

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"text/tabwriter"

	"github.com/paulmach/orb/planar"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// A tally sums up how zones compare with schools over several hard seasons.
type tally struct {
	schools, found, proven int // that gave enough events; with a zone; with a proven one
	reported, true_        int // proven zones; of them those on a school
	listed, listedTrue     int // all zones, proven or not
	merged                 int // neighbours that share their zone
	depthOff, overlap      []float64
}

// hardSeason makes a season, runs the pipeline on its files and adds to the tally.
func (y *tally) hardSeason(t *testing.T, plan madelake.Plan) {
	t.Helper()
	dir, truth := madeSeason(t, plan)
	chart, _, _ := chartOf(t, dir)
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	on := func(z spatial.Zone, s madelake.School) bool {
		return s.DistanceM(z.Centre) <= truth.CastM
	}
	for _, z := range chart.Zones {
		hit := false
		for _, s := range truth.Schools {
			hit = hit || on(z, s)
		}
		y.listed++
		if hit {
			y.listedTrue++
		}
		if z.Proven {
			y.reported++
			if hit {
				y.true_++
			}
		}
	}
	taken := map[string]bool{}
	for _, s := range truth.Schools {
		if s.Events < enoughEvents {
			continue
		}
		y.schools++
		best := -1
		for i, z := range chart.Zones {
			if on(z, s) && (best < 0 || frame.DistanceM(z.Centre, s.Point()) < frame.DistanceM(chart.Zones[best].Centre, s.Point())) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		z := chart.Zones[best]
		y.found++
		if taken[z.ID] {
			y.merged++
		}
		taken[z.ID] = true
		if z.Proven {
			y.proven++
		}
		if z.FishNoted >= 4 {
			y.depthOff = append(y.depthOff, math.Abs((z.FishTopM.V+z.FishBottomM.V)/2-(s.FishTopM+s.FishBottomM)/2))
		}
		y.overlap = append(y.overlap, overlap(frame, z, s, truth.CastM))
	}
}

// overlap returns the intersection over union of a zone's shape and the water within
// a cast of a school, from points 4 m apart.
func overlap(frame plane.Frame, z spatial.Zone, s madelake.School, castM float64) float64 {
	middle := frame.Metres(s.Point())
	both, either := 0.0, 0.0
	for y := -200.0; y <= 200; y += 4 {
		for x := -200.0; x <= 200; x += 4 {
			p := frame.Degrees(r2.Add(middle, r2.Vec{X: x, Y: y}))
			a := planar.PolygonContains(z.Shape, p)
			b := s.DistanceM(p) <= castM
			if a && b {
				both++
			}
			if a || b {
				either++
			}
		}
	}
	return both / either
}

func (y *tally) String() string {
	var out strings.Builder
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	share := func(a, b int) string {
		return fmt.Sprintf("%d of %d, %.1f %%", a, b, 100*float64(a)/math.Max(1, float64(b)))
	}
	fmt.Fprintf(w, "schools with %d events or more that have a zone\t%s\n", enoughEvents, share(y.found, y.schools))
	fmt.Fprintf(w, "of them with a proven one\t%s\n", share(y.proven, y.schools))
	fmt.Fprintf(w, "that share a zone with a neighbour\t%s\n", share(y.merged, y.schools))
	fmt.Fprintf(w, "proven zones that lie on a school\t%s\n", share(y.true_, y.reported))
	fmt.Fprintf(w, "all zones that lie on a school\t%s\n", share(y.listedTrue, y.listed))
	fmt.Fprintf(w, "fish depth off, mean and worst, m\t%.2f, %.2f\n", mean(y.depthOff), most(y.depthOff))
	fmt.Fprintf(w, "overlap with the water in reach of the school, mean\t%.2f\n", mean(y.overlap))
	w.Flush()
	return out.String()
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / math.Max(1, float64(len(v)))
}

func most(v []float64) float64 {
	m := 0.0
	for _, x := range v {
		m = math.Max(m, x)
	}
	return m
}

// TestHardSeasons holds two hard seasons to what is asked of fifty: of schools with
// enough events 95 % have a zone, of proven zones 95 % lie on a school, the fish's depth
// is right to 0.4 m in the mean, and the mean overlap is 0.6.
func TestHardSeasons(t *testing.T) {
	var y tally
	if testing.Short() {
		t.Skip("seasons at full rate take minutes under the race detector")
	}
	for seed := uint64(1); seed <= 2; seed++ {
		y.hardSeason(t, madelake.Hard(seed, madelake.Full))
	}
	t.Log("\n" + y.String())
	if 100*y.found < 95*y.schools || 100*y.true_ < 95*y.reported || y.reported == 0 || mean(y.depthOff) > 0.4 || mean(y.overlap) < 0.6 {
		t.Error("less than is asked")
	}
}
