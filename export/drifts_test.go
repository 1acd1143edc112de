package export

import (
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// mph is one mile per hour, 0.44704 m/s exactly (NIST SP 811, appendix B.8).
const mph = 0.44704

func TestSpeedSpread(t *testing.T) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		u         si.System
		want      string
	}{
		{"in mph", 0.5 * mph, 0.4 * mph, 0.6 * mph, si.US, "0.5 mph (0.4 to 0.6)"},
		{"in m/s", 0.224, 0.181, 0.262, si.Metric, "0.22 m/s (0.18 to 0.26)"},
		{"one side reads the same", 0.5 * mph, 0.48 * mph, 0.6 * mph, si.US, "0.5 mph (0.5 to 0.6)"},
		{"both read the same", 0.5 * mph, 0.48 * mph, 0.52 * mph, si.US, "0.5 mph"},
	} {
		if got := SpeedSpread(c.v, c.lo, c.hi, c.u); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestStretchWords(t *testing.T) {
	known, rate := ingest.Known, func(v float64) spatial.Rate { return spatial.Rate{PerH: v, OK: true} }
	line := func(fromM, toM float64, s *spatial.Stretch) spatial.DriftLine {
		return spatial.DriftLine{Events: 9, ProductiveFromM: known(fromM), ProductiveToM: known(toM), Stretch: s}
	}
	full := &spatial.Stretch{Rate: rate(8.1), Rest: rate(0.9), TopM: known(22 * si.FootM), BottomM: known(26 * si.FootM)}
	level := &spatial.Stretch{Rate: rate(8.1), Rest: rate(0.9), TopM: known(22 * si.FootM), BottomM: known(22.3 * si.FootM)}
	blind := &spatial.Stretch{Rate: rate(8.1)}
	yard := 3 * si.FootM
	for _, c := range []struct {
		name string
		line spatial.DriftLine
		u    si.System
		want string
	}{
		{"all known", line(40*yard, 95*yard, full), si.US, "from 40 to 95 yd along it, over 22 to 26 ft: 8.1 an hour against 0.90 on the rest"},
		{"metric", line(37, 87, full), si.Metric, "from 37 to 87 m along it, over 6.7 to 7.9 m: 8.1 an hour against 0.90 on the rest"},
		{"level bottom", line(40*yard, 95*yard, level), si.US, "from 40 to 95 yd along it, over 22 ft: 8.1 an hour against 0.90 on the rest"},
		{"two units", line(96, 2060, full), si.Metric, "from 96 m to 2.1 km along it, over 6.7 to 7.9 m: 8.1 an hour against 0.90 on the rest"},
		{"never sounded, no rest", line(40*yard, 95*yard, blind), si.US, "from 40 to 95 yd along it, over bottom that was never sounded: 8.1 an hour"},
		{"only the place", line(40*yard, 95*yard, nil), si.US, "from 40 to 95 yd along it"},
		{"no stretch", spatial.DriftLine{Events: 3}, si.US, "no stretch stands out"},
		{"no event", spatial.DriftLine{}, si.US, "nothing was caught or seen on it"},
	} {
		if got := StretchWords(c.line, c.u); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestProfileWords(t *testing.T) {
	points := func(ft ...float64) []spatial.ProfilePoint { // negative: unknown
		var out []spatial.ProfilePoint
		for i, v := range ft {
			p := spatial.ProfilePoint{AlongM: 5 * float64(i)}
			if v >= 0 {
				p.DepthM = ingest.Known(v * si.FootM)
			}
			out = append(out, p)
		}
		return out
	}
	for _, c := range []struct {
		name   string
		points []spatial.ProfilePoint
		want   string
	}{
		{"over a hump", points(26, 22, 30, 34, 31), "26 ft at its start, 31 ft at its end, 22 ft at the shallowest, 34 ft at the deepest"},
		{"unknown start", points(-1, 22, 30, 34), "not known at its start, 34 ft at its end, 22 ft at the shallowest, 34 ft at the deepest; not sounded along 25 % of it"},
		{"level", points(26, 26.2, 25.9), "26 ft all along it"},
		{"none sounded", points(-1, -1), "no depth is known along it"},
		{"no points", nil, "no depth is known along it"},
	} {
		if got := ProfileWords(c.points, si.US); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestPerPassWords(t *testing.T) {
	if got, want := PerPassWords(spatial.Rate{PerH: 1.58, LowPerH: 1.02, HighPerH: 2.32, OK: true}), "1.6 a pass (1.0 to 2.3)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := PerPassWords(spatial.Rate{PerH: 1.58}); got != "" {
		t.Errorf("unknown, yet says %q", got)
	}
}

// TestDriftFeature: what a line doesn't have is unknown, not 0.
func TestDriftFeature(t *testing.T) {
	known := ingest.Known
	full := spatial.DriftLine{
		SpeedLowMPS: 0.1, SpeedHighMPS: 0.3, PerPass: spatial.Rate{PerH: 1.2, OK: true},
		Stretch: &spatial.Stretch{TopM: known(6), MiddleM: known(7), BottomM: known(8)},
	}
	for _, c := range []struct {
		name string
		line spatial.DriftLine
		want []ingest.Maybe
	}{
		{"all known", full, []ingest.Maybe{known(0.1), known(0.3), known(1.2), known(7)}},
		{"never sounded", spatial.DriftLine{SpeedLowMPS: 0.1, SpeedHighMPS: 0.3, Stretch: &spatial.Stretch{}}, []ingest.Maybe{known(0.1), known(0.3), {}, {}}},
		{"no stretch", spatial.DriftLine{}, []ingest.Maybe{known(0), known(0), {}, {}}},
	} {
		at := map[string]any{}
		for _, p := range DriftFeature(c.line, si.US).Properties {
			at[p.Name] = p.Value
		}
		for i, name := range []string{"speed_low_mps", "speed_high_mps", "events_per_pass", "stretch_depth_m"} {
			if at[name] != c.want[i] {
				t.Errorf("%s: %s is %v, want %v", c.name, name, at[name], c.want[i])
			}
		}
	}
}
