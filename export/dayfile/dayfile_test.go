package dayfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
	"leadline/ingest/load"
	"leadline/ingest/madelake"
)

var (
	known = ingest.Known
	noon  = time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
)

// The day that the golden files hold: what is odd in it is in the tables below.
func tracks() []ingest.Track {
	return []ingest.Track{
		{Name: "Morning <drift> & back", Fixes: []ingest.Fix{
			{Time: noon, Pos: orb.Point{-40, 36.5}, SpeedMPS: known(0.44704), CourseDeg: known(271.5)},
			{Time: noon.Add(1500 * time.Millisecond), Pos: orb.Point{-40.00001000000001, 36.50000000000001}, SpeedMPS: known(0)},
			{Pos: orb.Point{-40.00002, 36.5}},                                                     // no time
			{Time: noon.Add(2 * time.Second), Pos: orb.Point{}, Flags: ingest.FixZeroIsland},      // no position yet
			{Time: noon.Add(2 * time.Second), Pos: orb.Point{180, -90}, CourseDeg: known(1. / 3)}, // a jump, at an edge
			{Time: noon.Add(-time.Nanosecond), Pos: orb.Point{-40, 1e-9}, SpeedMPS: known(1e-9)},  // backwards
		}},
		{Name: "Morning <drift> & back", Fixes: []ingest.Fix{{Time: noon.Add(time.Hour), Pos: orb.Point{-40, 36.5}}}},
		{Fixes: []ingest.Fix{{Time: noon.Add(2 * time.Hour), Pos: orb.Point{-40, 36.5}}}},
	}
}

func soundings() []ingest.Sounding {
	at := func(s float64) time.Time { return noon.Add(time.Duration(s * 1e9)) }
	return []ingest.Sounding{
		{Pos: orb.Point{-40, 36.5}, HasPos: true, DepthM: 7.3152},
		{Time: at(0), Pos: orb.Point{-40, 36.5}, HasPos: true, DepthM: 6.1, TempC: known(17.777777777777779), SpeedMPS: known(0.44704)},
		{Time: at(0.2), DepthM: -1, Flags: ingest.SoundingNoBottom},
		{Time: at(0.2), DepthM: 9999.9, TempC: known(-0.5)},
		{Time: at(0.4), Pos: orb.Point{180, -90}, HasPos: true, DepthM: 1e-9},
		{Time: at(0.6), DepthM: 0, SpeedMPS: known(1e-9)},
	}
}

func events() []ingest.Event {
	return []ingest.Event{
		{Time: noon, Pos: orb.Point{-40, 36.5}, HasPos: true, Kind: ingest.Catch, Species: "smallmouth, \"bronze\"", Count: 2, LengthM: known(0.4318), WeightKg: known(1.0206), FishM: known(7.3152),
			HeadKg: known(0.010631164078125), TrailerM: known(0.09652), Note: "over rock\nturned, at once"},
		{Time: noon.Add(90500 * time.Millisecond), Kind: ingest.Bite, Count: 1, Note: "=HYPERLINK(\"x\")"},
		{Pos: orb.Point{-40.001, 36.5}, HasPos: true, Kind: ingest.Mark, Count: 10000},
		{Time: noon.Add(time.Hour), Kind: ingest.Bait, Count: 1, Species: "shad"},
	}
}

func levels() []ingest.Level {
	return []ingest.Level{{Date: "2031-10-04", LevelM: 107.41}, {Date: "2031-10-05", Time: noon.Add(14*time.Hour + 1), LevelM: -0.1}}
}

func winds() []ingest.Wind {
	return []ingest.Wind{{Time: noon, SpeedMPS: 4.4704, FromDeg: 315}, {Time: noon.Add(time.Millisecond), SpeedMPS: 0, FromDeg: 0}}
}

// written returns what a writer writes.
func written(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func trackText(t testing.TB, x []ingest.Track) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return WriteTracks(w, x) })
}

func soundingText(t testing.TB, x []ingest.Sounding) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return WriteSoundings(w, x) })
}

func eventText(t testing.TB, x []ingest.Event) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return WriteEvents(w, x) })
}

