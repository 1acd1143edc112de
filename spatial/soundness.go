package spatial

import (
	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A Bottom says how the depth map came about and how far it can be trusted.
type Bottom struct {
	CellM     float64 // side of a grid cell; 0 without soundings
	Cells     int     // whose depth is known
	Sounded   int     // cells with a sounding of their own
	Passes    int
	Trials    []Trial      // ways of drawing the bottom between soundings, in the order tried
	Tested    float64      // share of the map where U95 was checked on passes left out; elsewhere it is reckoned
	U95M      ingest.Maybe // median over the map of the half-width that holds the depth 95 times in 100
	Unsure    orb.MultiPolygon
	UnsureM   float64 // where that half-width is more than this, the map is Unsure
	Strays    int     // soundings left out because other passes speak against them
	StraysOf  []int   // the same by source; nil when there are none
	Crossings Crossings
}

// Chosen returns the trial whose method drew the map; ok is false where none could be tried.
func (b Bottom) Chosen() (t Trial, ok bool) {
	for _, t := range b.Trials {
		if t.Chosen {
			return t, true
		}
	}
	return Trial{}, false
}

// A Trial is how one method did on passes it hadn't seen.
type Trial struct {
	Method string
	MeanM  float64 // mean size of its errors, by which the best is chosen
	RMSEM  float64 // their root mean square
	BiasM  float64 // drawn less sounded
	P95M   float64 // 95 % of the errors are no greater
	Share  float64 // of the map that lies as far from soundings as some of the places tried
	Places int     // tried at

	NearRMSEM  float64 // root mean square within a cell of a sounding
	NearPlaces int     // tried at there
	Chosen     bool
}

// Crossings compares soundings where the boat's track crosses itself. What errs the
// same way on every pass doesn't show in them.
type Crossings struct {
	N       int
	MedianM ingest.Maybe // difference without sign; unknown when N is 0
	P95M    ingest.Maybe // 95 % are no greater
	DepthM  ingest.Maybe // median depth of the crossings
	OneM    ingest.Maybe // what 95 % of single soundings lie within, by the crossings
	Limits  []DepthLimit // of the survey standard at DepthM, strictest first; nil when N is 0
}

// A DepthLimit is what 95 % of a survey's soundings must lie within at one depth, by
// an order of IHO S-44. It is context: no boat's log is a survey.
type DepthLimit struct {
	Order string
	M     float64
}

// ShiftFrom says what a day's depths were laid on the chart's level by.
type ShiftFrom uint8

// The ways, surest first.
const (
	ByLevel   ShiftFrom = iota // the day's water level
	ByOverlap                  // cells it shares with other days
	AsSounded                  // nothing: its depths stand as they were taken
)

var shiftFroms = [...]string{"level", "overlap", "as sounded"}

// String returns "level", "overlap" or "as sounded".
func (s ShiftFrom) String() string { return shiftFroms[s] }

// A DayShift is what was added to a day's depths to bring them to the chart's level.
type DayShift struct {
	From    ShiftFrom
	M       float64
	ErrorM  ingest.Maybe // standard error of M, when it comes from overlap with another day
	SpreadM ingest.Maybe // of the differences between this day and others, cell by cell; unknown without overlap
	Cells   int          // shared with other days
}

// A StructureShare is how much of a zone's bottom is of one kind.
type StructureShare struct {
	Kind  string // in the trade's words: "hump", "point", "ledge", …
	Share float64
}

// A Terrain is the lie of the bottom inside a zone: medians of what is known there.
type Terrain struct {
	Slope        ingest.Maybe // metres per metre
	ProfileCurve ingest.Maybe // 1/m down the fall, positive where the bottom bulges
	PlanCurve    ingest.Maybe // 1/m across the fall
	FineM        ingest.Maybe // height above the mean of the water around, within a cast or so
	BroadM       ingest.Maybe // the same within a hundred metres
}

// A Break is where the bottom falls away steeply.
type Break struct {
	DistM     float64      // from the zone's centre; 0 when that lies on it
	TowardDeg float64      // from there; 0 when that lies on it
	At        orb.Point    // the nearest place on it
	TopM      ingest.Maybe // depth at its lip; unknown where the map ends before it
	BottomM   ingest.Maybe // depth at its foot
}

// A ContourLabel is a good place to print a contour's depth.
type ContourLabel struct {
	At       orb.Point
	AngleDeg float64 // of the line there, counter-clockwise from east, in (-90, 90]
}
