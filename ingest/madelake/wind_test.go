package madelake

import (
	"bytes"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/csvfile"
	"leadline/ingest/plane"
)

// The first is the example above the code; all can be done by hand.
func TestDriftVelocity(t *testing.T) {
	for _, c := range []struct {
		name        string
		leeway      Leeway
		wind        breeze
		times, turn float64
		want        r2.Vec
	}{
		{"as in the comment", Leeway{0.05, 10, 0.05, 0}, breeze{5, 90}, 1, 0, r2.Vec{X: 0.2462, Y: 0.0066}},
		{"straight down the wind", Leeway{0.05, 0, 0, 0}, breeze{4, 180}, 1, 0, r2.Vec{Y: -0.2}},
		{"positive angles turn clockwise", Leeway{0.05, 90, 0, 0}, breeze{4, 0}, 1, 0, r2.Vec{X: 0.2}},
		{"a calm leaves the current", Leeway{0.05, 10, 0.1, 270}, breeze{0, 33}, 1, 0, r2.Vec{X: -0.1}},
		{"a gust is of the wind alone", Leeway{0.05, 0, 0.1, 90}, breeze{4, 0}, 1.5, 0, r2.Vec{X: 0.1, Y: 0.3}},
		{"a pass's own angle adds", Leeway{0.05, 30, 0, 0}, breeze{4, 0}, 1, 60, r2.Vec{X: 0.2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if v := c.leeway.velocity(c.wind, c.times, c.turn); r2.Norm(r2.Sub(v, c.want)) > 0.0001 {
				t.Errorf("%.4f, want %.4f", v, c.want)
			}
		})
	}
}

// Each day must have its own part of the compass or of the arc, so two neighbours
// are never more than two parts apart, and no day lies outside the arc.
func TestDaysShareTheCompass(t *testing.T) {
	for seed := uint64(1); seed <= 2*seeds; seed++ {
		for _, arc := range []float64{0, 360, 120, 30, 1} {
			for _, days := range []int{1, 2, 8, 12} {
				p := Windy(seed)
				p.Days, p.WindSpreadDeg = days, arc
				w := newWorld(p)
				l := w.leeway
				if l.PerWind < 0.035 || l.PerWind > 0.07 || math.Abs(l.AngleDeg) > 15 || l.CurrentMPS < 0 || l.CurrentMPS > 0.12 ||
					l.CurrentTowardDeg < 0 || l.CurrentTowardDeg >= 360 {
					t.Errorf("seed %d: leeway %+v", seed, *l)
				}
				width := arc
				if arc == 0 {
					width = 360
				}
				var toward []float64
				for _, d := range w.days {
					if d.windMPS < 2 || d.windMPS > 6.5 || !d.driftable || d.windTowards < 0 || d.windTowards >= 360 {
						t.Errorf("seed %d %s: %.1f m/s toward %.0f", seed, d.date, d.windMPS, d.windTowards)
					}
					toward = append(toward, d.windTowards)
				}
				slices.Sort(toward)
				widest, sum := 0.0, 0.0
				for i, deg := range toward {
					next := toward[(i+1)%days]
					if i == days-1 {
						next += 360
					}
					sum += next - deg
					if width < 360 && next-deg > 180 {
						continue // the rest of the compass
					}
					widest = math.Max(widest, next-deg)
				}
				part := width / float64(days)
				if days > 1 && widest > 2*part+1e-9 {
					t.Errorf("seed %d: %d days over %v° leave %.1f° free: %.0f", seed, days, arc, widest, toward)
				}
				if width <= 120 {
					// The prevailing wind blows toward 105° to 150°.
					if lo, hi := toward[0], toward[days-1]; lo < 105-width/2 || hi > 150+width/2 || hi-lo > width {
						t.Errorf("seed %d: %d days within %v° lie from %.0f to %.0f", seed, days, arc, lo, hi)
					}
				}
			}
		}
	}
}

