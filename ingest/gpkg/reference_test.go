//go:build reference

package gpkg

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// shapes has one layer of each kind with its rows, and what ogrinfo must say of it.
func shapes(t *testing.T) []struct {
	layer Layer
	rows  [][]byte
	says  []string
} {
	lineM, err := EncodeLineM([]orb.Point{{-88.5, 44.25}, {-88.25, 44.5}}, []float64{0, 10})
	if err != nil {
		t.Fatal(err)
	}
	lineZM, err := EncodeLine(Line{Points: []orb.Point{{1, 2}, {3, 4}}, Z: []float64{5, 6}, M: []float64{7, 8}}, WGS84)
	if err != nil {
		t.Fatal(err)
	}
	pointZ, err := EncodePointZ(orb.Point{1, 2}, 3, WGS84)
	if err != nil {
		t.Fatal(err)
	}
	ring := orb.Ring{{0, 0}, {4, 0}, {4, 3}, {0, 0}}
	one := func(g orb.Geometry) [][]byte { return [][]byte{Encode(g, WGS84)} }
	var many [][]byte // enough for bulk loading
	for i := range 5000 {
		many = append(many, Encode(orb.Point{-88 + float64(i%100)/1024, 44 + float64(i/100)/1024}, WGS84))
	}
	return []struct {
		layer Layer
		rows  [][]byte
		says  []string
	}{
		{pointLayer("points"), append(many, nil), []string{"Geometry: Point", "Feature Count: 5001",
			"Extent: (-88.000000, 44.000000) - (-87.903320, 44.047852)", "depth_m: Real", "number: Integer64", "note: String"}},
		{Layer{Name: "heights", Geometry: "POINT", HasZ: true}, [][]byte{pointZ}, []string{"Geometry: 3D Point", "Feature Count: 1", "Extent: (1.000000, 2.000000) - (1.000000, 2.000000)"}},
		{Layer{Name: "tracks", Geometry: "LINESTRING", HasM: true}, [][]byte{lineM}, []string{"Geometry: Measured Line String", "Feature Count: 1", "Extent: (-88.500000, 44.250000) - (-88.250000, 44.500000)"}},
		{Layer{Name: "both", Geometry: "LINESTRING", HasZ: true, HasM: true}, [][]byte{lineZM}, []string{"Geometry: 3D Measured Line String", "Feature Count: 1", "Extent: (1.000000, 2.000000) - (3.000000, 4.000000)"}},
		{Layer{Name: "lines", Geometry: "LINESTRING"}, one(orb.LineString{{1, 1}, {2, 3}}), []string{"Geometry: Line String", "Feature Count: 1", "Extent: (1.000000, 1.000000) - (2.000000, 3.000000)"}},
		{Layer{Name: "areas", Geometry: "POLYGON"}, one(orb.Polygon{ring}), []string{"Geometry: Polygon", "Feature Count: 1", "Extent: (0.000000, 0.000000) - (4.000000, 3.000000)"}},
		{Layer{Name: "mpoints", Geometry: "MULTIPOINT"}, one(orb.MultiPoint{{1, 1}, {2, 3}}), []string{"Geometry: Multi Point", "Feature Count: 1", "Extent: (1.000000, 1.000000) - (2.000000, 3.000000)"}},
		{Layer{Name: "mlines", Geometry: "MULTILINESTRING"}, one(orb.MultiLineString{{{1, 1}, {2, 3}}, {{5, 5}, {6, 6}}}), []string{"Geometry: Multi Line String", "Extent: (1.000000, 1.000000) - (6.000000, 6.000000)"}},
		{Layer{Name: "mareas", Geometry: "MULTIPOLYGON"}, one(orb.MultiPolygon{{ring}}), []string{"Geometry: Multi Polygon", "Extent: (0.000000, 0.000000) - (4.000000, 3.000000)"}},
		{Layer{Name: "mixed", Geometry: "GEOMETRYCOLLECTION"}, one(orb.Collection{orb.Point{1, 1}, orb.LineString{{1, 1}, {2, 3}}}), []string{"Geometry: Geometry Collection", "Extent: (1.000000, 1.000000) - (2.000000, 3.000000)"}},
		{Layer{Name: "anything", Geometry: "GEOMETRY"}, one(orb.Point{1, 1}), []string{"Geometry: Unknown (any)", "Feature Count: 1"}},
		{Layer{Name: "bare", Geometry: "POINT"}, nil, []string{"Geometry: Point", "Feature Count: 0"}},
		{Layer{Name: "days", Title: "Days on the water", Columns: []Column{{Name: "day", Type: "DATETIME", Title: "Day", NotNull: true},
			{Name: "rain", Type: "BOOLEAN"}, {Name: "packed", Type: "BLOB", Unit: "mm", Title: "Rain by the hour"}}}, nil,
			[]string{"Geometry: None", "Feature Count: 1", "day: DateTime (0.0) NOT NULL", "rain: Integer(Boolean)", "packed: Binary"}},
	}
}