func levelText(t testing.TB, x []ingest.Level) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return WriteLevels(w, x) })
}

func windText(t testing.TB, x []ingest.Wind) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return WriteWinds(w, x) })
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "track.gpx", trackText(t, tracks()))
	exporttest.Golden(t, "depths.csv", soundingText(t, soundings()))
	exporttest.Golden(t, "catches.csv", eventText(t, events()))
	exporttest.Golden(t, "levels.csv", levelText(t, levels()))
	exporttest.Golden(t, "winds.csv", windText(t, winds()))
}

// clearTracks, and those below for other records, take out what is not written.
func clearTracks(x []ingest.Track) (out []ingest.Track) {
	for _, t := range x {
		t.Source, t.FromLog = 0, false
		t.Fixes = slices.Clone(t.Fixes)
		for i := range t.Fixes {
			t.Fixes[i].Line, t.Fixes[i].Flags = 0, 0
		}
		out = append(out, t)
	}
	return out
}

func clearSoundings(x []ingest.Sounding) []ingest.Sounding {
	x = slices.Clone(x)
	for i := range x {
		x[i].Source, x[i].Line, x[i].Flags = 0, 0, 0
	}
	return x
}

func clearEvents(x []ingest.Event) []ingest.Event {
	x = slices.Clone(x)
	for i := range x {
		x[i].Source, x[i].Line = 0, 0
	}
	return x
}

func clearLevels(x []ingest.Level) []ingest.Level {
	x = slices.Clone(x)
	for i := range x {
		x[i].Source, x[i].Line = 0, 0
	}
	return x
}

func clearWinds(x []ingest.Wind) []ingest.Wind {
	x = slices.Clone(x)
	for i := range x {
		x[i].Source, x[i].Line = 0, 0
	}
	return x
}

// bits shows a record with every float64 to the bit and every instant to the
// nanosecond: -0 is not 0, and a value behind an unknown Maybe counts nothing.
func bits(v any) string {
	var b strings.Builder
	var put func(v reflect.Value)
	put = func(v reflect.Value) {
		switch x := v.Interface().(type) {
		case time.Time:
			fmt.Fprint(&b, x.UTC().Format(time.RFC3339Nano), " ")
			return
		case ingest.Maybe:
			if !x.OK {
				b.WriteString("unknown ")
				return
			}
		}
		switch v.Kind() {
		case reflect.Float64:
			fmt.Fprintf(&b, "%v(%016x) ", v.Float(), math.Float64bits(v.Float()))
		case reflect.Struct:
			for i := range v.NumField() {
				put(v.Field(i))
			}
		case reflect.Array:
			for i := range v.Len() {
				put(v.Index(i))
			}
		case reflect.Slice:
			for i := range v.Len() {
				put(v.Index(i))
				b.WriteByte('\n')
			}
		default:
			fmt.Fprintf(&b, "%q ", fmt.Sprint(v.Interface()))
		}
	}
	put(reflect.ValueOf(v))
	return b.String()
}

// same fails with the first line in which two lists of records differ.
func same(t testing.TB, what string, got, want any) {
	t.Helper()
	a, b := strings.Split(bits(got), "\n"), strings.Split(bits(want), "\n")
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) {
			t.Fatalf("%s: %d records came back, want %d", what, len(a)-1, len(b)-1)
		}
		if a[i] != b[i] {
			t.Fatalf("%s %d:\n got %s\nwant %s", what, i, a[i], b[i])
		}
	}
}

func readGPX(t testing.TB, text []byte) ingest.Records {
	t.Helper()
	r, err := gpxfile.Read(bytes.NewReader(text), "day.gpx", ingest.ReadOptions{})
	if err != nil {
		t.Fatalf("%v\n%.2000s", err, text)
	}
	return r
}

func readCSV(t testing.TB, text []byte) ingest.Records {
	t.Helper()
	r, err := csvfile.Read(bytes.NewReader(text), "day.csv", ingest.ReadOptions{})
	if err != nil {
		t.Fatalf("%v\n%.2000s", err, text)
	}
	return r
}

