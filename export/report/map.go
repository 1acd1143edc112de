package report

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

// The picture is drawn in units of its own: mapWidth of them across, whatever the
// lake's size, so that type and marks keep theirs. The frame's metres times scale
// are units; y runs down.
const (
	mapWidth     = 1000.0
	mapMinHeight = 380.0
	mapMaxHeight = 940.0
	mapMargin    = 44.0
	insetWidth   = 340.0
	insetHeight  = 290.0
	// No inset shows less than this many metres across, or a small zone would be
	// shown without the bottom it lies on.
	insetMinM = 120.0
	// Points of an outline nearer together than this many units look the same.
	pointStep = 0.15
)

type xy struct{ x, y float64 }

// A canvas turns positions into units of a picture.
type canvas struct {
	frame         plane.Frame
	scale         float64 // units per metre
	left, top     float64 // of the picture, in the frame's metres times scale
	width, height float64 // of the picture, in units
}

func (c canvas) at(p orb.Point) xy {
	v := c.frame.Metres(p)
	return xy{v.X*c.scale - c.left, -v.Y*c.scale - c.top}
}

func (c canvas) line(ps []orb.Point) []xy {
	out := make([]xy, len(ps))
	for i, p := range ps {
		out[i] = c.at(p)
	}
	return out
}

// newCanvas frames everything the chart has a position for; ok is false when it
// has none.
func newCanvas(ch spatial.Chart) (c canvas, ok bool) {
	pts := positions(ch)
	if len(pts) == 0 {
		return canvas{}, false
	}
	// Bounds are taken in metres, where a lake across 180° is whole.
	c.frame = plane.New(pts[0])
	low, high := boundsM(c.frame, pts)
	c.frame = plane.New(c.frame.Degrees(r2.Scale(0.5, r2.Add(low, high))))
	low, high = boundsM(c.frame, pts)
	// A lone point is shown with a hundred metres around it.
	wideM, tallM := math.Max(high.X-low.X, 100), math.Max(high.Y-low.Y, 60)
	c.scale = math.Min((mapWidth-2*mapMargin)/wideM, (mapMaxHeight-2*mapMargin)/tallM)
	c.width = mapWidth
	c.height = math.Max(mapMinHeight, tallM*c.scale+2*mapMargin)
	c.left = (low.X+high.X)/2*c.scale - c.width/2
	c.top = -(low.Y+high.Y)/2*c.scale - c.height/2
	return c, true
}

