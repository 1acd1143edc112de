// Package boatfile reads boat.toml: what a person says once about boat, box and
// habits.
//
// A file with every key:
//
//	tz = "UTC"                  # zone of clock times without one
//	units = "us"                # or "metric": what screens and sheets show
//	transducer_depth = "1.5ft"  # below the surface
//	sounder_speed = "1500m/s"   # of sound, as the sounder assumes; depths are then
//	                            # put right by the water's temperature
//	cast = "80ft"
//	heads = ["1/8oz", "1/4oz", "3/8oz"]
//	metal = "lead"              # or "tungsten", "bismuth"
//	max_sink = "20s"            # back down to the fish within this time
//	max_angle_deg = 45          # line at the rod, from vertical
//	water_temp = "60F"
//	reel = "1.5mph"             # how fast a lure is usually reeled in
//	reel_up = "0.5m/s"          # how fast a hooked fish comes up
//	unhook = "20s"              # from the fish in hand to the next drop
//
//	pool = "812.5ft"            # water level that depths are shown at; of a single
//	                            # day its own
//
//	launch = "36.512,-40.118"   # latitude and longitude of the ramp; these six are for
//	take_out = "36.512,-40.118" # the run of a day. The launch, when left out
//	run = "30mph"               # how fast the boat runs; as on the days when left out
//	idle = "5mph"               # and where no wake is allowed
//	draft = "2ft"               # with the motor down
//	margin = "2ft"              # least water wanted under that
//
//	[levels]                    # water level by local day; a table among the files wins
//	2031-10-04 = "812.3ft"
//
//	[columns]                   # of tables, by header or place
//	"Tiefe" = "depth_m"
//
//	[[line]]                    # lines by head, lightest first
//	up_to = "1/4oz"             # the last may leave this out: every heavier head
//	name = "8 lb fluorocarbon"  # the material, when left out
//	diameter = "0.23mm"
//	material = "fluorocarbon"   # or "nylon", "braid"
//
//	[[line]]
//	diameter = "0.36mm"
//	material = "braid"
//
//	leader_length = "3ft"       # a leader between line and head, if any
//	leader_diameter = "0.28mm"
//	leader_material = "fluorocarbon"
//
//	[[trailer]]                 # soft baits by head, like the lines
//	length = "3in"
//
//	[[countdown]]               # a sink that was timed, any number of them
//	head = "1/4oz"
//	trailer = "2.8in"
//	depth = "20ft"
//	time = "14s"
//
// A key left out keeps its value from Default; [[line]] and [[trailer]] replace the
// default rules as a whole.
package boatfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
)

// mostBytes is far above any boat file: more is another file by mistake.
const mostBytes = 1 << 20

// Read reads a boat file; name is used in messages. What the file leaves out is as
// in Default. Heads come out lightest first.
//
// Errors name the file, the line, the key and what would be taken: text that is
// not TOML, a key that is not known, a value without a unit or out of range, two
// equal heads or none, a line without its diameter or material, a trailer without
// its length, and rules whose up_to does not rise. Of several errors the one told
// is always the same.
func Read(r io.Reader, name string) (ingest.Boat, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return ingest.Boat{}, fmt.Errorf("%s: %w", name, err)
	}
	if len(text) > mostBytes {
		return ingest.Boat{}, fmt.Errorf("%s: longer than 1 MiB, wanted a boat file", name)
	}
	s := source{name: name, text: string(bytes.TrimPrefix(text, []byte("\ufeff")))}
	// Decoding into a struct would visit keys in the order of a map and so tell
	// one of several errors at random; the values are read in the order below.
	values := map[string]any{}
	meta, err := toml.Decode(s.text, &values)
	if err != nil {
		return ingest.Boat{}, s.parseError(err)
	}
	for _, k := range meta.Keys() {
		if err := s.known(k); err != nil {
			return ingest.Boat{}, err
		}
	}
	return s.boat(values)
}

// source is the text of the file, to find lines for messages.
type source struct{ name, text string }

func (s source) parseError(err error) error {
	var p toml.ParseError
	if !errors.As(err, &p) {
		return fmt.Errorf("%s: %w", s.name, err)
	}
	message := p.Message
	if p.LastKey != "" {
		message += " (after " + p.LastKey + ")"
	}
	return fmt.Errorf("%s:%d: %s", s.name, p.Position.Line, message)
}

