package logbook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/gpkg"
)

// A Day is what the logbook has of one local day, notes counted in.
type Day struct {
	Day         string
	First, Last time.Time // UTC; zero when nothing sound has a time
	OnWaterS    float64   // covered by sound tracks
	Fixes       int       // sound
	Soundings   int       // sound, with a place
	Events      int
	LevelM      ingest.Maybe
	TempC       ingest.Maybe
	ClarityM    ingest.Maybe
	Winds       int
	Notes       int
	Bound       orb.Bound // of all that is sound and has a place
	HasBound    bool
	Sources     []string // names of the files, in the order they were imported
}

// ErrNoDay is the error of a day that isn't in the logbook.
var ErrNoDay = errors.New("not in the logbook")

// Days returns the days in order. Errors are those of gpkg.
func (b *Book) Days(ctx context.Context) (list []Day, err error) {
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		list, err = days(tx)
		return err
	})
	return list, err
}

func days(tx *gpkg.Tx) ([]Day, error) {
	var list []Day
	at := map[string]int{}
	err := tx.Query(func(scan func(...any) error) error {
		var d Day
		var first, last *time.Time
		var level, temp *float64
		var w, s, e, n *float64
		if err := scan(&d.Day, &first, &last, &d.OnWaterS, &d.Fixes, &d.Soundings, &d.Events, &level, &temp, &w, &s, &e, &n); err != nil {
			return err
		}
		if first != nil && last != nil {
			d.First, d.Last = *first, *last
		}
		d.LevelM, d.TempC = known(level), known(temp)
		if d.HasBound = w != nil && s != nil && e != nil && n != nil; d.HasBound {
			d.Bound = orb.Bound{Min: orb.Point{*w, *s}, Max: orb.Point{*e, *n}}
		}
		at[d.Day] = len(list)
		list = append(list, d)
		return nil
	}, `SELECT day, first, last, on_water_s, fixes, soundings, events, level_m, temp_c, west, south, east, north FROM days ORDER BY day`)
	if err != nil {
		return nil, err
	}
	err = tx.Query(func(scan func(...any) error) error {
		var day, name string
		if err := scan(&day, &name); err != nil {
			return err
		}
		if i, ok := at[day]; ok {
			list[i].Sources = append(list[i].Sources, name)
		}
		return nil
	}, `SELECT x.day, s.name FROM (SELECT day, source FROM leadline_packed UNION SELECT day, source FROM events
		UNION SELECT day, source FROM levels UNION SELECT day, source FROM winds) x JOIN sources s ON s.fid = x.source ORDER BY x.day, s.fid`)
	if err != nil {
		return nil, err
	}
	err = tx.Query(func(scan func(...any) error) error {
		var day string
		var n int
		if err := scan(&day, &n); err != nil {
			return err
		}
		if i, ok := at[day]; ok {
			list[i].Winds = n
		}
		return nil
	}, "SELECT day, count(*) FROM winds GROUP BY day")
	if err != nil {
		return nil, err
	}
	made, err := notes(tx)
	if err != nil {
		return nil, err
	}
	type struck struct {
		hash  string
		place int
	}
	gone := map[struck]bool{}
	for _, n := range made {
		i, ok := at[n.Day]
		if !ok {
			continue
		}
		d := &list[i]
		d.Notes++
		switch n.What {
		case Add:
			d.Events++
		case Drop:
			if s := (struck{n.Hash, n.Place}); !gone[s] {
				gone[s] = true
				d.Events--
			}
		case Level:
			d.LevelM = ingest.Known(n.Value)
		case Wind:
			d.Winds++
		case Clarity:
			d.ClarityM = ingest.Known(n.Value)
		}
	}
	return list, nil
}

// Forget takes a day out: its records, what the layers show of it and, unless keepNotes, its notes. What an analysis
// found goes, too, since it may show the place. It returns how many notes went. The day "" stands for records without
// a time. Files that have no other day left are forgotten with their rejected rows; of others these rows stay.
//
// ErrNoDay where nothing of the day is in the logbook; other errors are those of gpkg.
func (b *Book) Forget(ctx context.Context, list []string, keepNotes bool) (notesGone int, err error) {
	err = b.update(ctx, func(tx *gpkg.Tx) error {
		notesGone = 0
		held, err := sources(tx)
		if err != nil {
			return err
		}
		before := map[int64]bool{} // have a record or leave one out
		for _, s := range held {
			before[s.ID] = len(s.LeftOut) > 0
		}
		if err := tx.Query(func(scan func(...any) error) error {
			var id int64
			err := scan(&id)
			before[id] = true
			return err
		}, "SELECT source FROM leadline_packed UNION SELECT source FROM events UNION SELECT source FROM levels UNION SELECT source FROM winds"); err != nil {
			return err
		}
		among := map[int64]bool{}
		for _, day := range list {
			gone := int64(0)
			for i := range held {
				s := &held[i]
				if k := slices.Index(s.LeftOut, day); k >= 0 {
					s.LeftOut = slices.Delete(s.LeftOut, k, k+1)
					if _, err := tx.Exec("UPDATE sources SET left_out = ? WHERE fid = ?", strings.Join(s.LeftOut, ","), s.ID); err != nil {
						return err
					}
				}
			}
			for _, table := range []string{"days", "tracks", "soundings", "events", "leadline_packed", "levels", "winds"} {
				n, err := tx.DeleteWhere(table, "day = ?", day)
				if err != nil {
					return err
				}
				gone += n
			}
			if !keepNotes {
				n, err := tx.DeleteWhere("notes", "day = ?", day)
				if err != nil {
					return err
				}
				gone += n
				notesGone += int(n)
			}
			if gone == 0 {
				return noDay(tx, day)
			}
		}
		for _, layer := range []string{"found_zones", "found_lines"} {
			if _, err := tx.DeleteWhere(layer, "true"); err != nil {
				return err
			}
		}
		for _, s := range held { // files of which nothing was ever kept stay
			delete(among, s.ID)
			if before[s.ID] {
				among[s.ID] = true
			}
		}
		if err := dropEmpty(tx, among); err != nil {
			return err
		}
		return changed(tx) // as of what is left
	})
	return notesGone, err
}

// noDay is the error of a day that isn't there, with those that are.
func noDay(tx *gpkg.Tx, day string) error {
	list, err := days(tx)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return fmt.Errorf("%s: %w, which is empty", day, ErrNoDay)
	}
	return fmt.Errorf("%s: %w, which has %d from %s to %s", day, ErrNoDay, len(list), list[0].Day, list[len(list)-1].Day)
}

// Has reports whether the logbook has a day; the error is ErrNoDay where it hasn't, and else of gpkg.
func (b *Book) Has(ctx context.Context, day string) error {
	return b.view(ctx, func(tx *gpkg.Tx) error {
		list, err := days(tx)
		if err == nil && !slices.ContainsFunc(list, func(d Day) bool { return d.Day == day }) {
			err = noDay(tx, day)
		}
		return err
	})
}
