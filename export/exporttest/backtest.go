package exporttest

import "leadline/spatial"

// The samples are made by lot from known lifts: an invented season of twenty days and one before
// them (three and one in BacktestFew), one of which has bites but no track, and on the first of
// which there was no zone yet. Their figures are those that package foretell gives for them.

const backtestLakeM2 = 1.9e6

func told(known, zones int, eventsIn, hoursIn, areaInM2, promised, given float64) *spatial.Told {
	return &spatial.Told{Known: known, Zones: zones, EventsIn: eventsIn, HoursIn: hoursIn, AreaInM2: areaInM2, Promised: promised, Given: given}
}

func day(date string, events, hours float64, earlier, others *spatial.Told) spatial.LeftOut {
	return spatial.LeftOut{From: date, To: date, Events: events, Hours: hours, Earlier: earlier, Others: others}
}

func within(value, low, high float64, days int) spatial.Estimate {
	return spatial.Estimate{Value: value, OK: true, Low: low, High: high, Bounded: true, Days: days}
}

func unbounded(value float64, days int, why string) spatial.Estimate {
	return spatial.Estimate{Value: value, OK: true, Days: days, Why: why}
}

func backtest(units []spatial.LeftOut, earlier, others spatial.Foretold) spatial.Backtest {
	return spatial.Backtest{CastM: 120 * ft, MinEvents: 3, LakeM2: backtestLakeM2, Earlier: earlier, Others: others, Units: units}
}

