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

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/csvfile"
	"leadline/export/geojsonfile"
	"leadline/export/gpxfile"
	"leadline/export/kmlfile"
	"leadline/export/report"
	"leadline/export/resultfile"
	"leadline/export/save"
	"leadline/export/svgfile"
	"leadline/ingest"
	"leadline/ingest/load"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// zonesFlags are the flags of zones.
type zonesFlags struct {
	read  readFlags
	part  filterFlags
	out   string
	title string
	sym   string
	set   settingsFlags

	forecast windFlag
	only     filesFlag
}

func (a *app) zones() *cobra.Command {
	f := &zonesFlags{}
	c := &cobra.Command{
		Use:   "zones [FILE...] -o DIR",
		Short: "Find zones, depth bands, drift lines and a head weight for each zone",
		Long: `zones reads tracks, depth logs, catches and water levels, joins them by time,
cleans them, and writes to DIR:

  report.html       the whole result on one page, opens in any browser, no network
  overlay.geojson   zones, depth bands, drift lines, contours and catches
  overlay.kml .kmz  the same, a folder per kind
  waypoints.gpx     a waypoint per zone, a route per drift line
  zones.csv         the zones as a table
  map.svg           the map by itself, for a message or a print
  result.json       every figure, and every row read, set aside and flagged

A FILE may be a folder. Files are told apart by their content. Without any FILE the
season is that of the logbook (see leadline import), and the zones and lines found
are kept in it, too, unless only a part of it was asked for.`,
		Example: `  leadline zones -o out
  leadline zones --months sep..nov --levels 811ft..813ft -o out
  leadline zones track.gpx sonar.csv catches.csv -o out
  leadline zones season/ --boat boat.toml --pool 812.5ft -o out
  leadline zones day.gpx catches.csv --tz Etc/GMT+6 --cast 80ft -o out`,
		RunE: func(c *cobra.Command, args []string) error { return a.runZones(c, args, f) },
	}
	flags := c.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "`DIR` to write to, made if it isn't there")
	flags.Var(&f.only, "only", "of the files above, write these: "+strings.Join(fileWords(), ", "))
	f.read.add(flags)
	f.part.add(flags)
	flags.Var(&f.forecast, "forecast", "wind to tell the drift and the heads for, such as 10mph@NW; needs a table of wind among the files")
	f.set.add(flags, "water level to show depths at, of a single day its own (default the latest day's)")
	flags.StringVar(&f.title, "title", "", "heading of the report and name of the overlays")
	flags.StringVar(&f.sym, "sym", "", "symbol `NAME` for the waypoints, in your plotter's own words")
	return c
}

func (a *app) runZones(c *cobra.Command, args []string, f *zonesFlags) error {
	if f.out == "" && !a.common.json {
		return usagef("no folder to write to: give one with -o DIR")
	}
	if err := f.set.check(); err != nil {
		return err
	}
	ctx, p := c.Context(), a.progress()
	season, boat, remark, err := a.seasonOf(ctx, args, &f.read, &f.part, p)
	if err != nil {
		return err
	}
	set := f.set.settings(boat)
	set.Forecast = f.forecast.wind
	chart, err := analyse.Season(ctx, season, set, p.step)
	if err != nil {
		return err
	}
	if remark.Text != "" {
		chart.Remarks = append(chart.Remarks, remark)
	}
	in := export.Findings{Chart: chart, Sources: season.Sources, Problems: season.Problems, Unplaced: season.Unplaced, Settings: &set}
	opt := export.Options{Units: units(boat), Title: f.title, Sym: f.sym}
	if f.out != "" {
		p.step("writing")
		if err := save.Files(ctx, f.out, f.only.of(outputs(in, opt))); err != nil {
			return err
		}
	}
	if len(args) == 0 && !f.part.set() {
		p.step("writing to the logbook")
		a.keepFound(ctx, in, opt)
	}
	if a.common.json {
		return resultfile.Write(a.out, in, opt)
	}
	return printFindings(a.out, in, opt, f.out, f.only.of(outputs(in, opt)))
}

