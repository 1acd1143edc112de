package resultfile

import (
	"bytes"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
)

// TestHeads: the members are there under their names, and what isn't known is null.
func TestHeads(t *testing.T) {
	in := exporttest.Season()
	all := decoded(t, written(t, in, export.Options{}))
	var b bytes.Buffer
	if err := WriteHeads(&b, in.Chart.Zones[0].Head, si.US); err != nil {
		t.Fatal(err)
	}
	one := decoded(t, b.Bytes())
	none := in.Chart.Zones[0].Head
	none.Stand.Rival = -1
	b.Reset()
	if err := WriteHeads(&b, none, si.US); err != nil {
		t.Fatal(err)
	}
	noRival := decoded(t, b.Bytes())
	type path = []any
	for _, c := range []struct {
		in   map[string]any
		at   path
		want any
	}{
		{one, path{"head_trials", 4, "cycle_s"}, 49.9},
		{one, path{"head_trials", 4, "reel_mps"}, 0.343},
		{one, path{"head_trials", 0, "reel_mps"}, nil},
		{one, path{"head_trials", 4, "leader", "name"}, "12 lb fluorocarbon"},
		{one, path{"head_trials", 0, "leader"}, nil},
		{one, path{"head_stand", "lighter_to_mps"}, 0.183},
		{one, path{"head_stand", "heavier_from_mps"}, 0.228},
		{one, path{"head_stand", "lighter_to_m"}, 5.3},
		{one, path{"head_stand", "heavier_from_m"}, 6.82},
		{one, path{"head_stand", "share"}, 0.58},
		{one, path{"head_stand", "rival_oz"}, 0.5},
		{one, path{"head_stand", "rival_share"}, 0.36},
		{noRival, path{"head_stand", "rival_oz"}, nil},
		{one, path{"head_sink", "per_length2"}, 0.094},
		{one, path{"head_sink", "per_length2_sd"}, 0.007},
		{one, path{"head_sink", "countdowns"}, 6.0},
		{one, path{"head_sink", "countdowns_off"}, 1.0},
		{one, path{"head_deep_mps"}, nil},
		{all, path{"zones", 0, "head_stand", "share"}, 0.58},
		{all, path{"zones", 0, "head_sink", "countdowns"}, 6.0},
		{all, path{"zones", 0, "stand", "suspended"}, 9.0}, // of the fish
		{all, path{"zones", 0, "forecast_head", "head_stand", "rival_oz"}, 0.375},
		{all, path{"zones", 1, "head_stand"}, nil},
		{all, path{"zones", 1, "head_sink"}, nil},
		{all, path{"zones", 2, "head_stand"}, nil},
		{all, path{"zones", 2, "head_sink", "countdowns"}, 6.0},
		{all, path{"zones", 2, "head_current_mps"}, 0.045},
		{all, path{"settings", "lines", 0, "leader"}, nil},
		{all, path{"settings", "lines", 1, "leader", "diameter_mm"}, 0.28},
		{all, path{"settings", "lines", 1, "leader", "length_m"}, 0.91},
		{all, path{"settings", "countdowns", 1, "seconds"}, 31.0},
		{all, path{"settings", "countdowns", 1, "head_oz"}, 0.125},
		{all, path{"settings", "reel_up_mps"}, 0.5},
		{all, path{"settings", "unhook_s"}, 20.0},
	} {
		if got := nested(t, c.in, c.at...); got != c.want {
			t.Errorf("%v is %v, want %v", c.at, got, c.want)
		}
	}
}
