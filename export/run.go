package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The kinds of feature of a run, as the property kind spells them.
const (
	KindStop = "stop"
	KindLeg  = "leg"
)

// Decimals of what only a run has.
const (
	eventsDecimals  = 2 // events to expect
	minutesDecimals = 1
)

// fewEvents is what would read as none.
const fewEvents = 0.05

// The bites up to which a stop says when to leave it read as words.
var fewWords = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}

// RunClock prints an instant to the nearest minute of the zone's clock, "06:12"; nil
// is UTC. The zero time is not known.
func RunClock(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return Unknown
	}
	t = t.In(Clock(zone))
	return si.Clock(float64(t.Hour()) + float64(t.Minute())/60 + float64(t.Second())/3600)
}

// LeaveIfWords says when to give a stop up, in whole minutes since arrival: "no bite by
// 12 min, one by 21 min, two by 29 min". A bite is any event. It returns "" for a stop
// that is not to be given up early.
func LeaveIfWords(s spatial.RunStop) string {
	var parts []string
	for _, p := range s.LeaveIf {
		n := strconv.Itoa(p.Bites)
		if p.Bites >= 0 && p.Bites < len(fewWords) {
			n = fewWords[p.Bites]
		}
		if p.Bites == 0 {
			n += " bite"
		}
		parts = append(parts, fmt.Sprintf("%s by %.0f min", n, p.Minutes))
	}
	return strings.Join(parts, ", ")
}

// RunStopFacts returns what a stop is about, in the person's units: the fish and the
// bottom on the day, the drift, the wind, the head, and what to expect. Its hours are not
// in it. The zone is the stop's. What can't be known says so.
func RunStopFacts(s spatial.RunStop, z spatial.Zone, u si.System) []Fact {
	start := Unknown
	if driftKnown(s) {
		start = PositionWords(s.At)
	}
	wind := "no forecast"
	if s.Wind != nil {
		wind = WindWords(s.Wind.SpeedMPS, s.Wind.FromDeg, u)
	}
	head, down, out := NoHeadWords(s.Head), Unknown, Unknown
	if t, ok := s.Head.Chosen(); ok {
		head = u.Mass(t.Head.MassKg)
		if t.Line.Name != "" {
			head += " on " + LineWords(t.Line, u)
		}
		down = seconds(t.SinkS)
		if t.LineOutM.OK {
			out = u.Depth(t.LineOutM.V)
			if t.AngleDeg.OK {
				out += fmt.Sprintf(", %.0f° from vertical at the rod", t.AngleDeg.V)
			}
		}
	}
	fish := RunFishWords(s, u)
	if z.Layer != "" {
		fish += ";" + strings.TrimPrefix(layerWords(z.Layer), ",")
	}
	bottom := Unknown
	if s.BottomM.OK {
		bottom = u.Depth(s.BottomM.V) + " on the day"
	}
	if z.Structure != "" {
		bottom += ", " + z.Structure
	}
	return []Fact{
		{"Fish", fish},
		{"Bottom", bottom},
		{"Drift start", start},
		{"Drift", RunDriftWords(s, u)},
		{"Wind", wind},
		{"Head", head},
		{"Countdown", down},
		{"Line out", out},
		{"Expected", SpreadWords(s.Expected) + ", " + PerHour(s.PerH) + " an hour on arrival"},
		{"Leave if", orWords(LeaveIfWords(s), "nothing after it is worth leaving for")},
	}
}

// RunFishWords says how deep the fish of a stop are on the day, and how that was had from
// the depths noted: "18 to 22 ft under the surface on the day; fish keep to the bottom
// here, moved with the water level".
func RunFishWords(s spatial.RunStop, u si.System) string {
	if !s.FishTopM.OK || !s.FishBottomM.OK {
		return Unknown
	}
	words := DepthRange(s.FishTopM.V, s.FishBottomM.V, u) + " under the surface on the day; "
	switch s.FishBy {
	case "surface":
		return words + "fish keep their depth below the surface here, whatever the water level"
	case "bottom":
		return words + "fish keep to the bottom here, moved with the water level"
	}
	return words + "as noted, since no water level is known to move it by"
}

