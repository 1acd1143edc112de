package load

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// filters are parts of a made season of days in October and November 2031, fished in the morning or after noon.
func filters(s ingest.Season) map[string]ingest.Filter {
	first, last := s.Days[0], s.Days[len(s.Days)-1]
	box := first.Tracks[0].Fixes[0].Pos.Bound()
	for _, f := range first.Tracks[0].Fixes {
		box = box.Extend(f.Pos)
	}
	box.Max[0] = (box.Min[0] + box.Max[0]) / 2 // the western half of the first day
	far := orb.Bound{Min: orb.Point{10, 10}, Max: orb.Point{11, 11}}
	around := orb.Bound{Min: orb.Point{-41, 36}, Max: orb.Point{-39, 37}}
	return map[string]ingest.Filter{
		"nothing":            {},
		"one day":            {FirstDay: last.Date, LastDay: last.Date},
		"from a day":         {FirstDay: s.Days[1].Date},
		"to a day":           {LastDay: first.Date},
		"no day":             {FirstDay: "2040-01-01"},
		"months":             {FirstMonth: 11, LastMonth: 11},
		"over the new year":  {FirstMonth: 11, LastMonth: 2},
		"all months":         {FirstMonth: 1, LastMonth: 12},
		"level":              {LevelM: ingest.Range{Low: last.LevelM, High: last.LevelM}},
		"no such level":      {LevelM: ingest.Range{Low: ingest.Known(1000)}},
		"temperature":        {TempC: ingest.Range{High: ingest.Known(17)}},
		"hours":              {HourFrom: ingest.Known(7.5), HourTo: ingest.Known(9)},
		"hours of the night": {HourFrom: ingest.Known(15), HourTo: ingest.Known(8)},
		"box":                {Box: &box},
		"box far off":        {Box: &far},
		"box around it all":  {Box: &around},
		"day, hours and box": {FirstDay: first.Date, LastDay: s.Days[1].Date, HourFrom: ingest.Known(8), Box: &box},
	}
}

// TestFilters holds a part that is read against the same part picked from the whole, which has read everything. Where days are
// apart, as these are, they are equal; what is left out is counted alike, days and events.
func TestFilters(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(3, false, false, 3), 37)
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, paths...)
	all := seasonOf(t, b, opt)
	for name, f := range filters(all) {
		want, wantLeft := Pick(all, f)
		got, left, err := b.Season(bg, f, opt)
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Days) != len(want.Days) {
			t.Errorf("%s: %d days, wanted %d", name, len(got.Days), len(want.Days))
			continue
		}
		g, w := byName(got), byName(want)
		for i := range want.Days {
			sameDay(t, g.Days[i], w.Days[i])
		}
		if left.Days != wantLeft.Days || left.Events != wantLeft.Events {
			t.Errorf("%s: %+v left out, wanted %+v", name, left, wantLeft)
		}
		if t.Failed() {
			t.Fatal(name)
		}
	}
}

// byName gives files the same numbers wherever they are read: a part has fewer. The season is changed no further.
func byName(s ingest.Season) ingest.Season {
	number := func(i int) int {
		n := 0
		for _, c := range s.Sources[i].Name {
			n = n*31 + int(c)
		}
		return n
	}
	days := slices.Clone(s.Days)
	for i := range days {
		d := &days[i]
		d.Tracks, d.Soundings, d.Events, d.Winds = slices.Clone(d.Tracks), slices.Clone(d.Soundings), slices.Clone(d.Events), slices.Clone(d.Winds)
		for k := range d.Tracks {
			d.Tracks[k].Source = number(d.Tracks[k].Source)
		}
		for k := range d.Soundings {
			d.Soundings[k].Source = number(d.Soundings[k].Source)
		}
		for k := range d.Events {
			d.Events[k].Source = number(d.Events[k].Source)
		}
		for k := range d.Winds {
			d.Winds[k].Source = number(d.Winds[k].Source)
		}
	}
	s.Days = days
	return s
}

