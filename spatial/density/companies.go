package density

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// companies are points in groups that no step of mostM or less leads out of; each rising, in order of their first.
//
// Points are sorted into square cells whose diagonal is no longer than the step, so that those of a cell are together
// without asking, and two cells are as soon as one pair of their points is. Steps a billionth too long count, so that no
// rounding parts what hangs together.
type companies struct {
	list   []int32 // points, company by company
	starts []int32 // of each in list, and its end

	keys  []uint64 // of points: row and column of the cell, and the point
	cells []celled
	root  []int32
	of    []int32
}

type celled struct{ x, y, i int32 }

// Bits of a key for the row and the column each, and for the point.
const (
	cellBits  = 20
	pointBits = 64 - 2*cellBits
)

func (c *companies) count() int { return len(c.starts) - 1 }

func (c *companies) company(k int) []int32 { return c.list[c.starts[k]:c.starts[k+1]] }

func (c *companies) find(points []r2.Vec, mostM float64) {
	n := len(points)
	c.root = resized(c.root, n)
	for i := range c.root {
		c.root[i] = int32(i)
	}
	if n == 0 || math.IsInf(mostM, 1) {
		clear(c.root)
	} else {
		c.join(points, mostM)
	}
	// By root, which is the first of its company.
	c.of, c.starts, c.list = resized(c.of, n), append(c.starts[:0], 0), resized(c.list, n)
	for i := range c.root {
		r := c.top(int32(i))
		if r == int32(i) {
			c.of[i] = int32(len(c.starts) - 1)
			c.starts = append(c.starts, 0)
		}
		c.of[i] = c.of[r]
		c.starts[c.of[i]+1]++
	}
	for k := 1; k < len(c.starts); k++ {
		c.starts[k] += c.starts[k-1]
	}
	for i := n - 1; i >= 0; i-- { // from the back, each company's end moving to its start
		at := &c.starts[c.of[i]+1]
		*at--
		c.list[*at] = int32(i)
	}
	c.starts = append(c.starts[1:], int32(n))
}

func (c *companies) top(i int32) int32 {
	for c.root[i] != i {
		c.root[i] = c.root[c.root[i]]
		i = c.root[i]
	}
	return i
}

func (c *companies) unite(a, b int32) {
	a, b = c.top(a), c.top(b)
	c.root[max(a, b)] = min(a, b)
}

func (c *companies) join(points []r2.Vec, mostM float64) {
	sideM := mostM / math.Sqrt2 * (1 - 1e-9)
	limit := mostM * mostM * (1 + 1e-9)
	low, high := points[0], points[0]
	for _, p := range points {
		low = r2.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = r2.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	if max(high.X-low.X, high.Y-low.Y)/sideM >= 1<<cellBits || len(points) >= 1<<pointBits {
		panic("density: points lie too far apart for the reach, or are too many")
	}
	c.keys = c.keys[:0]
	for i, p := range points {
		c.keys = append(c.keys, uint64((p.Y-low.Y)/sideM)<<(cellBits+pointBits)|uint64((p.X-low.X)/sideM)<<pointBits|uint64(i))
	}
	slices.Sort(c.keys)
	c.cells = c.cells[:0]
	for _, k := range c.keys {
		c.cells = append(c.cells, celled{int32(k >> pointBits & (1<<cellBits - 1)), int32(k >> (cellBits + pointBits)), int32(k & (1<<pointBits - 1))})
	}
	cells := c.cells
	before := func(k int, x, y int32) bool { return cells[k].y < y || cells[k].y == y && cells[k].x < x }
	// Where the two rows above begin, as the cells go by.
	var above [2]int
	for from := 0; from < len(cells); {
		at, to := cells[from], from+1
		for to < len(cells) && cells[to].x == at.x && cells[to].y == at.y {
			c.unite(at.i, cells[to].i)
			to++
		}
		// The cells after this one, within two: those before have seen it.
		for dy := int32(0); dy <= 2; dy++ {
			k := to
			if dy > 0 {
				up := &above[dy-1]
				for *up < len(cells) && before(*up, at.x-2, at.y+dy) {
					*up++
				}
				k = *up
			}
			for ; k < len(cells) && cells[k].y == at.y+dy && cells[k].x <= at.x+2; k++ {
				j := cells[k].i
				if c.top(j) == c.top(at.i) {
					continue
				}
				for _, o := range cells[from:to] {
					if r2.Norm2(r2.Sub(points[o.i], points[j])) <= limit {
						c.unite(o.i, j)
						break
					}
				}
			}
		}
		from = to
	}
}