// Backtest returns one of twenty days, in which the lift rises with the days known.
func Backtest() spatial.Backtest {
	b := backtest([]spatial.LeftOut{
		day("2031-04-26", 4, 4.69, nil, told(20, 6, 0, 1.1, 47608, 3.4, 0)),
		day("2031-05-03", 6, 4.57, told(1, 0, 0, 0, 0, 0, 0), told(20, 6, 1, 1.3, 47453, 3.7, 0)),
		day("2031-05-04", 3, 3.61, told(2, 1, 0, 1, 8122, 1.6, 0), told(20, 6, 0, 1.1, 47707, 3, 0)),
		day("2031-05-10", 2, 0, told(3, 1, 0, 0, 8128, 0, 0), told(20, 6, 0, 0, 47595, 0, 0)),
		day("2031-05-17", 11, 6.72, told(4, 2, 5, 1.79, 16138, 3.3, 5), told(20, 6, 6, 1.97, 47491, 5.5, 5)),
		day("2031-05-20", 2.5, 4.46, told(5, 2, 0, 1.4, 15985, 2.6, 0), told(20, 6, 0, 1.54, 47407, 4, 0)),
		day("2031-05-24", 11, 5.57, told(6, 2, 4, 1.73, 15929, 3.4, 4), told(20, 6, 4, 1.9, 47719, 5, 4)),
		day("2031-05-31", 3, 4.42, told(7, 3, 2, 1.07, 24014, 2.3, 2), told(20, 6, 2, 1.17, 47774, 3.4, 2)),
		day("2031-06-01", 6, 5.81, told(8, 3, 3, 1.74, 23776, 3.7, 2), told(20, 6, 3, 1.92, 47625, 5.1, 3)),
		day("2031-06-07", 4, 4.9, told(9, 3, 1, 1.64, 24049, 3.5, 1), told(20, 6, 1, 1.8, 47799, 4.6, 1)),
		day("2031-06-14", 2, 3.55, told(10, 4, 1, 1.03, 31723, 2.4, 1), told(20, 6, 1, 1.13, 47728, 3, 1)),
		day("2031-06-17", 19, 6.44, told(11, 4, 10, 1.37, 31662, 3.5, 9), told(20, 6, 11, 1.51, 47611, 4.6, 11)),
		day("2031-06-21", 12.5, 4.22, told(12, 4, 9, 0.92, 31750, 2.4, 9), told(20, 6, 9, 1.01, 47497, 3.1, 9)),
		day("2031-06-28", 7, 4.55, told(13, 5, 4, 1.26, 39510, 3.2, 4), told(20, 6, 4, 1.39, 47453, 3.8, 4)),
		day("2031-06-29", 9, 3.75, told(14, 5, 5, 1.27, 39593, 3, 4), told(20, 6, 5, 1.4, 47721, 3.5, 4)),
		day("2031-07-05", 9, 5.08, told(15, 5, 6, 1.76, 39704, 4.3, 6), told(20, 6, 6, 1.93, 47424, 4.8, 6)),
		day("2031-07-12", 10, 5.5, told(16, 6, 7, 1.17, 47415, 3.4, 6), told(20, 6, 7, 1.29, 47756, 3.9, 6)),
		day("2031-07-15", 14, 6.19, told(17, 6, 9, 1.86, 47473, 4.9, 8), told(20, 6, 9, 2.04, 47753, 5.4, 8)),
		day("2031-07-19", 2, 4.53, told(18, 6, 1, 0.86, 47608, 2.7, 1), told(20, 6, 1, 0.95, 47724, 3, 1)),
		day("2031-07-26", 8.5, 6.99, told(19, 6, 4, 1.37, 47715, 4.3, 4), told(20, 6, 4, 1.51, 47742, 4.7, 4)),
		day("2031-07-27", 10, 6.56, told(20, 6, 4, 1.4, 47715, 4.4, 4), told(20, 6, 5, 1.54, 47675, 4.7, 5)),
	}, spatial.Foretold{
		Days: 20, LeftOut: 1, Events: 151.5, Hours: 97.42,
		HitRate: within(0.495, 0.3937, 0.5776, 20), HoursShare: within(0.2529, 0.2124, 0.2851, 19),
		AreaShare: within(0.01547, 0.01152, 0.0194, 20), Accuracy: within(31.99, 26.7, 37.94, 20),
		Lift: within(1.985, 1.56, 2.36, 18), LiftOutside: within(3.042, 1.989, 4.244, 18), LiftPooled: within(1.983, 1.587, 2.354, 19), Verdict: spatial.Better,
		OverFlat: within(0.1711, 0.09806, 0.2442, 20), OverLast: within(0.15, 0.06929, 0.2331, 20),
		Coverage: within(0.9444, 0.8186, 1, 19), Catch: within(1.188, 0.798, 1.6, 18),
		PIT: []float64{0.105, 0.106, 0.071, 0.048, 0.072, 0.126, 0.136, 0.133, 0.094, 0.109},
		ByKnown: []spatial.LiftBin{
			{From: 1, To: 5, Days: 5, Lift: unbounded(1.1, 3, "only 3 of at least 5 days tell of it"), Verdict: spatial.TooFew},
			{From: 6, To: 10, Days: 5, Lift: within(1.4, 0.747, 2.754, 5), Verdict: spatial.NoBetter},
			{From: 11, To: 15, Days: 5, Lift: within(2.286, 1.64, 3.116, 5), Verdict: spatial.Better},
			{From: 16, To: 20, Days: 5, Lift: within(2.378, 1.765, 3.263, 5), Verdict: spatial.Better},
		},
	}, spatial.Foretold{
		Days: 21, LeftOut: 1, Events: 155.5, Hours: 102.11,
		HitRate: within(0.508, 0.4016, 0.5855, 21), HoursShare: within(0.2889, 0.2622, 0.3161, 20),
		AreaShare: within(0.02507, 0.02504, 0.0251, 21), Accuracy: within(20.27, 16.03, 23.35, 21),
		Lift: within(1.787, 1.409, 2.141, 20), LiftOutside: within(2.608, 1.707, 3.638, 20), LiftPooled: within(1.781, 1.41, 2.109, 20), Verdict: spatial.Better,
		OverFlat: within(0.116, -0.02382, 0.2164, 21), OverLast: within(0.09636, -0.04209, 0.1989, 21),
		Coverage: within(1, 0.9162, 1, 21), Catch: within(0.9002, 0.5735, 1.243, 20),
		PIT: []float64{0.200, 0.151, 0.070, 0.085, 0.108, 0.089, 0.068, 0.088, 0.040, 0.100},
		ByKnown: []spatial.LiftBin{
			{From: 20, To: 20, Days: 21, Lift: within(1.787, 1.409, 2.141, 20), Verdict: spatial.Better},
		},
	})
	b.Remarks = []spatial.Remark{{About: "events", Text: "2 catches or marks carry no time: nobody can say which day foretold them, and they are left out."}}
	return b
}

