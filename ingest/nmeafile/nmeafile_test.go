package nmeafile

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/adrianmo/go-nmea"
	"github.com/paulmach/orb"

	"leadline/ingest"
)

// log makes a log of sentence bodies, each on its line with $ and its checksum.
// A body that begins with = is put as it stands, without it.
func log(bodies ...string) string {
	var b strings.Builder
	for _, s := range bodies {
		if raw, ok := strings.CutPrefix(s, "="); ok {
			b.WriteString(raw + "\n")
			continue
		}
		b.WriteString(sentence(s) + "\r\n")
	}
	return b.String()
}

// sentence adds the checksum: all bytes between $ and * combined by exclusive or.
func sentence(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X", body, sum)
}

// rmc is a sound RMC near 36.5 N, 40 W on 4 October 2031.
func rmc(clock string) string {
	return "GPRMC," + clock + ",A,3630.000,N,04000.000,W,1.0,90.0,041031,,,A"
}

func read(t *testing.T, text string, opt ingest.ReadOptions) ingest.Records {
	t.Helper()
	r, err := Read(strings.NewReader(text), "t.nmea", opt)
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
	aside := 0
	for _, p := range r.Problems {
		if p.Outcome == ingest.SetAside {
			aside++
		}
	}
	if aside < s.SetAside && len(r.Problems) < mostProblems {
		t.Errorf("%d set aside, %d such problems", s.SetAside, aside)
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

// The sentences of the library's own tests (go-nmea v1.10.0: dpt_test.go,
// dbt_test.go, mtw_test.go, mwv_test.go, vtg_test.go and others), two classic
// examples from memory, and two found in public logs; good or bad by the NMEA 0183
// rule that the checksum is the exclusive or of all bytes between $ and *.
func TestChecksums(t *testing.T) {
	for _, c := range []struct {
		text string
		good bool
	}{
		{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", true},
		{"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", true},
		{"$GPRMC,220516,A,5133.82,N,00042.24,W,173.8,231.8,130694,004.2,W*70", true},
		{"$SDDPT,0.5,0.5,0.1*54", true},
		{"$INDPT,2.3,0.0*46", true},
		{"$SDDPT,10.1,-1.5,*62", true},
		{"$SDDPT,25.1,0.0,*4D", true},
		{"$SDDPT,0.5,0.5,*AA", false},
		{"$SDDPT,0.5,0.5,*7B", true},
		{"$sddpt", false},
		{"$IIDBT,032.93,f,010.04,M,005.42,F*2C", true},
		{"$IIDBT,032.93,f,010.04,M,005.42,F*2c", true},
		{"$IIDBT,032.93,f,010.04,M,005.42,F*22", false},
		{"$SDDBT,7.8,f,2.4,M,1.3,F*0D", true},
		{"$SDDBT,17.0,f,5.1,M,2.8,F*3E", true},
		{"$SDDBT,50.0,f,15.24,M,8.33,F*2A", false},
		{"$YXMTW,17.75,C*26", true},
		{"$INMTW,17.9,C*1B", true},
		{"$WIMWV,12.1,T,10.1,N,A*27", true},
		{"$GPVTG,45.5,T,67.5,M,30.45,N,56.40,K*4B", true},
		{"$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", true},
		{"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48", true},
	} {
		f := frameOf(c.text[1:])
		sum, ok := f.stated()
		if good := ok && sum == f.right(); good != c.good {
			t.Errorf("%s: good is %v", c.text, good)
		}
		if !isKnown(c.text[1:]) {
			continue
		}
		r := read(t, log(rmc("120000"))+c.text+"\n", ingest.ReadOptions{})
		if aside := r.Source.SetAside == 1; aside == c.good {
			t.Errorf("%s: %+v, %s", c.text, r.Source, problems(r))
		}
		if !c.good && (!errors.Is(r.Problems[0], ingest.ErrChecksum) || r.Problems[0].Row != c.text || r.Problems[0].Line != 2) {
			t.Errorf("%+v", r.Problems)
		}
	}
}

// What the library does with fields, each a reason for this package's own checks.
// When one no longer holds the check may go.
func TestLibraryFaults(t *testing.T) {
	if v, err := nmea.ParseTime("999999"); err != nil || v.Hour != 99 {
		t.Error("99:99:99 is refused now")
	}
	if v, err := nmea.ParseGPS("4899.0 N"); err != nil || math.Abs(v-49.65) > 1e-9 {
		t.Error("99 minutes are refused now")
	}
	if v, err := nmea.ParseGPS("-4807.0 N"); err != nil || math.Abs(v+47.45) > 1e-9 {
		t.Error("a sign is read or refused now:", v)
	}
	for _, s := range []string{"NaN", "0x1p4", "1e9"} {
		if p := nmea.NewParser(nmea.BaseSentence{Fields: []string{s}}); p.Float64(0, "") == 0 || p.Err() != nil {
			t.Error(s, "is refused now")
		}
	}
	for _, body := range []string{"SDDPT,,", "SDDPT,0,0"} {
		if s, err := nmea.Parse(sentence(body)); err != nil || s.(nmea.DPT).Depth != 0 {
			t.Error("an empty depth is not 0 now")
		}
	}
	if s, err := nmea.Parse(sentence("GPRMC,120000,A,,,,,,,041031,,")); err != nil || s.(nmea.RMC).Latitude != 0 {
		t.Error("an empty position is not 0, 0 now")
	}
	for _, s := range []string{"$SDDPT,1.0,0.5", sentence("SDDPT,1.0")} {
		if _, err := nmea.Parse(s); err == nil {
			t.Error(s, "is read now")
		}
	}
}

func TestFix(t *testing.T) {
	// 4807.038,N is 48 + 7.038/60 degrees; 1 kn is 1852/3600 m/s.
	r := read(t, "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n", ingest.ReadOptions{})
	f := r.Tracks[0].Fixes[0]
	if !f.Time.Equal(utc("1994-03-23T12:35:19Z")) || math.Abs(f.Pos[1]-48.1173) > 1e-9 || math.Abs(f.Pos[0]-11.516666667) > 1e-9 ||
		math.Abs(f.SpeedMPS.V-22.4*1852/3600) > 1e-12 || f.CourseDeg != ingest.Known(84.4) || f.Line != 1 {
		t.Errorf("%+v", f)
	}
	r = read(t, log("GNRMC,120000.25,A,3630.600,S,17959.400,E,,,041031,,,A,V"), ingest.ReadOptions{ClockOffset: time.Second})
	f = r.Tracks[0].Fixes[0]
	if !f.Time.Equal(utc("2031-10-04T12:00:01.25Z")) || math.Abs(f.Pos[1]+36.51) > 1e-9 || math.Abs(f.Pos[0]-179.99) > 1e-9 || f.SpeedMPS.OK || f.CourseDeg.OK {
		t.Errorf("%+v", f)
	}
	if r.Source.ClockOffsetS != ingest.Known(1) || len(r.Problems) != 0 {
		t.Errorf("%+v %s", r.Source, problems(r))
	}
}

// One time is one fix, whatever sentences tell it; the same type again is another.
func TestOneFixATime(t *testing.T) {
	r := read(t, log(
		"GPGGA,120000.00,3630.0001,N,04000.0001,W,1,08,0.9,0,M,,M,,",
		"GPGLL,3630.000,N,04000.000,W,120000.00,A,A",
		"GPVTG,91.0,T,,M,3.0,N,5.556,K,A",
		rmc("120000.00"),
		rmc("120001.00"),
		rmc("120001.00"),
		"GPGGA,120001.00,3630.1,N,04000.000,W,1,08,0.9,0,M,,M,,",
		"GPGGA,120002.00,0000.000,N,00000.000,W,1,08,0.9,0,M,,M,,",
		"GPVTG,,T,,M,,N,3.6,K",
	), ingest.ReadOptions{})
	fixes := r.Tracks[0].Fixes
	if len(fixes) != 4 {
		t.Fatalf("%d fixes: %+v", len(fixes), fixes)
	}
	if f := fixes[0]; f.CourseDeg != ingest.Known(91) || math.Abs(f.SpeedMPS.V-3*1852.0/3600) > 1e-12 || f.Line != 1 {
		t.Errorf("%+v", f)
	}
	if !fixes[1].Time.Equal(fixes[2].Time) {
		t.Error("the same second twice is not kept")
	}
	if f := fixes[3]; f.Pos != (orb.Point{}) || math.Signbit(f.Pos[0]) || math.Abs(f.SpeedMPS.V-1) > 1e-12 || f.CourseDeg.OK {
		t.Errorf("%+v", f)
	}
	if s := problems(r); !strings.Contains(s, "within 50 m") || strings.Count(s, "\n") != 1 {
		t.Error(s)
	}
}

func TestTimes(t *testing.T) {
	gga := func(clock string) string {
		return "GPGGA," + clock + ",3630.000,N,04000.000,W,1,08,0.9,0,M,,M,,"
	}
	for _, c := range []struct {
		name   string
		bodies []string
		want   []string
	}{
		{"midnight", []string{rmc("235958"), gga("235959"), gga("000001"), gga("120000"), gga("235900"), gga("000000")},
			[]string{"2031-10-04T23:59:58Z", "2031-10-04T23:59:59Z", "2031-10-05T00:00:01Z", "2031-10-05T12:00:00Z", "2031-10-05T23:59:00Z", "2031-10-06T00:00:00Z"}},
		{"midnight before the date", []string{gga("235959"), gga("000000"), rmc("000001")},
			[]string{"2031-10-03T23:59:59Z", "2031-10-04T00:00:00Z", "2031-10-04T00:00:01Z"}},
		{"sentences out of order at midnight", []string{rmc("000000"), gga("235959.9")},
			[]string{"2031-10-04T00:00:00Z", "2031-10-03T23:59:59.9Z"}},
		{"zone east", []string{"GPZDA,233000,04,10,2031,13,45", gga("233001")}, []string{"2031-10-04T23:30:01Z"}},
		{"zone west", []string{"GPZDA,003000,04,10,2031,-05,00", gga("003001")}, []string{"2031-10-04T00:30:01Z"}},
		{"zone empty", []string{"GPZDA,003000,04,10,2031,,", gga("003001")}, []string{"2031-10-04T00:30:01Z"}},
		{"back", []string{rmc("120010"), rmc("120000"), rmc("120001")}, []string{"2031-10-04T12:00:10Z", "2031-10-04T12:00:00Z", "2031-10-04T12:00:01Z"}},
		{"leap second", []string{"GPRMC,235960,A,3630.000,N,04000.000,W,,,311231,,,A"}, []string{"2032-01-01T00:00:00Z"}},
		{"GLL", []string{rmc("120000"), "GPGLL,3630.000,N,04000.000,W,120001,A"}, []string{"2031-10-04T12:00:00Z", "2031-10-04T12:00:01Z"}},
		{"GLL of the oldest form", []string{rmc("120000"), "GPGLL,3630.000,N,04000.000,W"}, []string{"2031-10-04T12:00:00Z", "0001-01-01T00:00:00Z"}},
		{"this century and the last", []string{"GPRMC,120000,A,3630.000,N,04000.000,W,,,311279,,,A", "GPRMC,120000,A,3630.000,N,04000.000,W,,,010180,,,A"},
			[]string{"2079-12-31T12:00:00Z", "1980-01-01T12:00:00Z"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, log(c.bodies...), ingest.ReadOptions{})
			var got []string
			for _, f := range r.Tracks[0].Fixes {
				got = append(got, f.Time.Format(time.RFC3339Nano))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%v, want %v", got, c.want)
			}
		})
	}
	if r := read(t, log(rmc("120010"), rmc("120000")), ingest.ReadOptions{}); !strings.Contains(problems(r), "1 jump back") {
		t.Error(problems(r))
	}
	if _, err := Read(strings.NewReader(log(gga("120000"), "SDDPT,3.0,0.0")), "t", ingest.ReadOptions{}); err == nil || !strings.Contains(err.Error(), "no date, wanted an RMC or ZDA") {
		t.Error(err)
	}
}

func TestVoid(t *testing.T) {
	r := read(t, log(
		"GPRMC,115950,V,,,,,,,041031,,,N", // before the first fix: no clock
		"SDDPT,2.0,0.0",
		rmc("120000"),
		"GPRMC,120001,V,3630.000,N,04000.000,W,,,041031,,,N",
		"SDDPT,3.0,0.0",
		"GPRMC,120002,A,3630.000,N,04000.000,W,,,041031,,,S",
		"GPRMC,120003,A,,,,,,,041031,,,A",
		"GPGGA,120003,3630.000,N,04000.000,W,0,00,,,M,,M,,",
		"GPGGA,120003,3630.000,N,04000.000,W,8,00,,,M,,M,,",
		"GPGLL,3630.000,N,04000.000,W,120004,V,N",
		"GPVTG,1.0,T,,M,1.0,N,,K,N",
	), ingest.ReadOptions{})
	if len(r.Tracks[0].Fixes) != 1 || r.Source.Used != r.Source.RowsRead {
		t.Errorf("%+v %+v", r.Tracks, r.Source)
	}
	if s := r.Soundings; !s[0].Time.IsZero() || !s[1].Time.Equal(utc("2031-10-04T12:00:01Z")) {
		t.Errorf("%+v", s)
	}
	for _, said := range []string{"4 sentences without a fix", "2 sentences without a fix", "GLL status: \"VN\"", "VTG mode: \"N\""} {
		if !strings.Contains(problems(r), said) {
			t.Errorf("%q is not said in\n%s", said, problems(r))
		}
	}
	r = read(t, log("GPRMC,120000,V,,,,,,,,,,N", "SDDPT,2.0,0.0"), ingest.ReadOptions{})
	if len(r.Tracks) != 0 || len(r.Soundings) != 1 || !r.Soundings[0].Time.IsZero() || !strings.Contains(problems(r), "void") && !strings.Contains(problems(r), "without a fix") {
		t.Errorf("%+v %s", r, problems(r))
	}
}

// Depths in feet and fathoms by 1 ft = 0.3048 m and 1 fathom = 1.8288 m exactly:
// 7.8 ft is 2.37744 m where the sounder prints 2.4. The sign of DPT's offset is by
// the NMEA 0183 definition of the sentence (from memory).
func TestDepths(t *testing.T) {
	for _, c := range []struct {
		body string
		want float64
		ref  ingest.DepthRef
		says string
	}{
		{"SDDPT,0.5,0.5,0.1", 1.0, ingest.BelowSurface, ""},
		{"INDPT,2.3,0.0", 2.3, ingest.BelowTransducer, ""},
		{"INDPT,2.3,", 2.3, ingest.BelowTransducer, ""},
		{"INDPT,2.3", 2.3, ingest.BelowTransducer, ""},
		{"SDDPT,10.1,-1.5,", 10.1, ingest.BelowTransducer, "to the keel"},
		{"SDDPT,0.0,0.5,", 0, ingest.BelowTransducer, ""},
		{"SDDPT,-1.0,0.5,", -1, ingest.BelowTransducer, ""},
		{"SDDPT,2.3,99,", 2.3, ingest.BelowTransducer, "-30 to 30"},
		{"SDDBT,7.8,f,2.4,M,1.3,F", 2.4, ingest.BelowTransducer, ""},
		{"SDDBT,7.8,f,,M,,F", 2.37744, ingest.BelowTransducer, ""},
		{"SDDBT,,f,,M,1.3,F", 2.37744, ingest.BelowTransducer, ""},
		{"SDDBT,17.0,f,5.1,M,2.8,F", 5.1, ingest.BelowTransducer, ""},
		{"SDDBT,50.0,f,15.24,M,8.33,F", 15.24, ingest.BelowTransducer, ""},
		{"IIDBT,032.93,f,010.04,M,005.42,F", 10.04, ingest.BelowTransducer, ""},
		{"SDDBT,17.0,f,17.0,M,,F", 17, ingest.BelowTransducer, "one depth in feet and metres"},
		{"SDDBT,7.8,f,x,M,1.3,F", 2.37744, ingest.BelowTransducer, "is not a number"},
		{"SDDBS,7.8,f,2.4,M,1.3,F", 2.4, ingest.BelowSurface, ""},
	} {
		r := read(t, log(rmc("120000"), c.body), ingest.ReadOptions{})
		if len(r.Soundings) != 1 {
			t.Errorf("%s: %s", c.body, problems(r))
			continue
		}
		s := r.Soundings[0]
		if math.Abs(s.DepthM-c.want) > 1e-9 || s.Ref != c.ref || s.Line != 2 || s.HasPos || !s.Time.Equal(utc("2031-10-04T12:00:00Z")) {
			t.Errorf("%s: %+v", c.body, s)
		}
		if said := problems(r); (said == "") != (c.says == "") || !strings.Contains(said, c.says) {
			t.Errorf("%s: %s", c.body, said)
		}
	}
	for _, body := range []string{"SDDPT,,0.5", "SDDBT,,f,,M,,F"} {
		if r := read(t, log(rmc("120000"), body), ingest.ReadOptions{}); len(r.Soundings) != 0 || r.Source.Used != 2 || !strings.Contains(problems(r), "1 sentence with the field empty") {
			t.Errorf("%s: %+v %s", body, r.Soundings, problems(r))
		}
	}
	for _, body := range []string{"SDDPT,NaN,0.5", "SDDPT,1e3,", "SDDPT,0x10,", "SDDPT,30000,", "SDDBT,1,X,1,M,1,F", "SDDBT,a,f,b,M,c,F"} {
		if r := read(t, log(rmc("120000"), body), ingest.ReadOptions{}); len(r.Soundings) != 0 || r.Source.SetAside != 1 {
			t.Errorf("%s: %+v %s", body, r.Soundings, problems(r))
		}
	}
}

func TestOneSoundingAPing(t *testing.T) {
	for _, c := range []struct {
		name   string
		bodies []string
		want   []float64
		says   string
	}{
		{"DBT, DPT, DBS", []string{rmc("120000"), "SDDBT,,f,3.0,M,,F", "SDDPT,3.0,0.4", "SDDBS,,f,3.4,M,,F"}, []float64{3.4}, ""},
		{"DBS before a DPT without offset", []string{rmc("120000"), "SDDPT,3.0,0.0", "SDDBS,,f,3.4,M,,F"}, []float64{3.4}, ""},
		{"DPT before DBT", []string{rmc("120000"), "SDDBT,,f,3.1,M,,F", "SDDPT,3.0,0.0"}, []float64{3}, ""},
		{"a time between", []string{rmc("120000"), "SDDBT,,f,3.1,M,,F", rmc("120001"), "SDDPT,3.0,0.0", "SDDBT,,f,3.5,M,,F", rmc("120002"), "SDDPT,3.6,0.0"}, []float64{3, 3.6}, ""},
		{"another second", []string{rmc("120000"), "SDDBT,,f,3.1,M,,F", rmc("120002"), "SDDPT,3.0,0.0"}, []float64{3.1, 3}, ""},
		{"ten in a second", []string{rmc("120000"), "SDDPT,3.0,0.0", "SDDPT,3.1,0.0", "SDDPT,3.2,0.0", rmc("120001")}, []float64{3, 3.1, 3.2}, ""},
		{"disagree", []string{rmc("120000"), "SDDBT,,f,9.0,M,,F", "SDDPT,3.0,0.0", rmc("120001"), "SDDBT,,f,9.0,M,,F", "SDDPT,3.0,0.0"}, []float64{3, 3}, "2 pings"},
		{"disagree below the surface", []string{rmc("120000"), "SDDPT,3.0,0.5", "SDDBS,,f,9.0,M,,F"}, []float64{3.5}, "1 ping"},
		{"not comparable", []string{rmc("120000"), "SDDPT,3.0,0.0", "SDDBS,,f,4.0,M,,F"}, []float64{4}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, log(c.bodies...), ingest.ReadOptions{})
			var got []float64
			for _, s := range r.Soundings {
				got = append(got, s.DepthM)
			}
			if !slices.Equal(got, c.want) || (c.says == "") != (len(r.Problems) == 0) || !strings.Contains(problems(r), c.says) {
				t.Errorf("%v, want %v; %s", got, c.want, problems(r))
			}
			if r.Source.Used != len(c.bodies) {
				t.Errorf("%+v", r.Source)
			}
		})
	}
}

