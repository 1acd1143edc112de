package madelake

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

// What each day's devices write, by the day's place in the season. Whatever is
// here once only is a case every reader meets once.
const (
	clockDay     = 2 // depth log with a clock of its own
	extensionDay = 3 // depths inside the track, no depth log
	waypointDay  = 4 // events as waypoints
)

// clockAheadS is how far the depth log's clock is ahead on clockDay.
const clockAheadS = 37

// A fix is a point of the track as the receiver tells it.
type fix struct {
	tick   int // its place in a track without defects
	ms     int // of the day's path
	at     r2.Vec
	begins bool // a new segment
}

// fixEveryS is the track's interval on that day, where there isn't more than one
// fix a second.
func (w *world) fixEveryS(d *day) int {
	switch {
	case w.plan.Size == Full || w.plan.FixesPerS > 0:
		return 1
	case d.index%8 == 1:
		return 5
	}
	return 8
}

// whiteM is the part of the receiver's error that is new in each fix, in each axis.
const whiteM = 0.3

// wobble is where the receiver says the boat is, each second: an error of 1.5 m
// in each axis that wanders over a minute, and 0.3 m that doesn't. wander is the
// first of them.
func (w *world) wobble(d *day) (heard, wander []r2.Vec) {
	r := stream(w.plan.Seed, stageWobble, d.index)
	east, north := newDrifting(r, 1.5, 60), newDrifting(r, 1.5, 60)
	heard, wander = make([]r2.Vec, len(d.path)), make([]r2.Vec, len(d.path))
	for i, s := range d.path {
		var white r2.Vec
		wander[i].X, white.X = east.next(r), r.NormFloat64()
		wander[i].Y, white.Y = north.next(r), r.NormFloat64()
		heard[i] = r2.Add(s.at, r2.Add(wander[i], r2.Scale(whiteM, white)))
	}
	return heard, wander
}

// at is where the boat is at a millisecond of the day's path, on the straight line
// between two seconds.
func (d *day) at(ms int) r2.Vec {
	s, part := ms/1000, ms%1000
	if part == 0 {
		return d.path[s].at
	}
	return lerp(d.path[s].at, d.path[s+1].at, float64(part)/1000)
}

// dayFiles writes the day's track and, by its place in the season, its depth
// log or waypoints.
func (w *world) dayFiles(d *day) []File {
	heard, wander := w.wobble(d)
	fixes, truth := w.fixes(d, heard, wander)
	var soundings []sounding
	if d.index == extensionDay {
		times := make([]int, len(fixes))
		for i, f := range fixes {
			times[i] = f.ms
		}
		soundings = w.soundings(d, times, &truth)
	}
	layout := time.RFC3339
	if w.plan.FixesPerS > 0 {
		layout = "2006-01-02T15:04:05.000Z07:00"
	}
	track := File{d.date + "-track.gpx", gpxTrack(d, fixes, soundings, layout)}
	truth.Name = track.Name
	w.files = append(w.files, truth)
	files := []File{track}
	if d.index != extensionDay {
		files = append(files, w.depthLog(d, heard))
	}
	if d.index == waypointDay {
		files = append(files, w.waypoints(d))
	}
	return files
}

// hear returns what the receiver says at a millisecond of the day's path. Between
// two whole seconds the error that wanders is interpolated and the rest is drawn.
func (d *day) hear(r *rand.Rand, ms int, heard, wander []r2.Vec) r2.Vec {
	s, part := ms/1000, ms%1000
	if part == 0 {
		return heard[s]
	}
	white := r2.Vec{X: r.NormFloat64(), Y: r.NormFloat64()}
	wanders := lerp(wander[s], wander[s+1], float64(part)/1000)
	return r2.Add(d.at(ms), r2.Add(wanders, r2.Scale(whiteM, white)))
}

