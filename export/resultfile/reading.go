package resultfile

import (
	"encoding/json"
	"io"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// WriteReading writes what became of every file, without any analysis: the members
// files, problems_elsewhere and unplaced of result.json. Errors are those of w.
func WriteReading(w io.Writer, in export.Findings) error {
	var r struct {
		Files     []file    `json:"files"`
		Elsewhere []problem `json:"problems_elsewhere"`
		Unplaced  unplaced  `json:"unplaced"`
	}
	r.Files, r.Elsewhere = files(in)
	r.Unplaced = leftOvers(in)
	return encode(w, r)
}

// WriteHeads writes a head-weight table, with the pick and why. Errors are those of w.
func WriteHeads(w io.Writer, c spatial.HeadChoice, u si.System) error {
	return encode(w, export.Properties{
		{Name: "head_depth_m", Value: export.RoundMaybe(c.DepthM, 2)},
		{Name: "head_speed_mps", Value: export.RoundMaybe(c.SpeedMPS, 3)},
		{Name: "head_top_m", Value: export.RoundMaybe(c.TopM, 2)},
		{Name: "head_deep_mps", Value: export.RoundMaybe(c.DeepMPS, 3)},
		{Name: "head_current_mps", Value: export.RoundMaybe(c.CurrentMPS, 3)},
		{Name: "head_close", Value: c.Close},
		{Name: "head_why", Value: export.HeadWhy(c, u)},
		{Name: "head_stand", Value: headStandOf(c)},
		{Name: "head_sink", Value: sinkOf(c)},
		{Name: "head_trials", Value: trials(c)},
	})
}

func encode(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(v)
}
