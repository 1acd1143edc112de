package export

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"leadline/ingest/si"
	"leadline/spatial"
)

// No figure of a backtest is told without its 95 % interval: by itself a lift of 2 from four
// days reads like one from forty. What has no interval is named with the reason.

// planLevel is the share of what comes that the intervals of a run are to hold.
const planLevel = 0.9

// BacktestWords says in plain sentences how well zones foretold the days left out: first the
// headline with its verdict, then what it rests on, the other figures with their 95 %
// intervals, the second figure from all other days, the lift by days of record, and what was
// tuned. Remarks and cautions ([BacktestCautions]) are not in it.
func BacktestWords(b spatial.Backtest, u si.System) []string {
	claim, verdict := BacktestHeadline(b)
	out := append([]string{claim + " " + verdict}, BacktestBasis(b)...)
	out = append(out, BacktestSays(b)...)
	for _, words := range []string{BacktestOthersWords(b), BacktestRiseWords(b)} {
		if words != "" {
			out = append(out, words)
		}
	}
	return append(out, BacktestTuningWords(b, u)...)
}

// BacktestHeadline returns how much an hour at the zones gave against an hour anywhere on
// the same day, with the interval, and whether the days are enough to say so. Without an
// interval it claims nothing, and says why and what is needed.
func BacktestHeadline(b spatial.Backtest) (claim, verdict string) {
	s := spanOf(b)
	e := b.Earlier.Lift
	even := e.Against(1)
	if even == spatial.TooFew {
		claim = "Nothing can be said yet of how well the zones foretell fish"
		if b.Earlier.Days == 0 {
			return claim + ": no " + s.noun + " was foretold.",
				"It takes two " + s.noun + "s of fishing at least, the first to learn from, and more for an interval."
		}
		return claim + because(s.why(e)) + ".", fmt.Sprintf(
			"A %s tells of it when something bit and some of its fishing, not all, was inside the zones that the days before it gave. More such %ss are needed.", s.noun, s.noun)
	}
	claim = fmt.Sprintf("An hour at the zones foretold gave %s times as many events as an hour of fishing anywhere %s (95 %% interval %s).",
		asRatio.value(e), s.same, asRatio.between(e))
	switch even {
	case spatial.Better:
		verdict = "All of the interval is above 1: " + s.count(e.Days) + " are enough to call that more than chance."
	case spatial.Worse:
		verdict = "That is worse than fishing anywhere: all of the interval is below 1, and " + s.count(e.Days) + " are enough to say so."
	default:
		verdict = fmt.Sprintf("That may be chance: the interval holds 1, which is no better. %s tell of it; more would narrow it.", s.count(e.Days))
	}
	return claim, verdict
}

// BacktestBasis says what the figures rest on.
func BacktestBasis(b spatial.Backtest) []string {
	f, s := b.Earlier, spanOf(b)
	if f.Days == 0 {
		return nil
	}
	words := s.count(f.Days) + agree(f.Days, " was", " were") + " left out in turn, each foretold from the days before it alone"
	if finite(f.Events) && finite(f.Hours) {
		words += ": " + events(f.Events) + " in " + Hours(f.Hours) + " of fishing"
	}
	words += ". Brackets hold 95 % intervals."
	first := 0
	for _, o := range b.Units {
		if o.Earlier == nil {
			first++
		}
	}
	if first > 0 {
		words += fmt.Sprintf(" %s no fishing before to learn from.", s.count(first)+agree(first, " has", " have"))
	}
	if f.LeftOut > 0 {
		words += fmt.Sprintf(" %s not in the comparison: events where no fishing was counted.", s.count(f.LeftOut)+agree(f.LeftOut, " is", " are"))
	}
	return []string{words}
}

