package spatial

import "leadline/ingest"

// Limit names one of the two limits a head must meet.
type Limit uint8

// The limits.
const (
	NoLimit    Limit = iota
	SinkLimit        // back down to the fish in time
	AngleLimit       // line at the rod near enough to vertical
)

// A HeadTrial is what one head does at one depth and drift speed.
type HeadTrial struct {
	Head       ingest.Head
	Line       ingest.Line
	TrailerM   float64
	SinkS      float64 // from release at the surface to the fish, line paying out
	Holds      bool    // false: no sensible length of line reaches the depth, and the next three are unknown
	LineOutM   ingest.Maybe
	TrailM     ingest.Maybe // how far behind the rod tip the lure hangs
	AngleDeg   ingest.Maybe // of the line at the rod, from vertical
	MeetsSink  bool
	MeetsAngle bool
	CycleS     float64      // down, a fish up, unhooked, until the next drop begins: seconds a fish at best
	ReelDepthM ingest.Maybe // that it holds when reeled at Tackle.ReelMPS, at the start, with a cast's length of line out
	ReelMPS    ingest.Maybe // fastest retrieve, from a cast's length of line, that stays at the upper edge of the fish or below; unknown: none does, or any when they come up to the surface
}

// Meets reports whether the head meets both limits.
func (t HeadTrial) Meets() bool { return t.MeetsSink && t.MeetsAngle }

// A HeadChoice is the lightest head of the box that meets both limits, and why.
// When Missing is not empty nothing was computed; when it is empty and Picked is
// false, no head of the box meets the limits and the three WayOut fields say
// what would help.
type HeadChoice struct {
	DepthM   ingest.Maybe // to the lower edge of the fish
	TopM     ingest.Maybe // to their upper edge, above which no retrieve may rise; unknown: taken as DepthM
	SpeedMPS ingest.Maybe // of the boat through the water, at the surface
	DeepMPS  ingest.Maybe // the same at DepthM; unknown: as at the surface
	// CurrentMPS is the steady current that was taken off the drift over ground; unknown: still water was assumed.
	CurrentMPS ingest.Maybe
	Missing    []string // "fish depth", "drift speed": what the choice would need
	Picked     bool
	Pick       int         // index into Trials; 0 and meaningless unless Picked
	Trials     []HeadTrial // every head of the box, lightest first
	Decided    Limit       // the limit that ruled out the next lighter head, or every head; NoLimit when the lightest will do
	Close      bool        // a change of 2 % in depth or speed would change the pick
	Stand      HeadStand   // how firmly the pick stands
	Sink       SinkDrag    // what the sink times rest on

	// When nothing meets the limits, each alone would let the heaviest head meet
	// them; unknown when that change alone can't.
	WayOutSpeedMPS ingest.Maybe // drift no faster than this
	WayOutDepthM   ingest.Maybe // fish no deeper than this
	WayOutLineM    ingest.Maybe // line no thicker than this diameter
}

// Chosen returns the trial of the picked head; ok is false when none was picked.
func (c HeadChoice) Chosen() (t HeadTrial, ok bool) {
	if !c.Picked {
		return HeadTrial{}, false
	}
	return c.Trials[c.Pick], true
}

// KeepBelowM returns the depth that a retrieve may not rise above: the fish's upper edge, or the lower where that is
// all that is known.
func (c HeadChoice) KeepBelowM() ingest.Maybe {
	if c.TopM.OK {
		return c.TopM
	}
	return c.DepthM
}

// A HeadStand tells how firmly a pick stands: what would change it, and how often it stays
// the pick when depth, speed and drag are as uncertain as they are.
type HeadStand struct {
	// A lighter head would do in a drift no faster, or over fish no deeper, than this; the pick no longer does in a
	// faster one, or deeper. Unknown where no head is lighter, and where nothing changes between half and twice the drift,
	// or the depth.
	LighterToMPS   ingest.Maybe
	HeavierFromMPS ingest.Maybe
	LighterToM     ingest.Maybe
	HeavierFromM   ingest.Maybe

	Share      ingest.Maybe // of the draws in which the pick is the pick; unknown without a pick
	Rival      int          // index into Trials of what most of the others pick; -1: none of the box would do
	RivalShare float64      // 0: no draw picked another
}

// A HeadDoubt is how uncertain a choice's inputs are: standard deviations.
type HeadDoubt struct {
	DepthM   float64
	SpeedMPS float64
}

// A SinkDrag is the drag area of a sinking lure, over the square of its trailer's length.
type SinkDrag struct {
	PerLength2    float64
	PerLength2SD  ingest.Maybe // standard error of a calibration; unknown for the usual figure
	Countdowns    int          // it was fitted to; 0: the usual figure
	CountdownsOff int          // of all that were given, those that contradict the others and count nothing
}
