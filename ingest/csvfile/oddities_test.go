package csvfile

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// Layouts that all say the same two rows.
func TestLayouts(t *testing.T) {
	plain := "time,lat,lon,depth_m\n2031-10-04T12:00:01Z,36.5,-40.25,6.25\n2031-10-04T12:00:02Z,36.6,-40.26,6.5\n"
	want := read(t, plain, ingest.ReadOptions{}).Soundings
	wide := func(s string, little, mark bool) string {
		var b strings.Builder
		if mark {
			s = "\ufeff" + s
		}
		for _, r := range s {
			if little {
				b.Write([]byte{byte(r), byte(r >> 8)})
			} else {
				b.Write([]byte{byte(r >> 8), byte(r)})
			}
		}
		return b.String()
	}
	with := func(oldNew ...string) string { return strings.NewReplacer(oldNew...).Replace(plain) }
	for _, c := range []struct {
		name, text string
		opt        ingest.ReadOptions
	}{
		{"semicolons", with(",", ";"), ingest.ReadOptions{}},
		{"tabs", with(",", "\t"), ingest.ReadOptions{}},
		{"bars", with(",", "|"), ingest.ReadOptions{}},
		{"blanks", with(",", "   "), ingest.ReadOptions{}},
		{"one blank", with(",", " "), ingest.ReadOptions{}},
		{"columns of fixed width", "time                  lat   lon     Depth (m)\n2031-10-04 12:00:01Z  36.5  -40.25  6.25\n2031-10-04 12:00:02Z  36.6  -40.26  6.5\n", ingest.ReadOptions{}},
		{"semicolons, decimal commas", strings.ReplaceAll(with(",", ";"), ".", ","), ingest.ReadOptions{}},
		{"semicolons, points in positions, commas in depths", strings.NewReplacer("6.25", "6,25", "6.5\n", "6,5\n").Replace(with(",", ";")), ingest.ReadOptions{}},
		{"byte order mark", "\ufeff" + plain, ingest.ReadOptions{}},
		{"UTF-16, little end first", wide(plain, true, true), ingest.ReadOptions{}},
		{"UTF-16, big end first", wide(plain, false, true), ingest.ReadOptions{}},
		{"UTF-16 without a mark, little end first", wide(plain, true, false), ingest.ReadOptions{}},
		{"UTF-16 without a mark, big end first", wide(plain, false, false), ingest.ReadOptions{}},
		{"carriage returns alone", with("\n", "\r"), ingest.ReadOptions{}},
		{"two carriage returns and a line feed", with("\n", "\r\r\n"), ingest.ReadOptions{}},
		{"line ends mixed", strings.Replace(plain, "\n", "\r\n", 1), ingest.ReadOptions{}},
		{"quoted", with(",", `","`, "\n2", "\"\n\"2", "time", `"time`, "6.5\n", "6.5\"\n"), ingest.ReadOptions{}},
		{"a row of units", strings.Replace(with("depth_m", "depth"), "\n", "\nUTC,deg,deg,m\n", 1), ingest.ReadOptions{}},
		{"a row of units in brackets", strings.Replace(with("depth_m", "depth"), "\n", "\n,(deg),(deg),(m)\n", 1), ingest.ReadOptions{DepthUnit: "ft"}},
		{"the header and units again", strings.Replace(strings.Replace(with("depth_m", "depth"), "\n", "\n,,,[m]\n", 1), "\n2031-10-04T12:00:02", "\ntime,lat,lon,depth\n,,,[m]\n2031-10-04T12:00:02", 1), ingest.ReadOptions{}},
		{"comments between", strings.Replace(plain, "\n2", "\n# a\n% b\n// c\n\n! d\n2", 2), ingest.ReadOptions{}},
		{"header behind a percent sign", "% " + plain, ingest.ReadOptions{}},
		{"no header", plain[strings.IndexByte(plain, '\n')+1:], ingest.ReadOptions{Columns: map[string]string{"1": "time", "2": "lat", "3": "lon", "4": "depth_m"}}},
		{"no header, decimal commas", strings.ReplaceAll(strings.ReplaceAll(plain[strings.IndexByte(plain, '\n')+1:], ",", ";"), ".", ","), ingest.ReadOptions{Columns: map[string]string{"1": "time", "2": "lat", "3": "lon", "4": "depth_m"}}},
		{"axes named by a person", with("lat", "x", "lon", "y"), ingest.ReadOptions{Columns: map[string]string{"X": "lat", "y": "lon"}}},
		{"unknown names said by place", "a,b,c,d" + plain[strings.IndexByte(plain, '\n'):], ingest.ReadOptions{Columns: map[string]string{"1": "time", "2": "lat", "3": "lon", "4": "depth_m"}}},
		{"unknown names said by name", "a,b,c,d" + plain[strings.IndexByte(plain, '\n'):], ingest.ReadOptions{Columns: map[string]string{"a": "time", "b": "lat", "c": "lon", "d": "depth_m"}}},
		{"said wins over the header", with("lat", "lon", "lon", "lat"), ingest.ReadOptions{Columns: map[string]string{"2": "lat", "3": "lon"}}},
		{"a column said not to be read", with("depth_m", "depth_ft,depth_m", "6.25", "99,6.25", "6.5\n", "99,6.5\n"), ingest.ReadOptions{Columns: map[string]string{"depth_ft": "none"}}},
		{"more cells than names, said", with("6.25", "6.25,x", "6.5\n", "6.5,y\n"), ingest.ReadOptions{Columns: map[string]string{"5": "none"}}},
		{"hemispheres in cells of their own", with("lon,", "lon,E/W,", "lat,", "lat,N/S,", "36.5,-40.25", "36.5,N,40.25,W", "36.6,-40.26", "36.6,N,40.26,w"), ingest.ReadOptions{}},
		{"German", with("time", "Zeitstempel", "lat", "Breite", "lon", "Länge", "depth_m", "Tiefe [m]"), ingest.ReadOptions{}},
		{"French", with("time", "Horodatage", "lat", "Latitude", "lon", "Longitude", "depth_m", "Profondeur (m)"), ingest.ReadOptions{}},
		{"Spanish", with("time", "Fecha y hora", "lat", "Latitud", "lon", "Longitud", "depth_m", "Profundidad (m)"), ingest.ReadOptions{}},
		{"Italian", with("time", "Data e ora", "lat", "Latitudine", "lon", "Longitudine", "depth_m", "Profondità (m)"), ingest.ReadOptions{}},
		{"misspelt", with("lat", "Lattitude", "lon", " Long.", "depth_m", "Depht (m)"), ingest.ReadOptions{}},
		{"a hundred settings above", strings.Repeat("gain: 7, 3, 1\n", 100) + plain, ingest.ReadOptions{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, c.opt)
			if len(r.Problems) > 0 || len(r.Soundings) != len(want) {
				t.Fatalf("%d soundings\n%s", len(r.Soundings), problems(r))
			}
			for i, s := range r.Soundings {
				s.Line = want[i].Line
				if s != want[i] {
					t.Errorf("got %+v\nwant %+v", s, want[i])
				}
			}
			if !RecogniseAs([]byte(c.text), c.opt.Columns) {
				t.Error("read, but not recognised")
			}
		})
	}
}