// What a night over midnight has lies on two days. A part that ends between them knows nothing of the other: a catch in the
// gap between the last fix before midnight and the first after it has no place, where the whole season gives it one.
func TestPartThatEndsAtMidnight(t *testing.T) {
	night := strings.NewReplacer("12:00:00", "23:59:56", "2031-10-04T12:00:10", "2031-10-05T00:00:04").Replace(track)
	dir := put(t, map[string][]byte{"a.gpx": []byte(night), "c.csv": []byte("time,kind\n2031-10-04 23:59:58,catch\n2031-10-05 00:00:04,catch\n")})
	opt := lakeOptions(t, "UTC")
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	all := seasonOf(t, b, opt)
	f := ingest.Filter{LastDay: "2031-10-04"}
	want, _ := Pick(all, f)
	got, _, err := b.Season(bg, f, opt)
	if err != nil || len(all.Days) != 2 || len(want.Days) != 1 || len(got.Days) != 1 {
		t.Fatal(len(all.Days), len(want.Days), len(got.Days), err)
	}
	if len(want.Days[0].Events) != 1 || len(got.Days[0].Events) != 0 || len(got.Unplaced) != 1 || got.Unplaced[0].Reason != ingest.TooLate {
		t.Errorf("whole: %+v; part: %+v, %+v", want.Days[0].Events, got.Days[0].Events, got.Unplaced)
	}
	sameTracks := reflect.DeepEqual(got.Days[0].Tracks, want.Days[0].Tracks)
	if !sameTracks {
		t.Error("other fixes")
	}
}

// TestNotes takes a person through a correction: each note shows in the season, and is gone when it is taken back.
func TestNotes(t *testing.T) {
	const day = "2031-10-04"
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "c.csv": []byte("time,kind,species\n2031-10-04 12:00:03,catch,perch\n2031-10-04 12:00:07,bite,\n")})
	opt := lakeOptions(t, "UTC")
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	before := seasonOf(t, b, opt)
	list, err := b.Events(bg, day)
	if err != nil || len(list) != 2 {
		t.Fatal(list, err)
	}
	at := time.Date(2031, 10, 4, 12, 0, 5, 0, time.UTC)
	amended := list[0].Event.Event
	amended.Species, amended.LengthM = "walleye", ingest.Known(0.5)
	var ids []int64
	for _, n := range []Note{
		{Day: day, What: NoteAmend, Hash: list[0].Hash, Place: list[0].Event.Place, Event: amended},
		{Day: day, What: NoteDrop, Hash: list[1].Hash, Place: list[1].Event.Place},
		{Day: day, What: NoteAdd, Event: ingest.Event{Time: at, Kind: ingest.Bait, Count: 1}},
		{Day: day, What: NoteLevel, Value: 156},
		{Day: day, What: NoteWind, Time: at, Value: 3, FromDeg: 90},
		{Day: day, What: NoteClarity, Value: 2},
	} {
		id, err := b.AddNote(bg, n)
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
	}
	noted := seasonOf(t, b, opt)
	check := func(s ingest.Season) {
		t.Helper()
		d := s.Days[0]
		var told []string
		for _, e := range d.Events {
			told = append(told, fmt.Sprint(e.Kind, " ", e.Species, " ", e.LengthM.V, " by ", e.By))
		}
		if want := []string{"catch walleye 0.5 by track", "bait  0 by track"}; !slices.Equal(told, want) {
			t.Errorf("%q, wanted %q", told, want)
		}
		if d.LevelM != ingest.Known(156) || len(d.Winds) != 1 || d.Winds[0].SpeedMPS != 3 {
			t.Errorf("level %v, winds %+v", d.LevelM, d.Winds)
		}
		if n := s.Sources[len(s.Sources)-1]; n.Name != "notes" || n.RowsRead != 5 {
			t.Errorf("last source %+v", n)
		}
	}
	check(noted)
	list, err = b.Events(bg, day)
	if err != nil || len(list) != 2 || !list[0].Amended || list[0].Dropped || list[0].Event.Species != "walleye" || list[1].Amended || !list[1].Dropped {
		t.Errorf("%+v, %v", list, err)
	}
	// What was read stays: Raw leaves notes aside.
	raw, err := b.Raw(bg, day)
	if err != nil || len(raw) != 2 || len(raw[1].Events) != 2 || raw[1].Events[0].Species != "perch" {
		t.Errorf("%+v, %v", raw, err)
	}
	// Notes that are kept hold again once the file is read again.
	if n, err := b.Forget(bg, []string{day}, true); err != nil || n != 0 {
		t.Fatal(n, err)
	}
	if _, err := b.Raw(bg, day); !errors.Is(err, ErrNoDay) || !strings.Contains(err.Error(), b.Path()) {
		t.Errorf("%v, wanted ErrNoDay of the file", err)
	}
	if s := seasonOf(t, b, opt); len(s.Days) != 0 {
		t.Errorf("%+v", s.Days)
	}
	bring(t, b, opt, AskAgain, dir)
	check(seasonOf(t, b, opt))
	for _, id := range ids {
		if err := b.DropNote(bg, id); err != nil {
			t.Fatal(err)
		}
	}
	same(t, seasonOf(t, b, opt), before)
	if err := b.DropNote(bg, ids[0]); !errors.Is(err, ErrNoNote) {
		t.Errorf("%v, wanted ErrNoNote", err)
	}
}

