package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	_ "time/tzdata"

	"leadline/ingest"
)

func read(t *testing.T, file []byte, opt ingest.ReadOptions) ingest.Records {
	t.Helper()
	r, err := Read(bytes.NewReader(file), "day/fish.jpg", opt)
	if err != nil {
		t.Fatal(err)
	}
	balance(t, r)
	return r
}

func balance(t *testing.T, r ingest.Records) {
	t.Helper()
	s := r.Source
	if s.RowsRead != 1 || s.RowsRead != s.Used+s.Repaired+s.SetAside || len(r.Events) != s.Used+s.Repaired {
		t.Errorf("%d rows read, but %d used, %d repaired, %d set aside, %d events", s.RowsRead, s.Used, s.Repaired, s.SetAside, len(r.Events))
	}
}

func problems(r ingest.Records) string {
	var b strings.Builder
	for _, p := range r.Problems {
		b.WriteString(p.Error() + "\n")
	}
	return b.String()
}

func utc(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		panic(err)
	}
	return t.UTC()
}

// The blocks are put together by hand after CIPA DC-008; 36° 30′ 0″ N and
// 40° 15′ 36″ W are 36.5 and -40.26 by the definition of minutes and seconds.
func TestRead(t *testing.T) {
	for _, order := range []binary.ByteOrder{binary.BigEndian, binary.LittleEndian} {
		m := maker{order}
		r := read(t, withEXIF(m.block(m.camera("2031:10:04 06:30:10"), join(m.place(), m.clock()), plain())), ingest.ReadOptions{})
		e := r.Events[0]
		if !e.HasPos || math.Abs(e.Pos[0]+40.26) > 1e-12 || e.Pos[1] != 36.5 {
			t.Errorf("%v: at %v", order, e.Pos)
		}
		if !e.Time.Equal(utc("2031-10-04T09:30:15.5Z")) || e.Time.Location() != time.UTC {
			t.Errorf("%v: time %v", order, e.Time)
		}
		if e.Kind != ingest.Catch || e.Count != 1 || e.Note != "fish.jpg" || len(r.Problems) != 0 || r.Source.Used != 1 {
			t.Errorf("%v: %+v, %s", order, e, problems(r))
		}
	}
}

