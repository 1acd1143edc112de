package runsheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The map is drawn in units of its own, mapWidth of them across whatever the lake's size,
// so that type and lines keep theirs: printed at half the sheet's width a unit is a little
// more than half a point. The frame's metres times scale are units; y runs down. It shows
// what the run touches and not the whole lake.
const (
	mapWidth     = 480.0
	mapMinHeight = 230.0
	mapMaxHeight = 300.0
	mapMargin    = 40.0
	stripHeight  = 36.0 // below the map, for scale bar and north
	mapSteps     = 5    // of depth: more can't be told apart in greyscale in the sun
	discRadius   = 15.0
	endHalf      = 13.0 // of a launch's square
	// A shorter drift would be hidden by its own arrowhead, so it is drawn as long as this.
	driftLeast = 30.0
	// Points of a line nearer together than this many units look the same.
	pointStep = 0.3
)

type xy struct{ x, y float64 }

func (p xy) plus(d xy, by float64) xy { return xy{p.x + by*d.x, p.y + by*d.y} }

func distance(a, b xy) float64 { return math.Hypot(b.x-a.x, b.y-a.y) }

// A box is named by its corners; x and y rise.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(c box) bool { return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1 }

func around(p xy, halfWidth, halfHeight float64) box {
	return box{p.x - halfWidth, p.y - halfHeight, p.x + halfWidth, p.y + halfHeight}
}

func boxOf(ps []xy) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range ps {
		b = box{math.Min(b.x0, p.x), math.Min(b.y0, p.y), math.Max(b.x1, p.x), math.Max(b.y1, p.y)}
	}
	return b
}

// A picture is the map ready for the template: numbers are text in units.
type picture struct {
	Width, Height, Inner string // Inner is the height without the strip
	Label                string
	Areas                []shape
	Zones                []shape
	Legs                 []legShape
	Drifts               []driftShape
	Numbers              []mark // depths
	Ends                 []endMark
	Stops                []stopMark
	Bar                  scaleBar
	North                string // transform
	Stretched            bool   // a drift is drawn longer than it is
}

type shape struct{ Class, D string }

type legShape struct {
	D      string
	Home   bool
	Arrows []string // transforms
}

type driftShape struct {
	D, Head   string
	stretched bool
}

type mark struct{ At, Text string }

type endMark struct {
	At, Text       string
	X, Width, Lead string
}

type stopMark struct {
	At, Text, Title string
	Dot, Leader     string // where the drift begins; path to it, empty when the disc touches it
	Proven          bool
}

type scaleBar struct{ D, At, Text string }

// A drawing holds the run in units.
type drawing struct {
	frame         plane.Frame
	scale         float64 // units per metre
	left, top     float64 // of the map, in the frame's metres times scale
	width, height float64 // of the map, in units
	chart         spatial.Chart
	run           spatial.Run
	units         si.System
	areas         []int // of Chart.Areas, those that the map shows
	taken         []box
}

func (d *drawing) at(p orb.Point) xy {
	v := d.frame.Metres(p)
	return xy{v.X*d.scale - d.left, -v.Y*d.scale - d.top}
}

// line leaves out places that are no numbers.
func (d *drawing) line(ps []orb.Point) []xy {
	out := make([]xy, 0, len(ps))
	for _, p := range ps {
		if onEarth(p) {
			out = append(out, d.at(p))
		}
	}
	return out
}

func onEarth(p orb.Point) bool { return finite(p[0]) && finite(p[1]) && math.Abs(p[1]) <= 90 }

// newDrawing frames everything that the run touches; ok is false when it has no place.
func newDrawing(c spatial.Chart, r spatial.Run, u si.System) (d *drawing, ok bool) {
	pts := []orb.Point{r.Launch, r.TakeOut}
	for _, l := range r.Legs {
		pts = append(pts, l.Line...)
	}
	for _, s := range r.Stops {
		pts = append(pts, s.At, s.DriftEnd)
		for _, ring := range export.RunZone(c, s).Shape {
			pts = append(pts, ring...)
		}
	}
	pts = slices.DeleteFunc(pts, func(p orb.Point) bool { return !onEarth(p) })
	if len(pts) == 0 {
		return nil, false
	}
	d = &drawing{chart: c, run: r, units: u, width: mapWidth}
	// Bounds are taken in metres, where a lake across 180° is whole.
	d.frame = plane.New(pts[0])
	low, high := boundsM(d.frame, pts)
	d.frame = plane.New(d.frame.Degrees(r2.Scale(0.5, r2.Add(low, high))))
	low, high = boundsM(d.frame, pts)
	// A run of one place is shown with some water around it.
	wideM, tallM := math.Max(high.X-low.X, 150), math.Max(high.Y-low.Y, 80)
	d.scale = math.Min((mapWidth-2*mapMargin)/wideM, (mapMaxHeight-2*mapMargin)/tallM)
	d.height = math.Max(mapMinHeight, tallM*d.scale+2*mapMargin)
	d.left = (low.X+high.X)/2*d.scale - d.width/2
	d.top = -(low.Y+high.Y)/2*d.scale - d.height/2
	view := box{0, 0, d.width, d.height}
	for i, a := range c.Areas {
		for _, p := range a.Shape {
			if len(p) > 0 && boxOf(d.line(p[0])).meets(view) {
				d.areas = append(d.areas, i)
				break
			}
		}
	}
	return d, true
}

