package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/geojsonfile"
	"leadline/export/gpxfile"
	"leadline/export/kmlfile"
	"leadline/export/runsheet"
	"leadline/export/save"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// planFlags are the flags of plan.
type planFlags struct {
	read readFlags
	part filterFlags
	set  settingsFlags

	out, title, date    string
	start, back         clockFlag
	launch, takeOut     pointFlag
	run, idle           *quantity
	draft, margin       *quantity
	winds               windsFlag
	force, skip         []string
	proven, longerNames bool
}

func (a *app) plan() *cobra.Command {
	f := &planFlags{
		run:    newQuantity(si.Speed, 1),
		idle:   newQuantity(si.Speed, 0.5),
		draft:  newQuantity(si.Length, 0.05),
		margin: newQuantity(si.Length, 0),
	}
	c := &cobra.Command{
		Use:   "plan [FILE...] -o DIR",
		Short: "Plan tomorrow's milk run: which zones, in what order, how long, with which head",
		Long: `plan finds the zones of a season as zones does, and the run of a day to come over
them: which to fish, in what order, when to leave each, where to begin the drift and
which head to tie on. It goes only over water that was travelled, or sounded deep
enough, and writes to DIR:

  run.html     one page to print
  run.gpx      a route to follow and a waypoint per stop, with short names
  run.geojson  stops and legs
  run.kml      the same

The season is that of the logbook (see leadline import), or of FILEs. --pool is the
level of the day: all depths are at it.`,
		Example: `  leadline plan -o tomorrow
  leadline plan --date 2031-11-09 --wind 8mph@NW --wind 12:00=14mph@W -o tomorrow
  leadline plan --start 6:30 --back 13:00 --force Z2 --skip Z5 -o tomorrow
  leadline plan season/ --boat season/boat.toml --launch 36.512,-40.118 -o tomorrow`,
		RunE: func(c *cobra.Command, args []string) error { return a.runPlan(c.Context(), args, f) },
	}
	flags := c.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "`DIR` to write to, made if it isn't there")
	flags.StringVar(&f.date, "date", "", "`DAY` to plan, such as 2031-11-09 (default the day after the season's last)")
	flags.Var(&f.start, "start", "leave the launch from here, such as 6:30 (default sunrise)")
	flags.Var(&f.back, "back", "be at the take-out by then (default sunset)")
	flags.Var(&f.launch, "launch", "where to begin (default the boat file's, or where most days began)")
	flags.Var(&f.takeOut, "take-out", "where to end (default the boat file's, or the launch)")
	flags.Var(&f.winds, "wind", "the forecast, such as 8mph@NW, or from a time on, 12:00=14mph@W (repeatable)")
	flags.Var(f.run, "run", "how fast the boat runs (default the boat file's, or as on the season's days)")
	flags.Var(f.idle, "idle", "how fast where no wake is allowed (default the boat file's)")
	flags.Var(f.draft, "draft", "of the boat, motor down (default the boat file's, or 2ft)")
	flags.Var(f.margin, "margin", "least water wanted under that (default the boat file's, or 2ft)")
	flags.StringSliceVar(&f.force, "force", nil, "`ZONE` that must be visited, such as Z2 (repeatable)")
	flags.StringSliceVar(&f.skip, "skip", nil, "`ZONE` to leave out (repeatable)")
	flags.BoolVar(&f.proven, "proven", false, "visit proven zones only")
	f.read.add(flags)
	f.part.add(flags)
	f.set.add(flags, "water level of the day (default the latest day's)")
	flags.StringVar(&f.title, "title", "", "heading of the sheet and name of the overlays")
	flags.BoolVar(&f.longerNames, "long-names", false, "waypoints with what they are in the name, for plotters that take more than ten letters")
	return c
}

