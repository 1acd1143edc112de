package webmap_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"html/template"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/export/webmap"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"

	"gonum.org/v1/gonum/spatial/r2"
)

// pageText is the least page that holds a map, and what a caller has to write.
var pageText = template.Must(template.New("page").Parse(`<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{{.Policy}}">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Map</title>
<style>{{.Own}}</style><style>{{.Map.Style}}</style></head><body>
<h1>Invented water</h1>{{.Figure}}<article id="zone-Z1"><h2>Z1 in full</h2></article>
<script type="application/json" id="webmap-data">{{.Map.Data}}</script>
{{range .Map.Scripts}}<script>{{.}}</script>
{{end}}</body></html>
`))

const ownStyle = `body{margin:0 auto;max-width:68rem;padding:1.5rem 1.25rem;font:1rem/1.5 system-ui,sans-serif;background:#f4f6f5}
*{box-sizing:border-box}figure{margin:0;border:1px solid #d7dddb;border-radius:14px;overflow:hidden;background:#fff}figure>svg{display:block;width:100%;height:auto}
@media(max-width:44rem){body{padding:1rem .8rem}}
@media screen and (prefers-color-scheme:dark){body{background:#0e1419;color:#e8edf0}figure{border-color:#2b3740;background:#161e25}}`

const still = `<svg viewBox="0 0 10 6" role="img" aria-label="still"><rect width="10" height="6" fill="#9ecae1"/></svg><figcaption>Still picture</figcaption>`

