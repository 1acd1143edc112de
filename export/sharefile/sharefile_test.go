package sharefile

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"html"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

func written(t *testing.T, f Format, c spatial.Chart, opt Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, f, c, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// text returns what a file says, unzipped and without the formats' escapes.
func text(t *testing.T, f Format, b []byte) string {
	t.Helper()
	if f == KMZ {
		b = unzipped(t, b)
	}
	return html.UnescapeString(html.UnescapeString(string(b))) // HTML inside XML
}

func unzipped(t *testing.T, b []byte) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.File) != 1 || z.File[0].Name != "doc.kml" || z.File[0].ModifiedDate != 0 || z.File[0].ModifiedTime != 0 || z.Comment != "" {
		t.Errorf("archive of %d files, the first %+v", len(z.File), z.File[0].FileHeader)
	}
	r, err := z.File[0].Open()
	if err != nil {
		t.Fatal(err)
	}
	out, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

var (
	plain   = Options{}
	coarse  = Options{CoarseM: ingest.Known(250)}
	all     = Options{Zones: []string{"Z3", "Z1", "Z2"}, Units: si.Metric}
	modes   = map[string]Options{"plain": plain, "coarse": coarse, "all": all}
	formats = []Format{GeoJSON, KML, KMZ, GPX}
)

func TestGolden(t *testing.T) {
	c := exporttest.Season().Chart
	for _, f := range []Format{GeoJSON, KML, GPX} {
		for name, opt := range modes {
			exporttest.Golden(t, name+string(f), written(t, f, c, opt))
		}
	}
	for name, opt := range modes {
		words, err := Words(c, opt)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for _, s := range words {
			b.WriteString(s.Heading + ":\n  " + strings.Join(s.Lines, "\n  ") + "\n")
		}
		exporttest.Golden(t, name+".txt", []byte(b.String()))
		if !bytes.Equal(unzipped(t, written(t, KMZ, c, opt)), written(t, KML, c, opt)) {
			t.Errorf("%s: the zipped document is another", name)
		}
	}
}

// TestNothingPrivate searches every file for every private text of the sample.
func TestNothingPrivate(t *testing.T) {
	in := exporttest.Season()
	c := in.Chart
	c.Zones[0].Name = "Grandfather's hole"
	c.Events[0].Species = "walleye"
	private := []string{
		"Grandfather", "walleye", "script", "alert", "bass", "Catch", "caught", "bite", "mark",
		"2024", "UTC", "107.4", "107.6", "fluorocarbon", "braid", "simulat", "seed", "proven", "events", "catches", "days", "effort", "rate", "p_value",
		"temp_c", "species", "sink_s", "line_out", "head_why", "chosen because", "u95", "shrunk", ".csv", ".gpx", "depths", "tracks", "level_m", "Z1", "Z2", "Z3", "D1", "B1",
	}
	for _, s := range in.Sources {
		private = append(private, s.Name, s.TakenFor)
		for _, col := range s.Columns {
			if len(col.Name) > 5 { // Time and date are words of their own
				private = append(private, col.Name)
			}
		}
	}
	for _, p := range in.Problems {
		if strings.ContainsAny(p.File, "/.") { // "may" is a word of its own
			private = append(private, p.File)
		}
		if len(p.Found) > 2 {
			private = append(private, p.Found)
		}
	}
	for _, e := range c.Events {
		private = append(private, e.Species)
		if !e.Time.IsZero() {
			private = append(private, e.Time.Format(time.RFC3339), e.Time.In(c.Zone).Format("15:04:05"))
		}
	}
	for _, r := range c.Remarks {
		private = append(private, r.Text)
	}
	for _, d := range c.Days {
		private = append(private, d.Date)
	}
	// What every file says to anyone, whoever made it.
	common := append(export.Cautions(si.US), export.Cautions(si.Metric)...)
	eventID := regexp.MustCompile(`\b[EZDBC]\d+\b`)
	for name, opt := range modes {
		for _, f := range formats {
			got := text(t, f, written(t, f, c, opt))
			for _, s := range common {
				got = strings.ReplaceAll(got, s, "")
			}
			got = formatWords.ReplaceAllString(got, "")
			for _, s := range private {
				if at := begins(strings.ToLower(got), strings.ToLower(s)); at >= 0 {
					t.Errorf("%s%s has %q", name, f, got[max(0, at-10):at+len(s)])
				}
			}
			if m := eventID.FindString(got); m != "" {
				t.Errorf("%s%s has the id %s", name, f, m)
			}
			if !opt.CoarseM.OK {
				continue
			}
			for _, s := range []string{"hump", "point", "structure", "break", "drift", "bottom"} {
				if strings.Contains(strings.ReplaceAll(got, "fish_bottom_m", ""), s) {
					t.Errorf("%s%s has %q", name, f, s)
				}
			}
		}
	}
}

