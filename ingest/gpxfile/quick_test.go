package gpxfile

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"leadline/ingest"
)

const plainPoint = `<trkpt lat="36.5" lon="-40"><time>2031-10-04T12:00:00Z</time></trkpt>` + "\n"

// Each case is a point behind one that the decoder reads. What comes out is held
// against the decoder by read; taken says who is to have read it.
func TestQuickPoints(t *testing.T) {
	inside := func(s string) string { return `<trkpt lat="36.5" lon="-40">` + s + `</trkpt>` }
	extended := func(s string) string { return inside("<extensions>" + s + "</extensions>") }
	for _, c := range []struct {
		name, point string
		taken       bool
	}{
		{"plain", plainPoint, true},
		{"lon first, single quotes, lines", "<trkpt\n lon='-40'\r\n\tlat='36.5' ></trkpt>", true},
		{"closed at once", `<trkpt lat="36.5" lon="-40"/>`, true},
		{"closed at once behind a blank", `<trkpt lat="36.5" lon="-40" />`, true},
		{"all of a sonar", extended("\r\n<x:a><x:Depth> 3.25\n</x:Depth><wtemp>17</wtemp><x:speed>.5</x:speed><x:course>360.</x:course></x:a>"), true},
		{"namespaces on the way", extended(`<x:a xmlns:x='urn:x' xmlns="urn:y"><x:depth xmlns:z="">3</x:depth></x:a>`), true},
		{"prefixed child", inside(`<x:depth>3</x:depth><x:hr>3</x:hr>`), true},
		{"empty elements", inside("<time/><ele></ele><extensions/>"), true},
		{"elements no one knows", extended("<a.b-c_d>x ' \" # ; y</a.b-c_d><e/><f></f>"), true},
		{"element outside extensions", inside("<link><text>3</text><depth>8</depth></link>"), true},
		{"element outside extensions, behind them", inside("<extensions><x:b>1</x:b></extensions><link><depth>8</depth></link>"), true},
		{"extensions in extensions", extended("<extensions><depth>3</depth></extensions><depth>3</depth>"), true},
		{"same depth twice", extended("<depth>3</depth><depth>3.0</depth>"), true},
		{"temp beside a depth behind it", extended("<temp>17</temp><depth>3</depth>"), true},
		{"temp that is not one of water, alone", extended("<temp>77</temp>"), true},
		{"temp that is no number, alone", extended("<temp>warm</temp>"), true},
		{"offset", inside("<time>2031-10-04T12:00:00.25+02:00</time>"), true},
		{"comma", inside("<time>2031-10-04 12:00:00,25Z</time>"), true},
		{"no zone, one given", inside("<time>2031-10-04T12:00:00</time>"), true},
		{"seventeen digits", `<trkpt lat="36.123456789012345" lon="-40.123456789012345"/>`, true},
		{"exponent", `<trkpt lat="3.65e1" lon="-4E1"/>`, true},
		{"CRLF", "<trkpt lat=\"36.5\" lon=\"-40\">\r\n<ele>3\r\n</ele>\r\n</trkpt>", true},

		{"text before an element", extended("a<x:b>3<depth>3</depth></x:b>"), true},

		{"prefixed point", `<g:trkpt xmlns:g="http://www.topografix.com/GPX/1/1" lat="36.5" lon="-40"/>`, false},
		{"prefixed time", inside(`<x:time>2031-10-04T13:00:00Z</x:time>`), false},
		{"namespace of the point", `<trkpt xmlns="urn:z" lat="36.5" lon="-40"><time>2031-10-04T13:00:00Z</time></trkpt>`, false},
		{"namespace of a child", inside(`<time xmlns="urn:z">2031-10-04T13:00:00Z</time>`), false},
		{"attribute", `<trkpt lat="36.5" lon="-40" id="3"/>`, false},
		{"attribute twice", `<trkpt lat="36.5" lat="37" lon="-40"/>`, false},
		{"no blank between attributes", `<trkpt lat="36.5"lon="-40"/>`, false},
		{"unit", extended(`<depth unit="ft">3</depth>`), false},
		{"no longitude", `<trkpt lat="36.5"/>`, false},
		{"at 0, 0", `<trkpt lat="0" lon="-0.0"/>`, false},
		{"beyond the pole", `<trkpt lat="90.01" lon="-40"/>`, false},
		{"beyond 180", `<trkpt lat="36.5" lon="180.01"/>`, false},
		{"words for numbers", extended("<depth>deep</depth>"), false},
		{"elevation of words", inside("<ele>high</ele>"), false},
		{"out of range", extended("<course>361</course>"), false},
		{"temp out of range beside a depth", extended("<temp>77</temp><depth>3</depth>"), false},
		{"two depths", extended("<depth>3</depth><depth>4</depth>"), false},
		{"two temps beside a depth", extended("<temp>17</temp><temp>18</temp><depth>3</depth>"), false},
		{"two times", inside("<time>2031-10-04T12:00:00Z</time><time>2031-10-04T12:00:01Z</time>"), false},
		{"time of words", inside("<time>noon</time>"), false},
		{"reference", inside("<name>a &amp; b</name>"), false},
		{"end of no CDATA", inside("<name>a ]]> b</name>"), false},
		{"bare &", inside("<name>a & b</name>"), false},
		{"comment", inside("<!-- x --><ele>3</ele>"), false},
		{"comment in a number", extended("<depth>3<!-- x -->.5</depth>"), false},
		{"CDATA", extended("<depth><![CDATA[3]]></depth>"), false},
		{"instruction", inside("<?x y?>"), false},
		{"text behind an element", inside("<ele>3</ele>b"), false},
		{"text that is not ASCII", inside("<name>bäy</name>"), false},
		{"name that is not ASCII", inside("<näme>b</näme>"), false},
		{"point in a point", inside(`<trkpt lat="1" lon="1"/>`), false},
		{"empty point in a point", inside(`<rtept/>`), false},
		{"empty point in extensions", extended(`<x:wpt></x:wpt>`), false},
		{"point in extensions", extended(`<wpt><a/></wpt>`), false},
		{"deep", extended(strings.Repeat("<a>", 9) + strings.Repeat("</a>", 9)), false},
		{"many", extended(strings.Repeat("<a/>", 40)), false},
		{"long", inside("<desc>" + strings.Repeat("a", quickBytes) + "</desc>"), false},
		{"comment before it", "<!-- x -->" + plainPoint, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := trk(plainPoint + c.point)
			opt := ingest.ReadOptions{Zone: time.FixedZone("", 3600), ClockOffset: time.Minute}
			read(t, text, opt)
			f := newFilter(strings.NewReader(text), "t.gpx", opt)
			if _, err := f.records(); err != nil {
				t.Fatal(err)
			}
			if got := f.quick.n == 1; got != c.taken {
				t.Errorf("read from the text: %t", got)
			}
		})
	}
}

