package points

import (
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// collection makes a FeatureCollection, a feature a line, the first on line 2.
func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + "\n" + strings.Join(features, ",\n") + "\n]}\n"
}

// at is a feature at 36.5 N, 40.25 W with the given properties.
func at(properties string) string {
	return `{"type":"Feature","geometry":{"type":"Point","coordinates":[-40.25,36.5,7]},"properties":{` + properties + `}}`
}

// document makes a KML document of elements, which begin on line 2.
func document(inside string) string {
	return `<kml xmlns="http://www.opengis.net/kml/2.2"><Document>` + "\n" + inside + "\n</Document></kml>\n"
}

func mark(inside string) string {
	return `<Placemark>` + inside + `<Point><coordinates>-40.25,36.5,7</coordinates></Point></Placemark>`
}

func read(t *testing.T, text string, opt ingest.ReadOptions) ingest.Records {
	t.Helper()
	r, err := Read(strings.NewReader(text), "t", opt)
	if err != nil {
		t.Fatal(err)
	}
	balance(t, r)
	return r
}

func balance(t *testing.T, r ingest.Records) {
	t.Helper()
	if s := r.Source; s.RowsRead != s.Used+s.Repaired+s.SetAside || len(r.Events) != s.Used+s.Repaired {
		t.Errorf("%d rows read, but %d used, %d repaired, %d set aside, %d events", s.RowsRead, s.Used, s.Repaired, s.SetAside, len(r.Events))
	}
}

func problems(r ingest.Records) string {
	var b strings.Builder
	for _, p := range r.Problems {
		b.WriteString(p.Error() + "\n")
	}
	return b.String()
}

func utc(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		panic(err)
	}
	return t.UTC()
}

// RFC 7946 section 3.1.1 and OGC KML 2.2 section 16.10 (from memory) both put the
// longitude first. Weights and lengths by 1 in = 0.0254 m, 1 oz = 28.349523125 g.
func TestBothFormats(t *testing.T) {
	for name, text := range map[string]string{
		"GeoJSON": collection(at(`"Kind":"Bite","name":"bite 7","time":"2031-10-04T09:30:00+02:00","species":"invented bass","count":2,"note":"by the rock",
			"length_in":20,"Weight (lb)":"4.5","head-oz":0.5,"trailer_in":4,"depth_ft":10,"colour":"red","tags":["a"]`)),
		"KML": document(mark(`<name>bite 7</name><description>by the rock</description><TimeStamp><when>2031-10-04T07:30:00Z</when></TimeStamp>
			<ExtendedData><Data name="species"><displayName>x</displayName><value>invented bass</value></Data><SchemaData schemaUrl="#s"><SimpleData name="count">2</SimpleData></SchemaData>
			<Data name="length_in"><value>20</value></Data><Data name="Weight (lb)"><value>4.5</value></Data><Data name="head-oz"><value>0.5</value></Data>
			<Data name="trailer_in"><value>4</value></Data><Data name="depth_ft"><value>10</value></Data><Data name="colour"><value>red</value></Data></ExtendedData>`)),
	} {
		t.Run(name, func(t *testing.T) {
			r := read(t, text, ingest.ReadOptions{})
			e := r.Events[0]
			for what, x := range map[string]struct {
				got  ingest.Maybe
				want float64
			}{
				"length": {e.LengthM, 0.508}, "weight": {e.WeightKg, 4.5 * 16 * 0.028349523125}, "head": {e.HeadKg, 0.0141747615625},
				"trailer": {e.TrailerM, 0.1016}, "depth": {e.FishM, 3.048},
			} {
				if !x.got.OK || math.Abs(x.got.V-x.want) > 1e-12 {
					t.Errorf("%s %+v, want %v", what, x.got, x.want)
				}
			}
			e.LengthM, e.WeightKg, e.HeadKg, e.TrailerM, e.FishM = ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}
			want := ingest.Event{Time: utc("2031-10-04T07:30:00Z"), Pos: orb.Point{-40.25, 36.5}, HasPos: true, Kind: ingest.Bite, Species: "invented bass", Count: 2,
				Note: "bite 7; by the rock", Line: 2}
			if e != want {
				t.Errorf("%+v", e)
			}
			if len(r.Problems) != 0 || r.Source.TakenFor != name+" points" || r.Source.Used != 1 {
				t.Errorf("%+v %s", r.Source, problems(r))
			}
			if !slices.Contains(r.Source.Columns, ingest.Column{Name: "depth_ft", ReadAs: "fish depth", Unit: "ft"}) || !slices.Contains(r.Source.Columns, ingest.Column{Name: "colour"}) {
				t.Errorf("%+v", r.Source.Columns)
			}
		})
	}
}