// begins returns where in a text s stands at the beginning of a word or number; -1 for
// nowhere and for the empty s. "script" in "description" is no find, nor are the digits of
// a position.
func begins(text, s string) int {
	if s == "" {
		return -1
	}
	inWord := func(b byte) bool { return b >= 'a' && b <= 'z' && s[0] >= 'a' && s[0] <= 'z' }
	inNumber := func(b byte) bool { return (b == '.' || b >= '0' && b <= '9') && s[0] >= '0' && s[0] <= '9' }
	for from := 0; ; {
		i := strings.Index(text[from:], s)
		if i < 0 {
			return -1
		}
		i += from
		if i == 0 || !inWord(text[i-1]) && !inNumber(text[i-1]) {
			return i
		}
		from = i + 1
	}
}

func TestBegins(t *testing.T) {
	for _, c := range []struct {
		text, s string
		want    int
	}{
		{"a description", "script", -1}, {"<script>", "script", 1}, {"description script", "script", 12}, {"-40.2024", "2024", -1},
		{"12024", "2024", -1}, {"-2024", "2024", 1}, {"x_rate", "rate", 2}, {"a -- b", "--", 2}, {"abc", "", -1}, {"bass", "bass", 0},
	} {
		if got := begins(c.text, c.s); got != c.want {
			t.Errorf("%q in %q: %d, want %d", c.s, c.text, got, c.want)
		}
	}
}

// formatWords are words of the formats themselves.
var formatWords = regexp.MustCompile(`xmlns(:\w+)?="[^"]*"|xsi:schemaLocation="[^"]*"|</?trkpt`)

// TestPropertyNames holds the names that may be in a file, whatever a zone has.
func TestPropertyNames(t *testing.T) {
	for _, c := range []struct {
		opt  Options
		want string
	}{
		{plain, "kind id name fish_top_m fish_bottom_m bottom_m structure break_m break_toward_deg break_top_m break_bottom_m hour_from hour_to drift_mps drift_toward_deg head_oz head_g"},
		{coarse, "kind id name radius_m fish_top_m fish_bottom_m hour_from hour_to head_oz head_g"},
	} {
		features, err := Features(exporttest.Season().Chart, c.opt)
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range features {
			var names []string
			for _, p := range f.Properties {
				names = append(names, p.Name)
			}
			if got := strings.Join(names, " "); got != c.want {
				t.Errorf("%s has\n%s\nwant\n%s", f.ID, got, c.want)
			}
			if want := Letters(i); f.ID != want || !strings.HasPrefix(f.Name, want+": ") {
				t.Errorf("feature %d has id %q and name %q", i, f.ID, f.Name)
			}
		}
	}
}

