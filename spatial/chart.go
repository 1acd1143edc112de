package spatial

import (
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A Chart is everything found in a season. Its lists are in the order a person
// wants them: best first, then by place, and the same for the same input.
type Chart struct {
	Zone      *time.Location // clock of the hours
	Days      []DaySummary
	LevelM    ingest.Maybe // the level that depths are shown at
	LakeRate  Rate         // events per hour over all fishing
	EvenP     ingest.Maybe // chance that even fishing would cluster its events as much anywhere; 1 when nothing clusters
	Zones     []Zone       // proven ones first, then by rate drawn towards the lake's
	Fished    []FishedArea // how long water was in reach of a cast, shortest first
	Bands     []Band       // of bottom depth, shallow to deep, each of one steady rate
	Fish      []Band       // of the fish's own depth, below the surface of their day; without Shape
	Stand     Stand        // of all fish
	Hours     []Hour       // of the day, by Zone
	SunHours  []Hour       // after sunrise
	Window    *Window      // of the day; nil when no hours stand out
	SunWindow *Window      // after sunrise
	Drifts    []DriftLine  // best first: by the 5 % quantile of their rate, then by passes
	Contours  []Contour    // shallow to deep
	Areas     []DepthArea  // shallow to deep; together they cover the sounded bottom
	Bottom    Bottom       // how the depths came about and how good they are
	Events    []EventMark
	Leeway    Leeway       // how the boat drifts in wind
	Forecast  *Forecast    // for the wind that was asked about; nil when none was
	Tracks    []TrackPiece // where the boat went, by time
	Remarks   []Remark     // what was assumed, and what could not be known
}

// A DaySummary is one day in figures.
type DaySummary struct {
	Date      string  // local day, 2006-01-02
	FishingH  float64 // drifting and holding, and what else counts: see Settings.Crawling
	DriftingH float64 // by state; with UnknownH they add up to the day
	HoldingH  float64
	CrawlingH float64 // slowly under the motor
	RunningH  float64
	StoppedH  float64
	UnknownH  float64 // time in gaps too long to say what the boat did
	Fixes     int     // sound ones
	Soundings int     // sound ones
	Events    int
	LevelM    ingest.Maybe
	Shift     DayShift // to the chart's level
}

// A Rate is events per hour with the credible interval of a Gamma-Poisson model.
// OK is false when there is no effort to divide by.
type Rate struct {
	PerH     float64
	LowPerH  float64 // 5 % quantile
	HighPerH float64 // 95 % quantile
	OK       bool
}

// A Zone is a place where events lie closer together than even fishing explains,
// or may: Proven tells which.
type Zone struct {
	ID             string // stable for the same input: Z1, Z2, …
	Name           string
	Shape          orb.Polygon // exterior ring counter-clockwise
	Centre         orb.Point   // mean of its events
	AreaM2         float64
	Events         int          // records, each once
	Catches        int          // fish in the boat
	Days           int          // different days with an event
	ByDay          ZoneMove     // how its centre moves through the season; not OK when too few days tell
	ByLevel        ZoneMove     // how it moves with the water level, where four days' levels are known
	EffortH        ingest.Maybe // hours fished inside Shape; unknown without a track
	Rate           Rate
	ShrunkPerH     ingest.Maybe // Rate drawn towards the lake's as far as its few hours demand
	PValue         ingest.Maybe // chance that even fishing would look so anywhere on the lake
	Proven         bool         // PValue known and below 0.05
	Layer          string       // "upper" or "deeper" of two schools at one place; else empty
	FishTopM       ingest.Maybe // band that the noted fish keep to, strays apart, below the surface of their day
	FishBottomM    ingest.Maybe
	FishU95M       ingest.Maybe // half-width that holds the band's middle 95 times in 100; unknown with fewer than four notes
	FishNoted      int          // events that noted a fish depth
	BottomM        ingest.Maybe // median bottom depth inside Shape
	BottomU95M     ingest.Maybe // median half-width there that holds the depth 95 times in 100
	TempC          ingest.Maybe
	Structure      string           // in the trade's words; empty when not known
	Structures     []StructureShare // of the bottom known inside Shape, greatest first
	Terrain        Terrain
	Break          *Break // the nearest; nil when none is near or known
	Bands          []Band // of bottom depth inside Shape; without Shape of their own
	Stand          Stand
	Window         *Window      // hours that stand out there; nil when the data don't carry any
	HourFrom       ingest.Maybe // local clock hours holding the middle 80 % of events
	HourTo         ingest.Maybe
	DriftMPS       ingest.Maybe // median speed of the passes that caught fish here
	WaterMPS       ingest.Maybe // median speed through the water of those passes; unknown without a current that is known
	DriftSD        ingest.Maybe // m/s, of those passes' speeds, or the usual spread with fewer than three
	DriftTowardDeg ingest.Maybe
	DriftPasses    int // passes DriftMPS rests on
	Head           HeadChoice
	ForecastHead   *HeadChoice // for the drift of Chart.Forecast; nil without one
}

// A ZoneMove is how a zone's centre moves.
type ZoneMove struct {
	M         float64 // a day, or for each metre that the water falls
	TowardDeg float64
	ErrorM    float64 // standard error of M
	Days      int
	Sure      bool // M is more than its error explains
	OK        bool
}

// A Band is a range of bottom depth, with how much it was fished and what it gave.
type Band struct {
	ID            string
	Name          string
	TopM          float64
	BottomM       float64
	Shape         orb.MultiPolygon // bottom in that band; nil when none was sounded there
	Events        int
	EffortH       float64
	Rate          Rate
	Selection     ingest.Maybe // share of events over share of hours; 1 is no preference
	SelectionLow  ingest.Maybe // 95 % limits that hold for all bands at once; unknown without an event in the band
	SelectionHigh ingest.Maybe
	Thin          bool // so little effort that the rate rests on air
}

// A Stand is how high fish stood above the bottom under the boat.
type Stand struct {
	Suspended int
	OnBottom  int
	Unknown   int          // fish or bottom depth not known
	MedianM   ingest.Maybe // height above the bottom, of the others
}

// An Hour is one whole hour, of the day or after sunrise, over all days.
type Hour struct {
	From    float64
	To      float64
	Events  int
	EffortH float64
	Rate    Rate
	Thin    bool // so little effort that the rate rests on air
}

// A FishedArea is the water that was in reach of a cast for so many hours.
type FishedArea struct {
	FromH  float64
	ToH    float64 // +Inf: as many as there were
	AreaM2 float64
	Shape  orb.MultiPolygon
}

// A Window is the hours in which the rate is surely above that of the rest.
type Window struct {
	From    float64
	To      float64
	Events  int
	EffortH float64
	Rate    Rate
	Rest    Rate
}

// A DriftLine is the middle of the passes that went the same way over the same water.
type DriftLine struct {
	ID              string
	Name            string
	Line            orb.LineString // in the direction of drift
	LengthM         float64
	WidthM          float64 // spread of the passes to either side, 90 % of them
	Passes          int
	Days            int
	Hours           float64 // time on its passes
	Events          int
	Rate            Rate    // per hour
	PerPass         Rate    // the same for a pass: PerH and its limits are events a pass
	SpeedMPS        float64 // median over passes
	SpeedLowMPS     float64 // quartiles over passes; of two or three passes the least and the greatest
	SpeedHighMPS    float64
	TowardDeg       float64
	ProductiveFromM ingest.Maybe // along Line; unknown where the events don't tell a stretch apart
	ProductiveToM   ingest.Maybe
	Stretch         *Stretch       // what the productive stretch gave; nil when there is none
	Profile         []ProfilePoint // the bottom along Line, at even steps from its start
}

// A Stretch is the part of a drift line that gave more than the rest of it.
type Stretch struct {
	Events  int
	Hours   float64
	Rate    Rate
	Rest    Rate         // of the rest of the line
	TopM    ingest.Maybe // shallowest, middle and deepest bottom along it; unknown where none was sounded
	MiddleM ingest.Maybe
	BottomM ingest.Maybe
}

// A ProfilePoint is the bottom at one place along a line.
type ProfilePoint struct {
	AlongM float64
	DepthM ingest.Maybe
}

// A Leeway is how the boat drifts in wind. Angles count clockwise from the way the
// wind blows. Limits hold 95 times in 100.
type Leeway struct {
	OK               bool
	Why              string // when not OK: what was missing, one plain clause
	Passes           int    // with a wind
	Days             int
	PerWind          float64 // drift speed for each unit of wind speed
	PerWindLow       float64
	PerWindHigh      float64
	AngleDeg         float64
	AngleLowDeg      float64
	AngleHighDeg     float64
	CurrentMPS       ingest.Maybe // a steady current; unknown where the winds don't tell it apart
	CurrentU95MPS    ingest.Maybe
	CurrentTowardDeg ingest.Maybe // unknown when the current may be none
	CurrentWhy       string       // when unknown
	ScatterMPS       float64      // of one pass about the rule, standard deviation along and across
}

// A Forecast is the drift to expect in one wind. Limits hold for one pass 95 times in 100.
type Forecast struct {
	WindMPS      float64
	WindFromDeg  float64
	SpeedMPS     ingest.Maybe // unknown where Leeway is not OK
	LowMPS       ingest.Maybe
	HighMPS      ingest.Maybe
	TowardDeg    ingest.Maybe
	TowardU95Deg ingest.Maybe // half-width; unknown when it may go any way
	Beyond       bool         // the wind is outside what was learned from
	Why          string       // when unknown or beyond: one plain clause
}

// A TrackPiece is the way the boat went while it did one thing.
type TrackPiece struct {
	Day   int // of Days
	From  time.Time
	To    time.Time
	State string         // "running", "crawling", "drifting", "holding" or "stopped"
	Line  orb.LineString // thinned for the picture; at least two points
}

// A Contour is every piece of one depth line.
type Contour struct {
	DepthM float64
	Lines  orb.MultiLineString
	Labels []ContourLabel
}

// A DepthArea is the bottom between two depths.
type DepthArea struct {
	TopM    float64
	BottomM float64
	Shape   orb.MultiPolygon
}

// An EventMark is an event with what the chart knows of its place.
type EventMark struct {
	ID      string
	Kind    ingest.EventKind
	At      orb.Point
	Time    time.Time // zero when unknown
	BottomM ingest.Maybe
	FishM   ingest.Maybe
	Species string
	Count   int
	Zone    string // ID of the zone it lies in; empty when in none
}

// A Remark is something the person must know about how far the results carry.
type Remark struct {
	About string // "level", "zones", "heads", …
	Text  string // one plain sentence
}
