// Package gpxfile writes the places to go to as GPX 1.1.
package gpxfile

import (
	"fmt"
	"io"
	"strings"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Write writes a waypoint per zone, at the mean of its events, and a route per
// drift line from its start to its end. Names are the ids, since many receivers
// show ten letters or fewer; depth, head and hours are in the description, in the
// person's units. A symbol is written only when Options has one. No time is
// written, so that the same input gives the same bytes.
//
// Errors are those of w.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	// gpxgo v1.4.0 puts its own address as creator when there is none, a bounds
	// element outside metadata when it is set, which the schema refuses, and prints
	// positions to ten decimals: the points here are rounded first.
	doc := gpx.GPX{
		Version: "1.1", Creator: "leadline",
		Name:        opt.Heading(),
		Description: strings.Join(export.Cautions(opt.Units), " "),
	}
	for _, z := range in.Chart.Zones {
		p := point(z.Centre)
		p.Name = z.ID
		p.Description = zoneWords(z, opt.Units)
		p.Symbol = opt.Sym
		doc.AppendWaypoint(&p)
	}
	for _, d := range in.Chart.Drifts {
		if len(d.Line) < 2 {
			continue
		}
		start, end := point(d.Line[0]), point(d.Line[len(d.Line)-1])
		start.Name, end.Name = d.ID+" start", d.ID+" end"
		doc.AppendRoute(&gpx.GPXRoute{
			Name: d.ID, Description: driftWords(d, opt.Units), Points: []gpx.GPXPoint{start, end},
		})
	}
	b, err := doc.ToXml(gpx.ToXmlParams{Version: "1.1", Indent: true})
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

func point(p orb.Point) gpx.GPXPoint {
	p = export.RoundPoint(p)
	return gpx.GPXPoint{Point: gpx.Point{Latitude: p[1], Longitude: p[0]}}
}

func zoneWords(z spatial.Zone, u si.System) string {
	var parts []string
	add := func(format string, text string) {
		if text != "" {
			parts = append(parts, fmt.Sprintf(format, text))
		}
	}
	if !z.Proven {
		parts = append(parts, "not proven")
	}
	if z.FishTopM.OK && z.FishBottomM.OK {
		add("fish at %s", export.DepthRange(z.FishTopM.V, z.FishBottomM.V, u))
	}
	if z.BottomM.OK {
		add("bottom %s", u.Depth(z.BottomM.V))
	}
	add("%s", z.Structure)
	if t, ok := z.Head.Chosen(); ok {
		add("head %s", u.Mass(t.Head.MassKg))
	} else {
		parts = append(parts, "no head chosen")
	}
	add("drift %s", export.DriftWords(z.DriftMPS, z.DriftTowardDeg, u))
	add("%s", export.HourWords(z.HourFrom, z.HourTo))
	add("%s", export.RateWords(z.Rate))
	return strings.Join(parts, "; ")
}

func driftWords(d spatial.DriftLine, u si.System) string {
	parts := []string{
		u.Distance(d.LengthM) + " toward " + si.Compass(d.TowardDeg) + " at " + export.SpeedSpread(d.SpeedMPS, d.SpeedLowMPS, d.SpeedHighMPS, u),
		export.Plural(d.Passes, "pass", "passes"),
		export.Plural(d.Events, "event"),
	}
	if d.ProductiveFromM.OK && d.ProductiveToM.OK {
		parts = append(parts, "best "+export.StretchWords(d, u))
	}
	return strings.Join(parts, "; ")
}
