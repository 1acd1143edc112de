package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/resultfile"
	"leadline/export/save"
	"leadline/ingest"
)

func (a *app) check() *cobra.Command {
	var flags readFlags
	var aside string
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
			if err := nothing(season); err != nil {
				a.warn("%v", err)
			}
			if aside != "" {
				if err := saveAside(c.Context(), aside, season.Problems); err != nil {
					return err
				}
			}
			if a.common.json {
				err = resultfile.WriteReading(a.out, export.Findings{Sources: season.Sources, Problems: season.Problems, Unplaced: season.Unplaced})
			} else if err = printSources(a.out, season.Sources, season.Problems, season.Unplaced); err == nil {
				err = printDays(a.out, season.Days)
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
	c.Flags().SortFlags = false
	c.Flags().StringVar(&aside, "set-aside", "", "write the rows set aside to `FILE`, word for word, with their reason (CSV)")
	flags.add(c.Flags())
	return c
}

// saveAside writes every row set aside as file, line, reason and the row as it stood.
func saveAside(ctx context.Context, name string, problems []ingest.Problem) error {
	return save.Files(ctx, filepath.Dir(name), []save.Output{{Name: filepath.Base(name), Write: func(w io.Writer) error {
		out := csv.NewWriter(w)
		out.Write([]string{"file", "line", "reason", "row"})
		for _, p := range problems {
			if p.Outcome == ingest.SetAside {
				out.Write([]string{p.File, strconv.Itoa(p.Line), p.Reason(), p.Row})
			}
		}
		out.Flush()
		return out.Error()
	}}})
}

// mostShown is how many lines of one reason are named; --json has them all.
const mostShown = 10

// A group is the problems of one file that have the same reason.
type group struct {
	first ingest.Problem
	lines []int
	more  int
	alike bool // all found the same text
}

// grouped gathers the problems of a file, in order of the first of each group.
func grouped(problems []ingest.Problem, file string) []*group {
	type key struct {
		outcome       ingest.Outcome
		field, wanted string
		kind          error
	}
	at := map[key]*group{}
	var out []*group
	for _, p := range problems {
		if p.File != file {
			continue
		}
		k := key{p.Outcome, p.Field, p.Wanted, p.Kind}
		if p.Line == 0 { // a statement about the file stands by itself
			out = append(out, &group{first: p, alike: true})
			continue
		}
		g := at[k]
		if g == nil {
			g = &group{first: p, alike: true}
			at[k] = g
			out = append(out, g)
		}
		g.alike = g.alike && p.Found == g.first.Found
		if len(g.lines) < mostShown {
			g.lines = append(g.lines, p.Line)
		} else {
			g.more++
		}
	}
	return out
}

// words returns "5 rows set aside: depth_ft: missing (lines 76, 405, …)".
func (g *group) words() string {
	if g.first.Line == 0 {
		return g.first.Reason()
	}
	n := len(g.lines) + g.more
	what := map[ingest.Outcome]string{ingest.SetAside: "set aside", ingest.Repaired: "used without a value", ingest.InDoubt: "kept in doubt"}[g.first.Outcome]
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s: %s", export.Plural(n, "row"), what, g.first.Reason())
	if !g.alike {
		b.WriteString(" and the like")
	}
	if n == 1 {
		fmt.Fprintf(&b, " (line %d)", g.lines[0])
		return b.String()
	}
	b.WriteString(" (lines ")
	for i, l := range g.lines {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(strconv.Itoa(l))
	}
	if g.more > 0 {
		fmt.Fprintf(&b, " and %d more", g.more)
	}
	b.WriteString(")")
	return b.String()
}

// printSources prints what became of every file.
func printSources(w io.Writer, sources []ingest.Source, problems []ingest.Problem, unplaced []ingest.Unplaced) error {
	for i, src := range sources {
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
		if src.Zone != "" {
			fmt.Fprintf(w, "  times without a zone read in %s\n", src.Zone)
		}
		if words := export.ClockWords(src); words != "" {
			fmt.Fprintf(w, "  the clock %s\n", words)
		}
		for _, reason := range sortedKeys(src.Flagged) {
			fmt.Fprintf(w, "  kept out of the analysis, %s: %s\n", reason, export.Count(src.Flagged[reason]))
		}
		for _, g := range grouped(problems, src.Name) {
			fmt.Fprintf(w, "  %s\n", g.words())
		}
		for _, u := range unplaced {
			if u.Source == i {
				fmt.Fprintf(w, "  not placed, %s: %s (%s)\n", u.Reason, export.Plural(u.Count, u.What, plural(u.What)), lineWords(u))
			}
		}
	}
	return nil
}

// printDays prints what the files hold of each day.
func printDays(w io.Writer, days []ingest.Day) error {
	for _, d := range days {
		fixes, soundings := 0, 0
		for _, t := range d.Tracks {
			for _, f := range t.Fixes {
				if f.Flags == 0 {
					fixes++
				}
			}
		}
		for _, x := range d.Soundings {
			if x.Flags == 0 {
				soundings++
			}
		}
		level := "level not known"
		if d.LevelM.OK {
			level = fmt.Sprintf("level %.2f m", d.LevelM.V)
		}
		if _, err := fmt.Fprintf(w, "\n%s: %s, %s placed, %s placed, %s", d.Date, export.Plural(fixes, "sound fix", "sound fixes"),
			export.Plural(soundings, "sound depth"), export.Plural(len(d.Events), "catch or mark", "catches and marks"), level); err != nil {
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