func TestKinds(t *testing.T) {
	for _, c := range []struct {
		properties string
		kind       ingest.EventKind
		note       string
		doubt      bool
	}{
		{`"kind":"mark"`, ingest.Mark, "", false},
		{`"kind":"event","event":"bait"`, ingest.Bait, "", false},
		{`"type":" BITE ","name":"mark 3"`, ingest.Bite, "mark 3", false},
		{`"name":"Mark"`, ingest.Mark, "", false},
		{`"name":"bait ball","desc":"big"`, ingest.Bait, "bait ball; big", false},
		{`"name":"bite3"`, ingest.Bite, "bite3", false},
		{`"name":"by the dock"`, ingest.Catch, "by the dock", true},
		{`"kind":"snag"`, ingest.Catch, "", true},
		{`"name":"catch","kind":"catch"`, ingest.Catch, "", false},
		{``, ingest.Catch, "", true},
	} {
		r := read(t, collection(at(c.properties), at(c.properties)), ingest.ReadOptions{})
		if e := r.Events[1]; e.Kind != c.kind || e.Note != c.note {
			t.Errorf("%s: %v %q", c.properties, e.Kind, e.Note)
		}
		if said := problems(r); c.doubt != strings.Contains(said, "2 points without one taken for catches") || !c.doubt && said != "" {
			t.Errorf("%s: %s", c.properties, said)
		}
	}
}

func TestTimes(t *testing.T) {
	york, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	zone := ingest.ReadOptions{Zone: york}
	for _, c := range []struct {
		properties string
		opt        ingest.ReadOptions
		want       string // empty: not known
		says       string
	}{
		{`"time":"2031-10-04T09:30:00Z"`, zone, "2031-10-04T09:30:00Z", ""},
		{`"when":"2031-10-04 09:30:00.25z"`, zone, "2031-10-04T09:30:00.25Z", ""},
		{`"timestamp":1949049000`, zone, "2031-10-06T10:30:00Z", ""},
		{`"timestamp":"1949049000500"`, zone, "2031-10-06T10:30:00.5Z", ""},
		{`"time":"2031-10-04T09:30:00"`, zone, "2031-10-04T13:30:00Z", ""},
		{`"time":"2031-10-04T09:30:00"`, ingest.ReadOptions{}, "", "--tz"},
		{`"time":"2030-11-03T01:30:00"`, zone, "2030-11-03T05:30:00Z", "1 such time"},
		{`"time":"09:30:00","date":"2031-10-04"`, zone, "2031-10-04T13:30:00Z", ""},
		{`"date":"2031-10-04T09:30Z"`, zone, "2031-10-04T09:30:00Z", ""},
		{`"time":"2031-10-04T09:30Z","date":"2031-10-05"`, zone, "2031-10-04T09:30:00Z", ""},
		{`"date":"2031-10-04"`, zone, "", "one day alone is none"},
		{`"time":"1970-01-01T00:00:00Z"`, zone, "", "1980 to 2100"},
		{`"time":"noon"`, zone, "", "is not a time"},
		{`"time":12`, zone, "", "is not a time"},
		{`"time":null`, zone, "", ""},
		{`"time":""`, zone, "", ""},
		{`"time":"2031-10-04T09:30:00Z"`, ingest.ReadOptions{ClockOffset: -time.Hour}, "2031-10-04T08:30:00Z", ""},
	} {
		r := read(t, collection(at(`"kind":"mark",`+c.properties)), c.opt)
		if got := r.Events[0].Time; c.want == "" && !got.IsZero() || c.want != "" && !got.Equal(utc(c.want)) {
			t.Errorf("%s: %v, want %q", c.properties, got, c.want)
		}
		if said := problems(r); (c.says == "") != (said == "") || !strings.Contains(said, c.says) {
			t.Errorf("%s: %s", c.properties, said)
		}
		if zoned := strings.HasSuffix(c.want, "13:30:00Z") || strings.HasSuffix(c.want, "05:30:00Z"); zoned != (r.Source.Zone == "America/New_York") {
			t.Errorf("%s: zone %q", c.properties, r.Source.Zone)
		}
	}
}

