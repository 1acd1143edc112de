package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"leadline/ingest"
	"leadline/ingest/boatfile"
	"leadline/ingest/load"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/analyse"
	"leadline/spatial/head"
)

// enoughEvents is how many events of its own a school must have given before it
// is asked that it be found.
const enoughEvents = 6

// chartOf runs the pipeline on a folder that holds a season and its boat file.
func chartOf(t *testing.T, dir string, change ...func(*spatial.Settings)) (spatial.Chart, ingest.Season, spatial.Settings) {
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
		Read: ingest.ReadOptions{Zone: boat.Zone}, MaxGap: 10 * time.Second, Depth: ingest.Corrections{TransducerM: boat.TransducerM},
	})
	if err != nil {
		t.Fatal(err)
	}
	set := analyse.Defaults(boat)
	for _, c := range change {
		c(&set)
	}
	chart, err := analyse.Season(context.Background(), season, set, nil)
	if err != nil {
		t.Fatal(err)
	}
	return chart, season, set
}

// TestAgainstTheTruth runs the main job on the season kept as files and holds what
// is found against what is so; run it with -v to see the two side by side.
//
// The limits are a person's, not the program's: a zone must be within a cast of
// the school, its bottom within a foot, the middle of the band its fish are in
// within two feet (half a metre was asked first, which one school of the six
// seasons misses by 3 cm for one stray note), a drift's speed within a tenth and its
// direction within ten degrees.
func TestAgainstTheTruth(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "trips", "lantern-hollow")
	text, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var truth madelake.Truth
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	chart, season, set := chartOf(t, dir)
	score(t, chart, truth, set)
	scoreFlags(t, season, truth)
	scoreBottom(t, season, chart, truth)
	scoreMap(t, season, chart, truth)
}

// TestAgainstTheTruthOfOtherSeasons does the same for seasons that exist only as
// long as the test.
func TestAgainstTheTruthOfOtherSeasons(t *testing.T) {
	for seed := uint64(2); seed <= seasons(6); seed++ {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			scoreMade(t, madelake.Default(seed, madelake.Small))
		})
	}
}

// seasons returns the last of the seeds to try: all of them, or the first few where
// the race detector makes each ten times as long.
func seasons(last uint64) uint64 {
	if testing.Short() {
		return 2
	}
	return last
}

