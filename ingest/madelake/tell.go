package madelake

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r2"
)

// truth tells what was made, in figures rounded so that the file and the value
// in memory agree.
func (w *world) truth() Truth {
	ramp := degrees(w.ramp)
	t := Truth{
		Reservoir: "Lantern Hollow Reservoir", Seed: w.plan.Seed, Size: w.plan.Size.String(), TimeZone: zone.String(),
		OriginLat: Origin.Lat(), OriginLon: Origin.Lon(), RampLat: ramp.Lat(), RampLon: ramp.Lon(),
		CastM: castM, TransducerM: transducerM,
		ReferenceLevelM: round(w.days[len(w.days)-1].levelM, 6),
		BackgroundPerH:  w.plan.BackgroundPerH, SchoolEventsPerH: w.plan.EventsPerH,
		Days: []Day{}, Schools: []School{}, Barren: []Spot{}, Lingers: []Spot{}, DriftLines: []DriftLine{}, Events: []Event{},
	}
	for i := range w.days {
		d := w.tellDay(&w.days[i])
		t.FishingH += d.FishingH
		t.Days = append(t.Days, d)
		t.Stretches = append(t.Stretches, w.days[i].stretches()...)
	}
	t.FishingH = round(t.FishingH, 4)
	for i := range w.schools {
		t.Schools = append(t.Schools, w.tellSchool(i))
	}
	for _, s := range w.barren {
		t.Barren = append(t.Barren, w.tellSpot(s))
	}
	for _, s := range w.lingers {
		t.Lingers = append(t.Lingers, w.tellSpot(s))
	}
	for i := range w.lines {
		t.DriftLines = append(t.DriftLines, w.tellLine(i))
	}
	for _, e := range w.events {
		t.Events = append(t.Events, w.tellEvent(e))
	}
	t.Leeway = w.leeway
	t.Files = slices.Clone(w.files)
	slices.SortFunc(t.Files, func(a, b FileTruth) int { return cmp.Compare(a.Name, b.Name) })
	return t
}

func (w *world) tellDay(d *day) Day {
	fishing, run := 0, 0
	for _, s := range d.path {
		if s.mode.fishing() {
			fishing++
		}
		if s.mode == running {
			run++
		}
	}
	from := d.windTowards + 180
	if from >= 360 {
		from -= 360
	}
	mps := d.windMPS
	if w.plan.Wind {
		mps, from = d.meanWind()
	}
	return Day{
		Date: d.date, Start: d.start, End: d.start.Add(time.Duration(len(d.path)-1) * time.Second),
		LevelM: round(d.levelM, 6), WindFromDeg: math.Mod(round(from, 1), 360), WindMPS: round(mps, 2),
		FishingH: hours(fishing), RunningH: hours(run),
	}
}

var states = [...]string{atRamp: "stopped", running: "running", onPass: "drifting", holding: "holding", returning: "crawling"}

// stretches tells what the boat did, one after the other.
func (d *day) stretches() (out []Stretch) {
	for from := 0; from < len(d.path); {
		to := from + 1
		for to < len(d.path) && d.path[to].mode == d.path[from].mode {
			to++
		}
		out = append(out, Stretch{d.date, d.timeAt(from), d.timeAt(to), states[d.path[from].mode]})
		from = to
	}
	return out
}

func hours(seconds int) float64 { return round(float64(seconds)/3600, 4) }