func TestRefusedLayouts(t *testing.T) {
	const row = "36.5012,-40.0021,-6.2\n"
	for _, c := range []struct {
		name, text string
		opt        ingest.ReadOptions
		want       string
	}{
		{"axes", "x, y, z\n" + row + row, ingest.ReadOptions{},
			`t.csv:1: header "x,y,z": x and y don't say which is latitude and which longitude; the first row can be read as latitude 36.5012, longitude -40.0021 by --column=x=lat --column=y=lon, or as latitude -40.0021, longitude 36.5012 by --column=y=lat --column=x=lon; other columns alike, as in --column=z=depth_m`},
		{"axes that read one way", "x,y,z\n136.5,-40,-6.2\n", ingest.ReadOptions{},
			`t.csv:1: header "x,y,z": x and y don't say which is latitude and which longitude; the first row can be read as latitude -40, longitude 136.5 by --column=y=lat --column=x=lon; other columns alike, as in --column=z=depth_m`},
		{"axes in metres", "easting,northing,depth_m\n512345.1,4039871.2,6.2\n", ingest.ReadOptions{},
			`t.csv:1: header "easting,northing,depth_m": easting and northing don't say which is latitude and which longitude, and 512345.1, 4039871.2 in the first row can be neither way: they look like metres of a grid; wanted lat and lon in degrees`},
		{"no header", "2031-10-04T12:00:01Z;36,5;-40,25\n2031-10-04T12:00:02Z;36,5;-40,25\n", ingest.ReadOptions{},
			`t.csv: no header says what the columns are (the first row is "2031-10-04T12:00:01Z;36,5;-40,25"); wanted a line of names above them, or each column said by its place, as in --column=1=time --column=2=lat --column=3=lon --column=4=depth_ft`},
		{"metres called degrees", "time,lat,lon,depth_m\n2031-10-04T12:00:01Z,4039871.2,512345.1,6\n2031-10-04T12:00:02Z,4039872.2,512345.1,6\n2031-10-04T12:00:03Z,36.5,-40,6\n", ingest.ReadOptions{},
			`t.csv:2: "4039871.2, 512345.1" and 1 more of 3 positions in columns "lat" and "lon" are no degrees; they look like metres of a grid, or degrees and minutes run together; wanted degrees from -90 to 90 and -180 to 180`},
		{"all rows have more cells", "time,lat,lon,depth_m\n2031-10-04T12:00:01Z,36,5,-40,1\n2031-10-04T12:00:02Z,36,5,-40,1\n", ingest.ReadOptions{},
			`t.csv:2: all rows have 5 cells, as "2031-10-04T12:00:01Z,36,5,-40,1", and the header names 4; wanted a name for each, or a decimal comma not to be taken for one between cells, or the cells said by place, as in --column=5=none`},
		{"no depth", "time,lat,lon,temp_c\n2031-10-04T12:00:01Z,36.5,-40,17\n", ingest.ReadOptions{},
			`t.csv:1: header "time,lat,lon,temp_c" has time, latitude, longitude and water temperature, but no column of a depth, a catch, a water level or wind; ` + accepted + `; a name that is not known is said by --column=NAME=WORD`},
		{"wind without direction", "time,wind_mph\n2031-10-04T12:00:01Z,3\n", ingest.ReadOptions{},
			`t.csv:1: header "time,wind_mph" has time and wind speed, but no direction that the wind is from (wind_from_deg); ` + accepted + `; a name that is not known is said by --column=NAME=WORD`},
		{"wind without unit", "time,wind,wind_from_deg\n2031-10-04T12:00:01Z,3,200\n", ingest.ReadOptions{},
			`t.csv: column "wind" has no unit (its first value is "3"); wanted it in the header, as wind_mph, wind_kn, wind_mps or wind_kmh`},
		{"two tables", "time,depth_m\n2031-10-04T12:00:01Z,3\nlat,lon,depth_ft\n36.5,-40,3\n", ingest.ReadOptions{},
			`t.csv:3: here begins another table, with the header "lat,lon,depth_ft"; wanted one table in a file`},
		{"units against the header", "time,depth_m\n,ft\n2031-10-04T12:00:01Z,3\n", ingest.ReadOptions{},
			`t.csv:2: the row under the header says ft for "depth_m"; wanted one unit`},
		{"depth without unit, the rest American", "time,depth,temp_f\n2031-10-04T12:00:01Z,12.5,63\n", ingest.ReadOptions{},
			`t.csv: column "depth" has no unit (its first value is "12.5": 3.8 m if feet, 41 ft if metres; probably feet, as "temp_f" is in F); wanted it in the header, as depth_ft or depth_m, or said by --depth-unit=ft, --depth-unit=m or --depth-unit=fathom`},
		{"depth without unit, the rest metric", "time,depth,temp_c\n2031-10-04T12:00:01Z,12.5,17\n", ingest.ReadOptions{},
			`t.csv: column "depth" has no unit (its first value is "12.5": 3.8 m if feet, 41 ft if metres; probably metres, as "temp_c" is in C); wanted it in the header, as depth_ft or depth_m, or said by --depth-unit=ft, --depth-unit=m or --depth-unit=fathom`},
		{"a word that is none", "time,depth_m\n2031-10-04T12:00:01Z,3\n", ingest.ReadOptions{Columns: map[string]string{"z": "hight"}},
			`t.csv: column "z": "hight" is not a known word, wanted one such as time, date, lat, lon, depth_ft, depth_m, temp_c, species or none`},
		{"an order that is none", "time,depth_m\n2031-10-04T12:00:01Z,3\n", ingest.ReadOptions{DateOrder: "ydm"},
			`t.csv: order of dates "ydm" is unknown, wanted ymd, dmy or mdy`},
		{"midnight and no position", "time,depth_m\n2031-10-04T00:00:00Z,3\n2031-10-04T00:00:00Z,4\n", ingest.ReadOptions{},
			`t.csv: the time is midnight in every row, so no clock time was recorded, and no row has a position; wanted one or the other`},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Read(strings.NewReader(c.text), "t.csv", c.opt)
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s\n%s", err, c.want, problems(r))
			}
			if !RecogniseAs([]byte(c.text), c.opt.Columns) {
				t.Error("refused, but not recognised")
			}
		})
	}
}

