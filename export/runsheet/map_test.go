package runsheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/tidwall/geodesic"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

func drawn(t *testing.T, c spatial.Chart, r spatial.Run, u si.System) *picture {
	t.Helper()
	d, ok := newDrawing(c, r, u)
	if !ok {
		t.Fatal("not drawn")
	}
	return d.draw()
}

var moved = regexp.MustCompile(`^translate\((\S+) (\S+)\)(?: rotate\((\S+)\))?$`)

func transform(t *testing.T, s string) (at xy, angleDeg float64) {
	t.Helper()
	m := moved.FindStringSubmatch(s)
	if m == nil {
		t.Fatalf("transform %q", s)
	}
	fmt.Sscan(m[1], &at.x)
	fmt.Sscan(m[2], &at.y)
	fmt.Sscan(m[3], &angleDeg)
	return at, angleDeg
}

// TestScale: the bar measures what a geodesic does (geodesic, a port of Karney's
// GeographicLib) between launch and the first stop's start. Coordinates are rounded to a
// tenth of a unit, of some 200.
func TestScale(t *testing.T) {
	c, r := exporttest.Run()
	for _, u := range []si.System{si.US, si.Metric} {
		p := drawn(t, c, r, u)
		launch, _ := transform(t, p.Ends[0].At)
		start, _ := transform(t, p.Stops[0].Dot)
		var barUnits float64
		fmt.Sscan(regexp.MustCompile(`h([\d.]+)`).FindStringSubmatch(p.Bar.D)[1], &barUnits)
		var barM float64
		if u == si.Metric {
			fmt.Sscanf(p.Bar.Text, "%f m", &barM)
		} else {
			fmt.Sscanf(p.Bar.Text, "%f yd", &barM)
			barM *= 0.9144 // exact by the international yard of 1959
		}
		var wantM float64
		geodesic.WGS84.Inverse(r.Launch[1], r.Launch[0], r.Stops[0].At[1], r.Stops[0].At[0], &wantM, nil, nil)
		if gotM := distance(launch, start) / barUnits * barM; math.Abs(gotM-wantM) > 0.004*wantM {
			t.Errorf("%s: %.1f m by the bar, %.1f m by the geodesic", p.Bar.Text, gotM, wantM)
		}
	}
}

// TestArrows: an arrow points the way it is travelled, and a drift the way it goes. North
// is up; SVG turns clockwise from the right.
func TestArrows(t *testing.T) {
	frame := plane.New(exporttest.Origin)
	for _, c := range []struct {
		towardDeg, angleDeg float64
	}{{90, 0}, {180, 90}, {270, 180}, {0, -90}, {135, 45}, {315, -135}} {
		for _, longM := range []float64{1000, 3} {
			v := plane.Toward(c.towardDeg)
			from := frame.Degrees(r2.Scale(-500, v))
			to := frame.Degrees(r2.Scale(500, v))
			end := frame.Degrees(r2.Add(r2.Scale(500, v), r2.Scale(longM, v)))
			r := spatial.Run{
				Launch: from, TakeOut: from, Stops: []spatial.RunStop{{Order: 1, At: to, DriftEnd: end, DriftTowardDeg: ingest.Known(c.towardDeg)}},
				Legs: []spatial.RunLeg{{From: 0, To: 1, Line: orb.LineString{from, to}}},
			}
			p := drawn(t, spatial.Chart{}, r, si.US)
			if len(p.Legs) != 1 || len(p.Legs[0].Arrows) == 0 || len(p.Drifts) != 1 {
				t.Fatalf("toward %.0f°: %d legs, %d drifts", c.towardDeg, len(p.Legs), len(p.Drifts))
			}
			heads := append(slices.Clone(p.Legs[0].Arrows), p.Drifts[0].Head)
			for _, h := range heads {
				if _, angle := transform(t, h); math.Abs(math.Remainder(angle-c.angleDeg, 360)) > 0.2 {
					t.Errorf("toward %.0f°, drift %.0f m: %s, want %.0f°", c.towardDeg, longM, h, c.angleDeg)
				}
			}
			start, _ := transform(t, p.Stops[0].Dot)
			tip, _ := transform(t, p.Drifts[0].Head)
			if distance(start, tip) < driftLeast-0.2 {
				t.Errorf("a drift of %.0f m is drawn %.1f units long", longM, distance(start, tip))
			}
			if p.Stretched != (longM < 10) {
				t.Errorf("a drift of %.0f m: drawn longer %v", longM, p.Stretched)
			}
		}
	}
}

