package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/spf13/pflag"

	"leadline/ingest/gpkg"
	"leadline/ingest/load"
	"leadline/ingest/madelake"
)

// The logbook holds all of an import or nothing of it, whatever happens to the program meanwhile.

// command is the program with the logbook at path, ready to run as a process of its own: the test binary is the program
// where it is called by its name.
func (s *season) command(path string, args ...string) *exec.Cmd {
	return &exec.Cmd{
		Path: s.exe,
		Args: append([]string{"leadline", "--logbook", path, "--boat", filepath.Join(s.dir, "boat.toml"), "--quiet"}, args...),
	}
}

// call runs the program to its end.
func (s *season) call(path string, args ...string) (code int, out, errOut string) {
	return ended(s.command(path, args...))
}

// ended runs a command to its end; code is -1 when it was killed.
func ended(cmd *exec.Cmd) (code int, out, errOut string) {
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	if err := cmd.Run(); err != nil && cmd.ProcessState == nil {
		return -2, "", err.Error()
	}
	return cmd.ProcessState.ExitCode(), o.String(), e.String()
}

// must runs the program, which must succeed.
func (s *season) must(t *testing.T, path string, args ...string) (out string) {
	t.Helper()
	code, out, errOut := s.call(path, args...)
	if code != exitDone {
		t.Fatalf("%s: exit %d\n%s", strings.Join(args, " "), code, errOut)
	}
	return out
}

// A season is one whose files lie in folders, by days: base, first and second hold a third of them each, the tables cut where
// a part ends. For imports that change what is there: grown holds the files of second, with tables of the whole season. For
// two imports that bring files of the same days: bare holds the recordings of first; tables those of second, with the
// tables of both.
type season struct {
	exe, dir string
	days     []string
}

// underRaceDetector is set by book_crash_race_test.go.
var underRaceDetector bool

