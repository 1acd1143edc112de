// Package exporttest makes the findings that the writers are tested on: an
// invented reservoir in the open Atlantic, where no map can be mistaken for a
// real place. Its figures are plausible, not computed.
package exporttest

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Hostile is a species as somebody might type it into a log. No writer may let it
// through as markup.
const Hostile = "<script>alert(1)</script>"

// Origin is the middle of the invented reservoir.
var Origin = orb.Point{-40.0, 36.5}

var frame = plane.New(Origin)

const ft = si.FootM

func at(x, y float64) orb.Point { return frame.Degrees(r2.Vec{X: x, Y: y}) }

// shore returns the basin's outline scaled by s, counter-clockwise and closed.
func shore(s float64) orb.Ring {
	const n = 72
	var r orb.Ring
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		// The wobble grows toward the shore, so that the slopes are not alike.
		w := 1 + s*(0.16*math.Cos(3*a+0.4)+0.07*math.Sin(5*a))
		r = append(r, at(s*w*640*math.Cos(a)+(1-s)*120, s*w*380*math.Sin(a)-(1-s)*50))
	}
	return append(r, r[0])
}

// hump returns an outline of the hump in the deepest water, scaled by s.
func hump(s float64) orb.Ring {
	const n = 36
	var r orb.Ring
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		w := 1 + 0.12*math.Cos(2*a-0.6)
		r = append(r, at(150+s*w*88*math.Cos(a), -40+s*w*46*math.Sin(a)))
	}
	return append(r, r[0])
}

func ellipse(x, y, a, b, turnDeg float64) orb.Polygon {
	const n = 28
	sin, cos := math.Sincos(turnDeg * math.Pi / 180)
	var r orb.Ring
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		u, v := a*c*(1+0.08*c*s), b*s
		r = append(r, at(x+u*cos-v*sin, y+u*sin+v*cos))
	}
	return orb.Polygon{append(r, r[0])}
}

func reversed(r orb.Ring) orb.Ring {
	out := make(orb.Ring, len(r))
	for i, p := range r {
		out[len(r)-1-i] = p
	}
	return out
}

// Season returns three zones (the first with a head; the second proven but
// without a drift speed; the third not proven, and beyond every head of the box),
// with all that goes with them.
func Season() export.Findings {
	return export.Findings{
		Chart:    chart(),
		Sources:  sources(),
		Problems: problems(),
		Unplaced: unplaced(),
		Settings: &spatial.Settings{
			CastM: 20, Weights: spatial.Weights{Catch: 1, Bite: 1, Mark: 0.5, Bait: 0}, MinEvents: 4, CellM: 5, ReachM: 25, ContourM: 5 * ft, BandM: 5 * ft,
			RunMPS: 2.5, Crawling: spatial.CrawlMoved, Forecast: &spatial.Wind{SpeedMPS: 10 * si.MPHMPS, FromDeg: 315}, DriftMinS: 120, DriftMinM: 30, LineWidthM: 20, MaxGapS: 120,
			Simulations: 999, Seed: 1, Tackle: ingest.Tackle{
				Heads: []ingest.Head{
					{MassKg: si.OunceKg / 16, DensityKgM3: 11340},
					{MassKg: si.OunceKg / 8, DensityKgM3: 11340},
					{MassKg: 3 * si.OunceKg / 16, DensityKgM3: 11340},
					{MassKg: si.OunceKg / 4, DensityKgM3: 11340},
					{MassKg: 3 * si.OunceKg / 8, DensityKgM3: 11340},
					{MassKg: si.OunceKg / 2, DensityKgM3: 11340},
				},
				Lines: []ingest.LineRule{
					{UpToKg: si.OunceKg / 4, Line: fluoro},
					{UpToKg: si.PoundKg, Line: braid},
				},
				Trailers: []ingest.TrailerRule{
					{UpToKg: si.OunceKg / 4, LengthM: 2.8 * si.InchM},
					{UpToKg: si.PoundKg, LengthM: 3.8 * si.InchM},
				},
				MaxSinkS: 20, MaxAngleDeg: 45, WaterC: 15, Countdowns: countdowns(), ReelMPS: 0.67, ReelUpMPS: 0.5, UnhookS: 20, CastM: 20,
			},
		},
	}
}

// Empty returns the findings of a season in which nothing was read.
func Empty() export.Findings { return export.Findings{} }

var (
	fluoro = ingest.Line{Name: "8 lb fluorocarbon", DiameterM: 0.00023, DensityKgM3: 1780}
	braid  = ingest.Line{
		Name: "50 lb braid", DiameterM: 0.00036, DensityKgM3: 970,
		Leader: &ingest.Leader{Name: "12 lb fluorocarbon", DiameterM: 0.00028, DensityKgM3: 1780, LengthM: 3 * ft},
	}
)

