package webmap

import (
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
)

// What the script is given. Positions are decimetres east and north of the chart's
// middle: a tenth of what a fix is good for, and a pixel at the nearest zoom. A line is
// flat: x and y of the first point, then the steps to each next one. By hand: points at
// (1 m, 2 m) and (1.5 m, 1 m) are [10,20,5,-10].
//
// Steps are differences of rounded positions, so that errors don't add up.
const perM = 10

type flat []int

// data has its fields in the order in which they are written.
type data struct {
	Low, High [2]int     // corners of everything
	Rungs     []rung     // of the scale bar, shortest first
	DepthUnit string     // of the numbers on contours
	Unsure    string     `json:",omitempty"`
	Doubtful  [][]flat   `json:",omitempty"` // where the depth is unsure
	Areas     []area     `json:",omitempty"`
	Contours  []contour  `json:",omitempty"`
	Zones     []feature  `json:",omitempty"`
	Drifts    []feature  `json:",omitempty"`
	Marks     []feature  `json:",omitempty"`
	Tracks    []trackSet `json:",omitempty"`
}

type rung struct {
	M    float64
	Text string
}

type area struct {
	Text        string // "5–10 ft"
	Light, Dark string // colours
	Shape       [][]flat
}

type contour struct {
	Text  string // the depth without its unit
	Deep  bool   // on dark water: light type
	Lines []flat
}

// A feature can be picked and has a card.
type feature struct {
	ID      string      `json:",omitempty"`
	Name    string      // heading of the card, and of its button
	Kind    string      // "proven", "unproven", "drift", or the kind of event
	Rings   []flat      `json:",omitempty"` // of a zone
	Line    flat        `json:",omitempty"` // of a drift
	Best    flat        `json:",omitempty"` // its best stretch
	At      flat        // a zone's centre, a mark's place
	Facts   [][2]string // label, value
	Why     []string    `json:",omitempty"`
	Advice  [][2]string `json:",omitempty"` // what, why
	Heading string      `json:",omitempty"` // of the advice
	Caution string      `json:",omitempty"`
}

type trackSet struct {
	State, Name string
	Lines       []flat
}

// A grid turns positions into whole decimetres.
type grid struct{ frame plane.Frame }

func (g grid) at(p orb.Point) [2]int {
	v := g.frame.Metres(p)
	return [2]int{int(math.Round(v.X * perM)), int(math.Round(v.Y * perM))}
}

// line returns the flat form, without points that repeat the one before; nil when empty.
func (g grid) line(ps []orb.Point) flat {
	var out flat
	var last [2]int
	for i, p := range ps {
		q := g.at(p)
		if i > 0 && q == last {
			continue
		}
		out = append(out, q[0]-last[0], q[1]-last[1])
		last = q
	}
	return out
}

// lines leaves out what rounds to fewer points than least.
func lines[L ~[]orb.Point](g grid, ls []L, least int) []flat {
	var out []flat
	for _, l := range ls {
		if f := g.line(l); len(f) >= 2*least {
			out = append(out, f)
		}
	}
	return out
}

func (g grid) polygons(m orb.MultiPolygon) [][]flat {
	var out [][]flat
	for _, p := range m {
		if rings := lines(g, p, 4); len(rings) > 0 {
			out = append(out, rings)
		}
	}
	return out
}

