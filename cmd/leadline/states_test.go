package main

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/drift"
)

// A stateTally sums up how what the boat is said to have done compares with what it did.
type stateTally struct {
	agree, all     int // seconds that the track covers
	passes, lost   int
	starts, ends   []float64 // seconds off
	byState, mixed map[string]int
}

// add adds one season's comparison.
func (y *stateTally) add(chart spatial.Chart, truth madelake.Truth) {
	if y.byState == nil {
		y.byState, y.mixed = map[string]int{}, map[string]int{}
	}
	type second struct{ unix int64 }
	said := map[second]string{}
	for _, p := range chart.Tracks {
		for t := p.From.Round(time.Second); t.Before(p.To); t = t.Add(time.Second) {
			said[second{t.Unix()}] = p.State
		}
	}
	for _, s := range truth.Stretches {
		for t := s.From; t.Before(s.To); t = t.Add(time.Second) {
			got, known := said[second{t.Unix()}]
			if !known {
				continue
			}
			y.all++
			y.byState[s.State]++
			if got == s.State {
				y.agree++
			} else {
				y.mixed[s.State+" as "+got]++
			}
		}
		if s.State != "drifting" {
			continue
		}
		y.passes++
		var best *spatial.TrackPiece
		var most time.Duration
		first, last := s.To, s.From
		for i, p := range chart.Tracks {
			if p.State != "drifting" {
				continue
			}
			if shared := earlier(p.To, s.To).Sub(later(p.From, s.From)); shared > most {
				best, most = &chart.Tracks[i], shared
			}
			if p.From.Before(s.To) && p.To.After(s.From) {
				first, last = earlier(first, p.From), later(last, p.To)
			}
		}
		if best == nil {
			y.lost++
			continue
		}
		y.starts = append(y.starts, math.Abs(first.Sub(s.From).Seconds()))
		y.ends = append(y.ends, math.Abs(last.Sub(s.To).Seconds()))
	}
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

// hold holds the tally to what is asked: 95 % of seconds agree, drifts begin and end within ten
// seconds in the median.
func (y *stateTally) hold(t *testing.T) {
	t.Helper()
	slices.Sort(y.starts)
	slices.Sort(y.ends)
	t.Logf("%.2f %% of %d seconds agree; %d of %d drifts lost; starts off by %.1f s in the median, ends by %.1f s; seconds by state %v, mixed up %v",
		100*float64(y.agree)/float64(y.all), y.all, y.lost, y.passes, y.starts[len(y.starts)/2], y.ends[len(y.ends)/2], y.byState, y.mixed)
	if 100*y.agree < 95*y.all {
		t.Error("too few seconds agree")
	}
	if y.starts[len(y.starts)/2] > 10 || y.ends[len(y.ends)/2] > 10 {
		t.Error("drifts begin or end elsewhere")
	}
	if 100*y.lost > 5*y.passes {
		t.Error("drifts are lost")
	}
}

// A lineTally sums up how drift lines compare with those that were drifted.
type lineTally struct {
	lines, found, extra int
	speedOff, turnOff   []float64 // parts of one, degrees
}

// add adds one season's comparison: of lines drifted twice or more, each has at most one that
// was found, the nearest that goes its way with its middle over it.
func (y *lineTally) add(chart spatial.Chart, truth madelake.Truth) {
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	taken := make([]bool, len(chart.Drifts))
	for _, l := range truth.DriftLines {
		if l.Passes < 2 {
			continue
		}
		y.lines++
		way := []r2.Vec{frame.Metres(l.Start()), frame.Metres(l.End())}
		best, bestM := -1, 30.0
		for i, d := range chart.Drifts {
			middle := r2.Scale(0.5, r2.Add(frame.Metres(d.Line[0]), frame.Metres(d.Line[len(d.Line)-1])))
			if _, off := drift.Along(way, middle); off < bestM && !taken[i] && math.Abs(plane.TurnDeg(d.TowardDeg, l.TowardDeg)) < 30 {
				best, bestM = i, off
			}
		}
		if best < 0 {
			continue
		}
		y.found++
		taken[best] = true
		d := chart.Drifts[best]
		y.speedOff = append(y.speedOff, math.Abs(d.SpeedMPS/l.SpeedMPS-1))
		y.turnOff = append(y.turnOff, math.Abs(plane.TurnDeg(d.TowardDeg, l.TowardDeg)))
	}
	for _, got := range taken {
		if !got {
			y.extra++
		}
	}
}

// hold holds the tally to what is asked: nine lines in ten found, one in ten extra at most, speed
// right to 3 % and direction to 5 degrees.
func (y *lineTally) hold(t *testing.T) {
	t.Helper()
	slices.Sort(y.speedOff)
	slices.Sort(y.turnOff)
	at := func(v []float64, p float64) float64 { return v[int(p*float64(len(v)-1))] }
	t.Logf("%d of %d lines found, %d extra; speed off by %.1f %% in the median, %.1f %% for nine in ten, %.1f %% at most; direction by %.1f°, %.1f° and %.1f°",
		y.found, y.lines, y.extra, 100*at(y.speedOff, 0.5), 100*at(y.speedOff, 0.9), 100*at(y.speedOff, 1), at(y.turnOff, 0.5), at(y.turnOff, 0.9), at(y.turnOff, 1))
	if 100*y.found < 90*y.lines || 100*y.extra > 10*y.lines {
		t.Error("lines are missed, or there are too many")
	}
	if at(y.speedOff, 0.9) > 0.03 || at(y.turnOff, 0.9) > 5 {
		t.Error("speeds or directions are off")
	}
}

// noSonar leaves depth logs out of a season, where no depth is asked for.
const noSonar = "-sonar.csv"

// hasty leaves out most of what only zones need.
func hasty(set *spatial.Settings) { set.Simulations = 19 }

// TestStatesAgainstTheTruth holds a season at one fix a second and some days at five to what is asked of
// many, which the checks with reference tools do.
func TestStatesAgainstTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("seasons at full rate take minutes under the race detector")
	}
	var states stateTally
	var lines lineTally
	quick := madelake.Default(3, madelake.Full)
	quick.Days, quick.FixesPerS = 4, 5
	for _, plan := range []madelake.Plan{madelake.Hard(2, madelake.Full), quick} {
		dir, truth := madeSeason(t, plan, noSonar)
		chart, _, _ := chartOf(t, dir, hasty)
		states.add(chart, truth)
		lines.add(chart, truth)
	}
	states.hold(t)
	lines.hold(t)
}