// Depths hold the time before them for 5 s; a log that goes on without a clock
// doesn't hold its last time for hours.
func TestDepthTimes(t *testing.T) {
	second := func(r ingest.Records) (out []string) {
		for _, s := range r.Soundings {
			if s.Time.IsZero() {
				out = append(out, "-")
			} else {
				out = append(out, s.Time.Format("05"))
			}
		}
		return out
	}
	const dpt = "SDDPT,3.0,0.0"
	for _, c := range []struct {
		name   string
		bodies []string
		want   string
		says   string
	}{
		{"before any", []string{dpt, rmc("120000"), dpt}, "- 00", "1 depth without a time"},
		{"five seconds", []string{rmc("120000"), dpt, dpt, rmc("120005"), dpt}, "00 00 05", ""},
		{"clock ends", []string{rmc("120000"), dpt, rmc("120001"), dpt, dpt, dpt, dpt}, "00 01 - - -", "3 depths without a time"},
		{"clock ends, two a second", []string{rmc("120000"), dpt, dpt, rmc("120001"), dpt, dpt, dpt, dpt}, "00 00 01 01 - -", "2 depths without a time"},
		{"hole", []string{rmc("120000"), dpt, rmc("120001"), dpt, dpt, dpt, rmc("122000"), dpt, rmc("122001"), dpt, rmc("122002")}, "00 01 - - 00 01", "2 depths without a time"},
		{"sparse clock", []string{rmc("120000"), dpt, dpt, dpt, dpt, dpt, rmc("120010"), dpt, rmc("120020")}, "00 02 04 06 08 10", "4 depths so"},
		{"clock every two minutes", []string{rmc("120000"), dpt, dpt, rmc("120200"), dpt, rmc("120400")}, "00 - 00", "1 depth without a time"},
		{"clock jumps back", []string{rmc("120030"), dpt, dpt, rmc("120000"), dpt, rmc("120001")}, "30 - 00", "1 jump back"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, log(c.bodies...), ingest.ReadOptions{})
			if got := strings.Join(second(r), " "); got != c.want || (c.says == "") != (len(r.Problems) == 0) || !strings.Contains(problems(r), c.says) {
				t.Errorf("%s, want %s; %s", got, c.want, problems(r))
			}
		})
	}
}

