package resultfile

import (
	"leadline/export"
	"leadline/ingest"
	"leadline/spatial"
)

// bottom is how the depth map came about and how good it is. All depths in metres.
type bottom struct {
	CellM     ingest.Maybe `json:"cell_m"` // null: no sounding
	Cells     int          `json:"cells"`
	Sounded   int          `json:"cells_sounded"`
	Passes    int          `json:"passes"`
	Method    *string      `json:"method"` // null: none could be tried
	Trials    []trialOf    `json:"trials"`
	U95M      ingest.Maybe `json:"u95_m"`
	U95Tested ingest.Maybe `json:"u95_tested_share"` // of the map
	Strays    int          `json:"strays"`
	Crossings crossings    `json:"crossings"`
}

type trialOf struct {
	Method string       `json:"method"`
	MeanM  ingest.Maybe `json:"mean_error_m"`
	RMSEM  ingest.Maybe `json:"rmse_m"`
	BiasM  ingest.Maybe `json:"bias_m"`
	P95M   ingest.Maybe `json:"p95_m"`
	Share  ingest.Maybe `json:"map_share"`
	Places int          `json:"places"`
	NearM  ingest.Maybe `json:"near_rmse_m"` // within a cell of a sounding
	Near   int          `json:"near_places"`
	Chosen bool         `json:"chosen"`
}

type crossings struct {
	Count    int          `json:"count"`
	MedianM  ingest.Maybe `json:"median_m"`
	P95M     ingest.Maybe `json:"p95_m"`
	DepthM   ingest.Maybe `json:"depth_m"`
	OneM     ingest.Maybe `json:"one_sounding_95_m"`
	Standard []limitOf    `json:"s44_limits"` // context, not a claim
}

type limitOf struct {
	Order string       `json:"order"`
	M     ingest.Maybe `json:"m"`
}

// shift is what was added to a day's depths.
type shift struct {
	From    string       `json:"from"`
	M       ingest.Maybe `json:"m"`
	ErrorM  ingest.Maybe `json:"error_m"`
	SpreadM ingest.Maybe `json:"spread_m"`
	Cells   int          `json:"shared_cells"`
}

type structureShare struct {
	Kind  string       `json:"kind"`
	Share ingest.Maybe `json:"share"`
}

// decimals of metres here: a difference is finer than a depth.
const fine = 3

func bottomOf(b spatial.Bottom) bottom {
	out := bottom{
		Cells: b.Cells, Sounded: b.Sounded, Passes: b.Passes, Trials: []trialOf{}, U95M: export.RoundMaybe(b.U95M, fine),
		U95Tested: export.Round(b.Tested, 3), Strays: b.Strays, Crossings: crossings{
			Count: b.Crossings.N, MedianM: export.RoundMaybe(b.Crossings.MedianM, fine), P95M: export.RoundMaybe(b.Crossings.P95M, fine),
			DepthM: export.RoundMaybe(b.Crossings.DepthM, 2), OneM: export.RoundMaybe(b.Crossings.OneM, fine), Standard: []limitOf{},
		},
	}
	if b.CellM > 0 {
		out.CellM = export.Round(b.CellM, 2)
	}
	for _, t := range b.Trials {
		x := trialOf{Method: t.Method, Places: t.Places, Near: t.NearPlaces, Chosen: t.Chosen}
		if t.Places > 0 {
			x.MeanM, x.RMSEM = export.Round(t.MeanM, fine), export.Round(t.RMSEM, fine)
			x.Share = export.Round(t.Share, fine)
			x.BiasM, x.P95M = export.Round(t.BiasM, fine), export.Round(t.P95M, fine)
		}
		if t.NearPlaces > 0 {
			x.NearM = export.Round(t.NearRMSEM, fine)
		}
		if t.Chosen {
			out.Method = &x.Method
		}
		out.Trials = append(out.Trials, x)
	}
	for _, l := range b.Crossings.Limits {
		out.Crossings.Standard = append(out.Crossings.Standard, limitOf{l.Order, export.Round(l.M, fine)})
	}
	return out
}

func shiftOf(s spatial.DayShift) shift {
	return shift{
		From: s.From.String(), M: export.Round(s.M, fine), ErrorM: export.RoundMaybe(s.ErrorM, fine),
		SpreadM: export.RoundMaybe(s.SpreadM, fine), Cells: s.Cells,
	}
}

// move is how a zone's centre moves: metres a day, or for each metre that the water
// falls.
type move struct {
	M         ingest.Maybe `json:"m"` // null: too few days
	TowardDeg ingest.Maybe `json:"toward_deg"`
	ErrorM    ingest.Maybe `json:"error_m"`
	Days      int          `json:"days"`
	Sure      bool         `json:"sure"`
}

func moveOf(m spatial.ZoneMove) move {
	out := move{Days: m.Days, Sure: m.Sure}
	if m.OK {
		out.M, out.TowardDeg, out.ErrorM = export.Round(m.M, fine), export.Round(m.TowardDeg, 1), export.Round(m.ErrorM, fine)
	}
	return out
}

// terrain is medians inside a zone.
type terrain struct {
	Slope        ingest.Maybe `json:"slope"` // metres per metre
	ProfileCurve ingest.Maybe `json:"profile_curvature_per_m"`
	PlanCurve    ingest.Maybe `json:"plan_curvature_per_m"`
	FineM        ingest.Maybe `json:"position_fine_m"` // height above the water around
	BroadM       ingest.Maybe `json:"position_broad_m"`
}

func terrainOf(t spatial.Terrain) terrain {
	return terrain{
		Slope: export.RoundMaybe(t.Slope, 4), ProfileCurve: export.RoundMaybe(t.ProfileCurve, 5), PlanCurve: export.RoundMaybe(t.PlanCurve, 5),
		FineM: export.RoundMaybe(t.FineM, fine), BroadM: export.RoundMaybe(t.BroadM, fine),
	}
}

func structures(shares []spatial.StructureShare) []structureShare {
	out := []structureShare{}
	for _, s := range shares {
		out = append(out, structureShare{s.Kind, export.Round(s.Share, 2)})
	}
	return out
}