func TestTimes(t *testing.T) {
	m := big
	west := time.FixedZone("west", -3*3600)
	york, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		exif []entry
		gps  []entry
		opt  ingest.ReadOptions
		want string // empty: not known
		says string // part of the problems; empty: none
	}{
		{"GPS alone", nil, m.clock(), ingest.ReadOptions{}, "2031-10-04T09:30:15.5Z", ""},
		{"GPS moved", nil, m.clock(), ingest.ReadOptions{ClockOffset: time.Hour}, "2031-10-04T10:30:15.5Z", ""},
		{"twice", join(m.camera("2031:10:04 11:30:00"), m.camera("2031:10:04 12:30:00")), nil, ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", ""},
		{"GPS before the camera", m.camera("2031:10:04 11:30:00"), m.clock(), ingest.ReadOptions{Zone: west}, "2031-10-04T09:30:15.5Z", ""},
		{"offset given", join(m.camera("2031:10:04 11:30:00"), []entry{m.text(tagOffset, "+02:00")}), m.place(), ingest.ReadOptions{Zone: west}, "2031-10-04T09:30:00Z", ""},
		{"offset Z", join(m.camera("2031:10:04 11:30:00"), []entry{m.text(tagOffset, "Z")}), nil, ingest.ReadOptions{}, "2031-10-04T11:30:00Z", ""},
		{"zone said", m.camera("2031:10:04 11:30:00"), m.place(), ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", ""},
		{"clocks put back", m.camera("2030:11:03 01:30:00"), m.place(), ingest.ReadOptions{Zone: york}, "2030-11-03T05:30:00Z", "shown twice or never"},
		{"fraction", join(m.camera("2031:10:04 11:30:00"), []entry{m.text(tagSubSec, "25"), m.text(tagOffset, "+00:00")}), nil, ingest.ReadOptions{}, "2031-10-04T11:30:00.25Z", ""},
		{"digitized", []entry{m.text(tagDigitized, "2031:10:04 11:30:00")}, m.place(), ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", ""},
		{"moved", m.camera("2031:10:04 11:30:00"), nil, ingest.ReadOptions{Zone: west, ClockOffset: -time.Minute}, "2031-10-04T14:29:00Z", ""},
		{"no zone", m.camera("2031:10:04 11:30:00"), m.place(), ingest.ReadOptions{}, "", "--tz"},
		{"blanks", m.camera("    :  :     :  :  "), m.place(), ingest.ReadOptions{}, "", ""},
		{"zeros", m.camera("0000:00:00 00:00:00"), m.place(), ingest.ReadOptions{}, "", ""},
		{"clock not set", m.camera("1970:01:01 00:00:00"), m.place(), ingest.ReadOptions{Zone: west}, "", "is not a time"},
		{"no such day", m.camera("2031:02:30 00:00:00"), m.place(), ingest.ReadOptions{Zone: west}, "", "is not a time"},
		{"a day apart is let be", m.camera("2031:10:05 23:00:00"), m.clock(), ingest.ReadOptions{}, "2031-10-04T09:30:15.5Z", ""},
		{"days apart", m.camera("2031:10:09 09:30:00"), m.clock(), ingest.ReadOptions{}, "2031-10-04T09:30:15.5Z", "row kept in doubt"},
		{"days apart with a zone", join(m.camera("2031:10:05 11:30:20"), []entry{m.text(tagOffset, "+00:00")}), m.clock(), ingest.ReadOptions{}, "2031-10-04T09:30:15.5Z", "within a day"},
		{"GPS date only", m.camera("2031:10:04 11:30:00"), []entry{m.text(tagGPSDate, "2031:10:04")}, ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", ""},
		{"GPS time only", m.camera("2031:10:04 11:30:00"), []entry{m.rationals(tagGPSTime, 9, 1, 0, 1, 0, 1)}, ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", ""},
		{"GPS hour unknown", m.camera("2031:10:04 11:30:00"), []entry{m.text(tagGPSDate, "2031:10:04"), m.rationals(tagGPSTime, 0, 0, 0, 1, 0, 1)}, ingest.ReadOptions{Zone: west}, "2031-10-04T14:30:00Z", "0/0 0/1 0/1"},
		{"GPS hour 24", nil, join(m.place(), []entry{m.text(tagGPSDate, "2031:10:04"), m.rationals(tagGPSTime, 24, 1, 0, 1, 0, 1)}), ingest.ReadOptions{}, "", "24/1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, withEXIF(m.block(c.exif, c.gps, nil)), c.opt)
			if len(r.Events) != 1 {
				t.Fatal(problems(r))
			}
			if got := r.Events[0].Time; c.want == "" && !got.IsZero() || c.want != "" && !got.Equal(utc(c.want)) {
				t.Errorf("time %v, want %q", got, c.want)
			}
			if said := problems(r); (said == "") != (c.says == "") || !strings.Contains(said, c.says) {
				t.Errorf("says %q, want %q", said, c.says)
			}
		})
	}
}

func TestPositions(t *testing.T) {
	m := big
	with := func(changed entry) []entry {
		all := m.place()
		for i := range all {
			if all[i].tag == changed.tag {
				all[i] = changed
				return all
			}
		}
		return append(all, changed)
	}
	without := func(tag uint16) (some []entry) {
		for _, e := range m.place() {
			if e.tag != tag {
				some = append(some, e)
			}
		}
		return some
	}
	for _, c := range []struct {
		name string
		gps  []entry
		kind error // nil: the position is used
	}{
		{"plain", m.place(), nil},
		{"status A", with(m.text(tagStatus, "A")), nil},
		{"status V", with(m.text(tagStatus, "V")), ingest.ErrPosition},
		{"minutes unknown", with(m.rationals(tagLat, 36, 1, 0, 0, 0, 0)), ingest.ErrNumber},
		{"two values", with(m.rationals(tagLat, 36, 1, 30, 1)), ingest.ErrNumber},
		{"minute 60", with(m.rationals(tagLat, 36, 1, 60, 1, 0, 1)), ingest.ErrNumber},
		{"latitude 91", with(m.rationals(tagLat, 91, 1, 0, 1, 0, 1)), ingest.ErrRange},
		{"longitude 181", with(m.rationals(tagLon, 181, 1, 0, 1, 0, 1)), ingest.ErrRange},
		{"no latitude", without(tagLat), ingest.ErrMissing},
		{"no longitude", without(tagLon), ingest.ErrMissing},
		{"no letter", without(tagLonRef), ingest.ErrMissing},
		{"wrong letter", with(m.text(tagLonRef, "N")), ingest.ErrWord},
		{"0, 0", []entry{m.text(tagLatRef, "N"), m.rationals(tagLat, 0, 1, 0, 1, 0, 1), m.text(tagLonRef, "E"), m.rationals(tagLon, 0, 1, 0, 1, 0, 1)}, ingest.ErrPosition},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, withEXIF(m.block(nil, join(c.gps, m.clock()), nil)), ingest.ReadOptions{})
			if len(r.Events) != 1 || r.Events[0].HasPos != (c.kind == nil) {
				t.Fatalf("%+v %s", r.Events, problems(r))
			}
			if c.kind == nil {
				if len(r.Problems) != 0 {
					t.Error(problems(r))
				}
				return
			}
			if len(r.Problems) != 1 || !errors.Is(r.Problems[0], c.kind) || r.Source.Repaired != 1 {
				t.Errorf("%+v %s", r.Source, problems(r))
			}
			if r = read(t, withEXIF(m.block(nil, c.gps, nil)), ingest.ReadOptions{}); r.Source.SetAside != 1 || r.Problems[0].Outcome != ingest.SetAside {
				t.Errorf("without a time: %+v %s", r.Source, problems(r))
			}
		})
	}
	if r := read(t, withEXIF(m.block(nil, with(m.text(tagDatum, "invented 1908")), nil)), ingest.ReadOptions{}); !r.Events[0].HasPos || r.Problems[0].Outcome != ingest.InDoubt {
		t.Error(problems(r))
	}
	if r := read(t, withEXIF(m.block(nil, with(m.text(tagDatum, "WGS-84")), nil)), ingest.ReadOptions{}); len(r.Problems) != 0 {
		t.Error(problems(r))
	}
}

