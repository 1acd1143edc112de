package load

import (
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

// A log whose clock is wrong by so much that none of its rows is on the track's local day is put right by an import as it is by
// Season, whichever comes first.
func TestBookClockOfAnotherDay(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT-10") // 19:43 to 22:57 there
	paths := made(t, small(1, false, false, 1), 19800)
	log, track, catches := ending(paths, "sonar.csv"), ending(paths, "track.gpx"), ending(paths, "catches.csv")
	for _, order := range [][]string{{log, track, catches}, {track, log, catches}, {catches, track, log}} {
		want := ofFiles(t, opt, order...)
		b := emptyBook(t)
		bring(t, b, opt, AskAgain, order...)
		same(t, seasonOf(t, b, opt), want)
		b = emptyBook(t)
		eachOf(t, b, opt, AskAgain, order...)
		same(t, seasonOf(t, b, opt), want)
		likeLayers(t, b, want)
	}
}

// A log that ran over midnight until its clock was put right is known when it comes again.
func TestBookPutRightOverMidnightAgain(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT-8") // 17:43 to 20:57 there, 23:13 to 02:27 by the log
	paths := made(t, small(1, false, false, 1), 19800)
	for _, by := range []string{"track first", "log first", "at once"} {
		b := emptyBook(t)
		switch by {
		case "log first":
			eachOf(t, b, opt, AskAgain, paths...)
		case "track first":
			eachOf(t, b, opt, AskAgain, ending(paths, "track.gpx"), ending(paths, "sonar.csv"), ending(paths, "catches.csv"), ending(paths, "levels.csv"))
		default:
			bring(t, b, opt, AskAgain, paths...)
		}
		n, before := changes(t, b), seasonOf(t, b, opt)
		if im := bring(t, b, opt, AskAgain, paths...); im.Files != 0 || changes(t, b) != n {
			t.Errorf("%s: %d files added again", by, im.Files)
		}
		same(t, seasonOf(t, b, opt), before)
		// And a forgotten day comes back with the clock put right.
		if _, err := b.Forget(bg, []string{"2031-10-04"}, false); err != nil {
			t.Fatal(err)
		}
		bring(t, b, opt, AskAgain, paths...)
		after := seasonOf(t, b, opt)
		if len(after.Days) != len(before.Days) || len(after.Days[0].Soundings) != len(before.Days[0].Soundings) {
			t.Errorf("%s: the forgotten day came back as another", by)
		}
	}
	// The same with a clock that was moved as asked, and not asked for at the next import.
	asked := opt
	asked.Offsets = map[string]time.Duration{"2031-10-04-sonar.csv": -19800 * time.Second}
	b := emptyBook(t)
	bring(t, b, asked, AskAgain, paths...)
	n := changes(t, b)
	if im := bring(t, b, opt, AskAgain, paths...); im.Files != 0 || changes(t, b) != n {
		t.Errorf("asked: %d files added again", im.Files)
	}
}

// A day that was left out of a file since another had it, once forgotten, can come back from that file.
func TestBookForgetDayThatWasLeftOut(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.gpx": []byte(strings.Replace(track, "36.5", "36.500001", -1))})
	b := emptyBook(t)
	eachOf(t, b, options, KeepOld, filepath.Join(dir, "a.gpx"), filepath.Join(dir, "b.gpx"))
	if _, err := b.Forget(bg, []string{"2031-10-04"}, false); err != nil {
		t.Fatal(err)
	}
	if list, _ := b.Sources(bg); len(list) > 0 {
		t.Errorf("%s with %q is left", list[0].About.Name, list[0].LeftOut)
	}
	if im := bring(t, b, options, AskAgain, filepath.Join(dir, "b.gpx")); im.Files != 1 {
		t.Errorf("not imported: %s", im.Sources[0].TakenFor)
	}
}

// A day that was replaced stays so when the folder is imported again.
func TestBookReplacedStaysReplaced(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.gpx": []byte(strings.Replace(track, "36.5", "36.500001", -1))})
	b := emptyBook(t)
	eachOf(t, b, options, TakeNew, filepath.Join(dir, "a.gpx"), filepath.Join(dir, "b.gpx"))
	for _, again := range []Again{AskAgain, TakeNew, KeepOld} {
		n := changes(t, b)
		if _, err := b.Import(bg, []string{dir}, options, again); err != nil {
			t.Errorf("%d: %v", again, err)
		}
		if changes(t, b) != n {
			t.Errorf("%d: changed again", again)
		}
	}
	if s := seasonOf(t, b, options); len(s.Days[0].Tracks) != 1 || s.Days[0].Tracks[0].Fixes[0].Pos[1] != 36.500001 {
		t.Errorf("%+v", s.Days)
	}
}

// A file of one line has all its points on line 1: they keep their order all the same.
func TestBookOneLine(t *testing.T) {
	one := `<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>` +
		`<trkpt lat="36.5" lon="-40.0"><time>2031-10-04T12:00:00Z</time></trkpt>` +
		`<trkpt lat="36.5" lon="-40.00001"></trkpt>` +
		`<trkpt lat="36.5" lon="-39.9999"><time>2031-10-04T12:00:10Z</time></trkpt>` +
		`</trkseg></trk></gpx>`
	dir := put(t, map[string][]byte{"a.gpx": []byte(one)})
	b := emptyBook(t)
	opt := lakeOptions(t, "UTC")
	bring(t, b, opt, AskAgain, dir)
	same(t, seasonOf(t, b, opt), ofFiles(t, opt, dir))
}

// Where the clock is put forward at midnight, time.Date gives an instant of the day before: the day has its own name, for
// fixes, soundings and events alike.
func TestBookClockPutForwardAtMidnight(t *testing.T) {
	opt := lakeOptions(t, "America/Havana") // 2018-03-11 began at 01:00: IANA tz database, northamerica
	x := strings.ReplaceAll(track, "2031-10-04", "2018-03-11")
	x = strings.Replace(x, "</gpx>", `<wpt lat="36.5" lon="-40"><time>2018-03-11T12:00:05Z</time><name>catch</name></wpt></gpx>`, 1)
	dir := put(t, map[string][]byte{"a.gpx": []byte(x), "l.csv": []byte("date,level_m\n2018-03-10,1\n2018-03-11,2\n")})
	want := ofFiles(t, opt, dir)
	if len(want.Days) != 1 || want.Days[0].Date != "2018-03-11" || want.Days[0].LevelM != ingest.Known(2) {
		t.Errorf("Season: %+v", want.Days)
	}
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	days, _ := b.Days(bg)
	if len(days) != 1 || days[0].Day != "2018-03-11" || days[0].Fixes != 2 || days[0].Events != 1 {
		t.Errorf("Days: %+v", days)
	}
	same(t, seasonOf(t, b, opt), want)
}

// A file whose name isn't UTF-8 is imported like any other.
func TestBookName(t *testing.T) {
	dir := put(t, map[string][]byte{"Fl\xfcsschen.gpx": []byte(track)})
	ofFiles(t, options, dir)
	b := emptyBook(t)
	if _, err := b.Import(bg, []string{dir}, options, AskAgain); err != nil {
		t.Error(err)
	}
}

// Files that gave no record are kept with their problems, and known when they come again.
func TestBookFilesWithoutRecords(t *testing.T) {
	opt := lakeOptions(t, "UTC")
	opt.Read.NoChecksums = true
	for name, text := range map[string]string{
		"clock.nmea": "$GPZDA,120000.00,04,10,2031,00,00\n", "rejected.csv": "time,depth_m\n2031-10-04T12:00:02Z,x\n",
	} {
		dir := put(t, map[string][]byte{name: []byte(text)})
		b := emptyBook(t)
		bring(t, b, opt, AskAgain, dir)
		n := changes(t, b)
		if im := bring(t, b, opt, AskAgain, dir); im.Files != 0 || changes(t, b) != n {
			t.Errorf("%s: imported again", name)
		}
		same(t, seasonOf(t, b, opt), ofFiles(t, opt, dir))
	}
}

// A filter leaves what a note adds in it: on a day that no file is of, and in a box that the day's files don't touch.
func TestBookNotesAndFilters(t *testing.T) {
	dir := put(t, map[string][]byte{"a.gpx": []byte(track), "b.gpx": []byte(strings.ReplaceAll(track, "2031-10-04", "2031-11-04"))})
	b := emptyBook(t)
	opt := lakeOptions(t, "UTC")
	bring(t, b, opt, AskAgain, dir)
	add := func(day string, lon float64) {
		at, _ := time.Parse(time.DateOnly, day)
		if _, err := b.AddNote(bg, Note{Day: day, What: NoteAdd, Event: ingest.Event{Time: at.Add(12 * time.Hour), Kind: ingest.Catch, Count: 1, Pos: orb.Point{lon, 36.5}, HasPos: true}}); err != nil {
			t.Fatal(err)
		}
	}
	add("2031-11-07", -40)
	add("2031-11-04", -40.5)
	all := seasonOf(t, b, opt)
	box := orb.Bound{Min: orb.Point{-40.6, 36}, Max: orb.Point{-40.4, 37}}
	for name, f := range map[string]ingest.Filter{"month": {FirstMonth: 11, LastMonth: 11}, "box": {Box: &box}} {
		want, wantLeft := Pick(all, f)
		got, left, err := b.Season(bg, f, opt)
		if err != nil || len(got.Days) != len(want.Days) || left != wantLeft {
			t.Errorf("%s: %d days, %+v left out; wanted %d, %+v; %v", name, len(got.Days), left, len(want.Days), wantLeft, err)
		}
	}
}

// A day of which nothing is placed yet (a depth log before its track) is a day of the logbook.
func TestBookDayOfNothingPlaced(t *testing.T) {
	dir := put(t, map[string][]byte{"s.csv": []byte(depths)})
	opt := lakeOptions(t, "UTC")
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, dir)
	if err := b.Has(bg, "2031-10-04"); err != nil {
		t.Error(err)
	}
	got, _, err := b.Season(bg, ingest.Filter{FirstDay: "2031-10-04"}, opt)
	if want := ofFiles(t, opt, dir); err != nil || !reflect.DeepEqual(got.Unplaced, want.Unplaced) {
		t.Errorf("%+v, wanted %+v, %v", got.Unplaced, want.Unplaced, err)
	}
}

