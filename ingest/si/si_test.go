package si

import (
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"
)

// The factors of NIST Special Publication 811 (2008), appendix B.8, as remembered.
// Those it prints in full are exact; the others are rounded to seven digits there.
func TestConversionFactors(t *testing.T) {
	for _, c := range []struct {
		name    string
		q       *Quantity
		text    string
		want    float64
		exactly bool
	}{
		{"foot", Length, "1ft", 0.3048, true},
		{"inch", Length, "1in", 0.0254, true},
		{"mile", Length, "1mi", 1609.344, true},
		{"fathom of six feet", Length, "1fathom", 1.8288, true},
		{"centimetre", Length, "1cm", 0.01, true},
		{"millimetre", Length, "1mm", 0.001, true},
		{"kilometre", Length, "1km", 1000, true},
		{"mile per hour", Speed, "1mph", 0.44704, true},
		{"knot", Speed, "1kn", 0.5144444, false},
		{"kilometre per hour", Speed, "1km/h", 0.2777778, false},
		{"foot per second", Speed, "1ft/s", 0.3048, true},
		{"ounce avoirdupois", Mass, "1oz", 0.02834952, false},
		{"pound avoirdupois", Mass, "1lb", 0.45359237, true}, // NIST SP 811, note 22: exact
		{"gram", Mass, "1g", 0.001, true},
		{"minute", Duration, "1min", 60, true},
		{"hour", Duration, "1h", 3600, true},
	} {
		got, err := c.q.Parse(c.text)
		tolerance := 1e-15 // the last bit of a product
		if !c.exactly {
			tolerance = 0.6e-7 // half a unit of the seventh digit, on figures above 0.1
		}
		if err != nil || math.Abs(got-c.want) > tolerance*math.Max(1, c.want) {
			t.Errorf("%s: got %.17g, want %v, %v", c.name, got, c.want, err)
		}
	}
	// The knot by definition: 1852 m in 3600 s.
	if KnotMPS*3600 != 1852 {
		t.Error("knot", KnotMPS)
	}
	// Fahrenheit by the fixed points of water: 32 °F is 0 °C, 212 °F is 100 °C; the scales meet at -40.
	for _, c := range []struct {
		text string
		want float64
	}{{"32F", 0}, {"212°F", 100}, {"-40 F", -40}, {"17.5C", 17.5}} {
		if got, err := Temperature.Parse(c.text); err != nil || math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v, %v", c.text, got, err)
		}
	}
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		name string
		q    *Quantity
		text string
		want float64
	}{
		{"space", Length, " 24 ft ", 24 * FootM},
		{"word", Length, "24 Feet", 24 * FootM},
		{"sign of feet", Length, "24'", 24 * FootM},
		{"sign of inches", Length, `3"`, 3 * InchM},
		{"fraction", Mass, "3/8oz", 0.375 * OunceKg},
		{"whole and fraction", Mass, "1 1/2 oz", 1.5 * OunceKg},
		{"whole-fraction", Mass, "1-1/2oz", 1.5 * OunceKg},
		{"fraction above one", Mass, "3/2oz", 1.5 * OunceKg},
		{"decimal", Mass, "0.5oz", 0.5 * OunceKg},
		{"leading point", Mass, ".5oz", 0.5 * OunceKg},
		{"negative", Temperature, "-3C", -3},
		{"exponent", Length, "1e1m", 10},
		{"slash in the unit", Speed, "0.4m/s", 0.4},
		{"zero", Speed, "0mph", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := c.q.Parse(c.text); err != nil || math.Abs(got-c.want) > 1e-15 {
				t.Errorf("got %v, %v, want %v", got, err, c.want)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		q    *Quantity
		text string
		want string
	}{
		{"no unit", Length, "24", `"24" has no unit; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"unit of another quantity", Length, "24oz", `"24oz": unknown unit "oz"; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"no number", Speed, "mph", `"mph" has no number; speeds look like 0.8mph or 0.4m/s`},
		{"nothing", Mass, "", `"" has no number; weights look like 1/2oz or 14g`},
		{"two numbers", Length, "5ft 3in", `"5ft 3in": "5ft 3" is not a number; lengths look like 24ft or 7.5m`},
		{"comma", Length, "7,5m", `"7,5m": "7,5" is not a number; lengths look like 24ft or 7.5m`},
		{"division by zero", Mass, "1/0oz", `"1/0oz": "1/0" is not a number; weights look like 1/2oz or 14g`},
		{"half a fraction", Mass, "1/ oz", `"1/ oz": unknown unit "/ oz"; weights take oz, g, kg, lb`},
		{"negative fraction", Mass, "-1/2oz", `"-1/2oz": "-1/2" is not a number; weights look like 1/2oz or 14g`},
		{"infinite number", Length, "1e999m", `"1e999m": "1e999" is not a number; lengths look like 24ft or 7.5m`},
		{"infinite once converted", Length, "1e308mi", `"1e308mi" is too large`},
		{"infinity", Duration, "infs", `"infs" has no number; times look like 15s or 2min`},
		{"not a temperature", Temperature, "62K", `"62K": unknown unit "K"; temperatures take C, F`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := c.q.Parse(c.text); err == nil || err.Error() != c.want {
				t.Errorf("got %v, %v\nwant %s", got, err, c.want)
			}
		})
	}
}

