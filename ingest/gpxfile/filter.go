package gpxfile

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"leadline/ingest"
)

// The filter stands between the file and the GPX library. Without any error,
// github.com/tkrajina/gpxgo v1.4.0 cuts fractions of a second, turns a time with an
// offset into no time, reads a missing lat or lon as 0, takes NaN and latitudes
// beyond the pole, and drops the speed of GPX 1.0; and one bad number, a bare & or a
// broken end costs it the whole file; and it takes 1.8 kB of memory a point. So the
// filter
//
//  1. repairs bare ampersands in the text (type source),
//  2. reads each wpt, rtept and trkpt to its end, checks it (check), and either
//     sets it aside with a Problem or passes it on, in small documents (type
//     batch), with only what the library reads well: position, name, comment,
//     description, type,
//  3. keeps line, exact time, depth, temperature, speed and course beside it and
//     packs all of it until the file is read (type store),
//  4. closes what is open where the file breaks off, and says what lies behind.
//
// Track points that are written as nearly all are need neither an XML decoder nor
// the library: type quick reads them from the text, and leaves every point that it
// is not sure of to the steps above. What comes out is the same; the tests hold
// one against the other.
//
// Cost is linear in the file; memory is one window of text, one batch, the packed
// points and the records.
type filter struct {
	name string
	opt  ingest.ReadOptions

	src     *source
	in      *xml.Decoder
	skipped int // lines that the decoder has not seen
	quick   quick
	slow    bool // leave all to the decoder, for the tests

	stack  []element // open elements of the file
	inside bool      // a point is being read
	fatal  error     // reading itself failed

	version string
	batch   batch
	store   store
	seen    map[string]int // points by element, complete ones

	segments  []segmentOf
	inSegment int // points of the open segment
	trackName string
	trackFrom int // index in segments of the open track's first

	events    []ingest.Event
	soundings []ingest.Sounding // of waypoints
	kindless  int

	route struct {
		line, points int
		name         string
	}

	source     ingest.Source
	problems   ledger
	broken     error // why the file could not be read to its end
	brokenLine int
	hasColumn  map[string]bool
	tempUsed   bool // an element temp was taken for the water's temperature
	tempAlone  int  // points with a water temperature and no depth
	doubtful   ingest.Problem
	doubtfulN  int
	raw        rawPoint // of the point being read, to spare allocations
}

// A segmentOf is a trkseg that has points, n of them.
type segmentOf struct {
	name string
	n    int
}

// element is what an open element means.
type element uint8

const (
	other element = iota
	root
	track
	segment
	routeOf
)

// nesting is how deep elements may lie in each other. Files have been seen to
// need fewer than ten; each level costs memory twice.
const nesting = 64

// columnsShown bounds the list of elements named to a person.
const columnsShown = 64

func newFilter(r io.Reader, name string, opt ingest.ReadOptions) *filter {
	f := &filter{name: name, opt: opt, seen: map[string]int{}, hasColumn: map[string]bool{}}
	text, err := decoded(r)
	f.src = newSource(text)
	f.src.err = err
	f.in = xml.NewDecoder(f.src)
	f.in.CharsetReader = asItIs
	return f
}

// doubtfulTime notes a time that clocks show twice or never.
func (f *filter) doubtfulTime(line int, text string) {
	if f.doubtfulN == 0 {
		f.doubtful = ingest.Problem{File: f.name, Line: line, Field: "time", Found: text, Outcome: ingest.InDoubt, Kind: ingest.ErrTime}
	}
	f.doubtfulN++
}

var errNesting = fmt.Errorf("elements lie deeper than %d in each other", nesting)

// next returns the file's next token and the line at which it begins.
func (f *filter) next() (xml.Token, int, error) {
	f.src.mark(f.inside)
	line, _ := f.in.InputPos()
	t, err := f.in.Token()
	return t, line + f.skipped, err
}