func TestMoreTimes(t *testing.T) {
	west := zone(t, "Etc/GMT+3") // three hours behind UTC
	for _, c := range []struct{ name, header, cells, want string }{
		{"month by name", "time", "4 Oct 2031 09:00:01", "2031-10-04T12:00:01Z"},
		{"month by name, dashes", "time", "04-Oct-2031 09:00:01", "2031-10-04T12:00:01Z"},
		{"month by name, two digits of the year", "time", "14-Apr-31 09:00:01", "2031-04-14T12:00:01Z"},
		{"month first by name", "time", `"Oct 4, 2031 09:00:01 AM"`, "2031-10-04T12:00:01Z"},
		{"month by its whole name", "time", "4 October 2031 09:00", "2031-10-04T12:00:00Z"},
		{"month between, year first", "time", "2031-Oct-04 09:00:01", "2031-10-04T12:00:01Z"},
		{"German month", "time", "4. Okt. 2031 09:00", "2031-10-04T12:00:00Z"},
		// RFC 5322 section 3.3 has this form.
		{"day of the week", "time", `"Sat, 04 Oct 2031 12:00:01 +0000"`, "2031-10-04T12:00:01Z"},
		{"two digits of the year, day settles it", "time", "24.10.32 09:00:01", "2032-10-24T12:00:01Z"},
		{"digits alone", "time", "20311004 090001", "2031-10-04T12:00:01Z"},
		{"digits alone, one run", "time", "20311004090001", "2031-10-04T12:00:01Z"},
		{"digits alone, T", "time", "20311004T120001Z", "2031-10-04T12:00:01Z"},
		{"clock of digits", "date,time", "2031-10-04,090259", "2031-10-04T12:02:59Z"},
		{"clock of digits with its zero lost", "date,time", "2031-10-04,90259", "2031-10-04T12:02:59Z"},
		{"clock of digits with a fraction", "date,time", "2031-10-04,090259.50", "2031-10-04T12:02:59.5Z"},
		{"clock of four digits", "date,time", "2031-10-04,0902", "2031-10-04T12:02:00Z"},
		// 2031-10-04 is 48125 days after 1899-12-30.
		{"spreadsheet's day", "time", "48125.5", "2031-10-04T15:00:00Z"},
		{"spreadsheet's day, digits lost", "time", "48125.3750115741", "2031-10-04T12:00:01Z"},
		{"spreadsheet's day and clock", "date,time", "48125,0.5", "2031-10-04T15:00:00Z"},
		{"spreadsheet's day beside a clock", "date,time", "48125,09:00:01", "2031-10-04T12:00:01Z"},
		{"clock with a spreadsheet's day zero", "date,time", "2031-10-04,1899-12-30 09:00:01", "2031-10-04T12:00:01Z"},
		{"clock with another day zero", "date,time", "2031-10-04,1900-01-01T09:00:01", "2031-10-04T12:00:01Z"},
		{"clock with a day zero, day first", "date,time", "2031-10-04,30.12.1899 09:00:01", "2031-10-04T12:00:01Z"},
		{"afternoon", "date,time", "2031-10-04,01:00:01 PM", "2031-10-04T16:00:01Z"},
		{"UTC before local", "time,utc time", "2031-10-04 09:30:01,2031-10-04 12:00:01", "2031-10-04T12:00:01Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.header+",depth_m\n"+c.cells+",3\n", ingest.ReadOptions{Zone: west})
			if len(r.Soundings) != 1 {
				t.Fatal(problems(r))
			}
			if got := r.Soundings[0].Time; !got.Equal(utc(c.want)) || got.Location() != time.UTC {
				t.Errorf("got %v, want %s", got, c.want)
			}
		})
	}
	t.Run("spreadsheet's midnight among its other times", func(t *testing.T) {
		r := read(t, "time,depth_m\n48125.999988426,3\n48126,3\n", ingest.ReadOptions{Zone: west})
		if len(r.Soundings) != 2 || !r.Soundings[1].Time.Equal(utc("2031-10-05T03:00:00Z")) {
			t.Errorf("%+v\n%s", r.Soundings, problems(r))
		}
	})
	for _, c := range []struct{ name, text, wanted string }{
		{"day zero alone", "time,depth_m\n1899-12-30 09:00:01,3\n", "a date beside the clock time"},
		{"two signs between", "time,depth_m\n13-04/2031 10:00,3\n", "a time such as 2006-01-02 15:04:05Z"},
		{"clock of no clock", "date,time,depth_m\n2031-10-04,096159,3\n", "a time such as 2006-01-02 15:04:05Z"},
		{"clock alone in digits", "time,depth_m\n080259,3\n", "a date beside the clock time"},
		{"spreadsheet's day alone", "time,depth_m\n48125,3\n", "a clock time beside the date"},
		{"month of no calendar", "time,depth_m\n4 Foo 2031 09:00,3\n", "a time such as 2006-01-02 15:04:05Z"},
		{"31 February by name", "time,depth_m\n31 Feb 2031 09:00,3\n", "a day of the calendar"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{Zone: west})
			if len(r.Soundings) != 0 || len(r.Problems) != 1 || r.Problems[0].Wanted != c.wanted {
				t.Errorf("%+v\n%s", r.Soundings, problems(r))
			}
		})
	}
}

