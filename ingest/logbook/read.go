package logbook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/gpkg"
)

// Sources returns the files in the logbook, in the order they were imported, without their records. Errors are those of gpkg.
func (b *Book) Sources(ctx context.Context) (list []Source, err error) {
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		list, err = sources(tx)
		return err
	})
	return list, err
}

func sources(tx *gpkg.Tx) ([]Source, error) {
	var list []Source
	err := tx.Query(func(scan func(...any) error) error {
		var s Source
		var found, offset *float64
		var leftOut, columns string
		a := &s.About
		if err := scan(&s.ID, &a.Name, &s.Hash, &a.TakenFor, &a.RowsRead, &a.Used, &a.Repaired, &a.SetAside, &a.Zone, &found, &offset,
			&a.Clock, &a.ClockInDoubt, &leftOut, &columns); err != nil {
			return err
		}
		s.FoundS, a.ClockOffsetS = known(found), known(offset)
		if leftOut != "" {
			s.LeftOut = strings.Split(leftOut, ",")
		}
		if err := json.Unmarshal([]byte(columns), &a.Columns); err != nil {
			return fmt.Errorf("columns of source %d: %w", s.ID, gpkg.ErrDamaged)
		}
		list = append(list, s)
		return nil
	}, `SELECT fid, name, sha256, taken_for, rows_read, rows_used, rows_repaired, rows_rejected, zone, clock_found_s, clock_offset_s,
		clock, clock_in_doubt, left_out, columns FROM sources ORDER BY fid`)
	return list, err
}

// Held returns, by source, the local days that the logbook has records of: of fixes and soundings (heavy), and of anything;
// and the days that have a track. Errors are those of gpkg.
func (b *Book) Held(ctx context.Context) (heavy, all map[int64][]string, tracked map[string]bool, err error) {
	heavy, all, tracked = map[int64][]string{}, map[int64][]string{}, map[string]bool{}
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		for _, q := range []struct {
			of  map[int64][]string
			sql string
		}{
			{heavy, "SELECT DISTINCT source, day FROM leadline_packed ORDER BY source, day"},
			{all, `SELECT source, day FROM leadline_packed UNION SELECT source, day FROM events UNION SELECT source, day FROM levels
				UNION SELECT source, day FROM winds ORDER BY 1, 2`},
		} {
			if err := tx.Query(func(scan func(...any) error) error {
				var id int64
				var day string
				if err := scan(&id, &day); err != nil {
					return err
				}
				q.of[id] = append(q.of[id], day)
				return nil
			}, q.sql); err != nil {
				return err
			}
		}
		return tx.Query(func(scan func(...any) error) error {
			var day string
			err := scan(&day)
			tracked[day] = true
			return err
		}, "SELECT DISTINCT day FROM leadline_packed WHERE kind = ?", string(Fixes))
	})
	return heavy, all, tracked, err
}

func known(v *float64) ingest.Maybe {
	if v == nil {
		return ingest.Maybe{}
	}
	return ingest.Known(*v)
}

// Whole returns one source with all its fixes and soundings. Errors are those of gpkg.
func (b *Book) Whole(ctx context.Context, s Source) (Source, error) {
	s.Chunks = nil
	err := b.view(ctx, func(tx *gpkg.Tx) error {
		return readChunks(tx, "source = ?", []any{s.ID}, func(int64) (*Source, error) { return &s, nil })
	})
	return s, err
}

// A Part says which records are read.
type Part struct {
	// Days is the local days, unless All. Records without a time are those of the day "".
	Days []string
	All  bool
	// Light leaves fixes and soundings out.
	Light bool
	// Without names columns of fixes and soundings that are not read: the records then lack these values.
	Without []string
}

// Read returns the sources that have records in a part of the logbook, in the order they were imported, with these records.
// The columns stay packed; Source.Records unpacks them. Errors are those of gpkg.
func (b *Book) Read(ctx context.Context, p Part) (list []Source, s Settings, err error) {
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		if s, err = settings(tx); err != nil {
			return err
		}
		list, err = read(tx, p)
		return err
	})
	return list, s, err
}

