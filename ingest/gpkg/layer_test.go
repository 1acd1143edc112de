package gpkg

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

func TestCreateLayerRefuses(t *testing.T) {
	f := made(t, pointLayer("taken"))
	col := func(name, typ string) []Column { return []Column{{Name: name, Type: typ}} }
	for name, l := range map[string]Layer{
		"no name":                  {},
		"quote in the name":        {Name: `a"b`},
		"digit first":              {Name: "1a"},
		"the format's own":         {Name: "gpkg_contents"},
		"an index's":               {Name: "RTree_a"},
		"taken":                    {Name: "taken", Title: "other"},
		"title taken":              {Name: "other", Title: "taken"},
		"curved":                   {Name: "a", Geometry: "CURVE"},
		"lower case":               {Name: "a", Geometry: "point"},
		"unknown srs":              {Name: "a", Geometry: "POINT", SRS: 31468},
		"column fid":               {Name: "a", Columns: col("FID", "TEXT")},
		"column type":              {Name: "a", Columns: col("b", "VARCHAR")},
		"column twice":             {Name: "a", Columns: append(col("b", "TEXT"), col("B", "TEXT")...)},
		"extension of the format":  {Name: "a", Extension: "gpkg_mine", Definition: "x"},
		"extension without author": {Name: "a", Extension: "mine", Definition: "x"},
		"extension undefined":      {Name: "a", Extension: "leadline_mine"},
		"extension with shapes":    {Name: "a", Extension: "leadline_mine", Definition: "x", Geometry: "POINT"},
	} {
		err := f.Update(t.Context(), func(tx *Tx) error { return tx.CreateLayer(l) })
		if err == nil || !strings.Contains(err.Error(), f.Path()) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if n := count(t, f, `SELECT count(*) FROM gpkg_contents`); n != 1 {
		t.Errorf("%d layers, want 1", n)
	}
}

func TestInsertRefuses(t *testing.T) {
	lines := Layer{Name: "lines", Geometry: "LINESTRING", HasM: true}
	plain := Layer{Name: "plain", Columns: []Column{
		{Name: "i", Type: "INTEGER"}, {Name: "r", Type: "REAL"}, {Name: "s", Type: "TEXT", NotNull: true},
		{Name: "d", Type: "DATETIME"}, {Name: "b", Type: "BOOLEAN"}, {Name: "x", Type: "BLOB"},
	}}
	f := made(t, pointLayer("points"), lines, plain)
	p := Encode(orb.Point{1, 2}, WGS84)
	m, err := EncodeLineM([]orb.Point{{1, 2}}, []float64{3})
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	good := []any{1, 1.5, "a", noon, true, []byte{1}}
	with := func(i int, v any) []any { out := append([]any{}, good...); out[i] = v; return out }
	flagged := append([]byte{}, p...)
	flagged[3] |= flagEmpty
	update(t, f, func(tx *Tx) error {
		for _, c := range []struct {
			name, layer string
			geom        []byte
			values      []any
		}{
			{"no such layer", "none", nil, nil},
			{"too few values", "points", p, []any{1.0, 1}},
			{"too many values", "points", p, []any{1.0, 1, "a", 1}},
			{"line among points", "points", Encode(orb.LineString{{1, 2}}, WGS84), []any{1.0, 1, "a"}},
			{"other srs", "points", Encode(orb.Point{1, 2}, 0), []any{1.0, 1, "a"}},
			{"NaN", "points", Encode(orb.Point{nan, 2}, WGS84), []any{1.0, 1, "a"}},
			{"two NaN", "points", Encode(orb.Point{nan, nan}, WGS84), []any{1.0, 1, "a"}},
			{"flagged empty", "points", flagged, []any{1.0, 1, "a"}},
			{"garbage", "points", []byte("GP"), []any{1.0, 1, "a"}},
			{"without measures", "lines", Encode(orb.LineString{{1, 2}}, WGS84), nil},
			{"shape in a plain table", "plain", m, good},
			{"text as integer", "plain", nil, with(0, "1")},
			{"float as integer", "plain", nil, with(0, 1.0)},
			{"NaN as real", "plain", nil, with(1, nan)},
			{"infinity as real", "plain", nil, with(1, math.Inf(-1))},
			{"NULL where none may be", "plain", nil, with(2, nil)},
			{"text that isn't UTF-8", "plain", nil, with(2, "\xff")},
			{"text with a zero byte", "plain", nil, with(2, "a\x00b")},
			{"text as time", "plain", nil, with(3, "2031-06-14")},
			{"year 12000", "plain", nil, with(3, time.Date(12000, 1, 1, 0, 0, 0, 0, time.UTC))},
			{"integer as boolean", "plain", nil, with(4, 1)},
			{"text as blob", "plain", nil, with(5, "a")},
			{"a struct", "plain", nil, with(5, struct{}{})},
		} {
			if _, err := tx.Insert(c.layer, c.geom, c.values...); err == nil || !strings.Contains(err.Error(), f.Path()) {
				t.Errorf("%s: %v", c.name, err)
			}
		}
		// The transaction is still good.
		if fid, err := tx.Insert("plain", nil, good...); err != nil || fid != 1 {
			t.Errorf("good row: fid %d, %v", fid, err)
		}
		_, err := tx.Insert("lines", m)
		return err
	})
}

func TestValuesComeBack(t *testing.T) {
	f := made(t, Layer{Name: "a", Columns: []Column{
		{Name: "i", Type: "INTEGER"}, {Name: "r", Type: "REAL"}, {Name: "s", Type: "TEXT"},
		{Name: "d", Type: "DATETIME"}, {Name: "b", Type: "BOOLEAN"}, {Name: "x", Type: "BLOB"},
	}})
	at := time.Date(2031, 6, 14, 7, 30, 1, 123_999_999, time.FixedZone("", 2*3600))
	update(t, f, func(tx *Tx) error {
		if _, err := tx.Insert("a", nil, int64(math.MinInt64), 7, "grün", at, true, []byte{}); err != nil {
			return err
		}
		_, err := tx.Insert("a", nil, nil, nil, nil, time.Time{}, nil, nil)
		return err
	})
	view(t, f, func(tx *Tx) error {
		var i int64
		var r float64
		var s, d string
		var back time.Time
		var b bool
		var x []byte
		if _, err := tx.QueryOne([]any{&i, &r, &s, &back, &b, &x}, `SELECT i, r, s, d, b, x FROM a WHERE fid = 1`); err != nil {
			return err
		}
		if _, err := tx.QueryOne([]any{&d}, `SELECT CAST(d AS TEXT) FROM a WHERE fid = 1`); err != nil {
			return err
		}
		// OGC 12-128r17, table 1: ISO 8601 with milliseconds and Z.
		if d != "2031-06-14T05:30:01.123Z" || !back.Equal(at.Truncate(time.Millisecond)) {
			t.Errorf("time %s, %v", d, back)
		}
		if i != math.MinInt64 || r != 7 || s != "grün" || !b || len(x) != 0 {
			t.Errorf("got %v %v %q %v %v", i, r, s, b, x)
		}
		return nil
	})
	if n := count(t, f, `SELECT count(*) FROM a WHERE coalesce(i, r, s, d, b, x) IS NULL`); n != 1 {
		t.Errorf("%d rows of NULL, want 1", n)
	}
	// The declared type and the stored type agree, as the standard asks.
	if n := count(t, f, `SELECT count(*) FROM a WHERE typeof(i) = 'integer' AND typeof(r) = 'real' AND typeof(s) = 'text'
		AND typeof(d) = 'text' AND typeof(b) = 'integer' AND typeof(x) = 'blob'`); n != 1 {
		t.Error("a stored type is wrong")
	}
}

func TestVersionAndMetadata(t *testing.T) {
	f := made(t)
	view(t, f, func(tx *Tx) error {
		if n, err := tx.Version(); n != 0 || err != nil {
			t.Errorf("before: %d, %v", n, err)
		}
		return nil
	})
	for _, n := range []int{3, 4} {
		update(t, f, func(tx *Tx) error {
			if err := tx.Metadata("from a made lake", "text/plain"); err != nil {
				return err
			}
			return tx.SetVersion(n)
		})
	}
	view(t, f, func(tx *Tx) error {
		if n, err := tx.Version(); n != 4 || err != nil {
			t.Errorf("after: %d, %v", n, err)
		}
		texts, err := tx.MetadataTexts()
		if len(texts) != 1 || texts[0] != (Text{"from a made lake", "text/plain"}) {
			t.Errorf("metadata %q", texts)
		}
		return err
	})
	if n := count(t, f, `SELECT count(*) FROM gpkg_extensions WHERE extension_name = 'leadline_version'`); n != 1 {
		t.Errorf("%d rows for the version in gpkg_extensions", n)
	}
}

// The same calls give the same bytes, deletions and bulk loading included.
func TestSameBytes(t *testing.T) {
	build := func() []byte {
		path := filepath.Join(t.TempDir(), "a.gpkg")
		f := open(t, path, Options{})
		update(t, f, func(tx *Tx) error {
			for _, l := range []Layer{pointLayer("a"), pointLayer("b"), {Name: "c", Extension: "leadline_packed", Definition: "x",
				Columns: []Column{{Name: "x", Type: "BLOB"}}}} {
				if err := tx.CreateLayer(l); err != nil {
					return err
				}
			}
			if err := tx.Metadata("x", "text/plain"); err != nil {
				return err
			}
			return tx.SetVersion(1)
		})
		r := rand.New(rand.NewPCG(9, 9))
		for range 3 {
			update(t, f, func(tx *Tx) error {
				for range 3000 {
					if _, err := tx.Insert([]string{"a", "b"}[r.IntN(2)], Encode(orb.Point{r.Float64(), r.Float64()}, WGS84), 1.0, 1, "a"); err != nil {
						return err
					}
				}
				_, err := tx.DeleteWhere("a", "fid % 3 = ?", 1)
				return err
			})
		}
		f.Close()
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	if !bytes.Equal(build(), build()) {
		t.Error("two files from the same calls differ")
	}
}

// Deleted text is not left in the file.
func TestDeletedIsGone(t *testing.T) {
	f := made(t, pointLayer("a"))
	update(t, f, func(tx *Tx) error {
		for _, s := range []string{"SECRETPLACE", "b"} {
			if _, err := tx.Insert("a", nil, 1.0, 1, s); err != nil {
				return err
			}
		}
		return nil
	})
	update(t, f, func(tx *Tx) error { _, err := tx.DeleteWhere("a", "fid = 1"); return err })
	f.Close()
	b, err := os.ReadFile(f.Path())
	if err != nil || bytes.Contains(b, []byte("SECRETPLACE")) {
		t.Errorf("deleted text is still in the file (%v)", err)
	}
}
