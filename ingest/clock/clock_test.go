package clock

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
)

var (
	noon  = time.Date(2031, 10, 4, 15, 0, 0, 0, time.UTC)
	local = plane.New(madelake.Origin)
)

// sailed is a day of one fix and one row each second along a path in metres, with
// positions, speeds and depths free of error.
func sailed(seconds int, at func(s float64) r2.Vec, depthM func(v r2.Vec) float64) ([]ingest.Track, []ingest.Sounding) {
	t := ingest.Track{}
	var log []ingest.Sounding
	for s := range seconds {
		v := at(float64(s))
		ahead := r2.Sub(at(float64(s)+0.5), at(float64(s)-0.5))
		x := ingest.Sounding{Time: noon.Add(time.Duration(s) * time.Second), Pos: local.Degrees(v), HasPos: true,
			DepthM: depthM(v), SpeedMPS: ingest.Known(r2.Norm(ahead))}
		log = append(log, x)
		t.Fixes = append(t.Fixes, ingest.Fix{Time: x.Time, Pos: x.Pos})
	}
	return []ingest.Track{t}, log
}

// without takes quantities out of a log.
func without(log []ingest.Sounding, kinds ...string) []ingest.Sounding {
	log = slices.Clone(log)
	for i := range log {
		for _, k := range kinds {
			switch k {
			case "positions":
				log[i].HasPos = false
			case "speeds":
				log[i].SpeedMPS = ingest.Maybe{}
			case "depths":
				log[i].DepthM = 0
			case "times":
				log[i].Time = time.Time{}
			}
		}
	}
	return log
}

// wander is a path without any period: sums of sines of unrelated lengths.
func wander(s float64) r2.Vec {
	return r2.Vec{
		X: 140*math.Sin(s/613) + 70*math.Sin(s/97) + 200*math.Sin(s/2221),
		Y: 130*math.Sin(s/541+1) + 80*math.Sin(s/131) + 150*math.Sin(s/1709),
	}
}

func bumpy(v r2.Vec) float64 {
	return 8 + 3*math.Sin(v.X/70)*math.Cos(v.Y/90) + 2*math.Sin((v.X+v.Y)/41)
}

func TestAlign(t *testing.T) {
	tracks, log := sailed(10800, wander, bumpy)
	stray := slices.Clone(log)
	for i := 7; i < len(stray); i += 400 {
		stray[i].Pos = orb.Point{-stray[i].Pos[0], stray[i].Pos[1]} // a longitude without its sign
		stray[i].SpeedMPS = ingest.Known(400)
		stray[i].DepthM = 999
	}
	for _, c := range []struct {
		name   string
		log    []ingest.Sounding
		aheadS float64
		by     string
		words  string
	}{
		{"right", log, 0, byPosition, "agrees with the track's (matched by position, sure)"},
		{"right by speed", without(log, "positions"), 0, bySpeed, "agrees with the track's (matched by speed, sure)"},
		{"right by depth", without(log, "positions", "speeds"), 0, byDepth, "agrees with the track's (matched by depth to about 2 s, sure)"},
		{"one second counts as none", log, 1, byPosition, "agrees with the track's (matched by position, sure)"},
		{"a little ahead", without(log, "positions"), 37, bySpeed, "is 37 s ahead of the track's (matched by speed, sure): moved by -37 s"},
		{"a little behind", log, -3, byPosition, "is 3 s behind the track's (matched by position, sure): moved by +3 s"},
		{"an hour behind", log, -3600, byPosition, "is 1 h behind the track's (matched by position, sure), a whole number of hours, likely a zone error: moved by +3600 s"},
		{"five and a half ahead", without(log, "positions"), 19800, bySpeed, "is 5 h 30 min ahead of the track's (matched by speed, sure), a whole number of half hours, likely a zone error: moved by -19800 s"},
		{"zone and clock", log, 10837, byPosition, "is 3 h 37 s ahead of the track's (matched by position, sure), within 37 s of a whole number of hours, likely a zone error: moved by -10837 s"},
		{"farthest that is searched", log, -50400, byPosition, "is 14 h behind the track's (matched by position, sure), a whole number of hours, likely a zone error: moved by +50400 s"},
		{"stray values", stray, 37, byPosition, "is 37 s ahead of the track's (matched by position, sure): moved by -37 s"},
		{"stray speeds", without(stray, "positions"), 37, bySpeed, "is 37 s ahead of the track's (matched by speed, sure): moved by -37 s"},
		{"stray depths", without(stray, "positions", "speeds"), 3600, byDepth, "is 1 h ahead of the track's (matched by depth to about 2 s, sure), a whole number of hours, likely a zone error: moved by -3600 s"},
		{"half the log", log[:5400], 37, byPosition, "is 37 s ahead of the track's (matched by position, sure): moved by -37 s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			e, ok := Align(ahead(c.log, c.aheadS), tracks)
			if !ok || !e.Sure || e.By != c.by || e.Words != c.words {
				t.Errorf("%+v", e)
			}
			if want := -c.aheadS; e.OffsetS != want && math.Abs(want) > 1 {
				t.Errorf("offset %v s, want %v", e.OffsetS, want)
			}
			if e.Confidence < leastConfidence || e.Confidence > 1 || e.Misfit >= e.RunnerUpMisfit || math.Abs(e.RunnerUpS-e.OffsetS) < apartS {
				t.Errorf("%+v", e)
			}
		})
	}
}