func chart() spatial.Chart {
	c := spatial.Chart{
		Zone:     time.FixedZone("UTC-3", -3*3600),
		LevelM:   ingest.Known(107.41),
		LakeRate: spatial.Rate{PerH: 1.47, LowPerH: 1.17, HighPerH: 1.82, OK: true},
		Days: []spatial.DaySummary{
			{Date: "2024-05-04", FishingH: 6.62, DriftingH: 3.87, HoldingH: 2.58, CrawlingH: 0.49, RunningH: 0.71, StoppedH: 0.34, Fixes: 26388, Soundings: 26104, Events: 11, LevelM: ingest.Known(107.62),
				Shift: spatial.DayShift{From: spatial.ByLevel, M: -0.21, SpreadM: ingest.Known(0.14), Cells: 412}},
			{Date: "2024-05-11", FishingH: 7.15, DriftingH: 5.02, HoldingH: 2.13, CrawlingH: 0.77, RunningH: 0.94, StoppedH: 0.12, UnknownH: 0.21, Fixes: 28370, Soundings: 27711, Events: 17, LevelM: ingest.Known(107.55),
				Shift: spatial.DayShift{From: spatial.ByLevel, M: -0.14, SpreadM: ingest.Known(0.11), Cells: 655}},
			{Date: "2024-05-18", FishingH: 5.03, DriftingH: 1.46, HoldingH: 3.57, CrawlingH: 0.22, RunningH: 0.66, Fixes: 20484, Soundings: 310, Events: 5,
				Shift: spatial.DayShift{From: spatial.ByOverlap, M: 0.06, ErrorM: ingest.Known(0.031), SpreadM: ingest.Known(0.19), Cells: 96}},
			{Date: "2024-05-25", FishingH: 8.44, DriftingH: 6.31, HoldingH: 1.92, CrawlingH: 0.96, RunningH: 1.12, StoppedH: 0.21, UnknownH: 0.05, Fixes: 34411, Soundings: 33980, Events: 14, LevelM: ingest.Known(107.41),
				Shift: spatial.DayShift{From: spatial.ByLevel, SpreadM: ingest.Known(0.12), Cells: 701}},
		},
		Bottom: spatial.Bottom{
			CellM: 5, Cells: 20544, Sounded: 6120, Passes: 143, Tested: 0.93, U95M: ingest.Known(0.31),
			Unsure: orb.MultiPolygon{ellipse(-420, -120, 70, 42, 20)}, UnsureM: 5 * ft, Strays: 37, StraysOf: []int{0, 37},
			Trials: []spatial.Trial{
				{Method: "inverse distance", MeanM: 0.29, RMSEM: 0.42, BiasM: 0.03, P95M: 0.88, Share: 0.97, Places: 4810, NearRMSEM: 0.09, NearPlaces: 800},
				{Method: "local quadratic", MeanM: 0.19, RMSEM: 0.29, BiasM: -0.01, P95M: 0.61, Share: 0.97, Places: 4810, NearRMSEM: 0.09, NearPlaces: 800, Chosen: true},
				{Method: "ordinary kriging", MeanM: 0.2, RMSEM: 0.31, P95M: 0.66, Share: 0.97, Places: 4810, NearRMSEM: 0.09, NearPlaces: 800},
			},
			Crossings: spatial.Crossings{
				N: 388, MedianM: ingest.Known(0.09), P95M: ingest.Known(0.34), DepthM: ingest.Known(6.4), OneM: ingest.Known(0.24),
				Limits: []spatial.DepthLimit{{Order: "Special Order", M: 0.2546}, {Order: "Order 1", M: 0.5069}},
			},
		},
		Remarks: []spatial.Remark{
			{About: "level", Text: "No water level is known of 2024-05-18: depths were laid on those with one by the bottom they share."},
			{About: "heads", Text: "The countdown over 18 ft with 1/8 oz contradicts the others and counts nothing."},
		},
	}
	scales := []float64{1, 0.9, 0.81, 0.73, 0.64, 0.54, 0.42}
	for i, s := range scales {
		outer := orb.Polygon{shore(s)}
		area := spatial.DepthArea{TopM: float64(5*i) * ft, BottomM: float64(5*i+5) * ft}
		if i+1 < len(scales) {
			outer = append(outer, reversed(shore(scales[i+1])))
		} else {
			outer = append(outer, reversed(hump(1)))
		}
		area.Shape = orb.MultiPolygon{outer}
		switch i {
		case 5:
			area.Shape = append(area.Shape, orb.Polygon{hump(1), reversed(hump(0.62))})
		case 4:
			area.Shape = append(area.Shape, orb.Polygon{hump(0.62)})
		}
		c.Areas = append(c.Areas, area)
		if i == 0 {
			continue
		}
		line := spatial.Contour{DepthM: area.TopM, Lines: orb.MultiLineString{orb.LineString(shore(s))}}
		switch i {
		case 6:
			line.Lines = append(line.Lines, orb.LineString(hump(1)))
		case 5:
			line.Lines = append(line.Lines, orb.LineString(hump(0.62)))
		}
		line.Labels = []spatial.ContourLabel{{At: line.Lines[0][9], AngleDeg: -20}}
		c.Contours = append(c.Contours, line)
	}
	c.Zones = zones()
	c.Bands = bands(c.Areas)
	c.Fished = []spatial.FishedArea{{FromH: 0.25, ToH: 0.5, AreaM2: 61000}, {FromH: 0.5, ToH: 1, AreaM2: 32000}, {FromH: 32, ToH: math.Inf(1), AreaM2: 2100}}
	c.EvenP = ingest.Known(0.001)
	c.Fish = []spatial.Band{
		{TopM: 0, BottomM: 15 * ft, Events: 4, EffortH: 40, Rate: spatial.Rate{PerH: 0.1, LowPerH: 0.04, HighPerH: 0.21, OK: true}, Selection: ingest.Known(0.2), SelectionLow: ingest.Known(0), SelectionHigh: ingest.Known(0.41)},
		{TopM: 15 * ft, BottomM: 25 * ft, Events: 31, EffortH: 22, Rate: spatial.Rate{PerH: 1.41, LowPerH: 1.04, HighPerH: 1.87, OK: true}, Selection: ingest.Known(2.5), SelectionLow: ingest.Known(1.8), SelectionHigh: ingest.Known(3.1)},
		{TopM: 25 * ft, BottomM: 40 * ft, Events: 0, EffortH: 0.4, Rate: spatial.Rate{HighPerH: 4.8, OK: true}, Selection: ingest.Known(0), Thin: true},
	}
	c.Stand = spatial.Stand{Suspended: 25, OnBottom: 10, Unknown: 12, MedianM: ingest.Known(2.1)}
	c.Hours = []spatial.Hour{
		{From: 6, To: 7, Events: 9, EffortH: 3.5, Rate: spatial.Rate{PerH: 2.57, LowPerH: 1.44, HighPerH: 4.29, OK: true}},
		{From: 7, To: 8, Events: 14, EffortH: 4.1, Rate: spatial.Rate{PerH: 3.41, LowPerH: 2.16, HighPerH: 5.15, OK: true}},
		{From: 8, To: 9, Events: 2, EffortH: 4.6, Rate: spatial.Rate{PerH: 0.43, LowPerH: 0.12, HighPerH: 1.2, OK: true}},
		{From: 9, To: 10},
		{From: 10, To: 11, EffortH: 0.2, Rate: spatial.Rate{HighPerH: 9.6, OK: true}, Thin: true},
	}
	c.SunHours = []spatial.Hour{
		{From: -1, To: 0, Events: 3, EffortH: 2.2, Rate: spatial.Rate{PerH: 1.36, LowPerH: 0.49, HighPerH: 3.2, OK: true}},
		{From: 0, To: 1, Events: 22, EffortH: 10, Rate: spatial.Rate{PerH: 2.2, LowPerH: 1.54, HighPerH: 3.06, OK: true}},
	}
	c.Window = &spatial.Window{From: 6, To: 8, Events: 23, EffortH: 7.6, Rate: spatial.Rate{PerH: 3.03, LowPerH: 2.14, HighPerH: 4.2, OK: true}, Rest: spatial.Rate{PerH: 0.42, LowPerH: 0.12, HighPerH: 1.17, OK: true}}
	c.Drifts = drifts()
	c.Leeway = leeway()
	c.Forecast = &spatial.Forecast{
		WindMPS: 10 * si.MPHMPS, WindFromDeg: 315, SpeedMPS: ingest.Known(0.245), LowMPS: ingest.Known(0.182), HighMPS: ingest.Known(0.308),
		TowardDeg: ingest.Known(130.9), TowardU95Deg: ingest.Known(11.6),
	}
	c.Events = events()
	c.Tracks = tracks()
	return c
}

