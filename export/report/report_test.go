package report

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
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

// few is a season with no soundings, no track, one place that is not proven, and
// nothing that tells of drifting in wind.
func few() export.Findings {
	in := exporttest.WindUnknown(exporttest.Season())
	c := &in.Chart
	c.Areas, c.Contours, c.Bands, c.Drifts, c.Tracks = nil, nil, nil, nil, nil
	c.Zones, c.Events = c.Zones[2:], c.Events[31:36]
	c.Bottom = spatial.Bottom{}
	for i := range c.Days {
		d := c.Days[i]
		c.Days[i] = spatial.DaySummary{Date: d.Date, Events: d.Events, LevelM: d.LevelM, Shift: spatial.DayShift{From: spatial.AsSounded}}
	}
	in.Problems, in.Unplaced = nil, nil
	return in
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "season.html", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "few.html", written(t, few(), export.Options{Units: si.Metric, Title: "Spring"}))
	exporttest.Golden(t, "empty.html", written(t, exporttest.Empty(), export.Options{}))
}

func TestSameBytes(t *testing.T) {
	a, b := written(t, exporttest.Season(), export.Options{}), written(t, exporttest.Season(), export.Options{})
	if !bytes.Equal(a, b) {
		t.Error("two writes differ")
	}
}

// nodes parses as a browser does and returns every element.
func nodes(t *testing.T, page []byte) []*html.Node {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var out []*html.Node
	for n := range root.Descendants() {
		if n.Type == html.ElementNode {
			out = append(out, n)
		}
	}
	return out
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func variants() map[string]export.Findings {
	return map[string]export.Findings{"season": exporttest.Season(), "few": few(), "empty": exporttest.Empty()}
}

// TestStructure: what a keyboard, a screen reader and a link need. Ids are unique,
// every reference inside the page has its target, headings don't skip a level
// (WCAG 2.2, technique H42 and success criteria 2.4.1, 2.4.2, 3.1.1).
func TestStructure(t *testing.T) {
	for name, in := range variants() {
		t.Run(name, func(t *testing.T) {
			all := nodes(t, written(t, in, export.Options{}))
			ids := map[string]bool{}
			for _, n := range all {
				if id := attr(n, "id"); id != "" {
					if ids[id] {
						t.Errorf("id %q twice", id)
					}
					ids[id] = true
				}
			}
			level := 0
			for _, n := range all {
				for _, key := range []string{"href", "xlink:href"} {
					if ref := attr(n, key); ref != "" && (!strings.HasPrefix(ref, "#") || !ids[ref[1:]]) {
						t.Errorf("%s refers to %q, which is not in the page", n.Data, ref)
					}
				}
				if ref := attr(n, "aria-labelledby"); ref != "" && !ids[ref] {
					t.Errorf("%s is labelled by %q, which is not in the page", n.Data, ref)
				}
				if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
					if l := int(n.Data[1] - '0'); l > level+1 {
						t.Errorf("heading %s after level %d", n.Data, level)
					} else {
						level = l
					}
				}
				if n.Data == "html" && attr(n, "lang") != "en" {
					t.Error("no language")
				}
				if n.Data == "svg" && attr(n, "aria-hidden") == "" && attr(n, "aria-label") == "" {
					t.Error("a picture that says nothing to a screen reader")
				}
			}
		})
	}
}

// TestPolicy: the style sheets are allowed by their hashes as a browser computes it
// (Content Security Policy Level 3, section 6.7.2.4), and nothing else is.
func TestPolicy(t *testing.T) {
	for name, in := range variants() {
		t.Run(name, func(t *testing.T) {
			var allowed string
			var styles []string
			for _, n := range nodes(t, written(t, in, export.Options{})) {
				switch {
				case n.Data == "meta" && attr(n, "http-equiv") == "Content-Security-Policy":
					allowed = attr(n, "content")
				case n.Data == "style":
					styles = append(styles, n.FirstChild.Data)
				}
				if attr(n, "style") != "" {
					t.Errorf("%s has a style attribute, which the policy refuses", n.Data)
				}
			}
			if !strings.HasPrefix(allowed, "default-src 'none'; ") {
				t.Errorf("policy %q", allowed)
			}
			for _, style := range styles {
				sum := sha256.Sum256([]byte(style))
				if !strings.Contains(allowed, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'") {
					t.Errorf("policy %q doesn't allow a style sheet", allowed)
				}
			}
			if strings.Contains(allowed, "unsafe") || strings.Count(allowed, "sha256-") > len(styles)+2 {
				t.Errorf("policy %q allows too much", allowed)
			}
		})
	}
}

func TestNothingOutside(t *testing.T) {
	// The scripts are package webmap's, which holds in a browser that they ask for nothing.
	page := regexp.MustCompile(`(?s)<script[^>]*>.*?</script>`).ReplaceAll(written(t, exporttest.Season(), export.Options{}), nil)
	for _, s := range []string{"http:", "https:", "<script", "src=", "@import", "<link", "<img", "<iframe", "javascript:", " on"} {
		if s == " on" {
			if m := regexp.MustCompile(`<[^>]* on\w+=`).Find(page); m != nil {
				t.Errorf("has %s", m)
			}
			continue
		}
		if bytes.Contains(page, []byte(s)) {
			t.Errorf("has %s", s)
		}
	}
	for _, m := range regexp.MustCompile(`url\([^)]*\)`).FindAll(page, -1) {
		if s := string(m); s != "url(#hatch)" && s != "url(#dots)" {
			t.Errorf("has %s", m)
		}
	}
}

