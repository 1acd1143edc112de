package photo

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
)

// An entry is one field of an EXIF directory: tag, TIFF type, values.
type entry struct {
	tag   uint16
	typ   uint16
	count uint32
	value []byte // in the byte order of the block
}

// maker assembles EXIF blocks by hand after the EXIF standard, CIPA DC-008: a TIFF
// header, directories of twelve-byte entries, values of more than four bytes
// behind them.
type maker struct{ order binary.ByteOrder }

func (m maker) text(tag uint16, s string) entry {
	return entry{tag, 2, uint32(len(s) + 1), append([]byte(s), 0)}
}

func (m maker) rationals(tag uint16, parts ...uint32) entry {
	var b []byte
	for _, p := range parts {
		b = m.u32(b, p)
	}
	return entry{tag, 5, uint32(len(parts) / 2), b}
}

func (m maker) long(tag uint16, v uint32) entry { return entry{tag, 4, 1, m.u32(nil, v)} }

func (m maker) u32(b []byte, v uint32) []byte {
	var x [4]byte
	m.order.PutUint32(x[:], v)
	return append(b, x[:]...)
}

func (m maker) u16(b []byte, v uint16) []byte {
	var x [2]byte
	m.order.PutUint16(x[:], v)
	return append(b, x[:]...)
}

// directory lays one out to stand at offset at of the block.
func (m maker) directory(at uint32, next uint32, entries ...entry) []byte {
	b := m.u16(nil, uint16(len(entries)))
	data := at + 2 + 12*uint32(len(entries)) + 4
	var tail []byte
	for _, e := range entries {
		b = m.u16(m.u16(b, e.tag), e.typ)
		b = m.u32(b, e.count)
		if len(e.value) <= 4 {
			b = append(b, append(e.value, 0, 0, 0, 0)[:4]...)
			continue
		}
		b = m.u32(b, data+uint32(len(tail)))
		tail = append(tail, e.value...)
		if len(tail)%2 == 1 {
			tail = append(tail, 0)
		}
	}
	return append(m.u32(b, next), tail...)
}

// block makes the EXIF block of a photo: IFD0, the EXIF directory, the GPS
// directory, each where the one before ends. thumbnail, when not nil, is put in
// IFD1 as cameras do.
func (m maker) block(exif, gps []entry, thumbnail []byte) []byte {
	head := []byte("MM")
	if m.order == binary.ByteOrder(binary.LittleEndian) {
		head = []byte("II")
	}
	head = m.u32(m.u16(head, 42), 8)
	make0 := func(exifAt, gpsAt, next uint32) []byte {
		return m.directory(8, next, m.text(0x010F, "invented camera"), m.long(0x8769, exifAt), m.long(0x8825, gpsAt))
	}
	exifAt := 8 + uint32(len(make0(0, 0, 0)))
	exifDir := m.directory(exifAt, 0, exif...)
	gpsAt := exifAt + uint32(len(exifDir))
	gpsDir := m.directory(gpsAt, 0, gps...)
	next := uint32(0)
	var last []byte
	if thumbnail != nil {
		next = gpsAt + uint32(len(gpsDir))
		jpegAt := next + 2 + 12*2 + 4
		last = append(m.directory(next, 0, m.long(0x0201, jpegAt), m.long(0x0202, uint32(len(thumbnail)))), thumbnail...)
	}
	return bytes.Join([][]byte{head, make0(exifAt, gpsAt, next), exifDir, gpsDir, last}, nil)
}

// plain is a JPEG of 8 by 8 grey pixels without EXIF.
func plain() []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// withEXIF puts an EXIF block into a JPEG, as its first segment.
func withEXIF(block []byte) []byte {
	b := plain()
	segment := append([]byte("Exif\x00\x00"), block...)
	app1 := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(segment)+2))
	return bytes.Join([][]byte{b[:2], app1, segment, b[2:]}, nil)
}

// The tags that tests write.
const (
	tagOriginal, tagDigitized, tagOffset, tagSubSec         = 0x9003, 0x9004, 0x9011, 0x9291
	tagLatRef, tagLat, tagLonRef, tagLon, tagGPSTime        = 1, 2, 3, 4, 7
	tagStatus, tagDatum, tagGPSDate                  uint16 = 9, 0x12, 0x1D
)

var big = maker{binary.BigEndian}

// place is the GPS position 36°30′0″ N, 40°15′36″ W.
func (m maker) place() []entry {
	return []entry{
		m.text(tagLatRef, "N"), m.rationals(tagLat, 36, 1, 30, 1, 0, 1),
		m.text(tagLonRef, "W"), m.rationals(tagLon, 40, 1, 15, 1, 3600, 100),
	}
}

// clock is the GPS time 2031-10-04 09:30:15.5 UTC.
func (m maker) clock() []entry {
	return []entry{m.rationals(tagGPSTime, 9, 1, 30, 1, 155, 10), m.text(tagGPSDate, "2031:10:04")}
}

func join(parts ...[]entry) (all []entry) {
	for _, p := range parts {
		all = append(all, p...)
	}
	return all
}

func (m maker) camera(s string) []entry { return []entry{m.text(tagOriginal, s)} }
