package zone

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/density"
	"leadline/spatial/rate"
)

// # Method
//
// The tree of HDBSCAN* holds a cluster for every reach. Which of them to take, none
// within another, is decided as in the framework of Campello, Moulavi, Zimek & Sander (A
// framework for semi-supervised and unsupervised optimal extraction of clusters from
// hierarchies, Data Min. Knowl. Discov. 27, 2013): those whose gains have the greatest
// sum, found from the parts up in one pass. Not how long a cluster lasts is its gain, as in
// HDBSCAN* itself, for that knows nothing of the time spent, but how much better the
// events are explained when its ground has a rate of its own: with c events where
// E were expected, c ln(c/E) - (c - E), the Poisson log likelihood ratio against E.
//
// A school cut in two gains nothing, for the halves' grounds overlap and each is
// charged for all of the overlap; two schools with poor water between them gain by
// standing apart. Candidates are all level sets of the events' density, as in
// the upper level set scan of Patil & Taillie (Environ. Ecol. Stat. 11, 2004; from memory).
//
// A cluster is a candidate only when its ground is one piece: when no step within it is
// longer than two casts. What hangs together by less are two places.
//
// By hand: schools of 8 and 6 events 100 m apart, each where 2 are expected, and 1 event
// between them where 2 are: 8 ln 4 - 6 + 6 ln 3 - 4 = 7.68 apart, together
// 15 ln(15/6) - 9 = 4.74. Eight events of one school cut into fours over the same
// ground: 2 (4 ln 2 - 2) = 1.55, whole 5.09.
//
// # Cost
//
// One tree up to two casts (package density), and the cells around each point once for each time
// it lies in the smaller part of a cluster: n log n times the cells within a cast.

// mostShare is the greatest share of a season's events that one place may be
// expected to give and still be a place: half, as Kulldorff (1997) bounds a window.
const mostShare = 0.5

// A candidate is a cluster of the tree.
type candidate struct {
	members  []int
	expected float64
	surprise float64
}

// A chooser chooses clusters among places of the same events again and again.
type chooser struct {
	*even
	weight []float64
	total  float64
	least  int
	grower density.Grower
	stamp  []int32 // last sum that a cell was counted for
	asked  int32
	sum    float64
	around []int // cells within a cast of a cell, counted from it
	edge   int   // cells that many from the edge have them all

	// Memory of a choice, for the next one. By node of the tree, but path.
	expected, surprise, gain, within []float64
	take                             []bool
	greatest, path                   []int
}

func newChooser(m *even, weight []float64, least int) *chooser {
	c := &chooser{even: m, weight: weight, least: least, stamp: make([]int32, len(m.share))}
	for _, w := range weight {
		c.total += w
	}
	for _, d := range m.disc {
		c.around = append(c.around, d.y*m.w+d.x)
		c.edge = max(c.edge, d.x, d.y)
	}
	return c
}

// add adds what even fishing puts within reach of a place, each cell once.
func (c *chooser) add(at r2.Vec) {
	cx, cy := c.cell(at)
	if cx >= c.edge && cy >= c.edge && cx < c.w-c.edge && cy < c.h-c.edge {
		middle := cy*c.w + cx
		for _, off := range c.around {
			if i := middle + off; c.stamp[i] != c.asked {
				c.stamp[i] = c.asked
				c.sum += c.share[i]
			}
		}
		return
	}
	for _, d := range c.disc {
		x, y := cx+d.x, cy+d.y
		if x < 0 || y < 0 || x >= c.w || y >= c.h {
			continue
		}
		if i := y*c.w + x; c.stamp[i] != c.asked {
			c.stamp[i] = c.asked
			c.sum += c.share[i]
		}
	}
}

