// Package kmlfile writes a chart as an overlay in OGC KML 2.2, bare or zipped
// (KMZ), with a folder for each kind of thing.
package kmlfile

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html/template"
	"image/color"
	"io"
	"math"
	"strconv"
	"time"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// The styles' ids.
const (
	styleZone     = "zone"
	styleUnproven = "unproven"
	styleDrift    = "drift"
	styleContour  = "contour"
	styleEvent    = "event"
	styleBand     = "band" // with the band's number behind it
)

// Write writes the chart with a folder each for proven zones, unproven places,
// drift lines, depth bands, contours and events; a folder with nothing in it is
// left out. Every placemark has a table in the person's units as its balloon, all
// text in it escaped, and the properties of package export as typed ExtendedData;
// a value that can't be known is left out of that. Nothing refers to another file.
//
// An event carries its time in UTC, and a zone the span from its first event to its
// last, as far as they are known; each zone has a view that fits it. Lines and outlines
// leave out points that stand off by at most 1.5 m, a zone's 0.3 m, and longitude and
// latitude have six decimals, so that nothing is drawn farther than 1.6 m from where it was
// found; polygons stay valid. Shapes across 180° are cut there. Where contours lie dense all but every
// fifth are shown only from near by.
//
// Errors are those of w, and of text that XML can't hold. Its cost is n log n in the
// number of points, and n² for an outline of which no point can be left out.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	doc, err := document(in, opt)
	if err != nil {
		return err
	}
	if err := kml.KML(doc).WriteIndent(w, "", " "); err != nil {
		return err
	}
	_, err = io.WriteString(w, "\n")
	return err
}

// WriteKMZ writes the same as Write into a zip archive as doc.kml, its one file.
// The archive carries no time, so that the same input gives the same bytes.
func WriteKMZ(w io.Writer, in export.Findings, opt export.Options) error {
	z := zip.NewWriter(w)
	f, err := z.CreateHeader(&zip.FileHeader{Name: "doc.kml", Method: zip.Deflate})
	if err != nil {
		return err
	}
	if err := Write(f, in, opt); err != nil {
		return err
	}
	return z.Close()
}

func document(in export.Findings, opt export.Options) (*kml.DocumentElement, error) {
	c, u := in.Chart, opt.Units
	var about bytes.Buffer
	if err := balloons.ExecuteTemplate(&about, "about", export.Cautions(u)); err != nil {
		return nil, err
	}
	doc := kml.Document(kml.Name(opt.Heading()), kml.Open(true), kml.Description(about.String()+"<p>Made by leadline.</p>"))

	var zones, unproven, drifts, bands, contours, events []placemark
	spans := zoneTimes(c.Events)
	for _, z := range c.Zones {
		p := placemark{Feature: export.ZoneFeature(z, u), Facts: export.ZoneFacts(z, c.Forecast, u), Why: export.HeadWhy(z.Head, u), Advice: export.Advice(z, c.Leeway, u), style: styleZone}
		if z.FishBottomM.OK && z.FishBottomM.V > export.DeepFishM {
			p.Caution = export.DeepFishCaution(u)
		}
		p.shape = drawn(p.Geometry, zoneErrorM)
		p.view = lookAt([]placemark{p}, zoneViewM)
		if span, ok := spans[z.ID]; ok {
			p.when = kml.TimeSpan(kml.Begin(span.from.UTC()), kml.End(span.to.UTC()))
		}
		if z.Proven {
			zones = append(zones, p)
			continue
		}
		p.style = styleUnproven
		unproven = append(unproven, p)
	}
	for _, d := range c.Drifts {
		drifts = append(drifts, placemark{Feature: export.DriftFeature(d, u), Facts: export.DriftFacts(d, u), style: styleDrift})
	}
	for i, b := range c.Bands {
		bands = append(bands, placemark{Feature: export.BandFeature(b, u), Facts: export.BandFacts(b, u), style: bandStyle(i)})
	}
	for i, l := range c.Contours {
		contours = append(contours, placemark{Feature: export.ContourFeature(i, l, u), style: styleContour, Labels: l.Labels})
	}
	for _, e := range c.Events {
		p := placemark{Feature: export.EventFeature(e, c.Zone), Facts: export.EventFacts(e, c.Zone, u), style: styleEvent}
		if !e.Time.IsZero() {
			p.when = kml.TimeStamp(kml.When(e.Time.UTC()))
		}
		events = append(events, p)
	}
	for _, ps := range [][]placemark{drifts, bands, contours, events} {
		for i := range ps {
			ps[i].shape = drawn(ps[i].Geometry, errorM)
		}
	}
	nearBy(contours, c.Contours)
	folders := []struct {
		name       string
		placemarks []placemark
		open       bool
	}{
		{"Zones", zones, true},
		{"Unproven places", unproven, true},
		{"Drift lines", drifts, false},
		{"Depth bands", bands, false},
		{"Depth contours", contours, false},
		{"Catches and marks", events, false},
	}

	var all []placemark
	for _, f := range folders {
		all = append(all, f.placemarks...)
	}
	if view := lookAt(all, documentViewM); view != nil {
		doc.Append(view)
	}
	doc.Append(styles(c)...)
	doc.Append(schemas(all)...)
	for _, f := range folders {
		if len(f.placemarks) == 0 {
			continue
		}
		folder := kml.Folder(kml.Name(f.name), kml.Open(f.open))
		for _, p := range f.placemarks {
			e, err := p.element()
			if err != nil {
				return nil, fmt.Errorf("%s %s: %w", p.Kind, p.ID, err)
			}
			folder.Append(e)
		}
		doc.Append(folder)
	}
	return doc, nil
}

