//go:build reference

package webmap_test

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/export/report"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

// These checks drive a headless Chromium (tried with 156). They fail when there is none.
// With SHOTS=DIR they leave pictures there to look at.

// An error, warning or refusal must reach complaints, or their absence would prove nothing.
func TestComplaintsAreHeard(t *testing.T) {
	b := newBrowser(t)
	text := page(t, exporttest.Season(), export.Options{})
	for name, add := range map[string]string{
		"script the policy refuses":   "<script>1</script>",
		"style the policy refuses":    `<p style="color:red">x</p>`,
		"picture the policy refuses":  `<img alt="" src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">`,
		"handler the policy refuses":  `<img alt="" src="x.png" onerror="1">`,
		"script that was not escaped": `<script src="x.js"></script>`,
	} {
		url := b.open([]byte(strings.Replace(string(text), "</body>", add+"</body>", 1)))
		if len(b.complaints(url)) == 0 {
			t.Errorf("%s: nobody complained", name)
		}
	}
}

// unit is how the map lies on the page: pixels per metre, by the scale bar, and the
// pixel of the chart's middle, while the whole is shown.
func unit(b *browser) (perM, x, y float64) {
	b.t.Helper()
	var r struct {
		Width, X, Y float64
		Text        string
	}
	b.eval(&r, `(() => { const m = document.querySelector('.webmap-map').getBoundingClientRect(), s = document.querySelector('.webmap-scale');
		return {Width: s.lastElementChild.getBoundingClientRect().width, Text: s.firstElementChild.textContent, X: m.x + m.width / 2, Y: m.y + m.height / 2} })()`)
	n, unit, _ := strings.Cut(r.Text, " ")
	v, err := strconv.ParseFloat(n, 64)
	if err != nil {
		b.t.Fatal(err)
	}
	perUnit, ok := map[string]float64{"yd": 0.9144, "mi": 1609.344, "m": 1, "km": 1000}[unit] // by definition, 1959
	if !ok {
		b.t.Fatalf("scale bar of %q", r.Text)
	}
	return r.Width / (v * perUnit), r.X, r.Y
}

// at is where a position lies on the page while the whole is shown.
func at(b *browser, p orb.Point) (x, y float64) {
	b.t.Helper()
	perM, x0, y0 := unit(b)
	frame := plane.New(exporttest.Origin)
	var low, high r2.Vec
	for _, q := range exporttest.Season().Chart.Areas[0].Shape[0][0] { // the shore, around all else
		v := frame.Metres(q)
		low = r2.Vec{X: math.Min(low.X, v.X), Y: math.Min(low.Y, v.Y)}
		high = r2.Vec{X: math.Max(high.X, v.X), Y: math.Max(high.Y, v.Y)}
	}
	v := r2.Sub(frame.Metres(p), r2.Scale(0.5, r2.Add(low, high)))
	return x0 + v.X*perM, y0 - v.Y*perM
}

const (
	cardText  = `document.querySelector('.webmap-card').hidden ? '' : document.querySelector('.webmap-card').innerText`
	cardTitle = `document.querySelector('.webmap-card').hidden ? '' : document.getElementById('webmap-title').textContent`
	focused   = `(e => e.dataset.id || e.className.split(' ')[0] || e.tagName)(document.activeElement)`
)

func wantText(t *testing.T, b *browser, what, script, want string) {
	t.Helper()
	if got := b.text(script); got != want {
		t.Errorf("%s: %q, want %q", what, got, want)
	}
}

func quiet(t testing.TB, b *browser, url string) {
	t.Helper()
	if c := b.complaints(url); len(c) > 0 {
		t.Errorf("the page was not quiet:\n%s", strings.Join(c, "\n"))
	}
}

