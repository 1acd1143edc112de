// Package photo reads when and where a photograph was taken from the EXIF data of
// a JPEG: a catch.
//
// EXIF is read by github.com/dsoprea/go-exif/v3 v3.0.1. It was held against
// github.com/bep/imagemeta v1.0.1, which is younger, better kept and needs one
// module where this one needs seven (logging, file helpers, errors, geo, net, sys,
// yaml). What decided is how they take broken blocks, seen by running both on the
// blocks in this package's tests: imagemeta reports no error for a block that is
// cut short, for a directory or value beyond its end, and for a bad header, and
// turns a degree, minute or second of 0/0, which means unknown, into 0 with no
// way to see it: a latitude of 36° ?′ ?″ becomes exactly 36°, up to a degree off.
// go-exif gives the fractions as they stand and an error for the rest. What it
// does badly in its turn is kept from it, see parse.
package photo

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	exifcommon "github.com/dsoprea/go-exif/v3/common"
	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// Recognise reports whether head, the first bytes of a file, begins a JPEG.
func Recognise(head []byte) bool { return bytes.HasPrefix(head, []byte{0xFF, 0xD8, 0xFF}) }

// Read reads one JPEG; name is used in messages and in Source, and its last part
// as the note of the catch. A photo is one row. It gives one Event, a catch of
// one fish, when its EXIF data have a time or a position.
//
// The time is that of the GPS receiver in the camera, which is UTC, when both its
// date and its time are there; else DateTimeOriginal, else DateTimeDigitized, in
// the zone of their offset field, else in opt.Zone. Without any of these the
// time is unknown and a Problem says so. Where camera and receiver differ by more
// than a day, the receiver's time is kept in doubt. opt.ClockOffset is added.
// The position is used when both halves and both letters are there and it isn't
// 0°, 0°; one that the receiver calls void is not used. The altitude is not read.
//
// A photo without EXIF, one without time and position, and one whose EXIF is
// broken before both were read is set aside, the Problem saying why. Thumbnails
// and other pictures inside the file are not looked at. At most the file's first
// segments, of 64 KiB each, are held in memory.
//
// The error is not nil when r fails and when the file doesn't begin as a JPEG.
func Read(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error) {
	p := &photo{name: name, opt: opt}
	p.out.Source = ingest.Source{Name: name, TakenFor: "JPEG photograph", RowsRead: 1}
	block, why, err := exifBlock(bufio.NewReader(r))
	if err != nil {
		return ingest.Records{}, fmt.Errorf("%s: %w", name, err)
	}
	var broken error
	var got fields
	if why == nil {
		got, broken = parse(block)
		p.columns(got)
	}
	e := ingest.Event{Kind: ingest.Catch, Count: 1, Note: filepath.Base(name), Line: 1}
	e.Time = p.time(got)
	e.Pos, e.HasPos = p.position(got)
	switch found := !e.Time.IsZero() || e.HasPos; {
	case why != nil:
		p.problem("", "", why.Error(), ingest.SetAside, ingest.ErrMissing)
	case broken != nil && (e.Time.IsZero() || !e.HasPos):
		p.out.Problems = nil // what else is missing may stand behind the break
		p.problem("EXIF", "", "a whole block, but it "+broken.Error(), ingest.SetAside, ingest.ErrTruncated)
	case broken != nil:
		p.problem("EXIF", "", "a whole block, but it "+broken.Error()+", behind time and position", ingest.InDoubt, ingest.ErrTruncated)
	case !found && len(p.out.Problems) == 0:
		p.problem("EXIF", "", "a time or a position in it", ingest.SetAside, ingest.ErrMissing)
	case !found:
		p.out.Problems[0].Outcome = ingest.SetAside
	}
	p.tally(e)
	return p.out, nil
}

// photo is one file while it is read.
type photo struct {
	name string
	opt  ingest.ReadOptions
	out  ingest.Records
}

func (p *photo) problem(field field, found, wanted string, o ingest.Outcome, kind error) {
	p.out.Problems = append(p.out.Problems, ingest.Problem{File: p.name, Field: string(field), Found: found, Wanted: wanted, Outcome: o, Kind: kind})
}