// open reads up to the root element, which must be gpx.
func (f *filter) open() error {
	if n, junk := leading(f.src.window(headBytes)); n > 0 {
		if junk != "" {
			f.problems.add(ingest.Problem{File: f.name, Line: 1, Found: junk, Outcome: ingest.InDoubt, Kind: ingest.ErrShape,
				Wanted: "XML from the first byte on; passed over"})
		}
		f.skipped += f.src.advance(n)
	}
	for {
		t, _, err := f.next()
		if errors.Is(err, io.EOF) {
			return fmt.Errorf("%s: holds no element, wanted <gpx>", f.name)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		start, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		if start.Name.Local != "gpx" {
			return fmt.Errorf("%s: begins with <%s>, wanted <gpx>", f.name, start.Name.Local)
		}
		f.version = "1.1"
		for _, a := range start.Attr {
			if a.Name.Local == "version" && strings.TrimSpace(a.Value) == "1.0" {
				f.version = "1.0"
			}
		}
		f.stack = append(f.stack, root)
		return nil
	}
}

// read reads the file from its root element to its end. The error is that of the
// reader beneath or of the library.
func (f *filter) read() error {
	for {
		t, line, err := f.next()
		if err == nil {
			switch t := t.(type) {
			case xml.StartElement:
				err = f.start(t, line)
			case xml.EndElement:
				f.end()
				f.points()
			}
		}
		if err != nil {
			f.finish(err)
		} else if !f.batch.full() {
			continue
		}
		if f.flush(); f.fatal != nil || err != nil {
			return f.fatal
		}
	}
}

// points reads what it can of a segment's points without the decoder, which
// stands behind an end tag.
func (f *filter) points() {
	if n := len(f.stack); f.slow || n == 0 || f.stack[n-1] != segment {
		return
	}
	for f.fatal == nil && f.quick.point(f) {
		if f.batch.full() {
			f.flush()
		}
	}
}

// flush has the library read the batch, and keeps its points.
func (f *filter) flush() {
	if f.batch.empty() || f.fatal != nil {
		return
	}
	waypoints, err := f.batch.parse(f.version)
	if err != nil {
		f.fatal = fmt.Errorf("%s: %w", f.name, err)
		return
	}
	for i := range waypoints {
		f.event(&waypoints[i], f.batch.wpts[i])
	}
	for i := range f.batch.points {
		f.store.add(&f.batch.points[i].reading, f.batch.points[i].pos)
	}
	f.batch.reset()
}

func (f *filter) start(t xml.StartElement, line int) error {
	parent := other
	if n := len(f.stack); n > 0 {
		parent = f.stack[n-1]
	}
	is := other
	switch name := t.Name.Local; {
	case isPoint(name):
		inPlace := name == "wpt" && parent == root || name == "rtept" && parent == routeOf || name == "trkpt" && parent == segment
		f.inside = true
		if err := f.point(t, line, inPlace); err != nil {
			return err
		}
		f.inside = false
		f.points()
		return nil
	case name == "name" && (parent == track || parent == routeOf):
		text, err := f.text()
		if err != nil {
			return err
		}
		if parent == track {
			f.trackName = text
		} else {
			f.route.name = text
		}
		return nil
	case len(f.stack) == 0 && name == "gpx":
		is = root // files glued together: the later root adds to the first
	case parent == root && name == "trk":
		is = track
		f.trackName, f.trackFrom = "", len(f.segments)
	case parent == track && name == "trkseg":
		is = segment
		f.inSegment = 0
	case parent == root && name == "rte":
		is = routeOf
		f.route.line, f.route.points, f.route.name = line, 0, ""
	}
	f.stack = append(f.stack, is)
	if len(f.stack) > nesting {
		return errNesting
	}
	return nil
}

func isPoint(name string) bool { return name == "wpt" || name == "rtept" || name == "trkpt" }

// end closes the innermost element.
func (f *filter) end() {
	n := len(f.stack) - 1
	switch f.stack[n] {
	case track:
		for i := f.trackFrom; i < len(f.segments); i++ {
			f.segments[i].name = f.trackName
		}
	case segment:
		if f.inSegment > 0 {
			f.segments = append(f.segments, segmentOf{n: f.inSegment})
		}
	case routeOf:
		f.closeRoute()
	}
	f.stack = f.stack[:n]
}

func (f *filter) closeRoute() {
	if f.route.points == 0 {
		return
	}
	f.problems.add(ingest.Problem{
		File: f.name, Line: f.route.line, Field: "rte", Found: f.route.name,
		Wanted:  "a track: a route is planned, not travelled (" + count(f.route.points, "point") + ")",
		Outcome: ingest.SetAside, Kind: ingest.ErrShape,
	})
}

// finish closes what is open at the end of the file or where it breaks.
func (f *filter) finish(err error) {
	if failed := f.src.failed(); failed != nil {
		f.fatal = fmt.Errorf("%s: %w", f.name, failed)
		return
	}
	var syntax *xml.SyntaxError
	switch {
	case errors.Is(err, io.EOF):
	case errors.As(err, &syntax):
		f.broken, f.brokenLine = errors.New(syntax.Msg), syntax.Line+f.skipped
	default:
		f.broken = errors.New(strings.TrimPrefix(err.Error(), "xml: "))
		f.brokenLine, _ = f.in.InputPos()
		f.brokenLine += f.skipped
	}
	for len(f.stack) > 0 {
		f.end()
	}
	if f.broken != nil {
		f.breaks()
	}
}

// breaks says where the file breaks and counts what lies behind as rows set aside.
func (f *filter) breaks() {
	row := f.src.text()
	switch {
	case f.inside:
	case isPoint(f.src.begun()): // in a point's start tag
		f.source.RowsRead++
		f.source.SetAside++
	default:
		row = ""
		f.src.unread()
	}
	lines, points := f.src.rest()
	if failed := f.src.failed(); failed != nil {
		f.fatal = fmt.Errorf("%s: %w", f.name, failed)
		return
	}
	behind := "nothing behind this line was read"
	if lines > 0 {
		behind = "of " + count(lines, "line") + " behind it nothing was read, " + count(points, "point") + " among them"
	}
	f.source.RowsRead += points
	f.source.SetAside += points
	f.problems.last(ingest.Problem{
		File: f.name, Line: f.brokenLine, Row: row,
		Wanted:  "XML to the end of the file (" + f.broken.Error() + "); " + behind,
		Outcome: ingest.SetAside, Kind: ingest.ErrTruncated,
	})
}

// text reads the text of the element just opened, to its end.
func (f *filter) text() (string, error) {
	var b strings.Builder
	skip := 0 // elements open inside it
	for {
		t, _, err := f.next()
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if skip++; len(f.stack)+skip > nesting {
				return "", errNesting
			}
		case xml.EndElement:
			if skip == 0 {
				return strings.TrimSpace(b.String()), nil
			}
			skip--
		case xml.CharData:
			if b.Len()+len(t) > tokenBytes {
				return "", errTokenSize
			}
			if skip == 0 {
				b.Write(t)
			}
		}
	}
}

