package analyse

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/bottom"
)

// analysis is one season on its way to a chart.
type analysis struct {
	season ingest.Season
	set    spatial.Settings
	chart  spatial.Chart

	frame   plane.Frame
	shiftM  []float64 // by day: what turns its surface depths into the chart's
	ground  *bottom.Grid
	outings []outing   // by day
	effort  []moment   // all fishing, by time
	events  []occasion // in the order of chart.Events
	passes  []pass
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
	var lons, lats []float64
	add := func(p orb.Point) { lons, lats = append(lons, p[0]), append(lats, p[1]) }
	for _, d := range a.season.Days {
		for _, t := range d.Tracks {
			for _, f := range t.Fixes {
				if f.Flags == 0 {
					add(f.Pos)
				}
			}
		}
		if len(lons) == 0 {
			for _, s := range d.Soundings {
				add(s.At)
			}
			for _, e := range d.Events {
				add(e.At)
			}
		}
	}
	if len(lons) == 0 {
		for _, s := range a.season.Undated.Soundings {
			add(s.At)
		}
		for _, e := range a.season.Undated.Events {
			add(e.At)
		}
	}
	if len(lons) == 0 {
		a.frame = plane.New(orb.Point{})
		return nil
	}
	middle := func(v []float64) float64 {
		slices.Sort(v)
		return math.Round(v[len(v)/2]*100) / 100
	}
	a.frame = plane.New(orb.Point{middle(lons), middle(lats)})
	return nil
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

// gridBottom puts every sounding at the chart's level and grids them.
func (a *analysis) gridBottom(context.Context) error {
	a.level()
	var points []bottom.Point
	far := 0
	add := func(s ingest.PlacedSounding, shiftM float64) {
		if s.Flags != 0 {
			return
		}
		v, ok := a.near(s.At)
		if !ok {
			far++
			return
		}
		points = append(points, bottom.Point{At: v, DepthM: s.SurfaceM + shiftM})
	}
	for i, d := range a.season.Days {
		for _, s := range d.Soundings {
			add(s, a.shiftM[i])
		}
	}
	for _, s := range a.season.Undated.Soundings {
		add(s, 0)
	}
	if far > 0 {
		a.remark("soundings", "%d soundings lie more than %d km from the middle of the rest and are left out: one chart shows one lake.", far, farM/1000)
	}
	if n := len(a.season.Undated.Soundings); n > 0 {
		a.remark("soundings", "%d soundings carry a place but no time: they shape the bottom, at the level they were taken at, and nothing else.", n)
	}
	if len(points) == 0 {
		a.remark("soundings", "No sounding could be placed: there is no bottom, no contour and no depth band.")
	}
	a.ground = bottom.Build(points, a.set.CellM, a.set.ReachM)
	if c := a.ground.CellM(); c > a.set.CellM {
		a.remark("soundings", "The water sounded is so wide that the depth grid's cells were widened to %g m.", c)
	}
	return nil
}

// level settles the level that depths are shown at, and each day's shift to it.
func (a *analysis) level() {
	a.shiftM = make([]float64, len(a.season.Days))
	a.chart.LevelM = a.set.PoolM
	var without []string
	known := 0
	for _, d := range a.season.Days {
		if d.LevelM.OK {
			known++
			if !a.set.PoolM.OK {
				a.chart.LevelM = d.LevelM // days come by date, so the latest stays
			}
		} else if len(d.Soundings) > 0 {
			without = append(without, d.Date)
		}
	}
	switch {
	case known == 0 && a.set.PoolM.OK:
		a.chart.LevelM = ingest.Maybe{}
		a.remark("level", "A level was asked for, but no day's own level is known: depths are as sounded on each day.")
		return
	case known == 0:
		if len(without) > 1 {
			a.remark("level", "No water levels were given: depths are as sounded on each day, and days are not aligned.")
		}
		return
	case len(without) > 0:
		a.remark("level", "Of %d of the days with soundings no level is known (first %s): their depths are as sounded.", len(without), without[0])
	}
	for i, d := range a.season.Days {
		if d.LevelM.OK {
			a.shiftM[i] = ingest.AtLevel(0, d.LevelM.V, a.chart.LevelM.V)
		}
	}
}

// depthAt returns the bottom at v, at the chart's level.
func (a *analysis) depthAt(v r2.Vec) ingest.Maybe {
	d, ok := a.ground.DepthM(v)
	return ingest.Maybe{V: d, OK: ok}
}

// drawContours adds contours and depth areas to the chart.
func (a *analysis) drawContours(ctx context.Context) error {
	least, most, ok := a.ground.Range()
	if !ok {
		return nil
	}
	step := a.set.ContourM
	for k := int(math.Ceil(math.Max(least, 0) / step)); float64(k)*step <= most; k++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		depthM := float64(k) * step
		var lines orb.MultiLineString
		for _, l := range a.ground.Contour(depthM) {
			lines = append(lines, orb.LineString(a.degrees(l)))
		}
		if len(lines) > 0 {
			a.chart.Contours = append(a.chart.Contours, spatial.Contour{DepthM: depthM, Lines: lines})
		}
	}
	// At most eight areas: more tints than that can't be told apart on a screen.
	areaM := step * math.Max(1, math.Ceil((most-math.Max(least, 0))/step/8))
	for k := int(math.Floor(least / areaM)); float64(k)*areaM < most; k++ {
		area := spatial.DepthArea{TopM: float64(k) * areaM, BottomM: float64(k+1) * areaM}
		area.Shape = a.polygons(a.ground.Area(area.TopM, area.BottomM))
		if len(area.Shape) > 0 {
			a.chart.Areas = append(a.chart.Areas, area)
		}
	}
	return nil
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
