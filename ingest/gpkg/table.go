package gpkg

import (
	"database/sql"
	"fmt"
	"strings"
)

// A table is what a transaction knows of one table of the file, ours or another
// program's.
type table struct {
	name    string
	geom    string // shape column, "" without shapes
	kind    uint32 // WKB code, 0 for any
	z, m    int    // 0 none may have it, 1 all must, 2 some may
	srs     int
	columns []column // without the key and the shape

	insert *sql.Stmt

	inARow  int    // rows inserted since anything else was done
	index   string // name of the R-tree while boxes are collected
	trigger string // its insert trigger, dropped meanwhile; "" when not collecting
	pending []cell

	changed   bool   // gpkg_contents needs its last_change
	known     bool   // the extent in gpkg_contents is right
	remeasure bool   // rows may have gone: measure all
	added     extent // of the rows put in
}

type column struct {
	name    string
	kind    valueKind
	notNull bool
}

// table finds out about a table once per transaction.
func (tx *Tx) table(name string) (*table, error) {
	if err := tx.usable(false); err != nil {
		return nil, err
	}
	if t, ok := tx.layers[strings.ToLower(name)]; ok {
		return t, nil
	}
	t := &table{added: noExtent}
	found, err := tx.one([]any{&t.name},
		`SELECT name FROM sqlite_master WHERE type = 'table' AND name = ? COLLATE NOCASE`, name)
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, fmt.Errorf("%s has no table %q", tx.f.path, name)
	}
	if err := tx.readShape(t); err != nil {
		return nil, err
	}
	err = tx.query(func(scan func(...any) error) error {
		var c column
		var typ string
		var pk int
		if err := scan(&c.name, &typ, &c.notNull, &pk); err != nil {
			return err
		}
		if pk == 0 && !strings.EqualFold(c.name, t.geom) {
			c.kind = kindOf(typ)
			t.columns = append(t.columns, c)
		}
		return nil
	}, `SELECT name, type, "notnull", pk FROM pragma_table_info(?) ORDER BY cid`, t.name)
	if err != nil {
		return nil, err
	}
	tx.layers[strings.ToLower(name)] = t
	tx.order = append(tx.order, t)
	return t, nil
}

// readShape fills in what gpkg_geometry_columns and gpkg_contents say.
func (tx *Tx) readShape(t *table) error {
	var has int
	if _, err := tx.one([]any{&has}, `SELECT count(*) FROM sqlite_master WHERE name = 'gpkg_geometry_columns'`); err != nil {
		return err
	}
	if has == 0 {
		return nil
	}
	var typ string
	found, err := tx.one([]any{&t.geom, &typ, &t.srs, &t.z, &t.m},
		`SELECT column_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns WHERE table_name = ? COLLATE NOCASE`, t.name)
	if err != nil || !found {
		return err
	}
	t.kind = geometryCodes[strings.ToUpper(typ)] // a curved type counts as any
	// No extent is right when there are no rows, and otherwise another program's
	// omission.
	_, err = tx.one([]any{&t.known}, `SELECT min_x IS NOT NULL OR NOT EXISTS (SELECT 1 FROM `+quote(t.name)+`)
		FROM gpkg_contents WHERE table_name = ? COLLATE NOCASE`, t.name)
	return err
}

// finishTable writes when a table was changed and where its shapes lie.
func (tx *Tx) finishTable(t *table) error {
	if !t.changed {
		return nil
	}
	err := tx.run(`UPDATE gpkg_contents SET last_change = ? WHERE table_name = ? COLLATE NOCASE`, tx.f.stamp(), t.name)
	if err != nil || t.geom == "" {
		return err
	}
	if t.remeasure || !t.known {
		return tx.measure(t)
	}
	if t.added.empty() {
		return nil
	}
	return tx.run(`UPDATE gpkg_contents SET
		min_x = min(coalesce(min_x, ?1), ?1), max_x = max(coalesce(max_x, ?2), ?2),
		min_y = min(coalesce(min_y, ?3), ?3), max_y = max(coalesce(max_y, ?4), ?4)
		WHERE table_name = ?5 COLLATE NOCASE`,
		t.added.minX, t.added.maxX, t.added.minY, t.added.maxY, t.name)
}

// measure finds the extent by reading every shape. The index would be quicker, but
// it holds 32-bit numbers rounded outwards: up to 2 m at 180 degrees.
func (tx *Tx) measure(t *table) error {
	all := noExtent
	var b sql.RawBytes
	err := tx.query(func(scan func(...any) error) error {
		if err := scan(&b); err != nil {
			return err
		}
		info, err := quickInfo(b)
		if err != nil {
			return fmt.Errorf("%s: layer %s: %w", tx.f.path, t.name, err)
		}
		all = all.join(info.ext)
		return nil
	}, "SELECT "+quote(t.geom)+" FROM "+quote(t.name)+" WHERE "+quote(t.geom)+" NOT NULL")
	if err != nil {
		return err
	}
	args := []any{nil, nil, nil, nil, t.name}
	if !all.empty() {
		args = []any{all.minX, all.minY, all.maxX, all.maxY, t.name}
	}
	return tx.run(`UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ?
		WHERE table_name = ? COLLATE NOCASE`, args...)
}
