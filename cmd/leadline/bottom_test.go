package main

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/madelake"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/bottom"
)

// The made lake's bottom is one smooth formula with ledges, points, humps and an
// old channel, so a map of it can be held against what is so.

// sounderNoiseM is the noise of the soundings below: that of the made logs.
const sounderNoiseM = 0.08

// TestBottomOfTheMadeLake sounds the middle of the lake, which has its steepest
// ledge and the old channel, in passes 15 m apart, and asks of the map what a person would: no
// bias, and an error near that of a single sounding, between passes as under them.
func TestBottomOfTheMadeLake(t *testing.T) {
	_, truth := madelake.Make(madelake.Default(1, madelake.Small))
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	bottomM := func(v r2.Vec) float64 { return truth.BottomM(frame.Degrees(v)) }
	rng := rand.New(rand.NewPCG(51, 52))
	const west, east, south, north = -700.0, 500.0, -380.0, 250.0
	var s []bottom.Sounding
	sec := 0.0
	for k := 0; south+15*float64(k) <= north; k++ {
		for m := 0.0; m <= east-west; m++ {
			v := r2.Vec{X: west + m, Y: south + 15*float64(k) + 3*math.Sin(m/40)}
			if k%2 == 1 {
				v.X = east - m
			}
			sec++
			s = append(s, bottom.Sounding{At: v, DepthM: bottomM(v) + sounderNoiseM*rng.NormFloat64(), S: sec})
		}
		sec += 600
	}
	thin := bottom.Thin(s, bottom.CellM(s), 30)
	if n := len(thin.FindStrays()); n > 0 {
		t.Errorf("%d of %d sound soundings are called strays", n, len(s))
	}
	m, err := thin.Build(context.Background(), 30)
	if err != nil {
		t.Fatal(err)
	}
	var sum, sum2, n, inside float64
	for c, known := range m.Depth.Known {
		v := m.Depth.Centre(c)
		if !known || v.X < west || v.X > east || v.Y < south || v.Y > north {
			continue
		}
		e := float64(m.Depth.Values[c]) - bottomM(v)
		sum, sum2, n = sum+e, sum2+e*e, n+1
		if math.Abs(e) <= float64(m.U95.Values[c]) {
			inside++
		}
	}
	bias, rmse := sum/n, math.Sqrt(sum2/n)
	t.Logf("%.0f cells: bias %.3f m, RMSE %.3f m, %.1f %% within U95; %+v", n, bias, rmse, 100*inside/n, m.Trials)
	if math.Abs(bias) > 0.05 || rmse > 1.2*sounderNoiseM {
		t.Errorf("bias %.3f m, RMSE %.3f m: want 0.05 m and %.3f m at most", bias, rmse, 1.2*sounderNoiseM)
	}
	if inside < 0.95*n {
		t.Errorf("%.1f %% of the depths lie within what is said to hold 95 %%", 100*inside/n)
	}
	if m.Tested == 0 {
		t.Error("no method was tried")
	}
}

