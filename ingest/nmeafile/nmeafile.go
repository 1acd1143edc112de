// Package nmeafile reads logs of NMEA 0183 sentences: position and time (RMC, GGA,
// GLL, ZDA), depth (DPT, DBT, DBS), water temperature (MTW), speed and course
// (VTG), heading (VHW) and wind (MWV, MWD), of any talker.
//
// # Time
//
// Dates come from RMC and ZDA. A sentence with a time of day only takes the date
// that puts it nearest to the time before it, or, before the first date of the
// file, to the one behind it: midnight rolls over. A sentence that a receiver
// calls void moves the clock only once a sound one has set it.
//
// Depth, temperature and wind carry no time: they have that of the last sentence
// that did, as long as the next one comes within 5 s. Where a log keeps its
// clock more sparsely, up to one and a half times its usual interval and a minute
// at most, the soundings between two times are spread evenly. Beyond that, and
// behind the last time, only as many keep the time as usually follow one; the
// others have none.
//
// # Depth
//
// DPT gives the depth below the transducer and an offset: above 0 it is the
// transducer's depth, is added, and the sounding is one below the surface; below
// 0 it reaches to the keel, is told and not used. DBT is below the transducer,
// DBS below the surface; both in metres, or where these are empty in feet or
// fathoms. Of sentences about one ping one is used: first a DPT with an offset
// above 0, then DBS, DPT, DBT. A ping's sentences follow each other, each of
// another type, within a second.
//
// # Checksums
//
// A sentence with a wrong checksum is set aside; one without is taken. When most
// sentences end in one and the same wrong checksum, or miss theirs by one and the
// same difference, it is the logger that is wrong, not the line, and nothing can
// be told from it: the file is refused, and opt.NoChecksums reads it without
// looking at any.
package nmeafile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/adrianmo/go-nmea"
	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Recognise reports whether head, the first bytes of a file, holds a sentence of
// a type that Read takes, and isn't markup. 16 KiB of head are enough for any
// preamble seen.
func Recognise(head []byte) bool {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\ufeff")), " \t\r\n")
	if len(text) == 0 || bytes.IndexByte([]byte("<{["), text[0]) >= 0 {
		return false
	}
	for {
		_, after, found := bytes.Cut(text, []byte("$"))
		if !found {
			return false
		}
		if isKnown(string(after[:min(len(after), 6)])) {
			return true
		}
		text = after
	}
}

// Read reads one log; name is used in messages and in Source. The rows of Source
// are the sentences of the types read, whole or not; other sentences and lines
// are counted in a Problem for the file. It gives at most one Track, with one fix
// for all sentences of one time; soundings are without position. MWD gives winds,
// and in a file without any, so does MWV of the theoretical wind where a VHW of
// within 5 s has the true heading. opt.ClockOffset is added to every time.
//
// A field that can't be read costs itself; a sentence with nothing left is set
// aside, both with a Problem. Empty fields are unknown and no problem. At most
// 10,000 problems of rows are kept; the last says how many more there were.
//
// The error is not nil when r fails, when no sentence read is in the file, when
// sentences have a time of day and none a date, and when checksums can't be
// trusted. Cost is linear in the file; memory is that of the records and 40 bytes
// a sentence.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	l := &reader{name: name, opt: opt, lastHeading: -1, others: map[string]int{}, doubtAt: map[string]int{}}
	in := newPieces(r)
	for {
		p, err := in.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
		}
		l.piece(p)
	}
	if err := l.finish(); err != nil {
		return ingest.Records{}, err
	}
	return l.out, nil
}

// reader is one log while it is read.
type reader struct {
	name string
	opt  ingest.ReadOptions
	out  ingest.Records

	ticks []tick
	fixes []placed
	pings []ping
	temps []reading
	winds []wind // from MWD
	bows  []wind // from MWV, with the heading still to be added

	lastHeading int // index into headings, -1 without
	headings    []reading

	sums   sums
	counts [len(known)]int
	others map[string]int // sentences not read, by type

	problems []ingest.Problem
	over     ingest.Problem // the first not kept
	overN    int
	doubts   []doubt
	doubtAt  map[string]int
}