// stripped is the chart with everything else made up anew: a file that is the same byte
// for byte tells nothing of it. Of the events the first day's stay.
func stripped(c spatial.Chart) spatial.Chart {
	first := c.Events[0].Time
	for _, e := range c.Events {
		if !e.Time.IsZero() && e.Time.Before(first) {
			first = e.Time
		}
	}
	out := spatial.Chart{LevelM: ingest.Known(3), Remarks: []spatial.Remark{{About: "x", Text: "y"}}}
	for _, e := range c.Events {
		if !e.Time.IsZero() && e.Time.Sub(first) <= firstPart {
			out.Events = append(out.Events, spatial.EventMark{ID: "other", Kind: ingest.Bait, Time: e.Time, At: e.At, Species: "pike", Count: 9})
		}
	}
	out.Events = append(out.Events, spatial.EventMark{At: orb.Point{1, 2}}, spatial.EventMark{Time: first.Add(1000 * time.Hour)})
	slices.Reverse(out.Events)
	for _, z := range c.Zones {
		out.Zones = append(out.Zones, spatial.Zone{
			ID: z.ID, Shape: z.Shape, Proven: z.Proven,
			FishTopM: z.FishTopM, FishBottomM: z.FishBottomM, BottomM: z.BottomM, Structure: z.Structure, Break: z.Break,
			HourFrom: z.HourFrom, HourTo: z.HourTo, DriftMPS: z.DriftMPS, DriftTowardDeg: z.DriftTowardDeg, Head: headOnly(z.Head),
			Name: "name", Centre: orb.Point{9, 9}, Events: 1234, Catches: 77, Days: 5, EffortH: ingest.Known(9), Rate: spatial.Rate{PerH: 9, OK: true},
			PValue: ingest.Known(0.5), TempC: ingest.Known(3), FishNoted: 44, DriftPasses: 99, Layer: "upper",
		})
	}
	return out
}

func headOnly(h spatial.HeadChoice) spatial.HeadChoice {
	t, ok := h.Chosen()
	if !ok {
		return spatial.HeadChoice{}
	}
	return spatial.HeadChoice{Picked: true, Trials: []spatial.HeadTrial{{Head: ingest.Head{MassKg: t.Head.MassKg}}}}
}

func TestTellsNothingElse(t *testing.T) {
	c := exporttest.Season().Chart
	other := stripped(c)
	for name, opt := range modes {
		for _, f := range formats {
			if !bytes.Equal(written(t, f, c, opt), written(t, f, other, opt)) {
				t.Errorf("%s%s depends on what it must not tell", name, f)
			}
		}
	}
	// Of a disc, bottom, structure, break and drift neither.
	for i := range other.Zones {
		z := &other.Zones[i]
		z.BottomM, z.Structure, z.Break, z.DriftMPS, z.DriftTowardDeg = ingest.Known(77), "reef", nil, ingest.Known(3), ingest.Known(1)
	}
	for _, f := range formats {
		if !bytes.Equal(written(t, f, c, coarse), written(t, f, other, coarse)) {
			t.Errorf("coarse%s depends on what a disc must not tell", f)
		}
	}
}

func TestPick(t *testing.T) {
	c := exporttest.Season().Chart
	for _, test := range []struct {
		name string
		ids  []string
		want string
		err  string
	}{
		{"proven ones", nil, "Z1 Z2", ""},
		{"by id", []string{"Z3"}, "Z3", ""},
		{"in the chart's order, once", []string{"Z3", "Z1", "Z3"}, "Z1 Z3", ""},
		{"unknown", []string{"Z1", "Z9"}, "", `no such zone as "Z9": there are Z1, Z2, Z3`},
		{"by letter case", []string{"z1"}, "", `no such zone as "z1": there are Z1, Z2, Z3`},
	} {
		zones, err := Pick(c, test.ids)
		var ids []string
		for _, z := range zones {
			ids = append(ids, z.ID)
		}
		if got := strings.Join(ids, " "); got != test.want || (err == nil) != (test.err == "") || err != nil && err.Error() != test.err {
			t.Errorf("%s: %s, %v; want %s, %s", test.name, got, err, test.want, test.err)
		}
	}
	if _, err := Pick(spatial.Chart{}, nil); !errors.Is(err, ErrNoneProven) {
		t.Errorf("no zones: %v", err)
	}
	if _, err := Pick(spatial.Chart{}, []string{"Z1"}); err == nil || err.Error() != `no such zone as "Z1": there is none` {
		t.Errorf("no zones: %v", err)
	}
}