func (w *world) tellSchool(i int) School {
	s := &w.schools[i]
	at := degrees(s.shape.at)
	out := School{
		Name: s.name, Species: s.species, Lat: at.Lat(), Lon: at.Lon(),
		LongHalfM: round(s.shape.longM, 2), ShortHalfM: round(s.shape.shortM, 2), BearingDeg: round(s.shape.deg, 2),
		BottomM: round(bottomM(s.shape.at), 3), FishTopM: round(s.topM, 3), FishBottomM: round(s.bottomM, 3),
		HourFrom: s.hourFrom, HourTo: s.hourTo, DaysPresent: []string{}, EventsByDay: []DayCount{},
		EventsPerH: round(s.perH, 3), DriftLine: w.lines[s.line].name, PassesOver: len(w.lines[s.line].passes),
	}
	fished, on := 0, 0
	for d := range w.days {
		day := &w.days[d]
		if s.on[d] {
			out.DaysPresent = append(out.DaysPresent, day.date)
		}
		if s.stray != nil {
			at := degrees(s.shapeOn(d).at)
			out.Wandered = append(out.Wandered, Place{day.date, at.Lat(), at.Lon()})
		}
		today := 0
		for k, step := range day.path {
			if !step.mode.fishing() || !s.shapeOn(d).inReach(step.at) {
				continue
			}
			today++
			if s.goodFor(day, k, 0) {
				on++
			}
		}
		fished += today
		if today > 300 {
			out.DaysFished++
		}
	}
	out.FishedH, out.FishedOnH = hours(fished), hours(on)
	for _, e := range w.events {
		switch {
		case e.school == i:
			out.Events++
			if e.notedM.OK {
				out.NotedDepths++
			}
			date := w.days[e.day].date
			if n := len(out.EventsByDay); n == 0 || out.EventsByDay[n-1].Date != date {
				out.EventsByDay = append(out.EventsByDay, DayCount{Date: date})
			}
			out.EventsByDay[len(out.EventsByDay)-1].Events++
		case s.shapeOn(e.day).inReach(e.boat):
			out.EventsNearby++
		}
	}
	for j := range w.schools {
		if j == i {
			continue
		}
		if m := round(r2.Norm(r2.Sub(w.schools[j].shape.at, s.shape.at)), 2); out.NearestM == 0 || m < out.NearestM {
			out.NearestM = m
		}
	}
	return out
}

func (w *world) tellSpot(s spot) Spot {
	at := degrees(s.at)
	out := Spot{Name: s.name, Lat: at.Lat(), Lon: at.Lon(), RadiusM: s.radiusM, BottomM: round(bottomM(s.at), 3)}
	near := func(v r2.Vec) bool { return r2.Norm(r2.Sub(v, s.at)) <= s.radiusM }
	fished := 0
	for _, d := range w.days {
		for _, step := range d.path {
			if step.mode.fishing() && near(step.at) {
				fished++
			}
		}
	}
	for _, e := range w.events {
		if near(e.boat) {
			out.Events++
		}
	}
	out.FishedH = hours(fished)
	return out
}

func (w *world) tellLine(i int) DriftLine {
	l := &w.lines[i]
	start, end := degrees(l.start), degrees(place(l.start, l.towardDeg, l.lengthM, 0))
	out := DriftLine{
		Name: l.name, Over: l.over, OverFish: l.overFish,
		StartLat: start.Lat(), StartLon: start.Lon(), EndLat: end.Lat(), EndLon: end.Lon(),
		LengthM: round(l.lengthM, 2), TowardDeg: round(l.towardDeg, 2), Passes: len(l.passes),
	}
	var speeds []float64
	seconds, lastDay := 0, -1
	for _, p := range l.passes {
		speeds = append(speeds, p.speedMPS)
		out.Made = append(out.Made, Pass{w.days[p.day].timeAt(p.from), w.days[p.day].timeAt(p.to), round(p.speedMPS, 4), round(p.towardDeg, 2)})
		seconds += p.to - p.from
		if p.day != lastDay {
			lastDay = p.day
			out.Days++
		}
		for _, e := range w.events {
			if e.day == p.day && e.second >= p.from && e.second < p.to {
				out.Events++
			}
		}
	}
	slices.Sort(speeds)
	if n := len(speeds); n > 0 {
		out.SpeedMPS = round((speeds[n/2]+speeds[(n-1)/2])/2, 4)
	}
	out.Hours = hours(seconds)
	return out
}

func (w *world) tellEvent(e event) Event {
	d := &w.days[e.day]
	boat, fish := degrees(e.boat), degrees(e.fish)
	out := Event{
		Time: w.eventTime(e), Date: d.date, Kind: e.kind.String(), Species: e.species, Count: e.count, From: "background",
		BoatLat: boat.Lat(), BoatLon: boat.Lon(), FishLat: fish.Lat(), FishLon: fish.Lon(),
		FishM: round(e.fishM, 3), BottomM: round(e.bottomM, 3), NotedFishM: e.notedM, NotedPlace: e.notedPlace,
		Drifting: d.path[e.second].mode == onPass, InGap: d.inGap(e.second), WrittenInto: e.file,
	}
	if e.notedM.OK {
		out.NotedFishM.V = round(e.notedM.V, 4)
	}
	if e.school >= 0 {
		out.From, out.School = "school", w.schools[e.school].name
	}
	return out
}