func zones() []spatial.Zone {
	known := ingest.Known
	return []spatial.Zone{
		{
			ID: "Z1", Shape: ellipse(212, -22, 62, 34, 25), Centre: at(210, -24), AreaM2: 6620,
			Events: 19, Catches: 23, Days: 4, EffortH: known(6.42),
			ShrunkPerH: known(2.62), Stand: spatial.Stand{Suspended: 9, OnBottom: 3, Unknown: 2, MedianM: known(1.8)},
			Bands:   []spatial.Band{{TopM: 15 * ft, BottomM: 30 * ft, Events: 14, EffortH: 5, Rate: spatial.Rate{PerH: 2.8, LowPerH: 1.8, HighPerH: 4.2, OK: true}, Selection: known(1)}},
			Window:  &spatial.Window{From: 6.5, To: 8, Events: 12, EffortH: 2, Rate: spatial.Rate{PerH: 6, LowPerH: 3.7, HighPerH: 9.3, OK: true}, Rest: spatial.Rate{PerH: 0.5, LowPerH: 0.2, HighPerH: 1.1, OK: true}},
			ByDay:   spatial.ZoneMove{M: 1.4, TowardDeg: 205, ErrorM: 0.3, Days: 4, Sure: true, OK: true},
			ByLevel: spatial.ZoneMove{M: 88, TowardDeg: 201, ErrorM: 31, Days: 4, OK: true},
			Rate:    spatial.Rate{PerH: 2.81, LowPerH: 1.88, HighPerH: 3.96, OK: true},
			PValue:  known(0.001), Proven: true,
			FishTopM: known(18 * ft), FishBottomM: known(22 * ft), FishU95M: known(0.3), FishNoted: 14, BottomM: known(26 * ft),
			BottomU95M: known(0.22), TempC: known(17.8), Structure: "hump",
			Structures: []spatial.StructureShare{{Kind: "hump", Share: 0.62}, {Kind: "ledge", Share: 0.31}, {Kind: "flat", Share: 0.07}},
			Terrain: spatial.Terrain{
				Slope: known(0.061), ProfileCurve: known(0.0021), PlanCurve: known(0.0009), FineM: known(0.34), BroadM: known(1.2),
			},
			Break: &spatial.Break{DistM: 34, TowardDeg: 61, At: at(240, -8), TopM: known(22 * ft), BottomM: known(31 * ft)}, HourFrom: known(6.2), HourTo: known(9.65),
			DriftMPS: known(0.224), DriftTowardDeg: known(68), DriftPasses: 9,
			Head: spatial.HeadChoice{
				DepthM: known(22 * ft), TopM: known(18 * ft), SpeedMPS: known(0.224), Picked: true, Pick: 4,
				Decided: spatial.AngleLimit, Close: true, Trials: trials(), Sink: sink,
				Stand: spatial.HeadStand{
					LighterToMPS: known(0.183), HeavierFromMPS: known(0.2276), LighterToM: known(17.4 * ft), HeavierFromM: known(22.38 * ft),
					Share: known(0.58), Rival: 5, RivalShare: 0.36,
				},
			},
			ForecastHead: &spatial.HeadChoice{
				DepthM: known(22 * ft), SpeedMPS: known(0.245), Picked: true, Pick: 5, Decided: spatial.AngleLimit, Sink: sink,
				Stand: spatial.HeadStand{LighterToMPS: known(0.2276), LighterToM: known(21.1 * ft), Share: known(0.81), Rival: 4, RivalShare: 0.15}, Trials: []spatial.HeadTrial{
					trial(1, 29.6, 0, 0, 0),
					trial(2, 21.4, 14.6, 12.4, 78.9),
					trial(3, 17.7, 10.1, 7.2, 67),
					trial(4, 15.4, 8.6, 5.1, 56.4),
					trial(6, 15.9, 7.8, 3.6, 47.2),
					trial(8, 13.9, 7.3, 2.7, 38.6),
				},
			},
		},
		{
			ID: "Z2", Shape: ellipse(-318, 118, 46, 27, -40), Centre: at(-316, 119), AreaM2: 3900,
			Events: 12, Catches: 10, Days: 3, EffortH: known(4.10),
			Rate:   spatial.Rate{PerH: 2.52, LowPerH: 1.49, HighPerH: 3.84, OK: true},
			PValue: known(0.013), Proven: true,
			FishTopM: known(11 * ft), FishBottomM: known(14 * ft), FishNoted: 6, BottomM: known(15 * ft),
			Layer: "deeper", Structure: "point", HourFrom: known(16.5), HourTo: known(19.25),
			Head: spatial.HeadChoice{DepthM: known(14 * ft), Missing: []string{"drift speed"}},
			ForecastHead: &spatial.HeadChoice{
				DepthM: known(14 * ft), SpeedMPS: known(0.245), Picked: true, Pick: 2, Decided: spatial.AngleLimit, Sink: sink,
				Stand: spatial.HeadStand{LighterToMPS: known(0.172), HeavierFromMPS: known(0.2533), LighterToM: known(8.9 * ft), HeavierFromM: known(14.6 * ft), Share: known(0.66), Rival: 3, RivalShare: 0.31}, Trials: []spatial.HeadTrial{
					trial(1, 18.8, 11.2, 10, 77.3),
					trial(2, 13.6, 6.6, 4.7, 61.2),
					trial(3, 11.2, 5.2, 2.9, 43.1),
					trial(4, 9.8, 4.8, 2.1, 35.5),
					trial(6, 10.1, 4.6, 1.5, 28.4),
					trial(8, 8.9, 4.5, 1.1, 22.6),
				},
			},
		},
		{
			ID: "Z3", Shape: ellipse(60, -118, 30, 22, 10), Centre: at(60, -118), AreaM2: 2070,
			Events: 4, Catches: 2, Days: 1, EffortH: known(1.85),
			Rate:   spatial.Rate{PerH: 1.93, LowPerH: 0.81, HighPerH: 3.46, OK: true},
			PValue: known(0.31), Proven: false,
			FishTopM: known(30 * ft), FishBottomM: known(34 * ft), FishNoted: 2, BottomM: known(34 * ft),
			TempC: known(15.1), DriftMPS: known(0.52), DriftTowardDeg: known(82), DriftPasses: 2,
			Head: spatial.HeadChoice{
				DepthM: known(34 * ft), SpeedMPS: known(0.476), CurrentMPS: known(0.045), Decided: spatial.AngleLimit, Trials: hopeless(), Sink: sink,
				WayOutSpeedMPS: known(0.286), WayOutDepthM: known(3.35), WayOutLineM: known(0.000117),
			},
			ForecastHead: &spatial.HeadChoice{
				DepthM: known(34 * ft), SpeedMPS: known(0.245), Decided: spatial.SinkLimit, WayOutDepthM: known(9.62), Sink: sink, Trials: []spatial.HeadTrial{
					trial(1, 46.8, 0, 0, 0),
					trial(2, 33.2, 0, 0, 0),
					trial(3, 27.5, 22.4, 18.6, 74.2),
					trial(4, 24.1, 15.9, 11.4, 64.3),
					trial(6, 24.6, 13.2, 7.6, 52.4),
					trial(8, 21.2, 12.1, 5.6, 43.3),
				},
			},
		},
	}
}