func boundsM(f plane.Frame, pts []orb.Point) (low, high r2.Vec) {
	low, high = f.Metres(pts[0]), f.Metres(pts[0])
	for _, p := range pts {
		v := f.Metres(p)
		low = r2.Vec{X: math.Min(low.X, v.X), Y: math.Min(low.Y, v.Y)}
		high = r2.Vec{X: math.Max(high.X, v.X), Y: math.Max(high.Y, v.Y)}
	}
	return low, high
}

// step is the depth step of the k-th area shown: neighbouring areas share one when there
// are more than mapSteps.
func (d *drawing) step(k int) int {
	if n := len(d.areas); n > mapSteps {
		return k * mapSteps / n
	}
	return k
}

// legend names the depth steps, shallow to deep, with the unit on the last.
func (d *drawing) legend() []legendStep {
	var out []legendStep
	for k := 0; k < len(d.areas); {
		last := k
		for last+1 < len(d.areas) && d.step(last+1) == d.step(k) {
			last++
		}
		text := export.DepthRange(d.chart.Areas[d.areas[k]].TopM, d.chart.Areas[d.areas[last]].BottomM, d.units)
		if last+1 < len(d.areas) {
			text = text[:strings.LastIndexByte(text, ' ')]
		}
		out = append(out, legendStep{stepClass(d.step(k)), text})
		k = last + 1
	}
	return out
}

// draw draws the map. What must be seen is placed first, and later marks keep clear of it:
// launch, drifts, discs, arrows, depths.
func (d *drawing) draw() *picture {
	p := &picture{
		Width: num(d.width), Height: num(d.height + stripHeight), Inner: num(d.height),
		Label: "Map of the run: the launch, " + export.Plural(len(d.run.Stops), "stop") + " in order, and the way between them",
	}
	for k, i := range d.areas {
		if path := d.polygons(d.chart.Areas[i].Shape); path != "" {
			p.Areas = append(p.Areas, shape{stepClass(d.step(k)), path})
		}
	}
	p.Ends = d.ends()
	starts := make([]xy, len(d.run.Stops))
	toward := make([]xy, len(d.run.Stops)) // unit vectors; zero where the drift has no direction
	for i, s := range d.run.Stops {
		if !onEarth(s.At) {
			continue
		}
		starts[i] = d.at(s.At)
		z := export.RunZone(d.chart, s)
		if path := d.polygons(orb.MultiPolygon{z.Shape}); path != "" {
			class := "zone"
			if !z.Proven {
				class = "zone unproven"
			}
			p.Zones = append(p.Zones, shape{class, path})
		}
		if drift, dir, ok := d.drift(s); ok {
			toward[i] = dir
			p.Drifts = append(p.Drifts, drift)
			p.Stretched = p.Stretched || drift.stretched
		}
	}
	for i, s := range d.run.Stops {
		if onEarth(s.At) {
			p.Stops = append(p.Stops, d.disc(s, starts[i], toward[i]))
		}
	}
	for _, l := range d.run.Legs {
		if leg, ok := d.leg(l); ok {
			p.Legs = append(p.Legs, leg)
		}
	}
	p.Numbers = d.depths()
	p.Bar = d.scaleBar()
	p.North = translate(xy{d.width - 22, d.height + stripHeight/2 + 2})
	return p
}

