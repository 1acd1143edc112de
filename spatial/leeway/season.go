package leeway

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

const (
	// What a pass strays by is taken to be made of three parts. Only their ratio matters: how
	// large they are together is learned, and a wrong ratio costs some precision, not
	// the intervals, which come from the days' differences.
	strayShare = 0.1  // of the drift: gusts, the wind's record and the boat's trim, 5 % each and 3 to 5° at right angles
	wobbleM    = 2.0  // two ends of a pass, 1.5 m each, as a plain receiver wanders
	waterMPS   = 0.01 // eddies and waves; no source

	// How alike errors of one day are taken to be, from 0 to 1: a day of n passes counts
	// as n/(1+(n-1)·0.3), so that 12 passes count for 2.8 and 3 for 1.9. Some part is shared (the
	// table's direction) and some is not (gusts); the intervals hold for any value.
	dayShare = 0.3

	// Tukey's weight on the length of a velocity's error: 5.12 keeps 95 % of least
	// squares' precision when all is well, as 4.685 does for one number
	// (TestTukeyKeepsItsPrecision).
	tukeyPlane = 5.123

	// The share of what passes stray by that is the wind record's and not the boat's.
	// The passes can't tell; half is wrong by at most half.
	windShare = 0.5

	trials    = 1500 // pairs of passes tried for a start; with half of all passes wrong, a quarter of them are sound
	exactness = 1e-9 // residuals below this share of what is to be expected are rounding
)

// A season is the passes in one order with what is known of each.
type season struct {
	passes []Pass
	given  []int     // index of each in what was given
	day    []int     // 0 to days-1
	share  []float64 // how much each counts beside others of its day
	sdMPS  []float64 // what each is expected to stray by, along each axis, up to a common factor
	days   int
}

// newSeason leaves out passes that tell nothing and counts those that are only calm.
func newSeason(passes []Pass) (s season, calm int) {
	for i, p := range passes {
		wind := r2.Norm(p.WindMPS)
		if !(p.Seconds > 0) || !(r2.Norm(p.MPS)+wind < math.Inf(1)) {
			continue
		}
		if wind < calmMPS {
			calm++
			continue
		}
		s.given = append(s.given, i)
	}
	slices.SortStableFunc(s.given, func(i, j int) int { return byDay(passes[i], passes[j]) })
	of := map[int]int{}
	for _, i := range s.given {
		p := passes[i]
		s.passes = append(s.passes, p)
		if _, ok := of[p.Day]; !ok {
			of[p.Day] = len(of)
		}
		s.day = append(s.day, of[p.Day])
	}
	s.days = len(of)
	count := make([]int, s.days)
	for _, d := range s.day {
		count[d]++
	}
	for _, d := range s.day {
		s.share = append(s.share, 1/(1+dayShare*float64(count[d]-1)))
	}
	return s, calm
}

// sdMPS is what a pass is expected to stray by, along each axis, up to a factor.
func sdMPS(driftMPS, seconds float64) float64 {
	wobble, stray := wobbleM/seconds, strayShare*driftMPS
	return math.Sqrt(waterMPS*waterMPS + wobble*wobble + stray*stray)
}

// weighByDrift sets sdMPS from a first idea of the drift per wind, the middle one of the
// passes' own.
func (s *season) weighByDrift() {
	var each []float64
	for _, p := range s.passes {
		each = append(each, r2.Norm(p.MPS)/r2.Norm(p.WindMPS))
	}
	perWind := middle(each)
	for _, p := range s.passes {
		s.sdMPS = append(s.sdMPS, sdMPS(perWind*r2.Norm(p.WindMPS), p.Seconds))
	}
}

// start returns the answer of one pass, or with a current of two, from which the middle
// pass is least off.
func (s *season) start(current bool) []float64 {
	n := len(s.passes)
	most := n/2 + 1 // as many must be near
	best := math.Inf(1)
	var beta []float64
	off := make([]float64, n)
	try := func(z, c complex128) {
		near := 0
		for i, p := range s.passes {
			d := toComplex(p.MPS) - z*toComplex(p.WindMPS) - c
			off[i] = math.Hypot(real(d), imag(d)) / s.sdMPS[i]
			if off[i] < best {
				near++
			} else if near+n-i-1 < most {
				return
			}
		}
		slices.Sort(off)
		best = off[most-1]
		beta = []float64{real(z), -imag(z), real(c), imag(c)}
	}
	if !current {
		for _, p := range s.passes {
			try(toComplex(p.MPS)/toComplex(p.WindMPS), 0)
		}
		return beta[:2]
	}
	pair := func(i, j int) {
		p, q := s.passes[i], s.passes[j]
		if p.WindMPS == q.WindMPS {
			return
		}
		z := toComplex(r2.Sub(p.MPS, q.MPS)) / toComplex(r2.Sub(p.WindMPS, q.WindMPS))
		try(z, toComplex(p.MPS)-z*toComplex(p.WindMPS))
	}
	if n*(n-1)/2 <= trials {
		for i := range n {
			for j := range i {
				pair(i, j)
			}
		}
		return beta
	}
	rng := rand.New(rand.NewPCG(1984, 79))
	for range trials {
		pair(rng.IntN(n), rng.IntN(n))
	}
	return beta
}

// An answer is what the passes come to.
type answer struct {
	beta    []float64     // a, b and, with a current, its parts east and north
	cov     *mat.SymDense // of beta
	weights []float64     // of each pass, 0 to 1
	thin    float64       // share by which z was put right
	stray   [2]float64    // along and across, standard deviation in units of sdMPS
}

// z is the drift per wind as a complex number.
func (a answer) z() complex128 { return complex(a.beta[0], -a.beta[1]) }