// sink is a calibration by countdowns.
var sink = spatial.SinkDrag{PerLength2: 0.094, PerLength2SD: ingest.Known(0.007), Countdowns: 6, CountdownsOff: 1}

func countdowns() []ingest.Countdown {
	var out []ingest.Countdown
	for _, c := range []struct{ parts16, trailerIn, depthFt, seconds float64 }{
		{2, 2.8, 10, 8}, {2, 2.8, 18, 31}, {4, 2.8, 15, 8.5}, {4, 2.8, 22, 12}, {6, 3.8, 22, 12.5}, {6, 3.8, 28, 15.5}, {8, 3.8, 30, 14},
	} {
		out = append(out, ingest.Countdown{
			Head: ingest.Head{MassKg: c.parts16 * si.OunceKg / 16, DensityKgM3: 11340}, TrailerM: c.trailerIn * si.InchM, DepthM: c.depthFt * ft, Seconds: c.seconds,
		})
	}
	return out
}

func trial(parts16 float64, sinkS, lineM, trailM, angleDeg float64) spatial.HeadTrial {
	t := spatial.HeadTrial{
		Head: ingest.Head{MassKg: parts16 * si.OunceKg / 16, DensityKgM3: 11340},
		Line: fluoro, TrailerM: 2.8 * si.InchM, SinkS: sinkS, MeetsSink: sinkS <= 20,
	}
	if parts16 > 4 {
		t.Line, t.TrailerM = braid, 3.8*si.InchM
	}
	if lineM > 0 {
		t.Holds = true
		t.LineOutM, t.TrailM, t.AngleDeg = ingest.Known(lineM), ingest.Known(trailM), ingest.Known(angleDeg)
		t.MeetsAngle = angleDeg <= 45
		t.ReelMPS = ingest.Known(0.14 * math.Sqrt(parts16)) // what a heavier head allows more of
	}
	t.CycleS = sinkS + 34
	return t
}