// BacktestTuned is Backtest with what its days would have had the settings be.
func BacktestTuned() spatial.Backtest {
	b := Backtest()
	t := &spatial.Tuning{Scored: spatial.Foretold{
		Days: 20, LeftOut: 1, Events: 151.5, Hours: 97.42,
		HitRate: within(0.4984, 0.384, 0.5892, 20), HoursShare: within(0.2449, 0.2067, 0.2769, 19),
		AreaShare: within(0.01549, 0.01176, 0.0192, 20), Accuracy: within(32.18, 26.02, 39.75, 20),
		Lift: within(2.01, 1.637, 2.386, 18), LiftOutside: within(3.148, 2.135, 4.486, 18), LiftPooled: within(2.062, 1.67, 2.452, 19), Verdict: spatial.Better,
		OverFlat: within(0.1794, 0.09185, 0.2574, 20), OverLast: within(0.1532, 0.0658, 0.2376, 20),
		Coverage: within(1, 0.9036, 1, 19), Catch: within(1.188, 0.8763, 1.487, 18),
		PIT: []float64{0.070, 0.078, 0.094, 0.056, 0.074, 0.126, 0.169, 0.170, 0.100, 0.062},
		ByKnown: []spatial.LiftBin{
			{From: 1, To: 5, Days: 5, Lift: unbounded(1.188, 3, "only 3 of at least 5 days tell of it"), Verdict: spatial.TooFew},
			{From: 6, To: 10, Days: 5, Lift: within(1.721, 0.9614, 2.877, 5), Verdict: spatial.NoBetter},
			{From: 11, To: 15, Days: 5, Lift: within(2.145, 1.619, 2.778, 5), Verdict: spatial.Better},
			{From: 16, To: 20, Days: 5, Lift: within(2.564, 1.903, 3.502, 5), Verdict: spatial.Better},
		},
	}}
	perEvent := []float64{0.131, 0.142, 0.097, 0.06, 0.1711, 0.173, 0.128, 0.071, 0.118, 0.125, 0.109, 0.083}
	chosen := []int{0, 2, 0, 0, 9, 9, 0, 0, 0, 0, 0, 0}
	for i, cast := range []float64{0.7, 1, 1.4} {
		for j, n := range []int{3, 4, 6, 9} {
			k := 4*i + j
			t.Tried = append(t.Tried, spatial.Tried{CastM: cast * b.CastM, MinEvents: n, Usual: k == 4, PerEvent: perEvent[k], Chosen: chosen[k]})
		}
	}
	t.Next = 5
	b.Tuning = t
	return b
}

