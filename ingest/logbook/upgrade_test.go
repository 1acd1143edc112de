package logbook

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"leadline/ingest/gpkg"
)

// older makes a logbook of today's version with a record in it, and has a made-up later version from then on.
func older(t testing.TB, upgrade func(*gpkg.Tx) error) (path string) {
	t.Helper()
	b := newBook(t)
	zone := zoneNamed(t, "Asia/Kolkata")
	apply(t, b, zone, source(t, drawn(1, zone), zone))
	b.Close()
	was := upgrades
	t.Cleanup(func() { upgrades = was })
	upgrades = append(upgrades[:len(upgrades):len(upgrades)], upgrade)
	return b.Path()
}

func addColumn(tx *gpkg.Tx) error {
	_, err := tx.Exec("ALTER TABLE days ADD COLUMN moon TEXT")
	return err
}

func TestUpgrade(t *testing.T) {
	runs := 0
	path := older(t, func(tx *gpkg.Tx) error { runs++; return addColumn(tx) })
	before := contents(t, path)
	b, copied, err := Open(ctx, path, Options{})
	if err != nil || copied != path+".v1" || runs != 1 {
		t.Fatalf("copy %q, upgraded %d times, %v", copied, runs, err)
	}
	if !bytes.Equal(contents(t, copied), before) {
		t.Error("the copy is not what was there")
	}
	if err := b.view(ctx, func(tx *gpkg.Tx) error {
		n := 0
		if _, err := tx.QueryOne([]any{&n}, "SELECT count(*) FROM pragma_table_info('days') WHERE name = 'moon'"); err != nil || n != 1 {
			t.Errorf("%d new columns, %v", n, err)
		}
		v, err := tx.Version()
		if v != Version() {
			t.Errorf("version %d", v)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	zone := zoneNamed(t, "Asia/Kolkata")
	list, _, err := b.Read(ctx, Part{All: true})
	if err != nil || len(list) != 1 {
		t.Fatal(len(list), err)
	}
	if r, err := list[0].Records(); err != nil || !sameTracks(r.Tracks, drawn(1, zone).Tracks) {
		t.Error("other records", err)
	}
	b.Close()
	if b, copied, err = Open(ctx, path, Options{}); err != nil || copied != "" || runs != 1 {
		t.Fatalf("opened again: copy %q, upgraded %d times, %v", copied, runs, err)
	}
	b.Close()
	b.Close()
	// The copy is a logbook that the older program opens.
	upgrades = upgrades[:len(upgrades)-1]
	if b, copied, err = Open(ctx, path+".v1", Options{}); err != nil || copied != "" {
		t.Fatal(copied, err)
	}
	b.Close()
	if _, _, err := Open(ctx, path, Options{}); !errors.Is(err, ErrNewer) {
		t.Errorf("%v, wanted ErrNewer", err)
	}
}

func TestUpgradeThatFails(t *testing.T) {
	broken := errors.New("broken")
	path := older(t, func(tx *gpkg.Tx) error {
		if err := addColumn(tx); err != nil {
			return err
		}
		return broken
	})
	before := contents(t, path)
	for range 2 {
		b, copied, err := Open(ctx, path, Options{})
		if !errors.Is(err, broken) || b != nil || copied != path+".v1" {
			t.Fatalf("%v, copy %q", err, copied)
		}
		if !bytes.Equal(contents(t, copied), before) || !bytes.Equal(contents(t, path), before) {
			t.Error("the file or its copy was changed")
		}
	}
}

// A program that is killed in the middle of an upgrade leaves the older logbook; the next one upgrades it.
func TestUpgradeKilled(t *testing.T) {
	if path := os.Getenv("LOGBOOK_UPGRADE"); path != "" {
		upgrades = append(upgrades, func(tx *gpkg.Tx) error {
			if err := addColumn(tx); err != nil {
				return err
			}
			if _, err := tx.DeleteWhere("leadline_packed", "true"); err != nil {
				return err
			}
			if _, err := tx.Exec("PRAGMA cache_spill = 1"); err != nil {
				return err
			}
			os.Exit(7)
			return nil
		})
		Open(ctx, path, Options{})
		os.Exit(1)
	}
	path := older(t, addColumn)
	before := contents(t, path)
	cmd := exec.Command(os.Args[0], "-test.run=^TestUpgradeKilled$")
	cmd.Env = append(os.Environ(), "LOGBOOK_UPGRADE="+path)
	var gone *exec.ExitError
	if err := cmd.Run(); !errors.As(err, &gone) || gone.ExitCode() != 7 {
		t.Fatalf("%v, wanted to be ended in the middle", err)
	}
	if !bytes.Equal(contents(t, path+".v1"), before) {
		t.Error("the copy is not what was there")
	}
	was := upgrades
	upgrades = upgrades[:len(upgrades)-1]
	b, copied, err := Open(ctx, path, Options{})
	if err != nil || copied != "" {
		t.Fatalf("as the older program: copy %q, %v", copied, err)
	}
	if list, _, err := b.Read(ctx, Part{All: true}); err != nil || len(list) != 1 || len(list[0].Chunks) == 0 {
		t.Error("records are lost", err)
	}
	b.Close()
	upgrades = was
	if b, copied, err = Open(ctx, path, Options{}); err != nil || filepath.Base(copied) != "season.gpkg.v1" {
		t.Fatalf("copy %q, %v", copied, err)
	}
	b.Close()
	if _, err := os.Stat(path + ".v1.part"); err == nil {
		t.Error("a part of a copy is left")
	}
}