func TestZonesByMouse(t *testing.T) {
	in := exporttest.Season()
	b := newBrowser(t)
	b.screen(1200, 860, 1)
	url := b.open(page(t, in, export.Options{}))
	for _, z := range in.Chart.Zones {
		b.eval(nil, `document.querySelector('[data-do=all]').click()`)
		b.rest()
		x, y := at(b, corner(z))
		b.click(x, y)
		wantText(t, b, z.ID+" by mouse", cardTitle, export.ZoneName(z, si.US))
		wantText(t, b, "focus", focused, "webmap-card")
		text := b.text(cardText)
		for _, f := range export.ZoneFacts(z, in.Chart.Forecast, si.US) {
			if !strings.Contains(text, f.Label+"\n"+f.Value) {
				t.Errorf("%s: the card has no %v:\n%s", z.ID, f, text)
			}
		}
		for _, line := range strings.Split(export.HeadWhy(z.Head, si.US), "\n") {
			if !strings.Contains(text, line) {
				t.Errorf("%s: the card has no %q", z.ID, line)
			}
		}
		for _, a := range export.Advice(z, in.Chart.Leeway, si.US) {
			if !strings.Contains(text, a.What) || !strings.Contains(text, a.Why) {
				t.Errorf("%s: the card has no advice %v", z.ID, a)
			}
		}
		b.key("Escape", "", 27)
		wantText(t, b, "after Escape", cardTitle, "")
		wantText(t, b, "focus after Escape", focused, "webmap-map")
	}
	// Open water has no card, nor has a pull that starts on a zone.
	x, y := at(b, in.Chart.Zones[0].Centre)
	b.click(x, y+150)
	wantText(t, b, "open water", cardTitle, "")
	b.eval(nil, `document.querySelector('[data-do=all]').click()`)
	b.rest()
	x, y = at(b, corner(in.Chart.Zones[0]))
	b.mouse("mousePressed", x, y, 1)
	for i := range 10 {
		b.mouse("mouseMoved", x+6*float64(i), y, 1)
	}
	b.mouse("mouseReleased", x+54, y, 0)
	b.rest()
	wantText(t, b, "a pull", cardTitle, "")
	quiet(t, b, url)
}

// corner is a place inside a zone that is near no mark and no drift line: between the
// outline and the middle, where the fewest marks are near.
func corner(z spatial.Zone) orb.Point {
	in := exporttest.Season().Chart
	frame := plane.New(z.Centre)
	best, bestM := z.Centre, -1.0
	for _, p := range z.Shape[0] {
		v := r2.Scale(0.8, frame.Metres(p))
		near := math.Inf(1)
		for _, e := range in.Events {
			near = math.Min(near, r2.Norm(r2.Sub(v, frame.Metres(e.At))))
		}
		for _, d := range in.Drifts {
			for i := 1; i < len(d.Line); i++ {
				a, b := frame.Metres(d.Line[i-1]), frame.Metres(d.Line[i])
				f := math.Min(1, math.Max(0, r2.Dot(r2.Sub(v, a), r2.Sub(b, a))/r2.Norm2(r2.Sub(b, a))))
				near = math.Min(near, r2.Norm(r2.Sub(v, r2.Add(a, r2.Scale(f, r2.Sub(b, a))))))
			}
		}
		if near > bestM {
			best, bestM = frame.Degrees(v), near
		}
	}
	return best
}

func TestZonesByKeyboard(t *testing.T) {
	in := exporttest.Season()
	b := newBrowser(t)
	b.screen(1200, 860, 1, "prefers-reduced-motion", "reduce")
	url := b.open(page(t, in, export.Options{Units: si.Metric}))
	var reached []string
	for range 40 {
		b.key("Tab", "", 9)
		reached = append(reached, b.text(focused))
	}
	for _, want := range []string{"webmap-map", "Z1", "Z2", "Z3"} {
		if !slices.Contains(reached, want) {
			t.Errorf("Tab doesn't reach %s: %v", want, reached)
		}
	}
	for _, z := range in.Chart.Zones {
		b.eval(nil, `document.querySelector('[data-id=`+z.ID+`]').focus()`)
		b.key("Enter", "\r", 13)
		wantText(t, b, z.ID+" by Enter", cardTitle, export.ZoneName(z, si.Metric))
		wantText(t, b, "focus", focused, "webmap-card")
		b.key("Escape", "", 27)
		wantText(t, b, "after Escape", cardTitle, "")
		wantText(t, b, "focus after Escape", focused, z.ID)
	}
	// The keys of the map: arrows move it by the same step each way, + and - change the scale.
	b.eval(nil, `document.querySelector('[data-do=all]').click(); document.querySelector('.webmap-map').focus()`)
	b.rest()
	pane := `document.querySelector('.leaflet-map-pane').style.transform`
	scale, _, _ := unit(b)
	b.key("+", "+", 187)
	if nearer, _, _ := unit(b); nearer <= scale {
		t.Errorf("+ took the scale from %.3f to %.3f pixels a metre", scale, nearer)
	}
	inside := b.text(pane)
	b.key("ArrowRight", "", 39)
	if moved := b.text(pane); moved == inside {
		t.Error("an arrow doesn't move the map")
	}
	b.key("ArrowLeft", "", 37)
	b.key("-", "-", 189)
	if back, _, _ := unit(b); math.Abs(back/scale-1) > 0.05 {
		t.Errorf("- after + gives %.3f pixels a metre, not %.3f", back, scale)
	}
	quiet(t, b, url)
}

