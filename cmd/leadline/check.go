package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/resultfile"
	"leadline/ingest"
)

func (a *app) check() *cobra.Command {
	var flags readFlags
	c := &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what was read, set aside and flagged; write nothing",
		Long: `check reads and joins files exactly as zones does and says, for each, what it was
taken for, which column was read as what in which unit, and what became of its
rows. It exits with 3 if any row would be set aside.`,
		Example: `  leadline check track.gpx sonar.csv catches.csv
  leadline check season/ --boat season/boat.toml --json`,
		RunE: func(c *cobra.Command, args []string) error {
			season, _, err := a.readSeason(c.Context(), args, &flags, a.progress())
			if err != nil {
				return err
			}
			if a.common.json {
				err = resultfile.WriteReading(a.out, export.Findings{Sources: season.Sources, Problems: season.Problems, Unplaced: season.Unplaced})
			} else {
				err = printReading(a.out, season)
			}
			if err != nil {
				return err
			}
			for _, s := range season.Sources {
				if s.SetAside > 0 {
					return errSetAside
				}
			}
			return nil
		},
	}
	flags.add(c.Flags())
	return c
}

// mostShown is how many problems of a file are printed; --json has them all.
const mostShown = 10

// printReading prints what became of every file.
func printReading(w io.Writer, s ingest.Season) error {
	for i, src := range s.Sources {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s: %s\n", src.Name, src.TakenFor)
		if src.RowsRead == 0 {
			continue
		}
		for _, c := range src.Columns {
			fmt.Fprintf(w, "  column %q: %s\n", c.Name, columnWords(c))
		}
		fmt.Fprintf(w, "  %s read: %s used, %s repaired, %s set aside\n", export.Plural(src.RowsRead, "row"),
			export.Count(src.Used), export.Count(src.Repaired), export.Count(src.SetAside))
		if src.ClockOffsetS.OK {
			fmt.Fprintf(w, "  clock moved by %+g s\n", src.ClockOffsetS.V)
		}
		for _, reason := range sortedKeys(src.Flagged) {
			fmt.Fprintf(w, "  kept out of the analysis, %s: %s\n", reason, export.Count(src.Flagged[reason]))
		}
		shown := 0
		for _, p := range s.Problems {
			if p.File != src.Name {
				continue
			}
			if shown++; shown <= mostShown {
				fmt.Fprintf(w, "  %s\n", p.Error())
			}
		}
		if shown > mostShown {
			fmt.Fprintf(w, "  … and %d more (--json lists them)\n", shown-mostShown)
		}
		for _, u := range s.Unplaced {
			if u.Source == i {
				fmt.Fprintf(w, "  not placed, %s: %s (%s)\n", u.Reason, export.Plural(u.Count, u.What, plural(u.What)), lineWords(u))
			}
		}
	}
	for _, d := range s.Days {
		fixes := 0
		for _, t := range d.Tracks {
			fixes += len(t.Fixes)
		}
		level := "level not known"
		if d.LevelM.OK {
			level = fmt.Sprintf("level %.2f m", d.LevelM.V)
		}
		if _, err := fmt.Fprintf(w, "\n%s: %s, %s placed, %s placed, %s", d.Date, export.Plural(fixes, "fix", "fixes"),
			export.Plural(len(d.Soundings), "sounding"), export.Plural(len(d.Events), "catch or mark", "catches and marks"), level); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintln(w)
	return err
}

func columnWords(c ingest.Column) string {
	switch {
	case c.ReadAs == "":
		return "not used"
	case c.Unit == "":
		return c.ReadAs
	}
	return c.ReadAs + " in " + c.Unit
}

func lineWords(u ingest.Unplaced) string {
	if u.Line == u.LastLine {
		return fmt.Sprintf("line %d", u.Line)
	}
	return fmt.Sprintf("lines %d to %d", u.Line, u.LastLine)
}

func plural(what string) string {
	switch {
	case what == "bait":
		return "bait"
	case strings.HasSuffix(what, "ch"):
		return what + "es"
	}
	return what + "s"
}

func sortedKeys(m map[string]int) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
