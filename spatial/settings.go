package spatial

import (
	"leadline/ingest"
)

// Settings is what a person may set about the analysis. Package analyse has the
// defaults and the reasons for them.
type Settings struct {
	CastM       float64      // how far a cast reaches; zones are grown by it
	Weights     Weights      // what each kind of event counts
	MinEvents   int          // fewer events than this are never a zone
	FrenzyS     float64      // events of one stop that follow within this are one frenzy, no more independent than that
	CellM       float64      // side of a cell of the depth grid; 0: chosen by how far apart the soundings lie
	ReachM      float64      // no depth is shown farther than this from a sounding
	ContourM    float64      // interval between contours
	BandM       float64      // height of the finest depth band
	RunMPS      float64      // about where running starts; each day's own paces are learned around it
	Crawling    CrawlRule    // whether going slowly under the motor is fishing
	DriftMinS   float64      // a shorter stretch is not a drift pass
	DriftMinM   float64      // nor one that covers less ground
	LineWidthM  float64      // passes within this of the middle of the others are one drift line
	MaxGapS     float64      // a longer gap between fixes is time unknown; at least three of the day's own intervals
	Simulations int          // seasons of even fishing simulated for the p-values; 0: none, and no p-value
	Seed        uint64       // of the simulations
	PoolM       ingest.Maybe // level at which depths are shown; unknown: the latest day's
	Forecast    *Wind        // wind to tell the drift for; nil: none
	Tackle      ingest.Tackle
}

// A Wind is a wind as a forecast gives it.
type Wind struct {
	SpeedMPS float64
	FromDeg  float64 // direction it blows from, clockwise from true north
}

// Weights is what each kind of event counts towards zones, rates and bands; 0: shown
// but not counted.
type Weights struct {
	Catch, Bite, Mark, Bait float64
}

// Of returns the weight of a kind.
func (w Weights) Of(kind ingest.EventKind) float64 {
	switch kind {
	case ingest.Bite:
		return w.Bite
	case ingest.Mark:
		return w.Mark
	case ingest.Bait:
		return w.Bait
	}
	return w.Catch
}

// CrawlRule says whether going slowly under the motor is fishing.
type CrawlRule uint8

// The rules.
const (
	CrawlByCatch CrawlRule = iota // as the catches tell
	CrawlFished                   // trolling
	CrawlMoved                    // the way back to the head of a drift
)

var crawlRules = [...]string{"by-catch", "fished", "moved"}

// String returns the rule in one word.
func (r CrawlRule) String() string { return crawlRules[r] }

// CrawlRules returns the words for all rules, in order.
func CrawlRules() []string { return crawlRules[:] }
