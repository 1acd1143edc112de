package logbook

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/gpkg"
)

// A drawn file: tracks and soundings about midnight, and of everything else what a reader may find.
func drawn(seed uint64, zone *time.Location) ingest.Records {
	r := rand.New(rand.NewPCG(seed, 3))
	at := func(day, hour int) time.Time {
		return time.Date(2031, 10, day, hour, 7, 5, 123456789, zone).UTC()
	}
	line := 0
	x := ingest.Records{
		Source: ingest.Source{
			Name: fmt.Sprintf("file%d.csv", seed), TakenFor: "by hand", RowsRead: 40, Used: 30, Repaired: 4, SetAside: 6, Zone: "UTC",
			Columns: []ingest.Column{{Name: "tiefe; \"m\"", ReadAs: "depth", Unit: "m"}}, Clock: "agrees", ClockInDoubt: true,
			Flagged: map[string]int{"spike": 3},
		},
		Tracks: someTracks(r, zone, &line), Soundings: someSoundings(r, zone, &line),
		Levels: []ingest.Level{{Date: "2031-10-04", LevelM: 156.2, Line: 3}, {Time: at(5, 1), LevelM: -0.5, Line: 4}},
		Winds:  []ingest.Wind{{Time: at(4, 23), SpeedMPS: 3.3, FromDeg: 270, Line: 5}},
		Events: []ingest.Event{
			{Time: at(4, 12), Kind: ingest.Catch, Species: "spotted bass", Count: 2, LengthM: ingest.Known(0.4), Note: "on the fall", Line: 1},
			{Time: at(5, 2), Kind: ingest.Bait, Count: 1, Pos: orb.Point{-40, 36.5}, HasPos: true, FishM: ingest.Known(5), Line: 2},
			{Kind: ingest.Mark, Count: 1, Pos: orb.Point{-40.1, 36.5}, HasPos: true, WeightKg: ingest.Known(1), HeadKg: ingest.Known(0.01), TrailerM: ingest.Known(0.1), Line: 3},
		},
	}
	for i, k := range []error{ingest.ErrNumber, ingest.ErrTime, ingest.ErrPosition, ingest.ErrRange, ingest.ErrMissing, ingest.ErrWord,
		ingest.ErrTruncated, ingest.ErrShape, ingest.ErrChecksum, ingest.ErrZone} {
		x.Problems = append(x.Problems, ingest.Problem{File: x.Source.Name, Line: i, Field: "depth_m", Found: "--", Wanted: "a number", Outcome: ingest.Outcome(i % 3), Kind: k, Row: "a,b"})
	}
	return x
}