// makeSeason writes a season, but for the recordings of some days.
func makeSeason(t *testing.T, plan madelake.Plan, without ...string) *season {
	t.Helper()
	if underRaceDetector {
		t.Skip("what runs at once here are processes, of which the detector sees nothing but takes minutes")
	}
	exe, err := os.Executable()
	if err != nil {
		t.Skip("the test binary doesn't know its own path:", err)
	}
	s := &season{exe: exe, dir: t.TempDir()}
	files, truth := madelake.Make(plan)
	for _, d := range truth.Days {
		if !slices.Contains(without, d.Date) {
			s.days = append(s.days, d.Date)
		}
	}
	n := len(s.days)
	first, second := s.days[n/3], s.days[2*n/3]
	put := func(dir, name, text string) {
		if err := os.MkdirAll(filepath.Join(s.dir, dir), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(s.dir, dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range files {
		text := string(f.Data)
		switch {
		case f.Name == "boat.toml":
			put("", f.Name, text)
		case f.Name == "catches.csv" || f.Name == "levels.csv":
			heading, rows, _ := strings.Cut(text, "\n")
			part := func(from, to string) string { // rows begin with their day
				out := heading + "\n"
				for row := range strings.Lines(rows) {
					if row >= from && row < to {
						out += row
					}
				}
				return out
			}
			put("base", f.Name, part("", first))
			put("first", f.Name, part(first, second))
			put("second", f.Name, part(second, "9"))
			put("grown", f.Name, text)
			put("tables", f.Name, part(first, "9"))
		case !strings.HasSuffix(f.Name, ".gpx") && !strings.HasSuffix(f.Name, ".csv"):
		case slices.ContainsFunc(without, func(day string) bool { return strings.HasPrefix(f.Name, day) }):
		case f.Name < first:
			put("base", f.Name, text)
		case f.Name < second:
			put("first", f.Name, text)
			put("bare", f.Name, text)
		default:
			for _, dir := range []string{"second", "grown", "tables"} {
				put(dir, f.Name, text)
			}
		}
	}
	return s
}

// paths returns folders of the season.
func (s *season) paths(dirs ...string) (list []string) {
	for _, d := range dirs {
		list = append(list, filepath.Join(s.dir, d))
	}
	return list
}

// imports returns what is typed to import folders of the season.
func (s *season) imports(dirs ...string) []string {
	return append([]string{"import"}, s.paths(dirs...)...)
}

// The imports that are struck: the first, into a new logbook, and the next, which changes what that made and adds to it.
func (s *season) first() []string { return s.imports("base", "first") }
func (s *season) next() []string  { return append(s.imports("grown"), "--again", "replace") }

// A bookState is what a logbook holds, as its readers see it.
type bookState struct {
	days    string // days --json
	tables  string // name, rows and hash of every table of the file
	exports string // names and hashes of the first and the last day given back
}

// differ tells where two states differ.
func (a bookState) differ(b bookState) string {
	var out strings.Builder
	if a.days != b.days {
		out.WriteString("days --json\n")
	}
	for _, x := range [][2]string{{a.tables, b.tables}, {a.exports, b.exports}} {
		for l := range strings.Lines(x[0]) {
			if !strings.Contains(x[1], l) {
				out.WriteString(l)
			}
		}
	}
	return out.String()
}

// state reads a logbook by the program, then by the file's tables. The program comes first: it finds the file as the
// killed one left it.
func (s *season) state(t *testing.T, path string) (b bookState) {
	t.Helper()
	b.days = s.must(t, path, "days", "--json")
	for _, day := range []string{s.days[0], s.days[len(s.days)-1]} {
		out := t.TempDir()
		code, _, errOut := s.call(path, "export", day, "-o", out)
		if has := strings.Contains(b.days, `"date": "`+day+`"`); has != (code == exitDone) || !has && !strings.Contains(errOut, "not in the logbook") {
			t.Errorf("export %s: exit %d, days has it: %v\n%s", day, code, has, errOut)
		}
		files, err := os.ReadDir(out)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			text, err := os.ReadFile(filepath.Join(out, f.Name()))
			if err != nil {
				t.Fatal(err)
			}
			b.exports += fmt.Sprintf("%s %x\n", f.Name(), sha256.Sum256(text))
		}
	}
	b.tables = tables(t, path)
	return b
}

// tables lists every table of a GeoPackage with the number of its rows and a hash of them, after SQLite has checked it
// whole.
func tables(t *testing.T, path string) string {
	t.Helper()
	f, err := gpkg.Open(path, gpkg.Options{ReadOnly: true, BusyTimeout: 5 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out strings.Builder
	err = f.View(context.Background(), func(tx *gpkg.Tx) error {
		var verdict string
		if _, err := tx.QueryOne([]any{&verdict}, "PRAGMA integrity_check"); err != nil {
			return err
		}
		if verdict != "ok" {
			t.Errorf("integrity check: %s", verdict)
		}
		columns := map[string]int{}
		err := tx.Query(func(scan func(...any) error) error {
			var name string
			var n int
			if err := scan(&name, &n); err != nil {
				return err
			}
			columns[name] = n
			return nil
		}, "SELECT m.name, count(*) FROM sqlite_master m, pragma_table_info(m.name) WHERE m.type = 'table' GROUP BY m.name")
		if err != nil {
			return err
		}
		for _, name := range slices.Sorted(maps.Keys(columns)) {
			values, dest := make([]any, columns[name]), make([]any, columns[name])
			for i := range values {
				dest[i] = &values[i]
			}
			hash, n := sha256.New(), 0
			err := tx.Query(func(scan func(...any) error) error {
				n++
				if err := scan(dest...); err != nil {
					return err
				}
				fmt.Fprintf(hash, "%q\n", values)
				return nil
			}, `SELECT * FROM "`+name+`"`)
			if err != nil {
				return err
			}
			fmt.Fprintf(&out, "%s %d %x\n", name, n, hash.Sum(nil))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// writeBook puts a logbook at a fresh path.
func writeBook(t *testing.T, data []byte) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "book.gpkg")
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func readBook(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// made is the logbook that the first import makes, as bytes, and its state.
func (s *season) made(t *testing.T) ([]byte, bookState) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.gpkg")
	s.must(t, path, s.first()...)
	b := s.state(t, path)
	return readBook(t, path), b
}

// A moment is one in the life of an import.
type moment int

const (
	atStart   moment = iota
	atJournal        // FILE-journal is there: the transaction has begun to change pages
	atWriting        // the logbook itself is being written to: the commit has begun
	atGone           // FILE-journal is gone: the commit is done
	atEnd            // the process has ended
)

func (m moment) String() string {
	return []string{"the start", "the journal", "the writing", "the commit", "the end"}[m]
}

// watch waits until a process that imports into path comes to the moment, or has ended. It looks at the file from
// outside only: opening it would make this process a reader.
func watch(path string, m moment, ended <-chan struct{}) (reached bool) {
	if m == atStart {
		return true
	}
	before, _ := os.Stat(path)
	for had := false; ; {
		if !had { // what comes after the journal lasts a few milliseconds
			time.Sleep(50 * time.Microsecond)
		}
		select {
		case <-ended:
			return m == atEnd
		default:
		}
		_, err := os.Stat(path + "-journal")
		there := err == nil
		had = had || there
		switch {
		case m == atJournal && there, m == atGone && had && !there:
			return true
		case m == atWriting:
			now, err := os.Stat(path)
			if err == nil && (before == nil || now.Size() != before.Size() || !now.ModTime().Equal(before.ModTime())) {
				return true
			}
		}
	}
}

// A process is one that was started; done is closed when it has ended.
type process struct {
	*exec.Cmd
	out, err bytes.Buffer
	done     chan struct{}
}

func start(t *testing.T, cmd *exec.Cmd) *process {
	t.Helper()
	p := &process{Cmd: cmd, done: make(chan struct{})}
	cmd.Stdout, cmd.Stderr = &p.out, &p.err
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		cmd.Wait()
		close(p.done)
	}()
	return p
}

// code is the exit status of a process that has ended, -1 when a signal ended it.
func (p *process) code() int { return p.ProcessState.ExitCode() }

// A blow falls a while after a moment.
type blow struct {
	at    moment
	after time.Duration
}

// strike runs an import and strikes it. reached: it came to the moment of the blow.
func (s *season) strike(t *testing.T, path string, args []string, b blow, sig os.Signal) (p *process, reached bool) {
	t.Helper()
	p = start(t, s.command(path, args...))
	if reached = watch(path, b.at, p.done); reached {
		select {
		case <-time.After(b.after):
		case <-p.done:
		}
	}
	p.Process.Signal(sig) // an error means that it has ended
	<-p.done
	return p, reached
}

// blows spreads n blows: two of five evenly over the whole run and a bit more, one over the time in which the
// transaction is at work, one as the logbook itself is being written, one right behind the commit. How long these take is
// measured once.
func (s *season) blows(t *testing.T, n int, r *rand.Rand, old []byte, args []string) (list []blow) {
	t.Helper()
	// The quickest of three: from a slow one most blows would come too late.
	var at [atEnd + 1]time.Duration
	for range 3 {
		path := filepath.Join(t.TempDir(), "book.gpkg")
		if old != nil {
			path = writeBook(t, old)
		}
		var now [atEnd + 1]time.Duration
		begun := time.Now()
		p := start(t, s.command(path, args...))
		for m := atJournal; m <= atEnd; m++ {
			watch(path, m, p.done)
			now[m] = time.Since(begun)
		}
		if at[atEnd] == 0 || now[atEnd] < at[atEnd] {
			at = now
		}
	}
	last := atGone
	if old == nil { // a logbook is made in three transactions, of which this is the first
		last = atEnd
	}
	upTo := func(d time.Duration) time.Duration { return time.Duration(r.Int64N(int64(d + d/8 + 1))) }
	for i := range n {
		switch i % 5 {
		case 0, 1:
			list = append(list, blow{atStart, upTo(at[atEnd])})
		case 2:
			list = append(list, blow{atJournal, upTo(at[last] - at[atJournal])})
		case 3:
			list = append(list, blow{atWriting, 0})
		case 4:
			list = append(list, blow{atGone, 0})
		}
	}
	return list
}

// A killTally counts what kills left behind.
type killTally struct {
	old, new    int // states found
	finished    int // of the new ones those whose import had ended before the blow
	journal     int // a journal was left: the kill fell into the transaction
	halfWritten int // and the logbook itself was half-written
}

// kills is how many imports were killed.
func (k killTally) kills() int { return k.old + k.new - k.finished }

// kill kills n imports, each into a copy of the same logbook, and finds the old state or the new one. Blows that came when the
// import had ended don't count.
func (s *season) kill(t *testing.T, n int, seed uint64) (k killTally) {
	t.Helper()
	old, was := s.made(t)
	path := writeBook(t, old)
	s.must(t, path, s.next()...)
	will := s.state(t, path)
	if was == will || was.days == will.days || was.exports == will.exports || was.tables == will.tables {
		t.Fatal("the import changes nothing")
	}
	for i, b := range s.blows(t, 3*n, rand.New(rand.NewPCG(seed, 1)), old, s.next()) {
		if k.kills() == n {
			break
		}
		path := writeBook(t, old)
		p, reached := s.strike(t, path, s.next(), b, os.Kill)
		where := fmt.Sprintf("kill %d, %v after %v", i, b.after, b.at)
		if p.code() > 0 {
			t.Errorf("%s: exit %d\n%s", where, p.code(), p.err.String())
		}
		_, err := os.Stat(path + "-journal")
		left := err == nil
		if left {
			k.journal++
			if !bytes.Equal(readBook(t, path), old) {
				k.halfWritten++
			}
		}
		now := s.state(t, path)
		switch now {
		case was:
			k.old++
			if p.code() == exitDone || b.at == atGone && reached {
				t.Errorf("%s: exit %d, yet the logbook is the old one", where, p.code())
			}
		case will:
			k.new++
			if p.code() == exitDone {
				k.finished++
			}
			if left {
				t.Errorf("%s: a journal was left, yet the logbook is the new one", where)
			}
		default:
			t.Errorf("%s: neither the old logbook nor the new one; beside the old:\n%sbeside the new:\n%s", where, now.differ(was), now.differ(will))
		}
		if i%4 > 0 {
			continue
		}
		// The import can be made again, and clears what the killed one left.
		s.must(t, path, s.next()...)
		if now := s.state(t, path); now != will {
			t.Errorf("%s: imported again, beside the new logbook:\n%s", where, now.differ(will))
		}
		if _, err := os.Stat(path + "-journal"); err == nil {
			t.Errorf("%s: imported again, a journal is left", where)
		}
	}
	return k
}

// hold says what was seen, and that it tests what it should. The logbook is written to for a millisecond or two, and
// the process ends a few after the commit: few kills don't always hit that.
func (k killTally) hold(t *testing.T) {
	t.Helper()
	t.Logf("%d kills: %d left the old logbook, %d the new one; %d left a journal, %d of them a half-written file; %d more imports had ended before the blow",
		k.kills(), k.old, k.new-k.finished, k.journal, k.halfWritten, k.finished)
	if k.old == 0 || k.new == 0 || k.journal == 0 || k.kills() > 100 && (k.new == k.finished || k.halfWritten == 0) {
		t.Error("not every kind of kill was seen")
	}
}

// inUse is what a program says that waited for another in vain.
func inUse(path string) string { return "leadline: error: " + path + " is in use by another program\n" }

// Guards against an import that waits for ever, gives up without a reason, or writes in spite of the other.
func TestLogbookInUse(t *testing.T) {
	if testing.Short() {
		t.Skip("it waits for five seconds")
	}
	t.Parallel()
	s := threeDays(t)
	old, was := s.made(t)
	var wait sync.WaitGroup // the three wait more than they work
	defer wait.Wait()
	for _, c := range []struct {
		name string
		hold func(*gpkg.File, func(*gpkg.Tx) error) error
	}{
		{"a program that writes", func(f *gpkg.File, during func(*gpkg.Tx) error) error {
			return f.Update(context.Background(), during)
		}},
		{"a program that has written", func(f *gpkg.File, during func(*gpkg.Tx) error) error {
			return f.Update(context.Background(), func(tx *gpkg.Tx) error {
				// A page that leaves the cache before the commit locks readers out, too.
				for _, sql := range []string{"PRAGMA cache_size = 1", "UPDATE leadline_packed SET n = n + 1"} {
					if _, err := tx.Exec(sql); err != nil {
						return err
					}
				}
				return during(tx)
			})
		}},
		{"a program that reads", func(f *gpkg.File, during func(*gpkg.Tx) error) error {
			return f.View(context.Background(), func(tx *gpkg.Tx) error {
				if _, err := tx.QueryOne([]any{new(int)}, "SELECT count(*) FROM days"); err != nil {
					return err
				}
				return during(tx)
			})
		}},
	} {
		wait.Go(func() {
			t.Run(c.name, func(t *testing.T) {
				path := writeBook(t, old)
				f, err := gpkg.Open(path, gpkg.Options{LastChange: time.Unix(0, 0)})
				if err != nil {
					t.Fatal(err)
				}
				defer f.Close()
				giveBack := errors.New("nothing is to be written")
				err = c.hold(f, func(*gpkg.Tx) error {
					begun := time.Now()
					code, out, errOut := s.call(path, s.next()...)
					took := time.Since(begun)
					if code != exitFailed || errOut != inUse(path) || out != "" {
						t.Errorf("exit %d\n%s%s", code, errOut, out)
					}
					// It waits 5 s, and reads for less than one; another 5 s for a busy machine.
					if took < 5*time.Second || took > 11*time.Second {
						t.Errorf("it took %v", took)
					}
					return giveBack
				})
				if err != giveBack {
					t.Fatal(err)
				}
				f.Close()
				if now := s.state(t, path); now != was {
					t.Errorf("beside the old logbook:\n%s", now.differ(was))
				}
				s.must(t, path, s.next()...)
			})
		})
	}
}

// Guards against an import that shows by halves after kill -9 at any moment, and against one that is lost though it was
// reported done.
func TestKilledImport(t *testing.T) {
	t.Parallel()
	n := 25
	if testing.Short() {
		n = 10
	}
	k := threeDays(t).kill(t, n, 1)
	k.hold(t)
}

// threeDays has one day in each part. The season's second day is left out: it has the most fixes, and takes as long as the others
// together.
func threeDays(t *testing.T) *season {
	t.Helper()
	p := madelake.Default(1, madelake.Small)
	p.Days = 4
	return makeSeason(t, p, "2031-10-10")
}

// killNew kills n first imports. They leave no logbook, an empty one or the whole one, and the next import makes it whole.
func (s *season) killNew(t *testing.T, n int, seed uint64) (none, empty, whole int) {
	t.Helper()
	_, will := s.made(t)
	r := rand.New(rand.NewPCG(seed, 2))
	for i, b := range s.blows(t, n, r, nil, s.first()) {
		path := filepath.Join(t.TempDir(), "book.gpkg")
		p, _ := s.strike(t, path, s.first(), b, os.Kill)
		where := fmt.Sprintf("kill %d, %v after %v", i, b.after, b.at)
		if p.code() > 0 {
			t.Errorf("%s: exit %d\n%s", where, p.code(), p.err.String())
		}
		_, err := os.Stat(path)
		there := err == nil
		code, out, errOut := s.call(path, "days", "--json")
		switch {
		case isNone(path, code, errOut): // or a file without the tables of a logbook
			none++
			if _, err := os.Stat(path); !there && err == nil {
				t.Errorf("%s: days made a file", where)
			}
		case code != exitDone:
			t.Errorf("%s: days exits %d\n%s", where, code, errOut)
		case out == emptyBook:
			empty++
		case out == will.days:
			whole++
			if now := s.state(t, path); now != will {
				t.Errorf("%s: beside the new logbook:\n%s", where, now.differ(will))
			}
		default:
			t.Errorf("%s: a part of the days is there:\n%s", where, out)
		}
		if p.code() == exitDone && out != will.days {
			t.Errorf("%s: reported done, yet the logbook has\n%s", where, out)
		}
		s.must(t, path, s.first()...)
		if now := s.state(t, path); now != will {
			t.Errorf("%s: imported again, beside the new logbook:\n%s", where, now.differ(will))
		}
	}
	t.Logf("%d kills: %d left no logbook, %d an empty one, %d the whole one", n, none, empty, whole)
	return none, empty, whole
}

// isNone reports whether a reader found no logbook at path.
func isNone(path string, code int, errOut string) bool {
	return code == exitFailed && strings.HasPrefix(errOut, "leadline: error: "+path+": no logbook\nleadline: hint: ")
}

// emptyBook is what days --json says of a logbook without a day.
const emptyBook = "{\n \"zone\": \"UTC\",\n \"days\": []\n}\n"

// Guards against a first import that was killed and leaves what no later one, nor days, can open.
func TestKilledFirstImport(t *testing.T) {
	t.Parallel()
	n := 8
	if testing.Short() {
		n = 5
	}
	threeDays(t).killNew(t, n, 1)
}

// Guards against "nothing was written" where something was: Ctrl-C before the commit leaves the old logbook and says
// so, from the commit on the import is done and says that.
func TestInterruptedImport(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		t.Skip("no process can be interrupted from outside there")
	}
	s := threeDays(t)
	old, was := s.made(t)
	path := writeBook(t, old)
	s.must(t, path, s.next()...)
	will := s.state(t, path)
	n := 10
	if testing.Short() {
		n = 5
	}
	interrupted := 0
	for i, b := range s.blows(t, n, rand.New(rand.NewPCG(1, 3)), old, s.next()) {
		path := writeBook(t, old)
		p, _ := s.strike(t, path, s.next(), b, os.Interrupt)
		where := fmt.Sprintf("interrupt %d, %v after %v", i, b.after, b.at)
		_, err := os.Stat(path + "-journal")
		left := err == nil
		now := s.state(t, path)
		ok, said := false, strings.HasSuffix(p.out.String(), "added to "+path+"\n")
		switch p.code() {
		case exitInterrupted:
			interrupted++
			ok = now == was && p.err.String() == "leadline: interrupted, nothing was written\n" && p.out.Len() == 0
		case exitDone:
			ok = now == will && said
		case -1: // before the program had begun to listen, or when it had said its last word
			ok = now == was && b.at == atStart || now == will && said
		}
		if !ok || left {
			t.Errorf("%s: exit %d; the old logbook: %v, the new one: %v, a journal: %v\n%s%s", where, p.code(), now == was, now == will, left, p.err.String(), p.out.String())
		}
	}
	if interrupted == 0 {
		t.Error("no import was interrupted")
	}
}

// A pair is two imports at once.
type pair struct {
	name string
	base bool // into a logbook that has the first days
	a, b string

	old     []byte             // nil where there is none yet
	allowed map[string]bool    // what days --json may say at any time
	ends    map[bookState]bool // what may be there in the end: as after one import behind the other
	took    time.Duration      // one import
}

// pairs lists imports of different days, and of different files of the same days.
func (s *season) pairs(t *testing.T) []*pair {
	t.Helper()
	list := []*pair{
		{name: "new", a: "first", b: "second"}, {name: "existing", base: true, a: "first", b: "second"},
		{name: "new, the same days", a: "bare", b: "tables"}, {name: "existing, the same days", base: true, a: "bare", b: "tables"},
	}
	for _, c := range list {
		c.allowed, c.ends = map[string]bool{}, map[bookState]bool{}
		if c.base {
			path := filepath.Join(t.TempDir(), "book.gpkg")
			s.must(t, path, s.imports("base")...)
			c.old = readBook(t, path)
			c.allowed[s.must(t, path, "days", "--json")] = true
		} else {
			c.allowed[emptyBook] = true
		}
		for _, order := range [][]string{{c.a, c.b}, {c.b, c.a}} {
			path := c.book(t)
			for _, dir := range order {
				begun := time.Now()
				s.must(t, path, s.imports(dir)...)
				c.took = time.Since(begun)
				c.allowed[s.must(t, path, "days", "--json")] = true
			}
			c.ends[s.state(t, path)] = true
		}
	}
	return list
}

// book returns a fresh path, with the logbook that the two begin with.
func (c *pair) book(t *testing.T) (path string) {
	t.Helper()
	if c.old != nil {
		return writeBook(t, c.old)
	}
	return filepath.Join(t.TempDir(), "book.gpkg")
}

// check compares what two imports left with what they leave one behind the other.
func (c *pair) check(t *testing.T, now bookState) {
	t.Helper()
	if c.ends[now] {
		return
	}
	for end := range c.ends {
		t.Errorf("%s: it is not as after one import behind the other:\n%s", c.name, now.differ(end))
	}
}

func TestTwoImports(t *testing.T) {
	t.Parallel()
	s := threeDays(t)
	pairs := s.pairs(t)
	t.Run("at once", func(t *testing.T) { s.atOnce(t, pairs) })
	t.Run("one during the other", func(t *testing.T) { s.during(t, pairs) })
}

// Guards against a change that is lost or mixed with another when two imports run at once, and against readers that see
// one by halves.
func (s *season) atOnce(t *testing.T, pairs []*pair) {
	rounds := 10
	if testing.Short() {
		rounds = 4
	}
	r := rand.New(rand.NewPCG(1, 4))
	refused, read := 0, 0
	for i := range rounds {
		c := pairs[i%len(pairs)]
		path := c.book(t)
		stop := make(chan struct{})
		var reader sync.WaitGroup
		reader.Go(func() {
			for {
				select {
				case <-stop:
					return
				case <-time.After(time.Duration(10+5*i) * time.Millisecond): // in the first rounds often
				}
				code, out, errOut := s.call(path, "days", "--json")
				read++
				missing := c.old == nil && isNone(path, code, errOut)
				if !missing && (code != exitDone || !c.allowed[out]) {
					t.Errorf("round %d, %s: a reader exits %d and sees\n%s%s", i, c.name, code, errOut, out)
				}
			}
		})
		one := start(t, s.command(path, s.imports(c.a)...))
		if i/len(pairs)%2 == 1 { // so that one reads the logbook before the other's commit, and again after it
			time.Sleep(time.Duration(r.Int64N(int64(c.took))))
		}
		two := start(t, s.command(path, s.imports(c.b)...))
		<-one.done
		<-two.done
		close(stop)
		reader.Wait()
		for _, x := range []struct {
			dir string
			p   *process
		}{{c.a, one}, {c.b, two}} {
			switch p := x.p; {
			case p.code() == exitDone:
			case p.code() == exitFailed && p.err.String() == inUse(path) && p.out.Len() == 0:
				refused++
				s.must(t, path, s.imports(x.dir)...)
			default:
				t.Errorf("round %d, %s: import %s: exit %d\n%s", i, c.name, x.dir, p.code(), p.err.String())
			}
		}
		c.check(t, s.state(t, path))
	}
	t.Logf("%d rounds: %d imports refused, %d readings between", rounds, refused, read)
}

// Guards against an import that goes on from a logbook that has changed since it looked: another one is made whole while it
// reads its files, of the same days and of others, into a logbook that is there and into none.
func (s *season) during(t *testing.T, pairs []*pair) {
	for _, c := range pairs {
		for _, x := range [][2]string{{c.a, c.b}, {c.b, c.a}} {
			path := c.book(t)
			a := &app{out: io.Discard, err: io.Discard}
			a.common.book, a.common.boat, a.common.quiet = path, filepath.Join(s.dir, "boat.toml"), true
			var flags readFlags
			flags.add(pflag.NewFlagSet("", pflag.ContinueOnError))
			opt, _, err := a.loading(&flags, a.progress())
			if err != nil {
				t.Fatal(err)
			}
			var once sync.Once
			opt.Progress = func(int, int) { once.Do(func() { s.must(t, path, s.imports(x[1])...) }) }
			b, err := a.openBook(context.Background(), true)
			if err != nil {
				t.Fatal(err)
			}
			func() {
				defer func() {
					if r := recover(); r != nil {
						err = fmt.Errorf("panic: %v", r)
					}
				}()
				_, err = b.Import(context.Background(), s.paths(x[0]), opt, load.AskAgain)
			}()
			b.Close()
			if err != nil {
				t.Errorf("%s, %s during %s: %v", c.name, x[1], x[0], err)
				continue
			}
			c.check(t, s.state(t, path))
		}
	}
}

// Guards against anything in the file that comes from the clock, from chance or from how many processors there are; and
// against an import that writes though it has nothing to add.
func TestSameImportsSameBytes(t *testing.T) {
	t.Parallel()
	s := threeDays(t)
	path := filepath.Join(t.TempDir(), "book.gpkg")
	all := s.imports("base", "first", "second")
	s.must(t, path, all...)
	want := readBook(t, path)
	for _, c := range []struct {
		name string
		env  string
		args []string
	}{
		{"again from scratch", "TZ=UTC", all},
		{"on one processor", "GOMAXPROCS=1", all},
		{"on eight", "GOMAXPROCS=8", all},
		{"in another place of the earth", "TZ=Asia/Kolkata", all},
	} {
		path := filepath.Join(t.TempDir(), "other.gpkg")
		cmd := s.command(path, c.args...)
		cmd.Env = append(os.Environ(), c.env)
		if code, _, errOut := ended(cmd); code != exitDone {
			t.Errorf("%s: exit %d\n%s", c.name, code, errOut)
		} else if !bytes.Equal(readBook(t, path), want) {
			t.Errorf("%s: other bytes\n%s", c.name, s.state(t, path).differ(s.state(t, writeBook(t, want))))
		}
	}
	for _, args := range [][]string{all, s.imports("second"), s.imports("base/catches.csv"), append(s.imports("first"), "--again", "replace"), {"days"}, {"export", s.days[0], "-o", t.TempDir()}} {
		out := s.must(t, path, args...)
		if args[0] == "import" && !strings.Contains(out, path+" has all of it already") {
			t.Errorf("%v says\n%s", args, out)
		}
		if !bytes.Equal(readBook(t, path), want) {
			t.Errorf("%v changed the file", args)
		}
		if _, err := os.Stat(path + "-journal"); err == nil {
			t.Errorf("%v left a journal", args)
		}
	}
}
