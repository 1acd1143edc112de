package kmlfile

import (
	"cmp"
	"encoding/xml"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// awayM is how far p is from the nearest point of a line, in metres, worked out apart from
// the code under test.
func awayM(f plane.Frame, p orb.Point, l []orb.Point) float64 {
	least, v := math.Inf(1), f.Metres(p)
	for i := 1; i < len(l); i++ {
		a, b := f.Metres(l[i-1]), f.Metres(l[i])
		along := r2.Sub(b, a)
		t := 0.0
		if n := r2.Dot(along, along); n > 0 {
			t = math.Min(math.Max(r2.Dot(r2.Sub(v, a), along)/n, 0), 1)
		}
		least = math.Min(least, r2.Norm(r2.Sub(v, r2.Add(a, r2.Scale(t, along)))))
	}
	return least
}

// crossings counts the pairs of a ring's edges that meet elsewhere than in a corner they
// share: by the definition, exact in units of 1e-7 degrees, n², and apart from the library
// the code asks.
func crossings(r orb.Ring) int {
	n, found := len(r)-1, 0
	v := make([][2]int, n)
	for i := range v {
		v[i] = [2]int{int(math.Round((r[i][0] - r[0][0]) * 1e7)), int(math.Round((r[i][1] - r[0][1]) * 1e7))}
	}
	side := func(a, b, c [2]int) int {
		return cmp.Compare((b[0]-a[0])*(c[1]-a[1])-(b[1]-a[1])*(c[0]-a[0]), 0)
	}
	between := func(a, b, c, d [2]int, k int) bool { // do their spans on one axis meet?
		return max(a[k], b[k]) >= min(c[k], d[k]) && max(c[k], d[k]) >= min(a[k], b[k])
	}
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			a, b, c, d := v[i], v[i+1], v[j], v[(j+1)%n]
			if side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0 && between(a, b, c, d, 0) && between(a, b, c, d, 1) {
				found++
			}
		}
	}
	return found
}

// Six decimals move a position by half of 1e-6 degrees each way: 0.079 m on the diagonal.
const roundedM = 0.08

// Random stars, from a metre to a kilometre, with spikes and with a hole: what is drawn is
// closed, has four positions, doesn't cross itself, turns as it did, and every corner of
// it and of what was found lies within the error of the other.
func TestDrawnStars(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	f := plane.New(exporttest.Origin)
	before, after, holes := 0, 0, 0
	for n := range 300 {
		reach := math.Pow(10, 3*rng.Float64())
		corners := 4 + rng.IntN(120)
		star := func(least, most float64) orb.Ring {
			var r orb.Ring
			for i := range corners {
				sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.4*rng.Float64()) / float64(corners))
				m := least + (most-least)*rng.Float64()
				r = append(r, f.Degrees(r2.Vec{X: m * cos, Y: m * sin}))
			}
			return append(r, r[0])
		}
		p := export.Polygon(orb.Polygon{star(reach/4, reach), star(reach/40, reach/9)})
		if p == nil || !valid(p) {
			continue // a star of a metre with spikes of an inch, rounded
		}
		kept := orb.Clone(p)
		got, ok := drawn(p, errorM).(orb.Polygon)
		if !reflect.DeepEqual(orb.Geometry(p), kept) {
			t.Fatalf("%d: the input was written to", n)
		}
		if !ok || len(got) != len(p) {
			t.Fatalf("%d: %d rings, had %d", n, len(got), len(p))
		}
		for i, r := range got {
			if len(r) < 4 || r[0] != r[len(r)-1] {
				t.Fatalf("%d: ring %d is %v", n, i, r)
			}
			if c := crossings(r); c > 0 {
				t.Fatalf("%d: ring %d crosses itself %d times", n, i, c)
			}
			if ccw := export.SignedArea(r) > 0; ccw != (i == 0) {
				t.Fatalf("%d: ring %d counter-clockwise %v", n, i, ccw)
			}
			for _, v := range p[i] {
				if m := awayM(f, v, r); m > errorM+roundedM {
					t.Fatalf("%d: a corner is now %v m off", n, m)
				}
			}
			for _, v := range r {
				if m := awayM(f, v, p[i]); m > roundedM {
					t.Fatalf("%d: a corner was made %v m off", n, m)
				}
			}
			before, after, holes = before+len(p[i]), after+len(r), holes+min(i, 1)
		}
	}
	if after >= before || holes < 250 {
		t.Errorf("%d positions of %d left, %d holes", after, before, holes)
	}
}

