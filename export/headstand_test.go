package export

import (
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func TestHeadStandWords(t *testing.T) {
	mph := func(v float64) ingest.Maybe { return ingest.Known(v * si.MPHMPS) }
	ft := func(v float64) ingest.Maybe { return ingest.Known(v * si.FootM) }
	trials := []spatial.HeadTrial{headOf(1.0/8, 28, 0, 0), headOf(1.0/4, 21, 12, 48), headOf(3.0/8, 17, 9.6, 41), headOf(1.0/2, 15, 8.8, 33)}
	worse := append(trials[:3:3], headOf(1.0/2, 17.5, 8.8, 33)) // a thicker line and a larger trailer
	choice := func(pick int, trials []spatial.HeadTrial, s spatial.HeadStand) spatial.HeadChoice {
		return spatial.HeadChoice{DepthM: ft(24), SpeedMPS: mph(0.5), Picked: true, Pick: pick, Trials: trials, Stand: s}
	}
	const as = " with drift, depth and drag as uncertain as they are"
	for _, c := range []struct {
		name  string
		in    spatial.HeadChoice
		units si.System
		want  string
	}{
		{"all known", choice(2, trials, spatial.HeadStand{HeavierFromMPS: mph(0.5899), HeavierFromM: ft(27.9), LighterToMPS: mph(0.419), LighterToM: ft(19), Share: ingest.Known(0.87), Rival: 3, RivalShare: 0.13}), si.US,
			"Stands in 87 of 100 draws" + as + "; else 1/2 oz. A drift above 0.58 mph, or fish below 27 ft, wants 1/2 oz; up to 0.41 mph 1/4 oz would do."},
		{"others besides the rival, metric", choice(2, trials, spatial.HeadStand{Share: ingest.Known(0.6), Rival: 1, RivalShare: 0.25, HeavierFromM: ingest.Known(7.98)}), si.Metric,
			"Stands in 60 of 100 draws" + as + "; else mostly 7.1 g. Fish below 7.9 m want 14.2 g."},
		{"rival is none", choice(3, trials, spatial.HeadStand{Share: ingest.Known(0.7), Rival: -1, RivalShare: 0.3}), si.US,
			"Stands in 70 of 100 draws" + as + "; else none of the box would do."},
		{"every draw", choice(2, trials, spatial.HeadStand{Share: ingest.Known(1)}), si.US, "Stands in every draw" + as + "."},
		{"nearly every draw is not all", choice(2, trials, spatial.HeadStand{Share: ingest.Known(0.998), Rival: 3, RivalShare: 0.002}), si.US, "Stands in 99 of 100 draws" + as + "; else 1/2 oz."},
		{"hardly any draw is not none", choice(2, trials, spatial.HeadStand{Share: ingest.Known(0.002), Rival: 3, RivalShare: 0.998}), si.US, "Stands in fewer than 1 of 100 draws" + as + "; else 1/2 oz."},
		{"heaviest of the box", choice(3, trials, spatial.HeadStand{HeavierFromMPS: mph(0.7)}), si.US, "A drift above 0.70 mph is too much for the box."},
		{"the next heavier is no better", choice(2, worse, spatial.HeadStand{HeavierFromMPS: mph(0.6)}), si.US, "A drift above 0.60 mph wants a heavier head."},
		{"only less depth helps", choice(2, trials, spatial.HeadStand{LighterToM: ft(19.7)}), si.US, "Over fish down to 19 ft 1/4 oz would do."},
		{"a depth that whole feet would put on the other side", choice(2, trials, spatial.HeadStand{HeavierFromM: ft(24.46)}), si.US, "Fish below 24 ft want 1/2 oz."},
		{"lightest of the box", choice(0, trials, spatial.HeadStand{LighterToMPS: mph(0.3)}), si.US, ""},
		{"nothing known", choice(2, trials, spatial.HeadStand{}), si.US, ""},
		{"no pick", spatial.HeadChoice{Trials: trials, Stand: spatial.HeadStand{Share: ingest.Known(1)}}, si.US, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := HeadStandWords(c.in, c.units); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
	// Between two whole feet, both above the depth and below it.
	at := choice(2, trials, spatial.HeadStand{HeavierFromM: ft(24.46)})
	at.DepthM = ft(24.2)
	if got, want := HeadStandWords(at, si.US), "Fish below 24.4 ft want 1/2 oz."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestSinkDragWords: a time goes with the root of the drag area, so 10 % of area is 5 % of time.
func TestSinkDragWords(t *testing.T) {
	for _, c := range []struct {
		in   spatial.SinkDrag
		want string
	}{
		{spatial.SinkDrag{PerLength2: 0.1}, "Sink times rest on the usual drag of a trailer: no countdown was given."},
		{spatial.SinkDrag{PerLength2: 0.1, CountdownsOff: 2}, "Sink times rest on the usual drag of a trailer: 2 countdowns that contradict each other were left out."},
		{spatial.SinkDrag{PerLength2: 0.1, PerLength2SD: ingest.Known(0.01), Countdowns: 6}, "Sink times rest on 6 countdowns (± 5 %, standard error)."},
		{spatial.SinkDrag{PerLength2: 0.1, PerLength2SD: ingest.Known(0.001), Countdowns: 6, CountdownsOff: 1}, "Sink times rest on 6 countdowns (± 0.5 %, standard error); 1 that contradicts them was left out."},
		{spatial.SinkDrag{PerLength2: 0.1, Countdowns: 1, CountdownsOff: 2}, "Sink times rest on 1 countdown; 2 that contradict them were left out."},
	} {
		if got := SinkDragWords(c.in); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.in, got, c.want)
		}
	}
}

func TestTrialWords(t *testing.T) {
	none, some := spatial.HeadTrial{}, spatial.HeadTrial{CycleS: 51.6, ReelMPS: ingest.Known(0.7699 * si.MPHMPS)}
	leader := ingest.Line{Name: "50 lb braid", Leader: &ingest.Leader{Name: "12 lb fluorocarbon", LengthM: 0.9144}}
	band := spatial.HeadChoice{DepthM: ingest.Known(3), TopM: ingest.Known(2)}
	loose := spatial.HeadTrial{MeetsSink: true}
	for _, c := range []struct{ got, want string }{
		{CycleWords(none), "–"}, {CycleWords(some), "52 s"},
		{ReelWords(band, none, si.US), "none"}, {ReelWords(band, some, si.US), "0.76 mph"}, {ReelWords(band, some, si.Metric), "0.344 m/s"},
		{ReelWords(spatial.HeadChoice{DepthM: ingest.Known(3), TopM: ingest.Known(0)}, none, si.US), "any"},
		{LineWords(ingest.Line{Name: "8 lb nylon"}, si.US), "8 lb nylon"}, {LineWords(leader, si.US), "50 lb braid, 3 ft of 12 lb fluorocarbon"},
		{VerdictWords(loose, false), "can't hold the depth"}, {VerdictWords(none, false), "too slow, can't hold the depth"},
		{VerdictWords(headOf(0.25, 21, 12, 48), false), "too slow, too slanted"}, {VerdictWords(headOf(0.25, 19, 12, 48), false), "too slanted"},
		{VerdictWords(headOf(0.25, 21, 12, 44), false), "too slow"}, {VerdictWords(headOf(0.25, 19, 12, 44), false), "meets both"},
		{WaterWords(spatial.HeadChoice{}, si.US), "Still water was assumed."},
		{WaterWords(spatial.HeadChoice{DeepMPS: ingest.Known(-0.1)}, si.Metric), "At the fish the water goes past at 0.100 m/s, the other way."},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
