package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/load"
)

// defaultBook is the logbook unless --logbook says another.
const defaultBook = "leadline.gpkg"

// openBook opens the logbook; make makes one where there is none.
func (a *app) openBook(ctx context.Context, make bool) (*load.Book, error) {
	b, err := load.OpenBook(ctx, a.common.book, make)
	switch {
	case errors.Is(err, load.ErrNoBook):
		return nil, hinted{err, "name the day's files, or keep a season: leadline import FILE... makes a logbook, --logbook names another"}
	case errors.Is(err, load.ErrNewerBook):
		return nil, hinted{err, "it was not touched; get the later leadline"}
	case err != nil:
		return nil, err
	}
	if b.Copied != "" {
		a.say("%s was brought up to date; as it was it stands in %s", a.common.book, b.Copied)
	}
	return b, nil
}

// bookSeason reads what a filter leaves of the logbook.
func (a *app) bookSeason(ctx context.Context, f ingest.Filter, flags *readFlags, p *progress) (ingest.Season, load.Left, ingest.Boat, error) {
	opt, boat, err := a.loading(flags, p)
	if err != nil {
		return ingest.Season{}, load.Left{}, boat, err
	}
	b, err := a.openBook(ctx, false)
	if err != nil {
		return ingest.Season{}, load.Left{}, boat, err
	}
	defer b.Close()
	opt.NoSpeeds = true // the analysis takes them from the positions
	season, left, err := b.Season(ctx, f, opt)
	if err != nil {
		return season, left, boat, err
	}
	if z := flags.zone.zone; z != nil && z.String() != season.Zone.String() {
		return season, left, boat, usagef("--tz: the days of %s are told by %s", a.common.book, season.Zone)
	}
	a.warnAbout(season, opt.MaxGap)
	return season, left, boat, nil
}

// keepFound keeps zones and lines in the logbook, for whoever opens it in a GIS. The result is whole without: what
// goes wrong is a warning.
func (a *app) keepFound(ctx context.Context, in export.Findings, opt export.Options) {
	var zones, lines []load.Found
	keep := func(to *[]load.Found, f export.Feature, proven bool) error {
		text, err := json.Marshal(f.Properties)
		if err == nil {
			*to = append(*to, load.Found{ID: f.ID, Name: f.Name, Proven: proven, Shape: f.Geometry, Properties: string(text)})
		}
		return err
	}
	err := func() error {
		for _, z := range in.Chart.Zones {
			f := export.ZoneFeature(z, opt.Units)
			if _, ok := f.Geometry.(orb.Polygon); ok {
				if err := keep(&zones, f, z.Proven); err != nil {
					return err
				}
			}
		}
		for _, d := range in.Chart.Drifts {
			f := export.DriftFeature(d, opt.Units)
			if _, ok := f.Geometry.(orb.LineString); ok {
				if err := keep(&lines, f, false); err != nil {
					return err
				}
			}
		}
		b, err := a.openBook(ctx, false)
		if err != nil {
			return err
		}
		defer b.Close()
		return b.SetFound(ctx, zones, lines)
	}()
	if err != nil {
		a.warn("zones and lines were not kept in the logbook: %v", err)
	}
}

// dayArg checks a day as typed.
func dayArg(s string) (string, error) {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return "", usagef("%q is not a day, wanted it as 2031-10-04", s)
	}
	return s, nil
}

// wordsOfTwice says what became of days that came again.
func wordsOfTwice(list []load.Twice, what string) string {
	if len(list) == 0 {
		return ""
	}
	return fmt.Sprintf("%s came again (first %s, %s as in %s): %s", export.Plural(len(list), "day"), list[0].Day, list[0].File, list[0].Have, what)
}