// Nothing in a file that was written may be anything to remark on.
func sound(t testing.TB, r ingest.Records, rows int) {
	t.Helper()
	if len(r.Problems) > 0 {
		t.Errorf("the reader says: %v", r.Problems[0])
	}
	if s := r.Source; s.RowsRead != rows || s.Used != rows {
		t.Errorf("%d rows read and %d used, want %d", s.RowsRead, s.Used, rows)
	}
}

// TestGoldenDayComesBack: the odd day, by the readers themselves.
func TestGoldenDayComesBack(t *testing.T) {
	r := readGPX(t, trackText(t, tracks()))
	sound(t, r, 8)
	same(t, "track", clearTracks(r.Tracks), clearTracks(tracks()))
	r = readCSV(t, soundingText(t, soundings()))
	sound(t, r, 6)
	same(t, "sounding", clearSoundings(r.Soundings), clearSoundings(soundings()))
	r = readCSV(t, eventText(t, events()))
	sound(t, r, 4)
	same(t, "event", clearEvents(r.Events), clearEvents(events()))
	r = readCSV(t, levelText(t, levels()))
	sound(t, r, 2)
	same(t, "level", clearLevels(r.Levels), clearLevels(levels()))
	r = readCSV(t, windText(t, winds()))
	sound(t, r, 2)
	same(t, "wind", clearWinds(r.Winds), clearWinds(winds()))
}

func TestReferenceComesBack(t *testing.T) {
	for _, ref := range []ingest.DepthRef{ingest.BelowTransducer, ingest.BelowSurface, ingest.BelowKeel} {
		s := soundings()
		for i := range s {
			s[i].Ref = ref
		}
		same(t, ref.String(), clearSoundings(readCSV(t, soundingText(t, s)).Soundings), clearSoundings(s))
	}
}

// A log in which no time but midnight stands has no clock, to the reader, and one
// whose rows run back a minute has a late one. Neither rule may touch a day's own.
func TestClocksComeBack(t *testing.T) {
	midnight := noon.Add(12 * time.Hour)
	s := []ingest.Sounding{{Time: midnight, DepthM: 5}, {Time: midnight, DepthM: 6}, {Pos: orb.Point{-40, 36.5}, HasPos: true, DepthM: 6}}
	slices.Reverse(s)
	same(t, "sounding", clearSoundings(readCSV(t, soundingText(t, s)).Soundings), []ingest.Sounding{s[0], s[1], s[2]})
	e := []ingest.Event{{Time: midnight, Count: 1, Pos: orb.Point{-40, 36.5}, HasPos: true}, {Time: midnight.Add(24 * time.Hour), Count: 1}}
	same(t, "event", clearEvents(readCSV(t, eventText(t, e)).Events), e)
	w := []ingest.Wind{{Time: midnight}, {Time: midnight}}
	same(t, "wind", clearWinds(readCSV(t, windText(t, w)).Winds), w)
	l := []ingest.Level{{Date: "2031-10-05", Time: midnight}, {Date: "2031-10-05", Time: midnight}}
	same(t, "level", clearLevels(readCSV(t, levelText(t, l)).Levels), l)

	// By hand, as in csvfile's third rule: 08:02:59, 08:02:00, 08:03:01.
	eight := noon.Add(-4 * time.Hour)
	s = []ingest.Sounding{{Time: eight.Add(179 * time.Second), DepthM: 1}, {Time: eight.Add(120 * time.Second), DepthM: 2}, {Time: eight.Add(181 * time.Second), DepthM: 3}}
	before := slices.Clone(s)
	same(t, "sounding", clearSoundings(readCSV(t, soundingText(t, s)).Soundings), []ingest.Sounding{s[1], s[0], s[2]})
	same(t, "the caller's sounding", s, before)
}

func TestSoundingsRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		s    []ingest.Sounding
		want error
	}{
		{"two references", []ingest.Sounding{{Time: noon, DepthM: 5}, {Time: noon, DepthM: 5, Ref: ingest.BelowSurface}}, ErrTwoRefs},
		{"all negative", []ingest.Sounding{{Time: noon, DepthM: -1}, {Time: noon}}, ErrAllNegative},
		{"not a number", []ingest.Sounding{{Time: noon, DepthM: 5}, {Time: noon, DepthM: math.NaN()}}, errNotFinite},
		{"endless", []ingest.Sounding{{Time: noon, DepthM: 5, TempC: known(math.Inf(-1))}}, errNotFinite},
		{"negative among others", []ingest.Sounding{{Time: noon, DepthM: -1}, {Time: noon, DepthM: 1}}, nil},
		{"zeros", []ingest.Sounding{{Time: noon}, {Time: noon}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			if err := WriteSoundings(&b, c.s); !errors.Is(err, c.want) {
				t.Errorf("error %v, want %v", err, c.want)
			} else if err != nil && b.Len() > 0 {
				t.Errorf("wrote %q before it", b.String())
			}
			if c.want == nil {
				same(t, "sounding", clearSoundings(readCSV(t, b.Bytes()).Soundings), c.s)
			}
		})
	}
	// ErrAllNegative has a cause in the reader: when this fails, it can go.
	text := "time,depth_below_transducer_m\n2031-10-04T12:00:00Z,-1\n2031-10-04T12:00:01Z,0\n"
	if got := readCSV(t, []byte(text)).Soundings[0].DepthM; got != 1 {
		t.Errorf("the reader gives %v for a depth of -1 among no other", got)
	}
}

func TestNotFinite(t *testing.T) {
	nan := math.NaN()
	for name, write := range map[string]func(io.Writer) error{
		"event 1: weight is NaN": func(w io.Writer) error {
			return WriteEvents(w, []ingest.Event{{Time: noon, Count: 1, WeightKg: known(nan)}})
		},
		"event 1: lat is NaN": func(w io.Writer) error {
			return WriteEvents(w, []ingest.Event{{Count: 1, HasPos: true, Pos: orb.Point{0, nan}}})
		},
		"level 1: level is NaN":    func(w io.Writer) error { return WriteLevels(w, []ingest.Level{{Date: "2031-10-04", LevelM: nan}}) },
		"wind 2: direction is NaN": func(w io.Writer) error { return WriteWinds(w, []ingest.Wind{{Time: noon}, {Time: noon, FromDeg: nan}}) },
		"track 2, fix 1: lon is +Inf": func(w io.Writer) error {
			return WriteTracks(w, []ingest.Track{{}, {Fixes: []ingest.Fix{{Pos: orb.Point{math.Inf(1), 0}}}}})
		},
		"track 1, fix 2: course is NaN": func(w io.Writer) error {
			return WriteTracks(w, []ingest.Track{{Fixes: []ingest.Fix{{}, {CourseDeg: known(nan)}}}})
		},
		"sounding 1: temperature is -Inf": func(w io.Writer) error {
			return WriteSoundings(w, []ingest.Sounding{{Time: noon, DepthM: 1, TempC: known(math.Inf(-1))}})
		},
	} {
		if err := write(io.Discard); !errors.Is(err, errNotFinite) || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("error %v, want %s", err, name)
		}
	}
	// What stands behind an unknown value is nobody's business.
	if err := WriteEvents(io.Discard, []ingest.Event{{Time: noon, Count: 1, WeightKg: ingest.Maybe{V: nan}, Pos: orb.Point{nan, nan}}}); err != nil {
		t.Error(err)
	}
}

