package pack

import (
	"bytes"
	"encoding/hex"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
)

func unhex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func checkInts(t testing.TB, v []int64) []byte {
	t.Helper()
	kept := append([]int64(nil), v...)
	b := Ints(v)
	got, err := DecodeInts(b)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(kept) {
		t.Fatalf("%d values, want %d", len(got), len(kept))
	}
	for i := range kept {
		if got[i] != kept[i] || v[i] != kept[i] {
			t.Fatalf("value %d is %d, input now %d, want %d", i, got[i], v[i], kept[i])
		}
	}
	if !bytes.Equal(b, Ints(v)) {
		t.Fatal("other bytes the second time")
	}
	return b
}

func checkFloats(t testing.TB, v []float64) []byte {
	t.Helper()
	b := Floats(v)
	got, err := DecodeFloats(b)
	if err != nil {
		t.Fatal(err)
	}
	sameBits(t, got, v)
	if !bytes.Equal(b, Floats(v)) {
		t.Fatal("other bytes the second time")
	}
	return b
}

func sameBits(t testing.TB, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d values, want %d", len(got), len(want))
	}
	for i := range want {
		if g, w := math.Float64bits(got[i]), math.Float64bits(want[i]); g != w {
			t.Fatalf("value %d is %v (%016x), want %v (%016x)", i, got[i], g, want[i], w)
		}
	}
}

func checkBools(t testing.TB, v []bool) []byte {
	t.Helper()
	b := Bools(v)
	got, err := DecodeBools(b)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(v) {
		t.Fatalf("%d values, want %d", len(got), len(v))
	}
	for i := range v {
		if got[i] != v[i] {
			t.Fatalf("value %d is %v", i, got[i])
		}
	}
	return b
}

// The worked examples of the package comment and of the files, each done by hand.
func TestWorkedExamples(t *testing.T) {
	inf, none := math.Inf(1), math.Copysign(0, -1)
	for _, c := range []struct {
		name, want string
		got        []byte
	}{
		{"order 1", "11 04 d00f e807 02 02 04", Ints([]int64{1000, 2000, 3000, 5000})},
		// Differences of 100, -99, ... would take two bytes each.
		{"order 0", "10 06 01 01 00 64 01 63 00 61", Ints([]int64{-1, 99, 0, 98, -1, 96})},
		{"fractions", "20 03 64 11 03 ac02 19 01 02", Floats([]float64{1.5, 1.25, 1.5})},
		{"yes and no", "30 04 0d", Bools([]bool{true, false, true, true})},
		{"raw", "23 02 3f7ff0f0 000000000000000000000000", raw([]float64{1, 2})},
		{"empty ints", "10 00", Ints(nil)},
		{"empty floats", "20 00", Floats(nil)},
		{"empty bools", "30 00", Bools(nil)},
	} {
		if strings.HasPrefix(c.want, "23") && c.got[0] == 0x2b {
			var err error
			if c.got, err = inflate(c.got[2:], 16); err != nil {
				t.Fatal(err)
			}
			c.want = c.want[len("23 02 "):]
		}
		if want := unhex(t, c.want); !bytes.Equal(c.got, want) {
			t.Errorf("%s: % x, want % x", c.name, c.got, want)
		}
	}
	// Blobs written by hand that the writer wouldn't choose.
	// Order 2: base -3, step 10; 1, 0, -2 give differences 10, 10, -10.
	v, err := DecodeInts(unhex(t, "12 04 05 0a 02 00 03"))
	if want := []int64{-3, 7, 17, 7}; err != nil || len(v) != 4 || v[0] != want[0] || v[1] != want[1] || v[2] != want[2] || v[3] != want[3] {
		t.Errorf("order 2: %d, %v, want %d", v, err, want)
	}
	// A stored DEFLATE block (RFC 1951, 3.2.4): 01, length, its complement, the bytes.
	v, err = DecodeInts(unhex(t, "18 02 01 0400 fbff 02 03 00 01"))
	if err != nil || len(v) != 2 || v[0] != 1 || v[1] != 4 {
		t.Errorf("stored block: %d, %v, want 1, 4", v, err)
	}
	// Ranks -1 and 7ff0000000000000: order 0, base -1, step 1, 0 and 7ff0000000000001.
	f, err := DecodeFloats(unhex(t, "22 03 0e 10 02 01 01 00 81808080808080f87f 10 03 00 01 01 00 01"))
	if err != nil {
		t.Fatal(err)
	}
	sameBits(t, f, []float64{inf, none, inf})
	// Near: 3/10 and one place above it, which is 0.1+0.2 in binary64.
	tenth, fifth := 0.1, 0.2
	f, err = DecodeFloats(unhex(t, "21 02 0a 06 10 02 06 01 00 00 10 02 00 01 00 01"))
	if err != nil {
		t.Fatal(err)
	}
	sameBits(t, f, []float64{0.3, tenth + fifth})
}

