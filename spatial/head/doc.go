// Package head answers: which is the lightest head that gets back down to the
// fish in time, and stays down while the boat drifts?
//
// [Choose] is the answer for one depth and one drift speed: for every head of
// the box the time to sink, the line that must be out, how far behind the boat
// the lure trails and the line's angle at the rod, and the lightest head within
// both limits. Where no head is, it says which limit stands in the way and what
// would help.
//
// Two models stand below it, each usable alone: [Hanging], a weight on a line
// below a boat in moving water, and [Fall], the same weight sinking from rest
// with its line drawn down behind it. Both take drag from drag.go, water from
// water.go and, for the line, currents over depth from flow.go.
//
// What counts in both is the boat's speed through the water the line hangs in,
// not over ground. Choose takes one speed for all depths: it assumes still
// water, and a caller who knows a current must subtract it first.
package head