// BacktestFew has too few days for any interval.
func BacktestFew() spatial.Backtest {
	return backtest([]spatial.LeftOut{
		day("2031-04-26", 3, 4.12, nil, told(3, 1, 0, 1.16, 8189, 2.1, 0)),
		day("2031-05-03", 1, 6.12, told(1, 0, 0, 0, 0, 0, 0), told(3, 1, 1, 1.46, 7943, 2.7, 1)),
		day("2031-05-04", 3, 4.71, told(2, 1, 2, 1.61, 8230, 2.7, 2), told(3, 1, 2, 1.77, 8108, 3.1, 1)),
		day("2031-05-10", 9, 5.94, told(3, 1, 7, 2.09, 8244, 3.7, 6), told(3, 1, 7, 2.3, 8177, 4, 7)),
	}, spatial.Foretold{
		Days: 3, Events: 13, Hours: 16.77,
		HitRate: unbounded(0.6923, 3, "only 3 of at least 5 days tell of it"), HoursShare: unbounded(0.2206, 3, "only 3 of at least 5 days tell of it"),
		AreaShare: unbounded(0.00289, 3, "only 3 of at least 5 days tell of it"), Accuracy: unbounded(239.5, 3, "only 3 of at least 5 days tell of it"),
		Lift: unbounded(2.147, 2, "only 2 of at least 5 days tell of it"), LiftOutside: unbounded(5.598, 2, "only 2 of at least 5 days tell of it"), LiftPooled: unbounded(3.138, 3, "only 3 of at least 5 days tell of it"), Verdict: spatial.TooFew,
		OverFlat: unbounded(0.1527, 3, "only 3 of at least 5 days tell of it"), OverLast: unbounded(0.1552, 3, "only 3 of at least 5 days tell of it"),
		Coverage: unbounded(1, 2, "only 2 of at least 5 days tell of it"), Catch: unbounded(1.25, 2, "only 2 of at least 5 days tell of it"),
		PIT: []float64{0.000, 0.000, 0.079, 0.209, 0.209, 0.002, 0.000, 0.000, 0.462, 0.038},
	}, spatial.Foretold{
		Days: 4, Events: 16, Hours: 20.89,
		HitRate: unbounded(0.625, 4, "only 4 of at least 5 days tell of it"), HoursShare: unbounded(0.3202, 4, "only 4 of at least 5 days tell of it"),
		AreaShare: unbounded(0.004265, 4, "only 4 of at least 5 days tell of it"), Accuracy: unbounded(146.5, 4, "only 4 of at least 5 days tell of it"),
		Lift: unbounded(1.756, 4, "only 4 of at least 5 days tell of it"), LiftOutside: unbounded(3.158, 4, "only 4 of at least 5 days tell of it"), LiftPooled: unbounded(1.952, 4, "only 4 of at least 5 days tell of it"), Verdict: spatial.TooFew,
		OverFlat: unbounded(0.1224, 4, "only 4 of at least 5 days tell of it"), OverLast: unbounded(0.1267, 4, "only 4 of at least 5 days tell of it"),
		Coverage: unbounded(1, 4, "only 4 of at least 5 days tell of it"), Catch: unbounded(0.7563, 4, "only 4 of at least 5 days tell of it"),
		PIT: []float64{0.304, 0.363, 0.083, 0.000, 0.000, 0.000, 0.000, 0.000, 0.096, 0.154},
	})
}

