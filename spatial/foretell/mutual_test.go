package foretell

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"leadline/spatial"
)

func TestMutualByHand(t *testing.T) {
	known := []spatial.LiftBin{{Lift: spatial.Estimate{Value: 1.2, OK: true, Low: 1.1, High: 1.6, Bounded: true}, Verdict: spatial.Better}}
	r := spatial.Foretold{
		Lift:       spatial.Estimate{Value: 1.2, OK: true, Low: 0.9, High: 1.6, Bounded: true},
		LiftPooled: spatial.Estimate{Value: 0.5, OK: true, Low: 0.1, High: 0.9, Bounded: true},
		HitRate:    spatial.Estimate{Value: 0.9, OK: true, Low: 0.7, High: 0.99, Bounded: true},
		AreaShare:  spatial.Estimate{Value: 0.1, OK: true, Low: 0.05, High: 0.2, Bounded: true},
		OverFlat:   spatial.Estimate{Value: 0.1, OK: true, Low: 0.05, High: 0.2, Bounded: true},
		OverLast:   spatial.Estimate{Value: 0.1, OK: true, Why: "few"},
		ByKnown:    slices.Clone(known),
		Verdict:    spatial.NoBetter,
	}
	m := Mutual(r)
	for _, c := range []struct {
		name      string
		e         spatial.Estimate
		low, high float64
	}{
		{"lift", m.Lift, 1.2 - 0.3*math.Sqrt2, 1.2 + 0.4*math.Sqrt2},
		{"never below 0", m.LiftPooled, 0, 0.5 + 0.4*math.Sqrt2},
		{"a share", m.HitRate, 0.9 - 0.2*math.Sqrt2, 1},
		{"of area", m.AreaShare, 0.05, 0.2},
		{"nats", m.OverFlat, 0.1 - 0.05*math.Sqrt2, 0.1 + 0.1*math.Sqrt2},
		{"none", m.OverLast, 0, 0},
		{"by days", m.ByKnown[0].Lift, 1.2 - 0.1*math.Sqrt2, 1.2 + 0.4*math.Sqrt2},
	} {
		if !near(c.e.Low, c.low, 1e-12) || !near(c.e.High, c.high, 1e-12) {
			t.Errorf("%s: %+v, want %v to %v", c.name, c.e, c.low, c.high)
		}
	}
	if m.OverLast.Bounded || r.ByKnown[0] != known[0] {
		t.Error("an interval from nothing, or the input changed")
	}
	better := Mutual(spatial.Foretold{Lift: spatial.Estimate{Value: 1.2, OK: true, Low: 1.05, High: 1.6, Bounded: true}, Verdict: spatial.Better})
	if better.Verdict != spatial.NoBetter {
		t.Errorf("%+v", better)
	}
}

// The variance above: pairs of days that meet by chance, each counted for both.
func TestPairsCountTwice(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	const n, seasons, chance = 12, 20000, 0.1
	var sum, squares, within float64
	for range seasons {
		var day [n]float64
		for d := range n {
			for e := range d {
				if rng.Float64() < chance {
					day[d]++
					day[e]++
				}
			}
		}
		total := 0.0
		for _, v := range day {
			total += v
		}
		for _, v := range day { // what days drawn one by one show of the variance of their sum
			within += (v - total/n) * (v - total/n) * n / (n - 1)
		}
		sum += total
		squares += total * total
	}
	variance := squares/seasons - sum*sum/seasons/seasons
	// Of n days that share pairs the sample variance misses their own correlation, too: 1/(n-1) of it.
	if ratio := variance / (within / seasons); math.Abs(ratio-2*float64(n-1)/(n-2)) > 0.06 {
		t.Errorf("the variance is %.3f times what days show", ratio)
	}
}