func source(t testing.TB, r ingest.Records, zone *time.Location) Source {
	t.Helper()
	s, err := NewSource(sha256.Sum256([]byte(r.Source.Name)), r, zone)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// importing is the change that adds sources, with a row for each of their days.
func importing(t testing.TB, b *Book, zone *time.Location, list ...Source) Change {
	t.Helper()
	set, err := b.Settings(ctx)
	if err != nil {
		t.Fatal(err)
	}
	c := Change{Expect: set.Changes, Sources: list, Zone: zone, ZoneSaid: true}
	days := map[string]bool{}
	for _, s := range list {
		for _, d := range s.Days(zone) {
			if d != "" && !days[d] {
				days[d] = true
				c.Days = append(c.Days, DayRows{Day: d, Fixes: 1, Last: time.Date(2031, 10, 4, 1, 2, 3, 0, time.UTC), Bound: lake.Bound(), HasBound: true, Held: true})
			}
		}
	}
	slices.SortFunc(c.Days, func(a, b DayRows) int { return strings.Compare(a.Day, b.Day) })
	return c
}

func apply(t testing.TB, b *Book, zone *time.Location, list ...Source) {
	t.Helper()
	if err := b.Apply(ctx, importing(t, b, zone, list...)); err != nil {
		t.Fatal(err)
	}
}

// TestWhatWasReadComesBack holds the promise of the package: what was read, as it was read.
func TestWhatWasReadComesBack(t *testing.T) {
	for seed, name := range zones {
		zone := zoneNamed(t, name)
		b := newBook(t)
		want := []ingest.Records{drawn(uint64(seed), zone), drawn(uint64(seed)+100, zone)}
		apply(t, b, zone, source(t, want[0], zone), source(t, want[1], zone))
		got, set, err := b.Read(ctx, Part{All: true})
		if err != nil || len(got) != 2 || set.Zone.String() != name || !set.ZoneSaid || set.Changes != 1 {
			t.Fatal(len(got), set, err)
		}
		for i, s := range got {
			r, err := s.Records()
			if err != nil {
				t.Fatal(err)
			}
			w := want[i]
			if !sameTracks(r.Tracks, w.Tracks) || !slices.EqualFunc(r.Soundings, w.Soundings, sameSounding) {
				t.Errorf("%s: other fixes or soundings", name)
			}
			w.Source.Flagged = nil
			for _, c := range []struct {
				what      string
				got, want any
			}{
				{"events", r.Events, w.Events}, {"levels", r.Levels, w.Levels}, {"winds", r.Winds, w.Winds}, {"source", r.Source, w.Source},
			} {
				if !reflect.DeepEqual(c.got, c.want) {
					t.Errorf("%s: %s\n%+v\nwanted\n%+v", name, c.what, c.got, c.want)
				}
			}
			if r.Problems != nil {
				t.Errorf("%s: problems come with the records, and again by Rejected", name)
			}
			rejected, err := b.Rejected(ctx, []int64{s.ID})
			if err != nil || !reflect.DeepEqual(rejected, w.Problems) {
				t.Errorf("%s: rejected rows\n%+v\nwanted\n%+v", name, rejected, w.Problems)
			}
		}
		if all, err := b.Rejected(ctx, nil); err != nil || len(all) != 20 {
			t.Errorf("%s: %d rejected rows in all, %v", name, len(all), err)
		}
		if none, err := b.Rejected(ctx, []int64{}); err != nil || len(none) != 0 {
			t.Errorf("%s: %d rejected rows of no file, %v", name, len(none), err)
		}
	}
}

// A part of the logbook is what Only leaves of the whole.
func TestReadPart(t *testing.T) {
	zone := zoneNamed(t, "Asia/Kolkata")
	b := newBook(t)
	for seed := range uint64(6) {
		apply(t, b, zone, source(t, drawn(seed, zone), zone))
	}
	all, _, err := b.Read(ctx, Part{All: true})
	if err != nil {
		t.Fatal(err)
	}
	days := map[string]bool{}
	for _, s := range all {
		for _, d := range s.Days(zone) {
			days[d] = true
		}
	}
	heavy, held, _, err := b.Held(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		got := slices.Clone(held[s.ID])
		slices.SortFunc(got, compareDays)
		if !slices.Equal(got, s.Days(zone)) {
			t.Errorf("%d holds %v, wanted %v", s.ID, got, s.Days(zone))
		}
		var packed []string
		for _, c := range s.Chunks {
			packed = append(packed, c.Day)
		}
		slices.Sort(packed)
		if packed = slices.Compact(packed); !slices.Equal(heavy[s.ID], packed) {
			t.Errorf("%d has fixes or soundings of %v, wanted %v", s.ID, heavy[s.ID], packed)
		}
	}
	for _, wanted := range [][]string{{"2031-10-04"}, {""}, {"2031-10-05", "2031-10-04"}, {"1999-01-01"}, nil} {
		got, _, err := b.Read(ctx, Part{Days: wanted})
		if err != nil {
			t.Fatal(err)
		}
		var want []Source
		for _, s := range all {
			if s = s.Only(zone, func(d string) bool { return slices.Contains(wanted, d) }); len(s.Days(zone)) > 0 {
				want = append(want, s)
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%q: other records than of the whole logbook", wanted)
		}
		light, _, err := b.Read(ctx, Part{Days: wanted, Light: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range light {
			if len(s.Chunks) > 0 {
				t.Errorf("%q: fixes or soundings where none were asked for", wanted)
			}
		}
	}
	// More days than a statement takes parameters by default in older SQLite.
	var many []string
	for d := time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC); len(many) < 2500; d = d.AddDate(0, 0, 1) {
		many = append(many, d.Format(time.DateOnly))
	}
	if got, _, err := b.Read(ctx, Part{Days: append(many, "2031-10-04")}); err != nil || len(got) == 0 {
		t.Errorf("%d files of 2501 days, %v", len(got), err)
	}
	whole, err := b.Whole(ctx, all[2])
	if err != nil || !reflect.DeepEqual(whole.Chunks, all[2].Chunks) {
		t.Error("Whole gives other chunks", err)
	}
}

// state is everything that can be read of a logbook, to be compared.
func state(t testing.TB, b *Book) string {
	t.Helper()
	list, set, err := b.Read(ctx, Part{All: true})
	if err != nil {
		t.Fatal(err)
	}
	days, err := b.Days(ctx)
	if err != nil {
		t.Fatal(err)
	}
	made, err := b.Notes(ctx)
	if err != nil {
		t.Fatal(err)
	}
	rejected, err := b.Rejected(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%v %v %+v %+v %+v %+v", set.Zone, set.Changes, list, days, made, rejected)
}

func TestApplyIsAllOrNothing(t *testing.T) {
	zone := zoneNamed(t, "Etc/GMT+3")
	bad := func(change func(*Change)) func(Change) (context.Context, Change) {
		return func(c Change) (context.Context, Change) { change(&c); return ctx, c }
	}
	ended, end := context.WithCancel(ctx)
	end()
	for _, c := range []struct {
		name string
		make func(Change) (context.Context, Change)
		want error
	}{
		{"prepared on an older state", bad(func(c *Change) { c.Expect-- }), ErrChanged},
		{"prepared on a later state", bad(func(c *Change) { c.Expect++ }), ErrChanged},
		{"an event nowhere", bad(func(c *Change) {
			e := &c.Sources[1].Events[1]
			e.At[0] = math.Inf(1)
		}), nil},
		{"a depth that is no number", bad(func(c *Change) {
			c.Days[0].Thinned = []SoundingRow{{At: lake, DepthM: math.NaN()}}
		}), nil},
		{"a track nowhere", bad(func(c *Change) {
			c.Days[0].Tracks = []TrackRow{{Line: []orb.Point{lake, {math.Inf(-1), 0}}, UnixS: []float64{1, 2}}}
		}), nil},
		{"a measure too few", bad(func(c *Change) {
			c.Days[0].Tracks = []TrackRow{{Line: []orb.Point{lake, lake}, UnixS: []float64{1}}}
		}), nil},
		{"given up", func(c Change) (context.Context, Change) { return ended, c }, context.Canceled},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBook(t)
			apply(t, b, zone, source(t, drawn(1, zone), zone))
			before := state(t, b)
			with, change := c.make(importing(t, b, zone, source(t, drawn(2, zone), zone), source(t, drawn(3, zone), zone)))
			change.Replace = []SourceDay{{1, "2031-10-04"}}
			err := b.Apply(with, change)
			if err == nil || c.want != nil && !errors.Is(err, c.want) {
				t.Errorf("%v, wanted %v", err, c.want)
			}
			if after := state(t, b); after != before {
				t.Error("the logbook was changed")
			}
			apply(t, b, zone, source(t, drawn(2, zone), zone)) // and it can still be changed
		})
	}
}

func TestReplaceTakesOneDayOfOneSource(t *testing.T) {
	zone := zoneNamed(t, "Etc/GMT+3")
	b := newBook(t)
	apply(t, b, zone, source(t, drawn(1, zone), zone), source(t, drawn(2, zone), zone))
	all, _, err := b.Read(ctx, Part{All: true})
	if err != nil {
		t.Fatal(err)
	}
	c := importing(t, b, zone, source(t, drawn(3, zone), zone))
	c.Days = nil
	c.Replace = []SourceDay{{1, "2031-10-04"}}
	if err := b.Apply(ctx, c); err != nil {
		t.Fatal(err)
	}
	now, _, err := b.Read(ctx, Part{All: true})
	if err != nil || len(now) != 3 {
		t.Fatal(len(now), err)
	}
	want := all[0].Only(zone, func(d string) bool { return d != "2031-10-04" })
	now[0].LeftOut = nil
	if !reflect.DeepEqual(now[0], want) || !reflect.DeepEqual(now[1], all[1]) {
		t.Error("another day or source was touched")
	}
}

// A log whose clock was wrong by more than the time to midnight comes to another day whole, in the order it was recorded.
func TestRecut(t *testing.T) {
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 4))
		zone := zoneNamed(t, zones[r.IntN(len(zones))])
		x := drawn(seed, zone)
		s := source(t, x, zone)
		before := slices.Clone(s.Chunks)
		s.FoundS = ingest.Known([]float64{-3600, 19800, 37, -0.5}[r.IntN(4)])
		by := time.Duration(s.FoundS.V * float64(time.Second))
		again, err := s.Recut(zone)
		if err != nil || !again.Moved {
			t.Fatal(again.Moved, err)
		}
		for _, c := range again.Chunks {
			checkDay(t, c, by, zone)
		}
		if !reflect.DeepEqual(s.Chunks, before) || s.Moved {
			t.Error("Recut changed its source")
		}
		got, err := again.Records()
		if err != nil {
			t.Fatal(err)
		}
		want, err := s.Records()
		if err != nil {
			t.Fatal(err)
		}
		if !sameTracks(got.Tracks, want.Tracks) || !slices.EqualFunc(got.Soundings, want.Soundings, sameSounding) {
			t.Errorf("seed %d: other records", seed)
		}
		for i, f := range want.Soundings {
			if w := x.Soundings[i].Time; w.IsZero() != f.Time.IsZero() || !w.IsZero() && !f.Time.Equal(w.Add(by)) {
				t.Fatalf("seed %d: %v for %v by %v", seed, f.Time, w, by)
			}
		}
		if !reflect.DeepEqual(got.Events, x.Events) || !reflect.DeepEqual(got.Winds, x.Winds) {
			t.Errorf("seed %d: the log's clock moved events or winds", seed)
		}
	}
}

