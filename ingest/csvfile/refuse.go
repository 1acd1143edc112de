package csvfile

import (
	"fmt"
	"strings"
)

// refuse is the error for columns that make no table: it says what they lack.
func (h header) refuse(name string) error {
	where := name
	if h.line > 0 {
		where = fmt.Sprintf("%s:%d", name, h.line)
	}
	if x, y := gridAxes(h.columns); x >= 0 && y >= 0 {
		return fmt.Errorf("%s: header %q: %s", where, h.text(), h.gridReadings(x, y))
	}
	if h.at < 0 {
		return fmt.Errorf("%s: no header says what the columns are (the first row is %q); wanted a line of names above them, or each column said by its place, as in --column=1=time --column=2=lat --column=3=lon --column=4=depth_ft", name, clip(h.first))
	}
	known := [roles]bool{}
	var has []string
	for _, c := range h.columns {
		if c.role != unknown && !known[c.role] {
			has = append(has, meanings[c.role].readAs)
		}
		known[c.role] = true
	}
	lacks := "no column of a depth, a catch, a water level or wind"
	when := known[colTime] || known[colDate] || known[colClock]
	switch {
	case known[colWind] && when:
		lacks = "no direction that the wind is from (wind_from_deg)"
	case known[colWindFrom] && when:
		lacks = "no wind speed (wind_mph, wind_mps, wind_kn or wind_kmh)"
	case known[colDepth] || known[colSpecies] || known[colFishDepth]:
		lacks = "neither a time nor both lat and lon"
	case known[colWind] || known[colWindFrom] || known[colLevel]:
		lacks = "no time"
	}
	return fmt.Errorf("%s: header %q has %s, but %s; %s; a name that is not known is said by --column=NAME=WORD", where, h.text(), list(has), lacks, accepted)
}

// list puts words together: "a, b and c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// gridReadings tells what x and y would be as positions, one way and the other.
func (h header) gridReadings(x, y int) string {
	cells := h.delimiter.split(nil, h.first)
	cell := func(i int) string {
		if i < len(cells) {
			return strings.TrimSpace(cells[i])
		}
		return ""
	}
	n := func(i int) string { return h.columns[i].name }
	reading := func(lat, lon int) string {
		t := table{delimiter: h.delimiter}
		a, okA := t.number(cell(lat))
		b, okB := t.number(cell(lon))
		if !okA || !okB || a < -90 || a > 90 || b < -180 || b > 180 {
			return ""
		}
		return fmt.Sprintf("as latitude %s, longitude %s by --column=%s=lat --column=%s=lon", cell(lat), cell(lon), n(lat), n(lon))
	}
	what := fmt.Sprintf("%s and %s don't say which is latitude and which longitude", n(x), n(y))
	one, other := reading(x, y), reading(y, x)
	switch {
	case one == "" && other == "":
		return fmt.Sprintf("%s, and %s, %s in the first row can be neither way: they look like metres of a grid; wanted lat and lon in degrees", what, clip(cell(x)), clip(cell(y)))
	case one == "" || other == "":
		what += "; the first row can be read " + one + other
	default:
		what += "; the first row can be read " + one + ", or " + other
	}
	return what + "; other columns alike, as in --column=z=depth_m"
}

// noHeader is the error for a file without a header that is understood.
func noHeader(name string, lines []rawLine) error {
	text := "nothing"
	for _, l := range lines {
		if s := strings.TrimSpace(l.text); s != "" {
			text = fmt.Sprintf("%q", clip(s))
			break
		}
	}
	return fmt.Errorf("%s: no header found, the file begins with %s; %s", name, text, accepted)
}

const accepted = "wanted the columns of a depth log (depth_ft or depth_m, with time or lat and lon), " +
	"of a catch log (time or lat and lon, with any of kind, species, count, length_in, weight_lb, depth_ft, head_oz, trailer_in, note), " +
	"of water levels (date or time, with level_ft or level_m) " +
	"or of wind (time, wind_mph or wind_kn, wind_from_deg)"

func (h header) text() string {
	var names []string
	for _, c := range h.columns {
		names = append(names, c.name)
	}
	return clip(strings.Join(names, h.delimiter.text()))
}

// clip keeps a hostile line from flooding the screen.
func clip(s string) string {
	const most = 120
	if len(s) <= most {
		return s
	}
	r := []rune(s[:min(len(s), 4*most)])
	if len(r) <= most && len(s) <= 4*most {
		return s
	}
	return string(r[:min(len(r), most)]) + "…"
}