// newData returns ok false when nothing has a position.
func newData(in export.Findings, opt export.Options) (d data, ok bool) {
	c, u := in.Chart, opt.Units
	pts := positions(c)
	if len(pts) == 0 {
		return data{}, false
	}
	// Bounds are taken in metres, where a lake across 180° is whole.
	low, high := bounds(plane.New(pts[0]), pts)
	middle := plane.New(pts[0]).Degrees(r2.Scale(0.5, r2.Add(low, high)))
	g := grid{plane.New(middle)}
	low, high = bounds(g.frame, pts)
	d.Low = [2]int{int(math.Floor(low.X * perM)), int(math.Floor(low.Y * perM))}
	d.High = [2]int{int(math.Ceil(high.X * perM)), int(math.Ceil(high.Y * perM))}
	d.Rungs = rungs(u)
	_, d.DepthUnit, _ = strings.Cut(u.Depth(1), " ")

	// On a dark screen the palest part of the ramp would outshine everything else.
	const darkFrom = 0.36
	n := len(c.Areas)
	for i, a := range c.Areas {
		if shape := g.polygons(a.Shape); shape != nil {
			d.Areas = append(d.Areas, area{
				Text:  bare(u.Depth(a.TopM)) + "–" + u.Depth(a.BottomM),
				Light: export.Hex(export.DepthColour(i, n, 0)), Dark: export.Hex(export.DepthColour(i, n, darkFrom)),
				Shape: shape,
			})
		}
	}
	if d.Doubtful = g.polygons(c.Bottom.Unsure); d.Doubtful != nil {
		d.Unsure = "may be off by more than " + export.FineDepth(c.Bottom.UnsureM, u)
	}
	for _, l := range c.Contours {
		if ls := lines(g, l.Lines, 2); ls != nil {
			d.Contours = append(d.Contours, contour{bare(u.Depth(l.DepthM)), deep(c.Areas, l.DepthM), ls})
		}
	}
	for _, z := range c.Zones {
		d.Zones = append(d.Zones, zone(g, z, c, u))
	}
	for _, l := range c.Drifts {
		if f := drift(g, l, u); f.Line != nil {
			d.Drifts = append(d.Drifts, f)
		}
	}
	for _, e := range c.Events {
		d.Marks = append(d.Marks, feature{
			Name: export.EventName(e, c.Zone), Kind: e.Kind.String(), At: g.line([]orb.Point{e.At}),
			Facts: pairs(export.EventFacts(e, c.Zone, u)),
		})
	}
	d.Tracks = tracks(g, c.Tracks)
	return d, true
}

func zone(g grid, z spatial.Zone, c spatial.Chart, u si.System) feature {
	f := feature{
		ID: z.ID, Name: export.ZoneName(z, u), Kind: "unproven", At: g.line([]orb.Point{z.Centre}),
		Rings: lines(g, z.Shape, 4), Facts: pairs(export.ZoneFacts(z, c.Forecast, u)),
		Why: strings.Split(export.HeadWhy(z.Head, u), "\n"), Heading: export.AdviceHeading,
	}
	if z.Proven {
		f.Kind = "proven"
	}
	for _, a := range export.Advice(z, c.Leeway, u) {
		f.Advice = append(f.Advice, [2]string{a.What, a.Why})
	}
	if z.FishBottomM.OK && z.FishBottomM.V > export.DeepFishM {
		f.Caution = export.DeepFishCaution(u)
	}
	return f
}

func drift(g grid, l spatial.DriftLine, u si.System) feature {
	f := feature{ID: l.ID, Name: export.DriftName(l, u), Kind: "drift", Facts: pairs(export.DriftFacts(l, u))}
	if line := g.line(l.Line); len(line) >= 4 {
		f.Line, f.At = line, line[:2]
		if l.ProductiveFromM.OK && l.ProductiveToM.OK && l.LengthM > 0 {
			f.Best = g.line(stretch(g.frame, l.Line, l.ProductiveFromM.V/l.LengthM, l.ProductiveToM.V/l.LengthM))
		}
	}
	return f
}