func TestConvert(t *testing.T) {
	if v, ok := Speed.Convert(10, "KTS"); !ok || v != 10*KnotMPS {
		t.Error(v, ok)
	}
	if v, ok := Temperature.Convert(50, "f"); !ok || math.Abs(v-10) > 1e-12 {
		t.Error(v, ok)
	}
	if _, ok := Speed.Convert(10, "ft"); ok {
		t.Error("a speed in feet")
	}
	if _, ok := Speed.Convert(10, ""); ok {
		t.Error("a speed in nothing")
	}
}

func TestUnit(t *testing.T) {
	for _, c := range []struct {
		q          *Quantity
		name, want string
	}{{Length, "Feet", "ft"}, {Length, "METRES", "m"}, {Length, "ftm", "fathom"}, {Temperature, "celsius", "C"}, {Mass, "lbs", "lb"}, {Length, "ell", ""}, {Length, "", ""}} {
		if got, ok := c.q.Unit(c.name); got != c.want || ok != (c.want != "") {
			t.Errorf("%q: %q, %t", c.name, got, ok)
		}
	}
}

// No name may mean two units, or the first in the list would win in silence.
func TestUnitNamesAreUnique(t *testing.T) {
	for _, q := range []*Quantity{Length, Speed, Mass, Duration, Temperature} {
		seen := map[string]bool{}
		for _, u := range q.units {
			for _, n := range u.names {
				if n = strings.ToLower(n); seen[n] {
					t.Errorf("%s: %q twice", q.name, n)
				}
				seen[n] = true
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"24ft", "1-1/2oz", "7.5 m", "62°F", "-.5e3km/h", "1 1/2'", "0x1p4m", "1e308mi"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, q := range []*Quantity{Length, Speed, Mass, Duration, Temperature} {
			v, err := q.Parse(s)
			if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Fatalf("%q is %v", s, v)
			}
			if err != nil && v != 0 {
				t.Fatalf("%q is %v and %v", s, v, err)
			}
		}
	})
}

func TestPrint(t *testing.T) {
	for _, c := range []struct{ name, got, want string }{
		{"depth US", US.Depth(7.3152), "24 ft"},
		{"depth metric", Metric.Depth(7.3152), "7.3 m"},
		{"depth never minus zero", US.Depth(-0.01), "0 ft"},
		{"range US", US.DepthRange(5.4864, 7.3152), "18 to 24 ft"},
		{"range metric", Metric.DepthRange(5.5, 7.25), "5.5 to 7.2 m"},
		{"acres", US.Area(48562.277), "12 acres"}, // 1 acre is 4046.8564 m²
		{"few acres", US.Area(4046.8564), "1.0 acres"},
		{"hectares", Metric.Area(49000), "4.9 ha"},
		{"yards", US.Distance(109.728), "120 yd"},
		{"miles", US.Distance(2092.1472), "1.3 mi"},
		{"metres", Metric.Distance(110.4), "110 m"},
		{"kilometres", Metric.Distance(2100), "2.1 km"},
		{"speed US", US.Speed(0.22352), "0.5 mph"},
		{"speed metric", Metric.Speed(0.22352), "0.22 m/s"},
		{"head US", US.Mass(0.375 * OunceKg), "3/8 oz"},
		{"head metric", Metric.Mass(0.375 * OunceKg), "10.6 g"},
		{"temperature US", US.Temp(17.777777), "64 °F"},
		{"temperature metric", Metric.Temp(17.777777), "17.8 °C"},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, c.got, c.want)
		}
	}
}