// A reading is a value with the tick at which it came; unknown when its sentence
// was empty.
type reading struct {
	tick int
	v    ingest.Maybe
}

// placed is a fix with its tick, -1 when it has no time, and the types of
// sentence that it is made of.
type placed struct {
	ingest.Fix
	tick  int
	types uint16
}

type wind struct {
	ingest.Wind
	tick    int
	nth     int // how many of the kind came before it in the same tick
	heading int
}

// A doubt is what is said once for the file, with a count.
type doubt struct {
	ingest.Problem
	n    int
	noun string
	tail string
}

// doubt counts one more of what is said once. The Problem's Wanted is completed by
// how many there were and the line of the first.
func (l *reader) doubt(key string, p ingest.Problem, noun, tail string) {
	i, seen := l.doubtAt[key]
	if !seen {
		i = len(l.doubts)
		l.doubtAt[key] = i
		p.Outcome = ingest.InDoubt
		l.doubts = append(l.doubts, doubt{Problem: p, noun: noun, tail: tail})
	}
	l.doubts[i].n++
}

// mostProblems is how many problems of rows are kept.
const mostProblems = 10000

func (l *reader) problem(p ingest.Problem) {
	p.File = l.name
	if len(l.problems) < mostProblems {
		l.problems = append(l.problems, p)
		return
	}
	if l.overN++; l.overN == 1 {
		l.over = p
	}
}

// piece reads one piece of the log.
func (l *reader) piece(p piece) {
	if !p.sentence {
		switch {
		case isKnown(p.text):
			l.lame(p)
		case p.text[0] == '!' && isAddress(p.text[1:]):
			l.others[p.text[3:6]]++
		case p.ended:
			l.doubt("text", ingest.Problem{Line: p.line, Found: p.text, Wanted: "a sentence that begins with $", Kind: ingest.ErrShape}, "line", " not used")
		default:
			l.doubt("beside", ingest.Problem{Line: p.line, Found: p.text, Wanted: "nothing beside the sentence", Kind: ingest.ErrShape}, "such text", " not used")
		}
		return
	}
	f := frameOf(p.text[1:])
	if !isKnown(f.body) {
		if isAddress(f.body) {
			l.count(f)
		}
		l.others[typeOf(f.body)]++
		return
	}
	if f.after != "" {
		l.doubt("beside", ingest.Problem{Line: p.line, Found: f.after, Wanted: "nothing beside the sentence", Kind: ingest.ErrShape}, "such text", " not used")
	}
	l.out.Source.RowsRead++
	wrong := l.count(f)
	switch _, readable := f.stated(); {
	case len(p.text) >= mostSentence:
		l.aside(p, "", "", "a sentence of at most 82 letters", ingest.ErrShape)
	case f.star && !readable && !l.opt.NoChecksums:
		l.aside(p, "checksum", "*"+f.sum, "two hexadecimal digits", ingest.ErrChecksum)
	case wrong && !l.opt.NoChecksums:
		l.aside(p, "checksum", "*"+f.sum, "*"+nmea.Checksum(f.body), ingest.ErrChecksum)
	case !f.star && !p.ended:
		l.aside(p, "", "", "its end before the next sentence begins", ingest.ErrShape)
	case !f.star && p.last && l.sums.stated > 0:
		l.aside(p, "", "", "its end", ingest.ErrTruncated)
	default:
		if !f.star {
			l.doubt("no sum", ingest.Problem{Line: p.line, Field: "checksum", Wanted: "*hh behind each", Kind: ingest.ErrMissing}, "sentence", " without")
		}
		l.row(p, f, nil)
	}
}

