package clock

import (
	"cmp"
	"math"
	"slices"
)

// A scan is how badly the log fits the track at every offset of a range; NaN
// where too little overlaps.
type scan struct {
	fromS, stepS float64
	misfit       []float64
}

// A peak is an offset at which the log fits better than anywhere within apartS.
type peak struct{ offsetS, misfit float64 }

const (
	// Nearer fits than this are shoulders of one peak: the boat is still in the
	// same manoeuvre. Smaller, and a good match becomes its own runner-up.
	apartS = 120
	// As many runners-up tell how low a misfit gets by chance; more would reach
	// into the bulk of the misfits, where the power law ends.
	mostPeaks = 20
	// Fewer don't tell it.
	leastPeaks = 5
	// The power isn't known better than this from so few.
	mostPower = 30
	// Two best offsets this near are one; three steps of the scan.
	sameS = 15
)

// every takes the misfit at each step of the window.
func every(stepS float64, misfit func(offsetS float64) float64) scan {
	n := math.Floor(WindowS / stepS)
	s := scan{-n * stepS, stepS, make([]float64, 0, 2*int(n)+1)}
	for k := -n; k <= n; k++ {
		s.misfit = append(s.misfit, misfit(k*stepS))
	}
	return s
}

// peaks returns the local minima of a scan, the best first.
func (s scan) peaks() []peak {
	reach := int(apartS / s.stepS)
	var out []peak
	for i, m := range s.misfit {
		least := m == m
		for j := max(0, i-reach); j <= min(len(s.misfit)-1, i+reach) && least; j++ {
			// Of equals the first counts.
			least = !(s.misfit[j] < m || j < i && s.misfit[j] == m)
		}
		if least {
			out = append(out, peak{s.fromS + float64(i)*s.stepS, m})
		}
	}
	slices.SortStableFunc(out, func(a, b peak) int { return cmp.Compare(a.misfit, b.misfit) })
	return out
}

// places is how many peaks a scan has room for.
func (s scan) places() int {
	n := 0.0
	for _, m := range s.misfit {
		if m == m {
			n++
		}
	}
	return int(n * s.stepS / (2 * apartS))
}

// chance returns how likely the best of such peaks, best first, would lead the
// next as it does if the log fitted nowhere; 1 when there are too few to tell.
// Where a scan has room for more peaks than it shows, the rest of it doesn't fit
// at all and counts as such.
//
// For a power law with power k the logarithms of the misfits in order have
// independent gaps, and j·k times the gap after the j-th is exponential with mean 1
// (Rényi 1953). The first gap over the sum s of the n others, each times its j, is
// then beyond x with chance (1 + x)^-n, whatever k is.
func chance(p []peak, places int) float64 {
	p = slices.Clone(p)
	for len(p) <= leastPeaks && len(p) < places {
		p = append(p, peak{misfit: math.Max(1, p[len(p)-1].misfit)})
	}
	if len(p) <= leastPeaks {
		return 1
	}
	if p[0].misfit <= 0 {
		if p[1].misfit <= 0 {
			return 1
		}
		return 0
	}
	s, n := 0.0, float64(len(p)-2)
	for j := 2; j < len(p); j++ {
		s += float64(j) * math.Log(p[j].misfit/p[j-1].misfit)
	}
	s = math.Max(s, n/mostPower)
	return math.Pow(1+math.Log(p[1].misfit/p[0].misfit)/s, -n)
}

// agreement returns how likely as many parts of a record as do would put the same
// offset first by chance; 1 for no parts. Each part hits it once in as many times
// as it has peaks, but for the part with the most, which is taken for granted: the
// offset was chosen with its help.
func agreement(parts []scan, offsetS float64) float64 {
	agree := 0
	var hit []float64
	for _, s := range parts {
		p := s.peaks()
		if len(p) == 0 {
			continue
		}
		hit = append(hit, 1/float64(len(p)))
		if math.Abs(p[0].offsetS-offsetS) <= sameS {
			agree++
		}
	}
	if agree < 2 {
		return 1
	}
	slices.Sort(hit)
	exactly := []float64{1} // chance that so many of the parts so far hit it
	for _, p := range hit[1:] {
		next := make([]float64, len(exactly)+1)
		for n, q := range exactly {
			next[n] += q * (1 - p)
			next[n+1] += q * p
		}
		exactly = next
	}
	sum := 0.0
	for _, q := range exactly[agree-1:] {
		sum += q
	}
	return math.Min(1, sum)
}
