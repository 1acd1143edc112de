package svgfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

func written(t *testing.T, in export.Findings, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "season.svg", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "metric.svg", written(t, exporttest.Season(), export.Options{Units: si.Metric, Title: "Spring & <early> summer"}))
	exporttest.Golden(t, "empty.svg", written(t, exporttest.Empty(), export.Options{}))
}

// An element is one start tag with its text.
type element struct {
	name string
	attr map[string]string
	text string
}

// elements reads a file as any XML reader does, and fails where it is not well-formed.
func elements(t *testing.T, b []byte) []element {
	t.Helper()
	var out []element
	var open []int
	d := xml.NewDecoder(bytes.NewReader(b))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attr: map[string]string{}}
			for _, a := range token.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			open = append(open, len(out))
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				out[open[len(open)-1]].text += string(token)
			}
		}
	}
}

// Elements and attributes that are written, all of SVG 1.1 (Second Edition, W3C 2011,
// appendices K and L; from memory): nothing that fetches, runs or animates is among them.
var (
	known      = "svg title desc defs pattern path g rect circle text"
	attributes = "xmlns version viewBox font-family font-size font-weight fill fill-opacity fill-rule stroke stroke-width stroke-opacity " +
		"stroke-dasharray stroke-linejoin stroke-linecap id width height patternUnits patternTransform d x y rx r cx cy transform text-anchor"
)

func TestSVG11(t *testing.T) {
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "empty": exporttest.Empty()} {
		b := written(t, in, export.Options{})
		ids := map[string]bool{}
		for _, e := range elements(t, b) {
			if !strings.Contains(" "+known+" ", " "+e.name+" ") {
				t.Errorf("%s: element %s", name, e.name)
			}
			for a, value := range e.attr {
				if !strings.Contains(" "+attributes+" ", " "+a+" ") {
					t.Errorf("%s: %s has %s", name, e.name, a)
				}
				if id, ok := strings.CutPrefix(value, "url(#"); ok && !ids[strings.TrimSuffix(id, ")")] {
					t.Errorf("%s: %s %s=%s refers to nothing", name, e.name, a, value)
				}
			}
			ids[e.attr["id"]] = true
		}
		// The one address is the name of the format.
		if n := bytes.Count(b, []byte("://")); n != 1 {
			t.Errorf("%s: %d addresses", name, n)
		}
		for _, s := range []string{"NaN", "Inf", "%!", "<script", "href", "@import", "-0 ", "\"-0\""} {
			if bytes.Contains(b, []byte(s)) {
				t.Errorf("%s: has %q", name, s)
			}
		}
	}
}

// Every sign is explained where it occurs, and only there.
func TestLegend(t *testing.T) {
	whole := exporttest.Season()
	bare := exporttest.Season()
	bare.Chart.Zones = bare.Chart.Zones[:1]
	bare.Chart.Drifts, bare.Chart.Bottom.Unsure, bare.Chart.LevelM = nil, nil, ingest.Maybe{}
	bare.Chart.Events = bare.Chart.Events[:1] // a catch
	for _, c := range []struct {
		name string
		in   export.Findings
		want string
	}{
		{"whole", whole, "proven zone/not proven/drift line/catch/bite/not sounded/may be off by more than 5.0 ft/Not for navigation./Depths are at a water level of 352.4 ft."},
		{"bare", bare, "proven zone/catch/not sounded/Not for navigation."},
		{"empty", exporttest.Empty(), nobody + "/Not for navigation."},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := map[string]bool{}
			for _, e := range elements(t, written(t, c.in, export.Options{})) {
				if e.name == "text" {
					text[e.text] = true
				}
			}
			var got []string
			for _, s := range append(strings.Split(c.want, "/"), "proven zone", "not proven", "drift line", "catch", "bite", "not sounded", "may be off by more than 5.0 ft", nobody) {
				if text[s] {
					got = append(got, s)
					delete(text, s)
				}
			}
			if s := strings.Join(got, "/"); s != c.want {
				t.Errorf("says %s\nwant %s", s, c.want)
			}
		})
	}
}