func TestText(t *testing.T) {
	lines := func(n int, line string) string { return strings.Repeat(line+"\n", n) + "end" }
	for _, c := range []struct{ name, text, note, species, trk string }{
		{name: "plain", text: "rock"},
		{name: "markup", text: `</name><script>alert("1 & '2'")</script>&amp;&#65;]]>`},
		{name: "accents", text: "Völlig – 30 °C, 魚 🐟"},
		{name: "quotes and commas", text: `"a","b" "" ,;|` + "\t" + `x"`},
		{name: "a quote at each end", text: `"x"`},
		{name: "formula", text: `=1+1`}, {name: "formula, plus", text: `+1`}, {name: "formula, minus", text: `-1+2`}, {name: "formula, at", text: `@SUM(A1)`},
		{name: "comment signs", text: `# not a comment`},
		{name: "blanks around", text: "\t rock \u00a0", note: "rock", species: "rock", trk: "rock"},
		{name: "line feed", text: "a\nb", species: "a b"},
		{name: "line breaks", text: "a\r\nb\rc\n\n\"d", note: "a\nb\nc\n\n\"d", species: "a b c  \"d", trk: "a\r\nb\rc\n\n\"d"},
		{name: "a line like a row", text: "a\n" + strings.Repeat(",", 11), note: "a " + strings.Repeat(",", 11), species: "a " + strings.Repeat(",", 11)},
		{name: "a line nearly like a row", text: "a\n" + strings.Repeat(",", 10), species: "a " + strings.Repeat(",", 10)},
		{name: "50 line breaks", text: lines(50, "x"), species: strings.Repeat("x ", 50) + "end"},
		{name: "51 line breaks", text: lines(51, "x"), note: strings.Repeat("x ", 51) + "end", species: strings.Repeat("x ", 51) + "end"},
		{name: "control characters", text: "a\x00\x01\x0b\x1b\x7fb\uffff", trk: "a\x7fb"},
		{name: "only control characters", text: "\x00\x01", trk: "-"},
		{name: "not UTF-8", text: "a\xff\xfeb", note: "a\ufffdb", species: "a\ufffdb", trk: "a\ufffdb"},
		{name: "byte order mark", text: "\ufeffx"},
		{name: "end of a cell", text: `\.`},
		{name: "no text", text: "n/a", note: "-", species: "-"},
		{name: "dashes", text: "--", note: "-", species: "-"},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := func(s string) string {
				switch s {
				case "":
					return c.text
				case "-": // for none
					return ""
				}
				return s
			}
			e := []ingest.Event{{Time: noon, Kind: ingest.Mark, Count: 1, Species: c.text, Note: c.text}, {Time: noon, Count: 1, Note: "the next row"}}
			r := readCSV(t, eventText(t, e))
			sound(t, r, 2)
			e[0].Note, e[0].Species = want(c.note), want(c.species)
			same(t, "event", clearEvents(r.Events), e)
			tr := []ingest.Track{{Name: c.text, Fixes: tracks()[1].Fixes}}
			r = readGPX(t, trackText(t, tr))
			sound(t, r, 1)
			tr[0].Name = want(c.trk)
			same(t, "track", clearTracks(r.Tracks), tr)
		})
	}
}

// No cell of text may begin as a formula does. The signs are common practice, no
// source.
func TestNoFormula(t *testing.T) {
	for _, sign := range []string{"=", "+", "-", "@", "\t=", "\r=", " ="} {
		text := eventText(t, []ingest.Event{{Time: noon, Count: 1, Species: sign + "x", Note: sign + "x"}})
		for _, cell := range strings.Split(strings.TrimSpace(strings.Split(string(text), "\n")[1]), ",") {
			if cell = strings.Trim(cell, `"`); cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") {
				t.Errorf("%q begins a cell: %q", sign, cell)
			}
		}
	}
}

// A catch must not be lost for the word that stands for its species.
func TestNoFish(t *testing.T) {
	for word := range noFish {
		e := []ingest.Event{{Time: noon, Kind: ingest.Catch, Count: 1, Species: strings.ToUpper(word)}, {Time: noon, Kind: ingest.Bait, Count: 1, Species: word}}
		got := readCSV(t, eventText(t, e)).Events
		bait := word
		if word == "none" || word == "nil" { // no text at all, to the reader
			bait = ""
		}
		if len(got) != 2 || got[0].Species != "" || got[1].Species != bait {
			t.Errorf("%q: %+v", word, got)
		}
		// The reader's list is the reason for ours.
		text := "time,species\n2031-10-04T12:00:00Z," + word + "\n2031-10-04T12:00:01Z,bass\n"
		if n := len(readCSV(t, []byte(text)).Events); n != 1 {
			t.Errorf("the reader takes a catch of %q", word)
		}
	}
}

