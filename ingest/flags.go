package ingest

import "math/bits"

// FixFlag marks why a fix stays out of the analysis. Flags add up; nothing is removed.
type FixFlag uint16

// The flags of a fix.
const (
	FixNoTime     FixFlag = 1 << iota // carries no time
	FixZeroIsland                     // at 0°, 0°: the receiver had no position
	FixRepeated                       // same time as the fix before it
	FixBackwards                      // earlier than a fix before it
	FixJump                           // no boat could have gone there and back
	FixCovered                        // another track already covers that time
	FixRoad                           // on the trailer, before the ramp or after it
)

var fixFlags = [...]string{"no time", "at 0,0", "repeated time", "time runs backwards", "impossible jump", "covered by another track", "on the road"}

// Names lists the reasons in words, in the order of the constants.
func (f FixFlag) Names() []string { return flagNames(uint16(f), fixFlags[:]) }

// SoundingFlag marks why a sounding stays out of the analysis. Flags add up.
type SoundingFlag uint16

// The flags of a sounding.
const (
	SoundingNoBottom   SoundingFlag = 1 << iota // zero or negative: bottom lock lost
	SoundingDouble                              // about twice its neighbours: second echo
	SoundingSpike                               // far from the median of its neighbours
	SoundingTooDeep                             // deeper than any lake: a filler value
	SoundingTooShallow                          // above the transducer that took it
	SoundingHeld                                // the same value repeated while the boat moved
	SoundingCovered                             // another log of the same outing has it already
)

var soundingFlags = [...]string{"no bottom", "double echo", "spike", "beyond any lake's depth", "shallower than the transducer", "held value", "covered by another log"}

// Names lists the reasons in words, in the order of the constants.
func (f SoundingFlag) Names() []string { return flagNames(uint16(f), soundingFlags[:]) }

func flagNames(f uint16, names []string) []string {
	var out []string
	for ; f != 0; f &= f - 1 {
		out = append(out, names[bits.TrailingZeros16(f)])
	}
	return out
}
