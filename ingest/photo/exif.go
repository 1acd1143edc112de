package photo

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/dsoprea/go-exif/v3"
	exifcommon "github.com/dsoprea/go-exif/v3/common"
)

// field is one EXIF field that is read; its text is the standard's own name for it.
type field string

// The fields read. Their tags are in tables 7, 8 and 15 of CIPA DC-008 (EXIF 2.3).
const (
	dateTimeOriginal    field = "DateTimeOriginal"
	dateTimeDigitized   field = "DateTimeDigitized"
	offsetTimeOriginal  field = "OffsetTimeOriginal"
	offsetTimeDigitized field = "OffsetTimeDigitized"
	subSecTimeOriginal  field = "SubSecTimeOriginal"
	gpsLatitudeRef      field = "GPSLatitudeRef"
	gpsLatitude         field = "GPSLatitude"
	gpsLongitudeRef     field = "GPSLongitudeRef"
	gpsLongitude        field = "GPSLongitude"
	gpsTimeStamp        field = "GPSTimeStamp"
	gpsStatus           field = "GPSStatus"
	gpsMapDatum         field = "GPSMapDatum"
	gpsDateStamp        field = "GPSDateStamp"
)

// The directories, as the library writes their path.
const (
	inIFD  = "IFD"
	inExif = "IFD/Exif"
	inGPS  = "IFD/GPSInfo"
)

// tags lists what is read where, in the order of the columns shown.
var tags = []exif.IndexedTag{
	{IfdPath: inExif, Id: 0x9003, Name: string(dateTimeOriginal), SupportedTypes: ascii},
	{IfdPath: inExif, Id: 0x9291, Name: string(subSecTimeOriginal), SupportedTypes: ascii},
	{IfdPath: inExif, Id: 0x9011, Name: string(offsetTimeOriginal), SupportedTypes: ascii},
	{IfdPath: inExif, Id: 0x9004, Name: string(dateTimeDigitized), SupportedTypes: ascii},
	{IfdPath: inExif, Id: 0x9012, Name: string(offsetTimeDigitized), SupportedTypes: ascii},
	{IfdPath: inGPS, Id: 0x001D, Name: string(gpsDateStamp), SupportedTypes: ascii},
	{IfdPath: inGPS, Id: 0x0007, Name: string(gpsTimeStamp), SupportedTypes: rational},
	{IfdPath: inGPS, Id: 0x0001, Name: string(gpsLatitudeRef), SupportedTypes: ascii},
	{IfdPath: inGPS, Id: 0x0002, Name: string(gpsLatitude), SupportedTypes: rational},
	{IfdPath: inGPS, Id: 0x0003, Name: string(gpsLongitudeRef), SupportedTypes: ascii},
	{IfdPath: inGPS, Id: 0x0004, Name: string(gpsLongitude), SupportedTypes: rational},
	{IfdPath: inGPS, Id: 0x0009, Name: string(gpsStatus), SupportedTypes: ascii},
	{IfdPath: inGPS, Id: 0x0012, Name: string(gpsMapDatum), SupportedTypes: ascii},
	{IfdPath: inIFD, Id: exifcommon.IfdExifStandardIfdIdentity.TagId(), Name: "ExifTag", SupportedTypes: long},
	{IfdPath: inIFD, Id: exifcommon.IfdGpsInfoStandardIfdIdentity.TagId(), Name: "GPSTag", SupportedTypes: long},
}

var (
	ascii    = []exifcommon.TagTypePrimitive{exifcommon.TypeAscii}
	rational = []exifcommon.TagTypePrimitive{exifcommon.TypeRational}
	long     = []exifcommon.TagTypePrimitive{exifcommon.TypeLong}
)

const (
	// The longest field read is a date of 20 letters; a datum's name may be longer.
	mostValues = 64
	// A block is at most 64 KiB, and an honest one is read about once.
	mostBytes = 4 << 20
)

var errTooMuch = errors.New("leads from directory to directory, round and round")

// fields is what a block holds: string or []exifcommon.Rational by field.
type fields map[field]any

func (f fields) text(k field) string {
	s, _ := f[k].(string)
	return s
}

func (f fields) rationals(k field) []exifcommon.Rational {
	r, _ := f[k].([]exifcommon.Rational)
	return r
}

// parse reads an EXIF block, a TIFF header and what follows. The error says where
// the block is broken, as what follows "it"; what stands before is returned nevertheless.
//
// The library, github.com/dsoprea/go-exif/v3 v3.0.1, is kept on a short lead: told
// of no other tags than ours it neither loads its own tables nor reserves as much
// memory as a thumbnail claims to need; longer values are not asked for; and the
// bytes it reads are counted, since directories can be linked in a circle.
func parse(block []byte) (got fields, err error) {
	got = fields{}
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("can't be read: %v", r)
		}
	}()
	if len(block) == 0 {
		return got, errors.New("holds nothing")
	}
	head, err := exif.ParseExifHeader(block)
	if err != nil {
		return got, fmt.Errorf("begins with % x and not with a TIFF header, 49 49 2a 00 or 4d 4d 00 2a", block[:min(len(block), 4)])
	}
	mapping, err := exifcommon.NewIfdMappingWithStandard()
	if err != nil {
		return got, err
	}
	index := exif.NewTagIndex()
	for i := range tags {
		if err := index.Add(&tags[i]); err != nil {
			return got, err
		}
	}
	last := ""
	visit := func(e *exif.IfdTagEntry) error {
		path := e.IfdIdentity().String()
		if path != inExif && path != inGPS || e.UnitCount() > mostValues {
			return nil
		}
		name := field(e.TagName())
		if _, twice := got[name]; twice {
			return nil
		}
		v, err := e.Value()
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		got[name], last = v, string(name)
		return nil
	}
	in := exif.NewExifReadSeeker(&counter{in: bytes.NewReader(block), left: mostBytes})
	scan := exif.NewIfdEnumerate(mapping, index, in, head.ByteOrder)
	if int64(head.FirstIfdOffset) >= int64(len(block)) {
		return got, fmt.Errorf("breaks off: its first directory should be at byte %d of %d", head.FirstIfdOffset, len(block))
	}
	_, err = scan.Scan(exifcommon.IfdStandardIfdIdentity, head.FirstIfdOffset, visit, nil)
	switch {
	case errors.Is(err, errTooMuch):
		return got, errTooMuch
	case err != nil:
		return got, fmt.Errorf("breaks off %s", after(last))
	}
	return got, nil
}

func after(last string) string {
	if last == "" {
		return "before its first time or position"
	}
	return "after " + last
}

// counter ends reading when more was read than any honest block needs.
type counter struct {
	in   *bytes.Reader
	left int
}

func (c *counter) Read(p []byte) (int, error) {
	if c.left <= 0 {
		return 0, errTooMuch
	}
	n, err := c.in.Read(p)
	c.left -= n
	return n, err
}

func (c *counter) Seek(offset int64, whence int) (int64, error) { return c.in.Seek(offset, whence) }

var _ io.ReadSeeker = (*counter)(nil)
