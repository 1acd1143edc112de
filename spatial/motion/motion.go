package motion

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/stat"

	"leadline/ingest/plane"
)

// State is what the boat was doing.
type State uint8

// The states.
const (
	Running  State = iota // getting somewhere
	Crawling              // moved by the motor, slowly enough to fish
	Drifting              // carried along on a steady course
	Holding               // staying about one place
	Stopped               // moved no more than the receiver wobbles
)

var states = [...]string{"running", "crawling", "drifting", "holding", "stopped"}

// String returns the state in one word.
func (s State) String() string { return states[s] }

// A Step is one sound fix: seconds since any fixed moment, and metres in a plane.
type Step struct {
	S  float64
	At r2.Vec
}

// A Node is the mean of the steps within one window of time.
type Node struct {
	Step
	ForS  float64 // seconds of the track it stands for
	State State
}

// A Leg is a stretch in one state; slow ones keep a steady velocity.
type Leg struct {
	State     State
	From, To  int     // Nodes[From:To]
	SpeedMPS  float64 // of the steady velocity; of the straight way when running
	TowardDeg float64
}

// A Track is what one day's steps amount to.
type Track struct {
	Nodes    []Node
	Legs     []Leg
	UnknownS float64 // seconds in gaps
}

// Limits is what the states are told apart by.
type Limits struct {
	RunMPS    float64 // faster is running
	DriftMinS float64 // a drift lasts at least this
	DriftMinM float64 // and covers at least this
	MaxGapS   float64 // a longer gap is time unknown
}

const (
	nodeS = 5 // long enough to average five fixes at 1 Hz, short against any pass

	// Slower than holdMPS the way made is no more than a receiver's wobble fakes in
	// a minute (1.5 m each way is 0.05 m/s) with a margin. Common practice, no source.
	holdMPS = 0.08

	// stillM and stillS: a boat that keeps within it (root mean square) for so long is stopped. A receiver's
	// own wobble is 1.5 m each way, or 2.1 m; a boat held by hand swings by several.
	stillM = 2.5
	stillS = 60

	// A leg more must take off this much of the squared misfit (m², per node of
	// nodeS). Wobble of 1.5 m each way that lasts a minute leaves 2·1.5² m² a node:
	// 270 m² over a pass of five minutes, which must not be worth a cut.
	penaltyM2 = 400

	turnDeg = 30 // drift legs that turn less are one drift
	minNode = 4  // nodes in a leg, or no velocity can be told
)

// Read tells what the boat was doing along steps, which must be in rising order of
// time. Cost and limits are described above.
func Read(steps []Step, lim Limits) Track {
	var t Track
	var starts []int // first node of each stretch without gaps
	var speeds []float64
	for from := 0; from < len(steps); {
		to := from + 1
		for to < len(steps) && steps[to].S-steps[to-1].S <= lim.MaxGapS {
			to++
		}
		if to < len(steps) {
			t.UnknownS += steps[to].S - steps[to-1].S
		}
		starts = append(starts, len(t.Nodes))
		t.Nodes = appendNodes(t.Nodes, steps[from:to])
		speeds = append(speeds, logSpeeds(t.Nodes[starts[len(starts)-1]:])...)
		from = to
	}
	paces := learnPaces(speeds, lim.RunMPS)
	for k, first := range starts {
		past := len(t.Nodes)
		if k+1 < len(starts) {
			past = starts[k+1]
		}
		t.stretch(first, paces.follow(speeds[first:past]), lim)
	}
	return t
}

// stretch makes legs of one stretch without gaps.
func (t *Track) stretch(first int, course []pace, lim Limits) {
	ran := func(k int) bool { return course[k] == atIdle || course[k] == atRun }
	for from := 0; from < len(course); {
		to := from + 1
		for to < len(course) && ran(to) == ran(from) {
			to++
		}
		if ran(from) {
			t.Legs = append(t.Legs, t.leg(Running, first+from, first+to))
		} else {
			t.slow(first+from, course[from:to], lim)
		}
		from = to
	}
	for _, l := range t.Legs {
		for k := max(l.From, first); k < l.To; k++ {
			t.Nodes[k].State = l.State
		}
	}
}