// BacktestNoBetter is of zones that knew nothing.
func BacktestNoBetter() spatial.Backtest {
	return backtest([]spatial.LeftOut{
		day("2031-04-26", 1, 5.87, nil, told(20, 6, 1, 2.11, 47676, 4.3, 1)),
		day("2031-05-03", 4, 5.45, told(1, 0, 0, 0, 0, 0, 0), told(20, 6, 1, 2.24, 47435, 4.5, 1)),
		day("2031-05-04", 5, 5.3, told(2, 1, 1, 1.48, 7909, 3.1, 1), told(20, 6, 1, 1.63, 47732, 3.4, 0)),
		day("2031-05-10", 2, 0, told(3, 1, 0, 0, 8293, 0, 0), told(20, 6, 0, 0, 47650, 0, 0)),
		day("2031-05-17", 13, 6.85, told(4, 2, 5, 2.57, 16127, 5.3, 4), told(20, 6, 6, 2.83, 47498, 5.7, 6)),
		day("2031-05-20", 7.5, 5.39, told(5, 2, 1, 1.46, 15839, 3.1, 1), told(20, 6, 2, 1.61, 47645, 3.4, 1)),
		day("2031-05-24", 3, 5.28, told(6, 2, 1, 1.54, 16011, 3.2, 0), told(20, 6, 1, 1.69, 47746, 3.5, 0)),
		day("2031-05-31", 7, 6.83, told(7, 3, 4, 2.53, 23884, 5.2, 4), told(20, 6, 4, 2.78, 47593, 5.6, 4)),
		day("2031-06-01", 6, 6.7, told(8, 3, 3, 1.79, 23918, 3.8, 3), told(20, 6, 3, 1.97, 47797, 4.1, 3)),
		day("2031-06-07", 6, 5.24, told(9, 3, 1, 1.91, 23977, 3.9, 1), told(20, 6, 2, 2.1, 47674, 4.3, 2)),
		day("2031-06-14", 3, 4.59, told(10, 4, 0, 1.48, 31718, 3.1, 0), told(20, 6, 0, 1.63, 47607, 3.4, 0)),
		day("2031-06-17", 4, 4.23, told(11, 4, 3, 1.4, 31860, 2.9, 3), told(20, 6, 3, 1.54, 47415, 3.2, 2)),
		day("2031-06-21", 6.5, 4.25, told(12, 4, 0, 1.25, 31989, 2.6, 0), told(20, 6, 1, 1.37, 47708, 2.9, 0)),
		day("2031-06-28", 4, 4.45, told(13, 5, 1, 1.2, 39622, 2.5, 1), told(20, 6, 1, 1.32, 47757, 2.8, 1)),
		day("2031-06-29", 4, 4.65, told(14, 5, 2, 1.04, 39536, 2.2, 1), told(20, 6, 2, 1.14, 47681, 2.4, 1)),
		day("2031-07-05", 4, 4.11, told(15, 5, 2, 1.35, 39784, 2.8, 2), told(20, 6, 2, 1.49, 47705, 3.1, 1)),
		day("2031-07-12", 7, 4.51, told(16, 6, 3, 1.37, 47565, 2.9, 3), told(20, 6, 3, 1.5, 47748, 3.1, 2)),
		day("2031-07-15", 5, 4.58, told(17, 6, 2, 1.32, 47429, 2.8, 2), told(20, 6, 2, 1.45, 47676, 3, 2)),
		day("2031-07-19", 5, 6.09, told(18, 6, 2, 2, 47426, 4.2, 2), told(20, 6, 2, 2.2, 47711, 4.5, 2)),
		day("2031-07-26", 10.5, 3.94, told(19, 6, 2, 1.28, 47732, 2.7, 2), told(20, 6, 3, 1.41, 47749, 2.9, 3)),
		day("2031-07-27", 5, 3.67, told(20, 6, 3, 1.31, 47749, 2.7, 3), told(20, 6, 3, 1.44, 47586, 2.9, 2)),
	}, spatial.Foretold{
		Days: 20, LeftOut: 1, Events: 111.5, Hours: 96.11,
		HitRate: within(0.3229, 0.2242, 0.4245, 20), HoursShare: within(0.2942, 0.2424, 0.3287, 19),
		AreaShare: within(0.01548, 0.01151, 0.01922, 20), Accuracy: within(20.85, 14.74, 28.56, 20),
		Lift: within(1.076, 0.7832, 1.389, 18), LiftOutside: within(1.116, 0.7101, 1.703, 18), LiftPooled: within(1.117, 0.8316, 1.442, 19), Verdict: spatial.NoBetter,
		OverFlat: within(0.02372, -0.005706, 0.05765, 20), OverLast: within(-0.007401, -0.03777, 0.0287, 20),
		Coverage: within(1, 0.9036, 1, 19), Catch: within(0.5593, 0.3839, 0.7756, 18),
		PIT: []float64{0.180, 0.195, 0.163, 0.192, 0.155, 0.100, 0.007, 0.003, 0.003, 0.003},
		ByKnown: []spatial.LiftBin{
			{From: 1, To: 5, Days: 5, Lift: unbounded(0.8429, 3, "only 3 of at least 5 days tell of it"), Verdict: spatial.TooFew},
			{From: 6, To: 10, Days: 5, Lift: within(1.094, 0, 1.784, 5), Verdict: spatial.NoBetter},
			{From: 11, To: 15, Days: 5, Lift: within(1.226, 0.1146, 2.262, 5), Verdict: spatial.NoBetter},
			{From: 16, To: 20, Days: 5, Lift: within(1.153, 0.6542, 1.688, 5), Verdict: spatial.NoBetter},
		},
	}, spatial.Foretold{
		Days: 21, LeftOut: 1, Events: 112.5, Hours: 101.98,
		HitRate: within(0.3822, 0.2977, 0.4745, 21), HoursShare: within(0.3476, 0.3245, 0.3699, 20),
		AreaShare: within(0.02508, 0.02506, 0.02511, 21), Accuracy: within(15.24, 11.87, 18.92, 21),
		Lift: within(1.108, 0.8641, 1.374, 20), LiftOutside: within(1.179, 0.8049, 1.722, 20), LiftPooled: within(1.119, 0.8729, 1.387, 20), Verdict: spatial.NoBetter,
		OverFlat: within(0.03039, 0.0015, 0.0582, 21), OverLast: within(0.004686, -0.03837, 0.04523, 21),
		Coverage: within(1, 0.9162, 1, 21), Catch: within(0.4658, 0.3088, 0.6429, 20),
		PIT: []float64{0.261, 0.228, 0.162, 0.142, 0.101, 0.069, 0.023, 0.005, 0.005, 0.005},
		ByKnown: []spatial.LiftBin{
			{From: 20, To: 20, Days: 21, Lift: within(1.108, 0.8641, 1.374, 20), Verdict: spatial.NoBetter},
		},
	})
}