// Wind about a day's mean: 10° and 12 %, all but 1/e of it forgotten in half an
// hour. A variance of such a process over a time T is good to sqrt(2τ/T) of itself,
// and a covariance to no more than that of the variance (Bartlett 1946, from memory).
func TestWindWanders(t *testing.T) {
	var turn2, turnLag, gain2, n, lagged float64
	for seed := uint64(1); seed <= 4*seeds; seed++ {
		w := newWorld(Windy(seed))
		for i := range w.days {
			d := &w.days[i]
			for k := range d.wind {
				turn, gain := d.wind[k].towardDeg-d.windTowards, d.wind[k].mps/d.windMPS-1
				turn2, gain2, n = turn2+turn*turn, gain2+gain*gain, n+1
				if k >= windForgetS {
					turnLag += turn * (d.wind[k-windForgetS].towardDeg - d.windTowards)
					lagged++
				}
			}
		}
	}
	for _, c := range []struct {
		name                string
		got, want, variance float64
		seconds             float64
	}{
		{"variance of direction, square degrees", turn2 / n, 100, 100, n},
		{"the same over half an hour", turnLag / lagged, 100 / math.E, 100, lagged},
		{"variance of speed, parts of the mean", gain2 / n, 0.0144, 0.0144, n},
	} {
		if room := 4 * c.variance * math.Sqrt(2*1800/c.seconds); math.Abs(c.got-c.want) > room {
			t.Errorf("%s: %.4f, want %.4f to %.4f", c.name, c.got, c.want, room)
		}
	}
}

// windyWorld keeps the days of windy seasons, which most tests look at and none changes.
var windyWorld = map[uint64]func() *world{}

func init() {
	for seed := uint64(1); seed <= seeds; seed++ {
		windyWorld[seed] = sync.OnceValue(func() *world { return sailed(Windy(seed)) })
	}
}

// windySeeds is how many of them to look at.
func windySeeds() uint64 {
	if testing.Short() { // the race detector makes each ten times as long
		return 2
	}
	return seeds
}

// A drifted is one pass with the true wind on it, as complex numbers: east real,
// north imaginary.
type drifted struct {
	wind, over complex128 // means: wind, m/s toward; velocity over ground
	seconds    float64
}

func polar(mps, towardDeg float64) complex128 {
	return cmplx.Rect(mps, (90-towardDeg)*math.Pi/180)
}

// passesOf takes the passes as they are told and the wind as it was.
func passesOf(w *world) (out []drifted, leeway Leeway) {
	for i := range w.lines {
		told := w.tellLine(i)
		for k, made := range told.Made {
			d := &w.days[w.lines[i].passes[k].day]
			from, to := int(made.Start.Sub(d.start).Seconds()), int(made.End.Sub(d.start).Seconds())
			pass := drifted{over: polar(made.SpeedMPS, made.TowardDeg), seconds: float64(to - from)}
			for s := from; s < to; s++ {
				b := d.windAt(s)
				pass.wind += polar(b.mps, b.towardDeg) / complex(pass.seconds, 0)
			}
			out = append(out, pass)
		}
	}
	return out, *w.leeway
}