// What stands at an element's place in the point before is a guess only.
func TestQuickGuesses(t *testing.T) {
	points := []string{
		`<trkpt lat="36.5" lon="-40"><time>2031-10-04T12:00:00Z</time><depth>3</depth></trkpt>`,
		`<trkpt lat="36.5" lon="-40"><extensions><time>2031-10-04T13:00:00Z</time><depth>4</depth></extensions></trkpt>`,
		`<trkpt lat="36.5" lon="-40"><depth>5</depth><time>2031-10-04T12:00:01Z</time></trkpt>`,
		`<trkpt lat="36.5" lon="-40"><x:temp>5</x:temp><time>2031-10-04T12:00:02Z</time><speed>2</speed></trkpt>`,
		`<trkpt lat="36.5" lon="-40"/>`,
	}
	var b strings.Builder
	b.WriteString(plainPoint)
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		b.WriteString(points[rng.IntN(len(points))])
	}
	text := trk(b.String())
	read(t, text, ingest.ReadOptions{})
	f := newFilter(strings.NewReader(text), "t.gpx", ingest.ReadOptions{})
	if _, err := f.records(); err != nil || f.quick.n != 200 {
		t.Errorf("%d of 200 read from the text, %v", f.quick.n, err)
	}
}

// Points that the decoder must read lie among others; order, lines and tracks stay.
func TestQuickAmongOthers(t *testing.T) {
	var b strings.Builder
	want := 0
	for i := range 5000 {
		switch {
		case i%4000 == 3999:
			b.WriteString("</trkseg><trkseg>")
		case i%7 == 0:
			fmt.Fprintf(&b, "<trkpt lat=\"36.5\" lon=\"-40.%04d\"><name>a &amp; b</name><depth>%d</depth></trkpt>\n", i, i)
			want++
		case i%11 == 0:
			fmt.Fprintf(&b, "<trkpt lat=\"x\" lon=\"-40\"/>")
		default:
			fmt.Fprintf(&b, "<trkpt lat=\"36.5\" lon=\"-40.%04d\"><depth>%d</depth></trkpt>\n", i, i)
			want++
		}
	}
	text := trk(b.String())
	r := read(t, text, ingest.ReadOptions{})
	if len(r.Soundings) != want || len(r.Tracks) != 2 {
		t.Fatalf("%d soundings of %d, %d tracks", len(r.Soundings), want, len(r.Tracks))
	}
	line := 0
	for i, s := range r.Soundings {
		if want := -40 - s.DepthM/1e4; math.Abs(s.Pos.Lon()-want) > 1e-9 || s.Line < line || i > 0 && s.DepthM <= r.Soundings[i-1].DepthM {
			t.Fatalf("sounding %d: %+v", i, s)
		}
		line = s.Line
	}
	f := newFilter(strings.NewReader(text), "t.gpx", ingest.ReadOptions{})
	if _, err := f.records(); err != nil || f.quick.n < want/2 {
		t.Errorf("%d of %d read from the text, %v", f.quick.n, want, err)
	}
}

