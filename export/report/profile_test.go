package report

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// lineOver returns a drift line over depths in metres at even steps; negative: not sounded.
func lineOver(lengthM float64, depthsM ...float64) spatial.DriftLine {
	l := spatial.DriftLine{ID: "D1", LengthM: lengthM}
	for i, d := range depthsM {
		p := spatial.ProfilePoint{AlongM: lengthM * float64(i) / math.Max(1, float64(len(depthsM)-1))}
		if d >= 0 {
			p.DepthM = ingest.Known(d)
		}
		l.Profile = append(l.Profile, p)
	}
	return l
}

var pair = regexp.MustCompile(`[ML](-?[\d.]+) (-?[\d.]+)`)

func points(t *testing.T, d string) []xy {
	t.Helper()
	var out []xy
	for _, m := range pair.FindAllStringSubmatch(d, -1) {
		x, errX := strconv.ParseFloat(m[1], 64)
		y, errY := strconv.ParseFloat(m[2], 64)
		if errX != nil || errY != nil {
			t.Fatalf("%q in %q", m[0], d)
		}
		out = append(out, xy{x, y})
	}
	return out
}

// TestProfileScale: the start is on the left, deeper is lower, and a depth stands
// level with its tick, a distance above its own.
func TestProfileScale(t *testing.T) {
	p := newProfile(lineOver(200, 4, 8, 0, 6, 10), si.Metric)
	bed := points(t, p.Bed)
	if len(bed) != 5 || bed[0].x != profileLeft || bed[4].x != profileRight {
		t.Fatalf("bottom %v", bed)
	}
	for _, c := range []struct {
		tick  string
		ticks []profileTick
		at    float64
	}{
		{"10 m", p.Depths, bed[4].y}, {"0 m", p.Depths, bed[2].y}, {"100", p.Lengths, (bed[1].x + bed[3].x) / 2}, {"50", p.Lengths, bed[1].x},
	} {
		found := false
		for _, k := range c.ticks {
			if k.Text == c.tick {
				found = true
				if k.At != num(c.at) {
					t.Errorf("%s stands at %s, the bottom at %v", c.tick, k.At, c.at)
				}
			}
		}
		if !found {
			t.Errorf("no tick %q in %v", c.tick, c.ticks)
		}
	}
	if last := p.Lengths[len(p.Lengths)-1]; last.Text != "200 m" || last.Anchor != "until" || last.D != "M"+num(profileRight)+" "+num(profileFoot)+"v4" {
		t.Errorf("at the end stands %+v", last)
	}
	if !(bed[1].y > bed[0].y) {
		t.Error("deeper is not lower")
	}
}

// TestProfileStretch: the stretch covers its own distances, and follows the bottom.
func TestProfileStretch(t *testing.T) {
	l := lineOver(200, 10, 10, 10, 10, 20)
	l.ProductiveFromM, l.ProductiveToM = ingest.Known(25), ingest.Known(175)
	p := newProfile(l, si.Metric)
	wide := profileRight - profileLeft
	if p.Stretch.X != num(profileLeft+wide/8) || p.Stretch.Across != num(wide*6/8) {
		t.Errorf("stretch from %s over %s", p.Stretch.X, p.Stretch.Across)
	}
	bed, part := points(t, p.Bed), points(t, p.Stretch.Bed)
	if len(part) != 5 {
		t.Fatalf("part %v", part)
	}
	if last, want := part[4].y, (bed[3].y+bed[4].y)/2; math.Abs(last-want) > 0.011 {
		t.Errorf("cut half way down the slope at %v, want %v", last, want)
	}
	for _, c := range []struct {
		from, to float64
		anchor   string
	}{{0, 20, "from"}, {180, 200, "until"}, {90, 110, ""}} {
		l.ProductiveFromM, l.ProductiveToM = ingest.Known(c.from), ingest.Known(c.to)
		if got := newProfile(l, si.Metric).Stretch.Anchor; got != c.anchor {
			t.Errorf("from %v: label anchored %q, want %q", c.from, got, c.anchor)
		}
	}
	l.ProductiveToM = ingest.Maybe{}
	if newProfile(l, si.Metric).Stretch != nil {
		t.Error("a stretch that isn't known is drawn")
	}
}

// TestProfileGaps: where nothing was sounded no bottom is drawn.
func TestProfileGaps(t *testing.T) {
	for _, c := range []struct {
		name   string
		depths []float64
		pieces int
		named  int
	}{
		{"all known", []float64{5, 6, 7}, 1, 0},
		{"gap within", []float64{5, 6, -1, -1, -1, 7, 7}, 2, 1},
		{"unknown start and end", []float64{-1, -1, -1, 6, 7, -1, -1, -1, -1}, 1, 2},
		{"a lone sounding", []float64{-1, 6, -1}, 1, 2},
	} {
		p := newProfile(lineOver(200, c.depths...), si.US)
		if got := strings.Count(p.Bed, "M"); got != c.pieces {
			t.Errorf("%s: %d pieces, want %d", c.name, got, c.pieces)
		}
		if got := strings.Count(p.Bed, "L"); got == 0 {
			t.Errorf("%s: nothing to see in %q", c.name, p.Bed)
		}
		if len(p.Unsounded) != c.named {
			t.Errorf("%s: %d gaps named, want %d", c.name, len(p.Unsounded), c.named)
		}
	}
	for _, l := range []spatial.DriftLine{lineOver(200), lineOver(200, -1, -1), lineOver(0, 5)} {
		if newProfile(l, si.US) != nil {
			t.Errorf("drew %v", l.Profile)
		}
	}
}

