package gpkg

import (
	"fmt"
	"regexp"
	"strings"
)

// A Layer describes a table to be made.
type Layer struct {
	Name        string // letters, digits and _, a letter first
	Title       string // for people; the name when empty
	Description string
	// Geometry is POINT, LINESTRING, POLYGON, MULTIPOINT, MULTILINESTRING,
	// MULTIPOLYGON, GEOMETRYCOLLECTION or GEOMETRY (any of them). Empty makes a table
	// without shapes.
	Geometry string
	HasZ     bool // every shape has heights
	HasM     bool // every shape has measures
	SRS      int  // srs_id of the shapes; 0 means WGS84
	Columns  []Column

	// Extension, such as "leadline_packed", makes a table that a GIS doesn't show to
	// people: it is registered as that extension (author, _, name) instead of as
	// contents. Definition then tells what is in it, so that another program could
	// read it. Only for tables without shapes.
	Extension  string
	Definition string
}

// A Column of a layer.
type Column struct {
	Name        string // as a layer's; fid and geom are taken
	Type        string // INTEGER, REAL, TEXT, DATETIME, BOOLEAN or BLOB
	Title       string
	Unit        string // kept in the description: GeoPackage has no place for it
	Description string
	NotNull     bool
}

// geometryCodes are the WKB codes of the geometry types; 0 means any.
var geometryCodes = map[string]uint32{
	"GEOMETRY": 0, "POINT": codePoint, "LINESTRING": codeLine, "POLYGON": codePolygon,
	"MULTIPOINT": codeMultiPoint, "MULTILINESTRING": codeMultiLine, "MULTIPOLYGON": codeMultiPolygon,
	"GEOMETRYCOLLECTION": codeCollection,
}

// columnTypes maps ours to those the standard allows, table 1.
var columnTypes = map[string]bool{
	"INTEGER": true, "REAL": true, "TEXT": true, "DATETIME": true, "BOOLEAN": true, "BLOB": true,
}

var (
	nameForm      = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_]*$`)
	extensionForm = regexp.MustCompile(`^[A-Za-z0-9]+_[A-Za-z0-9_]+$`)
)

func quote(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

// CreateLayer makes a table with the columns fid (the key, counted up and never
// used twice), geom when it has shapes, and l.Columns; registers it and its column
// titles; and gives it a spatial index when it has shapes.
//
// It is an error when a name has another form than asked for, is taken, begins with
// gpkg_, rtree_ or sqlite_, or when a type is not one of those listed.
func (tx *Tx) CreateLayer(l Layer) error {
	if err := tx.usable(true); err != nil {
		return err
	}
	if err := l.check(); err != nil {
		return fmt.Errorf("%s: %w", tx.f.path, err)
	}
	if err := tx.ensureCore(); err != nil {
		return err
	}
	if err := tx.run(l.ddl()); err != nil {
		return err
	}
	if err := tx.register(l); err != nil {
		return tx.spoil(err)
	}
	if l.Geometry != "" {
		if err := tx.createIndex(l.Name); err != nil {
			return tx.spoil(err)
		}
	}
	t, err := tx.table(l.Name)
	if err != nil {
		return err
	}
	t.changed, t.known = true, true // it is empty, so its extent is known
	return nil
}

func (l Layer) check() error {
	if err := checkName(l.Name); err != nil {
		return fmt.Errorf("layer %q: %w", l.Name, err)
	}
	if _, ok := geometryCodes[l.Geometry]; !ok && l.Geometry != "" {
		return fmt.Errorf("layer %s: geometry type %q is not known", l.Name, l.Geometry)
	}
	if l.Extension != "" {
		switch {
		case l.Geometry != "":
			return fmt.Errorf("layer %s: an extension's table can't have shapes here", l.Name)
		case !extensionForm.MatchString(l.Extension) || strings.HasPrefix(strings.ToLower(l.Extension), "gpkg_"):
			return fmt.Errorf("layer %s: extension %q is not of the form author_name", l.Name, l.Extension)
		case l.Definition == "":
			return fmt.Errorf("layer %s: extension %s has no definition", l.Name, l.Extension)
		}
	}
	seen := map[string]bool{"fid": true, "geom": true}
	for _, c := range l.Columns {
		if err := checkName(c.Name); err != nil {
			return fmt.Errorf("layer %s: column %q: %w", l.Name, c.Name, err)
		}
		if low := strings.ToLower(c.Name); seen[low] {
			return fmt.Errorf("layer %s: column %s: the name is taken", l.Name, c.Name)
		} else {
			seen[low] = true
		}
		if !columnTypes[c.Type] {
			return fmt.Errorf("layer %s: column %s: type %q is not known", l.Name, c.Name, c.Type)
		}
	}
	return nil
}

func checkName(s string) error {
	if !nameForm.MatchString(s) {
		return fmt.Errorf("a name is made of letters, digits and _, a letter first")
	}
	low := strings.ToLower(s)
	for _, p := range []string{"gpkg_", "rtree_", "sqlite_"} {
		if strings.HasPrefix(low, p) {
			return fmt.Errorf("names with %s are the format's own", p)
		}
	}
	return nil
}

func (l Layer) ddl() string {
	var b strings.Builder
	fmt.Fprintf(&b, "CREATE TABLE %s (\n\t\"fid\" INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL", quote(l.Name))
	if l.Geometry != "" {
		fmt.Fprintf(&b, ",\n\t\"geom\" %s", l.Geometry)
	}
	for _, c := range l.Columns {
		fmt.Fprintf(&b, ",\n\t%s %s", quote(c.Name), c.Type)
		if c.NotNull {
			b.WriteString(" NOT NULL")
		}
	}
	b.WriteString(")")
	return b.String()
}

// register tells of the table in gpkg_contents or gpkg_extensions, and of its
// columns.
func (tx *Tx) register(l Layer) error {
	srs := l.SRS
	if srs == 0 {
		srs = WGS84
	}
	title := l.Title
	if title == "" {
		title = l.Name
	}
	var err error
	switch {
	case l.Extension != "":
		err = tx.registerExtension(l.Name, nil, l.Extension, l.Definition, "read-write")
	case l.Geometry == "":
		err = tx.run(`INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)
			VALUES (?, 'attributes', ?, ?, ?)`, l.Name, title, l.Description, tx.f.stamp())
	default:
		err = tx.run(`INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id)
			VALUES (?, 'features', ?, ?, ?, ?)`, l.Name, title, l.Description, tx.f.stamp(), srs)
		if err == nil {
			err = tx.run(`INSERT INTO gpkg_geometry_columns (table_name, column_name, geometry_type_name, srs_id, z, m)
				VALUES (?, 'geom', ?, ?, ?, ?)`, l.Name, l.Geometry, srs, bit(l.HasZ), bit(l.HasM))
		}
	}
	if err != nil {
		return err
	}
	for _, c := range l.Columns {
		desc := c.Description
		if c.Unit != "" {
			desc = strings.TrimSpace(desc + " (unit: " + c.Unit + ")")
		}
		if c.Title == "" && desc == "" {
			continue
		}
		err := tx.run(`INSERT INTO gpkg_data_columns (table_name, column_name, title, description) VALUES (?, ?, ?, ?)`,
			l.Name, c.Name, orNull(c.Title), orNull(desc))
		if err != nil {
			return err
		}
	}
	return nil
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

func orNull(s string) any {
	if s == "" {
		return nil
	}
	return s
}
