package logbook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/gpkg"
)

// NoteKind says what a note does.
type NoteKind string

// The kinds of note.
const (
	Add     NoteKind = "add"     // an event that no file has
	Amend   NoteKind = "change"  // an event of a file, as it should read
	Drop    NoteKind = "drop"    // an event of a file that doesn't count
	Level   NoteKind = "level"   // the water level of a day
	Wind    NoteKind = "wind"    // the wind at one time
	Clarity NoteKind = "clarity" // how far down one sees, of a day
)

// A Note is what a person added or corrected. What was read stays as it was.
type Note struct {
	ID      int64 // fid in notes; 0: not in the logbook yet
	Day     string
	What    NoteKind
	Event   ingest.Event // Add, and Amend: the whole event as it should read
	Hash    string       // Amend, Drop: the file
	Place   int          // Amend, Drop: how manieth event of the file, from 0
	Time    time.Time    // Wind
	Value   float64      // Level m, Wind m/s, Clarity m
	FromDeg float64      // Wind
}

// ErrNoNote is the error of a note that isn't there.
var ErrNoNote = errors.New("no such note")

// AddNote adds a note and returns its number. Errors are those of gpkg.
func (b *Book) AddNote(ctx context.Context, n Note) (id int64, err error) {
	err = b.update(ctx, func(tx *gpkg.Tx) error {
		if err := changed(tx); err != nil {
			return err
		}
		var geom []byte
		t := n.Time
		if n.What == Add || n.What == Amend {
			t = n.Event.Time
			if n.Event.HasPos {
				geom = gpkg.Encode(n.Event.Pos, gpkg.WGS84)
			}
		}
		var hash, place, value, from any
		switch n.What {
		case Amend, Drop:
			hash, place = n.Hash, n.Place
		case Level, Clarity:
			value = n.Value
		case Wind:
			value, from = n.Value, n.FromDeg
		}
		event := make([]any, len(eventColumns()))
		if n.What == Add || n.What == Amend {
			event = eventValues(n.Event)
		}
		id, err = tx.Insert("notes", geom, append([]any{n.Day, string(n.What), instantOf(t), nanos(t), hash, place, value, from}, event...)...)
		return err
	})
	return id, err
}

// changed counts a change whatever was made before, and gives it its instant.
func changed(tx *gpkg.Tx) error {
	s, err := settings(tx)
	if err != nil {
		return err
	}
	last := time.Unix(0, 0)
	if _, err := tx.QueryOne([]any{&last}, "SELECT last FROM days WHERE last IS NOT NULL ORDER BY last DESC LIMIT 1"); err != nil {
		return err
	}
	tx.SetLastChange(last)
	return count(tx, s.Changes)
}

// DropNote takes a note back. ErrNoNote where there is none of that number; other errors are those of gpkg.
func (b *Book) DropNote(ctx context.Context, id int64) error {
	return b.update(ctx, func(tx *gpkg.Tx) error {
		if err := changed(tx); err != nil {
			return err
		}
		n, err := tx.DeleteWhere("notes", "fid = ?", id)
		if err == nil && n == 0 {
			err = fmt.Errorf("note %d: %w", id, ErrNoNote)
		}
		return err
	})
}

// Notes returns the notes in the order they were made. Errors are those of gpkg.
func (b *Book) Notes(ctx context.Context) (list []Note, err error) {
	err = b.view(ctx, func(tx *gpkg.Tx) error {
		list, err = notes(tx)
		return err
	})
	return list, err
}

