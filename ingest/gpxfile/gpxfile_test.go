package gpxfile

import (
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"

	"leadline/ingest"
)

// gpx11 wraps elements in a GPX 1.1 root on line 1; the elements begin on line 2.
func gpx11(inside string) string {
	return `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1" xmlns:e="urn:e">` + "\n" + inside + "\n</gpx>\n"
}

func trk(points string) string {
	return gpx11("<trk><name>drift</name><trkseg>\n" + points + "\n</trkseg></trk>")
}

// read reads text, and once more with every point through the decoder: whatever
// a test holds, the two ways give the same.
func read(t *testing.T, text string, opt ingest.ReadOptions) ingest.Records {
	t.Helper()
	r, err := Read(strings.NewReader(text), "t.gpx", opt)
	if err != nil {
		t.Fatal(err)
	}
	balance(t, r)
	sameBySlow(t, text, r, opt)
	return r
}

func sameBySlow(t *testing.T, text string, r ingest.Records, opt ingest.ReadOptions) {
	t.Helper()
	f := newFilter(iotest.OneByteReader(strings.NewReader(text)), r.Source.Name, opt)
	f.slow = true
	slow, err := f.records()
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(r, slow) {
		t.Fatalf("read from the text\n%+v\nthrough the decoder\n%+v", r, slow)
	}
}

