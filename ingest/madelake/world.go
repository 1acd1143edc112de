package madelake

import (
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/si"
)

// castM is how far a cast reaches, and so how near a school must be to give an
// event.
const castM = 25.0

// transducerM is the depth of the transducer: one foot.
const transducerM = si.FootM

// A site is a place on the lake where a school may be.
type site struct {
	name       string
	at         r2.Vec
	bearingDeg float64 // along the structure
	suspended  bool    // fish keep well above the bottom
}

// Sites of schools, each on a piece of the bottom that says why. The first two
// lie 125 m apart: one in the old channel, one on the shelf above it.
var schoolSites = [...]site{
	{"Channel Bend", r2.Vec{X: -300, Y: -207}, 62, false},
	{"Bend Shelf", r2.Vec{X: -359, Y: -97}, 62, false},
	{"Long Point", r2.Vec{X: 350, Y: -300}, 20, false},
	{"Stone Hump", r2.Vec{X: 880, Y: 300}, 70, false},
	{"Creek Mouth", r2.Vec{X: 455, Y: 430}, 30, false},
	{"Dam Basin", r2.Vec{X: 1250, Y: -180}, 100, true},
	{"River Ledge", r2.Vec{X: -1200, Y: -190}, 105, true},
	{"North Point", r2.Vec{X: -540, Y: 115}, 160, false},
}

var barrenSites = [...]site{
	{name: "Mill Flat", at: r2.Vec{X: -1250, Y: 230}},
	{name: "Orchard Cove", at: r2.Vec{X: 800, Y: -540}},
	{name: "Old Road", at: r2.Vec{X: -60, Y: 440}},
	{name: "East Flat", at: r2.Vec{X: 1430, Y: 290}},
	{name: "South Shelf", at: r2.Vec{X: -620, Y: -300}},
	{name: "Mid Bar", at: r2.Vec{X: 180, Y: 60}},
	{name: "Tower Flat", at: r2.Vec{X: 560, Y: 120}},
	{name: "Island Side", at: r2.Vec{X: 960, Y: -330}},
}

// hardNeighbour takes the place of the last site in a hard season: 125 m from the
// one before it, over the same depth, at another hour.
var hardNeighbour = site{"Ledge Shelf", r2.Vec{X: -1188, Y: -66}, 105, false}

var lingerSites = [...]site{
	{name: "Willow Bank", at: r2.Vec{X: -900, Y: -400}},
	{name: "Middle Water", at: r2.Vec{X: 620, Y: -120}},
	{name: "Quarry Side", at: r2.Vec{X: 1120, Y: -470}},
}

// lingerRadiusM is small: a linger is one stop, not a search.
const lingerRadiusM = 35.0

// Roles by place in the list of schools, so that any number of them has schools
// that stay all season and schools that don't, mornings and afternoons.
func afternoonSchool(i int) bool { return i%6 == 2 }

func present(i, day, days int) bool {
	switch i % 6 {
	case 3:
		return day >= days/2-1
	case 5:
		return day <= days/2
	}
	return true
}

// A school is what the simulation knows of one; the truth is told from it.
type school struct {
	name, species    string
	shape            ellipse
	topM, bottomM    float64
	hourFrom, hourTo float64
	perH             float64
	on               []bool   // by day
	stray            []r2.Vec // by day, from shape; nil without Plan.StrayM
	line             int      // index into world.lines
}

// shapeOn returns where the school is on a day.
func (s *school) shapeOn(day int) ellipse {
	e := s.shape
	if s.stray != nil {
		e.at = r2.Add(e.at, s.stray[day])
	}
	return e
}

type spot struct {
	name    string
	at      r2.Vec
	radiusM float64
	line    int // index into world.lines, or -1
}

// A line is drifted from start on; passes are what was made of it.
type line struct {
	name, over string
	overFish   bool
	start      r2.Vec
	lengthM    float64
	towardDeg  float64
	passes     []pass
}

type pass struct {
	day, from, to int // seconds of the day's path, to exclusive
	speedMPS      float64
	towardDeg     float64 // where the wind is what drifts; 0 otherwise
}

type day struct {
	index       int
	date        string
	start       time.Time // UTC
	lengthS     int
	levelM      float64
	windTowards float64  // mean
	windMPS     float64  // mean
	wind        []breeze // one a second from windAroundS before the start on; only with Plan.Wind
	driftable   bool     // wind along the lines, or drifts that go with any wind
	path        []step   // one a second
	gaps        []span   // seconds in which the track dropped out
}

// timeAt returns the time at a second of the day's path.
func (d *day) timeAt(second int) time.Time {
	return d.start.Add(time.Duration(second) * time.Second)
}

// A span is whole seconds of a day's path, to exclusive.
type span struct{ from, to int }

func (s span) has(i int) bool { return i >= s.from && i < s.to }

type world struct {
	plan    Plan
	ramp    r2.Vec
	days    []day
	schools []school
	barren  []spot
	lingers []spot
	lines   []line
	leeway  *Leeway // only with Plan.Wind
	choices []choice
	events  []event
	files   []FileTruth
}

