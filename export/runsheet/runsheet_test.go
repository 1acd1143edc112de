package runsheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"golang.org/x/net/html"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func written(t *testing.T, c spatial.Chart, r spatial.Run, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, c, r, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// empty is a day on which no zone will do.
func empty() (spatial.Chart, spatial.Run) {
	c, r := exporttest.Run()
	r.Stops, r.Legs, r.Others, r.Nearest = nil, nil, nil, nil
	r.Why = "every zone is left out"
	r.Leave, r.Home = time.Time{}, time.Time{}
	r.Expected, r.Bound = spatial.Spread{}, 0
	return c, r
}

// many is a run of n stops, each at one of the sample's zones.
func many(n int) (spatial.Chart, spatial.Run) {
	c, r := exporttest.Run()
	sample, legs, home := r.Stops, r.Legs, r.Legs[len(r.Legs)-1]
	r.Stops, r.Legs = nil, nil
	for i := range n {
		s := sample[i%len(sample)]
		s.Order = i + 1
		s.At[0] += 0.0011 * float64(i/len(sample))
		s.At[1] += 0.0004 * float64(i/len(sample))
		s.DriftEnd[0] += 0.0011 * float64(i/len(sample))
		s.DriftEnd[1] += 0.0004 * float64(i/len(sample))
		r.Stops = append(r.Stops, s)
		l := legs[i%3]
		l.From, l.To = i, i+1
		r.Legs = append(r.Legs, l)
	}
	home.From, home.To = n, n+1
	r.Legs = append(r.Legs, home)
	return c, r
}

// bare is a run over a chart that holds nothing, with nothing known that may be unknown.
func bare() (spatial.Chart, spatial.Run) {
	_, r := exporttest.Run()
	r.LevelM, r.Winds, r.Nearest, r.Others, r.Dropped, r.Remarks, r.Zone = ingest.Maybe{}, nil, nil, nil, nil, nil, nil
	r.Sunrise, r.Sunset, r.Back = time.Time{}, time.Time{}, time.Time{}
	r.TakeOut = exporttest.Origin
	for i, s := range r.Stops {
		r.Stops[i] = spatial.RunStop{Order: s.Order, Zone: s.Zone, At: s.At, DriftEnd: s.At, Arrive: s.Arrive, Leave: s.Leave, Head: spatial.HeadChoice{Missing: []string{"fish depth"}}}
	}
	return spatial.Chart{}, r
}

type variant struct {
	c spatial.Chart
	r spatial.Run
}

func variants() map[string]variant {
	out := map[string]variant{}
	add := func(name string) func(c spatial.Chart, r spatial.Run) {
		return func(c spatial.Chart, r spatial.Run) { out[name] = variant{c, r} }
	}
	add("three")(exporttest.Run())
	add("six")(many(6))
	add("twelve")(many(12))
	add("empty")(empty())
	add("bare")(bare())
	out["zero"] = variant{}
	return out
}

func TestGolden(t *testing.T) {
	c, r := exporttest.Run()
	exporttest.Golden(t, "run.html", written(t, c, r, export.Options{}))
	c, r = bare()
	exporttest.Golden(t, "bare.html", written(t, c, r, export.Options{Units: si.Metric, Title: "Spring"}))
	c, r = empty()
	exporttest.Golden(t, "empty.html", written(t, c, r, export.Options{}))
}

func TestSameBytes(t *testing.T) {
	for name, v := range variants() {
		if !bytes.Equal(written(t, v.c, v.r, export.Options{}), written(t, v.c, v.r, export.Options{})) {
			t.Errorf("%s: two writes differ", name)
		}
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

// text is all that a person reads of an element, each run of blanks as one.
func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode && d.Parent.Data != "title" && d.Parent.Data != "style" {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func pageText(t *testing.T, page []byte) string {
	for _, n := range nodes(t, page) {
		if n.Data == "body" {
			return text(n)
		}
	}
	t.Fatal("no body")
	return ""
}

// TestStructure: what a screen reader needs. Ids are unique, every label has its target,
// headings don't skip a level, the table's cells stand under as many heads (WCAG 2.2,
// success criteria 1.3.1, 2.4.2, 3.1.1).
func TestStructure(t *testing.T) {
	for name, v := range variants() {
		t.Run(name, func(t *testing.T) {
			all := nodes(t, written(t, v.c, v.r, export.Options{}))
			ids := map[string]bool{}
			for _, n := range all {
				if id := attr(n, "id"); id != "" {
					if ids[id] {
						t.Errorf("id %q twice", id)
					}
					ids[id] = true
				}
			}
			level, first := 0, 0
			for _, n := range all {
				if ref := attr(n, "aria-labelledby"); ref != "" && !ids[ref] {
					t.Errorf("%s is labelled by %q, which is not in the page", n.Data, ref)
				}
				if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
					if l := int(n.Data[1] - '0'); l > level+1 {
						t.Errorf("heading %s after level %d", n.Data, level)
					} else {
						level = l
					}
					if n.Data == "h1" {
						first++
					}
				}
				if n.Data == "html" && attr(n, "lang") != "en" {
					t.Error("no language")
				}
				if n.Data == "svg" && n.Parent.Data != "svg" && attr(n, "aria-hidden") == "" && attr(n, "aria-label") == "" {
					t.Error("a picture that says nothing to a screen reader")
				}
			}
			if first != 1 {
				t.Errorf("%d main headings", first)
			}
			columns := 0
			for _, n := range all {
				if n.Data == "thead" {
					columns = len(cells(n.FirstChild))
				}
			}
			for _, n := range all {
				if n.Data != "tr" || n.Parent.Data != "tbody" {
					continue
				}
				wide := 0
				for _, c := range cells(n) {
					span := 1
					fmt.Sscan(attr(c, "colspan"), &span)
					wide += span
				}
				if class := attr(n, "class"); class == "what" || class == "where" {
					wide++ // the first column spans down to it
				}
				if wide != columns {
					t.Errorf("row %q has %d columns, the head has %d", attr(n, "class"), wide, columns)
				}
			}
		})
	}
}

func cells(row *html.Node) []*html.Node {
	var out []*html.Node
	for c := range row.ChildNodes() {
		if c.Data == "td" || c.Data == "th" {
			out = append(out, c)
		}
	}
	return out
}

// TestWellFormed: every picture is well-formed XML as it stands (W3C, Extensible Markup
// Language 1.0, section 2.1), read by encoding/xml.
func TestWellFormed(t *testing.T) {
	for name, v := range variants() {
		page := written(t, v.c, v.r, export.Options{})
		pictures := 0
		for rest := page; ; pictures++ {
			start := bytes.Index(rest, []byte("<svg"))
			if start < 0 {
				break
			}
			d := xml.NewDecoder(bytes.NewReader(rest[start:]))
			for depth := 0; ; {
				token, err := d.Token()
				if err != nil {
					t.Fatalf("%s: picture %d: %v", name, pictures, err)
				}
				switch token.(type) {
				case xml.StartElement:
					depth++
				case xml.EndElement:
					depth--
				}
				if depth == 0 {
					break
				}
			}
			rest = rest[start+int(d.InputOffset()):]
		}
		if want := len(v.r.Stops); pictures < want {
			t.Errorf("%s: %d pictures, want one for each of %d stops", name, pictures, want)
		}
	}
}

var policy = regexp.MustCompile(`style-src 'sha256-([^']+)'`)

// TestPolicy: the style sheet is allowed by its hash as a browser computes it (Content
// Security Policy Level 3, section 6.7.2.4), and nothing else is.
func TestPolicy(t *testing.T) {
	for name, v := range variants() {
		var allowed, style string
		for _, n := range nodes(t, written(t, v.c, v.r, export.Options{})) {
			switch {
			case n.Data == "meta" && attr(n, "http-equiv") == "Content-Security-Policy":
				allowed = attr(n, "content")
			case n.Data == "style":
				style = n.FirstChild.Data
			}
			if attr(n, "style") != "" {
				t.Errorf("%s: %s has a style attribute, which the policy refuses", name, n.Data)
			}
		}
		if !strings.HasPrefix(allowed, "default-src 'none'; ") {
			t.Errorf("%s: policy %q", name, allowed)
		}
		sum := sha256.Sum256([]byte(style))
		if m := policy.FindStringSubmatch(allowed); m == nil || m[1] != base64.StdEncoding.EncodeToString(sum[:]) {
			t.Errorf("%s: policy %q doesn't allow the style sheet", name, allowed)
		}
	}
}

func TestNothingOutside(t *testing.T) {
	for name, v := range variants() {
		page := written(t, v.c, v.r, export.Options{})
		for _, s := range []string{"http:", "https:", "<script", "src=", "href=", "url(", "@import", "<link", "<img", "<iframe", "javascript:"} {
			if bytes.Contains(page, []byte(s)) {
				t.Errorf("%s has %s", name, s)
			}
		}
		if m := regexp.MustCompile(`<[^>]* on\w+=`).Find(page); m != nil {
			t.Errorf("%s has %s", name, m)
		}
	}
}

// TestHostileText puts markup into every text of a run and of its zones.
func TestHostileText(t *testing.T) {
	evil := `"'><script>alert(1)</script>{{.}}`
	c, r := exporttest.Run()
	each(reflect.ValueOf(&r), func(v reflect.Value) {
		if v.Kind() == reflect.String {
			v.SetString(evil)
		}
	})
	for i := range c.Zones {
		each(reflect.ValueOf(&c.Zones[i]), func(v reflect.Value) {
			if v.Kind() == reflect.String {
				v.SetString(evil)
			}
		})
	}
	page := written(t, c, r, export.Options{Title: evil})
	for _, n := range nodes(t, page) {
		if n.Data == "script" {
			t.Fatal("a script element")
		}
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("attribute %s", a.Key)
			}
		}
	}
	if !strings.Contains(pageText(t, page), evil) {
		t.Error("the text itself is gone")
	}
}

// each calls f on every field below v that can be set.
func each(v reflect.Value, f func(reflect.Value)) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() || v.Type() == reflect.TypeFor[*time.Location]() {
			return
		}
		if v.CanSet() { // a copy: the samples share what is behind some pointers
			own := reflect.New(v.Type().Elem())
			own.Elem().Set(v.Elem())
			v.Set(own)
		}
		each(v.Elem(), f)
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return
		}
		for i := range v.NumField() {
			each(v.Field(i), f)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			each(v.Index(i), f)
		}
	default:
		f(v)
	}
}

