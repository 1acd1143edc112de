package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Unknown is what a person reads where a value can't be known.
const Unknown = "not known"

// A Fact is one line of a table that a person reads.
type Fact struct{ Label, Value string }

// ZoneFacts returns what is known of a zone, in the person's units, in the order
// in which it is wanted on the water. What can't be known says so. The head for a
// forecast is there only when a wind was asked about; nil is none.
func ZoneFacts(z spatial.Zone, f *spatial.Forecast, u si.System) []Fact {
	fish := Unknown
	if z.FishTopM.OK && z.FishBottomM.OK {
		fish = DepthRange(z.FishTopM.V, z.FishBottomM.V, u)
		switch {
		case z.FishU95M.OK:
			fish += fmt.Sprintf(" (middle ± %s, %s)", FineDepth(z.FishU95M.V, u), Plural(z.FishNoted, "note"))
		case z.FishNoted > 0:
			fish += " (" + Plural(z.FishNoted, "note") + ")"
		}
	}
	bottom := depth(z.BottomM, u)
	if z.BottomM.OK && z.BottomU95M.OK {
		bottom += " ± " + FineDepth(z.BottomU95M.V, u)
	}
	drift := orUnknown(DriftWords(z.DriftMPS, z.DriftTowardDeg, u))
	if z.DriftMPS.OK && z.DriftPasses > 0 {
		drift += " (" + Plural(z.DriftPasses, "pass", "passes") + ")"
	}
	head := "none chosen"
	if t, ok := z.Head.Chosen(); ok {
		head = u.Mass(t.Head.MassKg)
	}
	facts := []Fact{
		{"Head", head},
		{"Fish", fish + layerWords(z.Layer)},
		{"Bottom", bottom},
		{"Structure", StructureWords(z)},
		{"Break", BreakWords(z.Break, u)},
		{"Stand", orUnknown(StandWords(z.Stand, u))},
		{"Hours", orUnknown(HourWords(z.HourFrom, z.HourTo))},
		{"Window", WindowWords(z.Window, false)},
		{"Drift", drift},
	}
	if words := ForecastHeadWords(z, f, u); words != "" {
		facts = append(facts, Fact{"Forecast", words})
	}
	facts = append(facts,
		Fact{"Rate", orUnknown(RateWords(z.Rate))},
		Fact{"Likely", LikelyWords(z)},
		Fact{"Chance", ChanceWords(z)},
		Fact{"Seen", SeenWords(z)},
		Fact{"Fished", hours(z.EffortH)},
		Fact{"Centre", MoveWords(z, u)},
	)
	if z.TempC.OK {
		facts = append(facts, Fact{"Water", u.Temp(z.TempC.V)})
	}
	return facts
}

// layerWords says that another school shares the place.
func layerWords(layer string) string {
	if layer == "" {
		return ""
	}
	return ", the " + layer + " of two schools at this place"
}

// LikelyWords says what rate to count on: drawn towards the lake's as far as the zone's few
// hours demand.
func LikelyWords(z spatial.Zone) string {
	if !z.ShrunkPerH.OK {
		return Unknown
	}
	return PerHour(z.ShrunkPerH.V) + " an hour, beside the lake's other places"
}

// StructureWords says what a zone's bottom is made of: "ledge 60 %, flat 30 %".
func StructureWords(z spatial.Zone) string {
	if len(z.Structures) == 0 {
		return orUnknown(z.Structure)
	}
	const tooLittle = 0.1 // of a zone, to be worth a word
	var parts []string
	for i, s := range z.Structures {
		if i > 0 && s.Share < tooLittle {
			break
		}
		parts = append(parts, fmt.Sprintf("%s %.0f %%", s.Kind, 100*s.Share))
	}
	return strings.Join(parts, ", ")
}

// BreakWords says where the nearest break is: "40 yd toward NE, falls from 14 to 22 ft".
func BreakWords(b *spatial.Break, u si.System) string {
	if b == nil {
		return "none known near"
	}
	falls := "depths not known"
	switch top, foot := b.TopM, b.BottomM; {
	case top.OK && foot.OK:
		falls = "falls from " + DepthRange(top.V, foot.V, u)
	case top.OK:
		falls = "falls from " + u.Depth(top.V)
	case foot.OK:
		falls = "falls to " + u.Depth(foot.V)
	}
	if b.DistM == 0 {
		return "in its middle, " + falls
	}
	return u.Distance(b.DistM) + " toward " + si.Compass(b.TowardDeg) + ", " + falls
}

