package svgfile

import (
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

type xy struct{ x, y float64 }

// stepU is how far a drawn line may stand off, in units of the picture: 0.3 pixels of a
// picture 1200 across. Half of it makes the file a fifth larger.
const stepU = 0.2

// polygons prints the outlines of shapes, holes included, for the even-odd rule.
func (f frame) polygons(ps ...orb.Polygon) string {
	d := ""
	for _, p := range ps {
		for _, r := range p {
			d += path(f.line(r), true)
		}
	}
	return d
}

// path prints a line as an SVG path: its start, then steps in tenths of a unit. Steps lead
// from one rounded point to the next, so that their errors don't add up. What is too small
// to be seen gives "".
func path(l []xy, closed bool) string {
	l = thinned(l)
	var b strings.Builder
	var last [2]int
	points := 0
	var first [2]int
	for _, p := range l {
		at := [2]int{int(math.Round(p.x * 10)), int(math.Round(p.y * 10))}
		switch {
		case points == 0:
			b.WriteByte('M')
			tenths(&b, at[0], true)
			tenths(&b, at[1], false)
			first = at
		case at == last, closed && at == first:
			continue
		default:
			if points == 1 {
				b.WriteByte('l')
			}
			tenths(&b, at[0]-last[0], points == 1)
			tenths(&b, at[1]-last[1], false)
		}
		last = at
		points++
	}
	if points < 2 || closed && points < 3 {
		return ""
	}
	if closed {
		b.WriteByte('z')
	}
	return b.String()
}

// thinned leaves out points of a line that stand off by less than stepU. orb's simplifier
// takes its positions as they come, here in units. A closed line is parted at the point
// farthest from its start.
func thinned(l []xy) []xy {
	if len(l) < 3 {
		return l
	}
	far := len(l) - 1
	if l[0] == l[far] {
		most := 0.0
		for i, p := range l {
			if d := math.Hypot(p.x-l[0].x, p.y-l[0].y); d > most {
				far, most = i, d
			}
		}
	}
	half := func(part []xy) []xy {
		ls := make(orb.LineString, len(part))
		for i, p := range part {
			ls[i] = orb.Point{p.x, p.y}
		}
		var out []xy
		for _, p := range simplify.DouglasPeucker(stepU).LineString(ls) {
			out = append(out, xy{p[0], p[1]})
		}
		return out
	}
	out := half(l[:far+1])
	if far < len(l)-1 {
		out = append(out, half(l[far:])[1:]...)
	}
	return out
}

// tenths prints a number of tenths, with a space before it where nothing else parts it from
// the number before.
func tenths(b *strings.Builder, n int, first bool) {
	if !first && n >= 0 {
		b.WriteByte(' ')
	}
	if n < 0 {
		b.WriteByte('-')
		n = -n
	}
	if n >= 10 || n == 0 {
		b.WriteString(strconv.Itoa(n / 10))
	}
	if n%10 != 0 {
		b.WriteByte('.')
		b.WriteString(strconv.Itoa(n % 10))
	}
}

// num prints a coordinate: a tenth of a unit, no trailing zero, never "-0".
func num(v float64) string {
	var b strings.Builder
	tenths(&b, int(math.Round(v*10)), true)
	return b.String()
}

// along returns the point at a share of a line's length, and the line's direction there in
// degrees clockwise from the picture's right.
func along(line []xy, share float64) (at xy, deg float64) {
	left := share * length(line)
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		step := math.Hypot(b.x-a.x, b.y-a.y)
		if step == 0 {
			continue
		}
		deg = math.Atan2(b.y-a.y, b.x-a.x) * 180 / math.Pi
		if left <= step {
			t := left / step
			return xy{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)}, deg
		}
		left -= step
	}
	return line[len(line)-1], deg
}

func length(line []xy) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
	}
	return sum
}

type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(c box) bool { return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1 }

func (b box) holds(c box) bool { return c.x0 >= b.x0 && c.y0 >= b.y0 && c.x1 <= b.x1 && c.y1 <= b.y1 }

func around(p xy, halfWide, halfHigh float64) box {
	return box{p.x - halfWide, p.y - halfHigh, p.x + halfWide, p.y + halfHigh}
}

func boxOf(l []xy) box {
	b := box{l[0].x, l[0].y, l[0].x, l[0].y}
	for _, p := range l {
		b = box{math.Min(b.x0, p.x), math.Min(b.y0, p.y), math.Max(b.x1, p.x), math.Max(b.y1, p.y)}
	}
	return b
}

// Places that hold type or a sign already.
type boxes []box

func (bs boxes) free(b box) bool {
	for _, other := range bs {
		if b.meets(other) {
			return false
		}
	}
	return true
}

// beside finds a place for a name about a zone: the first of its candidates, near before
// far, that touches nothing placed before and lies on the map. It returns where a line to
// the name starts when it isn't near. When there is no room the name stands on the zone.
func (bs *boxes) beside(zone box, halfWide, halfHigh float64, page box) (at xy, start *xy) {
	middle := xy{(zone.x0 + zone.x1) / 2, (zone.y0 + zone.y1) / 2}
	rx, ry := (zone.x1-zone.x0)/2, (zone.y1-zone.y0)/2
	const near = 6
	for _, gap := range []float64{near, 22, 42, 70} {
		for _, deg := range []float64{-45, -135, 45, 135, -90, 90, 0, 180} {
			sin, cos := math.Sincos(deg * math.Pi / 180)
			p := xy{middle.x + (rx+halfWide+gap)*cos, middle.y + (ry+halfHigh+gap)*sin}
			b := around(p, halfWide, halfHigh)
			if !page.holds(b) || !bs.free(b) {
				continue
			}
			*bs = append(*bs, b)
			if gap > near {
				start = &xy{middle.x + rx*cos, middle.y + ry*sin}
			}
			return p, start
		}
	}
	*bs = append(*bs, around(middle, halfWide, halfHigh))
	return middle, nil
}
