package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// HeadStandWords says how firmly a pick stands: "Stands in 87 of 100 draws with drift,
// depth and drag as uncertain as they are; else 1/2 oz. A drift above 0.58 mph, or fish
// below 27 ft, wants 1/2 oz; up to 0.41 mph 1/4 oz would do." Limits are rounded to the
// safe side. It says only what is known, and returns "" for a choice without a pick.
func HeadStandWords(c spatial.HeadChoice, u si.System) string {
	if !c.Picked {
		return ""
	}
	var sentences []string
	for _, s := range []string{shareWords(c, u), edgeWords(c, u)} {
		if s != "" {
			sentences = append(sentences, s)
		}
	}
	return strings.Join(sentences, " ")
}

// shareWords says in how many draws the pick is the pick, and what most others pick.
func shareWords(c spatial.HeadChoice, u si.System) string {
	s := c.Stand
	if !s.Share.OK {
		return ""
	}
	const as = " with drift, depth and drag as uncertain as they are"
	if s.RivalShare <= 0 {
		return "Stands in every draw" + as + "."
	}
	// A share short of all never reads as all, nor one above none as none.
	of100 := int(math.Min(99, math.Round(100*s.Share.V)))
	share := strconv.Itoa(of100)
	if of100 < 1 {
		share = "fewer than 1"
	}
	rival := "none of the box would do"
	if s.Rival >= 0 && s.Rival < len(c.Trials) {
		rival = u.Mass(c.Trials[s.Rival].Head.MassKg)
	}
	other := "else "
	if s.Share.V+s.RivalShare < 0.995 {
		other = "else mostly "
	}
	return fmt.Sprintf("Stands in %s of 100 draws%s; %s%s.", share, as, other, rival)
}

// edgeWords says what drift or depth would change the pick.
func edgeWords(c spatial.HeadChoice, u si.System) string {
	s := c.Stand
	var heavier []string
	plural := true
	if v, ok := floorTo(s.HeavierFromMPS, speedStepMPS(u)); ok {
		heavier, plural = append(heavier, "a drift above "+u.SpeedFine(v)), false
	}
	if words := depthEdge(s.HeavierFromM, c.DepthM, u); words != "" {
		heavier = append(heavier, "fish below "+words)
	}
	var parts []string
	switch len(heavier) {
	case 1:
		parts = append(parts, heavier[0]+" "+heavierWords(c, plural, u))
	case 2:
		parts = append(parts, heavier[0]+", or "+heavier[1]+", "+heavierWords(c, plural, u))
	}
	if c.Pick > 0 && c.Pick < len(c.Trials) {
		next := u.Mass(c.Trials[c.Pick-1].Head.MassKg)
		if v, ok := floorTo(s.LighterToMPS, speedStepMPS(u)); ok {
			parts = append(parts, "up to "+u.SpeedFine(v)+" "+next+" would do")
		} else if words := depthEdge(s.LighterToM, c.DepthM, u); words != "" {
			parts = append(parts, "over fish down to "+words+" "+next+" would do")
		}
	}
	if len(parts) == 0 {
		return ""
	}
	words := strings.Join(parts, "; ")
	return strings.ToUpper(words[:1]) + words[1:] + "."
}

// heavierWords says what takes over from the pick in a faster drift or greater depth: the
// next of the box, when it beats the pick in both limits. A thicker line can make it
// worse; then which one takes over isn't known.
func heavierWords(c spatial.HeadChoice, plural bool, u si.System) string {
	verb, be := "wants ", "is "
	if plural {
		verb, be = "want ", "are "
	}
	switch next := c.Pick + 1; {
	case next >= len(c.Trials):
		return be + "too much for the box"
	case beats(c.Trials[next], c.Trials[c.Pick]):
		return verb + u.Mass(c.Trials[next].Head.MassKg)
	}
	return verb + "a heavier head"
}

