package zone

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Does a school move? Baitfish follow temperature and falling water, and the school
// with them.
//
// The centre of each day's events is regressed on the day, or on the day's water
// level: straight lines for east and north, every day with the same weight, so that a day of many
// fish doesn't outweigh four of few. The error of the slope comes from the scatter
// of the centres about the line.
//
// By hand: centres at x = 0, 11, 19 and 30 m on days 0, 1, 2 and 3 move 9.8 m a day:
// the sum of (day - 1.5)·x is 49, over the sum of squares 5.
//
// What it does badly: fewer than four days give no scatter worth the name and no answer, and a
// boat that fished another side each day moves the centre too.

// A Mean is the centre of one day's events.
type Mean struct {
	At r2.Vec
	X  float64 // what the centre is followed over: days, or metres of level
}

// A Move is how a centre changes with X.
type Move struct {
	PerX  r2.Vec  // metres per unit of X
	Error float64 // standard error of either part, metres per unit of X
	Days  int
}

// leastDays is how many days a move needs: two more than a line has parts, so that the
// scatter has two degrees of freedom.
const leastDays = 4

// Moves fits the movement of a centre; ok is false with fewer than four means, or
// all at one X.
func Moves(means []Mean) (m Move, ok bool) {
	n := float64(len(means))
	if len(means) < leastDays {
		return Move{}, false
	}
	var x float64
	var at r2.Vec
	for _, p := range means {
		x += p.X / n
		at = r2.Add(at, r2.Scale(1/n, p.At))
	}
	var xx float64
	var xv r2.Vec
	for _, p := range means {
		d := p.X - x
		xx += d * d
		xv = r2.Add(xv, r2.Scale(d, r2.Sub(p.At, at)))
	}
	if xx == 0 {
		return Move{}, false
	}
	m = Move{PerX: r2.Scale(1/xx, xv), Days: len(means)}
	var rest float64
	for _, p := range means {
		rest += r2.Norm2(r2.Sub(r2.Sub(p.At, at), r2.Scale(p.X-x, m.PerX)))
	}
	m.Error = math.Sqrt(rest / 2 / (n - 2) / xx) // half of the squares belong to each part
	return m, true
}

// Sure reports whether the move is more than its error explains: three times as long as
// the error of its parts, which chance gives once in ninety (chi-square with two
// degrees of freedom), were the error known.
func (m Move) Sure() bool { return r2.Norm(m.PerX) > 3*m.Error }
