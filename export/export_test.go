package export

import (
	"encoding/json"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func TestRound(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     ingest.Maybe
	}{
		{7.315, 1, ingest.Known(7.3)}, {-0.04, 1, ingest.Known(0)}, {1.0 / 16, 4, ingest.Known(0.0625)},
		{1234.5, 0, ingest.Known(1235)}, {math.NaN(), 1, ingest.Maybe{}}, {math.Inf(-1), 1, ingest.Maybe{}},
	} {
		got := Round(c.v, c.decimals)
		if got != c.want || math.Signbit(got.V) && got.V == 0 {
			t.Errorf("Round(%v, %d) = %v, want %v", c.v, c.decimals, got, c.want)
		}
	}
	if got := RoundMaybe(ingest.Maybe{V: 3}, 1); got != (ingest.Maybe{}) {
		t.Errorf("unknown became %v", got)
	}
}

// TestWinding: RFC 7946 section 3.1.6, exterior counter-clockwise, holes
// clockwise, first position repeated as the last, whichever way they came.
func TestWinding(t *testing.T) {
	ccw := orb.Ring{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}}
	cw := orb.Ring{{0, 0}, {0, 4}, {4, 4}, {4, 0}, {0, 0}}
	hole := orb.Ring{{1, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 1}}
	for _, c := range []struct {
		name string
		in   orb.Polygon
		want orb.Polygon
	}{
		{"right already", orb.Polygon{ccw}, orb.Polygon{ccw}},
		{"turned round", orb.Polygon{cw}, orb.Polygon{ccw}},
		{"closed when open", orb.Polygon{ccw[:4]}, orb.Polygon{ccw}},
		{"hole turned round", orb.Polygon{ccw, hole}, orb.Polygon{ccw, {{1, 1}, {1, 2}, {2, 2}, {2, 1}, {1, 1}}}},
		{"hole of no area", orb.Polygon{ccw, {{1, 1}, {2, 2}, {1, 1}}}, orb.Polygon{ccw}},
		{"hole under a centimetre", orb.Polygon{ccw, {{1, 1}, {1 + 1e-8, 1}, {1, 1 + 1e-8}, {1, 1}}}, orb.Polygon{ccw}},
		{"no area", orb.Polygon{{{0, 0}, {1, 1}, {2, 2}, {0, 0}}}, nil},
		{"repeated points", orb.Polygon{{{0, 0}, {0, 0}, {4, 0}, {4, 4}, {4, 4}, {0, 4}, {0, 0}, {0, 0}}}, orb.Polygon{ccw}},
		{"empty", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := c.in.Clone()
			if got := Polygon(c.in); !got.Equal(c.want) || (got == nil) != (c.want == nil) {
				t.Errorf("got %v, want %v", got, c.want)
			}
			if !c.in.Equal(before) {
				t.Error("the input was changed")
			}
		})
	}
}

// TestWindingFar: the sign holds for a ring of some metres anywhere on the globe.
func TestWindingFar(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		o := orb.Point{rng.Float64()*358 - 179, rng.Float64()*170 - 85}
		const step = 5e-5
		r := orb.Ring{o, {o[0] + step, o[1]}, {o[0] + step, o[1] + step}, {o[0], o[1] + step}, o}
		if SignedArea(r) <= 0 {
			t.Fatalf("counter-clockwise at %v has area %v", o, SignedArea(r))
		}
	}
}

func TestMultiPolygonNothingLeft(t *testing.T) {
	if got := MultiPolygon(orb.MultiPolygon{{{{0, 0}, {1, 1}, {0, 0}}}}); got != nil {
		t.Errorf("got %v", got)
	}
}

func TestPropertiesKeepOrder(t *testing.T) {
	b, err := json.Marshal(Properties{{"z", 1}, {"a", nil}, {"m", ingest.Maybe{}}, {"k", "<"}})
	if want := `{"z":1,"a":null,"m":null,"k":"\u003c"}`; err != nil || string(b) != want {
		t.Errorf("%s, %v; want %s", b, err, want)
	}
	if _, err := json.Marshal(Properties{{"nan", math.NaN()}}); err == nil {
		t.Error("NaN was written")
	}
}