// Records that hold nothing to match by aren't sure, and say so.
func TestUnsure(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	noisy := func(log []ingest.Sounding) []ingest.Sounding {
		log = slices.Clone(log)
		for i := range log {
			v := r2.Add(local.Metres(log[i].Pos), r2.Vec{X: 3 * r.NormFloat64(), Y: 3 * r.NormFloat64()})
			log[i].Pos = local.Degrees(v)
			log[i].SpeedMPS.V = math.Max(0, log[i].SpeedMPS.V+0.05*r.NormFloat64())
			log[i].DepthM += 0.1 * r.NormFloat64()
		}
		return log
	}
	straight := func(s float64) r2.Vec { return r2.Vec{X: 1.5 * s} }
	circle := func(s float64) r2.Vec {
		return r2.Vec{X: 150 * math.Sin(s/120), Y: 110 * math.Sin(s/120+1)}
	}
	anchored := func(s float64) r2.Vec { return r2.Vec{X: 2 * math.Sin(s/40), Y: 2 * math.Cos(s/57)} }
	level := func(r2.Vec) float64 { return 9 }
	for _, c := range []struct {
		name   string
		at     func(float64) r2.Vec
		depthM func(r2.Vec) float64
		less   []string
		words  string // somewhere in it
	}{
		{"one speed over a level bottom, straight on", straight, level, []string{"positions"}, "hardly ever came back"},
		{"one speed over a rough bottom, straight on", straight, bumpy, []string{"positions"}, "speed varies too little"},
		{"round and round by position", circle, bumpy, nil, "unsure"},
		{"round and round by speed", circle, bumpy, []string{"positions"}, "unsure"},
		{"round and round by depth", circle, bumpy, []string{"positions", "speeds"}, "unsure"},
		{"at anchor", anchored, level, nil, "unsure"},
		{"wandering over a level bottom", wander, level, []string{"positions", "speeds"}, "depth varies too little"},
		{"neither position nor speed nor depth", wander, bumpy, []string{"positions", "speeds", "depths"}, "too few rows with a position, too few rows with a speed, too few rows with a depth"},
	} {
		t.Run(c.name, func(t *testing.T) {
			tracks, log := sailed(10000, c.at, c.depthM)
			log = noisy(log)
			e, _ := Align(ahead(without(log, c.less...), 0), tracks)
			if e.Sure || !strings.Contains(e.Words, c.words) || !strings.HasSuffix(e.Words, "left as it is") {
				t.Errorf("%+v", e)
			}
		})
	}
}