// appendNodes averages steps over windows of nodeS, at least one step in each.
func appendNodes(nodes []Node, steps []Step) []Node {
	for from := 0; from < len(steps); {
		to := from + 1
		for to < len(steps) && steps[to].S-steps[from].S < nodeS-1e-6 {
			to++
		}
		n := Node{}
		for _, s := range steps[from:to] {
			n.S += s.S
			n.At = r2.Add(n.At, s.At)
		}
		n.S /= float64(to - from)
		n.At = r2.Scale(1/float64(to-from), n.At)
		if to < len(steps) {
			n.ForS = steps[to].S - steps[from].S
		} else {
			n.ForS = steps[to-1].S - steps[from].S
		}
		nodes = append(nodes, n)
		from = to
	}
	return nodes
}

// slow cuts nodes from the given one on, as many as there are paces, into legs and says what each is.
func (t *Track) slow(from int, course []pace, lim Limits) {
	cuts := partition(t.Nodes[from : from+len(course)])
	var legs []Leg
	for i := 1; i < len(cuts); i++ {
		l := t.leg(Holding, from+cuts[i-1], from+cuts[i])
		crawled := 0
		for _, p := range course[cuts[i-1]:cuts[i]] {
			if p == atCrawl {
				crawled++
			}
		}
		switch {
		case 2*crawled > l.To-l.From:
			l.State = Crawling
		case l.SpeedMPS > holdMPS:
			l.State = Drifting
		}
		if n := len(legs); n > 0 && l.State == Drifting && legs[n-1].State == Drifting &&
			math.Abs(plane.TurnDeg(legs[n-1].TowardDeg, l.TowardDeg)) < turnDeg {
			legs[n-1] = t.leg(Drifting, legs[n-1].From, l.To)
			continue
		}
		legs = append(legs, l)
	}
	first := len(t.Legs)
	for _, l := range legs {
		if s := t.seconds(l); l.State == Drifting && (s < lim.DriftMinS || l.SpeedMPS*s < lim.DriftMinM) {
			l.State = Holding
		}
		if n := len(t.Legs); n > first && l.State == Holding && t.Legs[n-1].State == Holding {
			t.Legs[n-1] = t.leg(Holding, t.Legs[n-1].From, l.To)
			continue
		}
		t.Legs = append(t.Legs, l)
	}
	for k := first; k < len(t.Legs); k++ {
		if l := &t.Legs[k]; l.State == Holding && t.seconds(*l) >= stillS && t.spreadM(*l) <= stillM {
			l.State = Stopped
		}
	}
}

// spreadM returns how far a leg's nodes lie from their middle, as root mean square.
func (t *Track) spreadM(l Leg) float64 {
	n := float64(l.To - l.From)
	var middle r2.Vec
	for _, k := range t.Nodes[l.From:l.To] {
		middle = r2.Add(middle, r2.Scale(1/n, k.At))
	}
	sum := 0.0
	for _, k := range t.Nodes[l.From:l.To] {
		sum += r2.Norm2(r2.Sub(k.At, middle)) / n
	}
	return math.Sqrt(sum)
}

// leg returns the leg over nodes [from, to) with its velocity by least squares.
func (t *Track) leg(state State, from, to int) Leg {
	l := Leg{State: state, From: from, To: to}
	if to-from < 2 {
		return l
	}
	s, x, y := make([]float64, to-from), make([]float64, to-from), make([]float64, to-from)
	for i, n := range t.Nodes[from:to] {
		s[i], x[i], y[i] = n.S-t.Nodes[from].S, n.At.X, n.At.Y
	}
	_, vx := stat.LinearRegression(s, x, nil, false)
	_, vy := stat.LinearRegression(s, y, nil, false)
	l.SpeedMPS, l.TowardDeg = math.Hypot(vx, vy), plane.BearingDeg(r2.Vec{X: vx, Y: vy})
	return l
}

// seconds returns how long a leg took.
func (t *Track) seconds(l Leg) float64 {
	sum := 0.0
	for _, n := range t.Nodes[l.From:l.To] {
		sum += n.ForS
	}
	return sum
}

// LegAt returns the index of the leg that the boat was on at a time, in the same
// seconds as the steps; ok is false in gaps and outside the track.
func (t *Track) LegAt(s float64) (leg int, ok bool) {
	for i, l := range t.Legs {
		a, b := t.Nodes[l.From], t.Nodes[l.To-1]
		if s >= a.S-nodeS && s <= b.S+nodeS {
			return i, true
		}
	}
	return 0, false
}