func trials() []spatial.HeadTrial {
	return []spatial.HeadTrial{
		trial(1, 29.4, 0, 0, 0),
		trial(2, 21.3, 13.06, 10.74, 76.8),
		trial(3, 17.6, 9.43, 6.2, 63.9),
		trial(4, 15.4, 8.17, 4.31, 53.2),
		trial(6, 15.9, 7.52, 3.02, 43.6),
		trial(8, 13.9, 7.14, 2.29, 35.2),
	}
}

func hopeless() []spatial.HeadTrial {
	return []spatial.HeadTrial{
		trial(1, 52.3, 0, 0, 0),
		trial(2, 36.9, 0, 0, 0),
		trial(3, 30.2, 0, 0, 0),
		trial(4, 26.4, 0, 0, 0),
		trial(6, 26.0, 41.3, 39.2, 84.8),
		trial(8, 22.5, 27.4, 24.6, 80.9),
	}
}

func bands(areas []spatial.DepthArea) []spatial.Band {
	known := ingest.Known
	rate := func(v, low, high float64) spatial.Rate {
		return spatial.Rate{PerH: v, LowPerH: low, HighPerH: high, OK: true}
	}
	out := []spatial.Band{
		{Events: 2, EffortH: 2.31, Rate: rate(0.93, 0.32, 1.79), Selection: known(0.6)},
		{Events: 3, EffortH: 2.84, Rate: rate(1.08, 0.45, 1.93), Selection: known(0.73)},
		{Events: 11, EffortH: 5.22, Rate: rate(1.98, 1.18, 2.95), Selection: known(1.46)},
		{Events: 4, EffortH: 3.97, Rate: rate(1.06, 0.49, 1.79), Selection: known(0.7)},
		{Events: 8, EffortH: 3.64, Rate: rate(2.07, 1.15, 3.23), Selection: known(1.52)},
		{Events: 9, EffortH: 3.36, Rate: rate(2.46, 1.41, 3.75), Selection: known(1.86)},
		{Events: 0, EffortH: 0.31, Rate: rate(0.71, 0.06, 2.2), Selection: known(0), Thin: true},
	}
	for i := range out {
		b := &out[i]
		b.ID, b.TopM, b.BottomM = fmt.Sprintf("B%d", i+1), areas[i].TopM, areas[i].BottomM
		b.Shape = areas[i].Shape
	}
	return append(out, spatial.Band{ID: "B8", TopM: 35 * ft, BottomM: 45 * ft, Thin: true})
}