// What is told of each pass must be the told leeway times the true wind, and the
// current, but for the pass's own 5 % and 3° and for gusts: 7 % that forget
// themselves in 40 s, whose mean over T seconds has the variance
// 0.07² × 2 (40/T) (1 - 40/T (1 - exp(-T/40))).
func TestPassesGoAsTheLeewaySays(t *testing.T) {
	var along, across, alongWant, n float64
	var times, turns []float64
	for seed := uint64(1); seed <= windySeeds(); seed++ {
		passes, l := passesOf(windyWorld[seed]())
		// Ten a day, though some days are too calm.
		if len(passes) < 80 {
			t.Errorf("seed %d: %d passes", seed, len(passes))
		}
		for _, p := range passes {
			current := polar(l.CurrentMPS, l.CurrentTowardDeg)
			expect := complex(l.PerWind, 0) * cmplx.Rect(1, -l.AngleDeg*math.Pi/180) * p.wind
			q := (p.over - current) / expect
			times, turns = append(times, cmplx.Abs(q)-1), append(turns, -cmplx.Phase(q)*180/math.Pi)
			tau := 40 / p.seconds
			alongWant += 0.05*0.05 + 0.07*0.07*2*tau*(1-tau*(1-math.Exp(-1/tau)))
			n++
		}
	}
	alongWant = math.Sqrt(alongWant / n)
	along, alongSD := meanSD(times)
	across, acrossSD := meanSD(turns)
	for _, c := range []struct {
		name               string
		mean, sd, wantedSD float64
	}{{"parts of the leeway", along, alongSD, alongWant}, {"degrees to the right", across, acrossSD, 3}} {
		if math.Abs(c.mean) > 4*c.wantedSD/math.Sqrt(n) || math.Abs(c.sd/c.wantedSD-1) > 4/math.Sqrt(2*n) {
			t.Errorf("over %v passes %s: off by %.4f ± %.4f, want 0 ± %.4f", n, c.name, c.mean, c.sd, c.wantedSD)
		}
	}
}

// The passes of a season with winds from all round must give the leeway and the
// current back by least squares, v = a w + c in complex numbers (ordinary linear
// regression; Gauss 1809), to 4 of its own standard errors. In a narrow arc the
// current comes out far worse.
func TestLeewayAndCurrentCanBeTold(t *testing.T) {
	fit := func(passes []drifted) (a, c complex128, seA, seC float64) {
		n := float64(len(passes))
		var wMean, vMean, sxy complex128
		for _, p := range passes {
			wMean, vMean = wMean+p.wind/complex(n, 0), vMean+p.over/complex(n, 0)
		}
		sxx, left := 0.0, 0.0
		for _, p := range passes {
			sxy += cmplx.Conj(p.wind-wMean) * (p.over - vMean)
			sxx += math.Pow(cmplx.Abs(p.wind-wMean), 2)
		}
		a = sxy / complex(sxx, 0)
		c = vMean - a*wMean
		for _, p := range passes {
			left += math.Pow(cmplx.Abs(p.over-a*p.wind-c), 2)
		}
		variance := left / (n - 2) // of a complex number: both its parts
		return a, c, math.Sqrt(variance / sxx), math.Sqrt(variance * (1/n + math.Pow(cmplx.Abs(wMean), 2)/sxx))
	}
	worse := 0.0
	for seed := uint64(1); seed <= windySeeds(); seed++ {
		passes, l := passesOf(windyWorld[seed]())
		a, c, seA, seC := fit(passes)
		wantA := complex(l.PerWind, 0) * cmplx.Rect(1, -l.AngleDeg*math.Pi/180)
		wantC := polar(l.CurrentMPS, l.CurrentTowardDeg)
		if cmplx.Abs(a-wantA) > 4*seA || cmplx.Abs(c-wantC) > 4*seC {
			t.Errorf("seed %d: leeway %.4f ± %.4f, want %.4f; current %.4f ± %.4f m/s, want %.4f", seed, a, seA, wantA, c, seC, wantC)
		}
		narrow := Windy(seed)
		narrow.WindSpreadDeg = 20
		passes, _ = passesOf(sailed(narrow))
		_, _, _, seNarrow := fit(passes)
		worse += seNarrow / seC / float64(windySeeds())
	}
	if worse < 2 {
		t.Errorf("an arc of 20° tells the current only %.1f times worse", worse)
	}
}

