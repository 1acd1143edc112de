package backsheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func written(t *testing.T, b spatial.Backtest, opt export.Options) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, b, opt); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// weekly is the good sample, taken for weeks.
func weekly() spatial.Backtest {
	b := exporttest.Backtest()
	b.ByWeek = true
	for i := range b.Units {
		b.Units[i].To = b.Units[i].From[:8] + "30"
	}
	return b
}

func variants() map[string]spatial.Backtest {
	return map[string]spatial.Backtest{
		"good": exporttest.Backtest(), "tuned": exporttest.BacktestTuned(), "few": exporttest.BacktestFew(), "even": exporttest.BacktestNoBetter(),
		"worse": exporttest.BacktestWorse(), "none": exporttest.BacktestNone(), "week": weekly(), "zero": {},
	}
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "tuned.html", written(t, exporttest.BacktestTuned(), export.Options{Title: "Spring"}))
	exporttest.Golden(t, "worse.html", written(t, exporttest.BacktestWorse(), export.Options{Units: si.Metric}))
	exporttest.Golden(t, "few.html", written(t, exporttest.BacktestFew(), export.Options{}))
	exporttest.Golden(t, "none.html", written(t, exporttest.BacktestNone(), export.Options{}))
}

func TestSameBytes(t *testing.T) {
	for name, b := range variants() {
		if !bytes.Equal(written(t, b, export.Options{}), written(t, b, export.Options{})) {
			t.Errorf("%s: two writes differ", name)
		}
	}
}

// nodes parses as a browser does and returns every element.
func nodes(t *testing.T, page []byte) (out []*html.Node) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
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

// pageText is all that a person reads, each run of blanks as one.
func pageText(t *testing.T, page []byte) string {
	var b strings.Builder
	for _, n := range nodes(t, page) {
		if n.Data != "body" {
			continue
		}
		for d := range n.Descendants() {
			if d.Type == html.TextNode && d.Parent.Data != "title" && d.Parent.Data != "desc" && d.Parent.Data != "style" {
				b.WriteString(d.Data + " ")
			}
		}
	}
	return strings.Join(strings.Fields(strings.ReplaceAll(b.String(), "\u00a0", " ")), " ")
}

// TestStructure: what a screen reader needs. Ids are unique, every label has its target, headings
// don't skip a level, heads of tables say of what, each row has as many columns as the head,
// drawings have a name (WCAG 2.2, success criteria 1.1.1, 1.3.1, 2.4.2, 3.1.1).
func TestStructure(t *testing.T) {
	for name, b := range variants() {
		t.Run(name, func(t *testing.T) {
			all := nodes(t, written(t, b, export.Options{}))
			ids := map[string]bool{}
			for _, n := range all {
				if id := attr(n, "id"); id != "" {
					if ids[id] {
						t.Errorf("id %q twice", id)
					}
					ids[id] = true
				}
			}
			level, first, columns := 0, 0, 0
			for _, n := range all {
				for _, ref := range strings.Fields(attr(n, "aria-labelledby")) {
					if !ids[ref] {
						t.Errorf("%s is labelled by %q, which is not in the page", n.Data, ref)
					}
				}
				if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
					l := int(n.Data[1] - '0')
					if l > level+1 {
						t.Errorf("heading %s after level %d", n.Data, level)
					}
					if level = l; l == 1 {
						first++
					}
				}
				switch n.Data {
				case "html":
					if attr(n, "lang") != "en" {
						t.Error("no language")
					}
				case "svg":
					if attr(n, "aria-hidden") == "" && (attr(n, "role") != "img" || attr(n, "aria-labelledby") == "") {
						t.Error("a drawing that says nothing to a screen reader")
					}
				case "th":
					if attr(n, "scope") == "" {
						t.Errorf("a head without scope: %v", n.FirstChild)
					}
				case "tr":
					wide := 0
					for c := range n.ChildNodes() {
						if c.Data != "td" && c.Data != "th" {
							continue
						}
						wide++
						if span := attr(c, "colspan"); span != "" {
							wide += int(span[0]-'0') - 1
						}
					}
					if n.Parent.Data == "thead" {
						columns = wide
					} else if wide != columns {
						t.Errorf("a row of %d columns under %d", wide, columns)
					}
				}
			}
			if first != 1 {
				t.Errorf("%d main headings", first)
			}
		})
	}
}