// point reads one point to its end and judges it. A point that is not complete
// counts as read and set aside; the break that caused it is told in finish.
func (f *filter) point(start xml.StartElement, line int, inPlace bool) error {
	f.source.RowsRead++
	p := &f.raw
	*p = rawPoint{element: start.Name.Local, line: line, leaves: p.leaves[:0]}
	p.attach(start.Attr)
	if err := f.collect(p, start.Name.Space); err != nil {
		f.source.SetAside++
		return err
	}
	f.seen[p.element]++
	if p.element == "rtept" && inPlace {
		f.route.points++
		f.source.SetAside++
		return nil
	}
	if !inPlace {
		f.misplaced(p.element, line, f.src.text())
		return nil
	}
	f.column("lat", "latitude", "deg")
	f.column("lon", "longitude", "deg")
	r, lat, lon, problems := f.check(p)
	if lat == 0 && lon == 0 && !slices.ContainsFunc(problems, setAside) {
		problems = append(problems, f.zeroIsland(p, r)...)
	}
	if !f.tally(problems) {
		return nil
	}
	f.temperatures(&r, &p.measured)
	if p.element == "trkpt" {
		f.batch.trackPoint(r, lat, lon)
		f.inSegment++
	} else {
		f.batch.waypoint(p, r, lat, lon)
	}
	return nil
}