// A pass stays over deep water, ends in time, and nine in ten lead within a cast of
// the place they are meant for.
func TestPassesInTheWindCrossTheirPlace(t *testing.T) {
	for seed := uint64(1); seed <= windySeeds(); seed++ {
		w := windyWorld[seed]()
		all, near := 0.0, 0.0
		for _, l := range w.lines {
			middle := place(l.start, l.towardDeg, l.lengthM/2, 0)
			for _, p := range l.passes {
				least := math.Inf(1)
				for _, s := range w.days[p.day].path[p.from:p.to] {
					if s.mode != onPass || bottomM(s.at) < 2 {
						t.Fatalf("seed %d: %.2f m of water, mode %d on a pass of %s", seed, bottomM(s.at), s.mode, l.name)
					}
					least = math.Min(least, r2.Norm(r2.Sub(s.at, middle)))
				}
				if p.to-p.from > 12*60 || p.to-p.from < 60 {
					t.Errorf("seed %d: a pass of %s takes %d s", seed, l.name, p.to-p.from)
				}
				all++
				if least < castM {
					near++
				}
			}
		}
		if near < 0.9*all {
			t.Errorf("seed %d: %v of %v passes lead within a cast of their place", seed, near, all)
		}
	}
}

// With too little wind nobody drifts, but the boat goes on fishing.
func TestNoPassesInACalm(t *testing.T) {
	for _, c := range []struct {
		name   string
		leeway Leeway
		passes bool
	}{
		{"a heavy boat", Leeway{PerWind: 0.01}, false}, // 0.12 m/s takes 12 m/s of wind
		{"a current that is enough", Leeway{PerWind: 0.001, CurrentMPS: 0.2}, true},
		{"a current that isn't", Leeway{PerWind: 0.001, CurrentMPS: 0.1}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(Windy(1))
			w.leeway = &c.leeway
			w.sail(&w.days[0])
			got := 0
			for _, l := range w.lines {
				got += len(l.passes)
			}
			if day := w.tellDay(&w.days[0]); (got > 0) != c.passes || day.FishingH < 0.5*float64(w.days[0].lengthS)/3600 {
				t.Errorf("%d passes, %.2f h of fishing", got, day.FishingH)
			}
		})
	}
}

// The table must be read as one, hold every ten minutes of each day and half an
// hour around it, and be off from the true wind by no more than its readings are.
func TestWindTable(t *testing.T) {
	s := windySeason()
	data := fileNamed(t, s.files, "wind.csv")
	records, err := csvfile.Read(bytes.NewReader(data), "wind.csv", ingest.ReadOptions{})
	if err != nil || len(records.Problems) > 0 {
		t.Fatal(err, records.Problems)
	}
	told := s.truth.Files[slices.IndexFunc(s.truth.Files, func(f FileTruth) bool { return f.Name == "wind.csv" })]
	if len(records.Winds) != told.Rows || told.IntervalS != 600 {
		t.Errorf("%d winds read, told %+v", len(records.Winds), told)
	}
	w := windyWorld[1]()
	rest := records.Winds
	var parts, turns []float64
	for i := range w.days {
		d := &w.days[i]
		end := s.truth.Days[i].End
		var day []ingest.Wind
		for len(rest) > 0 && rest[0].Time.Before(end.Add(3*time.Hour)) {
			day, rest = append(day, rest[0]), rest[1:]
		}
		if len(day) == 0 {
			t.Fatalf("%s: no wind", d.date)
		}
		first, last := d.start.Sub(day[0].Time), day[len(day)-1].Time.Sub(end)
		if first < 20*time.Minute || first > 30*time.Minute || last < 20*time.Minute || last > 30*time.Minute {
			t.Errorf("%s: the wind is told from %v before to %v after", d.date, first, last)
		}
		sum := 0.0
		for k, r := range day {
			if k > 0 && r.Time.Sub(day[k-1].Time) != 10*time.Minute {
				t.Errorf("%s: %v between rows", d.date, r.Time.Sub(day[k-1].Time))
			}
			is := d.windAt(int(r.Time.Sub(d.start).Seconds()))
			parts = append(parts, r.SpeedMPS/is.mps-1)
			turns = append(turns, plane.TurnDeg(is.towardDeg+180, r.FromDeg))
			sum += r.SpeedMPS / float64(len(day))
			if math.Mod(r.FromDeg, 5) != 0 || r.FromDeg < 0 || r.FromDeg >= 360 {
				t.Errorf("%s: from %v°", d.date, r.FromDeg)
			}
			if mph := r.SpeedMPS / 0.44704; math.Abs(mph-math.Round(mph*10)/10) > 1e-6 {
				t.Errorf("%s: %v mph", d.date, mph)
			}
		}
		// Half an hour to both sides moves the mean by a few per cent at most.
		if told := s.truth.Days[i].WindMPS; math.Abs(sum/told-1) > 0.1 {
			t.Errorf("%s: mean %.2f m/s in the table, told %.2f", d.date, sum, told)
		}
	}
	n := float64(len(parts))
	for _, c := range []struct {
		name   string
		off    []float64
		wantSD float64
	}{
		{"parts of the speed", parts, 0.05},
		{"degrees", turns, math.Sqrt(25 + 25.0/12)}, // rounding to 5 has the variance 5²/12
	} {
		if mean, sd := meanSD(c.off); math.Abs(mean) > 4*c.wantSD/math.Sqrt(n) || math.Abs(sd/c.wantSD-1) > 4/math.Sqrt(2*n) {
			t.Errorf("%v readings, %s: off by %.4f ± %.4f, want 0 ± %.4f", n, c.name, mean, sd, c.wantSD)
		}
	}
}