func balance(t *testing.T, r ingest.Records) {
	t.Helper()
	if s := r.Source; s.RowsRead != s.Used+s.Repaired+s.SetAside {
		t.Errorf("%d rows read, but %d used, %d repaired, %d set aside", s.RowsRead, s.Used, s.Repaired, s.SetAside)
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

// Each case is one thing that gpxgo v1.4.0 gets wrong or dies of without the
// filter; bare shows that it still does, so that the filter's reason is known to hold.
func TestLibraryFaultsDoNotReachUs(t *testing.T) {
	first := func(t *testing.T, text string) gpx.GPXPoint {
		t.Helper()
		doc, err := gpx.ParseString(text)
		if err != nil {
			t.Fatal(err)
		}
		return doc.Tracks[0].Segments[0].Points[0]
	}
	fails := func(t *testing.T, text string) {
		t.Helper()
		if _, err := gpx.ParseString(text); err == nil {
			t.Error("the bare library now reads this")
		}
	}
	good := `<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00Z</time></trkpt>`
	for _, c := range []struct {
		name string
		text string
		bare func(t *testing.T, text string)
		ours func(t *testing.T, r ingest.Records)
	}{
		{"fraction of a second cut", trk(`<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00.25Z</time></trkpt>`),
			func(t *testing.T, text string) {
				if p := first(t, text); p.Timestamp.Nanosecond() != 0 {
					t.Error("the bare library now keeps fractions")
				}
			},
			func(t *testing.T, r ingest.Records) {
				if got := r.Tracks[0].Fixes[0].Time; !got.Equal(utc("2024-05-03T10:00:00.25Z")) {
					t.Error(got)
				}
			}},
		{"offset gives no time", trk(`<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00+02:00</time></trkpt>`),
			func(t *testing.T, text string) {
				if p := first(t, text); !p.Timestamp.IsZero() {
					t.Error("the bare library now reads offsets:", p.Timestamp)
				}
			},
			func(t *testing.T, r ingest.Records) {
				if got := r.Tracks[0].Fixes[0].Time; !got.Equal(utc("2024-05-03T08:00:00Z")) || got.Location() != time.UTC {
					t.Error(got)
				}
			}},
		{"offset behind a fraction ignored", trk(`<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00.5+02:00</time></trkpt>`),
			func(t *testing.T, text string) {
				if p := first(t, text); !p.Timestamp.Equal(utc("2024-05-03T10:00:00Z")) {
					t.Error("the bare library now minds it:", p.Timestamp)
				}
			},
			func(t *testing.T, r ingest.Records) {
				if got := r.Tracks[0].Fixes[0].Time; !got.Equal(utc("2024-05-03T08:00:00.5Z")) {
					t.Error(got)
				}
			}},
		{"missing latitude is the equator", trk(`<trkpt lon="-40"/>` + good),
			func(t *testing.T, text string) {
				if p := first(t, text); p.Latitude != 0 {
					t.Error("the bare library now minds it")
				}
			},
			func(t *testing.T, r ingest.Records) {
				if r.Source.SetAside != 1 || len(r.Tracks[0].Fixes) != 1 {
					t.Error(r.Source)
				}
			}},
		{"NaN latitude", trk(`<trkpt lat="NaN" lon="-40"/>` + good),
			func(t *testing.T, text string) {
				if p := first(t, text); !math.IsNaN(p.Latitude) {
					t.Error("the bare library now minds it")
				}
			},
			func(t *testing.T, r ingest.Records) {
				if r.Source.SetAside != 1 || len(r.Tracks[0].Fixes) != 1 {
					t.Error(r.Source)
				}
			}},
		{"latitude beyond the pole", trk(`<trkpt lat="95" lon="-40"/>` + good),
			func(t *testing.T, text string) {
				if p := first(t, text); p.Latitude != 95 {
					t.Error("the bare library now minds it")
				}
			},
			func(t *testing.T, r ingest.Records) {
				if r.Source.SetAside != 1 || !errors.Is(r.Problems[0], ingest.ErrRange) {
					t.Error(r.Problems)
				}
			}},
		{"speed of GPX 1.0 dropped", `<gpx version="1.0" creator="t"><trk><trkseg><trkpt lat="36.5" lon="-40"><speed>0.4</speed><course>90</course></trkpt></trkseg></trk></gpx>`,
			func(t *testing.T, text string) {
				if s := fmt.Sprintf("%+v", first(t, text)); strings.Contains(s, "0.4") {
					t.Error("the bare library now has a speed:", s)
				}
			},
			func(t *testing.T, r ingest.Records) {
				if f := r.Tracks[0].Fixes[0]; f.SpeedMPS != ingest.Known(0.4) || f.CourseDeg != ingest.Known(90) {
					t.Error(f)
				}
			}},
		{"one bad number loses the file", trk(good + `<trkpt lat="36,5" lon="-40"/>` + good), fails,
			func(t *testing.T, r ingest.Records) {
				if len(r.Tracks[0].Fixes) != 2 || r.Source.SetAside != 1 {
					t.Error(r.Source)
				}
			}},
		{"one bad elevation loses the file", trk(`<trkpt lat="36.5" lon="-40"><ele>high</ele></trkpt>` + good), fails,
			func(t *testing.T, r ingest.Records) {
				if len(r.Tracks[0].Fixes) != 2 || r.Source.Repaired != 1 {
					t.Error(r.Source)
				}
			}},
		{"a bare & loses the file", gpx11(`<wpt lat="36.5" lon="-40"><desc>rock & weed</desc></wpt>`), fails,
			func(t *testing.T, r ingest.Records) {
				if r.Events[0].Note != "rock & weed" {
					t.Error(r.Events)
				}
			}},
		{"a truncated end loses the file", strings.TrimSuffix(trk(good+"\n"+good), "</trkseg></trk>\n</gpx>\n"), fails,
			func(t *testing.T, r ingest.Records) {
				if len(r.Tracks[0].Fixes) != 2 || !errors.Is(r.Problems[0], ingest.ErrTruncated) {
					t.Error(r.Source, r.Problems)
				}
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.bare(t, c.text)
			c.ours(t, read(t, c.text, ingest.ReadOptions{}))
		})
	}
}

func TestTrack(t *testing.T) {
	r := read(t, gpx11(`<trk><name>first &amp; last</name>
<trkseg>
<trkpt lat="36.5" lon="-40.25">
  <ele>3</ele><time>2024-05-03T10:00:00Z</time>
  <extensions><e:a><e:b><e:Depth>7.5</e:Depth></e:b><e:wtemp>17.5</e:wtemp></e:a><e:speed>0.5</e:speed><e:course>360</e:course></extensions>
</trkpt>
<trkpt
  lat="36.6" lon="-40.26"/>
</trkseg>
<trkseg></trkseg>
<trkseg><trkpt lat="36.7" lon="-40.27"><time>2024-05-03T10:00:02Z</time></trkpt></trkseg>
</trk>`), ingest.ReadOptions{})
	if len(r.Tracks) != 2 || r.Tracks[0].Name != "first & last" || r.Tracks[1].Name != "first & last" {
		t.Fatalf("%+v", r.Tracks)
	}
	want := ingest.Fix{Time: utc("2024-05-03T10:00:00Z"), Pos: orb.Point{-40.25, 36.5}, SpeedMPS: ingest.Known(0.5), CourseDeg: ingest.Known(0), Line: 4}
	if got := r.Tracks[0].Fixes[0]; got != want {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	if got := r.Tracks[0].Fixes[1]; !got.Time.IsZero() || got.Line != 8 {
		t.Errorf("point without time: %+v", got)
	}
	sounding := ingest.Sounding{Time: want.Time, Pos: want.Pos, HasPos: true, DepthM: 7.5, TempC: ingest.Known(17.5), SpeedMPS: ingest.Known(0.5), Line: 4}
	if len(r.Soundings) != 1 || r.Soundings[0] != sounding {
		t.Errorf("soundings %+v", r.Soundings)
	}
	if r.Source.TakenFor != "GPX track" || r.Source.Used != 3 || len(r.Problems) != 0 {
		t.Errorf("%+v\n%s", r.Source, problems(r))
	}
}

func TestColumns(t *testing.T) {
	r := read(t, trk(`<trkpt lat="36.5" lon="-40"><ele>1</ele><time>2024-05-03T10:00:00Z</time><extensions>`+
		`<e:depth>3</e:depth><e:atemp>21</e:atemp><e:heading>10</e:heading><e:temp>18</e:temp><e:hr>70</e:hr></extensions></trkpt>`), ingest.ReadOptions{})
	got := fmt.Sprint(r.Source.Columns)
	want := "[{lat latitude deg} {lon longitude deg} {ele  } {time time } {depth depth m} {atemp air temperature C} {heading heading deg} {temp water temperature C} {hr  }]"
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	f := r.Tracks[0].Fixes[0]
	if f.CourseDeg.OK {
		t.Error("a heading was taken for a course")
	}
	if got := r.Soundings[0].TempC; got != ingest.Known(18) {
		t.Error("water temperature", got)
	}
}

func TestTemperatures(t *testing.T) {
	for _, c := range []struct {
		name, inside string
		want         ingest.Maybe
		columns      string // of those named so
		problems     string
	}{
		{"wtemp before temp", "<e:temp>25</e:temp><e:depth>1</e:depth><e:wtemp>18</e:wtemp>", ingest.Known(18), "temp not used, wtemp in C", ""},
		{"watertemp", "<e:depth>1</e:depth><e:watertemp>18.25</e:watertemp>", ingest.Known(18.25), "watertemp in C", ""},
		{"temp beside a depth", "<e:temp>25</e:temp><e:depth>1</e:depth>", ingest.Known(25), "temp in C", ""},
		{"temp in any case", "<e:Depth>1</e:Depth><e:Temp>25</e:Temp>", ingest.Known(25), "Temp in C", ""},
		{"temp alone", "<e:temp>25</e:temp>", ingest.Maybe{}, "temp not used", ""},
		{"temp alone, not one of water", "<e:temp>77</e:temp>", ingest.Maybe{}, "temp not used", ""},
		{"temp beside an empty depth", "<e:depth/><e:temp>77</e:temp>", ingest.Maybe{}, "temp not used", ""},
		{"temp beside a depth, not one of water", "<e:temp>77</e:temp><e:depth>1</e:depth>", ingest.Maybe{}, "temp not used",
			`t.gpx:3: temp: "77" is out of range, wanted a number in C from -10 to 60; row used without it` + "\n"},
		{"wtemp bad, temp good", "<e:depth>1</e:depth><e:wtemp>--</e:wtemp><e:temp>17</e:temp>", ingest.Known(17), "wtemp in C, temp in C",
			`t.gpx:3: wtemp: "--" is not a number, wanted a number in C; row used without it` + "\n"},
		{"wtemp alone", "<e:wtemp>18</e:wtemp>", ingest.Maybe{}, "wtemp in C",
			"t.gpx: depth: missing, wanted a depth beside every water temperature; 1 temperature without one not used; row kept in doubt\n"},
		{"atemp never", "<e:depth>1</e:depth><e:atemp>25</e:atemp>", ingest.Maybe{}, "atemp in C", ""},
		{"zero is a value", "<e:depth>1</e:depth><e:wtemp>0</e:wtemp>", ingest.Known(0), "wtemp in C", ""},
		{"empty is none", "<e:depth>1</e:depth><e:wtemp></e:wtemp>", ingest.Maybe{}, "wtemp in C", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, trk(`<trkpt lat="36.5" lon="-40"><extensions>`+c.inside+`</extensions></trkpt>`), ingest.ReadOptions{})
			var columns []string
			for _, x := range r.Source.Columns {
				if !strings.HasSuffix(strings.ToLower(x.Name), "temp") {
					continue
				}
				if x.ReadAs == "" {
					columns = append(columns, x.Name+" not used")
				} else {
					columns = append(columns, x.Name+" in "+x.Unit)
				}
			}
			if got := strings.Join(columns, ", "); got != c.columns {
				t.Errorf("columns %s, want %s", got, c.columns)
			}
			if got := problems(r); got != c.problems {
				t.Errorf("problems %swant %s", got, c.problems)
			}
			got := ingest.Maybe{}
			if len(r.Soundings) > 0 {
				got = r.Soundings[0].TempC
			}
			if got != c.want {
				t.Error(got)
			}
		})
	}
}

// An elevation is where the receiver thinks it is, not how deep the water.
func TestElevationIsNoDepth(t *testing.T) {
	for _, ele := range []string{"-500", "9433", "0", "-3.2"} {
		r := read(t, trk(`<trkpt lat="36.5" lon="-40"><ele>`+ele+`</ele></trkpt>`), ingest.ReadOptions{})
		if len(r.Soundings) != 0 || len(r.Problems) != 0 || r.Source.Columns[2] != (ingest.Column{Name: "ele"}) {
			t.Errorf("%s: %+v %+v", ele, r.Soundings, r.Source)
		}
	}
}

func TestBadValues(t *testing.T) {
	for _, c := range []struct {
		name, point string
		problems    string
		repaired    int
		setAside    int
	}{
		{"no longitude", `<trkpt lat="36.5"/>`, "t.gpx:3: lon: missing, wanted degrees from -180 to 180; row set aside\n", 0, 1},
		{"both missing", `<trkpt/>`, "t.gpx:3: lat: missing, wanted degrees from -90 to 90; row set aside\nt.gpx:3: lon: missing, wanted degrees from -180 to 180; row set aside\n", 0, 1},
		{"empty latitude", `<trkpt lat=" " lon="-40"/>`, "t.gpx:3: lat: missing, wanted degrees from -90 to 90; row set aside\n", 0, 1},
		{"infinite latitude", `<trkpt lat="Inf" lon="-40"/>`, `t.gpx:3: lat: "Inf" is not a number, wanted degrees from -90 to 90; row set aside` + "\n", 0, 1},
		{"hexadecimal latitude", `<trkpt lat="0x1p4" lon="-40"/>`, `t.gpx:3: lat: "0x1p4" is not a number, wanted degrees from -90 to 90; row set aside` + "\n", 0, 1},
		{"longitude below -180", `<trkpt lat="36.5" lon="-200"/>`, `t.gpx:3: lon: "-200" is out of range, wanted degrees from -180 to 180; row set aside` + "\n", 0, 1},
		{"time of words", `<trkpt lat="36.5" lon="-40"><time>noon</time></trkpt>`, `t.gpx:3: time: "noon" is not a time, wanted a time such as 2006-01-02T15:04:05Z; row set aside` + "\n", 0, 1},
		{"minute 60", `<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:60:00Z</time></trkpt>`, `t.gpx:3: time: "2024-05-03T10:60:00Z" is not a time, wanted a time such as 2006-01-02T15:04:05Z; row set aside` + "\n", 0, 1},
		{"second 60 at noon", `<trkpt lat="36.5" lon="-40"><time>2024-05-03T12:00:60Z</time></trkpt>`, `t.gpx:3: time: "2024-05-03T12:00:60Z" is not a time, wanted a time such as 2006-01-02T15:04:05Z; row set aside` + "\n", 0, 1},
		{"30 February", `<trkpt lat="36.5" lon="-40"><time>2024-02-30T12:00:00Z</time></trkpt>`, `t.gpx:3: time: "2024-02-30T12:00:00Z" is not a time, wanted a time such as 2006-01-02T15:04:05Z; row set aside` + "\n", 0, 1},
		{"gigantic number", `<trkpt lat="36.5" lon="-40"><depth>1e999</depth></trkpt>`, `t.gpx:3: depth: "1e999" is not a number, wanted a number in m; row used without it` + "\n", 1, 0},
		{"depth that is none", `<trkpt lat="36.5" lon="-40"><depth>NaN</depth></trkpt>`, `t.gpx:3: depth: "NaN" is not a number, wanted a number in m; row used without it` + "\n", 1, 0},
		{"clock not set", `<trkpt lat="36.5" lon="-40"><time>1970-01-01T00:00:07Z</time></trkpt>`, `t.gpx:3: time: "1970-01-01T00:00:07Z" is not a time, wanted a date from 1980 to 2100; row used without it` + "\n", 1, 0},
		{"time without zone", `<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00</time></trkpt>`,
			`t.gpx:3: time: "2024-05-03T10:00:00" is not a time, wanted a zone behind it, such as Z or +02:00, or --tz to say which zone its clock shows; row set aside` + "\n", 0, 1},
		{"bad time and bad depth", `<trkpt lat="36.5" lon="-40"><time>noon</time><depth>x</depth></trkpt>`,
			`t.gpx:3: time: "noon" is not a time, wanted a time such as 2006-01-02T15:04:05Z; row set aside` + "\n" + `t.gpx:3: depth: "x" is not a number, wanted a number in m; row set aside` + "\n", 0, 1},
		{"depth of dashes", "<trkpt lat=\"36.5\" lon=\"-40\">\n<extensions><depth>--</depth></extensions></trkpt>", `t.gpx:4: depth: "--" is not a number, wanted a number in m; row used without it` + "\n", 1, 0},
		{"depth in feet", `<trkpt lat="36.5" lon="-40"><depth unit="ft">9</depth></trkpt>`, `t.gpx:3: depth: "9 ft" is not a known word, wanted a number in m; row used without it` + "\n", 1, 0},
		{"depth in metres", `<trkpt lat="36.5" lon="-40"><depth uom="metres">9</depth></trkpt>`, "", 0, 0},
		{"negative speed", `<trkpt lat="36.5" lon="-40"><speed>-1</speed></trkpt>`, `t.gpx:3: speed: "-1" is out of range, wanted a number in m/s from 0 to 100; row used without it` + "\n", 1, 0},
		{"course of 400", `<trkpt lat="36.5" lon="-40"><course>400</course></trkpt>`, `t.gpx:3: course: "400" is out of range, wanted a number in deg from 0 to 360; row used without it` + "\n", 1, 0},
		{"two depths", `<trkpt lat="36.5" lon="-40"><depth>3</depth><depth>3</depth><depth>4</depth></trkpt>`, `t.gpx:3: depth: "4" is a row of the wrong shape, wanted one value in a point; 3 came first and was used; row kept in doubt` + "\n", 0, 0},
		{"dilution of words", `<trkpt lat="36.5" lon="-40"><hdop>good</hdop></trkpt>`, `t.gpx:3: hdop: "good" is not a number, wanted a number; row used without it` + "\n", 1, 0},
		{"empty time", `<trkpt lat="36.5" lon="-40"><time/></trkpt>`, "", 0, 0},
		{"zero depth kept", `<trkpt lat="36.5" lon="-40"><depth>0</depth></trkpt>`, "", 0, 0},
		{"point in a point", `<trkpt lat="36.5" lon="-40"><trkpt lat="1" lon="1"/></trkpt>`,
			"t.gpx:3: trkpt: a row of the wrong shape, wanted a wpt inside gpx, a trkpt inside trkseg or a rtept inside rte; row set aside\n", 0, 1},
		{"waypoint in a track", `<wpt lat="36.5" lon="-40"/>`,
			"t.gpx:3: wpt: a row of the wrong shape, wanted a wpt inside gpx, a trkpt inside trkseg or a rtept inside rte; row set aside\n", 0, 1},
		{"point in an element of others", `<extensions><trkpt lat="36.5" lon="-40"/></extensions>`,
			"t.gpx:3: trkpt: a row of the wrong shape, wanted a wpt inside gpx, a trkpt inside trkseg or a rtept inside rte; row set aside\n", 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, trk(c.point+"<trkpt lat=\"36.6\" lon=\"-40\"/>"), ingest.ReadOptions{})
			if got := problems(r); got != c.problems {
				t.Errorf("got  %swant %s", got, c.problems)
			}
			if s := r.Source; s.Repaired != c.repaired || s.SetAside != c.setAside {
				t.Errorf("repaired %d, set aside %d", s.Repaired, s.SetAside)
			}
		})
	}
}

