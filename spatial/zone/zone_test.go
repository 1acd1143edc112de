package zone

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

var settings = Settings{CastM: 25, MinEvents: 4, FrenzyS: 300, Simulations: 199, Seed: 1}

// lake is ten days of fishing at the same spots, 500 m apart, half an hour each.
func lake(rng *rand.Rand) (effort []Effort) {
	for day := range 10 {
		for spot := range 12 {
			for range 360 {
				at := r2.Vec{X: float64(spot)*500 + rng.NormFloat64()*15, Y: rng.NormFloat64() * 15}
				effort = append(effort, Effort{at, 5.0 / 3600, day})
			}
		}
	}
	return effort
}

// alone is an event that shares its stop with no other.
func alone(at r2.Vec, day int) Event { return Event{At: at, Weight: 1, Day: day, Stop: -1} }

// evenly draws events evenly over the effort.
func evenly(rng *rand.Rand, effort []Effort, n int) (events []Event) {
	for range n {
		e := effort[rng.IntN(len(effort))]
		events = append(events, alone(e.At, e.Day))
	}
	return events
}

func TestFindTellsASchoolFromTheTimeSpent(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	effort := lake(rng)
	events := evenly(rng, effort, 24) // two a spot, and clusters by chance
	school := len(events)
	for k := range 10 {
		events = append(events, alone(r2.Vec{X: 2000 + rng.NormFloat64()*10, Y: rng.NormFloat64() * 10}, k%5))
	}
	found, err := Find(context.Background(), events, effort, settings)
	if err != nil {
		t.Fatal(err)
	}
	proven := 0
	for _, f := range found {
		if f.PValue.V < 0.05 {
			proven++
			if f.Members[len(f.Members)-1] < school {
				t.Errorf("a zone of chance events alone has p = %v", f.PValue.V)
			}
		}
	}
	if proven != 1 {
		t.Errorf("%d proven zones, want the one school", proven)
	}
}

// With no school at all, a season has a proven zone in at most 5 % of cases. Over
// 200 seasons 10 are expected; 18 or more would be a chance of about 1 % (binomial).
func TestFindIsHonestWithoutSchools(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of seasons take minutes under the race detector")
	}
	rng := rand.New(rand.NewPCG(21, 22))
	effort := lake(rng)
	set := settings
	set.Simulations = 99
	fooled := 0
	for season := range uint64(200) {
		set.Seed = season // or all seasons are held against the same few draws
		found, err := Find(context.Background(), evenly(rng, effort, 40), effort, set)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			if f.PValue.V <= 0.05 {
				fooled++
				break
			}
		}
	}
	t.Logf("%d of 200 seasons without a school have a proven zone", fooled)
	if fooled >= 18 {
		t.Errorf("%d of 200 seasons without a school have a proven zone", fooled)
	}
}

// frenzies draws bursts of events, one every two minutes of fishing, that begin at
// random: fish that bite for a while wherever the boat is. A stop is a spot's half hour.
func frenzies(rng *rand.Rand, effort []Effort, n, each int) (events []Event) {
	const perDay, perStop = 12 * 360, 360
	for range n {
		day, from := rng.IntN(10), rng.IntN(perDay)
		for k := range each {
			i := (from + k*24) % perDay
			e := effort[day*perDay+i]
			events = append(events, Event{At: e.At, Weight: 1, Day: day, Stop: i / perStop, S: float64(i) * 5, ClockH: float64(i) * 5 / 3600})
		}
	}
	return events
}

// One hot hour is one proof, not thirty: with events in bursts and no school a
// season has a proven zone no more often than it should, while counting each event
// for itself would prove something most of the time.
func TestFindIsNotFooledByFrenzies(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of seasons take minutes under the race detector")
	}
	rng := rand.New(rand.NewPCG(31, 32))
	effort := lake(rng)
	set := settings
	set.Simulations = 99
	var together, apart int
	for range 100 {
		events := frenzies(rng, effort, 6, 8)
		for _, each := range []bool{false, true} {
			if each {
				for i := range events {
					events[i].Stop = -1
				}
			}
			found, err := Find(context.Background(), events, effort, set)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range found {
				if f.PValue.V <= 0.05 {
					if each {
						apart++
					} else {
						together++
					}
					break
				}
			}
		}
	}
	t.Logf("of 100 seasons of frenzies without a school %d have a proven zone; %d were each event counted for itself", together, apart)
	// Five are expected; 12 or more would be a chance of about 0.5 % (binomial).
	if together >= 12 || apart < 50 {
		t.Errorf("%d with stops moved together, %d with events alone", together, apart)
	}
}

