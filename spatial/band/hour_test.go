package band

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"leadline/spatial/rate"
)

// at returns events of weight 1.
func atHours(hours ...float64) (out []HourEvent) {
	for _, h := range hours {
		out = append(out, HourEvent{h, 1})
	}
	return out
}

// fished returns days of fishing in pieces of six minutes.
func fished(from, to, days float64) (out []HourEffort) {
	for k := range int(math.Round((to - from) * 10)) {
		out = append(out, HourEffort{from + 0.05 + float64(k)/10, days / 10})
	}
	return out
}

func TestByHour(t *testing.T) {
	got := ByHour(atHours(6.2, 6.9), []HourEffort{{6.5, 4}, {8.5, 2}})
	want := []Hour{
		{From: 6, To: 7, Events: 2, EffortH: 4, Rate: rate.PerHour(2, 4)},
		{From: 7, To: 8, Thin: true},
		{From: 8, To: 9, EffortH: 2, Rate: rate.PerHour(0, 2), Thin: true},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("by hand: %+v", got)
	}
	if ByHour(nil, nil) != nil || ByHour(nil, []HourEffort{{3, 0}}) != nil {
		t.Error("nothing gave hours")
	}
	// An hour and a half before sunrise to half an hour after it.
	sun := ByHour(atHours(-1.2), fished(-1.5, 0.5, 10))
	if len(sun) != 3 || sun[0].From != -2 || sun[0].Events != 1 || math.Abs(sun[0].EffortH-5) > 1e-9 || math.Abs(sun[1].EffortH-10) > 1e-9 {
		t.Errorf("before sunrise: %+v", sun)
	}
	off := ByHour(atHours(9.5, 5.5), []HourEffort{{7.5, 1}})
	if len(off) != 5 || off[0].Events != 1 || off[0].Rate.OK || !off[0].Thin || off[2].Events != 0 || off[4].Events != 1 {
		t.Errorf("events when nobody fished: %+v", off)
	}
	midnight := ByHour(atHours(24), []HourEffort{{24, 1}, {23.5, 1}})
	if len(midnight) != 1 || midnight[0].EffortH != 2 || midnight[0].Events != 1 {
		t.Errorf("the end of the day belongs to its last hour: %+v", midnight)
	}
	half := ByHour([]HourEvent{{6.5, 0.5}, {6.6, 0.5}}, []HourEffort{{6.5, 4}})
	if half[0].Rate.PerH != 0.25 || half[0].Events != 2 {
		t.Errorf("two halves in 4 h: %+v", half)
	}
	empty := ByHour(nil, []HourEffort{{6.5, 4}})
	if len(empty) != 1 || !empty[0].Thin || !empty[0].Rate.OK {
		t.Errorf("no events: %+v", empty)
	}
}

func TestByHourShuffled(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	events, effort := bite(rng, 40, 5), fished(6, 12, 10)
	want := ByHour(events, effort)
	for range 20 {
		rng.Shuffle(len(events), func(i, j int) { events[i], events[j] = events[j], events[i] })
		rng.Shuffle(len(effort), func(i, j int) { effort[i], effort[j] = effort[j], effort[i] })
		if got := ByHour(events, effort); !reflect.DeepEqual(got, want) {
			t.Fatalf("another order gave\n%+v, not\n%+v", got, want)
		}
	}
}

func TestHoursPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"no step":           func() { BestWindow(atHours(1), fished(0, 2, 1), 0) },
		"no weight":         func() { ByHour([]HourEvent{{1, 0}}, nil) },
		"hour not a number": func() { ByHour(atHours(math.NaN()), nil) },
		"negative effort":   func() { ByHour(nil, []HourEffort{{1, -1}}) },
		"infinite effort":   func() { BestWindow(nil, []HourEffort{{1, math.Inf(1)}}, 1) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			call()
		})
	}
}