// A bay whose mouth is narrower than the error: thinning its walls would close it or make
// them cross, and the polygon must stay valid.
func TestDrawnNarrow(t *testing.T) {
	f := plane.New(exporttest.Origin)
	ring := func(xy ...float64) orb.Ring {
		var r orb.Ring
		for i := 0; i < len(xy); i += 2 {
			r = append(r, f.Degrees(r2.Vec{X: xy[i], Y: xy[i+1]}))
		}
		return append(r, r[0])
	}
	for name, p := range map[string]orb.Polygon{
		// The neck of the bay is bent by less than the error, a spit reaches through it.
		"a neck":      {ring(0, 0, 100, 0, 100, 50, 51, 50, 51.6, 40, 52.2, 30, 51.6, 20, 51, 10, 50.3, 10, 50.9, 20, 51.5, 30, 50.9, 40, 50.3, 50, 0, 50)},
		"a speck":     {ring(0, 0, 1, 0, 1, 1, 0, 1)},
		"a sliver":    {ring(0, 0, 50, 0.4, 100, 0, 50, -0.4)},
		"hole beside": {ring(0, 0, 100, 0, 100, 50, 75, 49, 50, 48.7, 25, 49, 0, 50), ring(20, 40, 25, 48.4, 50, 48.2, 75, 48.4, 80, 40)},
	} {
		t.Run(name, func(t *testing.T) {
			p = export.Polygon(p)
			if !valid(p) {
				t.Fatal("not valid to begin with")
			}
			got, ok := drawn(p, errorM).(orb.Polygon)
			if !ok || !valid(got) || len(got) != len(p) {
				t.Errorf("gives %v", got)
			}
		})
	}
}

func TestThinLine(t *testing.T) {
	f := plane.New(exporttest.Origin)
	line := func(xy ...float64) orb.LineString {
		var l orb.LineString
		for i := 0; i < len(xy); i += 2 {
			l = append(l, f.Degrees(r2.Vec{X: xy[i], Y: xy[i+1]}))
		}
		return l
	}
	for _, c := range []struct {
		name string
		in   orb.LineString
		want int
	}{
		{"the middle stands off by 1 m", line(0, 0, 10, 1, 20, 0), 2},
		{"and by 2 m", line(0, 0, 10, 2, 20, 0), 3},
		{"two points", line(0, 0, 0.5, 0), 2},
		{"two points that six decimals can't tell apart", line(0, 0, 0.01, 0), 2},
		{"a closed square of 10 m", line(0, 0, 10, 0, 10, 10, 0, 10, 0, 0), 5},
		{"a closed square of half a metre", line(0, 0, 0.5, 0, 0.5, 0.5, 0, 0.5, 0, 0), 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := thinLine(c.in, errorM); len(got) != c.want {
				t.Errorf("%d points, want %d: %v", len(got), c.want, got)
			}
		})
	}
}

// One border of two bands is drawn in both alike: where a band's outline is the next
// one's hole, both keep the same points.
func TestDrawnBorders(t *testing.T) {
	bands := exporttest.Season().Chart.Bands
	shared := 0
	for i := range 5 {
		outer := drawn(export.MultiPolygon(bands[i+1].Shape), errorM).(orb.MultiPolygon)[0][0]
		hole := drawn(export.MultiPolygon(bands[i].Shape), errorM).(orb.MultiPolygon)[0][1]
		points := map[orb.Point]bool{}
		for _, p := range hole {
			points[p] = true
		}
		for _, p := range outer {
			if !points[p] {
				t.Fatalf("band %d: %v is in the outline only", i, p)
			}
			shared++
		}
		if len(outer) != len(hole) {
			t.Errorf("band %d: outline of %d, hole of %d", i, len(outer), len(hole))
		}
	}
	if shared == 0 {
		t.Error("nothing compared")
	}
}

