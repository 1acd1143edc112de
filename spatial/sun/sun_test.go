package sun

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// Five places by PyEphem 4.1.4.
func TestRise(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "sun", "times.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		lat, err1 := strconv.ParseFloat(row[1], 64)
		lon, err2 := strconv.ParseFloat(row[2], 64)
		want, err3 := time.Parse("2006-01-02T15:04:05", row[5])
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		got, ok := Rise(row[3], orb.Point{lon, lat})
		if off := got.Sub(want); !ok || off.Abs() > 90*time.Second {
			t.Errorf("%s on %s: %v (%v), want %v", row[0], row[3], got, ok, want)
		}
	}
	if len(rows) < 6 {
		t.Errorf("only %d places", len(rows)-1)
	}
}

// By astropy 5.2.1 (altitude -0.8333°): one place through the year, one with summer time,
// and one in the far north where the sun stays up in June and down in December.
func TestRiseThroughTheYear(t *testing.T) {
	for _, c := range []struct {
		date     string
		lat, lon float64
		want     string // local
		zoneH    int
	}{
		{"2024-06-20", 45, -93.27, "05:26:17", -5},
		{"2024-12-21", 45, -93.27, "07:48:31", -6},
		{"2024-03-20", 45, -93.27, "07:15:04", -5},
		{"2025-01-15", 28, -81.7, "07:19:20", -5},
		{"2026-04-15", 43, -79.5, "06:36:03", -4},
	} {
		want, err := time.Parse("2006-01-02 15:04:05", c.date+" "+c.want)
		if err != nil {
			t.Fatal(err)
		}
		want = want.Add(-time.Duration(c.zoneH) * time.Hour)
		if got, ok := Rise(c.date, orb.Point{c.lon, c.lat}); !ok || got.Sub(want).Abs() > 90*time.Second {
			t.Errorf("%s: %v (%v), want %v", c.date, got, ok, want)
		}
	}
	for _, date := range []string{"2024-06-21", "2024-12-21", "", "tomorrow"} {
		if got, ok := Rise(date, orb.Point{27, 69}); ok {
			t.Errorf("%q at 69° N: %v, want none", date, got)
		}
	}
}