// TestDiscsKeepClear: no disc covers another, the launch or an arrowhead, and all lie on
// the map; the last run has its stops within 25 m, where their discs would be one heap.
func TestDiscsKeepClear(t *testing.T) {
	for _, n := range []int{3, 6, 12, 5} {
		c, r := many(n)
		if n == 5 {
			frame := plane.New(exporttest.Origin)
			for i := range r.Stops {
				r.Stops[i].At = frame.Degrees(r2.Vec{X: 5 * float64(i)})
				r.Stops[i].DriftTowardDeg = ingest.Maybe{}
			}
		}
		p := drawn(t, c, r, si.US)
		var width, height float64
		fmt.Sscan(p.Width, &width)
		fmt.Sscan(p.Inner, &height)
		var discs []xy
		for _, s := range p.Stops {
			at, _ := transform(t, s.At)
			if at.x < discRadius || at.y < discRadius || at.x > width-discRadius || at.y > height-discRadius {
				t.Errorf("of %d: disc %s is off the map", n, s.Text)
			}
			for i, other := range discs {
				if distance(at, other) < 2*discRadius {
					t.Errorf("of %d: disc %s covers %d", n, s.Text, i+1)
				}
			}
			discs = append(discs, at)
		}
		for _, e := range p.Ends {
			at, _ := transform(t, e.At)
			for i, d := range discs {
				if distance(at, d) < discRadius+endHalf {
					t.Errorf("of %d: disc %d covers %s", n, i+1, e.Text)
				}
			}
		}
		for _, f := range p.Drifts {
			tip, _ := transform(t, f.Head)
			for i, d := range discs {
				if distance(tip, d) < discRadius {
					t.Errorf("of %d: disc %d covers an arrowhead", n, i+1)
				}
			}
		}
	}
}

func TestEnds(t *testing.T) {
	frame := plane.New(exporttest.Origin)
	for _, c := range []struct {
		name    string
		apartM  float64
		want    string
		leaders int
	}{
		{"one place", 0, "L T", 0},
		{"nearly one", 8, "L,T", 1},
		{"two", 600, "L,T", 0},
	} {
		_, r := exporttest.Run()
		r.TakeOut = frame.Degrees(r2.Add(frame.Metres(r.Launch), r2.Vec{Y: c.apartM}))
		p := drawn(t, spatial.Chart{}, r, si.US)
		var names []string
		leaders := 0
		for _, e := range p.Ends {
			names = append(names, e.Text)
			if e.Lead != "" {
				leaders++
			}
		}
		if got := strings.Join(names, ","); got != c.want || leaders != c.leaders {
			t.Errorf("%s: %q with %d leaders, want %q with %d", c.name, got, leaders, c.want, c.leaders)
		}
	}
}

