package load

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"leadline/ingest"
	"leadline/ingest/join"
	"leadline/ingest/logbook"
)

// What a logbook holds and takes; package logbook documents them.
type (
	BookDay   = logbook.Day
	BookEvent = logbook.Event
	Note      = logbook.Note
	Left      = join.Left
	Found     = logbook.Found
)

// The errors of a logbook, besides those of its file.
var (
	ErrNoBook    = logbook.ErrNone
	ErrNewerBook = logbook.ErrNewer
	ErrOtherBook = logbook.ErrOther
	ErrNoDay     = logbook.ErrNoDay
	ErrNoNote    = logbook.ErrNoNote
)

// The kinds of note.
const (
	NoteAdd     = logbook.Add
	NoteAmend   = logbook.Amend
	NoteDrop    = logbook.Drop
	NoteLevel   = logbook.Level
	NoteWind    = logbook.Wind
	NoteClarity = logbook.Clarity
)

// A Book is an open logbook: a season in one file. Close it after use.
type Book struct {
	*logbook.Book // nil until the first import into a new one has something to write
	// Copied is where the logbook was copied to before it was upgraded; empty when it was not.
	Copied string
	path   string
}

// waitForOthers is how long another program may write to the logbook before ours gives up: an import of a
// day takes less.
const waitForOthers = 5 * time.Second

// OpenBook opens the logbook at path. Where there is none the error is ErrNoBook, or, with isNew, the first Import makes it, once
// all it was given could be read; no other method but Close may be called before. Other errors are those of logbook.Open.
func OpenBook(ctx context.Context, path string, isNew bool) (*Book, error) {
	b := &Book{path: path}
	var err error
	b.Book, b.Copied, err = logbook.Open(ctx, path, logbook.Options{Wait: waitForOthers})
	if errors.Is(err, ErrNoBook) && isNew {
		return b, nil
	}
	if err != nil {
		return nil, err
	}
	return b, nil
}

// make makes a logbook that isn't there yet.
func (b *Book) make(ctx context.Context) (err error) {
	if b.Book == nil {
		b.Book, b.Copied, err = logbook.Open(ctx, b.path, logbook.Options{Make: true, Wait: waitForOthers})
	}
	return err
}

// Close closes the file.
func (b *Book) Close() error {
	if b.Book == nil {
		return nil
	}
	return b.Book.Close()
}

// state returns what an import must know of the logbook: its settings, its sources without records, the days of
// each, and the days that have a track.
func (b *Book) state(ctx context.Context) (set logbook.Settings, old []logbook.Source, heavy, held map[int64][]string, tracked map[string]bool, err error) {
	if b.Book == nil {
		return logbook.Settings{Zone: time.UTC}, nil, nil, nil, nil, nil
	}
	if set, err = b.Settings(ctx); err != nil {
		return
	}
	if old, err = b.Sources(ctx); err != nil {
		return
	}
	heavy, held, tracked, err = b.Held(ctx)
	return
}

// Season reads what the filter leaves of the logbook, with its notes, cleans and joins it, as Season does with files; what is left
// out is counted, of days that are not read what is sound and has a place. Days and hours are told by the zone of the logbook; opt.Read is not used.
//
// Errors: those of the logbook's file, and that of ctx. Rejected rows of every file that is read are in Season.Problems.
func (b *Book) Season(ctx context.Context, f ingest.Filter, opt Options) (s ingest.Season, left Left, err error) {
	err = b.Steadily(ctx, func() error {
		s, left, err = b.season(ctx, f, opt)
		return err
	})
	return s, left, err
}

