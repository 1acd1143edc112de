// Package gpxfile reads GPX 1.0 and 1.1 files: tracks, waypoints, and the depth,
// temperature, speed and course that devices put into their points.
//
// Inside a point, an element in extensions at any depth and in any namespace, or
// a child of the point itself as in GPX 1.0, is read when its name, in any case,
// is depth (metres), wtemp or watertemp (water temperature, degrees Celsius), speed
// (metres per second) or course (degrees). temp is taken for water temperature in a
// point that has a depth and neither of the others; a watch writes its own into
// points without. atemp is taken for air temperature and heading for where the bow
// points: both are checked, listed and not used. ele is never a depth.
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
	text, err := decoded(bytes.NewReader(head))
	if err != nil {
		return false
	}
	in := bufio.NewReaderSize(text, headBytes)
	first, _ := in.Peek(headBytes)
	n, junk := leading(first)
	in.Discard(n)
	d := xml.NewDecoder(in)
	d.CharsetReader = asItIs
	for {
		t, err := d.Token()
		if err != nil {
			return false
		}
		switch t := t.(type) {
		case xml.StartElement:
			return t.Name.Local == "gpx"
		case xml.ProcInst:
			junk = ""
		case xml.CharData:
			if len(bytes.TrimSpace(t)) > 0 {
				return false
			}
		}
		if junk != "" {
			return false
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
// which. A point without any time is kept, and so is one whose time is that of a
// clock not set, before 1980 or after 2100. A value beside these that can't be
// read costs only itself. When the file breaks off or is not XML from some line
// on, all points complete before it are kept, and a Problem of kind ErrTruncated
// names the line and says how much lies behind; points that begin there count as
// rows set aside. opt.ClockOffset is added to every time.
//
// Memory is that of the records, some 15 bytes more a point, and a few hundred
// kilobytes; time is linear in the file (BenchmarkRead). After mostProblems
// problems, 10,000, the others are counted and told in one.
//
// The error is not nil when r fails, when the file's root is not gpx, and when
// it holds no complete point.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	return newFilter(r, name, opt).records()
}

func (f *filter) records() (ingest.Records, error) {
	if err := f.open(); err != nil {
		return ingest.Records{}, err
	}
	if err := f.read(); err != nil {
		return ingest.Records{}, err
	}
	if f.seen["wpt"]+f.seen["trkpt"]+f.seen["rtept"] == 0 {
		if f.broken != nil {
			return ingest.Records{}, fmt.Errorf("%s:%d: breaks off before its first complete point: %w", f.name, f.brokenLine, f.broken)
		}
		return ingest.Records{}, fmt.Errorf("%s: holds no point, wanted wpt or trkpt elements", f.name)
	}
	out := ingest.Records{Events: f.events, Source: f.about(), Problems: f.problems.close()}
	f.unpack(&out)
	return out, nil
}

// unpack makes tracks and soundings of the points that were packed.
func (f *filter) unpack(out *ingest.Records) {
	if n := len(f.soundings) + f.store.soundings; n > 0 {
		out.Soundings = append(ingest.NewSoundings(n), f.soundings...)
	}
	if len(f.segments) > 0 {
		out.Tracks = make([]ingest.Track, 0, len(f.segments))
	}
	var fixes []ingest.Fix
	f.store.each(func(r *reading, pos orb.Point) {
		if len(fixes) == cap(fixes) {
			s := f.segments[len(out.Tracks)]
			fixes = ingest.NewFixes(s.n)
			out.Tracks = append(out.Tracks, ingest.Track{Name: s.name, Fixes: fixes[:s.n]})
		}
		fixes = append(fixes, ingest.Fix{Time: r.time, Pos: pos, SpeedMPS: r.speedMPS, CourseDeg: r.courseDeg, Line: r.line})
		if sounds(r, pos) {
			out.Soundings = append(out.Soundings, r.sounding(pos))
		}
	})
}

func (r *reading) sounding(pos orb.Point) ingest.Sounding {
	return ingest.Sounding{
		Time: r.time, Pos: pos, HasPos: pos != orb.Point{}, DepthM: r.depthM.V, TempC: r.tempC, SpeedMPS: r.speedMPS, Line: r.line,
	}
}

// event makes an event of a waypoint, and a sounding where it has a depth.
func (f *filter) event(w *gpx.GPXPoint, r reading) {
	pos := orb.Point{w.Longitude, w.Latitude}
	e := ingest.Event{Time: r.time, Pos: pos, HasPos: pos != orb.Point{}, Count: 1, Line: r.line}
	var said bool
	if e.Kind, said = kindOf(w.Type, w.Name); !said {
		f.kindless++
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
	f.events = append(f.events, e)
	if sounds(&r, pos) {
		f.soundings = append(f.soundings, r.sounding(pos))
	}
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

// about returns what concerns the file as a whole, and notes its problems.
func (f *filter) about() ingest.Source {
	if f.kindless > 0 {
		f.problems.last(ingest.Problem{File: f.name, Field: "wpt type", Outcome: ingest.InDoubt, Kind: ingest.ErrMissing,
			Wanted: "catch, bite, mark or bait as type or first word of name; " + count(f.kindless, "waypoint") + " without one taken for catches"})
	}
	if f.src.n > 0 {
		f.problems.last(ingest.Problem{File: f.name, Line: f.src.first, Found: "&", Outcome: ingest.InDoubt, Kind: ingest.ErrWord,
			Wanted: "&amp;; read as a plain & in " + count(f.src.n, "place")})
	}
	if f.doubtfulN > 0 {
		f.doubtful.Wanted = "a zone behind it: when clocks change it is shown twice or never; " + count(f.doubtfulN, "such time") + " read as before the change"
		f.problems.last(f.doubtful)
	}
	if f.tempAlone > 0 {
		f.problems.last(ingest.Problem{File: f.name, Field: "depth", Outcome: ingest.InDoubt, Kind: ingest.ErrMissing,
			Wanted: "a depth beside every water temperature; " + count(f.tempAlone, "temperature") + " without one not used"})
	}
	s := f.source
	s.Name = f.name
	s.TakenFor = takenFor(f.seen)
	for i, c := range s.Columns {
		if f.tempUsed && strings.EqualFold(c.Name, "temp") {
			s.Columns[i].ReadAs, s.Columns[i].Unit = measures[temp].readAs, measures[temp].unit
		}
	}
	if f.opt.ClockOffset != 0 {
		s.ClockOffsetS = ingest.Known(f.opt.ClockOffset.Seconds())
	}
	return s
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