func TestTemperatures(t *testing.T) {
	const dpt = "SDDPT,3.0,0.0"
	for _, c := range []struct {
		name   string
		bodies []string
		want   ingest.Maybe // of the last sounding
	}{
		{"before", []string{rmc("120000"), "YXMTW,17.75,C", rmc("120001"), dpt}, ingest.Known(17.75)},
		{"behind", []string{rmc("120000"), dpt, "YXMTW,17.75,C"}, ingest.Known(17.75)},
		{"in the next second", []string{rmc("120000"), dpt, rmc("120001"), "YXMTW,17.75,C"}, ingest.Known(17.75)},
		{"exactly 0", []string{rmc("120000"), "YXMTW,0.0,C", dpt}, ingest.Known(0)},
		{"empty", []string{rmc("120000"), "YXMTW,,C", dpt}, ingest.Maybe{}},
		{"empty after one", []string{rmc("120000"), "YXMTW,17.75,C", rmc("120001"), "YXMTW,,C", dpt}, ingest.Maybe{}},
		{"Fahrenheit", []string{rmc("120000"), "YXMTW,50,F", dpt}, ingest.Known(10)},
		{"a minute old", []string{rmc("120000"), "YXMTW,17.75,C", rmc("120100"), dpt}, ingest.Known(17.75)},
		{"older", []string{rmc("120000"), "YXMTW,17.75,C", rmc("120101"), dpt}, ingest.Maybe{}},
		{"of no time", []string{"YXMTW,17.75,C", rmc("120101"), dpt}, ingest.Maybe{}},
		{"too hot", []string{rmc("120000"), "YXMTW,99,C", dpt}, ingest.Maybe{}},
		{"Kelvin", []string{rmc("120000"), "YXMTW,290,K", dpt}, ingest.Maybe{}},
	} {
		r := read(t, log(c.bodies...), ingest.ReadOptions{ClockOffset: time.Hour})
		if s := r.Soundings[len(r.Soundings)-1]; s.TempC.OK != c.want.OK || math.Abs(s.TempC.V-c.want.V) > 1e-9 {
			t.Errorf("%s: %+v, %s", c.name, s.TempC, problems(r))
		}
		if aside := c.name == "too hot" || c.name == "Kelvin"; aside != (r.Source.SetAside == 1) {
			t.Errorf("%s: %+v", c.name, r.Source)
		}
	}
}

