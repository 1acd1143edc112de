package runsheet

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A content is the sheet as the template wants it: text in the person's units.
type content struct {
	Title, Name, Date string
	Style             template.CSS
	Policy            string

	Size                 string // class of the body: how much there is to fit
	Leave, Home, Back    string // clock times; empty without a stop
	From                 string // position of the launch
	To                   string // and of the take-out, when it is another
	Facts                []export.Fact
	Empty                []string // why there is no stop
	Map                  *picture
	Legend               []legendStep
	Dotted               bool // the map shows a stop that is not proven
	Stops                []stop
	HomeLeg              string
	Others, Dropped      []string
	Sure, Remarks        []string
	AdviceHead           string
	Advice               []string
	Cautions             []string
	OthersNone, DropNone string
}

type legendStep struct{ Class, Text string }

// A stop is its row of the table. The first of each pair is read at a glance, the second
// is in smaller type.
type stop struct {
	Order, Name      string
	Proven           bool
	Arrive, Leave    string
	Leg              string
	Free             string // before the leg; empty for none
	Drift, DriftMore string
	Fish, Bottom     string
	Head, HeadMore   string
	LeaveIf          []string // one condition each
	Stay             string   // instead, where there is none
	Expect, Range    string
	StartWord, Where string
	Notes            []string
}

func build(c spatial.Chart, r spatial.Run, opt export.Options) *content {
	u := opt.Units
	s := &content{
		Title: "Run of " + dash(r.Date), Name: opt.Title, Date: dateWords(r.Date), Size: size(len(r.Stops)),
		Facts: dayFacts(r, u), Cautions: export.RunCautions(u), Sure: export.RunSummary(r, u), AdviceHead: export.AdviceHeading,
	}
	for _, m := range r.Remarks {
		s.Remarks = append(s.Remarks, m.Text)
	}
	if len(r.Stops) == 0 {
		s.Empty = whyEmpty(r)
	} else {
		s.Leave, s.Home = export.RunClock(r.Leave, r.Zone), export.RunClock(r.Home, r.Zone)
		if !r.Back.IsZero() {
			s.Back = export.RunClock(r.Back, r.Zone)
		}
		s.From = position(r.Launch)
		if to := position(r.TakeOut); to != s.From {
			s.To = to
		}
		if d, ok := newDrawing(c, r, u); ok {
			s.Map = d.draw()
			s.Legend = d.legend()
		}
	}
	for i, stop := range r.Stops {
		s.Stops = append(s.Stops, stopRow(c, r, i, u))
		s.Dotted = s.Dotted || !export.RunZone(c, stop).Proven
	}
	if l, ok := legTo(r, len(r.Stops)+1); ok && len(r.Stops) > 0 {
		s.HomeLeg = export.RunLegWords(l, u)
	}
	for _, o := range r.Others {
		s.Others = append(s.Others, sentence(export.RunOtherWords(r, o, u)))
	}
	if len(s.Others) == 0 {
		s.OthersNone = "No plan was worked out for another day than this."
	}
	for _, d := range r.Dropped {
		s.Dropped = append(s.Dropped, sentence(export.RunDroppedWords(d)))
	}
	if len(s.Dropped) == 0 {
		s.DropNone = "No zone of the chart was left out."
		if len(c.Zones) == 0 {
			s.DropNone = "The chart has no zone."
		}
	}
	s.Advice = advice(c, r, u)
	return s
}

// size names how much the sheet has to hold; the style sheet gives the map what is left.
func size(stops int) string {
	switch {
	case stops == 0:
		return "no"
	case stops <= 3:
		return "few"
	case stops <= 6:
		return "some"
	}
	return "many"
}

// dateWords prints "2024-06-01" as "Saturday 1 June 2024"; a date it can't read stays as
// it is.
func dateWords(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return dash(date)
	}
	return t.Format("Monday 2 January 2006")
}

func dayFacts(r spatial.Run, u si.System) []export.Fact {
	sun := "rises " + export.RunClock(r.Sunrise, r.Zone) + ", sets " + export.RunClock(r.Sunset, r.Zone)
	if r.Sunrise.IsZero() && r.Sunset.IsZero() {
		sun = "neither rises nor sets"
	}
	level := "not known; depths as on the chart"
	if r.LevelM.OK {
		level = export.FineDepth(r.LevelM.V, u)
	}
	facts := []export.Fact{{Label: "Sun", Value: sun}, {Label: "Level", Value: level}, {Label: "Wind", Value: windWords(r, u)}}
	if len(r.Stops) > 0 {
		facts = append(facts, export.Fact{Label: "Expect", Value: export.SpreadWords(r.Expected)})
	}
	return facts
}

// windWords lists the forecast by hour, as far as it falls into the run: what reads like
// the wind before it is left out.
func windWords(r spatial.Run, u si.System) string {
	from, to := r.Leave, r.Home
	if len(r.Stops) == 0 {
		from, to = r.Start, r.Back
	}
	var parts []string
	last := ""
	for i, w := range r.Winds {
		if i+1 < len(r.Winds) && !r.Winds[i+1].From.After(from) || !to.IsZero() && w.From.After(to) {
			continue
		}
		words := export.WindWords(w.SpeedMPS, w.FromDeg, u)
		if words == last {
			continue
		}
		last = words
		if !w.From.IsZero() && w.From.After(from) {
			words = export.RunClock(w.From, r.Zone) + " " + words
		}
		parts = append(parts, words)
	}
	if len(parts) == 0 {
		return "no forecast; drifts as in the season"
	}
	return strings.Join(parts, "; ")
}

