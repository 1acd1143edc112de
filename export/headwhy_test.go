package export

import (
	"strings"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func headOf(oz, sinkS, lineM, angleDeg float64) spatial.HeadTrial {
	t := spatial.HeadTrial{Head: ingest.Head{MassKg: oz * si.OunceKg}, SinkS: sinkS, MeetsSink: sinkS <= 20}
	if lineM > 0 {
		t.Holds, t.MeetsAngle = true, angleDeg <= 45
		t.LineOutM, t.AngleDeg = ingest.Known(lineM), ingest.Known(angleDeg)
	}
	return t
}

func TestHeadWhy(t *testing.T) {
	const usual = " Sink times rest on the usual drag of a trailer: no countdown was given."
	depth, speed := ingest.Known(24*si.FootM), ingest.Known(0.5*si.MPHMPS)
	trials := []spatial.HeadTrial{
		headOf(1.0/8, 28, 0, 0), headOf(1.0/4, 21, 12, 48), headOf(3.0/8, 17, 9.6, 41), headOf(1.0/2, 15, 8.8, 33),
	}
	for _, c := range []struct {
		name   string
		choice spatial.HeadChoice
		units  si.System
		want   string
	}{
		{"picked by angle", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Picked: true, Pick: 2, Trials: trials, Decided: spatial.AngleLimit}, si.US,
			"3/8 oz is the lightest head of the box that meets both limits at 24 ft in a drift of 0.5 mph: down in 17 s, 31 ft of line out, line 41° from vertical at the rod. " +
				"The next lighter, 1/4 oz, leaves the line too slanted, 48° from vertical, and is too slow, 21 s down.\nStill water was assumed." + usual},
		{"picked by sink, metric", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Picked: true, Pick: 2, Trials: trials, Decided: spatial.SinkLimit}, si.Metric,
			"10.6 g is the lightest head of the box that meets both limits at 7.3 m in a drift of 0.22 m/s: down in 17 s, 9.6 m of line out, line 41° from vertical at the rod. " +
				"The next lighter, 7.1 g, is too slow, 21 s down, and leaves the line too slanted, 48° from vertical.\nStill water was assumed." + usual},
		{"next lighter can't hold", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Picked: true, Pick: 1,
			Trials: []spatial.HeadTrial{headOf(1.0/8, 18, 0, 0), headOf(1.0/4, 16, 8, 40)}, Decided: spatial.AngleLimit}, si.US,
			"1/4 oz is the lightest head of the box that meets both limits at 24 ft in a drift of 0.5 mph: down in 16 s, 26 ft of line out, line 40° from vertical at the rod. " +
				"The next lighter, 1/8 oz, can't hold that depth with any sensible length of line.\nStill water was assumed." + usual},
		{"lightest will do, close", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Picked: true, Trials: trials[3:], Close: true}, si.US,
			"1/2 oz is the lightest head of the box that meets both limits at 24 ft in a drift of 0.5 mph: down in 15 s, 29 ft of line out, line 33° from vertical at the rod. " +
				"No lighter head is in the box.\nIt is close: 2 % more or less depth or speed would change the pick. Still water was assumed." + usual},
		{"none, ways out rounded to the safe side", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Trials: trials[:2], Decided: spatial.SinkLimit,
			WayOutSpeedMPS: ingest.Known(0.499 * si.MPHMPS), WayOutDepthM: ingest.Known(22.9 * si.FootM), WayOutLineM: ingest.Known(0.000199)}, si.US,
			"No head of the box meets both limits at 24 ft in a drift of 0.50 mph: even 1/4 oz is too slow, 21 s down, and leaves the line too slanted, 48° from vertical.\n" +
				"1/4 oz would do with a drift no faster than 0.49 mph, or fish no deeper than 22 ft, or line no thicker than 0.19 mm. Still water was assumed." + usual},
		{"none, one way out, metric", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Trials: trials[:1], Decided: spatial.AngleLimit,
			WayOutDepthM: ingest.Known(3.39)}, si.Metric,
			"No head of the box meets both limits at 7.3 m in a drift of 0.224 m/s: even 3.5 g can't hold that depth with any sensible length of line, and is too slow, 28 s down.\n" +
				"3.5 g would do with fish no deeper than 3.3 m. Still water was assumed." + usual},
		{"none, no way out", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, Trials: trials[:1], Decided: spatial.AngleLimit, WayOutSpeedMPS: ingest.Known(0.01)}, si.US,
			"No head of the box meets both limits at 24 ft in a drift of 0.50 mph: even 1/8 oz can't hold that depth with any sensible length of line, and is too slow, 28 s down.\n" +
				"Neither a slower drift, nor less depth, nor thinner line alone would do. Still water was assumed." + usual},
		{"how firmly, in a current", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed, CurrentMPS: ingest.Known(0.1 * si.MPHMPS), Picked: true, Pick: 2, Trials: trials, Decided: spatial.AngleLimit,
			Stand: spatial.HeadStand{HeavierFromMPS: ingest.Known(0.5899 * si.MPHMPS), Share: ingest.Known(1)}, Sink: spatial.SinkDrag{PerLength2: 0.1, Countdowns: 3}}, si.US,
			"3/8 oz is the lightest head of the box that meets both limits at 24 ft in a drift of 0.50 mph through the water: down in 17 s, 31 ft of line out, line 41° from vertical at the rod. " +
				"The next lighter, 1/4 oz, leaves the line too slanted, 48° from vertical, and is too slow, 21 s down.\n" +
				"Stands in every draw with drift, depth and drag as uncertain as they are. A drift above 0.58 mph wants 1/2 oz. " +
				"A current of 0.10 mph was taken off the drift over ground. Sink times rest on 3 countdowns."},
		{"drift speed missing", spatial.HeadChoice{DepthM: depth, Missing: []string{"drift speed"}}, si.US,
			"No head was worked out: the drift speed is not known here.\nNeeded: a track with times from a drift that caught fish here."},
		{"both missing", spatial.HeadChoice{Missing: []string{"fish depth", "drift speed"}}, si.US,
			"No head was worked out: the fish depth and the drift speed are not known here.\n" +
				"Needed: the depth of the fish, noted with a catch, and a track with times from a drift that caught fish here."},
		{"something else missing", spatial.HeadChoice{Missing: []string{"line"}}, si.US,
			"No head was worked out: the line is not known here.\nNeeded: the line."},
		{"empty box", spatial.HeadChoice{DepthM: depth, SpeedMPS: speed}, si.US,
			"No head was worked out: the box holds none.\nList the heads of the box in the boat file."},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := HeadWhy(c.choice, c.units)
			if got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			if strings.Count(got, "\n") != 1 {
				t.Error("not two lines")
			}
		})
	}
}
