package export_test

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func backtests() map[string]spatial.Backtest {
	week := exporttest.Backtest()
	week.ByWeek = true
	return map[string]spatial.Backtest{
		"good": exporttest.Backtest(), "tuned": exporttest.BacktestTuned(), "few": exporttest.BacktestFew(), "no better": exporttest.BacktestNoBetter(),
		"worse": exporttest.BacktestWorse(), "none": exporttest.BacktestNone(), "week": week, "zero": {},
	}
}

// TestBacktestSamples: the samples' figures are those of their days, by the definitions of
// package foretell: hit rate Σa/ΣN, lift Σa / Σ N h/H over days with hours both inside and
// outside, area share, given over promised.
func TestBacktestSamples(t *testing.T) {
	for name, b := range backtests() {
		for half, f := range map[string]spatial.Foretold{"earlier": b.Earlier, "others": b.Others} {
			var n, in, even, inToo, area, all, promised, given float64
			days := 0
			for _, u := range b.Units {
				o := u.Earlier
				if half == "others" {
					o = u.Others
				}
				if o == nil {
					continue
				}
				days++
				n, in, area, all = n+u.Events, in+o.EventsIn, area+o.AreaInM2, all+b.LakeM2
				promised, given = promised+o.Promised, given+o.Given
				if o.HoursIn > 0 && o.HoursIn < u.Hours {
					inToo, even = inToo+o.EventsIn, even+u.Events*o.HoursIn/u.Hours
				}
			}
			if days != f.Days || math.Abs(n-f.Events) > 1e-9 {
				t.Errorf("%s, %s: %d days with %g events, the figures are of %d and %g", name, half, days, n, f.Days, f.Events)
			}
			for what, c := range map[string]struct {
				e           spatial.Estimate
				top, bottom float64
			}{"hit rate": {f.HitRate, in, n}, "lift": {f.Lift, inToo, even}, "area": {f.AreaShare, area, all}, "catch": {f.Catch, given, promised}} {
				// Four digits are written, and hours to a hundredth.
				if c.e.OK && math.Abs(c.e.Value-c.top/c.bottom) > 1e-3*c.e.Value {
					t.Errorf("%s, %s: %s %g, by hand %g", name, half, what, c.e.Value, c.top/c.bottom)
				}
			}
		}
	}
}

func TestBacktestHeadline(t *testing.T) {
	all := backtests()
	ratioless := exporttest.BacktestFew()
	ratioless.Earlier.Lift = spatial.Estimate{Days: 3, Why: "there is nothing to hold it against"}
	hair := exporttest.Backtest()
	hair.Earlier.Lift.Value, hair.Earlier.Lift.Low, hair.Earlier.Lift.High = 1.04, 1.0004, 1.1
	for name, c := range map[string]struct {
		b              spatial.Backtest
		claim, verdict string
	}{
		"better": {
			all["good"], "An hour at the zones foretold gave 2.0 times as many events as an hour of fishing anywhere on the same day (95 % interval 1.6 to 2.4).",
			"All of the interval is above 1: 18 days are enough to call that more than chance.",
		},
		"by a hair": {
			hair, "An hour at the zones foretold gave 1.04 times as many events as an hour of fishing anywhere on the same day (95 % interval 1.0004 to 1.1).",
			"All of the interval is above 1: 18 days are enough to call that more than chance.",
		},
		"no better": {
			all["no better"], "An hour at the zones foretold gave 1.1 times as many events as an hour of fishing anywhere on the same day (95 % interval 0.78 to 1.4).",
			"That may be chance: the interval holds 1, which is no better. 18 days tell of it; more would narrow it.",
		},
		"worse": {
			all["worse"], "An hour at the zones foretold gave 0.67 times as many events as an hour of fishing anywhere on the same day (95 % interval 0.32 to 0.99).",
			"That is worse than fishing anywhere: all of the interval is below 1, and 18 days are enough to say so.",
		},
		"too few": {
			all["few"], "Nothing can be said yet of how well the zones foretell fish: only 2 of at least 5 days tell of it.",
			"A day tells of it when something bit and some of its fishing, not all, was inside the zones that the days before it gave. More such days are needed.",
		},
		"no ratio": {
			ratioless, "Nothing can be said yet of how well the zones foretell fish: there is nothing to hold it against.",
			"A day tells of it when something bit and some of its fishing, not all, was inside the zones that the days before it gave. More such days are needed.",
		},
		"none": {
			all["none"], "Nothing can be said yet of how well the zones foretell fish: no day was foretold.",
			"It takes two days of fishing at least, the first to learn from, and more for an interval.",
		},
		"week": {
			all["week"], "An hour at the zones foretold gave 2.0 times as many events as an hour of fishing anywhere in the same week (95 % interval 1.6 to 2.4).",
			"All of the interval is above 1: 18 weeks are enough to call that more than chance.",
		},
	} {
		claim, verdict := export.BacktestHeadline(c.b)
		if claim != c.claim || verdict != c.verdict {
			t.Errorf("%s:\n%q\n%q", name, claim, verdict)
		}
	}
}

