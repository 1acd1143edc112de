package analyse

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/bottom"
	"leadline/spatial/leeway"
	"leadline/spatial/rate"
	"leadline/spatial/structure"
)

// analysis is one season on its way to a chart.
type analysis struct {
	season ingest.Season
	set    spatial.Settings
	chart  spatial.Chart

	frame    plane.Frame
	ground   *bottom.Model
	shape    *structure.Map // of the bottom; nil without one
	outings  []outing       // by day
	effort   []moment       // all fishing, by time
	crawling bool           // whether crawling under the motor is in it
	events   []occasion     // in the order of chart.Events
	passes   []pass
	grounds  []ground     // of chart.Zones, in their order
	boat     leeway.Model // usable when chart.Leeway is OK

	places   rate.Prior // how much the rates of places differ
	placesOK bool       // false without effort
}

func (a *analysis) remark(about, format string, args ...any) {
	a.chart.Remarks = append(a.chart.Remarks, spatial.Remark{About: about, Text: fmt.Sprintf(format, args...)})
}

// farM is how far from the middle of everything a record may lie: as far as the
// plane keeps its promise. What lies beyond is another lake, or the road home.
const farM = 20000

// layPlane puts a plane at the middle of the season. It stands at a hundredth of a
// degree, so that next week's season stands on the same plane and cells.
func (a *analysis) layPlane(context.Context) error {
	var lons, lats hundredths
	add := func(p orb.Point) {
		lons.add(p[0])
		lats.add(p[1])
	}
	for _, d := range a.season.Days {
		for _, t := range d.Tracks {
			for i := range t.Fixes {
				if f := &t.Fixes[i]; f.Flags == 0 {
					add(f.Pos)
				}
			}
		}
		if lons.n == 0 {
			for i := range d.Soundings {
				add(d.Soundings[i].At)
			}
			for _, e := range d.Events {
				add(e.At)
			}
		}
	}
	if lons.n == 0 {
		for _, s := range a.season.Undated.Soundings {
			add(s.At)
		}
		for _, e := range a.season.Undated.Events {
			add(e.At)
		}
	}
	a.frame = plane.New(orb.Point{lons.median(), lats.median()})
	return nil
}

// hundredths counts angles by the hundredth of a degree that they round to.
type hundredths struct {
	count map[float64]int
	n     int
	last  float64 // most angles are those of the same hundredth as the one before
	run   int
}

func (h *hundredths) add(deg float64) {
	h.n++
	if at := math.Round(deg * 100); at == h.last {
		h.run++
	} else {
		h.flush()
		h.last, h.run = at, 1
	}
}

func (h *hundredths) flush() {
	if h.count == nil {
		h.count = map[float64]int{}
	}
	h.count[h.last] += h.run
	h.run = 0
}

// median returns the upper median in degrees, 0 of none.
func (h *hundredths) median() float64 {
	h.flush()
	rest := h.n / 2
	for _, at := range slices.Sorted(maps.Keys(h.count)) {
		if rest -= h.count[at]; rest < 0 {
			return at / 100
		}
	}
	return 0
}

// near returns where p lies on the plane; ok is false when that is too far away.
func (a *analysis) near(p orb.Point) (v r2.Vec, ok bool) {
	const mostDeg = 5 // beyond this a projection is meaningless, and costs nothing to refuse
	if o := a.frame.Origin(); math.Abs(math.Remainder(p[0]-o[0], 360)) > mostDeg || math.Abs(p[1]-o[1]) > mostDeg {
		return r2.Vec{}, false
	}
	v = a.frame.Metres(p)
	return v, r2.Norm(v) <= farM
}