// beats reports whether one trial is no worse than another in sink time and in angle.
func beats(a, b spatial.HeadTrial) bool {
	if a.SinkS > b.SinkS {
		return false
	}
	return a.AngleDeg.OK && b.AngleDeg.OK && a.AngleDeg.V <= b.AngleDeg.V
}

// speedStepMPS is what SpeedFine prints to.
func speedStepMPS(u si.System) float64 {
	if u == si.Metric {
		return 0.001
	}
	return si.MPHMPS / 100
}

// depthEdge prints a limit of depth, rounded down; finer where whole steps would put it
// on the other side of the depth that the choice was made for. It returns "" when
// unknown, or less than a step.
func depthEdge(m, atM ingest.Maybe, u si.System) string {
	step, fine := si.FootM, si.FootM/10
	if u == si.Metric {
		step, fine = 0.1, 0.01
	}
	v, ok := floorTo(m, step)
	if ok && (!atM.OK || v >= atM.V || m.V < atM.V) {
		return u.Depth(v)
	}
	if v, ok = floorTo(m, fine); ok {
		return FineDepth(v, u)
	}
	return ""
}

// SinkDragWords says what sink times rest on: the usual figure, or a person's countdowns
// with the standard error in percent of the time. The time goes with the root of the drag
// area, so its error is half the area's.
func SinkDragWords(s spatial.SinkDrag) string {
	if s.Countdowns <= 0 {
		const usual = "Sink times rest on the usual drag of a trailer: "
		if s.CountdownsOff > 0 {
			return usual + Plural(s.CountdownsOff, "countdown that contradicts the others was", "countdowns that contradict each other were") + " left out."
		}
		return usual + "no countdown was given."
	}
	words := "Sink times rest on " + Plural(s.Countdowns, "countdown")
	if s.PerLength2SD.OK && s.PerLength2 > 0 {
		words += " (± " + percent(s.PerLength2SD.V/s.PerLength2/2) + ", standard error)"
	}
	if s.CountdownsOff > 0 {
		words += "; " + Plural(s.CountdownsOff, "that contradicts them was", "that contradict them were") + " left out"
	}
	return words + "."
}

// percent prints a share as "4 %", small ones with a decimal.
func percent(share float64) string {
	decimals := 0
	if v := 100 * share; v > 0 && v < 1 {
		decimals = 1
	}
	return strconv.FormatFloat(100*share, 'f', decimals, 64) + " %"
}

// CycleWords prints the seconds a fish takes at best, "52 s", or a dash when they were
// not worked out.
func CycleWords(t spatial.HeadTrial) string {
	if t.CycleS <= 0 {
		return "–"
	}
	return seconds(t.CycleS)
}

// ReelWords prints the fastest retrieve of a trial of c that stays in the band, rounded down: "0.76 mph";
// "none" where no retrieve does, "any" where every one does, since the fish come up to the surface.
func ReelWords(c spatial.HeadChoice, t spatial.HeadTrial, u si.System) string {
	if top := c.KeepBelowM(); top.OK && top.V <= 0 {
		return "any"
	}
	v, ok := floorTo(t.ReelMPS, speedStepMPS(u))
	if !ok {
		return "none"
	}
	return u.SpeedFine(v)
}

// LineWords names a line with its leader: "50 lb braid, 3 ft of 12 lb fluorocarbon".
func LineWords(l ingest.Line, u si.System) string {
	if l.Leader == nil {
		return l.Name
	}
	return l.Name + ", " + u.Depth(l.Leader.LengthM) + " of " + l.Leader.Name
}

// VerdictWords says which limits a head meets: "meets both", "too slow, too slanted".
func VerdictWords(t spatial.HeadTrial, picked bool) string {
	switch {
	case picked:
		return "lightest that meets both"
	case t.Meets():
		return "meets both"
	case !t.Holds && !t.MeetsSink:
		return "too slow, can't hold the depth"
	case !t.Holds:
		return "can't hold the depth"
	case !t.MeetsSink && !t.MeetsAngle:
		return "too slow, too slanted"
	case !t.MeetsSink:
		return "too slow"
	}
	return "too slanted"
}
