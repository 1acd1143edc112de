package leeway

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// exact makes passes that obey the law to the last digit: n on each day, its winds given as
// degrees toward, one for each day.
func exact(perWind, angleDeg float64, flow r2.Vec, n int, toward ...float64) []Pass {
	var out []Pass
	for day, deg := range toward {
		for k := range n {
			// Winds of a day differ a little, as winds do.
			mps, deg := 2+0.7*float64(day%4)+0.3*float64(k), deg+2*float64(k)
			v := r2.Add(r2.Scale(perWind*mps, plane.Toward(deg+angleDeg)), flow)
			out = append(out, Pass{Day: day, MPS: v, WindMPS: r2.Scale(mps, plane.Toward(deg)), Seconds: 240 + 20*float64(k)})
		}
	}
	return out
}

func learn(t *testing.T, passes []Pass) Model {
	t.Helper()
	m, why := Learn(passes)
	if why != "" {
		t.Fatal(why)
	}
	return m
}

// Closed form: what was put in comes out, and the clockwise angle is positive: a boat
// with A = 20° in a wind toward north goes 020°.
func TestExact(t *testing.T) {
	round := []float64{0, 75, 150, 210, 300}
	for _, c := range []struct {
		name              string
		perWind, angleDeg float64
		flow              r2.Vec
		toward            []float64
		known             bool
		arcDeg            float64 // of the days; the wind's turn of 4° within each comes to that
	}{
		{"all round", 0.05, 20, r2.Vec{X: 0.04, Y: -0.03}, round, true, 270},
		{"to the left", 0.03, -33, r2.Vec{X: -0.02}, round, true, 270},
		{"no current", 0.08, 0, r2.Vec{}, round, true, 270},
		{"across north", 0.05, 10, r2.Vec{X: 0.02, Y: 0.02}, []float64{320, 340, 0, 20, 40, 50}, true, 90},
		{"one side", 0.05, 12, r2.Vec{}, []float64{190, 195, 200, 205, 210}, false, 20},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := learn(t, exact(c.perWind, c.angleDeg, c.flow, 3, c.toward...))
			if math.Abs(m.PerWind-c.perWind) > 1e-9 || math.Abs(m.AngleDeg-c.angleDeg) > 1e-6 {
				t.Errorf("S %v, A %v°, want %v and %v°", m.PerWind, m.AngleDeg, c.perWind, c.angleDeg)
			}
			if m.CurrentKnown != c.known || c.known != (m.CurrentWhy == "") {
				t.Fatalf("current known: %v %q", m.CurrentKnown, m.CurrentWhy)
			}
			if off := r2.Norm(r2.Sub(m.Current, c.flow)); c.known && off > 1e-9 {
				t.Errorf("current %v, want %v", m.Current, c.flow)
			}
			if m.PerWindU95 > 1e-9 || m.AngleU95Deg > 1e-6 || m.CurrentU95MPS > 1e-9 || m.AlongMPS > 1e-9 || m.AcrossMPS > 1e-9 {
				t.Errorf("unsure without cause: %+v", m)
			}
			if m.Passes != 3*len(c.toward) || m.Days != len(c.toward) || m.Odd != nil || math.Abs(m.WindArcDeg-c.arcDeg-4) > 1e-9 {
				t.Errorf("%d passes, %d days, odd %v, arc %v", m.Passes, m.Days, m.Odd, m.WindArcDeg)
			}
		})
	}
}