func TestNames(t *testing.T) {
	z := spatial.Zone{ID: "Z1", FishTopM: ingest.Known(18 * si.FootM), FishBottomM: ingest.Known(22 * si.FootM), Structure: "hump"}
	level := z
	level.FishBottomM = level.FishTopM
	bare := spatial.Zone{ID: "Z2", Name: "Z2"}
	bottom := spatial.Zone{ID: "Z3", BottomM: ingest.Known(9)}
	own := spatial.Zone{ID: "Z4", Name: "Dam corner"}
	at := time.Date(2024, 5, 11, 9, 12, 0, 0, time.UTC)
	for _, c := range []struct{ got, want string }{
		{ZoneName(z, si.US), "Z1: fish at 18 to 22 ft, hump"},
		{ZoneName(z, si.Metric), "Z1: fish at 5.5 to 6.7 m, hump"},
		{ZoneName(level, si.US), "Z1: fish at 18 ft, hump"},
		{ZoneName(bare, si.US), "Z2"},
		{ZoneName(bottom, si.US), "Z3: bottom at 30 ft"},
		{ZoneName(own, si.US), "Z4: Dam corner"},
		{BandName(spatial.Band{TopM: 6, BottomM: 7.5}, si.Metric), "Bottom 6.0 to 7.5 m"},
		{DriftName(spatial.DriftLine{ID: "D1", LengthM: 260, TowardDeg: 67.5}, si.US), "D1: 284 yd toward ENE"},
		{ContourName(spatial.Contour{DepthM: 20 * si.FootM}, si.US), "Contour 20 ft"},
		{EventName(spatial.EventMark{Kind: ingest.Catch, Count: 2, Species: "striped bass", Time: at}, time.FixedZone("", -3*3600)),
			"Catch of 2, striped bass, 2024-05-11 06:12"},
		{EventName(spatial.EventMark{Kind: ingest.Bait, Count: 1}, nil), "Bait seen"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestWords(t *testing.T) {
	known := ingest.Known
	for _, c := range []struct{ got, want string }{
		{PerHour(0), "0"}, {PerHour(0.004), "0.004"}, {PerHour(0.25), "0.25"}, {PerHour(2.81), "2.8"}, {PerHour(14.4), "14"},
		{RateWords(spatial.Rate{PerH: 2.81, LowPerH: 1.88, HighPerH: 3.96, OK: true}), "2.8 an hour (1.9 to 4.0)"},
		{RateWords(spatial.Rate{PerH: 3}), ""},
		{HourWords(known(6.2), known(9.65)), "06:12 to 09:39"},
		{HourWords(known(6.2), ingest.Maybe{}), ""},
		{DriftWords(known(0.5*si.MPHMPS), known(68), si.US), "0.5 mph toward ENE"},
		{DriftWords(known(0.22), ingest.Maybe{}, si.Metric), "0.22 m/s"},
		{DriftWords(ingest.Maybe{}, known(90), si.US), "toward E"},
		{DriftWords(ingest.Maybe{}, ingest.Maybe{}, si.US), ""},
		{Plural(1, "day"), "1 day"}, {Plural(1200, "pass", "passes"), "1,200 passes"}, {Count(-1234567), "-1,234,567"}, {Count(999), "999"},
		{ChanceWords(spatial.Zone{}), "too little to tell it from luck"},
		{ChanceWords(spatial.Zone{PValue: known(0.0131), Proven: true}), "p = 0.013, proven"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestFactsSayUnknown(t *testing.T) {
	for _, f := range ZoneFacts(spatial.Zone{}, nil, si.US) {
		if f.Value == "" {
			t.Errorf("%s is blank", f.Label)
		}
	}
	for _, f := range EventFacts(spatial.EventMark{}, nil, si.US) {
		if f.Value == "" {
			t.Errorf("%s is blank", f.Label)
		}
	}
}

// luminance is the relative luminance of WCAG 2.2 for an opaque sRGB colour.
func luminance(c color.RGBA) float64 {
	lin := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

// TestDepthRamp: deeper is darker at every step, however many there are, which is
// what makes a sequential ramp readable without its hue.
func TestDepthRamp(t *testing.T) {
	for _, from := range []float64{0, 0.36} {
		for n := 2; n <= 30; n++ {
			for i := 1; i < n; i++ {
				if luminance(DepthColour(i, n, from)) >= luminance(DepthColour(i-1, n, from)) {
					t.Errorf("step %d of %d from %v is no darker than the one before", i, n, from)
				}
			}
		}
	}
	if got := Hex(DepthColour(0, 1, 0)); got != "#deebf7" {
		t.Errorf("one step alone is %s", got)
	}
	if got := Hex(DepthColour(7, 8, 0)); got != "#08306b" {
		t.Errorf("the deepest is %s", got)
	}
}

func TestUnplacedTallies(t *testing.T) {
	f := Findings{Unplaced: []ingest.Unplaced{
		{What: "sounding", Reason: "b", Count: 2}, {What: "catch", Reason: "a", Count: 1},
		{What: "sounding", Reason: "b", Count: 40}, {What: "sounding", Reason: "a", Count: 1},
	}}
	want := []Tally{{"sounding", "b", 42}, {"catch", "a", 1}, {"sounding", "a", 1}}
	got := f.UnplacedTallies()
	if len(got) != len(want) {
		t.Fatalf("got %v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("tally %d is %v, want %v", i, got[i], want[i])
		}
	}
}

func TestSourceName(t *testing.T) {
	f := Findings{Sources: []ingest.Source{{Name: "a"}}}
	for i, want := range map[int]string{-1: "", 0: "a", 1: ""} {
		if got := f.SourceName(i); got != want {
			t.Errorf("source %d is %q, want %q", i, got, want)
		}
	}
}

func TestClockWords(t *testing.T) {
	for _, c := range []struct {
		s    ingest.Source
		want string
	}{
		{ingest.Source{}, ""},
		{ingest.Source{ClockOffsetS: ingest.Known(0)}, ""},
		{ingest.Source{ClockOffsetS: ingest.Known(-37), Clock: "is 37 s ahead"}, "is 37 s ahead"},
		{ingest.Source{ClockOffsetS: ingest.Known(3600)}, "was moved by +3,600 s"},
		{ingest.Source{ClockOffsetS: ingest.Known(-0.5)}, "was moved by -0.5 s"},
		{ingest.Source{Clock: "not sure"}, "not sure"},
	} {
		if got := ClockWords(c.s); got != c.want {
			t.Errorf("%+v: %q, want %q", c.s, got, c.want)
		}
	}
}

func TestBottomWords(t *testing.T) {
	known := ingest.Known
	for _, c := range []struct{ got, want string }{
		{BreakWords(nil, si.US), "none known near"},
		{BreakWords(&spatial.Break{TopM: known(14 * si.FootM), BottomM: known(22 * si.FootM)}, si.US), "in its middle, falls from 14 to 22 ft"},
		{BreakWords(&spatial.Break{DistM: 30, TowardDeg: 45, TopM: known(14 * si.FootM)}, si.US), "33 yd toward NE, falls from 14 ft"},
		{BreakWords(&spatial.Break{DistM: 30, TowardDeg: 45, BottomM: known(7)}, si.Metric), "30 m toward NE, falls to 7.0 m"},
		{BreakWords(&spatial.Break{DistM: 30, TowardDeg: 45}, si.Metric), "30 m toward NE, depths not known"},
		{StructureWords(spatial.Zone{}), Unknown},
		{StructureWords(spatial.Zone{Structures: []spatial.StructureShare{{Kind: "ledge", Share: 0.6}, {Kind: "flat", Share: 0.34}, {Kind: "hole", Share: 0.06}}}), "ledge 60 %, flat 34 %"},
		{ShiftWords(spatial.DayShift{M: 0.3}, si.Metric), "its water level"},
		{ShiftWords(spatial.DayShift{From: spatial.AsSounded}, si.Metric), "nothing, as sounded"},
		{ShiftWords(spatial.DayShift{From: spatial.ByOverlap, M: -0.3, ErrorM: known(0.02), SpreadM: known(0.11), Cells: 96}, si.Metric), "shared water, -0.30 m ± 0.02 m (96 cells, spread 0.11 m)"},
		{FineDepth(0.25, si.US), "0.8 ft"},
		{MoveWords(spatial.Zone{}, si.US), Unknown},
		{MoveWords(spatial.Zone{Days: 1}, si.US), "seen on one day only"},
		{MoveWords(spatial.Zone{Days: 3}, si.US), "seen on 3 days, too few to say whether it moves"},
		{MoveWords(spatial.Zone{Days: 6, ByDay: spatial.ZoneMove{Days: 6, OK: true}}, si.US), "no move that 6 days could tell"},
		{MoveWords(spatial.Zone{Days: 6, ByDay: spatial.ZoneMove{M: 2, TowardDeg: 180, Days: 6, Sure: true, OK: true}}, si.Metric), "moves 14 m a week toward S"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// Soundings that other passes speak against count with their file's other flags.
func TestFlaggedAddsStrays(t *testing.T) {
	f := Findings{Sources: []ingest.Source{{}, {Flagged: map[string]int{"spike": 2}}, {}}}
	f.Chart.Bottom.StraysOf = []int{0, 5}
	if got := f.Flagged(1); len(got) != 2 || got["spike"] != 2 || got[OtherPasses] != 5 {
		t.Errorf("%v", got)
	}
	if len(f.Flagged(0)) != 0 || len(f.Flagged(2)) != 0 || len(f.Sources[1].Flagged) != 1 {
		t.Error("strays where there are none, or the source was changed")
	}
}