func newMap(t testing.TB, in export.Findings, opt export.Options) webmap.Map {
	t.Helper()
	m, err := webmap.New(in, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func page(t testing.TB, in export.Findings, opt export.Options) []byte {
	t.Helper()
	m := newMap(t, in, opt)
	f, err := m.Figure(still)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	err = pageText.Execute(&b, map[string]any{
		"Policy": m.Policy(ownStyle), "Own": template.CSS(ownStyle), "Map": m, "Figure": f,
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// What the script reads, told again here.
type shown struct {
	Low, High [2]int
	DepthUnit string
	Rungs     []struct {
		M    float64
		Text string
	}
	Areas []struct {
		Text, Light, Dark string
		Shape             [][][]int
	}
	Contours []struct {
		Text  string
		Deep  bool
		Lines [][]int
	}
	Zones, Drifts, Marks []struct {
		ID, Name, Kind, Heading, Caution string
		Rings                            [][]int
		Line, Best, At                   []int
		Facts, Advice                    [][2]string
		Why                              []string
	}
	Tracks []struct {
		State, Name string
		Lines       [][]int
	}
}

func read(t *testing.T, m webmap.Map) shown {
	t.Helper()
	var d shown
	if err := json.Unmarshal([]byte(m.Data), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestData(t *testing.T) {
	in := exporttest.Season()
	c := in.Chart
	d := read(t, newMap(t, in, export.Options{}))
	for what, got := range map[string][2]int{
		"areas": {len(d.Areas), len(c.Areas)}, "contours": {len(d.Contours), len(c.Contours)}, "zones": {len(d.Zones), len(c.Zones)},
		"drifts": {len(d.Drifts), len(c.Drifts)}, "marks": {len(d.Marks), len(c.Events)},
		"track states": {len(d.Tracks), 5},
	} {
		if got[0] != got[1] {
			t.Errorf("%d %s, want %d", got[0], what, got[1])
		}
	}
	for i, z := range d.Zones {
		if z.Name != export.ZoneName(c.Zones[i], si.US) || (z.Kind == "proven") != c.Zones[i].Proven {
			t.Errorf("zone %d is %q, %s", i, z.Name, z.Kind)
		}
		facts := export.ZoneFacts(c.Zones[i], c.Forecast, si.US)
		for j, f := range facts {
			if z.Facts[j] != [2]string{f.Label, f.Value} {
				t.Errorf("%s: fact %d is %v, want %v", z.ID, j, z.Facts[j], f)
			}
		}
		if got := strings.Join(z.Why, "\n"); got != export.HeadWhy(c.Zones[i].Head, si.US) {
			t.Errorf("%s: why is %q", z.ID, got)
		}
		if len(z.Advice) == 0 || z.Heading != export.AdviceHeading {
			t.Errorf("%s: advice %v under %q", z.ID, z.Advice, z.Heading)
		}
		if deep := c.Zones[i].FishBottomM.V > export.DeepFishM; deep != (z.Caution != "") {
			t.Errorf("%s: caution %q", z.ID, z.Caution)
		}
	}
	if m := read(t, newMap(t, in, export.Options{Units: si.Metric})); m.DepthUnit != "m" || d.DepthUnit != "ft" || m.Rungs[0].Text != "5 m" || d.Rungs[0].Text != "5 yd" {
		t.Errorf("units: %q %q %v %v", m.DepthUnit, d.DepthUnit, m.Rungs[0], d.Rungs[0])
	}
}

// Steps must add up to where each point lies, to the half step that rounding takes.
func TestPositions(t *testing.T) {
	for name, origin := range map[string]orb.Point{"Atlantic": exporttest.Origin, "across 180°": {179.9999, -17.5}, "far north": {12, 71}} {
		t.Run(name, func(t *testing.T) {
			frame := plane.New(origin)
			var line orb.LineString
			var want []r2.Vec
			for i := range 500 {
				a := float64(i) / 40
				v := r2.Vec{X: 80 * a * math.Cos(a), Y: 60 * a * math.Sin(a)}
				want = append(want, v)
				p := frame.Degrees(v)
				if p[0] > 180 {
					p[0] -= 360
				}
				line = append(line, p)
			}
			in := export.Findings{Chart: spatial.Chart{Contours: []spatial.Contour{{DepthM: 3, Lines: orb.MultiLineString{line}}}}}
			d := read(t, newMap(t, in, export.Options{}))
			flat := d.Contours[0].Lines[0]
			if len(flat) != 2*len(want) {
				t.Fatalf("%d numbers for %d points", len(flat), len(want))
			}
			x, y := 0, 0
			var got []r2.Vec
			for i := 0; i < len(flat); i += 2 {
				x, y = x+flat[i], y+flat[i+1]
				got = append(got, r2.Vec{X: float64(x) / 10, Y: float64(y) / 10})
			}
			// The map's plane has another origin: what must agree is the distance between points.
			for i := range got {
				a, b := r2.Norm(r2.Sub(got[i], got[0])), r2.Norm(r2.Sub(want[i], want[0]))
				// Two roundings of up to 0.05 m a side, and 1 m in 10⁵ between the planes.
				if math.Abs(a-b) > 0.15+b/1e5 {
					t.Fatalf("point %d is %.2f m from the first, want %.2f m", i, a, b)
				}
			}
		})
	}
}

func TestTextCannotBreakOut(t *testing.T) {
	in := exporttest.Season()
	hostile := "</script><script>alert(1)</script><!--\u2028\u2029&"
	in.Chart.Zones[0].Name = hostile
	in.Chart.Zones[0].Structure = hostile
	in.Chart.Events[0].Species = hostile
	in.Chart.Drifts[0].Name = hostile
	m := newMap(t, in, export.Options{})
	if strings.ContainsAny(string(m.Data), "<>&\u2028\u2029") {
		t.Error("data has markup in it")
	}
	d := read(t, m)
	if !strings.Contains(d.Zones[0].Name, hostile) {
		t.Errorf("the name came back as %q", d.Zones[0].Name)
	}
	if n := strings.Count(string(page(t, in, export.Options{})), "<script"); n != 3 {
		t.Errorf("%d script elements, want 3", n)
	}
}

func TestEmpty(t *testing.T) {
	m := newMap(t, exporttest.Empty(), export.Options{})
	f, err := m.Figure(still)
	if !m.Empty() || len(m.Scripts) != 0 || m.Style != "" || f != still || err != nil {
		t.Errorf("map of nothing: %+v, figure %q, %v", m, f, err)
	}
	if got := m.Policy(); got != "default-src 'none'; style-src 'none'; script-src 'none'; base-uri 'none'; form-action 'none'" {
		t.Errorf("policy %q", got)
	}
	one := spatial.Chart{Events: []spatial.EventMark{{ID: "E1", At: orb.Point{3, 4}, Time: time.Date(2024, 5, 4, 8, 0, 0, 0, time.UTC)}}}
	if newMap(t, export.Findings{Chart: one}, export.Options{}).Empty() {
		t.Error("one catch has no map")
	}
}

func TestSameBytes(t *testing.T) {
	a, b := page(t, exporttest.Season(), export.Options{}), page(t, exporttest.Season(), export.Options{})
	if !bytes.Equal(a, b) {
		t.Error("two runs differ")
	}
}

func TestGolden(t *testing.T) {
	var b bytes.Buffer
	if err := json.Indent(&b, []byte(newMap(t, exporttest.Season(), export.Options{}).Data), "", " "); err != nil {
		t.Fatal(err)
	}
	// A line's numbers belong on one line of the file.
	text := regexp.MustCompile(`,\n\s+(-?\d)`).ReplaceAll(b.Bytes(), []byte(",$1"))
	text = regexp.MustCompile(`\[\n\s+(-?\d[^\]]*?)\n\s+\]`).ReplaceAll(text, []byte("[$1]"))
	exporttest.Golden(t, "season.json", append(text, '\n'))
}

var (
	policyOf = regexp.MustCompile(`content="(default-src[^"]*)"`)
	inline   = regexp.MustCompile(`(?s)<(style|script)>(.*?)</(?:style|script)>`)
)

// The policy must name the hash of each inline element as the page has it, and no more.
func TestPolicy(t *testing.T) {
	text := page(t, exporttest.Season(), export.Options{})
	policy := strings.NewReplacer("&#39;", "'", "&#43;", "+").Replace(string(policyOf.FindSubmatch(text)[1]))
	found := inline.FindAllSubmatch(text, -1)
	if len(found) != 4 {
		t.Fatalf("%d inline elements, want 2 styles and 2 scripts", len(found))
	}
	for _, f := range found {
		sum := sha256.Sum256(f[2])
		if want := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !strings.Contains(policy, want) {
			t.Errorf("the policy has no %s for a %s of %d bytes", want, f[1], len(f[2]))
		}
	}
	if n := strings.Count(policy, "sha256-"); n != len(found) {
		t.Errorf("%d hashes for %d elements", n, len(found))
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "data:") || !strings.HasPrefix(policy, "default-src 'none'; ") {
		t.Errorf("policy %q", policy)
	}
	// The example of W3C Content Security Policy Level 3, section 8.1 ("alert('Hello, world.');"), from memory.
	if got := webmap.Source("alert('Hello, world.');"); got != "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='" {
		t.Errorf("source %s", got)
	}
}

func TestPageAsksForNothing(t *testing.T) {
	m := newMap(t, exporttest.Season(), export.Options{})
	ours := string(m.Style) + string(m.Scripts[1])
	for _, bad := range []string{"url(", "@import", "innerHTML", "insertAdjacentHTML", "document.write", "eval(", "fetch(", "http://", "https://", "sourceMappingURL"} {
		if strings.Contains(strings.ReplaceAll(ours, "http://www.w3.org/2000/svg", ""), bad) {
			t.Errorf("our style or script has %q", bad)
		}
	}
	if strings.Contains(string(m.Scripts[0]), "sourceMappingURL") {
		t.Error("the library names its source map")
	}
	for _, s := range m.Scripts {
		if strings.Contains(strings.ToLower(string(s)), "</script") || strings.Contains(string(s), "<!--") || strings.ContainsAny(string(s), "\r\x00") {
			t.Error("a script can't stand inline as it is")
		}
	}
	f, err := m.Figure(still)
	if err != nil || regexp.MustCompile(`\sstyle=|\son[a-z]+=`).MatchString(string(f)) {
		t.Errorf("the figure has what the policy forbids, or %v", err)
	}
}

// The library is the file as it was published: the hash is the one that the project's own
// pages give for loading version 1.9.4 (leafletjs.com, quick start: integrity of
// leaflet.js; from memory, and the same as the file of the npm registry has).
func TestLibraryIsAsPublished(t *testing.T) {
	text, err := os.ReadFile("library/leaflet-1.9.4/leaflet.js")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	if got := base64.StdEncoding.EncodeToString(sum[:]); got != "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=" {
		t.Errorf("leaflet.js has SHA-256 %s", got)
	}
	licence, err := os.ReadFile("library/leaflet-1.9.4/LICENSE")
	if err != nil || !bytes.Contains(licence, []byte("BSD 2-Clause License")) {
		t.Errorf("no licence beside it: %v", err)
	}
	m := newMap(t, exporttest.Season(), export.Options{})
	before, code, _ := strings.Cut(string(m.Scripts[0]), "*/\n")
	if !strings.Contains(before, strings.ReplaceAll(string(licence), "\r\n", "\n")) || len(code) < 147000 || !strings.HasPrefix(string(text), strings.TrimSuffix(code, "\n")) {
		t.Error("what is embedded isn't the licence and the start of the file")
	}
}

func BenchmarkNew(b *testing.B) {
	in := exporttest.Season()
	for b.Loop() {
		newMap(b, in, export.Options{})
	}
}
