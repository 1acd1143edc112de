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
	"leadline/spatial/density"
)

// A tally sums up how zones compare with schools over several hard seasons.
type tally struct {
	schools, found, proven int // that gave enough events; with a zone; with a proven one
	reported, true_        int // proven zones; of them those on a school
	listed, listedTrue     int // all zones, proven or not
	merged                 int // neighbours that share their zone
	depthOff, overlap      []float64
	depthSure              int // depths that are off by no more than what is said of them
	plain                  plainTally
}

// A plainTally is what plain DBSCAN makes of the same events, knowing nothing of the
// time spent: reach 30 m, four events.
type plainTally struct{ found, clusters, true_ int }

func (y *plainTally) season(frame plane.Frame, chart spatial.Chart, truth madelake.Truth) {
	points := make([]r2.Vec, len(chart.Events))
	for i, e := range chart.Events {
		points[i] = frame.Metres(e.At)
	}
	var middles []r2.Vec
	var count []float64
	for i, label := range density.Cluster(points, 30, 4) {
		if label == density.Noise {
			continue
		}
		for len(middles) <= label {
			middles, count = append(middles, r2.Vec{}), append(count, 0)
		}
		middles[label], count[label] = r2.Add(middles[label], points[i]), count[label]+1
	}
	hit := map[string]bool{}
	for k, m := range middles {
		p, on := frame.Degrees(r2.Scale(1/count[k], m)), false
		for _, s := range truth.Schools {
			if s.DistanceM(p) <= truth.CastM {
				hit[s.Name], on = true, true
			}
		}
		y.clusters++
		if on {
			y.true_++
		}
	}
	for _, s := range truth.Schools {
		if s.Events >= enoughEvents && hit[s.Name] {
			y.found++
		}
	}
}

// hardSeason makes a season, runs the pipeline on its files and adds to the tally. It returns
// what was found and what is true.
func (y *tally) hardSeason(t *testing.T, plan madelake.Plan) (spatial.Chart, madelake.Truth) {
	t.Helper()
	dir, truth := madeSeason(t, plan)
	chart, _, _ := chartOf(t, dir)
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	y.plain.season(frame, chart, truth)
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
		for i, z := range chart.Zones { // proven ones come first
			if best >= 0 && chart.Zones[best].Proven && !z.Proven {
				break
			}
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
		if z.FishU95M.OK {
			off := math.Abs((z.FishTopM.V+z.FishBottomM.V)/2 - (s.FishTopM+s.FishBottomM)/2)
			y.depthOff = append(y.depthOff, off)
			if off <= z.FishU95M.V {
				y.depthSure++
			}
		}
		y.overlap = append(y.overlap, overlap(frame, z, s, truth.CastM))
	}
	return chart, truth
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
	fmt.Fprintf(w, "plain DBSCAN: schools with a cluster\t%s\n", share(y.plain.found, y.schools))
	fmt.Fprintf(w, "plain DBSCAN: clusters that lie on a school\t%s\n", share(y.plain.true_, y.plain.clusters))
	fmt.Fprintf(w, "fish depth off, mean and worst, m\t%.2f, %.2f\n", mean(y.depthOff), most(y.depthOff))
	fmt.Fprintf(w, "fish depth within 0.4 m\t%s\n", share(y.near(), len(y.depthOff)))
	fmt.Fprintf(w, "fish depth as sure as it says\t%s\n", share(y.depthSure, len(y.depthOff)))
	fmt.Fprintf(w, "overlap with the water in reach of the school, mean\t%.2f\n", mean(y.overlap))
	w.Flush()
	return out.String()
}

// near counts the fish depths within 0.4 m.
func (y *tally) near() int {
	n := 0
	for _, m := range y.depthOff {
		if m <= 0.4 {
			n++
		}
	}
	return n
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

// hold holds the tally to what is asked, of what is reported as proven: of schools with
// enough events 95 % have a proven zone, of proven zones 95 % lie on a school; the
// fish's depth is right to 0.4 m and the overlap 0.6, in the mean. The bound on true zones
// holds for all that are listed, too. Not every depth can be right to 0.4 m: who knew which
// notes are the school's, and took the middle of the least and the greatest, had 96 % of seeds 101 to
// 150 right. So no more than six in seven are asked for, and that nine in ten are as good as they say.
func (y *tally) hold(t *testing.T) {
	t.Helper()
	t.Log("\n" + y.String())
	if 100*y.proven < 95*y.schools {
		t.Error("too few schools have a proven zone")
	}
	if 100*y.true_ < 95*y.reported || 100*y.listedTrue < 95*y.listed || y.reported == 0 {
		t.Error("too many zones lie on no school")
	}
	if mean(y.depthOff) > 0.4 {
		t.Error("fish depths are off")
	}
	if 7*y.near() < 6*len(y.depthOff) || 10*y.depthSure < 9*len(y.depthOff) {
		t.Error("too many fish depths are off by more than 0.4 m, or by more than they say")
	}
	if mean(y.overlap) < 0.6 {
		t.Error("outlines are off")
	}
}

// TestHardSeasons holds two hard seasons to what is asked of fifty, which the checks
// with reference tools do.
func TestHardSeasons(t *testing.T) {
	if testing.Short() {
		t.Skip("seasons at full rate take minutes under the race detector")
	}
	var y tally
	for seed := uint64(1); seed <= 2; seed++ {
		y.hardSeason(t, madelake.Hard(seed, madelake.Full))
	}
	y.hold(t)
}