// known returns an error unless a key is one that the file may have. Those of rules
// are looked at with their rule.
func (s source) known(k toml.Key) error {
	if len(k) == 1 && slices.Contains(topKeys, k[0]) || len(k) > 1 && slices.Contains([]string{"line", "trailer", "countdown", "columns", "levels"}, k[0]) {
		return nil
	}
	key := k[len(k)-1]
	return s.errorf(s.line("", 0, key), "unknown key %q; known are %s", key, strings.Join(topKeys, ", "))
}

func (s source) errorf(line int, format string, args ...any) error {
	at := s.name
	if line > 0 {
		at += ":" + strconv.Itoa(line)
	}
	return fmt.Errorf("%s: %s", at, fmt.Sprintf(format, args...))
}

// line finds the first line that begins with a key behind the n-th header of a
// table, n from 1; of the header itself when key is empty; 0 when there is none.
// The TOML library keeps its positions for itself.
func (s source) line(table string, n int, key string) int {
	no := 0
	for l := range strings.Lines(s.text) {
		no++
		first := strings.TrimSpace(l)
		isHeader := strings.HasPrefix(first, "[")
		first, _, _ = strings.Cut(strings.TrimLeft(first, "[ \t\"'"), "=")
		first = strings.TrimRight(first, "] \t\"'")
		switch {
		case isHeader && n > 0 && first == table:
			if n--; n == 0 && key == "" {
				return no
			}
		case n == 0 && key != "" && first == key:
			return no
		}
	}
	return 0
}

// boat reads the values over the defaults.
func (s source) boat(values map[string]any) (ingest.Boat, error) {
	b := Default()
	t := &b.Tackle
	metal := float64(leadKgM3)
	number := func(m measure, into *float64) func(any) error {
		return func(v any) (err error) { *into, err = m.read(v); return err }
	}
	maybe := func(m measure, into *ingest.Maybe) func(any) error {
		return func(v any) error {
			x, err := m.read(v)
			*into = ingest.Known(x)
			return err
		}
	}
	for _, k := range []struct {
		key  string
		read func(v any) error
	}{
		{"tz", func(v any) (err error) { b.Zone, err = zone(v); return err }},
		{"units", func(v any) error { i, err := choice(v, systemNames); b.Metric = i == 1; return err }},
		{"transducer_depth", number(transducerDepth, &b.TransducerM)},
		{"sounder_speed", maybe(soundSpeed, &b.SounderMPS)},
		{"pool", maybe(waterLevel, &b.PoolM)},
		{"levels", func(v any) (err error) { b.Levels, err = levels(v); return err }},
		{"columns", func(v any) (err error) { b.Columns, err = columns(v); return err }},
		{"cast", number(castLength, &b.CastM)},
		{"heads", func(v any) (err error) { t.Heads, err = heads(v); return err }},
		{"metal", func(v any) error { i, err := choice(v, metalNames); metal = metalKgM3[i]; return err }},
		{"max_sink", number(sinkTime, &t.MaxSinkS)},
		{"max_angle_deg", func(v any) (err error) { t.MaxAngleDeg, err = degrees(v); return err }},
		{"water_temp", number(waterTemp, &t.WaterC)},
		{"reel", number(reelSpeed, &t.ReelMPS)},
		{"reel_up", number(reelSpeed, &t.ReelUpMPS)},
		{"unhook", number(handTime, &t.UnhookS)},
		{"launch", func(v any) (err error) { b.Launch, err = position(v); return err }},
		{"take_out", func(v any) (err error) { b.TakeOut, err = position(v); return err }},
		{"run", maybe(runSpeed, &b.RunMPS)},
		{"idle", maybe(idleSpeed, &b.IdleMPS)},
		{"draft", number(boatDraft, &b.DraftM)},
		{"margin", number(waterMargin, &b.MarginM)},
	} {
		if v, given := values[k.key]; given {
			if err := k.read(v); err != nil {
				return ingest.Boat{}, s.errorf(s.line("", 0, k.key), "%s: %v", k.key, err)
			}
		}
	}
	for i := range t.Heads {
		t.Heads[i].DensityKgM3 = metal
	}
	if v, given := values["line"]; given {
		t.Lines = nil
		if err := s.rules("line", v, lineKeys, func(r rule, upToKg float64) error {
			l, err := r.line()
			t.Lines = append(t.Lines, ingest.LineRule{UpToKg: upToKg, Line: l})
			return err
		}); err != nil {
			return ingest.Boat{}, err
		}
	}
	if v, given := values["trailer"]; given {
		t.Trailers = nil
		if err := s.rules("trailer", v, trailerKeys, func(r rule, upToKg float64) error {
			lengthM, err := r.measure("length", trailerLength, exampleLength)
			t.Trailers = append(t.Trailers, ingest.TrailerRule{UpToKg: upToKg, LengthM: lengthM})
			return err
		}); err != nil {
			return ingest.Boat{}, err
		}
	}
	t.CastM = b.CastM
	if v, given := values["countdown"]; given {
		if err := s.each("countdown", v, countdownKeys, func(r rule) error {
			c, err := r.countdown(metal)
			t.Countdowns = append(t.Countdowns, c)
			return err
		}); err != nil {
			return ingest.Boat{}, err
		}
	}
	return b, nil
}

