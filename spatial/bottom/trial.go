package bottom

import (
	"cmp"
	"context"
	"math"
	"slices"

	"leadline/spatial/surface"
)

// Which way of drawing the bottom between soundings is best depends on the lake
// and on how it was sounded, so it is tried on the season's own soundings.
//
// Steps:
//  1. For nodes drawn evenly over the season, the whole pass is left out, with the
//     passes it goes on from or into, and the distance to the nearest point left is found. These
//     distances are sorted into rungs of a cell, and of each rung as many nodes are
//     drawn: most passes follow another, and would drown those that don't.
//  2. Every method estimates the depth at each place from what is left. A method's
//     score is the mean size of its errors over rungs, each rung weighted with
//     its share of the grid's cells: a map has more water between tracks than
//     under them, a trial on nodes has it the other way round. The mean size, since a root
//     mean square hangs on the few places where a wall falls away unsounded, and there every
//     method is wrong alike.
//  3. The best score wins, of stiffnesses as of methods. Of methods within 5 % of it
//     the first of the list does, which is the plainest and gives the smoothest lines.
//
// By hand: two rungs with mean errors of 0.1 and 0.3 m, the one with three quarters
// of the map, score 0.75·0.1 + 0.25·0.3 = 0.15 m.
//
// Leaving out passes rather than single readings is what keeps the trial honest:
// a reading's neighbours on its own track are a foot away and err as it does.
//
// Cost: nodes tried times the cells within reach.

// A Trial is how one method did on passes left out.
type Trial struct {
	Method string
	MeanM  float64 // mean size of the errors, weighted by rung, see above
	RMSEM  float64 // root mean square of the errors, weighted the same
	BiasM  float64 // mean error, found less sounded, weighted the same
	P95M   float64 // 95 % of the errors are no greater, weighted the same
	Share  float64 // of the map that lies on rungs with enough errors to be counted
	N      int     // nodes it was tried on
	Chosen bool

	// Within a cell of a sounding that was left in: the root mean square, and the nodes
	// it is of.
	NearRMSEM float64
	NearN     int
}

// A rung is tried at mostTried nodes, of mostLooked at that are looked at. Nodes of
// one pass err together, so that it is the number of passes that the score's own
// error hangs on, and more nodes add little.
const (
	mostTried  = 800
	mostLooked = 60000
)

// leastTried is how many errors a rung needs before it is counted, or calibrated by itself.
const leastTried = 30

// sameScore is how much better than a plainer method another must be. A mean size
// over n passes is itself uncertain by 0.76/sqrt(n), were the errors normal: 5 % for two hundred.
const sameScore = 1.05

// A rung is the errors at one distance from the nearest point.
type rung struct {
	off   []float64 // found less sounded
	ratio []float64 // of the error's size to the standard deviation the method stated
}

// trial compares methods, those of one name side by side, on the nodes drawn. share is each rung's share of the grid's cells. It
// returns the trials, the rungs of the one chosen and its index; no index (-1) when
// too few nodes can be tried.
func (t *Thinned) trial(ctx context.Context, f *field, methods []method, drawn [][]int, share []float64) (trials []Trial, chosen int, rungs []rung, err error) {
	found := make([][]rung, len(methods))
	for k := range found {
		found[k] = make([]rung, len(share))
	}
	for r, nodes := range drawn {
		errs, err := t.leaveOut(ctx, f, methods, nodes)
		if err != nil {
			return nil, -1, nil, err
		}
		for i, e := range errs {
			if e.ok {
				to := &found[i%len(methods)][r]
				to.off, to.ratio = append(to.off, e.off), append(to.ratio, e.ratio)
			}
		}
	}
	// Of settings of one method the best stands for it.
	var best []int
	scores := make([]Trial, len(methods))
	for k, m := range methods {
		scores[k] = score(found[k], share)
		scores[k].Method = m.Name()
		if n := len(best); n > 0 && scores[best[n-1]].Method == m.Name() {
			if scores[k].MeanM < scores[best[n-1]].MeanM {
				best[n-1] = k
			}
			continue
		}
		best = append(best, k)
	}
	chosen = -1
	for _, k := range best {
		if scores[k].N >= leastTried && (chosen < 0 || scores[k].MeanM < scores[chosen].MeanM) {
			chosen = k
		}
	}
	if chosen >= 0 {
		most := sameScore * scores[chosen].MeanM
		chosen = best[slices.IndexFunc(best, func(k int) bool { return scores[k].N >= leastTried && scores[k].MeanM <= most })]
		scores[chosen].Chosen, rungs = true, found[chosen]
	}
	for _, k := range best {
		trials = append(trials, scores[k])
	}
	return trials, chosen, rungs, nil
}