func TestLetters(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		if got := Letters(i); got != want {
			t.Errorf("%d is %s, want %s", i, got, want)
		}
	}
}

func TestFormatOf(t *testing.T) {
	for name, want := range map[string]Format{"a.kml": KML, "b/c.KMZ": KMZ, "x.y.gpx": GPX, ".geojson": GeoJSON, "a.json": "", "kml": "", "a.kml/": "", "": ""} {
		if got, ok := FormatOf(name); ok != (want != "") || ok && got != want {
			t.Errorf("%q: %q, %v", name, got, ok)
		}
	}
	if err := Write(io.Discard, ".shp", exporttest.Season().Chart, plain); err == nil {
		t.Error("an unknown format was written")
	}
}

func TestNoOutline(t *testing.T) {
	c := exporttest.Season().Chart
	c.Zones[1].Shape = nil
	if _, err := Features(c, plain); err == nil || err.Error() != "zone Z2 has no outline" {
		t.Errorf("%v", err)
	}
}

// TestRFC7946: section 3.1.6 wants closed rings of four positions or more, the exterior
// counter-clockwise, and section 5 a box of west, south, east, north.
func TestRFC7946(t *testing.T) {
	for name, opt := range modes {
		b := written(t, GeoJSON, exporttest.Season().Chart, opt)
		var doc struct {
			Type     string
			BBox     []float64
			Features []struct {
				Type, ID string
				Geometry struct {
					Type        string
					Coordinates [][][]float64
				}
			}
		}
		if err := json.Unmarshal(b, &doc); err != nil {
			t.Fatal(err)
		}
		box := []float64{180, 90, -180, -90}
		for _, f := range doc.Features {
			if f.Type != "Feature" || f.Geometry.Type != "Polygon" || len(f.Geometry.Coordinates) != 1 {
				t.Fatalf("%s: %s is %s of %d rings", name, f.ID, f.Geometry.Type, len(f.Geometry.Coordinates))
			}
			r := f.Geometry.Coordinates[0]
			if len(r) < 4 || !slices.Equal(r[0], r[len(r)-1]) {
				t.Errorf("%s: the ring of %s is not closed", name, f.ID)
			}
			sum := 0.0
			for i, p := range r {
				box = []float64{min(box[0], p[0]), min(box[1], p[1]), max(box[2], p[0]), max(box[3], p[1])}
				if i > 0 {
					sum += (p[0] - r[i-1][0]) * (p[1] + r[i-1][1] - 2*r[0][1])
				}
			}
			if sum >= 0 {
				t.Errorf("%s: the ring of %s runs clockwise", name, f.ID)
			}
		}
		if doc.Type != "FeatureCollection" || !slices.Equal(doc.BBox, box) {
			t.Errorf("%s: %s, bbox %v, want %v", name, doc.Type, doc.BBox, box)
		}
		if m := regexp.MustCompile(`-?\d+\.\d{8,}`).Find(b); m != nil {
			t.Errorf("%s has %s", name, m)
		}
	}
}

// TestGPX: the schema of GPX 1.1 (gpx.xsd) wants metadata, wpt, rte, trk in this order, and
// in a wpt ele, time, …, name, cmt, desc, …, sym.
func TestGPX(t *testing.T) {
	for name, opt := range modes {
		d := xml.NewDecoder(bytes.NewReader(written(t, GPX, exporttest.Season().Chart, opt)))
		order := []string{"metadata", "wpt", "rte", "trk"}
		depth, last := 0, 0
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			switch tok := tok.(type) {
			case xml.StartElement:
				if depth++; depth == 2 {
					at := slices.Index(order, tok.Name.Local)
					if at < last {
						t.Errorf("%s: %s comes after %s", name, tok.Name.Local, order[last])
					}
					last = at
				}
				if tok.Name.Local == "time" {
					t.Errorf("%s: has a time", name)
				}
			case xml.EndElement:
				depth--
			}
		}
	}
}

