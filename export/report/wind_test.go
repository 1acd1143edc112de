package report

import (
	"slices"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// section returns one section of the page.
func section(t *testing.T, page, id string) string {
	t.Helper()
	_, rest, found := strings.Cut(page, `<section id="`+id+`"`)
	if !found {
		t.Fatalf("no section %s", id)
	}
	s, _, _ := strings.Cut(rest, "</section>")
	return s
}

func TestWindSection(t *testing.T) {
	oneSided := exporttest.Season()
	oneSided.Chart.Leeway.CurrentMPS, oneSided.Chart.Leeway.CurrentWhy = ingest.Maybe{}, "all winds came from one side"
	notAsked := exporttest.Season()
	notAsked.Chart.Forecast = nil
	for i := range notAsked.Chart.Zones {
		notAsked.Chart.Zones[i].ForecastHead = nil
	}
	for _, c := range []struct {
		name string
		in   export.Findings
		want []string
		not  []string
	}{
		{"known", exporttest.Season(), []string{
			"The boat drifts at 5.1 % of the wind&#39;s speed (4.6 to 5.7), 6° to the right of downwind (2 to 10).",
			"A steady current of 0.10 mph toward ENE (± 0.05).", "One pass differs from that by 0.07 mph",
			"In 10 mph from NW: 0.5 mph (0.4 to 0.7) toward SE (131°), give or take 12°.",
			`<a href="#zone-Z1">Z1</a>`, "<b>1/2 oz</b>", "<td>3/8 oz</td>", "<b>3/16 oz</b>", "<td>no drift speed</td>", "even 1/2 oz is too slow",
		}, []string{"No wind was asked about"}},
		{"one wind only", oneSided, []string{"Whether a steady current runs is not known: all winds came from one side."}, []string{"A steady current of"}},
		{"unknown", exporttest.WindUnknown(exporttest.Season()), []string{
			"How the boat drifts in wind is not known: only 2 passes have a wind", "nothing is said of other winds", "In 10 mph from NW the drift is not known",
		}, []string{"<table", "steady current", "One pass differs", "95 times"}},
		{"not asked", notAsked, []string{"The boat drifts at 5.1 %", "No wind was asked about."}, []string{"<table", "95 times in 100. As"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := section(t, string(written(t, c.in, export.Options{})), "wind")
			for _, want := range c.want {
				if !strings.Contains(s, want) {
					t.Errorf("doesn't say %q", want)
				}
			}
			for _, not := range c.not {
				if strings.Contains(s, not) {
					t.Errorf("says %q", not)
				}
			}
		})
	}
}

// TestForecastOnCards: each zone's card has the line when there is a head for the
// forecast, and none has it otherwise.
func TestForecastOnCards(t *testing.T) {
	const line = "<dt>Forecast</dt>"
	if got := strings.Count(string(written(t, exporttest.Season(), export.Options{})), line); got != 3 {
		t.Errorf("%d cards with a forecast, want 3", got)
	}
	if got := strings.Count(string(written(t, exporttest.WindUnknown(exporttest.Season()), export.Options{})), line); got != 0 {
		t.Errorf("%d cards with a forecast that nobody can make", got)
	}
}

func TestDriftSection(t *testing.T) {
	s := section(t, string(written(t, exporttest.Season(), export.Options{})), "drifts")
	for _, want := range []string{
		"0.5 mph (0.4 to 0.6)", "9 on 3 days", "1.6 (0.99 to 2.3)", "4.3 (2.7 to 6.3)",
		"Best from 105 to 224 yd along it, over 22 to 27 ft: 8.4 an hour against 1.5 on the rest.",
		"No stretch stands out.", "Nothing was caught or seen on it.", "Bottom: no depth is known along it.", "not sounded along 28 % of it",
	} {
		if !strings.Contains(s, want) {
			t.Errorf("doesn't say %q", want)
		}
	}
	for what, want := range map[string]int{`<svg class="profile"`: 2, ">best stretch<": 1, ">not sounded<": 1} {
		if got := strings.Count(s, what); got != want {
			t.Errorf("%d of %s, want %d", got, what, want)
		}
	}
}

// TestTracksByState: each state is drawn once, as one path of all its pieces, and the
// legend has every class that is drawn.
func TestTracksByState(t *testing.T) {
	ch := exporttest.Season().Chart
	d, _ := newDrawing(ch, si.US)
	got := map[string]int{}
	for _, s := range d.tracks() {
		if _, twice := got[s.Class]; twice {
			t.Errorf("%s is drawn twice", s.Class)
		}
		got[s.Class] = strings.Count(s.D, "M")
	}
	want := map[string]int{}
	for _, p := range ch.Tracks {
		want[p.State]++
	}
	if len(want) != len(trackStates) || len(got) != len(want) {
		t.Errorf("%d states drawn of %d, want the %d there are", len(got), len(want), len(trackStates))
	}
	for state, n := range want {
		if got[state] != n {
			t.Errorf("%d pieces %s, want %d", got[state], state, n)
		}
	}
	legend := trackLegend(d.whole())
	if want := []legendStep{
		{"drifting", "drifting, holding, stopped"}, {"crawling", "crawling under the motor"}, {"running", "running"},
	}; !slices.Equal(legend, want) {
		t.Errorf("legend %v, want %v", legend, want)
	}
	ch.Tracks = []spatial.TrackPiece{ch.Tracks[0]}
	d, _ = newDrawing(ch, si.US)
	if got := trackLegend(d.whole()); !slices.Equal(got, []legendStep{{"running", "running"}}) {
		t.Errorf("a boat that only ran has the legend %v", got)
	}
	if trackLegend(nil) != nil {
		t.Error("a legend without a map")
	}
}