// draw returns by rung the nodes to try, evenly drawn.
func (t *Thinned) draw(ctx context.Context, f *field, rungs int) ([][]int, error) {
	stride := max(1, len(t.nodes)/mostLooked)
	at := func(k int) int { return stride/2 + k*stride }
	looked := (len(t.nodes) - stride/2 + stride - 1) / stride
	rungOf := make([]int32, looked) // -1: out of reach
	err := shareOut(ctx, looked, 256, func(next func() (from, to int)) {
		g := t.gatherer(f)
		for from, to := next(); from < to; from, to = next() {
			for k := from; k < to; k++ {
				rungOf[k] = -1
				n := &t.nodes[at(k)]
				if n.empty() {
					continue
				}
				g.without = n.pass
				if m, ok := g.nearest(n.at); ok {
					rungOf[k] = int32(t.rung(m, rungs))
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	drawn := make([][]int, rungs)
	for k, r := range rungOf {
		if r >= 0 {
			drawn[r] = append(drawn[r], at(k))
		}
	}
	for r, nodes := range drawn {
		if len(nodes) <= mostTried {
			continue
		}
		for k := range mostTried {
			nodes[k] = nodes[k*len(nodes)/mostTried]
		}
		drawn[r] = nodes[:mostTried]
	}
	return drawn, nil
}

// A miss is by how much a method was off at one node.
type miss struct {
	off, ratio float64 // as in a rung
	ok         bool
}

// leaveOut returns the misses of all methods at each of the nodes, their passes left out, node by node.
func (t *Thinned) leaveOut(ctx context.Context, f *field, methods []method, nodes []int) ([]miss, error) {
	out := make([]miss, len(nodes)*len(methods))
	return out, shareOut(ctx, len(nodes), 16, func(next func() (from, to int)) {
		g := t.gatherer(f)
		var scratch surface.Scratch
		for from, to := next(); from < to; from, to = next() {
			for k := from; k < to; k++ {
				n := t.nodes[nodes[k]]
				g.without = n.pass
				near, _, ok := g.around(n.at)
				if !ok {
					continue
				}
				for j, m := range methods {
					points := near
					if m.perSector > 0 {
						points = g.spread(m.perSector) // reorders near: such methods come last
					}
					if e, ok := m.Estimate(n.at, points, &scratch); ok {
						off := e.Value - n.depthM
						out[k*len(methods)+j] = miss{off, math.Abs(off) / math.Sqrt(e.Var+t.passVarM2), true}
					}
				}
			}
		}
	})
}

// rung returns the rung of n that a distance falls on.
func (t *Thinned) rung(m float64, n int) int { return min(n-1, int(m/t.frame.CellM)) }

// score sums up one method's rungs.
func score(rungs []rung, share []float64) Trial {
	var x Trial
	type weighed struct{ off, weight float64 }
	var all []weighed
	var size, square, bias float64
	for r, e := range rungs {
		n := float64(len(e.off))
		if r == 0 && len(e.off) > 0 {
			sum := 0.0
			for _, v := range e.off {
				sum += v * v
			}
			x.NearRMSEM, x.NearN = math.Sqrt(sum/n), len(e.off)
		}
		x.N += len(e.off)
		if len(e.off) < leastTried || share[r] == 0 {
			continue
		}
		w := share[r] / n
		for _, v := range e.off {
			bias, size, square = bias+w*v, size+w*math.Abs(v), square+w*v*v
			all = append(all, weighed{math.Abs(v), w})
		}
		x.Share += share[r]
	}
	if x.Share == 0 {
		return Trial{}
	}
	x.MeanM, x.RMSEM, x.BiasM = size/x.Share, math.Sqrt(square/x.Share), bias/x.Share
	slices.SortFunc(all, func(a, b weighed) int { return cmp.Compare(a.off, b.off) })
	sum := 0.0
	for _, e := range all {
		if sum += e.weight; sum >= 0.95*x.Share {
			x.P95M = e.off
			break
		}
	}
	return x
}

// calibrate returns by rung the factor that turns a method's stated standard
// deviation into what 95 % of the soundings left out lay within. A rung with too
// few of them takes that of all rungs together, but no less than 2: what holds far
// from soundings may not be lent to the water beside them. No rung is given a
// smaller factor than a nearer one: a few lucky passes far out would make it so.
// tested is the share of the map on rungs with a factor of their own.
func calibrate(rungs []rung, share []float64) (factor []float64, tested float64) {
	const normal95 = 2 // 1.96, rounded up
	var all []float64
	for _, r := range rungs {
		all = append(all, r.ratio...)
	}
	slices.Sort(all)
	pooled := float64(normal95)
	if len(all) >= leastTried {
		pooled = math.Max(pooled, quantile(0.95, all))
	}
	out := make([]float64, len(share))
	for i := range out {
		out[i] = pooled
		if i < len(rungs) && len(rungs[i].ratio) >= 2*leastTried {
			v := slices.Clone(rungs[i].ratio)
			slices.Sort(v)
			out[i] = quantile(0.95, v)
			tested += share[i]
		}
		if i > 0 {
			out[i] = math.Max(out[i], out[i-1])
		}
	}
	return out, tested
}
