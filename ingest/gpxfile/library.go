package gpxfile

import (
	"encoding/xml"
	"fmt"
	"io"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"
)

// The GPX library, github.com/tkrajina/gpxgo v1.4.0, makes a tree of the document
// it is given, of 1.8 kB a point. So it is given many small ones: the points that
// came through the XML decoder, at most batchPoints at a time, as clean tokens.
const batchPoints = 512

// A pending point of a track waits for the library, or for one in front of it that does.
type pending struct {
	reading
	pos     orb.Point
	byGpxgo bool // its position is the library's to give
}

// A batch is one small document for the library. It implements xml.TokenReader.
type batch struct {
	waypoints, trackPoints []xml.Token
	wpts                   []reading // of waypoints
	points                 []pending // of trackPoints, and those between them
	given                  []xml.Token
}

func (b *batch) empty() bool { return len(b.wpts) == 0 && len(b.points) == 0 }

func (b *batch) full() bool { return len(b.wpts)+len(b.points) >= batchPoints }

func startOf(local string, attrs ...xml.Attr) xml.Token {
	return xml.StartElement{Name: xml.Name{Local: local}, Attr: attrs}
}

func endOf(local string) xml.Token { return xml.EndElement{Name: xml.Name{Local: local}} }

// waypoint adds a waypoint with what the library reads of it.
func (b *batch) waypoint(p *rawPoint, r reading, lat, lon float64) {
	b.wpts = append(b.wpts, r)
	b.waypoints = append(b.waypoints, startOf("wpt", attr("lat", lat), attr("lon", lon)))
	for _, child := range [...]string{"name", "cmt", "desc", "type"} {
		if s := p.text(child); s != "" {
			b.waypoints = append(b.waypoints, startOf(child), xml.CharData(s), endOf(child))
		}
	}
	b.waypoints = append(b.waypoints, endOf("wpt"))
}

func (b *batch) trackPoint(r reading, lat, lon float64) {
	b.points = append(b.points, pending{reading: r, byGpxgo: true})
	b.trackPoints = append(b.trackPoints, startOf("trkpt", attr("lat", lat), attr("lon", lon)), endOf("trkpt"))
}

// Token gives the library the next token.
func (b *batch) Token() (xml.Token, error) {
	if len(b.given) == 0 {
		return nil, io.EOF
	}
	t := b.given[0]
	b.given = b.given[1:]
	return t, nil
}

// parse has the library read the batch. It returns the waypoints and fills in the
// positions of points.
func (b *batch) parse(version string) ([]gpx.GPXPoint, error) {
	b.given = append([]xml.Token{startOf("gpx")}, b.waypoints...)
	b.given = append(b.given, startOf("trk"), startOf("trkseg"))
	b.given = append(b.given, b.trackPoints...)
	b.given = append(b.given, endOf("trkseg"), endOf("trk"), endOf("gpx"))
	// The library looks for the version in the text it is given, not in the tokens.
	doc, err := gpx.ParseDecoder(xml.NewTokenDecoder(b), []byte(`<gpx version="`+version+`"`))
	if err != nil {
		return nil, err
	}
	var points []gpx.GPXPoint
	for _, t := range doc.Tracks {
		for _, s := range t.Segments {
			points = append(points, s.Points...)
		}
	}
	next := 0
	for i := range b.points {
		if !b.points[i].byGpxgo {
			continue
		}
		if next < len(points) {
			b.points[i].pos = orb.Point{points[next].Longitude, points[next].Latitude}
		}
		next++
	}
	if next != len(points) || len(doc.Waypoints) != len(b.wpts) {
		return nil, fmt.Errorf("the GPX library gave %d track points and %d waypoints for %d and %d", len(points), len(doc.Waypoints), next, len(b.wpts))
	}
	return doc.Waypoints, nil
}

// reset empties the batch and keeps its room.
func (b *batch) reset() {
	b.waypoints, b.trackPoints = b.waypoints[:0], b.trackPoints[:0]
	b.wpts, b.points = b.wpts[:0], b.points[:0]
}