func TestInts(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	long := func(f func(i int) int64) []int64 {
		v := make([]int64, 5000)
		for i := range v {
			v[i] = f(i)
		}
		return v
	}
	const low, high = math.MinInt64, math.MaxInt64
	for _, c := range []struct {
		name string
		v    []int64
		most int // bytes
	}{
		{"none", nil, 2},
		{"zero", []int64{0}, 4},
		{"lowest", []int64{low}, 13},
		{"ends", []int64{low, high}, 24},
		{"ends turned", []int64{high, low}, 24},
		{"ends and middle", []int64{low, 0, high, -1, 1, low, low, high}, 90},
		{"even ends", []int64{low, high - 1, low + 2, 0}, 50},
		{"all equal", long(func(int) int64 { return high }), 60},
		{"seconds in ns", long(func(i int) int64 { return 1_750_000_000_000_000_000 + int64(i)*1e9 }), 60},
		// A curve of order 2: its second difference is 2 throughout.
		{"parabola", long(func(i int) int64 { return int64(i) * int64(i) }), 80},
		{"any bits", long(func(int) int64 { return int64(r.Uint64()) }), 5000*10 + 30},
		{"far jumps of a large step", long(func(int) int64 { return (r.Int64N(7) - 3) * (1 << 61) }), 5000},
	} {
		t.Run(c.name, func(t *testing.T) {
			if b := checkInts(t, c.v); len(b) > c.most {
				t.Errorf("%d bytes, want at most %d", len(b), c.most)
			}
		})
	}
}

// Each order is chosen where it is plainly the right one.
func TestOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var white, walk, smooth []int64
	x, y, dy := int64(0), int64(0), int64(0)
	for range 3000 {
		white = append(white, r.Int64N(100))
		x += r.Int64N(100) - 50
		walk = append(walk, x)
		dy += r.Int64N(100) - 50
		y += dy
		smooth = append(smooth, y)
	}
	for order, v := range [][]int64{white, walk, smooth} {
		if b := checkInts(t, v); int(b[0]&^deflated) != codeInts+order {
			t.Errorf("coding %02x, want order %d", b[0], order)
		}
	}
}

