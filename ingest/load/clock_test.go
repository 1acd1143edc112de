package load

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/clean"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
	"leadline/ingest/join"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
)

// clockErrorsS are the clock errors that every made log must be put right from, in
// seconds ahead: none, small ones, and zone errors of whole and half hours.
var clockErrorsS = []float64{0, 3, 37, -3600, 19800}

// recoverClocks sets every log of a made season wrong by each error and has it put
// right: without positions, and with those of a second receiver that errs by 3 m. What is moved must be right to
// within 3 s, half of the widest interval between rows; what isn't must be left alone. It returns
// how many were put right, of how many.
func recoverClocks(t *testing.T, plan madelake.Plan) (right, all int) {
	t.Helper()
	files, truth := madelake.Make(plan)
	zone := time.FixedZone(truth.TimeZone, -3*3600)
	var receivers []ingest.Track
	for _, f := range files {
		if strings.HasSuffix(f.Name, "-track.gpx") {
			r, err := gpxfile.Read(bytes.NewReader(f.Data), f.Name, ingest.ReadOptions{})
			if err != nil {
				t.Fatal(err)
			}
			receivers = append(receivers, r.Tracks...)
		}
	}
	clean.Tracks(receivers)
	path, frame := join.NewPath(receivers), plane.New(madelake.Origin)
	for _, f := range truth.Files {
		if !strings.HasSuffix(f.Name, "-sonar.csv") {
			continue
		}
		for _, aheadS := range clockErrorsS {
			for _, placed := range []bool{false, true} {
				var data []byte
				for _, x := range files {
					if x.Name == f.Name {
						data = x.Data
					}
				}
				r, err := csvfile.Read(bytes.NewReader(data), f.Name, ingest.ReadOptions{
					Zone: zone, ClockOffset: time.Duration((aheadS - f.ClockAheadS) * float64(time.Second)),
				})
				if err != nil {
					t.Fatal(err)
				}
				r.Source.ClockOffsetS = ingest.Maybe{} // as if nobody had asked for it
				noise := rand.New(rand.NewPCG(33, 34))
				for i := range r.Soundings {
					x := &r.Soundings[i]
					x.HasPos = false
					truly := x.Time.Add(time.Duration(-aheadS * float64(time.Second)))
					if at, why := path.At(truly, 30*time.Second); placed && why == "" {
						v := r2.Add(frame.Metres(at), r2.Vec{X: 2.1 * noise.NormFloat64(), Y: 2.1 * noise.NormFloat64()})
						x.Pos, x.HasPos = frame.Degrees(v), true
					}
				}
				clean.Soundings(r.Soundings, 0)
				align(&r, receivers)
				all++
				switch o := r.Source.ClockOffsetS; {
				case !o.OK:
					t.Logf("%s, %+.0f s, with positions %t: the clock %s", f.Name, aheadS, placed, r.Source.Clock)
				case math.Abs(o.V+aheadS) > 3:
					t.Errorf("%s, %+.0f s, with positions %t: the clock %s", f.Name, aheadS, placed, r.Source.Clock)
				default:
					right++
				}
			}
		}
	}
	return right, all
}

func TestClocksOfASmallSeason(t *testing.T) {
	right, all := recoverClocks(t, madelake.Default(1, madelake.Small))
	t.Logf("%d of %d logs put right", right, all)
	if right < all*3/4 {
		t.Errorf("only %d of %d logs put right", right, all)
	}
}
