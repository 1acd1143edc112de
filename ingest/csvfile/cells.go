package csvfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// missing reports whether a cell says that there is no value.
func missing(cell string) bool {
	switch strings.ToLower(cell) {
	case "", "nan", "na", "n/a", "null", "nil", "none", "?":
		return true
	}
	return strings.Trim(cell, "-*_") == ""
}

// number reads a decimal number. A comma is a decimal point where commas don't
// separate cells; with both in one number there is no telling, and it is none.
func (t *table) number(cell string) (float64, bool) {
	if t.delimiter != ',' && strings.IndexByte(cell, ',') >= 0 {
		if strings.IndexByte(cell, '.') >= 0 {
			return 0, false
		}
		cell = strings.Replace(cell, ",", ".", 1)
	}
	if strings.Trim(cell, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(cell, 64)
	return v, err == nil
}

// cell returns the text of a role in the row at hand, blanks trimmed; empty when
// the table has no such column or the row ends before it.
func (t *table) cell(r role) string {
	if i := t.at[r]; i >= 0 && i < len(t.row) {
		return strings.TrimSpace(t.row[i])
	}
	return ""
}

// value returns the SI value of a role in the row at hand. Unknown with wanted
// empty means that the cell holds none; wanted says what would have been taken.
// The error is for the file: a depth or level whose unit nobody says.
func (t *table) value(r role) (v ingest.Maybe, wanted string, err error) {
	cell := t.cell(r)
	if missing(cell) {
		return ingest.Maybe{}, "", nil
	}
	c := &t.columns[t.at[r]]
	q := meanings[r].quantity
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
		x, _ = q.Convert(x, c.unit)
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
	switch c.role {
	case colDepth, colFishDepth:
		return fmt.Errorf("%s: column %q has no unit (its first value is %q); wanted it in the header, as depth_ft or depth_m, or a depth unit of m, ft or fathom given for the file", t.name, c.name, clip(cell))
	case colLevel:
		return fmt.Errorf("%s: column %q has no unit (its first value is %q); wanted it in the header, as level_ft or level_m", t.name, c.name, clip(cell))
	}
	c.by = byNobody
	t.fileProblem(c.name, cell, "a unit in the header, one of "+q.Units()+"; column not used", ingest.ErrMissing)
	return nil
}

// position reads lat and lon of the row at hand. has is false when the row gives
// none; a problem, its outcome left open, when it gives one that can't be used.
func (t *table) position() (pos orb.Point, has bool, p *ingest.Problem) {
	latText, lonText := t.cell(colLat), t.cell(colLon)
	noLat, noLon := missing(latText), missing(lonText)
	if noLat && noLon {
		return pos, false, nil
	}
	bad := func(r role, found, wanted string, kind error) (orb.Point, bool, *ingest.Problem) {
		return orb.Point{}, false, &ingest.Problem{Field: t.nameOf(r), Found: found, Wanted: wanted, Kind: kind}
	}
	const latWanted, lonWanted = "degrees from -90 to 90", "degrees from -180 to 180"
	switch {
	case noLat:
		return bad(colLat, "", latWanted, ingest.ErrMissing)
	case noLon:
		return bad(colLon, "", lonWanted, ingest.ErrMissing)
	}
	lat, okLat := t.degrees(latText, 'N', 'S')
	lon, okLon := t.degrees(lonText, 'E', 'W')
	switch {
	case !okLat:
		return bad(colLat, latText, latWanted, ingest.ErrNumber)
	case !okLon:
		return bad(colLon, lonText, lonWanted, ingest.ErrNumber)
	case math.Abs(lat) > 90:
		return bad(colLat, latText, latWanted, ingest.ErrRange)
	case math.Abs(lon) > 180:
		return bad(colLon, lonText, lonWanted, ingest.ErrRange)
	case lat == 0 && lon == 0:
		return bad(colLat, latText+", "+lonText, "where the boat was: receivers say 0, 0 before they know", ingest.ErrPosition)
	}
	return orb.Point{lon, lat}, true, nil
}

// degrees reads decimal degrees with a sign, or with a letter before or behind.
func (t *table) degrees(s string, plus, minus byte) (float64, bool) {
	sign, letter := 1.0, false
	for _, i := range [...]int{0, len(s) - 1} {
		switch s[i] &^ 0x20 {
		case minus:
			sign, letter = -1, true
		case plus:
			letter = true
		default:
			continue
		}
		s = s[:i] + s[i+1:]
		break
	}
	s = strings.Trim(s, " °")
	v, ok := t.number(s)
	if letter && strings.Trim(s, "0123456789.,") != "" {
		return 0, false // a sign and a letter contradict or repeat each other
	}
	return sign * v, ok
}