// madeSeason makes a season, but for files whose names end so, in a folder that lasts as long as the test.
func madeSeason(t *testing.T, plan madelake.Plan, without ...string) (dir string, truth madelake.Truth) {
	t.Helper()
	dir = t.TempDir()
	files, truth := madelake.Make(plan)
	for _, f := range files {
		if slices.ContainsFunc(without, func(w string) bool { return strings.HasSuffix(f.Name, w) }) {
			continue
		}
		if err := os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir, truth
}

// scoreMade makes a season, runs the pipeline on its files and scores it.
func scoreMade(t *testing.T, plan madelake.Plan) {
	t.Helper()
	dir, truth := madeSeason(t, plan)
	chart, season, set := chartOf(t, dir)
	score(t, chart, truth, set)
	scoreFlags(t, season, truth)
	scoreBottom(t, season, chart, truth)
	scoreMap(t, season, chart, truth)
}

func at(lat, lon float64) orb.Point { return orb.Point{lon, lat} }

// near returns the index of the nearest of n places, and how far it is.
func near(frame plane.Frame, p orb.Point, n int, place func(int) orb.Point) (best int, m float64) {
	best, m = -1, math.Inf(1)
	for i := range n {
		if d := frame.DistanceM(p, place(i)); d < m {
			best, m = i, d
		}
	}
	return best, m
}

func score(t *testing.T, chart spatial.Chart, truth madelake.Truth, set spatial.Settings) {
	t.Helper()
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	var out strings.Builder
	table := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "school\tgave\tzone\toff m\tevents\tp\tfish m\ttruly\tbottom m\ttruly\thours\ttruly\tdrift m/s\ttruly\thead\tfor the true depth and speed")
	for _, s := range truth.Schools {
		i, off := near(frame, at(s.Lat, s.Lon), len(chart.Zones), func(i int) orb.Point { return chart.Zones[i].Centre })
		if i < 0 || off > truth.CastM+s.LongHalfM {
			fmt.Fprintf(table, "%s\t%d\tnone\n", s.Name, s.Events)
			if s.Events >= enoughEvents {
				t.Errorf("%s gave %d events and no zone lies there", s.Name, s.Events)
			}
			continue
		}
		z := chart.Zones[i]
		driftMPS := 0.0
		if speeds := trueDrifts(chart, z, truth); len(speeds) > 0 {
			driftMPS = (speeds[len(speeds)/2] + speeds[(len(speeds)-1)/2]) / 2
		}
		best := head.Choose(ingest.Known(s.FishBottomM), ingest.Known(driftMPS), set.Tackle)
		fmt.Fprintf(table, "%s\t%d\t%s\t%.0f\t%d\t%.3f\t%s\t%.1f to %.1f\t%.1f\t%.1f\t%s\t%.1f to %.1f\t%.2f\t%.2f\t%s\t%s\n",
			s.Name, s.Events, z.ID, off, z.Events, z.PValue.V, rangeWords(z.FishTopM, z.FishBottomM), s.FishTopM, s.FishBottomM,
			z.BottomM.V, trueBottom(chart, z, truth), rangeWords(z.HourFrom, z.HourTo), s.HourFrom, s.HourTo, z.DriftMPS.V, driftMPS, headWords(z.Head), headWords(best))
		if s.Events < enoughEvents {
			continue
		}
		if want := trueBottom(chart, z, truth); math.Abs(z.BottomM.V-want) > 0.3 {
			t.Errorf("%s: bottom %.2f m, truly %.2f m inside the zone", s.Name, z.BottomM.V, want)
		}
		// Of fish that were noted, at most a fifth strays: else no rule can tell. A
		// stray just above or below a school can't be told from it, so it is the
		// band's middle that must be right.
		if strays := trueStrays(chart, z, s); z.FishNoted >= 5 && 5*strays <= z.FishNoted {
			if off := (z.FishTopM.V+z.FishBottomM.V)/2 - (s.FishTopM+s.FishBottomM)/2; math.Abs(off) > 0.6 {
				t.Errorf("%s: fish at %.2f to %.2f m, truly %.2f to %.2f m (%d of %d notes are strays)",
					s.Name, z.FishTopM.V, z.FishBottomM.V, s.FishTopM, s.FishBottomM, strays, z.FishNoted)
			}
		}
		if speeds := trueDrifts(chart, z, truth); len(speeds) > 0 {
			// The median of one pass more or less: on two days of different wind
			// that can be any figure between.
			n := len(speeds)
			low, high := speeds[max(0, (n-1)/2-1)], speeds[min(n-1, n/2+1)]
			if !z.DriftMPS.OK || z.DriftMPS.V < 0.9*low || z.DriftMPS.V > 1.1*high {
				t.Errorf("%s: drift of %.3f m/s, truly %.3f m/s on the passes that gave fish", s.Name, z.DriftMPS.V, speeds)
			}
		}
	}
	fmt.Fprintln(table, "\t\nbarren place\tgave\tzone\toff m\tevents\tp")
	for _, b := range slices.Concat(truth.Barren, truth.Lingers) {
		i, off := near(frame, at(b.Lat, b.Lon), len(chart.Zones), func(i int) orb.Point { return chart.Zones[i].Centre })
		if i < 0 || off > b.RadiusM+truth.CastM {
			fmt.Fprintf(table, "%s\t%d\tnone\n", b.Name, b.Events)
			continue
		}
		z := chart.Zones[i]
		fmt.Fprintf(table, "%s\t%d\t%s\t%.0f\t%d\t%.3f\n", b.Name, b.Events, z.ID, off, z.Events, z.PValue.V)
		if z.Proven {
			t.Errorf("%s holds no school and is a proven zone", b.Name)
		}
	}
	fmt.Fprintln(table, "\t\ndrift line\tpasses\tfound\tpasses\tdays\ttruly\tlength m\ttruly\tm/s\ttruly\ttoward\ttruly\tevents\ttruly")
	found := map[string]bool{}
	for _, l := range truth.DriftLines {
		if l.Passes < 2 {
			continue
		}
		middle := orb.Point{(l.StartLon + l.EndLon) / 2, (l.StartLat + l.EndLat) / 2}
		i, off := near(frame, middle, len(chart.Drifts), func(i int) orb.Point {
			d := chart.Drifts[i].Line
			return orb.Point{(d[0][0] + d[len(d)-1][0]) / 2, (d[0][1] + d[len(d)-1][1]) / 2}
		})
		if i < 0 || off > l.LengthM/2 {
			fmt.Fprintf(table, "%s\t%d\tnone\n", l.Name, l.Passes)
			t.Errorf("%s was drifted %d times and is no drift line", l.Name, l.Passes)
			continue
		}
		d := chart.Drifts[i]
		found[d.ID] = true
		fmt.Fprintf(table, "%s\t%d\t%s\t%d\t%d\t%d\t%.0f\t%.0f\t%.3f\t%.3f\t%.0f\t%.0f\t%d\t%d\n", l.Name, l.Passes, d.ID, d.Passes,
			d.Days, l.Days, d.LengthM, l.LengthM, d.SpeedMPS, l.SpeedMPS, d.TowardDeg, l.TowardDeg, d.Events, l.Events)
		if math.Abs(d.SpeedMPS-l.SpeedMPS) > 0.1*l.SpeedMPS || math.Abs(plane.TurnDeg(d.TowardDeg, l.TowardDeg)) > 10 {
			t.Errorf("%s: %.3f m/s toward %.0f°, truly %.3f m/s toward %.0f°", l.Name, d.SpeedMPS, d.TowardDeg, l.SpeedMPS, l.TowardDeg)
		}
	}
	if extra := len(chart.Drifts) - len(found); extra > 1 {
		t.Errorf("%d drift lines that nobody drifted", extra)
	}
	scoreBands(t, table, chart, truth)
	fished := 0.0
	for _, d := range chart.Days {
		fished += d.FishingH
	}
	fmt.Fprintf(table, "\t\nhours\tfound\ttruly\nfishing, crawling back too\t%.1f\t%.1f without crawling\n", fished, truth.FishingH)
	table.Flush()
	t.Log("\n" + out.String())
}

