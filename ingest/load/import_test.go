package load

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/logbook"
	"leadline/ingest/madelake"
)

var bg = context.Background()

// lakeOptions are those of the made lake: its clock, and gaps as the command has them.
func lakeOptions(t testing.TB, zone string) Options {
	t.Helper()
	z, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return Options{Read: ingest.ReadOptions{Zone: z}, MaxGap: 30 * time.Second, Depth: ingest.Corrections{TransducerM: 0.3048}}
}

// made writes the recordings of a made season to a new folder and returns their paths in order of name. The clocks of
// the first logs that are in UTC are set ahead.
func made(t testing.TB, plan madelake.Plan, aheadS ...int) (paths []string) {
	t.Helper()
	dir := t.TempDir()
	files, _ := madelake.Make(plan)
	for _, f := range files {
		if !strings.HasSuffix(f.Name, ".gpx") && !strings.HasSuffix(f.Name, ".csv") {
			continue
		}
		data := f.Data
		if len(aheadS) > 0 && bytes.HasPrefix(data, []byte("time,")) {
			data = ahead(t, data, time.Duration(aheadS[0])*time.Second)
			aheadS = aheadS[1:]
		}
		path := filepath.Join(dir, f.Name)
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

// ahead sets the clock of a log in UTC ahead.
func ahead(t testing.TB, log []byte, by time.Duration) []byte {
	t.Helper()
	var out bytes.Buffer
	for i, line := range strings.SplitAfter(string(log), "\n") {
		if at, rest, ok := strings.Cut(line, ","); ok && i > 0 {
			x, err := time.Parse(time.RFC3339, at)
			if err != nil {
				t.Fatal(err)
			}
			line = x.Add(by).Format(time.RFC3339) + "," + rest
		}
		out.WriteString(line)
	}
	return out.Bytes()
}

// emptyBook opens a logbook that isn't there yet.
func emptyBook(t testing.TB) *Book {
	t.Helper()
	// SQLite in Go takes minutes under the race detector, which needs every path once; that is what -short is asked for.
	if testing.Short() && !strings.HasPrefix(t.Name(), "TestImportAgainChangesNothing") && !strings.HasPrefix(t.Name(), "TestBookPutRight") {
		t.Skip("made by the tests without -short")
	}
	b, err := OpenBook(bg, filepath.Join(t.TempDir(), "season.gpkg"), true)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// bring imports paths, all in one or each by itself.
func bring(t testing.TB, b *Book, opt Options, again Again, paths ...string) (im Imported) {
	t.Helper()
	im, err := b.Import(bg, paths, opt, again)
	if err != nil {
		t.Fatal(err)
	}
	return im
}

func eachOf(t testing.TB, b *Book, opt Options, again Again, paths ...string) {
	t.Helper()
	for _, p := range paths {
		bring(t, b, opt, again, p)
	}
}

func seasonOf(t testing.TB, b *Book, opt Options) ingest.Season {
	t.Helper()
	s, left, err := b.Season(bg, ingest.Filter{}, opt)
	if err != nil {
		t.Fatal(err)
	}
	if left != (Left{}) {
		t.Errorf("%+v left out of the whole", left)
	}
	return s
}

func ofFiles(t testing.TB, opt Options, paths ...string) ingest.Season {
	t.Helper()
	s, err := Season(bg, paths, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// same tells the first difference between two seasons; the numbering of sources is part of them.
func same(t testing.TB, got, want ingest.Season) {
	t.Helper()
	if got.Zone.String() != want.Zone.String() || got.ZoneSaid != want.ZoneSaid {
		t.Errorf("days by %v, %t; wanted %v, %t", got.Zone, got.ZoneSaid, want.Zone, want.ZoneSaid)
	}
	for i := range max(len(got.Days), len(want.Days)) {
		if i >= len(got.Days) || i >= len(want.Days) {
			t.Errorf("%d days, wanted %d", len(got.Days), len(want.Days))
			break
		}
		sameDay(t, got.Days[i], want.Days[i])
	}
	for i := range max(len(got.Sources), len(want.Sources)) {
		if i >= len(got.Sources) || i >= len(want.Sources) {
			t.Errorf("%d files, wanted %d", len(got.Sources), len(want.Sources))
			break
		}
		if !reflect.DeepEqual(got.Sources[i], want.Sources[i]) {
			t.Errorf("file\n%+v\nwanted\n%+v", got.Sources[i], want.Sources[i])
		}
	}
	for _, c := range []struct {
		what      string
		got, want any
	}{{"undated", got.Undated, want.Undated}, {"problems", got.Problems, want.Problems}, {"unplaced", got.Unplaced, want.Unplaced}} {
		if !reflect.DeepEqual(c.got, c.want) {
			t.Errorf("%s\n%+v\nwanted\n%+v", c.what, c.got, c.want)
		}
	}
}

func sameDay(t testing.TB, got, want ingest.Day) {
	t.Helper()
	if got.Date != want.Date {
		t.Errorf("day %s, wanted %s", got.Date, want.Date)
		return
	}
	for _, c := range []struct {
		what      string
		got, want any
	}{{"tracks", got.Tracks, want.Tracks}, {"soundings", got.Soundings, want.Soundings}, {"events", got.Events, want.Events},
		{"winds", got.Winds, want.Winds}, {"level", got.LevelM, want.LevelM}} {
		if !reflect.DeepEqual(c.got, c.want) {
			t.Errorf("%s: other %s: %.300s wanted %.300s", got.Date, c.what, fmt.Sprintf("%+v", c.got), fmt.Sprintf("%+v", c.want))
		}
	}
}

// likeLayers checks the counts of the logbook's days against those of a season joined from the files.
func likeLayers(t testing.TB, b *Book, s ingest.Season) {
	t.Helper()
	days, err := b.Days(bg)
	if err != nil || len(days) != len(s.Days) {
		t.Errorf("%d days, wanted %d: %v", len(days), len(s.Days), err)
		return
	}
	for i, d := range days {
		r := logbook.Rows(s.Days[i])
		got := fmt.Sprint(d.Day, d.First, d.Last, d.OnWaterS, d.Fixes, d.Soundings, d.Events, d.LevelM, d.TempC, d.Bound, d.Winds)
		want := fmt.Sprint(r.Day, r.First, r.Last, r.OnWaterS, r.Fixes, r.Soundings, r.Events, r.LevelM, r.TempC, r.Bound, len(s.Days[i].Winds))
		if got != want {
			t.Errorf("the layers show\n%s\nwanted\n%s", got, want)
		}
	}
}

func small(seed uint64, hard, windy bool, days int) madelake.Plan {
	p := madelake.Default(seed, madelake.Small)
	if hard {
		p = madelake.Hard(seed, madelake.Small)
	}
	if windy {
		p = madelake.Windy(seed)
		p.Size = madelake.Small
	}
	p.Days = days
	return p
}

// TestLogbookIsTheSeason is the law of the logbook: what was imported, in one or file by file, is the season that the files
// are. The reference is Season, which knows no logbook. The season lies in lines of one and the same order.
func TestLogbookIsTheSeason(t *testing.T) {
	dense := small(6, false, false, 1)
	dense.FixesPerS = 5
	for _, c := range []struct {
		name   string
		plan   madelake.Plan
		zone   string
		aheadS []int
	}{
		{"usual", small(1, false, false, 2), "Etc/GMT+3", nil},
		{"wrong clocks", small(2, false, false, 3), "Etc/GMT+3", []int{37, -3600, 19800}},
		{"half-hour zone", small(2, false, false, 2), "America/St_Johns", []int{37, -3600, 19800}},
		// In the zone of the made lake it is morning or afternoon, here it is 17:45 to 21:00: set ahead by 5 h 30 min, the
		// log runs over midnight until its clock is put right.
		{"clock over midnight", small(3, false, false, 2), "Etc/GMT-8", []int{19800}},
		{"hard", small(4, true, false, 1), "Etc/GMT+3", []int{37, -3600, 19800}},
		{"windy", small(5, false, true, 1), "Etc/GMT+3", nil},
		{"five fixes a second", dense, "Etc/GMT+3", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			opt := lakeOptions(t, c.zone)
			paths := made(t, c.plan, c.aheadS...)
			b := emptyBook(t)
			im := bring(t, b, opt, AskAgain, paths...)
			want := ofFiles(t, opt, paths...)
			same(t, seasonOf(t, b, opt), want)
			likeLayers(t, b, want)
			// Records lie on the day of the clock put right: read by themselves the days have as much.
			for _, d := range want.Days {
				part, _, err := b.Season(bg, ingest.Filter{FirstDay: d.Date, LastDay: d.Date}, opt)
				if err != nil || len(part.Days) != 1 || len(part.Days[0].Soundings) != len(d.Soundings) {
					t.Errorf("%s read by itself: %d days, wanted one with %d soundings, %v", d.Date, len(part.Days), len(d.Soundings), err)
				}
			}
			// What Import says of the files is what Season says.
			same(t, ingest.Season{Zone: want.Zone, ZoneSaid: true, Sources: im.Sources, Problems: im.Problems, Unplaced: beside(im.Unplaced)},
				ingest.Season{Zone: want.Zone, ZoneSaid: true, Sources: want.Sources, Problems: want.Problems, Unplaced: beside(want.Unplaced)})
			if im.Files != len(paths) || len(im.Days) != len(want.Days) {
				t.Errorf("%d files and %d days, wanted %d and %d", im.Files, len(im.Days), len(paths), len(want.Days))
			}

			// In order of name each log comes before the track that tells its clock.
			if c.plan.FixesPerS > 0 {
				return // long enough
			}
			r := rand.New(rand.NewPCG(c.plan.Seed, 9))
			for _, order := range []string{"by name", "backwards", "at random"} {
				paths := slices.Clone(paths)
				switch order {
				case "backwards":
					slices.Reverse(paths)
				case "at random":
					r.Shuffle(len(paths), func(i, j int) { paths[i], paths[j] = paths[j], paths[i] })
				}
				b := emptyBook(t)
				eachOf(t, b, opt, AskAgain, paths...)
				want := ofFiles(t, opt, paths...)
				same(t, seasonOf(t, b, opt), want)
				likeLayers(t, b, want)
				if t.Failed() {
					t.Fatalf("file by file, %s", order)
				}
			}
		})
	}
}

// beside gives one reason to all that lies beside the track: an import looks at the days it changes, where what comes
// between two outings comes before the first or after the last.
func beside(list []ingest.Unplaced) []ingest.Unplaced {
	list = slices.Clone(list)
	for i := range list {
		if r := &list[i].Reason; *r == ingest.TooSoon || *r == ingest.TooLate || *r == ingest.InGap || *r == ingest.NoTrack {
			*r = "beside the track"
		}
	}
	return list
}

// The numbering of sources aside, the order of import means nothing.
func TestOrderOfImport(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(7, false, false, 3), 37)
	var first ingest.Season
	for i := range uint64(3) {
		rand.New(rand.NewPCG(i, 1)).Shuffle(len(paths), func(i, j int) { paths[i], paths[j] = paths[j], paths[i] })
		b := emptyBook(t)
		eachOf(t, b, opt, AskAgain, paths...)
		s := numbered(seasonOf(t, b, opt))
		if i == 0 {
			first = s
			continue
		}
		same(t, s, first)
	}
}

// numbered gives the files of a season numbers by their names.
func numbered(s ingest.Season) ingest.Season {
	byName := slices.Clone(s.Sources)
	slices.SortFunc(byName, func(a, b ingest.Source) int { return strings.Compare(a.Name, b.Name) })
	number := func(i int) int {
		return slices.IndexFunc(byName, func(x ingest.Source) bool { return x.Name == s.Sources[i].Name })
	}
	for _, d := range s.Days {
		for i := range d.Tracks {
			d.Tracks[i].Source = number(d.Tracks[i].Source)
		}
		for i := range d.Soundings {
			d.Soundings[i].Source = number(d.Soundings[i].Source)
		}
		for i := range d.Events {
			d.Events[i].Source = number(d.Events[i].Source)
		}
		for i := range d.Winds {
			d.Winds[i].Source = number(d.Winds[i].Source)
		}
	}
	for i := range s.Unplaced {
		s.Unplaced[i].Source = number(s.Unplaced[i].Source)
	}
	slices.SortStableFunc(s.Unplaced, func(a, b ingest.Unplaced) int { return a.Source - b.Source })
	slices.SortStableFunc(s.Problems, func(a, b ingest.Problem) int { return strings.Compare(a.File, b.File) })
	s.Sources = byName
	return s
}

func changes(t testing.TB, b *Book) int64 {
	t.Helper()
	s, err := b.Settings(bg)
	if err != nil {
		t.Fatal(err)
	}
	return s.Changes
}

func TestImportAgainChangesNothing(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(8, false, false, 2), -3600)
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, paths...)
	before := changes(t, b)
	elsewhere := filepath.Join(t.TempDir(), "renamed")
	if err := os.Mkdir(elsewhere, 0o777); err != nil {
		t.Fatal(err)
	}
	for i, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(elsewhere, fmt.Sprintf("%02d.dat", i)), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range [][]string{paths, {filepath.Dir(paths[0])}, {elsewhere}, {paths[1], paths[1]}} {
		im := bring(t, b, opt, AskAgain, c...)
		if im.Files != 0 || len(im.Days) != 0 {
			t.Errorf("%v: %d files added", c, im.Files)
		}
		for _, s := range im.Sources {
			if !strings.Contains(s.TakenFor, "in the logbook already") && !strings.Contains(s.TakenFor, "left alone") {
				t.Errorf("%s: %s", s.Name, s.TakenFor)
			}
		}
	}
	if n := changes(t, b); n != before {
		t.Errorf("%d changes, wanted %d", n, before)
	}
}

// A forgotten day comes back from the file it was in, also where the file has other days.
func TestForgottenDayComesBack(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(9, false, false, 2), 37)
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, paths...)
	before := seasonOf(t, b, opt)
	for _, day := range []string{before.Days[0].Date, before.Days[1].Date} {
		if _, err := b.Forget(bg, []string{day}, false); err != nil {
			t.Fatal(err)
		}
		s := seasonOf(t, b, opt)
		for _, d := range s.Days {
			if d.Date == day {
				t.Errorf("%s is still there", day)
				continue
			}
			want := before.Days[slices.IndexFunc(before.Days, func(x ingest.Day) bool { return x.Date == d.Date })]
			if len(d.Soundings) != len(want.Soundings) || len(d.Events) != len(want.Events) || len(d.Tracks) != len(want.Tracks) {
				t.Errorf("%s changed, too", d.Date)
			}
		}
		im := bring(t, b, opt, AskAgain, paths...)
		if len(im.Days) == 0 || !slices.ContainsFunc(im.Days, func(d BookDay) bool { return d.Day == day }) {
			t.Errorf("%s did not come back", day)
		}
	}
	// The catch log is there twice now, once for each time: numbers differ, days don't.
	after := seasonOf(t, b, opt)
	for i := range max(len(before.Days), len(after.Days)) {
		x, y := noNumbers(after.Days[i]), noNumbers(before.Days[i])
		sameDay(t, x, y)
	}
	n := changes(t, b)
	bring(t, b, opt, AskAgain, paths...)
	if changes(t, b) != n {
		t.Error("a third import changed it again")
	}
}