// A placemark is a feature with what its balloon says.
type placemark struct {
	export.Feature
	Facts   []export.Fact
	Why     string
	Caution string
	Advice  []export.AdviceLine
	Labels  []spatial.ContourLabel // where the name is to stand; a viewer names a line nowhere
	style   string
	shape   orb.Geometry // how Geometry is drawn; nil: as it is
	view    kml.Element  // nil: that of the document
	when    kml.Element  // nil when it has no time, or that isn't known
	region  kml.Element  // nil: shown from any height
}

// outline returns what is drawn.
func (p placemark) outline() orb.Geometry {
	if p.shape != nil {
		return p.shape
	}
	return p.Geometry
}

func (p placemark) element() (kml.Element, error) {
	e := kml.Placemark(kml.Name(p.Name))
	if len(p.Facts) > 0 {
		var balloon bytes.Buffer
		if err := balloons.ExecuteTemplate(&balloon, "placemark", p); err != nil {
			return nil, err
		}
		e.Append(kml.Description(balloon.String()))
	}
	if p.view != nil {
		e.Append(p.view)
	}
	if p.when != nil {
		e.Append(p.when)
	}
	e.Append(kml.StyleURL("#" + p.style))
	if p.region != nil {
		e.Append(p.region)
	}
	data := kml.SchemaData("#" + schemaID(p.Kind))
	for _, property := range p.Properties {
		if text, known := valueText(property.Value); known && !reserved(property.Name) {
			data.Append(kml.SimpleData(property.Name, text))
		}
	}
	e.Append(kml.ExtendedData(data))
	if g := geometry(p.outline()); g != nil {
		e.Append(p.labelled(g))
	}
	return e, nil
}

// labelled returns a shape together with the points at which a viewer prints the
// placemark's name.
func (p placemark) labelled(g kml.Element) kml.Element {
	if len(p.Labels) == 0 {
		return g
	}
	m := kml.MultiGeometry()
	if lines, ok := p.outline().(orb.MultiLineString); ok {
		for _, l := range lines {
			m.Append(geometry(l))
		}
	} else {
		m.Append(g)
	}
	for _, l := range p.Labels {
		at := export.RoundPoint(l.At)
		if p.shape != nil {
			at = sixDecimals(at)
		}
		m.Append(geometry(at))
	}
	return m
}