// What is on the map: each thing of the chart once.
func TestContents(t *testing.T) {
	in := exporttest.Season()
	catches, bites := 0, 0
	for _, e := range in.Chart.Events {
		switch e.Kind {
		case ingest.Catch:
			catches++
		case ingest.Bite:
			bites++
		}
	}
	circles := map[string]int{}
	fills := map[string]int{}
	var names []string
	for _, e := range elements(t, written(t, in, export.Options{})) {
		switch {
		case e.name == "circle" && e.attr["cx"] != "" && e.attr["cy"] != "":
			circles[e.attr["r"]]++
		case e.name == "path":
			fills[e.attr["fill"]]++
		case e.name == "text" && e.attr["font-size"] == "20":
			names = append(names, e.text)
		}
	}
	if circles["4.2"] != catches || circles["3.6"] != bites || catches == 0 || bites == 0 {
		t.Errorf("%v dots, want %d catches and %d bites", circles, catches, bites)
	}
	if got := strings.Join(names, " "); got != "Z1 Z2 Z3" {
		t.Errorf("named %s", got)
	}
	for i := range in.Chart.Areas { // on the map and in the legend
		if n := fills[export.Hex(export.DepthColour(i, len(in.Chart.Areas), 0))]; n != 2 {
			t.Errorf("depth area %d is drawn %d times", i, n)
		}
	}
	// Vermillion fills the two proven zones, the hatch the other one.
	if fills[export.Hex(export.ZoneColour)] != 2 || fills["url(#hatch)"] != 1 {
		t.Errorf("zones: %v", fills)
	}
}

var (
	pathStart = regexp.MustCompile(`M(-?[0-9.]+)([ -][0-9.]+)l?([^Mz]*)(z?)`)
	number    = regexp.MustCompile(`-?[0-9]*\.?[0-9]+`)
)

// read turns a path back into its lines by the grammar of SVG 1.1 section 8.3: a number ends
// where the next can't go on, and l takes steps.
func read(t *testing.T, d string) [][]xy {
	t.Helper()
	var out [][]xy
	value := func(s string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			t.Fatalf("%q in %q", s, d)
		}
		return v
	}
	covered := 0
	for _, m := range pathStart.FindAllStringSubmatch(d, -1) {
		covered += len(m[0])
		at := xy{value(m[1]), value(m[2])}
		l := []xy{at}
		steps := number.FindAllString(m[3], -1)
		if len(steps)%2 != 0 {
			t.Fatalf("odd steps in %q", d)
		}
		for i := 0; i < len(steps); i += 2 {
			at = xy{at.x + value(steps[i]), at.y + value(steps[i+1])}
			l = append(l, at)
		}
		if m[4] != "" {
			l = append(l, l[0])
		}
		out = append(out, l)
	}
	if covered != len(d) {
		t.Fatalf("%d of %d letters read of %q", covered, len(d), d)
	}
	return out
}

// Read back, a path runs within the promised 0.3 units of the line it was made of, however
// long it is: the rounded steps don't add up.
func TestPath(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for n := range 100 {
		var l []xy
		p := xy{800 * rng.Float64(), 600 * rng.Float64()}
		for range 2 + rng.IntN(400) {
			p = xy{p.x + rng.NormFloat64(), p.y + rng.NormFloat64()}
			l = append(l, p)
		}
		closed := n%2 == 0 && len(l) > 30
		if closed {
			l = append(l, l[0])
		}
		d := path(l, closed)
		if d == "" {
			continue
		}
		got := read(t, d)
		if len(got) != 1 {
			t.Fatalf("%d lines in %q", len(got), d)
		}
		for _, p := range l {
			if away(p, got[0]) > 0.3 {
				t.Fatalf("%v is %v off", p, away(p, got[0]))
			}
		}
	}
	for _, c := range []struct {
		name   string
		in     []xy
		closed bool
		want   string
	}{
		{"a triangle", []xy{{0, 0}, {10, 0}, {0, -5.25}, {0, 0}}, true, "M0 0l10 0-10-5.3z"},
		{"less than one", []xy{{0.5, -0.5}, {0.9, -0.5}, {0.9, 12}}, false, "M.5-.5l.4 0 0 12.5"},
		{"nothing", nil, false, ""},
		{"a point", []xy{{1, 1}}, false, ""},
		{"too small to see", []xy{{1, 1}, {1.01, 1}, {1.01, 1.01}, {1, 1}}, true, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := path(c.in, c.closed); got != c.want {
				t.Errorf("gives %q, want %q", got, c.want)
			}
		})
	}
}

