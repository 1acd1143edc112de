package madelake

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"
	"gonum.org/v1/gonum/spatial/r2"
)

// A row is one sounding as a reader without knowledge of this package sees it.
type row struct {
	time  time.Time
	text  string  // of the depth
	unitM float64 // of the text
	pos   orb.Point
	mph   float64
}

type point struct {
	Lat   float64   `xml:"lat,attr"`
	Lon   float64   `xml:"lon,attr"`
	Time  time.Time `xml:"time"`
	Depth string    `xml:"extensions>depth"`
	Type  string    `xml:"type"`
}

type gpxFile struct {
	Segments [][]point
	XMLName  xml.Name `xml:"gpx"`
	Wpt      []point  `xml:"wpt"`
	Trk      []struct {
		Seg []struct {
			Pt []point `xml:"trkpt"`
		} `xml:"trkseg"`
	} `xml:"trk"`
}

func readGPX(t *testing.T, b []byte) gpxFile {
	t.Helper()
	var g gpxFile
	if err := xml.Unmarshal(b, &g); err != nil {
		t.Fatal(err)
	}
	for _, k := range g.Trk {
		for _, s := range k.Seg {
			g.Segments = append(g.Segments, s.Pt)
		}
	}
	return g
}

func readSonar(t *testing.T, b []byte) []row {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(b))
	if bytes.HasPrefix(b, []byte("Date;")) {
		r.Comma = ';'
	}
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	head := strings.Join(all[0], ",")
	var out []row
	for _, f := range all[1:] {
		var w row
		var err error
		switch head {
		case "time,depth_ft,water_temp_f,speed_mph":
			w.time, err = time.Parse(time.RFC3339, f[0])
			w.text, w.unitM = f[1], 0.3048
			w.mph, _ = strconv.ParseFloat(f[3], 64)
		case "time,lat,lon,depth_ft,water_temp_f":
			w.time, err = time.Parse(time.RFC3339, f[0])
			w.text, w.unitM = f[3], 0.3048
			w.pos[1], _ = strconv.ParseFloat(f[1], 64)
			w.pos[0], _ = strconv.ParseFloat(f[2], 64)
		case "Date;Time;Depth (m);Water temp (C)", "Date,Time,Depth (m),Water temp (C)":
			w.time, err = time.ParseInLocation("2006-01-02 15:04:05", f[0]+" "+f[1], time.FixedZone("", -3*3600))
			w.text, w.unitM = strings.ReplaceAll(f[2], ",", "."), 1
		default:
			t.Fatalf("header %q", head)
		}
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, w)
	}
	return out
}

// Every defect that the truth counts must be in the file, and no other: depths
// are held against the exact bottom under the boat.
func TestDepthDefectsAreThoseCounted(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		files, truth := smallSeason(seed)
		n := depthDefects(t, Default(seed, Small), files, truth)
		if n.LockLosses < 20 || n.DoubleEchoes < 20 || n.DepthSpikes < 20 {
			t.Errorf("seed %d: only %d lock losses, %d double echoes, %d spikes", seed, n.LockLosses, n.DoubleEchoes, n.DepthSpikes)
		}
	}
}

// depthDefects holds each depth of a season against the truth and returns how many
// defects of the main kinds there are.
func depthDefects(t *testing.T, plan Plan, files []File, truth Truth) (all FileTruth) {
	t.Helper()
	w := sailed(plan)
	for _, want := range truth.Files {
		var rows []row
		data := fileNamed(t, files, want.Name)
		switch {
		case strings.HasSuffix(want.Name, "-sonar.csv"):
			rows = readSonar(t, data)
		case strings.HasSuffix(want.Name, "-track.gpx") && bytes.Contains(data, []byte("<extensions>")):
			for _, s := range readGPX(t, data).Segments {
				for _, p := range s {
					rows = append(rows, row{time: p.Time, text: p.Depth, unitM: 1})
				}
			}
		default:
			continue
		}
		d := &w.days[slices.IndexFunc(w.days, func(d day) bool { return strings.HasPrefix(want.Name, d.date) })]
		got := FileTruth{Rows: len(rows)}
		last := ""
		var off []float64
		for _, s := range rows {
			at := d.at(int(s.time.Sub(d.start).Milliseconds()) - int(1000*want.ClockAheadS))
			expect := truth.BottomM(frame.Degrees(at)) + d.levelM - truth.ReferenceLevelM - truth.TransducerM
			v, err := strconv.ParseFloat(s.text, 64)
			v *= s.unitM
			is := ""
			switch {
			case s.text == "--":
				got.DashRows++
			case s.text == "":
				got.BlankRows++
			case err != nil:
				t.Errorf("seed %d %s: depth %q", plan.Seed, want.Name, s.text)
			case v == 0:
				is = "lost"
				got.LockLostRows++
			case expect > 2 && math.Abs(v-2*expect) < 0.9:
				is = "double"
				got.DoubleEchoRows++
			case math.Abs(v-expect) > 0.9:
				got.DepthSpikes++
			default:
				off = append(off, v-expect)
			}
			if is != last && is == "lost" {
				got.LockLosses++
			}
			if is != last && is == "double" {
				got.DoubleEchoes++
			}
			last = is
		}
		wantDefects := want
		wantDefects.Name, wantDefects.ClockAheadS, wantDefects.IntervalS = "", 0, 0
		wantDefects.Segments, wantDefects.Dropouts, wantDefects.DropoutS, wantDefects.FixSpikes, wantDefects.RepeatedTimes = 0, 0, 0, 0, 0
		if got != wantDefects {
			t.Errorf("seed %d %s:\nfound %+v\ntold  %+v", plan.Seed, want.Name, got, wantDefects)
		}
		all.LockLosses, all.DoubleEchoes, all.DepthSpikes = all.LockLosses+got.LockLosses, all.DoubleEchoes+got.DoubleEchoes, all.DepthSpikes+got.DepthSpikes
		// The noise is 0.08 m, and 0.1 ft of rounding adds next to nothing.
		mean, sd := meanSD(off)
		if math.Abs(mean) > 0.01 || sd < 0.07 || sd > 0.095 {
			t.Errorf("seed %d %s: depths are off by %.3f ± %.3f m", plan.Seed, want.Name, mean, sd)
		}
	}
	return all
}