// Thirty fish in one stop prove no place; five stops on five days that gave six each do.
func TestFindWantsMoreThanOneStop(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 34))
	effort := lake(rng)
	once, often := evenly(rng, effort, 20), evenly(rng, effort, 20)
	for k := range 30 {
		at := r2.Vec{X: 2000 + rng.NormFloat64()*10, Y: rng.NormFloat64() * 10}
		clockH := 2 + float64(k)/62
		once = append(once, Event{at, 1, 3, 4, 3600 * clockH, clockH})
		often = append(often, Event{at, 1, k % 5, 4, 3600 * clockH, clockH})
	}
	least := func(events []Event) float64 {
		found, err := Find(context.Background(), events, effort, settings)
		if err != nil {
			t.Fatal(err)
		}
		p := 1.0
		for _, f := range found {
			p = math.Min(p, f.PValue.V)
		}
		return p
	}
	if p := least(once); p < 0.05 {
		t.Errorf("one frenzy has p = %v", p)
	}
	if p := least(often); p > 0.05 {
		t.Errorf("five days on one place have p = %v", p)
	}
}

// A day's events are spread over that day's fishing, not over the season's: twelve
// events of a day spent half here and half there leave six to expect here, though
// another day was spent here alone.
func TestFindExpectsByDay(t *testing.T) {
	here, there := r2.Vec{}, r2.Vec{X: 1000}
	effort := []Effort{{here, 1, 0}, {there, 1, 0}, {here, 9, 1}}
	var events []Event
	for range 8 {
		events = append(events, alone(here, 0))
	}
	for k := range 4 {
		events = append(events, alone(r2.Vec{X: 1000, Y: 100 * float64(k)}, 0))
	}
	found, err := Find(context.Background(), events, effort, settings)
	if err != nil || len(found) != 1 {
		t.Fatalf("%d zones, %v", len(found), err)
	}
	if e := found[0].Expected; !e.OK || math.Abs(e.V-6) > 1e-9 {
		t.Errorf("%v events expected, want 6", e)
	}
}

func TestFindNothing(t *testing.T) {
	effort := []Effort{{r2.Vec{}, 1, 0}}
	for name, events := range map[string][]Event{
		"no events":  nil,
		"one":        {alone(r2.Vec{}, 0)},
		"three":      {alone(r2.Vec{}, 0), alone(r2.Vec{}, 0), alone(r2.Vec{}, 0)},
		"far apart":  {alone(r2.Vec{}, 0), alone(r2.Vec{X: 100}, 0), alone(r2.Vec{X: 200}, 0), alone(r2.Vec{X: 300}, 0)},
		"other days": {alone(r2.Vec{}, 5)},
	} {
		if found, err := Find(context.Background(), events, effort, settings); err != nil || len(found) != 0 {
			t.Errorf("%s: %d zones, %v", name, len(found), err)
		}
	}
}

func TestFindRepeats(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 24))
	effort := lake(rng)
	events := evenly(rng, effort, 60)
	a, _ := Find(context.Background(), events, effort, settings)
	b, _ := Find(context.Background(), events, effort, settings)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same input gave two results")
	}
}

func TestFindStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	rng := rand.New(rand.NewPCG(25, 26))
	effort := lake(rng)
	if _, err := Find(ctx, evenly(rng, effort, 60), effort, settings); err == nil {
		t.Error("no error though the context had ended")
	}
}

func BenchmarkFind(b *testing.B) {
	rng := rand.New(rand.NewPCG(27, 28))
	effort := lake(rng)
	events := evenly(rng, effort, 150)
	set := settings
	set.Simulations = 999
	for b.Loop() {
		Find(context.Background(), events, effort, set)
	}
}

// Two rich schools hide a lesser one: beside them the lake's rate looks high. Once they
// are taken out, it shows.
func TestFindLooksAgainWithoutWhatIsProven(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 44))
	effort := lake(rng)
	events := evenly(rng, effort, 12)
	school := func(spot, n int) {
		for k := range n {
			events = append(events, alone(r2.Vec{X: float64(spot)*500 + rng.NormFloat64()*10, Y: rng.NormFloat64() * 10}, k%5))
		}
	}
	school(2, 60)
	school(5, 60)
	school(8, 18) // of 150 events the twelfth part is 12.5: beside the rich it is next to nothing
	found, err := Find(context.Background(), events, effort, settings)
	if err != nil {
		t.Fatal(err)
	}
	proven := 0
	for _, f := range found {
		if f.Proven() {
			proven++
		}
	}
	if proven != 3 {
		t.Errorf("%d proven, want 3", proven)
	}
}