// solve returns the answer with or without a current, and its covariance by leaving out one
// day after another. ok is false when the passes, or those of all days but one, don't
// tell all unknowns.
func (s *season) solve(current bool) (a answer, ok bool) {
	from := s.start(current)
	if from == nil {
		return answer{}, false
	}
	a, ok = s.without(-1, current, from)
	if !ok {
		return answer{}, false
	}
	p := len(a.beta)
	a.cov = mat.NewSymDense(p, nil)
	part := float64(s.days-1) / float64(s.days)
	for d := range s.days {
		b, ok := s.without(d, current, a.beta)
		if !ok {
			return answer{}, false
		}
		for i := range p {
			for j := i; j < p; j++ {
				a.cov.SetSym(i, j, a.cov.At(i, j)+part*(b.beta[i]-a.beta[i])*(b.beta[j]-a.beta[j]))
			}
		}
	}
	return a, true
}

// without returns the answer of all passes but those of one day, -1 for none left out;
// weights are those of the passes taken.
func (s *season) without(day int, current bool, from []float64) (a answer, ok bool) {
	var taken []int
	for i, d := range s.day {
		if d != day {
			taken = append(taken, i)
		}
	}
	n, columns := len(taken), 2
	if current {
		columns = 4
	}
	if 2*n <= columns {
		return answer{}, false
	}
	t := task{
		x: mat.NewDense(2*n, columns, nil), y: make([]float64, 2*n), block: 2, share: make([]float64, n),
		weigh: tukey(tukeyPlane), tol: 1e-9, tiny: exactness,
		// The median length of a vector of two standard normal numbers is √(2 ln 2). A fit of
		// so many unknowns leaves residuals that are shorter than the errors.
		median: math.Sqrt(2*math.Ln2) * math.Sqrt(1-float64(columns)/float64(2*n)),
	}
	for k, i := range taken {
		p, sd := s.passes[i], s.sdMPS[i]
		copy(t.x.RawRowView(2*k), []float64{p.WindMPS.X / sd, p.WindMPS.Y / sd})
		copy(t.x.RawRowView(2*k+1), []float64{p.WindMPS.Y / sd, -p.WindMPS.X / sd})
		if current {
			t.x.Set(2*k, 2, 1/sd)
			t.x.Set(2*k+1, 3, 1/sd)
		}
		t.y[2*k], t.y[2*k+1] = p.MPS.X/sd, p.MPS.Y/sd
		t.share[k] = s.share[i]
	}
	f, ok := t.from(from)
	if !ok {
		return answer{}, false
	}
	a = answer{beta: f.beta, weights: f.weights}
	return a, s.finish(&a, taken, t.rest(f.beta))
}

// finish measures what passes stray by, residuals being in units of sdMPS, and puts z
// right for the errors in the wind.
//
// A record of the wind that strays makes the winds look farther apart than they were,
// and so the drift per wind too small (Fuller, Measurement Error Models, 1987, section
// 1.1): with e² the mean square of what passes stray by as a share of the drift, h the
// part of it that is the record's, M the winds' mean square and V that about their mean
// where a current is told apart, M where it isn't, by the share h·e²·M/V. Half of h·e² is taken
// off again: an error of direction only, which turns a wind and leaves its length, makes z too
// small by half of its mean square, and the mean of readings that differ in direction is
// short of their length, which makes z larger. z is divided by what is left of it; the line
// still goes through the mean wind and the mean velocity.
//
// By hand: winds within ±30° of north have V/M = 0.088. With e² = 0.01 and h = 0.5,
// z was 0.005·(11.4-0.5) = 5 % too small.
func (s *season) finish(a *answer, taken []int, rest []float64) bool {
	z := a.z()
	if z == 0 {
		return false
	}
	turn := cmplx.Conj(z) / complex(cmplx.Abs(z), 0)
	var along, across, shares, sumWeight, sumWW float64
	var sumW complex128
	counted := 0
	for k, i := range taken {
		if a.weights[k] == 0 {
			continue
		}
		counted++
		w := toComplex(s.passes[i].WindMPS)
		// Where the wind takes the boat becomes the real axis.
		off := complex(rest[2*k], rest[2*k+1]) * turn * cmplx.Conj(w) / complex(cmplx.Abs(w), 0)
		along += s.share[i] * real(off) * real(off)
		across += s.share[i] * imag(off) * imag(off)
		shares += s.share[i]
		weight := a.weights[k] * s.share[i] / (s.sdMPS[i] * s.sdMPS[i])
		sumWeight += weight
		sumW += complex(weight, 0) * w
		sumWW += weight * real(w*cmplx.Conj(w))
	}
	unknowns := float64(len(a.beta)) / 2 // per axis
	if float64(counted) <= unknowns {
		return false
	}
	loss := 1 - unknowns/float64(counted)
	a.stray = [2]float64{math.Sqrt(along / shares / loss), math.Sqrt(across / shares / loss)}
	mean := sumW / complex(sumWeight, 0)
	square := sumWW / sumWeight
	about := square
	if len(a.beta) == 4 {
		about -= real(mean * cmplx.Conj(mean))
	}
	if about <= 0 {
		return false
	}
	e2 := strayShare * strayShare * (a.stray[0]*a.stray[0] + a.stray[1]*a.stray[1])
	a.thin = windShare * e2 * (square/about - 0.5)
	right := z / complex(1-math.Min(a.thin, 0.5), 0) // a larger share is refused by maxThin anyway
	a.beta[0], a.beta[1] = real(right), -imag(right)
	if len(a.beta) == 4 {
		a.beta[2] += real((z - right) * mean)
		a.beta[3] += imag((z - right) * mean)
	}
	return true
}

// bearing is the direction a vector points to, in degrees.
func bearing(v r2.Vec) float64 { return plane.BearingDeg(v) }