func ExampleLearn() {
	// Three days with the wind toward north at 4 m/s, three toward east, two passes each.
	var passes []Pass
	for day := range 6 {
		wind, boat := r2.Vec{Y: 4}, r2.Vec{X: 0.05, Y: 0.2}
		if day%2 == 1 {
			wind, boat = r2.Vec{X: 4}, r2.Vec{X: 0.25}
		}
		p := Pass{Day: day, MPS: boat, WindMPS: wind, Seconds: 300}
		passes = append(passes, p, p)
	}
	m, why := Learn(passes)
	if why != "" {
		fmt.Println(why)
		return
	}
	fmt.Printf("%.3f of the wind, current %.2f m/s toward %.0f°\n", m.PerWind, r2.Norm(m.Current), plane.BearingDeg(m.Current))
	d := m.Predict(r2.Vec{Y: -6}, 0, 0)
	fmt.Printf("in 6 m/s toward south: %.2f m/s toward %.0f°\n", d.SpeedMPS, d.TowardDeg)
	// Output:
	// 0.050 of the wind, current 0.05 m/s toward 90°
	// in 6 m/s toward south: 0.30 m/s toward 171°
}

func TestReasons(t *testing.T) {
	round := []float64{0, 75, 150, 210, 300}
	some := exact(0.05, 10, r2.Vec{}, 3, round...)
	change := func(f func(i int, p *Pass)) []Pass {
		out := slices.Clone(some)
		for i := range out {
			f(i, &out[i])
		}
		return out
	}
	rng := rand.New(rand.NewPCG(8, 9))
	for _, c := range []struct {
		name   string
		passes []Pass
		want   Reason
	}{
		{"none", nil, TooFewPasses},
		{"five", some[:5], TooFewPasses},
		{"one day", exact(0.05, 10, r2.Vec{}, 8, 30), TooFewDays},
		{"two days", exact(0.05, 10, r2.Vec{}, 8, 30, 200), TooFewDays},
		{"calm", change(func(_ int, p *Pass) { p.WindMPS = r2.Scale(0.02, p.WindMPS) }), TooCalm},
		{"calm but for five", change(func(i int, p *Pass) {
			if i >= 5 {
				p.WindMPS = r2.Vec{}
			}
		}), TooCalm},
		{"without time", change(func(_ int, p *Pass) { p.Seconds = 0 }), TooFewPasses},
		{"not numbers", change(func(_ int, p *Pass) { p.MPS.X = math.NaN() }), TooFewPasses},
		{"the boat stood still", change(func(_ int, p *Pass) { p.MPS = r2.Vec{} }), NotWithWind},
		{"anywhere", change(func(_ int, p *Pass) { p.MPS = r2.Scale(0.2, plane.Toward(360*rng.Float64())) }), NotWithWind},
		{"the wind's origin for its aim", change(func(_ int, p *Pass) { p.WindMPS = r2.Scale(-1, p.WindMPS) }), AgainstWind},
		{"two boats", change(func(i int, p *Pass) {
			if i%3 == 2 || i == 0 {
				p.MPS = r2.Scale(0.5, r2.Vec{X: p.MPS.Y, Y: -p.MPS.X})
			}
		}), Disagree},
		{"enough", some, ""},
		{"the least there may be", exact(0.05, 10, r2.Vec{}, 2, 10, 130, 250), ""},
	} {
		m, why := Learn(c.passes)
		if why != c.want {
			t.Errorf("%s: %q, want %q", c.name, why, c.want)
		}
		if why != "" && !reflect.DeepEqual(m, Model{}) {
			t.Errorf("%s: a model all the same", c.name)
		}
	}
}