func TestOrdersOfDates(t *testing.T) {
	for _, c := range []struct{ name, rows, order, want string }{
		{"said, four digits", "03/04/2031 10:00Z,1\n", "mdy", "[2031-03-04]"},
		{"said, four digits, day first", "03/04/2031 10:00Z,1\n", "dmy", "[2031-04-03]"},
		{"said, two digits, year first", "03/04/05 10:00Z,1\n", "ymd", "[2003-04-05]"},
		{"said, two digits", "03/04/05 10:00Z,1\n", "dmy", "[2005-04-03]"},
		{"the column before what is said", "03/04/2031 10:00Z,1\n13/04/2031 10:00Z,1\n", "mdy", "[2031-04-03 2031-04-13]"},
		{"two digits settled by two rows", "03/04/05 10:00Z,1\n31/04/05 10:00Z,1\n03/31/05 10:00Z,1\n", "", `t.csv: date: line 3 has "31/04/05 10:00Z", which is year first, line 4 has "03/31/05 10:00Z", which is month first; wanted one order, best the year first`},
		{"two digits settled", "03/04/05 10:00Z,1\n31/12/05 10:00Z,1\n13/04/32 10:00Z,1\n", "", "[2005-04-03 2005-12-31 2032-04-13]"},
		{"two digits, the last century", "31/12/99 10:00Z,1\n", "", "[1999-12-31]"},
		{"digits alone, day first", "04102031 10:00Z,1\n14102031 10:00Z,1\n", "", "[2031-10-04 2031-10-14]"},
		{"year first beside day first settles nothing", "2031-03-04T10:00:00Z,1\n03/04/2031 10:00Z,1\n", "", `t.csv:3: date: "03/04/2031 10:00Z" may be 3 April 2031 or 4 March 2031, and no date in the file settles it; wanted the year first, as in 2031-04-03, or --date-order=dmy or --date-order=mdy to say which`},
		{"two digits, three ways", "03/04/05 10:00Z,1\n", "", `t.csv:2: date: "03/04/05 10:00Z" may be 5 April 2003 or 3 April 2005 or 4 March 2005, and no date in the file settles it; wanted the year first, as in 2003-04-05, or --date-order=ymd or --date-order=dmy or --date-order=mdy to say which`},
		{"said order that a date can't have", "03/04/2031 10:00Z,1\n", "ymd", `t.csv:2: date: "03/04/2031 10:00Z" may be 3 April 2031 or 4 March 2031, and no date in the file settles it; wanted the year first, as in 2031-04-03, or --date-order=dmy or --date-order=mdy to say which`},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Read(strings.NewReader("time,depth_m\n"+c.rows), "t.csv", ingest.ReadOptions{DateOrder: c.order})
			var got []string
			for _, s := range r.Soundings {
				got = append(got, s.Time.Format(time.DateOnly))
			}
			if s := fmt.Sprint(got); err == nil && s != c.want || err != nil && err.Error() != c.want {
				t.Errorf("got %s, %v\nwant %s", s, err, c.want)
			}
		})
	}
}