// reserved tells the property that every placemark has as its own element.
func reserved(name string) bool { return name == "name" }

// balloons are small tables without style sheet or script: viewers differ in how
// much of HTML they show. html/template escapes every value.
var balloons = template.Must(template.New("").Parse(`
{{- define "about"}}{{range .}}<p>{{.}}</p>{{end}}{{end}}
{{- define "placemark"}}<table>{{range .Facts}}<tr><th align="left">{{.Label}}</th><td>{{.Value}}</td></tr>{{end}}</table>
{{- with .Why}}<p>{{.}}</p>{{end}}{{with .Caution}}<p>{{.}}</p>{{end}}
{{- with .Advice}}<p>` + export.AdviceHeading + `:</p><ul>{{range .}}<li>{{.What}} ({{.Why}})</li>{{end}}</ul>{{end}}{{end}}`))

func bandStyle(i int) string { return styleBand + strconv.Itoa(i+1) }

// fade returns the colour with another opacity. KML colours are not premultiplied
// by their opacity, and go-kml v3.2.1 writes what RGBA returns: a color.NRGBA
// would come out darkened.
func fade(c color.RGBA, alpha uint8) color.RGBA { return color.RGBA{c.R, c.G, c.B, alpha} }

func styles(c spatial.Chart) []kml.Element {
	noFill := kml.PolyStyle(kml.Fill(false), kml.Outline(true))
	out := []kml.Element{
		// A zone's name is what the map is for; a season's hundreds of events and bands would
		// cover it with theirs.
		kml.SharedStyle(styleZone,
			kml.LabelStyle(kml.Scale(1)),
			kml.LineStyle(kml.Color(fade(export.ZoneColour, 0xff)), kml.Width(3)),
			kml.PolyStyle(kml.Color(fade(export.ZoneColour, 0x66)), kml.Fill(true), kml.Outline(true))),
		// KML knows neither hatching nor dashes: an unproven place is an outline only.
		kml.SharedStyle(styleUnproven, kml.LabelStyle(kml.Scale(0.8)), kml.LineStyle(kml.Color(fade(export.ZoneColour, 0xb0)), kml.Width(1.5)), noFill),
		kml.SharedStyle(styleDrift, kml.LabelStyle(kml.Scale(0.7)), kml.LineStyle(kml.Color(fade(export.DriftColour, 0xff)), kml.Width(3))),
		// An icon of no size leaves the name alone at its point.
		kml.SharedStyle(styleContour,
			kml.IconStyle(kml.Scale(0)), kml.LabelStyle(kml.Scale(0.6)),
			kml.LineStyle(kml.Color(fade(export.DepthColour(1, 2, 0), 0xa0)), kml.Width(1))),
		// Without an Icon a viewer takes the mark it has built in.
		kml.SharedStyle(styleEvent,
			kml.IconStyle(kml.Color(fade(export.EventColour, 0xff)), kml.Scale(0.5)),
			kml.LabelStyle(kml.Scale(0))),
	}
	for i := range c.Bands {
		shade := export.DepthColour(i, len(c.Bands), 0)
		out = append(out, kml.SharedStyle(bandStyle(i),
			kml.LabelStyle(kml.Scale(0)),
			kml.LineStyle(kml.Color(fade(shade, 0)), kml.Width(0)),
			kml.PolyStyle(kml.Color(fade(shade, 0x70)), kml.Fill(true), kml.Outline(false))))
	}
	return out
}

func schemaID(kind string) string { return "of-" + kind }

// schemas names the type of every property of the kinds that occur. A property
// has the same type in each feature of a kind, unknown or not.
func schemas(all []placemark) []kml.Element {
	var out []kml.Element
	done := map[string]bool{}
	for _, p := range all {
		if done[p.Kind] {
			continue
		}
		done[p.Kind] = true
		s := kml.NamedSchema(schemaID(p.Kind), p.Kind)
		for _, property := range p.Properties {
			if !reserved(property.Name) {
				s.Append(kml.SimpleField(property.Name, valueType(property.Value)))
			}
		}
		out = append(out, s)
	}
	return out
}

