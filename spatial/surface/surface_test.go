package surface

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// table reads a file of figures from outside.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "surface", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func estimate(t testing.TB, m Method, at r2.Vec, points []Point) Estimate {
	t.Helper()
	e, ok := m.Estimate(at, points, new(Scratch))
	if !ok {
		t.Fatalf("%s: no estimate", m.Name())
	}
	return e
}

// Figures of R gstat, given to ten digits.
func TestAgainstGstat(t *testing.T) {
	points := []Point{{At: r2.Vec{}, Value: 1}, {At: r2.Vec{X: 10}, Value: 2}, {At: r2.Vec{Y: 10}, Value: 4}}
	kinds := map[string]ModelKind{"exponential": Exponential, "spherical": Spherical}
	for _, row := range table(t, "kriging.csv") {
		at := r2.Vec{X: number(t, row["x"]), Y: number(t, row["y"])}
		kind, kriged := kinds[row["method"]]
		if !kriged {
			near(t, row["method"], estimate(t, InverseDistance{Power: 2}, at, points).Value, number(t, row["value"]), 1e-8)
			continue
		}
		v := Variogram{kind, number(t, row["nugget"]), number(t, row["psill"]), number(t, row["range"])}
		e := estimate(t, Kriging{v}, at, points)
		near(t, row["method"], e.Value, number(t, row["value"]), 1e-8)
		near(t, row["method"]+", variance", e.Var, number(t, row["variance"]), 1e-8)
	}
}

func TestByHand(t *testing.T) {
	idw := InverseDistance{Power: 2}
	near(t, "inverse distance", estimate(t, idw, r2.Vec{}, []Point{{At: r2.Vec{X: 10}, Value: 4}, {At: r2.Vec{Y: 20}, Value: 6}}).Value, 4.4, 1e-12)
	here := []Point{{At: r2.Vec{X: 3}, Value: 7, Var: 0.5}, {Value: 1}}
	if e := estimate(t, idw, r2.Vec{X: 3}, here); e != (Estimate{7, 0.5}) {
		t.Errorf("at a point %+v, want its own value", e)
	}
	q := Quadratic{SoftM: 5, SlopeSD: 0.1, CurveSD: 0.01}
	pair := []Point{{At: r2.Vec{X: -5}, Value: 4, Var: 0.01}, {At: r2.Vec{X: 5}, Value: 6, Var: 0.01}}
	near(t, "quadratic between two", estimate(t, q, r2.Vec{}, pair).Value, 5, 1e-9)
	alone := estimate(t, q, r2.Vec{X: 25}, []Point{{Value: 4, Var: 0.01}})
	near(t, "quadratic of one", alone.Value, 4, 1e-9)
	// The height's variance: the point's, (0.01 + 1e-10)·(1 + 25)², a slope's
	// 0.1²·25², a curvature's 0.01²·(25²/2)².
	near(t, "its variance", alone.Var, 0.01*676+0.01*625+1e-4*312.5*312.5, 1e-6)
	near(t, "kriging between two", estimate(t, Kriging{Variogram{Spherical, 0.1, 1, 30}}, r2.Vec{}, pair).Value, 5, 1e-12)
	for _, m := range []Method{idw, q, Kriging{Variogram{RangeM: 1}}} {
		if _, ok := m.Estimate(r2.Vec{}, nil, new(Scratch)); ok {
			t.Errorf("%s: an estimate from nothing", m.Name())
		}
	}
	twice := []Point{{Value: 1}, {Value: 2}}
	if _, ok := (Kriging{Variogram{Spherical, 0, 1, 30}}).Estimate(r2.Vec{X: 5}, twice, new(Scratch)); ok {
		t.Error("kriging from two exact values in one place")
	}
}

// The quadratic against gonum's dense solver on the same normal equations.
func TestQuadraticAgainstDenseSolver(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		q := Quadratic{SoftM: 3 + 5*rng.Float64(), SlopeSD: 0.2, CurveSD: 0.02, NoiseSD: 0.05}
		points := scatter(rng, 30, 25, func(v r2.Vec) float64 { return 5 + 0.1*v.X + 0.03*v.Y*v.Y + rng.NormFloat64() })
		for i := range points {
			points[i].Var = 0.01 * rng.Float64()
		}
		a, b := mat.NewDense(6, 6, nil), mat.NewVecDense(6, nil)
		for _, p := range points {
			x, y := p.At.X, p.At.Y
			far := 1 + (x*x+y*y)/(q.SoftM*q.SoftM)
			w := 1 / ((p.Var + 0.0025) * far * far)
			f := []float64{1, x, y, x * x / 2, x * y, y * y / 2}
			for i := range 6 {
				for j := range 6 {
					a.Set(i, j, a.At(i, j)+w*f[i]*f[j])
				}
				b.SetVec(i, b.AtVec(i)+w*f[i]*p.Value)
			}
		}
		for i := 1; i < 6; i++ {
			sd := q.SlopeSD
			if i > 2 {
				sd = q.CurveSD
			}
			if i == 4 {
				sd /= math.Sqrt2
			}
			a.Set(i, i, a.At(i, i)+1/(sd*sd))
		}
		var x mat.VecDense
		var inverse mat.Dense
		if err := x.SolveVec(a, b); err != nil {
			t.Fatal(err)
		}
		if err := inverse.Inverse(a); err != nil {
			t.Fatal(err)
		}
		e := estimate(t, q, r2.Vec{}, points)
		// The program measures heights from one point's: with a flat prior on the
		// height that changes nothing.
		near(t, "height", e.Value, x.AtVec(0), 1e-7)
		near(t, "variance", e.Var, inverse.At(0, 0), 1e-9)
	}
}

