package kmlfile

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
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
	exporttest.Golden(t, "season.kml", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "metric.kml", written(t, exporttest.Season(), export.Options{Units: si.Metric, Title: "Spring & <early> summer"}))
	exporttest.Golden(t, "empty.kml", written(t, exporttest.Empty(), export.Options{}))
}

// A doc is what a reader that knows only the standard takes in.
type doc struct {
	Styles []struct {
		ID    string `xml:"id,attr"`
		Poly  string `xml:"PolyStyle>color"`
		Line  string `xml:"LineStyle>color"`
		Width string `xml:"LineStyle>width"`
	} `xml:"Document>Style"`
	Schemas []struct {
		ID     string `xml:"id,attr"`
		Fields []struct {
			Name string `xml:"name,attr"`
		} `xml:"SimpleField"`
	} `xml:"Document>Schema"`
	Folders []struct {
		Name       string `xml:"name"`
		Placemarks []struct {
			Name        string `xml:"name"`
			Description string `xml:"description"`
			StyleURL    string `xml:"styleUrl"`
			SchemaData  struct {
				URL    string `xml:"schemaUrl,attr"`
				Values []struct {
					Name string `xml:"name,attr"`
					Text string `xml:",chardata"`
				} `xml:"SimpleData"`
			} `xml:"ExtendedData>SchemaData"`
		} `xml:"Placemark"`
	} `xml:"Document>Folder"`
}

func read(t *testing.T, b []byte) doc {
	t.Helper()
	var d doc
	if err := xml.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestFolders(t *testing.T) {
	d := read(t, written(t, exporttest.Season(), export.Options{}))
	want := map[string]int{
		"Zones": 2, "Unproven places": 1, "Drift lines": 3, "Depth bands": 8, "Depth contours": 6, "Catches and marks": 47,
	}
	if len(d.Folders) != len(want) {
		t.Errorf("%d folders, want %d", len(d.Folders), len(want))
	}
	for _, f := range d.Folders {
		if len(f.Placemarks) != want[f.Name] {
			t.Errorf("%s has %d placemarks, want %d", f.Name, len(f.Placemarks), want[f.Name])
		}
	}
}

// TestReferences: every style and schema that a placemark names exists, and every
// value it carries is declared in its schema.
func TestReferences(t *testing.T) {
	d := read(t, written(t, exporttest.Season(), export.Options{}))
	styles, fields := map[string]bool{}, map[string]bool{}
	for _, s := range d.Styles {
		styles["#"+s.ID] = true
	}
	for _, s := range d.Schemas {
		for _, f := range s.Fields {
			fields["#"+s.ID+" "+f.Name] = true
		}
	}
	for _, f := range d.Folders {
		for _, p := range f.Placemarks {
			if !styles[p.StyleURL] {
				t.Errorf("%s: no style %s", p.Name, p.StyleURL)
			}
			for _, v := range p.SchemaData.Values {
				if !fields[p.SchemaData.URL+" "+v.Name] {
					t.Errorf("%s: %s is not in schema %s", p.Name, v.Name, p.SchemaData.URL)
				}
			}
		}
	}
}

// TestColours: KML 2.2 section 16.9 writes a colour as aabbggrr, not premultiplied.
func TestColours(t *testing.T) {
	for _, s := range read(t, written(t, exporttest.Season(), export.Options{})).Styles {
		if s.ID == "zone" && (s.Line != "ff005ed5" || s.Poly != "66005ed5") {
			t.Errorf("zone has line %s, fill %s; want vermillion d55e00 in both", s.Line, s.Poly)
		}
	}
}

// TestHostileText: what somebody typed into a log is text at both layers, XML and
// the HTML inside a balloon.
func TestHostileText(t *testing.T) {
	in := exporttest.Season()
	in.Chart.Events[0].Species = "a\x00b ]]> & \xff"
	b := written(t, in, export.Options{Title: exporttest.Hostile})
	if bytes.Contains(b, []byte("<script")) {
		t.Error("a script element in the XML")
	}
	found := false
	for _, f := range read(t, b).Folders {
		for _, p := range f.Placemarks {
			if strings.Contains(p.Description, "<script") {
				t.Errorf("%s: a script element in the balloon", p.Name)
			}
			found = found || strings.Contains(p.Description, "&lt;script&gt;alert(1)&lt;/script&gt;")
		}
	}
	if !found {
		t.Error("the text of the hostile species is gone")
	}
}

func TestNothingOutside(t *testing.T) {
	b := written(t, exporttest.Season(), export.Options{})
	for _, s := range []string{"<href", "<Icon>", "src=", "<link", "NetworkLink"} {
		if bytes.Contains(b, []byte(s)) {
			t.Errorf("has %s", s)
		}
	}
	if n := bytes.Count(b, []byte("http")); n != 1 {
		t.Errorf("%d addresses, want only the namespace", n)
	}
}

func TestKMZ(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []io.Writer{&a, &b} {
		if err := WriteKMZ(w, exporttest.Season(), export.Options{}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two writes differ")
	}
	z, err := zip.NewReader(bytes.NewReader(a.Bytes()), int64(a.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.File) != 1 || z.File[0].Name != "doc.kml" {
		t.Fatalf("holds %d files, first %q", len(z.File), z.File[0].Name)
	}
	f, err := z.File[0].Open()
	if err != nil {
		t.Fatal(err)
	}
	inside, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(inside, written(t, exporttest.Season(), export.Options{})) {
		t.Error("doc.kml differs from the bare file")
	}
	// The date and time of day stand at offset 10 of the local header (APPNOTE 4.3.7).
	if stamp := a.Bytes()[10:14]; !bytes.Equal(stamp, make([]byte, 4)) {
		t.Errorf("carries a time: % x", stamp)
	}
}

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	if err := Write(full{}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
	if err := WriteKMZ(full{}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
