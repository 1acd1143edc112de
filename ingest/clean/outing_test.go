package clean

import (
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

func TestSoundingsAboveTheTransducer(t *testing.T) {
	s := log(1, 3, 0.2, 3)
	s[1].Ref = ingest.BelowSurface
	Soundings(s, 0.5)
	if s[1].Flags&ingest.SoundingTooShallow == 0 || s[0].Flags != 0 {
		t.Errorf("0.2 m below the surface from a transducer at 0.5 m: %v", s[1].Flags.Names())
	}
}

func TestHeld(t *testing.T) {
	moving := func(mps float64) func(time.Time) (orb.Point, bool) {
		frame := plane.New(orb.Point{-40, 36.5})
		return func(at time.Time) (orb.Point, bool) {
			return frame.Degrees(r2.Vec{X: mps * at.Sub(start).Seconds()}), true
		}
	}
	values := func(n int, held bool) []ingest.Sounding {
		s := log(2, make([]float64, n)...)
		for i := range s {
			s[i].DepthM = 6
			if !held {
				s[i].DepthM += 0.1 * math.Sin(float64(i))
			}
		}
		return s
	}
	for _, c := range []struct {
		name string
		s    []ingest.Sounding
		at   func(time.Time) (orb.Point, bool)
		want bool
	}{
		{"held while running", values(40, true), moving(5), true},
		{"held while lying still", values(40, true), moving(0), false},
		{"changing", values(40, false), moving(5), false},
		{"too few", values(19, true), moving(5), false},
		{"no place known", values(40, true), func(time.Time) (orb.Point, bool) { return orb.Point{}, false }, false},
	} {
		Held(c.s, c.at)
		for i := range c.s {
			if got := c.s[i].Flags&ingest.SoundingHeld != 0; got != c.want {
				t.Errorf("%s: reading %d held: %v", c.name, i, got)
				break
			}
		}
	}
}

func TestRepeats(t *testing.T) {
	first := log(1, make([]float64, 300)...)
	for i := range first {
		first[i].DepthM = 6 + 2*math.Sin(float64(i)/20)
	}
	rounded := func(everyS int, unitM, offM float64) []ingest.Sounding {
		var s []ingest.Sounding
		for i := 0; i < len(first); i += everyS {
			x := first[i]
			x.Time = x.Time.Truncate(time.Second)
			x.DepthM = math.Round(x.DepthM/unitM)*unitM + offM
			s = append(s, x)
		}
		return s
	}
	covered := func(s []ingest.Sounding) (n int) {
		for i := range s {
			if s[i].Flags&ingest.SoundingCovered != 0 {
				n++
			}
		}
		return n
	}
	inFeet, other, another := rounded(2, 0.3048, 0), rounded(2, 0.01, 3), rounded(2, 0.01, 0)
	for i := range another {
		another[i].Time = another[i].Time.Add(24 * time.Hour)
	}
	whole := append([]ingest.Sounding(nil), first...)
	Repeats([][]ingest.Sounding{inFeet, whole, other, another})
	if n := covered(inFeet); n != len(inFeet) {
		t.Errorf("%d of %d readings of the same outing in whole feet are covered", n, len(inFeet))
	}
	if n := covered(whole); n != 0 {
		t.Errorf("%d readings of the longer log are covered", n)
	}
	if n := covered(other); n != 0 {
		t.Errorf("%d readings of another sonar, 3 m deeper, are covered", n)
	}
	if n := covered(another); n != 0 {
		t.Errorf("%d readings of another day are covered", n)
	}
}

// ride makes a track that drives in, fishes, runs a lake's length and drives home.
func ride(inM, homeM float64) (tracks []ingest.Track, sounded []int64, road int) {
	frame := plane.New(orb.Point{-40, 36.5})
	var fixes []ingest.Fix
	at := r2.Vec{X: -inM}
	now := start
	move := func(seconds int, mps float64, onRoad, depth bool) {
		for range seconds {
			fixes = append(fixes, ingest.Fix{Time: now, Pos: frame.Degrees(at)})
			if depth {
				sounded = append(sounded, now.UnixNano())
			}
			if onRoad {
				road++
			}
			at.X += mps
			now = now.Add(time.Second)
		}
	}
	move(int(inM/25), 25, true, false)
	move(120, 0, false, false) // at the ramp
	move(600, 0.3, false, true)
	move(200, 25, false, true) // 5 km down the lake
	move(600, -0.3, false, true)
	move(200, -25, false, true)
	move(120, 0, false, false)
	move(int(homeM/25), 25, true, false)
	if homeM > 0 {
		move(300, 0, true, false) // in the yard
	}
	return []ingest.Track{{Fixes: fixes}}, sounded, road
}

func TestRoad(t *testing.T) {
	for _, c := range []struct {
		name      string
		in, home  float64
		soundings bool
		want      bool
	}{
		{"home on the trailer", 0, 20000, true, true},
		{"there and back on the trailer", 15000, 20000, true, true},
		{"only on the water", 0, 0, true, false},
		{"to the ramp round the corner", 0, 3000, true, false},
		{"home, without a sounder", 0, 60000, false, true},
		{"a long run, without a sounder", 0, 20000, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			tracks, sounded, road := ride(c.in, c.home)
			if !c.soundings {
				sounded = nil
			}
			Road(tracks, sounded)
			n := len(flagged(tracks[0].Fixes, ingest.FixRoad))
			if !c.want {
				road = 0
			}
			// The first kilometres of a drive may pass for water: one, or four without depths.
			if n > road || n < road-320 && road > 0 || road > 0 && n == 0 {
				t.Errorf("%d fixes on the road flagged, %d were", n, road)
			}
			for i, f := range tracks[0].Fixes {
				if f.Flags&ingest.FixRoad != 0 && len(sounded) > 0 && f.Time.UnixNano() >= sounded[0] && f.Time.UnixNano() <= sounded[len(sounded)-1] {
					t.Fatalf("fix %d on the water is flagged", i)
				}
			}
		})
	}
}