// MoveWords says whether a zone's centre moves through the season.
func MoveWords(z spatial.Zone, u si.System) string {
	m := z.ByDay
	switch {
	case z.Days == 0:
		return Unknown
	case z.Days == 1:
		return "seen on one day only"
	case !m.OK:
		return fmt.Sprintf("seen on %d days, too few to say whether it moves", z.Days)
	case !m.Sure:
		return fmt.Sprintf("no move that %d days could tell", m.Days)
	}
	return fmt.Sprintf("moves %s a week toward %s", u.Distance(7*m.M), si.Compass(m.TowardDeg))
}

// FineDepth prints a difference of depths, finer than a depth is printed: "0.6 ft".
func FineDepth(m float64, u si.System) string {
	if u == si.Metric {
		return strconv.FormatFloat(m, 'f', 2, 64) + " m"
	}
	return strconv.FormatFloat(m/si.FootM, 'f', 1, 64) + " ft"
}

// ShiftWords says how a day's depths came to the chart's level.
func ShiftWords(s spatial.DayShift, u si.System) string {
	switch s.From {
	case spatial.ByLevel:
		return "its water level"
	case spatial.ByOverlap:
		words := "shared water, " + signed(s.M, u)
		if s.ErrorM.OK {
			words += " ± " + FineDepth(s.ErrorM.V, u)
		}
		if s.SpreadM.OK {
			words += fmt.Sprintf(" (%s, spread %s)", Plural(s.Cells, "cell"), FineDepth(s.SpreadM.V, u))
		}
		return words
	}
	return "nothing, as sounded"
}

func signed(m float64, u si.System) string {
	if m < 0 {
		return "-" + FineDepth(-m, u)
	}
	return "+" + FineDepth(m, u)
}

// ChanceWords says how likely even fishing would look like the zone.
func ChanceWords(z spatial.Zone) string {
	switch {
	case !z.PValue.OK:
		return "too little to tell it from luck"
	case z.Proven:
		return "p = " + PWords(z.PValue.V) + ", proven"
	}
	return "p = " + PWords(z.PValue.V) + ", may be luck"
}

// PWords prints a p-value with two figures: "0.013".
func PWords(p float64) string {
	return strconv.FormatFloat(p, 'g', 2, 64)
}

// SeenWords counts a zone's events, fish and days.
func SeenWords(z spatial.Zone) string {
	return fmt.Sprintf("%s, %s, %d fish landed", Plural(z.Events, "event"), Plural(z.Days, "day"), z.Catches)
}

// BandFacts is ZoneFacts for a depth band.
func BandFacts(b spatial.Band, u si.System) []Fact {
	facts := []Fact{
		{"Bottom", u.DepthRange(b.TopM, b.BottomM)},
		{"Events", Count(b.Events)},
		{"Fished", hours(ingest.Known(b.EffortH))},
		{"Rate", orUnknown(RateWords(b.Rate))},
		{"Preference", PreferenceWords(b)},
	}
	if b.Thin {
		facts = append(facts, Fact{"Note", "fished too little for the rate to mean much"})
	}
	return facts
}

// SelectionWords prints a band's share of events over its share of hours: "1.5 ×".
func SelectionWords(s ingest.Maybe) string {
	if !s.OK {
		return Unknown
	}
	return strconv.FormatFloat(s.V, 'f', 1, 64) + " ×"
}

// EventFacts is ZoneFacts for an event, its time by the zone's clock; nil is UTC.
func EventFacts(e spatial.EventMark, zone *time.Location, u si.System) []Fact {
	at := Unknown
	if !e.Time.IsZero() {
		at = e.Time.In(Clock(zone)).Format("2006-01-02 15:04")
	}
	return []Fact{
		{"What", EventWord(e.Kind)},
		{"Species", orUnknown(e.Species)},
		{"Count", Count(e.Count)},
		{"Time", at},
		{"Fish", depth(e.FishM, u)},
		{"Bottom", depth(e.BottomM, u)},
		{"Zone", orNone(e.Zone)},
	}
}

