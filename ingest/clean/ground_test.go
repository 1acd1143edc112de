package clean

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// The cheap measure must never say less than the plane, anywhere it is used.
func TestCheapMeasuresAreNoShorter(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	told := 0
	for range 100_000 {
		origin := orb.Point{360*rng.Float64() - 180, 2*80*rng.Float64() - 80}
		g := ground{plane.New(origin), &ingest.Fix{Pos: origin}}
		at := orb.Point{origin[0] + 20*rng.Float64() - 10, origin[1] + 20*rng.Float64() - 10}
		if rng.IntN(2) == 0 {
			at = origin
		}
		near := func() *visit {
			d := 0.012 * rng.Float64()
			return &visit{fix: &ingest.Fix{Pos: orb.Point{at[0] + d*(2*rng.Float64()-1), at[1] + d*(2*rng.Float64()-1)}}}
		}
		a, v, b, share := near(), near(), near(), rng.Float64()
		if rng.IntN(2) == 0 { // on the straight line in degrees, where nothing but its bend is left
			p, q := a.fix.Pos, b.fix.Pos
			v.fix.Pos = orb.Point{p[0] + share*(q[0]-p[0]), p[1] + share*(q[1]-p[1])}
		}
		if g.close(a, v) && g.close(v, b) {
			told++
		}
		if most, m := g.mostDetourM(a, v, b, share), g.detourM(a, v, b, share); m > most {
			t.Fatalf("%v %v %v at %.3f in the plane of %v: a detour of %.3f m, at most %.3f m it says", a.fix.Pos, v.fix.Pos, b.fix.Pos, share, origin, m, most)
		}
		if most, m := g.mostApartM(a, v), g.apartM(a, v); m > most {
			t.Fatalf("%v to %v in the plane of %v: %.3f m, at most %.3f m it says", a.fix.Pos, v.fix.Pos, origin, m, most)
		}
	}
	if told < 30_000 {
		t.Errorf("the cheap measure held for %d of 100,000", told)
	}
}
