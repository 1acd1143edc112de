package sharefile

import (
	"io"
	"strings"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"
)

// writeGPX writes for each zone a waypoint in the middle of its shape, named by its letter,
// and a track without times around it, since GPX 1.1 has no areas.
func writeGPX(w io.Writer, items []item, opt Options) error {
	// gpxgo v1.4.0 puts its own address as creator when there is none, and prints
	// positions to ten decimals: the points here are rounded.
	doc := gpx.GPX{Version: "1.1", Creator: "leadline", Name: heading, Description: strings.Join(about(opt), " ")}
	for _, i := range items {
		var words []string
		for _, f := range i.facts {
			words = append(words, strings.ToLower(f.Label)+" "+f.Value)
		}
		p := point(i.at)
		p.Name, p.Description = i.ID, strings.Join(words, "; ")
		doc.AppendWaypoint(&p)
		around := gpx.GPXTrack{Name: i.ID, Description: "around " + i.Name}
		for _, r := range i.Geometry.(orb.Polygon) {
			var s gpx.GPXTrackSegment
			for _, at := range r {
				s.Points = append(s.Points, point(at))
			}
			around.Segments = append(around.Segments, s)
		}
		doc.AppendTrack(&around)
	}
	b, err := doc.ToXml(gpx.ToXmlParams{Version: "1.1", Indent: true})
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

func point(p orb.Point) gpx.GPXPoint {
	return gpx.GPXPoint{Point: gpx.Point{Latitude: p[1], Longitude: p[0]}}
}