// tally counts the row by its problems, and keeps the event unless it is set aside.
func (p *photo) tally(e ingest.Event) {
	o := ingest.InDoubt
	for _, x := range p.out.Problems {
		o = min(o, x.Outcome)
	}
	switch s := &p.out.Source; o {
	case ingest.SetAside:
		for i := range p.out.Problems {
			p.out.Problems[i].Outcome = ingest.SetAside
		}
		s.SetAside++
		return
	case ingest.Repaired:
		s.Repaired++
	default:
		s.Used++
	}
	p.out.Events = []ingest.Event{e}
}

// columns lists the fields that the photo has.
func (p *photo) columns(got fields) {
	for _, t := range tags {
		if got[field(t.Name)] == nil {
			continue
		}
		c := ingest.Column{Name: t.Name}
		switch field(t.Name) {
		case gpsDateStamp, gpsTimeStamp:
			c.ReadAs, c.Unit = "time", "UTC"
		case gpsLatitude, gpsLatitudeRef:
			c.ReadAs, c.Unit = "latitude", "deg"
		case gpsLongitude, gpsLongitudeRef:
			c.ReadAs, c.Unit = "longitude", "deg"
		case gpsStatus, gpsMapDatum:
			c.ReadAs = "whether the position holds"
		default:
			c.ReadAs = "time"
		}
		p.out.Source.Columns = append(p.out.Source.Columns, c)
	}
}

// exifBlock returns the first EXIF block among the segments of a JPEG that stand
// before its picture; why says that there is none. The error is for the file.
func exifBlock(in *bufio.Reader) (block []byte, why, err error) {
	var two [2]byte
	read := func(b []byte) error {
		_, err := io.ReadFull(in, b)
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return errEnds
		}
		return err
	}
	if err := read(two[:]); err != nil && err != errEnds {
		return nil, nil, err
	} else if two != [2]byte{0xFF, 0xD8} {
		return nil, nil, fmt.Errorf("begins with % x, wanted a JPEG, ff d8", two)
	}
	ends := func(err error) ([]byte, error, error) {
		if err == errEnds {
			return nil, errors.New("EXIF data: the file breaks off before its picture"), nil
		}
		return nil, nil, err
	}
	for {
		if err := read(two[:]); err != nil {
			return ends(err)
		}
		if two[0] != 0xFF {
			return nil, fmt.Errorf("EXIF data: % x stands where a JPEG segment should begin", two), nil
		}
		marker := two[1]
		switch {
		case marker == 0xFF: // a fill byte: the marker's second byte is still to come
			if err := in.UnreadByte(); err != nil {
				return nil, nil, err
			}
			continue
		case marker == 0xDA || marker == 0xD9:
			return nil, errors.New("EXIF data in it"), nil
		case marker == 0x01 || marker >= 0xD0 && marker <= 0xD7:
			continue // stands alone
		}
		if err := read(two[:]); err != nil {
			return ends(err)
		}
		n := int(binary.BigEndian.Uint16(two[:])) - 2
		if n < 0 {
			return nil, fmt.Errorf("EXIF data: a JPEG segment of length %d can't be", n+2), nil
		}
		if marker != 0xE1 {
			if _, err := in.Discard(n); errors.Is(err, io.EOF) {
				return ends(errEnds)
			} else if err != nil {
				return nil, nil, err
			}
			continue
		}
		segment := make([]byte, n)
		if err := read(segment); err != nil {
			return ends(err)
		}
		if after, ok := bytes.CutPrefix(segment, []byte("Exif\x00")); ok && len(after) > 0 {
			return after[1:], nil, nil
		}
	}
}

var errEnds = errors.New("the file ends")

const zoneWanted = "an offset beside it, or --tz to say which zone the camera's clock showed"

// firstYear is that of the first GPS week; an earlier date is a clock not set.
const firstYear, lastYear = 1980, 2100

