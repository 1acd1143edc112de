package gpkg

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

// instantLayout is how GeoPackage 1.3 writes a DATETIME, table 1.
const instantLayout = "2006-01-02T15:04:05.000Z"

// Insert adds a row to a layer or a table and gives its fid. geom is the shape as
// an Encode function gave it, nil for none; it must be nil in a table without
// shapes. values are those of the columns in their order, without fid and geom:
//
//	INTEGER            int, int64 and the smaller ones
//	REAL               float64, finite; or an integer
//	TEXT               string, UTF-8 without a zero byte
//	DATETIME           time.Time, cut to the millisecond in UTC; the zero time is NULL
//	BOOLEAN            bool
//	BLOB               []byte
//	any                nil for NULL
//
// It is an error, and nothing is added, when the shape is not of the layer's type,
// srs, heights or measures, has a coordinate that is no finite number, when there
// are more or fewer values than columns, when a value is of another type, or NULL
// where the column doesn't take it.
func (tx *Tx) Insert(layer string, geom []byte, values ...any) (fid int64, err error) {
	if err := tx.usable(true); err != nil {
		return 0, err
	}
	t, ok := tx.layers[layer]
	if !ok {
		if t, err = tx.table(layer); err != nil {
			return 0, err
		}
	}
	args, ext, err := tx.appendRow(make([]any, 0, len(values)+1), t, geom, values)
	if err != nil {
		return 0, err
	}
	if t.insert == nil {
		if t.insert, err = tx.f.conn.PrepareContext(context.Background(), t.insertSQL(1)); err != nil {
			return 0, tx.failed(err)
		}
	}
	// The statement is not given tx.ctx, which costs a goroutine per row; usable has
	// looked at it.
	res, err := t.insert.ExecContext(context.Background(), args...)
	if err != nil {
		return 0, tx.failed(err)
	}
	t.changed = true
	t.added = t.added.join(ext)
	if fid, err = res.LastInsertId(); err != nil {
		return 0, tx.failed(err)
	}
	return fid, tx.spoil(tx.noteInserted(t, fid, ext))
}

// watched reports whether a trigger puts each row of a layer into its index.
func (tx *Tx) watched(layer string) bool {
	t := tx.layers[layer]
	return t.geom != "" && t.trigger == ""
}

// appendRow appends what the insert statement takes for a row, and gives the extent of its shape.
func (tx *Tx) appendRow(args []any, t *table, geom []byte, values []any) (row []any, ext extent, err error) {
	ext = noExtent
	if geom != nil {
		if ext, err = t.accept(geom); err != nil {
			return nil, ext, fmt.Errorf("%s: layer %s: %w", tx.f.path, t.name, err)
		}
	}
	if len(values) != len(t.columns) {
		return nil, ext, fmt.Errorf("%s: layer %s: %d values for %d columns", tx.f.path, t.name, len(values), len(t.columns))
	}
	if t.geom != "" {
		if geom == nil {
			args = append(args, nil)
		} else {
			args = append(args, geom)
		}
	}
	for i, v := range values {
		c := &t.columns[i]
		a, err := c.kind.toSQL(v)
		if err == nil && a == nil && c.notNull {
			err = fmt.Errorf("a value is needed")
		}
		if err != nil {
			return nil, ext, fmt.Errorf("%s: layer %s: column %s: %w", tx.f.path, t.name, c.name, err)
		}
		args = append(args, a)
	}
	return args, ext, nil
}

// accept checks that a shape may stand in the layer, and measures it.
func (t *table) accept(b []byte) (extent, error) {
	if t.geom == "" {
		return noExtent, fmt.Errorf("a shape in a table without shapes")
	}
	info, err := fullInfo(b)
	if err != nil {
		return noExtent, err
	}
	switch {
	case info.flagged != info.ext.empty():
		return noExtent, fmt.Errorf("geometry without a coordinate that is not flagged empty, or the reverse")
	case t.kind != 0 && info.kind != t.kind:
		return noExtent, fmt.Errorf("geometry type %d where %d is needed", info.kind, t.kind)
	case info.srs != t.srs:
		return noExtent, fmt.Errorf("geometry with srs %d where %d is needed", info.srs, t.srs)
	case !fits(info.z, t.z):
		return noExtent, fmt.Errorf("geometry with or without heights, against the layer")
	case !fits(info.m, t.m):
		return noExtent, fmt.Errorf("geometry with or without measures, against the layer")
	}
	return info.ext, nil
}