func TestCommonStep(t *testing.T) {
	for _, c := range []struct {
		name string
		v    []int64
		want uint64
	}{
		{"none", nil, 1},
		{"one", []int64{7}, 1},
		{"equal", []int64{7, 7, 7}, 1},
		{"first apart", []int64{5, 11, 23, 17}, 6},
		{"coprime", []int64{0, 6, 10, 25}, 1},
		{"falling", []int64{100, 60, 40}, 20},
		{"ends", []int64{math.MinInt64, math.MaxInt64}, math.MaxUint64},
	} {
		if got := commonStep(c.v); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

func TestLog2(t *testing.T) {
	// Squaring drops bits below 2^-31, which may cost the last of 8 binary places.
	for _, n := range []uint64{1, 2, 3, 5, 7, 10, 255, 256, 1000, 36_000, 1 << 40, 1<<63 + 1} {
		if got, want := float64(log2(n)), 256*math.Log2(float64(n)); got > want || got < want-1.01 {
			t.Errorf("log2(%d) = %v/256, want %.2f/256", n, got, want)
		}
	}
}

func TestFloats(t *testing.T) {
	nan := math.NaN()
	quiet, loud := math.Float64frombits(0xFFF8_0000_0000_1234), math.Float64frombits(0x7FF0_0000_0000_0001)
	minus := math.Copysign(0, -1)
	r := rand.New(rand.NewPCG(2, 2))
	long := func(f func(i int) float64) []float64 {
		v := make([]float64, 5000)
		for i := range v {
			v[i] = f(i)
		}
		return v
	}
	const any = 0 // coding left open
	for _, c := range []struct {
		name string
		code byte
		v    []float64
	}{
		{"none", codeScaled, nil},
		{"zero", codeScaled, []float64{0}},
		{"minus zero", any, []float64{minus}},
		{"zeros of both signs", any, []float64{0, minus, 0, minus, minus}},
		{"NaNs", any, []float64{nan, quiet, loud, nan}},
		{"infinities", any, []float64{math.Inf(1), math.Inf(-1), math.Inf(1)}},
		{"ends", any, []float64{math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, -math.SmallestNonzeroFloat64}},
		{"whole", codeScaled, long(func(i int) float64 { return float64(i) })},
		{"2^53 and beyond", any, []float64{1 << 53, 1<<53 + 2, -1 << 53, 1 << 62, 1 << 63, -1 << 63, 1 << 64}},
		{"9 decimals", codeScaled, long(func(i int) float64 { return float64(r.Int64N(1e12)) / 1e9 })},
		{"10 decimals", any, long(func(i int) float64 { return float64(r.Int64N(1e12)) / 1e10 })},
		{"large and fine", any, []float64{1e15, 0.123456789, 4e15, 9e15}},
		{"minus zero among decimals", codeNear, long(func(i int) float64 {
			if i == 4000 {
				return minus
			}
			return float64(r.IntN(1e9)) / 1e7
		})},
		{"degrees of minutes", codeNear, long(func(i int) float64 { return 44 + float64(r.IntN(600_000))/10_000/60 })},
		{"no value by itself", codeDictionary, long(func(i int) float64 { return math.Sqrt(float64(2 + r.IntN(5))) })},
		{"any bits", codeRaw, long(func(i int) float64 { return math.Float64frombits(r.Uint64()) })},
		{"smooth", codeRaw, long(func(i int) float64 { return 2 + math.Sin(float64(i)/1000) })},
		{"almost no decimals", any, long(func(i int) float64 {
			if i%3 == 0 {
				return r.Float64()
			}
			return float64(r.IntN(1000)) / 100
		})},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := checkFloats(t, c.v)
			if c.code != any && b[0]&^deflated != c.code {
				t.Errorf("coding %02x, want %02x", b[0], c.code)
			}
			if len(b) > 8*len(c.v)+12 {
				t.Errorf("%d bytes for %d values", len(b), len(c.v))
			}
			// Every coding that holds gives every bit, also where it wasn't chosen.
			if len(c.v) == 0 {
				return
			}
			for _, f := range []func([]float64) []byte{scaled, near, dictionary, raw} {
				if b := f(c.v); b != nil {
					got, err := DecodeFloats(b)
					if err != nil {
						t.Fatal(err)
					}
					sameBits(t, got, c.v)
				}
			}
		})
	}
}

// Each text of up to 9 decimals is a fraction, as strconv reads it: the nearest float64.
func TestDecimalsAsRead(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for d := range decimalScales {
		for range 20_000 {
			k := r.Int64N(maxWhole) >> r.IntN(53)
			v := parse(t, k, d)
			got, ok := exact(v, scales[d])
			if ok && float64(got)/scales[d] != v {
				t.Fatalf("%d/10^%d: %d gives another value", k, d, got)
			}
			// From a quarter of 2^53 on, the product's rounding may lead to a neighbour.
			if k < maxWhole/4 && (!ok || got != k) {
				t.Fatalf("%d/10^%d: %d %v", k, d, got, ok)
			}
		}
	}
}

func TestRank(t *testing.T) {
	order := []float64{math.Inf(-1), -math.MaxFloat64, -1, -math.SmallestNonzeroFloat64, math.Copysign(0, -1), 0,
		math.SmallestNonzeroFloat64, 0.5, 1, math.Nextafter(1, 2), math.MaxFloat64, math.Inf(1)}
	for i, v := range order {
		if math.Float64bits(value(rank(v))) != math.Float64bits(v) {
			t.Errorf("%v comes back as %v", v, value(rank(v)))
		}
		if i > 0 && rank(order[i-1]) >= rank(v) {
			t.Errorf("rank of %v not below that of %v", order[i-1], v)
		}
	}
	if rank(0) != 0 || rank(math.Copysign(0, -1)) != -1 || rank(math.Nextafter(1, 2)) != rank(1)+1 {
		t.Error("neighbours don't differ by 1")
	}
}

