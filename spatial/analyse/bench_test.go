package analyse

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// longSeason is days of ten hours with a fix and a sounding a second and 25 catches each,
// at twenty of sixty places, the first so many of which hold a school.
func longSeason(days, schools int) ingest.Season {
	rng := rand.New(rand.NewPCG(51, 52))
	bottom := func(v r2.Vec) float64 { return 8 + 4*math.Sin(v.X/300)*math.Cos(v.Y/250) }
	var spots []r2.Vec
	for range 60 {
		spots = append(spots, r2.Vec{X: 4000 * rng.Float64(), Y: 3000 * rng.Float64()})
	}
	s := ingest.Season{Zone: time.UTC, ZoneSaid: true}
	for k := range days {
		d := ingest.Day{Date: noon.AddDate(0, 0, k).Format(time.DateOnly), Tracks: []ingest.Track{{}}, LevelM: ingest.Known(100)}
		now := noon.AddDate(0, 0, k).Add(-5 * time.Hour)
		at := spots[0]
		step := func(v r2.Vec) {
			p := frame.Degrees(r2.Add(v, r2.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64()}))
			d.Tracks[0].Fixes = append(d.Tracks[0].Fixes, ingest.Fix{Time: now, Pos: p})
			x := ingest.PlacedSounding{At: p, SurfaceM: bottom(v) + 0.05*rng.NormFloat64()}
			x.Time = now
			d.Soundings = append(d.Soundings, x)
			now = now.Add(time.Second)
		}
		for len(d.Soundings) < 36000 {
			spot := rng.IntN(len(spots))
			to := spots[spot]
			n := max(1, int(r2.Norm(r2.Sub(to, at))/8))
			for i := range n {
				step(r2.Add(at, r2.Scale(float64(i)/float64(n), r2.Sub(to, at))))
			}
			perS := 0.4 / 3600.0
			if spot < schools {
				perS = 9 / 3600.0
			}
			way := plane.Toward(360 * rng.Float64())
			for i := range 1500 {
				at = r2.Add(to, r2.Scale(0.15*float64(i%500)-37, way))
				step(at)
				if rng.Float64() < 2.2*perS {
					e := ingest.PlacedEvent{At: frame.Degrees(at)}
					e.Time, e.Count, e.FishM = now, 1, ingest.Known(bottom(at)-rng.Float64())
					d.Events = append(d.Events, e)
				}
			}
		}
		s.Days = append(s.Days, d)
	}
	return s
}

// The whole analysis of seasons up to 200 days of 36,000 fixes and soundings: 7.2 million of each, 5,000 catches.
func BenchmarkSeason(b *testing.B) {
	for _, days := range []int{10, 50, 200} {
		season := longSeason(days, 6)
		events, soundings := 0, 0
		for _, d := range season.Days {
			events += len(d.Events)
			soundings += len(d.Soundings)
		}
		b.Run(fmt.Sprintf("%d days, %d soundings, %d events", days, soundings, events), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c, err := Season(context.Background(), season, Defaults(boat), nil)
				if err != nil {
					b.Fatal(err)
				}
				if len(c.Zones) == 0 {
					b.Fatal("no zone")
				}
			}
		})
	}
}

var longBench = flag.Bool("long", false, "benchmark the run of a season of 200 days, too: its analysis takes minutes")

// The plan of a day, analysis apart, over some forty zones: of a season of 20 days, and of 200.
func BenchmarkRun(b *testing.B) {
	for _, days := range []int{20, 200} {
		if days > 20 && !*longBench {
			continue
		}
		set := Defaults(boat)
		set.Simulations = 99
		a, err := analysed(context.Background(), longSeason(days, 45), set, nil)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("%d days, %d zones", days, len(a.chart.Zones)), func(b *testing.B) {
			for b.Loop() {
				p := planner{a: a, ask: spatial.RunAsk{Date: "2031-10-24", DraughtM: 0.6, MarginM: 0.6, Seed: 1}}
				if err := p.plan(context.Background()); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(len(p.run.Stops)), "stops")
				b.ReportMetric(100*(p.run.Bound/p.run.Expected.Mean-1), "%gap")
				b.ReportMetric(p.run.Expected.Mean, "exp")
				b.ReportMetric(p.run.Bound, "bound")
				b.ReportMetric(p.run.Expected.Mean, "exp")
				b.ReportMetric(p.run.Bound, "bound")
			}
		})
	}
}

// The backtest of seasons up to 200 days of 36,000 fixes and soundings.
func BenchmarkBacktest(b *testing.B) {
	for _, days := range []int{20, 50, 200} {
		if days > 50 && !*longBench {
			continue
		}
		season := longSeason(days, 6)
		b.Run(fmt.Sprintf("%d days", days), func(b *testing.B) {
			for b.Loop() {
				r := tested(b, season, spatial.BacktestAsk{Seed: 1})
				b.ReportMetric(r.Earlier.Lift.Value, "lift")
			}
		})
	}
}
