package logbook

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"leadline/ingest"
	"leadline/ingest/pack"
)

// ErrTime is the error of an instant that the logbook can't hold.
var ErrTime = errors.New("time out of range, wanted the years 1678 to 2261")

// A Chunk is what one source recorded of one kind on one local day, column by column.
type Chunk struct {
	Day     string // local day; empty for records without a time
	Kind    Kind
	Part    int // of fixes the track's number in its source, of soundings 0
	N       int // records
	Columns []Column
}

// A Column is one packed column of a Chunk; Definition lists them.
type Column struct {
	Name string
	Data []byte
}

// Kind says what a Chunk holds.
type Kind string

// The kinds of Chunk.
const (
	Fixes     Kind = "fix"
	Soundings Kind = "sounding"
)

// chunks packs tracks and soundings by local day, in the order fixes, soundings; part; day. The day is that of the time
// by the clock put right: by is added to the file's. Tracks made of a depth log are left out, since they can be made again.
func chunks(tracks []ingest.Track, soundings []ingest.Sounding, by time.Duration, zone *time.Location) ([]Chunk, error) {
	var out []Chunk
	part := 0
	for _, t := range tracks {
		if t.FromLog {
			continue
		}
		byDay, err := split(len(t.Fixes), func(i int) time.Time { return t.Fixes[i].Time }, by, zone)
		if err != nil {
			return nil, err
		}
		inOrder := increasing(len(t.Fixes), func(i int) int { return t.Fixes[i].Line })
		for _, day := range slices.Sorted(maps.Keys(byDay)) {
			c := packFixes(t, byDay[day], day, part)
			if !inOrder {
				c.Columns = append(c.Columns, seq(byDay[day]))
			}
			out = append(out, c)
		}
		part++
	}
	byDay, err := split(len(soundings), func(i int) time.Time { return soundings[i].Time }, by, zone)
	if err != nil {
		return nil, err
	}
	inOrder := increasing(len(soundings), func(i int) int { return soundings[i].Line })
	for _, day := range slices.Sorted(maps.Keys(byDay)) {
		c := packSoundings(soundings, byDay[day], day)
		if !inOrder {
			c.Columns = append(c.Columns, seq(byDay[day]))
		}
		out = append(out, c)
	}
	return out, nil
}

// increasing reports whether each record begins on a later line than the one before: then the lines tell the order.
func increasing(n int, line func(i int) int) bool {
	for i := 1; i < n; i++ {
		if line(i) <= line(i-1) {
			return false
		}
	}
	return true
}

// seq is the column of the records' places in their track or log.
func seq(rows []int) Column {
	var p packer
	p.ints("seq", rows, func(i int) int { return i })
	return p.columns[0]
}

// order returns the column seq, or without one the lines.
func (c Chunk) order(lines func(i int) int) ([]int64, error) {
	u := unpacker{Chunk: c}
	at := make([]int64, c.N)
	for i := range at {
		at[i] = int64(lines(i))
	}
	u.ints("seq", func(i int, v int64) { at[i] = v })
	return at, u.err
}

// inOrder returns list by at, stably; both are used up.
func inOrder[T any](list []T, at []int64) []T {
	if slices.IsSorted(at) {
		return list
	}
	places := make([]int, len(at))
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(a, b int) int { return cmp.Compare(at[a], at[b]) })
	out := make([]T, len(list))
	for i, k := range places {
		out[i] = list[k]
	}
	return out
}

// The instants whose nanoseconds since 1970 an int64 holds, by year.
const firstYear, lastYear = 1678, 2261

