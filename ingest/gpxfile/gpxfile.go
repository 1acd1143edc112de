// Package gpxfile reads GPX 1.0 and 1.1 files: tracks, waypoints, and the depth,
// temperature, speed and course that devices put into their points.
//
// Inside a point, an element in extensions at any depth and in any namespace, or
// a child of the point itself as in GPX 1.0, is read when its name, in any case,
// is depth (metres), wtemp, watertemp or temp (water temperature, degrees
// Celsius), speed (metres per second) or course (degrees). atemp is taken for
// air temperature and heading for where the bow points: both are checked, listed
// and not used.
package gpxfile

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"

	"leadline/ingest"
)

// Recognise reports whether head, the first bytes of a file, begins an XML
// document whose root element is gpx. 4 KiB of head are enough.
func Recognise(head []byte) bool {
	d := xml.NewDecoder(decoded(bufio.NewReader(bytes.NewReader(head))))
	d.CharsetReader = charsetReader
	for {
		t, err := d.Token()
		if err != nil {
			return false
		}
		switch t := t.(type) {
		case xml.StartElement:
			return t.Name.Local == "gpx"
		case xml.CharData:
			if len(bytes.TrimSpace(bytes.TrimPrefix(t, []byte("\ufeff")))) > 0 {
				return false
			}
		}
	}
}

// Read reads one GPX file; name is used in messages and in Source.
//
// Each trkseg becomes a Track, each wpt an Event, each point that has a depth
// also a Sounding. A route's points are counted and set aside: a route is
// planned, not travelled. The rows of Source are points of every kind.
//
// The kind of an Event is the wpt's type, else the first word of its name, when
// that is catch, bite, mark or bait; else it is taken for a catch, which is said
// once for the file. A depth at a wpt is that of the bottom under the boat, never
// the fish's.
//
// A point without a usable position, or with a time that can't be read, is set
// aside with a Problem; so is one whose time has no zone, unless opt.Zone says
// which. A point without any time is kept. A value beside these that can't be
// read costs only itself. When the file breaks off or is not XML from some line
// on, all points complete before it are kept and a Problem of kind ErrTruncated
// names the line. opt.ClockOffset is added to every time.
//
// The error is not nil when r fails, when the file's root is not gpx, and when
// it holds no complete point.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	f := newFilter(r, name, opt)
	if err := f.open(); err != nil {
		return ingest.Records{}, err
	}
	// The library looks for the version in the text it is given, not in the tokens.
	doc, err := gpx.ParseDecoder(xml.NewTokenDecoder(f), []byte(`<gpx version="`+f.version+`"`))
	if err != nil {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	if f.seen["wpt"]+f.seen["trkpt"]+f.seen["rtept"] == 0 {
		if f.broken != nil {
			return ingest.Records{}, fmt.Errorf("%s:%d: breaks off before its first complete point: %w", name, f.brokenLine, f.broken)
		}
		return ingest.Records{}, fmt.Errorf("%s: holds no point, wanted wpt or trkpt elements", name)
	}
	b := builder{f: f}
	if err := b.build(doc); err != nil {
		return ingest.Records{}, err
	}
	return b.out, nil
}

// builder turns the library's document and the filter's side table into records.
type builder struct {
	f        *filter
	out      ingest.Records
	kindless int
}

func (b *builder) build(doc *gpx.GPX) error {
	f := b.f
	n := 0
	for _, t := range doc.Tracks {
		for _, s := range t.Segments {
			n += len(s.Points)
		}
	}
	if n != len(f.trkpts) || len(doc.Waypoints) != len(f.wpts) {
		return fmt.Errorf("%s: the GPX library gave %d track points and %d waypoints for %d and %d", f.name, n, len(doc.Waypoints), len(f.trkpts), len(f.wpts))
	}
	for i := range doc.Waypoints {
		b.waypoint(&doc.Waypoints[i], f.wpts[i])
	}
	next := 0
	for _, t := range doc.Tracks {
		for _, s := range t.Segments {
			if len(s.Points) == 0 {
				continue
			}
			out := ingest.Track{Name: t.Name, Fixes: make([]ingest.Fix, len(s.Points))}
			for i := range s.Points {
				r := f.trkpts[next]
				next++
				pos := orb.Point{s.Points[i].Longitude, s.Points[i].Latitude}
				out.Fixes[i] = ingest.Fix{Time: r.time, Pos: pos, SpeedMPS: r.speedMPS, CourseDeg: r.courseDeg, Line: r.line}
				b.sounding(pos, r)
			}
			b.out.Tracks = append(b.out.Tracks, out)
		}
	}
	b.finish()
	return nil
}

