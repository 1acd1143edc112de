package analyse

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/motion"
	"leadline/spatial/water"
)

const (
	waterCellM   = 10
	waterBesideM = 10 // a boat's width, and what a receiver errs by, on either side
	// Between two windows of the track farther apart than this the boat may have gone anywhere, round a point of
	// land for instance: that water is not known.
	crossedS, crossedM = 30, 300
	// However long it took, hardly anything fits between two places this near: 30 m, when either knows 10 m around it.
	besideEachOtherM = 50
	usualRunMPS      = 12 // 27 mph; where no day ran: common practice, no source
)

// knowWater lays the grid of the water that the season knows, at the day's level.
func (p *planner) knowWater() error {
	a := p.a
	in := water.Input{
		CellM: waterCellM, BesideM: waterBesideM, NeedM: p.ask.DraughtM + p.ask.MarginM,
		Depth: func(v r2.Vec) (float64, bool) { return a.ground.DepthM(v) },
	}
	anyLevel := slices.ContainsFunc(a.chart.Days, func(d spatial.DaySummary) bool { return d.Shift.From != spatial.AsSounded })
	var runs []float64
	for day, o := range a.outings {
		shift := a.chart.Days[day].Shift
		level := shift.From != spatial.AsSounded || !anyLevel
		for _, piece := range unbroken(o.track.Nodes) {
			t := water.Track{RiseM: shift.M, Level: level}
			for i, n := range piece {
				s := water.Sample{At: n.At, Powered: n.State == motion.Running || n.State == motion.Crawling}
				before, after := piece[max(0, i-1)], piece[min(len(piece)-1, i+1)]
				if d := after.S - before.S; d > 0 {
					s.MPS = r2.Norm(r2.Sub(after.At, before.At)) / d
				}
				if n.State == motion.Running {
					runs = append(runs, s.MPS)
				}
				t.Samples = append(t.Samples, s)
			}
			in.Tracks = append(in.Tracks, t)
		}
	}
	if len(in.Tracks) == 0 {
		return ErrNoTrack
	}
	if !anyLevel {
		p.remark("water", "No day's water level is known: water that was travelled is taken to be as deep as it was.")
	}
	switch {
	case p.ask.RunMPS.OK:
		in.RunMPS = p.ask.RunMPS.V
	case len(runs) > 0:
		in.RunMPS = quantile(0.5, runs)
	default:
		in.RunMPS = usualRunMPS
		p.remark("water", "The boat was never seen running: %d m/s is taken for its speed.", usualRunMPS)
	}
	if p.ask.IdleMPS.OK {
		in.CreepM = math.Max(p.ask.IdleMPS.V, math.Min((p.ask.IdleMPS.V+in.RunMPS)/2, in.RunMPS))
	}
	p.run.RunMPS = in.RunMPS
	p.grid = water.New(in)
	for _, end := range []struct {
		name string
		v    r2.Vec
		at   orb.Point
	}{{"launch", p.launch, p.run.Launch}, {"take-out", p.takeOut, p.run.TakeOut}} {
		if _, ok := p.grid.To(end.v, end.v); !ok {
			return fmt.Errorf("%w: no water that was travelled and is %.1f m deep lies within 30 m of the %s, %.6f, %.6f", ErrNoLaunch, in.NeedM, end.name, end.at[1], end.at[0])
		}
	}
	return nil
}

// unbroken cuts a day's track where the way between two windows of it is not known.
func unbroken(nodes []motion.Node) (pieces [][]motion.Node) {
	from := 0
	for i := 1; i <= len(nodes); i++ {
		if i < len(nodes) {
			d := r2.Norm(r2.Sub(nodes[i].At, nodes[i-1].At))
			if nodes[i].S-nodes[i-1].S <= crossedS && d <= crossedM || d <= besideEachOtherM {
				continue
			}
		}
		pieces = append(pieces, nodes[from:i])
		from = i
	}
	return pieces
}

// findWays finds how long the way is from each site to each, and drops the sites there is no known way to.
func (p *planner) findWays(ctx context.Context) error {
	places := make([]r2.Vec, 0, len(p.sites)+2)
	for _, s := range p.sites {
		places = append(places, s.at)
	}
	places = append(places, p.launch, p.takeOut)
	n := len(places)
	travel := make([][]float64, n)
	each(n, func(i int) {
		row := make([]float64, n)
		travel[i] = row
		if ctx.Err() != nil {
			return
		}
		ways, ok := p.grid.From(places[i], places)
		for k := range row {
			if row[k] = math.Inf(1); ok[k] {
				row[k] = ways[k].Seconds
			}
		}
		row[i] = 0
	})
	if err := ctx.Err(); err != nil {
		return err
	}
	launch, takeOut := n-2, n-1
	if math.IsInf(travel[launch][takeOut], 1) {
		return fmt.Errorf("%w: no known way leads from the launch to the take-out", ErrNoLaunch)
	}
	var keep []int
	for k := range p.sites {
		if !math.IsInf(travel[launch][k], 1) && !math.IsInf(travel[k][takeOut], 1) {
			keep = append(keep, k)
			continue
		}
		z := p.a.chart.Zones[p.sites[k].zone]
		if slices.Contains(p.ask.Force, z.ID) {
			return fmt.Errorf("%w: %s must be visited, and no known way leads there", ErrNoRun, z.ID)
		}
		p.dropped[p.sites[k].zone] = spatial.RunDropped{Why: "no known way: the water between was not travelled, or is too shallow at this level"}
	}
	rows := append(slices.Clone(keep), launch, takeOut)
	p.travelS = nil
	for _, i := range rows {
		row := make([]float64, len(rows))
		for k, j := range rows {
			row[k] = travel[i][j]
		}
		p.travelS = append(p.travelS, row)
	}
	var sites []site
	for _, k := range keep {
		sites = append(sites, p.sites[k])
	}
	p.sites = sites
	return nil
}

// leg returns the way between two places.
func (p *planner) leg(from, to int, a, b r2.Vec) (spatial.RunLeg, bool) {
	w, ok := p.grid.To(a, b)
	if !ok {
		return spatial.RunLeg{}, false
	}
	l := spatial.RunLeg{From: from, To: to, LengthM: w.LengthM, Seconds: w.Seconds, UnsoundedM: w.UnsoundedM}
	if w.Sounded {
		l.LeastM = ingest.Known(w.LeastM)
	}
	for _, v := range w.Line {
		l.Line = append(l.Line, p.point(v))
	}
	return l, true
}

// each calls f for 0 to n-1, as many at a time as there are cores.
func each(n int, f func(i int)) {
	var wait sync.WaitGroup
	queue := make(chan int)
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := range queue {
				f(i)
			}
		})
	}
	for i := range n {
		queue <- i
	}
	close(queue)
	wait.Wait()
}
