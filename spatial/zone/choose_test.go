package zone

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/rate"
)

// meadow is fishing spread evenly over a square of 500 m, ten hours in all.
func meadow() (effort []Effort) {
	for y := 0.0; y < 500; y += 5 {
		for x := 0.0; x < 500; x += 5 {
			effort = append(effort, Effort{r2.Vec{X: x, Y: y}, 10.0 / 1e4, 0})
		}
	}
	return effort
}

// A chain of events between two schools doesn't make them one.
func TestCutParts(t *testing.T) {
	var events []Event
	for k := range 10 {
		for _, x := range []float64{150, 300} {
			events = append(events, alone(r2.Vec{X: x + 4*float64(k%4), Y: 250 + 4*float64(k/4)}, 0))
		}
	}
	for x := 170.0; x < 300; x += 30 {
		events = append(events, alone(r2.Vec{X: x, Y: 250}, 0))
	}
	at, weight, members := make([]r2.Vec, len(events)), make([]float64, len(events)), make([]int, len(events))
	for i, e := range events {
		at[i], weight[i], members[i] = e.At, 1, i
	}
	c := newChooser(newEven(events, meadow(), 25, 0), weight, 4)
	parts := c.cut(nil, at, candidate{members: members}, 0)
	if len(parts) < 2 {
		t.Fatal("it does")
	}
	for _, p := range parts {
		west := slices.ContainsFunc(p.members, func(i int) bool { return at[i].X < 165 })
		east := slices.ContainsFunc(p.members, func(i int) bool { return at[i].X >= 300 })
		if west && east {
			t.Errorf("a part of %d holds both", len(p.members))
		}
	}
	// One school alone is worth more whole.
	one := members[:0:0]
	for i, v := range at {
		if v.X < 165 {
			one = append(one, i)
		}
	}
	c.asked, c.sum = c.asked+1, 0
	for _, i := range one {
		c.add(at[i])
	}
	if parts := c.cut(nil, at, candidate{members: one}, gainOf(float64(len(one)), c.sum)); len(parts) != 1 {
		t.Errorf("one school is cut into %d", len(parts))
	}
}

// Two threes of events 80 m apart are no zone of six: no ground of one piece holds four.
func TestFindWantsOnePiece(t *testing.T) {
	var events []Event
	for k := range 3 {
		events = append(events, alone(r2.Vec{X: 100, Y: 250 + float64(k)}, 0), alone(r2.Vec{X: 180, Y: 250 + float64(k)}, 0))
	}
	set := settings
	if found, err := Find(context.Background(), events, meadow(), set); err != nil || len(found) != 0 {
		t.Errorf("%d zones, %v", len(found), err)
	}
	events = append(events, alone(r2.Vec{X: 140, Y: 250}, 0)) // a step between
	if found, err := Find(context.Background(), events, meadow(), set); err != nil || len(found) != 1 || len(found[0].Members) != 7 {
		t.Errorf("with a step between: %+v, %v", found, err)
	}
}

// A place that surely gave less than the season as a whole would have put there is no zone, though what is left
// once the rich schools are out is poorer still. One that may have given as much is.
func TestFindWantsMoreThanTheSeasonGives(t *testing.T) {
	for _, tt := range []struct{ events, zones int }{
		{4, 2}, // of 124 events the twelfth part is 10.3; the 95 % quantile of a count of 4 is 9.2 (Poisson tables)
		{9, 3}, // of 129 it is 10.75; that of 9 is 15.7
	} {
		rng := rand.New(rand.NewPCG(45, 46))
		effort := lake(rng)
		var events []Event
		school := func(spot, n int) {
			for k := range n {
				events = append(events, alone(r2.Vec{X: float64(spot)*500 + rng.NormFloat64()*10, Y: rng.NormFloat64() * 10}, k%5))
			}
		}
		school(2, 60)
		school(5, 60)
		school(8, tt.events)
		found, err := Find(context.Background(), events, effort, settings)
		if err != nil {
			t.Fatal(err)
		}
		if len(found) != tt.zones {
			t.Errorf("with %d events at the third place %d zones, want %d", tt.events, len(found), tt.zones)
		}
	}
}