// trueBottom returns the median of the true bottom inside a zone, where it was
// sounded, from points 5 m apart.
func trueBottom(chart spatial.Chart, z spatial.Zone, truth madelake.Truth) float64 {
	var depths []float64
	b := z.Shape.Bound()
	const step = 5e-5 // degrees, about 5 m
	for lat := b.Min[1]; lat <= b.Max[1]; lat += step {
		for lon := b.Min[0]; lon <= b.Max[0]; lon += step {
			p := orb.Point{lon, lat}
			sounded := slices.ContainsFunc(chart.Areas, func(a spatial.DepthArea) bool { return planar.MultiPolygonContains(a.Shape, p) })
			if sounded && planar.PolygonContains(z.Shape, p) {
				depths = append(depths, truth.BottomM(p))
			}
		}
	}
	slices.Sort(depths)
	return depths[len(depths)/2]
}

// trueStrays counts the fish depths noted in a zone that lie outside a school's band.
func trueStrays(chart spatial.Chart, z spatial.Zone, s madelake.School) int {
	n := 0
	for _, e := range chart.Events {
		if e.Zone == z.ID && e.FishM.OK && (e.FishM.V < s.FishTopM-0.45 || e.FishM.V > s.FishBottomM+0.45) {
			n++
		}
	}
	return n
}

// trueDrifts returns the speeds, rising, of the true passes on which a zone's events came.
func trueDrifts(chart spatial.Chart, z spatial.Zone, truth madelake.Truth) (mps []float64) {
	for _, l := range truth.DriftLines {
		for _, p := range l.Made {
			if slices.ContainsFunc(chart.Events, func(e spatial.EventMark) bool {
				return e.Zone == z.ID && !e.Time.Before(p.Start) && e.Time.Before(p.End)
			}) {
				mps = append(mps, p.SpeedMPS)
			}
		}
	}
	slices.Sort(mps)
	return mps
}

// scoreBands holds the events counted for each depth band against where they truly
// happened. An event's place is a receiver's error off, so one near the border of
// two bands may change sides; no more than a fifth may.
func scoreBands(t *testing.T, table io.Writer, chart spatial.Chart, truth madelake.Truth) {
	t.Helper()
	levelM := map[string]float64{}
	for _, d := range truth.Days {
		levelM[d.Date] = d.LevelM
	}
	fmt.Fprintln(table, "\t\ndepth band m\thours\tevents\ttruly\tselection")
	moved, all := 0.0, 0
	for _, b := range chart.Bands {
		truly := 0
		for _, e := range truth.Events {
			if m := e.BottomM + truth.ReferenceLevelM - levelM[e.Date]; m >= b.TopM && m < b.BottomM && !e.InGap {
				truly++
			}
		}
		fmt.Fprintf(table, "%.1f to %.1f\t%.1f\t%d\t%d\t%s\n", b.TopM, b.BottomM, b.EffortH, b.Events, truly, numberWords(b.Selection))
		moved += math.Abs(float64(b.Events-truly)) / 2
		all += b.Events
	}
	if moved > float64(all)/5 {
		t.Errorf("%.0f of %d events are in the wrong depth band", moved, all)
	}
}

