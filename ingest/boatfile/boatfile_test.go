package boatfile

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	_ "time/tzdata"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// The international ounce is 28.349523125 g, the foot 304.8 mm, by the agreement
// of 1959; NIST SP 811 B.8 has both.
const ounceKg, footM = 0.028349523125, 0.3048

const full = `# my boat
tz = "Europe/Berlin"
units = "metric"
transducer_depth = "1.5ft"
cast = "30m"
heads = ["1/2oz", "1/8oz", "7g"]
metal = "tungsten"
max_sink = "25s"
max_angle_deg = 40.5
water_temp = "50F"

[[line]]
up_to = "1/4oz"
name = "thin"
diameter = "0.2mm"
material = "nylon"

[[line]]
up_to = "1oz"
diameter = "0.3mm"
material = "braid"

[[line]]
diameter = "0.4mm"
material = "fluorocarbon"

[[trailer]]
length = "3in"
`

func TestRead(t *testing.T) {
	b, err := Read(strings.NewReader(full), "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	if b.Zone == nil || b.Zone.String() != "Europe/Berlin" || !b.Metric {
		t.Errorf("zone %v, metric %t", b.Zone, b.Metric)
	}
	near("transducer", b.TransducerM, 1.5*footM)
	near("cast", b.CastM, 30)
	near("sink", b.Tackle.MaxSinkS, 25)
	near("angle", b.Tackle.MaxAngleDeg, 40.5)
	near("water", b.Tackle.WaterC, 10) // 50 °F
	if len(b.Tackle.Heads) != 3 {
		t.Fatal(b.Tackle.Heads)
	}
	for i, want := range []float64{ounceKg / 8, 0.007, ounceKg / 2} {
		near("head", b.Tackle.Heads[i].MassKg, want)
		near("tungsten", b.Tackle.Heads[i].DensityKgM3, 19250)
	}
	lines := []ingest.LineRule{
		{UpToKg: ounceKg / 4, Line: ingest.Line{Name: "thin", DiameterM: 0.0002, DensityKgM3: 1140}},
		{UpToKg: ounceKg, Line: ingest.Line{Name: "braid", DiameterM: 0.0003, DensityKgM3: 970}},
		{UpToKg: math.MaxFloat64, Line: ingest.Line{Name: "fluorocarbon", DiameterM: 0.0004, DensityKgM3: 1780}},
	}
	if len(b.Tackle.Lines) != 3 {
		t.Fatal(b.Tackle.Lines)
	}
	for i, want := range lines {
		got := b.Tackle.Lines[i]
		near("diameter", got.Line.DiameterM, want.Line.DiameterM)
		if got.Line.DiameterM = want.Line.DiameterM; got != want {
			t.Errorf("line %d: got %+v, want %+v", i, got, want)
		}
	}
	if len(b.Tackle.Trailers) != 1 || b.Tackle.Trailers[0].UpToKg != math.MaxFloat64 {
		t.Error(b.Tackle.Trailers)
	}
	near("trailer", b.Tackle.Trailers[0].LengthM, 3*footM/12)
}

