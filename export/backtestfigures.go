package export

import (
	"math"
	"strconv"

	"leadline/spatial"
)

// A BacktestFigure is one figure in words, for a table.
type BacktestFigure struct {
	Name  string
	Means string // what it is, and what it would be if the zones knew nothing or plans were right
	Value string // with its unit; empty when it isn't known
	Range string // "1.3 to 2.5"; empty when there is no interval
	Why   string // then, one clause
	Days  int    // or weeks, that tell of it
}

// backtestFigures are all figures in the order they are shown in.
var backtestFigures = []struct {
	name, means string
	of          func(f *spatial.Foretold) spatial.Estimate
	kind        backtestKind
}{
	{"Lift", "events an hour inside, against an hour anywhere on the same DAY; 1 is no better", func(f *spatial.Foretold) spatial.Estimate { return f.Lift }, asRatio},
	{"Lift against outside", "the same against an hour outside on the same DAY; 1 is no better", func(f *spatial.Foretold) spatial.Estimate { return f.LiftOutside }, asRatio},
	{"Lift over all DAYs as one", "the same without regard to the DAY, so that good DAYs pass for good places; 1 is no better", func(f *spatial.Foretold) spatial.Estimate { return f.LiftPooled }, asRatio},
	{"Events inside", "share of all events, by weight", func(f *spatial.Foretold) spatial.Estimate { return f.HitRate }, asShare},
	{"Fishing inside", "share of the fishing time", func(f *spatial.Foretold) spatial.Estimate { return f.HoursShare }, asShare},
	{"Water inside", "share of the water within a cast of where the boat went", func(f *spatial.Foretold) spatial.Estimate { return f.AreaShare }, asShare},
	{"Accuracy index", "events inside over water inside; tells where the fishing was, too", func(f *spatial.Foretold) spatial.Estimate { return f.Accuracy }, asRatio},
	{"Likelier than one rate", "per event, zones by hour and depth against one rate everywhere; 1 is no better", func(f *spatial.Foretold) spatial.Estimate { return f.OverFlat }, asLikelier},
	{"Likelier than the last trip", "per event, the same against the last trip's catches; 1 is no better", func(f *spatial.Foretold) spatial.Estimate { return f.OverLast }, asLikelier},
	{"Intervals held", "share of a plan's 90 % intervals that held what came; 90 % is right", func(f *spatial.Foretold) spatial.Estimate { return f.Coverage }, asHeld},
	{"Given over promised", "what visits to zones gave over what a plan would have promised; 1 is right", func(f *spatial.Foretold) spatial.Estimate { return f.Catch }, asRatio},
}

// BacktestFigures lists the figures of one of b's Foretold, always as many and in the same
// order.
func BacktestFigures(b spatial.Backtest, f spatial.Foretold) []BacktestFigure {
	s := spanOf(b)
	out := make([]BacktestFigure, len(backtestFigures))
	for i, g := range backtestFigures {
		out[i] = figure(s, g.of(&f), g.kind)
		out[i].Name, out[i].Means = s.day(g.name), s.day(g.means)
	}
	return out
}

// A backtestKind is how a figure is printed: to two digits, and to more where two would put it on the
// wrong side of what is even.
type backtestKind struct {
	of   func(float64) float64
	even float64 // as printed
	none float64 // as it is in the Estimate
	unit string
}

var (
	asRatio    = backtestKind{func(v float64) float64 { return v }, 1, 1, ""}
	asShare    = backtestKind{func(v float64) float64 { return 100 * v }, 100, 1, " %"}
	asHeld     = backtestKind{func(v float64) float64 { return 100 * v }, 100 * planLevel, planLevel, " %"}
	asLikelier = backtestKind{math.Exp, 1, 0, ""} // of nats
)

func (k backtestKind) number(v float64) string { return digits(k.of(v), k.even) }

func (k backtestKind) value(e spatial.Estimate) string { return k.number(e.Value) + k.unit }

func (k backtestKind) between(e spatial.Estimate) string {
	return k.number(e.Low) + " to " + k.number(e.High) + k.unit
}

// times prints a bounded ratio with what it says: "1.2 times as likely (0.8 to 1.7: may be chance)".
func (k backtestKind) times(e spatial.Estimate, what string) string {
	words := k.value(e) + " times"
	if what != "" {
		words += " " + what
	}
	tail := ""
	switch e.Against(k.none) {
	case spatial.NoBetter:
		tail = ": may be chance"
	case spatial.Worse:
		tail = ": worse"
	}
	return words + " (" + k.between(e) + tail + ")"
}

// digits prints a number that is not negative to two digits, or as many as tell it from even.
func digits(v, even float64) string {
	if !finite(v) {
		return Unknown
	}
	for n := 2; ; n++ {
		s := strconv.FormatFloat(v, 'e', n-1, 64)
		r, _ := strconv.ParseFloat(s, 64)
		if r == even && v != even && n < 6 {
			continue
		}
		if r < 0.001 {
			if r == 0 {
				return "0"
			}
			return "under 0.001"
		}
		decimals := max(0, n-1-int(math.Floor(math.Log10(r))))
		return strconv.FormatFloat(r, 'f', decimals, 64)
	}
}

// BacktestLift is a lift of b's in words, as one of [BacktestFigures] without its name.
func BacktestLift(b spatial.Backtest, e spatial.Estimate) BacktestFigure {
	return figure(spanOf(b), e, asRatio)
}

func figure(s backtestSpan, e spatial.Estimate, k backtestKind) BacktestFigure {
	f := BacktestFigure{Days: e.Days}
	if e.OK {
		f.Value = k.value(e)
	}
	if e.Bounded {
		f.Range = k.between(e)
	} else {
		f.Why = orWords(s.why(e), "no reason is known")
	}
	return f
}