// A file with soundings on one day and winds or events on another keeps the clock that was found by its soundings.
func TestBookFoundClockIsKept(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(1, false, false, 1), 37)
	var x strings.Builder
	x.WriteString("$GPZDA,000000.00,04,10,2031,00,00\n")
	for i, line := range strings.Split(string(contentsOf(t, ending(paths, "sonar.csv"))), "\n") {
		f := strings.Split(line, ",")
		at, err := time.Parse(time.RFC3339, f[0])
		if i == 0 || err != nil {
			continue
		}
		x.WriteString("$GPZDA," + at.Format("150405") + ".00," + at.Format("02,01,2006") + ",00,00\n$SDDBT," + f[1] + ",f,,M,,F\n$GPVHW,,T,,M,,N," + kmh(f[3]) + ",K\n")
	}
	x.WriteString("$GPZDA,120000.00,06,10,2031,00,00\n$WIMWD,90.0,T,,M,5.0,N,2.6,M\n$GPZDA,120001.00,06,10,2031,00,00\n$WIMWD,90.0,T,,M,5.0,N,2.6,M\n")
	log := writeBeside(t, paths[0], "log.nmea", []byte(x.String()))
	list := []string{ending(paths, "track.gpx"), log}
	opt.Read.NoChecksums = true
	want := ofFiles(t, opt, list...)
	if !want.Sources[1].ClockOffsetS.OK {
		t.Skip("the made log's clock can't be told: ", want.Sources[1].Clock)
	}
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, list...)
	same(t, seasonOf(t, b, opt), want)
}

func kmh(mph string) string {
	d, err := time.ParseDuration(mph + "s")
	if err != nil {
		return ""
	}
	return strings.TrimSuffix((d * 1609344 / 1000000).Round(time.Millisecond).String(), "s")
}

// A name in an archive that isn't UTF-8, as older programs write them, is read.
func TestBookNameInArchive(t *testing.T) {
	dir := put(t, map[string][]byte{"day.zip": zipped(t, "Fl\x81sschen.gpx", track)})
	if _, err := Season(bg, []string{filepath.Join(dir, "day.zip")}, options); err != nil {
		t.Error(err)
	}
	_, _ = os.Stat(dir)
	_ = slices.Contains([]string{}, "")
}
