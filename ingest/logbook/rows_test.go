package logbook

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

var lake = orb.Point{-40, 36.5}

// wander makes a track of n fixes a second apart: the boat drifts, turns, stands still, comes back over its own wake.
func wander(r *rand.Rand, n int) ingest.Track {
	frame := plane.New(lake)
	t := ingest.Track{Name: "wander"}
	at, v := r2.Vec{}, r2.Vec{X: 1}
	start := time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	for i := range n {
		switch r.IntN(20) {
		case 0:
			v = r2.Vec{X: 4 * r.NormFloat64(), Y: 4 * r.NormFloat64()}
		case 1:
			v = r2.Vec{}
		case 2:
			v = r2.Scale(-1, v)
		}
		at = r2.Add(at, v)
		noisy := r2.Add(at, r2.Vec{X: 0.3 * r.NormFloat64(), Y: 0.3 * r.NormFloat64()})
		f := ingest.Fix{Time: start.Add(time.Duration(i) * time.Second), Pos: frame.Degrees(noisy), Line: i + 1}
		if r.IntN(15) == 0 {
			f.Flags = ingest.FixJump
			f.Pos[0] += 1
		}
		t.Fixes = append(t.Fixes, f)
	}
	return t
}

// fromSegmentM is the distance of a point from a stretch of a line, by the foot of the perpendicular.
func fromSegmentM(p, a, b r2.Vec) float64 {
	d, l := r2.Sub(b, a), r2.Norm2(r2.Sub(b, a))
	u := 0.0
	if l > 0 {
		u = min(1, max(0, r2.Dot(r2.Sub(p, a), d)/l))
	}
	return r2.Norm(r2.Sub(p, r2.Add(a, r2.Scale(u, d))))
}

// TestThinnedTracksKeepNear holds what trackErrorM says, in a plane: every sound fix lies within it of the line, the line is
// made of fixes, first and last among them, and measures never fall.
func TestThinnedTracksKeepNear(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 2))
		track := wander(r, 2+r.IntN(800))
		rows := Rows(ingest.Day{Date: "2031-10-04", Tracks: []ingest.Track{track}})
		frame := plane.New(lake)
		var sound []ingest.Fix
		seconds := map[float64]orb.Point{}
		for _, f := range track.Fixes {
			if f.Flags == 0 {
				sound = append(sound, f)
				seconds[float64(f.Time.Unix())] = f.Pos
			}
		}
		if rows.Fixes != len(sound) || len(sound) < 2 && len(rows.Tracks) > 0 {
			t.Fatalf("seed %d: %d fixes, wanted %d", seed, rows.Fixes, len(sound))
		}
		if len(sound) < 2 {
			continue
		}
		row := rows.Tracks[0]
		if len(row.Line) != len(row.UnixS) || row.Fixes != len(sound) || row.Name != track.Name ||
			!row.First.Equal(sound[0].Time) || !row.Last.Equal(sound[len(sound)-1].Time) {
			t.Fatalf("seed %d: row %+v", seed, row)
		}
		if row.Line[0] != sound[0].Pos || row.Line[len(row.Line)-1] != sound[len(sound)-1].Pos {
			t.Errorf("seed %d: the line has other ends than the track", seed)
		}
		for i, s := range row.UnixS {
			if i > 0 && s < row.UnixS[i-1] {
				t.Errorf("seed %d: measures fall", seed)
			}
			if seconds[s] != row.Line[i] {
				t.Errorf("seed %d: the boat was not at %v at %v", seed, row.Line[i], s)
			}
		}
		for _, f := range sound {
			least := math.Inf(1)
			for i := range row.Line[1:] {
				least = min(least, fromSegmentM(frame.Metres(f.Pos), frame.Metres(row.Line[i]), frame.Metres(row.Line[i+1])))
			}
			// The plane of the thinning has another centre, some hundred metres off: a micrometre is left for that.
			if least > trackErrorM+1e-6 {
				t.Errorf("seed %d: line %d is %.3f m beside the thinned track", seed, f.Line, least)
			}
		}
		if n := len(sound); n > 400 && len(row.Line) > n*3/4 {
			t.Errorf("seed %d: %d of %d fixes are left", seed, len(row.Line), n)
		}
	}
}

func TestStraightTrackIsTwoPoints(t *testing.T) {
	frame := plane.New(lake)
	var track ingest.Track
	for i := range 100 {
		track.Fixes = append(track.Fixes, ingest.Fix{Time: time.Unix(int64(i), 0).UTC(), Pos: frame.Degrees(r2.Vec{X: float64(i)})})
	}
	row := Rows(ingest.Day{Tracks: []ingest.Track{track}}).Tracks[0]
	if len(row.Line) != 2 || row.UnixS[0] != 0 || row.UnixS[1] != 99 {
		t.Errorf("%v at %v, wanted the two ends", row.Line, row.UnixS)
	}
}