// Another lake, another decade, no clock, no track.
func TestNothingToMatch(t *testing.T) {
	tracks, log := sailed(10800, wander, bumpy)
	moved := slices.Clone(log)
	for i := range moved {
		moved[i].Pos[0] += 0.1 // 9 km
	}
	flagged := []ingest.Track{{Fixes: slices.Clone(tracks[0].Fixes)}}
	for i := range flagged[0].Fixes {
		flagged[0].Fixes[i].Flags = ingest.FixJump
	}
	for _, c := range []struct {
		name   string
		log    []ingest.Sounding
		tracks []ingest.Track
		ok     bool
		words  string
	}{
		{"another lake", without(moved, "speeds", "depths"), tracks, true, "unsure"},
		{"no times", without(log, "times"), tracks, false, "the log has no times"},
		{"no rows", nil, tracks, false, "the log has no times"},
		{"no track", log, nil, false, "no track lies within 14 hours of the log"},
		{"only its own track", log, []ingest.Track{{FromLog: true, Fixes: tracks[0].Fixes}}, false, "no track lies within"},
		{"only flagged fixes", log, flagged, false, "no track lies within"},
		{"two days away", ahead(log, 2*86400).Soundings, tracks, false, "no track lies within"},
		{"a few rows", log[:50], tracks, false, "too few rows"},
	} {
		t.Run(c.name, func(t *testing.T) {
			e, ok := Align(ingest.Records{Soundings: c.log}, c.tracks)
			if ok != c.ok || e.Sure || !strings.Contains(e.Words, c.words) {
				t.Errorf("%v %+v", ok, e)
			}
		})
	}
}

// A receiver in UTC and a sounder in local time without a zone don't overlap at
// all. Where the records can't tell the offset for sure, the likely one is offered.
func TestOffer(t *testing.T) {
	tracks, log := sailed(7200, func(s float64) r2.Vec { return r2.Vec{X: 1.5 * s} }, bumpy)
	e, ok := Align(ahead(without(log, "positions"), -3*3600), tracks)
	if ok || e.Sure || e.OfferS != ingest.Known(3*3600) || e.Covered != 0 {
		t.Errorf("%v %+v", ok, e)
	}
	if want := "no row lies within the track, moved by +10800 s (3 h, as a zone error would be) most would: left as it is"; !strings.HasSuffix(e.Words, want) {
		t.Errorf("%s", e.Words)
	}
	// No offer where rows do lie within the track.
	e, _ = Align(ahead(without(log, "positions"), 600), tracks)
	if e.OfferS.OK || e.Covered < 0.9 {
		t.Errorf("%+v", e)
	}
}

// The order of rows and fixes, other days' records and one wild date change nothing,
// and what is given isn't changed.
func TestOrderDoesNotMatter(t *testing.T) {
	tracks, log := sailed(10800, wander, bumpy)
	for _, less := range [][]string{nil, {"positions", "speeds"}} {
		r := ahead(without(log, less...), 37)
		want, _ := Align(r, tracks)
		mixed := ingest.Records{Soundings: slices.Clone(r.Soundings)}
		turned := []ingest.Track{{Fixes: slices.Clone(tracks[0].Fixes)}}
		x := rand.New(rand.NewPCG(1, 1))
		x.Shuffle(len(mixed.Soundings), func(i, j int) {
			mixed.Soundings[i], mixed.Soundings[j] = mixed.Soundings[j], mixed.Soundings[i]
		})
		slices.Reverse(turned[0].Fixes)
		before := slices.Clone(mixed.Soundings)
		if got, _ := Align(mixed, turned); !reflect.DeepEqual(got, want) {
			t.Errorf("%+v, want %+v", got, want)
		}
		if !slices.Equal(mixed.Soundings, before) {
			t.Error("the log was changed")
		}
		wild := slices.Clone(r.Soundings)
		wild[5].Time = time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
		if got, _ := Align(ingest.Records{Soundings: wild}, tracks); !got.Sure || got.OffsetS != want.OffsetS {
			t.Errorf("with a wild date %+v, want %+v", got, want)
		}
	}
}

// One log of a whole season, and the tracks of all its days.
func TestWholeSeason(t *testing.T) {
	var tracks []ingest.Track
	var log []ingest.Sounding
	for _, d := range made(t, 1, madelake.Small) {
		tracks = append(tracks, d.tracks...)
		log = append(log, d.soundings...)
	}
	for _, less := range [][]string{{"positions"}, {"positions", "speeds"}} {
		e, ok := Align(ahead(without(log, less...), 3600), tracks)
		if !ok || !e.Sure || math.Abs(e.OffsetS+3600) > 2 {
			t.Errorf("%v: %+v", less, e)
		}
	}
}