func (a *app) runPlan(ctx context.Context, args []string, f *planFlags) error {
	if f.out == "" && !a.common.json {
		return usagef("no folder to write to: give one with -o DIR")
	}
	if err := f.set.check(); err != nil {
		return err
	}
	if f.date != "" {
		if _, err := dayArg(f.date); err != nil {
			return err
		}
	}
	p := a.progress()
	season, boat, remark, err := a.seasonOf(ctx, args, &f.read, &f.part, p)
	if err != nil {
		return err
	}
	ask, err := f.ask(season, boat)
	if err != nil {
		return err
	}
	chart, run, err := analyse.Run(ctx, season, f.set.settings(boat), ask, p.step)
	switch {
	case errors.Is(err, analyse.ErrNoLaunch) && ask.Launch == nil:
		return hinted{err, "say where you launch: --launch LAT,LON"}
	case err != nil:
		return err
	}
	if remark.Text != "" {
		run.Remarks = append(run.Remarks, remark)
	}
	opt := export.Options{Units: units(boat), Title: f.title}
	if f.out != "" {
		p.step("writing")
		if err := save.Files(ctx, f.out, f.outputs(chart, run, opt)); err != nil {
			return err
		}
	}
	if a.common.json {
		return geojsonfile.WriteRun(a.out, chart, run, opt)
	}
	return printRun(a.out, chart, run, opt, f.out)
}

// ask returns what the flags and the boat file say of the day.
func (f *planFlags) ask(season ingest.Season, boat ingest.Boat) (spatial.RunAsk, error) {
	zone := season.Zone
	if zone == nil {
		zone = time.UTC
	}
	ask := spatial.RunAsk{
		Date: f.date, Launch: boat.Launch, TakeOut: boat.TakeOut, RunMPS: boat.RunMPS, IdleMPS: boat.IdleMPS,
		DraughtM: f.draft.or(boat.DraftM), MarginM: f.margin.or(boat.MarginM),
		Force: f.force, Skip: f.skip, Proven: f.proven, Seed: f.set.seed,
	}
	if f.launch.at != nil {
		ask.Launch, ask.TakeOut = f.launch.at, nil
	}
	if f.takeOut.at != nil {
		ask.TakeOut = f.takeOut.at
	}
	if f.run.value.OK {
		ask.RunMPS = f.run.value
	}
	if f.idle.value.OK {
		ask.IdleMPS = f.idle.value
	}
	if ask.Date == "" {
		if len(season.Days) == 0 {
			return ask, hinted{errors.New("the season has no day, so there is none after it"), "say which day to plan: --date 2031-11-09"}
		}
		last, err := time.Parse(time.DateOnly, season.Days[len(season.Days)-1].Date)
		if err != nil {
			return ask, err
		}
		ask.Date = last.AddDate(0, 0, 1).Format(time.DateOnly)
	}
	day, err := time.Parse(time.DateOnly, ask.Date)
	if err != nil {
		return ask, err
	}
	at := func(c clockFlag) time.Time {
		if !c.set {
			return time.Time{}
		}
		minutes := int(60*c.hours + 0.5)
		return time.Date(day.Year(), day.Month(), day.Day(), 0, minutes, 0, 0, zone).UTC()
	}
	ask.Start, ask.Back = at(f.start), at(f.back)
	if !ask.Start.IsZero() && !ask.Back.IsZero() && !ask.Back.After(ask.Start) {
		return ask, usagef("--back %s is not after --start %s", f.back.shown, f.start.shown)
	}
	for _, w := range f.winds.list {
		ask.Winds = append(ask.Winds, spatial.HourWind{From: at(w.from), Wind: w.wind})
	}
	return ask, nil
}

// outputs lists the files of the contract, in the order they are named to a person.
func (f *planFlags) outputs(chart spatial.Chart, run spatial.Run, opt export.Options) []save.Output {
	with := func(write func(io.Writer, spatial.Chart, spatial.Run, export.Options) error) func(io.Writer) error {
		return func(w io.Writer) error { return write(w, chart, run, opt) }
	}
	return []save.Output{
		{Name: "run.html", Write: with(runsheet.Write)},
		{Name: "run.gpx", Write: func(w io.Writer) error { return gpxfile.WriteRun(w, chart, run, opt, !f.longerNames) }},
		{Name: "run.geojson", Write: with(geojsonfile.WriteRun)},
		{Name: "run.kml", Write: with(kmlfile.WriteRun)},
	}
}

