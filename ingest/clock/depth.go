package clock

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

const (
	depthStepS = 5
	// A log's depth is interpolated across this, and across gapIntervals of its
	// own intervals: longer, and the bottom between is anybody's guess.
	leastDepthGapS = 15
	// One place has one depth: within a hull's length or two.
	samePlaceM = 8
	// A boat that moves this far is at another place.
	visitEveryM = 5
	// Visits nearer in time than this are one, at which depths are alike at any
	// offset.
	visitsApartS = 300
	// Over a day the water level stays.
	sameLevelS = 24 * 3600
	// A spot visited so often is an anchorage: later visits are compared with these
	// alone, so that a receiver's jitter doesn't make millions of crossings.
	mostVisits = 200
	// Fewer crossings than this tell nothing; so many serve for the first look
	// and for the close one.
	leastCrossings  = 60
	coarseCrossings = 1200
	fineCrossings   = 6000
	// An offset must leave depths to this share of the crossings that the best
	// covering offset does. A lower share lets a few crossings at one spot win.
	leastCrossingShare = 0.5
	// A bottom that differs by less than this from place to place, on average, is
	// level: what is left is the sounder's noise of about a tenth of a metre.
	leastSpreadM = 0.3
	// Differences count up to the middle half of the log's depths, and at least so
	// much: one echo off a tree counts no more than any other wrong depth.
	leastClipM = 0.5
	quarters   = 4
	jackBlocks = 8
	jackReachS = 10
	// A row this far from its neighbours, in metres and as a share of the depth, is
	// no bottom.
	strayM     = 0.5
	strayShare = 0.15
)

// A crossing is two seconds, by the track, at which the boat was at one place.
type crossing struct{ a, b int }

// byDepth asks at which offset the same place has the same depth whenever the
// boat comes by. From where down the depths count doesn't matter.
func (m *match) byDepth() (method, string) {
	log := m.samples(func(x *ingest.Sounding) (float64, bool) {
		return x.DepthM, x.DepthM > 0 && x.Flags == 0
	})
	if why := tooFew(log, byDepth); why != "" {
		return method{}, why
	}
	log = smoothed(log)
	c := newCompared(log)
	crossings := m.way.crossings()
	few, many := thinned(crossings, coarseCrossings), thinned(crossings, fineCrossings)
	most := 0
	for offsetS := -WindowS; offsetS <= WindowS; offsetS += visitsApartS {
		most = max(most, len(c.known(few, offsetS)))
	}
	share := leastCrossingShare * float64(most) / math.Max(1, float64(len(few)))
	if float64(most)*float64(len(crossings)) < leastCrossings*float64(len(few)) || len(crossings) == 0 {
		return method{}, "the boat hardly ever came back to a place"
	}
	k := method{by: byDepth, most: mostDepthMisfit, misfit: func(offsetS float64) float64 {
		d := c.known(many, int(offsetS))
		if float64(len(d)) < share*float64(len(many)) {
			return math.NaN()
		}
		return c.misfit(d)
	}}
	k.spreadS = func(offsetS float64) float64 { return c.jackknife(many, int(offsetS)) }
	k.quarters = make([]scan, quarters)
	k.scan = every(depthStepS, func(offsetS float64) float64 {
		d := c.known(few, int(offsetS))
		enough := float64(len(d)) >= share*float64(len(few))
		for q := range k.quarters {
			misfit := math.NaN()
			if from, to := q*len(few)/quarters, (q+1)*len(few)/quarters; enough {
				part := within(d, from, to)
				if float64(len(part)) >= share*float64(to-from) {
					misfit = c.misfit(part)
				}
			}
			k.quarters[q].misfit = append(k.quarters[q].misfit, misfit)
		}
		if !enough {
			return math.NaN()
		}
		return c.misfit(d)
	})
	for q := range k.quarters {
		k.quarters[q].fromS, k.quarters[q].stepS = k.scan.fromS, k.scan.stepS
	}
	return k, ""
}

// compared is the log's depth each second, ready to be asked at crossings.
type compared struct {
	depth  line
	clipM  float64
	buffer []pair
}

// A pair is the two depths of the crossing of that index.
type pair struct {
	index int
	a, b  float64
}

func newCompared(log []sample) *compared {
	all := make([]float64, len(log))
	for i, x := range log {
		all[i] = x.v
	}
	slices.Sort(all)
	return &compared{
		depth:  everySecond(log, math.Max(leastDepthGapS, gapIntervals*everyS(log))),
		clipM:  math.Max(leastClipM, all[len(all)*3/4]-all[len(all)/4]),
		buffer: make([]pair, 0, fineCrossings),
	}
}