// TestNoNaN: a place or a direction that is no number shows nowhere, and the rest stays.
func TestNoNaN(t *testing.T) {
	nan := orb.Point{math.NaN(), math.Inf(1)}
	for name, spoil := range map[string]func(c *spatial.Chart, r *spatial.Run){
		"launch":   func(_ *spatial.Chart, r *spatial.Run) { r.Launch = nan },
		"take-out": func(_ *spatial.Chart, r *spatial.Run) { r.TakeOut = nan },
		"both":     func(_ *spatial.Chart, r *spatial.Run) { r.Launch, r.TakeOut = nan, nan },
		"stop":     func(_ *spatial.Chart, r *spatial.Run) { r.Stops[1].At = nan },
		"drift":    func(_ *spatial.Chart, r *spatial.Run) { r.Stops[1].DriftEnd = nan },
		"leg":      func(_ *spatial.Chart, r *spatial.Run) { r.Legs[0].Line[1] = nan },
		"shape":    func(c *spatial.Chart, _ *spatial.Run) { c.Zones[0].Shape[0][3], c.Areas[0].Shape[0][0][0] = nan, nan },
		"all": func(c *spatial.Chart, r *spatial.Run) {
			r.Launch, r.TakeOut = nan, nan
			for i := range r.Stops {
				r.Stops[i].At, r.Stops[i].DriftEnd = nan, nan
			}
			for i := range r.Legs {
				r.Legs[i].Line = orb.LineString{nan, nan}
			}
			for i := range c.Zones {
				c.Zones[i].Shape = nil
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			c, r := exporttest.Run()
			spoil(&c, &r)
			page := written(t, c, r, export.Options{})
			if m := regexp.MustCompile(`NaN|[+-]?Inf\b|-9223372036854775808`).Find(page); m != nil {
				t.Errorf("has %s", m)
			}
			if n := bytes.Count(page, []byte(`<tr class="what">`)); n != len(r.Stops) {
				t.Errorf("%d stops", n)
			}
		})
	}
}

