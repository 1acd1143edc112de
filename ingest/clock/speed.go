package clock

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"leadline/ingest"
)

const (
	speedStepS = 5
	// The track's speed is that of the straight line over this long to either side,
	// or over one interval between fixes where they are farther apart. An error of
	// 0.3 m from one second to the next makes 0.05 m/s of it.
	speedHalfS = 4
	// Faster is no boat but a leap of the receiver.
	mostSpeedMPS = 30
	// Root speeds that vary by less, as a standard deviation, hold noise alone: at
	// a drift of 0.3 m/s it is what 0.1 m/s more and less makes.
	leastRootSD = 0.1
)

// bySpeed compares the logged speed with the track's. The misfit is 1 - r, with r
// the correlation coefficient of what overlaps.
func (m *match) bySpeed() (method, string) {
	log := samples(m.soundings, m.base, func(x *ingest.Sounding) (float64, bool) {
		return math.Sqrt(math.Max(0, x.SpeedMPS.V)), x.SpeedMPS.OK && x.SpeedMPS.V < mostSpeedMPS
	})
	if why := tooFew(log, bySpeed); why != "" {
		return method{}, why
	}
	intervalS := everyS(log)
	track := m.way.speed()
	stepS := math.Max(speedStepS, math.Ceil(intervalS))
	share := m.needed(float64(len(log)) * intervalS)
	rows := make([]sample, 0, len(track.v))
	for i, v := range track.v {
		if v == v {
			rows = append(rows, sample{float64(track.fromS + i), v})
		}
	}
	a, b := binned(log, stepS), binned(rows, stepS)
	known := 0.0
	for _, v := range a.v {
		if v == v {
			known++
		}
	}
	lags := int(windowS / stepS)
	s := scan{fromS: -float64(lags) * stepS, stepS: stepS}
	for _, r := range correlate(a.v, b.v, a.from-b.from, lags, share*known, leastRootSD) {
		s.misfit = append(s.misfit, 1-r)
	}
	many := thinned(log, fineRows)
	return method{
		by:   bySpeed,
		most: mostSpeedMisfit,
		scan: s,
		misfit: func(offsetS float64) float64 {
			var c correlation
			for _, q := range many {
				if v := track.at(q.s + offsetS); v == v {
					c.add(q.v, v)
				}
			}
			if c.n < share*float64(len(many)) {
				return math.NaN()
			}
			return 1 - c.r(leastRootSD)
		},
	}, ""
}

// speed returns the square root of the speed over ground each second.
func (w way) speed() line {
	half := int(math.Max(speedHalfS, math.Ceil(w.everyS)))
	l := line{w.x.fromS, make([]float64, len(w.x.v))}
	for i := range l.v {
		l.v[i] = math.NaN()
		if i >= half && i+half < len(l.v) {
			east, north := w.x.v[i+half]-w.x.v[i-half], w.y.v[i+half]-w.y.v[i-half]
			mps := math.Sqrt(east*east+north*north) / float64(2*half)
			if mps < mostSpeedMPS {
				l.v[i] = math.Sqrt(mps)
			}
		}
	}
	return l
}

// bins are means of a quantity over steps of time, the first beginning at from
// steps; NaN where there is none.
type bins struct {
	from int
	v    []float64
}

// binned takes the mean over each stepS, of samples in order of time.
func binned(s []sample, stepS float64) bins {
	if len(s) == 0 {
		return bins{}
	}
	bin := func(t float64) int { return int(math.Floor(t / stepS)) }
	b := bins{from: bin(s[0].s)}
	b.v = make([]float64, bin(s[len(s)-1].s)-b.from+1)
	n := make([]float64, len(b.v))
	for _, x := range s {
		i := bin(x.s) - b.from
		b.v[i] += x.v
		n[i]++
	}
	for i := range b.v {
		b.v[i] /= n[i] // 0/0 is NaN
	}
	return b
}

// A correlation gathers pairs of values for the correlation coefficient.
type correlation struct{ n, a, b, aa, bb, ab float64 }

