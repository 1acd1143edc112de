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
}

// Meets reports whether the head meets both limits.
func (t HeadTrial) Meets() bool { return t.MeetsSink && t.MeetsAngle }

// A HeadChoice is the lightest head of the box that meets both limits, and why.
// When Missing is not empty nothing was computed; when it is empty and Picked is
// false, no head of the box meets the limits and the three WayOut fields say
// what would help.
type HeadChoice struct {
	DepthM   ingest.Maybe // to the lower edge of the fish
	SpeedMPS ingest.Maybe // of the boat through the water
	Missing  []string     // "fish depth", "drift speed": what the choice would need
	Picked   bool
	Pick     int         // index into Trials; 0 and meaningless unless Picked
	Trials   []HeadTrial // every head of the box, lightest first
	Decided  Limit       // the limit that ruled out the next lighter head, or every head; NoLimit when the lightest will do
	Close    bool        // a change of 2 % in depth or speed would change the pick

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