func write(t *testing.T) *File {
	f := made(t)
	update(t, f, func(tx *Tx) error {
		for _, c := range shapes(t) {
			if err := tx.CreateLayer(c.layer); err != nil {
				return err
			}
			for _, b := range c.rows {
				var values []any
				if c.layer.Name == "points" {
					values = []any{1.5, 2, "a"}
				}
				if _, err := tx.Insert(c.layer.Name, b, values...); err != nil {
					return err
				}
			}
		}
		if _, err := tx.Insert("days", nil, noon, true, []byte{1, 2, 3}); err != nil {
			return err
		}
		err := tx.CreateLayer(Layer{Name: "packed", Extension: "leadline_packed", Definition: "made up for a test",
			Columns: []Column{{Name: "x", Type: "BLOB", Title: "Columns", NotNull: true}}})
		if err != nil {
			return err
		}
		if _, err := tx.Insert("packed", nil, []byte{1}); err != nil {
			return err
		}
		if err := tx.Metadata("from a made lake", "text/plain"); err != nil {
			return err
		}
		return tx.SetVersion(7)
	})
	// Deletions and a second bulk load on top.
	update(t, f, func(tx *Tx) error {
		for range 3000 {
			if _, err := tx.Insert("points", Encode(orb.Point{100, 50}, WGS84), 1.0, 1, "gone"); err != nil {
				return err
			}
		}
		_, err := tx.DeleteWhere("points", "note = 'gone'")
		return err
	})
	checkIndex(t, f, "points")
	f.Close()
	return f
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

// Reference: GDAL's validator (validate_gpkg.py, seen with GDAL 3.6.2) says nothing
// of a good file, extra checks included. The file has no empty shapes: the validator
// of 3.6.2 looks for the empty flag in bit 3 where the standard, and GDAL's own
// writer, have it in bit 4, and calls them inconsistent.
func TestValidator(t *testing.T) {
	f := write(t)
	if out := run(t, "/usr/bin/python3", "-m", "osgeo_utils.samples.validate_gpkg", "-k", "--extra", "--warning-as-error", f.Path()); strings.TrimSpace(out) != "" {
		t.Errorf("the validator says:\n%s", out)
	}
}

// Reference: ogrinfo of GDAL reads the counts, types and extents that were written,
// by the extent in gpkg_contents and by the rows, and without a word on stderr.
func TestOgrinfo(t *testing.T) {
	f := write(t)
	all := run(t, "ogrinfo", "-al", "-so", "-ro", f.Path())
	if strings.Contains(all, "Warning") || strings.Contains(all, "ERROR") {
		t.Errorf("ogrinfo complains:\n%s", all)
	}
	for _, c := range shapes(t) {
		_, text, found := strings.Cut(all, "Layer name: "+c.layer.Name+"\n")
		if !found {
			t.Errorf("%s: not listed", c.layer.Name)
			continue
		}
		text, _, _ = strings.Cut(text, "Layer name: ")
		for _, s := range c.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s: %q isn't in\n%s", c.layer.Name, s, text)
			}
		}
	}
	for _, hidden := range []string{"leadline_version", "packed\n"} {
		if strings.Contains(all, "Layer name: "+hidden) {
			t.Errorf("%s is shown as a layer", hidden)
		}
	}
	// The index finds what the rows hold: a box with one point in it.
	box := run(t, "ogrinfo", "-so", "-ro", "-spat", "-87.9995", "43.9995", "-87.9985", "44.0005", f.Path(), "points")
	if !strings.Contains(box, "Feature Count: 1\n") {
		t.Errorf("by the index:\n%s", box)
	}
	if m := run(t, "ogrinfo", "-ro", "-al", f.Path(), "tracks"); !strings.Contains(m, "LINESTRING M (-88.5 44.25 0,-88.25 44.5 10)") {
		t.Errorf("measures:\n%s", m)
	}
}

// Reference: ogr2ogr adds a row to our layer, through our triggers, and we read it.
func TestOthersWrite(t *testing.T) {
	f := write(t)
	sql := "INSERT INTO points (geom, depth_m) SELECT geom, 9 FROM points WHERE fid = 2"
	run(t, "ogrinfo", "-sql", sql, f.Path())
	g := open(t, f.Path(), Options{})
	if n := count(t, g, "SELECT count(*) FROM points WHERE depth_m = 9"); n != 1 {
		t.Errorf("%d rows", n)
	}
	checkIndex(t, g, "points")
}

// Reference: the triggers GDAL writes for version 1.3 are ours, white space and
// quotes apart; we can open and add to its file.
func TestTriggersAreGDALs(t *testing.T) {
	ours := made(t, Layer{Name: "a", Geometry: "POINT"})
	path := filepath.Join(t.TempDir(), "theirs.gpkg")
	run(t, "ogr2ogr", "-f", "GPKG", "-dsco", "VERSION=1.3", "-nln", "a", path, ours.Path(), "a")
	theirs := open(t, path, Options{})
	list := func(f *File) (out []string) {
		view(t, f, func(tx *Tx) error {
			return tx.Query(func(scan func(...any) error) error {
				var s string
				err := scan(&s)
				out = append(out, strings.NewReplacer(" ", "", "\n", "", `"`, "").Replace(s))
				return err
			}, `SELECT sql FROM sqlite_master WHERE name LIKE 'rtree_a_geom%' AND sql NOT NULL AND type IN ('trigger', 'table') ORDER BY name`)
		})
		return out
	}
	a, b := list(ours), list(theirs)
	if strings.Join(a, "\n") != strings.Join(b, "\n") {
		t.Errorf("ours:\n%s\ntheirs:\n%s", strings.Join(a, "\n"), strings.Join(b, "\n"))
	}
	update(t, theirs, func(tx *Tx) error {
		for i := range 3000 {
			if _, err := tx.Insert("a", Encode(orb.Point{float64(i % 77), 1}, WGS84)); err != nil {
				return err
			}
		}
		return nil
	})
	checkIndex(t, theirs, "a")
	theirs.Close()
	if out := run(t, "/usr/bin/python3", "-m", "osgeo_utils.samples.validate_gpkg", "-k", path); strings.TrimSpace(out) != "" {
		t.Errorf("the validator says:\n%s", out)
	}
	if out := run(t, "ogrinfo", "-so", "-ro", path, "a"); !strings.Contains(out, "Feature Count: 3000") {
		t.Errorf("ogrinfo:\n%s", out)
	}
}