// shapesOf reads every coordinates element of a file.
func shapesOf(t *testing.T, b []byte) [][]string {
	t.Helper()
	var out [][]string
	d := xml.NewDecoder(strings.NewReader(string(b)))
	for {
		token, err := d.Token()
		if token == nil {
			if len(out) == 0 {
				t.Fatal(err)
			}
			return out
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "coordinates" {
			var text string
			if err := d.DecodeElement(&text, &e); err != nil {
				t.Fatal(err)
			}
			out = append(out, strings.Fields(text))
		}
	}
}

// Every position has six decimals at most, and lies within ±180; across 180° no step goes
// round the Earth, and every view looks at the lake.
func TestPositions(t *testing.T) {
	across := exporttest.Season()
	c := &across.Chart
	const by = 179.998 + 40 // 180° runs through the first zone
	move := func(ps []orb.Point) {
		for i := range ps {
			ps[i][0] = math.Remainder(ps[i][0]+by, 360)
		}
	}
	for _, z := range c.Zones {
		move(z.Shape[0])
	}
	for _, d := range c.Drifts {
		move(d.Line)
	}
	for _, l := range c.Contours {
		for _, line := range l.Lines {
			move(line)
		}
	}
	c.Bands = nil // they share their rings
	c.Events = nil
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "across 180": across} {
		t.Run(name, func(t *testing.T) {
			b := written(t, in, export.Options{})
			for _, shape := range shapesOf(t, b) {
				last := math.NaN()
				for _, position := range shape {
					numbers := strings.Split(position, ",")
					for _, n := range numbers {
						if _, decimals, _ := strings.Cut(n, "."); len(decimals) > 6 {
							t.Fatalf("position %s", position)
						}
					}
					lon, err := strconv.ParseFloat(numbers[0], 64)
					if err != nil || math.Abs(lon) > 180 || math.Abs(lon-last) > 180 {
						t.Fatalf("longitude %v after %v", lon, last)
					}
					last = lon
				}
			}
			var d struct {
				Views []float64 `xml:"Document>LookAt>longitude"`
				Range []float64 `xml:"Document>LookAt>range"`
				Zones []float64 `xml:"Document>Folder>Placemark>LookAt>longitude"`
			}
			if err := xml.Unmarshal(b, &d); err != nil {
				t.Fatal(err)
			}
			want := exporttest.Origin[0]
			if name != "season" {
				want = 180
			}
			if len(d.Views) != 1 || len(d.Zones) != 3 || d.Range[0] > 2500 {
				t.Fatalf("views %v, ranges %v, of zones %v", d.Views, d.Range, d.Zones)
			}
			for _, lon := range append(d.Views, d.Zones...) {
				if math.Abs(math.Remainder(lon-want, 360)) > 0.01 {
					t.Errorf("looks at %v, want about %v", lon, want)
				}
			}
		})
	}
}

// dense is a steep basin: a contour every foot.
func dense(n int) []spatial.Contour {
	f := plane.New(exporttest.Origin)
	var out []spatial.Contour
	for i := range n {
		var l orb.LineString
		for j := range 65 {
			sin, cos := math.Sincos(2 * math.Pi * float64(j%64) / 64)
			m := 400 * (1 - float64(i)/float64(n))
			l = append(l, f.Degrees(r2.Vec{X: m * cos, Y: m * sin}))
		}
		out = append(out, spatial.Contour{DepthM: 0.3048 * float64(i+1), Lines: orb.MultiLineString{l}})
	}
	return out
}

// Circles of 400 m and less, n of them, are 2π·400·(n+1)/2 m of contour in a box 800 m
// across: 8 pixels apart when the box is 8·π·400·(n+1)/800 pixels across, by the rule in
// nearBy.
func TestRegions(t *testing.T) {
	in := exporttest.Season()
	in.Chart.Contours = dense(40)
	var d struct {
		Folders []struct {
			Name       string `xml:"name"`
			Placemarks []struct {
				Name   string  `xml:"name"`
				Pixels float64 `xml:"Region>Lod>minLodPixels"`
				North  float64 `xml:"Region>LatLonAltBox>north"`
				South  float64 `xml:"Region>LatLonAltBox>south"`
				East   float64 `xml:"Region>LatLonAltBox>east"`
				West   float64 `xml:"Region>LatLonAltBox>west"`
			} `xml:"Placemark"`
		} `xml:"Document>Folder"`
	}
	if err := xml.Unmarshal(written(t, in, export.Options{}), &d); err != nil {
		t.Fatal(err)
	}
	always, near := 0, 0
	want := 8 * math.Pi * 400 * 41 / 800
	for _, f := range d.Folders {
		for _, p := range f.Placemarks {
			switch {
			case f.Name != "Depth contours":
				if p.Pixels != 0 {
					t.Errorf("%s %s has a region", f.Name, p.Name)
				}
			case p.Pixels == 0:
				always++
			default:
				near++
				// A circle of 64 corners is 0.04 % short, thinned by 1.5 m of 400 at most 0.4 %.
				if math.Abs(p.Pixels-want) > 0.02*want+1 || p.North < p.South || p.East < p.West {
					t.Fatalf("%s: from %v pixels, want about %v; box %v %v %v %v", p.Name, p.Pixels, want, p.North, p.South, p.East, p.West)
				}
			}
		}
	}
	if always != 8 || near != 32 {
		t.Errorf("%d contours always, %d from near by; want every fifth of 40", always, near)
	}
	if strings.Contains(string(written(t, exporttest.Season(), export.Options{})), "<Region>") {
		t.Error("six contours are no crowd")
	}
}

