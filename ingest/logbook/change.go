package logbook

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/gpkg"
	"leadline/ingest/pack"
)

// A Source is one file in the logbook, or about to be.
type Source struct {
	ID      int64  // fid in sources; 0: not in the logbook yet
	Hash    string // SHA-256 of the file's content, hexadecimal
	About   ingest.Source
	FoundS  ingest.Maybe // what was found to be wrong with the file's clock, to be added to its tracks and soundings
	LeftOut []string     // days of it that were left out at the import
	Chunks  []Chunk
	Moved   bool // the chunks are cut anew: those in the logbook give way to them
	Events  []Event
	Levels  []ingest.Level
	Winds   []ingest.Wind
	// Problems are stored with a new source; reading leaves them to Rejected.
	Problems []ingest.Problem
}

// An Event is one of a source.
type Event struct {
	ingest.Event
	Day   string // local day; empty without a time
	Place int    // how manieth event of its file, from 0
	At    orb.Point
	By    ingest.PlacedBy
	HasAt bool // At and By are known: the event has a place
}

// NewSource packs what a reader found in a file, by the local days of zone. The records' Source is taken without its
// counts of flags, and their tracks made of a depth log are left out: both come anew with every reading.
//
// It is an error when an instant is out of range (ErrTime).
func NewSource(hash [32]byte, r ingest.Records, zone *time.Location) (Source, error) {
	s := Source{Hash: hex.EncodeToString(hash[:]), About: r.Source, Levels: r.Levels, Winds: r.Winds, Problems: r.Problems}
	s.About.Flagged = nil
	var err error
	if s.Chunks, err = chunks(r.Tracks, r.Soundings, 0, zone); err != nil {
		return s, fmt.Errorf("%s: %w", r.Source.Name, err)
	}
	for i, e := range r.Events {
		x := Event{Event: e, Place: i, At: e.Pos, By: ingest.ByNote, HasAt: e.HasPos}
		if !e.Time.IsZero() {
			x.Day = LocalDay(e.Time, zone)
		}
		s.Events = append(s.Events, x)
	}
	return s, nil
}

// LocalDay returns the day of an instant, 2006-01-02.
func LocalDay(t time.Time, zone *time.Location) string { return t.In(zone).Format(time.DateOnly) }

func levelDay(l ingest.Level, zone *time.Location) string {
	if l.Time.IsZero() {
		return l.Date
	}
	return LocalDay(l.Time, zone)
}

// Records returns the source as its reader found it, in recorded order, with its clock put right.
// Errors are those of damaged chunks.
func (s Source) Records() (ingest.Records, error) {
	r := ingest.Records{Source: s.About, Levels: slices.Clone(s.Levels), Winds: slices.Clone(s.Winds), Problems: slices.Clone(s.Problems)}
	var err error
	if r.Tracks, r.Soundings, err = unpack(s.Chunks); err != nil {
		return r, fmt.Errorf("%s: %w", s.About.Name, err)
	}
	if by := s.found(); by != 0 {
		for i := range r.Soundings {
			if x := &r.Soundings[i]; !x.Time.IsZero() {
				x.Time = x.Time.Add(by)
			}
		}
		for _, t := range r.Tracks {
			for i := range t.Fixes {
				if f := &t.Fixes[i]; !f.Time.IsZero() {
					f.Time = f.Time.Add(by)
				}
			}
		}
	}
	for _, e := range s.Events {
		r.Events = append(r.Events, e.Event)
	}
	return r, nil
}

// Recut returns the source with its chunks cut anew, by the days of the clock put right. Errors are those of NewSource and of damaged
// chunks.
func (s Source) Recut(zone *time.Location) (Source, error) {
	tracks, soundings, err := unpack(s.Chunks)
	if err == nil {
		s.Chunks, err = chunks(tracks, soundings, s.found(), zone)
	}
	if err != nil {
		return s, fmt.Errorf("%s: %w", s.About.Name, err)
	}
	s.Moved = true
	return s, nil
}

// As returns a source that was read again, its clock put right as that of have, which is of the same file. Errors are those of Recut.
func (s Source) As(have Source, zone *time.Location) (Source, error) {
	if !have.About.ClockOffsetS.OK {
		return s, nil
	}
	by := have.About.ClockOffsetS.V
	if s.About.ClockOffsetS.OK {
		by -= s.About.ClockOffsetS.V
	}
	s.About.ClockOffsetS, s.About.Clock, s.About.ClockInDoubt = have.About.ClockOffsetS, have.About.Clock, have.About.ClockInDoubt
	if by == 0 {
		return s, nil
	}
	s.FoundS = ingest.Known(by)
	s, err := s.Recut(zone)
	s.Moved = false
	return s, err
}