// TestProfileInside: whatever the bottom, nothing leaves the frame, the ticks are few
// and hold the whole of it, and a level bottom is not made a mountain.
func TestProfileInside(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	for range 3000 {
		u := si.System(rng.IntN(2))
		lengthM := math.Exp(rng.Float64() * 8.5)
		base, relief := math.Exp(rng.Float64()*5)-1, math.Exp(rng.Float64()*5)-1
		var depths []float64
		shallow, deep := math.Inf(1), 0.0
		for range 2 + rng.IntN(30) {
			d := base + relief*rng.Float64()
			if rng.IntN(6) == 0 {
				depths = append(depths, -1)
				continue
			}
			depths, shallow, deep = append(depths, d), math.Min(shallow, d), math.Max(deep, d)
		}
		l := lineOver(lengthM, depths...)
		l.ProductiveFromM, l.ProductiveToM = ingest.Known(lengthM*0.4*rng.Float64()), ingest.Known(lengthM*(0.5+0.5*rng.Float64()))
		p := newProfile(l, u)
		if p == nil {
			continue
		}
		for _, d := range []string{p.Bed, p.Water, p.Ground, p.Stretch.Bed} {
			for _, q := range points(t, d) {
				if q.x < profileLeft || q.x > profileRight || q.y < profileTop-0.01 || q.y > profileFoot+0.01 {
					t.Fatalf("%v of %v from %v to %v m is outside", q, u, shallow, deep)
				}
			}
		}
		fromM, toM, stepM := depthAxis(shallow, deep, u)
		least := 3.0
		if u == si.US {
			least = 10 * si.FootM
		}
		if fromM < 0 || fromM > shallow+1e-6 || toM < deep-1e-6 || toM-fromM < least-1e-6 {
			t.Fatalf("%v: axis from %v to %v for %v to %v", u, fromM, toM, shallow, deep)
		}
		for _, end := range []float64{fromM / stepM, toM / stepM} {
			if math.Abs(end-math.Round(end)) > 1e-6 {
				t.Fatalf("%v: axis from %v to %v in steps of %v", u, fromM, toM, stepM)
			}
		}
		if n := len(p.Depths); n < 2 || n > 7 {
			t.Fatalf("%d depths named", n)
		}
		if n := len(p.Lengths); n < 1 || n > 6 {
			t.Fatalf("%d distances named on %v m", n, lengthM)
		}
		for _, ticks := range [][]profileTick{p.Depths, p.Lengths} {
			seen := map[string]bool{}
			for _, k := range ticks {
				if seen[k.Text] {
					t.Fatalf("%s named twice", k.Text)
				}
				seen[k.Text] = true
			}
		}
	}
}

// TestDepthAxis: from the surface where that shows the relief, else closer.
func TestDepthAxis(t *testing.T) {
	for _, c := range []struct {
		name                   string
		shallow, deep          float64 // of the unit
		u                      si.System
		wantFrom, wantTo, step float64
	}{
		{"a third of the depth", 6, 9, si.Metric, 0, 10, 5},
		{"little relief far down", 9, 10, si.Metric, 8, 11, 1},
		{"level, far down", 25, 25, si.US, 20, 30, 5},
		{"level, at the bank", 2, 2, si.US, 0, 10, 5},
		{"deep canyon", 5, 180, si.US, 0, 200, 50},
	} {
		unitM := si.FootM
		if c.u == si.Metric {
			unitM = 1
		}
		from, to, step := depthAxis(c.shallow*unitM, c.deep*unitM, c.u)
		for _, got := range [][2]float64{{from / unitM, c.wantFrom}, {to / unitM, c.wantTo}, {step / unitM, c.step}} {
			if math.Abs(got[0]-got[1]) > 1e-6 {
				t.Errorf("%s: %v to %v in steps of %v, want %v to %v in %v", c.name, from/unitM, to/unitM, step/unitM, c.wantFrom, c.wantTo, c.step)
				break
			}
		}
	}
}

func TestLengthAxis(t *testing.T) {
	for _, c := range []struct {
		lengthM float64
		u       si.System
		want    string
	}{
		{284 * 3 * si.FootM, si.US, "0 100 200 yd"},
		{0.6 * si.MileM, si.US, "0 0.2 0.4 0.6 mi"},
		{163, si.Metric, "0 50 100 150 m"},
		{2400, si.Metric, "0 0.5 1 1.5 2 km"},
	} {
		var got []string
		for _, k := range lengthAxis(c.lengthM, c.u, func(m float64) float64 { return m }) {
			got = append(got, k.Text)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v m: %q, want %q", c.lengthM, s, c.want)
		}
	}
}