// BacktestWorse is of zones that fish stayed away from.
func BacktestWorse() spatial.Backtest {
	return backtest([]spatial.LeftOut{
		day("2031-04-26", 5, 5.65, nil, told(20, 6, 0, 2.06, 47625, 4, 0)),
		day("2031-05-03", 2, 4.89, told(1, 0, 0, 0, 0, 0, 0), told(20, 6, 0, 1.76, 47458, 3.4, 0)),
		day("2031-05-04", 6, 6.81, told(2, 1, 1, 2.36, 8050, 4.7, 1), told(20, 6, 1, 2.6, 47437, 5, 1)),
		day("2031-05-10", 2, 0, told(3, 1, 0, 0, 7930, 0, 0), told(20, 6, 0, 0, 47544, 0, 0)),
		day("2031-05-17", 11, 6.82, told(4, 2, 4, 2.39, 16064, 4.7, 4), told(20, 6, 4, 2.63, 47603, 5.1, 4)),
		day("2031-05-20", 5.5, 6.66, told(5, 2, 0, 1.58, 15964, 3.3, 0), told(20, 6, 0, 1.74, 47518, 3.6, 0)),
		day("2031-05-24", 6, 4.81, told(6, 2, 2, 1.41, 16129, 2.9, 2), told(20, 6, 2, 1.55, 47526, 3.1, 2)),
		day("2031-05-31", 2, 5.45, told(7, 3, 0, 1.89, 23816, 3.7, 0), told(20, 6, 0, 2.08, 47520, 4, 0)),
		day("2031-06-01", 10, 5.18, told(8, 3, 1, 1.21, 23711, 2.6, 0), told(20, 6, 1, 1.33, 47621, 2.8, 1)),
		day("2031-06-07", 6, 6.72, told(9, 3, 2, 1.89, 23745, 3.9, 2), told(20, 6, 3, 2.08, 47744, 4.2, 3)),
		day("2031-06-14", 7, 4.93, told(10, 4, 4, 1.65, 31844, 3.3, 4), told(20, 6, 4, 1.82, 47568, 3.5, 4)),
		day("2031-06-17", 8, 5.88, told(11, 4, 0, 1.48, 31962, 3.1, 0), told(20, 6, 0, 1.63, 47678, 3.4, 0)),
		day("2031-06-21", 2.5, 5.09, told(12, 4, 0, 1.15, 31911, 2.5, 0), told(20, 6, 0, 1.27, 47616, 2.7, 0)),
		day("2031-06-28", 3, 5.94, told(13, 5, 1, 2.02, 39775, 4, 1), told(20, 6, 1, 2.23, 47775, 4.3, 1)),
		day("2031-06-29", 3, 5.56, told(14, 5, 0, 1.44, 39801, 3, 0), told(20, 6, 0, 1.58, 47646, 3.2, 0)),
		day("2031-07-05", 4, 5.48, told(15, 5, 1, 1.34, 39506, 2.8, 0), told(20, 6, 1, 1.47, 47711, 3, 1)),
		day("2031-07-12", 3, 6.12, told(16, 6, 0, 2.27, 47613, 4.4, 0), told(20, 6, 0, 2.5, 47581, 4.8, 0)),
		day("2031-07-15", 3, 4.35, told(17, 6, 0, 1.23, 47443, 2.5, 0), told(20, 6, 0, 1.35, 47412, 2.7, 0)),
		day("2031-07-19", 6, 5.57, told(18, 6, 2, 1.55, 47405, 3.2, 1), told(20, 6, 2, 1.71, 47603, 3.5, 1)),
		day("2031-07-26", 4.5, 5.16, told(19, 6, 0, 1.71, 47560, 3.4, 0), told(20, 6, 0, 1.88, 47644, 3.7, 0)),
		day("2031-07-27", 1, 3.88, told(20, 6, 0, 1.32, 47544, 2.6, 0), told(20, 6, 0, 1.45, 47701, 2.8, 0)),
	}, spatial.Foretold{
		Days: 20, LeftOut: 1, Events: 95.5, Hours: 105.30,
		HitRate: within(0.1885, 0.09091, 0.2903, 20), HoursShare: within(0.2839, 0.2385, 0.3169, 19),
		AreaShare: within(0.01547, 0.0117, 0.01902, 20), Accuracy: within(12.19, 5.621, 20.34, 20),
		Lift: within(0.6698, 0.317, 0.9863, 18), LiftOutside: within(0.5827, 0.2479, 0.9807, 18), LiftPooled: within(0.6782, 0.3267, 1.028, 19), Verdict: spatial.Worse,
		OverFlat: within(-0.07364, -0.1262, -0.02083, 20), OverLast: within(-0.1074, -0.157, -0.05868, 20),
		Coverage: within(1, 0.9036, 1, 19), Catch: within(0.2475, 0.07018, 0.4433, 18),
		PIT: []float64{0.381, 0.290, 0.127, 0.054, 0.047, 0.053, 0.025, 0.018, 0.003, 0.003},
		ByKnown: []spatial.LiftBin{
			{From: 1, To: 5, Days: 5, Lift: unbounded(0.6907, 3, "only 3 of at least 5 days tell of it"), Verdict: spatial.TooFew},
			{From: 6, To: 10, Days: 5, Lift: within(1.021, 0, 1.638, 5), Verdict: spatial.NoBetter},
			{From: 11, To: 15, Days: 5, Lift: within(0.3736, 0, 1.129, 5), Verdict: spatial.NoBetter},
			{From: 16, To: 20, Days: 5, Lift: within(0.3662, 0, 1.14, 5), Verdict: spatial.NoBetter},
		},
	}, spatial.Foretold{
		Days: 21, LeftOut: 1, Events: 100.5, Hours: 110.95,
		HitRate: within(0.1891, 0.08257, 0.2952, 21), HoursShare: within(0.331, 0.3058, 0.3565, 20),
		AreaShare: within(0.02505, 0.02503, 0.02507, 21), Accuracy: within(7.547, 3.296, 11.78, 21),
		Lift: within(0.5915, 0.2846, 0.8867, 20), LiftOutside: within(0.4881, 0.2121, 0.8374, 20), LiftPooled: within(0.5828, 0.2764, 0.8877, 20), Verdict: spatial.Worse,
		OverFlat: within(-0.1023, -0.161, -0.04652, 21), OverLast: within(-0.1276, -0.1962, -0.06388, 21),
		Coverage: within(1, 0.9162, 1, 21), Catch: within(0.2473, 0.09859, 0.4241, 20),
		PIT: []float64{0.452, 0.279, 0.090, 0.055, 0.042, 0.037, 0.023, 0.013, 0.005, 0.005},
		ByKnown: []spatial.LiftBin{
			{From: 20, To: 20, Days: 21, Lift: within(0.5915, 0.2846, 0.8867, 20), Verdict: spatial.Worse},
		},
	})
}

// BacktestNone is of a season of one day, so that none was foretold.
func BacktestNone() spatial.Backtest {
	none := spatial.Estimate{Why: "there is nothing to hold it against"}
	nothing := spatial.Foretold{
		HitRate: none, HoursShare: none, AreaShare: none, Accuracy: none, Lift: none, LiftOutside: none, LiftPooled: none,
		OverFlat: none, OverLast: none, Coverage: none, Catch: none,
	}
	return backtest([]spatial.LeftOut{day("2031-04-26", 4, 4.69, nil, nil)}, nothing, nothing)
}
