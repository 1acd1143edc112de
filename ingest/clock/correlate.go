package clock

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

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

// mostRuns is up to how many stretches of known values the sums of one series by itself are looked up rather than
// transformed: each costs some ten sums a lag, nine transforms about three hundred.
const mostRuns = 32

// correlate returns the correlation coefficient of a[i] and b[i+shift+k] for k
// from -lags to lags, over the pairs in which both are known (not NaN); NaN
// where they are fewer than need, or where either varies too little, see r.
//
// The sums of products are taken for all lags at once through Fourier transforms, zeros beside the values so that
// nothing wraps round. What else a coefficient needs are sums of one series over what is known of the other: for each
// stretch that is known without a break the difference of two running sums. Where there are many stretches, these sums
// are taken through transforms, too, of the values, their squares and the masks of what is known (D. Padfield, Masked
// object registration in the Fourier domain, IEEE Trans. Image Process. 21, 2012, eqs. 18-22). Cost: n log n.
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
	x, y := newSeries(a), newSeries(b)
	f := newTransformer(size)
	fx, fy := f.there(x.one), f.there(y.one)
	ab := f.back(fx, fy)
	at := func(j int) correlation { // of a[i] and b[i+j]
		c := correlation{ab: ab[(j+size)%size]}
		for _, known := range y.runs {
			from, to := x.place(known[0]-j), x.place(known[1]-j)
			c.n += x.sums[to].n - x.sums[from].n
			c.a += x.sums[to].one - x.sums[from].one
			c.aa += x.sums[to].two - x.sums[from].two
		}
		for _, known := range x.runs {
			from, to := y.place(known[0]+j), y.place(known[1]+j)
			c.b += y.sums[to].one - y.sums[from].one
			c.bb += y.sums[to].two - y.sums[from].two
		}
		return c
	}
	if len(x.runs)+len(y.runs) > mostRuns {
		maskX, maskY, twoX, twoY := f.there(x.mask), f.there(y.mask), f.there(x.squares()), f.there(y.squares())
		n, sa, sb := f.back(maskX, maskY), f.back(fx, maskY), f.back(maskX, fy)
		saa, sbb := f.back(twoX, maskY), f.back(maskX, twoY)
		at = func(j int) correlation {
			i := (j + size) % size
			return correlation{math.Round(n[i]), sa[i], sb[i], saa[i], sbb[i], ab[i]}
		}
	}
	for k := -lags; k <= lags; k++ {
		j := k + shift // b begins j after a
		if j <= -len(a) || j >= len(b) {
			continue
		}
		if c := at(j); c.n >= math.Max(need, 2) {
			r[k+lags] = c.r(leastSD)
		}
	}
	return r
}

// A series is what correlate asks of one of its two.
type series struct {
	one  []float64 // values less their mean, so that no digits are lost in the differences; 0 where not known
	mask []float64 // 1 where known, else 0
	runs [][2]int  // known without a break: from, to before
	sums []running // of all before
}

type running struct{ n, one, two float64 }

func newSeries(v []float64) series {
	mean, n := 0.0, 0.0
	for _, x := range v {
		if x == x {
			mean += x
			n++
		}
	}
	mean /= math.Max(n, 1)
	s := series{one: make([]float64, len(v)), mask: make([]float64, len(v)), sums: make([]running, len(v)+1)}
	for i, x := range v {
		sum := s.sums[i]
		if x == x {
			if i == 0 || s.mask[i-1] == 0 {
				s.runs = append(s.runs, [2]int{i, i})
			}
			s.runs[len(s.runs)-1][1] = i + 1
			x -= mean
			s.one[i], s.mask[i] = x, 1
			sum = running{sum.n + 1, sum.one + x, sum.two + x*x}
		}
		s.sums[i+1] = sum
	}
	return s
}

// place keeps an index within the series.
func (s *series) place(i int) int { return max(0, min(i, len(s.one))) }

func (s *series) squares() []float64 {
	two := make([]float64, len(s.one))
	for i, x := range s.one {
		two[i] = x * x
	}
	return two
}

// A transformer is a Fourier transform of one size.
type transformer struct {
	size    int
	fft     *fourier.FFT
	hartley []float64
	product []complex128
}

func newTransformer(size int) *transformer {
	return &transformer{size, fourier.NewFFT(size), make([]float64, size), make([]complex128, size/2+1)}
}

// there transforms v with zeros behind it.
func (t *transformer) there(v []float64) []complex128 {
	return t.fft.Coefficients(nil, append(make([]float64, 0, t.size), v...)[:t.size])
}

// back returns the sums of the products of two series at all shifts of the second.
//
// The library's way back is some six times slower than its way there. Hartley's transform, the real part less
// the imaginary one, is its own inverse: so the way there serves for both (R. N. Bracewell, Discrete Hartley
// transform, J. Opt. Soc. Am. 73, 1983).
func (t *transformer) back(x, y []complex128) []float64 {
	for i := range t.product {
		p := complex(real(x[i]), -imag(x[i])) * y[i]
		t.hartley[i] = real(p) - imag(p)
		t.hartley[(t.size-i)%t.size] = real(p) + imag(p)
	}
	t.product = t.fft.Coefficients(t.product, t.hartley)
	out := make([]float64, t.size)
	for i, c := range t.product {
		out[i] = (real(c) - imag(c)) / float64(t.size)
		out[(t.size-i)%t.size] = (real(c) + imag(c)) / float64(t.size)
	}
	return out
}