// TestSheetSays: what each section says, and what stands there when there is nothing.
func TestSheetSays(t *testing.T) {
	all := variants()
	noZone := all["empty"]
	noZone.c, noZone.r.Dropped = spatial.Chart{}, nil
	silent := all["empty"]
	silent.r.Dropped = nil
	away := all["three"]
	away.r.TakeOut = exporttest.Origin
	named := variant{}
	named.c, named.r = exporttest.Run()
	named.c.Zones[1].Name = "East wall"
	named.r.Stops[0].DriftFrom = "season"
	for _, c := range []struct {
		name string
		v    variant
		opt  export.Options
		want []string
		not  []string
	}{
		{"sample", all["three"], export.Options{}, []string{
			"Saturday 1 June 2024", "Leave 05:00", "Home by 09:53 , latest 10:00", "rises 04:27, sets 18:53", "350.9 ft",
			"1 mph from WNW; 06:30 10 mph from NW", "8.4 events (3 to 15)", "Z3 not proven", "way not known", "0.1 mph", "toward SE",
			"0.5 mph, pass 8 min", "none in the box will do", "count 14 s", "stay to the end", "no bite by 36 min one by 58 min two by 76 min",
			"Centre 36 30.064 N 040 00.212 W", "Start 36 30.012 N 039 59.887 W", "36 29.946 N 039 59.975 W ; wind 10 mph from NW; fish as noted",
			"When the day turns out otherwise", "Left out", "Z6:", "How sure", "at the edge of what was learned", "Stop 1: 8 lb fluorocarbon for 1/8 oz",
			"Cautions", "Not for navigation",
		}, []string{"Take-out", "Z1: hump not proven", "There is no stop"}},
		{"metric", all["three"], export.Options{Units: si.Metric, Title: "Spring"}, []string{"Spring", "106.94 m", "0.24 m/s", "3.5 g"}, []string{" ft ", " yd"}},
		{"another take-out", away, export.Options{}, []string{"Launch 36 29.978 N 040 00.375 W", "Take-out 36 30.000 N 040 00.000 W"}, nil},
		{"named", named, export.Options{}, []string{"Z2: East wall", "; drift as in the season"}, []string{"fish at"}},
		{"no stop", all["empty"], export.Options{}, []string{
			"There is no stop to go to on this day: every zone is left out.", "Z4:", "Not for navigation", "at the edge of what was learned",
		}, []string{"Leave ", "Home", "Common practice", "Stop "}},
		{"no zone", noZone, export.Options{}, []string{"There is no stop to go to on this day: every zone", "The chart has no zone", "Not for navigation"}, nil},
		{"no reason", silent, export.Options{}, []string{"There is no stop to go to", "No zone of the chart was left out"}, nil},
		{"nothing known", all["bare"], export.Options{}, []string{
			"neither rises nor sets", "not known; depths as on the chart", "no forecast; drifts as in the season", "no fish depth", "bottom not known",
			"The bottom is not drawn", "No plan was worked out for another day", "The chart has no zone", "Z1 not proven",
		}, []string{", latest"}},
		{"zero", variant{}, export.Options{}, []string{"an unknown day", "There is no stop", "Not for navigation"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := pageText(t, written(t, c.v.c, c.v.r, c.opt))
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
			if t.Failed() {
				t.Log(page)
			}
		})
	}
}

