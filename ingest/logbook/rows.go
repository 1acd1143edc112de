package logbook

import (
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

// What the layers show is thinned: the full rate is in leadline_packed.
const (
	// trackErrorM is how far the thinned track may run beside the fixes: less than half of what a receiver errs by
	// (3 to 5 m, common practice, no source).
	trackErrorM = 1.5
	// Of soundings those are shown that lie thinnedM from the last that is shown, or, where the bottom falls away, a
	// metre and more from it and stepM deeper or shallower.
	thinnedM   = 10
	leastM     = 1
	stepM      = 0.5
	onWaterGap = time.Minute // longer gaps are no time on the water
)

// Rows returns what the layers show of a joined day: its sound fixes, its sound soundings thinned, and its counts. Sources
// are those of the season that the day is of. Levels that were noted are in it; notes of events are not.
// Cost: n log n in fixes as a rule.
func Rows(d ingest.Day) DayRows {
	r := DayRows{Day: d.Date, Events: len(d.Events), LevelM: d.LevelM, Held: true}
	temps := make([]float64, 0, len(d.Soundings))
	seen := func(t time.Time, p orb.Point) {
		if !t.IsZero() {
			if r.First.IsZero() || t.Before(r.First) {
				r.First = t
			}
			if t.After(r.Last) {
				r.Last = t
			}
		}
		if !r.HasBound {
			r.Bound, r.HasBound = p.Bound(), true
		}
		for k := range p { // as orb's Extend does, which is slower
			if p[k] < r.Bound.Min[k] {
				r.Bound.Min[k] = p[k]
			}
			if p[k] > r.Bound.Max[k] {
				r.Bound.Max[k] = p[k]
			}
		}
	}
	for _, t := range d.Tracks {
		line, unixS := make(orb.LineString, 0, len(t.Fixes)), make([]float64, 0, len(t.Fixes))
		row := TrackRow{Source: t.Source, Name: t.Name}
		for i := range t.Fixes {
			f := &t.Fixes[i]
			if f.Flags != 0 {
				continue
			}
			if row.Fixes == 0 {
				row.First = f.Time
			} else if gap := f.Time.Sub(row.Last); gap <= onWaterGap {
				r.OnWaterS += gap.Seconds()
			}
			row.Fixes++
			row.Last = f.Time
			seen(f.Time, f.Pos)
			line, unixS = append(line, f.Pos), append(unixS, float64(f.Time.UnixMilli())/1000)
		}
		r.Fixes += row.Fixes
		if row.Line, row.UnixS = thinLine(line, unixS); len(row.Line) >= 2 {
			r.Tracks = append(r.Tracks, row)
		}
	}
	var frame plane.Frame
	var last *ingest.PlacedSounding
	var lastM r2.Vec
	var near closeness
	for i := range d.Soundings {
		s := &d.Soundings[i]
		if s.Flags != 0 {
			continue
		}
		r.Soundings++
		seen(s.Time, s.At)
		if s.TempC.OK {
			temps = append(temps, s.TempC.V)
		}
		if last == nil {
			frame = plane.New(s.At)
		} else if near.within(s.At, leastM) || math.Abs(s.SurfaceM-last.SurfaceM) < stepM && near.within(s.At, thinnedM) {
			continue
		}
		at := frame.Metres(s.At)
		if m := r2.Norm(r2.Sub(at, lastM)); last != nil && (m < leastM || m < thinnedM && math.Abs(s.SurfaceM-last.SurfaceM) < stepM) {
			continue
		}
		last, lastM, near = s, at, closeTo(s.At)
		r.Thinned = append(r.Thinned, SoundingRow{Source: s.Source, Time: s.Time, At: s.At, DepthM: s.SurfaceM, TempC: s.TempC})
	}
	for _, e := range d.Events {
		seen(e.Time, e.At)
	}
	if len(temps) > 0 {
		slices.Sort(temps)
		n := len(temps)
		r.TempC = ingest.Known((temps[(n-1)/2] + temps[n/2]) / 2)
	}
	return r
}

// A closeness tells cheaply that places lie near one, where it is plain: no degree of latitude is longer than 111.7 km, and none
// of longitude longer than that times the cosine of the latitude (WGS 84; both at the poles).
type closeness struct {
	at            orb.Point
	eastM, northM float64 // per degree, at most
}

func closeTo(p orb.Point) closeness {
	const degreeM = 111_700
	// A hundredth of a degree on, the cosine is no more than two parts in ten thousand larger.
	return closeness{p, degreeM * (math.Cos(p.Lat()*math.Pi/180) + 0.0002), degreeM}
}

// within is true only for places less than m metres away, which is less than a kilometre.
func (c closeness) within(p orb.Point, m float64) bool {
	east, north := (p[0]-c.at[0])*c.eastM, (p[1]-c.at[1])*c.northM
	const sure = 0.999 // the plane's own lengths are longer by less, within 300 km
	return east*east+north*north < sure*m*m
}

// thinLine returns as few of the positions as keep within trackErrorM of all, with their measures, in metres of a plane.
func thinLine(line orb.LineString, measures []float64) ([]orb.Point, []float64) {
	if len(line) < 2 {
		return nil, nil
	}
	frame := plane.New(line.Bound().Center())
	flat := make(orb.LineString, len(line))
	for i, p := range line {
		v := frame.Metres(p)
		flat[i] = orb.Point{v.X, v.Y}
	}
	var kept []orb.Point
	for i, is := range farthest(flat, trackErrorM) {
		if is {
			kept = append(kept, flat[i])
		}
	}
	var out []orb.Point
	var m []float64
	k := 0
	for i, p := range flat {
		if k < len(kept) && p == kept[k] {
			k++
			out, m = append(out, line[i]), append(m, measures[i])
		}
	}
	if n := len(m); n > 0 {
		m[n-1] = measures[len(measures)-1] // it may have stood at its last place
	}
	return out, m
}