// A level that was noted wins over those of files, and is asked for by the filter.
func TestNotedLevelIsFiltered(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "l.csv": []byte("date,level_m\n2031-10-04,150\n")})
	opt := lakeOptions(t, "UTC")
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	if _, err := b.AddNote(bg, Note{Day: "2031-10-04", What: NoteLevel, Value: 156}); err != nil {
		t.Fatal(err)
	}
	for low, days := range map[float64]int{149: 1, 155: 1, 157: 0} {
		s, _, err := b.Season(bg, ingest.Filter{LevelM: ingest.Range{Low: ingest.Known(low)}}, opt)
		if err != nil || len(s.Days) != days {
			t.Errorf("level from %v: %d days, wanted %d, %v", low, len(s.Days), days, err)
		}
	}
}

// Raw has a day at full rate, by the clock put right, as the files have it.
func TestRaw(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(1, false, false, 2), -3600)
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, paths...)
	raw, err := b.Raw(bg, "2031-10-04")
	if err != nil {
		t.Fatal(err)
	}
	s := ofFiles(t, opt, paths...)
	fixes, soundings := 0, 0
	for _, r := range raw {
		for _, x := range r.Tracks {
			fixes += len(x.Fixes)
			for _, f := range x.Fixes {
				if f.Flags != 0 {
					t.Fatal("flags are not read, they are made")
				}
			}
		}
		soundings += len(r.Soundings)
		if len(r.Soundings) > 0 {
			first, want := r.Soundings[0].Time, s.Days[0].Soundings[0].Time
			if !first.Equal(want) {
				t.Errorf("the log begins at %v, wanted %v", first, want)
			}
		}
	}
	want, unplaced := 0, 0
	for _, x := range s.Days[0].Tracks {
		if !x.FromLog {
			want += len(x.Fixes)
		}
	}
	for _, u := range s.Unplaced {
		if u.What == "sounding" && u.Time.Before(time.Date(2031, 10, 5, 3, 0, 0, 0, time.UTC)) {
			unplaced += u.Count
		}
	}
	if fixes != want || soundings != len(s.Days[0].Soundings)+unplaced {
		t.Errorf("%d fixes and %d soundings, wanted %d and %d", fixes, soundings, want, len(s.Days[0].Soundings)+unplaced)
	}
}