func TestPositions(t *testing.T) {
	geometry := func(g string) string { return `{"type":"Feature","geometry":` + g + `,"properties":{"kind":"mark"}}` }
	point := func(c string) string { return geometry(`{"type":"Point","coordinates":` + c + `}`) }
	placemark := func(g string) string { return document("<Placemark><name>mark</name>" + g + "</Placemark>") }
	for _, c := range []struct {
		name, text string
		kind       error // nil: used
	}{
		{"two numbers", collection(point("[-40.25,36.5]")), nil},
		{"four numbers", collection(point("[-40.25,36.5,1,2]")), nil},
		{"latitude first", collection(point("[36.5,-140.25]")), ingest.ErrRange},
		{"longitude 200", collection(point("[200,36.5]")), ingest.ErrRange},
		{"one number", collection(point("[36.5]")), ingest.ErrPosition},
		{"null", collection(point("[null,36.5]")), ingest.ErrPosition},
		{"text", collection(point(`["-40.25","36.5"]`)), ingest.ErrPosition},
		{"no coordinates", collection(geometry(`{"type":"Point"}`)), ingest.ErrPosition},
		{"0, 0", collection(point("[0,0]")), ingest.ErrPosition},
		{"line", collection(geometry(`{"type":"LineString","coordinates":[[-40.25,36.5],[-40,36]]}`)), ingest.ErrWord},
		{"polygon", collection(geometry(`{"type":"Polygon","coordinates":[]}`)), ingest.ErrWord},
		{"points", collection(geometry(`{"type":"MultiPoint","coordinates":[[-40.25,36.5]]}`)), ingest.ErrWord},
		{"no geometry", collection(geometry("null")), ingest.ErrMissing},
		{"a number", collection("7"), ingest.ErrShape},
		{"null", collection("null"), ingest.ErrMissing},
		{"a Point among features", collection(`{"type":"Point","coordinates":[-40.25,36.5]}`), ingest.ErrWord},
		{"KML", placemark("<Point><coordinates> -40.25 , 36.5 </coordinates></Point>"), nil},
		{"KML line behind it", placemark("<Point><coordinates>-40.25,36.5</coordinates></Point><LineString><coordinates>1,1 2,2</coordinates></LineString>"), nil},
		{"KML line", placemark("<LineString><coordinates>-40.25,36.5 -40,36</coordinates></LineString>"), ingest.ErrWord},
		{"KML geometries", placemark("<MultiGeometry><Point><coordinates>-40.25,36.5</coordinates></Point></MultiGeometry>"), ingest.ErrWord},
		{"KML two places", placemark("<Point><coordinates>-40.25,36.5 -40,36</coordinates></Point>"), ingest.ErrPosition},
		{"KML one number", placemark("<Point><coordinates>36.5</coordinates></Point>"), ingest.ErrPosition},
		{"KML no coordinates", placemark("<Point/>"), ingest.ErrMissing},
		{"KML beyond the pole", placemark("<Point><coordinates>36.5,-140.25</coordinates></Point>"), ingest.ErrRange},
		{"KML NaN", placemark("<Point><coordinates>NaN,36.5</coordinates></Point>"), ingest.ErrPosition},
		{"KML nothing", placemark(""), ingest.ErrMissing},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			if c.kind == nil {
				if len(r.Problems) != 0 || r.Events[0].Pos != (orb.Point{-40.25, 36.5}) {
					t.Errorf("%+v %s", r.Events, problems(r))
				}
				return
			}
			if r.Source.SetAside != 1 || len(r.Problems) != 1 || !errors.Is(r.Problems[0], c.kind) || r.Problems[0].Outcome != ingest.SetAside || r.Problems[0].Line != 2 {
				t.Errorf("%+v %s", r.Source, problems(r))
			}
		})
	}
	// A time places what has no position.
	for _, text := range []string{
		collection(`{"type":"Feature","geometry":null,"properties":{"kind":"mark","time":"2031-10-04T09:30:00Z"}}`),
		document(`<Placemark><name>mark</name><TimeStamp><when>2031-10-04T09:30:00Z</when></TimeStamp></Placemark>`),
	} {
		if r := read(t, text, ingest.ReadOptions{}); len(r.Events) != 1 || r.Events[0].HasPos || len(r.Problems) != 0 {
			t.Errorf("%+v %s", r.Events, problems(r))
		}
	}
	r := read(t, collection(`{"type":"Feature","geometry":{"type":"Point","coordinates":[0,0]},"properties":{"kind":"mark","time":"2031-10-04T09:30:00Z"}}`), ingest.ReadOptions{})
	if r.Source.Repaired != 1 || r.Events[0].HasPos {
		t.Errorf("%+v", r)
	}
}