func TestTimes(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text, want string
		opt              ingest.ReadOptions
	}{
		// RFC 3339 section 5.8 has these three.
		{"RFC 3339 example 1", "1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.52Z", ingest.ReadOptions{}},
		{"RFC 3339 example 2", "1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z", ingest.ReadOptions{}},
		{"RFC 3339 lower case", "1996-12-19t16:39:57z", "1996-12-19T16:39:57Z", ingest.ReadOptions{}},
		{"blank for T", "2024-05-03 10:00:00Z", "2024-05-03T10:00:00Z", ingest.ReadOptions{}},
		{"offset without colon", "2024-05-03T10:00:00+0530", "2024-05-03T04:30:00Z", ingest.ReadOptions{}},
		{"offset of hours", "2024-05-03T10:00:00-03", "2024-05-03T13:00:00Z", ingest.ReadOptions{}},
		{"no seconds", "2024-05-03T10:00Z", "2024-05-03T10:00:00Z", ingest.ReadOptions{}},
		{"nine decimals", "2024-05-03T10:00:00.123456789Z", "2024-05-03T10:00:00.123456789Z", ingest.ReadOptions{}},
		// Sections 5.6 and 5.8: the leap second of 1990, told as the second behind it.
		{"RFC 3339 leap second", "1990-12-31T23:59:60Z", "1991-01-01T00:00:00Z", ingest.ReadOptions{}},
		{"RFC 3339 leap second elsewhere", "1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00Z", ingest.ReadOptions{}},
		{"RFC 3339 offset of minutes", "1987-01-01T12:00:27.87+00:20", "1987-01-01T11:40:27.87Z", ingest.ReadOptions{}},
		{"RFC 3339 offset not known", "2024-05-03T10:00:00-00:00", "2024-05-03T10:00:00Z", ingest.ReadOptions{}},
		{"comma for a point", "2024-05-03T10:00:00,25Z", "2024-05-03T10:00:00.25Z", ingest.ReadOptions{}},
		{"blank, no seconds, offset", "2024-05-03 10:00+02:00", "2024-05-03T08:00:00Z", ingest.ReadOptions{}},
		{"ten decimals", "2024-05-03T10:00:00.1234567891Z", "2024-05-03T10:00:00.123456789Z", ingest.ReadOptions{}},
		{"zone given, no seconds", "2024-05-03T10:00", "2024-05-03T08:00:00Z", ingest.ReadOptions{Zone: berlin}},
		{"zone given", "2024-05-03T10:00:00.5", "2024-05-03T08:00:00.5Z", ingest.ReadOptions{Zone: berlin}},
		{"zone given, not needed", "2024-05-03T10:00:00Z", "2024-05-03T10:00:00Z", ingest.ReadOptions{Zone: berlin}},
		{"clock offset", "2024-05-03T10:00:00Z", "2024-05-03T09:59:48.5Z", ingest.ReadOptions{ClockOffset: -11500 * time.Millisecond}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, trk("<trkpt lat=\"36.5\" lon=\"-40\"><time> "+c.text+"\n</time></trkpt>"), c.opt)
			if got := r.Tracks[0].Fixes[0].Time; !got.Equal(utc(c.want)) {
				t.Errorf("got %s, want %s", got, c.want)
			}
			if want := c.opt.Zone != nil && !strings.HasSuffix(c.text, "Z"); (r.Source.Zone == "Europe/Berlin") != want {
				t.Errorf("zone told: %q", r.Source.Zone)
			}
			if want := c.opt.ClockOffset != 0; r.Source.ClockOffsetS.OK != want {
				t.Error("clock offset told:", r.Source.ClockOffsetS)
			}
		})
	}
	t.Run("hour shown twice", func(t *testing.T) {
		// Central European clocks went back on 27 October 2024 at 01:00 UTC.
		r := read(t, trk(strings.Repeat("<trkpt lat=\"36.5\" lon=\"-40\"><time>2024-10-27T02:30:00</time></trkpt>", 2)), ingest.ReadOptions{Zone: berlin})
		if got := r.Tracks[0].Fixes[1].Time; !got.Equal(utc("2024-10-27T00:30:00Z")) || len(r.Problems) != 1 || r.Problems[0].Outcome != ingest.InDoubt || r.Source.Used != 2 {
			t.Error(got, problems(r))
		}
	})
}