// ends marks launch and take-out, as one where they are one.
func (d *drawing) ends() []endMark {
	mark := func(at xy, text string, half float64, leader string) endMark {
		d.taken = append(d.taken, around(at, half, endHalf))
		return endMark{translate(at), text, num(-half), num(2 * half), leader}
	}
	launch, takeOut := d.run.Launch, d.run.TakeOut
	switch l, t := onEarth(launch), onEarth(takeOut); {
	case !l && !t:
		return nil
	case !t:
		return []endMark{mark(d.at(launch), "L", endHalf, "")}
	case !l:
		return []endMark{mark(d.at(takeOut), "T", endHalf, "")}
	}
	a, b := d.at(launch), d.at(takeOut)
	if distance(a, b) < 1 {
		return []endMark{mark(a, "L T", 20, "")}
	}
	out := []endMark{mark(a, "L", endHalf, "")}
	at := b
	if distance(a, b) < 2.2*endHalf {
		at = d.place(b, xy{}, endHalf, 0)
	}
	return append(out, mark(at, "T", endHalf, leader(at, b, endHalf)))
}

// drift draws the drift at a stop as an arrow, and returns its direction on the map.
func (d *drawing) drift(s spatial.RunStop) (out driftShape, dir xy, ok bool) {
	if !s.DriftTowardDeg.OK || !finite(s.DriftTowardDeg.V) || !onEarth(s.DriftEnd) {
		return driftShape{}, xy{}, false
	}
	from, to := d.at(s.At), d.at(s.DriftEnd)
	long := distance(from, to)
	stretched := long < driftLeast
	if stretched {
		v := plane.Toward(s.DriftTowardDeg.V)
		dir = xy{v.X, -v.Y}
		to = from.plus(dir, driftLeast)
		long = driftLeast
	} else {
		dir = xy{(to.x - from.x) / long, (to.y - from.y) / long}
	}
	for along := 8.0; along <= long; along += 6 {
		d.taken = append(d.taken, around(from.plus(dir, along), 5, 5))
	}
	const head = 14 // the shaft ends inside it
	angle := math.Atan2(dir.y, dir.x) * 180 / math.Pi
	return driftShape{
		D:    paths([][]xy{{from, to.plus(dir, -head)}}, false),
		Head: translate(to) + " rotate(" + num(angle) + ")", stretched: stretched,
	}, dir, true
}

// disc places a stop's number: behind the start of its drift, touching it, or as near as
// there is room.
func (d *drawing) disc(s spatial.RunStop, start, toward xy) stopMark {
	at := d.place(start, xy{-toward.x, -toward.y}, discRadius, discRadius+3)
	d.taken = append(d.taken, around(at, discRadius, discRadius))
	z := export.RunZone(d.chart, s)
	return stopMark{
		At: translate(at), Text: strconv.Itoa(s.Order), Title: export.RunStopName(s, z, d.units),
		Dot: translate(start), Leader: leader(at, start, discRadius+5), Proven: z.Proven,
	}
}

// leader is the path from a mark to its place, or "" when the mark is near enough.
func leader(mark, at xy, near float64) string {
	if distance(mark, at) <= near {
		return ""
	}
	return paths([][]xy{{at, mark}}, false)
}

// place finds room for a mark of that half width near a point: first in the direction
// wanted, then around, nearest first. Where there is none it takes the first.
func (d *drawing) place(p, wanted xy, half, near float64) xy {
	var tries []xy
	if wanted != (xy{}) {
		tries = append(tries, p.plus(wanted, near))
	} else {
		tries = append(tries, p)
	}
	for _, gap := range []float64{half + 3, 1.8 * half, 2.6 * half, 3.6 * half} {
		for _, deg := range []float64{-90, -45, -135, 0, 180, 45, 135, 90} {
			sin, cos := math.Sincos(deg * math.Pi / 180)
			tries = append(tries, p.plus(xy{cos, sin}, gap))
		}
	}
	for _, t := range tries {
		b := around(t, half, half)
		if d.inside(b) && d.free(b) {
			return t
		}
	}
	return tries[0]
}

func (d *drawing) inside(b box) bool {
	return b.x0 >= 2 && b.y0 >= 2 && b.x1 <= d.width-2 && b.y1 <= d.height-2
}

func (d *drawing) free(b box) bool {
	return !slices.ContainsFunc(d.taken, b.meets)
}

// leg draws a leg with arrows on it where there is room for them.
func (d *drawing) leg(l spatial.RunLeg) (legShape, bool) {
	line := d.line(l.Line)
	if len(line) < 2 {
		return legShape{}, false
	}
	out := legShape{D: paths([][]xy{line}, false), Home: l.To > len(d.run.Stops)}
	long := length(line)
	n := 1
	switch {
	case long < 24:
		n = 0
	case long > 420:
		n = 3
	case long > 160:
		n = 2
	}
	for k := range n {
		middle := (float64(k) + 0.5) / float64(n)
		for _, off := range []float64{0, 0.08, -0.08, 0.16, -0.16, 0.22, -0.22} {
			at, angle := along(line, middle+off/float64(n)*2)
			b := around(at, 10, 10)
			if d.inside(b) && d.free(b) {
				d.taken = append(d.taken, b)
				out.Arrows = append(out.Arrows, translate(at)+" rotate("+num(angle)+")")
				break
			}
		}
	}
	return out, true
}

