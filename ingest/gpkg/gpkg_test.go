package gpkg

import (
	"context"
	"path/filepath"
	"testing"
	"time"
)

var noon = time.Date(2031, 6, 14, 12, 0, 0, 0, time.UTC)

func pointLayer(name string) Layer {
	return Layer{Name: name, Title: name, Geometry: "POINT", Columns: []Column{
		{Name: "depth_m", Type: "REAL", Title: "Depth", Unit: "m", Description: "below the surface"},
		{Name: "number", Type: "INTEGER"},
		{Name: "note", Type: "TEXT"},
	}}
}

// open opens path for the length of the test.
func open(t testing.TB, path string, opt Options) *File {
	t.Helper()
	if opt.LastChange.IsZero() {
		opt.LastChange = noon
	}
	f, err := Open(path, opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// made is a new file with the layers.
func made(t testing.TB, layers ...Layer) *File {
	t.Helper()
	f := open(t, filepath.Join(t.TempDir(), "made.gpkg"), Options{})
	update(t, f, func(tx *Tx) error {
		for _, l := range layers {
			if err := tx.CreateLayer(l); err != nil {
				return err
			}
		}
		return nil
	})
	return f
}

func update(t testing.TB, f *File, fn func(*Tx) error) {
	t.Helper()
	if err := f.Update(context.Background(), fn); err != nil {
		t.Fatal(err)
	}
}

func view(t testing.TB, f *File, fn func(*Tx) error) {
	t.Helper()
	if err := f.View(context.Background(), fn); err != nil {
		t.Fatal(err)
	}
}

// count gives a number from a query.
func count(t testing.TB, f *File, query string, args ...any) (n int) {
	t.Helper()
	view(t, f, func(tx *Tx) error {
		_, err := tx.QueryOne([]any{&n}, query, args...)
		return err
	})
	return n
}

// extentOf gives a layer's extent as gpkg_contents has it, ok false when NULL.
func extentOf(t testing.TB, f *File, layer string) (e extent, ok bool) {
	t.Helper()
	var v [4]*float64
	view(t, f, func(tx *Tx) error {
		_, err := tx.QueryOne([]any{&v[0], &v[1], &v[2], &v[3]},
			`SELECT min_x, max_x, min_y, max_y FROM gpkg_contents WHERE table_name = ?`, layer)
		return err
	})
	for _, p := range v {
		if p == nil {
			return extent{}, false
		}
	}
	return extent{*v[0], *v[1], *v[2], *v[3]}, true
}
