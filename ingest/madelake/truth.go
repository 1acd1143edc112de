package madelake

import (
	"encoding/json"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

// Truth is what is so on the made lake. Depths of the bottom are below the
// surface at the reference level; fish depths are below the surface of their
// day. Positions are WGS 84 degrees, bearings clockwise from north.
type Truth struct {
	Reservoir        string      `json:"reservoir"`
	Seed             uint64      `json:"seed"`
	Size             string      `json:"size"`
	TimeZone         string      `json:"tz"`
	OriginLat        float64     `json:"origin_lat"`
	OriginLon        float64     `json:"origin_lon"`
	RampLat          float64     `json:"ramp_lat"`
	RampLon          float64     `json:"ramp_lon"`
	CastM            float64     `json:"cast_m"`
	TransducerM      float64     `json:"transducer_m"`      // below the surface
	ReferenceLevelM  float64     `json:"reference_level_m"` // level of the last day
	BackgroundPerH   float64     `json:"background_per_h"`
	SchoolEventsPerH float64     `json:"school_events_per_h"` // as planned; each school has its own
	FishingH         float64     `json:"fishing_h"`
	Days             []Day       `json:"days"`
	Schools          []School    `json:"schools"`
	Barren           []Spot      `json:"barren"`
	Lingers          []Spot      `json:"lingers"` // stopped at now and then; nothing schools there either
	DriftLines       []DriftLine `json:"drift_lines"`
	Events           []Event     `json:"events"` // by time
	Files            []FileTruth `json:"files"`
	Leeway           *Leeway     `json:"leeway,omitempty"` // nil where the wind doesn't do the drifting
	Stretches        []Stretch   `json:"-"`                // by time; in memory only
}

// A Day is one day on the water.
type Day struct {
	Date        string    `json:"date"` // local
	Start       time.Time `json:"start"`
	End         time.Time `json:"end"`
	LevelM      float64   `json:"level_m"`       // of the surface, on the gauge
	WindFromDeg float64   `json:"wind_from_deg"` // mean
	WindMPS     float64   `json:"wind_mps"`      // mean
	FishingH    float64   `json:"fishing_h"`     // drifting, holding and casting
	RunningH    float64   `json:"running_h"`     // between spots
}

// A School is a place where fish are, on some days and at some hours: an ellipse
// seen from above, a band seen from the side.
type School struct {
	Name         string     `json:"name"`
	Species      string     `json:"species"`
	Lat          float64    `json:"lat"`
	Lon          float64    `json:"lon"`
	LongHalfM    float64    `json:"long_half_m"`
	ShortHalfM   float64    `json:"short_half_m"`
	BearingDeg   float64    `json:"bearing_deg"`   // of the long axis
	BottomM      float64    `json:"bottom_m"`      // at the centre
	FishTopM     float64    `json:"fish_top_m"`    // below the surface of the day
	FishBottomM  float64    `json:"fish_bottom_m"` // below the surface of the day
	HourFrom     float64    `json:"hour_from"`     // local clock
	HourTo       float64    `json:"hour_to"`       // local clock
	DaysPresent  []string   `json:"days_present"`  // local dates
	EventsPerH   float64    `json:"events_per_h"`  // while in reach, present and in its hours
	FishedH      float64    `json:"fished_h"`      // with the school's place in reach, at any hour of any day
	FishedOnH    float64    `json:"fished_on_h"`   // the part of it when fish were there
	Events       int        `json:"events"`        // from this school
	EventsByDay  []DayCount `json:"events_by_day"` // days that gave any
	EventsNearby int        `json:"events_nearby"` // from elsewhere, with the boat in reach
	NotedDepths  int        `json:"noted_depths"`  // of Events, those that note a fish depth
	DaysFished   int        `json:"days_fished"`   // with more than five minutes in reach
	PassesOver   int        `json:"passes_over"`   // on its drift line
	NearestM     float64    `json:"nearest_m"`     // centre to centre, to the nearest other school; 0 when alone
	DriftLine    string     `json:"drift_line"`    // name

	Wandered []Place `json:"wandered,omitempty"` // its centre on each day; nil where schools stay
}

// A Place is where a school was on a local day.
type Place struct {
	Date string  `json:"date"`
	Lat  float64 `json:"lat"`
	Lon  float64 `json:"lon"`
}

// A DayCount is a count on one local day.
type DayCount struct {
	Date   string `json:"date"`
	Events int    `json:"events"`
}

// A Spot is a round place that was fished and holds no school.
type Spot struct {
	Name    string  `json:"name"`
	Lat     float64 `json:"lat"`
	Lon     float64 `json:"lon"`
	RadiusM float64 `json:"radius_m"`
	BottomM float64 `json:"bottom_m"` // at the centre
	FishedH float64 `json:"fished_h"` // boat inside the radius and fishing
	Events  int     `json:"events"`   // background, boat inside the radius
}

// A DriftLine is a line drifted again and again, given in the direction of drift.
// In a season made with Plan.Wind it is only the place its passes lead across: each
// pass goes its own way.
type DriftLine struct {
	Name      string  `json:"name"`
	Over      string  `json:"over"`      // the school or barren place it leads over
	OverFish  bool    `json:"over_fish"` // whether that is a school
	StartLat  float64 `json:"start_lat"`
	StartLon  float64 `json:"start_lon"`
	EndLat    float64 `json:"end_lat"`
	EndLon    float64 `json:"end_lon"`
	LengthM   float64 `json:"length_m"`
	TowardDeg float64 `json:"toward_deg"`
	SpeedMPS  float64 `json:"speed_mps"` // median over passes; 0 when there are none
	Passes    int     `json:"passes"`
	Days      int     `json:"days"`
	Hours     float64 `json:"hours"`  // on its passes
	Events    int     `json:"events"` // of any source, on its passes
	Made      []Pass  `json:"made"`   // its passes, by time
}

// A Pass is one drift along a line.
type Pass struct {
	Start    time.Time `json:"start"`
	End      time.Time `json:"end"`
	SpeedMPS float64   `json:"speed_mps"` // mean over ground
	// TowardDeg is where its end lies from its start; only in a season made with
	// Plan.Wind.
	TowardDeg float64 `json:"toward_deg,omitempty"`
}

// Leeway is how the boat drifts: over ground its velocity is PerWind times the
// wind's, turned clockwise by AngleDeg, plus the current. Each pass has a leeway of
// its own, 5 % (standard deviation) and 3° off this, and gusts of 7 %.
type Leeway struct {
	PerWind          float64 `json:"per_wind"`    // m/s of drift for each m/s of wind
	AngleDeg         float64 `json:"angle_deg"`   // from where the wind blows toward, clockwise
	CurrentMPS       float64 `json:"current_mps"` // the same all over the lake and all season
	CurrentTowardDeg float64 `json:"current_toward_deg"`
}

// A Stretch is a time in which the boat did one thing. The stretches of a day follow
// one another without holes from its Start to a second after its End. State is one of
//
//	stopped   at the ramp
//	running   under way between spots, at 1.6 to 2.6 m/s over less than 150 m, or
//	          idling once round one at 2.2 to 2.8 m/s
//	drifting  on a pass
//	holding   casting within a few metres of one place
//	crawling  at walking pace under motor: back up a line, or over to the next place
type Stretch struct {
	Date     string    // local
	From, To time.Time // To exclusive
	State    string
}

// An Event is something that happened, and how it was written down.
type Event struct {
	Time        time.Time    `json:"time"`
	Date        string       `json:"date"` // local
	Kind        string       `json:"kind"`
	Species     string       `json:"species"`
	Count       int          `json:"count"`
	From        string       `json:"from"`   // "school" or "background"
	School      string       `json:"school"` // name; empty for background
	BoatLat     float64      `json:"boat_lat"`
	BoatLon     float64      `json:"boat_lon"`
	FishLat     float64      `json:"fish_lat"`
	FishLon     float64      `json:"fish_lon"`
	FishM       float64      `json:"fish_m"`       // below the surface of the day
	BottomM     float64      `json:"bottom_m"`     // under the boat, below the surface of the day
	NotedFishM  ingest.Maybe `json:"noted_fish_m"` // as written down
	NotedPlace  bool         `json:"noted_place"`  // whether a position was written down
	Drifting    bool         `json:"drifting"`     // on a pass of a drift line
	InGap       bool         `json:"in_gap"`       // while the track had dropped out
	WrittenInto string       `json:"file"`
}

// FileTruth counts what was put into one file.
type FileTruth struct {
	Name           string  `json:"name"`
	Rows           int     `json:"rows"`          // fixes, soundings, events or levels written, dirty ones included
	ClockAheadS    float64 `json:"clock_ahead_s"` // what the file's clock shows beyond the true time; subtract it
	IntervalS      float64 `json:"interval_s"`    // between rows; 0 when there is none
	Segments       int     `json:"segments"`      // of the track
	Dropouts       int     `json:"dropouts"`      // gaps of more than 30 s in the track
	DropoutS       float64 `json:"dropout_s"`     // time in them
	FixSpikes      int     `json:"fix_spikes"`
	RepeatedTimes  int     `json:"repeated_times"`
	LockLosses     int     `json:"lock_losses"` // runs of depth 0
	LockLostRows   int     `json:"lock_lost_rows"`
	DoubleEchoes   int     `json:"double_echoes"` // runs of twice the depth
	DoubleEchoRows int     `json:"double_echo_rows"`
	DepthSpikes    int     `json:"depth_spikes"`
	DashRows       int     `json:"dash_rows"`  // "--" for a figure
	BlankRows      int     `json:"blank_rows"` // no depth, or nothing but blanks
}

// BottomM returns the exact depth of the bottom at p, metres below the surface
// at the reference level; zero or negative on land. It is one smooth formula and
// doesn't depend on the seed. Add the day's LevelM minus ReferenceLevelM for the
// depth on a day.
func (t Truth) BottomM(p orb.Point) float64 { return bottomM(frame.Metres(p)) }

// Point returns the school's centre.
func (s School) Point() orb.Point { return orb.Point{s.Lon, s.Lat} }

// DistanceM returns how far p is from the nearest point of the school seen from
// above, metres; 0 inside. It is good to 0.1 m.
func (s School) DistanceM(p orb.Point) float64 {
	e := ellipse{frame.Metres(s.Point()), s.LongHalfM, s.ShortHalfM, s.BearingDeg}
	return r2.Norm(r2.Sub(e.nearest(frame.Metres(p)), frame.Metres(p)))
}

// Point returns the spot's centre.
func (s Spot) Point() orb.Point { return orb.Point{s.Lon, s.Lat} }

// Start returns where the line begins.
func (d DriftLine) Start() orb.Point { return orb.Point{d.StartLon, d.StartLat} }

// End returns where the line ends.
func (d DriftLine) End() orb.Point { return orb.Point{d.EndLon, d.EndLat} }

// Boat returns where the boat was.
func (e Event) Boat() orb.Point { return orb.Point{e.BoatLon, e.BoatLat} }

// Fish returns where the fish was.
func (e Event) Fish() orb.Point { return orb.Point{e.FishLon, e.FishLat} }

func truthFile(t Truth) File {
	b, err := json.MarshalIndent(t, "", " ")
	if err != nil {
		panic(err) // only NaN could do it
	}
	return File{"truth.json", append(b, '\n')}
}
