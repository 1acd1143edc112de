package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// TestBarParts: the parts lie end to end in the order of the states, each as long as
// its hours are of the longest day; a state of no time has none.
func TestBarParts(t *testing.T) {
	d := spatial.DaySummary{DriftingH: 3, CrawlingH: 1.5, UnknownH: 0.5}
	got := barParts(d, 10)
	want := []barPart{{"drifting", "0", "90"}, {"crawling", "90", "45"}, {"unknown", "135", "15"}}
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("part %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// TestSharesAddUp: the season's shares are of all hours; rounded, they still add up to
// within half a percent each.
func TestSharesAddUp(t *testing.T) {
	var p content
	p.days(exporttest.Season().Chart, nil, si.US)
	sum := 0.0
	for _, s := range p.Days.Shares {
		v, err := strconv.ParseFloat(strings.TrimSuffix(s, " %"), 64)
		if err != nil {
			t.Fatal(err)
		}
		sum += v
	}
	if n := len(p.Days.Shares); n != len(p.Days.States) || math.Abs(sum-100) > 0.5*float64(n) {
		t.Errorf("%d shares add up to %v", n, sum)
	}
}

func TestCrawlWords(t *testing.T) {
	for _, c := range []struct {
		set  *spatial.Settings
		want string
	}{
		{nil, "the remarks say whether crawling under the motor counts too"},
		{&spatial.Settings{Crawling: spatial.CrawlByCatch}, "the remarks say whether crawling under the motor counts too"},
		{&spatial.Settings{Crawling: spatial.CrawlFished}, "and, as was asked, crawling under the motor"},
		{&spatial.Settings{Crawling: spatial.CrawlMoved}, "not, as was asked, crawling under the motor"},
	} {
		var p content
		p.days(exporttest.Season().Chart, c.set, si.US)
		if !strings.Contains(p.Days.Crawls, c.want) {
			t.Errorf("%+v: %q", c.set, p.Days.Crawls)
		}
	}
}

var colour = regexp.MustCompile(`--(\w[\w-]*):#([0-9a-f]{6}|[0-9a-f]{3})\b`)

// colours reads the variables of one :root rule.
func colours(rule string) map[string]float64 {
	out := map[string]float64{}
	for _, m := range colour.FindAllStringSubmatch(rule, -1) {
		hex := m[2]
		if len(hex) == 3 {
			hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
		}
		v, _ := strconv.ParseUint(hex, 16, 32)
		lin := func(b uint64) float64 {
			x := float64(b&0xff) / 255
			if x <= 0.04045 {
				return x / 12.92
			}
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		out[m[1]] = 0.2126*lin(v>>16) + 0.7152*lin(v>>8) + 0.0722*lin(v)
	}
	return out
}

// TestStatesApart: by lightness alone, which no colour-blindness takes away, the edge
// between any two states can be seen: they differ from each other or from the line
// between them by 3:1 (WCAG 2.2, success criterion 1.4.11; relative luminance as
// defined there). So does the bar from what it stands on, by its fill or its outline.
// Neighbours are dark and light in turn, so that they can be told in a grey print.
func TestStatesApart(t *testing.T) {
	_, dark, found := strings.Cut(styleSheet, "@media screen and (prefers-color-scheme:dark)")
	if !found {
		t.Fatal("no dark colours")
	}
	light, _, _ := strings.Cut(styleSheet, "@media")
	dark, _, _ = strings.Cut(dark, "*{")
	contrast := func(a, b float64) float64 { return (math.Max(a, b) + 0.05) / (math.Min(a, b) + 0.05) }
	for name, rule := range map[string]string{"light": light, "dark": dark} {
		c := colours(rule)
		var states []string
		for _, h := range export.DayStates(spatial.DaySummary{}) {
			if h.State != "unknown" { // empty, with a dashed outline
				states = append(states, h.State)
			}
		}
		line, under := c["casing"], c["card"]
		for i := 1; i+1 < len(states); i++ {
			if a, b, next := c[states[i-1]], c[states[i]], c[states[i+1]]; (a < b) != (next < b) || a == b || next == b {
				t.Errorf("%s: %s is neither lighter nor darker than both its neighbours", name, states[i])
			}
		}
		for i, a := range states {
			if _, there := c[a]; !there {
				t.Fatalf("%s: no colour for %s", name, a)
			}
			if contrast(c[a], under) < 3 && contrast(line, under) < 3 {
				t.Errorf("%s: %s can't be told from the paper", name, a)
			}
			for _, b := range states[i+1:] {
				if contrast(c[a], c[b]) < 3 && contrast(c[a], line) < 3 && contrast(c[b], line) < 3 {
					t.Errorf("%s: %s runs into %s", name, a, b)
				}
			}
		}
	}
}
