package bottom

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// Thinned is soundings gathered by cell and pass, the form that every later step
// works on: a pass that lingers over a cell has one say in it, as has one that
// runs across.
//
// Steps: count the soundings of each cell, lay their indices out cell by cell (a
// counting sort, stable, so each cell's are by pass), and take the median depth
// and mean place of each run of one pass.
//
// By hand: depths 4, 4.2 and 9 of one pass in one cell make one node of 4.2 m.
//
// Cost: linear in soundings and cells.
type Thinned struct {
	soundings []Sounding
	passes    []pass
	frame     raster.Raster // of the cells; without values
	order     []int32       // soundings by cell, then pass
	nodes     []node        // by cell, then pass
	first     []int32       // by cell: its first node; one more at the end
	shiftM    []float64     // by day
	strays    []bool        // by sounding; nil until they are looked for
	passVarM2 float64       // variance of one pass in one cell; settled by Build
}

// A node is what one pass says of one cell.
type node struct {
	at       r2.Vec // mean of its soundings
	depthM   float64
	cell     int32
	pass     int32
	day      int32
	from, to int32 // in Thinned.order
}

// mostCells bounds a grid's memory: sixteen million cells are 20 by 20 km of 5 m.
const mostCells = 16 << 20

// Thin gathers soundings, given by day and time, into cells of cellM metres, with
// room for reachM around them. Both must be positive. The cell is doubled until at most 16 million
// are needed; CellM tells the size used. The soundings are kept, not copied.
func Thin(soundings []Sounding, cellM, reachM float64) *Thinned {
	t := &Thinned{soundings: soundings}
	if len(soundings) == 0 {
		return t
	}
	var passes sync.WaitGroup
	passes.Go(func() { t.passes = cut(soundings) })
	t.frame = around(soundings, cellM, reachM)
	cells := t.frame.W * t.frame.H
	cellOf := make([]int32, len(soundings))
	inParts(len(soundings), func(from, to int) {
		for i := from; i < to; i++ {
			x, y := t.frame.Cell(soundings[i].At)
			cellOf[i] = int32(y*t.frame.W + x)
		}
	})
	start := make([]int32, cells+1)
	days := int32(0)
	for i, c := range cellOf {
		start[c+1]++
		days = max(days, soundings[i].Day+1)
	}
	for c := range cells {
		start[c+1] += start[c]
	}
	t.order = make([]int32, len(soundings))
	for i, c := range cellOf { // passes follow each other, so each cell's are by pass
		t.order[start[c]] = int32(i)
		start[c]++
	}
	passes.Wait()
	passOf := make([]int32, len(soundings))
	for p, x := range t.passes {
		for i := x.from; i < x.to; i++ {
			passOf[i] = int32(p)
		}
	}
	t.shiftM = make([]float64, days)
	// start now holds where each cell's soundings end. Its values are used up one by one: it takes the
	// first nodes.
	begins := make([]int32, 0, len(soundings)+1) // by node: of its soundings, in order
	from := int32(0)
	for c := range cells {
		to := start[c]
		start[c] = int32(len(begins))
		for p := int32(-1); from < to; from++ {
			if q := passOf[t.order[from]]; q != p {
				begins, p = append(begins, from), q
			}
		}
	}
	t.nodes = make([]node, len(begins))
	start[cells] = int32(len(begins))
	t.first = start
	begins = append(begins, int32(len(soundings)))
	inParts(cells, func(from, to int) {
		var depths []float64
		for c := from; c < to; c++ {
			for k := t.first[c]; k < t.first[c+1]; k++ {
				i := t.order[begins[k]]
				n := &t.nodes[k]
				*n = node{cell: int32(c), pass: passOf[i], day: soundings[i].Day, from: begins[k], to: begins[k+1]}
				depths = t.summarise(n, depths)
			}
		}
	})
	return t
}

// summarise gives a node the place and depth of its soundings that are no strays;
// ok is false when none is left. It returns its scratch.
func (t *Thinned) summarise(n *node, depths []float64) (scratch []float64) {
	depths = depths[:0]
	var sum r2.Vec
	for _, i := range t.order[n.from:n.to] {
		if t.strays != nil && t.strays[i] {
			continue
		}
		s := &t.soundings[i]
		depths = append(depths, s.DepthM)
		sum = r2.Add(sum, s.At)
	}
	if len(depths) == 0 {
		n.from = n.to // said to be empty
		return depths
	}
	n.at = r2.Scale(1/float64(len(depths)), sum)
	n.depthM = median(depths) + t.shift(n.day)
	return depths
}

func (n node) empty() bool { return n.from == n.to }

// around returns the frame of cells for soundings. Cells stand at whole multiples
// of their side, so that another day's soundings fall into the same ones.
func around(soundings []Sounding, cellM, reachM float64) raster.Raster {
	low, high := soundings[0].At, soundings[0].At
	for i := range soundings {
		v := soundings[i].At
		low.X, low.Y = min(low.X, v.X), min(low.Y, v.Y)
		high.X, high.Y = max(high.X, v.X), max(high.Y, v.Y)
	}
	for {
		margin := int(math.Ceil(reachM/cellM)) + 1
		x0, y0 := math.Floor(low.X/cellM)-float64(margin), math.Floor(low.Y/cellM)-float64(margin)
		r := raster.Raster{
			CellM:  cellM,
			Origin: r2.Vec{X: (x0 + 0.5) * cellM, Y: (y0 + 0.5) * cellM},
			W:      int(math.Floor(high.X/cellM)-x0) + margin + 1,
			H:      int(math.Floor(high.Y/cellM)-y0) + margin + 1,
		}
		if r.W*r.H <= mostCells {
			return r
		}
		cellM *= 2
	}
}

// CellM returns the side of a cell in metres; 0 without soundings.
func (t *Thinned) CellM() float64 { return t.frame.CellM }

// in returns the nodes of one cell.
func (t *Thinned) in(cell int) []node { return t.nodes[t.first[cell]:t.first[cell+1]] }

func (t *Thinned) shift(day int32) float64 {
	if day < 0 {
		return 0
	}
	return t.shiftM[day]
}

// Shift adds metres to every depth of a day.
func (t *Thinned) Shift(day int, m float64) {
	if m == 0 || day >= len(t.shiftM) {
		return
	}
	t.shiftM[day] += m
	for i := range t.nodes {
		if int(t.nodes[i].day) == day {
			t.nodes[i].depthM += m
		}
	}
}

// depth returns a sounding's depth with its day's shift.
func (t *Thinned) depth(i int32) float64 {
	return t.soundings[i].DepthM + t.shift(t.soundings[i].Day)
}
