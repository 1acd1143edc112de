package band

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"leadline/ingest"
	"leadline/spatial/rate"
)

// at returns events of weight 1.
func at(depths ...float64) (out []Event) {
	for _, m := range depths {
		out = append(out, Event{m, 1})
	}
	return out
}

// evenly returns hours over the middle of each metre from top to bottom.
func evenly(top, bottom, hours float64) (out []Effort) {
	for m := top + 0.5; m < bottom; m++ {
		out = append(out, Effort{m, hours})
	}
	return out
}

var school = at(6.1, 6.2, 6.3, 6.5, 6.6, 6.9, 7.0, 7.2, 7.3, 7.6, 7.8, 7.9)

type edges [][2]float64

func edgesOf(bands []Band) (out edges) {
	for _, b := range bands {
		out = append(out, [2]float64{b.TopM, b.BottomM})
	}
	return out
}

func TestByBottomEdges(t *testing.T) {
	others := at(2.5, 10.5, 13.5)
	for name, c := range map[string]struct {
		events []Event
		effort []Effort
		step   float64
		want   edges
	}{
		"nothing":                       {nil, nil, 1, nil},
		"no hours in the effort":        {nil, []Effort{{3, 0}}, 1, nil},
		"a school, evenly fished":       {slices.Concat(school, others), evenly(0, 15, 2), 1, edges{{0, 6}, {6, 8}, {8, 15}}},
		"a school, half the step":       {slices.Concat(school, others), halves(15, 1), 0.5, edges{{0, 6}, {6, 8}, {8, 15}}},
		"all time at the school":        {school, evenly(6, 8, 15), 1, edges{{6, 8}}},
		"all time there, some beyond":   {slices.Concat(school, others), evenly(6, 8, 15), 1, edges{{2, 14}}},
		"nothing changes":               {at(0.5, 3.5, 7.5, 11.5, 14.5), evenly(0, 15, 2), 1, edges{{0, 15}}},
		"no events":                     {nil, evenly(3, 9, 1), 1.5, edges{{3, 9}}},
		"no hours":                      {at(3.2, 7), nil, 1, edges{{3, 7}}},
		"one depth at an edge":          {at(3), []Effort{{3, 1}}, 1.5, edges{{3, 4.5}}},
		"a lucky cast in ten seconds":   {at(0.5, 1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5), append(evenly(0, 9, 5), Effort{9.5, 10.0 / 3600}), 1, edges{{0, 10}}},
		"fished for less than a minute": {at(5, 5), []Effort{{2.5, 0.005}, {5.5, 0.005}}, 1, edges{{2, 6}}},
	} {
		if got := edgesOf(ByBottom(c.events, c.effort, c.step)); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: bands %v, want %v", name, got, c.want)
		}
	}
}

// halves returns hours over the middle of each half metre to bottom.
func halves(bottom, hours float64) (out []Effort) {
	for m := 0.25; m < bottom; m += 0.5 {
		out = append(out, Effort{m, hours})
	}
	return out
}

// By hand: twelve of fifteen in 4 of 30 h are 3 an hour and 0.8/0.1333 = 6 times their share; z for three bands
// is the normal quantile of 1 - 0.05/6, 2.394 (tables), so the share is 0.8 ± 2.394 sqrt(0.8 · 0.2/15) = 0.553 to 1.
func TestByBottomByHand(t *testing.T) {
	bands := ByBottom(slices.Concat(school, at(2.5, 10.5, 13.5)), evenly(0, 15, 2), 1)
	if len(bands) != 3 {
		t.Fatalf("%d bands", len(bands))
	}
	b := bands[1]
	if b.Events != 12 || b.Weight != 12 || b.EffortH != 4 || b.Rate != rate.PerHour(12, 4) || b.Thin {
		t.Errorf("%+v", b)
	}
	for name, c := range map[string][2]float64{
		"selection": {b.Selection.V, 6}, "low": {b.SelectionLow.V, 0.5527 / (4.0 / 30)}, "high": {b.SelectionHigh.V, 7.5},
	} {
		if math.Abs(c[0]-c[1]) > 2e-3 {
			t.Errorf("%s %.4f, want %.4f", name, c[0], c[1])
		}
	}
	if !bands[0].SelectionLow.OK || bands[0].SelectionLow.V != 0 {
		t.Errorf("one of fifteen: %+v", bands[0])
	}
}

func TestByBottomUnknown(t *testing.T) {
	none := ByBottom(nil, []Effort{{1, 2}}, 1.5)[0]
	if none.Selection.OK || none.SelectionLow.OK || none.Rate.HighPerH <= 0 || !none.Thin {
		t.Errorf("no events at all: %+v", none)
	}
	air := ByBottom(at(3, 7), nil, 1)[0]
	if air.Rate.OK || air.Selection.OK || !air.Thin || air.Events != 2 {
		t.Errorf("never fished: %+v", air)
	}
	one := ByBottom(school, evenly(6, 8, 15), 1)[0]
	if one.Selection != ingest.Known(1) || one.SelectionLow.OK || one.SelectionHigh.OK || one.Thin {
		t.Errorf("one band is no preference: %+v", one)
	}
	away := ByBottom(at(20), []Effort{{1, 2}}, 1)[0]
	if away.Events != 1 || away.BottomM != 20 || away.EffortH != 2 || away.Rate.PerH != 0.5 {
		t.Errorf("an event off all that was fished: %+v", away)
	}
}

