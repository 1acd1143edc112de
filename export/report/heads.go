package report

import (
	"fmt"
	"math"
	"strings"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The drawing of the heads of a box, in units of its own: the heads side by side,
// lightest on the left; seconds to the fish above, the line's angle below. In both less
// is better, and the limit is a dashed line.
const (
	headsWidth  = 340.0
	headsHeight = 276.0
	headsLeft   = 38.0 // of the bars
	headsRight  = 338.0
	headsDown   = 88.0 // height of a panel
	barDown     = 68.0 // of the tallest bar; above it stand the figures
	sinkTop     = 24.0
	angleTop    = 144.0
	widestBar   = 26.0
)

// headsPicture is ready for the template: numbers are text in units.
type headsPicture struct {
	Width, Height, X, Across, Down string
	Panels                         []headsPanel
	Names                          []headName
	NameAt, PickAt, Unit           string
	Label                          string // all figures, for who can't see it
	Note                           string
}

type headsPanel struct {
	Title, TitleAt, Y, Foot string
	Limit                   *headsLimit // nil: not known
	Bars                    []headBar
}

type headsLimit struct{ At, D, Text, Over string } // Over is the height of what lies beyond it

type headBar struct {
	X, Y, Width, Height, Class string
	Break                      string // path over a bar that is taller than its panel
	At, ValueAt, Value         string // Value empty where there is no room for it
	Cross                      string // path and words of a head without an angle
	Words, Turn                string
	Picked, Over               bool
}

type headName struct {
	At, Text string
	Picked   bool
}

// newHeads draws what every head of a choice does, or returns nil when none was tried. The
// limits are those of the box; nil draws none.
func newHeads(c spatial.HeadChoice, box *ingest.Tackle, u si.System) *headsPicture {
	n := len(c.Trials)
	if n == 0 {
		return nil
	}
	slot := (headsRight - headsLeft) / float64(n)
	mid := func(i int) float64 { return headsLeft + (float64(i)+0.5)*slot }
	pick := -1
	if c.Picked {
		pick = c.Pick
	}
	p := &headsPicture{
		Width: num(headsWidth), Height: num(headsHeight), X: num(headsLeft), Across: num(headsRight - headsLeft), Down: num(headsDown),
		NameAt: num(angleTop + headsDown + 13), PickAt: num(angleTop + headsDown + 30), Label: headsLabel(c, box, u),
		Note: "Solid bars are within a limit, hollow ones beyond it.",
	}
	if c.Picked {
		p.Note += " The pick is orange."
	}
	names := make([]string, n)
	wide := 0.0
	for i, t := range c.Trials {
		names[i], p.Unit, _ = cutUnit(u.Mass(t.Head.MassKg))
		wide = math.Max(wide, 6.6*float64(len(names[i]))+5)
	}
	named := spaced(n, pick, wide/slot)
	for i := range n {
		if named[i] {
			p.Names = append(p.Names, headName{num(mid(i)), names[i], i == pick})
		}
	}

	maxSinkS, maxDeg := 0.0, 0.0
	if box != nil {
		maxSinkS, maxDeg = box.MaxSinkS, box.MaxAngleDeg
	}
	topS := maxSinkS
	for _, t := range c.Trials {
		topS = math.Max(topS, t.SinkS)
	}
	if maxSinkS > 0 {
		topS = math.Min(topS, 2.5*maxSinkS) // a slower head is out anyhow, and would flatten the rest
	}
	topS = math.Max(topS, 1)
	valued := spaced(n, pick, 27/slot)
	panel := func(title string, top, scale, limit float64, unit string) *headsPanel {
		p.Panels = append(p.Panels, headsPanel{Title: title, TitleAt: num(top - 13), Y: num(top), Foot: num(top + headsDown)})
		q := &p.Panels[len(p.Panels)-1]
		if limit > 0 {
			at := top + headsDown - barDown*limit/scale
			q.Limit = &headsLimit{num(at), "M" + num(headsLeft) + " " + num(at) + "H" + num(headsRight), fmt.Sprintf("%.0f%s", limit, unit), num(at - top)}
		}
		return q
	}
	bar := func(i int, top, scale, v float64, unit string, within bool) headBar {
		across := math.Min(widestBar, 0.66*slot)
		high := barDown * math.Min(v, scale) / scale
		left, head := mid(i)-across/2, top+headsDown-high
		b := headBar{
			X: num(left), Y: num(head), Width: num(across), Height: num(high), Class: barClass(within, i == pick),
			At: num(mid(i)), ValueAt: num(top + 10), Picked: i == pick, Over: !within,
		}
		if v > scale {
			b.Break = "M" + num(left-3) + " " + num(head+12) + "L" + num(left+across+3) + " " + num(head+6)
		}
		if valued[i] {
			b.Value = fmt.Sprintf("%.0f%s", v, unit)
		}
		return b
	}

	sink := panel("Seconds down to the fish", sinkTop, topS, maxSinkS, " s")
	for i, t := range c.Trials {
		sink.Bars = append(sink.Bars, bar(i, sinkTop, topS, t.SinkS, "", t.MeetsSink))
	}
	const topDeg = 90 // a level line
	angle := panel("Line from vertical at the rod", angleTop, topDeg, maxDeg, "°")
	for i, t := range c.Trials {
		if t.Holds && t.AngleDeg.OK {
			angle.Bars = append(angle.Bars, bar(i, angleTop, topDeg, t.AngleDeg.V, "°", t.MeetsAngle))
			continue
		}
		b := bar(i, angleTop, topDeg, topDeg, "", false)
		b.Value, b.Break, b.Class = "", "", "loose"
		b.Words = "can't hold"
		b.Turn = fmt.Sprintf("translate(%s %s) rotate(-90)", num(mid(i)), num(angleTop+headsDown-barDown/2))
		angle.Bars = append(angle.Bars, b)
	}
	return p
}

func barClass(within, picked bool) string {
	switch {
	case picked:
		return "chosen"
	case within:
		return "within"
	}
	return "beyond"
}

// spaced picks which of n labels in a row are shown when each needs that many places: the
// picked one, and every so many from it. A negative pick counts from the first.
func spaced(n, pick int, places float64) []bool {
	every := max(1, int(math.Ceil(places-1e-9)))
	from := max(pick, 0)
	out := make([]bool, n)
	for i := range out {
		out[i] = (i-from)%every == 0
	}
	return out
}

func cutUnit(s string) (number, unit string, ok bool) {
	i := strings.LastIndex(s, " ")
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+1:], true
}