// TestSequence holds what the order of rows tells of a clock.
func TestSequence(t *testing.T) {
	for _, c := range []struct{ name, clocks, want, problems string }{
		{"12-hour clock", "12:59:58 12:59:59 01:00:00 01:00:01", "12:59:58 12:59:59 13:00:00 13:00:01",
			"t.csv:4: time: a 12-hour clock that says neither am nor pm goes from 12 to 1; read as running on, which moves 2 rows by 12 hours; row kept in doubt\n"},
		{"12-hour clock from the morning, with a break at noon", "07:00:00 12:58:00 01:03:00 05:00:00", "07:00:00 12:58:00 13:03:00 17:00:00",
			"t.csv:4: time: a 12-hour clock that says neither am nor pm goes from 12 to 1; read as running on, which moves 2 rows by 12 hours; row kept in doubt\n"},
		{"12-hour clock put back a little", "12:59:59 01:00:00 12:59:59 01:00:01 01:00:00", "12:59:59 13:00:00 12:59:59 13:00:01 13:00:00",
			"t.csv:3: time: a 12-hour clock that says neither am nor pm goes from 12 to 1; read as running on, which moves 3 rows by 12 hours; row kept in doubt\n"},
		{"24-hour clock put back", "12:59:59 01:00:00 13:00:00", "12:59:59 01:00:00 13:00:00", ""},
		{"24-hour clock by its midnight", "00:10:00 12:59:59 01:00:00", "00:10:00 12:59:59 01:00:00", ""},
		{"too long a step for the 12-hour clock", "12:30:00 01:00:00", "12:30:00 01:00:00", ""},
		{"12-hour clock with its halves", "12:59:59pm 01:00:00pm", "12:59:59 13:00:00", ""},
		{"12-hour clock with its halves put back", "12:59:59pm 01:00:00am 02:00:00am", "12:59:59 01:00:00 02:00:00", ""},
		{"12-hour clock put back in the morning", "07:00:00 06:59:58 12:59:59 01:00:00", "07:00:00 06:59:58 12:59:59 13:00:00",
			"t.csv:5: time: a 12-hour clock that says neither am nor pm goes from 12 to 1; read as running on, which moves 1 row by 12 hours; row kept in doubt\n"},
		{"minute that is not late", "08:02:59 08:02:00 08:04:30", "08:02:59 08:02:00 08:04:30", ""},
		{"late minute", "08:02:58 08:02:59 08:02:00 08:03:01", "08:02:58 08:02:59 08:03:00 08:03:01",
			"t.csv:4: time: the minute of 08:02:00 UTC follows a row late, as the rows above and below tell; read a minute on in 1 row; row kept in doubt\n"},
		{"late minute, digits alone", "080259 080200 080301", "08:02:59 08:03:00 08:03:01",
			"t.csv:3: time: the minute of 08:02:00 UTC follows a row late, as the rows above and below tell; read a minute on in 1 row; row kept in doubt\n"},
		{"clock put back", "08:02:59 08:02:00 08:02:01", "08:02:59 08:02:00 08:02:01", ""},
		{"clock put back at the end", "08:02:59 08:02:00", "08:02:59 08:02:00", ""},
		{"clock put back by hours", "12:00:00 08:00:00 08:00:01", "12:00:00 08:00:00 08:00:01", ""},
		{"the same second twice", "08:00:00 08:00:00 08:00:01", "08:00:00 08:00:00 08:00:01", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := "date,time,depth_m\n"
			for _, w := range strings.Fields(c.clocks) {
				text += "2031-10-04," + w + ",3\n"
			}
			r := read(t, text, ingest.ReadOptions{Zone: time.UTC, ClockOffset: time.Hour})
			var got []string
			for i, s := range r.Soundings {
				got = append(got, s.Time.Add(-time.Hour).Format(time.TimeOnly))
				if s.Line != i+2 {
					t.Errorf("row %d is from line %d", i, s.Line)
				}
			}
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("got %s, want %s", s, c.want)
			}
			if p := strings.ReplaceAll(problems(r), "09:0", "08:0"); p != c.problems {
				t.Errorf("got  %swant %s", p, c.problems)
			}
		})
	}
	t.Run("over midnight", func(t *testing.T) {
		r := read(t, "date,time,depth_m\n2031-10-04,12:59:59,3\n2031-10-04,01:00:00,3\n2031-10-04,11:59:59,3\n2031-10-05,12:00:00,3\n2031-10-05,01:00:00,3\n",
			ingest.ReadOptions{Zone: zone(t, "Etc/GMT+3")})
		for i, want := range []string{"2031-10-04T15:59:59Z", "2031-10-04T16:00:00Z", "2031-10-05T02:59:59Z", "2031-10-05T03:00:00Z", "2031-10-05T04:00:00Z"} {
			if got := r.Soundings[i].Time; !got.Equal(utc(want)) {
				t.Errorf("row %d: %v, want %s", i, got, want)
			}
		}
	})
	t.Run("midnight in every row", func(t *testing.T) {
		r := read(t, "time,lat,lon,depth_m\n2031-10-04T00:00:00,36.5,-40,3\n2031-10-05T00:00:00,36.5,-40,3\n", ingest.ReadOptions{Zone: time.UTC})
		if len(r.Soundings) != 2 || !r.Soundings[0].Time.IsZero() || !r.Soundings[1].Time.IsZero() ||
			problems(r) != "t.csv: time: is midnight in every row, so no clock time was recorded; 2 rows read without a time; row kept in doubt\n" {
			t.Errorf("%+v\n%s", r.Soundings, problems(r))
		}
	})
	t.Run("midnight in one row of several", func(t *testing.T) {
		r := read(t, "time,lat,lon,depth_m\n2031-10-04T00:00:00,36.5,-40,3\n2031-10-04T00:00:01,36.5,-40,3\n", ingest.ReadOptions{Zone: time.UTC})
		if r.Soundings[0].Time.IsZero() || len(r.Problems) > 0 {
			t.Errorf("%+v\n%s", r.Soundings, problems(r))
		}
	})
	t.Run("midnight in every catch", func(t *testing.T) {
		r := read(t, "time,lat,lon,species\n2031-10-04T00:00:00Z,36.5,-40,perch\n2031-10-05T00:00:00Z,36.5,-40,perch\n", ingest.ReadOptions{})
		if !r.Events[0].Time.IsZero() || !r.Events[1].Time.IsZero() || len(r.Problems) != 1 {
			t.Errorf("%+v\n%s", r.Events, problems(r))
		}
	})
}

func TestZones(t *testing.T) {
	west := zone(t, "Etc/GMT+3")
	for _, c := range []struct{ name, rows, zone, problems string }{
		{"none needed", "2031-10-04T12:00:00Z,1\n1950000000,1\n", "", ""},
		{"all bare", "2031-10-04T09:00:00,1\n2031-10-04T09:00:01,1\n", "Etc/GMT+3", ""},
		{"some bare", "2031-10-04T12:00:00Z,1\n2031-10-04T09:00:01,1\n2031-10-04T09:00:02,1\n", "Etc/GMT+3",
			`t.csv:3: time: "2031-10-04T09:00:01" has no zone, alike in 2 rows of 3; those without are read in Etc/GMT+3; row kept in doubt` + "\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, "time,depth_m\n"+c.rows, ingest.ReadOptions{Zone: west})
			if r.Source.Zone != c.zone || problems(r) != c.problems {
				t.Errorf("zone %q\n%s", r.Source.Zone, problems(r))
			}
		})
	}
}

func TestPositions(t *testing.T) {
	for _, c := range []struct {
		name, lat, lon string
		want           orb.Point // zero: no position
	}{
		{"decimal", "36.5", "-40.25", orb.Point{-40.25, 36.5}},
		{"plus sign", "+36.5", "+40.25", orb.Point{40.25, 36.5}},
		{"29 decimals", "36.50000000000000000000000000000", "-40.25000000000000000000000000000", orb.Point{-40.25, 36.5}},
		{"letters behind", "36.5 N", "40.25°W", orb.Point{-40.25, 36.5}},
		{"letters before", "N36.5", "w 40.25", orb.Point{-40.25, 36.5}},
		// 30' is half a degree, 15' a quarter, 18" of arc 0.005 degrees.
		{"degrees and minutes", "36°30.0'N", "40°15.0'W", orb.Point{-40.25, 36.5}},
		{"degrees and minutes, sign", "36 30.0", "-40 15.0", orb.Point{-40.25, 36.5}},
		{"degrees and minutes, dash", "36-30.0N", "040-15.0W", orb.Point{-40.25, 36.5}},
		{"degrees, minutes, seconds", `36°30'18"N`, `40°15'18"W`, orb.Point{-40.255, 36.505}},
		{"degrees, minutes, seconds, letters before", `N 36° 30' 18.0''`, `W 40° 15' 18.0''`, orb.Point{-40.255, 36.505}},
		{"typographic signs", "36° 30′ 18″ N", "40° 15’ 18” W", orb.Point{-40.255, 36.505}},
		{"colons", "36:30:18", "-40:15:18", orb.Point{-40.255, 36.505}},
		{"south and west", "36 30 S", "40 15 W", orb.Point{-40.25, -36.5}},
		{"minutes beyond 59", "36 60 N", "40 15 W", orb.Point{}},
		{"fraction before minutes", "36.5 30 N", "40 15 W", orb.Point{}},
		{"sign and letter", "-36 30 N", "40 15 W", orb.Point{}},
		{"letter of the other axis", "36 30 W", "40 15 N", orb.Point{}},
		{"four parts", "36 30 18 2 N", "40 15 W", orb.Point{}},
		{"longitude below -180", "36.5", "-200.25", orb.Point{}},
		{"letter alone", "N", "W", orb.Point{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, "time\tlat\tlon\tdepth_m\n2031-10-04T12:00:01Z\t"+c.lat+"\t"+c.lon+"\t3\n", ingest.ReadOptions{})
			s := r.Soundings[0]
			if s.HasPos != (c.want != orb.Point{}) || math.Abs(s.Pos[0]-c.want[0])+math.Abs(s.Pos[1]-c.want[1]) > 1e-9 {
				t.Errorf("%+v\n%s", s, problems(r))
			}
			if s.HasPos == (len(r.Problems) > 0) {
				t.Error(problems(r))
			}
		})
	}
	t.Run("decimal commas in minutes", func(t *testing.T) {
		r := read(t, "time;lat;lon;depth_m\n2031-10-04T12:00:01Z;36°30,3'N;40°15,0'W;3\n", ingest.ReadOptions{})
		if got := r.Soundings[0].Pos; math.Abs(got[1]-36.505) > 1e-9 || got[0] != -40.25 {
			t.Error(got)
		}
	})
}

