package structure

import (
	"math"

	"leadline/spatial/raster"
)

// Sums over rings
//
// A ring is the cells whose centres lie from an inner to an outer radius away. Row by row it is
// one or two runs of cells, and the sum over a run is the difference of two running
// sums along that row: the sum over a ring of radius n costs some 4n look-ups instead of 3n².
// Its eight sectors of 45°, the first about east, are sets of runs too.
//
// By hand: the ring from 1 to 1 cell is the four neighbours, in the runs (-1) of row -1, (-1)
// and (1) of row 0, and (0) of row 1, each of one cell.
//
// Sums are whole numbers of 2^-20 m, 0.001 mm, finer than a float32 depth beyond 16 m, so that
// they are exact and the same in any order: a lake turned by 90° gives the same classes to the
// bit. A row's sum overflows beyond 8·10¹² m.

const unitsPerM = 1 << 20

// A sum is of the known cells of a row west of a place.
type sum struct{ units, n int64 }

// sums are the running sums of a raster, a row of W+1 for each of its rows.
type sums struct {
	raster.Raster
	stride int
	factor float64
	run    []sum
}

// newSums adds up factor times the values.
func newSums(r raster.Raster, factor float64) sums {
	s := sums{r, r.W + 1, factor * unitsPerM, make([]sum, (r.W+1)*r.H)}
	rows(r.H, func(y int) {
		run := s.run[y*s.stride : (y+1)*s.stride]
		for x := range r.W {
			run[x+1] = run[x]
			if i := y*r.W + x; r.Known[i] {
				run[x+1].units += s.own(i)
				run[x+1].n++
			}
		}
	})
	return s
}

// own returns factor times the value of cell i, in units.
func (s sums) own(i int) int64 { return int64(math.Round(float64(s.Values[i]) * s.factor)) }

// A run is cells west to east, both included, of the row dy north of the middle.
type run struct {
	dy, west, east int
	from, to       int // the same in running sums, from the middle's
}

// A patch is a set of cells around a middle.
type patch struct {
	runs  []run
	cells int
}

// add takes in a cell east of all others of its row.
func (p *patch) add(dx, dy, stride int) {
	p.cells++
	if n := len(p.runs); n > 0 && p.runs[n-1].dy == dy && p.runs[n-1].east == dx-1 {
		p.runs[n-1].east++
		p.runs[n-1].to++
		return
	}
	p.runs = append(p.runs, run{dy, dx, dx, dy*stride + dx, dy*stride + dx + 1})
}

// A ring reaches cells cells from its middle.
type ring struct {
	reach   int
	whole   patch
	sectors [8]patch
}

// newRing returns the cells from inner to outer cells away, both included. A ring
// too thin to hold the centre of a cell in each sector is widened to the nearest one that does.
func newRing(inner, outer float64, stride int) ring {
	for {
		g := ring{reach: int(outer)}
		full := true
		for dy := -g.reach; dy <= g.reach; dy++ {
			for dx := -g.reach; dx <= g.reach; dx++ {
				// A hair of room: 30 m in cells of 0.3 m is not quite 100 of them.
				if d := math.Hypot(float64(dx), float64(dy)); d >= inner-1e-9 && d <= outer+1e-9 && d > 0 {
					g.whole.add(dx, dy, stride)
					g.sectors[sector(dx, dy)].add(dx, dy, stride)
				}
			}
		}
		for _, s := range g.sectors {
			full = full && s.cells > 0
		}
		if full {
			return g
		}
		outer = math.Floor(outer*2+1) / 2 // the next half cell
	}
}

// sector returns which of eight sectors a direction lies in, counted anticlockwise
// from the one about east. No whole numbers lie on a border: tan 22.5° is √2 - 1.
func sector(dx, dy int) int {
	turn := math.Atan2(float64(dy), float64(dx)) / (math.Pi / 4)
	return (int(math.Floor(turn+0.5)) + 8) % 8
}

// inner reports whether a ring about column x and row y lies within the raster.
func (s sums) inner(g ring, x, y int) bool {
	return x >= g.reach && y >= g.reach && x+g.reach < s.W && y+g.reach < s.H
}

// over returns the sum of the known cells of a patch about column x and row y;
// whole says that all of it lies within the raster.
func (s sums) over(p patch, x, y int, whole bool) (units, n int64) {
	if whole {
		at := y*s.stride + x
		for _, r := range p.runs {
			a, b := &s.run[at+r.from], &s.run[at+r.to]
			units += b.units - a.units
			n += b.n - a.n
		}
		return units, n
	}
	for _, r := range p.runs {
		west, east := max(x+r.west, 0), min(x+r.east, s.W-1)
		if row := y + r.dy; row >= 0 && row < s.H && west <= east {
			a, b := s.run[row*s.stride+west], s.run[row*s.stride+east+1]
			units += b.units - a.units
			n += b.n - a.n
		}
	}
	return units, n
}

// leastKnown is the share of a ring or sector that must be known for it to count:
// half, so that what is known outweighs what isn't.
const leastKnown = 0.5

// mean returns the mean over a patch less the value of its middle, cell i, in
// factors of the raster's metres; ok is false where less than half of the patch is known.
func (s sums) mean(p patch, i int, whole bool) (above float64, ok bool) {
	units, n := s.over(p, i%s.W, i/s.W, whole)
	if n == 0 || float64(n) < leastKnown*float64(p.cells) {
		return 0, false
	}
	return float64(units-n*s.own(i)) / float64(n) / unitsPerM, true
}
