package bottom

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/peterstace/simplefeatures/geom"
	"gonum.org/v1/gonum/spatial/r2"
)

// gridOf samples a function at cell centres, all cells known.
func gridOf(w, h int, cellM float64, origin r2.Vec, f func(v r2.Vec) float64) *Grid {
	g := &Grid{origin: origin, cellM: cellM, w: w, h: h, depth: make([]float32, w*h), known: make([]bool, w*h)}
	for i := range g.depth {
		g.depth[i], g.known[i] = float32(f(g.centre(i))), true
	}
	return g
}

func length(lines [][]r2.Vec) float64 {
	sum := 0.0
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			sum += r2.Norm(r2.Sub(l[i], l[i-1]))
		}
	}
	return sum
}

func closed(l []r2.Vec) bool { return l[0] == l[len(l)-1] }

// z = x² + y² at level 1 on [-1.5, 1.5]² with linear edges: lengths derived from
// the crossings in closed form; they tend to 2π. The grid here holds float32
// and keeps a hundredth of an edge from corners, hence the tolerances.
func TestContourOfACircle(t *testing.T) {
	for _, c := range []struct{ cell, want, tol float64 }{
		{0.3, 6.209637772, 1e-6}, {0.15, 6.263931747, 1e-6}, {0.05, 6.281341504, 1e-3},
	} {
		n := int(math.Round(3/c.cell)) + 1
		g := gridOf(n, n, c.cell, r2.Vec{X: -1.5, Y: -1.5}, func(v r2.Vec) float64 { return v.X*v.X + v.Y*v.Y })
		lines := g.Contour(1)
		if len(lines) != 1 || !closed(lines[0]) {
			t.Fatalf("cell %v: %d lines, want one closed one", c.cell, len(lines))
		}
		if got := length(lines); math.Abs(got-c.want) > c.tol {
			t.Errorf("cell %v: length %.9f, want %.9f", c.cell, got, c.want)
		}
	}
}

// Corners south-west, south-east, north-east, north-west 2, 0, 1.2, 0.4: the
// bilinear value at the saddle is (2·1.2 - 0·0.4)/(2 + 1.2 - 0 - 0.4) = 0.857…,
// their mean 0.9. At 0.88 the asymptotic decider (Nielson & Hamann 1991) keeps the
// high corners apart, while a rule by the mean would join them; at 0.85 they touch.
func TestContourAtASaddle(t *testing.T) {
	g := gridOf(2, 2, 1, r2.Vec{}, func(v r2.Vec) float64 {
		return map[r2.Vec]float64{{}: 2, {X: 1}: 0, {X: 1, Y: 1}: 1.2, {Y: 1}: 0.4}[v]
	})
	for _, c := range []struct {
		level float64
		apart bool // each line stays at one high corner
	}{{0.88, true}, {0.85, false}} {
		lines := g.Contour(c.level)
		if len(lines) != 2 {
			t.Fatalf("level %v: %d lines, want 2", c.level, len(lines))
		}
		for _, l := range lines {
			highSide := func(v r2.Vec) bool { return v.X+v.Y < 1 } // nearer to the south-west corner
			if same := highSide(l[0]) == highSide(l[1]); same != c.apart {
				t.Errorf("level %v: line %v, want high corners apart: %v", c.level, l, c.apart)
			}
		}
	}
}

func TestContourKeepsTheDeepSideLeft(t *testing.T) {
	g := gridOf(5, 5, 1, r2.Vec{}, func(v r2.Vec) float64 { return v.X })
	lines := g.Contour(1.5)
	if len(lines) != 1 || lines[0][0].Y < lines[0][len(lines[0])-1].Y {
		t.Errorf("%v, want one line running south, the deep east on its left", lines)
	}
	if g.Contour(9) != nil || g.Contour(-1) != nil {
		t.Error("a level outside the depths has lines")
	}
}

func TestAreaAddsUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 40 {
		g := gridOf(30, 25, 5, r2.Vec{X: 100, Y: -300}, func(v r2.Vec) float64 {
			return 6 + 3*math.Sin(v.X/17) + 2*math.Cos(v.Y/11) + 0.3*rng.NormFloat64()
		})
		for i := range g.known {
			g.known[i] = i%g.w > 0 && i%g.w < g.w-1 && i/g.w > 0 && i/g.w < g.h-1 && rng.Float64() > 0.02
		}
		whole := planar.Area(g.Area(-1e9, 1e9))
		sum := 0.0
		for top := -4.0; top < 16; top += 4 {
			mp := g.Area(top, top+4)
			for _, p := range mp {
				for k, r := range p {
					if want := map[bool]orb.Orientation{true: orb.CCW, false: orb.CW}[k == 0]; r.Orientation() != want {
						t.Fatalf("ring %d of a polygon runs the wrong way", k)
					}
				}
			}
			valid(t, mp)
			sum += planar.Area(mp)
		}
		if math.Abs(sum-whole) > 0.02*whole {
			t.Fatalf("areas from 4 m to 4 m add up to %.0f m², the whole is %.0f m²", sum, whole)
		}
	}
}

