package sharefile

// Coarse places.
//
// # Method
//
// A zone becomes a disc of a given radius R, shifted so that the zone lies anywhere in it
// but the middle.
//
//  1. The zone is held by a circle: the centroid of its outline, and the distance of the
//     farthest corner from there, its reach.
//  2. The centroid is snapped to a square grid with cells as wide as R. The grid is one of
//     metres about the nearest whole degrees, moved by a secret part of a cell.
//  3. HMAC-SHA-256 of the cell and of R, under a secret key, gives two even numbers. The
//     first is the direction of the shift, the second its length, such that all of the ring
//     from 0.4 R to R less the reach is as likely, by area.
//  4. The disc is drawn as a polygon of 64 corners, all R from its centre; the reach is
//     reckoned to the middles of its sides, with 0.1 m and 10⁻⁵ R for the rounding of
//     positions and the plane, so that the polygon itself holds the zone.
//
// By hand: a zone with a reach of 30 m, R = 200 m. The sides' middles are 200 cos(π/64) =
// 199.76 m from the centre, so the shift is from 80 m to 199.76 - 30 - 0.102 = 169.66 m. The
// least R is (30 + 0.1) / (cos(π/64) - 0.55 - 10⁻⁵) = 67.1 m: there the ring still goes from
// 0.40 R to 0.55 R.
//
// # Why this way
//
// A shift drawn anew at each sharing averages out. One hashed from the exact centre does
// as well: every day added moves the centre by a metre or so. Here the centres of a cell
// all get one shift, so the discs of many sharings move with the zone and stay off it by
// at least 0.4 R. Only when the centre crosses a line of the grid is there a second shift;
// wide cells make that rare, and the grid's place is secret, so that nobody can tell
// where the lines are. (A wide cell costs nothing else here: the disc is set off from the
// centre itself, not from the cell's middle.) R is in the hash because shifts that were in
// proportion to R would give the place away to whoever has discs of two sizes.
//
// # The key
//
// It is drawn from the catches and marks of the first twelve hours of the season, to the
// second and the seventh decimal, by PBKDF2: they are as good as random to a stranger, and
// days that are added later leave them alone. Neither the zones' centres nor their ids
// would do: any day that is added moves some centre, and with it the key and every shift.
// Without one event that has a time, all of them make the key, and it changes with each.
//
// # What it does badly
//
// Nothing here is proof against somebody who knows those first events: who was aboard with
// a log of their own, or has the day's files, can work out the key, and the zone from its
// disc. A season whose first day has one event, at a place and time that can be guessed,
// has a key that can be guessed; to tell the right guess from wrong ones takes something
// else to check it on, such as one zone known exactly. An earlier day, a correction of the
// first day's catches, or another part of the season gives another key, and another radius
// another shift: two discs of one zone leave only what they have in common. A zone that
// comes to lie over a line of the grid has two to four discs as it moves.
// Zones of one cell are shifted in the same direction, so that how they lie to each other
// shows (that two schools at one place don't have two discs is wanted). A map of depths
// rules out the parts of a disc that are land or too shallow.
//
// Cost: linear in the points of the outline; the key takes some hundredths of a second.
// Source: the reasoning above; HMAC is RFC 2104, PBKDF2 RFC 8018.

import (
	"crypto/hmac"
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
	"leadline/spatial"
)

// MostCoarseM is the greatest radius of a disc, in metres. Beyond it a local plane is no
// longer good enough to promise that the disc holds the zone, and no lake needs it.
const MostCoarseM = 20e3

const (
	corners = 64
	// A shift is never less than this share of the radius. More would tell more: the middle
	// that is ruled out is its square, 16 %, of the disc.
	nearShare = 0.4
	// Nor may the ring of shifts be narrower than up to this share.
	leastFarShare = 0.55
	// What the polygon keeps clear of the zone: positions are rounded to a centimetre, and
	// planes about points this close differ by less than 10⁻⁵ of the distance.
	clearM, clearShare = 0.1, 1e-5
	// Rounds of PBKDF2: each doubling costs who guesses keys as much as who shares.
	keyRounds = 100_000
)

