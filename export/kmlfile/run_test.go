package kmlfile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func writtenRun(t *testing.T, c spatial.Chart, r spatial.Run, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteRun(&b, c, r, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestRunGolden(t *testing.T) {
	c, r := exporttest.Run()
	exporttest.Golden(t, "run.kml", writtenRun(t, c, r, export.Options{}))
	exporttest.Golden(t, "run.metric.kml", writtenRun(t, c, r, export.Options{Units: si.Metric, Title: "Spring & <early> summer"}))
	r.Stops, r.Legs = nil, nil
	exporttest.Golden(t, "run.empty.kml", writtenRun(t, c, r, export.Options{}))
}

func TestRunFolders(t *testing.T) {
	c, r := exporttest.Run()
	r.Stops = append(r.Stops, r.Stops[0]) // Z2 twice
	r.Stops[3].Order = 4
	var got []string
	for _, f := range read(t, writtenRun(t, c, r, export.Options{})).Folders {
		for _, p := range f.Placemarks {
			got = append(got, f.Name+"/"+p.Name)
		}
	}
	want := []string{
		"Stops/1. Z2: fish at 9 to 12 ft, point", "Stops/2. Z1: fish at 18 to 22 ft, hump", "Stops/3. Z3: fish at 30 to 34 ft", "Stops/4. Z2: fish at 9 to 12 ft, point",
		"Legs/1. Launch to Z2", "Legs/2. Z2 to Z1", "Legs/3. Z1 to Z3", "Legs/4. Z3 to Z2",
		"Zones/Z2: fish at 11 to 14 ft, point", "Zones/Z1: fish at 18 to 22 ft, hump", "Zones/Z3: fish at 30 to 34 ft",
	}
	if !slices.Equal(got, want) {
		t.Errorf("has\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// The sequences of the schema of OGC KML 2.2 (ogckml22.xsd): children in this order, as far
// as elements are written here.
var sequences = map[string]string{
	"kml":             "Document",
	"Document":        "name open description LookAt Style Schema Folder",
	"Folder":          "name open Placemark",
	"Placemark":       "name description LookAt TimeStamp TimeSpan styleUrl Region ExtendedData Point LineString Polygon MultiGeometry",
	"TimeStamp":       "when",
	"TimeSpan":        "begin end",
	"Region":          "LatLonAltBox Lod",
	"LatLonAltBox":    "north south east west",
	"Lod":             "minLodPixels",
	"LookAt":          "longitude latitude altitude heading tilt range",
	"Style":           "IconStyle LabelStyle LineStyle PolyStyle",
	"IconStyle":       "color scale",
	"LabelStyle":      "color scale",
	"LineStyle":       "color width",
	"PolyStyle":       "color fill outline",
	"Schema":          "SimpleField",
	"ExtendedData":    "SchemaData",
	"SchemaData":      "SimpleData",
	"MultiGeometry":   "Point LineString Polygon MultiGeometry",
	"Point":           "coordinates",
	"LineString":      "tessellate coordinates",
	"Polygon":         "tessellate outerBoundaryIs innerBoundaryIs",
	"outerBoundaryIs": "LinearRing",
	"innerBoundaryIs": "LinearRing",
	"LinearRing":      "coordinates",
}

func TestElementOrder(t *testing.T) {
	c, r := exporttest.Run()
	inOrder(t, writtenRun(t, c, r, export.Options{}))
	in := exporttest.Season()
	in.Chart.Contours = dense(40)
	inOrder(t, written(t, in, export.Options{}))
}

func inOrder(t *testing.T, b []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(b))
	type open struct {
		name string
		last int
	}
	stack := []open{{name: "root"}}
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			parent := &stack[len(stack)-1]
			if parent.name != "root" {
				place := slices.Index(strings.Fields(sequences[parent.name]), e.Name.Local)
				any := parent.name == "MultiGeometry" && place >= 0 // its members stand in any order
				if place < parent.last && !any {
					line, _ := d.InputPos()
					t.Errorf("line %d: %s is misplaced in %s", line, e.Name.Local, parent.name)
				}
				parent.last = place
			}
			stack = append(stack, open{name: e.Name.Local})
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
}

func TestRunReferences(t *testing.T) {
	c, r := exporttest.Run()
	d := read(t, writtenRun(t, c, r, export.Options{}))
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
			if !strings.Contains(p.Description, "<table>") {
				t.Errorf("%s has no table", p.Name)
			}
			for _, v := range p.SchemaData.Values {
				if !fields[p.SchemaData.URL+" "+v.Name] {
					t.Errorf("%s: %s is not in schema %s", p.Name, v.Name, p.SchemaData.URL)
				}
			}
		}
	}
}

// A stop is a point, and a line where its drift goes, longitude before latitude (OGC KML
// 2.2 section 16.10).
func TestRunDriftLines(t *testing.T) {
	var d struct {
		Folders []struct {
			Name       string `xml:"name"`
			Placemarks []struct {
				Point string `xml:"Point>coordinates"`
				Multi struct {
					Point string `xml:"Point>coordinates"`
					Line  string `xml:"LineString>coordinates"`
				} `xml:"MultiGeometry"`
				Values []struct {
					Name string `xml:"name,attr"`
					Text string `xml:",chardata"`
				} `xml:"ExtendedData>SchemaData>SimpleData"`
			} `xml:"Placemark"`
		} `xml:"Document>Folder"`
	}
	c, r := exporttest.Run()
	if err := xml.Unmarshal(writtenRun(t, c, r, export.Options{}), &d); err != nil {
		t.Fatal(err)
	}
	if d.Folders[0].Name != "Stops" {
		t.Fatalf("first folder %s", d.Folders[0].Name)
	}
	text := func(lon, lat float64) string {
		return strconv.FormatFloat(lon, 'f', -1, 64) + "," + strconv.FormatFloat(lat, 'f', -1, 64)
	}
	for i, p := range d.Folders[0].Placemarks {
		s := r.Stops[i]
		at, end := export.RoundPoint(s.At), export.RoundPoint(s.DriftEnd)
		start := text(at[0], at[1])
		if !s.DriftTowardDeg.OK {
			if p.Point != start || p.Multi.Line != "" {
				t.Errorf("stop %d is %q, drift %q; want %s alone", i+1, p.Point, p.Multi.Line, start)
			}
			continue
		}
		if want := start + " " + text(end[0], end[1]); p.Multi.Point != start || p.Multi.Line != want {
			t.Errorf("stop %d is %q, drift %q; want %s", i+1, p.Multi.Point, p.Multi.Line, want)
		}
		found := false
		for _, v := range p.Values {
			found = found || v.Name == "drift_start" && v.Text == start
		}
		if !found {
			t.Errorf("stop %d has no drift_start %s", i+1, start)
		}
	}
}

func TestRunHostileText(t *testing.T) {
	c, r := exporttest.Run()
	c.Zones[0].ID, r.Stops[1].Zone, r.Nearest.Order[0] = exporttest.Hostile, exporttest.Hostile, exporttest.Hostile
	c.Zones[1].Name, c.Zones[2].Structure = exporttest.Hostile+"\x00 ]]>", exporttest.Hostile
	b := writtenRun(t, c, r, export.Options{Title: exporttest.Hostile})
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
		t.Error("the hostile text is gone")
	}
	var d struct {
		About string `xml:"Document>description"`
	}
	if err := xml.Unmarshal(b, &d); err != nil || strings.Contains(d.About, "<script") || !strings.Contains(d.About, "&lt;script&gt;") {
		t.Errorf("the document is about %q (%v)", d.About, err)
	}
}

func TestRunNothingOutside(t *testing.T) {
	c, r := exporttest.Run()
	b := writtenRun(t, c, r, export.Options{})
	for _, s := range []string{"<href", "<Icon>", "src=", "<link", "NetworkLink"} {
		if bytes.Contains(b, []byte(s)) {
			t.Errorf("has %s", s)
		}
	}
}

func TestRunWriterError(t *testing.T) {
	c, r := exporttest.Run()
	if err := WriteRun(full{}, c, r, export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