func drifts() []spatial.DriftLine {
	known := ingest.Known
	return []spatial.DriftLine{
		{
			ID: "D1", Line: orb.LineString{at(62, -78), at(118, -54), at(180, -33), at(248, -8), at(301, 22)}, LengthM: 260, WidthM: 14,
			Passes: 9, Days: 3, Hours: 2.84, Events: 14, Rate: spatial.Rate{PerH: 4.35, LowPerH: 2.74, HighPerH: 6.26, OK: true},
			PerPass:  spatial.Rate{PerH: 1.58, LowPerH: 0.99, HighPerH: 2.32, OK: true},
			SpeedMPS: 0.224, SpeedLowMPS: 0.181, SpeedHighMPS: 0.262, TowardDeg: 67.5, ProductiveFromM: known(96), ProductiveToM: known(205),
			Stretch: &spatial.Stretch{
				Events: 11, Hours: 1.19, Rate: spatial.Rate{PerH: 8.4, LowPerH: 5, HighPerH: 13.2, OK: true}, Rest: spatial.Rate{PerH: 1.52, LowPerH: 0.6, HighPerH: 3.2, OK: true},
				TopM: known(22 * ft), MiddleM: known(23.6 * ft), BottomM: known(27.2 * ft),
			},
			Profile: profile(260, func(m float64) ingest.Maybe {
				hump := (m - 150) / 62
				return known((33 + 1.2*math.Sin(m/21) - 11.9*math.Exp(-hump*hump)) * ft)
			}),
		},
		{
			ID: "D2", Line: orb.LineString{at(-20, -140), at(60, -121), at(150, -112)}, LengthM: 173, WidthM: 19,
			Passes: 4, Days: 2, Hours: 0.52, Events: 3, Rate: spatial.Rate{PerH: 3.1, LowPerH: 1.2, HighPerH: 5.9, OK: true},
			PerPass:  spatial.Rate{PerH: 0.75, LowPerH: 0.29, HighPerH: 1.43, OK: true},
			SpeedMPS: 0.37, SpeedLowMPS: 0.33, SpeedHighMPS: 0.43, TowardDeg: 81,
			Profile: profile(173, func(m float64) ingest.Maybe {
				if m > 70 && m < 120 {
					return ingest.Maybe{}
				}
				return known((34 - 0.02*m) * ft)
			}),
		},
		{
			ID: "D3", Line: orb.LineString{at(-260, 60), at(-180, 20), at(-120, -24)}, LengthM: 163, WidthM: 11,
			Passes: 2, Days: 1, Hours: 0.21, Events: 0,
			SpeedMPS: 0.43, SpeedLowMPS: 0.41, SpeedHighMPS: 0.45, TowardDeg: 121,
			Profile: profile(163, func(float64) ingest.Maybe { return ingest.Maybe{} }),
		},
	}
}

// profile is the bottom every five metres along a line.
func profile(lengthM float64, depthM func(alongM float64) ingest.Maybe) []spatial.ProfilePoint {
	n := int(math.Ceil(lengthM / 5))
	out := make([]spatial.ProfilePoint, n+1)
	for i := range out {
		m := lengthM * float64(i) / float64(n)
		out[i] = spatial.ProfilePoint{AlongM: m, DepthM: depthM(m)}
	}
	return out
}

