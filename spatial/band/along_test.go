package band

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// overLine returns effort of so many seconds in each ten metres, in pieces of a metre.
func overLine(fromM, toM, secondsPer10M float64) (out []AlongEffort) {
	for m := fromM + 0.5; m < toM; m++ {
		out = append(out, AlongEffort{m, secondsPer10M / 10 / 3600})
	}
	return out
}

// alongLine returns n events, evenly from one place to another.
func alongLine(fromM, toM float64, n int) (out []AlongEvent) {
	for k := range n {
		out = append(out, AlongEvent{fromM + (float64(k)+0.5)/float64(n)*(toM-fromM), 1})
	}
	return out
}

func TestStretch(t *testing.T) {
	join := func(parts ...[]AlongEvent) (out []AlongEvent) {
		for _, p := range parts {
			out = append(out, p...)
		}
		return out
	}
	ends := []AlongEvent{{15, 1}, {145, 1}}
	for name, c := range map[string]struct {
		events []AlongEvent
		effort []AlongEffort
		want   [2]float64 // both 0: none
	}{
		"nothing":              {nil, nil, [2]float64{}},
		"no effort":            {alongLine(50, 110, 24), nil, [2]float64{}},
		"no events":            {nil, overLine(0, 160, 500), [2]float64{}},
		"by hand":              {join(ends, alongLine(50, 110, 24)), overLine(0, 160, 500), [2]float64{50, 110}},
		"by hand, half":        {join(ends, alongLine(50, 110, 12)), overLine(0, 160, 500), [2]float64{}},
		"even":                 {alongLine(0, 160, 60), overLine(0, 160, 500), [2]float64{}},
		"to the end":           {join(ends[:1], alongLine(100, 160, 24)), overLine(0, 160, 500), [2]float64{100, 160}},
		"more where slower":    {join(alongLine(0, 50, 10), alongLine(50, 110, 120)), append(overLine(0, 50, 100), overLine(50, 110, 1000)...), [2]float64{}},
		"caught far beyond":    {join(alongLine(0, 160, 32), alongLine(200, 210, 15)), overLine(0, 160, 500), [2]float64{}},
		"caught a step beyond": {join(alongLine(0, 160, 16), alongLine(160, 169, 12)), overLine(0, 160, 500), [2]float64{150, 160}},
		"a cast not fished":    {join(ends, alongLine(50, 70, 10), alongLine(80, 110, 14)), append(overLine(0, 70, 500), overLine(80, 160, 500)...), [2]float64{50, 110}},
		"nothing said of 40 m": {join(ends[:1], alongLine(50, 70, 12), alongLine(110, 130, 14)),
			append(overLine(0, 70, 500), overLine(110, 200, 500)...), [2]float64{110, 130}},
	} {
		s, ok := BestStretch(c.events, c.effort, 10)
		if ok != (c.want != [2]float64{}) || s.FromM != c.want[0] || s.ToM != c.want[1] {
			t.Errorf("%s: %v, %+v, want %v", name, ok, s, c.want)
		}
	}
}

func TestStretchByHand(t *testing.T) {
	s, ok := BestStretch(append(alongLine(50, 110, 24), AlongEvent{15, 1}, AlongEvent{145, 1}), overLine(0, 160, 500), 10)
	if !ok || s.Events != 24 || math.Abs(s.EffortH-3000.0/3600) > 1e-9 || math.Abs(s.Rate.PerH-28.8) > 1e-9 || math.Abs(s.Rest.PerH-1.44) > 1e-9 {
		t.Errorf("%v, %+v", ok, s)
	}
	// Half the 5 % quantile of chi-square with 49 degrees of freedom, 33.930 in printed tables (from memory).
	if want := 33.930 / 2 / (3000.0 / 3600); math.Abs(s.Rate.LowPerH-want) > 0.001 {
		t.Errorf("low %v, want %v", s.Rate.LowPerH, want)
	}
}

