package madelake

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"
)

// Tracks with many fixes a second have that many in each second the receiver heard,
// the defects that are told, and leave every other file as it is.
func TestFixesPerSecond(t *testing.T) {
	for _, c := range []struct{ n, days int }{{1, 1}, {3, 1}, {5, extensionDay + 1}, {10, 1}} {
		t.Run(fmt.Sprint(c.n), func(t *testing.T) {
			plan, n := Default(1, Small), c.n
			if testing.Short() && c.n > 3 {
				t.Skip("so many fixes take long under the race detector")
			}
			plan.Days = c.days
			before, _ := Make(plan)
			plan.FixesPerS = n
			files, truth := Make(plan)
			trackDefects(t, files, truth)
			depthDefects(t, plan, files, truth)
			w := sailed(plan)
			for i, f := range files {
				if !strings.HasSuffix(f.Name, "-track.gpx") {
					if same := bytes.Equal(f.Data, before[i].Data); f.Name != before[i].Name || !same && f.Name != "truth.json" {
						t.Errorf("%s is not as it was without the option", f.Name)
					}
					continue
				}
				if all, fine := bytes.Count(f.Data, []byte("<time>")), len(toTheMillisecond.FindAll(f.Data, -1)); fine != all {
					t.Errorf("%s: %d of %d times are told to the millisecond", f.Name, fine, all)
				}
				var once []point
				for _, s := range readGPX(t, f.Data).Segments {
					for _, p := range s {
						if k := len(once); k == 0 || p.Time.After(once[k-1].Time) {
							once = append(once, p)
						}
					}
				}
				inSecond := map[time.Time]int{}
				d := &w.days[len(inDays(files[:i]))]
				var errorM []r2.Vec // against the true path; within a segment of time
				var jumps []float64
				for k, p := range once {
					inSecond[p.Time.Truncate(time.Second)]++
					ms := int(p.Time.Sub(d.start).Milliseconds())
					errorM = append(errorM, r2.Sub(frame.Metres(orb.Point{p.Lon, p.Lat}), d.at(ms)))
					if k == 0 || p.Time.Sub(once[k-1].Time) > time.Second {
						continue
					}
					// Spikes are 80 m off, and nothing else is near that.
					if j := r2.Sub(errorM[k], errorM[k-1]); r2.Norm(j) < 40 {
						jumps = append(jumps, j.X, j.Y)
					}
				}
				last := once[len(once)-1].Time
				for s, got := range inSecond {
					if got != n && !s.Equal(last) {
						t.Errorf("%s: %d fixes in the second from %v", f.Name, got, s)
					}
				}
				// White noise of 0.3 m is new in each fix; what wanders, with 1.5 m over
				// a minute, moves by 1.5² × 2 (1 - exp(-1/60)) in a second, which n steps share.
				want := 2*0.3*0.3 + 1.5*1.5*2*(1-math.Exp(-1.0/60))/float64(n*n)
				_, sd := meanSD(jumps)
				// A variance of m normal draws, each in two differences, is good to sqrt(3/m).
				if got := sd * sd; math.Abs(got/want-1) > 4*math.Sqrt(3/float64(len(jumps))) {
					t.Errorf("%s: errors jump by %.4f m² from fix to fix, want %.4f", f.Name, got, want)
				}
			}
		})
	}
}

var toTheMillisecond = regexp.MustCompile(`<time>[-0-9]+T[:0-9]+[.][0-9]{3}Z</time>`)

// inDays returns the dates that have a track among the files.
func inDays(files []File) (dates []string) {
	for _, f := range files {
		if date, ok := strings.CutSuffix(f.Name, "-track.gpx"); ok {
			dates = append(dates, date)
		}
	}
	return dates
}

// On whole seconds a finer track says what the coarser one says, so that one can be
// held against the other.
func TestFinerTrackHoldsTheCoarser(t *testing.T) {
	plan := Plan{Seed: 5, Days: 1}
	at := map[int]map[time.Time]string{}
	for _, n := range []int{1, 4} {
		plan.FixesPerS = n
		files, _ := Make(plan)
		at[n] = map[time.Time]string{}
		for _, s := range readGPX(t, fileNamed(t, files, "2031-10-04-track.gpx")).Segments {
			for _, p := range s {
				if at[n][p.Time] == "" {
					at[n][p.Time] = fmt.Sprint(p.Lat, p.Lon)
				}
			}
		}
	}
	other := 0
	for when, p := range at[1] {
		if at[4][when] != p {
			other++
		}
	}
	// At most five spikes in each of the two.
	if len(at[4]) < 3*len(at[1]) || other > 10 {
		t.Errorf("%d and %d fixes, %d of them differ", len(at[1]), len(at[4]), other)
	}
}
