package svgfile

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

const (
	leastHeight = 320.0
	mostHeight  = 900.0
	edge        = 40.0 // about everything, and below it room for the scale bar
	foot        = 62.0
)

// How things look, as attributes of SVG.
var (
	provenLook   = fmt.Sprintf(`fill="%[1]s" fill-opacity=".25" stroke="%[1]s" stroke-width="3"`, export.Hex(export.ZoneColour))
	unprovenLook = fmt.Sprintf(`fill="url(#hatch)" stroke="%s" stroke-width="2.4" stroke-dasharray="7 4"`, export.Hex(export.ZoneColour))
	driftLook    = `fill="none" stroke-linejoin="round" stroke-linecap="round"`
	casing       = `stroke="` + ink + `" stroke-width="6"`
	core         = fmt.Sprintf(`stroke="%s" stroke-width="3"`, export.Hex(export.DriftColour))
	arrow        = fmt.Sprintf(`d="M-11-8L1 0L-11 8L-6.5 0z" fill="%s" stroke="%s" stroke-width="1.6"`, export.Hex(export.DriftColour), ink)
	catchLook    = `fill="` + ink + `" stroke="#fff" stroke-width="1.2"`
	biteLook     = `fill="#fff" stroke="` + ink + `" stroke-width="1.8"`
)

// A frame turns positions into units of the picture: x runs right, y down.
type frame struct {
	plane     plane.Frame
	scale     float64 // units per metre
	left, top float64
	height    float64
}

func (f frame) at(p orb.Point) xy {
	v := f.plane.Metres(p)
	return xy{v.X*f.scale - f.left, -v.Y*f.scale - f.top}
}

func (f frame) line(ps []orb.Point) []xy {
	var out []xy
	for _, p := range ps {
		if finite(p) {
			out = append(out, f.at(p))
		}
	}
	return out
}

func finite(p orb.Point) bool { return !math.IsNaN(p[0]-p[0]) && !math.IsNaN(p[1]-p[1]) }

// newMap frames everything that is drawn; ok is false when nothing is.
func newMap(c spatial.Chart) (f frame, ok bool) {
	pts := drawnPoints(c)
	if len(pts) == 0 {
		return frame{}, false
	}
	// Bounds are taken in metres, where a lake across 180° is whole.
	f.plane = plane.New(pts[0])
	low, high := boundsM(f.plane, pts)
	f.plane = plane.New(f.plane.Degrees(r2.Scale(0.5, r2.Add(low, high))))
	low, high = boundsM(f.plane, pts)
	// A lone point is shown with a hundred metres around it.
	wideM, tallM := math.Max(high.X-low.X, 100), math.Max(high.Y-low.Y, 60)
	f.scale = math.Min((width-2*edge)/wideM, (mostHeight-edge-foot)/tallM)
	f.height = math.Max(leastHeight, tallM*f.scale+edge+foot)
	f.left = (low.X+high.X)/2*f.scale - width/2
	f.top = -(low.Y+high.Y)/2*f.scale - (f.height-foot+edge)/2 - mapY
	return f, true
}

