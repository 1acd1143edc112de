package band

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestHeldBand(t *testing.T) {
	tests := []struct {
		name        string
		fish        []float64
		waterM      float64
		top, bottom float64
		withinM     float64
	}{
		{"one fish is all that is known", []float64{4.5}, 9, 4.5, 4.5, 0},
		{"three go from least to greatest", []float64{6, 4.5, 5}, 9, 4.5, 6, 0},
		// Five fish that span 2 m come without bias from a band of 2 · 6/4 = 3 m.
		{"five around seven metres", []float64{6, 6.5, 7, 7.5, 8}, 14, 5.5, 8.5, 0.15},
		{"a stray at the surface counts for little", []float64{0.5, 6, 6.2, 6.5, 6.5, 6.8, 7, 7.1, 7.5, 7.7, 8}, 14, 6, 8, 0.3},
		{"all at one depth are a narrow band", []float64{6, 6, 6, 6, 6, 6}, 14, 5.9, 6.1, 0.15},
		{"a fish below its water lies on the slope", []float64{6, 6.5, 7, 7.5, 8}, 5, 5.5, 8, 0.2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			water := make([]float64, len(tt.fish))
			for i := range water {
				water[i] = tt.waterM
			}
			h := HeldBand(tt.fish, water)
			if math.Abs(h.TopM-tt.top) > tt.withinM || math.Abs(h.BottomM-tt.bottom) > tt.withinM {
				t.Errorf("band %.2f to %.2f m, want %.2f to %.2f", h.TopM, h.BottomM, tt.top, tt.bottom)
			}
			if h.U95M.OK != (len(tt.fish) >= 4) {
				t.Errorf("how sure: %v", h.U95M)
			}
		})
	}
}

// The middle of fish spread evenly about the middle of the water is that middle, by symmetry: a
// closed form that no setting moves.
func TestHeldBandIsEvenHanded(t *testing.T) {
	h := HeldBand([]float64{6, 6.5, 7, 7.5, 8}, []float64{14, 14, 14, 14, 14})
	// The lattice goes one step beyond the bottom, where bands weigh next to nothing.
	if m := (h.TopM + h.BottomM) / 2; math.Abs(m-7) > 0.02 {
		t.Errorf("middle %.3f m, want 7", m)
	}
}

// With a school's fish only, none of them strays, the least and the greatest of n fish of a band with
// height h lie h/(n+1) inside of it in the mean (order statistics of the even distribution: David & Nagaraja,
// Order Statistics, 2003; from memory). The band found lies nearer to the truth than they, and its middle is as sure as it says.
func TestHeldBandLiesBeyondItsFish(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	const n, seasons = 10, 300
	var height, notes float64
	sure := 0
	for range seasons {
		top := 4 + 2*rng.Float64()
		fish, water := make([]float64, n), make([]float64, n)
		low, high := math.Inf(1), 0.0
		for i := range fish {
			x := top + 2*rng.Float64()
			fish[i], water[i] = math.Round((x+0.03*rng.NormFloat64())/0.1524)*0.1524, 10+rng.Float64()
			low, high = min(low, fish[i]), max(high, fish[i])
		}
		h := HeldBand(fish, water)
		height += (h.BottomM - h.TopM) / seasons
		notes += (high - low) / seasons
		if math.Abs((h.TopM+h.BottomM)/2-top-1) <= h.U95M.V {
			sure++
		}
	}
	if want := 2 * (n - 1.0) / (n + 1); math.Abs(notes-want) > 0.1 {
		t.Fatalf("fish span %.2f m in the mean, want %.2f", notes, want)
	}
	if math.Abs(height-2) > 2-notes {
		t.Errorf("bands are %.2f m high in the mean, their fish span %.2f of 2", height, notes)
	}
	if 100*sure < 93*seasons {
		t.Errorf("%d of %d middles lie where they are said to", sure, seasons)
	}
}

// The order of fish is nothing, and deep water doesn't take longer than its steps.
func TestHeldBandInAnyOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(63, 64))
	fish, water := make([]float64, 300), make([]float64, 300)
	for i := range fish {
		fish[i], water[i] = 80+2*rng.Float64(), 90+5*rng.Float64()
	}
	want := HeldBand(fish, water)
	rng.Shuffle(len(fish), func(i, j int) {
		fish[i], fish[j] = fish[j], fish[i]
		water[i], water[j] = water[j], water[i]
	})
	if got := HeldBand(fish, water); got != want {
		t.Errorf("shuffled %v, want %v", got, want)
	}
	if math.Abs(want.TopM-80) > 0.35 || math.Abs(want.BottomM-82) > 0.35 {
		t.Errorf("band %v", want)
	}
}

func BenchmarkHeldBand(b *testing.B) {
	fish, water := make([]float64, 80), make([]float64, 80)
	for i := range fish {
		fish[i], water[i] = 6+float64(i%20)/10, 14
	}
	for b.Loop() {
		HeldBand(fish, water)
	}
}