func valueType(v any) string {
	switch v.(type) {
	case int:
		return "int"
	case bool:
		return "bool"
	case float64, ingest.Maybe:
		return "double"
	}
	return "string"
}

// valueText prints a property's value; known is false for one that can't be known.
func valueText(v any) (text string, known bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case int:
		return strconv.Itoa(v), true
	case bool:
		// The schema type bool takes 1 and 0 in every reader; GDAL 3.6 reads "true" as 0.
		if v {
			return "1", true
		}
		return "0", true
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64), true
	case ingest.Maybe:
		return strconv.FormatFloat(v.V, 'f', -1, 64), v.OK
	}
	return "", false
}

func geometry(g orb.Geometry) kml.Element {
	switch g := g.(type) {
	case orb.Point:
		return kml.Point(coordinates(g))
	case orb.LineString:
		return kml.LineString(kml.Tessellate(true), coordinates(g...))
	case orb.MultiLineString:
		m := kml.MultiGeometry()
		for _, l := range g {
			m.Append(geometry(l))
		}
		return m
	case orb.Polygon:
		p := kml.Polygon(kml.Tessellate(true))
		for i, r := range g {
			ring := kml.LinearRing(coordinates(r...))
			if i == 0 {
				p.Append(kml.OuterBoundaryIs(ring))
			} else {
				p.Append(kml.InnerBoundaryIs(ring))
			}
		}
		return p
	case orb.MultiPolygon:
		m := kml.MultiGeometry()
		for _, p := range g {
			m.Append(geometry(p))
		}
		return m
	}
	return nil
}

func coordinates(ps ...orb.Point) kml.CoordinatesElement {
	out := make(kml.CoordinatesElement, len(ps))
	for i, p := range ps {
		out[i] = kml.Coordinate{Lon: p[0], Lat: p[1]}
	}
	return out
}

// What a view shows at least, in metres: a lone point, or a zone with the bottom it lies on.
const (
	documentViewM = 500
	zoneViewM     = 150
)

// lookAt frames everything that has a shape, from straight above and leastM away at
// least; nil when nothing has.
func lookAt(all []placemark, leastM float64) kml.Element {
	var shapes []orb.Geometry
	for _, p := range all {
		shapes = append(shapes, p.outline())
	}
	west, south, east, north, ok := export.Bounds(shapes...)
	if !ok {
		return nil
	}
	if west > east {
		east += 360
	}
	centre := orb.Point{(west + east) / 2, (south + north) / 2}
	if centre[0] > 180 {
		centre[0] -= 360
	}
	centre = export.RoundPoint(centre)
	// A viewer sees about as far across as it is away.
	acrossM := plane.New(centre).DistanceM(orb.Point{west, south}, orb.Point{east, north})
	return kml.LookAt(
		kml.Longitude(centre[0]), kml.Latitude(centre[1]), kml.Altitude(0),
		kml.Heading(0), kml.Tilt(0), kml.Range(math.Round(math.Max(leastM, 1.2*acrossM))),
	)
}

// A timeSpan is from the first to the last of some instants.
type timeSpan struct{ from, to time.Time }

// zoneTimes returns when each zone's events were; a zone of which no event's time is
// known is left out.
func zoneTimes(events []spatial.EventMark) map[string]timeSpan {
	out := map[string]timeSpan{}
	for _, e := range events {
		if e.Zone == "" || e.Time.IsZero() {
			continue
		}
		s, seen := out[e.Zone]
		if !seen || e.Time.Before(s.from) {
			s.from = e.Time
		}
		if !seen || e.Time.After(s.to) {
			s.to = e.Time
		}
		out[e.Zone] = s
	}
	return out
}