func noNumbers(d ingest.Day) ingest.Day {
	for i := range d.Tracks {
		d.Tracks[i].Source = 0
	}
	for i := range d.Soundings {
		d.Soundings[i].Source = 0
	}
	for i := range d.Events {
		d.Events[i].Source = 0
	}
	for i := range d.Winds {
		d.Winds[i].Source = 0
	}
	return d
}

func TestImportErrorsLeaveNoLogbook(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.txt": []byte("hello")})
	path := filepath.Join(t.TempDir(), "new.gpkg")
	ended, end := context.WithCancel(bg)
	end()
	for name, c := range map[string]struct {
		with  context.Context
		paths []string
	}{
		"missing file":     {bg, []string{filepath.Join(dir, "a.gpx"), filepath.Join(dir, "none.gpx")}},
		"no recording":     {bg, []string{filepath.Join(dir, "b.txt")}},
		"given up":         {ended, []string{filepath.Join(dir, "a.gpx")}},
		"nothing to write": {bg, nil},
	} {
		b, err := OpenBook(bg, path, true)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.Import(c.with, c.paths, options, AskAgain); err == nil {
			t.Errorf("%s: no error", name)
		}
		if err := b.Close(); err != nil {
			t.Error(name, err)
		}
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s: a logbook was made", name)
		}
	}
	if _, err := OpenBook(bg, path, false); !errors.Is(err, ErrNoBook) {
		t.Errorf("%v, wanted ErrNoBook", err)
	}
}

