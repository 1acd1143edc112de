package resultfile

import (
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
)

func nested(t *testing.T, v any, path ...any) any {
	t.Helper()
	for _, step := range path {
		switch step := step.(type) {
		case string:
			m, ok := v.(map[string]any)
			if !ok {
				t.Fatalf("%v of %v: not an object", step, path)
			}
			next, there := m[step]
			if !there {
				t.Fatalf("no %s of %v", step, path)
			}
			v = next
		case int:
			v = v.([]any)[step]
		}
	}
	return v
}

// TestWindAndDrifts: the members are there under their names, and what isn't known is
// null with its reason beside it.
func TestWindAndDrifts(t *testing.T) {
	known := decoded(t, written(t, exporttest.Season(), export.Options{}))
	unknown := decoded(t, written(t, exporttest.WindUnknown(exporttest.Season()), export.Options{}))
	empty := decoded(t, written(t, exporttest.Empty(), export.Options{}))
	const why = "only 2 passes have a wind, and 6 are needed"
	type path = []any
	for _, c := range []struct {
		in   map[string]any
		at   path
		want any
	}{
		{known, path{"days", 0, "drifting_h"}, 3.87},
		{known, path{"days", 0, "holding_h"}, 2.58},
		{known, path{"days", 0, "crawling_h"}, 0.49},
		{known, path{"days", 0, "running_h"}, 0.71},
		{known, path{"days", 0, "stopped_h"}, 0.34},
		{known, path{"days", 1, "unknown_h"}, 0.21},
		{known, path{"drifts", 0, "events_per_pass"}, 1.58},
		{known, path{"drifts", 0, "events_per_pass_low"}, 0.99},
		{known, path{"drifts", 0, "events_per_pass_high"}, 2.32},
		{known, path{"drifts", 0, "speed_low_mps"}, 0.181},
		{known, path{"drifts", 0, "speed_high_mps"}, 0.262},
		{known, path{"drifts", 0, "stretch", "rate_per_h"}, 8.4},
		{known, path{"drifts", 0, "stretch", "rate_low_per_h"}, 5.0},
		{known, path{"drifts", 0, "stretch", "rest_per_h"}, 1.52},
		{known, path{"drifts", 0, "stretch", "top_m"}, 6.71},
		{known, path{"drifts", 0, "profile", 52, 0}, 260.0},
		{known, path{"drifts", 1, "stretch"}, nil},
		{known, path{"drifts", 1, "profile", 20, 1}, nil},
		{known, path{"drifts", 2, "events_per_pass_low"}, nil},
		{known, path{"leeway", "ok"}, true},
		{known, path{"leeway", "why"}, nil},
		{known, path{"leeway", "per_wind"}, 0.051},
		{known, path{"leeway", "angle_high_deg"}, 10.3},
		{known, path{"leeway", "current_toward_deg"}, 68.0},
		{known, path{"forecast", "speed_low_mps"}, 0.182},
		{known, path{"forecast", "toward_u95_deg"}, 11.6},
		{known, path{"forecast", "why"}, nil},
		{known, path{"zones", 0, "forecast_head", "head_oz"}, 0.5},
		{known, path{"zones", 2, "forecast_head", "head_oz"}, nil},
		{known, path{"settings", "forecast", "wind_from_deg"}, 315.0},
		{known, path{"settings", "crawling"}, "moved"},
		{unknown, path{"leeway", "ok"}, false},
		{unknown, path{"leeway", "why"}, why},
		{unknown, path{"leeway", "per_wind"}, nil},
		{unknown, path{"leeway", "scatter_mps"}, nil},
		{unknown, path{"leeway", "passes"}, 2.0},
		{unknown, path{"forecast", "wind_mps"}, 4.47},
		{unknown, path{"forecast", "speed_mps"}, nil},
		{unknown, path{"forecast", "why"}, why},
		{unknown, path{"zones", 0, "forecast_head"}, nil},
		{empty, path{"leeway", "angle_deg"}, nil},
		{empty, path{"forecast"}, nil},
	} {
		if got := nested(t, c.in, c.at...); got != c.want {
			t.Errorf("%v is %v, want %v", c.at, got, c.want)
		}
	}
}
