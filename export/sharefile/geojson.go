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
	bound := bounds(items)
	box, err := json.Marshal([]float64{bound.Min[0], bound.Min[1], bound.Max[0], bound.Max[1]})
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "{\n \"type\": \"FeatureCollection\",\n \"generator\": \"leadline\",\n \"name\": %q,\n \"description\": %s,\n \"bbox\": %s,\n \"features\": [", heading, description, box)
	for i, it := range items {
		line, err := json.Marshal(feature{"Feature", it.ID, geometry{it.Geometry.GeoJSONType(), it.Geometry}, it.Properties})
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

// bounds returns the box about all shapes; there is one shape at least.
func bounds(items []item) orb.Bound {
	out := items[0].Geometry.Bound()
	for _, i := range items[1:] {
		out = out.Union(i.Geometry.Bound())
	}
	return out
}