// RunDriftWords says how the boat drifts at a stop: "0.5 mph toward ENE (68°), across the
// zone in 8 min, for the wind forecast; much as drift line D1".
func RunDriftWords(s spatial.RunStop, u si.System) string {
	if !s.DriftMPS.OK && !s.DriftTowardDeg.OK {
		return Unknown
	}
	var words string
	switch {
	case !s.DriftTowardDeg.OK:
		words = u.Speed(s.DriftMPS.V) + ", which way is not known"
	case !s.DriftMPS.OK:
		words = "toward " + bearing(s.DriftTowardDeg.V) + ", how fast is not known"
	default:
		words = u.Speed(s.DriftMPS.V) + " toward " + bearing(s.DriftTowardDeg.V)
	}
	if s.PassS.OK {
		words += ", across the zone in " + DurationWords(s.PassS.V)
	}
	switch s.DriftFrom {
	case "forecast":
		words += ", for the wind forecast"
	case "season":
		words += ", as on the season's passes"
	}
	if s.DriftLine != "" {
		words += "; much as drift line " + s.DriftLine
	}
	return words
}

// RunLegWords says how long a leg is and what water it leads over: "1.2 mi, 4 min, least
// depth 6 ft; 120 yd of it was never sounded". The least depth is rounded down.
func RunLegWords(l spatial.RunLeg, u si.System) string {
	if l.LengthM <= 0 {
		return "no way to go"
	}
	words := u.Distance(l.LengthM) + ", " + DurationWords(l.Seconds)
	if !l.LeastM.OK {
		return words + ", depth " + Unknown + ": never sounded"
	}
	words += ", least depth " + shallow(l.LeastM.V, u)
	if l.UnsoundedM > 0 {
		words += "; " + u.Distance(l.UnsoundedM) + " of it was never sounded"
	}
	return words
}

// RunLegName names a leg by its ends: "Launch to Z3", "Z3 to Z1", "Z1 to take-out".
func RunLegName(r spatial.Run, l spatial.RunLeg) string {
	end := func(i int) string {
		switch {
		case i <= 0:
			return "launch"
		case i > len(r.Stops):
			return "take-out"
		}
		return r.Stops[i-1].Zone
	}
	from := end(l.From)
	if l.From <= 0 {
		from = capital(from)
	}
	return from + " to " + end(l.To)
}

// RunStopName names a stop by its place in the run and its zone, with the fish's depth on
// the day: "1. Z1: fish at 18 to 22 ft, hump".
func RunStopName(s spatial.RunStop, z spatial.Zone, u si.System) string {
	z.ID = s.Zone
	z.FishTopM, z.FishBottomM, z.BottomM = s.FishTopM, s.FishBottomM, s.BottomM
	return fmt.Sprintf("%d. %s", s.Order, ZoneName(z, u))
}

// RunSummary says in plain sentences what a run gives, how that compares, how firmly it
// is known, and what was assumed.
func RunSummary(r spatial.Run, u si.System) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(r.Stops) == 0 {
		when := ""
		if !r.Start.IsZero() && !r.Back.IsZero() {
			when = " between " + RunClock(r.Start, r.Zone) + " and " + RunClock(r.Back, r.Zone)
		}
		say("No stop%s%s.", when, because(r.Why))
	} else {
		var lengthM, runS float64
		for _, l := range r.Legs {
			lengthM += l.LengthM
			runS += l.Seconds
		}
		say("Leave at %s, home at %s: %s, %s of running in %s.", RunClock(r.Leave, r.Zone), RunClock(r.Home, r.Zone),
			Plural(len(r.Stops), "stop"), u.Distance(lengthM), DurationWords(runS))
		say("Expect %s; ranges hold 9 times in 10. A bite is any event: a catch or a bite.", SpreadWords(r.Expected))
		if r.Nearest != nil {
			out = append(out, rivalWords(*r.Nearest))
		}
		out = append(out, boundWords(r))
		if finite(r.WorthPerH) {
			say("Another hour of the day would add %s.", about(r.WorthPerH))
		}
		out = append(out, coolingWords(r.Cooling)...)
	}
	return append(out, assumedWords(r, u)...)
}

// rivalWords says how the run compares with going to the nearest zone next.
func rivalWords(n spatial.RunRival) string {
	words := fmt.Sprintf("As many zones, taken nearest next (%s), should give %s: the run gives %s (%s to %s)",
		strings.Join(n.Order, ", "), SpreadWords(n.Expected), more(n.Gain.Mean), more(n.Gain.Low), more(n.Gain.High))
	if finite(n.Ratio) && n.Ratio > 0 {
		words += fmt.Sprintf(", %.2f times as many", n.Ratio)
	}
	if n.Days > 0 {
		words += fmt.Sprintf(", and no less on %s of %s", ofAll(n.Share), Plural(n.Days, "simulated day"))
	}
	return words + "."
}