// inner is the distance of a side's middle from the centre, over that of a corner.
var inner = math.Cos(math.Pi / corners)

// A circle holds a zone.
type circle struct {
	centre orb.Point
	reachM float64
}

// around returns the circle about the centroid of a polygon's exterior ring, which has
// three points or more.
func around(p orb.Polygon) circle {
	ring := p[0]
	f := plane.New(ring[0])
	var sum r2.Vec
	area := 0.0
	for i := range ring {
		a, b := f.Metres(ring[i]), f.Metres(ring[(i+1)%len(ring)])
		cross := a.X*b.Y - b.X*a.Y
		area += cross
		sum = r2.Add(sum, r2.Scale(cross/3, r2.Add(a, b)))
	}
	c := circle{centre: f.Degrees(r2.Scale(1/area, sum))}
	f = plane.New(c.centre)
	for _, p := range ring {
		c.reachM = max(c.reachM, r2.Norm(f.Metres(p)))
	}
	return c
}

// leastM returns the smallest radius of a disc that can hide the circle.
func (c circle) leastM() float64 { return (c.reachM + clearM) / (inner - leastFarShare - clearShare) }

// shifted returns the centre of the disc of that radius, which is at least leastM.
func (c circle) shifted(key []byte, radiusM float64) orb.Point {
	farM := radiusM*(inner-clearShare) - clearM - c.reachM
	return plane.New(c.centre).Degrees(shift(key, c.centre, radiusM, farM))
}

// shift returns a vector whose length is from nearShare of the radius to farM.
func shift(key []byte, centre orb.Point, radiusM, farM float64) r2.Vec {
	lon, lat := math.Round(centre.Lon()), math.Round(centre.Lat())
	if lon == 180 {
		lon = -180
	}
	grid := fmt.Sprintf("%.0f %.0f %.0f", lon, lat, 100*radiusM)
	v := plane.New(orb.Point{lon, lat}).Metres(centre)
	east, north := even(key, "grid "+grid)
	cell := fmt.Sprintf("%.0f %.0f", math.Floor(v.X/radiusM+east), math.Floor(v.Y/radiusM+north))
	direction, length := even(key, "shift "+grid+" "+cell)
	sin, cos := math.Sincos(2 * math.Pi * direction)
	nearM := nearShare * radiusM
	return r2.Scale(math.Sqrt(nearM*nearM+length*(farM*farM-nearM*nearM)), r2.Vec{X: cos, Y: sin})
}

// even returns two numbers, evenly spread from 0 to below 1, that nobody can tell without
// the key.
func even(key []byte, text string) (a, b float64) {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(text))
	sum := mac.Sum(nil)
	unit := func(b []byte) float64 { return float64(binary.BigEndian.Uint64(b)>>11) / (1 << 53) }
	return unit(sum), unit(sum[8:])
}

// polygon returns the disc, its corners radiusM from the centre.
func polygon(centre orb.Point, radiusM float64) orb.Polygon {
	f := plane.New(centre)
	var r orb.Ring
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		r = append(r, f.Degrees(r2.Vec{X: radiusM * cos, Y: radiusM * sin}))
	}
	return orb.Polygon{append(r, r[0])}
}

// firstPart is how much of a season makes the key: a day, by no clock.
const firstPart = 12 * time.Hour

// chartKey returns the key that a chart's discs are drawn with.
func chartKey(c spatial.Chart) ([]byte, error) {
	var first time.Time
	for _, e := range c.Events {
		if !e.Time.IsZero() && (first.IsZero() || e.Time.Before(first)) {
			first = e.Time
		}
	}
	var lines []string
	for _, e := range c.Events {
		if first.IsZero() || !e.Time.IsZero() && e.Time.Sub(first) <= firstPart {
			lines = append(lines, fmt.Sprintf("%d %.7f %.7f", e.Time.Unix(), e.At.Lon(), e.At.Lat()))
		}
	}
	slices.Sort(lines) // whatever the order of the files
	return pbkdf2.Key(sha256.New, strings.Join(lines, "\n"), []byte("leadline share 1"), keyRounds, sha256.Size)
}
