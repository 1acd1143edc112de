package zone

import (
	"math"
	"math/rand/v2"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
)

// even is a season in which every day's events come evenly over its fishing.
type even struct {
	cellM, castM float64
	x0, y0       float64
	w, h         int
	share        []float64 // expected weight of events by cell
	disc         []offset  // cells within a cast of a cell, by their middles
	least        float64
	effort       []Effort
	days         map[int]drawer // by day; -1 draws from all fishing
	frenzies     [][]int        // events that are moved together, each by its clock
}

// An offset is so many cells east and north.
type offset struct{ x, y int }

// discOf returns the cells whose middles are within a radius, in cells, of the middle one.
func discOf(radius float64) (disc []offset) {
	n := int(radius)
	for y := -n; y <= n; y++ {
		for x := -n; x <= n; x++ {
			if float64(x*x+y*y) <= radius*radius {
				disc = append(disc, offset{x, y})
			}
		}
	}
	return disc
}

// drawer picks a moment of fishing at random, by its hours.
type drawer struct {
	index []int     // into effort
	until []float64 // running sum of hours
}

func (d *drawer) add(effort int, hours float64) {
	if n := len(d.until); n > 0 {
		hours += d.until[n-1]
	}
	d.index, d.until = append(d.index, effort), append(d.until, hours)
}

func (d drawer) hours() float64 { return d.until[len(d.until)-1] }

// newEven returns nil when there is no fishing to spread events over.
func newEven(events []Event, effort []Effort, castM, frenzyS float64) *even {
	m := &even{cellM: castM / 4, castM: castM, effort: effort, days: map[int]drawer{}}
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	count := map[int]int{}
	for _, e := range effort {
		if e.Hours > 0 {
			low = r2.Vec{X: math.Min(low.X, e.At.X), Y: math.Min(low.Y, e.At.Y)}
			high = r2.Vec{X: math.Max(high.X, e.At.X), Y: math.Max(high.Y, e.At.Y)}
			count[e.Day]++
			if e.Day != -1 {
				count[-1]++
			}
		}
	}
	if len(count) == 0 {
		return nil
	}
	drawers := make(map[int]*drawer, len(count))
	for day, n := range count {
		drawers[day] = &drawer{make([]int, 0, n), make([]float64, 0, n)}
	}
	all := drawers[-1]
	day, of := -1, all // effort comes by day, so the day's drawer is mostly that of the moment before
	for i, e := range effort {
		if e.Hours <= 0 {
			continue
		}
		all.add(i, e.Hours)
		if e.Day == -1 {
			continue
		}
		if e.Day != day {
			day, of = e.Day, drawers[e.Day]
		}
		of.add(i, e.Hours)
	}
	for day, d := range drawers {
		m.days[day] = *d
	}
	const mostCells = 4 << 20
	for {
		m.w, m.h = int((high.X-low.X)/m.cellM)+1, int((high.Y-low.Y)/m.cellM)+1
		if m.w*m.h <= mostCells {
			break
		}
		m.cellM *= 2
	}
	m.x0, m.y0 = low.X, low.Y
	m.share = make([]float64, m.w*m.h)
	m.disc = discOf(castM / m.cellM)
	m.frenzies = m.gather(events, frenzyS)
	perDay := map[int]float64{}
	weight := 0.0
	for _, e := range events {
		perDay[m.dayOf(e)] += e.Weight
		weight += e.Weight
	}
	undated := perDay[-1] / m.days[-1].hours() // an hour
	last, n := -1, undated
	for _, e := range effort {
		if e.Hours <= 0 {
			continue
		}
		if e.Day != last {
			if last, n = e.Day, undated; e.Day != -1 {
				n += perDay[e.Day] / m.days[e.Day].hours()
			}
		}
		x, y := m.cell(e.At)
		m.share[y*m.w+x] += n * e.Hours
	}
	// Ground that was never fished still gets what one window of five seconds
	// would: an event there is a surprise, not an infinite one.
	m.least = weight * 5 / 3600 / m.days[-1].hours()
	return m
}

// dayOf returns the day an event is spread over: its own if there was fishing on
// it, else all.
func (m *even) dayOf(e Event) int {
	if _, ok := m.days[e.Day]; ok {
		return e.Day
	}
	return -1
}

func (m *even) cell(v r2.Vec) (x, y int) {
	return int(math.Floor((v.X - m.x0) / m.cellM)), int(math.Floor((v.Y - m.y0) / m.cellM))
}

// gather returns the events of each frenzy, in the order of the events given, which
// must be by time within a day. An event whose stop isn't known goes alone.
func (m *even) gather(events []Event, frenzyS float64) [][]int {
	type stop struct{ day, stop int }
	last := map[stop]int{} // the frenzy a stop's last event belongs to
	var out [][]int
	for i, e := range events {
		day := m.dayOf(e)
		if e.Stop < 0 || day < 0 {
			out = append(out, []int{i})
			continue
		}
		if k, seen := last[stop{day, e.Stop}]; seen && e.S-events[out[k][len(out[k])-1]].S <= frenzyS {
			out[k] = append(out[k], i)
			continue
		}
		last[stop{day, e.Stop}] = len(out)
		out = append(out, []int{i})
	}
	return out
}

// draw moves every frenzy to a random moment of its day's fishing; what would come
// after the day's end comes at its beginning.
func (m *even) draw(rng *rand.Rand, events []Event, at []r2.Vec) {
	for _, together := range m.frenzies {
		first := events[together[0]]
		d := m.days[m.dayOf(first)]
		hours := d.hours()
		start := rng.Float64() * hours
		for _, i := range together {
			h := start
			if len(together) > 1 {
				h = math.Mod(start+events[i].ClockH-first.ClockH, hours)
				if h < 0 {
					h += hours
				}
			}
			k := sort.SearchFloat64s(d.until, h)
			at[i] = m.effort[d.index[min(k, len(d.index)-1)]].At
		}
	}
}
