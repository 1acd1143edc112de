package analyse

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/cool"
	"leadline/spatial/milkrun"
	"leadline/spatial/sun"
	"leadline/spatial/water"
)

// The run of a day to come.
//
// Each zone is a stop that may be visited once. What a stay gives is the zone's rate on arrival, cooling while it is fished
// (rungain.go); the ways go over water that is known (runwater.go); package milkrun chooses stops, order and stays.
// Time between stops may be free: it is worth what any water is, and so is what a stay must give more than.
// Times are on a grid of gridS after the start, which is as finely as a day on the water can be kept, and takes in
// the minute or two for setting up; ways are rounded up to it.
//
// What it does badly: a zone is fished once a day; a second visit at evening is not known. Rates are those of the
// whole season, though schools move with the autumn: what zones moved stands on their cards.

const (
	gridS = 300
	// mostSites is how many zones are looked at, the best: a season seldom has more, and more would take minutes.
	mostSites = 40
	// worthS is the piece of the day by which its worth is told, soonerS the one by which that of leaving a stop is.
	worthS, soonerS = 1800, 900
	// shorterS is how much shorter the other plan's day is; of days below shorterLeastS nothing can be taken.
	shorterS, shorterLeastS = 2 * 3600, 4 * 3600
	// With more than milkrun.ExactStops stops. On a made season of 41 equally good zones no plan of a day of 32 stops gives 7 % more
	// than the one found, and showing it takes some seconds (BenchmarkRun).
	searchRounds, searchLabels = 5, 1_000_000
)

// staysS are the stays to choose from: finer where minutes count.
var staysS = []float64{600, 900, 1200, 1800, 2700, 3600, 5400, 7200}

// Errors of Run that tell what was asked for and can't be.
var (
	ErrNoTrack  = errors.New("there is no track: nobody can tell where the boat can go")
	ErrNoLaunch = errors.New("no known water at the launch")
	ErrNoZone   = errors.New("no such zone")
	ErrNoRun    = errors.New("no run in that time")
)

// Run analyses a joined season as Season does, and plans a day of fishing its zones. The same input gives the same run,
// whatever the machine.
//
// It is ErrNoTrack for a season without a track, ErrNoLaunch when no water that was travelled lies within 30 m of the launch or
// the take-out, ErrNoZone when a zone is asked for that isn't there, and ErrNoRun when there is no time, or the
// zones that must be visited can't be, each with what was asked for; or that of ctx when it ends first. A season
// without zones gives a run without stops.
//
// Cost beside Season's: that of package water for each zone, and of package milkrun for some dozen plans.
func Run(ctx context.Context, season ingest.Season, set spatial.Settings, ask spatial.RunAsk, progress func(step string)) (spatial.Chart, spatial.Run, error) {
	a, err := analysed(ctx, season, set, progress)
	if err != nil {
		return spatial.Chart{}, spatial.Run{}, err
	}
	if progress != nil {
		progress("planning the run")
	}
	p := planner{a: a, ask: ask}
	if err := p.plan(ctx); err != nil {
		return spatial.Chart{}, spatial.Run{}, err
	}
	return a.chart, p.run, nil
}

// A planner is one run on its way.
type planner struct {
	a   *analysis
	ask spatial.RunAsk
	run spatial.Run

	grid            *water.Grid
	launch, takeOut r2.Vec
	sites           []site
	travelS         [][]float64 // between sites, then the launch and the take-out
	cooling         cool.Cooling
	books           []book // of chart.Zones
	lake            *byHour
	shape           float64 // of the Gamma by which visits differ
	dropped         map[int]spatial.RunDropped
	elsewherePerH   float64 // what the lake gives outside all zones
}

// A site is a zone that may be a stop. What it gives is told by steps of the grid.
type site struct {
	zone  int // of chart.Zones
	at    r2.Vec
	perH  []float64   // events an hour on arrival
	shape []float64   // of the Gamma of what is known of that
	gain  [][]float64 // of each of staysS, beyond what the time is worth elsewhere
}

// best is the most that a site gives an hour.
func (s *site) best() float64 { return slices.Max(s.perH) }

func (p *planner) remark(about, format string, args ...any) {
	p.run.Remarks = append(p.run.Remarks, spatial.Remark{About: about, Text: fmt.Sprintf(format, args...)})
}