// Strays reports whether any record is of another day than its chunk says, by the clock put right: whether Recut would
// change anything. It unpacks nothing but times. Errors are those of damaged chunks.
func (s Source) Strays(zone *time.Location) (bool, error) {
	by := s.found()
	if by == 0 {
		return false, nil
	}
	for _, c := range s.Chunks {
		i := slices.IndexFunc(c.Columns, func(x Column) bool { return x.Name == "time" })
		if c.Day == "" || i < 0 {
			continue
		}
		ns, err := pack.DecodeInts(c.Columns[i].Data)
		if err != nil {
			return false, fmt.Errorf("%s: packed %s of %q, column time: %w", s.About.Name, c.Kind, c.Day, err)
		}
		if len(ns) == 0 {
			continue
		}
		for _, t := range []int64{slices.Min(ns), slices.Max(ns)} {
			if LocalDay(time.Unix(0, t).Add(by), zone) != c.Day {
				return true, nil
			}
		}
	}
	return false, nil
}

// found is what is added to the file's clock.
func (s Source) found() time.Duration {
	if !s.FoundS.OK {
		return 0
	}
	return time.Duration(s.FoundS.V * float64(time.Second))
}

// Days returns the local days that the source has records of, in order, the empty one last.
func (s Source) Days(zone *time.Location) []string {
	var days []string
	for _, c := range s.Chunks {
		days = append(days, c.Day)
	}
	for _, e := range s.Events {
		days = append(days, e.Day)
	}
	for _, l := range s.Levels {
		days = append(days, levelDay(l, zone))
	}
	for _, w := range s.Winds {
		days = append(days, LocalDay(w.Time, zone))
	}
	slices.SortFunc(days, compareDays)
	return slices.Compact(days)
}

// Has reports whether the source has a fix, sounding or event of a day.
func (s Source) Has(day string) bool {
	return slices.ContainsFunc(s.Chunks, func(c Chunk) bool { return c.Day == day }) || slices.ContainsFunc(s.Events, func(e Event) bool { return e.Day == day })
}

// Only returns the source with nothing but its records of some days.
func (s Source) Only(zone *time.Location, wanted func(day string) bool) Source {
	s.Chunks = keep(s.Chunks, func(c Chunk) bool { return wanted(c.Day) })
	s.Events = keep(s.Events, func(e Event) bool { return wanted(e.Day) })
	s.Levels = keep(s.Levels, func(l ingest.Level) bool { return wanted(levelDay(l, zone)) })
	s.Winds = keep(s.Winds, func(w ingest.Wind) bool { return wanted(LocalDay(w.Time, zone)) })
	return s
}

// keep returns the elements that are wanted, in their order, and leaves the list as it is.
func keep[T any](list []T, wanted func(T) bool) []T {
	var out []T
	for _, x := range list {
		if wanted(x) {
			out = append(out, x)
		}
	}
	return out
}

// A DayRows is what the layers show of one local day.
type DayRows struct {
	Day         string
	First, Last time.Time
	OnWaterS    float64
	Fixes       int
	Soundings   int
	Events      int
	LevelM      ingest.Maybe
	TempC       ingest.Maybe
	Bound       orb.Bound
	HasBound    bool // something sound has a place
	Held        bool // there are records of the day, placed or not, besides levels and winds
	Tracks      []TrackRow
	Thinned     []SoundingRow
}

// A TrackRow is a thinned track.
type TrackRow struct {
	Source      int // index into Change.Sources
	Name        string
	First, Last time.Time
	Fixes       int
	Line        []orb.Point
	UnixS       []float64
}

// A SoundingRow is a sounding that the thinned layer shows.
type SoundingRow struct {
	Source int // index into Change.Sources
	Time   time.Time
	At     orb.Point
	DepthM float64
	TempC  ingest.Maybe
}

// A Change is what an import does.
type Change struct {
	Expect int64 // Settings.Changes when it was prepared
	// Zone is set by the first import; nil leaves it.
	Zone     *time.Location
	ZoneSaid bool

	// Sources in the order of their numbers: first those in the logbook that have records on a day of Days, then the
	// new. Of those in the logbook the clock is written anew, and their events of these days.
	Sources []Source
	Replace []SourceDay // records that give way to a new source's
	Days    []DayRows
}

// A SourceDay is what one source of the logbook has of one day.
type SourceDay struct {
	Source int64
	Day    string
}

