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

// DriftsAsMade goes with drift speeds where it isn't known how the boat drifts in wind.
const DriftsAsMade = "Drift speeds are those of the passes as they were made; nothing is said of other winds."

// LeewayWords says how the boat drifts in wind: "The boat drifts at 5.1 % of the
// wind's speed (4.6 to 5.7), 6° to the right of downwind (2 to 10)." Where that isn't
// known it says why, and what the drift speeds then are.
func LeewayWords(l spatial.Leeway) string {
	if !l.OK {
		return "How the boat drifts in wind is not known" + because(l.Why) + ". " + DriftsAsMade
	}
	percent := func(v float64) string { return strconv.FormatFloat(100*v, 'f', 1, 64) }
	return fmt.Sprintf("The boat drifts at %s %% of the wind's speed (%s to %s), %s.",
		percent(l.PerWind), percent(l.PerWindLow), percent(l.PerWindHigh), angleWords(l))
}

// angleWords prints the leeway angle with its limits: "6° to the right of downwind
// (2 to 10)". Limits to either side each name theirs: "(2° left to 8° right)".
func angleWords(l spatial.Leeway) string {
	deg, low, high := whole(l.AngleDeg), whole(l.AngleLowDeg), whole(l.AngleHighDeg)
	words := "straight downwind"
	switch {
	case deg > 0:
		words = fmt.Sprintf("%d° to the right of downwind", deg)
	case deg < 0:
		words = fmt.Sprintf("%d° to the left of downwind", -deg)
	}
	switch {
	case deg > 0 && low >= 0:
		return fmt.Sprintf("%s (%d to %d)", words, low, high)
	case deg < 0 && high <= 0:
		return fmt.Sprintf("%s (%d to %d)", words, -high, -low)
	}
	side := func(deg int) string {
		switch {
		case deg > 0:
			return fmt.Sprintf("%d° right", deg)
		case deg < 0:
			return fmt.Sprintf("%d° left", -deg)
		}
		return "0°"
	}
	return fmt.Sprintf("%s (%s to %s)", words, side(low), side(high))
}

func whole(v float64) int { return int(math.Round(v)) }

// CurrentWords says what is known of a steady current: "A steady current of 0.10 mph
// toward ENE (± 0.05)." It returns "" where nothing is known of drifting in wind.
func CurrentWords(l spatial.Leeway, u si.System) string {
	switch c := l.CurrentMPS; {
	case !l.OK:
		return ""
	case !c.OK:
		return "Whether a steady current runs is not known" + because(l.CurrentWhy) + "."
	case !l.CurrentTowardDeg.OK && l.CurrentU95MPS.OK:
		return fmt.Sprintf("No steady current shows: %s ± %s may be none.", u.SpeedFine(c.V), u.SpeedFine(l.CurrentU95MPS.V))
	case !l.CurrentTowardDeg.OK:
		return "No steady current shows."
	}
	words := "A steady current of " + u.SpeedFine(l.CurrentMPS.V) + " toward " + si.Compass(l.CurrentTowardDeg.V)
	if l.CurrentU95MPS.OK {
		words += " (± " + number(u.SpeedFine(l.CurrentU95MPS.V)) + ")"
	}
	return words + "."
}

// ScatterWords says by how much one pass differs from the rule, and what the rule was
// learned from. It returns "" where there is no rule.
func ScatterWords(l spatial.Leeway, u si.System) string {
	if !l.OK {
		return ""
	}
	return fmt.Sprintf("One pass differs from that by %s along the drift, and as much across it (standard deviation). It was learned from %s with a wind, on %s; limits hold 95 times in 100.",
		u.SpeedFine(l.ScatterMPS), Plural(l.Passes, "pass", "passes"), Plural(l.Days, "day"))
}

// WindWords prints a wind: "10 mph from NW".
func WindWords(mps, fromDeg float64, u si.System) string {
	v, unit := mps/si.MPHMPS, " mph"
	if u == si.Metric {
		v, unit = mps, " m/s"
	}
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") + unit + " from " + si.Compass(fromDeg)
}

// ForecastWords says what drift to expect: "In 10 mph from NW: 0.5 mph (0.4 to 0.7)
// toward SE (134°), give or take 12°." Where it can't be told, or is told beyond what
// was learned, it says why. It returns "" when no wind was asked about.
func ForecastWords(f *spatial.Forecast, u si.System) string {
	if f == nil {
		return ""
	}
	wind := WindWords(f.WindMPS, f.WindFromDeg, u)
	if !f.SpeedMPS.OK {
		return "In " + wind + " the drift is not known" + because(f.Why) + "."
	}
	words := "In " + wind + ": " + u.Speed(f.SpeedMPS.V)
	if f.LowMPS.OK && f.HighMPS.OK {
		words = "In " + wind + ": " + SpeedSpread(f.SpeedMPS.V, f.LowMPS.V, f.HighMPS.V, u)
	}
	switch {
	case !f.TowardDeg.OK:
		words += ", which way is not known"
	case f.TowardU95Deg.OK:
		words += fmt.Sprintf(" toward %s, give or take %.0f°", bearing(f.TowardDeg.V), f.TowardU95Deg.V)
	default:
		words += " toward " + bearing(f.TowardDeg.V) + ", but it may go any way"
	}
	words += "."
	if f.Beyond {
		words += " That wind is outside what was learned from" + because(f.Why) + "."
	}
	return words
}

// bearing prints a direction by its name and in degrees, where the name alone is too
// coarse: "SE (131°)".
func bearing(deg float64) string {
	return fmt.Sprintf("%s (%d°)", si.Compass(deg), (whole(deg)%360+360)%360)
}

// ForecastHeadWords says which head the forecast's drift wants at a zone: "in 10 mph
// from NW: 1/2 oz, down in 14 s; drift 0.5 mph toward SE". It returns "" when no wind
// was asked about, or its drift can't be told.
func ForecastHeadWords(z spatial.Zone, f *spatial.Forecast, u si.System) string {
	if z.ForecastHead == nil || f == nil {
		return ""
	}
	words := "in " + WindWords(f.WindMPS, f.WindFromDeg, u) + ": "
	if t, ok := z.ForecastHead.Chosen(); ok {
		words += u.Mass(t.Head.MassKg) + ", down in " + seconds(t.SinkS)
	} else {
		words += NoHeadWords(*z.ForecastHead)
	}
	toward := ingest.Maybe{}
	if f.TowardU95Deg.OK {
		toward = f.TowardDeg
	}
	if drift := DriftWords(f.SpeedMPS, toward, u); drift != "" {
		words += "; drift " + drift
	}
	return words
}

// NoHeadWords says in a few words why no head was chosen: "no fish depth", "none in the
// box will do".
func NoHeadWords(c spatial.HeadChoice) string {
	if len(c.Missing) > 0 {
		return "no " + strings.Join(c.Missing, ", no ")
	}
	return "none in the box will do"
}

// because turns a clause into the end of a sentence without its full stop: ": only one
// day had a wind"; "" for none.
func because(why string) string {
	if why = strings.TrimSuffix(strings.TrimSpace(why), "."); why == "" {
		return ""
	}
	return ": " + why
}
