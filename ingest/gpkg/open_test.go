package gpkg

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestOpenMakesGeoPackage(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.gpkg", "a b?c#d%25.gpkg", "é.gpkg"} {
		path := filepath.Join(dir, name)
		f := open(t, path, Options{})
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Errorf("second Close: %v", err)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		// SQLite file format 1.3: user version at 60, application id at 68.
		if string(b[68:72]) != "GPKG" || string(b[60:64]) != "\x00\x00\x28\x3C" || !strings.HasPrefix(string(b), "SQLite format 3\x00") {
			t.Errorf("%s: header %x", name, b[:100])
		}
		open(t, path, Options{ReadOnly: true})
		open(t, path, Options{})
	}
	left, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(left) != 3 {
		t.Errorf("files in the folder: %q", left)
	}
}

// database makes a plain SQLite file by the driver alone.
func database(t *testing.T, path string, statements ...string) {
	t.Helper()
	db := sql.OpenDB(connector{path})
	defer db.Close()
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatal(err)
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	text := func(s string) func(string) {
		return func(path string) {
			if err := os.WriteFile(path, []byte(s), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	db := func(s ...string) func(string) { return func(path string) { database(t, path, s...) } }
	for _, c := range []struct {
		name     string
		make     func(path string)
		opt      Options
		kind     error
		contains string
	}{
		{"short text", text("hello"), Options{}, ErrNotGeoPackage, "not an SQLite database"},
		{"long text", text(strings.Repeat("lat,lon\n", 1000)), Options{}, ErrNotGeoPackage, "not an SQLite database"},
		{"short text, read only", text("hello"), Options{ReadOnly: true}, ErrNotGeoPackage, "not an SQLite database"},
		{"folder", func(p string) { os.Mkdir(p, 0o755) }, Options{}, ErrNotGeoPackage, "folder"},
		{"another database", db("CREATE TABLE a(b)", "INSERT INTO a VALUES (1)"), Options{}, ErrNotGeoPackage, "application id"},
		{"GeoPackage 1.0", db("PRAGMA application_id = 0x47503130", "CREATE TABLE a(b)"), Options{}, ErrNotGeoPackage, "older"},
		{"GeoPackage 2", db("PRAGMA application_id = 0x47504B47", "PRAGMA user_version = 20000", "CREATE TABLE a(b)"), Options{}, ErrNotGeoPackage, "version is 20000"},
		{"only the numbers", db("PRAGMA application_id = 0x47504B47", "PRAGMA user_version = 10300", "CREATE TABLE a(b)"), Options{}, ErrNotGeoPackage, "gpkg_spatial_ref_sys"},
		{"missing, read only", func(string) {}, Options{ReadOnly: true}, fs.ErrNotExist, ""},
		{"empty, read only", text(""), Options{ReadOnly: true}, ErrNotGeoPackage, "empty"},
		{"missing folder", func(string) {}, Options{}, fs.ErrNotExist, ""},
		{"garbage after a good start", text("SQLite format 3\x00" + strings.Repeat("x", 5000)), Options{}, ErrNotGeoPackage, ""},
	} {
		path := filepath.Join(dir, strings.ReplaceAll(c.name, " ", "_"))
		if c.name == "missing folder" {
			path = filepath.Join(path, "a.gpkg")
		}
		c.make(path)
		before, _ := os.ReadFile(path)
		c.opt.LastChange = noon
		f, err := Open(path, c.opt)
		if err == nil {
			f.Close()
			t.Errorf("%s: opened", c.name)
			continue
		}
		if !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.contains) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", c.name, err)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s: the file was changed", c.name)
		}
	}
	if _, err := Open(filepath.Join(dir, "x.gpkg"), Options{}); err == nil {
		t.Error("without LastChange: opened")
	}
	if _, err := os.Stat(filepath.Join(dir, "x.gpkg")); err == nil {
		t.Error("a refused Open left a file")
	}
}

// A GIS may leave a file in write-ahead mode; it becomes one file again.
func TestOpenEndsWriteAhead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.gpkg")
	open(t, path, Options{}).Close()
	database(t, path, "PRAGMA journal_mode = WAL", "CREATE TABLE other(a)")
	f := open(t, path, Options{})
	if n := count(t, f, `SELECT count(*) FROM pragma_journal_mode WHERE journal_mode = 'delete'`); n != 1 {
		t.Error("still in write-ahead mode")
	}
	if _, err := os.Stat(path + "-wal"); err == nil {
		t.Error("the second file is still there")
	}
}

func TestReadOnlyAndView(t *testing.T) {
	f := made(t, pointLayer("a"))
	f.Close()
	r := open(t, f.Path(), Options{ReadOnly: true})
	if err := r.Update(context.Background(), func(*Tx) error { return nil }); !errors.Is(err, ErrReadOnly) {
		t.Errorf("Update: %v", err)
	}
	var kept *Tx
	view(t, r, func(tx *Tx) error {
		kept = tx
		if _, err := tx.Insert("a", nil, 1.0, 1, "a"); !errors.Is(err, ErrReadOnly) {
			t.Errorf("Insert: %v", err)
		}
		if _, err := tx.Exec("DELETE FROM a"); !errors.Is(err, ErrReadOnly) {
			t.Errorf("Exec: %v", err)
		}
		return nil
	})
	if _, err := kept.Version(); err == nil {
		t.Error("a transaction was used after its end")
	}
	r.Close()
	if err := r.View(context.Background(), func(*Tx) error { return nil }); !errors.Is(err, ErrClosed) {
		t.Errorf("after Close: %v", err)
	}
}

func TestAllOrNothing(t *testing.T) {
	f := made(t, pointLayer("a"))
	boom := errors.New("boom")
	two := func(tx *Tx) error {
		for range 2 * bulkAfter {
			if _, err := tx.Insert("a", nil, 1.0, 1, "a"); err != nil {
				return err
			}
		}
		return nil
	}
	if err := f.Update(context.Background(), func(tx *Tx) error { two(tx); return boom }); err != boom {
		t.Errorf("error of the function: %v", err)
	}
	func() {
		defer func() { recover() }()
		f.Update(context.Background(), func(tx *Tx) error { two(tx); panic(boom) })
	}()
	ctx, cancel := context.WithCancel(context.Background())
	err := f.Update(ctx, func(tx *Tx) error {
		if err := two(tx); err != nil {
			return err
		}
		cancel()
		return two(tx)
	})
	if !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), f.Path()) {
		t.Errorf("cancelled: %v", err)
	}
	ctx, cancel = context.WithCancel(context.Background())
	err = f.Update(ctx, func(tx *Tx) error { defer cancel(); return two(tx) })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled at the end: %v", err)
	}
	if n := count(t, f, `SELECT count(*) FROM a`); n != 0 {
		t.Errorf("%d rows after four transactions that failed", n)
	}
	if n := count(t, f, `SELECT count(*) FROM sqlite_master WHERE type = 'trigger'`); n != 6 {
		t.Errorf("%d triggers, want 6", n)
	}
	update(t, f, two)
	if n := count(t, f, `SELECT count(*) FROM a`); n != 2*bulkAfter {
		t.Errorf("%d rows", n)
	}
}
