package boatfile

import (
	"math"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Densities in kg/m3, from memory and common in handbooks. That of a head decides
// how much of its weight the water takes off: a twelfth for lead, a twentieth for
// tungsten. That of a line matters little: its weight in water is a thousandth of
// its drag at drifting speed.
const (
	leadKgM3     = 11340
	tungstenKgM3 = 19250
	bismuthKgM3  = 9780

	fluorocarbonKgM3 = 1780
	nylonKgM3        = 1140
	braidKgM3        = 970
)

// Defaults. All are common practice, no source, and settable in the boat file.
const (
	defaultCastM       = 25 // about 80 ft
	defaultMaxSinkS    = 20 // a school goes cold well within half a minute
	defaultMaxAngleDeg = 45 // at the rod, from vertical
	// Fresh water's density changes by 0.3 % from here to 28 °C, its viscosity by
	// a quarter: the temperature moves the line's drag a little, the head's hardly.
	defaultWaterC = 15

	// A pound or two of bass comes up at walking pace, is unhooked and the lure dropped
	// again: half a minute in all from 20 ft.
	defaultReelUpMPS = 0.5
	defaultReelMPS   = 1.5 * si.MPHMPS // a slow roll is 1 to 2 mph
	defaultUnhookS   = 20

	lightLineM    = 0.00023 // 8 lb fluorocarbon, diameter from memory
	heavyLineM    = 0.00036 // 50 lb braid, diameter from memory
	lightTrailerM = 2.8 * si.InchM
	heavyTrailerM = 3.8 * si.InchM
	lightUpToKg   = si.OunceKg / 4

	// A bass boat with its motor down, and water to spare over a stump: common practice, no source.
	defaultDraftM  = 2 * si.FootM
	defaultMarginM = 2 * si.FootM
)

// defaultHeadsOz are the usual steps of a box of jig heads (common practice, no source).
var defaultHeadsOz = [...]float64{1. / 16, 1. / 8, 3. / 16, 1. / 4, 3. / 8, 1. / 2, 3. / 4, 1}

// everyHead is the mass up to which a last rule holds that names none.
const everyHead = math.MaxFloat64

// Default returns the boat of a person who has said nothing: no zone, US units, the
// transducer at the surface, and a common box of lead heads. Each call gives
// slices of its own.
func Default() ingest.Boat {
	heads := make([]ingest.Head, len(defaultHeadsOz))
	for i, oz := range defaultHeadsOz {
		heads[i] = ingest.Head{MassKg: oz * si.OunceKg, DensityKgM3: leadKgM3}
	}
	return ingest.Boat{
		CastM:   defaultCastM,
		DraftM:  defaultDraftM,
		MarginM: defaultMarginM,
		Tackle: ingest.Tackle{
			Heads: heads,
			Lines: []ingest.LineRule{
				{UpToKg: lightUpToKg, Line: ingest.Line{Name: "8 lb fluorocarbon", DiameterM: lightLineM, DensityKgM3: fluorocarbonKgM3}},
				{UpToKg: everyHead, Line: ingest.Line{Name: "50 lb braid", DiameterM: heavyLineM, DensityKgM3: braidKgM3}},
			},
			Trailers: []ingest.TrailerRule{
				{UpToKg: lightUpToKg, LengthM: lightTrailerM},
				{UpToKg: everyHead, LengthM: heavyTrailerM},
			},
			MaxSinkS:    defaultMaxSinkS,
			MaxAngleDeg: defaultMaxAngleDeg,
			WaterC:      defaultWaterC,
			ReelUpMPS:   defaultReelUpMPS,
			ReelMPS:     defaultReelMPS,
			UnhookS:     defaultUnhookS,
			CastM:       defaultCastM,
		},
	}
}
