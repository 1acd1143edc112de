package resultfile

import (
	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// headStand is what would change a pick, and how often it stays the pick.
type headStand struct {
	LighterToMPS   ingest.Maybe `json:"lighter_to_mps"`
	HeavierFromMPS ingest.Maybe `json:"heavier_from_mps"`
	LighterToM     ingest.Maybe `json:"lighter_to_m"`
	HeavierFromM   ingest.Maybe `json:"heavier_from_m"`
	Share          ingest.Maybe `json:"share"`
	RivalOz        ingest.Maybe `json:"rival_oz"` // null with a share: none of the box would do
	RivalShare     ingest.Maybe `json:"rival_share"`
}

// headStandOf returns nil for a choice without a pick.
func headStandOf(c spatial.HeadChoice) *headStand {
	if !c.Picked {
		return nil
	}
	s := c.Stand
	out := &headStand{
		LighterToMPS: export.RoundMaybe(s.LighterToMPS, 3), HeavierFromMPS: export.RoundMaybe(s.HeavierFromMPS, 3),
		LighterToM: export.RoundMaybe(s.LighterToM, 2), HeavierFromM: export.RoundMaybe(s.HeavierFromM, 2), Share: export.RoundMaybe(s.Share, 3),
	}
	if !s.Share.OK {
		return out
	}
	out.RivalShare = export.Round(s.RivalShare, 3)
	if s.RivalShare > 0 && s.Rival >= 0 && s.Rival < len(c.Trials) {
		out.RivalOz = export.Round(c.Trials[s.Rival].Head.MassKg/si.OunceKg, 4)
	}
	return out
}

// sinkDrag is what the sink times rest on.
type sinkDrag struct {
	PerLength2    ingest.Maybe `json:"per_length2"`
	PerLength2SD  ingest.Maybe `json:"per_length2_sd"` // null: the usual figure, not a calibration
	Countdowns    int          `json:"countdowns"`
	CountdownsOff int          `json:"countdowns_off"`
}

// sinkOf returns nil where no head was tried.
func sinkOf(c spatial.HeadChoice) *sinkDrag {
	if len(c.Trials) == 0 {
		return nil
	}
	s := c.Sink
	return &sinkDrag{export.Round(s.PerLength2, 4), export.RoundMaybe(s.PerLength2SD, 4), s.Countdowns, s.CountdownsOff}
}
