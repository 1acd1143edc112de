package csvfile

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"leadline/ingest/si"
)

// The fast paths give what the general ones give, to the bit.
func TestFastFloat(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	check := func(s string) {
		t.Helper()
		got, ok := fastFloat(s)
		want, err := strconv.ParseFloat(s, 64)
		if ok && (err != nil || math.Float64bits(got) != math.Float64bits(want)) {
			t.Fatalf("%q: %v, strconv has %v, %v", s, got, want, err)
		}
	}
	for range 200000 {
		s := strconv.FormatInt(r.Int64N(int64(math.Pow10(1+r.IntN(16)))), 10)
		if at := r.IntN(len(s) + 1); r.IntN(4) > 0 {
			s = s[:at] + "." + s[at:]
		}
		if r.IntN(2) > 0 {
			s = "-" + s
		}
		check(s)
	}
	for _, s := range []string{"", "-", ".", "+.", "1.", ".5", "-0", "0.1", "1e5", "1_0", "--1", "1.2.3", "999999999999999", "9999999999999999", "0x1", "Inf"} {
		check(s)
	}
	for s, want := range map[string]bool{"12.5": true, "-0": true, ".5": true, "1.": true, "": false, ".": false, "1e5": false, "1234567890123456": false} {
		if _, ok := fastFloat(s); ok != want {
			t.Errorf("%q: %t", s, ok)
		}
	}
}

func TestFactorOf(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, c := range []struct {
		q     *si.Quantity
		units string
	}{{si.Length, "ft in m cm mm km mi fathom"}, {si.Speed, "mph kn m/s km/h ft/s"}, {si.Mass, "oz g kg lb"}, {si.Temperature, "C F"}} {
		for _, u := range strings.Fields(c.units) {
			f := factorOf(c.q, u)
			if !f.ok {
				t.Errorf("%s is read the slow way", u)
			}
			for range 1000 {
				v := r.NormFloat64() * 100
				if want, _ := c.q.Convert(v, u); f.of(v) != want {
					t.Fatalf("%v %s: %v, want %v", v, u, f.of(v), want)
				}
			}
		}
	}
}

func TestFastStamp(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	const letters = "0123456789-T: Z."
	for range 200000 {
		layout := [...]string{"2006-01-02T15:04:05Z", "2006-01-02T15:04:05.000Z", "2006-01-02 15:04:05.000000000Z", "2006-01-02T15:04:05.0000000000Z"}[r.IntN(4)]
		b := []byte(time.Unix(r.Int64N(4102444800), r.Int64N(1e9)).UTC().Format(layout))
		for range r.IntN(3) {
			b[r.IntN(len(b))] = letters[r.IntN(len(letters))]
		}
		s := string(b[:len(b)-r.IntN(2)])
		got, ok := fastStamp(s)
		if !ok {
			continue
		}
		// A time in any other column takes the general way.
		want, err := parseStamp(s, dateCell)
		if err != nil || got != want {
			t.Fatalf("%q: %+v, the general way gives %+v, %v", s, got, want, err)
		}
	}
	for _, s := range []string{"2031-10-04T12:00:01Z", "2031-10-04 12:00:01", "2031-10-04T12:00:01.000Z", "2031-10-04 12:00:01.5"} {
		if _, ok := fastStamp(s); !ok {
			t.Errorf("%q is read the slow way", s)
		}
	}
}

// Days are those of package time.
func TestDays(t *testing.T) {
	at := time.Date(firstYear, 1, 1, 0, 0, 0, 0, time.UTC)
	for at.Year() <= lastYear {
		y, m, d := at.Date()
		if got := days(y, int(m), d); got != at.Unix()/86400 {
			t.Fatalf("%v: %d", at, got)
		}
		if last := time.Date(y, m+1, 0, 0, 0, 0, 0, time.UTC).Day(); daysIn(y, int(m)) != last {
			t.Fatalf("%v: %d days", at, daysIn(y, int(m)))
		}
		at = at.AddDate(0, 0, 1)
	}
}

// A remembered offset gives what si.Instant gives, around all changes of clocks.
func TestZoneCache(t *testing.T) {
	for _, name := range []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Etc/GMT+3", "UTC"} {
		z := zone(t, name)
		var cache zoneCache
		wall := time.Date(2023, 12, 1, 0, 10, 0, 0, time.UTC)
		for range 400 * 24 * 2 {
			wall = wall.Add(30 * time.Minute)
			utc, shown := cache.instant(wall.Unix(), z)
			if want, n := si.Instant(wall, z); utc != want.Unix() || shown != n {
				t.Fatalf("%s %v: %v shown %d, want %v shown %d", name, wall, time.Unix(utc, 0).UTC(), shown, want, n)
			}
		}
	}
}