func TestWaypoints(t *testing.T) {
	for _, c := range []struct {
		name, inside string
		kind         ingest.EventKind
		note         string
		said         bool
	}{
		{"type", "<type>Bite</type>", ingest.Bite, "", true},
		{"type before name", "<name>catch 1</name><type>mark</type>", ingest.Mark, "", true},
		{"name", "<name>Bait ball</name>", ingest.Bait, "", true},
		{"name with number", "<name>bite-12</name>", ingest.Bite, "", true},
		{"name of another word", "<name>Marker</name>", ingest.Catch, "", false},
		{"neither", "<name>WP 7</name><type>pin</type>", ingest.Catch, "", false},
		{"note", "<type>catch</type><cmt>14 in</cmt><desc>on the fall</desc>", ingest.Catch, "on the fall; 14 in", true},
		{"same note twice", "<type>catch</type><cmt>14 in</cmt><desc>14 in</desc>", ingest.Catch, "14 in", true},
		{"name of another namespace", "<e:name>bite</e:name>", ingest.Catch, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, gpx11(`<wpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00Z</time>`+c.inside+`</wpt>`), ingest.ReadOptions{})
			want := ingest.Event{Time: utc("2024-05-03T10:00:00Z"), Pos: orb.Point{-40, 36.5}, HasPos: true, Kind: c.kind, Count: 1, Note: c.note, Line: 2}
			if len(r.Events) != 1 || r.Events[0] != want {
				t.Errorf("got %+v\nwant %+v", r.Events, want)
			}
			if said := len(r.Problems) == 0; said != c.said {
				t.Error(problems(r))
			}
			if r.Source.TakenFor != "GPX waypoints" {
				t.Error(r.Source.TakenFor)
			}
		})
	}
	t.Run("kind not said is said once", func(t *testing.T) {
		r := read(t, gpx11(strings.Repeat(`<wpt lat="36.5" lon="-40"/>`, 3)), ingest.ReadOptions{})
		want := "t.gpx: wpt type: missing, wanted catch, bite, mark or bait as type or first word of name; 3 waypoints without one taken for catches; row kept in doubt\n"
		if got := problems(r); got != want || r.Source.Used != 3 {
			t.Error(got)
		}
	})
	t.Run("depth is the bottom's", func(t *testing.T) {
		r := read(t, gpx11(`<wpt lat="36.5" lon="-40"><type>catch</type><extensions><e:depth>7</e:depth></extensions></wpt>`), ingest.ReadOptions{})
		if r.Events[0].FishM.OK || len(r.Soundings) != 1 || r.Soundings[0].DepthM != 7 || !r.Soundings[0].HasPos {
			t.Errorf("%+v %+v", r.Events, r.Soundings)
		}
	})
	t.Run("with a track", func(t *testing.T) {
		r := read(t, gpx11(`<wpt lat="36.5" lon="-40"><type>catch</type></wpt><trk><trkseg><trkpt lat="36.5" lon="-40"/></trkseg></trk>`), ingest.ReadOptions{})
		if r.Source.TakenFor != "GPX track and waypoints" {
			t.Error(r.Source.TakenFor)
		}
	})
}