// passesOver makes drifts of a line of 160 m at 0.2 to 0.4 m/s, a piece each five seconds.
func passesOver(rng *rand.Rand, passes int, perH func(m float64) float64) (events []AlongEvent, effort []AlongEffort) {
	for range passes {
		mps := 0.2 + 0.2*rng.Float64()
		for m := 0.0; m < 160; m += 5 * mps {
			const h = 5.0 / 3600
			effort = append(effort, AlongEffort{m, h})
			if rng.Float64() < h*perH(m) {
				events = append(events, AlongEvent{m, 1})
			}
		}
	}
	return events, effort
}

// Sixty metres of 160 give 8 an hour, the rest 0.8: in most runs they are found, and in most of those both edges to 15 m.
func TestStretchFound(t *testing.T) {
	const runs, passes = 400, 36
	rng := rand.New(rand.NewPCG(12, 1))
	found, near, caught := 0, 0, 0
	for range runs {
		from := 100 * rng.Float64()
		events, effort := passesOver(rng, passes, func(m float64) float64 {
			if m >= from && m < from+60 {
				return 8
			}
			return 0.8
		})
		caught += len(events)
		if s, ok := BestStretch(events, effort, 5); ok {
			found++
			if math.Abs(s.FromM-from) <= 15 && math.Abs(s.ToM-from-60) <= 15 {
				near++
			}
		}
	}
	t.Logf("%d passes, %.0f events: found in %d of %d, both edges to 15 m in %d", passes, float64(caught)/runs, found, runs, near)
	if found <= runs/2 || near <= found/2 {
		t.Errorf("found in %d of %d, both edges to 15 m in %d", found, runs, near)
	}
}

// A stretch in an even line is a false alarm: at most p0 of 400, and three standard errors of such a share.
func TestStretchFalseAlarms(t *testing.T) {
	const runs = 400
	most := int(runs * (p0 + 3*math.Sqrt(p0*(1-p0)/runs)))
	for _, passes := range []int{6, 24, 72} {
		rng := rand.New(rand.NewPCG(13, uint64(passes)))
		wrong := 0
		for range runs {
			events, effort := passesOver(rng, passes, func(float64) float64 { return 3.5 })
			if _, ok := BestStretch(events, effort, 5); ok {
				wrong++
			}
		}
		t.Logf("%d passes: a stretch in %d of %d", passes, wrong, runs)
		if wrong > most {
			t.Errorf("%d passes: a stretch in %d of %d even lines", passes, wrong, runs)
		}
	}
}

// Order changes nothing, and a line that begins elsewhere only the places.
func TestStretchLaws(t *testing.T) {
	found := 0
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(14, seed))
		events, effort := passesOver(rng, 48, func(m float64) float64 { return 8 * math.Exp(-m/40) })
		want, ok := BestStretch(events, effort, 10)
		if ok {
			found++
		}
		for i := range events {
			events[i].M += 70
		}
		for i := range effort {
			effort[i].M += 70
		}
		rng.Shuffle(len(events), func(i, j int) { events[i], events[j] = events[j], events[i] })
		rng.Shuffle(len(effort), func(i, j int) { effort[i], effort[j] = effort[j], effort[i] })
		got, okMoved := BestStretch(events, effort, 10)
		if ok {
			want.FromM, want.ToM = want.FromM+70, want.ToM+70
		}
		// Hours are summed in order of place, which moving may round another way.
		if math.Abs(got.EffortH-want.EffortH) < 1e-9 && math.Abs(got.Rate.PerH-want.Rate.PerH) < 1e-9 {
			got.EffortH, got.Rate, got.Rest = want.EffortH, want.Rate, want.Rest
		}
		if okMoved != ok || !reflect.DeepEqual(got, want) {
			t.Errorf("seed %d: %v %+v, moved %v %+v", seed, ok, want, okMoved, got)
		}
	}
	if found == 0 {
		t.Error("no stretch in any, which shows nothing")
	}
}

func TestStretchPanics(t *testing.T) {
	for name, call := range map[string]func(){
		"no step":            func() { BestStretch(alongLine(0, 9, 3), overLine(0, 9, 1), 0) },
		"no weight":          func() { BestStretch([]AlongEvent{{1, 0}}, overLine(0, 9, 1), 5) },
		"place not a number": func() { BestStretch([]AlongEvent{{math.NaN(), 1}}, overLine(0, 9, 1), 5) },
		"negative effort":    func() { BestStretch(nil, []AlongEffort{{1, -1}}, 5) },
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