// TestHostileText puts markup into every text that a file or a person can reach.
func TestHostileText(t *testing.T) {
	in := exporttest.Season()
	evil := `"'><script>alert(1)</script>{{.}}`
	for i := range in.Chart.Zones {
		z := &in.Chart.Zones[i]
		z.ID, z.Name, z.Structure = fmt.Sprintf("%s%d", evil, i), evil, evil
		z.Head.Missing = append(z.Head.Missing, evil)
		z.ForecastHead.Missing = append(z.ForecastHead.Missing, evil)
		for j := range z.Head.Trials {
			z.Head.Trials[j].Line.Name = evil
			z.Head.Trials[j].Line.Leader = &ingest.Leader{Name: evil}
		}
	}
	for i := range in.Chart.Drifts {
		in.Chart.Drifts[i].ID, in.Chart.Drifts[i].Name = evil, evil
	}
	for i := range in.Chart.Days {
		in.Chart.Days[i].Date = evil
	}
	in.Chart.Remarks = append(in.Chart.Remarks, spatial.Remark{About: evil, Text: evil})
	in.Chart.Leeway.CurrentMPS, in.Chart.Leeway.CurrentWhy = ingest.Maybe{}, evil
	in.Chart.Forecast.Beyond, in.Chart.Forecast.Why = true, evil
	in.Chart.Tracks[0].State = evil
	in.Chart.Events[0].Species = evil
	in.Sources[0] = ingest.Source{Name: evil, TakenFor: evil, Columns: []ingest.Column{{Name: evil, ReadAs: evil, Unit: evil}, {Name: evil}}, Flagged: map[string]int{evil: 1}}
	in.Problems[0] = ingest.Problem{File: evil, Field: evil, Found: evil, Wanted: evil, Kind: ingest.ErrNumber}
	in.Unplaced[0] = ingest.Unplaced{What: evil, Reason: evil}
	noRule := in
	noRule.Chart.Leeway = spatial.Leeway{Why: evil}
	noRule.Chart.Forecast = &spatial.Forecast{Why: evil}
	for _, in := range []export.Findings{in, noRule} {
		scripts := 0
		for _, n := range nodes(t, written(t, in, export.Options{Title: evil})) {
			if n.Data == "script" {
				scripts++
			}
			for _, a := range n.Attr {
				if strings.HasPrefix(a.Key, "on") {
					t.Errorf("attribute %s", a.Key)
				}
			}
		}
		if scripts != 3 {
			t.Errorf("%d script elements, want the map's data, its library and its own", scripts)
		}
	}
}

// TestEmptySections: a section without content says why, in its place.
func TestEmptySections(t *testing.T) {
	season := exporttest.Season()
	noZones := exporttest.Season()
	noZones.Chart.Zones = nil
	noEvents := exporttest.Season()
	noEvents.Chart.Zones, noEvents.Chart.Events = nil, nil
	clean := exporttest.Season()
	clean.Problems, clean.Unplaced = nil, nil
	noDrifts := exporttest.Season()
	noDrifts.Chart.Drifts = nil
	for _, c := range []struct {
		name string
		in   export.Findings
		want []string
		not  []string
	}{
		{"everything", season, []string{"2 proven zones. Best is Z1", "The first 10 of 23", "The first 10 of 13"}, []string{`class="empty"`}},
		{"nothing", exporttest.Empty(), []string{
			"No zones: nothing caught or seen could be placed", "There is no map", "There are no zones", "no track was read",
			"no sounding was read", "No day was read", "No file was read",
		}, []string{"<table"}},
		{"no zones", noZones, []string{"the events lie no closer together than even fishing explains"}, []string{"proven zone"}},
		{"no events", noEvents, []string{"no catch, bite or mark could be placed"}, nil},
		{"unproven only", few(), []string{"No proven zone yet. 1 place stands out", "The bottom is not drawn: no sounding was read", "no track was read", "No track says what the boat did"}, []string{`class="state`}},
		{"clean files", clean, []string{"Every row could be used as it stands", "Every record that was read has its place"}, nil},
		{"no drifts", noDrifts, []string{"no two passes went the same way"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := string(written(t, c.in, export.Options{}))
			for _, s := range c.want {
				if !strings.Contains(page, s) {
					t.Errorf("doesn't say %q", s)
				}
			}
			for _, s := range c.not {
				if strings.Contains(page, s) {
					t.Errorf("says %q", s)
				}
			}
		})
	}
}

// TestLists: proven and unproven zones stand apart, and each card once.
func TestLists(t *testing.T) {
	page := written(t, exporttest.Season(), export.Options{})
	zones, rest, _ := bytes.Cut(page, []byte(`<section id="unproven"`))
	for id, part := range map[string][]byte{"Z1": zones, "Z2": zones, "Z3": rest} {
		card := []byte(`id="zone-` + id + `"`)
		if bytes.Count(part, card) != 1 || bytes.Count(page, card) != 1 {
			t.Errorf("%s is not in its list once", id)
		}
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

// A season of many drift lines draws the best of those that gave something, and says how many it leaves out.
func TestFewProfilesAreDrawn(t *testing.T) {
	in := exporttest.Season()
	line := in.Chart.Drifts[0]
	in.Chart.Drifts = nil
	for k := range 30 {
		line.ID = fmt.Sprintf("D%d", k+1)
		line.Events = k % 2
		in.Chart.Drifts = append(in.Chart.Drifts, line)
	}
	var b bytes.Buffer
	if err := Write(&b, in, export.Options{}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	if n := strings.Count(page, "<h4><span>D"); n != 12 || !strings.Contains(page, "<h4><span>D24</span>") {
		t.Errorf("%d lines are drawn, want 12 up to D24", n)
	}
	if !strings.Contains(page, "The 12 best are drawn; result.json has the bottom along the other 18.") {
		t.Error("nothing says what is left out")
	}
}