func drawnPoints(c spatial.Chart) []orb.Point {
	var out []orb.Point
	add := func(ps ...orb.Point) {
		for _, p := range ps {
			if finite(p) {
				out = append(out, p)
			}
		}
	}
	for _, a := range c.Areas {
		for _, p := range a.Shape {
			for _, r := range p {
				add(r...)
			}
		}
	}
	for _, l := range c.Contours {
		for _, line := range l.Lines {
			add(line...)
		}
	}
	for _, z := range c.Zones {
		for _, r := range z.Shape {
			add(r...)
		}
	}
	for _, d := range c.Drifts {
		add(d.Line...)
	}
	for _, e := range c.Events {
		if e.Kind == ingest.Catch || e.Kind == ingest.Bite {
			add(e.At)
		}
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

// drawMap draws from the bottom of the lake up, type last.
func (p *page) drawMap(c spatial.Chart, f frame) {
	p.add(`<path fill="%s" d="M0 %sh%sv%sH0z"/>`+"\n", ground, num(mapY), num(width), num(f.height))
	for i, a := range c.Areas {
		if d := f.polygons(a.Shape...); d != "" {
			p.add(`<path fill="%s" fill-rule="evenodd" d="%s"/>`+"\n", export.Hex(export.DepthColour(i, len(c.Areas), 0)), d)
		}
	}
	if d := f.polygons(c.Bottom.Unsure...); d != "" {
		p.add(`<path fill="url(#dots)" fill-opacity=".5" fill-rule="evenodd" d="%s"/>`+"\n", d)
	}
	p.add(`<g fill="none" stroke-opacity=".45">` + "\n")
	for _, l := range c.Contours {
		d, shade := "", contour
		for _, line := range l.Lines {
			d += path(f.line(line), false)
		}
		if inDark(c.Areas, l.DepthM) {
			shade = "#fff"
		}
		if d != "" {
			p.add(`<path stroke="%s" d="%s"/>`+"\n", shade, d)
		}
	}
	p.add("</g>\n")

	// Type keeps clear of the scale bar, the north arrow and the tips of drift lines.
	taken := boxes{{0, mapY + f.height - 50, 250, mapY + f.height}, {width - 70, mapY, width, mapY + 84}}
	for _, unproven := range []bool{true, false} {
		for _, z := range c.Zones {
			if d := f.polygons(z.Shape); d != "" && z.Proven != unproven {
				look := provenLook
				if unproven {
					look = unprovenLook
				}
				// A pale rim keeps vermillion apart from dark water.
				p.add(`<path fill="none" stroke="#fff" stroke-opacity=".55" stroke-width="6" d="%s"/><path fill-rule="evenodd" %s d="%s"/>`+"\n", d, look, d)
			}
		}
	}
	for i := len(c.Drifts) - 1; i >= 0; i-- { // the best on top
		line := f.line(c.Drifts[i].Line)
		d := path(line, false)
		if d == "" {
			continue
		}
		p.add(`<g %s><path %s d="%s"/><path %s d="%s"/></g>`+"\n", driftLook, casing, d, core, d)
		long := length(line)
		for _, share := range []float64{0.5, 1} {
			if share < 1 && long < 70 {
				continue
			}
			at, deg := along(line, share)
			p.add(`<path transform="translate(%s %s) rotate(%s)" %s/>`+"\n", num(at.x), num(at.y), num(deg), arrow)
			taken = append(taken, around(at, 9, 9))
		}
	}
	var dots boxes
	for _, kind := range []ingest.EventKind{ingest.Bite, ingest.Catch} {
		look, radius := biteLook, 3.6
		if kind == ingest.Catch {
			look, radius = catchLook, 4.2
		}
		p.add("<g %s>\n", look)
		for _, e := range c.Events {
			if e.Kind == kind && finite(e.At) {
				at := f.at(e.At)
				dots = append(dots, around(at, radius, radius))
				p.add(`<circle cx="%s" cy="%s" r="%s"/>`+"\n", num(at.x), num(at.y), num(radius))
			}
		}
		p.add("</g>\n")
	}
	p.zoneNames(c, f, &taken)
	// A zone's name may hide a catch, a depth may not.
	taken = append(taken, dots...)
	for _, z := range c.Zones {
		if len(z.Shape) > 0 {
			if l := f.line(z.Shape[0]); len(l) > 0 {
				taken = append(taken, boxOf(l))
			}
		}
	}
	for _, d := range c.Drifts {
		line := f.line(d.Line)
		for i := range int(length(line) / 8) {
			at, _ := along(line, float64(8*i)/length(line))
			taken = append(taken, around(at, 4, 4))
		}
	}
	p.depths(c, f, &taken)
	p.scaleBar(f)
	p.add(`<g transform="translate(%s %s)"><circle cy="-4" r="25" fill="#fff" fill-opacity=".8"/><path d="M0-20L7 2L0-3L-7 2z"/><text y="17" text-anchor="middle" font-weight="bold">N</text></g>`+"\n", num(width-38), num(mapY+40))
}

// zoneNames puts each zone's id beside it, joined by a line when it is far.
func (p *page) zoneNames(c spatial.Chart, f frame, taken *boxes) {
	type plate struct {
		zone  spatial.Zone
		at    xy
		half  float64
		start *xy
	}
	var plates []plate
	for _, z := range c.Zones {
		if len(z.Shape) == 0 || len(f.line(z.Shape[0])) == 0 {
			continue
		}
		half := math.Max(20, wordsWide(z.ID, 20)/2+8)
		at, start := taken.beside(boxOf(f.line(z.Shape[0])), half, 14, box{0, mapY, width, mapY + f.height})
		plates = append(plates, plate{z, at, half, start})
	}
	for _, l := range plates { // under every plate
		if l.start != nil {
			p.add(`<path d="M%s %sL%s %s" stroke="%s" stroke-width="1.6"/>`+"\n", num(l.start.x), num(l.start.y), num(l.at.x), num(l.at.y), ink)
		}
	}
	for _, l := range plates {
		// Black on vermillion, and a dashed edge where nothing is proven.
		look, type_ := fmt.Sprintf(`fill="%s" stroke="#fff" stroke-width="1.5"`, export.Hex(export.ZoneColour)), "#16100a"
		if !l.zone.Proven {
			look, type_ = fmt.Sprintf(`fill="#fff" stroke="%s" stroke-width="2" stroke-dasharray="5 3"`, export.Hex(export.ZoneColour)), ink
		}
		p.add(`<g><title>%s</title><rect x="%s" y="%s" width="%s" height="28" rx="14" %s/>`, escaped(export.ZoneName(l.zone, p.units)), num(l.at.x-l.half), num(l.at.y-14), num(2*l.half), look)
		p.add(`<text x="%s" y="%s" font-size="20" font-weight="bold" text-anchor="middle" fill="%s">%s</text></g>`+"\n", num(l.at.x), num(l.at.y+7), type_, escaped(l.zone.ID))
	}
}

// depths prints each contour's depth where the chart wants it, as far as there is room.
func (p *page) depths(c spatial.Chart, f frame, taken *boxes) {
	const high = 15.0
	for _, l := range c.Contours {
		words := bare(p.units.Depth(l.DepthM))
		half := wordsWide(words, high)/2 + 3
		light, dark := "#fff", contour
		if inDark(c.Areas, l.DepthM) {
			light, dark = dark, light
		}
		for _, label := range l.Labels {
			if !finite(label.At) {
				continue
			}
			at := f.at(label.At)
			b := around(at, half, half)
			if at.x < half || at.x > width-half || at.y < mapY+half || at.y > mapY+f.height-half || !taken.free(b) {
				continue
			}
			*taken = append(*taken, b)
			p.add(`<g transform="translate(%s %s) rotate(%s)" font-size="%s" text-anchor="middle"><text y="5" stroke="%s" stroke-width="3.5" stroke-opacity=".7" stroke-linejoin="round">%s</text><text y="5" fill="%s">%s</text></g>`+"\n",
				num(at.x), num(at.y), num(-label.AngleDeg), num(high), light, escaped(words), dark, escaped(words))
		}
	}
}

// inDark tells whether the water about a contour is drawn in the deeper half of the ramp.
func inDark(areas []spatial.DepthArea, depthM float64) bool {
	shallower := 0
	for _, a := range areas {
		if a.BottomM <= depthM {
			shallower++
		}
	}
	return len(areas) > 1 && 2*shallower >= len(areas)
}

// scaleBar is a round length in the person's units, at most a quarter of the picture.
func (p *page) scaleBar(f frame) {
	yd := 3 * si.FootM
	rungs := []float64{5 * yd, 10 * yd, 20 * yd, 50 * yd, 100 * yd, 200 * yd, 400 * yd, 0.5 * si.MileM, si.MileM, 2 * si.MileM, 5 * si.MileM, 10 * si.MileM, 20 * si.MileM}
	if p.units == si.Metric {
		rungs = []float64{5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000}
	}
	bar := rungs[0]
	for _, r := range rungs {
		if r*f.scale <= width/4 {
			bar = r
		}
	}
	words := p.units.Distance(bar)
	x, y, wide := margin, mapY+f.height-16, bar*f.scale
	p.add(`<path fill="#fff" fill-opacity=".8" d="M%s %sh%sv38H%sz"/>`+"\n", num(x-8), num(y-30), num(math.Max(wide, wordsWide(words, small))+16), num(x-8))
	p.add(`<path fill="none" stroke="%s" stroke-width="2" d="M%s %sv7h%sv-7"/>`+"\n", ink, num(x), num(y-7), num(wide))
	p.text(x, y-11, "", words)
}
