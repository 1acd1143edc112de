package clock

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
	"leadline/ingest/join"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
)

var seasons = flag.Bool("seasons", false, "match every offset on every day of small and full seasons of seeds 1 to 5, instead of a sample: some minutes")

// slow leaves made seasons out.
var slow bool

// A madeDay is one day of a made season as the readers give it, not cleaned.
type madeDay struct {
	tracks    []ingest.Track
	soundings []ingest.Sounding // times right
}

// made makes and reads a season. Logs that are depths inside a track come with its
// positions.
func made(t testing.TB, seed uint64, size madelake.Size) []madeDay {
	t.Helper()
	if slow {
		t.Skip("made seasons take too long under the race detector")
	}
	files, truth := madelake.Make(madelake.Default(seed, size))
	zone := time.FixedZone(truth.TimeZone, -3*3600)
	days := make([]madeDay, len(truth.Days))
	for _, f := range files {
		i := slices.IndexFunc(truth.Days, func(d madelake.Day) bool { return strings.HasPrefix(f.Name, d.Date) })
		if i < 0 {
			continue
		}
		d, opt := &days[i], ingest.ReadOptions{Zone: zone}
		k := slices.IndexFunc(truth.Files, func(x madelake.FileTruth) bool { return x.Name == f.Name })
		opt.ClockOffset = -time.Duration(truth.Files[k].ClockAheadS * float64(time.Second))
		switch {
		case strings.HasSuffix(f.Name, "-track.gpx"):
			r, err := gpxfile.Read(bytes.NewReader(f.Data), f.Name, opt)
			if err != nil {
				t.Fatal(err)
			}
			d.tracks = r.Tracks
			if len(d.soundings) == 0 {
				d.soundings = r.Soundings
			}
		case strings.HasSuffix(f.Name, "-sonar.csv"):
			r, err := csvfile.Read(bytes.NewReader(f.Data), f.Name, opt)
			if err != nil {
				t.Fatal(err)
			}
			d.soundings = r.Soundings
		}
	}
	for i, d := range days {
		if len(d.tracks) == 0 || len(d.soundings) == 0 {
			t.Fatalf("day %d: %d tracks, %d soundings", i, len(d.tracks), len(d.soundings))
		}
	}
	return days
}

// The kinds of log a day is written as.
const (
	withPositions = "position" // of a second receiver that errs by 3 m
	withSpeed     = "speed"    // no positions
	depthOnly     = "depth"    // times and depths
)

var kinds = [...]string{withPositions, withSpeed, depthOnly}

// as returns the day's log as one of the kinds; ok is false for speed when the
// day's log has none.
func (d madeDay) as(kind string) (out []ingest.Sounding, ok bool) {
	r := rand.New(rand.NewPCG(1, uint64(len(d.soundings))))
	path := join.NewPath(d.tracks)
	frame := plane.New(madelake.Origin)
	for _, x := range d.soundings {
		x.HasPos = false
		if kind != withSpeed {
			x.SpeedMPS = ingest.Maybe{}
		}
		ok = ok || x.SpeedMPS.OK
		if at, why := path.At(x.Time, 30*time.Second); kind == withPositions && why == "" {
			v := r2.Add(frame.Metres(at), r2.Vec{X: 2.1 * r.NormFloat64(), Y: 2.1 * r.NormFloat64()})
			x.Pos, x.HasPos = frame.Degrees(v), true
		}
		out = append(out, x)
	}
	return out, ok || kind != withSpeed
}

// ahead returns the log as a clock that is so many seconds ahead would write it.
func ahead(soundings []ingest.Sounding, s float64) ingest.Records {
	out := slices.Clone(soundings)
	for i := range out {
		out[i].Time = out[i].Time.Add(time.Duration(s * float64(time.Second)))
	}
	return ingest.Records{Soundings: out}
}

// The clock errors to recover, in seconds ahead: none, a little, a whole hour and
// five hours and a half, both ways.
var errorsS = [...]float64{0, 3, -3, 37, -37, 3600, -3600, 19800, -19800}

