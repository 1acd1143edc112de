package gpxfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

func writtenRun(t *testing.T, c spatial.Chart, r spatial.Run, opt export.Options, short bool) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteRun(&b, c, r, opt, short); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestRunGolden(t *testing.T) {
	c, r := exporttest.Run()
	exporttest.Golden(t, "run.gpx", writtenRun(t, c, r, export.Options{}, true))
	exporttest.Golden(t, "run.long.gpx", writtenRun(t, c, r, export.Options{Units: si.Metric, Sym: "Anchor", Title: "Spring"}, false))
	r.Stops, r.Legs = nil, nil
	exporttest.Golden(t, "run.empty.gpx", writtenRun(t, c, r, export.Options{}, true))
}

type gpxDoc struct {
	Name string `xml:"metadata>name"`
	Desc string `xml:"metadata>desc"`
	Wpts []struct {
		Lat  float64 `xml:"lat,attr"`
		Lon  float64 `xml:"lon,attr"`
		Name string  `xml:"name"`
		Desc string  `xml:"desc"`
	} `xml:"wpt"`
	Rtes []struct {
		Name   string `xml:"name"`
		Desc   string `xml:"desc"`
		Points []struct {
			Lat float64 `xml:"lat,attr"`
			Lon float64 `xml:"lon,attr"`
		} `xml:"rtept"`
	} `xml:"rte"`
}

func readRun(t *testing.T, b []byte) gpxDoc {
	t.Helper()
	var d gpxDoc
	if err := xml.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// many returns a run of n stops with legs of so many points, winding.
func many(n, points int) spatial.Run {
	frame := plane.New(exporttest.Origin)
	at := func(i int) orb.Point {
		a := float64(i) / 7
		return frame.Degrees(r2.Vec{X: 4 * float64(i), Y: 300 * math.Sin(a)})
	}
	r := spatial.Run{Launch: at(0), TakeOut: at((n + 1) * points), Guessed: true}
	for k := range n + 1 {
		l := spatial.RunLeg{From: k, To: k + 1, LengthM: 1, Seconds: 1}
		for j := range points + 1 {
			l.Line = append(l.Line, at(k*points+j))
		}
		r.Legs = append(r.Legs, l)
		if k < n {
			r.Stops = append(r.Stops, spatial.RunStop{
				Order: k + 1, Zone: fmt.Sprintf("Z%d", k+1), At: l.Line[points], DriftEnd: exporttest.Origin, DriftTowardDeg: ingest.Known(90),
			})
		}
	}
	return r
}

var shortName = regexp.MustCompile(`^[A-Z0-9 ]{1,10}$`)

// TestRunPlotter holds what a plotter is given against what it takes: names of ten plain
// letters (common practice, no source), each once, text in ASCII, a route within its points
// that comes by the launch, every stop in order and the take-out.
func TestRunPlotter(t *testing.T) {
	c, sample := exporttest.Run()
	awkward := sample
	awkward.Stops = slices.Clone(sample.Stops)
	awkward.Stops[0].Zone, awkward.Stops[1].Zone, awkward.Stops[2].Zone = "the long point at the dam", "ÅÄÖ – ½ bay", exporttest.Hostile
	twins := sample
	twins.Stops = slices.Clone(sample.Stops)
	for i := range twins.Stops {
		twins.Stops[i].Order, twins.Stops[i].Zone = 1, "Zone with a long name"
	}
	for _, run := range []struct {
		name  string
		run   spatial.Run
		chart spatial.Chart
	}{
		{"sample", sample, c}, {"awkward names", awkward, c}, {"the same names", twins, c}, {"many points", many(7, 60), spatial.Chart{}}, {"many stops", many(100, 2), spatial.Chart{}},
	} {
		for _, short := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s/short %v", run.name, short), func(t *testing.T) {
				r := run.run
				b := writtenRun(t, run.chart, r, export.Options{Title: "Été ±"}, short)
				checkOrder(t, b)
				for i, x := range b {
					if x > 0x7e || x < ' ' && x != '\n' && x != '\t' {
						t.Fatalf("byte %d is %#x: %q", i, x, b[max(0, i-40):i+1])
					}
				}
				if bytes.Contains(b, []byte("<time")) || bytes.Contains(b, []byte("<script")) {
					t.Error("carries a time, or markup")
				}
				d := readRun(t, b)
				seen := map[string]bool{}
				for _, w := range d.Wpts {
					if seen[w.Name] || w.Name == "" {
						t.Errorf("name %q comes again", w.Name)
					}
					seen[w.Name] = true
					if short && !shortName.MatchString(w.Name) {
						t.Errorf("name %q", w.Name)
					}
					if w.Desc == "" {
						t.Errorf("%s has no description", w.Name)
					}
				}
				want := 2
				for _, s := range r.Stops {
					want++
					if s.DriftTowardDeg.OK {
						want++
					}
				}
				if len(d.Wpts) != want || d.Wpts[0].Name != "LAUNCH" || d.Wpts[want-1].Name != "HOME" {
					t.Errorf("%d waypoints, want %d from LAUNCH to HOME", len(d.Wpts), want)
				}
				if len(d.Rtes) != 1 || d.Rtes[0].Name != "RUN" {
					t.Fatalf("%d routes", len(d.Rtes))
				}
				points := d.Rtes[0].Points
				if len(points) > 120 {
					t.Errorf("%d route points", len(points))
				}
				stations := []orb.Point{r.Launch}
				for _, s := range r.Stops {
					stations = append(stations, s.At)
				}
				stations = append(stations, r.TakeOut)
				k := 0
				for _, p := range points {
					if k < len(stations) && export.RoundPoint(stations[k]) == (orb.Point{p.Lon, p.Lat}) {
						k++
					}
				}
				if k != len(stations) {
					t.Errorf("the route comes by %d of %d stations in order", k, len(stations))
				}
				if export.RoundPoint(r.Launch) != (orb.Point{points[0].Lon, points[0].Lat}) {
					t.Error("the route doesn't begin at the launch")
				}
			})
		}
	}
}

