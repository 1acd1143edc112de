package motion

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// # Method
//
// How fast the boat goes, slowly, at a crawl or running, is read with memory: a hidden Markov
// model (Rabiner, Proc. IEEE 77, 1989) over windows of nodeS.
//
//   - What is seen is the logarithm of the speed over the two windows to either side. Each
//     pace has a normal spread of it.
//   - Each day's own middles, spreads and shares are learned: expectation and maximisation
//     (Dempster, Laird & Rubin, J. R. Stat. Soc. B 39, 1977) with priors that count like a few minutes
//     of track, so that a day without a run keeps the usual idea of one (Fraley & Raftery,
//     J. Classif. 24, 2007). All from memory.
//   - Changing pace costs what it is worth in a day on which slow water takes five minutes, a crawl or
//     a run one. The likeliest course of paces is found by dynamic programming (Viterbi).
//
// Speeds over windows that share fixes say the same thing several times, so each counts for a
// fraction of one.
//
// By hand: ten windows at 0.3, one at 3 and ten at 0.3 m/s. The one would be likelier as running by some
// ten nats, a quarter of which doesn't pay for two changes of three nats each: slow all along.
//
// # Cost
//
// A few dozen passes over a day's windows.
//
// # What it does badly
//
// A boat that trolls and idles at nearly one speed is told apart by the priors alone.

// A pace is how fast the boat goes.
type pace uint8

const (
	still   pace = iota // holding a place, or stopped
	adrift              // carried along, or as slow under a motor
	atCrawl             // a bow motor
	atIdle              // the big motor in gear, no more
	atRun               // on plane
	paces
)

const (
	// Speeds below this are a receiver's wobble.
	leastMPS = 0.02
	// Of the five windows that a speed is taken from four are shared with the next.
	shared = 4
	// The priors count like two minutes of track.
	priorNodes = 120.0 / nodeS
	rounds     = 30
)

// A paceModel is the normal spread of the logarithm of speed in each pace.
type paceModel struct {
	middle, sd, share [paces]float64
}

// usual returns what is thought of paces before a track is seen, by where running starts: the wobble of
// a receiver looks like 0.07 m/s, a drift makes 0.3 m/s, a bow motor three quarters of that start,
// the big motor idling one and a half times, and on plane a boat makes five times. With 1.6 m/s (3.6 mph)
// the last three are 1.2, 2.4 and 8 m/s. Common practice, no source.
func usual(runMPS float64) paceModel {
	return paceModel{
		middle: [paces]float64{math.Log(0.07), math.Log(0.3), math.Log(0.75 * runMPS), math.Log(1.5 * runMPS), math.Log(5 * runMPS)},
		sd:     [paces]float64{0.5, 0.35, 0.25, 0.25, 0.5},
		share:  [paces]float64{0.35, 0.35, 0.1, 0.1, 0.1},
	}
}

// logSpeeds returns the logarithm of each node's speed over two nodes to either side, of one
// stretch without gaps.
func logSpeeds(nodes []Node) []float64 {
	out := make([]float64, len(nodes))
	for i := range nodes {
		a, b := nodes[max(0, i-2)], nodes[min(len(nodes)-1, i+2)]
		v := 0.0
		if b.S > a.S {
			v = r2.Norm(r2.Sub(b.At, a.At)) / (b.S - a.S)
		}
		out[i] = math.Log(max(v, leastMPS))
	}
	return out
}

// density returns the logarithm of how likely a speed is in a pace, without its share.
func (m *paceModel) density(x float64, p pace) float64 {
	z := (x - m.middle[p]) / m.sd[p]
	return -z*z/2 - math.Log(m.sd[p])
}

// learnPaces returns the day's own model.
func learnPaces(speeds []float64, runMPS float64) paceModel {
	prior := usual(runMPS)
	m := prior
	for range rounds {
		var n, sum, squares [paces]float64
		for _, x := range speeds {
			var like [paces]float64
			all := 0.0
			for p := range paces {
				like[p] = m.share[p] * math.Exp(m.density(x, p))
				all += like[p]
			}
			if !(all > 0) {
				continue
			}
			for p := range paces {
				w := like[p] / all
				n[p], sum[p], squares[p] = n[p]+w, sum[p]+w*x, squares[p]+w*x*x
			}
		}
		for p := range paces {
			k := n[p] + priorNodes
			m.share[p] = k / (float64(len(speeds)) + float64(paces)*priorNodes)
			middle := (sum[p] + priorNodes*prior.middle[p]) / k
			off := squares[p] - 2*middle*sum[p] + n[p]*middle*middle
			d := middle - prior.middle[p]
			m.sd[p] = math.Sqrt((off + priorNodes*(prior.sd[p]*prior.sd[p]+d*d)) / k)
			m.middle[p] = middle
		}
	}
	return m
}

// follow returns the likeliest course of paces through the windows of one stretch.
func (m *paceModel) follow(speeds []float64) []pace {
	if len(speeds) == 0 {
		return nil
	}
	usualS := [paces]float64{300, 300, 60, 60, 60}
	var stay, leave [paces]float64
	for p := range paces {
		q := nodeS / usualS[p]
		stay[p], leave[p] = math.Log(1-q), math.Log(q/float64(paces-1))
	}
	came := make([][paces]pace, len(speeds))
	var best [paces]float64
	for p := range paces {
		best[p] = math.Log(m.share[p]) + m.density(speeds[0], p)/shared
	}
	for i, x := range speeds[1:] {
		var next [paces]float64
		for p := range paces {
			next[p] = math.Inf(-1)
			for q := range paces {
				v := best[q] + leave[q]
				if q == p {
					v = best[q] + stay[q]
				}
				if v > next[p] {
					next[p], came[i+1][p] = v, q
				}
			}
			next[p] += m.density(x, p) / shared
		}
		best = next
	}
	out := make([]pace, len(speeds))
	last := still
	for p := range paces {
		if best[p] > best[last] {
			last = p
		}
	}
	for i := len(speeds) - 1; i >= 0; i-- {
		out[i] = last
		last = came[i][last]
	}
	return out
}
