package spatial

import (
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A RunAsk is what a person says about the day to plan.
type RunAsk struct {
	Date     string       // local day, 2006-01-02
	Launch   *orb.Point   // nil: where most of the season's days began
	TakeOut  *orb.Point   // nil: the launch
	Start    time.Time    // the launch may be left from here; zero: sunrise
	Back     time.Time    // at the take-out by then; zero: sunset
	RunMPS   ingest.Maybe // usual speed when running; unknown: as on the season's days
	IdleMPS  ingest.Maybe // where a wake is not allowed; unknown: no slower than half of RunMPS counts as running
	DraughtM float64
	MarginM  float64    // least water wanted under the hull
	Winds    []HourWind // forecast, by time; none: the drift is as it was
	Force    []string   // IDs of zones that must be visited
	Skip     []string   // and of those that must not
	Proven   bool       // of zones take the proven ones only
	Seed     uint64
}

// An HourWind is the forecast from an instant on, up to the next one's.
type HourWind struct {
	From time.Time // zero: from the day's beginning
	Wind
}

// A Run is a plan for one day: the milk run.
type Run struct {
	Date      string
	Zone      *time.Location
	Sunrise   time.Time // zero: the sun doesn't rise
	Sunset    time.Time
	Start     time.Time // earliest departure, as asked
	Back      time.Time // latest return, as asked
	Leave     time.Time // departure planned; zero without a stop
	Home      time.Time // at the take-out
	Launch    orb.Point
	TakeOut   orb.Point
	Guessed   bool         // the launch is where the season's days began
	LevelM    ingest.Maybe // that all depths are at
	DraughtM  float64
	MarginM   float64
	RunMPS    float64
	Winds     []HourWind
	Stops     []RunStop
	Why       string   // without a stop: why there is none, one plain clause
	Legs      []RunLeg // the way to each stop, and home: one more than Stops; none without a stop
	Expected  Spread   // events on the whole run
	Proven    bool     // no order and stay gives more
	Bound     float64  // events that no plan exceeds, time counted for what it is worth elsewhere
	WorthPerH float64  // what another hour of the day would add, events an hour
	Cooling   RunCooling
	Nearest   *RunRival    // the same number of zones by nearest neighbour; nil with fewer than two stops
	Others    []RunOther   // what to do when the day turns out otherwise
	Dropped   []RunDropped // every zone left out, in the chart's order
	Remarks   []Remark
}

// A Spread is a count to expect and its 90 % interval.
type Spread struct {
	Mean float64
	Low  float64
	High float64
}

// A RunStop is one stay.
type RunStop struct {
	Order          int       // from 1
	Zone           string    // ID
	Index          int       // of the zone in Chart.Zones
	At             orb.Point // where to begin the drift, or the zone's centre
	Arrive         time.Time
	Leave          time.Time
	FreeS          float64       // seconds to spare, at any place, between the stop before and the way here
	Expected       Spread        // events while there
	PerH           float64       // rate to expect on arrival, an hour
	WorthPerH      float64       // what an hour is worth once it is left, events an hour
	LeaveIf        []RunPatience // rising in Bites; none where no other time is worth anything, or the place is never worth less
	FishTopM       ingest.Maybe  // below the surface of the day
	FishBottomM    ingest.Maybe
	FishBy         string // how the band came to the day's level: "surface", "bottom", or "" when it stands as noted
	BottomM        ingest.Maybe
	Wind           *Wind        // on arrival; nil: no forecast
	DriftMPS       ingest.Maybe // over ground
	DriftTowardDeg ingest.Maybe
	DriftFrom      string       // "forecast" or "season": what the drift is taken from; "" when not known
	DriftEnd       orb.Point    // where the drift has crossed the zone; At when it is not known which way it goes
	DriftLine      string       // ID of the drift line through the zone that goes nearest the same way; "" for none
	PassS          ingest.Maybe // seconds from At to DriftEnd
	Head           HeadChoice
}

// A RunPatience tells when to give a stop up: after Minutes there with no more than Bites.
type RunPatience struct {
	Bites   int
	Minutes float64 // since arrival
}

// A RunLeg is the way from one stop to the next over water that is known.
type RunLeg struct {
	From, To   int // stops from 1; 0 is the launch, and one more than the last the take-out
	Line       orb.LineString
	LengthM    float64
	Seconds    float64
	LeastM     ingest.Maybe // shallowest depth known on it, at the day's level
	UnsoundedM float64      // of its length no depth is known; it was travelled
}

// A RunCooling is how places cool off while they are fished.
type RunCooling struct {
	TauMin       float64 // minutes in which the rate falls to 37 %
	Learned      bool    // from Events on Visits; else TauMin is the usual figure
	Events       int
	Visits       int
	Shape        float64 // how much one visit differs from another: of the Gamma distribution of the rate met
	ShapeLearned bool
}

// A RunRival is another plan and how much more the run gives, both simulated in the same days.
type RunRival struct {
	Order    []string // IDs
	Expected Spread
	Gain     Spread  // events more on the run
	Ratio    float64 // of the means: run over rival
	Share    float64 // of simulated days in which the run gives no less
	Days     int     // simulated
}

// A RunOther is the plan for a day that turns out otherwise.
type RunOther struct {
	Name     string // one plain clause: "two hours shorter"
	Stops    []RunOtherStop
	Expected float64
	Home     time.Time
	Why      string // when there is no such plan: one plain clause
}

// A RunOtherStop is a stop of it.
type RunOtherStop struct {
	Zone   string
	Arrive time.Time
	Leave  time.Time
	Head   HeadChoice
}

// A RunDropped is a zone left out.
type RunDropped struct {
	Zone  string
	Why   string       // one plain clause
	Costs ingest.Maybe // events that the run would lose at most by going there all the same; unknown where it can't be reached
}
