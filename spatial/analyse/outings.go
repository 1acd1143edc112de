package analyse

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/motion"
)

// An outing is one day's track.
type outing struct {
	start time.Time // second 0 of the track
	track motion.Track
	pass  []int // by leg: its index in analysis.passes, or -1

	firstMoment, pastMoments int // of analysis.effort
}

// at returns a time in the track's seconds.
func (o outing) at(t time.Time) float64 { return t.Sub(o.start).Seconds() }

// time returns the time at a second of the track.
func (o outing) time(s float64) time.Time {
	return o.start.Add(time.Duration(s * float64(time.Second)))
}

// A moment is a few seconds of fishing at one place.
type moment struct {
	at      r2.Vec
	day     int
	hours   float64
	bottomM ingest.Maybe
	s       float64 // of the day's track
	stop    int     // fishing between two runs, counted through the day
	clockH  float64 // hours fished that day before it
}

// begins and ends are in seconds of the day's track.
func (m moment) begins() float64 { return m.s - m.hours*3600/2 }
func (m moment) ends() float64   { return m.s + m.hours*3600/2 }

// readOutings tells what the boat did each day, several days at a time.
func (a *analysis) readOutings(ctx context.Context) error {
	a.outings = make([]outing, len(a.season.Days))
	far, lines := make([]int, len(a.outings)), make([][]spatial.TrackPiece, len(a.outings))
	each(len(a.outings), func(i int) {
		if ctx.Err() != nil {
			return
		}
		var sound int
		sound, far[i] = a.readOuting(i)
		a.summarise(i, sound)
		lines[i] = a.thinTrack(i)
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	a.chart.Tracks = slices.Concat(lines...)
	sum := 0
	for _, n := range far {
		sum += n
	}
	if sum > 0 {
		a.remark("track", "%d fixes lie more than %d km from the middle of the rest and are left out.", sum, farM/1000)
	}
	return nil
}

// readOuting reads one day's track and returns how many of its fixes are sound, and how many of these are too far away.
func (a *analysis) readOuting(i int) (sound, far int) {
	o := &a.outings[i]
	n := 0
	for _, t := range a.season.Days[i].Tracks {
		n += len(t.Fixes)
	}
	steps := make([]motion.Step, 0, n)
	for _, t := range a.season.Days[i].Tracks {
		for k := range t.Fixes {
			f := &t.Fixes[k]
			if f.Flags != 0 {
				continue
			}
			sound++
			v, ok := a.near(f.Pos)
			if !ok {
				far++
				continue
			}
			if len(steps) == 0 {
				o.start = f.Time
			}
			steps = append(steps, motion.Step{S: o.at(f.Time), At: v})
		}
	}
	// One track may fill the gaps of another.
	slices.SortStableFunc(steps, func(a, b motion.Step) int { return cmp.Compare(a.S, b.S) })
	steps = slices.CompactFunc(steps, func(a, b motion.Step) bool { return a.S == b.S })
	o.track = motion.Read(steps, motion.Limits{
		RunMPS: a.set.RunMPS, DriftMinS: a.set.DriftMinS, DriftMinM: a.set.DriftMinM, MaxGapS: math.Max(a.set.MaxGapS, slowLoggerGaps*interval(steps)),
	})
	return sound, far
}

// slowLoggerGaps is how many of a track's own intervals may be missing before time
// is unknown: some receivers are set to a fix every few minutes, and a gap in
// theirs is another thing than in one of a second.
const slowLoggerGaps = 3

// interval returns the median time between steps, 0 for fewer than two.
func interval(steps []motion.Step) float64 {
	if len(steps) < 2 {
		return 0
	}
	s := make([]float64, len(steps)-1)
	for i := range s {
		s[i] = steps[i+1].S - steps[i].S
	}
	return quantile(0.5, s)
}

// summarise adds a day's figures to the chart.
func (a *analysis) summarise(day, fixes int) {
	d := a.season.Days[day]
	s := &a.chart.Days[day]
	s.Fixes, s.Events = fixes, len(d.Events)
	for _, x := range d.Soundings {
		if x.Flags == 0 {
			s.Soundings++
		}
	}
	t := a.outings[day].track
	s.UnknownH = t.UnknownS / 3600
	for _, n := range t.Nodes {
		h := n.ForS / 3600
		switch n.State {
		case motion.Running:
			s.RunningH += h
		case motion.Crawling:
			s.CrawlingH += h
		case motion.Drifting:
			s.DriftingH += h
		case motion.Holding:
			s.HoldingH += h
		case motion.Stopped:
			s.StoppedH += h
		}
	}
}

// thinTrack returns a day's track, thinned to what a picture shows.
func (a *analysis) thinTrack(day int) (out []spatial.TrackPiece) {
	const thinM = 2 // about the receiver's own error
	const gapS = 60
	o := a.outings[day]
	nodes := o.track.Nodes
	for _, l := range o.track.Legs {
		piece := spatial.TrackPiece{Day: day, State: l.State.String()}
		from := nodes[l.From]
		last := nodes[l.To-1]
		piece.From, piece.To = o.time(from.S-from.ForS/2), o.time(last.S+last.ForS/2)
		to := l.To
		if to < len(nodes) && nodes[to].S-last.S <= gapS {
			to++ // up to where the next begins
		}
		var line orb.LineString
		for _, n := range nodes[l.From:to] {
			line = append(line, orb.Point{n.At.X, n.At.Y})
		}
		if len(line) < 2 {
			line = append(line, line[0])
		}
		for _, p := range simplify.DouglasPeucker(thinM).LineString(line) {
			piece.Line = append(piece.Line, a.frame.Degrees(r2.Vec{X: p[0], Y: p[1]}))
		}
		out = append(out, piece)
	}
	return out
}
