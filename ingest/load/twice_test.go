package load

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/logbook"
	"leadline/ingest/plane"
)

var coordinates = regexp.MustCompile(`(lat|lon)="([-0-9.]+)"`)

// exportedAgain is a GPX with its positions at 6 decimals: what another program makes of it.
func exportedAgain(t testing.TB, gpx []byte) []byte {
	t.Helper()
	return coordinates.ReplaceAllFunc(gpx, func(b []byte) []byte {
		m := coordinates.FindSubmatch(b)
		v, err := strconv.ParseFloat(string(m[2]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Appendf(nil, `%s="%.6f"`, m[1], v)
	})
}

// otherReceiver is a GPX as a second receiver 3 m off in the same boat would have it: its error is 2.1 m each way, as of
// the first (3 m radially is common practice, no source), and doesn't change from second to second.
func otherReceiver(t testing.TB, gpx []byte) []byte {
	t.Helper()
	r := rand.New(rand.NewPCG(5, 6))
	frame := plane.New(orb.Point{-40, 36.5})
	var off r2.Vec
	point := regexp.MustCompile(`lat="([-0-9.]+)" lon="([-0-9.]+)"`)
	return point.ReplaceAllFunc(gpx, func(b []byte) []byte {
		m := point.FindSubmatch(b)
		lat, _ := strconv.ParseFloat(string(m[1]), 64)
		lon, _ := strconv.ParseFloat(string(m[2]), 64)
		// An error that wanders: 0.95 of the last second's, so that its spread is 2.1 m.
		off = r2.Add(r2.Scale(0.95, off), r2.Vec{X: 0.656 * r.NormFloat64(), Y: 0.656 * r.NormFloat64()})
		p := frame.Degrees(r2.Add(frame.Metres(orb.Point{lon, lat}), r2.Add(r2.Vec{X: 3}, off)))
		return fmt.Appendf(nil, `lat="%.7f" lon="%.7f"`, p.Lat(), p.Lon())
	})
}

// head is the first share of the lines of a table.
func head(table []byte, share float64) []byte {
	lines := strings.SplitAfter(string(table), "\n")
	return []byte(strings.Join(lines[:int(share*float64(len(lines)))], ""))
}

func contentsOf(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// writeBeside writes a file into the folder of another.
func writeBeside(t testing.TB, path, name string, data []byte) string {
	t.Helper()
	p := filepath.Join(filepath.Dir(path), name)
	if err := os.WriteFile(p, data, 0o666); err != nil {
		t.Fatal(err)
	}
	return p
}

func ending(paths []string, with string) string {
	for _, p := range paths {
		if strings.HasSuffix(p, with) {
			return p
		}
	}
	return ""
}

// TestTwice imports a season and then another file of it, and has it settled each way.
func TestTwice(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	for _, c := range []struct {
		name  string
		old   func(t *testing.T, paths []string) []string // imported first
		again func(t *testing.T, paths []string) string   // the file that comes again
		days  int                                         // that come again
	}{
		{
			name: "track exported again",
			again: func(t *testing.T, p []string) string {
				return writeBeside(t, p[0], "again.gpx", exportedAgain(t, contentsOf(t, ending(p, "10-04-track.gpx"))))
			},
			days: 1,
		},
		{
			name: "track exported before it was over",
			again: func(t *testing.T, p []string) string {
				whole := string(exportedAgain(t, contentsOf(t, ending(p, "10-04-track.gpx"))))
				return writeBeside(t, p[0], "again.gpx", []byte(whole[:strings.LastIndex(whole[:len(whole)/2], "<trkpt")]+"</trkseg></trk></gpx>"))
			},
			days: 1,
		},
		{
			name: "depth log that grew",
			old: func(t *testing.T, p []string) []string {
				log := ending(p, "10-04-sonar.csv")
				return []string{ending(p, "10-04-track.gpx"), writeBeside(t, log, "short.csv", head(contentsOf(t, log), 0.6))}
			},
			again: func(t *testing.T, p []string) string { return ending(p, "10-04-sonar.csv") },
			days:  1,
		},
		{
			name: "catch log that grew",
			old: func(t *testing.T, p []string) []string {
				log := ending(p, "catches.csv")
				return []string{ending(p, "10-04-track.gpx"), writeBeside(t, log, "short.csv", head(contentsOf(t, log), 0.5))}
			},
			again: func(t *testing.T, p []string) string { return ending(p, "catches.csv") },
			days:  1,
		},
		{
			name: "levels saved again",
			again: func(t *testing.T, p []string) string {
				return writeBeside(t, p[0], "again.csv", append(contentsOf(t, ending(p, "levels.csv")), "2032-01-01,512\n"...))
			},
			days: 43, // all of the season; the new day isn't in the logbook
		},
		{
			name: "second receiver",
			again: func(t *testing.T, p []string) string {
				return writeBeside(t, p[0], "other.gpx", otherReceiver(t, contentsOf(t, ending(p, "10-04-track.gpx"))))
			},
		},
		{
			name: "half of it is another boat's",
			again: func(t *testing.T, p []string) string {
				whole := string(exportedAgain(t, contentsOf(t, ending(p, "10-04-track.gpx"))))
				half := strings.LastIndex(whole[:len(whole)/2], "<trkpt")
				return writeBeside(t, p[0], "half.gpx", []byte(whole[:half]+strings.ReplaceAll(whole[half:], `lat="36.4`, `lat="36.6`)))
			},
		},
		{
			name: "another outing's catches",
			again: func(t *testing.T, p []string) string {
				return writeBeside(t, p[0], "mine.csv", []byte("time,kind\n2031-10-04 05:00:00,catch\n2031-10-04 07:12:37,bite\n"))
			},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			paths := made(t, small(1, false, false, 1), 37) // the log in the logbook is put right, the one that comes isn't yet
			base := paths
			if c.old != nil {
				base = c.old(t, paths)
			}
			again := c.again(t, paths)

			b := emptyBook(t)
			bring(t, b, opt, AskAgain, base...)
			old := seasonOf(t, b, opt)
			n := changes(t, b)
			_, err := b.Import(bg, []string{again}, opt, AskAgain)
			var twice TwiceError
			if c.days == 0 {
				if err != nil {
					t.Fatalf("taken for what the logbook has: %v", err)
				}
				same(t, seasonOf(t, b, opt), ofFiles(t, opt, append(base[:len(base):len(base)], again)...))
				return
			}
			if !errors.As(err, &twice) {
				t.Fatalf("%v, wanted TwiceError", err)
			}
			if len(twice.List) < 1 || len(twice.List) > c.days {
				t.Errorf("%d days come again, wanted up to %d: %v", len(twice.List), c.days, err)
			}
			for _, w := range twice.List {
				if w.File != again || w.Share < 0.9 || w.Share > 1 || !strings.Contains(err.Error(), again) {
					t.Errorf("%+v: %v", w, err)
				}
			}
			if changes(t, b) != n {
				t.Error("asking changed the logbook")
			}
			same(t, seasonOf(t, b, opt), old)

			t.Run("keep", func(t *testing.T) {
				im := bring(t, b, opt, KeepOld, again)
				if len(im.Twice) != len(twice.List) {
					t.Errorf("%+v, wanted %+v", im.Twice, twice.List)
				}
				got := seasonOf(t, b, opt)
				for i, d := range old.Days {
					sameDay(t, noNumbers(got.Days[i]), noNumbers(d))
				}
				n := changes(t, b)
				if im := bring(t, b, opt, AskAgain, again); im.Files != 0 || changes(t, b) != n {
					t.Error("what was asked is not remembered")
				}
			})
			t.Run("both", func(t *testing.T) {
				b := emptyBook(t)
				bring(t, b, opt, AskAgain, base...)
				bring(t, b, opt, KeepBoth, again)
				same(t, seasonOf(t, b, opt), ofFiles(t, opt, append(base[:len(base):len(base)], again)...))
				n := changes(t, b)
				if im := bring(t, b, opt, AskAgain, append(base[:len(base):len(base)], again)...); im.Files != 0 || changes(t, b) != n {
					t.Error("both are there, and were imported again")
				}
			})
			t.Run("replace", func(t *testing.T) {
				b := emptyBook(t)
				bring(t, b, opt, AskAgain, base...)
				gone := twice.List[0].Have
				bring(t, b, opt, TakeNew, again)
				// Where all days of the old file are replaced the season is that of the files without it.
				var left []string
				for _, p := range base {
					if p != gone {
						left = append(left, p)
					}
				}
				got, want := seasonOf(t, b, opt), ofFiles(t, opt, append(left, again)...)
				for i := range want.Days {
					sameDay(t, noNumbers(got.Days[i]), noNumbers(want.Days[i]))
				}
				likeLayers(t, b, want)
			})
		})
	}
}

// Two files of one import are not asked about: the files are read together, as Season does.
func TestTwiceInOneImport(t *testing.T) {
	opt := lakeOptions(t, "Etc/GMT+3")
	paths := made(t, small(1, false, false, 1))
	again := writeBeside(t, paths[0], "again.gpx", exportedAgain(t, contentsOf(t, ending(paths, "track.gpx"))))
	b := emptyBook(t)
	bring(t, b, opt, AskAgain, append(paths, again)...)
	same(t, seasonOf(t, b, opt), ofFiles(t, opt, append(paths, again)...))
}

func TestShared(t *testing.T) {
	const day = "2031-10-04"
	at := time.Date(2031, 10, 4, 12, 0, 0, 0, time.UTC)
	frame := plane.New(orb.Point{-40, 36.5})
	track := func(n int, eastM float64, late time.Duration) ingest.Records {
		var x ingest.Track
		for i := range n {
			x.Fixes = append(x.Fixes, ingest.Fix{Time: at.Add(time.Duration(i)*time.Second + late), Pos: frame.Degrees(r2.Vec{X: float64(i) + eastM}), Line: i + 1})
		}
		return ingest.Records{Tracks: []ingest.Track{x}}
	}
	soundings := func(n int, plusM float64) (r ingest.Records) {
		for i := range n {
			r.Soundings = append(r.Soundings, ingest.Sounding{Time: at.Add(time.Duration(i) * time.Second), DepthM: 6 + plusM, Line: i + 1})
		}
		return r
	}
	events := func(kinds ...ingest.EventKind) (r ingest.Records) {
		for i, k := range kinds {
			r.Events = append(r.Events, ingest.Event{Time: at.Add(time.Duration(i) * time.Minute), Kind: k, Count: 1})
		}
		return r
	}
	level := ingest.Records{Levels: []ingest.Level{{Date: day, LevelM: 1}}}
	wind := func(mps ...float64) (r ingest.Records) {
		for i, v := range mps {
			r.Winds = append(r.Winds, ingest.Wind{Time: at.Add(time.Duration(i) * time.Minute), SpeedMPS: v})
		}
		return r
	}
	for _, c := range []struct {
		name string
		a, b ingest.Records
		want float64
	}{
		{"the same track", track(100, 0, 0), track(100, 0, 0), 1},
		{"a part of it", track(100, 0, 0), track(10, 0, 0), 1},
		{"0.9 m off", track(100, 0, 0), track(100, 0.9, 0), 1},
		{"1.1 m off", track(100, 0, 0), track(100, 1.1, 0), 0},
		{"fractions of a second", track(100, 0, 0), track(100, 0, 400*time.Millisecond), 1},
		{"half of the time", track(100, 0, 0), track(100, 50, 50*time.Second), 0.5},
		{"the same log", soundings(50, 0), soundings(50, 0), 1},
		{"in tenths of a foot", soundings(50, 0), soundings(50, 0.015), 1},
		{"other depths", soundings(50, 0), soundings(50, 0.03), 0},
		{"log and track", soundings(50, 0), track(50, 0, 0), 0},
		{"one catch each", events(ingest.Catch), events(ingest.Catch), 1},
		{"one catch of two", events(ingest.Catch), events(ingest.Catch, ingest.Bite), 0},
		{"three of four", events(0, 1, 2), events(0, 1, 2, 3), 1},
		{"other kinds", events(0, 1, 2), events(1, 2, 3), 0},
		{"two levels of a day", level, level, 1},
		{"winds", wind(3, 4), wind(3, 5), 0.5},
		{"nothing", ingest.Records{}, track(5, 0, 0), 0},
	} {
		sources := make([]logbook.Source, 2)
		for i, r := range []ingest.Records{c.a, c.b} {
			var err error
			if sources[i], err = logbook.NewSource([32]byte{byte(i)}, r, time.UTC); err != nil {
				t.Fatal(err)
			}
		}
		for i := range 2 {
			got, err := shared(sources[i], sources[1-i], day, time.UTC)
			if err != nil || got != c.want {
				t.Errorf("%s: %v, wanted %v, %v", c.name, got, c.want, err)
			}
			if got, _ := shared(sources[i], sources[1-i], "2031-10-05", time.UTC); got != 0 {
				t.Errorf("%s: %v on another day", c.name, got)
			}
		}
	}
}
