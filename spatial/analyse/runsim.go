package analyse

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"leadline/spatial"
	"leadline/spatial/milkrun"
)

// What to expect, and beside what.
//
// A day is simulated runDays times. In each, every zone's rate at the hour is drawn from what is known of it (the Gamma of
// rungain.go), how good a visit today is from the Gamma by which visits differ, and the bites from a Poisson with
// the stay's expectation times both. The rival meets the same zones in the same days. It goes to as many
// zones as the run, from each to the nearest not yet seen, and stays as long at each as the day allows: what one does who
// knows the places, and no rates.
//
// What it does badly: the weather of a day moves all zones together, and is not known here; the interval is too narrow by that.

const runDays = 2000

// compare says what the plan is worth and what else could be done.
func (p *planner) compare(ctx context.Context, best milkrun.Plan) error {
	used := make([]int, len(best.Visits))
	for i, v := range best.Visits {
		used[i] = v.Stop
	}
	few := milkrun.Options{Seed: p.ask.Seed, Rounds: -1, Order: used}
	if len(p.sites) > milkrun.ExactStops { // dozens of plans: none is proven then
		few.MaxLabels = -1
	}
	forced := p.forced()

	whole := func(endS float64) errand {
		return errand{from: len(p.sites), endS: endS, sites: all(len(p.sites)), force: forced}
	}

	// The other plans don't know of each other.
	type job func() error
	var shorter, lessTime milkrun.Plan
	var shorterErr, lessErr error
	jobs := []job{
		func() (err error) {
			if lessTime, lessErr = p.solve(ctx, whole(p.endS()-worthS), few); fatal(lessErr) {
				return lessErr
			}
			return nil
		},
		func() (err error) {
			if p.endS() < shorterLeastS {
				return nil
			}
			if shorter, shorterErr = p.solve(ctx, whole(p.endS()-shorterS), few); fatal(shorterErr) {
				return shorterErr
			}
			return nil
		},
	}
	costs := make([]float64, len(p.sites))
	for k := range p.sites {
		costs[k] = math.NaN()
		if slices.Contains(used, k) {
			continue
		}
		jobs = append(jobs, func() error {
			with := append(slices.Clone(used), k)
			slices.Sort(with)
			other, err := p.solve(ctx, errand{from: len(p.sites), endS: p.endS(), sites: with, force: append(slices.Clone(forced), k)}, few)
			if err == nil {
				costs[k] = math.Max(0, best.Gain-other.Gain)
			} else if fatal(err) {
				return err
			}
			return nil
		})
	}
	// What leaving a stop sooner gives to the rest of the run, in its order or another.
	worth := make([]float64, len(best.Visits))
	for i, v := range best.Visits {
		worth[i] = p.elsewherePerH
		if i == len(best.Visits)-1 {
			continue
		}
		jobs = append(jobs, func() error {
			rest := errand{from: v.Stop, beginS: v.LeaveS, endS: p.endS(), sites: slices.Sorted(slices.Values(used[i+1:]))}
			asPlanned, err := p.solve(ctx, rest, few)
			if err != nil {
				return err
			}
			rest.beginS -= soonerS
			sooner, err := p.solve(ctx, rest, few)
			if err != nil {
				return err
			}
			worth[i] += math.Max(0, sooner.Gain-asPlanned.Gain) / (soonerS / 3600.0)
			return nil
		})
	}
	errs := make([]error, len(jobs))
	each(len(jobs), func(i int) { errs[i] = jobs[i]() })
	if err := errors.Join(errs...); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return err
	}
	if lessErr == nil {
		p.run.WorthPerH = p.elsewherePerH + math.Max(0, best.Gain-lessTime.Gain)/(worthS/3600.0)
	}
	p.patience(worth)
	free := p.run.Leave.Sub(p.run.Start).Hours() + p.run.Back.Sub(p.run.Home).Hours()
	for _, s := range p.run.Stops {
		free += s.FreeS / 3600
	}
	if len(used) > 0 && free > 1 {
		p.remark("time", "The run leaves %.1f h of the day free: the zones have cooled off, or are better at other hours, and more of them gives less than the %.1f events that an hour gave anywhere on this water.", free, p.elsewherePerH)
	}
	for k, s := range p.sites {
		if slices.Contains(used, k) {
			continue
		}
		d := spatial.RunDropped{Why: "other stops give more in the time there is"}
		if cost := costs[k]; cost == cost {
			d.Costs.V, d.Costs.OK = cost, true
		} else {
			d.Why = "there is no time for the way there and back"
		}
		p.dropped[s.zone] = d
	}
	p.simulate(best)
	p.others(shorter, shorterErr)
	return nil
}