func TestTrackDefectsAreThoseCounted(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		files, truth := smallSeason(seed)
		if splits, holes := trackDefects(t, files, truth); splits == 0 || holes == 0 {
			t.Errorf("seed %d: %d tracks split at a dropout, %d not", seed, splits, holes)
		}
	}
}

// trackDefects holds each track of a season against the truth and returns how many
// begin a new segment after a dropout and how many don't.
func trackDefects(t *testing.T, files []File, truth Truth) (splits, holes int) {
	t.Helper()
	for _, want := range truth.Files {
		if !strings.HasSuffix(want.Name, "-track.gpx") {
			continue
		}
		data := fileNamed(t, files, want.Name)
		if _, err := gpx.ParseBytes(data); err != nil {
			t.Errorf("seed %d %s: %v", truth.Seed, want.Name, err)
		}
		g := readGPX(t, data)
		var fixes []point
		for _, s := range g.Segments {
			fixes = append(fixes, s...)
		}
		rows, dropouts, dropoutS, repeated, spikes := len(fixes), 0, 0.0, 0, 0
		var once []point
		for i, f := range fixes {
			if i > 0 && f.Time.Equal(fixes[i-1].Time) {
				repeated++
				continue
			}
			if i > 0 && f.Time.Sub(fixes[i-1].Time) > 30*time.Second {
				dropouts++
				dropoutS += f.Time.Sub(fixes[i-1].Time).Seconds()
			}
			once = append(once, f)
		}
		at := func(i int) r2.Vec { return frame.Metres(orb.Point{once[i].Lon, once[i].Lat}) }
		for i := 1; i < len(once)-1; i++ {
			out, back, past := r2.Norm(r2.Sub(at(i), at(i-1))), r2.Norm(r2.Sub(at(i+1), at(i))), r2.Norm(r2.Sub(at(i+1), at(i-1)))
			// The nearest spike is 80 m off where the boat would have been heard.
			if out > 75 && back > 75 && past < 25 {
				spikes++
			}
		}
		got := fmt.Sprint(rows, len(g.Segments), dropouts, round(dropoutS, 3), repeated, spikes)
		told := fmt.Sprint(want.Rows, want.Segments, want.Dropouts, want.DropoutS, want.RepeatedTimes, want.FixSpikes)
		if got != told {
			t.Errorf("seed %d %s: rows, segments, dropouts, seconds in them, repeats, spikes\nfound %s\ntold  %s", truth.Seed, want.Name, got, told)
		}
		if want.Segments > 1 {
			splits++
		} else {
			holes++
		}
	}
	return splits, holes
}

