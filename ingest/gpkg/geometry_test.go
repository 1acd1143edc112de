package gpkg

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// The bytes are written by hand from OGC 12-128r17 clause 2.1.3 and, for the WKB,
// OGC 06-103r4 clause 8.2; GDAL 3.6.2 wrote the same header for the point 1 2 and
// for the empty line.
func TestEncodeBytes(t *testing.T) {
	const one, two, three, five, six = "000000000000F03F", "0000000000000040", "0000000000000840", "0000000000001440", "0000000000001840"
	const zero = "0000000000000000"
	lineM, err := EncodeLineM([]orb.Point{{0, 0}, {1, 0}}, []float64{5, 6})
	if err != nil {
		t.Fatal(err)
	}
	lineZM, err := EncodeLine(Line{Points: []orb.Point{{1, 2}}, Z: []float64{5}, M: []float64{6}}, -1)
	if err != nil {
		t.Fatal(err)
	}
	pointZ, err := EncodePointZ(orb.Point{1, 2}, 3, WGS84)
	if err != nil {
		t.Fatal(err)
	}
	emptyM, err := EncodeLineM(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		got  []byte
		want string
	}{
		{"point without envelope", Encode(orb.Point{1, 2}, WGS84), "47500001E6100000" + "0101000000" + one + two},
		{"line with envelope", Encode(orb.LineString{{1, 3}, {2, 1}}, WGS84),
			"47500003E6100000" + one + two + one + three + "0102000000" + "02000000" + one + three + two + one},
		{"empty line", Encode(orb.LineString{}, WGS84), "47500011E6100000" + "0102000000" + "00000000"},
		{"polygon with an empty ring is empty", Encode(orb.Polygon{{}}, WGS84), "47500011E6100000" + "0103000000" + "01000000" + "00000000"},
		{"nothing", Encode(nil, WGS84), ""},
		{"nil line", Encode(orb.LineString(nil), WGS84), ""},
		{"line with measures", lineM,
			"47500003E6100000" + zero + one + zero + zero + "01D2070000" + "02000000" + zero + zero + five + one + zero + six},
		{"line with both, undefined Cartesian", lineZM,
			"47500003FFFFFFFF" + one + one + two + two + "01BA0B0000" + "01000000" + one + two + five + six},
		{"empty line with measures", emptyM, "47500011E6100000" + "01D2070000" + "00000000"},
		{"point with height", pointZ, "47500001E6100000" + "01E9030000" + one + two + three},
	} {
		if got := strings.ToUpper(hex.EncodeToString(c.got)); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// A shaper makes shapes of every kind, with empty ones and empty parts.
type shaper struct{ *rand.Rand }

func (s shaper) point() orb.Point {
	return orb.Point{s.Float64()*360 - 180, s.Float64()*180 - 90}
}

func (s shaper) points() []orb.Point {
	out := make([]orb.Point, s.IntN(5))
	for i := range out {
		out[i] = s.point()
	}
	return out
}

func (s shaper) shape(depth int) orb.Geometry {
	switch k := s.IntN(7 - depth); k {
	case 0:
		return s.point()
	case 1:
		return orb.LineString(s.points())
	case 2:
		return s.polygon()
	case 3:
		return orb.MultiPoint(s.points())
	case 4:
		out := make(orb.MultiLineString, s.IntN(3))
		for i := range out {
			out[i] = s.points()
		}
		return out
	case 5:
		out := make(orb.MultiPolygon, s.IntN(3))
		for i := range out {
			out[i] = s.polygon()
		}
		return out
	}
	out := make(orb.Collection, s.IntN(4))
	for i := range out {
		out[i] = s.shape(1)
	}
	return out
}

func (s shaper) polygon() orb.Polygon {
	out := make(orb.Polygon, s.IntN(3))
	for i := range out {
		out[i] = s.points()
	}
	return out
}

// Law: what goes in comes out, in either byte order, and our reading of WKB is that
// of orb v0.14.0.
func TestRoundTrip(t *testing.T) {
	s := shaper{rand.New(rand.NewPCG(3, 4))}
	for range 5000 {
		g := s.shape(0)
		b := Encode(g, 4258)
		back, srs, err := Decode(b)
		if err != nil || srs != 4258 || !reflect.DeepEqual(back, g) {
			t.Fatalf("%#v came back as %#v, srs %d, %v", g, back, srs, err)
		}
		h, err := readHeader(b)
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := wkb.Unmarshal(h.wkb)
		if err != nil || !orb.Equal(theirs, back) {
			t.Fatalf("orb reads %#v, %v; we read %#v", theirs, err, back)
		}
		info, err := fullInfo(b)
		if err != nil {
			t.Fatal(err)
		}
		if want := boundsOf(noExtent, g); info.ext != want || info.flagged != want.empty() {
			t.Fatalf("%#v: extent %v, want %v", g, info.ext, want)
		}
		if quick, err := quickInfo(b); err != nil || quick.ext != info.ext {
			t.Fatalf("%#v: header says %v, shape %v, %v", g, quick.ext, info.ext, err)
		}
		big := append([]byte("GP\x00\x00\x00\x00\x10\xA2"), wkb.MustMarshal(g, binary.BigEndian)...)
		back, srs, err = Decode(big)
		if err != nil || srs != 4258 || !reflect.DeepEqual(back, g) {
			t.Fatalf("big endian %#v came back as %#v, srs %d, %v", g, back, srs, err)
		}
	}
}

func TestLineRoundTrip(t *testing.T) {
	s := shaper{rand.New(rand.NewPCG(5, 6))}
	values := func(n int) []float64 {
		if s.IntN(2) == 0 {
			return nil
		}
		out := make([]float64, n)
		for i := range out {
			out[i] = s.NormFloat64() * 1000
		}
		return out
	}
	for range 2000 {
		ps := s.points()
		l := Line{Points: ps, Z: values(len(ps)), M: values(len(ps))}
		b, err := EncodeLine(l, WGS84)
		if err != nil {
			t.Fatal(err)
		}
		back, srs, err := DecodeLine(b)
		if err != nil || srs != WGS84 || !reflect.DeepEqual(back, l) {
			t.Fatalf("%#v came back as %#v, %d, %v", l, back, srs, err)
		}
		flat, _, err := Decode(b)
		if err != nil || !reflect.DeepEqual(flat, orb.LineString(ps)) {
			t.Fatalf("%#v decoded flat as %#v, %v", l, flat, err)
		}
	}
}

func TestEncodeLineRefuses(t *testing.T) {
	two := []orb.Point{{0, 0}, {1, 1}}
	for name, l := range map[string]Line{
		"too few measures":     {Points: two, M: []float64{1}},
		"too many heights":     {Points: two, Z: []float64{1, 2, 3}},
		"measure not a number": {Points: two, M: []float64{1, math.NaN()}},
		"infinite height":      {Points: two, Z: []float64{math.Inf(1), 0}},
	} {
		if _, err := EncodeLine(l, WGS84); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// An empty point has no counterpart in orb; members that are nil are dropped.
func TestDecodeOddities(t *testing.T) {
	const nan, one, two = "000000000000F87F", "000000000000F03F", "0000000000000040"
	for _, c := range []struct {
		name, hex string
		want      orb.Geometry
	}{
		// The first two as GDAL 3.6.2 writes POINT EMPTY and LINESTRING EMPTY.
		{"empty point", "47500011E61000000101000000" + nan + nan, nil},
		{"empty line", "47500011E6100000010200000000000000", orb.LineString{}},
		{"multipoint with an empty point", "47500001E6100000" + "0104000000" + "02000000" + "0101000000" + nan + nan + "0101000000" + one + two, orb.MultiPoint{{1, 2}}},
	} {
		b, err := hex.DecodeString(c.hex)
		if err != nil {
			t.Fatal(err)
		}
		if g, _, err := Decode(b); err != nil || !reflect.DeepEqual(g, c.want) {
			t.Errorf("%s: got %#v, %v", c.name, g, err)
		}
	}
	got, _, err := Decode(Encode(orb.Collection{orb.LineString(nil), orb.Point{1, 2}, nil}, WGS84))
	if want := (orb.Collection{orb.Point{1, 2}}); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("collection with nil members: got %#v, %v", got, err)
	}
	if g, srs, err := Decode(nil); g != nil || srs != 0 || err != nil {
		t.Errorf("NULL gives %v, %d, %v", g, srs, err)
	}
}

func TestDecodeRefuses(t *testing.T) {
	const one, inf = "000000000000F03F", "000000000000F07F"
	for _, c := range []struct{ name, hex, want string }{
		{"nothing", "", "header"},
		{"other magic", "58500001E61000000101000000" + one + one, "header"},
		{"other version", "47500101E61000000101000000" + one + one, "version"},
		{"extended", "47500021E61000000101000000" + one + one, "extended"},
		{"envelope kind 5", "4750000BE61000000101000000" + one + one, "envelope"},
		{"ends in the envelope", "47500003E61000000101000000", "envelope"},
		{"no WKB", "47500001E6100000", "type"},
		{"byte order 7", "47500001E61000000701000000" + one + one, "byte order"},
		{"circular string", "47500001E6100000010800000000000000", "type 8"},
		{"EWKB with a height", "47500001E61000000101000080" + one + one + one, "type"},
		{"ends in the point", "47500001E61000000101000000" + one, "inside a point"},
		{"four thousand million positions", "47500001E61000000102000000FFFFFFFF" + one + one, "claims"},
		{"four thousand million polygons", "47500001E61000000106000000FFFFFFFF" + one + one, "claims"},
		{"infinite", "47500001E61000000101000000" + one + inf, "finite"},
		{"goes on", "47500001E61000000101000000" + one + one + "00", "after its end"},
		{"line among points", "47500001E61000000104000000010000000102000000" + "00000000", "where only"},
		{"parts with and without height", "47500001E6100000" + "01EC030000" + "01000000" + "0101000000" + one + one, "differ"},
	} {
		b, err := hex.DecodeString(c.hex)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := Decode(b); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
	deep := append([]byte("GP\x00\x01\xE6\x10\x00\x00"), bytes.Repeat([]byte("\x01\x07\x00\x00\x00\x01\x00\x00\x00"), 100_000)...)
	if _, _, err := Decode(deep); err == nil || !strings.Contains(err.Error(), "deep") {
		t.Errorf("nested 100,000 deep: %v", err)
	}
}

// FuzzDecode: no panic, and what is read can be written and read to the same.
func FuzzDecode(f *testing.F) {
	s := shaper{rand.New(rand.NewPCG(7, 8))}
	for range 30 {
		f.Add(Encode(s.shape(0), WGS84))
	}
	if b, err := EncodeLine(Line{Points: []orb.Point{{1, 2}}, Z: []float64{3}, M: []float64{4}}, 0); err == nil {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		g, srs, err := Decode(b)
		DecodeLine(b)
		quickInfo(b)
		if err != nil || g == nil {
			return
		}
		back, srs2, err := Decode(Encode(g, srs))
		if err != nil || srs2 != srs || !reflect.DeepEqual(back, g) {
			t.Fatalf("%#v came back as %#v, srs %d, %v", g, back, srs2, err)
		}
	})
}