func TestDefault(t *testing.T) {
	b := Default()
	if b.Zone != nil || b.Metric || b.TransducerM != 0 || b.CastM != 25 {
		t.Errorf("%+v", b)
	}
	// The box, the lines, the trailers and the limits are common practice, no
	// source; the figures are those the defaults are meant to have.
	if k := b.Tackle; len(k.Heads) != 8 || k.MaxSinkS != 20 || k.MaxAngleDeg != 45 || k.WaterC != 15 {
		t.Errorf("%+v", k)
	}
	for i, oz := range []float64{0.0625, 0.125, 0.1875, 0.25, 0.375, 0.5, 0.75, 1} {
		if h := b.Tackle.Heads[i]; math.Abs(h.MassKg-oz*ounceKg) > 1e-15 || h.DensityKgM3 != 11340 {
			t.Errorf("head %d: %+v", i, h)
		}
	}
	for _, c := range []struct {
		name      string
		oz        float64
		line      string
		diameterM float64
		trailerM  float64
	}{
		{"lightest", 1. / 16, "8 lb fluorocarbon", 0.00023, 0.07112},
		{"last light one", 1. / 4, "8 lb fluorocarbon", 0.00023, 0.07112},
		{"first heavy one", 3. / 8, "50 lb braid", 0.00036, 0.09652},
		{"heavier than the box", 10, "50 lb braid", 0.00036, 0.09652},
	} {
		l, trailerM := b.Tackle.LineFor(c.oz*ounceKg), b.Tackle.TrailerFor(c.oz*ounceKg)
		if l.Name != c.line || l.DiameterM != c.diameterM || math.Abs(trailerM-c.trailerM) > 1e-12 {
			t.Errorf("%s: %+v, trailer %v m", c.name, l, trailerM)
		}
	}
	b.Tackle.Heads[0].MassKg = 0
	if Default().Tackle.Heads[0].MassKg == 0 {
		t.Error("two boats share their heads")
	}
}

func TestLeftOut(t *testing.T) {
	for _, c := range []struct {
		name, text string
		change     func(b *ingest.Boat)
	}{
		{"all", "", func(*ingest.Boat) {}},
		{"all, with byte order mark", "\ufeff# nothing\r\n", func(*ingest.Boat) {}},
		{"all but the cast", `cast = "20m"`, func(b *ingest.Boat) { b.CastM, b.Tackle.CastM = 20, 20 }},
		{"all but the zone", `tz = "UTC"`, func(b *ingest.Boat) { b.Zone = time.UTC }},
		{"all but the metal", `metal = "bismuth"`, func(b *ingest.Boat) {
			for i := range b.Tackle.Heads {
				b.Tackle.Heads[i].DensityKgM3 = 9780
			}
		}},
		{"last up_to given", "[[trailer]]\nup_to='1kg'\nlength='0.1m'", func(b *ingest.Boat) {
			b.Tackle.Trailers = []ingest.TrailerRule{{UpToKg: 1, LengthM: 0.1}}
		}},
		{"rules in one line", "trailer = [{length='0.1m'}]", func(b *ingest.Boat) {
			b.Tackle.Trailers = []ingest.TrailerRule{{UpToKg: math.MaxFloat64, LengthM: 0.1}}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := Default()
			c.change(&want)
			got, err := Read(strings.NewReader(c.text), "boat.toml")
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("got  %+v\nwant %+v", got, want)
			}
		})
	}
}

