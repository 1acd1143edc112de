package dayfile

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"leadline/ingest"
)

// creator is not plain "leadline": package load leaves overlays of that creator alone.
const creator = "leadline day"

const gpxHead = `<?xml version="1.0" encoding="UTF-8"?>
<gpx xmlns="http://www.topografix.com/GPX/1/1" xmlns:d="urn:leadline:day:1" version="1.1" creator="` + creator + `">
`

// blockBytes is how much text is gathered before it goes to the writer.
const blockBytes = 64 << 10

// WriteTracks writes tracks as GPX 1.1, in the order given, and changes nothing of
// them. Positions are degrees. GPX 1.1 has no place for a fix's speed and course:
// they go into its extensions, as elements speed (m/s) and course (degrees) of the
// namespace urn:leadline:day:1, where package ingest/gpxfile reads them.
//
// Each Track is a trkseg. Tracks of the same name that follow each other share one
// trk, as a receiver wrote them; they come back as the same Tracks. One without
// fixes is not written, as no reader would give it back. Tracks with FromLog come back
// as a receiver's: leave them out, load makes them of the soundings again. No track
// gives a document without points, which is valid, and which the reader refuses.
//
// A longitude of exactly 180 is written as it is, for the same number to come back;
// the schema wants -180 for that meridian.
//
// Errors are those of w, and one that names the fix whose position, speed or course
// is not finite. Cost is linear; memory is one block of text.
func WriteTracks(w io.Writer, tracks []ingest.Track) error {
	b := append(make([]byte, 0, blockBytes+4096), gpxHead...)
	open, name := false, "" // the trk at hand
	for i, t := range tracks {
		if len(t.Fixes) == 0 {
			continue
		}
		if open && t.Name != name {
			b = append(b, "</trk>\n"...)
			open = false
		}
		if !open {
			b = append(b, "<trk>"...)
			if text := xmlText(t.Name); text != "" {
				b = append(append(append(b, "<name>"...), text...), "</name>"...)
			}
			b = append(b, '\n')
			open, name = true, t.Name
		}
		b = append(b, "<trkseg>\n"...)
		for k := range t.Fixes {
			var err error
			if b, err = appendFix(b, &t.Fixes[k]); err != nil {
				return fmt.Errorf("track %d, fix %d: %w", i+1, k+1, err)
			}
			if len(b) >= blockBytes {
				if _, err := w.Write(b); err != nil {
					return err
				}
				b = b[:0]
			}
		}
		b = append(b, "</trkseg>\n"...)
	}
	if open {
		b = append(b, "</trk>\n"...)
	}
	_, err := w.Write(append(b, "</gpx>\n"...))
	return err
}

// appendFix writes a trkpt. Its children stand in the order of wptType: time, then
// extensions.
func appendFix(b []byte, f *ingest.Fix) ([]byte, error) {
	for _, q := range [...]struct {
		what string
		v    ingest.Maybe
	}{{"lat", ingest.Known(f.Pos[1])}, {"lon", ingest.Known(f.Pos[0])}, {"speed", f.SpeedMPS}, {"course", f.CourseDeg}} {
		if q.v.OK {
			if err := finite(q.what, q.v.V); err != nil {
				return b, err
			}
		}
	}
	b = appendNumber(append(b, `<trkpt lat="`...), f.Pos[1])
	b = appendNumber(append(b, `" lon="`...), f.Pos[0])
	if f.Time.IsZero() && !f.SpeedMPS.OK && !f.CourseDeg.OK {
		return append(b, "\"/>\n"...), nil
	}
	b = append(b, `">`...)
	if !f.Time.IsZero() {
		b = append(b, "<time>"...)
		b = f.Time.UTC().AppendFormat(b, time.RFC3339Nano)
		b = append(b, "</time>"...)
	}
	if f.SpeedMPS.OK || f.CourseDeg.OK {
		b = append(b, "<extensions>"...)
		if f.SpeedMPS.OK {
			b = append(appendNumber(append(b, "<d:speed>"...), f.SpeedMPS.V), "</d:speed>"...)
		}
		if f.CourseDeg.OK {
			b = append(appendNumber(append(b, "<d:course>"...), f.CourseDeg.V), "</d:course>"...)
		}
		b = append(b, "</extensions>"...)
	}
	return append(b, "</trkpt>\n"...), nil
}

// xmlText returns a text as XML holds it: escaped, without the characters that XML
// 1.0 (section 2.2, Char) leaves out.
func xmlText(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t', r == '\n', r == '\r', r >= ' ' && r < 0xfffe, r > 0xffff:
			return r
		}
		return -1
	}, strings.ToValidUTF8(s, string(utf8.RuneError)))
	var b strings.Builder
	xml.EscapeText(&b, []byte(strings.TrimSpace(s))) // no error: a Builder gives none
	return b.String()
}
