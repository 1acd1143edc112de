package gpxfile

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
)

// A leaf is an element inside a point that holds text only.
type leaf struct {
	name string
	own  bool // a child of the point itself, in the point's own namespace
	text string
	unit string // from an attribute unit, units or uom
	line int
}

// A rawPoint is one wpt, rtept or trkpt as it stands in the file.
type rawPoint struct {
	element  string
	line     int
	lat, lon *string // nil when the attribute is not there
	leaves   []leaf  // children, and all that extensions hold; in file order
	measured measured
}

// attach reads the attributes of the point's start tag.
func (p *rawPoint) attach(attrs []xml.Attr) {
	for i := range attrs {
		switch v := &attrs[i].Value; attrs[i].Name.Local {
		case "lat":
			p.lat = v
		case "lon":
			p.lon = v
		}
	}
}

// text returns the text of the point's own child of that name; empty when it has none.
func (p *rawPoint) text(name string) string {
	for _, l := range p.leaves {
		if l.own && l.name == name {
			return strings.TrimSpace(l.text)
		}
	}
	return ""
}

// A reading is what the library can't hold of a point, matched to the library's
// points by their order in the file.
type reading struct {
	line      int
	time      time.Time // UTC, the file's clock offset added; zero when the point has none
	depthM    ingest.Maybe
	tempC     ingest.Maybe
	speedMPS  ingest.Maybe
	courseDeg ingest.Maybe
}

// A role is what an element inside a point is to the reader.
type role uint8

// The roles. Those up to heading are measures, read wherever they stand inside a
// point; the others are the point's own children only. A heading and an air
// temperature are checked and told, and go no further: a drifting boat's bow does
// not point where it goes.
const (
	depth     role = iota
	waterTemp      // wtemp, watertemp
	temp           // taken for the water's beside a depth in the same point, else not used: watches write their own
	speed
	course
	airTemp
	heading
	clockTime
	numeric // a number by the schema that nothing here uses
	kind
	remark
	unused
)

type measure struct {
	readAs   string
	quantity *si.Quantity // nil for angles
	unit     string       // the unit that values are taken to be in, as the metre-based format has it
	min, max float64
}

// The ranges are wider than any boat or lake: they keep fillers out, and what is
// merely unlikely is judged later, beside its neighbours. A depth has no range:
// zero and negative ones are told apart later too.
var measures = [...]measure{
	depth:     {"depth", si.Length, "m", math.Inf(-1), math.Inf(1)},
	waterTemp: {"water temperature", si.Temperature, "C", -10, 60},
	temp:      {"water temperature", si.Temperature, "C", -10, 60},
	speed:     {"speed", si.Speed, "m/s", 0, 100},
	course:    {"course", nil, "deg", 0, 360},
	airTemp:   {"air temperature", si.Temperature, "C", -60, 60},
	heading:   {"heading", nil, "deg", 0, 360},
}

// measured holds the values of one point while it is read.
type measured [len(measures)]ingest.Maybe

// roles of elements by their name in lower case.
var roles = map[string]role{
	"depth": depth, "wtemp": waterTemp, "watertemp": waterTemp, "temp": temp,
	"speed": speed, "course": course, "atemp": airTemp, "heading": heading,
}

var ownRoles = map[string]role{
	"time": clockTime,
	"ele":  numeric, "magvar": numeric, "geoidheight": numeric, "sat": numeric, "hdop": numeric,
	"vdop": numeric, "pdop": numeric, "ageofdgpsdata": numeric, "dgpsid": numeric,
}

var waypointRoles = map[string]role{"type": kind, "name": kind, "desc": remark, "cmt": remark}

// roleOf returns what an element of a point is; own says that it is the point's
// own child.
func roleOf(point, name string, own bool) role {
	key := strings.ToLower(name)
	if is, ok := roles[key]; ok {
		return is
	}
	if own {
		if is, ok := ownRoles[key]; ok {
			return is
		}
		if is, ok := waypointRoles[key]; ok && point == "wpt" {
			return is
		}
	}
	return unused
}

// columnOf notes an element of points and what it is read as.
func (f *filter) columnOf(name string, is role) {
	switch is {
	case temp: // until one is seen beside a depth
		f.column(name, "", "")
	case clockTime:
		f.column(name, "time", "")
	case kind:
		f.column(name, "kind", "")
	case remark:
		f.column(name, "note", "")
	case numeric, unused:
		f.column(name, "", "")
	default:
		f.column(name, measures[is].readAs, measures[is].unit)
	}
}

