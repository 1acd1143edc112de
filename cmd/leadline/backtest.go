package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/backsheet"
	"leadline/export/resultfile"
	"leadline/export/save"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// backtestFlags are the flags of backtest.
type backtestFlags struct {
	read readFlags
	part filterFlags
	set  placeFlags

	out, title   string
	weeks, tuned bool
}

func (a *app) backtest() *cobra.Command {
	f := &backtestFlags{}
	c := &cobra.Command{
		Use:   "backtest [FILE...]",
		Short: "Would the zones of earlier days have foretold where fish were?",
		Long: `backtest leaves each day of a season out in turn, finds zones, hours and depth bands
from the days before it alone, and holds what came on that day against them: how much
more an hour at the zones gave than an hour of fishing anywhere, with the interval that
so few days allow. A second figure is from all other days. It prints what that says
and, with -o, writes to DIR:

  backtest.html  the same on one page, with lift by days in the logbook
  backtest.json  every figure

The season is that of the logbook (see leadline import), or of FILEs.`,
		Example: `  leadline backtest
  leadline backtest --weeks --months sep..nov -o honest
  leadline backtest season/ --boat season/boat.toml --tune`,
		RunE: func(c *cobra.Command, args []string) error { return a.runBacktest(c.Context(), args, f) },
	}
	flags := c.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "`DIR` to write to, made if it isn't there")
	flags.BoolVar(&f.weeks, "weeks", false, "leave weeks out, Monday to Sunday, and not days")
	flags.BoolVar(&f.tuned, "tune", false, "try other casts and fewest events, too, each day by what did best before it")
	f.read.add(flags)
	f.part.add(flags)
	f.set.add(flags)
	flags.Uint64Var(&f.set.seed, "seed", 1, "seed of the intervals")
	flags.StringVar(&f.title, "title", "", "heading of the page")
	return c
}

func (a *app) runBacktest(ctx context.Context, args []string, f *backtestFlags) error {
	if err := f.set.check(); err != nil {
		return err
	}
	p := a.progress()
	season, boat, remark, err := a.seasonOf(ctx, args, &f.read, &f.part, p)
	if err != nil {
		return err
	}
	b, err := analyse.Backtest(ctx, season, f.set.settings(boat), spatial.BacktestAsk{ByWeek: f.weeks, Tune: f.tuned, Seed: f.set.seed}, p.step)
	if err != nil {
		return err
	}
	if remark.Text != "" {
		b.Remarks = append(b.Remarks, remark)
	}
	opt := export.Options{Units: units(boat), Title: f.title}
	if f.out != "" {
		p.step("writing")
		if err := save.Files(ctx, f.out, []save.Output{
			{Name: "backtest.html", Write: func(w io.Writer) error { return backsheet.Write(w, b, opt) }},
			{Name: "backtest.json", Write: func(w io.Writer) error { return resultfile.WriteBacktest(w, b, opt) }},
		}); err != nil {
			return err
		}
	}
	if a.common.json {
		return resultfile.WriteBacktest(a.out, b, opt)
	}
	return printBacktest(a.out, b, opt, f.out)
}

// printBacktest prints what the days left out say.
func printBacktest(w io.Writer, b spatial.Backtest, opt export.Options, dir string) error {
	for i, line := range export.BacktestWords(b, opt.Units) {
		if i == 1 {
			fmt.Fprintln(w)
		}
		fmt.Fprintln(w, line)
	}
	fmt.Fprintln(w)
	for _, r := range b.Remarks {
		fmt.Fprintf(w, "%s: %s\n", r.About, r.Text)
	}
	for _, line := range export.BacktestCautions() {
		fmt.Fprintln(w, line)
	}
	if dir != "" {
		fmt.Fprintf(w, "\nWritten to %s; open %s\n", dir, filepath.Join(dir, "backtest.html"))
	}
	return nil
}