// The whole report, as a person opens it: quiet on its own policy, every zone opens by keyboard, and a click on the map does.
func TestReport(t *testing.T) {
	in := exporttest.Season()
	var text bytes.Buffer
	if err := report.Write(&text, in, export.Options{}); err != nil {
		t.Fatal(err)
	}
	b := newBrowser(t)
	b.screen(1200, 2000, 1)
	url := b.open(text.Bytes())
	for _, z := range in.Chart.Zones {
		b.eval(nil, `document.querySelector('[data-id=`+z.ID+`]').focus()`)
		b.key("Enter", "\r", 13)
		wantText(t, b, z.ID+" by Enter", cardTitle, export.ZoneName(z, si.US))
		b.key("Escape", "", 27)
		wantText(t, b, "after Escape", cardTitle, "")
	}
	b.eval(nil, `document.querySelector('[data-do=all]').click()`)
	b.rest()
	z := in.Chart.Zones[0]
	x, y := at(b, corner(z))
	b.click(x, y)
	wantText(t, b, z.ID+" by mouse", cardTitle, export.ZoneName(z, si.US))
	b.shot("report")
	quiet(t, b, url)
}

// painted is the map as it looks, without the page around it.
func painted(b *browser) string {
	b.t.Helper()
	var clip map[string]float64
	b.eval(&clip, `(r => ({x: r.x, y: r.y, width: r.width, height: r.height, scale: 1}))(document.querySelector('.webmap-map').getBoundingClientRect())`)
	return string(b.picture(clip))
}

func TestLayers(t *testing.T) {
	b := newBrowser(t)
	b.screen(1200, 860, 1)
	url := b.open(page(t, exporttest.Season(), export.Options{}))
	keys := strings.Split(b.text(`[...document.querySelectorAll('[data-layer]')].map(e => e.dataset.layer + (e.checked ? '+' : '-')).join()`), ",")
	if got := strings.Join(keys, " "); got != "proven+ unproven+ drifts+ marks+ areas+ contours+ tracks-" {
		t.Errorf("layers %s", got)
	}
	start := painted(b)
	for _, k := range keys {
		k = k[:len(k)-1]
		toggle := func() {
			b.eval(nil, `document.querySelector('[data-layer=`+k+`]').click()`)
			b.rest()
		}
		toggle()
		if painted(b) == start {
			t.Errorf("%s: nothing changes", k)
		}
		toggle()
		if painted(b) != start {
			t.Errorf("%s: off and on again isn't what was", k)
		}
	}
	// What is off can't be hit.
	x, y := at(b, corner(exporttest.Season().Chart.Zones[1]))
	b.eval(nil, `document.querySelector('[data-layer=proven]').click()`)
	b.click(x, y)
	wantText(t, b, "a zone that is off", cardTitle, "")
	quiet(t, b, url)
}

func TestHostileTextIsText(t *testing.T) {
	in := exporttest.Season()
	hostile := "<script>document.title='owned'</script><img src=x onerror=alert(1)>"
	in.Chart.Zones[0].Name, in.Chart.Zones[0].Structures = hostile, nil
	in.Chart.Zones[0].Structure = hostile
	in.Chart.Events[0].Species = hostile
	in.Chart.Drifts[0].Name = hostile
	b := newBrowser(t)
	url := b.open(page(t, in, export.Options{}))
	b.eval(nil, `document.querySelector('[data-id=Z1]').click()`)
	b.rest()
	wantText(t, b, "heading", cardTitle, "Z1: "+hostile)
	if text := b.text(cardText); !strings.Contains(text, "Structure\n"+hostile) {
		t.Errorf("the card has no such structure: %s", text)
	}
	wantText(t, b, "title", `document.title`, "Map")
	wantText(t, b, "elements", `document.querySelectorAll('.webmap img, .webmap script').length + ''`, "0")
	quiet(t, b, url)
}