// BacktestSays says what the days foretold from those before them say besides the headline,
// a sentence or two to a line. Figures without an interval are named in the last lines.
func BacktestSays(b spatial.Backtest) []string {
	f, s := b.Earlier, spanOf(b)
	if f.Days == 0 {
		return nil
	}
	var out []string
	var parts []string
	part := func(e spatial.Estimate, what string) {
		if e.Bounded {
			parts = append(parts, fmt.Sprintf("%s of the %s (%s)", asShare.value(e), what, asShare.between(e)))
		}
	}
	part(f.HitRate, "events")
	part(f.HoursShare, "fishing time")
	part(f.AreaShare, "water")
	if len(parts) > 0 {
		out = append(out, "Inside the zones: "+andList(parts)+".")
	}
	if e := f.Accuracy; e.Bounded {
		out = append(out, fmt.Sprintf("Per area, the water inside gave %s times as many events as all of it (%s; the predictive accuracy index). That tells where the fishing was as much as where fish were.",
			asRatio.value(e), asRatio.between(e)))
	}
	if e := f.LiftOutside; e.Bounded {
		words := fmt.Sprintf("Against the fishing outside the zones %s, an hour inside gave %s.", s.same, asRatio.times(e, "as many events"))
		if in := f.HoursShare; in.Bounded && in.Value >= 0.2 { // a lift of 5 is beyond what most waters give
			words += fmt.Sprintf(" The headline can't show that much: with %s of the fishing inside already, it is at most some %s.", asShare.value(in), asRatio.value(spatial.Estimate{Value: 1 / in.Value, OK: true}))
		}
		out = append(out, words)
	}
	parts = nil
	if f.OverFlat.Bounded {
		parts = append(parts, asLikelier.times(f.OverFlat, "as likely as one rate everywhere does"))
	}
	if f.OverLast.Bounded {
		parts = append(parts, asLikelier.times(f.OverLast, "as likely as going back to the last trip's catches does"))
	}
	if len(parts) > 0 {
		out = append(out, "For each event, the zones by hour and depth make what came "+andList(parts)+".")
	}
	if e := f.Coverage; e.Bounded {
		out = append(out, fmt.Sprintf("A plan's 90 %% intervals held %s of what visits to zones gave (%s): %s.", asHeld.value(e), asHeld.between(e), heldWords(e)))
	}
	if e := f.Catch; e.Bounded {
		out = append(out, fmt.Sprintf("Visits to zones gave %s times what a plan would have promised of them (%s): %s.", asRatio.value(e), asRatio.between(e), givenWords(e)))
	}
	return append(out, unsaid(f, s)...)
}

// heldWords judges the share of intervals that held.
func heldWords(e spatial.Estimate) string {
	switch e.Against(planLevel) {
	case spatial.Better:
		return "more than they need to, as intervals of small counts do"
	case spatial.Worse:
		return "plans are too sure"
	}
	return "no sign that plans are too sure, or not sure enough"
}

// givenWords judges what was given over what was promised.
func givenWords(e spatial.Estimate) string {
	switch e.Against(1) {
	case spatial.Better:
		return "plans promise too little"
	case spatial.Worse:
		return "plans promise too much"
	}
	return "no sign that plans promise too much, or too little"
}

// unsaid names the figures without an interval, those with the same reason in one line.
func unsaid(f spatial.Foretold, s backtestSpan) []string {
	var reasons []string
	names := map[string][]string{}
	for _, g := range backtestFigures[1:] { // the headline has the first
		e := g.of(&f)
		if e.Bounded {
			continue
		}
		why := orWords(s.why(e), "no reason is known")
		if names[why] == nil {
			reasons = append(reasons, why)
		}
		names[why] = append(names[why], g.name)
	}
	var out []string
	for _, why := range reasons {
		out = append(out, fmt.Sprintf("Without an interval, so nothing is claimed (%s): %s.", why, strings.ToLower(strings.Join(names[why], ", "))))
	}
	return out
}

// BacktestOthersWords is the second figure, and why it isn't the first; empty when nothing was
// foretold.
func BacktestOthersWords(b spatial.Backtest) string {
	s, e := spanOf(b), b.Others.Lift
	if b.Others.Days == 0 {
		return ""
	}
	if !e.Bounded {
		return "Foretold from all other " + s.noun + "s, later ones too, nothing can be said" + because(s.why(e)) + "."
	}
	return fmt.Sprintf("Foretold from all other %ss, later ones too, an hour at the zones gave %s. That rests on more record, but nobody has days that are yet to come: the figure from the days before is the honest one. (Days that foretell each other count twice; the interval is made wider for that.)",
		s.noun, asRatio.times(e, "as many events"))
}

// BacktestRiseWords lists the lift by days of record and says whether it is seen to change;
// empty when there are too few days for that.
func BacktestRiseWords(b spatial.Backtest) string {
	var parts []string
	for _, k := range b.Earlier.ByKnown {
		words := BacktestKnownWords(k) + " no interval"
		if k.Lift.Bounded {
			words = BacktestKnownWords(k) + " " + asRatio.times(k.Lift, "")
		}
		parts = append(parts, words)
	}
	if len(parts) == 0 {
		return ""
	}
	words := "By days in the logbook, an hour at the zones gave against one anywhere: " + strings.Join(parts, "; ") + "."
	if rise := BacktestRise(b); rise != "" {
		words += " " + rise
	}
	return words
}

