package gpxfile

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"leadline/ingest"
)

// endless gives head, then n times one of middle (where %d is a number), then end.
func endless(head, middle string, n int, end string) io.Reader {
	i := -1
	return readerFunc(func() string {
		switch i++; {
		case i == 0:
			return head
		case i <= n:
			if strings.Contains(middle, "%d") {
				return fmt.Sprintf(middle, i)
			}
			return middle
		case i == n+1:
			return end
		}
		return ""
	})
}

type pieces struct {
	next func() string
	left string
}

func readerFunc(next func() string) io.Reader { return &pieces{next: next} }

func (p *pieces) Read(b []byte) (int, error) {
	if p.left == "" {
		if p.left = p.next(); p.left == "" {
			return 0, io.EOF
		}
	}
	n := copy(b, p.left)
	p.left = p.left[n:]
	return n, nil
}

const start = `<gpx><trk><trkseg><trkpt lat="36.5" lon="-40"/>`

// Files made to cost memory or time. The bound on memory is on what is live when
// the file is read, records and all; 16 MiB is more than any of them needs. Time
// is bounded by the tests' own limit; each takes less than a second.
func TestHostile(t *testing.T) {
	for _, c := range []struct {
		name    string
		in      io.Reader
		used    int
		problem string // of the last; or of the error
	}{
		{"entities in entities", strings.NewReader(`<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>` + start + `<trkpt lat="&b;" lon="1"/></trkseg></trk></gpx>`), 1,
			`"&" is not a known word, wanted &amp;; read as a plain & in 1 place`},
		{"empty segments", endless(start+"</trkseg>", "<trkseg></trkseg>", 100_000, "</trk></gpx>"), 1, ""},
		{"empty tracks", endless(start+"</trkseg></trk>", "<trk><name>%d</name><trkseg/></trk>", 50_000, "</gpx>"), 1, ""},
		{"namespaces", endless(start+`</trkseg></trk>`, `<a xmlns:b%d="urn:b"/>`, 50_000, "</gpx>"), 1, ""},
		{"names of elements", endless(start, `<trkpt lat="36.5" lon="-40"><e%d/></trkpt>`, 20_000, "</trkseg></trk></gpx>"), 20_001, ""},
		{"endless comment", endless(start+"<!--", "- ", 600_000, ""), 1, "one element or text is longer than 1 MiB"},
		{"endless attribute", endless(start+`<trkpt lat="`, "1111111111111111", 100_000, ""), 1, "one element or text is longer than 1 MiB"},
		{"endless attributes", endless(start+`<trkpt `, `a%d="1" `, 150_000, ""), 1, "one element or text is longer than 1 MiB"},
		{"endless name", endless(start+`<`, `aaaaaaaaaaaaaaaa`, 100_000, ""), 1, "one element or text is longer than 1 MiB"},
		{"endless declaration", endless(`<!DOCTYPE gpx [`, `<!ENTITY a "b">`, 100_000, ""), 0, "one element or text is longer than 1 MiB"},
		{"endless blanks", endless(``, `                `, 100_000, ""), 0, "one element or text is longer than 1 MiB"},
		{"endless nesting", endless(start, `<a>`, 200_000, ""), 1, "elements lie deeper than 64 in each other"},
		{"endless nesting of points", endless(start, `<trkpt lat="1" lon="1">`, 50_000, ""), 1, "elements lie deeper than 64 in each other"},
		{"endless children", endless(start+`<trkpt lat="1" lon="1"><extensions>`, `<`+strings.Repeat("a", 64)+`/>`, 20_000, ""), 1, "one element or text is longer than 1 MiB"},
		{"endless & ", endless(start+`</trkseg><name>`, `&`, 300_000, ""), 1, "read as a plain & in"},
		{"gigantic number", strings.NewReader(start + `<trkpt lat="1" lon="` + strings.Repeat("9", 900_000) + `"/></trkseg></trk></gpx>`), 1, "is not a number, wanted degrees from -180 to 180"},
		{"gigantic exponent", strings.NewReader(start + `<trkpt lat="1" lon="1e` + strings.Repeat("9", 900_000) + `"/></trkseg></trk></gpx>`), 1, "is not a number, wanted degrees from -180 to 180"},
		{"zeros to the end", endless(start, "\x00\x00\x00\x00\x00\x00\x00\x00", 200_000, ""), 1, "illegal character code U+0000"},
		{"bad points", endless(start, `<trkpt lat="x" lon="1"/>`, 30_000, "</trkseg></trk></gpx>"), 1, "20000 more problems with row set aside"},
		{"long bad values", endless(start, `<trkpt lat="`+strings.Repeat("x", 20_000)+`" lon="1"/>`, 100, "</trkseg></trk></gpx>"), 1, "is not a number"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := liveMiB()
			r, err := Read(c.in, "t.gpx", ingest.ReadOptions{})
			said := ""
			if err != nil {
				said = err.Error()
			} else if n := len(r.Problems); n > 0 {
				said = r.Problems[n-1].Error()
			}
			if c.problem == "" && said != "" || !strings.Contains(said, c.problem) {
				t.Errorf("said %s", said)
			}
			balance(t, r)
			if r.Source.Used != c.used {
				t.Errorf("%d used", r.Source.Used)
			}
			if live := liveMiB() - before; live > 16+float64(c.used)*256/(1<<20) {
				t.Errorf("%.0f MiB are held", live)
			}
			runtime.KeepAlive(r)
		})
	}
}

