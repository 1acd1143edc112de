package band

import (
	"cmp"
	"math"
	"slices"

	"leadline/ingest"
)

// # Method
//
// Fish of one school keep to a band of depth. Some of a place's fish are strays that would
// have bitten anywhere. Each note of a fish's depth is taken to come from the band, evenly from
// its top to its bottom and blurred by the reading, or to be a stray, evenly from the surface to
// the bottom under it:
//
//	p(x) = (1 - s) [Φ((x-top)/σ) - Φ((x-bottom)/σ)] / (bottom - top) + s / water
//
// Every top and bottom in steps of 0.1 m is weighed by the product of that over all notes and
// by 1/(height + 0.3 m), which favours no scale of heights above what can be read; every share s of strays
// below one half counts alike, since a place where most are strays is no school's. The answer is the weighted
// mean of tops and that of bottoms (Bayes' theorem, summed on a lattice). It lies a little outside of the notes, as
// a band does of which only some fish are seen; a stray draws it as far as it may be none.
//
// By hand: fish at 6, 6.5, 7, 7.5 and 8 m over 10 m stand in the middle of the water and give bands that
// lie about 7 m as much above as below: the middle comes out at 7 m.
//
// # Cost
//
// Ten shares times half the square of the number of steps, at most 300, for each note.
//
// # What it does badly
//
// Two bands look like one wide one, or like one with strays, whichever explains more: part them first. Strays
// that keep to a depth of their own look like a band.

const (
	// heldNotes is how many notes it takes: with fewer any of them may be the stray.
	heldNotes = 4
	// readM is the error of a note: read off a screen to the half foot, which by itself
	// is 0.04 m, by someone busy with a fish. Twice or half of it moves middles by centimetres.
	readM = 0.1
	// leastHeightM is where heights stop being told apart: two or three readings.
	leastHeightM = 0.3
	// beyondM is how far below the deepest water under a boat a band may reach: the fish were
	// a cast off, over a bottom that slopes.
	beyondM     = 0.5
	edgeM       = 0.1 // between one top or bottom tried and the next, or more where water is deep
	mostEdges   = 300
	strayShares = 10 // tried, from 0 to 1/2
)

// A Held is the band of depth in which fish keep, metres below the surface.
type Held struct {
	TopM    float64
	BottomM float64
	U95M    ingest.Maybe // half-width around the band's middle that holds the middle 95 times in 100; not with fewer than four notes
}

// HeldBand returns the band that noted fish depths tell. fishM are depths in metres below the
// surface and waterM how deep it was under each, one for each fish, in any order, left as they are; a fish
// deeper than its water lies on the bottom of a slope and makes the water as deep. With fewer than four notes
// the band goes from the least to the greatest. It panics without a note, when the lengths differ and on depths
// that are negative or not finite.
func HeldBand(fishM, waterM []float64) Held {
	if len(fishM) == 0 || len(fishM) != len(waterM) {
		panic("band: no fish, or fish and waters that differ in number")
	}
	type note struct{ fish, water float64 }
	notes := make([]note, len(fishM))
	deepest := 0.0
	for i, x := range fishM {
		w := max(x, waterM[i], edgeM)
		if !(x >= 0) || !(waterM[i] >= 0) || math.IsInf(w, 0) {
			panic("band: a depth that is negative or not finite")
		}
		notes[i] = note{x, w}
		deepest = max(deepest, w)
	}
	slices.SortFunc(notes, func(a, b note) int { return cmp.Or(cmp.Compare(a.fish, b.fish), cmp.Compare(a.water, b.water)) })
	if len(notes) < heldNotes {
		return Held{TopM: notes[0].fish, BottomM: notes[len(notes)-1].fish}
	}

	deepest += beyondM
	step := max(edgeM, deepest/(mostEdges-1))
	n := int(math.Ceil(deepest/step)) + 1
	below := make([][]float64, len(notes)) // Φ((x-edge)/σ)
	for i, x := range notes {
		below[i] = make([]float64, n)
		for k := range n {
			below[i][k] = math.Erfc((float64(k)*step-x.fish)/(readM*math.Sqrt2)) / 2
		}
	}
	perHeight := make([]float64, n) // of bands so many steps high
	for k := 1; k < n; k++ {
		perHeight[k] = 1 / (float64(k) * step)
	}
	total, one := make([]float64, n*n), make([]float64, n*n)
	scale := math.Inf(-1) // total is to be taken times its exponential
	for k := range strayShares {
		s := (float64(k) + 0.5) / (2 * strayShares)
		for i := range one {
			one[i] = 1
		}
		logged := 0.0
		for i, x := range notes {
			most := 0.0
			for top := range n {
				row, edges, per := one[top*n+top+1:(top+1)*n], below[i][top+1:], perHeight[1:]
				from, stray := (1-s)*below[i][top], s/x.water
				for k := range row {
					row[k] *= (from-(1-s)*edges[k])*per[k] + stray
					if row[k] > most {
						most = row[k]
					}
				}
			}
			if most < 1e-100 || most > 1e100 || i == len(notes)-1 {
				for j := range one {
					one[j] /= most
				}
				logged += math.Log(most)
			}
		}
		to := max(scale, logged)
		had, gets := math.Exp(scale-to), math.Exp(logged-to)
		for j := range total {
			total[j] = total[j]*had + one[j]*gets
		}
		scale = to
	}

	var h Held
	sum := 0.0
	middles := make([]float64, 2*n) // weight by top + bottom, in steps
	for top := range n {
		for bottom := top + 1; bottom < n; bottom++ {
			p := total[top*n+bottom] / (float64(bottom-top)*step + leastHeightM)
			sum += p
			h.TopM += p * float64(top) * step
			h.BottomM += p * float64(bottom) * step
			middles[top+bottom] += p
		}
	}
	h.TopM, h.BottomM = h.TopM/sum, h.BottomM/sum
	h.U95M = ingest.Known(halfWidth(middles, step/2, (h.TopM+h.BottomM)/2, 0.95*sum))
	return h
}

// halfWidth returns how far around a middle the weights at 0, step, 2 step … must be gathered
// to come to want.
func halfWidth(weights []float64, step, middle, want float64) float64 {
	type part struct{ off, weight float64 }
	parts := make([]part, len(weights))
	for k, w := range weights {
		parts[k] = part{math.Abs(float64(k)*step - middle), w}
	}
	slices.SortStableFunc(parts, func(a, b part) int { return cmp.Compare(a.off, b.off) })
	for _, p := range parts {
		if want -= p.weight; want <= 0 {
			return p.off
		}
	}
	return parts[len(parts)-1].off
}
