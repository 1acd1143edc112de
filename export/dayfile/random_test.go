package dayfile

import (
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// A maker gives random values, the odd ones among them often.
type maker struct{ *rand.Rand }

// number returns a value from low to high: an end, next to one, tiny, of few digits,
// or any of the float64s between, in even shares. Zero is never minus zero, which
// tables don't keep.
func (m maker) number(low, high float64) float64 {
	v := low + m.Float64()*(high-low)
	switch m.IntN(8) {
	case 0:
		v = low
	case 1:
		v = high
	case 2:
		v = math.Nextafter(high, low)
	case 3:
		v = []float64{0, 1e-9, -1e-9, 5e-324, 1e-300, 1. / 3, 0.1 + 0.2, 1e22}[m.IntN(8)]
	case 4:
		v = math.Round(v*10) / 10
	case 5:
		v = math.Round(v*1e7) / 1e7
	case 6:
		v *= math.Pow(10, -12*m.Float64())
	}
	if v == 0 || v < low || v > high {
		return max(low, 0)
	}
	return v
}

func (m maker) maybe(low, high float64) ingest.Maybe {
	if m.IntN(3) == 0 {
		return ingest.Maybe{V: math.NaN()} // unknown: not to be looked at
	}
	return known(m.number(low, high))
}

// time returns an instant of a year that the readers take, to a second, a
// millisecond or a nanosecond.
func (m maker) time() time.Time {
	first, last := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2101, 1, 1, 0, 0, 0, 0, time.UTC)
	t := first.Add(time.Duration(m.Int64N(int64(last.Sub(first)))))
	switch m.IntN(5) {
	case 0:
		return t.Truncate(time.Second)
	case 1:
		return t.Truncate(time.Millisecond)
	case 2:
		return t.Truncate(24 * time.Hour)
	case 3:
		return t.Truncate(time.Second).Add(time.Duration(1 + m.IntN(1000)))
	}
	return t.In(time.FixedZone("", m.IntN(27)*1800-12*3600))
}

func (m maker) position() orb.Point {
	return orb.Point{m.number(-180, 180), m.number(-90, 90)}
}

// place gives a row a time, a position, or both.
func (m maker) place(t *time.Time, has *bool, pos *orb.Point) {
	what := m.IntN(4)
	if what != 0 {
		*t = m.time()
	}
	if *pos = m.position(); what == 1 || *pos == (orb.Point{}) {
		*pos = orb.Point{}
		if t.IsZero() {
			*t = m.time()
		}
		return
	}
	*has = true
}

var words = strings.Fields(`rock & <b> "red" =1+1 -5 drop,off ; | 3/8oz 魚 'tail' Wind: N/NE a,b,c # // \. \" 100% $5 @home ]]> --> &amp;`)

func (m maker) text() string {
	var parts []string
	for range m.IntN(6) {
		parts = append(parts, words[m.IntN(len(words))])
	}
	text := strings.Join(parts, " ")
	if len(parts) > 1 && m.IntN(4) == 0 {
		text = strings.Replace(text, " ", "\n", 1)
	}
	return text
}

const trials, rows = 300, 40