func TestOunces(t *testing.T) {
	for _, c := range []struct {
		oz   float64
		want string
	}{{1. / 64, "1/64"}, {1. / 16, "1/16"}, {3. / 32, "3/32"}, {0.125, "1/8"}, {0.375, "3/8"}, {1, "1"}, {1.5, "1 1/2"}, {2, "2"}, {0.376, "3/8"}, {0.005, "0.01"}} {
		if got := Ounces(c.oz * OunceKg); got != c.want {
			t.Errorf("%v oz: got %q, want %q", c.oz, got, c.want)
		}
	}
	// What is printed reads back to within the 1 % that a fraction may be off.
	for oz := 0.05; oz < 3; oz += 0.0137 {
		back, err := Mass.Parse(Ounces(oz*OunceKg) + "oz")
		if err != nil || math.Abs(back/OunceKg-oz) > math.Max(0.01*oz, 0.005)+1e-12 {
			t.Errorf("%v oz: %v, %v", oz, back/OunceKg, err)
		}
	}
}

func TestCompass(t *testing.T) {
	for _, c := range []struct {
		deg  float64
		want string
	}{{0, "N"}, {11.2, "N"}, {11.3, "NNE"}, {100, "E"}, {180, "S"}, {348.8, "N"}, {360, "N"}, {-90, "W"}, {-1, "N"}, {725, "N"}} {
		if got := Compass(c.deg); got != c.want {
			t.Errorf("%v: got %s, want %s", c.deg, got, c.want)
		}
	}
}

func TestClock(t *testing.T) {
	for _, c := range []struct {
		hours float64
		want  string
	}{{0, "00:00"}, {6.5, "06:30"}, {23.99, "23:59"}, {23.999, "00:00"}, {24, "00:00"}} {
		if got := Clock(c.hours); got != c.want {
			t.Errorf("%v: got %s, want %s", c.hours, got, c.want)
		}
	}
}

// Clock changes as published: central Europe changes at 01:00 UTC on the last Sunday
// of March and October (Directive 2000/84/EC); the United States at 02:00 local time
// on the second Sunday of March and the first of November (Energy Policy Act of 2005).
func TestInstant(t *testing.T) {
	for _, c := range []struct {
		name, zone, wall, want string
		shown                  int
	}{
		{"winter", "Europe/Berlin", "2024-01-15T12:00:00Z", "2024-01-15T11:00:00Z", 1},
		{"summer", "Europe/Berlin", "2024-07-15T12:00:00Z", "2024-07-15T10:00:00Z", 1},
		{"day of the change, before", "Europe/Berlin", "2024-03-31T01:59:59Z", "2024-03-31T00:59:59Z", 1},
		{"never shown", "Europe/Berlin", "2024-03-31T02:30:00Z", "2024-03-31T01:30:00Z", 0},
		{"day of the change, behind", "Europe/Berlin", "2024-03-31T03:00:00Z", "2024-03-31T01:00:00Z", 1},
		{"autumn, before", "Europe/Berlin", "2024-10-27T01:59:59Z", "2024-10-26T23:59:59Z", 1},
		{"shown twice", "Europe/Berlin", "2024-10-27T02:30:00Z", "2024-10-27T00:30:00Z", 2},
		{"autumn, behind", "Europe/Berlin", "2024-10-27T03:00:00Z", "2024-10-27T02:00:00Z", 1},
		{"west of Greenwich, never shown", "America/New_York", "2024-03-10T02:30:00Z", "2024-03-10T07:30:00Z", 0},
		{"west of Greenwich, shown twice", "America/New_York", "2024-11-03T01:30:00Z", "2024-11-03T05:30:00Z", 2},
		{"nanoseconds", "UTC", "2024-01-15T12:00:00.123456789Z", "2024-01-15T12:00:00.123456789Z", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			zone, err := time.LoadLocation(c.zone)
			if err != nil {
				t.Fatal(err)
			}
			wall, _ := time.Parse(time.RFC3339Nano, c.wall)
			got, shown := Instant(wall, zone)
			if got.Format(time.RFC3339Nano) != c.want || shown != c.shown {
				t.Errorf("got %v shown %d, want %s shown %d", got, shown, c.want, c.shown)
			}
		})
	}
}

// An instant's own wall clock leads back to it, but for the hour shown twice.
func TestInstantIsTheInverseOfIn(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)
		for range 24 * 366 {
			at = at.Add(time.Hour)
			got, shown := Instant(at.In(zone), zone)
			if shown == 0 || shown == 1 && !got.Equal(at) || shown == 2 && !got.Equal(at) && got.In(zone).Format(time.DateTime) != at.In(zone).Format(time.DateTime) {
				t.Fatalf("%s: %v came back as %v, shown %d", name, at, got, shown)
			}
		}
	}
}
