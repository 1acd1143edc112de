package report

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"leadline/ingest/si"
	"leadline/spatial"
)

// The drawing of the bottom along a drift line, in units of its own: the start on the
// left, depth downwards. Heights are drawn larger than lengths, else no lake would show
// any relief.
const (
	profileWidth  = 460.0
	profileHeight = 172.0
	profileLeft   = 52.0 // of the water
	profileRight  = 446.0
	profileTop    = 24.0
	profileFoot   = 142.0
)

// A profile is ready for the template: numbers are text in units.
type profile struct {
	Width, Height          string
	X, Y, Across, Down     string // the frame
	Water, Ground, Bed     string // paths: above the bottom, below it, and the bottom itself
	Stretch                *profileStretch
	Depths, Lengths        []profileTick
	Unsounded              []string // x of the middle of each gap wide enough to name
	DepthAt, LengthAt, Mid string   // where the ticks' labels stand
}

// A profileStretch is the productive stretch.
type profileStretch struct {
	X, Across string
	Sides     string // path
	Bed       string // path of the bottom along it; empty where none was sounded
	At        string // x of its label
	Anchor    string // class of the label
}

type profileTick struct{ At, D, Text, Anchor string }

// An alongDepth is a place along the line, and the bottom there, in metres.
type alongDepth struct{ m, depthM float64 }

// newProfile draws the bottom along a line, or returns nil when none of it is known.
func newProfile(l spatial.DriftLine, u si.System) *profile {
	runs := sounded(l.Profile)
	if len(runs) == 0 {
		return nil
	}
	lengthM, shallowM, deepM := l.LengthM, math.Inf(1), math.Inf(-1)
	for _, r := range runs {
		for _, q := range r {
			lengthM = math.Max(lengthM, q.m)
			shallowM, deepM = math.Min(shallowM, q.depthM), math.Max(deepM, q.depthM)
		}
	}
	if lengthM <= 0 {
		return nil
	}
	fromM, toM, stepM := depthAxis(shallowM, deepM, u)
	x := func(m float64) float64 {
		return profileLeft + math.Max(0, math.Min(1, m/lengthM))*(profileRight-profileLeft)
	}
	y := func(m float64) float64 { return profileTop + (m-fromM)/(toM-fromM)*(profileFoot-profileTop) }
	bed := func(r []alongDepth) []xy {
		out := make([]xy, len(r))
		for i, q := range r {
			out[i] = xy{x(q.m), y(q.depthM)}
		}
		return out
	}

	p := &profile{
		Width: num(profileWidth), Height: num(profileHeight), X: num(profileLeft), Y: num(profileTop),
		Across: num(profileRight - profileLeft), Down: num(profileFoot - profileTop),
		DepthAt: num(profileLeft - 8), LengthAt: num(profileFoot + 15), Mid: num((profileTop + profileFoot) / 2),
	}
	var water, ground, line [][]xy
	for _, r := range runs {
		b := bed(r)
		first, last := b[0], b[len(b)-1]
		water = append(water, slices.Concat([]xy{{first.x, profileTop}}, b, []xy{{last.x, profileTop}}))
		ground = append(ground, slices.Concat([]xy{{first.x, profileFoot}}, b, []xy{{last.x, profileFoot}}))
		if len(b) == 1 {
			b = append(b, first) // a line of no length is drawn as a dot
		}
		line = append(line, b)
	}
	p.Water, p.Ground, p.Bed = paths(water, true), paths(ground, true), paths(line, false)
	p.Unsounded = gaps(runs, lengthM, x)

	if l.ProductiveFromM.OK && l.ProductiveToM.OK {
		p.Stretch = newStretch(runs, l.ProductiveFromM.V, l.ProductiveToM.V, x, bed)
	}
	for k := 0; ; k++ {
		m := fromM + float64(k)*stepM
		if m > toM+stepM/2 {
			break
		}
		at := y(m)
		p.Depths = append(p.Depths, profileTick{num(at), "M" + num(profileLeft) + " " + num(at) + "H" + num(profileRight), short(u.Depth(m)), ""})
	}
	p.Lengths = lengthAxis(lengthM, u, x)
	return p
}

func newStretch(runs [][]alongDepth, fromM, toM float64, x func(float64) float64, bed func([]alongDepth) []xy) *profileStretch {
	x0, x1 := x(fromM), x(toM)
	s := &profileStretch{
		X: num(x0), Across: num(x1 - x0),
		Sides: "M" + num(x0) + " " + num(profileTop) + "V" + num(profileFoot) + "M" + num(x1) + " " + num(profileTop) + "V" + num(profileFoot),
	}
	var line [][]xy
	for _, r := range runs {
		if part := between(r, fromM, toM); len(part) > 1 {
			line = append(line, bed(part))
		}
	}
	s.Bed = paths(line, false)
	// The label must not run over the drawing's edge.
	const half = 44
	switch mid := (x0 + x1) / 2; {
	case mid-half < profileLeft:
		s.At, s.Anchor = num(profileLeft), "from"
	case mid+half > profileRight:
		s.At, s.Anchor = num(profileRight), "until"
	default:
		s.At = num(mid)
	}
	return s
}