func TestCountsOfADay(t *testing.T) {
	frame := plane.New(lake)
	at := func(x, y float64) orb.Point { return frame.Degrees(r2.Vec{X: x, Y: y}) }
	start := time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	second := func(s int) time.Time { return start.Add(time.Duration(s) * time.Second) }
	fix := func(s int, x float64, flags ingest.FixFlag) ingest.Fix {
		return ingest.Fix{Time: second(s), Pos: at(x, 0), Flags: flags}
	}
	sounding := func(s int, x, depthM float64, tempC ingest.Maybe, flags ingest.SoundingFlag) ingest.PlacedSounding {
		return ingest.PlacedSounding{Sounding: ingest.Sounding{Time: second(s), TempC: tempC, Flags: flags, DepthM: depthM}, At: at(x, 0), SurfaceM: depthM}
	}
	d := ingest.Day{
		Date: "2031-10-04", LevelM: ingest.Known(156),
		Tracks: []ingest.Track{
			// 30 s, then a gap of 61 s that is no time on the water, then one of 60 s that is.
			{Fixes: []ingest.Fix{fix(0, 0, 0), fix(30, 30, 0), fix(31, 900, ingest.FixJump), fix(91, 90, 0), fix(151, 150, 0)}},
			{Fixes: []ingest.Fix{fix(200, 10, 0)}},
		},
		Soundings: []ingest.PlacedSounding{
			sounding(5, 0, 6, ingest.Known(18), 0),     // shown: the first
			sounding(6, 0.5, 9, ingest.Known(20), 0),   // not: nearer than a metre
			sounding(7, 2, 6.1, ingest.Maybe{}, 0),     // not: near and as deep
			sounding(8, 3, 6.5, ingest.Known(17), 0),   // shown: half a metre deeper
			sounding(9, 12.9, 6.5, ingest.Maybe{}, 0),  // not: 9.9 m from the last shown
			sounding(10, 13.1, 6.5, ingest.Maybe{}, 0), // shown
			sounding(-9, 500, 1, ingest.Known(99), ingest.SoundingSpike),
		},
		Events: []ingest.PlacedEvent{{Event: ingest.Event{Time: second(300)}, At: at(0, 200)}},
	}
	r := Rows(d)
	if r.Fixes != 5 || r.Soundings != 6 || r.Events != 1 || r.OnWaterS != 90 {
		t.Errorf("%d fixes, %d soundings, %d events, %v s on the water; wanted 5, 6, 1 and 90", r.Fixes, r.Soundings, r.Events, r.OnWaterS)
	}
	if !r.First.Equal(second(0)) || !r.Last.Equal(second(300)) {
		t.Errorf("from %v to %v", r.First, r.Last)
	}
	if len(r.Tracks) != 1 {
		t.Errorf("%d lines: a single fix makes none", len(r.Tracks))
	}
	if r.TempC != ingest.Known(18) || r.LevelM != ingest.Known(156) {
		t.Errorf("%v °C at level %v, wanted the median of 17, 18 and 20, and 156", r.TempC, r.LevelM)
	}
	var shown []float64
	for _, s := range r.Thinned {
		shown = append(shown, s.Time.Sub(start).Seconds())
	}
	if len(shown) != 3 || shown[0] != 5 || shown[1] != 8 || shown[2] != 10 {
		t.Errorf("soundings of the seconds %v are shown, wanted 5, 8 and 10", shown)
	}
	want := orb.MultiPoint{at(0, 0), at(150, 0), at(0, 200)}.Bound()
	if r.Bound != want {
		t.Errorf("bound %v, wanted %v", r.Bound, want)
	}
}

// What is left out lies near what is shown: within thinnedM of the one before it, and about as deep.
func TestThinnedSoundings(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	frame := plane.New(lake)
	var d ingest.Day
	x, depthM := 0.0, 6.0
	for i := range 2000 {
		x += 2 * r.Float64()
		depthM = max(1, depthM+0.2*r.NormFloat64())
		d.Soundings = append(d.Soundings, ingest.PlacedSounding{
			Sounding: ingest.Sounding{Time: time.Unix(int64(i), 0).UTC()}, At: frame.Degrees(r2.Vec{X: x}), SurfaceM: depthM,
		})
	}
	rows := Rows(d)
	k := -1
	for _, s := range d.Soundings {
		if k+1 < len(rows.Thinned) && rows.Thinned[k+1].Time.Equal(s.Time) {
			k++
			continue
		}
		last := rows.Thinned[k]
		m, dM := frame.DistanceM(last.At, s.At), math.Abs(s.SurfaceM-last.DepthM)
		if m >= 10 || m >= 1 && dM >= 0.5 {
			t.Fatalf("left out %.2f m from the last that is shown, %.2f m deeper or shallower", m, dM)
		}
	}
	if k != len(rows.Thinned)-1 || k > 1500 {
		t.Errorf("%d shown, %d of them soundings of the day", len(rows.Thinned), k+1)
	}
}

func TestRowsOfNothing(t *testing.T) {
	r := Rows(ingest.Day{Date: "2031-10-04"})
	if r.Day != "2031-10-04" || r.Fixes+r.Soundings+r.Events+len(r.Tracks)+len(r.Thinned) != 0 || !r.First.IsZero() || r.TempC.OK {
		t.Errorf("%+v", r)
	}
}
