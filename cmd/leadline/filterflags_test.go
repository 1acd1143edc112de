package main

import (
	"io"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/spf13/pflag"

	"leadline/ingest"
)

// filterFrom parses filter flags as they are typed.
func filterFrom(args ...string) (*filterFlags, error) {
	set := pflag.NewFlagSet("test", pflag.ContinueOnError)
	set.SetOutput(io.Discard)
	f := &filterFlags{}
	f.add(set)
	return f, set.Parse(args)
}

// same compares two filters; lengths and temperatures to the last bits of a product.
func same(a, b ingest.Filter) bool {
	near := func(a, b ingest.Maybe) bool { return a.OK == b.OK && math.Abs(a.V-b.V) < 1e-9 }
	if (a.Box == nil) != (b.Box == nil) || a.Box != nil && *a.Box != *b.Box {
		return false
	}
	return a.FirstDay == b.FirstDay && a.LastDay == b.LastDay && a.FirstMonth == b.FirstMonth && a.LastMonth == b.LastMonth &&
		near(a.LevelM.Low, b.LevelM.Low) && near(a.LevelM.High, b.LevelM.High) && near(a.TempC.Low, b.TempC.Low) && near(a.TempC.High, b.TempC.High) &&
		a.HourFrom == b.HourFrom && a.HourTo == b.HourTo
}

// The foot is 0.3048 m by the international yard and pound agreement of 1959. Water
// freezes at 32 °F, 0 °C, and boils at 212 °F, 100 °C; the scales meet at -40.
func TestFilterFlags(t *testing.T) {
	type filter = ingest.Filter
	known := ingest.Known
	days := func(first, last string) filter { return filter{FirstDay: first, LastDay: last} }
	months := func(first, last int) filter { return filter{FirstMonth: first, LastMonth: last} }
	hours := func(from, to float64) filter { return filter{HourFrom: known(from), HourTo: known(to)} }
	levels := func(low, high ingest.Maybe) filter { return filter{LevelM: ingest.Range{Low: low, High: high}} }
	water := func(low, high ingest.Maybe) filter { return filter{TempC: ingest.Range{Low: low, High: high}} }
	box := filter{Box: &orb.Bound{Min: orb.Point{-40.2, 36.5}, Max: orb.Point{-40.1, 36.6}}}
	for _, c := range []struct {
		flag, text string
		want       filter
	}{
		{"days", "2031-10-01..2031-10-14", days("2031-10-01", "2031-10-14")},
		{"days", "2031-10-04", days("2031-10-04", "2031-10-04")},
		{"days", "2031-10-04..2031-10-04", days("2031-10-04", "2031-10-04")},
		{"days", "2031-10-01..", days("2031-10-01", "")},
		{"days", "..2031-10-14", days("", "2031-10-14")},
		{"days", " 2031-12-31 .. 2032-02-29 ", days("2031-12-31", "2032-02-29")},

		{"months", "10..11", months(10, 11)},
		{"months", "oct..nov", months(10, 11)},
		{"months", "October .. NOV", months(10, 11)},
		{"months", "10..Nov", months(10, 11)},
		{"months", "sept", months(9, 9)},
		{"months", "may", months(5, 5)},
		{"months", "05", months(5, 5)},
		{"months", "11..2", months(11, 2)},
		{"months", "jun..jul", months(6, 7)},

		{"levels", "811ft..813ft", levels(known(811*0.3048), known(813*0.3048))},
		{"levels", "811.5 ft .. 248 m", levels(known(811.5*0.3048), known(248))},
		{"levels", "-3ft..1-1/2ft", levels(known(-0.9144), known(0.4572))},
		{"levels", "-3ft..-2ft", levels(known(-0.9144), known(-0.6096))},
		{"levels", "0m..0m", levels(known(0), known(0))},
		{"levels", "811ft..", levels(known(811*0.3048), ingest.Maybe{})},
		{"levels", "..813ft", levels(ingest.Maybe{}, known(813*0.3048))},
		{"levels", "..0.5m", levels(ingest.Maybe{}, known(0.5))},

		{"water", "32F..212F", water(known(0), known(100))},
		{"water", "50°F..20 C", water(known(10), known(20))},
		{"water", "-40F..", water(known(-40), ingest.Maybe{})},
		{"water", "..59degF", water(ingest.Maybe{}, known(15))},

		{"hours", "6..10", hours(6, 10)},
		{"hours", "6:30..9:45", hours(6.5, 9.75)},
		{"hours", "06:30 .. 10", hours(6.5, 10)},
		{"hours", "20..4", hours(20, 4)},
		{"hours", "0..24", hours(0, 24)},
		{"hours", "20..24:00", hours(20, 24)},
		{"hours", "20..0", hours(20, 0)},
		{"hours", "23:59..0:00", hours(23+59/60., 0)},

		{"within", "36.5,-40.2..36.6,-40.1", box},
		{"within", "36.6,-40.1..36.5,-40.2", box},
		{"within", "36.6,-40.2..36.5,-40.1", box},
		{"within", " 36.5 , -40.1 .. 36.6 , -40.2", box},
		{"within", "-90,-180..90,0", filter{Box: &orb.Bound{Min: orb.Point{-180, -90}, Max: orb.Point{0, 90}}}},
		{"within", "-36.6,179..-36.5,180", filter{Box: &orb.Bound{Min: orb.Point{179, -36.6}, Max: orb.Point{180, -36.5}}}},
	} {
		t.Run(c.flag+" "+c.text, func(t *testing.T) {
			for _, args := range [][]string{{"--" + c.flag, c.text}, {"--" + c.flag + "=" + c.text}} {
				f, err := filterFrom(args...)
				if err != nil {
					t.Fatal(err)
				}
				if got := f.filter(); !same(got, c.want) || !f.set() {
					t.Errorf("%q: %+v, want %+v; set: %v", args, got, c.want, f.set())
				}
			}
		})
	}
}