// What doesn't come back is told in the package's comment; it must be no more than that.
func TestWhatDoesNotComeBack(t *testing.T) {
	minus := math.Copysign(0, -1)
	s := []ingest.Sounding{{Time: noon, DepthM: minus, HasPos: true, Pos: orb.Point{minus, 36.5}, SpeedMPS: known(102)}, {Time: noon.AddDate(100, 0, 0), DepthM: 1}, {Time: noon.AddDate(100, 0, 0), DepthM: 1, HasPos: true, Pos: orb.Point{-40, 36.5}}}
	same(t, "sounding", clearSoundings(readCSV(t, soundingText(t, s)).Soundings), []ingest.Sounding{
		{Time: noon, HasPos: true, Pos: orb.Point{minus, 36.5}}, {DepthM: 1, HasPos: true, Pos: orb.Point{-40, 36.5}}})
	w := []ingest.Wind{{Time: noon, SpeedMPS: 116}, {Time: noon, SpeedMPS: 115, FromDeg: 360}}
	same(t, "wind", clearWinds(readCSV(t, windText(t, w)).Winds), []ingest.Wind{{Time: noon, SpeedMPS: 115}})
	e := []ingest.Event{{Time: noon, Count: 10001}, {Time: noon, Count: 10000}}
	same(t, "event", clearEvents(readCSV(t, eventText(t, e)).Events), e[1:])
	x := []ingest.Track{{FromLog: true, Fixes: []ingest.Fix{
		{Time: noon, Pos: orb.Point{minus, minus}, SpeedMPS: known(minus), CourseDeg: known(360)},
		{Time: noon.AddDate(100, 0, 0), Pos: orb.Point{-40, 36.5}, SpeedMPS: known(102)}}}}
	same(t, "track", clearTracks(readGPX(t, trackText(t, x)).Tracks), []ingest.Track{{Fixes: []ingest.Fix{
		{Time: noon, Pos: orb.Point{minus, minus}, SpeedMPS: known(minus), CourseDeg: known(0)}, {Pos: orb.Point{-40, 36.5}}}}})
}

func TestEmpty(t *testing.T) {
	for _, c := range []struct {
		name, want string
		text       []byte
	}{
		{"soundings", "time,lat,lon,depth_below_transducer_m,temp_c,speed_mps\n", soundingText(t, nil)},
		{"events", "time,lat,lon,kind,species,count,length_m,weight_kg,fish_depth_m,head_kg,trailer_m,note\n", eventText(t, nil)},
		{"levels", "time,level_m\n", levelText(t, nil)},
		{"winds", "time,wind_mps,wind_from_deg\n", windText(t, nil)},
	} {
		if string(c.text) != c.want {
			t.Errorf("%s: %q", c.name, c.text)
		}
		sound(t, readCSV(t, c.text), 0)
	}
	if text := trackText(t, nil); string(text) != gpxHead+"</gpx>\n" {
		t.Errorf("%q", text)
	}
	if text := trackText(t, []ingest.Track{{Name: "none"}}); string(text) != gpxHead+"</gpx>\n" {
		t.Errorf("a track without fixes gives %q", text)
	}
}

// TestDeterministic: no clock, no map, no locale of the process.
func TestDeterministic(t *testing.T) {
	zoned := tracks()
	for i := range zoned {
		for k := range zoned[i].Fixes {
			if f := &zoned[i].Fixes[k]; !f.Time.IsZero() {
				f.Time = f.Time.In(time.FixedZone("", -3*3600))
			}
		}
	}
	if !bytes.Equal(trackText(t, tracks()), trackText(t, zoned)) {
		t.Error("the same instants told by another zone give another file")
	}
}

// stuck takes n bytes and fails.
type stuck struct{ n int }

var errFull = errors.New("no space left")

func (s *stuck) Write(p []byte) (int, error) {
	if len(p) > s.n {
		return s.n, errFull
	}
	s.n -= len(p)
	return len(p), nil
}