// TestBacktestSaysNothingUnbounded takes the interval of each figure in turn: the words must name it as one
// of which nothing is claimed, and every "times" that is left must have its interval.
func TestBacktestSaysNothingUnbounded(t *testing.T) {
	// A ratio, what it is of, and its bracket.
	times := regexp.MustCompile(`\d times [^.;(]*`)
	bracketed := regexp.MustCompile(`^\d times [^.;(]*\((95 % interval )?[\d.]+ to [\d.]+`)
	check := func(t *testing.T, b spatial.Backtest) []string {
		words := export.BacktestWords(b, si.US)
		for _, w := range words {
			for _, at := range times.FindAllStringIndex(w, -1) {
				if !bracketed.MatchString(w[at[0]:]) {
					t.Errorf("a claim without its interval: %s", w)
				}
			}
		}
		return words
	}
	for name, b := range backtests() {
		t.Run(name, func(t *testing.T) { check(t, b) })
	}
	for name, of := range map[string]func(f *spatial.Foretold) *spatial.Estimate{
		"lift against outside":        func(f *spatial.Foretold) *spatial.Estimate { return &f.LiftOutside },
		"lift over all days as one":   func(f *spatial.Foretold) *spatial.Estimate { return &f.LiftPooled },
		"events inside":               func(f *spatial.Foretold) *spatial.Estimate { return &f.HitRate },
		"fishing inside":              func(f *spatial.Foretold) *spatial.Estimate { return &f.HoursShare },
		"water inside":                func(f *spatial.Foretold) *spatial.Estimate { return &f.AreaShare },
		"accuracy index":              func(f *spatial.Foretold) *spatial.Estimate { return &f.Accuracy },
		"likelier than one rate":      func(f *spatial.Foretold) *spatial.Estimate { return &f.OverFlat },
		"likelier than the last trip": func(f *spatial.Foretold) *spatial.Estimate { return &f.OverLast },
		"intervals held":              func(f *spatial.Foretold) *spatial.Estimate { return &f.Coverage },
		"given over promised":         func(f *spatial.Foretold) *spatial.Estimate { return &f.Catch },
	} {
		t.Run(name, func(t *testing.T) {
			b := exporttest.Backtest()
			e := of(&b.Earlier)
			// A value that would show.
			*e = spatial.Estimate{Value: 7.77, OK: true, Days: 3, Why: "only 3 of at least 5 days tell of it"}
			words := strings.Join(check(t, b), "\n")
			want := "Without an interval, so nothing is claimed (only 3 of at least 5 days tell of it): " + name + "."
			if !strings.Contains(words, want) || strings.Contains(words, "7.8") || strings.Contains(words, "777") || strings.Contains(words, "780 %") {
				t.Error(words)
			}
		})
	}
}