func TestStillPicture(t *testing.T) {
	b := newBrowser(t)
	text := page(t, exporttest.Season(), export.Options{})
	sizes := `(() => { const w = e => Math.round(document.querySelector(e).getBoundingClientRect().width); return w('figure>svg') + ' ' + w('.webmap-live') })()`
	check := func(what, want string) {
		t.Helper()
		got := regexp.MustCompile(`\d{3,}`).ReplaceAllString(b.text(sizes), "wide")
		if got != want {
			t.Errorf("%s: still and live are %s, want %s", what, got, want)
		}
	}
	b.screen(1200, 860, 1)
	url := b.open(text)
	check("on a screen", "1 wide")
	b.media("print")
	b.rest()
	check("on paper", "wide 0")
	b.shot("print")
	quiet(t, b, url)
	b.call("Emulation.setScriptExecutionDisabled", map[string]any{"value": true}, nil)
	b.media("")
	b.open(text)
	check("without scripts", "wide 0")
	b.call("Emulation.setScriptExecutionDisabled", map[string]any{"value": false}, nil)
	// Broken data must leave the still picture, and what was wrong in the console.
	url = b.open(regexp.MustCompile(`"Rungs":\[`).ReplaceAll(text, []byte(`"Rungs":1,"x":[`)))
	check("broken data", "wide 0")
	if len(b.complaints(url)) == 0 {
		t.Error("broken data went unheard")
	}
}

func TestPhone(t *testing.T) {
	in := exporttest.Season()
	b := newBrowser(t)
	b.screen(390, 844, 2)
	url := b.open(page(t, in, export.Options{}))
	wantText(t, b, "width", `document.documentElement.scrollWidth + ''`, "390")
	small := b.text(`[...document.querySelectorAll('.webmap-zoom button, .webmap-list button')].filter(e => e.offsetParent && e.getBoundingClientRect().height < 24).length + ''`)
	// WCAG 2.2, 2.5.8 Target Size (Minimum): 24 by 24 CSS pixels.
	if small != "0" {
		t.Errorf("%s buttons are lower than 24 pixels", small)
	}
	x, y := at(b, corner(in.Chart.Zones[1]))
	b.tap(x, y)
	wantText(t, b, "by finger", cardTitle, export.ZoneName(in.Chart.Zones[1], si.US))
	var seen struct{ Map, Card bool }
	b.eval(&seen, `(() => { const on = s => { const r = document.querySelector(s).getBoundingClientRect(); return r.bottom > 120 && r.top < innerHeight - 120 }; return {Map: on('.webmap-map'), Card: on('.webmap-card')} })()`)
	if !seen.Map || !seen.Card {
		t.Errorf("map and card in view together: %+v", seen)
	}
	wantText(t, b, "width with a card", `document.documentElement.scrollWidth + ''`, "390")
	quiet(t, b, url)
}

// Text must stand out from what it lies on: WCAG 2.2, 1.4.3 Contrast (Minimum), 4.5 to 1,
// by its formula of relative luminance.
func TestContrast(t *testing.T) {
	b := newBrowser(t)
	text := page(t, exporttest.Season(), export.Options{})
	for _, scheme := range []string{"light", "dark"} {
		b.screen(1200, 860, 1, "prefers-color-scheme", scheme)
		b.open(text)
		b.eval(nil, `document.querySelector('[data-id=Z3]').click()`)
		low := b.text(`(() => {
			const lum = c => { const [r, g, b] = c.match(/[\d.]+/g).slice(0, 3).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b };
			const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor; if (!/, 0\)$/.test(c)) return c } return 'rgb(255, 255, 255)' };
			const out = new Set();
			for (const e of document.querySelectorAll('.webmap-side *, .webmap-zoom *, .webmap-not')) {
				if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || e.closest('svg')) continue;
				const a = lum(getComputedStyle(e).color), g = lum(ground(e)), c = (Math.max(a, g) + 0.05) / (Math.min(a, g) + 0.05);
				if (c < 4.5) out.add(e.className + ' ' + e.tagName + ' ' + c.toFixed(2));
			}
			return [...out].join('; ') })()`)
		if low != "" {
			t.Errorf("%s: %s", scheme, low)
		}
	}
}

