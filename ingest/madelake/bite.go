package madelake

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/si"
)

// An event is one the simulation made, before it is written down.
type event struct {
	day, second int
	school      int // index, or -1 for background
	kind        ingest.EventKind
	species     string
	count       int
	boat, fish  r2.Vec
	fishM       float64 // below the surface of the day
	bottomM     float64 // under the boat, below the surface of the day
	notedM      ingest.Maybe
	notedPlace  bool
	place       r2.Vec // as it would be noted: the boat's place and the cast
	lengthM     ingest.Maybe
	headOz      ingest.Maybe
	note        string
	file        string // the file it was written into
}

// bite makes every event of the season. Each second of fishing has its own draw
// for each school, so a higher rate keeps the events of a lower one and adds
// more.
func (w *world) bite() {
	for i := range w.days {
		d := &w.days[i]
		for s := range w.schools {
			r := stream(w.plan.Seed, stageSchoolBite, i, s)
			for k, at := range d.path {
				hit := r.Float64() < w.schools[s].perH/3600
				if hit && at.mode.fishing() && w.schools[s].goodFor(d, k, 0) && w.schools[s].shapeOn(i).inReach(at.at) {
					w.addEvent(d, k, s)
				}
			}
		}
		r := stream(w.plan.Seed, stageBackgroundBite, i)
		for k, at := range d.path {
			if r.Float64() < w.plan.BackgroundPerH/3600 && at.mode.fishing() {
				w.addEvent(d, k, -1)
			}
		}
	}
	slices.SortStableFunc(w.events, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.second, b.second))
	})
}

func (w *world) addEvent(d *day, second, fromSchool int) {
	r := stream(w.plan.Seed, stageEvent, d.index, second, fromSchool+1)
	boat := d.path[second].at
	e := event{
		day: d.index, second: second, school: fromSchool, boat: boat,
		kind: drawKind(r), count: 1, bottomM: w.depthM(d, boat),
	}
	if fromSchool >= 0 {
		s := &w.schools[fromSchool]
		e.fish = s.shapeOn(d.index).inside(r, boat)
		e.fishM = between(r, s.topM, s.bottomM)
		e.species = s.species
	} else {
		e.fish = place(boat, between(r, 0, 360), 18*math.Sqrt(r.Float64()), 0)
		e.fishM = between(r, 0.2, 0.95) * math.Max(0.5, math.Min(e.bottomM, w.depthM(d, e.fish)))
		e.species = [...]string{"largemouth bass", "spotted bass", "striped bass"}[r.IntN(3)]
	}
	if e.kind == ingest.Bait {
		e.species = ""
	}
	if r.Float64() < 0.7 {
		// Read off a screen: a little wrong, to the half foot.
		ft := (e.fishM + bell(r, 0.1)) / si.FootM
		e.notedM = ingest.Known(math.Max(0.5, math.Round(2*ft)/2) * si.FootM)
	}
	e.notedPlace = r.Float64() < 0.2
	cast := r2.Sub(e.fish, boat)
	if m := r2.Norm(cast); m > 20 {
		cast = r2.Scale(20/m, cast)
	}
	e.place = r2.Add(boat, cast)
	if e.kind == ingest.Catch {
		if r.Float64() < 0.1 {
			e.count = 2
		}
		if r.Float64() < 0.8 {
			e.lengthM = ingest.Known(math.Round(between(r, 11, 21)*4) / 4 * si.InchM)
		}
	}
	if e.kind <= ingest.Bite && r.Float64() < 0.4 {
		e.headOz = ingest.Known([...]float64{0.25, 0.375, 0.5, 0.75}[r.IntN(4)])
	}
	if r.Float64() < 0.15 {
		e.note = [...]string{"on the fall", "let it sit, then a tick", "second cast", "wind came up", "short strike, \"just a tap\""}[r.IntN(5)]
	}
	w.events = append(w.events, e)
}

func drawKind(r *rand.Rand) ingest.EventKind {
	switch f := r.Float64(); {
	case f < 0.72:
		return ingest.Catch
	case f < 0.86:
		return ingest.Bite
	case f < 0.95:
		return ingest.Mark
	}
	return ingest.Bait
}

func (w *world) eventTime(e event) time.Time {
	return w.days[e.day].timeAt(e.second)
}

// degrees gives a place to the seventh decimal, about a centimetre.
func degrees(v r2.Vec) orb.Point {
	p := frame.Degrees(v)
	return orb.Point{round(p.Lon(), 7), round(p.Lat(), 7)}
}
