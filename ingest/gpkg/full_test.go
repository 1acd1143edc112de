package gpkg

import (
	"context"
	"errors"
	"strings"
	"testing"
)

// fill writes until the disk or the file is full and checks what is said and what
// is left. keepOn goes on after the error, as a careless caller would.
func fill(t *testing.T, f *File, prepare string, keepOn bool) {
	t.Helper()
	before := count(t, f, "SELECT count(*) FROM a")
	err := f.Update(context.Background(), func(tx *Tx) error {
		if prepare != "" {
			if _, err := tx.Exec(prepare); err != nil {
				return err
			}
		}
		var first error
		for i := range 20_000 {
			_, err := tx.Insert("a", nil, 1.0, i, strings.Repeat("x", 1000))
			if err != nil && first == nil {
				first = err
			}
			if err != nil && !keepOn {
				return err
			}
		}
		if first == nil {
			t.Error("20 MB went in")
		}
		return nil
	})
	if !errors.Is(err, ErrDiskFull) || !strings.Contains(err.Error(), f.Path()+": the disk is full") {
		t.Errorf("got %v", err)
	}
	if n := count(t, f, "SELECT count(*) FROM a"); n != before {
		t.Errorf("%d rows, want the %d from before", n, before)
	}
	checkIndex(t, f, "a")
}

// max_page_count gives SQLITE_FULL as a full disk does.
func TestFull(t *testing.T) {
	for _, keepOn := range []bool{false, true} {
		f := made(t, pointLayer("a"))
		update(t, f, func(tx *Tx) error { _, err := tx.Insert("a", nil, 1.0, 1, "old"); return err })
		fill(t, f, "PRAGMA max_page_count = 300", keepOn)
		update(t, f, func(tx *Tx) error { _, err := tx.Insert("a", nil, 1.0, 1, "new"); return err })
	}
}