// whyEmpty says plainly why a run has no stop.
func whyEmpty(r spatial.Run) []string {
	if r.Why == "" {
		return []string{"There is no stop to go to on this day."}
	}
	return []string{"There is no stop to go to on this day: " + r.Why + "."}
}

func legTo(r spatial.Run, to int) (spatial.RunLeg, bool) {
	i := slices.IndexFunc(r.Legs, func(l spatial.RunLeg) bool { return l.To == to })
	if i < 0 {
		return spatial.RunLeg{}, false
	}
	return r.Legs[i], true
}

func stopRow(c spatial.Chart, r spatial.Run, i int, u si.System) stop {
	s := r.Stops[i]
	z := export.RunZone(c, s)
	row := stop{
		Order: strconv.Itoa(s.Order), Name: zoneName(s, z, u), Proven: z.Proven,
		Arrive: export.RunClock(s.Arrive, r.Zone), Leave: export.RunClock(s.Leave, r.Zone),
		Leg: "not known", Fish: export.Unknown, Bottom: export.Unknown, StartWord: "Start", Where: position(s.At),
		Expect: export.Unknown,
	}
	if l, ok := legTo(r, s.Order); ok {
		row.Leg = export.RunLegWords(l, u)
		row.Free = export.RunFreeWords(r, i)
	}

	if s.Wind != nil {
		row.Notes = append(row.Notes, "wind "+export.WindWords(s.Wind.SpeedMPS, s.Wind.FromDeg, u))
	}
	switch toward := s.DriftTowardDeg; {
	case toward.OK:
		row.Drift = "toward " + si.Compass(toward.V)
	case s.DriftMPS.OK:
		row.Drift = "way not known"
	default:
		row.Drift = export.Unknown
	}
	if !s.DriftTowardDeg.OK {
		row.StartWord = "Centre"
	}
	if s.DriftMPS.OK {
		row.DriftMore = u.Speed(s.DriftMPS.V)
		if s.PassS.OK {
			row.DriftMore += ", pass " + export.DurationWords(s.PassS.V)
		}
	}
	if s.DriftFrom == "season" {
		row.Notes = append(row.Notes, "drift as in the season")
	}

	if s.FishTopM.OK && s.FishBottomM.OK {
		row.Fish = export.DepthRange(s.FishTopM.V, s.FishBottomM.V, u)
		if s.FishBy == "" {
			row.Notes = append(row.Notes, "fish as noted")
		}
	}
	if s.BottomM.OK {
		row.Bottom = u.Depth(s.BottomM.V)
	}

	if t, ok := s.Head.Chosen(); ok {
		row.Head = u.Mass(t.Head.MassKg)
		row.HeadMore = "count " + strconv.FormatFloat(t.SinkS, 'f', 0, 64) + " s"
		if t.LineOutM.OK {
			row.Notes = append(row.Notes, "line out "+u.Depth(t.LineOutM.V))
		}
	} else {
		row.Head = export.NoHeadWords(s.Head)
		if words := export.WayOutWords(s.Head, u); words != "" {
			row.Notes = append(row.Notes, words)
		}
	}

	if words := export.LeaveIfWords(s); words != "" {
		row.LeaveIf = strings.Split(words, ", ")
	} else {
		row.Stay = "stay to the end"
	}
	if mean := export.SpreadWords(s.Expected); mean != export.Unknown {
		row.Expect, row.Range = count(mean)
	}
	return row
}

// count splits "2.6 events (0 to 6)" into the figure and its range: the column says what
// is counted.
func count(words string) (mean, spread string) {
	mean, spread, _ = strings.Cut(words, " (")
	mean, _, _ = strings.Cut(mean, " ")
	return mean, strings.TrimSuffix(spread, ")")
}

// zoneName is the zone's name without the depths that the row has in columns of their own.
func zoneName(s spatial.RunStop, z spatial.Zone, u si.System) string {
	if z.Name != "" && z.Name != s.Zone {
		return export.ZoneName(z, u)
	}
	z.ID = s.Zone
	z.FishTopM.OK, z.BottomM.OK = false, false
	return export.ZoneName(z, u)
}

// advice lists common practice for the stops' zones without its reasons, each piece once,
// with the stops it is for where it isn't for all.
func advice(c spatial.Chart, r spatial.Run, u si.System) []string {
	var order []string
	stops := map[string][]string{}
	for _, s := range r.Stops {
		z := export.RunZone(c, s)
		z.Head = s.Head // the day's, not the season's
		for _, a := range export.Advice(z, c.Leeway, u) {
			if stops[a.What] == nil {
				order = append(order, a.What)
			}
			stops[a.What] = append(stops[a.What], strconv.Itoa(s.Order))
		}
	}
	var out []string
	for _, what := range order {
		at := stops[what]
		if len(at) == len(r.Stops) {
			out = append(out, what+".")
			continue
		}
		noun := "Stop "
		if len(at) > 1 {
			noun = "Stops "
		}
		out = append(out, fmt.Sprintf("%s%s: %s.", noun, strings.Join(at, ", "), what))
	}
	return out
}

// sentence ends a clause with a full stop and begins it with a capital.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	s = string(unicode.ToUpper(r)) + s[n:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

func dash(s string) string {
	if s == "" {
		return "an unknown day"
	}
	return s
}
