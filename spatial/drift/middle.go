package drift

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/stat/distuv"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// # Method
//
//  1. The direction is the main axis of the passes' points, each pass about its own centre: total least
//     squares for parallel lines. A pass weighs by about the cube of its length, so that short ones, whose
//     direction is mostly the receiver's wobble, hardly turn it, and that they lie to one side does not at all.
//  2. Across that direction, at even steps along it, where each pass runs is read off: the sweep of TRACLUS (Lee, Han &
//     Whang, SIGMOD 2007, section 4.3).
//  3. What is read is taken for the middle there plus what the pass runs aside of it, the same all along, and both are
//     fitted by least squares, the asides adding up to 0. A plain mean would jump where a pass begins or ends, and
//     distances from it would be those from the jump.
//  4. The line goes from the first to the last step where at least two passes run, and at least a quarter of as many as
//     run side by side at most. Its direction is that of 1, of what runs along it.
//
// By hand: y = 0 from x = 0 to 100, and y = 6 from x = 50 to 100. The direction is due east, though a line through all
// points would rise: each pass counts about its own centre. They run 3 m to either side of y = 3, where the middle is all
// along; a plain mean would be 0 up to x = 50. Two run from 50 to 100, so that is the line.
//
// # Cost
//
// Passes times steps, some dozen times over for the fit.
//
// # What it does badly
//
// A pass that runs at an angle is not just aside: where it begins or ends the middle still jumps a little. Steps back against
// the direction are left out.

// A bed is passes laid side by side along their direction.
type bed struct {
	members []int // tracks, rising
	dir     r2.Vec
	origin  r2.Vec
	lowM    float64   // along dir from the origin, of the first step
	everyM  float64   // from one step to the next
	lanes   []lane    // of the members
	across  []float64 // of the middle at each step, to the left
	side    []int     // how many run side by side at each step
	reach   []r2.Vec  // the middle where any runs
	lengthM float64   // of reach
}

// A lane is how far to the left a pass runs at each step from first on.
type lane struct {
	first  int
	across []float64
	aside  float64 // of the middle, to the left
}

// lay lays members of tracks side by side.
func lay(tracks []track, members []int) bed {
	b := bed{members: members, origin: tracks[members[0]].path[0]}
	paths := make([][]r2.Vec, len(members))
	for k, m := range members {
		paths[k] = tracks[m].path
	}
	b.dir = plane.Toward(towardDeg(paths))
	sweeps := make([][]spot, len(members))
	low, high := math.Inf(1), math.Inf(-1)
	for k, path := range paths {
		s := sweep(path, b.dir, b.origin)
		sweeps[k] = s
		low, high = min(low, s[0].along), max(high, s[len(s)-1].along)
	}
	n := max(1, int(math.Ceil((high-low)/stepM)))
	b.lowM, b.everyM = low, (high-low)/float64(n)
	if b.everyM == 0 {
		b.everyM = stepM // all of them only went back
	}
	b.across, b.side = make([]float64, n+1), make([]int, n+1)
	for _, s := range sweeps {
		const rounding = 1e-9 // of a step: the end of a pass is a step, not just missed
		from := int(math.Ceil((s[0].along-low)/b.everyM - rounding))
		to := int(math.Floor((s[len(s)-1].along-low)/b.everyM + rounding))
		l := lane{first: from}
		for i := from; i <= min(to, n); i++ {
			l.across = append(l.across, acrossAt(s, low+float64(i)*b.everyM))
			b.side[i]++
		}
		b.lanes = append(b.lanes, l)
	}
	b.fit()
	for i, side := range b.side {
		if side > 0 {
			b.reach = append(b.reach, b.place(i, b.across[i]))
		}
	}
	b.lengthM = lengthM(b.reach)
	return b
}

// place returns where a distance to the left at a step is.
func (b bed) place(i int, across float64) r2.Vec {
	left := r2.Vec{X: -b.dir.Y, Y: b.dir.X}
	u := b.lowM + float64(i)*b.everyM
	return r2.Add(b.origin, r2.Add(r2.Scale(u, b.dir), r2.Scale(across, left)))
}

// fit parts what was read into the middle and the asides, by turns.
func (b bed) fit() {
	const (
		rounds = 50   // passes that share a step or two take most
		fineM  = 1e-3 // far below the receiver's error
	)
	for range rounds {
		clear(b.across)
		for _, l := range b.lanes {
			for i, v := range l.across {
				b.across[l.first+i] += (v - l.aside) / float64(b.side[l.first+i])
			}
		}
		moved := 0.0
		for k := range b.lanes {
			l := &b.lanes[k]
			aside := 0.0
			for i, v := range l.across {
				aside += (v - b.across[l.first+i]) / float64(len(l.across))
			}
			moved = max(moved, math.Abs(aside-l.aside))
			l.aside = aside
		}
		if moved < fineM {
			break
		}
	}
	mean := 0.0
	for _, l := range b.lanes {
		mean += l.aside / float64(len(b.lanes))
	}
	for i := range b.across {
		b.across[i] += mean
	}
}