// BacktestRise says whether the lift is seen to change with days of record; empty when less than two
// bins have an interval. Two intervals of 95 % that don't touch are more than is needed to say so.
func BacktestRise(b spatial.Backtest) string {
	var firm []spatial.LiftBin
	for _, k := range b.Earlier.ByKnown {
		if k.Lift.Bounded {
			firm = append(firm, k)
		}
	}
	if len(firm) < 2 {
		return ""
	}
	first, last := firm[0], firm[len(firm)-1]
	switch {
	case last.Lift.Low > first.Lift.High:
		return "It rose with days."
	case last.Lift.High < first.Lift.Low:
		return "It fell with days."
	}
	return fmt.Sprintf("The intervals of %s and of %s overlap: that it changes with days is not proven.", BacktestKnownWords(first), BacktestKnownWords(last))
}

// BacktestKnownWords says how many days of record a bin's forecasts rested on: "6 to 10 days".
func BacktestKnownWords(k spatial.LiftBin) string {
	if k.From == k.To {
		return Plural(k.From, "day")
	}
	return strconv.Itoa(k.From) + " to " + Plural(k.To, "day")
}

// BacktestTuningWords says what was tuned on what, and what the days choose for the day to come.
func BacktestTuningWords(b spatial.Backtest, u si.System) []string {
	s, t := spanOf(b), b.Tuning
	zones := func(castM float64, minEvents int) string {
		cast := Unknown
		if finite(castM) {
			cast = u.Depth(castM)
		}
		return fmt.Sprintf("a cast of %s and at least %s to a zone", cast, Plural(minEvents, "event"))
	}
	if t == nil {
		return []string{"Nothing was tuned on these days: zones are found with " + zones(b.CastM, b.MinEvents) + "."}
	}
	if len(t.Tried) == 0 {
		return nil
	}
	by := func(a, b spatial.Tried) int { return a.MinEvents - b.MinEvents }
	low, high := slices.MinFunc(t.Tried, by).MinEvents, slices.MaxFunc(t.Tried, by).MinEvents
	castLow, castHigh := t.Tried[0].CastM, t.Tried[0].CastM
	for _, a := range t.Tried {
		castLow, castHigh = min(castLow, a.CastM), max(castHigh, a.CastM)
	}
	casts := Unknown
	if finite(castLow) && finite(castHigh) {
		casts = DepthRange(castLow, castHigh, u)
	}
	words := fmt.Sprintf("%s tried: casts of %s, at least %s to a zone. Each %s was foretold with what had the best log score on those before it, the first few with the usual settings, so none chose for itself.",
		Plural(len(t.Tried), "choice")+" of settings"+agree(len(t.Tried), " was", " were"), casts, fewest(low, high), s.noun)
	lift := func(e spatial.Estimate, what string) string {
		if !e.Bounded {
			return "nothing can be said" + because(s.why(e))
		}
		return asRatio.times(e, what)
	}
	out := []string{words, "Against an hour anywhere, one at the zones so tuned gave " + lift(t.Scored.Lift, "as many events") +
		"; with the usual settings " + lift(b.Earlier.Lift, "") + ". The difference has no interval."}
	if t.Next >= 0 && t.Next < len(t.Tried) {
		next := t.Tried[t.Next]
		words := fmt.Sprintf("For the next day all %ss together choose %s", s.noun, zones(next.CastM, next.MinEvents))
		if next.Usual {
			words += ", the usual settings"
		}
		out = append(out, words+".")
	}
	return out
}

func fewest(low, high int) string {
	if low == high {
		return Plural(low, "event")
	}
	return strconv.Itoa(low) + " to " + Plural(high, "event")
}

// BacktestCautions are the sentences that go with every backtest.
func BacktestCautions() []string {
	return []string{
		"Fishing is not spread at random: people fish where they think fish are, at the hours they trust, and stay while it bites. The zones get the credit.",
		"Days near each other share weather and water, and tell less than as many far apart: the intervals are rather too narrow. Leaving out weeks helps.",
		"These are past seasons on one water, fished one way. Fish move and levels change: the next day may be unlike all of them.",
		"Not for navigation. Local fishing rules, local agencies and licensed practice come first.",
	}
}

// A backtestSpan is what was left out: the words for days, or for weeks.
type backtestSpan struct{ noun, same string }

func spanOf(b spatial.Backtest) backtestSpan {
	if b.ByWeek {
		return backtestSpan{"week", "in the same week"}
	}
	return backtestSpan{"day", "on the same day"}
}

func (s backtestSpan) count(n int) string { return Plural(n, s.noun) }

// day puts the noun into words that hold a place for it.
func (s backtestSpan) day(words string) string {
	return strings.ReplaceAll(strings.ReplaceAll(words, "on the same DAY", s.same), "DAY", s.noun)
}

// why is an Estimate's reason. What is left out is a day there, also when it is a week.
func (s backtestSpan) why(e spatial.Estimate) string {
	if s.noun == "week" {
		return strings.ReplaceAll(e.Why, "days", "weeks")
	}
	return e.Why
}

// andList joins clauses: "a, b and c".
func andList(parts []string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1]
}

func agree(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