// gridBottom puts every sounding at the chart's level, lays days without a level on
// the others, leaves out what other passes speak against, and grids the rest.
func (a *analysis) gridBottom(ctx context.Context) error {
	a.level()
	soundings, sources := a.placeSoundings()
	a.ground = &bottom.Model{}
	if len(soundings) == 0 {
		a.remark("soundings", "No sounding could be placed: there is no bottom, no contour and no depth band.")
		return nil
	}
	cellM := a.set.CellM
	if cellM == 0 {
		cellM = bottom.CellM(soundings)
	}
	thin := bottom.Thin(soundings, cellM, a.set.ReachM)
	if c := thin.CellM(); c > cellM {
		a.remark("soundings", "The water sounded is so wide that the depth grid's cells were widened to %g m.", c)
	}
	a.alignDays(thin)
	a.sayShifts()
	b := &a.chart.Bottom
	b.CellM = thin.CellM()
	strays := thin.FindStrays()
	b.Strays = len(strays)
	if len(strays) > 0 {
		b.StraysOf = make([]int, max(len(a.season.Sources), 1+int(slices.Max(sources))))
		for _, i := range strays {
			b.StraysOf[sources[i]]++
		}
	}
	x := thin.Crossings()
	b.Crossings.N = x.N
	if x.N > 0 {
		b.Crossings.MedianM, b.Crossings.P95M = ingest.Known(x.MedianM), ingest.Known(x.P95M)
		b.Crossings.DepthM, b.Crossings.OneM = ingest.Known(x.DepthM), ingest.Known(x.OneM())
		for _, l := range bottom.Limits {
			b.Crossings.Limits = append(b.Crossings.Limits, spatial.DepthLimit{Order: l.Order, M: l.M(x.DepthM)})
		}
	}
	var err error
	if a.ground, err = thin.Build(ctx, a.set.ReachM); err != nil {
		return err
	}
	b.Sounded, b.Passes, b.Tested = a.ground.Sounded, a.ground.Passes, a.ground.Tested
	for _, t := range a.ground.Trials {
		b.Trials = append(b.Trials, spatial.Trial{Method: t.Method, MeanM: t.MeanM, RMSEM: t.RMSEM, BiasM: t.BiasM, P95M: t.P95M, Share: t.Share,
			Places: t.N, NearRMSEM: t.NearRMSEM, NearPlaces: t.NearN, Chosen: t.Chosen})
	}
	var unsure []float64
	for i, known := range a.ground.U95.Known {
		if known {
			unsure = append(unsure, float64(a.ground.U95.Values[i]))
		}
	}
	if b.Cells = len(unsure); b.Cells > 0 {
		b.U95M = ingest.Known(quantile(0.5, unsure))
	}
	a.shape = structure.Read(a.ground.Depth, structure.Defaults(b.CellM))
	return nil
}

// placeSoundings returns the sound soundings on the plane at the chart's level, by
// day and time, those without a time last, and the source of each.
func (a *analysis) placeSoundings() (out []bottom.Sounding, sources []int32) {
	n := len(a.season.Undated.Soundings)
	for _, d := range a.season.Days {
		n += len(d.Soundings)
	}
	out, sources = make([]bottom.Sounding, 0, n), make([]int32, 0, n)
	far := 0
	add := func(s ingest.PlacedSounding, day int, sec, shiftM float64) {
		if s.Flags != 0 {
			return
		}
		v, ok := a.near(s.At)
		if !ok {
			far++
			return
		}
		out = append(out, bottom.Sounding{At: v, DepthM: s.SurfaceM + shiftM, S: sec, Day: int32(day)})
		sources = append(sources, int32(s.Source))
	}
	for i, d := range a.season.Days {
		for _, s := range d.Soundings {
			add(s, i, s.Time.Sub(d.Soundings[0].Time).Seconds(), a.chart.Days[i].Shift.M)
		}
	}
	for _, s := range a.season.Undated.Soundings {
		add(s, -1, 0, 0)
	}
	if far > 0 {
		a.remark("soundings", "%d soundings lie more than %d km from the middle of the rest and are left out: one chart shows one lake.", far, farM/1000)
	}
	if n := len(a.season.Undated.Soundings); n > 0 {
		a.remark("soundings", "%d soundings carry a place but no time: they shape the bottom, at the level they were taken at, and nothing else.", n)
	}
	return out, sources
}

// depthAt returns the bottom at v, at the chart's level.
func (a *analysis) depthAt(v r2.Vec) ingest.Maybe {
	d, ok := a.ground.DepthM(v)
	return ingest.Maybe{V: d, OK: ok}
}

func (a *analysis) degrees(v []r2.Vec) []orb.Point {
	out := make([]orb.Point, len(v))
	for i := range v {
		out[i] = a.frame.Degrees(v[i])
	}
	return out
}

// polygons turns polygons in metres into degrees.
func (a *analysis) polygons(mp orb.MultiPolygon) orb.MultiPolygon {
	for _, p := range mp {
		for _, r := range p {
			for i, q := range r {
				r[i] = a.frame.Degrees(r2.Vec{X: q[0], Y: q[1]})
			}
		}
	}
	return mp
}