// printRun prints what a person wants to know before opening anything.
func printRun(w io.Writer, chart spatial.Chart, run spatial.Run, opt export.Options, dir string) error {
	u := opt.Units
	clock := func(t time.Time) string { return export.RunClock(t, run.Zone) }
	fmt.Fprintf(w, "%s: from %s to %s", run.Date, clock(run.Start), clock(run.Back))
	if !run.Sunrise.IsZero() && !run.Sunset.IsZero() {
		fmt.Fprintf(w, "; sunrise %s, sunset %s", clock(run.Sunrise), clock(run.Sunset))
	}
	fmt.Fprintln(w)
	if len(run.Stops) > 0 {
		fmt.Fprintf(w, "leave the launch at %s, home at %s\n\n", clock(run.Leave), clock(run.Home))
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "stop\tzone\tarrive\tleave\tfish\tdrift\thead\texpected (90 % interval)\tleave if")
		for _, s := range run.Stops {
			fmt.Fprintln(t, stopRow(s, chart, run, u))
		}
		t.Flush()
	}
	fmt.Fprintln(w)
	for _, line := range export.RunSummary(run, u) {
		fmt.Fprintln(w, line)
	}
	for _, o := range run.Others {
		fmt.Fprintln(w, export.RunOtherWords(run, o, u))
	}
	for _, d := range run.Dropped {
		fmt.Fprintln(w, export.RunDroppedWords(d))
	}
	for _, r := range run.Remarks {
		fmt.Fprintf(w, "\n%s: %s", r.About, r.Text)
	}
	if len(run.Remarks) > 0 {
		fmt.Fprintln(w)
	}
	if dir != "" {
		fmt.Fprintf(w, "\nWritten to %s; print %s\n", dir, filepath.Join(dir, "run.html"))
	}
	_, err := fmt.Fprintln(w, "Not for navigation.")
	return err
}

// stopRow returns a stop as tab-separated cells.
func stopRow(s spatial.RunStop, chart spatial.Chart, run spatial.Run, u si.System) string {
	const unknown = "-"
	fish, drift, head, leave := unknown, unknown, unknown, unknown
	if s.FishTopM.OK && s.FishBottomM.OK {
		fish = export.DepthRange(s.FishTopM.V, s.FishBottomM.V, u)
	}
	if words := export.DriftWords(s.DriftMPS, s.DriftTowardDeg, u); words != "" {
		drift = words
	}
	if t, ok := s.Head.Chosen(); ok {
		head = u.Mass(t.Head.MassKg)
	}
	if words := export.LeaveIfWords(s); words != "" {
		leave = words
	}
	zone := s.Zone
	if !chart.Zones[s.Index].Proven {
		zone += ", not proven"
	}
	return fmt.Sprintf("%d\t%s\t%s\t%s\t%s\t%s\t%s\t%.1f (%.0f to %.0f)\t%s", s.Order, zone, export.RunClock(s.Arrive, run.Zone),
		export.RunClock(s.Leave, run.Zone), fish, drift, head, s.Expected.Mean, s.Expected.Low, s.Expected.High, leave)
}

// clockFlag is an hour of the day.
type clockFlag struct {
	hours float64
	set   bool
	shown string
}

func (c *clockFlag) String() string { return c.shown }
func (c *clockFlag) Type() string   { return "CLOCK" }

func (c *clockFlag) Set(s string) error {
	h, ok := hour(s)
	if !ok {
		return fmt.Errorf("%q is not an hour, wanted 0 to 24 or hours and minutes, such as 6 or 18:30", s)
	}
	*c = clockFlag{h, true, s}
	return nil
}

// pointFlag is LAT,LON.
type pointFlag struct {
	at    *orb.Point
	shown string
}

func (p *pointFlag) String() string { return p.shown }
func (p *pointFlag) Type() string   { return "LAT,LON" }

func (p *pointFlag) Set(s string) error {
	at, err := parsePoint(s)
	if err != nil {
		return err
	}
	*p = pointFlag{&at, s}
	return nil
}

// windsFlag is a forecast: SPEED@FROM, or CLOCK=SPEED@FROM from a time on.
type windsFlag struct {
	list  []hourWind
	shown string
}

type hourWind struct {
	from clockFlag // not set: from the day's beginning
	wind spatial.Wind
}

func (w *windsFlag) String() string { return w.shown }
func (w *windsFlag) Type() string   { return "[CLOCK=]SPEED@FROM" }

func (w *windsFlag) Set(s string) error {
	var h hourWind
	rest := s
	if clock, after, timed := strings.Cut(s, "="); timed {
		if err := h.from.Set(clock); err != nil {
			return err
		}
		rest = after
	}
	var one windFlag
	if err := one.Set(rest); err != nil {
		return err
	}
	h.wind = *one.wind
	if slices.ContainsFunc(w.list, func(x hourWind) bool { return x.from.set == h.from.set && x.from.hours == h.from.hours }) {
		return fmt.Errorf("%q: there is a wind for that time already", s)
	}
	w.list = append(w.list, h)
	w.shown = s
	return nil
}