func TestIndexContours(t *testing.T) {
	at := func(depths ...float64) []spatial.Contour {
		var out []spatial.Contour
		for _, d := range depths {
			out = append(out, spatial.Contour{DepthM: d})
		}
		return out
	}
	for _, c := range []struct {
		name string
		in   []spatial.Contour
		want []bool
	}{
		{"every 5 ft", at(1.524, 3.048, 4.572, 6.096, 7.62, 9.144), []bool{false, false, false, false, true, false}},
		{"a step is missing", at(1, 3, 4, 5, 10), []bool{false, false, false, true, true}},
		{"too few", at(1, 2, 3), nil},
		{"one", at(5), nil},
		{"none", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := indexContours(c.in); !reflect.DeepEqual(got, c.want) {
				t.Errorf("gives %v, want %v", got, c.want)
			}
		})
	}
}

// Events carry their instant and zones the span of theirs; what isn't known is left out.
func TestTimes(t *testing.T) {
	in := exporttest.Season()
	for i := range in.Chart.Events {
		if e := &in.Chart.Events[i]; e.Zone == "Z2" {
			e.Time = in.Chart.Events[43].Time // unknown
		}
	}
	var d struct {
		Folders []struct {
			Name       string `xml:"name"`
			Placemarks []struct {
				Name  string `xml:"name"`
				When  string `xml:"TimeStamp>when"`
				Begin string `xml:"TimeSpan>begin"`
				End   string `xml:"TimeSpan>end"`
			} `xml:"Placemark"`
		} `xml:"Document>Folder"`
	}
	if err := xml.Unmarshal(written(t, in, export.Options{}), &d); err != nil {
		t.Fatal(err)
	}
	for _, f := range d.Folders {
		for i, p := range f.Placemarks {
			begin, end, when := "", "", ""
			switch f.Name {
			case "Zones", "Unproven places":
				id, _, _ := strings.Cut(p.Name, ":")
				for _, e := range in.Chart.Events {
					if e.Zone == id && !e.Time.IsZero() {
						at := e.Time.UTC().Format("2006-01-02T15:04:05Z") // sorts as time does
						if begin == "" || at < begin {
							begin = at
						}
						end = max(end, at)
					}
				}
				if (begin == "") != (id == "Z2") {
					t.Errorf("%s begins %q", id, begin)
				}
			case "Catches and marks":
				if e := in.Chart.Events[i]; !e.Time.IsZero() {
					when = e.Time.UTC().Format("2006-01-02T15:04:05Z")
				}
			}
			if p.Begin != begin || p.End != end || p.When != when {
				t.Errorf("%s %s: %q to %q, at %q; want %q to %q, at %q", f.Name, p.Name, p.Begin, p.End, p.When, begin, end, when)
			}
		}
	}
}

// A zone keeps its area to a hundredth.
func TestZoneArea(t *testing.T) {
	for _, z := range exporttest.Season().Chart.Zones {
		was := export.Polygon(z.Shape)
		got, ok := drawn(was, zoneErrorM).(orb.Polygon)
		if !ok {
			t.Fatalf("%s is no polygon", z.ID)
		}
		if ratio := export.SignedArea(got[0]) / export.SignedArea(was[0]); math.Abs(ratio-1) > 0.01 {
			t.Errorf("%s has %v of its area", z.ID, ratio)
		}
	}
}
