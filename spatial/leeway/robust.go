package leeway

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// # Method
//
// M-estimation of a linear model by iteratively reweighted least squares (Huber, Robust
// Statistics, 1981, chapter 7): from a start, take the residuals, their scale from the
// median of their sizes, a weight for each from its size over the scale, and fit again,
// until the residuals stand still.
//
// Rows may come in blocks that stand or fall together, such as the east and the north part
// of one velocity: a block has one residual, the length of its rows' residuals, and one
// weight. That is what makes the fit the same when everything is turned.
//
// By hand: the mean of 0, 1, 2, 3, 100 with Tukey's weight. From the median 2 the
// residuals are -2, -1, 0, 1, 98, their median size 1, the scale 1.48; 98 is beyond
// 4.685 scales and weighs nothing, and 0 to 3 draw the answer to about 1.5.
//
// # Cost
//
// Rows times columns squared, for each of some ten to fifty rounds.
//
// # What it does badly
//
// A weight that falls to nothing has more than one answer: it keeps to the one nearest
// the start, so the start must be sound.

// A psi gives the weight of a residual of u scales, u at least 0; falling, 1 at 0.
type psi func(u float64) float64

// tukey is the biweight: nothing beyond c scales (Beaton & Tukey, Technometrics 16, 1974).
func tukey(c float64) psi {
	return func(u float64) float64 {
		if u >= c {
			return 0
		}
		v := 1 - (u/c)*(u/c)
		return v * v
	}
}

// huber weighs all within k scales alike, and beyond them as the distance (Huber, Ann.
// Math. Stat. 35, 1964).
func huber(k float64) psi {
	return func(u float64) float64 { return math.Min(1, k/math.Max(k, u)) }
}

// A task is a linear model to be fitted; nothing in it is changed.
type task struct {
	x      *mat.Dense // a row for each reading, rows of a block together
	y      []float64
	block  int       // rows in a block
	share  []float64 // how much each block counts besides; nil for all alike
	weigh  psi
	median float64 // size of a block's residual that half of them exceed when the scale is 1
	tol    float64 // relative change of the residuals that counts as none
	tiny   float64 // scales below this are rounding
}

// A fit is what a task came to.
type fit struct {
	beta    []float64
	residue []float64 // length of each block's residual
	weights []float64 // of each block, without share
	scale   float64
}

// maxRounds is far more than the few dozen that are usual. An answer that still wavers
// then is taken as it is; it will waver in the jack-knife too, and widen the intervals.
const maxRounds = 200

// from fits a task from a start. ok is false when the rows left with weight don't tell
// all unknowns.
func (t *task) from(start []float64) (f fit, ok bool) {
	blocks := len(t.y) / t.block
	f = fit{beta: slices.Clone(start), weights: make([]float64, blocks)}
	f.residue = t.residues(f.beta)
	for range maxRounds {
		f.scale = math.Max(t.tiny, middle(f.residue)/t.median)
		for i, r := range f.residue {
			f.weights[i] = t.weigh(r / f.scale)
		}
		beta, solved := t.least(f.weights)
		if !solved {
			return fit{}, false
		}
		moved, size := 0.0, 0.0
		old, now := t.rest(f.beta), t.rest(beta)
		for i := range old {
			moved += (now[i] - old[i]) * (now[i] - old[i])
			size += old[i] * old[i]
		}
		f.beta, f.residue = beta, t.residues(beta)
		if math.Sqrt(moved) <= t.tol*math.Sqrt(size) || f.scale == t.tiny {
			break
		}
	}
	return f, true
}

// rest returns the residual of each row.
func (t *task) rest(beta []float64) []float64 {
	out := make([]float64, len(t.y))
	for i := range out {
		out[i] = t.y[i]
		for j, b := range beta {
			out[i] -= b * t.x.At(i, j)
		}
	}
	return out
}

// residues returns the length of each block's residual.
func (t *task) residues(beta []float64) []float64 {
	out := make([]float64, len(t.y)/t.block)
	for i, r := range t.rest(beta) {
		out[i/t.block] += r * r
	}
	for i := range out {
		out[i] = math.Sqrt(out[i])
	}
	return out
}

// least is weighted least squares.
func (t *task) least(weights []float64) (beta []float64, ok bool) {
	_, p := t.x.Dims()
	left, right := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil)
	for i := range t.y {
		w := weights[i/t.block]
		if t.share != nil {
			w *= t.share[i/t.block]
		}
		row := t.x.RawRowView(i)
		for j, a := range row {
			for k := j; k < p; k++ {
				left.SetSym(j, k, left.At(j, k)+w*a*row[k])
			}
			right.SetVec(j, right.AtVec(j)+w*a*t.y[i])
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(left) || chol.Cond() > 1e13 {
		return nil, false
	}
	var out mat.VecDense
	if err := chol.SolveVecTo(&out, right); err != nil {
		return nil, false
	}
	return out.RawVector().Data, true
}

// middle is the median, of an even number the mean of the two in the middle.
func middle(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}