// stretch returns the part of a line between two shares of its length.
func stretch(frame plane.Frame, line orb.LineString, from, to float64) []orb.Point {
	along := make([]float64, len(line)) // metres from the start
	for i := 1; i < len(line); i++ {
		along[i] = along[i-1] + r2.Norm(r2.Sub(frame.Metres(line[i]), frame.Metres(line[i-1])))
	}
	whole := along[len(along)-1]
	place := func(m float64) orb.Point {
		for i := 1; i < len(line); i++ {
			if step := along[i] - along[i-1]; m <= along[i] && step > 0 {
				a, b := frame.Metres(line[i-1]), frame.Metres(line[i])
				return frame.Degrees(r2.Add(a, r2.Scale(math.Max(m-along[i-1], 0)/step, r2.Sub(b, a))))
			}
		}
		return line[len(line)-1]
	}
	out := []orb.Point{place(from * whole)}
	for i, p := range line {
		if along[i] > from*whole && along[i] < to*whole {
			out = append(out, p)
		}
	}
	return append(out, place(to*whole))
}

// trackStates are the states that a track is drawn by, what is drawn under the others
// first. Pieces of no known state are left out.
var trackStates = []string{"running", "crawling", "stopped", "holding", "drifting"}

func tracks(g grid, pieces []spatial.TrackPiece) []trackSet {
	var out []trackSet
	for _, s := range trackStates {
		t := trackSet{State: s}
		for _, h := range export.DayStates(spatial.DaySummary{}) {
			if h.State == s {
				t.Name = h.Name
			}
		}
		for _, p := range pieces {
			if p.State == s {
				t.Lines = append(t.Lines, lines(g, []orb.LineString{p.Line}, 2)...)
			}
		}
		if t.Lines != nil {
			out = append(out, t)
		}
	}
	return out
}

// deep tells whether the water about a contour is drawn dark: in the deeper half of the
// ramp.
func deep(areas []spatial.DepthArea, depthM float64) bool {
	shallower := 0
	for _, a := range areas {
		if a.BottomM <= depthM {
			shallower++
		}
	}
	return len(areas) > 1 && 2*shallower >= len(areas)
}

// rungs are the lengths that a scale bar may have, with the words of si.
func rungs(u si.System) []rung {
	const yd = 3 * si.FootM
	ms := []float64{5 * yd, 10 * yd, 20 * yd, 50 * yd, 100 * yd, 200 * yd, 400 * yd, 0.5 * si.MileM, si.MileM, 2 * si.MileM, 5 * si.MileM, 10 * si.MileM, 20 * si.MileM}
	if u == si.Metric {
		ms = []float64{5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000}
	}
	out := make([]rung, len(ms))
	for i, m := range ms {
		out[i] = rung{export.Round(m, 3).V, u.Distance(m)}
	}
	return out
}

func pairs(facts []export.Fact) [][2]string {
	out := make([][2]string, len(facts))
	for i, f := range facts {
		out[i] = [2]string{f.Label, f.Value}
	}
	return out
}

// bare is a printed quantity without its unit.
func bare(s string) string {
	number, _, _ := strings.Cut(s, " ")
	return strings.TrimSuffix(number, ".0")
}

func positions(c spatial.Chart) []orb.Point {
	var out []orb.Point
	for _, a := range c.Areas {
		for _, p := range a.Shape {
			out = append(out, slices.Concat(p...)...)
		}
	}
	for _, l := range c.Contours {
		for _, piece := range l.Lines {
			out = append(out, piece...)
		}
	}
	for _, z := range c.Zones {
		out = append(out, z.Centre)
		out = append(out, slices.Concat(z.Shape...)...)
	}
	for _, d := range c.Drifts {
		out = append(out, d.Line...)
	}
	for _, e := range c.Events {
		out = append(out, e.At)
	}
	for _, t := range c.Tracks {
		out = append(out, t.Line...)
	}
	return out
}

func bounds(f plane.Frame, pts []orb.Point) (low, high r2.Vec) {
	low, high = f.Metres(pts[0]), f.Metres(pts[0])
	for _, p := range pts {
		v := f.Metres(p)
		low = r2.Vec{X: math.Min(low.X, v.X), Y: math.Min(low.Y, v.Y)}
		high = r2.Vec{X: math.Max(high.X, v.X), Y: math.Max(high.Y, v.Y)}
	}
	return low, high
}
