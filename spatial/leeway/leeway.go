// Package leeway learns how a boat drifts in the wind from its own passes, and tells the
// drift to expect in a forecast wind.
//
// # Method
//
// A boat left alone goes with the wind at a share S of its speed, turned by an angle A
// that is the boat's own (clockwise seen from above is positive), and with the water:
//
//	velocity over ground = S·turn(A)·wind + current + error
//
// Downwind and crosswind parts in proportion to the wind are the usual leeway model (Allen
// & Plourde, Review of Leeway, US Coast Guard R&D Center, 1999; from memory). With
// a = S·cos A and b = S·sin A it is linear in four unknowns:
//
//	vx = a·wx + b·wy + cx
//	vy = a·wy - b·wx + cy
//
// or, with velocities as complex numbers (east + i·north), v = z·w + c with z = a - i·b.
//
//  1. Each pass is weighed by how well its velocity can be known: an error in proportion
//     to the drift, one of the receiver that falls with the length of the pass, and one of
//     the water that is always there.
//  2. A start that half of the passes may contradict: of the answers that two passes give
//     (one, without a current) the one from which the middle pass is least off (least
//     median of squares: Rousseeuw, J. Am. Stat. Assoc. 79, 1984).
//  3. From there an M-estimate in which a pass that is far off counts nothing (robust.go).
//  4. Errors in the wind, a part of what the passes are off by, make z too small when
//     a current is told apart at the same time; that is put right (thinned).
//  5. Passes of one day share the errors of that day's wind, so days, not passes, are
//     what is counted: everything from 3 on is done again without each day in turn, and
//     the spread of the answers gives the error (the jack-knife over groups: Tukey 1958,
//     in the form of Efron & Tibshirani, An Introduction to the Bootstrap, 1993, section
//     11.5, but about the full answer, which is never smaller). Intervals use Student's t
//     with days-1 degrees of freedom.
//  6. A current is told apart only where winds from sides far enough apart allow it, even
//     without any one of the days; else it is taken to be nothing, and S and A hold for
//     winds like those seen.
//
// By hand: in a wind of 4 m/s toward north a boat makes 0.05 m/s east and 0.2 m/s north;
// in one of 4 m/s toward east 0.25 m/s east. The difference of the winds is (4, -4), that
// of the boat's velocities (0.2, -0.2): S is 0.05 and A is 0°. What is left is the
// current, 0.05 m/s east.
//
// # Accuracy
//
// In made seasons of 8 to 12 days with 3 to 12 passes each, where a pass strays by 5 % and
// 3°, gusts by 2.5 %, and the wind table by 5 % and 5° a reading and on one day of four, or
// on all, by 10° as a whole, intervals called 95 % held the true S in 94 to 98 of 100
// seasons, A in 93 to 98 and the current in 97 to 99; 90 is what is asked
// (TestIntervalsHoldTheTruth).
//
// # Cost
//
// The start: at most 1500 trials times passes. The rest: passes times some twenty rounds,
// times days. A season of 80 passes on 10 days takes some eight milliseconds.
//
// # What it does badly
//
// The same current is taken for all passes, whatever their place and day. One that the
// wind drives turns up in S and A, which does no harm to a forecast. A wind table that is
// always wrong by the same share or angle goes into S and A unseen; forecasts from the
// same source are none the worse for it. Whether the boat was left alone isn't asked: a
// motor used on some passes is found out, one used on most is not. Sails, drift socks and a
// change of load change the boat.
package leeway

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Pass is one drift with the wind of the time.
type Pass struct {
	Day     int    // any number, the same for all passes of a day
	MPS     r2.Vec // velocity over ground, mean of the pass
	WindMPS r2.Vec // the way the wind blows toward, mean over the pass
	Seconds float64
}

// Reason says in plain English why something can't be told; empty when it can.
type Reason string

// Why nothing could be learned.
const (
	TooFewPasses Reason = "there are fewer than six passes with a wind beside them"
	TooCalm      Reason = "on too many of the passes it was calm"
	TooFewDays   Reason = "the passes are of fewer than three days, and days differ more than passes"
	Disagree     Reason = "more than a third of the passes contradict the others"
	NotWithWind  Reason = "the passes do not show that the boat goes with the wind"
	AgainstWind  Reason = "the boat went against the wind, as if its direction had been read the wrong way round"
)

// Why the current is not known.
const (
	OneWind     Reason = "the wind blew from much the same side on all days but one, so a current can't be told from the boat's way in the wind"
	RoughWind   Reason = "the wind's record is too rough for the few directions it blew from to tell a current"
	FewDaysFlow Reason = "a current needs passes on at least four days"
	VagueFlow   Reason = "a current could be half as fast as the drift itself, or nothing"
)

