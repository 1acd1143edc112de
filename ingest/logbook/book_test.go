package logbook

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"leadline/ingest/gpkg"
)

var ctx = context.Background()

func newBook(t testing.TB) *Book {
	t.Helper()
	b, copied, err := Open(ctx, filepath.Join(t.TempDir(), "season.gpkg"), Options{Make: true})
	if err != nil || copied != "" {
		t.Fatal(err, copied)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func contents(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// change runs one transaction on a file that isn't open.
func change(t testing.TB, path string, fn func(*gpkg.Tx) error) {
	t.Helper()
	f, err := gpkg.Open(path, gpkg.Options{LastChange: time.Unix(0, 0)})
	if err == nil {
		err = f.Update(ctx, fn)
	}
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
}

func TestOpen(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	put := func(name string, data []byte) string {
		if err := os.WriteFile(in(name), data, 0o666); err != nil {
			t.Fatal(err)
		}
		return in(name)
	}
	made := func(name string) string {
		b, _, err := Open(ctx, in(name), Options{Make: true})
		if err != nil {
			t.Fatal(err)
		}
		b.Close()
		return in(name)
	}
	newer := made("newer.gpkg")
	change(t, newer, func(tx *gpkg.Tx) error { return tx.SetVersion(99) })
	foreign := in("foreign.gpkg")
	change(t, foreign, func(tx *gpkg.Tx) error {
		return tx.CreateLayer(gpkg.Layer{Name: "parcels", Geometry: "POLYGON", Columns: []gpkg.Column{column("owner", text, "", "")}})
	})
	whole := contents(t, made("whole.gpkg"))
	cut := put("cut.gpkg", whole[:len(whole)/2])
	garbled := bytes.Clone(whole)
	for i := 4096; i < len(garbled); i++ {
		garbled[i] ^= 0x5a
	}
	for _, c := range []struct {
		name, path string
		make       bool
		want       error
	}{
		{"missing", in("none.gpkg"), false, ErrNone},
		{"missing folder", in("none/none.gpkg"), true, fs.ErrNotExist},
		{"newer", newer, false, ErrNewer},
		{"newer, to be made", newer, true, ErrNewer},
		{"foreign", foreign, false, ErrOther},
		{"foreign, to be made", foreign, true, ErrOther},
		{"text", put("text.gpkg", []byte("time,depth_m\n2031-10-04T12:00:00Z,6\n")), true, gpkg.ErrNotGeoPackage},
		{"folder", dir, true, gpkg.ErrNotGeoPackage},
		{"cut", cut, false, gpkg.ErrDamaged},
		{"garbled", put("garbled.gpkg", garbled), false, gpkg.ErrDamaged},
	} {
		t.Run(c.name, func(t *testing.T) {
			st, err := os.Stat(c.path)
			var before []byte
			if err == nil && st.Mode().IsRegular() {
				before = contents(t, c.path)
			}
			b, copied, err := Open(ctx, c.path, Options{Make: c.make})
			if !errors.Is(err, c.want) {
				t.Errorf("%v, wanted %v", err, c.want)
			}
			if b != nil || copied != "" {
				t.Errorf("book %v, copy %q beside an error", b, copied)
			}
			if _, err := os.Stat(c.path); before == nil && err == nil && c.path != dir {
				t.Error("a file was made")
			}
			if before != nil && !bytes.Equal(before, contents(t, c.path)) {
				t.Error("the file was changed")
			}
		})
	}
}

func TestOpenMakesAndOpensAgain(t *testing.T) {
	b := newBook(t)
	path := b.Path()
	s, err := b.Settings(ctx)
	if err != nil || s.Zone.String() != "UTC" || s.ZoneSaid || s.Changes != 0 {
		t.Errorf("%+v, %v", s, err)
	}
	b.Close()
	before := contents(t, path)
	b, _, err = Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, read := range []func() error{
		func() error { _, err := b.Days(ctx); return err },
		func() error { _, err := b.Sources(ctx); return err },
		func() error { _, err := b.Notes(ctx); return err },
		func() error { _, err := b.Rejected(ctx, nil); return err },
		func() error { _, _, _, err := b.Held(ctx); return err },
		func() error { _, _, err := b.Read(ctx, Part{All: true}); return err },
	} {
		if err := read(); err != nil {
			t.Error(err)
		}
	}
	b.Close()
	if !bytes.Equal(before, contents(t, path)) {
		t.Error("reading changed the file")
	}
}

// A zone that a later machine doesn't know, or none, is an error and no guess.
func TestSettingsOfADamagedLogbook(t *testing.T) {
	for name, sql := range map[string]string{
		"unknown zone": "UPDATE leadline_settings SET value = 'Lantern/Hollow' WHERE name = 'zone'",
		"no zone":      "DELETE FROM leadline_settings WHERE name = 'zone'",
		"no number":    "UPDATE leadline_settings SET value = 'many' WHERE name = 'changes'",
	} {
		b := newBook(t)
		if err := b.update(ctx, func(tx *gpkg.Tx) error { _, err := tx.Exec(sql); return err }); err != nil {
			t.Fatal(err)
		}
		if s, err := b.Settings(ctx); err == nil {
			t.Errorf("%s: %+v without an error", name, s)
		}
	}
}

func TestCopyFile(t *testing.T) {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	data := bytes.Repeat([]byte("0123456789abcdef"), 10000)
	os.WriteFile(from, data, 0o666)
	os.WriteFile(to, []byte("an older copy"), 0o666)
	if err := copyFile(from, to); err != nil || !bytes.Equal(data, contents(t, to)) {
		t.Error("the copy differs", err)
	}
	if err := copyFile(filepath.Join(dir, "none"), to); !errors.Is(err, fs.ErrNotExist) || !bytes.Equal(data, contents(t, to)) {
		t.Error("an older copy was lost", err)
	}
	list, _ := os.ReadDir(dir)
	if len(list) != 2 {
		t.Errorf("%d files left, wanted two", len(list))
	}
}