// seasonOf reads the files, or the logbook where there are none, as far as the filters leave it. The remark says what
// they leave out.
func (a *app) seasonOf(ctx context.Context, args []string, read *readFlags, part *filterFlags, p *progress) (ingest.Season, ingest.Boat, spatial.Remark, error) {
	var season ingest.Season
	var boat ingest.Boat
	var left load.Left
	var err error
	filter := part.filter()
	if len(args) > 0 {
		season, boat, err = a.readSeason(ctx, args, read, p)
		if err == nil {
			season, left = load.Pick(season, filter)
		}
	} else {
		season, left, boat, err = a.bookSeason(ctx, filter, read, p)
	}
	var remark spatial.Remark
	if err == nil && part.set() {
		remark = leftOut(left)
		if len(season.Days) == 0 {
			err = hinted{errors.New("the filters leave no day: " + remark.Text), "leadline days lists what the logbook has"}
		}
	}
	if err == nil {
		err = nothing(season)
	}
	return season, boat, remark, err
}

// leftOut says what the filters left out.
func leftOut(l load.Left) spatial.Remark {
	return spatial.Remark{About: "filters", Text: fmt.Sprintf("%s, %s, %s and %s were left out as asked", export.Plural(l.Days, "day"),
		export.Plural(l.Fixes, "fix", "fixes"), export.Plural(l.Soundings, "sounding"), export.Plural(l.Events, "catch or mark", "catches and marks"))}
}

func units(boat ingest.Boat) si.System {
	if boat.Metric {
		return si.Metric
	}
	return si.US
}

// outputs lists the files of the contract, in the order they are named to a person.
func outputs(in export.Findings, opt export.Options) []save.Output {
	with := func(write func(io.Writer, export.Findings, export.Options) error) func(io.Writer) error {
		return func(w io.Writer) error { return write(w, in, opt) }
	}
	return []save.Output{
		{Name: "report.html", Write: with(report.Write)},
		{Name: "overlay.geojson", Write: with(geojsonfile.Write)},
		{Name: "overlay.kml", Write: with(kmlfile.Write)},
		{Name: "overlay.kmz", Write: with(kmlfile.WriteKMZ)},
		{Name: "waypoints.gpx", Write: with(gpxfile.Write)},
		{Name: "zones.csv", Write: with(csvfile.Write)},
		{Name: "map.svg", Write: with(svgfile.Write)},
		{Name: "result.json", Write: with(resultfile.Write)},
	}
}

// fileWords are the files of outputs in a word each, in their order.
func fileWords() []string {
	return []string{"report", "geojson", "kml", "kmz", "gpx", "csv", "svg", "result"}
}

// filesFlag is some of fileWords, all when none was typed.
type filesFlag struct {
	words []string
	shown string
}

func (f *filesFlag) String() string { return f.shown }
func (f *filesFlag) Type() string   { return "WORD,..." }

func (f *filesFlag) Set(s string) error {
	words := strings.Split(s, ",")
	for i, w := range words {
		if words[i] = strings.TrimSpace(w); !slices.Contains(fileWords(), words[i]) {
			return fmt.Errorf("%q is not one of %s", words[i], strings.Join(fileWords(), ", "))
		}
	}
	f.words, f.shown = append(f.words, words...), s
	return nil
}

// of returns those of all outputs that were asked for.
func (f *filesFlag) of(all []save.Output) (list []save.Output) {
	for i, o := range all {
		if len(f.words) == 0 || slices.Contains(f.words, fileWords()[i]) {
			list = append(list, o)
		}
	}
	return list
}