// position reads a place.
func position(v any) (*orb.Point, error) {
	text, ok := v.(string)
	if !ok {
		return nil, fmt.Errorf(`%q is not a place, wanted latitude and longitude in degrees, such as "36.512,-40.118"`, fmt.Sprint(v))
	}
	lat, lon, err := si.ParsePosition(text)
	return &orb.Point{lon, lat}, err
}

// levels reads the water level of days, by date.
func levels(v any) ([]ingest.Level, error) {
	given, ok := v.(map[string]any)
	if !ok {
		return nil, errors.New(`not a table, wanted [levels] above lines such as 2031-10-04 = "812.3ft"`)
	}
	var out []ingest.Level
	for _, date := range slices.Sorted(maps.Keys(given)) {
		if _, err := time.Parse(time.DateOnly, date); err != nil {
			return nil, fmt.Errorf("%q is not a day, wanted one such as 2031-10-04", date)
		}
		m, err := waterLevel.read(given[date])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", date, err)
		}
		out = append(out, ingest.Level{Date: date, LevelM: m, Source: -1})
	}
	return out, nil
}

// columns reads the map from a table's columns to words.
func columns(v any) (map[string]string, error) {
	given, ok := v.(map[string]any)
	if !ok {
		return nil, errors.New(`not a table, wanted [columns] above lines such as "Tiefe" = "depth_m"`)
	}
	out := make(map[string]string, len(given))
	for _, name := range slices.Sorted(maps.Keys(given)) {
		word, ok := given[name].(string)
		if !ok || word == "" {
			return nil, fmt.Errorf(`%q: %q is not a word, wanted one such as "depth_m"`, name, fmt.Sprint(given[name]))
		}
		out[name] = word
	}
	return out, nil
}

// heads reads the box, lightest first.
func heads(v any) ([]ingest.Head, error) {
	list, ok := v.([]any)
	if !ok || len(list) == 0 {
		return nil, errors.New(`wanted a list of at least one head, such as ["1/8oz", "1/4oz"]`)
	}
	box := make([]ingest.Head, len(list))
	for i, h := range list {
		kg, err := headMass.read(h)
		if err != nil {
			return nil, err
		}
		box[i].MassKg = kg
	}
	sort.Slice(box, func(i, j int) bool { return box[i].MassKg < box[j].MassKg })
	for i := 1; i < len(box); i++ {
		// "2oz" and "0.125lb" differ in the last bit, not in the box.
		if box[i].MassKg <= box[i-1].MassKg*(1+1e-9) {
			return nil, fmt.Errorf("%s oz is listed twice", si.Ounces(box[i].MassKg))
		}
	}
	return box, nil
}

// rule is one [[line]], [[trailer]] or [[countdown]].
type rule struct {
	source
	table  string
	no     int // from 1
	last   bool
	values map[string]any
}

// each gives add all tables of a list, which may have the keys known.
func (s source) each(table string, v any, known []string, add func(rule) error) error {
	list, ok := tables(v)
	if !ok {
		return s.errorf(s.line("", 0, table), "%s is not a list of tables, wanted [[%s]] above its keys", table, table)
	}
	for i, values := range list {
		r := rule{s, table, i + 1, i == len(list)-1, values}
		for _, key := range slices.Sorted(maps.Keys(values)) {
			if !slices.Contains(known, key) {
				return r.errorf(key, "unknown key; known are %s", strings.Join(known, ", "))
			}
		}
		if err := add(r); err != nil {
			return err
		}
	}
	return nil
}

// rules reads all rules of a table; add is given each with the head up to which it holds.
func (s source) rules(table string, v any, known []string, add func(rule, float64) error) error {
	before := 0.0
	return s.each(table, v, known, func(r rule) error {
		upToKg, err := r.upTo(before, r.last)
		if err != nil {
			return err
		}
		before = upToKg
		return add(r, upToKg)
	})
}

