package export

import (
	"fmt"
	"strings"

	"leadline/ingest/si"
	"leadline/spatial"
)

// SpeedSpread prints a speed with the range about it, all in one unit: "0.5 mph
// (0.4 to 0.6)". A range that reads like the speed itself is left out.
func SpeedSpread(mps, lowMPS, highMPS float64, u si.System) string {
	speed, low, high := u.Speed(mps), u.Speed(lowMPS), u.Speed(highMPS)
	if low == speed && high == speed {
		return speed
	}
	return fmt.Sprintf("%s (%s to %s)", speed, number(low), number(high))
}

// PerPassWords prints events a pass with their 90 % interval: "1.6 a pass (1.0 to
// 2.3)". It returns "" when the rate is unknown.
func PerPassWords(r spatial.Rate) string { return rateWords(r, "a pass") }

// DriftFacts is ZoneFacts for a drift line.
func DriftFacts(d spatial.DriftLine, u si.System) []Fact {
	return []Fact{
		{"Drift", SpeedSpread(d.SpeedMPS, d.SpeedLowMPS, d.SpeedHighMPS, u) + " toward " + si.Compass(d.TowardDeg)},
		{"Length", u.Distance(d.LengthM)},
		{"Passes", fmt.Sprintf("%s on %s, within %s to either side", Plural(d.Passes, "pass", "passes"), Plural(d.Days, "day"), u.Distance(d.WidthM))},
		{"Fished", Hours(d.Hours)},
		{"Events", Count(d.Events)},
		{"A pass", orUnknown(PerPassWords(d.PerPass))},
		{"Rate", orUnknown(RateWords(d.Rate))},
		{"Best stretch", StretchWords(d, u)},
		{"Bottom", ProfileWords(d.Profile, u)},
	}
}

// StretchWords says where along a drift line the events lie, over what bottom, and
// what that stretch gave beside the rest: "from 40 to 95 yd along it, over 22 to 26
// ft: 8.1 an hour against 0.9 on the rest". Where none stands out it says so.
func StretchWords(d spatial.DriftLine, u si.System) string {
	if !d.ProductiveFromM.OK || !d.ProductiveToM.OK {
		if d.Events == 0 {
			return "nothing was caught or seen on it"
		}
		return "no stretch stands out"
	}
	from, to := u.Distance(d.ProductiveFromM.V), u.Distance(d.ProductiveToM.V)
	if short, unit, ok := strings.Cut(from, " "); ok && strings.HasSuffix(to, " "+unit) {
		from = short
	}
	words := "from " + from + " to " + to + " along it"
	s := d.Stretch
	if s == nil {
		return words
	}
	if s.TopM.OK && s.BottomM.OK {
		words += ", over " + DepthRange(s.TopM.V, s.BottomM.V, u)
	} else {
		words += ", over bottom that was never sounded"
	}
	if s.Rate.OK {
		words += ": " + PerHour(s.Rate.PerH) + " an hour"
		if s.Rest.OK {
			words += " against " + PerHour(s.Rest.PerH) + " on the rest"
		}
	}
	return words
}

// ProfileWords says how the bottom runs along a drift line: "26 ft at its start, 31
// ft at its end, 22 ft at the shallowest, 34 ft at the deepest". A start or an end
// of unknown depth says so, and so does a line without any.
func ProfileWords(profile []spatial.ProfilePoint, u si.System) string {
	known := 0
	var shallowM, deepM float64
	for _, p := range profile {
		if !p.DepthM.OK {
			continue
		}
		if known == 0 {
			shallowM, deepM = p.DepthM.V, p.DepthM.V
		}
		shallowM, deepM = min(shallowM, p.DepthM.V), max(deepM, p.DepthM.V)
		known++
	}
	if known == 0 {
		return "no depth is known along it"
	}
	end := func(p spatial.ProfilePoint, where string) string {
		if !p.DepthM.OK {
			return Unknown + " at its " + where
		}
		return u.Depth(p.DepthM.V) + " at its " + where
	}
	shallow, deep := u.Depth(shallowM), u.Depth(deepM)
	words := end(profile[0], "start") + ", " + end(profile[len(profile)-1], "end") + ", " + shallow + " at the shallowest, " + deep + " at the deepest"
	if shallow == deep {
		words = shallow + " all along it"
	}
	if unknown := len(profile) - known; unknown > 0 {
		words += fmt.Sprintf("; not sounded along %.0f %% of it", max(1, 100*float64(unknown)/float64(len(profile))))
	}
	return words
}

// number is a printed quantity without its unit.
func number(s string) string {
	n, _, _ := strings.Cut(s, " ")
	return n
}
