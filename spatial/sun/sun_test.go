package sun

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// withinS is what the package promises. An ephemeris is right to a second here.
const withinS = 10.0

// A row is what an ephemeris says of a date at a place. Dawn, rise, set and dusk are
// times, empty for none, or - where it does not say.
type row struct {
	name, date string
	at         orb.Point
	told       [4]string
}

func readTable(t *testing.T, name string) (rows []row) {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "sun", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	fields, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range fields[1:] {
		lat, err1 := strconv.ParseFloat(c[1], 64)
		lon, err2 := strconv.ParseFloat(c[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(name, c, err1, err2)
		}
		rows = append(rows, row{c[0], c[3], orb.Point{lon, lat}, [4]string(c[4:8])})
	}
	return rows
}

// Each table names its source. All have the altitudes of this package.
func TestTables(t *testing.T) {
	for _, table := range []struct {
		file string
		rows int
	}{
		{"spa.csv", 2},
		{"times.csv", 5},
		{"astropy_year.csv", 7},
		{"astropy.csv", 14},
	} {
		rows := readTable(t, table.file)
		if len(rows) != table.rows {
			t.Errorf("%s: %d rows, want %d", table.file, len(rows), table.rows)
		}
		for _, r := range rows {
			rise, riseOK := Rise(r.date, r.at)
			set, setOK := Set(r.date, r.at)
			dawn, dusk, lightOK := Twilight(r.date, r.at)
			got := [4]time.Time{dawn, rise, set, dusk}
			ok := [4]bool{lightOK, riseOK, setOK, lightOK}
			for i, told := range r.told {
				name := table.file + ", " + r.name + ", " + r.date + ": " + [4]string{"dawn", "rise", "set", "dusk"}[i]
				switch told {
				case "-":
				case "":
					if ok[i] || !got[i].IsZero() {
						t.Errorf("%s: %v, want none", name, got[i])
					}
				default:
					want, err := time.Parse("2006-01-02T15:04:05", told)
					if err != nil {
						t.Fatal(err)
					}
					if !ok[i] || got[i].Sub(want).Abs().Seconds() > withinS || got[i].Location() != time.UTC {
						t.Errorf("%s: %v (%v), want %v", name, got[i], ok[i], want)
					}
				}
			}
		}
	}
}

// Meeus, Astronomical Algorithms, examples 25.a and 28.b, 1992 October 13 at 0h, from
// memory, to the digits printed. His longitude by full theory is 199° 54' 22", his declination
// -7° 47' 2", his equation of time 13 min 42.6 s.
func TestPosition(t *testing.T) {
	p := position(float64(time.Date(1992, 10, 13, 0, 0, 0, 0, time.UTC).Unix()))
	for _, c := range []struct {
		name              string
		got, want, within float64
	}{
		{"longitude", p.longitudeDeg, 199.90895, 0.00001},
		{"declination", p.declinationDeg, -7.78507, 0.00001},
		{"equation of time", p.equationS, 13*60 + 42.7, 0.06},
	} {
		if !(math.Abs(c.got-c.want) <= c.within) {
			t.Errorf("%s %v, want %v", c.name, c.got, c.want)
		}
	}
}

// By geometry: at 67.85° the sun of the solstice, 23.44° from the equator, is 1.3° above
// the horizon at midnight and below it at noon by as much, less than the 6° of twilight.
// At 85° noon in winter is 18° below.
func TestPolarDayAndNight(t *testing.T) {
	const summer, winter = "2025-06-21", "2025-12-21"
	for _, c := range []struct {
		date            string
		lat             float64
		sunrise, bright bool // there is a rise and a set; a dawn and a dusk
	}{
		{summer, 67.85, false, false},
		{winter, 67.85, false, true},
		{summer, -67.85, false, true},
		{winter, -67.85, false, false},
		{winter, 85, false, false},
		{summer, 90, false, false},
		{winter, -90, false, false},
		{"2025-03-21", 67.85, true, true},
		{summer, 62, true, false},
		{winter, 62, true, true},
	} {
		at := orb.Point{20.22, c.lat}
		rise, rises := Rise(c.date, at)
		set, sets := Set(c.date, at)
		dawn, dusk, bright := Twilight(c.date, at)
		if rises != c.sunrise || sets != c.sunrise || bright != c.bright {
			t.Errorf("%s at %v: rise %v, set %v, twilight %v", c.date, c.lat, rises, sets, bright)
		}
		if rise.IsZero() == rises || set.IsZero() == sets || dawn.IsZero() == bright || dusk.IsZero() == bright {
			t.Errorf("%s at %v: a time without a yes, or a yes without", c.date, c.lat)
		}
	}
}

// The sun of the first sunset after the polar day and of the last sunrise before it: at
// noon's declination there is none. By astropy 5.2.1 as in astropy.csv, to five minutes, for
// near midnight the sun all but slides along the horizon.
func TestEdgesOfThePolarDay(t *testing.T) {
	for _, c := range []struct {
		date      string
		at        orb.Point
		rise, set string
	}{
		{"2031-07-22", orb.Point{20, 69}, "", "2031-07-22T22:38:52Z"},
		{"2031-04-18", orb.Point{20, 78.5}, "2031-04-17T22:46:29Z", ""},
	} {
		for i, told := range []string{c.rise, c.set} {
			name := [2]string{"rise", "set"}[i]
			got, ok := [2]func(string, orb.Point) (time.Time, bool){Rise, Set}[i](c.date, c.at)
			if told == "" {
				if ok {
					t.Errorf("%s at %v: %s %v, want none", c.date, c.at, name, got)
				}
				continue
			}
			want, err := time.Parse(time.RFC3339, told)
			if err != nil {
				t.Fatal(err)
			}
			if !ok || got.Sub(want).Abs() > 5*time.Minute {
				t.Errorf("%s at %v: %s %v (%v), want %v", c.date, c.at, name, got, ok, want)
			}
		}
	}
}

// Through a year in the north, days come that have only one end of twilight.
func TestTwilightIsBothOrNone(t *testing.T) {
	with, without := 0, 0
	for day := range 365 {
		date := time.Date(2031, 1, 1+day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
		for lat := 61.0; lat < 90; lat++ {
			dawn, dusk, ok := Twilight(date, orb.Point{-30, lat})
			if ok && !(dusk.After(dawn) && dusk.Sub(dawn) < 25*time.Hour) || !ok && !(dawn.IsZero() && dusk.IsZero()) {
				t.Errorf("%s at %v°: dawn %v, dusk %v (%v)", date, lat, dawn, dusk, ok)
			}
			if ok {
				with++
			} else {
				without++
			}
		}
	}
	if with < 1000 || without < 1000 {
		t.Errorf("%d days with twilight, %d without", with, without)
	}
}

func TestNoDateAndNoPlace(t *testing.T) {
	for _, c := range []struct {
		date string
		at   orb.Point
	}{
		{"", orb.Point{0, 45}},
		{"tomorrow", orb.Point{0, 45}},
		{"2025-02-29", orb.Point{0, 45}},
		{"2025-02-28T00:00:00", orb.Point{0, 45}},
		{"2025-02-28", orb.Point{0, 120}},
		{"2025-02-28", orb.Point{361, 45}},
		{"2025-02-28", orb.Point{math.NaN(), 45}},
		{"2025-02-28", orb.Point{0, math.NaN()}},
		{"2025-02-28", orb.Point{math.Inf(-1), 45}},
	} {
		rise, rises := Rise(c.date, c.at)
		set, sets := Set(c.date, c.at)
		dawn, dusk, ok := Twilight(c.date, c.at)
		if rises || sets || ok || !rise.IsZero() || !set.IsZero() || !dawn.IsZero() || !dusk.IsZero() {
			t.Errorf("%q at %v: %v %v %v %v", c.date, c.at, dawn, rise, set, dusk)
		}
	}
	if _, ok := Rise("2025-02-28", orb.Point{0, 45}); !ok {
		t.Error("no sunrise where there is one")
	}
}

// dayLength is that of a sun that keeps its declination, from the triangle of pole,
// zenith and sun.
func dayLength(latDeg, declDeg float64) time.Duration {
	const r = math.Pi / 180
	cos := -(math.Sin(50*r/60) + math.Sin(latDeg*r)*math.Sin(declDeg*r)) / (math.Cos(latDeg*r) * math.Cos(declDeg*r))
	return time.Duration(2 * math.Acos(cos) / math.Pi * float64(12*time.Hour))
}

// At the solstices the declination stands still at the obliquity of the ecliptic, 23.436° in
// 2025. The sundial falls back by 13 s a day in June and 30 s in December (almanac, from
// memory), and the evening comes so much later.
func TestDayLengthAtSolstices(t *testing.T) {
	for _, c := range []struct {
		date             string
		declDeg, perDayS float64
	}{
		{"2025-06-21", 23.436, 13},
		{"2025-12-21", -23.436, 30},
	} {
		for lat := -62.0; lat <= 62; lat += 4 {
			for lon := -180.0; lon <= 180; lon += 45 {
				rise, ok1 := Rise(c.date, orb.Point{lon, lat})
				set, ok2 := Set(c.date, orb.Point{lon, lat})
				want := dayLength(lat, c.declDeg)
				want += time.Duration(c.perDayS * want.Hours() / 24 * float64(time.Second))
				if off := set.Sub(rise) - want; !ok1 || !ok2 || off.Abs().Seconds() > withinS {
					t.Errorf("%s at %v, %v: %v from rise to set, want %v", c.date, lat, lon, set.Sub(rise), want)
				}
			}
		}
	}
}

// At the equator all days are 12 h and the time the sun takes for 2 x 50': 6 min 40 s when it
// climbs upright, at most 1/cos 23.44° of that when not, and the 30 s of the equation of time.
func TestDaysAtTheEquator(t *testing.T) {
	for day := range 366 {
		date := time.Date(2028, 1, 1+day, 0, 0, 0, 0, time.UTC)
		at := orb.Point{-60, 0}
		rise, _ := Rise(date.Format(time.DateOnly), at)
		set, _ := Set(date.Format(time.DateOnly), at)
		low, high := 12*time.Hour+6*time.Minute, 12*time.Hour+8*time.Minute
		if long := set.Sub(rise); long < low || long > high {
			t.Errorf("%s: %v from rise to set", date.Format(time.DateOnly), long)
		}
	}
}

// Every day of three years, at 60° and nearer the equator, east and west.
func TestLaws(t *testing.T) {
	first := time.Date(2023, 1, 1, 0, 0, 0, 0, time.UTC)
	for lat := -60.0; lat <= 60; lat += 20 {
		for lon := -165.0; lon <= 180; lon += 69 {
			var lastRise, lastSet time.Time
			for day := range 3 * 365 {
				noon := first.AddDate(0, 0, day).Add(12*time.Hour - time.Duration(lon*240)*time.Second)
				date := first.AddDate(0, 0, day).Format(time.DateOnly)
				at := orb.Point{lon, lat}
				rise, ok1 := Rise(date, at)
				set, ok2 := Set(date, at)
				if !ok1 || !ok2 {
					t.Fatalf("%s at %v: no rise or set", date, at)
				}
				// Almanacs have the sundial from 14 min 15 s behind to 16 min 26 s ahead (from
				// memory). Between rise and set the sun goes 0.2° to north or south at most, which
				// shifts their middle by 0.1° x tan 60°, 42 s.
				middle := rise.Add(set.Sub(rise) / 2).Sub(noon)
				if middle < -(17*time.Minute+20*time.Second) || middle > 15*time.Minute+10*time.Second {
					t.Errorf("%s at %v: middle of the day %v after mean noon", date, at, middle)
				}
				if day > 0 {
					if d := rise.Sub(lastRise) - 24*time.Hour; d.Abs() > 5*time.Minute {
						t.Errorf("%s at %v: the sun rose %v later than the day before", date, at, d)
					}
					if d := set.Sub(lastSet) - 24*time.Hour; d.Abs() > 5*time.Minute {
						t.Errorf("%s at %v: the sun set %v later than the day before", date, at, d)
					}
				}
				lastRise, lastSet = rise, set
				dawn, dusk, ok := Twilight(date, at)
				if ok && !(dawn.Before(rise) && dusk.After(set)) {
					t.Errorf("%s at %v: dawn %v, rise %v, set %v, dusk %v", date, at, dawn, rise, set, dusk)
				}
				if !ok && math.Abs(lat) < 60 {
					t.Errorf("%s at %v: no twilight", date, at)
				}
				// Fifteen degrees on to the west all comes an hour later, but for an hour's
				// share of the five minutes a day, and a second of rounding.
				west, _ := Rise(date, orb.Point{lon - 15, lat})
				if d := west.Sub(rise) - time.Hour; d.Abs().Seconds() > 300.0/24+1 {
					t.Errorf("%s at %v: %v from the sunrise at 15° west of it", date, at, west.Sub(rise))
				}
			}
		}
	}
}

// Beyond 180° the longitude is that of the clock's side of the date line: the same
// sunrises under the date of that side.
func TestAcrossTheDateLine(t *testing.T) {
	for _, lat := range []float64{-45, 0, 60} {
		a, ok1 := Rise("2025-03-21", orb.Point{184.8, lat})
		b, ok2 := Rise("2025-03-20", orb.Point{-175.2, lat})
		if !ok1 || !ok2 || !a.Equal(b) {
			t.Errorf("%v°: %v and %v", lat, a, b)
		}
	}
}