// choose returns the clusters of the events at these places. Members are valid until
// the next call.
func (c *chooser) choose(at []r2.Vec) (chosen []candidate) {
	tree := c.grower.TreeWithin(at, c.least, 2*c.castM)
	n := len(tree.Nodes)
	c.expected, c.surprise, c.gain, c.within = cleared(c.expected, n), cleared(c.surprise, n), cleared(c.gain, n), cleared(c.within, n)
	c.take = cleared(c.take, n)
	expected, surprise, gain, take := c.expected, c.surprise, c.gain, c.take
	weigh := func(k int, weight float64) {
		expected[k] = math.Max(c.sum, c.even.least)
		v := tree.Nodes[k]
		if weight > expected[k] && v.Size() >= c.least && expected[k] <= mostShare*c.total {
			surprise[k] = rate.LogLikelihoodRatio(weight, expected[k], c.total)
			gain[k] = gainOf(weight, expected[k])
		}
	}
	c.sums(tree, at, weigh)
	within := c.within // the greatest sum of those within
	for k, v := range tree.Nodes {
		take[k] = gain[k] > 0 && gain[k] >= within[k]
		if v.Parent >= 0 {
			within[v.Parent] += max(gain[k], within[k])
		}
	}
	for k := n - 1; k >= 0; k-- {
		v := tree.Nodes[k]
		if v.Parent >= 0 && take[v.Parent] {
			take[k] = true // with what it lies in
		} else if take[k] {
			chosen = c.cut(chosen, at, candidate{tree.Order[v.From:v.To], expected[k], surprise[k]}, gain[k])
		}
	}
	c.besideOthers(chosen)
	return chosen
}

// cleared returns a slice of noughts of that length in the memory of another.
func cleared[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	s = s[:n]
	clear(s)
	return s
}

// gainOf returns how much better so many events where others were expected are explained
// by a rate of their own; 0 when there are no more than expected.
func gainOf(weight, expected float64) float64 {
	if weight <= expected {
		return 0
	}
	return weight*math.Log(weight/expected) - (weight - expected)
}

// cut appends a chosen cluster, or the two parts of it, where two are worth more than
// one: a chain of events between two schools can join them before the poorer one hangs
// together. The cut is straight across the longest direction of the cluster.
func (c *chooser) cut(chosen []candidate, at []r2.Vec, whole candidate, gain float64) []candidate {
	n := len(whole.members)
	if n < 2*c.least {
		return append(chosen, whole)
	}
	members := slices.Clone(whole.members)
	along := axis(at, members)
	slices.SortFunc(members, func(i, j int) int {
		return cmp.Or(cmp.Compare(r2.Dot(at[i], along), r2.Dot(at[j], along)), cmp.Compare(i, j))
	})
	// What the first k and the last n-k are worth.
	type worth struct{ expected, weight float64 }
	first, last := make([]worth, n+1), make([]worth, n+1)
	c.asked, c.sum = c.asked+1, 0
	for k, i := range members {
		c.add(at[i])
		first[k+1] = worth{math.Max(c.sum, c.even.least), first[k].weight + c.weight[i]}
	}
	c.asked, c.sum = c.asked+1, 0
	for k := n - 1; k >= 0; k-- {
		c.add(at[members[k]])
		last[k] = worth{math.Max(c.sum, c.even.least), last[k+1].weight + c.weight[members[k]]}
	}
	best, most := 0, gain
	for k := c.least; k <= n-c.least; k++ {
		a, b := gainOf(first[k].weight, first[k].expected), gainOf(last[k].weight, last[k].expected)
		if a > 0 && b > 0 && a+b > most {
			best, most = k, a+b
		}
	}
	if best == 0 {
		return append(chosen, whole)
	}
	part := func(members []int, w worth) {
		chosen = c.cut(chosen, at, candidate{members, w.expected, rate.LogLikelihoodRatio(w.weight, w.expected, c.total)}, gainOf(w.weight, w.expected))
	}
	part(members[:best], first[best])
	part(members[best:], last[best])
	return chosen
}

