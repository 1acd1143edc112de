package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// Guards against a logbook that a full disk leaves half-changed, or that can't be read while the disk is full. The disk
// is a small file system in memory; mounting needs root. It gets a little more room from one try to the next, so that
// it fills while the journal is written, and while the logbook itself is.
func TestImportOnFullDisk(t *testing.T) {
	t.Parallel()
	s := threeDays(t)
	old, was := s.made(t)
	path := writeBook(t, old)
	s.must(t, path, s.next()...)
	will := s.state(t, path)

	const disk = 4 << 20
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=4m"); err != nil {
		t.Skip("a small file system can't be mounted here:", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	hog := filepath.Join(dir, "hog")
	// leave fills the disk but for some room.
	leave := func(room int) {
		t.Helper()
		used := 0
		if st, err := os.Stat(filepath.Join(dir, "book.gpkg")); err == nil {
			used = (int(st.Size()) + 4095) &^ 4095
		}
		if err := os.WriteFile(hog, make([]byte, disk-used-room), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	full := func(path string) string {
		return "leadline: error: " + path + ": the disk is full; the file holds what it held before\n"
	}

	path = filepath.Join(dir, "book.gpkg")
	if err := os.WriteFile(path, old, 0o666); err != nil {
		t.Fatal(err)
	}
	refused := 0
	for room := 0; ; room += 48 << 10 {
		leave(room)
		code, out, errOut := s.call(path, s.next()...)
		if code == exitDone {
			break
		}
		refused++
		if code != exitFailed || errOut != full(path) || out != "" {
			t.Errorf("with room for %d bytes: exit %d\n%s%s", room, code, errOut, out)
		}
		if !bytes.Equal(readBook(t, path), old) {
			t.Errorf("with room for %d bytes: the file has changed", room)
		}
		if _, err := os.Stat(path + "-journal"); err == nil {
			t.Errorf("with room for %d bytes: a journal is left", room)
		}
		if now := s.state(t, path); now != was {
			t.Errorf("with room for %d bytes: beside the old logbook:\n%s", room, now.differ(was))
		}
		if room > disk/2 {
			t.Fatalf("with room for %d bytes it still fails", room)
		}
	}
	t.Logf("it was refused %d times before there was room", refused)
	if refused < 4 {
		t.Error("the disk was hardly full")
	}
	if now := s.state(t, path); now != will {
		t.Errorf("with room again, beside the new logbook:\n%s", now.differ(will))
	}

	// A first import: what is left, if anything, is no obstacle to the next.
	os.Remove(path)
	for room := 0; ; room += 96 << 10 {
		leave(room)
		code, out, errOut := s.call(path, s.first()...)
		if code == exitDone {
			break
		}
		if code != exitFailed || out != "" || !strings.HasPrefix(errOut, full(path)) {
			t.Errorf("a new logbook with room for %d bytes: exit %d\n%s%s", room, code, errOut, out)
		}
		if _, err := os.Stat(path + "-journal"); err == nil {
			t.Errorf("a new logbook with room for %d bytes: a journal is left", room)
		}
		if _, err := os.Stat(path); err == nil {
			code, out, errOut := s.call(path, "days", "--json")
			if !isNone(path, code, errOut) && (code != exitDone || out != emptyBook) {
				t.Errorf("a new logbook with room for %d bytes: days exits %d\n%s%s", room, code, errOut, out)
			}
		}
		if room > disk/2 {
			t.Fatalf("a new logbook with room for %d bytes still fails", room)
		}
	}
	if now := s.state(t, path); now != was {
		t.Errorf("a new logbook, with room again, beside the one that was made elsewhere:\n%s", now.differ(was))
	}
}