func (b *builder) waypoint(w *gpx.GPXPoint, r reading) {
	pos := orb.Point{w.Longitude, w.Latitude}
	e := ingest.Event{Time: r.time, Pos: pos, HasPos: pos != orb.Point{}, Count: 1, Line: r.line}
	var said bool
	if e.Kind, said = kindOf(w.Type, w.Name); !said {
		b.kindless++
	}
	e.Note = w.Description
	if w.Comment != "" && w.Comment != w.Description {
		if e.Note != "" {
			e.Note += "; "
		}
		e.Note += w.Comment
	}
	if !e.HasPos {
		e.Pos = orb.Point{}
	}
	b.out.Events = append(b.out.Events, e)
	b.sounding(pos, r)
}

// kindOf reads a waypoint's kind from its type, else from the first word of its name.
func kindOf(typ, name string) (k ingest.EventKind, said bool) {
	if k, said = ingest.ParseEventKind(strings.ToLower(strings.TrimSpace(typ))); said {
		return k, true
	}
	word := strings.ToLower(strings.TrimSpace(name))
	if end := strings.IndexFunc(word, func(r rune) bool { return r < 'a' || r > 'z' }); end >= 0 {
		word = word[:end]
	}
	return ingest.ParseEventKind(word)
}

func (b *builder) sounding(pos orb.Point, r reading) {
	has := pos != orb.Point{}
	if !r.depthM.OK || !has && r.time.IsZero() {
		return
	}
	b.out.Soundings = append(b.out.Soundings, ingest.Sounding{
		Time: r.time, Pos: pos, HasPos: has, DepthM: r.depthM.V, TempC: r.tempC, SpeedMPS: r.speedMPS, Line: r.line,
	})
}

// finish fills in what concerns the file as a whole.
func (b *builder) finish() {
	f := b.f
	if b.kindless > 0 {
		f.problems = append(f.problems, ingest.Problem{File: f.name, Field: "wpt type", Outcome: ingest.InDoubt, Kind: ingest.ErrMissing,
			Wanted: "catch, bite, mark or bait as type or first word of name; " + count(b.kindless, "waypoint") + " without one taken for catches"})
	}
	if f.amps.n > 0 {
		f.problems = append(f.problems, ingest.Problem{File: f.name, Line: f.amps.first, Found: "&", Outcome: ingest.InDoubt, Kind: ingest.ErrWord,
			Wanted: "&amp;; read as a plain & in " + count(f.amps.n, "place")})
	}
	if f.doubtfulN > 0 {
		f.doubtful.Wanted = "a zone behind it: when clocks change it is shown twice or never; " + count(f.doubtfulN, "such time") + " read as before the change"
		f.problems = append(f.problems, f.doubtful)
	}
	b.out.Source = f.source
	b.out.Source.Name = f.name
	b.out.Source.TakenFor = takenFor(f.seen)
	if f.opt.ClockOffset != 0 {
		b.out.Source.ClockOffsetS = ingest.Known(f.opt.ClockOffset.Seconds())
	}
	b.out.Problems = f.problems
}

func takenFor(seen map[string]int) string {
	switch track, points := seen["trkpt"] > 0, seen["wpt"] > 0; {
	case track && points:
		return "GPX track and waypoints"
	case track:
		return "GPX track"
	case points:
		return "GPX waypoints"
	}
	return "GPX route"
}
