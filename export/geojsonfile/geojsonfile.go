// Package geojsonfile writes a chart as one GeoJSON feature collection (RFC 7946).
package geojsonfile

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"

	"github.com/paulmach/orb"

	"leadline/export"
)

// Write writes every zone, band, drift line, contour and event as a feature, in
// that order, one feature a line. Properties keep the order of package export;
// what can't be known is null. Exterior rings run counter-clockwise and holes
// clockwise (RFC 7946 section 3.1.6); what crosses 180° is cut there into parts
// (section 3.1.9). The collection has a bbox of west, south, east, north unless no
// feature has a shape; west is greater than east where it lies across 180° (section 5.2).
//
// Errors are those of w, and of a value that JSON can't hold. Its cost is that of
// export.Cut.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	return collection(w, export.Features(in.Chart, opt.Units))
}

// collection writes features as a document.
func collection(w io.Writer, features []export.Feature) error {
	shapes := make([]orb.Geometry, len(features))
	for i, f := range features {
		shapes[i] = export.Cut(f.Geometry)
	}
	b := bufio.NewWriter(w)
	fmt.Fprint(b, "{\n \"type\": \"FeatureCollection\",\n \"generator\": \"leadline\",\n")
	if box := bbox(shapes); box != nil {
		line, err := json.Marshal(box)
		if err != nil {
			return fmt.Errorf("bbox: %w", err)
		}
		fmt.Fprintf(b, " \"bbox\": %s,\n", line)
	}
	fmt.Fprint(b, " \"features\": [")
	for i, f := range features {
		line, err := json.Marshal(feature{"Feature", f.ID, shape(shapes[i]), f.Properties})
		if err != nil {
			return fmt.Errorf("%s %s: %w", f.Kind, f.ID, err)
		}
		if i > 0 {
			fmt.Fprint(b, ",")
		}
		fmt.Fprintf(b, "\n  %s", line)
	}
	if len(features) > 0 {
		fmt.Fprint(b, "\n ")
	}
	fmt.Fprint(b, "]\n}\n")
	return b.Flush()
}

// A feature and its geometry as RFC 7946 sections 3.1 and 3.2 spell them. orb's
// types marshal to the coordinates as they stand; its own geojson package would
// add a database driver's module to the program for the sake of these two.
type feature struct {
	Type       string            `json:"type"`
	ID         string            `json:"id"`
	Geometry   *geometry         `json:"geometry"`
	Properties export.Properties `json:"properties"`
}

type geometry struct {
	Type        string       `json:"type"`
	Coordinates orb.Geometry `json:"coordinates"`
}

func shape(g orb.Geometry) *geometry {
	if g == nil {
		return nil
	}
	return &geometry{g.GeoJSONType(), g}
}

// bbox returns west, south, east, north, or nil when nothing has a shape.
func bbox(shapes []orb.Geometry) []float64 {
	west, south, east, north, ok := export.Bounds(shapes...)
	if !ok {
		return nil
	}
	return []float64{west, south, east, north}
}