// fixes takes the track from what was heard and puts in its defects.
func (w *world) fixes(d *day, heard, wander []r2.Vec) ([]fix, FileTruth) {
	r, fine := stream(w.plan.Seed, stageTrack, d.index), stream(w.plan.Seed, stageFine, d.index)
	every, perS := w.fixEveryS(d), max(1, w.plan.FixesPerS)
	truth := FileTruth{IntervalS: round(float64(every)/float64(perS), 4)}

	// Dropouts, apart from each other and from both ends of the day. On some days
	// the receiver begins a new segment after one, on others it goes on.
	n, splits := 1+r.IntN(3), d.index%2 == 0
	for range n {
		for {
			from := 600 + r.IntN(len(d.path)-1200)
			g := span{from, from + 60 + r.IntN(180)}
			if !slices.ContainsFunc(d.gaps, func(o span) bool { return g.from < o.to+300 && o.from < g.to+300 }) {
				d.gaps = append(d.gaps, g)
				break
			}
		}
	}
	slices.SortFunc(d.gaps, func(a, b span) int { return a.from - b.from })

	var out []fix
	lost := false
	for tick := 0; ; tick++ {
		ms := int(math.Round(1000 * float64(tick*every) / float64(perS)))
		if ms > 1000*(len(d.path)-1) {
			break
		}
		at := d.hear(fine, ms, heard, wander)
		if d.inGap(ms / 1000) {
			lost = true
			continue
		}
		if lost {
			truth.Dropouts++
			truth.DropoutS = round(truth.DropoutS+float64(ms-out[len(out)-1].ms)/1000, 3)
		}
		out = append(out, fix{tick, ms, at, lost && splits || tick == 0})
		if out[len(out)-1].begins {
			truth.Segments++
		}
		lost = false
	}

	// Spikes: one fix far off while the boat hardly moves, so that no boat could
	// have been there: half again as fast as a fast boat, where 300 m allow it.
	nearest := math.Min(280, math.Max(80, 35*float64(every)))
	free := func(i int) bool {
		for k := i - 3; k <= i+3; k++ {
			if k < 0 || k >= len(out) || out[k].begins || !d.path[out[k].ms/1000].mode.fishing() ||
				out[k].tick-out[i].tick != k-i {
				return false
			}
		}
		return true
	}
	var spiked []int
	for range 2 + r.IntN(4) {
		i := r.IntN(len(out))
		for !free(i) || slices.ContainsFunc(spiked, func(o int) bool { return o > i-10 && o < i+10 }) {
			i = r.IntN(len(out))
		}
		out[i].at = place(out[i].at, between(r, 0, 360), between(r, nearest, 300), 0)
		spiked = append(spiked, i)
		truth.FixSpikes++
	}

	// Repeated times: the receiver says the same instant twice, half a metre away.
	for range 2 + r.IntN(4) {
		i := 1 + r.IntN(len(out)-1)
		for out[i].begins || out[i].tick == out[i-1].tick || i+1 < len(out) && out[i+1].tick == out[i].tick ||
			slices.ContainsFunc(spiked, func(o int) bool { return o > i-10 && o < i+10 }) {
			i = 1 + r.IntN(len(out)-1)
		}
		again := out[i]
		again.at = place(again.at, between(r, 0, 360), 0.5, 0)
		out = slices.Insert(out, i+1, again)
		for k := range spiked {
			if spiked[k] > i {
				spiked[k]++
			}
		}
		truth.RepeatedTimes++
	}
	truth.Rows = len(out)
	return out, truth
}

func (d *day) inGap(second int) bool {
	return slices.ContainsFunc(d.gaps, func(g span) bool { return g.has(second) })
}

const gpxHead = `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="leadline demo" xmlns="http://www.topografix.com/GPX/1/1"`

// gpxTrack writes GPX 1.1, its times in the layout given. With soundings, one for
// each fix, depth below the transducer in metres and water temperature in °C go
// inside the points.
func gpxTrack(d *day, fixes []fix, soundings []sounding, layout string) []byte {
	var b strings.Builder
	b.WriteString(gpxHead)
	if soundings != nil {
		b.WriteString(` xmlns:s="urn:leadline:demo:sounding"`)
	}
	fmt.Fprintf(&b, ">\n<trk><name>%s</name>\n", d.date)
	for i, f := range fixes {
		if f.begins {
			if i > 0 {
				b.WriteString("</trkseg>\n")
			}
			b.WriteString("<trkseg>\n")
		}
		fmt.Fprintf(&b, "<trkpt %s><time>%s</time>", attributes(f.at), d.start.Add(time.Duration(f.ms)*time.Millisecond).Format(layout))
		if soundings != nil {
			s := soundings[i]
			fmt.Fprintf(&b, "<extensions><s:depth>%s</s:depth><s:wtemp>%.1f</s:wtemp></extensions>", s.text(2, 1), s.tempC)
		}
		b.WriteString("</trkpt>\n")
	}
	b.WriteString("</trkseg></trk>\n</gpx>\n")
	return []byte(b.String())
}

func attributes(v r2.Vec) string {
	p := degrees(v)
	return `lat="` + strconv.FormatFloat(p.Lat(), 'f', 7, 64) + `" lon="` + strconv.FormatFloat(p.Lon(), 'f', 7, 64) + `"`
}

func utc(d *day, second int) string {
	return d.start.Add(time.Duration(second) * time.Second).Format(time.RFC3339)
}

// waypoints writes the day's events as GPX waypoints, one fish each; depths of
// fish are not noted in them.
func (w *world) waypoints(d *day) File {
	name := d.date + "-catches.gpx"
	var b strings.Builder
	b.WriteString(gpxHead + ">\n")
	n := 0
	for i := range w.events {
		e := &w.events[i]
		if e.day != d.index {
			continue
		}
		n++
		e.notedM, e.notedPlace, e.count, e.file = ingest.Maybe{}, true, 1, name
		fmt.Fprintf(&b, "<wpt %s><time>%s</time><name>%s %02d</name>", attributes(e.place), utc(d, e.second), e.kind, n)
		if e.species != "" {
			fmt.Fprintf(&b, "<desc>%s</desc>", e.species)
		}
		fmt.Fprintf(&b, "<type>%s</type></wpt>\n", e.kind)
	}
	b.WriteString("</gpx>\n")
	w.files = append(w.files, FileTruth{Name: name, Rows: n})
	return File{name, []byte(b.String())}
}

// speedMPS is the boat's true speed over ground at a second of the day.
func (d *day) speedMPS(second int) float64 {
	a, b := max(0, second-1), min(len(d.path)-1, second+1)
	return r2.Norm(r2.Sub(d.path[b].at, d.path[a].at)) / float64(b-a)
}