// Memory while reading, too, is bounded: text of six megabytes goes through a heap
// of fewer.
func TestMemoryWhileReading(t *testing.T) {
	for _, c := range []struct{ name, point string }{
		{"plain points", `<trkpt lat="36.5" lon="-40"><desc>` + strings.Repeat("a", 2000) + "</desc></trkpt>"},
		{"points for the decoder", `<trkpt lat="36.5" lon="-40"><desc>` + strings.Repeat("ä", 1000) + "</desc></trkpt>"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := liveMiB()
			i, most := 0, 0.0
			text := endless(start, c.point, 3_000, "</trkseg></trk></gpx>")
			r, err := Read(readerFunc(func() string {
				if i++; i%500 == 0 {
					most = max(most, liveMiB()-before)
				}
				b := make([]byte, 4096)
				n, _ := text.Read(b)
				return string(b[:n])
			}), "t.gpx", ingest.ReadOptions{})
			if err != nil || r.Source.Used != 3_001 {
				t.Fatal(r.Source.Used, err)
			}
			if most > 8 {
				t.Errorf("%.0f MiB live while reading", most)
			}
		})
	}
}

func liveMiB() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / (1 << 20)
}

func TestProblemsDoNotFlood(t *testing.T) {
	var l ledger
	for i := range mostProblems + 30 {
		l.add(ingest.Problem{File: "t.gpx", Line: i + 1, Field: "lat", Found: "x" + strings.Repeat("ä", 1000), Kind: ingest.ErrNumber, Outcome: ingest.Outcome(i % 3)})
	}
	l.last(ingest.Problem{File: "t.gpx", Kind: ingest.ErrTruncated})
	got := l.close()
	if len(got) != mostProblems+2 || !errors.Is(got[mostProblems], ingest.ErrTruncated) {
		t.Fatal(len(got))
	}
	for _, p := range got[:mostProblems] {
		if len(p.Found) > foundBytes+len("…") || !utf8.ValidString(p.Found) {
			t.Fatalf("%q is kept", p.Found)
		}
	}
	last := got[mostProblems+1]
	want := "this and what follows it right: from here on problems were counted, not listed: 10 more problems with row set aside, 10 more problems with row used without it, 10 more problems with row kept in doubt"
	if last.Wanted != want || last.Line != mostProblems+1 || last.Outcome != ingest.SetAside {
		t.Errorf("%+v", last)
	}
	t.Run("none too many", func(t *testing.T) {
		r := read(t, trk(strings.Repeat(`<trkpt lat="x" lon="1"/>`, mostProblems)+`<trkpt lat="1" lon="1"/>`), ingest.ReadOptions{})
		if len(r.Problems) != mostProblems || r.Source.SetAside != mostProblems {
			t.Error(len(r.Problems), r.Source)
		}
	})
	t.Run("one too many", func(t *testing.T) {
		r := read(t, trk(strings.Repeat(`<trkpt lat="x" lon="1"/>`, mostProblems+1)+`<trkpt lat="1" lon="1"/>`), ingest.ReadOptions{})
		if len(r.Problems) != mostProblems+1 || r.Source.SetAside != mostProblems+1 || !strings.Contains(r.Problems[mostProblems].Wanted, "1 more problem with row set aside") {
			t.Error(len(r.Problems), r.Source)
		}
	})
}