func TestZeroIslandIsSaidOnce(t *testing.T) {
	text := "time,lat,lon,depth_m\n"
	for i := range 100 {
		text += fmt.Sprintf("2031-10-04T12:%02d:%02dZ,0.0,0.0,3\n", i/60, i%60)
	}
	text += "2031-10-04T12:01:39Z,36.5,-40,3\n,0,0,3\n"
	r := read(t, text, ingest.ReadOptions{})
	want := "t.csv:2: lat: 0.0, 0.0 in 100 rows, as receivers say before they know where they are; read without a position; row kept in doubt\n" +
		`t.csv:103: lat: "0, 0" is not a position, wanted where the boat was: receivers say 0, 0 before they know; row set aside` + "\n"
	if problems(r) != want || r.Source.Used != 101 || r.Source.SetAside != 1 || !r.Soundings[100].HasPos || r.Soundings[99].HasPos {
		t.Errorf("%+v\n%s", r.Source, problems(r))
	}
}

func TestDepthColumns(t *testing.T) {
	const at = "2031-10-04T12:00:01Z,"
	for _, c := range []struct {
		name, text    string
		depths        string
		ref           ingest.DepthRef
		problems      string
		columns, want string
	}{
		{name: "two units, the same", text: "time,depth_ft,depth_m\n" + at + "10.0,3.0\n" + at + "20.0,6.1\n", depths: "3.048 6.096",
			problems: `t.csv: depth_m: not read, as "depth_ft" is the depth already; row kept in doubt` + "\n", columns: "[{time time } {depth_ft depth ft} {depth_m  }]"},
		{name: "two units that disagree", text: "time,depth_ft,depth_m\n" + at + "10.0,3.0\n" + at + "20.0,5.0\n" + at + "20.0,7.0\n", depths: "3.048 6.096 6.096",
			problems: `t.csv: depth_m: not read, as "depth_ft" is the depth already; row kept in doubt` + "\n" +
				`t.csv:3: depth_m: "5.0" beside "20.0" here: differs by more than rounding in 2 rows; row kept in doubt` + "\n"},
		{name: "the plainer name", text: "time,sonar depth (m),depth_m\n" + at + "5,3\n", depths: "3",
			problems: `t.csv: sonar depth (m): not read, as "depth_m" is the depth already; row kept in doubt` + "\n" +
				`t.csv:2: sonar depth (m): "5" beside "3" here: differs by more than rounding in 1 row; row kept in doubt` + "\n", columns: "[{time time } {sonar depth (m)  } {depth_m depth m}]"},
		{name: "one without a unit beside", text: "time,depth_m,bottom\n" + at + "5,3\n", depths: "5",
			problems: `t.csv: bottom: not read, as "depth_m" is the depth already; row kept in doubt` + "\n"},
		{name: "the same name with a unit", text: "time,depth,depth_m\n" + at + "5,3\n", depths: "3",
			problems: `t.csv: depth: not read, as "depth_m" is the depth already; row kept in doubt` + "\n"},
		{name: "negative down", text: "time,depth_m\n" + at + "-5\n" + at + "0\n" + at + "-3\n", depths: "5 0 3",
			problems: "t.csv: depth_m: all depths are zero or negative; taken as positive down; row kept in doubt\n"},
		{name: "some negative", text: "time,depth_m\n" + at + "-5\n" + at + "3\n", depths: "-5 3"},
		{name: "nothing but zero", text: "time,depth_m\n" + at + "0\n" + at + "0\n", depths: "0 0"},
		{name: "below the surface", text: "time,depth below surface (m)\n" + at + "5\n", depths: "5", ref: ingest.BelowSurface, columns: "[{time time } {depth below surface (m) depth below the surface m}]"},
		{name: "below the surface, in brackets", text: "time,Depth (m below surface)\n" + at + "5\n", depths: "5", ref: ingest.BelowSurface},
		{name: "water depth", text: "time,water depth (m)\n" + at + "5\n", depths: "5", ref: ingest.BelowSurface},
		{name: "below the keel", text: "time,depth_below_keel_m\n" + at + "5\n", depths: "5", ref: ingest.BelowKeel},
		{name: "below the transducer", text: "time,depth below transducer (m)\n" + at + "5\n", depths: "5", ref: ingest.BelowTransducer},
		{name: "constant and repeated", text: "time,lat,lon,depth_m\n" + at + "36.5,-40,5\n" + at + "36.5,-40,7\n" + at + "36.5,-40,7\n", depths: "5 7 7"},
		{name: "gigantic", text: "time,depth_m\n" + at + "1e300\n" + at + "1e999\n" + at + "NaN\n" + at + "Inf\n" + at + strings.Repeat("9", 400) + "\n", depths: "1e+300",
			problems: `t.csv:3: depth_m: "1e999" is not a number, wanted a number in m; row set aside` + "\n" +
				`t.csv:4: depth_m: "NaN" is not a number, wanted a number; row set aside` + "\n" +
				`t.csv:5: depth_m: "Inf" is not a number, wanted a number in m; row set aside` + "\n" +
				`t.csv:6: depth_m: "` + strings.Repeat("9", 60) + `…" is not a number, wanted a number in m; row set aside` + "\n"},
		{name: "blank, dashes, stars", text: "time,depth_m\n" + at + "\n" + at + "--\n" + at + "***\n" + at + "5\n", depths: "5",
			problems: "t.csv:2: depth_m: missing, wanted a number; row set aside\n" +
				`t.csv:3: depth_m: "--" is not a number, wanted a number; row set aside` + "\n" +
				`t.csv:4: depth_m: "***" is not a number, wanted a number; row set aside` + "\n"},
		{name: "a setting above", text: "rate: 5\nDEPTH: -0.4\ntime,depth_m\n" + at + "5\n", depths: "5",
			problems: `t.csv:2: setting above the header, not applied: "DEPTH: -0.4"; row kept in doubt` + "\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.text, ingest.ReadOptions{})
			var got []string
			for _, s := range r.Soundings {
				got = append(got, fmt.Sprintf("%.6g", s.DepthM))
				if s.Ref != c.ref {
					t.Errorf("depth %v", s.Ref)
				}
			}
			if s := strings.Join(got, " "); s != c.depths {
				t.Errorf("depths %s, want %s", s, c.depths)
			}
			if p := problems(r); p != c.problems {
				t.Errorf("got  %swant %s", p, c.problems)
			}
			if s := fmt.Sprint(r.Source.Columns); c.columns != "" && s != c.columns {
				t.Errorf("columns %s", s)
			}
		})
	}
}