// A bow pointing to 350 with the wind 30 to starboard has it from 380, which is 20.
func TestWinds(t *testing.T) {
	for _, c := range []struct {
		name   string
		bodies []string
		from   float64 // below 0: no wind
		mps    float64
		says   string
	}{
		{"MWD", []string{rmc("120000"), "WIMWD,225.5,T,240.0,M,10.0,N,5.1,M"}, 225.5, 5.1, ""},
		{"MWD from 360", []string{rmc("120000"), "WIMWD,360.0,T,,M,,N,5.1,M"}, 0, 5.1, ""},
		{"MWD behind the clock's end", []string{rmc("120000"), "WIMWD,225.5,T,,M,,N,5.1,M", "WIMWD,226.5,T,,M,,N,5.1,M"}, 225.5, 5.1, "1 wind not used"},
		{"MWD in knots only", []string{rmc("120000"), "WIMWD,225.5,T,,M,10.0,N,,M"}, 225.5, 18520.0 / 3600, ""},
		{"MWD magnetic only", []string{rmc("120000"), "WIMWD,,T,240.0,M,10.0,N,5.1,M"}, -1, 0, "from true north"},
		{"MWD before any time", []string{"WIMWD,225.5,T,240.0,M,10.0,N,5.1,M", rmc("120000")}, -1, 0, "shortly before the wind"},
		{"MWV T", []string{rmc("120000"), "IIVHW,350.0,T,340.0,M,2.0,N,3.7,K", "WIMWV,30.0,T,36.0,K,A"}, 20, 10, ""},
		{"MWV in mph", []string{rmc("120000"), "IIVHW,0.0,T,,M,,N,,K", "WIMWV,30.0,T,10.0,S,A"}, 30, 4.4704, ""},
		{"MWV in m/s", []string{rmc("120000"), "IIVHW,0.0,T,,M,,N,,K", "WIMWV,30.0,T,10.0,M,A"}, 30, 10, ""},
		{"MWV T without heading", []string{rmc("120000"), "WIMWV,30.0,T,36.0,K,A"}, -1, 0, "VHW with the true heading"},
		{"MWV T with an old heading", []string{rmc("120000"), "IIVHW,350.0,T,,M,,N,,K", rmc("120006"), "WIMWV,30.0,T,36.0,K,A"}, -1, 0, "VHW with the true heading"},
		{"MWV T with a magnetic heading", []string{rmc("120000"), "IIVHW,,T,340.0,M,,N,,K", "WIMWV,30.0,T,36.0,K,A"}, -1, 0, "VHW with the true heading"},
		{"MWV R", []string{rmc("120000"), "IIVHW,350.0,T,,M,,N,,K", "WIMWV,30.0,R,36.0,K,A"}, -1, 0, "apparent wind"},
		{"MWV void", []string{rmc("120000"), "IIVHW,350.0,T,,M,,N,,K", "WIMWV,30.0,T,36.0,K,V"}, -1, 0, "MWV status"},
		{"MWD and MWV", []string{rmc("120000"), "IIVHW,350.0,T,,M,,N,,K", "WIMWV,30.0,T,36.0,K,A", "WIMWD,225.5,T,,M,,N,5.1,M"}, 225.5, 5.1, "not 1 MWV sentence"},
		{"empty", []string{rmc("120000"), "WIMWD,,,,,,,,"}, -1, 0, "1 sentence with the field empty"},
		{"far too fast", []string{rmc("120000"), "WIMWD,225.5,T,,M,,N,500,M"}, -1, 0, "0 to 120"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, log(c.bodies...), ingest.ReadOptions{})
			if c.from < 0 && len(r.Winds) > 0 || c.from >= 0 && (len(r.Winds) != 1 || math.Abs(r.Winds[0].FromDeg-c.from) > 1e-9 || math.Abs(r.Winds[0].SpeedMPS-c.mps) > 1e-9 || r.Winds[0].Time.IsZero()) {
				t.Errorf("%+v", r.Winds)
			}
			if (c.says == "") != (len(r.Problems) == 0) || !strings.Contains(problems(r), c.says) {
				t.Error(problems(r))
			}
		})
	}
}