func TestWriterError(t *testing.T) {
	many := make([]ingest.Sounding, 5000)
	for i := range many {
		many[i] = ingest.Sounding{Time: noon, DepthM: 1}
	}
	for name, write := range map[string]func(io.Writer) error{
		"tracks":    func(w io.Writer) error { return WriteTracks(w, []ingest.Track{dayOf(5000)}) },
		"few fixes": func(w io.Writer) error { return WriteTracks(w, tracks()) },
		"soundings": func(w io.Writer) error { return WriteSoundings(w, many) },
		"events":    func(w io.Writer) error { return WriteEvents(w, events()) },
		"levels":    func(w io.Writer) error { return WriteLevels(w, levels()) },
		"winds":     func(w io.Writer) error { return WriteWinds(w, winds()) },
	} {
		size := len(written(t, write))
		for _, n := range []int{0, size / 2, size - 1} {
			if err := write(&stuck{n}); !errors.Is(err, errFull) {
				t.Errorf("%s: full after %d of %d bytes gives %v", name, n, size, err)
			}
		}
	}
}

// dayOf makes a track of n fixes a second apart.
func dayOf(n int) ingest.Track {
	t := ingest.Track{Name: "drift"}
	for i := range n {
		t.Fixes = append(t.Fixes, ingest.Fix{Time: noon.Add(time.Duration(i) * time.Second), Pos: orb.Point{-40 + float64(i)*2.1e-6, 36.5 + float64(i*i%97)*1e-7},
			SpeedMPS: known(float64(i%100) / 100), CourseDeg: known(float64(i * 7 % 360))})
	}
	return t
}