// A file's bytes may come in any portions, and a disk may fail between any two.
func TestQuickInPortions(t *testing.T) {
	text, err := io.ReadAll(&made{n: 700})
	if err != nil {
		t.Fatal(err)
	}
	want, err := Read(strings.NewReader(string(text)), "t.gpx", ingest.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	f := newFilter(iotest.HalfReader(&made{n: 5000}), "t.gpx", ingest.ReadOptions{})
	if r, err := f.records(); err != nil || f.quick.n != 4999 || len(r.Soundings) != 5000 {
		t.Errorf("%d of 5000 read from the text, %v", f.quick.n, err)
	}
	if cap(f.batch.points) > 4*batchPoints {
		t.Errorf("%d points waited for the library", cap(f.batch.points))
	}
	for name, in := range map[string]io.Reader{
		"byte by byte": iotest.OneByteReader(strings.NewReader(string(text))),
		"by halves":    iotest.HalfReader(strings.NewReader(string(text))),
		"error at end": iotest.DataErrReader(strings.NewReader(string(text))),
	} {
		if got, err := Read(in, "t.gpx", ingest.ReadOptions{}); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v, not the same", name, err)
		}
	}
	if _, err := Read(io.MultiReader(strings.NewReader(string(text[:len(text)/2])), iotest.ErrReader(io.ErrClosedPipe)), "t.gpx", ingest.ReadOptions{}); err == nil || err.Error() != "t.gpx: io: read/write on closed pipe" {
		t.Errorf("failing disk: %v", err)
	}
}

func TestDecimal(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 10_000 {
		digits := fmt.Sprint(rng.Uint64N(1e18))
		digits = digits[:1+rng.IntN(len(digits))]
		point := rng.IntN(len(digits) + 1)
		for _, s := range []string{digits[:point] + "." + digits[point:], "-" + digits} {
			if got, ok := decimal([]byte(s)); !ok {
				t.Fatalf("%q is no number", s)
			} else if want, err := strconv.ParseFloat(s, 64); err != nil || got != want {
				t.Fatalf("%q: %v, want %v %v", s, got, want, err)
			}
		}
	}
}