// TestBacktestWords: what the lines say. By hand, as package foretell has it: 0.693 nats are twice as
// likely.
func TestBacktestWords(t *testing.T) {
	all := backtests()
	twice := exporttest.Backtest()
	twice.Earlier.OverFlat = spatial.Estimate{Value: math.Ln2, OK: true, Low: math.Log(1.5), High: math.Log(3), Bounded: true, Days: 20}
	twice.Earlier.Coverage.High = 0.88
	twice.Earlier.Catch.Low = 1.1
	none := all["good"]
	none.Others, none.Earlier.ByKnown = spatial.Foretold{}, nil
	rose := exporttest.Backtest()
	rose.Earlier.ByKnown[1].Lift.High = 1.5
	fell := exporttest.Backtest()
	fell.Earlier.ByKnown[3].Lift.High = 0.7
	for name, c := range map[string]struct {
		b         spatial.Backtest
		u         si.System
		want, not []string
	}{
		"good": {all["good"], si.US, []string{
			"20 days were left out in turn, each foretold from the days before it alone: 152 events in 97.4 h of fishing.",
			"1 day has no fishing before to learn from. 1 day is not in the comparison",
			"Inside the zones: 50 % of the events (39 to 58 %), 25 % of the fishing time (21 to 29 %) and 1.5 % of the water (1.2 to 1.9 %).",
			"32 times as many events as all of it (27 to 38; the predictive accuracy index)",
			"on the same day, an hour inside gave 3.0 times as many events (2.0 to 4.2).",
			"held 94 % of what visits to zones gave (82 to 100 %): no sign",
			"Visits to zones gave 1.2 times what a plan would have promised of them (0.80 to 1.6): no sign",
			"from all other days, later ones too, an hour at the zones gave 1.8 times as many events (1.4 to 2.1)", "the honest one",
			"1 to 5 days no interval; 6 to 10 days 1.4 times (0.75 to 2.8: may be chance); 11 to 15 days 2.3 times (1.6 to 3.1)",
			"The intervals of 6 to 10 days and of 16 to 20 days overlap: that it changes with days is not proven.",
			"Nothing was tuned on these days: zones are found with a cast of 120 ft and at least 3 events to a zone.",
		}, []string{"week", "rose", "fell"}},
		"twice": {twice, si.US, []string{
			"make what came 2.0 times as likely as one rate everywhere does (1.5 to 3.0) and 1.2 times as likely as going back to the last trip's catches does (1.1 to 1.3).",
			"plans are too sure", "plans promise too little",
		}, nil},
		"worse": {all["worse"], si.US, []string{"(0.25 to 0.98: worse)", "(0.88 to 0.98: worse)", "plans promise too much", "more than they need to"}, nil},
		"rose":  {rose, si.US, []string{"It rose with days."}, []string{"overlap"}},
		"fell":  {fell, si.US, []string{"It fell with days."}, []string{"overlap"}},
		"tuned": {all["tuned"], si.Metric, []string{
			"12 choices of settings were tried: casts of 25.6 to 51.2 m, at least 3 to 9 events to a zone.",
			"Against an hour anywhere, one at the zones so tuned gave 2.0 times as many events (1.6 to 2.4); with the usual settings 2.0 times (1.6 to 2.4). The difference has no interval.",
			"For the next day all days together choose a cast of 36.6 m and at least 4 events to a zone.",
		}, []string{"Nothing was tuned", "usual settings.\n"}},
		"week": {all["week"], si.US, []string{"20 weeks were left out", "in the same week", "from all other weeks", "6 to 10 days"}, []string{"same day"}},
		"few":  {all["few"], si.US, []string{"later ones too, nothing can be said: only 4 of at least 5 days tell of it."}, []string{"times"}},
		"none": {none, si.US, []string{"2.0 times"}, []string{"later ones", "By days"}},
	} {
		words := strings.Join(export.BacktestWords(c.b, c.u), "\n")
		for _, s := range c.want {
			if !strings.Contains(words, s) {
				t.Errorf("%s: doesn't say %q in\n%s", name, s, words)
			}
		}
		for _, s := range c.not {
			if strings.Contains(words, s) {
				t.Errorf("%s: says %q in\n%s", name, s, words)
			}
		}
	}
}

// TestBacktestDigits: two digits, unless two would put a figure on the even value that it isn't at.
func TestBacktestDigits(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{1.84, "1.8"}, {12.34, "12"}, {123, "120"}, {0.853, "0.85"}, {0.0712, "0.071"}, {9.96, "10"}, {1, "1.0"}, {1.0049, "1.005"}, {0.996, "0.996"},
		{0, "0"}, {0.0004, "under 0.001"}, {math.NaN(), export.Unknown}, {math.Inf(1), export.Unknown}, {1 + 1e-9, "1.0000"},
	} {
		if got := export.BacktestLift(spatial.Backtest{}, spatial.Estimate{Value: c.v, OK: true}).Value; got != c.want && !(c.v == 1+1e-9 && strings.HasPrefix(got, "1.0")) {
			t.Errorf("%g: %q, want %q", c.v, got, c.want)
		}
	}
	shares := spatial.Backtest{}
	shares.Earlier.HitRate = spatial.Estimate{Value: 0.997, OK: true, Low: 0.0954, High: 1, Bounded: true}
	shares.Earlier.Coverage = spatial.Estimate{Value: 0.901, OK: true, Low: 0.85, High: 0.9, Bounded: true}
	f := export.BacktestFigures(shares, shares.Earlier)
	if f[3].Value != "99.7 %" || f[3].Range != "9.5 to 100 %" || f[9].Value != "90.1 %" || f[9].Range != "85 to 90 %" {
		t.Errorf("%+v, %+v", f[3], f[9])
	}
}