// Ten hours at one fix a second.
func BenchmarkWriteTracks(b *testing.B) {
	tracks := []ingest.Track{dayOf(36_000)}
	b.SetBytes(int64(len(trackText(b, tracks))))
	b.ReportAllocs()
	for b.Loop() {
		if err := WriteTracks(io.Discard, tracks); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWriteSoundings(b *testing.B) {
	var s []ingest.Sounding
	for _, f := range dayOf(36_000).Fixes {
		s = append(s, ingest.Sounding{Time: f.Time, Pos: f.Pos, HasPos: true, DepthM: 5 + f.SpeedMPS.V, SpeedMPS: f.SpeedMPS})
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := WriteSoundings(io.Discard, s); err != nil {
			b.Fatal(err)
		}
	}
}

// TestSeasonComesBack reads a made season, with spikes, gaps, lost bottoms and clocks
// that are off, writes each of its days one file a source and kind, reads those files
// by the same door, and holds the two seasons against each other.
func TestSeasonComesBack(t *testing.T) {
	plan := madelake.Default(7, madelake.Small)
	plan.Days, plan.Wind = 3, true
	files, _ := madelake.Make(plan)
	dir := t.TempDir()
	for _, f := range files {
		if ext := filepath.Ext(f.Name); ext == ".gpx" || ext == ".csv" {
			put(t, dir, f.Name, f.Data)
		}
	}
	opt := load.Options{MaxGap: 2 * time.Minute, Read: ingest.ReadOptions{Zone: time.FixedZone("UTC-3", -3*3600), DepthUnit: "ft"}}
	was := season(t, dir, opt)
	if len(was.Days) != 3 {
		t.Fatalf("%d days", len(was.Days))
	}
	again := t.TempDir()
	opt.Offsets = map[string]time.Duration{} // the clocks are right now
	opt.Read.DepthUnit = ""
	fixes, soundings, events, flags := 0, 0, 0, 0
	for _, d := range was.Days {
		for i := range was.Sources {
			name := func(what string) string { return fmt.Sprintf("%s-%02d-%s", d.Date, i, what) }
			var tracks []ingest.Track
			for _, x := range d.Tracks {
				if x.Source == i && !x.FromLog {
					tracks = append(tracks, x)
					fixes += len(x.Fixes)
				}
			}
			if tracks != nil {
				put(t, again, name("track.gpx"), trackText(t, tracks))
			}
			var s []ingest.Sounding
			for _, x := range d.Soundings {
				if x.Source == i {
					s = append(s, x.Sounding)
					if x.Flags != 0 {
						flags++
					}
				}
			}
			soundings += len(s)
			if s != nil {
				put(t, again, name("depths.csv"), soundingText(t, s))
				opt.Offsets[name("depths.csv")] = 0
			}
			var e []ingest.Event
			for _, x := range d.Events {
				if x.Source == i {
					e = append(e, x.Event)
				}
			}
			events += len(e)
			if e != nil {
				put(t, again, name("catches.csv"), eventText(t, e))
			}
		}
		put(t, again, d.Date+"-winds.csv", windText(t, d.Winds))
		put(t, again, d.Date+"-level.csv", levelText(t, []ingest.Level{{Date: d.Date, LevelM: d.LevelM.V}}))
	}
	if fixes < 3000 || soundings < 3000 || events < 10 || flags == 0 {
		t.Fatalf("too little of a season: %d fixes, %d soundings, %d flagged, %d events", fixes, soundings, flags, events)
	}
	is := season(t, again, opt)
	for _, p := range is.Problems {
		t.Errorf("the reader says: %v", p)
	}
	if len(is.Days) != len(was.Days) {
		t.Fatalf("%d days came back of %d", len(is.Days), len(was.Days))
	}
	for i, d := range was.Days {
		receivers := func(x []ingest.Track) []ingest.Track {
			return clearTracks(slices.DeleteFunc(slices.Clone(x), func(x ingest.Track) bool { return x.FromLog }))
		}
		raw := func(x []ingest.PlacedSounding) (s []ingest.Sounding) {
			for _, p := range x {
				s = append(s, p.Sounding)
			}
			return clearSoundings(s)
		}
		noted := func(x []ingest.PlacedEvent) (s []ingest.Event) {
			for _, p := range x {
				s = append(s, p.Event)
			}
			return clearEvents(s)
		}
		flagsOf := func(x ingest.Day) (s []ingest.FixFlag, n []ingest.SoundingFlag) {
			for _, t := range x.Tracks {
				for _, f := range t.Fixes {
					if !t.FromLog {
						s = append(s, f.Flags)
					}
				}
			}
			for _, f := range x.Soundings {
				n = append(n, f.Flags)
			}
			return s, n
		}
		b := is.Days[i]
		same(t, d.Date+" track", receivers(b.Tracks), receivers(d.Tracks))
		same(t, d.Date+" sounding", raw(b.Soundings), raw(d.Soundings))
		same(t, d.Date+" event", noted(b.Events), noted(d.Events))
		same(t, d.Date+" wind", clearWinds(b.Winds), clearWinds(d.Winds))
		if b.LevelM != d.LevelM {
			t.Errorf("%s: level %v, want %v", d.Date, b.LevelM, d.LevelM)
		}
		gotFixes, gotSoundings := flagsOf(b)
		wantFixes, wantSoundings := flagsOf(d)
		same(t, d.Date+" flags of fix", gotFixes, wantFixes)
		same(t, d.Date+" flags of sounding", gotSoundings, wantSoundings)
	}
}

func put(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
		t.Fatal(err)
	}
}

func season(t *testing.T, dir string, opt load.Options) ingest.Season {
	t.Helper()
	s, err := load.Season(context.Background(), []string{dir}, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestNotTakenForAnOverlay: package load leaves files made by leadline alone, but
// not these.
func TestNotTakenForAnOverlay(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "track.gpx", trackText(t, tracks()))
	put(t, dir, "depths.csv", soundingText(t, soundings()))
	put(t, dir, "catches.csv", eventText(t, events()))
	put(t, dir, "levels.csv", levelText(t, levels()))
	put(t, dir, "winds.csv", windText(t, winds()))
	var got []string
	for _, s := range season(t, dir, load.Options{MaxGap: time.Minute}).Sources {
		got = append(got, s.TakenFor)
	}
	if want := []string{"CSV catch log", "CSV depth log", "CSV water levels", "GPX track", "CSV wind table"}; !slices.Equal(got, want) {
		t.Errorf("taken for %q, want %q", got, want)
	}
}