// scoreMap holds the depth map of a season against the made bottom: that the trial
// on passes left out shows no bias, that the map under soundings errs little more
// than the sounder alone, for all that receiver and level add, and that its word on how sure it is
// can be trusted.
func scoreMap(t *testing.T, season ingest.Season, chart spatial.Chart, truth madelake.Truth) {
	t.Helper()
	frame := plane.New(at(truth.OriginLat, truth.OriginLon))
	var s []bottom.Sounding
	var sum2 float64
	for k, d := range season.Days {
		for _, x := range d.Soundings {
			if x.Flags != 0 {
				continue
			}
			depthM := x.SurfaceM + chart.Days[k].Shift.M
			e := depthM - truth.BottomM(x.At)
			sum2 += e * e
			s = append(s, bottom.Sounding{At: frame.Metres(x.At), DepthM: depthM, S: x.Time.Sub(d.Soundings[0].Time).Seconds(), Day: int32(k)})
		}
	}
	one := math.Sqrt(sum2 / float64(len(s)))
	thin := bottom.Thin(s, bottom.CellM(s), 30)
	thin.FindStrays()
	m, err := thin.Build(context.Background(), 30)
	if err != nil {
		t.Fatal(err)
	}
	sounded := map[int]bool{}
	for _, x := range s {
		cx, cy := m.Depth.Cell(x.At)
		sounded[cy*m.Depth.W+cx] = true
	}
	var sum, under2, n, inside, all float64
	for c, known := range m.Depth.Known {
		if !known {
			continue
		}
		e := float64(m.Depth.Values[c]) - truth.BottomM(frame.Degrees(m.Depth.Centre(c)))
		all++
		if math.Abs(e) <= float64(m.U95.Values[c]) {
			inside++
		}
		if sounded[c] {
			sum, under2, n = sum+e, under2+e*e, n+1
		}
	}
	bias, rmse := sum/n, math.Sqrt(under2/n)
	t.Logf("map: under soundings bias %.3f m, RMSE %.3f m where one sounding has %.3f m; %.1f %% of all cells within U95; trials %+v",
		bias, rmse, one, 100*inside/all, chart.Bottom.Trials)
	if math.Abs(bias) > 0.05 || rmse > 1.2*sounderNoiseM {
		t.Errorf("the map has a bias of %.3f m and an RMSE of %.3f m under soundings, wanted 0.05 m and %.3f m at most", bias, rmse, 1.2*sounderNoiseM)
	}
	if inside < 0.95*all {
		t.Errorf("%.1f %% of the map lies within what is said to hold 95 %%", 100*inside/all)
	}
	if x, ok := chart.Bottom.Chosen(); !ok || math.Abs(x.BiasM) > 0.05 {
		t.Errorf("on passes left out the map has a bias of %.3f m (tried: %v)", x.BiasM, ok)
	}
	// On passes left out, where another pass lies within a cell: two soundings of one
	// place by two receivers, against the sounder's own noise.
	if x, _ := chart.Bottom.Chosen(); x.NearPlaces < 100 || x.NearRMSEM > 1.2*sounderNoiseM {
		t.Errorf("on passes left out, within a cell of a sounding, an RMSE of %.3f m over %d places, wanted %.3f m at most", x.NearRMSEM, x.NearPlaces, 1.2*sounderNoiseM)
	} else {
		t.Logf("on passes left out, within a cell of a sounding: RMSE %.3f m over %d places", x.NearRMSEM, x.NearPlaces)
	}
	if chart.Bottom.Strays > len(s)/1000 {
		t.Errorf("%d of %d soundings are called strays", chart.Bottom.Strays, len(s))
	}
}

// TestDaysWithoutLevels takes the table of levels out of a season whose pool falls
// by more than a metre. Days that share water with others must come out where the gauge had
// them, as surely as they say; none may be moved to a wrong place.
func TestDaysWithoutLevels(t *testing.T) {
	for seed := uint64(1); seed <= seasons(4); seed++ {
		dir, truth := madeSeason(t, madelake.Default(seed, madelake.Small), "levels.csv")
		chart, _, _ := chartOf(t, dir)
		laid := 0
		for k, d := range chart.Days {
			s := d.Shift
			if s.From != spatial.ByOverlap {
				continue
			}
			laid++
			want := truth.ReferenceLevelM - truth.Days[k].LevelM
			t.Logf("seed %d, %s: %+.3f m, truly %+.3f m; said to be sure to %.3f m, spread %.3f m over %d cells", seed, d.Date, s.M, want, s.ErrorM.V, s.SpreadM.V, s.Cells)
			if off := math.Abs(s.M - want); off > 3*s.ErrorM.V || off > 0.1 {
				t.Errorf("seed %d, %s: laid %.3f m off, said to be sure to %.3f m", seed, d.Date, off, s.ErrorM.V)
			}
		}
		if laid < len(chart.Days)/2 {
			t.Errorf("seed %d: only %d of %d days were laid on others", seed, laid, len(chart.Days))
		}
	}
}