// fits compares a shape with the rule of gpkg_geometry_columns.
func fits(has bool, rule int) bool { return rule == 2 || has == (rule == 1) }

// insertSQL is the statement that puts in rows at a time.
func (t *table) insertSQL(rows int) string {
	var names, marks []string
	if t.geom != "" {
		names, marks = append(names, quote(t.geom)), append(marks, "?")
	}
	for _, c := range t.columns {
		names, marks = append(names, quote(c.name)), append(marks, "?")
	}
	if len(names) == 0 {
		return "INSERT INTO " + quote(t.name) + " DEFAULT VALUES"
	}
	row := "(" + strings.Join(marks, ", ") + ")"
	return "INSERT INTO " + quote(t.name) + " (" + strings.Join(names, ", ") + ") VALUES " + row + strings.Repeat(", "+row, rows-1)
}

// A valueKind says which Go values a column takes.
type valueKind int

const (
	anyKind valueKind = iota
	integerKind
	realKind
	textKind
	timeKind
	boolKind
	blobKind
)

// kindOf reads a declared type, table 1 of the standard. A type it doesn't list
// takes anything.
func kindOf(declared string) valueKind {
	d, _, _ := strings.Cut(strings.ToUpper(declared), "(")
	switch strings.TrimSpace(d) {
	case "INTEGER", "INT", "TINYINT", "SMALLINT", "MEDIUMINT":
		return integerKind
	case "REAL", "DOUBLE", "FLOAT":
		return realKind
	case "TEXT":
		return textKind
	case "DATETIME":
		return timeKind
	case "BOOLEAN":
		return boolKind
	case "BLOB":
		return blobKind
	}
	return anyKind
}

// toSQL gives the value as it is stored, nil for NULL.
func (k valueKind) toSQL(v any) (any, error) {
	kind := anyKind
	switch x := v.(type) {
	case nil:
		return nil, nil
	case int:
		kind, v = integerKind, int64(x)
	case int64:
		kind = integerKind
	case int32:
		kind, v = integerKind, int64(x)
	case int16:
		kind, v = integerKind, int64(x)
	case int8:
		kind, v = integerKind, int64(x)
	case uint8:
		kind, v = integerKind, int64(x)
	case uint16:
		kind, v = integerKind, int64(x)
	case uint32:
		kind, v = integerKind, int64(x)
	case float64:
		kind = realKind
		if !finite(x) {
			return nil, fmt.Errorf("%v is not a finite number", x)
		}
	case string:
		kind = textKind
		if !utf8.ValidString(x) || strings.IndexByte(x, 0) >= 0 {
			return nil, fmt.Errorf("%q is not UTF-8 text, or has a zero byte", x)
		}
	case time.Time:
		kind = timeKind
		if x.IsZero() {
			return nil, nil
		}
		if y := x.UTC().Year(); y < 0 || y > 9999 {
			return nil, fmt.Errorf("the year %d can't be written", y)
		}
		v = x.UTC().Format(instantLayout)
	case bool:
		kind, v = boolKind, int64(bit(x))
	case []byte:
		kind = blobKind
		if x == nil {
			return nil, nil
		}
	default:
		return nil, fmt.Errorf("a value of type %T can't be stored", v)
	}
	switch {
	case kind == k || k == anyKind:
		return v, nil
	case k == realKind && kind == integerKind:
		return float64(v.(int64)), nil
	}
	return nil, fmt.Errorf("%v does not fit the column's type", v)
}