// leeway is a boat's that goes a little to the right of downwind, on a slow current.
func leeway() spatial.Leeway {
	return spatial.Leeway{
		OK: true, Passes: 41, Days: 4, PerWind: 0.051, PerWindLow: 0.046, PerWindHigh: 0.057,
		AngleDeg: 6.2, AngleLowDeg: 2.1, AngleHighDeg: 10.3,
		CurrentMPS: ingest.Known(0.045), CurrentU95MPS: ingest.Known(0.022), CurrentTowardDeg: ingest.Known(68), ScatterMPS: 0.031,
	}
}

// WindUnknown makes of findings those of a season in which nothing tells how the boat
// drifts in wind, though a wind was asked about.
func WindUnknown(in export.Findings) export.Findings {
	c := &in.Chart
	c.Leeway = spatial.Leeway{Why: "only 2 passes have a wind, and 6 are needed", Passes: 2, Days: 1}
	c.Forecast = &spatial.Forecast{WindMPS: 10 * si.MPHMPS, WindFromDeg: 315, Why: "only 2 passes have a wind, and 6 are needed"}
	c.Zones = slices.Clone(c.Zones)
	for i := range c.Zones {
		c.Zones[i].ForecastHead = nil
	}
	return in
}

func events() []spatial.EventMark {
	rng := rand.New(rand.NewPCG(4, 7))
	known := ingest.Known
	var out []spatial.EventMark
	day := []time.Time{
		time.Date(2024, 5, 4, 9, 20, 0, 0, time.UTC), time.Date(2024, 5, 11, 9, 5, 0, 0, time.UTC),
		time.Date(2024, 5, 18, 9, 40, 0, 0, time.UTC), time.Date(2024, 5, 25, 8, 55, 0, 0, time.UTC),
	}
	species := []string{"largemouth bass", "striped bass", ""}
	add := func(n int, x, y, spread, bottomM, fishM float64, zone string) {
		for range n {
			i := len(out)
			e := spatial.EventMark{
				ID: fmt.Sprintf("E%d", i+1), Kind: ingest.EventKind([]int{0, 0, 1, 0, 2, 0, 3}[i%7]),
				At:      at(x+spread*rng.NormFloat64(), y+spread*0.6*rng.NormFloat64()),
				Time:    day[i%4].Add(time.Duration(i*431) * time.Second),
				BottomM: known(bottomM + 0.6*rng.NormFloat64()), Count: 1, Zone: zone,
			}
			if e.Kind == ingest.Catch {
				e.Species = species[i%3]
				e.Count = 1 + i%9/8
			}
			if i%3 != 1 {
				e.FishM = known(fishM + 0.5*rng.NormFloat64())
			}
			out = append(out, e)
		}
	}
	add(19, 208, -22, 24, 26*ft, 20*ft, "Z1")
	add(12, -316, 118, 18, 15*ft, 12.5*ft, "Z2")
	add(4, 60, -118, 10, 34*ft, 32*ft, "Z3")
	add(12, -40, 30, 150, 24*ft, 17*ft, "")
	out[40].Species = Hostile
	out[43].Time = time.Time{}
	out[45].BottomM = ingest.Maybe{}
	return out
}

func tracks() []spatial.TrackPiece {
	start := time.Date(2024, 5, 4, 8, 30, 0, 0, time.UTC)
	piece := func(state string, fromMin, forMin int, line orb.LineString) spatial.TrackPiece {
		from := start.Add(time.Duration(fromMin) * time.Minute)
		return spatial.TrackPiece{From: from, To: from.Add(time.Duration(forMin) * time.Minute), State: state, Line: line}
	}
	var run, fish, back orb.LineString
	for i := range 60 {
		t := float64(i) / 59
		run = append(run, at(-560+t*700+30*math.Sin(5*t), -40-60*t+140*math.Sin(3.1*t)))
	}
	for i := range 240 {
		t := float64(i) / 239
		fish = append(fish, at(-380+640*t+40*math.Sin(31*t), 130-230*t+70*math.Sin(43*t)))
	}
	for i := range 30 {
		t := float64(i) / 29
		back = append(back, at(301-250*t, 22-115*t+26*math.Sin(3.1*t)))
	}
	return []spatial.TrackPiece{
		piece("running", 0, 14, run), piece("drifting", 14, 52, fish[:110]), piece("holding", 66, 20, fish[109:150]),
		piece("drifting", 86, 40, fish[149:]), piece("crawling", 126, 9, back),
		piece("stopped", 135, 6, orb.LineString{at(51, -93), at(52, -92.5), at(51.5, -92)}),
	}
}

