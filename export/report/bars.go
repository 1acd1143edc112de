package report

import (
	"math"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// barWidth is the length of the bars of a table, in its units.
const barWidth = 300.0

// bars is a table of rates with a bar each.
type bars struct {
	Label     string // id of its heading
	First     string // heading of the first column
	Rows      []barRow
	Tick      string // x of the rate over all fishing; empty when that is unknown
	Rate      string
	Max       string
	HasThin   bool
	Preferred bool // has a column of preference
}

type barRow struct {
	Name, Rate, Interval, Events, Hours, Preference string
	Bar, Low, High                                  string // in the bar's units; Bar empty when the rate is unknown
	Thin                                            bool
}

// aBar is one row before it is drawn.
type aBar struct {
	name       string
	events     int
	hours      float64
	rate       spatial.Rate
	preference string
	thin       bool
}

// newBars returns nil for no rows. Without an all-over rate no tick is drawn.
func newBars(label, first string, all spatial.Rate, rows []aBar) *bars {
	if len(rows) == 0 {
		return nil
	}
	most := 0.0
	for _, r := range rows {
		if r.rate.OK && !r.thin {
			most = math.Max(most, r.rate.HighPerH)
		}
	}
	if all.OK {
		most = math.Max(most, all.PerH)
	}
	x := func(v float64) string { return num(math.Min(1, v/most) * barWidth) }
	out := &bars{Label: label, First: first, Max: export.PerHour(most)}
	for _, r := range rows {
		b := barRow{Name: r.name, Rate: "–", Events: export.Count(r.events), Hours: hours(r.hours), Preference: r.preference, Thin: r.thin}
		if r.rate.OK && most > 0 {
			b.Rate = export.PerHour(r.rate.PerH)
			b.Interval = export.PerHour(r.rate.LowPerH) + " to " + export.PerHour(r.rate.HighPerH)
			b.Bar, b.Low, b.High = x(r.rate.PerH), x(r.rate.LowPerH), x(r.rate.HighPerH)
		}
		out.HasThin = out.HasThin || r.thin
		out.Preferred = out.Preferred || r.preference != ""
		out.Rows = append(out.Rows, b)
	}
	if all.OK && most > 0 {
		out.Tick, out.Rate = x(all.PerH), export.PerHour(all.PerH)
	}
	return out
}

func bandBars(label, first string, all spatial.Rate, bands []spatial.Band, u si.System) *bars {
	var rows []aBar
	for _, b := range bands {
		rows = append(rows, aBar{u.DepthRange(b.TopM, b.BottomM), b.Events, b.EffortH, b.Rate, export.PreferenceWords(b), b.Thin})
	}
	return newBars(label, first, all, rows)
}

func hourBars(label, first string, all spatial.Rate, hours []spatial.Hour) *bars {
	var rows []aBar
	for _, h := range hours {
		rows = append(rows, aBar{export.HourName(h, label == "h-sun"), h.Events, h.EffortH, h.Rate, "", h.Thin})
	}
	return newBars(label, first, all, rows)
}

func (p *content) bands(c spatial.Chart, soundings int, u si.System) {
	p.Bands = bandBars("h-bottoms", "Bottom", c.LakeRate, c.Bands, u)
	p.Fish = bandBars("h-fish", "Fish at", spatial.Rate{}, c.Fish, u)
	p.Stand = export.StandWords(c.Stand, u)
	switch {
	case p.Bands != nil:
	case soundings == 0:
		p.BandsEmpty = "There are no depth bands: no sounding was read, so the depths fished are not known."
	default:
		p.BandsEmpty = "There are no depth bands: no hour of fishing lies over sounded bottom."
	}
	if p.Fish == nil {
		p.FishEmpty = "No catch or mark notes how deep the fish was: write it down, it is what the head is chosen for."
	}
}

func (p *content) hours(c spatial.Chart) {
	p.Hours = hourBars("h-clock", "Hour", c.LakeRate, c.Hours)
	p.SunHours = hourBars("h-sun", "After sunrise", c.LakeRate, c.SunHours)
	p.HoursWindow = export.WindowWords(c.Window, false)
	p.SunHoursWindow = export.WindowWords(c.SunWindow, true)
	if p.Hours == nil {
		p.HoursEmpty = "There are no hours: no track says when there was fishing."
	}
}