const (
	minPasses = 6 // twelve numbers for four unknowns
	minDays   = 3 // with two, Student's factor is 12.7
	flowDays  = 4 // so that three days are left without any one

	// Force 0 of the Beaufort scale as the WMO defines it is below 0.3 m/s: smoke rises
	// straight up. Such a wind has no direction.
	calmMPS = 0.3

	// Within an arc of 60° the mean wind is 0.95 as long as the winds are, and what
	// tells a current apart is only what is left, √(1-0.95²) = 0.3 of them: the error of S is
	// three times as large as it would be without a current. Narrower is guesswork.
	// It must take that much to hold nine tenths of the passes: the outermost of many are
	// there by the errors of the wind's record.
	flowArcDeg = 60
	flowPart   = 0.9

	// The share of z that may be lost to errors in the wind and put back. It is known
	// to about half of itself, so that 5 % may stay, as much as the interval of a short season.
	maxThin = 0.1

	// A current is worth telling when its interval is narrower than this share of a common drift.
	vagueShare = 0.5

	maxOddShare = 1.0 / 3
)

// A Model is how one boat drifts. Half-widths are of 95 % intervals. The zero Model
// predicts nothing; get one from Learn. It is safe for concurrent use.
type Model struct {
	PerWind     float64 // S, m/s over ground per m/s of wind
	PerWindU95  float64
	AngleDeg    float64 // A, clockwise from downwind, seen from above
	AngleU95Deg float64

	// Current is nothing unless CurrentKnown; then the true one lies within CurrentU95MPS of
	// it, in any direction, and its speed within as much of the length of Current.
	Current       r2.Vec // m/s
	CurrentU95MPS float64
	CurrentKnown  bool
	CurrentWhy    Reason // when it isn't known

	// AlongMPS and AcrossMPS are by how much a single pass strays (one standard deviation)
	// along and across the way the wind takes the boat, at the median wind and length of the
	// passes, odd ones apart.
	AlongMPS, AcrossMPS float64

	Passes, Days int   // with a wind that has a direction
	Odd          []int // of them, those so far off that they count nothing; indices into what was given, rising

	// Of the passes that count:
	WindLeastMPS, WindMostMPS float64
	WindArcDeg                float64 // smallest arc that holds all directions of the wind

	beta  []float64     // a, b and, when the current is known, its east and north part
	cov   *mat.SymDense // of beta
	stray [2]float64    // along and across, in units of season.sdMPS
	pull  complex128    // what a hidden current adds to z, per m/s of it
	from  []float64     // directions of the winds of passes that count, degrees toward
	passS float64       // median length of a pass
}

// Learn returns what passes tell of the boat; they may be in any order and are not changed.
// The Reason is empty, or says why nothing can be learned; the Model is then not usable.
// Calm passes and passes without a length in time are left out.
//
// Method, accuracy and cost are in the package's documentation.
func Learn(passes []Pass) (Model, Reason) {
	s, calm := newSeason(passes)
	switch {
	case len(s.passes) < minPasses && calm > 0 && len(s.passes)+calm >= minPasses:
		return Model{}, TooCalm
	case len(s.passes) < minPasses:
		return Model{}, TooFewPasses
	case s.days < minDays:
		return Model{}, TooFewDays
	}
	s.weighByDrift()
	still, ok := s.solve(false)
	if !ok {
		return Model{}, NotWithWind
	}
	best := still
	flow, ok := s.solve(true)
	why := s.flowUnknown(flow, ok)
	if why == "" {
		best = flow
	}
	return s.model(best, why)
}

// flowUnknown says why the current of an answer can't be believed.
func (s *season) flowUnknown(flow answer, solved bool) Reason {
	if s.days < flowDays {
		return FewDaysFlow
	}
	if !solved {
		return OneWind
	}
	for d := range s.days {
		var toward []float64
		for i, p := range s.passes {
			if s.day[i] != d && flow.weights[i] > 0 {
				toward = append(toward, bearing(p.WindMPS))
			}
		}
		if arcDeg(toward, flowPart) < flowArcDeg {
			return OneWind
		}
	}
	var drifts []float64
	for _, p := range s.passes {
		drifts = append(drifts, cmplx.Abs(flow.z()*toComplex(p.WindMPS)))
	}
	if s.flowU95(flow) > vagueShare*middle(drifts) {
		return VagueFlow
	}
	if flow.thin > maxThin {
		return RoughWind
	}
	return ""
}