// split sorts the indices 0 to n-1 by local day.
func split(n int, at func(i int) time.Time, by time.Duration, zone *time.Location) (map[string][]int, error) {
	type run struct {
		day      string
		from, to int
	}
	var runs []run         // records of one day that follow each other: mostly one a day
	var from, to time.Time // of the day asked for last: the next record is mostly of it
	date := ""
	for i := range n {
		t, day := at(i), ""
		if !t.IsZero() {
			if t = t.Add(by); date == "" || t.Before(from) || !t.Before(to) {
				if y := t.Year(); y < firstYear || y > lastYear {
					return nil, fmt.Errorf("%s: %w", t.Format(time.RFC3339), ErrTime)
				}
				y, m, d := t.In(zone).Date()
				from, to = ingest.DayStart(y, m, d, zone), ingest.DayStart(y, m, d+1, zone)
				date = LocalDay(t, zone)
			}
			day = date
		}
		if k := len(runs); k == 0 || runs[k-1].day != day {
			runs = append(runs, run{day: day, from: i})
		}
		runs[len(runs)-1].to = i + 1
	}
	total := map[string]int{}
	for _, r := range runs {
		total[r.day] += r.to - r.from
	}
	out := make(map[string][]int, len(total))
	for _, r := range runs {
		rows := out[r.day]
		if rows == nil {
			rows = make([]int, 0, total[r.day])
		}
		for i := r.from; i < r.to; i++ {
			rows = append(rows, i)
		}
		out[r.day] = rows
	}
	return out, nil
}

// A packer gathers the columns of a chunk.
type packer struct {
	columns []Column
	whole   []int64 // for one column after the other
	float   []float64
}

func (p *packer) add(name string, data []byte) {
	p.columns = append(p.columns, Column{name, data})
}

// times packs instants; a chunk of records without a time has none.
func (p *packer) times(rows []int, at func(i int) time.Time) {
	v := slices.Grow(p.whole[:0], len(rows))
	for _, i := range rows {
		if t := at(i); !t.IsZero() {
			v = append(v, t.UnixNano())
		}
	}
	p.whole = v
	if len(v) > 0 {
		p.add("time", pack.Ints(v))
	}
}

func (p *packer) ints(name string, rows []int, of func(i int) int) {
	v := slices.Grow(p.whole[:0], len(rows))
	for _, i := range rows {
		v = append(v, int64(of(i)))
	}
	p.whole = v
	p.add(name, pack.Ints(v))
}

func (p *packer) floats(name string, rows []int, of func(i int) float64) {
	v := slices.Grow(p.float[:0], len(rows))
	for _, i := range rows {
		v = append(v, of(i))
	}
	p.float = v
	p.add(name, pack.Floats(v))
}

func (p *packer) maybes(name string, rows []int, of func(i int) ingest.Maybe) {
	known := p.known(name+"_ok", rows, func(i int) bool { return of(i).OK })
	if len(known) > 0 {
		p.floats(name, known, func(i int) float64 { return of(i).V })
	}
}

// known returns the rows that have a value, and packs which they are unless all or none have.
func (p *packer) known(name string, rows []int, has func(i int) bool) []int {
	n := 0
	for _, i := range rows {
		if has(i) {
			n++
		}
	}
	if n == 0 || n == len(rows) {
		return rows[:n]
	}
	ok, known := make([]bool, len(rows)), make([]int, 0, n)
	for k, i := range rows {
		if ok[k] = has(i); ok[k] {
			known = append(known, i)
		}
	}
	p.add(name, pack.Bools(ok))
	return known
}

func packFixes(t ingest.Track, rows []int, day string, part int) Chunk {
	var p packer
	f := t.Fixes
	p.times(rows, func(i int) time.Time { return f[i].Time })
	p.floats("lon", rows, func(i int) float64 { return f[i].Pos[0] })
	p.floats("lat", rows, func(i int) float64 { return f[i].Pos[1] })
	p.maybes("speed", rows, func(i int) ingest.Maybe { return f[i].SpeedMPS })
	p.maybes("course", rows, func(i int) ingest.Maybe { return f[i].CourseDeg })
	p.ints("line", rows, func(i int) int { return f[i].Line })
	if t.Name != "" {
		p.add("name", []byte(t.Name))
	}
	return Chunk{Day: day, Kind: Fixes, Part: part, N: len(rows), Columns: p.columns}
}

