package export

import (
	"testing"

	"leadline/spatial"
)

// TestDayStates: every hour of a day has its own state, and none is left out.
func TestDayStates(t *testing.T) {
	d := spatial.DaySummary{FishingH: 999, DriftingH: 1, HoldingH: 2, CrawlingH: 4, RunningH: 8, StoppedH: 16, UnknownH: 32}
	want := []StateHours{
		{"drifting", "drifting", 1}, {"holding", "holding", 2}, {"crawling", "crawling under the motor", 4},
		{"running", "running", 8}, {"stopped", "stopped", 16}, {"unknown", "not known", 32},
	}
	got := DayStates(d)
	if len(got) != len(want) {
		t.Fatalf("%d states, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("state %d is %v, want %v", i, got[i], want[i])
		}
	}
}
