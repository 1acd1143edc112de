package dayfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/tkrajina/gpxgo/gpx"
)

const (
	gpxSpace = "http://www.topografix.com/GPX/1/1"
	ourSpace = "urn:leadline:day:1"
)

// The sequences of the GPX 1.1 schema (gpx.xsd, types gpxType, trkType, trksegType,
// wptType; from memory): children in this order, none else. What stands in
// extensions is of another namespace (extensionsType: any, ##other).
var sequences = map[string]string{
	"gpx":        "metadata wpt rte trk extensions",
	"trk":        "name cmt desc src link number type extensions trkseg",
	"trkseg":     "trkpt extensions",
	"trkpt":      "ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop ageofdgpsdata dgpsid extensions",
	"extensions": "speed course",
	"name":       "", "time": "", "speed": "", "course": "",
}

// The lexical forms of XML Schema 1.0, part 2: decimal (3.2.3), which has no
// exponent, and dateTime (3.2.7) in UTC.
var (
	decimalForm = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)
	timeForm    = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?Z$`)
)

// structure holds a document against the schema.
func structure(t *testing.T, text []byte) {
	t.Helper()
	type open struct {
		name string
		last int // place in the sequence of the last child
	}
	stack := []open{{name: "root"}}
	for d := xml.NewDecoder(bytes.NewReader(text)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		line, _ := d.InputPos()
		in := &stack[len(stack)-1]
		switch e := token.(type) {
		case xml.StartElement:
			if _, isKnown := sequences[e.Name.Local]; !isKnown {
				t.Fatalf("line %d: element %s is none of these", line, e.Name.Local)
			}
			space := gpxSpace
			if in.name == "extensions" {
				space = ourSpace
			}
			if e.Name.Space != space {
				t.Errorf("line %d: %s is of %q", line, e.Name.Local, e.Name.Space)
			}
			if in.name != "root" {
				place := slices.Index(strings.Fields(sequences[in.name]), e.Name.Local)
				repeats := in.name == "gpx" || e.Name.Local == "trkseg" || e.Name.Local == "trkpt"
				if place < in.last || place == in.last && !repeats {
					t.Errorf("line %d: %s is misplaced in %s", line, e.Name.Local, in.name)
				}
				in.last = place
			}
			attributes(t, line, e)
			stack = append(stack, open{e.Name.Local, -1})
		case xml.EndElement:
			if e.Name.Local == "extensions" && in.last < 0 {
				t.Errorf("line %d: empty extensions", line)
			}
			stack = stack[:len(stack)-1]
		case xml.CharData:
			switch in.name {
			case "time":
				if !timeForm.Match(e) {
					t.Errorf("line %d: time %q", line, e)
				}
			case "speed", "course":
				if !decimalForm.Match(e) {
					t.Errorf("line %d: %s %q", line, in.name, e)
				}
			case "name":
			default:
				if len(bytes.TrimSpace(e)) > 0 {
					t.Errorf("line %d: text %q in %s", line, e, in.name)
				}
			}
		}
	}
}

func attributes(t *testing.T, line int, e xml.StartElement) {
	t.Helper()
	got := map[string]string{}
	for _, a := range e.Attr {
		got[a.Name.Local] = a.Value
	}
	switch e.Name.Local {
	case "gpx":
		if got["version"] != "1.1" || got["creator"] != "leadline day" || len(got) != 4 {
			t.Errorf("gpx has %v", got)
		}
	case "trkpt":
		if !decimalForm.MatchString(got["lat"]) || !decimalForm.MatchString(got["lon"]) || len(got) != 2 {
			t.Errorf("line %d: trkpt has %v", line, got)
		}
	default:
		if len(got) > 0 {
			t.Errorf("line %d: %s has %v", line, e.Name.Local, got)
		}
	}
}

func TestStructure(t *testing.T) {
	structure(t, trackText(t, tracks()))
	structure(t, trackText(t, nil))
}

// TestLibraryReads: another reader than ours finds the same tracks, segments and
// points (github.com/tkrajina/gpxgo v1.4.0).
func TestLibraryReads(t *testing.T) {
	doc, err := gpx.ParseBytes(trackText(t, tracks()))
	if err != nil {
		t.Fatal(err)
	}
	if doc.Version != "1.1" || doc.Creator != "leadline day" || len(doc.Tracks) != 2 || len(doc.Tracks[0].Segments) != 2 || len(doc.Tracks[1].Segments) != 1 {
		t.Fatalf("%+v", doc)
	}
	if doc.Tracks[0].Name != tracks()[0].Name {
		t.Errorf("name %q", doc.Tracks[0].Name)
	}
	for i, p := range doc.Tracks[0].Segments[0].Points {
		f := tracks()[0].Fixes[i]
		if p.Longitude != f.Pos[0] || p.Latitude != f.Pos[1] {
			t.Errorf("point %d at %v, %v, want %v", i, p.Longitude, p.Latitude, f.Pos)
		}
	}
}
