package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/dayfile"
	"leadline/export/save"
	"leadline/ingest"
	"leadline/ingest/load"
)

func (a *app) exporting() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "export DAY -o DIR",
		Short: "Give a day of the logbook back as GPX and CSV, at full rate",
		Long: `export writes what the logbook has of a day: for each file it came from a GPX of its
tracks and a CSV each of its depths, catches, water levels and winds, every row and
digit of it, flagged ones too, with the clock put right. Catches that were noted are
in a file of their own; corrections of others stay notes. The files can be imported
again.`,
		Example: "  leadline export 2031-10-04 -o back",
		Args:    oneArg("export", "a day, such as 2031-10-04"),
		RunE: func(c *cobra.Command, args []string) error {
			if out == "" {
				return usagef("no folder to write to: give one with -o DIR")
			}
			day := ""
			if args[0] != undatedWord {
				var err error
				if day, err = dayArg(args[0]); err != nil {
					return err
				}
			}
			b, err := a.openBook(c.Context(), false)
			if err != nil {
				return err
			}
			defer b.Close()
			records, err := b.Raw(c.Context(), day)
			if err != nil {
				return err
			}
			notes, err := b.Notes(c.Context())
			if err != nil {
				return err
			}
			noted, others := ingest.Records{Source: ingest.Source{Name: "notes"}}, 0
			for _, n := range notes {
				switch {
				case n.Day != day:
				case n.What == load.NoteAdd:
					noted.Events = append(noted.Events, n.Event)
				case n.What == load.NoteLevel:
					noted.Levels = append(noted.Levels, ingest.Level{Date: n.Day, LevelM: n.Value})
				case n.What == load.NoteWind:
					noted.Winds = append(noted.Winds, ingest.Wind{Time: n.Time, SpeedMPS: n.Value, FromDeg: n.FromDeg})
				default:
					others++
				}
			}
			var outs []save.Output
			for i, r := range append(records, noted) {
				outs = append(outs, dayOutputs(fmt.Sprintf("%s-%02d-%s", args[0], i+1, stem(r.Source.Name)), r)...)
			}
			if err := save.Files(c.Context(), out, outs); err != nil {
				return err
			}
			if others > 0 {
				a.warn("%s of this day correct or strike out catches, or tell the clarity: they are not in the files", export.Plural(others, "note"))
			}
			_, err = fmt.Fprintf(a.out, "%s of %s written to %s\n", export.Plural(len(outs), "file"), args[0], out)
			return err
		},
	}
	c.Flags().StringVarP(&out, "out", "o", "", "`DIR` to write to, made if it isn't there")
	return c
}

// dayOutputs lists a file for each kind of record, and for each place that depths were taken from.
func dayOutputs(name string, r ingest.Records) []save.Output {
	var outs []save.Output
	add := func(n int, suffix string, write func(w io.Writer) error) {
		if n > 0 {
			outs = append(outs, save.Output{Name: name + suffix, Write: write})
		}
	}
	fixes := 0
	for _, t := range r.Tracks {
		fixes += len(t.Fixes)
	}
	add(fixes, ".gpx", func(w io.Writer) error { return dayfile.WriteTracks(w, r.Tracks) })
	for _, ref := range []ingest.DepthRef{ingest.BelowTransducer, ingest.BelowSurface, ingest.BelowKeel} {
		var s []ingest.Sounding
		for _, x := range r.Soundings {
			if x.Ref == ref {
				s = append(s, x)
			}
		}
		suffix := "-depths.csv"
		if len(s) < len(r.Soundings) {
			suffix = "-depths-" + strings.ReplaceAll(ref.String(), " ", "-") + ".csv"
		}
		add(len(s), suffix, func(w io.Writer) error { return dayfile.WriteSoundings(w, s) })
	}
	add(len(r.Events), "-catches.csv", func(w io.Writer) error { return dayfile.WriteEvents(w, r.Events) })
	add(len(r.Levels), "-levels.csv", func(w io.Writer) error { return dayfile.WriteLevels(w, r.Levels) })
	add(len(r.Winds), "-winds.csv", func(w io.Writer) error { return dayfile.WriteWinds(w, r.Winds) })
	return outs
}

// stem makes a plain name of a file's: letters, digits, - and _, at most 40 of them.
func stem(name string) string {
	s := filepath.Base(strings.ReplaceAll(name, "\\", "/"))
	s = strings.TrimSuffix(s, filepath.Ext(s))
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '-'
	}, s)
	if s = s[:min(len(s), 40)]; s == "" {
		s = "file"
	}
	return s
}
