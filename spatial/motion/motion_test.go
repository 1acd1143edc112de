package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

var limits = Limits{RunMPS: 1.6, DriftMinS: 60, DriftMinM: 25, MaxGapS: 60}

// A part is a stretch at one velocity.
type part struct {
	seconds, mps, toward float64
	state                State
}

// drive makes fixes everyS along parts, with the wobble of a plain receiver:
// 1.5 m that lasts about a minute and 0.3 m from fix to fix.
func drive(seed uint64, everyS float64, parts ...part) (steps []Step, truth []State) {
	rng := rand.New(rand.NewPCG(seed, 1))
	var at, wobble r2.Vec
	keep := math.Exp(-everyS / 60)
	s := 0.0
	for _, p := range parts {
		for end := s + p.seconds; s < end-1e-9; s += everyS {
			noise := func() float64 { return rng.NormFloat64() }
			fresh := 1.5 * math.Sqrt(1-keep*keep)
			wobble = r2.Add(r2.Scale(keep, wobble), r2.Vec{X: fresh * noise(), Y: fresh * noise()})
			white := r2.Vec{X: 0.3 * noise(), Y: 0.3 * noise()}
			steps = append(steps, Step{s, r2.Add(at, r2.Add(wobble, white))})
			truth = append(truth, p.state)
			at = r2.Add(at, r2.Scale(p.mps*everyS, plane.Toward(p.toward)))
		}
	}
	return steps, truth
}

func outing() []part {
	parts := []part{{120, 12, 40, Running}}
	for range 3 {
		parts = append(parts, part{420, 0.3, 100, Drifting}, part{100, 1.25, 280, Crawling})
	}
	return append(parts, part{600, 0, 0, Stopped}, part{90, 10, 200, Running}, part{500, 0.2, 160, Drifting}, part{60, 9, 300, Running})
}

func TestReadFindsTheStates(t *testing.T) {
	for _, everyS := range []float64{0.2, 1, 5} {
		right, all := 0.0, 0.0
		for seed := range uint64(10) {
			steps, truth := drive(seed, everyS, outing()...)
			tr := Read(steps, limits)
			for i, s := range steps {
				leg, ok := tr.LegAt(s.S)
				if ok && tr.Legs[leg].State == truth[i] {
					right++
				}
				all++
			}
		}
		if share := right / all; share < 0.95 {
			t.Errorf("a fix every %v s: %.1f %% of the states are right", everyS, share*100)
		} else {
			t.Logf("a fix every %v s: %.1f %% of the states are right", everyS, share*100)
		}
	}
}

func TestReadMeasuresDrifts(t *testing.T) {
	for seed := range uint64(10) {
		steps, _ := drive(seed, 1, outing()...)
		tr := Read(steps, limits)
		var drifts []Leg
		for _, l := range tr.Legs {
			if l.State == Drifting {
				drifts = append(drifts, l)
			}
		}
		if len(drifts) != 4 {
			t.Errorf("seed %d: %d drifts, want 4: %+v", seed, len(drifts), tr.Legs)
			continue
		}
		for i, l := range drifts {
			speed, toward := 0.3, 100.0
			if i == 3 {
				speed, toward = 0.2, 160
			}
			if math.Abs(l.SpeedMPS-speed) > 0.03 || math.Abs(plane.TurnDeg(l.TowardDeg, toward)) > 5 {
				t.Errorf("seed %d: drift %d at %.3f m/s toward %.0f°, want %.1f and %.0f°", seed, i, l.SpeedMPS, l.TowardDeg, speed, toward)
			}
		}
	}
}

// Nodes stand for all the time of the track, and legs cover every node once.
func TestReadAccountsForTheTime(t *testing.T) {
	steps, _ := drive(1, 1, outing()...)
	cut := append(steps[:700:700], steps[900:]...) // a dropout of 201 s
	tr := Read(cut, limits)
	sum := tr.UnknownS
	for _, n := range tr.Nodes {
		sum += n.ForS
	}
	if total := cut[len(cut)-1].S - cut[0].S; math.Abs(sum-total) > 1e-6 || tr.UnknownS != 201 {
		t.Errorf("%.1f s accounted for, %.1f s of them unknown; want %.1f and 201", sum, tr.UnknownS, total)
	}
	next := 0
	for _, l := range tr.Legs {
		if l.From != next || l.To <= l.From {
			t.Fatalf("leg %+v does not begin at node %d", l, next)
		}
		next = l.To
	}
	if next != len(tr.Nodes) {
		t.Errorf("legs end at node %d of %d", next, len(tr.Nodes))
	}
}

func TestReadSmallTracks(t *testing.T) {
	for n := range 6 {
		steps, _ := drive(1, 5, part{float64(n) * 5, 0.1, 0, Holding})
		tr := Read(steps, limits)
		if len(tr.Nodes) != n {
			t.Errorf("%d fixes: %d nodes", n, len(tr.Nodes))
		}
	}
}

// The recursion's result against every way to cut a short stretch.
func TestPartitionIsOptimal(t *testing.T) {
	rng := rand.New(rand.NewPCG(29, 30))
	for range 400 {
		// Velocities that change every few nodes, by about what is worth a cut.
		nodes := make([]Node, 12+rng.IntN(8))
		var at, mps r2.Vec
		for i := range nodes {
			if rng.IntN(4) == 0 {
				mps = r2.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64()}
			}
			nodes[i].S, nodes[i].At = float64(5*i), r2.Add(at, r2.Vec{X: 3 * rng.NormFloat64(), Y: 3 * rng.NormFloat64()})
			at = r2.Add(at, r2.Scale(5, mps))
		}
		q := newSums(nodes)
		cost := func(cuts []int) float64 {
			sum := 0.0
			for i := 1; i < len(cuts); i++ {
				sum += q.misfit(cuts[i-1], cuts[i]) + penaltyM2
			}
			return sum
		}
		best := math.Inf(1)
		var try func(cuts []int)
		try = func(cuts []int) {
			last := cuts[len(cuts)-1]
			if len(nodes)-last >= minNode {
				best = math.Min(best, cost(append(cuts[:len(cuts):len(cuts)], len(nodes))))
			}
			for next := last + minNode; next+minNode <= len(nodes); next++ {
				try(append(cuts[:len(cuts):len(cuts)], next))
			}
		}
		try([]int{0})
		if got := cost(partition(nodes)); math.Abs(got-best) > 1e-6 {
			t.Fatalf("cost %.3f, the best is %.3f", got, best)
		}
	}
}

func BenchmarkReadDay(b *testing.B) {
	var parts []part
	for range 12 {
		parts = append(parts, outing()...)
	}
	steps, _ := drive(1, 1, parts...)
	b.ReportMetric(float64(len(steps)), "fixes")
	b.ReportAllocs()
	for b.Loop() {
		Read(steps, limits)
	}
}