// Apply makes a change: all of it, or nothing when it returns an error. ErrChanged: another program changed the logbook
// since the change was prepared. Other errors are those of gpkg.
func (b *Book) Apply(ctx context.Context, c Change) error {
	return b.update(ctx, func(tx *gpkg.Tx) error {
		tx.SetLastChange(lastChange(c))
		if err := count(tx, c.Expect); err != nil {
			return err
		}
		if c.Zone != nil {
			said := "0"
			if c.ZoneSaid {
				said = "1"
			}
			for _, set := range [][2]string{{"zone", c.Zone.String()}, {"zone_said", said}} {
				if _, err := tx.Exec("UPDATE leadline_settings SET value = ? WHERE name = ?", set[1], set[0]); err != nil {
					return err
				}
			}
		}
		zone := c.Zone
		if zone == nil {
			s, err := settings(tx)
			if err != nil {
				return err
			}
			zone = s.Zone
		}
		replaced := map[int64]bool{}
		for _, r := range c.Replace {
			replaced[r.Source] = true
			if err := removeRecords(tx, r); err != nil {
				return err
			}
		}
		for _, d := range c.Days {
			if err := removeDerived(tx, d.Day); err != nil {
				return err
			}
		}
		ids := make([]int64, len(c.Sources))
		touched := map[string]bool{}
		for _, d := range c.Days {
			touched[d.Day] = true
		}
		for i, s := range c.Sources {
			if err := ctx.Err(); err != nil {
				return err
			}
			ids[i] = s.ID
			isNew := s.ID == 0
			var err error
			if isNew {
				ids[i], err = addSource(tx, s, zone)
			} else {
				err = settle(tx, s)
			}
			if err == nil && !isNew && s.Moved {
				if _, err = tx.DeleteWhere("leadline_packed", "source = ?", s.ID); err == nil {
					err = addChunks(tx, s.ID, s.Chunks)
				}
			}
			if err != nil {
				return err
			}
			for _, e := range s.Events {
				if touched[e.Day] || isNew {
					if err := addEvent(tx, ids[i], e); err != nil {
						return err
					}
				}
			}
		}
		for _, d := range c.Days {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := addDay(tx, d, ids); err != nil {
				return err
			}
		}
		return dropEmpty(tx, replaced)
	})
}

// lastChange is the latest instant of what a change adds: with no clock, the same imports make the same file.
func lastChange(c Change) time.Time {
	last := time.Unix(0, 0).UTC()
	for _, d := range c.Days {
		if d.Last.After(last) {
			last = d.Last
		}
	}
	return last
}

func addSource(tx *gpkg.Tx, s Source, zone *time.Location) (id int64, err error) {
	columns, err := json.Marshal(s.About.Columns)
	if err != nil {
		return 0, err
	}
	a := s.About
	id, err = tx.Insert("sources", nil, clean(a.Name), s.Hash, a.TakenFor, a.RowsRead, a.Used, a.Repaired, a.SetAside, a.Zone,
		maybe(s.FoundS), maybe(a.ClockOffsetS), a.Clock, a.ClockInDoubt, strings.Join(s.LeftOut, ","), string(columns))
	if err != nil {
		return 0, err
	}
	if err := addChunks(tx, id, s.Chunks); err != nil {
		return 0, err
	}
	for _, l := range s.Levels {
		if _, err := tx.Insert("levels", nil, levelDay(l, zone), nanos(l.Time), l.LevelM, id, l.Line); err != nil {
			return 0, err
		}
	}
	for _, w := range s.Winds {
		if _, err := tx.Insert("winds", nil, LocalDay(w.Time, zone), w.Time, nanos(w.Time), w.SpeedMPS, w.FromDeg, id, w.Line); err != nil {
			return 0, err
		}
	}
	for _, p := range s.Problems {
		kind := ""
		if p.Kind != nil {
			kind = p.Kind.Error()
		}
		if _, err := tx.Insert("rejected", nil, id, clean(p.File), p.Line, clean(p.Field), clean(p.Found), clean(p.Wanted), p.Outcome.String(), kind, clean(p.Row)); err != nil {
			return 0, err
		}
	}
	return id, nil
}

func addChunks(tx *gpkg.Tx, source int64, list []Chunk) error {
	for _, c := range list {
		for _, col := range c.Columns {
			if _, err := tx.Insert("leadline_packed", nil, source, c.Day, string(c.Kind), c.Part, c.N, col.Name, col.Data); err != nil {
				return err
			}
		}
	}
	return nil
}