// fatal tells an error that ends the planning from one that says there is no such plan.
func fatal(err error) bool {
	return err != nil && !errors.Is(err, milkrun.ErrNone) && !errors.Is(err, milkrun.ErrNotFound)
}

// A stay is a site, the events to expect there, and the shape of the Gamma of what is known of them.
type stay struct {
	site        int
	mean, shape float64
}

// stayAt is a stay that begins startS after the start of the day.
func (p *planner) stayAt(k int, startS, stayS float64) stay {
	s := &p.sites[k]
	return stay{k, p.expected(s, startS, stayS), s.shape[s.step(startS)]}
}

// simulate gives the run its intervals, and its rival.
func (p *planner) simulate(best milkrun.Plan) {
	var mine []stay
	for _, v := range best.Visits {
		mine = append(mine, p.stayAt(v.Stop, v.StartS, v.LeaveS-v.StartS))
	}
	rival, order := p.nearest(len(mine))
	rng := rand.New(rand.NewPCG(p.ask.Seed, 0x6d696c6b))
	var total, theirs, gains []float64
	atStop := make([][]float64, len(mine))
	noLess := 0
	// At the same hour the same is unknown of a zone; at another hour something else.
	type unknown struct {
		site  int
		shape float64
	}
	luck := map[unknown]float64{}
	draw := func(s stay) float64 {
		u := unknown{s.site, s.shape}
		if _, drawn := luck[u]; !drawn {
			luck[u] = gamma(rng, s.shape)
		}
		return luck[u]
	}
	visit := make([]float64, len(p.sites))
	for range runDays {
		clear(luck)
		for k := range visit {
			visit[k] = gamma(rng, p.shape)
		}
		sum, other := 0.0, 0.0
		for i, s := range mine {
			n := poisson(rng, s.mean*draw(s)*visit[s.site])
			atStop[i] = append(atStop[i], n)
			sum += n
		}
		for _, s := range rival {
			other += poisson(rng, s.mean*draw(s)*visit[s.site])
		}
		total, theirs, gains = append(total, sum), append(theirs, other), append(gains, sum-other)
		if sum >= other {
			noLess++
		}
	}
	if len(mine) == 0 {
		return
	}
	low, high := limits(total)
	p.run.Expected.Low, p.run.Expected.High = low, high
	for i := range mine {
		s := &p.run.Stops[i]
		s.Expected.Low, s.Expected.High = limits(atStop[i])
	}
	if len(rival) < 2 {
		return
	}
	mean := 0.0
	for _, s := range rival {
		mean += s.mean
	}
	r := &spatial.RunRival{Days: runDays, Share: float64(noLess) / runDays}
	for _, k := range order {
		r.Order = append(r.Order, p.a.chart.Zones[p.sites[k].zone].ID)
	}
	r.Expected.Mean, r.Gain.Mean = mean, p.run.Expected.Mean-mean
	r.Expected.Low, r.Expected.High = limits(theirs)
	r.Gain.Low, r.Gain.High = limits(gains)
	if mean > 0 {
		r.Ratio = p.run.Expected.Mean / mean
	}
	p.run.Nearest = r
}

