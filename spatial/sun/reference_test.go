//go:build reference

package sun

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
)

// Held against the sun of astropy (Debian's python3-astropy; 5.2.1 when this was written),
// seen from sea level without refraction, at random places on random dates from 2000 to 2060.

// An asked is one event of ours, and what astropy says of it.
type asked struct {
	Lat, Lon float64
	WantDeg  float64 // altitude
	NoonS    float64 // mean noon of the date
	Side     float64
	OK       bool
	UnixS    float64

	Deg, DegPerS    float64 `json:",omitempty"` // altitude at UnixS
	LowDeg, HighDeg float64 `json:",omitempty"` // altitudes in that half of the day, where there is no event
}

const astropy = `
import json, sys, warnings
warnings.simplefilter("ignore")
import numpy as np
import astropy.units as u
from astropy.coordinates import AltAz, EarthLocation, get_sun
from astropy.time import Time
from astropy.utils import iers
iers.conf.auto_download = False
iers.conf.iers_degraded_accuracy = "warn"
events = json.load(sys.stdin)
def column(of, name):
    return np.array([e[name] for e in of], dtype=float)
def altitudes(of, s):
    t = Time(s, format="unix")
    at = EarthLocation(lat=column(of, "Lat")*u.deg, lon=column(of, "Lon")*u.deg)
    return get_sun(t).transform_to(AltAz(obstime=t, location=at)).alt.deg
found = [e for e in events if e["OK"]]
s = column(found, "UnixS")
now, rate = altitudes(found, s), (altitudes(found, s + 10) - altitudes(found, s - 10)) / 20
for e, deg, per_s in zip(found, now, rate):
    e["Deg"], e["DegPerS"] = deg, per_s
none = [e for e in events if not e["OK"]]
s, side = column(none, "NoonS"), column(none, "Side")
day = np.array([altitudes(none, s + side * h * 3600) for h in np.arange(0, 12.1, 1)])
for e, low, high in zip(none, day.min(0), day.max(0)):
    e["LowDeg"], e["HighDeg"] = low, high
json.dump(events, sys.stdout)
`

func randomEvents(n int) (list []asked) {
	rng := rand.New(rand.NewPCG(1998, 25))
	first := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for k := range n {
		day := first.AddDate(0, 0, rng.IntN(61*365+15))
		date := day.Format(time.DateOnly)
		lat := 62 * (2*rng.Float64() - 1)
		switch k % 4 {
		case 0:
			lat = math.Copysign(62, lat)
		case 1: // polar days and nights
			lat = math.Copysign(62+27.99*rng.Float64(), lat)
		}
		at := orb.Point{360*rng.Float64() - 180, lat}
		noonS := float64(day.Unix()) + 43200 - 240*at.Lon()
		rise, rises := Rise(date, at)
		set, sets := Set(date, at)
		dawn, dusk, light := Twilight(date, at)
		for _, e := range []struct {
			t       time.Time
			ok      bool
			wantDeg float64
			side    float64
		}{
			{rise, rises, -50.0 / 60, -1},
			{set, sets, -50.0 / 60, 1},
			{dawn, light, -6, -1},
			{dusk, light, -6, 1},
		} {
			a := asked{Lat: at.Lat(), Lon: at.Lon(), WantDeg: e.wantDeg, NoonS: noonS, Side: e.side, OK: e.ok}
			if e.ok {
				a.UnixS = float64(e.t.Unix())
			}
			list = append(list, a)
		}
	}
	return list
}

func TestAgainstAstropy(t *testing.T) {
	list := randomEvents(1600)
	in, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	// Another Python may come first on the path; Debian's packages belong to its own.
	for _, program := range []string{"/usr/bin/python3", "python3"} {
		cmd := exec.Command(program, "-c", astropy)
		cmd.Stdin = bytes.NewReader(in)
		if out, err = cmd.Output(); err == nil {
			break
		}
	}
	if err != nil {
		t.Fatalf("python3 with astropy: %v: install python3-astropy", err)
	}
	var done []asked
	if err := json.Unmarshal(out, &done); err != nil {
		t.Fatal(err)
	}
	if len(done) != len(list) {
		t.Fatalf("%d events came back of %d", len(done), len(list))
	}
	// What the sun climbs in the ten seconds, at its fastest.
	const altitudeDeg = withinS * 360 / 86400
	var promised, others []float64 // seconds off
	none := 0
	for i, e := range done {
		if !e.OK {
			// Twilight is none as well if only its other end is not there, so both halves
			// of the day count; they stand side by side.
			other := done[i^1]
			crosses := func(e asked) bool { return e.LowDeg < e.WantDeg-altitudeDeg && e.HighDeg > e.WantDeg+altitudeDeg }
			if crosses(e) && (e.WantDeg > -1 || crosses(other)) {
				t.Errorf("no event, though the sun goes from %v to %v: %+v", e.HighDeg, e.LowDeg, e)
			}
			none++
			continue
		}
		if !(math.Abs(e.Deg-e.WantDeg) <= altitudeDeg) || e.DegPerS*e.Side > 0 {
			t.Errorf("the sun is at %.4f° and climbs %v°/s: %+v", e.Deg, e.DegPerS, e)
		}
		offS := math.Abs((e.Deg - e.WantDeg) / e.DegPerS)
		if math.Abs(e.Lat) <= 55 || e.WantDeg > -1 && math.Abs(e.Lat) <= 62 {
			if !(offS <= withinS) {
				t.Errorf("%.1f s off: %+v", offS, e)
			}
			promised = append(promised, offS)
		} else if math.Abs(e.Lat) <= 62 {
			others = append(others, offS)
		}
	}
	slices.Sort(promised)
	slices.Sort(others)
	if len(promised) < len(list)/3 || len(others) < len(list)/10 || none < len(list)/10 {
		t.Fatalf("%d promised, %d of twilight from 55° to 62°, %d of no event", len(promised), len(others), none)
	}
	t.Logf("%d events, half within %.1f s, all within %.1f s; %d of twilight from 55° to 62°, half within %.1f s, all within %.1f s; %d with no event",
		len(promised), promised[len(promised)/2], promised[len(promised)-1],
		len(others), others[len(others)/2], others[len(others)-1], none)
}