func (b *Book) season(ctx context.Context, f ingest.Filter, opt Options) (ingest.Season, Left, error) {
	days, err := b.Days(ctx)
	if err != nil {
		return ingest.Season{}, Left{}, err
	}
	notes, err := b.Notes(ctx)
	if err != nil {
		return ingest.Season{}, Left{}, err
	}
	noteIn := map[string]bool{} // days of which a note is in the box, whatever their files
	for _, n := range notes {
		noteIn[n.Day] = noteIn[n.Day] || (n.What == NoteAdd || n.What == NoteAmend) && n.Event.HasPos && f.Place(n.Event.Pos)
	}
	part, left := logbook.Part{All: true}, Left{}
	if opt.NoSpeeds {
		part.Without = []string{"speed", "speed_ok", "course", "course_ok"}
	}
	chosen := map[string]bool{"": f.FirstDay == "" && f.LastDay == "" && f.FirstMonth == 0 && f.LastMonth == 0}
	for _, d := range days {
		chosen[d.Day] = f.Day(d.Day) && (f.Box == nil || d.HasBound && d.Bound.Intersects(*f.Box) || noteIn[d.Day])
		if chosen[d.Day] {
			part.Days = append(part.Days, d.Day)
			continue
		}
		part.All = false
		left.Days++
		left.Events += d.Events
		left.Fixes += d.Fixes
		left.Soundings += d.Soundings
	}
	if chosen[""] {
		part.Days = append(part.Days, "")
	}
	sources, set, err := b.Read(ctx, part)
	if err != nil {
		return ingest.Season{}, left, err
	}
	sources, noted := logbook.WithNotes(sources, notes, func(day string) bool {
		in, known := chosen[day]
		return in || !known // Pick tells
	})
	ids := make([]int64, len(sources))
	for i, s := range sources {
		ids[i] = s.ID
	}
	problems, err := b.Rejected(ctx, ids)
	if err != nil {
		return ingest.Season{}, left, err
	}
	records, err := recordsOf(ctx, sources)
	if err != nil {
		return ingest.Season{}, left, err
	}
	if noted.Source.RowsRead > 0 {
		records = append(records, noted)
	}
	season := joined(records, set, opt)
	season.Problems = append(season.Problems, problems...)
	season, more := join.Pick(season, f)
	left.Days += more.Days
	left.Events += more.Events
	left.Fixes += more.Fixes
	left.Soundings += more.Soundings
	return season, left, ctx.Err()
}

// Pick returns what a filter leaves of a season, and counts what it leaves out.
func Pick(s ingest.Season, f ingest.Filter) (ingest.Season, Left) { return join.Pick(s, f) }

// joined cleans and joins records whose clocks are settled, and uses them up.
func joined(records []ingest.Records, set logbook.Settings, opt Options) ingest.Season {
	flag(records, opt.Depth.TransducerM, func(int) bool { return true })
	return join.Season(records, join.Options{Zone: said(set), MaxGap: opt.MaxGap, Depth: opt.Depth, Levels: opt.Levels})
}

// recordsOf returns the records of sources.
func recordsOf(ctx context.Context, sources []logbook.Source) ([]ingest.Records, error) {
	records, errs := make([]ingest.Records, len(sources)), make([]error, len(sources))
	each(len(sources), func(i int) {
		if errs[i] = ctx.Err(); errs[i] == nil {
			records[i], errs[i] = sources[i].Records()
		}
		if len(records[i].Tracks) == 0 {
			records[i].Tracks = logTrack(records[i].Soundings)
		}
	})
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return records, nil
}

// Raw returns what each file holds of one day at full rate, with its clock put right and its notes left
// aside. ErrNoDay where the logbook doesn't have the day; other errors are those of its file.
func (b *Book) Raw(ctx context.Context, day string) ([]ingest.Records, error) {
	if err := b.Has(ctx, day); err != nil {
		return nil, fmt.Errorf("%s: %w", b.Path(), err)
	}
	sources, _, err := b.Read(ctx, logbook.Part{Days: []string{day}})
	if err != nil {
		return nil, err
	}
	records := make([]ingest.Records, len(sources))
	for i, s := range sources {
		if records[i], err = s.Records(); err != nil {
			return nil, err
		}
	}
	return records, nil
}

// An EventRef is an event of a file in the logbook, by the number of the file and its place in it.
type EventRef struct {
	Source           int64
	Hash             string
	Event            BookEvent
	Amended, Dropped bool // by a note
}

// Events returns the events of one day as notes have them, those that were struck out marked; the day "" has those
// without a time. Errors are those of the file.
func (b *Book) Events(ctx context.Context, day string) ([]EventRef, error) {
	sources, _, err := b.Read(ctx, logbook.Part{Days: []string{day}, Light: true})
	if err != nil {
		return nil, err
	}
	notes, err := b.Notes(ctx)
	if err != nil {
		return nil, err
	}
	var list []EventRef
	for _, s := range sources {
		for _, e := range s.Events {
			r := EventRef{Source: s.ID, Hash: s.Hash, Event: e}
			for _, n := range notes {
				if n.Hash != s.Hash || n.Place != e.Place {
					continue
				}
				switch n.What {
				case NoteDrop:
					r.Dropped = true
				case NoteAmend:
					line := r.Event.Line
					r.Event.Event, r.Amended = n.Event, true
					r.Event.Line = line
				}
			}
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b EventRef) int { return a.Event.Time.Compare(b.Event.Time) })
	return list, nil
}

// said is the zone that a person named, nil without one.
func said(s logbook.Settings) *time.Location {
	if !s.ZoneSaid {
		return nil
	}
	return s.Zone
}
