package density

import (
	"math"
	"slices"
)

// sameM is what points at one place count as apart, so that what never parts doesn't
// last for ever. Any length far below a receiver's error does.
const sameM = 0.001

// Flat returns the clusters that last longest as reach shrinks, and how long each
// lasts: the excess of mass of Campello, Moulavi & Sander (2013), section 4 and 5. A
// cluster of fewer than least points is none; parts that small fall off their cluster.
// It begins where it parts from a neighbour and lasts until the last of its points has
// fallen off or it parts itself; its stability is the sum over its points of how long
// each stays, in 1/m. What hangs together by more than mostM is no cluster, and one that is
// a part of such begins at mostM; with +Inf all points together are none, as in the paper.
// What is chosen is the set of clusters,
// none within another, with the greatest sum; of equals, the greater cluster.
//
// Labels are 0, 1, … in order of each cluster's lowest point, or Noise; stability is
// by label.
//
// By hand, for 0, 1, 2 and 10, 11, 12 on a line with least 2: both triples begin at
// 1/8 and end at 1/1, so that each lasts 3 × (1 - 1/8) = 2.625.
//
// R's package dbscan (1.1-11) lets a point that has fallen off count on until it is
// alone, which the paper doesn't; its clusters differ a little for that.
func (t Tree) Flat(mostM float64) (labels []int, stability []float64) { return t.flat(mostM, false) }

// flat does so; untilAlone is R's rule, to be held against R.
func (t Tree) flat(mostM float64, untilAlone bool) (labels []int, stability []float64) {
	type cluster struct {
		node, parent int
		lasts        float64
		parts        float64 // the most that those within it last
		chosen       bool
	}
	all := []cluster{{}} // first all points together, or what is above mostM
	whole := func(k int) bool { return t.Nodes[k].DistM > mostM || k == len(t.Nodes)-1 && math.IsInf(mostM, 1) }
	of := make([]int, len(t.Nodes)) // cluster that a node belongs to at its birth
	parts := make([]int, len(t.Nodes))
	for _, n := range t.Nodes {
		if n.Parent >= 0 && n.Size() >= t.least {
			parts[n.Parent]++
		}
	}
	lambda := func(k int) float64 {
		if k < 0 {
			return 1 / mostM
		}
		return 1 / max(min(t.Nodes[k].DistM, mostM), sameM)
	}
	// From the whole down.
	for k := len(t.Nodes) - 1; k >= 0; k-- {
		n := t.Nodes[k]
		switch {
		case n.Size() < t.least && !untilAlone:
			of[k] = -1
			continue
		case whole(k):
			of[k] = 0
			continue
		case n.Parent < 0 || n.Size() >= t.least && (parts[n.Parent] >= 2 || t.Nodes[n.Parent].DistM > mostM):
			up := 0
			if n.Parent >= 0 {
				up = of[n.Parent]
			}
			all = append(all, cluster{node: k, parent: up})
			of[k] = len(all) - 1
		default:
			of[k] = of[n.Parent]
		}
		// All its points stay from where the node it is a part of hangs together.
		all[of[k]].lasts += float64(n.Size()) * (lambda(k) - lambda(n.Parent))
	}
	for i := len(all) - 1; i > 0; i-- {
		c := &all[i]
		c.chosen = c.lasts >= c.parts
		all[c.parent].parts += max(c.lasts, c.parts)
	}
	labels = make([]int, len(t.Order))
	for i := range labels {
		labels[i] = Noise
	}
	var picked []cluster
	for i := 1; i < len(all); i++ {
		c := &all[i]
		if all[c.parent].chosen {
			c.chosen = true // with what it lies in
		} else if c.chosen {
			picked = append(picked, *c)
		}
	}
	lowest := func(c cluster) int { return slices.Min(t.Order[t.Nodes[c.node].From:t.Nodes[c.node].To]) }
	slices.SortFunc(picked, func(a, b cluster) int { return lowest(a) - lowest(b) })
	for label, c := range picked {
		for _, i := range t.Order[t.Nodes[c.node].From:t.Nodes[c.node].To] {
			labels[i] = label
		}
		stability = append(stability, c.lasts)
	}
	return labels, stability
}
