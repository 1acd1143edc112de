package export

import (
	"strings"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func TestLeewayWords(t *testing.T) {
	rule := func(deg, low, high float64) spatial.Leeway {
		return spatial.Leeway{OK: true, PerWind: 0.051, PerWindLow: 0.046, PerWindHigh: 0.0571, AngleDeg: deg, AngleLowDeg: low, AngleHighDeg: high}
	}
	const speed = "The boat drifts at 5.1 % of the wind's speed (4.6 to 5.7), "
	for _, c := range []struct {
		name string
		l    spatial.Leeway
		want string
	}{
		{"to the right", rule(6.2, 2.1, 10.3), speed + "6° to the right of downwind (2 to 10)."},
		{"to the left", rule(-6.2, -10.3, -2.1), speed + "6° to the left of downwind (2 to 10)."},
		{"right, may be left", rule(3, -2, 8), speed + "3° to the right of downwind (2° left to 8° right)."},
		{"left, may be right", rule(-3, -8, 2), speed + "3° to the left of downwind (8° left to 2° right)."},
		{"straight", rule(0.2, -3, 4), speed + "straight downwind (3° left to 4° right)."},
		{"straight, one limit too", rule(0.4, 0.1, 3), speed + "straight downwind (0° to 3° right)."},
		{"right, limit at zero", rule(2, -0.3, 4), speed + "2° to the right of downwind (0 to 4)."},
		{"left, limit at zero", rule(-2, -4, 0.3), speed + "2° to the left of downwind (0 to 4)."},
		{"not known", spatial.Leeway{Why: "only 2 passes have a wind."}, "How the boat drifts in wind is not known: only 2 passes have a wind. " + DriftsAsMade},
		{"not known, nothing said", spatial.Leeway{}, "How the boat drifts in wind is not known. " + DriftsAsMade},
	} {
		if got := LeewayWords(c.l); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestCurrentWords(t *testing.T) {
	known := ingest.Known
	for _, c := range []struct {
		name string
		l    spatial.Leeway
		u    si.System
		want string
	}{
		{"known", spatial.Leeway{OK: true, CurrentMPS: known(0.1 * mph), CurrentU95MPS: known(0.05 * mph), CurrentTowardDeg: known(68)}, si.US,
			"A steady current of 0.10 mph toward ENE (± 0.05)."},
		{"metric", spatial.Leeway{OK: true, CurrentMPS: known(0.045), CurrentU95MPS: known(0.022), CurrentTowardDeg: known(68)}, si.Metric,
			"A steady current of 0.045 m/s toward ENE (± 0.022)."},
		{"may be none", spatial.Leeway{OK: true, CurrentMPS: known(0.04 * mph), CurrentU95MPS: known(0.07 * mph)}, si.US,
			"No steady current shows: 0.04 mph ± 0.07 mph may be none."},
		{"unknown", spatial.Leeway{OK: true, CurrentWhy: "all winds came from one side"}, si.US,
			"Whether a steady current runs is not known: all winds came from one side."},
		{"no rule", spatial.Leeway{CurrentMPS: known(0.1)}, si.US, ""},
	} {
		if got := CurrentWords(c.l, c.u); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestScatterWords(t *testing.T) {
	want := "One pass differs from that by 0.07 mph along the drift, and as much across it (standard deviation). It was learned from 41 passes with a wind, on 1 day; limits hold 95 times in 100."
	if got := ScatterWords(spatial.Leeway{OK: true, ScatterMPS: 0.07 * mph, Passes: 41, Days: 1}, si.US); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := ScatterWords(spatial.Leeway{ScatterMPS: 1}, si.US); got != "" {
		t.Errorf("no rule, yet says %q", got)
	}
}

func TestForecastWords(t *testing.T) {
	known := ingest.Known
	full := spatial.Forecast{
		WindMPS: 10 * mph, WindFromDeg: 315, SpeedMPS: known(0.5 * mph), LowMPS: known(0.4 * mph), HighMPS: known(0.7 * mph),
		TowardDeg: known(134.4), TowardU95Deg: known(12.3),
	}
	with := func(change func(*spatial.Forecast)) *spatial.Forecast {
		f := full
		change(&f)
		return &f
	}
	for _, c := range []struct {
		name string
		f    *spatial.Forecast
		u    si.System
		want string
	}{
		{"full", &full, si.US, "In 10 mph from NW: 0.5 mph (0.4 to 0.7) toward SE (134°), give or take 12°."},
		{"metric", &full, si.Metric, "In 4.5 m/s from NW: 0.22 m/s (0.18 to 0.31) toward SE (134°), give or take 12°."},
		{"half a mile an hour", with(func(f *spatial.Forecast) { f.WindMPS = 7.5 * mph }), si.US, "In 7.5 mph from NW: 0.5 mph (0.4 to 0.7) toward SE (134°), give or take 12°."},
		{"any way", with(func(f *spatial.Forecast) { f.TowardU95Deg = ingest.Maybe{} }), si.US, "In 10 mph from NW: 0.5 mph (0.4 to 0.7) toward SE (134°), but it may go any way."},
		{"no way", with(func(f *spatial.Forecast) { f.TowardDeg = ingest.Maybe{} }), si.US, "In 10 mph from NW: 0.5 mph (0.4 to 0.7), which way is not known."},
		{"no limits", with(func(f *spatial.Forecast) { f.LowMPS = ingest.Maybe{} }), si.US, "In 10 mph from NW: 0.5 mph toward SE (134°), give or take 12°."},
		{"just west of north", with(func(f *spatial.Forecast) { f.TowardDeg = known(359.7) }), si.US, "In 10 mph from NW: 0.5 mph (0.4 to 0.7) toward N (0°), give or take 12°."},
		{"beyond", with(func(f *spatial.Forecast) { f.Beyond, f.Why = true, "no pass had more than 8 mph" }), si.US,
			"In 10 mph from NW: 0.5 mph (0.4 to 0.7) toward SE (134°), give or take 12°. That wind is outside what was learned from: no pass had more than 8 mph."},
		{"unknown", &spatial.Forecast{WindMPS: 10 * mph, WindFromDeg: 315, Why: "only 2 passes have a wind"}, si.US,
			"In 10 mph from NW the drift is not known: only 2 passes have a wind."},
		{"none asked", nil, si.US, ""},
	} {
		if got := ForecastWords(c.f, c.u); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestForecastHeadWords(t *testing.T) {
	known := ingest.Known
	f := &spatial.Forecast{WindMPS: 10 * mph, WindFromDeg: 315, SpeedMPS: known(0.5 * mph), TowardDeg: known(134), TowardU95Deg: known(12)}
	picked := &spatial.HeadChoice{Picked: true, Pick: 1, Trials: []spatial.HeadTrial{headOf(0.25, 21, 12, 48), headOf(0.5, 14, 8, 39)}}
	none := &spatial.HeadChoice{Trials: picked.Trials[:1]}
	missing := &spatial.HeadChoice{Missing: []string{"fish depth"}}
	anyWay := *f
	anyWay.TowardU95Deg = ingest.Maybe{}
	for _, c := range []struct {
		name string
		head *spatial.HeadChoice
		f    *spatial.Forecast
		want string
	}{
		{"picked", picked, f, "in 10 mph from NW: 1/2 oz, down in 14 s; drift 0.5 mph toward SE"},
		{"may go any way", picked, &anyWay, "in 10 mph from NW: 1/2 oz, down in 14 s; drift 0.5 mph"},
		{"none will do", none, f, "in 10 mph from NW: none in the box will do; drift 0.5 mph toward SE"},
		{"missing", missing, f, "in 10 mph from NW: no fish depth; drift 0.5 mph toward SE"},
		{"no forecast", picked, nil, ""},
		{"no head", nil, f, ""},
	} {
		z := spatial.Zone{ForecastHead: c.head}
		if got := ForecastHeadWords(z, c.f, si.US); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		told := false
		for _, fact := range ZoneFacts(z, c.f, si.US) {
			told = told || fact.Label == "Forecast" && fact.Value == c.want
		}
		if told != (c.want != "") {
			t.Errorf("%s: told among the facts is %v", c.name, told)
		}
	}
}

// TestOneSentence: a reason that ends with a full stop, or none, gives one sentence.
func TestOneSentence(t *testing.T) {
	for _, why := range []string{"no wind is known", "no wind is known.", " no wind is known. "} {
		if got := CurrentWords(spatial.Leeway{OK: true, CurrentWhy: why}, si.US); !strings.HasSuffix(got, "not known: no wind is known.") {
			t.Errorf("%q", got)
		}
	}
}
