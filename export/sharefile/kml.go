package sharefile

import (
	"archive/zip"
	"bytes"
	"html/template"
	"image/color"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/plane"
)

// writeKML writes a document with a placemark per zone. Nothing refers to another file.
func writeKML(w io.Writer, items []item, opt Options) error {
	doc, err := document(items, opt)
	if err != nil {
		return err
	}
	if err := kml.KML(doc).WriteIndent(w, "", " "); err != nil {
		return err
	}
	_, err = io.WriteString(w, "\n")
	return err
}

// writeKMZ writes the same into a zip archive, which carries no time.
func writeKMZ(w io.Writer, items []item, opt Options) error {
	z := zip.NewWriter(w)
	f, err := z.CreateHeader(&zip.FileHeader{Name: "doc.kml", Method: zip.Deflate})
	if err != nil {
		return err
	}
	if err := writeKML(f, items, opt); err != nil {
		return err
	}
	return z.Close()
}

func document(items []item, opt Options) (kml.Element, error) {
	var description bytes.Buffer
	if err := balloons.ExecuteTemplate(&description, "about", about(opt)); err != nil {
		return nil, err
	}
	line := color.RGBA{export.ZoneColour.R, export.ZoneColour.G, export.ZoneColour.B, 0xff}
	fill := line
	fill.A = 0x40
	schema := kml.NamedSchema("of-"+items[0].Kind, items[0].Kind)
	for _, p := range items[0].Properties {
		if p.Name != "name" { // every placemark has it as its own element
			kind := "string"
			if _, is := p.Value.(ingest.Maybe); is {
				kind = "double"
			}
			schema.Append(kml.SimpleField(p.Name, kind))
		}
	}
	doc := kml.Document(
		kml.Name(heading), kml.Open(true), kml.Description(description.String()+"<p>Made by leadline.</p>"), lookAt(items),
		kml.SharedStyle("share", kml.LineStyle(kml.Color(line), kml.Width(3)), kml.PolyStyle(kml.Color(fill), kml.Fill(true), kml.Outline(true))),
		schema,
	)
	for _, i := range items {
		var balloon bytes.Buffer
		if err := balloons.ExecuteTemplate(&balloon, "placemark", i.facts); err != nil {
			return nil, err
		}
		data := kml.SchemaData("#of-" + i.Kind)
		for _, p := range i.Properties {
			if text, known := valueText(p.Value); known && p.Name != "name" {
				data.Append(kml.SimpleData(p.Name, text))
			}
		}
		doc.Append(kml.Placemark(
			kml.Name(i.Name), kml.Description(balloon.String()), kml.StyleURL("#share"), kml.ExtendedData(data), shapeElement(export.Cut(i.Geometry)),
		))
	}
	return doc, nil
}

// html/template escapes every value.
var balloons = template.Must(template.New("").Parse(`
{{- define "about"}}{{range .}}<p>{{.}}</p>{{end}}{{end}}
{{- define "placemark"}}<table>{{range .}}<tr><th align="left">{{.Label}}</th><td>{{.Value}}</td></tr>{{end}}</table>{{end}}`))

// valueText prints a property's value; known is false for one that can't be known.
func valueText(v any) (text string, known bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case ingest.Maybe:
		return strconv.FormatFloat(v.V, 'f', -1, 64), v.OK
	}
	return "", false
}

// shapeElement returns a polygon, or those that one across 180° was cut into.
func shapeElement(g orb.Geometry) kml.Element {
	if p, whole := g.(orb.Polygon); whole {
		return polygonElement(p)
	}
	out := kml.MultiGeometry()
	for _, p := range g.(orb.MultiPolygon) {
		out.Append(polygonElement(p))
	}
	return out
}

func polygonElement(p orb.Polygon) kml.Element {
	out := kml.Polygon(kml.Tessellate(true))
	for i, r := range p {
		at := make(kml.CoordinatesElement, len(r))
		for j, p := range r {
			at[j] = kml.Coordinate{Lon: p[0], Lat: p[1]}
		}
		if ring := kml.LinearRing(at); i == 0 {
			out.Append(kml.OuterBoundaryIs(ring))
		} else {
			out.Append(kml.InnerBoundaryIs(ring))
		}
	}
	return out
}

// lookAt frames everything, from straight above and half a kilometre at least.
func lookAt(items []item) kml.Element {
	west, south, east, north := bounds(items)
	if west > east {
		east += 360
	}
	centre := export.RoundPoint(orb.Point{math.Remainder((west+east)/2, 360), (south + north) / 2})
	rangeM := math.Max(500, 1.2*plane.New(centre).DistanceM(orb.Point{west, south}, orb.Point{east, north}))
	return kml.LookAt(kml.Longitude(centre[0]), kml.Latitude(centre[1]), kml.Altitude(0), kml.Heading(0), kml.Tilt(0), kml.Range(math.Round(rangeM)))
}