func TestZeroIsland(t *testing.T) {
	for _, c := range []struct {
		name, text                 string
		fixes, soundings, events   int
		used, repaired, setAside   int
		soundingHasPos, eventPlace bool
	}{
		{"fix stays to be flagged", trk(`<trkpt lat="0" lon="0"/>`), 1, 0, 0, 1, 0, 0, false, false},
		{"sounding keeps its time", trk(`<trkpt lat="0" lon="0"><time>2024-05-03T10:00:00Z</time><depth>4</depth></trkpt>`), 1, 1, 0, 0, 1, 0, false, false},
		{"sounding with neither", trk(`<trkpt lat="0" lon="0"><depth>4</depth></trkpt>`), 1, 0, 0, 0, 1, 0, false, false},
		{"event keeps its time", gpx11(`<wpt lat="0" lon="0"><time>2024-05-03T10:00:00Z</time><type>catch</type></wpt>`), 0, 0, 1, 0, 1, 0, false, false},
		{"event with neither, clock not set", gpx11(`<wpt lat="0" lon="0"><time>1970-01-01T00:00:00Z</time><type>catch</type></wpt>`), 0, 0, 0, 0, 0, 1, false, false},
		{"sounding with another value bad", trk(`<trkpt lat="0" lon="0"><time>2024-05-03T10:00:00Z</time><depth>4</depth><course>x</course></trkpt>`), 1, 1, 0, 0, 1, 0, false, false},
		{"event with neither", gpx11(`<wpt lat="0" lon="0"><type>catch</type></wpt>`), 0, 0, 0, 0, 0, 1, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			fixes := 0
			for _, tr := range r.Tracks {
				fixes += len(tr.Fixes)
			}
			if fixes != c.fixes || len(r.Soundings) != c.soundings || len(r.Events) != c.events {
				t.Errorf("%d fixes, %d soundings, %d events", fixes, len(r.Soundings), len(r.Events))
			}
			if s := r.Source; s.Used != c.used || s.Repaired != c.repaired || s.SetAside != c.setAside {
				t.Errorf("%+v\n%s", s, problems(r))
			}
			for _, s := range r.Soundings {
				if s.HasPos {
					t.Error("sounding at 0, 0")
				}
			}
			for _, e := range r.Events {
				if e.HasPos {
					t.Error("event at 0, 0")
				}
			}
		})
	}
}