func scatter(rng *rand.Rand, n int, halfM float64, f func(r2.Vec) float64) []Point {
	out := make([]Point, n)
	for i := range out {
		v := r2.Vec{X: (2*rng.Float64() - 1) * halfM, Y: (2*rng.Float64() - 1) * halfM}
		out[i] = Point{At: v, Value: f(v)}
	}
	return out
}

var methods = []Method{
	InverseDistance{Power: 2, SoftM: 2.5}, InverseDistance{Power: 1},
	Quadratic{SoftM: 5, SlopeSD: 10, CurveSD: 0.1, NoiseSD: 0.05}, Quadratic{SoftM: 5, SlopeSD: 10, NoiseSD: 0.05}, Quadratic{SoftM: 5, NoiseSD: 0.05},
	Kriging{Variogram{Spherical, 0.05, 1, 60}}, Kriging{Variogram{Gaussian, 0.05, 1, 30}},
}

// What holds of every method: a constant comes back, order doesn't matter, and the
// plane may be shifted and turned and the values raised.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range 40 {
		points := scatter(rng, 12, 25, func(v r2.Vec) float64 { return 8 + math.Sin(v.X/9) + 0.05*v.Y })
		at := r2.Vec{X: 10 * rng.NormFloat64(), Y: 10 * rng.NormFloat64()}
		flat, other := slices.Clone(points), slices.Clone(points)
		sin, cos := math.Sincos(rng.Float64() * 7)
		turn := func(v r2.Vec) r2.Vec { return r2.Vec{X: cos*v.X - sin*v.Y + 1000, Y: sin*v.X + cos*v.Y - 500} }
		least, most := points[0].Value, points[0].Value
		for i := range points {
			least, most = math.Min(least, points[i].Value), math.Max(most, points[i].Value)
			flat[i].Value = 7
			other[i].At = turn(other[i].At)
			other[i].Value += 100
		}
		rng.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		for _, m := range methods {
			near(t, m.Name()+" of a constant", estimate(t, m, at, flat).Value, 7, 1e-9)
			a, b := estimate(t, m, at, points), estimate(t, m, turn(at), other)
			near(t, m.Name()+" turned", b.Value-100, a.Value, 1e-7)
			near(t, m.Name()+" turned, variance", b.Var, a.Var, 1e-7*(1+a.Var))
			if m.Name() == "inverse distance" && (a.Value < least || a.Value > most) {
				t.Errorf("round %d: %v beyond the values, %v to %v", round, a.Value, least, most)
			}
		}
	}
}

// A plane comes back from points all around; from points in a row its slope along
// the row does, and none is made up across it.
func TestQuadraticFollowsASlope(t *testing.T) {
	q := Quadratic{SoftM: 5, SlopeSD: 0.5, CurveSD: 0.01, NoiseSD: 0.02}
	plane := func(v r2.Vec) float64 { return 6 + 0.2*v.X - 0.1*v.Y }
	rng := rand.New(rand.NewPCG(5, 6))
	near(t, "amid", estimate(t, q, r2.Vec{}, scatter(rng, 40, 15, plane)).Value, 6, 1e-3)
	var row []Point
	for x := -30.0; x <= 30; x += 5 {
		row = append(row, Point{At: r2.Vec{X: x}, Value: plane(r2.Vec{X: x})})
	}
	near(t, "on the row", estimate(t, q, r2.Vec{X: 7}, row).Value, 7.4, 1e-3)
	side := estimate(t, q, r2.Vec{X: 7, Y: 20}, row)
	near(t, "20 m beside the row", side.Value, 7.4, 0.02)
	if side.Var < 0.5*0.5*20*20 {
		t.Errorf("20 m beside the row the slope across it is open, and the variance only %v", side.Var)
	}
}

// Farther from the points an estimate is less sure.
func TestVarianceGrowsWithDistance(t *testing.T) {
	points := scatter(rand.New(rand.NewPCG(7, 8)), 20, 10, func(r2.Vec) float64 { return 5 })
	for i := range points {
		points[i].Var = 0.01
	}
	for _, m := range methods[2:] {
		last := 0.0
		for x := 15.0; x <= 50; x += 5 {
			v := estimate(t, m, r2.Vec{X: x}, points).Var
			if v <= last && m.Name() != "ordinary kriging" || v < last {
				t.Errorf("%s: variance %v at %v m, less than nearer by", m.Name(), v, x)
			}
			last = v
		}
	}
}

// Without a nugget kriging goes through the points.
func TestKrigingHonoursThePoints(t *testing.T) {
	k := Kriging{Variogram{Spherical, 0, 1, 40}}
	points := scatter(rand.New(rand.NewPCG(9, 10)), 15, 20, func(v r2.Vec) float64 { return v.X })
	for _, p := range points {
		near(t, "at a point", estimate(t, k, p.At, points).Value, p.Value, 1e-9)
		near(t, "next to it", estimate(t, k, r2.Add(p.At, r2.Vec{X: 1e-7}), points).Value, p.Value, 1e-4)
	}
}
