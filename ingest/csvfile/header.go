package csvfile

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"unicode"

	"leadline/ingest/si"
)

// role is what a column can be read as.
type role uint8

const (
	unknown role = iota
	colTime
	colDate
	colClock
	colLat
	colLon
	colDepth
	colFishDepth
	colTemp
	colSpeed
	colKind
	colSpecies
	colCount
	colLength
	colWeight
	colHead
	colTrailer
	colNote
	colLevel
	colWind
	colWindFrom
	roles // their number
)

// meaning is what a person is told of a role, and the quantity its cells hold.
type meaning struct {
	readAs   string
	quantity *si.Quantity
	names    string // spellings that are taken, separated by |, as plain prepares them
}

// meanings is the one table of column names. Misspelt and foreign ones are those
// seen in people's files.
var meanings = [roles]meaning{
	colTime: {"time", nil, "time|timestamp|time stamp|datetime|date time|date and time|date/time|utc|gps time|gpstime|utc time|" +
		"local time|epoch|epoch time|unix|unix time|unixtime|posix time|recorded|recorded at|logged at"},
	colDate:  {"date", nil, "date|day|gps date|utc date|local date|datum|fecha|data"},
	colClock: {"clock", nil, "clock|clock time|time of day|uhrzeit|zeit|hora|heure|ora"},
	colLat:   {"latitude", nil, "lat|latitude|gps lat|gps latitude|latitudine|latitud|breite|breitengrad|geogr breite"},
	colLon:   {"longitude", nil, "lon|long|lng|longitude|gps lon|gps long|gps longitude|longitudine|longitud|länge|laenge|längengrad|laengengrad|geogr länge"},
	colDepth: {"depth", si.Length, "depth|depht|dept|water depth|bottom depth|bottom|sounding|sonar depth|depth below transducer|dbt|" +
		"tiefe|wassertiefe|profondeur|profundidad|profondità|profondita"},
	colFishDepth: {"fish depth", si.Length, "fish depth|depth of fish|caught at depth"},
	colTemp: {"water temperature", si.Temperature, "water temp|water temperature|watertemp|wtemp|temp|temperature|surface temp|surface temperature|" +
		"wassertemperatur|wassertemp"},
	colSpeed:   {"speed", si.Speed, "speed|sog|speed over ground|ground speed|gps speed|boat speed|geschwindigkeit|vitesse|velocidad"},
	colKind:    {"kind", nil, "kind|event|event kind|event type|type"},
	colSpecies: {"species", nil, "species|fish|fish species"},
	colCount:   {"count", nil, "count|number|number of fish|fish count|qty|quantity"},
	colLength:  {"fish length", si.Length, "length|fish length|len"},
	colWeight:  {"fish weight", si.Mass, "weight|fish weight|wt"},
	colHead:    {"head weight", si.Mass, "head|head weight|jig|jig head|jighead|jig weight|jig head weight"},
	colTrailer: {"trailer length", si.Length, "trailer|trailer length"},
	colNote:    {"note", nil, "note|notes|comment|comments|remark|remarks"},
	colLevel: {"water level", si.Length, "level|water level|waterlevel|lake level|pool|pool level|pool elevation|lake elevation|" +
		"water surface elevation|stage|gauge|gauge height|gage height"},
	colWind:     {"wind speed", si.Speed, "wind|wind speed|windspeed"},
	colWindFrom: {"wind direction", nil, "wind from|wind from deg|wind direction|wind dir|winddir"},
}

var roleOf = func() map[string]role {
	m := map[string]role{}
	for r, w := range meanings {
		for _, n := range strings.Split(w.names, "|") {
			if n != "" {
				m[n] = role(r)
			}
		}
	}
	return m
}()

// column is one column of the file at hand.
type column struct {
	name string
	role role   // unknown when nothing is read from it
	unit string // short name, see si; empty when the header has none
	utc  bool   // the header says that times are UTC
	// by is how the values of a column of a quantity get their unit.
	by unitFrom
}

type unitFrom uint8

const (
	byHeader    unitFrom = iota // or by what the person said
	byFirstCell                 // not known before a cell is seen
	byCell                      // each cell carries it
	byNobody                    // column not used
)