// time returns when the photo was taken, zero when that isn't known.
func (p *photo) time(got fields) time.Time {
	gps, hasGPS := p.gpsTime(got)
	camera := p.cameraTime(got, hasGPS)
	if !hasGPS {
		return camera.utc
	}
	if camera.has {
		// A clock without a zone may be off by up to 14 h and still be right.
		apart := max(gps.Sub(camera.utc), camera.utc.Sub(gps)) - camera.slack
		if apart > 24*time.Hour {
			p.problem(camera.field, camera.text, "within a day of the GPS time "+gps.Format("2006-01-02 15:04:05 UTC")+", which was used", ingest.InDoubt, ingest.ErrTime)
		}
	}
	return gps.Add(p.opt.ClockOffset)
}

// gpsTime reads the receiver's date and time.
func (p *photo) gpsTime(got fields) (time.Time, bool) {
	date, clock := unblank(got.text(gpsDateStamp)), got.rationals(gpsTimeStamp)
	if date == "" || len(clock) == 0 {
		return time.Time{}, false
	}
	day, err := time.Parse("2006:01:02", date)
	if err != nil || day.Year() < firstYear || day.Year() > lastYear {
		p.problem(gpsDateStamp, date, "a date such as 2006:01:02", ingest.Repaired, ingest.ErrTime)
		return time.Time{}, false
	}
	v, ok := three(clock)
	if !ok || v[0] >= 24 || v[1] >= 60 || v[2] >= 61 {
		p.problem(gpsTimeStamp, written(clock), "hours, minutes and seconds", ingest.Repaired, ingest.ErrTime)
		return time.Time{}, false
	}
	seconds := v[0]*3600 + v[1]*60 + v[2]
	return day.Add(time.Duration(math.Round(seconds*1e3)) * time.Millisecond), true
}

// shown is what the camera's clock showed.
type shown struct {
	has   bool
	field field
	text  string
	utc   time.Time     // with the clock offset; zero when the zone isn't known and hasGPS was false
	slack time.Duration // how far off the missing zone may put it
}

// cameraTime reads the camera's clock. When the GPS time is known the zone need
// not be: the clock then serves to compare only.
func (p *photo) cameraTime(got fields, hasGPS bool) shown {
	s := shown{field: dateTimeOriginal, text: unblank(got.text(dateTimeOriginal))}
	offset := unblank(got.text(offsetTimeOriginal))
	fraction := unblank(got.text(subSecTimeOriginal))
	if s.text == "" {
		s.field, s.text = dateTimeDigitized, unblank(got.text(dateTimeDigitized))
		offset, fraction = unblank(got.text(offsetTimeDigitized)), ""
	}
	if s.text == "" {
		return s
	}
	outcome := ingest.Repaired
	if hasGPS {
		outcome = ingest.InDoubt // nothing is lost by it
	}
	wall, err := time.Parse("2006:01:02 15:04:05", s.text)
	if err != nil || wall.Year() < firstYear || wall.Year() > lastYear {
		p.problem(s.field, s.text, "a time such as 2006:01:02 15:04:05", outcome, ingest.ErrTime)
		return s
	}
	if fraction != "" && len(fraction) <= 9 && strings.Trim(fraction, "0123456789") == "" {
		n, _ := strconv.Atoi((fraction + "000000000")[:9])
		wall = wall.Add(time.Duration(n))
	}
	zone, err := time.Parse("-07:00", offset)
	if offset == "Z" {
		zone, err = time.Unix(0, 0).UTC(), nil
	}
	switch {
	case offset != "" && err == nil:
		_, seconds := zone.Zone()
		s.utc = wall.Add(-time.Duration(seconds) * time.Second)
	case p.opt.Zone != nil:
		var times int
		if s.utc, times = si.Instant(wall, p.opt.Zone); !hasGPS {
			p.out.Source.Zone = p.opt.Zone.String()
			if times != 1 {
				p.problem(s.field, s.text, "an offset beside it: when clocks change it is shown twice or never; read as before the change", ingest.InDoubt, ingest.ErrTime)
			}
		}
	case hasGPS:
		s.utc, s.slack = wall, 14*time.Hour
	default:
		p.problem(s.field, s.text, zoneWanted, ingest.Repaired, ingest.ErrTime)
		return s
	}
	s.has = true
	s.utc = s.utc.Add(p.opt.ClockOffset)
	return s
}

