package nmeafile

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/adrianmo/go-nmea"
	"github.com/paulmach/orb"

	"leadline/ingest"
)

// The library, github.com/adrianmo/go-nmea v1.10.0, splits sentences into talker,
// type and fields, and reads times, dates and coordinates. Its own types of
// sentence are not used: they turn an empty field into 0 and an empty position into
// 0°, 0°, refuse a DPT without offset, and take no sentence without a checksum. Nor can its field readers be taken as they stand: seen by
// running them, 99:99:99 is a time, 4899.0,N is 49.65°, -4807.0,N is -47.45°, a
// latitude may carry E or W, NaN, 1e9 and 0x1p4 are numbers, and a year of two
// digits depends on today's date. What is given to them is checked here first.

var parser = nmea.SentenceParser{
	CheckCRC:      func(nmea.BaseSentence, string) error { return nil }, // see reader.count
	CustomParsers: map[string]nmea.ParserFunc{},
	// The library takes every address with a P in front for a maker's own sentence.
	ParsePrefix: func(p string) (talker, typ string, err error) { return p[:2], p[2:], nil }, // isKnown has seen it
}

func init() {
	for _, k := range known {
		parser.CustomParsers[k] = func(s nmea.BaseSentence) (nmea.Sentence, error) { return s, nil }
	}
}

// A row is one sentence while it is read.
type row struct {
	nmea.BaseSentence
	line     int
	problems []ingest.Problem
}

// at returns field i, from 0 behind the address; empty when the sentence ends before it.
func (r *row) at(i int) string {
	if i < len(r.Fields) {
		return strings.TrimSpace(r.Fields[i])
	}
	return ""
}

// note notes a field that can't be used.
func (r *row) note(field, found, wanted string, kind error) {
	r.problems = append(r.problems, ingest.Problem{Line: r.line, Field: r.Type + " " + field, Found: found, Wanted: wanted, Outcome: ingest.Repaired, Kind: kind})
}

// number reads field i as a number; unknown when it is empty, and noted and
// unknown when it is none or outside the range.
func (r *row) number(i int, field string, least, most float64) ingest.Maybe {
	text := r.at(i)
	if text == "" {
		return ingest.Maybe{}
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.Trim(text, "0123456789+-.") != "" {
		r.note(field, text, "a number", ingest.ErrNumber)
		return ingest.Maybe{}
	}
	if v < least || v > most {
		r.note(field, text, fmt.Sprintf("a number from %g to %g", least, most), ingest.ErrRange)
		return ingest.Maybe{}
	}
	return ingest.Known(v)
}

// bearing reads field i as degrees from 0 to 360; 360 becomes 0.
func (r *row) bearing(i int, field string) ingest.Maybe {
	v := r.number(i, field, 0, 360)
	if v.V == 360 {
		v.V = 0
	}
	return v
}

// unit reports whether field i is one of the letters, in either case, or empty;
// otherwise it is noted.
func (r *row) unit(i int, letters string) bool {
	text := r.at(i)
	if text == "" || len(text) == 1 && strings.ContainsAny(letters, strings.ToUpper(text)) {
		return true
	}
	r.note("unit", text, "one of "+letters, ingest.ErrWord)
	return false
}

// clock reads field i as a time of day. has is false when it is empty or can't be
// read; ok is false in the latter case, which is noted.
func (r *row) clock(i int) (tod time.Duration, has, ok bool) {
	text := r.at(i)
	if text == "" {
		return 0, false, true
	}
	t, err := nmea.ParseTime(text)
	if err != nil || t.Hour > 23 || t.Minute > 59 || t.Second > 60 {
		r.note("time", text, "a time such as 150405.00", ingest.ErrTime)
		return 0, false, false
	}
	return time.Duration(t.Hour)*time.Hour + time.Duration(t.Minute)*time.Minute +
		time.Duration(t.Second)*time.Second + time.Duration(t.Millisecond)*time.Millisecond, true, true
}

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// shortDate reads field i as day, month and year of two digits each. Years from
// 80 are of the last century: no receiver is older.
func (r *row) shortDate(i int) (day time.Time, has, ok bool) {
	text := r.at(i)
	if text == "" {
		return day, false, true
	}
	d, err := nmea.ParseDate(text)
	if err == nil && strings.Trim(text, "0123456789") == "" {
		year := 2000 + d.YY
		if d.YY >= firstYear%100 {
			year -= 100
		}
		if day, ok = calendar(year, d.MM, d.DD); ok {
			return day, true, true
		}
	}
	r.note("date", text, "a date such as 020106", ingest.ErrTime)
	return day, false, false
}

func calendar(y, m, d int) (time.Time, bool) {
	day := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	return day, day.Year() == y && int(day.Month()) == m && day.Day() == d && y >= firstYear && y <= lastYear
}

// position reads latitude, its letter, longitude and its letter from field i on.
// has is false when all are empty or one can't be used; ok is false in the latter
// case, which is noted. A letter is never guessed.
func (r *row) position(i int) (pos orb.Point, has, ok bool) {
	if r.at(i) == "" && r.at(i+2) == "" {
		return pos, false, true
	}
	for k, half := range [...]struct {
		at      int
		field   string
		letters string
		most    float64
	}{{i + 2, "longitude", "EW", 180}, {i, "latitude", "NS", 90}} {
		text, letter := r.at(half.at), r.at(half.at+1)
		wanted := "degrees and minutes such as 3630.000"
		whole, _, _ := strings.Cut(text, ".")
		if text == "" {
			r.note(half.field, "", wanted, ingest.ErrMissing)
			return pos, false, false
		}
		if strings.Trim(text, "0123456789.") != "" || len(whole) > 5 || len(whole) < 1 {
			r.note(half.field, text, wanted, ingest.ErrNumber)
			return pos, false, false
		}
		if letter == "" || len(letter) > 1 || !strings.Contains(half.letters, letter) {
			kind := ingest.ErrWord
			if letter == "" {
				kind = ingest.ErrMissing
			}
			r.note(half.field, letter, half.letters[:1]+" or "+half.letters[1:]+" behind it", kind)
			return pos, false, false
		}
		v, err := nmea.ParseGPS(text + " " + letter)
		if err != nil {
			r.note(half.field, text, wanted, ingest.ErrNumber)
			return pos, false, false
		}
		raw, _ := strconv.ParseFloat(text, 64)
		if math.Mod(raw, 100) >= 60 || math.Abs(v) > half.most {
			r.note(half.field, text, fmt.Sprintf("minutes below 60 and degrees up to %g", half.most), ingest.ErrRange)
			return pos, false, false
		}
		pos[k] = v
	}
	if pos[0] == 0 {
		pos[0] = 0 // not the -0 of 0,W
	}
	if pos[1] == 0 {
		pos[1] = 0
	}
	return pos, true, true
}
