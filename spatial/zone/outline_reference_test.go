//go:build reference

package zone

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os/exec"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
	"github.com/paulmach/orb/planar"
)

// Held against GEOS through Debian's python3-shapely (1.8.5 with GEOS 3.11.1 when this
// was written): every outline is valid there, holds its places and has the area orb
// reckons. Where nothing is trimmed, it also is the water within a cast of the network as
// GEOS buffers it.

const shapely = `
import sys
from shapely import wkt
for line in sys.stdin:
    outline, network, places = (wkt.loads(w) for w in line.split(";"))
    inside = all(outline.contains(p) for p in places.geoms)
    want = network.buffer(20, 64)
    print(int(outline.is_valid and outline.exterior.is_ccw), int(inside), outline.area, want.area,
          outline.symmetric_difference(want).area)
`

func TestOutlineAgainstGEOS(t *testing.T) {
	const rounds = 200
	rng := rand.New(rand.NewPCG(61, 62))
	var in bytes.Buffer
	var areasM2 []float64
	var trimmed []bool
	for range rounds {
		at := randomPlaces(rng)
		water := randomWater(rng, at)
		p := Outline(at, outlineCastM, water)
		var lines orb.MultiLineString
		var places orb.MultiPoint
		for _, s := range newCanvas(at, outlineCastM).network {
			lines = append(lines, orb.LineString{{s.a.X, s.a.Y}, {s.b.X, s.b.Y}})
		}
		for _, v := range at {
			places = append(places, orb.Point{v.X, v.Y})
		}
		network := wkt.MarshalString(lines)
		if l := lines[0]; len(lines) == 1 && l[0] == l[1] {
			network = wkt.MarshalString(l[0]) // GEOS has no lines without length
		}
		fmt.Fprintf(&in, "%s;%s;%s\n", wkt.MarshalString(p), network, wkt.MarshalString(places))
		areasM2, trimmed = append(areasM2, planar.Area(p)), append(trimmed, water != nil)
	}
	var out []byte
	var err error
	// Another Python may come first on the path; Debian's packages belong to its own.
	for _, program := range []string{"/usr/bin/python3", "python3"} {
		cmd := exec.Command(program, "-c", shapely)
		cmd.Stdin = bytes.NewReader(in.Bytes())
		if out, err = cmd.Output(); err == nil {
			break
		}
	}
	if err != nil {
		t.Fatalf("python3 with shapely: %v: install python3-shapely", err)
	}
	lines, plain, worst := 0, 0, 0.0
	for s := bufio.NewScanner(bytes.NewReader(out)); s.Scan(); lines++ {
		var valid, inside int
		var areaM2, wantM2, apartM2 float64
		if _, err := fmt.Sscan(s.Text(), &valid, &inside, &areaM2, &wantM2, &apartM2); err != nil {
			t.Fatal(err)
		}
		if valid != 1 || inside != 1 {
			t.Errorf("round %d: valid %d, inside %d", lines, valid, inside)
		}
		// Both sum products of coordinates of some 10³ m: 10⁻⁹ leaves room for their rounding.
		if d := areaM2 - areasM2[lines]; d > 1e-9*areaM2 || d < -1e-9*areaM2 {
			t.Errorf("round %d: %v m², GEOS has %v", lines, areasM2[lines], areaM2)
		}
		if trimmed[lines] {
			continue
		}
		plain++
		worst = max(worst, apartM2/wantM2)
		// The area asked for is within 2 %; here what one has and the other has not is added up.
		if apartM2 > 0.02*wantM2 {
			t.Errorf("round %d: %.0f m² of %.0f apart", lines, apartM2, wantM2)
		}
	}
	if lines != rounds || plain < rounds/8 {
		t.Errorf("%d outlines came back, %d of them not trimmed", lines, plain)
	}
	t.Logf("%d outlines, %d not trimmed, up to %.2f %% apart from the buffer", lines, plain, 100*worst)
}
