package analyse

import (
	"context"
	"fmt"

	"leadline/spatial/band"
	"leadline/spatial/isoline"
)

// compareDepths adds the depth bands of the whole lake to the chart.
func (a *analysis) compareDepths(context.Context) error {
	var events []float64
	var effort []band.Effort
	unknownH, totalH := 0.0, 0.0
	for _, e := range a.chart.Events {
		if e.BottomM.OK {
			events = append(events, e.BottomM.V)
		}
	}
	for _, m := range a.effort {
		totalH += m.hours
		if !m.bottomM.OK {
			unknownH += m.hours
			continue
		}
		effort = append(effort, band.Effort{BottomM: m.bottomM.V, Hours: m.hours})
	}
	a.chart.Bands = band.Bands(events, effort, a.set.BandM)
	for i := range a.chart.Bands {
		b := &a.chart.Bands[i]
		b.ID = fmt.Sprintf("B%d", i+1)
		b.Shape = a.polygons(isoline.Areas(a.ground.Depth, []float64{b.TopM, b.BottomM})[0])
	}
	if len(a.chart.Bands) > 0 && unknownH > 0.05*totalH {
		a.remark("depth bands", "For %.0f %% of the fishing the bottom was not sounded: bands leave it out.", 100*unknownH/totalH)
	}
	if missing := len(a.chart.Events) - len(events); missing > 0 && len(events) > 0 {
		a.remark("depth bands", "%d catches or marks lie where the bottom was not sounded: bands leave them out.", missing)
	}
	return nil
}