func depth(m ingest.Maybe, u si.System) string {
	if !m.OK {
		return Unknown
	}
	return u.Depth(m.V)
}

func hours(m ingest.Maybe) string {
	if !m.OK {
		return Unknown
	}
	return Hours(m.V)
}

// Hours prints a number of hours: "6.4 h".
func Hours(h float64) string { return strconv.FormatFloat(h, 'f', 1, 64) + " h" }

func orUnknown(s string) string {
	if s == "" {
		return Unknown
	}
	return s
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// ClockWords says how a file's clock stands and what was done about it, in words
// that follow "the clock", or "" when there is nothing to say.
func ClockWords(s ingest.Source) string {
	if s.Clock == "" && s.ClockOffsetS.OK && s.ClockOffsetS.V != 0 {
		return "was moved by " + Seconds(s.ClockOffsetS.V)
	}
	return s.Clock
}

// Seconds prints a signed number of seconds: "+37 s", "-3,600 s", "+0.5 s".
func Seconds(s float64) string {
	sign := "+"
	if s < 0 {
		sign, s = "-", -s
	}
	whole := math.Floor(s + 1e-9)
	if s-whole > 0.05 {
		return sign + Count(int(whole)) + strings.TrimPrefix(strconv.FormatFloat(s-whole, 'f', 1, 64), "0") + " s"
	}
	return sign + Count(int(whole)) + " s"
}

// PreferenceWords prints a band's preference with its limits: "1.5 × (1.1 to 2.0)".
func PreferenceWords(b spatial.Band) string {
	words := SelectionWords(b.Selection)
	if b.Selection.OK && b.SelectionLow.OK && b.SelectionHigh.OK {
		words += " (" + strconv.FormatFloat(b.SelectionLow.V, 'f', 1, 64) + " to " + strconv.FormatFloat(b.SelectionHigh.V, 'f', 1, 64) + ")"
	}
	return words
}

// StandWords says how fish stood above the bottom: "9 suspended, 3 on the bottom, the
// middle one 6 ft above it"; empty when it is known of none.
func StandWords(s spatial.Stand, u si.System) string {
	if !s.MedianM.OK {
		return ""
	}
	words := fmt.Sprintf("%d suspended, %d on the bottom, the middle one %s above it", s.Suspended, s.OnBottom, FineDepth(s.MedianM.V, u))
	if s.Unknown > 0 {
		words += fmt.Sprintf(" (%d not known)", s.Unknown)
	}
	return words
}

// HourName names an hour of the day, "07 to 08", or after sunrise, "1 to 2 h".
func HourName(h spatial.Hour, afterSunrise bool) string {
	if afterSunrise {
		return fmt.Sprintf("%.0f to %.0f h", h.From, h.To)
	}
	return HourWords(ingest.Known(h.From), ingest.Known(h.To))
}

// WindowWords says which hours stand out.
func WindowWords(w *spatial.Window, afterSunrise bool) string {
	if w == nil {
		return "no hours stand out"
	}
	when := HourWords(ingest.Known(w.From), ingest.Known(w.To))
	if afterSunrise {
		when = fmt.Sprintf("%.1f to %.1f h after sunrise", w.From, w.To)
	}
	return fmt.Sprintf("%s stand out: %s an hour, %s in the rest", when, PerHour(w.Rate.PerH), PerHour(w.Rest.PerH))
}

// FishedWords says how much water was in reach of a cast for how long: "12 acres for 15 to
// 30 min, 3.1 acres for 1 to 2 h"; empty when none was for a quarter of an hour.
func FishedWords(areas []spatial.FishedArea, u si.System) string {
	var parts []string
	for _, a := range areas {
		words := u.Area(a.AreaM2) + " for "
		switch {
		case math.IsInf(a.ToH, 1):
			words += fmt.Sprintf("%g h or more", a.FromH)
		case a.FromH < 1:
			words += fmt.Sprintf("%g to %g min", 60*a.FromH, 60*a.ToH)
		default:
			words += fmt.Sprintf("%g to %g h", a.FromH, a.ToH)
		}
		parts = append(parts, words)
	}
	return strings.Join(parts, ", ")
}
