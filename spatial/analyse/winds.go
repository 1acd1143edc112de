package analyse

import (
	"cmp"
	"context"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/leeway"
)

const (
	// Between two readings of the wind farther apart than this, or this far from the only one near,
	// anything may have blown. Most tables and stations have a reading an hour.
	windApart = 2 * time.Hour
	windNear  = 30 * time.Minute
	// windStep is how finely a pass is cut to average its wind.
	windStep = time.Minute
)

// learnWinds adds to the chart how the boat drifts in wind, and the drift to expect in the
// wind that was asked about.
func (a *analysis) learnWinds(context.Context) error {
	var passes []leeway.Pass
	winds := 0
	for _, d := range a.season.Days {
		winds += len(d.Winds)
	}
	for _, p := range a.passes {
		if w, ok := windOver(a.season.Days[p.day].Winds, p.from, p.to); ok {
			passes = append(passes, leeway.Pass{Day: p.day, MPS: r2.Scale(p.speedMPS, plane.Toward(p.towardDeg)), WindMPS: w, Seconds: p.Seconds})
		}
	}
	l := &a.chart.Leeway
	model, why := leeway.Learn(passes)
	a.boat = model
	switch {
	case len(a.passes) == 0:
		l.Why = "there is no drift pass"
	case winds == 0:
		l.Why = "no wind was read"
		a.remark("wind", "No wind was read: drift speeds are those of the passes as they were made, and nothing is said of other winds.")
	case why != "":
		l.Why = string(why)
		a.remark("wind", "How the boat drifts in wind can't be told: %s. Drift speeds are those of the passes as they were made.", why)
	default:
		*l = leewayOf(model)
	}
	a.foretell(model)
	return nil
}

func leewayOf(m leeway.Model) spatial.Leeway {
	l := spatial.Leeway{
		OK: true, Passes: m.Passes, Days: m.Days,
		PerWind: m.PerWind, PerWindLow: m.PerWind - m.PerWindU95, PerWindHigh: m.PerWind + m.PerWindU95,
		AngleDeg: m.AngleDeg, AngleLowDeg: m.AngleDeg - m.AngleU95Deg, AngleHighDeg: m.AngleDeg + m.AngleU95Deg,
		ScatterMPS: max(m.AlongMPS, m.AcrossMPS), CurrentWhy: string(m.CurrentWhy),
	}
	if m.CurrentKnown {
		mps := r2.Norm(m.Current)
		l.CurrentMPS, l.CurrentU95MPS = ingest.Known(mps), ingest.Known(m.CurrentU95MPS)
		if mps > m.CurrentU95MPS {
			l.CurrentTowardDeg = ingest.Known(plane.BearingDeg(m.Current))
		}
	}
	return l
}

// foretell adds the drift in the wind that was asked about, and each zone's head for it.
func (a *analysis) foretell(m leeway.Model) {
	if a.set.Forecast == nil {
		return
	}
	w := *a.set.Forecast
	f := &spatial.Forecast{WindMPS: w.SpeedMPS, WindFromDeg: w.FromDeg}
	a.chart.Forecast = f
	if !a.chart.Leeway.OK {
		f.Why = a.chart.Leeway.Why
		return
	}
	d := m.Predict(r2.Scale(-w.SpeedMPS, plane.Toward(w.FromDeg)), 0, 0)
	f.SpeedMPS, f.LowMPS, f.HighMPS = ingest.Known(d.SpeedMPS), ingest.Known(d.LowMPS), ingest.Known(d.HighMPS)
	f.TowardU95Deg, f.Beyond, f.Why = d.TowardU95Deg, d.Beyond, string(d.Why)
	if d.TowardU95Deg.OK {
		f.TowardDeg = ingest.Known(d.TowardDeg)
	}
}

// windOver returns the mean wind from one time to another, m/s the way it blows toward, from readings by
// time; ok is false where at some moment no reading is near.
func windOver(winds []ingest.Wind, from, to time.Time) (mps r2.Vec, ok bool) {
	n := 0
	for t := from; !t.After(to); t = t.Add(windStep) {
		w, ok := windAt(winds, t)
		if !ok {
			return r2.Vec{}, false
		}
		mps = r2.Add(mps, w)
		n++
	}
	if n == 0 {
		return r2.Vec{}, false
	}
	return r2.Scale(1/float64(n), mps), true
}

// windAt returns the wind at a time, as a vector straight between the readings before and after.
func windAt(winds []ingest.Wind, t time.Time) (mps r2.Vec, ok bool) {
	vec := func(w ingest.Wind) r2.Vec { return r2.Scale(-w.SpeedMPS, plane.Toward(w.FromDeg)) }
	i, _ := slices.BinarySearchFunc(winds, t, func(w ingest.Wind, t time.Time) int { return w.Time.Compare(t) })
	if i > 0 && i < len(winds) {
		a, b := winds[i-1], winds[i]
		if span := b.Time.Sub(a.Time); span > 0 && span <= windApart {
			f := float64(t.Sub(a.Time)) / float64(span)
			return r2.Add(r2.Scale(1-f, vec(a)), r2.Scale(f, vec(b))), true
		}
	}
	near := winds[max(0, i-1):min(len(winds), i+1)]
	if len(near) == 0 {
		return r2.Vec{}, false
	}
	best := slices.MinFunc(near, func(a, b ingest.Wind) int { return cmp.Compare(a.Time.Sub(t).Abs(), b.Time.Sub(t).Abs()) })
	return vec(best), best.Time.Sub(t).Abs() <= windNear
}
