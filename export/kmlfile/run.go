package kmlfile

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"

	"leadline/export"
	"leadline/spatial"
)

// The ids of a run's styles.
const (
	styleStop = "stop"
	styleLeg  = "leg"
)

// legColour is bluish green of the palette by Okabe and Ito (Color Universal Design, 2008):
// it stays apart from the vermillion of zones, the yellow of drifts and the blue of water.
var legColour = color.RGBA{0x00, 0x9e, 0x73, 0xff}

// WriteRun writes a run as an overlay with a folder each for stops and legs, both in order
// of travel with their number in the name, and one for the outlines of the stops' zones. A
// stop is a point, with a line from the start to the end of its drift where it is known
// which way that goes. Balloons and typed data are as Write's; a drift's start and end are
// text in it, longitude and latitude in degrees with a comma between. The chart is the
// run's. A run without a stop gives a document without folders.
//
// Errors are those of w, and of text that XML can't hold.
func WriteRun(w io.Writer, c spatial.Chart, r spatial.Run, opt export.Options) error {
	doc, err := runDocument(c, r, opt)
	if err != nil {
		return err
	}
	if err := kml.KML(doc).WriteIndent(w, "", " "); err != nil {
		return err
	}
	_, err = io.WriteString(w, "\n")
	return err
}

func runDocument(c spatial.Chart, r spatial.Run, opt export.Options) (*kml.DocumentElement, error) {
	u := opt.Units
	title := opt.Title
	if title == "" {
		title = "Run"
	}
	if r.Date != "" {
		title += " " + r.Date
	}
	var about bytes.Buffer
	if err := balloons.ExecuteTemplate(&about, "about", append(export.RunSummary(r, u), export.RunCautions(u)...)); err != nil {
		return nil, err
	}
	doc := kml.Document(kml.Name(title), kml.Open(true), kml.Description(about.String()+"<p>Made by leadline.</p>"))

	var stops, legs, zones []placemark
	shown := map[string]bool{}
	for i, s := range r.Stops {
		z := export.RunZone(c, s)
		facts := append([]export.Fact{
			{Label: "Arrive", Value: export.RunClock(s.Arrive, r.Zone)},
			{Label: "Leave", Value: export.RunClock(s.Leave, r.Zone)},
		}, export.RunStopFacts(s, z, u)...)
		p := placemark{Feature: export.RunStopFeature(c, r, i, u), Facts: facts, Why: export.HeadWhy(s.Head, u), style: styleStop}
		if s.FishBottomM.OK && s.FishBottomM.V > export.DeepFishM {
			p.Caution = export.DeepFishCaution(u)
		}
		pointsAsText(p.Properties)
		if start, end := export.RoundPoint(s.At), export.RoundPoint(s.DriftEnd); s.DriftTowardDeg.OK && start != end {
			// The point is what the name stands at, the line is the drift.
			p.Geometry, p.Labels = orb.LineString{start, end}, []spatial.ContourLabel{{At: start}}
		}
		stops = append(stops, p)
		// A zone that is a stop twice is drawn once.
		if len(z.Shape) > 0 && !shown[z.ID] {
			shown[z.ID] = true
			outline := placemark{Feature: export.ZoneFeature(z, u), Facts: export.ZoneFacts(z, c.Forecast, u), style: styleUnproven}
			if z.Proven {
				outline.style = styleZone
			}
			zones = append(zones, outline)
		}
	}
	for i, l := range r.Legs {
		f := export.RunLegFeature(r, i, u)
		f.Name = strconv.Itoa(i+1) + ". " + f.Name
		legs = append(legs, placemark{Feature: f, style: styleLeg, Facts: []export.Fact{
			{Label: "Way", Value: export.RunLegWords(l, u)},
		}})
	}
	folders := []struct {
		name       string
		placemarks []placemark
		open       bool
	}{
		{"Stops", stops, true},
		{"Legs", legs, false},
		{"Zones", zones, false},
	}
	var all []placemark
	for _, f := range folders {
		all = append(all, f.placemarks...)
	}
	if view := lookAt(all, documentViewM); view != nil {
		doc.Append(view)
	}
	doc.Append(runStyles()...)
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

// pointsAsText spells positions as KML does, since its typed data know none.
func pointsAsText(properties export.Properties) {
	for i, property := range properties {
		if at, ok := property.Value.(orb.Point); ok {
			properties[i].Value = strconv.FormatFloat(at[0], 'f', -1, 64) + "," + strconv.FormatFloat(at[1], 'f', -1, 64)
		}
	}
}

func runStyles() []kml.Element {
	return append([]kml.Element{
		// Without an Icon a viewer takes the mark it has built in. The line is the drift.
		kml.SharedStyle(styleStop,
			kml.IconStyle(kml.Color(fade(export.ZoneColour, 0xff)), kml.Scale(1.1)),
			kml.LineStyle(kml.Color(fade(export.DriftColour, 0xff)), kml.Width(4))),
		kml.SharedStyle(styleLeg, kml.LineStyle(kml.Color(fade(legColour, 0xff)), kml.Width(3))),
	}, zoneStyles()...)
}

// zoneStyles are outlines only: what lies under a stop is context.
func zoneStyles() []kml.Element {
	noFill := kml.PolyStyle(kml.Fill(false), kml.Outline(true))
	return []kml.Element{
		kml.SharedStyle(styleZone, kml.LineStyle(kml.Color(fade(export.ZoneColour, 0xff)), kml.Width(2)), noFill),
		kml.SharedStyle(styleUnproven, kml.LineStyle(kml.Color(fade(export.ZoneColour, 0xb0)), kml.Width(1.5)), noFill),
	}
}