// axis returns the direction in which places are spread the most.
func axis(at []r2.Vec, members []int) r2.Vec {
	var middle r2.Vec
	for _, i := range members {
		middle = r2.Add(middle, r2.Scale(1/float64(len(members)), at[i]))
	}
	var xx, xy, yy float64
	for _, i := range members {
		d := r2.Sub(at[i], middle)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	return r2.Vec{X: cos, Y: sin}
}

// worth reports whether a cluster found when richer ones were taken out is worth telling beside the whole season: a
// proven one unless its events are surely fewer than what even fishing puts on its ground (the 95 % quantile of
// their rate, with what is expected for hours, is below one), one that isn't only where they are more.
func (c *chooser) worth(events []Event, f Found) bool {
	c.asked, c.sum = c.asked+1, 0
	var weights []float64
	sum := 0.0
	for _, i := range f.Members {
		c.add(events[i].At)
		weights = append(weights, c.weight[i])
		sum += c.weight[i]
	}
	expected := math.Max(c.sum, c.even.least)
	if f.Proven() {
		return rate.Weighed(weights, expected).HighPerH >= 1
	}
	return sum > expected
}

// sums calls weigh for every cluster with its weight, c.sum then being what is expected
// on its ground. Clusters are taken along paths, each the greatest part of the next, so
// that on a path the ground of a point is added once.
func (c *chooser) sums(tree density.Tree, at []r2.Vec, weigh func(node int, weight float64)) {
	c.greatest = cleared(c.greatest, len(tree.Nodes))
	greatest := c.greatest // part of each node; -1 when it has only points
	for k := range greatest {
		greatest[k] = -1
	}
	for k, v := range tree.Nodes {
		if p := v.Parent; p >= 0 && (greatest[p] < 0 || v.Size() > tree.Nodes[greatest[p]].Size()) {
			greatest[p] = k
		}
	}
	path := c.path[:0]
	defer func() { c.path = path }()
	for head, top := range tree.Nodes {
		if top.Parent >= 0 && greatest[top.Parent] == head {
			continue
		}
		path = path[:0]
		for k := head; k >= 0; k = greatest[k] {
			path = append(path, k)
		}
		c.asked, c.sum = c.asked+1, 0
		weight := 0.0
		from := tree.Nodes[path[len(path)-1]].From
		to := from
		take := func(i int) {
			c.add(at[i])
			weight += c.weight[i]
		}
		for i := len(path) - 1; i >= 0; i-- {
			v := tree.Nodes[path[i]]
			for ; from > v.From; from-- {
				take(tree.Order[from-1])
			}
			for ; to < v.To; to++ {
				take(tree.Order[to])
			}
			weigh(path[i], weight)
		}
	}
}

// besideOthers gives each cluster the surprise it has in a season without all others: what
// they gave and what was expected of them is left out, and what is left of the season's
// events spread over what is left of its fishing.
//
// By hand: of 40 events three clusters gave 10 each, where 4 each were expected. Beside all
// of the season that is 10 ln(10/4) + 30 ln(30/36) = 3.69. Without the two others 20
// events are left, and 4 · 20/32 = 2.5 expected: 10 ln(10/2.5) + 10 ln(10/17.5) = 8.27.
func (c *chooser) besideOthers(chosen []candidate) {
	if len(chosen) < 2 {
		return
	}
	var gave, expected float64
	weights := make([]float64, len(chosen))
	for k, v := range chosen {
		for _, i := range v.members {
			weights[k] += c.weight[i]
		}
		gave += weights[k]
		expected += v.expected
	}
	for k := range chosen {
		v := &chosen[k]
		rest := c.total - (gave - weights[k])
		share := c.total - (expected - v.expected)
		if share <= c.total/10 { // too little is left to hold it against
			continue
		}
		e := v.expected * rest / share
		if e < weights[k] && e < rest {
			v.surprise = rate.LogLikelihoodRatio(weights[k], e, rest)
		} else {
			v.surprise = 0
		}
	}
}