func TestWinds(t *testing.T) {
	// NIST SP 811 B.8: 1 mile an hour is 0.44704 m/s; a knot is 1852 m an hour.
	for _, c := range []struct {
		name, header, cells string
		want                ingest.Wind
	}{
		{"mph", "time,wind_mph,wind_from_deg", "10,200", ingest.Wind{SpeedMPS: 4.4704, FromDeg: 200}},
		{"knots", "time,wind_kn,wind_from_deg", "3600,200", ingest.Wind{}},
		{"knots", "time,wind_kn,wind_from_deg", "36,0", ingest.Wind{SpeedMPS: 18.52}},
		{"m/s", "time,wind_mps,wind_from_deg", "5,360", ingest.Wind{SpeedMPS: 5}},
		{"km/h", "time,Wind (km/h),Wind direction", "36,NNE", ingest.Wind{SpeedMPS: 10, FromDeg: 22.5}},
		{"kmh", "time,wind_kmh,wind_from_deg", "36,90°", ingest.Wind{SpeedMPS: 10, FromDeg: 90}},
		{"below nothing", "time,wind_mps,wind_from_deg", "-1,90", ingest.Wind{}},
		{"beyond the circle", "time,wind_mps,wind_from_deg", "1,361", ingest.Wind{}},
		{"no direction", "time,wind_mps,wind_from_deg", "1,", ingest.Wind{}},
		{"no speed", "time,wind_mps,wind_from_deg", ",90", ingest.Wind{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, c.header+"\n2031-10-04T12:00:01Z,"+c.cells+"\n", ingest.ReadOptions{})
			if r.Source.TakenFor != "CSV wind table" {
				t.Error(r.Source.TakenFor)
			}
			if c.want == (ingest.Wind{}) {
				if len(r.Winds) != 0 || r.Source.SetAside != 1 || len(r.Problems) != 1 || r.Problems[0].Row == "" {
					t.Errorf("%+v\n%s", r, problems(r))
				}
				return
			}
			got := r.Winds[0]
			if math.Abs(got.SpeedMPS-c.want.SpeedMPS) > 1e-12 || got.FromDeg != c.want.FromDeg || !got.Time.Equal(utc("2031-10-04T12:00:01Z")) || got.Line != 2 {
				t.Errorf("%+v", got)
			}
		})
	}
	t.Run("date alone", func(t *testing.T) {
		r := read(t, "date,wind_mps,wind_from_deg\n2031-10-04,5,90\n", ingest.ReadOptions{})
		if len(r.Winds) != 0 || len(r.Problems) != 1 {
			t.Error(problems(r))
		}
	})
	t.Run("dates settled late", func(t *testing.T) {
		r := read(t, "date,time,wind_mps,wind_from_deg\n03/04/2031,10:00Z,5,90\n13/04/2031,10:00Z,5,90\n", ingest.ReadOptions{})
		if got := r.Winds[0].Time; !got.Equal(utc("2031-04-03T10:00:00Z")) {
			t.Error(got)
		}
	})
}

func TestNoFish(t *testing.T) {
	const at = "2031-10-04T12:00:01Z,"
	r := read(t, "time,kind,species,count,length_cm\n"+at+",perch,2,20\n"+at+",perch,3,25\n"+at+",perch,0.5,30\n"+at+",none,,\n"+at+",No catch,1,\n"+at+"bite,none,,\n"+at+",,1,\n", ingest.ReadOptions{})
	want := `t.csv:4: count: "0.5" is not a number, wanted a whole number of fish; row set aside
t.csv:5: species: "none" is out of range, wanted a fish; row set aside
t.csv:6: species: "No catch" is out of range, wanted a fish; row set aside
`
	if problems(r) != want || len(r.Events) != 4 || r.Events[0].Count != 2 || r.Events[1].Count != 3 || r.Events[2].Kind != ingest.Bite || r.Events[3].Species != "" {
		t.Errorf("%+v\n%s", r.Events, problems(r))
	}
}