// cut shortens a block so that the last given tag's value is not whole.
func pointAway(block []byte, tag uint16, typ uint16) []byte {
	b := bytes.Clone(block)
	i := bytes.Index(b, big.u16(big.u16(nil, tag), typ))
	copy(b[i+8:], []byte{0, 0, 0xFF, 0})
	return b
}

func TestBroken(t *testing.T) {
	m := big
	good := m.block(m.camera("2031:10:04 11:30:10"), join(m.place(), m.clock()), plain())
	gps := bytes.Index(good, m.u16(m.u16(nil, 0x8825), 4))
	loop := bytes.Clone(good)
	copy(loop[gps+8:], []byte{0, 0, 0, 8})
	for _, c := range []struct {
		name string
		file []byte
		says string
	}{
		{"no EXIF", plain(), "missing, wanted EXIF data in it"},
		{"neither time nor position", withEXIF(m.block(nil, nil, nil)), "a time or a position"},
		{"empty block", withEXIF(nil), "holds nothing"},
		{"short header", withEXIF([]byte("MM\x00")), "TIFF header"},
		{"bad header", withEXIF(append([]byte("XX"), good[2:]...)), "58 58 00 2a"},
		{"first directory beyond", withEXIF(append([]byte("MM\x00\x2a\x00\x00\xff\x00"), good[8:]...)), "byte 65280"},
		{"cut in the GPS directory", withEXIF(good[:bytes.Index(good, m.u16(m.u16(nil, tagLat), 5))+6]), "after GPSLatitudeRef"},
		{"GPS directory beyond", withEXIF(pointAway(good, 0x8825, 4)), "after DateTimeOriginal"},
		{"time beyond", withEXIF(pointAway(good, tagOriginal, 2)), "before its first time or position"},
		{"latitude beyond", withEXIF(pointAway(good, tagLat, 5)), "after GPSLatitudeRef"},
		{"GPS directory is the first again", withEXIF(loop), "--tz"},
		{"file ends in the block", withEXIF(good)[:100], "breaks off before its picture"},
		{"file ends in a header", []byte{0xFF, 0xD8, 0xFF, 0xE1, 0}, "breaks off before its picture"},
		{"file ends in another segment", []byte{0xFF, 0xD8, 0xFF, 0xE0, 1, 0}, "breaks off before its picture"},
		{"no segment", []byte{0xFF, 0xD8, 0xFF, 0xE0, 0, 2, 7, 7}, "07 07 stands where"},
		{"segment of no length", []byte{0xFF, 0xD8, 0xFF, 0xE0, 0, 1}, "length 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.file, ingest.ReadOptions{})
			if r.Source.SetAside != 1 || !strings.Contains(problems(r), c.says) {
				t.Errorf("%+v: %s", r.Source, problems(r))
			}
			for _, p := range r.Problems {
				if p.Outcome != ingest.SetAside || p.Kind == nil {
					t.Error(p.Error())
				}
			}
		})
	}
	// A time does not save a photo whose position is broken.
	dated := m.block(join(m.camera("2031:10:04 11:30:10"), []entry{m.text(tagOffset, "+00:00")}), m.place(), nil)
	if r := read(t, withEXIF(pointAway(dated, tagLat, 5)), ingest.ReadOptions{}); r.Source.SetAside != 1 {
		t.Errorf("%+v: %s", r.Source, problems(r))
	}
	// What is broken behind time and position costs nothing: here, a date field of
	// the camera that nobody needs.
	r := read(t, withEXIF(pointAway(m.block(nil, join(m.place(), m.clock(), []entry{m.text(tagDatum, "WGS-84")}), nil), tagDatum, 2)), ingest.ReadOptions{})
	if r.Source.Used != 1 || !errors.Is(r.Problems[0], ingest.ErrTruncated) {
		t.Errorf("%+v: %s", r.Source, problems(r))
	}
}