// flowU95 returns the radius about the current of an answer that holds the true one in
// 95 %. The square of the distance is near a multiple of Fisher's F whose first degrees of
// freedom lie between 1, when the error lies along a line, and 2, when it is alike all
// round (Satterthwaite, Biometrics 2, 1946).
func (s *season) flowU95(flow answer) float64 {
	xx, yy, xy := flow.cov.At(2, 2), flow.cov.At(3, 3), flow.cov.At(2, 3)
	trace := xx + yy
	if trace == 0 {
		return 0
	}
	d1 := trace * trace / (xx*xx + 2*xy*xy + yy*yy)
	return math.Sqrt(trace * distuv.F{D1: d1, D2: float64(s.days - 1)}.Quantile(0.95))
}

// model turns an answer into what is told of it.
func (s *season) model(best answer, why Reason) (Model, Reason) {
	m := Model{
		CurrentKnown: why == "", CurrentWhy: why,
		Passes: len(s.passes), Days: s.days,
		beta: best.beta, cov: best.cov, stray: best.stray,
	}
	z := best.z()
	m.PerWind = cmplx.Abs(z)
	m.AngleDeg = degrees(-cmplx.Phase(z))
	// The error along z is that of S, the one across it that of A.
	t := student(s.days)
	cos, sin := best.beta[0]/m.PerWind, best.beta[1]/m.PerWind
	aa, bb, ab := best.cov.At(0, 0), best.cov.At(1, 1), best.cov.At(0, 1)
	m.PerWindU95 = t * math.Sqrt(math.Max(0, cos*cos*aa+2*cos*sin*ab+sin*sin*bb))
	m.AngleU95Deg = degrees(t * math.Sqrt(math.Max(0, sin*sin*aa-2*cos*sin*ab+cos*cos*bb)) / m.PerWind)

	var winds, counted, lengths []float64
	var sumW complex128
	sumWW := 0.0
	for i, p := range s.passes {
		w := r2.Norm(p.WindMPS)
		winds, lengths = append(winds, w), append(lengths, p.Seconds)
		if best.weights[i] == 0 {
			m.Odd = append(m.Odd, s.given[i])
			continue
		}
		counted = append(counted, w)
		m.from = append(m.from, bearing(p.WindMPS))
		weight := best.weights[i] * s.share[i] / (s.sdMPS[i] * s.sdMPS[i])
		sumW += complex(weight, 0) * toComplex(p.WindMPS)
		sumWW += weight * w * w
	}
	slices.Sort(m.Odd)
	switch {
	case float64(len(m.Odd)) > maxOddShare*float64(m.Passes):
		return Model{}, Disagree
	case !(m.PerWindU95 < m.PerWind && m.AngleU95Deg < 90):
		return Model{}, NotWithWind
	case math.Abs(m.AngleDeg) > 90:
		return Model{}, AgainstWind
	}
	m.passS = middle(lengths)
	m.pull = cmplx.Conj(sumW) / complex(sumWW, 0)
	m.WindLeastMPS, m.WindMostMPS = slices.Min(counted), slices.Max(counted)
	m.WindArcDeg = arcDeg(m.from, 1)
	common := sdMPS(m.PerWind*middle(winds), m.passS)
	m.AlongMPS, m.AcrossMPS = m.stray[0]*common, m.stray[1]*common
	if m.CurrentKnown {
		m.Current = r2.Vec{X: best.beta[2], Y: best.beta[3]}
		m.CurrentU95MPS = s.flowU95(best)
	}
	return m, ""
}

// arcDeg returns the smallest arc that holds that part of all directions, in degrees, 0
// for none.
func arcDeg(deg []float64, part float64) float64 {
	n := len(deg)
	if n == 0 {
		return 0
	}
	s := slices.Clone(deg)
	slices.Sort(s)
	hold := int(math.Ceil(part * float64(n)))
	least := 360.0
	for i := range s {
		to := s[(i+hold-1)%n]
		if i+hold-1 >= n {
			to += 360
		}
		least = math.Min(least, to-s[i])
	}
	return least
}

// student is the factor from a standard error to a 95 % half-width.
func student(days int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(days - 1)}.Quantile(0.975)
}

func toComplex(v r2.Vec) complex128 { return complex(v.X, v.Y) }

func degrees(rad float64) float64 { return rad * (180 / math.Pi) }

// byDay puts passes in one order, whatever the order they came in.
func byDay(a, b Pass) int {
	return cmp.Or(
		cmp.Compare(a.Day, b.Day), cmp.Compare(a.Seconds, b.Seconds),
		cmp.Compare(a.WindMPS.X, b.WindMPS.X), cmp.Compare(a.WindMPS.Y, b.WindMPS.Y),
		cmp.Compare(a.MPS.X, b.MPS.X), cmp.Compare(a.MPS.Y, b.MPS.Y))
}