func sources() []ingest.Source {
	known := ingest.Known
	return []ingest.Source{
		{
			Name: "may/tracks.gpx", TakenFor: "GPX 1.1 track", RowsRead: 109653, Used: 109653,
			Flagged: map[string]int{"repeated time": 12, "impossible jump": 3}, ClockOffsetS: ingest.Maybe{},
		},
		{
			Name: "may/depths.csv", TakenFor: "CSV depth log", Columns: []ingest.Column{
				{Name: "Time", ReadAs: "time"}, {Name: "Depth (ft)", ReadAs: "depth", Unit: "ft"},
				{Name: "Water temp", ReadAs: "temperature", Unit: "°F"}, {Name: "Battery"},
			},
			RowsRead: 87812, Used: 87795, Repaired: 3, SetAside: 14,
			Flagged: map[string]int{"no bottom": 841, "spike": 96, "double echo": 22, "held value": 40}, ClockOffsetS: known(-10800),
		},
		{
			Name: "catches.csv", TakenFor: "CSV catch log", Columns: []ingest.Column{
				{Name: "date", ReadAs: "time"}, {Name: "time", ReadAs: "time"}, {Name: "kind", ReadAs: "kind"},
				{Name: "species", ReadAs: "species"}, {Name: "depth_ft", ReadAs: "depth", Unit: "ft"},
			},
			RowsRead: 63, Used: 59, Repaired: 2, SetAside: 2,
		},
		{Name: "levels.csv", TakenFor: "CSV water levels", Columns: []ingest.Column{
			{Name: "date", ReadAs: "time"}, {Name: "level_ft", ReadAs: "level", Unit: "ft"},
		}, RowsRead: 3, Used: 3},
	}
}

func problems() []ingest.Problem {
	var out []ingest.Problem
	for i := range 14 {
		out = append(out, ingest.Problem{
			File: "may/depths.csv", Line: 1042 + 37*i, Field: "Depth (ft)", Found: "--", Wanted: "a number such as 18.4",
			Outcome: ingest.SetAside, Kind: ingest.ErrNumber,
		})
	}
	for i := range 3 {
		out = append(out, ingest.Problem{
			File: "may/depths.csv", Line: 70021 + i, Field: "Water temp", Found: "212.9", Wanted: "28 to 110 °F",
			Outcome: ingest.Repaired, Kind: ingest.ErrRange,
		})
	}
	return append(out,
		ingest.Problem{File: "catches.csv", Line: 12, Field: "time", Found: "25:10", Wanted: "a clock time such as 06:12", Outcome: ingest.SetAside, Kind: ingest.ErrTime},
		ingest.Problem{File: "catches.csv", Line: 19, Field: "depth_ft", Found: Hostile, Wanted: "a number", Outcome: ingest.Repaired, Kind: ingest.ErrNumber},
		ingest.Problem{File: "catches.csv", Line: 31, Field: "kind", Found: "snag", Wanted: "catch, bite, mark or bait", Outcome: ingest.SetAside, Kind: ingest.ErrWord},
		ingest.Problem{File: "catches.csv", Line: 44, Field: "depth_ft", Found: "190", Wanted: "no deeper than the bottom", Outcome: ingest.Repaired, Kind: ingest.ErrRange},
		ingest.Problem{File: "catches.csv", Line: 50, Field: "count", Found: "41", Wanted: "at most 40", Outcome: ingest.InDoubt, Kind: ingest.ErrRange},
		ingest.Problem{File: "may", Outcome: ingest.InDoubt, Found: "notes.txt", Wanted: "a file of a known kind", Kind: ingest.ErrShape},
	)
}

func unplaced() []ingest.Unplaced {
	var out []ingest.Unplaced
	for i := range 11 {
		out = append(out, ingest.Unplaced{
			What: "sounding", Source: 1, Line: 311 + 100*i, LastLine: 311 + 100*i + i%3, Count: 1 + i%3, Time: time.Date(2024, 5, 11, 8, 2, 11+i, 0, time.UTC),
			Reason: ingest.InGap,
		})
	}
	return append(out,
		ingest.Unplaced{What: "catch", Source: 2, Line: 8, LastLine: 8, Count: 1, Time: time.Date(2024, 5, 9, 11, 0, 0, 0, time.UTC), Reason: ingest.TooLate},
		ingest.Unplaced{What: "bite", Source: 2, Line: 27, LastLine: 27, Count: 1, Reason: ingest.NoTimeNorPlace},
	)
}

// Golden compares got with testdata/NAME, or writes it there when the environment
// has UPDATE=1.
func Golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if os.Getenv("UPDATE") == "1" {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (UPDATE=1 writes it)", err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs from what was written (first difference at byte %d); UPDATE=1 rewrites it, read the change",
			path, firstDifference(got, want))
	}
}

func firstDifference(a, b []byte) int {
	n := min(len(a), len(b))
	for i := range n {
		if a[i] != b[i] {
			return i
		}
	}
	return n
}