func TestRefused(t *testing.T) {
	if _, err := Read(strings.NewReader("GIF89a"), "x", ingest.ReadOptions{}); err == nil || !strings.Contains(err.Error(), "x: begins with 47 49") {
		t.Error(err)
	}
	bad := errors.New("disk gone")
	for _, head := range []string{"", "\xFF\xD8", "\xFF\xD8\xFF\xE1\x01\x00abc"} {
		if _, err := Read(io.MultiReader(strings.NewReader(head), iotest.ErrReader(bad)), "x", ingest.ReadOptions{}); !errors.Is(err, bad) {
			t.Errorf("after %q: %v", head, err)
		}
	}
}

// A thumbnail that has EXIF data of its own, with another place and time, and
// claims to need 4 GiB; a second EXIF segment behind the first; and bytes that
// look like one inside the picture: none is read.
func TestOnlyTheFirstBlock(t *testing.T) {
	m := big
	other := m.block(nil, []entry{m.text(tagLatRef, "S"), m.rationals(tagLat, 1, 1, 0, 1, 0, 1), m.text(tagLonRef, "E"), m.rationals(tagLon, 1, 1, 0, 1, 0, 1)}, nil)
	block := m.block(nil, m.place(), withEXIF(other))
	i := bytes.LastIndex(block, m.u16(m.u16(nil, 0x0202), 4))
	copy(block[i+8:], []byte{0xFF, 0xFF, 0xFF, 0xFF})
	file := withEXIF(block)
	second := withEXIF(other)
	file = bytes.Join([][]byte{file[:len(file)-len(plain())+2], second[2:]}, nil)
	r := read(t, file, ingest.ReadOptions{})
	if len(r.Events) != 1 || r.Events[0].Pos[1] != 36.5 || len(r.Problems) != 0 {
		t.Errorf("%+v %s", r.Events, problems(r))
	}
	picture := append([]byte{0xFF, 0xD8, 0xFF, 0xDA, 0, 2}, second[2:]...)
	if r = read(t, picture, ingest.ReadOptions{}); r.Source.SetAside != 1 {
		t.Error("a block inside the picture was read")
	}
}