func TestRunNames(t *testing.T) {
	c, r := exporttest.Run()
	for _, x := range []struct {
		short bool
		want  string
	}{
		{true, "LAUNCH|1 Z2|2 Z1|2 Z1 END|3 Z3|3 Z3 END|HOME"},
		{false, "LAUNCH|1 Z2 9 to 12 ft 1/8 oz|2 Z1 18 to 22 ft 1/2 oz|2 Z1 END|3 Z3 30 to 34 ft|3 Z3 END|HOME"},
	} {
		var names []string
		for _, w := range readRun(t, writtenRun(t, c, r, export.Options{}, x.short)).Wpts {
			names = append(names, w.Name)
		}
		if got := strings.Join(names, "|"); got != x.want {
			t.Errorf("short %v: %s\nwant %s", x.short, got, x.want)
		}
	}
}

func TestASCII(t *testing.T) {
	for text, want := range map[string]string{
		"17.8 °C ± 0.2": "17.8 C +/- 0.2", "41° from": "41 deg from", "SE (131°)": "SE (131 deg)", "5 – 6": "5 - 6", "1.5 ×": "1.5 x",
		"Übersee": "Uebersee", "café": "cafe", "a\nb": "a b", "湖": "?", "": "", "plain": "plain",
	} {
		if got := ascii(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// The example of thin's comment, worked by hand, and what it keeps.
func TestThin(t *testing.T) {
	frame := plane.New(exporttest.Origin)
	var line orb.LineString
	for _, v := range []r2.Vec{{}, {X: 5, Y: 1}, {X: 10}, {X: 10, Y: 10}} {
		line = append(line, frame.Degrees(v))
	}
	for _, c := range []struct {
		name  string
		stays []bool
		most  int
		want  orb.LineString
		offM  float64
	}{
		{"few enough", make([]bool, 4), 4, line, 0},
		{"the nearest goes", make([]bool, 4), 3, orb.LineString{line[0], line[2], line[3]}, 1},
		{"a stop stays", []bool{false, true, false, false}, 3, orb.LineString{line[0], line[1], line[3]}, 50 / math.Sqrt(106)},
		// (10,0) lies 10/√2 off the diagonal from (0,0) to (10,10), (5,1) lies 4/√2.
		{"ends only", make([]bool, 4), 2, orb.LineString{line[0], line[3]}, 10 / math.Sqrt2},
		{"none may go", []bool{true, true, true, true}, 2, line, 0},
	} {
		got, offM := thin(line, c.stays, c.most)
		// The frame is another one than that the points were placed by: a tenth of a
		// millimetre over ten metres covers the difference.
		if !slices.Equal(got, c.want) || math.Abs(offM-c.offM) > 1e-4 {
			t.Errorf("%s: %v, off %g; want %v, off %g", c.name, got, offM, c.want, c.offM)
		}
	}
}

// A route that had to be thinned says by how much it may be off, and one that hadn't
// doesn't.
func TestRunSaysHowFarOff(t *testing.T) {
	for points, want := range map[int]bool{10: false, 60: true} {
		d := readRun(t, writtenRun(t, spatial.Chart{}, many(7, points), export.Options{Units: si.Metric}, true))
		if got := strings.Contains(d.Rtes[0].Desc, " m off the way travelled"); got != want {
			t.Errorf("%d points a leg: %q", points, d.Rtes[0].Desc)
		}
	}
}

func TestRunWriterError(t *testing.T) {
	c, r := exporttest.Run()
	if err := WriteRun(full{}, c, r, export.Options{}, true); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
