package gpxfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
)

func written(t *testing.T, in export.Findings, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "season.gpx", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "metric.gpx", written(t, exporttest.Season(), export.Options{Units: si.Metric, Sym: "Anchor", Title: "Spring"}))
	exporttest.Golden(t, "empty.gpx", written(t, exporttest.Empty(), export.Options{}))
}

// The sequences of the GPX 1.1 schema (gpx.xsd, types gpxType, metadataType,
// wptType and rteType): children in this order, none else.
var sequences = map[string]string{
	"gpx":      "metadata wpt rte trk extensions",
	"metadata": "name desc author copyright link time keywords bounds extensions",
	"wpt":      "ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop ageofdgpsdata dgpsid extensions",
	"rte":      "name cmt desc src link number type extensions rtept",
	"author":   "name email link",
	"name":     "", "desc": "", "sym": "",
}

// TestSchemaOrder walks the elements and holds them against the schema's
// sequences, its required attributes and its ranges of positions.
func TestSchemaOrder(t *testing.T) {
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "empty": exporttest.Empty()} {
		t.Run(name, func(t *testing.T) {
			checkOrder(t, written(t, in, export.Options{Sym: "Anchor"}))
		})
	}
}

func checkOrder(t *testing.T, b []byte) {
	d := xml.NewDecoder(bytes.NewReader(b))
	type open struct {
		name string
		last int // place in the sequence of the last child
	}
	stack := []open{{name: "root"}}
	for {
		token, err := d.Token()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			parent := &stack[len(stack)-1]
			kind := e.Name.Local
			if kind == "rtept" {
				kind = "wpt" // both are of wptType
			}
			if _, ok := sequences[kind]; !ok {
				t.Fatalf("element %s is not of GPX 1.1", kind)
			}
			if parent.name != "root" {
				place := -1
				for i, s := range strings.Fields(sequences[parent.name]) {
					if s == e.Name.Local {
						place = i
					}
				}
				if place < parent.last {
					t.Errorf("line %d: %s is misplaced in %s", line(d), e.Name.Local, parent.name)
				}
				parent.last = place
			}
			attributes(t, kind, e.Attr)
			stack = append(stack, open{name: kind})
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
}

func line(d *xml.Decoder) int {
	n, _ := d.InputPos()
	return n
}

func attributes(t *testing.T, kind string, attrs []xml.Attr) {
	got := map[string]string{}
	for _, a := range attrs {
		got[a.Name.Local] = a.Value
	}
	switch kind {
	case "gpx":
		if got["version"] != "1.1" || got["creator"] != "leadline" || got["xmlns"] != "http://www.topografix.com/GPX/1/1" {
			t.Errorf("gpx has %v", got)
		}
	case "wpt":
		for name, most := range map[string]float64{"lat": 90, "lon": 180} {
			v, err := strconv.ParseFloat(got[name], 64)
			if err != nil || v < -most || v > most || len(got[name]) > len("-179.1234567") {
				t.Errorf("%s is %q", name, got[name])
			}
		}
	}
}

func TestSymbolOnlyWhenGiven(t *testing.T) {
	if b := written(t, exporttest.Season(), export.Options{}); bytes.Contains(b, []byte("<sym")) {
		t.Error("a sym that nobody gave")
	}
	if b := written(t, exporttest.Season(), export.Options{Sym: "A & B"}); bytes.Count(b, []byte("<sym>A &amp; B</sym>")) != 3 {
		t.Error("not one sym a waypoint")
	}
}

func TestNoClock(t *testing.T) {
	a, b := written(t, exporttest.Season(), export.Options{}), written(t, exporttest.Season(), export.Options{})
	if !bytes.Equal(a, b) {
		t.Error("two writes differ")
	}
	if bytes.Contains(a, []byte("<time")) {
		t.Error("carries a time")
	}
}

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	if err := Write(full{}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
