package logbook

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"leadline/ingest"
	"leadline/ingest/gpkg"
)

// Lines that don't tell the order: a leap back over midnight, records without a time, all on one line.
func TestOrderOnOneLine(t *testing.T) {
	at := time.Date(2031, 10, 5, 0, 0, 0, 0, time.UTC)
	var track ingest.Track
	var soundings []ingest.Sounding
	for _, s := range []time.Duration{-2, -1, 0, 1, -1, 2, -3} {
		track.Fixes = append(track.Fixes, ingest.Fix{Time: at.Add(s * time.Second), Line: 1}, ingest.Fix{Line: 1, Pos: lake})
		soundings = append(soundings, ingest.Sounding{Time: at.Add(s * time.Second), DepthM: float64(s), Line: 1}, ingest.Sounding{Line: 1, DepthM: 9})
	}
	list, err := chunks([]ingest.Track{track, track}, soundings, 0, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	tracks, got, err := unpack(list)
	if err != nil || !sameTracks(tracks, []ingest.Track{track, track}) || !slices.EqualFunc(got, soundings, sameSounding) {
		t.Error("another order", err)
	}
}

// Nothing becomes a logbook that nobody asked for: an empty file, a GeoPackage without contents, one whose tables are no contents.
func TestWhatBecomesALogbook(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.gpkg")
	os.WriteFile(empty, nil, 0o666)
	if b, _, err := Open(ctx, empty, Options{}); err == nil {
		b.Close()
		t.Error("an empty file became a logbook by being looked at")
	}
	foreign := filepath.Join(t.TempDir(), "foreign.gpkg")
	change(t, foreign, func(tx *gpkg.Tx) error {
		return tx.CreateLayer(gpkg.Layer{Name: "mine", Extension: "other_mine", Definition: "x", Columns: []gpkg.Column{column("a", text, "", "")}})
	})
	if b, _, err := Open(ctx, foreign, Options{Make: true}); err == nil {
		b.Close()
		t.Error("another program's file became a logbook")
	}
}

// Once the last day is forgotten its last instant stands nowhere, not as last_change in gpkg_contents either.
func TestForgetLeavesItsInstant(t *testing.T) {
	b := newBook(t)
	at := time.Date(2031, 10, 4, 13, 14, 15, 0, time.UTC)
	r := ingest.Records{Source: ingest.Source{Name: "a", RowsRead: 1, Used: 1}, Events: []ingest.Event{{Time: at, Count: 1, Pos: lake, HasPos: true}}}
	c := importing(t, b, time.UTC, source(t, r, time.UTC))
	c.Days[0].First, c.Days[0].Last = at, at
	if err := b.Apply(ctx, c); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Forget(ctx, []string{"2031-10-04"}, false); err != nil {
		t.Fatal(err)
	}
	if where := everywhere(t, b, "13:14:15"); len(where) > 0 {
		t.Errorf("the day's last instant is in %v", where)
	}
}

// A boat stands still at the end on one rounded position: the line ends when it left.
func TestStandingStill(t *testing.T) {
	var track ingest.Track
	for i := range 10 {
		p := lake
		p[0] += 1e-4 * float64(min(i, 5))
		track.Fixes = append(track.Fixes, ingest.Fix{Time: time.Unix(int64(i), 0).UTC(), Pos: p})
	}
	row := Rows(ingest.Day{Tracks: []ingest.Track{track}}).Tracks[0]
	if last := row.UnixS[len(row.UnixS)-1]; last != 9 {
		t.Errorf("the line ends at %v s, the last fix is of 9 s", last)
	}
}

// Two notes that strike out one event count it off once.
func TestStruckOutTwice(t *testing.T) {
	b := newBook(t)
	at := time.Date(2031, 10, 4, 13, 0, 0, 0, time.UTC)
	r := ingest.Records{Source: ingest.Source{Name: "a", RowsRead: 1, Used: 1}, Events: []ingest.Event{{Time: at, Count: 1, Pos: lake, HasPos: true}}}
	s := source(t, r, time.UTC)
	c := importing(t, b, time.UTC, s)
	c.Days[0].Events = 1
	if err := b.Apply(ctx, c); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := b.AddNote(ctx, Note{Day: "2031-10-04", What: Drop, Hash: s.Hash}); err != nil {
			t.Fatal(err)
		}
	}
	if days, _ := b.Days(ctx); days[0].Events != 0 {
		t.Errorf("%d events", days[0].Events)
	}
}

// A damaged column names a depth reference there isn't, one that 8 bits would take for another.
func TestDepthReference(t *testing.T) {
	c := packSoundings([]ingest.Sounding{{Line: 1}}, []int{0}, "")
	var p packer
	p.ints("ref", []int{0}, func(int) int { return 256 })
	c.Columns = append(c.Columns, p.columns...)
	if _, err := c.Soundings(); err == nil {
		t.Error("256 was taken for 0")
	}
}
