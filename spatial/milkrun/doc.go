// Package milkrun says which stops to visit, in what order and how long to
// stay at each, so that the gains add up to the most there is by the time one
// must be back.
//
// It knows no fish and no lake: a stop has a window for the start of the stay,
// the stays one may choose from, and a gain that may depend on both. The gain
// of a stop counts once. [Solve] is the door; everything is pure computation.
package milkrun