func away(p xy, l []xy) float64 {
	least := math.Inf(1)
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		share, n := 0.0, (b.x-a.x)*(b.x-a.x)+(b.y-a.y)*(b.y-a.y)
		if n > 0 {
			share = math.Min(math.Max(((p.x-a.x)*(b.x-a.x)+(p.y-a.y)*(b.y-a.y))/n, 0), 1)
		}
		least = math.Min(least, math.Hypot(p.x-a.x-share*(b.x-a.x), p.y-a.y-share*(b.y-a.y)))
	}
	return least
}

// North is up and the scale bar is true: a square of 200 m turns up with its sides along
// the picture's, and as long against the bar as it should be.
func TestScale(t *testing.T) {
	f := plane.New(exporttest.Origin)
	var ring orb.Ring
	for _, v := range []r2.Vec{{X: -100, Y: -100}, {X: 100, Y: -100}, {X: 100, Y: 100}, {X: -100, Y: 100}, {X: -100, Y: -100}} {
		ring = append(ring, f.Degrees(v))
	}
	in := export.Findings{Chart: spatial.Chart{Zones: []spatial.Zone{{ID: "Z1", Shape: orb.Polygon{ring}, Proven: true}}}}
	for u, barM := range map[si.System]float64{si.Metric: 50, si.US: 50 * 3 * si.FootM} {
		var square []xy
		bar := 0.0
		for _, e := range elements(t, written(t, in, export.Options{Units: u})) {
			if e.attr["fill"] == export.Hex(export.ZoneColour) && e.name == "path" {
				square = read(t, e.attr["d"])[0]
			}
			if m := regexp.MustCompile(`^M\S+ \S+v7h([0-9.]+)v-7$`).FindStringSubmatch(e.attr["d"]); m != nil {
				bar, _ = strconv.ParseFloat(m[1], 64)
			}
		}
		if len(square) != 5 {
			t.Fatalf("the square is %v", square)
		}
		b := boxOf(square)
		// Corners and bar are printed to a tenth.
		if side := b.x1 - b.x0; math.Abs(side-(b.y1-b.y0)) > 0.2 || math.Abs(bar/side-barM/200) > 0.2/side {
			t.Errorf("%v: square %v by %v, bar %v; want %v m of 200", u, side, b.y1-b.y0, bar, barM)
		}
	}
}

// What somebody typed is text, and what XML can't hold does no harm.
func TestHostileText(t *testing.T) {
	in := exporttest.Season()
	in.Chart.Zones[0].ID, in.Chart.Zones[1].Name = exporttest.Hostile, exporttest.Hostile+"\" onload=\"x\x00 ]]> \xff"
	b := written(t, in, export.Options{Title: exporttest.Hostile})
	if bytes.Contains(b, []byte("<script")) || bytes.ContainsFunc(b, func(r rune) bool { return r < ' ' && !unicode.IsSpace(r) }) {
		t.Error("a script element or a control letter")
	}
	titles := 0
	for _, e := range elements(t, b) {
		if e.name == "script" || e.attr["onload"] != "" {
			t.Errorf("%v", e)
		}
		if strings.Contains(e.text, exporttest.Hostile) {
			titles++
		}
	}
	// The title twice, the first zone's plate and its name, the second zone's name.
	if titles != 5 {
		t.Errorf("the hostile text stands in %d places, want 5", titles)
	}
}

