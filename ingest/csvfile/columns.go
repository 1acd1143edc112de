package csvfile

import (
	"fmt"
	"slices"
	"strings"

	"leadline/ingest/si"
)

// column is one column of the file at hand.
type column struct {
	name string
	spelling
	unit string // short name, see si; empty when nobody said it yet
	utc  bool   // the header says that times are UTC
	said bool   // what it is was said by a person
	// by is how the values of a column of a quantity get their unit.
	by     unitFrom
	factor factor // of unit, for cells that are plain numbers
}

type unitFrom uint8

const (
	byHeader    unitFrom = iota // or by what the person said
	byFirstCell                 // not known before a cell is seen
	byCell                      // each cell carries it
	byNobody                    // column not used
)

// mostName bounds the cells that are looked at as names.
const mostName = 200

// parseColumn reads one header cell: a known name, with its unit in brackets or
// as its last words, or neither.
func parseColumn(cell string) column {
	c := column{name: strings.TrimSpace(cell)}
	if len(cell) > mostName {
		return c
	}
	base, inside := cell, ""
	if open := strings.IndexAny(cell, "([{"); open > 0 {
		base, inside = cell[:open], strings.Trim(cell[open:], "()[]{} \t")
	}
	words := strings.Fields(plain(base))
	if s, ok := spellings[strings.Join(words, " ")]; ok {
		c.spelling = s
		c.say(strings.Fields(strings.NewReplacer(",", " ", "_", " ").Replace(inside)), false)
		if slices.Contains(words, "utc") {
			c.utc = true
		}
		return c
	}
	for n := len(words) - 1; n > 0 && n >= len(words)-3; n-- {
		s, ok := spellings[strings.Join(words[:n], " ")]
		if !ok {
			continue
		}
		c.spelling = s
		if c.say(words[n:], true) {
			return c
		}
		c = column{name: c.name}
	}
	return c
}

// say takes a unit, a zone for times, and from where down a depth is, from the
// words of a header cell. all asks that every word is understood.
func (c *column) say(words []string, all bool) bool {
	known := 0
	for _, w := range words {
		w = strings.ToLower(w)
		q := meanings[c.role].quantity
		switch {
		case q != nil:
			if short, isUnit := q.Unit(w); isUnit {
				c.unit = short
				known++
			} else if q == si.Temperature && (strings.HasPrefix(w, "deg") || w == "°" || w == "grad") {
				known++
			} else if ref, isRef := refWords[w]; isRef && c.role == colDepth {
				c.ref = ref
				known++
			} else if c.role == colDepth && (w == "below" || w == "under" || w == "the") {
				known++
			}
		case c.role == colLat || c.role == colLon:
			if strings.HasPrefix(w, "deg") || w == "°" || w == "wgs84" || w == "dd" {
				known++
			}
		case c.role == colTime || c.role == colDate || c.role == colClock:
			switch w {
			case "utc", "gmt", "z":
				c.utc = true
				known++
			case "local", "s", "ms", "seconds", "milliseconds", "iso":
				known++
			}
		case c.role == colWindFrom:
			if strings.HasPrefix(w, "deg") || w == "°" {
				known++
			}
		}
	}
	return !all || known == len(words)
}

// sayings is what a person said of columns, by name and by place from 0.
type sayings struct {
	byName  map[string]column
	byPlace map[int]column
	places  int // the last place said and one
}

// newSayings reads opt.Columns; the error names the first word that is none.
func newSayings(columns map[string]string) (s sayings, err error) {
	s = sayings{map[string]column{}, map[int]column{}, 0}
	names := make([]string, 0, len(columns))
	for name := range columns {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		c := parseColumn(columns[name])
		if c.role == unknown && plain(columns[name]) != noColumn {
			err = fmt.Errorf("column %q: %q is not a known word, wanted one such as time, date, lat, lon, depth_ft, depth_m, temp_c, species or %s", name, clip(columns[name]), noColumn)
			return s, err
		}
		c.said = true
		s.byName[plain(name)] = c
		if n, isNumber := digits(name); isNumber && n > 0 && n < lineBytes {
			s.byPlace[n-1] = c
			s.places = max(s.places, n)
		}
	}
	return s, nil
}

// columns reads the cells of a header; named of the columns that have a role have
// it by their names.
func (s sayings) columns(cells []string) (columns []column, named int) {
	columns = make([]column, len(cells))
	for i, cell := range cells {
		c := parseColumn(cell)
		said, isSaid := s.byName[plain(cell)]
		if isSaid && plain(cell) != "" {
			c = said
		}
		if c.role != unknown {
			named++
		}
		if said, isSaid := s.byPlace[i]; isSaid {
			c = said
		}
		c.name = strings.TrimSpace(cell)
		columns[i] = c
	}
	return columns, named
}

// sameColumns reports whether two headers lay out their rows alike.
func sameColumns(a, b []column) bool {
	return slices.EqualFunc(a, b, func(a, b column) bool { return plain(a.name) == plain(b.name) })
}