// known returns the depths of the crossings, in order of the later time, of which the log
// tells both at that offset. They are overwritten by the next call.
func (c *compared) known(crossings []crossing, offsetS int) []pair {
	out := c.buffer[:0]
	v, shift := c.depth.v, offsetS+c.depth.fromS
	// Most offsets leave few crossings within the log: those later than it are passed over, and those before it.
	later := func(x crossing, s int) int { return x.b - s }
	from, _ := slices.BinarySearchFunc(crossings, shift, later)
	to, _ := slices.BinarySearchFunc(crossings, shift+len(v), later)
	for i := from; i < to; i++ {
		ka, kb := crossings[i].a-shift, crossings[i].b-shift
		if ka < 0 { // a comes before b
			continue
		}
		if a, b := v[ka], v[kb]; a == a && b == b {
			out = append(out, pair{i, a, b})
		}
	}
	return out
}

// within returns the pairs whose index is from to before to.
func within(d []pair, from, to int) []pair {
	byIndex := func(p pair, i int) int { return p.index - i }
	i, _ := slices.BinarySearchFunc(d, from, byIndex)
	j, _ := slices.BinarySearchFunc(d, to, byIndex)
	return d[i:j]
}

// misfit is the mean difference between the two depths of a pair over that between
// depths of pairs half the list apart; NaN over a level bottom.
func (c *compared) misfit(d []pair) float64 {
	same, other := 0.0, 0.0
	j := len(d) / 2
	for _, p := range d {
		// Depths are known here: nothing of what math.Min does besides is needed, and it would take most of the time.
		x, y := math.Abs(p.a-p.b), math.Abs(p.a-d[j].b)
		if x > c.clipM {
			x = c.clipM
		}
		if y > c.clipM {
			y = c.clipM
		}
		same += x
		other += y
		if j++; j == len(d) {
			j = 0
		}
	}
	if len(d) == 0 || other < leastSpreadM*float64(len(d)) {
		return math.NaN()
	}
	return same / other
}

// jackknife returns the standard error of an offset in seconds: the crossings are
// parted by time into blocks, the best offset near the given one is found without
// each block in turn, and the spread of these n answers is told as that of one by
// the factor (n-1)/n (Tukey 1958; blocks, since neighbouring crossings err alike).
func (c *compared) jackknife(crossings []crossing, offsetS int) float64 {
	var at [jackBlocks]float64
	rest := make([]crossing, 0, len(crossings))
	for b := range at {
		from, to := b*len(crossings)/jackBlocks, (b+1)*len(crossings)/jackBlocks
		rest = append(append(rest[:0], crossings[:from]...), crossings[to:]...)
		least := math.Inf(1)
		for s := offsetS - jackReachS; s <= offsetS+jackReachS; s++ {
			if m := c.misfit(c.known(rest, s)); m < least {
				least, at[b] = m, float64(s)
			}
		}
	}
	mean := floats.Sum(at[:]) / jackBlocks
	sum := 0.0
	for _, s := range at {
		sum += (s - mean) * (s - mean)
	}
	return math.Sqrt(sum * (jackBlocks - 1) / jackBlocks)
}

// smoothed replaces rows far from the median of the five around them by it: single
// echoes off a fish or off the surface.
func smoothed(s []sample) []sample {
	out := slices.Clone(s)
	for i := 2; i+2 < len(s); i++ {
		w := [5]float64{s[i-2].v, s[i-1].v, s[i].v, s[i+1].v, s[i+2].v}
		slices.Sort(w[:])
		if math.Abs(s[i].v-w[2]) > math.Max(strayM, strayShare*w[2]) {
			out[i].v = w[2]
		}
	}
	return out
}

// crossings lists the times at which the boat came by a place again, in order of
// the later one, each with its nearest point on every earlier visit.
func (w way) crossings() []crossing {
	type visit struct {
		s  int
		at r2.Vec
	}
	type cell struct{ x, y int }
	seen := map[cell][]visit{} // looked up by key only, never walked
	var out []crossing
	var near []sample // seconds of earlier points, and how far away they are
	last := r2.Vec{X: math.Inf(1)}
	for i, x := range w.x.v {
		if x != x {
			continue
		}
		v := visit{w.x.fromS + i, r2.Vec{X: x, Y: w.y.v[i]}}
		if r2.Norm(r2.Sub(v.at, last)) < visitEveryM {
			continue
		}
		last = v.at
		c := cell{int(math.Floor(x / samePlaceM)), int(math.Floor(v.at.Y / samePlaceM))}
		near = near[:0]
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				for _, o := range seen[cell{c.x + dx, c.y + dy}] {
					d := r2.Norm(r2.Sub(v.at, o.at))
					if apart := v.s - o.s; d < samePlaceM && apart >= visitsApartS && apart <= sameLevelS {
						near = append(near, sample{float64(o.s), d})
					}
				}
			}
		}
		nearestM := 0.0
		for k, o := range sorted(near) {
			switch {
			case k == 0 || o.s-near[k-1].s >= visitsApartS:
				out = append(out, crossing{int(o.s), v.s})
			case o.v < nearestM:
				out[len(out)-1].a = int(o.s)
			default:
				continue
			}
			nearestM = o.v
		}
		if len(seen[c]) < mostVisits {
			seen[c] = append(seen[c], v)
		}
	}
	return out
}
