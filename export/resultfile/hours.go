package resultfile

import (
	"math"

	"leadline/export"
	"leadline/ingest"
	"leadline/spatial"
)

// hourly is the rates by the hour of the day and after sunrise.
type hourly struct {
	Clock       []hour  `json:"clock"`
	Window      *window `json:"window"` // null: no hours stand out
	AfterSun    []hour  `json:"after_sunrise"`
	AfterSunWin *window `json:"after_sunrise_window"`
}

type hour struct {
	From         ingest.Maybe `json:"from"`
	To           ingest.Maybe `json:"to"`
	Events       int          `json:"events"`
	EffortH      ingest.Maybe `json:"effort_h"`
	RatePerH     ingest.Maybe `json:"rate_per_h"`
	RateLowPerH  ingest.Maybe `json:"rate_low_per_h"`
	RateHighPerH ingest.Maybe `json:"rate_high_per_h"`
	Thin         bool         `json:"thin"`
}

type window struct {
	From         ingest.Maybe `json:"from"`
	To           ingest.Maybe `json:"to"`
	Events       int          `json:"events"`
	EffortH      ingest.Maybe `json:"effort_h"`
	RatePerH     ingest.Maybe `json:"rate_per_h"`
	RateLowPerH  ingest.Maybe `json:"rate_low_per_h"`
	RateHighPerH ingest.Maybe `json:"rate_high_per_h"`
	RestPerH     ingest.Maybe `json:"rest_per_h"`
}

type stand struct {
	Suspended int          `json:"suspended"`
	OnBottom  int          `json:"on_bottom"`
	Unknown   int          `json:"unknown"`
	MedianM   ingest.Maybe `json:"median_m"` // height above the bottom
}

func hourlyOf(c spatial.Chart) hourly {
	return hourly{Clock: hoursOf(c.Hours), Window: windowOf(c.Window), AfterSun: hoursOf(c.SunHours), AfterSunWin: windowOf(c.SunWindow)}
}

func hoursOf(hours []spatial.Hour) []hour {
	out := []hour{}
	for _, h := range hours {
		rate, low, high := rateOf(h.Rate)
		out = append(out, hour{export.Round(h.From, 2), export.Round(h.To, 2), h.Events, export.Round(h.EffortH, 2), rate, low, high, h.Thin})
	}
	return out
}

func windowOf(w *spatial.Window) *window {
	if w == nil {
		return nil
	}
	rate, low, high := rateOf(w.Rate)
	rest, _, _ := rateOf(w.Rest)
	return &window{export.Round(w.From, 2), export.Round(w.To, 2), w.Events, export.Round(w.EffortH, 2), rate, low, high, rest}
}

func standOf(s spatial.Stand) stand {
	return stand{s.Suspended, s.OnBottom, s.Unknown, export.RoundMaybe(s.MedianM, 2)}
}

// bandsOf returns bands without a shape of their own.
func bandsOf(bands []spatial.Band) []export.Properties {
	out := []export.Properties{}
	for _, b := range bands {
		rate, low, high := rateOf(b.Rate)
		out = append(out, export.Properties{
			{Name: "top_m", Value: export.Round(b.TopM, 2)},
			{Name: "bottom_m", Value: export.Round(b.BottomM, 2)},
			{Name: "events", Value: b.Events},
			{Name: "effort_h", Value: export.Round(b.EffortH, 2)},
			{Name: "rate_per_h", Value: rate},
			{Name: "rate_low_per_h", Value: low},
			{Name: "rate_high_per_h", Value: high},
			{Name: "selection", Value: export.RoundMaybe(b.Selection, 2)},
			{Name: "selection_low", Value: export.RoundMaybe(b.SelectionLow, 2)},
			{Name: "selection_high", Value: export.RoundMaybe(b.SelectionHigh, 2)},
			{Name: "thin", Value: b.Thin},
		})
	}
	return out
}

type fished struct {
	FromH  ingest.Maybe `json:"from_h"`
	ToH    ingest.Maybe `json:"to_h"` // null: as many as there were
	AreaM2 ingest.Maybe `json:"area_m2"`
}

func fishedOf(areas []spatial.FishedArea) []fished {
	out := []fished{}
	for _, a := range areas {
		f := fished{FromH: export.Round(a.FromH, 2), AreaM2: export.Round(a.AreaM2, 0)}
		if !math.IsInf(a.ToH, 1) {
			f.ToH = export.Round(a.ToH, 2)
		}
		out = append(out, f)
	}
	return out
}

func rateOf(r spatial.Rate) (perH, low, high ingest.Maybe) {
	if !r.OK {
		return
	}
	return export.Round(r.PerH, 3), export.Round(r.LowPerH, 3), export.Round(r.HighPerH, 3)
}