// more prints a difference of events: "1.3 events more", "0.4 events fewer".
func more(v float64) string {
	switch words := events(math.Abs(v)); {
	case words == events(0):
		return "no more"
	case v < 0:
		return words + " fewer"
	default:
		return words + " more"
	}
}

// ofAll prints a share in percent; one short of all never reads as all, nor one above
// none as none.
func ofAll(share float64) string {
	switch {
	case share > 0 && share < 0.01:
		return "fewer than 1 %"
	case share > 0.99 && share < 1:
		return "more than 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*share)
}

// boundWords says whether the run is the best there is, or how far from it it may be.
// Both count time for what it is worth elsewhere.
func boundWords(r spatial.Run) string {
	const counted = "each hour counted for what it is worth elsewhere"
	gap := r.Bound - r.Expected.Mean
	switch {
	case r.Proven:
		return "No other order or stay gives more, " + counted + ": as far as the figures go, that is proven."
	case !finite(r.Bound) || gap < 0:
		return "That no other run gives more is not proven; how much more one might give is not known."
	}
	// Rounded up: a tighter limit than was found would be untrue.
	words := "That no other run gives more is not proven; none gives more than " + events(math.Ceil(10*gap-1e-9)/10) + " above it"
	if r.Expected.Mean > 0 {
		words += fmt.Sprintf(" (%.0f %%)", math.Ceil(100*gap/r.Expected.Mean-1e-9))
	}
	return words + ", " + counted + "."
}

// coolingWords says how places cool off while they are fished, and how visits differ,
// each with what it was learned from.
func coolingWords(c spatial.RunCooling) []string {
	seen := Plural(c.Events, "event") + " on " + Plural(c.Visits, "visit")
	from := func(learned bool) string {
		if learned {
			return "learned from " + seen
		}
		return "the usual figure, since " + seen + " can't tell it"
	}
	var out []string
	if finite(c.TauMin) && c.TauMin > 0 {
		out = append(out, fmt.Sprintf("A place cools off while it is fished: its rate falls to 37 %% in %.0f min, %s.", c.TauMin, from(c.Learned)))
	} else {
		out = append(out, "Places were taken not to cool off while they are fished.")
	}
	if finite(c.Shape) && c.Shape > 0 {
		// A Gamma distribution of shape k has a standard deviation of 1/√k of its mean.
		out = append(out, fmt.Sprintf("The rate met differs from visit to visit by %.0f %% (standard deviation), %s.", 100/math.Sqrt(c.Shape), from(c.ShapeLearned)))
	}
	return out
}

// assumedWords says what a run was worked out with.
func assumedWords(r spatial.Run, u si.System) []string {
	var out []string
	if r.Guessed {
		out = append(out, "No launch was given: it is taken to be where most of the season's days began.")
	}
	level := "No water level is known for the day: depths stand as they are on the chart."
	if r.LevelM.OK {
		level = "Depths are at a water level of " + FineDepth(r.LevelM.V, u) + "."
	}
	out = append(out, level)
	if r.RunMPS > 0 {
		out = append(out, "Running at "+u.Speed(r.RunMPS)+", over water travelled before.")
	} else {
		out = append(out, "Running over water travelled before.")
	}
	if r.DraughtM > 0 || r.MarginM > 0 {
		out = append(out, "Where a depth is known, legs keep "+FineDepth(r.MarginM, u)+" of water under a draught of "+FineDepth(r.DraughtM, u)+".")
	}
	if len(r.Winds) == 0 {
		out = append(out, "No wind was given: drifts are as they were on the season's passes.")
	}
	return out
}

// RunOtherWords says what to do when the day turns out otherwise: "Two hours shorter: Z3
// 06:10 to 07:05 with 1/4 oz, Z1 07:20 to 08:40 with 3/8 oz; expect 6.2 events, home at
// 09:00". The run tells its clock.
func RunOtherWords(r spatial.Run, o spatial.RunOther, u si.System) string {
	name := capital(orWords(o.Name, "otherwise")) + ": "
	if o.Why != "" || len(o.Stops) == 0 {
		return name + "no plan" + because(orWords(o.Why, "no stop fits"))
	}
	var parts []string
	for _, s := range o.Stops {
		words := s.Zone + " " + RunClock(s.Arrive, r.Zone) + " to " + RunClock(s.Leave, r.Zone)
		if t, ok := s.Head.Chosen(); ok {
			words += " with " + u.Mass(t.Head.MassKg)
		} else {
			words += ", no head (" + NoHeadWords(s.Head) + ")"
		}
		parts = append(parts, words)
	}
	return name + strings.Join(parts, "; ") + "; expect " + events(o.Expected) + ", home at " + RunClock(o.Home, r.Zone)
}

// RunDroppedWords says why a zone was left out and what going there all the same would
// cost: "Z4: its hours are over by then; going there costs 0.8 events at most".
func RunDroppedWords(d spatial.RunDropped) string {
	words := d.Zone + because(orWords(d.Why, "left out"))
	switch {
	case !d.Costs.OK:
		return words
	case d.Costs.V < fewEvents:
		return words + "; going there costs next to nothing"
	}
	return words + "; going there costs " + events(d.Costs.V) + " at most"
}

// RunFreeWords says how long the time before a stop is free: "free until 14:35"; empty for ten minutes and less.
func RunFreeWords(r spatial.Run, stop int) string {
	const worthSaying = 600
	s := r.Stops[stop]
	if s.FreeS <= worthSaying || stop >= len(r.Legs) {
		return ""
	}
	return "free until " + RunClock(s.Arrive.Add(-time.Duration(r.Legs[stop].Seconds*float64(time.Second))), r.Zone)
}

// RunCautions are Cautions with what goes for a run besides.
func RunCautions(u si.System) []string {
	return append(Cautions(u),
		"Speeds are what was run before, not what the law allows: no-wake zones and speed limits are not in the plan.",
		"Other boats, the weather and daylight come before the plan: look before running, and leave early enough.",
		"A leg was travelled once, at another water level and another time: what lies in it now is not known.",
	)
}

// RunFeatures lists the legs and stops of a run in order of travel: the way to the first
// stop, the stop, the way to the next, and the way home last. The ids are L1, L2, … and
// S1, S2, …. The chart is the run's.
func RunFeatures(c spatial.Chart, r spatial.Run, u si.System) []Feature {
	var out []Feature
	for i := range max(len(r.Legs), len(r.Stops)) {
		if i < len(r.Legs) {
			out = append(out, RunLegFeature(r, i, u))
		}
		if i < len(r.Stops) {
			out = append(out, RunStopFeature(c, r, i, u))
		}
	}
	return out
}

// RunStopFeature returns the stop of that index as a point: the place to begin the drift,
// or the zone's centre where it isn't known which way it goes; drift_start and drift_end
// are null then, and an orb.Point otherwise.
func RunStopFeature(c spatial.Chart, r spatial.Run, index int, u si.System) Feature {
	s := r.Stops[index]
	f := feature(KindStop, fmt.Sprintf("S%d", index+1), RunStopName(s, RunZone(c, s), u))
	f.Geometry = RoundPoint(s.At)
	t, picked := s.Head.Chosen()
	var headOz, headG, sinkS, lineOutM, angleDeg ingest.Maybe
	if picked {
		headOz = Round(t.Head.MassKg/si.OunceKg, ouncesDecimals)
		headG = Round(t.Head.MassKg*1000, gramsDecimals)
		sinkS = Round(t.SinkS, secondsDecimals)
		lineOutM = RoundMaybe(t.LineOutM, depthDecimals)
		angleDeg = RoundMaybe(t.AngleDeg, angleDecimals)
	}
	var start, end any
	if driftKnown(s) {
		start = RoundPoint(s.At)
		if s.DriftEnd != s.At {
			end = RoundPoint(s.DriftEnd)
		}
	}
	var quiet ingest.Maybe
	for _, p := range s.LeaveIf {
		if p.Bites == 0 {
			quiet = Round(p.Minutes, minutesDecimals)
		}
	}
	var windMPS, windFrom ingest.Maybe
	if s.Wind != nil {
		windMPS, windFrom = Round(s.Wind.SpeedMPS, speedDecimals), Round(s.Wind.FromDeg, angleDecimals)
	}
	f.add("order", s.Order)
	f.add("zone", s.Zone)
	f.add("arrive", utc(s.Arrive))
	f.add("leave", utc(s.Leave))
	f.add("expected", Round(s.Expected.Mean, eventsDecimals))
	f.add("leave_if", word(LeaveIfWords(s)))
	f.add("head_oz", headOz)
	f.add("fish_top_m", RoundMaybe(s.FishTopM, depthDecimals))
	f.add("fish_bottom_m", RoundMaybe(s.FishBottomM, depthDecimals))
	f.add("drift_start", start)
	f.add("drift_toward_deg", RoundMaybe(s.DriftTowardDeg, angleDecimals))
	f.add("drift_end", end)
	f.add("drift_mps", RoundMaybe(s.DriftMPS, speedDecimals))
	f.add("drift_from", word(s.DriftFrom))
	f.add("drift_line", word(s.DriftLine))
	f.add("pass_s", RoundMaybe(s.PassS, secondsDecimals))
	f.add("leave_after_min", quiet)
	f.add("expected_low", Round(s.Expected.Low, eventsDecimals))
	f.add("expected_high", Round(s.Expected.High, eventsDecimals))
	f.add("free_before_min", Round(s.FreeS/60, 0))
	f.add("rate_per_h", Round(s.PerH, rateDecimals))
	f.add("fish_by", word(s.FishBy))
	f.add("bottom_m", RoundMaybe(s.BottomM, depthDecimals))
	f.add("wind_mps", windMPS)
	f.add("wind_from_deg", windFrom)
	f.add("head_g", headG)
	f.add("sink_s", sinkS)
	f.add("line_out_m", lineOutM)
	f.add("line_angle_deg", angleDeg)
	f.add("head_why", HeadWhy(s.Head, u))
	return f
}

// RunLegFeature returns the leg of that index as a line, or without geometry when it has
// no length.
func RunLegFeature(r spatial.Run, index int, u si.System) Feature {
	l := r.Legs[index]
	f := feature(KindLeg, fmt.Sprintf("L%d", index+1), RunLegName(r, l))
	if line := roundLine(l.Line); line != nil {
		f.Geometry = line
	}
	f.add("length_m", Round(l.LengthM, distanceDecimals))
	f.add("minutes", Round(l.Seconds/60, minutesDecimals))
	f.add("least_depth_m", RoundMaybe(l.LeastM, depthDecimals))
	f.add("unsounded_m", Round(l.UnsoundedM, distanceDecimals))
	f.add("from_stop", l.From)
	f.add("to_stop", l.To)
	return f
}

// RunZone returns the zone of a stop, or one with nothing but its ID when the chart
// doesn't hold it.
func RunZone(c spatial.Chart, s spatial.RunStop) spatial.Zone {
	if s.Index >= 0 && s.Index < len(c.Zones) && c.Zones[s.Index].ID == s.Zone {
		return c.Zones[s.Index]
	}
	return spatial.Zone{ID: s.Zone}
}

// SpreadWords prints a count to expect with its range: "2.3 events (0 to 5)".
func SpreadWords(s spatial.Spread) string {
	if !finite(s.Mean) {
		return Unknown
	}
	words := events(s.Mean)
	if finite(s.Low) && finite(s.High) {
		words += " (" + eventNumber(s.Low) + " to " + eventNumber(s.High) + ")"
	}
	return words
}

// DurationWords prints seconds to the nearest minute: "8 min", "1 h 5 min"; below a
// minute in seconds.
func DurationWords(s float64) string {
	if s < 59.5 {
		return seconds(s)
	}
	min := whole(s / 60)
	switch h := min / 60; {
	case h == 0:
		return fmt.Sprintf("%d min", min)
	case min%60 == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, min%60)
	}
}

