package density

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r2"
)

// A grid is points sorted into square cells whose diagonal is shorter than the reach.
type grid struct {
	limit  float64 // reach squared
	low    r2.Vec
	perM   float64 // cells
	width  uint64  // of a row, in cells
	points []r2.Vec
	order  []uint64 // which point each was: the lower 32 bits
	keys   []uint64 // of cells with points, rising: row times width plus column
	starts []int32  // of each cell's points, and the end
	cores  []int32  // where each cell's cores end
	root   []int32  // a cell of the same cluster, and a lower one or the same
}

// A reach may go this often into the way from end to end of the points. Rows times columns then fit
// 64 bits, and a place is off by a millionth of a cell at most when it is rounded.
const mostReaches = 2.5e9

// slack is what the diagonal of a cell is shorter than the reach, by share: ten times the rounding.
const slack = 1e-5

func newGrid(points []r2.Vec, reachM float64) *grid {
	box := boxOf(points)
	low, size := box.Min, box.Size()
	if !(max(size.X, size.Y) <= mostReaches*reachM) {
		panic("density: points must be finite and lie within a billion reaches of the origin")
	}
	g := &grid{limit: reachM * reachM, low: low, perM: math.Sqrt2 * (1 + slack) / reachM}
	// Two empty cells at either end of a row, so that cells within two of each other never are on its two ends.
	g.width = uint64(size.X*g.perM) + 5
	order, spare := g.sort(points, bits.Len64(g.key(box.Max)))
	g.order = order
	g.points = make([]r2.Vec, len(points))
	cells, before := 0, uint64(0) // no key is 0
	for k, v := range order {
		p := points[uint32(v)]
		g.points[k], spare[k] = p, g.key(p)
		if spare[k] != before {
			cells, before = cells+1, spare[k]
		}
	}
	g.keys, g.starts = spare[:0], make([]int32, 0, cells+1)
	for k, key := range spare {
		if len(g.keys) == 0 || key != g.keys[len(g.keys)-1] {
			g.keys, g.starts = append(g.keys, key), append(g.starts, int32(k))
		}
	}
	g.starts = append(g.starts, int32(len(points)))
	g.keys = append(g.keys, math.MaxUint64)
	return g
}

func (g *grid) cells() int { return len(g.starts) - 1 }

func (g *grid) key(p r2.Vec) uint64 {
	return (uint64((p.Y-g.low.Y)*g.perM)+2)*g.width + uint64((p.X-g.low.X)*g.perM) + 2
}

// sort returns the indices of points in order of their cells, in the lower 32 bits, and as much memory again.
// Cells' keys go in the upper 32 bits, or one half after the other where they are longer.
func (g *grid) sort(points []r2.Vec, keyBits int) (order, spare []uint64) {
	a, b := make([]uint64, len(points), len(points)+1), make([]uint64, len(points), len(points)+1)
	for i := range a {
		a[i] = uint64(i)
	}
	const most = 11 // bits of a digit: 2,048 counts fit the fastest memory
	counts := make([]int32, 1<<most)
	for shift := 0; shift < keyBits; shift += 32 {
		for k, v := range a {
			a[k] = g.key(points[uint32(v)])>>shift<<32 | v&math.MaxUint32
		}
		left := min(keyBits-shift, 32)
		passes := (left + most - 1) / most
		digit := (left + passes - 1) / passes
		for pass := range passes {
			sortBy(a, b, counts[:1<<digit], 32+pass*digit)
			a, b = b, a
		}
	}
	return a, b
}

// sortBy sorts into another slice by the digit that starts at a bit; equal ones stay in order.
func sortBy(from, into []uint64, counts []int32, bit int) {
	mask := uint64(len(counts) - 1)
	clear(counts)
	for _, v := range from {
		counts[v>>bit&mask]++
	}
	sum := int32(0)
	for d, n := range counts {
		counts[d] = sum
		sum += n
	}
	for _, v := range from {
		at := &counts[v>>bit&mask]
		into[*at] = v
		*at++
	}
}

// A sweep goes over cells in rising order and knows those within two rows and columns: five runs of cells, the
// lowest row first.
type sweep struct{ from, to [5]int }

func less(a, b uint64) int {
	if a < b {
		return 1
	}
	return 0
}

// around moves the sweep on to a cell.
func (g *grid) around(s *sweep, c int) {
	first := g.keys[c] - 2*g.width - 2
	keys := g.keys
	for row := range s.from {
		// Mostly it is one or two cells further on, and which can't be foretold: so two steps without a branch.
		from, to := s.from[row], s.to[row]
		from += less(keys[from], first)
		from += less(keys[from], first)
		for keys[from] < first {
			from++
		}
		to += less(keys[to], first+5)
		to += less(keys[to], first+5)
		for keys[to] < first+5 {
			to++
		}
		s.from[row], s.to[row] = from, to
		first += g.width
	}
}

// dist2 is the squared distance. The conversions forbid a processor to add and multiply at once, which rounds
// otherwise: a tie at just the reach would hang on the machine.
func dist2(p, q r2.Vec) float64 {
	dx, dy := p.X-q.X, p.Y-q.Y
	return float64(dx*dx) + float64(dy*dy)
}

// near counts the points within reach; without a branch, for which ones are can't be foretold.
func near(p r2.Vec, among []r2.Vec, limit float64) int {
	n := 0
	for _, q := range among {
		if dist2(p, q) <= limit {
			n++
		}
	}
	return n
}

func anyNear(p r2.Vec, among []r2.Vec, limit float64) bool {
	for _, q := range among {
		if dist2(p, q) <= limit {
			return true
		}
	}
	return false
}
