package sharefile

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/paulmach/orb"

	"leadline/export"
)

// writeGeoJSON writes a feature collection, one feature a line. Name and description are
// members of our own, which RFC 7946 section 6.1 allows.
func writeGeoJSON(w io.Writer, items []item, opt Options) error {
	description, err := json.Marshal(strings.Join(about(opt), " "))
	if err != nil {
		return err
	}
	west, south, east, north := bounds(items)
	box, err := json.Marshal([]float64{west, south, east, north})
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "{\n \"type\": \"FeatureCollection\",\n \"generator\": \"leadline\",\n \"name\": %q,\n \"description\": %s,\n \"bbox\": %s,\n \"features\": [", heading, description, box)
	for i, it := range items {
		shape := export.Cut(it.Geometry)
		line, err := json.Marshal(feature{"Feature", it.ID, geometry{shape.GeoJSONType(), shape}, it.Properties})
		if err != nil {
			return fmt.Errorf("%s %s: %w", it.Kind, it.ID, err)
		}
		if i > 0 {
			fmt.Fprint(b, ",")
		}
		fmt.Fprintf(b, "\n  %s", line)
	}
	fmt.Fprint(b, "\n ]\n}\n")
	return b.Flush()
}

// A feature and its geometry as RFC 7946 sections 3.1 and 3.2 spell them.
type feature struct {
	Type       string            `json:"type"`
	ID         string            `json:"id"`
	Geometry   geometry          `json:"geometry"`
	Properties export.Properties `json:"properties"`
}

type geometry struct {
	Type        string       `json:"type"`
	Coordinates orb.Geometry `json:"coordinates"`
}

// bounds returns the box about all shapes, of which there is one at least; west is greater than east across 180°.
func bounds(items []item) (west, south, east, north float64) {
	var shapes []orb.Geometry
	for _, i := range items {
		shapes = append(shapes, export.Cut(i.Geometry))
	}
	west, south, east, north, _ = export.Bounds(shapes...)
	return west, south, east, north
}