// Half hours of a log say less than days: whatever they are sure of must be right,
// and laid over another day they must not be sure.
func TestPieces(t *testing.T) {
	t.Parallel()
	days := made(t, 2, madelake.Small)
	right, n := 0, 0
	for i, d := range days[:2] {
		for _, kind := range kinds {
			log, ok := d.as(kind)
			if !ok {
				continue
			}
			for from := 0; from+300 <= len(log); from += 600 {
				piece := log[from : from+300]
				e, _ := Align(ahead(piece, 3600), d.tracks)
				n++
				switch {
				case e.Sure && math.Abs(e.OffsetS+3600) > 4:
					t.Errorf("day %d row %d by %s: %+v", i, from, kind, e)
				case e.Sure:
					right++
				}
				o := days[(i+3)%len(days)]
				shiftS := o.tracks[0].Fixes[0].Time.Sub(d.tracks[0].Fixes[0].Time).Seconds()
				if e, _ := Align(ahead(piece, shiftS), o.tracks); e.Sure {
					t.Errorf("day %d row %d by %s on another day: %+v", i, from, kind, e)
				}
			}
		}
	}
	t.Logf("%d of %d half hours are sure and right", right, n)
}

func TestSpan(t *testing.T) {
	for s, want := range map[float64]string{0: "0 s", 37: "37 s", -37: "37 s", 60: "1 min", 3600: "1 h", 3637: "1 h 37 s", -19800: "5 h 30 min", 50399: "13 h 59 min 59 s"} {
		if got := span(s); got != want {
			t.Errorf("%v: %s, want %s", s, got, want)
		}
	}
}

func TestZoneError(t *testing.T) {
	for s, want := range map[float64]string{
		0:       "",
		37:      "",
		1739:    "",
		1740:    ", within 1 min of a whole number of half hours, likely a zone error",
		-3600:   ", a whole number of hours, likely a zone error",
		3602:    ", a whole number of hours, likely a zone error",
		-3637:   ", within 37 s of a whole number of hours, likely a zone error",
		19800:   ", a whole number of half hours, likely a zone error",
		20100:   "",
		-34200:  ", a whole number of half hours, likely a zone error",
		50400:   ", a whole number of hours, likely a zone error",
		-1800.4: ", a whole number of half hours, likely a zone error",
	} {
		if got := zoneError(s); got != want {
			t.Errorf("%v: %q, want %q", s, got, want)
		}
	}
}

// The example of the package: at offset -37 the crossing's two depths are equal.
func TestDepthByHand(t *testing.T) {
	c := newCompared([]sample{{100, 6}, {137, 4}, {900, 5}, {937, 4}})
	c.depth = everySecond([]sample{{100, 6}, {137, 4}, {900, 5}, {937, 4}}, 40)
	for _, x := range []struct {
		offsetS int
		want    []pair
	}{
		{0, []pair{{0, 6, 5}}},
		{-37, []pair{{0, 4, 4}}},
		{200, nil},
	} {
		if got := c.known([]crossing{{100, 900}}, x.offsetS); !slices.Equal(got, x.want) {
			t.Errorf("offset %d: %v, want %v", x.offsetS, got, x.want)
		}
	}
	// Differences of 0 and 1 m over those of unrelated depths, 3 and 4 m: 1/7.
	c.clipM = 10
	if got := c.misfit([]pair{{0, 4, 4}, {1, 8, 7}}); math.Abs(got-1.0/7) > 1e-12 {
		t.Errorf("misfit %v, want 1/7", got)
	}
}

// There and back along a line: each point of the way back meets the way out.
func TestCrossings(t *testing.T) {
	tracks, _ := sailed(1200, func(s float64) r2.Vec {
		return r2.Vec{X: 2 * (600 - math.Abs(s-600))}
	}, bumpy)
	w, ok := newWay(tracks, noon, 0, 2000)
	if !ok {
		t.Fatal("no way")
	}
	got := w.crossings()
	if len(got) < 130 {
		t.Fatalf("%d crossings of 150 points 6 m apart", len(got))
	}
	for _, c := range got {
		// The two are 1200 s apart in sum, to within the 6 m between points.
		if sum := c.a + c.b; sum < 1200-4 || sum > 1200+4 || c.b-c.a < visitsApartS {
			t.Errorf("%v", c)
		}
	}
}