// A point that is set aside is quoted word for word, as long as a person can read it.
func TestRowsSetAside(t *testing.T) {
	long := `<trkpt lat="x" lon="1"><desc>` + strings.Repeat("a", rowBytes) + `</desc></trkpt>`
	for _, c := range []struct {
		name, text string
		rows       []string
	}{
		{"point", trk("<!-- x -->\n  <trkpt lat='x'\n lon=\"1\"><desc>a & b &amp; ä</desc></trkpt>\n" + plainPoint),
			[]string{"<trkpt lat='x'\n lon=\"1\"><desc>a & b &amp; ä</desc></trkpt>", ""}},
		{"two things wrong", trk(`<trkpt lat="x" lon="y"/>` + plainPoint), []string{`<trkpt lat="x" lon="y"/>`, `<trkpt lat="x" lon="y"/>`}},
		{"behind plain points", trk(plainPoint + plainPoint + `<trkpt lat="x" lon="1"></trkpt>`), []string{`<trkpt lat="x" lon="1"></trkpt>`}},
		{"behind long text", trk(plainPoint + "<desc>" + strings.Repeat("a", rowBytes+1) + `</desc><trkpt lat="x" lon="1"></trkpt>`), []string{`<trkpt lat="x" lon="1"></trkpt>`}},
		{"behind long blanks", trk(plainPoint + strings.Repeat(" ", rowBytes+1) + `<trkpt lat="x" lon="1"></trkpt>`), []string{`<trkpt lat="x" lon="1"></trkpt>`}},
		{"waypoint", gpx11(`<wpt lat="36.5" lon="-40"><time>noon</time><type>catch</type></wpt>` + `<wpt lat="36.5" lon="-40"><type>catch</type></wpt>`),
			[]string{`<wpt lat="36.5" lon="-40"><time>noon</time><type>catch</type></wpt>`}},
		{"out of place", gpx11(`<trkpt lat="36.5" lon="-40"/>`), []string{`<trkpt lat="36.5" lon="-40"/>`}},
		{"used without a value", trk(`<trkpt lat="36.5" lon="-40"><depth>--</depth></trkpt>`), []string{""}},
		{"too long", trk(long + plainPoint), []string{""}},
		{"broken off", `<gpx><trk><trkseg>` + plainPoint + `<trkpt lat="36.5" lon="-40"><time>20`, []string{`<trkpt lat="36.5" lon="-40"><time>20`}},
		{"broken off in its tag", `<gpx><trk><trkseg>` + plainPoint + `<trkpt lat="36.`, []string{`<trkpt lat="36.`}},
		{"broken off between points", `<gpx><trk><trkseg>` + plainPoint, []string{""}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			var rows []string
			for _, p := range r.Problems {
				rows = append(rows, p.Row)
			}
			if fmt.Sprintf("%q", rows) != fmt.Sprintf("%q", c.rows) {
				t.Errorf("got  %q\nwant %q", rows, c.rows)
			}
		})
	}
}

// What lies behind a break is counted, and its points are rows set aside.
func TestBehindABreak(t *testing.T) {
	for _, c := range []struct {
		name, behind string
		setAside     int
		said         string
	}{
		{"nothing", "", 0, "nothing behind this line was read"},
		{"blanks and zeros", "\n \x00\n\n", 0, "nothing behind this line was read"},
		{"points of all kinds", "\n" + plainPoint + "<g:trkpt lat=\"1\"/><wpt/>\n<rtept\n/><trkpts/></trkpt><trkseg>\n", 4, "of 4 lines behind it nothing was read, 4 points among them"},
		{"a long way", strings.Repeat(strings.Repeat(" ", 1000)+"\n"+plainPoint, 500), 500, "of 500 lines behind it nothing was read, 500 points among them"},
		{"half a tag", "\n<trkpt", 0, "of 1 line behind it nothing was read, 0 points among them"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, "<gpx><trk><trkseg>\n"+plainPoint+"</trk>"+c.behind, ingest.ReadOptions{})
			p := r.Problems[len(r.Problems)-1]
			if r.Source.SetAside != c.setAside || p.Line != 3 || !strings.HasSuffix(p.Wanted, "; "+c.said) {
				t.Errorf("%d set aside, %v", r.Source.SetAside, p)
			}
		})
	}
}

// A point that the decoder looked ahead at lies behind the break, wherever the
// window ends.
func TestBreakAtTheWindowsEnd(t *testing.T) {
	head := "<gpx><trk><trkseg>" + plainPoint
	for at := windowBytes - 9; at < windowBytes+2; at++ {
		text := head + strings.Repeat(" ", at-len(head)-1) + "\x00" + plainPoint
		if r := read(t, text, ingest.ReadOptions{}); r.Source.SetAside != 1 || r.Source.Used != 1 {
			t.Errorf("at %d: %+v", at, r.Source)
		}
	}
}

// The time a file takes grows with its length, not with its square: eight times
// the points may take 24 times as long, for other work on the machine, but not 64.
func TestTimeIsLinear(t *testing.T) {
	for _, c := range []struct{ name, middle string }{
		{"plain points", plainPoint},
		{"points for the decoder", `<trkpt lat="36.5" lon="-40"><a b="c"/></trkpt>`},
		{"by turns", plainPoint + `<trkpt lat="36.5" lon="-40"><a b="c"/></trkpt>`},
		{"segments of one point", plainPoint + "</trkseg><trkseg>"},
		{"waypoints", "</trkseg></trk><wpt lat='1' lon='1'><type>catch</type></wpt><trk><trkseg>"},
		{"nearly points", `<trkpt lat="36.5" lon="-40"><a><b><c><d></d></c></b></a><e x="1"/></trkpt>`},
	} {
		t.Run(c.name, func(t *testing.T) {
			took := func(n int) time.Duration {
				least := time.Hour
				for range 3 {
					begun := time.Now()
					if _, err := Read(endless(start, c.middle, n, "</trkseg></trk></gpx>"), "t.gpx", ingest.ReadOptions{}); err != nil {
						t.Fatal(err)
					}
					least = min(least, time.Since(begun))
				}
				return least
			}
			few, many := took(300), took(2400)
			if many > 24*few+50*time.Millisecond {
				t.Errorf("300 took %v, 2400 took %v", few, many)
			}
		})
	}
}