// TestBacktestFigures: what has no interval has a reason, in every column, and both columns have the
// same rows.
func TestBacktestFigures(t *testing.T) {
	for name, b := range backtests() {
		a, o := export.BacktestFigures(b, b.Earlier), export.BacktestFigures(b, b.Others)
		for i := range a {
			if a[i].Name != o[i].Name || a[i].Means != o[i].Means {
				t.Errorf("%s: %q beside %q", name, a[i].Name, o[i].Name)
			}
			for _, f := range []export.BacktestFigure{a[i], o[i]} {
				if (f.Range == "") != (f.Why != "") || strings.Contains(f.Name+f.Means, "DAY") || b.ByWeek && strings.Contains(f.Means, "day") {
					t.Errorf("%s: %+v", name, f)
				}
			}
		}
	}
	weeks := exporttest.BacktestFew()
	weeks.ByWeek = true
	if f := export.BacktestFigures(weeks, weeks.Earlier)[0]; f.Why != "only 2 of at least 5 weeks tell of it" {
		t.Error(f.Why)
	}
}

// TestBacktestResult: names as in the other files, null for what isn't known and why, lists
// never null.
func TestBacktestResult(t *testing.T) {
	decode := func(b spatial.Backtest) (out map[string]any, raw []byte) {
		raw, err := json.Marshal(export.BacktestResult(b, si.US))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(raw, &out); err != nil {
			t.Fatal(err)
		}
		return out, raw
	}
	name := regexp.MustCompile(`^[a-z0-9]+(_[a-z0-9]+)*$`)
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, w := range v {
				if !name.MatchString(k) {
					t.Errorf("%s.%s", at, k)
				}
				if w == nil && (k == "low" || k == "value") && v["why"] == nil {
					t.Errorf("%s.%s is null and why isn't said", at, k)
				}
				walk(at+"."+k, w)
			}
		case []any:
			for _, w := range v {
				walk(at, w)
			}
		}
	}
	for of, b := range backtests() {
		out, raw := decode(b)
		if of != "zero" { // it has no reasons
			walk(of, out)
		}
		for _, list := range []string{"left_out", "remarks", "cautions", "summary"} {
			if _, ok := out[list].([]any); !ok {
				t.Errorf("%s: %s is %v", of, list, out[list])
			}
		}
		if _, again := decode(b); !bytes.Equal(raw, again) {
			t.Errorf("%s: two differ", of)
		}
	}
	at := func(v any, path ...any) any {
		for _, p := range path {
			switch p := p.(type) {
			case string:
				v = v.(map[string]any)[p]
			case int:
				v = v.([]any)[p]
			}
		}
		return v
	}
	good, _ := decode(exporttest.BacktestTuned())
	few, _ := decode(exporttest.BacktestFew())
	for i, c := range []struct {
		got, want any
	}{
		{good["format"], "leadline backtest"}, {good["left_out_by"], "day"}, {good["cast_m"], 36.58}, {good["verdict"], "better"}, {few["verdict"], "too few"},
		{at(good, "earlier", "lift_ratio", "value"), 1.985}, {at(good, "earlier", "lift_ratio", "low"), 1.56}, {at(good, "earlier", "lift_ratio", "why"), nil},
		{at(good, "earlier", "over_one_rate_nats_per_event", "value"), 0.1711}, {at(good, "others", "foretold"), 21.0},
		{at(good, "earlier", "lift_by_known", 1, "known_from_days"), 6.0}, {at(good, "earlier", "lift_by_known", 0, "lift_ratio", "low"), nil},
		{at(good, "left_out", 0, "earlier"), nil}, {at(good, "left_out", 2, "earlier", "promised_events"), 1.6}, {at(good, "left_out", 2, "from"), "2031-05-04"},
		{at(good, "tuning", "tried", 5, "next"), true}, {at(good, "tuning", "tried", 4, "usual"), true}, {at(good, "tuning", "scored", "lift_ratio", "value"), 2.01},
		{few["tuning"], nil}, {at(few, "earlier", "lift_ratio", "high"), nil}, {at(few, "earlier", "lift_ratio", "why"), "only 2 of at least 5 days tell of it"},
	} {
		if c.got != c.want {
			t.Errorf("%d: %v, want %v", i, c.got, c.want)
		}
	}
}
