package head

import (
	"math"
	"testing"
)

// The coefficients are right if the method has its order: against e^x, halving
// the step must divide the error by 32.
func TestStepperHasOrderFive(t *testing.T) {
	miss := func(steps int) float64 {
		s := stepper[[2]float64]{tol: 1, y: [2]float64{1, 0}}
		s.f = func(_ float64, y [2]float64) [2]float64 { return [2]float64{y[0], 0} }
		s.start()
		for range steps {
			s.y, s.k, _ = s.try(1 / float64(steps))
		}
		return math.Abs(s.y[0] - math.E)
	}
	for _, n := range []int{16, 32} {
		if got := math.Log2(miss(n) / miss(2*n)); math.Abs(got-5) > 0.1 {
			t.Errorf("%d to %d steps: order %.3f, want 5", n, 2*n, got)
		}
	}
	s := stepper[[2]float64]{tol: 1, y: [2]float64{1, 0}}
	s.f = func(_ float64, y [2]float64) [2]float64 { return [2]float64{y[0], 0} }
	s.start()
	y, _, _ := s.try(0.1)
	within(t, "worked example", y[0]-math.Exp(0.1), 2.6e-10, 1e-11)
}

// An equation whose right-hand side depends on x and couples both states: the
// circle, y = (cos x², sin x²).
func TestStepperKeepsTolerance(t *testing.T) {
	for _, tol := range []float64{1e-6, 1e-9} {
		s := stepper[[2]float64]{tol: tol, h: 1, y: [2]float64{1, 0}}
		s.f = func(x float64, y [2]float64) [2]float64 { return [2]float64{-2 * x * y[1], 2 * x * y[0]} }
		s.start()
		steps := 0
		for s.x < 3 {
			if !s.advance(3) {
				t.Fatal("gave up")
			}
			steps++
		}
		if s.x != 3 {
			t.Errorf("ended at %v", s.x)
		}
		within(t, "cos 9", s.y[0], math.Cos(9), 30*tol)
		within(t, "sin 9", s.y[1], math.Sin(9), 30*tol)
		if steps > 400 {
			t.Errorf("%d steps at %g", steps, tol)
		}
	}
}

func TestStepperGivesUpWhereTheSolutionDoes(t *testing.T) {
	for name, f := range map[string]func(float64, [2]float64) [2]float64{
		"pole at 1": func(_ float64, y [2]float64) [2]float64 { return [2]float64{y[0] * y[0], 0} },
		"no number": func(x float64, y [2]float64) [2]float64 { return [2]float64{math.Sqrt(0.5 - x), 0} },
	} {
		s := stepper[[2]float64]{f: f, tol: 1e-8, h: 0.1, y: [2]float64{1, 0}}
		s.start()
		for s.advance(2) {
			if s.x >= 1.001 {
				t.Fatalf("%s: passed it", name)
			}
		}
	}
}