func TestBadFields(t *testing.T) {
	for _, c := range []struct {
		body string
		kind error
		used bool
	}{
		{"GPRMC,246000,A,3630.000,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrTime, false},
		{"GPRMC,250000,A,3630.000,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrTime, false},
		{"GPRMC,noon,A,3630.000,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrTime, false},
		{"GPRMC,120000,A,3630.000,N,04000.000,W,1.0,90.0,310231,,,A", ingest.ErrTime, false},
		{"GPRMC,120000,A,3630.000,N,04000.000,W,1.0,90.0,+4+1+1,,,A", ingest.ErrTime, false},
		{"GPRMC,120000,A,3660.000,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrRange, true},
		{"GPRMC,120000,A,9130.000,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrRange, true},
		{"GPRMC,120000,A,-3630.00,N,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrNumber, true},
		{"GPRMC,120000,A,3630.000,E,04000.000,W,1.0,90.0,041031,,,A", ingest.ErrWord, true},
		{"GPRMC,120000,A,3630.000,N,04000.000,,1.0,90.0,041031,,,A", ingest.ErrMissing, true},
		{"GPRMC,120000,A,3630.000,N,,W,1.0,90.0,041031,,,A", ingest.ErrMissing, true},
		{"GPRMC,120000,A,3630.000,N,04000.000,W,fast,90.0,041031,,,A", ingest.ErrNumber, true},
		{"GPRMC,120000,A,3630.000,N,04000.000,W,1.0,400,041031,,,A", ingest.ErrRange, true},
		{"GPGGA,120000,3630.000,N,04000.000,W,x,08,0.9,0,M,,M,,", ingest.ErrWord, false},
		{"GPZDA,120000,31,02,2031,00,00", ingest.ErrTime, false},
		{"GPZDA,120000,4,10,31,00,00", ingest.ErrTime, false},
		{"GPVTG,x,T,,M,y,N,z,K", ingest.ErrNumber, false},
		{"GPVTG,1.0,X,,M,1.0,N,,K", ingest.ErrWord, false},
		{"IIVHW,x,T,,M,,N,,K", ingest.ErrNumber, false},
		{"WIMWV,30.0,X,1.0,N,A", ingest.ErrWord, false},
		{"WIMWV,30.0,T,1.0,,A", ingest.ErrMissing, false},
		{"WIMWV,30.0,T,1.0,Q,A", ingest.ErrWord, false},
		{"SDDPT,1.0\\x,0", ingest.ErrShape, false},
	} {
		r := read(t, log(rmc("115959"), c.body), ingest.ReadOptions{})
		if len(r.Problems) == 0 || !errors.Is(r.Problems[0], c.kind) || (r.Source.SetAside == 0) != c.used || c.used != (r.Source.Repaired == 1) {
			t.Errorf("%s: %+v %s", c.body, r.Source, problems(r))
			continue
		}
		if p := r.Problems[0]; !c.used && p.Row != sentence(c.body) || c.used && p.Row != "" {
			t.Errorf("%s: row %q", c.body, p.Row)
		}
	}
}

func TestLines(t *testing.T) {
	a, b := sentence(rmc("120000")), sentence("SDDPT,3.0,0.5")
	for _, c := range []struct {
		name string
		text string
		says string // empty: nothing
	}{
		{"LF", a + "\n" + b + "\n", ""},
		{"CR", a + "\r" + b + "\r", ""},
		{"mixed", a + "\r\n" + b + "\n", ""},
		{"CR CR CR LF", a + "\r\r\r\n" + b + "\r\r\r\n", ""},
		{"no end", a + "\n" + b, ""},
		{"byte order mark", "\ufeff" + a + "\n" + b, ""},
		{"glued", a + b + "\n", ""},
		{"blank lines", "\n\n" + a + "\n\n \t\n" + b + "\n", ""},
		{"stamps before", "12:00:01.5 > " + a + "\n12:00:01.6 > " + b + "\n", "2 such texts"},
		{"tag block", `\s:x,c:1949054400*00\` + a + "\n" + b + "\n", "1 such text"},
		{"text behind", a + " ok\n" + b + "\n", "1 such text"},
		{"lines of text", "logger 1\nstarted\n" + a + "\n" + b + "\n", "2 lines not used"},
		{"lower case sum", a + "\n$SDDPT,3.0,0.5*7c\n", ""},
		{"no sum", a + "\n$SDDPT,3.0,0.5\n", "1 sentence without"},
		{"no $", a + "\n" + b[1:] + "\n", "$ before it; row used"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "lower case sum" && !strings.EqualFold(sentence("SDDPT,3.0,0.5"), "$SDDPT,3.0,0.5*7c") {
				c.text = a + "\n" + "$SDDPT,3.0,0.5*" + strings.ToLower(b[len(b)-2:]) + "\n"
			}
			r := read(t, c.text, ingest.ReadOptions{})
			if r.Source.RowsRead != 2 || r.Source.SetAside != 0 || len(r.Tracks) != 1 || len(r.Soundings) != 1 || r.Soundings[0].DepthM != 3.5 {
				t.Errorf("%+v", r)
			}
			if (c.says == "") != (len(r.Problems) == 0) || !strings.Contains(problems(r), c.says) {
				t.Error(problems(r))
			}
		})
	}
	for _, c := range []struct {
		name, text string
		kind       error
	}{
		{"no $ and no sum", a + "\nSDDPT,3.0,0.5\n", ingest.ErrShape},
		{"no $ and a wrong sum", a + "\nSDDPT,3.0,0.5*00\n", ingest.ErrShape},
		{"glued without its end", a + "\n$SDDPT,1" + b + "\n", ingest.ErrShape},
		{"breaks off", a + "\n" + b + "\n$SDDPT,1", ingest.ErrTruncated},
		{"breaks off in the sum", a + "\n" + b + "\n$SDDPT,1*3", ingest.ErrChecksum},
		{"endless", a + "\n$SDDPT," + strings.Repeat("1", 5000) + "\n", ingest.ErrShape},
	} {
		if r := read(t, c.text, ingest.ReadOptions{}); r.Source.SetAside != 1 || !errors.Is(r.Problems[0], c.kind) || len(r.Problems[0].Row) > mostSentence {
			t.Errorf("%s: %+v %s", c.name, r.Source, problems(r))
		}
	}
	r := read(t, a+"\r\r\r\n\n$SDDPT,x*00\r\n", ingest.ReadOptions{})
	if r.Problems[0].Line != 3 {
		t.Error("line", r.Problems[0].Line)
	}
}

func TestOthers(t *testing.T) {
	// A good checksum on a mangled address doesn't make a known sentence.
	r := read(t, log(rmc("120000"), "GPVLW,1.0,N,1.0,N", "GPGSV,1,1,00", "GPGSV,1,1,00", "PXYZ,1", "=!AIVDM,1,1,,A,1,0*00", "=$#@?,1", "=$gprmc,1"), ingest.ReadOptions{})
	if r.Source.RowsRead != 1 || len(r.Problems) != 1 || !strings.Contains(problems(r), "not used: GSV 2, PXYZ 1, VDM 1, VLW 1, no address 2") {
		t.Errorf("%+v %s", r.Source, problems(r))
	}
	want := []ingest.Column{{Name: "RMC", ReadAs: "time, position, speed, course, 1 sentence"}, {Name: "GSV"}, {Name: "PXYZ"}, {Name: "VDM"}, {Name: "VLW"}, {Name: "no address"}}
	if !slices.Equal(r.Source.Columns, want) {
		t.Errorf("%+v", r.Source.Columns)
	}
	// A talker that begins with P is one like others.
	if r = read(t, log("P1RMC,120000,A,3630.000,N,04000.000,W,1.0,90.0,041031,,,A"), ingest.ReadOptions{}); len(r.Tracks) != 1 {
		t.Error(problems(r))
	}
}

func TestUntrustedSums(t *testing.T) {
	spoil := func(text string, how func(line string) string) string {
		var b strings.Builder
		for line := range strings.Lines(text) {
			b.WriteString(how(strings.TrimSpace(line)) + "\n")
		}
		return b.String()
	}
	text := log(rmc("120000"), rmc("120001"), rmc("120002"), rmc("120003"), "SDDPT,3.0,0.5")
	constant := spoil(text, func(s string) string { return s[:len(s)-2] + "00" })
	// Over the $ as well: each is off by 24, the code of $.
	dollar := spoil(text, func(s string) string { return s[:len(s)-2] + nmea.Checksum(s[:len(s)-3]) })
	for _, c := range []struct{ text, says string }{
		{constant, "5 of 5 sentences end in *00"},
		{dollar, "off by 24"},
		{log(rmc("120000"), rmc("120001")) + strings.Join(strings.SplitAfter(constant, "\n")[2:], ""), "3 of 5"},
	} {
		_, err := Read(strings.NewReader(c.text), "t.nmea", ingest.ReadOptions{})
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "checksums of this file can't be trusted") || !strings.Contains(err.Error(), "--no-checksums") {
			t.Error(err)
		}
		r := read(t, c.text, ingest.ReadOptions{NoChecksums: true})
		if len(r.Tracks[0].Fixes) != 4 || r.Soundings[0].DepthM != 3.5 || r.Source.Used != 5 || len(r.Problems) != 1 || !errors.Is(r.Problems[0], ingest.ErrChecksum) {
			t.Errorf("%+v %s", r.Source, problems(r))
		}
	}
	// Half is not most, and different wrong ones are lines gone bad.
	half := log(rmc("120000"), rmc("120001"), rmc("120002")) + strings.Join(strings.SplitAfter(constant, "\n")[:3], "")
	if r := read(t, half, ingest.ReadOptions{}); r.Source.SetAside != 3 {
		t.Errorf("%+v", r.Source)
	}
	n := 0
	each := spoil(text, func(s string) string { n++; return s[:len(s)-2] + nmea.Checksum(s[1:len(s)-3]+string(rune(n))) })
	if r := read(t, each, ingest.ReadOptions{}); r.Source.SetAside != 5 {
		t.Errorf("%+v", r.Source)
	}
	if r := read(t, text, ingest.ReadOptions{NoChecksums: true}); len(r.Problems) != 0 {
		t.Error(problems(r))
	}
}

func TestManyProblems(t *testing.T) {
	var b strings.Builder
	b.WriteString(log(rmc("120000")))
	const n = mostProblems + 500
	for range n {
		b.WriteString("$SDDPT,1.0,x\n")
	}
	r := read(t, b.String(), ingest.ReadOptions{})
	if r.Source.Repaired != n || len(r.Problems) > mostProblems+10 {
		t.Errorf("%+v, %d problems", r.Source, len(r.Problems))
	}
	if !strings.Contains(problems(r), "499 more problems from here on") {
		t.Error("the rest is not counted")
	}
}

func TestRefused(t *testing.T) {
	if _, err := Read(strings.NewReader("hello\n"), "t", ingest.ReadOptions{}); err == nil || !strings.Contains(err.Error(), "wanted one of RMC") {
		t.Error(err)
	}
	bad := errors.New("disk gone")
	if _, err := Read(io.MultiReader(strings.NewReader(log(rmc("120000"))), iotest.ErrReader(bad)), "t", ingest.ReadOptions{}); !errors.Is(err, bad) {
		t.Error(err)
	}
}

func TestRecognise(t *testing.T) {
	for _, s := range []string{log(rmc("120000")), "# log\n\n" + log("SDDPT,1.0,"), "12:00 > $GPGGA,", "x$y$GPRMC,"} {
		if !Recognise([]byte(s)) {
			t.Errorf("%q is not recognised", s)
		}
	}
	for _, s := range []string{"", "time,depth_m\n1,2\n", "<gpx>$GPRMC,</gpx>", `{"a":"$GPRMC,"}`, "$GPRMC", "$GPGSV,1", "GPRMC,1", "$5,RMC,", "\xFF\xD8\xFF"} {
		if Recognise([]byte(s)) {
			t.Errorf("%q is taken for NMEA", s)
		}
	}
}

// However a log is cut into lines and whatever stands between, the same is read.
func TestEndsOfLinesChangeNothing(t *testing.T) {
	text := log(rmc("235959"), "SDDPT,3.0,0.5", "YXMTW,17.75,C", "GPGGA,000001,3630.000,N,04000.000,W,1,,,,M,,M,,", "SDDBT,9.8,f,3.0,M,1.6,F", "WIMWD,225.5,T,,M,,N,5.1,M")
	want := read(t, text, ingest.ReadOptions{})
	for _, end := range []string{"\n", "\r", "\r\r\n", "", "  ", "\n\n\n"} {
		got := read(t, strings.ReplaceAll(text, "\r\n", end), ingest.ReadOptions{})
		for i := range got.Soundings {
			got.Soundings[i].Line = want.Soundings[i].Line
		}
		if !slices.Equal(got.Soundings, want.Soundings) || len(got.Tracks[0].Fixes) != 2 || len(got.Winds) != 1 || got.Source.Used != want.Source.Used {
			t.Errorf("%q: %+v", end, got)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(log(rmc("120000"), "SDDPT,3.0,0.5", "YXMTW,17.75,C", "WIMWV,12.1,T,10.1,N,A")), false)
	f.Add([]byte(log("GPGGA,235959,3630.000,N,04000.000,W,1,,,,M,,M,,", "GPZDA,000001,04,10,2031,-05,00", "SDDBT,7.8,f,2.4,M,1.3,F", "SDDBS,,f,2.4,M,,F")), true)
	f.Add([]byte(log("GPGLL,3630.000,N,04000.000,W,120000,A", "GPVTG,1,T,,M,1,N,,K", "IIVHW,1,T,,M,,N,,K", "WIMWD,1,T,,M,1,N,1,M")+"x$SDDPT,1$SDDPT,2\r\r\n!AIVDM,"), true)
	f.Fuzz(func(t *testing.T, text []byte, noSums bool) {
		r, err := Read(strings.NewReader(string(text)), "f", ingest.ReadOptions{NoChecksums: noSums})
		if err != nil {
			return
		}
		balance(t, r)
		for _, k := range r.Tracks {
			for _, x := range k.Fixes {
				if !(math.Abs(x.Pos[0]) <= 180 && math.Abs(x.Pos[1]) <= 90) || x.CourseDeg.V < 0 || x.CourseDeg.V >= 360 {
					t.Error(x)
				}
			}
		}
		for _, s := range r.Soundings {
			if !(math.Abs(s.DepthM) <= mostDepthM+mostOffsetM) {
				t.Error(s)
			}
		}
		for _, w := range r.Winds {
			if w.Time.IsZero() || w.FromDeg < 0 || w.FromDeg >= 360 {
				t.Error(w)
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var s strings.Builder
	for i := range 20000 {
		clock := fmt.Sprintf("%02d%02d%02d", i/3600, i/60%60, i%60)
		s.WriteString(log(rmc(clock), "SDDPT,3.0,0.5", "YXMTW,17.75,C"))
	}
	b.SetBytes(int64(s.Len()))
	for b.Loop() {
		if _, err := Read(strings.NewReader(s.String()), "b", ingest.ReadOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