func (c *correlation) add(a, b float64) {
	c.n++
	c.a += a
	c.b += b
	c.aa += a * a
	c.bb += b * b
	c.ab += a * b
}

// r is Pearson's correlation coefficient; NaN when either side varies by a
// standard deviation of less than leastSD, or for fewer than two pairs.
func (c correlation) r(leastSD float64) float64 {
	if c.n < 2 {
		return math.NaN()
	}
	va, vb := c.aa-c.a*c.a/c.n, c.bb-c.b*c.b/c.n
	if least := c.n * leastSD * leastSD; va < least || vb < least {
		return math.NaN()
	}
	return (c.ab - c.a*c.b/c.n) / math.Sqrt(va*vb)
}

// correlate returns the correlation coefficient of a[i] and b[i+shift+k] for k
// from -lags to lags, over the pairs in which both are known (not NaN); NaN
// where they are fewer than need, or where either varies too little, see r.
//
// All sums are taken at once through Fourier transforms of the values, their
// squares and the masks of what is known, zeros beside them so that nothing wraps
// round (D. Padfield, Masked object registration in the Fourier domain, IEEE
// Trans. Image Process. 21, 2012, eqs. 18-22). Cost: n log n.
func correlate(a, b []float64, shift, lags int, need, leastSD float64) []float64 {
	r := make([]float64, 2*lags+1)
	for i := range r {
		r[i] = math.NaN()
	}
	if len(a) == 0 || len(b) == 0 {
		return r
	}
	size := 1
	for size < len(a)+len(b) {
		size *= 2
	}
	fft := fourier.NewFFT(size)
	type spectra struct{ mask, one, two []complex128 }
	transform := func(v []float64) spectra {
		mean, n := 0.0, 0.0
		for _, x := range v {
			if x == x {
				mean += x
				n++
			}
		}
		mean /= math.Max(n, 1) // taken off so that no digits are lost in the differences below
		var s [3][]float64
		for k := range s {
			s[k] = make([]float64, size)
		}
		for i, x := range v {
			if x == x {
				s[0][i], s[1][i], s[2][i] = 1, x-mean, (x-mean)*(x-mean)
			}
		}
		return spectra{fft.Coefficients(nil, s[0]), fft.Coefficients(nil, s[1]), fft.Coefficients(nil, s[2])}
	}
	fa, fb := transform(a), transform(b)
	// The library's way back is some six times slower than its way there. Hartley's transform, the real part less
	// the imaginary one, is its own inverse: so the way there serves for both (R. N. Bracewell, Discrete Hartley
	// transform, J. Opt. Soc. Am. 73, 1983).
	hartley, back := make([]float64, size), make([]complex128, size/2+1)
	sum := func(x, y []complex128) []float64 {
		for i := range back {
			p := complex(real(x[i]), -imag(x[i])) * y[i]
			hartley[i] = real(p) - imag(p)
			hartley[(size-i)%size] = real(p) + imag(p)
		}
		back = fft.Coefficients(back, hartley)
		out := make([]float64, size)
		for i, c := range back {
			out[i] = (real(c) - imag(c)) / float64(size)
			out[(size-i)%size] = (real(c) + imag(c)) / float64(size)
		}
		return out
	}
	n, sa, sb := sum(fa.mask, fb.mask), sum(fa.one, fb.mask), sum(fa.mask, fb.one)
	saa, sbb, sab := sum(fa.two, fb.mask), sum(fa.mask, fb.two), sum(fa.one, fb.one)
	for k := -lags; k <= lags; k++ {
		j := k + shift // b begins j after a
		if j <= -len(a) || j >= len(b) {
			continue
		}
		i := (j + size) % size
		c := correlation{math.Round(n[i]), sa[i], sb[i], saa[i], sbb[i], sab[i]}
		if c.n >= math.Max(need, 2) {
			r[k+lags] = c.r(leastSD)
		}
	}
	return r
}
