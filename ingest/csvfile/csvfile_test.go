package csvfile

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

func read(t *testing.T, text string, opt ingest.ReadOptions) ingest.Records {
	t.Helper()
	r, err := Read(strings.NewReader(text), "t.csv", opt)
	if err != nil {
		t.Fatal(err)
	}
	balance(t, r)
	return r
}

func balance(t *testing.T, r ingest.Records) {
	t.Helper()
	s := r.Source
	if s.RowsRead != s.Used+s.Repaired+s.SetAside {
		t.Errorf("%d rows read, but %d used, %d repaired, %d set aside", s.RowsRead, s.Used, s.Repaired, s.SetAside)
	}
	if n := len(r.Soundings) + len(r.Events) + len(r.Levels) + len(r.Winds); n != s.Used+s.Repaired {
		t.Errorf("%d records of %d rows used and %d repaired", n, s.Used, s.Repaired)
	}
}

func problems(r ingest.Records) string {
	var b strings.Builder
	for _, p := range r.Problems {
		b.WriteString(p.Error() + "\n")
	}
	return b.String()
}

func utc(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		panic(err)
	}
	return t.UTC()
}

func zone(t *testing.T, name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func TestDepthLog(t *testing.T) {
	want := ingest.Sounding{Time: utc("2024-05-03T10:00:00Z"), Pos: orb.Point{-40.25, 36.5}, HasPos: true, DepthM: 3.048, Line: 2}
	with := func(f func(*ingest.Sounding)) ingest.Sounding { s := want; f(&s); return s }
	for _, c := range []struct {
		name, text string
		opt        ingest.ReadOptions
		want       ingest.Sounding
		columns    string
	}{
		// One foot is 0.3048 m by the agreement of 1959, and in NIST SP 811 B.8.
		{"comma, feet", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{}, want,
			"[{time time } {lat latitude deg} {lon longitude deg} {depth_ft depth ft}]"},
		{"semicolon, decimal comma", "Time;Latitude;Longitude;Depth (m)\n2024-05-03T10:00:00Z;36,5;-40,25;3,048\n", ingest.ReadOptions{}, want, ""},
		{"semicolon, points and commas mixed", "Time;Latitude;Longitude;Depth (m)\n2024-05-03T10:00:00Z;36.5;-40.25;3,048\n", ingest.ReadOptions{}, want, ""},
		{"tab", "Time\tLat\tLong.\tDepth [feet]\n2024-05-03T10:00:00Z\t36.5\t-40.25\t10\n", ingest.ReadOptions{}, want, ""},
		{"tab, empty cells", "Time\tLat\tLon\tTemp (C)\tDepth [feet]\n2024-05-03T10:00:00Z\t36.5\t-40.25\t\t10\n", ingest.ReadOptions{}, want, ""},
		{"bar", "time|lat|lon|depth m\n2024-05-03T10:00:00Z|36.5|-40.25|3.048\n", ingest.ReadOptions{}, want, ""},
		{"fathoms", "time,lat,lon,depth (fathoms)\n2024-05-03T10:00:00Z,36.5,-40.25,1.6666666666666667\n", ingest.ReadOptions{}, want, ""},
		{"unit by option", "time,lat,lon,depth\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{DepthUnit: "feet"}, want,
			"[{time time } {lat latitude deg} {lon longitude deg} {depth depth ft}]"},
		{"unit of the header before the option", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{DepthUnit: "m"}, want, ""},
		{"units in the cells", "time,lat,lon,depth\n2024-05-03T10:00:00Z,36.5,-40.25,10 ft\n", ingest.ReadOptions{}, want,
			"[{time time } {lat latitude deg} {lon longitude deg} {depth depth in the cells}]"},
		{"byte order mark and CRLF", "\ufefftime,lat,lon,depth_ft\r\n2024-05-03T10:00:00Z,36.5,-40.25,10\r\n", ingest.ReadOptions{}, want, ""},
		{"no last line break", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10", ingest.ReadOptions{}, want, ""},
		{"quotes", `"time","lat","lon","depth_ft"` + "\n" + `"2024-05-03T10:00:00Z","36.5","-40.25", "10"` + "\n", ingest.ReadOptions{}, want, ""},
		{"hemispheres", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5N,W 40.25,10\n", ingest.ReadOptions{}, want, ""},
		{"misspelt and foreign names", "time;Latitudine; Long.;Depht [m]\n2024-05-03T10:00:00Z;36.5;-40.25;3.048\n", ingest.ReadOptions{}, want, ""},
		{"preamble", "recorder 7\nrate,5\n\n# time,lat\ntime,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.Line = 6 }), ""},
		{"settings that look like a header", "date,time\n2024-05-03,10:00\ntime,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.Line = 4 }), ""},
		{"header behind a hash", "#time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{}, want, ""},
		{"trailing delimiters", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10,,\n,,,\n", ingest.ReadOptions{}, want, ""},
		{"comment and empty line", "time,lat,lon,depth_ft\n# lunch\n\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.Line = 4 }), ""},
		{"no position", "time,depth_ft\n2024-05-03T10:00:00Z,10\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.Pos, s.HasPos = orb.Point{}, false }), ""},
		{"no time", "lat,lon,depth_ft\n36.5,-40.25,10\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.Time = time.Time{} }), ""},
		// NIST SP 811: 50 °F is 10 °C; 1 kn is 1852/3600 m/s.
		{"temperature and speed", "time,lat,lon,depth_ft,WaterTemp_F,SOG (kn)\n2024-05-03T10:00:00Z,36.5,-40.25,10,50,3.6\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.TempC, s.SpeedMPS = ingest.Known(10), ingest.Known(1.852) }), ""},
		{"speed in knots", "time,lat,lon,depth_ft,speed_kn\n2024-05-03T10:00:00Z,36.5,-40.25,10,1\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.SpeedMPS = ingest.Known(1852.0 / 3600) }), ""},
		{"speed in mph", "time,lat,lon,depth_ft,Speed (mph)\n2024-05-03T10:00:00Z,36.5,-40.25,10,1\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.SpeedMPS = ingest.Known(0.44704) }), ""},
		{"speed in m/s", "time,lat,lon,depth_ft,speed m/s\n2024-05-03T10:00:00Z,36.5,-40.25,10,1.5\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.SpeedMPS = ingest.Known(1.5) }), ""},
		{"speed in km/h", "time,lat,lon,depth_ft,speed (km/h)\n2024-05-03T10:00:00Z,36.5,-40.25,10,36\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.SpeedMPS = ingest.Known(10) }), ""},
		{"degree sign in Latin-1", "time;lat;lon;depth_ft;water temp (\xb0C)\n2024-05-03T10:00:00Z;36.5;-40.25;10;17,5\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.TempC = ingest.Known(17.5) }),
			"[{time time } {lat latitude deg} {lon longitude deg} {depth_ft depth ft} {water temp (°C) water temperature C}]"},
		{"degree sign in UTF-8", "time;lat;lon;depth_ft;water temp (°C)\n2024-05-03T10:00:00Z;36.5;-40.25;10;17,5\n", ingest.ReadOptions{},
			with(func(s *ingest.Sounding) { s.TempC = ingest.Known(17.5) }), ""},
		{"optional cells that say there is nothing", "time,lat,lon,depth_ft,temp_c,speed_kn\n2024-05-03T10:00:00Z,36.5,-40.25,10,NaN,--\n", ingest.ReadOptions{}, want, ""},
		{"a count and a note don't make it a catch log", "time,lat,lon,depth_ft,count,note\n2024-05-03T10:00:00Z,36.5,-40.25,10,3,x\n", ingest.ReadOptions{}, want, ""},
		{"wind beside depths is not used", "time,lat,lon,depth_ft,wind_mph\n2024-05-03T10:00:00Z,36.5,-40.25,10,3\n", ingest.ReadOptions{}, want,
			"[{time time } {lat latitude deg} {lon longitude deg} {depth_ft depth ft} {wind_mph  }]"},
		{"zero kept", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,0\n", ingest.ReadOptions{}, with(func(s *ingest.Sounding) { s.DepthM = 0 }), ""},
		{"clock offset", "time,lat,lon,depth_ft\n2024-05-03T10:00:00Z,36.5,-40.25,10\n", ingest.ReadOptions{ClockOffset: time.Minute},
			with(func(s *ingest.Sounding) { s.Time = utc("2024-05-03T10:01:00Z") }), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, c.opt)
			if len(r.Soundings) != 1 || r.Source.TakenFor != "CSV depth log" {
				t.Fatalf("%+v\n%s", r, problems(r))
			}
			got := r.Soundings[0]
			if math.Abs(got.DepthM-c.want.DepthM) > 1e-12 || math.Abs(got.TempC.V-c.want.TempC.V) > 1e-12 || math.Abs(got.SpeedMPS.V-c.want.SpeedMPS.V) > 1e-12 {
				t.Errorf("got %+v\nwant %+v", got, c.want)
			}
			got.DepthM, got.TempC.V, got.SpeedMPS.V = c.want.DepthM, c.want.TempC.V, c.want.SpeedMPS.V
			if got != c.want {
				t.Errorf("got %+v\nwant %+v", got, c.want)
			}
			if c.columns != "" && fmt.Sprint(r.Source.Columns) != c.columns {
				t.Errorf("columns %v", r.Source.Columns)
			}
			if r.Source.ClockOffsetS.OK != (c.opt.ClockOffset != 0) {
				t.Error(r.Source.ClockOffsetS)
			}
			if len(r.Problems) > 0 {
				t.Error(problems(r))
			}
		})
	}
}

func TestDepthRows(t *testing.T) {
	const head = "time,lat,lon,depth_ft,temp_c\n"
	for _, c := range []struct {
		name, row          string
		problems           string
		repaired, setAside int
		hasPos, hasTime    bool
	}{
		{"good", "2024-05-03T10:00:00Z,36.5,-40.25,10,17", "", 0, 0, true, true},
		{"depth empty", "2024-05-03T10:00:00Z,36.5,-40.25,,17", "t.csv:2: depth_ft: missing, wanted a number; row set aside\n", 0, 1, false, false},
		{"depth dashes", "2024-05-03T10:00:00Z,36.5,-40.25,--,17", `t.csv:2: depth_ft: "--" is not a number, wanted a number; row set aside` + "\n", 0, 1, false, false},
		{"depth stars", "2024-05-03T10:00:00Z,36.5,-40.25,***,17", `t.csv:2: depth_ft: "***" is not a number, wanted a number; row set aside` + "\n", 0, 1, false, false},
		{"depth NaN", "2024-05-03T10:00:00Z,36.5,-40.25,NaN,17", `t.csv:2: depth_ft: "NaN" is not a number, wanted a number; row set aside` + "\n", 0, 1, false, false},
		{"depth infinite", "2024-05-03T10:00:00Z,36.5,-40.25,Inf,17", `t.csv:2: depth_ft: "Inf" is not a number, wanted a number in ft; row set aside` + "\n", 0, 1, false, false},
		{"depth of words", "2024-05-03T10:00:00Z,36.5,-40.25,deep,17", `t.csv:2: depth_ft: "deep" is not a number, wanted a number in ft; row set aside` + "\n", 0, 1, false, false},
		{"depth in another unit", "2024-05-03T10:00:00Z,36.5,-40.25,3 m,17", `t.csv:2: depth_ft: "3 m" is not a number, wanted a number in ft; row set aside` + "\n", 0, 1, false, false},
		{"depth that repeats its unit", "2024-05-03T10:00:00Z,36.5,-40.25,10 ft,17", "", 0, 0, true, true},
		{"decimal comma between commas", `2024-05-03T10:00:00Z,36.5,-40.25,"3,5",17`, `t.csv:2: depth_ft: "3,5" is not a number, wanted a number in ft; row set aside` + "\n", 0, 1, false, false},
		{"temperature of words", "2024-05-03T10:00:00Z,36.5,-40.25,10,warm", `t.csv:2: temp_c: "warm" is not a number, wanted a number in C; row used without it` + "\n", 1, 0, true, true},
		{"temperature out of range", "2024-05-03T10:00:00Z,36.5,-40.25,10,999", `t.csv:2: temp_c: "999" is out of range, wanted a water temperature that can be; row used without it` + "\n", 1, 0, true, true},
		{"latitude beyond the pole", "2024-05-03T10:00:00Z,95,-40.25,10,17", `t.csv:2: lat: "95" is out of range, wanted degrees from -90 to 90; row used without it` + "\n", 1, 0, false, true},
		{"longitude out of range", "2024-05-03T10:00:00Z,36.5,-200,10,17", `t.csv:2: lon: "-200" is out of range, wanted degrees from -180 to 180; row used without it` + "\n", 1, 0, false, true},
		{"position of words, no time", ",x,-40.25,10,17", `t.csv:2: lat: "x" is not a number, wanted degrees from -90 to 90; row set aside` + "\n", 0, 1, false, false},
		{"sign and letter", "2024-05-03T10:00:00Z,36.5,-40.25W,10,17", `t.csv:2: lon: "-40.25W" is not a number, wanted degrees from -180 to 180; row used without it` + "\n", 1, 0, false, true},
		{"half a position", "2024-05-03T10:00:00Z,36.5,,10,17", "t.csv:2: lon: missing, wanted degrees from -180 to 180; row used without it\n", 1, 0, false, true},
		{"0, 0", "2024-05-03T10:00:00Z,0,0.0,10,17", "t.csv:2: lat: 0, 0.0 in 1 row, as receivers say before they know where they are; read without a position; row kept in doubt\n", 0, 0, false, true},
		{"on the equator", "2024-05-03T10:00:00Z,0,-40.25,10,17", "", 0, 0, true, true},
		{"no time", ",36.5,-40.25,10,17", "", 0, 0, true, false},
		{"bad time, position", "noon,36.5,-40.25,10,17", `t.csv:2: time: "noon" is not a time, wanted a time such as 2006-01-02 15:04:05Z; row used without it` + "\n", 1, 0, true, false},
		{"bad time, no position", "noon,,,10,17", `t.csv:2: time: "noon" is not a time, wanted a time such as 2006-01-02 15:04:05Z; row set aside` + "\n", 0, 1, false, false},
		{"neither", ",,,10,17", "t.csv:2: missing, wanted a time or a position; row set aside\n", 0, 1, false, false},
		{"bad temperature and nothing else", ",,,10,x", "t.csv:2: missing, wanted a time or a position; row set aside\n", 0, 1, false, false},
		{"cells short", "2024-05-03T10:00:00Z,36.5,-40.25", `t.csv:2: "2024-05-03T10:00:00Z,36.5,-40.25" is a row of the wrong shape, wanted 5 cells as in the header, not 3; row set aside` + "\n", 0, 1, false, false},
		{"cells over", "2024-05-03T10:00:00Z,36,5,-40,25,10,17", `t.csv:2: "2024-05-03T10:00:00Z,36,5,-40,25,10,17" is a row of the wrong shape, wanted 5 cells as in the header, not 7; row set aside` + "\n", 0, 1, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, head+c.row+"\n", ingest.ReadOptions{})
			if got := problems(r); got != c.problems {
				t.Errorf("got  %swant %s", got, c.problems)
			}
			if s := r.Source; s.Repaired != c.repaired || s.SetAside != c.setAside {
				t.Errorf("%+v", s)
			}
			for _, s := range r.Soundings {
				if s.HasPos != c.hasPos || s.Time.IsZero() == c.hasTime {
					t.Errorf("%+v", s)
				}
			}
		})
	}
}

func TestTimes(t *testing.T) {
	// Central European time is an hour ahead of UTC in winter and two in summer.
	berlin := zone(t, "Europe/Berlin")
	const want = "2024-05-03T10:11:12Z"
	for _, c := range []struct {
		name, header, cells, want string
		opt                       ingest.ReadOptions
	}{
		{"RFC 3339", "time", "2024-05-03T10:11:12Z", want, ingest.ReadOptions{}},
		// RFC 3339 section 5.8.
		{"RFC 3339 example", "time", "1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z", ingest.ReadOptions{}},
		{"fraction", "time", "2024-05-03T10:11:12.345Z", "2024-05-03T10:11:12.345Z", ingest.ReadOptions{}},
		{"comma fraction", "time", `"2024-05-03T10:11:12,345Z"`, "2024-05-03T10:11:12.345Z", ingest.ReadOptions{}},
		{"blank for T", "time", "2024-05-03 10:11:12Z", want, ingest.ReadOptions{}},
		{"blank before the zone", "time", "2024-05-03 10:11:12 UTC", want, ingest.ReadOptions{}},
		{"no seconds", "time", "2024-05-03T10:11Z", "2024-05-03T10:11:00Z", ingest.ReadOptions{}},
		{"offset", "time", "2024-05-03T12:11:12+02:00", want, ingest.ReadOptions{}},
		{"offset without colon", "time", "2024-05-03T04:41:12-0530", want, ingest.ReadOptions{}},
		{"zone in the header", "time (UTC)", "2024-05-03 10:11:12", want, ingest.ReadOptions{Zone: berlin}},
		{"offset before the zone in the header", "time (UTC)", "2024-05-03 12:11:12+02:00", want, ingest.ReadOptions{}},
		{"zone as the name", "utc", "2024-05-03 10:11:12", want, ingest.ReadOptions{}},
		{"zone given, summer", "time", "2024-05-03 12:11:12", want, ingest.ReadOptions{Zone: berlin}},
		{"zone given, winter", "time", "2024-01-03 12:11:12", "2024-01-03T11:11:12Z", ingest.ReadOptions{Zone: berlin}},
		{"year first with slashes", "time", "2024/05/03 10:11:12Z", want, ingest.ReadOptions{}},
		{"compact date", "time", "20240503 10:11:12Z", want, ingest.ReadOptions{}},
		{"day settled by itself", "time", "23/05/2024 10:11:12Z", "2024-05-23T10:11:12Z", ingest.ReadOptions{}},
		{"month settled by itself", "time", "05/23/2024 10:11:12Z", "2024-05-23T10:11:12Z", ingest.ReadOptions{}},
		{"both the same", "time", "5/5/2024 10:11:12Z", "2024-05-05T10:11:12Z", ingest.ReadOptions{}},
		{"points", "time", "23.05.2024 10:11:12Z", "2024-05-23T10:11:12Z", ingest.ReadOptions{}},
		{"afternoon", "time", `"5/23/2024, 10:11:12 PM"`, "2024-05-23T22:11:12Z", ingest.ReadOptions{Zone: time.UTC}},
		{"noon", "time", "2024-05-03 12:11 pm", "2024-05-03T12:11:00Z", ingest.ReadOptions{Zone: time.UTC}},
		{"midnight", "time", "2024-05-03 12:11a.m.", "2024-05-03T00:11:00Z", ingest.ReadOptions{Zone: time.UTC}},
		{"two columns", "date,time", "2024-05-03,10:11:12Z", want, ingest.ReadOptions{}},
		{"two columns, the other names", "Date,Clock", "2024-05-03,12:11:12", want, ingest.ReadOptions{Zone: berlin}},
		{"two columns, one holds all", "date,time", "2024-05-03,2024-05-03T10:11:12Z", want, ingest.ReadOptions{}},
		{"two columns, first empty", "date,time", ",2024-05-03T10:11:12Z", want, ingest.ReadOptions{}},
		{"two columns, midnight beside the clock", "date,time", "2024-05-03T00:00:00,10:11:12Z", want, ingest.ReadOptions{}},
		// 1714731072 is 2024-05-03T10:11:12Z: 19846 days of 86400 s since 1970 and 36672 s.
		{"epoch seconds", "time", "1714731072", want, ingest.ReadOptions{}},
		{"epoch with fraction", "time", "1714731072.25", "2024-05-03T10:11:12.25Z", ingest.ReadOptions{}},
		{"epoch milliseconds", "timestamp (ms)", "1714731072345", "2024-05-03T10:11:12.345Z", ingest.ReadOptions{}},
		{"clock offset on a number", "time", "1714731102", want, ingest.ReadOptions{ClockOffset: -30 * time.Second}},
		{"clock offset", "time", "2024-05-03T10:11:42Z", want, ingest.ReadOptions{ClockOffset: -30 * time.Second}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.header+",depth_m\n"+c.cells+",3\n", c.opt)
			if len(r.Soundings) != 1 || len(r.Problems) != 0 {
				t.Fatal(problems(r))
			}
			if got := r.Soundings[0].Time; !got.Equal(utc(c.want)) || got.Location() != time.UTC {
				t.Errorf("got %v, want %s", got, c.want)
			}
		})
	}
}

func TestBadTimes(t *testing.T) {
	for _, c := range []struct{ name, cell, wanted string }{
		{"three-digit year", "3/5/024 10:11Z", "a time such as 2006-01-02 15:04:05Z"},
		{"30 February", "2024-02-30T10:11Z", "a day of the calendar"},
		{"31 April, day first", "31/04/2024 10:11Z", "a day of the calendar"},
		{"month 13 of year first", "2024-13-01T10:11Z", "a day of the calendar"},
		{"two numbers above 12", "13/13/2024 10:11Z", "a day of the calendar"},
		{"hour 24", "2024-05-03T24:00Z", "a time such as 2006-01-02 15:04:05Z"},
		{"minute 60", "2024-05-03T10:60Z", "a time such as 2006-01-02 15:04:05Z"},
		{"hour 13 pm", "2024-05-03 13:00 pm", "a time such as 2006-01-02 15:04:05Z"},
		{"clock alone", "10:11:12", "a date beside the clock time"},
		{"date alone", "2024-05-03", "a clock time beside the date"},
		{"small number", "15000.5", "a time such as 2006-01-02 15:04:05Z"},
		{"before satellites", "1970-01-01T00:00:00Z", "a date from 1980 to 2100"},
		{"spreadsheet's day zero", "1899-12-30", "a date from 1980 to 2100"},
		{"unknown zone", "2024-05-03 10:11 CET", "a time such as 2006-01-02 15:04:05Z"},
		{"four parts", "2024-05-03-10", "a time such as 2006-01-02 15:04:05Z"},
		{"words", "yesterday", "a time such as 2006-01-02 15:04:05Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, "time,depth_m\n"+c.cell+",3\n", ingest.ReadOptions{Zone: time.UTC})
			if len(r.Soundings) != 0 || len(r.Problems) != 1 || !errors.Is(r.Problems[0], ingest.ErrTime) || r.Problems[0].Wanted != c.wanted {
				t.Errorf("%+v\n%s", r.Soundings, problems(r))
			}
		})
	}
}

func TestDateOrder(t *testing.T) {
	const a, b = "03/04/2024 10:00Z,1\n", "05/06/2024 10:00Z,2\n"
	times := func(r ingest.Records) (out []string) {
		for _, s := range r.Soundings {
			out = append(out, s.Time.Format("0102"))
		}
		return out
	}
	for _, c := range []struct{ name, rows, want string }{
		{"day first, said last", a + b + "13/06/2024 10:00Z,3\n", "[0403 0605 0613]"},
		{"month first, said last", a + b + "06/13/2024 10:00Z,3\n", "[0304 0506 0613]"},
		{"day first, said first", "13/06/2024 10:00Z,3\n" + a + b, "[0613 0403 0605]"},
		{"said between", a + "13/06/2024 10:00Z,3\n" + b, "[0403 0613 0605]"},
		{"no need to settle", "04/04/2024 10:00Z,1\n05/05/2024 10:00Z,1\n", "[0404 0505]"},
		{"year first is always clear", "2024-03-04T10:00Z,1\n" + a + "13/06/2024 10:00Z,3\n", "[0304 0403 0613]"},
		{"a row set aside still settles", a + "13/06/2024 10:00Z,\n13/06/2024 10:00Z,3\n", "[0403 0613]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := fmt.Sprint(times(read(t, "time,depth_m\n"+c.rows, ingest.ReadOptions{}))); got != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
	t.Run("events", func(t *testing.T) {
		r := read(t, "time,species\n03/04/2024 10:00Z,perch\n13/04/2024 10:00Z,perch\n", ingest.ReadOptions{})
		if got := r.Events[0].Time; !got.Equal(utc("2024-04-03T10:00:00Z")) {
			t.Error(got)
		}
	})
	t.Run("levels", func(t *testing.T) {
		r := read(t, "date,level_m\n03/04/2024,1\n13/04/2024,1\n", ingest.ReadOptions{})
		if got := r.Levels[0]; got.Date != "2024-04-03" || !got.Time.IsZero() {
			t.Error(got)
		}
	})
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name, text string
		opt        ingest.ReadOptions
		want       string
	}{
		{"dates of either order", "time,depth_m\n2024-01-01T10:00Z,1\n03/04/2024 10:00Z,1\n", ingest.ReadOptions{},
			`t.csv:3: date: "03/04/2024 10:00Z" may be 3 April 2024 or 4 March 2024, and no date in the file settles it; wanted the year first, as in 2024-04-03, or --date-order=dmy or --date-order=mdy to say which`},
		{"dates of both orders", "time,depth_m\n13/04/2024 10:00Z,1\n04/13/2024 10:00Z,1\n", ingest.ReadOptions{},
			`t.csv: date: line 2 has "13/04/2024 10:00Z", which is day first, line 3 has "04/13/2024 10:00Z", which is month first; wanted one order, best the year first`},
		{"time without zone", "time,depth_m\n2024-05-03T10:00:00Z,1\n2024-05-03T10:00:00,1\n", ingest.ReadOptions{},
			`t.csv:3: time: "2024-05-03T10:00:00" is a time without a zone, wanted Z or an offset such as +02:00 behind it, or --tz to say which zone the clock shows`},
		{"two columns without zone", "date,clock,depth_m\n2024-05-03,10:00,1\n", ingest.ReadOptions{},
			`t.csv:2: date: "2024-05-03 10:00" is a time without a zone, wanted Z or an offset such as +02:00 behind it, or --tz to say which zone the clock shows`},
		{"depth without unit", "time,depth\n2024-05-03T10:00:00Z,12.5\n", ingest.ReadOptions{},
			`t.csv: column "depth" has no unit (its first value is "12.5": 3.8 m if feet, 41 ft if metres); wanted it in the header, as depth_ft or depth_m, or said by --depth-unit=ft, --depth-unit=m or --depth-unit=fathom`},
		{"fish depth without unit", "time,species,depth\n2024-05-03T10:00:00Z,perch,12.5\n", ingest.ReadOptions{},
			`t.csv: column "depth" has no unit (its first value is "12.5": 3.8 m if feet, 41 ft if metres); wanted it in the header, as depth_ft or depth_m, or said by --depth-unit=ft, --depth-unit=m or --depth-unit=fathom`},
		{"level without unit", "date,level\n2024-05-03,12.5\n", ingest.ReadOptions{DepthUnit: "ft"},
			`t.csv: column "level" has no unit (its first value is "12.5"); wanted it in the header, as level_ft or level_m`},
		{"unknown unit by option", "time,depth\n2024-05-03T10:00:00Z,1\n", ingest.ReadOptions{DepthUnit: "ell"},
			`t.csv: depth unit "ell" is unknown, wanted m, ft or fathom`},
		{"positions alone", "time,lat,lon\n2024-05-03T10:00:00Z,36.5,-40\n", ingest.ReadOptions{},
			`t.csv:1: header "time,lat,lon" has time, latitude and longitude, but no column of a depth, a catch, a water level or wind; ` + accepted + "; a name that is not known is said by --column=NAME=WORD"},
		{"depth with half a position", "lat,depth_m\n36.5,3\n", ingest.ReadOptions{},
			`t.csv:1: header "lat,depth_m" has latitude and depth, but neither a time nor both lat and lon; ` + accepted + "; a name that is not known is said by --column=NAME=WORD"},
		{"header of other words", "\nname,colour\nx,red\n", ingest.ReadOptions{},
			`t.csv: no header found, the file begins with "name,colour"; ` + accepted},
		{"empty", "", ingest.ReadOptions{}, `t.csv: no header found, the file begins with nothing; ` + accepted},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(c.text), "t.csv", c.opt)
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
	t.Run("failing disk", func(t *testing.T) {
		broken := errors.New("disk gone")
		for _, text := range []string{"", "time,depth_m\n", "time,depth_m\n" + strings.Repeat("2024-05-03T10:00:00Z,1\n", 5000)} {
			if _, err := Read(io.MultiReader(strings.NewReader(text), iotest.ErrReader(broken)), "t.csv", ingest.ReadOptions{}); !errors.Is(err, broken) {
				t.Errorf("%d bytes: %v", len(text), err)
			}
		}
	})
}

func TestCatchLog(t *testing.T) {
	// The pound is 0.45359237 kg, the ounce a sixteenth, the inch 25.4 mm, by the
	// agreement of 1959; NIST SP 811 B.8 has the same.
	r := read(t, `time,lat,lon,kind,species,count,length_in,weight_lb,depth_ft,head_oz,trailer_in,note
2024-05-03T10:00:00Z,36.5,-40.25,Catch,perch,2,10,2,20,3/8,2.8,"on the fall, slow
second cast"
2024-05-03T10:05:00Z,,,bite
,36.5,-40.25
`, ingest.ReadOptions{})
	near := func(what string, got ingest.Maybe, want float64) {
		t.Helper()
		if !got.OK || math.Abs(got.V-want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	if len(r.Events) != 3 || len(r.Problems) != 0 || r.Source.TakenFor != "CSV catch log" {
		t.Fatalf("%+v\n%s", r, problems(r))
	}
	e := r.Events[0]
	near("length", e.LengthM, 0.254)
	near("weight", e.WeightKg, 0.90718474)
	near("fish depth", e.FishM, 6.096)
	near("head", e.HeadKg, 0.375*0.45359237/16)
	near("trailer", e.TrailerM, 0.07112)
	if e.Kind != ingest.Catch || e.Species != "perch" || e.Count != 2 || e.Note != "on the fall, slow\nsecond cast" || e.Line != 2 {
		t.Errorf("%+v", e)
	}
	if e := r.Events[1]; e.Kind != ingest.Bite || e.HasPos || e.Line != 4 || e.Count != 1 || e.FishM.OK {
		t.Errorf("%+v", e)
	}
	if e := r.Events[2]; !e.HasPos || !e.Time.IsZero() || e.Line != 5 {
		t.Errorf("%+v", e)
	}
	if len(r.Soundings) != 0 {
		t.Error("a fish's depth was taken for the bottom's")
	}
}

func TestHandTypedRowsMayEndEarly(t *testing.T) {
	r := read(t, "time,lat,lon,species,note\n2024-05-03T10:00:00Z,36.5,-40,perch\n2024-05-03T10:00:00Z", ingest.ReadOptions{})
	if len(r.Events) != 2 || len(r.Problems) != 0 {
		t.Errorf("%+v\n%s", r.Events, problems(r))
	}
}

func TestCatchRows(t *testing.T) {
	const head = "time,lat,lon,kind,count,length_cm,weight_kg,depth_m,head_g\n"
	const at = "2024-05-03T10:00:00Z,36.5,-40.25,"
	for _, c := range []struct {
		name, row          string
		problems           string
		repaired, setAside int
		check              func(e ingest.Event) bool
	}{
		{"metric", at + "mark,3,30,0.5,6,10.5", "", 0, 0, func(e ingest.Event) bool {
			return e.Kind == ingest.Mark && e.Count == 3 && e.LengthM == ingest.Known(0.3) && e.WeightKg == ingest.Known(0.5) && e.FishM == ingest.Known(6) && e.HeadKg.V > 0.01049 && e.HeadKg.V < 0.01051
		}},
		{"kind unknown", at + "strike", `t.csv:2: kind: "strike" is not a known word, wanted catch, bite, mark or bait; row set aside` + "\n", 0, 1, nil},
		{"kind none", at + "none", `t.csv:2: kind: "none" is not a known word, wanted catch, bite, mark or bait; row set aside` + "\n", 0, 1, nil},
		{"count of words", at + "catch,some", `t.csv:2: count: "some" is not a number, wanted a whole number; taken as one fish; row used without it` + "\n", 1, 0, func(e ingest.Event) bool { return e.Count == 1 }},
		{"half a fish", at + "catch,1.5", `t.csv:2: count: "1.5" is not a number, wanted a whole number of fish; row set aside` + "\n", 0, 1, nil},
		{"no fish", at + "catch,0", `t.csv:2: count: "0" is out of range, wanted 1 fish or more; row set aside` + "\n", 0, 1, nil},
		{"no fish in a word", at + "catch,none", `t.csv:2: count: "none" is out of range, wanted 1 fish or more; row set aside` + "\n", 0, 1, nil},
		{"length of words", at + "catch,1,long", `t.csv:2: length_cm: "long" is not a number, wanted a number in cm; row used without it` + "\n", 1, 0, func(e ingest.Event) bool { return !e.LengthM.OK }},
		{"length of nothing", at + "catch,1,0", `t.csv:2: length_cm: "0" is out of range, wanted a fish length that can be; row used without it` + "\n", 1, 0, func(e ingest.Event) bool { return !e.LengthM.OK }},
		{"fish above the water", at + "catch,1,30,0.5,-2", `t.csv:2: depth_m: "-2" is out of range, wanted a fish depth that can be; row used without it` + "\n", 1, 0, func(e ingest.Event) bool { return !e.FishM.OK }},
		{"date without clock, position", "2024-05-03,36.5,-40.25,catch", `t.csv:2: time: "2024-05-03" is not a time, wanted a clock time beside the date; row used without it` + "\n", 1, 0, func(e ingest.Event) bool { return e.HasPos && e.Time.IsZero() }},
		{"date without clock, no position", "2024-05-03,,,catch", `t.csv:2: time: "2024-05-03" is not a time, wanted a clock time beside the date; row set aside` + "\n", 0, 1, nil},
		{"0, 0 and a time", "2024-05-03T10:00:00Z,0,0,catch", "t.csv:2: lat: 0, 0 in 1 row, as receivers say before they know where they are; read without a position; row kept in doubt\n", 0, 0, func(e ingest.Event) bool { return !e.HasPos }},
		{"0, 0 and no time", ",0,0,catch", `t.csv:2: lat: "0, 0" is not a position, wanted where the boat was: receivers say 0, 0 before they know; row set aside` + "\n", 0, 1, nil},
		{"neither", ",,,catch", "t.csv:2: missing, wanted a time or a position; row set aside\n", 0, 1, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, head+c.row+"\n", ingest.ReadOptions{})
			if got := problems(r); got != c.problems {
				t.Errorf("got  %swant %s", got, c.problems)
			}
			if s := r.Source; s.Repaired != c.repaired || s.SetAside != c.setAside {
				t.Errorf("%+v", s)
			}
			if c.check != nil && !c.check(r.Events[0]) {
				t.Errorf("%+v", r.Events[0])
			}
		})
	}
}

func TestLevels(t *testing.T) {
	for _, c := range []struct {
		name, text string
		opt        ingest.ReadOptions
		want       ingest.Level
	}{
		{"date, feet", "Date,Lake Level (ft)\n2024-05-03,100\n", ingest.ReadOptions{}, ingest.Level{Date: "2024-05-03", LevelM: 30.48, Line: 2}},
		{"time, metres", "time;level_m\n2024-05-03T23:30:00Z;1,5\n", ingest.ReadOptions{}, ingest.Level{Date: "2024-05-03", Time: utc("2024-05-03T23:30:00Z"), LevelM: 1.5, Line: 2}},
		{"day told by the zone given", "time,level_m\n2024-05-03T23:30:00Z,1.5\n", ingest.ReadOptions{Zone: zone(t, "Europe/Berlin")}, ingest.Level{Date: "2024-05-04", Time: utc("2024-05-03T23:30:00Z"), LevelM: 1.5, Line: 2}},
		{"date and clock", "date,time,level_m\n2024-05-03,06:00Z,-1.5\n", ingest.ReadOptions{}, ingest.Level{Date: "2024-05-03", Time: utc("2024-05-03T06:00:00Z"), LevelM: -1.5, Line: 2}},
		{"date alone in a time column", "time,level_m\n2024-05-03,1.5\n", ingest.ReadOptions{}, ingest.Level{Date: "2024-05-03", LevelM: 1.5, Line: 2}},
		{"other columns left", "date,level_m,wind_mph\n2024-05-03,1.5,3\n", ingest.ReadOptions{}, ingest.Level{Date: "2024-05-03", LevelM: 1.5, Line: 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, c.opt)
			if len(r.Levels) != 1 || r.Levels[0] != c.want || r.Source.TakenFor != "CSV water levels" || len(r.Problems) != 0 {
				t.Errorf("got %+v\nwant %+v\n%s", r.Levels, c.want, problems(r))
			}
		})
	}
	for _, c := range []struct{ name, row, problems string }{
		{"no level", "2024-05-03,", "t.csv:2: level_m: missing, wanted a number; row set aside\n"},
		{"no date", ",3", "t.csv:2: missing, wanted a date or a time; row set aside\n"},
		{"bad date", "spring,3", `t.csv:2: date: "spring" is not a time, wanted a time such as 2006-01-02 15:04:05Z; row set aside` + "\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := problems(read(t, "date,level_m\n"+c.row+"\n", ingest.ReadOptions{})); got != c.problems {
				t.Errorf("got %s", got)
			}
		})
	}
}

func TestColumnProblems(t *testing.T) {
	for _, c := range []struct{ name, text, problems, columns string }{
		{"speed and temperature without unit", "time,depth_m,speed,temp\n2024-05-03T10:00:00Z,3,1,17\n2024-05-03T10:00:01Z,3,1,17\n",
			"t.csv: temp: missing, wanted a unit in the header, one of C, F; column not used; row kept in doubt\n" +
				"t.csv: speed: missing, wanted a unit in the header, one of mph, kn, m/s, km/h, ft/s; column not used; row kept in doubt\n",
			"[{time time } {depth_m depth m} {speed  } {temp  }]"},
		{"fish length without unit", "time,length\n2024-05-03T10:00:00Z,12\n",
			"t.csv: length: missing, wanted a unit in the header, one of ft, in, m, cm, mm, km, mi, fathom; column not used; row kept in doubt\n", "[{time time } {length  }]"},
		{"head with units in the cells", "time,head\n2024-05-03T10:00:00Z,3/8oz\n2024-05-03T10:00:00Z,10g\n", "", "[{time time } {head head weight in the cells}]"},
		{"two depths", "time,depth_m,depth_ft\n2024-05-03T10:00:00Z,3,9.8\n",
			`t.csv: depth_ft: not read, as "depth_m" is the depth already; row kept in doubt` + "\n", "[{time time } {depth_m depth m} {depth_ft  }]"},
		{"latitude alone", "time,lat,depth_m\n2024-05-03T10:00:00Z,36.5,3\n",
			"t.csv: lat: missing, wanted lon beside it; column not used; row kept in doubt\n", "[{time time } {lat  } {depth_m depth m}]"},
		{"zone in the header is told", "time (UTC),depth_m\n2024-05-03T10:00:00,3\n", "", "[{time (UTC) time UTC} {depth_m depth m}]"},
		{"unknown columns are listed", "time,depth_m,volts\n2024-05-03T10:00:00Z,3,12\n", "", "[{time time } {depth_m depth m} {volts  }]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			if got := problems(r); got != c.problems {
				t.Errorf("got  %s\nwant %s", got, c.problems)
			}
			if got := fmt.Sprint(r.Source.Columns); got != c.columns {
				t.Errorf("columns %s", got)
			}
			if r.Source.SetAside+r.Source.Repaired > 0 {
				t.Errorf("%+v", r.Source)
			}
		})
	}
}

func TestDamage(t *testing.T) {
	good := "2024-05-03T10:00:00Z,36.5,-40,3,ok\n"
	const head = "time,lat,lon,depth_m,mark\n"
	for _, c := range []struct {
		name, text     string
		used, setAside int
		problems       string
	}{
		{"quote never closed", head + good + strings.Replace(good, "ok", `"ok`, 1) + good + good, 3, 1,
			`t.csv:3: "2024-05-03T10:00:00Z,36.5,-40,3,\"ok" is a row of the wrong shape, wanted a closing quote; row set aside` + "\n"},
		{"quote never closed at the end", head + good + strings.Replace(good, "ok", `"ok`, 1), 1, 1,
			`t.csv:3: "2024-05-03T10:00:00Z,36.5,-40,3,\"ok" is a row of the wrong shape, wanted a closing quote; row set aside` + "\n"},
		{"quote never closed, another cell quoted below", head + strings.Replace(good, "ok", `"ok`, 1) + strings.Replace(good, ",3,", ",-,", 1) + strings.Replace(good, "ok", `"ok"`, 1), 1, 2,
			`t.csv:2: "2024-05-03T10:00:00Z,36.5,-40,3,\"ok" is a row of the wrong shape, wanted a closing quote; row set aside` + "\n" +
				`t.csv:3: depth_m: "-" is not a number, wanted a number; row set aside` + "\n"},
		{"inch sign", head + strings.Replace(good, "ok", `14" ok`, 1) + good, 2, 0, ""},
		{"last row cut", head + good + "2024-05-03T10:00:00Z,36.5,-4", 1, 1, "t.csv:3: file breaks off, wanted 5 cells as in the header; row set aside\n"},
		{"line too long", head + good + strings.Repeat("x", 2<<20) + "\n" + good, 2, 1,
			`t.csv:3: "` + strings.Repeat("x", 60) + `…" is a row of the wrong shape, wanted a line of at most 1 MiB; row set aside` + "\n"},
		{"zero bytes", head + good + "\x00\x00\x00\n" + good, 2, 1,
			`t.csv:3: "\x00\x00\x00" is a row of the wrong shape, wanted 5 cells as in the header, not 1; row set aside` + "\n"},
		{"header again", head + good + head + good, 2, 0, ""},
		{"carriage returns of every kind", strings.ReplaceAll(head+good, "\n", "\r\r\n") + strings.ReplaceAll(good, "\n", "\r\n") + good, 3, 0, ""},
		{"commented row", head + "#" + good + good, 1, 1,
			`t.csv:2: time: "#2024-05-03T10:00:00Z" is not a time, wanted a time such as 2006-01-02 15:04:05Z; row used without it` + "\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			if c.name == "commented row" {
				if r.Source.Used != 1 || r.Source.Repaired != 1 || problems(r) != c.problems {
					t.Errorf("%+v\n%s", r.Source, problems(r))
				}
				return
			}
			if s := r.Source; s.Used != c.used || s.SetAside != c.setAside {
				t.Errorf("%+v", s)
			}
			if got := problems(r); got != c.problems {
				t.Errorf("got  %s\nwant %s", got, c.problems)
			}
		})
	}
}

func TestClockChange(t *testing.T) {
	// Central European clocks went from 02:00 to 03:00 on 31 March 2024 at 01:00 UTC,
	// and from 03:00 to 02:00 on 27 October at 01:00 UTC.
	r := read(t, "time,depth_m\n2024-03-31 01:59,1\n2024-03-31 02:30,1\n2024-03-31 03:00,1\n2024-10-27 02:30,1\n2024-10-27 03:00,1\n",
		ingest.ReadOptions{Zone: zone(t, "Europe/Berlin")})
	for i, want := range []string{"2024-03-31T00:59:00Z", "2024-03-31T01:30:00Z", "2024-03-31T01:00:00Z", "2024-10-27T00:30:00Z", "2024-10-27T02:00:00Z"} {
		if got := r.Soundings[i].Time; !got.Equal(utc(want)) {
			t.Errorf("row %d: got %v, want %s", i, got, want)
		}
	}
	want := `t.csv:3: time: clocks show "2024-03-31 02:30" never as they change (1 row); read as before the change, wanted a zone behind it; row kept in doubt` + "\n" +
		`t.csv:5: time: clocks show "2024-10-27 02:30" twice as they change (1 row); read as before the change, wanted a zone behind it; row kept in doubt` + "\n"
	if got := problems(r); got != want {
		t.Error(got)
	}
}

func TestUTF16(t *testing.T) {
	text := "\xff\xfe"
	for _, r := range "time,depth_m,bäy\n2024-05-03T10:00:00Z,3,x\n" {
		text += string([]byte{byte(r), byte(r >> 8)})
	}
	r := read(t, text, ingest.ReadOptions{})
	if len(r.Soundings) != 1 || r.Source.Columns[2].Name != "bäy" {
		t.Errorf("%+v", r)
	}
}

func TestRecognise(t *testing.T) {
	for _, c := range []struct {
		name, head string
		want       bool
	}{
		{"depth log", "time,depth\n", true},
		{"below a preamble", strings.Repeat("setting: 1\n", 74) + "Date;Time;Depth (m)\n", true},
		{"header cut off", "time,depth,la", true},
		{"wind", "time,wind_mph\n", true},
		{"one known name", "time,colour\n", false},
		{"names in a text", "the time and depth\n", false},
		{"XML", "<gpx>\n", false},
		{"nothing", "", false},
		{"bytes", "\x00\x01\x02,\xff\xd8", false},
	} {
		if got := Recognise([]byte(c.head)); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
}

func TestHeaderNames(t *testing.T) {
	for _, c := range []struct {
		cell string
		role role
		unit string
		utc  bool
	}{
		{"Depth (ft)", colDepth, "ft", false},
		{"Depth(feet)", colDepth, "ft", false},
		{"depth_m", colDepth, "m", false},
		{"DepthFt", colDepth, "ft", false},
		{"Water Depth [m]", colDepth, "m", false},
		{"Depth, m", colDepth, "m", false},
		{"Depth (ft below surface)", colDepth, "ft", false},
		{"Depth (below surface)", colDepth, "", false},
		{"Wassertiefe (m)", colDepth, "m", false},
		{"WaterTemp", colTemp, "", false},
		{"water_temp_f", colTemp, "F", false},
		{"Temperature (deg C)", colTemp, "C", false},
		{"temp deg F", colTemp, "F", false},
		{"SOG (kts)", colSpeed, "kn", false},
		{"speed_mps", colSpeed, "m/s", false},
		{"Lat.", colLat, "", false},
		{"Longitude (°)", colLon, "", false},
		{"lng", colLon, "", false},
		{"Längengrad", colLon, "", false},
		{"Time_UTC", colTime, "", true},
		{"dateTime", colTime, "", false},
		{"timestamp_ms", colTime, "", false},
		{"UTC Date", colDate, "", true},
		{"length_in", colLength, "in", false},
		{"fish depth ft", colFishDepth, "ft", false},
		{"head_oz", colHead, "oz", false},
		{"trailer_in", colTrailer, "in", false},
		{"wind_from_deg", colWindFrom, "", false},
		{"wind_kn", colWind, "kn", false},
		{"Pool Elevation (ft)", colLevel, "ft", false},
		{"depth_of_field", unknown, "", false},
		{"stw_kn", unknown, "", false},
		{"m", unknown, "", false},
		{"", unknown, "", false},
		{"()", unknown, "", false},
	} {
		got := parseColumn(c.cell)
		if got.role != c.role || got.unit != c.unit || got.utc != c.utc {
			t.Errorf("%q: role %d unit %q utc %t", c.cell, got.role, got.unit, got.utc)
		}
	}
}

func TestNamesAreUnique(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range meanings {
		for _, n := range strings.Split(m.names, "|") {
			if n != "" && (seen[n] || plain(n) != n) {
				t.Errorf("%q is listed twice, or never met as written", n)
			}
			seen[n] = true
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("time,lat,lon,depth_ft,temp_c\n2024-05-03T10:00:00Z,36.5,-40.25,10,17\n")
	f.Add("Date;Time;Depth (m)\n3/4/2024;10:11:12 pm;3,5\n13/4/2024;10:11;--\n")
	f.Add("time,kind,count,head_oz,note\n1714731072,bite,2,3/8,\"a\nb\"\n")
	f.Add("date\tlevel_ft\n2024-05-03\t3\n")
	f.Add("time  x  y  wind_kn  wind_from_deg\n48125.5  1.5  2.5  7  NNE\n")
	f.Add("date,time,n/s,lat,lon,depth,depth_m\n04.10.31,125959,N,36 30 18,-40:15,-3,4\n05.10.31,010000,S,36,-40,-3,4\n,,,,,ft,\n")
	berlin, _ := time.LoadLocation("Europe/Berlin")
	f.Fuzz(func(t *testing.T, text string) {
		opt := ingest.ReadOptions{Zone: time.UTC, DepthUnit: "ft"}
		switch len(text) % 3 {
		case 1:
			opt = ingest.ReadOptions{Zone: berlin, DateOrder: "dmy", Columns: map[string]string{"x": "lat", "y": "lon", "z": "depth_m"}}
		case 2:
			opt = ingest.ReadOptions{Zone: berlin, DateOrder: "ymd", Columns: map[string]string{"1": "time", "3": "depth_m"}, ClockOffset: time.Hour}
		}
		r, err := Read(strings.NewReader(text), "f.csv", opt)
		if bad := (*csv.ParseError)(nil); errors.As(err, &bad) {
			t.Fatal("a row cost the file:", err)
		}
		if err != nil {
			return
		}
		balance(t, r)
		known := func(m ingest.Maybe) bool { return !math.IsNaN(m.V) && !math.IsInf(m.V, 0) }
		placed := func(at time.Time, pos orb.Point, has bool) bool {
			return has && math.Abs(pos.Lat()) <= 90 && math.Abs(pos.Lon()) <= 180 || !has && !at.IsZero()
		}
		for _, s := range r.Soundings {
			if !placed(s.Time, s.Pos, s.HasPos) || !known(ingest.Known(s.DepthM)) || !known(s.TempC) || !known(s.SpeedMPS) || s.Line < 1 {
				t.Fatalf("%+v", s)
			}
		}
		for _, e := range r.Events {
			if !placed(e.Time, e.Pos, e.HasPos) || e.Count < 1 || !known(e.LengthM) || !known(e.HeadKg) || !known(e.FishM) || e.Line < 1 {
				t.Fatalf("%+v", e)
			}
		}
		for _, l := range r.Levels {
			if len(l.Date) != 10 || !known(ingest.Known(l.LevelM)) {
				t.Fatalf("%+v", l)
			}
		}
		for _, w := range r.Winds {
			if w.Time.IsZero() || w.FromDeg < 0 || w.FromDeg >= 360 || !(w.SpeedMPS >= 0) {
				t.Fatalf("%+v", w)
			}
		}
		for _, p := range r.Problems {
			if p.Kind == nil || p.Error() == "" || p.Outcome != ingest.SetAside && p.Row != "" || len(p.Row) > rowBytes {
				t.Fatal(p)
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var rows strings.Builder
	rows.WriteString("time,lat,lon,depth_ft,water_temp_f,speed_kn\n")
	at := utc("2024-05-03T06:00:00Z")
	for i := range 100000 {
		fmt.Fprintf(&rows, "%s,%.7f,%.7f,%.1f,63.5,0.6\n", at.Add(time.Duration(i)*time.Second).Format(time.RFC3339), 36.5+float64(i)*1e-6, -40+float64(i)*2e-6, 15+float64(i%200)/10)
	}
	text := rows.String()
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		r, err := Read(strings.NewReader(text), "b.csv", ingest.ReadOptions{})
		if err != nil || len(r.Soundings) != 100000 {
			b.Fatal(err, len(r.Soundings))
		}
	}
}