// position returns where the photo was taken.
func (p *photo) position(got fields) (pos orb.Point, has bool) {
	lat, lon := got.rationals(gpsLatitude), got.rationals(gpsLongitude)
	if lat == nil && lon == nil {
		return pos, false
	}
	if status := unblank(got.text(gpsStatus)); status == "V" {
		p.problem(gpsStatus, status, "A, a receiver that had a fix; position not used", ingest.Repaired, ingest.ErrPosition)
		return pos, false
	}
	for i, half := range [...]struct {
		field, ref  field
		values      []exifcommon.Rational
		plus, minus string
		most        float64
	}{
		{gpsLongitude, gpsLongitudeRef, lon, "E", "W", 180},
		{gpsLatitude, gpsLatitudeRef, lat, "N", "S", 90},
	} {
		wanted := fmt.Sprintf("degrees, minutes and seconds up to %g°", half.most)
		if half.values == nil {
			p.problem(half.field, "", wanted, ingest.Repaired, ingest.ErrMissing)
			return pos, false
		}
		v, ok := three(half.values)
		degrees := v[0] + v[1]/60 + v[2]/3600
		if !ok || v[1] >= 60 || v[2] >= 60 {
			p.problem(half.field, written(half.values), wanted, ingest.Repaired, ingest.ErrNumber)
			return pos, false
		}
		if degrees > half.most {
			p.problem(half.field, written(half.values), wanted, ingest.Repaired, ingest.ErrRange)
			return pos, false
		}
		switch ref := unblank(got.text(half.ref)); ref {
		case half.plus:
			pos[i] = degrees
		case half.minus:
			pos[i] = -degrees
		case "":
			p.problem(half.ref, "", half.plus+" or "+half.minus, ingest.Repaired, ingest.ErrMissing)
			return pos, false
		default:
			p.problem(half.ref, ref, half.plus+" or "+half.minus, ingest.Repaired, ingest.ErrWord)
			return pos, false
		}
	}
	if pos == (orb.Point{}) {
		p.problem(gpsLatitude, "0°, 0°", "where the boat was: receivers say 0, 0 before they know", ingest.Repaired, ingest.ErrPosition)
		return pos, false
	}
	if datum := unblank(got.text(gpsMapDatum)); datum != "" {
		if d := strings.ToUpper(strings.NewReplacer("-", "", " ", "", "_", "").Replace(datum)); d != "WGS84" && d != "WGS1984" {
			p.problem(gpsMapDatum, datum, "WGS-84; position taken as if it were", ingest.InDoubt, ingest.ErrWord)
		}
	}
	return pos, true
}

// three returns the values of three fractions. ok is false when there are not
// three of them or one is over 0, which is how a value that isn't known is written.
func three(r []exifcommon.Rational) (v [3]float64, ok bool) {
	if len(r) != 3 {
		return v, false
	}
	for i, x := range r {
		if x.Denominator == 0 {
			return v, false
		}
		v[i] = float64(x.Numerator) / float64(x.Denominator)
	}
	return v, true
}

// written shows fractions as they stand: "36/1 30/1 0/0".
func written(r []exifcommon.Rational) string {
	var parts []string
	for _, x := range r[:min(len(r), 4)] {
		parts = append(parts, fmt.Sprintf("%d/%d", x.Numerator, x.Denominator))
	}
	return strings.Join(parts, " ")
}

// unblank returns a text without blanks and padding around it; empty when it
// holds no letter or digit but zeros: the standard fills unknown times with
// blanks, cameras with zeros.
func unblank(s string) string {
	s = strings.Trim(s, " \x00\t\r\n")
	if strings.Trim(s, "0:- \x00") == "" && strings.ContainsAny(s, ": ") && !strings.ContainsAny(s, "+-") {
		return ""
	}
	return s
}