func (p *planner) plan(ctx context.Context) error {
	p.dropped = map[int]spatial.RunDropped{}
	if err := p.settleDay(); err != nil {
		return err
	}
	if err := p.knowWater(); err != nil {
		return err
	}
	p.learnGains()
	if err := p.chooseSites(); err != nil {
		return err
	}
	if err := p.findWays(ctx); err != nil {
		return err
	}
	best, err := p.solve(ctx, errand{from: len(p.sites), endS: p.endS(), sites: all(len(p.sites)), force: p.forced()},
		milkrun.Options{Seed: p.ask.Seed, Rounds: searchRounds, MaxLabels: searchLabels})
	if err != nil {
		return p.noRun(err)
	}
	if err := p.place(best); err != nil {
		return err
	}
	p.run.Proven, p.run.Bound = best.Proven, p.run.Expected.Mean+best.Bound-best.Gain
	if err := p.compare(ctx, best); err != nil {
		return err
	}
	if len(p.run.Stops) == 0 {
		switch {
		case len(p.a.chart.Zones) == 0:
			p.run.Why = "no zone was found"
			for _, r := range p.a.chart.Remarks {
				if r.About == "zones" || r.About == "effort" {
					p.run.Remarks = append(p.run.Remarks, r)
				}
			}
		case len(p.sites) == 0:
			p.run.Why = "every zone is left out"
		default:
			p.run.Why = "no zone gives more than any water in the time there is"
		}
	}
	for i, z := range p.a.chart.Zones {
		if d, ok := p.dropped[i]; ok {
			d.Zone = z.ID
			p.run.Dropped = append(p.run.Dropped, d)
		}
	}
	return nil
}