func read(tx *gpkg.Tx, p Part) ([]Source, error) {
	all, err := sources(tx)
	if err != nil {
		return nil, err
	}
	at := map[int64]*Source{}
	for i := range all {
		at[all[i].ID] = &all[i]
	}
	of := func(id int64) (*Source, error) {
		s := at[id]
		if s == nil {
			return nil, fmt.Errorf("records of source %d, which is not in sources: %w", id, gpkg.ErrDamaged)
		}
		return s, nil
	}
	readers := []func(*gpkg.Tx, string, []any, func(int64) (*Source, error)) error{readEvents, readLevels, readWinds}
	if !p.Light {
		readers = append(readers, func(tx *gpkg.Tx, where string, args []any, of func(int64) (*Source, error)) error {
			for _, col := range p.Without {
				where, args = where+" AND col <> ?", append(args, col)
			}
			return readChunks(tx, where, args, of)
		})
	}
	for _, each := range readers {
		if p.All {
			if err := each(tx, "true", nil, of); err != nil {
				return nil, err
			}
			continue
		}
		const most = 500 // SQLite takes some thousand parameters
		for days := p.Days; len(days) > 0; {
			n := min(most, len(days))
			args := make([]any, n)
			for i, d := range days[:n] {
				args[i] = d
			}
			if err := each(tx, "day IN (?"+strings.Repeat(",?", n-1)+")", args, of); err != nil {
				return nil, err
			}
			days = days[n:]
		}
	}
	held := map[int64]bool{} // by a record of another kind than was read
	if p.All && p.Light {
		for _, s := range all {
			held[s.ID] = true
		}
	}
	var list []Source
	for _, s := range all {
		if len(s.Chunks)+len(s.Events)+len(s.Levels)+len(s.Winds) > 0 || p.All && !held[s.ID] && len(s.LeftOut) == 0 {
			list = append(list, s)
		}
	}
	return list, nil
}

func readChunks(tx *gpkg.Tx, where string, args []any, of func(int64) (*Source, error)) error {
	return tx.Query(func(scan func(...any) error) error {
		var id int64
		var c Chunk
		var col Column
		var kind string
		if err := scan(&id, &c.Day, &kind, &c.Part, &c.N, &col.Name, &col.Data); err != nil {
			return err
		}
		c.Kind = Kind(kind)
		s, err := of(id)
		if err != nil {
			return err
		}
		if n := len(s.Chunks); n > 0 {
			if last := &s.Chunks[n-1]; last.Day == c.Day && last.Kind == c.Kind && last.Part == c.Part {
				last.Columns = append(last.Columns, col)
				return nil
			}
		}
		c.Columns = []Column{col}
		s.Chunks = append(s.Chunks, c)
		return nil
	}, "SELECT source, day, kind, part, n, col, data FROM leadline_packed WHERE "+where+" ORDER BY fid", args...)
}

func readEvents(tx *gpkg.Tx, where string, args []any, of func(int64) (*Source, error)) error {
	return tx.Query(func(scan func(...any) error) error {
		var id int64
		var e Event
		var geom []byte
		var placed string
		var ns *int64
		d := newEventScan(&e.Event)
		dest := append([]any{&id, &e.Place, &e.Line, &e.Day, &ns, &placed, &geom}, d.dest()...)
		if err := scan(dest...); err != nil {
			return err
		}
		if err := d.done(); err != nil {
			return err
		}
		e.Time = instantFrom(ns)
		if placed != "" {
			at, err := point(geom)
			if err != nil {
				return err
			}
			e.At, e.HasAt = at, true
			if placed == ingest.ByTrack.String() {
				e.By = ingest.ByTrack
			} else {
				e.Pos, e.HasPos = at, true
			}
		}
		s, err := of(id)
		if err != nil {
			return err
		}
		s.Events = append(s.Events, e)
		return nil
	}, "SELECT source, place, line, day, unix_ns, placed_by, geom, "+eventNames+" FROM events WHERE "+where+" ORDER BY source, place", args...)
}

// eventNames are the columns of eventColumns.
const eventNames = "kind, species, count, length_m, weight_kg, fish_m, head_kg, trailer_m, note"

// An eventScan reads eventNames.
type eventScan struct {
	e                                   *ingest.Event
	kind                                string
	lengthM, weightKg, fishM, headKg, t *float64
}