func TestSeasonGivenUp(t *testing.T) {
	b := emptyBook(t)
	bring(t, b, options, AskAgain, put(t, map[string][]byte{"a.gpx": []byte(track)}))
	with, end := context.WithCancel(bg)
	end()
	if _, _, err := b.Season(with, ingest.Filter{}, options); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, wanted context.Canceled", err)
	}
}

// Two programs import into one logbook, each with what the other hasn't seen: both files are in it then.
func TestTwoImportsAtATime(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.gpx": []byte(strings.ReplaceAll(track, "2031-10-04", "2031-10-05"))})
	path := filepath.Join(t.TempDir(), "season.gpkg")
	errs := make(chan error, 2)
	for _, name := range []string{"a.gpx", "b.gpx"} {
		b, err := OpenBook(bg, path, true)
		if err != nil {
			t.Fatal(err)
		}
		defer b.Close()
		// The second was opened before the first has made the file.
		_, err = b.Import(bg, []string{filepath.Join(dir, name)}, options, AskAgain)
		errs <- err
	}
	for range 2 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
	b, err := OpenBook(bg, path, false)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if s := seasonOf(t, b, options); len(s.Days) != 2 || len(s.Sources) != 2 {
		t.Errorf("%d days of %d files, wanted both", len(s.Days), len(s.Sources))
	}
}

// A place that is forgotten is in no byte of the file, also after imports and corrections of other days.
func TestForgottenPlaceIsGone(t *testing.T) {
	day := func(date, tell string) []byte {
		return fmt.Appendf(nil, "date,time,kind,species,note,lat,lon\n%s,12:00:05,catch,%s,by the %s oak,36.5,-40\n", date, tell, tell)
	}
	dir := put(t, map[string][]byte{
		"a.gpx": []byte(track), "a.csv": day("2031-10-04", "quillfin"),
		"b.gpx": []byte(strings.ReplaceAll(track, "2031-10-04", "2031-10-05")), "b.csv": day("2031-10-05", "marblejaw"),
	})
	opt := lakeOptions(t, "UTC")
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	if _, err := b.AddNote(bg, Note{Day: "2031-10-04", What: NoteAdd, Event: ingest.Event{Time: time.Date(2031, 10, 4, 12, 0, 6, 0, time.UTC), Count: 1, Note: "quillfin again"}}); err != nil {
		t.Fatal(err)
	}
	if data := contentsOf(t, b.Path()); !bytes.Contains(data, []byte("quillfin")) {
		t.Fatal("it isn't there to be forgotten")
	}
	if n, err := b.Forget(bg, []string{"2031-10-04"}, false); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	path := b.Path()
	b.Close()
	data := contentsOf(t, path)
	for _, text := range []string{"quillfin", "a.gpx", "a.csv"} {
		if bytes.Contains(data, []byte(text)) {
			t.Errorf("%q is still in the file", text)
		}
	}
	if !bytes.Contains(data, []byte("marblejaw")) {
		t.Error("another day is gone, too")
	}
	if _, err := os.Stat(path + "-journal"); err == nil {
		t.Error("a journal is left beside the file")
	}
}

// A season is kept in one file. What it has already is left alone, whatever it is called.
func ExampleBook_Import() {
	dir, err := os.MkdirTemp("", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	saturday := filepath.Join(dir, "saturday.gpx")
	if err := os.WriteFile(saturday, []byte(track), 0o666); err != nil {
		fmt.Println(err)
		return
	}
	ctx := context.Background()
	book, err := OpenBook(ctx, filepath.Join(dir, "season.gpkg"), true)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer book.Close()
	for range 2 {
		done, err := book.Import(ctx, []string{saturday}, Options{MaxGap: time.Minute}, AskAgain)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(done.Files, "added")
		for _, d := range done.Days {
			fmt.Println(d.Day, d.Fixes, "fixes")
		}
	}
	// Output:
	// 1 added
	// 2031-10-04 2 fixes
	// 0 added
}