// plain brings a column name to the form of the table: "  WaterTemp_" to "water temp".
func plain(s string) string {
	var b strings.Builder
	before := ' '
	for _, r := range s {
		switch {
		case strings.ContainsRune("_-.:;,#\"'", r) || unicode.IsSpace(r):
			r = ' '
		case unicode.IsUpper(r) && unicode.IsLower(before):
			b.WriteByte(' ')
		}
		b.WriteRune(unicode.ToLower(r))
		before = r
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// parseColumn reads one header cell: a known name, with its unit in brackets or
// as its last word, or neither.
func parseColumn(cell string) column {
	c := column{name: strings.TrimSpace(cell)}
	base, inside := cell, ""
	if open := strings.IndexAny(cell, "([{"); open > 0 {
		base, inside = cell[:open], strings.Trim(cell[open:], "()[]{} \t")
	}
	words := strings.Fields(plain(base))
	if r, ok := roleOf[strings.Join(words, " ")]; ok {
		c.role = r
		c.say(strings.Fields(strings.ReplaceAll(inside, ",", " ")), false)
		if len(words) > 0 && words[0] == "utc" {
			c.utc = true
		}
		return c
	}
	for n := len(words) - 1; n > 0 && n >= len(words)-2; n-- {
		r, ok := roleOf[strings.Join(words[:n], " ")]
		if !ok {
			continue
		}
		c.role = r
		if c.say(words[n:], true) {
			return c
		}
		c = column{name: c.name}
	}
	return c
}

// say takes a unit, or a zone for times, from the words of a header cell. all
// asks that every word is understood.
func (c *column) say(words []string, all bool) bool {
	known := 0
	for _, w := range words {
		w = strings.ToLower(w)
		q := meanings[c.role].quantity
		switch short, isUnit := "", false; {
		case q != nil:
			if short, isUnit = q.Unit(w); isUnit {
				c.unit = short
				known++
			} else if q == si.Temperature && (strings.HasPrefix(w, "deg") || w == "°") {
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
			if strings.HasPrefix(w, "deg") {
				known++
			}
		}
	}
	return !all || known == len(words)
}

// kind is what a table is, by its columns.
type kind uint8

const (
	noTable kind = iota
	depthLog
	catchLog
	levelTable
	windTable
)

var takenFor = [...]string{"", "CSV depth log", "CSV catch log", "CSV water levels", "CSV wind"}

// kindOf settles what a table is. A note, a count or a column called type is found
// in depth logs too, so beside a depth they don't make a catch log alone.
func kindOf(has func(role) bool) kind {
	when := has(colTime) || has(colDate)
	placed := when || has(colClock) || has(colLat) && has(colLon)
	catches := has(colSpecies) || has(colLength) || has(colWeight) || has(colHead) || has(colTrailer) || has(colFishDepth)
	catches = catches || !has(colDepth) && (has(colKind) || has(colCount) || has(colNote))
	switch {
	case catches && placed:
		return catchLog
	case has(colDepth) && placed:
		return depthLog
	case has(colLevel) && when:
		return levelTable
	case has(colWind) || has(colWindFrom):
		return windTable
	}
	return noTable
}

// header is where a table begins and how it is laid out.
type header struct {
	line      int // of the header, 1-based
	bytes     int // up to and with its line break
	delimiter byte
	columns   []column
	roles     int  // different roles among the columns
	table     bool // the columns make a table
}

// headBytes is how far a header is looked for: preambles of over 70 lines occur.
const headBytes = 64 << 10

// findHeader finds the first line whose cells are the columns of a table; failing
// that, the first of which at least two cells are known names, so that a message
// can say what it lacks. ok is false when there is neither.
func findHeader(head []byte) (h header, ok bool) {
	at := 0
	for no := 1; at < len(head); no++ {
		line, _, broken := bytes.Cut(head[at:], []byte{'\n'})
		at += len(line)
		if broken {
			at++
		}
		best := header{}
		for _, d := range [...]byte{',', ';', '\t', '|'} {
			columns := parseHeader(string(bytes.TrimRight(line, "\r")), d)
			known := [roles]bool{}
			n := 0
			for _, c := range columns {
				if c.role != unknown && !known[c.role] {
					known[c.role] = true
					n++
				}
			}
			if n >= 2 && n > best.roles {
				best = header{line: no, bytes: at, delimiter: d, columns: columns, roles: n,
					table: kindOf(func(r role) bool { return known[r] }) != noTable}
			}
		}
		if best.table {
			return best, true
		}
		if h.roles == 0 {
			h = best
		}
	}
	return h, h.roles > 0
}

func parseHeader(line string, delimiter byte) []column {
	if strings.IndexByte(line, delimiter) < 0 {
		return nil
	}
	r := newCSV(strings.NewReader(strings.TrimLeft(line, "#")), delimiter)
	cells, err := r.Read()
	if err != nil {
		return nil
	}
	columns := make([]column, len(cells))
	for i, c := range cells {
		columns[i] = parseColumn(c)
	}
	return columns
}

// newCSV returns a reader for one delimiter that takes rows of any length.
func newCSV(r interface{ Read([]byte) (int, error) }, delimiter byte) *csv.Reader {
	c := csv.NewReader(r)
	c.Comma = rune(delimiter)
	c.LazyQuotes = true
	c.FieldsPerRecord = -1
	c.ReuseRecord = true
	// With a tab between cells this would trim the empty ones away.
	c.TrimLeadingSpace = delimiter != '\t'
	return c
}

// noHeader is the error for a file without a header that is understood.
func noHeader(name string, head []byte) error {
	text := "nothing"
	for line := range strings.Lines(string(head)) {
		if line = strings.TrimSpace(line); line != "" {
			text = fmt.Sprintf("%q", clip(line))
			break
		}
	}
	return fmt.Errorf("%s: no header found, the file begins with %s; %s", name, text, accepted)
}

const accepted = "wanted the columns of a depth log (depth_ft or depth_m, with time or lat and lon), " +
	"of a catch log (time or lat and lon, with any of kind, species, count, length_in, weight_lb, depth_ft, head_oz, trailer_in, note) " +
	"or of water levels (date or time, with level_ft or level_m)"

// clip keeps a hostile line from flooding the screen.
func clip(s string) string {
	const most = 120
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}
