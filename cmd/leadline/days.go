package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/load"
	"leadline/ingest/si"
)

func (a *app) days() *cobra.Command {
	c := &cobra.Command{
		Use:     "days",
		Short:   "List the days in the logbook",
		Example: "  leadline days\n  leadline days --json",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("days takes no files, got %q", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			boat, err := a.readBoat()
			if err != nil {
				return err
			}
			b, err := a.openBook(c.Context(), false)
			if err != nil {
				return err
			}
			defer b.Close()
			var list []load.BookDay
			var zone *time.Location
			err = b.Steadily(c.Context(), func() error {
				set, err := b.Settings(c.Context())
				if err == nil {
					zone = set.Zone
					list, err = b.Days(c.Context())
				}
				return err
			})
			if err != nil {
				return err
			}
			if a.common.json {
				return writeDays(a.out, list, zone)
			}
			return printBook(a.out, a.common.book, list, zone, units(boat))
		},
	}
	return c
}

// A dayJSON is a day as days --json writes it. Times are UTC.
type dayJSON struct {
	Date      string       `json:"date"`
	First     *time.Time   `json:"first"`
	Last      *time.Time   `json:"last"`
	OnWaterS  float64      `json:"on_water_s"`
	Fixes     int          `json:"fixes"`
	Soundings int          `json:"soundings"`
	Events    int          `json:"events"`
	LevelM    ingest.Maybe `json:"level_m"`
	TempC     ingest.Maybe `json:"temp_c"`
	ClarityM  ingest.Maybe `json:"clarity_m"`
	Winds     int          `json:"winds"`
	Notes     int          `json:"notes"`
	Bounds    []float64    `json:"bounds"` // west, south, east, north; null when nothing sound has a place
	Files     []string     `json:"files"`
}

func writeDays(w io.Writer, list []load.BookDay, zone *time.Location) error {
	out := struct {
		Zone string    `json:"zone"`
		Days []dayJSON `json:"days"`
	}{zone.String(), []dayJSON{}}
	for _, d := range list {
		j := dayJSON{
			Date: d.Day, OnWaterS: export.Round(d.OnWaterS, 1).V, Fixes: d.Fixes, Soundings: d.Soundings, Events: d.Events,
			LevelM: export.RoundMaybe(d.LevelM, 3), TempC: export.RoundMaybe(d.TempC, 2), ClarityM: export.RoundMaybe(d.ClarityM, 2), Winds: d.Winds, Notes: d.Notes,
			Files: d.Sources,
		}
		if d.HasBound {
			j.Bounds = []float64{d.Bound.Left(), d.Bound.Bottom(), d.Bound.Right(), d.Bound.Top()}
		}
		if !d.First.IsZero() {
			j.First, j.Last = &d.First, &d.Last
		}
		out.Days = append(out.Days, j)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(out)
}

func printBook(w io.Writer, name string, list []load.BookDay, zone *time.Location, u si.System) error {
	if len(list) == 0 {
		_, err := fmt.Fprintf(w, "%s is empty\n", name)
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "day\tfrom\tto\ton the water\tfixes\tdepths\tcatches and marks\tlevel\twater\tclarity\tnotes\tfiles\t")
	for _, d := range list {
		from, to := "-", "-"
		if !d.First.IsZero() {
			from, to = d.First.In(zone).Format("15:04"), d.Last.In(zone).Format("15:04")
		}
		level, temp, clarity := "-", "-", "-"
		if d.LevelM.OK {
			level = export.FineDepth(d.LevelM.V, u)
		}
		if d.TempC.OK {
			temp = u.Temp(d.TempC.V)
		}
		if d.ClarityM.OK {
			clarity = u.Depth(d.ClarityM.V)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.1f h\t%s\t%s\t%d\t%s\t%s\t%s\t%d\t%d\t\n", d.Day, from, to, d.OnWaterS/3600, export.Count(d.Fixes), export.Count(d.Soundings),
			d.Events, level, temp, clarity, d.Notes, len(d.Sources))
	}
	t.Flush()
	_, err := fmt.Fprintf(w, "\n%s in %s, hours by %s\n", export.Plural(len(list), "day"), name, zone)
	return err
}

func (a *app) forget() *cobra.Command {
	var keepNotes bool
	c := &cobra.Command{
		Use:   "forget DAY...",
		Short: "Take a day out of the logbook",
		Long: `forget takes days out of the logbook: tracks, depths, catches, their notes, and the
zones and lines that were found, since they may show the place. Nothing of it stays
in the file. The files it came from are not touched, and can be imported again.
The word undated stands for what carries no time.`,
		Example: "  leadline forget 2031-10-04",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("no day: name it, such as 2031-10-04")
			}
			var list []string
			for _, s := range args {
				if s == undatedWord {
					list = append(list, "")
					continue
				}
				day, err := dayArg(s)
				if err != nil {
					return err
				}
				list = append(list, day)
			}
			b, err := a.openBook(c.Context(), false)
			if err != nil {
				return err
			}
			defer b.Close()
			gone, err := b.Forget(c.Context(), list, keepNotes)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.out, "%s forgotten: %s; %s with it\n", strings.Join(args, ", "), a.common.book, export.Plural(gone, "note"))
			return err
		},
	}
	c.Flags().BoolVar(&keepNotes, "keep-notes", false, "keep what was noted, for the day's next import")
	return c
}

// undatedWord is what a person types for records without a time.
const undatedWord = "undated"