func packSoundings(s []ingest.Sounding, rows []int, day string) Chunk {
	var p packer
	p.times(rows, func(i int) time.Time { return s[i].Time })
	if placed := p.known("pos_ok", rows, func(i int) bool { return s[i].HasPos }); len(placed) > 0 {
		p.floats("lon", placed, func(i int) float64 { return s[i].Pos[0] })
		p.floats("lat", placed, func(i int) float64 { return s[i].Pos[1] })
	}
	p.floats("depth", rows, func(i int) float64 { return s[i].DepthM })
	if slices.ContainsFunc(rows, func(i int) bool { return s[i].Ref != 0 }) {
		p.ints("ref", rows, func(i int) int { return int(s[i].Ref) })
	}
	p.maybes("temp", rows, func(i int) ingest.Maybe { return s[i].TempC })
	p.maybes("speed", rows, func(i int) ingest.Maybe { return s[i].SpeedMPS })
	p.ints("line", rows, func(i int) int { return s[i].Line })
	return Chunk{Day: day, Kind: Soundings, N: len(rows), Columns: p.columns}
}

// An unpacker reads the columns of a chunk. The first error stays.
type unpacker struct {
	Chunk
	lines []int64
	whole []int64 // for one column after the other
	float []float64
	err   error
}

func (u *unpacker) column(name string) (data []byte, ok bool) {
	i := slices.IndexFunc(u.Columns, func(c Column) bool { return c.Name == name })
	if i < 0 {
		return nil, false
	}
	return u.Columns[i].Data, true
}

// fail keeps the first error.
func (u *unpacker) fail(name string, err error) {
	if u.err == nil {
		u.err = fmt.Errorf("packed %s of %q, column %s: %w", u.Kind, u.Day, name, err)
	}
}

var errCount = errors.New("another number of values than records")

// need checks that a column has n values.
func (u *unpacker) need(name string, got, n int, err error) bool {
	if err == nil && got != n {
		err = errCount
	}
	if err != nil {
		u.fail(name, err)
	}
	return err == nil
}

// known calls each for every record that has a value of a column, with the place of the value.
func (u *unpacker) known(name string, each func(record, value int)) (n int) {
	data, some := u.column(name)
	if !some {
		for i := range u.N {
			each(i, i)
		}
		return u.N
	}
	ok, err := pack.DecodeBools(data)
	if !u.need(name, len(ok), u.N, err) {
		return 0
	}
	for i, has := range ok {
		if has {
			each(i, n)
			n++
		}
	}
	return n
}

// floats calls set for every record that has a value. A missing column has none.
func (u *unpacker) floats(name, ok string, set func(record int, v float64)) {
	data, has := u.column(name)
	if !has {
		return
	}
	v, err := pack.DecodeFloatsIn(u.float, data)
	if err != nil {
		u.fail(name, err)
		return
	}
	u.float = v
	n := u.known(ok, func(record, value int) {
		if value < len(v) {
			set(record, v[value])
		}
	})
	u.need(name, len(v), n, nil)
}

func (u *unpacker) ints(name string, set func(record int, v int64)) {
	data, has := u.column(name)
	if !has {
		return
	}
	v, err := pack.DecodeIntsIn(u.whole, data)
	if u.need(name, len(v), u.N, err) {
		u.whole = v
		for i, x := range v {
			set(i, x)
		}
	}
}

// Fixes returns the track that the chunk is a piece of, its fixes in recorded order, by the clock of the file.
// It is an error when the chunk is none of fixes or is damaged.
func (c Chunk) Fixes() (ingest.Track, error) {
	u := unpacker{Chunk: c}
	var t ingest.Track
	if c.Kind != Fixes {
		return t, fmt.Errorf("packed %s is no track", c.Kind)
	}
	if !u.sane() {
		return t, u.err
	}
	if name, ok := u.column("name"); ok {
		t.Name = string(name)
	}
	t.Fixes = ingest.NewFixes(c.N)[:c.N]
	clear(t.Fixes)
	f := t.Fixes
	u.ints("time", func(i int, v int64) { f[i].Time = time.Unix(0, v).UTC() })
	u.floats("lon", "", func(i int, v float64) { f[i].Pos[0] = v })
	u.floats("lat", "", func(i int, v float64) { f[i].Pos[1] = v })
	u.floats("speed", "speed_ok", func(i int, v float64) { f[i].SpeedMPS = ingest.Known(v) })
	u.floats("course", "course_ok", func(i int, v float64) { f[i].CourseDeg = ingest.Known(v) })
	for i, v := range u.lines {
		f[i].Line = int(v)
	}
	return t, u.err
}

