package structure

import "math"

// The form of what stands out
//
// A place stands out when its index, fine or broad, is beyond one standard deviation of
// all (Lundblad et al. 2006) and beyond the least relief. The index must be so again over those sectors
// whose opposite is known too: over such pairs a plain bank comes to nothing, wherever the
// known water ends. Then the mean height of each of eight sectors of the ring is
// held against the place's own; fall is how much deeper a sector is (for what lies in: how much shallower).
// Looking eight ways is as in the geomorphons of Jasiewicz & Stepinski (Geomorphology 182,
// 2013), which look along lines and tell angles; means of sectors are calmer on soundings.
//
//	crest  two opposite sectors fall, and to either side of that pair some sector falls less
//	       than half as much: above, a point where either end rises, else a long hump;
//	       below, a channel
//	round  all sectors are known, seven fall and the eighth doesn't rise: a hump, a
//	       hole; one not known could be the root of a point, which boats cross least
//	nose   two opposite sectors fall and the line across them runs up to one side: a
//	       point, where the contours bend round it; below, the side of a hole or nothing
//
// By hand, falls in metres from east anticlockwise of 3 2 -1 2 3 2 1 2: east and west fall 3; between
// them north -1 and south 1 are both under 1.5, a crest, and north rises: a point.
//
// A nose must be told from the lip of a straight ledge, whose sectors along the lip fall too, being
// half over the drop. For depths that change one way only the mean of such a pair is no
// more than that of the two sectors across. So the lesser of the pair must exceed the latter by a
// third of half the difference between them: contours bent back by some 18° (arctan 1/3) on either side.
//
// The broad ring is asked first, as the larger form gives the place its name, and the fine
// one where it has none.
type form uint8

const (
	plain form = iota // stands out in nothing, or as nothing that has a word
	hump
	point
	channel
	hole
	dip   // a nose turned over: the side of a hole, if of anything
	doubt // stands out, but too little is known around it to say as what
)

const (
	// A sector falls or rises when it does so by this share of the least relief: half, as
	// a place stands out against several sectors together by the whole.
	clearShare = 0.5
	// An end of a crest falls less than this share of its flanks.
	endShare = 0.5
	// tan of the angle by which contours bend at a nose, see above.
	bend = 1.0 / 3
	// A round form falls in so many sectors of the eight.
	leastRound = 7
)

// forms returns the form of each cell.
func (m *Map) forms(heights sums, fine, broad ring) []form {
	_, fineSD, _ := spread(m.Fine)
	_, broadSD, _ := spread(m.Broad)
	fineM, broadM := math.Max(fineSD, m.Settings.ReliefM), math.Max(broadSD, m.Settings.ReliefM)
	clearM := clearShare * m.Settings.ReliefM
	out := make([]form, len(m.Depth.Known))
	rows(m.Depth.H, func(y int) {
		for i := y * m.Depth.W; i < (y+1)*m.Depth.W; i++ {
			f := plain
			if m.Broad.Known[i] {
				f = heights.form(broad, i, float64(m.Broad.Values[i]), broadM, clearM)
			}
			if m.Fine.Known[i] && (f == plain || f == doubt) {
				if g := heights.form(fine, i, float64(m.Fine.Values[i]), fineM, clearM); g != plain {
					f = g
				}
			}
			out[i] = f
		}
	})
	return out
}

// form returns the form of cell i in a ring in which its index is indexM.
func (s sums) form(g ring, i int, indexM, leastM, clearM float64) form {
	if !(math.Abs(indexM) >= leastM) || indexM == 0 {
		return plain
	}
	sign := math.Copysign(1, indexM)
	var a around
	whole := s.inner(g, i%s.W, i/s.W)
	for k, p := range g.sectors {
		if rise, ok := s.mean(p, i, whole); ok {
			a.known[k], a.fallM[k] = true, -sign*rise
		}
	}
	if balanced, ok := a.pairsM(); !ok || balanced < leastM {
		return plain
	}
	return a.form(sign > 0, clearM)
}

// An around is how far the bottom falls from a place to each sector, metres, or
// rises to it for a place that lies in.
type around struct {
	fallM [8]float64
	known [8]bool
}

// pairsM returns the mean fall over the sectors whose opposite is known too.
func (a around) pairsM() (meanM float64, ok bool) {
	n := 0.0
	for k := range 4 {
		if a.known[k] && a.known[k+4] {
			meanM += a.fallM[k] + a.fallM[k+4]
			n += 2
		}
	}
	if n == 0 {
		return 0, false
	}
	return meanM / n, true
}

func (a around) form(raised bool, clearM float64) form {
	known, falls, rises := 0, 0, 0
	for k := range 8 {
		switch {
		case !a.known[k]:
			continue
		case a.fallM[k] >= clearM:
			falls++
		case a.fallM[k] <= -clearM:
			rises++
		}
		known++
	}
	crest, grows := a.crest(clearM)
	round := known == 8 && falls >= leastRound && rises == 0
	switch {
	case crest && !raised:
		return channel
	case crest && grows:
		return point
	case (crest || round) && raised:
		return hump
	case round:
		return hole
	case a.nose(clearM) && raised:
		return point
	case a.nose(clearM):
		return dip
	case known < 8:
		return doubt
	}
	return plain
}

// crest reports whether there is a crest, and whether the end of one rises.
func (a around) crest(clearM float64) (crest, grows bool) {
	for k := range 4 {
		if !a.known[k] || !a.known[k+4] {
			continue
		}
		flank := math.Min(a.fallM[k], a.fallM[k+4])
		left, right := a.leastM(k+1), a.leastM(k+5)
		if flank >= clearM && math.Max(left, right) < endShare*flank {
			crest = true
			grows = grows || math.Min(left, right) <= -clearM
		}
	}
	return crest, grows
}

// leastM returns the least fall of the three sectors from k on; +Inf when none is known.
func (a around) leastM(k int) float64 {
	least := math.Inf(1)
	for j := k; j < k+3; j++ {
		if a.known[j%8] {
			least = math.Min(least, a.fallM[j%8])
		}
	}
	return least
}

func (a around) nose(clearM float64) bool {
	for k := range 4 {
		l, r := k+2, (k+6)%8
		if !a.known[k] || !a.known[k+4] || !a.known[l] || !a.known[r] {
			continue
		}
		flank := math.Min(a.fallM[k], a.fallM[k+4])
		across, half := (a.fallM[l]+a.fallM[r])/2, math.Abs(a.fallM[l]-a.fallM[r])/2
		rises := math.Min(a.fallM[l], a.fallM[r]) <= -clearM
		if rises && flank >= clearM && flank-math.Max(across, 0) >= math.Max(clearM, bend*half) {
			return true
		}
	}
	return false
}