// A band with less than one event to expect is thin, though what it gave is why it is a band.
func TestByBottomThin(t *testing.T) {
	bands := ByBottom(at(5.2, 5.4, 5.6, 5.8), append(evenly(0, 5, 10), Effort{5.5, 0.5}), 1)
	if len(bands) != 2 || bands[0].Thin || !bands[1].Thin {
		t.Errorf("%+v", bands)
	}
}

// Fifteen halves and fifteen twos have the bands of fifteen ones: a weight is worth what its neighbours are.
func TestByBottomWeights(t *testing.T) {
	effort := evenly(0, 15, 2)
	ones := ByBottom(slices.Concat(school, at(2.5, 10.5, 13.5)), effort, 1)
	for _, w := range []float64{0.5, 2} {
		var events []Event
		for _, e := range slices.Concat(school, at(2.5, 10.5, 13.5)) {
			events = append(events, Event{e.M, w})
		}
		for k, b := range ByBottom(events, effort, 1) {
			o := ones[k]
			if b.TopM != o.TopM || b.Events != o.Events || b.Weight != w*o.Weight || b.Selection != o.Selection || b.Rate.PerH != w*o.Rate.PerH {
				t.Errorf("weight %v: %+v, want as %+v", w, b, o)
			}
		}
	}
	heavy := ByBottom(append(at(2.5, 6.5, 10.5), Event{13.5, 30}), effort, 1) // worth 33²/903 = 1.2 events
	if len(heavy) != 1 {
		t.Errorf("one heavy event made bands: %v", edgesOf(heavy))
	}
}

func TestByFish(t *testing.T) {
	// 2 h over 5 m and 2 h over 8 m: in steps of 2 m 4, 4, 3 and 2 h, on average 3.25.
	b := ByFish(at(1, 3, 5), []Effort{{5, 2}, {8, 2}}, 2)
	if len(b) != 1 || b[0].TopM != 0 || b[0].BottomM != 8 || b[0].EffortH != 3.25 || b[0].Rate != rate.PerHour(3, 3.25) {
		t.Errorf("by hand: %+v", b)
	}
	// All fishing over 15 m: every step could be tried for all of the 10 h.
	deep := ByFish(slices.Concat(school, at(2.5, 10.5, 13.5)), []Effort{{15, 10}}, 1)
	if got, want := edgesOf(deep), (edges{{0, 6}, {6, 8}, {8, 15}}); !reflect.DeepEqual(got, want) {
		t.Fatalf("a school in mid-water: %v, want %v", got, want)
	}
	if m := deep[1]; m.EffortH != 10 || m.Rate.PerH != 1.2 || math.Abs(m.Selection.V-6) > 1e-9 {
		t.Errorf("%+v, want 1.2 an hour and 0.8/(2/15)", m)
	}
	// The same catches where nobody fished over more than 8 m nor had a fish above 6: still what that depth gave of
	// the time, since a lure could have been above.
	if got, want := edgesOf(ByFish(school, []Effort{{8, 10}}, 1)), (edges{{0, 6}, {6, 8}}); !reflect.DeepEqual(got, want) {
		t.Errorf("a school on the bottom: %v, want %v", got, want)
	}
	// Five a metre to 8 m and one a metre to 16 m are even where 50 h and 10 h could be fished, not where 50 h could everywhere.
	var fish []Event
	for m := range 16 {
		for k := range 5 {
			if m < 8 || k == 0 {
				fish = append(fish, Event{float64(m) + 0.1 + 0.2*float64(k), 1})
			}
		}
	}
	if got, want := edgesOf(ByFish(fish, []Effort{{8, 40}, {16, 10}}, 1)), (edges{{0, 16}}); !reflect.DeepEqual(got, want) {
		t.Errorf("as even as the hours: %v, want %v", got, want)
	}
	if got, want := edgesOf(ByFish(fish, []Effort{{16, 50}}, 1)), (edges{{0, 8}, {8, 16}}); !reflect.DeepEqual(got, want) {
		t.Errorf("more above, evenly fished: %v, want %v", got, want)
	}
	noted := ByFish(at(12), []Effort{{8, 1}}, 1)
	if len(noted) != 1 || noted[0].Events != 1 || noted[0].BottomM != 12 {
		t.Errorf("a fish noted below all bottoms: %+v", noted)
	}
	if ByFish(nil, nil, 1) != nil {
		t.Error("nothing gave bands")
	}
	shore := ByFish(nil, []Effort{{-0.2, 1}}, 1) // above the level of the chart
	if len(shore) != 1 || shore[0].EffortH != 0 || shore[0].Rate.OK {
		t.Errorf("no water: %+v", shore)
	}
}

type way struct {
	name string
	of   func([]Event, []Effort, float64) []Band
}