// check judges one point. It returns the point's reading and position, and the
// problems found; the point is to be set aside when one of them says so.
func (f *filter) check(p *rawPoint) (r reading, lat, lon float64, problems []ingest.Problem) {
	r.line = p.line
	note := func(line int, field, found, wanted string, o ingest.Outcome, kind error) {
		problems = append(problems, ingest.Problem{File: f.name, Line: line, Field: field, Found: found, Wanted: wanted, Outcome: o, Kind: kind})
	}
	coordinate := func(field string, text *string, most float64) float64 {
		wanted := "degrees from -" + strconv.Itoa(int(most)) + " to " + strconv.Itoa(int(most))
		if text == nil || strings.TrimSpace(*text) == "" {
			note(p.line, field, "", wanted, ingest.SetAside, ingest.ErrMissing)
			return 0
		}
		v, ok := number(*text)
		switch {
		case !ok:
			note(p.line, field, *text, wanted, ingest.SetAside, ingest.ErrNumber)
		case math.Abs(v) > most:
			note(p.line, field, *text, wanted, ingest.SetAside, ingest.ErrRange)
		}
		return v
	}
	lat = coordinate("lat", p.lat, 90)
	lon = coordinate("lon", p.lon, 180)

	besideDepth := false
	for _, l := range p.leaves {
		besideDepth = besideDepth || strings.EqualFold(l.name, "depth") && strings.TrimSpace(l.text) != ""
	}
	m := &p.measured
	*m = measured{}
	for _, l := range p.leaves {
		text := strings.TrimSpace(l.text)
		is := roleOf(p.element, l.name, l.own)
		f.columnOf(l.name, is)
		if text == "" {
			continue
		}
		switch is {
		case clockTime:
			t, shown, wanted := f.instant(text)
			switch wanted {
			case "":
			case clockSet:
				note(l.line, l.name, text, wanted, ingest.Repaired, ingest.ErrTime)
				continue
			default:
				note(l.line, l.name, text, wanted, ingest.SetAside, ingest.ErrTime)
				continue
			}
			if shown != 1 {
				f.doubtfulTime(l.line, text)
			}
			r.time = t
			continue
		case numeric:
			if _, ok := number(text); !ok {
				note(l.line, l.name, text, "a number", ingest.Repaired, ingest.ErrNumber)
			}
			continue
		case kind, remark, unused:
			continue
		}
		if is == temp && !besideDepth {
			continue
		}
		what, into := measures[is], &m[is]
		v, found := number(text)
		switch {
		case !found:
			note(l.line, l.name, text, "a number in "+what.unit, ingest.Repaired, ingest.ErrNumber)
		case !what.takes(l.unit):
			note(l.line, l.name, text+" "+l.unit, "a number in "+what.unit, ingest.Repaired, ingest.ErrWord)
		case v < what.min || v > what.max:
			note(l.line, l.name, text, "a number in "+what.unit+" from "+show(what.min)+" to "+show(what.max), ingest.Repaired, ingest.ErrRange)
		case into.OK && into.V != v:
			note(l.line, l.name, text, "one value in a point; "+show(into.V)+" came first and was used", ingest.InDoubt, ingest.ErrShape)
		default:
			*into = ingest.Known(v)
		}
	}
	r.settle(m)
	return r, lat, lon, problems
}

// settle takes over a point's measured values.
func (r *reading) settle(m *measured) {
	r.depthM, r.speedMPS, r.courseDeg, r.tempC = m[depth], m[speed], m[course], m[waterTemp]
	if !r.tempC.OK && r.depthM.OK {
		r.tempC = m[temp]
	}
	if r.courseDeg.V == 360 {
		r.courseDeg.V = 0
	}
}

// temperatures notes what became of a used point's temperatures.
func (f *filter) temperatures(r *reading, m *measured) {
	switch {
	case !r.tempC.OK:
	case !r.depthM.OK:
		f.tempAlone++
	case !m[waterTemp].OK:
		f.tempUsed = true
	}
}

// takes reports whether values under that unit attribute can be used as they stand.
func (m measure) takes(unit string) bool {
	if unit == "" {
		return true
	}
	if m.quantity == nil {
		return strings.HasPrefix(strings.ToLower(unit), "deg")
	}
	short, _ := m.quantity.Unit(unit)
	return short == m.unit
}

// number reads a decimal number as XML Schema writes it. Words, hexadecimal and
// whatever is not finite are not numbers.
func number(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

func show(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// layouts of RFC 3339 and the looser forms of ISO 8601 that files hold. Go reads
// fractions of a second, with point or comma, where the layout has none.
var layouts = [...]struct {
	layout string
	zoned  bool
}{
	{"2006-01-02T15:04:05Z07:00", true},
	{"2006-01-02T15:04:05Z0700", true},
	{"2006-01-02T15:04:05Z07", true},
	{"2006-01-02T15:04Z07:00", true},
	{"2006-01-02T15:04:05", false},
	{"2006-01-02T15:04", false},
}

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// clockSet is what is wanted of a date out of them. The device had no time: the
// point is as good as one that says so.
const clockSet = "a date from 1980 to 2100"

// instant reads a time and adds the file's clock offset. wanted is empty when it
// worked; shown is as in si.Instant.
func (f *filter) instant(s string) (t time.Time, shown int, wanted string) {
	text := []byte(s)
	if len(text) > 10 && (text[10] == ' ' || text[10] == 't') {
		text[10] = 'T'
	}
	if n := len(text) - 1; n >= 0 && text[n] == 'z' {
		text[n] = 'Z'
	}
	// RFC 3339 has the 60th second of a leap second (section 5.6), clocks in Go
	// don't: it is told as the second behind it.
	leap := len(text) > 19 && string(text[16:19]) == ":60"
	if leap {
		text[17], text[18] = '5', '9'
	}
	for _, l := range layouts {
		t, err := time.Parse(l.layout, string(text))
		if err != nil {
			continue
		}
		if t.Year() < firstYear || t.Year() > lastYear {
			return time.Time{}, 0, clockSet
		}
		shown = 1
		if !l.zoned {
			if f.opt.Zone == nil {
				return time.Time{}, 0, "a zone behind it, such as Z or +02:00, or --tz to say which zone its clock shows"
			}
			t, shown = si.Instant(t, f.opt.Zone)
			f.source.Zone = f.opt.Zone.String()
		}
		if leap {
			if h, m, _ := t.UTC().Clock(); h != 23 || m != 59 {
				break
			}
			t = t.Add(time.Second)
		}
		return t.UTC().Add(f.opt.ClockOffset), shown, ""
	}
	return time.Time{}, 0, "a time such as 2006-01-02T15:04:05Z"
}