func positions(ch spatial.Chart) []orb.Point {
	var out []orb.Point
	for _, a := range ch.Areas {
		for _, p := range a.Shape {
			for _, r := range p {
				out = append(out, r...)
			}
		}
	}
	for _, c := range ch.Contours {
		for _, l := range c.Lines {
			out = append(out, l...)
		}
	}
	for _, z := range ch.Zones {
		for _, r := range z.Shape {
			out = append(out, r...)
		}
		out = append(out, z.Centre)
	}
	for _, d := range ch.Drifts {
		out = append(out, d.Line...)
	}
	for _, e := range ch.Events {
		out = append(out, e.At)
	}
	for _, t := range ch.Tracks {
		out = append(out, t.Line...)
	}
	return out
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

// A picture is everything of one map, ready for the template: numbers are text in
// units.
type picture struct {
	ID            string // of the layers that insets show again
	Width, Height string
	Areas         []shape
	Contours      []shape
	Unsure        string // path of the water whose depth is unsure
	Tracks        []shape
	Reuse         string // transform of the shared layers in an inset; empty in the main map
	Best          []shape
	Drifts        []driftShape
	Zones         []zoneShape
	Marks         []markShape
	Numbers       []number // depths on contours
	Scale         scaleBar
	North         string // where the north arrow stands; empty: none
}

type shape struct{ Class, D string }

type driftShape struct {
	ID, Name, D string
	Arrows      []string // transforms
	Label       string   // transform
}

type zoneShape struct {
	ID, Name, Class, D string
	Label, Leader      string // transform; path, empty when the label is near
	Proven             bool
	Here               bool // the zone the inset is about
}

type markShape struct{ Class, At, Name string }

type number struct {
	At, Text string
	Deep     bool // on dark water: light type
}

// A scaleBar is its line, its text and the plate behind both.
type scaleBar struct{ D, At, Text, X, Y, Width string }

// drawing holds the chart in units and draws any part of it.
type drawing struct {
	canvas
	chart    spatial.Chart
	units    si.System
	contours [][][]xy // per contour, its pieces
	drifts   [][]xy
	zones    [][][]xy // per zone, its rings
	marks    []xy
}

func newDrawing(ch spatial.Chart, u si.System) (*drawing, bool) {
	c, ok := newCanvas(ch)
	if !ok {
		return nil, false
	}
	d := &drawing{canvas: c, chart: ch, units: u}
	for _, l := range ch.Contours {
		var pieces [][]xy
		for _, piece := range l.Lines {
			pieces = append(pieces, c.line(piece))
		}
		d.contours = append(d.contours, pieces)
	}
	for _, l := range ch.Drifts {
		d.drifts = append(d.drifts, c.line(l.Line))
	}
	for _, z := range ch.Zones {
		var rings [][]xy
		for _, r := range z.Shape {
			rings = append(rings, c.line(r))
		}
		d.zones = append(d.zones, rings)
	}
	for _, e := range ch.Events {
		d.marks = append(d.marks, c.at(e.At))
	}
	return d, true
}

// whole draws the map of everything.
func (d *drawing) whole() *picture {
	p := &picture{ID: "base", Width: num(d.width), Height: num(d.height)}
	for i, a := range d.chart.Areas {
		p.Areas = append(p.Areas, shape{depthClass(i), d.polygons(a.Shape)})
	}
	for _, pieces := range d.contours {
		p.Contours = append(p.Contours, shape{D: paths(pieces, false)})
	}
	p.Unsure = d.polygons(d.chart.Bottom.Unsure)
	p.Tracks = d.tracks()
	v := view{zoom: 1, width: d.width, height: d.height}
	d.over(p, v, -1)
	p.North = fmt.Sprintf("translate(%s %s)", num(d.width-40), num(50))
	return p
}

// trackStates are the states that a track is drawn by, what is drawn under the others
// first.
var trackStates = []string{"running", "crawling", "stopped", "holding", "drifting"}

// tracks returns the boat's way, one path for all pieces of a state: a season has
// thousands. Pieces of no known state are left out.
func (d *drawing) tracks() []shape {
	pieces := map[string][][]xy{}
	for _, t := range d.chart.Tracks {
		pieces[t.State] = append(pieces[t.State], d.line(t.Line))
	}
	var out []shape
	for _, s := range trackStates {
		if len(pieces[s]) > 0 {
			out = append(out, shape{s, paths(pieces[s], false)})
		}
	}
	return out
}

// trackLegend names the tracks of a map; those that are drawn alike share a name.
func trackLegend(p *picture) []legendStep {
	if p == nil {
		return nil
	}
	var out []legendStep
	var plain []string
	for _, h := range export.DayStates(spatial.DaySummary{}) {
		switch {
		case !slices.ContainsFunc(p.Tracks, func(t shape) bool { return t.Class == h.State }):
		case h.State == "running" || h.State == "crawling":
			out = append(out, legendStep{h.State, h.Name})
		default:
			plain = append(plain, h.Name)
		}
	}
	if len(plain) > 0 {
		out = append([]legendStep{{"drifting", strings.Join(plain, ", ")}}, out...)
	}
	return out
}

// inset draws zone i and what lies around it.
func (d *drawing) inset(i int) *picture {
	box := boxOf(d.zones[i]...)
	if len(d.zones[i]) == 0 {
		box = boxOf([]xy{d.at(d.chart.Zones[i].Centre)})
	}
	wide := math.Max(insetMinM*d.scale, 1.9*math.Max(box.x1-box.x0, (box.y1-box.y0)*insetWidth/insetHeight))
	v := view{zoom: insetWidth / wide, width: insetWidth, height: insetHeight}
	v.x0 = (box.x0+box.x1)/2 - insetWidth/v.zoom/2
	v.y0 = (box.y0+box.y1)/2 - insetHeight/v.zoom/2
	p := &picture{
		Width: num(insetWidth), Height: num(insetHeight),
		Reuse: fmt.Sprintf("scale(%s) translate(%s %s)", fine(v.zoom), fine(-v.x0), fine(-v.y0)),
	}
	d.over(p, v, i)
	return p
}

// A view is a part of the drawing shown larger.
type view struct {
	x0, y0        float64 // top left corner, in units of the drawing
	zoom          float64
	width, height float64 // of the view, in its own units
}

func (v view) at(p xy) xy { return xy{(p.x - v.x0) * v.zoom, (p.y - v.y0) * v.zoom} }

func (v view) line(ps []xy) []xy {
	out := make([]xy, len(ps))
	for i, p := range ps {
		out[i] = v.at(p)
	}
	return out
}

func (v view) lines(ls [][]xy) [][]xy {
	out := make([][]xy, len(ls))
	for i, l := range ls {
		out[i] = v.line(l)
	}
	return out
}

// inside tells whether p lies in the view, at least margin units from its edge.
func (v view) inside(p xy, margin float64) bool {
	return p.x >= margin && p.y >= margin && p.x <= v.width-margin && p.y <= v.height-margin
}

// over draws what is drawn anew in each view, since it keeps its size: zones,
// drift lines, marks and all type. Zone here is left unnamed; -1 names all.
func (d *drawing) over(p *picture, v view, here int) {
	var taken boxes
	taken.add(box{0, v.height - 46, 190, v.height}) // the scale bar
	if here < 0 {
		taken.add(box{v.width - 76, 0, v.width, 104}) // the north arrow
	}

	// No label may hide which way a drift goes.
	for _, l := range d.drifts {
		if len(l) > 1 {
			taken.add(around(v.at(l[len(l)-1]), 9, 9))
		}
	}

	shown := func(b box) bool { return b.meets(box{0, 0, v.width, v.height}) }
	for i, z := range d.chart.Zones {
		rings := v.lines(d.zones[i])
		at := v.at(d.at(z.Centre))
		b := boxOf(append(rings, []xy{at})...)
		if !shown(b) {
			continue
		}
		s := zoneShape{
			ID: z.ID, Name: export.ZoneName(z, d.units), Class: "zone", D: paths(rings, true),
			Proven: z.Proven, Here: i == here,
		}
		if !z.Proven {
			s.Class = "zone unproven"
		}
		if i != here {
			label, from := placeLabel(b, v, &taken)
			s.Label = translate(label)
			if from != nil {
				s.Leader = paths([][]xy{{*from, label}}, false)
			}
		}
		p.Zones = append(p.Zones, s)
	}

	for i, l := range d.chart.Drifts {
		line := v.line(d.drifts[i])
		if len(line) < 2 || !shown(boxOf(line)) {
			continue
		}
		s := driftShape{ID: l.ID, Name: export.DriftName(l, d.units), D: paths([][]xy{line}, false)}
		shares := []float64{0.5, 1}
		long := length(line)
		if long < 60 {
			shares = shares[1:]
		}
		for _, share := range shares {
			at, angle := along(line, share)
			if v.inside(at, 0) {
				s.Arrows = append(s.Arrows, fmt.Sprintf("%s rotate(%s)", translate(at), num(angle)))
			}
		}
		// The name stands behind the start, where no arrowhead can be.
		start, angle := along(line, 0)
		rad := angle * math.Pi / 180
		name := xy{start.x - 15*math.Cos(rad), start.y - 15*math.Sin(rad)}
		if long >= 24 && v.inside(name, 12) {
			s.Label = translate(name)
			taken.add(around(name, 13, 9))
		}
		p.Drifts = append(p.Drifts, s)
		if l.ProductiveFromM.OK && l.ProductiveToM.OK && l.LengthM > 0 {
			best := stretch(line, l.ProductiveFromM.V/l.LengthM, l.ProductiveToM.V/l.LengthM)
			p.Best = append(p.Best, shape{D: paths([][]xy{best}, false)})
		}
	}

	for i, e := range d.chart.Events {
		at := v.at(d.marks[i])
		if v.inside(at, -8) {
			p.Marks = append(p.Marks, markShape{e.Kind.String(), translate(at), export.EventName(e, d.chart.Zone)})
		}
	}

	for i, c := range d.chart.Contours {
		text := bare(d.units.Depth(c.DepthM))
		for _, n := range numbersOn(v.lines(d.contours[i]), text, v, &taken) {
			n.Deep = d.dark(c.DepthM)
			p.Numbers = append(p.Numbers, n)
		}
	}
	p.Scale = d.scaleBar(v)
}

// dark tells whether the water about a contour is drawn dark: in the deeper half of
// the ramp.
func (d *drawing) dark(depthM float64) bool {
	n := len(d.chart.Areas)
	if n < 2 {
		return false
	}
	shallower := 0
	for _, a := range d.chart.Areas {
		if a.BottomM <= depthM {
			shallower++
		}
	}
	return 2*shallower >= n
}

// polygons prints the outlines of the shapes, holes included; drawn with the
// even-odd rule.
func (d *drawing) polygons(m orb.MultiPolygon) string {
	var rings [][]xy
	for _, p := range m {
		for _, r := range p {
			rings = append(rings, d.line(r))
		}
	}
	return paths(rings, true)
}

// scaleBar is a round length in the person's units, at most a fifth of the view.
func (d *drawing) scaleBar(v view) scaleBar {
	perM := d.scale * v.zoom
	yd := 3 * si.FootM
	rungs := []float64{5 * yd, 10 * yd, 20 * yd, 50 * yd, 100 * yd, 200 * yd, 400 * yd, 0.5 * si.MileM, si.MileM, 2 * si.MileM, 5 * si.MileM, 10 * si.MileM}
	if d.units == si.Metric {
		rungs = []float64{5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000}
	}
	bar := rungs[0]
	for _, r := range rungs {
		if r*perM <= math.Max(0.2*v.width, 60) {
			bar = r
		}
	}
	x, y, wide := 18.0, v.height-18, bar*perM
	text := d.units.Distance(bar)
	return scaleBar{
		D:  fmt.Sprintf("M%s %sv6h%sv-6", num(x), num(y-6), num(wide)),
		At: translate(xy{x, y - 13}), Text: text,
		X: num(x - 8), Y: num(y - 28), Width: num(math.Max(wide, 7.5*float64(len(text))) + 16),
	}
}

// paths prints lines as one SVG path, leaving out points too near the last one.
func paths(lines [][]xy, closed bool) string {
	var b strings.Builder
	for _, l := range lines {
		var last xy
		for i, p := range l {
			if i > 0 && i < len(l)-1 && math.Hypot(p.x-last.x, p.y-last.y) < pointStep {
				continue
			}
			if i == 0 {
				b.WriteByte('M')
			} else {
				b.WriteByte('L')
			}
			b.WriteString(num(p.x))
			b.WriteByte(' ')
			b.WriteString(num(p.y))
			last = p
		}
		if closed && len(l) > 0 {
			b.WriteByte('Z')
		}
	}
	return b.String()
}

// along returns the point at a share of a line's length, and the line's direction
// there in degrees clockwise from the picture's right.
func along(line []xy, share float64) (at xy, angleDeg float64) {
	left := share * length(line)
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		step := math.Hypot(b.x-a.x, b.y-a.y)
		if step == 0 {
			continue
		}
		angleDeg = math.Atan2(b.y-a.y, b.x-a.x) * 180 / math.Pi
		if left <= step {
			f := left / step
			return xy{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)}, angleDeg
		}
		left -= step
	}
	return line[len(line)-1], angleDeg
}

// stretch returns the part of a line between two shares of its length.
func stretch(line []xy, from, to float64) []xy {
	whole := length(line)
	start, _ := along(line, from)
	out := []xy{start}
	done := 0.0
	for i := 1; i < len(line)-1; i++ {
		done += math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
		if done > from*whole && done < to*whole {
			out = append(out, line[i])
		}
	}
	end, _ := along(line, to)
	return append(out, end)
}

func length(line []xy) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
	}
	return sum
}

func depthClass(i int) string { return "d" + strconv.Itoa(i) }

func translate(p xy) string { return "translate(" + num(p.x) + " " + num(p.y) + ")" }

// num prints a coordinate: a hundredth of a unit, no trailing zeros, never "-0".
func num(v float64) string { return trimmed(v, 2) }

func fine(v float64) string { return trimmed(v, 5) }

func trimmed(v float64, decimals int) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', decimals, 64), "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// bare is a printed quantity without its unit.
func bare(s string) string {
	number, _, _ := strings.Cut(s, " ")
	return strings.TrimSuffix(number, ".0")
}