func TestBools(t *testing.T) {
	for n := range 40 {
		v := make([]bool, n)
		checkBools(t, v)
		for i := range v {
			v[i] = true
			checkBools(t, v)
			v[i] = i%3 == 0
		}
		checkBools(t, v)
	}
	all := make([]bool, day)
	for i := range all {
		all[i] = i != 20_000
	}
	if b := checkBools(t, all); len(b) > 60 {
		t.Errorf("%d bytes for a day that is all yes but once", len(b))
	}
}

// Made columns come back, and stay within the bytes a row that the design asked for.
func TestColumns(t *testing.T) {
	most := map[string]float64{"time": 0.05, "lat": 2.5, "lon": 2.5, "lat, noise of 0.2 m": 2.5, "depth of feet": 1.5, "depth": 1.5,
		// These only need their last places beside the above.
		"lat of minutes": 2.5, "lat with odd values": 2.5}
	for _, n := range []int{1, 2, 3, 100, day} {
		for _, c := range columns(n) {
			b := checkInts(t, c.ints)
			if c.floats != nil {
				b = checkFloats(t, c.floats)
			}
			if limit, ok := most[c.name]; ok && n == day && float64(len(b)) > limit*day {
				t.Errorf("%s: %.3f bytes a row, want at most %v", c.name, float64(len(b))/day, limit)
			}
		}
	}
}

func TestTooMany(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	appendHeader(nil, codeBools, MaxCount+1)
}

