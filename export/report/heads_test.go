package report

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func figure(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestHeadsScale: a bar ends above the limit's line exactly when its head breaks that
// limit, the bars stand on the panel's foot, and the pick alone is marked.
func TestHeadsScale(t *testing.T) {
	in := exporttest.Season()
	c, box := in.Chart.Zones[0].Head, &in.Settings.Tackle
	p := newHeads(c, box, si.US)
	if len(p.Panels) != 2 || p.Unit != "oz" {
		t.Fatalf("%d panels, unit %q", len(p.Panels), p.Unit)
	}
	for k, q := range p.Panels {
		limit := figure(t, q.Limit.At)
		for i, b := range q.Bars {
			x := c.Trials[i]
			meets := []bool{x.MeetsSink, x.MeetsAngle}[k]
			if above := figure(t, b.Y) < limit; above == meets {
				t.Errorf("%s: bar %d above the limit: %v, meets it: %v", q.Title, i, above, meets)
			}
			if foot := figure(t, b.Y) + figure(t, b.Height); foot-figure(t, q.Foot) > 0.02 || figure(t, q.Foot)-foot > 0.02 {
				t.Errorf("%s: bar %d ends at %v, the panel at %s", q.Title, i, foot, q.Foot)
			}
			if (b.Class == "chosen") != (i == c.Pick) {
				t.Errorf("%s: bar %d is %s", q.Title, i, b.Class)
			}
			if k == 1 && (b.Class == "loose") != !x.Holds || (b.Words != "") != (b.Class == "loose") {
				t.Errorf("bar %d is %s, %q", i, b.Class, b.Words)
			}
		}
	}
	// By hand: 45 degrees is half of 90, so half of the tallest bar.
	if got, want := figure(t, p.Panels[1].Limit.At), angleTop+headsDown-barDown/2; got != want {
		t.Errorf("45 degrees at %v, want %v", got, want)
	}
	for _, s := range []string{"limits 20 s and 45°", "1/16 oz: 29 s, can't hold the depth.", "3/8 oz: 16 s, 44°, the pick."} {
		if !strings.Contains(p.Label, s) {
			t.Errorf("the label doesn't say %q: %s", s, p.Label)
		}
	}
	if p := newHeads(c, nil, si.US); p.Panels[0].Limit != nil || p.Panels[1].Limit != nil {
		t.Error("a limit that isn't known is drawn")
	}
	if newHeads(spatial.HeadChoice{Missing: []string{"drift speed"}}, box, si.US) != nil {
		t.Error("nothing is drawn as something")
	}
}

// TestHeadsInside: whatever the box, nothing leaves its panel, labels don't run into each
// other, and the pick has its own.
func TestHeadsInside(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	for range 300 {
		c := spatial.HeadChoice{Picked: true}
		n := 1 + rng.IntN(30)
		c.Pick = rng.IntN(n)
		for i := range n {
			x := spatial.HeadTrial{Head: ingest.Head{MassKg: float64(i+1) * si.OunceKg / 16}, SinkS: rng.ExpFloat64() * 40}
			if x.Holds = rng.IntN(3) > 0; x.Holds {
				x.AngleDeg = ingest.Known(90 * rng.Float64())
			}
			c.Trials = append(c.Trials, x)
		}
		u := []si.System{si.US, si.Metric}[rng.IntN(2)]
		p := newHeads(c, &ingest.Tackle{MaxSinkS: 20, MaxAngleDeg: 45}, u)
		for _, q := range p.Panels {
			top, foot := figure(t, q.Y), figure(t, q.Foot)
			for _, b := range q.Bars {
				x, y, w := figure(t, b.X), figure(t, b.Y), figure(t, b.Width)
				if y < top || y > foot || x < headsLeft || x+w > headsRight {
					t.Fatalf("bar %+v leaves %s to %s", b, q.Y, q.Foot)
				}
			}
		}
		marked, last := 0, -1000.0
		for _, m := range p.Names {
			half := 3.3 * float64(len(m.Text))
			if at := figure(t, m.At); at-half < last {
				t.Fatalf("%d heads: %q runs into the name before it", n, m.Text)
			} else {
				last = at + half
			}
			if m.Picked {
				marked++
			}
		}
		if marked != 1 {
			t.Fatalf("%d names marked as the pick", marked)
		}
	}
}

// TestHeadsOnCards: each zone with trials has its picture and table, and all have advice
// under its heading.
func TestHeadsOnCards(t *testing.T) {
	page := string(written(t, exporttest.Season(), export.Options{}))
	for _, c := range []struct {
		text string
		n    int
	}{
		{`<figure class="heads">`, 2}, {`<table class="trials">`, 2}, {"<p>" + export.AdviceHeading + "</p>", 3},
		{"<th class=\"n\">Seconds a fish</th>", 2}, {">0.76 mph</td>", 2}, {">pick</text>", 1},
		{"50 lb braid, 3 ft of 12 lb fluorocarbon<small>3.8 in trailer</small>", 4},
	} {
		if n := strings.Count(page, c.text); n != c.n {
			t.Errorf("%q %d times, want %d", c.text, n, c.n)
		}
	}
}

func TestSpaced(t *testing.T) {
	for _, c := range []struct {
		n, pick int
		places  float64
		want    string
	}{
		{5, 2, 0.8, "[true true true true true]"}, {5, 2, 1, "[true true true true true]"}, {6, 3, 1.5, "[false true false true false true]"},
		{4, -1, 3, "[true false false true]"}, {3, 1, 9, "[false true false]"},
	} {
		if got := fmt.Sprint(spaced(c.n, c.pick, c.places)); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
