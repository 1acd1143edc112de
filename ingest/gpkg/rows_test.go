package gpkg

import (
	"errors"
	"fmt"
	"testing"

	"github.com/paulmach/orb"
)

// Rows that go in together are those that go in one by one, on both sides of where they go in bulk and of a whole batch.
func TestInsertRowsIsInsert(t *testing.T) {
	for _, n := range []int{0, 1, rowsAtOnce - 1, rowsAtOnce, bulkAfter - 1, bulkAfter, bulkAfter + rowsAtOnce - 1, bulkAfter + 3*rowsAtOnce + 7} {
		f := made(t, pointLayer("together"), pointLayer("single"))
		row := func(i int) ([]byte, []any) {
			return Encode(orb.Point{float64(i % 17), float64(i % 13)}, WGS84), []any{float64(i) / 2, i, fmt.Sprint(i)}
		}
		update(t, f, func(tx *Tx) error {
			if err := tx.InsertRows("together", n, row); err != nil {
				return err
			}
			for i := range n {
				geom, values := row(i)
				if _, err := tx.Insert("single", geom, values...); err != nil {
					return err
				}
			}
			return nil
		})
		checkIndex(t, f, "together")
		if got := count(t, f, "SELECT count(*) FROM together"); got != n {
			t.Errorf("%d rows of %d are there", got, n)
		}
		if got := count(t, f, "SELECT count(*) FROM (SELECT * FROM together EXCEPT SELECT * FROM single)"); got != 0 {
			t.Errorf("of %d rows %d differ from those put in one by one", n, got)
		}
	}
}

// A row that isn't taken, or whose making panics, leaves nothing behind, wherever it stands.
func TestInsertRowsFails(t *testing.T) {
	const n = bulkAfter + 5*rowsAtOnce
	for _, bad := range []int{0, 3, bulkAfter - 1, bulkAfter + rowsAtOnce/2, n - rowsAtOnce - 1, n - 1} {
		f := made(t, pointLayer("points"))
		var made any = errors.New("made")
		insert := func(panics bool) (panicked any, err error) {
			defer func() { panicked = recover() }()
			return nil, f.Update(t.Context(), func(tx *Tx) error {
				return tx.InsertRows("points", n, func(i int) ([]byte, []any) {
					if i == bad && panics {
						panic(made)
					}
					if i == bad {
						return nil, []any{"no number", 1, "a"}
					}
					return Encode(orb.Point{1, 2}, WGS84), []any{1.0, i, "a"}
				})
			})
		}
		if panicked, err := insert(false); err == nil || panicked != nil {
			t.Errorf("row %d isn't taken: %v, %v", bad, err, panicked)
		}
		if panicked, _ := insert(true); panicked != made {
			t.Errorf("making row %d panics: %v, want %v", bad, panicked, made)
		}
		if got := count(t, f, "SELECT count(*) FROM points"); got != 0 {
			t.Errorf("%d rows stay after row %d failed", got, bad)
		}
		checkIndex(t, f, "points")
	}
}
