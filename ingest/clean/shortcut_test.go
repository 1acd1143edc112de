package clean

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"leadline/ingest"
)

// What the least and greatest depth spare must not change a flag: the same, with every median taken.
func TestShortcutsChangeNoFlag(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	doubled, spiked := 0, 0
	for range 300 {
		n := 1 + rng.IntN(120)
		s := make([]ingest.Sounding, n)
		depth, at := 2+10*rng.Float64(), time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
		echo := 0
		for i := range s {
			depth = max(0.5, depth+0.3*rng.NormFloat64()*math.Pow(rng.Float64(), 3))
			at = at.Add(time.Duration(1+rng.IntN(3)) * time.Second)
			if rng.IntN(40) == 0 {
				at = at.Add(2 * time.Minute)
			}
			s[i] = ingest.Sounding{Time: at, DepthM: depth + 0.05*rng.NormFloat64()}
			if rng.IntN(25) == 0 {
				s[i].DepthM += 3 * rng.Float64()
			}
			if echo > 0 || rng.IntN(50) == 0 {
				if echo--; echo < 0 {
					echo = rng.IntN(8)
				}
				s[i].DepthM *= 1.9 + 0.2*rng.Float64()
			}
			if rng.IntN(30) == 0 {
				s[i].Time = time.Time{}
			}
		}
		var sound []int
		for i := range s {
			sound = append(sound, i)
		}
		want := make([]bool, n)
		for k := range sound {
			ratio := s[k].DepthM / median(neighbours(s, sound, k, doubleHalf, nil))
			want[k] = ratio > doubleLow && ratio < doubleHigh
			if least, _ := extremes(depthsOf(s, sound), k, doubleHalf); want[k] && s[k].DepthM/least <= doubleLow {
				t.Fatalf("a double of %v would be passed over", s[k].DepthM)
			}
			if want[k] {
				doubled++
			}
			w := neighbours(s, sound, k, spikeHalf, nil)
			m := median(w)
			if off := math.Abs(s[k].DepthM - m); len(w) >= 3 && off > math.Max(leastSpikeM, leastSpikeShare*m) {
				spiked++
				if least, most := extremes(depthsOf(s, sound), k, spikeHalf); s[k].DepthM-least <= leastSpikeM && most-s[k].DepthM <= leastSpikeM {
					t.Fatalf("%v, %v off the median, would be passed over", s[k].DepthM, off)
				}
			}
		}
	}
	if doubled < 100 || spiked < 100 {
		t.Errorf("only %d doubles and %d far from the median to look at", doubled, spiked)
	}
}
