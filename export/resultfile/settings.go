package resultfile

import (
	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// settings repeats spatial.Settings under the names of this file, in full: they
// are what a person needs to get the same result again.
type settings struct {
	CastM       ingest.Maybe `json:"cast_m"`
	Weights     weights      `json:"weights"`
	MinEvents   int          `json:"min_events"`
	FrenzyS     ingest.Maybe `json:"frenzy_s"`
	CellM       ingest.Maybe `json:"cell_m"` // 0: chosen, see bottom
	ReachM      ingest.Maybe `json:"reach_m"`
	ContourM    ingest.Maybe `json:"contour_m"`
	BandM       ingest.Maybe `json:"band_m"`
	RunMPS      ingest.Maybe `json:"run_mps"`
	Crawling    string       `json:"crawling"`
	DriftMinS   ingest.Maybe `json:"drift_min_s"`
	DriftMinM   ingest.Maybe `json:"drift_min_m"`
	LineWidthM  ingest.Maybe `json:"line_width_m"`
	MaxGapS     ingest.Maybe `json:"max_gap_s"`
	Simulations int          `json:"simulations"`
	Seed        uint64       `json:"seed"`
	PoolM       ingest.Maybe `json:"pool_m"`
	Forecast    *windOf      `json:"forecast"` // null: no wind was asked about
	MaxSinkS    ingest.Maybe `json:"max_sink_s"`
	MaxAngleDeg ingest.Maybe `json:"max_angle_deg"`
	WaterC      ingest.Maybe `json:"water_c"`
	Heads       []headOf     `json:"heads"`
	Lines       []lineOf     `json:"lines"`
	Trailers    []trailerOf  `json:"trailers"`
	Countdowns  []countdown  `json:"countdowns"` // as given, those that count nothing too
	ReelMPS     ingest.Maybe `json:"reel_mps"`
	ReelUpMPS   ingest.Maybe `json:"reel_up_mps"`
	UnhookS     ingest.Maybe `json:"unhook_s"`
}

type weights struct {
	Catch ingest.Maybe `json:"catch"`
	Bite  ingest.Maybe `json:"bite"`
	Mark  ingest.Maybe `json:"mark"`
	Bait  ingest.Maybe `json:"bait"`
}

type windOf struct {
	WindMPS ingest.Maybe `json:"wind_mps"`
	FromDeg ingest.Maybe `json:"wind_from_deg"`
}

type headOf struct {
	Oz          ingest.Maybe `json:"oz"`
	G           ingest.Maybe `json:"g"`
	DensityKgM3 ingest.Maybe `json:"density_kg_m3"`
}

type lineOf struct {
	UpToG       ingest.Maybe `json:"up_to_g"`
	Name        string       `json:"name"`
	DiameterMM  ingest.Maybe `json:"diameter_mm"`
	DensityKgM3 ingest.Maybe `json:"density_kg_m3"`
	Leader      *leader      `json:"leader"` // null: none
}

// leader is the line next to the head.
type leader struct {
	Name       string       `json:"name"`
	DiameterMM ingest.Maybe `json:"diameter_mm"`
	LengthM    ingest.Maybe `json:"length_m"`
}

func leaderOf(l *ingest.Leader) *leader {
	if l == nil {
		return nil
	}
	return &leader{l.Name, export.Round(l.DiameterM*1000, 3), export.Round(l.LengthM, 2)}
}

type countdown struct {
	HeadOz      ingest.Maybe `json:"head_oz"`
	HeadG       ingest.Maybe `json:"head_g"`
	DensityKgM3 ingest.Maybe `json:"density_kg_m3"`
	TrailerM    ingest.Maybe `json:"trailer_m"`
	DepthM      ingest.Maybe `json:"depth_m"`
	Seconds     ingest.Maybe `json:"seconds"`
}

type trailerOf struct {
	UpToG   ingest.Maybe `json:"up_to_g"`
	LengthM ingest.Maybe `json:"length_m"`
}

func settingsOf(s *spatial.Settings) *settings {
	if s == nil {
		return nil
	}
	// Lengths come from feet and yards as often as from metres; the last digits of
	// such a number say nothing.
	r := func(v float64) ingest.Maybe { return export.Round(v, 4) }
	out := &settings{
		CastM: r(s.CastM), Weights: weights{r(s.Weights.Catch), r(s.Weights.Bite), r(s.Weights.Mark), r(s.Weights.Bait)}, MinEvents: s.MinEvents, FrenzyS: r(s.FrenzyS), CellM: r(s.CellM), ReachM: r(s.ReachM),
		ContourM: r(s.ContourM), BandM: r(s.BandM), RunMPS: r(s.RunMPS), Crawling: s.Crawling.String(), DriftMinS: r(s.DriftMinS),
		DriftMinM: r(s.DriftMinM), LineWidthM: r(s.LineWidthM), MaxGapS: r(s.MaxGapS),
		Simulations: s.Simulations, Seed: s.Seed, PoolM: export.RoundMaybe(s.PoolM, 4),
		MaxSinkS: r(s.Tackle.MaxSinkS), MaxAngleDeg: r(s.Tackle.MaxAngleDeg), WaterC: r(s.Tackle.WaterC),
		Heads: []headOf{}, Lines: []lineOf{}, Trailers: []trailerOf{},
		Countdowns: []countdown{}, ReelMPS: r(s.Tackle.ReelMPS), ReelUpMPS: r(s.Tackle.ReelUpMPS), UnhookS: r(s.Tackle.UnhookS),
	}
	if w := s.Forecast; w != nil {
		out.Forecast = &windOf{r(w.SpeedMPS), r(w.FromDeg)}
	}
	for _, h := range s.Tackle.Heads {
		out.Heads = append(out.Heads, headOf{export.Round(h.MassKg/si.OunceKg, 4), export.Round(h.MassKg*1000, 2), r(h.DensityKgM3)})
	}
	for _, l := range s.Tackle.Lines {
		out.Lines = append(out.Lines, lineOf{export.Round(l.UpToKg*1000, 2), l.Line.Name, export.Round(l.Line.DiameterM*1000, 3), r(l.Line.DensityKgM3), leaderOf(l.Line.Leader)})
	}
	for _, t := range s.Tackle.Trailers {
		out.Trailers = append(out.Trailers, trailerOf{export.Round(t.UpToKg*1000, 2), export.Round(t.LengthM, 4)})
	}
	for _, c := range s.Tackle.Countdowns {
		out.Countdowns = append(out.Countdowns, countdown{
			export.Round(c.Head.MassKg/si.OunceKg, 4), export.Round(c.Head.MassKg*1000, 2), r(c.Head.DensityKgM3), r(c.TrailerM), r(c.DepthM), r(c.Seconds),
		})
	}
	return out
}