// The mean wind of a day is told as it was while the boat was out, and only a
// windy season has a leeway and passes with a direction.
func TestWindIsTold(t *testing.T) {
	s := windySeason()
	w := windyWorld[1]()
	for i, told := range s.truth.Days {
		d := &w.days[i]
		var sum complex128
		speed := 0.0
		for k := range d.path {
			sum += polar(d.windAt(k).mps, d.windAt(k).towardDeg)
			speed += d.windAt(k).mps
		}
		if off := cmplx.Phase(sum / polar(1, told.WindFromDeg+180)); math.Abs(off) > 0.1*math.Pi/180 {
			t.Errorf("%s: wind from %v°, %.2f rad off", told.Date, told.WindFromDeg, off)
		}
		if math.Abs(speed/float64(len(d.path))-told.WindMPS) > 0.0051 {
			t.Errorf("%s: wind of %v m/s, want %.3f", told.Date, told.WindMPS, speed/float64(len(d.path)))
		}
	}
	if s.truth.Leeway == nil || *s.truth.Leeway != *w.leeway {
		t.Errorf("leeway %+v", s.truth.Leeway)
	}
	for _, l := range s.truth.DriftLines {
		for _, p := range l.Made {
			if p.TowardDeg == 0 {
				t.Errorf("a pass of %s has no direction", l.Name)
			}
		}
	}
	files, calm := smallSeason(1)
	text := string(fileNamed(t, files, "truth.json"))
	// Lines have their own toward_deg.
	if calm.Leeway != nil || strings.Contains(text, "leeway") || strings.Count(text, `"toward_deg"`) != len(calm.DriftLines) {
		t.Error("a season without the option tells of leeway")
	}
	if slices.ContainsFunc(files, func(f File) bool { return f.Name == "wind.csv" }) {
		t.Error("a season without the option has a wind table")
	}
}

func ExampleWindy() {
	files, truth := Make(Windy(1))
	for _, f := range files {
		if f.Name == "wind.csv" {
			head, _, _ := strings.Cut(string(f.Data), "\n")
			fmt.Println(head)
		}
	}
	fmt.Println(truth.Leeway != nil, len(truth.Days), "days")
	// Output:
	// time,wind_mph,wind_from_deg
	// true 8 days
}
