package gpkg

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// The test binary runs itself as a second program when childJob is set.
const childJob, childPath = "GPKG_TEST_JOB", "GPKG_TEST_PATH"

func TestMain(m *testing.M) {
	switch os.Getenv(childJob) {
	case "":
		os.Exit(m.Run())
	case "write":
		childWrites(os.Getenv(childPath))
	case "hold":
		childHolds(os.Getenv(childPath))
	}
	os.Exit(3)
}

// child starts the second program; its first word on stdout has been read when
// child returns.
func child(t *testing.T, job, path string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Skip("the test binary doesn't know its own path:", err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), childJob+"="+job, childPath+"="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatal("the second program said nothing")
	}
	return cmd, lines
}

// killRows are the rows of one transaction: enough for bulk loading.
const killRows = 1500

// childWrites puts killRows points, a row with the number of the transaction and the
// version into the file, over and over; every third time it deletes the points
// before.
func childWrites(path string) {
	fmt.Println("begin")
	f, err := Open(path, Options{LastChange: noon, BusyTimeout: time.Second})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for {
		var done int
		err := f.Update(context.Background(), func(tx *Tx) error {
			var err error
			if done, err = tx.Version(); err != nil {
				return err
			}
			if done == 0 {
				if err := tx.CreateLayer(pointLayer("points")); err != nil {
					return err
				}
				if err := tx.CreateLayer(Layer{Name: "log", Columns: []Column{{Name: "number", Type: "INTEGER"}}}); err != nil {
					return err
				}
			}
			done++
			// A small cache makes SQLite write to the file before the commit.
			if _, err := tx.Exec("PRAGMA cache_size = 10"); err != nil {
				return err
			}
			if done%3 == 0 {
				if _, err := tx.DeleteWhere("points", "true"); err != nil {
					return err
				}
			}
			for i := range killRows {
				p := orb.Point{float64(done % 100), float64(i) / 100}
				if _, err := tx.Insert("points", Encode(p, WGS84), 1.0, done, "a"); err != nil {
					return err
				}
			}
			if _, err := tx.Insert("log", nil, done); err != nil {
				return err
			}
			return tx.SetVersion(done)
		})
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Println(done)
	}
}

// After kill -9 at any moment the file opens, is sound, and holds each transaction
// wholly or not at all; all that were reported done are there.
func TestKill(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "0.gpkg")
	r := rand.New(rand.NewPCG(11, 12))
	halfWritten, fresh := 0, 0
	for round := range 50 {
		if round%4 == 0 { // a file being made may be killed too
			path = filepath.Join(dir, fmt.Sprintf("%d.gpkg", round))
		}
		cmd, lines := child(t, "write", path)
		time.AfterFunc(time.Duration(r.IntN(140_000))*time.Microsecond, func() { cmd.Process.Kill() })
		reported := 0
		for lines.Scan() {
			if n, err := strconv.Atoi(lines.Text()); err == nil {
				reported = n
			}
		}
		if err := cmd.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
			t.Fatalf("round %d: the second program ended by itself: %v", round, err)
		}
		if _, err := os.Stat(path + "-journal"); err == nil {
			halfWritten++
			// It may or may not need putting right; reading alone must not spoil it.
			if ro, err := Open(path, Options{ReadOnly: true}); err == nil {
				ro.Close()
			} else if !errors.Is(err, ErrHalfWritten) && !errors.Is(err, ErrNotGeoPackage) {
				t.Errorf("round %d: read only: %v", round, err)
			}
		}
		f := open(t, path, Options{})
		var version int
		var verdict string
		view(t, f, func(tx *Tx) error {
			var err error
			if version, err = tx.Version(); err != nil {
				return err
			}
			_, err = tx.QueryOne([]any{&verdict}, "PRAGMA integrity_check")
			return err
		})
		if verdict != "ok" {
			t.Errorf("round %d: %s", round, verdict)
		}
		if version < reported || version > reported+1 && reported > 0 {
			t.Errorf("round %d: %d transactions in the file, %d reported done", round, version, reported)
		}
		if version == 0 {
			fresh++
		} else {
			want := killRows * (version%3 + 1)
			if version < 3 {
				want = killRows * version
			}
			if n := count(t, f, "SELECT count(*) FROM points"); n != want {
				t.Errorf("round %d: %d points after %d transactions, want %d", round, n, version, want)
			}
			if n := count(t, f, "SELECT count(*) FROM log WHERE number <= ?", version); n != version {
				t.Errorf("round %d: %d log rows, want %d", round, n, version)
			}
			checkIndex(t, f, "points")
		}
		// A journal in which nothing stands yet is let be until the next change.
		update(t, f, func(tx *Tx) error { return tx.Metadata(fmt.Sprint("round ", round), "text/plain") })
		f.Close()
		if _, err := os.Stat(path + "-journal"); err == nil {
			t.Errorf("round %d: a journal is left after a change", round)
		}
	}
	t.Logf("50 kills: %d left a journal, %d before the first commit", halfWritten, fresh)
}