func TestValues(t *testing.T) {
	for _, c := range []struct {
		properties string
		opt        ingest.ReadOptions
		check      func(e ingest.Event) bool
		says       string
	}{
		{`"depth":3`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, "1 depth without one not used"},
		{`"depth":10`, ingest.ReadOptions{DepthUnit: "ft"}, func(e ingest.Event) bool { return math.Abs(e.FishM.V-3.048) < 1e-12 }, ""},
		{`"fish_m":3`, ingest.ReadOptions{}, func(e ingest.Event) bool { return e.FishM == ingest.Known(3) }, ""},
		{`"fish":"blue"`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, ""},
		{`"depth_m":-3`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, "out of range"},
		{`"depth_m":"deep"`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, "a number in m"},
		{`"depth_m":null`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, ""},
		{`"depth_furlong":3`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.FishM.OK }, ""},
		{`"length":3`, ingest.ReadOptions{}, func(e ingest.Event) bool { return !e.LengthM.OK }, ""},
		{`"count":1.5`, ingest.ReadOptions{}, func(e ingest.Event) bool { return e.Count == 1 }, "taken as one fish"},
		{`"count":1e999`, ingest.ReadOptions{}, func(e ingest.Event) bool { return e.Count == 1 }, "taken as one fish"},
	} {
		r := read(t, collection(at(`"kind":"catch",`+c.properties)), c.opt)
		if !c.check(r.Events[0]) || (c.says == "") != (len(r.Problems) == 0) || !strings.Contains(problems(r), c.says) {
			t.Errorf("%s: %+v %s", c.properties, r.Events[0], problems(r))
		}
	}
	if r := read(t, collection(at(`"count":0`)), ingest.ReadOptions{}); r.Source.SetAside != 1 {
		t.Error(problems(r))
	}
	if r := read(t, collection(`{"type":"Feature","geometry":{"type":"Point","coordinates":[-40.25,36.5]},"properties":[1]}`), ingest.ReadOptions{}); r.Source.Repaired != 1 || !errors.Is(r.Problems[0], ingest.ErrShape) {
		t.Error(problems(r))
	}
}

func TestRoots(t *testing.T) {
	for _, text := range []string{
		at(`"kind":"mark"`),
		`{"type":"Point","coordinates":[-40.25,36.5]}`,
		"\ufeff \n" + collection(at("")),
		`{"features":[` + at("") + `],"type":"FeatureCollection"}`,
		`{"name":"x","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},"type":"FeatureCollection","features":[` + at("") + `]}`,
		`<kml xmlns="urn:other">` + mark("") + `</kml>`,
		`<?xml version="1.0" encoding="ISO-8859-1"?><!-- c --><k:kml xmlns:k="http://www.opengis.net/kml/2.2"><k:Folder><k:Folder><k:Placemark><k:name>caf` + "\xe9" + `</k:name><k:Point><k:coordinates>-40.25,36.5</k:coordinates></k:Point></k:Placemark></k:Folder></k:Folder></k:kml>`,
		"\ufeff<kml>" + mark("<name>rock & weed</name>") + "</kml>",
	} {
		r := read(t, text, ingest.ReadOptions{})
		if len(r.Events) != 1 || r.Events[0].Pos != (orb.Point{-40.25, 36.5}) || !Recognise([]byte(text)) {
			t.Errorf("%s: %+v", text, r)
		}
		for want, part := range map[string]string{"café": "caf", "rock & weed": "rock"} {
			if strings.Contains(text, part) && r.Events[0].Note != want {
				t.Errorf("note %q, want %q", r.Events[0].Note, want)
			}
		}
	}
}