func TestTextThatSQLCannotHold(t *testing.T) {
	b := newBook(t)
	r := ingest.Records{Source: ingest.Source{Name: "a.gpx", RowsRead: 1, Used: 1}, Events: []ingest.Event{
		{Time: time.Unix(0, 0), Count: 1, Species: "ba\xffss", Note: "zero\x00byte"},
	}, Problems: []ingest.Problem{{Found: "\xff", Row: "\x00"}}}
	apply(t, b, time.UTC, source(t, r, time.UTC))
	got, _, err := b.Read(ctx, Part{All: true})
	if err != nil || got[0].Events[0].Species != "ba�ss" || got[0].Events[0].Note != "zero�byte" {
		t.Errorf("%+v, %v", got, err)
	}
}

// The same changes make the same bytes: no clock, no order of a map.
func TestSameChangesSameBytes(t *testing.T) {
	zone := zoneNamed(t, "Asia/Kolkata")
	make := func() []byte {
		b := newBook(t)
		for seed := range uint64(3) {
			apply(t, b, zone, source(t, drawn(seed, zone), zone), source(t, drawn(seed+10, zone), zone))
		}
		if _, err := b.AddNote(ctx, Note{Day: "2031-10-04", What: Level, Value: 156}); err != nil {
			t.Fatal(err)
		}
		if _, err := b.Forget(ctx, []string{"2031-10-05"}, false); err != nil {
			t.Fatal(err)
		}
		b.Close()
		return contents(t, b.Path())
	}
	if !bytes.Equal(make(), make()) {
		t.Error("the same changes made two different files")
	}
}

