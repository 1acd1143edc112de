package gpkg

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// The real thing: a file system of 1 MB in memory. Mounting needs root.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1m"); err != nil {
		t.Skip("a small file system can't be mounted here:", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	for _, keepOn := range []bool{false, true} {
		path := filepath.Join(dir, "a.gpkg")
		f := open(t, path, Options{})
		update(t, f, func(tx *Tx) error {
			if err := tx.CreateLayer(pointLayer("a")); err != nil {
				return err
			}
			_, err := tx.Insert("a", nil, 1.0, 1, "old")
			return err
		})
		fill(t, f, "", keepOn)
		f.Close()
		open(t, path, Options{ReadOnly: true}).Close()
		os.Remove(path)
	}

	// No room to make a file at all: none is left.
	if err := os.WriteFile(filepath.Join(dir, "hog"), make([]byte, 2<<20), 0o644); !errors.Is(err, syscall.ENOSPC) {
		t.Fatal("2 MB on a disk of 1 MB:", err)
	}
	path := filepath.Join(dir, "b.gpkg")
	if _, err := Open(path, Options{LastChange: noon}); !errors.Is(err, ErrDiskFull) {
		t.Errorf("making a file on a full disk: %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("an empty file is left")
	}
}