// When a current is told apart, and when not.
func TestCurrentKnown(t *testing.T) {
	for _, c := range []struct {
		name   string
		toward []float64
		want   Reason
	}{
		{"all round", []float64{0, 75, 150, 210, 300}, ""},
		{"three days", []float64{0, 120, 240}, FewDaysFlow},
		{"one wind", []float64{90, 90, 90, 90, 90}, OneWind},
		{"an arc of 50°", []float64{330, 340, 350, 0, 10, 20}, OneWind},
		{"one day apart", []float64{90, 95, 100, 95, 90, 270}, OneWind},
		{"two days apart", []float64{90, 95, 100, 95, 270, 265}, ""},
		{"there and back", []float64{0, 180, 0, 180}, ""},
	} {
		m := learn(t, exact(0.05, 10, r2.Vec{X: 0.01}, 4, c.toward...))
		if m.CurrentWhy != c.want {
			t.Errorf("%s: %q, want %q", c.name, m.CurrentWhy, c.want)
		}
		if !m.CurrentKnown && (m.Current != r2.Vec{} || m.CurrentU95MPS != 0) {
			t.Errorf("%s: unknown, yet %v ± %v", c.name, m.Current, m.CurrentU95MPS)
		}
	}

	rng := rand.New(rand.NewPCG(3, 5))
	var rough, vague []Pass
	for day := range 8 {
		for range 6 {
			// Winds of 4 m/s within ±45°, in a table that strays by 20 % and 20°.
			deg := 90 * (float64(day)/7 - 0.5)
			read := r2.Scale(4*(1+0.2*rng.NormFloat64()), plane.Toward(deg+20*rng.NormFloat64()))
			rough = append(rough, Pass{Day: day, MPS: r2.Scale(0.2, plane.Toward(deg)), WindMPS: read, Seconds: 300})
			// Winds all round, and on each day a current of its own of 0.2 m/s.
			wind := r2.Scale(4, plane.Toward(45*float64(day)))
			flow := r2.Scale(0.2, plane.Toward(100*float64(day)))
			vague = append(vague, Pass{Day: day, MPS: r2.Add(r2.Scale(0.05, wind), flow), WindMPS: wind, Seconds: 300})
		}
	}
	if m := learn(t, rough); m.CurrentWhy != RoughWind {
		t.Errorf("a rough table: %q", m.CurrentWhy)
	}
	if m := learn(t, vague[:6*6]); m.CurrentWhy != VagueFlow {
		t.Errorf("a current of each day's own: %q, %v ± %v", m.CurrentWhy, m.Current, m.CurrentU95MPS)
	}
}

// In closed form: an error along a line is Student's, whose 95 % for 9 degrees of freedom are
// 2.262 (any table); one that is alike all round has F(2, m), whose upper 5 % are at
// (m/2)·(0.05^(-2/m) - 1), two variances to the unit.
func TestCurrentRadius(t *testing.T) {
	s := season{days: 10}
	for _, c := range []struct {
		name       string
		xx, yy, xy float64
		want       float64
	}{
		{"along a line", 4e-4, 0, 0, 2.262 * 0.02},
		{"along a slanting line", 2e-4, 2e-4, 2e-4, 2.262 * 0.02},
		{"alike all round", 1e-4, 1e-4, 0, 0.01 * math.Sqrt(2*4.5*(math.Pow(0.05, -2.0/9)-1))},
		{"none", 0, 0, 0, 0},
	} {
		cov := mat.NewSymDense(4, nil)
		cov.SetSym(2, 2, c.xx)
		cov.SetSym(3, 3, c.yy)
		cov.SetSym(2, 3, c.xy)
		// The table has four digits.
		if got := s.flowU95(answer{cov: cov}); math.Abs(got-c.want) > 3e-4*c.want {
			t.Errorf("%s: %.5f m/s, want %.5f", c.name, got, c.want)
		}
	}
}

// like tells whether two models say the same to a share of what they say.
func like(a, b Model, share float64) bool {
	near := func(x, y, size float64) bool { return math.Abs(x-y) <= share*size }
	return near(a.PerWind, b.PerWind, a.PerWind) && near(a.PerWindU95, b.PerWindU95, a.PerWind) &&
		near(a.AngleDeg, b.AngleDeg, 90) && near(a.AngleU95Deg, b.AngleU95Deg, 90) &&
		near(r2.Norm(r2.Sub(a.Current, b.Current)), 0, 0.1) && near(a.CurrentU95MPS, b.CurrentU95MPS, 0.1) &&
		near(a.AlongMPS, b.AlongMPS, 0.1) && near(a.AcrossMPS, b.AcrossMPS, 0.1) &&
		a.CurrentKnown == b.CurrentKnown && slices.Equal(a.Odd, b.Odd)
}