// Some 3,000 directories of 4,000 entries each lie over each other in 64 KiB, each
// leading to the next, 4 bytes on. Reading all of it takes minutes: the count of
// bytes ends it.
func TestRoundAndRound(t *testing.T) {
	m := big
	const entries = 4000
	block := []byte("MM\x00\x2a\x00\x00\x00\x08")
	for len(block) < 8+2+12*entries {
		block = m.u16(block, entries)
	}
	for k := uint32(1); len(block) < 60000; k++ {
		block = m.u32(block, 8+4*k)
	}
	start := time.Now()
	r := read(t, withEXIF(block), ingest.ReadOptions{})
	if d := time.Since(start); d > 20*time.Second {
		t.Error("took", d)
	}
	if !strings.Contains(problems(r), "round and round") {
		t.Error(problems(r))
	}
}

func TestRecognise(t *testing.T) {
	if !Recognise(plain()) || !Recognise([]byte("\xFF\xD8\xFF")) {
		t.Error("a JPEG is not recognised")
	}
	for _, s := range []string{"", "\xFF\xD8", "\x89PNG", "<gpx>", "time,depth"} {
		if Recognise([]byte(s)) {
			t.Errorf("%q is taken for a JPEG", s)
		}
	}
}

func FuzzRead(f *testing.F) {
	m := maker{binary.LittleEndian}
	f.Add(plain())
	f.Add(withEXIF(big.block(big.camera("2031:10:04 11:30:10"), join(big.place(), big.clock()), plain())))
	f.Add(withEXIF(m.block(m.camera("2031:10:04 11:30:10"), m.place(), nil)))
	f.Add(withEXIF(m.block(join(m.camera("2031:10:04 11:30:10"), []entry{m.text(tagOffset, "+02:00")}), nil, nil)))
	f.Fuzz(func(t *testing.T, file []byte) {
		r, err := Read(bytes.NewReader(file), "f.jpg", ingest.ReadOptions{Zone: time.UTC})
		if err != nil {
			return
		}
		balance(t, r)
		for _, e := range r.Events {
			if e.Time.IsZero() && !e.HasPos {
				t.Error("an event without time and position")
			}
			if !(math.Abs(e.Pos[0]) <= 180 && math.Abs(e.Pos[1]) <= 90) {
				t.Error("at", e.Pos)
			}
		}
	})
}

// corpus holds the photos of testdata/corpus, by folder: no editor makes them.
func corpus() map[string][]byte {
	m := big
	good := m.block(m.camera("2031:10:04 06:30:10"), join(m.place(), m.clock()), nil)
	return map[string][]byte{
		"photo_gps_time":       withEXIF(good),
		"photo_no_zone":        withEXIF(m.block(m.camera("2031:10:04 06:30:10"), m.place(), nil)),
		"photo_zone_said":      withEXIF(m.block(m.camera("2031:10:04 06:30:10"), m.place(), nil)),
		"photo_no_exif":        plain(),
		"photo_broken_exif":    withEXIF(good[:bytes.Index(good, m.u16(m.u16(nil, tagLat), 5))+6]),
		"photo_dates_disagree": withEXIF(m.block(m.camera("2031:01:01 00:00:10"), join(m.place(), m.clock()), nil)),
		"photo_minutes_unknown": withEXIF(m.block(nil, join([]entry{m.text(tagLatRef, "N"), m.rationals(tagLat, 36, 1, 0, 0, 0, 0),
			m.text(tagLonRef, "W"), m.rationals(tagLon, 40, 1, 0, 0, 0, 0)}, m.clock()), nil)),
		"photo_neither": withEXIF(m.block(nil, nil, plain())),
	}
}

// TestCorpusPhotos holds the corpus' photos against the code that makes them;
// UPDATE=1 writes them. What is compared is what is read: the picture's own bytes
// are the JPEG encoder's.
func TestCorpusPhotos(t *testing.T) {
	for folder, want := range corpus() {
		path := filepath.Join("..", "..", "testdata", "corpus", folder, "fish.jpg")
		if os.Getenv("UPDATE") == "1" {
			if err := os.WriteFile(path, want, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if a, b := read(t, got, ingest.ReadOptions{}), read(t, want, ingest.ReadOptions{}); !reflect.DeepEqual(a, b) {
			t.Errorf("%s: the file gives %+v, the code %+v", folder, a, b)
		}
	}
}