func all(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// settleDay settles the places and times of the day.
func (p *planner) settleDay() error {
	a, r, ask := p.a, &p.run, p.ask
	r.Date, r.Zone = ask.Date, a.chart.Zone
	if ask.Launch != nil {
		r.Launch = *ask.Launch
	} else {
		v, ok := a.usualStart()
		if !ok {
			return ErrNoTrack
		}
		r.Launch, r.Guessed = a.frame.Degrees(v), true
	}
	r.TakeOut = r.Launch
	if ask.TakeOut != nil {
		r.TakeOut = *ask.TakeOut
	}
	var near bool
	if p.launch, near = a.near(r.Launch); near {
		p.takeOut, near = a.near(r.TakeOut)
	}
	if !near {
		return fmt.Errorf("%w: it lies more than %d km from the season's water", ErrNoLaunch, farM/1000)
	}
	r.Sunrise, _ = sun.Rise(ask.Date, r.Launch)
	r.Sunset, _ = sun.Set(ask.Date, r.Launch)
	const step = gridS * time.Second
	if r.Start = ask.Start; r.Start.IsZero() {
		if r.Sunrise.IsZero() {
			return fmt.Errorf("%w: the sun doesn't rise on %s, so a start must be given", ErrNoRun, ask.Date)
		}
		r.Start = r.Sunrise.Add(step - 1).Truncate(step)
	}
	if r.Back = ask.Back; r.Back.IsZero() {
		if r.Sunset.IsZero() {
			return fmt.Errorf("%w: the sun doesn't set on %s, so an end must be given", ErrNoRun, ask.Date)
		}
		r.Back = r.Sunset.Truncate(step)
	}
	if d := r.Back.Sub(r.Start); d <= 0 || d > 24*time.Hour {
		return fmt.Errorf("%w: from %s to %s is no day", ErrNoRun, p.clock(r.Start), p.clock(r.Back))
	}
	r.LevelM, r.DraughtM, r.MarginM = a.chart.LevelM, ask.DraughtM, ask.MarginM
	r.Winds = slices.Clone(ask.Winds)
	if len(r.Winds) > 0 && !a.chart.Leeway.OK {
		p.remark("wind", "The forecast tells nothing of the drifts, since how the boat drifts in wind can't be told: %s. They are as they were on the season's days.", a.chart.Leeway.Why)
	}
	slices.SortStableFunc(r.Winds, func(x, y spatial.HourWind) int { return x.From.Compare(y.From) })
	return nil
}

func (p *planner) clock(t time.Time) string { return t.In(p.run.Zone).Format("15:04") }

// endS is the last second, after the start, at which the boat must be home.
func (p *planner) endS() float64 { return p.run.Back.Sub(p.run.Start).Seconds() }

// at is an instant so many seconds after the start.
func (p *planner) at(s float64) time.Time {
	return p.run.Start.Add(time.Duration(s * float64(time.Second)))
}

// usualStart returns where most days began: the first place of the day that has the most others within rampM, the earliest
// of equals.
func (a *analysis) usualStart() (r2.Vec, bool) {
	var first []r2.Vec
	for _, o := range a.outings {
		if len(o.track.Nodes) > 0 {
			first = append(first, o.track.Nodes[0].At)
		}
	}
	best, most := -1, 0
	for i, v := range first {
		n := 0
		for _, w := range first {
			if r2.Norm(r2.Sub(v, w)) <= rampM {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	if best < 0 {
		return r2.Vec{}, false
	}
	return first[best], true
}

// chooseSites takes the zones that may be stops; the others are dropped with a reason.
func (p *planner) chooseSites() error {
	zones := p.a.chart.Zones
	known := map[string]bool{}
	var ids []string
	for _, z := range zones {
		known[z.ID] = true
		ids = append(ids, z.ID)
	}
	for _, id := range slices.Concat(p.ask.Force, p.ask.Skip) {
		if !known[id] {
			has := "the season has no zone"
			if len(ids) > 0 {
				has = "there are " + strings.Join(ids, ", ")
			}
			return fmt.Errorf("%w as %q: %s", ErrNoZone, id, has)
		}
		if slices.Contains(p.ask.Force, id) && slices.Contains(p.ask.Skip, id) {
			return fmt.Errorf("%w: %s can't be both forced and skipped", ErrNoRun, id)
		}
	}
	for i, z := range zones {
		forced := slices.Contains(p.ask.Force, z.ID)
		why := ""
		switch {
		case slices.Contains(p.ask.Skip, z.ID):
			why = "left out as asked"
		case p.ask.Proven && !z.Proven && !forced:
			why = "not proven, and proven zones only were asked for"
		case !z.ShrunkPerH.OK:
			why = "how long it was fished is not known, so neither is its rate"
		}
		if why != "" {
			if forced {
				return fmt.Errorf("%w: %s must be visited: %s", ErrNoRun, z.ID, why)
			}
			p.dropped[i] = spatial.RunDropped{Why: why}
			continue
		}
		p.sites = append(p.sites, p.newSite(i))
	}
	if len(p.sites) > mostSites {
		rank := all(len(p.sites))
		slices.SortStableFunc(rank, func(x, y int) int {
			f := func(k int) int {
				if slices.Contains(p.ask.Force, zones[p.sites[k].zone].ID) {
					return 0
				}
				return 1
			}
			return cmp.Or(cmp.Compare(f(x), f(y)), cmp.Compare(p.sites[y].best(), p.sites[x].best()))
		})
		keep := rank[:mostSites]
		slices.Sort(keep)
		var kept []site
		for k, s := range p.sites {
			if _, in := slices.BinarySearch(keep, k); in {
				kept = append(kept, s)
				continue
			}
			p.dropped[s.zone] = spatial.RunDropped{Why: fmt.Sprintf("not among the %d with the best rates", mostSites)}
		}
		p.sites = kept
	}
	return nil
}

// forced returns the sites that must be visited.
func (p *planner) forced() (out []int) {
	for k, s := range p.sites {
		if slices.Contains(p.ask.Force, p.a.chart.Zones[s.zone].ID) {
			out = append(out, k)
		}
	}
	return out
}

// An errand is what is left to plan: from a site, or from the launch, which is the one past the last, at a second after
// the start of the day.
type errand struct {
	from         int
	beginS, endS float64
	sites, force []int
}

// solve plans an errand; the plan's stops are of p.sites, and so is the order to begin with. What of that is no site of the errand's is
// left out.
func (p *planner) solve(ctx context.Context, e errand, opt milkrun.Options) (milkrun.Plan, error) {
	if err := ctx.Err(); err != nil {
		return milkrun.Plan{}, err
	}
	rows := append(slices.Clone(e.sites), e.from, len(p.sites)+1)
	problem := milkrun.Problem{BeginS: e.beginS, EndS: e.endS, GridS: gridS, MaxWaitS: math.Inf(1)}
	for _, i := range rows {
		row := make([]float64, len(rows))
		for k, j := range rows {
			row[k] = p.travelS[i][j]
		}
		problem.TravelS = append(problem.TravelS, row)
	}
	for k, i := range e.sites {
		s := &p.sites[i]
		problem.Stops = append(problem.Stops, milkrun.Stop{CloseS: math.Inf(1), StaysS: staysS, Gain: s.gainOf})
		if slices.Contains(e.force, i) {
			problem.Force = append(problem.Force, k)
		}
	}
	var order []int
	for _, i := range opt.Order {
		if k := slices.Index(e.sites, i); k >= 0 {
			order = append(order, k)
		}
	}
	opt.Order = order
	plan, err := milkrun.Solve(problem, opt)
	for v := range plan.Visits {
		plan.Visits[v].Stop = e.sites[plan.Visits[v].Stop]
	}
	plan.Visits = slices.DeleteFunc(plan.Visits, func(v milkrun.Visit) bool { return v.Gain <= 0 && !slices.Contains(e.force, v.Stop) })
	return plan, err
}

// noRun says why there is no plan.
func (p *planner) noRun(err error) error {
	if !errors.Is(err, milkrun.ErrNone) && !errors.Is(err, milkrun.ErrNotFound) {
		return err
	}
	what := "not even the way from the launch to the take-out"
	if len(p.ask.Force) > 0 {
		what = "not all of " + strings.Join(p.ask.Force, ", ")
	}
	return fmt.Errorf("%w: %s fits between %s and %s", ErrNoRun, what, p.clock(p.run.Start), p.clock(p.run.Back))
}

// point returns a place in metres as a position.
func (p *planner) point(v r2.Vec) orb.Point { return p.a.frame.Degrees(v) }