// big is a lake of 200 zones and 20,000 contour vertices, invented.
func big() export.Findings {
	frame := plane.New(exporttest.Origin)
	ring := func(cx, cy, r, wobble float64, n int, phase float64) orb.Ring {
		var out orb.Ring
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			s := r * (1 + wobble*math.Sin(5*a+phase) + wobble/3*math.Sin(37*a+2*phase))
			out = append(out, frame.Degrees(r2.Vec{X: cx + s*math.Cos(a), Y: cy + 0.7*s*math.Sin(a)}))
		}
		return append(out, out[0])
	}
	var c spatial.Chart
	const levels, vertices = 20, 1000
	for i := range levels {
		outer := ring(0, 0, 3000*(1-float64(i)/levels), 0.06, vertices-1, 0.1*float64(i))
		a := spatial.DepthArea{TopM: float64(i), BottomM: float64(i + 1), Shape: orb.MultiPolygon{{outer}}}
		if i+1 < levels {
			inner := slices.Clone(ring(0, 0, 3000*(1-float64(i+1)/levels), 0.06, vertices-1, 0.1*float64(i+1)))
			slices.Reverse(inner)
			a.Shape[0] = append(a.Shape[0], inner)
		}
		c.Areas = append(c.Areas, a)
		c.Contours = append(c.Contours, spatial.Contour{DepthM: float64(i), Lines: orb.MultiLineString{orb.LineString(outer)}})
	}
	for i := range 200 {
		a, r := 2.4*float64(i), 190*math.Sqrt(float64(i)+0.5)
		x, y := r*math.Cos(a), 0.7*r*math.Sin(a)
		c.Zones = append(c.Zones, spatial.Zone{
			ID: fmt.Sprintf("Z%d", i+1), Shape: orb.Polygon{ring(x, y, 40, 0.1, 40, 1)}, Centre: frame.Degrees(r2.Vec{X: x, Y: y}), Proven: i%3 != 0,
			Head: spatial.HeadChoice{Missing: []string{"drift speed"}}, BottomM: ingest.Known(4),
		})
	}
	return export.Findings{Chart: c}
}

// How long frames take while 200 zones and 20,000 vertices are pulled about: a frame is what the browser took between two
// pictures. Ten pictures a second is what a pull still follows the finger at. Without graphics hardware all is drawn by the
// processor.
func BenchmarkFrames(t *testing.B) {
	in := big()
	vertices := 0
	for _, c := range in.Chart.Contours {
		vertices += len(c.Lines[0])
	}
	if len(in.Chart.Zones) != 200 || vertices != 20000 {
		t.Fatalf("%d zones, %d vertices", len(in.Chart.Zones), vertices)
	}
	b := newBrowser(t)
	text := page(t, in, export.Options{})
	for _, s := range []struct {
		name  string
		w, h  int
		scale float64
		near  int
	}{{"desktop, whole", 1200, 860, 1, 0}, {"desktop, near", 1200, 860, 1, 3}, {"phone, near", 390, 844, 2, 3}} {
		b.screen(s.w, s.h, s.scale)
		url := b.open(text)
		for range s.near {
			b.eval(nil, `document.querySelector('[data-do=in]').click()`)
			b.rest()
		}
		b.shot("big-" + strings.ReplaceAll(s.name, ", ", "-"))
		_, x, y := unit(b)
		b.eval(nil, `(() => { window.frames_ = []; let last = performance.now(); window.going = true;
			const f = now => { frames_.push(now - last); last = now; if (window.going) requestAnimationFrame(f) }; requestAnimationFrame(f) })()`)
		for pull := range 4 {
			sign := float64(1 - 2*(pull%2))
			b.mouse("mouseMoved", x, y, 0)
			b.mouse("mousePressed", x, y, 1)
			for i := range 40 {
				b.mouse("mouseMoved", x+sign*float64(i)*4, y+sign*float64(i)*3, 1)
			}
			b.mouse("mouseReleased", x+sign*160, y+sign*120, 0)
			b.rest()
		}
		var frames []float64
		b.eval(&frames, `(window.going = false, window.frames_.slice(2))`)
		slices.Sort(frames)
		if len(frames) < 50 {
			t.Fatalf("%s: only %d frames", s.name, len(frames))
		}
		at := func(q float64) float64 { return frames[int(q*float64(len(frames)-1))] }
		name := strings.ReplaceAll(s.name, ", ", "-")
		t.ReportMetric(at(0.5), name+"-median-ms")
		t.ReportMetric(at(0.9), name+"-90%-ms")
		t.ReportMetric(at(0.99), name+"-99%-ms")
		quiet(t, b, url)
	}
}

// A picture of each look, to be seen by a person; the test itself asks for quiet only.
func TestLooks(t *testing.T) {
	b := newBrowser(t)
	text := page(t, exporttest.Season(), export.Options{})
	for _, s := range []struct {
		name   string
		w, h   int
		scale  float64
		scheme string
	}{
		{"desktop-light", 1200, 860, 1, "light"}, {"desktop-dark", 1200, 860, 1, "dark"},
		{"phone-light", 390, 844, 2, "light"}, {"phone-dark", 390, 844, 2, "dark"},
	} {
		b.screen(s.w, s.h, s.scale, "prefers-color-scheme", s.scheme)
		url := b.open(text)
		b.shot(s.name)
		b.eval(nil, `document.querySelector('[data-layer=tracks]').click(); document.querySelector('[data-id=Z1]').click()`)
		b.rest()
		b.shot(s.name + "-card")
		quiet(t, b, url)
	}
}
