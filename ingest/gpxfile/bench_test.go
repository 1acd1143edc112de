package gpxfile

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/tkrajina/gpxgo/gpx"

	"leadline/ingest"
)

// A made gives n track points with extensions, 265 bytes each, without ever
// holding more than a few.
type made struct {
	n, i int
	buf  bytes.Buffer
}

func (m *made) Read(p []byte) (int, error) {
	for m.buf.Len() < len(p) && m.i <= m.n {
		switch m.i {
		case 0:
			m.buf.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<gpx version="1.1" creator="made" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x"><trk><name>drift</name><trkseg>` + "\n")
		default:
			madePoint(&m.buf, m.i)
		}
		if m.i == m.n {
			m.buf.WriteString("</trkseg></trk></gpx>\n")
		}
		m.i++
	}
	return m.buf.Read(p)
}

func madePoint(w *bytes.Buffer, i int) {
	at := time.Date(2031, 10, 4, 6, 0, 0, 0, time.UTC).Add(time.Duration(i) * time.Second)
	fmt.Fprintf(w, "<trkpt lat=\"%.7f\" lon=\"%.7f\">\n<ele>210.5</ele><time>%s</time><extensions><x:TrackPointExtension><x:depth>%.2f</x:depth><x:wtemp>17.5</x:wtemp><x:speed>0.%02d</x:speed><x:course>%d</x:course></x:TrackPointExtension></extensions></trkpt>\n",
		36.5+float64(i)*1.3e-6+float64(i*i%97)*1e-7, -40+float64(i)*2.1e-6, at.Format(time.RFC3339), 5+float64(i%700)/100, i*i%100, i*7%360)
}

// Ten hours at one point a second, and a million points, 266 MB of text. Whole
// process, on Linux:
//
//	go test -c && ./gpxfile.test -test.run '^$' -test.bench 'Read/1000000' -test.benchtime 1x
func BenchmarkRead(b *testing.B) {
	for _, n := range []int{36_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			size, err := io.Copy(io.Discard, &made{n: n})
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(size)
			b.ReportAllocs()
			var kept ingest.Records
			for b.Loop() {
				// To write a million points takes longer than to read them.
				kept = ingest.Records{}
				b.StopTimer()
				text := madeText(b, n)
				b.StartTimer()
				r, err := Read(text, "b.gpx", ingest.ReadOptions{})
				if err != nil || len(r.Soundings) != n || len(r.Tracks[0].Fixes) != n {
					b.Fatal(err, len(r.Soundings))
				}
				kept = r
			}
			reportPeak(b)
			runtime.KeepAlive(kept)
		})
	}
}

// The library alone, for the ratio.
func BenchmarkBareLibrary(b *testing.B) {
	for _, n := range []int{36_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			text, err := io.ReadAll(&made{n: n})
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if doc, err := gpx.ParseBytes(text); err != nil || len(doc.Tracks[0].Segments[0].Points) != n {
					b.Fatal(err)
				}
			}
			reportPeak(b)
		})
	}
}

// Every point through the decoder.
func BenchmarkDecoder(b *testing.B) {
	text, err := io.ReadAll(&made{n: 36_000})
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		f := newFilter(bytes.NewReader(text), "b.gpx", ingest.ReadOptions{})
		f.slow = true
		if r, err := f.records(); err != nil || len(r.Soundings) != 36_000 {
			b.Fatal(err)
		}
	}
	reportPeak(b)
}

// madeText writes the points to a file and opens it.
func madeText(b *testing.B, n int) io.Reader {
	f, err := os.CreateTemp(b.TempDir(), "*.gpx")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { f.Close() })
	if _, err := io.Copy(f, &made{n: n}); err != nil {
		b.Fatal(err)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		b.Fatal(err)
	}
	return f
}

// reportPeak reports the most memory that the process has held until now; where
// the system does not tell, nothing.
func reportPeak(b *testing.B) {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return
	}
	for line := range strings.Lines(string(status)) {
		var kB float64
		if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kB); n == 1 {
			b.ReportMetric(kB/1024, "peak-MiB")
		}
	}
}