func TestRoutes(t *testing.T) {
	r := read(t, gpx11("<rte><name>to the point</name><rtept lat=\"36.5\" lon=\"-40\"/><rtept lat=\"x\" lon=\"-40\"/></rte>\n<rte><rtept lat=\"36.5\" lon=\"-40\"/></rte>\n<rte/>"), ingest.ReadOptions{})
	want := `t.gpx:2: rte: "to the point" is a row of the wrong shape, wanted a track: a route is planned, not travelled (2 points); row set aside
t.gpx:3: rte: a row of the wrong shape, wanted a track: a route is planned, not travelled (1 point); row set aside
`
	if got := problems(r); got != want {
		t.Errorf("got %s", got)
	}
	if s := r.Source; s.RowsRead != 3 || s.SetAside != 3 || s.TakenFor != "GPX route" || len(r.Tracks) != 0 {
		t.Errorf("%+v", s)
	}
}

func TestBreaks(t *testing.T) {
	two := "<trkpt lat=\"36.5\" lon=\"-40\"/>\n<trkpt lat=\"36.6\" lon=\"-40\"/>\n"
	whole := trk(two)
	for _, c := range []struct {
		name, text     string
		fixes, dropped int
		line           int
		cause          string
	}{
		{"between points", whole[:strings.Index(whole, "</trkseg>")], 2, 0, 6, "unexpected EOF"},
		{"in a point", whole[:strings.Index(whole, "</trkseg>")] + `<trkpt lat="36.7" lon="-40"><time>2024-05`, 2, 1, 6, "unexpected EOF"},
		{"in a tag", whole[:strings.Index(whole, "</trkseg>")] + `<trkpt lat="36.`, 2, 1, 6, "unexpected EOF"},
		{"before the root's end", strings.TrimSuffix(whole, "</gpx>\n"), 2, 0, 7, "unexpected EOF"},
		{"wrong end tag", trk(two + "</trk>" + two), 2, 2, 5, "element <trkseg> closed by </trk>"},
		{"zero bytes", trk(two + "\x00\x00\x00" + two), 2, 2, 5, "illegal character code U+0000"},
		{"zero bytes behind the end", whole + "\x00\x00", 2, 0, 8, "illegal character code U+0000"},
		{"nested too deep", trk(two + `<trkpt lat="36.7" lon="-40"><extensions>` + strings.Repeat("<a>", 70)), 2, 1, 5, "elements lie deeper than 64 in each other"},
		{"nested too deep outside", trk(two + strings.Repeat("<a>", 70)), 2, 0, 5, "elements lie deeper than 64 in each other"},
		{"nested too deep in a name", trk(two + "</trkseg><name>" + strings.Repeat("<a>", 70)), 2, 0, 5, "elements lie deeper than 64 in each other"},
		{"huge text", trk(two + "<desc>" + strings.Repeat("a", 1100<<10) + "</desc>"), 2, 0, 5, "one element or text is longer than 1 MiB"},
		{"huge attribute", trk(two + `<trkpt lat="` + strings.Repeat("1", 1100<<10) + `"/>`), 2, 1, 5, "one element or text is longer than 1 MiB"},
		{"huge point", trk(two + `<trkpt lat="36.7" lon="-40"><extensions>` + strings.Repeat("<"+strings.Repeat("a", 64)+"/>", 20000) + "</extensions></trkpt>"), 2, 1, 5, "one element or text is longer than 1 MiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			if got := len(r.Tracks[0].Fixes); got != c.fixes || r.Tracks[0].Name != "drift" {
				t.Errorf("%d fixes", got)
			}
			if s := r.Source; s.SetAside != c.dropped || s.Used != c.fixes {
				t.Errorf("%+v", s)
			}
			last := r.Problems[len(r.Problems)-1]
			if !errors.Is(last, ingest.ErrTruncated) || last.Line != c.line || !strings.Contains(last.Wanted, c.cause) {
				t.Error(last)
			}
		})
	}
	t.Run("cut at every byte", func(t *testing.T) {
		for n := range whole {
			r, err := Read(strings.NewReader(whole[:n]), "t.gpx", ingest.ReadOptions{})
			complete := strings.Count(whole[:n], "/>")
			if complete == 0 {
				if err == nil {
					t.Fatalf("no error for %q", whole[:n])
				}
				continue
			}
			if err != nil {
				t.Fatalf("cut at %d: %v", n, err)
			}
			balance(t, r)
			if got := len(r.Tracks[0].Fixes); got != complete {
				t.Fatalf("cut at %d: %d fixes of %d", n, got, complete)
			}
			if isWhole := strings.HasSuffix(whole[:n], "</gpx>"); isWhole != (len(r.Problems) == 0) {
				t.Fatalf("cut at %d: %v", n, r.Problems)
			}
		}
	})
}

