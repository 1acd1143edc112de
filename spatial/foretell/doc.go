// Package foretell scores forecasts of events against what came on days the forecast had
// not seen: how much richer the foretold places were than fishing anywhere, whether a
// rate surface beats a flat one, whether intervals hold as often as they say, each with
// its interval by day.
//
// It knows no fish and no zones. Who fills a [Day] sees to it that the forecast rests
// on other days only. [Score] is the door; everything is pure computation. Hours are of
// effort, areas square metres, log scores natural logarithms (nats).
package foretell