func TestImportInAnotherZone(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.csv": []byte(depths)})
	a, c := filepath.Join(dir, "a.gpx"), filepath.Join(dir, "b.csv")
	b := emptyBook(t)
	unsaid := options
	if im := bring(t, b, unsaid, AskAgain, a); im.ZoneSaid || im.Zone != time.UTC {
		t.Errorf("days by %v, said %t", im.Zone, im.ZoneSaid)
	}
	n := changes(t, b)
	said := lakeOptions(t, "Asia/Kolkata")
	if _, err := b.Import(bg, []string{c}, said, AskAgain); !errors.Is(err, ErrZone) {
		t.Errorf("%v, wanted ErrZone", err)
	}
	if changes(t, b) != n {
		t.Error("a refused import changed the logbook")
	}
	if im := bring(t, b, lakeOptions(t, "UTC"), AskAgain, c); !im.ZoneSaid {
		t.Error("naming the zone that holds was not noted")
	}
	if s := seasonOf(t, b, unsaid); !s.ZoneSaid || s.Zone.String() != "UTC" {
		t.Errorf("days by %v, said %t", s.Zone, s.ZoneSaid)
	}
}

// Where no receiver was on, the places that a log carries are the track, also for a catch.
func TestLogWithoutTrack(t *testing.T) {
	opt := lakeOptions(t, "UTC")
	dir := put(t, map[string][]byte{
		"a.csv": []byte("time,lat,lon,depth_m\n2031-10-04T12:00:00Z,36.5,-40,6\n2031-10-04T12:00:10Z,36.5,-39.9999,6.5\n2031-10-04T12:00:20Z,36.5,-39.9998,6.6\n"),
		"c.csv": []byte("time,kind\n2031-10-04 12:00:05,catch\n"),
	})
	b := emptyBook(t)
	eachOf(t, b, opt, AskAgain, filepath.Join(dir, "a.csv"), filepath.Join(dir, "c.csv"))
	want := ofFiles(t, opt, dir)
	if len(want.Days[0].Events) != 1 || !want.Days[0].Tracks[0].FromLog {
		t.Fatalf("%+v", want.Days)
	}
	same(t, seasonOf(t, b, opt), want)
	likeLayers(t, b, want)
}

