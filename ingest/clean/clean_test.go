package clean

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

var start = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)

// line makes a track of fixes everyS apart at the given metres east and north.
func line(everyS float64, at ...r2.Vec) []ingest.Fix {
	frame := plane.New(orb.Point{-40, 36.5})
	fixes := make([]ingest.Fix, len(at))
	for i, v := range at {
		fixes[i] = ingest.Fix{Time: start.Add(time.Duration(float64(i) * everyS * 1e9)), Pos: frame.Degrees(v)}
	}
	return fixes
}

func flagged(fixes []ingest.Fix, flag ingest.FixFlag) []int {
	var out []int
	for i, f := range fixes {
		if f.Flags&flag != 0 {
			out = append(out, i)
		}
	}
	return out
}

func TestTracksJumps(t *testing.T) {
	straight := func(n int, stepM float64) []r2.Vec {
		v := make([]r2.Vec, n)
		for i := range v {
			v[i] = r2.Vec{X: float64(i) * stepM}
		}
		return v
	}
	with := func(v []r2.Vec, i int, at r2.Vec) []r2.Vec { v[i] = at; return v }
	for _, c := range []struct {
		name  string
		fixes []ingest.Fix
		want  []int
	}{
		{"drifting, nothing wrong", line(1, straight(20, 0.3)...), nil},
		{"one fix 80 m off at five seconds", line(5, with(straight(20, 1.5), 7, r2.Vec{X: 10, Y: 80})...), []int{7}},
		{"one fix 300 m off at one second", line(1, with(straight(20, 0.3), 7, r2.Vec{X: 2, Y: -300})...), []int{7}},
		{"first fix far away", line(1, with(straight(20, 0.3), 0, r2.Vec{Y: 5000})...), []int{0}},
		{"last fix far away", line(1, with(straight(20, 0.3), 19, r2.Vec{Y: 5000})...), []int{19}},
		{"three fixes a thousand kilometres away", line(1, with(with(with(straight(20, 0.3), 5, r2.Vec{Y: 1e6}), 6, r2.Vec{Y: 1e6}), 7, r2.Vec{Y: 1e6})...), []int{5, 6, 7}},
		{"wobble of 1 m at five fixes a second", line(0.2, r2.Vec{}, r2.Vec{Y: 1}, r2.Vec{}, r2.Vec{Y: -1}, r2.Vec{}, r2.Vec{Y: 1}), nil},
		{"turning round at speed", line(5, r2.Vec{}, r2.Vec{X: 60}, r2.Vec{X: 120}, r2.Vec{X: 150, Y: 20}, r2.Vec{X: 120, Y: 45}, r2.Vec{X: 60, Y: 45}), nil},
		{"running at 35 m/s", line(1, straight(20, 35)...), nil},
		{"two fixes", line(1, r2.Vec{}, r2.Vec{X: 1}), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			tracks := []ingest.Track{{Fixes: c.fixes}}
			Tracks(tracks)
			if got := flagged(tracks[0].Fixes, ingest.FixJump); !slices.Equal(got, c.want) {
				t.Errorf("flagged %v, want %v", got, c.want)
			}
		})
	}
}

func TestTracksOrder(t *testing.T) {
	f := line(1, make([]r2.Vec, 8)...)
	f[1].Time = time.Time{}
	f[2].Pos = orb.Point{}
	f[4].Time = f[3].Time
	f[6].Time = f[0].Time.Add(-time.Minute)
	Tracks([]ingest.Track{{Fixes: f}})
	for i, want := range []ingest.FixFlag{0, ingest.FixNoTime, ingest.FixZeroIsland, 0, ingest.FixRepeated, 0, ingest.FixBackwards, 0} {
		if f[i].Flags != want {
			t.Errorf("fix %d: %v, want %v", i, f[i].Flags.Names(), want.Names())
		}
	}
}

func TestTracksOverlap(t *testing.T) {
	long, short := line(1, make([]r2.Vec, 60)...), line(1, make([]r2.Vec, 30)...)
	tracks := []ingest.Track{{Fixes: short}, {Fixes: long}}
	Overlaps(tracks)
	if n := len(flagged(short, ingest.FixCovered)); n != 30 {
		t.Errorf("%d fixes of the shorter track are covered, want all 30", n)
	}
	if n := len(flagged(long, ingest.FixCovered)); n != 0 {
		t.Errorf("%d fixes of the longer track are covered, want none", n)
	}
}