func FuzzDecimal(f *testing.F) {
	for _, s := range []string{"36.5", "-40", "+.5", "5.", "0.1", "9007199254740993", "123456789012345678", "1e5", "1e999", "-0", "", "-", ".", "1.2.3", "NaN", "0x1", "0.000000000000000001", "18446744073709551617"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, ok := decimal([]byte(s))
		if want, wantOK := number(s); ok != wantOK || ok && math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("%q: %v %t, want %v %t", s, got, ok, want, wantOK)
		}
	})
}

func FuzzZulu(f *testing.F) {
	for _, s := range []string{"2031-10-04T12:00:00Z", "2031-10-04T12:00:00.25Z", "2031-02-29T12:00:00Z", "2032-02-29T23:59:59.123456789Z", "2031-10-04T24:00:00Z", "2031-10-04T12:00:00.Z", "1979-10-04T12:00:00Z", "2031-10-04T12:00:0:Z"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var q quick
		for range 2 { // the second time the date is known
			got, ok := q.zulu([]byte(s))
			if !ok {
				continue
			}
			if want, err := time.Parse(time.RFC3339Nano, s); err != nil || got != want {
				t.Errorf("%q: %v, want %v %v", s, got, want, err)
			}
		}
	})
}

// FuzzQuick puts pieces of points behind each other, so that most inputs are nearly
// points, and holds the two ways of reading against each other.
func FuzzQuick(f *testing.F) {
	pieces := [...]string{
		`<trkpt lat="36.5" lon="-40">`, `<trkpt lat="36.5" lon="-40"/>`, `<trkpt lon='1' lat='2'>`, `</trkpt>`, `<trkpt>`, `<trkpt lat="x" lon="0">`,
		`<extensions>`, `</extensions>`, `<x:a>`, `</x:a>`, `<x:depth>`, `</x:depth>`, `<depth>`, `</depth>`, `<temp>17</temp>`, `<wtemp>17</wtemp>`,
		`3.5`, ` `, "\n", "\r\n", `<time>2031-10-04T12:00:00Z</time>`, `<time>2031-10-04T12:00:00`, `</time>`, `<speed>.5</speed>`, `<course>360</course>`, `<ele>`, `</ele>`,
		`<a/>`, `&`, `&amp;`, `<!-- x -->`, `<![CDATA[3]]>`, `<?x?>`, `ä`, `</trkseg><trkseg>`, `<x:time>noon</x:time>`, ` xmlns="urn:q"`, `<extensions xmlns:x="urn:x">`, `<name>b</name>`,
		`<wpt lat="1" lon="2">`, `</wpt>`, `</trkseg></trk>`, `<trk><trkseg>`, `<depth unit="ft">3</depth>`, `<trkpt lat="0" lon="0">`, `]]>`, `>`,
	}
	f.Add([]byte{0, 20, 6, 10, 16, 11, 7, 3, 0, 20, 3, 1, 34, 0, 14, 6, 12, 16, 13, 7, 3})
	f.Add([]byte{0, 3, 0, 6, 8, 10, 16, 11, 9, 17, 7, 18, 3, 0, 27, 27, 3, 19, 0, 36, 3})
	f.Fuzz(func(t *testing.T, choice []byte) {
		var b strings.Builder
		b.WriteString(plainPoint)
		for _, c := range choice {
			b.WriteString(pieces[int(c)%len(pieces)])
		}
		text := trk(b.String())
		r, err := Read(strings.NewReader(text), "t.gpx", ingest.ReadOptions{Zone: time.UTC})
		if err != nil {
			t.Fatal(err)
		}
		balance(t, r)
		sameBySlow(t, text, r, ingest.ReadOptions{Zone: time.UTC})
	})
}