// The catch log and the waypoints hold each event once, as the truth has it.
func TestEventsAreWrittenAsTheTruthSays(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		files, truth := smallSeason(seed)
		type written struct{ file, time, kind, depth, placed string }
		var got, want []written
		dash, blank := 0, 0
		rows, err := csv.NewReader(bytes.NewReader(fileNamed(t, files, "catches.csv"))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range rows[1:] {
			if strings.Join(f, "") == "" {
				blank++
				continue
			}
			when, err := time.ParseInLocation("2006-01-02 15:04:05", f[0]+" "+f[1], zone)
			if err != nil {
				t.Fatal(err)
			}
			depth := ""
			if m, err := strconv.ParseFloat(f[6], 64); err == nil {
				depth = fmt.Sprintf("%.3f", m*0.3048)
			} else if f[6] == "--" {
				dash++
			}
			got = append(got, written{"catches.csv", when.UTC().Format(time.RFC3339), f[2], depth, fmt.Sprint(f[8] != "" && f[9] != "")})
		}
		for _, f := range files {
			if strings.HasSuffix(f.Name, "-catches.gpx") {
				for _, p := range readGPX(t, f.Data).Wpt {
					got = append(got, written{f.Name, p.Time.UTC().Format(time.RFC3339), p.Type, "", "true"})
				}
			}
		}
		for _, e := range truth.Events {
			depth := ""
			if e.NotedFishM.OK {
				depth = fmt.Sprintf("%.3f", e.NotedFishM.V)
			}
			want = append(want, written{e.WrittenInto, e.Time.Format(time.RFC3339), e.Kind, depth, fmt.Sprint(e.NotedPlace)})
		}
		byTime := func(a, b written) int { return strings.Compare(a.time+a.kind, b.time+b.kind) }
		slices.SortFunc(got, byTime)
		slices.SortFunc(want, byTime)
		if !slices.Equal(got, want) {
			t.Errorf("seed %d: %d events written, %d told; or they differ", seed, len(got), len(want))
		}
		for _, f := range truth.Files {
			if f.Name == "catches.csv" && (f.DashRows != dash || f.BlankRows != blank || f.Rows != len(rows)-1 || dash != 1 || blank != 1) {
				t.Errorf("seed %d: %d dashes and %d blanks in catches.csv, told %+v", seed, dash, blank, f)
			}
		}
		noted, placed := 0.0, 0.0
		for _, e := range truth.Events {
			if e.NotedFishM.OK {
				noted++
			}
			if e.NotedPlace {
				placed++
			}
		}
		if n := float64(len(truth.Events)); noted/n < 0.45 || noted/n > 0.85 || placed/n < 0.1 || placed/n > 0.6 {
			t.Errorf("seed %d: of %v events %v note a depth and %v a place", seed, n, noted, placed)
		}
	}
}

func TestLevels(t *testing.T) {
	files, truth := smallSeason(1)
	levels := map[string]string{}
	dash := 0
	for i, l := range strings.Split(strings.TrimSpace(string(fileNamed(t, files, "levels.csv"))), "\n") {
		date, level, _ := strings.Cut(l, ",")
		if i == 0 {
			if l != "date,level_ft" {
				t.Errorf("header %q", l)
			}
			continue
		}
		if level == "--" {
			dash++
		}
		levels[date] = level
	}
	for _, d := range truth.Days {
		if ft, err := strconv.ParseFloat(levels[d.Date], 64); err != nil || math.Abs(ft*0.3048-d.LevelM) > 1e-5 {
			t.Errorf("%s: level %q, told %v m", d.Date, levels[d.Date], d.LevelM)
		}
	}
	fall := truth.Days[0].LevelM - truth.ReferenceLevelM
	if dash != 1 || math.Abs(fall-1.2) > 0.02 {
		t.Errorf("%d dashes; the pool falls by %.2f m", dash, fall)
	}
}

// One depth log's clock is ahead. Its speed column must fit the track's speed
// once that is taken off, and not before: that is how it can be found.
func TestClockCanBeFoundFromSpeed(t *testing.T) {
	files, truth := smallSeason(1)
	ahead := 0
	for _, f := range truth.Files {
		if f.ClockAheadS == 0 {
			continue
		}
		ahead++
		d := sailed(Default(1, Small)).days[clockDay]
		misfit := func(aheadS float64) float64 {
			sum, n := 0.0, 0.0
			for _, s := range readSonar(t, fileNamed(t, files, f.Name)) {
				second := int(s.time.Sub(d.start).Seconds() - aheadS)
				if second > 0 && second < len(d.path)-1 {
					sum += math.Pow(s.mph*0.44704-d.speedMPS(second), 2)
					n++
				}
			}
			return sum / n
		}
		for _, wrong := range []float64{0, f.ClockAheadS - 6, f.ClockAheadS + 6, -f.ClockAheadS} {
			if misfit(wrong) < 4*misfit(f.ClockAheadS) {
				t.Errorf("%s: speeds fit as well with %v s as with %v s", f.Name, wrong, f.ClockAheadS)
			}
		}
	}
	if ahead != 1 {
		t.Errorf("%d files with a clock ahead, wanted 1", ahead)
	}
}

// The receiver's error is 1.5 m in each axis, loses all but 1/e of itself in a
// minute, and has 0.3 m of noise on top.
func TestWobble(t *testing.T) {
	w := sailed(Default(1, Small))
	sum, lagged, n := 0.0, 0.0, 0.0
	for i := range w.days {
		d := &w.days[i]
		heard, _ := w.wobble(d)
		for k := 60; k < len(heard); k++ {
			now, then := r2.Sub(heard[k], d.path[k].at), r2.Sub(heard[k-60], d.path[k-60].at)
			sum += r2.Norm2(now) / 2
			lagged += r2.Dot(now, then) / 2
			n++
		}
	}
	if v := sum / n; math.Abs(v-(1.5*1.5+0.3*0.3)) > 0.25 {
		t.Errorf("variance %.3f m² in each axis", v)
	}
	if c := lagged / n; math.Abs(c-1.5*1.5/math.E) > 0.25 {
		t.Errorf("covariance over a minute %.3f m²", c)
	}
}

func sailed(p Plan) *world {
	w := newWorld(p)
	for i := range w.days {
		w.sail(&w.days[i])
	}
	return w
}

func meanSD(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean) / float64(len(v))
	}
	return mean, math.Sqrt(sd)
}
