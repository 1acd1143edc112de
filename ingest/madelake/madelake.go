// Package madelake makes an invented autumn season on an invented reservoir and
// knows the truth about it: where the bottom is, where fish school and when,
// which drift lines were fished, and every defect put into the files.
//
// It is for tests, which score what the analysis finds, for benchmarks and for
// the demo command. It does no input or output: files come back as bytes. The
// same Plan gives the same bytes on one kind of processor; another may round a
// last digit differently.
//
// A day is simulated second by second: the boat leaves the ramp, runs between
// spots by water that is deep enough, drifts along the same lines again and
// again (or, where Plan.Wind is set, wherever the wind takes it) or holds and casts,
// and goes home. Fish bite as a Poisson process while
// a school that is present, in its hours, lies within a cast of the boat; a
// second process with a low rate runs wherever the boat fishes. Then the day is
// written the way devices write it: a wobbling track with spikes and gaps, a
// depth log with its own clock and lost bottoms, a catch log on the local clock.
//
// The reservoir lies in the open Atlantic on purpose. Rates, noise and defect
// frequencies are invented: common practice, no source.
package madelake

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Size is how much of a season is made.
type Size int

// The sizes.
const (
	// Small fits a test data folder: about 3.2 hours a day, fixes every 8 s and
	// on one day every 5 s, soundings every 6 s; at most 1.6 MiB in all and 250 kB
	// a file at the default 8 days.
	Small Size = iota
	// Full has days of 6 to 8 hours with fixes and soundings every second.
	Full
)

// String returns "small" or "full".
func (s Size) String() string {
	if s == Full {
		return "full"
	}
	return "small"
}

// A Plan is what a season is made from. Every figure counts as it stands, so
// that a season without schools can be asked for; start from Default. Changing
// one rate leaves the boat's days as they are.
type Plan struct {
	Seed           uint64
	Size           Size
	Days           int     // 1 to 20, spread over six weeks
	Schools        int     // 0 to 8; the first two lie close together at different depths
	Barren         int     // 0 to 8 places fished hard where nothing schools
	EventsPerH     float64 // events per hour while a school is in reach in its hours; each is within 10 % of it
	BackgroundPerH float64 // events per hour of fishing that come from no school
	Hard           bool    // schools of all lengths and rates, two pairs of them neighbours

	// StrayM is how far schools wander from one of the days to the next, 0 to 1000: a standard deviation, each way, over
	// water that is about as deep. The skipper goes back to where they were on the first day as often as to where they
	// are, and holds there: no drift line leads over them then.
	StrayM float64

	// FixesPerS is how many fixes a second a track has, 1 to 10, their times told
	// to the millisecond; with 0 it is as the size says. It changes nothing but the
	// tracks, and on whole seconds only which fixes are spiked or repeated.
	FixesPerS int
	// Wind gives each day a wind of its own from somewhere round the compass, lets
	// it and a current do the drifting, and adds the table wind.csv. See wind.go.
	Wind bool
	// WindSpreadDeg narrows the days' mean winds to an arc of so many degrees, 0 to
	// 360, around the prevailing one; 0 means all round. A narrow arc doesn't tell
	// the current from the leeway. It counts only with Wind.
	WindSpreadDeg float64
}

// Default returns the usual plan: 6 schools giving 9 events an hour, 2 barren
// places, 0.8 background events an hour; 8 days when Small and 12 when Full.
func Default(seed uint64, size Size) Plan {
	p := Plan{Seed: seed, Size: size, Days: 8, Schools: 6, Barren: 2, EventsPerH: 9, BackgroundPerH: 0.8}
	if size == Full {
		p.Days = 12
	}
	return p
}

// Hard returns a plan that puts the finding of schools to the test: ten days, eight
// schools 20 to 60 m long that give 5 to 11 events an hour, each at a rate of its
// own, four of them with a neighbour 100 to 150 m off at another depth or hour; and eight places that
// are fished for nothing, twice as long where days are Full and half as long again
// where they are Small.
func Hard(seed uint64, size Size) Plan {
	return Plan{Seed: seed, Size: size, Days: 10, Schools: 8, Barren: 8, EventsPerH: 8, BackgroundPerH: 0.8, Hard: true}
}

// Windy returns a plan in which the wind does the drifting: eight Full days with
// winds from all round, four schools and two barren places at the usual rates.
func Windy(seed uint64) Plan {
	p := Default(seed, Full)
	p.Days, p.Schools, p.Wind = 8, 4, true
	return p
}

// A File is one file of the season. Inputs end in .gpx, .csv or .toml; what a
// reader must not see ends in .json or .txt.
type File struct {
	Name string // without a folder
	Data []byte
}

// Make makes the season: its files in order of name, and the truth, which is
// also the file truth.json. It panics when a figure of the plan is outside the
// range its comment gives. A Small season takes about 0.1 s, a Full one 0.8 s; time
// and size grow with FixesPerS.
func Make(p Plan) (files []File, truth Truth) {
	p.check()
	w := newWorld(p)
	for i := range w.days {
		w.sail(&w.days[i])
	}
	w.bite()
	for i := range w.days {
		files = append(files, w.dayFiles(&w.days[i])...)
	}
	files = append(files, w.catchesFile(), w.levelsFile(), boatFile(), readmeFile())
	if p.Wind {
		files = append(files, w.windFile())
	}
	truth = w.truth()
	files = append(files, truthFile(truth))
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	return files, truth
}

func (p Plan) check() {
	for _, c := range []struct {
		name   string
		v      float64
		lo, hi float64
	}{
		{"Size", float64(p.Size), float64(Small), float64(Full)},
		{"Days", float64(p.Days), 1, 20},
		{"Schools", float64(p.Schools), 0, float64(len(schoolSites))},
		{"Barren", float64(p.Barren), 0, float64(len(barrenSites))},
		{"EventsPerH", p.EventsPerH, 0, 600},
		{"BackgroundPerH", p.BackgroundPerH, 0, 600},
		{"StrayM", p.StrayM, 0, 1000},
		{"FixesPerS", float64(p.FixesPerS), 0, 10},
		{"WindSpreadDeg", p.WindSpreadDeg, 0, 360},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			panic(fmt.Sprintf("madelake: %s %v is outside %v to %v", c.name, c.v, c.lo, c.hi))
		}
	}
}

// zone is the reservoir's clock: three hours behind UTC all year.
var zone = time.FixedZone("Etc/GMT+3", -3*3600)

// The season's first day and its length in days.
var firstDay = time.Date(2031, time.October, 4, 0, 0, 0, 0, zone)

const seasonDays = 42
