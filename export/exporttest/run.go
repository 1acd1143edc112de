package exporttest

import (
	"math"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Run returns the chart of Season with five zones more, and a run over it on an invented
// day: three stops (the first with a drift that may go any way, the last beyond every head
// of the box), four legs (one of them over water that was sounded in part, one over water
// that never was), a zone left out for each kind of reason, and two plans for other days,
// one of which can't be had.
func Run() (spatial.Chart, spatial.Run) {
	known := ingest.Known
	c := chart()
	for i, x := range []float64{-440, -150, 20, 330, 420} {
		c.Zones = append(c.Zones, spatial.Zone{
			ID: []string{"Z4", "Z5", "Z6", "Z7", "Z8"}[i], Shape: ellipse(x, 150, 24, 18, 0), Centre: at(x, 150), AreaM2: 1350,
			Events: 3, Catches: 2, Days: 2, EffortH: known(2.2), Rate: spatial.Rate{PerH: 1.36, LowPerH: 0.49, HighPerH: 2.9, OK: true},
			PValue: known(0.02 + 0.05*float64(i)), Proven: i == 0, FishTopM: known(12 * ft), FishBottomM: known(15 * ft), BottomM: known(20 * ft),
			Head: spatial.HeadChoice{DepthM: known(15 * ft), Missing: []string{"drift speed"}},
		})
	}
	clock := func(hour, min, sec int) time.Time { return time.Date(2024, 6, 1, hour+3, min, sec, 0, time.UTC) }
	wind := func(mph, fromDeg float64) spatial.Wind {
		return spatial.Wind{SpeedMPS: mph * si.MPHMPS, FromDeg: fromDeg}
	}
	calm, breeze := wind(1, 300), wind(10, 315)
	r := spatial.Run{
		Date: "2024-06-01", Zone: c.Zone,
		Sunrise: clock(4, 26, 31), Sunset: clock(18, 53, 12), Start: clock(5, 0, 0), Back: clock(10, 0, 0),
		Leave: clock(5, 0, 0), Home: clock(9, 52, 40), Launch: at(-560, -40), TakeOut: at(-560, -40), Guessed: true,
		LevelM: known(106.94), DraughtM: 0.4, MarginM: 0.3, RunMPS: 9.8,
		Winds:    []spatial.HourWind{{Wind: calm}, {From: clock(6, 30, 0), Wind: breeze}},
		Expected: spatial.Spread{Mean: 8.37, Low: 3, High: 15}, Bound: 8.92, WorthPerH: 0.94,
		Cooling: spatial.RunCooling{TauMin: 42, Learned: true, Events: 35, Visits: 27, Shape: 1.9},
		Nearest: &spatial.RunRival{
			Order: []string{"Z2", "Z3", "Z1"}, Expected: spatial.Spread{Mean: 7.52, Low: 3, High: 13},
			Gain: spatial.Spread{Mean: 0.85, Low: -4, High: 6}, Ratio: 1.113, Share: 0.63, Days: 2000,
		},
		Remarks: []spatial.Remark{{About: "wind", Text: "The wind of 10 mph is at the edge of what was learned from."}},
	}
	firm := *c.Zones[0].ForecastHead
	light := *c.Zones[1].ForecastHead
	light.DepthM, light.SpeedMPS, light.Pick, light.Decided = known(13*ft), known(0.05), 1, spatial.SinkLimit
	light.Stand = spatial.HeadStand{LighterToM: known(12.2 * ft), Share: known(0.88), Rival: 0, RivalShare: 0.12}
	r.Stops = []spatial.RunStop{
		{
			Order: 1, Zone: "Z2", Index: 1, At: at(-316, 119), Arrive: clock(5, 1, 10), Leave: clock(6, 30, 0),
			Expected: spatial.Spread{Mean: 2.61, Low: 0, High: 6}, PerH: 2.9,
			LeaveIf:  []spatial.RunPatience{{Bites: 0, Minutes: 36}, {Bites: 1, Minutes: 58}, {Bites: 2, Minutes: 76}},
			FishTopM: known(11*ft - 0.47), FishBottomM: known(14*ft - 0.47), FishBy: "bottom", BottomM: known(15*ft - 0.47),
			Wind: &calm, DriftMPS: known(0.05), DriftFrom: "forecast", DriftEnd: at(-316, 119), Head: light,
		},
		{
			Order: 2, Zone: "Z1", Index: 0, At: at(168, 22), Arrive: clock(6, 31, 5), Leave: clock(8, 20, 0),
			Expected: spatial.Spread{Mean: 3.94, Low: 1, High: 8}, PerH: 3.3,
			LeaveIf:  []spatial.RunPatience{{Bites: 0, Minutes: 41.5}, {Bites: 1, Minutes: 66}},
			FishTopM: known(18 * ft), FishBottomM: known(22 * ft), FishBy: "surface", BottomM: known(26*ft - 0.47),
			Wind: &breeze, DriftMPS: known(0.245), DriftTowardDeg: known(130.9), DriftFrom: "forecast", DriftEnd: at(252, -51), DriftLine: "D1",
			PassS: known(454), Head: firm,
		},
		{
			Order: 3, Zone: "Z3", Index: 2, At: at(38, -99), Arrive: clock(8, 20, 25), Leave: clock(9, 51, 20),
			Expected: spatial.Spread{Mean: 1.82, Low: 0, High: 5}, PerH: 1.9,
			FishTopM: known(30 * ft), FishBottomM: known(34 * ft), BottomM: known(34*ft - 0.47),
			Wind: &breeze, DriftMPS: known(0.245), DriftTowardDeg: known(130.9), DriftFrom: "forecast", DriftEnd: at(82, -137), PassS: known(237),
			Head: *c.Zones[2].ForecastHead,
		},
	}
	way := func(from, to int, least ingest.Maybe, unsoundedM float64, corners ...orb.Point) spatial.RunLeg {
		l := spatial.RunLeg{From: from, To: to, Line: corners, LeastM: least, UnsoundedM: unsoundedM}
		for i := 1; i < len(corners); i++ {
			l.LengthM += frame.DistanceM(corners[i-1], corners[i])
		}
		l.LengthM = math.Round(10*l.LengthM) / 10
		l.Seconds = math.Round(l.LengthM / r.RunMPS)
		return l
	}
	r.Legs = []spatial.RunLeg{
		way(0, 1, known(4.7*ft), 0, r.Launch, at(-470, 46), at(-402, 92), r.Stops[0].At),
		way(1, 2, known(11*ft), 95, r.Stops[0].At, at(-210, 70), at(-40, 64), at(90, 48), r.Stops[1].At),
		way(2, 3, ingest.Maybe{}, 178, r.Stops[1].At, at(120, -30), r.Stops[2].At),
		way(3, 4, known(3.2*ft), 0, r.Stops[2].At, at(-180, -84), at(-410, -60), r.TakeOut),
	}
	r.Others = []spatial.RunOther{
		{
			Name: "two hours shorter", Expected: 5.63, Home: clock(7, 58, 0),
			Stops: []spatial.RunOtherStop{
				{Zone: "Z2", Arrive: clock(5, 1, 10), Leave: clock(6, 10, 0), Head: light},
				{Zone: "Z1", Arrive: clock(6, 11, 5), Leave: clock(7, 56, 30), Head: spatial.HeadChoice{Missing: []string{"drift speed"}}},
			},
		},
		{Name: "wind 10 mph stronger", Why: "that wind is beyond what was learned from"},
	}
	r.Dropped = []spatial.RunDropped{
		{Zone: "Z4", Why: "left out as asked", Costs: known(0.42)},
		{Zone: "Z5", Why: "not proven", Costs: known(0.02)},
		{Zone: "Z6", Why: "no known water leads there"},
		{Zone: "Z7", Why: "other zones give more for the time", Costs: known(1)},
		{Zone: "Z8", Why: "too far to be back in time"},
	}
	return c, r
}
