package gpxfile

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"leadline/ingest"
)

// The filter stands between the XML decoder and the GPX library. Without any
// error, github.com/tkrajina/gpxgo v1.4.0 cuts fractions of a second, turns a
// time with an offset into no time, reads a missing lat or lon as 0, takes NaN
// and latitudes beyond the pole, and drops the speed of GPX 1.0; and one bad
// number, a bare & or a broken end costs it the whole file. So the filter
//
//  1. repairs bare ampersands in the text (type ampersands),
//  2. reads each wpt, rtept and trkpt to its end, checks it (check), and either
//     sets it aside with a Problem or passes it on with only what the library
//     reads well: position, name, comment, description, type,
//  3. keeps line, exact time, depth, temperature, speed and course in a side
//     table, which Read matches to the library's points by their order,
//  4. closes what is open where the file breaks off.
//
// Cost is linear in the file; memory is one point plus the side table.
type filter struct {
	name string
	opt  ingest.ReadOptions

	in   *xml.Decoder
	size *meter
	amps *ampersands

	queue  []xml.Token // to be given out, from given on
	given  int
	stack  []element // open elements of the file
	closed bool      // nothing more will be queued
	fatal  error     // reading itself failed

	version string
	wpts    []reading
	trkpts  []reading
	seen    map[string]int // points by element, complete ones

	route struct {
		line, points int
		name         string
	}

	source       ingest.Source
	problems     []ingest.Problem
	broken       error // why the file could not be read to its end
	brokenLine   int
	hasColumn    map[string]bool
	doubtful     ingest.Problem
	doubtfulTime func(line int, text string)
	doubtfulN    int
	raw          rawPoint // of the point being read, to spare allocations
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
	f.amps = &ampersands{in: bufio.NewReader(decoded(bufio.NewReaderSize(r, headBytes))), line: 1}
	f.size = &meter{r: f.amps}
	f.in = xml.NewDecoder(f.size)
	f.in.CharsetReader = charsetReader
	f.doubtfulTime = func(line int, text string) {
		if f.doubtfulN == 0 {
			f.doubtful = ingest.Problem{File: name, Line: line, Field: "time", Found: text, Outcome: ingest.InDoubt, Kind: ingest.ErrTime}
		}
		f.doubtfulN++
	}
	return f
}

var errNesting = fmt.Errorf("elements lie deeper than %d in each other", nesting)

// next returns the file's next token and the line at which it begins.
func (f *filter) next() (xml.Token, int, error) {
	f.size.reset()
	line, _ := f.in.InputPos()
	t, err := f.in.Token()
	return t, line, err
}

// open reads up to the root element, which must be gpx.
func (f *filter) open() error {
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
		f.emit("gpx")
		return nil
	}
}

// Token gives the library the next clean token; it implements xml.TokenReader.
func (f *filter) Token() (xml.Token, error) {
	for f.given == len(f.queue) {
		if f.closed {
			if f.fatal != nil {
				return nil, f.fatal
			}
			return nil, io.EOF
		}
		f.step()
	}
	f.given++
	return f.queue[f.given-1], nil
}

func (f *filter) emit(local string, attrs ...xml.Attr) {
	f.queue = append(f.queue, xml.StartElement{Name: xml.Name{Local: local}, Attr: attrs})
}

func (f *filter) emitEnd(local string) {
	f.queue = append(f.queue, xml.EndElement{Name: xml.Name{Local: local}})
}

func (f *filter) emitText(local, text string) {
	f.emit(local)
	f.queue = append(f.queue, xml.CharData(text))
	f.emitEnd(local)
}

func (f *filter) step() {
	f.queue, f.given = f.queue[:0], 0
	t, line, err := f.next()
	if err == nil {
		switch t := t.(type) {
		case xml.StartElement:
			err = f.start(t, line)
		case xml.EndElement:
			f.end()
		}
	}
	if err != nil {
		f.finish(err)
	}
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
		return f.point(t, line, inPlace)
	case name == "name" && (parent == track || parent == routeOf):
		text, err := f.text()
		if err != nil {
			return err
		}
		if parent == track {
			f.emitText("name", text)
		} else {
			f.route.name = text
		}
		return nil
	case len(f.stack) == 0 && name == "gpx":
		is = root // files glued together: the later root adds to the first
	case parent == root && name == "trk":
		is = track
		f.emit("trk")
	case parent == track && name == "trkseg":
		is = segment
		f.emit("trkseg")
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

// end closes the innermost element. The root is closed for the library only at
// the end of the file.
func (f *filter) end() {
	n := len(f.stack) - 1
	switch f.stack[n] {
	case track:
		f.emitEnd("trk")
	case segment:
		f.emitEnd("trkseg")
	case routeOf:
		f.closeRoute()
	}
	f.stack = f.stack[:n]
}

func (f *filter) closeRoute() {
	if f.route.points == 0 {
		return
	}
	f.problems = append(f.problems, ingest.Problem{
		File: f.name, Line: f.route.line, Field: "rte", Found: f.route.name,
		Wanted:  "a track: a route is planned, not travelled (" + count(f.route.points, "point") + ")",
		Outcome: ingest.SetAside, Kind: ingest.ErrShape,
	})
}

// finish ends the stream for the library, at the end of the file or where it breaks.
func (f *filter) finish(err error) {
	f.closed = true
	var syntax *xml.SyntaxError
	switch {
	case errors.Is(err, io.EOF):
	case errors.As(err, &syntax):
		f.broken, f.brokenLine = errors.New(syntax.Msg), syntax.Line
	case errors.Is(err, errTokenSize), errors.Is(err, errNesting):
		f.broken = err
		f.brokenLine, _ = f.in.InputPos()
	default:
		f.fatal = err
		return
	}
	if f.broken != nil {
		f.problems = append(f.problems, ingest.Problem{
			File: f.name, Line: f.brokenLine,
			Wanted:  "XML to the end of the file (" + f.broken.Error() + "); nothing behind this line was read",
			Outcome: ingest.SetAside, Kind: ingest.ErrTruncated,
		})
	}
	for len(f.stack) > 0 {
		f.end()
	}
	f.emitEnd("gpx")
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
		f.misplaced(p.element, line)
		return nil
	}
	f.column("lat", "latitude", "deg")
	f.column("lon", "longitude", "deg")
	r, lat, lon, problems := f.check(p)
	if lat == 0 && lon == 0 && len(problems) == 0 {
		problems = f.zeroIsland(p, r)
	}
	if !f.tally(problems) {
		return nil
	}
	f.emit(p.element, attr("lat", lat), attr("lon", lon))
	if p.element == "trkpt" {
		f.trkpts = append(f.trkpts, r)
	} else {
		f.wpts = append(f.wpts, r)
		for _, child := range [...]string{"name", "cmt", "desc", "type"} {
			if s := p.text(child); s != "" {
				f.emitText(child, s)
			}
		}
	}
	f.emitEnd(p.element)
	return nil
}

// misplaced sets aside a point, counted already, that lies where the format has none.
func (f *filter) misplaced(element string, line int) {
	f.source.SetAside++
	f.problems = append(f.problems, ingest.Problem{
		File: f.name, Line: line, Field: element,
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

// tally counts a point by its problems and reports whether it is used. The
// problems of a point that is set aside all say so.
func (f *filter) tally(problems []ingest.Problem) bool {
	o := ingest.InDoubt
	for _, p := range problems {
		o = min(o, p.Outcome)
	}
	for i := range problems {
		if o == ingest.SetAside {
			problems[i].Outcome = o
		}
	}
	f.problems = append(f.problems, problems...)
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
				f.misplaced(o.name, line)
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