// limits returns the 5 % and 95 % quantiles.
func limits(v []float64) (low, high float64) { return quantile(0.05, v), quantile(0.95, v) }

// gamma draws from a Gamma distribution of mean 1.
func gamma(rng *rand.Rand, shape float64) float64 {
	return distuv.Gamma{Alpha: shape, Beta: shape, Src: rng}.Rand()
}

func poisson(rng *rand.Rand, mean float64) float64 {
	if mean <= 0 {
		return 0
	}
	return distuv.Poisson{Lambda: mean, Src: rng}.Rand()
}

// nearest returns the rival: n sites, or as many as there is time for, each the nearest in time from the one before, with equal stays.
func (p *planner) nearest(n int) (stays []stay, order []int) {
	for ; n > 0; n-- {
		order = nil
		at, wayS := len(p.sites), 0.0
		for len(order) < n {
			next := -1
			for k := range p.sites {
				if !slices.Contains(order, k) && (next < 0 || p.travelS[at][k] < p.travelS[at][next]) {
					next = k
				}
			}
			if next < 0 || math.IsInf(p.travelS[at][next], 1) {
				break
			}
			wayS += p.travelS[at][next]
			order, at = append(order, next), next
		}
		if len(order) < n {
			continue
		}
		wayS += p.travelS[at][len(p.sites)+1]
		stayS := math.Floor((p.endS()-wayS)/float64(n)/60) * 60
		if stayS < staysS[0] {
			continue
		}
		t, at := 0.0, len(p.sites)
		for _, k := range order {
			t += p.travelS[at][k]
			stays = append(stays, p.stayAt(k, t, stayS))
			t, at = t+stayS, k
		}
		return stays, order
	}
	return nil, nil
}

// others adds the plans for a day that turns out otherwise.
func (p *planner) others(shorter milkrun.Plan, shorterErr error) {
	r := &p.run
	if len(p.sites) == 0 {
		return
	}
	if p.endS() >= shorterLeastS {
		o := spatial.RunOther{Name: "two hours shorter"}
		if shorterErr != nil || len(shorter.Visits) == 0 {
			o.Why = "no stop fits"
		} else {
			o.Home = p.at(shorter.BackS)
			for _, v := range shorter.Visits {
				s := p.stop(v.Stop, p.at(v.StartS), p.at(v.LeaveS), r.Winds)
				o.Expected += p.expected(&p.sites[v.Stop], v.StartS, v.LeaveS-v.StartS)
				o.Stops = append(o.Stops, spatial.RunOtherStop{Zone: s.Zone, Arrive: s.Arrive, Leave: s.Leave, Head: s.Head})
			}
		}
		r.Others = append(r.Others, o)
	}
	if len(r.Stops) == 0 {
		return
	}
	o := spatial.RunOther{Name: "the wind turns by a quarter and blows half as hard again"}
	switch {
	case len(r.Winds) == 0:
		o.Why = "no forecast was given"
	case !p.a.chart.Leeway.OK:
		o.Why = "how the boat drifts in wind is not known"
	default:
		var turned []spatial.HourWind
		for _, w := range r.Winds {
			w.SpeedMPS, w.FromDeg = 1.5*w.SpeedMPS, math.Mod(w.FromDeg+90, 360)
			turned = append(turned, w)
		}
		o.Expected, o.Home = r.Expected.Mean, r.Home
		for i, s := range r.Stops {
			t := p.stop(p.indexOf(s.Index), s.Arrive, s.Leave, turned)
			o.Stops = append(o.Stops, spatial.RunOtherStop{Zone: s.Zone, Arrive: r.Stops[i].Arrive, Leave: s.Leave, Head: t.Head})
		}
	}
	r.Others = append(r.Others, o)
}

func (p *planner) indexOf(zone int) int {
	return slices.IndexFunc(p.sites, func(s site) bool { return s.zone == zone })
}
