package export

import (
	"leadline/ingest/si"
	"leadline/spatial"
)

// AdviceHeading stands above every list of advice.
const AdviceHeading = "Common practice, not computed"

// lightBy is how much more drift than that of a choice may want a heavier head before the
// pick counts as light for the drift. Passes over one line differ by about as much; a
// larger share calls more picks light, and nothing else moves.
const lightBy = 0.15

// An AdviceLine is one piece of common practice that goes with a zone, and its reason.
type AdviceLine struct{ What, Why string }

// Advice returns what the trade would do at a zone: the head's shape, blade, hook and
// line, four lines at most. None of it is computed or has a source (common practice, no
// source); what the records don't tell, such as how clear the water is, stands as a
// condition. A current counts when it was taken off the drift, or the leeway tells it
// apart from none.
func Advice(z spatial.Zone, l spatial.Leeway, u si.System) []AdviceLine {
	out := []AdviceLine{
		shapeAdvice(z.Head, l, u),
		{"Silver blade in clear water, gold in murky; blade and trailer near the size of the bait seen", "the records hold neither the water's clarity nor the bait's size"},
		{"Weedless hook in wood, grass or docks", "it hangs up less; the records don't tell where they stand"},
	}
	if t, ok := z.Head.Chosen(); ok && t.Line.Name != "" {
		out = append(out, AdviceLine{LineWords(t.Line, u) + " for " + u.Mass(t.Head.MassKg), "line goes by the head; thinner drags less"})
	}
	return out
}

func shapeAdvice(c spatial.HeadChoice, l spatial.Leeway, u si.System) AdviceLine {
	const round = "Round, steady head"
	t, picked := c.Chosen()
	switch {
	case c.CurrentMPS.OK:
		return AdviceLine{round, "a current of " + u.SpeedFine(c.CurrentMPS.V) + " runs"}
	case l.OK && l.CurrentMPS.OK && l.CurrentTowardDeg.OK:
		return AdviceLine{round, "a current of " + u.SpeedFine(l.CurrentMPS.V) + " runs"}
	case len(c.Missing) == 0 && len(c.Trials) > 0 && !picked:
		return AdviceLine{round, "every head of the box is light for this drift"}
	case picked && light(c):
		return AdviceLine{round, u.Mass(t.Head.MassKg) + " is light for this drift"}
	case picked:
		return AdviceLine{"Thin, rocking head in open still water, round and steady in current", u.Mass(t.Head.MassKg) + " has weight to spare for this drift"}
	}
	return AdviceLine{"Thin, rocking head in open still water, round and steady in current", "a steady head stays down where the water pulls at it"}
}

// light reports whether a little more drift would want a heavier head.
func light(c spatial.HeadChoice) bool {
	from := c.Stand.HeavierFromMPS
	return c.Close || from.OK && c.SpeedMPS.OK && from.V <= (1+lightBy)*c.SpeedMPS.V
}