// headsLabel says what the picture shows.
func headsLabel(c spatial.HeadChoice, box *ingest.Tackle, u si.System) string {
	var b strings.Builder
	b.WriteString("Seconds down to the fish and line from vertical, by head")
	if box != nil {
		fmt.Fprintf(&b, "; limits %.0f s and %.0f°", box.MaxSinkS, box.MaxAngleDeg)
	}
	b.WriteString(".")
	for i, t := range c.Trials {
		fmt.Fprintf(&b, " %s: %s, ", u.Mass(t.Head.MassKg), seconds(t.SinkS))
		if t.Holds && t.AngleDeg.OK {
			fmt.Fprintf(&b, "%.0f°", t.AngleDeg.V)
		} else {
			b.WriteString("can't hold the depth")
		}
		if c.Picked && i == c.Pick {
			b.WriteString(", the pick")
		}
		b.WriteString(".")
	}
	return b.String()
}

type trialRow struct {
	Head, Line, Trailer, Sink, LineOut, Trail, Angle, Cycle, Reel, Verdict string
	Picked, Slow, Slant, Loose                                             bool // Loose: no length of line holds the depth
}

func trial(c spatial.HeadChoice, t spatial.HeadTrial, picked bool, u si.System) trialRow {
	r := trialRow{
		Head: u.Mass(t.Head.MassKg), Line: export.LineWords(t.Line, u), Trailer: trailer(t.TrailerM, u), Sink: seconds(t.SinkS),
		LineOut: "can't hold", Trail: "–", Angle: "–", Cycle: export.CycleWords(t), Reel: export.ReelWords(c, t, u), Verdict: export.VerdictWords(t, picked),
		Picked: picked, Slow: !t.MeetsSink, Slant: t.Holds && !t.MeetsAngle, Loose: !t.Holds,
	}
	if t.Holds {
		r.LineOut, r.Trail = depth(t.LineOutM, u), depth(t.TrailM, u)
		if t.AngleDeg.OK {
			r.Angle = fmt.Sprintf("%.0f°", t.AngleDeg.V)
		}
	}
	return r
}