func TestTracksOverlapPrefersTheReceiver(t *testing.T) {
	fromLog, own := line(1, make([]r2.Vec, 60)...), line(1, make([]r2.Vec, 20)...)
	for i := range own {
		own[i].Time = own[i].Time.Add(10 * time.Second)
	}
	Overlaps([]ingest.Track{{Fixes: fromLog, FromLog: true}, {Fixes: own}})
	if n := len(flagged(own, ingest.FixCovered)); n != 0 {
		t.Errorf("%d fixes of the receiver's track are covered by a depth log's positions", n)
	}
	if got := flagged(fromLog, ingest.FixCovered); len(got) != 20 || got[0] != 10 {
		t.Errorf("fixes %v of the log are covered, want 10 to 29", got)
	}
}

func log(everyS float64, depths ...float64) []ingest.Sounding {
	s := make([]ingest.Sounding, len(depths))
	for i, d := range depths {
		s[i] = ingest.Sounding{Time: start.Add(time.Duration(float64(i) * everyS * 1e9)), DepthM: d}
	}
	return s
}

func TestSoundings(t *testing.T) {
	flat := func(n int, d float64) []float64 { return slices.Repeat([]float64{d}, n) }
	const (
		no  = ingest.SoundingNoBottom
		dbl = ingest.SoundingDouble
		spk = ingest.SoundingSpike
	)
	for _, c := range []struct {
		name   string
		depths []float64
		want   map[int]ingest.SoundingFlag
	}{
		{"flat", flat(40, 6), nil},
		// Hampel's rule worked by hand with seven readings and three sigmas flags
		// the fifth reading and the eighth, and no other.
		{"worked example", []float64{3.2, 3.3, 3.1, 3.4, 9.8, 3.5, 3.3, 0.0, 3.6, 3.4, 3.5, 3.7, 3.6},
			map[int]ingest.SoundingFlag{4: spk, 7: no}},
		{"steady slope", func() (d []float64) {
			for i := range 60 {
				d = append(d, 3+0.4*float64(i))
			}
			return d
		}(), nil},
		{"bank that doubles within the window, without a jump", func() (d []float64) {
			for i := range 40 {
				d = append(d, 2*math.Pow(1.1, float64(i)))
			}
			return d
		}(), nil},
		{"ledge from 4 to 9 m", append(flat(30, 4), flat(30, 9)...), nil},
		{"second echo of six readings", slices.Concat(flat(30, 5), flat(6, 10.3), flat(30, 5.1)),
			map[int]ingest.SoundingFlag{30: dbl, 31: dbl, 32: dbl, 33: dbl, 34: dbl, 35: dbl}},
		{"second echo at the start", slices.Concat(flat(3, 10), flat(30, 5)), map[int]ingest.SoundingFlag{0: dbl, 1: dbl, 2: dbl}},
		{"lost bottom, negative and filler", []float64{5, 0, -1, 5, 9999, 5}, map[int]ingest.SoundingFlag{1: no, 2: no, 4: ingest.SoundingTooDeep}},
		{"all lost", flat(10, 0), map[int]ingest.SoundingFlag{0: no, 1: no, 2: no, 3: no, 4: no, 5: no, 6: no, 7: no, 8: no, 9: no}},
		{"one reading", []float64{5}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := log(1, c.depths...)
			Soundings(s, 0)
			for i := range s {
				if s[i].Flags != c.want[i] {
					t.Errorf("reading %d (%.1f m): %v, want %v", i, s[i].DepthM, s[i].Flags.Names(), c.want[i].Names())
				}
			}
		})
	}
}

func TestSoundingsForgetAcrossGaps(t *testing.T) {
	s := log(1, slices.Repeat([]float64{10}, 12)...)
	later := log(1, 20, 20.1, 20)
	for i := range later {
		later[i].Time = later[i].Time.Add(time.Hour)
	}
	s = append(s, later...)
	Soundings(s, 0)
	for i := range s {
		if s[i].Flags != 0 {
			t.Errorf("reading %d flagged %v; an hour lies between the two depths", i, s[i].Flags.Names())
		}
	}
}