func trial(t *testing.T, f func(t *testing.T, m maker)) {
	for seed := range uint64(trials) {
		f(t, maker{rand.New(rand.NewPCG(seed, 0))})
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

func TestRandomTracks(t *testing.T) {
	trial(t, func(t *testing.T, m maker) {
		var tracks []ingest.Track
		n := 0
		for range 1 + m.IntN(4) {
			x := ingest.Track{Name: m.text()}
			if len(tracks) > 0 && m.IntN(2) == 0 {
				x.Name = tracks[len(tracks)-1].Name
			}
			for range 1 + m.IntN(rows) {
				f := ingest.Fix{Pos: m.position(), SpeedMPS: m.maybe(0, 100), CourseDeg: m.maybe(0, math.Nextafter(360, 0)), Flags: ingest.FixFlag(m.IntN(128)), Line: m.Int()}
				if m.IntN(4) > 0 {
					f.Time = m.time()
				}
				x.Fixes = append(x.Fixes, f)
			}
			n += len(x.Fixes)
			tracks = append(tracks, x)
		}
		text := trackText(t, tracks)
		r := readGPX(t, text)
		sound(t, r, n)
		same(t, "track", clearTracks(r.Tracks), clearTracks(tracks))
		structure(t, text)
	})
}

func TestRandomSoundings(t *testing.T) {
	trial(t, func(t *testing.T, m maker) {
		ref := ingest.DepthRef(m.IntN(3))
		s := []ingest.Sounding{{Time: time.Date(1980, 1, 1, 0, 0, 0, 1, time.UTC), DepthM: 1, Ref: ref}} // one above zero
		for range m.IntN(rows) {
			x := ingest.Sounding{DepthM: m.number(-20000, 20000), Ref: ref, TempC: m.maybe(-10, 60), SpeedMPS: m.maybe(0, 100), Flags: ingest.SoundingFlag(m.IntN(128)), Line: m.Int(), Source: m.Int()}
			m.place(&x.Time, &x.HasPos, &x.Pos)
			s = append(s, x)
		}
		r := readCSV(t, soundingText(t, s))
		sound(t, r, len(s))
		slices.SortStableFunc(s, func(a, b ingest.Sounding) int { return a.Time.Compare(b.Time) }) // as the door does
		same(t, "sounding", clearSoundings(r.Soundings), clearSoundings(s))
	})
}

func TestRandomEvents(t *testing.T) {
	trial(t, func(t *testing.T, m maker) {
		var events []ingest.Event
		for range 1 + m.IntN(rows) {
			e := ingest.Event{Kind: ingest.EventKind(m.IntN(4)), Species: strings.ReplaceAll(m.text(), "\n", " "), Note: m.text(), Count: 1 + m.IntN(10000),
				LengthM: m.maybe(1e-6, 6), WeightKg: m.maybe(1e-6, 1000), FishM: m.maybe(0, 2000), HeadKg: m.maybe(1e-6, 1), TrailerM: m.maybe(1e-6, 1), Line: m.Int(), Source: m.Int()}
			m.place(&e.Time, &e.HasPos, &e.Pos)
			events = append(events, e)
		}
		text := eventText(t, events)
		r := readCSV(t, text)
		sound(t, r, len(events))
		same(t, "event", clearEvents(r.Events), clearEvents(events))
		// RFC 4180, as encoding/csv reads it: every row has the header's cells.
		if all, err := csv.NewReader(strings.NewReader(string(text))).ReadAll(); err != nil || len(all) != 1+len(events) {
			t.Errorf("encoding/csv reads %d rows, %v", len(all), err)
		}
	})
}

func TestRandomLevelsAndWinds(t *testing.T) {
	trial(t, func(t *testing.T, m maker) {
		var levels []ingest.Level
		var winds []ingest.Wind
		for range 1 + m.IntN(rows) {
			at := m.time()
			l := ingest.Level{Date: at.UTC().Format(time.DateOnly), LevelM: m.number(-500, 5000)}
			if m.IntN(2) == 0 {
				l.Time = at
			}
			levels = append(levels, l)
			winds = append(winds, ingest.Wind{Time: at, SpeedMPS: m.number(0, 115), FromDeg: m.number(0, math.Nextafter(360, 0))})
		}
		r := readCSV(t, levelText(t, levels))
		sound(t, r, len(levels))
		same(t, "level", clearLevels(r.Levels), levels)
		r = readCSV(t, windText(t, winds))
		sound(t, r, len(winds))
		same(t, "wind", clearWinds(r.Winds), winds)
	})
}

// FuzzText: no text costs a row, a number or the next row anything, and what came
// back once comes back the same again.
func FuzzText(f *testing.F) {
	for _, s := range []string{"", "a\nb", `"`, "=1", "\x00\xff", "none", "-", "a\n,,,,,,,,,,,", "</name>&", "\r\n\"\n", " \u0085x"} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, species, note string) {
		if len(species)+len(note) > 100_000 {
			t.Skip("longer than the readers take once it is escaped")
		}
		e := []ingest.Event{{Time: noon, Count: 1, Species: species, Note: note, WeightKg: known(1. / 3)}, {Time: noon.Add(1), Count: 2, Note: "the next row"}}
		r := readCSV(t, eventText(t, e))
		sound(t, r, 2)
		came := clearEvents(r.Events)
		if len(came) != 2 {
			t.Fatalf("%d events came back", len(came))
		}
		e[0].Species, e[0].Note = came[0].Species, came[0].Note
		same(t, "event", came, e)
		same(t, "event, once more", clearEvents(readCSV(t, eventText(t, came)).Events), came)

		x := []ingest.Track{{Name: note, Fixes: tracks()[0].Fixes}, {Name: species, Fixes: tracks()[1].Fixes}}
		text := trackText(t, x)
		for d := xml.NewDecoder(strings.NewReader(string(text))); ; {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("not XML: %v\n%s", err, text)
			}
		}
		r = readGPX(t, text)
		sound(t, r, 7)
		again := clearTracks(r.Tracks)
		if len(again) != 2 {
			t.Fatalf("%d tracks came back", len(again))
		}
		x[0].Name, x[1].Name = again[0].Name, again[1].Name
		same(t, "track", again, clearTracks(x))
		same(t, "track, once more", clearTracks(readGPX(t, trackText(t, again)).Tracks), again)
	})
}
