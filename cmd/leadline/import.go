package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/resultfile"
	"leadline/ingest/load"
)

// againFlag is a load.Again by its word.
type againFlag load.Again

func (g *againFlag) String() string { return "" }
func (g *againFlag) Type() string   { return "WORD" }

func (g *againFlag) Set(s string) error {
	i := slices.Index(load.Agains(), s)
	if i < 0 {
		return fmt.Errorf("%q is not one of %s", s, strings.Join(load.Agains(), ", "))
	}
	*g = againFlag(i + 1) // AskAgain has no word
	return nil
}

func (a *app) importing() *cobra.Command {
	var flags readFlags
	var again againFlag
	c := &cobra.Command{
		Use:   "import FILE...",
		Short: "Read a day's files into the logbook",
		Long: `import reads files as check does, puts their clocks right against each other and
against what the logbook has of the same days, and adds them to the logbook in one
go: all, or nothing. The logbook is an OGC GeoPackage that any GIS opens.

A file that was imported before is known by its content and not read twice. One that
holds a day again that another file brought already, as a plotter exports it a second
time or a catch log grows, is asked about, or settled by --again:

  keep      the logbook keeps what it has; that day of the new file is left out
  replace   the new file's day takes the place of the old one's
  both      both are kept; fixes, soundings and catches they share count once`,
		Example: `  leadline import track.gpx sonar.csv catches.csv --boat boat.toml
  leadline import card/ --tz Etc/GMT+6 --again replace`,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("no files: name the day's GPX and CSV files, or the folder they are in")
			}
			ctx, p := c.Context(), a.progress()
			opt, _, err := a.loading(&flags, p)
			if err != nil {
				return err
			}
			b, err := a.openBook(ctx, true)
			if err != nil {
				return err
			}
			defer b.Close()
			spendMemory()
			im, err := b.Import(ctx, args, opt, load.Again(again))
			if t := (load.TwiceError{}); errors.As(err, &t) {
				if again, err = a.askAgain(t, err); err == nil {
					im, err = b.Import(ctx, args, opt, load.Again(again))
				}
			}
			if errors.Is(err, load.ErrZone) {
				err = hinted{err, "give the same --tz, or keep these days in a logbook of their own (--logbook)"}
			}
			if err != nil {
				return withZone(err)
			}
			if a.common.json {
				return resultfile.WriteReading(a.out, export.Findings{Sources: im.Sources, Problems: im.Problems, Unplaced: im.Unplaced})
			}
			return a.printImport(im, load.Again(again))
		},
	}
	c.Flags().SortFlags = false
	c.Flags().Var(&again, "again", "what becomes of a day that another file brought already: "+strings.Join(load.Agains(), ", ")+" (default ask)")
	flags.add(c.Flags())
	return c
}

// spendMemory lets garbage lie twice as long as usual: an import lives on little, and would be an eighth slower. Who sets GOGC
// has the last word, and a limit (GOMEMLIMIT) holds.
func spendMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(200)
	}
}

// askAgain asks a person what becomes of the days that came again; where nobody sits at the keyboard, the error stands, with what to type.
func (a *app) askAgain(t load.TwiceError, err error) (againFlag, error) {
	err = hinted{err, "nothing was imported; say --again keep, replace or both"}
	if info, e := os.Stdin.Stat(); e != nil || info.Mode()&os.ModeCharDevice == 0 {
		return 0, err
	}
	for _, x := range t.List {
		fmt.Fprintf(a.err, "leadline: %s brings %s again, which %s brought already\n", x.File, x.Day, x.Have)
	}
	return choose(os.Stdin, a.err, err)
}

// choose reads one of the words of --again.
func choose(in io.Reader, out io.Writer, refused error) (againFlag, error) {
	lines := bufio.NewScanner(in)
	for range 3 {
		fmt.Fprintf(out, "leadline: keep what is there, replace it, or both? ")
		if !lines.Scan() {
			break
		}
		var g againFlag
		if err := g.Set(strings.ToLower(strings.TrimSpace(lines.Text()))); err == nil {
			return g, nil
		}
	}
	return 0, refused
}

// printImport prints what was read, and what the logbook has of the days now.
func (a *app) printImport(im load.Imported, again load.Again) error {
	if err := printSources(a.out, im.Sources, im.Problems, im.Unplaced); err != nil {
		return err
	}
	for _, s := range im.Sources {
		if s.ClockInDoubt {
			a.warn("%s: the clock %s", s.Name, s.Clock)
		}
	}
	if !im.ZoneSaid && im.Files > 0 {
		a.warn("no time zone was given: days and hours are in UTC (--tz, or tz in the boat file)")
	}
	if again != load.AskAgain {
		what := map[load.Again]string{load.KeepOld: "left out", load.TakeNew: "put in the place of what was there", load.KeepBoth: "both kept"}[again]
		if words := wordsOfTwice(im.Twice, what); words != "" {
			fmt.Fprintf(a.out, "\n%s\n", words)
		}
	}
	fmt.Fprintln(a.out)
	for _, d := range im.Days {
		fmt.Fprintln(a.out, dayWords(d))
	}
	if im.Files == 0 {
		_, err := fmt.Fprintf(a.out, "%s has all of it already\n", a.common.book)
		return err
	}
	_, err := fmt.Fprintf(a.out, "%s added to %s\n", export.Plural(im.Files, "file"), a.common.book)
	return err
}

// dayWords tells a day of the logbook in a line.
func dayWords(d load.BookDay) string {
	level := "level not known"
	if d.LevelM.OK {
		level = fmt.Sprintf("level %.2f m", d.LevelM.V)
	}
	return fmt.Sprintf("%s: %s, %s placed, %s placed, %s", d.Day, export.Plural(d.Fixes, "sound fix", "sound fixes"),
		export.Plural(d.Soundings, "sound depth"), export.Plural(d.Events, "catch or mark", "catches and marks"), level)
}
