package milkrun

import (
	"math"
	"slices"
	"testing"
)

// check holds a plan against the rules of its problem, from the problem as given.
func check(t testing.TB, p Problem, plan Plan) {
	t.Helper()
	// Times are whole microseconds, or whole steps: what is more than rounding of the sums is wrong.
	const eps = 2e-6
	n := len(p.Stops)
	at, leave, sum := n, p.BeginS, 0.0
	seen := map[int]bool{}
	for i, v := range plan.Visits {
		s := p.Stops[v.Stop]
		if seen[v.Stop] {
			t.Errorf("visit %d: stop %d again", i, v.Stop)
		}
		seen[v.Stop] = true
		if v.ArriveS < leave+p.TravelS[at][v.Stop]-eps {
			t.Errorf("visit %d: at %g, left the last at %g, %g away", i, v.ArriveS, leave, p.TravelS[at][v.Stop])
		}
		if v.StartS < v.ArriveS || v.StartS < s.OpenS-eps || v.StartS > s.CloseS+eps {
			t.Errorf("visit %d: starts at %g, arrived at %g, window %g to %g", i, v.StartS, v.ArriveS, s.OpenS, s.CloseS)
		}
		wait := v.StartS - math.Max(v.ArriveS, s.OpenS)
		if p.GridS == 0 && wait > eps || p.GridS > 0 && i > 0 && wait > p.MaxWaitS+p.GridS*(1-1e-9) {
			t.Errorf("visit %d: waits %g s", i, wait)
		}
		stay := v.LeaveS - v.StartS
		k := slices.IndexFunc(s.StaysS, func(d float64) bool { return math.Abs(d-stay) < eps })
		if k < 0 {
			t.Fatalf("visit %d: a stay of %g, not of %v", i, stay, s.StaysS)
		}
		if g := s.Gain(v.StartS, s.StaysS[k]); math.Abs(g-v.Gain) > 1e-12*(1+plan.Gain) {
			t.Errorf("visit %d: gain %g, want %g", i, v.Gain, g)
		}
		if p.GridS > 0 {
			for _, x := range []float64{v.ArriveS, v.StartS, v.LeaveS} {
				if r := (x - p.BeginS) / p.GridS; math.Abs(r-math.Round(r)) > 1e-9 {
					t.Errorf("visit %d: time %g is off the grid", i, x)
				}
			}
		}
		sum += v.Gain
		at, leave = v.Stop, v.LeaveS
	}
	if plan.BackS < leave+p.TravelS[at][n+1]-eps || plan.BackS > p.EndS+1e-9 {
		t.Errorf("back at %g, left at %g, %g away, end at %g", plan.BackS, leave, p.TravelS[at][n+1], p.EndS)
	}
	if math.Abs(sum-plan.Gain) > 1e-12*(1+sum) {
		t.Errorf("gain %g, the visits' are %g", plan.Gain, sum)
	}
	for _, f := range p.Force {
		if !seen[f] {
			t.Errorf("stop %d not visited", f)
		}
	}
	if plan.Bound < plan.Gain || plan.Proven != (plan.Bound == plan.Gain) {
		t.Errorf("gain %g, bound %g, proven %v", plan.Gain, plan.Bound, plan.Proven)
	}
	if n <= ExactStops && !plan.Proven {
		t.Errorf("%d stops, not proven", n)
	}
}

func solved(t testing.TB, p Problem, o Options) Plan {
	t.Helper()
	plan, err := Solve(p, o)
	if err != nil {
		t.Fatal(err)
	}
	check(t, p, plan)
	return plan
}