// A log that the track couldn't tell the clock of keeps its time until a person says it.
func TestOffsetAsked(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(1, false, false, 1))
	opt.Offsets = map[string]time.Duration{"2031-10-04-sonar.csv": 90 * time.Second}
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, paths...)
	want := ofFiles(t, opt, paths...)
	same(t, seasonOf(t, b, opt), want)
	list, err := b.Sources(bg)
	if err != nil || list[0].About.ClockOffsetS != ingest.Known(90) || list[0].FoundS.OK {
		t.Errorf("%+v, %v", list[0], err)
	}
}

// Records without a time come with the rest, and again after their day "" was forgotten.
func TestUndated(t *testing.T) {
	points := `{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"Point","coordinates":[-40,36.5]},"properties":{"kind":"catch","species":"quillfin"}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[-40.1,36.5]},"properties":{"kind":"mark","time":"2031-10-04T12:00:05Z"}}]}`
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "p.geojson": []byte(points), "s.csv": []byte("lat,lon,depth_m\n36.5,-40,6\n36.6,-40,7\n")})
	b := emptyBook(t)
	opt := lakeOptions(t, "UTC")
	bring(t, b, opt, AskAgain, dir)
	want := ofFiles(t, opt, dir)
	if len(want.Undated.Events) != 1 || len(want.Undated.Soundings) != 2 {
		t.Fatalf("%+v", want.Undated)
	}
	got := seasonOf(t, b, opt)
	for i := range got.Sources { // of a log without times the words differ
		got.Sources[i].Clock, want.Sources[i].Clock = "", ""
	}
	same(t, got, want)
	for f, n := range map[*ingest.Filter]int{
		{FirstDay: "2031-10-04"}: 0,
		{LastDay: "2031-01-01"}:  0,
		{Box: &orb.Bound{Min: orb.Point{-40.01, 36}, Max: orb.Point{-39.99, 36.55}}}: 2,
	} {
		got, _, err := b.Season(bg, *f, opt)
		if err != nil {
			t.Fatal(err)
		}
		picked, _ := Pick(want, *f)
		if !reflect.DeepEqual(got.Undated, picked.Undated) || len(got.Undated.Events)+len(got.Undated.Soundings) != n {
			t.Errorf("%+v: undated %+v", *f, got.Undated)
		}
	}
	if _, err := b.Forget(bg, []string{""}, false); err != nil {
		t.Fatal(err)
	}
	if s := seasonOf(t, b, opt); len(s.Undated.Events)+len(s.Undated.Soundings) != 0 || len(s.Days) != 1 || len(s.Days[0].Events) != 1 {
		t.Errorf("%+v", s)
	}
	bring(t, b, opt, AskAgain, dir)
	if s := seasonOf(t, b, opt); len(s.Undated.Events) != 1 || len(s.Undated.Soundings) != 2 || len(s.Days[0].Events) != 1 {
		t.Errorf("%+v", s.Undated)
	}
}

// The same imports make the same bytes.
func TestSameImportsSameBytes(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(1, false, false, 2), 37)
	make := func() []byte {
		b := emptyBook(t)
		eachOf(t, b, opt, AskAgain, paths...)
		b.Close()
		data, err := os.ReadFile(b.path)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	if !bytes.Equal(make(), make()) {
		t.Error("the same imports made two different files")
	}
}