// line returns the line along a bed; ok is false where no two passes run side by side for two steps.
func (b bed) line(tracks []track) (l Line, ok bool) {
	need := max(2, (slices.Max(b.side)+3)/4)
	from, to := -1, -1
	for i, side := range b.side {
		if side >= need {
			if from < 0 {
				from = i
			}
			to = i
		}
	}
	if from == to {
		return Line{}, false
	}
	for i := from; i <= to; i++ {
		if b.side[i] > 0 {
			l.Middle = append(l.Middle, b.place(i, b.across[i]))
		}
	}
	var off []float64
	var paths [][]r2.Vec
	for _, lane := range b.lanes {
		var path []r2.Vec
		for i, v := range lane.across {
			if at := lane.first + i; at >= from && at <= to {
				off = append(off, math.Abs(v-b.across[at]))
				path = append(path, b.place(at, v))
			}
		}
		if len(path) > 1 {
			paths = append(paths, path)
		}
	}
	slices.Sort(off)
	l.WidthM = 2 * off[int(0.9*float64(len(off)-1))]
	l.TowardDeg, l.TowardU95Deg = towardDeg(paths), towardU95Deg(paths)
	for _, m := range b.members {
		l.Passes = append(l.Passes, tracks[m].index)
	}
	slices.Sort(l.Passes)
	return l, true
}

// A scatter is the second moments of points about their centre.
type scatter struct{ xx, xy, yy float64 }

func scatterOf(path []r2.Vec) (s scatter) {
	var centre r2.Vec
	for _, v := range path {
		centre = r2.Add(centre, r2.Scale(1/float64(len(path)), v))
	}
	for _, v := range path {
		d := r2.Sub(v, centre)
		s.xx, s.xy, s.yy = s.xx+d.X*d.X, s.xy+d.X*d.Y, s.yy+d.Y*d.Y
	}
	return s
}

// towardDeg returns the bearing of the main axis, on the side of a way.
func (s scatter) towardDeg(way r2.Vec) float64 {
	sin, cos := math.Sincos(math.Atan2(2*s.xy, s.xx-s.yy) / 2)
	axis := r2.Vec{X: cos, Y: sin}
	if r2.Dot(axis, way) < 0 {
		axis = r2.Scale(-1, axis)
	}
	return plane.BearingDeg(axis)
}

// towardDeg returns the direction of paths together, 0 without any.
func towardDeg(paths [][]r2.Vec) float64 {
	var sum scatter
	var way r2.Vec
	for _, path := range paths {
		s := scatterOf(path)
		sum = scatter{sum.xx + s.xx, sum.xy + s.xy, sum.yy + s.yy}
		way = r2.Add(way, r2.Sub(path[len(path)-1], path[0]))
	}
	return sum.towardDeg(way)
}

// towardU95Deg returns how far the direction of paths together may be off, from how their own
// differ from it; unknown with less than three. With the weights w of the paths it is the standard error of a
// weighted mean, worth n = (Σw)²/Σw² paths (Kish, Survey Sampling, 1965), times Student's 97.5 % quantile for n - 1.
func towardU95Deg(paths [][]r2.Vec) ingest.Maybe {
	if len(paths) < 3 {
		return ingest.Maybe{}
	}
	all := towardDeg(paths)
	var w, w2, we2 float64
	for _, path := range paths {
		s := scatterOf(path)
		weight := s.xx + s.yy
		e := plane.TurnDeg(all, s.towardDeg(r2.Sub(path[len(path)-1], path[0])))
		w, w2, we2 = w+weight, w2+weight*weight, we2+weight*e*e
	}
	worth := w * w / w2
	variance := we2 / w / (1 - 1/worth)
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(1, worth-1)}
	return ingest.Known(student.Quantile(0.975) * math.Sqrt(variance/worth))
}

// A spot is a point by its distance along and to the left of a direction.
type spot struct{ along, across float64 }

// sweep turns a path into spots that go steadily forward: where the boat fell back,
// the points behind are left out.
func sweep(path []r2.Vec, dir, from r2.Vec) []spot {
	var out []spot
	for _, p := range path {
		d := r2.Sub(p, from)
		s := spot{r2.Dot(d, dir), r2.Cross(dir, d)}
		if n := len(out); n == 0 || s.along > out[n-1].along {
			out = append(out, s)
		}
	}
	return out
}

// acrossAt interpolates the distance across at a distance along within the sweep.
func acrossAt(s []spot, along float64) float64 {
	i, _ := slices.BinarySearchFunc(s, along, func(s spot, u float64) int { return cmp.Compare(s.along, u) })
	switch {
	case i == 0:
		return s[0].across
	case i == len(s):
		return s[len(s)-1].across
	}
	a, b := s[i-1], s[i]
	return a.across + (b.across-a.across)*(along-a.along)/(b.along-a.along)
}
