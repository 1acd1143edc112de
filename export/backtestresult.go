package export

import (
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The head of a backtest's JSON. The version goes up when a name changes its meaning or goes
// away, not when one is added.
const (
	BacktestFormat  = "leadline backtest"
	BacktestVersion = 1
)

// estimateDecimals are kept of figures and their intervals. The share of a lake's water that
// lies inside zones may be a hundredth.
const estimateDecimals = 5

// BacktestResult returns a backtest as one object for JSON, in the order to write it in. A
// figure has value, the ends low and high of its interval, the number of days (or weeks) that
// tell of it, and why there is no interval; its unit ends the figure's own name. What can't be
// known is null. Lists are never null. Sentences are in the units of u.
func BacktestResult(b spatial.Backtest, u si.System) Properties {
	leftOut, summary, remarks := []Properties{}, BacktestWords(b, u), []Properties{}
	for _, o := range b.Units {
		leftOut = append(leftOut, Properties{
			{"from", o.From}, {"to", o.To}, {"events", Round(o.Events, eventsDecimals)}, {"fishing_h", Round(o.Hours, hoursDecimals)},
			{"earlier", toldResult(o.Earlier)}, {"others", toldResult(o.Others)},
		})
	}
	for _, r := range b.Remarks {
		remarks = append(remarks, Properties{{"about", r.About}, {"text", r.Text}})
	}
	return Properties{
		{"format", BacktestFormat}, {"version", BacktestVersion},
		{"left_out_by", spanOf(b).noun}, {"interval_share", 0.95},
		{"cast_m", Round(b.CastM, depthDecimals)}, {"min_events", b.MinEvents}, {"lake_m2", Round(b.LakeM2, distanceDecimals)},
		{"verdict", verdictWord(b.Earlier.Verdict)}, // of earlier's lift
		{"earlier", foretoldResult(b.Earlier)}, {"others", foretoldResult(b.Others)},
		{"left_out", leftOut}, {"tuning", tuningResult(b.Tuning)},
		{"summary", summary}, {"remarks", remarks}, {"cautions", BacktestCautions()},
	}
}

func verdictWord(v spatial.Verdict) string {
	switch v {
	case spatial.NoBetter:
		return "no better"
	case spatial.Better:
		return "better"
	case spatial.Worse:
		return "worse"
	}
	return "too few"
}

func estimateResult(e spatial.Estimate) Properties {
	var value, low, high ingest.Maybe
	if e.OK {
		value = Round(e.Value, estimateDecimals)
	}
	if e.Bounded {
		low, high = Round(e.Low, estimateDecimals), Round(e.High, estimateDecimals)
	}
	why := any(nil)
	if !e.Bounded {
		why = word(e.Why)
	}
	return Properties{{"value", value}, {"low", low}, {"high", high}, {"days", e.Days}, {"why", why}}
}

func foretoldResult(f spatial.Foretold) Properties {
	pit, known := []ingest.Maybe{}, []Properties{}
	for _, p := range f.PIT {
		pit = append(pit, Round(p, estimateDecimals))
	}
	for _, k := range f.ByKnown {
		known = append(known, Properties{
			{"known_from_days", k.From}, {"known_to_days", k.To}, {"left_out", k.Days},
			{"lift_ratio", estimateResult(k.Lift)}, {"verdict", verdictWord(k.Verdict)},
		})
	}
	return Properties{
		{"foretold", f.Days}, {"not_in_lifts", f.LeftOut}, {"events", Round(f.Events, eventsDecimals)}, {"fishing_h", Round(f.Hours, hoursDecimals)},
		{"lift_ratio", estimateResult(f.Lift)},
		{"lift_against_outside_ratio", estimateResult(f.LiftOutside)},
		{"lift_all_as_one_ratio", estimateResult(f.LiftPooled)},
		{"events_inside_share", estimateResult(f.HitRate)},
		{"fishing_inside_share", estimateResult(f.HoursShare)},
		{"water_inside_share", estimateResult(f.AreaShare)},
		{"accuracy_index_ratio", estimateResult(f.Accuracy)},
		{"over_one_rate_nats_per_event", estimateResult(f.OverFlat)},
		{"over_last_trip_nats_per_event", estimateResult(f.OverLast)},
		{"intervals_held_share", estimateResult(f.Coverage)},
		{"given_over_promised_ratio", estimateResult(f.Catch)},
		{"pit_shares", pit}, {"lift_by_known", known},
	}
}

func toldResult(t *spatial.Told) any {
	if t == nil {
		return nil
	}
	return Properties{
		{"known_days", t.Known}, {"zones", t.Zones}, {"events_inside", Round(t.EventsIn, eventsDecimals)},
		{"fishing_inside_h", Round(t.HoursIn, hoursDecimals)}, {"water_inside_m2", Round(t.AreaInM2, distanceDecimals)},
		{"promised_events", Round(t.Promised, eventsDecimals)}, {"given_events", Round(t.Given, eventsDecimals)},
	}
}

func tuningResult(t *spatial.Tuning) any {
	if t == nil {
		return nil
	}
	tried := []Properties{}
	for i, a := range t.Tried {
		tried = append(tried, Properties{
			{"cast_m", Round(a.CastM, depthDecimals)}, {"min_events", a.MinEvents}, {"usual", a.Usual},
			{"over_one_rate_nats_per_event", Round(a.PerEvent, estimateDecimals)}, {"chosen_for", a.Chosen}, {"next", i == t.Next},
		})
	}
	return Properties{{"tried", tried}, {"scored", foretoldResult(t.Scored)}}
}
