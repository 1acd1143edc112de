package resultfile

import (
	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// leeway is how the boat drifts in wind. Angles count clockwise from the way the wind
// blows; limits hold 95 times in 100.
type leeway struct {
	OK               bool         `json:"ok"`
	Why              *string      `json:"why"` // when not ok
	Passes           int          `json:"passes"`
	Days             int          `json:"days"`
	PerWind          ingest.Maybe `json:"per_wind"` // drift speed over wind speed
	PerWindLow       ingest.Maybe `json:"per_wind_low"`
	PerWindHigh      ingest.Maybe `json:"per_wind_high"`
	AngleDeg         ingest.Maybe `json:"angle_deg"`
	AngleLowDeg      ingest.Maybe `json:"angle_low_deg"`
	AngleHighDeg     ingest.Maybe `json:"angle_high_deg"`
	CurrentMPS       ingest.Maybe `json:"current_mps"`
	CurrentU95MPS    ingest.Maybe `json:"current_u95_mps"`
	CurrentTowardDeg ingest.Maybe `json:"current_toward_deg"` // null: the current may be none
	CurrentWhy       *string      `json:"current_why"`        // when current_mps is null
	ScatterMPS       ingest.Maybe `json:"scatter_mps"`
}

func leewayOf(l spatial.Leeway) leeway {
	out := leeway{OK: l.OK, Why: orNull(l.Why), Passes: l.Passes, Days: l.Days, CurrentWhy: orNull(l.CurrentWhy)}
	if !l.OK {
		return out
	}
	out.PerWind, out.PerWindLow, out.PerWindHigh = export.Round(l.PerWind, 5), export.Round(l.PerWindLow, 5), export.Round(l.PerWindHigh, 5)
	out.AngleDeg, out.AngleLowDeg, out.AngleHighDeg = export.Round(l.AngleDeg, 1), export.Round(l.AngleLowDeg, 1), export.Round(l.AngleHighDeg, 1)
	out.CurrentMPS, out.CurrentU95MPS = export.RoundMaybe(l.CurrentMPS, 4), export.RoundMaybe(l.CurrentU95MPS, 4)
	out.CurrentTowardDeg, out.ScatterMPS = export.RoundMaybe(l.CurrentTowardDeg, 1), export.Round(l.ScatterMPS, 4)
	return out
}

// forecast is the drift to expect in one wind. Limits hold for one pass 95 times in 100.
type forecast struct {
	WindMPS      ingest.Maybe `json:"wind_mps"`
	WindFromDeg  ingest.Maybe `json:"wind_from_deg"`
	SpeedMPS     ingest.Maybe `json:"speed_mps"`
	SpeedLowMPS  ingest.Maybe `json:"speed_low_mps"`
	SpeedHighMPS ingest.Maybe `json:"speed_high_mps"`
	TowardDeg    ingest.Maybe `json:"toward_deg"`
	TowardU95Deg ingest.Maybe `json:"toward_u95_deg"` // null: it may go any way
	Beyond       bool         `json:"beyond"`         // the wind is outside what was learned from
	Why          *string      `json:"why"`            // when unknown or beyond
}

func forecastOf(f *spatial.Forecast) *forecast {
	if f == nil {
		return nil
	}
	return &forecast{
		WindMPS: export.Round(f.WindMPS, 3), WindFromDeg: export.Round(f.WindFromDeg, 1), SpeedMPS: export.RoundMaybe(f.SpeedMPS, 3),
		SpeedLowMPS: export.RoundMaybe(f.LowMPS, 3), SpeedHighMPS: export.RoundMaybe(f.HighMPS, 3),
		TowardDeg: export.RoundMaybe(f.TowardDeg, 1), TowardU95Deg: export.RoundMaybe(f.TowardU95Deg, 1), Beyond: f.Beyond, Why: orNull(f.Why),
	}
}

// forecastHead is a zone's head for the forecast's drift.
type forecastHead struct {
	HeadOz       ingest.Maybe `json:"head_oz"`
	HeadG        ingest.Maybe `json:"head_g"`
	SinkS        ingest.Maybe `json:"sink_s"`
	LineAngleDeg ingest.Maybe `json:"line_angle_deg"`
	Why          string       `json:"why"`
	Stand        *headStand   `json:"head_stand"`
}

func forecastHeadOf(c *spatial.HeadChoice, u si.System) *forecastHead {
	if c == nil {
		return nil
	}
	out := &forecastHead{Why: export.HeadWhy(*c, u), Stand: headStandOf(*c)}
	if t, ok := c.Chosen(); ok {
		out.HeadOz, out.HeadG = export.Round(t.Head.MassKg/si.OunceKg, 4), export.Round(t.Head.MassKg*1000, 2)
		out.SinkS, out.LineAngleDeg = export.Round(t.SinkS, 1), export.RoundMaybe(t.AngleDeg, 1)
	}
	return out
}

// stretch is what the productive stretch of a drift line gave.
type stretch struct {
	Events       int          `json:"events"`
	Hours        ingest.Maybe `json:"hours"`
	RatePerH     ingest.Maybe `json:"rate_per_h"`
	RateLowPerH  ingest.Maybe `json:"rate_low_per_h"`
	RateHighPerH ingest.Maybe `json:"rate_high_per_h"`
	RestPerH     ingest.Maybe `json:"rest_per_h"` // of the rest of the line
	TopM         ingest.Maybe `json:"top_m"`
	MiddleM      ingest.Maybe `json:"middle_m"`
	BottomM      ingest.Maybe `json:"bottom_m"`
}

func stretchOf(s *spatial.Stretch) *stretch {
	if s == nil {
		return nil
	}
	rate, low, high := rateOf(s.Rate)
	rest, _, _ := rateOf(s.Rest)
	return &stretch{
		s.Events, export.Round(s.Hours, 2), rate, low, high, rest,
		export.RoundMaybe(s.TopM, 2), export.RoundMaybe(s.MiddleM, 2), export.RoundMaybe(s.BottomM, 2),
	}
}

// profileOf returns pairs of metres along the line and of depth.
func profileOf(points []spatial.ProfilePoint) [][2]ingest.Maybe {
	out := [][2]ingest.Maybe{}
	for _, p := range points {
		out = append(out, [2]ingest.Maybe{export.Round(p.AlongM, 1), export.RoundMaybe(p.DepthM, 2)})
	}
	return out
}