// PositionWords prints a position in degrees to about a metre: "36.49980° N, 39.99770° W".
func PositionWords(p orb.Point) string {
	hemi := func(v float64, plus, minus string) string {
		v = round(v, 5)
		if v < 0 {
			v, plus = -v, minus
		}
		return strconv.FormatFloat(v, 'f', 5, 64) + "° " + plus
	}
	return hemi(p[1], "N", "S") + ", " + hemi(p[0], "E", "W")
}

// driftKnown reports whether a stop has a drift with a start of its own.
func driftKnown(s spatial.RunStop) bool { return s.DriftTowardDeg.OK }

// shallow prints a depth that a hull must clear: rounded down, never up.
func shallow(m float64, u si.System) string {
	step := si.FootM
	if u == si.Metric {
		step = 0.1
	}
	if v := math.Floor(m/step+1e-9) * step; v > 0 {
		return u.Depth(v)
	}
	return "under " + u.Depth(step)
}

// events prints a number of events: "2.3 events".
func events(v float64) string {
	n := eventNumber(v)
	if n == "1" {
		return "1 event"
	}
	return n + " events"
}

// about prints what an hour is worth: "about 0.9 events".
func about(v float64) string {
	if v < fewEvents {
		return "next to nothing"
	}
	return "about " + events(v)
}

// eventNumber prints a count to expect with a decimal at most: more would say more than
// is known.
func eventNumber(v float64) string {
	decimals := 1
	if math.Abs(v) >= 99.95 {
		decimals = 0
	}
	return strconv.FormatFloat(round(v, decimals), 'f', -1, 64)
}

func utc(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.UTC().Format(time.RFC3339)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func orWords(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// capital begins a clause as a sentence.
func capital(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}