// Soundings returns the soundings of the chunk in recorded order, by the clock of the file. It is an error when the
// chunk is none of soundings or is damaged.
func (c Chunk) Soundings() ([]ingest.Sounding, error) {
	u := unpacker{Chunk: c}
	if c.Kind != Soundings {
		return nil, fmt.Errorf("packed %s is no sounding", c.Kind)
	}
	if !u.sane() {
		return nil, u.err
	}
	s := ingest.NewSoundings(c.N)[:c.N]
	clear(s)
	u.ints("time", func(i int, v int64) { s[i].Time = time.Unix(0, v).UTC() })
	u.floats("lon", "pos_ok", func(i int, v float64) { s[i].Pos[0], s[i].HasPos = v, true })
	u.floats("lat", "pos_ok", func(i int, v float64) { s[i].Pos[1] = v })
	u.floats("depth", "", func(i int, v float64) { s[i].DepthM = v })
	u.ints("ref", func(i int, v int64) {
		if v < 0 || v > int64(ingest.BelowKeel) {
			u.fail("ref", fmt.Errorf("%d is no depth reference", v))
			return
		}
		s[i].Ref = ingest.DepthRef(v)
	})
	u.floats("temp", "temp_ok", func(i int, v float64) { s[i].TempC = ingest.Known(v) })
	u.floats("speed", "speed_ok", func(i int, v float64) { s[i].SpeedMPS = ingest.Known(v) })
	for i, v := range u.lines {
		s[i].Line = int(v)
	}
	return s, u.err
}

// sane checks the number of records against the one column that every record is in, before room is made for them.
func (u *unpacker) sane() bool {
	data, ok := u.column("line")
	if !ok {
		u.fail("line", errors.New("missing"))
		return false
	}
	v, err := pack.DecodeInts(data)
	u.lines = v
	return u.need("line", len(v), u.N, err)
}

// unpack joins chunks of one source, in any order of days, to its tracks and soundings in recorded order.
func unpack(list []Chunk) (tracks []ingest.Track, soundings []ingest.Sounding, err error) {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Chunk) int {
		if a.Part != b.Part {
			return a.Part - b.Part
		}
		return compareDays(a.Day, b.Day)
	})
	part := -1
	var at, soundingsAt []int64 // order of the last track's fixes, and of the soundings
	for _, c := range list {
		if c.Kind == Soundings {
			s, err := c.Soundings()
			if err != nil {
				return nil, nil, err
			}
			more, err := c.order(func(i int) int { return s[i].Line })
			if err != nil {
				return nil, nil, err
			}
			if soundings == nil {
				soundings, soundingsAt = s, more
				continue
			}
			soundings, soundingsAt = append(soundings, s...), append(soundingsAt, more...)
			continue
		}
		t, err := c.Fixes()
		if err != nil {
			return nil, nil, err
		}
		more, err := c.order(func(i int) int { return t.Fixes[i].Line })
		if err != nil {
			return nil, nil, err
		}
		if c.Part != part || len(tracks) == 0 {
			if n := len(tracks); n > 0 {
				tracks[n-1].Fixes = inOrder(tracks[n-1].Fixes, at)
			}
			tracks, at = append(tracks, t), more
			part = c.Part
			continue
		}
		last := &tracks[len(tracks)-1]
		last.Fixes, at = append(last.Fixes, t.Fixes...), append(at, more...)
	}
	// Days follow each other as the lines of a file do, but for records without a time and clocks that leap.
	if n := len(tracks); n > 0 {
		tracks[n-1].Fixes = inOrder(tracks[n-1].Fixes, at)
	}
	soundings = inOrder(soundings, soundingsAt)
	return tracks, soundings, nil
}

// compareDays orders days, records without a time last.
func compareDays(a, b string) int {
	switch {
	case a == b:
		return 0
	case a == "":
		return 1
	case b == "" || a < b:
		return -1
	}
	return 1
}
