package csvfile

import (
	"fmt"
	"math"
	"strings"

	"leadline/ingest"
	"leadline/ingest/si"
)

// missing reports whether a cell says that there is no value.
func missing(cell string) bool {
	if cell == "" {
		return true
	}
	if c := cell[0]; c >= '0' && c <= '9' {
		return false
	}
	if len(cell) <= 4 {
		switch strings.ToLower(cell) {
		case "nan", "na", "n/a", "null", "nil", "none", "?":
			return true
		}
	}
	return strings.Trim(cell, "-*_") == ""
}

// cell returns the text of a role in the row at hand, blanks trimmed; empty when
// the table has no such column or the row ends before it.
func (t *table) cell(r role) string { return t.cellAt(t.at[r]) }

func (t *table) cellAt(i int) string {
	if i >= 0 && i < len(t.row) {
		return strings.TrimSpace(t.row[i])
	}
	return ""
}

// value returns the SI value of a role in the row at hand. Unknown with wanted
// empty means that the cell holds none; wanted says what would have been taken.
// The error is for the file: a depth or level whose unit nobody says.
func (t *table) value(r role) (v ingest.Maybe, wanted string, err error) {
	return t.valueAt(t.at[r])
}

func (t *table) valueAt(i int) (v ingest.Maybe, wanted string, err error) {
	cell := t.cellAt(i)
	if missing(cell) {
		return ingest.Maybe{}, "", nil
	}
	c := &t.columns[i]
	q := meanings[c.role].quantity
	if c.by == byFirstCell {
		if err := t.settleUnit(c, q, cell); err != nil {
			return ingest.Maybe{}, "", err
		}
	}
	switch c.by {
	case byNobody:
		return ingest.Maybe{}, "", nil
	case byCell:
		x, err := q.Parse(t.pointed(cell))
		if err != nil {
			return ingest.Maybe{}, "a number with a unit: " + q.Units(), nil
		}
		return ingest.Known(x), "", nil
	}
	if x, ok := t.number(cell); ok {
		if !c.factor.ok {
			c.factor = factorOf(q, c.unit)
		}
		if c.factor.ok {
			x = c.factor.of(x)
		} else {
			x, _ = q.Convert(x, c.unit)
		}
		if !math.IsInf(x, 0) {
			return ingest.Known(x), "", nil
		}
	} else if x, ok := t.inUnit(q, cell, c.unit); ok {
		return ingest.Known(x), "", nil
	}
	return ingest.Maybe{}, "a number in " + c.unit, nil
}

// inUnit reads what a plain number is not: a fraction such as 3/8, or a cell that
// repeats its column's unit.
func (t *table) inUnit(q *si.Quantity, cell, unit string) (float64, bool) {
	cell = t.pointed(cell)
	number := strings.TrimRightFunc(cell, func(r rune) bool { return r < '0' || r > '9' })
	if word := strings.TrimSpace(cell[len(number):]); word != "" {
		if short, ok := q.Unit(word); !ok || short != unit {
			return 0, false
		}
	}
	x, err := q.Parse(number + unit)
	return x, err == nil
}

func (t *table) pointed(cell string) string {
	if t.delimiter != ',' && strings.IndexByte(cell, '.') < 0 {
		return strings.Replace(cell, ",", ".", 1)
	}
	return cell
}

// settleUnit decides a column without a unit in the header by its first value.
func (t *table) settleUnit(c *column, q *si.Quantity, cell string) error {
	if _, err := q.Parse(t.pointed(cell)); err == nil {
		c.by = byCell
		return nil
	}
	switch {
	case c.role == colDepth && &t.columns[t.at[colDepth]] != c: // one beside that which is read
		c.by = byNobody
		return nil
	case c.role == colDepth || c.role == colFishDepth:
		return fmt.Errorf("%s: column %q has no unit (its first value is %q%s); wanted it in the header, as depth_ft or depth_m, or said by --depth-unit=ft, --depth-unit=m or --depth-unit=fathom",
			t.name, c.name, clip(cell), t.guessUnit(cell))
	case c.role == colLevel:
		return fmt.Errorf("%s: column %q has no unit (its first value is %q); wanted it in the header, as level_ft or level_m", t.name, c.name, clip(cell))
	case c.role == colWind:
		return fmt.Errorf("%s: column %q has no unit (its first value is %q); wanted it in the header, as wind_mph, wind_kn, wind_mps or wind_kmh", t.name, c.name, clip(cell))
	}
	c.by = byNobody
	t.fileProblem(c.name, cell, "a unit in the header, one of "+q.Units()+"; column not used", ingest.ErrMissing)
	return nil
}

// guessUnit says what a depth without a unit would be in both, and which one the
// file's other units speak for. It is for the message only.
func (t *table) guessUnit(cell string) string {
	x, ok := t.number(cell)
	if !ok {
		return ""
	}
	s := fmt.Sprintf(": %.1f m if feet, %.0f ft if metres", x*si.FootM, x/si.FootM)
	for _, c := range t.columns {
		switch c.unit {
		case "F", "mph", "in", "lb", "oz":
			return s + fmt.Sprintf("; probably feet, as %q is in %s", c.name, c.unit)
		case "C", "m/s", "km/h", "cm", "kg", "g":
			return s + fmt.Sprintf("; probably metres, as %q is in %s", c.name, c.unit)
		}
	}
	return s
}