func newWorld(p Plan) *world {
	w := &world{plan: p, ramp: rampAt()}
	r := stream(p.Seed, stageWorld)
	prevailing := between(r, 105, 150) // wind from the north-west
	w.makeDays(prevailing)
	if p.Wind {
		w.makeWind(prevailing)
	}
	w.makeSchools(prevailing)
	w.makeSpots(prevailing)
	w.makeChoices()
	return w
}

// rampAt is a metre and a half of water off the south-west bank.
func rampAt() r2.Vec {
	v := r2.Vec{X: -1060, Y: -420}
	for bottomM(v) > 1.5 {
		v.Y--
	}
	return v
}

func (w *world) makeDays(prevailing float64) {
	n := w.plan.Days
	for i := range n {
		r := stream(w.plan.Seed, stageDay, i)
		after := 0
		if n > 1 {
			after = i * seasonDays / (n - 1)
		}
		date := firstDay.AddDate(0, 0, after)
		startH, hours := between(r, 6.6, 7.0), between(r, 3.1, 3.35)
		afternoon := i%8 == 2 || i%8 == 5 || i%8 == 7
		if afternoon {
			startH += 6.7
		}
		if w.plan.Size == Full {
			hours = between(r, 6, 8)
			if afternoon {
				startH -= 3.5
			}
		}
		d := day{
			index: i, date: date.Format(time.DateOnly),
			start:   date.Add(time.Duration(startH*3600) * time.Second).UTC(),
			lengthS: int(hours * 3600), levelM: levelM(after),
			windTowards: prevailing + bell(r, 10), windMPS: between(r, 3.2, 6.8),
			driftable: i%4 != 3,
		}
		if !d.driftable {
			d.windTowards = prevailing - 85 + bell(r, 10)
		}
		w.days = append(w.days, d)
	}
}

func (w *world) makeSchools(prevailing float64) {
	// The pair keeps its place; which of the other sites hold fish is drawn.
	order := stream(w.plan.Seed, stageWorld, 0).Perm(len(schoolSites) - 2)
	for i := range w.plan.Schools {
		r := stream(w.plan.Seed, stageWorld, 1, i)
		s := schoolSites[i%len(schoolSites)]
		switch {
		case w.plan.Hard && i == len(schoolSites)-1:
			s = hardNeighbour
		case !w.plan.Hard && i >= 2:
			s = schoolSites[2+order[i-2]]
		}
		at := place(s.at, s.bearingDeg, between(r, -12, 12), between(r, -5, 5))
		sc := school{
			name:    s.name,
			species: [...]string{"largemouth bass", "spotted bass", "striped bass"}[i%3],
			shape:   ellipse{at, between(r, 18, 29), between(r, 10, 16), s.bearingDeg + bell(r, 8)},
			perH:    w.plan.EventsPerH * between(r, 0.9, 1.1),
		}
		if w.plan.Hard {
			sc.shape.longM, sc.shape.shortM = between(r, 10, 30), between(r, 8, 14)
			sc.shape.longM = math.Max(sc.shape.longM, sc.shape.shortM)
			sc.perH = w.plan.EventsPerH * between(r, 0.625, 1.375)
		}
		sc.bottomM = sc.shape.leastBottomM() - 0.3
		if s.suspended {
			sc.bottomM -= between(r, 2, 3)
		}
		sc.topM = math.Max(3.2, sc.bottomM-between(r, 1.2, 2.5))
		sc.hourFrom = round(between(r, 6.5, 7.4), 2)
		sc.hourTo = round(sc.hourFrom+between(r, 2.6, 3.6), 2)
		if afternoonSchool(i) || w.plan.Hard && i == len(schoolSites)-1 {
			sc.hourFrom = round(sc.hourFrom+6.6, 2)
			sc.hourTo = round(sc.hourFrom+between(r, 3.2, 4), 2)
		}
		for d := range w.plan.Days {
			sc.on = append(sc.on, present(i, d, w.plan.Days))
		}
		sc.line = w.makeLine(r, s.name, true, at, prevailing)
		if w.plan.StrayM > 0 {
			sc.stray = w.wander(i, at)
		}
		w.schools = append(w.schools, sc)
	}
}

// wander returns where a school is on each day, from where it is on the first: each step is drawn until it ends over water
// within a metre and a half as deep as there, to be reached over deep water, and isn't made when thirty don't.
func (w *world) wander(school int, at r2.Vec) []r2.Vec {
	r := stream(w.plan.Seed, stageStray, school)
	out := make([]r2.Vec, w.plan.Days)
	for d := 1; d < len(out); d++ {
		out[d] = out[d-1]
		for range 30 {
			next := r2.Add(out[d-1], r2.Vec{X: w.plan.StrayM * r.NormFloat64(), Y: w.plan.StrayM * r.NormFloat64()})
			v := r2.Add(at, next)
			if math.Abs(v.X) < halfEastM && math.Abs(v.Y) < halfNorthM && math.Abs(bottomM(v)-bottomM(at)) < 1.5 && clearWay(at, v) {
				out[d] = next
				break
			}
		}
	}
	return out
}