// depths puts one or two figures on each contour that parts two steps of the map.
func (d *drawing) depths() []mark {
	edges := map[string]bool{}
	for k := 1; k < len(d.areas); k++ {
		if d.step(k) != d.step(k-1) {
			edges[d.units.Depth(d.chart.Areas[d.areas[k]].TopM)] = true
		}
	}
	const (
		most    = 2
		spacing = 30.0
		apart   = 180.0
	)
	var out []mark
	for _, c := range d.chart.Contours {
		text := d.units.Depth(c.DepthM)
		if !edges[text] {
			continue
		}
		text, _, _ = strings.Cut(text, " ")
		var placed []xy
		for _, piece := range c.Lines {
			line := d.line(piece)
			long := length(line)
			for at := spacing / 2; at < long && len(placed) < most; at += spacing {
				p, _ := along(line, at/long)
				b := around(p, 5*float64(len(text))+4, 10)
				far := !slices.ContainsFunc(placed, func(q xy) bool { return distance(p, q) < apart })
				if !far || !d.inside(b) || !d.free(b) {
					continue
				}
				d.taken = append(d.taken, b)
				placed = append(placed, p)
				out = append(out, mark{translate(p), text})
			}
		}
	}
	return out
}

// scaleBar is a round length in the person's units, at most a third of the map's width.
func (d *drawing) scaleBar() scaleBar {
	yd := 3 * si.FootM
	rungs := []float64{10 * yd, 20 * yd, 50 * yd, 100 * yd, 200 * yd, 400 * yd, 0.5 * si.MileM, si.MileM, 2 * si.MileM, 5 * si.MileM, 10 * si.MileM, 20 * si.MileM}
	if d.units == si.Metric {
		rungs = []float64{10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000}
	}
	bar := rungs[0]
	for _, r := range rungs {
		if r*d.scale <= d.width/3 {
			bar = r
		}
	}
	x, y, wide := 8.0, d.height+stripHeight/2+5, bar*d.scale
	return scaleBar{
		D:  fmt.Sprintf("M%s %sv9h%sv-9", num(x), num(y-9), num(wide)),
		At: translate(xy{x + wide + 8, y - 4}), Text: d.units.Distance(bar),
	}
}

// polygons prints the outlines of shapes that the map shows, holes included; drawn with
// the even-odd rule.
func (d *drawing) polygons(m orb.MultiPolygon) string {
	view := box{0, 0, d.width, d.height}
	var rings [][]xy
	for _, p := range m {
		for i, r := range p {
			line := d.line(r)
			if !boxOf(line).meets(view) {
				if i == 0 {
					break // nor do its holes
				}
				continue
			}
			rings = append(rings, line)
		}
	}
	return paths(rings, true)
}

// paths prints lines as one SVG path, leaving out points too near the last one.
func paths(lines [][]xy, closed bool) string {
	var b strings.Builder
	for _, l := range lines {
		var last xy
		for i, p := range l {
			if i > 0 && i < len(l)-1 && distance(p, last) < pointStep {
				continue
			}
			command := byte('L')
			if i == 0 {
				command = 'M'
			}
			b.WriteByte(command)
			b.WriteString(num(p.x) + " " + num(p.y))
			last = p
		}
		if closed && len(l) > 0 {
			b.WriteByte('Z')
		}
	}
	return b.String()
}

// along returns the point at a share of a line's length, and the line's direction there
// in degrees clockwise from the picture's right.
func along(line []xy, share float64) (at xy, angleDeg float64) {
	left := share * length(line)
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		step := distance(a, b)
		if step == 0 {
			continue
		}
		angleDeg = math.Atan2(b.y-a.y, b.x-a.x) * 180 / math.Pi
		if left <= step {
			return a.plus(xy{b.x - a.x, b.y - a.y}, left/step), angleDeg
		}
		left -= step
	}
	return line[len(line)-1], angleDeg
}

func length(line []xy) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += distance(line[i-1], line[i])
	}
	return sum
}

func stepClass(i int) string { return "s" + strconv.Itoa(i) }

func translate(p xy) string { return "translate(" + num(p.x) + " " + num(p.y) + ")" }

// num prints a coordinate: a tenth of a unit, no trailing zeros, never "-0".
func num(v float64) string {
	s := strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
	if s == "-0" {
		return "0"
	}
	return s
}
