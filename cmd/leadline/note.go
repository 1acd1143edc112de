package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/load"
	"leadline/ingest/si"
)

func (a *app) note() *cobra.Command {
	c := &cobra.Command{
		Use:   "note",
		Short: "Add or correct a catch, a water level, the wind, the clarity",
		Long: `note adds to the logbook what no file has, and corrects what a file has wrong. What was
read stays as it was: notes are kept apart and laid over it, and note undo takes one
back. note list shows the catches of a day with their numbers, and the notes.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("note %s: not one of add, change, drop, level, wind, clarity, list, undo", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(a.noteAdd(), a.noteChange(), a.noteDrop(), a.noteLevel(), a.noteWind(), a.noteClarity(), a.noteList(), a.noteUndo())
	return c
}

// inBook runs fn on the logbook, with its zone.
func (a *app) inBook(ctx context.Context, fn func(b *load.Book, zone *time.Location) error) error {
	b, err := a.openBook(ctx, false)
	if err != nil {
		return err
	}
	defer b.Close()
	set, err := b.Settings(ctx)
	if err != nil {
		return err
	}
	return fn(b, set.Zone)
}

// eventFlags are what a person may say of a catch.
type eventFlags struct {
	time, at, kind, species, text        string
	count                                int
	depth, length, weight, head, trailer *orUnknown
}

// orUnknown is a quantity, or the word unknown.
type orUnknown struct {
	quantity
	unknown bool
}

func newOrUnknown(of *si.Quantity) *orUnknown {
	return &orUnknown{quantity: quantity{of: of, least: 0}}
}

func (q *orUnknown) Set(s string) error {
	if q.unknown = s == "unknown"; q.unknown {
		q.shown = s
		return nil
	}
	return q.quantity.Set(s)
}

// lay puts what was typed in the place of m.
func (q *orUnknown) lay(m *ingest.Maybe) {
	if q.unknown {
		*m = ingest.Maybe{}
	} else if q.value.OK {
		*m = q.value
	}
}

func (f *eventFlags) add(flags *pflag.FlagSet) {
	f.depth, f.length, f.weight = newOrUnknown(si.Length), newOrUnknown(si.Length), newOrUnknown(si.Mass)
	f.head, f.trailer = newOrUnknown(si.Mass), newOrUnknown(si.Length)
	flags.SortFlags = false
	flags.StringVar(&f.time, "time", "", "when, such as 2031-10-04T07:14 by the clock of the logbook, or with a zone 2031-10-04T13:14:05Z")
	flags.StringVar(&f.at, "at", "", "where, as `LAT,LON` in degrees (default where the track was at that time)")
	flags.StringVar(&f.kind, "kind", "", "`WORD`: catch, bite, mark or bait (default catch)")
	flags.Var(f.depth, "depth", "depth of the fish below the surface, or unknown")
	flags.StringVar(&f.species, "species", "", "`NAME` of the fish")
	flags.IntVar(&f.count, "count", 0, "`NUMBER` of fish (default 1)")
	flags.Var(f.length, "length", "length of the fish, or unknown")
	flags.Var(f.weight, "weight", "weight of the fish, or unknown")
	flags.Var(f.head, "head", "head it was caught on, or unknown")
	flags.Var(f.trailer, "trailer", "length of the trailer, or unknown")
	flags.StringVar(&f.text, "text", "", "`WORDS` of your own")
}

// lay puts what was typed in the place of what an event has.
func (f *eventFlags) lay(e *ingest.Event, zone *time.Location) error {
	if f.time != "" {
		t, err := parseTime(f.time, zone)
		if err != nil {
			return usagef("--time: %v", err)
		}
		e.Time = t
	}
	if f.at != "" {
		p, err := parsePoint(f.at)
		if err != nil {
			return usagef("--at: %v", err)
		}
		e.Pos, e.HasPos = p, true
	}
	if f.kind != "" {
		k, ok := ingest.ParseEventKind(f.kind)
		if !ok {
			return usagef("--kind: %q is not one of catch, bite, mark, bait", f.kind)
		}
		e.Kind = k
	}
	if f.count < 0 || f.count > mostFish {
		return usagef("--count: %d is out of range, wanted 1 to %d", f.count, mostFish)
	}
	if f.count > 0 {
		e.Count = f.count
	}
	if f.species != "" {
		e.Species = f.species
	}
	if f.text != "" {
		e.Note = f.text
	}
	f.depth.lay(&e.FishM)
	f.length.lay(&e.LengthM)
	f.weight.lay(&e.WeightKg)
	f.head.lay(&e.HeadKg)
	f.trailer.lay(&e.TrailerM)
	return nil
}

// mostFish is what a catch log may have in a row, too.
const mostFish = 10000

func (a *app) noteAdd() *cobra.Command {
	var f eventFlags
	c := &cobra.Command{
		Use:     "add --time TIME",
		Short:   "Add a catch, bite, mark or bait that no file has",
		Example: "  leadline note add --time 2031-10-04T07:14 --depth 18ft --species \"spotted bass\" --head 1/2oz\n  leadline note add --time 2031-10-04T07:14 --at 36.512,-40.118 --kind bait",
		Args:    noArgs("note add"),
		RunE: func(c *cobra.Command, _ []string) error {
			return a.inBook(c.Context(), func(b *load.Book, zone *time.Location) error {
				e := ingest.Event{Count: 1}
				if err := f.lay(&e, zone); err != nil {
					return err
				}
				if e.Time.IsZero() {
					return usagef("note add needs --time, such as --time 2031-10-04T07:14")
				}
				day := e.Time.In(zone).Format(time.DateOnly)
				if err := b.Has(c.Context(), day); errors.Is(err, load.ErrNoDay) && !e.HasPos {
					a.warn("%s is not in the logbook yet: the %s has no place until a track of it is imported", day, e.Kind)
				} else if err != nil && !errors.Is(err, load.ErrNoDay) {
					return err
				}
				return a.keepNote(c.Context(), b, load.Note{Day: day, What: load.NoteAdd, Event: e}, fmt.Sprintf("%s added to %s", e.Kind, day))
			})
		},
	}
	f.add(c.Flags())
	return c
}

// keepNote writes a note and says its number.
func (a *app) keepNote(ctx context.Context, b *load.Book, n load.Note, words string) error {
	id, err := b.AddNote(ctx, n)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.out, "note %d: %s (leadline note undo %d takes it back)\n", id, words, id)
	return err
}

func (a *app) noteChange() *cobra.Command {
	var f eventFlags
	c := &cobra.Command{
		Use:     "change NUMBER",
		Short:   "Correct a catch that a file has",
		Long:    "change lays what is typed over a catch, bite, mark or bait of a file; note list shows their numbers.",
		Example: "  leadline note change 3.12 --depth 18ft --kind bite",
		Args:    oneArg("note change", "the number of a catch, as note list shows it"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.inBook(c.Context(), func(b *load.Book, zone *time.Location) error {
				r, err := findEvent(c.Context(), b, args[0])
				if err != nil {
					return err
				}
				e := r.Event.Event
				if err := f.lay(&e, zone); err != nil {
					return err
				}
				if c.Flags().NFlag() == 0 {
					return usagef("nothing to change: say what, such as --depth 18ft")
				}
				if d := e.Time.In(zone).Format(time.DateOnly); !e.Time.IsZero() && d != r.Event.Day {
					return usagef("--time: %s is another day than %s; drop it and add it there", d, r.Event.Day)
				}
				return a.keepNote(c.Context(), b, load.Note{Day: r.Event.Day, What: load.NoteAmend, Hash: r.Hash, Place: r.Event.Place, Event: e}, args[0]+" changed")
			})
		},
	}
	f.add(c.Flags())
	return c
}

func (a *app) noteDrop() *cobra.Command {
	return &cobra.Command{
		Use:     "drop NUMBER",
		Short:   "Strike out a catch that a file has",
		Example: "  leadline note drop 3.12",
		Args:    oneArg("note drop", "the number of a catch, as note list shows it"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.inBook(c.Context(), func(b *load.Book, _ *time.Location) error {
				r, err := findEvent(c.Context(), b, args[0])
				if err != nil {
					return err
				}
				if r.Dropped {
					return fmt.Errorf("%s is struck out already", args[0])
				}
				return a.keepNote(c.Context(), b, load.Note{Day: r.Event.Day, What: load.NoteDrop, Hash: r.Hash, Place: r.Event.Place}, args[0]+" struck out")
			})
		},
	}
}

func (a *app) noteLevel() *cobra.Command {
	return &cobra.Command{
		Use:     "level DAY LEVEL",
		Short:   "Note the water level of a day",
		Example: "  leadline note level 2031-10-04 812.5ft\n  leadline note level 2031-10-04 -- -1.2m",
		Args:    dayAnd("note level", "its water level, such as 812.5ft"),
		RunE: func(c *cobra.Command, args []string) error {
			v, err := quantityArg(si.Length, args[1], -1e9)
			if err != nil {
				return err
			}
			return a.noteOfDay(c.Context(), load.Note{Day: args[0], What: load.NoteLevel, Value: v}, "level of "+args[0]+" "+args[1])
		},
	}
}

func (a *app) noteClarity() *cobra.Command {
	return &cobra.Command{
		Use:     "clarity DAY DEPTH",
		Short:   "Note how far down one sees into the water on a day",
		Example: "  leadline note clarity 2031-10-04 6ft",
		Args:    dayAnd("note clarity", "how far down one sees, such as 6ft"),
		RunE: func(c *cobra.Command, args []string) error {
			v, err := quantityArg(si.Length, args[1], 0)
			if err != nil {
				return err
			}
			return a.noteOfDay(c.Context(), load.Note{Day: args[0], What: load.NoteClarity, Value: v}, "clarity of "+args[0]+" "+args[1])
		},
	}
}

func quantityArg(of *si.Quantity, s string, least float64) (float64, error) {
	q := newQuantity(of, least)
	if err := q.Set(s); err != nil {
		return 0, usageError{err}
	}
	return q.value.V, nil
}

// noteOfDay keeps a note about a day, which may come later.
func (a *app) noteOfDay(ctx context.Context, n load.Note, words string) error {
	return a.inBook(ctx, func(b *load.Book, _ *time.Location) error {
		if err := b.Has(ctx, n.Day); errors.Is(err, load.ErrNoDay) {
			a.warn("%s is not in the logbook yet: the note waits for its import", n.Day)
		} else if err != nil {
			return err
		}
		return a.keepNote(ctx, b, n, words)
	})
}

func (a *app) noteWind() *cobra.Command {
	return &cobra.Command{
		Use:     "wind TIME SPEED@FROM",
		Short:   "Note the wind at one time",
		Example: "  leadline note wind 2031-10-04T07:00 10mph@NW",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usagef("note wind takes a time and the wind, such as 2031-10-04T07:00 10mph@NW, got %d", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			var w windFlag
			if err := w.Set(args[1]); err != nil {
				return usageError{err}
			}
			return a.inBook(c.Context(), func(b *load.Book, zone *time.Location) error {
				t, err := parseTime(args[0], zone)
				if err != nil {
					return usageError{err}
				}
				day := t.In(zone).Format(time.DateOnly)
				return a.keepNote(c.Context(), b, load.Note{Day: day, What: load.NoteWind, Time: t, Value: w.wind.SpeedMPS, FromDeg: w.wind.FromDeg}, "wind of "+day+" "+args[1])
			})
		},
	}
}

func (a *app) noteUndo() *cobra.Command {
	return &cobra.Command{
		Use:     "undo NOTE",
		Short:   "Take a note back",
		Example: "  leadline note undo 4",
		Args:    oneArg("note undo", "the number of a note"),
		RunE: func(c *cobra.Command, args []string) error {
			id, err := strconv.ParseInt(args[0], 10, 64)
			if err != nil {
				return usagef("%q is no number of a note, wanted one that note list shows", args[0])
			}
			return a.inBook(c.Context(), func(b *load.Book, _ *time.Location) error {
				if err := b.DropNote(c.Context(), id); err != nil {
					return err
				}
				_, err := fmt.Fprintf(a.out, "note %d taken back\n", id)
				return err
			})
		},
	}
}

func (a *app) noteList() *cobra.Command {
	return &cobra.Command{
		Use:     "list [DAY]",
		Short:   "Show the catches of a day with their numbers, and the notes",
		Example: "  leadline note list 2031-10-04\n  leadline note list undated",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("note list takes one day, got %d", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			boat, err := a.readBoat()
			if err != nil {
				return err
			}
			return a.inBook(c.Context(), func(b *load.Book, zone *time.Location) error {
				notes, err := b.Notes(c.Context())
				if err != nil {
					return err
				}
				files, err := b.Sources(c.Context())
				if err != nil {
					return err
				}
				number := func(n load.Note) string {
					for _, f := range files {
						if f.Hash == n.Hash {
							return fmt.Sprintf("%d.%d", f.ID, n.Place)
						}
					}
					return "a catch of a file that isn't there"
				}
				if len(args) == 0 {
					return printNotes(a.out, notes, number, zone, units(boat))
				}
				day := ""
				if args[0] != undatedWord {
					if day, err = dayArg(args[0]); err != nil {
						return err
					}
				}
				events, err := b.Events(c.Context(), day)
				if err != nil {
					return err
				}
				if len(events) == 0 {
					fmt.Fprintf(a.out, "no catches or marks of %s in any file\n", args[0])
				} else {
					printEvents(a.out, events, zone, units(boat))
				}
				fmt.Fprintln(a.out)
				notes = slices.DeleteFunc(notes, func(n load.Note) bool { return n.Day != day })
				return printNotes(a.out, notes, number, zone, units(boat))
			})
		},
	}
}

func printEvents(w io.Writer, list []load.EventRef, zone *time.Location, u si.System) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "number\ttime\twhat\tfish at\tplace\tnote\t")
	for _, r := range list {
		place := "no place"
		if r.Event.HasAt {
			place = fmt.Sprintf("%.5f,%.5f", r.Event.At.Lat(), r.Event.At.Lon())
		}
		remark := r.Event.Note
		switch {
		case r.Dropped:
			remark = strings.TrimSpace(remark + " (struck out)")
		case r.Amended:
			remark = strings.TrimSpace(remark + " (changed)")
		}
		fmt.Fprintf(t, "%d.%d\t%s\t%s\t%s\t%s\t%s\t\n", r.Source, r.Event.Place, clockWords(r.Event.Time, zone), eventWords(r.Event.Event), fishWords(r.Event.FishM, u), place, oneLine(remark))
	}
	t.Flush()
}

func clockWords(t time.Time, zone *time.Location) string {
	if t.IsZero() {
		return "-"
	}
	return t.In(zone).Format("15:04:05")
}

func eventWords(e ingest.Event) string {
	s := e.Kind.String()
	if e.Count > 1 {
		s = fmt.Sprintf("%d × %s", e.Count, s)
	}
	if e.Species != "" {
		s += " " + e.Species
	}
	return oneLine(s)
}

func fishWords(m ingest.Maybe, u si.System) string {
	if !m.OK {
		return "-"
	}
	return u.Depth(m.V)
}

// oneLine keeps a text of someone else's from breaking a table.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}

// printNotes lists notes; number tells the catch that one is on.
func printNotes(w io.Writer, list []load.Note, number func(load.Note) string, zone *time.Location, u si.System) error {
	if len(list) == 0 {
		_, err := fmt.Fprintln(w, "no notes")
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "note\tday\twhat\t")
	for _, x := range list {
		day := x.Day
		if day == "" {
			day = undatedWord
		}
		fmt.Fprintf(t, "%d\t%s\t%s\t\n", x.ID, day, noteWords(x, number, zone, u))
	}
	return t.Flush()
}

func noteWords(n load.Note, number func(load.Note) string, zone *time.Location, u si.System) string {
	switch n.What {
	case load.NoteAdd:
		return fmt.Sprintf("added: %s at %s, fish at %s %s", eventWords(n.Event), clockWords(n.Event.Time, zone), fishWords(n.Event.FishM, u), oneLine(n.Event.Note))
	case load.NoteAmend:
		return fmt.Sprintf("%s changed: %s at %s, fish at %s %s", number(n), eventWords(n.Event), clockWords(n.Event.Time, zone), fishWords(n.Event.FishM, u), oneLine(n.Event.Note))
	case load.NoteDrop:
		return number(n) + " struck out"
	case load.NoteLevel:
		return "level " + export.FineDepth(n.Value, u)
	case load.NoteWind:
		return fmt.Sprintf("wind at %s: %s from %.0f°", clockWords(n.Time, zone), u.Speed(n.Value), n.FromDeg)
	case load.NoteClarity:
		return "clarity " + u.Depth(n.Value)
	}
	return string(n.What)
}

// findEvent looks up 3.12: the event of place 12 in the file of number 3.
func findEvent(ctx context.Context, b *load.Book, number string) (load.EventRef, error) {
	file, place, found := strings.Cut(number, ".")
	id, err := strconv.ParseInt(file, 10, 64)
	k, err2 := strconv.Atoi(place)
	if !found || err != nil || err2 != nil {
		return load.EventRef{}, usagef("%q is no number of a catch, wanted one as note list shows it, such as 3.12", number)
	}
	days, err := b.Days(ctx)
	if err != nil {
		return load.EventRef{}, err
	}
	names := []string{""}
	for _, d := range days {
		names = append(names, d.Day)
	}
	for _, day := range names {
		list, err := b.Events(ctx, day)
		if err != nil {
			return load.EventRef{}, err
		}
		for _, r := range list {
			if r.Source == id && r.Event.Place == k {
				return r, nil
			}
		}
	}
	return load.EventRef{}, hinted{fmt.Errorf("%s: no such catch or mark in %s", number, b.Path()), "leadline note list DAY shows them with their numbers"}
}

// parseTime reads an instant with a zone, or by the clock of the logbook.
func parseTime(s string, zone *time.Location) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return t.UTC(), nil
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(layout, s, zone); err == nil {
			return t.UTC(), nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is not a time, wanted such as 2031-10-04T07:14 (by the clock of the logbook, %s) or 2031-10-04T13:14:05Z", s, zone)
}

// parsePoint reads LAT,LON.
func parsePoint(s string) (orb.Point, error) {
	lat, lon, err := si.ParsePosition(s)
	return orb.Point{lon, lat}, err
}

func noArgs(verb string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 0 {
			return usagef("%s takes flags only, got %q", verb, args[0])
		}
		return nil
	}
}

func oneArg(verb, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 1 {
			return usagef("%s takes %s, got %d", verb, what, len(args))
		}
		return nil
	}
}

func dayAnd(verb, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 2 {
			return usagef("%s takes a day and %s, got %d", verb, what, len(args))
		}
		_, err := dayArg(args[0])
		return err
	}
}
