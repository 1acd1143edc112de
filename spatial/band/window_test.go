package band

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"leadline/spatial/rate"
)

// spread returns n events, evenly from one hour to another.
func spread(from, to float64, n int) (out []HourEvent) {
	for k := range n {
		out = append(out, HourEvent{from + (float64(k)+0.5)/float64(n)*(to-from), 1})
	}
	return out
}

// weighing returns events of another weight.
func weighing(w float64, events []HourEvent) []HourEvent {
	for i := range events {
		events[i].Weight = w
	}
	return events
}

// bite draws n events between 6 and 12, those from 7 to 9:30 as many times likelier as richer says.
func bite(rng *rand.Rand, n int, richer float64) (out []HourEvent) {
	for len(out) < n {
		h := 6 + 6*rng.Float64()
		if h >= 7 && h < 9.5 || rng.Float64() < 1/richer {
			out = append(out, HourEvent{h, 0.5 + rng.Float64()})
		}
	}
	return out
}

func TestBest(t *testing.T) {
	morning := slices.Concat(atHours(6.4), spread(7, 9.5, 25), spread(9.5, 12, 4))
	shift := func(events []HourEvent, by float64) (out []HourEvent) {
		for _, e := range events {
			out = append(out, HourEvent{e.H + by, e.Weight})
		}
		return out
	}
	for name, c := range map[string]struct {
		events []HourEvent
		effort []HourEffort
		want   [2]float64 // both 0: no window
	}{
		"nothing":                         {nil, nil, [2]float64{}},
		"no hours":                        {morning, nil, [2]float64{}},
		"no events":                       {nil, fished(6, 12, 10), [2]float64{}},
		"by hand":                         {morning, fished(6, 12, 10), [2]float64{7, 9.5}},
		"before sunrise":                  {shift(morning, -8), fished(-2, 4, 10), [2]float64{-1, 1.5}},
		"fished only then":                {spread(7, 9.5, 25), fished(7, 9.5, 10), [2]float64{}},
		"fished only then, more beyond":   {morning, fished(7, 9.5, 10), [2]float64{}},
		"two lucky casts on an even day":  {slices.Concat(spread(6, 12, 30), atHours(12.1, 12.2)), append(fished(6, 12, 10), HourEffort{12.15, 0.05}), [2]float64{}},
		"a weight of four for all":        {weighing(4, spread(6, 12, 12)), slices.Concat(fished(6, 9, 10), fished(9, 12, 4)), [2]float64{}},
		"even":                            {spread(6, 12, 30), fished(6, 12, 10), [2]float64{}},
		"two events":                      {atHours(7.1, 7.2), fished(6, 12, 200), [2]float64{}},
		"half the pauses":                 {spread(7, 9.5, 25), slices.Concat(fished(6, 8, 10), fished(8.5, 12, 10)), [2]float64{7, 9.5}},
		"nothing said of noon":            {slices.Concat(spread(7, 8, 20), spread(18, 19, 22)), slices.Concat(fished(4, 8, 10), fished(18, 22, 10)), [2]float64{18, 19}},
		"events long after the fishing":   {slices.Concat(spread(6, 12, 12), spread(15, 16, 9)), fished(6, 12, 10), [2]float64{}},
		"a lucky cast in ten seconds":     {slices.Concat(spread(6, 12, 60), spread(12.01, 12.1, 3)), append(fished(6, 12, 10), HourEffort{12.05, 10.0 / 3600}), [2]float64{}},
		"two events in a very short time": {slices.Concat(morning, atHours(12.1, 12.2)), append(fished(6, 12, 10), HourEffort{12.15, 0.05}), [2]float64{7, 9.5}},
	} {
		w, ok := BestWindow(c.events, c.effort, 0.5)
		if ok != (c.want != [2]float64{}) || w.From != c.want[0] || w.To != c.want[1] {
			t.Errorf("%s: %v, %+v, want %v", name, ok, w, c.want)
		}
	}
}

func TestBestByHand(t *testing.T) {
	w, ok := BestWindow(slices.Concat(atHours(6.4), spread(7, 9.5, 25), spread(9.5, 12, 4)), fished(6, 12, 10), 0.5)
	if !ok || w.Events != 25 || math.Abs(w.EffortH-25) > 1e-9 || math.Abs(w.Rate.PerH-1) > 1e-9 || math.Abs(w.Rest.PerH-5.0/35) > 1e-9 {
		t.Errorf("%v, %+v", ok, w)
	}
	if want := rate.PerHour(25, 25); math.Abs(w.Rate.LowPerH-want.LowPerH) > 1e-9 {
		t.Errorf("low %v, want %v", w.Rate.LowPerH, want.LowPerH)
	}
}

func TestBestShuffled(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	events, effort := bite(rng, 60, 6), fished(6, 12, 10)
	want, ok := BestWindow(events, effort, 0.5)
	if !ok {
		t.Error("no window, which shows little")
	}
	for range 20 {
		rng.Shuffle(len(events), func(i, j int) { events[i], events[j] = events[j], events[i] })
		rng.Shuffle(len(effort), func(i, j int) { effort[i], effort[j] = effort[j], effort[i] })
		if got, _ := BestWindow(events, effort, 0.5); !reflect.DeepEqual(got, want) {
			t.Fatalf("another order gave\n%+v, not\n%+v", got, want)
		}
	}
}

// Twice the hours halve the rates and move no edge.
func TestBestTwiceTheHours(t *testing.T) {
	found := 0
	for seed := range uint64(20) {
		events := bite(rand.New(rand.NewPCG(9, seed)), 40, 6)
		a, okA := BestWindow(events, fished(6, 12, 10), 0.5)
		b, okB := BestWindow(events, fished(6, 12, 20), 0.5)
		if okA != okB || a.From != b.From || a.To != b.To || math.Abs(a.Rate.PerH-2*b.Rate.PerH) > 1e-9 {
			t.Errorf("seed %d: %+v and %+v", seed, a, b)
		}
		if okA {
			found++
		}
	}
	if found == 0 {
		t.Error("no window in any, which shows nothing")
	}
}

// A window in an even season is a false alarm: at most p0 of 400, and three standard errors of such a share.
func TestBestFalseAlarms(t *testing.T) {
	const runs = 400
	most := int(runs * (p0 + 3*math.Sqrt(p0*(1-p0)/runs)))
	for _, n := range []int{5, 15, 60, 200} {
		rng := rand.New(rand.NewPCG(10, uint64(n)))
		wrong := 0
		for range runs {
			var events []HourEvent
			for range n {
				events = append(events, HourEvent{5 + 16*rng.Float64(), 1})
			}
			if _, ok := BestWindow(events, fished(5, 21, 4), 0.5); ok {
				wrong++
			}
		}
		t.Logf("%d events: a window in %d of %d", n, wrong, runs)
		if wrong > most {
			t.Errorf("%d events: a window in %d of %d even seasons", n, wrong, runs)
		}
	}
}
