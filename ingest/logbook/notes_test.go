package logbook

import (
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

func TestNotesComeBack(t *testing.T) {
	b := newBook(t)
	at := time.Date(2031, 10, 4, 12, 0, 0, 5, time.UTC)
	event := ingest.Event{
		Time: at, Kind: ingest.Bite, Species: "walleye", Count: 2, Note: "tap", Pos: orb.Point{-40, 36.5}, HasPos: true,
		LengthM: ingest.Known(0.4), WeightKg: ingest.Known(1), FishM: ingest.Known(0), HeadKg: ingest.Known(0.01), TrailerM: ingest.Known(0.1),
	}
	bare := ingest.Event{Time: at, Kind: ingest.Catch, Count: 1}
	list := []Note{
		{Day: "2031-10-04", What: Add, Event: event},
		{Day: "2031-10-04", What: Amend, Event: bare, Hash: "ab", Place: 0},
		{Day: "2031-10-04", What: Drop, Hash: "ab", Place: 3},
		{Day: "2031-10-04", What: Level, Value: -0.25},
		{Day: "2031-10-04", What: Wind, Time: at, Value: 3.5, FromDeg: 270},
		{Day: "2031-10-05", What: Clarity, Value: 1.5},
	}
	for i := range list {
		id, err := b.AddNote(ctx, list[i])
		if err != nil {
			t.Fatal(err)
		}
		if list[i].ID = id; slices.ContainsFunc(list[:i], func(n Note) bool { return n.ID == id }) {
			t.Errorf("number %d given twice", id)
		}
	}
	got, err := b.Notes(ctx)
	if err != nil || !reflect.DeepEqual(got, list) {
		t.Errorf("%+v\nwanted\n%+v\n%v", got, list, err)
	}
	if err := b.DropNote(ctx, list[2].ID); err != nil {
		t.Fatal(err)
	}
	set, _ := b.Settings(ctx)
	if set.Changes != 7 {
		t.Errorf("%d changes, wanted 7", set.Changes)
	}
	if err := b.DropNote(ctx, list[2].ID); !errors.Is(err, ErrNoNote) {
		t.Errorf("%v, wanted ErrNoNote", err)
	}
	if again, _ := b.Settings(ctx); again.Changes != set.Changes {
		t.Error("a change that was none was counted")
	}
	got, _ = b.Notes(ctx)
	if !reflect.DeepEqual(got, slices.Delete(slices.Clone(list), 2, 3)) {
		t.Errorf("%+v", got)
	}
	if id, err := b.AddNote(ctx, list[0]); err != nil || id <= list[5].ID {
		t.Errorf("number %d used again, %v", id, err)
	}
}

func TestWithNotes(t *testing.T) {
	at := time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	event := func(place int, species string) Event {
		return Event{Day: "2031-10-04", Place: place, Event: ingest.Event{Time: at, Count: 1, Species: species, Line: 10 + place}}
	}
	// A file whose days came at two imports is there twice.
	list := []Source{
		{ID: 1, Hash: "a", Events: []Event{event(0, "one"), event(2, "three")}},
		{ID: 2, Hash: "b", Events: []Event{event(0, "other")}},
		{ID: 3, Hash: "a", Events: []Event{event(1, "two")}},
	}
	moved := ingest.Event{Time: at, Count: 2, Species: "right", Pos: orb.Point{-40, 36}, HasPos: true}
	notes := []Note{
		{ID: 1, Day: "2031-10-04", What: Drop, Hash: "a", Place: 0},
		{ID: 2, Day: "2031-10-04", What: Amend, Hash: "a", Place: 1, Event: moved},
		{ID: 3, Day: "2031-10-04", What: Add, Event: moved},
		{ID: 4, Day: "2031-10-04", What: Level, Value: 156},
		{ID: 5, Day: "2031-10-04", What: Wind, Time: at, Value: 3, FromDeg: 90},
		{ID: 6, Day: "2031-10-04", What: Clarity, Value: 2},
		{ID: 7, Day: "2031-10-04", What: Drop, Hash: "nowhere", Place: 0},
		{ID: 8, Day: "2031-10-04", What: Drop, Hash: "b", Place: 9},
		{ID: 9, Day: "2031-10-05", What: Drop, Hash: "b", Place: 0},
		{ID: 10, Day: "2031-10-04", What: Amend, Hash: "a", Place: 0, Event: moved}, // struck out already
	}
	listBefore, notesBefore := clone(list), slices.Clone(notes)
	out, r := WithNotes(list, notes, func(day string) bool { return day == "2031-10-04" })
	if !reflect.DeepEqual(list, listBefore) || !reflect.DeepEqual(notes, notesBefore) {
		t.Error("the inputs were changed")
	}
	if len(out[0].Events) != 1 || out[0].Events[0].Species != "three" {
		t.Errorf("struck out: %+v", out[0].Events)
	}
	want := moved
	want.Line = 11
	if e := out[2].Events[0]; !reflect.DeepEqual(e.Event, want) || e.At != want.Pos || !e.HasAt || e.By != ingest.ByNote {
		t.Errorf("corrected: %+v", e)
	}
	if !reflect.DeepEqual(out[1], list[1]) {
		t.Errorf("a note on another file or day did something: %+v", out[1])
	}
	moved.Line = 3
	if !reflect.DeepEqual(r.Events, []ingest.Event{moved}) || !reflect.DeepEqual(r.Levels, []ingest.Level{{Date: "2031-10-04", LevelM: 156, Line: 4}}) ||
		!reflect.DeepEqual(r.Winds, []ingest.Wind{{Time: at, SpeedMPS: 3, FromDeg: 90, Line: 5}}) {
		t.Errorf("added: %+v", r)
	}
	if s := r.Source; s.Name != NotesName || s.RowsRead != 5 || s.Used != s.RowsRead {
		t.Errorf("%+v, wanted the five notes that did something", s)
	}
	if out, r := WithNotes(nil, nil, func(string) bool { return true }); len(out) != 0 || r.Source.RowsRead != 0 {
		t.Errorf("%v %v of nothing", out, r)
	}
}

func clone(list []Source) []Source {
	out := slices.Clone(list)
	for i := range out {
		out[i].Events = slices.Clone(out[i].Events)
	}
	return out
}

func TestDaysCountNotes(t *testing.T) {
	b := newBook(t)
	at := time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	r := ingest.Records{Source: ingest.Source{Name: "a.csv", RowsRead: 1, Used: 1}, Winds: []ingest.Wind{{Time: at, SpeedMPS: 1}},
		Events: []ingest.Event{{Time: at, Count: 1, Pos: lake, HasPos: true}}}
	s := source(t, r, time.UTC)
	c := importing(t, b, time.UTC, s)
	c.Days[0] = DayRows{Day: "2031-10-04", First: at, Last: at.Add(time.Hour), OnWaterS: 60, Fixes: 3, Soundings: 4, Events: 1, LevelM: ingest.Known(150), TempC: ingest.Known(18), Bound: lake.Bound(), HasBound: true, Held: true}
	if err := b.Apply(ctx, c); err != nil {
		t.Fatal(err)
	}
	want := Day{Day: "2031-10-04", First: at, Last: at.Add(time.Hour), OnWaterS: 60, Fixes: 3, Soundings: 4, Events: 1, LevelM: ingest.Known(150),
		TempC: ingest.Known(18), Winds: 1, Bound: lake.Bound(), HasBound: true, Sources: []string{"a.csv"}}
	check := func(after string) {
		t.Helper()
		got, err := b.Days(ctx)
		if err != nil || len(got) != 1 || !reflect.DeepEqual(got[0], want) {
			t.Errorf("after %s\n%+v\nwanted\n%+v\n%v", after, got, want, err)
		}
	}
	check("the import")
	var ids []int64
	for _, x := range []struct {
		what string
		n    Note
		then func()
	}{
		{"an event", Note{Day: want.Day, What: Add, Event: ingest.Event{Time: at, Count: 1}}, func() { want.Events++ }},
		{"one struck out", Note{Day: want.Day, What: Drop, Hash: s.Hash, Place: 0}, func() { want.Events-- }},
		{"one corrected", Note{Day: want.Day, What: Amend, Event: ingest.Event{Time: at, Count: 1}, Hash: s.Hash}, func() {}},
		{"a wind", Note{Day: want.Day, What: Wind, Time: at, Value: 1}, func() { want.Winds++ }},
		{"a clarity", Note{Day: want.Day, What: Clarity, Value: 1}, func() { want.ClarityM = ingest.Known(1) }},
		{"a level", Note{Day: want.Day, What: Level, Value: 1}, func() { want.LevelM = ingest.Known(1) }},
		{"another level", Note{Day: want.Day, What: Level, Value: 2}, func() { want.LevelM = ingest.Known(2) }},
	} {
		id, err := b.AddNote(ctx, x.n)
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
		x.then()
		want.Notes++
		check(x.what)
	}
	if _, err := b.AddNote(ctx, Note{Day: "2031-10-05", What: Level, Value: 9}); err != nil {
		t.Fatal(err)
	}
	check("a note of another day")
	if err := b.DropNote(ctx, ids[6]); err != nil {
		t.Fatal(err)
	}
	want.LevelM, want.Notes = ingest.Known(1), want.Notes-1
	check("taking the last level back")
	if n, err := b.Forget(ctx, []string{want.Day}, true); err != nil || n != 0 {
		t.Fatal(n, err)
	}
	if list, _ := b.Notes(ctx); len(list) != 7 {
		t.Errorf("%d notes kept of 7", len(list))
	}
	if n, err := b.Forget(ctx, []string{want.Day}, false); err != nil || n != 6 {
		t.Errorf("%d notes gone, wanted 6, %v", n, err)
	}
}

func TestSetFound(t *testing.T) {
	b := newBook(t)
	zone := Found{ID: "z1", Name: "point\x00", Proven: true, Shape: orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}, Properties: "{}"}
	line := Found{ID: "d1", Shape: orb.LineString{{0, 0}, {1, 0}}, Properties: "{}"}
	for range 2 {
		if err := b.SetFound(ctx, []Found{zone}, []Found{line, line}); err != nil {
			t.Fatal(err)
		}
	}
	before := everywhere(t, b, "z1")
	if err := b.SetFound(ctx, []Found{{ID: "new", Shape: line.Shape}}, nil); err == nil {
		t.Error("a line was taken for a zone")
	}
	if after := everywhere(t, b, "z1"); !slices.Equal(before, after) {
		t.Errorf("%v, before %v", after, before)
	}
	if err := b.SetFound(ctx, nil, nil); err != nil {
		t.Fatal(err)
	}
	if left := everywhere(t, b, "z1"); len(left) > 0 {
		t.Errorf("what an older analysis found is still in %v", left)
	}
}
