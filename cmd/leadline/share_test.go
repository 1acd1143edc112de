package main

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

func says(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// only fails unless the folder has exactly that file with that text, and nothing half done.
func only(t *testing.T, dir, name, text string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if got := strings.Join(names, " "); got != name {
		t.Errorf("the folder has %q, want %q", got, name)
	}
	if name == "" {
		return
	}
	got, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil || string(got) != text {
		t.Errorf("%s has %q (%v), want %q", name, got, err, text)
	}
}

func TestWriteOne(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	name := filepath.Join(dir, "a.kml")
	broken := errors.New("no space left")
	fails := func(w io.Writer) error {
		io.WriteString(w, "half of it")
		return broken
	}
	if err := writeOne(ctx, name, false, fails); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
	only(t, dir, "", "")
	if err := writeOne(ctx, name, false, says("first")); err != nil {
		t.Fatal(err)
	}
	if err := writeOne(ctx, name, false, says("second")); err == nil || !strings.HasSuffix(err.Error(), "a.kml is there already") {
		t.Errorf("%v", err)
	}
	only(t, dir, "a.kml", "first")
	if err := writeOne(ctx, name, true, fails); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
	only(t, dir, "a.kml", "first")
	if err := writeOne(ctx, name, true, says("third")); err != nil {
		t.Fatal(err)
	}
	only(t, dir, "a.kml", "third")
	ended, end := context.WithCancel(ctx)
	end()
	if err := writeOne(ended, filepath.Join(dir, "b.kml"), false, says("late")); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	only(t, dir, "a.kml", "third")
}

// TestWriteOneOfMany: of many that write the same name at once one does, and its file stays.
func TestWriteOneOfMany(t *testing.T) {
	for range 20 {
		dir := t.TempDir()
		var all sync.WaitGroup
		var mu sync.Mutex
		done := ""
		for i := range 8 {
			text := strings.Repeat(string(rune('a'+i)), 5000)
			all.Go(func() {
				if err := writeOne(context.Background(), filepath.Join(dir, "a.kml"), false, says(text)); err == nil {
					mu.Lock()
					defer mu.Unlock()
					done += text
				}
			})
		}
		all.Wait()
		if len(done) != 5000 {
			t.Fatalf("%d wrote", len(done)/5000)
		}
		only(t, dir, "a.kml", done)
	}
}

// TestWriteOneKeepsLinks: a link that leads nowhere is a file that is there.
func TestWriteOneKeepsLinks(t *testing.T) {
	dir := t.TempDir()
	link := filepath.Join(dir, "a.kml")
	if err := os.Symlink("elsewhere.kml", link); err != nil {
		t.Skip(err)
	}
	if err := writeOne(context.Background(), link, false, says("x")); err == nil {
		t.Error("written through a link")
	}
	if to, err := os.Readlink(link); err != nil || to != "elsewhere.kml" {
		t.Errorf("the link leads to %q, %v", to, err)
	}
}

func TestInside(t *testing.T) {
	dir := t.TempDir()
	for _, d := range []string{"season/may", "out"} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	linked := os.Symlink("season", filepath.Join(dir, "link")) == nil
	for _, c := range []struct {
		path, name string
		want       bool
	}{
		{"season", "season/a.gpx", true},
		{"season", "season/may/a.gpx", true},
		{"season/", "season/may/../a.gpx", true},
		{"season/a.gpx", "season/a.gpx", true},
		{"season/a.gpx", "season/b.gpx", false},
		{"season", "out/a.gpx", false},
		{"season/may", "season/a.gpx", false},
		{"season", "seasonal.gpx", false},
		{".", "out/a.gpx", true},
		{"season", "link/a.gpx", linked},
		{"link", "season/a.gpx", linked},
	} {
		if got := inside(filepath.Join(dir, c.path), filepath.Join(dir, c.name)); got != c.want {
			t.Errorf("%s in %s: %v, want %v", c.name, c.path, got, c.want)
		}
	}
}
