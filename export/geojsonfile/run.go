package geojsonfile

import (
	"io"

	"leadline/export"
	"leadline/spatial"
)

// WriteRun writes a run's legs and stops as Write does a chart, in order of travel: the
// way to the first stop, the stop, and so on; the way home last. Times are RFC 3339 in
// UTC; a drift's start and end are arrays of longitude and latitude in degrees; what can't
// be known is null. The chart is the run's. A run without a stop gives a collection
// without features.
//
// Errors are those of w, and of a value that JSON can't hold. It is linear in the number
// of points.
func WriteRun(w io.Writer, c spatial.Chart, r spatial.Run, opt export.Options) error {
	return collection(w, export.RunFeatures(c, r, opt.Units))
}
