package ingest

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"
)

func TestRange(t *testing.T) {
	for _, c := range []struct {
		name string
		r    Range
		v    float64
		open bool
		want bool
	}{
		{"zero", Range{}, -1e9, true, true},
		{"numbers that are not known", Range{Low: Maybe{V: 5}, High: Maybe{V: 6}}, 0, true, true},
		{"on the low end", Range{Known(-2), Known(3)}, -2, false, true},
		{"on the high end", Range{Known(-2), Known(3)}, 3, false, true},
		{"below", Range{Known(-2), Known(3)}, -2.001, false, false},
		{"above", Range{Known(-2), Known(3)}, 3.001, false, false},
		{"no low end", Range{High: Known(3)}, -1e9, false, true},
		{"no high end", Range{Low: Known(0)}, -0.001, false, false},
	} {
		if got := c.r.Holds(c.v); got != c.want || c.r.Open() != c.open {
			t.Errorf("%s: holds %v, open %v", c.name, got, c.r.Open())
		}
	}
}

func TestFilterEmpty(t *testing.T) {
	for _, c := range []struct {
		name string
		f    Filter
		want bool
	}{
		{"zero", Filter{}, true},
		{"numbers that are not known", Filter{HourFrom: Maybe{V: 6}, LevelM: Range{Low: Maybe{V: 1}}}, true},
		{"first day", Filter{FirstDay: "2031-10-04"}, false},
		{"last day", Filter{LastDay: "2031-10-04"}, false},
		{"first month", Filter{FirstMonth: 1}, false},
		{"last month", Filter{LastMonth: 12}, false},
		{"level of zero", Filter{LevelM: Range{High: Known(0)}}, false},
		{"temperature", Filter{TempC: Range{Low: Known(0)}}, false},
		{"from midnight", Filter{HourFrom: Known(0)}, false},
		{"to midnight", Filter{HourTo: Known(24)}, false},
		{"box", Filter{Box: &orb.Bound{}}, false},
	} {
		if got := c.f.Empty(); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

func TestFilterDay(t *testing.T) {
	for _, c := range []struct {
		name    string
		f       Filter
		in, out []string
	}{
		{"all", Filter{}, []string{"2031-10-04", "0001-01-01"}, nil},
		{"both ends", Filter{FirstDay: "2031-09-30", LastDay: "2031-10-04"}, []string{"2031-09-30", "2031-10-01", "2031-10-04"}, []string{"2031-09-29", "2031-10-05", "2032-10-01"}},
		{"from", Filter{FirstDay: "2031-12-31"}, []string{"2031-12-31", "2032-01-01"}, []string{"2031-12-30"}},
		{"until", Filter{LastDay: "2031-12-31"}, []string{"2031-12-31", "2030-01-01"}, []string{"2032-01-01"}},
		{"months", Filter{FirstMonth: 10, LastMonth: 11}, []string{"2031-10-01", "2032-11-30"}, []string{"2031-09-30", "2031-12-01"}},
		{"one month", Filter{FirstMonth: 2, LastMonth: 2}, []string{"2032-02-29"}, []string{"2032-01-31", "2032-03-01"}},
		{"winter", Filter{FirstMonth: 11, LastMonth: 2}, []string{"2031-11-01", "2031-12-31", "2032-01-01", "2032-02-29"}, []string{"2031-10-31", "2032-03-01"}},
		{"round the year", Filter{FirstMonth: 3, LastMonth: 2}, []string{"2031-02-28", "2031-03-01", "2031-08-01"}, nil},
		{"from a month", Filter{FirstMonth: 11}, []string{"2031-11-01", "2031-12-31"}, []string{"2031-10-31", "2031-01-01"}},
		{"until a month", Filter{LastMonth: 2}, []string{"2031-01-01", "2032-02-29"}, []string{"2031-03-01", "2031-12-31"}},
		{"months of some days", Filter{FirstDay: "2031-10-10", FirstMonth: 10, LastMonth: 10}, []string{"2031-10-10", "2032-10-01"}, []string{"2031-10-09", "2031-11-10"}},
		{"no date", Filter{FirstMonth: 1, LastMonth: 12}, nil, []string{"", "yesterday", "2031-02-29"}}, // 2031 has no leap day
	} {
		for _, date := range c.in {
			if !c.f.Day(date) {
				t.Errorf("%s: %q is out", c.name, date)
			}
		}
		for _, date := range c.out {
			if c.f.Day(date) {
				t.Errorf("%s: %q is in", c.name, date)
			}
		}
	}
}

func TestFilterHour(t *testing.T) {
	at := func(clock string) time.Time {
		got, err := time.Parse("15:04:05.999999999", clock)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	hours := func(from, to float64) Filter { return Filter{HourFrom: Known(from), HourTo: Known(to)} }
	for _, c := range []struct {
		name    string
		f       Filter
		in, out []string
	}{
		{"all", Filter{}, []string{"00:00:00", "23:59:59.999999999"}, nil},
		{"morning", hours(6, 10), []string{"06:00:00", "09:59:59.999999999"}, []string{"05:59:59.999999999", "10:00:00"}},
		{"half hours", hours(6.5, 9.75), []string{"06:30:00", "09:44:59"}, []string{"06:29:59", "09:45:00"}},
		{"a minute that is no binary fraction", hours(6+6/60., 7+7/60.), []string{"06:06:00", "07:06:59.999999999"}, []string{"06:05:59.999999999", "07:07:00"}},
		{"over midnight", hours(20, 4), []string{"20:00:00", "23:59:59", "00:00:00", "03:59:59"}, []string{"04:00:00", "12:00:00", "19:59:59"}},
		{"whole day", hours(0, 24), []string{"00:00:00", "23:59:59.999999999"}, nil},
		{"until 24", hours(20, 24), []string{"23:59:59"}, []string{"00:00:00"}},
		{"until 0", hours(20, 0), []string{"23:59:59"}, []string{"00:00:00", "19:59:59"}},
		{"from 24", hours(24, 4), []string{"00:00:00", "03:59:59"}, []string{"04:00:00", "23:59:59"}},
		{"none", hours(6, 6), nil, []string{"06:00:00", "05:59:59", "18:00:00"}},
		{"no first", Filter{HourTo: Known(4)}, []string{"00:00:00", "03:59:59"}, []string{"04:00:00", "23:00:00"}},
		{"no second", Filter{HourFrom: Known(20)}, []string{"20:00:00", "23:59:59"}, []string{"19:59:59", "00:00:00"}},
	} {
		for _, clock := range c.in {
			if !c.f.Hour(at(clock)) {
				t.Errorf("%s: %s is out", c.name, clock)
			}
		}
		for _, clock := range c.out {
			if c.f.Hour(at(clock)) {
				t.Errorf("%s: %s is in", c.name, clock)
			}
		}
	}
}

// Every minute of the day lies in the hours or in the hours the other way round, and
// never in both.
func TestFilterHourHasTwoSides(t *testing.T) {
	midnight := time.Date(2031, 10, 4, 0, 0, 0, 0, time.UTC)
	for from := range 24 {
		for to := range 24 {
			if from == to {
				continue
			}
			f := Filter{HourFrom: Known(float64(from)), HourTo: Known(float64(to))}
			g := Filter{HourFrom: f.HourTo, HourTo: f.HourFrom}
			minutes := 0
			for m := range 24 * 60 {
				at := midnight.Add(time.Duration(m) * time.Minute)
				if f.Hour(at) == g.Hour(at) {
					t.Fatalf("%d..%d at %s: in both or in neither", from, to, at.Format("15:04"))
				}
				if f.Hour(at) {
					minutes++
				}
			}
			if want := (to - from + 24) % 24 * 60; minutes != want {
				t.Errorf("%d..%d holds %d minutes, want %d", from, to, minutes, want)
			}
		}
	}
}

// Hours begin and end on the nanosecond at every minute, though most are no binary fraction.
func TestFilterHourIsExactAtEveryMinute(t *testing.T) {
	for m := 1; m < 24*60; m++ {
		at := time.Date(2031, 10, 4, 0, m, 0, 0, time.UTC)
		clock := Known(float64(m/60) + float64(m%60)/60)
		from, to := Filter{HourFrom: clock}, Filter{HourTo: clock}
		if !from.Hour(at) || from.Hour(at.Add(-1)) || to.Hour(at) || !to.Hour(at.Add(-1)) {
			t.Errorf("%s is not the border", at.Format("15:04"))
		}
	}
}

// The clock decides, not the time gone by since midnight: where clocks are put back the
// hour from 2 to 3 lasts two, and where they are put forward none. Directive 2000/84/EC,
// articles 2 and 3: 01:00 UTC on the last Sunday of March and of October.
func TestFilterHourWhereClocksChange(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	f := Filter{HourFrom: Known(2), HourTo: Known(3)}
	for _, c := range []struct {
		name  string
		month time.Month
		day   int
		want  int // minutes
	}{
		{"an ordinary day", time.October, 4, 60},
		{"put back", time.October, 26, 120},
		{"put forward", time.March, 30, 0},
	} {
		got := 0
		for m := range 26 * 60 {
			if at := time.Date(2031, c.month, c.day, 0, m, 0, 0, time.UTC).Add(-2 * time.Hour).In(berlin); at.Day() == c.day && f.Hour(at) {
				got++
			}
		}
		if got != c.want {
			t.Errorf("%s: %d minutes from 2 to 3, want %d", c.name, got, c.want)
		}
	}
}

func TestFilterPlace(t *testing.T) {
	f := Filter{Box: &orb.Bound{Min: orb.Point{-40.2, 36.5}, Max: orb.Point{-40.1, 36.6}}}
	for _, c := range []struct {
		name string
		at   orb.Point
		want bool
	}{
		{"inside", orb.Point{-40.15, 36.55}, true},
		{"corner", orb.Point{-40.2, 36.6}, true},
		{"west", orb.Point{-40.21, 36.55}, false},
		{"east", orb.Point{-40.09, 36.55}, false},
		{"north", orb.Point{-40.15, 36.61}, false},
		{"south", orb.Point{-40.15, 36.49}, false},
	} {
		if got := f.Place(c.at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
		if !(Filter{}).Place(c.at) {
			t.Errorf("%s: out without a box", c.name)
		}
	}
}