// What is proven takes its events with it and the hours fished within a cast of one.
func TestWithout(t *testing.T) {
	events := []Event{alone(r2.Vec{}, 0), alone(r2.Vec{X: 24}, 0), alone(r2.Vec{X: 60}, 0), alone(r2.Vec{X: -24.9, Y: 1}, 0), alone(r2.Vec{Y: -26}, 0)}
	effort := []Effort{{r2.Vec{X: -10, Y: -10}, 1, 0}, {r2.Vec{X: 48}, 2, 0}, {r2.Vec{X: 50}, 3, 0}, {r2.Vec{Y: 25.1}, 4, 1}}
	left, rest := without(events, []int{0, 1, 2, 3, 4}, effort, []Found{{Members: []int{0, 1}}}, 25)
	if !slices.Equal(left, []int{2, 4}) {
		t.Errorf("events %v are left, want 2 and 4", left)
	}
	if len(rest) != 2 || rest[0].Hours != 3 || rest[1].Hours != 4 {
		t.Errorf("effort left: %+v, want that of 3 and 4 h", rest)
	}
}

func TestFringeOf(t *testing.T) {
	events := []Event{alone(r2.Vec{X: 5}, 0), alone(r2.Vec{X: 30}, 0), alone(r2.Vec{X: -30}, 0), alone(r2.Vec{X: 100}, 0), alone(r2.Vec{X: 130}, 0)}
	found := []Found{{Members: []int{4}}, {Members: []int{0}}}
	if got := fringeOf(events, Found{Members: []int{1, 2}}, found, 25); got != 1 {
		t.Errorf("events about a cluster belong to %d, want 1", got)
	}
	events[1].At.X = 40
	if got := fringeOf(events, Found{Members: []int{1}}, found, 25); got != -1 {
		t.Errorf("an event 35 m off belongs to %d, want none", got)
	}
}

// The order of events of one moment, and turning the lake, change nothing but rounding.
func TestFindWhateverTheDirection(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	effort := lake(rng)
	events := evenly(rng, effort, 20)
	for k := range 14 {
		events = append(events, alone(r2.Vec{X: 2500 + rng.NormFloat64()*12, Y: rng.NormFloat64() * 12}, k%5))
	}
	turned := func(v r2.Vec) r2.Vec { return r2.Vec{X: -v.Y, Y: v.X} }
	var eventsT []Event
	var effortT []Effort
	for _, e := range events {
		e.At = turned(e.At)
		eventsT = append(eventsT, e)
	}
	for _, e := range effort {
		e.At = turned(e.At)
		effortT = append(effortT, e)
	}
	a, err1 := Find(context.Background(), events, effort, settings)
	b, err2 := Find(context.Background(), eventsT, effortT, settings)
	if err1 != nil || err2 != nil || len(a) != len(b) {
		t.Fatalf("%d zones, %d turned; %v %v", len(a), len(b), err1, err2)
	}
	for i := range a {
		if !slices.Equal(a[i].Members, b[i].Members) || a[i].Proven() != b[i].Proven() {
			t.Errorf("zone %d: %v proven %v, turned %v proven %v", i, a[i].Members, a[i].Proven(), b[i].Members, b[i].Proven())
		}
	}
}

// The worked example of besideOthers, and that one cluster alone is held against all of the season.
func TestBesideOthers(t *testing.T) {
	c := &chooser{even: &even{}, weight: make([]float64, 40), total: 40}
	var chosen []candidate
	for k := range 3 {
		v := candidate{expected: 4}
		for i := range 10 {
			c.weight[10*k+i] = 1
			v.members = append(v.members, 10*k+i)
		}
		v.surprise = rate.LogLikelihoodRatio(10, 4, 40)
		chosen = append(chosen, v)
	}
	alone := slices.Clone(chosen[:1])
	c.besideOthers(alone)
	if math.Abs(alone[0].surprise-3.693) > 0.001 {
		t.Errorf("alone it surprises by %.3f, want 3.693", alone[0].surprise)
	}
	c.besideOthers(chosen)
	for _, v := range chosen {
		if math.Abs(v.surprise-8.267) > 0.001 {
			t.Errorf("beside others it surprises by %.3f, want 8.267", v.surprise)
		}
	}
}