// TestWellFormed: every drawing is well-formed XML as it stands (W3C, Extensible Markup
// Language 1.0, section 2.1), read by encoding/xml.
func TestWellFormed(t *testing.T) {
	pictures := 0
	for name, b := range variants() {
		for rest := written(t, b, export.Options{}); ; pictures++ {
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
	}
	if pictures < 20 {
		t.Errorf("%d pictures", pictures)
	}
}

var policy = regexp.MustCompile(`style-src 'sha256-([^']+)'`)

// TestPolicy: the style sheet is allowed by its hash as a browser computes it (Content
// Security Policy Level 3, section 6.7.2.4), and nothing else is.
func TestPolicy(t *testing.T) {
	for name, b := range variants() {
		var allowed, style string
		for _, n := range nodes(t, written(t, b, export.Options{})) {
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
	for name, b := range variants() {
		page := written(t, b, export.Options{})
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

// fields calls f on every field below v that can be set.
func fields(v reflect.Value, f func(reflect.Value)) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			fields(v.Elem(), f)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			fields(v.Field(i), f)
		}
	case reflect.Slice:
		for i := range v.Len() {
			fields(v.Index(i), f)
		}
	default:
		f(v)
	}
}

// TestHostileText puts markup into every text of a backtest.
func TestHostileText(t *testing.T) {
	evil := `"'><script>alert(1)</script>{{.}}`
	for name, b := range variants() {
		fields(reflect.ValueOf(&b), func(v reflect.Value) {
			if v.Kind() == reflect.String {
				v.SetString(evil)
			}
		})
		page := written(t, b, export.Options{Title: evil})
		for _, n := range nodes(t, page) {
			if n.Data == "script" {
				t.Fatalf("%s: a script element", name)
			}
			for _, a := range n.Attr {
				if strings.HasPrefix(a.Key, "on") {
					t.Errorf("%s: attribute %s", name, a.Key)
				}
			}
		}
		if !strings.Contains(pageText(t, page), evil) {
			t.Errorf("%s: the text itself is gone", name)
		}
	}
}

// TestNoNaN: a figure that is no number shows nowhere, and the page stays.
func TestNoNaN(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1} {
		for name, b := range variants() {
			fields(reflect.ValueOf(&b), func(v reflect.Value) {
				if v.Kind() == reflect.Float64 {
					v.SetFloat(bad)
				}
			})
			page := written(t, b, export.Options{})
			if m := regexp.MustCompile(`NaN|[+-]?Inf\b|-9223372036854775808`).Find(page); m != nil {
				t.Errorf("%s of %g has %s", name, bad, m)
			}
			if !strings.Contains(pageText(t, page), "Not for navigation") {
				t.Errorf("%s of %g: no cautions", name, bad)
			}
		}
	}
}

// TestPageSays: what each section says, and what stands there when there is nothing.
func TestPageSays(t *testing.T) {
	all := variants()
	for _, c := range []struct {
		name      string
		b         spatial.Backtest
		opt       export.Options
		want, not []string
	}{
		{"good", all["good"], export.Options{Title: "Spring"}, []string{
			"Spring: Backtest", "Better than fishing anywhere", "gave 2.0 times as many events", "(95 % interval 1.6 to 2.4)", "18 days are enough", "2 catches or marks carry no time",
			"lift (log scale)", "days in the logbook when it was foretold", "no better than fishing anywhere", "no interval, so nothing is claimed",
			"6 to 10 days 5 days 1.4 0.75 to 2.8", "none: only 3 of at least 5 days tell of it", "From earlier days From all other days",
			"2031-04-26 4.7 h 4 no fishing before it to learn from", "2031-05-10 0.0 h 2 3 1 0 % – 0.4 % 0.0 0", "2031-06-17 6.4 h 19 11 4 53 % 21 % 1.7 % 3.5 9",
			"Nothing was tuned", "left out in turn", "Not for navigation", "not spread at random",
		}, []string{"beyond the scale", "Likelier: per event", "Too few"}},
		{"tuned", all["tuned"], export.Options{Units: si.Metric}, []string{"36.6 m 4 1.19 9 days next", "36.6 m 3 1.19 9 days usual", "Likelier: per event"}, []string{" ft "}},
		{"worse", all["worse"], export.Options{}, []string{"Worse than fishing anywhere", "beyond the scale"}, nil},
		{"even", all["even"], export.Options{}, []string{"May be chance", "the interval holds 1"}, []string{"enough to"}},
		{"few", all["few"], export.Options{}, []string{
			"Too few days", "Nothing can be said yet", "There is nothing to draw yet: five days", "Too few visits yet to tell: only 2 of at least 5 days tell of it.",
			"2.1 no interval 1", "1 only 2 of at least 5 days tell of it",
		}, []string{"lift (log scale)", "share of visits", "times as", "times ("}},
		{"none", all["none"], export.Options{}, []string{"no day was foretold", "No visit to a zone was promised anything yet.", "2031-04-26"}, []string{"All figures", "times as", "times ("}},
		{"week", all["week"], export.Options{}, []string{"in the same week", "From all other weeks", "The weeks left out", "2031-06-17 to 2031-06-30", "Each week is left out"}, []string{"on the same day"}},
		{"zero", all["zero"], export.Options{}, []string{"no day was foretold", "There is none.", "Not for navigation"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := pageText(t, written(t, c.b, c.opt))
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

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	if err := Write(full{}, exporttest.Backtest(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
