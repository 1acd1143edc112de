package analyse

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"leadline/spatial"
	"leadline/spatial/isoline"
)

// Labels on one contour stand a quarter of a mile apart, and none on a piece too
// short to carry a number.
const (
	labelEveryM = 400
	labelLeastM = 80
)

// drawContours adds contours, depth areas and the water that is unsure to the chart.
func (a *analysis) drawContours(ctx context.Context) error {
	least, most, ok := a.ground.Depth.Range()
	if !ok {
		return nil
	}
	step := a.set.ContourM
	var levels []float64
	for k := int(math.Ceil(math.Max(least, 0) / step)); float64(k)*step <= most; k++ {
		levels = append(levels, float64(k)*step)
	}
	for i, chains := range isoline.Lines(a.ground.Depth, levels) {
		if err := ctx.Err(); err != nil {
			return err
		}
		c := spatial.Contour{DepthM: levels[i]}
		for _, l := range chains {
			c.Lines = append(c.Lines, orb.LineString(a.degrees(l)))
		}
		for _, l := range isoline.Labels(chains, labelEveryM, labelLeastM) {
			c.Labels = append(c.Labels, spatial.ContourLabel{At: a.frame.Degrees(l.At), AngleDeg: l.AngleDeg})
		}
		if len(c.Lines) > 0 {
			a.chart.Contours = append(a.chart.Contours, c)
		}
	}
	// At most eight areas: more tints than that can't be told apart on a screen.
	areaM := step * math.Max(1, math.Ceil((most-math.Max(least, 0))/step/8))
	var edges []float64
	for k := int(math.Floor(least / areaM)); ; k++ {
		edges = append(edges, float64(k)*areaM)
		if float64(k)*areaM > most {
			break
		}
	}
	for i, shape := range isoline.Areas(a.ground.Depth, edges) {
		if len(shape) > 0 {
			a.chart.Areas = append(a.chart.Areas, spatial.DepthArea{TopM: edges[i], BottomM: edges[i+1], Shape: a.polygons(shape)})
		}
	}
	b := &a.chart.Bottom
	b.UnsureM = step
	b.Unsure = a.polygons(isoline.Areas(a.ground.U95, []float64{step, math.Inf(1)})[0])
	return nil
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