// misplaced sets aside a point, counted already, that lies where the format has none.
func (f *filter) misplaced(element string, line int, row string) {
	f.source.SetAside++
	f.problems.add(ingest.Problem{
		File: f.name, Line: line, Field: element, Row: row,
		Wanted:  "a wpt inside gpx, a trkpt inside trkseg or a rtept inside rte",
		Outcome: ingest.SetAside, Kind: ingest.ErrShape,
	})
}

// zeroIsland says what a point at 0°, 0° is good for. A fix stays, to be flagged
// with the others; a catch or a sounding there has a time at best.
func (f *filter) zeroIsland(p *rawPoint, r reading) []ingest.Problem {
	if p.element == "trkpt" && !r.depthM.OK {
		return nil
	}
	o := ingest.Repaired
	if p.element == "wpt" && r.time.IsZero() {
		o = ingest.SetAside
	}
	return []ingest.Problem{{File: f.name, Line: p.line, Field: "lat, lon", Found: "0, 0",
		Wanted: "where the boat was: receivers say 0, 0 before they know", Outcome: o, Kind: ingest.ErrPosition}}
}

func setAside(p ingest.Problem) bool { return p.Outcome == ingest.SetAside }

// tally counts a point by its problems and reports whether it is used. The
// problems of a point that is set aside all say so.
func (f *filter) tally(problems []ingest.Problem) bool {
	o := ingest.InDoubt
	for _, p := range problems {
		o = min(o, p.Outcome)
	}
	row := ""
	if o == ingest.SetAside {
		row = f.src.text()
	}
	for i := range problems {
		if o == ingest.SetAside {
			problems[i].Outcome, problems[i].Row = o, row
		}
		f.problems.add(problems[i])
	}
	switch o {
	case ingest.SetAside:
		f.source.SetAside++
	case ingest.Repaired:
		f.source.Repaired++
	default:
		f.source.Used++
	}
	return o != ingest.SetAside
}

// collect reads a point's children up to its end tag.
func (f *filter) collect(p *rawPoint, space string) error {
	type open struct {
		name, space, unit string
		line              int
		parent            bool // has elements inside
	}
	var frames []open
	var text strings.Builder
	total, extensions := 0, 0 // bytes of text in the point; open elements called extensions
	for {
		t, line, err := f.next()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if n := len(frames); n > 0 {
				frames[n-1].parent = true
			}
			o := open{name: t.Name.Local, space: t.Name.Space, line: line}
			if isPoint(o.name) {
				f.source.RowsRead++
				f.misplaced(o.name, line, "")
			}
			for _, a := range t.Attr {
				if a.Name.Local == "unit" || a.Name.Local == "units" || a.Name.Local == "uom" {
					o.unit = strings.TrimSpace(a.Value)
				}
			}
			if o.name == "extensions" {
				extensions++
			}
			frames = append(frames, o)
			text.Reset()
			if total += len(o.name); total > tokenBytes {
				return errTokenSize
			}
			if len(f.stack)+len(frames) > nesting {
				return errNesting
			}
		case xml.CharData:
			if total += len(t); total > tokenBytes {
				return errTokenSize
			}
			text.Write(t)
		case xml.EndElement:
			n := len(frames) - 1
			if n < 0 {
				return nil
			}
			o := frames[n]
			frames = frames[:n]
			if o.name == "extensions" {
				extensions--
			}
			if !o.parent && (n == 0 || extensions > 0) {
				p.leaves = append(p.leaves, leaf{name: o.name, own: n == 0 && o.space == space, text: text.String(), unit: o.unit, line: o.line})
			}
			text.Reset()
		}
	}
}

// column notes an element of points and what it is read as, at its first sight.
func (f *filter) column(name, readAs, unit string) {
	if f.hasColumn[name] || len(f.source.Columns) >= columnsShown {
		return
	}
	f.hasColumn[name] = true
	f.source.Columns = append(f.source.Columns, ingest.Column{Name: name, ReadAs: readAs, Unit: unit})
}

func attr(local string, v float64) xml.Attr {
	return xml.Attr{Name: xml.Name{Local: local}, Value: show(v)}
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}
