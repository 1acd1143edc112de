package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"leadline/export/save"
	"leadline/export/sharefile"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// shareFlags are the flags of share.
type shareFlags struct {
	read readFlags
	part filterFlags
	set  settingsFlags

	out    string
	zones  []string
	coarse *quantity
	force  bool
}

func (a *app) share() *cobra.Command {
	f := &shareFlags{coarse: newQuantity(si.Length, 1)}
	c := &cobra.Command{
		Use:   "share [FILE...] -o FILE",
		Short: "Write chosen zones to a file for someone else, without what is private",
		Long: `share finds the zones of a season as zones does, and writes chosen ones to one file to
hand to someone else: an overlay (.geojson, .kml, .kmz) or waypoints and outlines for a
plotter (.gpx). Of a zone it tells the outline, the depth of fish and bottom, structure,
hours, drift and head. Catches, times, notes, tracks, rates and names stay at home.

With --coarse a zone becomes a disc of that radius, which holds the zone but not in its
middle; bottom, structure and drift are left out. share says what a receiver can still
tell from the file: read it before you send it.`,
		Example: `  leadline share -o partner.kml
  leadline share --zones Z1,Z3 -o partner.gpx
  leadline share season/ --coarse 900ft -o club.geojson`,
		RunE: func(c *cobra.Command, args []string) error { return a.runShare(c.Context(), args, f) },
	}
	flags := c.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "`FILE` to write; its ending settles the format: "+sharefile.FormatList())
	flags.StringSliceVar(&f.zones, "zones", nil, "`ZONE` to share, such as Z1,Z3 (repeatable; default all proven ones)")
	flags.Var(f.coarse, "coarse", "share discs of this radius instead of outlines, such as 900ft or 250m")
	flags.BoolVar(&f.force, "force", false, "write over FILE if it is there")
	f.read.add(flags)
	f.part.add(flags)
	f.set.add(flags, "water level to show depths at (default the latest day's)")
	return c
}

func (a *app) runShare(ctx context.Context, args []string, f *shareFlags) error {
	if f.out == "" && !a.common.json {
		return usagef("no file to write to: give one with -o FILE")
	}
	format, known := sharefile.FormatOf(f.out)
	if f.out != "" && !known {
		return usagef("-o %s: the ending settles the format, and is none of %s", f.out, sharefile.FormatList())
	}
	if f.coarse.value.OK && f.coarse.value.V > sharefile.MostCoarseM {
		return usagef("--coarse: %s is more than %v km", f.coarse.shown, sharefile.MostCoarseM/1000)
	}
	if err := f.set.check(); err != nil {
		return err
	}
	if f.out != "" {
		if err := f.checkOut(args); err != nil {
			return err
		}
	}
	p := a.progress()
	season, boat, remark, err := a.seasonOf(ctx, args, &f.read, &f.part, p)
	if err != nil {
		return err
	}
	chart, err := analyse.Season(ctx, season, f.set.settings(boat), p.step)
	if err != nil {
		return err
	}
	opt := sharefile.Options{Units: units(boat), Zones: f.zones, CoarseM: f.coarse.value}
	words, err := sharefile.Words(chart, opt)
	if err != nil {
		return shareHint(err)
	}
	if f.out != "" {
		p.step("writing")
		out := func(w io.Writer) error { return sharefile.Write(w, format, chart, opt) }
		if err := writeOne(ctx, f.out, f.force, out); err != nil {
			return err
		}
	}
	if a.common.json {
		return sharefile.Write(a.out, sharefile.GeoJSON, chart, opt)
	}
	return printShare(a.out, words, remark, f.out)
}

// shareHint adds what to try.
func shareHint(err error) error {
	var small sharefile.TooSmall
	switch {
	case errors.Is(err, sharefile.ErrNoneProven):
		return hinted{err, "name some: --zones Z1 (leadline zones lists them)"}
	case errors.As(err, &small):
		return hinted{err, "give --coarse more, or leave the zone out with --zones"}
	}
	return err
}

// printShare prints what was written and what can be told from it.
func printShare(w io.Writer, words []sharefile.Section, remark spatial.Remark, name string) error {
	fmt.Fprintf(w, "Written to %s\n", name)
	for _, s := range words {
		fmt.Fprintf(w, "\n%s:\n", s.Heading)
		for _, line := range s.Lines {
			fmt.Fprintf(w, "  %s\n", line)
		}
	}
	if remark.Text != "" {
		fmt.Fprintf(w, "\n%s: %s\n", remark.About, remark.Text)
	}
	_, err := fmt.Fprintln(w, "\nNot for navigation.")
	return err
}

// checkOut tells early what would stop the file from being written at the end.
func (f *shareFlags) checkOut(args []string) error {
	dir := filepath.Dir(f.out)
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return fmt.Errorf("there is no folder %s to write to", dir)
	}
	// A shared file among the recordings would be read as one the next time, its
	// waypoints as catches; and no input is ever written over.
	for _, arg := range args {
		if inside(arg, f.out) {
			return hinted{fmt.Errorf("%s is among the files that are read: %s", f.out, arg), "write to another folder"}
		}
	}
	info, err := os.Lstat(f.out)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case info.IsDir():
		return fmt.Errorf("%s is a directory", f.out)
	case !f.force:
		return taken(f.out)
	}
	return nil
}

func taken(name string) error {
	return hinted{fmt.Errorf("%s is there already", name), "--force writes over it"}
}

// inside reports whether name is path, or lies in it when it is a folder, whatever links
// lead there. The folder that name lies in exists.
func inside(path, name string) bool {
	real := func(p string) string {
		if q, err := filepath.EvalSymlinks(p); err == nil {
			p = q
		}
		if q, err := filepath.Abs(p); err == nil {
			p = q
		}
		return p
	}
	rel, err := filepath.Rel(real(path), filepath.Join(real(filepath.Dir(name)), filepath.Base(name)))
	return err == nil && filepath.IsLocal(rel)
}

// writeOne puts one file in place, whole or not at all. Unless force is set it refuses a
// file that is there, also one that came while this ran: a hard link to the full file can be made under a
// free name only, in one step. Where there are no links, as on memory cards, the name is first taken by
// an empty file, which only one of several can make; a kill just then leaves that.
func writeOne(ctx context.Context, name string, force bool, write func(io.Writer) error) error {
	dir, base := filepath.Split(name)
	out := []save.Output{{Name: base, Write: write}}
	if force {
		return save.Files(ctx, filepath.Clean(dir), out)
	}
	if _, err := os.Lstat(name); err == nil {
		return taken(name)
	}
	aside, err := os.MkdirTemp(filepath.Clean(dir), "."+base+".new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(aside)
	if err := save.Files(ctx, aside, out); err != nil {
		return err
	}
	full := filepath.Join(aside, base)
	switch err := os.Link(full, name); {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return taken(name)
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return taken(name)
	}
	if err != nil {
		return err
	}
	f.Close()
	if err = os.Rename(full, name); err != nil {
		os.Remove(name)
	}
	return err
}