// printFindings prints what a person wants to know before opening anything.
func printFindings(w io.Writer, in export.Findings, opt export.Options, dir string, written []save.Output) error {
	c, u := in.Chart, opt.Units
	fished, soundings := 0.0, 0
	for _, d := range c.Days {
		fished += d.FishingH
		soundings += d.Soundings
	}
	fmt.Fprintf(w, "%s: %.1f h fished, %s, %s\n", export.Plural(len(c.Days), "day"), fished,
		export.Plural(soundings, "sounding"), export.Plural(len(c.Events), "catch or mark", "catches and marks"))
	proven := 0
	for _, z := range c.Zones {
		if z.Proven {
			proven++
		}
	}
	fmt.Fprintf(w, "%s proven, %d not proven; %s\n", export.Plural(proven, "zone"), len(c.Zones)-proven, export.Plural(len(c.Drifts), "drift line"))
	if b := c.Bottom; b.U95M.OK {
		fmt.Fprintf(w, "bottom: half of the map is sure to ±%s", export.FineDepth(b.U95M.V, u))
		if b.Crossings.N > 0 {
			fmt.Fprintf(w, "; by %s of the track one sounding is good to ±%s", export.Plural(b.Crossings.N, "crossing"), export.FineDepth(b.Crossings.OneM.V, u))
		}
		if b.Strays > 0 {
			fmt.Fprintf(w, "; %s left out, other passes disagree", export.Plural(b.Strays, "sounding"))
		}
		fmt.Fprintln(w)
	}
	if len(c.Zones) > 0 {
		fmt.Fprintln(w)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "zone\tproven\tfish\tbottom\thours\tan hour (90 % interval)\tdrift\thead")
		for _, z := range c.Zones {
			fmt.Fprintln(t, zoneRow(z, u))
		}
		t.Flush()
	}
	if c.Leeway.OK {
		fmt.Fprintln(w)
		for _, words := range []string{export.LeewayWords(c.Leeway), export.CurrentWords(c.Leeway, u)} {
			if words != "" {
				fmt.Fprintln(w, words)
			}
		}
	}
	if c.Forecast != nil {
		fmt.Fprintf(w, "\n%s\n", export.ForecastWords(c.Forecast, u))
		var heads []string
		for _, z := range c.Zones {
			if z.ForecastHead == nil {
				continue
			}
			if t, ok := z.ForecastHead.Chosen(); ok {
				heads = append(heads, z.ID+" "+u.Mass(t.Head.MassKg))
			}
		}
		if len(heads) > 0 {
			fmt.Fprintf(w, "Heads for that drift: %s.\n", strings.Join(heads, ", "))
		}
	}
	for _, r := range c.Remarks {
		fmt.Fprintf(w, "\n%s: %s", r.About, r.Text)
	}
	if len(c.Remarks) > 0 {
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\nWritten to %s; open %s\n", dir, filepath.Join(dir, written[0].Name))
	_, err := fmt.Fprintln(w, "Not for navigation.")
	return err
}

// zoneRow returns a zone as tab-separated cells.
func zoneRow(z spatial.Zone, u si.System) string {
	const unknown = "-"
	fish, bottom, hours, rate, drift, head := unknown, unknown, unknown, unknown, unknown, unknown
	if z.FishTopM.OK {
		fish = export.DepthRange(z.FishTopM.V, z.FishBottomM.V, u)
	}
	if z.BottomM.OK {
		bottom = u.Depth(z.BottomM.V)
	}
	if s := export.HourWords(z.HourFrom, z.HourTo); s != "" {
		hours = s
	}
	if z.Rate.OK {
		rate = fmt.Sprintf("%s (%s to %s)", export.PerHour(z.Rate.PerH), export.PerHour(z.Rate.LowPerH), export.PerHour(z.Rate.HighPerH))
	}
	if s := export.DriftWords(z.DriftMPS, z.DriftTowardDeg, u); s != "" {
		drift = s
	}
	if t, ok := z.Head.Chosen(); ok {
		head = u.Mass(t.Head.MassKg)
	}
	proven := "no"
	switch {
	case !z.PValue.OK:
		proven = "can't tell"
	case z.Proven:
		proven = "yes"
	}
	return fmt.Sprintf("%s\t%s, p %s\t%s\t%s\t%s\t%s\t%s\t%s", z.ID, proven, pWords(z.PValue), fish, bottom, hours, rate, drift, head)
}

func pWords(p ingest.Maybe) string {
	if !p.OK {
		return "unknown"
	}
	return fmt.Sprintf("%.3f", p.V)
}