func TestDamaged(t *testing.T) {
	ints := func(b []byte) error { _, err := DecodeInts(b); return err }
	floats := func(b []byte) error { _, err := DecodeFloats(b); return err }
	bools := func(b []byte) error { _, err := DecodeBools(b); return err }
	bomb := func(code byte, n int, size int) []byte {
		return append(appendHeader(nil, code|deflated, n), deflate(make([]byte, size))...)
	}
	for _, c := range []struct {
		name   string
		decode func([]byte) error
		b      []byte
		want   string
	}{
		{"no bytes", ints, nil, "no bytes"},
		{"floats for ints", ints, unhex(t, "20 00"), "coding 0x20, want one of 0x10 to 0x1f"},
		{"ints for floats", floats, unhex(t, "10 00"), "coding 0x10, want"},
		{"ints for bools", bools, unhex(t, "10 00"), "coding 0x10, want"},
		{"order 3", ints, unhex(t, "13 01 00 01 00"), "coding 0x13 is not defined"},
		{"unknown floats", floats, unhex(t, "24 01 00"), "coding 0x24 is not defined"},
		{"deflated fractions", floats, unhex(t, "28 01 00"), "coding 0x28 is not defined"},
		{"unknown bools", bools, unhex(t, "31 00"), "coding 0x31 is not defined"},
		{"no count", ints, unhex(t, "10"), "count: bytes end inside a number"},
		{"count cut", ints, unhex(t, "10 80"), "count: bytes end inside a number"},
		{"count with needless bytes", ints, unhex(t, "10 80 00"), "needless"},
		{"count over 64 bits", ints, unhex(t, "10 ffffffffffffffffff02"), "more than 64 bits"},
		{"count over the limit", ints, unhex(t, "10 81808020"), "count 67108865"},
		{"something after nothing", ints, unhex(t, "10 00 00"), "1 bytes follow a count of 0"},
		{"no base", ints, unhex(t, "10 01"), "first value: bytes end"},
		{"no step", ints, unhex(t, "10 01 00"), "step: bytes end"},
		{"no values", ints, unhex(t, "10 01 00 01"), "0 bytes of differences, want at least 1"},
		{"count without values", ints, unhex(t, "11 80808020 00 01 00"), "1 bytes of differences, want at least 67108863"},
		{"value cut", ints, unhex(t, "10 02 00 01 00 80"), "differences: bytes end"},
		{"value with needless bytes", ints, unhex(t, "10 01 00 01 8000"), "needless"},
		{"value with more needless bytes", ints, unhex(t, "10 01 00 01 808000"), "needless"},
		{"one more", ints, unhex(t, "10 01 00 01 00 00"), "1 bytes follow"},
		{"not deflated", ints, unhex(t, "18 01 ff ff"), "deflated bytes: "},
		{"deflated cut", ints, bomb(codeInts, 500, 502)[:8], "unexpected EOF"},
		{"bytes after the deflated", ints, append(bomb(codeInts, 500, 502), 0), "1 bytes follow the deflated"},
		{"ints bomb", ints, bomb(codeInts, 1, 1<<20), "more than 30 bytes"},
		{"raw bomb", floats, bomb(codeRaw, 1, 1<<20), "more than 8 bytes"},
		{"bools bomb", bools, bomb(codeBools, 9, 1<<20), "more than 2 bytes"},
		{"raw short", floats, unhex(t, "23 01 00"), "1 bytes of values, want 8"},
		{"bools short", bools, unhex(t, "30 09 00"), "1 bytes of bits, want 2"},
		{"bools long", bools, unhex(t, "30 08 00 00"), "2 bytes of bits, want 1"},
		{"bits after the last", bools, unhex(t, "30 04 10"), "bits set after"},
		{"scale 0", floats, unhex(t, "20 01 00 10 01 00 01 00"), "scale 0"},
		{"scale over 2^53", floats, unhex(t, "20 01 8180808080808010 10 01 00 01 00"), "scale 9007199254740993"},
		{"k over 2^53", floats, unhex(t, "20 01 01 10 01 8280808080808020 01 00"), "whole number 9007199254740993"},
		{"k of another count", floats, unhex(t, "20 02 01 10 01 00 01 00"), "whole numbers of a packed column damaged: 1 values, want 2"},
		{"k missing", floats, unhex(t, "21 01 01 05 10"), "1 bytes left, want 5 of the whole numbers"},
		{"off missing", floats, unhex(t, "21 01 01 05 10 01 00 01 00"), "last places of a packed column damaged: no bytes"},
		{"place out of range", floats, unhex(t, "22 01 05 10 01 00 01 00 10 01 00 01 01"), "row 0 has distinct value 1, want 0 to 0"},
		{"place below 0", floats, unhex(t, "22 01 05 10 01 00 01 00 10 01 01 01 00"), "row 0 has distinct value -1"},
		{"more distinct than rows", floats, unhex(t, "22 01 06 10 02 00 01 00 01 10 01 00 01 00"), "2 distinct values, want at most 1"},
		{"no distinct", floats, unhex(t, "22 01 02 10 00 10 01 00 01 00"), "row 0 has distinct value 0"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := c.decode(c.b)
			if err == nil || !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}

// Every shortened blob is an error, and so is every one with a byte more.
func TestShortenedOrLonger(t *testing.T) {
	for _, c := range columns(60) {
		b := c.pack()
		for n := range b {
			if _, err := c.unpack(b[:n]); !errors.Is(err, ErrDamaged) {
				t.Fatalf("%s cut to %d of %d bytes: %v", c.name, n, len(b), err)
			}
		}
		for _, more := range []byte{0, 1, 0xFF} {
			if _, err := c.unpack(append(bytes.Clone(b), more)); !errors.Is(err, ErrDamaged) {
				t.Fatalf("%s with %02x after it: %v", c.name, more, err)
			}
		}
	}
}

// A small blob with a large count may not take more than its bound.
func TestMemory(t *testing.T) {
	for _, c := range []struct {
		name string
		b    []byte
		f    func([]byte)
	}{
		{"ints", unhex(t, "11 80808020 00 01 00"), func(b []byte) { DecodeInts(b) }},
		{"ints, deflated", append(unhex(t, "19 80808020"), deflate(make([]byte, 1000))...), func(b []byte) { DecodeInts(b) }},
		{"raw", append(unhex(t, "2b 80808020"), deflate(make([]byte, 1000))...), func(b []byte) { DecodeFloats(b) }},
		{"bools", append(unhex(t, "38 80808020"), deflate(make([]byte, 1000))...), func(b []byte) { DecodeBools(b) }},
	} {
		c.f(c.b) // the pool's reader is not counted
		const runs = 20
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		for range runs {
			c.f(c.b)
		}
		runtime.ReadMemStats(&after)
		if got, want := (after.TotalAlloc-before.TotalAlloc)/runs, uint64(20_000*len(c.b)); got > want {
			t.Errorf("%s: %d bytes for a blob of %d, want at most %d", c.name, got, len(c.b), want)
		}
	}
}