func TestFilterFlagsRefuse(t *testing.T) {
	for _, c := range []struct{ flag, text, want string }{
		{"days", "", `has neither end; days look like 2031-10-01..2031-10-14`},
		{"days", "..", `".." has neither end; days look like`},
		{"days", "2031-10-14..2031-10-01", `"2031-10-14..2031-10-01" runs backwards, wanted the earlier day first`},
		{"days", "2031-10-1", `"2031-10-1" is not a day, wanted year, month and day`},
		{"days", "10/04/2031", `"10/04/2031" is not a day`},
		{"days", "2031-02-29", `"2031-02-29" is not a day, wanted year, month and day of the calendar`},
		{"days", "2031-10-01..oct", `"oct" is not a day`},
		{"days", "2031-10-01...2031-10-14", `wanted two dots between its ends, once`},
		{"days", "2031-10-01..2031-10-02..2031-10-03", `wanted two dots between its ends, once`},
		{"days", "2031-10-01 2031-10-14", `"2031-10-01 2031-10-14" is not a day`},

		{"months", "", "has neither end; months look like 10..11 or oct..nov"},
		{"months", "oct..", `"oct.." has one end, wanted both months`},
		{"months", "..nov", `"..nov" has one end, wanted both months`},
		{"months", "0..3", `"0" is not a month, wanted 1 to 12 or its English name`},
		{"months", "13", `"13" is not a month`},
		{"months", "ju", `"ju" is not a month`},
		{"months", "octo ber", `"octo ber" is not a month`},
		{"months", "Octobers", `"Octobers" is not a month`},
		{"months", "oct-nov", `"oct-nov" is not a month`},
		{"months", "2031-10", `"2031-10" is not a month`},

		{"levels", "812ft", `"812ft" is not a range, wanted two values with two dots between them, such as 811ft..813ft`},
		{"levels", "..", `".." has neither end; ranges look like 811ft..813ft`},
		{"levels", "813ft..811ft", `"813ft..811ft" runs backwards, wanted the lower end first`},
		{"levels", "-2ft..-3ft", `runs backwards`},
		{"levels", "811..813ft", `"811" has no unit; lengths take ft`},
		{"levels", "811ft..813F", `unknown unit "F"; lengths take ft`},
		{"levels", "ft..813ft", `"ft" has no number`},
		{"levels", "0.2m...5m", `wanted two dots between its ends, once`}, // to 5 m or to 0.5 m?
		{"levels", "NaNm..5m", `has no number`},

		{"water", "62F", `"62F" is not a range, wanted two values with two dots between them, such as 55F..62F`},
		{"water", "62F..55F", `runs backwards`},
		{"water", "55..62F", `"55" has no unit; temperatures take C, F`},
		{"water", "20C..62F", `runs backwards`}, // 62 °F is 16.7 °C

		{"hours", "", `has neither end; hours look like 6..10 or 6:30..9:45`},
		{"hours", "6", `"6" is one end, wanted from which hour to which`},
		{"hours", "6..", `"6.." is one end`},
		{"hours", "..10", `"..10" is one end`},
		{"hours", "6..6", `"6..6" ends when it begins, wanted two different hours; 0..24 is the whole day`},
		{"hours", "6:30..06:30", `ends when it begins`},
		{"hours", "24..0", `ends when it begins`},
		{"hours", "6..25", `"25" is not an hour, wanted 0 to 24 or hours and minutes`},
		{"hours", "6..24:01", `"24:01" is not an hour`},
		{"hours", "6:60..10", `"6:60" is not an hour`},
		{"hours", "6:5..10", `"6:5" is not an hour`},
		{"hours", "6:..10", `"6:" is not an hour`},
		{"hours", "6.5..10", `"6.5" is not an hour`},
		{"hours", "6am..10am", `"6am" is not an hour`},
		{"hours", "-1..4", `"-1" is not an hour`},
		{"hours", "6:+5..10", `"6:+5" is not an hour`},

		{"within", "36.5,-40.2", `"36.5,-40.2" is one corner, wanted two opposite ones`},
		{"within", "36.5,-40.2..", `is one corner`},
		{"within", "..", `has neither end; a box looks like`},
		{"within", "36.5..36.6", `"36.5" is not a corner, wanted latitude (-90 to 90) and then longitude (-180 to 180) in degrees`},
		{"within", "100.2,36.5..100.1,36.6", `"100.2,36.5" is not a corner, wanted latitude`}, // longitude first
		{"within", "36.5,-40.2..36.6,181", `"36.6,181" is not a corner`},
		{"within", "36.5,-40.2..36.6,-40.1,3", `"36.6,-40.1,3" is not a corner`},
		{"within", "NaN,-40.2..36.6,-40.1", `"NaN,-40.2" is not a corner`},
		{"within", "36.5,Inf..36.6,-40.1", `"36.5,Inf" is not a corner`},
		{"within", "36.5,-179.9..36.6,179.9", `wider than half the Earth: a box over the 180th meridian isn't taken`},
		{"within", "36.5,-40.2..36.5,-40.1", `is a box without room, wanted two opposite corners`},
		{"within", "36.5,-40.2..36.6,-40.2", `is a box without room`},
	} {
		t.Run(c.flag+" "+c.text, func(t *testing.T) {
			f, err := filterFrom("--"+c.flag, c.text)
			if err == nil {
				t.Fatalf("taken as %+v", f.filter())
			}
			if !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "--"+c.flag) {
				t.Errorf("%v\nwant it to say: %s", err, c.want)
			}
			if f.set() {
				t.Errorf("refused, and yet %+v", f.filter())
			}
		})
	}
}