// TestCautions: every file carries them.
func TestCautions(t *testing.T) {
	for name, opt := range modes {
		for _, f := range formats {
			got := text(t, f, written(t, f, exporttest.Season().Chart, opt))
			for _, s := range export.Cautions(opt.Units) {
				if !strings.Contains(got, s) {
					t.Errorf("%s%s lacks %q", name, f, s)
				}
			}
		}
	}
}

func TestTooSmall(t *testing.T) {
	c := exporttest.Season().Chart
	for _, u := range []si.System{si.US, si.Metric} {
		opt := Options{Units: u, CoarseM: ingest.Known(60)}
		_, err := Features(c, opt)
		var small TooSmall
		if !errors.As(err, &small) || small.ID != "Z1" {
			t.Fatalf("%v, want Z1, the larger of the two", err)
		}
		// The length it offers is enough, and is a length that the command line takes.
		words := err.Error()
		m := regexp.MustCompile(`zone Z1: it takes (\d+(ft|m)) at least`).FindStringSubmatch(words)
		if m == nil {
			t.Fatalf("%s", words)
		}
		offered, err := si.Length.Parse(m[1])
		if err != nil {
			t.Fatal(err)
		}
		opt.CoarseM = ingest.Known(offered)
		if _, err := Features(c, opt); err != nil {
			t.Errorf("%s is refused: %v", m[1], err)
		}
		opt.CoarseM = ingest.Known(small.LeastM - 0.01)
		if _, err := Features(c, opt); err == nil {
			t.Errorf("less than the least is taken")
		}
	}
}

type broken struct{}

var errFull = errors.New("no space left")

func (broken) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	for _, f := range formats {
		if err := Write(broken{}, f, exporttest.Season().Chart, plain); !errors.Is(err, errFull) {
			t.Errorf("%s: %v", f, err)
		}
	}
}

// A zone across 180° is cut there (RFC 7946 section 3.1.9), and the box runs from west to east over it (5.2).
func TestAcrossTheDateLine(t *testing.T) {
	frame := plane.New(orb.Point{180, 10})
	var ring orb.Ring
	for _, v := range []r2.Vec{{X: -100, Y: -50}, {X: 120, Y: -50}, {X: 120, Y: 60}, {X: -100, Y: 60}, {X: -100, Y: -50}} {
		ring = append(ring, frame.Degrees(v))
	}
	c := exporttest.Season().Chart
	c.Zones = c.Zones[:1]
	c.Zones[0].Shape, c.Zones[0].Centre = orb.Polygon{ring}, orb.Point{180, 10}
	for _, opt := range []Options{{}, {CoarseM: ingest.Known(800)}} {
		var text bytes.Buffer
		if err := Write(&text, GeoJSON, c, opt); err != nil {
			t.Fatal(err)
		}
		var doc struct {
			Bbox     [4]float64
			Features []struct {
				Geometry struct {
					Type        string
					Coordinates [][][][2]float64
				}
			}
		}
		if err := json.Unmarshal(text.Bytes(), &doc); err != nil {
			t.Fatal(err)
		}
		g := doc.Features[0].Geometry
		if g.Type != "MultiPolygon" || len(g.Coordinates) != 2 || doc.Bbox[0] <= doc.Bbox[2] {
			t.Errorf("%s of %d parts in %v", g.Type, len(g.Coordinates), doc.Bbox)
		}
		for _, part := range g.Coordinates {
			for i, p := range part[0] {
				if math.Abs(p[0]) > 180 || i > 0 && math.Abs(p[0]-part[0][i-1][0]) > 1 {
					t.Errorf("%v after %v", p, part[0][max(0, i-1)])
				}
			}
		}
		text.Reset()
		if err := Write(&text, KML, c, opt); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(text.String(), "<Polygon>"); n != 2 {
			t.Errorf("%d polygons in the KML, want 2", n)
		}
	}
}