func TestBreaks(t *testing.T) {
	good := collection(at(""), at(""), at(""))
	third := strings.LastIndex(good, `{"type":"Feature"`)
	for _, c := range []struct {
		name, text string
		line       int
	}{
		{"JSON ends", good[:third+20], 4},
		{"JSON comma", good[:third] + "},\n]}", 4},
		{"JSON ends between", good[:third], 4},
		{"KML ends", document(mark("") + "\n" + mark(""))[:200], 3},
		{"KML ends between", strings.TrimSuffix(document(mark("")+"\n"+mark("")), "\n</Document></kml>\n"), 3},
		{"KML deep", document(mark("") + "\n" + mark("") + "\n" + strings.Repeat("<Folder>", 100)), 4},
		{"KML deep inside", document(mark("") + "\n" + mark("") + "\n<Placemark>" + strings.Repeat("<a>", 100)), 4},
		{"KML long in pieces", document(mark("") + "\n" + mark("") + "\n<Placemark>" + strings.Repeat("<a>abcdefgh</a>", 3<<20/8) + "</Placemark>"), 4},
		{"KML long", document(mark("") + "\n" + mark("") + "\n<Placemark><name>" + strings.Repeat("a", 3<<20) + "</name>"), 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			last := r.Problems[0]
			for _, p := range r.Problems {
				if errors.Is(p, ingest.ErrTruncated) {
					last = p
				}
			}
			if r.Source.SetAside != 1 || r.Source.Used < 1 || last.Line != c.line || !errors.Is(last, ingest.ErrTruncated) {
				t.Errorf("%+v %s", r.Source, problems(r))
			}
		})
	}
}

func TestRefused(t *testing.T) {
	for text, says := range map[string]string{
		"":                             "EOF",
		"{":                            "breaks off before its first point",
		"{}":                           "none of GeoJSON's",
		"hi":                           "holds no point",
		"<a>":                          "wanted <kml>",
		`{"type":"FeatureCollection"}`: "without features",
		`{"type":"FeatureCollection","features":{}}`: "not a list",
		collection():                "holds no point",
		document("<name>x</name>"):  "holds no point",
		`{"type":"Topology","a":1}`: "none of GeoJSON's",
		"<kml><Placemark>":          "breaks off before its first point",
		`{"type":"FeatureCollection","features":[` + at("") + `],"crs":{"type":"name","properties":{"name":"EPSG:3857"}}}`: "another frame",
		`{"a":"` + strings.Repeat("a", 17<<20) + `"}`: "longer than 16 MiB",
	} {
		_, err := Read(strings.NewReader(text), "t", ingest.ReadOptions{})
		if err == nil || !strings.Contains(err.Error(), says) && says != "EOF" || !strings.HasPrefix(err.Error(), "t:") {
			t.Errorf("%s: %v", clip(text), err)
		}
	}
	bad := errors.New("disk gone")
	for _, text := range []string{"", collection(at(""))[:60], strings.Repeat(" ", headBytes-1) + collection(at(""))[:60], document(mark(""))[:100], document(mark("") + strings.Repeat(" ", headBytes))} {
		if _, err := Read(io.MultiReader(strings.NewReader(text), iotest.ErrReader(bad)), "t", ingest.ReadOptions{}); !errors.Is(err, bad) {
			t.Errorf("%s: %v", clip(text), err)
		}
	}
}