var hard = plan{days: 8, more: 4, arcDeg: 180, flowMPS: 0.1, offDays: 0.25, offDeg: 10, gross: 0.05}

// lawSeasons are made seasons for laws that must hold in each.
func lawSeasons(each func(passes []Pass, rng *rand.Rand)) {
	rng := rand.New(rand.NewPCG(21, 22))
	for k := range 12 {
		pl := hard
		if k%3 == 2 {
			pl.arcDeg = 20
		}
		passes, _ := pl.season(rng)
		each(passes, rng)
	}
}

// Turning everything turns the current, and leaves S and A and what is unsure. To
// rounding: rounds stop when residuals change by less than 1e-9.
func TestTurning(t *testing.T) {
	known := 0
	lawSeasons(func(passes []Pass, rng *rand.Rand) {
		m := learn(t, passes)
		rad := rng.Float64() * 2 * math.Pi
		turned := slices.Clone(passes)
		for i := range turned {
			turned[i].MPS = r2.Rotate(turned[i].MPS, rad, r2.Vec{})
			turned[i].WindMPS = r2.Rotate(turned[i].WindMPS, rad, r2.Vec{})
		}
		got := learn(t, turned)
		wind := r2.Scale(4, plane.Toward(360*rng.Float64()))
		p, q := m.Predict(wind, 0.4, 10), got.Predict(r2.Rotate(wind, rad, r2.Vec{}), 0.4, 10)
		if math.Abs(p.SpeedMPS-q.SpeedMPS) > 1e-6 || math.Abs(p.LowMPS-q.LowMPS) > 1e-6 || math.Abs(p.HighMPS-q.HighMPS) > 1e-6 ||
			math.Abs(plane.TurnDeg(p.TowardDeg-degrees(rad), q.TowardDeg)) > 1e-4 ||
			p.TowardU95Deg.OK != q.TowardU95Deg.OK || math.Abs(p.TowardU95Deg.V-q.TowardU95Deg.V) > 1e-4 || p.Why != q.Why {
			t.Errorf("turned by %.0f°, a drift of %+v became %+v", degrees(rad), p, q)
		}
		got.Current = r2.Rotate(got.Current, -rad, r2.Vec{})
		if !like(m, got, 1e-6) {
			t.Errorf("turned by %.0f°\n%+v\n%+v", degrees(rad), m, got)
		}
		if m.CurrentKnown {
			known++
		}
	})
	if known < 4 {
		t.Errorf("only %d seasons with a current", known)
	}
}

// The order of passes means nothing, to the last digit.
func TestOrder(t *testing.T) {
	lawSeasons(func(passes []Pass, rng *rand.Rand) {
		want := learn(t, passes)
		perm := rng.Perm(len(passes))
		shuffled := make([]Pass, len(passes))
		for i, j := range perm {
			shuffled[j] = passes[i]
		}
		got := learn(t, shuffled)
		var odd []int
		for _, i := range want.Odd {
			odd = append(odd, perm[i])
		}
		slices.Sort(odd)
		want.Odd = odd
		if !reflect.DeepEqual(got, want) {
			t.Errorf("shuffled\n%+v\n%+v", want, got)
		}
	})
}

// Twice the wind for the same drift is half of S, and all else as it was.
func TestDoubleWind(t *testing.T) {
	lawSeasons(func(passes []Pass, _ *rand.Rand) {
		m := learn(t, passes)
		twice := slices.Clone(passes)
		for i := range twice {
			twice[i].WindMPS = r2.Scale(2, twice[i].WindMPS)
		}
		got := learn(t, twice)
		got.PerWind *= 2
		got.PerWindU95 *= 2
		if !like(m, got, 1e-6) {
			t.Errorf("\n%+v\n%+v", m, got)
		}
	})
}