// TestManyStops: each stop has its row, in order, and its disc.
func TestManyStops(t *testing.T) {
	for _, n := range []int{1, 3, 4, 6, 7, 12, 40} {
		c, r := many(n)
		var rows, discs []string
		class := ""
		for _, e := range nodes(t, written(t, c, r, export.Options{})) {
			switch {
			case e.Data == "tr" && attr(e, "class") == "title":
				rows = append(rows, strings.Fields(text(e))[0])
			case e.Data == "g" && attr(e, "class") == "stop":
				discs = append(discs, text(e))
			case e.Data == "body":
				class = attr(e, "class")
			}
		}
		var want []string
		for i := range n {
			want = append(want, fmt.Sprint(i+1))
		}
		if !slices.Equal(rows, want) || !slices.Equal(discs, want) {
			t.Errorf("%d stops: rows %v, discs %v", n, rows, discs)
		}
		if size := map[bool]string{true: "few"}[n <= 3] + map[bool]string{true: "some"}[n > 3 && n <= 6] + map[bool]string{true: "many"}[n > 6]; class != size {
			t.Errorf("%d stops: %s, want %s", n, class, size)
		}
	}
}

func TestWindWords(t *testing.T) {
	clock := func(h int) time.Time { return time.Date(2024, 6, 1, h, 0, 0, 0, time.UTC) }
	wind := func(hour int, mph float64) spatial.HourWind {
		w := spatial.HourWind{Wind: spatial.Wind{SpeedMPS: mph * si.MPHMPS, FromDeg: 270}}
		if hour > 0 {
			w.From = clock(hour)
		}
		return w
	}
	for _, c := range []struct {
		name  string
		winds []spatial.HourWind
		want  string
	}{
		{"none", nil, "no forecast; drifts as in the season"},
		{"all day", []spatial.HourWind{wind(0, 5)}, "5 mph from W"},
		{"from the start on", []spatial.HourWind{wind(6, 5)}, "5 mph from W"},
		{"later only", []spatial.HourWind{wind(8, 5)}, "08:00 5 mph from W"},
		{"over before", []spatial.HourWind{wind(4, 3), wind(5, 4), wind(7, 5)}, "4 mph from W; 07:00 5 mph from W"},
		{"takes over at the start", []spatial.HourWind{wind(0, 3), wind(6, 4)}, "4 mph from W"},
		{"after the end", []spatial.HourWind{wind(0, 3), wind(11, 4)}, "3 mph from W"},
		{"reads the same", []spatial.HourWind{wind(0, 3), wind(7, 3.02), wind(8, 4), wind(9, 3)}, "3 mph from W; 08:00 4 mph from W; 09:00 3 mph from W"},
	} {
		r := spatial.Run{Leave: clock(6), Home: clock(10), Stops: make([]spatial.RunStop, 1), Winds: c.winds}
		if got := windWords(r, si.US); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	c, r := exporttest.Run()
	if err := Write(full{}, c, r, export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
