package head

import (
	"math"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The borders are where the pick changes: just inside of them it stays, just outside it doesn't, and the
// lighter head beyond the other border does.
func TestStandBordersAreWhereThePickChanges(t *testing.T) {
	box := usualBox()
	for _, depthFt := range []float64{8, 12, 20, 27, 33, 45} {
		for _, mph := range []float64{0.2, 0.35, 0.5, 0.65} {
			z, u := depthFt*si.FootM, mph*si.MPHMPS
			c := Choose(ingest.Known(z), ingest.Known(u), box)
			s := Stand(c, spatial.HeadDoubt{}, box)
			pick := func(z, u float64) int {
				c := Choose(ingest.Known(z), ingest.Known(u), box)
				if !c.Picked {
					return -1
				}
				return c.Pick
			}
			if !c.Picked {
				if s.Share.OK || s.HeavierFromM.OK {
					t.Errorf("%v ft, %v mph: no pick stands %+v", depthFt, mph, s)
				}
				continue
			}
			if s.HeavierFromMPS.OK {
				x := s.HeavierFromMPS.V
				if in, out := pick(z, x*0.998), pick(z, x*1.004); in > c.Pick || in < 0 || out == c.Pick {
					t.Errorf("%v ft, %v mph: around %.3f m/s the pick is %d and %d, here %d", depthFt, mph, x, in, out, c.Pick)
				}
			}
			if s.HeavierFromM.OK {
				x := s.HeavierFromM.V
				if in, out := pick(x*0.998, u), pick(x*1.004, u); in > c.Pick || in < 0 || out == c.Pick {
					t.Errorf("%v ft, %v mph: around %.2f m the pick is %d and %d, here %d", depthFt, mph, x, in, out, c.Pick)
				}
			}
			if s.LighterToMPS.OK && pick(z, s.LighterToMPS.V*0.998) >= c.Pick {
				t.Errorf("%v ft, %v mph: below %.3f m/s no lighter head will do", depthFt, mph, s.LighterToMPS.V)
			}
			if s.LighterToM.OK && pick(s.LighterToM.V*0.998, u) >= c.Pick {
				t.Errorf("%v ft, %v mph: above %.2f m no lighter head will do", depthFt, mph, s.LighterToM.V)
			}
		}
	}
}

// By hand, see stand.go: at 20 ft and 0.5 mph the pick is 1/2 oz and stands until about 0.55 mph.
func TestStandByHand(t *testing.T) {
	box := usualBox()
	c := Choose(ingest.Known(20*si.FootM), ingest.Known(0.5*si.MPHMPS), box)
	s := Stand(c, spatial.HeadDoubt{}, box)
	if got := s.HeavierFromMPS.V / si.MPHMPS; !s.HeavierFromMPS.OK || math.Abs(got-0.55) > 0.015 {
		t.Errorf("1/2 oz stands until %.3f mph, want about 0.55", got)
	}
}

// The more doubtful depth and speed, the less a pick stands; a pick in the middle of its range stands firmer than
// one on the edge; and the draws are the same each time.
func TestStandShares(t *testing.T) {
	box := usualBox()
	at := func(mph, sdMPH float64) spatial.HeadStand {
		c := Choose(ingest.Known(20*si.FootM), ingest.Known(mph*si.MPHMPS), box)
		return Stand(c, spatial.HeadDoubt{SpeedMPS: sdMPH * si.MPHMPS}, box)
	}
	// 1/2 oz is the pick from 0.47 to 0.55 mph.
	sure, edge, doubtful := at(0.5, 0.005), at(0.548, 0.005), at(0.5, 0.15)
	if !(sure.Share.V > edge.Share.V) || !(sure.Share.V > doubtful.Share.V) {
		t.Errorf("shares %v in the middle, %v on the edge, %v in doubt", sure.Share, edge.Share, doubtful.Share)
	}
	if again := at(0.5, 0.005); again != sure {
		t.Errorf("%+v, then %+v", sure, again)
	}
	if edge.Rival < 0 || edge.RivalShare <= 0 || edge.RivalShare > 1-edge.Share.V+1e-9 {
		t.Errorf("on the edge the rival is %d with %v beside %v", edge.Rival, edge.RivalShare, edge.Share)
	}
}

// Looking for a pick from one head outwards finds the one that a look through all of the box does, on rules of
// line and trailer that change with the head, too.
func TestPickNearIsThePick(t *testing.T) {
	b := newBox(usualBox())
	for z := 0.5; z < 16; z += 0.7 {
		for u := 0.02; u < 0.6; u += 0.03 {
			want := b.pick(z, u)
			for from := range b.rigs {
				if got := b.pickNear(from, z, u); got != want {
					t.Fatalf("%.1f m, %.2f m/s, from %d: %d, want %d", z, u, from, got, want)
				}
			}
		}
	}
}

// Water that stands still at the fish pulls less on line and lure: never a heavier head than in a drift the same all the
// way down. With the speed at the fish that of the surface nothing changes.
func TestChooseInShear(t *testing.T) {
	box := usualBox()
	for _, z := range []float64{3, 6, 9} {
		depth, speed := ingest.Known(z), ingest.Known(0.25)
		even := Choose(depth, speed, box)
		same := ChooseAt(Place{BottomM: depth, SpeedMPS: speed, DeepMPS: speed}, box)
		still := ChooseAt(Place{BottomM: depth, SpeedMPS: speed, DeepMPS: ingest.Known(0)}, box)
		if same.Pick != even.Pick || same.Picked != even.Picked || math.Abs(same.Trials[3].AngleDeg.V-even.Trials[3].AngleDeg.V) > 1e-6 {
			t.Errorf("%v m: the same speed at the fish is another answer", z)
		}
		if still.Picked && even.Picked && still.Pick > even.Pick {
			t.Errorf("%v m: pick %d over still water, %d in an even drift", z, still.Pick, even.Pick)
		}
	}
	// The row of the table of worked figures: 1/2 oz, 0.45 m/s at the surface falling to 0 at 7.5 m.
	var shape Shape
	shape, _ = Hanging{WeightN: leadWeightN(si.OunceKg/2, Water{999.1, 1.14e-6}), Line: LineInWater{DiameterM: 0.36e-3, Cn: ingest.Known(1.2), Ct: 0.02}, Water: Water{999.1, 1.14e-6}, Flow: LinearShear(0.45, 0, 7.5), DepthM: 7.5}.Solve()
	near(t, "line out in a sheared drift", shape.LineOutM, 7.9104, 0.005)
}

func BenchmarkStand(b *testing.B) {
	box := usualBox()
	c := Choose(ingest.Known(20*si.FootM), ingest.Known(0.5*si.MPHMPS), box)
	for b.Loop() {
		Stand(c, spatial.HeadDoubt{DepthM: 0.2, SpeedMPS: 0.03}, box)
	}
}