// TestAcross180: a lake across the antimeridian is drawn as one anywhere else.
func TestAcross180(t *testing.T) {
	c, r := exporttest.Run()
	here := drawn(t, c, r, si.US)
	turn := func(p *orb.Point) { p[0] = math.Remainder(p[0]+220, 360) }
	for i := range r.Stops {
		turn(&r.Stops[i].At)
		turn(&r.Stops[i].DriftEnd)
	}
	for i := range r.Legs {
		for k := range r.Legs[i].Line {
			turn(&r.Legs[i].Line[k])
		}
	}
	for i := range c.Zones {
		for _, ring := range c.Zones[i].Shape {
			for k := range ring {
				turn(&ring[k])
			}
		}
	}
	turn(&r.Launch)
	turn(&r.TakeOut)
	there := drawn(t, c, r, si.US)
	for i := range here.Stops {
		a, _ := transform(t, here.Stops[i].Dot)
		b, _ := transform(t, there.Stops[i].Dot)
		if distance(a, b) > 0.2 {
			t.Errorf("stop %d at %v, here at %v", i+1, b, a)
		}
	}
	if here.Bar != there.Bar {
		t.Errorf("bar %v, here %v", there.Bar, here.Bar)
	}
}

// TestStepColours: deeper is darker, as a grey too, and lines stand out on every step by
// 3 to 1, as graphics need (WCAG 2.2, success criterion 1.4.11), black ones on light and
// white ones on dark screens. Luminance and contrast are by WCAG's definitions.
func TestStepColours(t *testing.T) {
	rules := regexp.MustCompile(`\.s\d\{fill:#([0-9a-f]{6})\}`).FindAllStringSubmatch(stepRules(), -1)
	if len(rules) != 2*mapSteps {
		t.Fatalf("%d rules", len(rules))
	}
	luminance := func(hex string) float64 {
		var r, g, b int
		fmt.Sscanf(hex, "%02x%02x%02x", &r, &g, &b)
		lin := func(v int) float64 {
			s := float64(v) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*lin(r) + 0.7152*lin(g) + 0.0722*lin(b)
	}
	for i, m := range rules {
		y := luminance(m[1])
		if i%mapSteps > 0 && y >= luminance(rules[i-1][1]) {
			t.Errorf("step %d, #%s, is no darker than the one before", i%mapSteps, m[1])
		}
		contrast := (y + 0.05) / 0.05
		if i >= mapSteps {
			contrast = 1.05 / (y + 0.05)
		}
		if contrast < 3 {
			t.Errorf("#%s: contrast %.2f", m[1], contrast)
		}
	}
}

// TestLegend: the steps follow on one another without a gap, and only the last names the
// unit.
func TestLegend(t *testing.T) {
	c, r := exporttest.Run()
	for _, n := range []int{0, 1, 3, 5, 6, 7} {
		c.Areas = c.Areas[:min(n, len(c.Areas))]
		if n > len(c.Areas) {
			c, r = exporttest.Run()
			c.Areas = c.Areas[:n]
		}
		d, _ := newDrawing(c, r, si.US)
		steps := d.legend()
		if len(steps) != min(len(d.areas), mapSteps) {
			t.Errorf("%d areas: %d steps", len(d.areas), len(steps))
		}
		var last string
		for i, s := range steps {
			f := strings.Fields(s.Text) // "0 to 10", and "ft" at the end
			if (len(f) == 4) != (i == len(steps)-1) || last != "" && f[0] != last {
				t.Errorf("%d areas: %v", len(d.areas), steps)
				break
			}
			last = f[2]
		}
	}
}

// TestMapIsOfTheRun: water far from the run is not in the file.
func TestMapIsOfTheRun(t *testing.T) {
	c, r := exporttest.Run()
	before := len(drawn(t, c, r, si.US).Areas)
	far := spatial.DepthArea{TopM: 20, BottomM: 30, Shape: orb.MultiPolygon{{{{-39, 37}, {-38.9, 37}, {-38.9, 37.1}, {-39, 37}}}}}
	c.Areas = append(c.Areas, far)
	d, _ := newDrawing(c, r, si.US)
	if got := len(d.draw().Areas); got != before {
		t.Errorf("%d areas, want %d", got, before)
	}
	if text := d.legend()[len(d.legend())-1].Text; strings.Contains(text, export.DepthRange(20, 30, si.US)) {
		t.Errorf("the legend has %s", text)
	}
}