var ways = []way{{"by bottom", ByBottom}, {"by fish", ByFish}}

// season makes even hours and events, with a school in the middle if richer is above 1.
func season(rng *rand.Rand, events int, richer float64) (out []Event, effort []Effort) {
	for range 300 {
		m := 1 + 17*rng.Float64()
		effort = append(effort, Effort{m, 0.05 + 0.3*rng.Float64()})
	}
	for len(out) < events {
		e := effort[rng.IntN(len(effort))]
		chance := e.Hours / 0.35 / richer
		if e.BottomM > 6 && e.BottomM < 9 {
			chance *= richer
		}
		if rng.Float64() < chance {
			out = append(out, Event{e.BottomM, 0.5 + rng.Float64()})
		}
	}
	return out, effort
}

func TestBandsShuffled(t *testing.T) {
	for _, w := range ways {
		rng := rand.New(rand.NewPCG(3, 1))
		events, effort := season(rng, 60, 6)
		want := w.of(events, effort, 1)
		if len(want) < 2 {
			t.Errorf("%s: only %d bands, which shows little", w.name, len(want))
		}
		for range 20 {
			rng.Shuffle(len(events), func(i, j int) { events[i], events[j] = events[j], events[i] })
			rng.Shuffle(len(effort), func(i, j int) { effort[i], effort[j] = effort[j], effort[i] })
			if got := w.of(events, effort, 1); !reflect.DeepEqual(got, want) {
				t.Fatalf("%s: another order gave\n%+v, not\n%+v", w.name, got, want)
			}
		}
	}
}

func TestBandsTwiceTheHours(t *testing.T) {
	for _, w := range ways {
		for seed := range uint64(20) {
			events, effort := season(rand.New(rand.NewPCG(4, seed)), 60, 6)
			once := w.of(events, effort, 1)
			for i := range effort {
				effort[i].Hours *= 2
			}
			for k, b := range w.of(events, effort, 1) {
				o := once[k]
				if b.TopM != o.TopM || b.BottomM != o.BottomM || b.EffortH != 2*o.EffortH || b.Rate.PerH != o.Rate.PerH/2 {
					t.Fatalf("%s, seed %d: %+v, once %+v", w.name, seed, b, o)
				}
				if math.Abs(b.Rate.HighPerH-o.Rate.HighPerH/2) > 1e-9*b.Rate.HighPerH || b.Selection != o.Selection {
					t.Fatalf("%s, seed %d: %+v, once %+v", w.name, seed, b, o)
				}
			}
		}
	}
}

// At most p0 of 400 even seasons may show a change, and three standard errors of such a share:
// 0.05 + 3 sqrt(0.05 · 0.95/400) = 0.083.
func TestBandsFalseAlarms(t *testing.T) {
	const runs = 400
	most := int(runs * (p0 + 3*math.Sqrt(p0*(1-p0)/runs)))
	for _, w := range ways {
		for _, n := range []int{5, 15, 60, 200} {
			rng := rand.New(rand.NewPCG(5, uint64(n)))
			wrong := 0
			for range runs {
				wrong += map[bool]int{true: 1}[len(w.of(even(rng, n, w.name), evenHours, 1)) > 1]
			}
			t.Logf("%s, %d events: more than one band in %d of %d", w.name, n, wrong, runs)
			if wrong > most {
				t.Errorf("%s, %d events: more than one band in %d of %d even seasons", w.name, n, wrong, runs)
			}
		}
	}
}

// evenHours is a lake fished unevenly: 0.2 to 3 h over each half metre from 1 to 16 m.
var evenHours = func() (out []Effort) {
	for k := range 30 {
		out = append(out, Effort{1.25 + float64(k)/2, 0.2 + 0.1*float64((k*7)%29)})
	}
	return out
}()

// even draws events as the hours are: of a bottom depth, or of any depth above it, so that each depth gives what
// its hours do.
func even(rng *rand.Rand, n int, name string) (out []Event) {
	for len(out) < n {
		e := evenHours[rng.IntN(len(evenHours))]
		if rng.Float64() >= e.Hours/3 {
			continue
		}
		m := e.BottomM
		if name == "by fish" {
			if m = 17 * rng.Float64(); m > e.BottomM {
				continue
			}
		}
		out = append(out, Event{m, 1})
	}
	return out
}

func TestBandsPanics(t *testing.T) {
	for name, call := range map[string]func(){
		"no step":            func() { ByBottom(at(1), nil, 0) },
		"step not a number":  func() { ByFish(at(1), nil, math.NaN()) },
		"no weight":          func() { ByBottom([]Event{{1, 0}}, nil, 1) },
		"infinite weight":    func() { ByBottom([]Event{{1, math.Inf(1)}}, nil, 1) },
		"depth not a number": func() { ByFish(at(math.NaN()), nil, 1) },
		"negative hours":     func() { ByBottom(nil, []Effort{{1, -1}}, 1) },
		"hours no number":    func() { ByBottom(nil, []Effort{{1, math.NaN()}}, 1) },
		"lengths":            func() { Above(nil, make([]ingest.Maybe, 1)) },
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
