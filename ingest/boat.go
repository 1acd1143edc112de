package ingest

import (
	"time"

	"github.com/paulmach/orb"
)

// A Boat is what a person says once about boat, box and habits (boat.toml).
// Every field is settable; package boatfile has the defaults.
type Boat struct {
	Zone        *time.Location    // clock for times without a zone; nil when not said
	Metric      bool              // screens in metres and grams; false: ft, mph, oz, °F
	TransducerM float64           // depth of the transducer below the surface; 0 when not said
	SounderMPS  Maybe             // speed of sound the sounder assumes; unknown: its depths are taken as they stand
	PoolM       Maybe             // water level to show depths at; unknown: the latest day's
	Levels      []Level           // water levels by day, by date; Source is -1
	CastM       float64           // how far a cast reaches
	Columns     map[string]string // what columns of tables are, see ReadOptions
	Tackle      Tackle

	// For the run of a day:
	Launch, TakeOut *orb.Point // nil when not said
	RunMPS, IdleMPS Maybe      // running, and where no wake is allowed; unknown when not said
	DraftM          float64    // of the boat, motor down
	MarginM         float64    // least water wanted under it
}

// Tackle is the box of heads and lines, and the limits a head must meet.
type Tackle struct {
	Heads       []Head // lightest first
	Lines       []LineRule
	Trailers    []TrailerRule
	MaxSinkS    float64 // back down to the fish within this time
	MaxAngleDeg float64 // line at the rod at most this far from vertical
	WaterC      float64 // temperature for the water's density and viscosity

	Countdowns []Countdown // sinks timed by the person; none: the usual drag is taken
	ReelUpMPS  float64     // how fast a hooked fish comes up
	UnhookS    float64     // from the fish in hand to the next drop
	CastM      float64     // line out at the start of a retrieve
	ReelMPS    float64     // how fast a lure is usually reeled in
}

// A Countdown is a sink that a person timed: head and trailer, from the surface.
type Countdown struct {
	Head     Head
	TrailerM float64
	DepthM   float64
	Seconds  float64
}

// A Head is a jig head: a weight with a hook.
type Head struct {
	MassKg      float64
	DensityKgM3 float64 // of its metal: lead 11340, tungsten 19250
}

// A Line is a fishing line.
type Line struct {
	Name        string // "8 lb fluorocarbon"
	DiameterM   float64
	DensityKgM3 float64
	Leader      *Leader // between line and head; nil: none
}

// A Leader is a line of another kind next to the head.
type Leader struct {
	Name        string
	DiameterM   float64
	DensityKgM3 float64
	LengthM     float64
}

// A LineRule says which line goes with heads up to a mass. Rules are tried in
// order; the last one takes every heavier head.
type LineRule struct {
	UpToKg float64
	Line   Line
}

// A TrailerRule says which soft bait goes with heads up to a mass, like LineRule.
type TrailerRule struct {
	UpToKg  float64
	LengthM float64
}

// LineFor returns the line that the rules give a head of that mass.
// It panics when there is no rule: boatfile never returns such a box.
func (t Tackle) LineFor(massKg float64) Line {
	for _, r := range t.Lines {
		if massKg <= r.UpToKg*(1+1e-9) {
			return r.Line
		}
	}
	return t.Lines[len(t.Lines)-1].Line
}

// TrailerFor returns the trailer length in metres that the rules give a head of that mass.
func (t Tackle) TrailerFor(massKg float64) float64 {
	for _, r := range t.Trailers {
		if massKg <= r.UpToKg*(1+1e-9) {
			return r.LengthM
		}
	}
	return t.Trailers[len(t.Trailers)-1].LengthM
}
