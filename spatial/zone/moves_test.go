package zone

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Centres at 0, 11, 19 and 30 m on days 0 to 3: slope 49/5; the line leaves
// -0.3, 0.9, -0.9, 0.3, whose squares sum to 1.8.
func TestMovesByHand(t *testing.T) {
	var means []Mean
	for i, x := range []float64{0, 11, 19, 30} {
		means = append(means, Mean{At: r2.Vec{X: 500 + x, Y: 7}, X: float64(i)})
	}
	m, ok := Moves(means)
	if !ok || math.Abs(m.PerX.X-9.8) > 1e-9 || math.Abs(m.PerX.Y) > 1e-9 || m.Days != 4 || !m.Sure() {
		t.Errorf("%+v %v", m, ok)
	}
	if want := math.Sqrt(1.8 / 2 / 2 / 5); math.Abs(m.Error-want) > 1e-9 {
		t.Errorf("error %v, want %v", m.Error, want)
	}
	if _, ok := Moves(means[:3]); ok {
		t.Error("a move from three days")
	}
	for i := range means {
		means[i].X = 2
	}
	if _, ok := Moves(means); ok {
		t.Error("a move over one level")
	}
}

// A school that stays is seldom said to move, one that goes 4 m a day nearly always.
func TestMovesOfSchools(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	const rounds = 1000
	var stays, goes int
	for range rounds {
		var still, moving []Mean
		for day := range 10 {
			wobble := r2.Vec{X: 6 * rng.NormFloat64(), Y: 6 * rng.NormFloat64()}
			still = append(still, Mean{wobble, float64(day)})
			moving = append(moving, Mean{r2.Add(wobble, r2.Vec{X: 2.4 * float64(day), Y: 3.2 * float64(day)}), float64(day)})
		}
		if m, _ := Moves(still); m.Sure() {
			stays++
		}
		if m, _ := Moves(moving); m.Sure() {
			goes++
		}
	}
	// F with 2 and 16 degrees of freedom beyond 9/2 has a chance of 2.8 %.
	if stays > rounds*5/100 || goes < rounds*95/100 {
		t.Errorf("%d of %d still schools move, %d of %d moving ones do", stays, rounds, goes, rounds)
	}
}
