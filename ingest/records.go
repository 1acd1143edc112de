package ingest

import (
	"time"

	"github.com/paulmach/orb"
)

// A Fix is one position of the boat.
type Fix struct {
	Time      time.Time // UTC; zero when the point carries none
	Pos       orb.Point
	SpeedMPS  Maybe
	CourseDeg Maybe
	Line      int     // line in the source at which the point begins
	Flags     FixFlag // why the point stays out of the analysis; 0 when sound
}

// A Track is one unbroken run of fixes as the source divides it, in recorded order.
type Track struct {
	Source  int // index into Season.Sources
	Name    string
	FromLog bool // made of the positions in a depth log
	Fixes   []Fix
}

// DepthRef says from where down a depth was recorded.
type DepthRef uint8

// Where a recorded depth begins.
const (
	BelowTransducer DepthRef = iota
	BelowSurface             // the instrument added its own depth already
	BelowKeel                // the instrument took the keel's depth off; not comparable until it is known
)

var depthRefs = [...]string{"below the transducer", "below the surface", "below the keel"}

// String returns the reference in words, such as "below the surface".
func (r DepthRef) String() string { return depthRefs[r] }

// A Sounding is one depth reading as logged.
type Sounding struct {
	Time     time.Time // UTC; zero when the row carries none
	Pos      orb.Point // only when HasPos
	HasPos   bool
	DepthM   float64 // recorded depth, positive down, from where Ref says
	Ref      DepthRef
	TempC    Maybe // water temperature
	SpeedMPS Maybe // boat speed logged beside the depth
	Source   int
	Line     int
	Flags    SoundingFlag // why the reading stays out of the analysis; 0 when sound
}

// A PlacedSounding is a sounding that is known to lie at one place.
type PlacedSounding struct {
	Sounding
	At       orb.Point
	SurfaceM float64 // surface depth, see Corrections
}

// EventKind says what a person noted.
type EventKind uint8

// The kinds of event, in the order they are listed to a person.
const (
	Catch EventKind = iota // a fish in the boat
	Bite                   // a fish felt and not landed
	Mark                   // fish seen on the sonar
	Bait                   // baitfish seen
)

var eventKinds = [...]string{"catch", "bite", "mark", "bait"}

// String returns the word used in files: catch, bite, mark or bait.
func (k EventKind) String() string { return eventKinds[k] }

// ParseEventKind is the inverse of String; ok is false for any other word.
func ParseEventKind(s string) (k EventKind, ok bool) {
	for i, w := range eventKinds {
		if s == w {
			return EventKind(i), true
		}
	}
	return 0, false
}

// An Event is something that happened at one time or place: a catch, a bite,
// fish or bait seen. At least one of Time and HasPos is given.
type Event struct {
	Time     time.Time // UTC; zero when unknown
	Pos      orb.Point // only when HasPos
	HasPos   bool
	Kind     EventKind
	Species  string // empty when not noted
	Count    int    // fish in this record, at least 1
	LengthM  Maybe
	WeightKg Maybe
	FishM    Maybe // fish depth, below the surface
	HeadKg   Maybe // head it was caught on
	TrailerM Maybe
	Note     string
	Source   int
	Line     int
}

// PlacedBy says how a placed event came by its position.
type PlacedBy uint8

// The ways an event is placed.
const (
	ByNote  PlacedBy = iota // the record carried a position
	ByTrack                 // interpolated on the track at its time
)

// String returns "noted" or "track".
func (b PlacedBy) String() string {
	if b == ByTrack {
		return "track"
	}
	return "noted"
}

// A PlacedEvent is an event that is known to lie at one place.
type PlacedEvent struct {
	Event
	At orb.Point
	By PlacedBy
}

// A Level is the water level on one day, or at one time of it.
type Level struct {
	Date   string    // local day, 2006-01-02
	Time   time.Time // UTC; zero when only the day is known
	LevelM float64
	Source int
	Line   int
}

// A Wind is the wind at one time, over ground.
type Wind struct {
	Time     time.Time // UTC
	SpeedMPS float64
	FromDeg  float64 // direction it blows from, clockwise from true north
	Source   int
	Line     int
}

// A Day is everything placed on one local calendar day.
type Day struct {
	Date      string // local day, 2006-01-02
	Tracks    []Track
	Soundings []PlacedSounding // by time
	Events    []PlacedEvent    // by time
	Winds     []Wind           // by time
	LevelM    Maybe            // water level of the day
}

// An Unplaced is a run of records of one file that were read but could not be
// given a position, all for the same reason. They are listed, never dropped.
type Unplaced struct {
	What     string // "sounding", "catch", …
	Source   int
	Line     int // of the first
	LastLine int
	Count    int
	Time     time.Time // of the first; zero when it has none
	Reason   string    // one of the constants below
}

// Why a record has no place.
const (
	NoTimeNorPlace = "neither time nor position"
	NoTrack        = "no track was read"
	TooSoon        = "before the track's first fix"
	TooLate        = "after the track's last fix"
	InGap          = "in a gap of the track"
	InTwoFiles     = "already in another file" // it has a place, and counts once
)

// Undated is what has a place but no clock: it belongs to no day.
type Undated struct {
	Soundings []PlacedSounding
	Events    []PlacedEvent
}

// A Season is what a set of files amounts to.
type Season struct {
	Zone     *time.Location // the clock that days and hours are told by
	ZoneSaid bool           // false when no zone was given and UTC is used
	Days     []Day          // by date, each at most once
	Undated  Undated
	Sources  []Source
	Problems []Problem
	Unplaced []Unplaced
}
