package export

import (
	"fmt"
	"math"
	"strings"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// WaterWords says what was taken of the water that the line hangs in: "Still water was
// assumed.", or the current that was taken off the drift, or what it does at the fish.
func WaterWords(c spatial.HeadChoice, u si.System) string {
	var words []string
	if c.CurrentMPS.OK {
		words = append(words, "A current of "+u.SpeedFine(c.CurrentMPS.V)+" was taken off the drift over ground.")
	}
	if v := c.DeepMPS; v.OK {
		way := ""
		if v.V < 0 {
			way = ", the other way"
		}
		words = append(words, "At the fish the water goes past at "+u.SpeedFine(math.Abs(v.V))+way+".")
	}
	if len(words) == 0 {
		return "Still water was assumed."
	}
	return strings.Join(words, " ")
}

// HeadWhy returns two lines of plain words on a choice of head. Of a picked head:
// what it does and why the next lighter one won't; then how firmly it stands, and
// what its sink time rests on. Where none meets the limits: which limit, and the
// nearest ways out, each rounded to the safe side. Where the choice could not be
// made: what was missing and what would give it.
func HeadWhy(c spatial.HeadChoice, u si.System) string {
	switch {
	case len(c.Missing) > 0:
		return missingWhy(c.Missing)
	case len(c.Trials) == 0:
		return "No head was worked out: the box holds none.\nList the heads of the box in the boat file."
	case c.Picked:
		return pickedWhy(c, u)
	}
	return noneWhy(c, u)
}

func missingWhy(missing []string) string {
	verb := "is"
	if len(missing) > 1 {
		verb = "are"
	}
	var help []string
	for _, m := range missing {
		switch m {
		case "fish depth":
			help = append(help, "the depth of the fish, noted with a catch")
		case "drift speed":
			help = append(help, "a track with times from a drift that caught fish here")
		default:
			help = append(help, "the "+m)
		}
	}
	return fmt.Sprintf("No head was worked out: the %s %s not known here.\nNeeded: %s.",
		strings.Join(missing, " and the "), verb, strings.Join(help, ", and "))
}

func pickedWhy(c spatial.HeadChoice, u si.System) string {
	t := c.Trials[c.Pick]
	speed := u.Speed
	if c.Stand.HeavierFromMPS.OK || c.Stand.LighterToMPS.OK {
		speed = u.SpeedFine // as the limits that follow, else they may read as passed already
	}
	first := fmt.Sprintf("%s is the lightest head of the box that meets both limits%s: down in %s",
		u.Mass(t.Head.MassKg), setting(c, u.Depth, speed), seconds(t.SinkS))
	if t.LineOutM.OK {
		first += ", " + u.Depth(t.LineOutM.V) + " of line out"
	}
	if t.AngleDeg.OK {
		first += fmt.Sprintf(", line %.0f° from vertical at the rod", t.AngleDeg.V)
	}
	first += ". "
	if c.Pick > 0 {
		lighter := c.Trials[c.Pick-1]
		first += fmt.Sprintf("The next lighter, %s, %s.", u.Mass(lighter.Head.MassKg), shortfall(lighter, c))
	} else {
		first += "No lighter head is in the box."
	}
	var second []string
	if words := HeadStandWords(c, u); words != "" {
		second = append(second, words)
	}
	if c.Close {
		second = append(second, "It is close: 2 % more or less depth or speed would change the pick.")
	}
	return first + "\n" + strings.Join(append(second, WaterWords(c, u), SinkDragWords(c.Sink)), " ")
}

func noneWhy(c spatial.HeadChoice, u si.System) string {
	heaviest := c.Trials[len(c.Trials)-1]
	first := fmt.Sprintf("No head of the box meets both limits%s: even %s %s.",
		setting(c, u.Depth, u.SpeedFine), u.Mass(heaviest.Head.MassKg), shortfall(heaviest, c))
	second := "Neither a slower drift, nor less depth, nor thinner line alone would do."
	if words := WayOutWords(c, u); words != "" {
		second = words + "."
	}
	return first + "\n" + second + " " + WaterWords(c, u) + " " + SinkDragWords(c.Sink)
}

// WayOutWords says what would let the heaviest head do where none does: "1 oz would do with a drift no faster than 0.5 mph";
// empty where a head was picked, or nothing would.
func WayOutWords(c spatial.HeadChoice, u si.System) string {
	if c.Picked || len(c.Trials) == 0 {
		return ""
	}
	// A drift slower than this is no drift, and no way out.
	slowest := si.MPHMPS / 10
	depthStep := si.FootM
	if u == si.Metric {
		depthStep = 0.1
	}
	var ways []string
	if v, ok := floorTo(c.WayOutSpeedMPS, speedStepMPS(u)); ok && v >= slowest {
		ways = append(ways, "a drift no faster than "+u.SpeedFine(v))
	}
	if v, ok := floorTo(c.WayOutDepthM, depthStep); ok {
		ways = append(ways, "fish no deeper than "+u.Depth(v))
	}
	if v, ok := floorTo(c.WayOutLineM, 1e-5); ok {
		ways = append(ways, fmt.Sprintf("line no thicker than %.2f mm", v*1000))
	}
	if len(ways) == 0 {
		return ""
	}
	return fmt.Sprintf("%s would do with %s", u.Mass(c.Trials[len(c.Trials)-1].Head.MassKg), strings.Join(ways, ", or "))
}

// setting returns " at 24 ft in a drift of 0.5 mph", as far as it is known.
func setting(c spatial.HeadChoice, depth, speed func(float64) string) string {
	s := ""
	if c.DepthM.OK {
		s += " at " + depth(c.DepthM.V)
	}
	if c.SpeedMPS.OK {
		s += " in a drift of " + speed(c.SpeedMPS.V)
		if c.CurrentMPS.OK {
			s += " through the water"
		}
	}
	return s
}

// shortfall says how a head misses the limits, the deciding one first. Where the
// choice is close, figures have a decimal more: else a head would be said to miss
// a limit by nothing.
func shortfall(t spatial.HeadTrial, c spatial.HeadChoice) string {
	decimals := 0
	if c.Close {
		decimals = 1
	}
	decided := c.Decided
	slow := fmt.Sprintf("is too slow, %.*f s down", decimals, t.SinkS)
	var slant string
	switch {
	case !t.Holds:
		slant = "can't hold that depth with any sensible length of line"
	case t.AngleDeg.OK:
		slant = fmt.Sprintf("leaves the line too slanted, %.*f° from vertical", decimals, t.AngleDeg.V)
	default:
		slant = "leaves the line too slanted"
	}
	switch {
	case !t.MeetsSink && !t.MeetsAngle && decided == spatial.AngleLimit:
		return slant + ", and " + slow
	case !t.MeetsSink && !t.MeetsAngle:
		return slow + ", and " + slant
	case !t.MeetsAngle:
		return slant
	}
	return slow
}

func seconds(s float64) string {
	return fmt.Sprintf("%.0f s", s)
}

// floorTo rounds down to whole steps, so that a limit printed in the person's
// units is still within the limit. ok is false when unknown, or less than a step.
func floorTo(m ingest.Maybe, step float64) (v float64, ok bool) {
	if !m.OK {
		return 0, false
	}
	n := math.Floor(m.V/step + 1e-9)
	return n * step, n >= 1
}
