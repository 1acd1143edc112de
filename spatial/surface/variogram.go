package surface

import (
	"math"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/spatial/r2"
)

// A ModelKind is the shape of a variogram.
type ModelKind uint8

// The shapes. PSill·f(h/RangeM) is added to the nugget at a distance h above 0:
// spherical f(r) = 1.5r - 0.5r³ up to 1, exponential 1 - exp(-r), Gaussian 1 - exp(-r²).
const (
	Spherical ModelKind = iota
	Exponential
	Gaussian
)

// A Variogram tells half the mean square difference of two values by their
// distance (G. Matheron, Principles of geostatistics, Econ. Geol. 58, 1963).
type Variogram struct {
	Model  ModelKind
	Nugget float64 // at distances next to 0
	PSill  float64 // partial sill: what is added far away
	RangeM float64 // above 0; see the shapes
}

// Gamma returns the variogram at a distance: 0 at 0.
func (v Variogram) Gamma(m float64) float64 {
	if m == 0 {
		return 0
	}
	return v.Nugget + v.PSill - v.covariance(m)
}

// covariance is that of two values without their nuggets.
func (v Variogram) covariance(m float64) float64 {
	r := m / v.RangeM
	switch v.Model {
	case Exponential:
		return v.PSill * math.Exp(-r)
	case Gaussian:
		return v.PSill * math.Exp(-r*r)
	}
	if r >= 1 {
		return 0
	}
	return v.PSill * (1 - r*(1.5-0.5*r*r))
}

// A Bin is half the mean square difference of all pairs at about one distance.
type Bin struct {
	Pairs int
	DistM float64 // mean
	Gamma float64
}

// mostPairs bounds the pairs looked at: beyond it every other point is left out,
// again and again, so that what is left is spread as evenly as the points came.
const mostPairs = 4_000_000

// Empirical returns the variogram of points in bins of widthM up to cutoffM, by
// Matheron's estimator, as gstat's variogram has it: a pair belongs to the bin whose
// upper edge its distance doesn't exceed. Pairs in one place are left out: in Fit they
// would weigh more than all others. So are bins without a pair. Both lengths must be
// above 0.
//
// Cost: the pairs within the cutoff, some four million at most; see mostPairs for what
// is done about more.
func Empirical(points []Point, cutoffM, widthM float64) []Bin {
	stride := 1
	for stride < len(points) && pairsAbout(points, stride, cutoffM) > mostPairs {
		stride *= 2
	}
	some := make([]Point, 0, len(points)/stride+1)
	for i := 0; i < len(points); i += stride {
		some = append(some, points[i])
	}
	cells := cellsOf(some, cutoffM)
	bins := make([]Bin, int(math.Ceil(cutoffM/widthM)))
	for i, p := range some {
		for _, j := range cells.beside(p.At) {
			for _, k := range j {
				if int(k) <= i {
					continue
				}
				q := some[k]
				m := r2.Norm(r2.Sub(p.At, q.At))
				if m == 0 || m > cutoffM {
					continue
				}
				b := &bins[max(0, int(math.Ceil(m/widthM))-1)]
				d := p.Value - q.Value
				b.Pairs++
				b.DistM += m
				b.Gamma += d * d / 2
			}
		}
	}
	out := bins[:0]
	for _, b := range bins {
		if b.Pairs > 0 {
			b.DistM /= float64(b.Pairs)
			b.Gamma /= float64(b.Pairs)
			out = append(out, b)
		}
	}
	return out
}

// pairsAbout returns no fewer pairs than there are within the cutoff among every
// stride-th point.
func pairsAbout(points []Point, stride int, cutoffM float64) int {
	count := map[[2]int32]int{}
	var last [2]int32
	run := 0 // points that follow each other are mostly in one square
	for i := 0; i < len(points); i += stride {
		k := square(points[i].At, cutoffM)
		if k != last && run > 0 {
			count[last] += run
			run = 0
		}
		last = k
		run++
	}
	count[last] += run
	sum := 0
	for k, n := range count { // the order of a sum of whole numbers doesn't matter
		for dy := int32(-1); dy <= 1; dy++ {
			for dx := int32(-1); dx <= 1; dx++ {
				sum += n * count[[2]int32{k[0] + dx, k[1] + dy}]
			}
		}
	}
	return sum / 2
}

// cells are the indices of points by squares, rising in each.
type cells struct {
	sideM float64
	at    map[[2]int32][]int32
}

func square(v r2.Vec, sideM float64) [2]int32 {
	return [2]int32{int32(math.Floor(v.X / sideM)), int32(math.Floor(v.Y / sideM))}
}

func cellsOf(points []Point, sideM float64) cells {
	c := cells{sideM, map[[2]int32][]int32{}}
	for i, p := range points {
		k := square(p.At, sideM)
		c.at[k] = append(c.at[k], int32(i))
	}
	return c
}

// beside returns the indices in the square of v and the eight around it.
func (c cells) beside(v r2.Vec) (out [9][]int32) {
	k := square(v, c.sideM)
	for i := range out {
		out[i] = c.at[[2]int32{k[0] + int32(i%3) - 1, k[1] + int32(i/3) - 1}]
	}
	return out
}

// Fit returns the variogram of a shape that lies nearest to bins, each weighted
// with its pairs over the square of its distance, as gstat's fit.variogram does unless told
// otherwise (E. J. Pebesma, Comput. Geosci. 30, 2004); near bins, which kriging
// rests on, so count most. It starts from start, whose parts must be above 0 but for the nugget.
// ok is false with fewer than three bins, or when no minimum is found. The method
// is Nelder and Mead's, from gonum, on the logarithms of sill and range and the root of the
// nugget, which keeps them from going below 0.
//
// What it does badly: where the bins rise to the cutoff and don't level off, sill and
// range run away together, and only the nugget and their ratio mean something.
func Fit(kind ModelKind, bins []Bin, start Variogram) (v Variogram, ok bool) {
	if len(bins) < 3 {
		return Variogram{}, false
	}
	of := func(x []float64) Variogram {
		return Variogram{Model: kind, Nugget: x[0] * x[0], PSill: math.Exp(x[1]), RangeM: math.Exp(x[2])}
	}
	problem := optimize.Problem{Func: func(x []float64) float64 {
		v, sum := of(x), 0.0
		for _, b := range bins {
			d := b.Gamma - v.Gamma(b.DistM)
			sum += float64(b.Pairs) / (b.DistM * b.DistM) * d * d
		}
		if math.IsNaN(sum) {
			return math.Inf(1)
		}
		return sum
	}}
	x := []float64{math.Sqrt(start.Nugget), math.Log(start.PSill), math.Log(start.RangeM)}
	// A second start from the first end: the simplex may have shrunk too early.
	for range 2 {
		r, err := optimize.Minimize(problem, x, &optimize.Settings{
			MajorIterations: 2000,
			Converger:       &optimize.FunctionConverge{Relative: 1e-12, Iterations: 100},
		}, &optimize.NelderMead{})
		if err != nil || math.IsInf(r.F, 0) {
			return Variogram{}, false
		}
		x = r.X
	}
	return of(x), true
}
