package analyse

import (
	"context"
	"fmt"
	"slices"
	"time"

	"leadline/ingest"
	"leadline/spatial"
	"leadline/spatial/foretell"
)

// Do yesterday's zones foretell today's fish?
//
// Each day, or week, of the season is left out in turn. Zones, hours and depth bands are found anew from the days
// before it, and as a second figure from all other days; what came is held against them (foresee.go, package foretell). The first figure is
// the one that a person had: the second has days that came later, and is there because it rests on more. Its intervals are
// made wider, for days that foretell each other (foretell.Mutual).
//
// Zones are those of a chart's first round, proven or not, without simulations.
//
// Tuning. Each choice of settings foretells each day from those before it. A day is then foretold by the choice whose
// log scores over the days before it add up to most (Dawid, Statistical theory: the prequential approach, J. R. Stat. Soc. A
// 147, 1984): no day has a say in its own settings. Up to leastTuned days foretold it is the usual choice.
//
// Cost: an analysis of places and hours for each day left out, twice, and once for each choice; the square of the
// days. They are spread over the processors, and the result doesn't depend on how many there are.

const leastTuned = 5

// Settings tried beside the usual: how far schools of one place may lie apart, and how few events are one.
var (
	tunedCasts  = []float64{0.7, 1, 1.4}
	tunedEvents = []int{3, 4, 6, 9}
)

// Backtest leaves each day or week of a joined season out and says how well the others foretold it. progress,
// unless nil, is told each step as it begins. The same input gives the same result, whatever the machine. A
// season of which less than two days were fished gives one in which nothing was foretold. The only error is that of ctx when it
// ends first.
func Backtest(ctx context.Context, season ingest.Season, set spatial.Settings, ask spatial.BacktestAsk, progress func(step string)) (spatial.Backtest, error) {
	if progress == nil {
		progress = func(string) {}
	}
	progress("reading each day for itself")
	l, err := newLedger(ctx, season, set)
	if err != nil {
		return spatial.Backtest{}, err
	}
	b := backtest{l: l, units: l.units(ask.ByWeek), seed: ask.Seed}
	b.out = spatial.Backtest{ByWeek: ask.ByWeek, CastM: set.CastM, MinEvents: set.MinEvents, LakeM2: l.lakeM2()}
	progress("foretelling each from those before it")
	earlier, err := b.foretold(ctx, set, b.before)
	if err != nil {
		return spatial.Backtest{}, err
	}
	progress("foretelling each from all others")
	others, err := b.foretold(ctx, set, b.without)
	if err != nil {
		return spatial.Backtest{}, err
	}
	b.gather(earlier, others)
	if ask.Tune {
		progress("trying other settings")
		if err := b.tune(ctx, set, earlier); err != nil {
			return spatial.Backtest{}, err
		}
	}
	if l.undated > 0 {
		b.remark("events", "%d catches or marks carry no time: nobody can say which day foretold them, and they are left out.", l.undated)
	}
	return b.out, nil
}

type backtest struct {
	l     *ledger
	units []unit
	seed  uint64
	out   spatial.Backtest
}

func (b *backtest) remark(about, format string, args ...any) {
	b.out.Remarks = append(b.out.Remarks, spatial.Remark{About: about, Text: fmt.Sprintf(format, args...)})
}

// A unit is pages that are left out together.
type unit struct{ from, to int }

// units returns each page alone, or those of each week from Monday to Sunday.
func (l *ledger) units(byWeek bool) (out []unit) {
	monday := func(page int) string {
		t, err := time.Parse(time.DateOnly, l.pages[page].date)
		if err != nil {
			return l.pages[page].date
		}
		return t.AddDate(0, 0, -(int(t.Weekday())+6)%7).Format(time.DateOnly)
	}
	for i := range l.pages {
		if n := len(out); byWeek && n > 0 && monday(out[n-1].from) == monday(i) {
			out[n-1].to = i + 1
			continue
		}
		out = append(out, unit{i, i + 1})
	}
	return out
}

// before keeps the pages before a unit, without those of another unit.
func (b *backtest) before(u unit) func(page int) bool {
	return func(page int) bool { return page < u.from }
}

func (b *backtest) without(u unit) func(page int) bool {
	return func(page int) bool { return page < u.from || page >= u.to }
}