func TestRefused(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "t.gpx: holds no element, wanted <gpx>"},
		{"blank", " \n", "t.gpx: holds no element, wanted <gpx>"},
		{"another format", "<kml></kml>", "t.gpx: begins with <kml>, wanted <gpx>"},
		{"no points", gpx11("<metadata/>"), "t.gpx: holds no point, wanted wpt or trkpt elements"},
		{"breaks before the first point", "<gpx>\n<trk><trkseg><trkpt", "t.gpx:2: breaks off before its first complete point: unexpected EOF"},
		{"not XML", "time,lat\n", "t.gpx: holds no element, wanted <gpx>"},
		{"unknown encoding", `<?xml version="1.0" encoding="martian"?><gpx/>`, `unsupported charset: "martian"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(c.text), "t.gpx", ingest.ReadOptions{})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
	t.Run("failing disk", func(t *testing.T) {
		// A file cut short is dirt; a disk that fails is not: no points come out.
		broken := errors.New("disk gone")
		whole := trk(`<trkpt lat="1" lon="1"/>`)
		for _, n := range []int{0, 120, len(whole) - 3} {
			r, err := Read(io.MultiReader(strings.NewReader(whole[:n]), iotest.ErrReader(broken)), "t.gpx", ingest.ReadOptions{})
			if !errors.Is(err, broken) || len(r.Tracks) > 0 {
				t.Errorf("after %d bytes: %v", n, err)
			}
		}
	})
}

func TestText(t *testing.T) {
	point := `<trk><name>%s</name><trkseg><trkpt lat="36.5" lon="-40"/></trkseg></trk></gpx>`
	utf16 := func(s string) string {
		out := "\xff\xfe"
		for _, r := range s {
			out += string([]byte{byte(r), byte(r >> 8)})
		}
		return out
	}
	swapped := func(s string) string {
		b := []byte(s)
		for i := 0; i+1 < len(b); i += 2 {
			b[i], b[i+1] = b[i+1], b[i]
		}
		return string(b)
	}
	for _, c := range []struct{ name, text, want string }{
		{"byte order mark", "\ufeff<gpx>" + fmt.Sprintf(point, "bäy"), "bäy"},
		{"declared Latin-1", `<?xml version="1.0" encoding="ISO-8859-1"?><gpx>` + fmt.Sprintf(point, "b\xe4y"), "bäy"},
		{"declared Windows-1252", `<?xml version="1.0" encoding="windows-1252"?><gpx>` + fmt.Sprintf(point, "b\x80y"), "b€y"},
		{"Latin-1 passed for UTF-8", `<?xml version="1.0" encoding="UTF-8"?><gpx>` + fmt.Sprintf(point, "b\xe4y"), "b\ufffdy"},
		{"UTF-16 without byte order mark", utf16(`<?xml version="1.0" encoding="UTF-16"?><gpx>` + fmt.Sprintf(point, "bäy"))[2:], "bäy"},
		{"UTF-16 big-endian without byte order mark", swapped(utf16("<gpx>" + fmt.Sprintf(point, "bäy"))[2:]), "bäy"},
		{"UTF-16 big-endian", swapped(utf16("<gpx>" + fmt.Sprintf(point, "bäy"))), "bäy"},
		{"UTF-8 that says UTF-16", `<?xml version="1.0" encoding="utf-16"?><gpx>` + fmt.Sprintf(point, "bäy"), "bäy"},
		{"text before the declaration", "Content-Type: text/xml\r\n\r\n<?xml version=\"1.0\" encoding=\"latin1\"?><gpx>" + fmt.Sprintf(point, "b\xe4y"), "bäy"},
		{"byte order mark of another encoding", "\u00ef\u00bb\u00bf<?xml version=\"1.0\"?><gpx>" + fmt.Sprintf(point, "bay"), "bay"},
		{"two byte order marks, blank lines, zeros", "\ufeff\ufeff\n \n\x00\x00<?xml version=\"1.0\"?><gpx>" + fmt.Sprintf(point, "bay"), "bay"},
		{"CDATA with what looks like a point", "<gpx>" + fmt.Sprintf(point, `<![CDATA[<trkpt lat="1" lon="1"/>]]>`), `<trkpt lat="1" lon="1"/>`},
		{"comment that ends like no comment", "<gpx><!--> & -->" + fmt.Sprintf(point, "bay"), "bay"},
		{"UTF-16", utf16(`<?xml version="1.0" encoding="UTF-16"?><gpx>` + fmt.Sprintf(point, "bay")), "bay"},
		{"bare &", "<gpx>" + fmt.Sprintf(point, "a & b &nbsp; &lt; &#228; &#0; & c;"), "a & b &nbsp; < ä &#0; & c;"},
		{"& in CDATA and comments", "<gpx><!-- a > b & c --><?x a > b & c?>" + fmt.Sprintf(point, "<![CDATA[a > b & c]]>"), "a > b & c"},
		{"declared entity is not expanded", `<!DOCTYPE gpx [<!ENTITY x "boom">]><gpx>` + fmt.Sprintf(point, "&x;"), "&x;"},
		{"no namespace, no version", "<gpx>" + fmt.Sprintf(point, "bay"), "bay"},
		{"two files in one", "<gpx>" + fmt.Sprintf(point, "one") + "\n<?xml version=\"1.0\"?>\n<gpx>" + fmt.Sprintf(point, "two"), "one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			if got := r.Tracks[0].Name; got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			if strings.Contains(c.text, "-->") && len(r.Problems) > 0 {
				t.Error(problems(r))
			}
		})
	}
	t.Run("text in front is said", func(t *testing.T) {
		r := read(t, "saved\nby hand\n<?xml version=\"1.0\"?>\n"+trk(`<trkpt lat="36.5" lon="-40"/>`), ingest.ReadOptions{})
		if got, want := problems(r), "t.gpx:1: \"saved\\nby hand\" is a row of the wrong shape, wanted XML from the first byte on; passed over; row kept in doubt\n"; got != want {
			t.Errorf("got %s", got)
		}
		if got := r.Tracks[0].Fixes[0].Line; got != 6 {
			t.Error("line", got)
		}
	})
	t.Run("two files in one keep both", func(t *testing.T) {
		one := trk(`<trkpt lat="36.5" lon="-40"/>`)
		if r := read(t, one+one, ingest.ReadOptions{}); len(r.Tracks) != 2 || r.Tracks[1].Fixes[0].Line != 8 || len(r.Problems) != 0 {
			t.Errorf("%+v\n%s", r.Tracks, problems(r))
		}
	})
	t.Run("repair is told once with its line", func(t *testing.T) {
		r := read(t, gpx11("\n<wpt lat=\"36.5\" lon=\"-40\"><type>catch</type><name>a & b & c</name></wpt>"), ingest.ReadOptions{})
		if got, want := problems(r), "t.gpx:3: \"&\" is not a known word, wanted &amp;; read as a plain & in 2 places; row kept in doubt\n"; got != want {
			t.Errorf("got %s", got)
		}
	})
}

func TestRecognise(t *testing.T) {
	for _, c := range []struct {
		name, head string
		want       bool
	}{
		{"1.1", gpx11(""), true},
		{"declaration, comment, doctype", "\ufeff<?xml version=\"1.0\"?>\n<!-- x --><!DOCTYPE gpx>\n<gpx version=\"1.0\">", true},
		{"prefixed", `<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1">`, true},
		{"another root", "<kml><gpx>", false},
		{"text", "gpx", false},
		{"text in front", "hello <gpx>", false},
		{"text in front of a declaration", "saved by hand\n<?xml version=\"1.0\"?>\n<gpx>", true},
		{"text in front of another", "saved by hand\n<?xml version=\"1.0\"?>\n<kml>", false},
		{"zeros and blanks in front", "\x00\n \ufeff<gpx>", true},
		{"UTF-16 without byte order mark", "<\x00g\x00p\x00x\x00>\x00", true},
		{"talk of the format", "GPX begins with <?xml and then <gpx>", false},
		{"nothing", "", false},
		{"table", "time,lat,lon\n", false},
	} {
		if got := Recognise([]byte(c.head)); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(trk(`<trkpt lat="36.5" lon="-40"><time>2024-05-03T10:00:00.5+02:00</time><extensions><e:depth>3</e:depth></extensions></trkpt>`))
	f.Add(gpx11(`<wpt lat="36.5" lon="-40"><name>bite & run</name></wpt><rte><rtept/></rte>`))
	f.Add(`<gpx version="1.0"><trk><trkseg><trkpt lat="1" lon="2"><speed>1</speed><trkpt/></trkpt>`)
	f.Add("\xff\xfe<\x00g\x00p\x00x\x00>\x00")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Read(strings.NewReader(text), "f.gpx", ingest.ReadOptions{Zone: time.UTC})
		if err != nil {
			return
		}
		balance(t, r)
		sameBySlow(t, text, r, ingest.ReadOptions{Zone: time.UTC})
		for _, tr := range r.Tracks {
			for _, x := range tr.Fixes {
				if !(math.Abs(x.Pos.Lat()) <= 90 && math.Abs(x.Pos.Lon()) <= 180) || x.Line < 1 {
					t.Fatal(x)
				}
			}
		}
		for _, s := range r.Soundings {
			if math.IsNaN(s.DepthM) || math.IsInf(s.DepthM, 0) || s.Time.IsZero() && !s.HasPos {
				t.Fatal(s)
			}
		}
		for _, e := range r.Events {
			if e.Time.IsZero() && !e.HasPos || e.Count < 1 {
				t.Fatal(e)
			}
		}
		for _, p := range r.Problems {
			if p.Kind == nil || p.Error() == "" {
				t.Fatal(p)
			}
		}
	})
}