func TestRecognise(t *testing.T) {
	long := collection(slices.Repeat([]string{at("")}, 500)...)
	for _, s := range []string{long[:headBytes], `{"name":"a","type":"Feature"`, `{"features":[`, "<?xml version='1.0'?>\n<kml"} {
		want := !strings.HasSuffix(s, "<kml")
		if Recognise([]byte(s)) != want {
			t.Errorf("%q: %v", clip(s), !want)
		}
	}
	for _, s := range []string{"", "[", "{", `{"type":"Topology"}`, `{"type":7}`, `{"features":{}}`, "<gpx/>", "kml", "time,lat", "\xFF\xD8\xFF", "$GPRMC,"} {
		if Recognise([]byte(s)) {
			t.Errorf("%q is recognised", s)
		}
	}
}

func TestManyProblems(t *testing.T) {
	const n = mostProblems + 500
	text := collection(slices.Repeat([]string{at(`"kind":"mark","time":"noon"`)}, n)...)
	r := read(t, text, ingest.ReadOptions{})
	if r.Source.Repaired != n || len(r.Problems) != mostProblems+1 || !strings.Contains(problems(r), "499 more problems from here on") {
		t.Errorf("%+v, %d problems", r.Source, len(r.Problems))
	}
	if last := r.Problems[mostProblems-1]; last.Line != mostProblems+1 {
		t.Error("line", last.Line)
	}
}

// What stands between features, and in what order properties come, changes nothing
// but the lines.
func TestBlanksAndOrderChangeNothing(t *testing.T) {
	a := collection(at(`"kind":"mark","time":"2031-10-04T09:30:00Z","note":"n"`), at(`"name":"bite 1"`))
	want := read(t, a, ingest.ReadOptions{})
	for _, b := range []string{
		strings.ReplaceAll(a, "\n", ""),
		strings.ReplaceAll(a, ",", " ,\r\n\t"),
		strings.ReplaceAll(a, `"kind":"mark","time":"2031-10-04T09:30:00Z","note":"n"`, `"note":"n","time":"2031-10-04T09:30:00Z","kind":"mark"`),
	} {
		got := read(t, b, ingest.ReadOptions{})
		for i := range got.Events {
			got.Events[i].Line = want.Events[i].Line
		}
		if !reflect.DeepEqual(got.Events, want.Events) {
			t.Errorf("%s: %+v", b, got.Events)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(collection(at(`"kind":"mark","time":"2031-10-04T09:30:00","depth_ft":3,"count":2`), `{"geometry":null}`))
	f.Add(at(`"name":"catch 1"`))
	f.Add(document(mark(`<name>a & b</name><TimeStamp><when>2031-10-04</when></TimeStamp><ExtendedData><Data name="depth"><value>3</value></Data></ExtendedData>`)))
	f.Add(document(`<Folder><Placemark><LineString/></Placemark></Folder>`))
	f.Add(`{"type":"Point","coordinates":[1,2],"crs":null}`)
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Read(strings.NewReader(text), "f", ingest.ReadOptions{Zone: time.UTC})
		if err != nil {
			return
		}
		balance(t, r)
		for _, e := range r.Events {
			if e.Time.IsZero() && !e.HasPos || e.Count < 1 || !(math.Abs(e.Pos[0]) <= 180 && math.Abs(e.Pos[1]) <= 90) {
				t.Errorf("%+v", e)
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	for name, text := range map[string]string{
		"GeoJSON": collection(slices.Repeat([]string{at(`"kind":"mark","time":"2031-10-04T09:30:00Z"`)}, 5000)...),
		"KML":     document(strings.Repeat(mark("<name>mark 1</name><TimeStamp><when>2031-10-04T09:30:00Z</when></TimeStamp>"), 5000)),
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				if _, err := Read(strings.NewReader(text), "b", ingest.ReadOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExampleRead() {
	r, err := Read(strings.NewReader(`{"type":"Feature","geometry":{"type":"Point","coordinates":[-40.25,36.5]},"properties":{"name":"mark 3"}}`), "spots.geojson", ingest.ReadOptions{})
	fmt.Println(r.Events[0].Kind, r.Events[0].Pos, err)
	// Output: mark [-40.25 36.5] <nil>
}
