package zone

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// without returns the events left and the fishing that lie more than a cast from all
// members of the found.
func without(events []Event, left []int, effort []Effort, found []Found, castM float64) ([]int, []Effort) {
	type square struct{ x, y int }
	of := func(v r2.Vec) square { return square{int(math.Floor(v.X / castM)), int(math.Floor(v.Y / castM))} }
	members := map[square][]r2.Vec{}
	for _, f := range found {
		for _, i := range f.Members {
			s := of(events[i].At)
			members[s] = append(members[s], events[i].At)
		}
	}
	near := func(v r2.Vec) bool {
		s := of(v)
		for y := s.y - 1; y <= s.y+1; y++ {
			for x := s.x - 1; x <= s.x+1; x++ {
				for _, m := range members[square{x, y}] {
					if r2.Norm2(r2.Sub(m, v)) <= castM*castM {
						return true
					}
				}
			}
		}
		return false
	}
	return slices.DeleteFunc(slices.Clone(left), func(i int) bool { return near(events[i].At) }),
		slices.DeleteFunc(slices.Clone(effort), func(e Effort) bool { return near(e.At) })
}

// fringeOf returns which of the found a cluster is the fringe of: the first that has a
// member within a cast of its middle; -1 when none has.
func fringeOf(events []Event, f Found, found []Found, castM float64) int {
	var middle r2.Vec
	for _, i := range f.Members {
		middle = r2.Add(middle, r2.Scale(1/float64(len(f.Members)), events[i].At))
	}
	return slices.IndexFunc(found, func(g Found) bool {
		return slices.ContainsFunc(g.Members, func(i int) bool { return r2.Norm(r2.Sub(events[i].At, middle)) <= castM })
	})
}