func TestLeadersAndCountdowns(t *testing.T) {
	const text = "metal = 'tungsten'\nreel_up = '1m/s'\nunhook = '15s'\n" +
		"[[line]]\nname = '30 lb braid'\ndiameter = '0.28mm'\nmaterial = 'braid'\nleader_length = '1m'\nleader_diameter = '0.33mm'\nleader_material = 'nylon'\n" +
		"[[countdown]]\nhead = '10g'\ntrailer = '8cm'\ndepth = '6m'\ntime = '12s'\n" +
		"[[countdown]]\nhead = '1/2oz'\nmetal = 'lead'\ntrailer = '3.8in'\ndepth = '30ft'\ntime = '17.5s'\n"
	b, err := Read(strings.NewReader(text), "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	k := b.Tackle
	if k.ReelUpMPS != 1 || k.UnhookS != 15 {
		t.Errorf("reel %v m/s, unhook %v s", k.ReelUpMPS, k.UnhookS)
	}
	if d := k.Lines[0].Line.Leader; d == nil || *d != (ingest.Leader{Name: "nylon", DiameterM: 0.00033, DensityKgM3: 1140, LengthM: 1}) {
		t.Errorf("leader %+v", d)
	}
	want := []ingest.Countdown{
		{Head: ingest.Head{MassKg: 0.010, DensityKgM3: 19250}, TrailerM: 0.08, DepthM: 6, Seconds: 12},
		{Head: ingest.Head{MassKg: 0.0141747615625, DensityKgM3: 11340}, TrailerM: 3.8 * 0.0254, DepthM: 9.144, Seconds: 17.5},
	}
	for i, c := range k.Countdowns {
		w := want[i]
		if math.Abs(c.Head.MassKg-w.Head.MassKg) > 1e-9 || c.Head.DensityKgM3 != w.Head.DensityKgM3 || math.Abs(c.TrailerM-w.TrailerM) > 1e-9 || math.Abs(c.DepthM-w.DepthM) > 1e-9 || c.Seconds != w.Seconds {
			t.Errorf("countdown %+v, want %+v", c, w)
		}
	}
	if len(k.Countdowns) != len(want) {
		t.Errorf("%d countdowns", len(k.Countdowns))
	}
}

func TestRefused(t *testing.T) {
	const top = "known are tz, units, transducer_depth, sounder_speed, pool, levels, columns, cast, heads, metal, max_sink, max_angle_deg, water_temp, reel, reel_up, unhook, launch, take_out, run, idle, draft, margin, line, trailer, countdown"
	for _, c := range []struct{ name, text, want string }{
		{"unknown key", "cast = '20m'\ncasts = '20m'\n", `boat.toml:2: unknown key "casts"; ` + top},
		{"key in capitals", "Cast = '20m'\n", `boat.toml:1: unknown key "Cast"; ` + top},
		{"unknown table", "[spool]\nx = 1\n", `boat.toml:1: unknown key "spool"; ` + top},
		{"leader without a material", "[[line]]\ndiameter = '0.2mm'\nmaterial = 'nylon'\nleader_length = '1m'\nleader_diameter = '0.3mm'\n", `boat.toml:1: [[line]] leader_material: missing, wanted fluorocarbon, nylon, braid`},
		{"countdown without a time", "[[countdown]]\nhead = '1/4oz'\ntrailer = '3in'\ndepth = '20ft'\n", `boat.toml:1: [[countdown]] time: missing, wanted one such as "14s"`},
		{"countdown of no depth", "[[countdown]]\nhead = '1/4oz'\ntrailer = '3in'\ndepth = '20s'\ntime = '3s'\n", `boat.toml:4: [[countdown]] depth: "20s": unknown unit "s"; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"unknown key in a line", "[[line]]\ndiameter = '0.2mm'\nmaterial = 'nylon'\ncolour = 'red'\n", `boat.toml:4: [[line]] colour: unknown key; known are up_to, name, diameter, material, leader_length, leader_diameter, leader_material, leader_name`},
		{"unknown key in a trailer", "[[trailer]]\ncolour = 'red'\n", `boat.toml:2: [[trailer]] colour: unknown key; known are up_to, length`},
		{"unknown key in an inline table", "\ntrailer = [{length = '3in', colour = 'red'}]\n", `boat.toml:2: [[trailer]] colour: unknown key; known are up_to, length`},
		{"no rules", "line = []\n", "boat.toml:1: line is not a list of tables, wanted [[line]] above its keys"},
		{"line of numbers", "line = [3]\n", "boat.toml:1: line is not a list of tables, wanted [[line]] above its keys"},
		{"key under a value", "[cast]\nfar = 1\n", `boat.toml:2: unknown key "far"; ` + top},
		{"not TOML", "cast = \n", "boat.toml:1: "},
		{"key twice", "cast = '20m'\ncast = '21m'\n", "boat.toml:2: Key 'cast' has already been defined."},
		{"zone unknown", "tz = 'Nowhere/Here'\n", `boat.toml:1: tz: "Nowhere/Here" is not a time zone, wanted UTC or a name of the time zone database, such as Area/City`},
		{"zone of the machine", "tz = 'Local'\n", `boat.toml:1: tz: "Local" is not a time zone, wanted UTC or a name of the time zone database, such as Area/City`},
		{"zone empty", "tz = ''\n", `boat.toml:1: tz: "" is not a time zone, wanted UTC or a name of the time zone database, such as Area/City`},
		{"zone a number", "tz = 5\n", `boat.toml:1: tz: "5" is not a time zone, wanted UTC or a name of the time zone database, such as Area/City`},
		{"zone climbing out", "tz = '../../etc/passwd'\n", `boat.toml:1: tz: "../../etc/passwd" is not a time zone, wanted UTC or a name of the time zone database, such as Area/City`},
		{"units unknown", "units = 'imperial'\n", `boat.toml:1: units: "imperial" is not a known word, wanted us, metric`},
		{"no unit", "\ncast = 25\n", `boat.toml:2: cast: "25" has no unit; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"wrong unit", "cast = '25oz'\n", `boat.toml:1: cast: "25oz": unknown unit "oz"; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"cast too far", "cast = '25km'\n", `boat.toml:1: cast: "25km" is out of range, wanted 1m to 150m`},
		{"transducer above the water", "transducer_depth = '-1ft'\n", `boat.toml:1: transducer_depth: "-1ft" is out of range, wanted 0ft to 32ft`},
		{"sink of no time", "max_sink = '0s'\n", `boat.toml:1: max_sink: "0s" is out of range, wanted 1s to 10min`},
		{"angle with unit", "max_angle_deg = '45deg'\n", `boat.toml:1: max_angle_deg: "45deg" is not a number, wanted degrees from vertical such as 45`},
		{"angle flat", "max_angle_deg = 90\n", "boat.toml:1: max_angle_deg: 90 is out of range, wanted 1 to 89"},
		{"angle NaN", "max_angle_deg = nan\n", "boat.toml:1: max_angle_deg: NaN is out of range, wanted 1 to 89"},
		{"water boiling", "water_temp = '100C'\n", `boat.toml:1: water_temp: "100C" is out of range, wanted 32F to 104F`},
		{"metal unknown", "metal = 'gold'\n", `boat.toml:1: metal: "gold" is not a known word, wanted lead, tungsten, bismuth`},
		{"no heads", "heads = []\n", `boat.toml:1: heads: wanted a list of at least one head, such as ["1/8oz", "1/4oz"]`},
		{"heads not a list", "heads = '1/4oz'\n", `boat.toml:1: heads: wanted a list of at least one head, such as ["1/8oz", "1/4oz"]`},
		{"head without unit", "heads = ['1/4']\n", `boat.toml:1: heads: "1/4" has no unit; weights take oz, g, kg, lb`},
		{"head of nothing", "heads = ['0oz']\n", `boat.toml:1: heads: "0oz" is out of range, wanted 0.1g to 1kg`},
		{"equal heads", "heads = ['1/4oz', '1/8oz', '2/8oz']\n", `boat.toml:1: heads: 1/4 oz is listed twice`},
		{"equal heads in two units", "heads = ['2oz', '0.125lb']\n", `boat.toml:1: heads: 2 oz is listed twice`},
		{"line without diameter", "[[line]]\nmaterial = 'nylon'\n", `boat.toml:1: [[line]] diameter: missing, wanted one such as "0.23mm"`},
		{"second line without material", "[[line]]\nup_to='1oz'\ndiameter='0.2mm'\nmaterial='nylon'\n\n[[line]]\ndiameter = '0.2mm'\n", `boat.toml:6: [[line]] material: missing, wanted fluorocarbon, nylon, braid`},
		{"first line of two without up_to", "[[line]]\ndiameter='0.2mm'\nmaterial='nylon'\n[[line]]\ndiameter = '0.2mm'\nmaterial='nylon'\n", `boat.toml:1: [[line]] up_to: missing, only the last [[line]] can leave it out`},
		{"material unknown", "[[line]]\ndiameter='0.2mm'\nmaterial='silk'\n", `boat.toml:3: [[line]] material: "silk" is not a known word, wanted fluorocarbon, nylon, braid`},
		{"name not text", "[[line]]\ndiameter='0.2mm'\nmaterial='nylon'\nname=8\n", `boat.toml:4: [[line]] name: "8" is not a name, wanted text`},
		{"diameter in the wrong unit", "[[line]]\nmaterial='nylon'\ndiameter='0.23in'\n", `boat.toml:3: [[line]] diameter: "0.23in" is out of range, wanted 0.03mm to 3mm`},
		{"up_to falling", "[[trailer]]\nup_to='1/2oz'\nlength='2in'\n[[trailer]]\nup_to='1/4oz'\nlength='3in'\n", `boat.toml:5: [[trailer]] up_to: 1/4 oz does not come after 1/2 oz, wanted the lightest first`},
		{"second value wrong, its line told", "[[trailer]]\nup_to='1/2oz'\nlength='2in'\n[[trailer]]\nlength='3'\n", `boat.toml:5: [[trailer]] length: "3" has no unit; lengths take ft, in, m, cm, mm, km, mi, fathom`},
		{"line not a table", "line = 3\n", "boat.toml:1: line is not a list of tables, wanted [[line]] above its keys"},
		{"line a single table", "[line]\ndiameter='0.2mm'\n", "boat.toml:1: line is not a list of tables, wanted [[line]] above its keys"},
		{"too long", strings.Repeat("#", 2<<20), "boat.toml: longer than 1 MiB, wanted a boat file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			// Go visits a map at random: of several errors the same must come each time.
			for range 3 {
				_, err := Read(strings.NewReader(c.text), "boat.toml")
				if err == nil || err.Error() != c.want && !(c.name == "not TOML" && strings.HasPrefix(err.Error(), c.want)) && !(c.name == "key twice" && strings.HasPrefix(err.Error(), c.want)) {
					t.Fatalf("got  %v\nwant %s", err, c.want)
				}
			}
		})
	}
	t.Run("of two errors always the same", func(t *testing.T) {
		const text = "cast = '1'\nmax_sink = '1'\nwater_temp = '1'\nunits = 'x'\n"
		first := ""
		for range 30 {
			_, err := Read(strings.NewReader(text), "boat.toml")
			if err == nil || first != "" && err.Error() != first {
				t.Fatalf("%v, then %v", first, err)
			}
			first = err.Error()
		}
	})
	t.Run("failing disk", func(t *testing.T) {
		broken := errors.New("disk gone")
		if _, err := Read(iotest.ErrReader(broken), "boat.toml"); !errors.Is(err, broken) {
			t.Error(err)
		}
	})
	t.Run("name with a percent sign", func(t *testing.T) {
		if _, err := Read(strings.NewReader("x = 1"), "100%d.toml"); err == nil || !strings.HasPrefix(err.Error(), "100%d.toml:1: ") {
			t.Error(err)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add(full)
	f.Add("heads = ['1/4oz', '2/8oz']")
	f.Add("line = [{diameter='0.2mm', material='braid'}]")
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Read(strings.NewReader(text), "f.toml")
		if err != nil {
			if !strings.HasPrefix(err.Error(), "f.toml:") {
				t.Fatalf("no file name in %q", err)
			}
			return
		}
		k := b.Tackle
		if len(k.Heads) == 0 || len(k.Lines) == 0 || len(k.Trailers) == 0 || !(b.CastM > 0) || !(b.TransducerM >= -1e-6) || !(k.MaxSinkS > 0) || !(k.MaxAngleDeg > 0) {
			t.Fatalf("%+v", b)
		}
		for i, h := range k.Heads {
			if !(h.MassKg > 0) || !(h.DensityKgM3 > 1000) || i > 0 && h.MassKg <= k.Heads[i-1].MassKg {
				t.Fatalf("%+v", k.Heads)
			}
			if l := k.LineFor(h.MassKg); !(l.DiameterM > 0) || l.Name == "" {
				t.Fatalf("%+v", l)
			}
			if !(k.TrailerFor(h.MassKg) > 0) {
				t.Fatal("no trailer")
			}
		}
	})
}

func TestSounderAndColumns(t *testing.T) {
	b, err := Read(strings.NewReader("sounder_speed = \"1500m/s\"\n[columns]\n\"Tiefe\" = \"depth_m\"\n2 = \"lat\"\n"), "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	if b.SounderMPS != ingest.Known(1500) || b.Columns["Tiefe"] != "depth_m" || b.Columns["2"] != "lat" {
		t.Errorf("sounder %v, columns %v", b.SounderMPS, b.Columns)
	}
	for text, want := range map[string]string{
		`sounder_speed = "150m/s"`:    `boat.toml:1: sounder_speed: "150m/s" is out of range`,
		`columns = "depth_m"`:         `boat.toml:1: columns: not a table`,
		"[columns]\n\"Tiefe\" = 3\n":  `"Tiefe": "3" is not a word`,
		"[columns]\n\"Tiefe\" = \"\"": `"Tiefe": "" is not a word`,
	} {
		if _, err := Read(strings.NewReader(text), "boat.toml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
}

func TestLevels(t *testing.T) {
	b, err := Read(strings.NewReader("pool = \"100m\"\n[levels]\n2031-10-05 = \"99.5m\"\n2031-10-04 = \"328ft\"\n"), "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	if b.PoolM != ingest.Known(100) || len(b.Levels) != 2 {
		t.Fatalf("pool %v, levels %v", b.PoolM, b.Levels)
	}
	if l := b.Levels[0]; l.Date != "2031-10-04" || math.Abs(l.LevelM-99.9744) > 1e-9 || l.Source != -1 {
		t.Errorf("first level %+v, want 328 ft on 2031-10-04", l)
	}
	for text, want := range map[string]string{
		`pool = 100`:                           `boat.toml:1: pool: "100" has no unit`,
		`levels = "99m"`:                       `boat.toml:1: levels: not a table`,
		"[levels]\n\"4 October\" = \"99m\"\n":  `"4 October" is not a day, wanted one such as 2031-10-04`,
		"[levels]\n2031-10-04 = \"high\"\n":    `levels: 2031-10-04: "high"`,
		"[levels]\n2031-10-04 = \"99999m\"\n":  `is out of range, wanted -1600ft to 32000ft`,
		"[[levels]]\n2031-10-04 = \"99.5m\"\n": `levels: not a table`,
	} {
		if _, err := Read(strings.NewReader(text), "boat.toml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
}

// Defaults of the run, and what a person says instead.
func TestRunKeys(t *testing.T) {
	b := Default()
	if b.Launch != nil || b.TakeOut != nil || b.RunMPS.OK || b.IdleMPS.OK || math.Abs(b.DraftM-2*footM) > 1e-12 || math.Abs(b.MarginM-2*footM) > 1e-12 {
		t.Errorf("defaults %+v", b)
	}
	b, err := Read(strings.NewReader("launch = '36.512,-40.118'\ntake_out = '36.5, -40'\nrun = '10m/s'\nidle = '2m/s'\ndraft = '0.4m'\nmargin = '0m'\n"), "boat.toml")
	if err != nil {
		t.Fatal(err)
	}
	if *b.Launch != (orb.Point{-40.118, 36.512}) || *b.TakeOut != (orb.Point{-40, 36.5}) ||
		b.RunMPS != ingest.Known(10) || b.IdleMPS != ingest.Known(2) || b.DraftM != 0.4 || b.MarginM != 0 {
		t.Errorf("%+v", b)
	}
	for text, want := range map[string]string{
		"launch = '36.5'":      `boat.toml:1: launch: "36.5" is not a place, wanted LAT,LON in degrees, such as 36.512,-40.118`,
		"launch = [36.5, -40]": `boat.toml:1: launch: "[36.5 -40]" is not a place, wanted latitude and longitude in degrees, such as "36.512,-40.118"`,
		"take_out = '95,0'":    `boat.toml:1: take_out: "95,0" is not a place, wanted LAT,LON in degrees, such as 36.512,-40.118`,
		"run = '100m/s'":       "wanted 1m/s to 45m/s",
		"idle = '0m/s'":        "wanted 0.5m/s to 10m/s",
		"draft = '0ft'":        "wanted 2in to 16ft",
		"margin = '-1ft'":      "wanted 0ft to 32ft",
		"draft = 2":            "boat.toml:1: draft: ",
	} {
		if _, err := Read(strings.NewReader(text), "boat.toml"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