func newEventScan(e *ingest.Event) *eventScan { return &eventScan{e: e} }

func (d *eventScan) dest() []any {
	return []any{&d.kind, &d.e.Species, &d.e.Count, &d.lengthM, &d.weightKg, &d.fishM, &d.headKg, &d.t, &d.e.Note}
}

func (d *eventScan) done() error {
	var ok bool
	if d.e.Kind, ok = ingest.ParseEventKind(d.kind); !ok {
		return fmt.Errorf("%q is no kind of event: %w", d.kind, gpkg.ErrDamaged)
	}
	d.e.LengthM, d.e.WeightKg, d.e.FishM, d.e.HeadKg, d.e.TrailerM = known(d.lengthM), known(d.weightKg), known(d.fishM), known(d.headKg), known(d.t)
	return nil
}

func readLevels(tx *gpkg.Tx, where string, args []any, of func(int64) (*Source, error)) error {
	return tx.Query(func(scan func(...any) error) error {
		var id int64
		var l ingest.Level
		var ns *int64
		if err := scan(&id, &l.Date, &ns, &l.LevelM, &l.Line); err != nil {
			return err
		}
		if l.Time = instantFrom(ns); !l.Time.IsZero() {
			l.Date = ""
		}
		s, err := of(id)
		if err != nil {
			return err
		}
		s.Levels = append(s.Levels, l)
		return nil
	}, "SELECT source, day, unix_ns, level_m, line FROM levels WHERE "+where+" ORDER BY fid", args...)
}

func readWinds(tx *gpkg.Tx, where string, args []any, of func(int64) (*Source, error)) error {
	return tx.Query(func(scan func(...any) error) error {
		var id, ns int64
		var w ingest.Wind
		if err := scan(&id, &ns, &w.SpeedMPS, &w.FromDeg, &w.Line); err != nil {
			return err
		}
		w.Time = time.Unix(0, ns).UTC()
		s, err := of(id)
		if err != nil {
			return err
		}
		s.Winds = append(s.Winds, w)
		return nil
	}, "SELECT source, unix_ns, speed_mps, from_deg, line FROM winds WHERE "+where+" ORDER BY fid", args...)
}

func instantFrom(ns *int64) time.Time {
	if ns == nil {
		return time.Time{}
	}
	return time.Unix(0, *ns).UTC()
}

func point(geom []byte) (orb.Point, error) {
	g, _, err := gpkg.Decode(geom)
	if err != nil {
		return orb.Point{}, err
	}
	p, ok := g.(orb.Point)
	if !ok {
		return orb.Point{}, fmt.Errorf("event at %v: %w", g, gpkg.ErrDamaged)
	}
	return p, nil
}

// Rejected returns the problems of some sources, or of all when ids is nil, in the order they were found.
// Errors are those of gpkg.
func (b *Book) Rejected(ctx context.Context, ids []int64) (list []ingest.Problem, err error) {
	wanted := map[int64]bool{}
	for _, id := range ids {
		wanted[id] = true
	}
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		return tx.Query(func(scan func(...any) error) error {
			var id int64
			var p ingest.Problem
			var outcome, kind string
			if err := scan(&id, &p.File, &p.Line, &p.Field, &p.Found, &p.Wanted, &outcome, &kind, &p.Row); err != nil {
				return err
			}
			if ids != nil && !wanted[id] {
				return nil
			}
			for _, o := range []ingest.Outcome{ingest.SetAside, ingest.Repaired, ingest.InDoubt} {
				if o.String() == outcome {
					p.Outcome = o
				}
			}
			p.Kind = kindOf(kind)
			list = append(list, p)
			return nil
		}, "SELECT source, file, line, field, found, wanted, outcome, reason, content FROM rejected ORDER BY fid")
	})
	return list, err
}

// kindOf returns the kind of problem with that text.
func kindOf(text string) error {
	for _, k := range []error{ingest.ErrNumber, ingest.ErrTime, ingest.ErrPosition, ingest.ErrRange, ingest.ErrMissing, ingest.ErrWord,
		ingest.ErrTruncated, ingest.ErrShape, ingest.ErrChecksum, ingest.ErrZone} {
		if k.Error() == text {
			return k
		}
	}
	if text == "" {
		return nil
	}
	return errors.New(text)
}