// typeOf names the type of a sentence that isn't read.
func typeOf(body string) string {
	address, _, _ := strings.Cut(body, ",")
	switch {
	case len(address) > 10 || strings.Trim(address, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "" || address == "":
		return "no address"
	case isAddress(body) && address[0] != nmea.ProprietarySentencePrefix:
		return address[2:]
	}
	return address
}

// lame reads a line that is a sentence but for its $: taken when its checksum is right.
func (l *reader) lame(p piece) {
	f := frameOf(p.text)
	l.out.Source.RowsRead++
	if sum, ok := f.stated(); !ok || sum != f.right() {
		l.aside(p, "", p.text, "$ before it, or a right checksum", ingest.ErrShape)
		return
	}
	l.row(p, f, []ingest.Problem{{Line: p.line, Found: p.text, Wanted: "$ before it", Outcome: ingest.Repaired, Kind: ingest.ErrShape}})
}

func (l *reader) aside(p piece, field, found, wanted string, kind error) {
	l.out.Source.SetAside++
	l.problem(ingest.Problem{Line: p.line, Field: field, Found: found, Wanted: wanted, Outcome: ingest.SetAside, Kind: kind, Row: p.text})
}

// row reads one whole sentence of a known type.
func (l *reader) row(p piece, f frame, problems []ingest.Problem) {
	s, err := parser.Parse("$" + f.body)
	base, ok := s.(nmea.BaseSentence)
	if err != nil || !ok {
		l.aside(p, "", "", "fields with commas between", ingest.ErrShape)
		return
	}
	r := &row{BaseSentence: base, line: p.line, problems: problems}
	i := slices.Index(known[:], r.Type)
	l.counts[i]++
	used := [...]func(*row) bool{l.rmc, l.gga, l.gll, l.zda, l.dpt, l.depths, l.depths, l.mtw, l.vtg, l.vhw, l.mwv, l.mwd}[i](r)
	switch {
	case !used:
		l.out.Source.SetAside++
	case len(r.problems) > 0:
		l.out.Source.Repaired++
	default:
		l.out.Source.Used++
	}
	for _, x := range r.problems {
		if !used {
			x.Outcome, x.Row = ingest.SetAside, p.text
		}
		l.problem(x)
	}
}

// empty counts a sentence whose value is empty: no problem, but to be told.
func (l *reader) empty(r *row, what string) {
	l.doubt("empty "+r.Type, ingest.Problem{Line: r.line, Field: r.Type + " " + what, Kind: ingest.ErrMissing, Wanted: "a value"}, "sentence", " with the field empty")
}

// void counts a sentence without a fix.
func (l *reader) void(r *row, field, found, wanted string) {
	l.doubt("void "+r.Type, ingest.Problem{Line: r.line, Field: r.Type + " " + field, Found: found, Wanted: wanted, Kind: ingest.ErrPosition}, "sentence", " without a fix")
}

// measured reports whether a mode indicator is that of a receiver with a fix:
// not N none, E reckoned, M typed in or S simulated.
func measured(mode string) bool { return len(mode) != 1 || !strings.Contains("NEMS", mode) }

func (l *reader) rmc(r *row) bool {
	tod, has, ok := r.clock(0)
	day, hasDay, okDay := r.shortDate(8)
	if !ok || !okDay {
		return false
	}
	if r.at(1) != "A" || !measured(r.at(11)) {
		found := r.at(1)
		if found == "A" {
			found = "mode " + r.at(11)
		}
		l.void(r, "status", found, "A, a fix")
		l.voidClock(tod, has, day, hasDay)
		return true
	}
	if has {
		l.tick(tod, day, hasDay)
	}
	pos, hasPos, okPos := r.position(2)
	f := ingest.Fix{Pos: pos, Line: r.line, SpeedMPS: knots(r.number(6, "speed", 0, mostKnots)), CourseDeg: r.bearing(7, "course")}
	return l.fix(r, f, has, hasPos, okPos)
}

// mostKnots is faster than any boat; what is less unlikely is judged later.
const mostKnots = 200

func knots(v ingest.Maybe) ingest.Maybe {
	v.V *= si.KnotMPS
	return v
}

// fix takes a sentence's position. It reports whether the sentence was of use.
func (l *reader) fix(r *row, f ingest.Fix, hasTime, has, ok bool) bool {
	if !ok {
		return hasTime
	}
	if !has {
		l.void(r, "position", "", "degrees and minutes")
		return true
	}
	at := -1
	if hasTime {
		at = len(l.ticks) - 1
	}
	bit := uint16(1) << slices.Index(known[:], r.Type)
	if n := len(l.fixes) - 1; n >= 0 && at >= 0 && l.fixes[n].tick == at && l.fixes[n].types&bit == 0 {
		one := &l.fixes[n]
		one.types |= bit
		if !one.SpeedMPS.OK {
			one.SpeedMPS = f.SpeedMPS
		}
		if !one.CourseDeg.OK {
			one.CourseDeg = f.CourseDeg
		}
		if apart(one.Pos, f.Pos) {
			l.doubt("apart", ingest.Problem{Line: r.line, Field: r.Type + " position", Found: fmt.Sprintf("%.5f, %.5f", f.Pos[1], f.Pos[0]), Kind: ingest.ErrPosition,
				Wanted: "within 50 m of what the sentence before says of the same time, which was used"}, "sentence", " like it")
		}
		return true
	}
	l.fixes = append(l.fixes, placed{f, at, bit})
	return true
}

// apart reports whether two positions are more than about 50 m from each other:
// sentences of one time are printed with as few as two decimals of a minute, 19 m.
func apart(a, b orb.Point) bool {
	const degrees = 50 / 111200.0
	return math.Abs(a[1]-b[1]) > degrees || math.Abs(a[0]-b[0])*math.Cos(a[1]*math.Pi/180) > degrees
}

func (l *reader) gga(r *row) bool {
	tod, has, ok := r.clock(0)
	if !ok {
		return false
	}
	switch q := r.at(5); q {
	case "1", "2", "3", "4", "5", "9":
	case "", "0", "6", "7", "8":
		l.void(r, "quality", q, "1 to 5, a fix")
		l.voidClock(tod, has, time.Time{}, false)
		return true
	default:
		r.note("quality", q, "0 to 9", ingest.ErrWord)
		return false
	}
	if has {
		l.tick(tod, time.Time{}, false)
	}
	pos, hasPos, okPos := r.position(1)
	return l.fix(r, ingest.Fix{Pos: pos, Line: r.line}, has, hasPos, okPos)
}

func (l *reader) gll(r *row) bool {
	tod, has, ok := r.clock(4)
	if !ok {
		return false
	}
	if len(r.Fields) > 5 && r.at(5) != "A" || !measured(r.at(6)) { // the oldest have no status
		l.void(r, "status", r.at(5)+r.at(6), "A, a fix")
		l.voidClock(tod, has, time.Time{}, false)
		return true
	}
	if has {
		l.tick(tod, time.Time{}, false)
	}
	pos, hasPos, okPos := r.position(0)
	return l.fix(r, ingest.Fix{Pos: pos, Line: r.line}, has, hasPos, okPos)
}

// zda reads UTC, day, month and year. The local zone behind them, of either sign,
// is that of a clock on board and changes nothing.
func (l *reader) zda(r *row) bool {
	tod, has, ok := r.clock(0)
	if !ok {
		return false
	}
	if !has {
		l.empty(r, "time")
		return true
	}
	if r.at(1) == "" && r.at(2) == "" && r.at(3) == "" {
		l.tick(tod, time.Time{}, false)
		return true
	}
	d, errD := strconv.ParseUint(r.at(1), 10, 8)
	m, errM := strconv.ParseUint(r.at(2), 10, 8)
	y, errY := strconv.ParseUint(r.at(3), 10, 16)
	day, good := calendar(int(y), int(m), int(d))
	if errD != nil || errM != nil || errY != nil || !good {
		r.note("date", r.at(1)+","+r.at(2)+","+r.at(3), "day, month and year such as 02,01,2006", ingest.ErrTime)
		return false
	}
	l.tick(tod, day, true)
	return true
}

// mostDepthM is deeper than any water; fillers beyond it are none.
const mostDepthM = 20000

func (l *reader) dpt(r *row) bool {
	depth := r.number(0, "depth", -mostDepthM, mostDepthM)
	offset := r.number(1, "offset", -mostOffsetM, mostOffsetM)
	if !depth.OK {
		if r.at(0) != "" {
			return false
		}
		l.empty(r, "depth")
		return true
	}
	if offset.V < 0 {
		l.doubt("keel", ingest.Problem{Line: r.line, Field: "DPT offset", Found: r.at(1), Kind: ingest.ErrRange,
			Wanted: "0 or more, how deep the transducer is; below 0 it reaches to the keel, and the depth is left as below the transducer"}, "sentence", " with such an offset")
	}
	l.ping(ping{kind: isDPT, depthM: depth.V, offsetM: offset.V, line: r.line})
	return true
}

// depths reads DBT and DBS.
func (l *reader) depths(r *row) bool {
	units := r.unit(1, "F") && r.unit(3, "M") && r.unit(5, "F")
	if !units {
		return false
	}
	feet := scaled(r.number(0, "feet", -mostDepthM, mostDepthM/si.FootM), si.FootM)
	metres := r.number(2, "metres", -mostDepthM, mostDepthM)
	fathoms := scaled(r.number(4, "fathoms", -mostDepthM, mostDepthM/si.FathomM), si.FathomM)
	depth := metres
	for _, v := range [...]ingest.Maybe{feet, fathoms} {
		if !depth.OK {
			depth = v
		}
	}
	if !depth.OK {
		if len(r.problems) > 0 {
			return false
		}
		l.empty(r, "depth")
		return true
	}
	if metres.OK && feet.OK && differ(metres.V, feet.V) {
		l.doubt("units "+r.Type, ingest.Problem{Line: r.line, Field: r.Type, Found: strings.Join(r.Fields, ","), Kind: ingest.ErrRange,
			Wanted: "one depth in feet and metres; metres were used"}, "sentence", " like it")
	}
	kind := isDBT
	if r.Type == "DBS" {
		kind = isDBS
	}
	l.ping(ping{kind: kind, depthM: depth.V, line: r.line})
	return true
}

func scaled(v ingest.Maybe, by float64) ingest.Maybe {
	v.V *= by
	return v
}

// differ reports whether two depths of one ping, in metres, can't both be right.
// Each is rounded, or cut, to a tenth of a metre or a foot; a hundredth of the
// depth more for what the bottom does between two sentences.
func differ(a, b float64) bool { return math.Abs(a-b) > 0.2+0.01*max(math.Abs(a), math.Abs(b)) }

// Water temperatures outside are no water's.
const leastTempC, mostTempC = -10, 60

func (l *reader) mtw(r *row) bool {
	if !r.unit(1, "CF") {
		return false
	}
	least, most := float64(leastTempC), float64(mostTempC)
	fahrenheit := strings.EqualFold(r.at(1), "F")
	if fahrenheit {
		least, most = least*1.8+32, most*1.8+32
	}
	v := r.number(0, "temperature", least, most)
	if !v.OK && r.at(0) != "" {
		return false
	}
	if fahrenheit {
		v.V, _ = si.Temperature.Convert(v.V, "F")
	}
	if !v.OK {
		l.empty(r, "temperature")
		v.V = 0
	}
	l.temps = append(l.temps, reading{len(l.ticks) - 1, v})
	return true
}

// vtg gives its speed and course to the fix of the same time, unless that has its own.
func (l *reader) vtg(r *row) bool {
	if !r.unit(1, "T") || !r.unit(5, "N") || !r.unit(7, "K") {
		return false
	}
	course := r.bearing(0, "course")
	speed := knots(r.number(4, "speed", 0, mostKnots))
	if kmh := r.number(6, "speed", 0, mostKnots*1.852); !speed.OK && kmh.OK {
		speed = ingest.Known(kmh.V / 3.6)
	}
	if !measured(r.at(8)) {
		l.void(r, "mode", r.at(8), "A or D, a fix")
		return true
	}
	if n := len(l.fixes) - 1; n >= 0 && l.fixes[n].tick >= 0 && l.fixes[n].tick == len(l.ticks)-1 {
		if f := &l.fixes[n]; !f.SpeedMPS.OK {
			f.SpeedMPS = speed
		}
		if f := &l.fixes[n]; !f.CourseDeg.OK {
			f.CourseDeg = course
		}
	}
	return len(r.problems) == 0 || course.OK || speed.OK
}

func (l *reader) vhw(r *row) bool {
	if !r.unit(1, "T") {
		return false
	}
	v := r.bearing(0, "heading")
	if v.OK {
		l.headings = append(l.headings, reading{len(l.ticks) - 1, v})
		l.lastHeading = len(l.headings) - 1
	}
	return v.OK || r.at(0) == ""
}

// mostWindMPS is above the fastest gust ever measured, 113 m/s.
const mostWindMPS = 120

func (l *reader) mwv(r *row) bool {
	if !r.unit(3, "KMNS") {
		return false
	}
	if status := r.at(4); status != "A" {
		l.doubt("wind status", ingest.Problem{Line: r.line, Field: "MWV status", Found: status, Kind: ingest.ErrWord, Wanted: "A"}, "sentence", " not used")
		return true
	}
	angle := r.bearing(0, "angle")
	speed := r.number(2, "speed", 0, 1000)
	if speed.OK {
		units := map[string]string{"K": "km/h", "M": "m/s", "N": "kn", "S": "mph"}
		unit, ok := units[strings.ToUpper(r.at(3))]
		if !ok {
			r.note("unit", "", "one of KMNS", ingest.ErrMissing)
			return false
		}
		if speed.V, _ = si.Speed.Convert(speed.V, unit); speed.V > mostWindMPS {
			r.note("speed", r.at(2), fmt.Sprintf("at most %d m/s", mostWindMPS), ingest.ErrRange)
			return false
		}
	}
	switch {
	case !angle.OK || !speed.OK:
		if len(r.problems) > 0 {
			return false
		}
		l.empty(r, "wind")
	case strings.EqualFold(r.at(1), "R"):
		l.doubt("apparent", ingest.Problem{Line: r.line, Field: "MWV reference", Found: r.at(1), Kind: ingest.ErrWord,
			Wanted: "T, wind as felt standing still; the apparent wind is the boat's as much as the air's"}, "sentence", " not used")
	case strings.EqualFold(r.at(1), "T"):
		l.bows = append(l.bows, l.wind(r, speed.V, angle.V, l.bows))
	default:
		r.note("reference", r.at(1), "R or T", ingest.ErrWord)
		return false
	}
	return true
}

func (l *reader) wind(r *row, speedMPS, fromDeg float64, before []wind) wind {
	w := wind{Wind: ingest.Wind{SpeedMPS: speedMPS, FromDeg: fromDeg, Line: r.line}, tick: len(l.ticks) - 1, heading: l.lastHeading}
	if n := len(before) - 1; n >= 0 && before[n].tick == w.tick {
		w.nth = before[n].nth + 1
	}
	return w
}

func (l *reader) mwd(r *row) bool {
	if !r.unit(1, "T") || !r.unit(5, "N") || !r.unit(7, "M") {
		return false
	}
	from := r.bearing(0, "direction")
	speed := r.number(6, "speed", 0, mostWindMPS)
	if inKnots := knots(r.number(4, "speed", 0, mostWindMPS/si.KnotMPS)); !speed.OK {
		speed = inKnots
	}
	switch {
	case from.OK && speed.OK:
		l.winds = append(l.winds, l.wind(r, speed.V, from.V, l.winds))
	case len(r.problems) > 0:
		return false
	case !from.OK && r.at(2) != "":
		l.doubt("magnetic", ingest.Problem{Line: r.line, Field: "MWD direction", Found: r.at(2) + ",M", Kind: ingest.ErrWord, Wanted: "a direction from true north"}, "sentence", " not used")
	default:
		l.empty(r, "wind")
	}
	return true
}
