package export

import "leadline/spatial"

// A StateHours is how long the boat did one thing.
type StateHours struct {
	State string // as a spatial.TrackPiece has it; "unknown" for time nobody can tell
	Name  string // in a person's words
	Hours float64
}

// DayStates returns a day's hours by what the boat did, in the order in which they
// are always shown: fishing first, what isn't known last.
func DayStates(d spatial.DaySummary) []StateHours {
	return []StateHours{
		{"drifting", "drifting", d.DriftingH},
		{"holding", "holding", d.HoldingH},
		{"crawling", "crawling under the motor", d.CrawlingH},
		{"running", "running", d.RunningH},
		{"stopped", "stopped", d.StoppedH},
		{"unknown", Unknown, d.UnknownH},
	}
}