// One pass in ten that is no drift at all moves S by less than S was unsure, and is
// found out.
func TestGrossError(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for range 20 {
		passes, tr := plan{days: 10, arcDeg: 180, flowMPS: 0.05}.season(rng)
		var ten []Pass // the first of each day
		for i, p := range passes {
			if i == 0 || p.Day != passes[i-1].Day {
				ten = append(ten, p)
			}
		}
		m := learn(t, ten)
		for i := range ten {
			wrong := slices.Clone(ten)
			wrong[i].MPS = r2.Scale(0.7, plane.Toward(plane.BearingDeg(ten[i].MPS)+60+240*rng.Float64()))
			got := learn(t, wrong)
			if math.Abs(got.PerWind-m.PerWind) >= m.PerWindU95 || !slices.Contains(got.Odd, i) {
				t.Errorf("pass %d wrong: S from %.4f ± %.4f to %.4f (true %.4f), odd %v", i, m.PerWind, m.PerWindU95, got.PerWind, tr.perWind, got.Odd)
			}
		}
	}
}

// Where the winds lie within a narrow arc and a current is told apart all the same, S is
// nearer the truth for being put right.
func TestThinning(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	before, after := 0.0, 0.0
	const seasons = 30
	for range seasons {
		passes, tr := plan{days: 40, arcDeg: 45, flowMPS: 0.1, offDays: 0.25, offDeg: 10}.season(rng)
		s, _ := newSeason(passes)
		s.weighByDrift()
		a, ok := s.without(-1, true, s.start(true))
		if !ok {
			t.Fatal("not solved")
		}
		after += (cmplx.Abs(a.z())/tr.perWind - 1) / seasons
		before += (cmplx.Abs(a.z())*(1-a.thin)/tr.perWind - 1) / seasons
	}
	if before > -0.01 || math.Abs(after) > 0.5*math.Abs(before) {
		t.Errorf("S is off by %.2f %% on average, %.2f %% if left as it was", 100*after, 100*before)
	}
}

// No pass, however strange, makes a panic or something that isn't a number.
func TestStrangePasses(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	odd := []float64{0, 0, 1, -1, 1e-9, 1e6, -1e6, 0.05, 3, math.NaN(), math.Inf(1)}
	pick := func() float64 {
		if rng.IntN(3) > 0 {
			return rng.NormFloat64()
		}
		return odd[rng.IntN(len(odd))]
	}
	finite := func(v any) {
		rv := reflect.ValueOf(v)
		for i := range rv.NumField() {
			if f := rv.Field(i); f.Kind() == reflect.Float64 && (math.IsNaN(f.Float()) || math.IsInf(f.Float(), 0)) {
				t.Fatalf("%s is %v in %+v", rv.Type().Field(i).Name, f.Float(), v)
			}
		}
	}
	learned := 0
	for k := range 300 {
		var passes []Pass
		for range rng.IntN(25) {
			p := Pass{Day: rng.IntN(5), MPS: r2.Vec{X: pick(), Y: pick()}, WindMPS: r2.Vec{X: pick(), Y: pick()}, Seconds: 300 * math.Abs(pick())}
			if k%2 == 0 { // mostly a drift
				p.MPS = r2.Add(r2.Scale(0.05, p.WindMPS), r2.Scale(0.001, p.MPS))
			}
			passes = append(passes, p)
		}
		m, why := Learn(passes)
		if why == "" {
			learned++
		}
		finite(m)
		for _, wind := range []r2.Vec{{}, {X: 1}, {X: -3, Y: 8}, {Y: 1e-9}} {
			finite(m.Predict(wind, rng.Float64(), 40*rng.Float64()))
		}
	}
	if learned < 30 {
		t.Errorf("only %d learned", learned)
	}
}
