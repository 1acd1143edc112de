package points

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/net/html/charset"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"leadline/ingest"
)

const (
	// Placemarks have been seen in ten elements; each level costs memory.
	nesting = 64
	// An XML decoder holds a whole element's tag, or text, in memory.
	tokenBytes = 1 << 20
)

var (
	errNesting   = fmt.Errorf("elements lie deeper than %d in each other", nesting)
	errTokenSize = errors.New("one Placemark or text is longer than 1 MiB")
)

// newXML returns a decoder that takes what people's files hold: a byte order mark,
// another encoding when it is declared, a bare & in a name.
func newXML(r io.Reader) *xml.Decoder {
	d := xml.NewDecoder(transform.NewReader(r, unicode.BOMOverride(transform.Nop)))
	d.Strict = false
	d.Entity = xml.HTMLEntity
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		if strings.HasPrefix(strings.ToLower(label), "utf-16") {
			return in, nil // decoded already, by its byte order mark
		}
		return charset.NewReaderLabel(label, in)
	}
	return d
}

// recogniseKML reports whether head begins an XML document whose root is kml.
func recogniseKML(head []byte) bool {
	d := newXML(bytes.NewReader(head))
	for {
		t, err := d.RawToken()
		if err != nil {
			return false
		}
		switch t := t.(type) {
		case xml.StartElement:
			return t.Name.Local == "kml"
		case xml.CharData:
			if len(bytes.TrimSpace(t)) > 0 {
				return false
			}
		}
	}
}

// meter ends reading when a single token grows too long.
type meter struct {
	in   io.Reader
	left int
}

func (m *meter) Read(p []byte) (int, error) {
	if m.left <= 0 {
		return 0, errTokenSize
	}
	n, err := m.in.Read(p)
	m.left -= n
	return n, err
}

// kml reads one document.
type kml struct {
	*list
	in   *xml.Decoder
	size *meter
}

func (k *kml) next() (xml.Token, int, error) {
	k.size.left = tokenBytes + headBytes // what the decoder has read ahead counts for the token before
	line, _ := k.in.InputPos()
	t, err := k.in.Token()
	return t, line, err
}

// readKML reads a KML document.
func (l *list) readKML(r *bufio.Reader) error {
	l.takenFor = "KML points"
	k := &kml{list: l, size: &meter{in: source{r}}}
	k.in = newXML(k.size)
	depth := 0
	for {
		t, line, err := k.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return l.broke(line, plain(err))
		}
		switch t := t.(type) {
		case xml.StartElement:
			if depth == 0 && t.Name.Local != "kml" {
				return fmt.Errorf("%s:%d: <%s> is not a KML document, wanted <kml>", l.name, line, clip(t.Name.Local))
			}
			if t.Name.Local == "Placemark" {
				if err := k.placemark(line); err != nil {
					at, _ := k.in.InputPos()
					return l.broke(at, plain(err))
				}
				continue
			}
			if depth++; depth > nesting {
				return l.broke(line, errNesting)
			}
		case xml.EndElement:
			depth--
		}
	}
}

// plain takes the line out of a decoder's error: the Problem has its own.
func plain(err error) error {
	var s *xml.SyntaxError
	if errors.As(err, &s) {
		return errors.New(s.Msg)
	}
	return err
}

// shapes are the geometries and pictures that a Placemark may have.
var shapes = map[string]bool{"Point": true, "LineString": true, "LinearRing": true, "Polygon": true, "MultiGeometry": true, "Model": true, "Track": true, "MultiTrack": true}

// placemark reads up to the end of a Placemark that begins at line.
func (k *kml) placemark(line int) error {
	p := &point{line: line}
	var path []string
	var text strings.Builder
	var shape, coordinates, dataName string
	shapeLine, total := line, 0
	for {
		t, at, err := k.next()
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			name := t.Name.Local
			if len(path) == 0 && shapes[name] && shape == "" {
				shape, shapeLine = name, at
			}
			if name == "Data" || name == "SimpleData" {
				dataName = ""
				for _, a := range t.Attr {
					if a.Name.Local == "name" {
						dataName = a.Value
					}
				}
			}
			path = append(path, name)
			text.Reset()
			if total += len(name) + len(dataName); len(path) > nesting {
				return errNesting
			}
		case xml.CharData:
			total += len(t)
			text.Write(t)
		case xml.EndElement:
			n := len(path) - 1
			if n < 0 {
				k.row(p, shape, shapeLine, coordinates)
				return nil
			}
			leaf := property{text: text.String(), line: at}
			switch where := strings.Join(path, "/"); {
			case where == "name", where == "description":
				leaf.name = where
			case where == "TimeStamp/when":
				leaf.name = "when"
			case where == "Point/coordinates":
				coordinates = strings.TrimSpace(leaf.text)
			case where == "ExtendedData/Data/value", strings.HasPrefix(where, "ExtendedData/") && path[n] == "SimpleData":
				leaf.name = dataName
			}
			if leaf.name != "" {
				p.about = append(p.about, leaf)
			}
			path = path[:n]
			text.Reset()
		}
		if total > tokenBytes {
			return errTokenSize
		}
	}
}

// row makes a point of a Placemark.
func (k *kml) row(p *point, shape string, line int, coordinates string) {
	switch {
	case shape == "":
	case shape != "Point":
		p.note(line, "geometry", shape, "Point", ingest.SetAside, ingest.ErrWord)
	default:
		parts := strings.Split(coordinates, ",")
		var at [2]float64
		ok := len(parts) == 2 || len(parts) == 3
		for i := 0; ok && i < 2; i++ {
			at[i], ok = number(strings.TrimSpace(parts[i]))
		}
		if ok {
			p.place(line, at[0], at[1])
			break
		}
		kind := ingest.ErrPosition
		if coordinates == "" {
			kind = ingest.ErrMissing
		}
		p.note(line, "coordinates", clip(coordinates), "longitude,latitude in degrees", ingest.SetAside, kind)
	}
	if len(p.problems) > 0 && p.problems[0].Outcome == ingest.SetAside {
		k.add(ingest.Event{}, p.problems, "")
		return
	}
	k.point(p)
}