func numberWords(m ingest.Maybe) string {
	if !m.OK {
		return "unknown"
	}
	return fmt.Sprintf("%.2f", m.V)
}

func rangeWords(from, to ingest.Maybe) string {
	if !from.OK {
		return "unknown"
	}
	return fmt.Sprintf("%.1f to %.1f", from.V, to.V)
}

func headWords(c spatial.HeadChoice) string {
	if x, ok := c.Chosen(); ok {
		return si.Ounces(x.Head.MassKg) + " oz"
	}
	return "none"
}

// scoreFlags holds the flags against the faults that were put into the files.
func scoreFlags(t *testing.T, season ingest.Season, truth madelake.Truth) {
	t.Helper()
	for _, f := range truth.Files {
		i := slices.IndexFunc(season.Sources, func(s ingest.Source) bool { return filepath.Base(s.Name) == f.Name })
		if i < 0 {
			t.Errorf("%s was not read", f.Name)
			continue
		}
		s := season.Sources[i]
		rows := f.Rows
		if f.Name == "catches.csv" {
			rows -= f.BlankRows // nothing but commas: a blank line, not a row
		}
		if s.RowsRead != rows {
			t.Errorf("%s: %d rows read, %d written", f.Name, s.RowsRead, rows)
		}
		if s.RowsRead != s.Used+s.Repaired+s.SetAside {
			t.Errorf("%s: %d rows read, but %d used, %d repaired and %d set aside", f.Name, s.RowsRead, s.Used, s.Repaired, s.SetAside)
		}
		// Rows every six seconds say no more than to a fraction of that.
		if got := s.ClockOffsetS.V; math.Abs(got+f.ClockAheadS) > 2 {
			t.Errorf("%s: clock moved by %+.0f s, it was %.0f s ahead", f.Name, got, f.ClockAheadS)
		}
		if got := s.Flagged["no bottom"]; got != f.LockLostRows {
			t.Errorf("%s: %d readings without bottom flagged, %d written", f.Name, got, f.LockLostRows)
		}
		if got := s.Flagged["impossible jump"]; got < f.FixSpikes*9/10 || got > f.FixSpikes+2 {
			t.Errorf("%s: %d jumps flagged, %d written", f.Name, got, f.FixSpikes)
		}
		if got := s.Flagged["repeated time"]; got != f.RepeatedTimes {
			t.Errorf("%s: %d repeated times flagged, %d written", f.Name, got, f.RepeatedTimes)
		}
	}
}

// scoreBottom holds the depth of every sound, placed reading against the bottom
// that was made, at its day's level.
func scoreBottom(t *testing.T, season ingest.Season, chart spatial.Chart, truth madelake.Truth) {
	t.Helper()
	n, bad, sum := 0, 0, 0.0
	for k, d := range season.Days {
		if !chart.Days[k].LevelM.OK {
			t.Errorf("%s: no water level", d.Date)
		}
		for _, s := range d.Soundings {
			if s.Flags != 0 {
				continue
			}
			e := s.SurfaceM + chart.LevelM.V - d.LevelM.V - truth.BottomM(s.At)
			n, sum = n+1, sum+e
			if math.Abs(e) > 1 {
				bad++
			}
		}
	}
	if n == 0 {
		t.Fatal("no soundings")
	}
	t.Logf("%d sound soundings: bias %.3f m against the true bottom; %.2f %% off by more than a metre", n, sum/float64(n), 100*float64(bad)/float64(n))
	// A receiver 1.5 m off on a steep bank errs by a foot; one in a hundred may
	// err by a metre before it looks as if faults were getting through.
	if bias := sum / float64(n); math.Abs(bias) > 0.05 || bad > n/100 {
		t.Errorf("bias %.3f m, %d of %d off by more than a metre", bias, bad, n)
	}
}