func TestRowsAreKeptWordForWord(t *testing.T) {
	row := `2031-10-04T12:00:01Z,--,"a ""b"", c"`
	r := read(t, "time,depth_m,mark\n"+row+"\n2031-10-04T12:00:01Z,3,x\n2031-10-04T12:00:01Z,3,x,y\n", ingest.ReadOptions{})
	if r.Problems[0].Row != row || r.Problems[1].Row != "2031-10-04T12:00:01Z,3,x,y" {
		t.Errorf("%q", r.Problems)
	}
	r = read(t, "time,lat,lon,depth_m\n2031-10-04T12:00:01Z,95,-40,3\n", ingest.ReadOptions{})
	if r.Problems[0].Row != "" {
		t.Error("the row of a reading that was used is kept")
	}
	long := "2031-10-04T12:00:01Z,--," + strings.Repeat("x", 100000)
	r = read(t, "time,depth_m,mark\n"+long+"\n", ingest.ReadOptions{})
	if r.Problems[0].Row != long[:64<<10] {
		t.Errorf("%d bytes kept", len(r.Problems[0].Row))
	}
}

func TestProblemsDontFlood(t *testing.T) {
	t.Run("many", func(t *testing.T) {
		r := read(t, "time,depth_m\n2031-10-04T12:00:01Z,3\n"+strings.Repeat("2031-10-04T12:00:01Z,--\n", mostProblems+5), ingest.ReadOptions{})
		if r.Source.SetAside != mostProblems+5 || r.Source.Used != 1 || len(r.Problems) != mostProblems+1 {
			t.Fatalf("%+v, %d problems", r.Source, len(r.Problems))
		}
		last := r.Problems[mostProblems]
		if last.Line != mostProblems+3 || last.Reason() != "5 more problems from this row on are counted above and not listed" {
			t.Errorf("%+v", last)
		}
	})
	t.Run("long rows", func(t *testing.T) {
		r := read(t, "time,depth_m,mark\n"+strings.Repeat("2031-10-04T12:00:01Z,--,"+strings.Repeat("x", 60000)+"\n", 500), ingest.ReadOptions{})
		kept := 0
		for _, p := range r.Problems {
			kept += len(p.Row)
		}
		if kept > mostRowsBytes+rowBytes || kept < mostRowsBytes || r.Source.SetAside != 500 {
			t.Errorf("%d bytes, %d set aside", kept, r.Source.SetAside)
		}
	})
}

func TestHostile(t *testing.T) {
	const good = "2031-10-04T12:00:01Z,3\n"
	for _, c := range []struct {
		name, text string
		used       int // -1: refused
	}{
		{"a million columns in the header", "time,depth_m" + strings.Repeat(",", 1000000) + "\n" + good, 0},
		{"a million columns in a row", "time,depth_m\n" + "2031-10-04T12:00:01Z,3" + strings.Repeat(",7", 500000) + "\n" + good, 1},
		{"a header beyond bounds", "time,depth_m" + strings.Repeat(",x", 1<<20) + "\n" + good, -1},
		{"zeros", strings.Repeat("\x00", 100000), -1},
		{"zeros in a row", "time,depth_m\n2031-\x00-04T12:00:01Z,3\x00\n" + good, 1},
		{"a line without end", "time,depth_m\n" + good + strings.Repeat("9", 5<<20), 1},
		{"quotes without end", "time,depth_m\n" + strings.Repeat(`"`, 1<<20-1) + "\n" + good, 1},
		{"quotes in every row", "time,depth_m\n" + strings.Repeat("\"x\n", 20000) + good, 1},
		{"carriage returns", "time,depth_m\n" + good + strings.Repeat("\r", 1<<20) + good, 2},
		{"nothing but breaks", strings.Repeat("\n", 1<<20), -1},
		{"broken UTF-16", "\xff\xfet\x00i\x00m\x00\xd8", -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			began := time.Now()
			r, err := Read(strings.NewReader(c.text), "t.csv", ingest.ReadOptions{})
			if (err != nil) != (c.used < 0) {
				t.Fatalf("%v", err)
			}
			if err == nil {
				balance(t, r)
				if r.Source.Used != c.used {
					t.Errorf("%d used of %d", r.Source.Used, r.Source.RowsRead)
				}
			} else if len(err.Error()) > 2000 {
				t.Errorf("%d bytes of an error", len(err.Error()))
			}
			if d := time.Since(began); d > 10*time.Second {
				t.Errorf("took %v", d)
			}
		})
	}
}

// endless gives out one line for ever, up to a bound.
type endless struct{ left int }

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		return 0, errors.New("read to the bound")
	}
	for i := range p {
		p[i] = '7'
	}
	e.left -= len(p)
	return len(p), nil
}

// A line that never ends takes no more memory than the longest that is taken.
func TestEndlessLine(t *testing.T) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	l := newLineReader(&endless{256 << 20})
	r, ok := l.next()
	runtime.ReadMemStats(&after)
	if !ok || !r.long || l.failed() == nil {
		t.Errorf("%t %t %v", ok, r.long, l.failed())
	}
	if mb := (after.TotalAlloc - before.TotalAlloc) >> 20; mb > 16 {
		t.Errorf("%d MiB allocated", mb)
	}
}

func TestRecogniseMore(t *testing.T) {
	for _, c := range []struct {
		name, head string
		want       bool
	}{
		{"prose with two names", "the time and depth\nof the lake are 3 or 4\n", false},
		{"prose with numbers", "time depth\nabout 3\n", false},
		{"blanks", "time depth_m\n2031-10-04T12:00:01Z 3\n", true},
		{"axes", "x,y,z\n1.5,2.5,3\n", true},
		{"numbers alone", "36.5,-40.1,6.2\n36.5,-40.1,6.2\n", true},
		{"whole numbers alone", "1,2,3\n4,5,6\n", false},
		{"sentences of a receiver", "$XXRMC,120001,A,3630.0,N,04000.0,W,1.2,3.4,041031,,,A*00\n$XXRMC,120002,A,3630.0,N,04000.0,W,1.2,3.4,041031,,,A*00\n", false},
		{"JSON", "{\n\"time\": 1.5, \"depth\": 2.5\n}\n", false},
		{"another list", "id,price,colour\n1.5,2.5,red\n", false},
	} {
		if got := Recognise([]byte(c.head)); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
	if !RecogniseAs([]byte("a,b\n2031-10-04T12:00:01Z,3\n"), map[string]string{"a": "time", "b": "depth_m"}) {
		t.Error("a header that a person said is not recognised")
	}
}
