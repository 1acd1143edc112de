package report

import (
	"strconv"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A windSection is how the boat drifts in wind, and what a wind asked about would do.
type windSection struct {
	Rule             string
	Known            bool // Rule is one
	Current, Scatter string
	Forecast         string // empty: no wind was asked about
	Heads            []windHead
	ForecastNote     string
	NoForecast       string
}

type windHead struct {
	ID, Title, Head, Sink, LineOut, Angle, AsFished, Why string
	Picked                                               bool
}

func (p *content) wind(c spatial.Chart, u si.System) {
	w := &p.Wind
	w.Rule, w.Known = export.LeewayWords(c.Leeway), c.Leeway.OK
	w.Current, w.Scatter = export.CurrentWords(c.Leeway, u), export.ScatterWords(c.Leeway, u)
	w.Forecast = export.ForecastWords(c.Forecast, u)
	if c.Forecast == nil {
		w.NoForecast = "No wind was asked about."
		return
	}
	if c.Forecast.SpeedMPS.OK {
		w.ForecastNote = "Limits hold for one pass 95 times in 100. As fished is the head for the passes that caught fish there."
	}
	for _, z := range c.Zones {
		if z.ForecastHead != nil {
			w.Heads = append(w.Heads, headFor(z, u))
		}
	}
}

// headFor sets the head for the forecast beside the one for the passes as they were made.
func headFor(z spatial.Zone, u si.System) windHead {
	name := func(c spatial.HeadChoice) string {
		if t, ok := c.Chosen(); ok {
			return u.Mass(t.Head.MassKg)
		}
		return export.NoHeadWords(c)
	}
	h := windHead{ID: z.ID, Title: title(z, u), Head: name(*z.ForecastHead), Sink: "–", LineOut: "–", Angle: "–", AsFished: name(z.Head)}
	t, ok := z.ForecastHead.Chosen()
	if !ok {
		h.Why = export.HeadWhy(*z.ForecastHead, u)
		return h
	}
	h.Picked, h.Sink, h.LineOut = true, seconds(t.SinkS), depth(t.LineOutM, u)
	if t.AngleDeg.OK {
		h.Angle = strconv.FormatFloat(t.AngleDeg.V, 'f', 0, 64) + "°"
	}
	return h
}
