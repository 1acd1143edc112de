package madelake

import (
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r2"
)

// Positions in the truth have seven decimals of a degree, a centimetre; figures
// of a school have two decimals of a metre.
const roundingM = 0.03

func TestEventsAreWhereAndWhenTheTruthSays(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		_, truth := smallSeason(seed)
		level := map[string]float64{}
		for _, d := range truth.Days {
			level[d.Date] = d.LevelM
		}
		fromSchools := map[string]int{}
		for _, e := range truth.Events {
			local := e.Time.In(time.FixedZone("", -3*3600))
			if local.Format(time.DateOnly) != e.Date {
				t.Errorf("seed %d: %v is noted for %s", seed, e.Time, e.Date)
			}
			castM := r2.Norm(r2.Sub(frame.Metres(e.Boat()), frame.Metres(e.Fish())))
			if castM > truth.CastM+roundingM {
				t.Errorf("seed %d %v: fish %.1f m from the boat", seed, e.Time, castM)
			}
			if under := truth.BottomM(e.Boat()) + level[e.Date] - truth.ReferenceLevelM; math.Abs(under-e.BottomM) > roundingM {
				t.Errorf("seed %d %v: bottom %.2f m, noted %.2f m", seed, e.Time, under, e.BottomM)
			}
			if e.NotedFishM.OK && math.Abs(e.NotedFishM.V-e.FishM) > 0.3 {
				t.Errorf("seed %d %v: fish at %.2f m noted as %.2f m", seed, e.Time, e.FishM, e.NotedFishM.V)
			}
			if under := truth.BottomM(e.Fish()) + level[e.Date] - truth.ReferenceLevelM; e.FishM <= 0 || e.FishM > under {
				t.Errorf("seed %d %v: fish at %.2f m in %.2f m of water", seed, e.Time, e.FishM, under)
			}
			if e.From == "background" {
				continue
			}
			s := truth.Schools[slices.IndexFunc(truth.Schools, func(s School) bool { return s.Name == e.School })]
			fromSchools[s.Name]++
			if m := s.DistanceM(e.Fish()); m > roundingM {
				t.Errorf("seed %d %v: fish %.2f m outside %s", seed, e.Time, m, s.Name)
			}
			if m := s.DistanceM(e.Boat()); m > truth.CastM+roundingM {
				t.Errorf("seed %d %v: boat %.2f m from %s", seed, e.Time, m, s.Name)
			}
			if e.FishM < s.FishTopM-0.001 || e.FishM > s.FishBottomM+0.001 {
				t.Errorf("seed %d %v: fish at %.2f m, %s keeps %.2f to %.2f m", seed, e.Time, e.FishM, s.Name, s.FishTopM, s.FishBottomM)
			}
			hour := float64(local.Hour()) + float64(local.Minute())/60 + float64(local.Second())/3600
			if hour < s.HourFrom || hour > s.HourTo || !slices.Contains(s.DaysPresent, e.Date) {
				t.Errorf("seed %d %v: outside the hours or days of %s", seed, e.Time, s.Name)
			}
		}
		for _, s := range truth.Schools {
			byDay := 0
			for _, d := range s.EventsByDay {
				byDay += d.Events
			}
			if s.Events != fromSchools[s.Name] || byDay != s.Events {
				t.Errorf("seed %d: %s counts %d events, by day %d, listed %d", seed, s.Name, s.Events, byDay, fromSchools[s.Name])
			}
		}
	}
}

func TestSchoolsAreSound(t *testing.T) {
	for seed := uint64(1); seed <= 4*seeds; seed++ {
		w := newWorld(Default(seed, Small))
		for i, s := range w.schools {
			thick, hours := s.bottomM-s.topM, s.hourTo-s.hourFrom
			if thick < 1.2 || thick > 2.5 || s.topM < 3 || s.bottomM > 12 || s.bottomM > s.shape.leastBottomM()-0.25 {
				t.Errorf("seed %d: %s keeps %.2f to %.2f m over %.2f m", seed, s.name, s.topM, s.bottomM, s.shape.leastBottomM())
			}
			if hours < 2 || hours > 4.01 || s.shape.longM > 30 || s.shape.shortM < 10 {
				t.Errorf("seed %d: %s has %.2f h, half axes %.1f and %.1f m", seed, s.name, hours, s.shape.longM, s.shape.shortM)
			}
			if i > 1 && r2.Norm(r2.Sub(s.shape.at, w.schools[0].shape.at)) < 200 {
				t.Errorf("seed %d: %s crowds the pair", seed, s.name)
			}
		}
		apart := r2.Norm(r2.Sub(w.schools[0].shape.at, w.schools[1].shape.at))
		if apart < 100 || apart > 150 || w.schools[0].topM < w.schools[1].bottomM {
			t.Errorf("seed %d: the pair lies %.0f m apart, bands from %.1f m and to %.1f m", seed, apart, w.schools[0].topM, w.schools[1].bottomM)
		}
	}
}

// The number of events of a Poisson process over a known time has that time's
// mean as its variance: sums over seasons must lie within 4 standard deviations.
func TestEventsComeAtTheirRates(t *testing.T) {
	schools, schoolsWant, background, backgroundWant := 0.0, 0.0, 0.0, 0.0
	for seed := uint64(1); seed <= 2*seeds; seed++ {
		_, truth := smallSeason(seed)
		for _, s := range truth.Schools {
			schools += float64(s.Events)
			schoolsWant += s.EventsPerH * s.FishedOnH
		}
		for _, e := range truth.Events {
			if e.From == "background" {
				background++
			}
		}
		backgroundWant += truth.BackgroundPerH * truth.FishingH
	}
	if math.Abs(schools-schoolsWant) > 4*math.Sqrt(schoolsWant) {
		t.Errorf("%v events from schools, wanted about %.0f", schools, schoolsWant)
	}
	if math.Abs(background-backgroundWant) > 4*math.Sqrt(backgroundWant) {
		t.Errorf("%v background events, wanted about %.0f", background, backgroundWant)
	}
}

// A circle, and the ends of the axes, can be done in the head.
func TestSchoolDistance(t *testing.T) {
	at := degrees(r2.Vec{X: 100, Y: 200})
	circle := School{Lat: at.Lat(), Lon: at.Lon(), LongHalfM: 20, ShortHalfM: 20}
	long := School{Lat: at.Lat(), Lon: at.Lon(), LongHalfM: 30, ShortHalfM: 10, BearingDeg: 90}
	for _, c := range []struct {
		name     string
		s        School
		eastM    float64
		northM   float64
		distance float64
	}{
		{"centre", circle, 0, 0, 0},
		{"inside", circle, 12, 12, 0},
		{"3-4-5 outside a circle", circle, 30, 40, 30},
		{"beyond the long end", long, 41, 0, 11},
		{"beyond the short end", long, 0, -25, 15},
		{"far", long, 0, 500, 490},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := frame.Degrees(r2.Vec{X: 100 + c.eastM, Y: 200 + c.northM})
			if m := c.s.DistanceM(p); math.Abs(m-c.distance) > 0.1 {
				t.Errorf("%.3f m, wanted %.3f m", m, c.distance)
			}
		})
	}
}