// Every day of made seasons gives the error put into its log, or is unsure; none
// is sure and wrong. Positions and speeds are good to 1 s, depths to 2 s, and to 3 s
// with rows that are far apart.
func TestMadeDays(t *testing.T) {
	t.Parallel()
	type tally struct{ days, right, beyond2, wrongSure, unsureRight int }
	for _, size := range []madelake.Size{madelake.Small, madelake.Full} {
		table := map[string]*tally{}
		for _, kind := range kinds {
			table[kind] = &tally{}
		}
		worstS := map[string]float64{}
		seeds := uint64(5)
		if !*seasons && (size == madelake.Full || testing.Short()) {
			seeds = 1
		}
		for seed := uint64(1); seed <= seeds; seed++ {
			for i, d := range made(t, seed, size) {
				if every := map[madelake.Size]int{madelake.Small: 3, madelake.Full: 6}[size]; !*seasons && (i+int(seed))%every != 0 {
					continue
				}
				for _, kind := range kinds {
					log, ok := d.as(kind)
					if !ok {
						continue
					}
					for k, aheadS := range errorsS {
						// One error a day, another each day, unless all are asked for.
						if !*seasons && k != (3*i+int(seed))%len(errorsS) {
							continue
						}
						e, ok := Align(ahead(log, aheadS), d.tracks)
						name := fmt.Sprintf("%v season %d day %d by %s, %+v s", size, seed, i, kind, aheadS)
						if !ok {
							t.Errorf("%s: %s", name, e.Words)
							continue
						}
						offS := math.Abs(e.OffsetS + aheadS)
						x := table[kind]
						x.days++
						bestS := 1.0
						if kind == depthOnly {
							bestS = 2
							if size == madelake.Small { // fixes every 5 and 8 s, rows every 6 s
								bestS = 3
							}
						}
						switch {
						case e.Sure && offS > bestS:
							x.wrongSure++
							t.Errorf("%s: sure and %v s off: %s", name, offS, e.Words)
						case e.Sure:
							x.right++
						case offS <= 5:
							x.unsureRight++
						}
						if e.Sure && offS > 2 {
							x.beyond2++
						}
						if e.Sure {
							worstS[kind] = math.Max(worstS[kind], offS)
						}
						if !e.Sure && kind != depthOnly {
							t.Errorf("%s: unsure: %+v", name, e)
						}
						if e.Sure && e.By != kind {
							t.Errorf("%s: matched by %s", name, e.By)
						}
					}
				}
			}
		}
		for _, kind := range kinds {
			x := table[kind]
			t.Logf("%v by %-9s: %d logs, %d sure and right (%d of them more than 2 s off, worst %v s), %d sure and wrong, %d unsure (%d of them within 5 s)",
				size, kind, x.days, x.right, x.beyond2, worstS[kind], x.wrongSure, x.days-x.right-x.wrongSure, x.unsureRight)
			// Not a figure of ours: a method that is unsure more often than not is none.
			if x.right*2 < x.days {
				t.Errorf("%v by %s: sure on %d of %d only", size, kind, x.right, x.days)
			}
		}
	}
}

// A log laid over the track of another day fits nowhere and must not be sure.
func TestOtherDay(t *testing.T) {
	t.Parallel()
	for _, size := range []madelake.Size{madelake.Small, madelake.Full} {
		seeds := uint64(1)
		if *seasons {
			seeds = 5
		}
		n, sure := map[string]int{}, map[string]int{}
		for seed := uint64(1); seed <= seeds; seed++ {
			days := made(t, seed, size)
			for i, d := range days {
				for j, o := range days {
					if i == j || !*seasons && (j != (i+1)%len(days) || i%4 != 1 || size == madelake.Full && i != 5) {
						continue
					}
					for _, kind := range kinds {
						log, ok := o.as(kind)
						if !ok {
							continue
						}
						shiftS := d.tracks[0].Fixes[0].Time.Sub(o.tracks[0].Fixes[0].Time).Seconds()
						e, _ := Align(ahead(log, shiftS), d.tracks)
						n[kind]++
						if e.Sure {
							sure[kind]++
							t.Errorf("%v season %d: log of day %d on the track of day %d by %s: %+v", size, seed, j, i, kind, e)
						}
					}
				}
			}
		}
		for _, kind := range kinds {
			t.Logf("%v by %s: %d logs of another day, %d sure", size, kind, n[kind], sure[kind])
		}
	}
}

func BenchmarkAlign(b *testing.B) {
	d := made(b, 1, madelake.Full)[0]
	for _, kind := range kinds {
		log, ok := d.as(kind)
		if !ok {
			b.Fatal("the day's log has no speed")
		}
		r := ahead(log, 37)
		b.Run(kind, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				Align(r, d.tracks)
			}
		})
	}
}