func TestLongTitle(t *testing.T) {
	for _, e := range elements(t, written(t, exporttest.Empty(), export.Options{Title: strings.Repeat("Löng ", 100)})) {
		if e.name == "text" && e.attr["font-weight"] == "bold" && strings.HasPrefix(e.text, "Löng") {
			size, _ := strconv.ParseFloat(e.attr["font-size"], 64)
			if wide := wordsWide(e.text, size); wide > width-2*margin || !strings.HasSuffix(e.text, "…") {
				t.Errorf("%v wide: %s", wide, e.text)
			}
			return
		}
	}
	t.Error("no title")
}

// A position that is no number is passed over; alone it is as good as none.
func TestNoNumbers(t *testing.T) {
	in := exporttest.Season()
	in.Chart.Events[0].At = orb.Point{math.NaN(), 36.5}
	in.Chart.Drifts[0].Line[1][0] = math.Inf(1)
	in.Chart.Zones[0].Shape[0][3][1] = math.NaN()
	in.Chart.Contours[0].Labels = []spatial.ContourLabel{{At: orb.Point{math.NaN(), math.NaN()}}}
	if b := written(t, in, export.Options{}); bytes.Contains(b, []byte("NaN")) || bytes.Contains(b, []byte("Inf")) || bytes.Contains(b, []byte("-9223")) {
		t.Error("has what is no number")
	}
	lone := export.Findings{Chart: spatial.Chart{Events: []spatial.EventMark{{At: orb.Point{math.NaN(), 1}}}}}
	if b := written(t, lone, export.Options{}); !bytes.Contains(b, []byte(nobody)) {
		t.Error("a map of nothing")
	}
}

// One catch, one line, a lake across 180°: each gives a map of sane size.
func TestSmallCharts(t *testing.T) {
	for name, c := range map[string]spatial.Chart{
		"one catch":  {Events: []spatial.EventMark{{At: exporttest.Origin}}},
		"one line":   {Drifts: []spatial.DriftLine{{Line: orb.LineString{exporttest.Origin, {-40, 36.501}}}}},
		"no shape":   {Zones: []spatial.Zone{{ID: "Z1"}}, Events: []spatial.EventMark{{At: exporttest.Origin}}},
		"empty ring": {Zones: []spatial.Zone{{ID: "Z1", Shape: orb.Polygon{nil}}}, Events: []spatial.EventMark{{At: exporttest.Origin}}},
		"across 180": {Contours: []spatial.Contour{{DepthM: 3, Lines: orb.MultiLineString{{{179.999, 10}, {-179.999, 10.001}, {-179.998, 10}}}}}},
	} {
		t.Run(name, func(t *testing.T) {
			b := written(t, export.Findings{Chart: c}, export.Options{})
			elements(t, b)
			b = regexp.MustCompile(`#[0-9a-f]+"`).ReplaceAll(b, nil) // colours
			for _, m := range number.FindAllString(string(b), -1) {
				if v, _ := strconv.ParseFloat(m, 64); math.Abs(v) > 3000 {
					t.Errorf("has the number %s", m)
				}
			}
		})
	}
}

// Depths on contours overlap neither each other nor a zone's name.
func TestLabelsApart(t *testing.T) {
	in := exporttest.Season()
	for i := range in.Chart.Contours { // far too many
		l := &in.Chart.Contours[i]
		l.Labels = nil
		for _, p := range l.Lines[0] {
			l.Labels = append(l.Labels, spatial.ContourLabel{At: p})
		}
	}
	place := regexp.MustCompile(`<g transform="translate\((\S+) (\S+)\) rotate\(\S+\)" font-size="15"`)
	var at []xy
	for _, m := range place.FindAllStringSubmatch(string(written(t, in, export.Options{})), -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		at = append(at, xy{x, y})
	}
	if len(at) < 20 {
		t.Fatalf("only %d depths", len(at))
	}
	for i, a := range at {
		for _, b := range at[:i] {
			// One digit of 15 units is 8 wide.
			if math.Hypot(a.x-b.x, a.y-b.y) < 8 {
				t.Fatalf("%v and %v", a, b)
			}
		}
	}
}

func TestSameBytes(t *testing.T) {
	if !bytes.Equal(written(t, exporttest.Season(), export.Options{}), written(t, exporttest.Season(), export.Options{})) {
		t.Error("two writes differ")
	}
}

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	if err := Write(full{}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