func notes(tx *gpkg.Tx) (list []Note, err error) {
	err = tx.Query(func(scan func(...any) error) error {
		var n Note
		var what string
		var geom []byte
		var ns, place *int64
		var hash *string
		var value, from *float64
		var kind, species, note *string
		var fish *int64
		var lengthM, weightKg, fishM, headKg, trailerM *float64
		if err := scan(&n.ID, &n.Day, &what, &geom, &ns, &hash, &place, &value, &from,
			&kind, &species, &fish, &lengthM, &weightKg, &fishM, &headKg, &trailerM, &note); err != nil {
			return err
		}
		n.What = NoteKind(what)
		if hash != nil && place != nil {
			n.Hash, n.Place = *hash, int(*place)
		}
		n.Value, n.FromDeg = known(value).V, known(from).V
		if n.What == Wind {
			n.Time = instantFrom(ns)
		}
		if kind != nil && species != nil && note != nil && fish != nil {
			k, ok := ingest.ParseEventKind(*kind)
			if !ok {
				return fmt.Errorf("note %d: %q is no kind of event: %w", n.ID, *kind, gpkg.ErrDamaged)
			}
			n.Event = ingest.Event{
				Time: instantFrom(ns), Kind: k, Species: *species, Count: int(*fish), Note: *note,
				LengthM: known(lengthM), WeightKg: known(weightKg), FishM: known(fishM), HeadKg: known(headKg), TrailerM: known(trailerM),
			}
			if geom != nil {
				at, err := point(geom)
				if err != nil {
					return err
				}
				n.Event.Pos, n.Event.HasPos = at, true
			}
		}
		list = append(list, n)
		return nil
	}, `SELECT fid, day, what, geom, unix_ns, for_sha256, for_place, value, from_deg, `+eventNames+` FROM notes ORDER BY fid`)
	return list, err
}

// NotesName is what the notes are called where files are listed.
const NotesName = "notes"

// WithNotes returns sources as the notes have them, and what the notes add as a source of its own, to be put last: its levels win.
// Notes of other days than wanted, and on files that aren't among the sources, change nothing. Neither list is changed.
func WithNotes(list []Source, notes []Note, wanted func(day string) bool) ([]Source, ingest.Records) {
	out := slices.Clone(list)
	r := ingest.Records{Source: ingest.Source{Name: NotesName, TakenFor: "notes in the logbook"}}
	for _, n := range notes {
		if !wanted(n.Day) {
			continue
		}
		switch n.What {
		case Add:
			e := n.Event
			e.Line = int(n.ID)
			r.Events = append(r.Events, e)
		case Level:
			r.Levels = append(r.Levels, ingest.Level{Date: n.Day, LevelM: n.Value, Line: int(n.ID)})
		case Wind:
			r.Winds = append(r.Winds, ingest.Wind{Time: n.Time, SpeedMPS: n.Value, FromDeg: n.FromDeg, Line: int(n.ID)})
		case Amend, Drop:
			k := -1
			i := slices.IndexFunc(out, func(s Source) bool {
				if s.Hash == n.Hash { // a file whose days came at two imports is there twice
					k = slices.IndexFunc(s.Events, func(e Event) bool { return e.Place == n.Place })
				}
				return k >= 0
			})
			if i < 0 {
				continue
			}
			events := slices.Clone(out[i].Events)
			if n.What == Drop {
				events = slices.Delete(events, k, k+1)
			} else {
				line := events[k].Line
				events[k].Event = n.Event
				events[k].Line = line
				if n.Event.HasPos {
					events[k].At, events[k].By, events[k].HasAt = n.Event.Pos, ingest.ByNote, true
				}
			}
			out[i].Events = events
		default:
			continue
		}
		r.Source.RowsRead++
		r.Source.Used++
	}
	return out, r
}

// A Found is one zone or drift line of an analysis.
type Found struct {
	ID, Name   string
	Proven     bool
	Shape      orb.Geometry // Polygon of a zone, LineString of a line
	Properties string       // JSON
}

// SetFound replaces the zones and drift lines found. Errors are those of gpkg.
func (b *Book) SetFound(ctx context.Context, zones, lines []Found) error {
	return b.update(ctx, func(tx *gpkg.Tx) error {
		if err := changed(tx); err != nil {
			return err
		}
		for i, list := range [][]Found{zones, lines} {
			layer := []string{"found_zones", "found_lines"}[i]
			if _, err := tx.DeleteWhere(layer, "true"); err != nil {
				return err
			}
			for _, f := range list {
				var proven any // a line is not put to that proof
				if layer == "found_zones" {
					proven = f.Proven
				}
				if _, err := tx.Insert(layer, gpkg.Encode(f.Shape, gpkg.WGS84), f.ID, clean(f.Name), proven, f.Properties); err != nil {
					return err
				}
			}
		}
		return nil
	})
}
