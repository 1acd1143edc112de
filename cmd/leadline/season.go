package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"time"

	"github.com/spf13/pflag"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/boatfile"
	"leadline/ingest/load"
	"leadline/ingest/si"
)

// readFlags are the flags of the verbs that read recordings.
type readFlags struct {
	zone      zoneFlag
	depthUnit string
	dateOrder string
	columns   map[string]string
	noSums    bool
	offsets   offsetsFlag
	maxGap    *quantity
}

func (r *readFlags) add(f *pflag.FlagSet) {
	r.offsets = offsetsFlag{}
	r.maxGap = newQuantity(si.Duration, 0)
	r.maxGap.shown = "10s"
	f.Var(&r.zone, "tz", "time zone of clock times that carry none, and of days and hours")
	f.StringVar(&r.depthUnit, "depth-unit", "", "`UNIT` of depth columns that name none: ft, m or fathom")
	f.StringVar(&r.dateOrder, "date-order", "", "`ORDER` of dates that could be read two ways: ymd, dmy or mdy")
	f.StringToStringVar(&r.columns, "column", nil, "what a table's column is, as `NAME=WORD`, by its header or place: Tiefe=depth_m, 3=lat (repeatable)")
	f.BoolVar(&r.noSums, "no-checksums", false, "take NMEA sentences whose checksum is wrong")
	f.Var(r.offsets, "clock-offset", "time to add to one file's clock, such as sonar.csv=37s (repeatable)")
	f.Var(r.maxGap, "max-gap", "place soundings and catches across gaps in the track of at most this")
}

// defaultBoat is the boat file that is used when it is there.
const defaultBoat = "boat.toml"

// readBoat returns the boat as described by --boat, by boat.toml, or by default.
func (a *app) readBoat() (ingest.Boat, error) {
	name := a.common.boat
	if name == "" {
		if _, err := os.Stat(defaultBoat); errors.Is(err, fs.ErrNotExist) {
			return boatfile.Default(), nil
		}
		name = defaultBoat
	}
	f, err := os.Open(name)
	if err != nil {
		return ingest.Boat{}, fmt.Errorf("boat file: %w", err)
	}
	defer f.Close()
	return boatfile.Read(f, name)
}

// readSeason reads the files that a verb was given, and the boat they came from.
func (a *app) readSeason(ctx context.Context, paths []string, flags *readFlags, p *progress) (ingest.Season, ingest.Boat, error) {
	if len(paths) == 0 {
		return ingest.Season{}, ingest.Boat{}, usagef("no files: name the day's GPX and CSV files, or the folder they are in")
	}
	opt, boat, err := a.loading(flags, p)
	if err != nil {
		return ingest.Season{}, boat, err
	}
	season, err := load.Season(ctx, paths, opt)
	if err != nil {
		return season, boat, withZone(err)
	}
	a.warnAbout(season, opt.MaxGap)
	return season, boat, nil
}

// loading returns what reading and joining are told by flags and boat file, and the boat.
func (a *app) loading(flags *readFlags, p *progress) (load.Options, ingest.Boat, error) {
	boat, err := a.readBoat()
	if err != nil {
		return load.Options{}, boat, err
	}
	if flags.zone.zone != nil {
		boat.Zone = flags.zone.zone
	}
	read, err := flags.options(boat)
	return load.Options{
		Read:     read,
		Offsets:  flags.offsets,
		MaxGap:   time.Duration(flags.maxGap.or(10) * float64(time.Second)),
		Depth:    ingest.Corrections{TransducerM: boat.TransducerM, SounderMPS: boat.SounderMPS},
		Levels:   boat.Levels,
		Progress: p.file,
	}, boat, err
}

// withZone offers a zone where times without one were refused.
func withZone(err error) error {
	if n := (load.NoZone{}); errors.As(err, &n) && n.Offer != "" {
		return hinted{err, fmt.Sprintf("by its longitude the track lies in %s, daylight saving aside: --tz %s if the clocks showed that", n.Offer, n.Offer)}
	}
	return err
}

// nothing returns the error when not one record of a season has a place.
func nothing(s ingest.Season) error {
	if len(s.Days) > 0 || len(s.Undated.Soundings) > 0 || len(s.Undated.Events) > 0 {
		return nil
	}
	return hinted{
		errors.New("nothing can be put on a map: " + whatIsMissing(s)),
		"add the day's GPX track to the files, or say with --tz which clock the logs keep",
	}
}

// options returns what the readers are told, the boat file's word under the flags'.
func (r *readFlags) options(boat ingest.Boat) (ingest.ReadOptions, error) {
	o := ingest.ReadOptions{Zone: boat.Zone, DateOrder: r.dateOrder, NoChecksums: r.noSums, Columns: map[string]string{}}
	if r.depthUnit != "" {
		u, ok := si.Length.Unit(r.depthUnit)
		if !ok || u != "ft" && u != "m" && u != "fathom" {
			return o, usagef("--depth-unit: %q is not one of ft, m, fathom", r.depthUnit)
		}
		o.DepthUnit = u
	}
	if !slices.Contains([]string{"", "ymd", "dmy", "mdy"}, r.dateOrder) {
		return o, usagef("--date-order: %q is not one of ymd, dmy, mdy", r.dateOrder)
	}
	maps.Copy(o.Columns, boat.Columns)
	maps.Copy(o.Columns, r.columns)
	return o, nil
}

// whatIsMissing says why nothing has a place.
func whatIsMissing(s ingest.Season) string {
	if len(s.Unplaced) == 0 {
		return "the files hold no positions"
	}
	count := 0
	for _, u := range s.Unplaced {
		count += u.Count
	}
	u := s.Unplaced[0]
	return fmt.Sprintf("%d records have no place (the first is %s:%d, a %s: %s)", count, s.Sources[u.Source].Name, u.Line, u.What, u.Reason)
}

// warnAbout says what a person should know before they trust the result.
func (a *app) warnAbout(s ingest.Season, maxGap time.Duration) {
	if !s.ZoneSaid && len(s.Days) > 0 {
		a.warn("no time zone was given: days and hours are in UTC (--tz, or tz in the boat file)")
	}
	for _, src := range s.Sources {
		if src.ClockInDoubt {
			a.warn("%s: the clock %s", src.Name, src.Clock)
		}
	}
	setAside, unplaced, inGaps := 0, 0, 0
	for _, src := range s.Sources {
		setAside += src.SetAside
	}
	for _, u := range s.Unplaced {
		switch u.Reason {
		case ingest.InTwoFiles:
			continue
		case ingest.InGap:
			inGaps += u.Count
		}
		unplaced += u.Count
	}
	if setAside > 0 {
		a.warn("%s set aside (leadline check shows them)", export.Plural(setAside, "row was", "rows were"))
	}
	if unplaced > 0 {
		a.warn("%s could not be placed (leadline check shows why)", export.Plural(unplaced, "sounding or catch", "soundings and catches"))
	}
	placed := 0
	for _, d := range s.Days {
		placed += len(d.Soundings) + len(d.Events)
	}
	if inGaps > placed/10 { // a slow logger, rather than a dropout
		fmt.Fprintf(a.err, "leadline: hint: most of them fall in gaps of the track longer than %v; --max-gap allows longer ones\n", maxGap)
	}
}