func (w *world) makeSpots(prevailing float64) {
	for i, s := range barrenSites[:w.plan.Barren] {
		r := stream(w.plan.Seed, stageWorld, 2, i)
		at := r2.Add(s.at, r2.Vec{X: between(r, -25, 25), Y: between(r, -25, 25)})
		b := spot{name: s.name, at: at, radiusM: round(between(r, 50, 62), 1)}
		b.line = w.makeLine(r, s.name, false, at, prevailing)
		w.barren = append(w.barren, b)
	}
	for i, s := range lingerSites {
		r := stream(w.plan.Seed, stageWorld, 3, i)
		at := r2.Add(s.at, r2.Vec{X: between(r, -25, 25), Y: between(r, -25, 25)})
		w.lingers = append(w.lingers, spot{s.name, at, lingerRadiusM, -1})
	}
}

// makeLine lays a drift line over a place, down the prevailing wind, where the
// water beside it is deep enough, and returns its index.
func (w *world) makeLine(r *rand.Rand, over string, fish bool, at r2.Vec, prevailing float64) int {
	toward, length := prevailing+bell(r, 9), between(r, 115, 190)
	middle := between(r, -8, 8)
	for try := range 30 {
		// Turned and shortened a little more at each try.
		deg := toward + float64(try)*2*float64(1-try%2*2)
		l := math.Max(90, length-4*float64(try))
		start := place(at, deg, middle-l/2, 0)
		clear := true
		for along := -15.0; along <= l+15; along += 5 {
			for across := -15.0; across <= 15; across += 5 {
				clear = clear && bottomM(place(start, deg, along, across)) > 2
			}
		}
		if clear {
			w.lines = append(w.lines, line{
				name: over + " drift", over: over, overFish: fish,
				start: start, lengthM: l, towardDeg: math.Mod(deg+360, 360),
			})
			return len(w.lines) - 1
		}
	}
	panic("madelake: no room for a drift over " + over) // a site on bad water: ours to fix
}

// levelM is the gauge a number of days into the season, in whole hundredths of a
// foot as it is written. The pool falls by 1.2 m.
func levelM(after int) float64 {
	f := float64(after) / seasonDays
	m := 156.20 - 1.2*math.Pow(f, 1.15) + 0.03*math.Sin(2*math.Pi*3*f)
	return math.Round(m/si.FootM*100) / 100 * si.FootM
}

// depthM is the depth at v on that day, below its surface.
func (w *world) depthM(d *day, v r2.Vec) float64 {
	return bottomM(v) + d.levelM - w.days[len(w.days)-1].levelM
}

// An ellipse is a school seen from above.
type ellipse struct {
	at                 r2.Vec
	longM, shortM, deg float64
}

// nearest returns the point of the ellipse nearest to v; v itself inside.
func (e ellipse) nearest(v r2.Vec) r2.Vec {
	along, across := turned(r2.Sub(v, e.at), e.deg)
	if q := math.Hypot(along/e.longM, across/e.shortM); q <= 1 {
		return v
	}
	// A third of a degree is 0.15 m along the largest edge, less than a
	// millimetre of distance.
	best, bestM := r2.Vec{}, math.Inf(1)
	coarse := 0.0
	for _, pass := range [...]struct{ n, stepDeg float64 }{{36, 10}, {20, 1}, {12, 0.2}} {
		from := coarse - pass.n/2*pass.stepDeg
		for k := 0.0; k <= pass.n; k++ {
			deg := from + k*pass.stepDeg
			sin, cos := math.Sincos(deg * math.Pi / 180)
			p := r2.Vec{X: e.longM * cos, Y: e.shortM * sin}
			if m := math.Hypot(p.X-along, p.Y-across); m < bestM {
				best, bestM, coarse = p, m, deg
			}
		}
	}
	return place(e.at, e.deg, best.X, best.Y)
}

// inReach reports whether some point of the ellipse is within a cast of v.
func (e ellipse) inReach(v r2.Vec) bool {
	switch m := r2.Norm(r2.Sub(v, e.at)); {
	case m > e.longM+castM:
		return false
	case m <= e.shortM+castM:
		return true // the ellipse holds a circle of that radius
	}
	return r2.Norm(r2.Sub(v, e.nearest(v))) <= castM
}

// leastBottomM is the shallowest bottom under the ellipse.
func (e ellipse) leastBottomM() float64 {
	least := math.Inf(1)
	for ring := 0.0; ring <= 1; ring += 0.125 {
		for deg := 0.0; deg < 360; deg += 10 {
			sin, cos := math.Sincos(deg * math.Pi / 180)
			least = math.Min(least, bottomM(place(e.at, e.deg, ring*e.longM*cos, ring*e.shortM*sin)))
		}
	}
	return least
}

// inside draws a point of the ellipse within a cast of the boat.
func (e ellipse) inside(r *rand.Rand, boat r2.Vec) r2.Vec {
	for range 300 {
		x, y := between(r, -1, 1), between(r, -1, 1)
		if x*x+y*y > 1 {
			continue
		}
		v := place(e.at, e.deg, x*e.longM, y*e.shortM)
		if r2.Norm(r2.Sub(v, boat)) <= castM {
			return v
		}
	}
	return e.nearest(boat)
}
