package gpkg

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// checkIndex holds the index and the extent of a layer against its rows, and the
// tree against SQLite's own check.
func checkIndex(t *testing.T, f *File, layer string) {
	t.Helper()
	view(t, f, func(tx *Tx) error {
		var verdict string
		if _, err := tx.QueryOne([]any{&verdict}, `PRAGMA integrity_check`); err != nil || verdict != "ok" {
			t.Errorf("integrity_check: %q, %v", verdict, err)
		}
		if _, err := tx.QueryOne([]any{&verdict}, `SELECT rtreecheck(?)`, "rtree_"+layer+"_geom"); err != nil || verdict != "ok" {
			t.Errorf("rtreecheck: %q, %v", verdict, err)
		}
		var bad, rows, boxes int
		_, err := tx.QueryOne([]any{&bad, &rows}, `SELECT
			sum(r.id IS NULL OR NOT (r.minx <= ST_MinX(geom) AND r.maxx >= ST_MaxX(geom) AND r.miny <= ST_MinY(geom) AND r.maxy >= ST_MaxY(geom))),
			count(*) FROM `+layer+` l LEFT JOIN rtree_`+layer+`_geom r ON r.id = l.fid WHERE geom NOT NULL AND NOT ST_IsEmpty(geom)`)
		if err != nil && rows > 0 {
			return err
		}
		if _, err := tx.QueryOne([]any{&boxes}, `SELECT count(*) FROM rtree_`+layer+`_geom`); err != nil {
			return err
		}
		if bad != 0 || rows != boxes {
			t.Errorf("%s: %d rows with shapes, %d boxes, %d rows without a right box", layer, rows, boxes, bad)
		}
		return nil
	})
	want := noExtent
	view(t, f, func(tx *Tx) error {
		return tx.Query(func(scan func(...any) error) error {
			var b []byte
			if err := scan(&b); err != nil {
				return err
			}
			g, _, err := Decode(b)
			want = boundsOf(want, g)
			return err
		}, `SELECT geom FROM `+layer+` WHERE geom NOT NULL`)
	})
	got, ok := extentOf(t, f, layer)
	if ok == want.empty() || ok && got != want {
		t.Errorf("%s: extent %v (%v), rows have %v", layer, got, ok, want)
	}
}

// Random work, small and bulk, with everything that may come between.
func TestIndexAndExtentFollow(t *testing.T) {
	for seed := range uint64(4) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 1))
			f := made(t, pointLayer("a"), Layer{Name: "b", Geometry: "LINESTRING"})
			checkIndex(t, f, "a")
			for range 8 {
				update(t, f, func(tx *Tx) error {
					for range 1 + r.IntN(3) {
						if err := randomWork(tx, r); err != nil {
							return err
						}
					}
					return nil
				})
				checkIndex(t, f, "a")
				checkIndex(t, f, "b")
			}
		})
	}
}

func randomWork(tx *Tx, r *rand.Rand) error {
	var err error
	switch r.IntN(6) {
	case 0, 1, 2:
		for range []int{3, 60, 1100, 5000}[r.IntN(4)] {
			var g []byte
			if r.IntN(50) > 0 {
				g = Encode(orb.Point{r.NormFloat64() * 30, r.NormFloat64() * 20}, WGS84)
			}
			if _, err := tx.Insert("a", g, 1.0, 1, "a"); err != nil {
				return err
			}
			l := orb.LineString{}
			for range r.IntN(3) {
				l = append(l, orb.Point{r.NormFloat64() * 30, r.NormFloat64() * 20})
			}
			if _, err := tx.Insert("b", Encode(l, WGS84)); err != nil {
				return err
			}
		}
	case 3:
		_, err = tx.DeleteWhere("a", "fid % ? = 0", 1+r.IntN(4))
	case 4:
		_, err = tx.DeleteWhere("b", "ST_MaxX(geom) > ?", r.NormFloat64()*30)
	case 5:
		for _, s := range []string{
			`UPDATE A SET geom = NULL WHERE fid % 7 = 0`,
			`UPDATE a SET fid = fid + 1000000 WHERE fid % 11 = 0`,
			`UPDATE b SET geom = (SELECT geom FROM b WHERE fid = 1) WHERE fid % 5 = 0`,
		} {
			if _, err := tx.Exec(s); err != nil {
				return err
			}
		}
	}
	return err
}