// settle writes what is known of the clock of a source that is in the logbook.
func settle(tx *gpkg.Tx, s Source) error {
	_, err := tx.Exec("UPDATE sources SET clock_found_s = ?, clock_offset_s = ?, clock = ?, clock_in_doubt = ?, left_out = ? WHERE fid = ?",
		maybe(s.FoundS), maybe(s.About.ClockOffsetS), s.About.Clock, s.About.ClockInDoubt, strings.Join(s.LeftOut, ","), s.ID)
	return err
}

// addEvent writes an event, at the place it was noted at or the track gives it.
func addEvent(tx *gpkg.Tx, source int64, e Event) error {
	var geom []byte
	placed := ""
	if e.HasAt {
		geom, placed = gpkg.Encode(e.At, gpkg.WGS84), e.By.String()
	}
	values := append([]any{e.Day, instantOf(e.Time), nanos(e.Time), placed}, eventValues(e.Event)...)
	_, err := tx.Insert("events", geom, append(values, source, e.Place, e.Line)...)
	return err
}

// eventValues are those of eventColumns.
func eventValues(e ingest.Event) []any {
	return []any{e.Kind.String(), clean(e.Species), e.Count, maybe(e.LengthM), maybe(e.WeightKg), maybe(e.FishM), maybe(e.HeadKg), maybe(e.TrailerM), clean(e.Note)}
}

func addDay(tx *gpkg.Tx, d DayRows, ids []int64) error {
	if !d.Held {
		return nil // levels and winds of a day nobody was out: kept, but no day
	}
	var west, south, east, north any
	if d.HasBound {
		west, south, east, north = d.Bound.Left(), d.Bound.Bottom(), d.Bound.Right(), d.Bound.Top()
	}
	_, err := tx.Insert("days", nil, d.Day, instantOf(d.First), instantOf(d.Last), d.OnWaterS, d.Fixes, d.Soundings, d.Events, maybe(d.LevelM), maybe(d.TempC),
		west, south, east, north)
	if err != nil {
		return err
	}
	for _, t := range d.Tracks {
		geom, err := gpkg.EncodeLineM(t.Line, t.UnixS)
		if err != nil {
			return err
		}
		if _, err := tx.Insert("tracks", geom, d.Day, ids[t.Source], clean(t.Name), t.First, t.Last, t.Fixes); err != nil {
			return err
		}
	}
	return tx.InsertRows("soundings", len(d.Thinned), func(i int) ([]byte, []any) {
		s := &d.Thinned[i]
		return gpkg.Encode(s.At, gpkg.WGS84), []any{d.Day, ids[s.Source], instantOf(s.Time), s.DepthM, maybe(s.TempC)}
	})
}

// removeDerived takes out what the layers show of a day.
func removeDerived(tx *gpkg.Tx, day string) error {
	for _, layer := range []string{"days", "tracks", "soundings", "events"} {
		if _, err := tx.DeleteWhere(layer, "day = ?", day); err != nil {
			return err
		}
	}
	return nil
}

// removeRecords takes out what one source has of one day.
func removeRecords(tx *gpkg.Tx, r SourceDay) error {
	for _, table := range []string{"leadline_packed", "levels", "winds", "events"} {
		if _, err := tx.DeleteWhere(table, "day = ? AND source = ?", r.Day, r.Source); err != nil {
			return err
		}
	}
	return nil
}

// dropEmpty takes out the sources that have no record left but were not empty to begin with, with their rejected rows.
func dropEmpty(tx *gpkg.Tx, among map[int64]bool) error {
	if len(among) == 0 {
		return nil
	}
	ids := fmt.Sprint(slices.Sorted(maps.Keys(among)))
	none := `fid IN (` + strings.ReplaceAll(ids[1:len(ids)-1], " ", ",") + `) AND left_out = '' AND fid NOT IN (SELECT source FROM leadline_packed UNION SELECT source FROM events
		UNION SELECT source FROM levels UNION SELECT source FROM winds)`
	if _, err := tx.DeleteWhere("rejected", "source IN (SELECT fid FROM sources WHERE "+none+")"); err != nil {
		return err
	}
	_, err := tx.DeleteWhere("sources", none)
	return err
}

// maybe is a value for Insert.
func maybe(m ingest.Maybe) any {
	if !m.OK {
		return nil
	}
	return m.V
}

// nanos is an instant to the nanosecond, or NULL without one.
func nanos(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.UnixNano()
}

// instantOf is an instant for people, to the millisecond, or NULL.
func instantOf(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t
}

// clean makes text that SQL can hold: valid UTF-8 without a zero byte. What can't be held stands as U+FFFD.
func clean(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "�"), "\x00", "�")
}
