// Package analyse is the door to the analysis: a season goes in, a chart comes
// out. It is the one place that orders the steps; each step's method is described
// in its own package.
//
//	one plane                          ground.go
//	one water level                    levels.go
//	soundings  -> bottom, structure    ground.go      packages bottom, structure
//	fixes      -> what the boat did    outings.go     package motion
//	states     -> time fished          fishing.go     package rate
//	fishing    -> hours in reach       fished.go      package isoline
//	events     -> zones                zones.go       package zone
//	depths     -> bands                bands.go       package band
//	hours      -> windows              hours.go       packages band, sun
//	winds      -> drift in wind        winds.go       package leeway
//	passes     -> drift lines          lines.go       package drift
//	zone       -> head                 zones.go       package head
//	bottom     -> contours, areas      contours.go    package isoline
//
// and, when a day is to be planned, Run goes on:
//
//	catches    -> how places cool off  rungain.go     package cool
//	tracks     -> known water          runwater.go    package water
//	zones      -> stops and stays      run.go         package milkrun
//	wind       -> drifts and heads     runstops.go    packages leeway, head
//	posterior  -> what to expect       runsim.go
package analyse

import (
	"context"
	"time"

	"leadline/ingest"
	"leadline/spatial"
)

// Season analyses a joined season. progress, unless nil, is told each step as it
// begins. The same season and settings give the same chart, whatever the machine.
// The only error is that of ctx when it ends first.
func Season(ctx context.Context, season ingest.Season, set spatial.Settings, progress func(step string)) (spatial.Chart, error) {
	a, err := analysed(ctx, season, set, progress)
	if err != nil {
		return spatial.Chart{}, err
	}
	return a.chart, nil
}

func analysed(ctx context.Context, season ingest.Season, set spatial.Settings, progress func(step string)) (*analysis, error) {
	if progress == nil {
		progress = func(string) {}
	}
	a := &analysis{season: season, set: set}
	a.chart.Zone = season.Zone
	if a.chart.Zone == nil {
		a.chart.Zone = time.UTC
	}
	for _, step := range []struct {
		name string
		do   func(context.Context) error
	}{
		{"laying out the plane", a.layPlane},
		{"gridding the bottom", a.gridBottom},
		{"telling drifts from runs", a.readOutings},
		{"placing catches", a.markEvents},
		{"telling fishing from moving", a.countFishing},
		{"spreading the time fished", a.spreadEffort},
		{"gathering drift lines", a.gatherLines},
		{"learning how the boat drifts in wind", a.learnWinds},
		{"looking for zones", a.findZones},
		{"comparing depths", a.compareDepths},
		{"comparing hours", a.compareHours},
		{"drawing contours", a.drawContours},
	} {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		progress(step.name)
		if err := step.do(ctx); err != nil {
			return nil, err
		}
	}
	return a, nil
}