// A query in the same transaction sees the rows that were put in bulk.
func TestIndexIsSettledForQueries(t *testing.T) {
	f := made(t, pointLayer("a"))
	update(t, f, func(tx *Tx) error {
		for i := range 3000 {
			if _, err := tx.Insert("a", Encode(orb.Point{float64(i) / 100, 0}, WGS84), 1.0, 1, "a"); err != nil {
				return err
			}
		}
		var n int
		if _, err := tx.QueryOne([]any{&n}, `SELECT count(*) FROM rtree_a_geom WHERE minx >= 19.999`); err != nil || n != 1000 {
			t.Errorf("%d boxes, want 1000; %v", n, err)
		}
		_, err := tx.DeleteWhere("a", "fid > 2500")
		return err
	})
	checkIndex(t, f, "a")
}

// Rows may be put in, enough for bulk loading, while a query is under way.
func TestInsertInsideQuery(t *testing.T) {
	f := made(t, pointLayer("a"), pointLayer("b"))
	const n = 4 * bulkAfter
	update(t, f, func(tx *Tx) error {
		for i := range n {
			if _, err := tx.Insert("a", Encode(orb.Point{float64(i) / 100, 0}, WGS84), 1.0, i, "a"); err != nil {
				return err
			}
		}
		return tx.Query(func(scan func(...any) error) error {
			var b []byte
			if err := scan(&b); err != nil {
				return err
			}
			_, err := tx.Insert("b", b, 1.0, 1, "b")
			return err
		}, "SELECT geom FROM a")
	})
	if got := count(t, f, "SELECT count(*) FROM b"); got != n {
		t.Errorf("%d rows, want %d", got, n)
	}
	checkIndex(t, f, "a")
	checkIndex(t, f, "b")
}

// A layer begun and not finished isn't committed, even if the error is ignored.
func TestHalfALayerIsNone(t *testing.T) {
	f := made(t, pointLayer("a"))
	err := f.Update(t.Context(), func(tx *Tx) error {
		l := pointLayer("b")
		l.Title = "a" // taken, which shows only when the table stands
		tx.CreateLayer(l)
		return nil
	})
	if err == nil {
		t.Error("committed")
	}
	if n := count(t, f, "SELECT count(*) FROM sqlite_master WHERE name = 'b'"); n != 0 {
		t.Error("the table is there")
	}
}

// Law of the packing: every cell stands in one leaf, every node has from two to fill
// cells and is inside its parent's box. The worked example of bulk.go first.
func TestPackNodes(t *testing.T) {
	at := func(id int64, x, y float32) cell { return cell{id, x, x, y, y} }
	got := packNodes([]cell{at(1, 0, 0), at(2, 9, 0), at(3, 0, 9), at(4, 9, 9)}, 2)
	if len(got) != 2 || got[0][0].id != 1 || got[0][1].id != 3 || got[1][0].id != 2 || got[1][1].id != 4 {
		t.Errorf("worked example: %v", got)
	}
	r := rand.New(rand.NewPCG(2, 3))
	for _, n := range []int{0, 1, 2, 39, 40, 41, 79, 81, 1000, 12345} {
		cells := make([]cell, n)
		for i := range cells {
			cells[i] = newCell(int64(i+1), noExtent.add(r.Float64(), r.Float64()))
		}
		seen := map[int64]bool{}
		nodes := packNodes(cells, 40)
		for _, node := range nodes {
			if len(node) > 40 || (len(nodes) > 1 && len(node) < 17) { // a third of SQLite's 51 is its least
				t.Errorf("%d cells: a node of %d", n, len(node))
			}
			for _, c := range node {
				seen[c.id] = true
			}
		}
		if len(seen) != n {
			t.Errorf("%d cells: %d in nodes", n, len(seen))
		}
	}
}

func TestRoundingIsOutwards(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 10000 {
		v := r.NormFloat64() * 180
		lo, hi := down(v), up(v)
		if float64(lo) > v || float64(hi) < v || math.Nextafter32(lo, hi) < hi && lo != hi {
			t.Fatalf("%v became %v to %v", v, lo, hi)
		}
	}
	if down(0.5) != 0.5 || up(0.5) != 0.5 {
		t.Error("a number that fits was changed")
	}
}