// childHolds keeps a write transaction open until it is killed.
func childHolds(path string) {
	f, err := Open(path, Options{LastChange: noon})
	if err == nil {
		err = f.Update(context.Background(), func(tx *Tx) error {
			if _, err := tx.Insert("a", nil, 1.0, 1, "theirs"); err != nil {
				return err
			}
			fmt.Println("holding")
			select {}
		})
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// Two writers: the second, in this program or another, is refused in plain words
// after the timeout; readers are not; when the first is gone the second may write.
func TestTwoWriters(t *testing.T) {
	first := made(t, pointLayer("a"))
	refused := func(what string, timeout time.Duration) {
		t.Helper()
		second := open(t, first.Path(), Options{BusyTimeout: timeout})
		defer second.Close()
		start := time.Now()
		err := second.Update(context.Background(), func(*Tx) error { t.Error(what, "ran"); return nil })
		took := time.Since(start)
		if !errors.Is(err, ErrInUse) || err.Error() != first.Path()+" is in use by another program" {
			t.Errorf("%s: %v", what, err)
		}
		if took < timeout || took > timeout+5*time.Second {
			t.Errorf("%s: refused after %v, timeout %v", what, took, timeout)
		}
		if n := count(t, second, "SELECT count(*) FROM a"); n != 0 {
			t.Errorf("%s: the reader sees %d rows", what, n)
		}
	}
	update(t, first, func(tx *Tx) error {
		refused("second writer in this program", 0)
		refused("second writer in this program, waiting", 100*time.Millisecond)
		return nil
	})
	cmd, _ := child(t, "hold", first.Path())
	refused("second writer, other program", 0)
	refused("second writer, other program, waiting", 100*time.Millisecond)

	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	patient := open(t, first.Path(), Options{BusyTimeout: time.Hour})
	if err := patient.Update(ctx, func(*Tx) error { return nil }); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("cancelled while it waited: %v", err)
	}
	cmd.Process.Kill()
	cmd.Wait()
	if err := patient.Update(context.Background(), func(tx *Tx) error {
		_, err := tx.Insert("a", nil, 1.0, 1, "mine")
		return err
	}); err != nil {
		t.Errorf("after the other was killed: %v", err)
	}
	if n := count(t, first, "SELECT count(*) FROM a WHERE note = 'mine'"); n != 1 {
		t.Error("the row isn't there")
	}
}

// A reader that doesn't let go stops the commit, not the reader's view.
func TestReaderStopsCommit(t *testing.T) {
	f := made(t, pointLayer("a"))
	other := open(t, f.Path(), Options{ReadOnly: true})
	view(t, other, func(tx *Tx) error {
		if _, err := tx.QueryOne([]any{new(int)}, "SELECT count(*) FROM a"); err != nil {
			return err
		}
		err := f.Update(context.Background(), func(tx *Tx) error {
			_, err := tx.Insert("a", nil, 1.0, 1, "a")
			return err
		})
		if !errors.Is(err, ErrInUse) {
			t.Errorf("commit: %v", err)
		}
		return nil
	})
	if n := count(t, f, "SELECT count(*) FROM a"); n != 0 {
		t.Errorf("%d rows after a refused commit", n)
	}
}

// A file that another program has locked wholly can't be opened.
func TestOpenLocked(t *testing.T) {
	f := made(t)
	update(t, f, func(tx *Tx) error {
		// An exclusive lock comes with the first page that is written early.
		if err := tx.run("PRAGMA cache_size = 1"); err != nil {
			return err
		}
		if err := tx.CreateLayer(pointLayer("a")); err != nil {
			return err
		}
		for range 2000 {
			if _, err := tx.Insert("a", nil, 1.0, 1, strings.Repeat("a", 100)); err != nil {
				return err
			}
		}
		for _, ro := range []bool{false, true} {
			if _, err := Open(f.Path(), Options{LastChange: noon, ReadOnly: ro}); !errors.Is(err, ErrInUse) {
				t.Errorf("read only %v: %v", ro, err)
			}
		}
		return nil
	})
}