// sounded cuts a profile into runs of known depth.
func sounded(points []spatial.ProfilePoint) [][]alongDepth {
	var runs [][]alongDepth
	open := false
	for _, q := range points {
		if !q.DepthM.OK {
			open = false
			continue
		}
		if !open {
			runs, open = append(runs, nil), true
		}
		runs[len(runs)-1] = append(runs[len(runs)-1], alongDepth{q.AlongM, q.DepthM.V})
	}
	return runs
}

// between returns the part of a run from one distance to another, cut exactly there.
func between(run []alongDepth, fromM, toM float64) []alongDepth {
	var out []alongDepth
	for i, q := range run {
		if i > 0 {
			a := run[i-1]
			for _, cut := range []float64{fromM, toM} {
				if a.m < cut && cut < q.m {
					out = append(out, alongDepth{cut, a.depthM + (cut-a.m)/(q.m-a.m)*(q.depthM-a.depthM)})
				}
			}
		}
		if q.m >= fromM && q.m <= toM {
			out = append(out, q)
		}
	}
	return out
}

// gaps returns the middles of the unsounded parts that are wide enough for a label.
func gaps(runs [][]alongDepth, lengthM float64, x func(float64) float64) []string {
	const wide = 78
	var out []string
	at := 0.0
	for i := range len(runs) + 1 {
		next := lengthM
		if i < len(runs) {
			next = runs[i][0].m
		}
		if a, b := x(at), x(next); b-a >= wide {
			out = append(out, num((a+b)/2))
		}
		if i < len(runs) {
			at = runs[i][len(runs[i])-1].m
		}
	}
	return out
}

// depthAxis returns the depths at the top and the foot of the drawing and the step
// of its ticks, all whole steps. It starts at the surface, unless that would leave the
// bottom's relief in less than a third of the height; and it spans ten feet or three
// metres at least, so that a level bottom looks level.
func depthAxis(shallowM, deepM float64, u si.System) (fromM, toM, stepM float64) {
	unitM, leastM := si.FootM, 10*si.FootM
	steps := []float64{1, 2, 5, 10, 20, 50, 100, 200, 500}
	if u == si.Metric {
		unitM, leastM = 1, 3
		steps = append([]float64{0.5}, steps...)
	}
	spanM := math.Max(leastM, 1.5*(deepM-shallowM))
	toM = math.Max(deepM*1.08, leastM)
	if 3*(deepM-shallowM) < deepM && spanM < deepM {
		fromM = math.Max(0, (shallowM+deepM-spanM)/2)
		toM = math.Max(fromM+spanM, deepM)
	}
	for _, s := range steps {
		stepM = s * unitM
		if toM-fromM <= 4.5*stepM {
			break
		}
	}
	const hair = 1e-9 // a whole step in feet is seldom one in metres
	return math.Floor(fromM/stepM+hair) * stepM, math.Ceil(toM/stepM-hair) * stepM, stepM
}

// lengthAxis returns ticks at round distances from the line's start; the unit stands
// with the last.
func lengthAxis(lengthM float64, u si.System, x func(float64) float64) []profileTick {
	unitM, unit := 3*si.FootM, " yd"
	switch {
	case u == si.Metric && lengthM < 1000:
		unitM, unit = 1, " m"
	case u == si.Metric:
		unitM, unit = 1000, " km"
	case lengthM >= 0.5*si.MileM:
		unitM, unit = si.MileM, " mi"
	}
	step := 0.1
	for _, s := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200} {
		if step = s; lengthM <= 5.5*s*unitM {
			break
		}
	}
	var out []profileTick
	for k := 0; float64(k)*step*unitM <= lengthM*(1+1e-9); k++ {
		v := float64(k) * step
		at := num(x(v * unitM))
		out = append(out, profileTick{at, "M" + at + " " + num(profileFoot) + "v4", strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0"), ""})
	}
	last := &out[len(out)-1]
	last.Text += unit
	// With its unit the last label is the longest, and may end at the drawing's edge.
	const half = 24
	if x(float64(len(out)-1)*step*unitM)+half > profileWidth {
		last.At, last.Anchor = num(profileWidth-2), "until"
	}
	return out
}

// short is a printed depth without a zero behind its point: "7 m".
func short(s string) string { return strings.Replace(s, ".0 ", " ", 1) }