func TestFilterFlagsTogether(t *testing.T) {
	none, err := filterFrom()
	if err != nil || none.set() || !none.filter().Empty() {
		t.Errorf("no flag: %+v, %v", none.filter(), err)
	}
	f, err := filterFrom("--days", "2031-10-01..", "--months", "oct", "--levels", "-1m..1m", "--water", "10C..", "--hours", "6..10", "--within", "36.5,-40.2..36.6,-40.1", "--days", "..2031-10-14", "--water", "..20C")
	if err != nil {
		t.Fatal(err)
	}
	want := ingest.Filter{
		LastDay:    "2031-10-14", // the last word holds, the first is forgotten
		FirstMonth: 10, LastMonth: 10,
		LevelM:   ingest.Range{Low: ingest.Known(-1), High: ingest.Known(1)},
		TempC:    ingest.Range{High: ingest.Known(20)}, // likewise
		HourFrom: ingest.Known(6), HourTo: ingest.Known(10),
		Box: &orb.Bound{Min: orb.Point{-40.2, 36.5}, Max: orb.Point{-40.1, 36.6}},
	}
	if got := f.filter(); !same(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// The help names what each flag takes, and shows no default.
func TestFilterFlagsHelp(t *testing.T) {
	set := pflag.NewFlagSet("test", pflag.ContinueOnError)
	(&filterFlags{}).add(set)
	help := set.FlagUsages()
	for _, want := range []string{"--days DAY..DAY ", "--months MONTH..MONTH ", "--levels LENGTH..LENGTH ", "--water TEMP..TEMP ", "--hours HOUR..HOUR ", "--within LAT,LON..LAT,LON "} {
		if !strings.Contains(help, want) {
			t.Errorf("no %q in:\n%s", want, help)
		}
	}
	if strings.Contains(help, "(default") {
		t.Error(help)
	}
}

// Whatever is typed, a flag is refused and leaves no trace, or gives a filter that
// can be held to.
func FuzzFilterFlags(f *testing.F) {
	for _, s := range []string{
		"2031-10-01..2031-10-14", "..2031-10-14", "2031-10-04", "10..11", "oct..nov", "Feb", "811ft..813ft", "-1-1/2ft..", "..62°F", "55F..62F",
		"6..10", "6:30..9:45", "20..4", "24..24", "36.5,-40.2..36.6,-40.1", "-90,-180..90,180", "1e308,1..2,2", "0x1p4,1..2,2", "...", "....", "..", "",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, flag := range []string{"days", "months", "levels", "water", "hours", "within"} {
			flags, err := filterFrom("--" + flag + "=" + s)
			got := flags.filter()
			if (err == nil) == got.Empty() {
				t.Fatalf("--%s=%q is %+v, %v", flag, s, got, err)
			}
			if err != nil {
				continue
			}
			switch {
			case got.FirstDay != "" && len(got.FirstDay) != 10 || got.LastDay != "" && (len(got.LastDay) != 10 || got.FirstDay > got.LastDay),
				flag == "months" && !(got.FirstMonth >= 1 && got.FirstMonth <= 12 && got.LastMonth >= 1 && got.LastMonth <= 12),
				flag == "hours" && !(got.HourFrom.V >= 0 && got.HourFrom.V <= 24 && got.HourTo.V >= 0 && got.HourTo.V <= 24 && got.HourFrom != got.HourTo):
				t.Fatalf("--%s=%q is %+v", flag, s, got)
			}
			for _, r := range []ingest.Range{got.LevelM, got.TempC} {
				if r.Low.OK && (math.IsNaN(r.Low.V) || math.IsInf(r.Low.V, 0) || !r.Holds(r.Low.V)) || r.High.OK && (math.IsNaN(r.High.V) || math.IsInf(r.High.V, 0) || !r.Holds(r.High.V)) {
					t.Fatalf("--%s=%q is %+v", flag, s, got)
				}
			}
			if b := got.Box; b != nil && !(b.Min[0] < b.Max[0] && b.Min[1] < b.Max[1] && b.Min[0] >= -180 && b.Max[0] <= 180 && b.Min[1] >= -90 && b.Max[1] <= 90 && b.Max[0]-b.Min[0] <= 180) {
				t.Fatalf("--%s=%q is %+v", flag, s, *b)
			}
		}
	})
}
