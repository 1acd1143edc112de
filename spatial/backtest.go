package spatial

// A BacktestAsk is what a person may set about a backtest.
type BacktestAsk struct {
	ByWeek bool // leave weeks out, Monday to Sunday, and not days
	Tune   bool // choose settings for each by those before it, too
	Seed   uint64
}

// A Backtest says how well a season's zones would have foretold days they were not made from.
type Backtest struct {
	ByWeek    bool
	CastM     float64 // settings of the zones
	MinEvents int
	LakeM2    float64  // water within a cast of where the boat went
	Earlier   Foretold // each from the days before it
	Others    Foretold // each from all other days, later ones too; intervals are wider for days that foretell each other
	Units     []LeftOut
	Tuning    *Tuning // nil when none was asked for
	Remarks   []Remark
}

// A LeftOut is a day, or week, that was left out and foretold.
type LeftOut struct {
	From, To string // local days, 2006-01-02, both included
	Events   float64
	Hours    float64 // fished
	Earlier  *Told   // nil when nothing was fished before it
	Others   *Told   // nil when nothing was fished on other days
}

// Told is what came on a day, or week, at what was foretold for it.
type Told struct {
	Known    int // days that the forecast rested on
	Zones    int
	EventsIn float64 // by weight
	HoursIn  float64
	AreaInM2 float64
	Promised float64 // events of the visits paid to zones, as a plan has them
	Given    float64 // and what came of those visits
}

// A Tuning is what the days themselves would have had the settings be. Each day is foretold
// with what did best on the days before it, so that no day chooses for itself.
type Tuning struct {
	Tried  []Tried
	Scored Foretold // the days by what had been chosen for them
	Next   int      // of Tried: what all days together choose for the day to come
}

// Tried is one choice of settings.
type Tried struct {
	CastM     float64
	MinEvents int
	Usual     bool    // what is used without tuning
	PerEvent  float64 // nats an event over one rate everywhere, of all days
	Chosen    int     // days that it was chosen for
}

// A Verdict says whether a figure is above what chance alone would give.
type Verdict uint8

// The verdicts.
const (
	TooFew   Verdict = iota // no interval, so nothing can be said
	NoBetter                // the interval holds the even value
	Better
	Worse
)

// An Estimate is a figure with its 95 % interval by day.
type Estimate struct {
	Value float64
	OK    bool // Value is known

	Low, High float64
	Bounded   bool // Low and High are known; only when OK

	Days int    // days that tell something of it
	Why  string // when not Bounded: one plain clause
}

// Against returns where the interval lies, even being the value of a forecast that
// knows nothing: 1 for a ratio, 0 for a difference.
func (e Estimate) Against(even float64) Verdict {
	switch {
	case !e.Bounded:
		return TooFew
	case e.Low > even:
		return Better
	case e.High < even:
		return Worse
	}
	return NoBetter
}

// A LiftBin is the lift on days whose forecast rested on about as many days.
type LiftBin struct {
	From, To int // days of record, both included
	Days     int
	Lift     Estimate
	Verdict  Verdict
}

// Foretold is what all days left out say together. Package foretell has the definitions.
type Foretold struct {
	Days    int
	LeftOut int // days not in the lifts: events where no effort was counted
	Events  float64
	Hours   float64

	HitRate    Estimate // share of events inside
	HoursShare Estimate // share of effort inside
	AreaShare  Estimate // share of the area inside
	Accuracy   Estimate // hit rate over area share

	Lift        Estimate // against all fishing of the same day; the headline
	LiftOutside Estimate // against the fishing outside on the same day
	LiftPooled  Estimate // against all fishing of all days
	Verdict     Verdict  // of Lift

	OverFlat Estimate // nats per event better than one rate everywhere; 0 is even
	OverLast Estimate // nats per event better than the last trip's catches; 0 is even

	Coverage Estimate // share of intervals that held
	Catch    Estimate // events given over events promised
	PIT      []float64

	ByKnown []LiftBin // rising
}