// tables returns the tables of a list, as [[line]] or as inline tables; ok is false
// for anything else and for none.
func tables(v any) (list []map[string]any, ok bool) {
	switch v := v.(type) {
	case []map[string]any:
		list = v
	case []any:
		for _, x := range v {
			m, isTable := x.(map[string]any)
			if !isTable {
				return nil, false
			}
			list = append(list, m)
		}
	}
	return list, len(list) > 0
}

// errorf names the key's line, or that of the rule's header when it has no such key.
func (r rule) errorf(key, format string, args ...any) error {
	line := r.source.line(r.table, r.no, "")
	if _, given := r.values[key]; given && line > 0 {
		line = r.source.line(r.table, r.no, key)
	}
	if line == 0 { // inline tables have no header
		line = r.source.line("", 0, r.table)
	}
	return r.source.errorf(line, "[[%s]] %s: %s", r.table, key, fmt.Sprintf(format, args...))
}

func (r rule) upTo(before float64, last bool) (float64, error) {
	v, given := r.values["up_to"]
	if !given && last {
		return everyHead, nil
	}
	if !given {
		return 0, r.errorf("up_to", "missing, only the last [[%s]] can leave it out", r.table)
	}
	kg, err := headMass.read(v)
	if err != nil {
		return 0, r.errorf("up_to", "%v", err)
	}
	if kg <= before*(1+1e-9) {
		return 0, r.errorf("up_to", "%s oz does not come after %s oz, wanted the lightest first", si.Ounces(kg), si.Ounces(before))
	}
	return kg, nil
}

func (r rule) measure(key string, m measure, example string) (float64, error) {
	v, given := r.values[key]
	if !given {
		return 0, r.errorf(key, "missing, wanted one such as %s", example)
	}
	x, err := m.read(v)
	if err != nil {
		return 0, r.errorf(key, "%v", err)
	}
	return x, nil
}

// strand reads a line, or with the prefix "leader_" a leader.
func (r rule) strand(prefix string) (name string, diameterM, kgM3 float64, err error) {
	if diameterM, err = r.measure(prefix+"diameter", lineDiameter, exampleDiameter); err != nil {
		return "", 0, 0, err
	}
	v, given := r.values[prefix+"material"]
	if !given {
		return "", 0, 0, r.errorf(prefix+"material", "missing, wanted %s", strings.Join(materialNames, ", "))
	}
	i, err := choice(v, materialNames)
	if err != nil {
		return "", 0, 0, r.errorf(prefix+"material", "%v", err)
	}
	name = materialNames[i]
	if v, given := r.values[prefix+"name"]; given {
		text, ok := v.(string)
		if !ok || strings.TrimSpace(text) == "" {
			return "", 0, 0, r.errorf(prefix+"name", "%q is not a name, wanted text", fmt.Sprint(v))
		}
		name = text
	}
	return name, diameterM, materialKgM3[i], nil
}

func (r rule) line() (l ingest.Line, err error) {
	if l.Name, l.DiameterM, l.DensityKgM3, err = r.strand(""); err != nil {
		return ingest.Line{}, err
	}
	for _, key := range lineKeys {
		if _, given := r.values[key]; given && strings.HasPrefix(key, "leader_") {
			var d ingest.Leader
			if d.LengthM, err = r.measure("leader_length", leaderLength, `"3ft"`); err != nil {
				return ingest.Line{}, err
			}
			if d.Name, d.DiameterM, d.DensityKgM3, err = r.strand("leader_"); err != nil {
				return ingest.Line{}, err
			}
			l.Leader = &d
			break
		}
	}
	return l, nil
}

// countdown reads a timed sink; its head is of the box's metal unless it says another.
func (r rule) countdown(metal float64) (c ingest.Countdown, err error) {
	c.Head.DensityKgM3 = metal
	if v, given := r.values["metal"]; given {
		i, err := choice(v, metalNames)
		if err != nil {
			return c, r.errorf("metal", "%v", err)
		}
		c.Head.DensityKgM3 = metalKgM3[i]
	}
	for _, k := range []struct {
		key     string
		of      measure
		example string
		into    *float64
	}{
		{"head", headMass, `"1/4oz"`, &c.Head.MassKg},
		{"trailer", trailerLength, exampleLength, &c.TrailerM},
		{"depth", countedDepth, `"20ft"`, &c.DepthM},
		{"time", countedTime, `"14s"`, &c.Seconds},
	} {
		if *k.into, err = r.measure(k.key, k.of, k.example); err != nil {
			return c, err
		}
	}
	return c, nil
}
