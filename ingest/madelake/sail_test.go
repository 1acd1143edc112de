package madelake

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func TestBoatStaysAfloatAndMovesLikeOne(t *testing.T) {
	windy := func(seed uint64, _ Size) Plan { return Windy(seed) }
	for _, kind := range []struct {
		name string
		plan func(uint64, Size) Plan
		size Size
		n    uint64
	}{{"small", Default, Small, seeds}, {"full", Default, Full, 1}, {"windy", windy, Full, windySeeds()}} {
		for seed := uint64(1); seed <= kind.n; seed++ {
			p := kind.plan(seed, kind.size)
			p.Schools, p.Barren = len(schoolSites), len(barrenSites)
			w := newWorld(p)
			for i := range w.days {
				d := &w.days[i]
				w.sail(d)
				if over := len(d.path) - d.lengthS; over < -1500 || over > 600 {
					t.Errorf("%s seed %d %s: back %d s after the end of the day", kind.name, seed, d.date, over)
				}
				for k, s := range d.path {
					// The last day has the lowest water, so this is the least depth of all.
					if m := bottomM(s.at); m < 0.9 {
						t.Fatalf("%s seed %d %s: %.2f m of water at second %d", kind.name, seed, d.date, m, k)
					}
					if k == 0 {
						continue
					}
					m := r2.Norm(r2.Sub(s.at, d.path[k-1].at))
					top := map[mode]float64{atRamp: 3, running: 15.5, onPass: 0.9, holding: 0.16, returning: 3}[s.mode]
					if d.path[k-1].mode != s.mode {
						top = math.Max(top, 3)
					}
					if m > top {
						t.Fatalf("%s seed %d %s: %.2f m in second %d, mode %d", kind.name, seed, d.date, m, k, s.mode)
					}
				}
			}
		}
	}
}

func TestPassesKeepToTheirLine(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		w := newWorld(Default(seed, Small))
		for i := range w.days {
			w.sail(&w.days[i])
		}
		for _, l := range w.lines {
			for _, p := range l.passes {
				if p.speedMPS < 0.14 || p.speedMPS > 0.46 {
					t.Errorf("seed %d: a pass of %s at %.3f m/s", seed, l.name, p.speedMPS)
				}
				for _, s := range w.days[p.day].path[p.from:p.to] {
					along, across := turned(r2.Sub(s.at, l.start), l.towardDeg)
					if math.Abs(across) > 20 || along < -25 || along > l.lengthM+25 {
						t.Fatalf("seed %d: a pass of %s is %.1f m aside at %.1f m of %.1f m", seed, l.name, across, along, l.lengthM)
					}
				}
			}
		}
	}
}

// Between any two of the spots a way must exist that is deep all along.
func TestWays(t *testing.T) {
	var spots []r2.Vec
	for _, s := range schoolSites {
		spots = append(spots, s.at)
	}
	for _, s := range barrenSites {
		spots = append(spots, s.at)
	}
	for _, s := range lingerSites {
		spots = append(spots, s.at)
	}
	spots = append(spots, rampAt(), r2.Vec{X: 575, Y: 880}) // up the creek
	for i, a := range spots {
		for _, b := range spots[:i] {
			curve := rounded(way(a, b))
			if curve[0] != a || r2.Norm(r2.Sub(curve[len(curve)-1], b)) > 1e-9 {
				t.Errorf("the way from %v to %v runs from %v to %v", a, b, curve[0], curve[len(curve)-1])
			}
			for k, p := range curve {
				if bottomM(p) < 1.1 {
					t.Fatalf("%.2f m of water on the way from %v to %v", bottomM(p), a, b)
				}
				if k > 0 && r2.Norm(r2.Sub(p, curve[k-1])) > 1.0001 {
					t.Fatalf("points %.2f m apart on the way from %v to %v", r2.Norm(r2.Sub(p, curve[k-1])), a, b)
				}
			}
		}
	}
}
