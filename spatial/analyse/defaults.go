package analyse

import (
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Defaults returns the settings used where a person says nothing, for their boat.
//
// Where they come from: the cast is the boat's; every kind of event shows fish or what they
// eat and counts one; four events are the fewest that a cluster can be told from
// chance by on a lake fished evenly; events no more than three minutes apart are one
// frenzy, since a school stays fired up for minutes (common practice, no source) and
// thirty fish in an hour, one every two, are to be one proof: more minutes prove less of
// a place, fewer let one hot hour prove it; a reach of 30 m keeps the map to what was
// sounded, and its cells are chosen by how far apart the soundings lie; contours and bands are round figures in the boat's units.
// Running starts at about 1.6 m/s (3.6 mph), above what a bow motor does and below an idling outboard. A drift lasts
// a minute and covers 25 m, or it is a pause. Sixty seconds without a fix are
// time unknown. Of these only the running speed rests on common practice (no
// source); the rest is reasoned.
func Defaults(boat ingest.Boat) spatial.Settings {
	s := spatial.Settings{
		CastM:       boat.CastM,
		Weights:     spatial.Weights{Catch: 1, Bite: 1, Mark: 1, Bait: 1},
		MinEvents:   4,
		FrenzyS:     180,
		ReachM:      30,
		ContourM:    2 * si.FootM,
		BandM:       5 * si.FootM,
		RunMPS:      1.6,
		DriftMinS:   60,
		DriftMinM:   25,
		LineWidthM:  20,
		MaxGapS:     60,
		Simulations: 999,
		Seed:        1,
		Tackle:      boat.Tackle,
	}
	if boat.Metric {
		s.ContourM, s.BandM = 0.5, 1.5
	}
	return s
}