// A told is how one unit was foretold; nil where nothing was fished on what was kept.
type told struct {
	day   foretell.Day
	zones int
}

// foretold foretells every unit from the pages kept for it.
func (b *backtest) foretold(ctx context.Context, set spatial.Settings, kept func(unit) func(page int) bool) ([]*told, error) {
	out, errs := make([]*told, len(b.units)), make([]error, len(b.units))
	each(len(b.units), func(i int) {
		if errs[i] = ctx.Err(); errs[i] != nil {
			return
		}
		u := b.units[i]
		f, ok, err := foresee(ctx, b.l.past(set, kept(u)), u.from-1)
		if err != nil || !ok {
			errs[i] = err
			return
		}
		out[i] = &told{f.score(b.l, b.l.pages[u.from:u.to]), len(f.a.grounds)}
	})
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

func days(list []*told) (out []foretell.Day) {
	for _, t := range list {
		if t != nil {
			out = append(out, t.day)
		}
	}
	return out
}

// gather puts the figures together.
func (b *backtest) gather(earlier, others []*told) {
	b.out.Earlier, b.out.Others = foretell.Score(days(earlier), b.seed), foretell.Mutual(foretell.Score(days(others), b.seed))
	for i, u := range b.units {
		o := spatial.LeftOut{From: b.l.pages[u.from].date, To: b.l.pages[u.to-1].date, Earlier: toldOf(earlier[i]), Others: toldOf(others[i])}
		for k := u.from; k < u.to; k++ {
			p := &b.l.pages[k]
			for _, m := range p.fished(true) {
				o.Hours += m.hours
			}
			for _, e := range p.events {
				o.Events += e.weight
			}
		}
		if t := either(earlier[i], others[i]); t != nil {
			o.Hours = t.day.Hours // by what its past takes for fishing
		}
		b.out.Units = append(b.out.Units, o)
	}
}

// either returns the first that is there.
func either(list ...*told) *told {
	for _, t := range list {
		if t != nil {
			return t
		}
	}
	return nil
}

func toldOf(t *told) *spatial.Told {
	if t == nil {
		return nil
	}
	d := t.day
	return &spatial.Told{Known: d.Known, Zones: t.zones, EventsIn: d.EventsIn, HoursIn: d.HoursIn, AreaInM2: d.AreaInM2, Promised: d.Expected, Given: d.Given}
}

// tune tries settings. usual is what the usual ones foretold.
func (b *backtest) tune(ctx context.Context, set spatial.Settings, usual []*told) error {
	t := &spatial.Tuning{}
	var told [][]*told
	for _, cast := range tunedCasts {
		for _, n := range tunedEvents {
			try := set
			try.CastM, try.MinEvents = cast*set.CastM, n
			same := cast == 1 && n == set.MinEvents
			list := usual
			if !same {
				var err error
				if list, err = b.foretold(ctx, try, b.before); err != nil {
					return err
				}
			}
			t.Tried, told = append(t.Tried, spatial.Tried{CastM: try.CastM, MinEvents: n, Usual: same}), append(told, list)
		}
	}
	base := slices.IndexFunc(t.Tried, func(t spatial.Tried) bool { return t.Usual })
	if base < 0 { // the person's own fewest events are none of those tried
		t.Tried, told = append(t.Tried, spatial.Tried{CastM: set.CastM, MinEvents: set.MinEvents, Usual: true}), append(told, usual)
		base = len(t.Tried) - 1
	}
	sum, events := make([]float64, len(told)), 0.0
	best := func(seen int) int {
		best := base
		if seen >= leastTuned {
			for k := range sum {
				if sum[k] > sum[best] {
					best = k
				}
			}
		}
		return best
	}
	var scored []foretell.Day
	for i := range b.units {
		if usual[i] == nil {
			continue
		}
		k := best(len(scored))
		t.Tried[k].Chosen++
		scored = append(scored, told[k][i].day)
		for k := range told {
			d := told[k][i].day
			sum[k] += d.LogScore - d.FlatScore
		}
		events += usual[i].day.Events
	}
	for k := range sum {
		if events > 0 {
			t.Tried[k].PerEvent = sum[k] / events
		}
	}
	t.Scored, t.Next = foretell.Score(scored, b.seed), best(len(scored))
	b.out.Tuning = t
	return nil
}