// valid holds polygons against the validity rules of OGC Simple Features as
// implemented by github.com/peterstace/simplefeatures.
func valid(t *testing.T, mp orb.MultiPolygon) {
	t.Helper()
	for _, p := range mp {
		var rings []geom.LineString
		for _, r := range p {
			var xy []float64
			for _, q := range r {
				xy = append(xy, q[0], q[1])
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		if err := geom.NewPolygon(rings).Validate(); err != nil {
			t.Fatalf("polygon with %d rings: %v", len(p), err)
		}
	}
}

func TestAreaWithAnIsland(t *testing.T) {
	g := gridOf(11, 11, 10, r2.Vec{}, func(v r2.Vec) float64 { return math.Hypot(v.X-50, v.Y-50) / 10 })
	mp := g.Area(2, 4)
	if len(mp) != 1 || len(mp[0]) != 2 {
		t.Fatalf("%d polygons, want one with one hole", len(mp))
	}
	if a := planar.Area(mp); math.Abs(a-math.Pi*(1600-400)) > 0.03*math.Pi*1200 {
		t.Errorf("area %.0f m², want about %.0f m²", a, math.Pi*1200)
	}
}

func TestBuild(t *testing.T) {
	two := Build([]Point{{r2.Vec{X: 2.5, Y: 2.5}, 4}, {r2.Vec{X: 12.5, Y: 2.5}, 6}}, 5, 30)
	if d, ok := two.DepthM(r2.Vec{X: 7.5, Y: 2.5}); !ok || math.Abs(d-5) > 1e-6 {
		t.Errorf("half-way between 4 and 6 m: %v %v, want 5", d, ok)
	}
	// A cell 5 m from the one and 15 m from the other, by hand: weights
	// 1/(25+6.25) and 1/(225+6.25), so 4.2381 m.
	apart := Build([]Point{{r2.Vec{X: 2.5, Y: 2.5}, 4}, {r2.Vec{X: 22.5, Y: 2.5}, 6}}, 5, 30)
	if d, ok := apart.DepthM(r2.Vec{X: 7.5, Y: 2.5}); !ok || math.Abs(d-4.2381) > 1e-4 {
		t.Errorf("a quarter of the way from 4 to 6 m: %v %v, want 4.2381", d, ok)
	}
	if _, ok := two.DepthM(r2.Vec{X: 60, Y: 2.5}); ok {
		t.Error("a depth is shown 47 m from the nearest sounding")
	}
	if d, ok := two.DepthM(r2.Vec{X: 40, Y: 2.5}); !ok || d > 6 {
		t.Errorf("27.5 m from a sounding: %v %v, want a depth", d, ok)
	}
	odd := Build([]Point{{DepthM: 5}, {DepthM: 5.2}, {DepthM: 40}}, 5, 1)
	if d, ok := odd.DepthM(r2.Vec{X: 2.5, Y: 2.5}); !ok || math.Abs(d-5.2) > 1e-6 {
		t.Errorf("median of 5, 5.2 and 40: %v %v", d, ok)
	}
	empty := Build(nil, 5, 30)
	if _, ok := empty.DepthM(r2.Vec{}); ok || empty.Contour(3) != nil || empty.Area(0, 9) != nil {
		t.Error("an empty grid knows a depth")
	}
	far := Build([]Point{{r2.Vec{}, 1}, {r2.Vec{X: 400e3, Y: 400e3}, 1}}, 5, 30)
	if far.CellM() <= 5 || far.w*far.h > mostCells {
		t.Errorf("cells of %v m, %d of them", far.CellM(), far.w*far.h)
	}
}

// The true bottom is a smooth function; soundings on passes 20 m apart with
// 0.1 m of noise must give it back within the noise, without bias.
func TestBuildAgainstAKnownBottom(t *testing.T) {
	truth := func(v r2.Vec) float64 { return 8 + 3*math.Sin(v.X/120) + 2*math.Cos(v.Y/150) }
	rng := rand.New(rand.NewPCG(13, 14))
	var points []Point
	for y := 0.0; y <= 400; y += 20 {
		for x := 0.0; x <= 600; x += 0.5 {
			v := r2.Vec{X: x, Y: y}
			points = append(points, Point{v, truth(v) + 0.1*rng.NormFloat64()})
		}
	}
	g := Build(points, 5, 30)
	var sum, sum2 float64
	n := 0
	for range 20000 {
		v := r2.Vec{X: 20 + rng.Float64()*560, Y: 20 + rng.Float64()*360}
		d, ok := g.DepthM(v)
		if !ok {
			t.Fatalf("no depth at %v", v)
		}
		e := d - truth(v)
		sum, sum2, n = sum+e, sum2+e*e, n+1
	}
	// Inverse distance flattens between passes: 2 cm of bias here, 5 cm are too much.
	if bias := sum / float64(n); math.Abs(bias) > 0.05 {
		t.Errorf("bias %.3f m", bias)
	}
	if rms := math.Sqrt(sum2 / float64(n)); rms > 0.1 {
		t.Errorf("RMS error %.3f m, want no more than the soundings' own 0.1 m", rms)
	}
}

func BenchmarkBuild(b *testing.B) {
	rng := rand.New(rand.NewPCG(15, 16))
	points := make([]Point, 200000)
	v := r2.Vec{}
	for i := range points {
		v = r2.Add(v, r2.Vec{X: rng.NormFloat64() * 3, Y: rng.NormFloat64() * 3})
		points[i] = Point{v, 8 + rng.NormFloat64()}
	}
	b.ReportAllocs()
	for b.Loop() {
		Build(points, 5, 30)
	}
}

func BenchmarkContour(b *testing.B) {
	g := gridOf(1000, 1000, 5, r2.Vec{}, func(v r2.Vec) float64 { return 8 + 3*math.Sin(v.X/70) + 2*math.Cos(v.Y/50) })
	b.ReportAllocs()
	for b.Loop() {
		g.Contour(8)
	}
}
