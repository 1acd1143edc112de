package logbook

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/pack"
)

// zones are those that days are told by here: whole hours, half and quarter hours, and one with summer time. What a
// zone's days are is known from the time package; nothing here is fitted to our own output.
var zones = []string{"UTC", "Etc/GMT+3", "Asia/Kolkata", "Asia/Kathmandu", "Pacific/Kiritimati", "America/St_Johns"}

func zoneNamed(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// coordinate draws what a file may hold: few or all decimals, zero of both signs.
func coordinate(r *rand.Rand, around float64) float64 {
	switch r.IntN(8) {
	case 0:
		return math.Copysign(0, -1)
	case 1:
		return 0
	case 2:
		return around + r.NormFloat64()
	}
	return math.Round((around+0.001*r.NormFloat64())*1e7) / 1e7
}

func perhaps(r *rand.Rand, share, v float64) ingest.Maybe {
	if r.Float64() >= share {
		return ingest.Maybe{}
	}
	return ingest.Known(v)
}

// instants draws the times of n records that begin shortly before a midnight of the zone: most a second or less apart,
// some missing, and now and then the clock leaps, back too.
func instants(r *rand.Rand, n int, zone *time.Location) []time.Time {
	t := time.Date(2031, 10, 4+r.IntN(40), 23, 58, r.IntN(60), 0, zone)
	leaps, timeless := r.IntN(3) == 0, r.IntN(3) == 0
	out := make([]time.Time, n)
	for i := range out {
		t = t.Add(time.Duration(r.IntN(2)) * time.Second).Add(time.Duration(r.IntN(3)) * time.Millisecond)
		if leaps && r.IntN(20) == 0 {
			t = t.Add(time.Duration(r.IntN(5)-2) * 11 * time.Hour)
		}
		if !timeless || r.IntN(5) > 0 {
			out[i] = t.UTC().Add(time.Duration(r.IntN(3)))
		}
	}
	return out
}

func someTracks(r *rand.Rand, zone *time.Location, line *int) (list []ingest.Track) {
	for k := range r.IntN(4) {
		t := ingest.Track{}
		if r.IntN(2) == 0 {
			t.Name = fmt.Sprintf("track %d\x00\xff", k)
		}
		knownShare := []float64{0, 0.5, 1}[r.IntN(3)]
		for _, at := range instants(r, 1+r.IntN(200), zone) {
			*line += 1 + r.IntN(3)
			t.Fixes = append(t.Fixes, ingest.Fix{
				Time: at, Pos: orb.Point{coordinate(r, -40), coordinate(r, 36.5)},
				SpeedMPS: perhaps(r, knownShare, math.Copysign(r.Float64(), r.Float64()-0.1)), CourseDeg: perhaps(r, 1-knownShare, math.Round(r.Float64()*360)), Line: *line,
			})
		}
		list = append(list, t)
	}
	return list
}

func someSoundings(r *rand.Rand, zone *time.Location, line *int) (list []ingest.Sounding) {
	placed, knownShare, ref := []float64{0, 0.5, 1}[r.IntN(3)], []float64{0, 0.5, 1}[r.IntN(3)], r.IntN(3)
	for _, at := range instants(r, r.IntN(300), zone) {
		*line += 1 + r.IntN(3)
		s := ingest.Sounding{
			Time: at, DepthM: math.Round(r.Float64()*300) * 0.1 * 0.3048, TempC: perhaps(r, knownShare, 17.5), SpeedMPS: perhaps(r, 1-knownShare, r.Float64()), Line: *line,
		}
		if ref > 0 {
			s.Ref = ingest.DepthRef(r.IntN(ref + 1))
		}
		if r.Float64() < placed {
			s.Pos, s.HasPos = orb.Point{coordinate(r, -40), coordinate(r, 36.5)}, true
		}
		list = append(list, s)
	}
	return list
}

func bits(v float64) uint64 { return math.Float64bits(v) }

func maybeBits(m ingest.Maybe) (uint64, bool) {
	if !m.OK {
		return 0, false
	}
	return bits(m.V), true
}

func sameMaybe(a, b ingest.Maybe) bool {
	x, some := maybeBits(a)
	y, too := maybeBits(b)
	return x == y && some == too
}

func samePoint(a, b orb.Point) bool { return bits(a[0]) == bits(b[0]) && bits(a[1]) == bits(b[1]) }

// sameFix compares to the bit: == takes -0 for 0.
func sameFix(a, b ingest.Fix) bool {
	return a.Time.Equal(b.Time) && a.Time.IsZero() == b.Time.IsZero() && samePoint(a.Pos, b.Pos) &&
		sameMaybe(a.SpeedMPS, b.SpeedMPS) && sameMaybe(a.CourseDeg, b.CourseDeg) && a.Line == b.Line && a.Flags == b.Flags
}

func sameSounding(a, b ingest.Sounding) bool {
	return a.Time.Equal(b.Time) && a.Time.IsZero() == b.Time.IsZero() && a.HasPos == b.HasPos && (!a.HasPos || samePoint(a.Pos, b.Pos)) &&
		bits(a.DepthM) == bits(b.DepthM) && a.Ref == b.Ref && sameMaybe(a.TempC, b.TempC) && sameMaybe(a.SpeedMPS, b.SpeedMPS) && a.Line == b.Line && a.Flags == b.Flags
}

func sameTracks(a, b []ingest.Track) bool {
	return slices.EqualFunc(a, b, func(x, y ingest.Track) bool {
		return x.Name == y.Name && x.FromLog == y.FromLog && slices.EqualFunc(x.Fixes, y.Fixes, sameFix)
	})
}

// TestChunksGiveBackTheRecords is the law of the packed table: the same records in the same order, to the bit, from the
// chunks of all days in any order of days.
func TestChunksGiveBackTheRecords(t *testing.T) {
	for seed := range uint64(120) {
		r := rand.New(rand.NewPCG(seed, 1))
		zone := zoneNamed(t, zones[r.IntN(len(zones))])
		line := 0
		tracks := someTracks(r, zone, &line)
		soundings := someSoundings(r, zone, &line)
		fromLog := ingest.Track{FromLog: true, Fixes: []ingest.Fix{{Time: time.Unix(0, 0)}}}
		by := time.Duration(r.IntN(3)-1) * 19800 * time.Second
		list, err := chunks(append(slices.Clone(tracks), fromLog), soundings, by, zone)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range list {
			checkDay(t, c, by, zone)
		}
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		before := slices.Clone(list)
		gotTracks, gotSoundings, err := unpack(list)
		if err != nil {
			t.Fatal(err)
		}
		if !sameTracks(gotTracks, tracks) {
			t.Errorf("seed %d, %v: other fixes than were packed", seed, zone)
		}
		if !slices.EqualFunc(gotSoundings, soundings, sameSounding) {
			t.Errorf("seed %d, %v: other soundings than were packed", seed, zone)
		}
		if !slices.EqualFunc(list, before, func(a, b Chunk) bool { return a.Day == b.Day && a.Part == b.Part && a.Kind == b.Kind }) {
			t.Errorf("seed %d: unpack changed its input", seed)
		}
	}
}

// checkDay checks that every record of a chunk is of its day by the clock put right.
func checkDay(t *testing.T, c Chunk, by time.Duration, zone *time.Location) {
	t.Helper()
	var times []time.Time
	if c.Kind == Fixes {
		x, err := c.Fixes()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range x.Fixes {
			times = append(times, f.Time)
		}
	} else {
		x, err := c.Soundings()
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range x {
			times = append(times, s.Time)
		}
	}
	if len(times) != c.N || c.N == 0 {
		t.Fatalf("%d records, N %d", len(times), c.N)
	}
	for _, at := range times {
		want := ""
		if !at.IsZero() {
			want = at.Add(by).In(zone).Format(time.DateOnly)
		}
		if c.Day != want {
			t.Fatalf("%v in the chunk of %q, wanted %q", at, c.Day, want)
		}
	}
}

// One line holds a whole file where a program leaves out the line ends. As long as times rise the order is theirs.
func TestRepeatedLinesKeepTheirOrder(t *testing.T) {
	zone := zoneNamed(t, "Asia/Kolkata")
	var track ingest.Track
	var soundings []ingest.Sounding
	start := time.Date(2031, 10, 4, 23, 59, 0, 0, zone).UTC()
	for i := range 200 {
		at := start.Add(time.Duration(i) * time.Second)
		track.Fixes = append(track.Fixes, ingest.Fix{Time: at, Pos: orb.Point{-40, 36 + float64(i)/1000}, Line: 1 + i/150})
		soundings = append(soundings, ingest.Sounding{Time: at, DepthM: float64(i), Line: 1})
	}
	list, err := chunks([]ingest.Track{track}, soundings, 0, zone)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 4 {
		t.Fatalf("%d chunks, wanted two days of each kind", len(list))
	}
	gotTracks, gotSoundings, err := unpack(list)
	if err != nil || !sameTracks(gotTracks, []ingest.Track{track}) || !slices.EqualFunc(gotSoundings, soundings, sameSounding) {
		t.Errorf("records in another order, error %v", err)
	}
}

func TestChunksRefuseTimes(t *testing.T) {
	for name, at := range map[string]time.Time{
		"before": time.Date(1677, 12, 31, 0, 0, 0, 0, time.UTC),
		"after":  time.Date(2262, 1, 1, 0, 0, 0, 0, time.UTC),
	} {
		if _, err := chunks(nil, []ingest.Sounding{{Time: at, Line: 1}}, 0, time.UTC); !errors.Is(err, ErrTime) {
			t.Errorf("%s: %v, wanted ErrTime", name, err)
		}
	}
	for name, at := range map[string]time.Time{
		"first": time.Date(1678, 1, 1, 0, 0, 0, 1, time.UTC),
		"last":  time.Date(2261, 12, 31, 23, 59, 59, 999999999, time.UTC),
	} {
		list, err := chunks(nil, []ingest.Sounding{{Time: at, Line: 1}}, 0, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		if _, got, err := unpack(list); err != nil || !got[0].Time.Equal(at) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
}

func TestWrongKindOfChunk(t *testing.T) {
	if _, err := (Chunk{Kind: Soundings}).Fixes(); err == nil {
		t.Error("soundings read as fixes")
	}
	if _, err := (Chunk{Kind: Fixes}).Soundings(); err == nil {
		t.Error("fixes read as soundings")
	}
	if _, _, err := unpack([]Chunk{{Kind: "spot"}}); err == nil {
		t.Error("a chunk of no kind was read")
	}
}

// FuzzChunk puts any bytes in a column: no panic, an error that says which column, ErrDamaged where the column can't be
// unpacked, and as many records as the chunk says otherwise.
func FuzzChunk(f *testing.F) {
	columns := []string{"time", "lon", "lat", "speed", "speed_ok", "course", "course_ok", "line", "name", "pos_ok", "depth", "ref", "temp", "temp_ok", "seq", "?"}
	for i := range columns {
		f.Add(uint8(i), 3, []byte{0x10, 3, 0, 1, 1, 2, 3})
		f.Add(uint8(i), 3, pack.Floats([]float64{1, math.Copysign(0, -1), math.Inf(1)}))
		f.Add(uint8(i), 3, pack.Bools([]bool{true, false, true}))
		f.Add(uint8(i), 3, pack.Ints([]int64{0, 300, math.MinInt64}))
		f.Add(uint8(i), 3, []byte{})
		f.Add(uint8(i), -1, pack.Ints(nil))
		f.Add(uint8(i), 1<<40, pack.Ints([]int64{1}))
	}
	f.Fuzz(func(t *testing.T, column uint8, n int, data []byte) {
		name := columns[int(column)%len(columns)]
		for _, kind := range []Kind{Fixes, Soundings} {
			c := Chunk{Day: "2031-10-04", Kind: kind, N: n, Columns: []Column{
				{"time", pack.Ints([]int64{1, 2, 3})}, {"lon", pack.Floats([]float64{1, 2, 3})}, {"lat", pack.Floats([]float64{1, 2, 3})},
				{"speed", pack.Floats([]float64{1, 2})}, {"speed_ok", pack.Bools([]bool{true, false, true})},
				{"depth", pack.Floats([]float64{1, 2, 3})}, {"temp", pack.Floats([]float64{1})}, {"temp_ok", pack.Bools([]bool{false, false, true})},
				{"line", pack.Ints([]int64{1, 2, 3})},
			}}
			if i := slices.IndexFunc(c.Columns, func(x Column) bool { return x.Name == name }); i >= 0 {
				c.Columns[i].Data = data
			} else {
				c.Columns = append(c.Columns, Column{name, data})
			}
			got := 0
			var err error
			if kind == Fixes {
				var x ingest.Track
				x, err = c.Fixes()
				got = len(x.Fixes)
			} else {
				var x []ingest.Sounding
				x, err = c.Soundings()
				got = len(x)
				for _, s := range x {
					if err == nil {
						_ = s.Ref.String() // panics on a reference there isn't
					}
				}
			}
			if err == nil && got != n {
				t.Fatalf("%s: %d records of %d without an error", kind, got, n)
			}
			if err != nil && err.Error() == "" {
				t.Fatal("an error that says nothing")
			}
			if _, bad := pack.DecodeInts(data); bad != nil && name == "line" && !errors.Is(err, pack.ErrDamaged) {
				t.Fatalf("%s: %v, wanted ErrDamaged", kind, err)
			}
			if _, bad := pack.DecodeFloats(data); bad != nil && name == "lon" && n == 3 && !errors.Is(err, pack.ErrDamaged) {
				t.Fatalf("%s: %v, wanted ErrDamaged", kind, err)
			}
			unpack([]Chunk{c, c})
		}
	})
}