// everywhere returns where in a logbook a text stands: in the tables, or in the bytes of the file.
func everywhere(t testing.TB, b *Book, text string) (found []string) {
	t.Helper()
	err := b.view(ctx, func(tx *gpkg.Tx) error {
		var tables []string
		if err := tx.Query(func(scan func(...any) error) error {
			var name string
			err := scan(&name)
			tables = append(tables, name)
			return err
		}, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'rtree!_%' ESCAPE '!'"); err != nil {
			return err
		}
		for _, table := range tables {
			var columns []string
			if err := tx.Query(func(scan func(...any) error) error {
				var name string
				err := scan(&name)
				columns = append(columns, fmt.Sprintf("ifnull(CAST(%q AS TEXT), '')", name))
				return err
			}, "SELECT name FROM pragma_table_info(?)", table); err != nil {
				return err
			}
			n := 0
			if _, err := tx.QueryOne([]any{&n}, fmt.Sprintf("SELECT count(*) FROM %q WHERE instr(%s, ?) > 0", table, strings.Join(columns, " || '|' || ")), text); err != nil {
				return err
			}
			if n > 0 {
				found = append(found, table)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	path := b.Path()
	b.Close()
	if bytes.Contains(contents(t, path), []byte(text)) {
		found = append(found, "the file's bytes")
	}
	again, _, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	*b = *again
	t.Cleanup(func() { again.Close() })
	return found
}

// TestForgetLeavesNothing searches tables and bytes for what was noted on a day that is forgotten: who gives the file
// away must not give the place.
func TestForgetLeavesNothing(t *testing.T) {
	const gone, stays = "2031-10-04", "2031-10-06"
	day := func(date string, tell string) ingest.Records {
		at, err := time.Parse(time.DateOnly, date)
		if err != nil {
			t.Fatal(err)
		}
		at = at.Add(12 * time.Hour)
		r := ingest.Records{Source: ingest.Source{Name: tell + ".gpx", RowsRead: 9, Used: 8, SetAside: 1}}
		tr := ingest.Track{Name: tell + " track"}
		for i := range 500 {
			tr.Fixes = append(tr.Fixes, ingest.Fix{Time: at.Add(time.Duration(i) * time.Second), Pos: orb.Point{-40 + float64(i)/1e5, 36.5}, Line: i})
		}
		r.Tracks = []ingest.Track{tr}
		for i := range 50 {
			r.Events = append(r.Events, ingest.Event{Time: at, Count: 1, Species: tell + " perch", Note: strings.Repeat(tell+" by the dead oak ", 1+i), Pos: lake, HasPos: true})
		}
		r.Problems = []ingest.Problem{{File: r.Source.Name, Found: tell, Row: tell + " row"}}
		return r
	}
	b := newBook(t)
	apply(t, b, time.UTC, source(t, day(gone, "quillfin"), time.UTC), source(t, day(stays, "marblejaw"), time.UTC))
	for _, d := range []string{gone, stays} {
		if _, err := b.AddNote(ctx, Note{Day: d, What: Add, Event: ingest.Event{Time: time.Unix(1, 0), Count: 1, Note: "secret of " + d, Pos: lake, HasPos: true}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.SetFound(ctx, []Found{{ID: "zone-quillfin", Shape: orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}, Properties: "{}"}}, nil); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"quillfin", "secret of " + gone, "zone-quillfin"} {
		if len(everywhere(t, b, text)) < 2 {
			t.Fatalf("%q isn't there to be forgotten", text)
		}
	}
	before, _, err := b.Read(ctx, Part{Days: []string{stays}})
	if err != nil {
		t.Fatal(err)
	}
	if n, err := b.Forget(ctx, []string{gone}, false); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	for _, text := range []string{"quillfin", "secret of " + gone} {
		if where := everywhere(t, b, text); len(where) > 0 {
			t.Errorf("%q is still in %v", text, where)
		}
	}
	after, _, err := b.Read(ctx, Part{All: true})
	if err != nil || !reflect.DeepEqual(before, after) {
		t.Error("another day was touched", err)
	}
	if made, err := b.Notes(ctx); err != nil || len(made) != 1 || made[0].Day != stays {
		t.Errorf("notes %+v, %v", made, err)
	}
	if err := b.Has(ctx, gone); !errors.Is(err, ErrNoDay) {
		t.Errorf("%v, wanted ErrNoDay", err)
	}
	if err := b.Has(ctx, stays); err != nil {
		t.Error(err)
	}
	set, _ := b.Settings(ctx)
	if _, err := b.Forget(ctx, []string{stays, gone}, false); !errors.Is(err, ErrNoDay) {
		t.Errorf("%v, wanted ErrNoDay", err)
	}
	if again, _ := b.Settings(ctx); again.Changes != set.Changes {
		t.Error("a day was forgotten though another wasn't there")
	}
}

func TestForgetPartOfAFile(t *testing.T) {
	zone := zoneNamed(t, "Etc/GMT+3")
	b := newBook(t)
	apply(t, b, zone, source(t, drawn(5, zone), zone))
	all, _, err := b.Read(ctx, Part{All: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, day := range all[0].Days(zone) {
		if _, err := b.Forget(ctx, []string{day}, true); err != nil {
			t.Fatal(day, err)
		}
		all[0] = all[0].Only(zone, func(d string) bool { return d != day })
		left, _, err := b.Read(ctx, Part{All: true})
		if err != nil {
			t.Fatal(err)
		}
		rejected, err := b.Rejected(ctx, nil)
		if err != nil {
			t.Fatal(err)
		}
		files, err := b.Sources(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if len(all[0].Days(zone)) == 0 {
			if len(left)+len(rejected)+len(files) > 0 {
				t.Errorf("%d files, %d rejected rows are left of a file that is forgotten", len(files), len(rejected))
			}
			continue
		}
		if !reflect.DeepEqual(left, all) || len(rejected) != 10 || len(files) != 1 {
			t.Errorf("without %q: other records, or %d rejected rows of 10", day, len(rejected))
		}
	}
}

func TestForgetInAnEmptyLogbook(t *testing.T) {
	b := newBook(t)
	if _, err := b.Forget(ctx, []string{"2031-10-04"}, false); !errors.Is(err, ErrNoDay) || !strings.Contains(err.Error(), "empty") {
		t.Errorf("%v, wanted ErrNoDay of an empty logbook", err)
	}
}

// The made tables are what any program finds by the OGC tables of contents (OGC 12-128r17, clause 1.1.3): every layer for
// people is registered, the packed table and the settings are extensions and no contents.
func TestLayersAreRegistered(t *testing.T) {
	b := newBook(t)
	got := map[string]string{}
	var extensions []string
	if err := b.view(ctx, func(tx *gpkg.Tx) error {
		if err := tx.Query(func(scan func(...any) error) error {
			var name, kind string
			err := scan(&name, &kind)
			got[name] = kind
			return err
		}, "SELECT table_name, data_type FROM gpkg_contents"); err != nil {
			return err
		}
		return tx.Query(func(scan func(...any) error) error {
			var name string
			err := scan(&name)
			extensions = append(extensions, name)
			return err
		}, "SELECT table_name FROM gpkg_extensions WHERE extension_name LIKE 'leadline%' ORDER BY table_name")
	}); err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"days": "attributes", "levels": "attributes", "winds": "attributes", "sources": "attributes", "rejected": "attributes",
		"tracks": "features", "soundings": "features", "events": "features", "notes": "features", "found_zones": "features", "found_lines": "features"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v", got)
	}
	if !slices.Equal(extensions, []string{"leadline_packed", "leadline_settings", "leadline_version"}) {
		t.Errorf("%v", extensions)
	}
}
